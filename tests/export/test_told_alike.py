"""What is told in several places has one form: counts, slots by their ends, radii, grips; and no edge is hidden."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterator
from pathlib import Path

import pypdfium2 as pdfium
import pytest
from msgspec.structs import replace

from platekit.checks import check
from platekit.cutting.operations import operations_of
from platekit.drawing.like_findings import count_words
from platekit.drawing.pdf.names import Name, write_words
from platekit.drawing.pdf.pen import Pen
from platekit.export.bench import drawing
from platekit.export.bench.sheet import drawing_fields, sheet_bytes
from platekit.export.bench.words import MOST_EDGES, SLIVER, hole_rows, outline_rows, outside_edges, screw_rows, zero_of
from platekit.export.data.hole_list import holes_bytes, slot_ends
from platekit.export.data.plate import figures_bytes
from platekit.export.paper.template import template_bytes
from platekit.export.picture.whole import svg_text
from platekit.export.text.verdict import verdict_text
from platekit.geometry import Arc, Box, Loop
from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import load
from platekit.spec.places_to_find import to_be_found

SPECS = sorted(path for path in (Path(__file__).parents[2] / "specs").glob("*.yaml") if not to_be_found(load(path)))
LAID: dict[Path, Layout] = {}


def laid(path: Path) -> Layout:
    if path not in LAID:
        LAID[path] = lay_out(load(path))
    return LAID[path]


def named(name: str) -> Layout:
    return laid(next(path for path in SPECS if path.stem == name))


def words_on(pdf: bytes, page: int = 0) -> str:
    return " ".join(pdfium.PdfDocument(pdf)[page].get_textpage().get_text_range().split())


# ------------------------------------------------------------------------------------------------ counts


def test_stops_are_counted_in_one_form_everywhere() -> None:
    """The plate has more places than kinds of stop, so that the two counts differ."""
    layout = named("wrong-on-purpose")
    verdict = check(layout)
    said = count_words(verdict.open("stop"), "stop")
    assert re.fullmatch(r"\d+ stops at \d+ places", said)
    assert said in verdict_text(layout, verdict)
    assert f"{said} open" in svg_text(layout, verdict)
    assert said in words_on(sheet_bytes(layout, verdict))
    assert said in words_on(sheet_bytes(layout, verdict), 1)
    assert said in words_on(template_bytes(layout, verdict))


def test_a_single_finding_has_no_places() -> None:
    layout = named("wrong-on-purpose")
    assert count_words(check(layout).open("stop")[:1], "stop") == "1 stop"
    assert count_words((), "stop") == "0 stops"


# ------------------------------------------------------------------------------------------------- slots


@pytest.mark.parametrize("path", SPECS, ids=lambda path: path.stem)
def test_a_slot_is_placed_by_its_ends_and_sized_over_all(path: Path) -> None:
    layout = laid(path)
    zero = zero_of(layout)
    rows = {row[0]: row for row in hole_rows(layout, operations_of(layout), zero)}
    listed = {row["name"]: row for row in csv.DictReader(io.StringIO(holes_bytes(layout, check(layout)).decode()))}
    for opening in layout.openings:
        ends = slot_ends(opening)
        if ends is None:
            assert "to" not in rows[opening.name][2]
            assert listed[opening.name]["x_y_of"] == "centre"
            continue
        for axis in (0, 1):
            values = [float(part) for part in rows[opening.name][2 + axis].split(" to ")]
            wanted = [end[axis] - zero.point[axis] for end in ends]
            scale = 25.4 if layout.spec.unit == "in" else 1.0
            assert [value * scale for value in values][:: len(values)] == pytest.approx(wanted[:1], abs=0.013)
            assert values[-1] * scale == pytest.approx(wanted[-1], abs=0.013)
        assert "over all" in rows[opening.name][4] or "wide" in rows[opening.name][4]
        middle = [(a + b) / 2 for a, b in zip(*ends, strict=True)]
        off = max(abs(a - b) for a, b in zip(middle, opening.center, strict=True))
        assert listed[opening.name]["x_y_of"] == ("screw at nominal" if off > 1e-6 else "centre")


def test_the_drawing_dimensions_both_ends_of_a_slot_and_not_its_screw() -> None:
    """The slot motor.1 of the apple mill runs from 179.44 to 227.1; its screw stands at 196.81."""
    layout = named("apple-mill")
    first = f" {words_on(sheet_bytes(layout, check(layout)), 1)} "
    for end in slot_ends(next(one for one in layout.openings if one.name == "motor.1")) or ():
        assert f" {end[0] - zero_of(layout).point[0]:.2f}".rstrip("0") in first
    assert " 196.81 " not in first
    figures = json.loads(figures_bytes(layout, check(layout)))
    assert {one["x_y_of"] for one in figures["openings"]} == {"centre", "screw at nominal"}


# ------------------------------------------------------------------------------------------------- grips


@pytest.mark.parametrize("path", SPECS, ids=lambda path: path.stem)
def test_the_terms_of_a_grip_add_up_to_it(path: Path) -> None:
    layout = laid(path)
    for row in screw_rows(layout):
        terms, total = row[3].split(" = ")
        parts = re.split(r" (?=[+-] )", f"+ {terms}" if terms[0] != "-" else terms)
        values = [float(part.rsplit(" ", 1)[1]) * (-1 if part.strip().startswith("-") else 1) for part in parts]
        last = 0.01 if layout.spec.unit == "mm" else 0.001
        assert sum(values) == pytest.approx(float(total.split()[0]), abs=0.5 * last * (len(values) + 1))
        stack = layout.mounts[row[0]].stack
        assert stack is not None
        assert ("washer" in terms) == bool(stack.washers)


# -------------------------------------------------------------------------------------------- the outside


@pytest.mark.parametrize("path", SPECS, ids=lambda path: path.stem)
def test_radii_on_the_drawing_and_in_the_table_are_the_same_arcs(path: Path) -> None:
    layout = laid(path)
    first = words_on(sheet_bytes(layout, check(layout)), 1)
    rows = [row[5] for row in outline_rows(layout, zero_of(layout)) if row[0].startswith("arc")]
    for count, radius in re.findall(r"(?:(\d+) × )?R(\d+(?:\.\d+)?)\b", first):
        if rows:
            assert rows.count(f"R{radius}") == int(count or 1), radius


def test_an_outside_is_told_without_slivers_and_with_no_arc_in_two_pieces() -> None:
    """A disc of radius 50 in four arcs, one of them cut by 0.03 mm."""
    quarter = 0.41421356237309503  # bulge of a quarter: tan(90/4 degrees)
    whole = Loop(((50.0, 0.0, quarter), (0.0, 50.0, quarter), (-50.0, 0.0, quarter), (0.0, -50.0, quarter)))
    assert len(outside_edges(whole)) == 1
    bar = Loop(
        ((0.0, 0.0, 0.0), (40.0, 0.0, 0.0), (100.0, 0.0, 0.0), (100.0, 0.03, 0.0), (100.0, 30.0, 0.0), (0.0, 30.0, 0.0))
    )
    assert len(outside_edges(bar)) == 4
    for layout in map(laid, SPECS):
        assert all(edge.length >= SLIVER for edge in outside_edges(layout.outline))


def test_no_radius_is_told_where_the_arc_is_hardly_a_dot() -> None:
    """The notch of the wool carder has arcs of 0.4 mm among its larger ones."""
    layout = named("wool-carder")
    view = drawing.planned(layout, zero_of(layout).point, [Box(0, 0, 250, 160)])[1].view
    shortest = {
        f"{edge.radius:.2f}".rstrip("0").rstrip("."): edge.length * view.scale
        for edge in outside_edges(layout.outline)
        if isinstance(edge, Arc)
    }
    first = words_on(sheet_bytes(layout, check(layout)), 1)
    told = re.findall(r"(?<=R)\d+(?:\.\d+)?\b", first)
    assert told
    assert min(shortest.values()) < 1.0
    assert all(shortest[radius] > 2.0 for radius in told)


def test_an_outside_of_too_many_edges_is_not_left_out_in_silence() -> None:
    layout = next(one for one in map(laid, SPECS) if len(outside_edges(one.outline)) <= MOST_EDGES)
    teeth = [(float(x), 0.0 if x % 2 else -4.0, 0.0) for x in range(70)]
    many = replace(layout, outline=Loop((*teeth, (69.0, 90.0, 0.0), (0.0, 90.0, 0.0))))
    pdf = sheet_bytes(many, check(layout))
    said = " ".join(words_on(pdf, page) for page in range(len(pdfium.PdfDocument(pdf))))
    assert f"The outside has {len(outside_edges(many.outline))} edges" in said


# -------------------------------------------------------------------------------------------------- edges


@pytest.mark.parametrize("path", SPECS, ids=lambda path: path.stem)
def test_no_name_on_the_drawing_hides_an_edge(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    layout = laid(path)
    shown: list[Name] = []

    def written(pen: Pen, name: Name, size: float) -> None:
        shown.append(name)
        write_words(pen, name, size)

    monkeypatch.setattr(drawing, "write_words", written)
    sheet_bytes(layout, check(layout))
    view = drawing.planned(layout, zero_of(layout).point, drawing_fields(layout))[1].view
    assert shown

    def edges() -> Iterator[tuple[float, float]]:
        for shape in (layout.outline, *(opening.shape for opening in layout.openings)):
            for edge in shape.loop().edges:
                steps = int(edge.length * view.scale / 0.2) + 1
                yield from (view.at(edge.at(k / steps)) for k in range(steps))

    hidden = [
        (name.lines[0][0], x, y)
        for x, y in edges()
        for name in shown
        if name.box.x0 < x < name.box.x1 and name.box.y0 < y < name.box.y1
    ]
    assert not hidden

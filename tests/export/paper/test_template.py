"""The paper template: what every sheet says, what it shows, and that it never shows it differently by chance."""

from __future__ import annotations

import math
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pypdfium2 as pdfium
import pypdfium2.raw as raw
import pytest
from msgspec.structs import replace

from platekit import found
from platekit.checks import Finding, Verdict, check
from platekit.drawing.pdf.names import Name, _meets
from platekit.drawing.pdf.paper import OVERLAP, Tile, check_frame
from platekit.drawing.pdf.strip import saying
from platekit.drawing.seen import seen_from_side
from platekit.errors import OutputError, SpecError
from platekit.export.paper import template as template_module
from platekit.export.paper.template import SEAM_CROSS, seam_crosses, template, template_bytes, tiling_of
from platekit.export.publishing import publish
from platekit.laying.guard_parts import guard_parts
from platekit.layout import lay_out
from platekit.placed import Layout, Side
from platekit.spec import load, loads
from platekit.units import Unit
from tests.checks import plates as sound

CLEAR = Verdict(())
STOP = Verdict((Finding(rule="web", level="stop", message="the web is 2 mm; 5 mm is needed", features=("a", "b")),))
SPECS = Path(__file__).parents[3] / "specs"

HOIST = """\
platekit: 1
title: {title}
units: {units}
plate:
  material: mild steel
  thickness: 12 mm
  outline: {{rectangle: {{width: 420 mm, height: 520 mm, corner: 20 mm}}, at: [60 mm, 90 mm]}}
  cutouts:
    hatch: {{rectangle: {{width: 90 mm, height: 50 mm, corner: 6 mm}}, at: [180 mm, -60 mm], turn: 10 deg}}
mounts:
  drum:
    side: far
    looking_at: face
    pattern: {{points: [[-60 mm, -50 mm], [60 mm, -45 mm], [55 mm, 50 mm]], hole: 13 mm}}
    bolts: {{size: M12, into: part, depth: 30 mm}}
    pilot: {{diameter: 60 mm, depth: 4 mm, opening: recess}}
  motor:
    side: near
    looking_at: face
    pattern: {{points: [[-50 mm, -40 mm], [50 mm, -40 mm], [40 mm, 45 mm], [-50 mm, 40 mm]]}}
    at: [70 mm, 220 mm]
    bolts: {{size: M8, into: part, depth: 20 mm}}
    take_up: {{slots: {{along: 90 deg, install: 8 mm, tension: 15 mm}}}}
  brake:
    side: near
    looking_at: face
    pattern: {{points: [[-20 mm, 0], [20 mm, 5 mm]]}}
    at: [-100 mm, 250 mm]
    bolts: {{size: M6, into: plate, flange: 6 mm}}
bodies:
  gear case: {{carried_by: motor, shape: {{circle: {{diameter: 150 mm}}}}, span: [0, 120 mm]}}
  drum wall: {{carried_by: drum, shape: {{rectangle: {{width: 9 cm, height: 4 cm}}, at: [0, 6 cm]}}, span: [0, 9 cm]}}
paper: {{size: {size}, seen_from: {side}}}
"""


def hoist(
    size: str = "a4", side: Side = "near", units: str = "mm", title: str = "Yard hoist, motor in place of the crank"
) -> Layout:
    return lay_out(loads(HOIST.format(size=size, side=side, units=units, title=title), "hoist"))


def sheets(layout: Layout, verdict: Verdict = CLEAR, side: Side | None = None) -> list[str]:
    """The words of each sheet of the template, without the checking pages."""
    return [words for words in pages(layout, verdict, side) if "checking page" not in words]


def pages(layout: Layout, verdict: Verdict = CLEAR, side: Side | None = None, **more: Any) -> list[str]:
    pdf = pdfium.PdfDocument(template_bytes(layout, verdict, side, **more))
    return [" ".join(page.get_textpage().get_text_range().split()) for page in pdf]


def tiles_of(layout: Layout) -> tuple[Tile, ...]:
    side = layout.paper.seen_from
    return tiling_of(seen_from_side(layout, side), saying(layout, CLEAR, side)).tiles


# --------------------------------------------------------------------------------------- what it says


def test_every_sheet_says_what_it_is_and_how_it_is_used() -> None:
    layout = hoist()
    pages = sheets(layout)
    assert len(pages) > 4
    for number, words in enumerate(pages, start=1):
        for said in (
            "Yard hoist, motor in place of the crank",
            f"hoist · revision {layout.spec.revision}",
            f"sheet {number} of {len(pages)}",
            "NEAR SIDE facing you",
            "UP on the machine",
            "Print at 100 % (actual size)",
            "true size 1 : 1",
            "both diagonals",
            "Lock out first.",
            "420 × 520 mm over all",
        ):
            assert said in words


def test_the_far_side_says_so_and_that_left_and_right_are_exchanged() -> None:
    for words in sheets(hoist(side="far")):
        assert "FAR SIDE facing you" in words
        assert "NEAR SIDE" not in words
        assert "left and right are exchanged" in words
    assert "FAR SIDE facing you" in sheets(hoist(), side="far")[0]


def test_every_opening_and_body_is_named_with_its_size_and_how_it_is_made() -> None:
    layout = hoist()
    words = " ".join(sheets(layout))
    for opening in layout.openings:
        assert opening.name in words
    for said in (
        "Ø13 mm, mark, drill",
        "M6: drill Ø5 mm, tap",
        "slot 9 × 32 mm over all, cut",
        "bore 4.5 mm deep from the other face",
        "gear case, near side",
        "drum wall, far side",
        "tightens the belt",
    ):
        assert said in words
    assert "bore 4.5 mm deep from this face" in " ".join(sheets(layout, side="far"))


def test_an_inch_spec_is_told_in_inches() -> None:
    words = " ".join(sheets(hoist(units="in", size="letter")))
    assert "Ø0.512 in" in words
    assert " mm, " not in words


def test_not_for_cutting_is_stamped_on_every_sheet_of_a_stopped_plate_only() -> None:
    assert all(words.count("NOT FOR CUTTING") == 2 for words in sheets(hoist(), STOP))
    assert all("NOT FOR CUTTING: 1 stop" in words for words in sheets(hoist(), STOP))
    assert not any("NOT FOR CUTTING" in words for words in sheets(hoist(), CLEAR))


def test_what_was_accepted_is_printed_with_its_reason_on_every_sheet() -> None:
    accepted = [
        Finding(
            rule="edge",
            level="stop",
            message=f"hole {i}: 9 mm to the outside",
            features=(f"h{i}",),
            accepted="welded there",
        )
        for i in range(5)
    ]
    for words in sheets(hoist(), Verdict(tuple(accepted))):
        assert "Accepted, hole 0: 9 mm to the outside, because: welded there" in words
        assert "2 more findings are accepted" in words
        assert "NOT FOR CUTTING" not in words


def test_titles_in_other_scripts_and_far_too_long_ones_are_printed() -> None:
    assert "Dźwig: двигатель, κινητήρας" in sheets(hoist(title="'Dźwig: двигатель, κινητήρας'"))[0]
    # a long title goes on two lines, here one of 200 letters, the longest that a spec may have
    long = sheets(hoist(title="Hoist " + "very " * 38 + "long"))[0]
    assert "Hoist very very" in long
    assert "very long" in long
    assert "…" not in long


def test_many_like_holes_get_numbers_and_one_note() -> None:
    points = ", ".join(f"[{11 * i}, {11 * j + i}]" for i in range(7) for j in range(6))
    text = f"""\
platekit: 1
title: Drying rack
units: mm
plate: {{material: mild steel, thickness: 4, outline: {{wrap: {{margin: 6}}}}}}
mounts:
  rack: {{side: near, looking_at: back, pattern: {{points: [{points}], hole: 5}}}}
"""
    (words,) = sheets(lay_out(loads(text, "rack")))
    assert "rack: 42 holes on this sheet" in words
    assert all(f" {number} " in f" {words} " for number in range(1, 43))


# ------------------------------------------------------------------------------------- what it shows


@pytest.mark.parametrize("size", ["a4", "letter", "a3", "tabloid", "{width: 250 mm, height: 250 mm}"])
def test_each_pattern_is_whole_on_some_sheet(size: str) -> None:
    layout = hoist(size)
    for box in seen_from_side(layout, "near").patterns:
        assert any(
            tile.box.x0 <= box.x0 and tile.box.y0 <= box.y0 and box.x1 <= tile.box.x1 and box.y1 <= tile.box.y1
            for tile in tiles_of(layout)
        )


@pytest.mark.parametrize("size", ["a4", "letter", "a3", "{width: 200 mm, height: 240 mm}"])
def test_every_seam_has_two_crosses_whole_on_both_its_sheets(size: str) -> None:
    layout = hoist(size)
    seen = seen_from_side(layout, "near")
    tiling = tiling_of(seen, saying(layout, CLEAR, "near"))
    crosses = seam_crosses(tiling, seen)
    grid = {(tile.column, tile.row): tile.box for tile in tiling.tiles if not tile.extra}
    seams = [(one, grid.get((c + dc, r + dr))) for (c, r), one in grid.items() for dc, dr in ((1, 0), (0, 1))]
    shared = [(one, two) for one, two in seams if two is not None]
    assert shared
    for one, two in shared:
        room = [box.grown(1e-6 - SEAM_CROSS) for box in (one, two)]
        both = [c for c in crosses if all(b.x0 <= c.at[0] <= b.x1 and b.y0 <= c.at[1] <= b.y1 for b in room)]
        assert len(both) == 2
    assert 10.0 <= OVERLAP <= 15.0


def test_the_sheets_show_all_of_the_plate() -> None:
    layout = hoist()
    seen = seen_from_side(layout, "near")
    box = tiling_of(seen, saying(layout, CLEAR, "near")).box
    assert box.x0 < seen.box.x0
    assert box.y0 < seen.box.y0
    assert seen.box.x1 < box.x1
    assert seen.box.y1 < box.y1


def test_the_far_view_is_the_near_view_with_x_turned_round() -> None:
    layout = hoist()
    near, far = seen_from_side(layout, "near"), seen_from_side(layout, "far")
    for one, two in zip(near.holes, far.holes, strict=True):
        assert two.center == (-one.center[0], one.center[1])
        assert two.shape.area == pytest.approx(one.shape.area)
    assert far.box.x0 == pytest.approx(-near.box.x1)


def test_a_slot_shows_both_ends_of_its_travel_and_which_tightens() -> None:
    sides: tuple[tuple[Side, float], ...] = (("near", 1.0), ("far", -1.0))
    for side, sign in sides:
        seen = seen_from_side(hoist(), side)
        hole = next(hole for hole in seen.holes if hole.name == "motor.2")
        loose, tight = hole.stops
        assert (loose.tightens, tight.tightens) == (False, True)
        assert loose.at == pytest.approx((hole.center[0], hole.center[1] - 8))
        assert tight.at == pytest.approx((hole.center[0], hole.center[1] + 15))
        assert sign * hole.center[0] == pytest.approx(20.0)


def test_single_is_one_sheet_as_large_as_needed() -> None:
    pdf = pdfium.PdfDocument(template_bytes(hoist("single"), CLEAR))
    assert len(pdf) == 2
    assert "checking page" in pdf[1].get_textpage().get_text_range()
    width, height = (side * 25.4 / 72 for side in pdf[0].get_size())
    assert 420 < width < 520
    assert 520 < height < 680


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("size", ["a4", "letter", "a3", "tabloid"])
def test_check_bars_are_round_lengths_between_margin_and_window(size: str, units: Unit) -> None:
    for tile in tiles_of(hoist(size, units=units)):
        bars = check_frame(tile.sheet, units)
        step = 5.0 if units == "mm" else 25.4 / 8
        for length in (bars.width, bars.height):
            assert length / step == pytest.approx(round(length / step))
        assert tile.sheet.printable.x0 <= bars.x0 < tile.window.x0
        assert tile.window.x1 < bars.x1 <= tile.sheet.printable.x1


@pytest.mark.parametrize("spec", sorted(SPECS.glob("*.yaml")), ids=lambda path: path.stem)
@pytest.mark.parametrize("side", ["near", "far"])
def test_no_words_lie_over_others(spec: Path, side: Side) -> None:
    layout = lay_out(found(load(spec)))
    for page in pdfium.PdfDocument(template_bytes(layout, check(layout), side)):
        boxes = [thing.get_bounds() for thing in page.get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT]) if _filled(thing)]
        for index, (x0, y0, x1, y1) in enumerate(boxes):
            for u0, v0, u1, v1 in boxes[index + 1 :]:
                assert min(x1, u1) - max(x0, u0) < 0.7 or min(y1, v1) - max(y0, v0) < 0.7


def _filled(thing: Any) -> bool:
    return bool(raw.FPDFTextObj_GetTextRenderMode(thing.raw) == raw.FPDF_TEXTRENDERMODE_FILL)


@pytest.mark.parametrize(("side", "expected"), [("near", 30.0), ("far", 150.0)])
def test_the_arrow_points_up_on_the_machine_from_either_side(side: Side, expected: float) -> None:
    """30 degrees up from +x, seen from behind, is 30 degrees up from -x."""
    text = HOIST.format(size="a4", side="near", units="mm", title="Hoist")
    layout = lay_out(loads(text.replace("plate:\n", "plate:\n  up: 30 deg\n", 1), "hoist"))
    assert math.degrees(saying(layout, CLEAR, side).up) == pytest.approx(expected)
    assert math.degrees(saying(hoist(), CLEAR, side).up) == pytest.approx(90.0)
    assert template_bytes(layout, CLEAR, side) != template_bytes(hoist(), CLEAR, side)


# ------------------------------------------------------------------------------------------ the file


@pytest.mark.parametrize("spec", sorted(SPECS.glob("*.yaml")), ids=lambda path: path.stem)
@pytest.mark.parametrize("side", ["near", "far"])
def test_the_examples_are_drawn_from_both_sides(spec: Path, side: Side) -> None:
    layout = lay_out(found(load(spec)))
    words = " ".join(sheets(layout, check(layout), side))
    assert all(opening.name in words for opening in layout.openings)


def test_shared_plates_are_drawn(plate: Layout) -> None:
    assert all(f"revision {plate.spec.revision}" in words for words in sheets(plate, check(plate)))


def test_the_same_spec_gives_the_same_bytes_in_any_process(tmp_path: Path) -> None:
    spec = tmp_path / "hoist.yaml"
    spec.write_text(HOIST.format(size="a4", side="near", units="mm", title="Hoist"), encoding="utf-8")
    program = (
        "import sys; from pathlib import Path; from platekit.spec import load; from platekit.layout import lay_out\n"
        "from platekit.checks import Verdict; from platekit.export.paper.template import template_bytes\n"
        "sys.stdout.buffer.write(template_bytes(lay_out(load(Path(sys.argv[1]))), Verdict(())))"
    )
    runs = [
        subprocess.run(
            [sys.executable, "-c", program, str(spec)],
            env={**os.environ, "PYTHONHASHSEED": seed, "TZ": zone},
            check=True,
            capture_output=True,
        ).stdout
        for seed, zone in (("1", "UTC"), ("2", "Asia/Tokyo"))
    ]
    assert runs[0] == runs[1]
    assert runs[0].startswith(b"%PDF")


def test_all_text_is_large_enough_to_read_and_its_typeface_is_in_the_file() -> None:
    data = template_bytes(hoist(), STOP)
    assert data.count(b"/FontFile2") >= 3
    pdf = pdfium.PdfDocument(data)
    assert min(_text_sizes(pdf)) >= 6.999


def _text_sizes(pdf: pdfium.PdfDocument) -> Iterator[float]:
    for page in pdf:
        text = page.get_textpage()
        for index in range(text.count_chars()):
            if raw.FPDFText_GetUnicode(text.raw, index) > 32:
                yield raw.FPDFText_GetFontSize(text.raw, index)


def test_the_file_is_written_whole(tmp_path: Path) -> None:
    path = tmp_path / "hoist.template.pdf"
    template(hoist(), CLEAR, path)
    assert path.read_bytes() == template_bytes(hoist(), CLEAR)
    assert [file.name for file in tmp_path.iterdir()] == ["hoist.template.pdf"]


def test_a_folder_that_is_not_there_is_said_in_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match="was not written"):
        template(hoist(), CLEAR, tmp_path / "nowhere" / "hoist.pdf")


# ----------------------------------------------------------------------------------- what cannot be drawn


def test_paper_too_small_for_the_words_is_refused() -> None:
    with pytest.raises(SpecError, match=r"hoist:\d+:\d+  paper.size: found a sheet of 70 × 90 mm, which leaves"):
        template_bytes(hoist("{width: 90 mm, height: 70 mm}"), CLEAR)
    with pytest.raises(SpecError, match="leaves no room"):
        template_bytes(hoist("{width: 20 mm, height: 2000 mm}"), CLEAR)


@pytest.mark.parametrize(
    ("size", "said"), [("a4", "sheets of a4, and 300 are the most"), ("single", "a PDF page ends")]
)
def test_a_plate_of_many_metres_is_refused_with_a_way_out(size: str, said: str) -> None:
    text = HOIST.format(size=size, side="near", units="mm", title="Hoist").replace("420 mm", "7000 mm")
    layout = lay_out(loads(text.replace("520 mm", "6000 mm"), "hoist"))
    with pytest.raises(SpecError, match=said):
        template_bytes(layout, CLEAR)


def test_paper_that_cannot_show_the_plate_is_refused_before_anything_is_drawn(tmp_path: Path) -> None:
    """A plate of 5.2 m on one sheet: a PDF page ends at 14,400 points, 5.08 m (ISO 32000-1, annex C)."""
    text = sound.SOUND.replace("width: 420", "width: 5200") + "paper: {size: single}\n"
    layout = lay_out(loads(text, "long"))
    told: list[str] = []
    with pytest.raises(SpecError, match=r"paper\.size: found one sheet for this plate, 5\.3 m long"):
        publish(layout, check(layout), tmp_path, progress=told.append)
    assert told == []


def test_no_leader_ends_under_the_name_of_something_else_or_on_a_cross(monkeypatch: pytest.MonkeyPatch) -> None:
    layout = lay_out(load(Path(__file__).parents[3] / "specs" / "dough-mixer.yaml"))
    sheets: list[tuple[list[Name], list[tuple[float, float]]]] = []
    inner = template_module._names

    def watched(job: Any, tile: Tile, holes: Any, spaces: Any, crosses: Any, words: Any) -> list[Name]:
        names = inner(job, tile, holes, spaces, crosses, words)
        sheets.append((names, [cross.at for cross in crosses]))
        return names

    monkeypatch.setattr(template_module, "_names", watched)
    template_bytes(layout, check(layout))
    led = [(name, names, crosses) for names, crosses in sheets for name in names if name.leader is not None]
    assert len(led) > 10
    for name, names, crosses in led:
        assert name.leader is not None
        x, y = name.leader[1]
        under = [o.lines for o in names if o is not name and o.box.x0 < x < o.box.x1 and o.box.y0 < y < o.box.y1]
        assert not under, name.lines
        assert all(math.dist((x, y), at) > SEAM_CROSS for at in crosses), name.lines


def test_a_sheet_with_a_whole_pattern_joins_no_other() -> None:
    """It is laid on the part as it is: crosses to glue by would be taken for holes."""
    words = pages(lay_out(load(SPECS / "dye-vat.yaml")))
    (whole,) = [page for page in words if "a whole pattern" in page]
    joined = next(page for page in words if "sheet 1 of" in page)
    for said in ("joins sheets", "B2", "cross on cross"):
        assert said in joined
        assert said not in whole


def names_on(layout: Layout, monkeypatch: pytest.MonkeyPatch) -> list[tuple[Tile, Any, Any, list[Name]]]:
    found: list[tuple[Tile, Any, Any, list[Name]]] = []
    inner = template_module._names

    def watched(job: Any, tile: Tile, holes: Any, spaces: Any, *more: Any) -> list[Name]:
        names = inner(job, tile, holes, spaces, *more)
        found.append((tile, holes, spaces, names))
        return names

    monkeypatch.setattr(template_module, "_names", watched)
    template_bytes(layout, CLEAR)
    return found


@pytest.mark.parametrize("name", ["seed-grader", "apple-mill"])
def test_no_leader_to_a_slot_in_a_row_runs_through_its_neighbours(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    cover = guard_parts(lay_out(load(SPECS / f"{name}.yaml")))["guard-cover"]
    led = 0
    for tile, holes, _, names in names_on(cover, monkeypatch):
        for one in names:
            if one.leader is None or not one.lines[0][0].startswith("vent"):
                continue
            led += 1
            for hole in holes:
                # along each slot's own middle line, as it is drawn
                a, b = (
                    (tile.view.at(end) for end in (hole.shape.a, hole.shape.b))
                    if hole.name.startswith("vent")
                    else ((0, 0), (0, 0))
                )
                assert hole.name == one.lines[0][0] or not crosses(*one.leader, a, b), (one.lines, hole.name)
    assert led


def crosses(a: Any, b: Any, c: Any, d: Any) -> bool:
    def turn(p: Any, q: Any, r: Any) -> float:
        return float((q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]))

    return turn(a, b, c) * turn(a, b, d) < 0 and turn(c, d, a) * turn(c, d, b) < 0


def test_a_body_s_leader_ends_at_that_edge_of_it_which_is_nearest(monkeypatch: pytest.MonkeyPatch) -> None:
    led = 0
    for tile, _, spaces, names in names_on(lay_out(load(SPECS / "dough-mixer.yaml")), monkeypatch):
        for space in spaces:
            for one in names:
                if one.leader is None or one.lines[0][0] != f"{space.body.name}, {space.body.side} side":
                    continue
                led += 1
                start, tip = one.leader
                room = tile.window.grown(-6.0)
                along = template_module._points(template_module._along(space.shape, tile))
                edge = [(x, y) for x, y in along if room.x0 <= x <= room.x1 and room.y0 <= y <= room.y1]
                near = min(math.dist(start, p) for p in edge)
                assert math.dist(start, tip) <= near + 0.6 or any(_meets((start, tip), n.box) for n in names)
    assert led


def test_a_cross_stands_within_its_opening() -> None:
    layout = lay_out(load(SPECS / "apple-mill.yaml"))
    aside = tuple(
        replace(one, center=(one.center[0] + 60, one.center[1])) if one.name == "motor.shaft.relief" else one
        for one in layout.openings
    )
    seen = seen_from_side(replace(layout, openings=aside), "near")
    (hole,) = [one for one in seen.holes if one.name == "motor.shaft.relief"]
    assert hole.shape.contains(hole.center)

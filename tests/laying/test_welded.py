"""Welded bars: each a part to cut, its place marked, its weld in the way, first in the order."""

from __future__ import annotations

import math
from pathlib import Path

import ezdxf
import pypdfium2 as pdfium
import pytest
from ezdxf.entities import LWPolyline

import platekit
from platekit.analysis.assembly import assembly
from platekit.cutting.scribe import scribing_of, weld_marks
from platekit.export.publishing import publish
from platekit.export.reports.rows import step_rows
from platekit.export.solid_step import step_bytes
from platekit.geometry import Line
from platekit.laying.flat_parts import flat_parts
from platekit.laying.welded import weld_leg, welded_bars
from platekit.placed import Layout
from tests.checks import plates
from tests.checks.test_rules import WINDOW

RIBS = (
    "{spine: {side: near, from: [-100, -110], to: [200, -110], height: 20, width: 6}, "
    "back: {side: far, from: [200, 100], to: [-100, 100], height: 20, width: 6}, "
    "stub: {side: near, from: [0, 100], to: [90, 100], height: 25, width: 10}}"
)


def ribbed(*more: tuple[str, str], ribs: str = RIBS) -> Layout:
    return platekit.lay_out(
        platekit.loads(plates.changed((WINDOW, f"{WINDOW}\n  ribs: {ribs}"), *more), "carrier.yaml")
    )


@pytest.mark.parametrize(
    ("unit", "plate", "bar", "leg"),
    # 0.7 of the thinner, rounded up; 3 mm at least; in sixteenths of an inch
    [("mm", 6.0, 10.0, 5.0), ("mm", 10.0, 6.0, 5.0), ("mm", 3.0, 3.0, 3.0), ("in", 6.35, 12.7, 3 / 16 * 25.4)],
)
def test_a_leg_goes_by_the_thinner(unit: str, plate: float, bar: float, leg: float) -> None:
    assert weld_leg("in" if unit == "in" else "mm", plate, bar) == pytest.approx(leg)


def test_alike_bars_are_one_part_and_each_is_a_rectangle() -> None:
    layout = ribbed()
    parts = flat_parts(layout)
    assert list(parts) == ["rib-1", "rib-2"]
    # spine and back run opposite ways on different faces, and are the same piece of bar
    assert parts["rib-1"].title.startswith("Rib spine, back, 2 of it")
    assert parts["rib-1"].outline.area == pytest.approx(300 * 20)
    assert parts["rib-2"].outline.area == pytest.approx(90 * 25)
    assert (parts["rib-1"].thickness, parts["rib-2"].thickness) == (6, 10)
    assert all(not part.ribs and not part.openings for part in parts.values())
    note = parts["rib-2"].flat
    assert note is not None
    assert "stub" in note.note


def test_the_table_marks_the_bars_of_the_near_face_only() -> None:
    layout = ribbed()
    lines = [edge for stroke in scribing_of(layout).strokes for edge in stroke]
    # four a bar, two bars on the near face, each on a long side of the foot: 3 mm and 5 mm off its middle
    assert len(lines) == 8
    for line in lines:
        assert isinstance(line, Line)
        assert line.length == pytest.approx(10)
    assert {round(abs(line.a[1] + 110), 6) for line in lines if line.a[1] < 0} == {3.0}
    assert {round(abs(line.a[1] - 100), 6) for line in lines if line.a[1] > 0} == {5.0}
    assert {round(line.a[0], 6) for line in lines if line.a[1] < 0} == {-100.0, 200.0}
    assert {word.text for word in weld_marks(layout, "far")} == {"place of back"}


def test_a_drill_press_marks_no_bar() -> None:
    assert not scribing_of(ribbed(("process: laser, kerf: 0.3", "process: drill"))).words


def test_words_keep_off_the_bars() -> None:
    layout = ribbed(("process: laser, kerf: 0.3", "process: laser, kerf: 0.3, scribe: [title, revision]"))
    words = [word for word in scribing_of(layout).words if word.what != "weld"]
    assert words
    for word in words:
        for bar in welded_bars(layout):
            assert bar.side == "far" or word.box.gap(bar.foot.box) >= bar.leg


def test_a_part_may_touch_neither_bar_nor_weld() -> None:
    # 20 mm of bar stand on the far face, the fillet is 5 mm wide at the face; 2 mm is the gap
    body = (
        "bodies:\n",
        "bodies:\n  lump: {carried_by: machine, shape: {circle: {diameter: 10}, at: [50, Y]}, span: SPAN}\n",
    )

    def clashes(y: float, span: str) -> bool:
        text = (body[0], body[1].replace("Y", f"{y}").replace("SPAN", span))
        return any(
            finding.rule == "clash" and "lump" in finding.features for finding in platekit.check(ribbed(text)).findings
        )

    # beside the foot: half the bar, the leg, the gap and half of the lump are 15 mm
    assert clashes(100 - 14.9, "[0, 3]")
    assert not clashes(100 - 15.1, "[0, 3]")
    # over the weld only the bar itself is in the way: 10 mm
    assert clashes(100 - 9.9, "[8, 12]")
    assert not clashes(100 - 10.1, "[8, 12]")


def test_bars_are_welded_on_before_anything_is_bolted() -> None:
    layout = ribbed()
    order = assembly(layout)
    assert order.welded == ("spine", "back", "stub")
    first = next(step_rows(layout, order))
    assert first.item == "weld on spine, back and stub"
    assert first.side == "near side and far side"
    assert "before anything is bolted on" in first.mind
    plain = platekit.lay_out(platekit.loads(plates.SOUND, "plain.yaml"))
    assert not assembly(plain).welded


def test_the_solid_holds_the_bars_where_they_are_welded() -> None:
    cadquery = pytest.importorskip("cadquery")
    layout = ribbed()
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "plate.step"
        path.write_bytes(step_bytes(layout))
        solids = cadquery.importers.importStep(str(path)).solids().vals()
    assert len(solids) == 4
    volumes = sorted(solid.Volume() for solid in solids)
    assert volumes[:3] == pytest.approx([90 * 25 * 10, 300 * 20 * 6, 300 * 20 * 6], rel=1e-6)
    spans = sorted((round(s.BoundingBox().zmin, 3), round(s.BoundingBox().zmax, 3)) for s in solids)
    assert spans == [(-26.0, -6.0), (-6.0, 0.0), (0.0, 20.0), (0.0, 25.0)]


def test_make_writes_a_cut_file_and_paper_for_each(tmp_path: Path) -> None:
    layout = ribbed()
    verdict = platekit.check(layout)
    assert verdict.clear
    names = {path.name.removeprefix("carrier.") for path in publish(layout, verdict, tmp_path).written}
    assert {f"rib-{k}.{what}" for k in (1, 2) for what in ("cut.dxf", "template.pdf")} <= names
    bar = ezdxf.readfile(tmp_path / "carrier" / "carrier.rib-1.cut.dxf").modelspace()
    (outline,) = bar.query("LWPOLYLINE[layer=='CUT-OUTSIDE']")
    assert isinstance(outline, LWPolyline)
    corners = {(round(x, 3), round(y, 3)) for x, y in outline.get_points("xy")}
    assert corners == {(0.0, 0.0), (300.0, 0.0), (300.0, 20.0), (0.0, 20.0)}
    marks = ezdxf.readfile(tmp_path / "carrier" / "carrier.cut.dxf").modelspace().query("*[layer=='MARK']")
    assert sum(math.isclose(math.dist(one.dxf.start, one.dxf.end), 10.0) for one in marks) == 8
    words = "".join(
        page.get_textpage().get_text_bounded()
        for page in pdfium.PdfDocument(tmp_path / "carrier" / "carrier.rib-2.template.pdf")
    )
    assert "Lower edge to the plate" in " ".join(words.split())
    # without its bars the plate leaves no part of theirs behind
    plain = platekit.lay_out(platekit.loads(plates.SOUND, "carrier.yaml"))
    publish(plain, platekit.check(plain), tmp_path)
    assert not list((tmp_path / "carrier").glob("*rib*cut.dxf"))

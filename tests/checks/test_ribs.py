"""The rule on welded bars: steel under all of them, and the weld that they are given."""

from __future__ import annotations

import pypdfium2 as pdfium
import pytest

import platekit
from platekit.checks import Finding, ribs
from platekit.export.bench.sheet import sheet_bytes
from platekit.export.bench.words import bar_rows, zero_of
from platekit.laying.welded import weld_leg
from platekit.placed import Layout
from platekit.spec import with_value
from tests.checks.plates import changed
from tests.checks.test_rules import WINDOW


def laid(start: str, end: str, side: str = "far", window: str = WINDOW, more: str = "") -> Layout:
    bar = f"{{side: {side}, from: {start}, to: {end}, height: 20, width: 6}}"
    text = changed((WINDOW, f"{window}\n  ribs: {{spine: {bar}{more}}}"))
    return platekit.lay_out(platekit.loads(text, "plate.yaml"))


def found(layout: Layout) -> list[Finding]:
    return list(ribs.rib(layout))


@pytest.mark.parametrize(
    ("stays", "goes", "said"),
    [
        # the window ends at y = -85, the bar is 3 mm to either side of its middle
        (("[40, -87.98]", "[200, -87.98]"), ("[40, -88.02]", "[200, -88.02]"), "over the opening window"),
        # the plate ends at x = 270
        (("[60, -110]", "[270.02, -110]"), ("[60, -110]", "[269.98, -110]"), "beyond the edge of the plate"),
        # the washer of an M8 is 16 mm wide (ISO 7089), its hole at 60 mm times the cosine of 45 degrees
        (("[-60, 53.41]", "[60, 53.41]"), ("[-60, 53.44]", "[60, 53.44]"), "bears round machine.1 and 1 more"),
    ],
)
def test_a_bar_needs_steel_under_all_of_it(stays: tuple[str, str], goes: tuple[str, str], said: str) -> None:
    (finding,) = found(laid(*stays))
    assert finding.level == "stop"
    assert said in finding.message
    assert finding.found is not None
    assert -0.05 < finding.found < 0
    assert not found(laid(*goes))


def test_a_bar_across_the_whole_plate_is_told_of_each_kind_once() -> None:
    text = laid("[-200, 42.4]", "[300, 42.4]")
    assert [" ".join(f.message.split()[4:9]) for f in found(text)] == [
        "the bar lies beyond the",
        "the bar lies over the",
    ]
    verdict = platekit.check(text)
    assert not verdict.clear
    lines = {finding.line for finding in verdict.findings if finding.rule == "rib"}
    assert lines == {10}


def test_the_stretch_that_is_advised_has_room_for_its_weld() -> None:
    start, end = "[-100, -70]", "[200, -70]"
    (finding,) = found(laid(start, end))
    text = laid(start, end).spec.source.text
    for remedy in finding.remedies:
        text = with_value(text, remedy.field, remedy.value)
    layout = platekit.lay_out(platekit.loads(text, "plate.yaml"))
    assert not found(layout)
    (bar,) = layout.ribs
    # the window begins at x = 75, the weld's leg is 5 mm: 0.7 of 6 mm, in whole mm
    assert weld_leg("mm", layout.thickness, bar.width) == pytest.approx(5.0)
    assert (bar.start[0], 60.0 < bar.end[0] <= 70.0) == (-100.0, True)


def test_a_bar_with_no_room_at_all_is_not_shortened() -> None:
    (finding,) = found(laid("[80, -70]", "[100, -70]"))
    assert not finding.remedies
    assert "move it aside" in finding.advice.text


def test_a_recess_of_the_other_face_is_in_no_bars_way() -> None:
    from msgspec.structs import replace

    layout = laid("[40, -70]", "[200, -70]")
    shallow = tuple(replace(one, depth=2.0, side="near") if one.name == "window" else one for one in layout.openings)
    assert not found(replace(layout, openings=shallow))


def test_the_bench_sheet_tells_the_weld_beside_the_bar() -> None:
    layout = laid(
        "[-100, -110]",
        "[200, -110]",
        more=", rear: {side: near, from: [0, 100], to: [90, 100], height: 25, width: 10}",
    )
    rows = bar_rows(layout, zero_of(layout))
    # EN 1993-1-9 table 8.4, from memory: 56 beyond 100 mm, 63 to that; the leg goes by the thinner, the plate's 6 mm
    assert rows == [
        [
            *("spine", "rib-1", "20 × 6 mm, 300 mm long", "far", "-100, -110", "200, -110"),
            "leg 5 mm, 612 mm in all, class 56",
        ],
        [
            *("rear", "rib-2", "25 × 10 mm, 90 mm long", "near", "0, 100", "90, 100"),
            "leg 5 mm, 200 mm in all, class 63",
        ],
    ]
    document = pdfium.PdfDocument(sheet_bytes(layout, platekit.check(layout)))
    words = " ".join(" ".join(page.get_textpage().get_text_bounded() for page in document).split())
    assert "Flat bars to weld on" in words
    assert "leg 5 mm, 612 mm in all, class 56" in words
    assert "before anything is bolted on" in words


def test_a_bar_between_the_screws_of_a_part_that_nothing_describes_is_told() -> None:
    without = ("    pilot: {diameter: 80, depth: 3}\n", "")
    bar = f"{WINDOW}\n  ribs: {{spine: {{side: SIDE, from: [-30, 20], to: [30, 20], height: 20, width: 6}}}}"
    for side, more, level in (("far", "", "warn"), ("near", "", None), ("far", "DESCRIBED", None)):
        rail = (
            "  rail: {carried_by: machine, shape: {rectangle: {width: 20, height: 120}, at: [-52, 0]}, span: [0, 9]}\n"
        )
        described = ("bodies:\n", f"bodies:\n{rail}") if more else ("bodies:\n", "bodies:\n")
        text = changed((WINDOW, bar.replace("SIDE", side)), without, described)
        told = [
            one
            for one in found(platekit.lay_out(platekit.loads(text, "p.yaml")))
            if "between the screws" in one.message
        ]
        assert [one.level for one in told] == ([] if level is None else [level])


@pytest.mark.parametrize(
    ("material", "height", "width", "said"),
    [
        # S235 carries 14 times (EN 1993-1-1 table 5.2), S355 14 sqrt(235 / 355) = 11.39, and 6082-T6 of 240 N/mm2 and
        # 70,000 N/mm2 14 sqrt(235 / 240 x 70 / 210) = 8.00 times
        ("mild steel", 60, 2, "30 times as high"),
        ("mild steel", 42.3, 3, "14.1 times as high"),
        ("mild steel", 42, 3, None),
        ("S355", 45.7, 4, "11.4 times as high"),
        ("S355", 45.5, 4, None),
        ("6082-T6", 32.4, 4, "8.1 times as high"),
        ("6082-T6", 31.9, 4, None),
        ("mild steel", 20, 2.9, "burns through"),
        ("mild steel", 20, 3, None),
    ],
)
def test_a_slender_bar_and_one_too_thin_to_weld_are_told(
    material: str, height: float, width: float, said: str | None
) -> None:
    bar = f"{{side: far, from: [110, 80], to: [240, 80], height: {height}, width: {width}}}"
    text = changed(("material: mild steel", f"material: {material}"), (WINDOW, f"{WINDOW}\n  ribs: {{spine: {bar}}}"))
    told = found(platekit.lay_out(platekit.loads(text, "plate.yaml")))
    if said is None:
        assert not told
        return
    (one,) = told
    assert one.level == "warn"
    assert said in one.message
    for advice in (one.advice, *one.others):
        (remedy,) = advice.remedies
        mended = with_value(text, remedy.field, remedy.value)
        assert not found(platekit.lay_out(platekit.loads(mended, "plate.yaml")))

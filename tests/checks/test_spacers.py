"""Spacers off tube or bar: which, how long, and the rule on them, with its advice followed."""

from __future__ import annotations

import csv
import io
import math
from itertools import pairwise

import pypdfium2 as pdfium
import pytest

import platekit
from platekit.analysis.parts_list import pieces_of
from platekit.checks import Finding, spacers
from platekit.errors import SpecError
from platekit.export.bench.sheet import sheet_bytes
from platekit.export.bench.words import spacer_rows
from platekit.export.data.parts_list import parts_bytes
from platekit.laying.spacers import bearing_area
from platekit.placed import Layout, Spacer
from platekit.spec import with_value
from platekit.tables.spacers import spacer_stock
from tests.checks.plates import SOUND, changed

AT = "at: [170, 0]"
BOLTS = "bolts: {size: M6, into: part, depth: 12, thread_in: steel, washer: true}"


def laid(standoff: str, words: str = "", *swaps: tuple[str, str]) -> Layout:
    said = f"{AT}\n    standoff: {standoff}" + (f"\n    spacers: {words}" if words else "")
    return platekit.lay_out(platekit.loads(changed((AT, said), *swaps), "plate.yaml"))


def spacer_in(layout: Layout) -> Spacer:
    stack = layout.mounts["motor"].stack
    assert stack is not None
    assert stack.spacer is not None
    return stack.spacer


def found(layout: Layout) -> list[Finding]:
    return list(spacers.spacers(layout))


def test_a_standoff_takes_the_narrowest_stock_as_wide_as_a_washer_that_bears_the_pull() -> None:
    spacer = spacer_in(laid("25"))
    # the washer of an M6 is 12 mm wide (ISO 7089), its loose hole 7 mm (ISO 273): 12 x 2.5 has a bore of 7
    assert (spacer.made, spacer.outside, spacer.bore, spacer.count) == ("tube", 12, 7, 4)
    assert (spacer.length, spacer.plus_minus) == (25, 0.2)  # ISO 2768-1 medium, over 6 up to 30
    # 0.75 of the proof load of 8.8 (580 or 600 N/mm2) on 20.1 mm2, round a bore of 7
    assert spacer.pressure == pytest.approx(0.75 * 580 * 20.1 / (math.pi / 4 * (144 - 49)), rel=0.05)
    assert not found(laid("25"))


def test_beside_a_pilot_that_stands_between_them_they_are_narrower() -> None:
    text = """\
platekit: 1
title: Pump on spacers
units: mm
plate: {material: mild steel, thickness: 10}
mounts:
  pump:
    side: near
    pattern: {standard: SAE B 4-bolt}
    standoff: 12
    bolts: {size: M14, into: nut, flange: 12, washer: true}
cutting: {process: laser}
"""
    layout = platekit.lay_out(platekit.loads(text, "pump.yaml"))
    stack = layout.mounts["pump"].stack
    assert stack is not None
    assert stack.spacer is not None
    # four holes on 127 mm round a pilot of 101.6 (SAE J744): 12.7 less the gap of 2 is left, and a washer has 14
    assert stack.spacer.outside <= 2 * (127 / 2 - 101.6 / 2 - 2)
    assert not [one for one in platekit.check(layout).findings if one.rule == "clash"]


def test_short_ones_and_packing_are_of_plate_as_before() -> None:
    for layout in (laid("9.9"), laid("25", "{from: plate}")):
        stack = layout.mounts["motor"].stack
        assert stack is not None
        assert stack.spacer is None
    pieces = [one.pieces for one in pieces_of(laid("22", "{from: plate}")) if one.kind == "spacer"]
    assert pieces == [(20.0, 2.0)]


@pytest.mark.parametrize(
    ("words", "line"),
    [
        ("{outside: 10}\n", "give the standoff"),
        ("{bore: 7}", "`bore` without `outside`"),
        ("{outside: 12, bore: 12}", "a bore as wide as the outside"),
        ("{from: plate, outside: 12}", "a diameter of spacers from plate"),
        ("{from: tube, outside: 33}", "give its `bore` too"),
        ("{from: tube, outside: 38}", "in stock are"),
        ("{material: cheese}", "no material is called"),
    ],
)
def test_words_that_no_spacer_answers_to_are_refused(words: str, line: str) -> None:
    standoff = "0" if words.endswith("\n") else "25"
    with pytest.raises(SpecError) as refused:
        laid(standoff, words.strip())
    (problem,) = refused.value.problems
    assert "spacers" in problem.field
    assert line in f"{problem.found}; {problem.wanted}"


def test_a_tube_in_stock_is_known_by_its_outside_and_a_bar_is_drilled() -> None:
    assert spacer_in(laid("25", "{outside: 12}")).bore == 7
    bar = spacer_in(laid("25", "{from: bar, outside: 14, material: 6082-T6}"))
    assert (bar.made, bar.bore, round(bar.material.density, -2)) == ("bar", 6.6, 2700)
    own = spacer_in(laid("25", "{from: tube, outside: 13, bore: 6.8}"))
    assert (own.outside, own.bore, own.source) == (13, 6.8, "spec")


@pytest.mark.parametrize(
    ("has", "has_not", "level", "said"),
    [
        # 0.2 over an M6 is the least
        ("{from: tube, outside: 13, bore: 6.1}", "{from: tube, outside: 13, bore: 6.2}", "stop", "does not go through"),
        # preload 8.7 to 9.1 kN at 235 N/mm2 wants some 38 mm2: 9.6 x 6.6 bears on 38.2 less than what is asked
        ("{from: tube, outside: 9.0, bore: 6.6}", "{from: tube, outside: 10.0, bore: 6.6}", "warn", "presses with"),
    ],
)
def test_a_spacer_goes_over_its_screw_and_bears_its_pull(has: str, has_not: str, level: str, said: str) -> None:
    (finding,) = found(laid("25", has))
    assert finding.level == level
    assert said in finding.message
    assert not found(laid("25", has_not))
    _followed(laid("25", has))


def test_a_long_thin_spacer_leans_and_a_wider_one_does_not() -> None:
    layout = laid("48.1", "{from: tube, outside: 12, bore: 7}")
    (finding,) = found(layout)
    assert (finding.level, finding.found, finding.needed) == ("warn", 48.1, 48.0)
    assert not found(laid("48", "{from: tube, outside: 12, bore: 7}"))
    _followed(layout)
    # left to itself the stock goes as wide as the length asks
    assert spacer_in(laid("90")).outside >= 90 / 4
    # nothing in stock is wide enough for a metre: what is left is a frame
    (endless,) = found(laid("1000"))
    assert endless.advice.remedies == ()


def test_a_spacer_over_an_edge_or_an_opening_is_told() -> None:
    # the screws of the motor are 30 mm from x = 155, the plate ends at y = 130: a cutout is moved under one
    window = ("at: [90, -70]", "at: [125, -51]")
    layout = laid("25", "{from: tube, outside: 20, bore: 7}", window)
    (finding,) = [one for one in found(layout) if "stands" in one.message]
    # the window's edge is 15 mm from its middle, the spacer's 10 mm from its own at 125, -30
    assert finding.found == pytest.approx(21 - 15 - 10)
    assert "window" in finding.features
    _followed(layout)


def _followed(layout: Layout) -> None:
    (finding,) = found(layout)
    for advice in (finding.advice, *finding.others):
        text = layout.spec.text
        for remedy in advice.remedies:
            text = with_value(text, remedy.field, remedy.value)
        if advice.remedies:
            assert not found(platekit.lay_out(platekit.loads(text, "plate.yaml"))), advice.text


def test_beside_a_slot_a_spacer_presses_on_two_segments() -> None:
    # the area of two segments by summing strips of the disc above and below the slot
    strips, wide, slot = 20000, 16.0, 9.0
    heights = [slot / 2 + (wide / 2 - slot / 2) * k / strips for k in range(strips + 1)]
    chords = [2 * math.sqrt(max((wide / 2) ** 2 - y * y, 0.0)) for y in heights]
    area = 2 * sum((a + b) / 2 * (heights[1] - heights[0]) for a, b in pairwise(chords))
    assert bearing_area(wide, 9.0, slot, True) == pytest.approx(area, rel=1e-4)
    assert bearing_area(8.0, 6.0, 9.0, True) == 0.0


def test_stock_rises_and_every_tube_has_a_wall() -> None:
    for system in ("metric", "inch"):
        stock = spacer_stock(system)
        assert [one.outside for one in stock] == sorted(one.outside for one in stock)
        assert all(0 < one.bore < one.outside for one in stock if one.bore is not None)


def test_they_are_on_the_lists_and_papers_with_length_tolerance_and_stock() -> None:
    layout = laid("25")
    (piece,) = [one for one in pieces_of(layout) if one.kind == "spacer"]
    # each is sawn a millimetre longer, and the saw takes two
    assert (piece.get, piece.count, piece.length, piece.height) == ("cut", 4, 25, 4 * (25 + 1 + 2))
    assert piece.mass == pytest.approx(4 * 25 * math.pi / 4 * (144 - 49) * 7850e-9, rel=1e-6)
    ((part, count, cut_from, length, alike, square, _),) = spacer_rows(layout)
    assert (part, count, length, alike, square) == ("motor", "4", "25 ± 0.2", "0.1", "0.1")
    assert cut_from == "tube 12 × 2.5, bore 7, mild steel"
    verdict = platekit.check(layout)
    rows = list(csv.DictReader(io.StringIO(parts_bytes(layout, verdict).decode())))
    assert any("tube 12 × 2.5" in row["words"] for row in rows)
    paper = pdfium.PdfDocument(sheet_bytes(layout, verdict))
    said = " ".join(" ".join(page.get_textpage().get_text_bounded().split()) for page in paper)
    assert "Spacers to cut" in said
    assert "its 4 spacers between plate and part" in said.replace("\n", " ")


def test_a_spacer_takes_up_its_room_round_the_screw() -> None:
    layout = laid("25")
    bodies = {body.name: body for body in layout.bodies}
    assert bodies["motor.1.spacer"].z == (0.0, 25.0)
    assert bodies["motor.1.spacer"].shape.box.width == 12
    # a pilot that stays out of the plate must stay off them, too
    pilot = ("rectangle: {width: 90, height: 60}}", "circle: {count: 4, diameter: 100}}\n    pilot: PILOT")
    for across, clear in ((80, True), (90, False)):
        words = pilot[1].replace("PILOT", f"{{diameter: {across}, depth: 6, opening: none}}")
        verdict = platekit.check(laid("25", "", (pilot[0], words)))
        # holes on 100: their spacers begin 44 mm from the middle
        told = [one for one in verdict.findings if one.rule == "clash" and "motor.spigot" in one.features]
        assert bool(told) is not clear


def test_the_sound_plate_has_none() -> None:
    assert not found(platekit.lay_out(platekit.loads(SOUND, "plate.yaml")))

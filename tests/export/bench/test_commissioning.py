"""The commissioning sheet: figures of the layout, worked out by hand, and boxes where it knows none."""

from __future__ import annotations

from pathlib import Path

import pypdfium2 as pdfium
import pytest

from platekit.checks import Verdict, check
from platekit.drawing.pdf.flow import TO_FILL
from platekit.export.bench.commissioning import (
    alignment_rows,
    before_power,
    commissioning_bytes,
    electrical,
    inverter_rows,
    rotation,
    screw_rows,
    speed_rows,
    tension_rows,
    watch_rows,
)
from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import load, loads
from tests.checks.coupled import SOUND as COUPLED
from tests.export.text_boxes import overlaps, texts_of_pdf

SPECS = Path(__file__).parents[3] / "specs"
MILL = (SPECS / "apple-mill.yaml").read_text("utf-8")
BARE = """\
platekit: 1
title: Shelf bracket
units: in
plate: {material: mild steel, thickness: 0.25}
mounts:
  post: {side: far, pattern: {rectangle: {width: 4, height: 3}}, screws: {size: 3/8-16, into: part, depth: 1}}
cutting: {process: laser}
"""


@pytest.fixture(scope="module")
def mill() -> Layout:
    return lay_out(load(SPECS / "apple-mill.yaml"))


def said(rows: list[list[str]]) -> dict[str, str]:
    return {row[0]: row[1] for row in rows}


def test_the_inverter_s_limits_are_those_of_motor_and_wish(mill: Layout) -> None:
    rows = said(inverter_rows(mill))
    assert rows["rated power"] == "0.75 kW by the spec"
    # 50 Hz: 1500 rpm less 110 of slip. 20 Hz: 600 - 110 = 490, over 180/71 = 193 rpm
    wider = "; the limits for what is wanted, below, are narrower"
    assert rows["lowest frequency"] == f"20 Hz: motor 490 rpm, working shaft 193 rpm{wider}"
    assert rows["highest frequency"].endswith(wider)
    # 220 rpm: motor 557.7, (557.7 + 110) / 30 = 22.3 Hz. 700 rpm: 1774.6, of 27.8 rpm a Hz over 50 Hz: 63.8 Hz
    assert rows["limits for what is wanted"].startswith("22.3 to 63.8 Hz")
    # 2800 rpm of 27.8 a Hz
    assert rows["never above"].startswith("93.3 Hz")  # 2800 rpm of a field of four poles, without load
    assert rows["cooling"].startswith("under 25 Hz")


def test_limits_that_are_just_as_wide_as_the_inverter_s_are_not_told_of() -> None:
    narrow = MILL.replace("from: 220 rpm", "from: 193.4 rpm")
    assert narrow != MILL
    rows = said(inverter_rows(lay_out(loads(narrow, "mill"))))
    assert rows["limits for what is wanted"].startswith("20.0 to 63.8 Hz")
    assert rows["lowest frequency"].endswith("193 rpm")
    assert rows["highest frequency"].endswith("are narrower")


def test_what_the_spec_does_not_say_has_a_box_and_says_so(mill: Layout) -> None:
    rows = {row[0]: row for row in inverter_rows(mill)}
    for what, unit in (("rated voltage", "V"), ("rated current", "A")):
        assert "not in the spec" in rows[what][1]
        assert rows[what][2] == f"{TO_FILL} {unit}"
    without = lay_out(loads(MILL.replace(", max_speed: 2800 rpm", ""), "mill"))
    assert "not above its rated frequency" in said(inverter_rows(without))["never above"]


def test_the_amperes_of_the_motor_s_plate_stand_there() -> None:
    amps = lay_out(loads(MILL.replace("frequency: 50 Hz,", "frequency: 50 Hz, current: 1.9 A,"), "mill"))
    assert said(inverter_rows(amps))["rated current"] == "1.9 A by the spec, at that voltage"
    coupled = lay_out(loads(COUPLED.replace("motor: {power: 1.1 kW", "motor: {current: 2.7 A, power: 1.1 kW"), "pump"))
    assert said(inverter_rows(coupled))["rated current"] == "2.7 A by the spec, at that voltage"


def test_a_motor_without_an_inverter_gets_no_ramps() -> None:
    layout = lay_out(loads(MILL.replace("  inverter: {from: 20 Hz, to: 75 Hz}\n", ""), "mill"))
    rows = said(inverter_rows(layout))
    assert "ramp up" not in rows
    assert rows["supply"] == "50 Hz: no inverter is described"
    assert "inverter" not in " ".join(electrical(layout))
    assert "inverter" not in said(watch_rows(layout, Verdict(())))
    # one speed: nothing is stepped through, and nothing is set on what is not there
    words = whole(layout)
    assert "lowest" not in words
    assert "inverter's" not in words
    assert "inverter's" in whole(lay_out(loads(MILL, "mill")))


def test_a_brake_and_a_supply_of_one_phase_change_what_the_electrician_does(mill: Layout) -> None:
    words = " ".join(electrical(mill))
    assert "never the inverter's output" in words
    assert "Supply of one phase" in words


def whole(layout: Layout) -> str:
    """All words of the sheet."""
    pages = pdfium.PdfDocument(commissioning_bytes(layout, Verdict(())))
    return " ".join(page.get_textpage().get_text_range() for page in pages)


def test_the_tension_is_that_of_the_drive_with_a_box_now_and_twice_later(mill: Layout) -> None:
    (belt,) = mill.belts
    forces = belt.result.forces
    assert forces is not None
    force, note, line = tension_rows(mill, belt)
    assert f"{forces.sag_force:.1f} N" in force[1]
    assert f"{forces.sag_force_new:.1f} N" in force[1]
    assert f"{forces.span_frequency_hz:.0f} Hz" in note[1]
    assert [row.count(cell) for row, cell in ((force, f"{TO_FILL} N"), (note, f"{TO_FILL} Hz"), (line, TO_FILL))] == [
        3
    ] * 3


def test_screws_of_parts_and_guard_are_there_to_be_tightened_again(mill: Layout) -> None:
    rows = screw_rows(mill)
    assert [(row[0], row[1]) for row in rows] == [
        ("bracket", "4 × M10 × 40 hex"),
        ("motor", "4 × M6 × 25 hex"),
        ("guard", "3 × M6"),
        ("guard's cover", "4 × M6"),
    ]
    assert all(sum(cell.startswith(TO_FILL) for cell in row) == 3 for row in rows)


def test_speeds_step_from_the_lowest_over_what_is_wanted_to_the_highest(mill: Layout) -> None:
    assert [row[:3] for row in speed_rows(mill)] == [
        ["20.0 Hz", "490 rpm", "193 rpm"],
        ["22.3 Hz", "558 rpm", "220 rpm"],
        ["50.0 Hz", "1390 rpm", "548 rpm"],
        ["63.8 Hz", "1775 rpm", "700 rpm"],
        ["75.0 Hz", "2085 rpm", "822 rpm"],
    ]


def test_a_span_that_swings_of_itself_is_told_with_its_speed(mill: Layout) -> None:
    (belt,) = mill.belts
    forces = belt.result.forces
    assert forces is not None
    assert forces.span_frequency_hz is not None
    told = said(watch_rows(mill, Verdict(())))[f"span of {belt.name}"]
    assert f"{60 * forces.span_frequency_hz:.0f} rpm, off its 490 to 2085 rpm" in told
    assert "not worked out" in said(watch_rows(mill, Verdict(())))["speeds that shake the plate"]


def test_speeds_that_shake_come_from_the_rule_that_found_them() -> None:
    layout = lay_out(load(SPECS / "winnowing-fan.yaml"))
    verdict = check(layout)
    found = [one for one in verdict.findings if one.rule == "resonance"]
    rows = [row for row in watch_rows(layout, verdict) if row[0] == "speeds that shake the plate"]
    assert [one.message in row[1] for one, row in zip(found, rows, strict=False)] == [True] * len(found)
    assert len(rows) == max(len(found), 1)


def test_guard_stop_and_rotation_come_before_power(mill: Layout) -> None:
    words = " ".join(before_power(mill))
    assert "guard over drive is on" in words
    assert "stop button" in words
    assert "swaps two of the motor's three phases" in " ".join(rotation(mill))
    left = MILL.replace(
        "\ndrive:",
        "\n  old pulley: {carried_by: bracket, shape: {circle: {diameter: 150}}, span: [120, 150]}\n\ndrive:",
        1,
    )
    assert "old pulley, which stays and turns, is covered" in " ".join(before_power(lay_out(loads(left, "mill"))))


def test_a_coupling_is_lined_up_and_tried_apart() -> None:
    layout = lay_out(loads(COUPLED, "pump"))
    (coupling,) = layout.couplings
    rows = said(alignment_rows(layout, coupling))
    assert rows == {
        "beside each other": "0.2 mm",
        "angle between them": "0.5 degrees",
        "gap between their ends": "2 mm to 6 mm",
    }
    assert "pump coupling apart: motor turns the way that pump has to" in " ".join(rotation(layout))


def test_the_motor_of_a_coupling_is_told_too() -> None:
    rows = said(inverter_rows(lay_out(loads(COUPLED, "pump"))))
    assert (rows["rated power"], rows["rated speed"]) == ("1.1 kW by the spec", "1420 rpm by the spec")
    assert rows["supply"] == "50 Hz: no inverter is described"
    motor = "    motor: {power: 1.1 kW"
    ranged = lay_out(loads(COUPLED.replace(motor, f"    inverter: {{from: 20 Hz, to: 60 Hz}}\n{motor}"), "pump"))
    rows = said(inverter_rows(ranged))
    assert rows["lowest frequency"].startswith("20 Hz")
    assert rows["never above"].startswith("100.0 Hz")  # 3000 rpm of a field of four poles, without load
    assert rows["cooling"].startswith("under 25 Hz")


@pytest.mark.parametrize("name", ["apple-mill", "bare"])
def test_no_words_lie_on_words_and_bytes_repeat(name: str, mill: Layout) -> None:
    layout = mill if name == "apple-mill" else lay_out(loads(BARE, "bare"))
    verdict = check(layout)
    data = commissioning_bytes(layout, verdict)
    assert data == commissioning_bytes(layout, verdict)
    for number, page in enumerate(texts_of_pdf(data), start=1):
        assert not overlaps(page), f"page {number}"


def test_no_step_asks_for_boxes_that_are_nowhere() -> None:
    """A plate without a belt gets no tension to set again, and boxes are named, as they may be on another page."""
    for name in ("pug-mill", "apple-mill"):
        layout = lay_out(load(SPECS / f"{name}.yaml"))
        words = " ".join(
            text.words for page in texts_of_pdf(commissioning_bytes(layout, check(layout))) for text in page
        )
        assert "boxes above" not in words
        assert ("boxes under Tension" in words) == bool(layout.belts)
        assert ("come after the belt is tight" in words) == bool(layout.belts)

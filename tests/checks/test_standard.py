"""A spec that names a standard and says something else beside it; a figure that is a hair off a standard's.

The standards' figures below are those of IEC 60072-1 (FF165: bolt circle 165, pilot 130, holes 12, four; frame 80:
shaft 19 x 40), of NEMA MG 1 (56C: 5-7/8 in, pilot 4-1/2 in and 0.16 in +0.00/-0.06 high, 3/8-16 threads), as
tests/published holds them.
"""

from __future__ import annotations

from pathlib import Path

import pytest

import platekit
from platekit.checks import Finding
from platekit.spec import with_value
from tests.adversary.sound_plates import FLANGE, ROLLER

FRAME = """\
platekit: 1
title: Cider press, face motor beside the old bearing block
units: {unit}
plate:
  material: S275
  thickness: 10 mm
  outline: {{rectangle: {{width: 600 mm, height: 400 mm}}, at: [120 mm, 0]}}
mounts:
  block:
    side: far
    looking_at: face
    pattern: {{rectangle: {{width: 130 mm, height: 96 mm}}}}
    bolts: {{size: M10, into: nut, flange: 12 mm, washer: true}}
    original: true
  motor:
    side: near
    {motor}
    at: [250 mm, 0]
{bodies}
cutting: {{process: waterjet}}
"""
C_FACE = "pattern: {standard: NEMA 56C}\n    bolts: {into: part, washer: true}"
B14 = "pattern: {standard: IEC 90 B14}\n    bolts: {into: part, depth: 20 mm, thread_in: aluminium, washer: true}"
NUTS_ON_THREADS = B14.replace("into: part, depth: 20 mm, thread_in: aluminium", "into: nut, flange: 11")
MOTOR_SHAFT = "  motor shaft: {{carried_by: motor, shape: {{circle: {{diameter: {0}}}}}, span: [-{1}, 0]}}"
B5 = "pattern: {standard: IEC 80 B5}\n    bolts: {size: M10, into: nut, flange: 10 mm, washer: true}"
FEET = "pattern: {standard: IEC 80}\n    bolts: {size: M8, into: nut, flange: 9 mm, washer: true}"


def plate(motor: str, bodies: str = "", unit: str = "mm") -> str:
    return FRAME.format(motor=motor, unit=unit, bodies=f"bodies:\n{bodies}" if bodies else "")


def found(text: str) -> list[Finding]:
    verdict = platekit.check(platekit.lay_out(platekit.loads(text, "plate.yaml")))
    return [finding for finding in verdict.findings if finding.rule == "standard"]


WRONG: dict[str, tuple[str, str, str]] = {
    "pilot 115 for 4-1/2 in": (C_FACE + "\n    pilot: {diameter: 115 mm, depth: 4 mm}", "", "114.3 mm"),
    "pilot 114 for 4-1/2 in": (C_FACE + "\n    pilot: {diameter: 114 mm, depth: 4 mm}", "", "114.3 mm"),
    "pilot of the frame below": (B14 + "\n    pilot: {diameter: 80, depth: 3}", "", "95 mm"),
    "pilot 1 high for 3": (B14 + "\n    pilot: {diameter: 95, depth: 1}", "", "3 mm"),
    "pilot 2 high for 3": (B14 + "\n    pilot: {diameter: 95, depth: 2}", "", "3 mm"),
    "pilot 5 high for 3": (B14 + "\n    pilot: {diameter: 95, depth: 5}", "", "3 mm"),
    "pilot written as flat": (B14 + "\n    pilot: {diameter: 95, depth: 0}", "", "3 mm"),
    "pilot lower than the least": (C_FACE + "\n    pilot: {diameter: 4.5 in, depth: 2 mm}", "", "4.06 mm"),
    "feet with a pilot": (FEET + "\n    pilot: {diameter: 130, depth: 3}", "", "none"),
    "metric screw in an inch face": (C_FACE.replace("{into", "{size: M10, into"), "", "3/8-16"),
    "coarse for fine": (C_FACE.replace("{into", "{size: 3/8-24, into"), "", "3/8-16"),
    "screw of the frame above": (B14.replace("{into", "{size: M10, into"), "", "M8"),
    "threads deeper than the face lets in": (C_FACE.replace("part,", "part, depth: 22 mm,"), "", "14.22 mm"),
    "nuts on threads": (NUTS_ON_THREADS, "", "M8"),
    "threads in plain holes": (B5.replace("into: nut, flange: 10 mm", "into: part, depth: 20 mm"), "", "12 mm"),
    "screw as thick as its hole": (B5.replace("M10", "M12"), "", "12 mm"),
    "shaft of another frame": (B5, MOTOR_SHAFT.format(24, 40), "19 mm"),
    "shaft longer than the frame's": (B5, MOTOR_SHAFT.format(19, 60), "40 mm"),
    "shaft at another height": (
        FEET,
        "  shaft: {carried_by: motor, lying: {diameter: 19, length: 40, height: 90, axis: 90 deg}, at: [0, 100]}",
        "80 mm",
    ),
    "another part as body": (B5, "  engine: {carried_by: motor, standard: IEC 80 B14}", "100 mm"),
    "body of another circle": (
        "looking_at: face\n    pattern: {circle: {count: 4, diameter: 165, start: 45 deg}}\n"
        "    bolts: {size: M10, into: nut, flange: 10 mm, washer: true}",
        "  engine: {carried_by: motor, standard: IEC 100 B5}",
        "215 mm",
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", WRONG)
def test_what_contradicts_the_named_standard_stops_the_plate_and_its_advice_ends_that(case: str) -> None:
    motor, bodies, listed = WRONG[case]
    text = plate(motor, bodies)
    findings = found(text)
    assert [finding.level for finding in findings] == ["stop"]
    (finding,) = findings
    assert listed in finding.message
    assert any(source in finding.message for source in ("IEC 60072-1", "NEMA MG 1"))
    assert finding.found is not None
    assert finding.needed is not None
    assert finding.advice.text
    for remedy in finding.remedies:
        text = with_value(text, remedy.field, remedy.value)
        assert not found(text), remedy


@pytest.mark.parametrize(
    ("motor", "bodies"),
    [
        (C_FACE, ""),
        (C_FACE + "\n    pilot: {diameter: 4-1/2 in, depth: 0.16 in}", ""),
        (C_FACE + "\n    pilot: {diameter: 114.25, depth: 4}", ""),
        (C_FACE + "\n    pilot: {diameter: 114.3, depth: 2.6}", ""),
        (C_FACE.replace("part,", "part, depth: 0.55 in,"), ""),
        (B14 + "\n    pilot: {diameter: 94.95, depth: 2.9}", ""),
        (B14 + "\n    pilot: {diameter: 95}", ""),
        (B14.replace("{into", "{size: M8, into"), ""),
        (B5, "  motor shaft: {carried_by: motor, shape: {circle: {diameter: 19.02}}, span: [-39.6, 0]}"),
        (B5, "  motor body: {carried_by: motor, shape: {circle: {diameter: 150}}, span: [10, 260]}"),
        (B5.replace("M10", "3/8-16"), ""),
        (FEET, "  gear case: {carried_by: motor, lying: {diameter: 120, length: 150, height: 96, axis: 90 deg}}"),
        (FEET, "  engine: {carried_by: motor, standard: IEC 80}"),
        (FEET, "  fan: {carried_by: motor, standard: IEC 71, at: [0, 300]}"),
    ],
)
def test_a_part_as_it_is_sold_and_measured_is_the_standard(motor: str, bodies: str) -> None:
    assert not found(plate(motor, bodies))


def test_a_pilot_that_stays_out_of_the_plate_gets_its_spacers_with_its_height() -> None:
    (finding,) = found(plate(B14 + "\n    standoff: 1.5\n    pilot: {diameter: 95, depth: 1, opening: none}"))
    assert [(remedy.field, remedy.value) for remedy in finding.remedies] == [
        ("mounts.motor.pilot.depth", "3 mm"),
        ("mounts.motor.standoff", "3 mm"),
    ]


def test_a_pilot_without_its_depth_has_the_standards() -> None:
    layout = platekit.lay_out(platekit.loads(plate(B14 + "\n    pilot: {diameter: 95}"), "plate.yaml"))
    assert layout.mounts["motor"].pilot_depth == 3.0


CIRCLE = (
    "looking_at: face\n    pattern: {{circle: {{count: 4, diameter: {circle}, start: 45 deg}}}}\n"
    "    pilot: {{diameter: {pilot}, depth: 3}}\n    bolts: {{size: M8, into: part, depth: 18, washer: true}}"
)
HOLES = (
    "looking_at: face\n    pattern: {{rectangle: {{width: {w}, height: {h}}}}}\n"
    "    bolts: {{size: M8, into: nut, flange: 9}}"
)


@pytest.mark.parametrize(
    ("motor", "listed"),
    [
        (CIRCLE.format(circle=149, pilot=115), "NEMA"),
        (CIRCLE.format(circle="5-7/8 in", pilot=115), "114.3 mm"),
        (CIRCLE.format(circle=165, pilot=129), "130 mm"),
        (CIRCLE.format(circle=129.5, pilot=60), ""),
        (HOLES.format(w=125, h=99.5), "100 mm"),
        (HOLES.format(w=90, h=100), ""),
    ],
)
def test_a_round_figure_a_hair_off_a_standards_is_asked_about(motor: str, listed: str) -> None:
    findings = found(plate(motor))
    assert [finding.level for finding in findings] == (["note"] if listed else [])
    for finding in findings:
        assert listed in finding.message
        assert "did you mean" in finding.message


@pytest.mark.parametrize("circle", [149.31, 164.83, 130.12, 150, 120, 129.36])
def test_a_measured_figure_is_not_asked_about(circle: float) -> None:
    assert not found(plate(CIRCLE.format(circle=circle, pilot=88.4)))


def grips(text: str) -> list[Finding]:
    verdict = platekit.check(platekit.lay_out(platekit.loads(text, "plate.yaml")))
    return [finding for finding in verdict.findings if finding.rule == "grip" and finding.level == "stop"]


def test_a_face_that_may_be_aluminium_wants_two_diameters_until_the_spec_says_what_it_is() -> None:
    shallow = plate(B14.replace("depth: 20 mm, thread_in: aluminium", "depth: 14 mm"))
    (finding,) = grips(shallow)
    assert "may be aluminium" in finding.message
    for remedy in finding.remedies:
        shallow = with_value(shallow, remedy.field, remedy.value)
    assert not grips(shallow)
    assert not grips(plate(B14.replace(", thread_in: aluminium", "")))


def test_a_face_whose_threads_the_standard_measures_is_asked_what_it_is() -> None:
    def asked(text: str) -> list[str]:
        verdict = platekit.check(platekit.lay_out(platekit.loads(text, "plate.yaml")))
        return [f.message for f in verdict.findings if f.rule == "not-checked" and "thread_in" in f.message]

    assert asked(plate(C_FACE))
    assert not asked(plate(C_FACE.replace("part,", "part, thread_in: cast iron,")))


def test_the_pilot_of_the_larger_face_is_told_as_such() -> None:
    """IEC 60072-1: frame 90 carries FT115 (pilot 95) as B14 and FT130 (pilot 110) as B14 large."""
    (finding,) = found(plate(B14 + "\n    pilot: {diameter: 110, depth: 3}"))
    assert "IEC 90 B14 large" in finding.advice.text


HALF = (
    "looking_at: face\n    pattern: {{circle: {{diameter: {circle}, angles: [{angles}]}}}}\n"
    "    pilot: {{diameter: {pilot}, depth: 3.5}}\n    bolts: {{size: M8, into: nut, flange: 9}}"
)


@pytest.mark.parametrize(
    ("circle", "pilot", "angles", "told"),
    [
        (130, 110, "45 deg, 225 deg", True),
        (130, 110, "45 deg, 135 deg, 225 deg", True),
        (130.1, 110, "10 deg, 100 deg", True),
        (130, 110, "0 deg, 120 deg, 240 deg", False),
        (130, 84, "45 deg, 225 deg", False),
        (120, 110, "45 deg, 225 deg", False),
    ],
)
def test_a_motor_on_some_of_its_screws_is_told(circle: float, pilot: float, angles: str, told: bool) -> None:
    text = plate(HALF.format(circle=circle, pilot=pilot, angles=angles))
    verdict = platekit.check(platekit.lay_out(platekit.loads(text, "plate.yaml")))
    findings = [one for one in verdict.findings if one.rule == "few-screws" and one.needed == 4]
    assert [finding.level for finding in findings] == (["warn"] if told else [])
    assert not found(text)


def test_holes_of_which_nobody_looked_up_how_far_apart_they_are_stop_no_plate() -> None:
    """ISO 3019-2: the code names pilot and number of holes; their distance and size are from memory."""
    thick = "pattern: {standard: ISO 3019-2 80 A2}\n    bolts: {size: M12, into: nut, flange: 10 mm, washer: true}"
    assert [finding.level for finding in found(plate(thick))] == ["warn"]


# --------------------------------------------------------------------------------------------- the spec's own shaft


@pytest.mark.parametrize(
    ("shaft", "said"),
    [
        ("stretch: [0, 50], diameter: 24", ""),  # IEC 90: 24 x 50
        ("stretch: [0, 51], diameter: 24.2", ""),
        ("stretch: [0, 50], diameter: 11", "11 mm thick"),
        ("stretch: [0, 40], diameter: 24", "40 mm long"),
    ],
)
def test_a_shaft_told_in_the_standards_place_is_held_against_it(shaft: str, said: str) -> None:
    text = ROLLER.replace("    standoff: 4\n", f"    standoff: 4\n    shaft: {{along: square, {shaft}}}\n")
    findings = platekit.check(platekit.lay_out(platekit.loads(text, "p.yaml"))).findings
    found = [finding for finding in findings if finding.rule == "standard"]
    assert bool(found) is bool(said)
    assert all(said in one.message and one.level == "warn" for one in found)


def test_a_standards_shaft_that_is_left_out_is_no_shaft_that_passes() -> None:
    text = FLANGE.replace("    standoff: 4\n", "    standoff: 4\n    standard_bodies: false\n")
    assert "its shaft of 14 mm passes the plate" in unchecked(text)
    told = text.replace("standard_bodies: false", "standard_bodies: false\n    shaft: SHAFT")
    assert "its shaft of" not in unchecked(told.replace("SHAFT", "{along: square, stretch: [0, 30], diameter: 14}"))
    body = "\n  own shaft: {carried_by: motor, shape: {circle: {diameter: 14}}, span: [-30, 0], relief: auto}\n"
    assert "its shaft of" not in unchecked(text.replace("bodies:\n", f"bodies:{body}"))
    assert "its shaft of" not in unchecked(FLANGE)


def unchecked(text: str) -> str:
    findings = platekit.check(platekit.lay_out(platekit.loads(text, "p.yaml"))).findings
    return " ".join(finding.message for finding in findings if finding.rule == "not-checked")


def test_a_pilot_that_is_none_of_the_bores_measured_is_a_question() -> None:
    pug = (Path(platekit.__file__).parent.parent / "specs" / "pug-mill.yaml").read_text("utf-8")
    screws = "    screws: {size: M10, into: nut, flange: 14, washer: true}"  # the bore measures 71.93
    for diameter, asked in ((72, False), (82, True)):
        text = pug.replace(screws, f"    pilot: {{diameter: {diameter}, depth: 3}}\n{screws}", 1)
        found = platekit.check(platekit.lay_out(platekit.loads(text, "p.yaml"))).findings
        assert any("of its bores none" in one.message and one.level == "note" for one in found) is asked

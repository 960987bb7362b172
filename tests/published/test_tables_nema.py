"""NEMA motors: feet, C faces, stepper faces and shaft limits as printed, in inches.

Source: NEMA MG 1, tables 4.4.1 (feet) and 4.4.4 (C faces) and section 4.9 (shafts); NEMA ICS 16 as charted (steppers).
Compared: bolt circle, pilot, depth, face, holes and screws of C faces; height, holes and shaft of feet; squares of
    steppers.
Within: 0.000001 mm, so that the tables hold the printed number and not something near it; 0.1 mm between square and
    bolt circle of the steppers, which are both rounded in print.
"""

from __future__ import annotations

import math

import pytest

from platekit.tables import mount

INCH = 25.4


# NEMA MG 1 table 4.4.4: AJ, AK, BB, BD, holes, tap
C_FACES = {
    "NEMA 56C": (5.875, 4.5, 0.16, 6.50, 4, "3/8-16"),
    "NEMA 182TC": (7.25, 8.5, 0.25, 9.0, 4, "1/2-13"),
    "NEMA 184TC": (7.25, 8.5, 0.25, 9.0, 4, "1/2-13"),
    "NEMA 284TC": (9.0, 10.5, 0.25, 11.25, 4, "1/2-13"),
    "NEMA 286TC": (9.0, 10.5, 0.25, 11.25, 4, "1/2-13"),
    "NEMA 364TC": (11.0, 12.5, 0.25, 14.0, 8, "5/8-11"),
    "NEMA 365TC": (11.0, 12.5, 0.25, 14.0, 8, "5/8-11"),
}


@pytest.mark.parametrize("name", C_FACES)
def test_c_face_as_printed_in_table_4_4_4(name: str) -> None:
    circle, pilot, depth, face, holes, tap = C_FACES[name]
    found = mount(name)
    assert found.bolt_circle == pytest.approx(circle * INCH, abs=1e-6)
    assert found.pilot == pytest.approx(pilot * INCH, abs=1e-6)
    assert found.pilot_depth == pytest.approx(depth * INCH, abs=1e-6)
    assert found.face == pytest.approx(face * INCH, abs=1e-6)
    assert (found.holes, found.screw) == (holes, tap)
    assert found.source.name.startswith("NEMA MG 1 table 4.4.4")


def test_four_holes_of_a_c_face_lie_at_45_degrees() -> None:
    angles = [math.degrees(math.atan2(y, x)) % 360 for x, y in mount("NEMA 56C").points]
    assert angles == pytest.approx([45, 135, 225, 315], abs=1e-6)


def test_eight_holes_lie_at_45_degrees_and_on_the_centre_lines() -> None:
    angles = [math.degrees(math.atan2(y, x)) % 360 for x, y in mount("NEMA 364TC").points]
    assert angles == pytest.approx([0, 45, 90, 135, 180, 225, 270, 315], abs=1e-6)


@pytest.mark.parametrize("frame", ["182TC", "184TC", "213TC", "215TC", "254TC", "256TC", "284TC", "286TC"])
def test_pilot_is_larger_than_the_bolt_circle_from_182tc_to_286tc(frame: str) -> None:
    # NEMA MG 1 table 4.4.4: 8.5 in against 7.25 in, 10.5 in against 9 in
    found = mount(f"NEMA {frame}")
    assert found.screws_inside_pilot
    assert any("larger than the bolt circle" in note for note in found.notes)


@pytest.mark.parametrize("frame", ["42C", "48C", "56C", "143TC", "145TC"])
def test_pilot_is_inside_the_screws_up_to_145tc(frame: str) -> None:
    assert not mount(f"NEMA {frame}").screws_inside_pilot


# NEMA MG 1 table 4.4.1: D, 2E, 2F, BA, H, U, N-W, key
FEET = {
    "NEMA 56": (3.5, 4.88, 3.0, 2.75, 0.34, 0.625, 1.88, "3/16 sq x 1-3/8 in"),
    "NEMA 145T": (3.5, 5.5, 5.0, 2.25, 0.34, 0.875, 2.25, "3/16 sq x 1-3/8 in"),
    "NEMA 184T": (4.5, 7.5, 5.5, 2.75, 0.41, 1.125, 2.75, "1/4 sq x 1-3/4 in"),
}


@pytest.mark.parametrize("name", FEET)
def test_foot_as_printed_in_table_4_4_1(name: str) -> None:
    height, across, along, shoulder, hole, shaft, length, key = FEET[name]
    found = mount(name)
    assert found.shaft_height == pytest.approx(height * INCH, abs=1e-6)
    assert (found.width, found.height) == pytest.approx((across * INCH, along * INCH), abs=1e-6)
    assert found.hole == pytest.approx(hole * INCH, abs=1e-6)
    assert (found.shaft, found.shaft_length) == pytest.approx((shaft * INCH, length * INCH), abs=1e-6)
    assert found.key == key
    assert found.shaft_end_mm == pytest.approx((0, (along / 2 + shoulder + length) * INCH), abs=1e-6)


# NEMA ICS 16 as charted: square of the holes in mm, pilot in mm, bolt circle in inches (rounded there)
STEPPERS = {"NEMA 17": (31.0, 22.0, 1.725), "NEMA 34": (69.6, 73.0, 3.875)}


@pytest.mark.parametrize("name", STEPPERS)
def test_stepper_face_as_charted(name: str) -> None:
    square, pilot, circle = STEPPERS[name]
    found = mount(name)
    assert (found.width, found.height, found.pilot) == (square, square, pilot)
    assert found.bolt_circle is not None
    # the square is printed to 0.1 mm, so its diagonal agrees with the bolt circle to 0.1 mm
    assert found.bolt_circle == pytest.approx(circle * INCH, abs=0.1)


# NEMA MG 1 section 4.9: shafts up to 1.5 in are +0.0000/-0.0005 in, larger ones +0.000/-0.001 in
@pytest.mark.parametrize(("name", "lower"), [("NEMA 145T", -0.0005), ("NEMA 215T", -0.0005), ("NEMA 254T", -0.001)])
def test_shaft_limits_of_section_4_9(name: str, lower: float) -> None:
    limits = mount(name).shaft_tolerance
    assert limits is not None
    assert (limits.lower, limits.upper) == pytest.approx((lower * INCH, 0.0), abs=1e-9)

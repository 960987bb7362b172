"""IEC motors: flanges, feet and shafts as printed, in mm, both editions.

Source: IEC 60072-1; EN 50347 for the flanges of the frames. M, N and P of the flanges and H, D and E of the frames
    agree in several printings; T, S and A, B, C, K stand in the tables as doubted, which is tested too.
Compared: flanges with through and tapped holes, which frame carries which, feet, shaft and pilot fits, where the holes
    lie.
Within: equal; 0.000001 degrees at the holes, one nanometre at the fits.
"""

from __future__ import annotations

import math

import pytest

from platekit.tables import mount

# IEC 60072-1: M, N, P, T, S (2022 and EN 50347), S (1991), holes
FLANGES = {
    "FF130": (130, 110, 160, 3.5, 10, 10, 4),
    "FF165": (165, 130, 200, 3.5, 12, 12, 4),
    "FF215": (215, 180, 250, 4.0, 14.5, 15, 4),
}
TAPPED = {"FT85": (85, 70, 105, 2.5, "M6"), "FT115": (115, 95, 140, 3.0, "M8")}


@pytest.mark.parametrize("name", FLANGES)
def test_flange_with_holes(name: str) -> None:
    circle, pilot, face, depth, hole, old_hole, holes = FLANGES[name]
    found = mount(name)
    assert (found.bolt_circle, found.pilot, found.face) == (circle, pilot, face)
    assert (found.pilot_depth, found.hole, found.holes) == (depth, hole, holes)
    assert found.screw is None
    assert found.source.doubted == (
        "hole_mm",
    )  # the hole of 2022; a maker's catalogue confirms that of 1991 and the depth
    if hole != old_hole:
        (edition,) = found.editions
        assert f"{hole:g} mm after IEC 60072-1:2022" in edition
        assert f"{old_hole:g} mm after IEC 60072-1:1991" in edition
    else:
        assert found.editions == ()


@pytest.mark.parametrize("name", TAPPED)
def test_flange_with_tapped_holes(name: str) -> None:
    circle, pilot, face, depth, screw = TAPPED[name]
    found = mount(name)
    assert (found.bolt_circle, found.pilot, found.face, found.pilot_depth) == (circle, pilot, face, depth)
    assert (found.screw, found.hole, found.holes) == (screw, None, 4)


# the frames that carry a flange, as printed beside it
@pytest.mark.parametrize(
    ("name", "flange"),
    [
        ("IEC 71 B5", "FF130"),
        ("IEC 80 B5", "FF165"),
        ("IEC 90 B5", "FF165"),
        ("IEC 100 B5", "FF215"),
        ("IEC 112 B5", "FF215"),
        ("IEC 71 B14 small", "FT85"),
        ("IEC 56 B14 large", "FT85"),
        ("IEC 90 B14 small", "FT115"),
        ("IEC 71 B14 large", "FT115"),
    ],
)
def test_frame_carries_flange(name: str, flange: str) -> None:
    found, own = mount(name), mount(flange)
    assert found.points == own.points
    assert (found.pilot, found.face, found.screw, found.hole) == (own.pilot, own.face, own.screw, own.hole)
    assert any(flange in note for note in found.notes)


# IEC 60072-1: H, A, B, C, K, D, E
FEET = {
    "IEC 71": (71, 112, 90, 45, 7, 14, 30),
    "IEC 90S": (90, 140, 100, 56, 10, 24, 50),
    "IEC 132M": (132, 216, 178, 89, 12, 38, 80),
}


@pytest.mark.parametrize("name", FEET)
def test_foot(name: str) -> None:
    height, across, along, shoulder, hole, shaft, length = FEET[name]
    found = mount(name)
    assert (found.shaft_height, found.width, found.height) == (height, across, along)
    assert (found.hole, found.shaft, found.shaft_length) == (hole, shaft, length)
    assert found.shaft_end_mm == (0.0, along / 2 + shoulder + length)


@pytest.mark.parametrize("name", ["IEC 71 B5", "IEC 71 B14", "IEC 90 B5", "IEC 132 B14"])
def test_flanged_motor_has_the_shaft_of_its_frame(name: str) -> None:
    shafts = {"71": (14, 30), "90": (24, 50), "132": (38, 80)}
    found = mount(name)
    assert (found.shaft, found.shaft_length) == shafts[name.split()[1]]


def test_flange_holes_straddle_the_centre_lines() -> None:
    # IEC 60072-1: four holes at 45 degrees, eight at 22.5 degrees
    four = [math.degrees(math.atan2(y, x)) % 360 for x, y in mount("FF165").points]
    eight = [math.degrees(math.atan2(y, x)) % 360 for x, y in mount("FF400").points]
    assert four == pytest.approx([45, 135, 225, 315], abs=1e-6)
    assert eight == pytest.approx([22.5 + 45 * n for n in range(8)], abs=1e-6)


# IEC 60072-1: shafts j6 up to 28 mm, k6 to 48 mm, m6 above; deviations of ISO 286-2 in micrometres
@pytest.mark.parametrize(
    ("name", "zone", "lower", "upper"),
    [("IEC 90L", "j6", -4, 9), ("IEC 132M", "k6", 2, 18), ("IEC 200L", "m6", 11, 30)],
)
def test_shaft_fit(name: str, zone: str, lower: float, upper: float) -> None:
    limits = mount(name).shaft_tolerance
    assert limits is not None
    assert limits.text == zone
    assert (limits.lower, limits.upper) == pytest.approx((lower / 1000, upper / 1000), abs=1e-9)


# IEC 60072-1: pilots j6 up to 230 mm, h6 above; deviations of ISO 286-2 in micrometres
@pytest.mark.parametrize(
    ("name", "zone", "lower", "upper"),
    [("FF130", "j6", -9, 13), ("FF165", "j6", -11, 14), ("FF265", "j6", -13, 16), ("FF300", "h6", -29, 0)],
)
def test_pilot_fit(name: str, zone: str, lower: float, upper: float) -> None:
    limits = mount(name).pilot_tolerance
    assert limits is not None
    assert limits.text == zone
    assert (limits.lower, limits.upper) == pytest.approx((lower / 1000, upper / 1000), abs=1e-9)

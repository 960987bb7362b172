"""Motor frames, faces and housings as makers' charts and reprints have them.

Source: NEMA MG 1 tables 4.4.1 and 4.4.4 as the Hydraulic Institute reprints them; charts of NEMA frames by
    motor makers; Motive catalogue, Delphi series (IEC 72-1 dimensions); Kollmorgen NEMA frame sizes;
    Cummins N14 manual.
Compared: feet and keys of old frames, meaning of BB and BD of C faces, IEC feet and flanges, bodies against AC, faces
    of stepping motors, bores of flywheel housings.
Within: equal.
"""

from __future__ import annotations

import pytest

from platekit.tables import mount

INCH = 25.4

# frame: D, 2E, 2F, H in inches
FEET = {"NEMA 254U": (6.25, 10, 8.25, 0.53), "NEMA 324U": (8, 12.5, 10.5, 0.66), "NEMA 445U": (11, 18, 16.5, 0.81)}
# IEC frame: A, B
IEC_FEET = {"IEC 90L": (140, 125), "IEC 132M": (216, 178), "IEC 225M": (356, 311)}
# IEC frame: AC, the greatest diameter of the maker's motors
AC = {"56": 120, "63": 130, "71": 145, "80": 175, "90": 195, "112": 240, "132": 275, "180": 380, "200": 420, "280": 580}


@pytest.mark.parametrize(("name", "figures"), FEET.items())
def test_feet_of_u_frames(name: str, figures: tuple[float, ...]) -> None:
    found = mount(name)
    assert found.source.kind == "published"
    listed = (found.shaft_height, found.width, found.height, found.hole)
    assert listed == pytest.approx([due * INCH for due in figures])


@pytest.mark.parametrize("frame", ["203", "204"])
def test_keys_of_203_and_204(frame: str) -> None:
    assert mount(f"NEMA {frame}").key == "3/16 sq x 1-3/8 in"


@pytest.mark.parametrize(("name", "figures"), IEC_FEET.items())
def test_feet_of_iec_frames(name: str, figures: tuple[float, float]) -> None:
    found = mount(name)
    assert (found.width, found.height) == figures
    assert not {"width_mm", "height_mm", "to_shoulder_mm"} & set(found.source.doubted)


@pytest.mark.parametrize(("frame", "diameter"), AC.items())
def test_the_room_for_a_motor_is_no_smaller_than_a_maker_s(frame: str, diameter: float) -> None:
    (frames,) = [body for body in mount(f"IEC {frame} B5").bodies if body.name == "frame"]
    assert frames.shape[1] >= diameter


@pytest.mark.parametrize("name", ["NEMA 42C", "NEMA 48C", "NEMA 56C", "NEMA 143TC", "NEMA 182TCH"])
def test_a_low_register_has_a_greatest_height(name: str) -> None:
    # MG 1 table 4.4.4: BB 0.16, tolerance +0.00/-0.06
    found = mount(name)
    assert found.pilot_depth_is == "maximum"
    assert found.pilot_depth == pytest.approx(0.16 * INCH)
    assert found.pilot_depth_least == pytest.approx(0.10 * INCH)


@pytest.mark.parametrize(("name", "meaning"), [("48C", "maximum"), ("145TC", "nominal"), ("184TCH", "nominal")])
def test_what_the_face_s_diameter_is(name: str, meaning: str) -> None:
    assert any(
        f"face diameter is {'a ' * (meaning == 'maximum')}{meaning}" in note for note in mount(f"NEMA {name}").notes
    )


def test_the_smallest_stepper() -> None:
    # two charts: holes 16 mm apart, pilot 15, shaft 4
    found = mount("NEMA 8")
    assert (found.width, found.pilot, found.shaft) == (16.0, 15.0, 4.0)


@pytest.mark.parametrize(("size", "range_of"), [("NEMA 34", "9.5 to 14"), ("NEMA 42 stepper", "16 to 19")])
def test_shafts_that_differ_by_maker_are_given_as_a_range(size: str, range_of: str) -> None:
    assert any(range_of in note for note in mount(size).notes)


@pytest.mark.parametrize(("size", "upper"), [("1", 0.005), ("1/2", 0.008), ("2", 0.005), ("0", 0.010)])
def test_bores_of_flywheel_housings(size: str, upper: float) -> None:
    found = mount(f"SAE {size} housing").pilot_tolerance
    assert found is not None
    assert found.upper == pytest.approx(upper * INCH)

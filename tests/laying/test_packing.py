"""Packing that the belt sizes: pulleys in line, shafts as high, in thicknesses that are sold."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import platekit
from platekit import tables
from platekit.errors import SpecError
from platekit.export.bench.words import screw_rows
from platekit.placed import Layout
from tests.checks import drives, lying

MOTOR = "    pattern: {rectangle: {width: 120, height: 120}}\n"
FEET = "    pattern: {standard: IEC 90S}\n"


def laid(text: str) -> Layout:
    return platekit.lay_out(platekit.loads(text, "drive.yaml"))


@given(st.floats(0, 120), st.sampled_from(["mm", "in"]))
@settings(max_examples=100)
def test_pieces_add_up_to_within_half_of_the_thinnest_shim(height: float, unit: str) -> None:
    found = tables.packing(height, "mm" if unit == "mm" else "in")
    thinnest = 0.05 if unit == "mm" else 0.0254
    assert found.height == pytest.approx(sum(found.pieces), abs=1e-6)
    assert abs(found.height - height) <= thinnest / 2 + 1e-6
    assert len([piece for piece in found.pieces if piece < 1]) <= 5  # thin shims pile up and give way


def test_a_face_is_packed_until_its_pulley_is_in_line() -> None:
    # the driven pulley's middle is 8 + 32 mm below the near face; the motor's, 47.3 mm below its own face
    text = drives.changed((MOTOR, f"{MOTOR}    packing: belt\n"), ("span: [-50, -30]", "span: [-57.3, -37.3]"))
    layout = laid(text)
    assert layout.mounts["motor"].standoff == pytest.approx(7.3)
    belt = layout.belts[0]
    assert belt.driver.plane == pytest.approx(belt.driven.plane)
    far = laid(text.replace("side: near", "side: far").replace("span: [-57.3, -37.3]", "span: [14.7, 34.7]"))
    assert far.mounts["motor"].standoff == pytest.approx(7.3)


def test_feet_are_packed_until_both_shafts_are_as_high() -> None:
    # the line shaft's axis is 150 - 15 mm above the near face, a motor of frame 90 has it 90 mm above its feet
    layout = laid(lying.changed((FEET, f"{FEET}    packing: belt\n")))
    assert layout.mounts["motor"].standoff == pytest.approx(45)
    belt = layout.belts[0]
    assert belt.driver.center[1] == pytest.approx(belt.driven.center[1])


def test_the_bench_sheet_says_what_to_put_under_each_foot() -> None:
    layout = laid(lying.changed((FEET, f"{FEET}    packing: belt\n"), ("height: -150", "height: -150.27")))
    assert layout.mounts["motor"].standoff == pytest.approx(45.25)
    said = " ".join(" ".join(row) for row in screw_rows(layout))
    assert "4 spacers 45.25 mm (each 30 mm + 15 mm + 0.2 mm + 0.05 mm)" in said


@pytest.mark.parametrize(
    ("text", "field", "said"),
    [
        (
            drives.changed((MOTOR, f"{MOTOR}    packing: belt\n"), ("span: [-50, -30]", "span: [-45, -25]")),
            "mounts.motor.packing",
            "5 mm lower than the plate",
        ),
        (
            drives.changed((MOTOR, f"{MOTOR}    packing: belt\n    standoff: 4\n")),
            "mounts.motor",
            "leave one out",
        ),
        (
            lying.changed((FEET, f"{FEET}    packing: belt\n"), ("height: -150", "height: -90")),
            "mounts.motor.packing",
            "15 mm lower than the plate",
        ),
    ],
)
def test_what_packing_cannot_do_is_said_with_its_place(text: str, field: str, said: str) -> None:
    with pytest.raises(SpecError) as caught:
        laid(text)
    (problem,) = caught.value.problems
    assert str(problem.field).startswith(field)
    assert problem.line > 0
    assert said in str(problem)

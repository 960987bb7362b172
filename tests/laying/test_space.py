"""Bodies that are no prisms, on either side of the plate: where they reach, what the plate sees of them."""

from __future__ import annotations

import math

import pytest

import platekit
from platekit.errors import SpecError
from platekit.geometry import Disc, Lying, Slot, Upright
from platekit.placed import Body

SPEC = """\
platekit: 1
title: Bodies of every kind
units: mm
plate: {{material: mild steel, thickness: 10, outline: {{rectangle: {{width: 900, height: 900}}}}}}
mounts:
  part:
    side: {side}
    looking_at: face
    pattern: {{points: [[300, 300]], hole: 9}}
    at: [100, 50]
    turn: 30 deg
    {travel}
bodies:
  thing: {{carried_by: part, {body}}}
"""


def bodies(body: str, side: str = "near", travel: str = "standoff: 5") -> dict[str, Body]:
    layout = platekit.lay_out(platekit.loads(SPEC.format(body=body, side=side, travel=travel), "p.yaml"))
    return {own.name: own for own in layout.bodies if own.kind == "given"}


@pytest.mark.parametrize(("side", "height", "axis"), [("near", 5 + 71, 30 + 180), ("far", -10 - 5 - 71, 30)])
def test_a_lying_cylinder_keeps_its_axis_height_and_direction(side: str, height: float, axis: float) -> None:
    body = bodies("lying: {diameter: 110, length: 200, height: 71}, at: [0, 40]", side)["thing"]
    (solid,) = body.solids
    assert isinstance(solid, Lying)
    assert (solid.height, solid.radius) == pytest.approx((height, 55))
    assert body.z == pytest.approx((height - 55, height + 55))
    direction = math.degrees(math.atan2(solid.b[1] - solid.a[1], solid.b[0] - solid.a[0])) % 360
    assert direction == pytest.approx(axis)
    turn = math.radians(30)
    middle = ((solid.a[0] + solid.b[0]) / 2, (solid.a[1] + solid.b[1]) / 2)
    assert middle == pytest.approx((100 - 40 * math.sin(turn), 50 + 40 * math.cos(turn)))
    assert body.shape.area == pytest.approx(110 * 200)


@pytest.mark.parametrize("side", ["near", "far"])
def test_steps_and_cones_narrow_the_same_way_on_both_sides(side: str) -> None:
    steps = "steps: [{diameter: 60, span: [0, 12]}, {diameter: [40, 20], span: [-30, 0]}]"
    body = bodies(steps, side)["thing"]
    assert isinstance(body.shape, Disc)
    assert body.shape.diameter == 60
    assert body.z == pytest.approx((-25, 17) if side == "near" else (-27, 15))
    # the cone is 40 wide where it ends at -30 (deepest), 20 at the mating face
    deep = (-25, -24.999) if side == "near" else (14.999, 15)
    (widest,) = body.covered(*deep)
    assert 2 * widest.box.width / 2 == pytest.approx(40, abs=0.01)
    (in_plate,) = body.covered(-10, 0)
    # from 5 + 0 to 5 + 10 below the mating face the cone widens from 20 by 2/3 mm a mm
    assert in_plate.box.width == pytest.approx(20 + 20 * 15 / 30)


def test_what_travels_is_swept_piece_by_piece() -> None:
    travel = "take_up: {slots: {along: 0 deg, install: 10, tension: 20}}"
    body = bodies("steps: [{diameter: 60, span: [0, 12]}, {diameter: 20, span: [-30, 0]}]", travel=travel)["thing"]
    thick, thin = body.swept_solids
    assert isinstance(thick, Upright)
    assert isinstance(thin, Upright)
    assert thick.shape == Slot((90.0, 50.0), (120.0, 50.0), 30)
    assert thin.shape == Slot((90.0, 50.0), (120.0, 50.0), 10)
    assert body.covered(-30, -20) == (thin.shape,)


def test_a_standard_part_on_feet_brings_a_lying_frame_and_shaft() -> None:
    found = bodies("standard: NEMA 56, at: [10, 0]")
    frame, shaft = found["thing.frame"], found["thing.shaft"]
    (lying,) = frame.solids
    assert isinstance(lying, Lying)
    assert lying.height - 5 == pytest.approx(3.5 * 25.4)
    (pin,) = shaft.solids
    assert isinstance(pin, Lying)
    assert 2 * pin.radius == pytest.approx(0.625 * 25.4)
    # along the part's own y, mirrored and turned with it
    assert abs(math.degrees(math.atan2(pin.b[1] - pin.a[1], pin.b[0] - pin.a[0])) % 180 - 120) < 1e-6


@pytest.mark.parametrize(
    ("body", "said"),
    [
        ("shape: {circle: {diameter: 8}}", "without its span"),
        ("span: [0, 5], lying: {diameter: 8, length: 9, height: 4}", "a span without a shape"),
        ("shape: {circle: {diameter: 8}}, span: [0, 5], at: [1, 2]", "inside the shape"),
        ("lying: {diameter: 8, length: 9, height: 4}, turn: 5 deg", "axis"),
        ("steps: [{diameter: 8, span: [5, 0]}]", "smaller"),
        ("steps: [{diameter: [0, 0], span: [0, 5]}]", "above zero"),
        ("span: [0, 5]", "exactly one of shape, lying, steps, standard"),
        ("standard: NEMA 999X", "in no table"),
    ],
)
def test_what_makes_no_body_is_told(body: str, said: str) -> None:
    with pytest.raises(SpecError, match=said):
        bodies(body)

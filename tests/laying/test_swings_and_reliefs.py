"""A hole at the pivot stays round, a relief has just its room, and what geometry refuses is told at its line."""

from __future__ import annotations

import pytest

from platekit.errors import GeometryError, SpecError
from platekit.geometry import CurvedSlot, Disc
from platekit.laying.shapes import errors_at
from platekit.layout import lay_out
from platekit.spec import loads

SWINGING = """\
platekit: 1
title: A motor that swings about one of its own holes
units: mm
plate: {material: mild steel, thickness: 6, outline: {rectangle: {width: 400, height: 300}}}
mounts:
  motor:
    side: far
    looking_at: face
    pattern: {circle: {diameter: 130, count: 4, start: 45 deg}}
    bolts: {size: M8, into: part, depth: 18, washer: true}
    take_up: {swing: {about: [ABOUT], tightens: clockwise, install: 3 deg, tension: 5 deg}}
cutting: {process: laser}
"""

STRAIGHT = """\
platekit: 1
title: A box that travels through the plate
units: mm
plate: {material: acrylic, thickness: 6, outline: {rectangle: {width: 500, height: 400}}}
mounts:
  motor:
    side: near
    looking_at: face
    pattern: {rectangle: {width: 160, height: 160, hole: 9}}
    take_up: {slots: {along: 15.3 deg, install: 6, tension: 12}}
bodies:
  box:
    carried_by: motor
    shape: {rectangle: {width: 58.0, height: 57.7, corner: 1.3}, turn: 75.2 deg}
    span: [-20, 0]
    gap: 3.2
    relief: auto
cutting: {process: router}
"""


@pytest.mark.parametrize("about", ["45.96, 45.96", "45.962, 45.962", "45.9619, 45.9619", "45.955, 45.965"])
def test_a_hole_at_the_pivot_stays_round(about: str) -> None:
    """The first hole lies at 65 mm times the cosine of 45 degrees, 45.961941 mm: nobody types all its digits."""
    layout = lay_out(loads(SWINGING.replace("ABOUT", about), "swing"))
    at_pivot, *others = layout.openings
    assert isinstance(at_pivot.shape, Disc)
    assert all(isinstance(other.shape, CurvedSlot) for other in others)
    heads = [body for body in layout.bodies if body.screw == "motor.1" or body.name.startswith("motor.1")]
    assert all(isinstance(body.swept, Disc) for body in heads)


def test_a_hole_beside_the_pivot_is_a_slot() -> None:
    layout = lay_out(loads(SWINGING.replace("ABOUT", "45.9, 45.9"), "swing"))
    assert isinstance(layout.openings[0].shape, CurvedSlot)


def test_a_relief_is_not_larger_than_its_room() -> None:
    """The box 58.0 x 57.7 turned by 75.2 degrees, over 18 mm at 15.3 degrees, with 3.2 mm all round.

    Its outermost points are its corner roundings (1.3 mm): |cos| and |sin| of 75.2 degrees times the sides less two
    roundings, plus two roundings, plus the travel's share, plus two gaps; corners of 4.5 mm a router cuts.
    """
    relief = lay_out(loads(STRAIGHT, "straight")).opening("box.relief")
    assert relief.shape.box.width == pytest.approx(93.79, abs=0.005)
    assert relief.shape.box.height == pytest.approx(81.39, abs=0.005)


def test_what_geometry_refuses_is_told_at_its_line() -> None:
    spec = loads(STRAIGHT, "straight")
    with pytest.raises(SpecError) as caught, errors_at(spec, "bodies.box"):
        raise GeometryError("a shape 3 mm by 4 mm taken in by 2 mm: nothing is left", "take it in by less")
    [problem] = caught.value.problems
    assert problem.line == STRAIGHT[: STRAIGHT.index("  box:")].count("\n") + 1
    assert problem.wanted == "take it in by less"

"""A notch is the same however the plate lies."""

from __future__ import annotations

import math

import pytest

import platekit
from platekit.geometry import Loop

SAME = 1e-6
"""Radii that differ by less are the same, mm: the program's own measure of it."""
CORNERS = [(131, 140), (-22, 151), (-157, 91), (-176, -69), (-58, -186), (95, -140), (21, -2)]


def notched(turn_deg: float) -> Loop:
    """A plate with a hollow side, behind which it goes on; a block stands in the plate near that side."""
    a = math.radians(turn_deg)
    points = [[x * math.cos(a) - y * math.sin(a), x * math.sin(a) + y * math.cos(a)] for x, y in CORNERS]
    text = f"""\
platekit: 1
title: Block near a hollow side
units: mm
plate: {{material: mild steel, thickness: 6, outline: {{polygon: {{points: {points}}}}}}}
mounts: {{m: {{side: far, pattern: {{circle: {{count: 4, diameter: 30, hole: 6}}}},
  at: [{-110 * math.cos(a)!r}, {-110 * math.sin(a)!r}], turn: {turn_deg}}}}}
bodies:
  block: {{carried_by: plate, side: near, shape: {{rectangle: {{width: 78, height: 79}}, turn: {turn_deg}}},
    span: [-28, 17], gap: 0, relief: auto}}
limits: {{inside_radius: 0.25}}
cutting: {{process: laser}}
"""
    layout = platekit.lay_out(platekit.loads(text, "plate.yaml"))
    assert not [opening for opening in layout.openings if opening.role == "relief"]
    return layout.outline.loop()


@pytest.mark.parametrize("turn", [7, 33, 90, -84, 180.5])
def test_a_notch_is_the_same_however_the_plate_lies(turn: float) -> None:
    upright, turned = notched(0), notched(turn)
    assert turned.area == pytest.approx(upright.area, rel=1e-10)
    radii = [sorted(radius for _, radius in loop.inside_corners()) for loop in (upright, turned)]
    assert radii[1] == pytest.approx(radii[0], abs=SAME)

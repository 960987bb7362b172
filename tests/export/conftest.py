"""Plates that the export tests share: both are clear to cut, neither has any symmetry.

`winder` has a polygon with corner radii, cut holes, tapped holes that are only marked, a recess, a slot, a turned
cutout. `auger` is written in inches and has a wrapped outline and curved slots.
"""

from __future__ import annotations

import pytest

from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import loads

WINDER = """\
platekit: 1
title: Bobbin winder, new motor beside the old bearing block
units: mm
plate:
  material: mild steel
  thickness: 8
  outline: {polygon: {points: [[-90, -70], [160, -70], [160, 60], [40, 110], [-90, 80]], corner: [12, 12, 20, 30, 12]}}
  cutouts:
    cable: {circle: {diameter: 22}, at: [-62, -42]}
    window: {rectangle: {width: 30, height: 16, corner: 4}, at: [-50, 60], turn: 20 deg}
    drain: {slot: {length: 30, width: 10}, at: [20, -52], turn: 5 deg}
mounts:
  block:
    side: far
    looking_at: face
    pattern: {points: [[-40, -30], [35, -28], [30, 32], [-38, 25]], hole: 11}
    pilot: {diameter: 40, depth: 3, clearance: 0.3}
    bolts: {size: M10, into: part, depth: 40, washer: true}
  motor:
    side: near
    looking_at: face
    pattern: {points: [[-30, -22], [30, -22], [27, 22], [-30, 25]]}
    pilot: {diameter: 24, depth: 2, opening: recess, clearance: 0.3}
    at: [105, -10]
    bolts: {size: M6, into: plate, flange: 8}
cutting: {process: laser, kerf: 0.3, drilling: 0.3 mm}
limits: {fit_stop: 0.5}                 # these plates are for files; the odds are judged elsewhere
"""

AUGER = """\
platekit: 1
title: Grain auger, motor on a swinging seat
units: in
plate:
  material: mild steel
  thickness: 1/4 in
  outline: {wrap: {margin: auto}}
mounts:
  frame:
    side: far
    looking_at: back
    pattern: {points: [[-4, -3], [4, -3], [0, 3.5]], hole: 7/16 in}
    bolts: {size: 3/8-16, into: nut, flange: 3/8 in, washer: true}
  seat:
    side: near
    looking_at: back
    pattern: {points: [[-1.5, -1], [1.5, -1], [1.2, 1.4]], hole: 3/8 in}
    at: [5, 1]
    bolts: {size: 5/16-18, into: nut, flange: 3/8 in, washer: true}
    take_up: {swing: {about: [0, 0], tightens: clockwise, install: 3 deg, tension: 5 deg, pivot_hole: 3/8 in}}
cutting: {process: waterjet}
"""


@pytest.fixture(scope="package")
def winder() -> Layout:
    return lay_out(loads(WINDER, "winder"))


@pytest.fixture(scope="package")
def auger() -> Layout:
    return lay_out(loads(AUGER, "auger"))


@pytest.fixture(scope="package", params=["winder", "auger"])
def plate(request: pytest.FixtureRequest) -> Layout:
    layout: Layout = request.getfixturevalue(request.param)
    return layout

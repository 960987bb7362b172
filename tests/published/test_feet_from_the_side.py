"""Motors on feet as the views from the side draw them, held against the printed foot tables.

Source: IEC 60072-1 (H, B, C, D, E of three frames) and NEMA MG 1 table 4.4.1 (D, 2F, BA, U, N-W of three frames).
Compared: height, thickness, shoulder and end of the shaft in both views, with the motor either way round, on the near
    and on the far side, and turned by 30 degrees.
Within: 0.05 mm, as round parts are drawn with 96 chords; shoulder and end 0.000001 mm.
"""

from __future__ import annotations

import math

import pytest

import platekit
from platekit.drawing.from_side import SideView, side_views

INCH = 25.4

# H, B, C, D, E in mm
IEC = {
    "IEC 71": (71, 90, 45, 14, 30),
    "IEC 90S": (90, 100, 56, 24, 50),
    "IEC 132M": (132, 178, 89, 38, 80),
}
# D, 2F, BA, U, N-W in inches
NEMA = {
    "NEMA 56": (3.5, 3.0, 2.75, 0.625, 1.88),
    "NEMA 145T": (3.5, 5.0, 2.25, 0.875, 2.25),
    "NEMA 184T": (4.5, 5.5, 2.75, 1.125, 2.75),
}
FEET = {**IEC, **{name: tuple(INCH * figure for figure in row) for name, row in NEMA.items()}}

SPEC = """\
platekit: 1
title: A motor on its feet beside a line shaft
units: mm
plate: {{material: mild steel, thickness: 16, outline: {{rectangle: {{width: 1800, height: 1800}}}}}}
mounts:
  bed:
    side: far
    looking_at: face
    pattern: {{rectangle: {{width: 1600, height: 1600}}}}
    screws: {{size: M12, into: part, depth: 28}}
    shaft: {{at: [-600, 0], height: -300, along: {along} deg, stretch: [-700, 700], diameter: 30}}
  motor:
    side: {side}
    pattern: {{standard: {name}}}
    at: [100, 0]
    turn: {turn} deg
    screws: {{size: M6, into: nut, flange: 10}}
drive:
  belt: {{section: A, choose: true}}
  driver: {{on: motor, pitch_diameter: 80, span: {{width: 18, from_end: 0}}}}
  driven: {{on: bed, pitch_diameter: 200, span: {{width: 18, in_line: true}}}}
cutting: {{process: laser}}
"""


def views(name: str, side: str, turn: float) -> tuple[SideView, ...]:
    # the line shaft parallel to the motor's, whichever way that points
    text = SPEC.format(name=name, side=side, turn=turn, along=90 + turn)
    return side_views(platekit.lay_out(platekit.loads(text, "plate.yaml")))


@pytest.mark.parametrize("name", FEET)
@pytest.mark.parametrize("side", ["near", "far"])
# a view runs to the right, or up: with the shaft that points up, against those that point down or up to the left
@pytest.mark.parametrize(("turn", "sense"), [(0.0, 1.0), (180.0, -1.0), (30.0, -1.0)])
def test_a_shaft_from_the_side_is_where_the_table_prints_it(name: str, side: str, turn: float, sense: float) -> None:
    height, holes, shoulder, shaft, long = FEET[name]
    along, square = views(name, side, turn)
    left, low, right, high = next(part.box for part in along.parts if part.name == "motor.shaft")
    assert right - left == pytest.approx(shaft, abs=0.05)
    assert high - low == pytest.approx(shaft, abs=0.05)
    # on the near side as high over the near face as under the far one, 16 mm below, on the far side
    assert (low + high) / 2 == pytest.approx(height if side == "near" else -16 - height, abs=0.05)
    start, _, stop, _ = next(part.box for part in square.parts if part.name == "motor.shaft")
    # the motor's zero, the middle of its feet, is 100 mm to the right of the plate's
    middle = sense * 100 * math.cos(math.radians(90 + turn))
    near, far = holes / 2 + shoulder, holes / 2 + shoulder + long
    ends = sorted((middle + sense * near, middle + sense * far))
    assert (start, stop) == pytest.approx(ends, abs=1e-6)

"""Holes on a bolt circle against a handbook's table of constants.

Source: Machinery's Handbook, "Hole Coordinate Dimension Factors for Jig Boring, Type A Hole Circles, English or
    Metric"; recalled from memory, no copy was at hand.
Compared: x and y of every hole on circles of 3, 4, 5, 6 and 8 holes, as worked out and as they lie in a laid-out plate.
Within: half of the last printed digit, 0.000005 of the diameter.

For a circle of diameter 1 the table gives x from the left and y from the top tangent, the first hole on the vertical
centre line at the top, counting anticlockwise. Five decimals, as printed.
"""

from __future__ import annotations

import math

import pytest

import platekit
from platekit.geometry import circle_points, even_angles

FACTORS = {
    3: [(0.50000, 0.00000), (0.06699, 0.75000), (0.93301, 0.75000)],
    4: [(0.50000, 0.00000), (0.00000, 0.50000), (0.50000, 1.00000), (1.00000, 0.50000)],
    5: [(0.50000, 0.00000), (0.02447, 0.34549), (0.20611, 0.90451), (0.79389, 0.90451), (0.97553, 0.34549)],
    6: [
        (0.50000, 0.00000),
        (0.06699, 0.25000),
        (0.06699, 0.75000),
        (0.50000, 1.00000),
        (0.93301, 0.75000),
        (0.93301, 0.25000),
    ],
    8: [
        (0.50000, 0.00000),
        (0.14645, 0.14645),
        (0.00000, 0.50000),
        (0.14645, 0.85355),
        (0.50000, 1.00000),
        (0.85355, 0.85355),
        (1.00000, 0.50000),
        (0.85355, 0.14645),
    ],
}
HALF_A_DIGIT = 0.5e-5


@pytest.mark.parametrize("count", FACTORS)
def test_factors_of_a_circle_of_diameter_one(count: int) -> None:
    points = circle_points(1.0, even_angles(count, math.pi / 2))
    for (x, y), (right, down) in zip(points, FACTORS[count], strict=True):
        assert 0.5 + x == pytest.approx(right, abs=HALF_A_DIGIT)
        assert 0.5 - y == pytest.approx(down, abs=HALF_A_DIGIT)


@pytest.mark.parametrize("count", FACTORS)
def test_holes_of_a_laid_out_plate(count: int) -> None:
    text = f"""\
platekit: 1
title: Bolt circle
units: mm
plate: {{material: mild steel, thickness: 6}}
mounts:
  part: {{side: far, pattern: {{circle: {{count: {count}, diameter: 200, start: 90 deg, hole: 9}}}}}}
"""
    layout = platekit.lay_out(platekit.loads(text, "circle.yaml"))
    for opening, (right, down) in zip(layout.openings, FACTORS[count], strict=True):
        assert opening.center == pytest.approx((200 * right - 100, 100 - 200 * down), abs=200 * HALF_A_DIGIT)

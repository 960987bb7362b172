"""Where a shape lies makes no difference: metres from the origin and turned, every result is the same."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from platekit.geometry import (
    Pose,
    Shape,
    Straight,
    Swing,
    difference,
    distance,
    hull,
    sweep,
    union_loops,
)

AWAY = Pose(9000.3, -7000.7, 1.234567)
NEXT = Pose(7, 3, 0.5)


def test_growing_and_sweeping(shape: Shape) -> None:
    there = shape.moved(AWAY)
    tolerance = 1e-5 * shape.perimeter
    for d in (0.5, 3.0, -0.005):
        assert there.grown(d).area == pytest.approx(shape.grown(d).area, abs=tolerance)
    straight = sweep(shape, Straight((0.6, 0.8), 3, 5))
    assert sweep(there, Straight(AWAY.vector((0.6, 0.8)), 3, 5)).area == pytest.approx(straight.area, abs=tolerance)
    swung = sweep(shape, Swing((10, -5), 0.2, 0.4, 1))
    assert sweep(there, Swing(AWAY.point((10, -5)), 0.2, 0.4, 1)).area == pytest.approx(swung.area, abs=tolerance)


def test_two_shapes_together(one: Shape, other: Shape) -> None:
    beside = other.moved(NEXT)
    there, beside_there = one.moved(AWAY), beside.moved(AWAY)
    near, far = distance(one, beside).distance, distance(there, beside_there).distance
    assert max(far, 0) == pytest.approx(max(near, 0), abs=1e-8)
    assert hull([there, beside_there]).area == pytest.approx(hull([one, beside]).area, abs=1e-4)
    assert total(union_loops([there, beside_there])) == pytest.approx(total(union_loops([one, beside])), abs=1e-4)
    assert total(difference(there, [beside_there])) == pytest.approx(total(difference(one, [beside])), abs=1e-4)


def total(shapes: Sequence[Shape]) -> float:
    return sum(shape.area for shape in shapes)

"""Hole patterns in their own frame: where the centres are, from the few figures that a drawing gives."""

from __future__ import annotations

import math
from collections.abc import Sequence

from platekit.geometry.point import Point


def even_angles(count: int, start: float = 0.0) -> tuple[float, ...]:
    """`count` angles (rad) evenly round the circle, the first at `start`, going counter-clockwise."""
    return tuple(start + index * math.tau / count for index in range(count))


def circle_points(diameter: float, angles: Sequence[float]) -> tuple[Point, ...]:
    """Hole centres on a bolt circle of `diameter` (mm), middle at 0,0, one at each of `angles` (rad).

    >>> circle_points(100, even_angles(2))[0]
    (50.0, 0.0)
    """
    radius = diameter / 2
    return tuple((radius * math.cos(angle), radius * math.sin(angle)) for angle in angles)


def rectangle_points(width: float, height: float) -> tuple[Point, ...]:
    """Hole centres at the corners of a rectangle (mm) about 0,0, from the upper right counter-clockwise."""
    x, y = width / 2, height / 2
    return ((x, y), (-x, y), (-x, -y), (x, -y))

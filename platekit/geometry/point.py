"""Points, boxes and the two lengths below which nothing is told apart.

A *point* is a pair of millimetres, a *vector* is a point used as a difference. A *box* is upright, from lower
left to upper right. A *gap* is a distance together with the two points between which it was measured.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import NamedTuple

Point = tuple[float, float]

EPS = 1e-9
"""Length in mm below which two points are one: far above rounding at plate size, far below any process.
Common practice."""

CHORD_ERROR = 0.005
"""Largest distance in mm between an arc and the polygon that stands for it: a tenth of what a laser scatters.

Common practice."""

TAU = 2.0 * math.pi


class Box(NamedTuple):
    """An upright rectangle from `(x0, y0)` to `(x1, y1)`, mm."""

    x0: float
    y0: float
    x1: float
    y1: float

    @property
    def width(self) -> float:
        """Extent along x, mm."""
        return self.x1 - self.x0

    @property
    def height(self) -> float:
        """Extent along y, mm."""
        return self.y1 - self.y0

    @property
    def longest(self) -> float:
        """The larger of its two extents, mm."""
        return max(self.width, self.height)

    @property
    def center(self) -> Point:
        """The middle of the box, mm."""
        return (0.5 * (self.x0 + self.x1), 0.5 * (self.y0 + self.y1))

    def grown(self, d: float) -> Box:
        """The box moved out by `d` mm on every side.

        >>> Box(0, 0, 2, 1).grown(1)
        Box(x0=-1, y0=-1, x1=3, y1=2)
        """
        return Box(self.x0 - d, self.y0 - d, self.x1 + d, self.y1 + d)

    def union(self, other: Box) -> Box:
        """The smallest box that holds both, mm."""
        return Box(min(self.x0, other.x0), min(self.y0, other.y0), max(self.x1, other.x1), max(self.y1, other.y1))

    def overlaps(self, other: Box) -> bool:
        """True when the two share at least a point of their edges."""
        return self.x0 <= other.x1 and other.x0 <= self.x1 and self.y0 <= other.y1 and other.y0 <= self.y1

    def gap(self, other: Box) -> float:
        """Distance between the two boxes in mm; 0 when they share a point."""
        ax0, ay0, ax1, ay1 = self
        bx0, by0, bx1, by1 = other
        # along each axis either one box is wholly before the other, or they share a stretch and nothing is between them
        dx = ax0 - bx1 if ax0 > bx1 else (bx0 - ax1 if bx0 > ax1 else 0.0)
        dy = ay0 - by1 if ay0 > by1 else (by0 - ay1 if by0 > ay1 else 0.0)
        return math.hypot(dx, dy)


class Gap(NamedTuple):
    """A distance in mm, and the points `a` and `b` between which it stands."""

    distance: float
    a: Point
    b: Point


def box_of(points: Iterable[Point]) -> Box:
    """The smallest box round at least one point, mm; ValueError for none."""
    xs, ys = zip(*points, strict=True)
    return Box(min(xs), min(ys), max(xs), max(ys))


def box_round(boxes: Iterable[Box]) -> Box:
    """The smallest box round at least one box, mm; ValueError for none."""
    x0s, y0s, x1s, y1s = zip(*boxes, strict=True)
    return Box(min(x0s), min(y0s), max(x1s), max(y1s))


def polar(center: Point, radius: float, angle: float) -> Point:
    """The point at `radius` mm from `center` in the direction `angle` (radians, counter-clockwise from x)."""
    return (center[0] + radius * math.cos(angle), center[1] + radius * math.sin(angle))


def turned(p: Point, about: Point, angle: float) -> Point:
    """`p` (mm) turned counter-clockwise by `angle` radians about a point."""
    c, s = math.cos(angle), math.sin(angle)
    dx, dy = p[0] - about[0], p[1] - about[1]
    return (about[0] + c * dx - s * dy, about[1] + s * dx + c * dy)


def between(a: Point, b: Point) -> float:
    """Distance of two points, mm."""
    return math.hypot(b[0] - a[0], b[1] - a[1])


def middle(a: Point, b: Point) -> Point:
    """The point half-way between two points, mm."""
    return (0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1]))


def towards(a: Point, b: Point, length: float) -> Point:
    """The point `length` mm from `a` in the direction of `b`; along x when `a` and `b` are one point."""
    d = math.hypot(b[0] - a[0], b[1] - a[1])
    if d == 0.0:
        return (a[0] + length, a[1])
    return (a[0] + (b[0] - a[0]) * length / d, a[1] + (b[1] - a[1]) * length / d)


def turn_between(u: Point, v: Point) -> float:
    """The angle from direction `u` to direction `v`, radians, -pi to pi, left (counter-clockwise) positive.

    Of sine and cosine together, so that it keeps its digits near 0, a quarter and a half turn; lengths do not matter.
    """
    return math.atan2(u[0] * v[1] - u[1] * v[0], u[0] * v[0] + u[1] * v[1])


def positive_angle(angle: float) -> float:
    """The same direction as an angle from 0 up to, not including, a full turn; radians."""
    reduced = angle % TAU  # rounds up to a whole turn itself where the angle is a hair below zero
    return 0.0 if reduced >= TAU else reduced

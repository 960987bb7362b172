"""The plane in which a belt runs, square to its shafts: from its own two coordinates to the plate frame and back."""

from __future__ import annotations

import math

from msgspec import Struct

from platekit.geometry.point import Point
from platekit.geometry.sweep import Straight, Travel

Spatial = tuple[float, float, float]
"""A point or direction in the plate frame with its height, mm."""


class Plane(Struct, frozen=True):
    """Two directions `u`, `v` in which a belt runs and `n`, along its shafts: a right-handed frame at the plate's zero.

    For shafts square to the plate these are x, y and z of the plate itself. For shafts along the plate `u` lies in the
    plate, square to them, and `v` is the plate's normal, so that a height in the belt's plane is a height of the plate.

    >>> lying(math.pi / 2).flat((3, 4, 5))
    ((3.0, 5), -4.0)
    """

    u: Spatial = (1.0, 0.0, 0.0)
    v: Spatial = (0.0, 1.0, 0.0)
    n: Spatial = (0.0, 0.0, 1.0)

    @property
    def lies(self) -> bool:
        """Whether its shafts lie along the plate, so that the plane stands on it."""
        return self.n[2] == 0.0

    def flat(self, spot: Spatial) -> tuple[Point, float]:
        """A point of the plate frame (mm): where it is in the plane, and how far along the shafts, mm."""
        x, y, z = spot
        if not self.lies:
            return (x, y), z
        return (x * self.u[0] + y * self.u[1], z), x * self.n[0] + y * self.n[1]

    def spot(self, p: Point, along: float) -> Spatial:
        """A point of the plane (mm), at a place along the shafts (mm), in the plate frame."""
        if not self.lies:
            return (p[0], p[1], along)
        return (p[0] * self.u[0] + along * self.n[0], p[0] * self.u[1] + along * self.n[1], p[1])

    def travel(self, travel: Travel) -> Travel:
        """A travel along the plate (mm) as the belt feels it: of a straight one only the share square to the shafts.

        What is left of its direction is one of two, towards `u` or against it; its lengths are shortened by the cosine.
        """
        if not self.lies or travel is None:
            return travel
        if not isinstance(travel, Straight):
            return None  # turning in the plate takes the shaft out of line: refused elsewhere
        share = travel.direction[0] * self.u[0] + travel.direction[1] * self.u[1]
        if abs(share) < ROUNDED:
            return None
        return Straight((math.copysign(1.0, share), 0.0), travel.install * abs(share), travel.tension * abs(share))


ACROSS = Plane()
"""The plane of shafts square to the plate: the plate's own."""


def lying(angle: float) -> Plane:
    """The plane of shafts that lie along the plate in a direction (radians, counter-clockwise from x) or against it.

    `u` points to the right, or straight up, whichever of its two directions the shafts are told in.
    """
    # a quarter turn comes out of sine and cosine as 6e-17, which `lies` and equal planes must not see; and 0.0 - x, not
    # -x, keeps a zero from becoming -0.0, which prints and hashes as another number
    ux, uy = _clean(math.sin(angle)), _clean(-math.cos(angle))
    if ux < 0.0 or (ux == 0.0 and uy < 0.0):
        ux, uy = 0.0 - ux, 0.0 - uy
    return Plane((ux, uy, 0.0), (0.0, 0.0, 1.0), (uy, 0.0 - ux, 0.0))


ROUNDED = 1e-12
"""A share of a direction below this is rounding of a quarter turn (ours)."""


def _clean(value: float) -> float:
    return 0.0 if abs(value) < ROUNDED else value

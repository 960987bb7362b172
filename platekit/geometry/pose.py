"""Where a part's own frame lies in the plate frame, mirrored or not."""

from __future__ import annotations

import math

from msgspec import Struct

from platekit.geometry.point import Point


class Pose(Struct, frozen=True):
    """From an own frame to the plate frame: mirror first (x to -x) when `mirrored`, then turn, then move.

    `x`, `y` are where the own origin comes to lie (mm), `turn` is counter-clockwise (radians).

    >>> Pose(10, 0, mirrored=True).point((3, 4))
    (7.0, 4.0)
    """

    x: float = 0.0
    y: float = 0.0
    turn: float = 0.0
    mirrored: bool = False

    def matrix(self) -> tuple[float, float, float, float]:
        """The linear part as `(xx, xy, yx, yy)`, without unit: new x = xx x + xy y, new y = yx x + yy y."""
        c, s = math.cos(self.turn), math.sin(self.turn)
        return (-c, -s, -s, c) if self.mirrored else (c, -s, s, c)

    def point(self, p: Point) -> Point:
        """A point of the own frame, in the plate frame; mm."""
        vx, vy = self.vector(p)
        return (vx + self.x, vy + self.y)

    def vector(self, v: Point) -> Point:
        """A direction or difference (mm) of the own frame, in the plate frame: turned and mirrored, not moved."""
        xx, xy, yx, yy = self.matrix()
        return (xx * v[0] + xy * v[1], yx * v[0] + yy * v[1])

    def angle(self, a: float) -> float:
        """A direction angle of the own frame, in the plate frame (radians, not reduced to one turn)."""
        # mirroring x to -x takes the direction (cos a, sin a) to (-cos a, sin a), which is that of pi - a
        return (math.pi - a if self.mirrored else a) + self.turn

    def then(self, outer: Pose) -> Pose:
        """First this pose, `outer` on top of it: `a.then(b).point(p) == b.point(a.point(p))`."""
        x, y = outer.point((self.x, self.y))
        # seen through an outer mirror the inner turn runs the other way; two mirrors make none
        turn = outer.turn + (-self.turn if outer.mirrored else self.turn)
        return Pose(x, y, turn, self.mirrored != outer.mirrored)

    def inverse(self) -> Pose:
        """The pose that takes everything back: from the plate frame to the own frame."""
        # a mirror with a turn is a mirror in some line, and undoes itself: its own turn, not the opposite one
        back = Pose(0.0, 0.0, self.turn if self.mirrored else -self.turn, self.mirrored)
        x, y = back.vector((-self.x, -self.y))
        return Pose(x, y, back.turn, self.mirrored)

"""The shapes of openings and bodies: disc, slot, curved slot and loop.

A *slot* (obround) is all that lies within a radius of a straight stretch, a *curved slot* within a radius of
an arc, a disc within a radius of a point. That point, stretch or arc is the *spine* of the shape, and
distances are measured from it.

A round shape is what mathematics calls the Minkowski sum of its spine and a disc. That is why distances are easy: the
distance of two spines less both radii, and a shape grown is the same spine with a larger radius.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from msgspec import Struct

from platekit.errors import GeometryError
from platekit.geometry.edges import Arc, Line, arc
from platekit.geometry.loop import Loop, arc_vertices, clean_loop
from platekit.geometry.point import CHORD_ERROR, EPS, TAU, Box, Point, between, middle, polar
from platekit.geometry.pose import Pose
from platekit.once import once

if TYPE_CHECKING:
    from platekit.geometry.polygons import Polygon


def _need_above_zero(value: float, what: str) -> None:
    if not (value > 0.0 and math.isfinite(value)):
        raise GeometryError(f"{what} must be above zero; found {value:.6g} mm")


def _less(radius: float, d: float) -> float:
    """The radius after growing by `d`; GeometryError when nothing is left."""
    if radius + d <= 0.0:
        raise GeometryError(
            f"a shape {2 * radius:.6g} mm wide taken in by {-d:.6g} mm: nothing is left", "take it in by less"
        )
    return radius + d


class Disc(Struct, frozen=True):
    """A full circle, mm. Raises GeometryError for a radius that is not above zero.

    >>> Disc((0, 0), 5).grown(1).diameter
    12
    """

    center: Point
    radius: float

    def __post_init__(self) -> None:
        _need_above_zero(self.radius, "the radius of a circle")

    @property
    def diameter(self) -> float:
        """Twice the radius, mm."""
        return 2 * self.radius

    @property
    def area(self) -> float:
        """Area, mm2."""
        return math.pi * self.radius * self.radius

    @property
    def perimeter(self) -> float:
        """Circumference, mm."""
        return TAU * self.radius

    @property
    def centroid(self) -> Point:
        """The centre, mm."""
        return self.center

    @property
    def box(self) -> Box:
        """The smallest box round the disc, mm."""
        (x, y), r = self.center, self.radius
        return Box(x - r, y - r, x + r, y + r)

    def contains(self, p: Point) -> bool:
        """True when the point is inside or within `EPS` (mm) of the edge."""
        return between(p, self.center) <= self.radius + EPS

    def moved(self, pose: Pose) -> Disc:
        """The disc in the frame to which `pose` leads."""
        return Disc(pose.point(self.center), self.radius)

    def grown(self, d: float) -> Disc:
        """The disc with its edge moved out by `d` mm; GeometryError when nothing is left."""
        return Disc(self.center, _less(self.radius, d))

    def loop(self) -> Loop:
        """The edge as two half circles, mm."""
        return disc_loop(self)

    def polygon(self, chord: float = CHORD_ERROR, outside: bool = True) -> Polygon:
        """A shapely polygon that holds the disc (`outside`) or lies within it, at most `chord` mm away."""
        return self.loop().polygon(chord, outside)


class Slot(Struct, frozen=True, dict=True):
    """All points within `radius` of the stretch from `a` to `b`, mm; see `slot()` for a stretch of zero.

    Raises GeometryError for a radius that is not above zero.

    >>> Slot((0, 0), (10, 0), 3).box
    Box(x0=-3, y0=-3, x1=13, y1=3)
    """

    a: Point
    b: Point
    radius: float

    def __post_init__(self) -> None:
        _need_above_zero(self.radius, "the half width of a slot")

    @once
    def spine(self) -> Line:
        """The stretch from `a` to `b`, mm."""
        return Line(self.a, self.b)

    @property
    def length(self) -> float:
        """Length of the stretch between the two centres, mm."""
        return between(self.a, self.b)

    @property
    def width(self) -> float:
        """Twice the radius, mm."""
        return 2 * self.radius

    @property
    def area(self) -> float:
        """Area, mm2."""
        return self.radius * (math.pi * self.radius + 2.0 * self.length)

    @property
    def perimeter(self) -> float:
        """Length of the edge, mm."""
        return TAU * self.radius + 2.0 * self.length

    @property
    def centroid(self) -> Point:
        """Centre of area, mm: the middle of the stretch."""
        return middle(self.a, self.b)

    @property
    def box(self) -> Box:
        """The smallest box round the slot, mm."""
        return self.spine.box.grown(self.radius)

    def contains(self, p: Point) -> bool:
        """True when the point is inside or within `EPS` (mm) of the edge."""
        return between(p, self.spine.nearest(p)) <= self.radius + EPS

    def moved(self, pose: Pose) -> Slot:
        """The slot in the frame to which `pose` leads."""
        return Slot(pose.point(self.a), pose.point(self.b), self.radius)

    def grown(self, d: float) -> Slot:
        """The slot with its edge moved out by `d` mm; GeometryError when nothing is left."""
        return Slot(self.a, self.b, _less(self.radius, d))

    def loop(self) -> Loop:
        """The edge, mm: two straight sides, two half circles."""
        return self._loop

    @once
    def _loop(self) -> Loop:
        if self.length <= EPS:
            return disc_loop(Disc(self.a, self.radius))
        # counter-clockwise from the right side of `a`; the bulge of a half circle is tan(pi / 4) = 1
        (ux, uy), r = self.spine.direction(0.0), self.radius
        (ax, ay), (bx, by) = self.a, self.b
        return Loop(
            (
                (ax + r * uy, ay - r * ux, 0.0),
                (bx + r * uy, by - r * ux, 1.0),
                (bx - r * uy, by + r * ux, 0.0),
                (ax - r * uy, ay + r * ux, 1.0),
            )
        )

    def polygon(self, chord: float = CHORD_ERROR, outside: bool = True) -> Polygon:
        """A shapely polygon that holds the slot (`outside`) or lies within it, at most `chord` mm away."""
        return self.loop().polygon(chord, outside)


class CurvedSlot(Struct, frozen=True, dict=True):
    """All points within `radius` of an arc about `center` from angle `start` counter-clockwise.

    mm and radians; `sweep` lies between 0 and a full turn. Where the two ends meet and shut in an island, the
    island belongs to the slot: cut out, it would drop from the plate. `curved_slot()` also takes a full turn.
    Raises GeometryError for a radius that is not above zero or a sweep outside of these bounds.

    >>> round(CurvedSlot((0, 0), 50, 0.0, math.pi / 2, 4).area, 3)
    678.584
    """

    center: Point
    mid_radius: float
    start: float
    sweep: float
    radius: float

    def __post_init__(self) -> None:
        _need_above_zero(self.radius, "the half width of a curved slot")
        _need_above_zero(self.mid_radius, "the radius of the middle of a curved slot")
        if not 0.0 < self.sweep < TAU:
            raise GeometryError(
                "a curved slot turns through more than 0 and less than 360 degrees; "
                f"found {math.degrees(self.sweep):.6g}"
            )

    @once
    def spine(self) -> Arc:
        """The arc in the middle, mm."""
        return arc(self.center, self.mid_radius, self.start, self.sweep)

    @once
    def _half_opening(self) -> float:
        """Half the chord between the two ends."""
        return self.mid_radius * math.sin(0.5 * self.sweep)

    @once
    def has_island(self) -> bool:
        """True when the ends meet and shut in a piece of what is cut."""
        return self.radius < self.mid_radius and self.sweep > math.pi and self._half_opening <= self.radius + EPS

    @once
    def is_plain(self) -> bool:
        """True when the inner side is an arc of its own: no island, and the width fits within the bend."""
        return self.radius < self.mid_radius - EPS and not self.has_island

    @property
    def length(self) -> float:
        """Length of the arc between the two centres, mm."""
        return self.mid_radius * self.sweep

    @property
    def width(self) -> float:
        """Twice the radius, mm."""
        return 2 * self.radius

    @property
    def ends(self) -> tuple[Point, Point]:
        """The centres of the two round ends, mm."""
        return (self.spine.a, self.spine.b)

    @property
    def area(self) -> float:
        """Area, mm2."""
        return self._loop.area

    @property
    def perimeter(self) -> float:
        """Length of the edge, mm."""
        return self._loop.perimeter

    @property
    def centroid(self) -> Point:
        """Centre of area, mm."""
        return self._loop.centroid

    @once
    def box(self) -> Box:
        """The smallest box round the slot, mm."""
        return self.spine.box.grown(self.radius)

    def contains(self, p: Point) -> bool:
        """True when the point is inside or within `EPS` (mm) of the edge."""
        if self.has_island:
            return self._loop.contains(p)
        return between(p, self.spine.nearest(p)) <= self.radius + EPS

    def moved(self, pose: Pose) -> CurvedSlot:
        """The slot in the frame to which `pose` leads."""
        # in a mirror a counter-clockwise arc runs clockwise: its end becomes the start of the one that does not
        start = pose.angle(self.start + self.sweep if pose.mirrored else self.start)
        return CurvedSlot(pose.point(self.center), self.mid_radius, start, self.sweep, self.radius)

    def grown(self, d: float) -> CurvedSlot | Loop:
        """The slot with its edge moved out by `d` mm; GeometryError when nothing is left.

        A loop comes back when a slot too wide for its bend, or with an island, is taken in.
        """
        if d < 0.0 and not self.is_plain:
            return self._loop.grown(d)
        return CurvedSlot(self.center, self.mid_radius, self.start, self.sweep, _less(self.radius, d))

    def loop(self) -> Loop:
        """The edge, mm: outer arc, round ends, and the inner arc where there is one."""
        return self._loop

    @once
    def _loop(self) -> Loop:
        (first, last), r, end = self.ends, self.radius, self.start + self.sweep
        outer = arc_vertices(self.center, self.mid_radius + r, self.start, self.sweep)
        if self.is_plain:
            inner = arc_vertices(self.center, self.mid_radius - r, end, -self.sweep)
            far, near = (
                arc_vertices(last, r, end, math.pi),
                arc_vertices(first, r, self.start - math.pi, math.pi),
            )
            return clean_loop([*outer, *far, *inner, *near])
        # No inner side: the round ends run into each other. By symmetry they meet on the line through the middle of the
        # arc, below the chord between the two end centres, beyond the centre as seen from the middle of the arc.
        half = 0.5 * self.sweep
        fall = math.sqrt(max(r * r - self._half_opening**2, 0.0))
        meet = polar(self.center, self.mid_radius * math.cos(half) - fall, self.start + half)
        turn = (math.atan2(meet[1] - last[1], meet[0] - last[0]) - end) % TAU
        stop = math.atan2(meet[1] - first[1], meet[0] - first[0])
        return clean_loop([*outer, *arc_vertices(last, r, end, turn), *arc_vertices(first, r, stop, turn)])

    def polygon(self, chord: float = CHORD_ERROR, outside: bool = True) -> Polygon:
        """A shapely polygon that holds the slot (`outside`) or lies within it, at most `chord` mm away."""
        return self.loop().polygon(chord, outside)


Shape = Disc | Slot | CurvedSlot | Loop
"""Any of the four shapes; all have the same properties and methods."""


def slot(a: Point, b: Point, radius: float) -> Slot | Disc:
    """The slot from `a` to `b`, or the disc when the two are one point; mm.

    >>> slot((1, 2), (1, 2), 3)
    Disc(center=(1, 2), radius=3)
    """
    return Disc(a, radius) if between(a, b) <= EPS else Slot(a, b, radius)


def curved_slot(center: Point, mid_radius: float, start: float, sweep: float, radius: float) -> CurvedSlot | Disc:
    """The curved slot (mm, radians), or a disc where it has no length or turns all the way round.

    A negative sweep runs clockwise. After a full turn the island in the middle belongs to the shape.
    Raises GeometryError for a radius that is not above zero.
    """
    if sweep < 0.0:
        start, sweep = start + sweep, -sweep
    if sweep >= TAU:
        return Disc(center, mid_radius + radius)
    if mid_radius * sweep <= EPS:
        return Disc(polar(center, mid_radius, start + 0.5 * sweep), radius)
    return CurvedSlot(center, mid_radius, start, sweep, radius)


def disc_loop(disc: Disc) -> Loop:
    """The edge of a disc as a loop of two half circles, mm."""
    (x, y), r = disc.center, disc.radius
    return Loop(((x - r, y, 1.0), (x + r, y, 1.0)))

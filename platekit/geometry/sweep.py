"""Travel, and the space that a shape covers while it travels; exact, made of lines and arcs.

*Travel* is straight along a direction or a swing about a point. The *position* on it is 0 at nominal,
positive the way that tightens the belt (up to `tension`), negative the way that lets it on (down to
`-install`).

The edge of a swept space consists of: the shape's edge at both ends of the travel, the paths of its vertices,
and the paths of those points of its arcs and lines that slide along the edge they are on. All of these are
lines and arcs.

That is the envelope of a moving curve: a point of the edge is on the outline of what was swept only where the edge's
tangent and the point's own motion run the same way (common practice in kinematics: the contact points of a
one-parameter family of curves). For a shift they are the points of an arc whose tangent is the direction; for a turn
those whose normal goes through the pivot. Vertices count always, as their tangent turns through all directions between.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache

from msgspec import Struct

from platekit.errors import GeometryError
from platekit.geometry.arrange import outlines
from platekit.geometry.edges import Arc, Edge, Line, arc
from platekit.geometry.hull import hull
from platekit.geometry.loop import Loop, loops_of
from platekit.geometry.point import EPS, TAU, Point, between, polar
from platekit.geometry.pose import Pose
from platekit.geometry.shapes import CurvedSlot, Disc, Shape, Slot, curved_slot, slot


class Straight(Struct, frozen=True):
    """Travel along the unit vector `direction`: `tension` mm that way, `install` mm the other way."""

    direction: Point
    install: float
    tension: float


class Swing(Struct, frozen=True):
    """Travel about the point `about`: `tension` radians the way that tightens, `install` the other way.

    `sense` is 1 when counter-clockwise tightens, -1 when clockwise does.
    """

    about: Point
    install: float
    tension: float
    sense: int = 1


Travel = Straight | Swing | None


def ends(travel: Travel) -> tuple[float, float]:
    """The lowest and the highest position, mm or radians of a swing: `(-install, tension)`; `(0, 0)` without travel."""
    return (0.0, 0.0) if travel is None else (-travel.install, travel.tension)


def pose_at(travel: Travel, s: float) -> Pose:
    """Where the plate frame is carried when the mount stands at position `s` (mm, or radians of a swing).

    >>> pose_at(Straight((0, 1), 5, 10), 10).point((3, 0))
    (3.0, 10.0)
    """
    if travel is None:
        return Pose()
    if isinstance(travel, Straight):
        return Pose(travel.direction[0] * s, travel.direction[1] * s)
    turn = travel.sense * s
    # a turn about a point is one about zero, then a move that brings that point back to where it was
    x, y = travel.about
    rx, ry = Pose(turn=turn).vector((x, y))
    return Pose(x - rx, y - ry, turn)


@lru_cache(maxsize=1024)
def sweep(shape: Shape, travel: Travel) -> Shape:
    """The space that a shape (mm), given at nominal in the plate frame, covers over its whole travel; exact.

    A disc gives a slot or a curved slot. A pocket that is shut in on all sides is filled, which is the safe
    side. Raises GeometryError when no outline can be made of what was covered.

    >>> sweep(Disc((0, 0), 4), Straight((1, 0), 2, 8))
    Slot(a=(-2.0, 0.0), b=(8.0, 0.0), radius=4)
    """
    low, high = ends(travel)
    if travel is None or high - low <= 0.0:
        return shape.moved(pose_at(travel, low)) if low else shape
    if isinstance(travel, Swing):
        return _swung(shape, travel)
    first, last = (shape.moved(pose_at(travel, s)) for s in (low, high))
    (dx, dy), run = travel.direction, high - low
    if isinstance(first, Disc) and isinstance(last, Disc):
        return slot(first.center, last.center, first.radius)
    if isinstance(first, Slot) and isinstance(last, Slot):
        ux, uy = first.b[0] - first.a[0], first.b[1] - first.a[1]
        if abs(ux * dy - uy * dx) <= EPS:  # it moves along itself, either way round: a longer slot
            far = max(((first.a, last.b), (first.b, last.a)), key=lambda pair: round(between(*pair), 9))
            return Slot(*far, first.radius)
    if isinstance(first, Slot) or (isinstance(first, Loop) and first.is_convex):
        # what is convex and moves straight covers the hull of its two ends, and nothing else
        return hull([first, last])

    def path(p: Point) -> Edge:
        return Line(p, (p[0] + run * dx, p[1] + run * dy))

    square = math.atan2(dx, -dy)
    return _covered(
        first.loop(), last.loop(), path, lambda edge: [] if isinstance(edge, Line) else _on_arc(edge, square)
    )


def _on_arc(edge: Arc, angle: float) -> list[Point]:
    """The two points of the full circle on a line through the centre, as far as they lie on the arc."""
    points = (polar(edge.center, edge.radius, angle), polar(edge.center, edge.radius, angle + math.pi))
    return [p for p in points if edge.faces(p)]


def _swung(shape: Shape, travel: Swing) -> Shape:
    turn = travel.install + travel.tension
    if isinstance(shape, Disc):
        x, y = shape.center[0] - travel.about[0], shape.center[1] - travel.about[1]
        away, angle = math.hypot(x, y), math.atan2(y, x)
        if away <= EPS:
            return shape
        # counter-clockwise from the clockwise end, whichever of the two ends that is
        first = angle - (travel.install if travel.sense > 0 else travel.tension)
        return curved_slot(travel.about, away, first, turn, shape.radius)
    if isinstance(shape, CurvedSlot) and between(shape.center, travel.about) <= EPS:
        low = shape.moved(pose_at(travel, -travel.install if travel.sense > 0 else travel.tension))
        assert isinstance(low, CurvedSlot)
        return curved_slot(low.center, low.mid_radius, low.start, low.sweep + turn, low.radius)
    outline = shape.loop()
    if turn >= TAU:
        # all the way round it covers a disc, the middle filled: as far out as its farthest point
        reaches = [
            max(between(p, travel.about) for p in (edge.a, edge.b, *_sliding_about(edge, travel.about)))
            for edge in outline.edges
        ]
        return Disc(travel.about, max(reaches, key=lambda reach: round(reach, 9)))
    # from the clockwise end, so that every path below turns counter-clockwise
    start, end = ends(travel) if travel.sense > 0 else ends(travel)[::-1]
    clockwise, counter = outline.moved(pose_at(travel, start)), outline.moved(pose_at(travel, end))

    def path(p: Point) -> Edge:
        dx, dy = p[0] - travel.about[0], p[1] - travel.about[1]
        return arc(travel.about, math.hypot(dx, dy), math.atan2(dy, dx), turn)

    return _covered(clockwise, counter, path, lambda edge: _sliding_about(edge, travel.about), travel.about)


def _sliding_about(edge: Edge, about: Point) -> list[Point]:
    """The points of an edge that slide along it when it turns about a point."""
    if isinstance(edge, Line):
        place = edge.place(about)
        return [edge.at(place)] if 0.0 < place < 1.0 else []
    dx, dy = edge.center[0] - about[0], edge.center[1] - about[1]
    if math.hypot(dx, dy) <= EPS:
        return []
    return _on_arc(edge, math.atan2(dy, dx))


def _covered(
    first: Loop,
    last: Loop,
    path: Callable[[Point], Edge],
    sliding: Callable[[Edge], list[Point]],
    pivot: Point | None = None,
) -> Loop:
    """The space between the first and the last place of a loop; `path` is where a point of the first goes."""
    tracks = [path(p) for edge in first.edges for p in (edge.a, *sliding(edge)) if p != pivot]
    tracks = [track for track in tracks if track.length > EPS]

    def inside(p: Point) -> bool:
        """Whether a point (mm) was in the shape at the start, or the shape's edge came through it since."""
        if first.contains(p):
            return True
        # the point's own path taken backwards: where what is at the point at the end came from
        track = path(p)
        if isinstance(track, Line):
            track = Line(p, (2 * p[0] - track.b[0], 2 * p[1] - track.b[1]))
        else:
            track = arc(track.center, track.radius, track.start, -track.sweep)
        return track.length > 0.0 and first.nearest_to_edge(track).distance <= EPS

    loops = loops_of(outlines([*first.edges, *last.edges, *tracks], inside))
    if not loops:
        raise GeometryError("the space covered by the travel could not be worked out", "change the travel a little")
    return loops[0]

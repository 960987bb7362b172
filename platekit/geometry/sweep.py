"""Travel, and the space that a shape covers while it travels; exact, made of lines and arcs.

*Travel* is straight along a direction or a swing about a point. The *position* on it is 0 at nominal,
positive the way that tightens the belt (up to `tension`), negative the way that lets it on (down to
`-install`).

The edge of a swept space consists of: the shape's edge at both ends of the travel, the paths of its vertices,
and the paths of those points of its arcs and lines that slide along the edge they are on. All of these are
lines and arcs.
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
    """The lowest and the highest position: `(-install, tension)`; `(0, 0)` without travel."""
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
    x, y = travel.about
    rx, ry = Pose(turn=turn).vector((x, y))
    return Pose(x - rx, y - ry, turn)


@lru_cache(maxsize=256)
def sweep(shape: Shape, travel: Travel) -> Shape:
    """The space that a shape, given at nominal in the plate frame, covers over its whole travel; exact.

    A disc gives a slot or a curved slot. A pocket that is shut in on all sides is filled, which is the safe
    side.

    >>> sweep(Disc((0, 0), 4), Straight((1, 0), 2, 8))
    Slot(a=(-2.0, 0.0), b=(8.0, 0.0), radius=4)
    """
    low, high = ends(travel)
    if travel is None or high - low <= 0.0:
        return shape.moved(pose_at(travel, low)) if low else shape
    if isinstance(travel, Straight):
        return _swept_straight(shape, travel)
    return _swung(shape, travel)


def _swept_straight(shape: Shape, travel: Straight) -> Shape:
    low, high = (shape.moved(pose_at(travel, s)) for s in ends(travel))
    if isinstance(low, Disc) and isinstance(high, Disc):
        return slot(low.center, high.center, low.radius)
    if isinstance(low, Slot) and isinstance(high, Slot) and _is_along(low, travel.direction):
        far = max(((low.a, high.b), (low.b, high.a)), key=lambda pair: round(between(*pair), 9))
        return Slot(*far, low.radius)
    if isinstance(low, Slot) or (isinstance(low, Loop) and low.is_convex):
        return hull([low, high])
    run = travel.install + travel.tension
    (dx, dy) = travel.direction

    def path(p: Point) -> Edge:
        return Line(p, (p[0] + run * dx, p[1] + run * dy))

    return _covered(low.loop(), high.loop(), path, lambda edge: _sliding_straight(edge, travel.direction))


def _is_along(spine: Slot, direction: Point) -> bool:
    ux, uy = spine.b[0] - spine.a[0], spine.b[1] - spine.a[1]
    return abs(ux * direction[1] - uy * direction[0]) <= EPS


def _sliding_straight(edge: Edge, direction: Point) -> list[Point]:
    """The points of an arc whose tangent is the direction of travel."""
    if isinstance(edge, Line):
        return []
    square = math.atan2(direction[0], -direction[1])
    return _on_arc(edge, square)


def _on_arc(edge: Arc, angle: float) -> list[Point]:
    """The two points of the full circle on a line through the centre, as far as they lie on the arc."""
    points = (polar(edge.center, edge.radius, angle), polar(edge.center, edge.radius, angle + math.pi))
    return [p for p in points if edge.faces(p)]


def _swung(shape: Shape, travel: Swing) -> Shape:
    turn = travel.install + travel.tension
    if isinstance(shape, Disc):
        return _swung_disc(shape, travel, turn)
    if isinstance(shape, CurvedSlot) and between(shape.center, travel.about) <= EPS:
        low = shape.moved(pose_at(travel, -travel.install if travel.sense > 0 else travel.tension))
        assert isinstance(low, CurvedSlot)
        return curved_slot(low.center, low.mid_radius, low.start, low.sweep + turn, low.radius)
    outline = shape.loop()
    if turn >= TAU:
        far = max(outline.edges, key=lambda edge: round(_farthest(edge, travel.about), 9))
        return Disc(travel.about, _farthest(far, travel.about))
    low_s, high_s = ends(travel) if travel.sense > 0 else ends(travel)[::-1]
    first, last = outline.moved(pose_at(travel, low_s)), outline.moved(pose_at(travel, high_s))

    def path(p: Point) -> Edge:
        dx, dy = p[0] - travel.about[0], p[1] - travel.about[1]
        return arc(travel.about, math.hypot(dx, dy), math.atan2(dy, dx), turn)

    return _covered(first, last, path, lambda edge: _sliding_about(edge, travel.about), travel.about)


def _swung_disc(disc: Disc, travel: Swing, turn: float) -> Disc | CurvedSlot:
    x, y = disc.center[0] - travel.about[0], disc.center[1] - travel.about[1]
    away, angle = math.hypot(x, y), math.atan2(y, x)
    if away <= EPS:
        return disc
    low = angle - travel.install if travel.sense > 0 else angle - travel.tension
    return curved_slot(travel.about, away, low, turn, disc.radius)


def _farthest(edge: Edge, about: Point) -> float:
    points = [edge.a, edge.b, *_sliding_about(edge, about)]
    return max(between(p, about) for p in points)


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
    back = _way_back(path)

    def inside(p: Point) -> bool:
        if first.contains(p):
            return True
        track = back(p)
        return track.length > 0.0 and first.nearest_to_edge(track).distance <= EPS

    loops = loops_of(outlines([*first.edges, *last.edges, *tracks], inside))
    if not loops:
        raise GeometryError("the space covered by the travel could not be worked out", "change the travel a little")
    return loops[0]


def _way_back(path: Callable[[Point], Edge]) -> Callable[[Point], Edge]:
    """The path that leads to a point: its path, taken from the other end."""

    def back(p: Point) -> Edge:
        track = path(p)
        if isinstance(track, Line):
            return Line(p, (2 * p[0] - track.b[0], 2 * p[1] - track.b[1]))
        return arc(track.center, track.radius, track.start, -track.sweep)

    return back

"""How near shapes come to each other and to an outline, and whether one covers another.

A distance between shapes is a distance between *regions*: positive when they are clear of each other, 0 when
they touch, negative when they overlap. The *edge distance* of an opening is measured from its edge to the
plate's outline, and is negative as soon as the opening pokes out.

Everything comes down to a *core* and a *reach*: a round shape is its spine and a radius, a loop is its own core and
reaches nothing beyond. So there are three cases: spine to spine, loop to spine, loop to loop. Only the last has no
closed form where regions overlap: how deep is told by samples, one in each piece between crossings, which is enough to
know *whether* they overlap (a piece lies inside wholly or not at all) and a lower bound of how far.
"""

from __future__ import annotations

import math
from functools import lru_cache
from itertools import pairwise

from platekit.geometry.edges import Arc, Edge, Line, edge_gap
from platekit.geometry.loop import Loop
from platekit.geometry.point import EPS, Gap, Point, between, towards
from platekit.geometry.shapes import CurvedSlot, Disc, Shape

COVER_TOLERANCE = 1e-7
"""Length in mm by which a covered shape may seem to stick out: rounding after several moves and cuts. Common
practice."""

Spine = Point | Line | Arc


def distance(a: Shape, b: Shape) -> Gap:
    """The smallest distance (mm) of two regions and the nearest point of each; never positive when they overlap.

    For overlapping discs the figure is exact: how far to move one to free it. For other overlapping shapes it
    is negative and at most as deep as the overlap.

    >>> distance(Disc((0, 0), 3), Disc((10, 0), 2))
    Gap(distance=5.0, a=(3.0, 0.0), b=(8.0, 0.0))
    """
    if type(a) is Disc and type(b) is Disc:
        (ax, ay), (bx, by) = a.center, b.center
        d = math.hypot(bx - ax, by - ay)
        facing = towards(a.center, b.center, between(a.center, b.center) - b.radius)  # the point of b that faces a
        return Gap(d - a.radius - b.radius, towards(a.center, b.center, a.radius), facing)
    core_a, core_b = _core(a), _core(b)
    if isinstance(core_a, Loop):
        if isinstance(core_b, Loop):
            return _loops_apart(core_a, core_b)
        return _loop_spine(core_a, core_b, _reach(b))
    if isinstance(core_b, Loop):
        gap = _loop_spine(core_b, core_a, _reach(a))
        return Gap(gap.distance, gap.b, gap.a)
    if isinstance(core_a, tuple):
        q = core_b if isinstance(core_b, tuple) else core_b.nearest(core_a)
        gap = Gap(between(core_a, q), core_a, q)
    elif isinstance(core_b, tuple):
        p = core_a.nearest(core_b)
        gap = Gap(between(p, core_b), p, core_b)
    else:
        gap = edge_gap(core_a, core_b)
    return _thickened(gap, _reach(a), _reach(b))


@lru_cache(maxsize=2048)  # what stands still is asked again at each edit of something else
def _loops_apart(a: Loop, b: Loop) -> Gap:
    gap = _outline_gap(a, b)
    if gap.distance > EPS and not _holds_first(a, b) and not _holds_first(b, a):
        return gap
    swapped = [Gap(near.distance, near.b, near.a) for near in _sampled_depths(b, a)]
    deep = max(_sampled_depths(a, b) + swapped)
    if deep.distance > EPS:
        return Gap(-deep.distance, deep.a, deep.b)
    # neither outline enters the other: they are neighbours, or one and the same
    core = b.depth(inner_point(a))
    return Gap(-core.distance, core.b, core.a) if core.distance > EPS else Gap(0.0, gap.a, gap.b)


def within_reach(a: Shape, b: Shape, reach: float) -> bool:
    """Whether the distance of two regions is less than `reach` mm, which may be negative.

    Where they overlap, this is quicker than their distance.

    >>> within_reach(Disc((0, 0), 3), Disc((10, 0), 2), 5), within_reach(Disc((0, 0), 3), Disc((10, 0), 2), 5.1)
    (False, True)
    """
    if type(a) is Disc and type(b) is Disc:
        return distance(a, b).distance < reach
    return _within_reach(a, b, reach)


@lru_cache(maxsize=8192)  # every tool at every screw asks it of what is near, and most of that stands still at an edit
def _within_reach(a: Shape, b: Shape, reach: float) -> bool:
    core_a, core_b = _core(a), _core(b)
    if not (isinstance(core_a, Loop) and isinstance(core_b, Loop)):
        return distance(a, b).distance < reach
    if a.box.gap(b.box) >= max(reach, EPS):
        return False
    # two loops: what is dear is how deep they overlap, which a positive reach never asks, a negative one seldom in full
    if reach > 0.0:
        return (
            _holds_first(core_a, core_b)
            or _holds_first(core_b, core_a)
            or _outline_gap(core_a, core_b).distance < reach
        )
    sides, deep = ((core_a, core_b), (core_b, core_a)), max(-reach, EPS)
    # a corner of one mostly tells, without the crossings of all edges
    if any(other.depth(edge.a).distance > deep for one, other in sides for edge in one.edges):
        return True
    spots = ((p, other) for one, other in sides for edge in one.edges for p in _telling_points(edge, other)[1:])
    if any(other.depth(p).distance > deep for p, other in spots):
        return True
    return distance(a, b).distance < reach


def _core(shape: Shape) -> Spine | Loop:
    if type(shape) is Disc:
        return shape.center
    if isinstance(shape, Loop):
        return shape
    if isinstance(shape, CurvedSlot) and shape.has_island:
        return shape.loop()  # its island belongs to it, though it lies farther than the radius from the spine
    assert not isinstance(shape, Disc)
    return shape.spine


def _reach(shape: Shape) -> float:
    """How far the region reaches from its core."""
    if isinstance(shape, Loop) or (isinstance(shape, CurvedSlot) and shape.has_island):
        return 0.0
    return shape.radius


def _thickened(gap: Gap, reach_a: float, reach_b: float) -> Gap:
    """The gap between two spines, less what the shapes reach beyond them."""
    return Gap(
        gap.distance - reach_a - reach_b,
        towards(gap.a, gap.b, reach_a) if reach_a else gap.a,
        towards(gap.a, gap.b, gap.distance - reach_b) if reach_b else gap.b,
    )


def _loop_spine(loop: Loop, spine: Spine, reach: float) -> Gap:
    """Region of a loop against all that lies within `reach` of a spine; `a` on the loop."""
    if isinstance(spine, tuple):
        near = loop.depth(spine)
        inside, gap = near.distance > 0.0, Gap(abs(near.distance), near.b, spine)
    else:
        gap = loop.nearest_to_edge(spine)
        inside = gap.distance > 0.0 and loop.depth(spine.a).distance > 0.0
    if not inside:
        return _thickened(gap, 0.0, reach)
    return Gap(-gap.distance - reach, gap.a, towards(gap.b, gap.a, -reach))


def _outline_gap(a: Loop, b: Loop) -> Gap:
    """Distance of two outlines: `a` on the first, `b` on the second."""
    few, many = (a, b) if len(a.edges) <= len(b.edges) else (b, a)
    best = Gap(math.inf, few.edges[0].a, many.edges[0].a)
    around = many.box
    for edge, box in zip(few.edges, few.boxes, strict=True):
        if box.gap(around) < best.distance:
            best = many.nearest_to_edge(edge, best)
    return Gap(best.distance, best.b, best.a) if few is a else best


def _holds_first(outer: Loop, inner: Loop) -> bool:
    return outer.contains(inner.edges[0].a)


def _sampled_depths(inner: Loop, outer: Loop) -> list[Gap]:
    """Depth in `outer` of the vertices of `inner` and of the middle of each piece it is cut into."""
    return [outer.depth(p) for edge in inner.edges for p in _telling_points(edge, outer)]


def _telling_points(edge: Edge, outer: Loop) -> list[Point]:
    """The start of an edge and a point in each piece between its crossings with a loop."""
    places = sorted({0.0, 1.0, *(min(max(edge.place(p), 0.0), 1.0) for p in outer.crossings(edge))})
    return [edge.a, *(edge.at(0.5 * (u + v)) for u, v in pairwise(places))]


def inner_point(loop: Loop) -> Point:
    """A point (mm) well inside a loop: the centroid, or a step inwards from the middle of the longest edge.

    The centroid of a hollow shape may lie outside of it. The step to the left, inwards, is halved until it stays
    inside.
    """
    if loop.depth(loop.centroid).distance > EPS:
        return loop.centroid
    edge = max(loop.edges, key=lambda e: round(e.length, 9))
    (x, y), (ux, uy) = edge.at(0.5), edge.direction(0.5)
    step = edge.length
    while step > EPS:
        p = (x - step * uy, y + step * ux)
        if loop.depth(p).distance > EPS:
            return p
        step *= 0.5
    return (x, y)


@lru_cache(maxsize=512)  # asked of the same outlines for every size of screw that could push a part
def begin_between(loop: Loop, low: float, high: float) -> float | None:
    """The least x of what a loop has between two heights, mm; None where it has no more than a touch there.

    >>> begin_between(Disc((0, 0), 5).loop(), 3, 9), begin_between(Disc((0, 0), 5).loop(), 5, 9)
    (-4.0, None)
    """
    if loop.box.y1 <= low + EPS or loop.box.y0 >= high - EPS:
        return None
    found = [x for x, y, _ in loop.vertices if low <= y <= high]
    for edge in loop.edges:
        if isinstance(edge, Arc):
            (cx, cy), r = edge.center, edge.radius
            spots = [(cx - r, cy)]
            for z in (low, high):
                if abs(z - cy) < r:
                    run = math.sqrt(r * r - (z - cy) * (z - cy))
                    spots += [(cx - run, z), (cx + run, z)]
            found += [x for x, y in spots if low <= y <= high and edge.faces((x, y))]
        else:
            (ax, ay), (bx, by) = edge.a, edge.b
            found += [ax + (bx - ax) * (z - ay) / (by - ay) for z in (low, high) if (ay - z) * (by - z) < 0.0]
    return min(found, default=None)


def edge_distance(inner: Shape, outline: Shape) -> Gap:
    """Distance from the edge of `inner` (point `a`) to the edge of `outline` (point `b`), mm.

    Positive when `inner` lies wholly inside; negative when it pokes out or lies outside, by how far it sticks
    out.

    >>> edge_distance(Disc((3, 0), 1), Disc((0, 0), 10)).distance
    6.0
    """
    if type(inner) is Disc and type(outline) is Disc:
        d = between(inner.center, outline.center)
        return Gap(
            outline.radius - d - inner.radius,
            towards(outline.center, inner.center, d + inner.radius),
            towards(outline.center, inner.center, outline.radius),
        )
    return _to_the_edge(inner, outline.loop())


@lru_cache(maxsize=4096)
def _to_the_edge(inner: Shape, around: Loop) -> Gap:
    core = _core(inner)
    if isinstance(core, Loop):
        gap = _outline_gap(core, around)
        if gap.distance > EPS and _holds_first(around, core):
            return gap
        worst = min(_sampled_depths(core, around), key=_depth)
        return worst if worst.distance < -EPS else Gap(0.0, gap.a, gap.b)
    if isinstance(core, tuple):
        return _inset(around.depth(core), _reach(inner), around)
    if isinstance(core, Line) and around.is_convex:
        # depth falls off evenly inside a convex outline and grows evenly outside: an end is the worst place
        worst = min(around.depth(core.a), around.depth(core.b), key=_depth)
        return _inset(worst, _reach(inner), around)
    gap = around.nearest_to_edge(core)
    if gap.distance > EPS and around.depth(core.a).distance > 0.0:
        return _inset(Gap(gap.distance, gap.b, gap.a), _reach(inner), around)
    worst = min((around.depth(p) for p in [*_telling_points(core, around), core.b]), key=_depth)
    return _inset(worst, _reach(inner), around)


def _depth(near: Gap) -> float:
    return round(near.distance, 9)  # of equals the first found, whatever rounding says


def _inset(near: Gap, reach: float, outline: Loop) -> Gap:
    """From the depth of a spine point to the depth of the edge `reach` beyond it.

    A spine point on the outline itself has no direction to it: then the outline's own square leads out.
    """
    if abs(near.distance) <= EPS:
        (x, y), (ux, uy) = near.a, outline.outward(near.b)
        return Gap(near.distance - reach, (x + reach * ux, y + reach * uy), near.b)
    outward = reach if near.distance > 0.0 else -reach
    return Gap(near.distance - reach, towards(near.a, near.b, outward), near.b)


def covers(outer: Shape, inner: Shape, margin: float = 0.0) -> bool:
    """True when `inner` with `margin` mm round it lies inside `outer`; exact but for `COVER_TOLERANCE`.

    >>> covers(Disc((0, 0), 10), Disc((5, 0), 3), margin=2)
    True
    """
    least = margin - COVER_TOLERANCE
    (x0, y0, x1, y1), (u0, v0, u1, v1) = outer.box, inner.box
    if u0 - x0 < least or v0 - y0 < least or x1 - u1 < least or y1 - v1 < least:
        return False
    core = _core(inner)
    if isinstance(core, Loop) and isinstance(outer, Loop) and least > EPS:
        # how far one that is not wholly inside sticks out need not be known
        return _holds_first(outer, core) and _outline_gap(core, outer).distance >= least
    if not (isinstance(core, Loop) and isinstance(outer, Loop) and least <= -EPS):
        return edge_distance(inner, outer).distance >= least
    # two loops, of which one may stick out a little: no distance is needed, and of two that cross a vertex mostly tells

    def beyond(p: Point) -> bool:
        return not outer.contains(p) and outer.nearest(p).distance > -least

    if any(beyond(edge.a) for edge in core.edges):
        return False
    return not any(beyond(p) for edge in core.edges for p in _telling_points(edge, outer)[1:])


def crosses(a: Shape, b: Shape) -> bool:
    """True when two shapes (mm) share area; touching is not enough: more than `EPS` must overlap.

    >>> crosses(Disc((0, 0), 1), Disc((2, 0), 1))
    False
    """
    if not a.box.overlaps(b.box):
        return False
    core_a, core_b = _core(a), _core(b)
    if isinstance(core_a, Loop) and isinstance(core_b, Loop):
        # a corner of one that lies inside the other tells, without how deep they overlap
        for one, other in ((core_a, core_b), (core_b, core_a)):
            if any(other.depth(edge.a).distance > EPS for edge in one.edges):
                return True
    return distance(a, b).distance <= -EPS


def lies_inside(inner: Shape, outline: Shape) -> bool:
    """True when `inner` lies wholly inside an outline and its edge nowhere meets that (mm).

    >>> lies_inside(Disc((0, 0), 1), Disc((0, 0), 2)), lies_inside(Disc((1, 0), 1), Disc((0, 0), 2))
    (True, False)
    """
    core, around = _core(inner), outline.loop()
    if isinstance(core, Loop):
        return _holds_first(around, core) and _outline_gap(core, around).distance > EPS
    return edge_distance(inner, outline).distance > EPS

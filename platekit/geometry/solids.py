"""Solids in the plate frame: how near two of them come, in all three directions.

An *upright* solid is a flat shape held from one height to another, its sides straight (a prism) or flaring evenly (a
cone); a *lying* one is a cylinder whose axis lies in the plate's plane; a *standing prism* is a convex flat shape that
stands square on the plate's plane, held along it (a belt's run over shafts that lie). Cut level at any height, each
shows one flat shape, its *slice*; those of an upright or lying solid lie inside each other. So the distance of two
solids is the least of hypot(distance of their slices, difference of height).

Upright against upright has a closed form. A lying solid against a convex one is found from what both reach in each
direction (`convex`). Anything else is searched between bounds that hold for whole ranges of height; what comes back is
the lower bound, the safe side, less than `SEARCH` below the true distance unless it took more than `MOST_STEPS`.

The search is branch and bound, best first (common practice): over a pair of height ranges the distance is at least that
of the two prisms that hold the solids there, and at most that of any two slices out of them. The pair with the least
lower bound is halved next, so that the bound never falls and the search ends as soon as no pair can beat what was
found.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Callable
from functools import lru_cache
from itertools import count

from msgspec import Struct
from msgspec.structs import replace

from platekit.geometry.combine import intersection
from platekit.geometry.convex import Spot, Support, convex_meet, shortest_way
from platekit.geometry.edges import Arc, Edge, Line, arc, edge_gap
from platekit.geometry.loop import Loop, clean_loop
from platekit.geometry.measure import distance, inner_point, within_reach
from platekit.geometry.point import EPS, TAU, Box, Gap, Point, box_of, middle, towards
from platekit.geometry.pose import Pose
from platekit.geometry.shapes import CurvedSlot, Disc, Shape, Slot
from platekit.geometry.sweep import Straight, Swing, Travel, ends, pose_at, sweep
from platekit.once import once

SEARCH = 1e-4
"""How far a searched distance may lie below the true one, mm: a hundredth of what a caliper shows (ours)."""
MOST_STEPS = 4000
"""Pairs of height ranges looked at before the search settles for the lower bound it has (ours)."""
HAIR = 1e-6
"""Half width given to the topmost and lowest slice of a lying cylinder, which are lines, mm (ours)."""
TOUCHING = 1e-7
"""Solids whose slices overlap by no more than this touch, mm: rounding after several moves (ours)."""


class Upright(Struct, frozen=True, cache_hash=True):
    """A flat shape from height `low` to `high`, its edge moved out by `flare_low` and `flare_high` there (mm).

    >>> Upright(Disc((0, 0), 5), 0, 10, flare_high=3).silhouette
    Disc(center=(0, 0), radius=8)
    """

    shape: Shape
    low: float
    high: float
    flare_low: float = 0.0
    flare_high: float = 0.0

    @property
    def straight(self) -> bool:
        """Whether its sides stand upright, so that every slice is the shape itself."""
        return self.flare_low == 0.0 == self.flare_high

    @property
    def convex(self) -> bool:
        """Whether it has no hollow: flaring sides keep a convex shape convex."""
        return self.shape.is_convex if isinstance(self.shape, Loop) else not isinstance(self.shape, CurvedSlot)

    @property
    def silhouette(self) -> Shape:
        """All that it covers, seen along the normal; mm."""
        widest = max(self.flare_low, self.flare_high)
        return self.shape.grown(widest) if widest else self.shape

    def flare(self, z: float) -> float:
        """How far the edge is moved out at a height `z` between `low` and `high`, mm."""
        run = self.high - self.low  # a solid of no height, a slice, has the flare of its lower end
        return self.flare_low + (self.flare_high - self.flare_low) * ((z - self.low) / run if run else 0.0)

    def widest(self, low: float, high: float) -> tuple[Shape, float]:
        """The largest slice between two heights (mm), and its height (of a prism, the middle of the two)."""
        if self.straight:
            return self.shape, 0.5 * (low + high)
        z = low if self.flare_low > self.flare_high else high
        more = self.flare(z)
        return (self.shape.grown(more) if more else self.shape), z

    def support(self, direction: Spot) -> Spot:
        """Its farthest point (mm) in a direction: on the upper or the lower end, moved out there by the flare."""
        x, y, z = direction
        p, plan = _farthest(self.shape, (x, y)), math.hypot(x, y)
        up = z * (self.high - self.low) + plan * (self.flare_high - self.flare_low) > 0.0
        more, height = (self.flare_high, self.high) if up else (self.flare_low, self.low)
        if more and plan > 0.0:
            p = (p[0] + more * x / plan, p[1] + more * y / plan)
        return (*p, height)

    def moved(self, pose: Pose) -> Upright:
        """The solid carried along in the plate's plane; mm."""
        return replace(self, shape=self.shape.moved(pose))

    def swept(self, travel: Travel) -> Upright:
        """All that it covers over a travel (mm, rad); exact, as growing a shape and moving it may change places."""
        return replace(self, shape=sweep(self.shape, travel)) if travel is not None else self


class Lying(Struct, frozen=True, dict=True, cache_hash=True):
    """A cylinder from `a` to `b` with flat ends, its axis at `height`, over its `travel`; mm.

    >>> Lying((0, 0), (100, 0), 30, 40).silhouette.area
    6000.0
    """

    a: Point
    b: Point
    radius: float
    height: float
    travel: Travel = None

    @property
    def low(self) -> float:
        """Its lowest height, mm."""
        return self.height - self.radius

    @property
    def high(self) -> float:
        """Its highest height, mm."""
        return self.height + self.radius

    @property
    def convex(self) -> bool:
        """Whether it has no hollow: a straight travel keeps it convex, a swing bends it."""
        return not isinstance(self.travel, Swing)

    @once
    def silhouette(self) -> Shape:
        """All that it covers, seen along the normal; mm."""
        return self._slice(self.radius)

    def widest(self, low: float, high: float) -> tuple[Shape, float]:
        """The largest slice between two heights, and its height; mm."""
        z = min(max(self.height, low), high)
        off = z - self.height  # the half chord of its circle at that height
        return self._slice(math.sqrt(max(self.radius * self.radius - off * off, 0.0))), z

    def _slice(self, half: float) -> Shape:
        (ax, ay), (bx, by) = self.a, self.b
        length, w = math.hypot(bx - ax, by - ay), max(half, HAIR)
        ux, uy = w * (bx - ax) / length, w * (by - ay) / length
        corners = ((ax + uy, ay - ux), (bx + uy, by - ux), (bx - uy, by + ux), (ax - uy, ay + ux))
        return sweep(clean_loop((x, y, 0.0) for x, y in corners), self.travel)

    def support(self, direction: Spot) -> Spot:
        """Its farthest point (mm) in a direction, as long as it swings about nothing.

        The end of the axis that lies farther that way, and from there the radius along the share of the direction that
        is square to the axis; a straight travel adds its farther end.
        """
        x, y, z = direction
        (ax, ay), (bx, by) = self.a, self.b
        length = math.hypot(bx - ax, by - ay)
        ux, uy = (bx - ax) / length, (by - ay) / length
        along = x * ux + y * uy
        side = y * ux - x * uy
        px, py = -side * uy, side * ux
        across = math.sqrt(px * px + py * py + z * z)
        out = self.radius / across if across > 0.0 else 0.0
        ex, ey = self.b if along > 0.0 else self.a
        if isinstance(self.travel, Straight):
            (dx, dy), (low, high) = self.travel.direction, ends(self.travel)
            s = high if dx * x + dy * y > 0.0 else low
            ex, ey = ex + s * dx, ey + s * dy
        return (ex + out * px, ey + out * py, self.height + out * z)

    def moved(self, pose: Pose) -> Lying:
        """The solid carried along in the plate's plane; mm."""
        return replace(self, a=pose.point(self.a), b=pose.point(self.b))

    def swept(self, travel: Travel) -> Lying:
        """All that it covers over a travel (mm, rad)."""
        return replace(self, travel=travel)


class StandingPrism(Struct, frozen=True, dict=True, cache_hash=True):
    """A convex flat shape standing on the plate's plane, from `start` to `stop` along the level `n`; mm.

    The shape's x goes along the level `u`, square to `n` (`n` is `u` turned a quarter clockwise), its y is the height.

    >>> from platekit.geometry.loop import rectangle
    >>> StandingPrism(rectangle(100, 6), (1, 0), 0, 20).silhouette.area
    2000.0
    """

    shape: Loop
    u: Point
    start: float
    stop: float

    @property
    def n(self) -> Point:
        """The level unit direction (mm per mm) that the shape is held along."""
        return (self.u[1], -self.u[0])

    @once
    def low(self) -> float:
        """Its lowest height, mm."""
        return self.shape.box.y0

    @once
    def high(self) -> float:
        """Its highest height, mm."""
        return self.shape.box.y1

    @property
    def convex(self) -> bool:
        """Whether it has no hollow."""
        return self.shape.is_convex

    @once
    def silhouette(self) -> Shape:
        """All that it covers, seen along the normal; mm."""
        return self._across(self.shape.box.x0, self.shape.box.x1)

    @once
    def level_box(self) -> Box:
        """The box round its silhouette, mm."""
        box, (ux, uy), (nx, ny) = self.shape.box, self.u, self.n
        return box_of((x * ux + w * nx, x * uy + w * ny) for x in (box.x0, box.x1) for w in (self.start, self.stop))

    def widest(self, low: float, high: float) -> tuple[Shape, float]:
        """All that it covers between two heights (mm), seen along the normal, and a height there that it reaches.

        Slices of a slanted shape do not lie inside each other, so the widest one would not hold them all: what counts
        is how far the shape reaches anywhere in the band, to the left and to the right. That is at a corner, at the
        side of an arc, or where an edge leaves the band.
        """
        low, high = min(max(low, self.low), self.high), max(min(high, self.high), self.low)
        reached: list[float] = []
        for edge in self.shape.edges:
            spots = [edge.a, edge.b]
            if isinstance(edge, Arc):
                (cx, cy), r = edge.center, edge.radius
                spots += [p for p in ((cx + r, cy), (cx - r, cy)) if edge.faces(p)]
                for z in (low, high):
                    off = r * r - (z - cy) * (z - cy)
                    across = math.sqrt(off) if off > 0.0 else 0.0
                    reached += [x for x in (cx - across, cx + across) if off >= 0.0 and edge.faces((x, z))]
            else:
                (ax, ay), (bx, by) = edge.a, edge.b
                reached += [ax + (bx - ax) * (z - ay) / (by - ay) for z in (low, high) if (ay - z) * (by - z) < 0.0]
            reached += [x for x, y in spots if low - EPS <= y <= high + EPS]
        if not reached:  # rounding at the very top or bottom
            corners = (p for edge in self.shape.edges for p in (edge.a, edge.b))
            reached = [min(corners, key=lambda p: abs(p[1] - low))[0]]
        return self._across(min(reached), max(reached)), 0.5 * (low + high)

    def _across(self, left: float, right: float) -> Shape:
        """The level rectangle under a stretch of `u`, over the whole of `n`, counter-clockwise in the plate frame."""
        if right - left < HAIR:
            left, right = left - HAIR, right + HAIR
        corners = ((left, self.stop), (left, self.start), (right, self.start), (right, self.stop))
        (ux, uy), (nx, ny) = self.u, self.n
        around = tuple((x * ux + w * nx, x * uy + w * ny, 0.0) for x, w in reversed(corners))
        # runs counter-clockwise already, unless it has no thickness: asked some hundred times of each guard
        return Loop(around) if self.stop - self.start > EPS else clean_loop(around)

    def support(self, direction: Spot) -> Spot:
        """Its farthest point (mm) in a direction: that of the flat shape, at the nearer or the farther end."""
        (ux, uy), (nx, ny) = self.u, self.n
        x, y, z = direction
        px, height = _farthest(self.shape, (x * ux + y * uy, z))
        w = self.stop if x * nx + y * ny > 0.0 else self.start
        return (px * ux + w * nx, px * uy + w * ny, height)

    def moved(self, pose: Pose) -> StandingPrism:
        """The solid carried along in the plate's plane; mm."""
        u, n = pose.vector(self.u), pose.vector(self.n)
        over, on = pose.x * u[0] + pose.y * u[1], pose.x * n[0] + pose.y * n[1]
        start, stop = (self.start + on, self.stop + on)
        if pose.mirrored:  # `n` is told from `u`, and in the mirror it points the other way
            start, stop = -stop, -start
        return StandingPrism(self.shape.moved(Pose(over, 0.0)), u, start, stop)

    def swept(self, travel: Travel) -> StandingPrism | Upright:
        """What it covers over a travel (mm, rad), or a little more: the safe side.

        A swing turns it out of its plane: then all within its heights over its swept silhouette counts. A straight
        travel is taken along `u` and along `n` by themselves, which holds the slanted way between.
        """
        if travel is None:
            return self
        if isinstance(travel, Swing):
            return Upright(sweep(self.silhouette, travel), self.low, self.high)
        (dx, dy), (nx, ny), (low, high) = travel.direction, self.n, ends(travel)
        over, on = dx * self.u[0] + dy * self.u[1], dx * nx + dy * ny
        shape = sweep(self.shape, Straight((math.copysign(1.0, over), 0.0), -low * abs(over), high * abs(over)))
        assert isinstance(shape, Loop)
        return StandingPrism(shape, self.u, self.start + min(low * on, high * on), self.stop + max(low * on, high * on))


Solid = Upright | Lying | StandingPrism


@lru_cache(maxsize=1024)  # rules and the guard ask along the same few directions
def extent(solid: Solid, way: Point) -> tuple[float, float]:
    """From where to where a solid reaches along a level unit direction, mm.

    >>> extent(Upright(Disc((10, 0), 3), 0, 5), (1.0, 0.0))
    (7.0, 13.0)
    """
    if not isinstance(solid, Upright) and solid.convex:
        x, y = way
        (ax, ay, _), (bx, by, _) = solid.support((-x, -y, 0.0)), solid.support((x, y, 0.0))
        return (ax * x + ay * y, bx * x + by * y)
    shape = solid.silhouette
    if isinstance(shape, Disc | Slot):
        spine = (shape.center,) if isinstance(shape, Disc) else (shape.a, shape.b)
        along = [x * way[0] + y * way[1] for x, y in spine]
        return (min(along) - shape.radius, max(along) + shape.radius)
    loop = shape.loop()
    ends = [[p[0] * way[0] + p[1] * way[1] for p in _far_points(loop, (s * way[0], s * way[1]))] for s in (-1.0, 1.0)]
    return (min(ends[0]), max(ends[1]))


IN_LINE = 1e-6
"""Axes this near to each other are one, mm (ours)."""


def coaxial(a: Lying, b: Lying) -> bool:
    """Whether two lying cylinders share their axis, within `IN_LINE` (mm)."""
    (ax, ay), (bx, by) = a.a, a.b
    length = math.hypot(bx - ax, by - ay)
    off = [abs((x - ax) * (by - ay) - (y - ay) * (bx - ax)) / length for x, y in (b.a, b.b)]
    return abs(a.height - b.height) <= IN_LINE and max(off) <= IN_LINE


class Clearance(Struct, frozen=True):
    """How near two solids come: distance in mm, negative when they share space, and the two points between which.

    `a` and `b` are in plan, `z_a` and `z_b` their heights.
    """

    distance: float
    a: Point
    b: Point
    z_a: float
    z_b: float

    @property
    def between(self) -> Point:
        """The point half-way, seen along the normal; mm."""
        return middle(self.a, self.b)


def height_gap(a: Solid, b: Solid) -> float:
    """Distance of the two height ranges, mm; negative by as much as they share."""
    return max(a.low, b.low) - min(a.high, b.high)


def level_box(solid: Solid) -> Box:
    """The box round a solid's silhouette, mm; found without the silhouette where that would have to be made first.

    >>> level_box(Lying((0, 0), (100, 0), 30, 40))
    Box(x0=0.0, y0=-30.0, x1=100.0, y1=30.0)
    """
    if isinstance(solid, Upright):
        widest = max(solid.flare_low, solid.flare_high)
        return solid.shape.box.grown(widest) if widest else solid.shape.box
    if isinstance(solid, StandingPrism):
        return solid.level_box
    if not solid.convex:
        return solid.silhouette.box
    (x0, _, _), (x1, _, _) = solid.support((-1.0, 0.0, 0.0)), solid.support((1.0, 0.0, 0.0))
    (_, y0, _), (_, y1, _) = solid.support((0.0, -1.0, 0.0)), solid.support((0.0, 1.0, 0.0))
    return Box(x0, y0, x1, y1)


def clearance(a: Solid, b: Solid, enough: float = math.inf) -> Clearance:
    """The smallest distance of two solids, mm, negative when they share space; exact or on the safe side.

    When they share space the figure is how far they reach into each other, across or along the normal. Where they are
    farther apart than `enough` (mm), it may be less than the distance, but is more than `enough`.

    >>> clearance(Upright(Disc((0, 0), 5), 0, 10), Upright(Disc((18, 0), 10), 14, 20)).distance
    5.0
    """
    if isinstance(a, Upright) and isinstance(b, Upright):
        return _upright_clearance(a, b)
    return _searched_for(a, b, enough)


@lru_cache(maxsize=2048)  # searched for step by step, and most of what stands still stays so at an edit
def _searched_for(a: Solid, b: Solid, enough: float) -> Clearance:
    if a.convex and b.convex:
        first: Support = a.support
        second: Support = b.support
        way = shortest_way(first, second, enough)
        if way is not None:
            return Clearance(way.length, way.a[:2], way.b[:2], way.a[2], way.b[2])
    # touching or overlapping, or one of them hollow: first whether they share space, then how far apart they are
    shared = _shared(a, b)
    if shared is not None:
        return shared
    if isinstance(a, Lying) and isinstance(b, Upright):
        return _lying_clearance(a, b) if a.convex and b.straight else _searched(a, b)
    if isinstance(b, Lying) and isinstance(a, Upright) and b.convex and a.straight:
        turned = _lying_clearance(b, a)
        return Clearance(turned.distance, turned.b, turned.a, turned.z_b, turned.z_a)
    return _searched(a, b)


def nearer_than(a: Solid, b: Solid, limit: float) -> bool:
    """Whether two solids come nearer than `limit` (mm, may be negative); asks for no more than that takes.

    >>> nearer_than(Upright(Disc((0, 0), 5), 0, 10), Upright(Disc((13, 0), 5), 0, 10), 3.5)
    True
    """
    if height_gap(a, b) >= limit:
        return False
    if isinstance(a, Upright) and isinstance(b, Upright) and a.straight and b.straight:
        if a.shape.box.gap(b.shape.box) >= max(limit, EPS):
            return False
        return within_reach(a.shape, b.shape, across_the_corner(limit, height_gap(a, b)))
    return clearance(a, b).distance < limit


def across_the_corner(limit: float, above: float) -> float:
    """How near prisms must be in the plan to be nearer than `limit`, one of them `above` the other (mm).

    Nearer over the corner they are when nearer in the plan than the other leg of the triangle.

    >>> across_the_corner(5.0, 3.0), across_the_corner(5.0, -1.0)
    (4.0, 5.0)
    """
    return math.sqrt(limit**2 - above**2) if 0.0 < above < limit else limit


SHRUNK = 1e-4
"""Of two solids that touch or more, one is drawn in by this share of its size: what then is apart touched (ours)."""
ROUND_ABOUT: tuple[Spot, ...] = ((1, 0, 0), (-1, 0, 0), (0, 1, 0), (0, -1, 0), (0, 0, 1), (0, 0, -1))
"""Directions whose farthest points have their mean inside of a convex solid."""


def run_together(a: Solid, b: Solid, hair: float) -> bool:
    """Whether two solids share space by more than a `hair` (mm); of convex ones that are not upright, than `SHRUNK`.

    A yes or no costs far less than how deep they are in each other.

    >>> run_together(Lying((0, 0), (10, 0), 5, 5), Upright(Disc((0, 0), 5), 9.9, 20), 1e-6)
    True
    """
    if height_gap(a, b) >= -hair:
        return False
    if not (a.convex and b.convex) or (isinstance(a, Upright) and isinstance(b, Upright)):
        return nearer_than(a, b, -hair)
    if a.silhouette.box.gap(b.silhouette.box) > 0.0:
        return False
    return _share_space(a, b)


@lru_cache(maxsize=4096)  # pieces of a guard, which an edit of something else leaves alone
def _share_space(a: Solid, b: Solid) -> bool:
    whole: Support = a.support
    other: Support = b.support
    spots = [other(way) for way in ROUND_ABOUT]
    mx, my, mz = (math.fsum(spot[k] for spot in spots) / len(spots) for k in range(3))

    def drawn_in(way: Spot) -> Spot:
        x, y, z = other(way)
        return (x + SHRUNK * (mx - x), y + SHRUNK * (my - y), z + SHRUNK * (mz - z))

    # drawn in first: most that touch at all only touch
    return convex_meet(whole, drawn_in) and convex_meet(whole, other)


def _farthest(shape: Shape, direction: Point) -> Point:
    """The point of a convex shape that lies farthest in a direction."""
    x, y = direction
    size = math.hypot(x, y)
    if isinstance(shape, Loop):
        # the first of the farthest of `_far_points`, without the list of them: asked some fifty times of each body
        best, px, py = -math.inf, 0.0, 0.0
        for ax, ay, _ in shape.vertices:
            reach = ax * x + ay * y
            if reach > best:
                best, px, py = reach, ax, ay
        for edge in shape.arcs if size > 0.0 else ():
            (cx, cy), r = edge.center, edge.radius / size
            ax, ay = cx + r * x, cy + r * y
            reach = ax * x + ay * y
            if reach > best and edge.faces((ax, ay)):
                best, px, py = reach, ax, ay
        return (px, py)
    assert not isinstance(shape, CurvedSlot)
    spine = (shape.center,) if isinstance(shape, Disc) else (shape.a, shape.b)
    px, py = max(spine, key=lambda p: p[0] * x + p[1] * y)
    out = shape.radius / size if size > 0.0 else 0.0
    return (px + out * x, py + out * y)


def _far_points(loop: Loop, direction: Point) -> list[Point]:
    """The points of a loop of which one lies farthest in a direction: vertices, and of arcs the point that faces it."""
    size = math.hypot(*direction)
    points = [edge.a for edge in loop.edges]
    if size > 0.0:
        for edge in loop.edges:
            if isinstance(edge, Arc):
                (cx, cy), r = edge.center, edge.radius / size
                p = (cx + r * direction[0], cy + r * direction[1])
                if edge.faces(p):
                    points.append(p)
    return points


# --------------------------------------------------------------------------------------------- upright


def _upright_clearance(a: Upright, b: Upright) -> Clearance:
    """The distance of two prisms or cones in closed form, negative by how far they reach into each other."""
    plan, z_gap = distance(a.shape, b.shape), height_gap(a, b)
    if a.straight and b.straight:
        # the heights that are nearest to each other: two ends, or the middle of what they share, for both
        if z_gap > 0.0:
            z_a, z_b = (a.high, b.low) if a.high < b.low else (a.low, b.high)
        else:
            z_a = z_b = 0.5 * (max(a.low, b.low) + min(a.high, b.high))
        p, q = (plan.a, plan.b) if plan.distance > 0.0 else (common_point(a.shape, b.shape, plan),) * 2
        return Clearance(prism_distance(plan.distance, z_gap), p, q, z_a, z_b)
    if z_gap <= 0.0:
        # both flares change evenly with the height, so they come nearest at an end of the heights that they share
        low, high = max(a.low, b.low), min(a.high, b.high)
        z = max((low, high), key=lambda level: a.flare(level) + b.flare(level))
        across = plan.distance - a.flare(z) - b.flare(z)
        if across <= TOUCHING:
            return Clearance(prism_distance(across, z_gap), plan.a, plan.b, z, z)
    # The distance of two flaring solids that share nothing, whose plain shapes are a `plan` gap apart.
    # In the half plane of reach and height, `a` is all that lies left of its side, `b` all that lies right of its
    # own; both are convex, so the least distance has a corner of one of them at one end. (Each reaches as far, in
    # every plane through the shortest way in the plan, as in this one: growing a shape moves its edge out alike
    # everywhere.)
    apart = plan.distance
    left = ((a.flare_low, a.low), (a.flare_high, a.high))
    right = ((apart - b.flare_low, b.low), (apart - b.flare_high, b.high))
    # Each corner of one against the side of the other, then the same the other way round.
    ways = [(_on_left(corner, left), corner) for corner in right]
    # the other way round: mirrored in reach, `b` lies on the left of its own side
    mirrored = tuple((-x, z) for x, z in right)
    for x, z in left:
        u, w = _on_left((-x, z), mirrored)
        ways.append(((x, z), (-u, w)))
    (x_a, z_a), (x_b, z_b) = min(ways, key=lambda way: math.dist(*way))
    if apart > 0.0:
        p, q = towards(plan.a, plan.b, x_a), towards(plan.a, plan.b, x_b)
    else:
        p = q = common_point(a.shape, b.shape, plan)
    return Clearance(math.hypot(x_b - x_a, z_b - z_a), p, q, z_a, z_b)


def common_point(a: Shape, b: Shape, plan: Gap) -> Point:
    """A point (mm) of two shapes that touch or overlap, whose gap is `plan`: to point at, so any will do."""
    for p in (middle(plan.a, plan.b), plan.a, plan.b, a.centroid, b.centroid):
        if a.contains(p) and b.contains(p):
            return p
    shared = intersection(a, b)
    return inner_point(shared[0]) if shared else plan.a


def prism_distance(plan: float, z_gap: float) -> float:
    """Distance of two prisms, mm: across, along the normal, or over the corner; negative when they share space.

    `plan` is the distance of their flat shapes, `z_gap` that of their heights (mm). Sharing space, the smaller of the
    two overlaps counts: the shorter way out.

    >>> prism_distance(plan=3.0, z_gap=4.0), prism_distance(plan=-3.0, z_gap=-4.0)
    (5.0, -3.0)
    """
    if plan <= TOUCHING and z_gap <= TOUCHING:
        return min(max(plan, z_gap), 0.0)
    return math.hypot(max(plan, 0.0), max(z_gap, 0.0))


def _on_left(p: Point, side: tuple[Point, ...]) -> Point:
    """The point nearest to `p` of all that lies left of a side, between the heights of its two ends."""
    (x0, z0), (x1, z1) = side
    x, z = p
    dx, dz = x1 - x0, z1 - z0
    t = min(max(((x - x0) * dx + (z - z0) * dz) / (dx * dx + dz * dz), 0.0), 1.0) if dx or dz else 0.0
    # on the side itself, straight above or below on one of the level ends, or `p` where it lies within
    nearest = [(x0 + t * dx, z0 + t * dz), *((x, end) for reach, end in side if x <= reach)]
    if dz > 0.0 and z0 <= z <= z1 and x <= x0 + dx * (z - z0) / dz:
        nearest.append(p)
    return min(nearest, key=lambda q: math.dist(p, q))


# --------------------------------------------------------------------------------------------- lying


def _lying_clearance(lying: Lying, prism: Upright) -> Clearance:
    """The distance of a lying cylinder that swings about nothing to a prism that it shares no space with.

    From a point of the prism the way to the cylinder is worked out in closed form; it is convex in the plan, so its
    least lies on the prism's edge, or above the prism if that is large enough to hold the cylinder's axis.
    """
    z = min(max(lying.height, prism.low), prism.high)
    # The height that is nearest to the axis: the prism reaches there unless it ends before.
    below = abs(lying.height - z)
    mid = middle(lying.a, lying.b)
    inner = pose_at(lying.travel, 0.0).point(mid)

    def reach(p: Point, s: float) -> float:
        return _to_lying(lying, below, pose_at(lying.travel, s).inverse().point(p))[0]

    def away(p: Point) -> float:
        return reach(p, _lowest(lambda s: reach(p, s), *ends(lying.travel)))

    best, spot = math.inf, inner
    if prism.shape.contains(inner):
        best, spot = away(inner), inner
    # nearest edges first: a distance rises no faster than the way gone, so half a length below its middle is a bound
    # that spares most of the others
    for edge in sorted(prism.shape.loop().edges, key=lambda one: away(one.at(0.5)) - 0.5 * one.length):
        if away(edge.at(0.5)) - 0.5 * edge.length >= best:
            continue
        least, p = _least_on(edge, away, best)
        if least < best:
            best, spot = least, p
    carried = pose_at(lying.travel, _lowest(lambda s: reach(spot, s), *ends(lying.travel)))
    _, foot, deep = _to_lying(lying, below, carried.inverse().point(spot))
    return Clearance(best, carried.point(foot), spot, lying.height + math.copysign(deep, z - lying.height), z)


def _to_lying(lying: Lying, below: float, p: Point) -> tuple[float, Point, float]:
    """Distance of a point that lies `below` the axis (or above it) to a cylinder at nominal, mm.

    And the point of the cylinder nearest to it: where in the plan, and how far below the axis.
    """
    (ax, ay), (bx, by) = lying.a, lying.b
    length = math.hypot(bx - ax, by - ay)
    # along its axis a cylinder ends flat, across it is round: past the end and off the round are legs of one triangle
    along = ((p[0] - ax) * (bx - ax) + (p[1] - ay) * (by - ay)) / length
    across = ((p[0] - ax) * (by - ay) - (p[1] - ay) * (bx - ax)) / length
    past_end = max(-along, along - length, 0.0)
    off = math.hypot(across, below)
    inward = min(lying.radius / off, 1.0) if off > 0.0 else 1.0
    on_axis, out = min(max(along, 0.0), length) / length, across * inward / length
    foot = (ax + on_axis * (bx - ax) + out * (by - ay), ay + on_axis * (by - ay) - out * (bx - ax))
    return math.hypot(past_end, max(off - lying.radius, 0.0)), foot, below * inward


THIRDS = 80
"""Steps of a search by thirds: (2/3)^80 of a plate's size is below rounding (ours)."""


def _lowest(value: Callable[[float], float], low: float, high: float) -> float:
    """Where a function without a second hollow is least between two places: the third that cannot hold it is cut off.

    Of a level stretch any place may come; ties go to the lower half, the same on every machine.
    """
    for _ in range(THIRDS):
        third = (high - low) / 3
        if third <= EPS:
            break
        if value(low + third) <= value(high - third):
            high -= third
        else:
            low += third
    return 0.5 * (low + high)


def _least_on(edge: Edge, value: Callable[[Point], float], best: float) -> tuple[float, Point]:
    """The least value along an edge of a function that is convex and rises no faster than the way gone.

    Along an arc even a convex function may have several hollows: the arc is halved until none of its pieces can be
    lower by `SEARCH`, and that much is taken off what was found, the safe side; endless where nothing is below `best`
    (Lipschitz bounds; Piyavskii 1972).
    """
    if isinstance(edge, Line):
        p = edge.at(_lowest(lambda place: value(edge.at(place)), 0.0, 1.0))
        return value(p), p
    bound, spot, pieces = best, edge.at(0.5), [(0.0, 1.0)]
    while pieces:
        low, high = pieces.pop()
        p = edge.at(0.5 * (low + high))
        here, half = value(p), 0.5 * (high - low) * edge.length
        if here < best:
            best, spot = here, p
        if here - half < best - SEARCH:
            middle_place = 0.5 * (low + high)
            pieces += [(low, middle_place), (middle_place, high)]
    return (best - SEARCH if best < bound else math.inf), spot


# --------------------------------------------------------------------------------------------- searched


def _shared(a: Solid, b: Solid) -> Clearance | None:
    """How far two solids reach into each other; None when no slices at one height overlap.

    Ranges of height are halved as long as the widest slices within one overlap, for only then may two at one height.
    Once two do, the figure is that of the deepest of a few slices (those where a solid is widest, and the one found),
    or the height that they share, whichever is the shorter way out.
    """
    low, high = max(a.low, b.low), min(a.high, b.high)
    ranges = [(low, high)] if low <= high else []
    for _ in range(MOST_STEPS):
        if not ranges:
            return None
        start, end = ranges.pop()
        (slice_a, z_a), (slice_b, z_b) = a.widest(start, end), b.widest(start, end)
        if not within_reach(slice_a, slice_b, -TOUCHING):
            continue
        for z in {z_a, z_b}:
            if not within_reach(a.widest(z, z)[0], b.widest(z, z)[0], -TOUCHING):
                continue
            levels = {z}
            for solid in (a, b):
                widest = (solid.height,) if isinstance(solid, Lying) else (solid.low, solid.high)
                levels |= {min(max(own, low), high) for own in widest}
            at = [(distance(a.widest(own, own)[0], b.widest(own, own)[0]), own) for own in sorted(levels)]
            plan, level = min(at, key=lambda pair: pair[0].distance)
            return Clearance(max(plan.distance, min(low - high, -TOUCHING)), plan.a, plan.b, level, level)
        if end - start > SEARCH:
            half = 0.5 * (start + end)
            ranges += [(start, half), (half, end)]
    return None


_Range = tuple[float, float]


def _searched(a: Solid, b: Solid) -> Clearance:
    """The distance of two solids that share nothing, by halving ranges of height, most promising first.

    Ranges with the same bound come in the order in which they were made, so that the search runs alike everywhere.
    """
    # Branch and bound: the most promising pair of ranges is halved until its bound meets the best distance found.
    order, look = count(), _Look(a, b)
    whole = ((a.low, a.high), (b.low, b.high))
    lower, best = look.at(*whole)
    heap = [(lower, next(order), *whole)]
    for _ in range(MOST_STEPS):
        lower, _, range_a, range_b = heapq.heappop(heap)
        if best.distance - lower <= SEARCH:
            break
        # the wider of the two ranges is halved; an upright solid's never is, its distance has a closed form
        wide_a = -1.0 if isinstance(a, Upright) else range_a[1] - range_a[0]
        wide_b = -1.0 if isinstance(b, Upright) else range_b[1] - range_b[0]
        solid, (low, high) = (a, range_a) if wide_a >= wide_b else (b, range_b)
        # a cylinder is cut at its axis first: above and below it slices only shrink, so their bounds are tight
        cut = solid.height if isinstance(solid, Lying) and low < solid.height < high else 0.5 * (low + high)
        for half in ((low, cut), (cut, high)):
            parts = (half, range_b) if wide_a >= wide_b else (range_a, half)
            least, at_most = look.at(*parts)
            if at_most.distance < best.distance:
                best = at_most
            heapq.heappush(heap, (max(least, lower), next(order), *parts))
    return replace(best, distance=lower)


class _Look:
    """Bounds of the distance over a pair of height ranges; slices and their gaps are kept, many ranges share one."""

    def __init__(self, a: Solid, b: Solid) -> None:
        self._solids = (a, b)
        self._slices: tuple[dict[float, Shape], dict[float, Shape]] = ({}, {})

    def at(self, range_a: _Range, range_b: _Range) -> tuple[float, Clearance]:
        """The lower bound, and the distance of two slices, which is an upper one."""
        (thick_a, thin_a), (thick_b, thin_b) = self._piece(0, range_a), self._piece(1, range_b)
        return _upright_clearance(thick_a, thick_b).distance, _upright_clearance(thin_a, thin_b)

    def _piece(self, which: int, heights: _Range) -> tuple[Upright, Upright]:
        """A prism that holds all of a solid within a range of height, and a slice of it in there."""
        solid, slices = self._solids[which], self._slices[which]
        if isinstance(solid, Upright):
            return solid, solid
        if isinstance(solid, StandingPrism):
            whole, z = solid.widest(*heights)
            return Upright(whole, *heights), Upright(solid.widest(z, z)[0], z, z)
        z = min(max(solid.height, heights[0]), heights[1])
        if z not in slices:
            slices[z] = solid.widest(z, z)[0]
        return Upright(slices[z], *heights), Upright(slices[z], z, z)


# --------------------------------------------------------------------------------------------- position


def nearest_position(shape: Shape, travel: Travel, spot: Point) -> float:
    """The position on its travel at which a shape, given at nominal, comes nearest to a point; mm or radians.

    The shape stands still and the point travels the other way: the nearest place on the point's path tells.

    >>> nearest_position(Disc((0, 0), 5), Straight((1, 0), 10, 10), (8, 9))
    8.0
    """
    low, high = ends(travel)
    if travel is None or high - low <= 0.0:
        return low
    path: Edge
    if isinstance(travel, Straight):
        path = Line(pose_at(travel, low).inverse().point(spot), pose_at(travel, high).inverse().point(spot))
    else:
        x, y = spot[0] - travel.about[0], spot[1] - travel.about[1]
        away = math.hypot(x, y)
        if away <= EPS:
            return 0.0  # at the pivot: as near at every position
        run = min(high - low, TAU * (1.0 - EPS))
        path = arc(travel.about, away, math.atan2(y, x) - travel.sense * low, -travel.sense * run)
    if isinstance(shape, Disc):
        p = path.nearest(shape.center)
    elif isinstance(shape, Slot):
        p = edge_gap(path, shape.spine).a
    else:
        p = shape.loop().nearest_to_edge(path).b
    return low + (high - low) * min(max(path.place(p), 0.0), 1.0)

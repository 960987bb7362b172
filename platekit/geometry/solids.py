"""Solids in the plate frame: how near two of them come, in all three directions.

An *upright* solid is a flat shape held from one height to another, its sides straight (a prism) or flaring evenly (a
cone); a *lying* one is a cylinder whose axis lies in the plate's plane; a *standing* one is a convex flat shape that
stands square on the plate's plane, held along it (a belt's run over shafts that lie). Cut level at any height, each
shows one flat shape, its *slice*; those of an upright or lying solid lie inside each other. So the distance of two
solids is the least of hypot(distance of their slices, difference of height).

Upright against upright has a closed form. A lying solid against a convex one is found from what both reach in each
direction (`convex`). Anything else is searched between bounds that hold for whole ranges of height; what comes back is
the lower bound, the safe side, less than `SEARCH` below the true distance unless it took more than `MOST_STEPS`.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Callable
from itertools import count

from msgspec import Struct
from msgspec.structs import replace

from platekit.geometry.combine import intersection
from platekit.geometry.convex import Spot, Support, shortest_way
from platekit.geometry.edges import Arc, Edge, Line, arc, edge_gap
from platekit.geometry.loop import Loop, loop_of
from platekit.geometry.measure import distance, inner_point, within_reach
from platekit.geometry.point import EPS, TAU, Gap, Point, middle, towards
from platekit.geometry.pose import Pose
from platekit.geometry.shapes import CurvedSlot, Disc, Shape, Slot
from platekit.geometry.sweep import Straight, Swing, Travel, ends, pose_at, sweep

SEARCH = 1e-4
"""How far a searched distance may lie below the true one, mm: a hundredth of what a caliper shows (ours)."""
MOST_STEPS = 4000
"""Pairs of height ranges looked at before the search settles for the lower bound it has (ours)."""
HAIR = 1e-6
"""Half width given to the topmost and lowest slice of a lying cylinder, which are lines, mm (ours)."""
TOUCHING = 1e-7
"""Solids whose slices overlap by no more than this touch, mm: rounding after several moves (ours)."""


class Upright(Struct, frozen=True):
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
        """Whether it has no hollow."""
        return _is_convex(self.shape)

    @property
    def silhouette(self) -> Shape:
        """All that it covers, seen along the normal."""
        widest = max(self.flare_low, self.flare_high)
        return self.shape.grown(widest) if widest else self.shape

    def flare(self, z: float) -> float:
        """How far the edge is moved out at a height between `low` and `high`, mm."""
        run = self.high - self.low
        return self.flare_low + (self.flare_high - self.flare_low) * ((z - self.low) / run if run else 0.0)

    def widest(self, low: float, high: float) -> tuple[Shape, float]:
        """The largest slice between two heights, and its height (of a prism, the middle of the two)."""
        if self.straight:
            return self.shape, 0.5 * (low + high)
        z = low if self.flare_low > self.flare_high else high
        more = self.flare(z)
        return (self.shape.grown(more) if more else self.shape), z

    def support(self, direction: Spot) -> Spot:
        """Its farthest point in a direction."""
        x, y, z = direction
        p, plan = _farthest(self.shape, (x, y)), math.hypot(x, y)
        up = z * (self.high - self.low) + plan * (self.flare_high - self.flare_low) > 0.0
        more, height = (self.flare_high, self.high) if up else (self.flare_low, self.low)
        if more and plan > 0.0:
            p = (p[0] + more * x / plan, p[1] + more * y / plan)
        return (*p, height)

    def moved(self, pose: Pose) -> Upright:
        """The solid carried along in the plate's plane."""
        return replace(self, shape=self.shape.moved(pose))

    def swept(self, travel: Travel) -> Upright:
        """All that it covers over a travel; exact, because growing a disc and moving it may change places."""
        return replace(self, shape=sweep(self.shape, travel)) if travel is not None else self


class Lying(Struct, frozen=True):
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
        """Its lowest height."""
        return self.height - self.radius

    @property
    def high(self) -> float:
        """Its highest height."""
        return self.height + self.radius

    @property
    def convex(self) -> bool:
        """Whether it has no hollow."""
        return not isinstance(self.travel, Swing)

    @property
    def silhouette(self) -> Shape:
        """All that it covers, seen along the normal."""
        return self._slice(self.radius)

    def widest(self, low: float, high: float) -> tuple[Shape, float]:
        """The largest slice between two heights, and its height."""
        z = min(max(self.height, low), high)
        off = z - self.height
        return self._slice(math.sqrt(max(self.radius * self.radius - off * off, 0.0))), z

    def _slice(self, half: float) -> Shape:
        (ax, ay), (bx, by) = self.a, self.b
        length, w = math.hypot(bx - ax, by - ay), max(half, HAIR)
        ux, uy = w * (bx - ax) / length, w * (by - ay) / length
        corners = ((ax + uy, ay - ux), (bx + uy, by - ux), (bx - uy, by + ux), (ax - uy, ay + ux))
        return sweep(loop_of((x, y, 0.0) for x, y in corners), self.travel)

    def support(self, direction: Spot) -> Spot:
        """Its farthest point in a direction, as long as it swings about nothing."""
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
        """The solid carried along in the plate's plane."""
        return replace(self, a=pose.point(self.a), b=pose.point(self.b))

    def swept(self, travel: Travel) -> Lying:
        """All that it covers over a travel."""
        return replace(self, travel=travel)


class Standing(Struct, frozen=True):
    """A convex flat shape standing on the plate's plane, from `start` to `stop` along the level `n`; mm.

    The shape's x goes along the level `u`, square to `n` (`n` is `u` turned a quarter clockwise), its y is the height.

    >>> from platekit.geometry.loop import rectangle
    >>> Standing(rectangle(100, 6), (1, 0), 0, 20).silhouette.area
    2000.0
    """

    shape: Loop
    u: Point
    start: float
    stop: float

    @property
    def n(self) -> Point:
        """The level direction that the shape is held along."""
        return (self.u[1], -self.u[0])

    @property
    def low(self) -> float:
        """Its lowest height."""
        return self.shape.box.y0

    @property
    def high(self) -> float:
        """Its highest height."""
        return self.shape.box.y1

    @property
    def convex(self) -> bool:
        """Whether it has no hollow."""
        return self.shape.is_convex

    @property
    def silhouette(self) -> Shape:
        """All that it covers, seen along the normal."""
        return self._across(self.shape.box.x0, self.shape.box.x1)

    def widest(self, low: float, high: float) -> tuple[Shape, float]:
        """All that it covers between two heights, seen along the normal, and a height there that it reaches."""
        low, high = min(max(low, self.low), self.high), max(min(high, self.high), self.low)
        return self._across(*self._reach(low, high)), 0.5 * (low + high)

    def _reach(self, low: float, high: float) -> tuple[float, float]:
        """From where to where the shape reaches between two heights; slanted slices do not lie inside each other."""
        found: list[float] = []
        for edge in self.shape.edges:
            spots = [edge.a, edge.b]
            if isinstance(edge, Arc):
                (cx, cy), r = edge.center, edge.radius
                spots += [p for p in ((cx + r, cy), (cx - r, cy)) if edge.faces(p)]
                for z in (low, high):
                    off = r * r - (z - cy) * (z - cy)
                    across = math.sqrt(off) if off > 0.0 else 0.0
                    found += [x for x in (cx - across, cx + across) if off >= 0.0 and edge.faces((x, z))]
            else:
                (ax, ay), (bx, by) = edge.a, edge.b
                found += [ax + (bx - ax) * (z - ay) / (by - ay) for z in (low, high) if (ay - z) * (by - z) < 0.0]
            found += [x for x, y in spots if low - EPS <= y <= high + EPS]
        if not found:  # rounding at the very top or bottom
            end = min((p for edge in self.shape.edges for p in (edge.a, edge.b)), key=lambda p: abs(p[1] - low))
            return end[0], end[0]
        return min(found), max(found)

    def _across(self, left: float, right: float) -> Shape:
        if right - left < HAIR:
            left, right = left - HAIR, right + HAIR
        corners = ((left, self.stop), (left, self.start), (right, self.start), (right, self.stop))
        (ux, uy), (nx, ny) = self.u, self.n
        return loop_of((x * ux + w * nx, x * uy + w * ny, 0.0) for x, w in reversed(corners))

    def support(self, direction: Spot) -> Spot:
        """Its farthest point in a direction."""
        (ux, uy), (nx, ny) = self.u, self.n
        x, y, z = direction
        px, height = _farthest(self.shape, (x * ux + y * uy, z))
        w = self.stop if x * nx + y * ny > 0.0 else self.start
        return (px * ux + w * nx, px * uy + w * ny, height)

    def moved(self, pose: Pose) -> Standing:
        """The solid carried along in the plate's plane."""
        u, n = pose.vector(self.u), pose.vector(self.n)
        over, on = pose.x * u[0] + pose.y * u[1], pose.x * n[0] + pose.y * n[1]
        start, stop = (self.start + on, self.stop + on)
        if pose.mirrored:
            start, stop = -stop, -start
        return Standing(self.shape.moved(Pose(over, 0.0)), u, start, stop)

    def swept(self, travel: Travel) -> Standing | Upright:
        """What it covers over a travel, or a little more: the safe side."""
        if travel is None:
            return self
        if isinstance(travel, Swing):
            return Upright(sweep(self.silhouette, travel), self.low, self.high)
        (dx, dy), (nx, ny), (low, high) = travel.direction, self.n, ends(travel)
        over, on = dx * self.u[0] + dy * self.u[1], dx * nx + dy * ny
        shape = sweep(self.shape, Straight((math.copysign(1.0, over), 0.0), -low * abs(over), high * abs(over)))
        assert isinstance(shape, Loop)
        return Standing(shape, self.u, self.start + min(low * on, high * on), self.stop + max(low * on, high * on))


Solid = Upright | Lying | Standing


def extent(solid: Solid, way: Point) -> tuple[float, float]:
    """From where to where a solid reaches along a level unit direction, mm.

    >>> extent(Upright(Disc((10, 0), 3), 0, 5), (1.0, 0.0))
    (7.0, 13.0)
    """
    loop = solid.silhouette.loop()
    ends = [[p[0] * way[0] + p[1] * way[1] for p in _far_points(loop, (s * way[0], s * way[1]))] for s in (-1.0, 1.0)]
    return (min(ends[0]), max(ends[1]))


IN_LINE = 1e-6
"""Axes this near to each other are one, mm (ours)."""


def coaxial(a: Lying, b: Lying) -> bool:
    """Whether two lying cylinders share their axis."""
    (ax, ay), (bx, by) = a.a, a.b
    long = math.hypot(bx - ax, by - ay)
    off = [abs((x - ax) * (by - ay) - (y - ay) * (bx - ax)) / long for x, y in (b.a, b.b)]
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
        """The point half-way, seen along the normal."""
        return middle(self.a, self.b)


def height_gap(a: Solid, b: Solid) -> float:
    """Distance of the two height ranges, mm; negative by as much as they share."""
    return max(a.low, b.low) - min(a.high, b.high)


def clearance(a: Solid, b: Solid) -> Clearance:
    """The smallest distance of two solids, negative when they share space; exact or on the safe side.

    When they share space the figure is how far they reach into each other, across or along the normal.

    >>> clearance(Upright(Disc((0, 0), 5), 0, 10), Upright(Disc((18, 0), 10), 14, 20)).distance
    5.0
    """
    if isinstance(a, Upright) and isinstance(b, Upright):
        return _upright_clearance(a, b)
    if a.convex and b.convex:
        way = shortest_way(_support(a), _support(b))
        if way is not None:
            return Clearance(way.length, way.a[:2], way.b[:2], way.a[2], way.b[2])
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
    """Whether two solids come nearer than a limit (mm, may be negative); asks for no more than that takes.

    >>> nearer_than(Upright(Disc((0, 0), 5), 0, 10), Upright(Disc((13, 0), 5), 0, 10), 3.5)
    True
    """
    if height_gap(a, b) >= limit:
        return False
    if isinstance(a, Upright) and isinstance(b, Upright) and a.straight and b.straight:
        if a.shape.box.gap(b.shape.box) >= max(limit, EPS):
            return False
        apart = height_gap(a, b)
        across = math.sqrt(limit**2 - apart**2) if 0.0 < apart < limit else limit
        return within_reach(a.shape, b.shape, across)
    return clearance(a, b).distance < limit


def _support(solid: Solid) -> Support:
    return solid.support


def _is_convex(shape: Shape) -> bool:
    if isinstance(shape, Loop):
        return shape.is_convex
    return not isinstance(shape, CurvedSlot)


def _farthest(shape: Shape, direction: Point) -> Point:
    """The point of a convex shape that lies farthest in a direction."""
    x, y = direction
    size = math.hypot(x, y)
    if isinstance(shape, Loop):
        return max(_far_points(shape, direction), key=lambda p: p[0] * x + p[1] * y)
    assert not isinstance(shape, CurvedSlot)
    spine = (shape.center,) if isinstance(shape, Disc) else (shape.a, shape.b)
    px, py = max(spine, key=lambda p: p[0] * x + p[1] * y)
    out = shape.radius / size if size > 0.0 else 0.0
    return (px + out * x, py + out * y)


def _far_points(loop: Loop, direction: Point) -> list[Point]:
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
    plan, z_gap = distance(a.shape, b.shape), height_gap(a, b)
    if a.straight and b.straight:
        z_a, z_b = _nearest_heights((a.low, a.high), (b.low, b.high))
        p, q = (plan.a, plan.b) if plan.distance > 0.0 else (common_point(a.shape, b.shape, plan),) * 2
        return Clearance(prism_distance(plan.distance, z_gap), p, q, z_a, z_b)
    if z_gap <= 0.0:
        low, high = max(a.low, b.low), min(a.high, b.high)
        z = max((low, high), key=lambda level: a.flare(level) + b.flare(level))
        across = plan.distance - a.flare(z) - b.flare(z)
        if across <= TOUCHING:
            return Clearance(prism_distance(across, z_gap), plan.a, plan.b, z, z)
    return _profiles(plan, a, b)


def common_point(a: Shape, b: Shape, plan: Gap) -> Point:
    """A point of two shapes that touch or overlap, whose gap is `plan`."""
    for p in (middle(plan.a, plan.b), plan.a, plan.b, a.centroid, b.centroid):
        if a.contains(p) and b.contains(p):
            return p
    shared = intersection(a, b)
    return inner_point(shared[0]) if shared else plan.a


def _nearest_heights(a: tuple[float, float], b: tuple[float, float]) -> tuple[float, float]:
    """The heights of two ranges that are nearest to each other; the middle of what they share."""
    if a[1] < b[0]:
        return (a[1], b[0])
    if b[1] < a[0]:
        return (a[0], b[1])
    z = 0.5 * (max(a[0], b[0]) + min(a[1], b[1]))
    return (z, z)


def prism_distance(plan: float, z_gap: float) -> float:
    """Distance of two prisms: across, along the normal, or over the corner; negative when they share space.

    >>> prism_distance(plan=3.0, z_gap=4.0), prism_distance(plan=-3.0, z_gap=-4.0)
    (5.0, -3.0)
    """
    if plan <= TOUCHING and z_gap <= TOUCHING:
        return min(max(plan, z_gap), 0.0)
    return math.hypot(max(plan, 0.0), max(z_gap, 0.0))


def _profiles(plan: Gap, a: Upright, b: Upright) -> Clearance:
    """The distance of two flaring solids that share nothing, whose plain shapes are a `plan` gap apart.

    In the half plane of reach and height, `a` is all that lies left of its side, `b` all that lies right of its own;
    both are convex, so the least distance has a corner of one of them at one end.
    """
    apart = plan.distance
    left = ((a.flare_low, a.low), (a.flare_high, a.high))
    right = ((apart - b.flare_low, b.low), (apart - b.flare_high, b.high))
    ways = [(_on_left(corner, left), corner) for corner in right]
    ways += [(corner, _mirrored(_on_left(_mirrored(corner), tuple(map(_mirrored, right))))) for corner in left]
    (x_a, z_a), (x_b, z_b) = min(ways, key=lambda way: math.dist(*way))
    if apart > 0.0:
        p, q = towards(plan.a, plan.b, x_a), towards(plan.a, plan.b, x_b)
    else:
        p = q = common_point(a.shape, b.shape, plan)
    return Clearance(math.hypot(x_b - x_a, z_b - z_a), p, q, z_a, z_b)


def _mirrored(p: Point) -> Point:
    return (-p[0], p[1])


def _on_left(p: Point, side: tuple[Point, ...]) -> Point:
    """The point nearest to `p` of all that lies left of a side, between the heights of its two ends."""
    (x0, z0), (x1, z1) = side
    x, z = p
    dx, dz = x1 - x0, z1 - z0
    t = min(max(((x - x0) * dx + (z - z0) * dz) / (dx * dx + dz * dz), 0.0), 1.0) if dx or dz else 0.0
    found = [(x0 + t * dx, z0 + t * dz), *((x, end) for reach, end in side if x <= reach)]
    if dz > 0.0 and z0 <= z <= z1 and x <= x0 + dx * (z - z0) / dz:
        found.append(p)
    return min(found, key=lambda q: math.dist(p, q))


# --------------------------------------------------------------------------------------------- lying


def _lying_clearance(lying: Lying, prism: Upright) -> Clearance:
    """The distance of a lying cylinder that swings about nothing to a prism that it shares no space with.

    From a point of the prism the way to the cylinder is worked out in closed form; it is convex in the plan, so its
    least lies on the prism's edge, or above the prism if that is large enough to hold the cylinder's axis.
    """
    z = min(max(lying.height, prism.low), prism.high)
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
    for edge in sorted(prism.shape.loop().edges, key=lambda one: away(one.at(0.5)) - 0.5 * one.length):
        if away(edge.at(0.5)) - 0.5 * edge.length < best:
            found, p = _least_on(edge, away, best)
            best, spot = (found, p) if found < best else (best, spot)
    carried = pose_at(lying.travel, _lowest(lambda s: reach(spot, s), *ends(lying.travel)))
    _, foot, deep = _to_lying(lying, below, carried.inverse().point(spot))
    return Clearance(best, carried.point(foot), spot, lying.height + math.copysign(deep, z - lying.height), z)


def _to_lying(lying: Lying, below: float, p: Point) -> tuple[float, Point, float]:
    """Distance of a point that lies `below` the axis (or above it) to a cylinder at nominal, mm.

    And the point of the cylinder nearest to it: where in the plan, and how far below the axis.
    """
    (ax, ay), (bx, by) = lying.a, lying.b
    length = math.hypot(bx - ax, by - ay)
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
    """Where a function without a second hollow is least between two places."""
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

    Along an arc it may have several hollows: the arc is halved until none of its pieces can be lower by `SEARCH`.
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
    """How far two solids reach into each other; None when no slices at one height overlap."""
    low, high = max(a.low, b.low), min(a.high, b.high)
    ranges = [(low, high)] if low <= high else []
    for _ in range(MOST_STEPS):
        if not ranges:
            return None
        start, end = ranges.pop()
        (slice_a, z_a), (slice_b, z_b) = a.widest(start, end), b.widest(start, end)
        if distance(slice_a, slice_b).distance >= -TOUCHING:
            continue
        for z in {z_a, z_b}:
            plan = distance(a.widest(z, z)[0], b.widest(z, z)[0])
            if plan.distance < -TOUCHING:
                return _deepest(a, b, z, (low, high))
        if end - start > SEARCH:
            half = 0.5 * (start + end)
            ranges += [(start, half), (half, end)]
    return None


def _deepest(a: Solid, b: Solid, z: float, heights: tuple[float, float]) -> Clearance:
    """The figure for two solids that share space at height `z`: the deepest of a few slices, or the shared height."""
    low, high = heights
    levels = {z, *(min(max(own, low), high) for solid in (a, b) for own in _widest_heights(solid))}
    plans = [(distance(a.widest(level, level)[0], b.widest(level, level)[0]), level) for level in sorted(levels)]
    plan, level = min(plans, key=lambda pair: pair[0].distance)
    return Clearance(max(plan.distance, min(low - high, -TOUCHING)), plan.a, plan.b, level, level)


def _widest_heights(solid: Solid) -> tuple[float, ...]:
    return (solid.height,) if isinstance(solid, Lying) else (solid.low, solid.high)


_Range = tuple[float, float]


def _searched(a: Solid, b: Solid) -> Clearance:
    """The distance of two solids that share nothing, by halving ranges of height, most promising first."""
    order, look = count(), _Look(a, b)
    whole = ((a.low, a.high), (b.low, b.high))
    lower, best = look.at(*whole)
    heap = [(lower, next(order), *whole)]
    for _ in range(MOST_STEPS):
        lower, _, range_a, range_b = heapq.heappop(heap)
        if best.distance - lower <= SEARCH:
            break
        for parts in _halves(a, b, range_a, range_b):
            low, found = look.at(*parts)
            if found.distance < best.distance:
                best = found
            heapq.heappush(heap, (max(low, lower), next(order), *parts))
    return replace(best, distance=lower)


def _halves(a: Solid, b: Solid, range_a: _Range, range_b: _Range) -> list[tuple[_Range, _Range]]:
    """The wider of the two ranges halved; an upright solid's is never halved, its distance has a closed form."""
    wide_a = -1.0 if isinstance(a, Upright) else range_a[1] - range_a[0]
    wide_b = -1.0 if isinstance(b, Upright) else range_b[1] - range_b[0]
    if wide_a >= wide_b:
        return [(part, range_b) for part in _cut(a, range_a)]
    return [(range_a, part) for part in _cut(b, range_b)]


def _cut(solid: Solid, heights: _Range) -> list[_Range]:
    low, high = heights
    at = solid.height if isinstance(solid, Lying) and low < solid.height < high else 0.5 * (low + high)
    return [(low, at), (at, high)]


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
        if isinstance(solid, Standing):
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
    path = _way_back(spot, travel)
    if path is None:
        return 0.0
    p = _nearest_on(path, shape)
    return low + (high - low) * min(max(path.place(p), 0.0), 1.0)


def _way_back(spot: Point, travel: Straight | Swing) -> Edge | None:
    """The path of a point as the travelling shape sees it, from the lowest position to the highest."""
    low, high = ends(travel)
    if isinstance(travel, Straight):
        return Line(pose_at(travel, low).inverse().point(spot), pose_at(travel, high).inverse().point(spot))
    x, y = spot[0] - travel.about[0], spot[1] - travel.about[1]
    away = math.hypot(x, y)
    if away <= EPS:
        return None
    run = min(high - low, TAU * (1.0 - EPS))
    return arc(travel.about, away, math.atan2(y, x) - travel.sense * low, -travel.sense * run)


def _nearest_on(path: Edge, shape: Shape) -> Point:
    """The point of a path nearest to a shape's edge, or where the path first meets it."""
    if isinstance(shape, Disc):
        return path.nearest(shape.center)
    if isinstance(shape, Slot):
        return edge_gap(path, shape.spine).a
    return shape.loop().nearest_to_edge(path).b

"""The line-and-arc loop: one closed outline without holes, and the ways to make one.

A loop is stored as *vertices* `(x, y, bulge)`; the bulge belongs to the edge that starts there. Loops run
counter-clockwise, so the inside is on the left of every edge. An *inside corner* is a place where the outline
turns right: a sharp vertex (radius 0) or a hollow arc. The *depth* of a point is its distance to the outline,
negative outside.

Points, edges and crossings are looked for in a tree of boxes over neighbouring edges (a bounding-volume hierarchy;
common practice): edges that follow each other lie near each other, so no sorting is needed, halving the list is enough.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

from msgspec import Struct

from platekit.errors import GeometryError
from platekit.geometry.edges import SHARP, Arc, Edge, Line, edge_gap, edge_intersections, edge_of, moments
from platekit.geometry.index import Index
from platekit.geometry.point import (
    CHORD_ERROR,
    EPS,
    Box,
    Gap,
    Point,
    between,
    box_of,
    box_round,
    polar,
    towards,
    turn_between,
    turned,
)
from platekit.geometry.pose import Pose
from platekit.once import once

if TYPE_CHECKING:
    from platekit.geometry.polygons import Polygon

Vertex = tuple[float, float, float]

LEAF = 8
"""Edges that are looked at one by one before they are put into boxes; found by trying, any value works."""

WOBBLE = 1e-11
"""Length in mm by which rounding may put a vertex off: what it turns a very short edge by is no corner. Common
practice."""

ROUNDED = 1e-6
"""Length in mm that a rounding must cut off a side to be drawn: less is a sharp corner. Common practice."""

FLATTEST = 1e6
"""Radius in mm above which an arc is no shape for a plate: its centre lies so far off that 1e-9 mm is lost to
rounding. Common practice."""

JOINED = 1e3 * EPS
"""Within this length in mm of a shared corner two sides that meet meet there: where they part at a sharp angle their
crossing is found a way along. Common practice."""

_Flat = tuple[float, float, float, float, float, float, float, int]
_Node = tuple[Box, int, int, "tuple[_Node, _Node] | None"]


class Loop(Struct, frozen=True, dict=True, cache_hash=True):
    """A closed line-and-arc outline; `vertices` as `(x, y, bulge)`, counter-clockwise, no zero edges.

    Make one with `loop_of`, `rectangle` or `polygon_loop`, which see to that.

    >>> rectangle(40, 20).area
    800.0
    """

    vertices: tuple[Vertex, ...]

    @once
    def edges(self) -> tuple[Edge, ...]:
        """The edges in order, each from its vertex to the next; mm."""
        around = self.vertices[1:] + self.vertices[:1]
        return tuple(
            edge_of((x, y), (u, v), bulge) for (x, y, bulge), (u, v, _) in zip(self.vertices, around, strict=True)
        )

    @once
    def arcs(self) -> tuple[Arc, ...]:
        """Those of its edges that are arcs, in order; mm."""
        return tuple(edge for edge in self.edges if isinstance(edge, Arc))

    @once
    def box(self) -> Box:
        """The smallest box round the loop, mm."""
        if self.is_straight:
            return box_of((x, y) for x, y, _ in self.vertices)
        return box_round(self.boxes)

    @once
    def is_straight(self) -> bool:
        """True when none of its edges is an arc, so that the vertices alone tell all of it."""
        return not any(bulge for _, _, bulge in self.vertices)

    @once
    def boxes(self) -> tuple[Box, ...]:
        """The smallest box round each edge, mm."""
        return tuple(edge.box for edge in self.edges)

    @once
    def _moments(self) -> tuple[float, float, float]:
        return moments(self.edges)

    @property
    def area(self) -> float:
        """Area, mm2."""
        return self._moments[0]

    @property
    def centroid(self) -> Point:
        """Centre of area, mm."""
        area, mx, my = self._moments
        return (mx / area, my / area)

    @once
    def perimeter(self) -> float:
        """Length of the outline, mm."""
        return math.fsum(edge.length for edge in self.edges)

    @once
    def is_convex(self) -> bool:
        """True when no part of the outline turns right."""
        # Asked of each piece of a guard's sheet: straight sides that nowhere turn right need no edges to be made.
        (px, py, _), (qx, qy, _) = self.vertices[-2], self.vertices[-1]
        ux, uy = qx - px, qy - py
        for x, y, bulge in self.vertices:
            vx, vy = x - qx, y - qy
            sine, ahead = ux * vy - uy * vx, ux * vx + uy * vy
            # a turn straight back says nothing by its sine: `_corners` looks where the inside is
            if bulge or sine < 0.0 or sine <= -10.0 * SHARP * ahead:
                return not self.inside_corners()
            qx, qy, ux, uy = x, y, vx, vy
        return True

    def inside_corners(self) -> list[tuple[Point, float]]:
        """Every place where the outline turns right, with its radius in mm (0.0 for a sharp corner)."""
        return self._corners(-1)

    def outside_corners(self) -> list[tuple[Point, float]]:
        """Every place where the outline turns left, with its radius in mm (0.0 for a sharp corner).

        In an opening these are the corners that are hollow in the steel round it.
        """
        return self._corners(1)

    def _corners(self, sense: int) -> list[tuple[Point, float]]:
        """Vertices and arcs that turn left (`sense` 1) or right (-1)."""
        found: list[tuple[Point, float]] = []
        before = self.edges[-1]
        for edge in self.edges:
            (ux, uy), (vx, vy) = before.direction(1.0), edge.direction(0.0)
            turn, ahead = ux * vy - uy * vx, ux * vx + uy * vy  # sine and cosine of the turn, left positive
            if abs(turn) > SHARP + WOBBLE / min(before.length, edge.length):
                turns = 1 if turn > 0.0 else -1
            elif ahead > 0.0:
                turns = 0  # it runs on smoothly
            else:
                # straight back, so the sine says nothing: the tip of a slit has the inside ahead of it, a spike has not
                step = 1e-4 * min(own.length for own in self.edges)
                turns = -1 if self._tree.odd(edge.a[0] + step * ux, edge.a[1] + step * uy) else 1
            if turns == sense:
                found.append((edge.a, 0.0))
            if isinstance(edge, Arc) and edge.sweep * sense > 0.0:
                found.append((edge.at(0.5), edge.radius))
            before = edge
        return found

    def contains(self, p: Point) -> bool:
        """True when the point is inside or within `EPS` (mm) of the outline."""
        if not self.box.grown(EPS).overlaps(Box(p[0], p[1], p[0], p[1])):
            return False
        return self._tree.odd(*p) or self.nearest(p).distance <= EPS

    def depth(self, p: Point) -> Gap:
        """Distance (mm) of `p` to the outline, negative outside; `a` is `p`, `b` the outline's nearest point."""
        near = self.nearest(p)
        return near if self._tree.odd(*p) else Gap(-near.distance, near.a, near.b)

    def outward(self, p: Point) -> Point:
        """The unit vector that leads square out of the loop at the point of the outline nearest to `p` (mm)."""
        q = self.nearest(p).b
        # By all edges and not by the tree: a direction is asked for seldom, and at a vertex the first of two decides.
        edge = min(self.edges, key=lambda own: between(q, own.nearest(q)))
        ux, uy = edge.direction(min(max(edge.place(q), 0.0), 1.0))
        return (uy, -ux)  # to the right of the edge: the inside is on its left

    def nearest(self, p: Point) -> Gap:
        """Distance (mm) of `p` to the outline, never negative; `a` is `p`, `b` the outline's nearest point."""
        px, py = p
        best, qx, qy = self._tree.nearest(self._tree.root, px, py, math.inf, px, py)
        return Gap(best, p, (qx, qy))

    def nearest_to_edge(self, edge: Edge, best: Gap | None = None) -> Gap:
        """Distance (mm) of the outline to an edge: `a` on the outline, `b` on the edge; 0 where they cross.

        Given the `best` gap found so far, that one comes back when nothing is nearer.
        """
        return self._tree.gap(self._tree.root, edge, edge.box, best or Gap(math.inf, edge.a, edge.b))

    def crossings(self, edge: Edge) -> list[Point]:
        """The points (mm) where an edge meets the outline."""
        found: list[Point] = []
        self._tree.meet(self._tree.root, edge, edge.box.grown(EPS), found)
        return found

    def moved(self, pose: Pose) -> Loop:
        """The loop in the frame to which `pose` leads."""
        # A mirrored loop would run clockwise: its vertices are put in the opposite order, so that the inside stays
        # left.
        xx, xy, yx, yy = pose.matrix()
        spots = [(xx * x + xy * y + pose.x, yx * x + yy * y + pose.y, b) for x, y, b in self.vertices]
        return Loop(_turned_round(spots, 1.0) if pose.mirrored else tuple(spots))

    def grown(self, d: float) -> Loop:
        """The loop of all points within `d` mm, or with negative `d` of all at least `-d` mm inside; exact.

        Outside corners get arcs. A pocket that closes when growing is filled.

        Raises GeometryError when nothing is left, or when the loop falls apart (then see `grown_all`).
        """
        loops = self.grown_all(d)
        if len(loops) != 1:
            where = f"a shape {self.box.width:.6g} mm by {self.box.height:.6g} mm"
            what = "nothing is left" if not loops else f"it falls into {len(loops)} pieces"
            raise GeometryError(f"{where} taken in by {-d:.6g} mm: {what}", "take it in by less")
        return loops[0]

    def grown_all(self, d: float) -> tuple[Loop, ...]:
        """Every loop that growing by `d` mm leaves, largest first; none or several when shrinking. See `grown`."""
        if abs(d) <= EPS:
            return (self,)
        from platekit.geometry.offset import moved_edges

        if d > 0.0 and self.is_convex:
            # moved edges and corner arcs follow each other, and none is nearer to another edge: no pieces need be told
            # true from false, so edges as short as rounding do no harm
            return (Loop(tuple((*edge.a, edge.bulge) for edge in moved_edges(self, d))),)
        return _offset(self, d)

    def loop(self) -> Loop:
        """The loop itself."""
        return self

    def polygon(self, chord: float = CHORD_ERROR, outside: bool = True) -> Polygon:
        """A shapely polygon that holds the loop (`outside`) or lies within it, at most `chord` mm away."""
        from platekit.geometry.polygons import polygon_of

        return polygon_of(self.edges, chord, outside)

    @once
    def _tree(self) -> EdgeTree:
        return EdgeTree(self.edges, self.boxes)


@lru_cache(maxsize=512)  # what stands still is grown alike at each edit of something else
def _offset(loop: Loop, d: float) -> tuple[Loop, ...]:
    from platekit.geometry.offset import offset_chains

    loops = loops_of(offset_chains(loop, d))
    return tuple(loops[:1] if d > 0.0 else loops)


class EdgeTree:
    """The edges of a loop in boxes within boxes, halved until few are left: a question meets few of them; mm."""

    __slots__ = ("boxes", "edges", "flats", "root")

    def __init__(self, edges: Sequence[Edge], boxes: Sequence[Box]) -> None:
        self.edges, self.boxes = edges, boxes
        # each edge as plain numbers, for the inner loops: ends, centre, radius, sense (0 for a line)
        self.flats: list[_Flat] = [
            (*edge.a, *edge.b, 0.0, 0.0, 0.0, 0)
            if isinstance(edge, Line)
            else (*edge.a, *edge.b, *edge.center, edge.radius, 1 if edge.sweep > 0.0 else -1)
            for edge in edges
        ]
        self.root = self.branch(0, len(edges))

    def branch(self, low: int, high: int) -> _Node:
        """Neighbouring edges, from number to number, in one box (mm); they follow each other, so boxes are small."""
        box = box_round(self.boxes[low:high])
        if high - low <= LEAF:
            return (box, low, high, None)
        half = (low + high) // 2
        return (box, low, high, (self.branch(low, half), self.branch(half, high)))

    def nearest(
        self, node: _Node, px: float, py: float, best: float, qx: float, qy: float
    ) -> tuple[float, float, float]:
        """The nearest point below a node, if nearer than `best` (mm): the nearer box first, often the only one."""
        _, low, high, branches = node
        if branches is None:
            # The innermost loop of all: the same as `Line.nearest` and `Arc.nearest`, without their calls and tuples.
            for ax, ay, bx, by, cx, cy, r, sense in self.flats[low:high]:
                dx, dy = bx - ax, by - ay
                if sense:
                    # straight out or in to the circle, if that is on the arc's side of its chord; else to the nearer
                    # end
                    vx, vy = px - cx, py - cy
                    d = math.hypot(vx, vy)
                    if d > 0.0:
                        x, y = cx + vx * r / d, cy + vy * r / d
                        side = dx * (y - ay) - dy * (x - ax)
                        if side * sense <= 0.0:
                            away = abs(d - r)
                            if away < best:
                                best, qx, qy = away, x, y
                            continue
                    near_a = (px - ax) ** 2 + (py - ay) ** 2 <= (px - bx) ** 2 + (py - by) ** 2
                    x, y = (ax, ay) if near_a else (bx, by)
                else:
                    t = ((px - ax) * dx + (py - ay) * dy) / (dx * dx + dy * dy)
                    if t <= 0.0:
                        x, y = ax, ay
                    elif t >= 1.0:
                        x, y = bx, by
                    else:
                        x, y = ax + t * dx, ay + t * dy
                away = math.hypot(px - x, py - y)
                if away < best:
                    best, qx, qy = away, x, y
            return best, qx, qy
        # The nearer box first: what it gives spares the other one in most cases.
        left, right = branches
        dl, dr = _reach(left[0], px, py), _reach(right[0], px, py)
        if dr < dl:
            left, right, dl, dr = right, left, dr, dl
        if dl < best:
            best, qx, qy = self.nearest(left, px, py, best, qx, qy)
        if dr < best:
            best, qx, qy = self.nearest(right, px, py, best, qx, qy)
        return best, qx, qy

    def gap(self, node: _Node, edge: Edge, box: Box, best: Gap) -> Gap:
        """The smallest distance (mm) of an edge in its box to those below a node, unless `best` is smaller."""
        _, low, high, branches = node
        if branches is None:
            # Boxes first, edges only where their boxes come near enough: a box costs a tenth of an edge.
            boxes, edges, least = self.boxes, self.edges, best.distance
            for k in range(low, high):
                if boxes[k].gap(box) < least:
                    gap = edge_gap(edges[k], edge)
                    if gap.distance < least:
                        best, least = gap, gap.distance
            return best
        for branch in sorted(branches, key=lambda b: b[0].gap(box)):
            if branch[0].gap(box) < best.distance:
                best = self.gap(branch, edge, box, best)
        return best

    def meet(self, node: _Node, edge: Edge, box: Box, found: list[Point]) -> None:
        """Adds the points (mm) where an edge in its box meets those below a node."""
        bounds, low, high, branches = node
        if not bounds.overlaps(box):
            return
        if branches is None:
            for k in range(low, high):
                if self.boxes[k].overlaps(box):
                    found.extend(edge_intersections(self.edges[k], edge))
            return
        self.meet(branches[0], edge, box, found)
        self.meet(branches[1], edge, box, found)

    def odd(self, px: float, py: float, node: _Node | None = None) -> bool:
        """Even-odd test at a point (mm): whether a ray to the right crosses what is below a node oddly often.

        Jordan's curve theorem; for points on the outline either answer may come.
        """
        box, low, high, branches = node or self.root
        if py > box.y1 or py < box.y0 or px > box.x1:
            return False  # the ray passes above, below or behind all of them
        if px < box.x0:
            # all of them lie ahead: the run of edges is crossed oddly if its two ends are on different sides of the ray
            return (self.flats[low][1] > py) != (self.flats[high - 1][3] > py)
        if branches is None:
            # Parity of the chords to the right of the point, and of the circle segments round it.
            # Both ask on which side of the chord the point lies, and use the one answer, so rounding cannot make them
            # disagree. Ties go as if the point stood a hair higher, then a hair to the right (simulation of
            # simplicity, as Edelsbrunner and Mücke call it): so a ray through a vertex counts it once.
            odd = False
            for ax, ay, bx, by, cx, cy, r, sense in self.flats[low:high]:
                straddles = (ay > py) != (by > py)
                in_circle = sense != 0 and (px - cx) * (px - cx) + (py - cy) * (py - cy) < r * r
                if not (straddles or in_circle):
                    continue
                dx, dy = bx - ax, by - ay
                side = dx * (py - ay) - dy * (px - ax)
                left = side > 0.0 or (side == 0.0 and (dx > 0.0 or (dx == 0.0 and dy < 0.0)))
                if straddles and left == (by > ay):
                    odd = not odd
                if in_circle and left == (sense < 0):
                    odd = not odd
            return odd
        return self.odd(px, py, branches[0]) != self.odd(px, py, branches[1])


def _reach(box: Box, px: float, py: float) -> float:
    dx = box[0] - px if px < box[0] else (px - box[2] if px > box[2] else 0.0)
    dy = box[1] - py if py < box[1] else (py - box[3] if py > box[3] else 0.0)
    return math.hypot(dx, dy)


def loop_of(vertices: Iterable[Vertex]) -> Loop:
    """The loop through `(x, y, bulge)` vertices (mm), made to run counter-clockwise, edges of length zero dropped.

    Raises GeometryError when a number is not finite, the outline has no area or crosses itself, or an arc is flatter
    than `FLATTEST` (mm).

    >>> loop_of([(0, 0, 0), (0, 2, 0), (2, 2, 0), (2, 0, 0)]).area
    4.0
    """
    given = tuple(vertices)
    return _uncrossed(given) if len(given) <= SHORT else _uncrossed.__wrapped__(given)


SHORT = 64
"""Most corners of loops that are remembered (ours: long ones are drawn once, and take much room)."""


@lru_cache(maxsize=4096)  # what stands still is drawn alike at each edit of something else, and keeps what it was asked
def _uncrossed(vertices: tuple[Vertex, ...]) -> Loop:
    loop = clean_loop(vertices)
    reject_crossing(loop)
    return loop


def clean_loop(vertices: Iterable[Vertex]) -> Loop:
    """As `loop_of` (mm, the same errors), for outlines known not to cross themselves."""
    given = [(float(x), float(y), float(b)) for x, y, b in vertices]
    _reject_infinite(given)
    # an edge of no length has no direction: its start is dropped, and with it a bulge that bends nothing
    after = given[1:] + given[:1]
    kept = [v for v, w in zip(given, after, strict=True) if math.hypot(w[0] - v[0], w[1] - v[1]) > EPS]
    loop = Loop(tuple(kept))
    for edge in () if loop.is_straight else loop.edges:
        if isinstance(edge, Arc) and edge.radius > FLATTEST:
            raise GeometryError(
                f"the edge at {edge.a[0]:.6g}, {edge.a[1]:.6g} is an arc of more than 1 km radius", "make it straight"
            )
    area = 0.0
    if len(kept) > 1:
        area = _polygon_area(kept) if loop.is_straight else loop.area
    if abs(area) > EPS:
        return loop if area > 0.0 else Loop(_turned_round(kept, -1.0))
    if len(kept) > 3:
        # No area, and more than a triangle: the halves of a bow-tie cancel, which is a crossing and said as one.
        # Corners all on one line, how far from it told by the farthest, cross as well, but that would help nobody.
        x0, y0, _ = kept[0]
        far = max(kept, key=lambda corner: math.hypot(corner[0] - x0, corner[1] - y0))
        dx, dy = far[0] - x0, far[1] - y0
        reach = math.hypot(dx, dy)
        straight = all(bulge == 0.0 for _, _, bulge in kept)
        if not (straight and all(abs(dx * (y - y0) - dy * (x - x0)) <= EPS * reach for x, y, _ in kept)):
            reject_crossing(loop)
    raise GeometryError("an outline needs an area; its corners lie on one line or it has fewer than three")


def _polygon_area(vertices: Sequence[Vertex]) -> float:
    """Area inside straight sides, counted from the first corner, mm2; negative where they run clockwise."""
    x0, y0, _ = vertices[0]
    twice, ux, uy = 0.0, 0.0, 0.0
    for x, y, _ in vertices:
        vx, vy = x - x0, y - y0
        twice += ux * vy - uy * vx
        ux, uy = vx, vy
    return 0.5 * twice


def _reject_infinite(points: Iterable[Sequence[float]]) -> None:
    if not all(math.isfinite(value) for point in points for value in point):
        raise GeometryError("an outline needs finite numbers for every corner")


def _turned_round(vertices: Sequence[Vertex], sense: float) -> tuple[Vertex, ...]:
    """The vertices in the opposite order, each bulge moved to where its edge now starts, times `sense`."""
    xy = [(x, y) for x, y, _ in vertices]
    bulges = [sense * b for _, _, b in vertices]
    n = len(xy)
    return tuple((*xy[i], bulges[(i - 1) % n]) for i in range(n - 1, -1, -1))


def reject_crossing(loop: Loop) -> None:
    """Raise GeometryError when two edges of a loop (mm) meet anywhere but at a shared vertex."""
    if _is_plain(loop.vertices):
        return
    edges = loop.edges
    n = len(edges)
    for i, j in Index(loop.boxes).pairs_within(EPS):
        # neighbours meet at their vertex; of a loop of two edges both vertices are shared
        shared = [edges[j].a] if j == i + 1 else []
        if i == 0 and j == n - 1:
            shared.append(edges[0].a)
        # a crossing near a shared vertex is that vertex: where edges part at a sharp angle it is found a way along
        for p in edge_intersections(edges[i], edges[j]):
            if all(between(p, q) > JOINED for q in shared):
                raise GeometryError(
                    f"the outline crosses or touches itself near {p[0]:.6g}, {p[1]:.6g}", "put its corners in order"
                )


def _is_plain(vertices: Sequence[Vertex]) -> bool:
    """Whether this is a triangle or four straight sides that turn left at each corner by more than rounding.

    Each corner then lies off the line of each side that does not end in it, so that no two sides can meet: most loops
    are rectangles, which need not be asked side by side.
    """
    if len(vertices) > 4 or any(bulge for _, _, bulge in vertices):
        return False
    (px, py, _), (qx, qy, _) = vertices[-2], vertices[-1]
    ux, uy = qx - px, qy - py
    for x, y, _ in vertices:
        vx, vy = x - qx, y - qy
        if ux * vy - uy * vx <= JOINED * max(math.hypot(ux, uy), math.hypot(vx, vy)):
            return False
        qx, qy, ux, uy = x, y, vx, vy
    return True


def rectangle(width: float, height: float, corner: float = 0.0, center: Point = (0.0, 0.0), turn: float = 0.0) -> Loop:
    """A rectangle (mm) about `center`, corners rounded with radius `corner`, turned counter-clockwise by `turn` rad.

    Raises GeometryError for sides not above zero, or a corner radius above half the shorter side.

    >>> round(rectangle(10, 10, corner=5).perimeter / math.pi, 9)
    10.0
    """
    if not (width > 0.0 and height > 0.0):
        raise GeometryError(f"a rectangle needs sides above zero; found {width:.6g} by {height:.6g}")
    w, h = 0.5 * width, 0.5 * height
    (cx, cy) = center
    corners = [(cx - w, cy - h), (cx + w, cy - h), (cx + w, cy + h), (cx - w, cy + h)]
    return polygon_loop([turned(p, center, turn) if turn else p for p in corners], corner)


def polygon_loop(points: Sequence[Point], corner: float | Sequence[float] = 0.0) -> Loop:
    """The polygon through `points`, each corner rounded with an exact arc.

    `corner` is one radius for all, or one for each point, mm. Raises GeometryError naming the corner whose
    radius does not fit, or when the outline has no area or crosses itself.

    >>> round(polygon_loop([(0, 0), (10, 0), (0, 10)], corner=1).area, 6)
    47.313166
    """
    if corner == 0.0 and len(points) > 3:  # sharp all round, as most are: nothing has to be rounded or named
        return loop_of((x, y, 0.0) for x, y in points)
    # One radius stands for all, so that the usual case needs no list.
    radii = [corner] * len(points) if isinstance(corner, (int, float)) else [float(r) for r in corner]
    if len(radii) != len(points):
        raise GeometryError(f"found {len(radii)} corner radii for {len(points)} corners", "give one for each")
    _reject_infinite(points)
    named = [(p, r, number) for number, (p, r) in enumerate(zip(points, radii, strict=True), start=1)]
    kept = [item for item, after in zip(named, named[1:] + named[:1], strict=True) if between(item[0], after[0]) > EPS]
    if len(kept) < 3:
        raise GeometryError(f"a polygon needs at least three corners; found {len(kept)}")
    # checked as a sharp polygon first, so that an error speaks of the corners given; it may come back turned round
    sharp = loop_of((x, y, 0.0) for (x, y), _, _ in kept)
    if (sharp.vertices[0][:2]) != kept[0][0]:
        kept = kept[::-1]
    if all(r == 0.0 for _, r, _ in kept):
        return sharp
    corners, rounds, numbers = [p for p, _, _ in kept], [r for _, r, _ in kept], [n for _, _, n in kept]
    sides = [(q[0] - p[0], q[1] - p[1]) for p, q in zip(corners, corners[1:] + corners[:1], strict=True)]
    turns = [turn_between(sides[i - 1], side) for i, side in enumerate(sides)]
    # an arc that touches both sides of a corner takes r tan(turn / 2) off each, and its bulge is tan(turn / 4)
    cuts = [r * math.tan(0.5 * abs(turn)) for r, turn in zip(rounds, turns, strict=True)]
    # The roundings at both ends of a side must not overlap. The radius said to fit is what both can have where both
    # want the same, else what the other one leaves.
    for i in range(len(corners)):
        j = (i + 1) % len(corners)
        side = between(corners[i], corners[j])
        if rounds[i] < 0.0 or not math.isfinite(rounds[i]):
            raise GeometryError(
                f"corner {numbers[i]}: a radius of {rounds[i]:.6g} mm is not possible",
                "give 0 or more",
            )
        if cuts[i] + cuts[j] <= side + EPS:
            continue
        worst, other = (i, j) if cuts[i] >= cuts[j] else (j, i)
        alike = abs(rounds[i] - rounds[j]) <= EPS
        share = cuts[worst] / (cuts[worst] + cuts[other]) if alike else 1.0 - min(cuts[other] / side, 1.0)
        fits = rounds[worst] * side * share / cuts[worst]
        x, y = corners[worst]
        raise GeometryError(
            f"corner {numbers[worst]} at {x:.6g}, {y:.6g}: a radius of {rounds[worst]:.6g} mm does not fit",
            f"at most {math.floor(fits * 1e3) / 1e3:.6g} mm does",
        )
    vertices: list[Vertex] = []
    for i, p in enumerate(corners):
        if cuts[i] <= ROUNDED:
            vertices.append((*p, 0.0))
            continue
        before, after = corners[i - 1], corners[(i + 1) % len(corners)]
        vertices.append((*towards(p, before, cuts[i]), math.tan(0.25 * turns[i])))
        vertices.append((*towards(p, after, cuts[i]), 0.0))
    return loop_of(vertices)


def arc_vertices(center: Point, radius: float, start: float, sweep: float) -> list[Vertex]:
    """The vertices of an arc (mm; `start` and `sweep` in radians), its last point left out.

    An arc of more than half a turn comes in two pieces.

    A bulge above 1 is avoided: some readers of drawings take it badly, and it loses digits near a full turn.
    """
    pieces = 2 if abs(sweep) > math.pi * (1.0 + EPS) else 1
    step = sweep / pieces
    bulge = math.tan(0.25 * step)
    return [(*polar(center, radius, start + k * step), bulge) for k in range(pieces)]


def edges_loop(edges: Iterable[Edge]) -> Loop:
    """The loop of edges (mm) that follow each other; GeometryError as of `clean_loop`."""
    vertices: list[Vertex] = []
    for edge in edges:
        if isinstance(edge, Arc) and abs(edge.sweep) > math.pi * (1.0 + EPS):
            # An arc of more than half a turn is cut in two: its bulge would run away as a full turn is neared.
            half = edge.part(0.0, 0.5, edge.a, edge.at(0.5))
            vertices += [(*half.a, half.bulge), (*half.b, half.bulge)]
        else:
            vertices.append((*edge.a, edge.bulge))
    return clean_loop(vertices)


def loops_of(chains: Iterable[Iterable[Edge]]) -> list[Loop]:
    """The loops of closed chains of edges (mm), largest first; areas that rounding alone parts keep the order given."""
    return sorted(map(edges_loop, chains), key=lambda loop: -round(loop.area, 6))

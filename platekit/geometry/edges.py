"""The two kinds of edge, a straight line and an arc of a circle: where they meet, how near they come.

An edge runs from `a` to `b`. The *sweep* of an arc is the angle it turns through, positive counter-clockwise.
The *bulge* of an edge is tan(sweep / 4), 0 for a line, as the light polyline of DXF has it. A *place* on an
edge is a number from 0 at `a` to 1 at `b`.

An arc keeps centre, radius, angles *and* its end points: from any three the rest could be worked out, but then the ends
of neighbours would differ by rounding, and outlines are chained by their ends.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from msgspec import Struct

from platekit.geometry.point import EPS, TAU, Box, Gap, Point, between, polar
from platekit.geometry.pose import Pose

PARALLEL = 1e-12
"""Sine of the angle below which two lines count as parallel: their crossing would be lost in rounding. Common
practice."""

SHARP = 1e-6
"""Sine of the smallest turn at a vertex that counts as a corner: a smooth joint is off by rounding only; where a line
was cut off at an arc that it touches, by the root of rounding. Common practice."""


class Line(Struct, frozen=True):
    """The straight edge from `a` to `b`."""

    a: Point
    b: Point

    @property
    def bulge(self) -> float:
        """0: a line does not bulge."""
        return 0.0

    @property
    def length(self) -> float:
        """Length, mm."""
        return between(self.a, self.b)

    @property
    def box(self) -> Box:
        """The smallest box round the edge, mm."""
        (ax, ay), (bx, by) = self.a, self.b
        return Box(min(ax, bx), min(ay, by), max(ax, bx), max(ay, by))

    def at(self, place: float) -> Point:
        """The point (mm) at a place from 0 to 1."""
        (ax, ay), (bx, by) = self.a, self.b
        return (ax + (bx - ax) * place, ay + (by - ay) * place)

    def direction(self, place: float) -> Point:
        """The unit vector along which the edge runs; the same at every place."""
        length = self.length
        return ((self.b[0] - self.a[0]) / length, (self.b[1] - self.a[1]) / length)

    def place(self, p: Point) -> float:
        """The place (0 at `a`, 1 at `b`, any number beyond) nearest to `p` (mm) on the line drawn on without end."""
        dx, dy = self.b[0] - self.a[0], self.b[1] - self.a[1]
        return ((p[0] - self.a[0]) * dx + (p[1] - self.a[1]) * dy) / (dx * dx + dy * dy)

    def nearest(self, p: Point) -> Point:
        """The point of the edge nearest to `p`, mm; an edge of no length is its start."""
        (ax, ay), (bx, by) = self.a, self.b
        dx, dy = bx - ax, by - ay
        square = dx * dx + dy * dy
        if square == 0.0:
            return self.a
        t = ((p[0] - ax) * dx + (p[1] - ay) * dy) / square
        if t <= 0.0:
            return self.a
        if t >= 1.0:
            return self.b
        return (ax + t * dx, ay + t * dy)

    def part(self, start: float, end: float, a: Point, b: Point) -> Line:
        """The piece from place `start` to `end`, whose end points are known to be `a` and `b`."""
        return Line(a, b)

    def reversed(self) -> Line:
        """The same edge run the other way."""
        return Line(self.b, self.a)

    def moved(self, pose: Pose) -> Line:
        """The edge in the frame to which `pose` leads."""
        return Line(pose.point(self.a), pose.point(self.b))

    def shifted(self, d: float) -> Line | None:
        """The edge `d` mm to its right."""
        ux, uy = self.direction(0.0)
        return Line((self.a[0] + d * uy, self.a[1] - d * ux), (self.b[0] + d * uy, self.b[1] - d * ux))


class Arc(Struct, frozen=True):
    """The arc about `center` from `a`, at angle `start`, through `sweep` radians to `b`."""

    center: Point
    radius: float
    start: float
    sweep: float
    a: Point
    b: Point

    @property
    def bulge(self) -> float:
        """tan(sweep / 4): positive when the arc runs counter-clockwise."""
        return math.tan(0.25 * self.sweep)

    @property
    def length(self) -> float:
        """Length along the arc, mm."""
        return self.radius * abs(self.sweep)

    @property
    def box(self) -> Box:
        """The smallest box round the edge, mm: round its ends and what it passes of the circle's four extremes."""
        (cx, cy), r = self.center, self.radius
        xs, ys = [self.a[0], self.b[0]], [self.a[1], self.b[1]]
        for x, y in ((cx + r, cy), (cx - r, cy)):
            if self.faces((x, y)):
                xs.append(x)
        for x, y in ((cx, cy + r), (cx, cy - r)):
            if self.faces((x, y)):
                ys.append(y)
        return Box(min(xs), min(ys), max(xs), max(ys))

    def faces(self, p: Point) -> bool:
        """True when `p`, a point of the full circle, is on the arc.

        A point of the circle is on the arc when it lies on the arc's side of the chord: one product, where comparing
        angles would take an arc tangent and a look at where the angles wrap round.
        """
        (ax, ay), (bx, by) = self.a, self.b
        side = (bx - ax) * (p[1] - ay) - (by - ay) * (p[0] - ax)
        return side <= 0.0 if self.sweep > 0.0 else side >= 0.0

    def holds(self, p: Point) -> bool:
        """True when `p`, a point of the full circle, is on the arc or within `EPS` of an end."""
        return self.faces(p) or between(p, self.a) <= EPS or between(p, self.b) <= EPS

    def at(self, place: float) -> Point:
        """The point (mm) at a place from 0 to 1."""
        return polar(self.center, self.radius, self.start + place * self.sweep)

    def direction(self, place: float) -> Point:
        """The unit vector along which the edge runs at a place from 0 to 1."""
        angle = self.start + place * self.sweep
        sense = math.copysign(1.0, self.sweep)
        return (-sense * math.sin(angle), sense * math.cos(angle))

    def place(self, p: Point) -> float:
        """The place nearest to `p` (mm): 0 to 1 on the arc, below 0 when `p` is off it and nearer to its start."""
        # the angle run from the start, the way the arc goes; what lies beyond the end is shared out half and half, the
        # half nearer to the start counting backwards from it
        sense = math.copysign(1.0, self.sweep)
        angle = math.atan2(p[1] - self.center[1], p[0] - self.center[0])
        run = (sense * (angle - self.start)) % TAU
        span = abs(self.sweep)
        beyond = TAU - span
        if run > span + 0.5 * beyond:
            run -= TAU
        return run / span

    def nearest(self, p: Point) -> Point:
        """The point of the edge nearest to `p`, mm; the start when `p` is the centre, from which all are as far."""
        (cx, cy), r = self.center, self.radius
        vx, vy = p[0] - cx, p[1] - cy
        d = math.hypot(vx, vy)
        if d == 0.0:
            return self.a
        q = (cx + vx * r / d, cy + vy * r / d)
        if self.faces(q):
            return q
        (ax, ay), (bx, by) = self.a, self.b
        da, db = (p[0] - ax) ** 2 + (p[1] - ay) ** 2, (p[0] - bx) ** 2 + (p[1] - by) ** 2
        return self.a if da <= db else self.b

    def part(self, start: float, end: float, a: Point, b: Point) -> Arc:
        """The piece from place `start` to `end`, whose end points are known to be `a` and `b`."""
        return Arc(self.center, self.radius, self.start + start * self.sweep, (end - start) * self.sweep, a, b)

    def reversed(self) -> Arc:
        """The same edge run the other way."""
        return Arc(self.center, self.radius, self.start + self.sweep, -self.sweep, self.b, self.a)

    def moved(self, pose: Pose) -> Arc:
        """The edge in the frame to which `pose` leads; a mirrored arc turns the other way."""
        sweep = -self.sweep if pose.mirrored else self.sweep
        return Arc(
            pose.point(self.center),
            self.radius,
            pose.angle(self.start),
            sweep,
            pose.point(self.a),
            pose.point(self.b),
        )

    def shifted(self, d: float) -> Arc | None:
        """The arc `d` mm to its right, about the same centre; None when its radius would vanish."""
        # To the right is out for an arc that turns left, and in for one that turns right.
        radius = self.radius + (d if self.sweep > 0.0 else -d)
        return arc(self.center, radius, self.start, self.sweep) if radius > EPS else None


Edge = Line | Arc


def arc(center: Point, radius: float, start: float, sweep: float) -> Arc:
    """The arc with its end points worked out; `sweep` in radians, at most a full turn either way.

    >>> arc((0, 0), 2, 0, math.pi).length == 2 * math.pi
    True
    """
    return Arc(center, radius, start, sweep, polar(center, radius, start), polar(center, radius, start + sweep))


def edge_of(a: Point, b: Point, bulge: float) -> Edge:
    """The edge from `a` to `b` (mm) with a bulge; a line when it rises less than `EPS` (mm) above its chord.

    With t = tan(sweep / 4) and the chord c: rise over the chord c t / 2, radius c (1 + t2) / (4 t), and the centre lies
    c (1 - t2) / (4 t) to the left of the chord's middle, as follows from the tangents of half and double angles.
    """
    chord = between(a, b)
    if 0.5 * abs(bulge) * chord <= EPS:
        return Line(a, b)
    # the centre lies on the left of a counter-clockwise arc; beyond half a turn `rise` changes sign and so does the
    # side
    radius = chord * (1.0 + bulge * bulge) / (4.0 * abs(bulge))
    rise = (1.0 - bulge * bulge) / (4.0 * bulge)
    center = (0.5 * (a[0] + b[0]) - rise * (b[1] - a[1]), 0.5 * (a[1] + b[1]) + rise * (b[0] - a[0]))
    start = math.atan2(a[1] - center[1], a[0] - center[0])
    return Arc(center, radius, start, 4.0 * math.atan(bulge), a, b)


def edge_intersections(e1: Edge, e2: Edge) -> list[Point]:
    """The points (mm) that two edges share, at most two; touching counts, also at ends, within `EPS`.

    Edges that run along each other share a whole piece: then the ends of that piece come back.

    >>> edge_intersections(Line((0, 0), (4, 0)), Line((1, -1), (1, 1)))
    [(1.0, 0.0)]
    """
    if isinstance(e1, Line) and isinstance(e2, Line):
        (ax, ay), (cx, cy) = e1.a, e2.a
        rx, ry = e1.b[0] - ax, e1.b[1] - ay
        sx, sy = e2.b[0] - cx, e2.b[1] - cy
        r, s = math.hypot(rx, ry), math.hypot(sx, sy)
        # a + t r = c + u s, crossed with s and with r; the determinant is r s times the sine of the angle between them
        det = rx * sy - ry * sx
        if abs(det) <= PARALLEL * r * s:
            return _shared_ends(e1, e2)
        t = ((cx - ax) * sy - (cy - ay) * sx) / det
        u = ((cx - ax) * ry - (cy - ay) * rx) / det
        # places times lengths: how far past an end, in mm, whatever the edge's length
        if -EPS <= t * r <= r + EPS and -EPS <= u * s <= s + EPS:
            return [(ax + t * rx, ay + t * ry)]
        return []
    if isinstance(e1, Line):
        assert isinstance(e2, Arc)
        return _line_arc(e1, e2)
    return _line_arc(e2, e1) if isinstance(e2, Line) else _arc_arc(e1, e2)


def on_edge(edge: Edge, p: Point) -> bool:
    """True when `p` is within `EPS` (mm) of the edge."""
    return between(p, edge.nearest(p)) <= EPS


def _shared_ends(e1: Edge, e2: Edge) -> list[Point]:
    # Edges that run along each other share a stretch, which begins and ends at ends of theirs.
    shared = [p for p in (e1.a, e1.b) if on_edge(e2, p)]
    for p in (e2.a, e2.b):
        if on_edge(e1, p) and all(between(p, q) > EPS for q in shared):
            shared.append(p)
    return shared


def _line_arc(line: Line, edge: Arc) -> list[Point]:
    (ax, ay), (cx, cy), r = line.a, edge.center, edge.radius
    ux, uy = line.direction(0.0)
    along = (cx - ax) * ux + (cy - ay) * uy
    off = (cx - ax) * uy - (cy - ay) * ux
    if abs(off) > r + EPS:
        return []
    # Within `EPS` of touching there is one point, not two: the root of a rounding error would set two of them apart by
    # far more than `EPS`, as half = sqrt(2 r EPS).
    half = math.sqrt(max(r * r - off * off, 0.0)) if abs(off) < r - EPS else 0.0
    places = (along - half, along + half) if half > 0.0 else (along,)
    length = line.length
    points = [(ax + s * ux, ay + s * uy) for s in places if -EPS <= s <= length + EPS]
    return [p for p in points if edge.holds(p)]


def _arc_arc(e1: Arc, e2: Arc) -> list[Point]:
    (x1, y1), (x2, y2), r1, r2 = e1.center, e2.center, e1.radius, e2.radius
    dx, dy = x2 - x1, y2 - y1
    d = math.hypot(dx, dy)
    if d <= EPS:  # one circle, or two that share their middle and never meet
        return _shared_ends(e1, e2) if abs(r1 - r2) <= EPS else []
    if d > r1 + r2 + EPS or d < abs(r1 - r2) - EPS:
        return []
    ux, uy = dx / d, dy / d
    # both points lie on the radical line, square to the line of centres, `along` from the first centre; the product
    # (r1 - r2)(r1 + r2) in place of the difference of squares keeps the digits of nearly equal radii
    if d >= r1 + r2 - EPS or d <= abs(r1 - r2) + EPS:  # touching from outside or inside: one point, as for a line
        along = r1 if d >= r1 + r2 - EPS or r1 >= r2 else -r1
        half = 0.0
    else:
        along = 0.5 * (d + (r1 - r2) * (r1 + r2) / d)
        half = math.sqrt(max(r1 * r1 - along * along, 0.0))
    sides = (-half, half) if half > 0.0 else (0.0,)
    points = [(x1 + along * ux - h * uy, y1 + along * uy + h * ux) for h in sides]
    return [p for p in points if e1.holds(p) and e2.holds(p)]


def edge_gap(e1: Edge, e2: Edge) -> Gap:
    """The smallest distance of two edges, mm, and its two points; 0 where they meet. Closed form.

    Two that do not meet are nearest at an end of one of them, or where the way between them is square to both: that is
    on the line through an arc's centre.

    >>> edge_gap(Line((0, 0), (4, 0)), Line((2, 3), (2, 9)))
    Gap(distance=3.0, a=(2.0, 0.0), b=(2, 3))
    """
    if isinstance(e1, Line) and isinstance(e2, Line):
        # Two lines are nearest at an end of one of them, unless they cross.
        # Written out, without `Gap`s in between: outlines of straight edges ask this more often than anything else.
        (ax, ay), (bx, by), (cx, cy), (dx, dy) = e1.a, e1.b, e2.a, e2.b
        rx, ry, sx, sy = bx - ax, by - ay, dx - cx, dy - cy
        det = rx * sy - ry * sx
        if det != 0.0:
            t = ((cx - ax) * sy - (cy - ay) * sx) / det
            if 0.0 <= t <= 1.0 and 0.0 <= ((cx - ax) * ry - (cy - ay) * rx) / det <= 1.0:
                p = (ax + t * rx, ay + t * ry)
                return Gap(0.0, p, p)
        p, q, r, s = e2.nearest(e1.a), e2.nearest(e1.b), e1.nearest(e2.a), e1.nearest(e2.b)
        d = math.hypot(p[0] - ax, p[1] - ay)
        gap = (d, e1.a, p)
        d = math.hypot(q[0] - bx, q[1] - by)
        if d < gap[0]:
            gap = (d, e1.b, q)
        d = math.hypot(r[0] - cx, r[1] - cy)
        if d < gap[0]:
            gap = (d, r, e2.a)
        d = math.hypot(s[0] - dx, s[1] - dy)
        if d < gap[0]:
            gap = (d, s, e2.b)
        return Gap(*gap)
    met = edge_intersections(e1, e2)
    if met:
        return Gap(0.0, met[0], met[0])
    # Ends against edges both ways, then the line through an arc's centre: no other pair can be the nearest.
    best = _nearer(Gap(math.inf, e1.a, e2.a), [(p, e2.nearest(p)) for p in (e1.a, e1.b)])
    best = _nearer(best, [(e1.nearest(p), p) for p in (e2.a, e2.b)])
    if isinstance(e1, Arc):
        return _nearer(best, _across(e1, e2))
    assert isinstance(e2, Arc)
    return _nearer(best, [(a, b) for b, a in _across(e2, e1)])


def _nearer(best: Gap, pairs: list[tuple[Point, Point]]) -> Gap:
    for a, b in pairs:
        d = between(a, b)
        if d < best.distance:
            best = Gap(d, a, b)
    return best


def _across(e1: Arc, e2: Edge) -> list[tuple[Point, Point]]:
    """Pairs of points on the line through the arc's centre that meets the other edge square.

    Square to a line that is the foot of its centre, to an arc the line of centres, which meets each circle twice.
    """
    (cx, cy), r1 = e1.center, e1.radius
    if isinstance(e2, Line):
        square = e2.nearest(e1.center)
        others = [square]
        ux, uy = square[0] - cx, square[1] - cy
    else:
        ux, uy = e2.center[0] - cx, e2.center[1] - cy
    d = math.hypot(ux, uy)
    if d == 0.0:
        return []
    ux, uy = ux / d, uy / d
    if isinstance(e2, Arc):
        (ex, ey), r2 = e2.center, e2.radius
        others = [(ex + r2 * ux, ey + r2 * uy), (ex - r2 * ux, ey - r2 * uy)]
        others = [q for q in others if e2.faces(q)]
    own = [p for p in ((cx + r1 * ux, cy + r1 * uy), (cx - r1 * ux, cy - r1 * uy)) if e1.faces(p)]
    return [(p, q) for p in own for q in others]


def moments(edges: Iterable[Edge]) -> tuple[float, float, float]:
    """Area and first moments `(A, A x, A y)`, mm2 and mm3, of what closed edges enclose; negative when clockwise.

    Chord polygon by the shoelace formula, plus the circle segment of each arc: area r2/2 (s - sin s), its
    centroid 4 r sin3(s/2) / (3 (s - sin s)) from the centre along the middle of the arc (P, any handbook of
    plane figures). Times the area, the denominator of the centroid drops out: segments as thin as may be do no harm.
    """
    area, mx, my = [], [], []
    for edge in edges:
        (ax, ay), (bx, by) = edge.a, edge.b
        w = ax * by - bx * ay
        area.append(0.5 * w)
        mx.append(w * (ax + bx) / 6.0)
        my.append(w * (ay + by) / 6.0)
        if isinstance(edge, Arc):
            (cx, cy), s, r, q = edge.center, edge.sweep, edge.radius, edge.sweep * edge.sweep
            # s - sin s by its series where subtracting would lose digits: four terms are exact up to 0.1 rad
            series = s * q / 6.0 * (1.0 - q / 20.0 * (1.0 - q / 42.0 * (1.0 - q / 72.0)))
            segment = 0.5 * r * r * (s - math.sin(s) if abs(s) > 0.1 else series)
            lever = 2.0 / 3.0 * r**3 * math.sin(0.5 * abs(s)) ** 3 * math.copysign(1.0, s)
            middle = edge.start + 0.5 * s
            area.append(segment)
            mx.append(segment * cx + lever * math.cos(middle))
            my.append(segment * cy + lever * math.sin(middle))
    # exact sums: a hole as large as its outline leaves a small difference of large terms
    return math.fsum(area), math.fsum(mx), math.fsum(my)

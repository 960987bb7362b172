"""The guard over shafts that lie along the plate: from the belt's plane, in which it is drawn, to the plate frame."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import lru_cache

from msgspec.structs import replace

from platekit.geometry import (
    Arc,
    CurvedSlot,
    Disc,
    Line,
    Loop,
    Lying,
    Plane,
    Point,
    Shape,
    Solid,
    StandingPrism,
    Upright,
    clean_loop,
    difference,
    extent,
    hull,
    polygon_loop,
    sweep,
)
from platekit.laying.hinges import seen_along
from platekit.placed import SAME_LENGTH, Body, Foot, Wall

Interval = tuple[float, float]
DEEP = 1000.0
"""How far a guard that stands on the plate is drawn on below it before it is cut off there, mm (ours: so its two ends
are its longest straights and stay square to the plate)."""
HOLE_CHORD = 0.5
"""Farthest that a chord lies inside an opening of the back plate, mm (ours: a tenth of the room round a shaft)."""
BEND_CHORD = 0.05
"""Farthest that a piece of a curve of the band stands over its hollow side, mm (ours)."""


# ------------------------------------------------------------------------------------------- into the plane


def in_plane(plane: Plane, body: Body) -> tuple[Shape, Interval]:
    """All that a body covers over its travel: its shape in a belt's plane, and from where to where along the shafts.

    In mm. Exact for what turns about the shafts, for runs of the belt and for screws square to the plate; else a shape
    that holds it.
    """
    return _in_lying_plane(plane, body) if plane.lies else (body.swept, body.z)


@lru_cache(maxsize=512)  # each opening of a guard asks it of the same bodies
def _in_lying_plane(plane: Plane, body: Body) -> tuple[Shape, Interval]:
    shapes: list[Shape] = []
    spans: list[Interval] = []
    for solid in body.swept_solids:
        spans.append(extent(solid, plane.n[:2]))
        shapes.append(_seen_in(plane, solid))
    shape = shapes[0] if len(shapes) == 1 else hull(shapes)
    return shape, (min(low for low, _ in spans), max(high for _, high in spans))


@lru_cache(maxsize=1024)  # of each shaft's opening it is asked what passes there, and the guard's own rules ask again
def _seen_in(plane: Plane, solid: Solid) -> Shape:
    """What a solid covers, seen along the shafts (mm)."""
    if isinstance(solid, Lying) and _parallel(solid, plane):
        axis, _ = plane.flat((*solid.a, solid.height))
        return sweep(Disc(axis, solid.radius), plane.travel(solid.travel))
    if isinstance(solid, StandingPrism) and math.dist(solid.u, plane.u[:2]) <= SAME_LENGTH:
        return solid.shape
    if isinstance(solid, Upright) and solid.straight:
        (left, right), low, high = extent(solid, plane.u[:2]), solid.low, solid.high
        return polygon_loop([(left, low), (right, low), (right, high), (left, high)])
    if solid.convex:
        return polygon_loop(seen_along(solid, plane))
    left, right = extent(solid, plane.u[:2])
    return polygon_loop([(left, solid.low), (right, solid.low), (right, solid.high), (left, solid.high)])


def _parallel(solid: Lying, plane: Plane) -> bool:
    """Whether a cylinder's axis runs along the shafts."""
    (ax, ay), (bx, by) = solid.a, solid.b
    return abs((bx - ax) * plane.u[0] + (by - ay) * plane.u[1]) <= SAME_LENGTH


# ------------------------------------------------------------------------------------------- down to the plate


def down_to(shapes: Sequence[Shape], face: float, up: float) -> Loop:
    """The hull of shapes in the belt's plane (mm) and of all that is below them, far past the plate's `face`.

    `up` is 1 for a guard on the near side, -1 on the far one.
    """
    box = hull(shapes).box
    deep = face - up * DEEP
    low, high = min(face, deep), max(face, deep)
    below = polygon_loop([(box.x0, low), (box.x1, low), (box.x1, high), (box.x0, high)])
    found = hull([*shapes, below])
    assert isinstance(found, Loop)
    return found


def cut_off_at(loop: Loop, floor: float, up: float) -> Loop:
    """What of a loop in the belt's plane is above a height, as seen from the plate (mm)."""
    box = loop.box
    far = floor - up * (box.height + DEEP)
    low, high = min(far, floor), max(far, floor)
    x0, x1 = box.x0 - DEEP, box.x1 + DEEP
    return difference(loop, [polygon_loop([(x0, low), (x1, low), (x1, high), (x0, high)])])[0]


def floor_edge(outline: Loop, floor: float | None) -> Line | None:
    """The edge of an outline at which the guard is open towards the plate; None where it goes all round (mm)."""
    if floor is None:
        return None
    for edge in outline.edges:
        if isinstance(edge, Line) and max(abs(edge.a[1] - floor), abs(edge.b[1] - floor)) <= SAME_LENGTH:
            return edge
    return None


def feet_of(
    plane: Plane,
    outline: Loop,
    floor: float,
    along: tuple[float, float, float],
    sizes: tuple[float, float, float, float],
    count: int,
) -> list[Foot]:
    """The feet that find room: one at each end of the band where it is wide enough, the others along the back plate.

    `along` is where the back plate's and the cover's hollow faces are along the shafts and which way leads from one to
    the other (mm, mm, sign); `sizes` are a foot's width, its reach, what it needs beside it, and the least distance of
    two of them, mm.
    """
    back, front, outward = along
    width, reach, beside, least = sizes
    edge = floor_edge(outline, floor)
    assert edge is not None
    left, right = sorted((edge.a[0], edge.b[0]))

    def plan(across: float, out: float) -> Point:
        x, y, _ = plane.spot((across, 0.0), out)
        return (x, y)

    found: list[Foot] = []
    middle, half = (back + front) / 2, width / 2 + beside
    if abs(front - back) >= 2 * half:
        # The band runs counter-clockwise from where the floor's edge ends.
        ends: tuple[tuple[Wall, float], ...] = (("first end", edge.b[0]), ("last end", edge.a[0]))
        for wall, at in ends:
            off = reach if at == right else -reach
            found.append(Foot(plan(at + off, middle), plan(at, middle), wall, abs(middle - back)))
    more = count - len(found)
    room = right - left - 2 * half
    fits = 0 if room < 0 else min(more, 1 + math.floor(room / least))
    for k in range(fits):
        # each in the middle of its share, but none nearer to an end of the band than it may be
        at = left + (k + 0.5) * (right - left) / fits
        at = min(max(at, left + half), right - half) if fits > 1 else (left + right) / 2
        found.append(Foot(plan(at, back - outward * reach), plan(at, back), "back", at))
    return found


# ------------------------------------------------------------------------------------------- out of the plane


def stood_up(plane: Plane, body: Body, shapes: Sequence[Shape]) -> Body:
    """A body that consists of convex shapes in a belt's plane, over its own stretch along the shafts, as it stands.

    Plate frame, mm. Curves of the band are held by pieces, whose hollow side is taken as a chord.
    """
    return _stood_up(plane, body, tuple(shapes))


@lru_cache(maxsize=256)
def _stood_up(plane: Plane, body: Body, shapes: tuple[Shape, ...]) -> Body:
    pieces: list[Solid] = []
    for shape in shapes:
        if isinstance(shape, Disc):
            start, stop = (plane.spot(shape.center, end)[:2] for end in body.z)
            pieces.append(Lying(start, stop, shape.radius, shape.center[1]))
        elif isinstance(shape, CurvedSlot):
            pieces += [StandingPrism(piece, plane.u[:2], *body.z) for piece in bend_pieces(shape)]
        else:
            pieces.append(StandingPrism(shape.loop(), plane.u[:2], *body.z))
    outline = hull([one.silhouette for one in pieces])
    z = (min(one.low for one in pieces), max(one.high for one in pieces))
    return replace(body, shape=outline, swept=outline, z=z, pieces=tuple(pieces))


def bend_pieces(bend: CurvedSlot) -> Iterator[Loop]:
    """A curve of the band between its two ends, in pieces with true arcs outside and chords inside, mm."""
    inner, outer = bend.mid_radius - bend.radius, bend.mid_radius + bend.radius
    step = 2 * math.acos(inner / (inner + BEND_CHORD))
    parts = max(1, math.ceil(bend.sweep / min(step, math.pi / 2)))
    x, y = bend.center
    turn = bend.sweep / parts

    def at(radius: float, angle: float) -> Point:
        return (x + radius * math.cos(angle), y + radius * math.sin(angle))

    for k in range(parts):
        start, stop = bend.start + k * turn, bend.start + (k + 1) * turn
        bulge = math.tan(turn / 4)
        yield Loop(
            (
                (*at(inner, start), 0.0),
                (*at(outer, start), bulge),
                (*at(outer, stop), 0.0),
                (*at(inner, stop), 0.0),
            )
        )


def without(sheet: Loop, openings: Sequence[Shape]) -> list[Loop]:
    """A convex sheet (mm) without openings, in convex pieces that together hold all of its steel.

    An opening is taken as a polygon inside it. What lies outside of one of its sides, and inside of those before, is a
    piece: so these meet along the sides' lines and nothing is left out.
    """
    return list(_without(sheet, tuple(openings)))


@lru_cache(maxsize=32)
def _without(sheet: Loop, openings: tuple[Shape, ...]) -> tuple[Loop, ...]:
    pieces = [_corners(sheet, outside=True)]
    for opening in openings:
        ring = _corners(hull([opening]).loop(), outside=False)
        found: list[list[Point]] = []
        for piece in pieces:
            left = piece
            for a, b in zip(ring, [*ring[1:], ring[0]], strict=True):
                if math.dist(a, b) < SAME_LENGTH:
                    continue
                beyond = _clipped(left, b, a)
                if len(beyond) > 2 and abs(_area(beyond)) > SLIVER:
                    found.append(beyond)
                left = _clipped(left, a, b)
                if len(left) < 3:
                    break
        pieces = found
    # a cut convex polygon stays one, so that none is asked whether it crosses itself
    return tuple(clean_loop((x, y, 0.0) for x, y in piece) for piece in pieces)


SLIVER = 1e-6
"""A piece of less area is rounding, mm2 (ours)."""


def _corners(loop: Loop, outside: bool) -> list[Point]:
    """A convex polygon round a convex loop (its arcs by tangents), or within it (by chords), counter-clockwise, mm."""
    found: list[Point] = []
    for edge in loop.edges:
        if not isinstance(edge, Arc):
            found.append(edge.a)
            continue
        most = 2 * math.acos(edge.radius / (edge.radius + HOLE_CHORD))
        parts = max(1, math.ceil(abs(edge.sweep) / most))
        (x, y), turn = edge.center, edge.sweep / parts
        if not outside:
            found += [edge.at(k / parts) for k in range(parts)]
            continue
        found.append(edge.a)
        for k in range(parts):
            angle, far = edge.start + (k + 0.5) * turn, edge.radius / math.cos(turn / 2)
            found.append((x + far * math.cos(angle), y + far * math.sin(angle)))
    return found


def _clipped(corners: Sequence[Point], a: Point, b: Point) -> list[Point]:
    """What of a convex polygon lies to the left of the line from one point to another, mm."""
    found: list[Point] = []
    dx, dy = b[0] - a[0], b[1] - a[1]
    long = math.hypot(dx, dy)
    offs = [(dx * (y - a[1]) - dy * (x - a[0])) / long for x, y in corners]
    for k, (p, off) in enumerate(zip(corners, offs, strict=True)):
        q, after = corners[(k + 1) % len(corners)], offs[(k + 1) % len(corners)]
        if off >= 0.0:
            found.append(p)
        if (off > 0.0 > after) or (off < 0.0 < after):
            share = off / (off - after)
            found.append((p[0] + share * (q[0] - p[0]), p[1] + share * (q[1] - p[1])))
    return [p for k, p in enumerate(found) if math.dist(p, found[k - 1]) > SAME_LENGTH]


def _area(corners: Sequence[Point]) -> float:
    after = [*corners[1:], corners[0]]
    return 0.5 * math.fsum(p[0] * q[1] - q[0] * p[1] for p, q in zip(corners, after, strict=True))

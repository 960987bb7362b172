"""True arcs and lines in place of the many chords that a drawing has for them, within a stated distance.

Chords are taken together, as many as one arc or one line follows, and the joints between are made smooth where they
nearly are. Edges that are arcs already, and straight edges that stand alone, stay to the last digit.

Greedy: from where the last edge ended, the longest that still fits, found by doubling and halving (as if what does not
fit could not fit by going on, which is nearly so). Two questions are asked of each stretch, how closely and how loosely
it is followed: what was drawn as an arc is followed to the rounding of the drawing, what was drawn by hand or by spline
only within the tolerance.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Final

import numpy
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from platekit.geometry.edges import SHARP, edge_of
from platekit.geometry.loop import FLATTEST, Vertex
from platekit.geometry.point import Point, between, turn_between

LEAST_CHORDS: Final = 3
"""Chords that make an arc: two always lie on one circle (ours)."""
PLENTY: Final = 12
"""Chords that follow one arc so closely that it must have been drawn (ours)."""
NEAR_EXACT: Final = 2e-5
"""How closely, mm: the rounding of a drawing kept to five digits behind the point (ours)."""
MUCH_LONGER: Final = 1.5
"""What that arc may grow by when it need only be followed within the tolerance (ours)."""
SPARED: Final = 0.6
"""Share of the tolerance for following the chords; the rest is left for making the joints smooth (ours)."""
HALVINGS: Final = 4
"""How often a piece that cannot be made smooth is halved (ours): each time it has to bend an eighth as far."""
ALONE: Final = 3.0
"""A straight edge so many times as long as both its neighbours was drawn as a straight edge (ours)."""
SMOOTH: Final = 0.15
"""Largest turn between two fitted edges that was no corner, radians (ours): chords that follow an arc turn less."""

_Points = NDArray[numpy.float64]


class Fit(Struct, frozen=True):
    """What came of an outline: its vertices, how many chords were replaced, how far it lies from them, mm."""

    vertices: tuple[Vertex, ...]
    replaced: int
    away: float


class _FittedEdge(Struct):
    """Chords `first` to `last` as one edge, or as the two arcs that meet at `middle`."""

    first: int
    last: int
    bulge: float
    drawn: bool
    away: float = 0.0
    middle: Vertex | None = None

    @classmethod
    def longest(cls, points: _Points, first: int, end: int, tolerance: float) -> _FittedEdge:
        """The edge that follows the most chords from here within mm; what was drawn as one arc or line comes first."""

        def line(last: int, near: float) -> tuple[float, float] | None:
            """Bulge 0 and how far the chords lie off the line between their ends; None when too far or not onwards."""
            own, reach = _along(points[first : last + 1])
            if not reach > 0.0:
                return None
            away = float(numpy.abs(own[:, 1]).max())
            onwards = (numpy.diff(own[:, 0]) >= 0.0).all()
            return (0.0, away) if away <= near and onwards else None

        def arc(last: int, near: float) -> tuple[float, float] | None:
            return _as_arc(points[first : last + 1], near, tolerance)

        rough = tolerance * SPARED
        loose, loose_fit = _reach(arc, first, LEAST_CHORDS, end, rough)
        straight, line_fit = _reach(line, first, 2, end, NEAR_EXACT)
        round_, arc_fit = _reach(arc, first, LEAST_CHORDS, end, NEAR_EXACT)
        # a true arc is not much longer for being followed less closely
        true = round_ - first >= PLENTY and MUCH_LONGER * (round_ - first) >= loose - first
        if arc_fit is not None and true and round_ > straight:
            return cls(first, round_, arc_fit[0], False, arc_fit[1])
        if line_fit is not None and straight >= round_:
            return cls(first, straight, 0.0, False, line_fit[1])
        straight, line_fit = _reach(line, first, 2, end, rough)
        if loose_fit is not None and loose > straight:
            return cls(first, loose, loose_fit[0], False, loose_fit[1])
        if line_fit is not None:
            return cls(first, straight, 0.0, False, line_fit[1])
        return cls(first, first + 1, 0.0, True)

    def bend(self, points: _Points, begin: Point | None, finish: Point | None, tolerance: float) -> bool:
        """Give the piece these directions at its ends, if it stays within the tolerance (mm)."""
        own = points[self.first : self.last + 1]
        a, b = _point(own[0]), _point(own[-1])
        chord = (b[0] - a[0], b[1] - a[1])
        if begin is None or finish is None:
            # a corner at the other end: one arc, which the one direction decides
            half = turn_between(begin, chord) if begin is not None else turn_between(chord, finish or chord)
            arcs = [(a, b, math.tan(half / 2))]
        else:
            # The two arcs whose tangents are as long, d each, meet half-way between the tangents' ends a + d begin and
            # b - d finish, which lie 2 d apart: a quadratic for d, its root taken in the form that keeps its digits
            # where the two directions are nearly one.
            vx, vy = chord
            along = vx * (begin[0] + finish[0]) + vy * (begin[1] + finish[1])
            apart = 2.0 * max(1.0 - begin[0] * finish[0] - begin[1] * finish[1], 0.0)
            square = vx * vx + vy * vy
            below = along + math.sqrt(along * along + apart * square)
            if not below > 0.0:
                return False
            d = square / below
            middle = (a[0] + b[0] + d * (begin[0] - finish[0])) / 2, (a[1] + b[1] + d * (begin[1] - finish[1])) / 2
            first = turn_between(begin, (middle[0] - a[0], middle[1] - a[1]))
            second = turn_between((b[0] - middle[0], b[1] - middle[1]), finish)
            arcs = [(a, middle, math.tan(first / 2)), (middle, b, math.tan(second / 2))]
        away = _distance(own, arcs)
        if away > tolerance:
            return False
        self.bulge, self.away = arcs[0][2], away
        self.middle = (*arcs[1][0], arcs[1][2]) if len(arcs) > 1 else None
        return True


def fit_edges(vertices: Sequence[Vertex], tolerance: float) -> Fit:
    """A closed outline with its chords fitted by arcs and lines, nowhere more than `tolerance` mm off either way.

    >>> ring = [(5 * math.cos(k * math.pi / 90), 5 * math.sin(k * math.pi / 90), 0.0) for k in range(180)]
    >>> len(fit_edges(ring, 0.005).vertices)
    2
    """
    count = len(vertices)
    if count <= LEAST_CHORDS:
        return Fit(tuple(vertices), 0, 0.0)
    straight = all(bulge == 0.0 for _, _, bulge in vertices)
    whole = _whole_circle(vertices, tolerance) if straight and count >= PLENTY else None
    if whole is not None:
        return whole
    # cut open at the first arc, else at the longest edge: a joint there is a joint of the drawing, most likely
    around = [*vertices[1:], vertices[0]]
    reaches = [math.inf if v[2] else between(v[:2], w[:2]) for v, w in zip(vertices, around, strict=True)]
    start = reaches.index(max(reaches))
    turned = [*vertices[start:], *vertices[:start], vertices[start]]
    points = numpy.array([(x, y) for x, y, _ in turned])
    lengths = numpy.hypot(*numpy.diff(points, axis=0).T)
    beside = ALONE * numpy.maximum(numpy.roll(lengths, 1), numpy.roll(lengths, -1))
    stands = [bool(turned[k][2]) or bool(lengths[k] >= beside[k]) for k in range(count)]
    pieces: list[_FittedEdge] = []
    at = 0
    while at < count:
        if stands[at]:  # stays as it is
            pieces.append(_FittedEdge(at, at + 1, turned[at][2], True))
            at += 1
            continue
        end = next((k for k in range(at, count) if stands[k]), count)
        while at < end:
            pieces.append(_FittedEdge.longest(points, at, end, tolerance))
            at = pieces[-1].last
    replaced = sum(piece.last - piece.first for piece in pieces if not piece.drawn)
    if not replaced:
        return Fit(tuple(vertices), 0, 0.0)
    pieces = _smooth(pieces, points, tolerance)
    kept: list[Vertex] = []
    for piece in pieces:
        kept.append((*turned[piece.first][:2], piece.bulge))
        if piece.middle is not None:
            kept.append(piece.middle)
    return _on_grid(Fit(tuple(kept), replaced, max(piece.away for piece in pieces)))


def _on_grid(found: Fit) -> Fit:
    """The fit on a grid of 1e-9 mm, its bulges of 1e-12: solvers of other processors differ in the last bits only."""
    return replace(found, vertices=tuple((round(x, 9), round(y, 9), round(b, 12)) for x, y, b in found.vertices))


def _whole_circle(vertices: Sequence[Vertex], tolerance: float) -> Fit | None:
    """The circle on which all corners lie, by least squares (P: Kasa's fit), as two half turns."""
    points = numpy.array([(x, y) for x, y, _ in vertices])
    middle = points.mean(axis=0)
    own = points - middle
    size = float(numpy.abs(own).max())
    if not size > 0.0:
        return None
    # Scaled to one, so that squares of large coordinates do not eat the digits of the radius.
    own = own / size
    system = numpy.column_stack([own, numpy.ones(len(own))])
    (p, q, _), *_ = numpy.linalg.lstsq(system, (own**2).sum(axis=1), rcond=None)
    cx, cy = p / 2, q / 2
    radii = numpy.hypot(own[:, 0] - cx, own[:, 1] - cy) * size
    radius = float(radii.mean())
    angles = numpy.arctan2(own[:, 1] - cy, own[:, 0] - cx)
    # Once round in one direction, or it is no circle however well the corners lie on one.
    steps = numpy.remainder(numpy.diff(angles, append=angles[:1]) + math.pi, math.tau) - math.pi
    around = float(steps.sum())
    if abs(abs(around) - math.tau) > 1e-6 or not ((steps > 0).all() or (steps < 0).all()):
        return None
    out = float((radii - radius).max())
    bow = radius * (1.0 - numpy.cos(steps / 2)) - numpy.minimum(radii, numpy.roll(radii, -1)) + radius
    away = max(out, float(bow.max()))
    if away > tolerance:
        return None
    x, y = float(middle[0] + cx * size), float(middle[1] + cy * size)
    bulge = math.copysign(1.0, around)
    return _on_grid(Fit(((x - radius, y, bulge), (x + radius, y, bulge)), len(vertices), away))


def _reach(
    fits: Callable[[int, float], tuple[float, float] | None], first: int, least: int, end: int, near: float
) -> tuple[int, tuple[float, float] | None]:
    """The farthest end that still fits, found by doubling and halving, and its fit."""
    if first + least > end:
        return first, None
    good, best = first + least, fits(first + least, near)
    if best is None:
        return first, None
    # Doubling finds the order of magnitude in a few fits, halving the exact end.
    step, bad = least, end + 1
    while good < end:
        farther = min(good + step, end)
        found = fits(farther, near)
        if found is None:
            bad = farther
            break
        good, best, step = farther, found, 2 * step
    while bad - good > 1:
        half = (good + bad) // 2
        found = fits(half, near)
        if found is None:
            bad = half
        else:
            good, best = half, found
    return good, best


def _as_arc(points: _Points, near: float, tolerance: float) -> tuple[float, float] | None:
    """Bulge of the arc between the ends that follows the corners best, and how far off it lies; None when too far.

    Circles through both ends have their centres on one line, so least squares leaves one unknown, in closed form. The
    corners must lie within `near`, the chords between them within `tolerance`.
    """
    own, reach = _along(points)
    half = reach / 2
    if not half > 0.0:
        return None
    x, y = own[:, 0] - half, own[:, 1]
    lean = float((y * y).sum())
    if not lean > 0.0:
        return None
    # The centre's height over the chord is the one unknown: where the sum of squares is level in it.
    rise = float((y * (x * x + y * y - half * half)).sum()) / (2.0 * lean)
    radius = math.hypot(half, rise)
    # So flat that it is a line for any purpose: half of what a loop refuses, to be clear of it after smoothing.
    if radius > FLATTEST / 2:
        return None
    off = numpy.hypot(x, y - rise) - radius
    if float(numpy.abs(off).max()) > near:
        return None
    angles = numpy.arctan2(y - rise, x)
    steps = numpy.remainder(numpy.diff(angles) + math.pi, math.tau) - math.pi
    if not ((steps > 0).all() or (steps < 0).all()):
        return None
    sweep = float(steps.sum())
    if abs(sweep) > math.pi * (1.0 + 1e-9):
        return None
    bow = radius * (1.0 - numpy.cos(steps / 2)) - numpy.minimum(off[:-1], off[1:])
    away = max(float(bow.max()), float(off.max()))
    return (math.tan(sweep / 4), away) if away <= tolerance else None


def _along(points: _Points) -> tuple[_Points, float]:
    """The points with their first as zero and x towards their last; and how far off that is."""
    own = points - points[0]
    dx, dy = float(own[-1, 0]), float(own[-1, 1])
    reach = math.hypot(dx, dy)
    if reach == 0.0:
        return own, 0.0
    return own @ numpy.array([[dx, -dy], [dy, dx]]) / reach, reach


# ------------------------------------------------------------------------------- smooth joints


def _smooth(pieces: list[_FittedEdge], points: _Points, tolerance: float) -> list[_FittedEdge]:
    """The pieces with smooth joints; one that cannot be bent so far is halved, and all are tried again."""
    for _ in range(HALVINGS):
        bent = [replace(piece) for piece in pieces]
        stiff = _smoothed(bent, points, tolerance)
        halves: dict[int, list[_FittedEdge]] = {}
        for k in stiff:
            middle = (pieces[k].first + pieces[k].last) // 2
            parts: list[_FittedEdge] = []
            for first, last in ((pieces[k].first, middle), (middle, pieces[k].last)):
                fit = _as_arc(points[first : last + 1], tolerance, tolerance) if last - first >= LEAST_CHORDS else None
                if fit is not None:
                    parts.append(_FittedEdge(first, last, fit[0], False, fit[1]))
            if len(parts) == 2:  # both halves are arcs
                halves[k] = parts
        if not halves:
            return bent
        pieces = [half for k, piece in enumerate(pieces) for half in halves.get(k, [piece])]
    _smoothed(pieces, points, tolerance)
    return pieces


def _smoothed(pieces: list[_FittedEdge], points: _Points, tolerance: float) -> list[int]:
    """Fitted arcs bent a little, so that they leave and reach their neighbours without a corner.

    Two arcs fill any place between two directions (P: biarcs, Bolton 1975); what would lie too far off is left, and
    its position comes back.
    """
    # the directions in which each piece leaves its first and reaches its last point
    edges = [edge_of(_point(points[piece.first]), _point(points[piece.last]), piece.bulge) for piece in pieces]
    ways = [(edge.direction(0.0), edge.direction(1.0)) for edge in edges]
    joints: list[Point | None] = []  # the direction at each joint; None where it is a corner, or nothing can be bent
    for k, piece in enumerate(pieces):
        leaves, enters = ways[k - 1][1], ways[k][0]
        turn = turn_between(leaves, enters)
        stiff_before, stiff_after = (one.drawn or one.bulge == 0.0 for one in (pieces[k - 1], piece))
        if abs(turn) > SMOOTH or (stiff_before and stiff_after):
            joints.append(None)
        elif stiff_before or stiff_after:
            joints.append(leaves if stiff_before else enters)
        else:  # both can bend: half-way
            c, s = math.cos(turn / 2), math.sin(turn / 2)
            joints.append((c * leaves[0] - s * leaves[1], s * leaves[0] + c * leaves[1]))
    left: list[int] = []
    for k, piece in enumerate(pieces):
        if piece.drawn or piece.bulge == 0.0:
            continue
        begin, finish = joints[k], joints[(k + 1) % len(pieces)]
        turns = [
            0.0 if joint is None else abs(turn_between(joint, way))
            for joint, way in zip((begin, finish), ways[k], strict=True)
        ]
        if max(turns) > SHARP / 4 and not piece.bend(points, begin, finish, tolerance):
            left.append(k)
    return left


def _distance(own: _Points, arcs: Sequence[tuple[Point, Point, float]]) -> float:
    """How far corners and middles of the chords lie off the arcs, mm."""
    tries = numpy.concatenate([own, (own[1:] + own[:-1]) / 2])
    if len(arcs) > 1:
        (a, m, bulge), _ = arcs
        ux, uy = edge_of(a, m, bulge).direction(1.0)
        # Each corner is held against the arc on its own side of the joint.
        before = (tries[:, 0] - m[0]) * ux + (tries[:, 1] - m[1]) * uy <= 0.0
        parts = [tries[before], tries[~before]]
    else:
        parts = [tries]
    away = 0.0
    for (a, b, bulge), part in zip(arcs, parts, strict=True):
        radius = between(a, b) * (1.0 + bulge * bulge) / (4.0 * abs(bulge)) if bulge else math.inf
        if not len(part):
            continue
        if radius > FLATTEST:
            return math.inf
        rise = (1.0 - bulge * bulge) / (4.0 * bulge)
        cx, cy = (a[0] + b[0]) / 2 - rise * (b[1] - a[1]), (a[1] + b[1]) / 2 + rise * (b[0] - a[0])
        away = max(away, float(numpy.abs(numpy.hypot(part[:, 0] - cx, part[:, 1] - cy) - radius).max()))
    return away


def _point(row: _Points) -> Point:
    return (float(row[0]), float(row[1]))

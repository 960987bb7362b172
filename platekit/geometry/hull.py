"""The exact convex hull of shapes, made of lines and arcs only.

Seen from a direction, each shape has a *support*: how far it reaches that way. The hull reaches as far as the
farthest of them, so it is the upper *envelope* of all supports over one turn. Every shape breaks down into
discs (points being discs of radius 0), and the support of a disc is c . u + r. An envelope is a list of
*reigns* `(angle, disc)`: from that angle on, up to the next entry, the disc reaches farthest; the first angle
is 0.

Two supports cross at most twice in a turn, so envelopes merge two by two as sorted lists do, n log n in all (Rappaport,
A convex hull algorithm for discs, and applications, 1992). Discs of one radius are taken together first: of them the
hull of the centres decides, as the common radius drops out. The outline follows from the envelope: each disc gives the
arc over which it reigns, and where it hands over, both reach equally far, which makes the line between the two arcs a
tangent to both.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import lru_cache
from itertools import pairwise

from platekit.errors import GeometryError
from platekit.geometry.edges import Arc
from platekit.geometry.loop import Loop, Vertex, arc_vertices, clean_loop
from platekit.geometry.point import TAU, Point, polar, positive_angle
from platekit.geometry.shapes import Disc, Shape, Slot

NARROW = 1e-6
"""Turn in radians below which a reign is rounding and not a corner: where a disc's own arc touches the side that leaves
it, the two reach equally far but for the square of the turn, so rounding makes reigns of its root. Left out, a corner
takes 1e-9 mm off an outline of a metre. Common practice."""

_Round = tuple[float, float, float]
_Envelope = list[tuple[float, _Round]]


def hull(shapes: Iterable[Shape]) -> Loop | Disc:
    """The smallest convex outline round all shapes: a loop of tangent lines and arcs, or a disc.

    Raises GeometryError when there is no shape. Takes time n log n.

    >>> hull([Disc((0, 0), 5), Disc((20, 0), 5)]).perimeter == 40 + 10 * math.pi
    True
    """
    return _hull(tuple(shapes))


@lru_cache(maxsize=1024)  # most of a plate that is dragged about stands still
def _hull(shapes: tuple[Shape, ...]) -> Loop | Disc:
    rounds: dict[float, list[Point]] = {}
    envelopes: list[_Envelope] = []
    for shape in shapes:
        if isinstance(shape, Disc):
            rounds.setdefault(shape.radius, []).append(shape.center)
        elif isinstance(shape, Slot):
            rounds.setdefault(shape.radius, []).extend((shape.a, shape.b))
        elif isinstance(shape, Loop):
            # of a loop only corners and outward arcs can be on its hull; a hollow arc lies behind its own chord
            rounds.setdefault(0.0, []).extend((x, y) for x, y, _ in shape.vertices)
            if any(bulge for _, _, bulge in shape.vertices):
                envelopes.extend(_arc_envelope(edge, 0.0) for edge in shape.arcs if edge.sweep > 0.0)
        else:
            envelopes.append(_arc_envelope(shape.spine, shape.radius))
    for radius, centers in rounds.items():
        corners = convex_corners(centers)
        if len(corners) == 1:
            envelopes.append([(0.0, (*corners[0], radius))])
            continue
        # each corner reigns from square to the side that leads to it, on the right of that side, which is outside
        sides = zip(corners, corners[1:] + corners[:1], strict=True)
        turns = [(math.atan2(b[1] - a[1], b[0] - a[0]) - 0.5 * math.pi, (*b, radius)) for a, b in sides]
        envelopes.append(_from_zero(turns))
    if not envelopes:
        raise GeometryError("there is nothing to draw an outline round", "add an opening, or give an outline")
    while len(envelopes) > 1:
        pairs = zip(envelopes[::2], envelopes[1::2], strict=False)
        rest = envelopes[-1:] if len(envelopes) % 2 else []
        envelopes = [_upper(a, b) for a, b in pairs] + rest
    reigns = _reigns(envelopes[0])
    if len(reigns) == 1:
        x, y, r = reigns[0][2]
        return Disc((x, y), r)
    vertices: list[Vertex] = []
    for start, sweep, (x, y, r) in reigns:
        if r > 0.0:
            vertices.extend(arc_vertices((x, y), r, start, sweep))
        vertices.append((*polar((x, y), r, start + sweep), 0.0))
    return clean_loop(vertices)


def _arc_envelope(edge: Arc, reach: float) -> _Envelope:
    """A counter-clockwise arc, thickened by `reach`: the arc where it faces, then its end, then its start.

    Behind the arc, end and start reach equally far in the direction opposite to its middle.
    """
    (cx, cy), last, first = edge.center, (*edge.b, reach), (*edge.a, reach)
    half = edge.start + 0.5 * edge.sweep
    return _from_zero(
        [
            (edge.start, (cx, cy, edge.radius + reach)),
            (edge.start + edge.sweep, last),
            (half + math.pi, first),
        ]
    )


def _from_zero(reigns: Sequence[tuple[float, _Round]]) -> _Envelope:
    """Reigns in order round the turn, cut so that the first begins at angle 0."""
    turned = sorted((positive_angle(angle), k) for k, (angle, _) in enumerate(reigns))
    # equal angles keep the order of going round, whose last entry before the turn's end reigns at 0
    ordered = [(angle, reigns[k][1]) for angle, k in turned]
    if ordered[0][0] > 0.0:
        ordered.insert(0, (0.0, ordered[-1][1]))
    return ordered


def convex_corners(points: Iterable[Point]) -> list[Point]:
    """The corners (mm) of the convex hull of points, counter-clockwise from the leftmost; no collinear ones.

    Andrew's monotone chain (P, Information Processing Letters 9, 1979).
    """
    ordered = sorted(set(points))
    if len(ordered) < 3:
        return ordered
    hull: list[Point] = []
    for way in (ordered, ordered[::-1]):  # the lower chain to the right, then the upper one back
        chain: list[Point] = []
        for x, y in way:
            while len(chain) > 1:
                (ax, ay), (bx, by) = chain[-2], chain[-1]
                if (bx - ax) * (y - ay) - (by - ay) * (x - ax) > 0.0:
                    break
                chain.pop()
            chain.append((x, y))
        hull += chain[:-1]  # its last is the first of the other chain
    return hull


def _upper(a: _Envelope, b: _Envelope) -> _Envelope:
    """The upper envelope of two: from angle to angle of either, the disc that reaches farther."""
    joined: _Envelope = []
    i = j = 0
    here = 0.0
    while here < TAU:
        end_a = a[i + 1][0] if i + 1 < len(a) else TAU
        end_b = b[j + 1][0] if j + 1 < len(b) else TAU
        end = min(end_a, end_b)
        if end > here:
            one, other = a[i][1], b[j][1]
            dx, dy, more = one[0] - other[0], one[1] - other[1], one[2] - other[2]
            # The first reaches d cos(angle - toward) + more farther than the second. Where one disc lies in the other
            # that never changes its sign; elsewhere it does so twice in a turn, at `half` to either side of `toward`.
            d = math.hypot(dx, dy)
            if d <= abs(more):
                disc = one if more >= 0.0 else other
                if not joined or joined[-1][1] != disc:
                    joined.append((here, disc))
            else:
                toward, half = math.atan2(dy, dx), math.acos(-more / d)
                starts = [here]
                for way in (toward - half, toward + half):
                    crossing = here + positive_angle(way - here)
                    if crossing < end:
                        starts.append(crossing)
                starts.sort()
                starts.append(end)
                for start, stop in pairwise(starts):
                    disc = one if d * math.cos(0.5 * (start + stop) - toward) + more >= 0.0 else other
                    if not joined or joined[-1][1] != disc:
                        joined.append((start, disc))
        i += end_a <= end
        j += end_b <= end
        here = end
    return joined


def _reigns(envelope: _Envelope) -> list[tuple[float, float, _Round]]:
    """Start, sweep and disc of each reign round the turn, those too narrow to matter left out.

    Where some were, the two discs beside them take over from each other where they reach equally far.
    """
    # a disc that reigns across angle 0 was cut in two there, to begin the list: made one again
    if len(envelope) > 1 and envelope[0][1] == envelope[-1][1]:
        envelope = envelope[1:]
    ends = [angle for angle, _ in envelope[1:]] + [envelope[0][0] + TAU]
    reigns = [(start, end, disc) for (start, disc), end in zip(envelope, ends, strict=True)]
    wide = [reign for reign in reigns if reign[1] - reign[0] > NARROW]
    if len(wide) < 2:
        widest = max(reigns, key=lambda reign: reign[1] - reign[0])
        return [(widest[0], TAU, widest[2])]
    handed: list[float] = []
    for k, (one, other) in enumerate(zip(wide, wide[1:] + wide[:1], strict=True)):
        end, start, before, after = one[1], other[0] + (TAU if k == len(wide) - 1 else 0.0), one[2], other[2]
        if start <= end:
            handed.append(end)  # nothing was left out here
            continue
        middle = 0.5 * (end + start)
        dx, dy, more = before[0] - after[0], before[1] - after[1], before[2] - after[2]
        d = math.hypot(dx, dy)
        direction = middle
        if d > abs(more):
            # solved as in `_upper`; the crossing wanted is the one near the gap, any other belongs to another place
            toward, half = math.atan2(dy, dx), math.acos(-more / d)
            equal = [middle + math.remainder(toward + turn - middle, TAU) for turn in (half, -half)]
            nearest = min(equal, key=lambda angle: abs(angle - middle))
            direction = nearest if abs(nearest - middle) <= NARROW * 10 else middle
        handed.append(direction)
    starts = [handed[-1] - TAU, *handed[:-1]]
    kept = zip(starts, handed, wide, strict=True)
    return [(start, end - start, disc) for start, end, (_, _, disc) in kept]

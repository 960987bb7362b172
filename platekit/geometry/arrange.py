"""New outlines out of many edges: cut them where they meet, keep the true ones, chain those up.

A *candidate* is an edge of which some part may belong to the outline sought. Cut at all crossings it becomes
*pieces*; a piece belongs to the outline wholly or not at all, so one point of it decides. Kept pieces are
chained into loops.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise

from platekit.geometry.edges import Edge, edge_intersections
from platekit.geometry.index import Index
from platekit.geometry.loop import Loop, edges_loop, moments
from platekit.geometry.point import EPS, Point, between

JOIN = 1e-6
"""Length in mm within which the end of one piece and the start of the next are one vertex: where three edges
meet, or two nearly touch, crossings worked out pair by pair differ by more than rounding. Common practice.
"""

SIDE_STEP = 1e-5
"""Length in mm of the step to either side of a piece that tells which side is inside. Common practice."""

SPECK = 1e-6
"""Area in mm2 of a loop that is rounding and not a shape. Common practice."""

_SIDE_PLACES = (0.5, 0.381966, 0.618034)


def pieces_of(candidates: Sequence[Edge]) -> list[Edge]:
    """All candidates cut wherever two of them meet."""
    cuts: list[list[Point]] = [[] for _ in candidates]
    for i, j in Index([edge.box for edge in candidates]).pairs_within(EPS):
        for p in edge_intersections(candidates[i], candidates[j]):
            cuts[i].append(p)
            cuts[j].append(p)
    return [piece for edge, points in zip(candidates, cuts, strict=True) for piece in _cut(edge, points)]


def _cut(edge: Edge, points: Iterable[Point]) -> list[Edge]:
    """An edge cut at points on it; points at its ends, or at the last cut, cut nothing."""
    inner = sorted(
        (edge.place(p), p) for p in points if between(p, edge.a) > EPS and between(p, edge.b) > EPS
    )
    stops: list[tuple[float, Point]] = [(0.0, edge.a)]
    for place, p in inner:
        if stops[-1][0] < place < 1.0 and between(p, stops[-1][1]) > EPS:
            stops.append((place, p))
    stops.append((1.0, edge.b))
    return [edge.part(s, t, p, q) for (s, p), (t, q) in pairwise(stops)]


def outlines(candidates: Sequence[Edge], inside: Callable[[Point], bool]) -> list[Loop]:
    """The outer outlines, counter-clockwise, of the region that `inside` describes, with its holes filled.

    `candidates` must hold every part of the region's edge, in either direction, and may hold more.
    """
    bordering = [turned for piece in pieces_of(candidates) if (turned := _border(piece, inside)) is not None]
    return outer_loops_of(bordering)


def _border(piece: Edge, inside: Callable[[Point], bool]) -> Edge | None:
    """The piece with the inside on its left; None when both of its sides are alike."""
    votes = [
        _sides(piece, place, inside) for place in _SIDE_PLACES[: 1 if piece.length > 1e3 * SIDE_STEP else 3]
    ]
    if any(left == right for left, right in votes):
        return None
    return piece if votes[0][0] else piece.reversed()


def _sides(piece: Edge, place: float, inside: Callable[[Point], bool]) -> tuple[bool, bool]:
    (x, y), (ux, uy) = piece.at(place), piece.direction(place)
    step = SIDE_STEP
    return inside((x - step * uy, y + step * ux)), inside((x + step * uy, y - step * ux))


def outer_loops_of(pieces: Iterable[Edge]) -> list[Loop]:
    """The counter-clockwise loops that pieces with the inside on their left form, largest first."""
    chains = chained(_without_doubles(pieces))
    loops = [edges_loop(chain) for chain in chains if moments(chain)[0] > SPECK]
    return sorted(loops, key=lambda loop: -loop.area)


def _without_doubles(pieces: Iterable[Edge]) -> list[Edge]:
    """The pieces, of several that run along each other only the first."""
    kept: list[Edge] = []
    spots: dict[tuple[int, int], list[Edge]] = {}
    for piece in pieces:
        if piece.length <= JOIN:
            continue
        middle = piece.at(0.5)
        if any(_alike(piece, other) for cell in _cells(middle) for other in spots.get(cell, ())):
            continue
        spots.setdefault(_cell(middle), []).append(piece)
        kept.append(piece)
    return kept


def _alike(p: Edge, q: Edge) -> bool:
    return between(p.a, q.a) <= JOIN and between(p.b, q.b) <= JOIN and between(p.at(0.5), q.at(0.5)) <= JOIN


def _cell(p: Point) -> tuple[int, int]:
    return (math.floor(p[0] / JOIN), math.floor(p[1] / JOIN))


def _cells(p: Point) -> list[tuple[int, int]]:
    x, y = _cell(p)
    return [(x + i, y + j) for i in (-1, 0, 1) for j in (-1, 0, 1)]


def chained(pieces: Sequence[Edge]) -> list[list[Edge]]:
    """Closed chains of pieces, each starting where the last one ends; what does not close is left out.

    Where several could follow, the one that turns left most is taken, so loops that touch in a point stay
    apart.
    """
    starts: dict[tuple[int, int], list[int]] = {}
    for k, piece in enumerate(pieces):
        starts.setdefault(_cell(piece.a), []).append(k)
    free = [True] * len(pieces)
    chains: list[list[Edge]] = []
    for first in range(len(pieces)):
        chain = _walk(first, pieces, starts, free) if free[first] else []
        if chain:
            chains.append([pieces[k] for k in chain])
    return chains


def _walk(
    first: int, pieces: Sequence[Edge], starts: dict[tuple[int, int], list[int]], free: list[bool]
) -> list[int]:
    """The chain that begins with one piece and comes back to its start; empty when there is none."""
    chain = [first]
    free[first] = False
    home = pieces[first].a
    while chain:
        last = pieces[chain[-1]]
        if between(last.b, home) <= JOIN:
            return chain
        follow = [k for cell in _cells(last.b) for k in starts.get(cell, ()) if free[k]]
        follow = [k for k in follow if between(pieces[k].a, last.b) <= JOIN]
        if follow:
            following = max(follow, key=lambda k: _left_turn(last, pieces[k]))
            free[following] = False
            chain.append(following)
        else:
            chain.pop()
    return []


def _left_turn(before: Edge, after: Edge) -> float:
    (ux, uy), (vx, vy) = before.direction(1.0), after.direction(0.0)
    return math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)

"""New outlines out of many edges: cut them where they meet, keep the true ones, chain those up.

A *candidate* is an edge of which some part may belong to the outline sought. Cut at all crossings it becomes
*pieces*; a piece belongs to the outline wholly or not at all, so one point of it decides. Kept pieces are
chained into loops.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise

from platekit.geometry.edges import Edge, edge_intersections, moments
from platekit.geometry.index import Index
from platekit.geometry.point import EPS, Point, between

JOIN = 1e-6
"""Length in mm within which the end of one piece and the start of the next are one vertex: where three edges
meet, or two nearly touch, crossings worked out pair by pair differ by more than rounding. Common practice.
"""

WIDER = (JOIN, 1e-5, 1e-4)
"""The same in mm where pieces would stay open: crossings of edges that all but touch, where a hair across is a long way
along, differ the more. Far below what a process cuts. Common practice."""

OPEN = 0.01
"""Length in mm of pieces left over that is a lost outline and not slivers. Common practice."""

SIDE_STEP = 1e-7
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
    inner = sorted((edge.place(p), p) for p in points if between(p, edge.a) > EPS and between(p, edge.b) > EPS)
    stops: list[tuple[float, Point]] = [(0.0, edge.a)]
    for place, p in inner:
        if stops[-1][0] < place < 1.0 and between(p, stops[-1][1]) > EPS:
            stops.append((place, p))
    stops.append((1.0, edge.b))
    return [edge.part(s, t, p, q) for (s, p), (t, q) in pairwise(stops)]


def outlines(
    candidates: Sequence[Edge], inside: Callable[[Point], bool], keep_touching: bool = False
) -> list[list[Edge]]:
    """The outer outlines, counter-clockwise, of the region that `inside` describes, as closed chains; holes are filled.

    `candidates` must hold every part of the region's edge, in either direction, and may hold more. With
    `keep_touching` a hole that touches its outline in a point is not filled but becomes part of that outline.
    """
    bordering = [turned for piece in pieces_of(candidates) if (turned := _border(piece, inside)) is not None]
    return outer_chains(bordering, keep_touching)


def _border(piece: Edge, inside: Callable[[Point], bool]) -> Edge | None:
    """The piece with the inside on its left; None when both of its sides are alike.

    One place decides, since a piece is cut wherever the region's edge could change. Of a piece hardly longer than the
    step to its sides, three places must each have the inside on one side only: a step may lead past a neighbour.
    """
    votes = [_sides(piece, place, inside) for place in _SIDE_PLACES[: 1 if piece.length > 1e3 * SIDE_STEP else 3]]
    if any(left == right for left, right in votes):
        return None
    return piece if votes[0][0] else piece.reversed()


def _sides(piece: Edge, place: float, inside: Callable[[Point], bool]) -> tuple[bool, bool]:
    (x, y), (ux, uy) = piece.at(place), piece.direction(place)
    step = SIDE_STEP
    return inside((x - step * uy, y + step * ux)), inside((x + step * uy, y - step * ux))


def outer_chains(pieces: Iterable[Edge], keep_touching: bool = False) -> list[list[Edge]]:
    """The counter-clockwise closed chains that pieces with the inside on their left form."""
    chains = _all_chained(list(pieces))
    areas = [moments(chain)[0] for chain in chains]
    outer = [chain for chain, area in zip(chains, areas, strict=True) if area > SPECK]
    if keep_touching:
        for chain, area in zip(chains, areas, strict=True):
            if area < -SPECK:
                _splice(outer, chain)
    return outer


def _all_chained(pieces: list[Edge]) -> list[list[Edge]]:
    """Closed chains of pieces, with as small a `join` as leaves none open."""
    first: list[list[Edge]] | None = None
    for join in WIDER:
        kept = _without_doubles(pieces, join)
        chains = chained(kept, join)
        first = chains if first is None else first
        if sum(edge.length for edge in kept) - sum(edge.length for chain in chains for edge in chain) <= OPEN:
            return chains
    return first or []


def _splice(outer: list[list[Edge]], hole: list[Edge]) -> None:
    """Run a hole as a detour of the outer chain that it touches, if there is one."""
    for chain in outer:
        for k, edge in enumerate(chain):
            for m, other in enumerate(hole):
                if between(edge.a, other.a) <= JOIN:
                    chain[k:k] = hole[m:] + hole[:m]
                    return


def _without_doubles(pieces: Iterable[Edge], join: float) -> list[Edge]:
    """The pieces, of several that run along each other only the first."""
    kept: list[Edge] = []
    spots: dict[tuple[int, int], list[Edge]] = {}
    for piece in pieces:
        if piece.length <= join:
            continue
        middle = piece.at(0.5)
        if any(_alike(piece, other, join) for cell in _cells(middle, join) for other in spots.get(cell, ())):
            continue
        spots.setdefault(_cell(middle, join), []).append(piece)
        kept.append(piece)
    return kept


def _alike(p: Edge, q: Edge, join: float) -> bool:
    return between(p.a, q.a) <= join and between(p.b, q.b) <= join and between(p.at(0.5), q.at(0.5)) <= join


def _cell(p: Point, join: float) -> tuple[int, int]:
    return (math.floor(p[0] / join), math.floor(p[1] / join))


def _cells(p: Point, join: float) -> list[tuple[int, int]]:
    x, y = _cell(p, join)
    return [(x + i, y + j) for i in (-1, 0, 1) for j in (-1, 0, 1)]


def chained(pieces: Sequence[Edge], join: float = JOIN) -> list[list[Edge]]:
    """Closed chains of pieces, each starting within `join` mm of where the last ends; what does not close is left out.

    No chain comes to a vertex twice: where one would, the part between becomes a chain of its own. So shapes that
    touch in a point stay apart, and so does a hole that touches the outline round it.
    """
    starts: dict[tuple[int, int], list[int]] = {}
    for k, piece in enumerate(pieces):
        starts.setdefault(_cell(piece.a, join), []).append(k)
    free = [True] * len(pieces)
    chains: list[list[Edge]] = []
    for first in range(len(pieces)):
        if free[first]:
            chains.extend([pieces[k] for k in chain] for chain in _walk(first, pieces, starts, free, join))
    return chains


def _walk(
    first: int, pieces: Sequence[Edge], starts: dict[tuple[int, int], list[int]], free: list[bool], join: float
) -> list[list[int]]:
    """The closed chains met on a walk that begins with one piece and goes on as long as it can.

    Where several pieces begin at the end of the last one, the walk takes the sharpest turn to the left: with the inside
    on the left that keeps to one region, and parts what touches in a point (how faces of a planar map are traced). A
    walk that comes back to a spot closes a chain there; one that finds no way on steps back.
    """
    chains: list[list[int]] = []
    chain = [first]
    spots = {first: 0}
    free[first] = False
    while chain:
        last = pieces[chain[-1]]
        near = (k for cell in _cells(last.b, join) for k in starts.get(cell, ()))
        here = [k for k in near if between(pieces[k].a, last.b) <= join]
        back = [spots[k] for k in here if k in spots]
        follow = [k for k in here if free[k]]
        if back:
            chains.append(chain[max(back) :])
            _drop(chain, spots, max(back))
        elif follow:
            following = max(follow, key=lambda k: _left_turn(last, pieces[k]))
            free[following] = False
            spots[following] = len(chain)
            chain.append(following)
        else:
            _drop(chain, spots, len(chain) - 1)
    return chains


def _drop(chain: list[int], spots: dict[int, int], start: int) -> None:
    """Take everything from position `start` off a walk."""
    for k in chain[start:]:
        del spots[k]
    del chain[start:]


def _left_turn(before: Edge, after: Edge) -> float:
    (ux, uy), (vx, vy) = before.direction(1.0), after.direction(0.0)
    return math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)

"""New outlines out of many edges: cut them where they meet, keep the true ones, chain those up.

A *candidate* is an edge of which some part may belong to the outline sought. Cut at all crossings it becomes
*pieces*; a piece belongs to the outline wholly or not at all, so one point of it decides. Kept pieces are
chained into loops.

This is the arrangement of a set of curves, as computational geometry has it (de Berg et al., Computational Geometry,
chapter 2: overlay of planar subdivisions), without its sweep line: an index of boxes finds the few pairs that can meet.
Which pieces are true is not carried along from face to face but asked of the caller, point by point. That costs more
and forgives more: one crossing lost to rounding leaves one chain open instead of turning a whole face inside out.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise

from platekit.geometry.edges import Edge, edge_intersections, moments
from platekit.geometry.index import Index
from platekit.geometry.point import EPS, Point, between, turn_between

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

SIDE_PLACES = (0.5, 0.381966, 0.618034)
"""Where on a piece its sides are looked at, as shares of its length: the middle, then both golden sections, which no
regular pattern of neighbours hits together (ours)."""


def pieces_of(candidates: Sequence[Edge]) -> list[Edge]:
    """All candidates cut wherever two of them meet; crossings nearer than `EPS` (mm) to an end cut nothing."""
    cuts: list[list[Point]] = [[] for _ in candidates]
    for i, j in Index([edge.box for edge in candidates]).pairs_within(EPS):
        # both edges get the very same point, so that their pieces share a vertex to the last digit
        for p in edge_intersections(candidates[i], candidates[j]):
            cuts[i].append(p)
            cuts[j].append(p)
    pieces: list[Edge] = []
    for edge, points in zip(candidates, cuts, strict=True):
        inner = sorted((edge.place(p), p) for p in points if between(p, edge.a) > EPS and between(p, edge.b) > EPS)
        stops: list[tuple[float, Point]] = [(0.0, edge.a)]
        for place, p in inner:
            # where three edges meet, the same spot comes twice: the second would cut off a piece of no length
            if stops[-1][0] < place < 1.0 and between(p, stops[-1][1]) > EPS:
                stops.append((place, p))
        stops.append((1.0, edge.b))
        pieces.extend(edge.part(s, t, p, q) for (s, p), (t, q) in pairwise(stops))
    return pieces


def outlines(
    candidates: Sequence[Edge], inside: Callable[[Point], bool], keep_touching: bool = False
) -> list[list[Edge]]:
    """The outer outlines, counter-clockwise, of the region that `inside` describes, as closed chains; holes are filled.

    `candidates` must hold every part of the region's edge, in either direction, and may hold more. With
    `keep_touching` a hole that touches its outline in a point is not filled but becomes part of that outline.
    """
    bordering: list[Edge] = []
    for piece in pieces_of(candidates):
        # One place decides, since a piece is cut wherever the region's edge could change. Of a piece hardly longer than
        # the step to its sides, three places must each have the inside on one side only: a step may lead past a
        # neighbour. With the same answer on both sides the piece lies within the region or outside of it.
        sides = []
        for place in SIDE_PLACES[: 1 if piece.length > 1e3 * SIDE_STEP else 3]:
            left, right = beside(piece, place)
            sides.append((inside(left), inside(right)))
        if all(left != right for left, right in sides):
            bordering.append(piece if sides[0][0] else piece.reversed())
    return outer_chains(bordering, keep_touching)


def beside(piece: Edge, place: float = 0.5) -> tuple[Point, Point]:
    """The points `SIDE_STEP` mm to the left and to the right of an edge, at a place from 0 to 1 of it."""
    (x, y), (ux, uy) = piece.at(place), piece.direction(place)
    step = SIDE_STEP
    return (x - step * uy, y + step * ux), (x + step * uy, y - step * ux)


def outer_chains(pieces: Iterable[Edge], keep_touching: bool = False) -> list[list[Edge]]:
    """The counter-clockwise closed chains that pieces with the inside on their left form; see `outlines`.

    Pieces may lie up to the `join` apart that leaves none open, from `JOIN` to the widest of `WIDER` (mm).
    """
    given = list(pieces)
    first: list[list[Edge]] | None = None
    chains: list[list[Edge]] = []
    for join in WIDER:
        # The pieces, of several that run along each other only the first; those of no more than `join` mm are gone.
        # Two lines or arcs that share both ends and the middle are the same. Cells of a grid hold the middles, so
        # that each piece is held against its neighbours only: within `join`, in its own cell or one of the eight
        # around it.
        singles: list[Edge] = []
        spots: dict[tuple[int, int], list[Edge]] = {}
        for piece in given:
            if piece.length <= join:
                continue
            middle = piece.at(0.5)
            near = (other for cell in _cells(middle, join) for other in spots.get(cell, ()))
            if any(
                between(piece.a, other.a) <= join
                and between(piece.b, other.b) <= join
                and between(middle, other.at(0.5)) <= join
                for other in near
            ):
                continue
            spots.setdefault(_cell(middle, join), []).append(piece)
            singles.append(piece)
        kept = singles
        chains = closed_chains(kept, join)
        first = chains if first is None else first
        if sum(edge.length for edge in kept) - sum(edge.length for chain in chains for edge in chain) <= OPEN:
            break
    else:
        # none closes everything: the tightest has joined the least that does not belong together
        chains = first or []
    areas = [moments(chain)[0] for chain in chains]
    outer = [chain for chain, area in zip(chains, areas, strict=True) if area > SPECK]
    if keep_touching:
        for hole, area in zip(chains, areas, strict=True):
            if area >= -SPECK:
                continue
            # a hole runs as a detour of the first outer chain that it touches; both keep their direction
            for chain in outer:
                touching = (
                    (k, m)
                    for k, edge in enumerate(chain)
                    for m, other in enumerate(hole)
                    if between(edge.a, other.a) <= JOIN
                )
                k, m = next(touching, (-1, -1))
                if k >= 0:
                    chain[k:k] = hole[m:] + hole[:m]
                    break
    return outer


def _cell(p: Point, join: float) -> tuple[int, int]:
    return (math.floor(p[0] / join), math.floor(p[1] / join))


def _cells(p: Point, join: float) -> list[tuple[int, int]]:
    """The nine cells of a grid of `join` mm that hold all within `join` of a point."""
    x, y = _cell(p, join)
    return [(x + i, y + j) for i in (-1, 0, 1) for j in (-1, 0, 1)]


def closed_chains(pieces: Sequence[Edge], join: float = JOIN) -> list[list[Edge]]:
    """Closed chains of pieces, each starting within `join` mm of where the last ends; what does not close is left out.

    No chain comes to a vertex twice: where one would, the part between becomes a chain of its own. So shapes that
    touch in a point stay apart, and so does a hole that touches the outline round it.

    Each walk begins with a piece that is still free and goes on as long as it can. Where several pieces begin at the
    end of the last one, it takes the sharpest turn to the left: with the inside on the left that keeps to one region,
    and parts what touches in a point (how faces of a planar map are traced; common practice).
    """
    starts: dict[tuple[int, int], list[int]] = {}
    for k, piece in enumerate(pieces):
        starts.setdefault(_cell(piece.a, join), []).append(k)
    free = [True] * len(pieces)
    chains: list[list[Edge]] = []
    for first in range(len(pieces)):
        if not free[first]:
            continue
        walk, position = [first], {first: 0}  # and where in the walk each piece stands
        free[first] = False
        while walk:
            last = pieces[walk[-1]]
            near = (k for cell in _cells(last.b, join) for k in starts.get(cell, ()))
            here = [k for k in near if between(pieces[k].a, last.b) <= join]
            back = [position[k] for k in here if k in position]
            follow = [k for k in here if free[k]]
            if back:
                # back at a spot passed before: all since then is a closed chain, and the walk goes on from that spot
                cut = max(back)
                chains.append([pieces[k] for k in walk[cut:]])
            elif follow:
                ahead = last.direction(1.0)
                turns = [turn_between(ahead, pieces[k].direction(0.0)) for k in follow]
                following = follow[turns.index(max(turns))]
                free[following] = False
                position[following] = len(walk)
                walk.append(following)
                continue
            else:
                cut = len(walk) - 1  # no way on: step back; the piece is spent, whichever way it was come by
            for k in walk[cut:]:
                del position[k]
            del walk[cut:]
    return chains

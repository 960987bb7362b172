"""Moving an outline out or in by a distance, exactly: lines stay lines, arcs stay arcs.

The new edge is the set of points at that distance from the old one. Each of them lies square off an old edge
or round an old vertex, so moved edges and vertex arcs are the candidates; a piece is true when no part of the
old outline is nearer.
"""

from __future__ import annotations

import math

from platekit.geometry.arrange import outer_loops_of, pieces_of
from platekit.geometry.edges import Edge, arc
from platekit.geometry.loop import SHARP, Loop
from platekit.geometry.point import EPS, Point

MANY = 200
"""Candidates above which most are told to be false before they are cut; found by trying, any value works."""

NEARER = 1e-8
"""Length in mm by which a piece may seem nearer to the old outline than it is: rounding. Common practice."""


def offset_loops(loop: Loop, d: float) -> tuple[Loop, ...]:
    """The loops at `d` mm outside (or `-d` mm inside) a loop, largest first; none when nothing is left.

    Growing gives exactly one; a pocket that closes is filled.
    """
    if abs(d) <= EPS:
        return (loop,)
    if d > 0.0 and loop.is_convex:
        return (_grown_convex(loop, d),)
    candidates = _candidates(loop, d)
    reach = abs(d) - NEARER
    if len(candidates) > MANY:
        from platekit.geometry.many_edges import true_pieces

        true = true_pieces(loop, candidates, reach)
    else:
        true = [piece for piece in pieces_of(candidates) if loop.nearest(piece.at(0.5)).distance >= reach]
    loops = outer_loops_of(true)
    return tuple(loops[:1] if d > 0.0 else loops)


def _grown_convex(loop: Loop, d: float) -> Loop:
    """A convex loop grown: its moved edges and corner arcs follow each other, and none is nearer to another edge.

    No pieces need be told true from false, so edges as short as rounding do no harm.
    """
    return Loop(tuple((*edge.a, edge.bulge) for edge in _candidates(loop, d)))


def _candidates(loop: Loop, d: float) -> list[Edge]:
    found: list[Edge] = []
    before = loop.edges[-1]
    for edge in loop.edges:
        corner = _round_corner(loop, before, edge, d)
        if corner is not None:
            found.append(corner)
        moved = edge.shifted(d)
        if moved is not None:
            found.append(moved)
        before = edge
    return found


def _round_corner(loop: Loop, before: Edge, after: Edge, d: float) -> Edge | None:
    """The arc round the vertex between two edges, where the outline turns away from the side it moves to."""
    turn = _turn(loop, before, after)
    if turn * d <= 0.0 or abs(turn) <= SHARP * 1e-3:
        return None
    ux, uy = before.direction(1.0)
    square = math.atan2(-ux, uy) if d > 0.0 else math.atan2(ux, -uy)
    return arc(after.a, abs(d), square, turn)


def _turn(loop: Loop, before: Edge, after: Edge) -> float:
    """Angle by which the outline turns at a vertex, left positive; a cusp by where the inside lies."""
    (ux, uy), (vx, vy) = before.direction(1.0), after.direction(0.0)
    cross, dot = ux * vy - uy * vx, ux * vx + uy * vy
    if dot < 0.0 and abs(cross) <= SHARP:
        x, y = _ahead(after.a, (ux, uy), 1e-4 * min(before.length, after.length))
        return -math.pi if loop.contains((x, y)) else math.pi
    return math.atan2(cross, dot)


def _ahead(p: Point, u: Point, step: float) -> Point:
    return (p[0] + step * u[0], p[1] + step * u[1])

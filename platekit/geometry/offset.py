"""Moving an outline out or in by a distance, exactly: lines stay lines, arcs stay arcs.

The new edge is the set of points at that distance from the old one. Each of them lies square off an old edge
or round an old vertex, so moved edges and vertex arcs are the candidates; a piece is true when no part of the
old outline is nearer.
"""

from __future__ import annotations

import math
from typing import Protocol

from platekit.geometry.arrange import outer_chains, pieces_of
from platekit.geometry.edges import SHARP, Edge, arc
from platekit.geometry.point import Gap, Point

MANY = 200
"""Candidates above which most are told to be false before they are cut; found by trying, any value works."""

NEARER = 1e-8
"""Length in mm by which a piece may seem nearer to the old outline than it is: rounding. Common practice."""


class Outline(Protocol):
    """What must be known of a closed outline to move it."""

    @property
    def edges(self) -> tuple[Edge, ...]:
        """Its edges, counter-clockwise."""

    def contains(self, p: Point) -> bool:
        """Whether a point lies within it."""

    def nearest(self, p: Point) -> Gap:
        """How near a point lies to its edges."""


def offset_chains(outline: Outline, d: float) -> list[list[Edge]]:
    """The outlines at `d` mm outside (or `-d` mm inside) of an outline, as closed chains; none when nothing is left.

    Growing gives one that holds all others: a pocket that closes is filled.
    """
    candidates = moved_edges(outline, d)
    reach = abs(d) - NEARER
    if len(candidates) > MANY:
        from platekit.geometry.many_edges import true_pieces

        true = true_pieces(outline.edges, candidates, reach, lambda p: outline.nearest(p).distance)
    else:
        true = [piece for piece in pieces_of(candidates) if outline.nearest(piece.at(0.5)).distance >= reach]
    return outer_chains(true)


def moved_edges(outline: Outline, d: float) -> list[Edge]:
    """Each edge moved square to itself by `d` mm, with an arc round each vertex that opens up."""
    found: list[Edge] = []
    before = outline.edges[-1]
    for edge in outline.edges:
        corner = _round_corner(outline, before, edge, d)
        if corner is not None:
            found.append(corner)
        moved = edge.shifted(d)
        if moved is not None:
            found.append(moved)
        before = edge
    return found


def _round_corner(outline: Outline, before: Edge, after: Edge, d: float) -> Edge | None:
    """The arc round the vertex between two edges, where the outline turns away from the side it moves to."""
    turn = _turn(outline, before, after)
    if turn * d <= 0.0 or abs(turn) <= SHARP * 1e-3:
        return None
    ux, uy = before.direction(1.0)
    square = math.atan2(-ux, uy) if d > 0.0 else math.atan2(ux, -uy)
    return arc(after.a, abs(d), square, turn)


def _turn(outline: Outline, before: Edge, after: Edge) -> float:
    """Angle by which the outline turns at a vertex, left positive; a cusp by where the inside lies."""
    (ux, uy), (vx, vy) = before.direction(1.0), after.direction(0.0)
    cross, dot = ux * vy - uy * vx, ux * vx + uy * vy
    if dot < 0.0 and abs(cross) <= SHARP:
        step = 1e-4 * min(before.length, after.length)
        ahead = (after.a[0] + step * ux, after.a[1] + step * uy)
        return -math.pi if outline.contains(ahead) else math.pi
    return math.atan2(cross, dot)

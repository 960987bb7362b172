"""Moving an outline out or in by a distance, exactly: lines stay lines, arcs stay arcs.

The new edge is the set of points at that distance from the old one. Each of them lies square off an old edge
or round an old vertex, so moved edges and vertex arcs are the candidates; a piece is true when no part of the
old outline is nearer.

The raw offset curve crosses itself wherever the outline bends more tightly than the distance moved. Here nothing is
repaired along the curve: cut at all crossings, each piece is true or false as a whole (`arrange`), and its middle point
tells. Lines and arcs have offsets of their own kind, so nothing is approximated.

The sign: `d` above 0 is outwards, which is to the right of an outline that runs counter-clockwise.
"""

from __future__ import annotations

import math
from typing import Protocol

from platekit.geometry.arrange import outer_chains, pieces_of
from platekit.geometry.edges import SHARP, Edge, arc
from platekit.geometry.point import Gap, Point, turn_between

MANY = 200
"""Candidates above which most are told to be false before they are cut; found by trying, any value works."""

NEARER = 1e-8
"""Length in mm by which a piece may seem nearer to the old outline than it is: rounding. Common practice."""


class ClosedOutline(Protocol):
    """What must be known of a closed outline to move it; mm."""

    @property
    def edges(self) -> tuple[Edge, ...]:
        """Its edges, counter-clockwise."""

    def contains(self, p: Point) -> bool:
        """Whether a point lies within it."""

    def nearest(self, p: Point) -> Gap:
        """How near a point lies to its edges."""


def offset_chains(outline: ClosedOutline, d: float) -> list[list[Edge]]:
    """The outlines at `d` mm outside (or `-d` mm inside) of an outline, as closed chains; none when nothing is left.

    Growing gives one that holds all others: a pocket that closes is filled.
    """
    candidates = moved_edges(outline, d)
    # a true piece lies exactly `d` from the edge that it came from, so rounding may call it too near: `NEARER` forgives
    reach = abs(d) - NEARER
    if len(candidates) > MANY:
        from platekit.geometry.many_edges import true_pieces

        true = true_pieces(outline.edges, candidates, reach, lambda p: outline.nearest(p).distance)
    else:
        true = [piece for piece in pieces_of(candidates) if outline.nearest(piece.at(0.5)).distance >= reach]
    return outer_chains(true)


def moved_edges(outline: ClosedOutline, d: float) -> list[Edge]:
    """Each edge moved square to itself by `d` mm, with an arc round each vertex that opens up."""
    candidates: list[Edge] = []
    before = outline.edges[-1]
    for edge in outline.edges:
        (ux, uy), (vx, vy) = before.direction(1.0), edge.direction(0.0)
        turn, ahead = turn_between((ux, uy), (vx, vy)), ux * vx + uy * vy
        if ahead < 0.0 and abs(ux * vy - uy * vx) <= SHARP:
            # Straight back: a cusp. Whether that is half a turn to the left (a spike) or to the right (a slit) is lost
            # in rounding; whether the inside lies a small step ahead tells.
            step = 1e-4 * min(before.length, edge.length)
            turn = -math.pi if outline.contains((edge.a[0] + step * ux, edge.a[1] + step * uy)) else math.pi
        # moved edges part where the outline turns away from the side it moves to: there the vertex itself is nearest.
        # A turn too small to be a corner opens a gap that is far below what the chains are joined by.
        if turn * d > 0.0 and abs(turn) > SHARP * 1e-3:
            square = math.atan2(-ux, uy) if d > 0.0 else math.atan2(ux, -uy)
            candidates.append(arc(edge.a, abs(d), square, turn))
        moved = edge.shifted(d)
        if moved is not None:
            candidates.append(moved)
        before = edge
    return candidates

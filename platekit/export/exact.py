"""Shapes as the exact formats want them: circles as circles, no speck of an edge, openings that overlap as one.

Vocabulary
    speck    an edge shorter than `SHORTEST`: rounding, not shape
    slice    the plate between two depths at which a recess ends; the same all through, so a flat figure tells all of it
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise

from msgspec import Struct

from platekit.cutting.contours import Merged, cut_out
from platekit.errors import OutputError
from platekit.geometry import (
    EPS,
    Arc,
    Disc,
    Edge,
    Loop,
    Shape,
    Vertex,
    edge_of,
)
from platekit.placed import Layout, Opening

SHORTEST = 0.001
"""Shortest edge in mm: anything below is rounding, not shape, and a cutting head stumbles over it (ours)."""

ONE_CENTRE = 1e-9
"""Distance in mm below which the arcs of a loop have one centre and one radius, and are a circle (ours)."""


def without_specks(vertices: Iterable[Vertex]) -> tuple[Vertex, ...]:
    """The vertices of a closed loop less its specks, each joined to the edge that follows it.

    A hull round three holes that stand all but in line has such an edge.

    >>> without_specks([(0, 0, 0), (10, 0, 0), (10.0001, 0, 0), (10, 5, 0)])
    ((0, 0, 0), (10, 0, 0), (10, 5, 0))
    """
    kept: list[Vertex] = []
    for x, y, bulge in vertices:
        if kept and math.dist(kept[-1][:2], (x, y)) < SHORTEST:
            x, y, _ = kept.pop()
        kept.append((x, y, bulge))
    while len(kept) > 2 and math.dist(kept[-1][:2], kept[0][:2]) < SHORTEST:
        kept.pop()
    return tuple(kept)


def edges_of(vertices: Sequence[Vertex]) -> tuple[Edge, ...]:
    """The edges of a closed loop of vertices."""
    around = [*vertices[1:], vertices[0]]
    return tuple(edge_of((x, y), (u, v), bulge) for (x, y, bulge), (u, v, _) in zip(vertices, around, strict=True))


def simplest(shape: Shape) -> Disc | Loop:
    """The shape as a disc if it is one, however it was made, else as a loop without specks."""
    if isinstance(shape, Disc):
        return shape
    vertices = without_specks(shape.loop().vertices)
    first, *others = edges_of(vertices)
    if isinstance(first, Arc) and all(_same_circle(first, edge) for edge in others):
        return Disc(first.center, first.radius)
    return Loop(vertices)


def _same_circle(one: Arc, other: Edge) -> bool:
    return (
        isinstance(other, Arc)
        and math.dist(one.center, other.center) <= ONE_CENTRE
        and abs(one.radius - other.radius) <= ONE_CENTRE
    )


# --------------------------------------------------------------------------------------------- slices


class Slice(Struct, frozen=True):
    """The plate from z = `low` to z = `high`, mm: `pieces` of steel, and `openings` wholly inside, none overlapping."""

    low: float
    high: float
    pieces: tuple[Shape, ...]
    openings: tuple[Shape, ...]

    @property
    def area(self) -> float:
        """Area of the steel, mm2; exact."""
        return math.fsum(s.area for s in self.pieces) - math.fsum(s.area for s in self.openings)

    @property
    def volume(self) -> float:
        """Volume of the steel, mm3; exact."""
        return self.area * (self.high - self.low)


def slices(layout: Layout) -> tuple[Slice, ...]:
    """The plate cut into slices at every depth where a recess ends, from the near face down.

    Without recesses there is one slice, as thick as the plate.
    """
    low, high = layout.plate_z
    ends = {high, low, *(end for opening in layout.openings for end in z_range(opening, layout.thickness))}
    levels = sorted((z for z in ends if low <= z <= high), reverse=True)
    return tuple(_slice(layout, lower, upper) for upper, lower in pairwise(levels) if upper - lower > EPS)


def z_range(opening: Opening, thickness: float) -> tuple[float, float]:
    """From where to where an opening goes, z in mm (low, high); a through opening goes all the way."""
    if opening.depth is None:
        return (-thickness, 0.0)
    depth = min(opening.depth, thickness)
    return (-thickness, depth - thickness) if opening.side == "far" else (-depth, 0.0)


def _slice(layout: Layout, low: float, high: float) -> Slice:
    middle = (low + high) / 2
    there = []
    for opening in layout.openings:
        start, end = z_range(opening, layout.thickness)
        if start < middle < end:
            there.append(opening.shape)
    pieces, openings = cut_out(layout.outline, there)
    return Slice(low, high, pieces, tuple(one.shape for one in openings))


def one_piece(outline: Shape, openings: Sequence[Shape], what: str) -> tuple[Shape, tuple[Merged, ...]]:
    """As `cut_out`, for a plate that stays in one piece; else `OutputError`. `what` names the file."""
    pieces, inside = cut_out(outline, openings)
    if len(pieces) != 1:
        left = "leave nothing of the plate" if not pieces else f"cut the plate into {len(pieces)} pieces"
        raise OutputError(f"{what} was not written: the openings {left}; move them, or make the plate larger")
    return pieces[0], inside

"""Shapes as the exact formats want them: circles as circles, no speck of an edge, openings that overlap as one.

Vocabulary
    speck    an edge shorter than `SHORTEST`: rounding, not shape
    slice    the plate between two depths at which a recess or a head's seat ends; but for countersinks the same all
             through, so that a flat figure tells all of it
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise

from msgspec import Struct

from platekit.cutting.contours import Merged, cut_out
from platekit.cutting.heads import seats
from platekit.errors import OutputError
from platekit.geometry import (
    EPS,
    Arc,
    Disc,
    Edge,
    Loop,
    Shape,
    Upright,
    Vertex,
    edge_of,
)
from platekit.placed import Layout, Opening

SHORTEST = 0.001
"""Shortest edge in mm: anything below is rounding, not shape, and a cutting head stumbles over it (ours)."""

VOLUME = 1e-9
"""How far a slice's volume may be off where a countersink runs into something else, as a share of it (ours: a
thousandth of what the solid is held to)."""

MOST_HALVINGS = 20
"""How often a slice is halved for its volume: to a millionth of its height (ours)."""

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
    if isinstance(first, Arc) and all(
        isinstance(edge, Arc)
        and math.dist(first.center, edge.center) <= ONE_CENTRE
        and abs(first.radius - edge.radius) <= ONE_CENTRE
        for edge in others
    ):
        return Disc(first.center, first.radius)
    return Loop(vertices)


# --------------------------------------------------------------------------------------------- slices


class Slice(Struct, frozen=True):
    """The plate from z = `low` to z = `high`, mm: `outline` less what is taken out straight and what tapers there."""

    low: float
    high: float
    outline: Shape
    straight: tuple[Shape, ...]
    tapering: tuple[Upright, ...] = ()

    def area_at(self, z: float) -> float:
        """Area of the steel at a height within the slice, mm2; exact."""
        cones = (cone.shape.grown(more) if (more := cone.flare(z)) else cone.shape for cone in self.tapering)
        pieces, openings = cut_out(self.outline, (*self.straight, *cones))
        return math.fsum(s.area for s in pieces) - math.fsum(one.shape.area for one in openings)

    @property
    def volume(self) -> float:
        """Volume of the steel, mm3.

        Exact where the countersinks keep clear of all else, since the area is then a square function of z; where they
        do not, to `VOLUME` of the slice.
        """
        if not self.tapering:
            return self.area_at((self.low + self.high) / 2) * (self.high - self.low)
        return integral(self.area_at, self.low, self.high, VOLUME * self.outline.area * (self.high - self.low))


def integral(f: Callable[[float], float], low: float, high: float, within: float) -> float:
    """The integral of `f` by Simpson's rule, halved where it is not yet `within` of it: exact up to a cubic.

    >>> integral(lambda z: z * z, 0, 3, 1e-9)
    9.0
    """
    return _simpson(f, (low, f(low)), ((low + high) / 2, f((low + high) / 2)), (high, f(high)), within, MOST_HALVINGS)


def _simpson(
    f: Callable[[float], float],
    first: tuple[float, float],
    mid: tuple[float, float],
    last: tuple[float, float],
    within: float,
    left: int,
) -> float:
    # Simpson over the whole against Simpson over both halves: where they agree the halves are taken. `left` ends it
    # where the area jumps, as when a cone touches an edge.
    (a, fa), (m, fm), (b, fb) = first, mid, last
    whole = (b - a) / 6 * (fa + 4 * fm + fb)
    p, q = (a + m) / 2, (m + b) / 2
    fp, fq = f(p), f(q)
    halves = (b - a) / 12 * (fa + 4 * fp + 2 * fm + 4 * fq + fb)
    if left == 0 or abs(halves - whole) <= within:
        return halves
    one = _simpson(f, first, (p, fp), mid, within / 2, left - 1)
    return one + _simpson(f, mid, (q, fq), last, within / 2, left - 1)


def slices(layout: Layout) -> tuple[Slice, ...]:
    """The plate cut into slices at every depth where a recess or a head's seat ends, from the near face down.

    Without any there is one slice, as thick as the plate.
    """
    low, high = layout.plate_z
    sunk = seats(layout)
    ends = {high, low, *(end for opening in layout.openings for end in z_range(opening, layout.thickness))}
    ends |= {seat.floor for seat in sunk.values()}
    levels: list[float] = []
    for z in sorted((z for z in ends if low <= z <= high), reverse=True):
        if not levels or levels[-1] - z > EPS:
            levels.append(z)
    found = []
    for upper, lower in pairwise(levels):
        middle = (
            lower + upper
        ) / 2  # nothing begins or ends within a slice: what holds at its middle holds all through
        straight: list[Shape] = []
        tapering: list[Upright] = []
        for opening in layout.openings:
            bottom, top = z_range(opening, layout.thickness)
            if not bottom < middle < top:
                continue
            seat = sunk.get(opening.name)
            if seat is None or not seat.solid.low < middle < seat.solid.high:
                straight.append(opening.shape)
            elif seat.tapers:
                tapering.append(seat.solid)
            else:
                straight.append(seat.solid.shape)
        found.append(Slice(lower, upper, layout.plane, tuple(straight), tuple(tapering)))
    return tuple(found)


def z_range(opening: Opening, thickness: float) -> tuple[float, float]:
    """From where to where an opening goes, z in mm (low, high); a through opening goes all the way."""
    if opening.depth is None:
        return (-thickness, 0.0)
    depth = min(opening.depth, thickness)
    return (-thickness, depth - thickness) if opening.side == "far" else (-depth, 0.0)


def one_piece(outline: Shape, openings: Sequence[Shape], what: str) -> tuple[Shape, tuple[Merged, ...]]:
    """As `cut_out`, for a plate that stays in one piece; else `OutputError`. `what` names the file."""
    pieces, inside = cut_out(outline, openings)
    if len(pieces) != 1:
        left = "leave nothing of the plate" if not pieces else f"cut the plate into {len(pieces)} pieces"
        raise OutputError(f"{what} was not written: the openings {left}; move them, or make the plate larger")
    return pieces[0], inside

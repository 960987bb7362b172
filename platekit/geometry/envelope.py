"""Upright pieces that hold a solid known by its skin in triangles: what searches and pictures take it for.

The solid is cut level into slices, at every height where its outline may change and finer where its sides slope. Each
slice becomes one upright piece, or several, straight from its lower to its upper cut: the outline of all that lies in
between. So the pieces hold the solid, and are the solid where all sides stand upright. Hollows are filled.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Final

import numpy
from msgspec import Struct
from numpy.typing import NDArray

from platekit.errors import GeometryError
from platekit.geometry.edges import Arc
from platekit.geometry.fitting import fit_edges
from platekit.geometry.hull import hull
from platekit.geometry.loop import Loop, loop_of
from platekit.geometry.point import Point
from platekit.geometry.polygons import filled_outlines
from platekit.geometry.shapes import Disc, Shape
from platekit.geometry.solids import Upright

THICK: Final = 4.0
"""Thickest slice where sides slope, mm (ours): a cylinder that lies is held within a few mm of its side."""
MOST_SLICES: Final = 40
"""Most slices of one solid (ours): every one is asked in every question, and drawn."""
SAME_LEVEL: Final = 0.02
"""Levels nearer to each other are one, mm (ours)."""
ASIDE: Final = 2e-4
"""A cut is looked at this far inside of its slice, mm (ours): at the level itself a flat face has no outline."""
FIT: Final = 0.002
"""Farthest that arcs and lines lie from the chords of a cut, mm (ours)."""
EXACT: Final = 0.0011
"""Arcs no farther from the chords than these lie from their curve are the model's own, mm (ours): a micrometre."""
SAME_ROUND: Final = 2e-5
"""Arcs whose middles and radii differ by no more are of one circle, mm (ours)."""

_Floats = NDArray[numpy.float64]


class Envelope(Struct, frozen=True):
    """Upright pieces that hold a solid, mm; `exact` where they are the solid itself, hollows filled."""

    pieces: tuple[Upright, ...]
    outline: Shape
    exact: bool


Section = Callable[[float], Sequence[_Floats]]
"""The lines in which a level plane cuts a solid: runs of points (n, 2), mm."""


def envelope(
    skin: _Floats, section: Section, levels: Sequence[float], always: Sequence[float], more: float
) -> Envelope:
    """The pieces that hold a solid, mm; `skin` (n, 3, 3) are the triangles of those faces that stand not upright.

    z is the height. Its outline may change at `levels`, the first and last of which are its ends; it is cut at those of
    `always` in any case. Where sides slope, `more` is added all round, by which triangles may lie within their face.
    """
    low, high = skin[:, :, 2].min(axis=1), skin[:, :, 2].max(axis=1)
    level = high - low <= ASIDE
    bottom, top = min(levels), max(levels)
    cuts = _thinned(sorted(levels), [z for z in always if bottom < z < top])
    at = _finer(cuts, low[~level], high[~level])
    pieces: list[Upright] = []
    all_rings: list[_Floats] = []
    for start, stop in pairwise(at):
        # What lies level within the slice, as a ledge that no level told, counts as what slopes.
        within = (low < stop - ASIDE) & (high > start + ASIDE)
        areas = [area for triangle in skin[within] if (area := _clipped(triangle, start, stop)) is not None]
        lines = [
            run for z in ((start + ASIDE, stop - ASIDE) if areas else (0.5 * (start + stop),)) for run in section(z)
        ]
        rings = filled_outlines(lines, areas, more + FIT if areas else 0.0)
        shapes = _shapes(rings, FIT if areas else EXACT)
        if (
            not shapes
        ):  # upright sides on a curve that is no circle: arcs follow it as nearly as `FIT`, and are moved out
            rings = filled_outlines(lines, areas, more + FIT)
            shapes = _shapes(rings, FIT)
        pieces += [Upright(shape, start, stop) for shape in shapes]
        all_rings += [numpy.array(ring) for ring in rings]
    if not pieces:
        raise GeometryError("a model without any steel in it", "save it again as a solid")
    outlines = filled_outlines([], all_rings, 0.0)
    found = _shapes(outlines, FIT) or [loop_of((x, y, 0.0) for x, y in ring) for ring in outlines]
    outline = found[0] if len(found) == 1 else hull(found)
    return Envelope(tuple(_joined(pieces)), outline, bool(level.all()))


def _thinned(levels: Sequence[float], always: Sequence[float]) -> list[float]:
    """Levels in order, none nearer to the next than `SAME_LEVEL`; those of `always` stay."""
    ordered = sorted([(z, False) for z in levels] + [(z, True) for z in always])
    first, last = ordered[0][0], ordered[-1][0]
    kept: list[tuple[float, bool]] = []
    for z, fixed in ordered:
        if kept and z - kept[-1][0] < SAME_LEVEL:
            # The lower of two stays, or the one that has to; ends must hold the whole.
            if fixed and not kept[-1][1] and len(kept) > 1:
                kept[-1] = (z, True)
            continue
        kept.append((z, fixed))
    if len(kept) > 1 and last - kept[-1][0] < SAME_LEVEL and not kept[-1][1]:
        kept.pop()
    # Too many levels (a thread, a row of fins): those that come too soon after the one before go.
    found = kept
    step = (last - first) / MOST_SLICES
    if len(found) > MOST_SLICES:
        coarse = [found[0]]
        coarse += [one for before, one in pairwise(found) if one[1] or one[0] - before[0] >= step]
        found = coarse[: 2 * MOST_SLICES]
    heights = [z for z, _ in found]
    return [*heights, last] if heights[-1] < last else heights


def _finer(levels: list[float], low: _Floats, high: _Floats) -> list[float]:
    """The levels with more between them where sides slope."""
    long = levels[-1] - levels[0]
    step = max(THICK, long / MOST_SLICES)
    found = [levels[0]]
    for start, stop in pairwise(levels):
        slopes = bool(((low < stop - ASIDE) & (high > start + ASIDE)).any())
        count = max(math.ceil((stop - start) / step - 1e-6), 1) if slopes else 1
        found += [start + (stop - start) * (k + 1) / count for k in range(count)]
    return found


def _clipped(triangle: _Floats, start: float, stop: float) -> _Floats | None:
    """What a triangle covers between two heights, seen along the normal; None for nothing."""
    spots = triangle
    for level, sign in ((start, 1.0), (stop, -1.0)):
        kept = []
        for k in range(len(spots)):
            a, b = spots[k], spots[(k + 1) % len(spots)]
            from_a, from_b = sign * (a[2] - level), sign * (b[2] - level)
            if from_a >= 0.0:
                kept.append(a)
            if (from_a >= 0.0) != (from_b >= 0.0):
                kept.append(a + (b - a) * (from_a / (from_a - from_b)))
        if len(kept) < 3:
            return None
        spots = numpy.array(kept)
    plan = spots[:, :2]
    x, y = plan[:, 0] - plan[0, 0], plan[:, 1] - plan[0, 1]
    return plan if abs(float((x * numpy.roll(y, -1) - numpy.roll(x, -1) * y).sum())) > 1e-9 else None


def _shapes(rings: list[list[Point]], within: float) -> list[Shape]:
    """Rings of corners as arcs and lines; empty where these would lie farther than `within` from a corner (mm)."""
    shapes: list[Shape] = []
    for ring in rings:
        vertices = [(x, y, 0.0) for x, y in ring]
        fit = fit_edges(vertices, FIT)
        if fit.away > within:
            return []
        try:
            shapes.append(_plain(loop_of(fit.vertices)))
        except GeometryError:  # sides so near each other that arcs in place of chords would touch
            shapes.append(loop_of(vertices))
    return shapes


def _plain(loop: Loop) -> Shape:
    """The loop, or the disc that it is."""
    first, *others = loop.edges
    if isinstance(first, Arc) and all(
        isinstance(edge, Arc)
        and math.dist(first.center, edge.center) <= SAME_ROUND
        and abs(first.radius - edge.radius) <= SAME_ROUND
        for edge in others
    ):
        # Models are kept to a few digits: a disc on a grid of 1e-6 mm is the one that was meant.
        x, y, radius = (round(value, 6) + 0.0 for value in (*first.center, first.radius))
        return Disc((x, y), radius)
    return loop


def _joined(pieces: list[Upright]) -> list[Upright]:
    """Pieces of one shape that stand on each other as one."""
    found: list[Upright] = []
    for piece in pieces:
        for k, other in enumerate(found):
            if other.high == piece.low and _alike(other.shape, piece.shape):
                found[k] = Upright(other.shape, other.low, piece.high)
                break
        else:
            found.append(piece)
    return found


def _alike(a: Shape, b: Shape) -> bool:
    if type(a) is not type(b):
        return False
    corners_a, corners_b = a.loop().vertices, b.loop().vertices
    return len(corners_a) == len(corners_b) and all(
        math.dist(one, other) <= 1e-6 for one, other in zip(corners_a, corners_b, strict=True)
    )

"""Pieces of a drawing that run along each other, and so would be cut twice: whole doubles and partial ones.

Vocabulary
    stretch    how far a line reaches along itself, or an arc along its circle, mm
    key        what two stretches that run along each other have in common: the line, or the circle, that they lie on
"""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Hashable, Iterator

from platekit.export.dxf_files.pieces import Found, Piece, shown
from platekit.geometry import Point

DOUBLE = 0.01
"""Within this distance in mm two pieces that run along each other are cut twice: a gap no eye sees (ours)."""

DOUBLE_ANGLE = 1e-4
"""Within this angle in radians two lines count as running along each other (ours)."""

Key = tuple[float, ...]
Stretch = tuple[float, float, Point]


def doubled(found: Found) -> Iterator[str]:
    """Pieces that run along each other, and so would be cut twice."""
    lines: list[tuple[Key, Key, Stretch]] = []
    arcs: list[tuple[Key, Key, Stretch]] = []
    for piece in found.pieces:
        if piece.bulge:
            center, radius = piece.arc
            arcs += _arc_stretches(center, radius, *_angles(piece, center))
        else:
            lines += _line_stretches(piece)
    for circle in found.circles:
        arcs += _arc_stretches(circle.center, circle.radius, 0.0, math.tau)
    seen: set[str] = set()
    for stretches in (lines, arcs):
        for at in _overlaps(stretches):
            sentence = f"something is cut twice at {shown(at)}"
            if sentence not in seen:
                seen.add(sentence)
                yield sentence


def _line_stretches(piece: Piece) -> Iterator[tuple[Key, Key, Stretch]]:
    """A line by its direction and its distance from 0,0, with how far it reaches along itself."""
    (ax, ay), (bx, by) = piece.a, piece.b
    angle = math.atan2(by - ay, bx - ax) % math.pi
    for way in (angle, angle - math.pi) if angle > math.pi - DOUBLE_ANGLE else (angle,):
        ux, uy = math.cos(way), math.sin(way)
        low, high = sorted((ax * ux + ay * uy, bx * ux + by * uy))
        key = (way, ax * uy - ay * ux)
        yield key, (DOUBLE_ANGLE, DOUBLE), (low, high, piece.middle)


def _arc_stretches(center: Point, radius: float, start: float, sweep: float) -> Iterator[tuple[Key, Key, Stretch]]:
    """An arc by its circle, with how far it reaches along it; one that runs over 0 degrees in two parts."""
    key, size = (*center, radius), (DOUBLE, DOUBLE, DOUBLE)
    start %= math.tau
    for low, high in ((start, min(start + sweep, math.tau)), (0.0, start + sweep - math.tau)):
        if high > low:
            at = (low + high) / 2
            middle = (center[0] + radius * math.cos(at), center[1] + radius * math.sin(at))
            yield key, size, (low * radius, high * radius, middle)


def _angles(piece: Piece, center: Point) -> tuple[float, float]:
    first = piece.a if piece.bulge > 0 else piece.b
    return math.atan2(first[1] - center[1], first[0] - center[0]), 4 * math.atan(abs(piece.bulge))


def _overlaps(stretches: list[tuple[Key, Key, Stretch]]) -> Iterator[Point]:
    """Where two stretches with all but the same key overlap by more than `DOUBLE`.

    Keys are put into cells, once for each way of shifting the cells by half, so that two near keys share a
    cell in one of the ways, however they lie.
    """
    if not stretches:
        return
    for shift in itertools.product((0.0, 0.5), repeat=len(stretches[0][0])):
        cells: dict[Hashable, list[Stretch]] = defaultdict(list)
        for key, size, stretch in stretches:
            cell = tuple(
                math.floor(value / (2 * width) + by) for value, width, by in zip(key, size, shift, strict=True)
            )
            cells[cell].append(stretch)
        for together in cells.values():
            if len(together) > 1:
                yield from _overlaps_along(sorted(together))


def _overlaps_along(stretches: list[Stretch]) -> Iterator[Point]:
    reach = -math.inf
    for low, high, middle in stretches:
        if min(reach, high) - low > DOUBLE:
            yield middle
        reach = max(reach, high)

"""Lines and arcs that run along each other, and so would be cut or marked twice: whole doubles and partial ones.

Vocabulary
    stretch    how far a line reaches along itself, or an arc along its circle, mm
    key        what two stretches that run along each other have in common: the line, or the circle, that they lie on
"""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Hashable, Iterable, Iterator
from functools import lru_cache

from platekit.geometry import Point

DOUBLE = 0.01
"""Within this distance in mm two pieces that run along each other are cut twice: a gap no eye sees (ours)."""

SHIFTED = 4 * DOUBLE
"""Two arcs whose centres lie two `DOUBLE` apart along x and y are measured along from places that far apart: two which
only follow each other may seem to overlap by almost three (geometry)."""

DOUBLE_ANGLE = 1e-4
"""Within this angle in radians two lines count as running along each other (ours)."""

Key = tuple[float, ...]
Stretch = tuple[float, float, Point]


Line = tuple[Point, Point]
Round = tuple[Point, float, float, float]
"""An arc: centre, radius, angle of its start and its sweep (above zero), radians."""


def doubles(lines: Iterable[Line], arcs: Iterable[Round]) -> tuple[Point, ...]:
    """Where lines run along lines, or arcs along arcs (mm); a place may come more than once."""
    return _doubles(tuple(lines), tuple(arcs))


@lru_cache(maxsize=16)  # a plate and the parts of its guard, of which an edit changes few
def _doubles(lines: tuple[Line, ...], arcs: tuple[Round, ...]) -> tuple[Point, ...]:
    # A line by its direction and its distance from 0,0, with how far it reaches along itself.
    straight: list[tuple[Key, Key, Stretch]] = []
    for (ax, ay), (bx, by) in lines:
        angle = math.atan2(by - ay, bx - ax) % math.pi
        # Directions a hair below half a turn and a hair above 0 are the same line: such a one goes under both.
        for way in (angle, angle - math.pi) if angle > math.pi - DOUBLE_ANGLE else (angle,):
            ux, uy = math.cos(way), math.sin(way)
            low, high = sorted((ax * ux + ay * uy, bx * ux + by * uy))
            key = (way, ax * uy - ay * ux)
            straight.append((key, (DOUBLE_ANGLE, DOUBLE), (low, high, ((ax + bx) / 2, (ay + by) / 2))))
    found = [*_overlaps(straight, DOUBLE)]
    # An arc by its circle, with how far it reaches along it; one that runs over 0 degrees in two parts.
    round_ones: list[tuple[Key, Key, Stretch]] = []
    for center, radius, start, sweep in arcs:
        begin = start % math.tau
        for low, high in ((begin, min(begin + sweep, math.tau)), (0.0, begin + sweep - math.tau)):
            if high > low:
                at = (low + high) / 2
                middle = (center[0] + radius * math.cos(at), center[1] + radius * math.sin(at))
                stretch = (low * radius, high * radius, middle)
                round_ones.append(((*center, radius), (DOUBLE, DOUBLE, DOUBLE), stretch))
    return (*found, *_overlaps(round_ones, SHIFTED))


def _overlaps(stretches: list[tuple[Key, Key, Stretch]], least: float) -> Iterator[Point]:
    """Where two stretches with all but the same key overlap by more than `least` mm.

    Keys are put into cells, once for each way of shifting the cells by half, so that two near keys share a
    cell in one of the ways, however they lie.
    """
    if not stretches:
        return
    # halves in every direction: of two keys nearer than half a cell at least one shift puts both into one
    halves = [
        [
            (math.floor(value / (2 * width)), math.floor(value / (2 * width) + 0.5))
            for value, width in zip(key, size, strict=True)
        ]
        for key, size, _ in stretches
    ]
    for shift in itertools.product((0, 1), repeat=len(stretches[0][0])):
        cells: dict[Hashable, list[Stretch]] = defaultdict(list)
        for half, (_, _, stretch) in zip(halves, stretches, strict=True):
            cells[tuple([pair[by] for pair, by in zip(half, shift, strict=True)])].append(stretch)
        for together in cells.values():
            if len(together) < 2:
                continue
            # Sorted by where they begin, a stretch doubles an earlier one exactly where it begins before the farthest
            # end so far.
            reach = -math.inf
            for low, high, middle in sorted(together):
                if min(reach, high) - low > least:
                    yield middle
                reach = max(reach, high)

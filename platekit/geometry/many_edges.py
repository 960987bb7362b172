"""Moving an outline of thousands of edges: what cannot be true is left out before candidates are cut at each other.

Teeth finer than the distance moved bury each other: every candidate would cross hundreds of others. But where a
candidate lies deeper than it should, so do its neighbouring points: walking along it, as far at each step as that
allows, leads past the buried part, and what is left crosses a few neighbours only.

Such steps are safe because a distance changes no faster than the way gone: a point that lies 0.3 mm too deep has only
points that are too deep within 0.3 mm of it (sphere tracing, as Hart 1996 calls walking by such steps).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

import numpy
from numpy.typing import NDArray

from platekit.geometry.arrange import pieces_of
from platekit.geometry.edges import Arc, Edge
from platekit.geometry.point import EPS, Point
from platekit.geometry.polygons import ChordRing

STEPS: Final = 20
"""Most steps of a walk (ours): what is not passed by then is kept, which costs time only."""
LEAST_STEP: Final = 1e-4
"""A walk ends where its step is less than this share of the distance moved (ours)."""

_Numbers = NDArray[numpy.float64]


def true_pieces(
    outline: Sequence[Edge], candidates: Sequence[Edge], reach: float, away: Callable[[Point], float]
) -> list[Edge]:
    """The pieces of candidates, cut at each other, that no part of the outline is nearer to than `reach` mm.

    `away` is the exact distance of a point from the outline, mm: asked only where the chords cannot tell.
    """
    ring = ChordRing(outline)
    pieces = pieces_of(_unburied(candidates, ring, reach))
    if not pieces:
        return []
    # the chords tell all but those that lie as far as `reach`, to the error of the chords: which is every true piece,
    # so the exact question is asked for these, and for few others
    far = ring.distances(numpy.array([piece.at(0.5) for piece in pieces]))
    kept: list[Edge] = []
    for piece, about in zip(pieces, far.tolist(), strict=True):
        if about + ring.error < reach:
            continue
        if about - ring.error >= reach or away(piece.at(0.5)) >= reach:
            kept.append(piece)
    return kept


def _unburied(candidates: Sequence[Edge], ring: ChordRing, reach: float) -> list[Edge]:
    """The candidates without what is buried at their ends; those buried wholly are gone."""
    # first without those that lie so deep at their middle that their ends must be buried, too
    depth = ring.distances(numpy.array([edge.at(0.5) for edge in candidates])).tolist()
    candidates = [
        edge
        for edge, about in zip(candidates, depth, strict=True)
        if edge.length / 2 + LEAST_STEP * reach > reach - about - ring.error
    ]
    if not candidates:
        return []
    track = _Track(candidates)
    first = _walked(track, ring, reach, backwards=False)
    last = 1.0 - _walked(track, ring, reach, backwards=True)
    left = []
    for edge, begin, end, length in zip(candidates, first.tolist(), last.tolist(), track.length.tolist(), strict=True):
        # a hair more on either side: a crossing there must not be lost to rounding
        spare = 1e3 * EPS / length if length > 0.0 else 0.0
        begin, end = max(begin - spare, 0.0), min(end + spare, 1.0)
        if begin >= end:
            continue
        if begin == 0.0 and end == 1.0:
            left.append(edge)
        else:
            a = edge.at(begin) if begin > 0.0 else edge.a
            b = edge.at(end) if end < 1.0 else edge.b
            left.append(edge.part(begin, end, a, b))
    return left


class _Track:
    """Candidates as columns of numbers, so that a point on each is found at once."""

    def __init__(self, candidates: Sequence[Edge]) -> None:
        rows = [
            (*edge.center, edge.radius, edge.start, edge.sweep, 0.0, 0.0)
            if isinstance(edge, Arc)
            else (*edge.a, 0.0, 0.0, 0.0, edge.b[0] - edge.a[0], edge.b[1] - edge.a[1])
            for edge in candidates
        ]
        self._x, self._y, self._radius, self._start, self._sweep, self._dx, self._dy = numpy.array(rows).T
        self.length: _Numbers = numpy.array([edge.length for edge in candidates])

    def at(self, which: NDArray[numpy.intp], places: _Numbers) -> _Numbers:
        """The point at a place from 0 to 1 of each of some candidates."""
        angles = self._start[which] + places * self._sweep[which]
        x = self._x[which] + self._radius[which] * numpy.cos(angles) + places * self._dx[which]
        y = self._y[which] + self._radius[which] * numpy.sin(angles) + places * self._dy[which]
        return numpy.column_stack([x, y])


def _walked(track: _Track, ring: ChordRing, reach: float, backwards: bool) -> _Numbers:
    """How far, as a share of its length, each candidate is buried from its start, or from its end."""
    count = len(track.length)
    walked = numpy.zeros(count)
    going = numpy.arange(count)
    for _ in range(STEPS):
        if not len(going):
            break
        places = 1.0 - walked[going] if backwards else walked[going]
        step = reach - ring.distances(track.at(going, places)) - ring.error
        going, step = going[step > LEAST_STEP * reach], step[step > LEAST_STEP * reach]
        lengths = numpy.maximum(track.length[going], EPS)
        walked[going] += step / lengths
        going = going[walked[going] < 1.0]
    return numpy.minimum(walked, 1.0)

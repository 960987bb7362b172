"""Scribed words in a DXF that was read back: whether each line and arc of each word lies where it should.

Every form of every file has them as LINE and ARC, never as text: what a reader's font makes of a text, nobody knows.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence

from platekit.cutting.scribe import Scribed
from platekit.export.dxf_files.pieces import NumberedPoints, Piece, shown
from platekit.geometry import Edge, Point


def without_words(pieces: Sequence[Piece], words: Scribed, shift: Point, place: float) -> tuple[list[Piece], list[str]]:
    """The pieces that are no part of a word, and a fault for every word of which a piece is missing or astray.

    `shift` (mm) leads from a place on the plate to that in the file; a piece may be `place` (mm) off.
    """
    middles = NumberedPoints(place)
    left: dict[int, list[Piece]] = defaultdict(list)
    for piece in pieces:
        left[middles.number(piece.middle)].append(piece)
    wrong = []
    for word in words.words:
        astray: list[Edge] = []
        for edge in word.edges:
            number = middles.near(_moved(edge.at(0.5), shift))
            lying_there = [] if number is None else left[number]
            ends = [_moved(end, shift) for end in (edge.a, edge.b)]
            # A piece with these ends and this middle, run either way, answers for the stroke, and for no other: each is
            # taken out of those that are left
            for piece in lying_there:
                if _same((piece.a, piece.b), ends, place) or _same((piece.b, piece.a), ends, place):
                    lying_there.remove(piece)
                    break
            else:
                astray.append(edge)
        if astray:
            at = _moved(astray[0].at(0.5), shift)
            wrong.append(f"a stroke of the word {word.text} is missing at {shown(at)}")
    return [piece for some in left.values() for piece in some], wrong


def _same(one: Iterable[Point], other: Iterable[Point], place: float) -> bool:
    return all(math.dist(a, b) <= place for a, b in zip(one, other, strict=True))


def _moved(point: Point, shift: Point) -> Point:
    return (point[0] + shift[0], point[1] + shift[1])

"""The closed shapes that the table goes round: openings that run into each other as one, the outside last."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Literal

from msgspec import Struct

from platekit.cutting.operations import operations_of
from platekit.geometry import EPS, Index, Shape, difference, distance, edge_distance, union_loops
from platekit.placed import Layout, held


class Contour(Struct, frozen=True):
    """One closed shape to be cut, at its nominal size, in the plate frame.

    `name` is that of the opening (several, if they are one), or `outside`; `openings` are those that became one in it.
    """

    name: str
    kind: Literal["inside", "outside"]
    shape: Shape
    openings: tuple[str, ...] = ()


@held
def contours(layout: Layout) -> tuple[Contour, ...]:
    """All that the table goes round (mm), inside first; what is cut small is here as small as it is cut."""
    cuts = [(operations.opening, operations.cut) for operations in operations_of(layout) if operations.cut is not None]
    pieces, inside = cut_out(layout.outline, [shape for _, shape in cuts])
    found = []
    for one in inside:
        names = tuple(cuts[number][0] for number in one.members)
        found.append(Contour(" with ".join(names), "inside", one.shape, names))
    # a plate in pieces is refused elsewhere; its contours are named so that the refusal can show them
    for number, piece in enumerate(pieces, start=1):
        found.append(Contour("outside" if len(pieces) == 1 else f"outside, piece {number}", "outside", piece))
    return tuple(found)


class Merged(Struct, frozen=True):
    """A shape and the numbers of those that it was made from."""

    members: tuple[int, ...]
    shape: Shape


def cut_out(outline: Shape, openings: Sequence[Shape]) -> tuple[tuple[Shape, ...], tuple[Merged, ...]]:
    """The pieces (mm) that are left of an outline, and the openings wholly inside; overlapping openings as one."""
    return _cut_out(outline, tuple(openings))


@lru_cache(maxsize=64)  # several rules ask it of the same plate, and a page again after an edit of something else
def _cut_out(outline: Shape, openings: tuple[Shape, ...]) -> tuple[tuple[Shape, ...], tuple[Merged, ...]]:
    # what reaches the outside belongs to the outside: it is cut from it, and is no hole
    inside: list[Merged] = []
    across: list[Shape] = []
    for opening in merge(openings):
        if edge_distance(opening.shape, outline).distance > EPS:
            inside.append(opening)
        else:
            across.append(opening.shape)
    pieces = tuple(difference(outline, across)) if across else (outline,)
    return pieces, tuple(inside)


def merge(shapes: Sequence[Shape]) -> tuple[Merged, ...]:
    """The shapes, those that overlap taken together; what they shut in goes with them, as it would drop out.

    >>> from platekit.geometry import Disc
    >>> [one.members for one in merge([Disc((0, 0), 1), Disc((9, 0), 1), Disc((0, 1), 2)])]
    [(0, 2), (1,)]
    """
    # Sets of overlapping shapes by union-find: each points to another of its set, the leader to itself, and looking up
    # shortens the way for the next time.
    group = list(range(len(shapes)))

    def leader(number: int) -> int:
        while group[number] != number:
            group[number] = group[group[number]]
            number = group[number]
        return number

    for i, j in Index([shape.box for shape in shapes]).pairs_within(EPS):
        if distance(shapes[i], shapes[j]).distance <= EPS:
            group[leader(j)] = leader(i)
    members: dict[int, list[int]] = {}
    for number in range(len(shapes)):
        members.setdefault(leader(number), []).append(number)
    # one union for each set: those that stand alone keep their exact shape
    together: list[Merged] = []
    for numbers in members.values():
        alone = [shapes[number] for number in numbers]
        together += [Merged(tuple(numbers), one) for one in (alone if len(alone) == 1 else union_loops(alone))]
    return tuple(together)

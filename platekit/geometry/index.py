"""Which of many boxes come near each other, without trying every pair.

Few boxes are tried one by one; more go into a tree that packs neighbours into boxes of their own, level by level
(shapely's tree: sort-tile-recursive packing, Leutenegger, Lopez and Edgington 1997). Both give the same items in the
same order, so that nothing built on them depends on how many boxes there were.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from platekit.geometry.point import Box
from platekit.once import once

if TYPE_CHECKING:
    from platekit.geometry.polygons import BoxTree

FEW = 48
"""Boxes below which trying every pair is quicker than building a tree; found by timing, any value works."""


class Index:
    """Boxes (mm) sorted by place; items are named by their position in the sequence given.

    >>> list(Index([Box(0, 0, 1, 1), Box(9, 9, 10, 10), Box(2, 0, 3, 1)]).pairs_within(1.5))
    [(0, 2)]
    """

    def __init__(self, boxes: Sequence[Box]) -> None:
        self.boxes = tuple(boxes)

    @once
    def _tree(self) -> BoxTree:
        from platekit.geometry.polygons import BoxTree

        return BoxTree(self.boxes)

    def pairs_within(self, gap: float = 0.0) -> Iterator[tuple[int, int]]:
        """Pairs `(i, j)`, i < j, in rising order, whose boxes come within `gap` mm along x and along y."""
        if len(self.boxes) > FEW:
            yield from self._tree.pairs_within(gap)
            return
        for i, a in enumerate(self.boxes):
            x0, y0, x1, y1 = a.x0 - gap, a.y0 - gap, a.x1 + gap, a.y1 + gap
            for j in range(i + 1, len(self.boxes)):
                b = self.boxes[j]
                if b[0] <= x1 and x0 <= b[2] and b[1] <= y1 and y0 <= b[3]:
                    yield (i, j)

    def near(self, box: Box, gap: float = 0.0, most: int | None = None) -> list[int]:
        """The items, in rising order, whose boxes come within `gap` mm of `box` along x and along y.

        With `most`, the first so many of them: where thousands lie on each other, the rest would take long.
        """
        wide = box.grown(gap)
        if len(self.boxes) > FEW:
            return self._tree.near(wide) if most is None else self._tree.first_near(wide, most)
        return [i for i, own in enumerate(self.boxes) if own.overlaps(wide)][:most]

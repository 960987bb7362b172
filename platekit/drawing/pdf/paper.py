"""Sheets of paper and how a large drawing is spread over them at true size.

Vocabulary
    sheet      a piece of paper; mm from its lower left corner
    window     the part of a sheet that shows the drawing
    view       the drawing's own frame, mm: the plate as seen from the chosen side
    tile       the rectangle of the view that one sheet's window shows
    seam       the strip that two neighbouring tiles share, so that they can be laid over each other
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from platekit.drawing.view import View
from platekit.errors import SheetError
from platekit.geometry import Box
from platekit.placed import PaperOrder
from platekit.units import INCH, Unit

MARGIN: Final = 10.0
"""Paper left white on every side, mm: more than home printers need (common practice)."""
OVERLAP: Final = 12.0
"""Width of a seam, mm: room for a cross and for glue (common practice: 10 to 15)."""
SIZES: Final[dict[str, tuple[float, float]]] = {
    "a4": (210.0, 297.0),
    "letter": (215.9, 279.4),
    "a3": (297.0, 420.0),
    "tabloid": (279.4, 431.8),
}
"""Width and height in portrait, mm. Published: ISO 216 (A sizes), ANSI/ASME Y14.1 (A and B)."""
LARGEST_SIDE: Final = 5080.0
"""Longest side of a page, mm: 14,400 points. Published: ISO 32000-1, annex C."""
BAR_STEP: Final[dict[Unit, float]] = {"mm": 5.0, "in": INCH / 8}
"""Check bars are whole multiples of this, mm, so that they are easy to measure (ours)."""
BAR_INSET: Final = 2.0
"""Least distance of a check bar from the end of the printable paper, mm (ours)."""
MOST_SHEETS: Final = 300
"""Most sheets that one template may take (ours): beyond it nobody glues, and one large sheet is the way."""
MOST_PLACES: Final = 400
"""Most places of the seams that are tried along one direction (ours)."""
MOST_EXTRA: Final = 12
"""Most sheets added so that a part is whole on one (ours)."""


class PaperSheet(Struct, frozen=True):
    """A piece of paper as it lies before the reader, mm; `name` is what a shop calls it."""

    name: str
    width: float
    height: float

    @property
    def box(self) -> Box:
        """The whole sheet, mm."""
        return Box(0.0, 0.0, self.width, self.height)

    @property
    def printable(self) -> Box:
        """The sheet within its margins, mm."""
        return self.box.grown(-MARGIN)

    @property
    def turned(self) -> PaperSheet:
        """The same paper, lying the other way."""
        return PaperSheet(self.name, self.height, self.width)

    @property
    def lies(self) -> str:
        """Whether it lies in portrait or landscape."""
        return "portrait" if self.height >= self.width else "landscape"


def sheet_of(paper: PaperOrder) -> PaperSheet | None:
    """The sheet that a spec names, in portrait; None for one that is as large as the plate needs."""
    if isinstance(paper.size, tuple):
        return PaperSheet("your own size", min(paper.size), max(paper.size))
    return None if paper.size == "single" else PaperSheet(paper.size, *SIZES[paper.size])


def check_frame(sheet: PaperSheet, unit: Unit) -> Box:
    """The rectangle whose four sides are the check bars; its sides are round lengths in the unit; mm."""
    step, outer = BAR_STEP[unit], sheet.printable
    width, height = (step * math.floor((size - 2 * BAR_INSET) / step) for size in (outer.width, outer.height))
    x, y = outer.center
    return Box(x - width / 2, y - height / 2, x + width / 2, y + height / 2)


class Tile(Struct, frozen=True):
    """What one sheet shows: its rectangle of the view, and its column from the left and row from the top.

    An `extra` sheet lies over the others: it shows something whole that their seams divide. `window` is where on the
    `sheet` the rectangle goes.
    """

    sheet: PaperSheet
    window: Box
    box: Box
    column: int
    row: int
    extra: bool = False

    @property
    def view(self) -> View:
        """How what is drawn lies on this sheet, at true size."""
        return View(1.0, self.window.x0 - self.box.x0, self.window.y0 - self.box.y0)


class Tiling(Struct, frozen=True):
    """A drawing spread over sheets of one kind: tiles row by row from the top left, then the extra ones.

    `missed` counts the parts that were to be whole on one sheet and are not.
    """

    columns: int
    rows: int
    tiles: tuple[Tile, ...]
    missed: int

    @property
    def seams_x(self) -> tuple[float, ...]:
        """Middle of every upright seam, in the view, from the left, mm."""
        first = self.tiles[: self.columns]
        return tuple((a.box.x1 + b.box.x0) / 2 for a, b in pairwise(first))

    @property
    def seams_y(self) -> tuple[float, ...]:
        """Middle of every level seam, in the view, from below, mm."""
        first = self.tiles[: self.columns * self.rows : self.columns][::-1]
        return tuple((a.box.y1 + b.box.y0) / 2 for a, b in pairwise(first))

    @property
    def box(self) -> Box:
        """All that the sheets show together, mm of the view."""
        top_left, bottom_right = self.tiles[0].box, self.tiles[self.columns * self.rows - 1].box
        return Box(top_left.x0, bottom_right.y0, bottom_right.x1, top_left.y1)


Way = tuple[PaperSheet, Box]
"""A sheet as it may lie, and its window."""


def tiling_over(sheets: Sequence[Way], content: Box, wholes: Sequence[Box], parts: Sequence[Box]) -> Tiling:
    """The best way to spread `content` (a box of the view) over sheets of one kind.

    All in mm. `sheets` are the ways that the paper may lie, each with its window. `wholes` are to be whole on some
    sheet, on an extra one if the seams cannot avoid them; `parts` only if it costs no paper. Fewest wholes missed comes
    first, then fewest sheets, then the order given. Raises `SheetError` when it would take more than
    `MOST_SHEETS`.
    """
    # counted before anything is laid out: a plate of ten metres on small sheets would take thousands of tiles
    small = [(sheet, window) for sheet, window in sheets if sheets_needed(content, window) <= MOST_SHEETS]
    if not small:
        sheet, window = min(sheets, key=lambda way: sheets_needed(content, way[1]))
        count = sheets_needed(content, window)
        raise SheetError(
            f"a plate that takes {count} sheets of {sheet.name}, and {MOST_SHEETS} are the most",
            "use single or a larger sheet",
        )
    tilings = [_tiling(way, sheets, content, wholes, parts) for way in small]
    # a whole pattern on one sheet is worth a sheet more: a pattern that is glued cannot be trusted to a tenth
    return min(tilings, key=lambda tiling: (tiling.missed, len(tiling.tiles)))


def sheets_needed(content: Box, window: Box) -> int:
    """How many windows it takes at least to show the content, both in mm."""
    return _count(content.width, window.width) * _count(content.height, window.height)


def _tiling(way: Way, ways: Sequence[Way], content: Box, wholes: Sequence[Box], parts: Sequence[Box]) -> Tiling:
    """The drawing spread over sheets that lie in one way; extra sheets may lie in any."""
    window = way[1]
    across = _starts(content.x0, content.x1, window.width, _spans(wholes, 0), _spans(parts, 0))
    up = _starts(content.y0, content.y1, window.height, _spans(wholes, 1), _spans(parts, 1))
    grid = [
        Tile(*way, Box(x, y, x + window.width, y + window.height), column, row)
        for row, y in enumerate(reversed(up))
        for column, x in enumerate(across)
    ]
    divided = [
        whole
        for whole in wholes
        if not any(
            tile.box.x0 <= whole.x0 + 1e-6
            and tile.box.y0 <= whole.y0 + 1e-6
            and whole.x1 <= tile.box.x1 + 1e-6
            and whole.y1 <= tile.box.y1 + 1e-6
            for tile in grid
        )
    ]
    # A pattern that a seam runs through can be glued no better than the sheets are: such wholes are shown once more on
    # extra sheets. Largest first, and on each sheet whatever else fits with it: not the fewest sheets there could be,
    # but close, and the same on every run.
    extra: list[Tile] = []
    missed, left = 0, sorted(divided, key=lambda box: round(box.width * box.height, 6), reverse=True)
    while left:
        box, rest = left[0], []
        for other in left[1:]:
            both = box.union(other)
            if _lying_for(ways, both) is None:
                rest.append(other)
            else:
                box = both
        lying = _lying_for(ways, box)
        if lying is None or len(extra) == MOST_EXTRA:
            missed += len(left) - len(rest)
        else:
            (mx, my), dx, dy = box.center, lying[1].width / 2, lying[1].height / 2
            extra.append(Tile(*lying, Box(mx - dx, my - dy, mx + dx, my + dy), -1, -1, extra=True))
        left = rest
    return Tiling(len(across), len(up), (*grid, *extra), missed)


def _lying_for(ways: Sequence[Way], box: Box) -> Way | None:
    """The first way to lay the sheet whose window holds a box of that size."""
    return next((way for way in ways if box.width <= way[1].width + 1e-6 and box.height <= way[1].height + 1e-6), None)


# ---------------------------------------------------------------------------------------- one direction


def _count(length: float, window: float) -> int:
    return 1 if length <= window else math.ceil((length - OVERLAP) / (window - OVERLAP) - 1e-9)


def _starts(
    low: float, high: float, window: float, wholes: NDArray[np.float64], parts: NDArray[np.float64]
) -> tuple[float, ...]:
    """Where the tiles start along one direction: the place that divides fewest wholes, then parts, then the middle."""
    # The tiles have some slack together and may start anywhere within it. What a seam divides changes only where an
    # edge of a part passes an edge of a tile: so those starts, the middle and both ends are all that need be tried.
    count, stride = _count(high - low, window), window - OVERLAP
    slack = max(count * stride + OVERLAP - (high - low), 0.0)
    middle = low - slack / 2
    steps: NDArray[np.float64] = np.arange(count, dtype=np.float64) * stride
    room = max(MOST_PLACES // (4 * count), 1)
    edges = np.concatenate([wholes[:room], parts[:room]])[:, :, None] - steps
    tried = np.concatenate([[middle, low - slack, low], edges[:, 0].ravel(), edges[:, 1].ravel() - window])
    # each once and in order, without `np.unique`, which imports arrays with masks
    starts = sorted(set(tried[(tried >= low - slack - 1e-9) & (tried <= low + 1e-9)].tolist()))

    def rank(start: float) -> tuple[int, int, float]:
        tiles = steps + start
        return _divided(tiles, window, wholes), _divided(tiles, window, parts), round(abs(start - middle), 6)

    best = min(starts, key=rank)
    return tuple(float(best + step) for step in steps)


def _spans(boxes: Sequence[Box], axis: int) -> NDArray[np.float64]:
    return np.array([(box[axis], box[axis + 2]) for box in boxes], dtype=np.float64).reshape(-1, 2)


def _divided(starts: NDArray[np.float64], window: float, spans: NDArray[np.float64]) -> int:
    """How many of the spans lie whole in no tile."""
    from_left = spans[:, 0][:, None] >= starts[None, :] - 1e-6
    to_right = spans[:, 1][:, None] <= starts[None, :] + window + 1e-6
    return int((~(from_left & to_right).any(axis=1)).sum())

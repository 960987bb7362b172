"""Tables and lists that flow over pages.

Vocabulary
    row      a piece that is never divided: its height, and how to draw it at a place
    block    a title, a head that is repeated on every page, and rows
    page     what of the blocks goes on one page, each piece with its top

All in mm from the lower left of the page; a row is drawn downward from its top.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from typing import Final

from msgspec import Struct

from platekit.drawing.pdf.letters import LINE, POINT, Face, letters, text_width
from platekit.drawing.pdf.pen import Pen
from platekit.drawing.text import wrapped
from platekit.geometry import Box

SIZE: Final = 8.0
"""Size of the words in tables, points (ours: read at arm's length)."""
TITLE_SIZE: Final = 10.0
"""Size of a block's title, points (ours)."""
STEP: Final = SIZE * LINE / POINT
"""Distance of two lines of a table, mm."""
CELL_AIR: Final = 1.0
"""White at both sides of a cell's words, mm (ours)."""
RIGHT_AIR: Final = 2.5
"""More white behind figures that stand at the right of their column, where words follow at the left of theirs, mm
(ours): else both read as one."""
ROW_AIR: Final = 0.7
"""White above and below a row's words, mm (ours)."""
BLOCK_AIR: Final = 4.5
"""White between two blocks, mm (ours)."""
MOST_SPARE: Final = 4.0
"""Most that a column is widened where there is room, mm (ours): figures far apart are hard to read across."""
NARROWEST: Final = 9.0
"""Least width of a column, mm (ours)."""
LEAST_ROWS: Final = 2
"""So many rows at least stand under a title before a page ends, and where it goes on after that (ours)."""
WHOLE_ROWS: Final = 6
"""A block of so few rows is kept on one page (ours): whoever works by it then turns no page in the middle."""

MOST_KEPT: Final = 0.25
"""But not where it is higher than so much of a page (ours): too much of the page before would stay white."""

LEAST_LAST: Final = 0.45
"""A last page filled less than this shares with those before it, where no block has to be divided for that (ours):
a few lines alone on a page are not turned to."""
GOES_ON: Final = "continued"
"""Behind the title of what goes on on another page."""
SHARES: Final = 40
"""Into so many steps the height of a page is divided to find how far each is filled then (ours)."""

TO_FILL: Final = "□"
"""A cell that begins so is a box to write in by hand; what follows, such as a unit, stands behind the box."""
FILL_WIDE: Final = 17.0
FILL_HIGH: Final = 6.6
"""Least width of a column with such boxes, and height of a row with one, mm (ours: a figure written by hand)."""

FOLD_GAP: Final = 10.0
"""White between the two halves of a folded table, mm (ours)."""
FOLDED_FROM, FOLDED_TO = 8, 60
"""Tables of so many rows are folded where there is room beside them (ours): fewer are read sooner in one piece, and
half of more may be higher than a page."""

LAST_FIGURE: Final = re.compile(r"\d+(?=(?:\.\d+)?[^\d]*$)")
"""The whole part of the last figure of a cell."""

Draw = Callable[[Pen, float, float], None]
"""Draws a row: pen, left edge, top."""


class FlowRow(Struct, frozen=True):
    """A piece that is never divided."""

    height: float
    draw: Draw


class Block(Struct, frozen=True):
    """A title, a head that is repeated where a page begins, and rows."""

    title: FlowRow
    head: FlowRow | None
    rows: tuple[FlowRow, ...]
    whole: bool = False
    """Never divided, as its rows are read in another order than from top to bottom."""
    again: FlowRow | None = None
    """The title on further pages, where it says that it goes on; None to repeat the first."""


class Column(Struct, frozen=True):
    """A column of a table: its heading, whether figures stand at its right, and whether its words are bold."""

    heading: str
    right: bool = False
    face: Face = "regular"


Piece = tuple[float, FlowRow]
"""A row and its top."""


def pages_of_blocks(blocks: Sequence[Block], box: Box) -> list[list[Piece]]:
    """The blocks on as many pages as they take, one below the other; `box` is the room on each page, mm.

    A title stays with its first rows, no row goes on alone on the next page, and a head is repeated. A row higher than
    a page stands alone and is cut off. A last page that would stay nearly empty shares with those before it.
    """
    pages, divided = _filled(blocks, box)
    if len(pages) < 2 or _least_filled(pages[-1:], box) >= LEAST_LAST:
        return pages
    # As in columns: the foot of all pages but the last is raised as long as no further page is needed for that. Best
    # are the pages on which the fewest blocks go on from the one before, of these those filled most evenly.
    tried = [(pages, divided)]
    for step in range(1, SHARES):
        more, also_divided = _filled(blocks, box, box.y0 + step * box.height / SHARES, len(pages) - 1)
        if len(more) == len(pages):
            tried.append((more, also_divided))
    return min(tried, key=lambda one: (one[1], -_least_filled(one[0], box)))[0]


def _least_filled(pages: Sequence[Sequence[Piece]], box: Box) -> float:
    """The share of the least filled page, rounded so that it is the same on every processor."""
    return round(min(box.y1 - min(top - row.height for top, row in page) for page in pages) / box.height, 6)


def _filled(
    blocks: Sequence[Block], box: Box, raised: float | None = None, count: int = 0
) -> tuple[list[list[Piece]], int]:
    """The pages, and how often a block goes on on the next one; on the first `count` the foot is `raised` (mm)."""
    pages: list[list[Piece]] = [[]]
    top, divided = box.y1, 0
    for block in blocks:
        foot = box.y0 if raised is None or len(pages) > count else raised
        # a title left alone at the foot of a page is read as the end of what stands above it
        air = BLOCK_AIR if pages[-1] else 0.0
        least = LEAST_ROWS
        if len(block.rows) <= WHOLE_ROWS and sum(row.height for row in block.rows) < MOST_KEPT * box.height:
            least = WHOLE_ROWS
        if block.whole:
            least = len(block.rows)
        first = sum(row.height for row in (block.title, *_head(block), *block.rows[:least]))
        if pages[-1] and top - air - first < foot:
            pages.append([])
            top, air = box.y1, 0.0
        top -= air
        for row in (block.title, *_head(block)):
            pages[-1].append((top, row))
            top -= row.height
        last = len(block.rows) - LEAST_ROWS
        for index, row in enumerate(block.rows):
            # the last rows go on together: one alone under a repeated head is overlooked
            kept = block.rows[last:] if index == last and index >= least else (row,)
            foot = box.y0 if raised is None or len(pages) > count else raised
            if top - sum(one.height for one in kept) < foot and pages[-1]:
                pages.append([])
                top, divided = box.y1, divided + 1
                for again in (block.again or block.title, *_head(block)):
                    pages[-1].append((top, again))
                    top -= again.height
            pages[-1].append((top, row))
            top -= row.height
    return [page for page in pages if page], divided


def draw_page(pen: Pen, pieces: Sequence[Piece], left: float) -> None:
    """Draws what goes on one page, from `left` (mm) on."""
    for top, row in pieces:
        row.draw(pen, left, top)


def _head(block: Block) -> tuple[FlowRow, ...]:
    return () if block.head is None else (block.head,)


# ---------------------------------------------------------------------------------------------- blocks


def table(
    title: str,
    columns: Sequence[Column],
    rows: Sequence[Sequence[str]],
    width: float,
    note: str = "",
    fold: bool = False,
) -> Block:
    """A table `width` mm wide; columns get the room that their words need, and long ones are wrapped.

    A column in which nothing stands is left out. `note` stands under the title in small print. With `fold` a long table
    that is less than half as wide as the page goes on beside itself.
    """
    shown = [k for k, column in enumerate(columns) if not column.heading or not rows or any(row[k] for row in rows)]
    columns, rows = [columns[k] for k in shown], [[row[k] for k in shown] for row in rows]
    whole = (width - FOLD_GAP) / 2
    widths = _widths(columns, rows, width)
    folded = fold and FOLDED_FROM <= len(rows) <= FOLDED_TO and sum(_needs(columns, rows)) <= whole
    if folded:
        widths = _widths(columns, rows, whole)
    ends = _ends(columns)
    cells = [
        [
            wrapped(text, wide - 2 * CELL_AIR - end, letters(SIZE, column.face))
            for text, wide, end, column in zip(row, widths, ends, columns, strict=True)
        ]
        for row in rows
    ]
    heads = [
        wrapped(column.heading, wide - 2 * CELL_AIR - end, letters(SIZE))
        for column, wide, end in zip(columns, widths, ends, strict=True)
    ]
    units = [
        max((text_width(unit, SIZE) + 0.8 for row in rows if (unit := _unit(row[index]))), default=0.0)
        for index in range(len(columns))
    ]
    tails = [
        max((_tail(row[index], column.face) for row in rows), default=0.0) if column.right else 0.0
        for index, column in enumerate(columns)
    ]
    bold = [Column(c.heading, c.right, "bold") for c in columns]
    head = _table_row(heads, widths, bold, [0.0] * len(columns), units, rule=0.3)
    flowing = [_table_row(row, widths, columns, tails, units, rule=0.1) for row in cells]
    if not folded:
        return titled(title, width, tuple(flowing), note, head)
    half = (len(flowing) + 1) // 2
    step = sum(widths) + FOLD_GAP
    beside = [*flowing[half:], None][:half]
    pairs = [_pair(one, other, step) for one, other in zip(flowing[:half], beside, strict=True)]
    return Block(title_row(title, width, note), _pair(head, head, step), tuple(pairs), whole=True)


def _pair(one: FlowRow, other: FlowRow | None, step: float) -> FlowRow:
    """Two rows beside each other, the second `step` mm to the right."""

    def draw(pen: Pen, left: float, top: float) -> None:
        one.draw(pen, left, top)
        if other is not None:
            other.draw(pen, left + step, top)

    return FlowRow(max(one.height, other.height if other is not None else 0.0), draw)


def _ends(columns: Sequence[Column]) -> list[float]:
    """More white at the right of each column, mm: behind figures before words."""
    after = [*columns[1:], None]
    return [
        RIGHT_AIR if one.right and other is not None and not other.right else 0.0
        for one, other in zip(columns, after, strict=True)
    ]


def _unit(cell: str) -> str:
    """What stands behind a box to write in."""
    return cell.removeprefix(TO_FILL).strip() if cell.startswith(TO_FILL) else ""


def _tail(cell: str, face: Face) -> float:
    """How wide a cell is from the decimal point of its last figure on, mm; without a point, from where it would be."""
    found = LAST_FIGURE.search(cell)
    return text_width(cell[found.end() :], SIZE, face) if found else 0.0


def _needs(columns: Sequence[Column], rows: Sequence[Sequence[str]]) -> list[float]:
    """The width that the words of each column need, mm, with figures whose decimal points stand below each other."""
    needs = []
    for index, (column, end) in enumerate(zip(columns, _ends(columns), strict=True)):
        boxes = [row[index] for row in rows if row[index].startswith(TO_FILL)]
        cells = [row[index] for row in rows if not row[index].startswith(TO_FILL)]
        tails = [_tail(cell, column.face) if column.right else 0.0 for cell in cells]
        before = [text_width(cell, SIZE, column.face) - tail for cell, tail in zip(cells, tails, strict=True)]
        words = max(before, default=0.0) + max(tails, default=0.0)
        words = max(words, text_width(column.heading, SIZE, "bold"))
        units = [text_width(unit, SIZE) + 0.8 for unit in map(_unit, boxes) if unit]
        least = FILL_WIDE + max(units, default=0.0) if boxes else NARROWEST
        needs.append(max(words + 2 * CELL_AIR + 0.3, least) + end)
    return needs


def _widths(columns: Sequence[Column], rows: Sequence[Sequence[str]], width: float) -> list[float]:
    """Widths of the columns, together at most `width`: what they need, the widest shrunk if that is too much."""
    needs = _needs(columns, rows)
    over = sum(needs) - width
    if over <= 0:
        spare = min(-over / len(needs), MOST_SPARE)
        return [need + spare for need in needs]
    # The widths are cut down to one level, the highest that lets them fit; narrower columns keep what they need.
    # Halving sixty times finds the level to the last bit, whatever the columns
    low, high = NARROWEST, max(needs)
    for _ in range(60):
        level = (low + high) / 2
        low, high = (low, level) if sum(min(need, level) for need in needs) > width else (level, high)
    scale = width / sum(min(need, low) for need in needs)
    return [min(need, low) * scale for need in needs]


def _table_row(
    cells: Sequence[tuple[str, ...]],
    widths: Sequence[float],
    columns: Sequence[Column],
    tails: Sequence[float],
    units: Sequence[float],
    rule: float,
) -> FlowRow:
    """One row; `tails` (mm) is what each column keeps free behind decimal points, `units` behind boxes to write in."""
    height = max(max(map(len, cells), default=1), 1) * STEP + 2 * ROW_AIR
    fill = any(lines and lines[0].startswith(TO_FILL) for lines in cells)
    if fill:
        height = max(height, FILL_HIGH)
    ends = _ends(columns)

    def draw(pen: Pen, left: float, top: float) -> None:
        x = left
        for lines, width, column, tail, unit, end in zip(cells, widths, columns, tails, units, ends, strict=True):
            right = x + width - CELL_AIR - end
            if lines and lines[0].startswith(TO_FILL):
                # all boxes of a column are as wide as that before the longest unit
                pen.box(Box(x + CELL_AIR, top - height + 0.9, right - unit, top - 0.9))
                said = " ".join(lines).removeprefix(TO_FILL).strip()
                pen.text((right - unit + 0.8, top - height / 2 - 0.3 * STEP), said, SIZE)
                x += width
                continue
            # level with the middle of the boxes, where the row has any
            first = top - ((height - len(lines) * STEP) / 2 if fill else ROW_AIR) - 0.8 * STEP
            for index, line in enumerate(lines):
                y = first - index * STEP
                if column.right:
                    # decimal points stand below each other, where there is room for that
                    room = right - x - CELL_AIR - text_width(line, SIZE, column.face)
                    shift = tail - _tail(line, column.face) if LAST_FIGURE.search(line) else 0.0
                    pen.text((right - min(max(shift, 0.0), max(room, 0.0)), y), line, SIZE, column.face, "right")
                else:
                    pen.text((x + CELL_AIR, y), line, SIZE, column.face)
            x += width
        pen.line((left, top - height), (left + sum(widths), top - height), rule)

    return FlowRow(height, draw)


def items(title: str, lines: Sequence[str], width: float, sign: str = "") -> Block:
    """A list of sentences, each wrapped, and before each the `sign`: `1` counts them, `□` is a box to tick; mm."""
    rows = tuple(_item(line, width, f"{index}." if sign == "1" else sign) for index, line in enumerate(lines, start=1))
    return titled(title, width, rows)


def beside(one: Block, other: Block, step: float) -> Block:
    """Two short lists beside each other, never divided, the second `step` mm to the right; made for their widths."""
    rows = _pair(_stacked(one.rows), _stacked(other.rows), step)
    return Block(_pair(one.title, other.title, step), None, (rows,), whole=True)


def _stacked(rows: Sequence[FlowRow]) -> FlowRow:
    """Rows one below the other as one."""

    def draw(pen: Pen, left: float, top: float) -> None:
        for row in rows:
            row.draw(pen, left, top)
            top -= row.height

    return FlowRow(sum(row.height for row in rows), draw)


def _item(line: str, width: float, mark: str) -> FlowRow:
    indent = 6.0 if mark else 0.0
    lines = wrapped(line, width - indent, letters(SIZE))

    def draw(pen: Pen, left: float, top: float) -> None:
        if mark == "□":  # drawn, not written: the typeface has no such sign, and a box wants room for a tick
            pen.box(Box(left + 0.6, top - 3.2, left + 3.2, top - 0.6))
        elif mark:
            pen.text((left + 0.4, top - 0.8 * STEP), mark, SIZE)
        for index, line in enumerate(lines):
            pen.text((left + indent, top - (index + 0.8) * STEP), line, SIZE)

    return FlowRow(len(lines) * STEP + 1.0, draw)


def titled(title: str, width: float, rows: tuple[FlowRow, ...], note: str = "", head: FlowRow | None = None) -> Block:
    """A block under its title and note; on further pages the title says that it goes on."""
    return Block(
        title_row(title, width, note), head, rows, again=title_row(f"{title}, {GOES_ON}" if title else "", width, note)
    )


def title_row(title: str, width: float, note: str = "") -> FlowRow:
    """A title, and a note in small print below it, in lines of at most `width` mm."""
    heads = wrapped(title, width, letters(TITLE_SIZE, "bold"))
    notes = wrapped(note, width, letters(SIZE)) if note else ()
    high = TITLE_SIZE * LINE / POINT

    def draw(pen: Pen, left: float, top: float) -> None:
        for index, line in enumerate(heads):
            pen.text((left, top - (index + 0.8) * high), line, TITLE_SIZE, "bold")
        for index, line in enumerate(notes):
            pen.text((left, top - len(heads) * high - (index + 0.8) * STEP), line, SIZE)

    return FlowRow(len(heads) * high + len(notes) * STEP + 1.0, draw)

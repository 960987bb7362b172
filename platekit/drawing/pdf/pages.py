"""What the pages of lists have in common, on the bench sheet and on the checking page: head, verdict, cautions."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from platekit.checks.finding import Verdict
from platekit.drawing.cautions import CLEAR_TO_CUT, NOT_FOR_CUTTING, SHORT, TO_DO, TO_KNOW
from platekit.drawing.like_findings import count_words
from platekit.drawing.pdf.flow import FOLD_GAP, Block, Piece, beside, draw_page, items
from platekit.drawing.pdf.letters import LINE, POINT, SMALLEST_TEXT, letters, text_width
from platekit.drawing.pdf.paper import PaperSheet
from platekit.drawing.pdf.pen import Pen
from platekit.drawing.text import shortened, wrapped
from platekit.geometry import Box
from platekit.placed import Layout

HEAD: Final = 8.0
"""Height of the line that heads a page, mm (ours)."""
MOST_PLACE: Final = 0.65
"""Most of the line beside the verdict that tells spec, revision and page; the title has two lines if need be (ours)."""
STAMP_GREY: Final = 0.55
"""Grey of the stamp beside and behind drawings: they stay readable, and a copier still shows it (ours)."""
LIST_STAMP_GREY: Final = 0.8
"""Grey of the stamp behind small print, which it would make hard to read (ours)."""
SMALL_LINE: Final = SMALLEST_TEXT * LINE / POINT
"""Height of a line of small print, mm."""


def list_field(paper: PaperSheet) -> Box:
    """The room for lists on a page, mm."""
    inner = paper.printable
    foot = len(wrapped(SHORT, inner.width, letters(SMALLEST_TEXT))) * SMALL_LINE
    return Box(inner.x0, inner.y0 + foot + 2, inner.x1, inner.y1 - HEAD - 3)


def closing(width: float) -> Block:
    """What ends every paper of lists, `width` mm wide: the cautions to tick off, and beside them what it is worth."""
    each = (width - FOLD_GAP) / 2
    return beside(items("Cautions", TO_DO, each, "□"), items("About this sheet", TO_KNOW, each, "·"), each + FOLD_GAP)


def draw_list_page(
    pen: Pen,
    layout: Layout,
    verdict: Verdict,
    paper: PaperSheet,
    pieces: Sequence[Piece],
    which: str,
    drawn: Callable[[], None] | None = None,
) -> None:
    """A whole page of lists; `which` says which page it is, `drawn` draws what is no list into the same field."""
    inner = paper.printable
    pen.page(paper.width, paper.height)
    if not verdict.clear:
        pen.stamp(inner.center, NOT_FOR_CUTTING, min(56.0, inner.width / 3.5), 50, LIST_STAMP_GREY)
    y = inner.y1 - 5.4
    left = draw_status(pen, verdict, inner.x1, y)
    # a long name may be cut off; which page of how many it is, and of which revision, never is
    tail = f"  ·  revision {layout.spec.revision}  ·  {which}"
    most = (left - inner.x0) * MOST_PLACE
    size = 8.0 if text_width(layout.spec.name + tail, 8) <= most else SMALLEST_TEXT
    room = max(most - text_width(tail, size), text_width("mmm", size))
    place = shortened(layout.spec.name, room, letters(size)) + tail
    left -= text_width(place, size) + 4
    pen.text((left, y), place, size)
    pen.title((inner.x0, y), layout.title, left - inner.x0 - 3, 10, 8)
    pen.line((inner.x0, inner.y1 - HEAD), (inner.x1, inner.y1 - HEAD), 0.35)
    draw_page(pen, pieces, inner.x0)
    if drawn is not None:
        drawn()
    lines = wrapped(SHORT, inner.width, letters(SMALLEST_TEXT))
    for index, line in enumerate(lines):
        pen.text((inner.x0, inner.y0 + (len(lines) - index - 1) * SMALL_LINE + 0.6), line, SMALLEST_TEXT)
    pen.end_page()


def draw_status(pen: Pen, verdict: Verdict, right: float, y: float) -> float:
    """The verdict, ending at x = `right` on the base line `y` (mm); gives back where its words begin."""
    if verdict.clear:
        pen.text((right, y), CLEAR_TO_CUT, 10, "bold", "right")
        return right - text_width(CLEAR_TO_CUT, 10, "bold")
    said = f"{NOT_FOR_CUTTING}: {count_words(verdict.open('stop'), 'stop')}"
    left = right - text_width(said, 10, "bold") - 3
    pen.box(Box(left, y - 1.8, right, y + 4.0), width=0, fill=0.0)
    pen.text((left + 1.5, y), said, 10, "bold", grey=1.0)
    return left

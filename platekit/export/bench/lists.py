"""Papers for the bench that are lists only: pages under one head, on the paper of the bench sheet."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from platekit.checks.finding import Verdict
from platekit.drawing.pdf.flow import Block, pages_of_blocks
from platekit.drawing.pdf.pages import draw_list_page, list_field
from platekit.drawing.pdf.pen import Pen
from platekit.export.bench.sheet import paper_of
from platekit.placed import Layout


def list_paper(layout: Layout, verdict: Verdict, what: str, *groups: Callable[[float], Iterator[Block]]) -> bytes:
    """A PDF of blocks; each group makes its own for a width in mm, and begins on a page of its own.

    `what` says in head and subject which paper it is.
    """
    paper = paper_of(layout)
    field = list_field(paper)
    pages = [page for blocks in groups for page in pages_of_blocks(list(blocks(paper.printable.width)), field)]
    pen = Pen(layout.title, f"{layout.spec.name}, revision {layout.spec.revision}, {what}")
    for number, pieces in enumerate(pages, start=1):
        draw_list_page(pen, layout, verdict, paper, pieces, f"{what}, page {number} of {len(pages)}")
    return pen.finished()

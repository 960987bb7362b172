"""The list of what to buy and to cut on the bench sheet: two tables with boxes to tick, and totals by part."""

from __future__ import annotations

from collections.abc import Iterator

from platekit.drawing.pdf.flow import Block, Column, table
from platekit.export.text.parts_list import HEADS, NOTE, line_rows, total_rows
from platekit.placed import Layout


def list_blocks(layout: Layout, width: float) -> Iterator[Block]:
    """What to buy, what to cut, and what each part of the job comes to; tables `width` mm wide."""
    note = NOTE
    for get, title in (("buy", "To buy"), ("cut", "To cut")):
        rows = line_rows(layout, get)
        if rows:
            columns = [
                Column(head, index == 0, "bold" if index == 1 else "regular") for index, head in enumerate(HEADS)
            ]
            yield table(title, columns, rows, width, note)
            note = ""
    heads = ["part of the job", "to buy", "to cut", "mass of what is cut", "with something to settle"]
    columns = [Column(head, index > 0, "bold" if index == 0 else "regular") for index, head in enumerate(heads)]
    yield table("Pieces by part of the job", columns, total_rows(layout), width)

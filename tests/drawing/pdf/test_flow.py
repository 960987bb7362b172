"""Tables that flow over pages: figures below figures, boxes of one width, and no row alone on the next page."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from platekit.drawing.pdf.flow import LEAST_ROWS, TO_FILL, Block, Column, FlowRow, pages_of_blocks, table
from platekit.drawing.pdf.letters import text_width
from platekit.geometry import Box

SIZE = 8.0


class Seen:
    """A pen that keeps what it is told."""

    def __init__(self) -> None:
        self.words: list[tuple[float, str]] = []
        self.boxes: list[Box] = []

    def text(self, at: Any, text: str, size: float, face: str = "regular", align: str = "left") -> None:
        left = at[0] - (text_width(text, size, face) if align == "right" else 0.0)
        self.words.append((left, text))

    def box(self, box: Box) -> None:
        self.boxes.append(box)

    def line(self, *_: Any) -> None:
        pass


def drawn(block: Block) -> Seen:
    pen = Seen()
    for row in block.rows:
        row.draw(pen, 0.0, 0.0)  # type: ignore[arg-type]
    return pen


def test_decimal_points_of_a_column_stand_below_each_other() -> None:
    figures = ["62.62", "-4.4", "0", "R13.2", "170.21 to 217.87"]
    seen = drawn(
        table("t", [Column("name"), Column("X", right=True), Column("size")], [["a", f, "b"] for f in figures], 180)
    )
    points = []
    for left, words in seen.words:
        if words in figures:
            whole = words.rpartition(".")[0] or words
            points.append(left + text_width(whole, SIZE))
    assert len(points) == len(figures)
    assert points == pytest.approx([points[0]] * len(figures))


def test_figures_and_the_words_behind_them_do_not_read_as_one() -> None:
    seen = drawn(table("t", [Column("Y", right=True), Column("size")], [["47.84", "Ø11"]], 180))
    (figure, said), (words, _) = seen.words
    assert words - (figure + text_width(said, SIZE)) >= 4.0


def test_boxes_to_write_in_are_as_wide_as_a_hand_needs_whatever_unit_stands_behind() -> None:
    rows = [["noise", f"{TO_FILL} dB(A)"], ["heat", f"{TO_FILL} °C"], ["belt", TO_FILL]]
    seen = drawn(table("t", [Column("what"), Column("found")], rows, 180))
    widths = [box.width for box in seen.boxes]
    assert min(widths) >= 14.0
    assert widths == pytest.approx([widths[0]] * 3)


def test_a_long_narrow_table_goes_on_beside_itself_and_keeps_its_order() -> None:
    rows = [[f"row {number}", str(number)] for number in range(21)]
    block = table("t", [Column("name"), Column("X", right=True)], rows, 180, fold=True)
    assert len(block.rows) == 11
    assert block.whole
    names = [words for left, words in sorted(drawn(block).words, key=lambda one: one[0] > 5) if words.startswith("row")]
    assert names == [row[0] for row in rows]
    wide = [["a long name that leaves no room for another half beside it " * 2, "1"]] * 21
    assert len(table("t", [Column("name"), Column("X", right=True)], wide, 180, fold=True).rows) == 21


@given(st.lists(st.integers(1, 40), min_size=1, max_size=6), st.floats(40, 120))
@settings(max_examples=200)
def test_no_row_goes_on_alone_on_the_next_page(counts: list[int], high: float) -> None:
    blocks, rows = [], {}
    for number, count in enumerate(counts):
        made = tuple(FlowRow(5.0, lambda *_: None) for _ in range(count))
        rows.update({id(row): (number, index, count) for index, row in enumerate(made)})
        blocks.append(Block(FlowRow(6.0, lambda *_: None), FlowRow(5.0, lambda *_: None), made))
    pages = pages_of_blocks(blocks, Box(0, 0, 100, high))
    assert [rows[id(row)] for page in pages for _, row in page if id(row) in rows] == [
        (number, index, count) for number, count in enumerate(counts) for index in range(count)
    ]
    for page in pages:
        assert all(top - row.height >= -1e-9 for top, row in page)
        last = [rows[id(row)] for _, row in page if id(row) in rows]
        alone = [
            one
            for one in last
            if one[1] == one[2] - 1 and one[2] > LEAST_ROWS and (one[0], one[1] - 1, one[2]) not in last
        ]
        assert not alone

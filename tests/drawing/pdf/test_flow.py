"""Tables that flow over pages: figures below figures, boxes of one width, and no row alone on the next page."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from platekit.drawing.pdf.flow import (
    LEAST_LAST,
    LEAST_ROWS,
    TO_FILL,
    Block,
    Column,
    FlowRow,
    beside,
    items,
    pages_of_blocks,
    table,
)
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


@given(st.integers(1, 40))
def test_a_last_page_of_a_few_lines_shares_with_those_before(count: int) -> None:
    """No further page for it: of like blocks that are never divided each page holds as many as its neighbours do."""
    room, high = 6, 180.0  # six blocks of 26 mm with 4.5 mm between them
    made = [tuple(FlowRow(5.0, lambda *_: None) for _ in range(4)) for _ in range(count)]
    blocks = [Block(FlowRow(6.0, lambda *_: None), None, rows) for rows in made]
    pages = pages_of_blocks(blocks, Box(0, 0, 100, high))
    held = [sum(any(row is one.title for one in blocks) for _, row in page) for page in pages]
    full = -(-count // room)
    last = count - (full - 1) * room
    assert sum(held) == count
    assert len(held) == full
    if full == 1 or 26 * last + 4.5 * (last - 1) >= LEAST_LAST * high:
        assert held == [*[room] * (full - 1), last]
    else:
        best = max(
            min(each, count - (full - 1) * each) for each in range(1, room + 1) if count - (full - 1) * each <= room
        )
        assert min(held) == best


def test_two_pages_of_unlike_length_are_evened_out_between_blocks() -> None:
    blocks = [items(f"Block {number}", ["word"] * 6, 180) for number in range(9)]
    high = sum(row.height for one in blocks[:8] for row in (one.title, *one.rows)) + 8 * 4.5
    pages = pages_of_blocks(blocks, Box(0, 0, 180, high))
    titles = [[one for one in blocks if any(row is one.title for _, row in page)] for page in pages]
    assert [len(page) for page in titles] in ([4, 5], [5, 4])


def test_what_goes_on_on_the_next_page_says_so_there() -> None:
    block = items("Distances", ["word"] * 60, 180)
    first, second, *_ = pages_of_blocks([block], Box(0, 0, 180, 120))
    heads = []
    for page in (first, second):
        pen = Seen()
        page[0][1].draw(pen, 0.0, 0.0)  # type: ignore[arg-type]
        heads.append(pen.words[0][1])
    assert heads == ["Distances", "Distances, continued"]


def test_a_column_in_which_nothing_stands_is_left_out() -> None:
    block = table("To cut", [Column(""), Column("what"), Column("to settle")], [["1", "plate", ""]], 180)
    assert block.head is not None
    pen = Seen()
    block.head.draw(pen, 0.0, 0.0)  # type: ignore[arg-type]
    assert [words for _, words in pen.words] == ["what"]


def test_two_lists_beside_each_other_are_as_high_as_the_higher() -> None:
    one, other = items("Cautions", ["word"] * 6, 80, "□"), items("About", ["word"] * 3, 80)
    both = beside(one, other, 90)
    assert sum(row.height for row in both.rows) == pytest.approx(sum(row.height for row in one.rows))
    assert sorted(left >= 90 for left, _ in drawn(both).words) == [False] * 6 + [True] * 3

"""Tables flow over pages without losing a row."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from platekit.drawing.pdf.flow import LEAST_ROWS, Column, items, pages_of_blocks, table
from platekit.geometry import Box

ROOM = Box(10, 10, 190, 100)


@given(st.integers(0, 90), st.integers(0, 30))
def test_no_row_is_lost_and_none_runs_off_the_page(count: int, more: int) -> None:
    columns = [Column("name"), Column("X", right=True)]
    one = table("Holes", columns, [[f"hole {i}", f"{i}.5"] for i in range(count)], 180)
    two = items("Cautions", [f"Mind your finger {i}." for i in range(more)], 180, "□")
    pages = pages_of_blocks([one, two], ROOM)
    for page in pages:
        tops = [top for top, _ in page]
        assert tops == sorted(tops, reverse=True)
        assert all(top - row.height >= ROOM.y0 - 1e-9 for top, row in page)
    own = {id(row) for row in (*one.rows, *two.rows)}
    assert sum(1 for page in pages for _, row in page if id(row) in own) == count + more


def test_a_title_stays_with_its_first_rows_and_a_head_is_repeated() -> None:
    filler = items("First", ["word"] * 17, 180)
    follows = table("Second", [Column("name")], [[f"{i}"] for i in range(40)], 180)
    pages = pages_of_blocks([filler, follows], ROOM)
    for page in pages:
        here = [row for _, row in page]
        if any(row in follows.rows for row in here):
            title = follows.title if follows.rows[0] in here else follows.again
            assert title is not None
            at = here.index(title)
            assert here[at + 1] is follows.head
            assert sum(row in follows.rows for row in here[at:]) >= LEAST_ROWS
    assert len(pages) > 2


def test_what_is_done_by_a_few_rows_stands_on_one_page() -> None:
    """So a table of three rows goes to the next page whole; one of forty begins where it can."""
    for before in range(12, 20):
        filler = items("First", ["word"] * before, 180)
        few = table("Tension", [Column("name")], [[f"{i}"] for i in range(3)], 180)
        pages = pages_of_blocks([filler, few], ROOM)
        (on,) = [page for page in pages if any(row in few.rows for _, row in page)]
        assert sum(row in few.rows for _, row in on) == 3


def test_words_too_wide_for_their_column_are_wrapped_and_the_table_keeps_its_width() -> None:
    block = table("Made", [Column("name"), Column("how")], [["a", "very " * 60]], 90)
    plain = table("Made", [Column("name"), Column("how")], [["a", "cut"]], 90)
    assert block.rows[0].height > 2 * plain.rows[0].height

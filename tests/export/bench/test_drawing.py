"""Running dimensions make room for each other, and tables flow over pages without losing a row."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platekit.drawing.pdf.dimensioning import HEAD, RUNG, Rung, ladder, linear, spread_out
from platekit.drawing.pdf.flow import LEAST_ROWS, Column, flowed, items, table
from platekit.drawing.pdf.pen import Pen
from platekit.geometry import Box

wishes = st.lists(st.floats(0, 100), max_size=20).map(sorted)


@given(wishes)
def test_figures_keep_apart_inside_the_room_and_in_order(wanted: list[float]) -> None:
    placed = spread_out(wanted, 4.0, -10.0, 110.0)
    assert placed is not None
    assert all(b - a >= 4.0 - 1e-9 for a, b in pairwise(placed))
    assert all(-10.0 - 1e-9 <= place <= 110.0 + 1e-9 for place in placed)


@given(wishes, st.floats(-0.5, 0.5), st.integers(0, 19))
def test_no_single_figure_could_stand_nearer(wanted: list[float], step: float, index: int) -> None:
    """Moving one figure alone, as far as its neighbours let it, makes the sum of squares no smaller."""
    placed = spread_out(wanted, 4.0, -1000.0, 1000.0)
    assert placed is not None
    if index >= len(placed):
        return
    moved = list(placed)
    moved[index] += step
    if any(b - a < 4.0 for a, b in pairwise(moved)):
        return

    def off(places: list[float]) -> float:
        return sum((a - b) ** 2 for a, b in zip(places, wanted, strict=True))

    assert off(moved) >= off(list(placed)) - 1e-9


def test_what_has_room_stays_where_it_is_and_what_has_none_is_refused() -> None:
    assert spread_out([1.0, 10.0, 20.0], 4.0, 0.0, 30.0) == (1.0, 10.0, 20.0)
    assert spread_out([5.0, 5.0], 4.0, 0.0, 30.0) == (3.0, 7.0)
    assert spread_out([5.0] * 10, 4.0, 0.0, 30.0) is None
    assert spread_out([], 4.0, 0.0, 30.0) == ()
    assert spread_out([-50.0, -50.0], 4.0, 0.0, 30.0) == (0.0, 4.0)


def pen() -> Pen:
    made = Pen("test", "test")
    made.page(200, 200)
    return made


def test_the_figures_of_a_ladder_do_not_overlap() -> None:
    rungs = [Rung(100 + 0.5 * i, 60, f"{i}.25") for i in range(9)]
    for along in ("level", "upright"):
        for away in (-1.0, 1.0):
            taken = ladder(pen(), rungs, 50.0, (0.0, 200.0), along, away)
            assert taken is not None
            boxes = list(taken.words)
            assert not any(a.overlaps(b) for i, a in enumerate(boxes) for b in boxes[:i])
            outside = (
                [box.y1 < 50 or box.y0 > 50 for box in boxes]
                if along == "level"
                else [box.x1 < 50 or box.x0 > 50 for box in boxes]
            )
            assert all(outside)
    assert RUNG > 2.5


def test_a_narrow_dimension_has_its_figure_beside_its_arrows() -> None:
    wide = linear(pen(), 50, 90, 20, "40", "level", (30, 30))
    narrow = linear(pen(), 50, 52, 20, "2", "level", (30, 30))
    limited = linear(pen(), 50, 52, 20, "2", "level", (30, 30), limit=55)
    assert wide.words[0].center[0] == pytest.approx(70)
    assert narrow.words[0].x0 > 52 + HEAD
    assert limited.words[0].x1 < 50 - HEAD


# ------------------------------------------------------------------------------------------- tables

ROOM = Box(10, 10, 190, 100)


@given(st.integers(0, 90), st.integers(0, 30))
def test_no_row_is_lost_and_none_runs_off_the_page(count: int, more: int) -> None:
    columns = [Column("name"), Column("X", right=True)]
    one = table("Holes", columns, [[f"hole {i}", f"{i}.5"] for i in range(count)], 180)
    two = items("Cautions", [f"Mind your finger {i}." for i in range(more)], 180, "□")
    pages = flowed([one, two], ROOM)
    for page in pages:
        tops = [top for top, _ in page]
        assert tops == sorted(tops, reverse=True)
        assert all(top - row.height >= ROOM.y0 - 1e-9 for top, row in page)
    own = {id(row) for row in (*one.rows, *two.rows)}
    assert sum(1 for page in pages for _, row in page if id(row) in own) == count + more


def test_a_title_stays_with_its_first_rows_and_a_head_is_repeated() -> None:
    filler = items("First", ["word"] * 17, 180)
    follows = table("Second", [Column("name")], [[f"{i}"] for i in range(40)], 180)
    pages = flowed([filler, follows], ROOM)
    for page in pages:
        here = [row for _, row in page]
        if any(row in follows.rows for row in here):
            at = here.index(follows.title)
            assert here[at + 1] is follows.head
            assert sum(row in follows.rows for row in here[at:]) >= LEAST_ROWS
    assert len(pages) > 2


def test_words_too_wide_for_their_column_are_wrapped_and_the_table_keeps_its_width() -> None:
    block = table("Made", [Column("name"), Column("how")], [["a", "very " * 60]], 90)
    plain = table("Made", [Column("name"), Column("how")], [["a", "cut"]], 90)
    assert block.rows[0].height > 2 * plain.rows[0].height

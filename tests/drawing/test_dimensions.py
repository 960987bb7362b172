"""Dimensions as values: running ones make room for each other; figures stand above lines on paper and in pictures."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platekit.drawing.dimensions import (
    HEAD,
    RUNG,
    DimensionFigure,
    Head,
    Rung,
    Style,
    ThinLine,
    arrowhead,
    ladder,
    linear,
    over_all_ends,
    pointed,
    spread_out,
)
from platekit.drawing.pdf.drafting import paper_style
from platekit.drawing.svg.drafting import picture_style
from platekit.geometry import Disc, polygon_loop

STYLES = pytest.mark.parametrize("style", [paper_style(), picture_style()], ids=["paper", "picture"])

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


def test_the_figures_of_a_ladder_do_not_overlap() -> None:
    style = paper_style()
    rungs = [Rung(100 + 0.5 * i, 60, f"{i}.25") for i in range(9)]
    for along in ("level", "upright"):
        for away in (-1.0, 1.0):
            taken = ladder(style, rungs, 50.0, (0.0, 200.0), along, away)
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
    wide = linear(paper_style(), 50, 90, 20, "40", "level", (30, 30))
    narrow = linear(paper_style(), 50, 52, 20, "2", "level", (30, 30))
    limited = linear(paper_style(), 50, 52, 20, "2", "level", (30, 30), limit=55)
    assert wide.words[0].center[0] == pytest.approx(70)
    assert narrow.words[0].x0 > 52 + HEAD
    assert limited.words[0].x1 < 50 - HEAD


@STYLES
def test_figures_stand_above_a_level_line_and_left_of_an_upright_one(style: Style) -> None:
    level = linear(style, 0, 400, 50, "400", "level", (10, 10)).words[0].center
    upright = linear(style, 0, 400, 50, "400", "upright", (10, 10)).words[0].center
    assert (level[1] < 50) == style.down
    assert level[1] != 50
    assert upright[0] < 50


@STYLES
@pytest.mark.parametrize("high", [400.0, 3.0])
def test_arrows_touch_the_ends_of_the_size_and_point_at_them(style: Style, high: float) -> None:
    found = linear(style, 0, high, 50, "12", "level", (10, 10))
    heads = [mark.corners for mark in found.marks if isinstance(mark, Head)]
    assert sorted(tip for tip, _, _ in heads) == [(0, 50), (high, 50)]
    roomy = high > 100
    for tip, one, other in heads:
        assert (min(one[0], other[0]) > tip[0]) == ((tip[0] == 0) == roomy)


@STYLES
def test_extension_lines_begin_off_the_part_and_end_past_the_dimension_line(style: Style) -> None:
    found = linear(style, 0, 400, 50, "400", "level", (10, -20))
    first, second = (mark.points for mark in found.marks if isinstance(mark, ThinLine) and mark.points[0][1] != 50)
    assert [y for _, y in first] == pytest.approx([10 + style.unit, 50 + 1.5 * style.unit])
    assert [y for _, y in second] == pytest.approx([-20 + style.unit, 50 + 1.5 * style.unit])


def test_over_all_lines_begin_where_the_outline_reaches_farthest() -> None:
    assert over_all_ends(Disc((5, 7), 3), 0, min) == pytest.approx((7, 7))
    rhombus = polygon_loop(((0, 2), (4, 0), (10, 3), (6, 9)))
    assert over_all_ends(rhombus, 0, min) == (2, 3)
    assert over_all_ends(rhombus, 1, max) == (4, 6)
    square = polygon_loop(((0, 0), (4, 0), (4, 5), (0, 5)))
    assert over_all_ends(square, 0, min) == (0, 0)
    assert over_all_ends(square, 0, max) == (5, 5)


def test_a_line_too_short_for_an_arrowhead_has_none() -> None:
    style = paper_style()
    assert [type(mark) for mark in pointed(style, (0, 0), (0.9 * HEAD, 0))] == [ThinLine]
    assert [type(mark) for mark in pointed(style, (0, 0), (0, 3 * HEAD))] == [ThinLine, Head]
    assert arrowhead((3, 4), (0, 9), 2, 0.5).corners == ((3, 4), (2.5, 2), (3.5, 2))


def test_the_room_of_a_figure_turns_with_it() -> None:
    level, upright = (DimensionFigure((0, 0), "120.5", paper_style(), turned).box for turned in (False, True))
    assert (level.width, level.height) == pytest.approx((upright.height, upright.width))

"""Spreading a drawing over sheets: all of it shown, seams as wide as they must be, patterns whole where they can be."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platekit.drawing.pdf.paper import MOST_SHEETS, OVERLAP, SIZES, PaperSheet, Tiling, tiling_over
from platekit.errors import SheetError
from platekit.geometry import Box

A4 = PaperSheet("a4", *SIZES["a4"])
PORTRAIT, LANDSCAPE = Box(15, 55, 195, 282), Box(15, 55, 282, 195)
WAYS = [(A4, PORTRAIT), (A4.turned, LANDSCAPE)]

sizes = st.floats(5, 900)
places = st.floats(-2000, 2000)


@st.composite
def boxes_within(draw: st.DrawFn, outer: Box) -> Box:
    x = sorted((draw(st.floats(outer.x0, outer.x1)), draw(st.floats(outer.x0, outer.x1))))
    y = sorted((draw(st.floats(outer.y0, outer.y1)), draw(st.floats(outer.y0, outer.y1))))
    return Box(x[0], y[0], x[1], y[1])


@st.composite
def drawings(draw: st.DrawFn) -> tuple[Box, list[Box]]:
    x, y = draw(places), draw(places)
    content = Box(x, y, x + draw(sizes), y + draw(sizes))
    return content, draw(st.lists(boxes_within(content), max_size=4))


def holds(outer: Box, inner: Box) -> bool:
    return (
        outer.x0 <= inner.x0 + 1e-5
        and outer.y0 <= inner.y0 + 1e-5
        and inner.x1 <= outer.x1 + 1e-5
        and inner.y1 <= outer.y1 + 1e-5
    )


def fits(box: Box, window: Box) -> bool:
    return box.width <= window.width and box.height <= window.height


@given(drawings())
def test_the_sheets_together_show_all_and_overlap_by_the_seam(drawing: tuple[Box, list[Box]]) -> None:
    content, wholes = drawing
    tiling = tiling_over(WAYS, content, wholes, ())
    grid = [tile for tile in tiling.tiles if not tile.extra]
    assert len(grid) == tiling.columns * tiling.rows
    assert holds(tiling.box, content)
    for one, two in pairwise(grid):
        if two.column:
            assert one.box.x1 - two.box.x0 == pytest.approx(OVERLAP)
            assert one.box.y0 == two.box.y0
    for one, two in zip(grid, grid[tiling.columns :], strict=False):
        assert two.box.y1 - one.box.y0 == pytest.approx(OVERLAP)


@given(drawings())
def test_what_fits_on_a_sheet_is_whole_on_one(drawing: tuple[Box, list[Box]]) -> None:
    content, wholes = drawing
    tiling = tiling_over(WAYS, content, wholes, ())
    for whole in wholes:
        if fits(whole, PORTRAIT) or fits(whole, LANDSCAPE):
            assert any(holds(tile.box, whole) for tile in tiling.tiles)
    assert tiling.missed == sum(not (fits(box, PORTRAIT) or fits(box, LANDSCAPE)) for box in wholes)


@given(drawings())
def test_a_point_goes_to_its_place_in_the_window(drawing: tuple[Box, list[Box]]) -> None:
    content, wholes = drawing
    for tile in tiling_over(WAYS, content, wholes, ()).tiles:
        x, y = tile.view.at((tile.box.x1, tile.box.y1))
        assert (x, y) == pytest.approx((tile.window.x1, tile.window.y1))


def test_the_paper_lies_the_way_that_takes_fewer_sheets() -> None:
    tall = tiling_over(WAYS, Box(0, 0, 170, 220), (), ())
    wide = tiling_over(WAYS, Box(0, 0, 250, 130), (), ())
    assert [tile.sheet.lies for tile in (*tall.tiles, *wide.tiles)] == ["portrait", "landscape"]


def test_a_small_drawing_is_in_the_middle_of_its_sheet() -> None:
    (tile,) = tiling_over(WAYS, Box(10, 10, 50, 70), (), ()).tiles
    assert tile.box.center == pytest.approx((30, 40))


def test_seams_keep_off_a_pattern_without_an_extra_sheet_if_they_can() -> None:
    pattern = Box(125, 20, 275, 180)
    tiling = tiling_over(WAYS[:1], Box(0, 0, 300, 200), [pattern], ())
    assert len(tiling.tiles) == 2
    assert any(holds(tile.box, pattern) for tile in tiling.tiles)


def test_one_extra_sheet_shows_both_patterns_that_the_seams_divide() -> None:
    patterns = [Box(0, 0, 100, 100), Box(80, 0, 175, 100), Box(160, 0, 330, 100)]
    tiling = tiling_over(WAYS[:1], Box(0, 0, 340, 100), patterns, ())
    assert [tile.extra for tile in tiling.tiles].count(True) == 1
    assert tiling.missed == 0


def test_more_sheets_than_anyone_would_glue_are_refused_with_a_way_out() -> None:
    with pytest.raises(SheetError, match=rf"takes \d+ sheets of a4, and {MOST_SHEETS} are the most; use single"):
        tiling_over(WAYS, Box(0, 0, 9000, 9000), (), ())


def test_seams_lie_in_the_middle_of_what_two_sheets_share() -> None:
    tiling: Tiling = tiling_over(WAYS[:1], Box(0, 0, 500, 600), (), ())
    first, second = tiling.tiles[0].box, tiling.tiles[1].box
    assert tiling.seams_x[0] == pytest.approx((first.x1 + second.x0) / 2)
    assert list(tiling.seams_y) == sorted(tiling.seams_y)
    assert len(tiling.seams_y) == tiling.rows - 1

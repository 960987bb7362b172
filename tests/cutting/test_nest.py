"""Copies on a sheet or a remnant: every gap is asked again of the exact shapes."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from platekit.checks import check
from platekit.cutting.nest import lay_out_copies, nest
from platekit.geometry import Disc, Loop, Pose, Shape, distance, edge_distance, polygon_loop, rectangle
from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import loads

GAP, EDGE = 8.0, 7.0
ANGLE = polygon_loop([(0, 0), (120, 0), (120, 40), (40, 40), (40, 90), (0, 90)], 4)
SHEET = rectangle(600, 400, center=(300, 200))
TRIANGLE = polygon_loop([(0, 0), (500, 0), (0, 400)])

SPEC = """\
platekit: 1
title: Beehive scale
units: mm
plate:
  material: mild steel
  thickness: 6
  outline: {rectangle: {width: 120, height: 80}, at: [30, 10]}
mounts:
  hive: {side: far, looking_at: face, pattern: {points: [[0, 0], [40, 10]], hole: 12}}
cutting: {process: plasma, kerf: 1.5, %s}
"""


def scale(cutting: str) -> Layout:
    return lay_out(loads(SPEC % cutting, "scale"))


def assert_clear(shape: Shape, sheet: Loop, poses: tuple[Pose, ...], gap: float, edge: float) -> None:
    placed = [shape.moved(pose) for pose in poses]
    for one, other in itertools.combinations(placed, 2):
        assert distance(one, other).distance >= gap - 1e-9
    for one in placed:
        assert edge_distance(one, sheet).distance >= edge - 1e-9


@pytest.mark.parametrize(("shape", "sheet", "count", "least"), [(ANGLE, SHEET, 12, 12), (ANGLE, TRIANGLE, 20, 6)])
def test_copies_keep_their_gaps(shape: Shape, sheet: Loop, count: int, least: int) -> None:
    poses = lay_out_copies(shape, sheet, count, GAP, EDGE)
    assert least <= len(poses) <= count
    assert_clear(shape, sheet, poses, GAP, EDGE)


def test_rectangles_fill_a_sheet_made_for_them() -> None:
    # four by three, 10 mm between and 5 mm round: 4 x 100 + 3 x 10 + 2 x 5 = 440, and 3 x 60 + 2 x 10 + 2 x 5 = 210
    plate = rectangle(100, 60)
    sheet = rectangle(440.5, 210.5, center=(0, 0))
    poses = lay_out_copies(plate, sheet, 20, 10.0, 5.0)
    assert len(poses) == 12
    assert_clear(plate, sheet, poses, 10.0, 5.0)


def test_a_hair_too_small_is_too_small() -> None:
    assert lay_out_copies(rectangle(100, 60), rectangle(109.9, 200), 1, 10.0, 5.0) != ()  # it stands upright
    assert lay_out_copies(rectangle(100, 60), rectangle(109.9, 69.9), 1, 10.0, 5.0) == ()


def test_a_plate_that_lies_only_aslant_is_turned_in_small_steps() -> None:
    slanted = rectangle(150, 40, turn=math.radians(35))
    poses = lay_out_copies(rectangle(120, 15), slanted, 1, 5.0, 5.0)
    assert len(poses) == 1
    assert_clear(rectangle(120, 15), slanted, poses, 5.0, 5.0)


@settings(max_examples=15)
@given(
    radius=st.floats(15, 60),
    width=st.integers(150, 500),
    height=st.integers(150, 400),
    cut=st.integers(0, 120),
    gap=st.floats(0.5, 20),
)
def test_whatever_is_laid_on_a_cropped_sheet_is_clear(
    radius: float, width: int, height: int, cut: int, gap: float
) -> None:
    sheet = polygon_loop([(0, 0), (width, 0), (width, height - cut), (width - cut, height), (0, height)])
    poses = lay_out_copies(Disc((3, -4), radius), sheet, 6, gap, gap)
    assert_clear(Disc((3, -4), radius), sheet, poses, gap, gap)
    if 2 * (radius + gap) + 1 < min(width, height) - cut:
        assert poses


def test_the_same_plate_is_laid_the_same_way() -> None:
    once = lay_out_copies(ANGLE, TRIANGLE, 5, GAP, EDGE)
    lay_out_copies.cache_clear()
    assert lay_out_copies(ANGLE, TRIANGLE, 5, GAP, EDGE) == once


def test_kerf_and_margin_lie_between() -> None:
    found = nest(scale("sheet: [600, 300], copies: 4, margin: 3"))
    assert found is not None
    assert found.fits
    # two cuts of 1.5 mm and the margin between them; to the edge one of them
    assert (found.gap, found.edge_gap) == (6.0, 4.5)
    assert found.used == pytest.approx(4 * 120 * 80 / (600 * 300))
    assert_clear(scale("copies: 1").outline, found.sheet, found.poses, 6.0, 4.5)


def test_without_sheet_or_remnant_nothing_is_laid() -> None:
    assert nest(scale("copies: 3")) is None


def findings(cutting: str) -> list[tuple[str, str]]:
    return [(f.level, f.message) for f in check(scale(cutting)).findings if f.rule == "remnant"]


def test_a_remnant_smaller_than_the_part_stops() -> None:
    ((level, message),) = findings("remnant: [[0, 0], [110, 0], [110, 70], [0, 90]]")
    assert level == "stop"
    assert message.startswith("the remnant, 110 mm x 90 mm over all, is smaller than the part")


def test_a_remnant_whose_corners_cross_is_told() -> None:
    ((level, message),) = findings("remnant: [[0, 0], [400, 300], [400, 0], [0, 200]]")
    assert level == "stop"
    assert message.startswith("the remnant is no shape: the outline crosses or touches itself")


def test_copies_without_a_place_are_counted() -> None:
    ((level, message),) = findings("sheet: [300, 110], copies: 3, margin: 4")
    assert level == "stop"
    assert message.startswith("2 of 3 copies could be nested on the sheet")


def test_copies_without_a_sheet_are_only_noted() -> None:
    ((level, _),) = findings("copies: 3")
    assert level == "note"
    assert findings("copies: 1") == []
    assert findings("sheet: [600, 300], copies: 4") == []

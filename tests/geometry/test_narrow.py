"""The narrowest place of outlines whose width is known from how they were drawn."""

from __future__ import annotations

import math

import numpy
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from platekit.geometry import Disc, Pose, Slot, polygon_loop, polygons, rectangle
from platekit.geometry.narrow import narrowest

DUMBBELL = [(0, 0), (40, 0), (40, 17), (60, 17), (60, 0), (100, 0), (100, 40), (60, 40), (60, 23), (40, 23), (40, 40)]
"""Two squares of 40 mm and a bar of 20 x 6 mm between them; the last corner is that of the first square."""


@settings(max_examples=40)
@given(
    width=st.floats(0.2, 17.5),
    more=st.floats(1.0, 80.0),
    corner=st.floats(0.0, 0.45),
    turn=st.floats(0, 6.3),
)
def test_a_rectangle_is_as_wide_as_its_short_side(width: float, more: float, corner: float, turn: float) -> None:
    shape = rectangle(width + more, width, corner * width).moved(Pose(30, -7, turn))
    found = narrowest(shape, 18)
    assert found is not None
    assert found.width == pytest.approx(width, abs=0.01)


@pytest.mark.parametrize("corner", [0.0, 1.0, 8.0])
def test_a_window_wide_enough_is_not_narrow_at_its_corners(corner: float) -> None:
    assert narrowest(rectangle(60, 18.01, corner), 18) is None
    assert narrowest(polygon_loop([(0, 0), (60, 0), (30, 52)]), 18) is None


def test_a_bar_between_two_squares_is_the_neck_inside_and_no_notch_outside_when_far() -> None:
    shape = polygon_loop([*DUMBBELL, (0, 40)])
    found = narrowest(shape, 10)
    assert found is not None
    assert found.width == pytest.approx(6, abs=0.01)
    assert 40 <= found.at[0] <= 60
    assert narrowest(shape, 5.9) is None
    notch = narrowest(shape, 25, outside=True)
    assert notch is not None
    assert notch.width == pytest.approx(20, abs=0.01)
    assert narrowest(shape, 19.9, outside=True) is None


@settings(max_examples=30)
@given(gap=st.floats(0.05, 5.0), turn=st.floats(0, 6.3))
def test_points_that_come_near_each_other_make_a_neck(gap: float, turn: float) -> None:
    """An hourglass of two triangles: `gap` wide in its waist."""
    half = gap / 2
    corners = [(-30, -40), (30, -40), (half, 0), (30, 40), (-30, 40), (-half, 0)]
    shape = polygon_loop(corners).moved(Pose(3, 4, turn))
    found = narrowest(shape, 9)
    assert found is not None
    assert gap - 1e-6 <= found.width <= 1.35 * gap + 0.01
    assert math.dist(found.at, (3, 4)) < 2 * gap + 1


@pytest.mark.parametrize("wide", [0.1, 1.0, 5.0])
def test_a_tongue_is_as_wide_as_it_is(wide: float) -> None:
    y = 20 + wide
    shape = polygon_loop([(0, 0), (80, 0), (80, 20), (110, 20), (110, y), (80, y), (80, 60), (0, 60)])
    found = narrowest(shape, 9)
    assert found is not None
    assert found.width == pytest.approx(wide, abs=0.01)


def test_round_shapes_are_as_wide_as_they_are_and_have_no_notch() -> None:
    found = narrowest(Slot((0, 0), (40, 0), 3), 9)
    assert found is not None
    assert found.width == pytest.approx(6, abs=0.01)
    assert narrowest(Slot((0, 0), (40, 0), 5), 9) is None
    whole = narrowest(Disc((1, 2), 3), 9)
    assert whole is not None
    assert whole.width == 6
    assert narrowest(Disc((1, 2), 3), 9, outside=True) is None


def test_an_outline_of_thousands_of_chords_is_not_narrow() -> None:
    around = [(100 * math.cos(k * math.tau / 4000), 80 * math.sin(k * math.tau / 4000)) for k in range(4000)]
    assert narrowest(polygon_loop(around), 18) is None


def test_rays_and_edges_near_each_other_are_the_same_with_a_tree_and_without(monkeypatch: pytest.MonkeyPatch) -> None:
    draw = numpy.random.default_rng(7)
    starts, ends, a = (draw.integers(-20, 20, (60, 2)).astype(numpy.float64) for _ in range(3))  # so that boxes touch
    b = a + draw.integers(-3, 4, (60, 2)).astype(numpy.float64)

    def pairs() -> list[tuple[int, int]]:
        return sorted(pair for lot in polygons.near_rays(starts, ends, a, b) for pair in zip(*lot, strict=True))

    arrays = pairs()
    monkeypatch.setattr(polygons, "FEW_PAIRS", 0)
    assert arrays == pairs()
    assert len(arrays) > 100

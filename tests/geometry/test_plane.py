"""The plane of a belt: worked out by hand for shafts across the plate, along x, along y and turned by 30 degrees."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from platekit.geometry import ACROSS, Straight, Swing, lying

coordinates = st.floats(-900, 900).map(lambda x: round(x, 3))


def test_shafts_square_to_the_plate_run_their_belt_in_the_plate_s_own_frame() -> None:
    assert not ACROSS.lies
    assert ACROSS.flat((3.0, 4.0, 5.0)) == ((3.0, 4.0), 5.0)
    assert ACROSS.spot((3.0, 4.0), 5.0) == (3.0, 4.0, 5.0)


def test_shafts_along_x_run_their_belt_up_and_down_the_plate() -> None:
    plane = lying(0.0)
    assert plane.u == (0.0, 1.0, 0.0)
    assert plane.n == (1.0, 0.0, 0.0)
    assert plane.flat((3.0, 4.0, 5.0)) == ((4.0, 5.0), 3.0)
    assert lying(math.pi) == plane


def test_shafts_along_y_run_their_belt_across_the_plate() -> None:
    plane = lying(math.radians(90))
    assert plane.u == (1.0, 0.0, 0.0)
    assert plane.n == (0.0, -1.0, 0.0)
    assert plane.flat((3.0, 4.0, 5.0)) == ((3.0, 5.0), -4.0)
    assert lying(math.radians(270)) == plane


def test_shafts_turned_by_30_degrees() -> None:
    plane = lying(math.radians(30))
    assert plane.u == pytest.approx((0.5, -math.sqrt(3) / 2, 0.0))
    assert plane.n == pytest.approx((-math.sqrt(3) / 2, -0.5, 0.0))
    flat, along = plane.flat((math.sqrt(3), 1.0, 7.0))  # 2 mm along the shafts
    assert flat == pytest.approx((0.0, 7.0), abs=1e-12)
    assert along == pytest.approx(-2.0)


@settings(max_examples=60)
@given(st.floats(-7, 7), coordinates, coordinates, coordinates)
def test_there_and_back_is_where_it_was_and_the_frame_is_right_handed(
    angle: float, x: float, y: float, z: float
) -> None:
    plane = lying(angle)
    flat, along = plane.flat((x, y, z))
    assert plane.spot(flat, along) == pytest.approx((x, y, z), abs=1e-9)
    (a, b, _), (p, q, _) = plane.u, plane.n
    assert a * p + b * q == pytest.approx(0.0, abs=1e-12)
    assert (b, -a) == pytest.approx((p, q))  # u x v = n with v up


def test_only_the_share_of_a_travel_that_is_square_to_the_shafts_moves_a_belt() -> None:
    plane = lying(math.radians(90))
    assert plane.travel(Straight((1.0, 0.0), 5.0, 10.0)) == Straight((1.0, 0.0), 5.0, 10.0)
    slanted = plane.travel(Straight((-0.6, 0.8), 5.0, 10.0))
    assert isinstance(slanted, Straight)
    assert slanted.direction == (-1.0, 0.0)
    assert (slanted.install, slanted.tension) == pytest.approx((3.0, 6.0))
    assert plane.travel(Straight((0.0, 1.0), 5.0, 10.0)) is None
    assert plane.travel(Swing((0.0, 0.0), 0.1, 0.1)) is None

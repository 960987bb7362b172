from __future__ import annotations

from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platekit.drive.open_belt import (
    belt_length,
    centre_distance,
    centres_for_wrap,
    overlap,
    span_length,
    usual_belt_length,
    usual_centre_distance,
    wrap_angle,
)
from platekit.errors import DriveError

diameters = st.floats(8, 1500)
rooms = st.floats(1.001, 20)


def apart(small: float, large: float, room: float) -> float:
    """A centre distance at which the two pulleys do not touch."""
    return (small + large) / 2 * room


@given(diameters, diameters, rooms)
def test_length_and_centres_undo_each_other(small: float, large: float, room: float) -> None:
    centres = apart(small, large, room)
    length = belt_length(centres, small, large)
    assert centre_distance(length, small, large) == pytest.approx(centres, rel=1e-9)
    assert belt_length(centre_distance(length, small, large), small, large) == pytest.approx(length, rel=1e-9)


@given(diameters, diameters, rooms)
def test_the_order_of_the_pulleys_makes_no_difference(one: float, other: float, room: float) -> None:
    centres = apart(one, other, room)
    assert belt_length(centres, one, other) == belt_length(centres, other, one)
    assert span_length(centres, one, other) == span_length(centres, other, one)


@given(diameters, diameters, rooms)
def test_the_two_wraps_make_one_turn(one: float, other: float, room: float) -> None:
    centres = apart(one, other, room)
    assert wrap_angle(centres, one, other) + wrap_angle(centres, other, one) == pytest.approx(2 * pi, abs=1e-12)


@given(diameters, diameters, rooms)
def test_the_length_is_two_spans_and_two_arcs(one: float, other: float, room: float) -> None:
    centres = apart(one, other, room)
    arcs = one / 2 * wrap_angle(centres, one, other) + other / 2 * wrap_angle(centres, other, one)
    assert belt_length(centres, one, other) == pytest.approx(2 * span_length(centres, one, other) + arcs, rel=1e-12)


@given(diameters, diameters, rooms, st.floats(0.1, 500))
def test_a_longer_belt_sets_the_shafts_farther_apart(one: float, other: float, room: float, more: float) -> None:
    length = belt_length(apart(one, other, room), one, other)
    assert centre_distance(length + more, one, other) > centre_distance(length, one, other)


@given(diameters, st.floats(1.01, 8), rooms)
def test_moving_the_shafts_apart_gives_the_small_pulley_more_wrap(small: float, ratio: float, room: float) -> None:
    near = apart(small, small * ratio, room)
    assert wrap_angle(near * 1.1, small, small * ratio) > wrap_angle(near, small, small * ratio)


@given(diameters, st.floats(1.01, 8), rooms)
def test_centres_for_a_wrap_give_that_wrap(small: float, ratio: float, room: float) -> None:
    large = small * ratio
    centres = apart(small, large, room)
    assert centres_for_wrap(wrap_angle(centres, small, large), small, large) == pytest.approx(centres, rel=1e-6)


@given(diameters, diameters, rooms)
def test_the_usual_length_falls_short_by_the_next_term(one: float, other: float, room: float) -> None:
    # exact - usual = (D - d)^4 / (192 C^3) and smaller terms of the same sign, at most 1.7 times the first
    centres = apart(one, other, room)
    short = belt_length(centres, one, other) - usual_belt_length(centres, one, other)
    term = abs(one - other) ** 4 / (192 * centres**3)
    assert term - 1e-9 <= short <= 1.7 * term + 1e-9


@given(diameters, diameters, rooms)
def test_the_usual_formulas_undo_each_other(one: float, other: float, room: float) -> None:
    centres = apart(one, other, room)
    length = usual_belt_length(centres, one, other)
    assert usual_centre_distance(length, one, other) == pytest.approx(centres, rel=1e-9)


def test_equal_pulleys_have_straight_sides() -> None:
    assert belt_length(300, 100, 100) == pytest.approx(600 + pi * 100)
    assert span_length(300, 100, 100) == 300
    assert wrap_angle(300, 100, 100) == pytest.approx(pi)
    assert centres_for_wrap(2.5, 100, 100) == 100


def test_pulleys_that_run_into_each_other_are_seen() -> None:
    assert overlap(100, 80, 140) == pytest.approx(10)
    assert overlap(120, 80, 140) == pytest.approx(-10)


def test_a_belt_shorter_than_the_pulleys_is_refused_with_what_would_do() -> None:
    with pytest.raises(DriveError, match=r"700\.0 mm does not reach round .* longer than 785\.4 mm"):
        centre_distance(700, 71, 250)


def test_a_pulley_inside_the_other_is_refused() -> None:
    with pytest.raises(DriveError, match="lies inside the one of"):
        belt_length(50, 71, 250)


@pytest.mark.parametrize(("length", "small", "large"), [(0, 71, 250), (1000, 0, 250), (1000, 71, -1)])
def test_nothing_of_no_size(length: float, small: float, large: float) -> None:
    with pytest.raises(DriveError, match="must be more than zero"):
        centre_distance(length, small, large)


def test_no_open_belt_has_more_than_half_a_turn_on_the_small_pulley() -> None:
    with pytest.raises(DriveError, match="half a turn"):
        centres_for_wrap(3.5, 71, 250)

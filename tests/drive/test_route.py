from __future__ import annotations

from math import cos, hypot, pi, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from platekit.drive.open_belt import belt_length, span_length, wrap_angle
from platekit.drive.route import Route, Wheel, route
from platekit.errors import DriveError

diameters = st.floats(10, 400)
angles = st.floats(-pi, pi)


def signed_turn(wheels: list[Wheel], way: Route) -> float:
    return sum(wrap if wheel.inside else -wrap for wheel, wrap in zip(wheels, way.wraps, strict=True))


@given(diameters, diameters, st.floats(1.05, 6), angles)
def test_two_wheels_are_an_open_belt(one: float, other: float, room: float, angle: float) -> None:
    centres = (one + other) / 2 * room
    way = route([Wheel(5, -3, one), Wheel(5 + centres * cos(angle), -3 + centres * sin(angle), other)])
    assert way.length == pytest.approx(belt_length(centres, one, other), rel=1e-12)
    assert way.wraps[0] == pytest.approx(wrap_angle(centres, one, other), abs=1e-9)
    assert way.spans[0].length == pytest.approx(span_length(centres, one, other), rel=1e-9)


def with_idler(y: float, inside: bool) -> list[Wheel]:
    return [Wheel(0, 0, 100), Wheel(150, y, 40, inside), Wheel(300, 0, 150)]


@pytest.mark.parametrize(("y", "inside"), [(-60, False), (60, False), (160, True), (-160, True), (-70, False)])
def test_an_idler_leaves_one_full_turn(y: float, inside: bool) -> None:
    wheels = with_idler(y, inside)
    assert signed_turn(wheels, route(wheels)) == pytest.approx(2 * pi)


def test_an_idler_on_the_back_gives_both_pulleys_more_wrap() -> None:
    plain = route([Wheel(0, 0, 100), Wheel(300, 0, 150)])
    pressed = route(with_idler(-60, False))
    assert pressed.wraps[0] > plain.wraps[0]
    assert pressed.wraps[2] > plain.wraps[1]
    assert pressed.length > plain.length


def test_an_idler_inside_takes_wrap_away() -> None:
    plain = route([Wheel(0, 0, 100), Wheel(300, 0, 150)])
    pushed = route(with_idler(160, True))
    assert pushed.wraps[0] < plain.wraps[0]
    assert pushed.length > plain.length


@pytest.mark.parametrize("inside", [True, False])
def test_naming_the_wheels_backwards_is_the_same_belt(inside: bool) -> None:
    wheels = with_idler(160 if inside else -60, inside)
    forwards, backwards = route(wheels), route([wheels[0], wheels[2], wheels[1]])
    assert backwards.length == pytest.approx(forwards.length)
    assert (backwards.wraps[1], backwards.wraps[2]) == pytest.approx((forwards.wraps[2], forwards.wraps[1]))


@given(angles, st.floats(-200, 200), st.floats(-200, 200))
def test_turning_and_moving_all_of_it_changes_nothing(angle: float, dx: float, dy: float) -> None:
    wheels = with_idler(-60, False)
    moved = [
        replace(
            wheel,
            x=wheel.x * cos(angle) - wheel.y * sin(angle) + dx,
            y=wheel.x * sin(angle) + wheel.y * cos(angle) + dy,
        )
        for wheel in wheels
    ]
    assert route(moved).length == pytest.approx(route(wheels).length, rel=1e-12)
    assert route(moved).wraps == pytest.approx(route(wheels).wraps, abs=1e-7)


def test_each_run_touches_its_wheels_squarely() -> None:
    wheels = with_idler(-60, False)
    way = route(wheels)
    for index, span in enumerate(way.spans):
        wheel = wheels[index]
        assert hypot(span.start[0] - wheel.x, span.start[1] - wheel.y) == pytest.approx(wheel.diameter / 2)
        along = (span.end[0] - span.start[0], span.end[1] - span.start[1])
        across = (span.start[0] - wheel.x) * along[0] + (span.start[1] - wheel.y) * along[1]
        assert across == pytest.approx(0, abs=1e-8)


def test_an_idler_that_does_not_touch_is_refused() -> None:
    with pytest.raises(DriveError, match="does not touch"):
        route(with_idler(-120, False))


def test_wheels_on_top_of_each_other_are_refused() -> None:
    with pytest.raises(DriveError, match="cannot pass between"):
        route([Wheel(0, 0, 100), Wheel(60, 0, 100)])


def test_one_wheel_is_no_drive() -> None:
    with pytest.raises(DriveError, match="at least two"):
        route([Wheel(0, 0, 100)])

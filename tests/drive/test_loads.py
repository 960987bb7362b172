from __future__ import annotations

from math import cos, hypot, inf, pi, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platekit.drive import loads
from platekit.errors import DriveError

pulls = st.floats(1, 5000)
frictions = st.floats(0.1, 0.8)
wraps = st.floats(1.2, 4.5)
flings = st.floats(0, 300)


@given(st.floats(10, 1e5), st.floats(10, 20000))
def test_torque_and_power_undo_each_other(power: float, speed: float) -> None:
    assert loads.power_w(loads.torque_nm(power, speed), speed) == pytest.approx(power)


@given(st.floats(10, 1e5), st.floats(10, 5000), st.floats(20, 800))
def test_pull_times_belt_speed_is_power(power: float, speed: float, pitch: float) -> None:
    pull = loads.effective_pull(loads.torque_nm(power, speed), pitch)
    assert pull * loads.belt_speed_m_s(pitch, speed) == pytest.approx(power)


@given(pulls, frictions, wraps, flings)
def test_the_slackest_belt_that_holds_just_holds(pull: float, friction: float, wrap: float, fling: float) -> None:
    sides = loads.least_tensions(pull, friction, wrap, fling)
    assert sides.pull == pytest.approx(pull)
    held = (sides.tight - fling) / (sides.slack - fling)
    assert held == pytest.approx(loads.tension_ratio(friction, wrap), rel=1e-6)
    assert loads.slip_margin(sides.set, pull, friction, wrap, fling) == pytest.approx(1, rel=1e-6)


@given(pulls, frictions, wraps, flings, st.floats(1.01, 3))
def test_more_tension_holds_more(pull: float, friction: float, wrap: float, fling: float, more: float) -> None:
    tension = loads.static_tension_for(pull, friction, wrap, fling)
    assert loads.slip_margin(tension * more, pull, friction, wrap, fling) > 1


@given(pulls, frictions, wraps, st.floats(0.05, 1))
def test_more_wrap_needs_less_tension(pull: float, friction: float, wrap: float, more: float) -> None:
    less = loads.static_tension_for(pull, friction, wrap + more)
    assert less < loads.static_tension_for(pull, friction, wrap)


@given(pulls, frictions, wraps, flings)
def test_a_faster_belt_is_lifted_off(pull: float, friction: float, wrap: float, fling: float) -> None:
    tension = loads.static_tension_for(pull, friction, wrap)
    assert loads.greatest_pull(tension, friction, wrap, fling) <= pull * (1 + 1e-9)
    assert loads.greatest_pull(tension, friction, wrap, tension * 2) == 0


@given(st.floats(50, 5000), st.floats(0, 80), flings)
def test_running_keeps_the_mean_tension(tension: float, pull: float, fling: float) -> None:
    sides = loads.running_tensions(tension, pull, fling)
    assert sides.set == pytest.approx(tension)
    assert sides.pull == pytest.approx(pull)


def test_nothing_that_pulls_never_slips() -> None:
    assert loads.slip_margin(100, 0, 0.5, pi) == inf


@given(st.floats(10, 900), st.floats(0, 80), st.floats(0.1, 5.9))
def test_the_shaft_pull_is_the_sum_of_both_sides(slack: float, pull: float, wrap: float) -> None:
    # the two runs leave the pulley at an angle of pi - wrap to each other
    sides = loads.Tensions(slack + pull, slack, 0)
    x = sides.tight + sides.slack * cos(pi - wrap)
    y = sides.slack * sin(pi - wrap)
    assert loads.shaft_pull(sides, wrap).size == pytest.approx(hypot(x, y), rel=1e-9, abs=1e-9)


def test_half_a_turn_at_rest_pulls_with_both_sides() -> None:
    assert loads.shaft_pull_at_rest(200, pi).size == pytest.approx(400)
    assert loads.shaft_pull_at_rest(200, pi).across == pytest.approx(0)


def test_both_shafts_of_an_open_belt_pull_each_other() -> None:
    sides = loads.Tensions(300, 120, 20)
    one, other = loads.shaft_pull(sides, 2.4), loads.shaft_pull(sides, 2 * pi - 2.4)
    assert one.along == pytest.approx(other.along)
    assert one.across == pytest.approx(-other.across)


def test_the_mass_of_the_belt_does_not_reach_the_shaft() -> None:
    calm, flung = loads.Tensions(300, 100, 0), loads.Tensions(320, 120, 20)
    assert loads.shaft_pull(flung, 2.5).size == pytest.approx(loads.shaft_pull(calm, 2.5).size)


def test_the_span_sounds_higher_when_tighter_shorter_or_lighter() -> None:
    base = loads.span_frequency_hz(200, 0.1, 300)
    assert loads.span_frequency_hz(800, 0.1, 300) == pytest.approx(2 * base)
    assert loads.span_frequency_hz(200, 0.4, 300) == pytest.approx(base / 2)
    assert loads.span_frequency_hz(200, 0.1, 150) == pytest.approx(2 * base)


def test_a_hundred_newtons_on_a_metre_of_a_tenth_of_a_kilogram() -> None:
    # sqrt(100 / 0.1) = 31.62 m/s along the string, there and back over 2 m
    assert loads.span_frequency_hz(100, 0.1, 1000) == pytest.approx(15.811, abs=1e-3)


def test_rim_speed_back_to_rpm() -> None:
    assert loads.speed_for_belt_speed_rpm(250, loads.belt_speed_m_s(250, 700)) == pytest.approx(700)
    assert loads.surface_speed_m_s(1000 / pi, 60) == pytest.approx(1)


def test_a_standing_shaft_carries_no_power() -> None:
    with pytest.raises(DriveError, match="no power"):
        loads.torque_nm(100, 0)


def test_a_belt_without_wrap_carries_nothing() -> None:
    with pytest.raises(DriveError, match="carries nothing"):
        loads.least_tensions(100, 0.5, 0)


def test_no_note_without_mass() -> None:
    with pytest.raises(DriveError, match="mass"):
        loads.span_frequency_hz(100, 0, 300)

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platekit.drive.control import compare
from platekit.drive.motors import InductionMotor, frequency_for_hz
from platekit.drive.request import Motor
from platekit.errors import DriveError

PLATE = Motor(power_w=750, speed_rpm=1740, frequency_hz=60)
BRUSHED = Motor(kind="universal", loaded=(10000, 0.5), no_load=(25000, 0.1))
DC = Motor(kind="dc", loaded=(3000, 0.5), no_load=(3600, 0.05))


def test_gearing_keeps_the_power() -> None:
    geared, _ = compare(PLATE, 4, [50, 100, 200, 400])
    assert all(point.power_w == pytest.approx(750) for point in geared.points)


def test_an_inverter_keeps_the_torque_and_gearing_beats_it_below_rated_speed() -> None:
    geared, own = compare(PLATE, 4, [100, 200, 400])
    assert own.way == "inverter"
    torques = [point.torque_nm for point in own.points]
    assert torques == pytest.approx([torques[0]] * 3)
    for slow, held in zip(geared.points, own.points, strict=True):
        assert slow.torque_nm > held.torque_nm


def test_both_agree_at_the_rated_speed() -> None:
    geared, own = compare(PLATE, 4, [1740 / 4], efficiency=0.95)
    assert own.points[0].torque_nm == pytest.approx(geared.points[0].torque_nm, rel=1e-6)


@pytest.mark.parametrize("motor", [BRUSHED, DC])
def test_less_voltage_starves_a_brushed_motor(motor: Motor) -> None:
    assert motor.loaded is not None
    ratio = 10.0
    rated = motor.loaded[0] / ratio
    geared, own = compare(motor, ratio, [rated / 8, rated / 4, rated / 2])
    assert own.way == "voltage"
    shares = [held.torque_nm / slow.torque_nm for slow, held in zip(geared.points, own.points, strict=True)]
    assert shares == sorted(shares)
    assert shares[0] < 0.15
    for held in own.points:
        assert held.torque_nm <= motor.loaded[1] * ratio


def test_a_speed_beyond_full_voltage_is_left_out() -> None:
    _, own = compare(DC, 1, [1000, 50_000])
    assert len(own.points) == 1


@given(st.floats(100, 8000))
def test_the_frequency_for_a_speed_gives_that_speed(speed: float) -> None:
    motor = InductionMotor(750, 1740, 60)
    assert motor.at(frequency_for_hz(motor, speed)).speed_rpm == pytest.approx(speed, rel=1e-7)


def test_a_speed_that_no_frequency_gives() -> None:
    with pytest.raises(DriveError, match="no frequency"):
        frequency_for_hz(InductionMotor(750, 1740, 60), 200_000)

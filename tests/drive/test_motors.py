from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platekit.drive.motors import DcMotor, InductionMotor, UniversalMotor, synchronous_speed_rpm, torque_share
from platekit.errors import DriveError

MOTOR = InductionMotor(power_w=750, speed_rpm=1740, frequency_hz=60)


@pytest.mark.parametrize(
    ("speed", "frequency", "poles"),
    [
        (3450, 60, 2),
        (1740, 60, 4),
        (1150, 60, 6),
        (860, 60, 8),
        (2850, 50, 2),
        (1440, 50, 4),
        (940, 50, 6),
        (1500, 50, 4),
    ],
)
def test_poles_follow_from_the_plate(speed: float, frequency: float, poles: int) -> None:
    motor = InductionMotor(750, speed, frequency)
    assert motor.poles == poles
    assert motor.synchronous_rpm == synchronous_speed_rpm(frequency, poles)
    assert 0 <= motor.slip < 0.1


def test_at_its_own_frequency_it_is_itself() -> None:
    running = MOTOR.at(60)
    assert running.speed_rpm == pytest.approx(1740)
    assert running.power_w == pytest.approx(750)


@given(st.floats(10, 60))
def test_below_base_the_torque_stays(frequency: float) -> None:
    running = MOTOR.at(frequency)
    assert running.torque_nm == pytest.approx(MOTOR.torque_nm)
    # the slip in rpm stays: the current and the flux are those of rated load
    assert synchronous_speed_rpm(frequency, 4) - running.speed_rpm == pytest.approx(60)


@given(st.floats(60, 90))
def test_above_base_the_power_stays(frequency: float) -> None:
    running = MOTOR.at(frequency)
    assert running.power_w == pytest.approx(750)
    assert running.torque_nm == pytest.approx(MOTOR.torque_nm * 60 / frequency)


@given(st.floats(90, 400))
def test_beyond_breakdown_the_torque_falls_with_the_square(frequency: float) -> None:
    assert MOTOR.at(2 * frequency).torque_nm == pytest.approx(MOTOR.at(frequency).torque_nm / 4)


@given(st.floats(5, 300), st.floats(0.1, 50))
def test_speed_rises_and_torque_never_does(frequency: float, more: float) -> None:
    slow, fast = MOTOR.at(frequency), MOTOR.at(frequency + more)
    assert fast.speed_rpm > slow.speed_rpm
    assert fast.torque_nm <= slow.torque_nm * (1 + 1e-12)


@given(st.floats(1, 3))
def test_the_curve_has_no_jumps(constant_power_to: float) -> None:
    for corner in (1.0, constant_power_to):
        below, above = torque_share(corner - 1e-9, constant_power_to), torque_share(corner + 1e-9, constant_power_to)
        assert below == pytest.approx(above, abs=1e-8)


def test_a_speed_that_does_not_belong_to_the_frequency() -> None:
    with pytest.raises(DriveError, match=r"2000 rpm does not belong to 60 Hz.*3600 rpm"):
        InductionMotor(750, 2000, 60)


@pytest.mark.parametrize(("power", "speed", "frequency"), [(0, 1740, 60), (750, 0, 60), (750, 1740, 0)])
def test_a_motor_without_a_plate(power: float, speed: float, frequency: float) -> None:
    with pytest.raises(DriveError, match="above zero"):
        InductionMotor(power, speed, frequency)


def test_it_stalls_when_the_field_is_slower_than_the_slip() -> None:
    with pytest.raises(DriveError, match="stalls"):
        MOTOR.at(1.5)
    with pytest.raises(DriveError, match="above zero"):
        MOTOR.at(0)


CURVES: list[UniversalMotor | DcMotor] = [
    UniversalMotor(rated=(10000, 0.5), no_load=(25000, 0.05)),  # flatter than an ideal series motor: saturated
    UniversalMotor(rated=(10000, 0.5), no_load=(25000, 0.15)),  # steeper: the winding's resistance shows
    DcMotor(rated=(3000, 0.5), no_load=(3600, 0.05)),
]


@pytest.mark.parametrize("motor", CURVES)
def test_the_curve_goes_through_both_points(motor: UniversalMotor | DcMotor) -> None:
    for speed, torque in (motor.rated, motor.no_load):
        assert motor.speed_rpm(torque) == pytest.approx(speed)
        assert motor.torque_nm(speed) == pytest.approx(torque)
        assert motor.setting_for(speed, torque) == pytest.approx(1)


@pytest.mark.parametrize("motor", CURVES)
@given(torque=st.floats(0.05, 0.6), setting=st.floats(0.3, 1))
def test_speed_and_torque_undo_each_other(motor: UniversalMotor | DcMotor, torque: float, setting: float) -> None:
    speed = motor.speed_rpm(torque, setting)
    if speed > 0:
        assert motor.torque_nm(speed, setting) == pytest.approx(torque, rel=1e-6)
        assert motor.setting_for(speed, torque) == pytest.approx(setting, rel=1e-6)


@pytest.mark.parametrize("motor", CURVES)
@given(torque=st.floats(0.05, 0.5), more=st.floats(0.01, 0.3), setting=st.floats(0.5, 0.99))
def test_more_load_and_less_voltage_are_slower(
    motor: UniversalMotor | DcMotor, torque: float, more: float, setting: float
) -> None:
    assert motor.speed_rpm(torque + more, setting) <= motor.speed_rpm(torque, setting)
    assert motor.speed_rpm(torque, setting) < motor.speed_rpm(torque, 1)


def test_half_the_voltage_more_than_halves_a_loaded_series_motor() -> None:
    motor = CURVES[1]
    assert motor.speed_rpm(0.5, 0.5) < 0.5 * motor.speed_rpm(0.5, 1)


def test_torque_at_a_speed_falls_with_the_square_of_the_voltage_at_least() -> None:
    for motor in CURVES[:2]:
        assert motor.torque_nm(5000, 0.5) <= 0.25 * motor.torque_nm(5000, 1) * (1 + 1e-9)


def test_a_dc_motor_stalls_rather_than_turns_backwards() -> None:
    motor = CURVES[2]
    assert motor.speed_rpm(0.5, 0.1) == 0
    assert motor.torque_nm(4000, 1) == 0


@pytest.mark.parametrize("kind", [UniversalMotor, DcMotor])
def test_a_curve_that_rises_does_not_exist(kind: type[UniversalMotor] | type[DcMotor]) -> None:
    with pytest.raises(DriveError, match="does not exist"):
        kind((25000, 0.05), (10000, 0.5))

"""What people in the trade know by heart.

Source: common practice, no single source.
Compared: speed and torque of a motor far above its rated frequency; which ratio is beyond any single belt.
Within: 1 %.
"""

from __future__ import annotations

import pytest

from platekit.drive import Belt, DriveRequest, DriveTarget, Motor, Pulley, Range, work_out
from platekit.drive.choosing import ChoiceRequest, choose
from platekit.errors import DriveError


def shaft_at(frequency_hz: float, constant_power_to: float) -> tuple[float, float]:
    """Speed and torque of a shaft that a four-pole motor drives at 800 rpm when it gets 60 Hz."""
    motor = Motor(power_w=750, speed_rpm=1740, frequency_hz=60, constant_power_to=constant_power_to)
    pulley = 71.0
    drive = work_out(
        DriveRequest(
            motor=motor,
            driver=Pulley(pitch_diameter=pulley),
            driven=Pulley(pitch_diameter=pulley * 1740 / 800),
            belt=Belt("A", 1000),
            setting=Range(60, frequency_hz),
        )
    )
    first, last = drive.points[0], drive.points[-1]
    assert first.speed_rpm == pytest.approx(800)
    return last.speed_rpm, last.torque_nm / first.torque_nm


def test_800_rpm_at_60_hz_is_about_3000_rpm_at_225_hz() -> None:
    """With torque falling in the same ratio, as far as the motor holds its power."""
    speed, torque = shaft_at(225, constant_power_to=225 / 60)
    assert speed == pytest.approx(3000, rel=0.01)
    assert torque == pytest.approx(800 / 3000, rel=0.01)


def test_a_plain_motor_gives_less_than_constant_power_up_there() -> None:
    """Beyond about one and a half times its frequency the torque falls with the square."""
    speed, torque = shaft_at(225, constant_power_to=1.5)
    assert 3000 <= speed <= 3000 * 1800 / 1740  # lightly loaded, it runs closer to its field
    assert torque == pytest.approx(1.5 * (60 / 225) ** 2, rel=0.01)


def test_3600_to_50_rpm_is_72_to_1_beyond_any_single_belt() -> None:
    with pytest.raises(DriveError, match="72 to 1, beyond any single belt"):
        choose(ChoiceRequest(Range(3600, 3600), Range(50, 50), Range(200, 600)))


def test_the_same_is_seen_in_a_drive_that_was_given() -> None:
    drive = work_out(
        DriveRequest(
            motor=Motor(power_w=750, speed_rpm=3600, frequency_hz=60),
            driver=Pulley(pitch_diameter=71),
            driven=Pulley(pitch_diameter=250),
            belt=Belt("A", 1000),
            wanted=DriveTarget(Range(50, 50)),
        )
    )
    assert drive.reach is not None
    assert not drive.reach.reached
    assert drive.reach.ratio_needed == pytest.approx(72)
    assert not drive.reach.one_belt

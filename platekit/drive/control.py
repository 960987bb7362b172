"""Three ways to make a shaft slower, side by side: other pulleys, an inverter, or less voltage.

Gearing keeps the motor at its rated speed, so that torque rises as speed falls. An inverter keeps the
torque. Turning the voltage of a brushed motor down starves it: set to a slow speed lightly loaded, it
sags as soon as it has to work, and what it holds within a given sag is part of its rated torque, where
gearing would have multiplied it. The figures are those of the working shaft.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, Literal

from msgspec import Struct

from platekit.drive import loads
from platekit.drive.motors import VoltageMotor, frequency_for_hz
from platekit.drive.request import Motor
from platekit.drive.working import induction_motor, voltage_motor

Way = Literal["gearing", "inverter", "voltage"]

SAG: Final = 0.2
"""How much of its light-load speed a motor on reduced voltage may lose under load before the work suffers.

Our own choice.
"""

LIGHT_SHARE: Final = 0.2
"""Share of the rated torque under which the voltage is set: tool and belt turning, no work yet.

Our own choice.
"""


class Held(Struct, frozen=True):
    """What the working shaft gives at one speed in rpm: torque in N m and power in W."""

    speed_rpm: float
    torque_nm: float

    @property
    def power_w(self) -> float:
        """The power at this speed, in W."""
        return loads.power_w(self.torque_nm, self.speed_rpm)


class Curve(Struct, frozen=True):
    """One way of changing speed: what the working shaft gives at each speed that can be reached that way."""

    way: Way
    points: tuple[Held, ...]


def compare(motor: Motor, ratio: float, speeds: Sequence[float], efficiency: float = 1.0) -> tuple[Curve, ...]:
    """Gearing against the inverter (induction motors) or the voltage (brushed ones), at the same working speeds in rpm.

    `ratio` is motor speed over working speed of the drive that stays when the motor's own speed is changed;
    `efficiency` the share of power that arrives. Raises `DriveError` for a speed that no frequency gives.
    """
    if motor.kind == "induction":
        induction = induction_motor(motor)
        rated_power = induction.power_w
        at_speed = ((speed, induction.at(frequency_for_hz(induction, speed * ratio))) for speed in speeds)
        own = Curve(
            "inverter", tuple(Held(speed, running.torque_nm * ratio * efficiency) for speed, running in at_speed)
        )
    else:
        # A speed that full voltage does not reach lightly loaded has no point.
        brushed = voltage_motor(motor)
        rated_power = loads.power_w(brushed.rated[1], brushed.rated[0])
        held = (_voltage(brushed, ratio, speed, efficiency) for speed in speeds)
        own = Curve("voltage", tuple(point for point in held if point is not None))
    # Gearing leaves the motor where it is: the whole rated power arrives, whatever the speed of the working shaft.
    geared = tuple(Held(speed, loads.torque_nm(rated_power * efficiency, speed)) for speed in speeds)
    return Curve("gearing", geared), own


def _voltage(motor: VoltageMotor, ratio: float, speed_rpm: float, efficiency: float) -> Held | None:
    """What is left when the speed has sagged.

    None for a speed that full voltage does not reach lightly loaded.
    """
    # Speed is set before the work, as one does at the bench: voltage for this speed with the tool only turning. Then
    # the work comes on, the speed sags by the bearable share, and what torque the motor has there is what it holds.
    # It is never counted above rated torque, which is all that the winding stands for long.
    rated_torque = motor.rated[1]
    setting = motor.setting_for(speed_rpm * ratio, rated_torque * LIGHT_SHARE)
    if setting > 1:
        return None
    torque = motor.torque_nm(speed_rpm * ratio * (1 - SAG), setting)
    return Held(speed_rpm * (1 - SAG), min(torque, rated_torque) * ratio * efficiency)

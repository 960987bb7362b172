"""Motors: what torque is left at what speed, by inverter, by voltage, or by gearing alone.

An *induction* motor runs a little slower than its field, by the *slip*. An inverter sets the field's
frequency: up to the *base* frequency torque stays constant, above it power, until the *breakdown*
torque, which falls with the square of the frequency, gets in the way. A *universal* motor (brushed,
field in series) and a *DC* motor are described by two points of their torque-speed curve at full
voltage; a *setting* is the share of that voltage. Torques in N m at the motor's own shaft.
"""

from __future__ import annotations

from functools import lru_cache
from math import floor, log, sqrt
from typing import Protocol

from msgspec import Struct

from platekit.drive import loads
from platekit.drive.limits import CONSTANT_POWER_TO
from platekit.errors import DriveError
from platekit.tables.motors import usual_slip

MOST_SLIP = 0.25
"""Slip at rated load above which speed and frequency cannot belong together.

Common practice: a few per cent.
"""

MAINS_HZ = (50.0, 60.0)
"""Frequencies of the mains, in Hz. Published: IEC 60196."""

MOST_POLES = 16
"""Most poles that a motor's speed is read as (ours): more are rare."""

UNSATURATED_FALL = 0.5
"""Speed falls with the square root of the torque in a series motor without saturation. Textbook."""

LOWEST_HZ = 0.1
HIGHEST_HZ = 2000.0
"""Between these frequencies the one for a wanted speed is searched, in Hz.

Far beyond any inverter's range.
"""

Corner = tuple[float, float]
"""A point of a torque-speed curve: speed in rpm, torque in N m."""


class Running(Struct, frozen=True):
    """One state of a motor: speed in rpm and torque in N m at its own shaft."""

    speed_rpm: float
    torque_nm: float

    @property
    def power_w(self) -> float:
        """The power at the shaft, in W."""
        return loads.power_w(self.torque_nm, self.speed_rpm)


def synchronous_speed_rpm(frequency_hz: float, poles: int) -> float:
    """The speed of the field in rpm: 120 f / poles, f in Hz. Textbook.

    >>> synchronous_speed_rpm(60, 4)
    1800.0
    """
    return 120 * frequency_hz / poles


class MainsReading(Struct, frozen=True):
    """A speed read as that of a motor of so many poles at a frequency (Hz), with its slip as a share."""

    frequency_hz: float
    poles: int
    slip: float


def mains_reading(power_w: float, speed_rpm: float, frequency_hz: float) -> MainsReading | None:
    """The poles with which a motor of this power has this speed at a frequency; None where no number of poles has.

    Power in W, speed in rpm, frequency in Hz; the usual slip for a power is a row of the tables.

    >>> mains_reading(1100, 1420, 50).poles, mains_reading(1100, 1420, 60)
    (4, None)
    """
    # Fields of neighbouring pole numbers lie far apart (3000, 1500, 1000 rpm): at most one has a slip that is usual.
    for poles in range(2, MOST_POLES + 2, 2):
        slip = 1 - speed_rpm / synchronous_speed_rpm(frequency_hz, poles)
        if 0 <= slip <= usual_slip(power_w):
            return MainsReading(frequency_hz, poles, slip)
    return None


class InductionMotor(Struct, frozen=True):
    """An induction motor by its plate: rated power in W, rated speed in rpm, base frequency in Hz.

    `constant_power_to` is the multiple of the base frequency up to which the power can be held. The
    poles follow from speed and frequency.
    """

    power_w: float
    speed_rpm: float
    frequency_hz: float
    constant_power_to: float = CONSTANT_POWER_TO

    def __post_init__(self) -> None:
        if min(self.power_w, self.speed_rpm, self.frequency_hz) <= 0 or self.constant_power_to < 1:
            raise DriveError("a motor needs power, speed and frequency above zero")
        # A rating plate misread is a common slip (50 Hz for 60), so the error says which frequency the speed fits.
        if not 0 <= self.slip <= MOST_SLIP:
            others = [
                f"; it would be one of {frequency:g} Hz with {reading.poles} poles"
                for frequency in MAINS_HZ
                if (reading := mains_reading(self.power_w, self.speed_rpm, frequency)) is not None
            ]
            raise DriveError(
                f"a motor of {self.speed_rpm:g} rpm does not belong to {self.frequency_hz:g} Hz: with {self.poles} "
                f"poles the field turns at {self.synchronous_rpm:.0f} rpm{''.join(others)}",
                "check speed and frequency on the motor's rating plate",
            )

    @property
    def poles(self) -> int:
        """The number of poles: the most with which the field (rpm) is still as fast as the shaft."""
        # A motor marked with its synchronous speed (1500 at 50 Hz) has slip 0: the 1e-9 keeps its four poles.
        return max(2, 2 * floor(60 * self.frequency_hz / self.speed_rpm + 1e-9))

    @property
    def synchronous_rpm(self) -> float:
        """The speed of the field at the base frequency, rpm."""
        return synchronous_speed_rpm(self.frequency_hz, self.poles)

    @property
    def slip(self) -> float:
        """How much slower than the field the shaft runs at rated load, as a share of its rpm."""
        return 1 - self.speed_rpm / self.synchronous_rpm

    @property
    def torque_nm(self) -> float:
        """The rated torque, in N m."""
        return loads.torque_nm(self.power_w, self.speed_rpm)

    def at(self, frequency_hz: float) -> Running:
        """What the motor gives at this frequency, in continuous duty and cooled well enough.

        Up to the base frequency the rated torque, with the slip speed of rated load. Above it the
        voltage stays, so that torque falls with 1/f and the slip share stays; beyond
        `constant_power_to` it falls with 1/f^2. Common practice.
        """
        if frequency_hz <= 0:
            raise DriveError("an inverter's frequency must be above zero")
        # Slip in rpm grows with torque and falls with the square of the flux: below the base frequency the inverter
        # keeps the flux, so the slip in rpm stays that of rated load; above it voltage ends and flux falls with 1/f.
        multiple = frequency_hz / self.frequency_hz
        share = torque_share(multiple, self.constant_power_to)
        flux = min(1.0, 1 / multiple)
        slip_rpm = self.slip * self.synchronous_rpm * share / flux**2
        field_rpm = synchronous_speed_rpm(frequency_hz, self.poles)
        if slip_rpm >= field_rpm:
            raise DriveError(f"at {frequency_hz:g} Hz the motor stalls under its rated torque", "go no lower")
        return Running(field_rpm - slip_rpm, self.torque_nm * share)


def torque_share(multiple: float, constant_power_to: float = CONSTANT_POWER_TO) -> float:
    """Torque over rated torque at this multiple of the base frequency. Common practice.

    >>> torque_share(0.5), torque_share(1.25), torque_share(3, constant_power_to=1.5)
    (1.0, 0.8, 0.16666666666666666)
    """
    # constant torque, then constant power, then the breakdown torque, which falls with the square of the frequency
    if multiple <= 1:
        return 1.0
    return 1 / multiple if multiple <= constant_power_to else constant_power_to / multiple**2


@lru_cache(maxsize=256)  # the chart and the report ask for the same speeds
def frequency_for_hz(motor: InductionMotor, speed_rpm: float) -> float:
    """The frequency in Hz at which the loaded motor runs at this speed in rpm; undoes `InductionMotor.at`.

    Raises `DriveError` outside what a motor can do.
    """
    # Halving: the loaded speed rises with the frequency, but by three laws with kinks between them.
    low, high = LOWEST_HZ, HIGHEST_HZ
    if not _speed_rpm(motor, low) <= speed_rpm <= _speed_rpm(motor, high):
        raise DriveError(f"no frequency makes this motor run at {speed_rpm:.0f} rpm under load")
    while high - low > 1e-9 * high:
        middle = (low + high) / 2
        low, high = (middle, high) if _speed_rpm(motor, middle) < speed_rpm else (low, middle)
    return (low + high) / 2


def _speed_rpm(motor: InductionMotor, frequency_hz: float) -> float:
    """The loaded speed; 0 where the motor stalls."""
    try:
        return motor.at(frequency_hz).speed_rpm
    except DriveError:  # too slow a field for its own slip
        return 0.0


def check_falling(rated: Corner, no_load: Corner) -> None:
    """Refuses two points of a curve (rpm, N m) of which the faster one has not the lower torque: `DriveError`."""
    (loaded, heavy), (fast, low) = rated, no_load
    if not (0 < loaded < fast and 0 < low < heavy):
        raise DriveError(
            f"a motor that gives {heavy:g} Nm at {loaded:g} rpm and {low:g} Nm at {fast:g} rpm does not exist",
            "give the loaded point and a faster, lighter one",
        )


class VoltageMotor(Protocol):
    """A motor whose speed follows the voltage."""

    @property
    def rated(self) -> Corner:
        """The loaded point of its curve: speed in rpm, torque in N m."""

    def speed_rpm(self, torque: float, setting: float = 1.0) -> float:
        """The speed under this torque at this share of full voltage; 0 when it stalls."""

    def torque_nm(self, speed_rpm: float, setting: float = 1.0) -> float:
        """The torque at this speed and share of full voltage; 0 when the motor would run slower by itself."""

    def setting_for(self, speed_rpm: float, torque: float) -> float:
        """The share of full voltage that gives this speed under this torque."""


class UniversalMotor(Struct, frozen=True):
    """A brushed series motor by two points of its curve at full voltage.

    Flux and torque rise with the current. Where the curve is as steep as that of a series motor without
    saturation or steeper, its winding's resistance is found: speed = voltage x a / sqrt(torque) - b.
    Where it is flatter the iron saturates: speed = voltage x a / torque^n with n below one half.
    Textbook (series motor, flux as a power of the current).
    """

    rated: Corner
    no_load: Corner

    def __post_init__(self) -> None:
        check_falling(self.rated, self.no_load)

    @property
    def fall(self) -> float:
        """The exponent of the fall from the no-load to the loaded point.

        One half without saturation and resistance.
        """
        (loaded, heavy), (fast, low) = self.rated, self.no_load
        return log(fast / loaded) / log(heavy / low)

    @property
    def _law(self) -> tuple[float, float, float]:
        """a, n and b of speed = voltage x a / torque^n - b."""
        # Two points give two of three unknowns. A curve flatter than the square root can only be saturated iron: its
        # exponent is fitted and resistance left out. A steeper one keeps the square root and loses the rest in the
        # winding, as a constant drop.
        (loaded, heavy), (fast, low) = self.rated, self.no_load
        if self.fall <= UNSATURATED_FALL:
            return loaded * heavy**self.fall, self.fall, 0.0
        steep = (fast - loaded) / (1 / sqrt(low) - 1 / sqrt(heavy))
        return steep, UNSATURATED_FALL, steep / sqrt(heavy) - loaded

    def speed_rpm(self, torque: float, setting: float = 1.0) -> float:
        """The speed under this torque at this share of full voltage; 0 when it stalls."""
        steep, fall, drop = self._law
        speed: float = setting * steep / torque**fall - drop
        return max(0.0, speed)

    def torque_nm(self, speed_rpm: float, setting: float = 1.0) -> float:
        """The torque at this speed and share of full voltage."""
        steep, fall, drop = self._law
        return float((setting * steep / (speed_rpm + drop)) ** (1 / fall))

    def setting_for(self, speed_rpm: float, torque: float) -> float:
        """The share of full voltage that gives this speed under this torque."""
        steep, fall, drop = self._law
        return float((speed_rpm + drop) * torque**fall / steep)


class DcMotor(Struct, frozen=True):
    """A DC motor with constant field by two points of its curve at full voltage.

    The speed falls in a straight line with the torque; the voltage moves the line up and down. Textbook.
    """

    rated: Corner
    no_load: Corner

    def __post_init__(self) -> None:
        check_falling(self.rated, self.no_load)

    @property
    def _constants(self) -> tuple[float, float]:
        """No-load speed in rpm and drop in rpm per N m."""
        (loaded, heavy), (fast, low) = self.rated, self.no_load
        # the straight line through both points, and where it meets no torque at all
        drop = (fast - loaded) / (heavy - low)
        return fast + drop * low, drop

    def speed_rpm(self, torque: float, setting: float = 1.0) -> float:
        """The speed under this torque at this share of full voltage; 0 when it stalls."""
        free, drop = self._constants
        return max(0.0, setting * free - drop * torque)

    def torque_nm(self, speed_rpm: float, setting: float = 1.0) -> float:
        """The torque at this speed and share of full voltage; 0 when the motor would run slower by itself."""
        free, drop = self._constants
        return max(0.0, (setting * free - speed_rpm) / drop)

    def setting_for(self, speed_rpm: float, torque: float) -> float:
        """The share of full voltage that gives this speed under this torque."""
        free, drop = self._constants
        return (speed_rpm + drop * torque) / free

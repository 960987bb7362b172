"""What must be known to work out a drive: motor, inverter, belt, pulleys, and what is wanted.

Plain values, lengths in mm. A pulley is given by its pitch, effective or outside diameter, or by its
teeth; a belt's length always says where it is measured, or is a trade size.
"""

from __future__ import annotations

from typing import Final, Literal

from msgspec import Struct

from platekit.drive.limits import CONSTANT_POWER_TO, SERVICE_FACTOR
from platekit.drive.motors import Corner
from platekit.drive.route import Wheel
from platekit.drive.toothed import pitch_diameter as toothed_pitch_diameter
from platekit.errors import DriveError
from platekit.tables import belts

UsualFigure = Literal["service_factor", "efficiency"]
USUAL_FIGURES: Final[tuple[UsualFigure, ...]] = ("service_factor", "efficiency")
"""Figures of a drive that have a usual value where nobody gives one."""
MotorKind = Literal["induction", "universal", "dc"]

USUAL_MATERIAL = "cast iron"
"""What a pulley is taken to be made of when nothing is said: the slowest usual rim. Common practice."""

TOOTHED_ROUNDING = 0.1
"""How far a toothed pulley's diameter may be from whole teeth, in mm: tables print 0.01 to 0.1 mm."""


class Pulley(Struct, frozen=True):
    """A pulley by one of its diameters in mm or its tooth count, and what it is made of."""

    pitch_diameter: float | None = None
    effective_diameter: float | None = None
    outside_diameter: float | None = None
    teeth: int | None = None
    material: str = USUAL_MATERIAL

    def pitch(self, section: str | None) -> float:
        """The pitch diameter in mm on a belt of this section.

        Raises `DriveError` when the pulley is not told well enough.
        """
        given = (self.pitch_diameter, self.effective_diameter, self.outside_diameter, self.teeth)
        if sum(value is not None for value in given) != 1:
            raise DriveError("a pulley needs exactly one of pitch, effective or outside diameter, or its teeth")
        if self.pitch_diameter is not None:
            return self.pitch_diameter
        if section is None:
            raise DriveError("a pulley told otherwise than by its pitch diameter needs the belt's section")
        if self.teeth is not None:
            kind = belts.section(section)
            if not kind.toothed:
                raise DriveError(f"{kind.name} belts have no teeth", "give the pulley's pitch diameter")
            return toothed_pitch_diameter(self.teeth or 0, kind.pitch)
        if self.effective_diameter is not None:
            return belts.pitch_diameter(section, self.effective_diameter, "effective")
        return belts.pitch_diameter(section, self.outside_diameter or 0.0, "outside")

    def teeth_on(self, section: str | None) -> int:
        """The tooth count on a toothed belt of this section, 0 on any other.

        Raises `DriveError` for part of a tooth.
        """
        if section is None or not belts.section(section).toothed:
            return 0
        kind = belts.section(section)
        diameter = self.pitch(section)
        teeth = round(diameter / toothed_pitch_diameter(1, kind.pitch))
        whole = toothed_pitch_diameter(max(teeth, 1), kind.pitch)
        if teeth < 1 or abs(diameter - whole) > TOOTHED_ROUNDING:
            raise DriveError(
                f"a pulley of {diameter:.2f} mm pitch diameter has no whole number of {kind.name} teeth",
                f"{teeth} teeth have {whole:.2f} mm",
            )
        return teeth


class Belt(Struct, frozen=True):
    """The belt: its section, and its length (mm, measured as `of` says) or None when the shafts' places give it.

    `count` is the number of belts side by side; `ribs` and `width` (mm) matter for ribbed and toothed
    belts, 0 when not known.
    """

    section: str
    length: float | None = None
    of: belts.LengthKind = "pitch"
    count: int = 1
    ribs: int = 0
    width: float = 0.0

    @classmethod
    def of_trade_size(cls, text: str, count: int = 1) -> Belt:
        """The belt that the trade calls by this name, as `A38`; raises `LookupFailed`."""
        size = belts.trade_size(text)
        return cls(size.section.name, size.pitch_length, "pitch", count, size.ribs, size.width)

    @property
    def size(self) -> belts.BeltSize | None:
        """The belt with its pitch length; None while its length is open."""
        if self.length is None:
            return None
        return belts.belt_size(self.section, self.length, self.of, self.width, self.ribs)


class Motor(Struct, frozen=True):
    """The motor by its plate: power in W, speed in rpm, frequency in Hz, top speed in rpm where it is marked.

    A universal or DC motor has two points of its curve at full voltage instead, `loaded` and `no_load`,
    each speed and torque.
    """

    power_w: float = 0.0
    speed_rpm: float = 0.0
    frequency_hz: float = 0.0
    max_speed_rpm: float | None = None
    shaft_load_n: float | None = None
    """What its maker lets a belt pull at the middle of the shaft's end."""
    kind: MotorKind = "induction"
    constant_power_to: float = CONSTANT_POWER_TO
    loaded: Corner | None = None
    no_load: Corner | None = None


class Range(Struct, frozen=True):
    """From the lowest to the highest: frequencies of an inverter in Hz, shares of full voltage, or speeds in rpm."""

    low: float
    high: float

    def __post_init__(self) -> None:
        if not 0 < self.low <= self.high:
            raise DriveError(
                f"a range from {self.low:g} to {self.high:g} is none", "give the lower figure first, above zero"
            )


class DriveTarget(Struct, frozen=True):
    """What the working shaft should do: speeds in rpm, torque in N m where it is known.

    `tool_diameter` in mm and `tool_top_rpm` belong to a tool or drum on that shaft.
    """

    speeds: Range | None = None
    torque_nm: float | None = None
    tool_diameter: float | None = None
    tool_top_rpm: float | None = None


class DriveRequest(Struct, frozen=True):
    """One belt drive.

    `centres` is the distance of the shafts where they are placed, None when the belt decides. `before`
    is how many turns the motor makes for one of the driver (1 on the motor's own shaft; the ratio of
    the first stage on a countershaft). `setting` is the range of the inverter in Hz, or of the voltage as
    a share. `off_line` is the angle of the slot to the line of centres, in radians. `idlers` are in a
    frame with the driven pulley at the origin and the driver at `line` radians. `own` names those of service factor and
    efficiency that someone gave, so that a report can tell them from the usual ones; `service_by` is the printed
    service factor where the kind of machine gave it.
    """

    motor: Motor | None
    driver: Pulley
    driven: Pulley
    belt: Belt | None = None
    centres: float | None = None
    setting: Range | None = None
    wanted: DriveTarget = DriveTarget()
    service_factor: float = SERVICE_FACTOR
    efficiency: float | None = None
    before: float = 1.0
    off_line: float = 0.0
    idlers: tuple[Wheel, ...] = ()
    line: float = 0.0
    own: frozenset[UsualFigure] = frozenset()
    service_by: belts.ServiceFactor | None = None

    @property
    def inverter(self) -> Range | None:
        """The range of the inverter in Hz; None where the voltage is set, or nothing is."""
        return self.setting if self.motor is None or self.motor.kind == "induction" else None

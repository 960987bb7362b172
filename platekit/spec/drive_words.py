"""The words of the spec language for the belt drive: motor, inverter, belt, pulleys, what is wanted."""

from typing import Annotated, Any, Literal, Self

from pydantic import BaseModel, Discriminator, Field, Tag, field_validator, model_validator

from platekit.choices import DrivenMachine
from platekit.spec.base import WordsModel
from platekit.spec.fields import (
    Angle,
    Count,
    Current,
    Designation,
    Force,
    Frequency,
    Length,
    Name,
    OfferedLength,
    Pair,
    PositiveLength,
    Power,
    Read,
    Share,
    Speed,
    Torque,
    YesNo,
    no_items,
    wrong,
)
from platekit.spec.take_up_words import TakeUp

DRIVER = "driver"
DRIVEN = "driven"


class CurvePoint(WordsModel):
    """One point of a motor's torque-speed curve at full voltage."""

    speed: Speed = Field(description="Such as `9000 rpm`.")
    torque: Torque = Field(description="Such as `0.4 Nm`.")


class DriveMotor(WordsModel):
    """The motor by its rating plate, or by two points of its curve."""

    kind: Literal["induction", "universal", "dc"] = Field(default="induction", description="How it works.")
    power: Power | None = Field(default=None, description="Rated power, such as `0.75 kW`.")
    speed: Speed | None = Field(default=None, description="Rated speed, such as `1740 rpm`.")
    frequency: Frequency | None = Field(default=None, description="Rated frequency, such as `60 Hz`.")
    current: Current | None = Field(
        default=None,
        description="Rated current, such as `1.8 A`, at the voltage that its windings are bridged for: of two on its "
        "plate the smaller belongs to the higher voltage. The commissioning sheet has it for the motor's protection.",
    )
    max_speed: Speed | None = Field(default=None, description="Top speed marked on it.")
    shaft_load: Force | None = Field(
        default=None,
        description="What the maker lets a belt pull at the middle of its shaft's end, such as `640 N`, from the data "
        "sheet (permissible radial load).",
    )
    constant_power_to: float | None = Field(
        default=None, gt=1, le=10, description="Constant power up to this multiple of the rated frequency."
    )
    loaded: CurvePoint | None = Field(default=None, description="Universal or DC: a point under load.")
    no_load: CurvePoint | None = Field(
        default=None, description="Universal or DC: a point without load, or nearly; `light` in older specs."
    )

    @model_validator(mode="after")
    def check_kind(self) -> Self:
        """What its kind needs is there: power (W), speed (rpm), frequency (Hz), or points of a curve."""
        if self.kind == "induction":
            missing = [key for key in ("power", "speed", "frequency") if getattr(self, key) is None]
            if missing:
                raise wrong("an induction motor", f"it needs {' and '.join(missing)}, as its rating plate says")
            if self.loaded or self.no_load:
                raise wrong(
                    "`loaded` or `no_load`", "take it out; two points of the curve belong to a universal or dc motor"
                )
        elif self.loaded is None or self.no_load is None:
            raise wrong(f"a {self.kind} motor", "it needs two points of its curve, `loaded` and `no_load`")
        return self


class Inverter(WordsModel):
    """The range of an inverter."""

    from_: Frequency = Field(alias="from", description="Lowest frequency, such as `15 Hz`.")
    to: Frequency = Field(description="Highest frequency, such as `90 Hz`.")

    @model_validator(mode="after")
    def check_rising(self) -> Self:
        """The lower frequency comes first, Hz."""
        if self.from_ > self.to:
            raise wrong("a range that falls", "give the lower frequency as `from`, the higher as `to`")
        return self


class Voltage(WordsModel):
    """The range of a voltage control, as shares of full voltage."""

    from_: Share = Field(alias="from", description="Lowest share of full voltage, such as 0.3.")
    to: Share = Field(default=1.0, description="Highest share.")

    @model_validator(mode="after")
    def check_rising(self) -> Self:
        """The lower share of the voltage comes first."""
        if self.from_ > self.to:
            raise wrong("a range that falls", "give the lower share as `from`, the higher as `to`")
        return self


LENGTHS = ("pitch_length", "effective_length", "inside_length", "outside_length")


def read_belt(value: Any) -> Any:
    """A belt by its trade size alone, or with keys."""
    return {"size": value} if isinstance(value, str) else value


class BeltWords(WordsModel):
    """The belt: a trade size, or a section with a length that says where it is measured."""

    size: Designation | None = Field(default=None, description="A trade size, such as `A38`, `5M-500`.")
    section: Designation | None = Field(default=None, description="Such as `A`, `SPZ`, `5M`.")
    pitch_length: PositiveLength | None = Field(default=None, description="Length along the cords.")
    effective_length: PositiveLength | None = Field(default=None, description="Length at the effective diameter.")
    inside_length: PositiveLength | None = Field(default=None, description="Length round the inside.")
    outside_length: PositiveLength | None = Field(default=None, description="Length round the outside.")
    choose: YesNo = Field(default=False, description="Take the stock length nearest to the places of the shafts.")
    near: PositiveLength | None = Field(
        default=None,
        description="With `choose`: the centre distance wanted; needed unless both mounts have a place of their own.",
    )
    count: Count = Field(default=1, ge=1, le=20, description="Belts side by side.")
    ribs: Count | None = Field(default=None, ge=1, le=50, description="Ribs of a ribbed belt.")
    width: PositiveLength | None = Field(default=None, description="Width of a toothed belt.")

    @model_validator(mode="after")
    def check_length(self) -> Self:
        """One thing tells how long it is: a size, a length (mm), or that it is to be chosen."""
        given = [key for key in LENGTHS if getattr(self, key) is not None]
        if (self.size is None) == (self.section is None):
            raise wrong("both or neither of size and section", "give a trade `size`, or a `section` with a length")
        if self.size is not None and (given or self.choose):
            raise wrong("a trade size and a length", "leave the length out: a trade size has its own")
        if self.section is not None and len(given) + self.choose != 1:
            found = " and ".join(given) or "no length"
            raise wrong(found, f"give one of {', '.join(LENGTHS)}, or `choose: true`")
        if self.near is not None and not self.choose:
            raise wrong("`near` without `choose`", "add `choose: true`, or take `near` out")
        return self


Belt = Annotated[BeltWords, Read(read_belt)]


class HubWords(WordsModel):
    """A hub: its diameter and span, measured as the pulley's."""

    diameter: PositiveLength = Field(description="Diameter of the hub.")
    span: Pair = Field(description="[from, to] from the mount's mating face, like the rim's.")

    @model_validator(mode="after")
    def check_span(self) -> Self:
        """The span begins below its end, mm."""
        if self.span[0] >= self.span[1]:
            raise wrong("a span that falls", "a span is [from, to] with `from` below `to`")
        return self


class SeatWords(WordsModel):
    """Where along its shaft a pulley sits, as it can be measured; its span is worked out."""

    width: OfferedLength = Field(
        description="Width of its rim; `auto` takes that of a stock pulley with as many grooves as the belt needs."
    )
    from_face: Length | None = Field(
        default=None,
        description="From the face that the shaft comes out of (a foot's shaft: its shoulder) to the rim's near edge.",
    )
    from_end: Length | None = Field(
        default=None, description="From the shaft's end back to the rim's outer edge; 0 is flush with the end."
    )
    in_line: YesNo = Field(
        default=False, description="In line with the other pulley of its belt (an idler: the driven)."
    )

    @model_validator(mode="after")
    def check_place(self) -> Self:
        """One place along the shaft is given: from_face or from_end (mm), or in_line."""
        given = [key for key in ("from_face", "from_end") if getattr(self, key) is not None]
        given += ["in_line"] if self.in_line else []
        if self.width == 0.0:
            raise wrong("a rim of no width", "measure the rim along the shaft, or say auto")
        if len(given) != 1:
            raise wrong(" and ".join(given) or "no place", "give one of from_face, from_end, in_line: true")
        return self


def span_tag(value: Any) -> str:
    """Whether a span is given as two lengths (mm), or what was measured of it."""
    return "<seat>" if isinstance(value, dict | BaseModel) else "<plain>"


Seat = Annotated[
    Annotated[Pair, Tag("<plain>")] | Annotated[SeatWords, Tag("<seat>")],
    Discriminator(span_tag),
]


def _rising(span: tuple[float, float] | SeatWords) -> None:
    if not isinstance(span, SeatWords) and span[0] >= span[1]:
        raise wrong("a span that falls", "a span is [from, to] with `from` below `to`")


class PulleyWords(WordsModel):
    """A pulley: whose shaft it is on, its size, and where along the shaft."""

    on: Name = Field(description="The mount whose shaft it is on.")
    shaft: Name | None = Field(
        default=None, description="Which of that mount's `shafts` it is on; needed where there are several."
    )
    at: Pair = Field(
        default=(0.0, 0.0),
        description="[x, y] of its middle in that mount's own frame; a shaft that is told has its own place.",
    )
    pitch_diameter: PositiveLength | None = Field(
        default=None, description="Pitch (datum) diameter: where the belt's cords run, not its outside."
    )
    effective_diameter: PositiveLength | None = Field(default=None, description="Effective diameter.")
    outside_diameter: PositiveLength | None = Field(default=None, description="Outside diameter.")
    teeth: Count | None = Field(default=None, ge=1, le=1000, description="Teeth, on a toothed belt.")
    span: Seat = Field(
        description="[from, to] of its rim from the mount's mating face: positive into the part's own side, "
        "negative towards and through the plate. On a shaft that lies along the plate: from where it leaves its part, "
        "positive towards its end. Or what can be measured: its `width` and where it sits."
    )
    flange_diameter: PositiveLength | None = Field(
        default=None, description="Largest diameter, if flanges stand out past the rim."
    )
    hub: HubWords | None = Field(default=None, description="A hub that stands out past the rim.")
    material: Designation = Field(default="cast iron", description="Sets how fast the rim may run.")

    @model_validator(mode="after")
    def check_pulley(self) -> Self:
        """Its span rises, and its diameter is told in one way, mm."""
        sizes = ("pitch_diameter", "effective_diameter", "outside_diameter", "teeth")
        if sum(getattr(self, key) is not None for key in sizes) != 1:
            given = " and ".join(key for key in sizes if getattr(self, key) is not None) or "no size"
            raise wrong(given, f"give exactly one of {', '.join(sizes)}")
        _rising(self.span)
        return self


class ByWrap(WordsModel):
    """A place that follows from the wrap that is wanted: of the belt's two runs one is told, the other stays."""

    pulley: Literal["driver", "driven"] = Field(description="The pulley that the belt is to lie round farther.")
    angle: Angle = Field(description="How far it is to lie round it, such as `200 deg`.")
    free: PositiveLength = Field(description="Free length of belt between that pulley and the idler.")
    run: Literal["left", "right", "upper", "lower"] = Field(
        description="Which run it is on, looking from the driven pulley to the driver, from the near side; `upper` or "
        "`lower` of shafts that lie along the plate."
    )


class WrapPlace(WordsModel):
    """An idler's place by the wrap that is wanted."""

    wrap: ByWrap = Field(description="At which pulley, how far, and on which run of the belt.")


def idler_place_tag(value: Any) -> str:
    """Whether an idler has a place (mm), or follows from a wrap."""
    return "<wrap>" if isinstance(value, dict | BaseModel) else "<plain>"


class IdlerWords(WordsModel):
    """An idler: a pulley without a motor that the belt runs over."""

    on: Name = Field(description="The mount that carries it, or `plate`.")
    at: Annotated[
        Annotated[Pair, Tag("<plain>")] | Annotated[WrapPlace, Tag("<wrap>")],
        Discriminator(idler_place_tag),
    ] = Field(
        description="[x, y] of its middle, in that mount's own frame; or found from the `wrap` that is wanted: how far "
        "the belt lies round a pulley."
    )
    height: Length | None = Field(
        default=None,
        description="Over shafts that lie along the plate: of its axis above the mating face of what carries it.",
    )
    diameter: PositiveLength = Field(description="Diameter on which the belt's cords run.")
    inside: YesNo = Field(description="true if it runs inside the belt, false on its back.")
    span: Seat = Field(
        description="[from, to] of its rim, as a pulley's, or its width and where it sits. Over shafts that lie along "
        "the plate it counts from its middle the way that the driven shaft points."
    )
    screw: Designation | None = Field(
        default=None,
        description="`on: plate`: the screw that it turns on, such as `M10`; the plate gets a hole for it, or a slot "
        "where it travels.",
    )
    take_up: TakeUp | None = Field(
        default=None,
        description="`on: plate`: its own travel, in a slot or on an arm that swings about a pivot of its own. "
        "One on a mount travels with that mount.",
    )

    @model_validator(mode="after")
    def check_idler(self) -> Self:
        """It has what an idler on the plate needs (a screw, a travel), or none of it on a mount."""
        if self.screw is not None and self.on != "plate":
            raise wrong("a `screw` of an idler on a mount", "take it out: the plate has no hole for that idler")
        if self.take_up is not None and self.on != "plate":
            raise wrong("a `take_up` of an idler on a mount", f"give {self.on} the take_up: the idler goes with it")
        if self.take_up is not None and self.take_up.holes_stay:
            raise wrong(f"`{self.take_up.choice}` of an idler on the plate", "use slots or swing")
        if self.take_up is not None and self.take_up.slots is not None and self.take_up.slots.jack is not None:
            raise wrong("a jacking screw of an idler", "take it out: an idler is pushed by hand and tightened")
        _rising(self.span)
        return self


class Stage(WordsModel):
    """One belt over two pulleys."""

    belt: Belt = Field(description="The belt, or its trade size.")
    driver: PulleyWords = Field(description="The pulley that drives.")
    driven: PulleyWords = Field(description="The pulley that is driven.")
    shafts: Literal["parallel", "crossed"] = Field(
        default="parallel",
        description="How its two shafts lie to each other. `crossed` is for a belt that is meant to be twisted, such "
        "as a quarter-turn belt: nothing of it is worked out, and what is not checked is said. Shafts in line that a "
        "coupling joins are told under `couplings` of the spec.",
    )
    idlers: list[IdlerWords] = Field(default_factory=no_items, max_length=8, description="Idlers, in belt order.")

    @field_validator("shafts", mode="before")
    @classmethod
    def check_shafts(cls, value: Any) -> Any:
        """Shafts that a coupling joins are no belt's."""
        if value == "coupled":
            raise wrong("`coupled`, of a belt", "tell the coupling under `couplings:` of the spec; it needs no `drive`")
        return value

    @model_validator(mode="after")
    def check_mounts(self) -> Self:
        """Its two pulleys are on different mounts."""
        if self.driver.on == self.driven.on:
            shaft = "shaft" if self.driver.shaft == self.driven.shaft else "mount"
            raise wrong(f"driver and driven on the same {shaft}", "a belt runs from one mount to another")
        return self


class WantedWords(WordsModel):
    """What the working shaft should do."""

    at: Literal["driven"] = Field(default="driven", description="The shaft meant: the last driven one.")
    from_: Speed | None = Field(default=None, alias="from", description="Lowest speed, such as `120 rpm`.")
    to: Speed | None = Field(default=None, description="Highest speed, such as `700 rpm`.")
    torque: Torque | None = Field(default=None, description="Torque it needs, such as `12 Nm`.")
    tool_diameter: PositiveLength | None = Field(default=None, description="Tool or drum on that shaft.")
    tool_max_speed: Speed | None = Field(default=None, description="Top speed marked on the tool.")

    @model_validator(mode="after")
    def check_range(self) -> Self:
        """Both ends of the speeds are given, or neither, the lower first, rpm."""
        if (self.from_ is None) != (self.to is None):
            raise wrong("one of `from` and `to`", "give both; the same speed twice if there is only one")
        if self.from_ is not None and self.to is not None and self.from_ > self.to:
            raise wrong("a range that falls", "give the lower speed as `from`, the higher as `to`")
        return self


class DriveWords(Stage):
    """The belt drive, from the motor to the working shaft; a second stage behind a countershaft if there is one."""

    motor: DriveMotor | None = Field(default=None, description="The motor; without it only the belt is worked out.")
    inverter: Inverter | None = Field(default=None, description="An inverter's range.")
    voltage: Voltage | None = Field(default=None, description="A voltage control's range.")
    wanted: WantedWords | None = Field(default=None, description="What the working shaft should do.")
    machine: DrivenMachine | None = Field(
        default=None, description="What it drives; the service factor follows from it, the motor and the hours."
    )
    hours: float = Field(default=8, gt=0, le=24, description="Hours that it runs a day.")
    service_factor: float | None = Field(
        default=None, ge=0.5, le=5, description="Design power over motor power, in place of that of `machine`."
    )
    efficiency: Share | None = Field(default=None, description="Power out over power in, of the belt.")
    second: Stage | None = Field(default=None, description="From the countershaft to the working shaft.")

    @model_validator(mode="after")
    def check_stages(self) -> Self:
        """The second belt begins on the shaft where the first one ends, and what needs a motor has one."""
        if self.inverter is not None and self.voltage is not None:
            raise wrong("`inverter` and `voltage`", "give one of them")
        kind = None if self.motor is None else self.motor.kind
        if self.inverter is not None and kind not in (None, "induction"):
            raise wrong(f"an inverter on a {kind} motor", "use `voltage`; an inverter runs an induction motor")
        if self.voltage is not None and kind in (None, "induction"):
            raise wrong("voltage control on an induction motor", "use `inverter`")
        if self.second is not None and self.second.driver.on != self.driven.on:
            raise wrong(f"a second stage that starts on {self.second.driver.on}", f"start it on {self.driven.on}")
        if self.second is not None and "crossed" in (self.shafts, self.second.shafts):
            raise wrong("crossed shafts in a drive of two belts", "describe only the belt over parallel shafts")
        return self

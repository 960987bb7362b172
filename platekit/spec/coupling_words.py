"""The words of the spec language for shafts in line, end to end, that a coupling joins."""

from __future__ import annotations

from typing import Literal, Self

from pydantic import Field, model_validator

from platekit.spec.base import WordsModel
from platekit.spec.drive_words import DriveMotor, Inverter
from platekit.spec.fields import Angle, Designation, Name, Pair, PositiveLength, Speed, Text, Torque, wrong


class CoupledEnd(WordsModel):
    """One of the two shaft ends that a coupling joins."""

    on: Name = Field(description="The mount whose shaft it is.")
    shaft: Name | None = Field(
        default=None, description="Which of that mount's `shafts`; needed where there are several."
    )
    end: Literal["front", "back"] = Field(
        default="front",
        description="Of a shaft that goes through: `front`, the end that it points to, or `back`, its other end.",
    )


class CouplingWords(WordsModel):
    """A shaft coupling between two shafts in line: no belt, and the same speed on both sides."""

    from_: CoupledEnd = Field(alias="from", description="The shaft end that drives.")
    to: CoupledEnd = Field(description="The shaft end that is driven.")
    stock: Designation | None = Field(
        default=None,
        description="Its pattern and size in the tables, such as `pin 144`: what is not said here is then "
        "taken from there. Makers differ: hold the one at hand against it.",
    )
    diameter: PositiveLength | None = Field(default=None, description="Its largest diameter, over all that turns.")
    length: PositiveLength | None = Field(default=None, description="Its length over both hubs, along the shafts.")
    gap: Pair | None = Field(
        default=None,
        description="[least, most] between the two shaft ends inside it, as its maker gives it: [2, 4]; the same "
        "figure twice where there is only one.",
    )
    offset: PositiveLength | None = Field(
        default=None, description="How far its maker lets the two shafts be beside each other."
    )
    angle: Angle | None = Field(
        default=None, description="At which angle its maker lets the two shafts be to each other, such as `0.5 deg`."
    )
    largest_bore: PositiveLength | None = Field(
        default=None, description="The thickest shaft that its hubs can be bored for."
    )
    torque: Torque | None = Field(default=None, description="What it is rated for, such as `60 Nm`.")
    max_speed: Speed | None = Field(default=None, description="Its top speed, such as `5000 rpm`.")
    service_factor: float | None = Field(
        default=None, ge=0.5, le=10, description="Rated torque wanted over the motor's, by the maker's selection."
    )
    motor: DriveMotor | None = Field(
        default=None,
        description="The motor at `from`, if there is no `drive` whose motor it is; its torque and speed are held "
        "against the coupling.",
    )
    inverter: Inverter | None = Field(default=None, description="An inverter's range, of that motor.")
    guarded: Text | None = Field(
        default=None,
        description="What covers it, in your words: `hood of 2 mm sheet on four M6, slit 8 mm round the shafts`. It is "
        "printed and not checked; without it, that the coupling turns bare is told every time.",
    )

    @model_validator(mode="after")
    def check_coupling(self) -> Self:
        """It joins two mounts, its gap does not fall and its limits are above zero (mm, rad)."""
        if self.from_.on == self.to.on:
            raise wrong("both ends on the same mount", "a coupling joins the shafts of two mounts")
        missing = [key for key in ("diameter", "length", "gap") if getattr(self, key) is None]
        if missing and self.stock is None:
            raise wrong(
                f"a coupling without {' and '.join(missing)}",
                "give it from the coupling at hand or its data sheet, or name a size of the tables (stock: pin 144)",
            )
        if self.gap is not None and self.gap[0] > self.gap[1]:
            raise wrong("a gap that falls", "a gap is [least, most], the same figure twice where there is only one")
        if self.gap is not None and self.gap[0] < 0:
            raise wrong("shaft ends nearer than touching", "give how far apart they stand inside it, from 0 up")
        if self.gap is not None and self.length is not None and self.gap[1] >= self.length:
            raise wrong("a gap as long as the coupling", "`length` is over both hubs, `gap` between the shaft ends")
        if self.angle is not None and self.angle <= 0:
            raise wrong("an angle of nothing or less", "give what the maker lets it be, or leave it out")
        if self.inverter is not None and self.motor is None:
            raise wrong("an inverter without a motor", "give the `motor` here, or the inverter under `drive`")
        if self.inverter is not None and self.motor is not None and self.motor.kind != "induction":
            raise wrong(f"an inverter on a {self.motor.kind} motor", "an inverter runs an induction motor")
        return self

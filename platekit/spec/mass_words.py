"""The words of the spec language for what the plate carries: a part's mass, its centre, its size."""

from typing import Annotated, Any, Literal, Self

from pydantic import Field, model_validator

from platekit import units
from platekit.errors import UnitError
from platekit.spec.base import WordsModel
from platekit.spec.fields import Length, Mass, PositiveLength, Read, wrong

Mounting = Literal["upright", "near up", "far up"]
Support = Literal["steel", "cast iron", "aluminium", "soft"]


def read_three(value: Any) -> Any:
    """A list of three lengths, each still as it was written; mm come after."""
    if not isinstance(value, list | tuple) or len(value) != 3:
        found = f"a list of {len(value)}" if isinstance(value, list | tuple) else "no list"
        raise wrong(found, "give three lengths in brackets, as [0, 0, 120]")
    return value


Triple = Annotated[tuple[Length, Length, Length], Read(read_three)]
"""Three lengths, mm: [x, y, height]."""
Extent = Annotated[tuple[PositiveLength, PositiveLength, PositiveLength], Read(read_three)]
"""Three lengths above zero, mm: [along x, along y, height]."""


FROM_FRAME = "frame"
"""The word for what motors of a standard's frame weigh."""


def _mass_range(value: Any) -> tuple[float, float] | str:
    """One mass, least and most of it, or the word for what the table says of the frame."""
    if value == FROM_FRAME:
        return FROM_FRAME
    ends = value if isinstance(value, list | tuple) else [value, value]
    if len(ends) != 2:
        raise wrong(f"a list of {len(ends)}", "give one mass, as 14 kg, or its least and its most, as [13 kg, 16 kg]")
    try:
        least, most = (units.mass_kg(one) for one in ends)
    except UnitError as error:
        raise wrong(error.found, error.wanted) from None
    if not 0 < least <= most:
        raise wrong(f"{least:g} to {most:g} kg", "give the least mass first, above zero")
    return least, most


MassRange = Annotated[
    tuple[float, float] | Literal["frame"],
    Read(
        _mass_range,
        {
            "anyOf": [
                {"type": "string", "examples": ["14 kg", "31 lb", FROM_FRAME]},
                {"type": "array", "items": {"type": "string"}, "minItems": 2, "maxItems": 2},
            ],
            "description": "Mass, with its unit; its least and its most; or what motors of the frame weigh.",
        },
    ),
]
"""Least and most of a mass, kg; or `frame`."""


class RibWords(WordsModel):
    """A flat bar welded to the plate on edge, to stiffen it: a part of its own, not cut with the plate."""

    side: Literal["near", "far"] = Field(description="The face of the plate that it is welded to.")
    from_: tuple[Length, Length] = Field(alias="from", description="[x, y] of the middle of its one end.")
    to: tuple[Length, Length] = Field(description="[x, y] of the middle of its other end.")
    height: PositiveLength = Field(description="How far it stands off the face.")
    width: PositiveLength = Field(description="The thickness of the bar.")

    @model_validator(mode="after")
    def _has_a_length(self) -> Self:
        if self.from_ == self.to:
            raise wrong("the same place twice", "give the middle of each of its ends: from: [..., ...], to: [..., ...]")
        return self


class MassWords(WordsModel):
    """The mass of a part and all that moves with it: motor, pulley, half the belt."""

    total: MassRange = Field(
        description="How heavy it is, such as `14 kg`, from its rating plate, its data sheet or a scale; [least, most] "
        "where that is all that is known; `frame` for what the table says of a standard motor, as a range."
    )
    centre: Triple = Field(
        description="[x, y, height] of its centre of mass: in the part's own frame, and out of its mating face."
    )
    size: Extent | None = Field(
        default=None,
        description="[along x, along y, height] of the block that it about fills, for how hard it is to turn; the "
        "extent of its bodies if left out.",
    )
    balance: float | None = Field(
        default=None,
        gt=0,
        le=4000,
        description="How well what turns in it is balanced: the grade G of ISO 21940-11, mm/s; 6.3 if left out, which "
        "the standard gives for motors and machinery in general.",
    )
    turning: Mass | None = Field(
        default=None,
        description="How much of it turns: rotor and pulley; all of it counts if left out, which is on the safe side.",
    )

    @model_validator(mode="after")
    def _turns_no_more_than_it_weighs(self) -> Self:
        if self.turning is not None and not isinstance(self.total, str) and self.turning > self.total[1]:
            found = f"{self.turning:g} kg that turn in a part of {self.total[1]:g} kg"
            raise wrong(found, "`turning` is the share of `total` that turns: rotor and pulley")
        return self

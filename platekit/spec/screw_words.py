"""The words of the spec language for the screws of a mount."""

from typing import Literal, Self

from pydantic import Field, model_validator

from platekit.spec.base import WordsModel
from platekit.spec.fields import Designation, PositiveLength, YesNo, wrong


class ScrewWords(WordsModel):
    """The screws of a mount."""

    size: Designation | None = Field(default=None, description="`M8`, `3/8-16`; a standard part brings its own.")
    into: Literal["part", "plate", "nut", "stud"] = Field(
        description="What holds the thread: the part, the plate (tapped), a nut, or a `stud` that stays in the part, "
        "with a nut on the plate's free side."
    )
    stands: PositiveLength | None = Field(
        default=None,
        description="With `into: stud`: how far the studs stand out of the part's mating face, the shortest of them.",
    )
    depth: PositiveLength | None = Field(default=None, description="Usable depth of thread in the part.")
    head: Literal["hex", "socket", "countersunk"] = Field(default="hex", description="Kind of head.")
    counterbore: YesNo = Field(default=False, description="A socket head recessed into the plate until it is flush.")
    washer: YesNo = Field(default=False, description="A washer under the head (and under the nut).")
    fit: Literal["close", "normal", "loose"] = Field(
        default="normal", description="Which clearance hole (ISO 273, ASME B18.2.8)."
    )
    flange: PositiveLength | None = Field(
        default=None, description="Thickness of the part's flange or foot, where the screw passes through it."
    )
    length: PositiveLength | None = Field(
        default=None, description="Length of the screw; the next stock length is chosen if left out."
    )
    thread_in: Literal["steel", "cast iron", "aluminium"] | None = Field(
        default=None,
        description="What the part's thread is cut in, which sets the depth it needs; cast iron if left out, in a "
        "standard part one diameter where the standard says how deep the thread is, else as in aluminium.",
    )
    made: Literal["auto", "cut", "drill"] = Field(
        default="auto",
        description="How round holes are made: `auto` leaves it to the process, `drill` only marks centres.",
    )

    @model_validator(mode="after")
    def check_stud(self) -> Self:
        """Of a stud that stays nothing is said but how far it stands (mm): all else of it is there."""
        if self.into != "stud":
            if self.stands is not None:
                raise wrong("`stands` without studs", "leave it out, or say `into: stud`")
            return self
        strange = {"head", "counterbore", "depth", "flange", "length", "thread_in"} & self.model_fields_set
        if strange:
            raise wrong(f"`{min(strange)}` of a stud that stays", "leave it out: a nut goes on the stud that is there")
        return self

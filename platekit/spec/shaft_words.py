"""The words of the spec language for a shaft as a line in space: where it leaves its part, how high, which way."""

from __future__ import annotations

from typing import Annotated, Any, Literal, Self

from pydantic import Discriminator, Field, Tag, model_validator

from platekit.spec.base import WordsModel
from platekit.spec.fields import Angle, Length, Pair, PositiveLength, wrong


def _square_or_not(value: Any) -> str:
    return "<square>" if value == "square" else "<angle>"


class ShaftWords(WordsModel):
    """A shaft of a part, in the part's own frame: of a motor, gearbox or pair of plummer blocks."""

    at: Pair = Field(
        default=(0.0, 0.0),
        description="[x, y] of the point of its axis where it leaves the part, over the mating face; what is measured "
        "along the shaft counts from here.",
    )
    height: Length = Field(
        default=0.0, description="Of its axis above the mating face, into the part's own side; left out where square."
    )
    along: Annotated[
        Annotated[Literal["square"], Tag("<square>")] | Annotated[Angle, Tag("<angle>")],
        Discriminator(_square_or_not),
    ] = Field(
        description="Which way it points from there, towards its end: an angle in the part's own frame for a shaft "
        "that lies along the plate, or `square` to it (towards the plate)."
    )
    stretch: Pair = Field(
        description="[from, to] of the shaft along that direction, counted from `at`: [0, 60] for an end of 60 mm, "
        "[-150, 260] for one that goes through."
    )
    diameter: PositiveLength = Field(description="Its diameter.")

    @model_validator(mode="after")
    def check_height(self) -> Self:
        """A shaft has a height (mm) only where it lies along the plate, and its stretch rises."""
        if self.stretch[0] >= self.stretch[1]:
            raise wrong("a stretch that falls", "a stretch is [from, to] with `from` below `to`")
        if self.along == "square" and self.height != 0.0:
            raise wrong("a height of a shaft square to the plate", "leave `height` out: it stands on the mating face")
        return self

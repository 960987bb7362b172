"""The words of the spec language for spacers: what those that hold a part off the plate are cut from."""

from typing import Literal, Self

from pydantic import Field, model_validator

from platekit.spec.base import WordsModel
from platekit.spec.fields import Designation, PositiveLength, wrong


class SpacerWords(WordsModel):
    """What the spacers of a standoff are cut from; all of one set have the same length, which is the standoff's."""

    from_: Literal["auto", "tube", "bar", "plate"] = Field(
        default="auto",
        alias="from",
        description="`tube`, `bar` (drilled through), or pieces of `plate` and shims laid on each other; `auto` takes "
        "the narrowest tube or bar in stock that bears the screws' pull, plate where they are too short to saw off.",
    )
    outside: PositiveLength | None = Field(default=None, description="Outside diameter; from the stock if left out.")
    bore: PositiveLength | None = Field(
        default=None, description="Bore of the tube, or hole in the bar; from the stock if left out."
    )
    material: Designation = Field(default="mild steel", description="A name from the tables.")

    @model_validator(mode="after")
    def check_wall(self) -> Self:
        """A spacer has a wall (mm), and pieces of plate have neither diameter."""
        if self.from_ == "plate" and (self.outside is not None or self.bore is not None):
            raise wrong("a diameter of spacers from plate", "leave `outside` and `bore` out, or take `from: tube`")
        if self.outside is not None and self.bore is not None and self.bore >= self.outside:
            raise wrong("a bore as wide as the outside", "give a bore smaller than `outside`")
        if self.bore is not None and self.outside is None:
            raise wrong("`bore` without `outside`", "give both, or leave it to the stock")
        return self

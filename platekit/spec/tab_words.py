"""The words of the spec language for what stands out of the outline: tabs, feet that it stands on, a bent flange."""

from typing import Literal, Self

from pydantic import Field, model_validator

from platekit.spec.base import WordsModel
from platekit.spec.fields import Angle, Length, OfferedLength, Pair, PositiveLength, wrong

RADIUS = (
    "Radius of the hollow corners where it leaves the plate; `auto` is 10 mm, or the plate's thickness if that is more."
)


class TabWords(WordsModel):
    """A rounded tongue on the outline, with or without a hole: for a lug, a chain, a cable, an earth lead."""

    at: Pair = Field(description="[x, y] of the middle of its round end, where its hole is; outside of the plate.")
    width: PositiveLength = Field(description="How wide it is: twice the radius of its round end.")
    hole: PositiveLength | None = Field(default=None, description="Diameter of the hole in its end; none if left out.")
    towards: Angle | None = Field(
        default=None,
        description="Which way it points, counter-clockwise from +x, near side; straight out of the nearest edge if "
        "left out.",
    )
    radius: OfferedLength = Field(default="auto", description=RADIUS)

    @model_validator(mode="after")
    def check_hole(self) -> Self:
        """A hole leaves steel on both its sides (mm)."""
        if self.hole is not None and self.hole >= self.width:
            raise wrong("a hole as wide as its tab", "give `width` at least three times that of `hole`")
        return self


class FeetWords(WordsModel):
    """What the plate stands on, at its lower end as `up` has it: two feet, or one straight edge; with holes or not."""

    level: Length = Field(
        description="Height of the bed over the plate's zero, along `up`: below zero it is negative, as -140."
    )
    width: PositiveLength = Field(description="How long each foot is along the bed.")
    apart: PositiveLength | None = Field(
        default=None, description="Between the middles of the two feet; one straight edge if left out."
    )
    middle: Length = Field(
        default=0.0, description="How far the middle of them all lies from the plate's zero, along the bed; up is up."
    )
    hole: PositiveLength | None = Field(
        default=None,
        description="Diameter of the hole in each foot, or of that near each end of one straight edge; none if left "
        "out.",
    )
    hole_height: OfferedLength = Field(
        default="auto", description="How high the holes are above the bed; `auto` is two of their diameters."
    )
    radius: OfferedLength = Field(default="auto", description=RADIUS)

    @model_validator(mode="after")
    def check_feet(self) -> Self:
        """Two feet do not lie over each other, and only holes have a height (mm)."""
        if self.apart is not None and self.apart <= self.width:
            raise wrong("feet that run into each other", "make `apart` more than `width`, or leave it out for one edge")
        if self.hole is None and self.hole_height != "auto":
            raise wrong("`hole_height` without a `hole`", "add `hole`, or leave it out")
        if self.hole is not None and self.hole >= self.width:
            raise wrong("a hole as wide as its foot", "give `width` at least three times that of `hole`")
        return self


class FlangeWords(WordsModel):
    """A straight edge bent up by a right angle on a press brake, to stiffen the plate: cut with it, as one blank."""

    edge: Literal["bottom", "top", "left", "right"] = Field(
        description="Which edge, as the plate stands (`up`), seen from the near side: the longest straight one that "
        "looks about that way. The bend begins there: what was laid out stays flat."
    )
    height: PositiveLength = Field(description="How far it stands off the face that it is bent towards.")
    towards: Literal["near", "far"] = Field(description="The face of the plate that it is bent towards.")
    radius: OfferedLength = Field(
        default="auto",
        description="Inside radius of the bend; `auto` is what the usual die gives, and no less than the material "
        "takes.",
    )

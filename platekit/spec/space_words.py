"""The words of the spec language for space that is no plain prism: outlines from drawings, lying cylinders, steps."""

from typing import Annotated, Any, Literal, Self

from pydantic import Discriminator, Field, Tag, model_validator

from platekit.spec.base import WordsModel
from platekit.spec.fields import Angle, Designation, Length, LengthFromZero, Pair, PositiveLength, Read, Text, wrong

MAX_STEPS = 100
"""Most steps of one body (a stated limit, ours)."""


def read_hole_name(value: Any) -> Any:
    """The number of a hole as its name."""
    return str(value) if isinstance(value, int) and not isinstance(value, bool) else value


HoleName = Annotated[
    Designation,
    Read(read_hole_name, {"anyOf": [{"type": "integer", "minimum": 1}, {"type": "string", "minLength": 1}]}),
]
"""A hole of a mount by its number, or by its own name where it was measured."""


def diameters_tag(value: Any) -> str:
    """Whether one diameter (mm) is given, or one at either end."""
    return "<two>" if isinstance(value, list | tuple) else "<one>"


class DrawnShape(WordsModel):
    """A closed outline from a drawing of one's own."""

    file: Text = Field(description="A DXF or SVG file; its path counts from the folder of the spec.")
    units: Literal["mm", "cm", "in", "px", "own"] = Field(
        description="What one unit in the drawing stands for; px is 1/96 in, as most SVG editors write; `own` takes "
        "what the file says of itself. Where the file says another unit than is typed here, it is refused."
    )
    layer: Text | None = Field(
        default=None, description="Take only what is on this layer (of an SVG: in the group with this name or id)."
    )
    zero: Literal["own", "middle"] = Field(
        default="own", description="What comes to lie at `at`: the drawing's own zero, or the outline's middle."
    )


class LyingWords(WordsModel):
    """A cylinder lying across, such as the frame of a motor on feet."""

    diameter: PositiveLength = Field(description="Diameter.")
    length: PositiveLength = Field(description="End to end, along the axis.")
    height: Length = Field(description="Of the axis above the carrier's mating face, into the part's own side.")
    axis: Angle = Field(default=0.0, description="Which way the axis points in the carrier's own frame.")


class StepWords(WordsModel):
    """One step of a turned body: round, straight or tapering, about the body's middle."""

    diameter: Annotated[
        Annotated[PositiveLength, Tag("<one>")] | Annotated[tuple[LengthFromZero, LengthFromZero], Tag("<two>")],
        Discriminator(diameters_tag),
    ] = Field(description="Diameter, or [at `from`, at `to`] of a cone.")
    span: Pair = Field(
        description="[from, to] from the carrier's mating face: positive into the part's own side, negative "
        "towards and through the plate."
    )

    @model_validator(mode="after")
    def check_step(self) -> Self:
        """A step has a width and its span rises, mm."""
        if self.span[0] >= self.span[1]:
            raise wrong("a span whose first figure is not the smaller", "write [from, to] with `from` below `to`")
        if max(self.diameters) <= 0.0:
            raise wrong("a cone without width", "give at least one of its two diameters above zero")
        return self

    @property
    def diameters(self) -> tuple[float, float]:
        """At `from` and at `to`, mm."""
        return self.diameter if isinstance(self.diameter, tuple) else (self.diameter, self.diameter)

"""The words of the spec language for what the plate carries: a part's mass, its centre, its size."""

from typing import Annotated, Any, Literal

from pydantic import Field

from platekit.spec.base import WordsModel
from platekit.spec.fields import Length, Mass, PositiveLength, Read, wrong

Mounting = Literal["upright", "near up", "far up"]
Support = Literal["steel", "cast iron", "aluminium", "soft"]


def _three(value: Any) -> Any:
    if not isinstance(value, list | tuple) or len(value) != 3:
        found = f"a list of {len(value)}" if isinstance(value, list | tuple) else "no list"
        raise wrong(found, "give three lengths in brackets, as [0, 0, 120]")
    return value


Triple = Annotated[tuple[Length, Length, Length], Read(_three)]
"""Three lengths, mm: [x, y, height]."""
Extent = Annotated[tuple[PositiveLength, PositiveLength, PositiveLength], Read(_three)]
"""Three lengths above zero, mm: [along x, along y, height]."""


class MassWords(WordsModel):
    """The mass of a part and all that moves with it: motor, pulley, half the belt."""

    total: Mass = Field(description="How heavy it is, such as `14 kg`, from its plate, its data sheet or a scale.")
    centre: Triple = Field(
        description="[x, y, height] of its centre of mass: in the part's own frame, and out of its mating face."
    )
    size: Extent | None = Field(
        default=None,
        description="[along x, along y, height] of the block that it about fills, for how hard it is to turn; the "
        "extent of its bodies if left out.",
    )

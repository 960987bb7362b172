"""The words of the spec language for the guard over the belt."""

from typing import Literal, Self

from pydantic import Field, model_validator

from platekit.spec.base import WordsModel
from platekit.spec.fields import (
    Count,
    CountFromZero,
    Designation,
    LengthFromZero,
    OfferedLength,
    Pair,
    PositiveLength,
    no_items,
    wrong,
)


class GuardOpenings(WordsModel):
    """Openings cut into the guard's cover, for air and for looking in."""

    shape: Literal["slot", "square", "round"] = Field(description="Shape of one opening.")
    width: PositiveLength = Field(description="Smaller side of a slot, side of a square, diameter of a round one.")
    length: PositiveLength | None = Field(
        default=None, description="Length of a slot over all; ten times its width if not said."
    )
    count: CountFromZero | None = Field(
        default=None,
        le=2000,
        description="How many, in rows about the middle of the cover; if not said 12, or as many as find room. 0 "
        "leaves it plain.",
    )

    @model_validator(mode="after")
    def check_slot(self) -> Self:
        """A slot is no shorter than it is wide, mm."""
        if self.length is not None and self.shape != "slot":
            raise wrong("a length", f"leave it out: a {self.shape} opening has only its width")
        if self.length is not None and self.length < self.width:
            raise wrong(f"a slot {self.length:g} mm long and {self.width:g} mm wide", "give the longer side as length")
        return self


class GuardFixings(WordsModel):
    """How the guard is held: ears on its back plate (or tabs of its band, where it has none), each with a hole."""

    count: Count | None = Field(
        default=None,
        ge=2,
        le=40,
        description="How many ears, spread evenly along the outline; 4 if not said. Over shafts along the plate they "
        "are feet: one at each end of the band, the others along the back plate.",
    )
    at: list[Pair] | None = Field(
        default=None, min_length=2, max_length=40, description="Where the ears' holes are, [x, y] on the plate."
    )
    hole: PositiveLength | None = Field(
        default=None, description="Hole in each ear; for an M6 screw if not said, for 1/4-20 in a spec in inches."
    )
    ear: PositiveLength = Field(default=22.0, description="Width of an ear, which is also its reach.")

    @model_validator(mode="after")
    def check_hole(self) -> Self:
        """The hole is narrower than the ear that it is in, mm."""
        if self.at is not None and self.count is not None:
            raise wrong("both count and at", "leave count out: each place under `at` is one ear")
        if self.hole is not None and self.hole >= self.ear:
            raise wrong(f"a hole of {self.hole:g} mm in an ear of {self.ear:g} mm", "make the ear wider")
        return self


class GuardCover(WordsModel):
    """The cover: it comes off by itself, and goes back on with its own screws."""

    screws: Literal["captive", "ordinary"] = Field(
        default="captive",
        description="`captive` screws stay in the cover when it is taken off; `ordinary` ones come loose and get lost.",
    )
    count: Count | None = Field(default=None, ge=2, le=40, description="How many, on tabs of the band; 4 if not said.")
    hole: PositiveLength | None = Field(
        default=None, description="Hole for each; for an M6 screw if not said, for 1/4-20 in a spec in inches."
    )


class GuardWords(WordsModel):
    """A guard round the belt and its pulleys: back plate, band and cover, cut as parts of their own."""

    belt: Literal["drive", "second", "both"] = Field(
        default="drive",
        description="Which belt it covers; `both` is one guard deep enough for the two belts of a countershaft, where "
        "they run beside each other on the same side.",
    )
    gap: PositiveLength = Field(default=20.0, description="From everything that the belt and pulleys sweep.")
    thickness: PositiveLength = Field(default=2.0, description="Of the sheet.")
    material: Designation = Field(default="mild steel", description="Of the sheet, from the tables.")
    on: Literal["plate", "machine"] = Field(
        default="plate",
        description="What carries it: the plate gets a hole for each ear; `machine` is fixed elsewhere, and the plate "
        "gets none. Over shafts along the plate it stands on the plate, open towards it, or goes all round the belt.",
    )
    back: Literal["sheet", "none"] = Field(
        default="sheet",
        description="`sheet` is a back plate, open round the shafts; with `none` the plate itself closes the back, for "
        "pulleys so near the plate that no sheet goes in between.",
    )
    band: OfferedLength = Field(
        default="auto",
        description="Width of the band along the shafts; `auto` covers pulleys and belt with the gap, and the ends of "
        "their shafts: with the gap too where the cover has openings.",
    )
    back_from_plate: LengthFromZero = Field(
        default=0.0,
        description="From the plate's face to the guard's back plate (to its band without one), on the belt's side; "
        "over shafts along the plate to the edges of the guard that stands there, on spacers under its feet.",
    )
    band_made: Literal["bent", "rolled", "segments"] = Field(
        default="bent",
        description="`bent` goes round in flats with a bend between them; `rolled` follows the outline in true curves; "
        "`segments` are flat strips welded at their edges, for a shop without a brake.",
    )
    band_pieces: Count | None = Field(
        default=None, ge=1, le=12, description="Strips that the band is of; as many as the sheet needs if not said."
    )
    bend_radius: OfferedLength = Field(
        default="auto", description="Inside radius of the bends; `auto` is the sheet's thickness."
    )
    k_factor: float | None = Field(
        default=None,
        gt=0,
        le=0.5,
        description="K-factor of the bends from a test bend of your own; by DIN 6935 if not said.",
    )
    split: list[Literal["driver", "driven"]] = Field(
        default_factory=no_items,
        description="Pulleys that cannot be pulled off their shafts: the back plate is then two halves with a joining "
        "strip, which come in from both sides.",
    )
    cover: GuardCover = Field(default_factory=GuardCover, description="How the cover is held.")
    openings: GuardOpenings | None = Field(
        default=None, description="Openings in its cover, checked against ISO 13857."
    )
    fixings: GuardFixings = Field(default_factory=GuardFixings, description="How it is held.")


class SecondGuardWords(GuardWords):
    """A guard of its own for the belt that `guard` leaves bare, where no one guard goes over both."""

    belt: Literal["drive", "second"] = Field(default="second", description="Which belt it covers.")

"""The words of the spec language for travel that fits and tightens a belt."""

from __future__ import annotations

from typing import Literal, Self

from pydantic import Field, model_validator

from platekit.spec.base import OneOf, WordsModel
from platekit.spec.fields import (
    Designation,
    Direction,
    Length,
    OfferedAngle,
    OfferedLength,
    Pair,
    PositiveLength,
    Share,
    wrong,
)
from platekit.spec.screw_words import ScrewWords


class AngleWords(WordsModel):
    """A lug that is screwed to the plate: a piece of angle, one leg up, its foot behind that, away from the part."""

    screws: ScrewWords = Field(description="The two screws that hold it, `into: nut` or `into: plate`.")
    foot: OfferedLength = Field(
        default="auto", description="How long its leg on the plate is, from the outside of the upright one."
    )
    upright: OfferedLength = Field(default="auto", description="How long its upright leg is, from the plate's face.")
    width: OfferedLength = Field(default="auto", description="How long the piece is, across the jacking screw.")

    @model_validator(mode="after")
    def check_screws(self) -> Self:
        """Its screws go through its foot, which is as thick (mm) as the lug, into the plate or a nut."""
        if self.screws.into not in ("nut", "plate"):
            raise wrong(f"`into: {self.screws.into}` of a lug", "use `into: nut` or `into: plate`")
        if self.screws.size is None:
            raise wrong("screws of a lug without a size", "name it, such as M8 or 5/16-18")
        told = {"depth", "flange", "thread_in", "counterbore"} & self.screws.model_fields_set
        if told:
            raise wrong(f"`{min(told)}` of a lug's screws", "leave it out: they go through its foot")
        if self.screws.head == "countersunk" and self.screws.into == "plate":
            raise wrong("a countersunk head in a lug", "take head: hex or socket")
        return self


class BentWords(AngleWords):
    """The same, bent from sheet on the brake: its flat blank gets a cut file."""

    bend_radius: OfferedLength = Field(
        default="auto", description="Inside radius of the bend; `auto` is the lug's thickness."
    )
    k_factor: Share | None = Field(
        default=None, description="K-factor of the bend from a test bend of your own; by DIN 6935 if not said."
    )


class LugWords(OneOf):
    """How the lug of a jacking screw is made that is not welded on."""

    bolted: AngleWords | None = Field(default=None, description="A piece of rolled angle, sawn off and drilled.")
    bent: BentWords | None = Field(default=None, description="A strip of sheet, cut and bent.")

    @property
    def angle(self) -> AngleWords:
        """What it says, whichever of the two it is."""
        given = self.bolted or self.bent
        assert given is not None
        return given


class Jack(WordsModel):
    """A jacking screw: it turns in a lug that is fast on the plate, and its tip pushes the part along its travel."""

    size: Designation = Field(description="The screw, such as `M10`.")
    at: Pair = Field(description="[x, y] where its tip bears on the part, in the mount's own frame.")
    height: PositiveLength = Field(description="Of its axis above the mating face.")
    block: PositiveLength = Field(description="How thick the lug is along the screw.")
    lug: LugWords | None = Field(
        default=None,
        description="What the lug is if not a piece of flat bar on edge, welded to the plate: `bolted` or `bent`.",
    )


class Slots(WordsModel):
    """Straight belt take-up: every hole of the mount becomes a slot."""

    along: Direction = Field(
        description="Direction that tightens the belt, seen from the near side; `belt` is the line of centres."
    )
    install: OfferedLength = Field(
        default=0.0, description="Travel from nominal to put the belt on; `auto` takes what the belt needs."
    )
    tension: OfferedLength = Field(
        default=0.0, description="Travel from nominal to tighten it; `auto` takes what the belt needs."
    )
    jack: Jack | None = Field(default=None, description="A jacking screw that pushes the part to tighten the belt.")


class SwingTakeUp(WordsModel):
    """Swinging belt take-up: the mount turns about a pivot, its holes become curved slots."""

    about: Pair = Field(description="[x, y] of the pivot on the plate; a hole of the pattern there stays round.")
    tightens: Literal["counter-clockwise", "clockwise"] = Field(
        description="Which way of turning tightens the belt, seen from the near side."
    )
    install: OfferedAngle = Field(
        default=0.0, description="Turn from nominal to put the belt on; `auto` takes what the belt needs."
    )
    tension: OfferedAngle = Field(
        default=0.0, description="Turn from nominal to tighten it; `auto` takes what the belt needs."
    )
    pivot_hole: PositiveLength | None = Field(
        default=None, description="Diameter of a pivot hole of its own at `about`."
    )


class Rails(Slots):
    """A pair of slide rails: the mount's holes are those of the rails and stay where they are, the part slides on them.

    All that the mount carries travels; what belongs to the rails themselves is a body on the plate.
    """

    travel: PositiveLength | None = Field(
        default=None, description="How far the part can slide on the rails in all, from end to end."
    )


class Hinge(WordsModel):
    """A hinged base: the part swings about an axis that lies along the plate, parallel to its shaft.

    The mount's holes are those of the base and stay where they are; all that the mount carries swings. Which way it
    tightens the belt follows from where the axis is.
    """

    at: Pair = Field(description="[x, y] of a point of the axis, in the mount's own frame.")
    height: Length = Field(default=0.0, description="Of the axis above the mating face, into the part's own side.")
    install: OfferedAngle = Field(
        default=0.0, description="Turn from nominal to put the belt on; `auto` takes what the belt needs."
    )
    tension: OfferedAngle = Field(
        default=0.0, description="Turn from nominal to tighten it; `auto` takes what the belt needs."
    )


class TakeUp(OneOf):
    """Travel to fit and tension the belt."""

    slots: Slots | None = Field(default=None, description="Straight travel.")
    swing: SwingTakeUp | None = Field(default=None, description="Travel about a pivot.")
    rails: Rails | None = Field(default=None, description="Straight travel on slide rails; the holes stay.")
    hinge: Hinge | None = Field(
        default=None, description="Travel about an axis along the plate, parallel to the shaft; the holes stay."
    )

    @property
    def straight(self) -> Slots | None:
        """What it says of a straight travel: slots, or rails."""
        return self.slots or self.rails

    @property
    def holes_stay(self) -> bool:
        """Whether its part moves on a base that is bolted fast, so that the plate gets no slots."""
        return self.rails is not None or self.hinge is not None

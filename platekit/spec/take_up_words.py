"""The words of the spec language for travel that fits and tightens a belt."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from platekit.spec.base import OneOf, WordsModel
from platekit.spec.fields import Direction, OfferedAngle, OfferedLength, Pair, PositiveLength


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


class TakeUp(OneOf):
    """Travel to fit and tension the belt."""

    slots: Slots | None = Field(default=None, description="Straight travel.")
    swing: SwingTakeUp | None = Field(default=None, description="Travel about a pivot.")

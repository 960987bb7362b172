"""How far a guard must stay from what it guards, by the openings in it."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from platekit.errors import LookupFailed
from platekit.tables.rows import Row, read
from platekit.tables.values import Source

OpeningShape = Literal["slot", "square", "round"]

SHORT_SLOT = 65.0
"""A slot no longer than this stops the hand at the thumb, mm (published: ISO 13857 table 4, its note)."""
SHORT_SLOT_DISTANCE = 200.0
"""Safety distance of such a slot where the table asks for more, mm (published: ISO 13857 table 4, its note)."""


class SafetyDistance(Struct, frozen=True):
    """Least distance from the guard to the hazard, mm, and who says so."""

    distance: float
    source: Source


def safety_distance(shape: OpeningShape, width: float, length: float | None = None) -> SafetyDistance:
    """The distance that an opening needs after ISO 13857, for persons of 14 years and above.

    `width` is the smaller side or the diameter, `length` that of a slot (mm). Raises `LookupFailed` for an opening
    that the table does not allow.

    >>> safety_distance("slot", 8).distance, safety_distance("round", 8).distance
    (20.0, 5.0)
    """
    rows = [row for row in read("iso_13857_opening.csv") if row.text("shape") == shape]
    row = _covering(rows, width, f"a {shape} opening")
    distance = row.need("distance")
    if shape == "slot" and length is not None and length <= SHORT_SLOT and width <= 40:
        distance = min(distance, SHORT_SLOT_DISTANCE)
    return SafetyDistance(distance, row.source)


def press_distance(width: float) -> SafetyDistance:
    """The distance that an opening of this width needs after OSHA 1910.217 table O-10, mm.

    The table is for mechanical presses; shops in the USA use it for other point-of-operation guards too.
    """
    row = _covering(list(read("osha_1910_217_opening.csv")), width, "an opening")
    return SafetyDistance(row.need("distance"), row.source)


def _covering(rows: list[Row], width: float, what: str) -> Row:
    for row in rows:
        if row.need("above") < width <= row.need("up_to"):
            return row
    widest = max(row.need("up_to") for row in rows)
    raise LookupFailed(
        f"{what} of {width:g} mm is not allowed in a guard", wanted=f"at most {widest:g} mm, the table ends there"
    )

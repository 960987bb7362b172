"""How far a guard must stay from what it guards, by the openings in it."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from platekit.errors import LookupFailed
from platekit.tables.rows import Row, read
from platekit.tables.values import Source

_ISO = "iso_13857_opening.csv"

OpeningShape = Literal["slot", "square", "round"]


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
    # Some rows hold for short slots only, where the thumb stops the hand (the reason of the standard); they stand
    # before the rows for any length.
    rows = []
    for row in read(_ISO):
        # Rows that name a length hold for slots no longer than that, and stand before those for any length.
        most = row.length("length")
        if row.text("shape") == shape and (most is None or (length is not None and length <= most)):
            rows.append(row)
    row = _covering(rows, width, f"a {shape} opening")
    return SafetyDistance(row.need("distance"), row.source)


def largest_opening() -> float:
    """The largest opening (mm) that a guard within reach may have: where the table ends."""
    return max(row.need("up_to") for row in read(_ISO))


def press_distance(width: float) -> SafetyDistance:
    """The distance that an opening of this width needs after OSHA 1910.217 table O-10, mm.

    The table is for mechanical presses; shops in the USA use it for other point-of-operation guards too.
    """
    row = _covering(list(read("osha_1910_217_opening.csv")), width, "an opening")
    return SafetyDistance(row.need("distance"), row.source)


def _covering(rows: list[Row], width: float, what: str) -> Row:
    for row in rows:
        # Up to and with its upper end, as both standards print their ranges.
        if row.need("above") < width <= row.need("up_to"):
            return row
    widest = max(row.need("up_to") for row in rows)
    raise LookupFailed(
        f"{what} of {width:g} mm is not allowed in a guard", wanted=f"at most {widest:g} mm, the table ends there"
    )

"""Dowel pins by diameter, and the lengths that they are sold in."""

from __future__ import annotations

from functools import cache

from msgspec import Struct

from platekit.tables.rows import plain_number, read
from platekit.tables.values import Source
from platekit.units import INCH


class DowelPin(Struct, frozen=True):
    """A pin, hardened and ground to m6 or slotted: its diameter and the lengths it is sold in, rising; mm.

    `springs_to` is the least diameter that a slotted one opens to where nothing holds it; None for the other.
    """

    diameter: float
    lengths: tuple[float, ...]
    source: Source
    springs_to: float | None = None


@cache
def dowel_pins(system: str, pin: str = "parallel") -> tuple[DowelPin, ...]:
    """The pins of a system of sizes, `metric` or `inch`, the thinnest first (mm). Source: `dowel_pin.csv`.

    `pin` is `parallel` or `spring`.

    >>> next(one.lengths[:3] for one in dowel_pins("metric") if one.diameter == 6)
    (14.0, 16.0, 18.0)
    """
    found = []
    for row in read("dowel_pin.csv"):
        if row.text("system") == system and row.text("pin") == pin:
            scale = INCH if row.text("unit") == "in" else 1.0
            lengths = tuple(plain_number(word) * scale for word in row.words("lengths"))
            wide = row.length("springs_to")
            thick = plain_number(row.text("outer")) * scale
            found.append(DowelPin(thick, lengths, row.source, wide))
    return tuple(found)

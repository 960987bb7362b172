"""Dowel pins by diameter, and the lengths that they are sold in."""

from __future__ import annotations

from functools import cache

from msgspec import Struct

from platekit.tables.rows import plain_number, read
from platekit.tables.values import Source
from platekit.units import INCH


class DowelPin(Struct, frozen=True):
    """A hardened pin ground to m6: its diameter and the lengths it is sold in, rising; mm."""

    diameter: float
    lengths: tuple[float, ...]
    source: Source


@cache
def dowel_pins(system: str) -> tuple[DowelPin, ...]:
    """The pins of a system of sizes, `metric` or `inch`, the thinnest first (mm). Source: `dowel_pin.csv`.

    >>> next(one.lengths[:3] for one in dowel_pins("metric") if one.diameter == 6)
    (14.0, 16.0, 18.0)
    """
    found = []
    for row in read("dowel_pin.csv"):
        if row.text("system") == system:
            scale = INCH if row.text("unit") == "in" else 1.0
            lengths = tuple(plain_number(word) * scale for word in row.words("lengths"))
            found.append(DowelPin(plain_number(row.text("outer")) * scale, lengths, row.source))
    return tuple(found)

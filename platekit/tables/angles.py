"""Rolled angle with equal legs, as merchants keep it."""

from __future__ import annotations

from functools import cache

from msgspec import Struct

from platekit.tables.rows import plain_number, read
from platekit.tables.values import Source
from platekit.units import INCH


class AngleStock(Struct, frozen=True):
    """A rolled angle: how long both its legs are from the outside of the other, and how thick; mm."""

    leg: float
    thickness: float
    source: Source


@cache
def angle_stock(system: str) -> tuple[AngleStock, ...]:
    """All angles of a system of sizes, `metric` or `inch`, the shortest legs first, then the thinnest; mm.

    Source: `angle_stock.csv`, each row with its kind.

    >>> [one.leg for one in angle_stock("metric") if one.thickness == 8]
    [60.0, 75.0, 80.0, 90.0, 100.0]
    """
    found = []
    for row in read("angle_stock.csv"):
        if row.text("system") == system:
            scale = INCH if row.text("unit") == "in" else 1.0
            leg = plain_number(row.text("outer")) * scale
            found += [AngleStock(leg, plain_number(word) * scale, row.source) for word in row.words("thicknesses")]
    return tuple(found)

"""How far finished holes come off the place and size wanted: one standard deviation each, from `hole_scatter.csv`."""

from __future__ import annotations

from functools import cache

from msgspec import Struct

from platekit.errors import LookupFailed
from platekit.tables.rows import read
from platekit.tables.values import Source


class Scatter(Struct, frozen=True):
    """One standard deviation, mm: of a place, each way, and of a diameter (None: the cutting tables say it).

    `larger` is by how much a hole comes out larger than wanted on the average, mm: a bias, no chance.
    """

    position: float
    size: float | None
    larger: float
    source: Source


@cache
def hole_scatter(way: str) -> Scatter:
    """The scatter of one way of making a hole, such as `plasma`, `drilled`, `printed`.

    Raises `LookupFailed` for a way that the table does not hold.

    >>> hole_scatter("drilled").position
    0.33
    """
    for row in read("hole_scatter.csv"):
        if row.text("way") == way:
            return Scatter(row.need("position"), row.length("size"), row.need("larger"), row.source)
    known = tuple(row.text("way") for row in read("hole_scatter.csv"))
    raise LookupFailed(f"no hole is made by {way!r}", known, wanted=f"known are {', '.join(known)}")

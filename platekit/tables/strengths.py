"""What a plate is held to when it is asked whether it holds: `strength_limits.csv`, and clearances of EN 1090-2."""

from __future__ import annotations

from functools import cache
from itertools import pairwise

from msgspec import Struct

from platekit.tables.rows import TableError, read
from platekit.tables.values import Source


class Limit(Struct, frozen=True):
    """One figure, a stress in N/mm2, a speed in mm/s or a bare factor, what it is in words, and who says so."""

    figure: float
    what: str
    source: Source


@cache
def limit(name: str) -> Limit:
    """The limit of this name; every name is written in the code, so that a wrong one is a bug of ours.

    >>> limit("long slot").figure
    0.63
    """
    for row in read("strength_limits.csv"):
        if row.text("name") == name:
            column = next(name for name in ("factor", "stress_n_mm2", "speed_mm_s") if row.text(name))
            return Limit(row.number(column), row.text("what"), row.source)
    raise TableError(f"strength_limits.csv: no row {name!r}")


PULLED = 3.0
"""The highest stress at a hole in a wide plate that is pulled, over that of the plate without it (G. Kirsch, 1898)."""


@cache
def bent(ratio: float) -> float:
    """The same for a plate that is bent one way, by the hole's diameter over the thickness (no unit).

    >>> bent(0.0), bent(1.0)
    (3.0, 2.261)
    """
    rows = [(row.number("ratio"), row.number("factor")) for row in read("hole_bending.csv")]
    for (low, most), (high, least) in pairwise(rows):
        if ratio <= high:
            return most + (least - most) * (ratio - low) / (high - low)
    return rows[-1][1]


def normal_clearance(diameter: float) -> float:
    """How much wider than its screw (diameter in mm) a hole may be, mm, until it counts as oversized.

    >>> normal_clearance(8), normal_clearance(30)
    (1.0, 3.0)
    """
    rows = read("en_1090_2_clearance.csv")
    return next(row.need("normal") for row in rows if (most := row.length("up_to")) is None or diameter <= most)

"""Tube and bar that spacers are cut from, and how exactly they are cut."""

from __future__ import annotations

from functools import cache
from typing import Literal

from msgspec import Struct

from platekit.errors import LookupFailed
from platekit.tables.rows import plain_number, read
from platekit.tables.values import Source
from platekit.units import INCH, show_length

MadeFrom = Literal["tube", "bar"]


class SpacerStock(Struct, frozen=True):
    """A tube, or a bar that is drilled through: diameters in mm, `bore` None for a bar."""

    made: MadeFrom
    outside: float
    bore: float | None
    source: Source


@cache
def spacer_stock(system: str) -> tuple[SpacerStock, ...]:
    """All tubes and bars of a system of sizes, `metric` or `inch`, the narrowest and thinnest first; mm.

    Source: `spacer_stock.csv`, each row with its kind.

    >>> [one.bore for one in spacer_stock("metric") if (one.made, one.outside) == ("tube", 16)]
    [12.0, 11.0, 10.0]
    """
    found: list[SpacerStock] = []
    for row in read("spacer_stock.csv"):
        if row.text("system") != system:
            continue
        scale = INCH if row.text("unit") == "in" else 1.0
        outside = plain_number(row.text("outer")) * scale
        if row.text("made") == "bar":
            found.append(SpacerStock("bar", outside, None, row.source))
            continue
        walls = (plain_number(word) * scale for word in row.words("walls"))
        found += [SpacerStock("tube", outside, round(outside - 2 * wall, 6), row.source) for wall in walls]
    return tuple(sorted(found, key=lambda one: (one.outside, one.made == "bar", -(one.bore or 0.0))))


def general_deviation(size: float) -> float:
    """How much a machined length (mm) may be off where nobody says, plus or minus, mm: ISO 2768-1, medium.

    Raises LookupFailed for a length that the table does not hold.

    >>> general_deviation(25)
    0.2
    """
    for row in read("iso_2768_1.csv"):
        if row.need("over") <= size <= row.need("thru"):
            return row.need("medium")
    raise LookupFailed(f"ISO 2768-1 has no deviation for {show_length(size, 'mm')}")

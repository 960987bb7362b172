"""ISO 9013, quality of thermally cut edges: how far a cut size may come off, and how far an edge may lean."""

from __future__ import annotations

from functools import cache

from msgspec import Struct

from platekit.errors import LookupFailed
from platekit.tables.rows import read
from platekit.tables.values import Source

EDITIONS = ("iso_9013_2017_limit.csv", "iso_9013_2002_limit.csv")
"""The tables in the order in which they are asked: a row of the newer edition goes before one of the older."""
CLASSES = (1, 2)


class Tolerance(Struct, frozen=True):
    """A figure in mm and who says so."""

    value: float
    source: Source


@cache
def limit_deviation(tolerance_class: int, thickness: float, size: float) -> Tolerance | None:
    """How far (plus or minus, mm) a size may come off in a plate of `thickness` (both mm).

    A size on a limit belongs to the larger range. None where the standard gives no figure: very small sizes in thick
    plate, from 1000 mm on, or over 150 mm thick. Source: ISO 9013:2017; class 2 over 20 mm could not be looked up and
    is that of the 2002 edition, from memory.

    >>> limit_deviation(2, 6, 50).value, limit_deviation(1, 8, 50).value
    (0.9, 0.3)

    Raises LookupFailed for a class that the standard does not have.
    """
    if tolerance_class not in CLASSES:
        raise LookupFailed(f"ISO 9013 has no tolerance class {tolerance_class}", wanted="use 1 or 2")
    for file in EDITIONS:
        for row in read(file):
            if row.count("class") == tolerance_class and row.need("over") < thickness <= row.need("up_to"):
                # The spans of sizes are the columns themselves (`size_35_125_mm`), as the standard prints its table.
                for column in row.cells:
                    if not column.startswith("size_"):
                        continue
                    _, over, up_to, _ = column.split("_")
                    if float(over) <= size < float(up_to):
                        value = row.length(column.removesuffix("_mm"))
                        return None if value is None else Tolerance(value, row.source)
                return None
    return None


def squareness(quality_range: int, thickness: float) -> Tolerance:
    """How far (mm) the edge may lean over the plate's `thickness` (mm) in a range from 1 (best) to 5.

    >>> round(squareness(4, 10).value, 6)
    1.0

    Raises LookupFailed for a range that the standard does not have.
    """
    for row in read("iso_9013_squareness.csv"):
        if row.count("range") == quality_range:
            return Tolerance(row.need("base") + row.number("share") * thickness, row.source)
    raise LookupFailed(f"ISO 9013 has no perpendicularity range {quality_range}", wanted="use 1 to 5")

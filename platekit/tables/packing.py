"""What goes under a part to lift it: plate and shims in the thicknesses that are sold."""

from __future__ import annotations

from msgspec import Struct

from platekit.tables.rows import plain_number, read
from platekit.units import INCH, Unit

SAME_THICKNESS = 1e-6
"""Two thicknesses that differ by less are one, mm (ours)."""


class Packing(Struct, frozen=True):
    """The pieces that make up a height, the thickest first, and their sum; mm."""

    pieces: tuple[float, ...]
    height: float


def packing(height: float, unit: Unit) -> Packing:
    """Pieces that come nearest to a height (mm): plate as thick as may be, then shims; of the system of the unit.

    Source: `packing.csv`, each row with its kind.

    >>> packing(12.34, "mm")
    Packing(pieces=(12.0, 0.2, 0.1, 0.05), height=12.35)
    """
    system = "metric" if unit == "mm" else "inch"
    plates, shims = (_sizes(system, made) for made in ("plate", "shim"))
    pieces, left = [], height
    for size in plates:
        while left >= size - SAME_THICKNESS:
            pieces.append(size)
            left -= size
    # What plates leave is rounded to the thinnest shim: nothing between two of its multiples can be had.
    left = round(left / shims[-1]) * shims[-1]
    for size in shims:
        while left >= size - SAME_THICKNESS:
            pieces.append(size)
            left -= size
    return Packing(tuple(pieces), round(sum(pieces), 6))


def _sizes(system: str, made: str) -> list[float]:
    """Thicknesses of one kind, mm, the thickest first."""
    row = next(row for row in read("packing.csv") if (row.text("system"), row.text("made")) == (system, made))
    scale = INCH if row.text("unit") == "in" else 1.0
    return sorted((plain_number(word) * scale for word in row.words("thicknesses")), reverse=True)

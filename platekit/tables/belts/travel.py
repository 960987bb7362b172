"""How far a shaft must move to put a belt on and to take up its stretch."""

from __future__ import annotations

from msgspec import Struct

from platekit.tables.belts.data import first_row
from platekit.tables.belts.sections import section
from platekit.tables.rows import Row, kept
from platekit.tables.values import Source


class Allowance(Struct, frozen=True):
    """Travel along the line of centres, in mm: `install` brings the shafts together, `tension` apart."""

    install: float
    tension: float
    source: Source


@kept(256)
def allowance(name: str, pitch_length: float) -> Allowance:
    """The travel that a belt of this section and pitch length in mm needs, without its length tolerance.

    >>> allowance("A", 1000).tension
    30.0
    """
    kind = section(name)
    row = first_row("belts/allowances.csv", "for", kind.name, kind.family)
    fixed = kind.pitch if row.text("unit") == "pitch" else 1.0
    return Allowance(
        install=_travel(row, "install", pitch_length, fixed),
        tension=_travel(row, "tension", pitch_length, fixed),
        source=row.source,
    )


def _travel(row: Row, which: str, length: float, fixed: float) -> float:
    return row.number(f"{which}_share") * length + row.number(which) * fixed

"""Service factors: how much more than the motor's power a belt must be chosen for, by what it drives."""

from __future__ import annotations

from typing import Final, Literal

from msgspec import Struct

from platekit.tables.belts.data import figures, first_row, rows_of
from platekit.tables.rows import TableError
from platekit.tables.values import Source

HOURS: Final = (5.0, 10.0, 24.0)
"""Hours a day up to which each printed factor serves; the source prints 3 to 5, 8 to 10 and 16 to 24."""


class ServiceFactor(Struct, frozen=True):
    """Design power over motor power."""

    factor: float
    source: Source


def service_factor(machine: str, hours: float, start: Literal["soft", "hard"] = "soft") -> ServiceFactor:
    """The printed service factor for a machine that runs so many hours a day.

    `start` is hard for motors that pull away hard, such as series-wound ones.

    >>> service_factor("crusher", 8).factor
    1.4
    """
    group = first_row("belts/driven_machines.csv", "machine", machine).text("group")
    for row in rows_of("belts/service_factors.csv", "group", group):
        if row.text("start") == start:
            place = next(n for n, most in enumerate(HOURS) if hours <= most or most == HOURS[-1])
            return ServiceFactor(figures(row, "factors")[place], row.source)
    raise TableError(f"belts/service_factors.csv: no row for group {group}, {start}")

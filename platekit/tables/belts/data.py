"""The data files beside this module, read on demand, and the units that they print."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from pathlib import Path

from platekit.tables.rows import Row, TableError, parse
from platekit.units import INCH

HERE = Path(__file__).parent
"""The folder of the belt tables."""
UNITS = {"mm": 1.0, "in": INCH, "in/10": INCH / 10}
"""What one of each printed unit is in mm."""

_DECIMALS = 9  # of a mm: keeps 4.5 in at 114.3 mm and not at 114.29999999999998


@cache
def rows(file: str) -> tuple[Row, ...]:
    """The rows of a belt table, read once."""
    return parse(file, (HERE / file).read_text(encoding="utf-8"))


def data_files() -> tuple[str, ...]:
    """The names of all belt tables, sorted."""
    return tuple(sorted(item.name for item in HERE.iterdir() if item.name.endswith(".csv")))


def rows_of(file: str, column: str, *names: str) -> Iterator[Row]:
    """The rows whose column holds one of the names, those of the first name first."""
    for name in names:
        yield from (row for row in rows(file) if row.text(column) == name)


def first_row(file: str, column: str, *names: str) -> Row:
    """The first row whose column holds one of the names; every section is meant to have one."""
    for row in rows_of(file, column, *names):
        return row
    raise TableError(f"{file}: no row for {' or '.join(names)}")


def in_mm(value: float, unit: str) -> float:
    """A printed figure in mm."""
    return round(value * UNITS[unit], _DECIMALS)


def figures(row: Row, column: str) -> tuple[float, ...]:
    """A cell that holds several figures with spaces between."""
    return tuple(float(part) for part in row.text(column).split())

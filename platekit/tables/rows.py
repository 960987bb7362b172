"""Reading a table: one comma-separated file a standard, figures as printed, converted on reading.

Lines that begin with `#` before the column names are the head of a file: they name the standard, its edition,
the columns and the unit that the standard calls the authority. The first other line names the columns. A
column's unit is the last part of its name (`bolt_circle_in`, `height_mm`); a column without one holds text or
a bare number. Every row has `source` and `kind`; `doubted` may name columns of the row that were written from
memory. Only the file asked for is read, once.
"""

from __future__ import annotations

import csv
from collections import deque
from collections.abc import Callable, Iterator, Mapping
from contextvars import ContextVar
from functools import cache, lru_cache, wraps
from math import isfinite
from pathlib import Path
from typing import Any, Final, ParamSpec, TypeVar

from msgspec import Struct, field

from platekit.tables.values import KINDS, Kind, Source
from platekit.units import INCH

DATA = Path(__file__).with_name("data")
"""The folder of the data files, the only home of tables; those of belts have a folder in it."""
MICROMETRE = 0.001
LENGTHS = {"mm": 1.0, "in": INCH, "um": MICROMETRE, "in/10": INCH / 10}
"""What one of each printed unit of length is in mm."""
_AREAS = {"mm2": 1.0, "in2": INCH**2}
_DECIMALS = 9  # of a mm: keeps 4.5 in at 114.3 mm and not at 114.29999999999998
_BOOKKEEPING = ("source", "kind", "doubted")


class TableError(ValueError):
    """A data file of the package is broken: a bug of ours, never a user's mistake."""


def plain_number(text: str) -> float:
    """The number that a table prints, as a decimal or a fraction: `0.406`, `13/32`, `1-3/32`.

    In mm or inches, as its column says. >>> plain_number("1-3/32")
    1.09375
    """
    whole, _, fraction = text.strip().rpartition("-") if "/" in text else ("", "", text.strip())
    above, slash, below = fraction.partition("/")
    value = (float(above) / float(below) if slash else float(above)) + (float(whole) if whole else 0.0)
    if not isfinite(value):
        raise ValueError(f"{text!r} is no figure")
    return value


def in_mm(value: float, unit: str) -> float:
    """A printed length in mm."""
    return round(value * LENGTHS[unit], _DECIMALS)


class Row(Struct, frozen=True):
    """One line of a table; `line` counts from 1 in the file. `own`: it stands in a table of the shop, not in ours."""

    file: str
    line: int
    cells: dict[str, str]
    own: bool = False

    @property
    def source(self) -> Source:
        """Who says so; of a shop's own row also in which of its files."""
        said = self.cells["source"]
        name = f"{said}, your table {Path(self.file).name}:{self.line}" if self.own else said
        return _source(name, self.cells["kind"], self.cells.get("doubted", ""))

    def text(self, column: str) -> str:
        """The cell as written; empty when it is blank."""
        return self._cell(column)

    def words(self, column: str) -> tuple[str, ...]:
        """The parts of a cell that holds several, divided by semicolons."""
        return tuple(part.strip() for part in self._cell(column).split(";") if part.strip())

    def number(self, column: str) -> float:
        """The bare number of a cell that must not be blank; its column's name ends in its unit, mm or in."""
        try:
            return plain_number(self._cell(column))
        except (ValueError, ZeroDivisionError):
            raise TableError(f"{self.file}:{self.line}: no number in column {column!r}") from None

    def count(self, column: str) -> int:
        """The whole number of a cell that must not be blank."""
        value = self.number(column)
        if value != int(value):
            raise TableError(f"{self.file}:{self.line}: {value} in column {column!r} is no whole number")
        return int(value)

    def length(self, stem: str) -> float | None:
        """A length in mm from the column `stem_mm`, `stem_in` or `stem_um`; None when the cell is blank."""
        for unit in LENGTHS:
            column = f"{stem}_{unit}"
            if column in self.cells:
                return in_mm(self.number(column), unit) if self.cells[column] else None
        raise TableError(f"{self.file}: no column {stem!r} with a unit")

    def area(self, stem: str) -> float | None:
        """An area in mm2 from the column `stem_mm2` or `stem_in2`; None when the cell is blank."""
        for unit, factor in _AREAS.items():
            column = f"{stem}_{unit}"
            if column in self.cells:
                return self.number(column) * factor if self.cells[column] else None
        raise TableError(f"{self.file}: no column {stem!r} with a unit of area")

    def need(self, stem: str) -> float:
        """A length in mm that must not be blank."""
        value = self.length(stem)
        if value is None:
            raise TableError(f"{self.file}:{self.line}: {stem} is blank")
        return value

    def figures(self) -> Iterator[tuple[str, float]]:
        """Each column that holds a length, with the length in mm."""
        for column, cell in self.cells.items():
            stem, _, unit = column.rpartition("_")
            if cell and unit in LENGTHS and stem:
                yield column, self.number(column) * LENGTHS[unit]

    def _cell(self, column: str) -> str:
        try:
            return self.cells[column]
        except KeyError:
            raise TableError(f"{self.file}: no column {column!r}") from None


# Kept: a plate asks for the source of the same row some hundred times, and equal sources are then the same value.
@cache
def _source(name: str, said: str, doubted: str) -> Source:
    kind: Kind = next(kind for kind in KINDS if kind == said)
    return Source(name, kind, tuple(doubted.split()))


def parse(file: str, text: str) -> tuple[Row, ...]:
    """The rows of a table's text; refuses a row that does not say where it comes from."""
    # Line numbers are kept beside the lines, as blank ones and the head are not handed to the reader of cells: a
    # complaint must name the line in the file.
    lines = text.splitlines()
    head = next((n for n, line in enumerate(lines) if line and not line.startswith("#")), len(lines))
    numbered = [(n, line) for n, line in enumerate(lines[head:], head + 1) if line]
    if not numbered:
        raise TableError(f"{file}: no line of column names")
    cells = csv.reader(line for _, line in numbered)
    # From here on a row is known by the line that it stands on, however many remarks are between.
    columns = next(cells)
    for needed in _BOOKKEEPING[:2]:
        if needed not in columns:
            raise TableError(f"{file}: no column {needed!r}")
    rows = []
    for (number, _), found in zip(numbered[1:], cells, strict=True):
        if len(found) != len(columns):
            raise TableError(f"{file}:{number}: {len(found)} cells for {len(columns)} columns")
        row = Row(file, number, dict(zip(columns, found, strict=True)))
        # No figure without someone who says so: that is what the tables are for.
        if not row.cells["source"]:
            raise TableError(f"{file}:{number}: no source")
        if row.cells["kind"] not in KINDS:
            raise TableError(f"{file}:{number}: kind is {row.cells['kind']!r}, not one of {', '.join(KINDS)}")
        rows.append(row)
    return tuple(rows)


OWN_KEYS: Final[dict[str, tuple[str, ...]]] = {
    "material.csv": ("name",),
    "processes.csv": ("process", "quantity"),
    "process_materials.csv": ("process", "family"),
    "process_speeds.csv": ("process", "thickness_mm"),
    "belts/power_tables.csv": ("section",),
    "belts/stock.csv": (),
    "belts/pulleys.csv": (),
}
"""The tables that a shop may have rows of its own in, and the columns by which such a row takes the place of ours.

Where no column is named, its rows are more of the same. `mounts.csv`, which has no table of ours, is in `tables.own`.
"""

OWN_MOUNTS: Final = "mounts.csv"
"""The shop's own motors and machines; see `tables.own`."""

P = ParamSpec("P")
R = TypeVar("R")


class TableSet(Struct, frozen=True, eq=False):
    """The tables as one shop sees them: the rows that its folder adds to ours, by file, and what they gave so far."""

    rows: Mapping[str, tuple[Row, ...]]
    answers: dict[Callable[..., Any], Callable[..., Any]] = field(default_factory=dict)


_OURS: Final = TableSet({})
_in_use: Final = ContextVar("tables in use", default=_OURS)
"""The set that this thread, or this task, looks things up in: see `use_own`."""
_RECENT: Final[deque[TableSet]] = deque(maxlen=8)
"""Sets that were in use last, with their answers: a shop's specs all name one folder. Eight shops at once (ours)."""


def kept(most: int | None = None) -> Callable[[Callable[P, R]], Callable[P, R]]:
    """Keeps the answers of a function that come out of the tables, at most so many, for each set of tables apart.

    What one shop's tables gave is thus never told to another, whichever thread asks.
    """

    def keep(function: Callable[P, R]) -> Callable[P, R]:
        @wraps(function)
        def asked(*args: P.args, **kwargs: P.kwargs) -> R:
            answers = _in_use.get().answers
            memory = answers.get(function)
            if memory is None:  # of two threads that come here at once, both go on with the one that was put in first
                memory = answers.setdefault(function, lru_cache(maxsize=most)(function))
            answer: R = memory(*args, **kwargs)
            return answer

        return asked

    return keep


def use_own(rows: Mapping[str, tuple[Row, ...]]) -> None:
    """From now on the tables hold these rows too, by file, for this thread or task; those used before go.

    Each spec names the folder of its shop, and takes it up when it is read, laid out and judged. Specs of different
    shops can be worked on in several threads, each with its own. To take up the same rows again costs nothing.
    """
    if not rows:
        _in_use.set(_OURS)
        return
    # By identity first: the rows of one spec are one object, and comparing them in full costs as much as a look-up.
    known = (one for one in tuple(_RECENT) if one.rows is rows or one.rows == rows)
    tables = next(known, None)
    if tables is None:
        tables = TableSet(dict(rows))
        _RECENT.append(tables)
    _in_use.set(tables)


def own_rows(file: str) -> tuple[Row, ...]:
    """The rows that the shop's own table of this name has."""
    return _in_use.get().rows.get(file, ())


def read(file: str) -> tuple[Row, ...]:
    """The rows of a data file by its place in the folder, read once; the shop's own rows first, in place of ours."""
    return with_own(file) if file in _in_use.get().rows else built_in(file)


@kept()
def with_own(file: str) -> tuple[Row, ...]:
    """The rows of a table with those of the shop: a row of theirs takes the place of ours with the same key."""
    # Theirs come first, so that whoever takes the first match takes the shop's; ours with the same key are left out.
    theirs, key = own_rows(file), OWN_KEYS[file]
    taken = {tuple(_plain(row.text(column)) for column in key) for row in theirs} if key else set()
    ours = (row for row in built_in(file) if tuple(_plain(row.text(column)) for column in key) not in taken)
    return (*theirs, *ours)


def _plain(cell: str) -> str | float:
    """A cell for comparing: 6 and 6.0 are one thickness."""
    try:
        return plain_number(cell)
    except (ValueError, ZeroDivisionError):
        return cell.strip().casefold()


@cache
def built_in(file: str) -> tuple[Row, ...]:
    """The rows of our own data file by its place in the folder, read once."""
    return parse(file, (DATA / file).read_text(encoding="utf-8"))


def data_files() -> tuple[str, ...]:
    """All data files by their place in the folder (`belts/stock.csv`), sorted."""
    return tuple(sorted(item.relative_to(DATA).as_posix() for item in DATA.rglob("*.csv")))

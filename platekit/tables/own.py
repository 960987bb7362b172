"""A shop's own tables: a folder of CSV files with sources, read beside ours, held to the same rules.

A file is called as ours is (`material.csv`, `belts/stock.csv`; see `rows.OWN_KEYS`) and has our columns, those that
are blank in ours may be left out; `mounts.csv` is for the shop's own motors and machines. Every row names its
`source` and its `kind`, as ours do.
"""

from __future__ import annotations

import csv
import os
from collections.abc import Iterable, Iterator
from difflib import get_close_matches
from pathlib import Path
from typing import Final

from msgspec import Struct

from platekit.errors import LookupFailed, PlatekitError, Problem, SpecError
from platekit.tables.naming import listed, nearest
from platekit.tables.rows import OWN_KEYS, OWN_MOUNTS, Row, TableError, built_in, plain_number
from platekit.tables.values import KINDS

WORDS: Final = {
    "material.csv": ("family",),
    "processes.csv": ("process", "quantity", "unit"),
    "process_materials.csv": ("process", "family", "cuts"),
    "process_speeds.csv": ("process",),
    "belts/power_tables.csv": ("unit",),
    "belts/stock.csv": ("of",),
    "belts/pulleys.csv": ("of", "material"),
}
"""Columns of words that mean something to the program: another word would be passed over, or found too late."""
WORDS_FROM: Final = {
    ("material.csv", "family"): ("process_materials.csv", "family"),
    ("belts/pulleys.csv", "material"): ("belts/rims.csv", "material"),
}
"""Where such words stand, if not in our own table of that name."""
FREE: Final = ("family",)
"""Columns where a shop may have a word of its own, such as a metal that no table of ours has; a slip is still told."""
ALIKE: Final = 0.75
"""How much alike two words are (0 to 1) from which one is a slip of the other (ours)."""

LARGEST = 1_000_000
"""Largest of these files, bytes (ours): a table of a shop has some hundred rows."""

MOST_TOLD = 30
"""Problems of a folder that are listed (ours): more cannot be read."""

MOUNT_COLUMNS: dict[str, str] = {
    "name": "what you call it in a spec, as `standard: NAME`",
    "aliases": "other names, with semicolons between",
    "holes": "how many, on a circle",
    "bolt_circle_mm": "diameter of the circle of holes",
    "start_deg": "where the first hole lies, counter-clockwise from +x, looking at the face",
    "width_mm": "in place of a circle: the rectangle of four holes, across",
    "height_mm": "and along",
    "hole_mm": "plain holes in the part: their diameter",
    "screw": "or the thread tapped in it, such as M8 or 3/8-16",
    "thread_depth_mm": "how deep it is tapped",
    "pilot_mm": "diameter of the pilot",
    "pilot_kind": "spigot (stands out) or recess",
    "pilot_depth_mm": "how far it stands out, or how deep it is",
    "face_mm": "diameter of the face",
    "shaft_mm": "diameter of the shaft",
    "shaft_length_mm": "how far it stands out of the face",
    "body_mm": "diameter of the body behind the face",
    "body_length_mm": "how long the body is",
    "note": "what else there is to say",
    "source": "who says so: a data sheet, or `measured on the part`, with the date",
    "kind": "published, common practice, or from memory",
}
"""The columns of `mounts.csv`; lengths may be in inches as well, a column being called `..._in` then."""

FILES = (OWN_MOUNTS, *OWN_KEYS)
"""The files that a folder may hold."""
_MOUNT_NEEDS = ("name", "source", "kind")


class OwnTables(Struct, frozen=True):
    """The rows of a shop's folder, by file."""

    folder: str
    rows: dict[str, tuple[Row, ...]]

    def told(self) -> list[tuple[str, list[str]]]:
        """Each file with what its rows are called, for a list."""
        listing: list[tuple[str, list[str]]] = []
        for name, rows in sorted(self.rows.items()):
            # a row is called by its key, or by its first cell where the file has none
            called = (OWN_KEYS.get(name) or (next(iter(row.cells)),) for row in rows)
            lines = (" ".join(map(row.text, columns)) for row, columns in zip(rows, called, strict=True))
            listing.append((name, list(dict.fromkeys(lines))))
        return listing

    def used(self, words: Iterable[str], of_belts: Iterable[str]) -> dict[str, list[dict[str, str]]]:
        """The rows that a spec with these words, and these for its belts, can have used, by file, for its mark."""
        said = {word.strip().casefold() for word in words}
        belts = {word.strip().casefold() for word in of_belts}

        def is_used(name: str, row: Row) -> bool:
            called = [row.cells[next(iter(row.cells))], *row.cells.get("aliases", "").split(";")]
            names = [one.strip().casefold() for one in called if one.strip()]
            if name.startswith("belts/"):  # a trade size has its section in it: A38, 5M-500
                return any(one in word for one in names for word in belts)
            return any(one in said for one in names)

        chosen = {name: [row.cells for row in rows if is_used(name, row)] for name, rows in self.rows.items()}
        return {name: rows for name, rows in sorted(chosen.items()) if rows}


NO_TABLES = OwnTables("", {})


def is_a_folder(path: Path) -> bool:
    """Whether a folder is there; a name that no disk can hold is none."""
    try:
        return path.is_dir()
    except (OSError, ValueError):
        return False


def read_folder(folder: Path) -> OwnTables:
    """The tables in a folder.

    SpecError with every row that will not do, PlatekitError where there is no such folder.
    """
    if not is_a_folder(folder):
        raise PlatekitError(f"{folder}: found no such folder of tables; name one with {listed(sorted(FILES), 'or')}")
    found: dict[str, tuple[Row, ...]] = {}
    problems: list[Problem] = []
    # no deeper than our own tables lie: the folder may be one with much else in it
    for path in sorted((*folder.glob("*.csv"), *folder.glob("belts/*.csv"))):
        name = path.relative_to(folder).as_posix()
        if not path.is_file():  # a pipe or a device would be read without end
            problems.append(Problem(str(path), 1, 1, "", "what is no plain file", "save the table there as CSV"))
            continue
        if name not in FILES:
            close = nearest(name, tuple(sorted(FILES)))
            wanted = f"call it {listed(close, 'or')}" if close else f"call it {listed(sorted(FILES), 'or')}"
            problems.append(Problem(str(path), 1, 1, "", "a table that platekit has no use for", wanted))
            continue
        rows, wrong = TableForm(name).read(path)
        found[name] = rows
        problems += wrong
    # The first ones by line are told; whoever mends those usually mends the rest by the same stroke.
    if len(problems) > MOST_TOLD:
        more = Problem(
            os.fspath(folder), 0, 0, "", f"{len(problems)} problems", "correct these first, then check again"
        )
        problems[MOST_TOLD:] = [more]
    if problems:
        raise SpecError(tuple(problems))
    if not found:
        raise PlatekitError(f"{folder}: found no table in it; put in {listed(sorted(FILES), 'or')}")
    return OwnTables(os.fspath(folder), found)


class TableForm(Struct, frozen=True):
    """What a file of a shop's folder must look like, by its name: our own file's columns, or those of `mounts.csv`."""

    name: str

    @property
    def columns(self) -> tuple[str, ...]:
        """The columns that there are."""
        return tuple(MOUNT_COLUMNS) if self.name == OWN_MOUNTS else tuple(built_in(self.name)[0].cells)

    @property
    def needed(self) -> tuple[str, ...]:
        """The columns that no row of ours leaves blank; other names are a help, never a must."""
        if self.name == OWN_MOUNTS:
            return _MOUNT_NEEDS
        ours = built_in(self.name)
        return tuple(
            column for column in self.columns if column != "aliases" and all(row.cells[column] for row in ours)
        )

    def holds_lists(self, column: str) -> bool:
        """Whether a cell of a column may hold several figures: where a cell of ours does."""
        from platekit.tables.row_rules import figures_in

        return self.name != OWN_MOUNTS and any(len(figures_in(row.cells[column])) > 1 for row in built_in(self.name))

    def meaning(self, column: str) -> str:
        """What goes into a column."""
        if self.name == OWN_MOUNTS or column in ("source", "kind"):
            return MOUNT_COLUMNS[column]
        return f"such as {built_in(self.name)[0].text(column)}"

    def read(self, path: Path) -> tuple[tuple[Row, ...], list[Problem]]:
        """The rows of one file, and what is wrong with it, each at its line and column."""
        file = str(path)
        try:
            # One byte more than is allowed tells that there is more, without reading all of it.
            raw = path.read_bytes()[: LARGEST + 1]
            text = raw.decode("utf-8-sig")
        except UnicodeDecodeError:
            return (), [Problem(file, 1, 1, "", "signs that are not UTF-8", "save the table as CSV in UTF-8")]
        except OSError as error:
            raise PlatekitError(f"{file}: cannot be read ({error.strerror}); check your rights to it") from None
        if len(raw) > LARGEST:
            found = f"found more than {LARGEST // 1000} kB; a table of a shop has some hundred rows"
            raise PlatekitError(f"{file}: {found}")
        # Line numbers stay beside the lines, since remarks and blank lines are not handed to the reader of cells.
        lines = [(n, line) for n, line in enumerate(text.splitlines(), 1) if line.strip() and not line.startswith("#")]
        if not lines:
            return (), [Problem(file, 1, 1, "", "no line of column names", f"begin with {','.join(self.columns)}")]
        first = lines[0][0]
        try:
            cells = list(csv.reader((line for _, line in lines), strict=True))
        except csv.Error as error:
            said = f"no table of commas ({error})"
            return (), [Problem(file, first, 1, "", said, "save it as CSV, commas between")]
        # A quoted cell with a line break in it would put every line number behind it wrong.
        if len(cells) != len(lines):
            return (), [Problem(file, first, 1, "", "a cell over several lines", "keep each row on one line")]
        head = [cell.strip() for cell in cells[0]]
        if len(head) == 1 and ";" in head[0]:
            return (), [Problem(file, first, 1, "", "semicolons between the cells", "save it as CSV, commas between")]
        problems = list(self._head_problems(file, first, head))
        if problems:
            return (), problems
        # A length of `mounts.csv` that is given in inches has no column in mm: one figure, one cell.
        blank = {
            column: ""
            for column in self.columns
            if self.name != OWN_MOUNTS or not (column.endswith("_mm") and f"{column[:-3]}_in" in head)
        }
        rows: list[Row] = []
        for (line, _), row in zip(lines[1:], cells[1:], strict=True):
            if len(row) != len(head):
                said = f"{len(row)} cells for {len(head)} columns"
                problems.append(
                    Problem(file, line, 1, "", said, "put a comma for each cell, text with commas in quotes")
                )
                continue
            given = dict(zip(head, (cell.strip() for cell in row), strict=True))
            made = Row(file, line, {**blank, **given}, own=True)
            wrong = list(self._row_problems(made, head))
            problems += wrong
            if not wrong:
                rows.append(made)
        if not problems:  # rows that are no rows would be told twice
            problems = list(self._file_problems(file, tuple(rows), head))
        return tuple(rows), problems

    def _head_problems(self, file: str, line: int, head: list[str]) -> Iterator[Problem]:
        known, mounts = self.columns, self.name == OWN_MOUNTS
        also = tuple(f"{column[:-3]}_in" for column in known if column.endswith("_mm")) if mounts else ()
        for place, column in enumerate(head, 1):
            if column not in known and column not in also:
                close = nearest(column, known)
                wanted = f"call it {listed(close, 'or')}" if close else f"the columns are {listed(known)}"
                yield Problem(file, line, place, column, f"the unknown column {column!r}", wanted)
            elif head.index(column) != place - 1:
                yield Problem(file, line, place, column, f"the column {column!r} twice", "leave one of them out")
        for column in self.needed:
            if column not in head:
                wanted = f"add it: {self.meaning(column)}"
                yield Problem(file, line, len(head) + 1, column, f"no column {column!r}", wanted)

    def _row_problems(self, row: Row, head: list[str]) -> Iterator[Problem]:
        from platekit.tables.validate import UNIT_CELLS, WITH_UNIT_CELL, plausible

        def problem(column: str, found: str, wanted: str) -> Problem:
            return Problem(row.file, row.line, head.index(column) + 1 if column in head else 1, column, found, wanted)

        for column in self.needed:
            if not row.cells[column]:
                yield problem(column, "a blank cell", self.meaning(column))
        if row.cells["kind"] and row.cells["kind"] not in KINDS:
            yield problem("kind", repr(row.cells["kind"]), f"write {listed(KINDS, 'or')}")
        for column in head:
            figures = list(plausible(row, column))
            if len(figures) > 1 and not self.holds_lists(column):
                yield problem(column, f"{len(figures)} figures in one cell", "write one, and a row for each")
                continue
            for figure, low, high in figures:
                try:
                    value = plain_number(figure)
                except (ValueError, ZeroDivisionError):
                    said = f"{figure!r}, which is no number"
                    yield problem(column, said, "write a number such as 10.5, without its unit")
                    continue
                if self.name == OWN_MOUNTS and column.endswith(("_mm", "_in")) and value <= 0:
                    yield problem(column, f"{value:g}", "write a length above zero, or leave the cell blank")
                elif not low <= value <= high:
                    yield problem(column, f"{value:g}", f"write it in the unit of the column: {low:g} to {high:g}")
            if column in WITH_UNIT_CELL and row.cells.get("unit") not in UNIT_CELLS:
                yield problem("unit", repr(row.cells.get("unit", "")), f"write {listed(sorted(UNIT_CELLS), 'or')}")
            word, known = row.cells[column], _words_of(self.name, column)
            if word and known and word not in known:
                close = get_close_matches(word, known, 1, ALIKE)
                if column not in FREE or close:
                    yield problem(column, repr(word), f"write {listed(close or known, 'or')}")
        if self.name == OWN_MOUNTS:
            yield from (problem(*one) for one in _mount_faults(row))

    def _file_problems(self, file: str, rows: tuple[Row, ...], head: list[str]) -> Iterator[Problem]:
        """What our own file of that name must fulfil, asked of these rows."""
        from platekit.tables.row_rules import unique
        from platekit.tables.validate import FILE_CHECKS

        # Our own rules of a file hold for theirs as well, asked of their rows alone: what they add to ours must not
        # break it.
        checks = (unique("name"),) if self.name == OWN_MOUNTS else FILE_CHECKS[self.name]
        for check in checks:
            for complaint in check(rows):
                where, _, said = complaint.partition(": ")
                path, _, line = where.rpartition(":")
                if path == file and line.isdigit():
                    # A rule says which column it is about by its name; without one it is about the row.
                    named = next((column for column in head if column in said.replace(",", " ").split()), "")
                    place = head.index(named) + 1 if named else 1
                    yield Problem(file, int(line), place, named, said, "correct the row")
                elif where == file and "times" in said:
                    yield Problem(file, 1, 1, "", said, "leave one of them")


def _words_of(file: str, column: str) -> tuple[str, ...]:
    """The words that a column may hold: those that ours hold, which is all that is known of there."""
    if column not in WORDS.get(file, ()):
        return ()
    of, named = WORDS_FROM.get((file, column), (file, column))
    return tuple(dict.fromkeys(row.text(named) for row in built_in(of) if row.text(named)))


def _mount_faults(row: Row) -> Iterator[tuple[str, str, str]]:
    """What a mount must have beyond figures: column, found, wanted."""
    from platekit.tables.mounts import FAMILIES
    from platekit.tables.naming import key
    from platekit.tables.threads import thread

    def has(stem: str) -> bool:
        return bool(row.cells.get(f"{stem}_mm") or row.cells.get(f"{stem}_in"))

    # A family without files is the shop's own: a part is no clash with itself.
    ours = [family for family in FAMILIES if family.files]
    for called in (row.text("name"), *row.words("aliases")):
        if any(key(called) in map(key, family.entries()) for family in ours):
            yield "name", repr(called), "that is a standard mount already; give yours a name of its own"
    if has("bolt_circle"):
        try:
            enough = row.count("holes") >= 1
        except TableError:
            enough = False
        if not enough:
            yield "holes", repr(row.text("holes")), "write how many holes the circle has, such as 4"
    elif not (has("width") and has("height")):
        yield "bolt_circle_mm", "no pattern of holes", "give bolt_circle_mm and holes, or width_mm and height_mm"
    if has("hole") == bool(row.text("screw")):
        yield (
            "hole_mm",
            "both holes and threads" if has("hole") else "neither holes nor threads",
            ("give hole_mm for plain holes, or screw for tapped ones"),
        )
    if row.text("screw"):
        try:
            thread(row.text("screw"))
        except LookupFailed as failure:
            yield "screw", repr(row.text("screw")), failure.wanted or "write it as M8 or 3/8-16"
    if has("pilot") != bool(row.text("pilot_kind")) or row.text("pilot_kind") not in ("", "spigot", "recess"):
        yield "pilot_kind", repr(row.text("pilot_kind")), "write spigot or recess beside pilot_mm"

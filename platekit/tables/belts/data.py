"""Rows of the belt tables by section or family: the first name that has rows of its own goes first."""

from __future__ import annotations

from collections.abc import Iterator

from platekit.tables.rows import Row, TableError, read


def rows_of(file: str, column: str, *names: str) -> Iterator[Row]:
    """The rows whose column holds one of the names, those of the first name first."""
    for name in names:
        yield from (row for row in read(file) if row.text(column) == name)


def first_row(file: str, column: str, *names: str) -> Row:
    """The first row whose column holds one of the names; every section is meant to have one."""
    for row in rows_of(file, column, *names):
        return row
    raise TableError(f"{file}: no row for {' or '.join(names)}")


def figures(row: Row, column: str) -> tuple[float, ...]:
    """A cell that holds several figures with spaces between."""
    return tuple(float(part) for part in row.text(column).split())

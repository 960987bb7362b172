"""What every family of standard mounts offers, and the small geometry they share.

entry     one designation of a family with the other names that people use for it
claims    a pattern on the compared name (see `platekit.tables.naming.key`) that tells, without opening a file,
          whether a name may belong to the family
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Mapping

from msgspec import Struct

from platekit.tables.rows import Row, read
from platekit.tables.values import Point, Source, StandardBody, StandardMount

_DIGITS = 9  # decimals of a mm kept in hole positions, so that 0 is written as 0


class Family(Struct, frozen=True):
    """A family of mounts: what it is called, which names it may know, its entries, and how one is built."""

    name: str
    about: str
    files: tuple[str, ...]
    claims: re.Pattern[str]
    entries: Callable[[], Mapping[str, tuple[str, ...]]]
    build: Callable[[str], StandardMount]
    circles: Callable[[], Mapping[str, float]] = dict
    """The bolt circle of each designation that has one, mm, told by the table alone: most need never be built."""
    fold: Callable[[str], str] = str
    """Brings a compared name that has several usual forms to the one that is listed; leaves others as they are."""


def on_circle(diameter: float, count: int, first_deg: float) -> tuple[Point, ...]:
    """Hole centres in mm, evenly on a circle about the origin, counter-clockwise from `first_deg`."""
    # Rounded, and with + 0.0 against a negative zero: a hole on an axis lies exactly on it.
    angles = [math.radians(first_deg + 360.0 * n / count) for n in range(count)]
    return tuple(
        (round(diameter / 2 * math.cos(a), _DIGITS) + 0.0, round(diameter / 2 * math.sin(a), _DIGITS) + 0.0)
        for a in angles
    )


def on_rectangle(width: float, height: float) -> tuple[Point, ...]:
    """The corners of a rectangle about the origin in mm, counter-clockwise from the upper right."""
    x, y = width / 2, height / 2
    return ((x, y), (-x, y), (-x, -y), (x, -y))


def disc(name: str, diameter: float, span: tuple[float, float], source: Source) -> StandardBody:
    """A round body on the axis."""
    return StandardBody(name, ("circle", diameter), (0.0, 0.0), span, source)


def nominal_body(family: str, frame: str) -> Row | None:
    """The row with the room that a frame usually takes; the longest frame number that fits wins."""
    rows = [
        row
        for row in read("nominal_bodies.csv")
        if row.text("family") == family and frame.startswith(row.text("frame"))
    ]
    return max(rows, key=lambda row: len(row.text("frame")), default=None)


def only(rows: Iterable[Row], column: str, value: str) -> Row:
    """The one row whose cell (a name, or several divided by semicolons) holds the value."""
    # the cell as a whole first: of some hundred rows few hold the letters of the value at all
    return next(row for row in rows if value in row.text(column) and value in row.words(column))

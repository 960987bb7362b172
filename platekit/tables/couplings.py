"""Couplings between two shafts in line, in the sizes that are commonly sold."""

from __future__ import annotations

import math

from msgspec import Struct

from platekit.errors import LookupFailed
from platekit.tables.naming import key, listed, nearest
from platekit.tables.rows import Row, read
from platekit.tables.values import Source

FILE = "shaft_coupling.csv"


class StockCoupling(Struct, frozen=True):
    """One size of coupling: mm, rad, Nm, rpm; None for what its source does not give.

    `length` is over both hubs, `gap` the least and the most between the shaft ends, `bore` the largest shaft.
    """

    name: str
    diameter: float
    length: float
    gap: tuple[float, float]
    bore: float | None
    torque: float | None
    speed_rpm: float | None
    offset: float | None
    angle: float | None
    source: Source


def stock_couplings() -> tuple[str, ...]:
    """The names of all sizes that the table holds."""
    return tuple(row.text("name") for row in read(FILE))


def stock_coupling(name: str) -> StockCoupling:
    """The size of a coupling by its name. Source: `shaft_coupling.csv`, each row with its kind.

    Raises LookupFailed for a name that the table does not hold, with the nearest ones.

    >>> stock_coupling("pin 144").gap
    (2.0, 6.0)
    """
    row = next((row for row in read(FILE) if key(row.text("name")) == key(name)), None)
    if row is None:
        near = nearest(name, stock_couplings())
        raise LookupFailed(f"no table has a coupling {name!r}", near, f"use {listed(near)}, or give its figures")
    angle = _given(row, "angle_deg")
    return StockCoupling(
        name=row.text("name"),
        diameter=row.need("diameter"),
        length=row.need("length"),
        gap=(row.need("gap_least"), row.need("gap_most")),
        bore=row.length("bore"),
        torque=_given(row, "torque_nm"),
        speed_rpm=_given(row, "speed_rpm"),
        offset=row.length("offset"),
        angle=None if angle is None else math.radians(angle),
        source=row.source,
    )


def _given(row: Row, column: str) -> float | None:
    return row.number(column) if row.text(column) else None

"""Pulleys: which diameter is meant, which are stocked, how small they may be, and their grooves."""

from __future__ import annotations

from math import pi
from typing import Literal

from msgspec import Struct, convert

from platekit.choices import Unit
from platekit.errors import LookupFailed
from platekit.tables.belts.data import figures, rows_of
from platekit.tables.belts.sections import section
from platekit.tables.naming import listed, nearest
from platekit.tables.rows import Row, in_mm, read
from platekit.tables.values import Source

HORSEPOWER_W = 745.699872
"""One mechanical horsepower (550 ft lbf/s) in W. Published: NIST SP 811."""

TABLE_SPEED_RPM = 1750.0
"""The speed for which the smallest motor pulleys are printed: a four-pole motor at 60 Hz."""

SAME_POWER = 0.03
"""How much a power may exceed a printed one and still be the same: 0.75 kW is sold as 1 hp, 2.2 kW as 3 hp."""

DiameterKind = Literal["pitch", "effective", "outside"]


class SoldSize(Struct, frozen=True):
    """The diameter by which a pulley is sold, in the unit of its list."""

    value: float
    unit: Unit
    of: DiameterKind

    @property
    def mm(self) -> float:
        """The diameter, mm."""
        return in_mm(self.value, self.unit)

    @property
    def typed(self) -> str:
        """The diameter as one types it into a spec.

        >>> SoldSize(5.75, "in", "outside").typed
        '5.75 in'
        """
        return f"{self.value:g} {self.unit}"


class StockPulley(Struct, frozen=True):
    """A stocked pulley: pitch diameter in mm, tooth count (0 without teeth), its size in trade words.

    `sold` is the diameter that these words give; None for a pulley with teeth.
    """

    pitch_diameter: float
    teeth: int
    label: str
    material: str
    source: Source
    sold: SoldSize | None = None


class SmallestPulley(Struct, frozen=True):
    """The smallest pulley for a section: pitch diameter in mm, and tooth count (0 without teeth)."""

    pitch_diameter: float
    teeth: int
    source: Source


class MotorPulley(Struct, frozen=True):
    """The smallest V-belt pulley for a motor's shaft: pitch diameter in mm."""

    pitch_diameter: float
    source: Source


class Groove(Struct, frozen=True):
    """One groove: `angle_deg` between its flanks.

    Width at the reference diameter, depths above and below it, pitches; mm.
    """

    angle_deg: float
    width: float
    above: float
    below: float
    spacing: float
    edge: float
    source: Source


class RimLimit(Struct, frozen=True):
    """How fast a pulley's rim may run, in m/s."""

    speed_m_s: float
    source: Source


def pitch_diameter(name: str, diameter: float, of: DiameterKind = "pitch") -> float:
    """The pitch diameter of a pulley, in mm, from the diameter that was stated.

    For classical and metric narrow V-belts the pitch diameter is the ISO datum diameter. The difference
    between the two diameters is published with the section.

    >>> round(pitch_diameter("3V", 127.0, "effective"), 2)
    125.73
    """
    return diameter if of == "pitch" else diameter + section(name).offset


def stated_diameter(name: str, pitch: float, of: DiameterKind) -> float:
    """The outside or effective diameter of a pulley, in mm, from its pitch diameter.

    Undoes `pitch_diameter`.
    """
    return pitch if of == "pitch" else pitch - section(name).offset


def stock_pulleys(name: str) -> tuple[StockPulley, ...]:
    """The pulleys commonly stocked for a section, smallest first; each pitch diameter (mm) once."""
    kind = section(name)
    own = kind.name if any(rows_of("belts/pulleys.csv", "section", kind.name)) else kind.like
    found: dict[float, StockPulley] = {}
    for row in rows_of("belts/pulleys.csv", "section", own):
        for value in figures(row, "values"):
            of, unit, material = row.text("of"), row.text("unit"), row.text("material")
            if of == "teeth":
                diameter = value * section(name).pitch / pi
                pulley = StockPulley(diameter, int(value), f"{value:g} teeth", material, row.source)
            else:
                sold = convert({"value": value, "unit": unit, "of": of}, SoldSize)
                diameter = _pitch_of(name, of, sold.mm)
                pulley = StockPulley(diameter, 0, f"{sold.typed} {of}", material, row.source, sold)
            found.setdefault(round(pulley.pitch_diameter, 3), pulley)
    return tuple(found[diameter] for diameter in sorted(found))


def smallest_pulley(name: str) -> SmallestPulley:
    """The smallest pulley that a belt of this section should bend round, by its pitch diameter in mm."""
    return smallest_printings(name)[0]


def smallest_printings(name: str) -> tuple[SmallestPulley, ...]:
    """What each source says of the smallest pulley; the first is the one that is used."""
    own = section(name).name
    return tuple(_smallest(name, row) for row in rows_of("belts/smallest.csv", "section", own))


def smallest_motor_pulley(power_w: float, speed_rpm: float) -> MotorPulley | None:
    """The smallest V-belt pulley for the shaft of a motor of this power in W and speed in rpm.

    The table goes by power at 1750 rpm; another speed counts by its torque. None for a motor larger
    than the table.
    """
    at_1750 = power_w / HORSEPOWER_W * TABLE_SPEED_RPM / speed_rpm
    for row in read("belts/motor_pulleys.csv"):
        if at_1750 <= row.number("power_hp") * (1 + SAME_POWER):
            return MotorPulley(row.need("smallest"), row.source)
    return None


def groove(name: str, pitch: float) -> Groove:
    """The groove of a V or ribbed pulley of this pitch diameter in mm.

    Raises `LookupFailed` for toothed belts.
    """
    kind = section(name)
    for row in rows_of("belts/grooves.csv", "section", kind.like):
        diameter = stated_diameter(name, pitch, "effective") if row.text("of") == "effective" else pitch
        if diameter <= row.need("up_to"):
            return Groove(
                angle_deg=row.number("angle_deg"),
                width=row.need("width"),
                above=row.need("above"),
                below=row.need("below"),
                spacing=row.need("spacing"),
                edge=row.need("edge"),
                source=row.source,
            )
    raise LookupFailed(f"a {kind.family} pulley of section {kind.name} has no groove in the tables")


def stock_rim(name: str, pitch: float, grooves: int) -> tuple[float, Source]:
    """How wide the rim of a V or ribbed pulley with so many grooves is (mm), and who says so.

    The grooves' spacing between them, and on both sides what is left from the outer groove to the face. Raises
    `LookupFailed` for toothed belts, whose rims no table at hand lists.

    >>> stock_rim("A", 90, 2)[0]
    33.0
    """
    shape = groove(name, pitch)
    return (grooves - 1) * shape.spacing + 2 * shape.edge, shape.source


def rim_limit(material: str) -> RimLimit:
    """How fast the rim of a pulley of this material may run, in m/s."""
    for row in rows_of("belts/rims.csv", "material", material.strip().lower()):
        return RimLimit(row.number("limit_m_s"), row.source)
    known = tuple(row.text("material") for row in read("belts/rims.csv"))
    close = nearest(material, known)
    raise LookupFailed(f"no rim speed is known for a pulley of {material!r}", close, wanted=f"use {listed(known)}")


def _smallest(name: str, row: Row) -> SmallestPulley:
    value, of = row.number("smallest"), row.text("of")
    if of == "teeth":
        return SmallestPulley(value * section(name).pitch / pi, int(value), row.source)
    return SmallestPulley(_pitch_of(name, of, in_mm(value, row.text("unit"))), 0, row.source)


def _pitch_of(name: str, of: str, diameter: float) -> float:
    return diameter if of == "pitch" else diameter + section(name).offset

"""What a belt can carry: grip, belt speed, and constants of the published power ratings."""

from __future__ import annotations

from bisect import bisect_left
from math import log, pi

from msgspec import Struct

from platekit.tables.belts.data import figures, first_row, rows_of
from platekit.tables.belts.lengths import stated_length
from platekit.tables.belts.pulleys import HORSEPOWER_W
from platekit.tables.belts.sections import Family, section
from platekit.tables.rows import kept
from platekit.tables.values import Source
from platekit.units import INCH


class BeltGrip(Struct, frozen=True):
    """Tight side over slack side at half a turn of wrap, at the tension that the drive should be set to."""

    ratio: float
    source: Source

    @property
    def friction(self) -> float:
        """The effective friction on the wrap: ln(ratio) / pi."""
        return log(self.ratio) / pi


class FamilyFigures(Struct, frozen=True):
    """What belts of a family cost and pull.

    `efficiency`: power at the driven pulley over power at the driver. `overhung`: pull at the shaft over the
    torque's own force. `misalignment`: sideways offset of the pulleys' planes per distance of their shafts.
    """

    efficiency: float
    overhung: float
    misalignment: float
    source: Source


class SpeedLimit(Struct, frozen=True):
    """How fast a belt may run, in m/s."""

    speed_m_s: float
    source: Source


class VRating(Struct, frozen=True):
    """Constants of hp = x s^0.91 - y s / d - z s^3 per belt; s in 1000 ft/min, d in inches."""

    x: float
    y: float
    z: float
    largest: float
    source: Source


Curve = tuple[tuple[float, ...], tuple[float, ...]]
"""Speeds that rise, and a figure for each."""

WATTS = {"hp": HORSEPOWER_W, "kW": 1000.0}
"""The units in which power tables are printed, in W."""

SMALLEST_ROOM = 0.005
"""A pulley this share under the smallest printed one still reads as it: inch sizes are rounded (`drive.limits`)."""


class PowerTable(Struct, frozen=True):
    """What one V-belt or rib carries at half a turn of wrap: a curve over speed for each small pulley.

    `smalls` in mm, the curves in rpm and W. `read_in` is the section whose table it is, where that is another one.
    """

    smalls: tuple[float, ...]
    curves: tuple[Curve, ...]
    read_in: str
    source: Source

    def power_w(self, small: float, speed_rpm: float) -> float | None:
        """The printed power at this small pulley (mm) and its speed, on straight lines between printed figures.

        A curve of printed powers bends downwards, over speed and over diameter, so a straight line lies on the safe
        side of it. A pulley larger than the largest printed one reads as that; None below the smallest, and at
        a speed beyond what is printed for the pulleys on both sides.
        """
        if small < self.smalls[0] * (1 - SMALLEST_ROOM):
            return None
        at = min(max(small, self.smalls[0]), self.smalls[-1])
        above = bisect_left(self.smalls, at)
        high = along(self.curves[above], speed_rpm)
        if high is None or at == self.smalls[above]:
            return high
        low = along(self.curves[above - 1], speed_rpm)
        if low is None:
            return None
        share = (at - self.smalls[above - 1]) / (self.smalls[above] - self.smalls[above - 1])
        return low + (high - low) * share


class ToothForce(Struct, frozen=True):
    """What one tooth of a polyurethane belt carries, in N for each mm of width, over the small pulley's speed in rpm.

    At most `most` teeth in mesh count.
    """

    curve: Curve
    most: int
    source: Source

    def force_n_mm(self, speed_rpm: float) -> float | None:
        """At this speed; None beyond what is printed."""
        return along(self.curve, speed_rpm)


class ToothedRating(Struct, frozen=True):
    """Constants of ISO 5295: `tension` in N and mass in kg/m allowed for the reference `width` in mm."""

    width: float
    tension: float
    mass_kg_m: float
    source: Source


class UsualPull(Struct, frozen=True):
    """How hard a section is usually pulled, in N per belt, rib or mm of width, and how many of these are usual at most.

    For choosing which sections to look at, never in place of a rating.
    """

    pull: float
    most: float
    source: Source


def along(curve: Curve, speed_rpm: float) -> float | None:
    """A printed curve at this speed, on straight lines, from nothing at standstill if need be; None beyond its end."""
    speeds, values = curve
    if speed_rpm > speeds[-1]:
        return None
    above = bisect_left(speeds, speed_rpm)
    if speeds[above] == speed_rpm:
        return values[above]
    before, low = (speeds[above - 1], values[above - 1]) if above else (0.0, 0.0)
    return low + (values[above] - low) * (speed_rpm - before) / (speeds[above] - before)


@kept()
def family_figures(family: Family) -> FamilyFigures:
    """What belts of a family cost and pull, and how far out of line their pulleys may be."""
    row = first_row("belts/families.csv", "family", family)
    return FamilyFigures(
        efficiency=row.number("efficiency"),
        overhung=row.number("overhung"),
        misalignment=row.need("misalignment") / row.need("per"),
        source=row.source,
    )


def usual_pull(name: str) -> UsualPull:
    """How hard a section is usually pulled."""
    row = first_row("belts/pulls.csv", "section", section(name).name)
    return UsualPull(row.number("pull_n"), row.number("most"), row.source)


@kept()
def stock_widths(name: str) -> tuple[float, ...]:
    """The widths in mm in which a toothed belt is sold, the narrowest first; none for other belts."""
    return tuple(
        width for row in rows_of("belts/widths.csv", "section", section(name).name) for width in figures(row, "widths")
    )


def grip(name: str) -> BeltGrip:
    """How hard a belt of this section may be counted on to grip."""
    row = first_row("belts/friction.csv", "for", section(name).family)
    return BeltGrip(row.number("ratio"), row.source)


def belt_speed_limit(name: str) -> SpeedLimit:
    """How fast a belt of this section may run."""
    row = first_row("belts/speeds.csv", "section", section(name).name)
    return SpeedLimit(row.number("limit_m_s"), row.source)


def v_rating(name: str) -> VRating | None:
    """The constants of the V-belt rating, None for a section whose rating must be looked up."""
    for row in rows_of("belts/v_ratings.csv", "section", section(name).name):
        return VRating(row.number("x"), row.number("y"), row.number("z"), row.number("largest_in"), row.source)
    return None


@kept()
def power_table(name: str) -> PowerTable | None:
    """What makers print that one belt of this section carries; None for a section whose rating must be looked up."""
    own = section(name).name
    for read_in in (own, *(row.text("power_of") for row in rows_of("belts/rated_as.csv", "section", own))):
        # a shop's rows stand in any order, a curve is looked up between neighbours
        rows = sorted(rows_of("belts/power_tables.csv", "section", read_in), key=lambda row: row.need("small"))
        if rows:
            curves = tuple(
                (figures(row, "speeds"), tuple(power * WATTS[row.text("unit")] for power in figures(row, "powers")))
                for row in rows
            )
            return PowerTable(tuple(row.need("small") for row in rows), curves, read_in, rows[0].source)
    return None


def v_length_factor(name: str, pitch_length: float) -> float:
    """The belt-length correction of the V-belt rating, for a pitch length in mm; 1 for a section that has no table.

    A factor serves from its own length to the next one. Below the shortest printed length it falls with the fifth
    root of the length, as the printed ones do.
    """
    own = section(name).name
    for read_in in (own, *(row.text("length_of") for row in rows_of("belts/rated_as.csv", "section", own))):
        rows = tuple(rows_of("belts/v_length_factors.csv", "section", read_in))
        if not rows:
            continue
        # a belt of another section is as long as its own trade says; A and B are sold by their inside length
        kind = section(own).sold_by if section(own).sold_by in ("inside", "effective") else "pitch"
        inches = round(stated_length(own, pitch_length, kind) / INCH, 1)
        served = [row for row in rows if row.number("from_in") <= inches]
        if served:
            return served[-1].number("factor")
        return rows[0].number("factor") * float((inches / rows[0].number("from_in")) ** 0.2)
    return 1.0


def tooth_force(name: str) -> ToothForce | None:
    """What one tooth of this section carries; None for belts that are rated by their cords alone."""
    for row in rows_of("belts/tooth_forces.csv", "section", section(name).name):
        per_mm = tuple(force / 10 for force in figures(row, "forces"))  # printed for a centimetre
        return ToothForce((figures(row, "speeds"), per_mm), row.count("most"), row.source)
    return None


def toothed_rating(name: str) -> ToothedRating | None:
    """The constants of the toothed-belt rating, None for a section whose rating must be looked up."""
    for row in rows_of("belts/toothed_ratings.csv", "section", section(name).name):
        return ToothedRating(row.need("width"), row.number("tension_n"), row.number("mass_kg_m"), row.source)
    return None

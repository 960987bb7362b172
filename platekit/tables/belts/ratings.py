"""What a belt can carry: grip, belt speed, and constants of the published power ratings."""

from __future__ import annotations

from math import log, pi

from msgspec import Struct

from platekit.tables.belts.data import first_row, rows_of
from platekit.tables.belts.sections import Family, section
from platekit.tables.values import Source
from platekit.units import INCH


class Grip(Struct, frozen=True):
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


def grip(name: str) -> Grip:
    """How hard a belt of this section may be counted on to grip."""
    row = first_row("belts/friction.csv", "for", section(name).family)
    return Grip(row.number("ratio"), row.source)


def belt_speed_limit(name: str) -> SpeedLimit:
    """How fast a belt of this section may run."""
    row = first_row("belts/speeds.csv", "section", section(name).name)
    return SpeedLimit(row.number("limit_m_s"), row.source)


def v_rating(name: str) -> VRating | None:
    """The constants of the V-belt rating, None for a section whose rating must be looked up."""
    for row in rows_of("belts/v_ratings.csv", "section", section(name).name):
        return VRating(row.number("x"), row.number("y"), row.number("z"), row.number("largest_in"), row.source)
    return None


def v_length_factor(name: str, inside_length: float) -> float:
    """The belt-length correction of the V-belt rating.

    `inside_length` in mm. 1 for a section that has no table.
    """
    factor = 1.0
    for row in rows_of("belts/v_length_factors.csv", "section", section(name).name):
        if round(inside_length / INCH, 1) >= row.number("from_in"):
            factor = row.number("factor")
    return factor


def toothed_rating(name: str) -> ToothedRating | None:
    """The constants of the toothed-belt rating, None for a section whose rating must be looked up."""
    for row in rows_of("belts/toothed_ratings.csv", "section", section(name).name):
        return ToothedRating(row.need("width"), row.number("tension_n"), row.number("mass_kg_m"), row.source)
    return None

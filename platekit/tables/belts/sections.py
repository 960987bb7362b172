"""Belt sections: what one belt, rib or row of teeth looks like and weighs."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from platekit.errors import LookupFailed
from platekit.tables.belts.data import first_row
from platekit.tables.naming import listed, nearest
from platekit.tables.rows import kept, read
from platekit.tables.values import Source

Family = Literal["classical V", "light duty V", "narrow V", "ribbed", "toothed"]
FAMILIES: tuple[Family, ...] = ("classical V", "light duty V", "narrow V", "ribbed", "toothed")

LengthKind = Literal["pitch", "effective", "inside", "outside"]
LENGTH_KINDS: tuple[LengthKind, ...] = ("pitch", "effective", "inside", "outside")

MassPer = Literal["belt", "rib", "mm"]
MASS_PER: tuple[MassPer, ...] = ("belt", "rib", "mm")


class Section(Struct, frozen=True):
    """One belt section.

    `pitch` is the distance of ribs or teeth (0 for V-belts), `top_width` the width of one V-belt (0 for
    ribbed and toothed ones), `height` the belt's thickness, `pitch_width` the width at the pitch line
    (0 where the standard has none); mm. A pulley's pitch diameter is its outside diameter (effective
    for narrow inch and ribbed belts) plus `offset`. `sold_by` and `sold_in` tell what the trade size
    states; `like` names the section whose pulleys serve this one too.
    """

    name: str
    family: Family
    like: str
    sold_by: LengthKind
    sold_in: str
    pitch: float
    top_width: float
    height: float
    pitch_width: float
    offset: float
    note: str
    source: Source

    @property
    def toothed(self) -> bool:
        """Whether the belt has teeth and so does not slip."""
        return self.family == "toothed"

    @property
    def names(self) -> tuple[str, str]:
        """The section, then the one whose rows serve it too."""
        return (self.name, self.like)


class Mass(Struct, frozen=True):
    """Mass in kg per metre of `per`: one belt, one rib, or one mm of width."""

    kg_m: float
    per: MassPer
    source: Source


@kept()
def _sections() -> dict[str, Section]:
    return {
        row.text("section"): Section(
            name=row.text("section"),
            family=next(family for family in FAMILIES if family == row.text("family")),
            like=row.text("like") or row.text("section"),
            sold_by=next(kind for kind in LENGTH_KINDS if kind == row.text("sold_by")),
            sold_in=row.text("size_unit"),
            pitch=row.length("pitch") or 0.0,
            top_width=row.length("top_width") or 0.0,
            height=row.need("height"),
            pitch_width=row.length("pitch_width") or 0.0,
            offset=row.need("offset"),
            note=row.text("note"),
            source=row.source,
        )
        for row in read("belts/sections.csv")
    }


def section_names() -> tuple[str, ...]:
    """The names of all sections, in the order of the table."""
    return tuple(_sections())


def section(name: str) -> Section:
    """The section of this name, in upper or lower case; raises `LookupFailed` for an unknown one.

    >>> section("a").top_width
    13.0
    """
    found = _sections().get(name.strip().upper())
    if found is None:
        close = nearest(name, section_names())
        raise LookupFailed(f"no belt section is called {name!r}", close, wanted=f"use {listed(close)}")
    return found


def mass(name: str) -> Mass:
    """How heavy a belt of this section is."""
    row = first_row("belts/masses.csv", "section", section(name).name)
    per = next(word for word in MASS_PER if word == row.text("per"))
    return Mass(row.number("mass_kg_m"), per, row.source)

"""Hydraulic pump flanges of the inch series: two and four bolts, by letter (SAE A 2-bolt) or code (82-2)."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping

from platekit.errors import LookupFailed
from platekit.tables.mounts.family import Family, on_circle, only
from platekit.tables.rows import Row, read
from platekit.tables.values import LimitDeviations, StandardMount

_FILE = "iso_3019_1_pump.csv"


def _designation(row: Row) -> str:
    return f"SAE {row.text('letter')} {row.text('bolts')}-bolt"


def entries() -> Mapping[str, tuple[str, ...]]:
    """Each flange with its code; a letter alone belongs to all flanges of that letter."""
    found: dict[str, tuple[str, ...]] = {}
    for row in read(_FILE):
        letter, code, bolts = row.text("letter"), row.text("code"), row.text("bolts")
        short = (
            f"{letter} {bolts}-bolt",
            f"SAE {letter}-{bolts}",
            f"SAE {letter} {bolts}-hole",
            f"SAE {letter}",
        )
        found[_designation(row)] = (code, f"ISO 3019-1 {code}", f"SAE {code}", *short)
    return found


def build(designation: str) -> StandardMount:
    """The mount of one designation."""
    code = entries()[designation][0]
    row = only(read(_FILE), "code", code)
    bolts, spacing = row.count("bolts"), row.length("spacing")
    circle = row.length("bolt_circle") if spacing is None else spacing
    if circle is None:
        raise LookupFailed(f"no hole spacing for {designation}")
    side = circle / math.sqrt(2) if bolts == 4 else None  # two holes span no rectangle
    lower = row.need("pilot_lower")
    return StandardMount(
        designation=designation,
        family=FAMILY.name,
        source=row.source,
        holes=bolts,
        points=on_circle(circle, bolts, 0.0 if bolts == 2 else 45.0),
        turn_order=bolts,
        aliases=entries()[designation],
        bolt_circle=circle,
        width=side,
        height=side,
        pilot=row.need("pilot"),
        pilot_depth=row.need("pilot_depth"),
        pilot_kind="spigot",
        pilot_tolerance=LimitDeviations(lower, 0.0, f"0/{lower:g} mm"),
        hole=row.need("hole"),
        notes=("the standard leaves the shaft and the outside of the flange to the maker: measure them",),
    )


FAMILY = Family(
    name="ISO 3019-1 pump flange",
    about="hydraulic pump flanges, inch series, two and four bolts",
    files=(_FILE,),
    claims=re.compile(r"(sae|iso)?([a-f]{1,2}-?[24]?-?(bolt|hole)?|\d{2,3}-[24])"),
    entries=entries,
    build=build,
)

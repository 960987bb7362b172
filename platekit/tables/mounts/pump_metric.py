"""Hydraulic pump flanges of the metric series: two and four holes, by pilot (ISO 3019-2 100 A2)."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping

from platekit.errors import LookupFailed
from platekit.tables.fits import fit_limits
from platekit.tables.mounts.family import Family, on_circle
from platekit.tables.rows import Row, read
from platekit.tables.values import StandardMount

_FILE = "iso_3019_2_pump.csv"


def _designation(row: Row) -> str:
    return f"ISO 3019-2 {row.text('pilot_mm')} {row.text('letter')}{row.text('bolts')}"


def entries() -> Mapping[str, tuple[str, ...]]:
    """Each flange with its short names; makers add `HW` for the way the pilot is finished."""
    found: dict[str, tuple[str, ...]] = {}
    for row in read(_FILE):
        code = _designation(row).removeprefix("ISO 3019-2 ")
        found[_designation(row)] = (code, f"{code} HW", f"ISO 3019-2 {code} HW")
    return found


def build(designation: str) -> StandardMount:
    """The mount of one designation."""
    row = next(row for row in read(_FILE) if _designation(row) == designation)
    bolts, pilot, spacing = row.count("bolts"), row.need("pilot"), row.length("spacing")
    circle = row.length("bolt_circle") if spacing is None else spacing
    if circle is None:
        raise LookupFailed(f"no hole spacing for {designation}")
    side = circle / math.sqrt(2) if bolts == 4 else None  # two holes span no rectangle
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
        pilot=pilot,
        pilot_kind="spigot",
        pilot_tolerance=fit_limits(row.text("pilot_zone"), pilot),
        hole=row.need("hole"),
        notes=("depth of the pilot, shaft and outside of the flange are not listed: measure them",),
    )


FAMILY = Family(
    name="ISO 3019-2 pump flange",
    about="hydraulic pump flanges, metric series, two and four holes",
    files=(_FILE, "iso_286_grades.csv", "iso_286_deviations.csv"),
    claims=re.compile(r"(iso)?\d{2,3}[ab][24](hw)?"),
    entries=entries,
    build=build,
)

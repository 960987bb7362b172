"""Hydraulic pump flanges of two and four bolts.

The inch series (ISO 3019-1) goes by letter (SAE A 2-bolt) or code (82-2), the metric one (ISO 3019-2) by pilot
(ISO 3019-2 100 A2). What both share is `_flange`.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping

from msgspec.structs import replace

from platekit.errors import LookupFailed
from platekit.tables.fits import fit_limits
from platekit.tables.mounts.family import Family, on_circle, only
from platekit.tables.rows import Row, kept, read
from platekit.tables.values import LimitDeviations, StandardMount

_INCH_FILE = "iso_3019_1_pump.csv"
_METRIC_FILE = "iso_3019_2_pump.csv"


def _circle(row: Row) -> float | None:
    """The circle through the holes of a row of either series, mm: of two holes their spacing."""
    spacing = row.length("spacing")
    return row.length("bolt_circle") if spacing is None else spacing


def _flange(designation: str, family: Family, row: Row) -> StandardMount:
    """What a row of either series says: two holes lie level, four on the corners of a square about the pilot."""
    bolts, circle = row.count("bolts"), _circle(row)
    if circle is None:
        raise LookupFailed(f"no hole spacing for {designation}")
    side = circle / math.sqrt(2) if bolts == 4 else None  # two holes span no rectangle
    return StandardMount(
        designation=designation,
        family=family.name,
        source=row.source,
        holes=bolts,
        points=on_circle(circle, bolts, 0.0 if bolts == 2 else 45.0),
        turn_order=bolts,
        aliases=family.entries()[designation],
        bolt_circle=circle,
        width=side,
        height=side,
        pilot=row.need("pilot"),
        pilot_kind="spigot",
        hole=row.need("hole"),
    )


@kept()
def inch_entries() -> Mapping[str, tuple[str, ...]]:
    """Each flange with its code; a letter alone belongs to all flanges of that letter."""
    found: dict[str, tuple[str, ...]] = {}
    for row in read(_INCH_FILE):
        letter, code, bolts = row.text("letter"), row.text("code"), row.text("bolts")
        short = (
            f"{letter} {bolts}-bolt",
            f"SAE {letter}-{bolts}",
            f"SAE {letter} {bolts}-hole",
            f"SAE {letter}",
        )
        found[f"SAE {letter} {bolts}-bolt"] = (code, f"ISO 3019-1 {code}", f"SAE {code}", *short)
    return found


def inch_circles() -> Mapping[str, float]:
    """The bolt circle of each flange of the inch series, mm."""
    found = {row.text("code"): _circle(row) for row in read(_INCH_FILE)}
    circles = {designation: found[names[0]] for designation, names in inch_entries().items()}
    return {designation: circle for designation, circle in circles.items() if circle is not None}


def inch_mount(designation: str) -> StandardMount:
    """The flange of a designation of the inch series; lengths in mm."""
    row = only(read(_INCH_FILE), "code", inch_entries()[designation][0])
    lower = row.need("pilot_lower")
    return replace(
        _flange(designation, INCH_SERIES, row),
        pilot_depth=row.need("pilot_depth"),
        pilot_tolerance=LimitDeviations(lower, 0.0, f"0/{lower:g} mm"),
        notes=("the standard leaves the shaft and the outside of the flange to the maker: measure them",),
    )


INCH_SERIES = Family(
    name="ISO 3019-1 pump flange",
    about="hydraulic pump flanges, inch series, two and four bolts",
    files=(_INCH_FILE,),
    claims=re.compile(r"(sae|iso)?([a-f]{1,2}-?[24]?-?(bolt|hole)?|\d{2,3}-[24])"),
    entries=inch_entries,
    build=inch_mount,
    circles=inch_circles,
)


def _metric_designation(row: Row) -> str:
    return f"ISO 3019-2 {row.text('pilot_mm')} {row.text('letter')}{row.text('bolts')}"


@kept()
def metric_entries() -> Mapping[str, tuple[str, ...]]:
    """Each flange with its short names; makers add `HW` for the way the pilot is finished."""
    found: dict[str, tuple[str, ...]] = {}
    for row in read(_METRIC_FILE):
        code = _metric_designation(row).removeprefix("ISO 3019-2 ")
        found[_metric_designation(row)] = (code, f"{code} HW", f"ISO 3019-2 {code} HW")
    return found


def metric_circles() -> Mapping[str, float]:
    """The bolt circle of each flange of the metric series, mm."""
    found = {_metric_designation(row): _circle(row) for row in read(_METRIC_FILE)}
    return {designation: circle for designation, circle in found.items() if circle is not None}


def metric_mount(designation: str) -> StandardMount:
    """The flange of a designation of the metric series; lengths in mm."""
    row = next(row for row in read(_METRIC_FILE) if _metric_designation(row) == designation)
    return replace(
        _flange(designation, METRIC_SERIES, row),
        pilot_tolerance=fit_limits(row.text("pilot_zone"), row.need("pilot")),
        notes=("depth of the pilot, shaft and outside of the flange are not listed: measure them",),
    )


METRIC_SERIES = Family(
    name="ISO 3019-2 pump flange",
    about="hydraulic pump flanges, metric series, two and four holes",
    files=(_METRIC_FILE, "iso_286_grades.csv", "iso_286_deviations.csv"),
    claims=re.compile(r"(iso)?\d{2,3}[ab][24](hw)?"),
    entries=metric_entries,
    build=metric_mount,
    circles=metric_circles,
)

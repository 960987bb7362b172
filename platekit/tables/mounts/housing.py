"""Flywheel housings of engines, by SAE number: tapped holes round a bore that locates."""

from __future__ import annotations

import re
from collections.abc import Mapping

from platekit.tables.mounts.family import Family, on_circle, only
from platekit.tables.rows import kept, read
from platekit.tables.values import LimitDeviations, StandardMount
from platekit.units import INCH

_FILE = "sae_j617_housing.csv"


@kept()
def entries() -> Mapping[str, tuple[str, ...]]:
    """Each size with its short names."""
    sizes = [row.text("size") for row in read(_FILE)]
    return {
        f"SAE {size} housing": (f"SAE {size} flywheel housing", f"SAE J617 {size}", f"SAE {size}") for size in sizes
    }


def circles() -> Mapping[str, float]:
    """The bolt circle of each size, mm."""
    return {f"SAE {row.text('size')} housing": row.need("bolt_circle") for row in read(_FILE)}


def build(designation: str) -> StandardMount:
    """The mount of one designation."""
    row = only(read(_FILE), "size", designation.removeprefix("SAE ").removesuffix(" housing"))
    circle, holes, upper = row.need("bolt_circle"), row.count("holes"), row.text("pilot_upper_in")
    return StandardMount(
        designation=designation,
        family=FAMILY.name,
        source=row.source,
        holes=holes,
        points=on_circle(circle, holes, 180.0 / holes),
        turn_order=holes,
        aliases=entries()[designation],
        bolt_circle=circle,
        pilot=row.need("pilot"),
        pilot_kind="recess",
        pilot_tolerance=LimitDeviations(0.0, float(upper) * INCH, f"+{upper}/-0.000 in"),
        screw=row.text("screw"),
        notes=("the bore is in the housing: a ring on the plate locates in it; depths are left to the maker",),
    )


FAMILY = Family(
    name="SAE J617 flywheel housing",
    about="bell housings of engines, SAE 6 to 00",
    files=(_FILE,),
    claims=re.compile(r"sae(j617-?)?(\d{1,2}|1-?2)(flywheel)?(housing)?"),
    entries=entries,
    build=build,
    circles=circles,
)

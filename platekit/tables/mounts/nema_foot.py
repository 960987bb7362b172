"""NEMA feet: their holes and the shafts of each letter."""

from __future__ import annotations

import re
from collections.abc import Mapping

from platekit.tables.mounts.family import Family, only
from platekit.tables.mounts.feet import foot_mount
from platekit.tables.rows import kept, read
from platekit.tables.values import LimitDeviations, StandardMount
from platekit.units import INCH

_FILE = "nema_mg1_foot.csv"
_ALSO_A_STEPPER = "42"  # NEMA ICS 16 uses this number for a stepping motor's face


@kept()
def entries() -> Mapping[str, tuple[str, ...]]:
    """Each frame of the table with its short names."""
    frames = [row.text("frame") for row in read(_FILE)]
    found = {}
    for frame in frames:
        designation = f"NEMA {frame} foot" if frame == _ALSO_A_STEPPER else f"NEMA {frame}"
        found[designation] = (frame, f"NEMA {frame}", f"NEMA {frame} foot")
    return found


def build(designation: str) -> StandardMount:
    """The mount of one designation."""
    frame = designation.removeprefix("NEMA ").removesuffix(" foot")
    row = only(read(_FILE), "frame", frame)
    lower = row.text("shaft_lower_in")
    return foot_mount(
        row,
        designation,
        family=FAMILY.name,
        aliases=entries()[designation],
        bodies_of="NEMA",
        limits=LimitDeviations(float(lower) * INCH, 0.0, f"+0.000/{lower} in"),
        notes=(f"the foot opening is a {row.text('opening')}", "the shaft height is an upper limit"),
    )


FAMILY = Family(
    name="NEMA MG 1 foot",
    about="foot-mounted motors, 42 to 445T",
    files=(_FILE, "nominal_bodies.csv"),
    claims=re.compile(r"(nema)?\d{2,3}(t|ts|u|h|hz|z)?(foot)?"),
    entries=entries,
    build=build,
)

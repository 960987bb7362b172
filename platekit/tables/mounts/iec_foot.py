"""IEC feet: their holes and their shafts."""

from __future__ import annotations

import re
from collections.abc import Mapping

from platekit.tables.fits import fit_limits
from platekit.tables.mounts.family import Family, only
from platekit.tables.mounts.feet import foot_mount
from platekit.tables.rows import Row, kept, read
from platekit.tables.values import StandardMount

FOOT_FILE = "iec_60072_1_foot.csv"


@kept()
def entries() -> Mapping[str, tuple[str, ...]]:
    """Each frame with its short names; a frame number that has several lengths belongs to all of them."""
    found: dict[str, tuple[str, ...]] = {}
    for row in read(FOOT_FILE):
        frame = row.text("frame")
        number = frame.rstrip("SML")
        names = [
            frame,
            f"IEC {frame} B3",
            f"IEC {frame} foot",
            f"IEC {number} B3",
            f"IEC {number} foot",
            number,
            f"IEC {number}",
        ]
        found[f"IEC {frame}"] = tuple(dict.fromkeys(name for name in names if name != f"IEC {frame}"))
    return found


def build(designation: str) -> StandardMount:
    """The mount of one designation."""
    row = only(read(FOOT_FILE), "frame", designation.removeprefix("IEC "))
    return foot_mount(
        row,
        designation,
        family=FAMILY.name,
        aliases=entries()[designation],
        bodies_of="IEC",
        limits=fit_limits(row.text("shaft_zone"), row.need("shaft")),
        editions=hole_editions(row),
        notes=two_pole_note(row),
    )


def two_pole_note(row: Row) -> tuple[str, ...]:
    """What to say where a motor of two poles has a thinner shaft than the others of its frame."""
    thinner = row.text("two_pole")
    return (f"a motor of two poles has a shaft of {thinner} mm; this one is for four and more",) if thinner else ()


def hole_editions(row: Row) -> tuple[str, ...]:
    """What to say where the hole is not the same in the two editions of IEC 60072-1."""
    new, old = row.length("hole"), row.length("hole_1991")
    if new is None or old is None or new == old:
        return ()
    return (f"hole {new:g} mm after IEC 60072-1:2022 and EN 50347, {old:g} mm after IEC 60072-1:1991",)


FAMILY = Family(
    name="IEC 60072-1 foot",
    about="foot-mounted motors, 56 to 315M (B3)",
    files=(FOOT_FILE, "iso_286_grades.csv", "iso_286_deviations.csv", "nominal_bodies.csv"),
    claims=re.compile(r"(iec)?\d{2,3}[sml]?(b3|foot)?"),
    entries=entries,
    build=build,
)

"""Stepping motor faces, NEMA 8 to 42: four holes in a square round a small pilot."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping

from platekit.tables.mounts.family import Family, disc, nominal_body, on_rectangle, only
from platekit.tables.rows import kept, read
from platekit.tables.values import StandardBody, StandardMount

_FILE = "nema_ics16_stepper.csv"
_ALSO_A_FOOT = "42"  # NEMA MG 1 uses this number for a foot-mounted frame


@kept()
def entries() -> Mapping[str, tuple[str, ...]]:
    """Each size with its short names."""
    sizes = [row.text("size") for row in read(_FILE)]
    found = {}
    for size in sizes:
        designation = f"NEMA {size} stepper" if size == _ALSO_A_FOOT else f"NEMA {size}"
        found[designation] = (f"NEMA {size}", f"NEMA {size} stepper", f"stepper {size}")
    return found


def circles() -> Mapping[str, float]:
    """The circle through the four holes of each size, mm."""
    circle = {row.text("size"): row.need("square") * math.sqrt(2) for row in read(_FILE)}
    return {designation: circle[_size(designation)] for designation in entries()}


def _size(designation: str) -> str:
    return designation.removeprefix("NEMA ").removesuffix(" stepper")


def build(designation: str) -> StandardMount:
    """The mount of one designation."""
    size = _size(designation)
    row = only(read(_FILE), "size", size)
    square = row.need("square")
    notes = ["hole sizes, shaft and length vary by maker: measure the motor at hand"]
    if row.text("range"):
        notes.append(f"makers differ, in mm: {row.text('range')}; take the figure of your motor's maker")
    face, room = row.need("face"), nominal_body("stepper", size)
    found = []
    if room:
        found.append(
            StandardBody("frame", ("rectangle", face, face), (0.0, 0.0), (0.0, room.need("length")), room.source)
        )
    length = row.length("shaft_length")
    if length:
        found.append(disc("shaft", row.need("shaft"), (-length, 0.0), row.source))
    return StandardMount(
        designation=designation,
        family=FAMILY.name,
        source=row.source,
        holes=4,
        points=on_rectangle(square, square),
        turn_order=4,
        aliases=tuple(name for name in entries()[designation] if name != designation),
        bolt_circle=square * math.sqrt(2),
        width=square,
        height=square,
        pilot=row.need("pilot"),
        pilot_depth=row.length("pilot_depth"),
        pilot_kind="spigot",
        face=row.need("face"),
        face_shape="square",
        hole=row.length("hole"),
        screw=row.text("screw") or None,
        thread_depth=row.length("thread_depth"),
        shaft=row.length("shaft"),
        shaft_length=row.length("shaft_length"),
        bodies=tuple(found),
        notes=tuple(notes),
    )


FAMILY = Family(
    name="NEMA ICS 16 stepper",
    about="stepping motor faces, NEMA 8 to 42",
    files=(_FILE, "nominal_bodies.csv"),
    claims=re.compile(r"nema\d{1,2}(stepper)?|stepper\d{1,2}"),
    entries=entries,
    build=build,
    circles=circles,
)

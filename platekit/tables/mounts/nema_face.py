"""NEMA C faces: tapped holes round a pilot."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Literal

from platekit.tables.mounts.family import Family, disc, nominal_body, on_circle, only
from platekit.tables.rows import Row, kept, read
from platekit.tables.values import LimitDeviations, StandardMount
from platekit.units import INCH

_FILE = "nema_mg1_c_face.csv"
_FIRST_HOLE_DEG = {"45": 45.0, "45+axes": 0.0}


@kept()
def entries() -> Mapping[str, tuple[str, ...]]:
    """Each frame of the table with its short names."""
    found: dict[str, tuple[str, ...]] = {}
    for row in read(_FILE):
        frames = row.words("frames")
        for frame in frames:
            pair = (f"NEMA {'/'.join(frames)}", "/".join(frames)) if len(frames) > 1 else ()
            found[f"NEMA {frame}"] = (frame, *pair) if frame == frames[0] else (frame,)
    return found


def circles() -> Mapping[str, float]:
    """The bolt circle of each frame, mm."""
    return {f"NEMA {frame}": row.need("bolt_circle") for row in read(_FILE) for frame in row.words("frames")}


def build(designation: str) -> StandardMount:
    """The mount of one designation."""
    frame = designation.removeprefix("NEMA ")
    row = only(read(_FILE), "frames", frame)
    circle, pilot = row.need("bolt_circle"), row.need("pilot")
    holes = row.count("holes")
    lower = row.length("pilot_depth_lower")
    # A pilot outside the screws bounds a raised face: that one touches the plate, and all else starts behind it.
    room = nominal_body("NEMA", frame)
    back = row.need("pilot_depth") if _pilot_outside(row) else 0.0
    found = [disc("raised face", row.need("pilot"), (0.0, back), row.source)] if back else []
    if room:
        thick = room.need("disc")
        found.append(disc("face", row.need("face"), (back, back + thick), room.source))
        found.append(disc("frame", room.need("diameter"), (back + thick, room.need("length")), room.source))
    found.append(disc("shaft", row.need("shaft"), (-row.need("shaft_length"), 0.0), row.source))
    notes = [f"pilot depth is a {_depth_is(row)}; shaft length is measured from the mounting face"]
    if _pilot_outside(row):
        notes.append(
            f"the pilot ({pilot / INCH:.3f} in) is larger than the bolt circle ({circle / INCH:.3f} in): "
            "a through hole for it would cut the screws away; use a shallow recess, or leave the pilot free"
        )
    notes.append(f"the face diameter is {'a maximum' if row.text('face_is') == 'maximum' else 'nominal'}")
    if not row.text("thread_depth_in"):
        notes.append("the table gives no thread depth: measure it on the motor")
    return StandardMount(
        designation=designation,
        family=FAMILY.name,
        source=row.source,
        holes=holes,
        points=on_circle(circle, holes, _FIRST_HOLE_DEG[row.text("pattern")]),
        turn_order=holes,
        aliases=entries()[designation],
        bolt_circle=circle,
        pilot=pilot,
        pilot_depth=row.need("pilot_depth"),
        pilot_depth_is=_depth_is(row),
        pilot_depth_least=None if lower is None else row.need("pilot_depth") + lower,
        pilot_kind="spigot",
        pilot_tolerance=_inch_limits(row, "pilot_lower_in"),
        face=row.need("face"),
        screw=row.text("screw"),
        thread_depth=row.length("thread_depth"),
        shaft=row.length("shaft"),
        shaft_length=row.length("shaft_length"),
        shaft_tolerance=_inch_limits(row, "shaft_lower_in"),
        key=row.text("key") or None,
        bodies=tuple(found),
        notes=tuple(notes),
    )


def _inch_limits(row: Row, column: str) -> LimitDeviations:
    lower = row.text(column)
    return LimitDeviations(float(lower) * INCH, 0.0, f"+0.000/{lower} in")


def _depth_is(row: Row) -> Literal["minimum", "maximum"]:
    """What the printed height of the pilot is: of faces 42C to 182TCH it is a greatest one, +0.00/-0.06 in."""
    return "maximum" if row.text("pilot_depth_lower_in") else "minimum"


def _pilot_outside(row: Row) -> bool:
    return row.need("pilot") > row.need("bolt_circle")


FAMILY = Family(
    name="NEMA MG 1 C face",
    about="motor faces with tapped holes, 42C to 445UC",
    files=(_FILE, "nominal_bodies.csv"),
    claims=re.compile(r"(nema)?\d{2,3}(t|ts|u|z)*c.*"),
    entries=entries,
    build=build,
    circles=circles,
)

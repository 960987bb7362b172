"""Motors, gearboxes and machines of the shop's own: rows of `mounts.csv` in its folder of tables."""

from __future__ import annotations

import re
from collections.abc import Mapping

from platekit.tables.mounts.family import Family, disc, on_circle, on_rectangle, only
from platekit.tables.rows import OWN_MOUNTS, kept, own_rows
from platekit.tables.values import StandardMount


@kept()
def entries() -> Mapping[str, tuple[str, ...]]:
    """Each part of the shop's own with its other names."""
    return {row.text("name"): row.words("aliases") for row in own_rows(OWN_MOUNTS)}


def circles() -> Mapping[str, float]:
    """The bolt circle of each part that has one, mm."""
    found = {row.text("name"): row.length("bolt_circle") for row in own_rows(OWN_MOUNTS)}
    return {name: circle for name, circle in found.items() if circle is not None}


def build(designation: str) -> StandardMount:
    """The mount of one row; its columns are told in `platekit.tables.own`."""
    row = only(own_rows(OWN_MOUNTS), "name", designation)
    circle, width, height = row.length("bolt_circle"), row.length("width"), row.length("height")
    if circle is not None:
        count = row.count("holes")
        points = on_circle(circle, count, row.number("start_deg") if row.text("start_deg") else 180 / count)
        turns = count
    else:
        assert width is not None
        assert height is not None
        count, points, turns = 4, on_rectangle(width, height), 4 if width == height else 2
    shaft, reach = row.length("shaft"), row.length("shaft_length")
    wide, long = row.length("body"), row.length("body_length")
    bodies = []
    if shaft is not None and reach is not None:
        bodies.append(disc("shaft", shaft, (-reach, 0.0), row.source))
    if wide is not None and long is not None:
        bodies.append(disc("body", wide, (0.0, long), row.source))
    kind = row.text("pilot_kind")
    return StandardMount(
        designation=designation,
        family=FAMILY.name,
        source=row.source,
        holes=count,
        points=points,
        turn_order=turns,
        aliases=row.words("aliases"),
        bolt_circle=circle,
        width=None if circle is not None else width,
        height=None if circle is not None else height,
        pilot=row.length("pilot"),
        pilot_depth=row.length("pilot_depth"),
        pilot_kind="spigot" if kind == "spigot" else "recess" if kind == "recess" else None,
        face=row.length("face"),
        hole=row.length("hole"),
        screw=row.text("screw") or None,
        thread_depth=row.length("thread_depth"),
        shaft=shaft,
        shaft_length=reach,
        bodies=tuple(bodies),
        notes=(
            (f"from your own table: {row.file}, line {row.line}"),
            *((row.text("note"),) if row.text("note") else ()),
        ),
    )


FAMILY = Family(
    name="your own",
    about="parts of your own tables",
    files=(),
    claims=re.compile(r".*"),
    entries=entries,
    build=build,
    circles=circles,
)

"""What NEMA and IEC feet have in common: a rectangle of holes below a shaft that lies along it."""

from __future__ import annotations

from platekit.tables.mounts.family import nominal_body, on_rectangle
from platekit.tables.rows import Row
from platekit.tables.values import LimitDeviations, StandardBody, StandardMount


def foot_mount(
    row: Row,
    designation: str,
    *,
    family: str,
    aliases: tuple[str, ...],
    bodies_of: str,
    limits: LimitDeviations,
    editions: tuple[str, ...] = (),
    notes: tuple[str, ...] = (),
) -> StandardMount:
    """The mount of one row of a foot table (see the head of the table for its columns)."""
    width, height = row.need("width"), row.need("height")
    end = height / 2 + row.need("to_shoulder") + row.need("shaft_length")
    return StandardMount(
        designation=designation,
        family=family,
        source=row.source,
        holes=4,
        points=on_rectangle(width, height),
        turn_order=4 if width == height else 2,
        aliases=aliases,
        width=width,
        height=height,
        hole=row.need("hole"),
        shaft=row.need("shaft"),
        shaft_length=row.need("shaft_length"),
        shaft_tolerance=limits,
        key=row.text("key") or None,
        shaft_height=row.need("shaft_height"),
        shaft_end_mm=(0.0, end),
        bodies=_bodies(row, bodies_of, end),
        editions=editions,
        notes=("the shaft lies along y, its end towards +y", *notes),
    )


def _bodies(row: Row, family: str, end: float) -> tuple[StandardBody, ...]:
    """Shaft, feet and frame, each lying along y, measured from the foot plane."""
    # Lying parts: the span is measured from the foot plane up, the shape is what one sees from above. A frame that
    # hangs below its feet is cut at the foot plane, where the plate is.
    height, shaft, length = row.need("shaft_height"), row.need("shaft"), row.need("shaft_length")
    lies = (height - shaft / 2, height + shaft / 2)
    found = [StandardBody("shaft", ("rectangle", shaft, length), (0.0, end - length / 2), lies, row.source)]
    room = nominal_body(family, row.text("frame"))
    if room:
        wide, long = room.need("diameter"), room.need("length")
        reach = 2 * room.need("pad")
        feet = (row.need("width") + reach, row.need("height") + reach)
        found.append(StandardBody("feet", ("rectangle", *feet), (0.0, 0.0), (0.0, room.need("disc")), room.source))
        middle = (0.0, end - length - long / 2)
        top = height + wide / 2
        bottom = max(height - wide / 2, 0.0)
        found.append(StandardBody("frame", ("rectangle", wide, long), middle, (bottom, top), room.source))
    return tuple(found)

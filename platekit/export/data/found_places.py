"""The places that were found for the mounts of a layout, in words and figures."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from platekit.placed import Layout
from platekit.spec.places_to_find import places_found
from platekit.units import show_length

if TYPE_CHECKING:
    from platekit.export.data.rounded import Figures


def found_lines(layout: Layout) -> Iterator[str]:
    """One line for each mount that was found: `motor found at [123.4, -50] mm, turn 30 deg, near side`."""
    unit = layout.spec.unit
    for name in places_found(layout.spec):
        mount = layout.mounts[name]
        x, y = (show_length(value, unit).removesuffix(f" {unit}") for value in (mount.pose.x, mount.pose.y))
        angle = f", belt angle {math.degrees(mount.belt_angle):.4g} deg" if mount.belt_angle is not None else ""
        yield (
            f"{name} found at [{x}, {y}] {unit}{angle}, turn {math.degrees(mount.pose.turn):.4g} deg, "
            f"{mount.side} side; platekit place shows others"
        )


def found_figures(layout: Layout) -> Figures:
    """The same for a program, under `found`; empty if nothing was to be found."""
    names = places_found(layout.spec)
    if not names:
        return {}
    found: list[Figures] = []
    for name in names:
        mount = layout.mounts[name]
        angle = mount.belt_angle
        found.append(
            {
                "mount": name,
                "side": mount.side,
                "at_mm": [round(mount.pose.x, 6) + 0.0, round(mount.pose.y, 6) + 0.0],
                "turn_deg": round(math.degrees(mount.pose.turn), 6) + 0.0,
                "belt_angle_deg": None if angle is None else round(math.degrees(angle), 6) + 0.0,
            }
        )
    return {"found": found}

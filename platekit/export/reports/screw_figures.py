"""The figures of a screw that a plate goes by, group by group, as the report tells them beside their source."""

from __future__ import annotations

from platekit.tables import Screw
from platekit.units import Unit, show_length


def group_figures(screw: Screw, group: str, unit: Unit) -> str:
    """One group of a screw's figures (`clearance`, `hex head`, ...) with its name first, lengths in `unit`.

    >>> from platekit.tables import screw
    >>> group_figures(screw("M8"), "washer", "mm")
    'washer 16 mm × 1.6 mm'
    """

    def said(length: float | None) -> str:
        return "" if length is None else show_length(length, unit)

    figures = {
        "thread": f"pitch {said(screw.pitch)}",
        "stress area": f"{screw.stress_area:.1f} mm²",
        "tap drill": said(screw.tap_drill),
        "clearance": ", ".join(f"{fit} {said(hole)}" for fit, hole in screw.clearance.items()),
        "hex head": f"{said(screw.hex_across_flats)} across flats, {said(screw.hex_head_height)} high",
        "socket head": f"{said(screw.socket_head_diameter)} across, {said(screw.socket_head_height)} high",
        "countersunk head": f"{said(screw.countersunk_head_diameter)} across",
        "nut": f"{said(screw.nut_across_flats)} across flats, {said(screw.nut_height)} high",
        "washer": f"{said(screw.washer_outer)} × {said(screw.washer_thickness)}",
        "large washer": f"{said(screw.large_washer_outer)} × {said(screw.large_washer_thickness)}",
        "wrench": f"socket {said(screw.wrench_outer)} across" if screw.wrench_outer else "",
    }
    return f"{group} {figures.get(group, '')}".strip()

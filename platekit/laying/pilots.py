"""The register of a mount: from the spec, or from the standard that its pattern names."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from platekit.laying.mounts import Frame

RECESS_FLOOR = 0.5
"""A bored recess is this much deeper than the spigot stands, so that the faces meet first, mm (common practice)."""


@dataclass(frozen=True, slots=True)
class Register:
    """A spigot on the part: its diameter and height, and what the plate has for it. Lengths in mm."""

    diameter: float
    depth: float
    opening: Literal["through", "recess", "none"]
    clearance: float | None
    """None: the process's own."""
    field: str


def pilot_of(frame: Frame) -> Register | None:
    """The mount's register; None if it has none."""
    pilot = frame.mount.pilot
    field = f"{frame.field}.pilot"
    if pilot is not None:
        clearance = None if pilot.clearance == "auto" else pilot.clearance
        return Register(pilot.diameter, pilot.depth, pilot.opening, clearance, field)
    standard = frame.standard
    if standard is None or standard.pilot is None or standard.pilot_kind != "spigot":
        return None
    return Register(standard.pilot, standard.pilot_depth or 0.0, "through", None, field)

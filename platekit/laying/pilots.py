"""The pilot of a mount: from the spec, or from the standard that its pattern names."""

from __future__ import annotations

import math
from typing import Literal

from msgspec import Struct

from platekit.laying.mounts import MountFrame

RECESS_FLOOR = 0.5
"""A bored recess is this much deeper than the spigot stands, so that the faces meet first, mm (common practice)."""


class Pilot(Struct, frozen=True):
    """A spigot on the part: its diameter and height, and what the plate has for it. Lengths in mm."""

    diameter: float
    depth: float
    opening: Literal["through", "recess", "layer", "none"]
    clearance: float | None
    """None: the process's own."""
    field: str
    carries_screws: bool = False
    """Whether the screws go into the pilot's own face, because it is larger than the bolt circle."""

    @property
    def enters(self) -> float:
        """How far it stands into the plate, mm.

        A pilot that carries the screws rests on a plate that has no opening for it: nothing enters.
        """
        return 0.0 if self.carries_screws and self.opening == "none" else self.depth


def sunk(frame: MountFrame) -> float:
    """How deep in the plate the face lies that the screws go into, mm: a pilot in its recess that carries them."""
    pilot = pilot_of(frame)
    return pilot.enters if pilot is not None and pilot.carries_screws else 0.0


def pilot_of(frame: MountFrame) -> Pilot | None:
    """The mount's pilot; None if it has none."""
    pilot, standard = frame.mount.pilot, frame.standard
    field = f"{frame.field}.pilot"
    if pilot is not None:
        clearance = None if pilot.clearance == "auto" else pilot.clearance
        # The spec's word goes before the standard's; what it leaves out of the pilot is the standard's all the same.
        depth = pilot.depth
        if "depth" not in pilot.model_fields_set and standard is not None:
            depth = standard.pilot_depth or 0.0
        return Pilot(pilot.diameter, depth, pilot.opening, clearance, field, _carries_screws(frame, pilot.diameter))
    # A recess of the part needs nothing of the plate: only a spigot goes into it.
    if standard is None or standard.pilot is None or standard.pilot_kind != "spigot":
        return None
    carries = _carries_screws(frame, standard.pilot)
    return Pilot(standard.pilot, standard.pilot_depth or 0.0, "through", None, field, carries)


def _carries_screws(frame: MountFrame, diameter: float) -> bool:
    # A spigot wider than its bolt circle is a face that sits in a recess: the screws clamp there, deeper in the plate.
    return all(math.hypot(x, y) < diameter / 2 for x, y in frame.own_points)

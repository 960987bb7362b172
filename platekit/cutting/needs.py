"""What an opening must let through, and whether the head can pierce inside it."""

from __future__ import annotations

from functools import lru_cache

from platekit import tables
from platekit.geometry import Loop, Shape
from platekit.placed import Layout, Opening


def must_pass(layout: Layout, opening: Opening) -> float | None:
    """The diameter (mm) of what goes through an opening: its screw, its spigot; None where nothing is known to.

    A pilot with a recess, a tapped hole and a cutout have none.
    """
    if opening.mount is None or not opening.through or opening.thread is not None:
        return None
    mount = layout.mounts[opening.mount]
    if opening.role == "pilot":
        return mount.pilot
    if opening.role == "screw" and mount.stack is not None:
        return _screw_diameter(mount.stack.size)
    return None


@lru_cache(maxsize=256)
def _screw_diameter(size: str) -> float:
    return tables.screw(size).diameter


def can_pierce(shape: Shape, room: float) -> bool:
    """Whether somewhere inside the shape a pierce is at least `room` mm away from every edge."""
    if room <= 0.0:
        return True
    if isinstance(shape, Loop):
        box = shape.box
        return min(box.width, box.height) >= 2 * room and bool(shape.grown_all(-room))
    return shape.radius >= room

"""How each opening is made: cut by the table, or marked by the table and finished on the drill press.

The cut file holds what the table must do; everything else is told on the bench papers.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from platekit.geometry import Disc, Point, Shape
from platekit.placed import Layout, Opening

How = Literal["cut", "mark and drill", "mark, drill and tap", "mark and bore"]


@dataclass(frozen=True, slots=True)
class Making:
    """How one opening is made, and why.

    `cut` is the net shape that the table cuts (None: it only marks); `mark` the point it marks; `drill` the
    diameter to drill (mm).
    """

    opening: str
    how: How
    reason: str
    cut: Shape | None = None
    mark: Point | None = None
    drill: float | None = None


def makings(layout: Layout) -> tuple[Making, ...]:
    """How each opening of the layout is made, in the order of `layout.openings`."""
    return tuple(how_made(layout, opening) for opening in layout.openings)


def how_made(layout: Layout, opening: Opening) -> Making:
    """How one opening is made."""
    if opening.depth is not None:
        reason = f"goes {opening.depth:g} mm deep only, from the {opening.side} side"
        return Making(opening.name, "mark and bore", reason, mark=opening.center, drill=None)
    if opening.thread is not None:
        reason = f"tapped {opening.thread}: a cut edge eats taps"
        return Making(
            opening.name, "mark, drill and tap", reason, mark=opening.center, drill=opening.size
        )
    if isinstance(opening.shape, Disc):
        return _round_hole(layout, opening)
    return Making(opening.name, "cut", "wide enough for the process", cut=opening.shape)


def _round_hole(layout: Layout, opening: Opening) -> Making:
    process = layout.model.cutting.process
    smallest = layout.limits.smallest_hole.value
    wanted = _wanted(layout, opening)
    if process == "drill" or wanted == "drill":
        reason = "no table: drilled" if process == "drill" else "asked for in the spec"
    elif opening.size < smallest and wanted == "auto":
        reason = f"{opening.size:g} mm is under the {smallest:g} mm that {process} holds in this plate"
    else:
        return Making(opening.name, "cut", f"{process} holds this size", cut=opening.shape)
    return Making(opening.name, "mark and drill", reason, mark=opening.center, drill=opening.size)


def _wanted(layout: Layout, opening: Opening) -> str:
    mount = layout.model.mounts.get(opening.mount or "")
    if opening.role != "screw" or mount is None or mount.bolts is None:
        return "auto"
    return mount.bolts.made

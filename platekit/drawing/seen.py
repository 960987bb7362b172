"""The plate as someone sees it from one side: the one place where the far view is mirrored.

Seen from the near side the view is the plate frame itself. Seen from the far side the plate has been turned over about
its upright axis: x becomes -x, up stays up.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from msgspec import Struct

from platekit import tables
from platekit.cutting.heads import HeadSeat, seats
from platekit.geometry import Box, Disc, Index, Line, Point, Pose, Shape, between, box_round, ends, pose_at
from platekit.laying.flange import NAME as FLANGE
from platekit.placed import Body, Layout, Opening, PlacedMount, Side

CHECK_RING: Final = 1.0
"""How far outside the finished hole its second ring lies, mm: a drilled hole off its mark shows at once (ours)."""
CROSS_GAP: Final = 0.8
"""Open middle of a crosshair, mm from its centre, or half the hole's radius if that is less (ours)."""
CROSS_PAST_RING: Final = 2.0
"""How far a crosshair's arms reach past the outer ring, mm, where the neighbours leave room (ours)."""
NEIGHBOUR_AIR: Final = 0.3
"""Left free between an arm and the middle of the way to the nearest neighbour, mm (ours)."""
LEAST_ARM: Final = 1.2
"""Shortest arm of a crosshair, mm (ours)."""
LARGE_HOLE: Final = 16.0
"""An opening of this radius and more has a short cross in its middle and ticks on its edge, mm (ours)."""
LARGE_CROSS: Final = 6.0
"""Reach of the cross in the middle of a large opening, mm (ours)."""

HEADING_STEP: Final = 1e-4
"""Step of travel over which its heading is taken, mm or rad: only a small wedge is drawn with it (ours)."""


class Stop(Struct, frozen=True):
    """One end of a slot's travel: where the hole's centre is then, and which way (rad) the travel runs there."""

    at: Point
    heading: float
    tightens: bool


class SeenOpening(Struct, frozen=True):
    """An opening in the view, with the size of its crosshair (mm): open up to `gap`, arms to `reach`."""

    opening: Opening
    shape: Shape
    center: Point
    gap: float
    reach: float
    stops: tuple[Stop, ...]
    thread: float | None
    """Outside diameter of its thread if it is tapped."""
    box: Box
    """All that is drawn of it, its name left out."""
    mouth: Shape | None = None
    """How wide a head that is let in makes it at the head's face, which is on `mouth_side`."""
    mouth_side: Side | None = None

    @property
    def name(self) -> str:
        """The opening's name."""
        return self.opening.name

    @property
    def large(self) -> bool:
        """Whether its edge is too far from its centre for a crosshair to reach."""
        return min(self.shape.box.width, self.shape.box.height) / 2 >= LARGE_HOLE

    @property
    def ring(self) -> float:
        """Radius of its second ring, outside hole and thread, mm."""
        return max(self.opening.size, self.thread or 0.0) / 2 + CHECK_RING

    @property
    def ringed(self) -> bool:
        """Whether it gets a second ring outside its edge."""
        return isinstance(self.shape, Disc) and self.opening.role != "relief" and not self.large


class SeenBody(Struct, frozen=True):
    """A body in the view, at nominal."""

    body: Body
    shape: Shape


class Seen(Struct, frozen=True):
    """The plate as seen from `side`. `patterns` are the boxes of the mounts' screw holes, one a mount."""

    side: Side
    outline: Shape
    holes: tuple[SeenOpening, ...]
    spaces: tuple[SeenBody, ...]
    patterns: tuple[Box, ...]
    bend: Line | None = None
    """Where a flange is bent, of a plate that has one."""

    @property
    def box(self) -> Box:
        """The plate with all its openings and their crosshairs, mm of the view."""
        return box_round([self.outline.box, *(hole.box for hole in self.holes)])


def seen_from_side(layout: Layout, side: Side) -> Seen:
    """The plate in the view of someone who looks at that side of it; mm, y up.

    Bodies that belong to a screw (heads, washers, nuts) are left out, and the guard: they would hide the
    crosshairs. A flange is drawn as it is cut.
    """
    view = Pose(mirrored=side == "far")
    holes = tuple(_holes(layout, view))
    spaces = tuple(
        SeenBody(body, body.shape.moved(view))
        for body in layout.bodies
        if not body.hardware and body.kind != "guard" and body.name != FLANGE
    )
    patterns = tuple(
        box_round(boxes)
        for name in layout.mounts
        if (boxes := [hole.box for hole in holes if hole.opening.mount == name and hole.opening.role == "screw"])
    )
    bend = None
    if layout.flange is not None:
        line = layout.flange.bend_line
        bend = Line(view.point(line.a), view.point(line.b))
    return Seen(side, layout.outline.moved(view), holes, spaces, patterns, bend)


def _holes(layout: Layout, view: Pose) -> Iterator[SeenOpening]:
    # Arms of neighbours must not meet: two crosshairs grown together look like one slot's centre line. So each reaches
    # at most half way to the nearest other opening; without end if there is none near.
    centers = [opening.center for opening in layout.openings]
    radii = [opening.size / 2 for opening in layout.openings if opening.size / 2 < LARGE_HOLE]
    nearest = [math.inf] * len(centers)
    widest = 2 * (max(radii, default=0.0) + CHECK_RING + CROSS_PAST_RING + NEIGHBOUR_AIR)
    for i, j in Index([Box(x, y, x, y) for x, y in centers]).pairs_within(widest):
        apart = between(centers[i], centers[j])
        if apart > 0:
            nearest[i] = min(nearest[i], apart)
            nearest[j] = min(nearest[j], apart)
    room = [apart / 2 - NEIGHBOUR_AIR for apart in nearest]
    sunk = seats(layout)
    for opening, most in zip(layout.openings, room, strict=True):
        shape = opening.shape.moved(view)
        radius = opening.size / 2
        # no arm reaches from the middle of a large opening to its edge: a short cross there, and ticks on the edge
        if opening.size == 0 or radius >= LARGE_HOLE or opening.role == "relief":
            gap, reach = CROSS_GAP, LARGE_CROSS
        else:
            gap = min(CROSS_GAP, radius / 2)
            outer = max(radius, (thread_of(opening) or 0.0) / 2) + CHECK_RING
            reach = max(min(outer + CROSS_PAST_RING, most), gap + LEAST_ARM)
        mount = layout.mounts.get(opening.mount or "")
        stops = tuple(_stops(opening, mount, view))
        # a relief for a part of a body may lie beside the middle of the whole: a cross there would mark nothing
        (x, y) = center = view.point(opening.center) if opening.shape.contains(opening.center) else shape.centroid
        outside = (thread_of(opening) or opening.size) - opening.size
        box = shape.box.grown(CHECK_RING + outside / 2).union(Box(x - reach, y - reach, x + reach, y + reach))
        seat: HeadSeat | None = sunk.get(opening.name)
        if seat is None:
            yield SeenOpening(opening, shape, center, gap, reach, stops, thread_of(opening), box)
            continue
        mouth = seat.mouth.moved(view)
        box = box.union(mouth.box)
        yield SeenOpening(opening, shape, center, gap, reach, stops, thread_of(opening), box, mouth, seat.side)


def thread_of(opening: Opening) -> float | None:
    """Outside diameter of the thread that an opening is tapped with, mm; None if it is not tapped."""
    return None if opening.thread is None else tables.screw(opening.thread).diameter


def _stops(opening: Opening, mount: PlacedMount | None, view: Pose) -> Iterator[Stop]:
    if opening.role != "screw" or mount is None or mount.hole_travel is None or isinstance(opening.shape, Disc):
        return
    # which way the travel runs at an end is taken from a step back from it, so that a swing's wedge points along its
    # arc
    low, high = ends(mount.travel)
    for s, tightens in ((low, False), (high, True)):
        at = pose_at(mount.travel, s).point(opening.center)
        before = pose_at(mount.travel, s - HEADING_STEP if tightens else s + HEADING_STEP).point(opening.center)
        heading = math.atan2(at[1] - before[1], at[0] - before[0])
        yield Stop(view.point(at), view.angle(heading), tightens)

"""The room that a tool needs to turn a screw: a socket on it, or a spanner that swings beside it.

Tools are bodies of their own kind. They are not part of the layout, since they are gone when the plate is bolted up;
the order of assembly asks for them screw by screw.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import lru_cache
from typing import Literal

from msgspec import Struct

from platekit import tables
from platekit.geometry import Disc, Lying, Point, Pose, Shape, Slot, Swing, Travel, hull, sweep
from platekit.placed import Body, BodyKind, Layout, PlacedMount, ScrewStack, Side, held
from platekit.tables.shop import shop_figure

SOCKET_ROOM = shop_figure("socket and ratchet, along the screw")
"""Room along the screw for a socket and the head of its ratchet, mm (`shop_figures.csv`)."""
SOCKET_IN_FLATS = 1.25
SOCKET_WALL = 3.0
"""A hand socket is about 1.25 across flats + 3 mm outside, where no table gives it (common practice)."""
RING_IN_FLATS = shop_figure("ring spanner, radius in widths across flats")
"""Radius of a ring spanner's end in widths across flats (`shop_figures.csv`)."""
JAW_IN_FLATS = 0.62
"""Radius round a nut that is only held by an open spanner, in widths across flats (its corners: 0.577, P: geometry)."""
HANDLE_IN_FLATS = shop_figure("spanner, length in widths across flats")
"""Length of a spanner in widths across flats (`shop_figures.csv`)."""
HANDLE_WIDTH_IN_FLATS = shop_figure("spanner, handle width in widths across flats")
"""Width of a spanner's handle in widths across flats (`shop_figures.csv`)."""
SPANNER_HEIGHT_IN_FLATS = shop_figure("ring spanner, height in widths across flats")
"""Height of a ring spanner's end in widths across flats (`shop_figures.csv`)."""
SWING = math.radians(30)
"""Turn that a spanner needs to be set over: a ring with twelve corners, or an open end turned over (P: geometry)."""


class ScrewEnd(Struct, frozen=True):
    """The head or nut of one screw: where a tool sits. Lengths in mm; `seat` is the z that it sits on.

    `outer` is a socket's diameter, `flats` the width across flats, None where a key turns it from above.
    """

    screw: str
    mount: str
    what: Literal["head", "nut"]
    side: Side
    center: Point
    seat: float
    height: float
    outer: float
    flats: float | None
    room: float
    travel: Travel
    field: str
    lies: Lying | None = None
    """The socket on a screw that lies along the plate, with its way in; no spanner is tried there."""

    def socket(self) -> Body:
        """A socket or key on it, and the way the screw comes in, mm."""
        shape: Shape = Disc(self.center, self.outer / 2)
        if self.lies is not None:
            shape = self.lies.silhouette
        return Body(
            name=f"{self.screw}.socket",
            kind="socket",
            carrier=self.mount,
            side=self.side,
            shape=shape,
            swept=sweep(shape, self.travel),
            z=self.z(self.room) if self.lies is None else (self.lies.low, self.lies.high),
            gap=0.0,
            relief=False,
            field=self.field,
            travel=self.travel,
            screw=self.screw,
            pieces=() if self.lies is None else (self.lies,),
        )

    @property
    def spanner_height(self) -> float:
        """Room that a spanner takes along the screw, mm."""
        return max(self.height, SPANNER_HEIGHT_IN_FLATS * (self.flats or 0.0))

    def z(self, room: float) -> tuple[float, float]:
        """The (low, high) z of a tool that takes so much room along the screw, mm."""
        return (self.seat, self.seat + room) if self.side == "near" else (self.seat - room, self.seat)


def spanner_shape(flats: float, center: Point, start: float, swing: float = SWING) -> Shape:
    """What a spanner on a screw covers in the plan, with the mount at nominal (mm; `start` and `swing` in rad)."""
    return _spanner(flats, swing).moved(Pose(*center, start))


def handle_shape(flats: float, center: Point, direction: float) -> Shape:
    """What the handle alone of a spanner that points in a direction (radians) covers in the plan (mm)."""
    (x, y), reach = center, HANDLE_IN_FLATS * flats
    far = (x + reach * math.cos(direction), y + reach * math.sin(direction))
    return Slot(center, far, HANDLE_WIDTH_IN_FLATS * flats / 2)


@lru_cache(maxsize=256)
def _spanner(flats: float, swing: float) -> Shape:
    """A spanner on 0,0 that points along x, and all that it covers when it swings counter-clockwise."""
    # The handle alone swings; the ring on the nut turns in place.
    far = (HANDLE_IN_FLATS * flats, 0.0)
    handle = Slot((0.0, 0.0), far, HANDLE_WIDTH_IN_FLATS * flats / 2)
    # Only held, an open end goes on from the side; turned, a ring goes over the nut and needs its own width all round.
    if not swing:
        return hull([handle, Disc((0.0, 0.0), JAW_IN_FLATS * flats)])
    return hull([sweep(handle, Swing((0.0, 0.0), 0.0, swing)), Disc((0.0, 0.0), RING_IN_FLATS * flats)])


@held
def screw_ends(layout: Layout) -> tuple[ScrewEnd, ...]:
    """Every head and nut that a tool must get at, mount by mount."""
    return tuple(_screw_ends(layout))


def _screw_ends(layout: Layout) -> Iterator[ScrewEnd]:
    seats: dict[tuple[str | None, BodyKind], Body] = {
        # Heads and nuts by screw, since a flush head has no body to look for: it takes up no space over the plate.
        (body.screw, body.kind): body
        for body in layout.bodies
        if body.kind in ("head", "nut")
    }
    for mount in layout.mounts.values():
        stack = mount.stack
        if stack is not None:
            for name, point in zip(mount.hole_names, mount.points, strict=True):
                screw = tables.screw(stack.size)
                head, nut = seats.get((name, "head")), seats.get((name, "nut"))
                to_insert = (stack.length or 0.0) + stack.head_height
                if stack.into == "stud":
                    # A socket has to go over what stands past the nut, and the nut to come off over it.
                    past = max((stack.length or 0.0) - stack.grip - stack.head_height, 0.0)
                    if nut is not None:
                        outer = socket_round(screw.nut_wrench_outer, screw.nut_across_flats, nut)
                        sizes = (outer, screw.nut_across_flats)
                        room = SOCKET_ROOM + past
                        yield _end(mount, name, point, "nut", nut.side, _seat(nut), sizes, room, stack.field)
                    continue
                if head is None:
                    # countersunk or let in: a key on the plate's own face
                    face = layout.plate_z[1] if stack.head_side == "near" else layout.plate_z[0]
                    flush = screw.socket_head_diameter if stack.let_in else screw.countersunk_head_diameter
                    outer = flush or 2 * screw.diameter
                    room = max(SOCKET_ROOM, to_insert)
                    yield _end(
                        mount,
                        name,
                        point,
                        "head",
                        stack.head_side,
                        (face, 0.0),
                        (outer, None),
                        room,
                        stack.field,
                    )
                else:
                    key = stack.head == "socket"
                    outer = (
                        head.shape.box.width if key else socket_round(screw.wrench_outer, screw.hex_across_flats, head)
                    )
                    flats = None if key else screw.hex_across_flats
                    room = max(SOCKET_ROOM, to_insert)
                    yield _end(mount, name, point, "head", head.side, _seat(head), (outer, flats), room, stack.field)
                if nut is not None:
                    outer = socket_round(screw.nut_wrench_outer, screw.nut_across_flats, nut)
                    sizes = (outer, screw.nut_across_flats)
                    yield _end(mount, name, point, "nut", nut.side, _seat(nut), sizes, SOCKET_ROOM, stack.field)


def _end(
    mount: PlacedMount,
    name: str,
    point: Point,
    what: Literal["head", "nut"],
    side: Side,
    seat: tuple[float, float],
    sizes: tuple[float, float | None],
    room: float,
    field: str,
) -> ScrewEnd:
    return ScrewEnd(name, mount.name, what, side, point, *seat, *sizes, room, mount.hole_travel, field)


def _seat(body: Body) -> tuple[float, float]:
    """The z that a head or nut sits on, and its height."""
    low, high = body.z
    return (low if body.side == "near" else high, high - low)


def socket_round(listed: float | None, flats: float | None, body: Body) -> float:
    """Outer diameter of a socket, mm: from the table, else by the usual rule."""
    if listed is not None:
        return listed
    return SOCKET_IN_FLATS * (flats or body.shape.box.width) + SOCKET_WALL


def socket_outer(stack: ScrewStack, body: Body) -> float:
    """Outer diameter of the socket or key for a head or nut of a mount's screws, mm."""
    screw = tables.screw(stack.size)
    if body.kind == "head" and stack.head != "hex":
        return body.shape.box.width
    listed = screw.wrench_outer if body.kind == "head" else screw.nut_wrench_outer
    return socket_round(listed, screw.hex_across_flats if body.kind == "head" else screw.nut_across_flats, body)

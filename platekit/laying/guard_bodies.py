"""The guard as bodies, and where its screws are turned."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import lru_cache
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from platekit import tables
from platekit.geometry import (
    Arc,
    CurvedSlot,
    Disc,
    Lying,
    Shape,
    polygon_loop,
    rectangle,
)
from platekit.laying.guard import (
    LAP,
    RIVET_HEAD,
    ends_of,
    foot_shape,
    halves,
    in_half,
    joining_strips,
    lug_roots,
    open_in_back,
    outside_of,
    sheet_with_lugs,
    tab_shape,
    walls,
)
from platekit.laying.guard_plane import in_plane, stood_up, without
from platekit.laying.parted import parted
from platekit.laying.tools import SOCKET_ROOM, ScrewEnd, socket_round
from platekit.placed import Body, Guard, Layout, PlateLimits, Side

Z = tuple[float, float]
Hardware = Literal["head", "nut", "tip", "spacer"]
"""What belongs to one screw of a guard."""


def guard_bodies(guard: Guard, limits: PlateLimits, thickness: float) -> tuple[Body, ...]:
    """All that a guard consists of, as bodies that stand still on a plate so thick (mm).

    The band edge by edge with its lap and tabs, the cover, the back plate in pieces without holes, strips over its
    seam, and what holds them: screw heads, nuts and tips, and spacers where the plate carries the guard.
    """
    return _bodies(guard, limits, thickness)


@lru_cache(maxsize=8)  # a guard mostly stays as it is while something is dragged, and its pieces keep what was asked
def _bodies(guard: Guard, limits: PlateLimits, thickness: float) -> tuple[Body, ...]:
    stands = StandingGuard(guard, limits, thickness)
    cover = (replace(one, of_guard="cover screw") if one.screw else one for one in stands.cover())
    fixings = [replace(one, of_guard="screw") for one in stands.fixings()]
    bodies = [*stands.band(), *cover, *stands.back()]
    if guard.drawn.lies:
        # Drawn in the belt's plane until here; feet and their screws are square to the plate, ears and theirs are not.
        if guard.floor is None:
            bodies, fixings = [*bodies, *fixings], []
        bodies = [stood_up(guard.drawn, body, _convex(guard, body)) for body in bodies]
    bodies += fixings
    own = frozenset(body.name for body in bodies)  # sheet lies on sheet, and heads on both, where they belong
    return tuple(replace(body, touches=own - {body.name}) for body in bodies)


class StandingGuard(Struct, frozen=True):
    """A guard where it stands on its plate, which is so thick (mm): its bodies, in its belt's plane, mm."""

    guard: Guard
    limits: PlateLimits
    thickness: float

    @property
    def ends(self) -> Z:
        """Z where the band begins at the back and where it ends at the cover, mm."""
        return ends_of(self.guard)

    def out(self, z: float, by: float) -> float:
        """A height that lies so much farther the way from back plate to cover, mm."""
        return z + self.guard.outward * by

    def body(self, name: str, shape: Shape, from_z: float, to_z: float, carrier: str) -> Body:
        """A part that stands still, between two heights in either order, mm."""
        return Body(
            name=name,
            kind="guard",
            carrier=carrier,
            side=self.guard.side,
            shape=shape,
            swept=shape,
            z=(min(from_z, to_z), max(from_z, to_z)),
            gap=self.limits.gap.value,
            relief=False,
            field=self.guard.field,
        )

    def of_screw(self, of: str, what: Hardware, shape: Shape, from_z: float, to_z: float, carrier: str) -> Body:
        """The head, nut, tip or spacer of one of its screws, between two heights, mm."""
        return replace(self.body(f"{of} {what}", shape, from_z, to_z, carrier), screw=of, of_screw=what)

    def band(self) -> Iterator[Body]:
        """The band edge by edge, its laps, and the tabs folded out of it at the back and at the cover (mm)."""
        guard, t = self.guard, self.guard.thickness
        for index, edge in enumerate(walls(guard.outline, guard.floor), start=1):
            # the outline is the hollow side of the band: the sheet lies outside of it
            wall: Shape
            if isinstance(edge, Arc):
                wall = CurvedSlot(edge.center, edge.radius + t / 2, edge.start, edge.sweep, t / 2)
            else:
                outer = edge.shifted(t)
                assert outer is not None
                wall = polygon_loop([edge.a, edge.b, outer.b, outer.a])
            yield self.body(f"{guard.name}.band {index}", wall, *guard.z, guard.name)
        for number, joint in enumerate(guard.joints, start=1):
            # a lap is a second sheet on the first, so its middle is one and a half thicknesses out
            ux, uy = guard.outline.outward(joint)
            center = (joint[0] + 1.5 * t * ux, joint[1] + 1.5 * t * uy)
            lap = rectangle(LAP, t, center=center, turn=math.atan2(ux, -uy))
            yield self.body(f"{guard.name}.lap {number}", lap, *guard.z, guard.name)
        # Tabs are of the band, so they go on with the box; those at the cover lie inside of it, under the cover.
        back, front = self.ends
        for number, hole in enumerate(guard.ears, start=1):
            tab = self.body(f"{guard.name}.tab {number}", tab_shape(guard, hole), back, self.out(back, t), guard.name)
            yield replace(tab, screw=f"{guard.name}.screw {number}")
        for number, hole in enumerate(guard.cover_holes, start=1):
            tab = self.body(
                f"{guard.name}.cover tab {number}", tab_shape(guard, hole), front, self.out(front, -t), guard.name
            )
            yield replace(tab, screw=f"{guard.name}.cover screw {number}", of_guard="cover screw")

    def cover(self) -> Iterator[Body]:
        """The cover and its screws; their nuts are fixed to the box's tabs and stay there when it comes off."""
        guard = self.guard
        _, front = self.ends
        top = self.out(front, guard.thickness)
        yield self.body(guard.cover_name, sheet_with_lugs(guard, guard.cover_holes), front, top, guard.cover_name)
        if guard.cover_screw is None:
            return
        screw = tables.screw(guard.cover_screw)
        head, nut = screw.hex_head_height or screw.diameter, screw.nut_height or screw.diameter
        across = screw.hex_across_corners or 2 * screw.diameter
        under = self.out(front, -guard.thickness)
        tip = self.out(top, -(guard.cover_length or 2 * guard.thickness + nut))
        for number, hole in enumerate(guard.cover_holes, start=1):
            name, corners = f"{guard.name}.cover screw {number}", Disc(hole, across / 2)
            yield self.of_screw(name, "head", corners, top, self.out(top, head), guard.cover_name)
            yield self.of_screw(name, "nut", corners, under, self.out(under, -nut), guard.name)
            yield self.of_screw(name, "tip", Disc(hole, screw.diameter / 2), under, tip, guard.cover_name)

    def back(self) -> Iterator[Body]:
        """The back plate in pieces, and the strips over its seam with the heads of their rivets (plate frame, mm)."""
        guard = self.guard
        if not guard.back:
            return
        back, _ = self.ends
        number = 0
        if guard.drawn.lies:  # one body, in convex pieces
            sheet = self.body(
                f"{guard.name}.back 1",
                sheet_with_lugs(guard, guard.ears),
                back,
                self.out(back, -guard.thickness),
                guard.name,
            )
            yield replace(sheet, of_guard="back")
            return
        for half, whole in enumerate(halves(guard)):
            inside = [shape for shape in open_in_back(guard) if in_half(guard, shape, half)]
            carrier = guard.name if guard.seam is None else guard.half_names[half]
            for piece in parted(guard.outline, whole, inside):
                number += 1
                one = self.body(f"{guard.name}.back {number}", piece, back, self.out(back, -guard.thickness), carrier)
                yield replace(one, of_guard="back")
        high = self.out(back, guard.thickness + RIVET_HEAD)
        for index, strip in enumerate(joining_strips(guard), start=1):
            yield self.body(f"{guard.name}.joint {index}", strip.shape, back, high, guard.half_names[0])

    def fixings(self) -> Iterator[Body]:
        """Each ear's or foot's screw head; where the plate carries the guard, its nut behind, the spacer between.

        Feet themselves too, which lie on the plate: these and their screws are in the plate frame, mm.
        """
        guard = self.guard
        near = guard.side == "near"
        foot, face = (0.0, -self.thickness) if near else (-self.thickness, 0.0)  # the plate's own face, and its other
        away = 1.0 if near else -1.0
        if guard.drawn.lies and guard.floor is None:
            away = guard.outward
        seat = self.out(self.ends[0], guard.thickness)
        if guard.floor is not None:
            seat = guard.floor + away * guard.thickness
            for number, one in enumerate(guard.feet, start=1):
                lies = self.body(f"{guard.name}.foot {number}", foot_shape(guard, one), guard.floor, seat, guard.name)
                yield replace(lies, screw=f"{guard.name}.screw {number}")
        if guard.screw is None:
            return
        screw = tables.screw(guard.screw)
        head, nut = screw.hex_head_height or screw.diameter, screw.nut_height or screw.diameter
        across = screw.hex_across_corners or 2 * screw.diameter
        # where no stock length reaches, what shows is as long as its nut at least
        tip = seat - away * (guard.length or abs(seat - face) + nut)
        other: Side = "far" if near else "near"
        for number, point in enumerate(guard.fixed_at, start=1):
            name, corners = f"{guard.name}.screw {number}", Disc(point, across / 2)
            yield self.of_screw(name, "head", corners, seat, seat + away * head, guard.name)
            if guard.on != "plate":
                continue  # what it goes into elsewhere is not known
            nut_there = self.of_screw(name, "nut", corners, face, face - away * nut, "plate")
            tip_there = self.of_screw(name, "tip", Disc(point, screw.diameter / 2), face, tip, "plate")
            yield from (replace(one, side=other) for one in (nut_there, tip_there))
            if guard.off_plate:
                yield self.of_screw(name, "spacer", corners, foot, foot + away * guard.off_plate, "plate")


def _convex(guard: Guard, body: Body) -> tuple[Shape, ...]:
    """Convex shapes that together hold a part of a guard, in its belt's plane (mm)."""
    holes = guard.cover_holes if body.name == guard.cover_name else guard.ears if body.of_guard == "back" else None
    if holes is None:
        return (body.shape,)
    shapes: list[Shape] = [*without(outside_of(guard), guard.shafts if body.of_guard == "back" else ())]
    for hole in holes:
        shapes += [tab_shape(guard, hole), *lug_roots(guard, hole)]
    return tuple(shapes)


# ------------------------------------------------------------------------------------------- tools


def guard_screw_ends(layout: Layout) -> Iterator[ScrewEnd]:
    """Heads and nuts of the guard's screws that a tool must get at; the cover's nuts are fixed to their tabs."""
    for guard in layout.guards:
        yield from _ends_of(layout, guard)


def _ends_of(layout: Layout, guard: Guard) -> Iterator[ScrewEnd]:
    for body in layout.bodies:
        if body.screw is None or body.of_screw not in ("head", "nut") or not body.screw.startswith(f"{guard.name}."):
            continue
        item = guard.cover_name if body.screw.startswith(guard.cover_name) else guard.name
        size = guard.cover_screw if item == guard.cover_name else guard.screw
        is_head = body.of_screw == "head"
        if size is None or (item == guard.cover_name and not is_head):
            continue
        screw = tables.screw(size)
        # along a lying belt's shafts: its head is a cylinder across the plate, and so is the socket on it
        along = next((one for one in body.pieces if isinstance(one, Lying)), None)
        flats = screw.hex_across_flats if is_head else screw.nut_across_flats
        listed = screw.wrench_outer if is_head else screw.nut_wrench_outer
        low, high = body.z if along is None else in_plane(guard.drawn, body)[1]
        length = (guard.cover_length if item == guard.cover_name else guard.length) or 0.0
        room = max(SOCKET_ROOM, length + high - low if is_head else 0.0)
        outer = socket_round(listed, flats, body)
        lies: Lying | None = None
        if along is not None:
            spot, _ = in_plane(guard.drawn, body)
            start = low if guard.outward > 0 else high
            a, b = (guard.drawn.spot(spot.centroid, z)[:2] for z in (start, start + guard.outward * room))
            lies = Lying(a, b, outer / 2, along.height)
        yield ScrewEnd(
            screw=body.screw,
            mount=item,
            what="head" if is_head else "nut",
            side=body.side,
            center=body.shape.centroid,
            seat=low if body.side == "near" else high,
            height=high - low,
            outer=outer,
            flats=flats,
            room=room,
            travel=None,
            field=guard.field,
            lies=lies,
        )

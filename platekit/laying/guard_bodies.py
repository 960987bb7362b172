"""The guard as bodies, and where its screws are turned."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from msgspec.structs import replace

from platekit import tables
from platekit.geometry import (
    Arc,
    CurvedSlot,
    Disc,
    Edge,
    Loop,
    Shape,
    difference,
    polygon_loop,
    rectangle,
)
from platekit.laying.guard import (
    BOX,
    COVER,
    HALVES,
    LAP,
    RIVET_HEAD,
    halves,
    in_half,
    joining_strips,
    lugged,
    open_in_back,
    tab_shape,
)
from platekit.laying.tools import SOCKET_ROOM, ScrewEnd, socket_round
from platekit.placed import Body, Guard, Layout, PlateLimits, Side

ASKEW = 0.35
"""How far from the belt's line the back plate is taken apart, rad (ours: no line then runs along an edge of it)."""
Z = tuple[float, float]


def guard_bodies(guard: Guard | None, limits: PlateLimits, thickness: float) -> tuple[Body, ...]:
    """All that a guard consists of, as bodies that stand still on a plate so thick (mm).

    The band edge by edge with its lap and tabs, the cover, the back plate in pieces without holes, strips over its
    seam, and what holds them: screw heads, nuts and tips, and spacers where the plate carries the guard.
    """
    if guard is None:
        return ()
    bodies = [*_band(guard, limits), *_cover(guard, limits), *_back(guard, limits), *_fixings(guard, limits, thickness)]
    own = frozenset(body.name for body in bodies)  # sheet lies on sheet, and heads on both, where they belong
    return tuple(replace(body, touches=own - {body.name}) for body in bodies)


def _out(guard: Guard, z: float, by: float) -> float:
    """A height that lies farther from the plate by so much, mm."""
    return z + by if guard.side == "near" else z - by


def _between(a: float, b: float) -> Z:
    return (min(a, b), max(a, b))


def _ends(guard: Guard) -> Z:
    """Where the band begins at the back and where it ends at the cover."""
    low, high = guard.z
    return (low, high) if guard.side == "near" else (high, low)


def _band(guard: Guard, limits: PlateLimits) -> Iterator[Body]:
    for index, edge in enumerate(guard.outline.edges, start=1):
        yield _body(f"guard.band {index}", _wall(edge, guard.thickness), guard.z, guard, limits, BOX)
    for number, joint in enumerate(guard.joints, start=1):
        outer = guard.outline.outward(joint)
        x, y = joint[0] + 1.5 * guard.thickness * outer[0], joint[1] + 1.5 * guard.thickness * outer[1]
        lap = rectangle(LAP, guard.thickness, center=(x, y), turn=math.atan2(outer[0], -outer[1]))
        yield _body(f"guard.lap {number}", lap, guard.z, guard, limits, BOX)
    back, front = _ends(guard)
    for number, hole in enumerate(guard.ears, start=1):
        z = _between(back, _out(guard, back, guard.thickness))
        one = _body(f"guard.tab {number}", tab_shape(guard, hole), z, guard, limits, BOX)
        yield replace(one, screw=f"guard.screw {number}")
    for number, hole in enumerate(guard.cover_holes, start=1):
        z = _between(front, _out(guard, front, -guard.thickness))
        one = _body(f"guard.cover tab {number}", tab_shape(guard, hole), z, guard, limits, BOX)
        yield replace(one, screw=f"guard.cover screw {number}")


def _wall(edge: Edge, thickness: float) -> Shape:
    """A stretch of the band: the sheet outside of its hollow side."""
    if isinstance(edge, Arc):
        return CurvedSlot(edge.center, edge.radius + thickness / 2, edge.start, edge.sweep, thickness / 2)
    outer = edge.shifted(thickness)
    assert outer is not None
    return polygon_loop([edge.a, edge.b, outer.b, outer.a])


def _cover(guard: Guard, limits: PlateLimits) -> Iterator[Body]:
    _, front = _ends(guard)
    top = _out(guard, front, guard.thickness)
    yield _body(COVER, lugged(guard, guard.cover_holes), _between(front, top), guard, limits, COVER)
    if guard.cover_screw is None:
        return
    screw = tables.screw(guard.cover_screw)
    head, nut = screw.hex_head_height or screw.diameter, screw.nut_height or screw.diameter
    under = _out(guard, front, -guard.thickness)
    tip = _out(guard, top, -(guard.cover_length or 2 * guard.thickness + nut))
    for number, hole in enumerate(guard.cover_holes, start=1):
        name = f"guard.cover screw {number}"
        disc = Disc(hole, _half_across(guard.cover_screw))
        parts: list[tuple[str, Shape, Z, str]] = [
            ("head", disc, _between(top, _out(guard, top, head)), COVER),
            ("nut", disc, _between(under, _out(guard, under, -nut)), BOX),
            ("tip", Disc(hole, screw.diameter / 2), _between(under, tip), COVER),
        ]
        for what, shape, z, carrier in parts:
            yield replace(_body(f"{name} {what}", shape, z, guard, limits, carrier), screw=name)


def _half_across(size: str) -> float:
    """Half the width of a hexagon head or nut across its corners, mm."""
    screw = tables.screw(size)
    return (screw.hex_across_corners or 2 * screw.diameter) / 2


def _back(guard: Guard, limits: PlateLimits) -> Iterator[Body]:
    if not guard.back:
        return
    back, _ = _ends(guard)
    z = _between(back, _out(guard, back, -guard.thickness))
    number = 0
    for half, whole in enumerate(halves(guard)):
        inside = [shape for shape in open_in_back(guard) if in_half(guard, shape, half)]
        carrier = BOX if guard.seam is None else HALVES[half]
        for piece in _pieces(guard, whole, inside):
            number += 1
            yield _body(f"guard.back {number}", piece, z, guard, limits, carrier)
    high = _out(guard, back, guard.thickness + RIVET_HEAD)
    for index, strip in enumerate(joining_strips(guard), start=1):
        yield _body(f"guard.joint {index}", strip.shape, _between(back, high), guard, limits, HALVES[0])


def _pieces(guard: Guard, whole: Loop, inside: Sequence[Shape]) -> list[Loop]:
    """A sheet without its openings, parted by lines through the middle of each of these: so none is a hole."""
    far = 2 * (whole.box.width + whole.box.height + 1.0)
    edge = max(guard.outline.edges, key=lambda one: (round(one.length, 6), *(round(c, 6) for c in one.at(0.5))))
    ux, uy = edge.direction(0.0)
    turn = math.atan2(uy, ux) + ASKEW
    way = (math.cos(turn), math.sin(turn))
    spots = sorted(inside, key=lambda shape: shape.centroid[0] * way[0] + shape.centroid[1] * way[1])
    found: list[Loop] = []
    for before, after in zip([None, *spots], [*spots, None], strict=True):
        outside = []
        for shape, sign in ((before, -1.0), (after, 1.0)):
            if shape is not None:
                x, y = shape.centroid
                middle = (x + sign * far / 2 * way[0], y + sign * far / 2 * way[1])
                outside.append(rectangle(far, 2 * far, center=middle, turn=turn))
        found += difference(whole, [*inside, *outside])
    return found


def _fixings(guard: Guard, limits: PlateLimits, thickness: float) -> Iterator[Body]:
    """Each ear's screw head; where the plate carries the guard, the nut on its other face and the spacer between."""
    if guard.screw is None:
        return
    screw, near = tables.screw(guard.screw), guard.side == "near"
    head, nut = screw.hex_head_height or screw.diameter, screw.nut_height or screw.diameter
    back, _ = _ends(guard)
    seat = _out(guard, back, guard.thickness)
    face = -thickness if near else 0.0  # the plate's other one
    tip = _out(guard, seat, -(guard.length or abs(seat - face) + nut))
    other: Side = "far" if near else "near"
    for number, point in enumerate(guard.ears, start=1):
        name, disc = f"guard.screw {number}", Disc(point, _half_across(guard.screw))
        parts: list[tuple[str, Shape, Z, str, Side]] = [
            ("head", disc, _between(seat, _out(guard, seat, head)), BOX, guard.side)
        ]
        if guard.on == "plate":
            parts.append(("nut", disc, _between(face, _out(guard, face, -nut)), "plate", other))
            parts.append(("tip", Disc(point, screw.diameter / 2), _between(face, tip), "plate", other))
            if guard.off_plate:
                foot = 0.0 if near else -thickness
                spacer = _between(foot, _out(guard, foot, guard.off_plate))
                parts.append(("spacer", disc, spacer, "plate", guard.side))
        for what, shape, z, carrier, side in parts:
            body = _body(f"{name} {what}", shape, z, guard, limits, carrier)
            yield replace(body, side=side, screw=name)


def _body(name: str, shape: Shape, z: Z, guard: Guard, limits: PlateLimits, carrier: str) -> Body:
    return Body(
        name=name,
        kind="guard",
        carrier=carrier,
        side=guard.side,
        shape=shape,
        swept=shape,
        z=z,
        gap=limits.gap.value,
        relief=False,
        field="guard",
    )


# ------------------------------------------------------------------------------------------- tools


def guard_screw_ends(layout: Layout) -> Iterator[ScrewEnd]:
    """Heads and nuts of the guard's screws that a tool must get at; the cover's nuts are fixed to their tabs."""
    guard = layout.guard
    if guard is None:
        return
    for body in layout.bodies:
        if body.kind != "guard" or body.screw is None or not body.name.endswith((" head", " nut")):
            continue
        item = COVER if body.screw.startswith(COVER) else BOX
        size = guard.cover_screw if item == COVER else guard.screw
        is_head = body.name.endswith(" head")
        if size is None or (item == COVER and not is_head):
            continue
        screw = tables.screw(size)
        flats = screw.hex_across_flats if is_head else screw.nut_across_flats
        listed = screw.wrench_outer if is_head else screw.nut_wrench_outer
        low, high = body.z
        length = (guard.cover_length if item == COVER else guard.length) or 0.0
        yield ScrewEnd(
            screw=body.screw,
            mount=item,
            what="head" if is_head else "nut",
            side=body.side,
            center=body.shape.centroid,
            seat=low if body.side == "near" else high,
            height=high - low,
            outer=socket_round(listed, flats, body),
            flats=flats,
            room=max(SOCKET_ROOM, length + high - low if is_head else 0.0),
            travel=None,
            field="guard",
        )

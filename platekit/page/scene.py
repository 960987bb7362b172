"""What the two pictures draw, as plain data, and the handles in them.

Paths are exact path data (lines and true arcs) in the plate frame, mm, y up: the page turns y over once. A *handle* is
a spot that can be dragged; what a drag comes to is worked out here, as edits of the spec, never in the page.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import lru_cache
from typing import Any, Final, Literal

from msgspec import Struct

from platekit.checks.advice import in_units, mover, words_at
from platekit.checks.finding import Verdict
from platekit.drawing.from_side import SidePart, SideView, side_views, view_ways
from platekit.drawing.svg.parts import path_of
from platekit.geometry import Box, Point, Pose, box_round
from platekit.page.desk import Edit
from platekit.placed import Body, Layout, held
from platekit.spec.models import BeltPlace, Polar
from platekit.units import mm_per

HandleKind = Literal["place", "turn", "body", "cutout", "corner", "span", "end", "standoff"]
ANGLE_STEP: Final = 0.1
"""Dragged directions are rounded to this, degrees (ours: 0.2 mm at 100 mm)."""
TURN_STEP: Final = 1.0
"""A part turned by its handle goes by this, degrees (ours); a number box takes any."""
REACH: Final = 0.16
"""How far from its part's zero the handle for turning lies, as a share of the picture's smaller side (ours)."""
DIGITS: Final = 3
"""Decimals of mm in what is drawn (ours: far below a line's width on any screen)."""
RIM: Final = 0.06
"""Free rim round the front picture, as a share of the plate's larger side (ours)."""
LOOKS: Final = 48
"""Directions in which a round part is looked at from the side (ours): drawn 150 px wide it is right to 0.2 px."""


_path_of = lru_cache(maxsize=4096)(path_of)
"""Most of what is drawn is where it was a moment before."""


class Handle(Struct, frozen=True):
    """A spot that can be dragged in a picture (`view` 0: front, 1: from the side) at `at`, mm in that picture."""

    name: str
    kind: HandleKind
    view: int
    at: Point
    field: str
    said: str


def scene(layout: Layout, verdict: Verdict) -> dict[str, Any]:
    """Both pictures and their handles as plain data."""
    return {
        "unit": layout.spec.unit,
        "mm_per_unit": mm_per(layout.spec.unit),
        "front": front(layout, verdict),
        "side": next(map(_side, side_views(layout, LOOKS, measured=False, most=1)), None),
        "handles": [
            {"name": h.name, "kind": h.kind, "view": h.view, "at": _point(h.at), "said": h.said, "field": h.field}
            for h in handles(layout)
        ],
        "thickness": layout.thickness,
        "mass": round(layout.mass, 2),
    }


def _side(view: SideView) -> dict[str, Any]:
    return {
        "title": view.title,
        "box": _box(view.box),
        "plate": _box(view.plate),
        "parts": [_part(part) for part in view.parts],
        "named": [{"at": _point(at), "words": words} for at, words in view.named],
    }


@held
def _part(part: SidePart) -> dict[str, Any]:
    return {
        "name": part.name,
        "kind": part.kind,
        "paths": [straight_path(outline) for outline in part.outlines],
        "moved": [straight_path(outline) for outline in part.moved],
    }


def front(layout: Layout, verdict: Verdict) -> dict[str, Any]:
    """The picture from the front as plain data."""
    # The front picture has room for the plate and all that turns or stands near it. But a shaft of three metres must
    # not shrink the plate to a stamp: at most one more plate on each side is shown, and a rim round that.
    plate = layout.outline.box
    boxes = [plate, *(body.shape.box for body in layout.bodies if not body.hardware and body.kind != "guard")]
    everything, wide = box_round(boxes), max(plate.width, plate.height)
    rim = RIM * wide
    shown = Box(
        max(everything.x0, plate.x0 - wide) - rim,
        max(everything.y0, plate.y0 - wide) - rim,
        min(everything.x1, plate.x1 + wide) + rim,
        min(everything.y1, plate.y1 + wide) + rim,
    )
    return {
        "box": _box(shown),
        "plate": _path_of(layout.outline),
        "openings": [
            {
                "name": one.name,
                "role": one.role,
                "mount": one.mount,
                "d": _path_of(one.shape),
                "at": _point(one.center),
                "through": one.through,
            }
            for one in layout.openings
        ],
        "bodies": [_body(body) for body in layout.bodies],
        "marks": [
            {"level": f.level, "at": _point(f.at), "finding": k, "accepted": f.accepted is not None}
            for k, f in enumerate(verdict.findings)
            if f.at is not None
        ],
    }


@lru_cache(maxsize=2048)
def _body(body: Body) -> dict[str, Any]:
    return {
        "name": body.name,
        "kind": body.kind,
        "side": body.side,
        "d": _path_of(body.shape),
        "swept": _path_of(body.swept) if body.travel is not None and not body.hardware else None,
    }


@lru_cache(maxsize=4096)
def straight_path(points: tuple[Point, ...]) -> str:
    """Path data of a closed line through points, mm; from the side everything is straight."""
    return f"M{'L'.join(f'{round(x, DIGITS)} {round(y, DIGITS)}' for x, y in points)}Z" if points else ""


def _point(point: Point) -> list[float]:
    # + 0.0 turns -0.0 into 0.0: the sign of nothing differs from one processor to the next
    return [round(point[0], DIGITS) + 0.0, round(point[1], DIGITS) + 0.0]


def _box(box: Box) -> list[float]:
    return [round(box.x0, DIGITS), round(box.y0, DIGITS), round(box.x1, DIGITS), round(box.y1, DIGITS)]


# ------------------------------------------------------------------------------------------- handles


def handles(layout: Layout) -> Iterator[Handle]:
    """Everything that can be dragged, in the order in which the Tab key goes through it; places in mm of a picture."""
    reach = REACH * min(layout.outline.box.width, layout.outline.box.height)
    for mount in layout.mounts.values():
        if mount.name in layout.originals or mount.lug_of is not None:
            continue  # what stays as cast is where it is, and a lug follows its part
        x, y, turn = mount.pose.x, mount.pose.y, mount.pose.turn
        # Where shafts lie along the plate, the belt leaves a part one direction only: there is nothing to drag.
        belts = [b for b in layout.belts if mount.name in (b.driver.mount, b.driven.mount)]
        by_belt = isinstance(words_at(layout, f"{mount.field}.at"), BeltPlace)
        if not (by_belt and any(belt.drawn.lies for belt in belts)):
            yield Handle(mount.name, "place", 0, (x, y), f"{mount.field}.at", f"move {mount.name}")
        at = (x + reach * math.cos(turn), y + reach * math.sin(turn))
        yield Handle(f"{mount.name} turn", "turn", 0, at, f"{mount.field}.turn", f"turn {mount.name}")
    for body in layout.bodies:
        # only what the spec names as a body: heads and belts follow from the rest
        if body.kind == "given" and body.field.startswith("bodies."):
            field = f"{body.field}.at" if words_at(layout, body.field).shape is None else f"{body.field}.shape.at"
            box = body.shape.box
            middle = ((box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2)
            yield Handle(body.name, "body", 0, middle, field, f"move {body.name}")
    for opening in layout.openings:
        place = mover(layout, opening) if opening.role in ("cutout", "fixing") else None
        if place is not None:
            yield Handle(opening.name, "cutout", 0, opening.center, place.field, f"move the opening {opening.name}")
    outline = layout.spec.model.plate.outline
    if outline is not None and outline.polygon is not None:
        frame = Pose(*outline.at, outline.turn)
        for k, corner in enumerate(outline.polygon.points):
            field = f"plate.outline.polygon.points.{k}"
            yield Handle(f"corner {k + 1}", "corner", 0, frame.point(corner), field, f"move corner {k + 1}")
    yield from _side_handles(layout)


@held
def _by_name(layout: Layout) -> dict[str, Handle]:
    return {one.name: one for one in handles(layout)}


def _side_handles(layout: Layout) -> Iterator[Handle]:
    """The handles of the first view from the side, in which all that counts along the plate's normal is dragged."""
    way, _ = next(view_ways(layout))
    low, high = layout.plate_z
    for mount in layout.mounts.values():
        # A packing is the standoff worked out, and what stays as cast is where it is: neither is for a hand to move.
        # Nor is a layer, which lies flat on the plate; what stands on one goes up from it.
        packed = getattr(words_at(layout, mount.field), "packing", None) is not None
        if mount.name in layout.originals or packed or mount.layer is not None or mount.lug_of is not None:
            continue
        face = high + mount.standoff if mount.side == "near" else low - mount.standoff
        # at the outermost screw, where no pulley's handle is
        at = (min(x * way[0] + y * way[1] for x, y in (*mount.points, (mount.pose.x, mount.pose.y))), face)
        yield Handle(f"{mount.name} standoff", "standoff", 1, at, f"{mount.field}.standoff", f"stand {mount.name} off")
    for body in layout.bodies:
        if body.kind == "given" and body.field.startswith("bodies.") and words_at(layout, f"{body.field}.span"):
            x, y = body.shape.box.center
            for k, end in enumerate(body.z if body.side == "near" else body.z[::-1]):
                name, said = f"{body.name} {('from', 'to')[k]}", f"where {body.name} {('begins', 'ends')[k]}"
                yield Handle(name, "end", 1, (x * way[0] + y * way[1], end), f"{body.field}.span.{k}", said)
    # Pulleys go along their shafts, only where these stand square to the plate, since there height over the near face
    # is what the spec's spans count along.
    for belt in layout.belts:
        if belt.drawn.lies:
            continue
        for pulley in belt.pulleys:
            if isinstance(getattr(words_at(layout, pulley.field), "span", None), tuple | list):
                at = (pulley.center[0] * way[0] + pulley.center[1] * way[1], pulley.plane)
                said = f"move {pulley.name} along its shaft"
                yield Handle(f"{belt.name}: {pulley.name}", "span", 1, at, f"{pulley.field}.span", said)


# ---------------------------------------------------------------------------------- what a drag comes to


def dragged(layout: Layout, name: str, to: Point, fine: bool = False) -> list[Edit]:
    """The edits that take the handle of that name to a point (mm, in its picture); `fine` rounds to a tenth as much.

    A part placed by its belt goes round the other pulley and keeps the belt's distance. Raises KeyError for a handle
    that is not there.
    """
    handle = _by_name(layout)[name]
    fineness = 0.1 if fine else 1.0
    x, y = to
    if handle.kind == "turn":
        pose = layout.mounts[handle.name.removesuffix(" turn")].pose
        return [(handle.field, _degrees(math.atan2(y - pose.y, x - pose.x), TURN_STEP * fineness))]
    if handle.kind == "corner":
        outline = layout.spec.model.plate.outline
        assert outline is not None
        # corners are told in the outline's own frame, which may be moved and turned in the plate's
        return [(handle.field, _pair(layout, Pose(*outline.at, outline.turn).inverse().point(to)))]
    if handle.kind == "span":
        for pulley in (one for belt in layout.belts for one in belt.pulleys):
            if f"{pulley.field}.span" == handle.field:
                # A span counts from the mating face into the part's own side: down in the picture, on the far side.
                along = pulley.sense * (y - handle.at[1])
                return [(handle.field, [in_units(layout, end + along) for end in words_at(layout, handle.field)])]
        return []
    if handle.kind == "standoff":
        mount = layout.mounts[handle.name.removesuffix(" standoff")]
        out = (y - handle.at[1]) * (1.0 if mount.side == "near" else -1.0)
        # counted from what it stands on: a part may touch that and not go into it
        return [(handle.field, max(in_units(layout, mount.spacing + out), 0.0))]
    if handle.kind == "end":
        # Both ends count from the mating face into the part's own side, whichever side the body itself is on.
        body = next(one for one in layout.bodies if f"{one.field}.span" == handle.field.rpartition(".")[0])
        along = (y - handle.at[1]) * (1.0 if body.side == "near" else -1.0)
        return [(handle.field, in_units(layout, words_at(layout, handle.field) + along))]
    if handle.kind == "place":
        mount = layout.mounts[handle.name]
        words = words_at(layout, handle.field)
        if isinstance(words, BeltPlace):
            belt = next(b for b in layout.belts if mount.name in (b.driver.mount, b.driven.mount))
            own, other = (belt.driver, belt.driven) if belt.driver.mount == mount.name else (belt.driven, belt.driver)
            # The pulley need not sit at the part's zero: it is the pulley that goes round the other one.
            off = (own.center[0] - mount.pose.x, own.center[1] - mount.pose.y)
            angle = math.atan2(y + off[1] - other.center[1], x + off[0] - other.center[0])
            return [(f"{handle.field}.belt.angle", _degrees(angle, ANGLE_STEP * fineness))]
        if isinstance(words, Polar):
            base = layout.mounts[words.from_].pose
            dx, dy = x - base.x, y - base.y
            return [
                (f"{handle.field}.distance", in_units(layout, math.hypot(dx, dy))),
                (f"{handle.field}.angle", _degrees(math.atan2(dy, dx), ANGLE_STEP * fineness)),
            ]
        # two figures; a place that platekit was to find is settled by being dragged
        return [(handle.field, _pair(layout, to))]
    # A body or an opening goes by as much as its handle does: the handle is not at the point that the spec names.
    move = (x - handle.at[0], y - handle.at[1])
    old: Point = words_at(layout, handle.field)
    if handle.kind == "body":
        body = next(one for one in layout.bodies if one.name == handle.name)
        if body.carrier in layout.mounts:
            # A body's place is told in its carrier's own frame, turned and, on the far side, mirrored.
            move = layout.mounts[body.carrier].pose.inverse().vector(move)
    return [(handle.field, _pair(layout, (old[0] + move[0], old[1] + move[1])))]


def _pair(layout: Layout, at: Point) -> Any:
    return [in_units(layout, at[0]) + 0.0, in_units(layout, at[1]) + 0.0]


def _degrees(angle: float, step: float) -> str:
    # rounded twice: to the step, and then to what the step's own rounding has left behind the second decimal
    return f"{round(round(math.degrees(angle) / step) * step, 2) % 360:g} deg"

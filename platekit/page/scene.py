"""What the two pictures draw, as plain data, and the handles in them.

Paths are exact path data (lines and true arcs) in the plate frame, mm, y up: the page turns y over once. A *handle* is
a spot that can be dragged; what a drag comes to is worked out here, as edits of the spec, never in the page.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any, Final, Literal

from msgspec import Struct

from platekit.checks.advice import in_units, mover, words_at
from platekit.checks.finding import Verdict
from platekit.drawing.from_side import SideView, side_views
from platekit.drawing.svg.parts import path_of
from platekit.geometry import Box, Point, box_round
from platekit.page.desk import Edit
from platekit.placed import Layout, PlacedMount
from platekit.spec.models import BeltPlace, FindPlace, Polar
from platekit.units import mm_per

HandleKind = Literal["place", "turn", "body", "cutout", "corner", "span"]
ANGLE_STEP: Final = 0.1
"""Dragged directions are rounded to this, degrees (ours: 0.2 mm at 100 mm)."""
TURN_STEP: Final = 1.0
"""A part turned by its handle goes by this, degrees (ours); a number box takes any."""
REACH: Final = 0.16
"""How far from its part's zero the handle for turning lies, as a share of the picture's smaller side (ours)."""
DIGITS: Final = 3
"""Decimals of mm in what is drawn (ours: far below a line's width on any screen)."""
"""Every length in a scene is in mm."""


class Handle(Struct, frozen=True):
    """A spot that can be dragged in a picture (`view` 0: front, 1, 2: from the side) at `at`, mm in that picture."""

    name: str
    kind: HandleKind
    view: int
    at: Point
    field: str
    said: str


def scene(layout: Layout, verdict: Verdict) -> dict[str, Any]:
    """Both pictures and their handles as plain data."""
    views = side_views(layout)
    front = _front_box(layout)
    return {
        "unit": layout.spec.unit,
        "mm_per_unit": mm_per(layout.spec.unit),
        "front": {
            "box": _box(front),
            "plate": path_of(layout.outline),
            "openings": [
                {
                    "name": one.name,
                    "role": one.role,
                    "mount": one.mount,
                    "d": path_of(one.shape),
                    "at": _point(one.center),
                    "through": one.through,
                }
                for one in layout.openings
            ],
            "bodies": [
                {
                    "name": body.name,
                    "kind": body.kind,
                    "side": body.side,
                    "d": path_of(body.shape),
                    "swept": path_of(body.swept) if body.travel is not None and not body.hardware else None,
                }
                for body in layout.bodies
            ],
            "marks": [
                {"level": f.level, "at": _point(f.at), "finding": k, "accepted": f.accepted is not None}
                for k, f in enumerate(verdict.findings)
                if f.at is not None
            ],
        },
        "sides": [_side(view) for view in views],
        "handles": [
            {"name": h.name, "kind": h.kind, "view": h.view, "at": _point(h.at), "said": h.said}
            for h in handles(layout, views)
        ],
        "thickness": layout.thickness,
        "mass": round(layout.mass, 2),
    }


def _front_box(layout: Layout) -> Box:
    """The room of the front picture: the plate and all that turns or stands near it, a rim of a tenth round it."""
    boxes = [layout.outline.box]
    boxes += [body.shape.box for body in layout.bodies if not body.hardware and body.kind != "guard"]
    whole, plate = box_round(boxes), layout.outline.box
    # A shaft of three metres must not shrink the plate to a stamp: at most one more plate on each side is shown.
    wide, high = max(plate.width, plate.height), max(plate.width, plate.height)
    rim = 0.06 * max(wide, high)
    return Box(
        max(whole.x0, plate.x0 - wide) - rim,
        max(whole.y0, plate.y0 - high) - rim,
        min(whole.x1, plate.x1 + wide) + rim,
        min(whole.y1, plate.y1 + high) + rim,
    )


def _side(view: SideView) -> dict[str, Any]:
    return {
        "title": view.title,
        "box": _box(view.box),
        "plate": _box(view.plate),
        "parts": [
            {
                "name": part.name,
                "kind": part.kind,
                "paths": [_path(outline) for outline in part.outlines],
                "moved": [_path(outline) for outline in part.moved],
            }
            for part in view.parts
        ],
        "heights": [
            {"low": round(m.low, DIGITS), "high": round(m.high, DIGITS), "words": m.words} for m in view.heights
        ],
        "named": [{"at": _point(at), "words": words} for at, words in view.named],
    }


def _path(points: tuple[Point, ...]) -> str:
    return f"M{'L'.join(f'{round(x, DIGITS)} {round(y, DIGITS)}' for x, y in points)}Z" if points else ""


def _point(point: Point) -> list[float]:
    return [round(point[0], DIGITS) + 0.0, round(point[1], DIGITS) + 0.0]


def _box(box: Box) -> list[float]:
    return [round(box.x0, DIGITS), round(box.y0, DIGITS), round(box.x1, DIGITS), round(box.y1, DIGITS)]


# ------------------------------------------------------------------------------------------- handles


def handles(layout: Layout, views: tuple[SideView, ...] | None = None) -> tuple[Handle, ...]:
    """Everything that can be dragged, in the order in which the Tab key goes through it."""
    found = [*_mounts(layout), *_spaces(layout), *_corners(layout)]
    if side_views(layout) if views is None else views:
        found += _along_the_shafts(layout)
    return tuple(found)


def _mounts(layout: Layout) -> Iterator[Handle]:
    reach = REACH * min(layout.outline.box.width, layout.outline.box.height)
    for mount in layout.mounts.values():
        x, y = mount.pose.x, mount.pose.y
        if mount.name not in layout.originals:
            # Where shafts lie along the plate, the belt leaves a part one direction only: there is nothing to drag.
            if not _held_by_lying_belt(layout, mount):
                yield Handle(mount.name, "place", 0, (x, y), f"{mount.field}.at", f"move {mount.name}")
            turn = mount.pose.turn
            at = (x + reach * math.cos(turn), y + reach * math.sin(turn))
            yield Handle(f"{mount.name} turn", "turn", 0, at, f"{mount.field}.turn", f"turn {mount.name}")


def _held_by_lying_belt(layout: Layout, mount: PlacedMount) -> bool:
    held = isinstance(words_at(layout, f"{mount.field}.at"), BeltPlace)
    return held and any(b.drawn.lies for b in layout.belts if mount.name in (b.driver.mount, b.driven.mount))


def _spaces(layout: Layout) -> Iterator[Handle]:
    for body in layout.bodies:
        if body.kind != "given" or not body.field.startswith("bodies."):
            continue
        words = words_at(layout, body.field)
        field = f"{body.field}.at" if words.shape is None else f"{body.field}.shape.at"
        middle = body.shape.box
        at = ((middle.x0 + middle.x1) / 2, (middle.y0 + middle.y1) / 2)
        yield Handle(body.name, "body", 0, at, field, f"move {body.name}")
    for opening in layout.openings:
        if opening.role == "cutout":
            place = mover(layout, opening)
            if place is not None:
                yield Handle(opening.name, "cutout", 0, opening.center, place.field, f"move the opening {opening.name}")


def _corners(layout: Layout) -> Iterator[Handle]:
    outline = layout.spec.model.plate.outline
    if outline is None or outline.polygon is None:
        return
    c, s = math.cos(outline.turn), math.sin(outline.turn)
    for k, (x, y) in enumerate(outline.polygon.points):
        at = (c * x - s * y + outline.at[0], s * x + c * y + outline.at[1])
        yield Handle(f"corner {k + 1}", "corner", 0, at, f"plate.outline.polygon.points.{k}", f"move corner {k + 1}")


def _along_the_shafts(layout: Layout) -> Iterator[Handle]:
    """Pulleys along their shafts and parts on their spacers, in the first view from the side.

    Only for shafts square to the plate: there, height over the near face is what the spec's spans count along.
    """
    for belt in layout.belts:
        if belt.drawn.lies:
            continue
        way = (math.cos(belt.line), math.sin(belt.line))
        way = (0.0 - way[0], 0.0 - way[1]) if way[0] < -1e-9 else way
        for pulley in belt.pulleys:
            words = words_at(layout, pulley.field)
            if isinstance(getattr(words, "span", None), tuple | list):
                at = (pulley.center[0] * way[0] + pulley.center[1] * way[1], pulley.plane)
                said = f"move {pulley.name} along its shaft"
                yield Handle(f"{belt.name}: {pulley.name}", "span", 1, at, f"{pulley.field}.span", said)


# ---------------------------------------------------------------------------------- what a drag comes to


def dragged(layout: Layout, name: str, to: Point, fine: bool = False) -> list[Edit]:
    """The edits that take the handle of that name to a point (mm, in its picture); `fine` rounds to a tenth as much.

    A part placed by its belt goes round the other pulley and keeps the belt's distance. Raises KeyError for a handle
    that is not there.
    """
    handle = {one.name: one for one in handles(layout)}[name]
    step = 0.1 if fine else 1.0
    if handle.kind == "place":
        return _placed(layout, layout.mounts[handle.name], to, step)
    if handle.kind == "turn":
        pose = layout.mounts[handle.name.removesuffix(" turn")].pose
        return [(handle.field, _degrees(math.atan2(to[1] - pose.y, to[0] - pose.x), TURN_STEP * step))]
    if handle.kind == "corner":
        return [(handle.field, _pair(layout, _in_outline(layout, to)))]
    if handle.kind == "span":
        return _moved_span(layout, handle, to[1] - handle.at[1])
    move = (to[0] - handle.at[0], to[1] - handle.at[1])
    old: Point = words_at(layout, handle.field)
    if handle.kind == "body":
        body = next(one for one in layout.bodies if one.name == handle.name)
        if body.carrier in layout.mounts:
            # A body's place is told in its carrier's own frame, turned and, on the far side, mirrored.
            move = layout.mounts[body.carrier].pose.inverse().vector(move)
    return [(handle.field, _pair(layout, (old[0] + move[0], old[1] + move[1])))]


def _placed(layout: Layout, mount: PlacedMount, to: Point, step: float) -> list[Edit]:
    words = words_at(layout, f"{mount.field}.at")
    if isinstance(words, BeltPlace):
        belt = next(b for b in layout.belts if mount.name in (b.driver.mount, b.driven.mount))
        own, other = (belt.driver, belt.driven) if belt.driver.mount == mount.name else (belt.driven, belt.driver)
        # The pulley need not sit at the part's zero: it is the pulley that goes round the other one.
        off = (own.center[0] - mount.pose.x, own.center[1] - mount.pose.y)
        angle = math.atan2(to[1] + off[1] - other.center[1], to[0] + off[0] - other.center[0])
        return [(f"{mount.field}.at.belt.angle", _degrees(angle, ANGLE_STEP * step))]
    if isinstance(words, Polar):
        base = layout.mounts[words.from_].pose
        dx, dy = to[0] - base.x, to[1] - base.y
        return [
            (f"{mount.field}.at.distance", in_units(layout, math.hypot(dx, dy))),
            (f"{mount.field}.at.angle", _degrees(math.atan2(dy, dx), ANGLE_STEP * step)),
        ]
    if isinstance(words, FindPlace):
        return [(f"{mount.field}.at", _pair(layout, to))]
    return [(f"{mount.field}.at", _pair(layout, to))]


def _moved_span(layout: Layout, handle: Handle, move: float) -> list[Edit]:
    for belt in layout.belts:
        for pulley in belt.pulleys:
            if f"{pulley.field}.span" == handle.field:
                low, high = words_at(layout, handle.field)
                along = pulley.sense * move
                return [(handle.field, [in_units(layout, low + along), in_units(layout, high + along)])]
    return []


def _in_outline(layout: Layout, to: Point) -> Point:
    outline = layout.spec.model.plate.outline
    assert outline is not None
    c, s = math.cos(outline.turn), math.sin(outline.turn)
    x, y = to[0] - outline.at[0], to[1] - outline.at[1]
    return (c * x + s * y, c * y - s * x)


def _pair(layout: Layout, at: Point) -> Any:
    return [in_units(layout, at[0]) + 0.0, in_units(layout, at[1]) + 0.0]


def _degrees(angle: float, step: float) -> str:
    return f"{round(round(math.degrees(angle) / step) * step, 2) % 360:g} deg"

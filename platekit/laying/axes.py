"""Shafts that a standard or the spec tells, as lines; the plane of a belt over them, and where pulleys sit there."""

from __future__ import annotations

import math

from msgspec import Struct

from platekit import tables
from platekit.errors import SpecError
from platekit.geometry import ACROSS, Plane, Point, Pose, lying
from platekit.laying.given_places import shows_its_back
from platekit.laying.spans import z_range
from platekit.placed import SAME_LENGTH, Axis
from platekit.spec import Spec
from platekit.spec import models as words
from platekit.spec.drive_words import IdlerWords, PulleyWords, SeatWords, Stage
from platekit.spec.shaft_words import ShaftWords

ONE_PLANE = math.radians(45)
"""Shafts along the plate at a smaller angle than this are laid out as meant to be parallel, so that the rule can say
how far they are from it; at a larger one no belt in one plane is meant (ours)."""

Interval = tuple[float, float]


class OwnAxis(Struct, frozen=True):
    """A shaft in its part's own frame, mm: where it leaves the part, over its mating face, and which way it points.

    `along` is radians in the part's own frame, None for square to the mating face.
    """

    at: Point
    height: float
    along: float | None
    stretch: Interval
    said: str


# --------------------------------------------------------------------------------------- what is told


def own_axis(spec: Spec, pulley: PulleyWords, field: str) -> OwnAxis | None:
    """The shaft that a pulley is on, in its part's own frame; None where neither spec nor standard tells it.

    Raises `SpecError` for a shaft that the part does not have, or several and none named.
    """
    mount = spec.model.mounts[pulley.on]
    named = mount.shafts
    if pulley.shaft is not None and pulley.shaft not in named:
        has = f"use one of {', '.join(named)}" if named else f"tell it under mounts.{pulley.on}.shafts, or leave it out"
        raise SpecError((spec.problem(f"{field}.shaft", f"{pulley.shaft!r}, no shaft of {pulley.on}", has),))
    if len(named) > 1 and pulley.shaft is None:
        wanted = f"say which one it is on: {field}.shaft, one of {', '.join(named)}"
        raise SpecError((spec.problem(field, f"a pulley on {pulley.on}, which has {len(named)} shafts", wanted),))
    told = told_axis(spec, pulley)
    if told is not None and pulley.at != (0.0, 0.0):
        wanted = f"leave `at` out: {told.said} has its own place, and the pulley's `span` counts along it"
        raise SpecError((spec.problem(f"{field}.at", "a place beside its shaft", wanted),))
    return told


def told_axis(spec: Spec, pulley: PulleyWords) -> OwnAxis | None:
    """The shaft of a pulley whose words are sound."""
    mount = spec.model.mounts[pulley.on]
    if mount.shaft is not None:
        return of_words(mount.shaft, f"the shaft of {pulley.on}")
    if mount.shafts:
        name = pulley.shaft or next(iter(mount.shafts))
        return of_words(mount.shafts[name], f"the {name} shaft of {pulley.on}")
    if mount.pattern.standard is not None:
        return on_feet(tables.mount(mount.pattern.standard), Pose())
    own = [body for body in spec.model.bodies.values() if body.carried_by == pulley.on]
    for body in own:
        # A body that is round about the pulley's middle is a shaft square to the plate, described there: it is found
        # among the bodies (`shafts.py`), and no standard part's shaft counts beside it.
        is_round = body.steps is not None or (body.shape is not None and body.shape.circle is not None)
        middle = body.shape.at if body.shape is not None and body.steps is None else body.at
        if is_round and math.dist(middle, pulley.at) <= SAME_LENGTH:
            return None
    for body in own:
        if body.standard is not None:
            found = on_feet(tables.mount(body.standard), Pose(*body.at, body.turn))
            if found is not None:
                return found
    return None


def lying_shaft(spec: Spec, name: str) -> float | None:
    """The direction (rad, own frame) of a mount's shaft that lies along the plate; None where none is told.

    Told by its words or its standard, else by a body of it that lies across.
    """
    mount = spec.model.mounts[name]
    for told in (mount.shaft, *mount.shafts.values()):
        if told is not None:
            return None if told.along == "square" else told.along
    if mount.pattern.standard is not None:
        own = on_feet(tables.mount(mount.pattern.standard), Pose())
        return None if own is None else own.along
    lying = (body.lying for body in spec.model.bodies.values() if body.carried_by == name)
    return next((one.axis for one in lying if one is not None), None)


def of_words(told: ShaftWords, said: str) -> OwnAxis:
    """A shaft that the spec tells (mm, rad), and what it is called."""
    along = None if told.along == "square" else told.along
    return OwnAxis(told.at, told.height, along, told.stretch, said)


def on_feet(standard: tables.StandardMount, pose: Pose) -> OwnAxis | None:
    """The shaft of a standard part on feet, from its shoulder to its end; None for one with a face."""
    if standard.shaft_height is None or standard.shaft_end_mm is None or standard.shaft_length is None:
        return None
    x, end = standard.shaft_end_mm
    # Tables give where the shaft ends, as shop drawings do; spans count from where it leaves the part.
    shoulder = pose.point((x, end - standard.shaft_length))
    said = f"the shaft of {standard.designation}"
    return OwnAxis(shoulder, standard.shaft_height, pose.angle(math.pi / 2), (0.0, standard.shaft_length), said)


# --------------------------------------------------------------------------------------- on the plate


def placed_axis(spec: Spec, own: OwnAxis, mount: words.MountWords, pose: Pose) -> Axis:
    """The shaft in the plate frame, mm."""
    x, y = pose.point(own.at)
    height = z_range(mount.side, (own.height, own.height), spec.model.plate.thickness, mount.standoff)[0]
    if own.along is None:
        return Axis((x, y, height), (0.0, 0.0, -1.0 if mount.side == "near" else 1.0), own.stretch, own.said)
    dx, dy = pose.vector((math.cos(own.along), math.sin(own.along)))
    return Axis((x, y, height), (dx, dy, 0.0), own.stretch, own.said)


def turned_pose(mount: words.MountWords) -> Pose:
    """Which way round a mount lies, before its place is known (`turn` in rad)."""
    return Pose(0.0, 0.0, mount.turn, shows_its_back(mount))


def plane_of(spec: Spec, stage: Stage, field: str) -> Plane:
    """The plane that a belt runs in, square to its shafts.

    The plate's own unless both shafts are told to lie along the plate; where they are not parallel, that of the driven
    one. That a belt cannot run over shafts at an angle is said by the rule `shaft-along`.
    """
    # The first end whose shaft stands square to the plate, or is not told, settles it: such a belt can only run along
    # the plate.
    ways: list[float] = []
    for end, pulley in (("driven", stage.driven), ("driver", stage.driver)):
        mount = spec.model.mounts[pulley.on]
        own = own_axis(spec, pulley, f"{field}.{end}")
        if own is None or own.along is None:
            return ACROSS
        ways.append(turned_pose(mount).angle(own.along))
    if angle_between(ways[0], ways[1]) > ONE_PLANE:
        return ACROSS
    return lying(ways[0])


def angle_between(one: float, other: float) -> float:
    """The angle of two lines, radians, 0 to a quarter turn, whichever way each is told."""
    off = (one - other) % math.pi
    return min(off, math.pi - off)


# --------------------------------------------------------------------------------------- along the shaft


class Seated(Struct, frozen=True):
    """Where a pulley's shaft is in the belt's plane, and how a span of the spec comes to lie along it.

    along the shafts = zero + sense * span; `ends` is the shaft as such a span, None where nothing tells it.
    """

    center: Point
    zero: float
    sense: float
    ends: Interval | None
    axis: Axis | None
    lies: bool = False

    def z(self, span: Interval) -> Interval:
        """A span along the belt's shafts, (low, high), mm."""
        found = [self.zero + self.sense * end for end in span]
        return (min(found), max(found))


def pulley_seat(spec: Spec, pulley: PulleyWords, field: str, pose: Pose, plane: Plane) -> Seated:
    """Where a pulley's shaft is when its mount lies at `pose` (mm, rad)."""
    mount = spec.model.mounts[pulley.on]
    own = own_axis(spec, pulley, field)
    axis = None if own is None else placed_axis(spec, own, mount, pose)
    # Along the plate a span counts from where the shaft leaves its part, the way that it points; the plane's own normal
    # may point the other way.
    if axis is not None and plane.lies and axis.lies:
        center, zero = plane.flat(axis.point)
        along = axis.direction[0] * plane.n[0] + axis.direction[1] * plane.n[1]
        return Seated(center, zero, math.copysign(1.0, along), axis.stretch, axis, lies=True)
    face = z_range(mount.side, (0.0, 0.0), spec.model.plate.thickness, mount.standoff)[0]
    sense = 1.0 if mount.side == "near" else -1.0
    # Square to the plate a span counts from the mating face into the part, so that a shaft, which points at the plate,
    # has its stretch below zero.
    ends = None if own is None else (-own.stretch[1], -own.stretch[0])
    standard = None if mount.pattern.standard is None else tables.mount(mount.pattern.standard)
    if own is None and standard is not None and standard.shaft_length is not None:
        ends = (-standard.shaft_length, 0.0)
    at = pulley.at if own is None or own.along is not None else own.at
    return Seated(pose.point(at), face, sense, ends, axis)


def span_of(spec: Spec, pulley: PulleyWords | IdlerWords, field: str, seat: Seated, in_line: float | None) -> Interval:
    """The span of a pulley's rim, worked out where the spec tells what was measured, mm.

    `in_line` is where along the shafts the middle of the other pulley's rim is, None where that is not known yet.
    Raises `SpecError` where what it is measured from is not known.
    """
    told = pulley.span
    if not isinstance(told, SeatWords):
        return told
    width = told.width
    assert width != "auto", "stock rims are looked up before"
    if told.in_line:
        if in_line is None:
            wanted = "give one of the two its place (span, from_face or from_end)"
            raise SpecError(
                (spec.problem(f"{field}.span.in_line", "a pulley in line with one that has no place", wanted),)
            )
        # Back from the belt's plane to this shaft's own count: the inverse of z = zero + sense * span.
        middle = seat.sense * (in_line - seat.zero)
        return (middle - width / 2, middle + width / 2)
    if told.from_face is not None:
        near = told.from_face
    else:
        if seat.ends is None:
            tell = "" if pulley.on == "plate" else f"tell the shaft (mounts.{pulley.on}.shaft), or "
            wanted = f"{tell}give from_face or span"
            raise SpecError((spec.problem(f"{field}.span.from_end", "a shaft whose end is not known", wanted),))
        # The end is the last point along the shaft, whichever sign spans have there.
        end = seat.ends[1] if seat.lies else -seat.ends[0]
        near = end - (told.from_end or 0.0) - width
    return (near, near + width) if seat.lies else (-near - width, -near)

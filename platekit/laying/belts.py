"""Belts over their pulleys where these go: worked out once with their true distance, and the space they take."""

from __future__ import annotations

import contextlib
import math
from collections.abc import Iterator, Sequence
from functools import lru_cache
from itertools import product

from msgspec.structs import replace

from platekit import drive, tables
from platekit.drive import take_up
from platekit.drive.route import Wheel, route, run_length
from platekit.drive.take_up import until
from platekit.errors import DriveError, SpecError
from platekit.geometry import (
    Disc,
    Lying,
    Plane,
    Point,
    Pose,
    Shape,
    StandingPrism,
    Straight,
    Travel,
    ends,
    hull,
    pose_at,
    slot,
    sweep,
)
from platekit.laying.axes import Seated, plane_of, pulley_seat, span_of
from platekit.laying.idlers import given_center, idler_field, idler_wheels, own_travel
from platekit.laying.located import located
from platekit.laying.mounts import MountFrame
from platekit.laying.runs import Run, needed_lengths, pulley_of
from platekit.laying.spans import z_range
from platekit.placed import SAME_LENGTH, Body, PlacedBelt, PlacedPulley, PlateLimits, Side
from platekit.spec import Spec
from platekit.spec.drive_words import PulleyWords
from platekit.tables import belts
from platekit.units import show_length

BELT_POSITIONS = 9
"""Positions of each travel at which the belt's runs are drawn; the hull of them covers what lies between (ours)."""


def placed_belt(spec: Spec, run: Run, frames: dict[str, MountFrame]) -> PlacedBelt:
    """A belt over its pulleys where they go (mm), worked out with the true distance of its shafts."""
    plane = plane_of(spec, run.words, run.field)
    # A pulley whose span is said to be in line with the other can only be placed after that one.
    told = {"driven": run.words.driven, "driver": run.words.driver}
    placed: dict[str, PlacedPulley] = {}
    for end in sorted(told, key=lambda end: getattr(told[end].span, "in_line", False)):
        other = next(iter(placed.values()), None)
        in_line = None if other is None else other.plane
        placed[end] = _placed_pulley(spec, run, told[end], end, frames[told[end].on], plane, in_line)
    driven, driver = placed["driven"], placed["driver"]
    idlers = _placed_idlers(spec, run, frames, plane, driven, driver)
    line = math.atan2(driver.center[1] - driven.center[1], driver.center[0] - driven.center[0])
    # The pulley whose travel tightens this belt: the one placed by it, else the one that travels at all.
    moving = [(one, other) for one, other in ((driver, driven), (driven, driver)) if one.travel is not None]
    by_this_belt = (
        one
        for one, other in moving
        if getattr(getattr(frames[one.mount].mount.at, "belt", None), "from_", None) == other.mount
    )
    adjusted = next(by_this_belt, moving[0][0] if moving else None)
    # How far the travel is off the direction that takes the adjusted shaft straight away from the other (rad). It
    # stays 0 for a travel across that direction: it does not tighten this belt, which the checks find by themselves.
    off_line = 0.0
    if adjusted is not None and isinstance(adjusted.travel, Straight):
        away = line if adjusted is driver else line + math.pi
        ahead = pose_at(adjusted.travel, 1e-3).point(adjusted.center)
        x, y = ahead[0] - adjusted.center[0], ahead[1] - adjusted.center[1]
        off = math.atan2(y, x) - away
        if math.cos(off) > take_up.LEAST_SHARE:
            off_line = math.atan2(math.sin(off), math.cos(off))  # within half a turn
    # The idlers from the driven shaft, as the belt runs over them: where only they travel, where they tighten it.
    shift: Pose | None = None
    moved = next((one.travel for one in idlers if one.travel is not None), None)
    belt = run.request.belt
    if moved is not None and belt is not None and belt.size is not None and driven.travel is driver.travel is None:

        def wheels(s: float) -> list[Wheel]:
            pose = pose_at(moved, s)
            between = [_wheel(one, shift=pose if one.travel == moved else None) for one in idlers]
            return [_wheel(driven), *between, _wheel(driver)]

        low, high = ends(moved)
        wanted = belt.size.pitch_length
        slack = run_length(wheels(0.0)) < wanted
        found = until(lambda s: run_length(wheels(s)), wanted, high if slack else low)
        shift = None if found is None else pose_at(moved, found)
    request = replace(
        run.request,
        centres=math.dist(driver.center, driven.center),
        idlers=tuple(_wheel(one, driven.center, shift if one.travel == moved else None) for one in idlers),
        line=line,
        off_line=off_line,
    )
    result = located(spec, run.field, lambda: drive.work_out(request))
    name = None if adjusted is None else adjusted.mount
    return PlacedBelt(run.name, driver, driven, idlers, request, result, line, name, run.field)


def _placed_pulley(
    spec: Spec, run: Run, words: PulleyWords, end: str, frame: MountFrame, plane: Plane, in_line: float | None
) -> PlacedPulley:
    field = f"{run.field}.{end}"
    section = run.request.belt.section if run.request.belt else None
    # Speeds and lengths go by the pitch diameter, but what would strike another part is the rim, with its flanges.
    pitch = located(spec, field, lambda: pulley_of(words).pitch(section))
    outside = pitch if section is None else belts.stated_diameter(section, pitch, "outside")
    seat = pulley_seat(spec, words, field, frame.pose, plane)
    span = span_of(spec, words, field, seat, in_line)
    flange, hub = words.flange_diameter, words.hub
    if flange is not None and flange < outside - SAME_LENGTH:
        sizes = [show_length(one, spec.unit) for one in (flange, outside)]
        found, wanted = (
            "flanges of {} on a rim of {}".format(*sizes),
            "flanges stand out past the rim; give their outside",
        )
        raise SpecError((spec.problem(f"{field}.flange_diameter", found, wanted),))
    if hub is not None and (hub.span[0] > span[1] + SAME_LENGTH or hub.span[1] < span[0] - SAME_LENGTH):
        wanted = "a hub and its rim are one piece: its span begins or ends at the rim's, or goes through it"
        raise SpecError((spec.problem(f"{field}.hub.span", "a hub apart from its rim", wanted),))
    return PlacedPulley(
        name=f"{run.name}.{end}",
        belt=run.name,
        mount=words.on,
        side=frame.mount.side,
        center=seat.center,
        pitch_diameter=pitch,
        largest_diameter=max(outside, pitch, words.flange_diameter or 0.0),
        z=seat.z(span),
        travel=plane.travel(frame.travel) if frame.hinge is None else frame.hinge.swing,
        field=field,
        drawn=plane,
        zero=seat.zero,
        sense=seat.sense,
        axis=seat.axis,
        mount_travel=frame.travel,
        end=end,
    )


def _placed_idlers(
    spec: Spec,
    run: Run,
    frames: dict[str, MountFrame],
    plane: Plane,
    driven: PlacedPulley,
    driver: PlacedPulley,
) -> tuple[PlacedPulley, ...]:
    # Idlers come after the pulleys, since one that is placed by a wrap needs both of them.
    poses = {name: frame.pose for name, frame in frames.items()}
    found = idler_wheels(spec, run.words, run.field, plane, poses.get, _wheel(driven), _wheel(driver)) or ()
    wheels = (_wheel(driven), *found, _wheel(driver))
    belt = run.request.belt
    needed = None if belt is None or belt.size is None else needed_lengths(spec, run)
    placed = []
    for index, words in enumerate(run.words.idlers):
        field, wheel = idler_field(run.field, index), wheels[index + 1]
        frame = frames.get(words.on)
        travel = own_travel(spec, words, field, wheels, index + 1, needed) if frame is None else frame.travel
        end = f"idler {index + 1}"
        name = f"{run.name}.{end}"
        # Where an idler is in its belt's plane, and how its span counts along the shafts.
        center = (wheel.x, wheel.y)
        pose = Pose() if frame is None else frame.pose
        if plane.lies:  # from its middle, the way that the driven shaft points
            _, along = given_center(spec, words, field, plane, pose)
            seat = Seated(center, along, driven.sense, None, None)
        else:
            side: Side = "near" if frame is None else frame.mount.side
            standoff = 0.0 if frame is None else frame.mount.standoff
            face = z_range(side, (0.0, 0.0), spec.model.plate.thickness, standoff)[0]
            seat = Seated(center, face, 1.0 if side == "near" else -1.0, None, None)
        placed.append(
            PlacedPulley(
                name=name,
                belt=run.name,
                # with a travel of its own it moves by itself, not with all that is on the plate
                mount=words.on if frame is not None or travel is None else name,
                side="near" if frame is None else frame.mount.side,
                center=seat.center,
                pitch_diameter=words.diameter,
                largest_diameter=words.diameter,
                z=seat.z(span_of(spec, words, field, seat, driven.plane)),
                travel=plane.travel(travel) if frame is None or frame.hinge is None else frame.hinge.swing,
                field=field,
                inside=words.inside,
                drawn=plane,
                zero=seat.zero,
                sense=seat.sense,
                mount_travel=travel,
                end=end,
                screw=None if words.screw is None else tables.screw(words.screw).size,
            )
        )
    return tuple(placed)


def _wheel(pulley: PlacedPulley, origin: Point = (0.0, 0.0), shift: Pose | None = None) -> Wheel:
    # Shifted in the belt's own plane, as travels of pulleys are told there.
    x, y = pulley.center if shift is None else shift.point(pulley.center)
    return Wheel(x - origin[0], y - origin[1], pulley.pitch_diameter, pulley.inside)


# --------------------------------------------------------------------------------------------- bodies


def drive_bodies(
    spec: Spec, runs: tuple[Run, ...], placed: tuple[PlacedBelt, ...], limits: PlateLimits
) -> Iterator[Body]:
    """Pulleys with their hubs, and the straight runs of each belt over the whole travel, as bodies.

    Plate frame, mm.
    """
    for run, belt in zip(runs, placed, strict=True):
        yield from (
            _turning(pulley, pulley.name, pulley.largest_diameter / 2, pulley.z, limits) for pulley in belt.pulleys
        )
        for words, pulley in ((run.words.driver, belt.driver), (run.words.driven, belt.driven)):
            if words.hub is not None:
                low, high = sorted(pulley.zero + pulley.sense * end for end in words.hub.span)
                yield _turning(pulley, f"{pulley.name}.hub", words.hub.diameter / 2, (low, high), limits)
        for idler, pulley in zip(run.words.idlers, belt.idlers, strict=True):
            if idler.screw is not None:
                # The screw that an idler on the plate turns on: its head on the plate's other face, and its shank.
                screw, thickness = tables.screw(idler.screw), spec.model.plate.thickness
                tall, wide = screw.hex_head_height or screw.diameter, screw.hex_across_corners or 2 * screw.diameter
                far = pulley.plane > -thickness / 2
                z = (-thickness - tall, -thickness) if far else (0.0, tall)
                head = _turning(pulley, f"{pulley.name}.head", wide / 2, z, limits)
                yield replace(head, side="far" if far else "near", gap=0.0, pulley=None)  # it stands on the plate
                own = frozenset({pulley.name, head.name})
                reach = (-thickness, pulley.z[1]) if far else (pulley.z[0], 0.0)
                yield replace(
                    _turning(pulley, f"{pulley.name}.pin", screw.diameter / 2, reach, limits),
                    gap=0.0,
                    touches=own,
                    pulley=None,
                )
        yield from _belt_runs(spec, run, belt, limits)


def _turning(pulley: PlacedPulley, name: str, radius: float, z: tuple[float, float], limits: PlateLimits) -> Body:
    """A round part about a pulley's shaft: upright, or lying where its shaft lies along the plate."""
    # The belt's plane is the plate frame while shafts stand square; else the disc lies there, and here is a cylinder.
    shape: Shape = Disc(pulley.center, radius)
    pieces: tuple[Lying, ...] = ()
    if pulley.drawn.lies:
        start, stop = (pulley.drawn.spot(pulley.center, end)[:2] for end in z)
        pieces = (Lying(start, stop, radius, pulley.center[1]),)
        shape, z = pieces[0].silhouette, (pieces[0].low, pieces[0].high)
    return Body(
        name=name,
        belt=pulley.belt,
        pulley=pulley.name,
        kind="pulley",
        carrier=pulley.mount,
        side=pulley.turns_on,
        shape=shape,
        swept=sweep(shape, pulley.mount_travel),
        z=z,
        gap=limits.gap.value,
        relief=False,
        field=pulley.field,
        travel=pulley.mount_travel,
        pieces=pieces,
    )


def _belt_runs(spec: Spec, run: Run, belt: PlacedBelt, limits: PlateLimits) -> Iterator[Body]:
    """Each straight run of the belt: a strip as thick as the belt, and all that it covers over the travel.

    Raises `SpecError` at the drive where two pulleys meet, so that no belt runs between them.
    """
    thickness = belts.section(run.request.belt.section).height if run.request.belt else 0.0
    plane = (belt.driver.plane + belt.driven.plane) / 2
    # Where the pulleys are not quite in line, each run is taken as wide as both rims together.
    half = max(belt_width(belt), abs(belt.driver.plane - belt.driven.plane)) / 2
    touches = {pulley.name for pulley in belt.pulleys} | {f"{pulley.name}.hub" for pulley in belt.pulleys}
    rounds = tuple((_wheel(pulley), pulley.mount, pulley.travel) for pulley in belt.pulleys)
    runs = located(spec, run.field, lambda: _straight_runs(rounds, thickness))
    along = (plane - half, plane + half)
    for index, (shape, swept) in enumerate(runs):
        body = Body(
            name=f"{belt.name}.belt {index + 1}",
            kind="belt",
            carrier=f"{belt.name}.belt",
            side=belt.driver.turns_on if belt.drawn.lies else "far" if plane < 0 else "near",
            shape=shape,
            swept=swept,
            z=along,
            gap=limits.gap.value,
            relief=False,
            field=belt.field,
            belt=belt.name,
            touches=frozenset(touches),
        )
        if (
            belt.drawn.lies
        ):  # drawn in a plane that stands on the plate: brought into the plate frame as a prism that does
            stands, covers = (StandingPrism(one.loop(), belt.drawn.u[:2], *along) for one in (shape, swept))
            z = (covers.low, covers.high)
            body = replace(
                body, shape=stands.silhouette, swept=covers.silhouette, z=z, pieces=(stands,), covers=(covers,)
            )
        yield body


def belt_width(belt: PlacedBelt) -> float:
    """How wide the belt is along the shafts, mm; the narrower rim's width where the belt's own is not known."""
    given = belt.request.belt
    rim = min(pulley.z[1] - pulley.z[0] for pulley in (belt.driver, belt.driven))
    if given is None:
        return rim
    section = belts.section(given.section)
    own = section.top_width * given.count or section.pitch * given.ribs or given.width
    return own or rim


@lru_cache(maxsize=64)  # a belt whose pulleys stand still runs as before
def _straight_runs(rounds: tuple[tuple[Wheel, str, Travel], ...], thickness: float) -> tuple[tuple[Shape, Shape], ...]:
    """The straight runs of a belt so thick round wheels, each with the mount that carries it and its travel (mm, rad).

    Each run as it is at nominal, and all that it covers over the travels. Raises `DriveError` where two wheels meet.
    """
    # A run turns as its pulleys travel, so what it covers is no sweep of a shape: it is drawn at several positions of
    # all travels, and the hull of these is taken, which is never less than what lies between them.
    nominal = _strips([wheel for wheel, _, _ in rounds], thickness)
    travels: dict[str, Travel] = {mount: travel for _, mount, travel in rounds if travel is not None}
    steps: list[list[Pose]] = []
    for travel in travels.values():
        low, high = ends(travel)
        spread = (low + (high - low) * step / (BELT_POSITIONS - 1) for step in range(BELT_POSITIONS))
        steps.append([pose_at(travel, at) for at in spread])
    moved: list[list[Shape]] = []
    for poses in product(*steps) if travels else ():
        shifts = dict(zip(travels, poses, strict=True))
        wheels = []
        for wheel, mount, _ in rounds:
            x, y = shifts[mount].point((wheel.x, wheel.y)) if mount in shifts else (wheel.x, wheel.y)
            wheels.append(Wheel(x, y, wheel.diameter, wheel.inside))
        # where two pulleys meet on their way the belt has no run; that they meet is found by the checks
        with contextlib.suppress(DriveError):
            moved.append(_strips(wheels, thickness))
    return tuple(
        (shape, hull([shape, *(strips[index] for strips in moved)]) if moved else shape)
        for index, shape in enumerate(nominal)
    )


def _strips(wheels: Sequence[Wheel], thickness: float) -> list[Shape]:
    """The straight runs of a belt so thick (mm). Raises `DriveError` where wheels meet."""
    return [slot(span.start, span.end, thickness) for span in route(wheels).spans]

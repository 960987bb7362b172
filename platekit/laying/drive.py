"""The belt drive in the layout: which belt runs where, where it puts the motor, how far that must travel."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from itertools import product
from typing import TYPE_CHECKING, TypeVar

from msgspec import Struct
from msgspec.structs import replace

from platekit import drive
from platekit.drive import DriveRequest, take_up
from platekit.drive.route import Wheel, route
from platekit.drive.working import efficiency
from platekit.errors import DriveError, LookupFailed, SpecError
from platekit.geometry import Disc, Point, Pose, Shape, Straight, Travel, ends, hull, pose_at, slot, sweep
from platekit.laying.spans import z_range
from platekit.placed import Body, Limits, PlacedBelt, PlacedPulley, Side
from platekit.spec import Spec
from platekit.spec.drive_words import LENGTHS, CurvePoint, DriveWords, HubWords, IdlerWords, PulleyWords, Stage
from platekit.tables import belts
from platekit.tables.belts.sections import LENGTH_KINDS

if TYPE_CHECKING:
    from platekit.laying.mounts import Frame, Places

T = TypeVar("T")

BELT_POSITIONS = 9
"""Positions of each travel at which the belt's runs are drawn; the hull of them covers what lies between (ours)."""


class Run(Struct, frozen=True):
    """One belt before its shafts have their places: the words of the spec and the request that follows from them."""

    name: str
    field: str
    words: Stage
    request: DriveRequest

    def pulley_on(self, mount: str) -> PulleyWords | None:
        """The pulley that this mount carries."""
        return next((pulley for pulley in (self.words.driver, self.words.driven) if pulley.on == mount), None)

    def joins(self, one: str, other: str) -> bool:
        """Whether the belt runs between these two mounts."""
        return {self.words.driver.on, self.words.driven.on} == {one, other}


def runs_of(spec: Spec) -> tuple[Run, ...]:
    """The belts of the spec, motor first; raises `SpecError` for a belt or pulley that does not exist."""
    words = spec.model.drive
    if words is None:
        return ()
    last = words.second is None
    first = _run(spec, "drive", "drive", words, words, before=1.0, wanted=last)
    if words.second is None:
        return (first,)
    ratio = _located(spec, "drive", lambda: _pitch(first, words.driven) / _pitch(first, words.driver))
    second = _run(spec, "second", "drive.second", words, words.second, before=ratio, wanted=True)
    both = efficiency(first.request) * efficiency(second.request)
    return (first, replace(second, request=replace(second.request, efficiency=both)))


def _pitch(run: Run, pulley: PulleyWords) -> float:
    return _pulley(pulley).pitch(run.request.belt.section if run.request.belt else None)


def _run(spec: Spec, name: str, field: str, whole: DriveWords, stage: Stage, before: float, wanted: bool) -> Run:
    def request() -> DriveRequest:
        setting = whole.inverter or whole.voltage
        made = DriveRequest(
            motor=_motor(whole),
            driver=_pulley(stage.driver),
            driven=_pulley(stage.driven),
            belt=_belt(spec, stage),
            setting=None if setting is None else drive.Range(setting.from_, setting.to),
            wanted=_wanted(whole) if wanted else drive.Wanted(),
            efficiency=whole.efficiency,
            before=before,
        )
        return made if whole.service_factor is None else replace(made, service_factor=whole.service_factor)

    return Run(name, field, stage, _located(spec, f"{field}.belt", request))


def _motor(words: DriveWords) -> drive.Motor | None:
    given = words.motor
    if given is None:
        return None
    motor = drive.Motor(
        power_w=given.power or 0.0,
        speed_rpm=given.speed or 0.0,
        frequency_hz=given.frequency or 0.0,
        max_speed_rpm=given.max_speed,
        kind=given.kind,
        loaded=_corner(given.loaded),
        light=_corner(given.light),
    )
    return motor if given.constant_power_to is None else replace(motor, constant_power_to=given.constant_power_to)


def _corner(point: CurvePoint | None) -> tuple[float, float] | None:
    return None if point is None else (point.speed, point.torque)


def _wanted(words: DriveWords) -> drive.Wanted:
    given = words.wanted
    if given is None:
        return drive.Wanted()
    speeds = None if given.from_ is None or given.to is None else drive.Range(given.from_, given.to)
    return drive.Wanted(speeds, given.torque, given.tool_diameter, given.tool_max_speed)


def _pulley(words: PulleyWords) -> drive.Pulley:
    return drive.Pulley(
        words.pitch_diameter, words.effective_diameter, words.outside_diameter, words.teeth, words.material
    )


def _belt(spec: Spec, stage: Stage) -> drive.Belt:
    words = stage.belt
    if words.size is not None:
        belt = drive.Belt.of_trade_size(words.size, words.count)
        return replace(belt, ribs=words.ribs or belt.ribs, width=words.width or belt.width)
    assert words.section is not None
    belt = drive.Belt(words.section, count=words.count, ribs=words.ribs or 0, width=words.width or 0.0)
    for key in LENGTHS:
        if getattr(words, key) is not None:
            kind = next(kind for kind in LENGTH_KINDS if key.startswith(kind))
            return replace(belt, length=getattr(words, key), of=kind)
    return replace(belt, length=_nearest_stock(spec, stage, belt), of="pitch")


def _nearest_stock(spec: Spec, stage: Stage, belt: drive.Belt) -> float:
    """The pitch length (mm) of the stock belt nearest to the places of the shafts."""
    near = stage.belt.near or _given_distance(spec, stage)
    if near is None:
        raise DriveError("to choose a belt, give `near: CENTRE DISTANCE`, or both mounts a place of their own")
    driver, driven = (_pulley(pulley).pitch(belt.section) for pulley in (stage.driver, stage.driven))
    length = drive.belt_length(near, driver, driven)
    return belts.nearest_stock(belt.section, length, 1)[0].pitch_length


def _given_distance(spec: Spec, stage: Stage) -> float | None:
    """The distance of the two shafts (mm) when neither place is left to a belt."""
    from platekit.laying.mounts import pose_of_given

    shafts = []
    for pulley in (stage.driver, stage.driven):
        pose = pose_of_given(spec, pulley.on)
        if pose is None:
            return None
        shafts.append(pose.point(pulley.at))
    return math.dist(*shafts)


# --------------------------------------------------------------------------------------------- places


def belt_between(spec: Spec, runs: tuple[Run, ...], mount: str, other: str) -> Run:
    """The belt that runs between two mounts; `SpecError` if there is none."""
    for run in runs:
        if run.joins(mount, other):
            return run
    wanted = f"the drive has no belt between {mount} and {other}; put its two pulleys on them"
    raise SpecError((spec.problem(f"mounts.{mount}.at.belt.from", other, wanted),))


def centre_distance(spec: Spec, run: Run, idlers: tuple[Wheel, ...], line: float) -> float:
    """The distance of the two shafts (mm) that the belt asks for; `line` from the driven shaft to the driver's."""
    request = replace(run.request, motor=None, idlers=idlers, line=line)
    return _located(spec, f"{run.field}.belt", lambda: drive.work_out(request)).centre_distance


def idler_wheels(run: Run, places: Places, origin: Point, mount: str) -> tuple[Wheel, ...]:
    """The idlers of a belt as wheels, measured from the driven shaft; one on the mount itself cannot place it."""
    wheels = []
    for index, idler in enumerate(run.words.idlers):
        if idler.on == mount:
            wanted = f"put the idler on another mount or the plate: {mount} gets its place from this belt"
            raise SpecError((places.spec.problem(f"{run.field}.idlers.{index}.on", mount, wanted),))
        pose = Pose() if idler.on not in places.spec.model.mounts else places.pose(idler.on)
        x, y = pose.point(idler.at)
        wheels.append(Wheel(x - origin[0], y - origin[1], idler.diameter, idler.inside))
    return tuple(wheels)


def needed_travel(spec: Spec, run: Run, placed: float) -> take_up.Travel:
    """What the belt needs between its shortest and longest centre distance, told from where the shafts are placed."""

    def needed() -> take_up.Travel:
        belt = run.request.belt
        assert belt is not None
        size = belt.size
        assert size is not None
        small, large = sorted(pulley.pitch(belt.section) for pulley in (run.request.driver, run.request.driven))
        travel = take_up.travel(belt.section, size.pitch_length, small, large)
        return replace(travel, nominal=placed, install=placed - travel.shortest, tension=travel.longest - placed)

    return _located(spec, f"{run.field}.belt", needed)


def straight_travel(spec: Spec, mount: str, needed: take_up.Travel, off: float) -> tuple[float, float]:
    """Install and tension travel (mm) along a slot `off` radians from the line of centres."""
    field = f"mounts.{mount}.take_up.slots.along"
    found = _located(spec, field, lambda: take_up.along_slot(needed, off))
    return max(found.install, 0.0), max(found.tension, 0.0)


def swinging_travel(
    spec: Spec, mount: str, needed: take_up.Travel, pivot: Point, shaft: Point, other: Point
) -> tuple[float, float]:
    """Install and tension turn (rad) about a pivot."""
    field = f"mounts.{mount}.take_up.swing.about"
    arm, base = math.dist(pivot, shaft), math.dist(pivot, other)
    install, tension = _located(spec, field, lambda: take_up.swing_range(needed, arm, base))
    return max(install, 0.0), max(tension, 0.0)


def _located(spec: Spec, field: str, work: Callable[[], T]) -> T:
    """What `work` gives; a drive or name that does not exist becomes a problem at `field`."""
    try:
        return work()
    except (DriveError, LookupFailed) as error:
        why, mark, remedy = str(error).partition("; ")
        found, wanted = (f"that {why}", remedy) if mark else ("a drive that does not work out", why)
        raise SpecError((spec.problem(field, found, wanted),)) from error


# --------------------------------------------------------------------------------------------- placed


def placed_belts(spec: Spec, runs: tuple[Run, ...], frames: dict[str, Frame]) -> tuple[PlacedBelt, ...]:
    """Every belt over its pulleys where they go, worked out with the true distance of its shafts."""
    return tuple(_placed(spec, run, frames) for run in runs)


def _placed(spec: Spec, run: Run, frames: dict[str, Frame]) -> PlacedBelt:
    driver = _placed_pulley(spec, run, run.words.driver, f"{run.name}.driver", f"{run.field}.driver", frames)
    driven = _placed_pulley(spec, run, run.words.driven, f"{run.name}.driven", f"{run.field}.driven", frames)
    idlers = tuple(
        _placed_idler(spec, idler, f"{run.name}.idler {index}", f"{run.field}.idlers.{index - 1}", frames)
        for index, idler in enumerate(run.words.idlers, start=1)
    )
    line = math.atan2(driver.center[1] - driven.center[1], driver.center[0] - driven.center[0])
    adjusted = _adjusted(frames, driver, driven)
    request = replace(
        run.request,
        centres=math.dist(driver.center, driven.center),
        idlers=tuple(_wheel(idler, driven.center) for idler in idlers),
        line=line,
        off_line=_off_line(adjusted, driver, driven, line),
    )
    result = _located(spec, run.field, lambda: drive.work_out(request))
    name = None if adjusted is None else adjusted.mount
    return PlacedBelt(run.name, driver, driven, idlers, request, result, line, name, run.field)


def _placed_pulley(
    spec: Spec, run: Run, words: PulleyWords, name: str, field: str, frames: dict[str, Frame]
) -> PlacedPulley:
    frame = frames[words.on]
    section = run.request.belt.section if run.request.belt else None
    pitch = _located(spec, field, lambda: _pulley(words).pitch(section))
    outside = pitch if section is None else belts.stated_diameter(section, pitch, "outside")
    return PlacedPulley(
        name=name,
        mount=words.on,
        side=frame.mount.side,
        center=frame.pose.point(words.at),
        pitch_diameter=pitch,
        largest_diameter=max(outside, pitch, words.flange_diameter or 0.0),
        z=z_range(frame.mount.side, words.span, spec.model.plate.thickness, frame.mount.standoff),
        travel=frame.travel,
        field=field,
    )


def _placed_idler(spec: Spec, words: IdlerWords, name: str, field: str, frames: dict[str, Frame]) -> PlacedPulley:
    frame = frames.get(words.on)
    pose = Pose() if frame is None else frame.pose
    side: Side = "near" if frame is None else frame.mount.side
    standoff = 0.0 if frame is None else frame.mount.standoff
    return PlacedPulley(
        name=name,
        mount=words.on,
        side=side,
        center=pose.point(words.at),
        pitch_diameter=words.diameter,
        largest_diameter=words.diameter,
        z=z_range(side, words.span, spec.model.plate.thickness, standoff),
        travel=None if frame is None else frame.travel,
        field=field,
        inside=words.inside,
    )


def _wheel(pulley: PlacedPulley, origin: Point = (0.0, 0.0), shift: Pose | None = None) -> Wheel:
    x, y = pulley.center if shift is None else shift.point(pulley.center)
    return Wheel(x - origin[0], y - origin[1], pulley.pitch_diameter, pulley.inside)


def _adjusted(frames: dict[str, Frame], driver: PlacedPulley, driven: PlacedPulley) -> PlacedPulley | None:
    """The pulley whose travel tightens this belt: the one placed by it, else the one that travels at all."""
    for pulley, other in ((driver, driven), (driven, driver)):
        at = frames[pulley.mount].mount.at
        if pulley.travel is not None and getattr(getattr(at, "belt", None), "from_", None) == other.mount:
            return pulley
    return next((pulley for pulley in (driver, driven) if pulley.travel is not None), None)


def _off_line(adjusted: PlacedPulley | None, driver: PlacedPulley, driven: PlacedPulley, line: float) -> float:
    """Angle of the travel to the direction that takes the adjusted shaft straight away from the other (rad).

    0 for a travel across that direction: it does not tighten this belt, which the checks find by themselves.
    """
    if adjusted is None or not isinstance(adjusted.travel, Straight):
        return 0.0
    away = line if adjusted is driver else line + math.pi
    ahead = pose_at(adjusted.travel, 1e-3).point(adjusted.center)
    x, y = ahead[0] - adjusted.center[0], ahead[1] - adjusted.center[1]
    off = math.atan2(y, x) - away
    return math.atan2(math.sin(off), math.cos(off)) if math.cos(off) > take_up.LEAST_SHARE else 0.0


# --------------------------------------------------------------------------------------------- bodies


def drive_bodies(spec: Spec, runs: tuple[Run, ...], placed: tuple[PlacedBelt, ...], limits: Limits) -> Iterator[Body]:
    """Pulleys with their hubs, and the straight runs of each belt over the whole travel, as bodies."""
    for run, belt in zip(runs, placed, strict=True):
        yield from (_rim(pulley, limits) for pulley in belt.pulleys)
        for words, pulley in ((run.words.driver, belt.driver), (run.words.driven, belt.driven)):
            if words.hub is not None:
                yield _hub(spec, words.hub, pulley, limits)
        yield from _belt_runs(spec, run, belt, limits)


def _rim(pulley: PlacedPulley, limits: Limits) -> Body:
    shape = Disc(pulley.center, pulley.largest_diameter / 2)
    return _turning(pulley, pulley.name, shape, pulley.z, limits)


def _hub(spec: Spec, hub: HubWords, pulley: PlacedPulley, limits: Limits) -> Body:
    standoff = spec.model.mounts[pulley.mount].standoff
    z = z_range(pulley.side, hub.span, spec.model.plate.thickness, standoff)
    return _turning(pulley, f"{pulley.name}.hub", Disc(pulley.center, hub.diameter / 2), z, limits)


def _lies_on(pulley: PlacedPulley) -> Side:
    """The side that a pulley is on: on a shaft through the plate it is behind it, whichever side its part is on."""
    if pulley.side == "near":
        return "near" if pulley.z[1] > 0 else "far"
    return "near" if pulley.z[0] >= 0 else "far"


def _turning(pulley: PlacedPulley, name: str, shape: Shape, z: tuple[float, float], limits: Limits) -> Body:
    return Body(
        name=name,
        kind="pulley",
        carrier=pulley.mount,
        side=_lies_on(pulley),
        shape=shape,
        swept=sweep(shape, pulley.travel),
        z=z,
        gap=limits.gap.value,
        relief=False,
        field=pulley.field,
        travel=pulley.travel,
    )


def _belt_runs(spec: Spec, run: Run, belt: PlacedBelt, limits: Limits) -> Iterator[Body]:
    """Each straight run of the belt: a strip as thick as the belt, and all that it covers over the travel.

    Raises `SpecError` at the drive where two pulleys meet, so that no belt runs between them.
    """
    thickness = belts.section(run.request.belt.section).height if run.request.belt else 0.0
    plane = (belt.driver.plane + belt.driven.plane) / 2
    half = max(belt_width(belt), abs(belt.driver.plane - belt.driven.plane)) / 2
    touches = {pulley.name for pulley in belt.pulleys} | {f"{pulley.name}.hub" for pulley in belt.pulleys}
    nominal = _located(spec, run.field, lambda: _strips(belt, {}, thickness))
    moved = [strips for shifts in _positions(belt) if (strips := _strips_if_any(belt, shifts, thickness))]
    for index, shape in enumerate(nominal):
        swept = hull([shape, *(strips[index] for strips in moved)]) if moved else shape
        yield Body(
            name=f"{belt.name}.belt {index + 1}",
            kind="belt",
            carrier=f"{belt.name}.belt",
            side="far" if plane < 0 else "near",
            shape=shape,
            swept=swept,
            z=(plane - half, plane + half),
            gap=limits.gap.value,
            relief=False,
            field=belt.field,
            touches=frozenset(touches),
        )


def belt_width(belt: PlacedBelt) -> float:
    """How wide the belt is along the shafts, mm; the narrower rim's width where the belt's own is not known."""
    given = belt.request.belt
    rim = min(pulley.z[1] - pulley.z[0] for pulley in (belt.driver, belt.driven))
    if given is None:
        return rim
    section = belts.section(given.section)
    own = section.top_width * given.count or section.pitch * given.ribs or given.width
    return own or rim


def _positions(belt: PlacedBelt) -> Iterator[dict[str, Pose]]:
    """Poses of the mounts that travel, at every combination of their positions."""
    travels: dict[str, Travel] = {p.mount: p.travel for p in belt.pulleys if p.travel is not None}
    if not travels:
        return
    steps = [[pose_at(travel, at) for at in _spread(travel)] for travel in travels.values()]
    for poses in product(*steps):
        yield dict(zip(travels, poses, strict=True))


def _spread(travel: Travel) -> list[float]:
    low, high = ends(travel)
    return [low + (high - low) * step / (BELT_POSITIONS - 1) for step in range(BELT_POSITIONS)]


def _strips_if_any(belt: PlacedBelt, shifts: dict[str, Pose], thickness: float) -> list[Shape]:
    """The runs at one position of the travel; none where two pulleys meet and the belt has no run."""
    try:
        return _strips(belt, shifts, thickness)
    except DriveError:
        return []


def _strips(belt: PlacedBelt, shifts: dict[str, Pose], thickness: float) -> list[Shape]:
    wheels = [_wheel(pulley, shift=shifts.get(pulley.mount)) for pulley in belt.pulleys]
    return [slot(span.start, span.end, thickness) for span in route(wheels).spans]

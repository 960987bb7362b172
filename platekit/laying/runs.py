"""Belts before their shafts have places: the words of the spec made a request, and what it asks of the mounts."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import partial
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from platekit import drive
from platekit.drive import DriveRequest, take_up
from platekit.drive.request import USUAL_FIGURES
from platekit.drive.route import Wheel, centres_with_idlers, taut
from platekit.drive.working import efficiency
from platekit.errors import DriveError, SpecError
from platekit.geometry import Point
from platekit.laying.axes import plane_of, pulley_seat
from platekit.laying.given_places import given_pose
from platekit.laying.idlers import idler_wheels
from platekit.laying.located import located
from platekit.laying.twisted import is_twisted, twisted_belt
from platekit.placed import Twisted
from platekit.spec import Spec
from platekit.spec.coupling_words import CouplingWords
from platekit.spec.drive_words import LENGTHS, DriveWords, PulleyWords, Stage
from platekit.spec.models import BeltPlace
from platekit.tables import belts
from platekit.tables.belts.sections import LENGTH_KINDS


class Run(Struct, frozen=True):
    """One belt before its shafts have their places: the words of the spec and the request that follows from them."""

    name: str
    field: str
    words: Stage
    request: DriveRequest

    def pulley_on(self, mount: str) -> PulleyWords | None:
        """The pulley that this mount carries."""
        return next((pulley for pulley in (self.words.driver, self.words.driven) if pulley.on == mount), None)

    def pitch(self, pulley: PulleyWords) -> float:
        """The pitch diameter (mm) of one of its pulleys, in the groove of its belt."""
        return pulley_of(pulley).pitch(self.request.belt.section if self.request.belt else None)

    def field_of(self, pulley: PulleyWords) -> str:
        """Where one of its two pulleys stands in the spec."""
        return f"{self.field}.{'driver' if pulley is self.words.driver else 'driven'}"

    @property
    def carries_idlers(self) -> frozenset[str]:
        """What carries the idlers of this belt."""
        return frozenset(idler.on for idler in self.words.idlers)

    def joins(self, one: str, other: str) -> bool:
        """Whether the belt runs between these two mounts."""
        return {self.words.driver.on, self.words.driven.on} == {one, other}


class _FromOneShaft(Struct, frozen=True):
    """A belt seen from the shaft of `first`: idlers from there (mm), and the direction (rad) to the shaft of `last`.

    Idlers that follow the shafts are told for each centre distance.
    """

    first: PulleyWords
    last: PulleyWords
    idlers: Callable[[float], Sequence[Wheel]]
    line: float


def pitches(run: Run) -> tuple[float, float]:
    """Pitch diameters of the driven pulley and the driver, mm."""
    section = run.request.belt.section if run.request.belt else None
    return run.request.driven.pitch(section), run.request.driver.pitch(section)


def runs_of(spec: Spec) -> tuple[Run, ...]:
    """The belts of the spec, motor first; raises `SpecError` for a belt or pulley that does not exist."""
    words = spec.model.drive
    if words is None:
        return ()
    last = words.second is None
    if is_twisted(words):  # no belt in one plane: said to be there, by `twisted_of`, and laid out nowhere
        twisted_of(spec)
        return ()
    first = _run(spec, "drive", "drive", words, words, before=1.0, wanted=last)
    if words.second is None:
        return (first,)
    # What the first belt does to the speed comes before the second one, which then sees a motor that much slower.
    ratio = located(spec, "drive", lambda: first.pitch(words.driven) / first.pitch(words.driver))
    second = _run(spec, "second", "drive.second", words, words.second, before=ratio, wanted=True)
    both = efficiency(first.request) * efficiency(second.request)
    return (first, replace(second, request=replace(second.request, efficiency=both)))


def twisted_of(spec: Spec) -> Twisted | None:
    """The belt that the spec says is meant to be twisted; None where there is none.

    Raises `SpecError` for a belt or pulley that does not exist, and for what would have to follow from such a belt.
    """
    words = spec.model.drive
    if words is None or not is_twisted(words):
        return None
    if words.belt.choose:  # before a length is chosen for shafts in one plane
        section = words.belt.section
        assert section is not None
        return twisted_belt(spec, words, "drive", located(spec, "drive.belt", lambda: belts.section(section).name))
    run = _run(spec, "drive", "drive", words, words, before=1.0, wanted=True)
    located(spec, "drive", lambda: pitches(run))
    assert run.request.belt is not None
    return twisted_belt(spec, words, "drive", run.request.belt.section)


def _run(spec: Spec, name: str, field: str, whole: DriveWords, stage: Stage, before: float, wanted: bool) -> Run:
    # Made inside `located`, so that whatever the drive refuses is said at the belt that it is about.
    def request() -> DriveRequest:
        setting = whole.inverter or whole.voltage
        made = DriveRequest(
            motor=motor_of(whole),
            driver=pulley_of(stage.driver),
            driven=pulley_of(stage.driven),
            belt=belt_of(spec, stage, field),
            setting=None if setting is None else drive.Range(setting.from_, setting.to),
            wanted=target_of(whole) if wanted else drive.DriveTarget(),
            efficiency=whole.efficiency,
            before=before,
            own=frozenset(key for key in USUAL_FIGURES if getattr(whole, key) is not None),
        )
        if whole.service_factor is not None:
            return replace(made, service_factor=whole.service_factor)
        if whole.machine is None:
            return made
        # a series-wound motor pulls away hard whatever it drives
        start: Literal["soft", "hard"] = "hard" if made.motor is not None and made.motor.kind == "universal" else "soft"
        service = belts.service_factor(whole.machine, whole.hours, start)
        return replace(made, service_factor=service.factor, service_by=service)

    return Run(name, field, stage, located(spec, f"{field}.belt", request))


def motor_of(words: DriveWords | CouplingWords) -> drive.Motor | None:
    """The motor of the spec as the drive is worked out with it: W, rpm, Hz, N; None where the spec tells none."""
    given = words.motor
    if given is None:
        return None
    motor = drive.Motor(
        power_w=given.power or 0.0,
        speed_rpm=given.speed or 0.0,
        frequency_hz=given.frequency or 0.0,
        max_speed_rpm=given.max_speed,
        shaft_load_n=given.shaft_load,
        kind=given.kind,
        loaded=None if given.loaded is None else (given.loaded.speed, given.loaded.torque),
        no_load=None if given.no_load is None else (given.no_load.speed, given.no_load.torque),
    )
    return motor if given.constant_power_to is None else replace(motor, constant_power_to=given.constant_power_to)


def target_of(words: DriveWords) -> drive.DriveTarget:
    """What the spec wants of the driven shaft: rpm, Nm, the tool's diameter in mm; nothing where it tells none."""
    given = words.wanted
    if given is None:
        return drive.DriveTarget()
    speeds = None if given.from_ is None or given.to is None else drive.Range(given.from_, given.to)
    return drive.DriveTarget(speeds, given.torque, given.tool_diameter, given.tool_max_speed)


def pulley_of(words: PulleyWords) -> drive.Pulley:
    """A pulley of the spec as the drive is worked out with it."""
    return drive.Pulley(
        words.pitch_diameter, words.effective_diameter, words.outside_diameter, words.teeth, words.material
    )


def belt_of(spec: Spec, stage: Stage, field: str) -> drive.Belt:
    """The belt of the spec: by its trade size, by a length (mm), or the stock one nearest to the places of the shafts.

    Raises `DriveError` where no stock belt will do, or nothing tells where the shafts are.
    """
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
    return replace(belt, length=_nearest_stock(spec, stage, field, belt), of="pitch")


def _nearest_stock(spec: Spec, stage: Stage, field: str, belt: drive.Belt) -> float:
    """The pitch length (mm) of the stock belt nearest to the places of the shafts."""
    near = stage.belt.near
    if near is None:  # where neither place is left to a belt, the distance of the shafts says it
        plane = plane_of(spec, stage, field)
        ends = (("driver", stage.driver), ("driven", stage.driven))
        poses = [(end, pulley, given_pose(spec, pulley.on)) for end, pulley in ends]
        shafts = [
            pulley_seat(spec, pulley, f"{field}.{end}", pose, plane).center for end, pulley, pose in poses if pose
        ]
        near = math.dist(*shafts) if len(shafts) == len(ends) else None
    if near is None:
        raise DriveError("to choose a belt, give `near: CENTRE DISTANCE`, or both mounts a place of their own")
    driver, driven = (pulley_of(pulley).pitch(belt.section) for pulley in (stage.driver, stage.driven))
    placed = _given_idlers(spec, stage, field) if stage.idlers else None
    if placed is None:
        length = drive.belt_length(near, driver, driven)
        return belts.nearest_stock(belt.section, length, 1)[0].pitch_length
    first, last = (pulley_of(pulley).pitch(belt.section) for pulley in (placed.first, placed.last))
    # Over idlers the centre distance of a length has no closed form that could be turned round: every stock length is
    # tried, and of two as near the shorter one is taken.
    best: tuple[float, float] | None = None
    for size in belts.stock(belt.section):
        try:
            found = centres_with_idlers(size.pitch_length, last, first, placed.idlers, placed.line)
        except DriveError:  # too short to go round all of them, or so long that one does not touch
            continue
        off = (round(abs(found - near), 6), size.pitch_length)
        best = off if best is None else min(best, off)
    if best is None:
        raise DriveError("no belt in stock goes round these pulleys and idlers", "move the idlers, or name the belt")
    return best[1]


def _given_idlers(spec: Spec, stage: Stage, field: str) -> _FromOneShaft | None:
    """The belt's way from the shaft that has a place of its own; None where idlers or shafts wait for this belt."""
    plane = plane_of(spec, stage, field)
    (end, first), (other_end, last), drives = ("driven", stage.driven), ("driver", stage.driver), True
    if given_pose(spec, first.on) is None:
        (end, first), (other_end, last), drives = (other_end, last), (end, first), False
    start, other = given_pose(spec, first.on), given_pose(spec, last.on)
    at = spec.model.mounts[last.on].at
    if start is None:
        return None
    origin = pulley_seat(spec, first, f"{field}.{end}", start, plane).center
    if other is not None:
        shaft = pulley_seat(spec, last, f"{field}.{other_end}", other, plane).center
        line = math.atan2(shaft[1] - origin[1], shaft[0] - origin[0])
    # The other shaft hangs on this belt: its direction is given, its distance is what is being asked.
    elif isinstance(at, BeltPlace) and not plane.lies:
        line = at.belt.angle
    else:
        return None
    section = stage.belt.section
    told = ((end, pulley_of(first)), (other_end, pulley_of(last)))
    sizes = {which: located(spec, f"{field}.{which}", partial(pulley.pitch, section)) for which, pulley in told}

    def wheels(centres: float) -> tuple[Wheel, ...] | None:
        here = Wheel(*origin, sizes[end])
        there = Wheel(origin[0] + centres * math.cos(line), origin[1] + centres * math.sin(line), sizes[other_end])
        driven, driver = (here, there) if drives else (there, here)
        return idler_wheels(spec, stage, field, plane, lambda name: given_pose(spec, name), driven, driver)

    def seen(centres: float) -> tuple[Wheel, ...]:
        found = wheels(centres) or ()
        # `centres_with_idlers` counts wheels from the first shaft; seen from the driver the belt is run backwards.
        moved = tuple(replace(one, x=one.x - origin[0], y=one.y - origin[1]) for one in found)
        return moved if drives else moved[::-1]

    # Asked at a distance where the pulleys surely do not touch, only whether every idler has a place by now.
    return None if wheels(sum(sizes.values())) is None else _FromOneShaft(first, last, seen, line)


# --------------------------------------------------------------------------------------------- places


def belt_between(spec: Spec, runs: tuple[Run, ...], mount: str, other: str) -> Run:
    """The belt that runs between two mounts; `SpecError` if there is none."""
    for run in runs:
        if run.joins(mount, other):
            return run
    wanted = f"the drive has no belt between {mount} and {other}; put its two pulleys on them"
    raise SpecError((spec.problem(f"mounts.{mount}.at.belt.from", other, wanted),))


def centre_distance(spec: Spec, run: Run) -> float:
    """The distance of the two shafts (mm) that a belt without idlers asks for."""
    request = replace(run.request, motor=None, idlers=())
    return located(spec, f"{run.field}.belt", lambda: drive.work_out(request)).centre_distance


def shaft_by_belt(
    spec: Spec,
    run: Run,
    fixed: Point,
    way: Callable[[float], Point],
    reach: tuple[float, float],
    drives: bool,
    wheels_between: Callable[[Wheel, Wheel], tuple[Wheel, ...]],
) -> Point:
    """Where on its way a shaft makes the belt taut over its idlers, in the belt's plane (mm).

    `fixed` is the other shaft, `way(s)` the shaft's place, `reach` the least and greatest s to look in; `drives` says
    that the moving shaft is the driver's, and `wheels_between(driven, driver)` gives the idlers.
    """
    request = run.request
    belt = request.belt
    assert belt is not None
    assert belt.size is not None
    length = belt.size.pitch_length
    sizes = located(spec, run.field, lambda: pitches(run))

    def pulleys(s: float) -> tuple[Wheel, Wheel]:
        ends = (fixed, way(s)) if drives else (way(s), fixed)
        return Wheel(*ends[0], sizes[0]), Wheel(*ends[1], sizes[1])

    def wheels(s: float) -> list[Wheel]:
        driven, driver = pulleys(s)
        try:
            return [driven, *wheels_between(driven, driver), driver]
        except SpecError:  # a wrap that cannot be had with the shafts so near: the belt runs straight
            return [driven, driver]

    # Where the belt is taut is found by halving, since with idlers each distance gives another way round.
    found = located(spec, f"{run.field}.idlers", lambda: taut(length, wheels, *reach))
    wheels_between(*pulleys(found))  # where the belt is taut, each idler must have its place
    return way(found)


def needed_travel(spec: Spec, run: Run, placed: float) -> take_up.Travel:
    """What a belt without idlers needs from shafts placed so far apart (mm)."""

    def needed() -> take_up.Travel:
        belt = run.request.belt
        assert belt is not None
        size = belt.size
        assert size is not None
        # Without idlers it does not matter which pulley drives.
        small, large = sorted(pulley.pitch(belt.section) for pulley in (run.request.driver, run.request.driven))
        travel = take_up.travel(belt.section, size.pitch_length, small, large)
        return replace(travel, nominal=placed, install=placed - travel.shortest, tension=travel.longest - placed)

    return located(spec, f"{run.field}.belt", needed)


def needed_lengths(spec: Spec, run: Run) -> take_up.LengthRange:
    """The lengths of its way round that a belt with idlers needs."""

    def needed() -> take_up.LengthRange:
        belt = run.request.belt
        assert belt is not None
        assert belt.size is not None
        return take_up.length_range(belt.section, belt.size.pitch_length)

    return located(spec, f"{run.field}.belt", needed)


def straight_travel(spec: Spec, mount: str, needed: take_up.Travel, off: float) -> tuple[float, float]:
    """Install and tension travel (mm) along a slot `off` radians from the line of centres."""
    field = f"mounts.{mount}.take_up.slots.along"
    found = located(spec, field, lambda: take_up.along_slot(needed, off))
    # A belt laid out tighter than nominal may need less than nothing one way: a slot has no negative length.
    return max(found.install, 0.0), max(found.tension, 0.0)


def swinging_travel(
    spec: Spec, mount: str, needed: take_up.Travel, pivot: Point, shaft: Point, other: Point
) -> tuple[float, float]:
    """Install and tension turn (rad) about a pivot."""
    field = f"mounts.{mount}.take_up.swing.about"
    arm, base = math.dist(pivot, shaft), math.dist(pivot, other)
    install, tension = located(spec, field, lambda: take_up.swing_range(needed, arm, base))
    return max(install, 0.0), max(tension, 0.0)

"""Where the mounts go: patterns in their own frame, poses with the mirror settled, travel."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from platekit import tables
from platekit.drive import take_up
from platekit.drive.route import Wheel, lengthens, run_length
from platekit.errors import Problem, SpecError
from platekit.geometry import (
    Disc,
    Plane,
    Point,
    Pose,
    Straight,
    Swing,
    Travel,
    mirrored_matches,
    pose_at,
)
from platekit.laying.axes import Seated, plane_of, pulley_seat, span_of
from platekit.laying.given_places import on_the_ray, shows_its_back
from platekit.laying.holes import Holes, pattern_of
from platekit.laying.idlers import FARTHEST_SWING, idler_wheels, travel_ends
from platekit.laying.located import located
from platekit.laying.runs import (
    Run,
    belt_between,
    centre_distance,
    needed_lengths,
    needed_travel,
    pitches,
    shaft_by_belt,
    straight_travel,
    swinging_travel,
)
from platekit.laying.shapes import shape_of
from platekit.laying.space import silhouettes_of
from platekit.laying.spans import z_range
from platekit.spec import Spec
from platekit.spec import models as words
from platekit.spec.drive_words import PulleyWords, WrapPlace
from platekit.spec.take_up_words import Slots

if TYPE_CHECKING:
    pass

SAME_PLACE = 0.01
"""A hole this close to the pivot is the pivot, mm (ours: a place written to two digits is off by less)."""
SYMMETRY_TOLERANCE = 0.01
"""Two places closer than this count as the same when a pattern is compared with its mirror image, mm (ours)."""


SQUARE_TO = math.radians(1)
"""A direction that is no more than this off square to shafts along the plate is meant square to them (ours)."""
LEAST_SQUARE = math.sin(math.radians(10))
"""Slots of a shaft along the plate that are nearer to it than 10 degrees bring it no nearer to the other (ours)."""


class Hinged(Struct, frozen=True):
    """A swing about an axis along the plate, parallel to the shafts of a belt: a swing in that belt's plane."""

    plane: Plane
    swing: Swing


class MountFrame(Struct, frozen=True):
    """A mount's pattern in its own frame and the pose that brings it onto the plate."""

    name: str
    mount: words.MountWords
    standard: tables.StandardMount | None
    holes: Holes
    pose: Pose
    travel: Travel | None
    hinge: Hinged | None = None
    """How it swings on a hinged base; it has no travel in the plate's plane then."""
    said: str = ""
    """Where it stands in the spec if that is no mount: the lug of a jacking screw."""
    lug_of: str | None = None
    """The mount whose jacking screw turns in it."""

    @property
    def hole_travel(self) -> Travel | None:
        """The travel of its screws in the plate; None where its part moves on a base that is bolted fast.

        In mm or rad.
        """
        take_up = self.mount.take_up
        return None if take_up is None or take_up.holes_stay else self.travel

    @property
    def field(self) -> str:
        """Where it stands in the spec."""
        return self.said or f"mounts.{self.name}"

    @property
    def own_points(self) -> tuple[Point, ...]:
        """Hole centres in the mount's own frame, mm."""
        return self.holes.points

    @property
    def hole(self) -> float | None:
        """The plate's hole as the pattern gives it, mm."""
        return self.holes.hole

    @property
    def points(self) -> tuple[Point, ...]:
        """Hole centres in the plate frame, mm."""
        return tuple(self.pose.point(point) for point in self.own_points)

    @property
    def labels(self) -> tuple[str, ...]:
        """What the part's holes are called by themselves: as they were measured, else their numbers from 1."""
        return self.holes.names or tuple(str(number) for number in range(1, len(self.own_points) + 1))

    @property
    def hole_names(self) -> tuple[str, ...]:
        """What the plate's holes are called: the mount's name, then the hole's label."""
        return tuple(f"{self.name}.{label}" for label in self.labels)


def place_mounts(spec: Spec, runs: tuple[Run, ...] = ()) -> dict[str, MountFrame]:
    """Every mount of the spec with its pose; raises `SpecError` with all that is wrong about them.

    `runs` are the belts that decide where a mount goes and how far it travels.
    """
    problems: list[Problem] = []
    frames: dict[str, MountFrame] = {}
    # Poses are worked out on demand and kept, so that the order in which the spec names the mounts does not matter; the
    # spec's references have refused rings before.
    places = MountPlaces(spec, runs)
    for name, mount in spec.model.mounts.items():
        standard = None if mount.pattern.standard is None else tables.mount(mount.pattern.standard)
        try:
            holes = pattern_of(spec, name, mount.pattern, standard)
            problems += _unsettled_mirror(spec, name, mount, holes.points)
            pose = places.pose(name)
            hinge = hinge_of(spec, places, name)
            travel = travel_of(spec, places, name)
            if isinstance(travel, Swing):
                # A pivot typed to two digits would leave its own hole a slot of hundredths; the hole that it means is
                # known better.
                around = [(math.dist(hole, travel.about), hole) for hole in (pose.point(p) for p in holes.points)]
                off, near = min(around, key=lambda one: one[0], default=(math.inf, travel.about))
                travel = replace(travel, about=near) if off <= SAME_PLACE else travel
        except SpecError as error:
            problems += error.problems
            continue
        frames[name] = MountFrame(name, mount, standard, holes, pose, travel, hinge)
    if problems:
        raise SpecError(tuple(dict.fromkeys(problems)))
    return frames


class MountPlaces:
    """Where the mounts go, each worked out once, following what they are measured from."""

    def __init__(self, spec: Spec, runs: tuple[Run, ...] = ()) -> None:
        self.spec = spec
        self.runs = runs
        self._poses: dict[str, Pose] = {}

    def pose(self, name: str) -> Pose:
        """The pose of a mount: its own frame to the plate frame, mm and rad."""
        if name not in self._poses:
            # `turn` is as seen from the near side, so a part that shows its back there is mirrored first, then turned.
            # Which way round it lies comes before its place, which for a belt depends on where its shaft ends up.
            mount = self.spec.model.mounts[name]
            turned = Pose(0.0, 0.0, mount.turn, shows_its_back(mount))
            at = mount.at
            if isinstance(at, words.FindPlace):
                wanted = "let platekit.found(spec) find it before laying out, or give [x, y]"
                problem = self.spec.problem(f"mounts.{name}.at.find", "a place still to be found", wanted)
                raise SpecError((problem,))
            if isinstance(at, words.Polar):
                x, y = on_the_ray(self.pose(at.from_), at)
            elif isinstance(at, words.BeltPlace):
                x, y = self._by_belt(name, at.belt, turned)
            else:
                x, y = at
            self._poses[name] = Pose(x, y, turned.turn, turned.mirrored)
        return self._poses[name]

    def _by_belt(self, name: str, at: words.ByBelt, turned: Pose) -> Point:
        """The zero that brings the mount's shaft to the belt's centre distance from the other shaft."""
        run = belt_between(self.spec, self.runs, name, at.from_)
        plane = plane_of(self.spec, run.words, run.field)
        if plane.lies:
            return self._beside_the_shaft(name, at, turned, run, plane)
        own = run.pulley_on(name)
        assert own is not None
        shaft = pulley_seat(self.spec, own, run.field_of(own), turned, plane).center
        x, y = self.shaft_by_belt(run, name, at.from_, at.angle)
        return (x - shaft[0], y - shaft[1])

    def shaft_by_belt(self, run: Run, name: str, start: str, angle: float) -> Point:
        """Where a belt square to its shafts puts the shaft of a mount, in a direction (rad) from that of `start`."""
        plane = plane_of(self.spec, run.words, run.field)
        own, other = run.pulley_on(name), run.pulley_on(start)
        assert own is not None
        assert other is not None
        (sx, sy), (ux, uy) = self._seat(run, other, plane).center, (math.cos(angle), math.sin(angle))
        distance = centre_distance(self.spec, run)
        if not run.words.idlers:
            return (sx + distance * ux, sy + distance * uy)
        # Over idlers the way round is longer than straight across, so the shafts are nearer than without: no farther
        # than that distance, and no nearer than where the two pulleys touch.
        near = sum(located(self.spec, run.field, lambda: pitches(run))) / 2
        between = self._between(run, plane, name)
        drives = own is run.words.driver
        way = _ray((sx, sy), (ux, uy))
        return shaft_by_belt(self.spec, run, (sx, sy), way, (near, distance), drives, between)

    def _between(self, run: Run, plane: Plane, name: str) -> Callable[[Wheel, Wheel], tuple[Wheel, ...]]:
        """The idlers of a belt between its pulleys; one that is carried by the mount in question cannot place it."""
        for index, idler in enumerate(run.words.idlers):
            if idler.on == name and not isinstance(idler.at, WrapPlace):
                wanted = f"put the idler on another mount or the plate: {name} gets its place from this belt"
                raise SpecError((self.spec.problem(f"{run.field}.idlers.{index}.on", name, wanted),))
        return lambda driven, driver: self._wheels(run, plane, driven, driver)

    def _wheels(self, run: Run, plane: Plane, driven: Wheel, driver: Wheel) -> tuple[Wheel, ...]:
        return idler_wheels(self.spec, run.words, run.field, plane, self.pose, driven, driver) or ()

    def _beside_the_shaft(self, name: str, at: words.ByBelt, turned: Pose, run: Run, plane: Plane) -> Point:
        """The zero of a mount whose shaft lies along the plate beside the other one.

        Square to the shafts the belt's length tells how far off it is, both heights given; along them the planes of
        the two pulleys fall together.
        """
        field = f"mounts.{name}.at.belt.angle"
        own, other = run.pulley_on(name), run.pulley_on(at.from_)
        assert own is not None
        assert other is not None
        # Only the part of the direction that lies in the belt's plane counts: its sign says on which side of the other
        # shaft this one goes, its size how far off square it was typed.
        share = math.cos(at.angle) * plane.u[0] + math.sin(at.angle) * plane.u[1]
        if abs(share) < math.cos(SQUARE_TO):
            ways = [math.degrees(math.atan2(s * plane.u[1], s * plane.u[0])) % 360 for s in (1, -1)]
            wanted = f"the shafts lie along the plate: say {ways[0]:.4g} deg or {ways[1]:.4g} deg, square to them"
            said = f"a direction {math.degrees(math.acos(min(abs(share), 1.0))):.1f} degrees from square to the shafts"
            raise SpecError((self.spec.problem(field, said, wanted),))
        there, here = self._seat(run, other, plane), pulley_seat(self.spec, own, run.field_of(own), turned, plane)
        distance, rise = centre_distance(self.spec, run), here.center[1] - there.center[1]
        if distance <= abs(rise):
            found = (
                f"a belt that puts the shafts {distance:.1f} mm apart, where their heights differ by {abs(rise):.1f} mm"
            )
            raise SpecError((self.spec.problem(field, found, "take a longer belt, or change a height"),))
        # The height of each shaft over the plate is given, so their distance leaves only how far over it is:
        # the third side of a triangle with a right angle.
        apart = math.sqrt(distance**2 - rise**2)
        over = there.center[0] + math.copysign(apart, share) - here.center[0]
        if run.words.idlers:
            near = sum(located(self.spec, run.field, lambda: pitches(run))) / 2
            least = math.sqrt(max(near**2 - rise**2, 0.0))
            way = _ray((there.center[0], here.center[1]), (math.copysign(1.0, share), 0.0))
            between, drives = self._between(run, plane, name), own is run.words.driver
            spot = shaft_by_belt(self.spec, run, there.center, way, (least, apart), drives, between)
            over = spot[0] - here.center[0]
        # Along the shafts the middles of the two rims are brought together, whatever each one's span begins at.
        planes = [
            sum(seat.z(span_of(self.spec, pulley, run.field_of(pulley), seat, None))) / 2
            for pulley, seat in ((other, there), (own, here))
        ]
        return plane.spot((over, 0.0), planes[0] - planes[1])[:2]

    def _seat(self, run: Run, pulley: PulleyWords, plane: Plane) -> Seated:
        return pulley_seat(self.spec, pulley, run.field_of(pulley), self.pose(pulley.on), plane)

    def belt_of(self, name: str) -> BeltSeen | None:
        """The belt that a mount's travel tightens, with the shafts of this mount and of the one at its other end.

        Of a mount that carries an idler only, the idler is its shaft.
        """
        at = self.spec.model.mounts[name].at
        first = at.belt.from_ if isinstance(at, words.BeltPlace) else None
        found = [run for run in self.runs if run.pulley_on(name) is not None]
        # A mount with two belts tightens the one that places it.
        for run in sorted(found, key=lambda run: first is not None and not run.joins(name, first)):
            return self._seen(run, name)
        return next((self._seen(run, name) for run in self.runs if name in run.carries_idlers), None)

    def _seen(self, run: Run, name: str) -> BeltSeen:
        plane = plane_of(self.spec, run.words, run.field)
        sizes = located(self.spec, run.field, lambda: pitches(run))
        driven, driver = (
            Wheel(*self._seat(run, pulley, plane).center, size)
            for pulley, size in zip((run.words.driven, run.words.driver), sizes, strict=True)
        )
        # Counted from the driven pulley round to the driver, as everywhere in `drive.route`: the index of a wheel tells
        # its neighbours.
        wheels = (driven, *self._wheels(run, plane, driven, driver), driver)
        carriers = (run.words.driven.on, *(idler.on for idler in run.words.idlers), run.words.driver.on)
        rides = tuple(carrier == name for carrier in carriers)
        index = len(wheels) - 1 if rides[-1] else rides.index(True)
        return BeltSeen(run, plane, wheels, rides, index)


def _ray(start: Point, way: Point) -> Callable[[float], Point]:
    """The points at so many mm from a start in a direction."""
    return lambda s: (start[0] + s * way[0], start[1] + s * way[1])


class BeltSeen(Struct, frozen=True):
    """A belt in its own plane, seen from a mount: its wheels in their order, which of them ride on that mount.

    `index` is the wheel that the mount is about: its pulley, else its idler.
    """

    run: Run
    plane: Plane
    wheels: tuple[Wheel, ...]
    rides: tuple[bool, ...]
    index: int

    @property
    def own(self) -> Point:
        """The middle of the mount's own wheel in the belt's plane, mm."""
        return (self.wheels[self.index].x, self.wheels[self.index].y)

    @property
    def other(self) -> Point:
        """The shaft at the belt's other end in the belt's plane, mm."""
        end = self.wheels[-1] if self.index == 0 else self.wheels[0]
        return (end.x, end.y)

    @property
    def over_idlers(self) -> bool:
        """Whether idlers are in its way, so that more than the centre distance counts."""
        return len(self.wheels) > 2

    @property
    def on_a_pulley(self) -> bool:
        """Whether the mount carries a pulley of it, not just an idler."""
        return self.index in (0, len(self.wheels) - 1)

    def needed(self, spec: Spec) -> take_up.Travel:
        """The travel that it needs from where its shafts are, without idlers, mm."""
        return needed_travel(spec, self.run, math.dist(self.own, self.other))

    def length(self, travel: Travel) -> Callable[[float], float]:
        """How long its way round is with the mount at a position of this travel in the belt's plane, mm."""

        def at(s: float) -> float:
            pose = pose_at(travel, s)
            # Only what rides on this mount moves; an idler on the plate or on another part stays where it is.
            moved = [
                replace(wheel, x=pose.point((wheel.x, wheel.y))[0], y=pose.point((wheel.x, wheel.y))[1])
                if rides
                else wheel
                for wheel, rides in zip(self.wheels, self.rides, strict=True)
            ]
            return run_length(moved)

        return at

    @property
    def farthest(self) -> float:
        """A travel that is longer than any of use, mm: all round its wheels."""
        return sum(math.dist((a.x, a.y), (b.x, b.y)) for a, b in pairwise(self.wheels))


def travel_of(spec: Spec, places: MountPlaces, name: str) -> Travel | None:
    """The take-up as travel; None when the mount stays where it is (mm, of a swing rad)."""
    take_up = spec.model.mounts[name].take_up
    if take_up is None:
        return None
    if take_up.straight is not None:
        return _straight(spec, places, name, take_up.straight, take_up.choice)
    if take_up.swing is None:  # it swings out of the plate's plane: see `hinges.py`
        return None
    install, tension = take_up.swing.install, take_up.swing.tension
    belt = places.belt_of(name)
    if belt is not None and belt.plane.lies:
        wanted = "use slots: {along: belt, install: auto, tension: auto}, or a hinge"
        found = f"a swing that turns the shaft of {name} out of line with the other, as it lies along the plate"
        raise SpecError((spec.problem(f"mounts.{name}.take_up.swing", found, wanted),))
    if install == "auto" or tension == "auto":
        belt, swing = _belt_of(places, name), take_up.swing
        if belt.over_idlers:
            turning = Swing(swing.about, 0.0, 0.0, 1 if swing.tightens == "counter-clockwise" else -1)
            field, lengths = f"mounts.{name}.take_up.swing", needed_lengths(spec, belt.run)
            turns = travel_ends(spec, swing, field, belt.length(turning), lengths, FARTHEST_SWING)
        else:
            turns = swinging_travel(spec, name, belt.needed(spec), swing.about, belt.own, belt.other)
        install = turns[0] if install == "auto" else install
        tension = turns[1] if tension == "auto" else tension
    if install == tension == 0:
        return None
    sense = 1 if take_up.swing.tightens == "counter-clockwise" else -1
    return Swing(take_up.swing.about, install, tension, sense)


def _straight(spec: Spec, places: MountPlaces, name: str, slots: Slots, kind: str) -> Travel | None:
    along, install, tension = slots.along, slots.install, slots.tension
    field = f"mounts.{name}.take_up.{kind}"
    if along == "belt" or install == "auto" or tension == "auto":
        belt = _belt_of(places, name)
        # By its own words the slot goes away from the other shaft, which is the way that tightens a plain belt.
        line = math.atan2(belt.own[1] - belt.other[1], belt.own[0] - belt.other[0])
        if not belt.on_a_pulley:  # the way that bends the belt round the idler
            x, y = located(spec, f"{field}.along", lambda: lengthens(belt.wheels, belt.index))
            line = math.atan2(y, x)
        u, share, off = belt.plane.u, 1.0, 0.0
        if belt.plane.lies:
            # The slot itself is level: it can only go one way or the other along the plane's own direction.
            away = math.copysign(1.0, math.cos(line))
            along = math.atan2(away * u[1], away * u[0]) if along == "belt" else along
            # Slots lie in the plate while the belt's plane stands on it: only this share of a travel counts there.
            share = math.cos(along) * u[0] + math.sin(along) * u[1]
            off = (0.0 if share > 0.0 else math.pi) - line
        else:
            along = line if along == "belt" else along
            off = along - line
        if install == "auto" or tension == "auto":
            if abs(share) < LEAST_SQUARE:
                said = (
                    f"{math.degrees(along):.4g} deg, {math.degrees(math.asin(abs(share))):.0f} degrees off the shafts"
                )
                wanted = "the shafts lie along the plate; say along: belt, square to them"
                raise SpecError((spec.problem(f"{field}.along", said, wanted),))
            if belt.over_idlers:
                way = (math.copysign(1.0, share), 0.0) if belt.plane.lies else (math.cos(along), math.sin(along))
                length = belt.length(Straight(way, 0.0, 0.0))
                found = travel_ends(spec, slots, field, length, needed_lengths(spec, belt.run), belt.farthest)
            else:
                found = straight_travel(spec, name, belt.needed(spec), off)
            # A slot at an angle to the belt's plane has to be longer than what it gives there.
            install = found[0] / abs(share) if install == "auto" else install
            tension = found[1] / abs(share) if tension == "auto" else tension
    if install == tension == 0:
        return None
    return Straight((math.cos(along), math.sin(along)), install, tension)


def hinge_of(spec: Spec, places: MountPlaces, name: str) -> Hinged | None:
    """How a mount swings on a hinged base; None for any other, and for one that is given no turn.

    Raises `SpecError` where its shaft does not lie along the plate, or no turn tightens its belt.
    """
    mount = spec.model.mounts[name]
    told = None if mount.take_up is None else mount.take_up.hinge
    if told is None:
        return None
    field = f"mounts.{name}.take_up.hinge"
    belt = places.belt_of(name)
    if belt is None or not belt.plane.lies or not belt.on_a_pulley:
        found = f"a hinge parallel to a shaft of {name} that does not lie along the plate, or carries no pulley"
        wanted = "tell its shaft (mounts.NAME.shaft), or use slots or swing"
        raise SpecError((spec.problem(field, found, wanted),))
    standard = mount.pattern.standard
    if standard is not None and tables.mount(standard).shaft_height is not None:
        # The plate's holes are those of what stays fast. A motor that is bolted down by its own feet does not swing.
        found = f"a hinge under {standard}, whose own feet are bolted to the plate: so it does not swing"
        wanted = (
            "give the holes of the hinged base (pattern: rectangle or points) and, in its frame, the shaft that swings "
            f"on it (mounts.{name}.shaft); the motor is a body then"
        )
        raise SpecError((spec.problem(field, found, wanted),))
    # A hinge's axis is given on the part; in the belt's plane it is a point about which all of the part turns.
    x, y = places.pose(name).point(told.at)
    z = z_range(mount.side, (told.height, told.height), spec.model.plate.thickness, mount.standoff)[0]
    axis, _ = belt.plane.flat((x, y, z))
    # the way that lengthens the belt's way round tightens it, whichever side of the shaft the axis is on
    length = belt.length(Swing(axis, 0.0, 0.0, 1))
    sense = 1 if length(SMALL_TURN) >= length(-SMALL_TURN) else -1
    turning = Swing(axis, 0.0, 0.0, sense)
    if belt.over_idlers:
        lengths = needed_lengths(spec, belt.run)
        install, tension = travel_ends(spec, told, field, belt.length(turning), lengths, FARTHEST_SWING)
    elif "auto" in (told.install, told.tension):
        needed = belt.needed(spec)
        # Without idlers the swing follows in closed form from a triangle: arm, base, and the distance of the shafts.
        arm, base = math.dist(axis, belt.own), math.dist(axis, belt.other)
        turns = located(spec, f"{field}.at", lambda: take_up.swing_range(needed, arm, base))
        install = max(turns[0], 0.0) if told.install == "auto" else told.install
        tension = max(turns[1], 0.0) if told.tension == "auto" else told.tension
    else:
        assert told.install != "auto"
        assert told.tension != "auto"
        install, tension = told.install, told.tension
    return Hinged(belt.plane, Swing(axis, install, tension, sense)) if install + tension > 0 else None


SMALL_TURN = 1e-4
"""A turn by which the way that tightens is told, rad (ours)."""


def _belt_of(places: MountPlaces, name: str) -> BeltSeen:
    """The belt that decides a mount's travel; the spec's references have seen to it that there is one."""
    found = places.belt_of(name)
    assert found is not None
    return found


def _unsettled_mirror(spec: Spec, name: str, mount: words.MountWords, points: tuple[Point, ...]) -> list[Problem]:
    # The tables draw every standard's face as one sees it, so the question is settled there; what would turn it over a
    # second time is refused.
    if mount.pattern.standard is not None:
        if mount.looking_at == "back":
            wanted = "a standard is drawn looking at the face; leave looking_at out"
            return [spec.problem(f"mounts.{name}.looking_at", "back", wanted)]
        return []
    if mount.looking_at is not None or mount.layer is not None:  # a layer is drawn as the plate is
        return []
    carried = [
        (body_name, shape)
        for body_name, body in spec.model.bodies.items()
        if body.carried_by == name
        # a model is no drawing: it is the part itself, and lies as its holes have it
        if body.shape is None or body.shape.model is None
        for shape in silhouettes_of(spec, body, f"bodies.{body_name}")
    ]
    if mount.pad is not None:
        carried.append(("pad", shape_of(spec, mount.pad, f"mounts.{name}.pad")))
    # Measured from the back or from the face, a pattern comes out mirrored. Only where neither the holes nor anything
    # that goes with them would show it may the question be left open.
    lopsided = []
    for body_name, shape in carried:
        if isinstance(shape, Disc):
            same = abs(shape.center[0]) <= SYMMETRY_TOLERANCE
        else:
            corners = [((x, y), 0) for x, y, _ in shape.loop().vertices]
            same = mirrored_matches(corners, SYMMETRY_TOLERANCE)
        if not same:
            lopsided.append(body_name)
    if mirrored_matches([(point, 0) for point in points], SYMMETRY_TOLERANCE) and not lopsided:
        return []
    what = f"the body {lopsided[0]!r} it carries" if lopsided else "the pattern"
    what = "its pad" if lopsided == ["pad"] else what
    wanted = (
        f"{what} is not its own mirror image: say face if it was drawn or measured looking at the part's "
        "mounting face, back if as seen through the part"
    )
    return [spec.problem(f"mounts.{name}.looking_at", "nothing", wanted)]

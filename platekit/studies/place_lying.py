"""Places of a mount whose shaft lies along the plate beside the one at its belt's other end.

Such a mount can turn two ways only, its shaft pointing one way or the other, and its pulley has to come into line with
the other one. So of a box only the lines are looked at on which that is so, and by the belt only the two directions
square to the shafts. Where one of the two pulleys is told to sit in line with the other, the mount may stand anywhere
along the shafts, as far as that pulley stays on its shaft.

Vocabulary
    over     across the shafts, along the plate: the way that the belt pulls, mm
    along    along the shafts, mm
"""

from __future__ import annotations

import math
from typing import Literal

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from platekit.errors import SpecError
from platekit.geometry import Plane, Point, Pose, lying
from platekit.geometry.poses import Flags, Numbers, Poses
from platekit.laying.axes import OwnAxis, Seated, lying_shaft, pulley_seat, span_of, told_axis, turned_pose
from platekit.laying.given_places import shows_its_back
from platekit.laying.located import located
from platekit.laying.mounts import MountPlaces
from platekit.laying.packing import with_looked_up
from platekit.laying.runs import Run, needed_travel, pitches, runs_of
from platekit.laying.spans import z_range
from platekit.placed import Side
from platekit.spec import Spec
from platekit.spec.drive_words import PulleyWords, SeatWords

IN_LINE = 0.08
"""Pulleys nearer to one plane than this are in line, mm (ours: places are told in tenths, so a pose is off its line by
up to half a tenth in x and in y)."""
PARALLEL = math.radians(0.06)
"""Shafts at a smaller angle than this are parallel, rad (ours: turns are told in tenths of a degree)."""

End = Literal["driver", "driven"]


class Beside(Struct, frozen=True):
    """What is known of such a mount before its place is: both shafts, and where on them the pulleys sit.

    `own_middle` and `other_middle` are the middles of the rims, along the own shaft from where it leaves its part, and
    along the belt's shafts; None for a pulley that is told to be in line with the other. `heights` are those of the
    own axis over the plate's near face, by side; a side on which packing cannot bring it is left out. `needed` are the
    shortest and longest distance of the shafts that the belt asks for, `least` is that at which the pulleys meet.
    """

    plane: Plane
    own: OwnAxis
    own_middle: float | None
    other: Seated
    other_middle: float | None
    widths: tuple[float, float]
    heights: dict[Side, float]
    needed: tuple[float, float]
    least: float
    slides: tuple[str, PulleyWords] | None
    """The pulley that sits in line with the other, and its field in the spec."""

    @property
    def free_along(self) -> bool:
        """Whether the mount may stand anywhere along the shafts."""
        return self.slides is not None

    @property
    def slide(self) -> float:
        """How far back from its shaft's end the pulley that is in line can sit, mm."""
        if self.slides is None:
            return 0.0
        words = self.slides[1]
        stretch = self.own.stretch if self.own_middle is None else self.other.ends
        assert stretch is not None
        return max(stretch[1] - stretch[0] - _width(words), 0.0)

    def seats(self, at: Poses) -> tuple[Numbers, Numbers, Numbers]:
        """Of every pose: over and along of the own shaft's point, and its share along the belt's shafts."""
        u, n = np.array(self.plane.u[:2]), np.array(self.plane.n[:2])
        assert self.own.along is not None
        ahead = (self.own.at[0] + math.cos(self.own.along), self.own.at[1] + math.sin(self.own.along))
        points = at.to_plate(np.array([self.own.at, ahead], dtype=np.float64))
        start, way = points[:, 0], points[:, 1] - points[:, 0]
        return start @ u, start @ n, way @ n

    def apart(self, at: Poses, side: Side) -> Numbers:
        """How far apart the two shafts are in every pose, mm."""
        over, _, _ = self.seats(at)
        rise = self.heights.get(side, math.inf) - self.other.center[1]
        found: Numbers = np.hypot(over - self.other.center[0], rise)
        return found

    def in_line(self, at: Poses) -> Flags:
        """Which poses have both pulleys in one plane, the one that is in line with the other on its shaft."""
        _, start, way = self.seats(at)
        sense = np.sign(way)
        if self.own_middle is None:
            if self.other_middle is None:
                return np.ones(len(at), dtype=bool)
            middle = sense * (self.other_middle - start)
            return _within(middle, self.own.stretch, self.widths[0])
        plane = start + sense * self.own_middle
        if self.other_middle is None:
            assert self.other.ends is not None
            return _within(self.other.sense * (plane - self.other.zero), self.other.ends, self.widths[1])
        return np.asarray(np.abs(plane - self.other_middle) <= IN_LINE)

    def parallel(self, at: Poses) -> Flags:
        """Which poses have the own shaft parallel to the other one."""
        _, _, way = self.seats(at)
        return np.asarray(np.abs(way) >= math.cos(PARALLEL))

    def line(self, mirrored: bool, turn: float) -> float | None:
        """Where along the shafts the mount's zero must be for the pulleys to be in line; None where it may be anywhere.

        `turn` in radians.
        """
        if self.own_middle is None or self.other_middle is None:
            return None
        pose = Pose(0.0, 0.0, turn, mirrored)
        assert self.own.along is not None
        (x, y), (dx, dy) = (
            pose.point(self.own.at),
            pose.vector((math.cos(self.own.along), math.sin(self.own.along))),
        )
        n = self.plane.n
        sense = math.copysign(1.0, dx * n[0] + dy * n[1])
        return self.other_middle - sense * self.own_middle - (x * n[0] + y * n[1])

    def on_the_line(self, line: float, box: tuple[Point, Point], step: float) -> list[Point]:
        """Zeros on a line square to the shafts within a box (mm), evenly spread."""
        u, n = self.plane.u, self.plane.n
        low, high = -math.inf, math.inf
        for k in (0, 1):
            ends = sorted(corner[k] - line * n[k] for corner in box)
            if abs(u[k]) < 1e-9:
                # a tenth of the box's own rounding is no reason to miss the line along its edge
                if not ends[0] - IN_LINE <= 0.0 <= ends[1] + IN_LINE:
                    return []
                continue
            a, b = sorted(end / u[k] for end in ends)
            low, high = max(low, a), min(high, b)
        if low > high:
            return []
        count = max(math.ceil((high - low) / step), 1)
        overs = [low + k * (high - low) / count for k in range(count + 1)]
        return [(over * u[0] + line * n[0], over * u[1] + line * n[1]) for over in overs]

    def travel(
        self, at: Poses, side: Side, along: float | None, given: tuple[float | None, float | None]
    ) -> tuple[Numbers, Numbers, Flags]:
        """Both ends of a straight travel along the plate from every pose, mm, and where it can be.

        `along` is its direction (radians), None for square to the shafts, away from the other; `given` are install and
        tension, None for what the belt needs.
        """
        u = np.array(self.plane.u[:2])
        over, _, _ = self.seats(at)
        off = over - self.other.center[0]
        away = np.where(off < 0, -1.0, 1.0)
        rise = self.heights.get(side, math.inf) - self.other.center[1]
        ways = away[:, None] * u if along is None else np.tile([math.cos(along), math.sin(along)], (len(at), 1))
        share = (ways @ u) * away
        can = np.ones(len(at), dtype=bool)
        ends = list(given)
        if None in given:
            can = (share > LEAST_SHARE) & (self.needed[0] > abs(rise))
            reach = [np.sqrt(np.maximum(wanted**2 - rise**2, 0.0)) for wanted in self.needed]
            share = np.where(can, share, 1.0)
            needs = ((np.abs(off) - reach[0]) / share, (reach[1] - np.abs(off)) / share)
            ends = [np.maximum(need, 0.0) if own is None else own for own, need in zip(given, needs, strict=True)]
        install, tension = (np.broadcast_to(np.asarray(end, dtype=np.float64), (len(at),)) for end in ends)
        return -install[:, None] * ways, tension[:, None] * ways, can


LEAST_SHARE = math.sin(math.radians(10))
"""Slots with a smaller share of their way than this square to the shafts are left out, as the layout refuses them."""


def _within(middle: Numbers, stretch: tuple[float, float], width: float) -> Flags:
    low, high = stretch[0] + width / 2 - 1e-6, stretch[1] - width / 2 + 1e-6
    return np.asarray((middle >= low) & (middle <= high))


def _width(pulley: PulleyWords) -> float:
    told = pulley.span
    if not isinstance(told, SeatWords):
        return told[1] - told[0]
    assert told.width != "auto", "stock rims are looked up before"
    return told.width


def _slides(pulley: PulleyWords) -> bool:
    return isinstance(pulley.span, SeatWords) and pulley.span.in_line


def beside_of(spec: Spec, run: Run, name: str, sides: tuple[Side, ...]) -> Beside | None:
    """What is known of a mount on this belt whose shaft lies along the plate beside the other; None for any other.

    Raises `SpecError` where the place of the other depends on that of the mount.
    """
    own = run.pulley_on(name)
    assert own is not None
    other = run.words.driven if own is run.words.driver else run.words.driver
    axes = [told_axis(spec, pulley) for pulley in (own, other)]
    if any(axis is None or axis.along is None for axis in axes):
        return None
    axis = axes[0]
    assert axis is not None
    there = axes[1]
    assert there is not None
    assert there.along is not None
    # The plane of the belt is that of the other shaft: how the own mount is turned is what is looked for.
    plane = lying(turned_pose(spec.model.mounts[other.on]).angle(there.along))
    places = MountPlaces(spec, runs_of(spec))
    seat = pulley_seat(spec, other, run.field_of(other), places.pose(other.on), plane)
    here = pulley_seat(spec, own, run.field_of(own), turned_pose(spec.model.mounts[name]), plane)
    here = replace(here, ends=axis.stretch, lies=True)
    middles = [
        None if _slides(pulley) else sum(span_of(spec, pulley, run.field_of(pulley), told, None)) / 2
        for pulley, told in ((own, here), (other, seat))
    ]
    heights: dict[Side, float] = {}
    for side in sides:
        try:
            heights[side] = _height(spec, name, side, axis)
        except SpecError:
            continue
    belt = needed_travel(spec, run, 0.0)
    sliding = next(((run.field_of(one), one) for one in (own, other) if _slides(one)), None)
    return Beside(
        plane=plane,
        own=axis,
        own_middle=middles[0],
        other=seat,
        other_middle=None if middles[1] is None else seat.zero + seat.sense * middles[1],
        widths=(_width(own), _width(other)),
        heights=heights,
        needed=(belt.shortest, belt.longest),
        least=sum(located(spec, run.field, lambda: pitches(run))) / 2,
        slides=sliding,
    )


def _height(spec: Spec, name: str, side: Side, axis: OwnAxis) -> float:
    mount = spec.model.mounts[name].model_copy(update={"side": side})
    if mount.packing is not None:
        model = spec.model.model_copy(update={"mounts": {**spec.model.mounts, name: mount}})
        mount = with_looked_up(replace(spec, model=model)).model.mounts[name]
    return z_range(side, (axis.height, axis.height), spec.model.plate.thickness, mount.standoff)[0]


def turns_beside(spec: Spec, name: str, beside: Beside, sides: tuple[Side, ...]) -> tuple[float, ...]:
    """The turns (radians, 0 to a full turn) with which the mount's shaft is parallel to the other, on any side."""
    found: list[float] = []
    n = math.atan2(beside.plane.n[1], beside.plane.n[0])
    for side in sides:
        mirrored = shows_its_back(spec.model.mounts[name].model_copy(update={"side": side}))
        assert beside.own.along is not None
        bare = Pose(0.0, 0.0, 0.0, mirrored).angle(beside.own.along)
        found += [(n - bare + half) % math.tau for half in (0.0, math.pi)]
    return tuple(found)


def turned_slots(spec: Spec, name: str, side: Side, turn: float, away: float | None = None) -> float | None:
    """The direction (rad) of a mount's slots or rails once it is turned; None for slots that do not turn with it.

    Slots of a part whose shaft lies along the plate go with it: they stand to its shaft as they did, mirrored where the
    part is on the other side. `away` (rad) is the way off the shaft at the belt's other end: they point that way. All
    angles in radians, counter-clockwise from x.
    """
    mount = spec.model.mounts[name]
    told = None if mount.take_up is None else mount.take_up.straight
    own = lying_shaft(spec, name)
    if told is None or told.along == "belt" or own is None:
        return None
    old = Pose(0.0, 0.0, mount.turn, shows_its_back(mount))
    new = Pose(0.0, 0.0, turn, shows_its_back(mount.model_copy(update={"side": side})))
    stands = told.along - old.angle(own)
    along = new.angle(own) + (stands if old.mirrored == new.mirrored else -stands)
    if away is not None and math.cos(along - away) < 0:
        along += math.pi
    return along % math.tau

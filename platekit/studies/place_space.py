"""Where a mount is looked for: the poses of a search space, as whole tenths of a millimetre and of a degree.

Vocabulary
    space    what the spec allows: a box, or an arc at belt distance; with turns and sides
    spot     one pose in it: a side and three whole numbers, tenths of mm or of a degree
    spots    many of them on one side, an array with one row each
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from platekit.drive import take_up
from platekit.errors import SpecError
from platekit.geometry import Point, Straight, lying
from platekit.geometry.poses import Numbers, Poses, poses
from platekit.laying.axes import told_axis, turned_pose
from platekit.laying.given_places import shows_its_back
from platekit.laying.mounts import SQUARE_TO, MountPlaces, travel_of
from platekit.laying.packing import worked_out
from platekit.laying.runs import Run, belt_between, centre_distance, needed_travel, runs_of
from platekit.placed import Side
from platekit.spec import Spec
from platekit.spec import models as words
from platekit.spec.editing import Value
from platekit.units import mm_per

Spots = NDArray[np.int64]
"""One row a spot: x, y, turn in a box; angle, 0, turn on an arc. Tenths of mm and of a degree."""

TENTHS: Final = 10
"""Steps in a millimetre and in a degree: the finest that a place is told (ours: finer than a hole can be drilled)."""
ROUND: Final = 360 * TENTHS
MOST_POSES: Final = 48_000
"""Poses of the grid that a search begins with (ours: some tenths of a second)."""
TURN_STEP: Final = 5 * TENTHS
"""Step of the turns tried at first, tenths of a degree (ours)."""
ARC_STEPS: Final = (2, 2 * TENTHS)
"""Finest steps of directions and of turns on an arc tried at first, tenths of a degree (ours)."""
FINEST_STEP: Final = 5
"""Finest step of the first grid in a box, tenths of a mm (ours; refining goes down to 1)."""


class WholeRange(Struct, frozen=True):
    """Whole numbers from `low` to `high`; a full turn goes round."""

    low: int
    high: int
    goes_round: bool = False

    def steps(self, step: int) -> list[int]:
        """Numbers through the range, evenly spread, at most `step` apart; both ends, once where it goes round."""
        count = max(math.ceil((self.high - self.low) / step), 1) if self.high > self.low else 0
        found = (
            [self.low + round(k * (self.high - self.low) / count) for k in range(count + 1)] if count else [self.low]
        )
        return found[:-1] if self.goes_round else found

    def kept(self, values: Spots) -> Spots:
        """The numbers brought into the range."""
        if self.goes_round:
            return np.asarray(np.mod(values, ROUND), dtype=np.int64)
        return np.asarray(np.clip(values, self.low, self.high), dtype=np.int64)


class SearchPose(Struct, frozen=True):
    """One pose of a space."""

    side: Side
    numbers: tuple[int, int, int]


class SearchSpace(Struct, frozen=True):
    """Where a mount is looked for. `first`, `second`, `turns` are the ranges of a spot's three numbers.

    `pulley` is where its shaft is in its own frame, `other` the shaft at the belt's other end; both None without belt.
    """

    spec: Spec
    name: str
    find: words.Find
    sides: tuple[Side, ...]
    first: WholeRange
    second: WholeRange
    turns: WholeRange
    run: Run | None
    pulley: Point | None
    other: Point | None

    @property
    def mount(self) -> words.MountWords:
        """The mount as the spec has it."""
        return self.spec.model.mounts[self.name]

    @property
    def by_belt(self) -> bool:
        """Whether it is an arc at belt distance."""
        return self.find.belt is not None

    @property
    def keeps_turn(self) -> bool:
        """Whether the mount keeps the turn that the spec gives it."""
        return self.find.turn == "fixed"

    def step(self) -> tuple[int, int, int]:
        """How far apart the spots of the first grid are, in each of the three numbers."""
        if self.by_belt:
            room = max(MOST_POSES // (len(self.turns.steps(ARC_STEPS[1])) * len(self.sides)), 1)
            wide = self.first.high - self.first.low
            return (max(ARC_STEPS[0], math.ceil(wide / room)), 1, ARC_STEPS[1])
        room = max(MOST_POSES // (len(self.turns.steps(TURN_STEP)) * len(self.sides)), 1)
        wide, high = self.first.high - self.first.low, self.second.high - self.second.low
        flat = min(wide, high) == 0
        step = max(wide, high) / room if flat else math.sqrt(wide * high / room)
        return (max(math.ceil(step), FINEST_STEP),) * 2 + (TURN_STEP,)

    def grid(self) -> Spots:
        """The spots that a search begins with, the same on every side."""
        steps = self.step()
        ranges = zip((self.first, self.second, self.turns), steps, strict=True)
        axes = [np.array(one.steps(step), dtype=np.int64) for one, step in ranges]
        return np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)

    def kept(self, spots: Spots) -> Spots:
        """The spots brought into the space."""
        ranges = (self.first, self.second, self.turns)
        return np.stack([one.kept(spots[:, k]) for k, one in enumerate(ranges)], axis=-1)


def space_of(spec: Spec, name: str, find: words.Find | None = None) -> SearchSpace:
    """Where the spec lets a mount be looked for, or where `find` does.

    A place by the belt is looked for all along its arc. Raises `SpecError` for a mount whose place is given, or which
    depends on another that is still to be found.
    """
    spec = worked_out(spec)
    mount = spec.model.mounts[name]
    find = find or _find_of(spec, name, mount.at)
    sides: tuple[Side, ...] = ("near", "far") if find.side == "either" else (find.side or mount.side,)
    run, pulley, other = _belt_of(spec, name, find)
    if find.turn == "fixed":
        turns = WholeRange(0, 0)
    else:
        turns = WholeRange(0, ROUND, goes_round=True) if find.turn == "any" else _degrees(list(find.turn))
    space = SearchSpace(
        spec=spec,
        name=name,
        find=find,
        sides=sides,
        first=_angles(find.belt) if find.belt is not None else _lengths(find, 0),
        second=WholeRange(0, 0) if find.belt is not None else _lengths(find, 1),
        turns=turns,
        run=run,
        pulley=pulley,
        other=other,
    )
    if find.belt is None or find.belt.angles is not None or not lies_along(space):
        return space
    way = _square_way(space)  # both ends of the range are looked at, whatever the grid
    return replace(space, first=WholeRange(way, way + ROUND // 2))


def _find_of(spec: Spec, name: str, at: words.Place) -> words.Find:
    if isinstance(at, words.FindPlace):
        return at.find
    if isinstance(at, words.BeltPlace):
        return words.Find.model_validate({"belt": {"from": at.belt.from_}})
    x, y = (0.0, 0.0) if isinstance(at, words.Polar) else at
    factor = mm_per(spec.unit)
    reach = 100 if spec.unit == "mm" else 4
    corners = [[round(v / factor + sign * reach) for v in (x, y)] for sign in (-1, 1)]
    wanted = f"say where to look, such as `at: {{find: {{box: {corners}, turn: any}}}}`"
    raise SpecError((spec.problem(f"mounts.{name}.at", "a place that is given", wanted),))


def _angles(belt: words.FindByBelt) -> WholeRange:
    if belt.angles is None:
        return WholeRange(0, ROUND, goes_round=True)
    return _degrees(belt.angles)


def _degrees(ends: list[float]) -> WholeRange:
    low, high = (math.degrees(end) * TENTHS for end in ends)
    if high - low >= ROUND - 1e-6:
        return WholeRange(0, ROUND, goes_round=True)
    return _whole(low, high)


def _lengths(find: words.Find, axis: int) -> WholeRange:
    assert find.box is not None
    low, high = sorted(corner[axis] * TENTHS for corner in find.box)
    return _whole(low, high)


def _whole(low: float, high: float) -> WholeRange:
    """The whole numbers between two figures; the nearest one where there is none between."""
    first, last = math.ceil(low - 1e-6), math.floor(high + 1e-6)
    return WholeRange(first, last) if first <= last else WholeRange(round(low), round(low))


def _belt_of(spec: Spec, name: str, find: words.Find) -> tuple[Run | None, Point | None, Point | None]:
    """The belt that runs to the mount, the shaft in its own frame, and the shaft at the belt's other end."""
    runs = runs_of(spec)
    if find.belt is not None:
        run = belt_between(spec, runs, name, find.belt.from_)
    else:
        found = [run for run in runs if run.pulley_on(name) is not None]
        if not found:
            return None, None, None
        run = found[0]
    own = run.pulley_on(name)
    other = run.words.driven if own is run.words.driver else run.words.driver
    assert own is not None
    return run, own.at, MountPlaces(spec, runs).pose(other.on).point(other.at)


# ------------------------------------------------------------------------------------------ one spot


def spec_at(space: SearchSpace, spot: SearchPose) -> Spec:
    """The spec with the mount at a spot; its text and places in it stay those of the user."""
    first, second, turn = spot.numbers
    mount = space.mount
    at: words.Place
    if space.find.belt is not None:
        at = words.BeltPlace.model_validate({"belt": {"from": space.find.belt.from_, "angle": f"{tenths(first)} deg"}})
    else:
        at = (first / TENTHS, second / TENTHS)
    given = mount.turn if space.keeps_turn else math.radians(turn / TENTHS)
    placed = mount.model_copy(update={"at": at, "side": spot.side, "turn": given})
    mounts = {**space.spec.model.mounts, space.name: placed}
    return replace(space.spec, model=space.spec.model.model_copy(update={"mounts": mounts}))


def tenths(number: int) -> str:
    """Tenths as a figure.

    >>> tenths(1234), tenths(-50)
    ('123.4', '-5')
    """
    return f"{number / TENTHS:.1f}".removesuffix(".0")


def edits_of(space: SearchSpace, spot: SearchPose) -> Iterator[tuple[str, Value]]:
    """The fields of the spec, and their new values, that put the mount at a spot."""
    first, second, turn = spot.numbers
    field = f"mounts.{space.name}"
    if space.find.belt is not None:
        yield f"{field}.at", {"belt": {"from": space.find.belt.from_, "angle": f"{tenths(first)} deg"}}
    elif space.spec.unit == "mm":
        yield f"{field}.at", [first / TENTHS, second / TENTHS]
    else:
        yield f"{field}.at", [f"{tenths(first)} mm", f"{tenths(second)} mm"]
    if not space.keeps_turn:
        yield f"{field}.turn", f"{tenths(turn)} deg"
    if spot.side != space.mount.side:
        yield f"{field}.side", spot.side


# ---------------------------------------------------------------------------------------- many spots


def poses_of(space: SearchSpace, side: Side, spots: Spots) -> tuple[Poses, NDArray[np.bool_]]:
    """The poses of spots, with both ends of the travel that the mount has there; and which of them can be at all.

    A swing is not followed here: its poses are told at nominal.
    """
    mirrored = shows_its_back(space.mount.model_copy(update={"side": side}))
    given = np.full(len(spots), space.mount.turn)
    turn = given if space.keeps_turn else np.radians(spots[:, 2] / TENTHS)
    zero = spots[:, :2] / TENTHS
    bare = poses(np.zeros((len(spots), 2)), turn, mirrored)
    if space.by_belt and not lies_along(space):
        # A spot is a direction from the other shaft: the belt decides how far out the shaft is. Only idlers make that
        # depend on the direction, so that each one takes a solution of its own.
        assert space.run is not None
        assert space.other is not None
        shafts: Numbers = np.empty((len(spots), 2))
        if space.run.words.idlers:
            places, words = MountPlaces(space.spec, (space.run,)), space.run.words
            start = words.driven.on if words.driver.on == space.name else words.driver.on
            for number in np.unique(spots[:, 0]):
                angle = math.radians(int(number) / TENTHS)
                shafts[spots[:, 0] == number] = places.shaft_by_belt(space.run, space.name, start, angle)
        else:
            angles = np.radians(spots[:, 0] / TENTHS)
            ways = np.stack([np.cos(angles), np.sin(angles)], axis=-1)
            shafts = np.asarray(space.other) + centre_distance(space.spec, space.run) * ways
        zero = shafts - _shaft(space, bare)
    if lies_along(space):
        if space.by_belt:
            # The poses of a mount whose shaft lies along the plate beside the other one: only square to it, where
            # they can be. Each is worked out as the layout does it; the others cannot be.
            zero, low, high = (np.zeros((len(spots), 2)) for _ in range(3))
            can = np.zeros(len(spots), dtype=bool)
            way = math.radians(_square_way(space) / TENTHS)
            off = np.abs(np.sin(np.radians(spots[:, 0] / TENTHS) - way))
            for k in np.flatnonzero(off <= np.sin(SQUARE_TO)):
                spec = spec_at(space, SearchPose(side, (int(spots[k, 0]), int(spots[k, 1]), int(spots[k, 2]))))
                try:
                    places = MountPlaces(spec, runs_of(spec))
                    pose, travel = places.pose(space.name), travel_of(spec, places, space.name)
                except SpecError:
                    continue
                can[k], zero[k] = True, (pose.x, pose.y)
                if isinstance(travel, Straight):
                    low[k], high[k] = (np.multiply(travel.direction, end) for end in (-travel.install, travel.tension))
            return poses(zero, turn, mirrored, low, high), can
        none = np.zeros((len(spots), 2))  # slots there are left to the full check
        return poses(zero, turn, mirrored, none, none), np.ones(len(spots), dtype=bool)
    low, high, can = _travel(space, zero + _shaft(space, bare))
    return poses(zero, turn, mirrored, low, high), can


def lies_along(space: SearchSpace) -> bool:
    """Whether the mount's shaft and the one at the belt's other end lie along the plate."""
    if space.run is None:
        return False
    ends = (told_axis(space.spec, pulley) for pulley in (space.run.words.driver, space.run.words.driven))
    return all(own is not None and own.along is not None for own in ends)


def _square_way(space: SearchSpace) -> int:
    """The direction square to the shaft at the belt's other end, to the right or straight up, in tenths of a degree."""
    assert space.run is not None
    own = space.run.pulley_on(space.name)
    other = space.run.words.driven if own is space.run.words.driver else space.run.words.driver
    axis = told_axis(space.spec, other)
    assert axis is not None
    assert axis.along is not None
    u = lying(turned_pose(space.spec.model.mounts[other.on]).angle(axis.along)).u
    return round(math.degrees(math.atan2(u[1], u[0])) * TENTHS)


def shafts_of(space: SearchSpace, at: Poses) -> Numbers:
    """Where the mount's shaft is in every pose."""
    return at.to_plate(np.array([space.pulley or (0.0, 0.0)], dtype=np.float64))[:, 0]


def _shaft(space: SearchSpace, bare: Poses) -> Numbers:
    return shafts_of(space, bare)


def _travel(space: SearchSpace, shafts: Numbers) -> tuple[Numbers, Numbers, NDArray[np.bool_]]:
    """Both ends of a straight travel from nominal, and where such a travel can be."""
    none, can = np.zeros_like(shafts), np.ones(len(shafts), dtype=bool)
    take = space.mount.take_up
    if take is None or take.slots is None or (space.run is not None and space.run.words.idlers):
        return none, none, can  # over idlers the travel is left to the full check
    slots = take.slots
    apart = shafts - np.asarray(space.other if space.other is not None else (0.0, 0.0))
    line = np.arctan2(apart[:, 1], apart[:, 0])
    along = line if slots.along == "belt" else np.full(len(shafts), slots.along)
    install, tension = (np.full(len(shafts), 0.0 if one == "auto" else one) for one in (slots.install, slots.tension))
    if "auto" in (slots.install, slots.tension):
        assert space.run is not None
        needed = needed_travel(space.spec, space.run, 0.0)
        away = np.hypot(apart[:, 0], apart[:, 1])
        back, on, can = _auto(needed.shortest, needed.longest, away, along - line)
        install = back if slots.install == "auto" else install
        tension = on if slots.tension == "auto" else tension
    ways = np.stack([np.cos(along), np.sin(along)], axis=-1)
    return -install[:, None] * ways, tension[:, None] * ways, can


def _auto(shortest: float, longest: float, away: Numbers, off: Numbers) -> tuple[Numbers, Numbers, NDArray[np.bool_]]:
    """Install and tension travel along slots `off` from the line of centres; see `take_up.along_slot`."""
    across = away * np.sin(off)
    can = (np.cos(off) > take_up.LEAST_SHARE) & (shortest >= np.abs(across)) & (longest >= np.abs(across))
    ends = [np.sqrt(np.maximum(wanted**2 - across**2, 0.0)) - away * np.cos(off) for wanted in (shortest, longest)]
    return np.maximum(-ends[0], 0.0), np.maximum(ends[1], 0.0), np.asarray(can)

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
from platekit.geometry import Point
from platekit.geometry.poses import Numbers, Poses, poses
from platekit.laying.axes import told_axis
from platekit.laying.given_places import shows_its_back
from platekit.laying.mounts import MountPlaces
from platekit.laying.packing import with_looked_up
from platekit.laying.runs import Run, belt_between, centre_distance, needed_travel, runs_of
from platekit.placed import Side
from platekit.spec import Spec
from platekit.spec import models as words
from platekit.spec.drive_words import SeatWords
from platekit.spec.editing import Value
from platekit.studies.place_lying import Beside, beside_of, turned_slots, turns_beside
from platekit.units import mm_per, written_length

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
SLIDES: Final = 60
"""Places along its shaft of a pulley that is in line with the other, tried at first (ours)."""
SAME_WAY: Final = 1e-9
"""Two directions at less than this are one, rad (ours)."""
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


class FewNumbers(Struct, frozen=True):
    """Some whole numbers, rising, of a full turn in tenths of a degree: the directions or turns that can be."""

    values: tuple[int, ...]
    goes_round: bool = False

    @property
    def low(self) -> int:
        """The first of them."""
        return self.values[0]

    @property
    def high(self) -> int:
        """The last of them."""
        return self.values[-1]

    def steps(self, step: int) -> list[int]:
        """All of them, whatever the step."""
        return list(self.values)

    def kept(self, values: Spots) -> Spots:
        """To each number the one of them that is nearest to it, going round; of two as near the first."""
        listed = np.array(self.values, dtype=np.int64)
        off = np.abs(np.asarray(values)[:, None] - listed) % ROUND
        return np.asarray(listed[np.argmin(np.minimum(off, ROUND - off), axis=1)], dtype=np.int64)


Numbered = WholeRange | FewNumbers


class SearchPose(Struct, frozen=True):
    """One pose of a space."""

    side: Side
    numbers: tuple[int, int, int]


class SearchSpace(Struct, frozen=True):
    """Where a mount is looked for. `first`, `second`, `turns` are the ranges of a spot's three numbers.

    `pulley` is where its shaft is in its own frame, `other` the shaft at the belt's other end; both None without belt.
    `beside` is known of a mount whose shaft lies along the plate beside the other one: by the belt its numbers are the
    direction from there, how far back from its shaft's end a pulley sits that is told to be in line, and the turn.
    """

    spec: Spec
    name: str
    find: words.Find
    sides: tuple[Side, ...]
    first: Numbered
    second: WholeRange
    turns: Numbered
    run: Run | None
    pulley: Point | None
    other: Point | None
    beside: Beside | None = None

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
        if self.by_belt and self.beside is not None:
            return (1, max(math.ceil((self.second.high - self.second.low) / SLIDES), TENTHS), 1)
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
        if self.beside is not None and not self.by_belt and not self.beside.free_along:
            return self._lines(self.beside)
        ranges = zip((self.first, self.second, self.turns), steps, strict=True)
        axes = [np.array(one.steps(step), dtype=np.int64) for one, step in ranges]
        return np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)

    def _lines(self, beside: Beside) -> Spots:
        """The spots in the box on the lines on which the pulleys are in line, with each turn on each side."""
        corners = (
            (self.first.low / TENTHS, self.second.low / TENTHS),
            (self.first.high / TENTHS, self.second.high / TENTHS),
        )
        turns = self.turns.steps(TURN_STEP)
        long = math.dist(*corners) * TENTHS
        step = max(math.ceil(long * len(turns) * len(self.sides) / MOST_POSES), 1) / TENTHS
        found: set[tuple[int, int, int]] = set()
        for side in self.sides:
            mirrored = shows_its_back(self.mount.model_copy(update={"side": side}))
            for turn in turns:
                line = beside.line(mirrored, self.mount.turn if self.keeps_turn else math.radians(turn / TENTHS))
                assert line is not None
                spots = beside.on_the_line(line, corners, step)
                found |= {(round(x * TENTHS), round(y * TENTHS), turn) for x, y in spots}
        return np.array(sorted(found), dtype=np.int64).reshape(-1, 3)

    def kept(self, spots: Spots) -> Spots:
        """The spots brought into the space."""
        ranges = (self.first, self.second, self.turns)
        return np.stack([one.kept(spots[:, k]) for k, one in enumerate(ranges)], axis=-1)


def space_of(spec: Spec, name: str, find: words.Find | None = None) -> SearchSpace:
    """Where the spec lets a mount be looked for, or where `find` does.

    A place by the belt is looked for all along its arc. Raises `SpecError` for a mount whose place is given, or which
    depends on another that is still to be found.
    """
    spec = with_looked_up(spec)
    mount = spec.model.mounts[name]
    find = find or _find_of(spec, name, mount.at)
    sides: tuple[Side, ...] = ("near", "far") if find.side == "either" else (find.side or mount.side,)
    run, pulley, other, beside = _belt_of(spec, name, find, sides)
    turns: Numbered
    if find.turn == "fixed":
        turns = WholeRange(0, 0)
    elif beside is not None:
        turns = _both_ways_round(spec, name, find, turns_beside(spec, name, beside, sides))
    else:
        turns = WholeRange(0, ROUND, goes_round=True) if find.turn == "any" else _degrees(list(find.turn))
    first: Numbered = _angles(find.belt) if find.belt is not None else _lengths(find, 0)
    second = WholeRange(0, 0) if find.belt is not None else _lengths(find, 1)
    if find.belt is not None and beside is not None:
        first = _both_directions(spec, name, find.belt, beside)
        second = WholeRange(0, math.floor(beside.slide * TENTHS))
    return SearchSpace(
        spec=spec,
        name=name,
        find=find,
        sides=sides,
        first=first,
        second=second,
        turns=turns,
        run=run,
        pulley=pulley,
        other=other,
        beside=beside,
    )


def _both_directions(spec: Spec, name: str, belt: words.FindByBelt, beside: Beside) -> FewNumbers:
    """The two directions square to the shafts, those within the range that is given."""
    u = beside.plane.u
    ways = [round(math.degrees(math.atan2(s * u[1], s * u[0])) * TENTHS) % ROUND for s in (1, -1)]
    if belt.angles is None:
        return FewNumbers(tuple(sorted(ways)))
    kept = _within(ways, belt.angles)
    if not kept:
        said = f"directions of which none is square to the shaft of {belt.from_}, which lies along the plate"
        wanted = f"let the range hold {tenths(ways[0])} deg or {tenths(ways[1])} deg, or leave it out"
        raise SpecError((spec.problem(f"mounts.{name}.at.find.belt.angles", said, wanted),))
    return FewNumbers(kept)


def _both_ways_round(spec: Spec, name: str, find: words.Find, turns: tuple[float, ...]) -> FewNumbers:
    """The turns with which both shafts are parallel, those within the range that is given."""
    ways = sorted({round(math.degrees(turn) * TENTHS) % ROUND for turn in turns})
    if not isinstance(find.turn, list):
        return FewNumbers(tuple(ways))
    kept = _within(ways, find.turn)
    if not kept:
        said = f"turns of which none leaves the shaft of {name} parallel to the other, as it lies along the plate"
        wanted = f"let the range hold {' or '.join(f'{tenths(way)} deg' for way in ways)}, or say any"
        raise SpecError((spec.problem(f"mounts.{name}.at.find.turn", said, wanted),))
    return FewNumbers(kept)


def _within(ways: list[int], ends: list[float]) -> tuple[int, ...]:
    """The directions (tenths of a degree) within a range (radians), as they are named there."""
    low, high = (round(math.degrees(end) * TENTHS) for end in ends)
    named = {low + (way - low) % ROUND for way in ways}
    return tuple(sorted(way for way in named if way <= high))


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


def _belt_of(
    spec: Spec, name: str, find: words.Find, sides: tuple[Side, ...]
) -> tuple[Run | None, Point | None, Point | None, Beside | None]:
    """The belt that runs to the mount, both its shafts, and what is known of these where they lie along the plate."""
    runs = runs_of(spec)
    if find.belt is not None:
        run = belt_between(spec, runs, name, find.belt.from_)
    else:
        found = [run for run in runs if run.pulley_on(name) is not None]
        if not found:
            return None, None, None, None
        run = found[0]
    own = run.pulley_on(name)
    other = run.words.driven if own is run.words.driver else run.words.driver
    assert own is not None
    shafts = [pulley.at if (told := told_axis(spec, pulley)) is None else told.at for pulley in (own, other)]
    there = MountPlaces(spec, runs).pose(other.on).point(shafts[1])
    return run, shafts[0], there, beside_of(spec, run, name, sides)


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
    update: dict[str, object] = {"at": at, "side": spot.side, "turn": turn_at(space, turn)}
    along = changed_slots(space, spot)
    if along is not None:
        assert mount.take_up is not None
        kind = mount.take_up.choice
        slots = getattr(mount.take_up, kind).model_copy(update={"along": along})
        update["take_up"] = mount.take_up.model_copy(update={kind: slots})
    changed: dict[str, object] = {"mounts": {**space.spec.model.mounts, space.name: mount.model_copy(update=update)}}
    if slides(space):
        changed["drive"] = _slid(space, second)
    return replace(space.spec, model=space.spec.model.model_copy(update=changed))


def turn_at(space: SearchSpace, turn: int) -> float:
    """The mount's turn at a spot with this number for it, rad."""
    return space.mount.turn if space.keeps_turn else math.radians(turn / TENTHS)


def slots_at(space: SearchSpace, spot: SearchPose) -> float | None:
    """The direction (rad) of slots given by hand at a spot, where they turn with their part; None where they do not."""
    first, second, turn = spot.numbers
    away = None
    if space.beside is not None:
        u = space.beside.plane.u
        away = math.radians(first / TENTHS)
        if not space.by_belt:
            at = poses(
                np.array([[first / TENTHS, second / TENTHS]]),
                np.array([turn_at(space, turn)]),
                shows_its_back(space.mount.model_copy(update={"side": spot.side})),
            )
            sign = math.copysign(1.0, float(space.beside.seats(at)[0][0]) - space.beside.other.center[0])
            away = math.atan2(sign * u[1], sign * u[0])
    return turned_slots(space.spec, space.name, spot.side, turn_at(space, turn), away)


def changed_slots(space: SearchSpace, spot: SearchPose) -> float | None:
    """The same where it is another direction than the spec gives."""
    along = slots_at(space, spot)
    if along is None:
        return None
    take = space.mount.take_up
    assert take is not None
    assert take.straight is not None
    assert take.straight.along != "belt"
    off = (along - take.straight.along) % math.tau
    return None if min(off, math.tau - off) < SAME_WAY else along


def slides(space: SearchSpace) -> bool:
    """Whether a place by the belt tells where on its shaft a pulley sits that is told to be in line with the other."""
    return space.by_belt and space.beside is not None and space.beside.slides is not None


def _slid(space: SearchSpace, second: int) -> object:
    """The drive with that pulley so many tenths of a mm back from its shaft's end."""
    assert space.beside is not None
    assert space.beside.slides is not None
    (field, pulley), drive = space.beside.slides, space.spec.model.drive
    assert drive is not None
    assert isinstance(pulley.span, SeatWords)
    span = pulley.span.model_copy(update={"in_line": False, "from_end": second / TENTHS})
    end, moved = field.rpartition(".")[2], pulley.model_copy(update={"span": span})
    if field.startswith("drive.second."):
        return drive.model_copy(update={"second": drive.second.model_copy(update={end: moved})} if drive.second else {})
    return drive.model_copy(update={end: moved})


def tenths(number: int) -> str:
    """Tenths as a figure.

    >>> tenths(1234), tenths(-50)
    ('123.4', '-5')
    """
    return f"{number / TENTHS:.1f}".removesuffix(".0")


def edits_of(space: SearchSpace, spot: SearchPose) -> Iterator[tuple[str, Value]]:
    """The fields of the spec, and their new values, that put the mount at a spot."""
    first, second, turn = spot.numbers
    field, unit = f"mounts.{space.name}", space.spec.unit
    if space.find.belt is not None:
        yield f"{field}.at", {"belt": {"from": space.find.belt.from_, "angle": f"{tenths(first)} deg"}}
    else:
        yield f"{field}.at", [written_length(size / TENTHS, unit) for size in (first, second)]
    if not space.keeps_turn:
        yield f"{field}.turn", f"{tenths(turn)} deg"
    along = changed_slots(space, spot)
    if along is not None:
        assert space.mount.take_up is not None
        yield f"{field}.take_up.{space.mount.take_up.choice}.along", f"{round(math.degrees(along), 4):g} deg"
    if slides(space):
        assert space.beside is not None
        assert space.beside.slides is not None
        where, pulley = space.beside.slides
        assert isinstance(pulley.span, SeatWords)
        width = pulley.span.width
        back = written_length(second / TENTHS, unit)
        yield (
            f"{where}.span",
            {"width": width if isinstance(width, str) else written_length(width, unit), "from_end": back},
        )
    if spot.side != space.mount.side:
        yield f"{field}.side", spot.side


# ---------------------------------------------------------------------------------------- many spots


def poses_of(space: SearchSpace, side: Side, spots: Spots, anywhere: bool = False) -> tuple[Poses, NDArray[np.bool_]]:
    """The poses of spots, with both ends of the travel that the mount has there; and which of them can be at all.

    A swing is not followed here: its poses are told at nominal. Beside a shaft that lies along the plate only those can
    be that leave the shafts parallel and the pulleys in line, unless they may be `anywhere`.
    """
    mirrored = shows_its_back(space.mount.model_copy(update={"side": side}))
    given = np.full(len(spots), space.mount.turn)
    turn = given if space.keeps_turn else np.radians(spots[:, 2] / TENTHS)
    zero = spots[:, :2] / TENTHS
    bare = poses(np.zeros((len(spots), 2)), turn, mirrored)
    if space.beside is not None:
        return _beside(space, space.beside, side, spots, bare, anywhere)
    if space.by_belt:
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
    low, high, can = _travel(space, zero + _shaft(space, bare), turn, side)
    return poses(zero, turn, mirrored, low, high), can


def _beside(
    space: SearchSpace, beside: Beside, side: Side, spots: Spots, bare: Poses, anywhere: bool
) -> tuple[Poses, NDArray[np.bool_]]:
    """The poses of a mount whose shaft lies along the plate beside the other one."""
    turn, mirrored = np.arctan2(bare.sin, bare.cos), bare.mirrored
    can = np.full(len(spots), side in beside.heights)
    if not space.keeps_turn:
        can &= beside.parallel(bare)
    zero = spots[:, :2] / TENTHS
    if space.by_belt:
        # Few enough that each is worked out as the layout does it, idlers and all.
        zero = np.zeros((len(spots), 2))
        for k in np.flatnonzero(can):
            spec = spec_at(space, SearchPose(side, (int(spots[k, 0]), int(spots[k, 1]), int(spots[k, 2]))))
            try:
                pose = MountPlaces(spec, runs_of(spec)).pose(space.name)
            except SpecError:
                can[k] = False
            else:
                zero[k] = (pose.x, pose.y)
    still = poses(zero, turn, mirrored)
    can &= beside.apart(still, side) > beside.least
    if not anywhere and not space.by_belt:
        can &= beside.in_line(still)
    take = space.mount.take_up
    assert space.run is not None
    if take is None or take.slots is None or space.run.words.idlers:
        return still, can  # over idlers, on rails and hinges the travel is left to the full check
    slots = take.slots
    low, high = (np.zeros((len(spots), 2)) for _ in range(2))
    given = tuple(None if one == "auto" else one for one in (slots.install, slots.tension))
    # Slots given by hand may point another way on each side of the other shaft, and with each turn.
    over = beside.seats(still)[0] < beside.other.center[0]
    for group in {(bool(a), int(b)) for a, b in zip(over, spots[:, 2], strict=True)}:
        rows = np.flatnonzero((over == group[0]) & (spots[:, 2] == group[1]))
        spot = SearchPose(side, (int(spots[rows[0], 0]), int(spots[rows[0], 1]), group[1]))
        along = None if slots.along == "belt" else slots_at(space, spot)
        if along is None and slots.along != "belt":
            along = slots.along
        low[rows], high[rows], reached = beside.travel(still.only(rows), side, along, (given[0], given[1]))
        can[rows] &= reached
    return poses(zero, turn, mirrored, low, high), can


def shafts_of(space: SearchSpace, at: Poses) -> Numbers:
    """Where the mount's shaft is in every pose."""
    return at.to_plate(np.array([space.pulley or (0.0, 0.0)], dtype=np.float64))[:, 0]


def _shaft(space: SearchSpace, bare: Poses) -> Numbers:
    return shafts_of(space, bare)


def _travel(
    space: SearchSpace, shafts: Numbers, turns: Numbers, side: Side
) -> tuple[Numbers, Numbers, NDArray[np.bool_]]:
    """Both ends of a straight travel from nominal, and where such a travel can be."""
    none, can = np.zeros_like(shafts), np.ones(len(shafts), dtype=bool)
    take = space.mount.take_up
    if take is None or take.slots is None or (space.run is not None and space.run.words.idlers):
        return none, none, can  # over idlers the travel is left to the full check
    slots = take.slots
    apart = shafts - np.asarray(space.other if space.other is not None else (0.0, 0.0))
    line = np.arctan2(apart[:, 1], apart[:, 0])
    if slots.along == "belt":
        along = line
    else:  # those of a part whose shaft lies along the plate turn with it, all by the same
        first = turned_slots(space.spec, space.name, side, 0.0)
        along = np.full(len(shafts), slots.along) if first is None else first + turns
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

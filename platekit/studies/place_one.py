"""Finding the place of one mount.

Every pose of a grid goes through a fast filter, the survivors in order of merit to the full check, and the best are
refined to a tenth of a millimetre and of a degree. Where that finds nothing, `place_finer` looks between the poses of
the grid, down to the same tenths. The same spec gives the same places.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterator
from typing import Final

import numpy as np
from msgspec import Struct

from platekit.checks import STAGES, check
from platekit.checks.finding import Finding, Verdict
from platekit.choices import Merit
from platekit.errors import PlatekitError, SpecError
from platekit.laying.given_places import shows_its_back
from platekit.layout import lay_out
from platekit.placed import Layout, Side
from platekit.spec import Spec
from platekit.studies.place_filter import Filter, filter_of, sample
from platekit.studies.place_finer import finer
from platekit.studies.place_merits import WEIGHTS, Merits, Weights, Yardstick, yardstick
from platekit.studies.place_space import (
    ROUND,
    TENTHS,
    SearchPose,
    SearchSpace,
    Spots,
    poses_of,
    space_of,
    spec_at,
    turn_at,
)
from platekit.units import show_length

SHOWN: Final = 6
"""Places that a search looks for (ours: what can be compared side by side)."""
MOST_CHECKED: Final = 240
"""Most full checks of one search (ours: some seconds)."""
FINER_CHECKED: Final = 120
"""Most full checks on top of these between the poses of the grid, where those gave nothing (ours)."""
PATIENCE: Final = 4
"""Failed checks after which the neighbourhood of a spot waits for the second round (ours)."""
APART: Final = (150, 150, 150)
APART_ON_ARC: Final = (80, 1, 150)
"""Places shown differ by so much in at least one number: 15 mm or 15 degrees, 8 degrees of an arc; also the size of a
neighbourhood. Refining a place goes at most half as far (ours: places that look different)."""
SAME_STOP: Final = 24
"""After so many failed checks that all have one stop the search is given up: it is none of the place (ours)."""
TOLD_EACH: Final = 20
"""After so many checks it is told how far a search has come, and it may be left there (ours: half a second)."""
FIRST_POSES: Final = 200
"""Most poses that are laid out until one can be, to begin with (ours)."""
MOST_MOVES: Final = 200
"""Most steps of refining one place (ours)."""

Progress = Callable[[str], None]


class FoundPlace(Struct, frozen=True):
    """A place without a stop. `layout` is the plate with the mount there, `merits` are measured on it.

    Where two mounts were looked for at once, `both` has the space and the spot of each.
    """

    spot: SearchPose
    layout: Layout
    verdict: Verdict
    merits: Merits
    both: tuple[tuple[SearchSpace, SearchPose], ...] = ()


class Search(Struct, frozen=True):
    """What came of a search, best place first.

    Of `tried` poses `passed` survived the filter, and `checked` full checks were made. `blockers` says what stops how
    large a share: of all poses where none passed the filter, else of those checked; most first. `anywhere` are the
    stops that every pose checked had word for word: no place mends them. `asked` is how many places were wanted, `free`
    how many without a stop were found before those that are alike were left out.

    `grid` is how near to each other the poses lay that were looked at without a gap: mm (on an arc: degrees of it), and
    degrees of turn.

    Where two mounts were looked for at once, `names` has both, and `starts` says from how many spots of the first.
    """

    space: SearchSpace
    places: tuple[FoundPlace, ...]
    tried: int
    passed: int
    checked: int
    blockers: tuple[tuple[str, float], ...]
    anywhere: tuple[str, ...] = ()
    grid: tuple[float, float] = (0.1, 0.1)
    asked: int = 0
    free: int = 0
    names: tuple[str, ...] = ()
    starts: int = 0

    @property
    def told(self) -> str:
        """Whose place is looked for, in words."""
        return " and ".join(self.names) or self.space.name

    def spots(self, place: FoundPlace) -> tuple[tuple[SearchSpace, SearchPose], ...]:
        """The space and the spot of each mount that a place is of."""
        return place.both or ((self.space, place.spot),)

    @property
    def why_fewer(self) -> str:
        """Why there are fewer places than were asked for, a sentence; "" where there are as many."""
        if not 0 < len(self.places) < self.asked:
            return ""
        said = f"fewer than the {self.asked} asked for: "
        alike = self.free - len(self.places)
        if alike > 0:
            few = "is another" if alike == 1 else f"are {alike} others"
            said += f"there {few} that nothing stops, but so near to one shown that it is the same place; "
        if self.names:
            return f"{said}it was begun from {self.starts} spots of {self.names[0]}, and not all pairs were looked at"
        left = self.passed - self.checked
        if left > 0 and self.checked >= MOST_CHECKED:
            return f"{said}{left} of the positions that pass a first look were not checked in full; narrow the space"
        blocked = " and ".join(what for what, _ in self.blockers[:2])
        return f"{said}elsewhere in the way: {blocked}" if blocked else f"{said}{where_else(self)}"


def place_one(
    spec: Spec, name: str, by: Merit = "balance", count: int = SHOWN, progress: Progress | None = None
) -> Search:
    """The best places of a mount, none with a stop; `by` names the merit that counts.

    Raises `SpecError` for a mount whose place is given, and for one that no pose at all lets be laid out. A search that
    finds nothing says so by having no places.
    """
    space = space_of(spec, name)
    weights = WEIGHTS[by]
    sides = [_Side.begun(space, side) for side in space.sides]
    if not any(side.yardstick for side in sides):
        raise _no_layout(space, sides)
    job = _Job(space, weights, [side for side in sides if side.yardstick is not None], progress)
    # The filter costs microseconds a pose, laying out some milliseconds, a full check some tenths of a second: so all
    # poses are filtered, those that pass are put in order of what they cost, and the cheapest of them are checked.
    order = list(job.survivors())
    if progress is not None:
        progress(f"{name}: {len(order)} of {job.tried} positions pass a first look; checking the best")
    # Twice as many as are shown, since refining may lead several of them to one place.
    chosen = job.checked(order, 2 * count) or job.between(2 * count)
    refined = [job.refined(spot) for spot in chosen]
    ranked = sorted(
        refined, key=lambda found: (round(found.merits.cost(weights), 6), found.spot.side, found.spot.numbers)
    )
    places = job.distinct(ranked)[:count]
    came = (job.tried, job.passed, job.checks, job.blockers(), job.anywhere(), job.grid)
    return Search(space, tuple(places), *came, asked=count, free=len(chosen))


def where_else(search: Search) -> str:
    """What to change in the space: a narrower one is looked at more finely; one looked at to the end may be wider."""
    space = search.space
    keys = "angles, turn" if space.by_belt else "box, turn"
    if space.beside is not None:
        ways = ["take another belt" if space.by_belt else "give it a larger box"]
        ways += ["let it turn round (turn: any)" if space.turns.low == space.turns.high else ""]
        ways += ["try the other side (side: either)" if len(space.sides) == 1 else ""]
        ways += ["move its pulley along the shaft" if not space.beside.free_along else ""]
        return ", or ".join(way for way in ways if way)
    if max(search.grid[0], search.grid[1] if space.turns.high > space.turns.low else 0.0) > 1 / TENTHS + 1e-9:
        return f"a place may lie between these: narrow the space ({keys}) to where you think that it fits"
    ways = ["give it a larger space" if not (space.by_belt and space.first.goes_round) else ""]
    ways += ["let it turn (turn: any)" if not space.turns.goes_round else ""]
    ways += ["try the other side (side: either)" if len(space.sides) == 1 else ""]
    return ", or ".join(way for way in ways if way) or "move or make smaller what is in the way"


# ------------------------------------------------------------------------------------------- one side


class _Side(Struct):
    """One side of the plate: what poses on it are judged and measured by; None where none can be laid out."""

    side: Side
    yardstick: Yardstick | None
    error: PlatekitError | None

    @classmethod
    def begun(cls, space: SearchSpace, side: Side) -> _Side:
        """Lays out the first pose that can be, from the middle of the space."""
        grid = space.grid()
        if not len(grid):
            raise _no_line(space)
        _, can = poses_of(space, side, grid)
        # Any pose will do to make the questions from: those from the middle of the space can most often be laid out.
        grid = grid[can] if can.any() else grid
        rows = np.unique(np.linspace(0, len(grid) - 1, min(len(grid), FIRST_POSES)).astype(np.intp))
        error = None
        for row in sorted(rows, key=lambda row: (abs(int(row) - len(grid) // 2), int(row))):
            try:
                layout = lay_out(spec_at(space, _spot(side, grid[row])))
            except PlatekitError as problem:
                error = error or problem
                continue
            return cls(side, yardstick(space, layout, filter_of(space, layout)), None)
        return cls(side, None, error)


def _spot(side: Side, row: Spots) -> SearchPose:
    return SearchPose(side, (int(row[0]), int(row[1]), int(row[2])))


def _no_layout(space: SearchSpace, sides: list[_Side]) -> SpecError:
    first = next(side.error for side in sides if side.error is not None)
    found = "a space in which the mount cannot be laid out at all"
    wanted = said_of(first)
    return SpecError((space.spec.problem(f"mounts.{space.name}.at", found, wanted),))


def _no_line(space: SearchSpace) -> SpecError:
    """The error for a box that no line goes through on which the pulleys are in line."""
    assert space.beside is not None
    assert space.find.box is not None
    middle = [sum(ends) / 2 for ends in zip(*space.find.box, strict=True)]
    u, n = space.beside.plane.u, space.beside.plane.n
    over = middle[0] * u[0] + middle[1] * u[1]
    places = []
    for side in space.sides:
        mirrored = shows_its_back(space.mount.model_copy(update={"side": side}))
        for turn in space.turns.steps(1):
            line = space.beside.line(mirrored, turn_at(space, turn))
            assert line is not None
            places.append((over * u[0] + line * n[0], over * u[1] + line * n[1]))
    x, y = min(places, key=lambda spot: (round(math.dist(spot, middle), 6), spot))
    unit = space.spec.unit
    said = f"[{show_length(x, unit)}, {show_length(y, unit)}]".replace(f" {unit}", "")
    what = f"a box in which the pulley of {space.name} comes nowhere into line with the other one of its belt"
    wanted = f"let it hold {said}, or move a pulley along its shaft (span)"
    return SpecError((space.spec.problem(f"mounts.{space.name}.at", what, wanted),))


def said_of(error: PlatekitError) -> str:
    """What an error says, without its place."""
    if isinstance(error, SpecError):
        return f"{error.problems[0].found}: {error.problems[0].wanted}"
    return str(error)


# ---------------------------------------------------------------------------------------- the search


class _Job:
    """One search: counts what is tried, and keeps what stops the poses."""

    def __init__(self, space: SearchSpace, weights: Weights, sides: list[_Side], progress: Progress | None) -> None:
        self.space, self.weights, self.progress = space, weights, progress
        self.sticks = {side.side: side.yardstick for side in sides if side.yardstick is not None}
        self.tried = 0
        self.passed = 0
        self.checks = 0
        step = space.step()
        self.grid = (max(step[:2]) / TENTHS, step[2] / TENTHS)
        if space.beside is not None and not space.by_belt:
            self.grid = (1 / TENTHS if not space.beside.free_along else self.grid[0], 0.0)
        self._stops: Counter[str] = Counter()
        self._alike: set[str] | None = None
        self._messages: set[str] | None = None
        self._clear_ones: dict[SearchPose, tuple[Layout, Verdict]] = {}
        self._failed = 0
        self._apart = APART_ON_ARC if space.by_belt else APART
        self._sampled: Counter[str] = Counter()
        self._sample = 0

    def survivors(self) -> Iterator[SearchPose]:
        """The spots of the grid that pass the filter, cheapest first."""
        grid = self.space.grid()
        found: list[tuple[float, Side, tuple[int, ...]]] = []
        for side, stick in self.sticks.items():
            at, can = poses_of(self.space, side, grid)
            self.tried += len(grid)
            self._count(stick.questions, side, grid)
            at, spots = at.only(can), grid[can]
            passed = stick.questions.sorted_by(at).passed(at) if len(spots) else np.zeros(0, dtype=bool)
            found += self._with_cost(side, spots[passed])
        self.passed = len(found)
        yield from (SearchPose(side, (row[0], row[1], row[2])) for _, side, row in sorted(found))

    def between(self, count: int) -> list[SearchPose]:
        """The spots without a stop between those of the grid, of the coarsest level that has any."""
        # What stops every pose alike is not mended by looking between them.
        # Beside a shaft along the plate the grid has all directions and turns that there are, and its lines are fine.
        if self.space.beside is not None or (self.checks and (self._hopeless() or self.anywhere())):
            return []
        last = self.checks + FINER_CHECKED
        levels = {side: finer(self.space, side, stick.questions) for side, stick in self.sticks.items()}
        whole = set(levels)
        while levels:
            found: list[tuple[float, Side, tuple[int, ...]]] = []
            grids: list[tuple[float, float]] = []
            for side in list(levels):
                level = next(levels[side], None)
                if level is None:
                    del levels[side]
                    grids.append((1 / TENTHS, 1 / TENTHS) if side in whole else self.grid)
                    continue
                self.tried += level.tried
                if not level.whole:
                    whole.discard(side)
                grids.append((level.mm, level.degrees) if side in whole else self.grid)
                found += self._with_cost(side, level.spots)
            self.grid = (max(grid[0] for grid in grids), max(grid[1] for grid in grids))
            self.passed += len(found)
            if self.progress is not None and levels:
                fine = f"{self.grid[0]:.2g} {'degrees' if self.space.by_belt else 'mm'}"
                self.progress(f"{self.space.name}: looking between these, {fine} apart")
            order = [SearchPose(side, (row[0], row[1], row[2])) for _, side, row in sorted(found)]
            chosen = self.checked(order, count, last)
            if chosen or self.checks >= last:
                return chosen
        return []

    def _with_cost(self, side: Side, spots: Spots) -> list[tuple[float, Side, tuple[int, ...]]]:
        at, _ = poses_of(self.space, side, spots)
        costs = self.sticks[side].costs(at, self.weights) if len(spots) else np.zeros(0)
        return [(round(float(cost), 6), side, tuple(map(int, row))) for cost, row in zip(costs, spots, strict=True)]

    def _count(self, questions: Filter, side: Side, grid: Spots) -> None:
        """Counts on a sample what stops how many poses."""
        some = grid[sample(len(grid))]
        at, can = poses_of(self.space, side, some)
        self._sample += len(some)
        if not can.all():
            self._sampled["slots that never reach the belt's distance"] += int(np.count_nonzero(~can))
        for what, count in questions.blockers(at.only(can)):
            self._sampled[what] += count

    def checked(self, order: list[SearchPose], count: int, most: int = MOST_CHECKED) -> list[SearchPose]:
        """The first spots in the order that have no stop and are not neighbours of one another."""
        chosen: list[SearchPose] = []
        failed: Counter[tuple[object, ...]] = Counter()
        waiting: list[SearchPose] = []
        for round_two in (False, True):
            for spot in waiting if round_two else order:
                if len(chosen) == count or self.checks >= most or (not chosen and self._hopeless()):
                    return chosen
                cell = self._cell(spot)
                if any(self._near(spot, other) for other in chosen):
                    continue
                # A neighbourhood that failed several times most likely fails for one reason; others are looked at
                # first, and it comes again when they gave nothing.
                if not round_two and failed[cell] >= PATIENCE:
                    waiting.append(spot)
                elif self._clear(spot) is not None:
                    chosen.append(spot)
                else:
                    failed[cell] += 1
        return chosen

    def _hopeless(self) -> bool:
        """Whether every check so far met the same stop."""
        return self._failed >= SAME_STOP and bool(self._alike)

    def _cell(self, spot: SearchPose) -> tuple[object, ...]:
        return (spot.side, *(number // apart for number, apart in zip(spot.numbers, self._apart, strict=True)))

    def _near(self, spot: SearchPose, other: SearchPose, share: int = 1) -> bool:
        """Whether two spots differ by less than what places shown are apart, or a half, a third of that."""
        if spot.side != other.side:
            return False
        offs = self._offs(np.array([spot.numbers], dtype=np.int64), other)[0]
        return all(share * off < apart for off, apart in zip(offs, self._apart, strict=True))

    def _offs(self, spots: Spots, other: SearchPose) -> Spots:
        """How far spots are from one of them in each of their numbers."""
        offs = np.abs(spots - np.asarray(other.numbers, dtype=np.int64))
        for k, one in enumerate((self.space.first, self.space.second, self.space.turns)):
            if one.goes_round:
                offs[:, k] = np.minimum(offs[:, k], ROUND - offs[:, k])
        return offs

    def distinct(self, places: list[FoundPlace]) -> list[FoundPlace]:
        """The places without those that refining brought near a better one, or that give the same plate as one."""
        kept: list[FoundPlace] = []
        plates: set[object] = set()
        for found in places:
            holes = sorted((round(x, 3), round(y, 3), o.size) for o in found.layout.openings for x, y in [o.center])
            # A turned pattern may give the very same holes: then it is one plate, however the mount is turned.
            plate = (found.spot.side, tuple(holes))
            if plate not in plates and not any(self._near(found.spot, other.spot, 2) for other in kept):
                kept.append(found)
                plates.add(plate)
        return kept

    def _clear(self, spot: SearchPose) -> tuple[Layout, Verdict] | None:
        """The layout and verdict of a spot; None if it has a stop or cannot be laid out."""
        self.checks += 1
        if self.progress is not None and self.checks % TOLD_EACH == 0:
            found = len(self._clear_ones)
            free = f"{found or 'none'} of them free of stops" if found != 1 else "one of them free of stops"
            self.progress(f"{self.space.name}: {self.checks} positions checked, {free}")
        if spot in self._clear_ones:
            return self._clear_ones[spot]
        try:
            layout = lay_out(spec_at(self.space, spot))
            # By stages, what costs least first: most poses that cannot be are stopped by it, and how a plate is put
            # together, bent and guarded need not be asked of these.
            verdict = next(
                (found for found in (check(layout, rules) for rules in STAGES[:-1]) if not found.clear), None
            )
            whole = verdict is None
            verdict = verdict or check(layout)
            if verdict.clear:
                self._clear_ones[spot] = (layout, verdict)
                return layout, verdict
            stops, said = self._stops_of(layout, verdict)
            self._stops.update(stops)
            # What every pose has in common is no matter of the place, and the user must be told so: as long as there
            # may be such a thing, all that stops a pose has to be known.
            if not whole and not (self._known(self._alike, stops) and self._known(self._messages, said)):
                stops, said = self._stops_of(layout, check(layout))
        except PlatekitError as error:
            stops = {said_of(error)}
            self._stops.update(stops)
        else:
            self._messages = said if self._messages is None else self._messages & said
        self._failed += 1
        self._alike = stops if self._alike is None else self._alike & stops
        return None

    def _stops_of(self, layout: Layout, verdict: Verdict) -> tuple[set[str], set[str]]:
        """What stops a pose, in short; and the sentences, figures and all, of stops that another place may not mend."""
        stops = [finding for finding in verdict.findings if finding.stops]
        said = {finding.message for finding in stops if not self._by_place(layout, finding)}
        return {f"{' against '.join(finding.features[:2])}, {finding.rule}" for finding in stops}, said

    @staticmethod
    def _known(common: set[str] | None, found: set[str]) -> bool:
        """Whether what was found so far of a pose already tells what it has in common with all before."""
        return common is not None and common <= found

    def _by_place(self, layout: Layout, finding: Finding) -> bool:
        """Whether a stop has to do with where the mount is: it is one of its own things and another one."""
        name = self.space.name
        bodies = {one for body in layout.bodies if body.carrier == name for one in (body.name, body.screw)}
        openings = {opening.name for opening in layout.openings if opening.mount == name}
        own = {name, *bodies, *openings}
        return not own.isdisjoint(finding.features) and not own.issuperset(finding.features)

    def anywhere(self) -> tuple[str, ...]:
        """The stops that all poses checked had in the same words, whatever the place: they are not about it."""
        return tuple(sorted(self._messages or ()))

    def refined(self, spot: SearchPose) -> FoundPlace:
        """The cheapest place without a stop to which small steps lead from a spot that has none."""
        trail = [spot, *self._downhill(spot)]
        # Downhill only the filter is asked. The full check then takes the cheapest of the way that stands it; the spot
        # where it began is known to.
        for better in reversed(trail):
            checked = self._clear(better)
            if checked is not None:
                return FoundPlace(better, *checked, self._merits(better, checked[0]))
        raise AssertionError("the spot itself has no stop")

    def _downhill(self, spot: SearchPose) -> Iterator[SearchPose]:
        """Ever cheaper spots that pass the filter, by steps that become as fine as a spot can be told."""
        steps = [max(step // 2, 1) for step in self.space.step()]
        here, cost = spot, self._cost_of(spot)
        for _ in range(MOST_MOVES):
            best = self._best_round(spot, here, steps)
            if best is not None and best[0] < cost - 1e-6:
                cost, here = best
                yield here
            elif max(steps) == 1:
                return
            else:
                steps = [max(step // 2, 1) for step in steps]

    def _cost_of(self, spot: SearchPose) -> float:
        at, _ = poses_of(self.space, spot.side, np.array([spot.numbers], dtype=np.int64))
        return float(self.sticks[spot.side].costs(at, self.weights)[0])

    def _best_round(self, start: SearchPose, spot: SearchPose, steps: list[int]) -> tuple[float, SearchPose] | None:
        """The cheapest spot round one that passes the filter, two steps each way, none too far from the start."""
        ways = [np.arange(-2, 3) * step for step in steps]
        around = np.stack(np.meshgrid(*ways, indexing="ij"), axis=-1).reshape(-1, 3)
        spots = np.unique(self.space.kept(np.asarray(spot.numbers, dtype=np.int64) + around), axis=0)
        # No farther than half of what places shown are apart, or two of them could come to lie together.
        spots = spots[(2 * self._offs(spots, start) <= self._apart).all(axis=1)]
        at, can = poses_of(self.space, spot.side, spots)
        stick = self.sticks[spot.side]
        good = np.flatnonzero(can)
        good = good[stick.questions.passed(at.only(good))]
        if not len(good):
            return None
        costs = stick.costs(at.only(good), self.weights)
        # Rounded, so that of equal costs the first one counts on every processor.
        best = int(np.argmin(np.round(costs, 6)))
        return float(costs[best]), _spot(spot.side, spots[good[best]])

    def _merits(self, spot: SearchPose, layout: Layout) -> Merits:
        at, _ = poses_of(self.space, spot.side, np.array([spot.numbers], dtype=np.int64))
        measured = self.sticks[spot.side].measured(at)[0]
        return Merits(layout.outline.area, measured.belt, measured.clearance, measured.reach)

    def blockers(self) -> tuple[tuple[str, float], ...]:
        """What stops how large a share of the poses checked; of the sample by the filter if there are none.

        Of a pose it is what it is stopped by first: what costs more is not asked of it.
        """
        counts, whole = (self._stops, self.checks) if self.checks else (self._sampled, self._sample)
        shares = [(what, count / max(whole, 1)) for what, count in counts.items() if count]
        return tuple(sorted(shares, key=lambda pair: (-pair[1], pair[0])))

"""Finding the places of two mounts at once.

To look at all pairs of poses would be a billion plates. So one mount is put at several spots far from each other, the
other is placed beside it by `place_one`, and then each in turn is placed anew beside the other for as long as the plate
becomes better by it: coordinate descent (from memory: J. Nocedal, S. Wright, Numerical Optimization). That finds good
pairs, not surely the best one; how many spots it began from is told with the result. A mount whose place is told from
the other one's by a belt follows that one, which then stays at the spot that it began from.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from platekit.choices import Merit
from platekit.errors import PlatekitError, SpecError
from platekit.layout import lay_out
from platekit.placed import Layout, Side
from platekit.spec import Spec
from platekit.spec import models as words
from platekit.studies import place_one as single
from platekit.studies.place_filter import filter_of, sample
from platekit.studies.place_merits import WEIGHTS, Merits
from platekit.studies.place_one import FoundPlace, Progress, Search
from platekit.studies.place_space import SearchPose, SearchSpace, Spots, poses_of, space_of, spec_at

STARTS: Final = 8
"""Spots of the first mount that are begun from, on all its sides together (ours: some ten seconds)."""
ROUNDS: Final = 3
"""Most times that both are placed anew from one start (ours: most do not move any more after two)."""
BETTER: Final = 0.01
"""A place is better by at least so much of the cost: cm2 of plate, mm (ours)."""
MIDDLES: Final = (0.5, 0.25, 0.75, 0.0, 1.0)
"""Where in its space the second mount stands while a spot of the first is looked for, as shares of it (ours)."""
APART: Final = 15.0
"""Pairs in which neither mount is farther off, mm, nor turned by more degrees, are one (ours, as for one mount)."""


class _Pair(Struct, frozen=True):
    """Both mounts at their places, and what the plate costs there."""

    last: FoundPlace
    """The place of the mount that was placed last: its layout has both in their places."""
    spots: dict[str, SearchPose]
    merits: dict[str, Merits]
    cost: float


def place_both(spec: Spec, names: tuple[str, str], by: Merit, count: int, progress: Progress | None = None) -> Search:
    """The best pairs of places of two mounts, none with a stop, as a `Search` whose places have both in `both`.

    Its figures are those of all searches of one of them. Raises `SpecError` as `place` does.
    """
    names = _in_order(spec, names)
    finds = {name: _find(spec, name) for name in names}
    space, starts = _starts(spec, *names, finds)
    searches: list[Search] = []
    pairs: list[_Pair] = []
    for number, spot in enumerate(starts, start=1):
        if progress is not None:
            progress(f"{' and '.join(names)}: from {number} of {len(starts)} spots of {names[0]}")
        pair = _alternated((spec_at(space, spot), spot), names, finds, by, searches)
        if pair is not None:
            pairs.append(pair)
    pairs.sort(key=lambda pair: (round(pair.cost, 6), *(pair.spots[name].numbers for name in names)))
    kept: list[_Pair] = []
    for pair in pairs:
        if not any(_alike(pair, other, names) for other in kept):
            kept.append(pair)
    # What stopped the searches that found nothing is in the way of a pair; the others went on to a place.
    failed = [search for search in searches if not search.places]
    blocked: dict[str, float] = {}
    for search in failed:
        for what, share in search.blockers:
            blocked[what] = blocked.get(what, 0.0) + share / len(failed)
    # A stop that all of them had in the same words is no matter of either place.
    anywhere = set.intersection(*(set(search.anywhere) for search in failed)) if failed else set[str]()
    return Search(
        space=space,
        anywhere=tuple(sorted(anywhere)),
        places=tuple(_as_found(spec, pair, names, finds) for pair in kept[:count]),
        tried=sum(search.tried for search in searches),
        passed=sum(search.passed for search in searches),
        checked=sum(search.checked for search in searches),
        blockers=tuple(sorted(blocked.items(), key=lambda item: (-item[1], item[0]))),
        grid=max((search.grid for search in searches), default=(0.1, 0.1)),
        asked=count,
        free=len(pairs),
        names=names,
        starts=len(starts),
    )


def _in_order(spec: Spec, names: tuple[str, str]) -> tuple[str, str]:
    """The mount first whose place the other's is told from; else as the spec has them."""
    ordered = [name for name in spec.model.mounts if name in names]
    at = spec.model.mounts[ordered[0]].at
    hangs_on = None
    if isinstance(at, words.FindPlace):
        hangs_on = None if at.find.belt is None else at.find.belt.from_
    elif isinstance(at, words.BeltPlace):
        hangs_on = at.belt.from_
    return (ordered[1], ordered[0]) if hangs_on == ordered[1] else (ordered[0], ordered[1])


def _find(spec: Spec, name: str) -> words.Find:
    """Where a mount may be; raises the error of one mount for a place that is given."""
    at = spec.model.mounts[name].at
    return at.find if isinstance(at, words.FindPlace) else space_of(spec, name).find


def _with_place(spec: Spec, name: str, at: words.Place) -> Spec:
    mounts = {**spec.model.mounts, name: spec.model.mounts[name].model_copy(update={"at": at})}
    return replace(spec, model=spec.model.model_copy(update={"mounts": mounts}))


def _to_find(spec: Spec, name: str, find: words.Find) -> Spec:
    return _with_place(spec, name, words.FindPlace(find=find))


def _somewhere(spec: Spec, name: str, find: words.Find, share: float) -> Spec:
    """The spec with a mount at a place within its space: of a box along both sides, of an arc along it."""
    at: words.Place
    if find.belt is not None:
        low, high = find.belt.angles or (0.0, math.tau)
        angle = f"{math.degrees(low + share * (high - low)):.1f} deg"
        at = words.BeltPlace.model_validate({"belt": {"from": find.belt.from_, "angle": angle}})
    else:
        assert find.box is not None
        (x0, y0), (x1, y1) = find.box
        at = (round(x0 + share * (x1 - x0), 1), round(y0 + share * (y1 - y0), 1))
    return _with_place(spec, name, at)


def _starts(spec: Spec, first: str, second: str, finds: dict[str, words.Find]) -> tuple[SearchSpace, list[SearchPose]]:
    """Spots of the first mount far from each other that nothing stops which stays; its space, with the second put by.

    Raises `SpecError` where the first cannot be laid out at all, and with what stops it where no spot is left.
    """
    error: PlatekitError | None = None
    blocked: dict[str, int] = {}
    for share in MIDDLES:
        put_by = _somewhere(_somewhere(spec, first, finds[first], share), second, finds[second], share)
        space = space_of(put_by, first, finds[first])
        grid = space.grid()
        free: list[SearchPose] = []
        for side in space.sides:
            spots, can = poses_of(space, side, grid)
            layout = None
            for row in np.unique(np.linspace(0, len(grid) - 1, min(len(grid), single.FIRST_POSES)).astype(np.intp)):
                try:
                    layout = lay_out(spec_at(space, _spot(side, grid[row])))
                    break
                except PlatekitError as problem:
                    error = error or problem
            if layout is None:
                continue
            # what the second one is in the way of where it happens to stand is no matter yet
            questions = filter_of(space, _without(layout, second))
            # With a belt between the two the distance of the shafts is that of a chance place: not asked either.
            passed = questions.sorted_by(spots).passed(spots)
            good = passed if space.run is not None and second in _on_belt(space) else passed & can
            for what, times in questions.blockers(spots.only(sample(len(grid)))):
                blocked[what] = blocked.get(what, 0) + times
            free += [_spot(side, row) for row in _spread(space, grid[good], STARTS // len(space.sides))]
        if free:
            return space, free
    if blocked:
        most = sorted(blocked, key=lambda what: (-blocked[what], what))[:3]
        found = f"a space in which no place is free, wherever {second} is"
        raise SpecError((spec.problem(f"mounts.{first}.at", found, f"in the way: {'; '.join(most)}"),))
    assert error is not None
    found = "a space in which the mount cannot be laid out at all"
    raise SpecError((spec.problem(f"mounts.{first}.at", found, single.said_of(error)),))


def _on_belt(space: SearchSpace) -> tuple[str, ...]:
    assert space.run is not None
    return (space.run.words.driver.on, space.run.words.driven.on)


def _without(layout: Layout, name: str) -> Layout:
    """The layout without a mount's openings and bodies: for questions about what stays."""
    gone = {body.name for body in layout.bodies if body.carrier == name}
    return replace(
        layout,
        openings=tuple(opening for opening in layout.openings if opening.mount != name),
        bodies=tuple(body for body in layout.bodies if body.name not in gone),
    )


def _spot(side: Side, row: Spots) -> SearchPose:
    return SearchPose(side, (int(row[0]), int(row[1]), int(row[2])))


def _spread(space: SearchSpace, spots: Spots, count: int) -> Spots:
    """So many of the spots, each as far as can be from those before it; the first is the nearest to the middle."""
    if not len(spots):
        return spots
    ranges = (space.first, space.second, space.turns)
    low = np.array([one.low for one in ranges], dtype=np.float64)
    wide = np.array([max(one.high - one.low, 1) for one in ranges], dtype=np.float64)
    shares = (spots - low) / wide
    off = np.abs(shares - 0.5).max(axis=1)
    chosen = [int(np.argmin(np.round(off, 9)))]
    nearest = np.full(len(spots), np.inf)
    for _ in range(min(count, len(spots)) - 1):
        nearest = np.minimum(nearest, ((shares - shares[chosen[-1]]) ** 2).sum(axis=1))
        # rounded, so that of spots as far off the first counts on every processor
        chosen.append(int(np.argmax(np.round(nearest, 9))))
    return spots[chosen]


def _alternated(
    start: tuple[Spec, SearchPose],
    names: tuple[str, str],
    finds: dict[str, words.Find],
    by: Merit,
    searches: list[Search],
) -> _Pair | None:
    """The pair that placing one beside the other in turn leads to; None where the second finds no place at all."""
    best: _Pair | None = None
    spec, spots, merits = start[0], {names[0]: start[1]}, dict[str, Merits]()
    for turn in range(2 * ROUNDS):
        name = names[(turn + 1) % 2]
        try:
            search = single.place_one(_to_find(spec, name, finds[name]), name, by, 1)
        except SpecError:
            # beside the other where it stands now this one cannot be laid out: the pair as it is, or another start
            return best
        searches.append(search)
        if not search.places:
            return best
        place = search.places[0]
        spots, merits = {**spots, name: place.spot}, {**merits, name: place.merits}
        cost = _both_of(merits.values(), place.merits.area).cost(WEIGHTS[by])
        # The first turn tells only of the second mount: with the first one's merits known too it starts anew.
        if best is not None and len(best.merits) == 2 and cost > best.cost - BETTER:
            return best
        spec = place.layout.spec
        best = _Pair(place, spots, merits, cost)
    return best


def _both_of(merits: Iterable[Merits], area: float) -> Merits:
    """The worse of the merits of several mounts on one plate, of so many mm2."""
    told = list(merits)
    belts = [one.belt for one in told if one.belt is not None]
    return Merits(
        area,
        max(belts) if belts else None,
        min(one.clearance for one in told),
        max(one.reach for one in told),
    )


def _as_found(spec: Spec, pair: _Pair, names: tuple[str, str], finds: dict[str, words.Find]) -> FoundPlace:
    """The pair as a place of the first mount, with the space of each beside the other one in its place."""
    layout = pair.last.layout
    both = []
    for name, other in (names, names[::-1]):
        # Side, turn and slots of the mount itself stay those of the user: what is changed of them is what is written.
        beside = _with_place(spec, name, layout.spec.model.mounts[name].at)
        mounts = {**beside.model.mounts, other: layout.spec.model.mounts[other]}
        beside = replace(beside, model=beside.model.model_copy(update={"mounts": mounts}))
        both.append((space_of(beside, name, finds[name]), pair.spots[name]))
    merits = _both_of(pair.merits.values(), pair.last.merits.area)
    return FoundPlace(pair.spots[names[0]], layout, pair.last.verdict, merits, tuple(both))


def _alike(pair: _Pair, other: _Pair, names: tuple[str, str]) -> bool:
    """Whether two pairs show the same plate for who looks at them."""
    for name in names:
        one, two = (both.last.layout.mounts[name] for both in (pair, other))
        turned = math.degrees(abs(math.remainder(one.pose.turn - two.pose.turn, math.tau)))
        off = math.dist((one.pose.x, one.pose.y), (two.pose.x, two.pose.y))
        if one.side != two.side or off >= APART or turned >= APART:
            return False
    return True

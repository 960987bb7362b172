"""Readings that are all wrong in the same way: a whole column typed as another kind, all diameters given as radii.

One habit spoils every reading that it touches, so no single one stands out. Each habit is undone for all readings that
it may have touched, the net is solved again, and what comes out is held against the stories of a single wrong reading.

Data snooping cannot see a habit: many readings that are off together are explained as well by holes at other places, so
the residuals stay small. But diameters tie the kinds of reading to each other, which is why only kinds between holes of
known size are tried.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import combinations
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from platekit.survey.arrange import Arrangement, arrangements, ways_round
from platekit.survey.explain import JAW, kind_in_words
from platekit.survey.net import PAIR_KINDS, SEEN_KINDS, BadReading, Net, ReadingKind

FEWEST: Final = 2
"""Readings from which a habit can show (ours)."""

PLACED: Final = 0.3
"""How far a distance off a picture is usually off, mm, and by how many times its square a distance may be
(`MOST_OFF`) before two holes are tried under each other's name (ours: wide, it only spares work)."""
MOST_OFF: Final = 25.0

USUAL: Final = {"named": 0.06, "kind": 0.12, "exchanged": 0.06, "radii": 0.12, "twice": 0.03, "tips": 0.06}
"""How usual a habit is, of one or more: on the scale of the slips of one reading, and as rough (ours)."""

MOST_HOLES: Final = 60
"""Holes up to which habits are tried (ours): each takes a survey of its own, and a large net shows single slips."""

_SIGNS: Final[dict[ReadingKind, float]] = {"inside": -1.0, "over": 1.0, "centres": 0.0}
"""By how many of both radii a reading is more than the distance of the centres."""
_PAIRS: Final[tuple[ReadingKind, ...]] = ("inside", "over", "centres")


class Habit(Struct, frozen=True, eq=False):
    """All readings at some places of `Net.all_readings` mended alike: the net then, what it comes to, its cost."""

    indices: tuple[int, ...]
    net: Net
    found: Arrangement
    meant: ReadingKind | None
    why: str
    cost: float


def habits(net: Net) -> Iterator[Habit]:
    """Every habit whose undoing leaves a net that can be solved; lengths in mm."""
    if len(net.placed) > MOST_HOLES:
        return
    for indices, mended, meant, why, usual in _habits_undone(net):
        if len(indices) < FEWEST:
            continue
        try:
            found = arrangements(mended)[0]
        except BadReading:
            continue
        yield Habit(indices, mended, found, meant, why, -2.0 * math.log(USUAL[usual]))


class Exchanged(Struct, frozen=True, eq=False):
    """Two holes of a picture under each other's name: their readings, the net with the names put right, its cost."""

    names: tuple[str, str]
    indices: tuple[int, ...]
    net: Net
    found: Arrangement
    cost: float


def exchanges(net: Net) -> Iterator[Exchanged]:
    """Each two holes of a picture given each other's place, where the distances go with that; lengths in mm."""
    at: dict[str, dict[str, int]] = {}
    for k, one in enumerate(net.readings):
        if one.kind in SEEN_KINDS:
            at.setdefault(one.features[0], {})[one.kind] = k
    whole = [one.name for one in net.placed if len(at.get(one.name, {})) == len(SEEN_KINDS)]
    pairs = list(combinations(whole, 2))
    there = {name: (net.readings[at[name]["across"]].value, net.readings[at[name]["up"]].value) for name in whole}
    for a, b in pairs:
        if not _goes_with_distances(net, there | {a: there[b], b: there[a]}):
            continue
        readings = list(net.readings)
        for kind, k in at[a].items():
            other = at[b][kind]
            readings[k] = replace(net.readings[k], value=net.readings[other].value)
            readings[other] = replace(net.readings[other], value=net.readings[k].value)
        mended = replace(net, readings=tuple(readings))
        try:
            found = ways_round(mended, arrangements(mended))[0][0]
        except BadReading:
            continue
        indices = tuple(sorted([*at[a].values(), *at[b].values()]))
        yield Exchanged((a, b), indices, mended, found, -2.0 * math.log(USUAL["named"] / len(pairs)))


def _goes_with_distances(net: Net, places: dict[str, tuple[float, float]]) -> bool:
    """Whether some scale brings places in a picture (mm) to all distances that were measured between them.

    It spares a survey of each pair of names; the bound is wide, the survey decides.
    """
    radii = {one.name: None if one.diameter is None else one.diameter / 2 for one in net.placed}
    seen, measured, weights = [], [], []
    for one in net.readings:
        if one.kind not in _SIGNS or not all(name in places for name in one.features):
            continue
        both = [radii.get(name) for name in one.features]
        sign = _SIGNS[one.kind]
        if sign and None in both:
            continue
        a, b = (places[name] for name in one.features)
        seen.append(math.dist(a, b))
        measured.append(one.value - sign * sum(radius or 0.0 for radius in both))
        weights.append(1.0 / (net.sigma_of(one) ** 2 + PLACED**2))
    total = sum(w * s * s for w, s in zip(weights, seen, strict=True))
    if len(seen) < FEWEST or total <= 0.0:
        return False
    scale = sum(w * s * m for w, s, m in zip(weights, seen, measured, strict=True)) / total
    worth = sum(w * (m - scale * s) ** 2 for w, s, m in zip(weights, seen, measured, strict=True))
    return scale > 0.0 and worth < MOST_OFF * len(seen)


UndoneHabit = tuple[tuple[int, ...], Net, ReadingKind | None, str, str]
"""Places of the readings, the net with them mended, the kind that was meant, the habit in words, its key in `USUAL`."""


def _habits_undone(net: Net) -> Iterator[UndoneHabit]:
    """Each habit in turn, undone for all readings that it may have spoiled."""
    sized = {feature.name for feature in net.placed if feature.diameter is not None}
    sized |= {reading.features[0] for reading in net.readings if reading.kind == "diameter"}
    of = {kind: tuple(k for k, one in enumerate(net.readings) if one.kind == kind) for kind in _PAIRS}
    for kind, indices in of.items():
        if not all(sized.issuperset(net.readings[k].features) for k in indices):
            continue
        for meant in _PAIRS:
            if meant != kind:
                said = f"look like {kind_in_words(meant).split(' ', 1)[1]}s"
                yield indices, _retyped(net, dict.fromkeys(indices, meant)), meant, said, "kind"
    if of["inside"] and of["over"]:
        swapped: dict[int, ReadingKind] = {}
        swapped.update((k, "over") for k in of["inside"])
        swapped.update((k, "inside") for k in of["over"])
        yield tuple(sorted(swapped)), _retyped(net, swapped), None, "have inside and over exchanged", "exchanged"
    if of["inside"]:
        why = f"miss the {net.say(JAW)} of the caliper's tips"
        yield of["inside"], _changed(net, of["inside"], 1.0, JAW), None, why, "tips"
    diameters = tuple(k for k, one in enumerate(net.all_readings) if one.kind == "diameter")
    yield diameters, _changed(net, diameters, 2.0, 0.0), None, "look like radii", "radii"
    yield diameters, _changed(net, diameters, 0.5, 0.0), None, "look like twice the diameter", "twice"


def _retyped(net: Net, kinds: dict[int, ReadingKind]) -> Net:
    readings = (replace(one, kind=kinds.get(k, one.kind)) for k, one in enumerate(net.readings))
    return replace(net, readings=tuple(readings))


def _changed(net: Net, indices: tuple[int, ...], factor: float, more: float) -> Net:
    """The net with the values at some places of `all_readings` times a factor, and a length more."""
    readings = tuple(
        replace(one, value=one.value * factor + more) if k in indices else one for k, one in enumerate(net.readings)
    )
    places = iter(range(len(net.readings), len(net.all_readings)))
    # a diameter that came with its feature is a reading, too: behind those that were typed, in the features' order
    features = tuple(
        replace(one, diameter=one.diameter * factor + more)
        if one.diameter is not None and one.kind != "edge" and next(places) in indices
        else one
        for one in net.features
    )
    return replace(net, readings=readings, features=features)


def all_of(net: Net, indices: tuple[int, ...]) -> str:
    """The readings of a habit in words: `all 6 readings typed as centres`."""
    kinds = {net.all_readings[k].kind for k in indices}
    if kinds == {"diameter"}:
        return f"all {len(indices)} diameters"
    if kinds <= PAIR_KINDS and len(kinds) == 1:
        return f"all {len(indices)} readings typed as {next(iter(kinds))}"
    return f"all {len(indices)} readings typed as {' and '.join(sorted(kinds))}"

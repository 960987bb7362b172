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
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from platekit.survey.arrange import Arrangement, arrangements
from platekit.survey.explain import JAW, kind_in_words
from platekit.survey.net import PAIR_KINDS, BadReading, Net, ReadingKind

FEWEST: Final = 2
"""Readings from which a habit can show (ours)."""

USUAL: Final = {"kind": 0.12, "exchanged": 0.06, "radii": 0.12, "twice": 0.03, "tips": 0.06}
"""How usual a habit is, of one or more: on the scale of the slips of one reading, and as rough (ours)."""

MOST_HOLES: Final = 60
"""Holes up to which habits are tried (ours): each takes a survey of its own, and a large net shows single slips."""

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

"""Which number of the spec governs how near two parts come, and by how much it may still grow.

Every number that has a say in the pair (sizes, spans, travel, places of the two and of what carries them) is made a
little larger, the plate is laid out again, and the change of the clearance tells. Travel goes before size, size before
span, span before place: a shop would rather take up less belt than move the motor. How far the number may grow is then
found by laying out again, not by drawing the change on.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from itertools import product
from typing import Any, Final, Literal

from msgspec import Struct
from msgspec.structs import replace

from platekit.analysis.nearness import meeting, now
from platekit.checks.bodies import may_touch
from platekit.errors import PlatekitError
from platekit.layout import lay_out
from platekit.placed import Body, Layout
from platekit.spec import Spec
from platekit.spec.base import WordsModel
from platekit.spec.source import Path, path_of
from platekit.studies.tightest import MOST, TightPair, part_of, tightest
from platekit.units import mm_per

NUDGE: Final = 0.05
"""By how much a number is made larger to see what it does, mm (ours); an angle by as many degrees."""
LEAST_SAY: Final = 0.1
"""Change of the clearance over that of the number below which the number does not govern (ours)."""
MOST_GROWTH: Final = 100.0
"""A number that may grow by more than this does not press, mm or degrees (ours)."""
MOST_TRIES: Final = 20
"""Steps of growth that are tried; the last one that is clear is told (ours)."""
HURRY: Final = 1.5
"""What is left may go this many times faster than it did at first (ours)."""
CLOSE: Final = 1e-2
"""The growth is found this closely, mm or degrees (ours)."""
DEGREE: Final = math.radians(1)
"""One degree in radians (P: geometry)."""

ANGLES: Final = frozenset({"axis", "turn", "angle", "start", "along"})
"""Keys whose number is an angle; of a swing `install` and `tension` are too."""
SIZES: Final = frozenset({"diameter", "width", "height", "length", "pitch_diameter", "outside_diameter"})
"""Keys whose number is a size."""
LEFT_OUT: Final = frozenset({"gap", "pad", "clearance", "hole", "depth", "measured", "motor", "inverter"})
"""Keys whose numbers say nothing about where a part is, or that are not the user's to choose."""
MOST_ITEMS: Final = 24
"""Longest list whose numbers are tried one by one (ours): each takes a layout."""


class Governing(Struct, frozen=True):
    """The number that governs a pair. `value` and `may_grow` are in `unit`, that of the spec or degrees.

    `may_grow` is below zero where the pair is too near already, None where no end was found.
    """

    field: str
    value: float
    may_grow: float | None
    unit: Literal["mm", "in", "deg"]


class Explained(Struct, frozen=True):
    """A tight pair, its clearance with everything at nominal (mm), and the number that governs it (if one does)."""

    pair: TightPair
    now: float
    governs: Governing | None


def explained(layout: Layout, most: int = MOST) -> tuple[Explained, ...]:
    """The tightest pairs (mm), each with what governs it; lays the plate out some hundred times."""
    trial = _ChangedLayouts(layout.spec)
    told = []
    for pair in tightest(layout, most):
        near = min(now(a, b) for a, b in _pairs(layout, pair))
        told.append(Explained(pair, near, _governing(layout, pair, trial)))
    return tuple(told)


# --------------------------------------------------------------------------------------------- pairs


def _pairs(layout: Layout, pair: TightPair) -> Iterator[tuple[Body, Body]]:
    """The bodies of two parts that must keep clear of each other."""
    some = [body for body in layout.bodies if part_of(body) == pair.a]
    others = [body for body in layout.bodies if part_of(body) == pair.b]
    return ((a, b) for a, b in product(some, others) if not may_touch(a, b))


def _spare(layout: Layout, pair: TightPair) -> float | None:
    """What two parts have over the distance they need, mm; None when one of them is gone."""
    return min((near.found - near.needed for near in (meeting(a, b) for a, b in _pairs(layout, pair))), default=None)


# --------------------------------------------------------------------------------------------- numbers


class _Number(Struct, frozen=True):
    """A number of the spec by its path; `rank` says how gladly a shop would change it, 0 the most.

    It grows away from zero: a span of [-14, 0] and a place of -20 grow to the negative side.
    """

    path: Path
    value: float
    angle: bool
    rank: int

    def grown(self, growth: float) -> float:
        """The number farther from zero by a growth (mm or degrees), in its own unit inside the program."""
        return self.value + math.copysign(growth, self.value * growth) * (DEGREE if self.angle else 1.0)

    @property
    def field(self) -> str:
        """The path as the user would write it."""
        return ".".join(str(step).removesuffix("_") for step in self.path)


def _below(path: Path, value: Any) -> Iterator[_Number]:
    """Every number below a path."""
    if isinstance(value, float):
        angle = path[-1] in ANGLES or ("swing" in path and path[-1] in ("install", "tension"))
        # The less a change costs the shop, the lower: belt travel is a slot's length, a place moves a whole part.
        if "take_up" in path:
            rank = 0
        elif (
            "points" in path
            or path[-1] in ("diameter", "width", "height", "length", "pitch_diameter", "outside_diameter")
            or "steps" in path
        ):
            rank = 1
        elif "span" in path or path[-1] == "standoff":
            rank = 2
        else:
            rank = 3
        yield _Number(path, value, angle, rank)
    elif isinstance(value, dict):
        for key, item in value.items():
            yield from _below((*path, key), item)
    elif isinstance(value, list | tuple):
        for index, item in enumerate(value if len(value) <= MOST_ITEMS else ()):
            yield from _below((*path, index), item)
    elif isinstance(value, WordsModel):
        for key in type(value).model_fields:
            if key not in LEFT_OUT:
                yield from _below((*path, key), getattr(value, key))


# --------------------------------------------------------------------------------------------- trial


class _ChangedLayouts:
    """Lays a spec out again with one number changed, each change once."""

    def __init__(self, spec: Spec) -> None:
        self._spec = spec
        self._kept: dict[tuple[Path, float], Layout | None] = {}

    def with_number(self, path: Path, value: float) -> Layout | None:
        """The layout with a number of the spec changed (mm or rad); None when there is none."""
        if (path, value) not in self._kept:
            try:
                again = lay_out(replace(self._spec, model=_changed(self._spec.model, path, value)))
            except PlatekitError:
                again = None
            self._kept[path, value] = again
        return self._kept[path, value]


def _changed(model: Any, path: Path, value: float) -> Any:
    """A copy of a model, list or value with the number at a path changed."""
    if not path:
        return value
    step, rest = path[0], path[1:]
    if isinstance(model, dict):
        return {**model, step: _changed(model[step], rest, value)}
    if isinstance(model, list | tuple):
        items = [_changed(item, rest, value) if index == step else item for index, item in enumerate(model)]
        return type(model)(items)
    return model.model_copy(update={str(step): _changed(getattr(model, str(step)), rest, value)})


def _governing(layout: Layout, pair: TightPair, trial: _ChangedLayouts) -> Governing | None:
    spare = _spare(layout, pair)
    if spare is None:
        return None
    best: tuple[int, float, _Number] | None = None
    # Only the words of the two parts and of what carries them can have a say in how near they come.
    roots: dict[Path, None] = {}
    for body in layout.bodies:
        if part_of(body) in (pair.a, pair.b):
            path = path_of(body.field, layout.spec.top)
            roots[path[:2] if path[0] in ("mounts", "bodies") else path] = None
            if body.carrier in layout.mounts:
                roots["mounts", body.carrier] = None
    numbers: dict[Path, _Number] = {}
    for root in roots:
        words: Any = layout.spec.model
        for step in root:
            if isinstance(words, list):
                words = words[int(step)]
            else:
                words = words[step] if isinstance(words, dict) else getattr(words, str(step), None)
        numbers |= {number.path: number for number in _below(root, words)}
    for number in numbers.values():
        nudged = trial.with_number(number.path, number.grown(NUDGE))
        after = None if nudged is None else _spare(nudged, pair)
        if after is None:
            continue
        # How much of a small growth of the number the clearance loses: a derivative, by laying out twice.
        say = (after - spare) / NUDGE
        if say < -LEAST_SAY and (best is None or (number.rank, say) < best[:2]):
            best = (number.rank, say, number)
    if best is None:
        return None
    _, say, number = best

    # With room to spare the number may grow until nothing is left; without, it must shrink until something is.
    def left(growth: float) -> float:
        again = trial.with_number(number.path, number.grown(growth))
        found = None if again is None else _spare(again, pair)
        return -1.0 if found is None else found

    # The clearance may fall faster further on (a corner comes near): steps are taken as if it did, so that its end is
    # not jumped over. A length can hardly take more than itself.
    rate = HURRY * -say if number.angle else max(1.0, HURRY * -say)
    reached, growth = 0.0, None
    if spare >= 0:
        rest = spare
        for _ in range(MOST_TRIES):
            further = reached + rest / rate
            if rest <= CLOSE * rate or further > MOST_GROWTH:
                break
            rest = left(further)
            if rest < 0:
                reached = _between(left, reached, further)
                break
            reached = further
        growth = None if rest > CLOSE * rate and further > MOST_GROWTH else reached
    else:
        # too near already: back by what the rate promises, then twice as far until something is left
        low = -spare / say
        clear = left(low) >= 0
        while not clear and 2 * low >= -MOST_GROWTH:
            low *= 2
            clear = left(low) >= 0
        growth = _between(left, low, 0.0) if clear else None
    if number.angle:
        return Governing(number.field, number.value / DEGREE, growth, "deg")
    unit = layout.spec.unit
    factor = 1.0 / mm_per(unit)
    grown = None if growth is None else growth * factor
    return Governing(number.field, number.value * factor, grown, unit)


def _between(left: Callable[[float], float], low: float, high: float) -> float:
    """The growth at which nothing is left, between one with something left and one without."""
    while high - low > CLOSE:
        middle = (low + high) / 2
        low, high = (middle, high) if left(middle) >= 0 else (low, middle)
    return low

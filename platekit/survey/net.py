"""What a shop gives the survey: features, readings, and how they hang together as a net.

    feature    a hole, bore, shaft, stud or pin that has a place; or an edge, a straight datum edge without one of its
               own
    reading    one measurement with a caliper, rule or tape: which features, what kind, which value, how good
    inside     the gap between the nearest edges of two features: distance minus both radii
    over       across the farthest edges of two features: distance plus both radii
    centres    from centre to centre
    edge       from the straight datum edge to the nearest edge of a feature: distance minus one radius
    x, y       from a square corner to the centre of a feature, x to the right and y up, as looked at
    across, up   where the middle of a feature is in a picture, to the right and up in it; one picture a pattern, whose
               scale, turn and place are free: they say the shape, and distances by caliper how large it is
    diameter   of one feature; the one given with the feature is a reading like any other
    sigma      one standard deviation of one reading, mm
    net        all features and readings of one pattern, with what is taken for granted (a bolt circle, a rectangle)
    frame      where (0, 0) is and which way x points; readings between holes alone do not say

For a shaft, a stud, and a pin put into a hole, the diameter is what stands out: `inside` and `over` are over that.
All lengths are mm, all angles radians. Nothing here knows the spec; a reading can carry the line it came from.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from difflib import get_close_matches
from functools import cache
from itertools import combinations
from operator import attrgetter
from typing import Literal, get_args

from msgspec import Struct

from platekit.errors import SurveyError
from platekit.tables.rows import read
from platekit.tables.values import Kind
from platekit.units import Unit, show_length

FeatureKind = Literal["hole", "bore", "shaft", "stud", "pin", "dowel", "edge"]
ReadingKind = Literal["inside", "over", "centres", "edge", "x", "y", "across", "up", "diameter"]

UNSCREWED: frozenset[FeatureKind] = frozenset({"bore", "shaft", "dowel"})
"""Kinds of feature that take no screw: they are measured from, but belong to no bolt pattern."""

PAIR_KINDS: frozenset[ReadingKind] = frozenset({"inside", "over", "centres"})
"""Kinds of reading that go from one feature to another."""

SEEN_KINDS: frozenset[ReadingKind] = frozenset({"across", "up"})
"""Kinds of reading that come off a picture."""

CORNER_KINDS: frozenset[ReadingKind] = frozenset({"x", "y"})
"""Kinds of reading that start from the square corner."""

_READING_KINDS = frozenset(get_args(ReadingKind))
_kind_of = attrgetter("kind")

CENTRE = "centre"
"""As `origin`: centre of the assumed bolt circle or rectangle, else the mean of the holes that are not bores."""

CORNER = "corner"
"""As `origin`: the square corner that `x` and `y` readings start from."""


class Tool(Struct, frozen=True):
    """How good a reading with this tool usually is: one standard deviation in mm, and who says so."""

    name: str
    sigma: float
    source: Kind
    reason: str


@cache
def tools() -> dict[str, Tool]:
    """Usual sigma (mm) by tool, from the tables; the net's own sigma and that of a reading stand above it."""
    return {
        row.text("tool"): Tool(row.text("tool"), row.need("sigma"), row.source.kind, row.text("reason"))
        for row in read("measuring_tool.csv")
    }


USUAL_TOOL = "caliper"


class BadReading(SurveyError):
    """Readings that cannot be used; `readings` are their places in `Net.readings`, `features` the names meant.

    `lines` are the lines of the user's text that the readings or features carry, as far as they carry any. `word` is
    the one that cannot be meant so (`clockwise`, `origin`), where it is no reading; the message begins with it.
    """

    def __init__(
        self,
        message: str,
        readings: tuple[int, ...] = (),
        features: tuple[str, ...] = (),
        lines: tuple[int, ...] = (),
        word: str = "",
    ) -> None:
        super().__init__(f"{word}: {message}" if word else message)
        self.word = word
        self.readings = readings
        self.features = features
        self.lines = lines

    @property
    def reading(self) -> int | None:
        """The place of the first reading meant, or None when none is."""
        return self.readings[0] if self.readings else None


class Feature(Struct, frozen=True):
    """One hole, bore, shaft, stud, pin or datum edge, with its measured diameter if it has one."""

    name: str
    diameter: float | None = None
    kind: FeatureKind = "hole"
    sigma: float | None = None
    line: int | None = None


class Reading(Struct, frozen=True):
    """One measurement: two features for `inside`, `over` and `centres`, one for all other kinds.

    An `edge` reading names the feature and the datum edge; the edge may be left out when there is only one.
    """

    features: tuple[str, ...]
    kind: ReadingKind
    value: float
    sigma: float | None = None
    tool: str | None = None
    line: int | None = None

    def __str__(self) -> str:
        return self.told("mm")

    def told(self, unit: Unit) -> str:
        """The reading in words, its value (mm) shown in a unit: `A-B over 81.7 mm`."""
        return f"{'-'.join(self.features)} {self.kind} {show_length(self.value, unit)}"


class Net(Struct, frozen=True):
    """Everything measured on one pattern (mm), and what may be taken for granted about it.

    `sigma` is that of a reading that gives neither its own nor a tool. `on_circle` names holes that lie on one bolt
    circle; `going_round` says that they are named in the order in which they follow each other, and `evenly` that they
    are also evenly spaced. `rectangle` names four holes, going round. `clockwise` names three holes that follow each
    other clockwise as looked at, which settles the mirror image. `origin` is a feature, "centre" or "corner"; `x_axis`
    goes from the first named feature to the second. Left out, they are the corner if `x` or `y` readings exist, else
    "centre" and the first two holes that are not bores. `unit` is what the readings were typed in: all lengths here
    are mm, words and slips of the keyboard go by the unit.
    """

    features: tuple[Feature, ...]
    readings: tuple[Reading, ...] = ()
    sigma: float | None = None
    on_circle: tuple[str, ...] | None = None
    going_round: bool = False
    evenly: bool = False
    rectangle: tuple[str, ...] | None = None
    clockwise: tuple[str, str, str] | None = None
    origin: str | None = None
    x_axis: tuple[str, str] | None = None
    unit: Unit = "mm"

    def say(self, length: float) -> str:
        """A length (mm) as text in the unit that the readings were typed in."""
        return show_length(length, self.unit)

    def told(self, reading: Reading) -> str:
        """A reading (mm) in words, in the unit that it was typed in."""
        return reading.told(self.unit)

    def feature(self, name: str) -> Feature:
        """The feature of that name."""
        return next(feature for feature in self.features if feature.name == name)

    @property
    def placed(self) -> tuple[Feature, ...]:
        """The features that have a place: all but datum edges."""
        return tuple(feature for feature in self.features if feature.kind != "edge")

    @property
    def edges(self) -> tuple[str, ...]:
        """The names of the datum edges; one called "edge" when edge readings name none."""
        named = tuple(feature.name for feature in self.features if feature.kind == "edge")
        if named or "edge" not in map(_kind_of, self.readings):
            return named
        implied = any(reading.kind == "edge" and len(reading.features) == 1 for reading in self.readings)
        return ("edge",) if implied else ()

    @property
    def has_corner(self) -> bool:
        """Whether any reading starts from the square corner."""
        return not CORNER_KINDS.isdisjoint(map(_kind_of, self.readings))

    @property
    def has_picture(self) -> bool:
        """Whether any reading comes off a picture."""
        return not SEEN_KINDS.isdisjoint(map(_kind_of, self.readings))

    def sigma_of(self, reading: Reading) -> float:
        """One standard deviation of a reading, mm: its own, that of its tool, the net's, the usual tool's."""
        if reading.sigma is not None:
            return reading.sigma
        if reading.tool is not None:
            return tools()[reading.tool].sigma
        return self.sigma if self.sigma is not None else tools()[USUAL_TOOL].sigma

    @property
    def all_readings(self) -> tuple[Reading, ...]:
        """The readings as given (mm), then one for each diameter that came with a feature."""
        return self.readings + tuple(
            Reading((feature.name,), "diameter", feature.diameter, feature.sigma, None, feature.line)
            for feature in self.placed
            if feature.diameter is not None
        )


def checked(net: Net) -> Net:
    """The same net, after its names, counts and values (mm) have been looked at.

    Raises `BadReading` for an unknown or doubled name, a count that does not suit the kind, a value that is not a
    number or not positive, a sigma that is not positive, an unknown tool or kind.
    """
    seen: set[str] = set()
    for feature in net.features:
        where = _lines(feature.line)
        if feature.name in seen:
            raise BadReading(
                f"hole {feature.name} is given twice; give each hole its own name", (), (feature.name,), where
            )
        seen.add(feature.name)
        if feature.kind not in get_args(FeatureKind):
            raise BadReading(
                f"{feature.name} is called a {feature.kind}; use {_listed(get_args(FeatureKind))}",
                (),
                (feature.name,),
                where,
            )
        if feature.diameter is not None and not _positive(feature.diameter):
            raise BadReading(
                f"diameter of {feature.name} is {net.say(feature.diameter)}; it must be a length above zero",
                (),
                (feature.name,),
                where,
            )
        if feature.sigma is not None and not _positive(feature.sigma):
            raise BadReading(
                f"sigma of the diameter of {feature.name} is {net.say(feature.sigma)}; "
                "it must be above zero, such as 0.1",
                (),
                (feature.name,),
                where,
            )
    if not net.placed:
        raise BadReading("there is no hole to find; name the holes that were measured")
    known: dict[str, FeatureKind] = {feature.name: feature.kind for feature in net.features}
    known |= dict.fromkeys(net.edges, "edge")
    placed = {name for name, kind in known.items() if kind != "edge"}
    for index, reading in enumerate(net.readings):
        # Most are a length between two holes and nothing else, which is quickly seen.
        if reading.kind in PAIR_KINDS and reading.sigma is None and reading.tool is None:
            ends = set(reading.features)
            if len(reading.features) == 2 == len(ends) and ends <= placed and 0.0 < reading.value < math.inf:
                continue
        _check_reading(net, known, index, reading)
    _check_assumptions(net)
    if net.sigma is not None and not _positive(net.sigma):
        raise BadReading(f"sigma of the net is {net.say(net.sigma)}; it must be a length above zero, such as 0.1")
    return net


def _check_reading(net: Net, known: dict[str, FeatureKind], index: int, reading: Reading) -> None:
    def refuse(sentence: str) -> BadReading:
        return BadReading(f"reading {net.told(reading)}: {sentence}", (index,), reading.features, _lines(reading.line))

    if reading.kind not in _READING_KINDS:
        raise refuse(f"there is no kind {reading.kind!r}; use {_listed(get_args(ReadingKind))}")
    for name in reading.features:
        if name not in known:
            raise refuse(f"there is no hole {name}{_did_you_mean(name, known)}")
    if len(set(reading.features)) < len(reading.features):
        raise refuse(f"it names {_doubled(reading.features)} twice; a reading goes from one hole to another")
    edges = [name for name in reading.features if known[name] == "edge"]
    holes = len(reading.features) - len(edges)
    if reading.kind == "edge":
        several = sum(kind == "edge" for kind in known.values()) > 1
        if holes != 1 or len(edges) > 1 or (several and not edges):
            raise refuse("an edge reading names one hole and one datum edge")
    elif edges:
        raise refuse(f"{edges[0]} is a datum edge; only a reading of kind edge can use it")
    else:
        wanted = 2 if reading.kind in PAIR_KINDS else 1
        if holes != wanted:
            raise refuse(f"kind {reading.kind} needs {'two holes' if wanted == 2 else 'one hole'}, found {holes}")
    if not math.isfinite(reading.value):
        raise refuse("the value is not a number")
    if reading.value <= 0.0 and reading.kind not in CORNER_KINDS | SEEN_KINDS:
        raise refuse("a length must be above zero")
    if reading.sigma is not None and not _positive(reading.sigma):
        raise refuse(f"sigma is {net.say(reading.sigma)}; it must be above zero, such as 0.1")
    if reading.tool is not None and reading.tool not in tools():
        raise refuse(f"there is no tool {reading.tool!r}; use {_listed(tools())}, or give sigma")


def _check_assumptions(net: Net) -> None:
    placed = {feature.name: feature.kind for feature in net.placed}

    def look(names: Iterable[str], what: str) -> None:
        listed = tuple(names)
        for name in listed:
            if name not in placed:
                raise BadReading(f"there is no hole {name}{_did_you_mean(name, placed)}", (), (name,), word=what)
        if len(set(listed)) < len(listed):
            raise BadReading(f"names {_doubled(listed)} twice", (), (_doubled(listed),), word=what)

    look(net.on_circle or (), "on_circle")
    look(net.rectangle or (), "rectangle")
    look(net.clockwise or (), "clockwise")
    look(net.x_axis or (), "x_axis")
    if net.origin is not None and net.origin not in (CENTRE, CORNER):
        look((net.origin,), "origin")
    if net.origin == CORNER and not net.has_corner:
        raise BadReading("the corner can only be the origin when there are x and y readings", word="origin")
    if net.on_circle is not None and len(net.on_circle) < 3:
        raise BadReading(f"found {len(net.on_circle)} holes; it takes three or more to make a circle", word="on_circle")
    if net.rectangle is not None and len(net.rectangle) != 4:
        raise BadReading(f"found {len(net.rectangle)} holes; name its four corners, going round", word="rectangle")
    if net.clockwise is not None and len(net.clockwise) != 3:
        raise BadReading(
            f"found {len(net.clockwise)} holes; name three that follow each other clockwise", word="clockwise"
        )
    if net.x_axis is not None and len(net.x_axis) != 2:
        raise BadReading(
            f"found {len(net.x_axis)} holes; name two, from the first x points to the second", word="x_axis"
        )
    both = set(net.on_circle or ()) & set(net.rectangle or ())
    if both:
        raise BadReading(f"{_listed(sorted(both))}: assume a circle or a rectangle, not both", (), tuple(sorted(both)))


def pairs(names: Iterable[str]) -> Iterator[tuple[str, str]]:
    """Every pair of names, in order."""
    return combinations(tuple(names), 2)


def _positive(value: float) -> bool:
    return math.isfinite(value) and value > 0.0


def _lines(line: int | None) -> tuple[int, ...]:
    return () if line is None else (line,)


def _listed(words: Iterable[str]) -> str:
    listed = tuple(words)
    return listed[0] if len(listed) == 1 else f"{', '.join(listed[:-1])} or {listed[-1]}"


def _doubled(names: tuple[str, ...]) -> str:
    return next(name for name in names if names.count(name) > 1)


def _did_you_mean(name: str, known: Iterable[str]) -> str:
    near = get_close_matches(name, tuple(known), n=1)
    return f"; did you mean {near[0]}?" if near else f"; the holes are {', '.join(known)}"

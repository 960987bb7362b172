"""What may have gone wrong with one reading: the slips of bench and keyboard, tried one after another.

Each slip turns the value that was typed into the value that would have been right. A slip explains a reading when its
value agrees with what the other readings predict.

    predicted   what the reading should be, from all others, with its sigma
    slip        a way of getting a reading wrong, with the value it would mean, and a sentence
    usual       how many of a hundred wrong readings are of that slip: a slip with many values shares it among them
    cost        minus twice the logarithm of the slip's share, plus its misfit: comparable with a chi-square

The digits are those of the unit that the readings were typed in.

A reading for which no slip is known costs the logarithm of how many other values it could have had, in widths of what
the others allow: so a slip that lands where the others point is the better story, and the narrower they point the more.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from decimal import Decimal
from itertools import pairwise
from typing import Final

from msgspec import Struct

from platekit.survey.net import Reading
from platekit.tables.shop import shop_figure
from platekit.units import INCH, Unit, mm_per, show_length

JAW = shop_figure("caliper, width of its tips")
"""mm; width of the measuring tips of many large calipers, to be added for inside readings. See `shop_figures.csv`."""

AGREES = 3.0
"""Sigmas within which the value meant agrees with the one predicted. Ours."""

LIKELY = 2.0
"""Sigmas within which slips of the keyboard must agree; farther off is one good reading in twenty. Ours."""

MUCH = 6.0
"""Sigmas that a wrong digit must make before one is suspected; below it any value is one digit off. Ours."""

USUAL: Final = {
    "kind": 0.06,
    "radius": 0.02,
    "twice": 0.03,
    "diameter": 0.12,
    "point": 0.02,
    "far point": 0.005,
    "unit": 0.02,
    "swapped": 0.08,
    "left out": 0.03,
    "doubled": 0.03,
    "tips": 0.04,
    "one turn": 0.02,
    "five turns": 0.005,
    "hole": 0.08,
    "hole size": 0.005,
    "digit": 0.15,
    "any": 0.3,
}
"""Shares of wrong readings by what went wrong, from one up. Ours: only their order of size matters. Those that can mean
many values (`swapped`, `left out`, `digit`, `hole`) are shared among these; that a diameter is like that of another
says little (`hole size`), as most are alike."""

WIDE = 50.0
"""mm; a reading that is wrong for no reason we know lies anywhere within this of the right one, or within three times
its own error where that is more. Ours: what a shop measures with a caliper."""

_CALLED = {
    "inside": "an inside gap",
    "over": "an over-all size",
    "centres": "a distance between centres",
    "one radius": "a size from a centre to a near edge",
    "one radius more": "a size from a centre to a far edge",
}
_TURNS: Final[dict[Unit, tuple[tuple[str, tuple[float, ...]], ...]]] = {
    "mm": (("one turn", (10.0, 1.0)), ("five turns", (100.0, 5.0, 50.0))),
    "in": (("one turn", (0.1 * INCH, 0.025 * INCH)), ("five turns", (INCH, 0.5 * INCH))),
}
"""What a scale is misread by, mm: its figures, and its long lines (common practice)."""
_INCH_STEPS = (("1/16", 1.0 / 16.0), ("1/8", 1.0 / 8.0), ("1/4", 1.0 / 4.0), ("1/2", 1.0 / 2.0), ("1", 1.0))
"""Lines of an inch scale, as written and in inches."""


class Slip(Struct, frozen=True):
    """One explanation: what the reading would have been, mm, why in words, whether the typing was wrong, its cost."""

    likely: float
    why: str
    typed: bool = False
    cost: float = 0.0


def kind_in_words(kind: str) -> str:
    """What a kind of reading (of lengths in mm) is, in words."""
    return _CALLED[kind]


def slips(
    reading: Reading,
    predicted: float,
    sigma: float,
    *,
    kinds: Mapping[str, float],
    others: Mapping[str, float],
    unit: Unit = "mm",
) -> tuple[Slip, ...]:
    """The slips that explain a reading, the likeliest first.

    `predicted` and `sigma` (mm) are what the other readings say; `kinds` gives the same for other kinds of reading
    between the same features, `others` for the same kind between other features, by name ("A-D").

    >>> reading = Reading(("A", "B"), "inside", 81.7)
    >>> slips(reading, 87.12, 0.1, kinds={}, others={})[0].why
    '81.7 mm would be 87.1 mm: two digits swapped?'
    """
    found: list[Slip] = []

    def add(likely: float, share: float, why: str, reach: float, *, typed: bool = False, shown: bool = True) -> None:
        off = abs(likely - predicted) / sigma
        if off <= reach:
            words = f"{_shown(reading.value, unit)} would be {_shown(likely, unit)}: {why}?" if shown else why
            found.append(Slip(likely, words, typed, off**2 - 2.0 * math.log(share)))

    for likely, why, share in _keyboard_slips(reading.value, unit):
        add(likely, share, why, LIKELY, typed=True)
    for kind, value in kinds.items():
        share = USUAL["radius"] if "radius" in kind else USUAL["kind"]
        likely = predicted + (reading.value - value)  # as far off as it would be as that kind
        add(likely, share, f"looks like {_CALLED[kind]} typed as {reading.kind}", AGREES, typed=True, shown=False)
    for likely, why, share in _bench_slips(reading, unit):
        add(likely, share, why, AGREES)
    # at another hole: only where that would have read clearly differently, else it explains nothing
    usual = USUAL["hole size"] if reading.kind == "diameter" else USUAL["hole"]
    for name, value in others.items():
        if abs(predicted - value) > 2.0 * AGREES * sigma:
            likely = predicted + (reading.value - value)
            add(likely, usual / len(others), f"would suit {name}: another hole?", AGREES, shown=False)
    text, digits = _written(reading.value, unit), []
    for k, sign in enumerate(text):
        for digit in "0123456789" if sign.isdigit() else "":
            if digit != sign:
                likely = float(text[:k] + digit + text[k + 1 :]) * mm_per(unit)
                if abs(likely - reading.value) >= MUCH * sigma:
                    digits.append(likely)
    for likely in digits:
        add(likely, USUAL["digit"] / len(digits), "one digit wrong", AGREES)
    return tuple(sorted(found, key=lambda slip: round(slip.cost, 6)))


def cost_of_any(off: float, sigma: float) -> float:
    """The cost of a reading that is wrong by `off` (mm) for no reason we know, comparable with that of a slip.

    Minus twice the logarithm of a uniform density over the range, against that of a normal one at its top.
    """
    range_ = 2.0 * max(WIDE, 3.0 * abs(off))
    return 2.0 * math.log(range_ / (math.sqrt(2.0 * math.pi) * sigma)) - 2.0 * math.log(USUAL["any"])


def _shown(value: float, unit: Unit) -> str:
    """A length with the decimals that may have been typed: a ten-thousandth of an inch, a thousandth of a mm."""
    figure = round(float(value) / mm_per(unit), 4 if unit == "in" else 3) + 0.0
    return f"{Decimal(repr(figure)).normalize():f} {unit}"


def _keyboard_slips(value: float, unit: Unit) -> Iterator[tuple[float, str, float]]:
    """Slips of the keyboard, with the value meant (mm), in words, and their share."""
    for factor, why, usual in (
        (10.0, "decimal point too far left", "point"),
        (0.1, "decimal point too far right", "point"),
        (100.0, "decimal point too far left", "far point"),
        (0.01, "decimal point too far right", "far point"),
        (INCH, "inches typed as millimetres", "unit"),
        (1.0 / INCH, "millimetres typed as inches", "unit"),
    ):
        yield value * factor, why, USUAL[usual]
    text = _written(value, unit)
    # Neighbouring digits in each other's place, the slip of a fast hand.
    swapped = []
    for first, second in pairwise(k for k, sign in enumerate(text) if sign.isdigit()):
        signs = list(text)
        signs[first], signs[second] = signs[second], signs[first]
        swapped.append("".join(signs))
    # A key that was held too long: the digit goes out again, of a pair only one.
    doubled = [
        text[:k] + text[k + 1 :]
        for k, (one, following) in enumerate(pairwise(text))
        if one == following and one.isdigit() and len(text) > 2
    ]
    # one left out before the point makes another length; behind it, a difference that no one would notice
    point = text.find(".") if "." in text else len(text)
    left_out = [text[:k] + digit + text[k:] for k in range(point + 1) for digit in "0123456789"]
    for why, usual, others in (
        ("two digits swapped", "swapped", swapped),
        ("a digit typed twice", "doubled", doubled),
        ("a digit left out", "left out", left_out),
    ):
        # what is the value itself, or ten times as much, was offered above
        different = sorted({float(other) for other in others} - {float(text) * f for f in (1.0, 10.0, 0.1)})
        for other in different:
            yield other * mm_per(unit), why, USUAL[usual] / len(different)


def _written(value: float, unit: Unit) -> str:
    """The value as someone would have typed it."""
    return f"{Decimal(repr(round(float(value) / mm_per(unit), 4))):f}"


def _bench_slips(reading: Reading, unit: Unit) -> Iterator[tuple[float, str, float]]:
    """Slips at the bench: radius for diameter, a jaw forgotten, a scale misread."""
    value = reading.value
    if reading.kind == "diameter":
        yield 2.0 * value, "a radius given as the diameter", USUAL["diameter"]
        yield value / 2.0, "twice the diameter", USUAL["twice"]
    else:
        yield value / 2.0, "twice what it should be", USUAL["twice"]
        yield 2.0 * value, "half of what it should be", USUAL["twice"]
    if reading.kind in ("inside", "diameter"):
        # Inside jaws have a width that some scales leave to be added.
        tips = show_length(JAW, unit)
        yield value + JAW, f"the {tips} of the caliper's tips not added", USUAL["tips"]
    for usual, steps in _TURNS[unit]:
        for step in steps:
            for sign in (1.0, -1.0):
                yield value + sign * step, f"scale misread by {show_length(step, unit)}", USUAL[usual]
    if reading.tool in ("rule", "tape") and unit == "mm":  # many carry inches on their other edge
        for words, part in _INCH_STEPS:
            for sign in (1.0, -1.0):
                yield value + sign * part * INCH, f"scale misread by {words} in", USUAL["five turns"]

"""What may have gone wrong with one reading: the slips of bench and keyboard, tried one after another.

Each slip turns the value that was typed into the value that would have been right. A slip explains a reading when its
value agrees with what the other readings predict.

    predicted   what the reading should be, from all others, with its sigma
    slip        a way of getting a reading wrong, with the value it would mean, and a sentence
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal
from itertools import pairwise

from msgspec import Struct

from platekit.survey.net import Reading
from platekit.units import INCH

JAW = 10.0
"""mm; width of the measuring tips of many large calipers, to be added for inside readings. From memory."""

AGREES = 3.0
"""Sigmas within which the value meant agrees with the one predicted. Ours."""

LIKELY = 2.0
"""Sigmas within which slips of the keyboard must agree; farther off is one good reading in twenty. Ours."""

MUCH = 6.0
"""Sigmas that a wrong digit must make before one is suspected; below it any value is one digit off. Ours."""

_CALLED = {
    "inside": "an inside gap",
    "over": "an over-all size",
    "centres": "a distance between centres",
    "one radius": "a size from a centre to a near edge",
    "one radius more": "a size from a centre to a far edge",
}
_ROUND_STEPS = (10.0, 1.0, 100.0, 5.0, 50.0)
_INCH_STEPS = (INCH / 16.0, INCH / 8.0, INCH / 4.0, INCH / 2.0, INCH)


class Slip(Struct, frozen=True):
    """One explanation: what the reading would have been, mm, why in words, and whether the typing was wrong."""

    likely: float
    why: str
    typed: bool = False


def slips(
    reading: Reading,
    predicted: float,
    sigma: float,
    *,
    kinds: Mapping[str, float],
    others: Mapping[str, float],
) -> tuple[Slip, ...]:
    """The slips that explain a reading, the most telling first.

    `predicted` and `sigma` (mm) are what the other readings say; `kinds` gives the same for other kinds of reading
    between the same features, `others` for the same kind between other features, by name ("A-D").

    >>> reading = Reading(("A", "B"), "inside", 81.7)
    >>> slips(reading, 87.12, 0.1, kinds={}, others={})[0].why
    '81.7 would be 87.1: two digits swapped?'
    """
    reach = AGREES * sigma
    found: list[Slip] = []
    for likely, why in _typed(reading.value):
        if abs(likely - predicted) <= LIKELY * sigma:
            found.append(Slip(likely, f"{reading.value:g} would be {likely:.6g}: {why}?", typed=True))
    found += [
        Slip(predicted, f"looks like {_CALLED[kind]} typed as {reading.kind}", typed=True)
        for kind, value in kinds.items()
        if abs(reading.value - value) <= reach
    ]
    for likely, why in _measured(reading):
        if abs(likely - predicted) <= reach:
            found.append(Slip(likely, f"{reading.value:g} would be {likely:.6g}: {why}?"))
    found += [
        Slip(predicted, f"would suit {name}: another hole?")
        for name, value in others.items()
        if abs(reading.value - value) <= reach and abs(predicted - value) > 2.0 * reach
    ]
    for likely in _one_digit(reading.value, MUCH * sigma):
        if abs(likely - predicted) <= reach:
            found.append(Slip(likely, f"{reading.value:g} would be {likely:.6g}: one digit wrong?"))
    return tuple(found)


def _typed(value: float) -> Iterator[tuple[float, str]]:
    """Slips of the keyboard: two digits swapped, a shifted point, a wrong unit."""
    text = _written(value)
    digits = [k for k, sign in enumerate(text) if sign.isdigit()]
    seen = {value, value * 10.0, value / 10.0}
    yield value * 10.0, "decimal point too far left"
    yield value / 10.0, "decimal point too far right"
    yield value * INCH, "inches typed as millimetres"
    yield value / INCH, "millimetres typed as inches"
    for first, second in pairwise(digits):
        signs = list(text)
        signs[first], signs[second] = signs[second], signs[first]
        swapped = float("".join(signs))
        if swapped not in seen:
            seen.add(swapped)
            yield swapped, "two digits swapped"


def _written(value: float) -> str:
    """The value as someone would have typed it."""
    return f"{Decimal(repr(round(float(value), 4))):f}"


def _measured(reading: Reading) -> Iterator[tuple[float, str]]:
    """Slips at the bench: radius for diameter, a jaw forgotten, a scale misread."""
    value = reading.value
    if reading.kind == "diameter":
        yield 2.0 * value, "a radius given as the diameter"
        yield value / 2.0, "twice the diameter"
    if reading.kind in ("inside", "diameter"):
        yield value + JAW, f"the {JAW:g} mm of the caliper's tips not added"
    for step in _ROUND_STEPS:
        for sign in (1.0, -1.0):
            yield value + sign * step, f"scale misread by {step:g} mm"
    if reading.tool in ("rule", "tape"):
        for step in _INCH_STEPS:
            for sign in (1.0, -1.0):
                yield value + sign * step, f"scale misread by {_fraction(step)} in"


def _fraction(length: float) -> str:
    sixteenths = round(length / INCH * 16.0)
    return {1: "1/16", 2: "1/8", 4: "1/4", 8: "1/2", 16: "1"}[sixteenths]


def _one_digit(value: float, least: float) -> Iterator[float]:
    """The values that differ in one digit, where that digit counts for more than `least`."""
    text = _written(value)
    for k, sign in enumerate(text):
        for digit in "0123456789" if sign.isdigit() else "":
            other = float(text[:k] + digit + text[k + 1 :])
            if abs(other - value) >= least:
                yield other

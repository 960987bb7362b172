"""The round sizes, metric and inch, nearest to what was measured: a hint, never a correction.

The words used here:

    nominal     a size that a drawing would give: whole or half millimetres, or an inch with a usual fraction
    step        how coarse the nominal is; the coarsest step that the reading allows is the most telling
    chance      share of all lengths that lie as near to some multiple of the step: near 1, the nominal says nothing

Any length is near some thirty-second of an inch. So the steps are tried from the coarsest: a size that is near a whole
inch by chance once in a hundred is more of a hint than one near a thirty-second, which every second length is.
"""

from __future__ import annotations

import math
from fractions import Fraction

from msgspec import Struct

from platekit.survey.fit import circle_fit
from platekit.survey.net import UNSCREWED, pairs
from platekit.survey.result import Survey
from platekit.tables.shop import shop_figure
from platekit.units import INCH

METRIC_STEPS = (10.0, 5.0, 1.0, 0.5)
INCH_STEPS = (Fraction(1), Fraction(1, 2), Fraction(1, 4), Fraction(1, 8), Fraction(1, 16), Fraction(1, 32))

AGREES = 2.0
"""Sigmas within which a size agrees with a nominal. Ours: 19 times out of 20."""

MAKING = shop_figure("bought part, sigma of a size")
"""mm; one sigma of a real size from the nominal it was made to. See `shop_figures.csv`."""


MANY = 50
"""Holes up to which all distances are told, and a bolt circle is looked for unasked (ours): 1,225 distances."""


class Near(Struct, frozen=True):
    """One nominal: mm and as written, how far above it the measured size is, in mm and sigmas, how telling it is."""

    value: float
    text: str
    off: float
    sigmas: float
    step: float
    chance: float

    @property
    def agrees(self) -> bool:
        """Whether the measured size may well have been made to this nominal."""
        return self.sigmas <= AGREES


class NearestNominals(Struct, frozen=True):
    """A measured size, mm, with its sigma and the nearest nominals. `kind` is distance, diameter or bolt circle."""

    kind: str
    names: tuple[str, ...]
    measured: float
    sigma: float
    metric: Near
    inch: Near


def nominals(survey: Survey) -> tuple[NearestNominals, ...]:
    """The nominals (mm) of every distance between centres, every diameter, and the bolt circle if holes lie on one.

    In a pattern of more than `MANY` holes, of the distances that were read.
    """
    asked = list(pairs(survey.names))
    if len(survey.names) > MANY:
        read = {frozenset(reading.features) for reading in survey.net.readings}
        asked = [pair for pair in asked if frozenset(pair) in read]
    found = [nominal("distance", pair, *survey.distance(*pair)) for pair in asked]
    found += [
        nominal("diameter", (hole.name,), hole.diameter, hole.diameter_sigma or 0.0)
        for hole in survey.holes.values()
        if hole.diameter is not None
    ]
    circle = survey.net.on_circle or tuple(name for name, hole in survey.holes.items() if hole.kind not in UNSCREWED)
    if 3 <= len(circle) <= MANY:
        fit = circle_fit(survey, circle)
        if fit.consistent and (fit.dof or fit.even or survey.net.on_circle):
            found.append(nominal("bolt circle", circle, fit.diameter, fit.sigma))
    return tuple(found)


def nominal(kind: str, names: tuple[str, ...], measured: float, sigma: float) -> NearestNominals:
    """The nominals of one size, measured with a sigma (both mm).

    >>> nominal("distance", ("A", "B"), 82.6, 0.05).inch.text
    '3-1/4 in'
    """
    spread = math.hypot(sigma, MAKING)
    metric = _nearest(measured, spread, METRIC_STEPS)
    inch = _nearest(measured, spread, tuple(float(step) * INCH for step in INCH_STEPS))
    return NearestNominals(kind, names, measured, sigma, metric, inch)


def _nearest(measured: float, spread: float, steps: tuple[float, ...]) -> Near:
    """The nominal with the coarsest step that agrees, else the nearest with the finest."""
    tried: list[Near] = []
    for step in steps:
        value = round(measured / step) * step
        inches = step not in METRIC_STEPS
        tried.append(
            Near(
                value=value,
                text=inch_text(Fraction(round(value / INCH * 32), 32)) if inches else f"{value:g} mm",
                off=measured - value,
                sigmas=abs(measured - value) / spread,
                step=step,
                chance=min(1.0, 2.0 * AGREES * spread / step),
            )
        )
    return next((near for near in tried if near.agrees and near.value > 0.0), tried[-1])


def inch_text(inches: Fraction) -> str:
    """An inch size (inches, not mm) as a shop writes it.

    >>> inch_text(Fraction(53, 16))
    '3-5/16 in'
    """
    whole, part = divmod(inches, 1)
    if not part:
        return f"{whole} in"
    return f"{whole}-{part} in" if whole else f"{part} in"

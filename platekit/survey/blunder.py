"""Which reading is wrong, and what it should have been.

The words used here:

    blunder     a reading that is wrong by more than chance: typed wrongly, misread, taken at another hole
    left out    each reading in turn is left out and the rest adjusted again; where the rest agrees best, the one left
                out is the suspect (for one blunder among good readings, that is the most likely one)
    rivals      readings that could as well be the wrong one: the net cannot tell them apart
    slip        a usual way of getting a reading wrong that would explain the value; see `explain`
"""

from __future__ import annotations

import math

import numpy as np
from msgspec import Struct

from platekit.survey.adjust import Adjusted, settle, without
from platekit.survey.arrange import Arrangement, arrangements
from platekit.survey.chance import chi_square_tail, two_sided
from platekit.survey.explain import Slip, slips
from platekit.survey.model import Array, Model, model_of
from platekit.survey.net import PAIR_KINDS, BadReading, Net, Reading
from platekit.survey.order import ranked
from platekit.survey.result import Checked, Survey

FALSE_ALARM = 0.01
"""Probability that a net without any blunder gets a suspect. Ours; for ten readings it is one in a thousand each, the
level usual in surveying (Baarda, A testing procedure for use in geodetic networks, 1968)."""

HARDLY_CHECKED = 0.002
"""Redundancy number below which a reading is never suspected: nothing speaks about it. Ours."""

WORTH_TRYING, WORTH_TRYING_GROSS = 0.5, 0.02
"""Share of the largest drop in chi-square (its normalised residual squared) that a reading must promise before it is
left out on trial. Ours: the promise is exact but for curvature, which is slight on the scale of a blunder
but not on that of a gross one."""

GROSS = 15.0
"""Normalised residual from which the whole start is made anew, as the holes may have settled on a wrong side. Ours."""

RIVAL = 4.0
"""Chi-square by which two readings must differ before the net can tell them apart: odds of seven to one. Ours."""

SLIP_WORTH = 2.0
"""Chi-square that a slip of the keyboard is worth as evidence: odds of about three to one. Ours."""


class Suspect(Struct, frozen=True):
    """The reading that is most likely wrong.

    `index` is its place in `Net.all_readings`; `likely` the value, mm, that it probably should have had and `sigma` its
    standard deviation as the others predict it; `why` one sentence. `probability` is that of the rest's chi-square.
    """

    index: int
    reading: Reading
    likely: float
    predicted: float
    sigma: float
    why: str
    slips: tuple[Slip, ...]
    probability: float
    rivals: tuple[int, ...]

    def __str__(self) -> str:
        return f"{self.reading}: {self.why}; the other readings say {self.predicted:.2f} +-{self.sigma:.2f}"


class _Trial(Struct, frozen=True, eq=False):
    index: int
    chi_square: float
    model: Model
    unknowns: Array
    sigma: float
    slips: tuple[Slip, ...]

    @property
    def predicted(self) -> float:
        return float(self.model.predict(self.unknowns)[self.index])


def suspect(survey: Survey) -> Suspect | None:
    """The reading that is most likely wrong; None when all agree as well as chance allows.

    A reading that no other checks is never named. Data snooping: the alarm is the largest normalised residual or the
    chi-square of the whole; the choice is by leaving out each candidate and adjusting the rest again.
    """
    largest = max((abs(r.normalised) for r in survey.readings if r.normalised is not None), default=0.0)
    alarm = two_sided(FALSE_ALARM / max(len(survey.readings), 1))
    if largest <= alarm and survey.probability > FALSE_ALARM:
        return None
    known = [r for r in survey.readings if r.normalised is not None and r.redundancy > HARDLY_CHECKED]
    afresh = largest > GROSS
    share = WORTH_TRYING_GROSS if afresh else WORTH_TRYING
    least = share * max((_promise(r) for r in known), default=0.0) - RIVAL
    worth = [r for r in known if _promise(r) >= least]
    trials = [_left_out(survey.net, survey.adjusted, r.index) for r in worth]
    if afresh and not any(trial.chi_square <= _allowed(survey.dof - 1) for trial in trials):
        trials = [_left_out_afresh(survey.net, trial) for trial in trials]
    return _named(survey.net, trials, survey.dof - 1) if trials else None


def _promise(reading: Checked) -> float:
    """By how much chi-square should drop without this reading."""
    return (reading.normalised or 0.0) ** 2


def suspect_among(net: Net, indices: tuple[int, ...]) -> Suspect | None:
    """The one of these readings without which all others agree; None when that is none or more than one of them.

    For nets that cannot be solved as they stand, because a triangle is none.
    """
    good: list[_Trial] = []
    if _spare(model_of(net)) < 1:
        return None
    for index in indices:
        try:
            found = arrangements(net, (index,))[0]
        except BadReading:
            continue
        trial = _trial(net, found, index, _spread(found, index, net.sigma_of(net.all_readings[index])))
        if math.isfinite(trial.sigma) and found.chi_square <= _allowed(_spare(found.model) - 1):
            good.append(trial)
    return _named(net, good, 0) if len(good) == 1 else None


def _spare(model: Model) -> int:
    """Readings more than unknowns, the frame not counted."""
    return len(model.observed) - model.unknowns + 3


def _allowed(dof: int) -> float:
    """A chi-square that good readings hardly exceed: mean plus four standard deviations (sqrt(2 dof))."""
    return max(dof, 0) + 4.0 * math.sqrt(2.0 * max(dof, 0)) + 1e-6


def _left_out(net: Net, adjusted: Adjusted, index: int) -> _Trial:
    """The rest adjusted from where all were."""
    model = without(adjusted.model, (index,))
    sigma = float(adjusted.model.sigma[index]) / math.sqrt(float(adjusted.redundancy[index]))
    return _trial(net, Arrangement(model, *settle(model, adjusted.unknowns)), index, sigma)


def _left_out_afresh(net: Net, trial: _Trial) -> _Trial:
    """The rest from a start of its own, if that suits better: a gross blunder can put holes on a wrong side."""
    try:
        found = arrangements(net, (trial.index,))[0]
    except BadReading:
        return trial
    return trial if found.chi_square >= trial.chi_square else _trial(net, found, trial.index, trial.sigma)


def _spread(found: Arrangement, index: int, sigma: float) -> float:
    """Sigma of the difference between a reading left out and what the others predict; endless when they cannot."""
    row = found.model.jacobian(found.unknowns)[index]
    slope = found.model.jacobian(found.unknowns) / found.model.sigma[:, None]
    shares = np.linalg.lstsq(slope.T, row, rcond=1e-9)[0]
    if np.abs(slope.T @ shares - row).max(initial=0.0) > 1e-6 * np.abs(row).max(initial=1e-12):
        return math.inf
    return math.hypot(float(np.linalg.norm(shares)), sigma)


def _trial(net: Net, found: Arrangement, index: int, sigma: float) -> _Trial:
    reading = net.all_readings[index]
    predicted = float(found.model.predict(found.unknowns)[index])
    if not math.isfinite(sigma):
        return _Trial(index, found.chi_square, found.model, found.unknowns, sigma, ())
    explained = slips(
        reading, predicted, sigma, kinds=_other_kinds(found, reading), others=_other_holes(found, reading)
    )
    return _Trial(index, found.chi_square, found.model, found.unknowns, sigma, explained)


def _named(net: Net, trials: list[_Trial], dof: int) -> Suspect:
    def weighed(trial: _Trial) -> float:
        return trial.chi_square - (SLIP_WORTH if any(slip.typed for slip in trial.slips) else 0.0)

    best = trials[ranked([weighed(trial) for trial in trials])[0]]
    reading = net.all_readings[best.index]
    rivals = [trial for trial in trials if trial is not best and trial.chi_square - best.chi_square < RIVAL]
    return Suspect(
        index=best.index,
        reading=reading,
        likely=best.slips[0].likely if best.slips else best.predicted,
        predicted=best.predicted,
        sigma=best.sigma,
        why=best.slips[0].why if best.slips else f"off by {reading.value - best.predicted:+.2f} mm; measure it again",
        slips=best.slips,
        probability=chi_square_tail(best.chi_square, dof),
        rivals=tuple(sorted(trial.index for trial in rivals)),
    )


# What other readings would have been --------------------------------------------------------------------------------


def _geometry(found: Arrangement) -> tuple[dict[str, Array], dict[str, float]]:
    model, u = found.model, found.unknowns
    places = dict(zip(model.names, model.points(u), strict=True))
    radii = dict(zip(model.sized, (model.sizes(u) / 2.0).tolist(), strict=True))
    return places, radii


def _value(kind: str, a: str, b: str, places: dict[str, Array], radii: dict[str, float]) -> float:
    distance = float(np.hypot(*(places[a] - places[b])))
    own = radii.get(a, 0.0) + radii.get(b, 0.0)
    return distance + {"inside": -own, "over": own, "centres": 0.0}[kind]


def _other_kinds(found: Arrangement, reading: Reading) -> dict[str, float]:
    """What a reading of another kind between the same two holes would be."""
    if reading.kind not in PAIR_KINDS:
        return {}
    places, radii = _geometry(found)
    a, b = reading.features
    if a not in radii or b not in radii:
        return {}
    values = {kind: _value(kind, a, b, places, radii) for kind in ("inside", "over", "centres") if kind != reading.kind}
    near = _value("centres", a, b, places, radii)
    return values | {"one radius": near - radii[b], "one radius more": near + radii[b]}


def _other_holes(found: Arrangement, reading: Reading) -> dict[str, float]:
    """What the same kind of reading would be if one end were at another hole."""
    places, radii = _geometry(found)
    if reading.kind == "diameter":
        own = reading.features[0]
        return {name: 2.0 * radius for name, radius in radii.items() if name != own}
    if reading.kind not in PAIR_KINDS:
        return {}
    return {
        f"{kept}-{other}": _value(reading.kind, kept, other, places, radii)
        for kept in reading.features
        for other in places
        if other not in reading.features and (reading.kind == "centres" or {kept, other} <= set(radii))
    }

"""The single further reading that helps most, found by trying every one there is.

The words used here:

    helps most   fewest loose motions and holes afloat after it; then fewest flips left open; then the smallest
                 sigma of the worst hole
    doubtful     readings that disagree more than nine good nets in ten, while none stands out as the wrong one
    tried        the covariance after one more reading follows from the one before it by a rank-one change; where holes
                 float, the whole accuracy is worked out anew

What a reading does for the accuracy depends on where the holes are, not on what it will come to: so it can be tried
before it is taken. With S the covariance and r the row of the new reading (its derivatives over its sigma), the one
after it is S - S r r' S / (1 + r' S r) (Sherman and Morrison 1950).
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from platekit.survey.adjust import assess
from platekit.survey.frame import floating_holes, in_frame
from platekit.survey.model import SHARED, NetModel, model_of
from platekit.survey.net import PAIR_KINDS, Reading, ReadingKind, pairs
from platekit.survey.result import Survey, ellipse_of, loose_diameters

TELLS = 6.0
"""Sigmas by which a reading must differ between two arrangements to tell them apart. Ours."""

DOUBTFUL = 0.1
"""Probability of disagreeing as much by chance, below which the next reading is to show who is wrong. Ours: a reading
more costs a minute, a slip a plate."""
AS_LARGE = 0.1
"""Share by which normalised residuals may differ and still be as suspicious as each other. Ours."""


MOST_TRIED, MOST_AFLOAT, LEAST_AFLOAT, ALL_AFLOAT = 3000, 400, 8, 16
"""Readings up to which every one is tried as the next: where all holes are placed, and where some float, in a net of at
most `ALL_AFLOAT` holes; in larger ones fewer, as each takes longer by the third power of the holes (ours)."""


class Proposal(Struct, frozen=True):
    """A reading to take next: what it should come to, and what it does for the worst hole, mm at one sigma.

    `worst_before` is endless while a hole floats. `floating` are the holes that still float after it;
    where they do not even get fewer degrees of freedom by it, it does not help. `checks` is the doubtful reading that
    it checks, None where it is for accuracy alone.
    """

    features: tuple[str, ...]
    kind: ReadingKind
    expected: float
    worst_before: float
    worst_after: float
    floating: tuple[str, ...] = ()
    helps: bool = True
    checks: Reading | None = None

    def __str__(self) -> str:
        return f"{'-'.join(self.features)} {self.kind}"


@lru_cache(maxsize=16)
def next_reading(survey: Survey, among: tuple[Reading, ...] | None = None) -> Proposal | None:
    """The further reading (mm) that leaves the smallest worst-hole uncertainty, in the survey's own frame.

    `among` limits the choice; without it every pair is tried inside and over (between centres, where a diameter is not
    known), and what else the net already uses. None when there is nothing to choose from.
    """
    candidates = _candidates(survey) if among is None else among
    if not candidates:
        return None
    model = replace(model_of(survey.net, candidates), shapes=survey.adjusted.model.shapes, repeats=())
    # Sigma of each candidate; of what was read already, that of the little which another reading of the same adds.
    # n readings of the same have the variance SHARED + (1 - SHARED) / n, in those of one. What the next one brings is
    # the difference of the weights, one over the variance; a new reading of its own with that weight would do the
    # same.
    times: dict[tuple[str, frozenset[str]], int] = {}
    for read in survey.readings:
        if not read.copied:
            key = read.reading.kind, frozenset(read.reading.features)
            times[key] = times.get(key, 0) + 1
    sigmas = []
    for reading in candidates:
        count = times.get((reading.kind, frozenset(reading.features)), 0)
        more = 1.0 / (SHARED + (1.0 - SHARED) / (count + 1)) - (1.0 / (SHARED + (1.0 - SHARED) / count) if count else 0)
        sigmas.append(survey.net.sigma_of(reading) / math.sqrt(more))
    model = replace(model, sigma=np.array(sigmas))
    expected = model.predict(survey.adjusted.unknowns)
    afloat = bool(survey.floating or survey.loose_diameters)
    scores = [_score_afloat(survey, model, k) for k in range(len(candidates))] if afloat else _scores(survey, model)
    # how many other arrangements a reading would not rule out: those whose distance is too near to the one here
    flips_left = []
    for reading in candidates:
        if reading.kind not in PAIR_KINDS:
            flips_left.append(len(survey.flips))
            continue
        a, b = reading.features
        here = np.hypot(survey.holes[a].x - survey.holes[b].x, survey.holes[a].y - survey.holes[b].y)
        reach = TELLS * survey.net.sigma_of(reading)
        there = (float(np.hypot(*np.subtract(flip.points[a], flip.points[b]))) for flip in survey.flips)
        flips_left.append(sum(abs(distance - here) <= reach for distance in there))
    # of readings that help as much one that was not taken yet, then the one that helps all holes most, then the first
    known = {(reading.kind, frozenset(reading.features)) for reading in survey.net.all_readings}
    order = sorted(
        range(len(candidates)),
        key=lambda k: (
            scores[k].afloat,
            flips_left[k],
            round(scores[k].worst, 9),
            (candidates[k].kind, frozenset(candidates[k].features)) in known,
            round(scores[k].total, 9),
            k,
        ),
    )
    best = order[0]
    return Proposal(
        features=candidates[best].features,
        kind=candidates[best].kind,
        expected=float(expected[best]),
        worst_before=max(hole.sigma for hole in survey.holes.values()),
        worst_after=scores[best].worst,
        floating=scores[best].floating,
        helps=not afloat or scores[best].afloat[0] < survey.adjusted.loose.shape[1],
    )


def doubtful(survey: Survey) -> bool:
    """Whether the readings disagree more than chance lets one expect; who is wrong is another question."""
    return survey.dof > 0 and survey.probability < DOUBTFUL


def checking_reading(survey: Survey) -> Proposal | None:
    """The reading that shows whether the most suspicious one is wrong: measured the other way round, or once more.

    Of those that are about as suspicious as each other, the one that the others check least goes first: a slip hides
    there best, as it pulls all that it is measured with along. None when no reading between two holes is checked.
    """
    known = [r for r in survey.readings if r.normalised is not None and r.reading.kind in PAIR_KINDS]
    if not known:
        return None
    largest = max(abs(reading.normalised or 0.0) for reading in known)
    as_large = [reading for reading in known if abs(reading.normalised or 0.0) >= (1.0 - AS_LARGE) * largest]
    chosen = min(as_large, key=lambda reading: (round(reading.redundancy, 6), reading.index)).reading
    other = {"inside": "over", "over": "inside"}.get(chosen.kind, chosen.kind)
    among = [one for one in possible_readings(survey) if set(one.features) == set(chosen.features)]
    # the other way round (over for inside) checks kind and tips as well; read so already, the same once more
    wanted = next((one for one in among if one.kind == other), None) or Reading(chosen.features, chosen.kind, 0.0)
    pair = set(wanted.features)
    if any(one.kind == wanted.kind and set(one.features) == pair for one in survey.net.all_readings):
        wanted = Reading(chosen.features, chosen.kind, 0.0)
    proposal = next_reading(survey, (wanted,))
    return None if proposal is None else replace(proposal, checks=chosen)


def possible_readings(survey: Survey) -> tuple[Reading, ...]:
    """Every single reading that could be taken on the net, with the net's usual sigma; values are left at zero (mm)."""
    net, sized = survey.net, set(survey.adjusted.model.sized)
    found = [
        Reading(pair, kind, 0.0)
        for pair in pairs(survey.names)
        for kind in (("inside", "over") if set(pair) <= sized else ("centres",))
    ]
    found += [Reading((name,), "diameter", 0.0) for name in survey.names if name in sized]
    if net.has_corner:
        found += [Reading((name,), kind, 0.0) for name in survey.names for kind in ("x", "y")]
    found += [Reading((name, edge), "edge", 0.0) for edge in net.edges for name in survey.names if name in sized]
    return tuple(found)


def _candidates(survey: Survey) -> tuple[Reading, ...]:
    """The readings that are tried: all, or those at the worst or first floating hole, or that tell a flip, where many.

    Of a floating hole each takes the accuracy of the whole anew, so fewer are tried.
    """
    every = possible_readings(survey)
    afloat = survey.floating or survey.loose_diameters
    share = min(1.0, (ALL_AFLOAT / len(survey.names)) ** 3)
    most = max(LEAST_AFLOAT, round(MOST_AFLOAT * share)) if afloat else MOST_TRIED
    if len(every) <= most:
        return every
    worst = max(survey.holes.values(), key=lambda hole: round(hole.sigma, 9)).name
    there = {afloat[0] if afloat else worst}
    told = {frozenset(flip.telling) for flip in survey.flips}
    near = [one for one in every if there & set(one.features) or frozenset(one.features) in told]
    return tuple(near[:: len(near) // most + 1])


class _Score(Struct, frozen=True):
    afloat: tuple[int, int]
    worst: float
    total: float
    floating: tuple[str, ...] = ()


def _scores(survey: Survey, candidates: NetModel) -> list[_Score]:
    """Worst and total variance after each candidate: S - b b' / (1 + q), b and q from its own row."""
    adjusted = survey.adjusted
    rows = candidates.jacobian(adjusted.unknowns) / candidates.sigma[:, None]
    slope = in_frame(survey.net, adjusted.model, adjusted.unknowns).slope
    change = (slope @ adjusted.cofactor @ rows.T).T.reshape(len(rows), -1, 2)
    gain = 1.0 + ((rows @ adjusted.cofactor) * rows).sum(axis=1)
    n = len(survey.names)
    before = np.array([survey.covariance[2 * k : 2 * k + 2, 2 * k : 2 * k + 2] for k in range(n)])
    # only the 2 x 2 block of each hole is worked out, not the whole covariance: (candidates, holes, 2, 2)
    after = before - np.einsum("cna,cnb->cnab", change, change) / gain[:, None, None, None]
    xx, yy, xy = after[..., 0, 0], after[..., 1, 1], after[..., 0, 1]
    largest = (xx + yy) / 2.0 + np.hypot((xx - yy) / 2.0, xy)  # the variance in the worst direction of each hole
    worst = np.sqrt(np.maximum(largest.max(axis=1), 0.0))
    total = np.einsum("cnaa->c", after)
    return [_Score((0, 0), float(w), float(t)) for w, t in zip(worst, total, strict=True)]


def _score_afloat(survey: Survey, candidates: NetModel, k: int) -> _Score:
    """What stays afloat after one candidate, all accuracy worked out anew."""
    unknowns = survey.adjusted.unknowns
    with_one_more = assess(survey.adjusted.model, unknowns, candidates.jacobian(unknowns)[k] / candidates.sigma[k])
    floating = floating_holes(
        survey.adjusted.model, unknowns, with_one_more.root, with_one_more.loose, corner=survey.net.has_corner
    )
    slope = in_frame(survey.net, survey.adjusted.model, unknowns).slope
    covariance = slope @ with_one_more.cofactor @ slope.T
    blocks = [covariance[2 * i : 2 * i + 2, 2 * i : 2 * i + 2] for i in range(len(survey.names))]
    steady = [block for name, block in zip(survey.names, blocks, strict=True) if name not in floating]
    worst = max((ellipse_of(block).major for block in steady), default=0.0)
    afloat = with_one_more.loose.shape[1], len(floating) + len(loose_diameters(with_one_more))
    return _Score(afloat, worst, float(sum(np.trace(block) for block in steady)), floating)

"""The story of a survey: check, sketch, adjust from every start, choose the way round, work out the accuracy.

Accuracy is that of linear error propagation: the covariance of the unknowns, through the derivative of what is asked.
It is right where readings are good next to the distances between holes, which `nonlinear` checks hole by hole.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from msgspec.structs import replace

from platekit.survey.adjust import CHECKED_SHARE, Adjusted, assess
from platekit.survey.alike import exchanges
from platekit.survey.arrange import SAME_SHARE, Arrangement, arrangements, different, ways_round
from platekit.survey.blunder import Suspect, suspect_among
from platekit.survey.chance import chi_square_tail
from platekit.survey.frame import FLOAT_SHARE, floating_holes, free_of_frame, in_frame, without_frame
from platekit.survey.further import Proposal, next_reading
from platekit.survey.model import Array, copies
from platekit.survey.net import BadReading, Net, checked, pairs
from platekit.survey.result import (
    ROUND,
    Caution,
    Checked,
    Ellipse,
    Flip,
    LocatedFeature,
    Mirror,
    Survey,
    ellipse_of,
    listed,
    loose_diameters,
)

SMALL_HOLE = 10.0
"""mm; inside jaws do not reach the true diameter of smaller holes and read small. Common practice."""

SMALLEST_SEEN = 4.13
"""Sigmas (over the root of the redundancy number) of the smallest blunder that is seen 8 times in 10 when one good
reading in a thousand is blamed. Published: Baarda, A testing procedure for use in geodetic networks, 1968."""

MOST_FLIPS = 8
"""Other arrangements that are told, the likeliest first (ours): one reading more rules out half of them each time."""

MOST_SEEDS = 400
"""Pairs from which the holes left alone by a flip are grown (ours): enough that one lies within any large group."""

_ENDLESS = ((math.inf, 0.0), (0.0, math.inf))
_ROUNDING = 1e-9
"""An ellipse no longer than this is a point, mm (ours)."""


class WrongReading(BadReading):
    """Readings that cannot go together, where the others tell which one is wrong: the `suspect`, named first."""

    def __init__(self, message: str, wrong: Suspect, readings: tuple[int, ...], lines: tuple[int, ...]) -> None:
        super().__init__(message, readings, wrong.reading.features, lines)
        self.suspect = wrong


class Floating(BadReading):
    """Too few readings: `features` are the holes whose place stays open, `diameters` those whose diameter does.

    `survey` is what could be solved, `proposal` the further reading that helps most.
    """

    def __init__(self, survey: Survey, proposal: Proposal | None) -> None:
        helps = "no single further reading settles it"
        if proposal is not None and proposal.helps:
            helps = f"the reading to take next is {proposal}"
        if survey.loose_diameters:
            floats = f"the diameter of {listed(survey.loose_diameters)} is needed and cannot be worked out"
        else:
            floats = f"too few readings to place {listed(survey.floating)}"
            # how far the holes spread along and across their best line; off it a distance changes by the square only,
            # so that any number of readings along it leaves that open
            spread = np.linalg.svd(survey.points - survey.points.mean(axis=0), compute_uv=False)
            if len(survey.points) > 2 and spread[1] < FLOAT_SHARE * spread[0]:
                row = f"{listed(survey.names)} lie nearly in one row"
                floats = f"{row}, and lengths along it do not say how far off it they are"
                helps = "read their distances from a straight edge laid beside the row, or x and y from a square corner"
        super().__init__(f"{floats}; {helps}", (), survey.floating or survey.loose_diameters)
        self.diameters = survey.loose_diameters
        self.survey = survey
        self.proposal = proposal


def solve(net: Net, *, floating_ok: bool = False) -> Survey:
    """The survey of a net: places in the net's frame (mm, counter-clockwise positive) with covariance and residuals.

    Raises `BadReading` (a `SurveyError`) for readings that cannot be used, and its kind `Floating` when they leave
    holes open, unless `floating_ok`: then those holes come with endless sigma and a place that is one of many.

    Weighted least squares in the nonlinear readings; all arrangements that suit as well are reported in `flips`.

    >>> from platekit.survey.net import Feature, Reading
    >>> net = Net((Feature("A"), Feature("B")), (Reading(("A", "B"), "centres", 80.0),), origin="A")
    >>> [round(figure, 3) for figure in solve(net).distance("A", "B")]
    [80.0, 0.1]
    """
    checked(net)
    try:
        found = arrangements(net)
    except BadReading as error:
        # readings that cannot go together: the error names the one that is wrong, if one is
        # Only among the readings of the error: what cannot go together lies within them.
        wrong = suspect_among(net, error.readings)
        if wrong is None:
            raise
        lines = () if wrong.reading.line is None else (wrong.reading.line,)
        rest = tuple(index for index in error.readings if index != wrong.index)
        words = f"most likely {wrong}" if wrong.sure else f"these explanations suit about as well: {wrong}"
        raise WrongReading(f"{error}; {words}", wrong, (wrong.index, *rest), lines) from error
    # Before accuracy is worked out: the frame depends on which way round the pattern lies.
    try:
        found, mirror = ways_round(net, found)
    except BadReading as error:
        pairs = [one.names for one in exchanges(net)] if net.has_picture else []
        if len(pairs) != 1:
            raise
        told = str(error).removeprefix(f"{error.word}: ")  # the word is put before it again
        words = f"{told}; or {pairs[0][0]} and {pairs[0][1]} have each other's place in the picture, which suits all"
        raise BadReading(words, error.readings, error.features, word=error.word) from error
    survey = survey_at(net, found[0], mirror)
    if not (survey.floating or survey.loose_diameters):
        others = different(found)[1 : 1 + MOST_FLIPS]  # turned the right way round, two may have become the same
        return replace(survey, flips=tuple(_flip(net, survey, other) for other in others))
    if floating_ok:
        return survey
    raise Floating(survey, next_reading(survey))


def solved_once(net: Net, *, floating_ok: bool = False) -> Survey:
    """What `solve` gives (mm), worked out once for each net: searches lay a plate out thousands of times.

    Raises what `solve` raises, the same error each time.
    """
    outcome = _outcome(net)
    if isinstance(outcome, Survey):
        return outcome
    if floating_ok and isinstance(outcome, Floating):
        return outcome.survey
    raise outcome.with_traceback(None)


@lru_cache(maxsize=256)
def _outcome(net: Net) -> Survey | BadReading:
    try:
        return solve(net)
    except BadReading as error:
        return error


def survey_at(net: Net, found: Arrangement, mirror: Mirror) -> Survey:
    """The survey (mm, rad) of one arrangement, with its accuracy; flips are left out."""
    adjusted = assess(found.model, found.unknowns)
    frame = in_frame(net, found.model, found.unknowns)
    covariance = frame.slope @ adjusted.cofactor @ frame.slope.T
    floating = floating_holes(found.model, found.unknowns, adjusted.root, adjusted.loose, corner=found.model.has_corner)
    dof = adjusted.model.counted - adjusted.rank
    small = tuple(
        feature.name
        for feature in net.placed
        if feature.kind in ("hole", "bore") and feature.diameter is not None and feature.diameter < SMALL_HOLE
    )
    cautions: tuple[Caution, ...] = ()
    if small:
        said = f"inside jaws read small in holes under {net.say(SMALL_HOLE)}; check with a drill shank"
        cautions = (Caution(small, said),)
    # Each feature with its place, its accuracy and its diameter; of one that floats, no bounds.
    model = adjusted.model
    sizes = dict(zip(model.sized, model.sizes(adjusted.unknowns), strict=True))
    at = len(adjusted.unknowns) - 2 * len(model.edges) - len(model.sized)
    spread = {name: math.sqrt(max(adjusted.cofactor[at + k, at + k], 0.0)) for k, name in enumerate(model.sized)}
    bent = _nonlinear(adjusted)
    located = []
    for k, (feature, (x, y)) in enumerate(zip(net.placed, frame.points.tolist(), strict=True)):
        floats = feature.name in floating
        block = covariance[2 * k : 2 * k + 2, 2 * k : 2 * k + 2]
        (xx, xy), (yx, yy) = block.tolist()
        located.append(
            LocatedFeature(
                name=feature.name,
                kind=feature.kind,
                x=x,
                y=y,
                covariance=_ENDLESS if floats else ((xx, xy), (yx, yy)),
                ellipse=Ellipse(math.inf, math.inf, 0.0) if floats else ellipse_of(block),
                diameter=float(sizes[feature.name]) if feature.name in sizes else None,
                diameter_sigma=spread.get(feature.name),
                floating=floats,
                nonlinear=bool(bent[k]),
            )
        )
    return Survey(
        net=net,
        names=found.model.names,
        holes={hole.name: hole for hole in located},
        covariance=covariance,
        free_covariance=free_of_frame(covariance, frame.points),
        readings=_checked(net, adjusted),
        chi_square=adjusted.chi_square,
        dof=dof,
        probability=chi_square_tail(adjusted.chi_square, dof),
        mirror=mirror,
        flips=(),
        floating=floating,
        loose_diameters=loose_diameters(adjusted),
        frame=frame.words,
        cautions=cautions,
        adjusted=adjusted,
    )


def _nonlinear(adjusted: Adjusted) -> Array:
    """Which holes are held so loosely that one sigma along their worst direction costs not near one in chi-square.

    In a linear model it costs exactly one. The dearest way to move a hole by its sigma takes all unknowns along, by the
    cofactors; both ways are tried, and half or twice as dear is too far off to call the ellipse a picture.
    """
    model, u = adjusted.model, adjusted.unknowns
    slope = np.eye(2 * model.holes, len(u)) if (own := model.slope(u)) is None else own[: 2 * model.holes]
    # Moving the whole pattern costs nothing and says nothing: it is taken out before a worst direction is asked for.
    slope = without_frame(slope, model.points(u))
    covariance = slope @ adjusted.cofactor @ slope.T
    # half axis and direction of the ellipses by Mohr's circle, all at once: a direction and its opposite are one here
    xx, yy, xy = covariance.diagonal()[0::2], covariance.diagonal()[1::2], covariance.diagonal(1)[0::2]
    half = np.hypot((xx - yy) / 2.0, xy)
    major = np.sqrt(np.maximum((xx + yy) / 2.0 + half, 0.0))
    twice = np.arctan2(2.0 * xy, np.where(half > ROUND * (xx + yy) / 2.0, xx - yy, 1.0))
    held = np.flatnonzero(major > _ROUNDING)
    if not len(held):  # readings that fix no hole more than it is assumed to be have no ellipse to be bent
        return np.zeros(model.holes, dtype=bool)
    along = np.zeros((2 * model.holes, len(held)))
    columns = np.arange(len(held))
    along[2 * held, columns] = (np.cos(twice / 2.0) / np.maximum(major, _ROUNDING))[held]
    along[2 * held + 1, columns] = (np.sin(twice / 2.0) / np.maximum(major, _ROUNDING))[held]
    steps = (adjusted.cofactor @ (slope.T @ along)).T
    misfit = model.whitened((model.observed - model.predict(u + np.vstack([steps, -steps]))).T)
    dearer = (misfit**2).sum(axis=0).reshape(2, -1) - adjusted.chi_square
    bent = np.zeros(model.holes, dtype=bool)
    bent[held] = ~((dearer > 0.5) & (dearer < 2.0)).all(axis=0)
    return bent


def _checked(net: Net, adjusted: Adjusted) -> tuple[Checked, ...]:
    """Each reading held against the rest: its residual, and the smallest blunder in it that would be seen."""
    readings = net.all_readings
    again = {copy for others in copies(readings).values() for copy in others} if adjusted.model.repeats else set()
    figures = (adjusted.residuals.tolist(), adjusted.redundancy.tolist(), adjusted.normalised.tolist())
    found = []
    for index, (reading, residual, share, normalised) in enumerate(zip(readings, *figures, strict=True)):
        sigma, checked = net.sigma_of(reading), share > CHECKED_SHARE
        smallest = SMALLEST_SEEN * sigma / math.sqrt(share) if checked else math.inf
        says = normalised if checked else None
        # by place: with names it takes twice as long
        found.append(
            Checked(index, reading, sigma, reading.value - residual, residual, share, says, smallest, index in again)
        )
    return tuple(found)


def _flip(net: Net, survey: Survey, other: Arrangement) -> Flip:
    """Another arrangement, with what moved in it and the distance that tells it from the survey best."""
    frame = in_frame(net, other.model, other.unknowns)
    here, there = survey.points, frame.points
    names = survey.names

    def apart(pair: tuple[str, str]) -> tuple[float, float]:
        a, b = names.index(pair[0]), names.index(pair[1])
        return math.dist(here[a], here[b]), math.dist(there[a], there[b])

    # The distance that differs most is the one reading that settles which arrangement is true.
    telling = max(pairs(names), key=lambda pair: round(abs(apart(pair)[0] - apart(pair)[1]), 6))
    # The smallest set of holes whose moving explains the difference: those outside the largest group that keeps all its
    # distances (a largest clique; grown greedily from pairs, as rigid groups hang together by nearly all of theirs).
    first = np.hypot(*(here[:, None, :] - here[None, :, :]).T)
    second = np.hypot(*(there[:, None, :] - there[None, :, :]).T)
    alike = np.abs(first - second) < SAME_SHARE * max(float(first.max()), 1e-9)
    seeds = np.argwhere(np.triu(alike, 1))
    best = np.zeros(len(names), dtype=bool)
    for a, b in seeds[:: len(seeds) // MOST_SEEDS + 1].tolist():
        group = np.zeros(len(names), dtype=bool)
        may = alike[a] & alike[b]
        for c in (a, b, *np.flatnonzero(may).tolist()):
            if may[c]:
                group[c] = True
                may = may & alike[c]
        if group.sum() > best.sum():
            best = group
    return Flip(
        points={name: (float(x), float(y)) for name, (x, y) in zip(names, there, strict=True)},
        chi_square=other.chi_square,
        moved=tuple(name for name, kept in zip(names, best.tolist(), strict=True) if not kept),
        telling=telling,
        here=apart(telling)[0],
        there=apart(telling)[1],
        unit=net.unit,
    )

"""Which readings to take on a pattern not yet measured, in order.

The words used here:

    rough       where the holes are, by eye; without it, a circle in the order named, with bores at its centre
    greedy      each next reading is the one that leaves the worst hole best known, tried over all pairs; at the
                beginning every place is as good as unknown
    checked     a reading has a redundancy number large enough that a blunder in it would be seen
    base        the longest distance, measured first: it carries scale and direction

After the readings are chosen, the plan is proved on the rough pattern: solved, it must come out one way only.

Choosing the best set of readings at once is a problem of optimal design (geodesy: of second order) for which nobody
knows a quick way; greedy choice comes near it, and its order is the order in which a shop would measure. Each trial is
a rank-one change of the covariance, as in `further`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from itertools import combinations

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from platekit.survey.adjust import assess
from platekit.survey.arrange import Arrangement, arrangements
from platekit.survey.frame import in_frame
from platekit.survey.further import possible_readings
from platekit.survey.model import Array, NetModel, model_of
from platekit.survey.net import PAIR_KINDS, UNSCREWED, BadReading, Feature, Net, Reading, ReadingKind, checked
from platekit.survey.order import ranking
from platekit.survey.result import Survey, listed
from platekit.survey.solve import survey_at

WELL_CHECKED = 0.35
"""Redundancy number that the plan gives every reading between holes: a blunder of seven sigmas is then seen eight
times in ten (4.13 over its root). Ours."""

ROUGH_CIRCLE, ROUGH_HOLE, ROUGH_BORE = 100.0, 10.0, 40.0
"""mm; the pattern that is assumed when nothing is known by eye. Ours: only the proportions matter."""

MOST_PER_UNKNOWN = 3
"""Readings per unknown beyond which nothing is added. Ours."""


class PlannedReading(Struct, frozen=True):
    """One reading to take; `expected`, mm, where the rough places are given, and what it is good for."""

    features: tuple[str, ...]
    kind: ReadingKind
    expected: float | None
    why: str


class MeasuringPlan(Struct, frozen=True):
    """The readings in order; the three holes whose way round is to be noted; what the plan promises.

    `worst_sigma`, mm, is that of the worst hole with all readings taken, `redundancy` the readings beyond need.
    `clockwise` is None for fewer than three holes; the order of its names is that of the rough pattern.
    """

    steps: tuple[PlannedReading, ...]
    clockwise: tuple[str, str, str] | None
    worst_sigma: float
    redundancy: int


class _Draft(Struct, frozen=True, eq=False):
    """Readings chosen so far on the rough pattern, and the covariance of all unknowns with them."""

    net: Net
    model: NetModel
    unknowns: Array
    slope: Array
    covariance: Array
    chosen: tuple[Reading, ...] = ()

    def rows(self, readings: list[Reading]) -> Array:
        """The derivatives of readings by the unknowns, each over its sigma (mm)."""
        model = model_of(self.net, tuple(readings))
        return model.jacobian(self.unknowns) / model.sigma[:, None]

    def with_reading(self, reading: Reading) -> _Draft:
        """The draft with one reading (mm) more: the covariance by a rank-one change (Sherman and Morrison)."""
        row = self.rows([reading])[0]
        # What the reading says of every unknown at once; only its own part, so that choosing among hundreds stays
        # cheap.
        change = self.covariance @ row
        covariance = self.covariance - np.outer(change, change) / (1.0 + row @ change)
        return replace(self, covariance=covariance, chosen=(*self.chosen, reading))

    def left(self, open_: list[Reading]) -> list[Reading]:
        """Those of the readings within reach that are not chosen yet (mm)."""
        return [reading for reading in open_ if reading not in self.chosen]

    def until_placed(self, open_: list[Reading], places: Array, target: float) -> _Draft:
        """The draft with readings added until the worst hole is known well enough, or nothing helps any more."""
        draft = self
        place = dict(zip(draft.model.names, places, strict=True))
        # The longest distance first: its ends carry the frame, and angles between short ends would be worth little.
        base = max(open_, key=lambda r: round(math.dist(*(place[name] for name in r.features)), 6), default=None)
        draft = draft if base is None else draft.with_reading(base)
        n = len(draft.model.names)
        # A bound of its own, as the aim may be out of reach: a shop takes some readings more than unknowns, not all
        # pairs.
        while len(draft.chosen) < MOST_PER_UNKNOWN * len(draft.unknowns):
            whole = draft.slope @ draft.covariance @ draft.slope.T
            before = np.array([whole[2 * k : 2 * k + 2, 2 * k : 2 * k + 2] for k in range(n)])
            worst = math.sqrt(max(float(np.linalg.eigvalsh(before)[:, 1].max()), 0.0))
            left = draft.left(open_)
            if worst <= target or not left:
                break
            # after each reading that is left, the variance in the worst direction of every hole; the worst hole counts,
            # then all together, then the order of names
            rows = draft.rows(left)
            own = (rows @ draft.covariance @ draft.slope.T).reshape(len(rows), n, 2)
            gains = 1.0 + np.einsum("cp,pq,cq->c", rows, draft.covariance, rows)
            after = before - np.einsum("cna,cnb->cnab", own, own) / gains[:, None, None, None]
            sizes = np.linalg.eigvalsh(after)[..., 1]
            merits = [(round(float(size.max()), 6), round(float(size.sum()), 6), c) for c, size in enumerate(sizes)]
            draft = draft.with_reading(left[min(merits)[2]])
        return draft

    def until_checked(self, open_: list[Reading]) -> _Draft:
        """The draft with readings added until every one is checked by the others, as far as that can be had.

        The next is the one that takes the most variance off the weakest: (r S w)2 / (1 + r S r), with w the row of the
        weakest, r that of the new one and S the covariance.
        """
        draft = self
        while len(draft.chosen) < MOST_PER_UNKNOWN * len(draft.unknowns):
            left = draft.left(open_)
            rows = draft.rows(list(draft.chosen))
            shares = 1.0 - np.einsum("rp,pq,rq->r", rows, draft.covariance, rows)
            if not left or not len(rows) or shares.min() >= WELL_CHECKED:
                break
            weakest = draft.covariance @ rows[ranking(shares.tolist())[0]]
            others = draft.rows(left)
            gains = (others @ weakest) ** 2 / (1.0 + np.einsum("cp,pq,cq->c", others, draft.covariance, others))
            # Nothing within reach checks the weakest at all: more readings would only cost time.
            if gains.max() <= 1e-9:
                break
            draft = draft.with_reading(left[ranking((-gains).tolist())[0]])
        return draft

    def until_unique(self, open_: list[Reading]) -> tuple[_Draft, Survey]:
        """The draft, with what it takes to come out one way only; `BadReading` when holes stay open."""
        draft = self
        place = draft.model.names.index
        while True:
            net = replace(draft.net, readings=draft.chosen)
            survey = survey_at(net, Arrangement(model_of(net), draft.unknowns, 0.0), "open")
            if survey.floating:
                raise BadReading(
                    f"plan: the pairs within reach do not place {listed(survey.floating)}; "
                    "find a longer caliper or measure from a square corner",
                    (),
                    survey.floating,
                )
            # The exact values of the rough pattern are read, so whatever else suits them is a true ambiguity, not
            # noise.
            found = arrangements(net)
            left = draft.left(open_)
            if len(found) < 2 or not left:
                return draft, survey
            here, there = (one.model.points(one.unknowns) for one in found[:2])
            # the reading that differs most between the two arrangements rules one of them out
            apart = []
            for reading in left:
                a, b = (place(name) for name in reading.features)
                apart.append(round(abs(math.dist(here[a], here[b]) - math.dist(there[a], there[b])), 6))
            draft = draft.with_reading(left[apart.index(max(apart))])


def plan(
    features: Iterable[Feature],
    *,
    rough: Mapping[str, tuple[float, float]] | None = None,
    sigma: float | None = None,
    wanted: float | None = None,
    out_of_reach: Iterable[tuple[str, str]] = (),
    origin: str | None = None,
    x_axis: tuple[str, str] | None = None,
) -> MeasuringPlan:
    """The readings to take, first those of diameters, then the base, then what places hole after hole and checks it.

    `sigma`, mm, is that of one reading, `wanted` that of the worst hole (1.5 times as much, if not said).
    `out_of_reach` are pairs that no caliper can span. Raises `BadReading` when those leave holes open.
    """
    given = tuple(features)
    sized = tuple(
        replace(f, diameter=f.diameter or (ROUGH_BORE if f.kind in UNSCREWED else ROUGH_HOLE))
        for f in given
        if f.kind != "edge"
    )
    net = checked(Net(sized, (), sigma, origin=origin, x_axis=x_axis))
    places = _rough_places(sized, rough)
    model, unknowns = model_of(net).unknowns_at(
        places, np.array([f.diameter for f in sized], dtype=float), np.empty((0, 2))
    )
    wide = max(float(np.ptp(places, axis=0).max()), 1.0) ** 2
    # before the first reading every place is as good as unknown: its variance is the pattern's own extent, squared
    variances = np.concatenate([np.full(2 * len(sized), wide), model.sigma**2])
    draft = _Draft(net, model, unknowns, in_frame(net, model, unknowns).slope, np.diag(variances))
    # every reading between holes within reach, with the value that the rough pattern gives it
    blocked = {frozenset(pair) for pair in out_of_reach}
    start = survey_at(net, Arrangement(model, unknowns, 0.0), "open")
    readings = tuple(r for r in possible_readings(start) if r.kind in PAIR_KINDS)
    values = model_of(net, readings).predict(unknowns).tolist()
    possible = [replace(r, value=value) for r, value in zip(readings, values, strict=True) if value > 0.0]
    open_ = [r for r in possible if frozenset(r.features) not in blocked]
    target = wanted if wanted is not None else 1.5 * net.sigma_of(Reading((), "centres", 0.0))
    draft = draft.until_placed(open_, places, target)
    draft = draft.until_checked(open_)
    draft, survey = draft.until_unique(open_)
    return MeasuringPlan(
        steps=_steps(given, draft, rough is not None),
        clockwise=_widest_triangle(draft.net, places),
        worst_sigma=max(hole.sigma for hole in survey.holes.values()),
        redundancy=survey.dof,
    )


def _rough_places(features: tuple[Feature, ...], rough: Mapping[str, tuple[float, float]] | None) -> Array:
    """Places by eye; without them holes on a circle, clockwise in the order named, bores beside each other from it."""
    if rough is not None:
        missing = tuple(f.name for f in features if f.name not in rough)
        if missing:
            raise BadReading(f"plan: say roughly where {listed(missing)} is", (), missing)
        return np.array([rough[f.name] for f in features], dtype=float)
    round_ = [f.name for f in features if f.kind not in UNSCREWED]
    bores = [f.name for f in features if f.kind in UNSCREWED]
    radius = ROUGH_CIRCLE / 2.0
    places: dict[str, tuple[float, float]] = {}
    for k, name in enumerate(round_):
        angle = -2.0 * math.pi * k / len(round_)
        places[name] = radius * math.cos(angle), radius * math.sin(angle)
    for k, name in enumerate(bores):
        places[name] = 3.0 * radius * k, 0.0
    return np.array([places[f.name] for f in features], dtype=float)


def _steps(given: tuple[Feature, ...], draft: _Draft, known: bool) -> tuple[PlannedReading, ...]:
    """The readings in the order in which to take them, each with what it is good for.

    Each next hole hangs on those before it, and whatever goes between placed holes comes as soon as both are there.
    """
    steps = [
        PlannedReading((f.name,), "diameter", None, f"size of {f.name}")
        for f in given
        if f.kind != "edge" and f.diameter is None
    ]
    net = replace(draft.net, readings=())
    placed: list[str] = []
    rest = list(draft.chosen)
    while rest:
        # Checks between holes that are there come at once: a slip is found before anything is built on it.
        inside = [r for r in rest if placed and set(r.features) <= set(placed)]
        touching = [r for r in rest if set(r.features) & set(placed)]
        reading = (inside or touching or rest)[0]
        rest.remove(reading)
        fresh = [name for name in reading.features if name not in placed]
        placed += fresh
        before, net = net, replace(net, readings=(*net.readings, reading))
        if len(net.readings) == 1:
            why = "base: the longest distance"
        elif fresh:
            why = f"places {listed(tuple(fresh))}"
        elif assess(model_of(net), draft.unknowns).rank > assess(model_of(before), draft.unknowns).rank:
            why = f"places {max(reading.features, key=placed.index)}"
        else:
            why = "checks"
        steps.append(PlannedReading(reading.features, reading.kind, reading.value if known else None, why))
    return tuple(steps)


def _widest_triangle(net: Net, places: Array) -> tuple[str, str, str] | None:
    """The three holes whose triangle is largest, clockwise: the way round that is hardest to mistake; None of fewer."""
    return widest_triangle({one.name: (x, y) for one, (x, y) in zip(net.placed, places.tolist(), strict=True)})


def widest_triangle(places: Mapping[str, tuple[float, float]]) -> tuple[str, str, str] | None:
    """The three of some places (mm) whose triangle is largest, named clockwise; None of fewer than three."""
    names = tuple(places)
    if len(names) < 3:
        return None

    def area(corners: tuple[int, ...]) -> float:
        (ax, ay), (bx, by), (cx, cy) = (places[names[k]] for k in corners)
        return float((bx - ax) * (cy - ay) - (cx - ax) * (by - ay))

    a, b, c = max(combinations(range(len(names)), 3), key=lambda corners: round(abs(area(corners)), 6))
    return (names[a], names[b], names[c]) if area((a, b, c)) < 0.0 else (names[a], names[c], names[b])

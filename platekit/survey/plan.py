"""Which readings to take on a pattern not yet measured, in order.

The words used here:

    rough       where the holes are, by eye; without it, a circle in the order named, with bores at its centre
    greedy      each next reading is the one that leaves the worst hole best known, tried over all pairs; at the
                beginning every place is as good as unknown
    checked     a reading has a redundancy number large enough that a blunder in it would be seen
    base        the longest distance, measured first: it carries scale and direction

After the readings are chosen, the plan is proved on the rough pattern: solved, it must come out one way only.
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
from platekit.survey.frame import framed
from platekit.survey.further import possible_readings
from platekit.survey.model import Array, NetModel, model_of
from platekit.survey.net import PAIR_KINDS, BadReading, Feature, Net, Reading, ReadingKind, checked
from platekit.survey.order import ranked
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
    draft, places = _begun(given, rough, sigma, origin, x_axis)
    blocked = {frozenset(pair) for pair in out_of_reach}
    open_ = [r for r in _possible(draft) if frozenset(r.features) not in blocked]
    target = wanted if wanted is not None else 1.5 * draft.net.sigma_of(Reading((), "centres", 0.0))
    draft = _placed(draft, open_, places, target)
    draft = _well_checked(draft, open_)
    draft, survey = _proved(draft, open_)
    return MeasuringPlan(
        steps=_steps(given, draft, rough is not None),
        clockwise=_widest_triangle(draft.net, places),
        worst_sigma=max(hole.sigma for hole in survey.holes.values()),
        redundancy=survey.dof,
    )


def _begun(
    given: tuple[Feature, ...],
    rough: Mapping[str, tuple[float, float]] | None,
    sigma: float | None,
    origin: str | None,
    x_axis: tuple[str, str] | None,
) -> tuple[_Draft, Array]:
    sized = tuple(
        replace(f, diameter=f.diameter or (ROUGH_BORE if f.kind == "bore" else ROUGH_HOLE))
        for f in given
        if f.kind != "edge"
    )
    net = checked(Net(sized, (), sigma, origin=origin, x_axis=x_axis))
    places = _rough_places(sized, rough)
    model, unknowns = model_of(net).unknowns_at(
        places, np.array([f.diameter for f in sized], dtype=float), np.empty((0, 2))
    )
    wide = max(float(np.ptp(places, axis=0).max()), 1.0) ** 2
    variances = np.concatenate([np.full(2 * len(sized), wide), model.sigma**2])
    return _Draft(net, model, unknowns, framed(net, model, unknowns).slope, np.diag(variances)), places


def _rough_places(features: tuple[Feature, ...], rough: Mapping[str, tuple[float, float]] | None) -> Array:
    if rough is not None:
        missing = tuple(f.name for f in features if f.name not in rough)
        if missing:
            raise BadReading(f"plan: say roughly where {listed(missing)} is", (), missing)
        return np.array([rough[f.name] for f in features], dtype=float)
    round_ = [f.name for f in features if f.kind != "bore"]
    bores = [f.name for f in features if f.kind == "bore"]
    radius = ROUGH_CIRCLE / 2.0
    places: dict[str, tuple[float, float]] = {}
    for k, name in enumerate(round_):
        angle = -2.0 * math.pi * k / len(round_)
        places[name] = radius * math.cos(angle), radius * math.sin(angle)
    for k, name in enumerate(bores):
        places[name] = 3.0 * radius * k, 0.0
    return np.array([places[f.name] for f in features], dtype=float)


def _possible(draft: _Draft) -> list[Reading]:
    """Every reading between holes, with the value that the rough pattern gives it."""
    survey = survey_at(draft.net, Arrangement(draft.model, draft.unknowns, 0.0), "open")
    readings = tuple(r for r in possible_readings(survey) if r.kind in PAIR_KINDS)
    values = model_of(draft.net, readings).predict(draft.unknowns).tolist()
    return [replace(r, value=value) for r, value in zip(readings, values, strict=True) if value > 0.0]


def _rows(draft: _Draft, readings: list[Reading]) -> Array:
    model = model_of(draft.net, tuple(readings))
    return model.jacobian(draft.unknowns) / model.sigma[:, None]


def _with(draft: _Draft, reading: Reading) -> _Draft:
    row = _rows(draft, [reading])[0]
    change = draft.covariance @ row
    covariance = draft.covariance - np.outer(change, change) / (1.0 + row @ change)
    return replace(draft, covariance=covariance, chosen=(*draft.chosen, reading))


def _left(draft: _Draft, open_: list[Reading]) -> list[Reading]:
    return [reading for reading in open_ if reading not in draft.chosen]


def _placed(draft: _Draft, open_: list[Reading], places: Array, target: float) -> _Draft:
    """The draft with readings added until the worst hole is known well enough, or nothing helps any more."""
    base = _longest(draft, open_, places)
    draft = draft if base is None else _with(draft, base)
    while len(draft.chosen) < MOST_PER_UNKNOWN * len(draft.unknowns):
        worst = _worst(draft.slope @ draft.covariance @ draft.slope.T)
        left = _left(draft, open_)
        if worst <= target or not left:
            break
        draft = _with(draft, left[_most_helpful(draft, left)])
    return draft


def _longest(draft: _Draft, open_: list[Reading], places: Array) -> Reading | None:
    place = dict(zip(draft.model.names, places, strict=True))
    return max(open_, key=lambda r: round(math.dist(*(place[name] for name in r.features)), 6), default=None)


def _most_helpful(draft: _Draft, left: list[Reading]) -> int:
    rows = _rows(draft, left)
    changes = rows @ draft.covariance @ draft.slope.T
    gains = 1.0 + np.einsum("cp,pq,cq->c", rows, draft.covariance, rows)
    n = len(draft.model.names)
    whole = draft.slope @ draft.covariance @ draft.slope.T
    before = np.array([whole[2 * k : 2 * k + 2, 2 * k : 2 * k + 2] for k in range(n)])
    own = changes.reshape(len(rows), n, 2)
    after = before - np.einsum("cna,cnb->cnab", own, own) / gains[:, None, None, None]
    sizes = np.linalg.eigvalsh(after)[..., 1]
    scores = sorted(
        range(len(left)), key=lambda c: (round(float(sizes[c].max()), 6), round(float(sizes[c].sum()), 6), c)
    )
    return scores[0]


def _worst(covariance: Array) -> float:
    blocks = [covariance[2 * k : 2 * k + 2, 2 * k : 2 * k + 2] for k in range(len(covariance) // 2)]
    return math.sqrt(max(float(np.linalg.eigvalsh(np.array(blocks))[:, 1].max()), 0.0))


def _well_checked(draft: _Draft, open_: list[Reading]) -> _Draft:
    """The draft with readings added until every one is checked by the others, as far as that can be had."""
    while len(draft.chosen) < MOST_PER_UNKNOWN * len(draft.unknowns):
        left = _left(draft, open_)
        rows = _rows(draft, list(draft.chosen))
        shares = 1.0 - np.einsum("rp,pq,rq->r", rows, draft.covariance, rows)
        if not left or not len(rows) or shares.min() >= WELL_CHECKED:
            break
        weakest = draft.covariance @ rows[ranked(shares.tolist())[0]]
        others = _rows(draft, left)
        gains = (others @ weakest) ** 2 / (1.0 + np.einsum("cp,pq,cq->c", others, draft.covariance, others))
        if gains.max() <= 1e-9:
            break
        draft = _with(draft, left[ranked((-gains).tolist())[0]])
    return draft


def _proved(draft: _Draft, open_: list[Reading]) -> tuple[_Draft, Survey]:
    """The draft, with what it takes to come out one way only; `BadReading` when holes stay open."""
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
        found = arrangements(net)
        left = _left(draft, open_)
        if len(found) < 2 or not left:
            return draft, survey
        here, there = (one.model.points(one.unknowns) for one in found[:2])
        draft = _with(draft, max(left, key=lambda r: _told_apart(draft, r, here, there)))


def _told_apart(draft: _Draft, reading: Reading, here: Array, there: Array) -> float:
    a, b = (draft.model.names.index(name) for name in reading.features)
    return round(abs(math.dist(here[a], here[b]) - math.dist(there[a], there[b])), 6)


def _steps(given: tuple[Feature, ...], draft: _Draft, known: bool) -> tuple[PlannedReading, ...]:
    steps = [
        PlannedReading((f.name,), "diameter", None, f"size of {f.name}")
        for f in given
        if f.kind != "edge" and f.diameter is None
    ]
    net = replace(draft.net, readings=())
    placed: list[str] = []
    for reading in _hole_by_hole(draft):
        fresh = [name for name in reading.features if name not in placed]
        placed += fresh
        net = replace(net, readings=(*net.readings, reading))
        if len(net.readings) == 1:
            why = "base: the longest distance"
        elif fresh:
            why = f"places {listed(tuple(fresh))}"
        elif _rank_rises(net, draft):
            why = f"places {max(reading.features, key=placed.index)}"
        else:
            why = "checks"
        steps.append(PlannedReading(reading.features, reading.kind, reading.value if known else None, why))
    return tuple(steps)


def _hole_by_hole(draft: _Draft) -> list[Reading]:
    """The chosen readings so that each next hole hangs on those before it; none for a single hole."""
    if not draft.chosen:
        return []
    first, *rest = draft.chosen
    ordered, placed = [first], set(first.features)
    while rest:
        inside = [r for r in rest if set(r.features) <= placed]
        touching = [r for r in rest if set(r.features) & placed]
        following = (inside or touching or rest)[0]
        rest.remove(following)
        placed |= set(following.features)
        ordered.append(following)
    return ordered


def _rank_rises(net: Net, draft: _Draft) -> bool:
    before = assess(model_of(replace(net, readings=net.readings[:-1])), draft.unknowns).rank
    return assess(model_of(net), draft.unknowns).rank > before


def _widest_triangle(net: Net, places: Array) -> tuple[str, str, str] | None:
    names = tuple(feature.name for feature in net.placed)
    if len(names) < 3:
        return None

    def area(corners: tuple[int, ...]) -> float:
        (ax, ay), (bx, by), (cx, cy) = places[list(corners)]
        return float((bx - ax) * (cy - ay) - (cx - ax) * (by - ay))

    a, b, c = max(combinations(range(len(names)), 3), key=lambda corners: round(abs(area(corners)), 6))
    return (names[a], names[b], names[c]) if area((a, b, c)) < 0.0 else (names[a], names[c], names[b])

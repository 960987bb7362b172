"""The next reading, held against trying every one by solving the whole net anew."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable

import numpy as np
import pytest
from msgspec.structs import replace

from platekit.survey.blunder import suspect
from platekit.survey.further import checking_reading, doubtful, next_reading, possible_readings
from platekit.survey.model import model_of
from platekit.survey.net import Feature, Net, Reading
from platekit.survey.result import Survey
from platekit.survey.solve import solve

PLACES = {"A": (0.0, 0.0), "B": (80.0, 0.0), "C": (75.0, 60.0), "D": (5.0, 66.0), "E": (30.0, 110.0)}
Made = Callable[..., Net]
Pairs = Callable[..., list[tuple[str, ...]]]


def worst_by_solving(survey: Survey, features: tuple[str, ...], kind: str) -> float:
    """Worst hole after the net with that reading, at the value it would have, is solved from scratch."""
    candidate = next(r for r in possible_readings(survey) if (r.features, r.kind) == (features, kind))
    value = float(model_of(survey.net, (candidate,)).predict(survey.adjusted.unknowns)[0])
    more = replace(survey.net, readings=(*survey.net.readings, replace(candidate, value=value)))
    return max(hole.sigma for hole in solve(more).holes.values())


def test_no_other_single_reading_leaves_the_worst_hole_better_known(made: Made, every_pair: Pairs) -> None:
    kinds = [*every_pair("ABCD", "inside"), ("C", "E", "over"), ("D", "E", "over"), ("A", "E", "inside")]
    survey = solve(made(PLACES, kinds, origin="A", x_axis=("A", "B")))
    proposal = next_reading(survey)
    assert proposal is not None
    assert proposal.worst_before == max(hole.sigma for hole in survey.holes.values())
    tried = {(r.features, r.kind): worst_by_solving(survey, r.features, r.kind) for r in possible_readings(survey)}
    assert proposal.worst_after == pytest.approx(min(tried.values()), abs=1e-7)
    assert tried[(proposal.features, proposal.kind)] == pytest.approx(proposal.worst_after, abs=1e-7)
    assert proposal.worst_after < proposal.worst_before


def test_for_a_floating_hole_it_is_a_reading_that_places_it_best(made: Made, every_pair: Pairs) -> None:
    four = {name: PLACES[name] for name in "ABCD"}
    survey = solve(
        made(four, [*every_pair("ABC", "inside"), ("A", "D", "inside")], origin="A", x_axis=("A", "B")),
        floating_ok=True,
    )
    proposal = next_reading(survey)
    assert proposal is not None
    assert proposal.helps
    assert proposal.floating == ()
    others = [
        worst_by_solving(survey, r.features, r.kind)
        for r in possible_readings(survey)
        if "D" in r.features and "A" not in r.features and r.kind in ("inside", "over")
    ]
    assert proposal.worst_after == pytest.approx(min(others), abs=1e-6)


@pytest.mark.parametrize("noise", [-1e-12, 1e-12, 3e-12])
def test_where_a_hole_floats_and_what_would_place_it_does_not_hang_on_rounding(
    made: Made, every_pair: Pairs, noise: float
) -> None:
    """Readings that differ by what rounding leaves stand for the same readings on another processor."""
    four = {name: PLACES[name] for name in "ABCD"}
    net = made(four, [*every_pair("ABC", "inside"), ("A", "D", "inside")], origin="A", x_axis=("A", "B"))
    nearly = replace(
        net, readings=tuple(replace(r, value=r.value + noise * (k + 1)) for k, r in enumerate(net.readings))
    )
    here, there = solve(net, floating_ok=True), solve(nearly, floating_ok=True)
    assert here.floating == there.floating == ("D",)
    assert there.points == pytest.approx(here.points, abs=1e-6)
    one, other = next_reading(here), next_reading(there)
    assert one is not None
    assert other is not None
    assert (one.features, one.kind) == (other.features, other.kind)


def test_for_a_flip_it_is_a_reading_that_tells_the_sides_apart(made: Made, every_pair: Pairs) -> None:
    four = {name: PLACES[name] for name in "ABCD"}
    survey = solve(made(four, [*every_pair("ABC", "inside"), ("A", "D", "inside"), ("B", "D", "inside")]))
    proposal = next_reading(survey)
    assert proposal is not None
    assert set(proposal.features) == {"C", "D"}


def test_a_missing_diameter_is_asked_for(made: Made) -> None:
    net = made({"A": (0.0, 0.0), "B": (80.0, 0.0)}, [("A", "B", "inside")])
    net = replace(net, features=tuple(replace(f, diameter=None) for f in net.features))
    survey = solve(net, floating_ok=True)
    assert survey.loose_diameters == ("A", "B")
    proposal = next_reading(survey)
    assert proposal is not None
    assert proposal.helps


def test_a_choice_may_be_limited(made: Made, every_pair: Pairs) -> None:
    survey = solve(made(PLACES, every_pair("ABCDE", "inside")))
    among = tuple(r for r in possible_readings(survey) if r.features == ("A", "B"))
    proposal = next_reading(survey, among)
    assert proposal is not None
    assert proposal.features == ("A", "B")
    assert next_reading(survey, ()) is None


# When readings disagree and none stands out ---------------------------------------------------------------------------

FLAX = {"A": (-71.3, 52.4), "B": (68.9, 55.1), "C": (74.6, -49.8), "D": (-66.2, -57.7), "bore": (0.0, 0.0)}
FLAX_SIZES = {"A": 11.02, "B": 10.96, "C": 11.02, "D": 11.1, "bore": 72.06}
FLAX_READ = (
    Reading(("A", "B"), "over", 151.07),
    Reading(("B", "C"), "over", 116.95),  # 1 mm too long; hidden, as the others check it by 9 % only
    Reading(("C", "D"), "over", 151.96),
    Reading(("D", "A"), "over", 121.29),
    Reading(("A", "C"), "over", 189.09),
    Reading(("B", "D"), "over", 186.88),
    Reading(("A", "bore"), "inside", 46.93),
    Reading(("B", "bore"), "inside", 46.71),
    Reading(("C", "bore"), "inside", 48.20),
    Reading(("D", "bore"), "inside", 46.31),
)


def flax(readings: tuple[Reading, ...]) -> Survey:
    holes = tuple(Feature(name, diameter) for name, diameter in FLAX_SIZES.items() if name != "bore")
    features = (*holes, Feature("bore", FLAX_SIZES["bore"], "bore"))
    return solve(Net(features, readings, sigma=0.1, clockwise=("A", "B", "C"), origin="bore", x_axis=("D", "C")))


def test_a_hidden_slip_comes_out_by_taking_the_readings_that_are_asked_for() -> None:
    readings: tuple[Reading, ...] = FLAX_READ
    asked: list[str] = []
    while (found := suspect(flax(readings))) is None:
        survey = flax(readings)
        assert doubtful(survey)
        proposal = checking_reading(survey)
        assert proposal is not None
        assert proposal.checks in readings
        a, b = proposal.features
        radii = (FLAX_SIZES[a] + FLAX_SIZES[b]) / 2.0 * {"inside": -1.0, "over": 1.0}[proposal.kind]
        asked.append(str(proposal))
        assert len(asked) <= 2
        readings += (Reading((a, b), proposal.kind, round(math.dist(FLAX[a], FLAX[b]) + radii, 2)),)
    assert str(found.reading) == "B-C over 116.95 mm"
    assert found.likely == pytest.approx(115.95)


def test_readings_that_agree_are_not_doubted() -> None:
    good = tuple(r if r.features != ("B", "C") else Reading(("B", "C"), "over", 115.95) for r in FLAX_READ)
    assert not doubtful(flax(good))


def test_a_large_net_that_floats_is_told_with_a_reading_that_helps() -> None:
    """Forty holes in a chain, each read from the one before: what helps is sought among few readings."""
    random = np.random.default_rng(12)
    places = {f"h{k}": (float(random.uniform(0, 400)), float(random.uniform(0, 400))) for k in range(40)}
    names = tuple(places)
    readings = tuple(
        Reading(pair, "centres", math.dist(places[pair[0]], places[pair[1]])) for pair in itertools.pairwise(names)
    )
    survey = solve(Net(tuple(Feature(name) for name in names), readings), floating_ok=True)
    assert len(survey.floating) == 38
    proposal = next_reading(survey)
    assert proposal is not None
    assert proposal.helps

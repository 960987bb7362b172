"""The next reading, held against trying every one by solving the whole net anew."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from msgspec.structs import replace

from platekit.survey.further import next_reading, possible_readings
from platekit.survey.model import model_of
from platekit.survey.net import Net
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

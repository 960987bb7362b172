"""Plans: what they list can be measured, solves, and comes out one way only."""

from __future__ import annotations

import math

import pytest

from platekit.survey.net import BadReading, Feature, Net, Reading
from platekit.survey.plan import WELL_CHECKED, MeasuringPlan, plan
from platekit.survey.solve import solve

FOUR = [Feature(name) for name in "ABCD"]
ROUGH = {"A": (0.0, 0.0), "B": (90.0, 5.0), "C": (80.0, 70.0), "D": (-5.0, 60.0)}


def carried_out(made: MeasuringPlan, rough: dict[str, tuple[float, float]]) -> Net:
    """The planned readings, taken without error on holes of 10 mm."""
    readings = tuple(
        Reading(s.features, s.kind, math.dist(*(rough[n] for n in s.features)) + (10.0 if s.kind == "over" else -10.0))
        for s in made.steps
        if s.kind != "diameter"
    )
    return Net(tuple(Feature(name, 10.0) for name in rough), readings, 0.1)


def test_a_plan_begins_with_diameters_then_the_longest_distance() -> None:
    steps = plan(FOUR, rough=ROUGH).steps
    assert [s.features for s in steps[:4]] == [("A",), ("B",), ("C",), ("D",)]
    assert {s.kind for s in steps[:4]} == {"diameter"}
    assert steps[4].features == ("B", "D")
    assert steps[4].why == "base: the longest distance"


def test_each_next_reading_hangs_on_holes_already_named() -> None:
    known: set[str] = set()
    for step in plan([Feature(name) for name in "ABCDEF"]).steps:
        if step.kind == "diameter":
            continue
        assert not known or known & set(step.features)
        known |= set(step.features)
    assert known == set("ABCDEF")


def test_a_plan_carried_out_solves_one_way_only_and_is_well_checked() -> None:
    made = plan(FOUR, rough=ROUGH)
    survey = solve(carried_out(made, ROUGH))
    assert survey.flips == ()
    assert survey.dof == made.redundancy
    assert max(hole.sigma for hole in survey.holes.values()) == pytest.approx(made.worst_sigma, rel=1e-6)
    assert min(r.redundancy for r in survey.readings[: len(survey.net.readings)]) >= WELL_CHECKED - 0.02


def test_expected_values_come_with_rough_places_only() -> None:
    step = next(s for s in plan(FOUR, rough=ROUGH).steps if s.kind == "over")
    assert step.expected == pytest.approx(math.dist(*(ROUGH[n] for n in step.features)) + 10.0)
    assert all(s.expected is None for s in plan(FOUR).steps)


def test_known_diameters_are_not_asked_for() -> None:
    steps = plan([Feature("A", 10.0), Feature("B"), Feature("C", 9.0)]).steps
    assert [s.features for s in steps if s.kind == "diameter"] == [("B",)]


def test_pairs_out_of_reach_are_left_out_and_missed_when_needed() -> None:
    made = plan(FOUR, rough=ROUGH, out_of_reach=[("A", "C")])
    assert all(set(s.features) != {"A", "C"} for s in made.steps)
    with pytest.raises(BadReading, match="the pairs within reach do not place"):
        plan(FOUR, rough=ROUGH, out_of_reach=[("A", "D"), ("B", "D")])


def test_three_holes_to_note_the_way_round() -> None:
    a, b, c = plan(FOUR, rough=ROUGH).clockwise or ("", "", "")
    (ax, ay), (bx, by), (cx, cy) = ROUGH[a], ROUGH[b], ROUGH[c]
    assert (bx - ax) * (cy - ay) - (cx - ax) * (by - ay) < 0.0
    assert plan(FOUR[:2]).clockwise is None


def test_a_rough_place_that_is_missing_is_asked_for() -> None:
    with pytest.raises(BadReading, match="say roughly where D is"):
        plan(FOUR, rough={name: ROUGH[name] for name in "ABC"})


def test_a_single_hole_leaves_nothing_to_plan() -> None:
    assert plan([Feature("A", 10.0)]).steps == ()
    assert [step.kind for step in plan([Feature("A")]).steps] == ["diameter"]

"""Fit odds against closed forms, worst cases, and a linear program for single draws."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from msgspec.structs import replace
from scipy.optimize import linprog

from platekit.survey.frame import free_of_frame, rigid_motions, turned_covariance
from platekit.survey.net import BadReading, Net
from platekit.survey.odds import SOURCES, Joint, JointGroup, bolts_up, error_budget, fit_odds
from platekit.survey.solve import solve

PAIR = (Joint(-50.0, 0.0, 9.0, 8.0), Joint(50.0, 0.0, 9.0, 8.0))
FOUR = tuple(Joint(65.0 * math.cos(k), 65.0 * math.sin(k), 9.0, 8.0) for k in (0.3, 1.6, 3.5, 5.0))
SIGMA = 0.3


def standard_normal_below(x: float) -> float:
    return 0.5 * (1.0 + math.erf(x / math.sqrt(2.0)))


# Closed forms -------------------------------------------------------------------------------------------------------


def test_two_screws_fail_only_along_their_line() -> None:
    """Shift and turn take up all but the change of distance, normal with variance 2 s^2, against twice the slack."""
    odds = fit_odds(JointGroup(PAIR, SIGMA**2 * np.eye(4)))
    expected = math.erf(2.0 * 0.5 / (SIGMA * math.sqrt(2.0)) / math.sqrt(2.0))
    assert odds.probability == pytest.approx(expected, abs=4.0 * odds.standard_error)
    assert odds.standard_error < 6e-4


def test_one_screw_of_a_held_plate_is_a_rayleigh_distance() -> None:
    odds = fit_odds(JointGroup(PAIR[:1], SIGMA**2 * np.eye(2), held=True))
    assert odds.probability == pytest.approx(
        1.0 - math.exp(-(0.5**2) / (2.0 * SIGMA**2)), abs=4.0 * odds.standard_error
    )


def test_one_screw_of_a_free_plate_fails_only_by_the_size_of_the_hole() -> None:
    odds = fit_odds(JointGroup(PAIR[:1], SIGMA**2 * np.eye(2), cut_size=0.5))
    assert odds.probability == pytest.approx(standard_normal_below(1.0 / 0.5), abs=4.0 * odds.standard_error)
    assert fit_odds(JointGroup(PAIR[:1], SIGMA**2 * np.eye(2))).probability == 1.0


def test_a_joint_without_slack_takes_the_shift_and_leaves_the_turn() -> None:
    """The plate sits on one screw and turns about it: the distance alone counts, against the slack of the other."""
    odds = fit_odds(JointGroup((replace(PAIR[0], hole=8.0), PAIR[1]), SIGMA**2 * np.eye(4)))
    expected = math.erf(0.5 / (SIGMA * math.sqrt(2.0)) / math.sqrt(2.0))
    assert odds.probability == pytest.approx(expected, abs=4.0 * odds.standard_error)


def test_two_screws_with_scatter_of_place_and_size() -> None:
    """|N(0, 2 s^2)| below N(1, c^2 / 2): by integrating over the sum of the slacks."""
    odds = fit_odds(JointGroup(PAIR, np.zeros((4, 4)), cut_position=0.3, cut_size=0.2, printed=0.1))
    place = math.hypot(0.3, 0.1) * math.sqrt(2.0)
    spread = 0.2 / math.sqrt(2.0)
    slack = 1.0 + spread * np.linspace(-6.0, 6.0, 4001)
    weight = np.exp(-(((slack - 1.0) / spread) ** 2) / 2.0)
    inside = np.array([max(math.erf(s / place / math.sqrt(2.0)), 0.0) for s in slack])
    assert odds.probability == pytest.approx(
        float((inside * weight).sum() / weight.sum()), abs=4.0 * odds.standard_error
    )


def test_a_clearance_hole_in_the_part_adds_its_own_slack() -> None:
    through = tuple(replace(joint, part_hole=9.0) for joint in PAIR)
    wider = tuple(replace(joint, hole=10.0) for joint in PAIR)
    covariance = SIGMA**2 * np.eye(4)
    assert fit_odds(JointGroup(through, covariance)).probability == fit_odds(JointGroup(wider, covariance)).probability


def test_a_screw_must_pass_the_plate_hole_whatever_the_part_allows() -> None:
    tight = tuple(replace(joint, hole=7.9, part_hole=9.0) for joint in PAIR)
    assert fit_odds(JointGroup(tight, np.zeros((4, 4)))).probability == 0.0
    tight = tuple(replace(joint, part_hole=7.9) for joint in PAIR)
    assert fit_odds(JointGroup(tight, np.zeros((4, 4)))).probability == 0.0


# Worst cases --------------------------------------------------------------------------------------------------------


def test_no_error_always_fits_and_a_screw_thicker_than_its_hole_never() -> None:
    assert fit_odds(JointGroup(FOUR, np.zeros((8, 8)))).probability == 1.0
    thick = (*FOUR[:3], replace(FOUR[3], screw=9.2))
    assert fit_odds(JointGroup(thick, np.zeros((8, 8)))).probability == 0.0
    exact = tuple(replace(joint, screw=9.0) for joint in FOUR)
    assert fit_odds(JointGroup(exact, np.zeros((8, 8)))).probability == 1.0


@pytest.mark.parametrize(("count", "tight"), [(2, 0.5), (3, 0.5), (4, 0.5), (6, 0.5), (8, 0.5), (3, 1e-4), (5, 1e-2)])
def test_single_draws_agree_with_a_linear_program(count: int, tight: float) -> None:
    """Discs as polygons of 400 sides: inside the disc a fit is certain, outside it a misfit is."""
    random = np.random.default_rng(count)
    places = random.uniform(-80.0, 80.0, (count, 2))
    deviations = 0.3 * random.standard_normal((120, count, 2))
    slacks = np.abs(random.normal(0.5, 0.1, (120, count)))
    slacks[:, 0] *= tight / 0.5
    goes = bolts_up(deviations, slacks, places)
    assert 0.05 < goes.mean() < 0.999
    angles = 2.0 * math.pi * np.arange(400) / 400
    sides = np.column_stack([np.cos(angles), np.sin(angles)])
    local = places - places.mean(axis=0)
    rows = np.vstack([np.column_stack([-sides, -(sides[:, 1] * x - sides[:, 0] * y)]) for x, y in local])
    for draw, fits in zip(range(120), goes, strict=True):
        reach = np.repeat(slacks[draw], 400)
        along = np.concatenate([sides @ deviation for deviation in deviations[draw]])
        factor = math.cos(math.pi / 400) if not fits else 1.0 / math.cos(math.pi / 400)
        solved = linprog(
            np.zeros(3), A_ub=rows, b_ub=reach * factor * (1.0 + (1e-7 if fits else -1e-7)) - along, bounds=(None, None)
        )
        assert (solved.status == 0) == bool(fits)


def test_shifting_and_turning_the_whole_changes_nothing() -> None:
    random = np.random.default_rng(2)
    places = np.array([(joint.x, joint.y) for joint in FOUR])
    deviations = 0.3 * random.standard_normal((3000, 4, 2))
    motions = rigid_motions(places).reshape(4, 2, 3)
    moved = deviations + np.einsum("nak,dk->dna", motions, 5.0 * random.standard_normal((3000, 3)))
    slacks = np.full((3000, 4), 0.5)
    assert (bolts_up(deviations, slacks, places) == bolts_up(moved, slacks, places)).all()


def test_wider_holes_never_make_a_fit_fail() -> None:
    random = np.random.default_rng(3)
    places = np.array([(joint.x, joint.y) for joint in FOUR])
    deviations = 0.4 * random.standard_normal((5000, 4, 2))
    before = np.zeros(5000, dtype=bool)
    for slack in (0.1, 0.3, 0.5, 0.7, 0.9):
        goes = bolts_up(deviations, np.full((5000, 4), slack), places)
        assert not (before & ~goes).any()
        before = goes


# What to do about it ------------------------------------------------------------------------------------------------


def mount() -> JointGroup:
    return JointGroup(FOUR, 0.2**2 * np.eye(8), cut_position=0.25, cut_size=0.15, printed=0.1)


def test_the_error_budget_is_the_variance_left_after_shift_and_turn() -> None:
    """Of 2n directions 2n - 3 are left; a diameter counts a quarter of its variance, n times."""
    shares = error_budget(mount())
    parts = {
        "measuring": 5 * 0.2**2,
        "cutting position": 5 * 0.25**2,
        "cutting size": 4 * 0.15**2 / 4,
        "printing": 5 * 0.1**2,
    }
    assert shares == pytest.approx({source: part / sum(parts.values()) for source, part in parts.items()})
    assert set(shares) == set(SOURCES)
    assert error_budget(JointGroup(FOUR, np.zeros((8, 8)))) == dict.fromkeys(SOURCES, 0.0)


def test_the_same_seed_gives_the_same_figures_and_another_seed_agrees() -> None:
    one, two, three = (fit_odds(mount(), draws=30_000, seed=seed) for seed in (4, 4, 99))
    assert (one.probability, one.standard_error) == (two.probability, two.standard_error)
    assert one.probability != three.probability
    assert one.probability == pytest.approx(three.probability, abs=6.0 * one.standard_error)


def test_fewer_draws_are_the_first_of_more_and_a_clear_verdict_needs_few() -> None:
    sure, long = fit_odds(mount(), clear_of=(0.2, 0.99)), fit_odds(mount())
    assert sure.draws < long.draws
    assert sure.probability == fit_odds(mount(), draws=sure.draws).probability
    assert sure.probability == pytest.approx(long.probability, abs=5.0 * sure.standard_error)
    assert fit_odds(mount(), clear_of=(long.probability,)).draws == long.draws


def test_a_survey_feeds_the_odds(made: Callable[..., Net], every_pair: Callable[..., list[tuple[str, ...]]]) -> None:
    places = dict(zip("ABCD", ((joint.x, joint.y) for joint in FOUR), strict=True))
    survey = solve(made(places, every_pair("ABCD", "inside"), noise=0.1, sigma=0.4))
    turn = math.atan2(FOUR[1].y - FOUR[0].y, FOUR[1].x - FOUR[0].x)  # the survey's x runs from A to B
    free = fit_odds(
        JointGroup(FOUR, turned_covariance(survey.block(tuple("ABCD"), free=True), turn=turn)), draws=40_000
    )
    framed = fit_odds(JointGroup(FOUR, turned_covariance(survey.block(tuple("ABCD")), turn=turn)), draws=40_000)
    assert free.probability == pytest.approx(framed.probability, abs=6.0 * free.standard_error)
    assert 0.3 < free.probability < 0.99


def test_a_covariance_turns_and_mirrors_with_its_pattern() -> None:
    covariance = np.diag([0.04, 0.01, 0.04, 0.01])
    assert turned_covariance(covariance, turn=math.pi / 2.0) == pytest.approx(np.diag([0.01, 0.04, 0.01, 0.04]))
    skew = np.array([[0.04, 0.01], [0.01, 0.02]])
    assert turned_covariance(skew, turn=0.0, mirrored=True) == pytest.approx(np.array([[0.04, -0.01], [-0.01, 0.02]]))
    assert np.trace(free_of_frame(covariance, np.array([[0.0, 0.0], [50.0, 0.0]]))) == pytest.approx(0.04)


@pytest.mark.parametrize(
    ("bad", "sentence"),
    [
        (JointGroup((), np.zeros((0, 0))), "no screws"),
        (JointGroup(FOUR, np.zeros((6, 6))), "not all known"),
        (JointGroup(FOUR, np.full((8, 8), math.inf)), "not all known"),
        (replace(mount(), cut_size=-0.1), "size scatter is -0.1"),
        (replace(mount(), cut_position=math.nan), "position scatter is nan"),
    ],
)
def test_a_mount_that_cannot_be_meant_is_refused(bad: JointGroup, sentence: str) -> None:
    with pytest.raises(BadReading, match=sentence):
        fit_odds(bad)

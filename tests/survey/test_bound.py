"""The bound by formula: never above the odds as drawn, exact where it can be, and close where the slack is wide."""

from __future__ import annotations

import math

import numpy as np
import pytest
from msgspec.structs import replace

from platekit.survey.bound import at_least, slack_of
from platekit.survey.odds import Joint, JointGroup, error_budget, fit_odds

FOUR = tuple(Joint(x, y, 9.0, 8.0) for x, y in ((60.0, 0.0), (0.0, 45.0), (-60.0, 0.0), (0.0, -45.0)))
REGISTER = Joint(0.0, 0.0, 80.2, 80.0, cut_size=0.02)


@pytest.mark.parametrize("joints", [FOUR[:2], FOUR, (*FOUR, REGISTER)])
@pytest.mark.parametrize("position", [0.05, 0.1, 0.2])
@pytest.mark.parametrize("size", [0.0, 0.1])
@pytest.mark.parametrize("held", [False, True])
def test_the_bound_is_never_above_the_odds(joints: tuple[Joint, ...], position: float, size: float, held: bool) -> None:
    mount = JointGroup(joints, 0.08**2 * np.eye(2 * len(joints)), position, size, held=held)
    odds = fit_odds(mount, draws=20_000)
    assert at_least(mount) <= odds.probability + 4.0 * odds.standard_error


def test_one_screw_of_a_held_plate_is_bounded_exactly() -> None:
    mount = JointGroup(FOUR[:1], 0.2**2 * np.eye(2), held=True)
    assert at_least(mount) == pytest.approx(1.0 - math.exp(-(0.5**2) / (2.0 * 0.2**2)))


def test_a_hole_too_small_for_its_screw_is_bounded_by_nothing() -> None:
    assert at_least(JointGroup((Joint(0.0, 0.0, 7.9, 8.0),), np.zeros((2, 2)))) == 0.0
    assert at_least(JointGroup((Joint(0.0, 0.0, 9.0, 8.0, 7.9),), np.zeros((2, 2)))) == 0.0


def test_without_errors_even_no_slack_is_enough() -> None:
    assert at_least(JointGroup((Joint(0.0, 0.0, 8.0, 8.0),), np.zeros((2, 2)))) == 1.0


def test_slack_is_that_of_plate_and_part_together() -> None:
    assert slack_of(Joint(0.0, 0.0, 9.0, 8.0)) == pytest.approx(0.5)
    assert slack_of(Joint(0.0, 0.0, 9.0, 8.0, 10.0)) == pytest.approx(1.5)


def test_a_slot_lets_go_what_lies_along_it() -> None:
    """Two slots in one row fail only by what lies across them, and that is taken up by shift and turn."""
    lying = tuple(Joint(x, 0.0, 9.0, 8.0, along=0.0) for x in (-50.0, 50.0))
    wide = JointGroup(lying, 0.4**2 * np.eye(4))
    assert fit_odds(wide, draws=4_000).probability == 1.0
    assert at_least(wide) > 0.999
    across = replace(wide, joints=tuple(replace(joint, along=math.pi / 2) for joint in lying))
    expected = math.erf(1.0 / (0.4 * math.sqrt(2.0)) / math.sqrt(2.0))  # the change of distance, against both slacks
    odds = fit_odds(across)
    assert odds.probability == pytest.approx(expected, abs=4.0 * odds.standard_error)


def test_a_joint_has_a_scatter_of_its_own() -> None:
    own = JointGroup((Joint(0.0, 0.0, 9.0, 8.0, cut_size=0.5),), np.zeros((2, 2)))
    whole = JointGroup((Joint(0.0, 0.0, 9.0, 8.0),), np.zeros((2, 2)), cut_size=0.5)
    assert fit_odds(own).probability == fit_odds(whole).probability
    assert error_budget(own)["cutting size"] == pytest.approx(1.0)

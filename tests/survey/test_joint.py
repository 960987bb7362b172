"""The bound in plain numbers says what the bound by matrices says, for joints whose errors are alike."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from platekit.survey.bound import at_least
from platekit.survey.joint import Joint, at_least_alike
from platekit.survey.odds import JointGroup

PLACES = st.floats(-200.0, 200.0).map(lambda value: round(value, 2))
JOINTS = st.builds(
    lambda x, y, play, part, along, size: Joint(x, y, 10.0 + play, 10.0, part and 10.0 + part, along, size),
    PLACES,
    PLACES,
    st.floats(0.05, 2.0),
    st.none() | st.floats(0.1, 2.0),
    st.none() | st.floats(-math.pi, math.pi),
    st.none() | st.floats(0.0, 0.3),
)


@settings(max_examples=150)
@given(
    joints=st.lists(JOINTS, min_size=2, max_size=8, unique_by=lambda one: (one.x, one.y)),
    error=st.just(0.0) | st.floats(0.001, 0.5),
    cut_size=st.floats(0.0, 0.3),
)
def test_it_says_what_the_matrices_say(joints: list[Joint], error: float, cut_size: float) -> None:
    by_matrices = at_least(JointGroup(tuple(joints), error**2 * np.eye(2 * len(joints)), cut_size=cut_size))
    assert at_least_alike(joints, error, cut_size) == pytest.approx(by_matrices, abs=1e-7)


def test_one_joint_is_settled_and_fails_by_its_size_alone() -> None:
    assert at_least_alike((Joint(3.0, 4.0, 9.0, 8.0),), 5.0, 0.0) == pytest.approx(1.0)


def test_two_joints_fail_by_their_distance() -> None:
    # shift and turn take all but the change of distance, which is shared between both: half of it at each
    joints = (Joint(-50.0, 0.0, 9.0, 8.0), Joint(50.0, 0.0, 9.0, 8.0))
    each = math.exp(-((0.5 / (0.2 / math.sqrt(2.0))) ** 2) / 2.0)
    assert at_least_alike(joints, 0.2, 0.0) == pytest.approx(1.0 - 2.0 * each)


def test_a_screw_that_does_not_pass_is_bounded_by_nothing() -> None:
    assert at_least_alike((Joint(0.0, 0.0, 7.9, 8.0), Joint(50.0, 0.0, 9.0, 8.0)), 0.0, 0.0) == 0.0

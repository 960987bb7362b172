"""The order of equals is ours, not that of rounding."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from platekit.survey.order import ranking
from platekit.survey.result import ellipse_of

figures = st.lists(st.integers(0, 20).map(float), max_size=20)


@given(figures)
def test_rounding_changes_no_order(values: list[float]) -> None:
    noise = np.random.default_rng(len(values)).uniform(-1e-10, 1e-10, len(values))
    order = ranking(values)
    assert order == ranking((np.array(values) + noise).tolist())
    assert order == sorted(range(len(values)), key=lambda k: (values[k], k))


def test_what_is_no_figure_comes_last() -> None:
    assert ranking([math.inf, 2.0, 1.0]) == [2, 1, 0]
    assert sorted(ranking([math.nan, 2.0, 1.0])) == [0, 1, 2]


@pytest.mark.parametrize("rounding", [-1e-18, 0.0, 1e-18])
def test_an_ellipse_is_turned_by_no_rounding(rounding: float) -> None:
    assert ellipse_of(np.array([[0.01, rounding], [rounding, 0.01 + rounding]])).angle == 0.0
    upright = ellipse_of(np.array([[0.01, rounding], [rounding, 0.04]]))
    assert upright.angle == pytest.approx(math.pi / 2)
    assert str(ellipse_of(np.array([[0.04, rounding], [rounding, 0.01]])).angle) == "0.0"

"""How large a blunder must be before readings that check each other show it.

Source: W. Baarda, A testing procedure for use in geodetic networks, Netherlands Geodetic Commission, Delft 1968; the
    usual figures of the literature after him, quoted from memory; they follow from the normal distribution.
Compared: critical value 3.29 at a significance of 0.1 %, bound 4.13 of the standardised blunder at a power of 80 %, how
    often such a blunder is found in 400 nets with noise.
Within: half of the last printed digit; 6 % of the nets.

Smallest blunder that is found with that power: d0 * sigma / sqrt(redundancy number), with d0 = 4.13, the root of the
noncentrality 17.075.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from platekit.survey.chance import normal_below, two_sided
from platekit.survey.net import Feature, Net, Reading
from platekit.survey.solve import SMALLEST_SEEN, solve


def test_critical_value() -> None:
    assert two_sided(0.001) == pytest.approx(3.29, abs=0.005)


def test_bound_of_the_standardised_blunder() -> None:
    assert math.isclose(SMALLEST_SEEN, 4.13, abs_tol=0.005)
    assert math.isclose(SMALLEST_SEEN**2, 17.075, abs_tol=0.05)
    assert normal_below(SMALLEST_SEEN - 3.29) == pytest.approx(0.80, abs=0.005)


def test_the_smallest_blunder_is_found_eight_times_in_ten() -> None:
    """Five spacings of an even bolt circle, of which each gives its diameter: redundancy number 4/5 each."""
    random = np.random.default_rng(11)
    names, found = "ABCDE", 0
    for _ in range(400):
        values = 80.0 + 0.1 * random.standard_normal(5)
        values[2] += SMALLEST_SEEN * 0.1 / math.sqrt(0.8)
        pairs = zip(names, names[1:] + names[0], strict=True)
        readings = tuple(Reading(pair, "centres", float(value), 0.1) for pair, value in zip(pairs, values, strict=True))
        net = Net(tuple(map(Feature, names)), readings, on_circle=tuple(names), going_round=True, evenly=True)
        checked = solve(net).readings[2]
        assert checked.redundancy == pytest.approx(0.8)
        assert checked.smallest_blunder == pytest.approx(SMALLEST_SEEN * 0.1 / math.sqrt(0.8))
        found += abs(checked.normalised or 0.0) > 3.29
    assert found / 400 == pytest.approx(0.80, abs=0.06)

"""The closed forms against a library of distributions, and what the package imports."""

from __future__ import annotations

import math
import subprocess
import sys

import pytest
from scipy.stats import chi2, norm

from platekit.survey.chance import chi_square_tail, normal_below, two_sided


@pytest.mark.parametrize("dof", [1, 2, 3, 4, 7, 30, 101, 200])
@pytest.mark.parametrize("value", [1e-6, 0.5, 3.0, 20.0, 250.0])
def test_the_tail_of_chi_square(value: float, dof: int) -> None:
    assert chi_square_tail(value, dof) == pytest.approx(chi2.sf(value, dof), rel=1e-10, abs=1e-300)


def test_the_tail_where_nothing_is_redundant_or_everything_is_wrong() -> None:
    assert chi_square_tail(3.0, 0) == 1.0
    assert chi_square_tail(0.0, 5) == 1.0
    assert chi_square_tail(1e9, 120) == 0.0
    assert not math.isnan(chi_square_tail(1e9, 121))


def test_the_normal_distribution() -> None:
    assert two_sided(0.001) == pytest.approx(norm.isf(0.0005))
    assert normal_below(1.3) == pytest.approx(norm.cdf(1.3))


def test_a_survey_is_solved_without_loading_scipy() -> None:
    lines = (
        "import sys",
        "from platekit.survey.net import Feature, Net, Reading",
        "from platekit.survey.solve import solve",
        "from platekit.survey.blunder import suspect",
        "from platekit.survey import fit, match, nominal, odds, plan",
        "suspect(solve(Net((Feature('A'), Feature('B')), (Reading(('A', 'B'), 'centres', 80.0),))))",
        "sys.exit(any(name.split('.')[0] == 'scipy' for name in sys.modules))",
    )
    assert subprocess.run([sys.executable, "-c", "\n".join(lines)], check=False).returncode == 0

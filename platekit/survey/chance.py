"""The two distributions that the survey needs, in closed form, so that no command has to wait for a larger library.

The words used here:

    chi-square tail   probability that a sum of `dof` squared standard errors comes out at least as large by chance
    normal            taken from the standard library
"""

from __future__ import annotations

import math
from statistics import NormalDist

_STANDARD = NormalDist()


def chi_square_tail(value: float, dof: int) -> float:
    """Probability (a share of 1) that chi-square with `dof` degrees of freedom is at least `value`; 1 when `dof` is 0.

    Exact finite sums for whole degrees of freedom: Abramowitz and Stegun, Handbook of Mathematical Functions,
    26.4.4 (odd) and 26.4.5 (even).

    >>> round(chi_square_tail(5.991, 2), 3)
    0.05
    """
    if dof <= 0 or value <= 0.0:
        return 1.0
    half = value / 2.0
    first = 0.5 if dof % 2 else 0.0
    # each term by its logarithm: half to the k and k! both overflow where their ratio is small
    powers = (first + k for k in range(dof // 2))
    terms = (math.exp(k * math.log(half) - half - math.lgamma(k + 1.0)) for k in powers)
    tail = math.fsum(terms) + (math.erfc(math.sqrt(half)) if dof % 2 else 0.0)
    return min(1.0, tail)


def two_sided(probability: float) -> float:
    """How many sigmas a standard normal error exceeds, up or down, with that probability (a share of 1).

    >>> round(two_sided(0.001), 2)
    3.29
    """
    return _STANDARD.inv_cdf(1.0 - probability / 2.0)


def normal_below(value: float) -> float:
    """Probability (a share of 1) that a standard normal error is below `value` sigmas."""
    return _STANDARD.cdf(value)

"""Work of the survey to be timed, each with what it is held against: the runner calls them and makes the ratios."""

from __future__ import annotations

import itertools
import math

import numpy as np
from scipy.optimize import least_squares

from platekit.survey.net import Feature, Net, Reading
from platekit.survey.odds import Joint, Mount, fit_odds
from platekit.survey.solve import solve

DRAWS = 100_000


def twenty_four_holes() -> Net:
    """24 holes on an uneven grid and 150 inside gaps between them, with an error of 0.1 mm each."""
    random = np.random.default_rng(5)
    places = [(40.0 * (k % 6) + random.uniform(-8, 8), 40.0 * (k // 6) + random.uniform(-8, 8)) for k in range(24)]
    pairs = list(itertools.combinations(range(24), 2))
    chosen = [pairs[k] for k in sorted(random.permutation(len(pairs))[:150])]
    readings = tuple(
        Reading(
            (f"h{i}", f"h{j}"), "inside", math.dist(places[i], places[j]) - 10.0 + 0.1 * float(random.standard_normal())
        )
        for i, j in chosen
    )
    return Net(tuple(Feature(f"h{k}", 10.0) for k in range(24)), readings, 0.1)


NET = twenty_four_holes()
SURVEY = solve(NET)


def survey_of_24_holes() -> object:
    """The survey, warm: start, adjustment, covariance, residuals, flips."""
    return solve(NET)


def general_solver_on_24_holes() -> object:
    """The same residuals handed to a general solver with finite differences, from the places already found."""
    model = SURVEY.adjusted.model
    return least_squares(lambda u: (model.observed - model.predict(u)) / model.sigma, SURVEY.adjusted.unknowns)


def mount_of_six() -> Mount:
    """Six screws with every kind of error."""
    joints = tuple(Joint(65.0 * math.cos(k), 65.0 * math.sin(k), 9.5, 8.0) for k in range(6))
    return Mount(joints, 0.2**2 * np.eye(12), cut_position=0.25, cut_size=0.15, printed=0.1)


def hundred_thousand_draws() -> object:
    """The odds of one mount with six screws."""
    return fit_odds(mount_of_six(), draws=DRAWS)


def hundred_thousand_random_plates() -> object:
    """Only the random numbers that those odds are made of."""
    random = np.random.default_rng(4)
    return [random.standard_normal((DRAWS, size)) for size in (12, 12, 6)]

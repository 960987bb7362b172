"""Work of the survey to be timed, each with what it is held against: the runner calls them and makes the ratios."""

from __future__ import annotations

import itertools
import math
from functools import cache

import numpy as np
from msgspec.structs import replace
from scipy.optimize import least_squares

from platekit.survey.blunder import suspect
from platekit.survey.net import Feature, Net, Reading
from platekit.survey.odds import Joint, JointGroup, fit_odds
from platekit.survey.plan import MeasuringPlan, plan
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


def mount_of_six() -> JointGroup:
    """Six screws with every kind of error."""
    joints = tuple(Joint(65.0 * math.cos(k), 65.0 * math.sin(k), 9.5, 8.0) for k in range(6))
    return JointGroup(joints, 0.2**2 * np.eye(12), cut_position=0.25, cut_size=0.15, printed=0.1)


def hundred_thousand_draws() -> object:
    """The odds of one mount with six screws."""
    return fit_odds(mount_of_six(), draws=DRAWS)


def hundred_thousand_random_plates() -> object:
    """Only the random numbers that those odds are made of."""
    random = np.random.default_rng(4)
    return [random.standard_normal((DRAWS, size)) for size in (12, 12, 6)]


@cache
def planned(count: int) -> MeasuringPlan:
    return plan([Feature(name) for name in "ABCDEFG"[:count]])


def measured_by_plan(random: np.random.Generator, count: int) -> Net:
    """An uneven ring of holes, measured as the plan says, each reading with an error of 0.1 mm at one sigma."""
    angles = -2.0 * math.pi * np.arange(count) / count + random.uniform(-0.2, 0.2, count)
    radii = random.uniform(50.0, 75.0) * random.uniform(0.8, 1.2, count)
    names = "ABCDEFG"[:count]
    places = dict(zip(names, np.column_stack([radii * np.cos(angles), radii * np.sin(angles)]).tolist(), strict=True))
    sizes = dict(zip(names, random.uniform(8.0, 14.0, count).tolist(), strict=True))
    readings: list[Reading] = []
    found: dict[str, float] = {}
    for step in planned(count).steps:
        error = 0.1 * float(random.standard_normal())
        if step.kind == "diameter":
            found[step.features[0]] = sizes[step.features[0]] + error
            continue
        a, b = step.features
        radius = (sizes[a] + sizes[b]) / 2.0
        value = math.dist(places[a], places[b]) + {"inside": -radius, "over": radius}[step.kind]
        readings.append(Reading(step.features, step.kind, value + error))
    return Net(tuple(Feature(name, found[name]) for name in names), tuple(readings), 0.1)


def named_share(nets: int, seed: int) -> float:
    random = np.random.default_rng(seed)
    named = 0
    for k in range(nets):
        net = measured_by_plan(random, 4 + k % 4)
        index = int(random.integers(len(net.readings)))
        blunder = 10.0 * 0.1 * float(random.choice([-1.0, 1.0]))
        wrong = replace(net.readings[index], value=net.readings[index].value + blunder)
        survey = solve(replace(net, readings=(*net.readings[:index], wrong, *net.readings[index + 1 :])))
        assert survey.dof >= 3
        found = suspect(survey)
        named += found is not None and found.index == index
    return named / nets


def thousand_blunders() -> float:
    """Share of 1,000 planned nets, each with one blunder of ten sigmas, in which the right reading is named."""
    return named_share(1000, 20)

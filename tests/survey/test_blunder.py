"""Wrong readings: found, named, explained."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache

import numpy as np
import pytest
from msgspec.structs import replace

from platekit.survey.blunder import Suspect, suspect
from platekit.survey.explain import slips
from platekit.survey.net import Feature, Net, Reading
from platekit.survey.plan import MeasuringPlan, plan
from platekit.survey.solve import WrongReading, solve

PLACES = {"A": (0.0, 0.0), "B": (97.0, 0.0), "C": (91.0, 71.0), "D": (3.0, 77.0), "E": (48.0, 39.0)}
SIZES = {"A": 10.2, "B": 10.1, "C": 10.2, "D": 10.2, "E": 62.0}
Made = Callable[..., Net]
Pairs = Callable[..., list[tuple[str, ...]]]


@pytest.fixture
def good(made: Made, every_pair: Pairs) -> Net:
    net = made(PLACES, every_pair("ABCDE", "inside", "over"), sizes=SIZES, noise=0.05)
    return replace(net, readings=tuple(replace(r, value=round(r.value, 1)) for r in net.readings))


def spoiled(net: Net, names: str, kind: str, change: Callable[[float], float]) -> tuple[Net, int]:
    index = next(k for k, r in enumerate(net.readings) if r.features == tuple(names) and r.kind == kind)
    reading = net.readings[index]
    wrong = replace(reading, value=change(reading.value))
    return replace(net, readings=(*net.readings[:index], wrong, *net.readings[index + 1 :])), index


def test_good_readings_have_no_suspect(good: Net) -> None:
    assert suspect(solve(good)) is None


def blamed(net: Net) -> Suspect | None:
    """Who is blamed, whether the net can be solved or makes no triangle."""
    try:
        return suspect(solve(net))
    except WrongReading as error:
        return error.suspect


def swapped(value: float) -> float:
    text = f"{value:.1f}"
    return float(text[0] + text[3] + text[2] + text[1]) if text[1] != text[3] else value + 9.0


@pytest.mark.parametrize(
    ("names", "kind", "change", "why"),
    [
        ("AB", "inside", swapped, "two digits swapped"),
        ("AC", "over", lambda v: v + 10.0, "scale misread by 10 mm"),
        ("BD", "inside", lambda v: v + 10.2, "a distance between centres typed as inside"),
        ("BD", "inside", lambda v: v + 20.4, "an over-all size typed as inside"),
        ("BC", "over", lambda v: v - 20.3, "an inside gap typed as over"),
        ("AB", "over", lambda v: round(v / 25.4, 3), "inches typed as millimetres"),
        ("AC", "inside", lambda v: round(v / 10.0, 2), "decimal point too far left"),
        ("CD", "inside", lambda v: v - 10.0, "tips not added"),
        ("AD", "inside", lambda v: v + 3.7, "off by +3"),
    ],
)
def test_the_wrong_reading_is_named_and_explained(
    good: Net, names: str, kind: str, change: Callable[[float], float], why: str
) -> None:
    right = next(r.value for r in good.readings if r.features == tuple(names) and r.kind == kind)
    net, index = spoiled(good, names, kind, change)
    found = blamed(net)
    assert found is not None
    assert found.index == index
    assert found.likely == pytest.approx(right, abs=0.35)
    assert pytest.approx(right, abs=0.3) == found.predicted
    assert any(why in text for text in (found.why, *(slip.why for slip in found.slips)))


def test_a_reading_taken_at_another_hole_is_recognised(good: Net) -> None:
    other = next(r.value for r in good.readings if r.features == ("A", "C") and r.kind == "inside")
    net, index = spoiled(good, "AB", "inside", lambda _: other)
    found = blamed(net)
    assert found is not None
    assert found.index == index
    assert any("would suit A-C: another hole?" in slip.why for slip in found.slips)


def test_a_radius_given_as_the_diameter_is_recognised(good: Net) -> None:
    net = replace(good, features=tuple(replace(f, diameter=31.0) if f.name == "E" else f for f in good.features))
    found = suspect(solve(net))
    assert found is not None
    assert found.reading.features == ("E",)
    assert found.why == "31 mm would be 62 mm: a radius given as the diameter?"


def test_the_example_of_two_digits_swapped() -> None:
    reading = Reading(("A", "B"), "inside", 81.7)
    found = slips(reading, 87.05, 0.1, kinds={}, others={})
    assert [slip.why for slip in found] == ["81.7 mm would be 87.1 mm: two digits swapped?"]


def test_sixteenths_count_only_for_rule_and_tape() -> None:
    short = Reading(("A", "B"), "centres", 100.0, tool="tape")
    assert any("1/16 in" in slip.why for slip in slips(short, 101.6, 0.1, kinds={}, others={}))
    by_caliper = replace(short, tool="caliper")
    assert not any("1/16 in" in slip.why for slip in slips(by_caliper, 101.6, 0.1, kinds={}, others={}))


def test_what_cannot_be_told_apart_is_said(made: Made, every_pair: Pairs) -> None:
    """Redundancy of one: every normalised residual is the same, so every checked reading is a rival."""
    four = {name: PLACES[name] for name in "ABCD"}
    net = made(four, every_pair("ABCD", "centres"), sizes={})
    net, _ = spoiled(net, "AC", "centres", lambda v: v + 3.0)
    found = suspect(solve(net))
    assert found is not None
    assert len(found.rivals) == 5


def test_a_net_without_redundancy_suspects_nothing(made: Made, every_pair: Pairs) -> None:
    assert suspect(solve(made(PLACES, every_pair("ABC", "centres"), sizes={}), floating_ok=True)) is None


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


def test_a_blunder_of_ten_sigmas_is_named_in_95_of_100_planned_nets() -> None:
    assert named_share(300, 20) >= 0.95


GROSS: dict[str, Callable[[float], float]] = {
    "inches": lambda v: v / 25.4,
    "point": lambda v: v * 10.0,
    "ten": lambda v: v + 10.0,
    "one": lambda v: v - 1.0,
}


@pytest.mark.parametrize("slip", GROSS)
def test_gross_slips_are_named_nearly_always(slip: str) -> None:
    random = np.random.default_rng(22)
    named = 0
    for k in range(40):
        net = measured_by_plan(random, 4 + k % 4)
        index = int(random.integers(len(net.readings)))
        wrong = replace(net.readings[index], value=GROSS[slip](net.readings[index].value))
        found = blamed(replace(net, readings=(*net.readings[:index], wrong, *net.readings[index + 1 :])))
        named += found is not None and found.index == index
    assert named >= 38


def test_a_clean_planned_net_is_rarely_suspected() -> None:
    random = np.random.default_rng(21)
    alarms = sum(suspect(solve(measured_by_plan(random, 4 + k % 4))) is not None for k in range(150))
    assert alarms <= 6

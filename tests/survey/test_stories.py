"""Who is blamed: nets made from known holes, spoiled in one known way. The right story is told, alone or among few.

The bounds: a story is believed where all others are twenty times less probable, so at most one in twenty of the
believed ones may be wrong if the shares of the slips were exact. They are rough, and errors of the readings are drawn
as assumed, so far fewer are: none may be here. Where nothing is to spare, naming all that it could be is right.
"""

from __future__ import annotations

import itertools
import math
from collections import Counter
from collections.abc import Callable
from functools import cache

import numpy as np
import pytest
from msgspec.structs import replace

from platekit.survey.blunder import Suspect, suspect
from platekit.survey.net import BadReading, Feature, Net, Reading, ReadingKind
from platekit.survey.plan import MeasuringPlan, plan
from platekit.survey.solve import WrongReading, solve

Random = np.random.Generator
NAMES = "ABCDEFG"
SIGN: dict[ReadingKind, float] = {"inside": -1.0, "over": 1.0, "centres": 0.0}


@cache
def planned(count: int) -> MeasuringPlan:
    return plan([Feature(name) for name in NAMES[:count]])


class Measured:
    """An uneven ring of holes and what was read on it, with errors of 0.1 mm at one sigma, typed to 0.01 mm."""

    def __init__(self, random: Random, style: str, count: int) -> None:
        angles = -2.0 * math.pi * np.arange(count) / count + random.uniform(-0.2, 0.2, count)
        radii = random.uniform(50.0, 75.0) * random.uniform(0.8, 1.2, count)
        points = np.column_stack([radii * np.cos(angles), radii * np.sin(angles)]).tolist()
        self.random = random
        self.places = dict(zip(NAMES, points, strict=False))
        self.sizes = dict(zip(self.places, random.uniform(8.0, 14.0, count).tolist(), strict=True))
        pairs = list(itertools.combinations(self.places, 2))
        steps: list[tuple[tuple[str, ...], ReadingKind]]
        if style == "plan":
            steps = [(step.features, step.kind) for step in planned(count).steps if step.kind in SIGN]
        elif style == "few":  # one or two more than places ask for
            chosen = sorted(random.permutation(len(pairs))[: 2 * count - 2 + int(random.integers(0, 2))])
            steps = [(pairs[k], "inside") for k in chosen]
        else:
            steps = [(pair, kind) for pair in pairs for kind in SIGN if kind == style]
        features = tuple(Feature(name, self.typed(size)) for name, size in self.sizes.items())
        self.net = Net(features, tuple(self.read(pair, kind) for pair, kind in steps), 0.1)

    def typed(self, true: float) -> float:
        return round(true + 0.1 * float(self.random.standard_normal()), 2)

    def read(self, pair: tuple[str, ...], kind: ReadingKind) -> Reading:
        a, b = pair
        radii = (self.sizes[a] + self.sizes[b]) / 2.0
        return Reading(pair, kind, self.typed(math.dist(self.places[a], self.places[b]) + SIGN[kind] * radii))


def swapped(value: float, random: Random) -> float:
    text = f"{value:.2f}"
    k = int(random.integers(text.index(".") - 1))
    return float(text[:k] + text[k + 1] + text[k] + text[k + 2 :])


def left_out(value: float, random: Random) -> float:
    text = f"{value:.2f}"
    k = int(random.integers(text.index(".")))
    return float(text[:k] + text[k + 1 :])


def typed_twice(value: float, random: Random) -> float:
    text = f"{value:.2f}"
    k = int(random.integers(text.index(".")))
    return float(text[:k] + text[k] + text[k:])


def one_digit(value: float, random: Random) -> float:
    text = f"{value:.2f}"
    k = int(random.integers(text.index(".")))
    return float(text[:k] + str((int(text[k]) + int(random.integers(1, 10))) % 10) + text[k + 1 :])


SLIPS: dict[str, Callable[[float, Random], float]] = {
    "fifteen sigmas": lambda v, random: v + 1.5 * float(random.choice([-1.0, 1.0])),
    "fifty sigmas": lambda v, random: v + 5.3 * float(random.choice([-1.0, 1.0])),
    "inches": lambda v, _: v / 25.4,
    "millimetres": lambda v, _: v * 25.4,
    "twice": lambda v, _: 2.0 * v,
    "half": lambda v, _: v / 2.0,
    "point left": lambda v, _: v / 10.0,
    "point right": lambda v, _: v * 10.0,
    "swapped": swapped,
    "left out": left_out,
    "typed twice": typed_twice,
    "one digit": one_digit,
    "ten": lambda v, random: v + 10.0 * float(random.choice([-1.0, 1.0])),
}


def blamed(net: Net) -> Suspect | None:
    try:
        return suspect(solve(net, floating_ok=True))
    except WrongReading as error:
        return error.suspect


def outcome(net: Net, wrong: set[int]) -> str:
    """Whether the readings that are wrong are blamed, named among others, or others are blamed."""
    try:
        found = blamed(net)
    except BadReading:
        return "refused"
    if found is None:
        return "nobody"
    if found.sure:
        return "right" if set(found.alike or (found.index,)) == wrong else "wrong"
    return "named" if wrong <= set(found.doubted) else "not named"


def tried(style: str, slip: str, nets: int) -> Counter[str]:
    random = np.random.default_rng(31)
    count: Counter[str] = Counter()
    for k in range(nets):
        measured = Measured(random, style, (5 if style == "few" else 4) + k % 3)
        sound = solve(measured.net, floating_ok=True)
        index = int(random.integers(len(measured.net.readings)))
        reading = measured.net.readings[index]
        value = round(SLIPS[slip](reading.value, random), 3)
        if sound.floating or sound.flips or abs(value - reading.value) < 1.0 or value <= 0.0:
            continue
        readings = (*measured.net.readings[:index], replace(reading, value=value), *measured.net.readings[index + 1 :])
        count[outcome(replace(measured.net, readings=readings), {index})] += 1
    return count


@pytest.mark.parametrize("slip", SLIPS)
def test_no_right_reading_is_blamed_and_the_wrong_one_is_named(slip: str) -> None:
    by_style = {style: tried(style, slip, 12) for style in ("plan", "centres", "over", "few")}
    together = sum(by_style.values(), Counter())
    assert together["wrong"] == 0, by_style
    assert together["right"] + together["named"] >= 0.9 * together.total(), by_style
    plan = by_style["plan"]  # what the plan asks for checks every reading well
    assert plan["right"] >= 0.9 * plan.total(), by_style


@pytest.mark.parametrize(("true", "typed"), [("over", "centres"), ("inside", "centres"), ("centres", "over")])
def test_a_whole_column_of_the_wrong_kind_is_no_single_blunder(true: ReadingKind, typed: ReadingKind) -> None:
    random = np.random.default_rng(5)
    count: Counter[str] = Counter()
    for k in range(10):
        net = Measured(random, true, 4 + k % 3).net
        spoiled = replace(net, readings=tuple(replace(one, kind=typed) for one in net.readings))
        count[outcome(spoiled, set(range(len(net.readings))))] += 1
    assert count["wrong"] == count["not named"] == 0, count
    assert count["right"] >= 5, count


def test_radii_given_as_diameters_of_all_holes_are_recognised() -> None:
    random = np.random.default_rng(6)
    for k in range(4):
        net = Measured(random, "plan", 4 + k % 3).net
        halved = tuple(replace(one, diameter=(one.diameter or 0.0) / 2.0) for one in net.features)
        found = blamed(replace(net, features=halved))
        assert found is not None
        assert found.sure
        assert str(found) == f"all {len(net.features)} diameters look like radii"
        assert [one.value for one in found.mended] == pytest.approx([one.diameter for one in net.features])


# Two that were met -------------------------------------------------------------------------------------------------


SIX_OVER = Net(
    tuple(Feature(name, size) for name, size in {"P": 13.1, "Q": 13.0, "R": 13.15, "S": 13.05}.items()),
    tuple(
        Reading((pair[0], pair[1]), "centres", value)
        for pair, value in {
            "PQ": 143.68,
            "QR": 110.41,
            "RS": 137.27,
            "SP": 121.20,
            "PR": 171.63,
            "QS": 181.34,
        }.items()
    ),
    0.08,
)


def test_six_over_all_sizes_typed_as_centres_are_not_laid_on_one_of_them() -> None:
    """One reading to spare: without any single reading the rest can be placed, so each could be blamed."""
    found = suspect(solve(SIX_OVER))
    assert found is not None
    assert found.stories[0] == "all 6 readings typed as centres look like over-all sizes"
    assert found.alike == (0, 1, 2, 3, 4, 5)
    assert [one.kind for one in found.mended] == ["over"] * 6
    assert found.settles is not None
    assert abs(found.settles.values[0] - found.settles.values[1]) > 5.0


def test_one_reading_more_settles_that_all_six_are_over_all_sizes() -> None:
    more = (Reading(("P", "R"), "inside", 145.4), Reading(("Q", "S"), "inside", 155.3))
    found = blamed(replace(SIX_OVER, readings=SIX_OVER.readings + more))
    assert found is not None
    assert found.sure
    assert found.alike == (0, 1, 2, 3, 4, 5)


DOUBLED = Net(
    (*(Feature(name, 13.0) for name in "ABCD"), Feature("bore", 60.1, "bore")),
    (
        Reading(("A", "B"), "centres", 115.9),
        Reading(("B", "C"), "centres", 116.0),
        Reading(("C", "D"), "centres", 115.9),
        Reading(("D", "A"), "centres", 116.1),
        Reading(("bore", "A"), "centres", 164.0),
        Reading(("bore", "B"), "centres", 82.1),
        Reading(("bore", "C"), "centres", 81.95),
    ),
    on_circle=tuple("ABCD"),
    going_round=True,
    evenly=True,
)


def test_a_radius_doubled_is_the_first_story_although_the_bore_could_lie_outside() -> None:
    """Without it the bore may lie in the middle or, mirrored, outside: the other two alone do not say."""
    found = suspect(solve(DOUBLED))
    assert found is not None
    assert found.index == 4
    assert found.likely == pytest.approx(82.0)
    assert "164 mm would be 82 mm: twice what it should be?" in found.stories[0]
    assert found.settles is not None


def test_words_and_digits_are_those_of_the_unit_that_was_typed() -> None:
    inch = 25.4
    random = np.random.default_rng(9)
    net = Measured(random, "plan", 5).net
    index = next(
        k for k, one in enumerate(net.readings) if f"{one.value / inch:.3f}"[2] != f"{one.value / inch:.3f}"[3]
    )
    typed = [f"{one.value / inch:.3f}" for one in net.readings]
    text = typed[index]
    typed[index] = text[:2] + text[3] + text[2] + text[4:]
    readings = tuple(replace(one, value=float(t) * inch) for one, t in zip(net.readings, typed, strict=True))
    found = blamed(replace(net, readings=readings, unit="in"))
    assert found is not None
    assert found.index == index
    assert f"{float(typed[index]):g} in would be {float(text):g} in" in found.why
    assert " mm" not in str(found)

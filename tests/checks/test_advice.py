"""Advice that must not mislead: what moves along, plates with round corners, lengths that are just enough."""

from __future__ import annotations

import pytest

import platekit
from platekit.checks import Finding, Verdict
from platekit.spec import with_value

HEAD = """\
platekit: 1
title: What the advice does
units: mm
plate: {material: mild steel, thickness: 10, outline: {OUTLINE}}
"""


def judged(text: str) -> Verdict:
    return platekit.check(platekit.lay_out(platekit.loads(text, "plate.yaml")))


def of_rule(text: str, rule: str) -> list[Finding]:
    return [finding for finding in judged(text).findings if finding.rule == rule]


def followed(text: str, finding: Finding) -> str:
    for remedy in finding.remedies:
        text = with_value(text, remedy.field, remedy.value)
    return text


TWO = (
    HEAD.replace("OUTLINE", "wrap: {margin: 20}")
    + """\
mounts:
  base: {side: far, looking_at: face, pattern: {points: [[0, 0], [90, 40]], hole: 9}}
  rider: {side: near, looking_at: back, pattern: {points: [[0, 0], [60, 0]], hole: 9}, at: PLACE TRAVEL}
"""
)
SWING = ", take_up: {swing: {about: [300, 0], tightens: clockwise, install: 2, tension: 3}}"


@pytest.mark.parametrize("travel", ["", SWING])
@pytest.mark.parametrize(
    ("place", "helps"),
    [("[3, 3]", True), ("{from: base, distance: 4, angle: 45 deg}", False)],
)
def test_moving_what_another_is_measured_from_is_no_advice(place: str, helps: bool, travel: str) -> None:
    """The rider measured from the base moves along with it; one that swings cannot be moved alone either."""
    text = TWO.replace("PLACE", place).replace(" TRAVEL", travel)
    finding = of_rule(text, "overlap")[0]
    moved = {remedy.field for remedy in finding.remedies}
    if travel:
        assert moved == ({"mounts.base.at"} if helps else set())
    else:
        assert moved == {"mounts.rider.at"}
    if moved:
        assert finding.features not in [after.features for after in of_rule(followed(text, finding), "overlap")]


@pytest.mark.parametrize("corner", [0, 30])
def test_a_plate_is_made_large_enough_for_a_hole_near_its_round_corner(corner: int) -> None:
    outline = f"rectangle: {{width: 120, height: 60, corner: {corner}}}"
    text = HEAD.replace("OUTLINE", outline) + "mounts: {m: {side: far, pattern: {points: [[0, 0]], hole: 9}}}\n"
    text = text.replace("pattern:", "looking_at: face, pattern:").replace("[[0, 0]]", "[[58, 27]]")
    finding = of_rule(text, "edge")[0]
    assert {remedy.field for remedy in finding.remedies} == {
        "plate.outline.rectangle.width",
        "plate.outline.rectangle.height",
    }
    assert not of_rule(followed(text, finding), "edge")


def test_the_margin_of_a_wrap_is_made_larger_than_what_it_is_by_itself() -> None:
    text = HEAD.replace("OUTLINE", "wrap: {margin: auto}") + "limits: {edge: 12}\n"
    text += "mounts: {m: {side: far, pattern: {points: [[0, 0]], hole: 9}, bolts: {size: M8, into: nut, flange: 10}}}\n"
    assert not of_rule(text, "edge")
    tight = text.replace("auto", "5")
    finding = of_rule(tight, "edge")[0]
    assert finding.found == pytest.approx(9.5)
    assert not of_rule(followed(tight, finding), "edge")


@pytest.mark.parametrize(("unit", "factor"), [("mm", 1.0), ("in", 25.4)])
def test_a_stock_screw_that_is_just_long_enough_is_taken_in_either_unit(unit: str, factor: float) -> None:
    """15 mm plate and 1 mm standoff clamped, 4 mm wanted in steel: M4 x 20 reaches exactly."""
    text = f"""\
platekit: 1
title: Just long enough
units: {unit}
plate: {{material: 6082-T6, thickness: {15 / factor!r}}}
mounts:
  part:
    side: near
    pattern: {{points: [[0, 0]]}}
    standoff: {1 / factor!r}
    bolts: {{size: M4, into: part, depth: {8 / factor!r}, thread_in: steel}}
"""
    assert platekit.lay_out(platekit.loads(text, "plate.yaml")).stacks[0].length == pytest.approx(20)
    assert not of_rule(text, "grip")

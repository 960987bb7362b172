"""A belt, slots or a pulley without a guard is told every time, on whatever plate."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings

import platekit
from platekit.checks.guard import TURNING, guard
from platekit.errors import PlatekitError
from tests import strategies
from tests.adversary.sound_plates import ROLLER
from tests.laying.test_guard import SPEC
from tests.strategies import USUAL, as_text

SPECS = Path(platekit.__file__).parents[1] / "specs"


def missed(layout: platekit.Layout) -> list[str]:
    """What asks for a guard and is not told of."""
    told = {feature for finding in guard(layout) for feature in finding.features}
    covered = [belt for one in layout.guards for belt in one.belts]
    wanted = [belt.driver.name for belt in layout.belts if belt.name not in covered]
    if not layout.belts:
        wanted += [mount.name for mount in layout.mounts.values() if mount.take_up is not None]
        wanted += [body.name for body in layout.bodies if body.kind == "given" and TURNING.search(body.name)]
    return [name for name in wanted if name not in told]


@settings(max_examples=20)
@given(strategies.machines(USUAL).map(as_text))
def test_what_turns_without_a_guard_is_told_on_any_plate(text: str) -> None:
    try:
        layout = platekit.lay_out(platekit.loads(text, "any.yaml"))
    except PlatekitError:
        return
    assert not missed(layout)


@pytest.mark.parametrize("path", sorted(SPECS.glob("*.yaml")), ids=lambda path: path.stem)
def test_each_example_is_guarded_or_says_why_not(path: Path) -> None:
    layout = platekit.lay_out(platekit.load(path))
    assert not missed(layout)
    verdict = platekit.check(layout)
    assert not [finding.message for finding in verdict.findings if finding.rule == "guard" and not finding.accepted]


def test_openings_of_a_cover_that_are_all_alike_are_one_finding() -> None:
    text = SPEC.replace("thickness: 2}", "thickness: 8, openings: {shape: slot, width: 1}}")
    layout = platekit.lay_out(platekit.loads(text, "fan.yaml"))
    assert layout.guard is not None
    vents = {f"guard-cover.vent {number}" for number in range(1, len(layout.guard.vents) + 1)}
    told = [finding for finding in guard(layout) if vents & set(finding.features)]
    assert len(vents) > 1
    assert told
    for finding in told:
        assert vents <= set(finding.features)
    assert len({finding.message for finding in told}) == len(told)
    assert not [finding for finding in guard(layout) if ": the plate" in finding.message]


SECOND = """\
  second:
    belt: {section: A, pitch_length: 914.159265358979}
    driver: {on: fan, pitch_diameter: 100, span: [-70, -50]}
    driven: {on: roll, pitch_diameter: 100, span: [-70, -50]}
"""
ROLL = """\
  roll:
    side: far
    pattern: {circle: {count: 4, diameter: 60, hole: 12}}
    at: [-300, 0]
bodies:
"""


def test_a_second_belt_beside_a_guarded_one_is_told_and_can_be_accepted_as_it_says() -> None:
    text = SPEC.replace("guard: {gap: 25", f"{SECOND}guard: {{gap: 25").replace("bodies:\n", ROLL)
    layout = platekit.lay_out(platekit.loads(text, "fan.yaml"))
    (told,) = [one for one in guard(layout) if "second.driver" in one.features]
    by_hand = told.others[-1]
    assert "covers the belt `drive` alone" in by_hand.text
    said = "accept: {rule: guard, feature: second.driver, because: ...}"
    assert said in by_hand.text
    accepted = text + 'accept: [{rule: guard, feature: second.driver, because: "a box of sheet on the frame"}]\n'
    verdict = platekit.check(platekit.lay_out(platekit.loads(accepted, "fan.yaml")))
    (found,) = [one for one in verdict.findings if one.rule == "guard" and "second.driver" in one.features]
    assert found.accepted == "a box of sheet on the frame"


def test_a_guard_for_the_second_belt_is_advised_with_its_belt() -> None:
    text = SPEC.replace("guard: {gap: 25, thickness: 2}\n", SECOND).replace("bodies:\n", ROLL)
    layout = platekit.lay_out(platekit.loads(text, "fan.yaml"))
    (told,) = [one for one in guard(layout) if "second.driver" in one.features]
    texts = [idea.text for idea in (told.advice, *told.others)]
    assert "guard: {belt: both, gap: 20}" in texts[0]
    assert any("guard: {belt: second, gap: 20}" in one for one in texts)


@pytest.mark.parametrize(
    ("material", "told"), [("mild steel", 0), ("polycarbonate", 0), ("acrylic", 1), ("7075-T6", 1), ("MDF", 1)]
)
def test_a_guard_is_of_what_bends_and_does_not_splinter(material: str, told: int) -> None:
    text = ROLLER.replace("guard: {gap: 25", f"guard: {{material: {material}, gap: 25")
    found = list(guard(platekit.lay_out(platekit.loads(text, "p.yaml"))))
    assert len([finding for finding in found if "its sheet is" in finding.message]) == told

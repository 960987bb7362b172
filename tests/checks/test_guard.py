"""A belt, slots or a pulley without a guard is told every time, on whatever plate."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings

import platekit
from platekit.checks.guard import TURNING, guard
from platekit.errors import PlatekitError
from tests import strategies
from tests.laying.test_guard import SPEC
from tests.strategies import USUAL, as_text

SPECS = Path(platekit.__file__).parents[1] / "specs"


def missed(layout: platekit.Layout) -> list[str]:
    """What asks for a guard and is not told of."""
    told = {feature for finding in guard(layout) for feature in finding.features}
    covered = None if layout.guard is None else layout.guard.belt
    wanted = [belt.driver.name for belt in layout.belts if belt.name != covered]
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

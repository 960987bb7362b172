"""Advice on guards over shafts along the plate: an idea of each finding, followed to the letter, ends it."""

from __future__ import annotations

import pytest

import platekit
from tests.checks.test_guard_advice import about, findings, mends
from tests.laying.lying_guards import GUARD, SHUTTER, guarded

CASES: dict[str, tuple[str, list[tuple[str, str]]]] = {
    "no guard": ("", []),
    "past the edge of the plate": (GUARD, [("width: 1060", "width: 900")]),
    "a slit that a hand reaches through": ("guard: {gap: 20, fixings: {count: 3}, back_from_plate: 14}\n", []),
    "a slot for a shaft that travels, with nothing behind it": (GUARD, [(SHUTTER, "")]),
    "feet without room": ("guard: {gap: 20, fixings: {count: 40}}\n", []),
    "openings too near": ("guard: {gap: 12, fixings: {count: 3}, openings: {shape: slot, width: 12}}\n", []),
    "holes for no screw": ("guard: {fixings: {count: 3, hole: 2}}\n", []),
}


@pytest.mark.parametrize("case", CASES)
def test_an_edit_ends_each_finding(case: str) -> None:
    guard, others = CASES[case]
    text = guarded(guard, *others)
    found = findings(text)
    assert found
    for finding in {about(one): one for one in found}.values():
        ideas = [idea.remedies for idea in (finding.advice, *finding.others) if idea.remedies]
        assert any(mends(text, finding, remedies) for remedies in ideas), finding.message


def test_a_foot_in_the_motor_is_given_another_place() -> None:
    layout = platekit.lay_out(platekit.loads(guarded("guard: {gap: 20, fixings: {count: 4}}\n"), "line-shaft.yaml"))
    (finding, *_) = [f for f in platekit.check(layout).findings if f.rule == "clash"]
    assert "guard.foot 4" in finding.features
    counts = [one.value for idea in (finding.advice, *finding.others) for one in idea.remedies]
    assert 3 in counts

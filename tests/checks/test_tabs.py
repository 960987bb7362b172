"""Holes of tabs and feet that something lies over."""

from __future__ import annotations

import pytest

import platekit
from platekit.checks import Finding
from tests.checks.plates import changed

TAB = "tabs: {earth: {at: [60, 160], width: 60, hole: 13}}"
FEET = "feet: {level: -170, width: 60, apart: 200, middle: 60, hole: 11}"


def covered(words: str, body: str) -> list[Finding]:
    text = changed(("thickness: 6", f"thickness: 6\n  {words}"), ("bodies:\n", f"bodies:\n  rail: {body}\n"))
    found = platekit.check(platekit.lay_out(platekit.loads(text, "plate.yaml"))).findings
    return [one for one in found if one.rule in ("tab", "feet") and "over the hole" in one.message]


@pytest.mark.parametrize(
    ("words", "place", "names"),
    [
        (TAB, "{rectangle: {width: 80, height: 40}, at: [60, 160]}", ["earth.hole"]),
        (FEET, "{rectangle: {width: 300, height: 30}, at: [60, -148]}", ["feet.1", "feet.2"]),
        (FEET, "{rectangle: {width: 60, height: 30}, at: [60, -148]}", []),
    ],
)
def test_a_hole_with_something_over_it_takes_no_screw(words: str, place: str, names: list[str]) -> None:
    assert [
        one.features[0] for one in covered(words, f"{{carried_by: plate, side: near, shape: {place}, span: [2, 40]}}")
    ] == names
    # high above it there is room for head and spanner
    assert not covered(words, f"{{carried_by: plate, side: near, shape: {place}, span: [30, 60]}}")


def test_what_the_feet_are_screwed_to_is_not_in_the_way() -> None:
    place = "{rectangle: {width: 300, height: 30}, at: [60, -148]}"
    assert not covered(FEET, f"{{carried_by: machine, shape: {place}, span: [0, 40]}}")

"""Ribs and lugs on what cannot be welded."""

from __future__ import annotations

import pytest

import platekit
from platekit.checks import Finding
from tests.checks import lying
from tests.checks.plates import changed

LUG = "{bolted: {screws: {size: M8, into: nut, washer: true}}}"
WINDOW = "window: {circle: {diameter: 30}, at: [90, -70]}"
RIB = f"{WINDOW}\n  ribs: {{spine: {{side: far, from: [110, 80], to: [240, 80], height: 20, width: 6}}}}"


def told(*swaps: tuple[str, str]) -> list[Finding]:
    found = platekit.check(platekit.lay_out(platekit.loads(changed(*swaps), "plate.yaml"))).findings
    return [finding for finding in found if finding.rule == "weld"]


@pytest.mark.parametrize(
    ("material", "level"),
    [
        ("S355", None),
        ("304", None),
        ("5083", None),
        ("6082-T6", "warn"),
        ("7075-T6", "stop"),
        ("EN-GJL-250", "warn"),
        ("galvanised steel", "warn"),
        ("polycarbonate", "stop"),
        ("birch plywood", "stop"),
    ],
)
def test_what_a_bar_is_welded_to_decides(material: str, level: str | None) -> None:
    named = ("material: mild steel", f'material: "{material}"')
    assert [finding.level for finding in told(named, (WINDOW, RIB))] == ([] if level is None else [level])
    assert not told(named)  # nothing is welded to it


@pytest.mark.parametrize(("lug", "told"), [("", ["warn"]), (", lug: LUG", [])])
def test_a_lug_that_is_screwed_on_is_not_welded(lug: str, told: list[str]) -> None:
    jack = f"jack: {{size: M10, at: [-98, -44], height: 10, block: 10{lug.replace('LUG', LUG)}}}"
    text = lying.changed(("tension: auto", f"tension: auto, {jack}"))
    text = text.replace("material: mild steel", "material: 6082-T6")
    found = platekit.check(platekit.lay_out(platekit.loads(text, "plate.yaml"))).findings
    assert [finding.level for finding in found if finding.rule == "weld"] == told

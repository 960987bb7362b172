"""Advice on guards: an idea of each finding, followed to the letter, ends it."""

from __future__ import annotations

import re

import pytest

import platekit
from platekit.errors import PlatekitError
from platekit.spec import with_value
from platekit.studies.advised import judge
from tests.adversary.sound_plates import ROLLER
from tests.laying.test_guard import SPEC

SHAFT = "  fan shaft: {carried_by: fan, shape: {circle: {diameter: 25}}, span: [-42, 0], gap: 0.4}\n"
PLAIN = "guard: {gap: 25, thickness: 2}"
LASER = "{process: laser}"

CASES: dict[str, dict[str, str]] = {
    "no guard": {f"{PLAIN}\n": ""},
    "openings too near": {PLAIN: "guard: {gap: 12, openings: {shape: slot, width: 12}}"},
    "openings past the table": {PLAIN: "guard: {openings: {shape: round, width: 130}}"},
    "openings without room": {PLAIN: "guard: {openings: {shape: square, width: 6, count: 200}, thickness: 4}"},
    "openings that no jet cuts": {PLAIN: "guard: {thickness: 8, openings: {shape: slot, width: 1}}"},
    "openings that no router cuts": {
        PLAIN: "guard: {material: 6082-T6, openings: {shape: square, width: 5}}",
        "material: mild steel": "material: 6082-T6",
        LASER: "{process: router}",
    },
    "off the plate": {PLAIN: "guard: {gap: 25, back: none, back_from_plate: 11}"},
    "plate too small": {
        PLAIN: "guard: {gap: 25, back: none}",
        "  thickness: 8\n": "  thickness: 8\n  outline: {rectangle: {width: 400, height: 90}, at: [150, 0]}\n",
    },
    "bore open from behind": {SHAFT: ""},
    "bore open into the band": {SHAFT: "", PLAIN: "guard: {gap: 25, back: none}"},
    "ears without room": {PLAIN: "guard: {gap: 10, fixings: {count: 26}}"},
    "cover's tabs without room": {PLAIN: "guard: {gap: 10, band_made: rolled, fixings: {ear: 40}, cover: {count: 14}}"},
    "no screw so thin": {PLAIN: "guard: {fixings: {hole: 2}, cover: {hole: 2.5}}"},
    "no screw so long": {PLAIN: "guard: {back: none, back_from_plate: 150}", "span: [-40, -20]": "span: [-200, -180]"},
    "holes too near the edge": {
        PLAIN: "guard: {thickness: 5, fixings: {hole: 11}, cover: {hole: 13}}",
        LASER: "{process: plasma}",
    },
    "sheet too small": {LASER: "{process: laser, sheet: [300, 200]}"},
    "short flats": {PLAIN: "guard: {gap: 45, thickness: 12, bend_radius: 40}"},
    "steel on a router": {LASER: "{process: router}"},
}


def findings(text: str) -> list[platekit.Finding]:
    layout = platekit.lay_out(platekit.loads(text, "fan.yaml"))
    return [f for f in platekit.check(layout).findings if f.rule == "guard"]


def about(finding: platekit.Finding) -> tuple[frozenset[str], str]:
    return frozenset(finding.features[:1]), re.sub(r"-?[\d.]+", "#", finding.message)[:50]


def mends(text: str, finding: platekit.Finding, remedies: tuple[platekit.Remedy, ...]) -> bool:
    try:
        for remedy in remedies:
            text = with_value(text, remedy.field, remedy.value)
        return all(about(other) != about(finding) for other in findings(text))
    except PlatekitError:
        return False


@pytest.mark.parametrize("case", CASES)
def test_an_edit_ends_each_finding(case: str) -> None:
    text = SPEC
    for old, new in CASES[case].items():
        assert text.count(old) >= 1
        text = text.replace(old, new)
    found = findings(text)
    assert found
    for finding in {about(one): one for one in found}.values():
        ideas = [idea.remedies for idea in (finding.advice, *finding.others) if idea.remedies]
        assert any(mends(text, finding, remedies) for remedies in ideas), finding.message


def test_a_band_through_heads_that_travel_gets_round_them_by_its_tried_advice() -> None:
    text = ROLLER.replace("gap: 25", "gap: 8")
    verdict = judge(platekit.lay_out(platekit.loads(text, "roller.yaml")))
    told = [finding for finding in verdict.findings if finding.level == "stop"]
    assert any(feature.startswith("guard.band") for finding in told for feature in finding.features)
    assert all(finding.advice.tried for finding in told)
    for remedy in told[0].remedies:
        text = with_value(text, remedy.field, remedy.value)
    assert platekit.check(platekit.lay_out(platekit.loads(text, "roller.yaml"))).clear

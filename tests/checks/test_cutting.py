"""What a process can cut: by material and thickness.

Expected: oxygen cuts only what burns below its melting point, so neither stainless steel, aluminium nor cast iron
(common practice of the trade); the arc of a plasma torch needs a workpiece that conducts (common practice); ISO
9013:2017 clause 1 holds for laser cuts up to 32 mm and flame cuts from 3 to 300 mm.
"""

from __future__ import annotations

from pathlib import Path

import pytest

import platekit
from platekit.checks import Finding, Verdict
from platekit.cutting import operations_of
from platekit.export.bench.card import sections
from tests.checks.plates import changed

GIVEN = "{density: 4500 kg/m3, modulus: 110000 MPa, yield_strength: 800 MPa, name: titanium}"


def judged(material: str, process: str, thickness: float, more: str = "") -> Verdict:
    text = changed(
        ("material: mild steel", f"material: {material}"),
        ("thickness: 6", f"thickness: {thickness}"),
        ("process: laser, kerf: 0.3", f"process: {process}"),
    )
    return platekit.check(platekit.lay_out(platekit.loads(text + more, "plate.yaml")))


def process_of(verdict: Verdict) -> list[Finding]:
    return [finding for finding in verdict.findings if finding.rule == "process"]


@pytest.mark.parametrize("material", ['"304"', "316L", "6082-T6", "cast iron", "brass", "acrylic", "plywood", "HDPE"])
def test_oxygen_cuts_none_but_plain_steel_and_no_acceptance_makes_it(material: str) -> None:
    accepted = "accept:\n  - {rule: process, feature: outline, because: I know}\n"
    verdict = judged(material, "oxy-fuel", 12, accepted)
    (finding,) = process_of(verdict)
    assert finding.level == "stop"
    assert finding.stops
    assert not verdict.clear


def test_aluminium_under_a_plasma_torch_is_warned_of_and_can_be_answered_for() -> None:
    for process, material, told in (
        ("plasma", "6082-T6", True),
        ("plasma", '"5083"', True),
        ("plasma", "mild steel", False),
        ("laser", "6082-T6", False),
        ("waterjet", "6082-T6", False),
    ):
        found = [one for one in judged(material, process, 6).findings if one.rule == "water-table"]
        assert bool(found) is told, (process, material)
    (finding,) = (one for one in judged("6082-T6", "plasma", 6).findings if one.rule == "water-table")
    assert "hydrogen" in finding.message
    assert "dry table" in finding.advice.text
    (remedy,) = finding.others[0].remedies
    assert "water-table" not in {one.rule for one in judged("6082-T6", str(remedy.value), 6).findings}
    accepted = "accept:\n  - {rule: water-table, feature: outline, because: cut on a dry table}\n"
    assert [one.rule for one in judged("6082-T6", "plasma", 6, accepted).accepted] == ["water-table"]
    # the form of a test piece, which does not know its sheet, says it of every plasma cut; the card to whoever cuts
    layout = platekit.lay_out(platekit.loads(changed(("mild steel", "6082-T6"), ("laser, kerf: 0.3", "plasma")), "p"))
    said = sections(layout, operations_of(layout), platekit.check(layout))
    assert any("water-table" in line for _, lines in said for line, _ in lines)


@pytest.mark.parametrize("material", ["plywood", "MDF", "acrylic", "HDPE", "polycarbonate", "acetal"])
def test_the_arc_needs_a_metal(material: str) -> None:
    (finding,) = process_of(judged(material, "plasma", 6))
    assert finding.level == "stop"
    assert "conducts" in finding.message


@pytest.mark.parametrize(
    ("material", "process", "thickness", "level"),
    [
        ("S235", "laser", 45, "stop"),
        ("S235", "laser", 33, "stop"),
        ("S235", "laser", 25, "warn"),
        ("S235", "laser", 10, None),
        ("S235", "oxy-fuel", 301, "stop"),
        ("S235", "oxy-fuel", 2, "warn"),
        ("S235", "oxy-fuel", 20, None),
        ("S235", "plasma", 80, "stop"),
        ("S235", "plasma", 12, None),
        ("S235", "waterjet", 300, "stop"),
        ("S235", "router", 6, "stop"),
        ("6082-T6", "router", 10, None),
        ("6082-T6", "laser", 30, "stop"),
        ("6082-T6", "waterjet", 40, None),
        ("plywood", "router", 18, None),
        ("acrylic", "laser", 8, None),
        ("acrylic", "waterjet", 8, "warn"),
        ("cast iron", "plasma", 10, "warn"),
        ("S235", "drill", 12, None),
        ("S235", "drill", 200, "stop"),
    ],
)
def test_material_and_thickness_against_the_process(
    material: str, process: str, thickness: float, level: str | None
) -> None:
    found = process_of(judged(material, process, thickness))
    assert [finding.level for finding in found] == ([] if level is None else [level])


@pytest.mark.parametrize(("material", "process"), [('"304"', "oxy-fuel"), ("S235", "router"), ("acrylic", "plasma")])
def test_its_advice_ends_it(material: str, process: str) -> None:
    (finding,) = process_of(judged(material, process, 6))
    (remedy,) = finding.remedies
    assert remedy.field == "cutting.process"
    assert not process_of(judged(material, str(remedy.value), 6))


def test_a_stop_for_thickness_can_be_accepted_and_no_time_is_told_for_what_is_not_cut() -> None:
    accepted = "accept:\n  - {rule: process, feature: outline, found: 45 mm, because: the shop has a 40 kW laser}\n"
    (finding,) = process_of(judged("S235", "laser", 45, accepted))
    assert finding.accepted
    text = changed(("material: mild steel", 'material: "304"'), ("process: laser, kerf: 0.3", "process: oxy-fuel"))
    assert platekit.cutting.plan(platekit.lay_out(platekit.loads(text, "plate.yaml"))) is None


def test_a_row_of_the_users_own_machine_goes_before_what_is_usual(tmp_path: Path) -> None:
    (tmp_path / "big.yaml").write_text(
        "platekit_machine: 1\nname: Big laser\nprocess: laser\nunits: mm\n"
        "cuts: [{thickness: 10, kerf: 0.3}, {thickness: 50, kerf: 0.8}]\n",
        "utf-8",
    )
    text = changed(("thickness: 6", "thickness: 40"), ("process: laser, kerf: 0.3", "machine: big.yaml"))
    spec = tmp_path / "plate.yaml"
    spec.write_text(text, "utf-8")
    assert not process_of(platekit.check(platekit.lay_out(platekit.load(spec))))


def test_a_material_of_which_only_figures_are_given_is_said_until_its_family_is_named() -> None:
    def said(material: str) -> list[Finding]:
        return [f for f in judged(material, "laser", 6).findings if "cuts titanium" in f.message]

    assert [finding.rule for finding in said(GIVEN)] == ["not-checked"]
    assert not said(GIVEN.replace("}", ", family: stainless steel}"))
    named = GIVEN.replace("}", ", family: stainless steel}")
    assert process_of(judged(named, "oxy-fuel", 6))


@pytest.mark.parametrize(
    ("cutting", "told"),
    [
        ("process: plasma, direction: counter-clockwise", 1),
        ("process: plasma, direction: clockwise", 0),
        ("process: laser, direction: counter-clockwise", 0),  # no swirl, no leaning side
        ("process: plasma", 0),
    ],
)
def test_which_side_of_a_plasma_cut_leans_is_told(cutting: str, told: int) -> None:
    text = changed(("process: laser, kerf: 0.3", cutting))
    found = platekit.check(platekit.lay_out(platekit.loads(text, "plate.yaml"))).findings
    assert len([one for one in found if one.rule == "taper" and one.level == "note"]) == told


def test_a_drill_press_is_told_to_follow_no_drawing() -> None:
    told = [one for one in judged("mild steel", "drill", 6).findings if one.rule == "no-table"]
    assert [one.level for one in told] == ["note"]
    assert "must be cut out by hand" in told[0].message
    assert not [one for one in judged("mild steel", "laser", 6).findings if one.rule == "no-table"]


@pytest.mark.parametrize(
    ("name", "process", "stops"), [("PVC", "laser", 1), ("PVC u", "plasma", 1), ("PVC", "router", 0)]
)
def test_what_burns_to_poison_is_not_burnt(name: str, process: str, stops: int) -> None:
    own = f"material: {{name: {name}, family: acrylic, density: 1400 kg/m3, modulus: 3000 MPa, yield_strength: 60 MPa}}"
    text = changed(("material: mild steel", own), ("process: laser, kerf: 0.3", f"process: {process}"))
    found = platekit.check(platekit.lay_out(platekit.loads(text, "plate.yaml"))).findings
    assert sum("hydrogen chloride" in one.message and one.level == "stop" for one in found) == stops

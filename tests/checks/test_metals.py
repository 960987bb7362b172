"""Plates of metals that spoil tools, threads or the parts beside them."""

from __future__ import annotations

import pytest

import platekit
from platekit.checks import Finding
from platekit.spec import with_value
from tests.checks.plates import changed

QUENCHED = "{family: steel, density: 7850 kg/m3, modulus: 210 GPa, yield_strength: YIELD MPa}"
DRILLED = ("depth: 16, washer: true}", "depth: 16, washer: true, made: drill}")
MOTOR_BOLTS = "bolts: {size: M6, into: part, depth: 12, thread_in: steel, washer: true}"
TAPPED = (MOTOR_BOLTS, "bolts: {size: M6, into: plate, flange: 8, washer: true}")


def told(rule: str, *swaps: tuple[str, str]) -> list[Finding]:
    found = platekit.check(platekit.lay_out(platekit.loads(changed(*swaps), "plate.yaml"))).findings
    return [finding for finding in found if finding.rule == rule]


@pytest.mark.parametrize(("strength", "hard"), [("355", False), ("690", False), ("960", True), ("1100", True)])
def test_drills_do_not_go_into_quenched_plate(strength: str, hard: bool) -> None:
    plate = ("mild steel", QUENCHED.replace("YIELD", strength))
    found = told("hard-plate", plate, DRILLED)
    assert bool(found) is hard
    for one in found:
        assert "machine.1" in one.features
        assert (one.found, one.needed) == (float(strength), 900.0)
    # holes that the table cuts to size ask for no drill
    assert all("machine.1" not in one.features for one in told("hard-plate", plate))


def test_plain_steel_ends_it() -> None:
    text = changed(("mild steel", QUENCHED.replace("YIELD", "1000")), DRILLED)
    (finding,) = [
        f for f in platekit.check(platekit.lay_out(platekit.loads(text, "p"))).findings if f.rule == "hard-plate"
    ]
    (remedy,) = finding.remedies
    after = platekit.check(platekit.lay_out(platekit.loads(with_value(text, remedy.field, remedy.value), "p")))
    assert not [one for one in after.findings if one.rule == "hard-plate"]


@pytest.mark.parametrize(("material", "galls"), [("304", True), ("mild steel", False), ("6082-T6", False)])
def test_stainless_screws_seize_in_stainless_threads(material: str, galls: bool) -> None:
    plate = ("mild steel", f'"{material}"')
    assert bool(told("galling", plate, TAPPED)) is galls
    assert not told("galling", plate)


@pytest.mark.parametrize(
    ("material", "eaten"), [("6082-T6", "6082-T6 is eaten"), ("316", "cast iron and steel is eaten"), ("S355", None)]
)
def test_two_metals_that_get_wet_are_told(material: str, eaten: str | None) -> None:
    iron = (
        "bolts: {size: M8, into: part, depth: 16,",
        "bolts: {size: M8, into: part, depth: 16, thread_in: cast iron,",
    )
    found = told("galvanic", ("mild steel", f'"{material}"'), iron)
    assert [eaten in one.message for one in found if eaten] == [True] * bool(eaten)
    assert bool(found) is bool(eaten)


@pytest.mark.parametrize(("process", "burns"), [("laser", True), ("plasma", True), ("waterjet", False)])
def test_zinc_burns_off_galvanised_plate_that_is_cut_hot(process: str, burns: bool) -> None:
    cut = ("process: laser", f"process: {process}")
    assert bool(told("fume", ("mild steel", "galvanised steel"), cut)) is burns
    assert not told("fume", cut)


def test_a_part_of_aluminium_goes_with_a_plate_of_it() -> None:
    both = (MOTOR_BOLTS, MOTOR_BOLTS.replace("thread_in: steel", "thread_in: aluminium"))
    assert not told("galvanic", ("mild steel", "6082-T6"), both)

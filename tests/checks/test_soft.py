"""Plates of plastic and wood under their screws."""

from __future__ import annotations

import pytest

import platekit
from platekit.checks import Finding
from tests.checks.plates import changed

ROUTER = ("process: laser, kerf: 0.3", "process: router")


def told(*swaps: tuple[str, str]) -> list[Finding]:
    found = platekit.check(platekit.lay_out(platekit.loads(changed(ROUTER, *swaps), "plate.yaml"))).findings
    return [finding for finding in found if finding.rule == "soft-plate"]


@pytest.mark.parametrize(
    ("material", "count"), [("MDF", 2), ("HDPE", 2), ("6082-T6", 0), ("brass", 0), ("mild steel", 0)]
)
def test_a_screw_tightened_as_in_steel_crushes_what_is_soft(material: str, count: int) -> None:
    assert len(told(("mild steel", material))) == count


def test_the_pressure_is_preload_over_washer() -> None:
    first, _ = told(("mild steel", "MDF"))
    # M8 of class 8.8: 0.75 x 580 N/mm2 x 36.6 mm2 = 15.9 kN (ISO 898-1), on a washer of 16 mm over a hole of 9
    assert first.found == pytest.approx(0.75 * 580 * 36.6 / (3.14159265 / 4 * (16**2 - 9**2)), rel=0.01)
    assert first.needed == 20


BARE = ("bolts: {size: M8, into: part, depth: 16, washer: true}", "bolts: {size: M8, into: part, depth: 16}")


@pytest.mark.parametrize(
    ("material", "gives"), [("5754-H111", True), ('"5083"', True), ("7075-T6", False), ("MDF", True)]
)
def test_a_bare_head_presses_harder_than_one_on_a_washer(material: str, gives: bool) -> None:
    # the 15.9 kN of an M8 as above, on a head's face of 11.63 mm (ISO 4014) over a hole of 9 mm: 373 N/mm2; 1.4 times a
    # yield of 80, 125 and 430 N/mm2 are 112, 175 and 602
    found = [one for one in told(("mild steel", material), BARE) if one.message.startswith("machine")]
    assert bool(found) is gives
    for one in found:
        assert one.found == pytest.approx(0.75 * 580 * 36.6 / (3.14159265 / 4 * (11.63**2 - 9**2)), rel=0.03)


def test_a_washer_is_advised_where_it_is_enough() -> None:
    (found,) = [one for one in told(("mild steel", '"5083"'), BARE) if one.message.startswith("machine")]
    assert found.needed == pytest.approx(1.4 * 125)
    assert {one.field: one.value for one in found.remedies} == {"mounts.machine.screws.washer": True}
    assert not told(("mild steel", '"5083"'))


def test_threads_in_wood_are_told() -> None:
    bolts = "bolts: {size: M6, into: part, depth: 12, thread_in: steel, washer: true}"
    tapped = (bolts, "bolts: {size: M6, into: plate, flange: 8, washer: true}")
    assert "hold little" in told(("mild steel", "MDF"), tapped)[-1].message


@pytest.mark.parametrize(
    ("material", "hot"), [("acrylic", True), ("MDF", True), ("acetal", False), ("mild steel", False)]
)
def test_a_motor_is_too_hot_for_what_softens_or_burns(material: str, hot: bool) -> None:
    face = ("pattern: {rectangle: {width: 90, height: 60}}", "pattern: {standard: IEC 71 B14}")
    found = [one for one in told(("mild steel", material), face) if one.unit == "degC"]
    assert bool(found) is hot
    # on spacers it has air in between
    assert not [
        one
        for one in told(("mild steel", material), face, ("at: [170, 0]", "at: [170, 0]\n    standoff: 12"))
        if one.unit == "degC"
    ]


@pytest.mark.parametrize(("material", "creeps"), [("acetal", True), ("mild steel", False), ("6082-T6", False)])
def test_spacers_of_plastic_creep(material: str, creeps: bool) -> None:
    on = f"at: [170, 0]\n    standoff: 30\n    spacers: {{from: bar, material: {material}}}"
    found = told(("at: [170, 0]", on), ("depth: 12", "depth: 14"))
    assert ["creep" in one.message for one in found] == [True] * creeps

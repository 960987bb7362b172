"""Masses that a part cannot have, and middles that are not in it."""

from __future__ import annotations

import pytest

import platekit
from platekit.checks import Finding
from platekit.errors import SpecError
from tests.adversary.runs import without
from tests.adversary.sound_plates import ROLLER
from tests.checks.carried import carrying
from tests.checks.plates import changed


def told(mass: str) -> list[Finding]:
    text = ROLLER.replace("    standoff: 4\n", f"    standoff: 4\n    mass: {mass}\n")
    with without("strength"):
        found = platekit.check(platekit.lay_out(platekit.loads(text, "plate.yaml"))).findings
    return [finding for finding in found if finding.rule == "mass"]


@pytest.mark.parametrize(
    ("total", "odd"),
    # motors of IEC 90 weigh 11.9 to 17.5 kg by the table: 0.6 and 3 times that are 7.1 and 52.5
    [("7 kg", True), ("7.5 kg", False), ("26 kg", False), ("52 kg", False), ("53 kg", True), ("frame", False)],
)
def test_a_motor_weighs_about_what_its_frame_weighs(total: str, odd: bool) -> None:
    assert bool(told(f"{{total: {total}, centre: [0, 0, 120]}}")) is odd


@pytest.mark.parametrize(("height", "odd"), [(-120, True), (-4, False), (140, False), (274, False), (290, True)])
def test_the_middle_of_a_mass_is_in_its_part(height: float, odd: bool) -> None:
    found = told(f"{{total: 16 kg, centre: [0, 0, {height}]}}")  # its body reaches from 10 to 270 mm
    assert bool(found) is odd
    assert all("reach from 0 mm to 270 mm" in one.message for one in found)


def test_no_more_turns_than_there_is() -> None:
    with pytest.raises(SpecError, match="30 kg that turn in a part of 16 kg"):
        told("{total: 16 kg, centre: [0, 0, 120], turning: 30 kg}")


def test_a_mass_on_the_other_side_of_the_plate_is_told_without_any_body() -> None:
    behind = carrying("6 kg", -110, 8)
    found = platekit.check(platekit.lay_out(platekit.loads(behind, "plate.yaml"))).findings
    assert [one.features[0] for one in found if one.rule == "mass"] == ["motor"]
    assert not [
        one
        for one in platekit.check(platekit.lay_out(platekit.loads(carrying("6 kg", 110, 8), "plate.yaml"))).findings
        if one.rule == "mass"
    ]


@pytest.mark.parametrize(("thickness", "heavy"), [(20, False), (30, True)])
def test_more_than_one_person_lifts_is_said(thickness: int, heavy: bool) -> None:
    # 420 x 260 mm, less some 8000 mm2 of openings, at 7.85 g/cm3: 16 and 24 kg; 620 mm wide: 24 and 36 kg
    text = changed(("thickness: 6", f"thickness: {thickness}"), ("width: 420", "width: 620"))
    found = [
        one
        for one in platekit.check(platekit.lay_out(platekit.loads(text, "plate.yaml"))).findings
        if one.rule == "heavy"
    ]
    assert [one.level for one in found] == ["note"] * heavy

"""What is left of a pulley round its shaft, and pulleys whose parts do not go together."""

from __future__ import annotations

import pytest

import platekit
from platekit.checks import Finding
from platekit.errors import SpecError
from tests.checks.drives import TOOTHED, changed

SHAFT, DRIVER = "shape: {circle: {diameter: 16}}", "pitch_diameter: 71, span: [-50, -30]"


def told(text: str) -> list[Finding]:
    found = platekit.check(platekit.lay_out(platekit.loads(text, "plate.yaml"))).findings
    return [finding for finding in found if finding.rule == "bore"]


def test_a_shaft_may_fill_a_pulley_up_to_the_steel_over_its_keyway() -> None:
    # section A: 71 - 2 x 8.7 = 53.6 at the bottom of the groove (ISO 4183). A shaft of 40 has a keyway 3.3 deep in the
    # hub (ISO/R 773): 6.8 - 3.3 = 3.5, and 4 is wanted. One of 38 has 7.8 - 3.3 = 4.5.
    assert not told(changed((SHAFT, "shape: {circle: {diameter: 38}}")))
    (thick,) = told(changed((SHAFT, "shape: {circle: {diameter: 40}}")))
    assert (thick.level, thick.found, thick.needed) == ("warn", pytest.approx(3.5), pytest.approx(4.0))
    (none,) = told(changed((SHAFT, "shape: {circle: {diameter: 54}}")))
    assert none.level == "stop"
    assert "nothing of it" in none.message


def test_the_teeth_of_a_toothed_pulley_count_as_its_steel() -> None:
    assert not told(TOOTHED)
    # 12 teeth of 9.525 mm: 36.4 mm at the pitch, 0.76 mm less outside
    (found,) = told(TOOTHED.replace("teeth: 22", "teeth: 12").replace(SHAFT, "shape: {circle: {diameter: 34}}"))
    assert found.level == "warn"


def test_the_pulley_that_is_advised_is_large_enough() -> None:
    text = changed((SHAFT, "shape: {circle: {diameter: 54}}"))
    (found,) = told(text)
    wanted = float(found.advice.text.split("use ")[1].split(" mm")[0])
    assert not told(text.replace("pitch_diameter: 71", f"pitch_diameter: {wanted}"))


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ("flange_diameter: 60", "drive.driver.flange_diameter"),
        ("hub: {diameter: 40, span: [-20, -10]}", "drive.driver.hub.span"),
        ("hub: {diameter: 40, span: [-70, -52]}", "drive.driver.hub.span"),
    ],
)
def test_a_pulley_is_one_piece(more: str, field: str) -> None:
    with pytest.raises(SpecError) as error:
        platekit.lay_out(platekit.loads(changed((DRIVER, f"{DRIVER}, {more}")), "plate.yaml"))
    assert error.value.problems[0].field == field


def test_a_hub_beside_its_rim_and_flanges_past_it_are_taken() -> None:
    for more in ("hub: {diameter: 40, span: [-30, -20]}", "flange_diameter: 80"):
        platekit.lay_out(platekit.loads(changed((DRIVER, f"{DRIVER}, {more}")), "plate.yaml"))

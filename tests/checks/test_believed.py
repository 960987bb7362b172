"""Figures that are taken on trust: top speeds, ranges, shaft loads, service factors; and loads that hang by a belt."""

from __future__ import annotations

import pytest

import platekit
from platekit.checks import Finding
from tests.adversary.sound_plates import ROLLER
from tests.checks.drives import changed

INVERTER = "inverter: {from: 15 Hz, to: 90 Hz}"


def told(text: str, rule: str) -> list[Finding]:
    return [f for f in platekit.check(platekit.lay_out(platekit.loads(text, "plate.yaml"))).findings if f.rule == rule]


@pytest.mark.parametrize(
    ("old", "good", "bad", "said"),
    [
        # four poles at 60 Hz: the field turns at 120 x 60 / 4 = 1800 rpm, four times that is 7200
        ("max_speed: 3600 rpm", "max_speed: 7200 rpm", "max_speed: 7300 rpm", "1800 rpm"),
        ("max_speed: 3600 rpm", "constant_power_to: 3", "constant_power_to: 3.5", "breakdown torque"),
        (INVERTER, f"service_factor: 1\n  {INVERTER}", f"service_factor: 0.9\n  {INVERTER}", "than its motor gives"),
        # a crusher's printed factor is 1.4; 1.4 / 1.5 = 0.93
        (
            INVERTER,
            f"machine: crusher\n  service_factor: 0.95\n  {INVERTER}",
            f"machine: crusher\n  service_factor: 0.9\n  {INVERTER}",
            "that of a crusher is 1.4",
        ),
    ],
)
def test_a_figure_that_no_motor_or_belt_stands_for_is_told(old: str, good: str, bad: str, said: str) -> None:
    assert not told(changed((old, good)), "overrated")
    (found,) = told(changed((old, bad)), "overrated")
    assert found.level == "warn"
    assert said in found.message


def test_a_load_that_would_bend_the_shaft_is_no_data_sheets() -> None:
    # IEC 90: 24 mm thick, 50 mm long: F x 25 over pi 24^3 / 32 is 340 N/mm2 (C45) at 18.5 kN
    top = "max_speed: 3000 rpm"
    assert not told(ROLLER.replace(top, f"{top}, shaft_load: 18 kN"), "overrated")
    (found,) = told(ROLLER.replace(top, f"{top}, shaft_load: 19 kN"), "overrated")
    assert found.needed == pytest.approx(340 * 3.14159265 * 24**3 / 32 / 25, rel=1e-6)


def test_a_load_that_hangs_by_a_belt_is_told_and_one_that_does_not_is_not() -> None:
    for machine, hangs in (("crane", True), ("bucket elevator", True), ("mill", False)):
        found = told(changed((INVERTER, f"machine: {machine}\n  {INVERTER}")), "lifting")
        assert bool(found) is hangs
    assert not told(changed(), "lifting")


def test_a_tool_without_a_marked_speed_is_asked_for_where_even_cast_iron_may_not_run_so_fast() -> None:
    # 90 Hz: 2610 rpm x 71 / 250 = 741 rpm; 33 m/s there is 0.85 m across
    wanted = "from: 120 rpm, to: 700 rpm, torque: 3 Nm"
    assert not told(changed((wanted, f"{wanted}, tool_diameter: 800")), "speed-limit")
    (found,) = told(changed((wanted, f"{wanted}, tool_diameter: 900")), "speed-limit")
    assert "tool_max_speed" in found.advice.text
    assert not told(changed((wanted, f"{wanted}, tool_diameter: 900, tool_max_speed: 1000 rpm")), "speed-limit")


@pytest.mark.parametrize(
    ("current", "odd"),
    # 250 W: rating plates say about 0.7 A at 400 V of three phases and 2.5 A at 230 V of one
    [("0.7 A", False), ("2.5 A", False), ("0.07 A", True), ("70 A", True)],
)
def test_a_current_that_no_motor_of_that_power_draws_is_told(current: str, odd: bool) -> None:
    found = told(changed(("motor: {power", f"motor: {{current: {current}, power")), "overrated")
    assert bool(found) is odd
    assert all("protection would be set wrong" in one.message for one in found)


@pytest.mark.parametrize(("efficiency", "odd"), [("1", True), ("0.98", False), ("0.9", False), ("0.02", True)])
def test_an_efficiency_that_no_belt_has_is_told(efficiency: str, odd: bool) -> None:
    text = changed((INVERTER, f"efficiency: {efficiency}\n  {INVERTER}"), (", torque: 3 Nm", ""))
    assert bool(told(text, "overrated")) is odd

"""Speed and frequency that are no one motor's, power in the wrong frame, thin plates, narrow rims.

Speeds and powers of sound motors are such as stand on motors' plates (common practice); frames and powers after
EN 50347 (common practice).
"""

from __future__ import annotations

import pytest

import platekit
from platekit.checks import Finding
from platekit.drive.motors import InductionMotor
from platekit.errors import DriveError
from platekit.spec import with_value
from tests.checks import plates
from tests.checks.drives import changed

MOTOR = "motor: {power: 0.25 kW, speed: 1740 rpm, frequency: 60 Hz, max_speed: 3600 rpm}"
WANTED = "      wanted: {at: driven, from: 120 rpm, to: 700 rpm, torque: 3 Nm}\n".replace("      ", "  ")
PATTERN = "pattern: {rectangle: {width: 120, height: 120}}"


def found(text: str, rule: str) -> list[Finding]:
    verdict = platekit.check(platekit.lay_out(platekit.loads(text, "plate.yaml")))
    return [finding for finding in verdict.findings if finding.rule == rule]


def with_motor(power: str, speed: float, frequency: float) -> str:
    motor = f"motor: {{power: {power}, speed: {speed:g} rpm, frequency: {frequency:g} Hz, max_speed: 6000 rpm}}"
    return changed((MOTOR, motor), (WANTED, ""))


@pytest.mark.parametrize(
    ("power", "speed", "typed", "true"),
    [
        ("0.75 kW", 1390, 60, 50),
        ("1.1 kW", 1420, 60, 50),
        ("4 kW", 1440, 60, 50),
        ("1.5 kW", 2860, 60, 50),
        ("0.55 kW", 920, 60, 50),
        ("7.5 kW", 1460, 60, 50),
        ("30 kW", 1470, 60, 50),
        ("0.75 kW", 1150, 50, 60),
        ("1.5 kW", 1160, 50, 60),
        ("1.1 kW", 860, 50, 60),
    ],
)
def test_a_speed_of_the_other_mains_is_told_with_both_readings(
    power: str, speed: float, typed: float, true: float
) -> None:
    text = with_motor(power, speed, typed)
    (finding,) = found(text, "motor-speed")
    assert finding.level == "stop"
    assert f"at {typed} Hz" in finding.message
    assert f"at {true} Hz" in finding.message
    assert "poles" in finding.message
    for remedy in finding.remedies:
        text = with_value(text, remedy.field, remedy.value)
    assert not found(text, "motor-speed")


@pytest.mark.parametrize(
    ("power", "speed", "frequency"),
    [
        ("0.06 kW", 1320, 50),
        ("0.09 kW", 2740, 50),
        ("0.12 kW", 840, 50),
        ("0.25 kW", 1350, 50),
        ("0.37 kW", 1370, 50),
        ("0.55 kW", 910, 50),
        ("0.75 kW", 1395, 50),
        ("1.1 kW", 2845, 50),
        ("2.2 kW", 940, 50),
        ("5.5 kW", 1455, 50),
        ("15 kW", 1470, 50),
        ("75 kW", 1487, 50),
        ("1/3 hp", 1725, 60),
        ("0.5 hp", 1140, 60),
        ("1 hp", 3450, 60),
        ("2 hp", 1745, 60),
        ("5 hp", 1160, 60),
        ("20 hp", 1765, 60),
        ("0.75 kW", 865, 60),
    ],
)
def test_a_motor_as_it_is_sold_is_one(power: str, speed: float, frequency: float) -> None:
    power = power.replace("1/3", "0.333")
    assert not found(with_motor(power, speed, frequency), "motor-speed")


def test_the_speed_of_the_field_is_not_that_of_a_loaded_motor() -> None:
    (finding,) = found(with_motor("1.5 kW", 1500, 50), "motor-speed")
    assert finding.level == "warn"
    assert "field" in finding.message


@pytest.mark.parametrize(("speed", "typed", "true"), [(1740, 50, 60), (3450, 50, 60), (1340, 60, 50)])
def test_a_speed_that_no_motor_has_is_refused_with_the_other_reading(speed: float, typed: float, true: float) -> None:
    with pytest.raises(DriveError, match=f"it would be one of {true} Hz with"):
        InductionMotor(750.0, speed, typed)


def test_no_pulley_is_advised_for_a_wrong_speed() -> None:
    text = changed(
        (MOTOR, MOTOR.replace("1740", "1420")), ("from: 120 rpm, to: 700 rpm", "from: 240 rpm, to: 1400 rpm")
    )
    assert found(text, "motor-speed")
    advised = [finding for rule in ("wanted-speed", "torque-short") for finding in found(text, rule)]
    assert advised
    for finding in advised:
        assert not finding.remedies
        assert "motor-speed" in finding.advice.text


@pytest.mark.parametrize(
    ("frame", "power", "level"),
    [
        ("IEC 80 B14", "1000 kW", "stop"),
        ("IEC 90 B14", "7.5 kW", "stop"),
        ("IEC 71 B14", "4 hp", "stop"),
        ("NEMA 56C", "15 kW", "stop"),
        ("IEC 90 B14", "3 kW", "warn"),
        ("IEC 112 B14", "0.25 kW", "warn"),
        ("IEC 80 B14", "0.75 kW", None),
        ("IEC 80 B14", "1.1 kW", None),
        ("IEC 90 B14", "2.2 kW", None),
        ("IEC 112 B14", "4 kW", None),
        ("FT165", "5.5 kW", None),
        ("NEMA 56C", "1.5 hp", None),
        ("NEMA 143TC", "1 hp", None),
    ],
)
def test_a_power_belongs_in_its_frame(frame: str, power: str, level: str | None) -> None:
    text = with_motor(power, 1420, 50).replace(PATTERN, f"pattern: {{standard: {frame}}}")
    text = text.replace("size: M8, into: part, depth: 16, thread_in: steel", "into: part, depth: 14, thread_in: steel")
    if frame == "FT165":
        text = text.replace("motor shaft", "spindle")
    assert [finding.level for finding in found(text, "motor-power")] == ([level] if level else [])


@pytest.mark.parametrize(
    ("frame", "thickness", "material", "level"),
    [
        ("IEC 90 B14", 2, "mild steel", "stop"),
        ("IEC 112 B14", 4, "mild steel", "stop"),
        ("IEC 90 B14", 4, "mild steel", "warn"),
        ("IEC 90 B14", 6, "6082-T6", "warn"),
        ("IEC 90 B14", 6, "mild steel", None),
        ("IEC 90 B14", 10, "6082-T6", None),
        ("NEMA 17", 2, "mild steel", None),
        ("IEC 63 B14", 4, "mild steel", None),
    ],
)
def test_a_plate_is_no_sheet(frame: str, thickness: float, material: str, level: str | None) -> None:
    text = plates.changed(
        ("thickness: 6", f"thickness: {thickness}"),
        ("material: mild steel", f"material: {material}"),
        ("pattern: {rectangle: {width: 90, height: 60}}", f"pattern: {{standard: {frame}}}"),
        ("size: M6, into: part, depth: 12", "into: part, depth: 12"),
        ("    shape: {rectangle: {width: 100, height: 80, corner: 4}}", "    shape: {circle: {diameter: 60}}"),
    )
    findings = found(text, "thin-plate")
    assert [finding.level for finding in findings] == ([level] if level else [])
    for finding in findings:
        assert "not checked" in finding.message
        for remedy in finding.remedies:
            text = with_value(text, remedy.field, remedy.value)
        assert not found(text, "thin-plate")


@pytest.mark.parametrize(("span", "narrow"), [("[-50, -48]", True), ("[-50, -40]", True), ("[-50, -34]", False)])
def test_a_belt_fits_on_its_rim(span: str, narrow: bool) -> None:
    text = changed(("span: [-50, -30]", f"span: {span}"))
    findings = found(text, "rim-width")
    assert bool(findings) is narrow
    for finding in findings:
        assert finding.level == "stop"
        for remedy in finding.remedies:
            text = with_value(text, remedy.field, remedy.value)
        assert not found(text, "rim-width")


@pytest.mark.parametrize(("power", "level"), [("750 kW", "stop"), ("75 kW", "stop"), ("0.25 kW", None), ("4 kW", None)])
def test_a_power_belongs_to_holes_so_far_apart_where_no_frame_is_named(power: str, level: str | None) -> None:
    assert [f.level for f in found(with_motor(power, 1440, 50), "motor-power")] == ([level] if level else [])


def test_a_frequency_with_a_slipped_point_is_told() -> None:
    (finding,) = found(with_motor("1.1 kW", 1420, 500), "motor-speed")
    assert finding.level == "stop"
    assert "poles" in finding.message

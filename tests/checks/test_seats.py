"""How parts sit: pads under washers, pilots deeper than the plate, pulleys and belts off its face."""

from __future__ import annotations

from pathlib import Path

import pytest

import platekit
from platekit.checks import Finding
from platekit.errors import SpecError
from platekit.spec import with_value

SPECS = Path(__file__).parents[2] / "specs"

PLATE = """\
platekit: 1
title: Parts and their seats
units: mm
plate: {{material: mild steel, thickness: {thickness}, outline: {{rectangle: {{width: 500, height: 400}}}}}}
mounts:
  machine:
    side: far
    looking_at: {looking}
    pattern: {{rectangle: {{width: 160, height: 160}}}}
    bolts: {{size: M8, into: part, depth: 20, washer: true}}
    turn: 30 deg
    {machine}
  motor:
    side: near
    looking_at: face
    pattern: {{rectangle: {{width: 100, height: 100}}}}
    bolts: {{size: M6, into: part, depth: 16, washer: true}}
    {motor}
"""


def plate(machine: str = "at: [0, 0]", motor: str = "at: [0, 0]", thickness: float = 10, looking: str = "face") -> str:
    return PLATE.format(machine=machine, motor=motor, thickness=thickness, looking=looking)


def found(text: str, rule: str) -> list[Finding]:
    return [
        one for one in platekit.check(platekit.lay_out(platekit.loads(text, "p.yaml"))).findings if one.rule == rule
    ]


# --------------------------------------------------------------------------------------------- pads


@pytest.mark.parametrize(
    ("shape", "level"),
    [
        # a washer on M8 is 16 across, its hole 9
        ("{circle: {diameter: 16}}", None),
        ("{circle: {diameter: 15.9}}", "warn"),
        ("{circle: {diameter: 9}}", "warn"),
        ("{circle: {diameter: 8.9}}", "stop"),
        ("{rectangle: {width: 16, height: 30}}", None),
        ("{rectangle: {width: 30, height: 30}, at: [7, 0]}", None),
        ("{rectangle: {width: 30, height: 30}, at: [7.1, 0]}", "warn"),
    ],
)
def test_washers_sit_within_the_measured_pad(shape: str, level: str | None) -> None:
    findings = found(plate(machine=f"pad: {shape}"), "pad")
    assert [one.level for one in findings] == ([] if level is None else [level])


def test_a_lopsided_pad_must_say_how_it_was_looked_at() -> None:
    text = plate(machine="pad: {circle: {diameter: 20}, at: [1, 0]}").replace("    looking_at: face\n", "", 1)
    with pytest.raises(SpecError, match="pad"):
        platekit.lay_out(platekit.loads(text, "p.yaml"))


# --------------------------------------------------------------------------------------------- depth


def test_a_pilot_deeper_than_the_plate_meets_the_part_behind_and_spacers_keep_it_off() -> None:
    deep = plate(motor="pilot: {diameter: 60, depth: 4}", thickness=3)
    (finding,) = found(deep, "depth")
    assert finding.found == pytest.approx(1.0)
    assert finding.features == ("motor.spigot", "machine")
    (remedy,) = finding.remedies
    assert not found(with_value(deep, remedy.field, remedy.value), "depth")
    assert not found(plate(motor="pilot: {diameter: 60, depth: 4}", thickness=4), "depth")
    assert not found(plate(motor="pilot: {diameter: 60, depth: 4}\n    at: [0, 300]", thickness=3), "depth")


# --------------------------------------------------------------------------------------------- rubbing


def test_pulleys_keep_off_the_plate_and_the_advice_moves_both() -> None:
    text = (SPECS / "dough-mixer.yaml").read_text("utf-8")
    layout = platekit.lay_out(platekit.loads(text, "dough-mixer.yaml"))
    assert not [one for one in platekit.check(layout).findings if one.rule == "rub"]
    (belt,) = layout.belts
    near, drive = text, layout.spec.model.drive
    assert drive is not None
    for pulley in belt.pulleys:
        end = layout.plate_z[0] - pulley.z[1]
        span = (drive.driver if pulley is belt.driver else drive.driven).span
        assert isinstance(span, tuple)
        by = (end - 1) if pulley.side == "near" else -(end - 1)
        near = with_value(near, f"{pulley.field}.span", [round(x + by, 3) for x in span])
    (finding,) = found(near, "rub")
    assert finding.level == "stop"
    assert finding.found == pytest.approx(1.0, abs=0.01)
    for remedy in finding.remedies:
        near = with_value(near, remedy.field, remedy.value)
    assert not found(near, "rub")


def test_a_spigot_that_spacers_keep_out_of_the_plate_locates_nothing() -> None:
    off = plate(motor="pilot: {diameter: 60, depth: 4}\n    standoff: 20")
    (finding,) = found(off, "depth")
    assert (finding.level, finding.found) == ("warn", -16)
    (remedy,) = finding.advice.remedies
    assert not found(with_value(off, remedy.field, remedy.value), "depth")
    assert not found(plate(motor="pilot: {diameter: 60, depth: 4}\n    standoff: 3"), "depth")

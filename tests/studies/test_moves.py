"""Moves that no rule thinks of: a motor turned where it sits, so that its slots lie beside each other."""

from __future__ import annotations

import pytest

from platekit.checks import check
from platekit.layout import lay_out
from platekit.spec import loads
from platekit.spec.editing import with_value
from platekit.studies.advised import judge

SLOW = """\
platekit: 1
title: Flax breaker
units: mm
plate: {material: mild steel, thickness: 10}
mounts:
  machine:
    side: far
    looking_at: face
    pattern: {circle: {count: 4, diameter: 140, start: 45 deg}}
    screws: {size: M10, into: part, depth: 22}
  motor:
    side: far
    pattern: {standard: IEC 80 B14}
    at: {belt: {from: machine, angle: 90 deg}}
    pilot: {diameter: 80, depth: 3, opening: none}
    standoff: 4
    screws: {into: part, depth: 16, washer: true}
    take_up: {slots: {along: belt, install: auto, tension: auto}}
bodies:
  machine shaft: {carried_by: machine, shape: {circle: {diameter: 30}}, span: [-75, 0], relief: auto}
drive:
  motor: {power: 0.75 kW, speed: 1400 rpm, frequency: 50 Hz}
  belt: {section: SPZ, choose: true, near: 300}
  driver: {on: motor, pitch_diameter: 80, span: [-44, -24]}
  driven: {on: machine, pitch_diameter: 300, span: [-40, -20]}
cutting: {process: laser}
"""
"""The travel of this belt is as long as the holes of the motor's small face are apart."""


@pytest.mark.parametrize(("thickness", "edits"), [(8, 1), (10, 2)])
def test_slots_that_run_into_each_other_are_parted_by_a_turn(thickness: int, edits: int) -> None:
    text = with_value(SLOW, "plate.thickness", thickness)
    overlaps = [one for one in judge(lay_out(loads(text, "flax.yaml"))).open("stop") if one.rule == "overlap"]
    assert len(overlaps) == 2
    for one in overlaps:
        assert one.advice.tried, one.advice.text
        assert [edit.field for edit in one.remedies] == ["mounts.motor.turn", "plate.thickness"][:edits]
        after = text
        for edit in one.remedies:
            after = with_value(after, edit.field, edit.value)
        left = check(lay_out(loads(after, "flax.yaml"))).open("stop")
        assert {found.rule for found in left}.isdisjoint({"overlap", "web"})


def test_where_no_turn_helps_a_stock_drive_with_shorter_slots_is_offered() -> None:
    # 7 to 1: the driven pulley is as large as it gets, and the travel longer than any turn makes room for
    text = with_value(SLOW, "drive.driven.pitch_diameter", 560)
    text = with_value(with_value(text, "drive.belt.near", 450), "limits", {"web": 10})
    found = next(one for one in judge(lay_out(loads(text, "flax.yaml"))).open("stop") if one.rule in ("overlap", "web"))
    assert found.advice.tried
    after = text
    for edit in found.remedies:
        after = with_value(after, edit.field, edit.value)
    assert "teeth" in after  # a toothed belt needs the least travel of all
    left = check(lay_out(loads(after, "flax.yaml"))).open("stop")
    assert {one.rule for one in left}.isdisjoint({"overlap", "web"})


def test_where_nothing_helps_the_advice_says_what_else_a_shop_does() -> None:
    # more steel between the slots than the motor's face has
    text = with_value(SLOW, "drive.driven.pitch_diameter", 560)
    text = with_value(with_value(text, "drive.belt.near", 450), "limits", {"web": 60})
    found = next(one for one in judge(lay_out(loads(text, "flax.yaml"))).open("stop") if one.rule in ("overlap", "web"))
    assert not found.remedies
    assert "smaller driven pulley" in found.advice.text
    assert "larger face" in found.advice.text

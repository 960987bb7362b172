"""Keys that got a better name: the older one is read, pointed at, edited and marked as ever."""

from __future__ import annotations

from typing import Any

import pytest

from platekit import lay_out, loads
from platekit.errors import SpecError
from platekit.spec.editing import with_value, without_value
from platekit.spec.reading import with_data
from platekit.spec.renamed import RENAMED, by_older_names
from platekit.spec.schema import json_schema

OLDER = """platekit: 1
title: Cider press, motor in place of the crank
units: mm
plate: {material: mild steel, thickness: 8, outline: {disc: {diameter: 240}}}
mounts:
  press:
    side: far
    looking_at: face
    pattern: {circle: {count: 4, diameter: 150, start: 45 deg}}
    bolts: {size: M8, into: part, depth: 20}
  motor:
    side: near
    looking_at: face
    pattern: {rectangle: {width: 60, height: 60}}
    bolts: {size: M6, into: part, depth: 14}
drive:
  motor:
    kind: universal
    loaded: {speed: 9000 rpm, torque: 0.4 Nm}
    light: {speed: 20000 rpm, torque: 0.05 Nm}
  belt: {section: A, pitch_length: 1000}
  driver: {on: motor, pitch_diameter: 80, span: [-40, -20]}
  driven: {on: press, at: [0, 300], pitch_diameter: 200, span: [-40, -20]}
"""
BETTER = OLDER.replace("bolts:", "screws:").replace("{disc:", "{circle:").replace("light:", "no_load:")


def test_a_spec_with_older_keys_means_what_it_meant() -> None:
    older, better = loads(OLDER), loads(BETTER)
    assert older.model == better.model
    assert older.revision == better.revision
    assert older.text == OLDER


def test_every_older_name_is_tried_here() -> None:
    assert [one.older for one in RENAMED if f"{one.older}:" not in OLDER] == []
    assert [one.better for one in RENAMED if f"{one.better}:" not in BETTER] == []


def test_the_mark_is_made_under_the_older_names() -> None:
    meaning = by_older_names(loads(BETTER).model.model_dump(mode="json", by_alias=True))
    assert "bolts" in meaning["mounts"]["press"]
    assert "screws" not in meaning["mounts"]["press"]
    assert meaning["plate"]["outline"]["disc"] == {"diameter": 240.0}
    assert meaning["drive"]["motor"]["light"] == {"speed": 20000.0, "torque": 0.05}
    assert "no_load" not in meaning["drive"]["motor"]


@pytest.mark.parametrize("text", [OLDER, BETTER])
def test_a_problem_calls_a_key_what_the_file_calls_it(text: str) -> None:
    named = "bolts" if text == OLDER else "screws"
    with pytest.raises(SpecError) as failure:
        loads(text.replace("{size: M6", "{size: M6, fit: nromal"))
    (problem,) = failure.value.problems
    assert (problem.field, problem.line) == (f"mounts.motor.{named}.fit", 15)
    assert loads(text).problem("mounts.motor.screws.size", "M6", "M8").field == f"mounts.motor.{named}.size"


@pytest.mark.parametrize("field", ["mounts.motor.screws.fit", "mounts.motor.bolts.fit"])
def test_an_edit_goes_into_the_group_that_is_there(field: str) -> None:
    for text, named in ((OLDER, "bolts"), (BETTER, "screws")):
        changed = with_value(text, field, "loose")
        assert f"{named}: {{size: M6, into: part, depth: 14, fit: loose}}" in changed
        assert changed.count("loose") == 1
        assert (
            loads(changed).model.mounts["motor"].screws
            == with_data(loads(text), [(field, "loose")]).model.mounts["motor"].screws
        )


def test_both_names_of_one_thing_are_a_mistake() -> None:
    twice = OLDER.replace("    bolts: {size: M6", "    screws: {size: M5, into: nut}\n    bolts: {size: M6")
    with pytest.raises(SpecError) as failure:
        loads(twice)
    assert str(failure.value.problems[0]).split("  ")[1] == (
        "mounts.motor.bolts: found `bolts` beside `screws`; keep `screws`; they are two names of one thing"
    )


def test_a_group_shared_by_an_alias_is_renamed_once() -> None:
    shared = OLDER.replace(
        "    bolts: {size: M8, into: part, depth: 20}", "    bolts: &eight {size: M8, into: part, depth: 20}"
    )
    shared = shared.replace("    bolts: {size: M6, into: part, depth: 14}", "    bolts: *eight")
    mounts = loads(shared).model.mounts
    assert mounts["motor"].screws == mounts["press"].screws


def test_a_name_of_ones_own_stays() -> None:
    own = OLDER.replace("  press:", "  bolts:").replace("on: press", "on: bolts")
    assert list(loads(own).model.mounts) == ["bolts", "motor"]


def test_the_layout_is_the_same() -> None:
    assert lay_out(loads(OLDER)).outline == lay_out(loads(BETTER)).outline


def test_the_schema_knows_both_and_calls_the_older_one_deprecated() -> None:
    def keys(schema: Any) -> list[tuple[str, bool]]:
        found = []
        for value in schema.values() if isinstance(schema, dict) else schema if isinstance(schema, list) else ():
            found += keys(value)
        if isinstance(schema, dict):
            named = schema.get("properties", {})
            found += [(key, isinstance(one, dict) and one.get("deprecated", False)) for key, one in named.items()]
        return found

    told = keys(json_schema())
    for one in RENAMED:
        assert (one.older, True) in told
        assert (one.better, False) in told


@pytest.mark.parametrize("field", ["mounts.motor.screws.depth", "mounts.motor.bolts.depth"])
def test_a_value_below_an_older_key_can_be_taken_out(field: str) -> None:
    assert "    bolts: {size: M6, into: part}\n" in without_value(OLDER, field)
    assert "    screws: {size: M6, into: part}\n" in without_value(BETTER, field)

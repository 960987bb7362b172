"""Figures that a finding asks for: the page has a box for each, and what is typed there goes to its place."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from platekit.checks import check
from platekit.layout import lay_out
from platekit.page.acts import done
from platekit.page.boxes import asked_for, blank, filled_in
from platekit.page.desk import Desk
from platekit.spec import load

SPECS = Path(__file__).parents[2] / "specs"
THROUGH = """\
platekit: 1
title: Flax breaker
units: mm
plate: {material: mild steel, thickness: 8}
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
    turn: 13 deg
    pilot: {diameter: 80, depth: 3, opening: none}
    standoff: 4
    screws: {into: part, washer: true}
    take_up: {slots: {along: belt, install: auto, tension: auto}}
drive:
  motor: {power: 0.75 kW, speed: 1400 rpm, frequency: 50 Hz}
  belt: {section: SPZ, choose: true, near: 300}
  driver: {on: motor, pitch_diameter: 80, span: [-44, -24]}
  driven: {on: machine, pitch_diameter: 300, span: [-40, -20]}
  wanted: {at: driven, from: 300 rpm, to: 450 rpm}
cutting: {process: laser}
"""


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    (tmp_path / "flax.yaml").write_text(THROUGH, "utf-8")
    return Desk(tmp_path / "flax.yaml", tmp_path / "output")


def asking(desk: Desk, words: str) -> dict[str, Any]:
    found = done(desk, {"act": "look"})["findings"]
    return next(one for one in found if words in one["message"] and one["boxes"])


def test_a_shaft_that_goes_through_the_plate_is_told_by_two_figures(desk: Desk) -> None:
    finding = asking(desk, "no opening for its shaft")
    assert finding["level"] == "stop"
    boxes = {box["label"]: box["field"] for box in finding["boxes"]}
    typed = {boxes["diameter"]: ["30", "words"], boxes["stands out"]: ["75", "words"]}
    done(desk, {"act": "fill in", "state": desk.now().state, "edits": finding["asks"], "boxes": typed})
    model = desk.now().spec.model  # type: ignore[union-attr]
    assert model.bodies["machine shaft"].span == (-75.0, 0.0)
    assert not any("no opening for its shaft" in one.message for one in desk.now().verdict.findings)  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("words", "typed", "field", "value"),
    [
        ("how deep the part's thread goes", "14,5", "mounts.motor.screws.depth", 14.5),
        ("no required torque", "12 Nm", "drive.wanted.torque", 12.0),
    ],
)
def test_one_figure_goes_to_its_place_and_ends_the_finding(
    desk: Desk, words: str, typed: str, field: str, value: float
) -> None:
    finding = asking(desk, words)
    assert [box["field"] for box in finding["boxes"]] == [field]
    about = {"act": "fill in", "state": desk.now().state, "edits": finding["asks"]}
    done(desk, {**about, "boxes": {field: [typed, "words"]}})
    steps: Any = desk.now().spec.model  # type: ignore[union-attr]
    for step in field.split("."):
        steps = steps[step] if isinstance(steps, dict) else getattr(steps, step)
    assert steps == value
    assert not any(words in one["message"] for one in done(desk, {"act": "look", "all": True})["findings"])


def test_an_empty_box_is_refused_and_nothing_is_written(desk: Desk) -> None:
    finding = asking(desk, "no required torque")
    for boxes in ({}, {"drive.wanted.torque": ["", "words"]}):
        answer = done(desk, {"act": "fill in", "state": desk.now().state, "edits": finding["asks"], "boxes": boxes})
        assert "empty box" in answer["refused"]
    assert desk.path.read_text("utf-8") == THROUGH


@pytest.mark.parametrize("path", sorted(SPECS.glob("*.yaml")), ids=lambda path: path.stem)
def test_whatever_an_example_asks_for_has_a_box_of_the_language(path: Path) -> None:
    spec = load(path)
    for one in check(lay_out(spec)).findings:
        boxes = asked_for(one.asks, spec.top)
        assert all(blank(box["field"], spec.top)["kind"] in ("words", "choice") for box in boxes)
        assert bool(boxes) == bool(one.asks)
        typed = {box["field"]: box["words"][0] if box["kind"] == "choice" else 10 for box in boxes}
        edits = filled_in([(edit.field, edit.value) for edit in one.asks], typed)
        assert "?" not in repr(edits)


def test_a_body_is_added_by_its_kind_and_what_that_needs(desk: Desk) -> None:
    top = desk.now().spec.top  # type: ignore[union-attr]
    offer = blank("bodies.cup", top)
    assert {one["key"] for one in offer["kinds"]} == {"shape", "lying", "steps", "standard"}
    assert next(one for one in offer["kinds"] if one["key"] == "shape")["with"] == ["span"]
    assert offer["needed"][0]["words"] == ["machine", "motor", "plate"]
    assert blank("bodies.cup.span", top)["places"] == ["from", "to"]
    boxes = {
        "cup.carried_by": ["machine", "choice"],
        "cup.shape.circle.diameter": ["26", "words"],
        "cup.shape.at": ["[60, 12.5]", "list"],
        "cup.span": ["[-14, 0]", "list"],
        "cup.relief": ["auto", "choice"],
    }
    done(desk, {"act": "add", "state": desk.now().state, "field": "bodies", "boxes": boxes})
    cup = desk.now().spec.model.bodies["cup"]  # type: ignore[union-attr]
    assert cup.shape is not None
    assert (cup.shape.at, cup.span, cup.relief) == ((60.0, 12.5), (-14.0, 0.0), "auto")

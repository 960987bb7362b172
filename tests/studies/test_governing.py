"""What governs the tightest pairs: the number named, and that growing it so far just uses the room up."""

from __future__ import annotations

import pytest

import platekit
from platekit.spec import with_value
from platekit.studies.governing import Explained, explained
from platekit.studies.tightest import tightest

PLATE = """\
platekit: 1
title: A slide and a post
units: {unit}
plate: {{material: mild steel, thickness: 10 mm, outline: {{rectangle: {{width: 900 mm, height: 500 mm}}}}}}
mounts:
  slide:
    side: near
    looking_at: face
    pattern: {{rectangle: {{width: 60 mm, height: 60 mm}}}}
    bolts: {{size: M6, into: part, depth: 16 mm, thread_in: steel, washer: true}}
    {travel}
bodies:
  block: {{carried_by: slide, shape: {{circle: {{diameter: {block}}}}}, span: [0, 100 mm], gap: 2 mm}}
  post:
    carried_by: plate
    side: near
    shape: {{circle: {{diameter: 20 mm}}, at: [{post} mm, 0]}}
    span: [{span}, 120 mm]
"""


def pairs(text: str) -> dict[tuple[str, str], Explained]:
    layout = platekit.lay_out(platekit.loads(text, "slide.yaml"))
    return {(one.pair.a, one.pair.b): one for one in explained(layout)}


def plate(
    travel: str = "turn: 0 deg", block: str = "100 mm", unit: str = "mm", span: str = "0", post: float = 100
) -> str:
    return PLATE.format(travel=travel, block=block, unit=unit, span=span, post=post)


def test_travel_governs_where_there_is_travel_towards_the_other() -> None:
    text = plate("take_up: {slots: {along: 0 deg, install: 5, tension: 20}}")
    one = pairs(text)["block", "post"]
    # 100 - 50 - 10 = 40 now, 20 at the end of the travel, 2 needed
    assert one.now == pytest.approx(40)
    assert one.pair.found == pytest.approx(20)
    assert one.governs is not None
    assert one.governs.field == "mounts.slide.take_up.slots.tension"
    assert one.governs.value == pytest.approx(20)
    assert one.governs.may_grow == pytest.approx(18, abs=0.02)


def test_a_size_governs_where_nothing_travels_and_using_its_room_leaves_nothing() -> None:
    one = pairs(plate())["block", "post"]
    assert one.governs is not None
    assert one.governs.field == "bodies.block.shape.circle.diameter"
    assert one.governs.may_grow == pytest.approx(2 * 38, abs=0.02)
    for more, clear in ((75.9, True), (76.1, False)):
        layout = platekit.lay_out(platekit.loads(with_value(plate(), one.governs.field, 100 + more), "slide.yaml"))
        assert (not [f for f in platekit.check(layout).findings if f.rule == "clash"]) is clear


def test_a_span_governs_where_one_is_above_the_other() -> None:
    one = pairs(plate(span="104 mm", post=20))["block", "post"]
    assert one.governs is not None
    assert one.governs.field == "bodies.block.span.1"
    assert one.governs.may_grow == pytest.approx(2, abs=0.02)


def test_a_pair_that_is_too_near_must_shrink_and_inches_are_told_in_inches() -> None:
    one = pairs(plate(block="7.0866 in", unit="in"))["block", "post"]
    assert one.pair.spare < 0
    assert one.governs is not None
    assert (one.governs.field, one.governs.unit) == ("bodies.block.shape.circle.diameter", "in")
    # 180 mm is 4 too much: 176 leaves exactly 2
    assert one.governs.may_grow == pytest.approx(-4 / 25.4, abs=0.001)


def test_the_tightest_come_first_and_no_more_than_asked_for() -> None:
    layout = platekit.lay_out(platekit.loads(plate(), "slide.yaml"))
    spare = [one.spare for one in tightest(layout)]
    assert spare == sorted(spare)
    assert len(explained(layout, 1)) == 1


def test_the_command_explains_in_words_and_figures(tmp_path: object, capsys: pytest.CaptureFixture[str]) -> None:
    import json
    from pathlib import Path

    from typer.testing import CliRunner

    from platekit.cli import app

    path = Path(str(tmp_path)) / "slide.yaml"
    path.write_text(plate(), "utf-8")
    words = CliRunner().invoke(app, ["check", str(path), "--explain"])
    assert "may grow by" in words.output
    assert "Order of assembly" in words.output
    figures = json.loads(CliRunner().invoke(app, ["check", str(path), "--explain", "--json"]).output)
    (first, *_) = figures["tightest"]
    assert first["governs"]["field"] == "bodies.block.shape.circle.diameter"
    assert first["governs"]["may_grow_mm"] == pytest.approx(76, abs=0.02)
    assert [step["item"] for step in figures["assembly"]["steps"]] == ["slide"]
    assert figures["way_back"]["whole"] is True

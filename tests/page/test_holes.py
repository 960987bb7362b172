"""Screw holes on the page: size, number and odds of each mount, each an edit of the file."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest

from platekit.page.acts import done
from platekit.page.desk import Desk

SPECS = Path(__file__).parents[2] / "specs"


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    shutil.copy(SPECS / "wrong-on-purpose.yaml", tmp_path)
    return Desk(tmp_path / "wrong-on-purpose.yaml", tmp_path / "output")


def rows(desk: Desk) -> dict[str, Any]:
    return {row["mount"]: row for row in done(desk, {"act": "look"})["holes"]}


def test_odds_stand_beside_the_hole_and_grow_with_it(desk: Desk) -> None:
    fan = rows(desk)["fan"]
    size, count = fan["boxes"]
    assert (size["field"], size["typed"]) == ("mounts.fan.pattern.circle.hole", "11")
    assert (count["field"], count["typed"], count["at"]) == ("mounts.fan.pattern.circle.count", "4", 4)
    assert fan["odds"]["level"] == "stop"
    before = desk.path.read_text("utf-8")
    tried = done(desk, {"act": "odds", "state": desk.now().state, "edits": [[size["field"], "14", "words"]]})
    assert tried["odds"]["fan"]["level"] == ""
    assert desk.path.read_text("utf-8") == before


def test_size_and_number_are_edits_of_the_file(desk: Desk) -> None:
    before = desk.path.read_text("utf-8")
    for (label, field), value in {
        ("hole", "mounts.fan.pattern.circle.hole"): "12,5",
        ("how many", "mounts.fan.pattern.circle.count"): "6",
    }.items():
        told = done(desk, {"act": "edit", "state": desk.now().state, "edits": [[field, value, "words"]]})
        assert "refused" not in told, label
    after = desk.path.read_text("utf-8")
    assert after == before.replace("count: 4, diameter: 150", "count: 6, diameter: 150").replace(
        "hole: 11}}", "hole: 12.5}}"
    )
    assert rows(desk)["fan"]["boxes"][1]["at"] == 6


@pytest.mark.parametrize("path", sorted(SPECS.glob("*.yaml")), ids=lambda path: path.stem)
def test_a_slider_starts_where_the_hole_is(path: Path) -> None:
    for row in done(Desk(path, path.parent / "none"), {"act": "look"})["holes"]:
        # every mount has its odds in per cent, or says that it has none and why
        assert ("%" in row["odds"]["said"]) != row["odds"]["said"].startswith("no odds: ")
        assert " 100 %" not in row["odds"]["said"]
        for box in row["boxes"]:
            low, high, step = box["slide"]
            assert low <= box["at"] <= high
            assert step > 0


def test_a_layer_has_no_odds_and_says_why() -> None:
    path = SPECS / "bean-drum.yaml"
    told = rows(Desk(path, path.parent / "none"))
    assert [name for name, row in told.items() if "%" not in row["odds"]["said"]] == ["ring"]
    assert "spotted through the plate" in told["ring"]["odds"]["said"]
    assert told["ring"]["odds"]["level"] == ""

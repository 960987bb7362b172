"""Advice on the page: it comes as it is tried, what was not come to can be tried one at a time, and each says how."""

from __future__ import annotations

import shutil
import time
from pathlib import Path
from typing import Any

import pytest

from platekit.page import desk as desk_module
from platekit.page.acts import done
from platekit.page.desk import Desk
from tests.checks import drives

SPECS = Path(__file__).parents[2] / "specs"


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Desk:
    # what is tried must not depend on how busy the machine is
    monkeypatch.setattr(desk_module, "PATIENCE", 600.0)
    shutil.copy(SPECS / "wrong-on-purpose.yaml", tmp_path)
    return Desk(tmp_path / "wrong-on-purpose.yaml", tmp_path / "output")


def advised(desk: Desk) -> list[dict[str, Any]]:
    """The findings once all of their advice was tried."""
    end = time.monotonic() + 600
    while time.monotonic() < end:
        answer = done(desk, {"act": "advise"})
        if answer["done"]:
            found: list[dict[str, Any]] = answer["findings"]
            return found
    raise AssertionError("it never ends")


def of(findings: list[dict[str, Any]], rule: str) -> dict[str, Any]:
    return next(one for one in findings if one["rule"] == rule)


def test_advice_that_was_tried_and_what_nothing_ended(desk: Desk) -> None:
    found = advised(desk)
    assert of(found, "blocked")["tried"]
    assert of(found, "blocked")["edits"] == [["bodies.lug.relief", "auto"]]
    assert of(found, "blocked")["ideas"] == []
    # without its pilot the plate ends it, and the part's own stop comes instead: it is still there to be tried
    pilot = of(found, "pilot-over-bolts")
    assert (pilot["tried"], pilot["vain"]) == (False, True)
    assert pilot["ideas"]


def test_one_idea_is_tried_and_says_what_comes_of_it(desk: Desk) -> None:
    found = advised(desk)
    state = desk.now().state
    before = desk.now().text

    def tried(one: dict[str, Any], edits: list[Any]) -> dict[str, Any]:
        about = {"state": state, "rule": one["rule"], "features": one["places"][0], "edits": edits}
        return done(desk, {"act": "try advice", **about})

    good = tried(of(found, "blocked"), of(found, "blocked")["edits"])
    assert good["good"]
    assert good["said"] == "Tried: this finding is gone, and no stop has come or grown worse."
    pilot = of(found, "pilot-over-bolts")
    costly = tried(pilot, pilot["ideas"][0]["edits"])
    assert not costly["good"]
    assert costly["said"].startswith("Tried: this finding is gone, but ")
    useless = tried(of(found, "blocked"), [["plate.thickness", 9]])
    assert useless["said"].startswith("Tried: this finding is still there")
    broken = tried(of(found, "blocked"), [["plate.thickness", 9], ["mounts.fan.at", "nowhere"]])
    assert "cannot be laid out so" in broken["said"] or "refused" in broken
    assert desk.now().text == before
    gone = done(desk, {"act": "try advice", "state": state, "rule": "web", "features": ["no", "such"], "edits": []})
    assert gone["refused"] == "that finding is not there any more"


def test_without_time_the_ideas_are_there_to_be_tried(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(desk_module, "PATIENCE", 0.0)
    blocked = of(advised(desk), "blocked")
    assert (blocked["tried"], blocked["vain"]) == (False, False)
    assert ["bodies.lug.relief", "auto"] in [edit for idea in blocked["ideas"] for edit in idea["edits"]]


def test_an_edit_ends_what_was_being_tried_and_begins_anew(desk: Desk) -> None:
    first = done(desk, {"act": "advise"})
    state = desk.now().state
    done(desk, {"act": "edit", "state": state, "edits": [["bodies.lug.relief", "auto", "words"]]})
    found = advised(desk)
    assert first["state"] == state != desk.now().state
    assert not [one for one in found if one["rule"] == "blocked"]


def test_stock_drives_that_cost_another_stop_are_there_to_be_tried(tmp_path: Path) -> None:
    path = tmp_path / "weak.yaml"
    path.write_text(drives.changed(("power: 0.25 kW", "power: 5.5 kW")), "utf-8")
    desk = Desk(path, tmp_path / "output")
    weak = of(advised(desk), "belt-rating")
    assert (weak["tried"], weak["vain"]) == (False, True)
    stock = next(idea for idea in weak["ideas"] if idea["text"].startswith("take another stock drive: "))
    about = {"rule": "belt-rating", "features": weak["places"][0], "edits": stock["edits"]}
    answer = done(desk, {"act": "try advice", "state": desk.now().state, **about})
    assert answer["said"].startswith("Tried: this finding is gone, but ")

"""Names from the tables on the page: for which box, found by parts of words, and each of them usable there."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest

from platekit.page.acts import done
from platekit.page.boxes import value_of
from platekit.page.desk import Desk
from platekit.page.offers import MOST_OFFERED, offers

SPECS = Path(__file__).parents[2] / "specs"


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    shutil.copy(SPECS / "dough-mixer.yaml", tmp_path)
    return Desk(tmp_path / "dough-mixer.yaml", tmp_path / "output")


def names(desk: Desk, field: str, typed: str) -> list[str]:
    return [one["name"] for one in done(desk, {"act": "look up", "field": field, "typed": typed})["names"]]


@pytest.mark.parametrize(
    ("field", "typed", "wanted"),
    [
        ("mounts.motor.pattern.standard", "56c", "NEMA 56C"),
        ("plate.material", "mild", "mild steel"),
        ("mounts.machine.bolts.size", "m8", "M8"),
        ("drive.belt.size", "a38", "A38"),
        ("drive.belt", "a38", "A38"),
        ("drive.belt.section", "spz", "SPZ"),
        ("drive.motor.power", "0.75", "0.75 kW"),
    ],
)
def test_what_is_typed_in_part_is_found(desk: Desk, field: str, typed: str, wanted: str) -> None:
    assert wanted in names(desk, field, typed)


def test_words_may_come_in_any_order_and_what_begins_so_comes_first(desk: Desk) -> None:
    field = "mounts.motor.pattern.standard"
    assert names(desk, field, "56C nema") == names(desk, field, "nema 56C")
    sizes = names(desk, "mounts.machine.bolts.size", "m1")
    assert sizes
    assert sizes[0].lower().startswith("m1")
    told = done(desk, {"act": "look up", "field": field, "typed": ""})
    assert len(told["names"]) == MOST_OFFERED
    assert told["more"] > 0
    assert names(desk, field, "no such thing") == []


def test_pulleys_are_those_of_the_belt_and_each_may_stand_there(desk: Desk) -> None:
    layout = desk.now().layout
    assert layout is not None
    section = layout.belts[0].request.belt
    assert section is not None
    told: list[dict[str, Any]] = []
    for end in ("driver", "driven"):
        for key in ("outside_diameter", "pitch_diameter"):
            told += done(desk, {"act": "look up", "field": f"drive.{end}.{key}", "typed": ""})["names"]
    assert told
    assert all(f"section {section.section}," in one["about"] for one in told)
    assert all(value_of(one["name"], "words") == one["name"] for one in told)


def test_a_stock_drive_is_taken_by_edits_of_its_fields_in_one_step(desk: Desk) -> None:
    before = desk.now()
    told = done(desk, {"act": "drives"})
    assert "refused" not in told
    fields = [field for field, _ in told["edits"][0]]
    assert fields == ["drive.belt", "drive.driver", "drive.driven"]
    done(desk, {"act": "set", "state": told["state"], "edits": told["edits"][0]})
    after = desk.path.read_text("utf-8")
    assert told["choices"][0]["belt"] in after
    assert desk.steps == (1, 0)
    done(desk, {"act": "undo", "state": desk.now().state})
    assert desk.path.read_text("utf-8") == before.text


def test_the_couplings_of_the_tables_are_offered_with_their_figures() -> None:
    found, _ = offers("couplings.joint.stock", "pin 144", None)
    assert found[0]["name"] == "pin 144"
    assert "gap 2 mm to 6 mm" in found[0]["about"]

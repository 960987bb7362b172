"""The boxes beside a drag: every handle has some, and what they show typed back changes nothing."""

from __future__ import annotations

from pathlib import Path

import pytest

from platekit.layout import lay_out
from platekit.page.boxes import value_of
from platekit.page.desk import with_edits
from platekit.page.numbers import numbers
from platekit.page.scene import handles
from platekit.spec import load, loads_at

SPECS = sorted((Path(__file__).parents[2] / "specs").glob("*.yaml"))


@pytest.mark.parametrize("path", SPECS, ids=lambda path: path.stem)
def test_every_handle_has_its_numbers_as_they_stand_in_the_spec(path: Path) -> None:
    spec = load(path)
    layout = lay_out(spec)
    found = numbers(layout, spec.top, spec.text)
    assert [*found] == [one.name for one in handles(layout)]
    assert all(found.values())
    edits = [(row["field"], value_of(row["typed"], row["kind"])) for rows in found.values() for row in rows]
    again = lay_out(loads_at(with_edits(spec.text, edits), path))
    for before, after in zip(handles(layout), handles(again), strict=True):
        assert after.at == pytest.approx(before.at, abs=0.1)


def test_a_length_shows_as_it_was_typed() -> None:
    path = next(one for one in SPECS if one.stem == "dough-mixer")
    text = path.read_text("utf-8").replace("[60, -95]", "[60.0, 3-3/4 in]")
    spec = loads_at(text, path)
    rows = numbers(lay_out(spec), spec.top, text)["cable"]
    assert [(row["label"], row["typed"]) for row in rows] == [("x", "60.0"), ("y", "3-3/4 in")]

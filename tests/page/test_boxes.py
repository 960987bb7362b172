"""The job sheet: a box for every value of every example, that writes back what it shows."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platekit.errors import PlatekitError
from platekit.page.boxes import LONGEST_LIST, blank, sheet, value_of
from platekit.page.desk import with_edits
from platekit.spec import json_schema, load
from platekit.spec.editing import without_value
from platekit.spec.source import read, source_of

SPECS = sorted((Path(__file__).parents[2] / "specs").glob("*.yaml"))
EVERY = 6
"""Of the boxes of an example one in so many is tried, others in each: every one costs two readings of YAML."""


def boxes(found: list[dict[str, Any]]) -> Iterator[dict[str, Any]]:
    for one in found:
        yield one
        yield from boxes(one.get("boxes", []))


def values(data: Any, path: tuple[str, ...] = ()) -> Iterator[str]:
    below = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else None
    if below is None:
        yield ".".join(path)
        return
    if isinstance(data, list) and len(data) > LONGEST_LIST:
        return
    for key, value in below:
        yield from values(value, (*path, str(key)))


@pytest.mark.parametrize("path", SPECS, ids=lambda path: path.stem)
def test_every_value_has_a_box_that_writes_back_what_it_shows(path: Path) -> None:
    spec = load(path)
    found = {box["field"]: box for part in sheet(spec.top, spec.text) for box in boxes(part["boxes"])}
    assert set(values(spec.top.data)) - {"platekit"} <= found.keys()
    for field, box in list(found.items())[SPECS.index(path) % EVERY :: EVERY]:
        if box["kind"] not in ("words", "choice", "yesno"):
            continue
        typed = box["typed"] if isinstance(box["typed"], str) else str(box["typed"]).lower()
        top, problems = read(source_of(with_edits(spec.text, [(field, value_of(typed, box["kind"]))]), "spec"))
        assert not problems
        assert top is not None
        assert top.data == spec.top.data, field


@pytest.mark.parametrize("path", SPECS, ids=lambda path: path.stem)
def test_what_may_be_taken_out_can_be(path: Path) -> None:
    spec = load(path)
    found = [box["field"] for part in sheet(spec.top, spec.text) for box in boxes(part["boxes"]) if box["out"]]
    for field in found[SPECS.index(path) % EVERY :: EVERY]:
        top, problems = read(source_of(without_value(spec.text, field), "spec"))
        assert not problems
        assert top is not None
        assert field not in set(values(top.data)) or field.split(".")[-1].isdigit()


def test_every_key_of_the_language_can_be_added() -> None:
    top = load(SPECS[0]).top
    for key in json_schema()["properties"]:
        assert blank(key, top)["field"] == key
    offer = blank("mounts.pump", top)
    assert {one["label"] for one in offer["needed"]} == {"side", "pattern"}
    pattern = next(one for one in offer["needed"] if one["label"] == "pattern")
    assert {"circle", "rectangle", "standard", "measured"} <= {one["key"] for one in pattern["kinds"]}
    assert blank("mounts.pump.pattern.circle.diameter", top)["kind"] == "words"
    with pytest.raises(PlatekitError, match="no such key"):
        blank("mounts.pump.colour", top)


@pytest.mark.parametrize(
    ("typed", "kind", "value"),
    [("12,5", "words", 12.5), ("-3", "words", -3), ("5-7/8 in", "words", "5-7/8 in"), ("M8", "words", "M8"),
     ("true", "yesno", True), ("[A, B, inside, 81.7]", "list", ["A", "B", "inside", 81.7]), ("auto", "words", "auto"),
     ("9,5 in", "words", "9.5 in"), ("1e3", "words", 1000.0), (".5", "words", 0.5)],
)  # fmt: skip
def test_what_is_typed_is_read_as_the_spec_would(typed: str, kind: str, value: object) -> None:
    assert value_of(typed, kind) == value


@given(st.text(max_size=20))
def test_any_text_is_a_value_or_a_sentence(typed: str) -> None:
    if typed.strip():
        with contextlib.suppress(PlatekitError):  # brackets that do not close
            assert value_of(typed, "words") is not None
    else:
        with pytest.raises(PlatekitError, match="empty box"):
            value_of(typed, "words")


def test_a_value_said_by_a_word_or_a_figure_offers_both() -> None:
    # a shaft stands square to the plate or lies along it at an angle
    top, problems = read(source_of("mounts: {machine: {}}", "box"))
    assert top is not None
    assert not problems
    along = next(one for one in blank("mounts.machine.shaft", top)["needed"] if one["label"] == "along")
    kinds = [(one["kind"], one["words"]) for one in along["kinds"]]
    assert ("choice", ["square"]) in kinds
    assert ("words", []) in kinds
    assert all(one["said"] and one["said"] != "group" for one in along["kinds"])


def test_no_box_of_choices_holds_what_it_cannot_show() -> None:
    # such a box is shown empty, and what stands in the spec is not to be seen
    for path in SPECS:
        spec = load(path)
        for part in sheet(spec.top, spec.text):
            for box in boxes(part["boxes"]):
                assert box.get("kind") != "choice" or box["typed"] in box["words"], (path.name, box["field"])


def test_a_bare_fraction_is_of_an_inch() -> None:
    assert value_of("3 1/4", "words") == "3 1/4 in"
    assert value_of("5/8-11", "words") == "5/8-11"
    assert value_of("1/2", "choice") == "1/2"

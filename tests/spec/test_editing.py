# ruff: noqa: E501 - a line of a spec and what becomes of it stand side by side
"""Changing one value of a spec: the value is changed, and nothing else, down to the last comment."""

from __future__ import annotations

import difflib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platekit.errors import PlatekitError, SpecError
from platekit.spec import loads, with_value
from platekit.spec.editing import with_rows, without_value, written
from platekit.spec.source import read, source_of

TEXT = """\
# a remark on top
platekit: 1
title: 'Mixer: new motor'   # quoted
units: mm

plate:
  material: mild steel            # from the rack
  thickness: 10   # mm

  # the cable comes from below
  cutouts:
      cable: {circle: {diameter: 22}, at: [60, -95]}   # was 20

mounts:
  machine:
    side: far
    pattern:
      points:
      - [0, 0]
      - [40, 5]      # the odd one
      hole: 9
  motor: {side: near,
          pattern: {standard: NEMA 56C},   # faces up
          screws: {into: part}}
accept:
  - {rule: web, feature: motor.1, because: x}
# the end
"""


def difference(old: str, new: str) -> list[str]:
    """The lines that went and came."""
    lines = difflib.unified_diff(old.splitlines(), new.splitlines(), n=0, lineterm="")
    return [line for line in lines if not line.startswith(("---", "+++", "@@"))]


@pytest.mark.parametrize(
    ("field", "value", "lines"),
    [
        ("plate.thickness", 12.5, ["-  thickness: 10   # mm", "+  thickness: 12.5   # mm"]),
        ("plate.thickness", "3/8 in", ["-  thickness: 10   # mm", "+  thickness: 3/8 in   # mm"]),
        ("title", "Mixer", ["-title: 'Mixer: new motor'   # quoted", "+title: Mixer   # quoted"]),
        (
            "plate.cutouts.cable.circle.diameter",
            14,
            [
                "-      cable: {circle: {diameter: 22}, at: [60, -95]}   # was 20",
                "+      cable: {circle: {diameter: 14}, at: [60, -95]}   # was 20",
            ],
        ),
        (
            "plate.cutouts.cable.at",
            [66.2, -95.0],
            [
                "-      cable: {circle: {diameter: 22}, at: [60, -95]}   # was 20",
                "+      cable: {circle: {diameter: 22}, at: [66.2, -95]}   # was 20",
            ],
        ),
        ("mounts.machine.pattern.points.1.0", 41, ["-      - [40, 5]      # the odd one", "+      - [41, 5]      # the odd one"]),
        ("mounts.machine.pattern.points.2", [7, 7], ["+      - [7, 7]"]),
        ("mounts.machine.side", "near", ["-    side: far", "+    side: near"]),
        ("mounts.machine.turn", "30 deg", ["+    turn: 30 deg"]),
        ("mounts.motor.screws.washer", True, ["-          screws: {into: part}}", "+          screws: {into: part, washer: true}}"]),
        ("mounts.motor.standoff", 6, ["-          screws: {into: part}}", "+          screws: {into: part}, standoff: 6}"]),
        ("limits.web", 8, ["+limits: {web: 8}"]),
        ("plate.outline.wrap.margin", "auto", ["+  outline: {wrap: {margin: auto}}"]),
        ("plate.cutouts.vent", {"circle": {"diameter": 9}}, ["+      vent: {circle: {diameter: 9}}"]),
        ("accept.1", {"rule": "edge", "feature": "a"}, ["+  - {rule: edge, feature: a}"]),
        ("accept.0.because", "a: b # c", ["-  - {rule: web, feature: motor.1, because: x}", '+  - {rule: web, feature: motor.1, because: "a: b # c"}']),
        ("bodies.0", 1, ['+bodies: [1]']),
    ],
)  # fmt: skip
def test_one_value_is_changed_and_nothing_else(field: str, value: Any, lines: list[str]) -> None:
    assert difference(TEXT, with_value(TEXT, field, value)) == lines


def test_a_group_on_several_lines_can_be_replaced() -> None:
    changed = with_value(TEXT, "mounts.machine.pattern", {"standard": "FF165"})
    assert "    pattern: {standard: FF165}\n  motor:" in changed
    assert "points" not in changed
    assert changed.endswith("# the end\n")


def test_windows_line_ends_stay() -> None:
    text = TEXT.replace("\n", "\r\n")
    changed = with_value(text, "limits.web", 8)
    assert changed.count("\r\n") == text.count("\r\n") + 1
    assert changed.replace("\r\n", "").count("\n") == 0


def test_a_byte_order_mark_and_a_missing_last_line_end_stay() -> None:
    assert with_value("\ufeffa: 1\nb: 2", "b", 3) == "\ufeffa: 1\nb: 3"
    assert with_value("a: 1\nb: 2", "c", 3) == "a: 1\nb: 2\nc: 3"


@pytest.mark.parametrize(
    ("text", "field", "value", "result"),
    [
        ("a: {}\n", "a.b", 1, "a: {b: 1}\n"),
        ("a: []\n", "a.0", 1, "a: [1]\n"),
        ("a: {b: 1,}\n", "a.c", 2, "a: {b: 1, c: 2,}\n"),
        ("a: {b: 1 # why\n  }\n", "a.c", 2, "a: {b: 1, c: 2 # why\n  }\n"),
        ("a:\n- 1\n- 2\n", "a.2", 3, "a:\n- 1\n- 2\n- 3\n"),
        ("a: |\n  text\n  more\nb: 1\n", "a", "x", "a: x\nb: 1\n"),
        ("a:\n  b: |\n    text\n", "a.c", 1, "a:\n  b: |\n    text\n  c: 1\n"),
        ('"a": 1\n', "a", 2, '"a": 2\n'),
        ("a: 1 # c\n", "b.c.0.d", True, "a: 1 # c\nb: {c: [{d: true}]}\n"),
    ],
)
def test_awkward_layouts_are_kept(text: str, field: str, value: Any, result: str) -> None:
    assert with_value(text, field, value) == result


@pytest.mark.parametrize(
    ("text", "field", "sentence"),
    [
        ("a: &x 1\nb: *x\n", "b", "found a value shared by an alias"),
        ("a: 1\n", "a.b", "a: found a single value; give keys below it before adding b"),
        ("a: [1]\n", "a.5", "found a list of 1; the next position in it is 1"),
        ("a: 1\n", "", "found no field to change"),
    ],
)
def test_what_has_no_place_of_its_own_is_told(text: str, field: str, sentence: str) -> None:
    with pytest.raises(PlatekitError, match=r"found") as caught:
        with_value(text, field, 2)
    assert sentence in str(caught.value)


def test_a_text_that_is_no_spec_is_told_with_its_place() -> None:
    with pytest.raises(SpecError, match="a second time"):
        with_value("a: 1\na: 2\n", "a", 3)


NUMBERS = st.floats(-1e6, 1e6, allow_nan=False).map(lambda value: value + 0.0)
VALUES = st.recursive(
    NUMBERS
    | st.integers(-(10**9), 10**9)
    | st.booleans()
    | st.text(st.characters(codec="ascii", exclude_categories=["C"]), max_size=12),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.from_regex(r"[a-z]{1,6}", fullmatch=True), inner, max_size=3)
    ),
    max_leaves=5,
)
FIELDS = st.sampled_from(
    ["plate.thickness", "plate", "mounts.machine", "mounts.motor.screws", "title", "accept.0", "accept.1", "new", "plate.new.er",
     "mounts.machine.pattern.points", "mounts.machine.pattern.points.0.1", "plate.cutouts.cable.turn"]
)  # fmt: skip


@given(FIELDS, VALUES)
def test_any_value_set_anywhere_is_read_back(field: str, value: Any) -> None:
    top, problems = read(source_of(with_value(TEXT, field, value), "spec"))
    assert problems == []
    assert top is not None
    found = top.data
    for step in field.split("."):
        found = found[int(step)] if isinstance(found, list) else found[step]
    assert found == value
    assert type(found) is type(value) or isinstance(value, float)


@given(st.text(max_size=30))
def test_text_is_written_so_that_it_reads_back(text: str) -> None:
    top, problems = read(source_of(f"a: [{written(text)}, 1]", "spec"))
    assert problems == []
    assert top is not None
    assert top.data == {"a": [text, 1]}


def test_a_changed_spec_reads_as_changed() -> None:
    assert loads(with_value(TEXT, "plate.thickness", "1/2 in")).model.plate.thickness == pytest.approx(12.7)


EXAMPLES = sorted((Path(__file__).parents[2] / "specs").glob("*.yaml"))


def _paths(data: Any, path: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    below = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for key, value in below:
        yield (*path, key)
        yield from _paths(value, (*path, key))


def _less(data: Any, path: tuple[str | int, ...]) -> Any:
    """The data without what stands at the path, and without what that leaves empty; written apart from the code."""
    step, rest = path[0], path[1:]
    below = _less(data[step], rest) if rest else None
    if isinstance(data, list):
        return (
            [one for k, one in enumerate(data) if k != step or below]
            if not below
            else [below if k == step else one for k, one in enumerate(data)]
        )
    return {key: below if key == step else value for key, value in data.items() if key != step or below}


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_any_value_is_taken_out_and_nothing_else(path: Path) -> None:
    text = path.read_text("utf-8")
    top, _ = read(source_of(text, "spec"))
    assert top is not None
    # One path in five, others in each example: all of them were tried once, and take a quarter of a minute.
    for steps in list(_paths(top.data))[EXAMPLES.index(path) % 5 :: 5]:
        if any("." in str(step) for step in steps):
            continue
        changed, problems = read(source_of(without_value(text, ".".join(map(str, steps))), "spec"))
        assert not problems
        assert changed is not None
        assert changed.data == _less(top.data, steps)


def test_the_comments_of_others_stay_when_a_value_is_taken_out() -> None:
    text = without_value(TEXT, "plate.cutouts")
    assert "# the cable comes from below" in text
    assert "# mm" in text
    with pytest.raises(PlatekitError, match="nothing there"):
        without_value(TEXT, "plate.nothing")


def test_rows_go_behind_those_that_are_there_each_on_its_line() -> None:
    text = "a:\n  rows:\n    - [A, 1]  # first\n  after: 2\n"
    assert with_rows(text, "a.rows", 1, [["B", 2], ["C", 3]]) == (
        "a:\n  rows:\n    - [A, 1]  # first\n    - [B, 2]\n    - [C, 3]\n  after: 2\n"
    )
    # the same row twice, or a list in brackets, is told apart by what is read
    assert with_rows("rows: [[A, 1]]\n", "rows", 1, [["A", 1], ["C", 3]]) == "rows: [[A, 1], [A, 1], [C, 3]]\n"
    twice = with_rows("rows:\n  - [B, 2]\n", "rows", 1, [["B", 2], ["C", 3]])
    assert twice == "rows:\n  - [B, 2]\n  - [B, 2]\n  - [C, 3]\n"

"""Specs damaged at random: each reads, or ends in sentences that point into the file; nothing else ever comes out."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from platekit.errors import Problem, SpecError
from platekit.spec import loads

WHOLE = """\
# yaml-language-server: $schema=./platekit.schema.json
platekit: 1
title: Grain lift, gear motor on the old bracket
units: in
plate:
  material: mild steel
  thickness: 3/8 in              # bought by the inch
  outline: {polygon: {points: [[-6, -6], [9, -6], [9, 8], [-6, 8]], corner: [1, 1, 1, 0.5]}}
  cutouts:
    cable: {circle: {diameter: 7/8"}, at: [2, -3.5]}
    drain: {slot: {length: 2, width: 0.5}, turn: 30 deg}
mounts:
  bracket:
    side: far
    looking_at: face
    pattern: {circle: {diameter: 3.5, angles: [0, 100 deg, 230 deg]}}
    pilot: {diameter: 2.5, depth: 0.25, opening: recess, clearance: auto}
    bolts: &screws {size: 5/16-18, into: part, depth: 0.75, head: hex, washer: true, fit: close}
  motor:
    side: near
    pattern: {standard: NEMA 56C}
    at: {from: bracket, distance: 7, angle: 75 deg}
    turn: 0.5 rad
    standoff: 6 mm
    bolts: *screws
    take_up:
      swing: {about: [3, 3], tightens: clockwise, install: 4 deg, tension: 6 deg, pivot_hole: 1/2 in}
bodies:
  oil cup: {carried_by: bracket, shape: {rectangle: {width: 1, height: 2}, at: [0, 4]}, span: [-0.5, 0], relief: auto}
  lug: {carried_by: plate, side: far, shape: {circle: {diameter: 1}}, span: [0, 1], touches: [oil cup]}
cutting: {process: waterjet, kerf: 0.04, sheet: [24, 24]}
limits: {web: 0.25, gap: 0.08}
paper: {size: {width: 20, height: 30}, seen_from: far}
accept:
  - {rule: edge, feature: motor.3, because: "edge is welded to the frame there"}
"""

PIECES = (
    *"\t{}[]:-&*!|>%@`'\"#,?\\~=\r\n ",
    "- ", ": ", "&a ", "*a", "*screws", "!!python/object ", "<<: ", "null", "~", "true", "NO", "1e999", ".nan", ".inf",
    "0x1F", "12:30:00", "2024-01-01", "---\n", "...\n", "\x85", "\u2028", "\ufeff", "\0", "\x07", "é", "🔧", "9" * 400,
    "10,5", "a.b", "\n  ", "&a *a", "{}", "[]", ": {a: b}", "auto", "3/8 in", "%YAML 1.1\n", "_", "-0", "bracket",
)  # fmt: skip


def problems(text: str) -> tuple[Problem, ...] | None:
    """What is told about a text; None if it reads."""
    try:
        loads(text, "lift.yaml")
    except SpecError as error:
        return error.problems
    return None


def told(text: str) -> bool:
    """Whether a text reads; if not, it has been checked that the problems are sentences with places."""
    found = problems(text)
    if found is None:
        return True
    last = text.count("\n") + text.count("\r") + 1
    assert found
    for one in found:
        assert one.found.strip()
        assert one.wanted.strip()
        assert "\n" not in str(one)
        assert one.line <= last
        assert one.pointed().startswith("lift.yaml")
    return False


def damaged(text: str, chance: random.Random) -> str:
    """The text with one to four pieces put in, taken out, doubled or swapped."""
    for _ in range(chance.randint(1, 4)):
        at = chance.randrange(len(text) + 1)
        end = min(len(text), at + chance.randint(0, chance.choice((1, 6, 40))))
        match chance.randrange(5):
            case 0 | 1:
                text = text[:at] + chance.choice(PIECES) + text[end:]
            case 2:
                text = text[:at] + text[end:]
            case 3:
                text = text[:at] + text[at:end] * 2 + text[end:]
            case _:
                lines = text.splitlines(keepends=True) or [text]
                one, other = chance.randrange(len(lines)), chance.randrange(len(lines))
                lines[one], lines[other] = lines[other], lines[one]
                text = "".join(lines)
    return text


def test_the_undamaged_spec_reads() -> None:
    assert told(WHOLE)


@pytest.mark.parametrize("seed", range(7))
def test_damaged_specs_read_or_end_in_sentences(seed: int) -> None:
    chance = random.Random(seed)
    readable = sum(told(damaged(WHOLE, chance)) for _ in range(300))
    assert 0 < readable < 300


def test_every_beginning_of_a_spec_reads_or_ends_in_sentences() -> None:
    for end in range(0, len(WHOLE), 17):
        told(WHOLE[:end])


def test_every_example_cut_short_anywhere_ends_in_sentences() -> None:
    for file in sorted(Path(__file__, "../../../specs").resolve().glob("*.yaml")):
        text = file.read_text(encoding="utf-8")
        assert told(text), file
        for end in range(0, len(text), 61):
            told(text[:end])


@given(st.text(max_size=200))
@settings(max_examples=200)
def test_any_text_at_all_ends_in_sentences(text: str) -> None:
    assert not told(text)


PLAIN = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=12)
    | st.sampled_from(["auto", "M8", "near"]),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
    max_leaves=8,
)


def written(value: object) -> str:
    """Any plain value as YAML; text always in quotes, other things as YAML has them."""
    match value:
        case None:
            return "null"
        case bool():
            return "true" if value else "false"
        case float():
            return {"nan": ".nan", "inf": ".inf", "-inf": "-.inf"}.get(str(value), repr(value))
        case int():
            return str(value)
        case str():
            return '"' + "".join(f"\\U{ord(sign):08x}" for sign in value) + '"'
        case list():
            return f"[{', '.join(map(written, value))}]"
        case dict():
            return "{" + ", ".join(f"{written(key)}: {written(item)}" for key, item in value.items()) + "}"
        case _:
            raise TypeError(type(value))


SPOTS = (
    "3/8 in", "mild steel", "[2, -3.5]", "{circle: {diameter: 1}}", "[-0.5, 0]", "far", "face", "waterjet", "&screws",
    "{standard: NEMA 56C}", "[0, 100 deg, 230 deg]", "true", "[oil cup]", "bracket", "0.5 rad", "1", "motor.3", "in",
)  # fmt: skip


@given(st.sampled_from(SPOTS), PLAIN)
@settings(max_examples=200)
def test_any_value_in_any_place_reads_or_ends_in_sentences(spot: str, value: object) -> None:
    told(WHOLE.replace(spot, written(value), 1))

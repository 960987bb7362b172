"""Heads let into the plate: what their seats must keep to everything else, on both sides of each limit."""

from __future__ import annotations

import math

import pytest

import platekit
from platekit.checks import Finding
from platekit.spec import with_value

PLATE = """\
platekit: 1
title: Flax brake, lower jaw
units: mm
plate:
  material: mild steel
  thickness: {thickness}
  outline: {{rectangle: {{width: 300, height: 200}}}}
  cutouts: {{{cutouts}}}
mounts:
  beam:
    side: far
    looking_at: face
    pattern: {{points: [[0, 0]], hole: {hole}}}
    {pilot}
    bolts: {{size: M8, into: part, depth: 30, made: drill, {head}}}
    at: {at}
    {take_up}
{more}
cutting: {{process: waterjet}}
{limits}
"""
FLAT, LET_IN = "head: countersunk", "head: socket, counterbore: true"
CONE, BORE = 17.92, 14.0
"""ISO 10642: an M8 head is 17.92 mm wide; ISO 4762: 13 mm, and the counterbore is 1 mm more."""


def plate(
    head: str = FLAT,
    thickness: float = 12,
    hole: float = 9,
    cutouts: str = "",
    pilot: str = "",
    at: str = "[0, 0]",
    take_up: str = "",
    more: str = "",
    limits: str = "",
) -> str:
    return PLATE.format(**locals())


def found(text: str, *rules: str) -> list[Finding]:
    """What the rules have to say, notes too."""
    verdict = platekit.check(platekit.lay_out(platekit.loads(text, "jaw.yaml")))
    return [finding for finding in verdict.findings if finding.rule in rules]


def one(text: str, rule: str) -> Finding:
    (finding,) = found(text, rule)
    return finding


# ---------------------------------------------------------------------------------- at the face


@pytest.mark.parametrize(("head", "across"), [(FLAT, CONE), (LET_IN, BORE)])
def test_steel_at_the_face_to_the_next_opening_counts_from_the_mouth(head: str, across: float) -> None:
    """What is drilled wants 0.3 x 12 = 3.6 mm, hole or seat."""

    def with_eye(gap: float) -> str:
        return plate(head, cutouts=f"eye: {{circle: {{diameter: 20}}, at: [{across / 2 + gap + 10}, 0]}}")

    near = one(with_eye(3.5), "web")
    assert (near.found, near.needed) == (pytest.approx(3.5), pytest.approx(3.6))
    assert "the seat of beam.1's head" in near.message
    assert "at the near face" in near.message
    assert not found(with_eye(3.7), "web", "overlap")
    assert "move eye 0.2" in near.advice.text
    inside = one(with_eye(-1.0), "overlap")
    assert inside.found == pytest.approx(-1.0)
    assert "the seat of beam.1's head and eye run into each other at the near face" in inside.message


def test_following_the_advice_ends_it() -> None:
    text = plate(cutouts="eye: {circle: {diameter: 20}, at: [20, 3]}")
    finding = one(text, "web")
    for remedy in finding.remedies:
        text = with_value(text, remedy.field, remedy.value)
    assert not found(text, "web", "overlap")


@pytest.mark.parametrize(("gap", "wrong"), [(3.5, True), (3.7, False)])
def test_two_heads_in_one_face(gap: float, wrong: bool) -> None:
    text = plate().replace("[[0, 0]]", f"[[0, 0], [{CONE + gap}, 0]]")
    findings = found(text, "web", "overlap")
    assert bool(findings) is wrong
    if wrong:
        assert findings[0].found == pytest.approx(gap)
        assert findings[0].message.count("the seat of") == 2
        assert "(head: hex)" in findings[0].advice.text


@pytest.mark.parametrize(("left", "wrong"), [(3.5, True), (3.7, False)])
def test_steel_at_the_face_to_the_outside(left: float, wrong: bool) -> None:
    """The hole's own limit is set low, so that only the mouth decides; the plate ends at x = 150."""
    text = plate(at=f"[{150 - left - CONE / 2}, 0]", limits="limits: {edge: 9}")
    findings = found(text, "edge")
    assert bool(findings) is wrong
    if wrong:
        assert (findings[0].found, findings[0].needed) == (pytest.approx(left), pytest.approx(3.6))
        assert "the seat of its head at the near face" in findings[0].message
        (remedy, *_others) = findings[0].remedies
        assert not found(with_value(text, remedy.field, remedy.value), "edge")


@pytest.mark.parametrize(("head", "across"), [(FLAT, CONE), (LET_IN, BORE)])
def test_a_wrapped_outline_leaves_steel_round_the_mouth(head: str, across: float) -> None:
    """Low limits, so that the mouth decides: half of it and the web of 2 mm."""
    text = plate(head, limits="limits: {edge: 5, web: 2}").replace("[[0, 0]]", "[[0, 0], [40, 0], [0, 40]]")
    text = text.replace("{rectangle: {width: 300, height: 200}}", "{wrap: {margin: auto}}")
    layout = platekit.lay_out(platekit.loads(text, "jaw.yaml"))
    assert layout.outline.box.x0 == pytest.approx(-(across / 2 + 2))
    assert not found(text, "edge")


@pytest.mark.parametrize(("tension", "wrong"), [(10.3, False), (10.5, True)])
def test_the_mouth_counts_at_both_ends_of_travel(tension: float, wrong: bool) -> None:
    slots = f"take_up: {{slots: {{along: 0 deg, install: 3, tension: {tension}}}}}"
    # mouth ends at 8.96 + tension; the eye begins at 23: 3.6 is left up to a tension of 10.44
    limits = "limits: {web: 3.6}"
    text = plate(take_up=slots, cutouts="eye: {circle: {diameter: 20}, at: [33, 0]}", limits=limits)
    assert bool(found(text, "web")) is wrong
    # and the same on the other end
    other = plate(take_up=slots.replace(f"3, tension: {tension}", f"{tension}, tension: 3"), limits=limits)
    other = other.replace("cutouts: {}", "cutouts: {eye: {circle: {diameter: 20}, at: [-33, 0]}}")
    assert bool(found(other, "web")) is wrong


def test_a_limit_of_the_spec_holds_for_seats_too() -> None:
    text = plate(cutouts=f"eye: {{circle: {{diameter: 20}}, at: [{CONE / 2 + 2 + 10}, 0]}}")
    assert found(text, "web")
    assert not found(text + "limits: {web: 1.9}\n", "web")


# ---------------------------------------------------------------------------------- below the face

OTHER = """\
  shoe:
    side: near
    looking_at: back
    pattern: {{points: [[0, 0]], hole: 9}}
    bolts: {{size: M8, into: part, depth: 30, {head}}}
    at: [{x}, 0]"""


@pytest.mark.parametrize(("depth", "wrong"), [(2.0, False), (2.1, True)])
def test_steel_between_a_head_and_the_pilot_on_the_other_side(depth: float, wrong: bool) -> None:
    """A counterbore of 8 mm leaves 6 of 14 mm; the recess is half a millimetre deeper than its pilot."""
    pilot = f"pilot: {{diameter: 60, depth: {depth + 0.5}, opening: recess, clearance: 0.2}}"  # so depth + 1 deep
    text = plate(LET_IN, thickness=14, pilot=pilot)
    findings = found(text, "head-seat")
    assert bool(findings) is wrong
    if wrong:
        assert findings[0].level == "stop"
        assert (findings[0].found, findings[0].needed) == (pytest.approx(14 - 8 - depth - 1.0), pytest.approx(3.0))
        assert "beam.pilot" in findings[0].message
        (remedy,) = findings[0].remedies
        assert not found(with_value(text, remedy.field, remedy.value), "head-seat")


@pytest.mark.parametrize(("x", "wrong"), [(16.9, True), (17.7, False)])
def test_heads_from_both_sides_keep_steel_between_them(x: float, wrong: bool) -> None:
    """Two counterbores of 14 mm, 8 mm deep in 12 mm: they share 4 mm of height, so 3.6 mm belongs between them."""
    text = plate(LET_IN, more=OTHER.format(head=LET_IN, x=x), limits="limits: {edge: 9}")
    findings = found(text, "head-seat")
    assert bool(findings) is wrong
    if wrong:
        assert findings[0].found == pytest.approx(x - BORE)
        assert findings[0].features == ("beam.1", "shoe.1")


def test_two_cones_from_both_sides_lean_away_from_each_other() -> None:
    """In 12 mm two cones of 4.46 mm leave 3.08 mm of height between their ends, and more slanting: no finding."""
    text = plate(more=OTHER.format(head=FLAT, x=16.0))
    assert not found(text, "head-seat")


def test_a_recess_of_the_same_side_may_not_cut_a_seat() -> None:
    more = (
        "  shoe:\n    side: near\n    looking_at: back\n    pattern: {points: [[40, 0]], hole: 9}\n"
        "    pilot: {diameter: 40, depth: 2, opening: recess, clearance: 0}\n    at: [X, 0]"
    )
    # mouth to 8.96, recess of 20 radius: 3.6 left from x = 32.56 on
    assert one(plate(more=more.replace("X", "32.4")), "head-seat").found == pytest.approx(32.4 - 20 - CONE / 2)
    assert not found(plate(more=more.replace("X", "32.6")), "head-seat")


# ---------------------------------------------------------------------------------- the seat


def test_a_head_in_a_wide_hole_sits_on_too_little_or_falls_through() -> None:
    assert not found(plate(hole=15.9), "head-seat")
    narrow = one(plate(hole=16), "head-seat")
    assert (narrow.level, narrow.found, narrow.needed) == ("warn", CONE, 18.0)
    assert one(plate(hole=18), "head-seat").level == "stop"


@pytest.mark.parametrize(("head", "level"), [(FLAT, "warn"), (LET_IN, "note")])
def test_a_seat_along_a_slot_is_milled(head: str, level: str) -> None:
    text = plate(head, take_up="take_up: {slots: {along: 0 deg, install: 3, tension: 9}}")
    finding = one(text, "head-seat")
    assert (finding.level, finding.found) == (level, pytest.approx(12.0))
    assert "12 mm along a slot" in finding.message
    for remedy in finding.remedies:
        text = with_value(text, remedy.field, remedy.value)
    assert not found(text, "head-seat")
    assert not found(plate(head), "head-seat")


# ---------------------------------------------------------------------------------- under a counterbore


def test_what_is_left_under_a_head_must_carry_the_preload() -> None:
    """By hand, with class 8.8 of ISO 898-1 tightened to three quarters of its proof load, and mild steel of 235 N/mm2.

    M8: 36.6 mm2 x 580 N/mm2 x 0.75 = 15.9 kN on a rim 13 mm wide, 235 / sqrt 3 = 136 N/mm2: 2.9 mm, so the usual 3 mm
    hold. M16: 157 mm2 x 580 x 0.75 = 68 kN on 24 mm, in a plate over 16 mm with its 225 N/mm2 (EN 10025-2): 6.96 mm.
    """
    assert not found(plate(LET_IN, thickness=11.01), "counterbore")
    assert one(plate(LET_IN, thickness=10.9), "counterbore").needed == 3.0
    large = plate(LET_IN, thickness=22.9, hole=17.5).replace("M8", "M16")
    finding = one(large, "counterbore")
    assert finding.needed == pytest.approx(0.75 * 580 * 156.7 / (math.pi * 24 * 225 / math.sqrt(3)), rel=0.003)
    assert finding.found == pytest.approx(6.9)
    assert "kN" in finding.message
    assert not found(large.replace("22.9", "23"), "counterbore")

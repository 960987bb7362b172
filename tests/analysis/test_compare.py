"""Two states of a plate: pairs, moves, sizes, what is new and gone. Every expected figure is the edit that was made."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from platekit.analysis.compare import Comparison, OpeningPair, compare
from platekit.layout import lay_out
from platekit.spec import loads

PLATE = """\
platekit: 1
title: Winder
units: mm
plate:
  material: mild steel
  thickness: 8
  outline: {polygon: {points: [[-90, -70], [200, -70], [200, 60], [40, 110], [-90, 80]], corner: [12, 12, 20, 30, 12]}}
  cutouts:
    cable: {circle: {diameter: 22}, at: [-62, -42]}
    drain: {slot: {length: 30, width: 10}, at: [20, -52]}
mounts:
  block:
    side: far
    looking_at: face
    pattern: {points: [[-40, -30], [35, -28], [30, 32]], hole: 11}
    bolts: {size: M10, into: part, depth: 40, washer: true}
  motor:
    side: near
    looking_at: face
    pattern: {points: [[-30, -22], [30, -22], [27, 22]], hole: 7}
    at: [105, -10]
    bolts: {size: M6, into: part, depth: 20}
cutting: {process: laser}
"""


def compared(*swaps: tuple[str, str]) -> Comparison:
    text = PLATE
    for old, new in swaps:
        assert text.count(old) == 1
        text = text.replace(old, new)
    return compare(lay_out(loads(PLATE, "old")), lay_out(loads(text, "new")))


def by_name(comparison: Comparison) -> dict[str, OpeningPair]:
    return {pair.name: pair for pair in comparison.changes}


def test_a_plate_differs_from_itself_in_nothing() -> None:
    same = compared()
    assert same.changes == ()
    assert same.same_steel
    assert same.same_paper
    assert same.mounts == ()


def test_a_title_changes_no_steel() -> None:
    renamed = compared(("title: Winder", "title: Rewinder"))
    assert renamed.same_steel
    assert renamed.old.spec.revision != renamed.new.spec.revision


def test_a_mount_takes_its_own_holes_along_and_no_others() -> None:
    moved = compared(("at: [105, -10]", "at: [107.5, -10.3]"))
    assert set(by_name(moved)) == {"motor.1", "motor.2", "motor.3"}
    for pair in moved.changes:
        assert pair.move == pytest.approx((2.5, -0.3))
        assert pair.distance == pytest.approx(math.hypot(2.5, 0.3))
    assert [(m.name, *m.move) for m in moved.mounts] == [("motor", pytest.approx(2.5), pytest.approx(-0.3))]


def test_one_hole_of_an_unsymmetric_pattern_moves_as_seen_from_the_near_side() -> None:
    # a motor on the near side, looked at on its face, is mirrored: more x in its own frame is less x on the plate
    moved = compared(("[30, -22], [27, 22]", "[31, -22], [27, 22]"))
    assert by_name(moved)["motor.2"].move == pytest.approx((-1.0, 0.0))
    assert len(moved.changes) == 1


def test_sizes_are_told_apart_from_moves() -> None:
    bigger = by_name(compared(("diameter: 22", "diameter: 25")))["cable"]
    assert (bigger.moved, bigger.reshaped) == (False, True)
    longer = by_name(compared(("length: 30", "length: 32")))["drain"]
    assert (longer.moved, longer.reshaped) == (False, True)
    turned = by_name(compared(("at: [20, -52]}", "at: [20, -52], turn: 5 deg}")))["drain"]
    assert (turned.moved, turned.reshaped) == (False, True)


def test_what_is_new_and_gone() -> None:
    comparison = compared(
        ("    cable: {circle: {diameter: 22}, at: [-62, -42]}\n", ""),
        ("[30, 32]], hole: 11", "[30, 32], [-38, 25]], hole: 11"),
    )
    assert {(pair.name, pair.kind) for pair in comparison.changes} == {("block.4", "added"), ("cable", "removed")}


def test_a_hole_put_first_renumbers_the_others_and_moves_none() -> None:
    comparison = compared(("[[-40, -30], [35, -28]", "[[-38, 25], [-40, -30], [35, -28]"))
    assert [(pair.name, pair.kind) for pair in comparison.changes] == [("block.1", "added")]
    assert {pair.name for pair in comparison.pairs if pair.renamed} == {"block.2", "block.3", "block.4"}


def test_a_cut_out_under_another_name_is_the_nearest_one() -> None:
    comparison = compared(
        ("    cable: {circle: {diameter: 22}, at: [-62, -42]}", "    hose: {circle: {diameter: 22}, at: [-60, -42]}")
    )
    (pair,) = comparison.changes
    assert pair.old is not None
    assert (pair.old.name, pair.name, pair.move) == ("cable", "hose", pytest.approx((2.0, 0.0)))


def test_outline_and_thickness() -> None:
    comparison = compared(("[200, -70], [200, 60]", "[203, -70], [203, 60]"), ("thickness: 8", "thickness: 10"))
    assert comparison.outline is not None
    assert (comparison.outline.right, comparison.outline.left) == (pytest.approx(3.0), pytest.approx(0.0))
    assert comparison.thickness == (8.0, 10.0)
    thicker = compared(("thickness: 8", "thickness: 10"))
    assert (thicker.same_paper, thicker.same_steel) == (True, False)


def test_another_way_of_making_is_a_change() -> None:
    (pair, *_) = compared(("depth: 40, washer: true}", "depth: 40, washer: true, made: drill}")).changes
    assert pair.remade is not None
    assert "drill" in pair.remade[1]


@settings(max_examples=25)
@given(
    dx=st.integers(-80, 80).map(lambda n: n / 10),
    dy=st.integers(-80, 80).map(lambda n: n / 10),
    turn=st.integers(-40, 40),
)
def test_back_and_forth_are_opposite(dx: float, dy: float, turn: int) -> None:
    text = PLATE.replace("at: [105, -10]", f"at: [{105 + dx}, {-10 + dy}]\n    turn: {turn} deg")
    old, new = lay_out(loads(PLATE, "old")), lay_out(loads(text, "new"))
    there, back = compare(old, new), compare(new, old)
    ways = {pair.name: pair.move for pair in there.changes}
    for pair in back.changes:
        assert pair.move == pytest.approx((-ways[pair.name][0], -ways[pair.name][1]), abs=1e-9)
    assert len(there.changes) == len(back.changes)


def test_the_same_blank_bent_the_other_way_is_another_plate() -> None:
    near, far = (
        loads(PLATE.replace("  cutouts:", f"  flange: {{edge: bottom, height: 40, towards: {side}}}\n  cutouts:"), "w")
        for side in ("near", "far")
    )
    found = compare(lay_out(near), lay_out(far))
    assert found.outline is None
    assert not found.same_steel
    assert not found.same_paper
    assert found.flange is not None
    assert [one.side for one in found.flange if one is not None] == ["near", "far"]
    assert compare(lay_out(near), lay_out(near)).flange is None

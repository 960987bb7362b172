"""How each opening is made: one plate for every question, on both sides of each limit."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platekit.cutting import Operations, capability_of, operations_of, words_of
from platekit.errors import SpecError
from platekit.export.exact import slices
from platekit.export.solid_step import exact_volume
from platekit.geometry import Disc
from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import loads
from platekit.tables.processes import process_names

PLATE = """\
platekit: 1
title: Reel stand
units: mm
plate:
  material: mild steel
  thickness: {thickness}
  outline: {{rectangle: {{width: 500, height: 400}}}}
  cutouts:
    {cutouts}
mounts:
  bracket:
    side: far
    looking_at: face
    pattern: {{rectangle: {{width: 200, height: 140{hole}}}}}
    {pilot}
    bolts: {{{bolts}}}
    {more}
cutting: {{process: {process}}}
"""


def layout_of(
    thickness: float | str = 10,
    process: str = "plasma",
    bolts: str = "size: M8, into: part, depth: 20",
    hole: str = "",
    pilot: str = "",
    cutouts: str = "window: {rectangle: {width: 60, height: 40, corner: 5}, at: [180, 0]}",
    more: str = "",
) -> Layout:
    text = PLATE.format(
        thickness=thickness,
        process=process,
        bolts=bolts,
        hole=f", hole: {hole}" if hole else "",
        pilot=f"pilot: {{{pilot}}}" if pilot else "",
        cutouts=cutouts,
        more=more,
    )
    return lay_out(loads(text, "reel"))


def made(layout: Layout, name: str) -> Operations:
    return next(operations for operations in operations_of(layout) if operations.opening == name)


def test_small_screw_holes_are_marked_and_drilled() -> None:
    # plasma holds 1.5 x 10 = 15 mm; M8 normal is 9 mm
    operations = made(layout_of(), "bracket.1")
    assert operations.how == "mark and drill"
    assert (operations.drill, operations.cut, len(operations.marks)) == (9.0, None, 1)
    assert "15 mm" in operations.reason


def test_a_laser_cuts_the_same_hole_to_size() -> None:
    # ISO 9013 class 1 over 6.3 to 10, sizes 3-10: 0.25; taper 2 x 8 tan 0.4 deg = 0.11; 9 - 0.36 = 8.64 passes an M8
    layout = layout_of(8, "laser")
    operations = made(layout, "bracket.1")
    assert operations.how == "cut"
    assert operations.as_cut
    assert capability_of(layout).small_end(9.0) == pytest.approx(9 - 0.25 - 16 * math.tan(math.radians(0.4)))


def test_a_hole_whose_small_end_would_not_pass_is_cut_small_and_drilled() -> None:
    # M20 close fit is 21 mm: 21 - 1.1 - 20 tan 2 deg = 19.2 does not pass 20; 18 mm is held and left for the drill
    operations = made(layout_of(bolts="size: M20, into: part, depth: 40, fit: close"), "bracket.1")
    assert operations.how == "cut small and drill"
    assert isinstance(operations.cut, Disc)
    assert operations.cut.radius == 9.0
    assert (operations.steps[0].diameter, operations.drill, operations.small) == (18.0, 21.0, True)
    assert "20 mm must pass" in operations.reason


def test_where_the_smaller_hole_is_not_held_it_is_only_marked() -> None:
    # M16 close is 17 mm; 14 mm is under the 15 mm that plasma holds
    operations = made(layout_of(bolts="size: M16, into: part, depth: 40, fit: close"), "bracket.1")
    assert operations.how == "mark and drill"
    assert operations.drill == 17.0
    assert "16 mm must pass" in operations.reason


def test_a_wide_hole_is_left_as_cut() -> None:
    # 24 mm for an M20: 24 - 1.1 - 0.7 = 22.2
    assert made(layout_of(bolts="size: M20, into: part, depth: 40", hole="24"), "bracket.1").how == "cut"


@pytest.mark.parametrize("process", ["plasma", "oxy-fuel"])
def test_a_pilot_is_never_left_as_a_hot_cut(process: str) -> None:
    operations = made(layout_of(process=process, pilot="diameter: 90, depth: 3"), "bracket.pilot")
    assert operations.how == "cut small and bore"
    assert operations.steps[0].diameter == pytest.approx(90.2 - 2)
    assert [step.work for step in operations.steps] == ["cut", "bore"]
    assert operations.steps[-1].diameter == pytest.approx(90.2)


def test_an_opening_far_larger_than_the_pilot_only_lets_it_through() -> None:
    operations = made(layout_of(pilot="diameter: 90, depth: 3, clearance: 4"), "bracket.pilot")
    assert operations.how == "cut"


def test_a_laser_leaves_a_pilot_that_has_the_usual_clearance() -> None:
    assert made(layout_of(process="laser", pilot="diameter: 90, depth: 3"), "bracket.pilot").how == "cut"
    tight = made(layout_of(process="laser", pilot="diameter: 90, depth: 3, clearance: 0.1"), "bracket.pilot")
    assert tight.how == "cut small and bore"


def test_tapped_holes_are_drilled_whatever_cuts_the_rest() -> None:
    for process in ("plasma", "laser", "waterjet", "drill"):
        operations = made(layout_of(process=process, bolts="size: M8, into: plate, flange: 8"), "bracket.1")
        assert operations.how == "mark, drill and tap"
        assert words_of(operations) == "mark; drill 6.8 mm; tap M8"


def test_a_recess_is_bored_from_its_side() -> None:
    operations = made(layout_of(pilot="diameter: 90, depth: 3, opening: recess, clearance: 0.1"), "bracket.pilot")
    assert operations.how == "mark and bore"
    assert operations.steps[-1].side == "far"
    assert operations.steps[-1].depth == pytest.approx(3.5)
    assert operations.drill is None


def test_a_countersink_follows_the_hole_and_a_hard_edge_is_drilled_away() -> None:
    bolts = "size: M12, into: part, depth: 30, head: countersunk"
    soft = made(layout_of(thickness=8, process="waterjet", bolts=bolts), "bracket.1")
    assert soft.how == "cut and countersink"
    assert soft.steps[-1].side == "near"
    assert soft.steps[-1].angle_deg == 90
    hard = made(layout_of(thickness=8, process="plasma", bolts=bolts, hole="19"), "bracket.1")
    assert hard.how == "cut small, drill and countersink"
    assert "too hard to let the head in" in hard.reason


def test_a_head_let_in_is_counterbored_and_clamps_less() -> None:
    plain = layout_of(thickness=20, process="waterjet", bolts="size: M10, into: part, depth: 40, head: socket")
    sunk = layout_of(
        thickness=20, process="waterjet", bolts="size: M10, into: part, depth: 40, head: socket, counterbore: true"
    )
    operations = made(sunk, "bracket.1")
    assert operations.how == "cut and counterbore"
    # ISO 4762: the head of an M10 is 16 mm wide and 10 mm high
    assert (operations.steps[-1].diameter, operations.steps[-1].depth, operations.steps[-1].side) == (
        17.0,
        10.0,
        "near",
    )
    assert words_of(operations) == "cut; counterbore 17 mm, 10 mm deep from the near side"
    (high,), (low,) = plain.stacks, sunk.stacks
    assert (high.grip, low.grip, low.let_in) == (20.0, 10.0, 10.0)
    assert not [body for body in sunk.bodies if body.kind == "head"]


def test_only_a_socket_head_in_the_plate_is_let_in() -> None:
    with pytest.raises(SpecError, match=r"counterbore: found a hex head; leave counterbore out"):
        layout_of(bolts="size: M10, into: part, depth: 40, counterbore: true")
    with pytest.raises(SpecError, match=r"counterbore: found `into: plate`"):
        layout_of(bolts="size: M10, into: plate, flange: 8, head: socket, counterbore: true")


def test_a_pivot_is_reamed() -> None:
    take_up = "take_up: {swing: {about: [0, 160], tightens: clockwise, install: 3 deg, tension: 3 deg, pivot_hole: 16}}"
    operations = made(layout_of(more=take_up, thickness=8, process="laser", hole="9"), "bracket.pivot")
    assert operations.how == "mark, drill and ream"
    assert (operations.drill, operations.steps[-1].diameter) == (pytest.approx(15.7), 16.0)


def test_a_pivot_too_small_to_ream_is_drilled_to_size() -> None:
    take_up = (
        "take_up: {swing: {about: [0, 160], tightens: clockwise, install: 3 deg, tension: 3 deg, pivot_hole: 0.2}}"
    )
    operations = made(layout_of(more=take_up, thickness=8, process="laser", hole="9"), "bracket.pivot")
    assert (operations.how, operations.drill) == ("mark and drill", pytest.approx(0.2))
    assert "too small to ream" in operations.reason


def test_slots_are_cut() -> None:
    take_up = "take_up: {slots: {along: 0 deg, install: 5, tension: 10}}"
    operations = made(layout_of(more=take_up, bolts="size: M20, into: part, depth: 40"), "bracket.1")
    assert (operations.how, operations.reason) == ("cut", "plasma cuts a slot")


def test_what_the_spec_asks_for_is_done() -> None:
    drilled = made(layout_of(process="laser", bolts="size: M8, into: part, depth: 20, made: drill"), "bracket.1")
    assert (drilled.how, drilled.reason) == ("mark and drill", "asked for in the spec")
    cut = made(layout_of(bolts="size: M8, into: part, depth: 20, made: cut"), "bracket.1")
    assert (cut.how, cut.reason) == ("cut", "asked for in the spec")


def test_a_drill_press_cuts_nothing() -> None:
    take_up = "take_up: {slots: {along: 0 deg, install: 5, tension: 10}}"
    layout = layout_of(process="drill", pilot="diameter: 90, depth: 3, clearance: 2", more=take_up)
    assert all(operations.cut is None for operations in operations_of(layout))
    slot = made(layout, "bracket.1")
    assert slot.how == "mark, drill and file"
    assert len(slot.marks) == 2
    assert math.dist(*slot.marks) == pytest.approx(15)
    window = made(layout, "window")
    assert window.how == "mark, drill and file"


def test_large_round_holes_of_a_drill_press_are_bored() -> None:
    layout = layout_of(process="drill", cutouts="eye: {circle: {diameter: 26}, at: [180, 0]}")
    assert made(layout, "eye").how == "mark and bore"
    layout = layout_of(process="drill", cutouts="eye: {circle: {diameter: 25}, at: [180, 0]}")
    assert made(layout, "eye").how == "mark and drill"


@given(
    diameter=st.floats(1.0, 80.0),
    thickness=st.floats(1.0, 30.0),
    process=st.sampled_from(process_names()),
)
def test_any_round_hole_is_cut_or_marked_and_ends_at_its_size(diameter: float, thickness: float, process: str) -> None:
    layout = layout_of(thickness, process, cutouts=f"eye: {{circle: {{diameter: {diameter}}}, at: [180, 0]}}")
    operations = made(layout, "eye")
    eye = layout.opening("eye")
    assert (operations.cut is None) == bool(operations.marks)
    if operations.as_cut:
        assert operations.cut == eye.shape
    else:
        assert operations.steps[-1].diameter == eye.size
    if operations.cut is not None:
        assert operations.cut.area <= eye.shape.area + 1e-9


def test_what_the_table_leaves_and_the_hand_takes_make_the_finished_solid() -> None:
    layout = layout_of(pilot="diameter: 90, depth: 3", bolts="size: M20, into: part, depth: 40, fit: close")
    window = 60 * 40 - (4 - math.pi) * 25
    cut = window + math.pi / 4 * (88.2**2 + 4 * 18**2)
    by_hand = math.pi / 4 * (90.2**2 - 88.2**2 + 4 * (21**2 - 18**2))
    assert math.fsum(m.cut.area for m in operations_of(layout) if m.cut is not None) == pytest.approx(cut)
    # the solid is the finished part: what was cut, less what is drilled and bored afterwards
    assert exact_volume(slices(layout)) == pytest.approx((500 * 400 - cut - by_hand) * 10)


def test_words_have_the_unit_of_the_reader() -> None:
    layout = layout_of(pilot="diameter: 90, depth: 3")
    operations = made(layout, "bracket.pilot")
    assert words_of(operations) == "cut small to 88.2 mm; bore 90.2 mm"
    assert words_of(operations, "in").startswith("cut small to 3.47")


def test_a_hole_of_just_the_smallest_size_is_cut_whatever_the_last_bits() -> None:
    # 3/8 in of plasma holds 1-1/2 times the thickness, 9/16 in; in mm the two differ in the last bit
    layout = layout_of(thickness="3/8 in", hole="9/16 in")
    assert " is under the " not in made(layout, "bracket.1").reason


def test_reasons_and_drills_have_the_unit_of_the_spec() -> None:
    text = PLATE.format(
        thickness="3/8 in",
        process="plasma",
        bolts="size: 3/8-16, into: part, depth: 1",
        hole=", hole: 15/32 in",
        pilot="",
        cutouts="window: {rectangle: {width: 1, height: 1}, at: [5, 0]}",
        more="",
    )
    inches = text.replace("units: mm", "units: in").replace("width: 500, height: 400", "width: 15, height: 12")
    inches = inches.replace("width: 200, height: 140", "width: 7, height: 5")
    layout = lay_out(loads(inches, "reel.yaml"))
    operations = made(layout, "bracket.1")
    assert operations.reason == "0.469 in is under the 0.563 in that plasma holds in this plate"
    assert words_of(operations, "in") == "mark; drill 15/32 in"

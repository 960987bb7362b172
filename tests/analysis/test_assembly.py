"""The order of assembly: worked out, made impossible, covered screws, tools, and the way back to the old machine."""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

import platekit
from platekit.analysis.assembly import assembly, way_back
from platekit.checks import Finding
from platekit.laying.tools import screw_ends
from platekit.spec import with_value
from tests.checks import plates as plain

PLATE = """\
platekit: 1
title: Two parts on one plate
units: mm
plate: {{material: mild steel, thickness: 10, outline: {{rectangle: {{width: 600, height: 400}}}}}}
mounts:
  machine:
    side: far
    looking_at: face
    pattern: {{rectangle: {{width: 120, height: 120}}}}
    bolts: {machine}
    {old}
  motor:
    side: near
    looking_at: face
    pattern: {{rectangle: {{width: 80, height: 80}}}}
    at: [{x}, 0]
    bolts: {motor}
bodies:
{bodies}
cutting: {{process: laser}}
"""
INTO_PART = "{size: M8, into: part, depth: 20, thread_in: steel, washer: true}"
MOTOR = "  body: {carried_by: motor, shape: {rectangle: {width: 100, height: 100}}, span: [0, 200]}\n"


def laid_out(
    bodies: str = MOTOR, x: float = 160, machine: str = INTO_PART, motor: str = INTO_PART, old: str = "at: [0, 0]"
) -> platekit.Layout:
    text = PLATE.format(bodies=bodies, x=x, machine=machine, motor=motor, old=old)
    return platekit.lay_out(platekit.loads(text, "two.yaml"))


def findings(layout: platekit.Layout, rule: str) -> list[Finding]:
    return [finding for finding in platekit.check(layout).findings if finding.rule == rule]


def items(layout: platekit.Layout) -> list[str]:
    return [step.item for step in assembly(layout).steps]


# --------------------------------------------------------------------------------------------- order


def test_equal_layouts_share_one_order_and_a_changed_one_has_its_own() -> None:
    """The order is kept by what it depends on, not by which layout asked last."""
    frame = "  frame: {carried_by: machine, shape: {rectangle: {width: 500, height: 200}}, span: [9, 90]}\n"
    first = assembly(laid_out())
    assert [step.item for step in assembly(laid_out(MOTOR + frame)).steps] == ["motor", "machine"]
    assert [step.item for step in first.steps] == ["machine", "motor"]
    assert assembly(laid_out()) is first


def test_parts_that_do_not_disturb_each_other_go_on_as_the_spec_lists_them() -> None:
    layout = laid_out()
    assert items(layout) == ["machine", "motor"]
    first, second = assembly(layout).steps
    assert (first.side, first.head_side, first.size, first.tools) == ("far", "near", "M8", ("socket",))
    assert second.screws == ("motor.1", "motor.2", "motor.3", "motor.4")
    assert not findings(layout, "order")


def test_screws_under_a_part_that_stands_on_spacers_are_covered_and_their_part_goes_on_first() -> None:
    # the body overhangs machine.2 and machine.4 at x = 60, 9 mm above the plate: clear of the heads, not of a tool
    over = "  body: {carried_by: motor, shape: {rectangle: {width: 220, height: 160}}, span: [9, 200]}\n"
    layout = laid_out(over, x=130)
    assert items(layout) == ["machine", "motor"]
    (note,) = findings(layout, "order")
    assert note.level == "note"
    covered = assembly(layout).steps[0].covered
    assert len(covered) == 2
    assert set(covered) < set(note.features)
    assert not findings(layout, "clash")


def test_a_machine_that_covers_the_motors_screws_lets_the_motor_go_on_first() -> None:
    frame = "  frame: {carried_by: machine, shape: {rectangle: {width: 500, height: 200}}, span: [9, 90]}\n"
    layout = laid_out(MOTOR + frame)
    assert items(layout) == ["motor", "machine"]
    assert {step.item: bool(step.covered) for step in assembly(layout).steps} == {"motor": True, "machine": False}


def test_two_parts_that_cover_each_other_have_no_order_and_moving_one_away_opens_the_circle() -> None:
    both = (
        "  body: {carried_by: motor, shape: {rectangle: {width: 220, height: 160}}, span: [9, 200]}\n"
        "  frame: {carried_by: machine, shape: {rectangle: {width: 500, height: 200}}, span: [9, 90]}\n"
    )
    layout = laid_out(both, x=130)
    found = assembly(layout)
    assert not found.possible
    assert not found.steps
    assert {one.item for one in found.circle} == {"machine", "motor"}
    (stop,) = findings(layout, "order")
    assert stop.level == "stop"
    text = layout.spec.text
    assert stop.remedies
    for remedy in stop.remedies:
        text = with_value(text, remedy.field, remedy.value)
    freed = platekit.lay_out(platekit.loads(text, "two.yaml"))
    assert assembly(freed).possible
    assert not [one for one in findings(freed, "order") if one.level == "stop"]


def test_a_part_cannot_be_brought_in_past_what_is_fixed_to_the_plate() -> None:
    # a lip over the motor's flange: clear of it in place, in its way coming in
    flange = "  body: {carried_by: motor, shape: {rectangle: {width: 100, height: 100}}, span: [0, 12]}\n"
    lip = (
        "  lip: {carried_by: plate, side: near, shape: {rectangle: {width: 30, height: 100}, at: [220, 0]}, "
        "span: [16, 20]}\n"
    )
    layout = laid_out(flange + lip)
    assert not findings(layout, "clash")
    (stop,) = findings(layout, "order")
    assert stop.level == "stop"
    assert "straight in" in stop.message
    further = laid_out(flange + lip.replace("[220, 0]", "[226, 0]"))
    assert not findings(further, "order")


def test_a_ring_that_overhangs_must_go_on_after_what_it_would_lock_in() -> None:
    # the machine's hook reaches over the near side and above the motor's edge: the motor comes first
    hook = (
        "  hook: {carried_by: machine, shape: {rectangle: {width: 20, height: 20}, at: [220, 0]}, span: [-40, -34]}\n"
    )
    flange = "  body: {carried_by: motor, shape: {rectangle: {width: 110, height: 100}}, span: [0, 12]}\n"
    found = assembly(laid_out(flange + hook))
    assert any(one.bodies for one in found.circle) or found.steps[0].item == "motor"


def test_a_body_past_the_plate_that_does_not_fit_through_goes_on_later() -> None:
    wheel = "  wheel: {carried_by: machine, shape: {circle: {diameter: 60}}, span: [-40, -20]}\n"
    (warning,) = findings(laid_out(MOTOR + wheel), "order")
    assert warning.level == "warn"
    assert "wheel" in warning.features
    shaft = "  wheel: {carried_by: machine, shape: {circle: {diameter: 60}}, span: [-40, 0], relief: auto}\n"
    assert not findings(laid_out(MOTOR + shaft), "order")


# --------------------------------------------------------------------------------------------- tools

NUT = "{size: M8, into: nut, flange: 12, washer: true}"


def with_wall(distance: float, height: float = 200) -> platekit.Layout:
    """A wall on the motor's own side, so far from the middle of two of its screws (x = 200)."""
    wall = (
        f"  wall: {{carried_by: motor, shape: {{rectangle: {{width: 10, height: 200}}, at: [{45 + distance}, 0]}}, "
        f"span: [12, {height}]}}\n"
    )
    return laid_out(wall, motor=NUT.replace("into: nut", "into: nut, head: hex"))


def test_a_socket_needs_its_own_radius_and_a_little_room() -> None:
    # a socket on M8 is 1.25 x 13 + 3 = 19.25 mm outside
    assert assembly(with_wall(9.625 + 0.6)).steps[-1].tools == ("socket",)
    ends = [end for end in screw_ends(with_wall(30)) if end.mount == "motor"]
    assert {end.what for end in ends} == {"head", "nut"}
    assert {end.outer for end in ends} == {19.25}


def test_where_no_socket_fits_a_spanner_that_finds_its_swing_will_do() -> None:
    # too near for the socket (9.6) and for a ring (0.8 x 13 = 10.4): the nut is held, the head on the other side turned
    assert not findings(with_wall(8.6), "reach")
    # head and nut both walled in: a lid over the heads leaves 20 mm, no socket; a spanner swings under it
    square = "{rectangle: {width: 200, height: 200}, at: [160, 0]}"
    low = laid_out(f"{MOTOR}  lid: {{carried_by: plate, side: far, shape: {square}, span: [20, 60]}}\n")
    assert assembly(low).steps[-1].tools == ("spanner",)
    assert not findings(low, "reach")


def test_a_screw_that_no_tool_reaches_stops_the_plate_and_the_advice_frees_it() -> None:
    square = "{rectangle: {width: 90, height: 90}, at: [160, 0]}"
    walled = laid_out(f"{MOTOR}  box: {{carried_by: plate, side: far, shape: {square}, span: [9, 60]}}\n")
    (stop,) = findings(walled, "reach")
    assert stop.level == "stop"
    assert set(stop.features) >= {"motor.1", "motor.2", "motor.3", "motor.4", "box"}
    text = walled.spec.text
    for _ in range(4):
        for remedy in stop.remedies:
            text = with_value(text, remedy.field, remedy.value)
        left = findings(platekit.lay_out(platekit.loads(text, "two.yaml")), "reach")
        if not left:
            return
        stop = left[0]
    pytest.fail("the advice leads nowhere")


def test_the_frame_of_a_standard_part_never_hides_its_own_screws() -> None:
    text = """\
platekit: 1
title: A motor on feet
units: mm
plate: {material: mild steel, thickness: 12, outline: {rectangle: {width: 500, height: 500}}}
mounts:
  motor: {side: near, pattern: {standard: NEMA 56}, bolts: {size: M8, into: nut, flange: 6, washer: true}}
"""
    layout = platekit.lay_out(platekit.loads(text, "feet.yaml"))
    assert not findings(layout, "reach")
    assert not findings(layout, "clash")


# --------------------------------------------------------------------------------------------- way back


def test_the_way_back_is_the_reverse_and_names_what_stays() -> None:
    back = way_back(laid_out())
    assert back.mounts == ("machine",)
    assert [step.item for step in back.off] == ["motor", "machine"]
    assert back.whole
    drilled = laid_out(old="new_holes: [3]")
    assert way_back(drilled).lasting == ("machine.3",)
    (warning,) = findings(drilled, "new-holes")
    assert warning.level == "warn"
    assert warning.features == ("machine.3",)
    (stop,) = findings(laid_out(old="new_holes: [9]"), "new-holes")
    assert stop.level == "stop"
    assert "machine.1, machine.2, machine.3 and machine.4" in stop.advice.text


def test_a_measured_hole_that_the_screw_does_not_pass_would_have_to_be_drilled_up() -> None:
    measured = """\
platekit: 1
title: Old holes
units: mm
plate: {material: mild steel, thickness: 10, outline: {rectangle: {width: 400, height: 300}}}
mounts:
  machine:
    side: far
    looking_at: face
    pattern:
      measured:
        holes: {A: DIA, B: DIA, C: DIA}
        readings: [[A, B, centres, 100], [B, C, centres, 80], [A, C, centres, 128]]
        clockwise: [A, B, C]
    bolts: {size: M8, into: nut, flange: 8, washer: true}
"""
    small = platekit.lay_out(platekit.loads(measured.replace("DIA", "7.8"), "old.yaml"))
    (warning,) = findings(small, "new-holes")
    assert set(warning.features) == {"machine.A", "machine.B", "machine.C"}
    assert not findings(platekit.lay_out(platekit.loads(measured.replace("DIA", "9"), "old.yaml")), "new-holes")


@pytest.mark.parametrize("name", ["seed-grader", "dough-mixer", "apple-mill"])
def test_the_order_at_nominal_is_that_of_a_layout_that_does_not_travel(name: str) -> None:
    layout = platekit.lay_out(platekit.load(Path(platekit.__file__).parents[1] / "specs" / f"{name}.yaml"))
    bodies = tuple(replace(body, swept=body.shape, travel=None) for body in layout.bodies)
    mounts = {each: replace(mount, travel=None) for each, mount in layout.mounts.items()}
    assert assembly(layout, at_nominal=True) == assembly(replace(layout, bodies=bodies, mounts=mounts))


@pytest.mark.parametrize(
    ("steps", "caught"),
    [
        # the pilot's opening lets some 80 mm through
        ("{diameter: 30, span: [-20, 0]}, {diameter: 95, span: [-40, -20]}", True),
        ("{diameter: 30, span: [-20, 0]}, {diameter: 70, span: [-40, -20]}", False),
        ("{diameter: 70, span: [-40, 0]}", False),
    ],
)
def test_a_plate_does_not_slip_over_a_collar_wider_than_its_opening(steps: str, caught: bool) -> None:
    nose = f"bodies:\n  nose: {{carried_by: machine, steps: [{steps}]}}\n"
    text = plain.changed(("bodies:\n", nose))
    found = platekit.check(platekit.lay_out(platekit.loads(text, "plate.yaml"))).findings
    assert [one.features[0] for one in found if one.rule == "order"] == ["nose"] * caught

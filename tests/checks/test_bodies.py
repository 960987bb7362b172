"""Clashes over the travel: limits, places, positions, kinds of body, and the mixer with its oil cup."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from msgspec.structs import replace

import platekit
from platekit.checks import LIVE, Finding
from platekit.checks.finding import NO_ADVICE
from platekit.spec import with_value
from tests.checks import drives, plates

SPECS = Path(__file__).parents[2] / "specs"

PLATE = """\
platekit: 1
title: Two slides on one plate
units: mm
plate: {{material: mild steel, thickness: 10, outline: {{rectangle: {{width: 900, height: 500}}}}}}
mounts:
  left:
    side: near
    looking_at: face
    pattern: {{rectangle: {{width: 60, height: 60}}}}
    at: [-200, 0]
    bolts: {{size: M6, into: part, depth: 16, thread_in: steel, washer: true}}
    {left}
  right:
    side: near
    looking_at: face
    pattern: {{rectangle: {{width: 60, height: 60}}}}
    at: [200, 0]
    bolts: {{size: M6, into: part, depth: 16, thread_in: steel, washer: true}}
    {right}
bodies:
{bodies}
cutting: {{process: laser}}
"""
ROUND = """\
  a: {carried_by: left, shape: {circle: {diameter: 80}}, span: [0, 100], gap: 3}
  b: {carried_by: right, shape: {circle: {diameter: 80}}, span: [0, 100], gap: 2}
"""


def clashes(bodies: str, left: str = "turn: 0 deg", right: str = "turn: 0 deg") -> list[Finding]:
    text = PLATE.format(bodies=bodies, left=left, right=right)
    layout = platekit.lay_out(platekit.loads(text, "slides.yaml"))
    return [finding for finding in platekit.check(layout).findings if finding.rule == "clash"]


def slots(install: float, tension: float, along: str = "0 deg") -> str:
    return f"take_up: {{slots: {{along: {along}, install: {install}, tension: {tension}}}}}"


# --------------------------------------------------------------------------------------------- travel


def test_both_mounts_travel_independently_and_both_positions_are_told() -> None:
    # 400 apart less 2 x 40 = 320; 180 + 137 leave exactly the larger gap of 3
    assert not clashes(ROUND, slots(0, 180), slots(137, 0))
    (finding,) = clashes(ROUND, slots(0, 180), slots(137.001, 0))
    assert finding.found == pytest.approx(2.999, abs=1e-9)
    assert finding.needed == 3
    assert finding.at == pytest.approx((200 - 137.001 - 40 - 2.999 / 2, 0), abs=1e-6)
    positions = {one.mount: (one.at, one.unit) for one in finding.positions}
    assert positions["left"] == (pytest.approx(180), "mm")
    assert positions["right"] == (pytest.approx(-137.001), "mm")
    assert "left 180 mm towards tension" in finding.message
    assert "right 137 mm towards installing" in finding.message


def test_the_hardest_position_may_lie_inside_the_travel() -> None:
    # a slides past a post fixed to the plate: nearest when level with it, 12 mm on
    post = "  post: {carried_by: plate, side: near, shape: {circle: {diameter: 10}, at: [-188, 48]}, span: [0, 50]}\n"
    assert not clashes(ROUND + post, slots(10, 30))
    further = post.replace("[-188, 48]", "[-188, 47.5]")
    (finding,) = clashes(ROUND + further, slots(10, 30))
    assert finding.found == pytest.approx(47.5 - 40 - 5, abs=1e-9)
    assert finding.positions[0].at == pytest.approx(12, abs=1e-6)


def test_a_swing_is_told_in_degrees() -> None:
    swing = "take_up: {swing: {about: [-200, -150], tightens: clockwise, install: 2 deg, tension: 30 deg}}"
    # a's centre runs on a circle of 150 about the pivot; a post stands 60 mm outside it, 20 degrees to the right
    angle = math.radians(90 - 20)
    x, y = -200 + (150 + 40 + 2 + 5) * math.cos(angle), -150 + (150 + 40 + 2 + 5) * math.sin(angle)
    shape = f"{{circle: {{diameter: 10}}, at: [{x}, {y}]}}"
    post = f"  post: {{carried_by: plate, side: near, shape: {shape}, span: [0, 50]}}\n"
    (finding,) = clashes(ROUND + post, swing)
    assert finding.found == pytest.approx(2.0, abs=1e-6)
    (position,) = finding.positions
    assert (position.mount, position.unit) == ("left", "deg")
    assert position.at == pytest.approx(20, abs=1e-6)


def test_bodies_of_one_mount_and_those_meant_to_touch_are_no_clash() -> None:
    inside = "  core: {carried_by: left, shape: {circle: {diameter: 20}}, span: [0, 50]}\n"
    assert not clashes(ROUND + inside)
    near = "  pad: {carried_by: plate, side: near, shape: {circle: {diameter: 20}, at: [-150, 0]}, span: [40, 50]"
    assert clashes(ROUND + near + "}\n")
    assert not clashes(ROUND + near + ", touches: [a]}\n")


# --------------------------------------------------------------------------------------------- kinds


def test_a_motor_lying_on_its_feet_passes_a_post_that_a_box_would_not() -> None:
    motor = "  motor: {carried_by: left, lying: {diameter: 120, length: 160, height: 71}, gap: 2}\n"
    # 55 beside the axis and 20 high: sqrt(51^2 + 50^2) - 60 = 11.4 away, though inside the box round the cylinder
    post = "  post: {carried_by: plate, side: near, shape: {circle: {diameter: 10}, at: [-200, 55]}, span: [0, HIGH]}\n"
    assert not clashes(motor + post.replace("HIGH", "20"))
    # the post's inner edge is 50 off the axis: 2 mm are left at 71 - sqrt(62^2 - 50^2) = 34.34
    limit = 71 - math.sqrt(62**2 - 50**2)
    assert not clashes(motor + post.replace("HIGH", f"{limit - 0.01:.3f}"))
    (finding,) = clashes(motor + post.replace("HIGH", f"{limit + 0.01:.3f}"))
    assert finding.found == pytest.approx(2, abs=0.02)


def test_a_cone_is_judged_by_its_slope() -> None:
    cone = "  horn: {carried_by: left, steps: [{diameter: [20, 80], span: [0, 60]}], gap: 2}\n"
    post = "  post: {carried_by: plate, side: near, shape: {circle: {diameter: 10}, at: [AT, 0]}, span: [0, 60]}\n"
    assert clashes(cone + post.replace("AT", "-153.1"))
    assert not clashes(cone + post.replace("AT", "-152.9"))
    low = post.replace("60]", "10]")
    # at 10 high the cone is 15 wide; square to a slope of 30 in 60 the distance is cos(atan(1/2)) of the level one
    level = 2 / math.cos(math.atan(0.5))
    assert clashes(cone + low.replace("AT", f"{-200 + 15 + 5 + level - 0.01}"))
    assert not clashes(cone + low.replace("AT", f"{-200 + 15 + 5 + level + 0.01}"))


def test_following_the_advice_leaves_no_clash() -> None:
    bodies = (
        ROUND
        + "  post: {carried_by: plate, side: near, shape: {circle: {diameter: 30}, at: [-150, 10]}, span: [0, 50]}\n"
    )
    text = PLATE.format(bodies=bodies, left=slots(10, 30), right=slots(5, 5))
    for _ in range(6):
        layout = platekit.lay_out(platekit.loads(text, "slides.yaml"))
        found = [finding for finding in platekit.check(layout).findings if finding.rule == "clash"]
        if not found:
            return
        assert found[0].remedies
        for remedy in found[0].remedies:
            text = with_value(text, remedy.field, remedy.value)
    pytest.fail("the advice leads nowhere")


# --------------------------------------------------------------------------------------------- mixer


def test_the_mixer_with_its_oil_cup() -> None:
    text = (SPECS / "dough-mixer.yaml").read_text("utf-8")
    assert platekit.check(platekit.lay_out(platekit.loads(text, "dough-mixer.yaml"))).clear
    without = text.replace("relief: auto", "relief: none", 1)
    assert without != text
    verdict = platekit.check(platekit.lay_out(platekit.loads(without, "dough-mixer.yaml")))
    assert not verdict.clear
    (blocked,) = [finding for finding in verdict.findings if finding.rule == "blocked"]
    assert blocked.features == ("oil cup",)
    assert "30 mm x 30 mm" in blocked.advice.text
    (remedy,) = blocked.remedies
    restored = with_value(without, remedy.field, remedy.value)
    assert platekit.check(platekit.lay_out(platekit.loads(restored, "dough-mixer.yaml"))).clear


# --------------------------------------------------------------------------------------------- one axis

ADAPTER = """\
platekit: 1
title: Pump on a gearbox
units: mm
plate: {material: mild steel, thickness: 10}
mounts:
  gearbox:
    side: far
    looking_at: face
    pattern: {circle: {count: 4, diameter: 165, start: 45 deg}}
    pilot: {diameter: 76, depth: 4}
    bolts: {size: M10, into: part, depth: 24, washer: true}
  pump:
    side: near
    looking_at: face
    pattern: {circle: {count: 2, diameter: 146}}
    pilot: {diameter: 100, depth: 9}
    bolts: {size: M8, into: plate, flange: 12, washer: true}
cutting: {process: laser, kerf: 0.3}
"""


def stops(text: str, rule: str) -> list[Finding]:
    verdict = platekit.check(platekit.lay_out(platekit.loads(text, "adapter.yaml")))
    return [finding for finding in verdict.findings if finding.rule == rule and finding.level == "stop"]


@pytest.mark.parametrize("rule", ["clash", "overlap"])
def test_parts_on_one_axis_are_not_moved_aside(rule: str) -> None:
    (found,) = stops(ADAPTER, rule)
    assert "move " not in found.advice.text
    (remedy,) = found.remedies
    assert remedy.field.endswith("standoff" if rule == "clash" else "pilot")
    assert not stops(with_value(ADAPTER, remedy.field, remedy.value), rule)


def test_spigots_on_one_axis_overlap_by_what_both_are_deeper_than_the_plate() -> None:
    # 4 and 9 deep in a plate of 10: 3 too much
    (found,) = stops(ADAPTER, "clash")
    assert "shorten one by 3 mm" in found.advice.text
    assert "is needed" not in found.message
    assert found.remedies[0].value == pytest.approx(3.0)


def test_what_stands_still_and_is_said_to_touch_what_turns_is_told() -> None:
    pin = "shape: {circle: {diameter: 10}, at: [80, 180]}, span: [0, 60], touches: [drive.belt 1, drive.belt 2]"
    for turns, told in (("", 1), ("turns: true, ", 0)):
        text = drives.changed(("bodies:\n", f"bodies:\n  pin: {{carried_by: plate, side: far, {turns}{pin}}}\n"))
        found = platekit.check(platekit.lay_out(platekit.loads(text, "p.yaml"))).findings
        assert len([one for one in found if one.rule == "clash" and one.level == "warn"]) == told


TWO = (
    "bodies:\n"
    "  NAME: {carried_by: motor, shape: {circle: {diameter: 30}}, span: [160, 200], touches: [STILL]TURNS}\n"
    "  STILL: {carried_by: plate, side: near, shape: {rectangle: {width: 60, height: 20}, at: [170, APART]}, "
    "span: [170, 190]}\n"
)
"""A round part on the motor's axis, of radius 15, and a bar 20 wide on the plate."""


@pytest.mark.parametrize(
    ("name", "still", "turns", "apart", "told"),
    [
        ("stub shaft", "stop", "", 20, True),
        ("shaft end 2", "stop", "", 20, True),
        ("coupling", "stop", "", 20, True),
        ("cooling fan", "stop", "", 20, True),
        ("stub", "stop", ", turns: true", 20, True),
        ("stub", "stop", "", 20, False),  # nothing says that it turns
        ("stub shaft", "stop", ", turns: false", 20, False),
        ("fan cover", "stop", "", 20, False),
        ("stub shaft", "end bearing", "", 20, False),  # that is what it runs in
        ("stub shaft", "brake band", "", 20, False),
        ("stub shaft", "stop", "", 25, True),  # 15 and 10: they lie against each other
        ("stub shaft", "stop", "", 25.1, False),
    ],
)
def test_what_turns_and_is_said_to_touch_what_stands_still_is_told(
    name: str, still: str, turns: str, apart: float, told: bool
) -> None:
    two = TWO.replace("NAME", name).replace("STILL", still).replace("TURNS", turns).replace("APART", str(apart))
    text = plates.changed(("bodies:\n", two))

    def rubbing(text: str) -> list[Finding]:
        found = platekit.check(platekit.lay_out(platekit.loads(text, "p.yaml"))).findings
        return [one for one in found if one.rule == "clash" and one.level == "warn"]

    found = rubbing(text)
    assert bool(found) is told
    if told:
        assert set(found[0].features) == {name, still}
        assert "is said to touch" in found[0].message
        # the advice, followed: the gap is checked again
        text = text.replace(f", touches: [{still}]", "")
        assert not rubbing(text)
        assert stops(text, "clash")


@pytest.mark.parametrize("name", ["wrong-on-purpose", "winnowing-fan"])
def test_a_drag_tells_every_clash_though_not_what_would_end_it(name: str) -> None:
    spec = platekit.load(SPECS / f"{name}.yaml")
    if name == "winnowing-fan":
        spec = platekit.loads(with_value(spec.text, "mounts.motor.turn", "3 deg"), "fan.yaml")
    layout = platekit.lay_out(spec)
    whole, live = (
        {one.features[:2]: one for one in platekit.check(layout, rules).findings if one.rule == "clash"}
        for rules in (None, LIVE)
    )
    assert live
    assert live.keys() == whole.keys()
    for pair, one in live.items():
        full = whole[pair]
        assert one.found is not None
        assert full.found is not None
        # of bodies in many pieces it may be told at another place than the deepest
        if one.found < 0 and any(body.pieces for body in layout.bodies if body.name in pair):
            assert full.found <= one.found
            assert one.level == full.level == "stop"
        else:
            as_told = {"advice": NO_ADVICE, "others": (), "positions": (), "message": ""}
            assert replace(one, **as_told) == replace(full, **as_told)

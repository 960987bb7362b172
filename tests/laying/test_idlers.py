"""Idlers: where they go, given or by the wrap that is wanted, how far they travel, and over shafts along the plate."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import platekit
from platekit.analysis.parts_list import pieces_of
from platekit.drive.route import Wheel, route
from platekit.errors import SpecError
from platekit.geometry import Slot, Straight, Swing, pose_at
from platekit.placed import Layout, PlacedBelt
from tests.checks import drives, lying

PLACE = "at: {belt: {from: machine, angle: 90 deg}}"
SLOTS = "take_up: {slots: {along: belt, install: auto, tension: auto}}"
MOTOR_SLOTS = f"    {SLOTS}\n"
DRIVER = "  driver: {on: motor"
LONG = (
    ("pitch_length: 1000", "pitch_length: 1600"),
    ("{width: 420, height: 700, corner: 10}, at: [0, 200]", "{width: 1600, height: 1600, corner: 10}, at: [0, 300]"),
)
"""A belt long enough for an idler beside it, and a plate that holds it."""
FIXED = ((PLACE, "at: [0, 560]"), (MOTOR_SLOTS, ""))
"""The motor where it is, without slots: the idler has to tighten the belt."""
SHORTEST, LONGEST = 1600 - 11 - 2 * 0.015 * 1600, 1600 + 23 + 2 * 0.03 * 1600
"""DIN 2215 lets a belt of 1600 mm be 11 mm short or 23 mm long; ISO 155: 0.015 L to put it on, 0.03 L to tighten, each
of the centre distance, so twice in length."""


def idler(at: str, inside: str, more: str = "", on: str = "plate") -> tuple[str, str]:
    said = f"{{on: {on}, at: {at}, diameter: 106.5, inside: {inside}, span: [-50, -30]{more}}}"
    return (DRIVER, f"  idlers:\n    - {said}\n{DRIVER}")


def laid(text: str) -> Layout:
    return platekit.lay_out(platekit.loads(text, "drive.yaml"))


def drive(*swaps: tuple[str, str]) -> Layout:
    return laid(drives.changed(*LONG, *swaps))


def problem(text: str) -> str:
    with pytest.raises(SpecError) as caught:
        laid(text)
    assert caught.value.problems[0].line > 0
    return str(caught.value.problems[0])


def way_round(belt: PlacedBelt, s: float = 0.0) -> float:
    """Arcs and straight runs with all that travels at s."""
    wheels = [
        Wheel(
            *pose_at(one.travel, s if one.travel is not None else 0.0).point(one.center), one.pitch_diameter, one.inside
        )
        for one in belt.pulleys
    ]
    found = route(wheels)
    arcs = [wrap * wheel.diameter / 2 for wrap, wheel in zip(found.wraps, wheels, strict=True)]
    return math.fsum(arcs) + math.fsum(math.dist(span.start, span.end) for span in found.spans)


def wraps(belt: PlacedBelt) -> list[float]:
    wheels = [Wheel(*one.center, one.pitch_diameter, one.inside) for one in belt.pulleys]
    return [math.degrees(wrap) for wrap in route(wheels).wraps]


# --------------------------------------------------------------------------------------------- place


@given(
    st.sampled_from(["driver", "driven"]),
    st.sampled_from(["left", "right"]),
    st.integers(5, 120).map(lambda tenths: tenths / 10),
    st.integers(90, 160),
    st.integers(-180, 180),
)
@settings(max_examples=40)
def test_the_wrap_that_is_wanted_is_had(pulley: str, run: str, more: float, free: float, angle: float) -> None:
    plain = wraps(drive().belts[0])
    wanted = plain[1 if pulley == "driver" else 0] + more
    place = f"{{wrap: {{pulley: {pulley}, angle: {wanted} deg, free: {free}, run: {run}}}}}"
    belt = drive(
        (PLACE, f"at: {{belt: {{from: machine, angle: {angle} deg}}}}"), idler(place, "false"), (MOTOR_SLOTS, "")
    ).belts[0]
    found = wraps(belt)
    # without the idler both shafts were a little farther apart, so that the plain wrap was not quite the same
    assert found[2 if pulley == "driver" else 0] == pytest.approx(wanted, abs=1e-6)
    assert way_round(belt) == pytest.approx(1600, abs=1e-6)
    (ax, ay), (bx, by), (px, py) = belt.driven.center, belt.driver.center, belt.idlers[0].center
    on_the_left = (bx - ax) * (py - ay) - (by - ay) * (px - ax) > 0
    assert on_the_left == (run == "left")


def test_an_idler_inside_takes_wrap_away_and_one_on_the_back_gives_it() -> None:
    place = "{wrap: {pulley: driver, angle: ANGLE deg, free: 120, run: left}}"
    inside = drive(idler(place.replace("ANGLE", "150"), "true"), (MOTOR_SLOTS, "")).belts[0]
    assert wraps(inside)[2] == pytest.approx(150, abs=1e-6)
    said = problem(drives.changed(*LONG, idler(place.replace("ANGLE", "150"), "false")))
    assert "drive.idlers.0.at.wrap.angle" in said
    assert "say a larger wrap" in said
    said = problem(drives.changed(*LONG, idler(place.replace("ANGLE", "220"), "true")))
    assert "say a smaller wrap" in said
    upper = place.replace("left", "upper").replace("ANGLE", "220")
    assert "say left or right" in problem(drives.changed(*LONG, idler(upper, "false")))


def test_three_equal_wheels_take_a_belt_of_their_triangle_and_one_turn() -> None:
    text = drives.changed(
        *LONG,
        ("pitch_diameter: 71", "pitch_diameter: 106.5"),
        ("at: [0, 60], pitch_diameter: 250", "at: [0, 60], pitch_diameter: 106.5"),
        idler("[-150, 300]", "true"),
        (MOTOR_SLOTS, ""),
    )
    belt = laid(text).belts[0]
    (a, b, c) = (one.center for one in belt.pulleys)
    triangle = math.dist(a, b) + math.dist(b, c) + math.dist(c, a)
    assert triangle + math.pi * 106.5 == pytest.approx(1600, abs=1e-6)


@given(st.floats(86, 94), st.sampled_from([("[-70, 330]", "false"), ("[150, 300]", "true")]))
@settings(max_examples=15)
def test_a_driven_mount_that_its_belt_places_goes_where_the_driver_would_have_put_it(
    angle: float, told: tuple[str, str]
) -> None:
    first = drive(
        (PLACE, f"at: {{belt: {{from: machine, angle: {angle} deg}}}}"), idler(*told), (MOTOR_SLOTS, "")
    ).belts[0]
    x, y = first.driver.center
    pattern = "pattern: {circle: {count: 4, diameter: 120, start: 45 deg}}"
    back = drive(
        (PLACE, f"at: [{x:.12f}, {y:.12f}]"),
        (MOTOR_SLOTS, ""),
        idler(*told),
        (pattern, f"{pattern}\n    at: {{belt: {{from: motor, angle: {angle + 180} deg}}}}"),
    ).belts[0]
    assert back.driven.center == pytest.approx(first.driven.center, abs=1e-6)
    assert back.driver.center == pytest.approx(first.driver.center, abs=1e-9)


@pytest.mark.parametrize(("size", "area", "level"), [("M6", 20.1, "stop"), ("M10", 58.0, "warn"), ("M16", 157, "")])
def test_the_screw_of_an_idler_is_held_to_half_its_yield(size: str, area: float, level: str) -> None:
    """Bending on the stress area of ISO 898-1: force by lever over pi d^3 / 32; class 8.8 yields at 640 N/mm2."""
    text = drives.changed(*LONG, ("0.25 kW", "3 kW"), idler("[-150, 320]", "true", f", screw: {size}"))
    found = [one for one in platekit.check(laid(text)).findings if one.rule == "idler-pin"]
    assert [one.level for one in found] == ([level] if level else [])
    for one in found:
        said = re.search(
            r"with ([\d.]+) N, ([\d.]+) mm from .* that makes (\d+) N/mm2 .* (\d+) N/mm2 is half", one.message
        )
        assert said is not None
        force, lever, stress, allowed = map(float, said.groups())
        diameter = math.sqrt(4 * area / math.pi)
        assert stress == pytest.approx(force * lever / (math.pi * diameter**3 / 32), rel=0.002)
        assert allowed == 320


# -------------------------------------------------------------------------------------------- travel


def test_an_idler_in_its_own_slot_gives_the_belt_all_that_it_needs() -> None:
    layout = drive(*FIXED, idler("[-150, 320]", "true", f", screw: M16, {SLOTS}"))
    belt = layout.belts[0]
    placed = belt.idlers[0]
    travel = placed.travel
    assert isinstance(travel, Straight)
    assert way_round(belt, -travel.install) == pytest.approx(SHORTEST, abs=1e-5)
    assert way_round(belt, travel.tension) == pytest.approx(LONGEST, abs=1e-5)
    slot = layout.opening("drive idler 1 screw").shape
    # the list to buy has its screw, of a length that nobody here can know, and its nut
    bought = [(one.kind, one.size, one.open) for one in pieces_of(layout) if one.size == "M16"]
    assert bought == [("screw", "M16", ("length",)), ("nut", "M16", ())]
    assert isinstance(slot, Slot)
    assert math.dist(slot.a, slot.b) == pytest.approx(travel.install + travel.tension)
    assert slot.radius == pytest.approx(17.5 / 2)  # ISO 273, medium series, for M16
    assert not [f for f in platekit.check(layout).findings if f.rule in ("take-up", "idler-screw")]


def test_an_idler_on_an_arm_swings_as_far_as_the_belt_needs() -> None:
    swing = "take_up: {swing: {about: [-200, 560], tightens: clockwise, install: auto, tension: auto, pivot_hole: 12}}"
    layout = drive(*FIXED, idler("[-150, 320]", "true", f", {swing}"))
    belt = layout.belts[0]
    travel = belt.idlers[0].travel
    assert isinstance(travel, Swing)
    assert way_round(belt, -travel.install) == pytest.approx(SHORTEST, abs=1e-5)
    assert way_round(belt, travel.tension) == pytest.approx(LONGEST, abs=1e-5)
    assert layout.opening("drive idler 1 pivot").size == 12
    assert not [f for f in platekit.check(layout).findings if f.rule in ("take-up", "idler-screw")]


@pytest.mark.parametrize("key", ["install", "tension"])
def test_an_idler_that_does_not_travel_far_enough_is_told_and_let_have_what_it_needs(key: str) -> None:
    slots = SLOTS.replace(f"{key}: auto", f"{key}: 5")
    text = drives.changed(*LONG, *FIXED, idler("[-150, 320]", "true", f", screw: M16, {slots}"))
    (finding,) = [f for f in platekit.check(laid(text)).findings if f.rule == "take-up"]
    assert finding.needed == pytest.approx(SHORTEST if key == "install" else LONGEST)
    for remedy in finding.remedies:
        text = platekit.spec.with_value(text, remedy.field, remedy.value)
    assert not [f for f in platekit.check(laid(text)).findings if f.rule == "take-up"]


def test_motor_slots_over_an_idler_reach_both_ends_of_what_the_belt_needs() -> None:
    for angle in ("belt", "80 deg", "100 deg"):
        layout = drive(idler("[-70, 330]", "false"), ("along: belt", f"along: {angle}"))
        travel = layout.mounts["motor"].travel
        assert travel is not None
        assert way_round(layout.belts[0], -travel.install) == pytest.approx(SHORTEST, abs=1e-5)
        assert way_round(layout.belts[0], travel.tension) == pytest.approx(LONGEST, abs=1e-5)
        assert not [f for f in platekit.check(layout).findings if f.rule == "take-up" and f.level == "stop"]


def test_an_idler_that_cannot_give_so_much_is_refused_with_what_it_gives() -> None:
    said = problem(drives.changed(*LONG, *FIXED, idler("[-95, 310]", "false", f", screw: M16, {SLOTS}")))
    assert "drive.idlers.0.take_up.slots.tension" in said
    assert f"{LONGEST:.1f} mm" in said


def test_an_idler_on_a_mount_is_not_given_a_travel_of_its_own() -> None:
    text = drives.changed(*LONG, idler("[-150, 320]", "true", f", {SLOTS}", on="machine"))
    assert "give machine the take_up" in problem(text)


# -------------------------------------------------------------------------------------------- pin, size


def test_the_pin_is_bent_by_twice_the_tension_of_a_full_half_turn() -> None:
    from platekit.checks.idlers import idler_load, idler_pin

    layout = drive(*FIXED, ("power: 0.25 kW", "power: 3 kW"), idler("[-150, 320]", "true", ", screw: M8"))
    belt = layout.belts[0]
    forces = belt.result.forces
    assert forces is not None
    tension = max(forces.running.tight, 1.4 * forces.static_tension)
    wrap = wraps(belt)[1]
    load = idler_load(belt, belt.idlers[0])
    assert load is not None
    assert load == pytest.approx(2 * tension * math.sin(math.radians(wrap / 2)))
    (finding,) = idler_pin(layout)
    # M8: stress area 36.6 mm2 (ISO 898-1), so a bar of 6.83 mm; the rim's middle is 32 mm off the far face
    assert finding.found == pytest.approx(32 * load * 32 / (math.pi * 6.826**3), rel=1e-3)
    assert finding.needed == pytest.approx(320)  # half of what 8.8 yields at, 640 N/mm2 (ISO 898-1)
    text = drives.changed(*LONG, *FIXED, ("power: 0.25 kW", "power: 3 kW"), idler("[-150, 320]", "true", ", screw: M8"))
    for remedy in finding.remedies:
        text = platekit.spec.with_value(text, remedy.field, remedy.value)
    assert not list(idler_pin(laid(text)))


def test_an_idler_on_the_back_is_half_as_large_again_as_the_small_pulley() -> None:
    for diameter, found in (("106.5", False), ("104", True)):
        name, told = idler("[-70, 330]", "false", ", screw: M10")
        text = drives.changed(*LONG, (name, told.replace("106.5", diameter)))
        findings = [f for f in platekit.check(laid(text)).findings if f.rule == "idler-size"]
        assert bool(findings) == found
        for finding in findings:
            assert finding.needed == pytest.approx(1.5 * 71)
            for remedy in finding.remedies:
                text = platekit.spec.with_value(text, remedy.field, remedy.value)
            assert not [f for f in platekit.check(laid(text)).findings if f.rule == "idler-size"]


# ---------------------------------------------------------------------------------------- shafts that lie


BRACKET = """\
  bracket:
    side: near
    looking_at: face
    pattern: {points: [[-30, -30], [30, -30], [30, 30], [-30, 30]]}
    at: [100, 130]
    bolts: {size: M8, into: nut, flange: 10, washer: true}
drive:
"""


def over_shafts(height: str, inside: str, more: str = "", bracket: str = BRACKET) -> str:
    said = f"idlers: [{{on: bracket, at: [0, 0]{height}, diameter: 120, inside: {inside}, span: SEAT{more}}}]"
    said = said.replace("SEAT", "{width: 20, in_line: true}")
    return lying.changed(("drive:\n", bracket), ("  driver:", f"  {said}\n  driver:"))


def test_an_idler_over_shafts_along_the_plate_bends_its_belt_there() -> None:
    belt = laid(over_shafts(", height: 200", "false")).belts[0]
    assert belt.idlers[0].center == pytest.approx((100, 200))
    assert belt.idlers[0].plane == pytest.approx(belt.driven.plane)
    assert way_round(belt) == pytest.approx(1250, abs=1e-6)
    assert wraps(belt)[0] + wraps(belt)[2] > 360
    assert belt.driver.center[1] == pytest.approx(90)  # IEC 60072-1: shaft height of frame 90


def test_a_bracket_in_slots_tightens_a_belt_over_shafts_along_the_plate() -> None:
    slots = "    take_up: {slots: {along: belt, install: auto, tension: auto}}\ndrive:\n"
    bracket = BRACKET.replace("drive:\n", slots).replace("[100, 130]", "[165, 130]")
    text = over_shafts(", height: 215", "true", bracket=bracket)
    text = text.replace("at: {belt: {from: bed, angle: 0 deg}}", "at: [150, -36]").replace(f"    {SLOTS}\n", "", 1)
    layout = laid(text)
    belt = layout.belts[0]
    travel = layout.mounts["bracket"].travel
    assert isinstance(travel, Straight)
    assert travel.direction == pytest.approx((1, 0))
    # DIN 2215: 10 mm short, 19 mm long at 1250 mm; ISO 155
    assert way_round(belt, -travel.install) == pytest.approx(1250 - 10 - 2 * 0.015 * 1250, abs=1e-5)
    assert way_round(belt, travel.tension) == pytest.approx(1250 + 19 + 2 * 0.03 * 1250, abs=1e-5)
    assert not [f for f in platekit.check(layout).findings if f.rule == "take-up"]


def test_what_is_missing_for_an_idler_over_such_shafts_is_asked_for() -> None:
    assert "how high its axis is" in problem(over_shafts("", "false"))
    on_the_plate = over_shafts(", height: 200", "false").replace("on: bracket", "on: plate")
    assert "give the bracket that holds it a pattern" in problem(on_the_plate)
    by_wrap = over_shafts("", "false").replace(
        "at: [0, 0]", "at: {wrap: {pulley: driver, angle: 200 deg, free: 60, run: lower}}"
    )
    belt = laid(by_wrap).belts[0]
    assert wraps(belt)[2] == pytest.approx(200, abs=1e-6)
    assert belt.idlers[0].center[1] < 135
    assert "say upper or lower" in problem(by_wrap.replace("run: lower", "run: left"))
    assert "leave it out" in problem(drives.changed(*LONG, idler("[-70, 330]", "false", ", height: 40")))

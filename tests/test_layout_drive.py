"""The drive in the layout: where the belt puts the motor, how far that travels, what space pulleys and belt take up."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import platekit
from platekit.errors import SpecError
from platekit.geometry import Disc, Slot, Straight, Swing, covers, ends, pose_at
from platekit.placed import Layout, PlacedBelt
from platekit.spec import with_value
from platekit.tables import belts
from tests.checks.drives import SOUND, TOOTHED, changed

BELT = "belt: {section: A, pitch_length: 1000}"
DRIVER, DRIVEN = "pitch_diameter: 71, span: [-50, -30]", "pitch_diameter: 250, span: [22, 42]"
PLACE = "at: {belt: {from: machine, angle: 90 deg}}"
SLOTS = "take_up: {slots: {along: belt, install: auto, tension: auto}}"

ANGLES = st.integers(-18000, 18000).map(lambda hundredths: hundredths / 100)

JACKSHAFT = changed(
    (PLACE, "at: {belt: {from: shaft, angle: 110 deg}}"),
    (
        "bodies:\n",
        "  shaft:\n    side: far\n    looking_at: face\n    pattern: {rectangle: {width: 150, height: 60}}\n"
        "    at: {belt: {from: machine, angle: 60 deg}}\n"
        "    bolts: {size: M8, into: part, depth: 16, washer: true}\n"
        "    take_up: {slots: {along: belt, install: auto, tension: auto}}\nbodies:\n",
    ),
    ("width: 420, height: 700, corner: 10}, at: [0, 200]", "width: 700, height: 900, corner: 10}, at: [60, 280]"),
    (
        "driven: {on: machine, at: [0, 60], pitch_diameter: 250, span: [22, 42]}",
        "driven: {on: shaft, pitch_diameter: 212, span: [22, 42]}\n  second:\n"
        "    belt: {section: A, pitch_length: 1250}\n"
        "    driver: {on: shaft, pitch_diameter: 90, span: [52, 72]}\n"
        "    driven: {on: machine, pitch_diameter: 280, span: [52, 72]}",
    ),
    ("from: 120 rpm, to: 700 rpm, torque: 3 Nm", "from: 45 rpm, to: 270 rpm, torque: 7 Nm"),
)
"""Motor to jackshaft to machine: the second belt places the jackshaft, the first one the motor."""


def laid(text: str) -> Layout:
    return platekit.lay_out(platekit.loads(text, "drive.yaml"))


def problem(text: str) -> str:
    with pytest.raises(SpecError) as caught:
        laid(text)
    assert len(caught.value.problems) == 1
    assert caught.value.problems[0].line > 0
    return str(caught.value.problems[0])


def apart(belt: PlacedBelt) -> float:
    return math.dist(belt.driver.center, belt.driven.center)


def length_round(centres: float, one: float, other: float) -> float:
    """The belt's length by the wrap angles, written out here from plane geometry."""
    lean = math.asin(abs(one - other) / 2 / centres)
    wrap_small, wrap_large = math.pi - 2 * lean, math.pi + 2 * lean
    return 2 * centres * math.cos(lean) + min(one, other) / 2 * wrap_small + max(one, other) / 2 * wrap_large


# --------------------------------------------------------------------------------------------- place


def test_the_motor_goes_where_the_belt_is_taut() -> None:
    belt = laid(SOUND).belts[0]
    assert length_round(apart(belt), 71, 250) == pytest.approx(1000, abs=1e-9)
    assert belt.driven.center == pytest.approx((0, 60))
    assert belt.driver.center == pytest.approx((0, 60 + apart(belt)))
    assert belt.line == pytest.approx(math.pi / 2)


@given(ANGLES, ANGLES, st.sampled_from(["near", "far"]))
@settings(max_examples=25)
def test_turning_or_mirroring_the_mount_leaves_its_shaft_where_the_belt_wants_it(
    angle: float, turn: float, side: str
) -> None:
    text = changed(
        (PLACE, f"at: {{belt: {{from: machine, angle: {angle} deg}}}}\n    turn: {turn} deg"),
        ("side: near", f"side: {side}"),
        (DRIVER, f"at: [7, -4], {DRIVER}"),
    )
    belt = laid(text).belts[0]
    assert length_round(apart(belt), 71, 250) == pytest.approx(1000, abs=1e-9)
    (x, y), (from_x, from_y) = belt.driver.center, belt.driven.center
    off = math.atan2(y - from_y, x - from_x) - math.radians(angle)
    assert math.remainder(off, math.tau) == pytest.approx(0, abs=1e-9)


def test_inches_and_millimetres_give_the_same_place() -> None:
    inch = SOUND.replace("pitch_length: 1000", "pitch_length: 1000 mm")
    metric = laid(SOUND).belts[0]
    told = changed((BELT, "belt: {section: A, pitch_length: 39.3700787401575 in}"))
    assert laid(inch).belts[0].driver.center == pytest.approx(metric.driver.center)
    assert laid(told).belts[0].driver.center == pytest.approx(metric.driver.center)


def test_a_trade_size_is_its_pitch_length() -> None:
    # A38: 38 in inside, and the pitch line of section A lies 33 mm farther out over the whole belt
    for words in ("A38", "{size: A38}", "{section: A, inside_length: 38 in}"):
        belt = laid(changed((BELT, f"belt: {words}"))).belts[0]
        assert length_round(apart(belt), 71, 250) == pytest.approx(38 * 25.4 + 33, abs=0.5)


def test_choosing_takes_the_stock_belt_nearest_to_the_shafts_that_are_given() -> None:
    belt = laid(changed((BELT, "belt: {section: SPZ, choose: true}"), (PLACE, "at: [0, 300]"))).belts[0]
    assert apart(belt) == pytest.approx(240)
    given_length = length_round(240, 71, 250)
    assert abs(belt.result.belt_length - given_length) == min(
        abs(size.pitch_length - given_length) for size in belt.result.stock
    )
    near = laid(changed((BELT, "belt: {section: SPZ, choose: true, near: 300}"))).belts[0]
    assert apart(near) == pytest.approx(300, abs=20)


@pytest.mark.parametrize("near", [290.0, 305.0, 320.0, 336.0, 352.0])
@pytest.mark.parametrize(
    "idler", ["at: [-95, 230], diameter: 60, inside: false", "at: [-85, 215], diameter: 40, inside: false"]
)
def test_choosing_a_belt_with_an_idler_takes_the_one_nearest_to_the_distance_wanted(near: float, idler: str) -> None:
    """No other belt in stock, laid out itself, brings the shafts nearer to the distance that is wanted."""
    with_idler = ("driver:", f"idlers:\n    - {{on: plate, {idler}, span: [-50, -30]}}\n  driver:")
    chosen = laid(changed((BELT, f"belt: {{section: A, choose: true, near: {near}}}"), with_idler)).belts[0]
    offs = []
    for size in belts.stock("A"):
        if abs(size.pitch_length - chosen.result.belt_length) > 150:
            continue
        try:
            other = laid(changed((BELT, f"belt: {{section: A, pitch_length: {size.pitch_length}}}"), with_idler))
        except SpecError:  # the belt does not reach the idler, or is too short
            continue
        offs.append(abs(apart(other.belts[0]) - near))
    assert len(offs) > 2
    assert abs(apart(chosen) - near) == pytest.approx(min(offs), abs=1e-5)


# --------------------------------------------------------------------------------------------- travel


def test_automatic_travel_covers_allowances_and_length_tolerance() -> None:
    # ISO 155: 1.5 % of the length to put on, 3 % to take up; a belt of 1000 mm is true to what the table says
    layout = laid(SOUND)
    travel, needed = layout.mounts["motor"].travel, layout.belts[0].result.travel
    assert isinstance(travel, Straight)
    assert needed is not None
    assert travel.install == pytest.approx(15 + needed.from_length[0])
    assert travel.tension == pytest.approx(30 + needed.from_length[1])
    assert min(needed.from_length) > 5


@given(st.integers(-50, 50))
@settings(max_examples=25)
def test_slots_in_any_direction_lead_to_both_distances_that_the_belt_needs(off: int) -> None:
    layout = laid(changed((SLOTS, SLOTS.replace("along: belt", f"along: {90 + off} deg"))))
    belt, travel = layout.belts[0], layout.mounts["motor"].travel
    needed = belt.result.travel
    assert isinstance(travel, Straight)
    assert needed is not None
    reached = [math.dist(pose_at(travel, s).point(belt.driver.center), belt.driven.center) for s in ends(travel)]
    assert reached == pytest.approx([needed.shortest, needed.longest], abs=1e-6)


def test_a_swing_leads_to_both_distances_too() -> None:
    text = changed(
        (SLOTS, "take_up: {swing: {about: [-190, 150], tightens: counter-clockwise, install: auto, tension: auto}}")
    )
    belt, travel = laid(text).belts[0], laid(text).mounts["motor"].travel
    needed = belt.result.travel
    assert isinstance(travel, Swing)
    assert needed is not None
    reached = [math.dist(pose_at(travel, s).point(belt.driver.center), belt.driven.center) for s in ends(travel)]
    assert reached == pytest.approx([needed.shortest, needed.longest], abs=1e-6)


# --------------------------------------------------------------------------------------------- bodies


def test_pulleys_take_up_their_rim_over_the_whole_travel() -> None:
    layout = laid(SOUND)
    bodies = {body.name: body for body in layout.bodies}
    driver, driven = bodies["drive.driver"], bodies["drive.driven"]
    assert driver.z == pytest.approx((-50, -30))
    assert driven.z == pytest.approx((-8 - 42, -8 - 22))
    assert isinstance(driver.shape, Disc)
    assert driver.shape.diameter == pytest.approx(71 + 5.5)  # grooves of section A stand 2.75 mm above the datum
    assert isinstance(driver.swept, Slot)
    travel = layout.mounts["motor"].travel
    assert isinstance(travel, Straight)
    assert math.dist(driver.swept.a, driver.swept.b) == pytest.approx(travel.install + travel.tension)
    assert driven.swept == driven.shape


def test_flange_and_hub_take_up_space() -> None:
    text = changed((DRIVER, f"{DRIVER}, flange_diameter: 90, hub: {{diameter: 40, span: [-58, -50]}}"))
    bodies = {body.name: body for body in laid(text).bodies}
    rim, hub = bodies["drive.driver"].shape, bodies["drive.driver.hub"]
    assert isinstance(rim, Disc)
    assert rim.diameter == pytest.approx(90)
    assert isinstance(hub.shape, Disc)
    assert hub.shape.diameter == pytest.approx(40)
    assert hub.z == pytest.approx((-58, -50))


@pytest.mark.parametrize("share", [0.0, 0.3, 0.7, 1.0])
def test_the_belts_runs_cover_it_at_every_position(share: float) -> None:
    layout = laid(changed((SLOTS, SLOTS.replace("along: belt", "along: 60 deg"))))
    belt, travel = layout.belts[0], layout.mounts["motor"].travel
    low, high = ends(travel)
    driver = pose_at(travel, low + share * (high - low)).point(belt.driver.center)
    driven = belt.driven.center
    centres = math.dist(driver, driven)
    ux, uy = (driver[0] - driven[0]) / centres, (driver[1] - driven[1]) / centres
    swept = [body.swept for body in layout.bodies if body.kind == "belt"]
    assert len(swept) == 2
    for sign in (1, -1):
        # the outer tangent of two circles: its normal leans by asin((R - r) / C) towards the smaller one
        sine = (125 - 35.5) / centres
        cosine = math.sqrt(1 - sine * sine)
        nx, ny = sine * ux - sign * cosine * uy, sine * uy + sign * cosine * ux
        run = Slot((driven[0] + 125 * nx, driven[1] + 125 * ny), (driver[0] + 35.5 * nx, driver[1] + 35.5 * ny), 1.0)
        assert any(covers(shape, run) for shape in swept)


# --------------------------------------------------------------------------------------- several shafts


def test_a_jackshaft_is_placed_by_its_belt_and_multiplies_the_ratios() -> None:
    layout = laid(JACKSHAFT)
    first, second = layout.belts
    assert [belt.name for belt in layout.belts] == ["drive", "second"]
    assert length_round(apart(first), 71, 212) == pytest.approx(1000, abs=1e-9)
    assert second.driver.center == pytest.approx(layout.mounts["shaft"].pose.point((0, 0)))
    assert second.result.ratio == pytest.approx(212 / 71 * 280 / 90)
    assert second.request.before == pytest.approx(212 / 71)
    base = next(point for point in second.result.points if point.frequency_hz == 60)
    assert base.speed_rpm == pytest.approx(1740 / (212 / 71 * 280 / 90))
    # 9550 kW / rpm, less 5 % in each belt
    assert base.torque_nm == pytest.approx(9549.3 * 0.25 / base.speed_rpm * 0.95**2, rel=1e-4)
    assert first.request.wanted.speeds is None
    assert second.result.reach is not None
    assert length_round(apart(second), 90, 280) == pytest.approx(1250, abs=1e-9)
    assert (first.adjusted, second.adjusted) == ("motor", "shaft")
    stops = [f.message for f in platekit.check(layout).findings if f.level == "stop"]
    assert not stops


def test_a_jackshaft_where_its_second_belt_does_not_fit_is_told_which_belt_would() -> None:
    text = JACKSHAFT.replace("at: {belt: {from: machine, angle: 60 deg}}", "at: [160, 200]")
    found = [f for f in platekit.check(laid(text)).findings if f.rule == "take-up" and f.level == "stop"]
    assert {finding.features[0] for finding in found} == {"second"}
    assert "use A" in found[0].advice.text
    placed = math.dist((160, 200), (0, 0))
    value = found[0].remedies[0].value
    assert isinstance(value, dict)
    assert value["section"] == "A"
    belt = laid(with_value(text, found[0].remedies[0].field, value)).belts[1]
    assert belt.result.centre_distance == pytest.approx(placed, abs=15)


def test_both_mounts_may_travel() -> None:
    machine = "take_up: {slots: {along: 90 deg, install: 10, tension: 10}}\n    bolts: {size: M8, into: part, depth: 16"
    text = SOUND.replace("bolts: {size: M8, into: part, depth: 16, washer", f"{machine}, washer", 1)
    layout = laid(text)
    assert layout.mounts["machine"].travel is not None
    assert layout.mounts["motor"].travel is not None
    still = {body.name: body for body in laid(SOUND).bodies if body.kind == "belt"}
    for body in layout.bodies:
        if body.kind == "belt":
            assert body.swept.area > still[body.name].swept.area
    assert not [f for f in platekit.check(layout).findings if f.rule == "take-up"]


IDLER = "idlers:\n    - {on: plate, at: [-150, 250], diameter: 60, inside: false, span: [-50, -30]}\n  driver:"


def test_an_idler_on_the_back_brings_the_motor_nearer_and_adds_wrap() -> None:
    plain, bent = (
        laid(SOUND).belts[0],
        laid(SOUND.replace("driver:", IDLER.replace("-150, 250", "-95, 230"), 1)).belts[0],
    )
    assert len(bent.idlers) == 1
    assert apart(bent) < apart(plain)
    assert bent.result.wrap_driver > plain.result.wrap_driver
    total = bent.result.wrap_driver + bent.result.wrap_driven
    assert total > math.tau  # what the idler bends back must be bent forth
    assert length_of_way(bent) == pytest.approx(1000, abs=1e-6)


def test_slots_that_an_idler_s_belt_places_give_it_all_its_travel() -> None:
    layout = laid(SOUND.replace("driver:", IDLER.replace("-150, 250", "-95, 230").replace("}", ", screw: M10}"), 1))
    needed, travel = layout.belts[0].result.travel, layout.mounts["motor"].travel
    assert needed is not None
    assert isinstance(travel, Straight)
    away = apart(layout.belts[0])
    assert away - travel.install == pytest.approx(needed.shortest)
    assert away + travel.tension == pytest.approx(needed.longest)
    assert not [f for f in platekit.check(layout).findings if f.rule == "take-up" and f.level == "stop"]


def test_an_idler_on_the_plate_gets_its_hole_with_its_screw_and_is_asked_for_one() -> None:
    text = SOUND.replace("driver:", IDLER.replace("-150, 250", "-95, 230"), 1)
    (finding,) = [f for f in platekit.check(laid(text)).findings if f.rule == "idler-screw"]
    assert finding.level == "stop"
    with_screw = laid(with_value(text, finding.remedies[0].field, "M10"))
    assert not [f for f in platekit.check(with_screw).findings if f.rule == "idler-screw"]
    hole = with_screw.opening("drive idler 1 screw")
    assert hole.center == (-95.0, 230.0)
    assert hole.size == 11.0  # ISO 273, medium series, for M10
    head = next(body for body in with_screw.bodies if body.name == "drive.idler 1.head")
    assert head.z[0] == 0.0  # the rim is on the far side, the head on the near face
    with pytest.raises(SpecError, match="take it out"):
        laid(text.replace("on: plate", "on: machine").replace("inside: false,", "inside: false, screw: M10,"))


def length_of_way(belt: PlacedBelt) -> float:
    """Arcs and straight runs of a belt with one idler on its back, from the runs' ends alone."""
    from platekit.drive.route import Wheel, route

    way = route([Wheel(*pulley.center, pulley.pitch_diameter, pulley.inside) for pulley in belt.pulleys])
    arcs = [wrap * pulley.pitch_diameter / 2 for wrap, pulley in zip(way.wraps, belt.pulleys, strict=True)]
    runs = [math.dist(span.start, span.end) for span in way.spans]
    return sum(arcs) + sum(runs)


def test_whole_teeth_give_the_pitch_diameter() -> None:
    belt = laid(TOOTHED).belts[0]
    assert belt.driver.pitch_diameter == pytest.approx(22 * 9.525 / math.pi)
    assert belt.driven.pitch_diameter == pytest.approx(72 * 9.525 / math.pi)
    assert belt.result.ratio == pytest.approx(72 / 22)


# ------------------------------------------------------------------------------------- spec errors


@pytest.mark.parametrize(
    ("swaps", "said"),
    [
        (
            ((BELT, "belt: {section: A, pitch_length: 700}"),),
            "drive.belt: found that a belt of 700.0 mm does not reach round a pulley of 250.0 mm and a second one; use",
        ),
        (((BELT, "belt: {section: L, pitch_length: 1000}"),), "drive.belt"),
        (((PLACE, "at: {belt: {from: motor, angle: 90 deg}}"),), "mounts.motor.at.belt.from"),
        (((SLOTS, SLOTS.replace("along: belt", "along: 0 deg")),), "mounts.motor.take_up.slots.along"),
        (
            ((DRIVER, "pitch_diameter: 71, teeth: 20, span: [-50, -30]"),),
            "drive.driver: found pitch_diameter and teeth",
        ),
        (((DRIVER, "span: [-50, -30]"),), "drive.driver: found no size"),
        (((BELT, "belt: {section: A, choose: true}"),), "to choose a belt, give `near"),
        (
            ((BELT, "belt: {section: A, pitch_length: 90000}"),),
            "no length tolerance is known for A belts of 90000 mm",
        ),
        (
            ((PLACE, "at: [0, 140]"), (SLOTS, "")),
            "drive: found that two wheels of 250.0 and 71.0 mm are only 80.0 mm apart",
        ),
        (((BELT, "belt: {section: Q, pitch_length: 1000}"),), 'drive.belt.section: found "Q"'),
    ],
)
def test_a_drive_that_cannot_be_is_said_where_it_stands(swaps: tuple[tuple[str, str], ...], said: str) -> None:
    assert said in problem(changed(*swaps))


def test_a_guard_over_one_of_two_belts_leaves_the_other_one_told() -> None:
    def unguarded(text: str) -> list[str]:
        return [finding.message for finding in platekit.check(laid(text)).findings if finding.rule == "guard"]

    bare = JACKSHAFT.replace("guard: {gap: 20}\n", "")
    assert len(unguarded(bare)) == 2
    (said,) = unguarded(bare + "guard: {belt: second, gap: 20}\n")
    assert "from motor to shaft, only one for the belt `second`" in said


# ------------------------------------------------------------------------------------- where a pulley sits


@pytest.mark.parametrize("told", ["{width: 20, from_face: 30}", "{width: 20, in_line: true}"])
def test_a_pulley_on_a_face_s_shaft_sits_where_it_was_measured(told: str) -> None:
    # the driven rim lies 22 to 42 mm behind the far face of a plate of 8 mm: 30 to 50 mm behind the near one
    layout = laid(SOUND.replace("pitch_diameter: 71, span: [-50, -30]", f"pitch_diameter: 71, span: {told}"))
    assert layout.belts[0].driver.span == pytest.approx((-50, -30))
    assert layout.belts[0].driver.z == pytest.approx(laid(SOUND).belts[0].driver.z)


def test_a_cut_out_too_near_the_screw_of_an_idler_is_told_how_to_keep_clear() -> None:
    """What places that hole is the idler's own `at`: advice on it must look there, and nothing may fall over."""
    near = SOUND.replace("driver:", IDLER.replace("-150, 250", "-95, 230").replace("}", ", screw: M10}"), 1)
    near = near.replace("plate:\n", "plate:\n  cutouts: {slit: {circle: {diameter: 8}, at: [-109, 230]}}\n", 1)
    layout = laid(near)
    found = [f for f in platekit.check(layout).findings if {"slit", "drive idler 1 screw"} <= set(f.features)]
    assert found
    assert {remedy.field for f in found for remedy in f.remedies} <= {"plate.cutouts.slit.at", "drive.idlers.0.at"}
    placed = layout.opening("drive idler 1 screw").placed
    assert placed is not None
    assert (placed.field, placed.at) == ("drive.idlers.0.at", (-95.0, 230.0))

"""Parts that travel on a base which is bolted fast: slide rails, and a hinge about an axis along the plate."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import platekit
from platekit.analysis.parts_list import pieces_of
from platekit.checks.jacks import lug_stresses
from platekit.errors import SpecError
from platekit.export.bench.commissioning import tension_rows
from platekit.export.text.parts_list import piece_words
from platekit.geometry import Disc, StandingPrism, Straight, Swing, distance
from platekit.laying.welded import weld_leg
from platekit.placed import Layout
from platekit.spec import with_value
from tests.checks.lying import SOUND, changed

SLOTS = "take_up: {slots: {along: belt, install: auto, tension: auto}}"
SHORTEST_CENTRES, LONGEST_CENTRES = 376.7789, 447.6925
"""Of an A belt of 1250 mm on 80 and 200 mm: the open belt's length solved by hand for 1250 - 10 and 1250 + 19 mm (DIN
2215), less 0.015 L and more 0.03 L of centre distance (ISO 155)."""


def laid(text: str) -> Layout:
    return platekit.lay_out(platekit.loads(text, "drive.yaml"))


def rules(layout: Layout, rule: str) -> list[platekit.Finding]:
    return [finding for finding in platekit.check(layout).findings if finding.rule == rule]


def length_round(centres: float) -> float:
    lean = math.asin((200 - 80) / 2 / centres)
    return 2 * centres * math.cos(lean) + 40 * (math.pi - 2 * lean) + 100 * (math.pi + 2 * lean)


def test_the_centre_distances_that_the_belt_needs_are_those_worked_out_by_hand() -> None:
    assert length_round(SHORTEST_CENTRES + 0.015 * 1250) == pytest.approx(1240, abs=1e-3)
    assert length_round(LONGEST_CENTRES - 0.03 * 1250) == pytest.approx(1269, abs=1e-3)


# --------------------------------------------------------------------------------------------- rails


def test_on_slide_rails_the_holes_stay_and_the_motor_slides() -> None:
    layout = laid(changed((SLOTS, SLOTS.replace("slots", "rails"))))
    motor = layout.mounts["motor"]
    assert isinstance(motor.travel, Straight)
    assert motor.travel == laid(SOUND).mounts["motor"].travel
    assert all(isinstance(layout.opening(name).shape, Disc) for name in motor.hole_names)
    heads = [body for body in layout.bodies if body.kind == "head" and body.carrier == "motor"]
    assert heads
    assert all(body.travel is None for body in heads)
    shaft = next(body for body in layout.bodies if body.name == "motor.shaft")
    assert shaft.swept.box.width == pytest.approx(shaft.shape.box.width + motor.travel.install + motor.travel.tension)
    assert not rules(layout, "take-up")


@pytest.mark.parametrize(("room", "found"), [(71, True), (72, False)])
def test_rails_that_are_too_short_for_the_travel_are_told(room: float, found: bool) -> None:
    # the shafts differ by 45 mm in height, so that level travel is a little longer: 23.969 + 47.374 mm
    layout = laid(changed((SLOTS, SLOTS.replace("slots", "rails").replace("}}", f", travel: {room}}}}}"))))
    findings = rules(layout, "take-up")
    assert bool(findings) == found
    for finding in findings:
        assert finding.level == "stop"
        assert finding.needed == pytest.approx(71.343, abs=1e-3)


# --------------------------------------------------------------------------------------------- hinge


def hinged(at: str = "[0, 0]", turn: str = "", more: str = "") -> str:
    base = (
        "  motor:\n    side: near\n    looking_at: face\n    pattern: {rectangle: {width: 260, height: 120}}\n"
        "    shaft: {height: 200, along: 90 deg, at: [0, 60], stretch: [0, 50], diameter: 24}\n" + turn
    )
    platform = (
        "bodies:\n  platform: {carried_by: motor, shape: {rectangle: {width: 160, height: 160}}, span: [98, 110]}\n"
    )
    return changed(
        ("  motor:\n    side: near\n    pattern: {standard: IEC 90S}\n", base),
        (SLOTS, f"take_up: {{hinge: {{at: {at}, height: 60, install: auto, tension: auto{more}}}}}"),
        ("drive:\n", f"{platform}drive:\n"),
    )


def turned(p: tuple[float, float], about: tuple[float, float], angle: float) -> tuple[float, float]:
    x, y = p[0] - about[0], p[1] - about[1]
    c, s = math.cos(angle), math.sin(angle)
    return (about[0] + c * x - s * y, about[1] + s * x + c * y)


@pytest.mark.parametrize("at", ["[0, 0]", "[40, 0]", "[-40, 30]"])
def test_a_hinged_motor_swings_as_far_as_its_belt_needs(at: str) -> None:
    layout = laid(hinged(at))
    belt = layout.belts[0]
    swing = belt.driver.travel
    assert isinstance(swing, Swing)
    assert swing.about[1] == pytest.approx(60)
    assert swing.sense == -1  # the bed is on the left, so that turning to the right takes the motor away from it
    ends = {
        s: math.dist(turned(belt.driver.center, swing.about, swing.sense * s), belt.driven.center)
        for s in (-swing.install, swing.tension)
    }
    assert list(ends.values()) == pytest.approx([SHORTEST_CENTRES, LONGEST_CENTRES], abs=1e-3)
    assert all(isinstance(layout.opening(name).shape, Disc) for name in layout.mounts["motor"].hole_names)
    assert not rules(layout, "take-up")


def test_a_hinge_with_its_axis_where_the_shaft_never_is_far_enough_is_refused() -> None:
    with pytest.raises(SpecError) as caught:
        laid(hinged("[150, 0]").replace("height: 60", "height: 90"))
    (problem,) = caught.value.problems
    assert str(problem.field) == "mounts.motor.take_up.hinge.at"
    assert "never is 447.7 mm from it" in str(problem)


def test_a_hinge_under_feet_that_are_bolted_to_the_plate_is_refused() -> None:
    text = changed((SLOTS, "take_up: {hinge: {at: [0, 0], height: 60, install: auto, tension: auto}}"))
    with pytest.raises(SpecError, match="own feet are bolted") as caught:
        laid(text)
    (problem,) = caught.value.problems
    assert str(problem.field) == "mounts.motor.take_up.hinge"


def test_a_hinge_of_a_shaft_square_to_the_plate_is_refused() -> None:
    from tests.checks import drives

    with pytest.raises(SpecError, match="does not lie along the plate"):
        laid(drives.changed((SLOTS, "take_up: {hinge: {at: [0, 0], install: auto, tension: auto}}")))


@given(st.floats(0, 1), st.sampled_from([(-80.0, 98.0), (80.0, 98.0), (80.0, 110.0), (-80.0, 110.0)]))
@settings(max_examples=40)
def test_all_that_swings_is_within_what_it_is_said_to_cover(share: float, corner: tuple[float, float]) -> None:
    layout = laid(hinged())
    belt = layout.belts[0]
    swing = belt.driver.travel
    assert isinstance(swing, Swing)
    s = -swing.install + share * (swing.install + swing.tension)
    x, height = corner
    spot = turned((belt.driver.center[0] + x, height), swing.about, swing.sense * s)
    platform = next(body for body in layout.bodies if body.name == "platform")
    (cover,) = platform.covers
    assert isinstance(cover, StandingPrism)
    assert cover.u[0] > 0
    assert distance(Disc(spot, 1e-6), cover.shape).distance <= 1e-6
    assert cover.stop - cover.start == pytest.approx(160)
    assert platform.z == (cover.low, cover.high)


def test_a_swinging_platform_that_dips_into_the_plate_is_told() -> None:
    text = hinged().replace("{width: 160, height: 160}", "{width: 360, height: 160}").replace("[98, 110]", "[20, 30]")
    findings = rules(laid(text), "blocked")
    assert [finding.features for finding in findings] == [("platform",)]


# --------------------------------------------------------------------------------------- jacking screws


def jacked(jack: str, more: tuple[tuple[str, str], ...] = ()) -> str:
    return changed((SLOTS, SLOTS.replace("tension: auto", f"tension: auto, jack: {jack}")), *more)


def test_a_jacking_screw_is_long_enough_for_the_travel_and_its_block() -> None:
    layout = laid(jacked("{size: M10, at: [70, -30], height: 12, block: 10}"))
    travel = layout.mounts["motor"].travel
    assert isinstance(travel, Straight)
    # 23.97 + 47.37 mm of travel, 2 mm clear, 7 mm of weld (0.7 of the lug), 10 mm of lug, 8.4 mm of nut (ISO 4032):
    # 98.7 mm; 100 is sold (ISO 888)
    screw = next(body for body in layout.bodies if body.name == "motor.jack M10 x 100")
    head, nut, block = (
        next(body for body in layout.bodies if body.name == f"motor.jack {what}")
        for what in ("head", "lock nut", "lug")
    )
    x, y = layout.mounts["motor"].pose.point((70, -30))
    # it pushes towards +x: the tip is on the part, the block's weld 2 mm behind where the tip is at the install end
    assert screw.shape.box.x1 == pytest.approx(x)
    assert screw.shape.box.center[1] == pytest.approx(y)
    assert block.shape.box.x1 == pytest.approx(x - travel.install - 2)
    assert block.travel is None
    assert screw.z == pytest.approx((12 - 5, 12 + 5))
    # head and lock nut are 16 mm across flats (ISO 4014), a hexagon 18.48 mm over corners: clear of the plate
    assert head.shape.box.x1 == pytest.approx(x - 100)
    assert head.z[0] == nut.z[0] == pytest.approx(12 - 16 / math.sqrt(3))
    assert block.shape.box.width == pytest.approx(7 + 10 + 7)
    assert nut.shape.box.x1 == pytest.approx(block.shape.box.x0 + 7)
    assert nut.shape.box.width == pytest.approx(8.4)
    # tightened all the way the head just stays behind its lock nut
    assert 0 <= nut.shape.box.x0 - (head.shape.box.x1 + travel.tension) < 5
    assert screw.swept.box.width == pytest.approx(screw.shape.box.width + travel.install + travel.tension)


def test_a_travel_that_no_jacking_screw_reaches_over_is_refused_with_both_lengths() -> None:
    with pytest.raises(SpecError) as caught:
        laid(jacked("{size: M4, at: [70, -30], height: 12, block: 60}"))
    (problem,) = caught.value.problems
    assert str(problem.field) == "mounts.motor.take_up.slots.jack"
    # 23.97 + 47.37 + 2 + 60 + 3.2 (ISO 4032), and 0.7 of the plate's 15 mm, in whole mm, of weld
    assert "147.5 mm long" in str(problem)


def test_a_jacking_screw_on_a_part_that_does_not_travel_is_refused() -> None:
    still = SLOTS.replace("install: auto, tension: auto", "jack: {size: M10, at: [70, -30], height: 12, block: 10}")
    with pytest.raises(SpecError, match=r"slots\.jack: found a jacking screw for motor, which does not travel"):
        laid(changed((SLOTS, still)))


def test_a_jacking_screw_that_meets_something_is_told() -> None:
    post = "  post: {carried_by: plate, side: near, shape: {circle: {diameter: 20}, at: [90, -6]}, span: [0, 40]}\n"
    text = jacked("{size: M10, at: [70, -30], height: 12, block: 10}", (("drive:\n", f"bodies:\n{post}drive:\n"),))
    met = [f for f in rules(laid(text), "clash") if "post" in f.features]
    assert met


def test_screw_lock_nut_and_lug_are_bought_and_cut() -> None:
    layout = laid(jacked("{size: M10, at: [70, -30], height: 12, block: 10}"))
    words = [(one.get, one.kind, piece_words(one, "mm")) for one in pieces_of(layout) if "jacking" in one.what]
    assert [one[:2] for one in words] == [("buy", "screw"), ("buy", "nut"), ("cut", "flat bar")]
    assert words[0][2].startswith("screw M10 × 100, hex")
    assert "threaded over 98.7 mm" in words[0][2]
    assert words[1][2] == "nut M10, lock nut of the jacking screw"
    # three screws wide, and half of that above the axis at 12 mm
    assert words[2][2].startswith("flat bar 30 × 10 mm, 27 mm long, mild steel")
    assert "tapped through M10 in its middle, 12 mm above" in words[2][2]


def test_slots_that_nothing_pushes_are_noted_and_the_screw_that_is_advised_ends_it() -> None:
    layout = laid(SOUND)
    (slip,) = rules(layout, "slots-slip")
    assert slip.level == "note"
    # the first idea is tried by hand: of this motor on feet it is sound
    text = SOUND
    for remedy in slip.advice.remedies:
        text = with_value(text, remedy.field, remedy.value)
    after = platekit.check(laid(text)).findings
    assert not [one for one in after if one.stops or one.rule in ("jack", "slots-slip")]


def test_a_lug_thinner_than_a_nut_and_a_head_without_spanner_room_are_told() -> None:
    thin = jacked("{size: M10, at: [98, -44], height: 30, block: 8}")
    assert [one.needed for one in rules(laid(thin), "jack") if "lug" in one.message] == [pytest.approx(8.4)]
    thick = laid(jacked("{size: M10, at: [98, -44], height: 30, block: 10}"))
    assert not [one for one in rules(thick, "jack") if "spanner" in one.message]
    # the ring of a 16 mm spanner goes 12 mm or so from the axis: 10 mm over the plate there is none
    low = laid(jacked("{size: M10, at: [98, -44], height: 10, block: 10}"))
    assert [one for one in rules(low, "jack") if "spanner" in one.message and "the plate" in one.message]


def test_a_thicker_lug_is_advised_only_where_a_screw_is_sold_for_it() -> None:
    def thin(install: int) -> platekit.Finding:
        jack = "jack: {size: M10, at: [98, -44], height: 30, block: 8}"
        layout = laid(
            changed((SLOTS, f"take_up: {{slots: {{along: belt, install: {install}, tension: 47.5, {jack}}}}}"))
        )
        return next(one for one in rules(layout, "jack") if "thread wants" in one.message)

    # 8.4 mm of lug and of nut, 6 mm of weld, 2 mm clear and 47.5 mm: 99.3 mm with 27 mm, 100.3 with 28; 100 is sold
    assert [one.value for one in thin(27).remedies] == [pytest.approx(8.4)]
    assert not thin(28).remedies
    assert "weld a nut to it" in thin(28).advice.text


def test_a_lug_that_its_screw_bends_is_told_and_the_thicker_one_holds() -> None:
    text = jacked("{size: M10, at: [98, -44], height: 60, block: 9}")
    layout = laid(text)
    (bent,) = [one for one in rules(layout, "jack") if "bent" in one.message or "weld" in one.message]
    mount = layout.mounts["motor"]
    force = layout.belts[0].result.forces
    assert force is not None
    assert mount.jack is not None
    # a bar 30 mm wide (three screws) and 9 mm thick, pushed 60 mm up: M over b t2 / 6
    by_hand = 2 * force.driver_new.size * 60 / (30 * 9**2 / 6)
    assert lug_stresses(layout, mount.jack, 2 * force.driver_new.size, 9)[0] == pytest.approx(by_hand)
    # two welds 9 mm apart, of 7 mm leg, each 30 mm long
    throat = weld_leg("mm", layout.thickness, 9) * math.sin(math.pi / 4)
    couple = 2 * force.driver_new.size * 60 / 9
    by_hand = math.sqrt(couple**2 + force.driver_new.size**2) / (throat * 30)
    assert lug_stresses(layout, mount.jack, 2 * force.driver_new.size, 9)[1] == pytest.approx(by_hand)
    (remedy,) = bent.remedies
    assert remedy.field.endswith("jack.block")
    thicker = laid(with_value(text, remedy.field, remedy.value))
    assert not [one for one in rules(thicker, "jack") if "bent" in one.message or "weld of" in one.message]
    # at 170 mm it takes more than 9 mm x sqrt(170 / 60): 16 mm of lug and 11 of weld need 108.7 mm; 100 is sold
    (high,) = rules(laid(text.replace("height: 60", "height: 170")), "jack")
    assert not high.remedies
    low = laid(jacked("{size: M10, at: [98, -44], height: 30, block: 10}"))
    assert not [one for one in rules(low, "jack") if "N/mm2" in one.message]


def test_the_commissioning_sheet_asks_for_the_lock_nut() -> None:
    layout = laid(jacked("{size: M10, at: [98, -44], height: 30, block: 10}"))
    rows = tension_rows(layout, layout.belts[0])
    assert rows[-1][0] == "jacking screw"
    assert "lock nut" in rows[-1][1]
    assert not [row for row in tension_rows(laid(SOUND), laid(SOUND).belts[0]) if row[0] == "jacking screw"]


def test_a_lug_past_the_edge_of_the_plate_is_stopped() -> None:
    text = jacked(
        "{size: M10, at: [98, -44], height: 30, block: 10}", (("width: 900", "width: 240"), ("[150, 0]", "[300, 0]"))
    )
    assert [one for one in rules(laid(text), "jack") if "past the edge" in one.message and one.level == "stop"]


BEHIND = (
    "  heel: {{carried_by: motor, shape: {{rectangle: {{width: 11, height: 10}}, at: [95.5, -44]}}, span: {span}}}\n"
)


@pytest.mark.parametrize(("span", "meets"), [("[0, 5]", True), ("[8, 13]", False)])
def test_the_weld_of_a_lug_is_in_the_way_of_a_part_that_is_pushed_back(span: str, meets: bool) -> None:
    # it ends 3 mm behind the tip: pushed back it is 1 mm over the toe of a weld 7 mm high, and 6 mm from the lug
    bodies = ("drive:\n", f"bodies:\n{BEHIND.format(span=span)}drive:\n")
    layout = laid(jacked("{size: M10, at: [98, -44], height: 30, block: 10}", (bodies,)))
    met = [one for one in rules(layout, "clash") if {"heel", "motor.jack lug"} <= {*one.features}]
    assert bool(met) is meets


def sides_changed(text: str) -> str:
    """The same with motor and bed on the plate's other faces."""
    return text.replace("side: far", "side: FAR").replace("side: near", "side: far").replace("FAR", "near")


@pytest.mark.parametrize("far", [False, True])
def test_a_lock_nut_that_sits_on_the_weld_is_told_and_higher_up_it_does_not(far: bool) -> None:
    text = jacked("{size: M10, at: [98, -44], height: 16.2, block: 10}")
    if far:  # seen from its own side the motor is turned over, and the tip bears on its other flank
        text = sides_changed(text).replace("at: [98, -44]", "at: [-98, -44]")
    (low,) = [one for one in rules(laid(text), "jack") if "sits on the weld" in one.message]
    # 16 mm across flats: the corners are 16 / sqrt(3) from the axis, the weld is 0.7 of the lug's 10 mm high
    assert low.found == pytest.approx(16.2 - 16 / math.sqrt(3))
    assert low.needed == pytest.approx(7)
    (remedy,) = low.remedies
    assert remedy.value == pytest.approx(16.3)
    lug = next(body for body in laid(text).bodies if body.name == "motor.jack lug")
    foot, weld = lug.pieces
    assert (weld.low, weld.high) == pytest.approx((-15 - 7, -15) if far else (0, 7))
    assert (foot.low, foot.high) == pytest.approx((-15 - 31.2, -15) if far else (0, 31.2))
    higher = laid(with_value(text, remedy.field, remedy.value))
    assert not [one for one in rules(higher, "jack") if "sits on the weld" in one.message]


@pytest.mark.parametrize("far", [False, True])
def test_a_spanner_on_the_lock_nut_passes_over_the_weld(far: bool) -> None:
    # a ring of 0.8 of 16 mm in radius, 1 mm off the lug, where the weld is 6 mm high and falls by 45 degrees: at 19 mm
    # it is 6.2 mm over the plate and 0.14 from the weld, at 20 mm 0.85; 0.5 belongs between them
    def blocked(height: int) -> list[platekit.Finding]:
        text = jacked(f"{{size: M10, at: [98, -44], height: {height}, block: 10}}")
        text = sides_changed(text).replace("at: [98, -44]", "at: [-98, -44]") if far else text
        return [one for one in rules(laid(text), "jack") if "spanner" in one.message and "lock nut" in one.message]

    (met,) = blocked(19)
    assert met.features == ("motor", "motor.jack lug")
    assert not blocked(20)
    (remedy,) = met.remedies
    text = sides_changed(SOUND) if far else SOUND
    after = platekit.check(laid(with_value(text, remedy.field, remedy.value))).findings
    assert not [one for one in after if one.stops or one.rule == "jack"]


def test_the_weld_of_a_lug_needs_steel_too() -> None:
    # the tip at 198.05 - 98 mm; 23.97 of travel, 2 clear, 7 of weld, 10 of lug, 7 of weld behind it: to 50.08 mm
    jack = "{size: M10, at: [98, -44], height: 30, block: 10}"
    over = laid(jacked(jack, (("width: 900", "width: 496"), ("[150, 0]", "[300, 0]"))))
    (stop,) = [one for one in rules(over, "jack") if one.level == "stop"]
    assert "past the edge" in stop.message
    assert stop.found == pytest.approx(50.08 - 52, abs=0.01)
    clear = laid(jacked(jack, (("width: 900", "width: 500"), ("[150, 0]", "[300, 0]"))))
    assert not [one for one in rules(clear, "jack") if one.level == "stop"]

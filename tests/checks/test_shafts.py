"""Shafts have a direction, a place and ends: pulleys past them, screws in them, feet with shafts along the plate."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import platekit
from platekit.checks import RULES, Finding, shafts
from platekit.laying.shafts import shaft_of
from platekit.spec import with_value
from tests.checks.rollers import DRIVEN, DRIVER, SHAFT, SOUND, changed

LONG = 50.0
"""Shaft of an IEC 90 frame, mm. Published: IEC 60072-1, E of frame 90."""


def laid(text: str) -> platekit.Layout:
    return platekit.lay_out(platekit.loads(text, "roller.yaml"))


def found(text: str, *rules: str) -> list[Finding]:
    return [one for one in platekit.check(laid(text)).findings if one.rule in (rules or SHAFT_RULES)]


SHAFT_RULES = {rule.name for rule in shafts.RULES}
assert {rule.name for rule in RULES} >= SHAFT_RULES


def test_the_sound_plate_has_nothing_against_its_shafts() -> None:
    assert platekit.check(laid(SOUND)).clear
    assert not found(SOUND)


# --------------------------------------------------------------------------------------- ends


def test_a_pulley_wholly_past_the_shaft_is_a_stop_with_both_figures_and_its_advice_ends_it() -> None:
    text = changed(
        (DRIVER, "pitch_diameter: 90, span: [-72, -56]"),
        (DRIVEN, "pitch_diameter: 200, span: [-68, -52]"),
        ("span: [-64, 0]", "span: [-90, 0]"),
    )
    (finding,) = found(text)
    assert (finding.rule, finding.level, finding.found, finding.needed) == ("shaft-end", "stop", 72, LONG)
    assert "72 mm" in finding.message
    assert "50 mm" in finding.message
    assert finding.remedies
    for remedy in finding.remedies:
        text = with_value(text, remedy.field, remedy.value)
    assert not found(text, "shaft-end", "align")


@settings(max_examples=25)
@given(past=st.floats(0.2, 60), wide=st.floats(8, 40))
def test_a_rim_that_is_held_by_less_than_two_thirds_stops_and_the_rest_warns(past: float, wide: float) -> None:
    start = -LONG - past
    text = changed((DRIVER, f"pitch_diameter: 90, span: [{start}, {start + wide}]"))
    (finding,) = [one for one in found(text, "shaft-end") if "drive.driver" in one.features]
    assert finding.found == pytest.approx(LONG + past)
    assert finding.level == ("warn" if past <= wide / 3 else "stop")


@pytest.mark.parametrize("past", [-0.5, 0.0])
def test_a_rim_that_ends_at_the_shafts_end_or_before_is_sound(past: float) -> None:
    assert not found(changed((DRIVER, f"pitch_diameter: 90, span: [{-50 - past}, {-34 - past}]")), "shaft-end")


def test_a_hub_on_the_shaft_holds_a_rim_past_its_end_and_a_hub_past_it_does_not() -> None:
    def hub(span: str) -> list[Finding]:
        words = f"pitch_diameter: 90, span: [-66, -50], hub: {{diameter: 45, span: {span}}}"
        return [one for one in found(changed((DRIVER, words)), "shaft-end") if "drive.driver" in one.features]

    assert hub("[-50, -22]") == []
    (short,) = hub("[-52, -24]")
    assert (short.level, short.found, short.needed) == ("stop", 52, LONG)


def test_a_described_shaft_goes_before_the_standards_and_a_boss_round_it_does_not() -> None:
    past = changed((DRIVER, "pitch_diameter: 90, span: [-60, -44]"))
    longer = "  long shaft: {carried_by: motor, shape: {circle: {diameter: 24}}, span: [-62, 0], relief: auto}\n"
    boss = "  boss: {carried_by: motor, shape: {circle: {diameter: 34}}, span: [-3, 0]}\n"
    driver = [one for one in found(past, "shaft-end") if "drive.driver" in one.features]
    assert [one.level for one in driver] == ["stop"]
    assert not found(past.replace("bodies:\n", f"bodies:\n{longer}"), "shaft-end")
    with_boss = found(changed(("bodies:\n", f"bodies:\n{boss}")), "shaft-end")
    assert with_boss == []


def test_the_described_shaft_of_a_machine_ends_too() -> None:
    (finding,) = found(changed(("span: [-64, 0]", "span: [-36, 0]")), "shaft-end")
    assert finding.features[0] == "drive.driven"
    assert (finding.level, finding.found, finding.needed) == ("stop", 44, 36)
    assert not found(changed(("span: [-64, 0]", "span: [-44, 0]")), "shaft-end")


def test_steps_on_one_axis_are_one_shaft() -> None:
    steps = "steps: [{diameter: 40, span: [-30, 0]}, {diameter: 32, span: [-46, -30]}], relief: auto}\n"
    stepped = changed((SHAFT, "  roller shaft: {carried_by: housing, " + steps))
    assert not found(stepped, "shaft-end")
    assert shaft_of(laid(stepped), laid(stepped).belts[0].driven).stretch == (-46, 0)  # type: ignore[union-attr]


def test_a_shaft_of_which_nothing_tells_is_said_not_to_be_checked() -> None:
    bare = changed((SHAFT, ""), ("  cap: {carried_by: housing, shape: {circle: {diameter: 88}}, span: [0, 90]}\n", ""))
    gaps = [one for one in found(bare, "not-checked") if "drive.driven" in one.features]
    assert ["where the shaft of housing ends" in one.message for one in gaps] == [True]
    assert not [one for one in found(SOUND, "not-checked") if "drive.driven" in one.features]


# --------------------------------------------------------------------------------------- place

FROM_HOLE_1 = ("[[-76, -50], [78, -51], [72, 57], [-69, 60]]", "[[0, 0], [154, -1], [148, 107], [7, 110]]")


@pytest.mark.parametrize("with_shaft", [True, False])
def test_points_counted_from_a_hole_put_the_shaft_into_its_screw_and_only_that_is_said(with_shaft: bool) -> None:
    text = changed(FROM_HOLE_1, *(() if with_shaft else ((SHAFT, ""),)))
    (finding,) = found(text)
    assert (finding.rule, finding.level) == ("shaft-place", "stop")
    assert "runs into the screw housing.1" in finding.message
    assert ("roller shaft" in finding.message) is with_shaft
    assert not found(text, "steel-under")
    others = [one for one in platekit.check(laid(text)).findings if "housing.1" in one.features and one != finding]
    assert not [one.message for one in others if one.level == "stop"]
    assert not [one for one in others if one.rule == "pulley-order"]


@pytest.mark.parametrize(("off", "told"), [(0.05, False), (0.2, True), (12.0, True)])
def test_a_pulley_beside_the_middle_of_its_shaft_is_told_and_its_advice_ends_it(off: float, told: bool) -> None:
    text = changed((DRIVEN, f"at: [{off}, 0], {DRIVEN}"))
    findings = found(text, "shaft-place")
    assert [one.found for one in findings] == ([pytest.approx(off)] if told else [])
    for finding in findings:
        for remedy in finding.remedies:
            text = with_value(text, remedy.field, remedy.value)
        assert not found(text, "shaft-place")


def test_a_shaft_beside_a_screw_is_in_its_place() -> None:
    off = changed(("[[-76, -50]", "[[-40, -40]"))
    assert not found(off, "shaft-place")


def test_another_parts_screw_is_no_opening_for_a_shaft() -> None:
    text = changed((SHAFT, ""), ("pitch_diameter: 200,", "at: [40, 120], pitch_diameter: 200,"))
    stops = found(text, "pulley-order")
    assert [one.level for one in stops if "drive.driven" in one.features] in ([], ["stop"])


# --------------------------------------------------------------------------------------- direction


@pytest.mark.parametrize("standard", ["IEC 90S", "IEC 80 B3", "NEMA 182T", "NEMA 56"])
def test_a_belt_on_a_motor_on_feet_is_refused(standard: str) -> None:
    text = changed(
        ("pattern: {standard: IEC 90 B14}", f"pattern: {{standard: {standard}}}"),
        ("    pilot: {diameter: 95, depth: 3, opening: none}\n    standoff: 4\n", ""),
        (
            "bolts: {into: part, depth: 22, thread_in: aluminium, washer: true}",
            "bolts: {size: M6, into: nut, flange: 9}",
        ),
    )
    (finding,) = found(text, "shaft-along")
    assert finding.level == "stop"
    assert "the shafts of motor and housing are 90.00 degrees out of parallel" in finding.message
    shaft = shaft_of(laid(text), laid(text).belts[0].driver)
    assert shaft is not None
    # the pattern is turned by 20 degrees and on the far side: its y, along which the shaft lies, by as much
    assert shaft.direction == pytest.approx((-math.sin(math.radians(20)), math.cos(math.radians(20)), 0.0))


def test_a_body_on_feet_or_a_cylinder_lying_across_is_refused_too_unless_a_shaft_stands_there() -> None:
    plain = ("pattern: {standard: IEC 90 B14}", "looking_at: face\n    pattern: {rectangle: {width: 140, height: 100}}")
    plain_text = changed(
        plain,
        ("    pilot: {diameter: 95, depth: 3, opening: none}\n    standoff: 4\n", ""),
        ("bolts: {into: part, depth: 22,", "bolts: {size: M8, into: part, depth: 22,"),
        ("  motor body: {carried_by: motor, shape: {circle: {diameter: 178}}, span: [10, 270]}\n", ""),
    )
    for body in (
        "  gear motor: {carried_by: motor, lying: {diameter: 120, length: 250, height: 90, axis: 90 deg}}\n",
        "  gear motor: {carried_by: motor, standard: IEC 90S}\n",
    ):
        text = plain_text.replace("bodies:\n", f"bodies:\n{body}")
        assert [one.level for one in found(text, "shaft-along")] == ["stop"]
        standing = "  output: {carried_by: motor, shape: {circle: {diameter: 24}}, span: [-60, 0], relief: auto}\n"
        assert not found(text.replace("bodies:\n", f"bodies:\n{standing}"), "shaft-along")
    assert not found(plain_text, "shaft-along")


def test_a_belt_is_not_said_to_meet_the_shafts_that_it_goes_round() -> None:
    # slots across the line of centres: all that a run covers over the travel comes over the shaft
    aslant = changed(
        ("along: belt, install: auto, tension: auto", "along: 65 deg, install: 22, tension: 38"),
    )
    clashes = [one for one in found(aslant, "clash") if any("belt" in name for name in one.features)]
    assert clashes == []
    # another part's shaft there is said all the same
    post = "  post: {carried_by: plate, side: far, shape: {circle: {diameter: 20}, at: [140, 130]}, span: [-60, 60]}\n"
    assert [one for one in found(aslant.replace("bodies:\n", f"bodies:\n{post}"), "clash") if "post" in one.features]

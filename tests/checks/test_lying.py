"""Rules on drives whose shafts lie along the plate: parallel, on the shaft, slots square to it, clear of things."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

import platekit
from platekit.checks import Finding
from platekit.spec import with_value
from tests.checks.lying import SOUND, changed

PLACE = "at: {belt: {from: bed, angle: 0 deg}}"
RIM = "span: {width: 20, from_end: 0}"

CASES: dict[str, tuple[tuple[str, str], ...]] = {
    "shaft-along": ((PLACE, "at: [200, -36]\n    turn: 0.8 deg"), ("along: belt", "along: 0 deg")),
    "shaft-end": ((RIM, "span: [45, 65]"),),
    "slot-angle": (("along: belt", "along: 1.5 deg"),),
    "slot-angle far": (("along: belt", "along: 12 deg"),),
    "slot-angle along the shaft": (
        ("along: belt, install: auto, tension: auto", "along: 90 deg, install: 1, tension: 1"),
    ),
    "over-plate": (("height: -150", "height: -119"),),
    "align": (
        (PLACE, "at: [200, -46]"),
        ("along: belt, install: auto, tension: auto", "along: belt, install: 20, tension: 30"),
    ),
    "blocked": (("height: -150", "height: -100"),),
}
"""What is changed in the sound drive; the first word is the rule."""


def of(text: str, rule: str) -> list[Finding]:
    findings = platekit.check(platekit.lay_out(platekit.loads(text, "line-shaft.yaml"))).findings
    return [one for one in findings if one.rule == rule]


def test_the_sound_drive_is_clear() -> None:
    verdict = platekit.check(platekit.lay_out(platekit.loads(SOUND, "line-shaft.yaml")))
    assert verdict.clear
    for case in CASES:
        assert not of(SOUND, case.split()[0])


@pytest.mark.parametrize("case", CASES)
def test_each_case_has_its_finding_and_its_advice_ends_it(case: str) -> None:
    text, rule = changed(*CASES[case]), case.split()[0]
    findings = of(text, rule)
    assert findings
    for _ in range(4):
        still = of(text, rule)
        if not still:
            break
        assert still[0].remedies, still[0].message
        for remedy in still[0].remedies:
            text = with_value(text, remedy.field, remedy.value)
    assert not of(text, rule)


FLOOR = (
    "bodies:\n  floor: {carried_by: plate, side: far, shape: {rectangle: {width: 2000, height: 2000}}, span: [45, 400]}"
)
NARROW = ("width: 900, height: 500", "width: 900, height: 300")

BAD: dict[str, tuple[tuple[tuple[str, str], ...], str, str, str]] = {
    "not parallel": (
        ((PLACE, f"{PLACE}\n    turn: 5 deg"),),
        "shaft-along",
        "5.00 degrees out of parallel; the belt bears 0.48",
        "    turn: 5 deg",
    ),
    "not told": (
        (("    shaft: {height: -150, along: 90 deg, stretch: [-100, 200], diameter: 30}\n", ""),),
        "shaft-along",
        "nothing says how the shaft of bed lies",
        "  driven: {on: bed",
    ),
    "inside the plate": (
        (("height: -150", "height: -7"),),
        "shaft-place",
        "its axis is 7 mm below the face of bed, where the plate reaches from 15 mm below it to level with it",
        "    shaft: {height: -7",
    ),
    "below the floor": (
        (
            ("height: -150", "height: 60"),
            NARROW,
            ("span: [100, 120]", "span: [180, 200]"),
            ("drive:\n", f"{FLOOR}\ndrive:\n"),
        ),
        "clash",
        "floor and drive.belt",
        "  floor: {carried_by: plate",
    ),
    "beside its shaft": (((RIM, "span: [45, 65]"),), "shaft-end", "from where the shaft of IEC 90S", "  driver: {on"),
}
"""Slips: what is changed, the rule that stops it, what it says, and the line of the file that it names."""


@pytest.mark.parametrize("case", BAD)
def test_a_slip_is_told_with_its_line_in_the_file(case: str) -> None:
    changes, rule, words, line = BAD[case]
    text = changed(*changes)
    found = [one for one in of(text, rule) if words in one.message]
    assert found, of(text, rule)
    assert found[0].level == "stop"
    assert found[0].line
    assert text.splitlines()[found[0].line - 1].startswith(line)
    # one mistake, one sentence: nothing that follows from it is told as well
    if case in ("not parallel", "inside the plate"):
        assert not of(text, "clash")
        assert not of(text, "blocked")


def test_what_stands_in_the_room_is_never_told_to_move() -> None:
    changes = BAD["below the floor"][0]
    layout = platekit.lay_out(platekit.loads(changed(*changes), "line-shaft.yaml"))
    told = platekit.advised(layout, platekit.check(layout))
    clashes = [one for one in told.findings if "floor" in one.features]
    assert clashes
    for finding in clashes:
        for advice in (finding.advice, *finding.others):
            assert "move floor" not in advice.text
            assert all(not remedy.field.startswith("bodies.floor") for remedy in advice.remedies)
    # another name makes it a thing that can be moved
    thing = changed(*((old, new.replace("floor:", "box:")) for old, new in changes))
    layout = platekit.lay_out(platekit.loads(thing, "line-shaft.yaml"))
    moved = [one for one in platekit.advised(layout, platekit.check(layout)).findings if "box" in one.features]
    assert any("move box" in advice.text for one in moved for advice in (one.advice, *one.others))


def test_shafts_out_of_parallel_are_told_by_how_much_and_which_way() -> None:
    (finding,) = of(changed(*CASES["shaft-along"]), "shaft-along")
    assert finding.found == pytest.approx(0.8)
    # common practice, 1/10 in a foot: 0.4775 degrees
    assert finding.needed == pytest.approx(math.degrees(math.atan(0.1 / 12)))
    assert "0.80 degrees clockwise" in finding.advice.text
    assert not of(changed((PLACE, "at: [200, -36]\n    turn: 0.4 deg"), ("along: belt", "along: 0 deg")), "shaft-along")


@pytest.mark.parametrize("degrees", [89.6, 89.7, 90.3, 90.4])
def test_a_shaft_askew_within_what_the_belt_bears_does_not_run_into_its_own_pulley(degrees: float) -> None:
    text = changed(("along: 90 deg", f"along: {degrees} deg"))
    for rule in ("clash", "belt-loop"):
        assert not [finding.message for finding in of(text, rule) if "motor.shaft" in str(finding)]


def test_shafts_square_to_each_other_are_said_to_be() -> None:
    text = changed((PLACE, "at: [200, 0]\n    turn: 90 deg"), ("along: belt", "along: 0 deg"))
    (finding,) = of(text, "shaft-along")
    assert finding.level == "stop"
    assert finding.found == pytest.approx(90.0)
    for rule in ("align", "pulley-order", "blocked", "clash", "rub"):  # nothing is judged that cannot be there
        assert not of(text, rule)


def test_a_shaft_that_is_not_told_beside_one_on_feet_is_asked_for() -> None:
    text = changed(("    shaft: {height: -150, along: 90 deg, stretch: [-100, 200], diameter: 30}\n", ""))
    (finding,) = of(text, "shaft-along")
    assert "nothing says how the shaft of bed lies" in finding.message
    assert "mounts.bed.shaft" in finding.advice.text


def test_slots_off_square_warn_within_what_the_belt_bears_and_stop_beyond() -> None:
    (slight,), (far,) = (
        of(changed(*CASES["slot-angle"]), "slot-angle"),
        of(changed(*CASES["slot-angle far"]), "slot-angle"),
    )
    assert (slight.level, far.level) == ("warn", "stop")
    assert slight.found == pytest.approx(1.5)
    assert not of(changed(("along: belt", "along: 0.9 deg")), "slot-angle")


def test_pulleys_out_of_line_are_told_in_mm() -> None:
    (finding,) = of(changed(*CASES["align"]), "align")
    # the motor sits at y = -46 where -36 would be in line
    assert finding.found == pytest.approx(10.0)


def test_what_stands_in_the_way_of_a_run_is_met_at_its_height() -> None:
    post = (
        "bodies:\n  post: {{carried_by: plate, side: near, shape: {{circle: {{diameter: 20}}, at: [0, 110]}}, "
        "span: [0, {}]}}\ndrive:"
    )
    # the lower run goes from 35 mm at the driven pulley to 50 mm at the driver's, in the plane y = 110
    assert not of(changed(("drive:", post.format(20))), "clash")
    assert any("post" in one.features for one in of(changed(("drive:", post.format(60))), "clash"))
    beside = post.replace("110", "150")
    assert not of(changed(("drive:", beside.format(200))), "clash")


def test_a_pulley_that_dips_into_the_plate_is_offered_its_opening() -> None:
    findings = of(changed(*CASES["blocked"]), "blocked")
    assert any("drive.driven" in one.features and one.remedies for one in findings)


def test_a_place_by_the_belt_is_found_on_both_sides_of_a_shaft_along_the_plate() -> None:
    text = changed((PLACE, "at: {find: {belt: {from: bed}}}"))
    found = platekit.found(platekit.loads(text, "line-shaft.yaml"))
    pose = platekit.lay_out(found).mounts["motor"].pose
    # to the right, as the plate ends 100 mm to the left of the shaft; in line: 110 mm less 156 mm and half a rim
    assert (pose.x, pose.y) == pytest.approx((-200 + math.sqrt(400.5935**2 - 45**2), -36), abs=0.01)
    moved = changed(
        (PLACE, "at: {find: {belt: {from: bed}}}"), ("at: [150, 0]", "at: [-550, 0]"), ("corner: 10}", "corner: 9}")
    )
    pose = platekit.lay_out(platekit.found(platekit.loads(moved, "line-shaft.yaml"))).mounts["motor"].pose
    assert pose.x == pytest.approx(-200 - math.sqrt(400.5935**2 - 45**2), abs=0.01)


def test_a_pulley_left_to_the_tables_is_asked_for_its_hub() -> None:
    text = changed((RIM, "span: {width: auto, from_end: 0}"))
    (finding,) = [one for one in of(text, "not-checked") if "hub" in one.message]
    assert finding.level == "note"
    assert "the hub of drive.driver runs into" in finding.message
    told = text.replace("{width: auto, from_end: 0}", "{width: auto, from_end: 0}, hub: {diameter: 45, span: [15, 50]}")
    assert not [one for one in of(told, "not-checked") if "hub" in one.message]


def test_a_floor_holds_no_shaft_and_a_key_is_told_with_its_shaft() -> None:
    floor = "shape: {rectangle: {width: 2000, height: 2000}}, span: [60, 100]"
    text = changed(("drive:\n", f"bodies:\n  floor: {{carried_by: plate, side: near, {floor}}}\ndrive:\n"))
    assert not of(text, "belt-loop")
    met = [one for one in of(text, "clash") if "motor.shaft" in one.message]
    assert len(met) == 1
    assert not [one for one in of(text, "clash") if "motor.key and" in one.message or "and motor.key" in one.message]


def test_a_countershaft_is_left_longer_for_a_rim_that_reaches_past_it() -> None:
    text = (Path(platekit.__file__).parents[1] / "specs" / "winnowing-fan.yaml").read_text("utf-8")
    assert not of(text, "shaft-end")
    (finding,) = of(text.replace("stretch: [-190, 180]", "stretch: [-190, 155.27]"), "shaft-end")
    assert finding.found == pytest.approx(166)
    assert [(one.field, one.value) for one in finding.remedies] == [("mounts.countershaft.shaft.stretch", [-190, 166])]
    # or back onto the shaft, where the figure that is rounded does not reach past it again
    (back,) = finding.others
    (edit,) = back.remedies
    assert edit.value == [119.2, 155.2]


def test_the_spacers_under_a_pulley_that_dips_into_the_plate_give_it_its_gap_over_that() -> None:
    # an axis 90 mm over the face, and a rim of some 103 mm radius: 13 mm deep, and 2 mm are wanted over the face
    text = changed(("pitch_diameter: 80", "pitch_diameter: 200"), ("pitch_length: 1250", "pitch_length: 1450"))
    (finding,) = [one for one in of(text, "blocked") if "drive.driver" in one.features]
    (standoff, *_) = [
        edit for one in (finding.advice, *finding.others) for edit in one.remedies if "standoff" in edit.field
    ]
    mended = with_value(text, standoff.field, standoff.value)
    found = [*of(mended, "blocked"), *of(mended, "over-plate")]
    assert not [one for one in found if "drive.driver" in one.features]

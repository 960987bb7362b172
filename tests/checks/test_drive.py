"""Each rule on the drive: a drive that has its finding, one just inside the limit, and the advice followed."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

import platekit
from platekit.analysis.assembly import assembly
from platekit.checks import Finding, Verdict, drive, drive_fit
from platekit.export.reports.rows import step_rows
from platekit.placed import Layout
from platekit.spec import with_value
from tests.checks.drives import BRUSHED, SOUND, TOOTHED, changed

RULES = {rule.name for rule in (*drive.RULES, *drive_fit.RULES)}
MOTOR = "motor: {power: 0.25 kW, speed: 1740 rpm, frequency: 60 Hz, max_speed: 3600 rpm}"
INVERTER = "inverter: {from: 15 Hz, to: 90 Hz}"
BELT = "belt: {section: A, pitch_length: 1000}"
DRIVER, DRIVEN = "pitch_diameter: 71, span: [-50, -30]", "pitch_diameter: 250, span: [22, 42]"
WANTED = "wanted: {at: driven, from: 120 rpm, to: 700 rpm, torque: 3 Nm}"
PLACE = "at: {belt: {from: machine, angle: 90 deg}}"
TAKE_UP = "take_up: {slots: {along: belt, install: auto, tension: auto}}"
SHAFT = SOUND[SOUND.index("bodies:") : SOUND.index("drive:")]

CASES: dict[str, str] = {
    "belt-speed fast": changed(
        (DRIVER, DRIVER.replace("71", "240")), (BELT, BELT.replace("1000", "1400")), (WANTED, "")
    ),
    "belt-speed fast, small pulleys": changed(
        (MOTOR, MOTOR.replace("3600", "20000")), (INVERTER, INVERTER.replace("90", "400")), (WANTED, "")
    ),
    "belt-speed slow": changed((MOTOR, MOTOR.replace("1740", "1140"))),
    "speed-limit motor": changed((MOTOR, MOTOR.replace("3600", "2400"))),
    "speed-limit unmarked": changed((MOTOR, MOTOR.replace(", max_speed: 3600 rpm", "")), ("90 Hz", "120 Hz")),
    "speed-limit rim": changed(
        (DRIVER, f"{DRIVER}, material: plastic"), ("90 Hz", "200 Hz"), (MOTOR, MOTOR.replace("3600", "9000"))
    ),
    "speed-limit tool": changed((WANTED, WANTED.replace("torque: 3 Nm", "tool_max_speed: 650 rpm"))),
    "speed-limit tool without inverter": changed(
        (INVERTER, ""), (WANTED, "wanted: {from: 300 rpm, to: 300 rpm, tool_max_speed: 320 rpm}")
    ),
    "slow-cooling": changed((INVERTER, INVERTER.replace("15", "8"))),
    "wrap": changed((BELT, BELT.replace("1000", "1430")), (DRIVEN, DRIVEN.replace("250", "400")), (WANTED, "")),
    "wrap toothed": changed(("37.5 in", "26.25 in"), ("teeth: 22", "teeth: 13"), ("72", "40"), text=TOOTHED),
    "small-pulley": changed((DRIVER, DRIVER.replace("71", "60"))),
    "small-pulley toothed": changed(("teeth: 22", "teeth: 11"), text=TOOTHED),
    "overhung-load": changed((MOTOR, MOTOR.replace("0.25", "5.5"))),
    "shaft-load": changed((MOTOR, MOTOR.replace("frequency:", "shaft_load: 110 N, frequency:"))),
    "belt-rating": changed((MOTOR, MOTOR.replace("0.25", "0.75"))),
    "belt-rating chosen": changed(
        (MOTOR, MOTOR.replace("0.25", "0.75")), (BELT, "belt: {section: A, choose: true, near: 230}")
    ),
    "belt-rating ribbed": changed((BELT, "belt: {size: 4PK1000}"), (MOTOR, MOTOR.replace("0.25", "0.75"))),
    "belt-rating toothed": changed((", width: 25.4", ", width: 6"), text=TOOTHED),
    "wanted-speed ratio": changed((WANTED, WANTED.replace("120", "240").replace("700", "1400"))),
    "wanted-speed range": changed((WANTED, WANTED.replace("120", "90").replace(", torque: 3 Nm", ""))),
    "wanted-speed switched": changed((INVERTER, ""), (WANTED, WANTED.replace(", torque: 3 Nm", ""))),
    "torque-short": changed((WANTED, WANTED.replace("torque: 3", "torque: 9"))),
    "take-up install": changed((TAKE_UP, TAKE_UP.replace("install: auto", "install: 5"))),
    "take-up tension": changed((TAKE_UP, TAKE_UP.replace("tension: auto", "tension: 5"))),
    "take-up across": changed((TAKE_UP, "take_up: {slots: {along: 0 deg, install: 5, tension: 50}}")),
    "take-up none": changed((TAKE_UP, "")),
    "take-up elsewhere": changed((TAKE_UP, ""), (PLACE, "at: [0, 330]")),
    "align off": changed((DRIVER, DRIVER.replace("[-50, -30]", "[-46, -26]"))),
    "align far off": changed((DRIVEN, DRIVEN.replace("[22, 42]", "[-42, -22]"))),
}
"""Drives that have a finding; the first word is the rule."""

BY_HAND = {"pulley-order"}
"""Rules whose findings are notes, or stops that no single edit mends; each has tests of its own below."""


def laid(text: str) -> Layout:
    return platekit.lay_out(platekit.loads(text, "drive.yaml"))


def judged(text: str) -> Verdict:
    return platekit.check(laid(text))


def of_rule(text: str, rule: str) -> list[Finding]:
    """What the rule has against the drive; notes are not against it."""
    return [finding for finding in judged(text).findings if finding.rule == rule and finding.level != "note"]


@pytest.mark.parametrize("text", [SOUND, TOOTHED, BRUSHED], ids=["V", "toothed", "DC"])
def test_a_sound_drive_has_nothing_against_it(text: str) -> None:
    verdict = judged(text)
    assert verdict.clear
    assert not [f.message for f in verdict.findings if f.rule in RULES and f.level != "note"]


def test_every_rule_on_the_drive_has_a_case() -> None:
    assert {case.split()[0] for case in CASES} | BY_HAND == RULES
    assert not BY_HAND & {case.split()[0] for case in CASES}


@pytest.mark.parametrize("case", CASES)
def test_a_rule_finds_its_mistake_and_says_both_numbers(case: str) -> None:
    findings = of_rule(CASES[case], case.split()[0])
    assert findings
    for finding in findings:
        assert finding.features
        assert finding.at is not None
        assert finding.found is not None
        assert finding.needed is not None
        assert finding.found != finding.needed
        assert finding.advice.text


@pytest.mark.parametrize("case", CASES)
def test_advice_that_is_followed_ends_the_finding(case: str) -> None:
    text, rule = CASES[case], case.split()[0]
    finding = of_rule(text, rule)[0]
    assert finding.remedies, finding.advice.text
    for remedy in finding.remedies:
        text = with_value(text, remedy.field, remedy.value)
    assert not [f.message for f in of_rule(text, rule) if f.features == finding.features]


# ------------------------------------------------------------------------------ limits, by hand


@pytest.mark.parametrize(
    ("rule", "old", "stays", "goes"),
    [
        ("small-pulley", "71", "70.6", "70.7"),  # DIN 2217 prints 71; half a per cent under it counts as it
        ("slow-cooling", "from: 15 Hz", "from: 14.9 Hz", "from: 15 Hz"),
        (
            "speed-limit",
            "max_speed: 3600",
            "max_speed: 2699",
            "max_speed: 2701",
        ),  # 90 Hz: 2700 rpm of the field, without load
        ("wanted-speed", "to: 700", "to: 757", "to: 756"),  # 2610 x 71 / 250 = 741.2, two per cent more is 756.1
    ],
)
def test_a_limit_is_where_it_is_said_to_be(rule: str, old: str, stays: str, goes: str) -> None:
    assert of_rule(SOUND.replace(old, stays), rule)
    assert not of_rule(SOUND.replace(old, goes), rule)


def test_a_motor_without_load_is_as_fast_as_its_field_beyond_its_rated_frequency() -> None:
    """Four poles at 90 Hz: 2700 rpm. On the mains alone what the plate says stands, also where it is the top speed."""
    (finding,) = of_rule(changed((MOTOR, MOTOR.replace("3600", "2650"))), "speed-limit")
    assert "runs 2700 rpm at the highest setting when nothing loads it" in finding.message
    wanted = (WANTED, "wanted: {from: 490 rpm, to: 495 rpm}")
    assert not of_rule(changed((INVERTER, ""), wanted, (MOTOR, MOTOR.replace("3600", "1740"))), "speed-limit")


def test_a_tenth_of_an_inch_in_a_foot_is_the_limit_of_alignment_for_v_belts() -> None:
    centres = laid(SOUND).belts[0].result.centre_distance
    allowed = centres * 0.1 / 12

    def off(by: float) -> str:
        return changed((DRIVER, f"pitch_diameter: 71, span: [{-50 + by}, {-30 + by}]"))

    assert of_rule(off(allowed + 0.01), "align")
    assert not of_rule(off(allowed - 0.01), "align")


def test_a_sixteenth_in_a_foot_is_the_limit_for_toothed_belts() -> None:
    allowed = laid(TOOTHED).belts[0].result.centre_distance / 16 / 12

    def off(by: float) -> str:
        return changed(("span: [-52, -24]", f"span: [{-52 + by}, {-24 + by}]"), text=TOOTHED)

    assert of_rule(off(allowed + 0.01), "align")
    assert not of_rule(off(allowed - 0.01), "align")


def test_the_thickness_of_the_plate_moves_the_pulley_plane() -> None:
    thicker = changed(("thickness: 8", "thickness: 12"), ("depth: 16, washer", "depth: 20, washer"))
    found = of_rule(thicker, "align")
    assert [finding.found for finding in found] == [pytest.approx(4.0)]
    assert "4 mm" in found[0].message


FRAME = "bodies:\n  motor frame: {carried_by: motor, shape: {circle: {diameter: 160}}, span: [0, 200]}\n"


def test_a_pulley_is_not_advised_into_the_motor() -> None:
    text = changed((DRIVEN, DRIVEN.replace("[22, 42]", "[-42, -22]")), ("bodies:\n", FRAME))
    (found,) = of_rule(text, "align")
    # the middle of the driver is 40 mm behind the near face, that of the driven one 24 mm before it
    assert found.advice.text.startswith("move drive.driven 64 mm along its shaft (span: [22, 42])")
    assert "no room for drive.driver" in found.advice.text
    assert [remedy.field for remedy in found.remedies] == ["drive.driven.span"]
    # a shaft that ends before the new place does not hold the pulley there either
    bare = changed((DRIVEN, DRIVEN.replace("[22, 42]", "[-42, -22]")))
    assert of_rule(bare, "align")[0].remedies[0].field == "drive.driven.span"


def test_a_pulley_in_its_own_motor_is_a_stop_and_one_on_its_shaft_is_not() -> None:
    def clashes(span: str) -> list[Finding]:
        text = changed((DRIVER, DRIVER.replace("[-50, -30]", span)), ("bodies:\n", FRAME))
        return [one for one in of_rule(text, "clash") if set(one.features) == {"drive.driver", "motor frame"}]

    assert clashes("[-50, -30]") == []
    (found,) = clashes("[-10, 10]")
    assert found.advice.text.startswith("move the belt and all pulleys of drive ")
    by_hand = "both are on motor: move drive.driver along its shaft, clear of it (its `span`)"
    assert found.others[-1].text == by_hand


def test_half_a_turn_less_sixty_degrees_is_the_limit_of_wrap() -> None:
    # cos(120 deg / 2) = (400 - 71) / 2C gives C = 329 mm, and with it the belt's length by the wrap angles
    lean = math.asin(164.5 / 329)
    limit = 2 * 329 * math.cos(lean) + math.pi / 2 * (400 + 71) + 329 * lean
    for by, found in ((-0.2, True), (0.2, False)):
        assert bool(of_rule(CASES["wrap"].replace("1430", f"{limit + by:.2f}"), "wrap")) is found


def test_overhung_load_is_the_handbooks_estimate() -> None:
    # 19.1e6 x kW x K / (rpm x pitch diameter), K = 1.5; the smallest pulley for 5 hp at 1750 rpm is 3.0 in, 7.5 hp too
    found = of_rule(CASES["overhung-load"], "overhung-load")[0]
    assert found.found == pytest.approx(19.1e6 * 5.5 * 1.5 / (1740 * 71), rel=1e-3)
    assert found.needed == pytest.approx(19.1e6 * 5.5 * 1.5 / (1740 * 76.2), rel=1e-3)


def test_a_rating_warns_and_never_stops() -> None:
    findings = of_rule(CASES["belt-rating"], "belt-rating")
    assert {finding.level for finding in findings} == {"warn"}


def test_a_belt_that_only_a_belt_of_today_could_be_is_a_note_with_both_figures() -> None:
    verdict = judged(changed((MOTOR, MOTOR.replace("0.25", "0.4"))))
    (found,) = (finding for finding in verdict.findings if finding.rule == "belt-rating")
    assert found.level == "note"
    assert found.needed == pytest.approx(0.48)
    # Shigley's 0.495 kW for 71 mm at 1740 rpm, with 0.88 for wrap and 0.90 for length
    assert found.found == pytest.approx(0.39, abs=0.005)


def test_torque_short_counts_only_where_the_work_is_wanted() -> None:
    # 4.6 Nm up to 60 Hz, where the shaft runs 494 rpm, two thirds of it at 90 Hz
    assert not of_rule(changed((WANTED, "wanted: {from: 120 rpm, to: 480 rpm, torque: 4.5 Nm}")), "torque-short")
    assert of_rule(changed((WANTED, "wanted: {from: 120 rpm, to: 700 rpm, torque: 4.5 Nm}")), "torque-short")
    assert of_rule(changed((WANTED, "wanted: {torque: 4.5 Nm}")), "torque-short")


def test_beyond_one_belt_a_countershaft_is_named_with_the_ratio() -> None:
    text = changed((INVERTER, ""), (WANTED, "wanted: {from: 24.17 rpm, to: 24.17 rpm}"))
    finding = of_rule(text, "wanted-speed")[0]
    assert "72.0 to 1" in finding.advice.text
    assert "countershaft" in finding.advice.text


# ------------------------------------------------------------------------------ take-up


def test_take_up_that_the_belt_gives_just_covers_it() -> None:
    mount = laid(SOUND).mounts["motor"]
    assert mount.travel is not None
    for key in ("install", "tension"):
        needed = getattr(mount.travel, key)
        for by, found in ((-0.1, True), (0.1, False)):
            text = changed((TAKE_UP, TAKE_UP.replace(f"{key}: auto", f"{key}: {needed + by:.3f}")))
            assert bool(of_rule(text, "take-up")) is found


@pytest.mark.parametrize("along", ["60 deg", "110 deg", "40 deg"])
def test_slots_off_the_line_of_centres_cover_the_belt_and_say_what_they_cost(along: str) -> None:
    text = changed((TAKE_UP, TAKE_UP.replace("along: belt", f"along: {along}")))
    assert not of_rule(text, "take-up")
    notes = [f for f in judged(text).findings if f.rule == "take-up"]
    off = math.radians(abs(float(along.split()[0]) - 90))
    assert [note.found for note in notes] == [pytest.approx(math.cos(off))]
    assert "sideways" in notes[0].message


def test_slots_off_the_line_with_travel_for_the_line_run_out() -> None:
    straight = laid(SOUND).mounts["motor"].travel
    assert straight is not None
    given = f"along: 40 deg, install: {straight.install:.2f}, tension: {straight.tension:.2f}"
    text = changed((TAKE_UP, f"take_up: {{slots: {{{given}}}}}"))
    assert len(of_rule(text, "take-up")) == 2


def test_a_swing_is_judged_by_the_distances_it_really_gives() -> None:
    swing = "take_up: {swing: {about: [-190, 150], tightens: TURN, install: AUTO, tension: AUTO}}"
    for turn in ("counter-clockwise", "clockwise"):
        text = changed((TAKE_UP, swing.replace("TURN", turn).replace("AUTO", "auto")))
        found = of_rule(text, "take-up")
        layout = laid(text)
        reach = drive_fit.reach_of(layout.belts[0])
        needed = layout.belts[0].result.travel
        assert needed is not None
        # pivot to machine shaft 210.2, to motor shaft 233.8, 230.3 apart: tightens as it swings away, upwards
        covered = reach.least <= needed.shortest + 0.05 and reach.greatest >= needed.longest - 0.05
        assert covered is (turn == "counter-clockwise")
        assert bool(found) is not covered
        for finding in found:
            assert finding.remedies[0].value == "counter-clockwise"
            text = with_value(text, finding.remedies[0].field, finding.remedies[0].value)
        assert not of_rule(text, "take-up")
    assert of_rule(changed((TAKE_UP, swing.replace("TURN", "clockwise").replace("AUTO", "1 deg"))), "take-up")


def test_a_drive_without_travel_that_fits_its_belt_is_a_warning_and_one_that_does_not_a_stop() -> None:
    assert [f.level for f in of_rule(CASES["take-up none"], "take-up")] == ["warn"]
    assert [f.level for f in of_rule(CASES["take-up elsewhere"], "take-up")] == ["stop"]


# ------------------------------------------------------------------------------ order, and what is not known


def orders(text: str) -> list[Finding]:
    return [finding for finding in judged(text).findings if finding.rule == "pulley-order"]


def test_a_pulley_that_does_not_pass_is_put_on_after_the_motor() -> None:
    found = orders(SOUND)
    assert [finding.level for finding in found] == ["note"]
    assert "motor is bolted on first, then the pulley" in found[0].message


def test_a_pulley_that_passes_a_large_pilot_may_stay_on_its_shaft() -> None:
    text = changed((PLACE, f"{PLACE}\n    pilot: {{diameter: 100, depth: 4}}"), (TAKE_UP, ""))
    found = orders(text)
    assert [finding.level for finding in found] == ["note"]
    assert "may stay on its shaft" in found[0].message


def test_a_shaft_that_finds_no_opening_is_a_stop() -> None:
    found = orders(changed((SHAFT, "")))
    assert [finding.level for finding in found] == ["stop"]
    assert "no opening for its shaft" in found[0].message


def test_pulleys_on_their_own_side_need_no_order() -> None:
    text = changed((SHAFT, ""), (DRIVER, DRIVER.replace("[-50, -30]", "[20, 40]")))
    assert not orders(text)


def unknown(text: str) -> list[str]:
    return [
        finding.message
        for finding in judged(text).findings
        if finding.rule == "not-checked" and "drive" in finding.features
    ]


def test_what_could_not_be_judged_is_said() -> None:
    assert not unknown(SOUND)
    assert ["no motor is given" in said for said in unknown(changed((f"{MOTOR}\n  {INVERTER}\n", "\n")))] == [True]
    small = (DRIVER, DRIVER.replace("pitch_diameter: 71", "pitch_diameter: 40"))
    narrow = changed((BELT, "belt: {section: PJ, effective_length: 1000, ribs: 8}"), small)
    assert ["rating: look up" in said for said in unknown(narrow)] == [True]
    (said,) = unknown(narrow)
    assert "no figure of its table reaches its small pulley and speed" in said
    assert " N, where 93 N is usual (" in said  # 8 ribs of 11.6 N
    assert ["no table holds it" in said for said in unknown(BRUSHED)] == [True]
    ribless = changed((BELT, "belt: {section: PJ, pitch_length: 1000}"))
    assert any("its width or ribs are not given" in said for said in unknown(ribless))
    nothing_wanted = changed((WANTED, WANTED.replace(", torque: 3 Nm", "")))
    assert ["no required torque" in said for said in unknown(nothing_wanted)] == [True]


def test_a_plate_without_a_drive_is_not_judged_for_one() -> None:
    text = (Path(__file__).parents[2] / "specs" / "bead-sorter.yaml").read_text("utf-8")
    assert not RULES & {finding.rule for finding in judged(text).findings}


# ------------------------------------------------------------------------------ brushed motors


def test_a_brushed_motor_is_judged_by_its_unloaded_speed() -> None:
    # 3600 rpm lightly loaded at 250 / 71 is 1022 rpm at the tool, 852 under load
    wanted = "wanted: {from: 150 rpm, to: 800 rpm, torque: 2 Nm}"
    old = "wanted: {at: driven, from: 150 rpm, to: 800 rpm, torque: 2 Nm}"
    for limit, found in ((1000, True), (1030, False)):
        text = changed((old, wanted.replace("torque: 2 Nm", f"tool_max_speed: {limit} rpm")), text=BRUSHED)
        findings = of_rule(text, "speed-limit")
        assert bool(findings) is found
        for finding in findings:
            assert "when nothing loads it" in finding.message
            text = with_value(text, finding.remedies[0].field, finding.remedies[0].value)
            assert not of_rule(text, "speed-limit")


def test_a_universal_motor_that_is_too_weak_is_said_with_the_ratio_that_would_do() -> None:
    motor = (
        "motor: {kind: universal, loaded: {speed: 8000 rpm, torque: 0.5 Nm}, light: {speed: 18000 rpm, torque: 0.1 Nm}}"
    )
    old = BRUSHED[BRUSHED.index("motor: {kind: dc") : BRUSHED.index("\n  voltage:")]
    text = changed((old, motor), ("torque: 2 Nm", "torque: 20 Nm"), ("to: 800 rpm", "to: 900 rpm"), text=BRUSHED)
    finding = of_rule(text, "torque-short")[0]
    # 0.5 Nm x 250 / 71 x 0.95
    assert finding.found == pytest.approx(0.5 * 250 / 71 * 0.95)
    assert f"{250 / 71 * 20 / (0.5 * 250 / 71 * 0.95):.2f} to 1" in finding.advice.text


def test_what_one_mount_carries_keeps_its_distance_over_the_travel() -> None:
    # the motor's screw heads stand 120 mm apart along slots that are longer than the gap between rim and heads
    long = changed((TAKE_UP, "take_up: {slots: {along: 45 deg, install: 60, tension: 60}}"))
    clashes = [f for f in judged(long).findings if f.rule == "clash"]
    assert not [f for f in clashes if "motor" in f.message and "drive.driver" in f.message]
    # a flange that really reaches the heads, 84.9 mm from the shaft, is still found
    wide = changed((DRIVER, "pitch_diameter: 71, flange_diameter: 165, span: [-28, -8]"))
    assert [f for f in judged(wide).findings if f.rule == "clash" and "drive.driver" in f.features]


# ------------------------------------------------------------------------------ screws that are tightened last

UNDER_THE_BELT = """\
platekit: 1
title: Flax breaker
units: mm
plate: {material: mild steel, thickness: 10}
mounts:
  machine:
    side: far
    looking_at: face
    pattern: {rectangle: {width: 140, height: 108}}
    bolts: {size: M10, into: nut, flange: 18, washer: true}
  motor:
    side: far
    pattern: {standard: IEC 90 B14, hole: 10}
    at: {belt: {from: machine, angle: 84 deg}}
    pilot: {diameter: 95, depth: 3, opening: none}
    standoff: 4
    bolts: {into: part, depth: 14, washer: true}
    take_up: {slots: {along: belt, install: auto, tension: auto}}
bodies:
  drum shaft: {carried_by: machine, shape: {circle: {diameter: 30}}, span: [-70, 0], relief: auto}
drive:
  motor: {power: 1.1 kW, speed: 1410 rpm, frequency: 50 Hz, max_speed: 2800 rpm}
  inverter: {from: 20 Hz, to: 75 Hz}
  belt: {size: SPZ1037}
  driver: {on: motor, pitch_diameter: 90, span: [-42, -22]}
  driven: {on: machine, pitch_diameter: 200, span: [-39, -19]}
  wanted: {at: driven, from: 250 rpm, to: 900 rpm}
cutting: {process: plasma}
"""


def late(text: str) -> list[Finding]:
    return [f for f in judged(text).findings if f.rule == "order" and any("motor." in name for name in f.features)]


def test_screws_of_what_tightens_the_belt_are_never_told_to_be_tightened_before_it() -> None:
    found = late(UNDER_THE_BELT)
    assert found
    assert not any("tighten them before" in one.message for one in found)
    (warning,) = [one for one in found if one.level == "warn"]
    # the others of its screws are told of beside, each screw once
    screws = [name for one in found for name in one.features if name.startswith("motor.")]
    assert len(screws) == len(set(screws))
    layout = laid(UNDER_THE_BELT)
    (step,) = (row for row in step_rows(layout, assembly(layout)) if row.item == "motor")
    assert step.mind.startswith("only hand-tight: tightened once the belt is tensioned; drive.belt can cover")
    # and its advice, followed to the letter, does away with it
    away = float(warning.advice.text.split("pulleys ")[1].split(" mm farther off")[0])
    moved = changed(
        ("span: [-42, -22]", f"span: [{-42 - away}, {-22 - away}]"),
        ("span: [-39, -19]", f"span: [{-39 - away}, {-19 - away}]"),
        text=UNDER_THE_BELT,
    )
    assert not [one for one in late(moved) if one.level == "warn"]


def test_a_fan_past_its_speed_takes_more_than_the_motor_brings() -> None:
    # 4 Nm at 700 rpm are 4.48 Nm at the 741 rpm of 90 Hz; the same belt drives a mill with what it has
    fan = changed((INVERTER, f"machine: large fan\n  {INVERTER}"), (WANTED, WANTED.replace("torque: 3", "torque: 3.2")))
    (finding,) = of_rule(fan, "torque-short")
    assert finding.level == "warn"
    assert finding.needed == pytest.approx(3.2 * (741 / 700) ** 2, rel=0.01)
    (remedy,) = finding.advice.remedies
    assert not of_rule(with_value(fan, remedy.field, remedy.value), "torque-short")
    assert not of_rule(fan.replace("large fan", "mill"), "torque-short")

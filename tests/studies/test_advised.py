"""Advice that was tried: what it says of plates whose plain advice does not do, and how much work it may take."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Sequence

import pytest

import platekit
from platekit.checks import STAGES, Finding, Rule, Verdict
from platekit.checks.finding import Advice
from platekit.layout import Layout
from platekit.spec import with_value
from platekit.studies import advised as study
from platekit.studies.advised import NONE_FOUND, NOT_TRIED, judge
from tests.adversary import advice
from tests.adversary.sound_plates import FLANGE, HULLER, ROLLER, sound_plates
from tests.checks import plates


def swapped(text: str, *swaps: tuple[str, str]) -> str:
    for old, new in swaps:
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times"
        text = text.replace(old, new)
    return text


def told(text: str, rule: str) -> list[Finding]:
    """The findings of a rule with advice that was tried; every edit in it is followed and must do."""
    layout = platekit.lay_out(platekit.loads(text, "plate.yaml"))
    outcome = advice.follow(text)
    assert not outcome.wrong
    return [one for one in judge(layout).findings if one.rule == rule and one.level != "note"]


@pytest.mark.parametrize("name", sound_plates())
def test_the_plates_that_get_slips_are_sound(name: str) -> None:
    assert advice.judged(sound_plates()[name])[1].clear


# ------------------------------------------------------------------------------------------ one by one


def test_a_motor_on_a_belt_is_turned_about_the_other_shaft_not_moved() -> None:
    foot = "shape: {rectangle: {width: 40, height: 60}, at: [400, 160]}, span: [30, 200]}"
    (clash,) = told(swapped(ROLLER, ("bodies:\n", f"bodies:\n  chute foot: {{carried_by: bearing, {foot}\n")), "clash")
    (remedy,) = clash.remedies
    assert clash.advice.tried
    assert remedy.field == "mounts.motor.at"
    assert isinstance(remedy.value, dict)
    assert isinstance(remedy.value["belt"], dict)
    assert remedy.value["belt"]["from"] == "bearing"


def test_heads_either_side_of_a_rib_get_one_move_that_clears_both() -> None:
    clashes = told(swapped(FLANGE, ("at: [214, 30]", "at: [190, 30]")), "clash")
    assert len(clashes) == 2
    assert len({repr(one.remedies) for one in clashes}) == 1
    assert all(one.advice.tried for one in clashes)


@pytest.mark.parametrize("standoff", ["", "    standoff: 2\n"])
def test_a_pilot_that_stays_out_of_the_plate_gets_spacers_where_its_opening_would_cut_the_holes(
    standoff: str,
) -> None:
    (blocked,) = told(swapped(FLANGE, ("    standoff: 4\n", standoff)), "blocked")
    assert [(one.field, one.value) for one in blocked.remedies] == [("mounts.motor.standoff", 4.5)]


def test_holes_too_large_for_washer_and_web_get_one_size_that_suits_both() -> None:
    text = swapped(ROLLER, ("{standard: IEC 90 B14}", "{standard: IEC 90 B14, hole: 15}"))
    findings = [*told(text, "web"), *told(text, "washer")]
    assert len(findings) == 3
    # ISO 273: 9 mm normal, 10 mm loose for M8; the head of the sentence is the widest that does
    assert {(one.remedies[0].field, one.remedies[0].value) for one in findings} == {("mounts.motor.pattern.hole", 10.0)}


def test_a_limit_of_the_tool_below_the_speed_that_is_wanted_is_said_as_that() -> None:
    tool = "torque: 2 lbf ft, tool_diameter: 14, tool_max_speed: 800 rpm"
    (fast,) = told(swapped(HULLER, ("torque: 2 lbf ft", tool)), "speed-limit")
    assert "the tool may run 800 rpm and 950 rpm is wanted, which exclude each other" in fast.advice.text
    assert {one.field for one in fast.remedies} == {"drive.wanted.to", "drive.inverter.to"}


def test_slots_that_tighten_towards_the_other_shaft_are_called_so_and_turned_round() -> None:
    slots = ("{along: belt, install: auto, tension: auto}", "{along: 330 deg, install: 1, tension: 1.65}")
    (stop,) = told(swapped(HULLER, slots), "take-up")
    assert "the wrong way" in stop.advice.text
    assert [one.field.rpartition(".")[2] for one in stop.remedies] == ["along", "install", "tension"]


def test_another_belt_brings_its_travel_where_the_slots_are_too_short_for_it() -> None:
    """The stock belt that is nearest to the shafts' distance leaves the slots 0.09 in short."""
    text = swapped(
        HULLER,
        ("at: {belt: {from: bearing box, angle: 150 deg}}", "at: [-12.4, 5.6]"),
        ("turn: 150 deg", "turn: 155 deg"),
        ("{along: belt, install: auto, tension: auto}", "{along: 155 deg, install: 1, tension: 1.6}"),
        ("{section: A, choose: true, near: 13}", "A38"),
    )
    (stop,) = told(text, "take-up")
    assert {one.field for one in stop.remedies} >= {"drive.belt", "mounts.motor.take_up.slots.tension"}


def test_pulleys_that_are_too_small_get_one_pair_for_all_that_is_wrong_with_them() -> None:
    text = swapped(
        HULLER,
        ("pitch_diameter: 3.2", "pitch_diameter: 2.0"),
        ("pitch_diameter: 7.4", "pitch_diameter: 4.6"),
    )
    rules = ("belt-rating", "belt-speed", "overhung-load", "small-pulley")
    edits = {repr(one.remedies) for rule in rules for one in told(text, rule)}
    assert len(edits) == 1


def test_a_screw_may_stand_out_of_a_plate_that_is_tapped_through() -> None:
    """14.6 mm are clamped, 8 mm must be in the thread: 25 mm of stock, 1.4 mm of which stand out of 9 mm."""
    text = swapped(FLANGE, ("into: nut, flange: 9", "into: plate, flange: 9"))
    layout, verdict = advice.judged(text)
    stack = layout.mounts["motor"].stack
    assert stack is not None
    assert stack.length == 25
    assert verdict.clear


def test_words_of_a_move_are_those_of_its_edit() -> None:
    """The edit rounds the new place, so the words tell the way from the old place to that."""
    window = (
        "window: {circle: {diameter: 30}, at: [90, -70]}",
        "window: {circle: {diameter: 30}, at: [61.37, -58.83]}",
    )
    (web,) = told(swapped(plates.SOUND, window), "web")
    (remedy,) = web.remedies
    assert isinstance(remedy.value, list)
    x, y = (float(str(one)) for one in remedy.value)
    said = web.advice.text
    for size in (x - 61.37, y + 58.83):
        assert abs(size) < 0.005 or f"{abs(size):.2f}".rstrip("0").rstrip(".") in said


# ------------------------------------------------------------------------------------------ what cannot be


def test_where_no_edit_does_the_advice_says_so_and_has_none() -> None:
    """A motor's body that fills the plate's whole room: nothing that could be moved or cut out helps."""
    body = (
        "shape: {rectangle: {width: 100, height: 80, corner: 4}}\n    span: [0, 150]",
        "shape: {circle: {diameter: 900}}\n    span: [-9, 150]",
    )
    findings = told(swapped(plates.SOUND, body), "blocked")
    assert findings
    assert all(not one.remedies and one.advice.text.startswith(NONE_FOUND) for one in findings)


def test_an_edit_that_the_text_does_not_take_is_not_given() -> None:
    """The window's place is shared by an alias, so the window cannot be moved alone; it can be made smaller."""
    post = "carried_by: plate, side: near, shape: {circle: {diameter: 5}, at: *spot}, span: [300, 310]"
    text = swapped(
        plates.SOUND,
        ("diameter: 30}, at: [90, -70]", "diameter: 30}, at: &spot [60, -60]"),
        ("bodies:\n", f"bodies:\n  post: {{{post}}}\n"),
    )
    (web,) = told(text, "web")
    assert [one.field for one in web.remedies] == ["plate.cutouts.window.circle.diameter"]


def test_the_work_is_bounded_by_a_count_and_said(monkeypatch: pytest.MonkeyPatch) -> None:
    layout, verdict = advice.judged(swapped(FLANGE, ("    standoff: 4\n", "")))
    counted = Counter[str]()
    real = platekit.check

    def check(one: Layout, rules: Sequence[Rule] | None = None) -> Verdict:
        counted["checks"] += rules is STAGES[0]  # the later stages of a trial are the rest of the same check
        return real(one, rules)

    monkeypatch.setattr(study, "check", check)
    study.advised(layout, verdict)
    assert 0 < counted["checks"] * study.WORK_OF_ONE <= study.MOST_WORK
    monkeypatch.setattr(study, "MOST_WORK", 0)
    (blocked,) = study.advised(layout, verdict).open("stop")
    assert blocked.advice.text.startswith(NOT_TRIED)
    assert blocked.remedies
    assert not blocked.advice.tried


def test_a_plate_with_two_hundred_stops_takes_no_more_work_than_any_other(monkeypatch: pytest.MonkeyPatch) -> None:
    eyes = "".join(
        f"    eye {k}: {{circle: {{diameter: 9}}, at: [{13 * (k % 20)}, {13 * (k // 20)}]}}\n" for k in range(200)
    )
    text = swapped(
        plates.SOUND,
        ("    window: {circle: {diameter: 30}, at: [90, -70]}\n", eyes),
        ("outline: {rectangle: {width: 420, height: 260, corner: 10}, at: [60, 0]}", "outline: {wrap: {margin: auto}}"),
    )
    layout, verdict = advice.judged(text)
    assert len(verdict.open("stop")) >= 100
    counted = Counter[str]()
    real = platekit.check

    def check(one: Layout, rules: Sequence[Rule] | None = None) -> Verdict:
        counted["checks"] += rules is STAGES[0]  # the later stages of a trial are the rest of the same check
        return real(one, rules)

    monkeypatch.setattr(study, "check", check)
    again = study.advised(layout, verdict)
    assert study.effort(layout) >= 200
    assert counted["checks"] <= study.MOST_WORK // study.effort(layout)
    assert [one.message for one in again.findings] == [one.message for one in verdict.findings]


def test_a_trial_of_a_crowd_or_of_a_long_outline_takes_more_of_the_work() -> None:
    post = "  p{k}: {{carried_by: machine, shape: {{circle: {{diameter: 20}}, at: [{k}, 0]}}, span: [0, 30]}}\n"

    def effort(count: int) -> int:
        posts = "".join(post.format(k=k) for k in range(count))
        text = plates.changed(("bodies:\n", f"bodies:\n{posts}"))
        return study.effort(platekit.lay_out(platekit.loads(text, "crowd.yaml")))

    assert effort(20) - effort(10) == 10
    assert effort(1000) > study.MOST_WORK


def test_a_clear_plate_without_edits_is_given_back_as_it_is() -> None:
    layout, verdict = advice.judged(plates.SOUND)
    assert study.advised(layout, verdict) is verdict


def test_the_first_idea_is_kept_when_it_does_and_the_next_when_it_does_not() -> None:
    layout, verdict = advice.judged(swapped(FLANGE, ("    standoff: 4\n", "")))
    (stop,) = verdict.open("stop")
    ideas = (stop.advice, *stop.others)
    assert len(ideas) > 1
    (kept,) = study.advised(layout, verdict).open("stop")
    assert kept.advice == Advice(ideas[0].text, ideas[0].remedies, tried=True)
    wrong = Advice("make it red", (platekit.checks.Remedy("title", "red"),))
    from msgspec.structs import replace

    worse = Verdict((replace(stop, advice=wrong, others=ideas),))
    (kept,) = study.advised(layout, worse).open("stop")
    assert kept.remedies == ideas[0].remedies


# ------------------------------------------------------------------------------------------ many


def test_advice_of_drawn_slips_ends_their_findings() -> None:
    """`python -m tests.adversary --kind advice --count 500` draws the whole number."""
    followed = ended = 0
    for number in range(60):
        _, text = advice.bad_spec(random.Random(f"advice/{number}"))
        outcome = advice.follow(text)
        followed, ended = followed + outcome.followed, ended + outcome.ended
        assert not [one for one in outcome.wrong if ": then " in one]
    assert followed >= 100
    assert ended >= 0.95 * followed


def test_a_text_is_followed_as_a_user_would() -> None:
    text = swapped(FLANGE, ("    standoff: 4\n", ""))
    (stop,) = judge(platekit.lay_out(platekit.loads(text, "plate.yaml"))).open("stop")
    for remedy in stop.remedies:
        text = with_value(text, remedy.field, remedy.value)
    assert advice.judged(text)[1].clear

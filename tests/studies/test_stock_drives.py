"""Stock drives against findings: belts too weak, slots of one part that run into each other, rims that hold."""

from __future__ import annotations

from pathlib import Path

import platekit
from platekit.checks import Finding, check
from platekit.placed import Layout
from platekit.spec import with_value
from platekit.studies.advised import judge
from platekit.studies.stock_drives import own_slots, stock_drives
from tests.checks.drives import changed

PATTERN = "pattern: {rectangle: {width: 120, height: 120}}"
CLOSE = changed((PATTERN, "pattern: {rectangle: {width: 60, height: 60}}"))
"""Slots some 60 mm long with holes 60 mm apart along them: the part's own slots run into each other."""
WEAK = changed(("power: 0.25 kW", "power: 2.2 kW"))
"""One belt of section A on 71 mm carries some 0.7 kW."""
WINNOWING = (Path(__file__).parents[2] / "specs" / "winnowing-fan.yaml").read_text("utf-8")


def laid(text: str) -> Layout:
    return platekit.lay_out(platekit.loads(text, "drive.yaml"))


def followed(text: str, finding: Finding) -> Layout:
    for remedy in finding.remedies:
        text = with_value(text, remedy.field, remedy.value)
    return laid(text)


def test_slots_of_one_part_that_run_into_each_other_get_a_belt_that_asks_for_less() -> None:
    overlaps = [one for one in judge(laid(CLOSE)).findings if one.rule == "overlap"]
    assert [own_slots(laid(CLOSE), one) for one in overlaps] == ["motor", "motor"]
    for one in overlaps:
        assert one.advice.tried
        assert "drive.belt" in {remedy.field for remedy in one.remedies}
    after = check(followed(CLOSE, overlaps[0]))
    assert after.open("stop") == ()


def test_slots_whose_length_is_given_are_left_to_the_belt_as_well() -> None:
    text = CLOSE.replace("along: belt, install: auto, tension: auto", "along: belt, install: 40, tension: 45")
    finding = next(one for one in judge(laid(text)).findings if one.rule == "overlap")
    assert finding.advice.tried
    assert ("mounts.motor.take_up.slots.tension", "auto") in [(one.field, one.value) for one in finding.remedies]
    assert check(followed(text, finding)).open("stop") == ()


def test_a_belt_that_is_too_weak_gets_a_stronger_drive_on_rims_that_hold_it() -> None:
    (finding,) = (one for one in judge(laid(WEAK)).findings if one.rule == "belt-rating")
    assert finding.advice.tried
    layout = followed(WEAK, finding)
    after = check(layout)
    assert after.open("stop") == ()
    assert not [one for one in after.findings if one.rule in ("belt-rating", "rim-width") and one.level != "note"]
    forces = layout.belts[0].result.forces
    assert forces is not None
    assert forces.rating.power_w is not None
    assert forces.rating.power_w >= 1.2 * 2200


def test_what_is_offered_is_one_drive_of_each_section_belts_of_its_kind_first() -> None:
    finding = next(one for one in check(laid(WEAK)).findings if one.rule == "belt-rating")
    offered = [advice.remedies[0].value for advice in stock_drives(laid(WEAK), finding)]
    sections = [platekit.tables.belts.trade_size(str(one["size"])).section for one in offered if isinstance(one, dict)]
    assert len({one.name for one in sections}) == len(sections) > 1
    assert sections[0].family not in ("toothed", "ribbed")


def test_more_belts_side_by_side_bring_rims_that_hold_them() -> None:
    text = changed(("power: 0.25 kW", "power: 0.75 kW"))
    finding = next(one for one in check(laid(text)).findings if one.rule == "belt-rating")
    more = [one for one in (finding.advice, *finding.others) if "side by side" in one.text]
    # about their middle, or to either side
    assert len(more) == 3
    for advice in more:
        edited = text
        for remedy in advice.remedies:
            edited = with_value(edited, remedy.field, remedy.value)
        layout = laid(edited)
        assert layout.belts[0].request.belt is not None
        assert layout.belts[0].request.belt.count == 2
        left = [one.rule for one in check(layout).findings if one.level != "note"]
        assert not {"rim-width", "align", "belt-rating"} & set(left)


def test_two_rims_that_each_want_more_room_are_widened_together() -> None:
    text = changed(("pitch_length: 1000}", "pitch_length: 1000, count: 3}"))
    stops = [one for one in check(laid(text)).findings if one.rule == "rim-width"]
    assert len(stops) == 2
    both = next(one for one in stops[0].others if one.text.startswith("make both rims"))
    for remedy in both.remedies:
        text = with_value(text, remedy.field, remedy.value)
    assert not [one for one in check(laid(text)).findings if one.rule in ("rim-width", "align")]


def test_rims_of_two_belts_that_stand_into_each_other_on_one_shaft_are_seen_and_moved_apart() -> None:
    # both belts on the same end of the countershaft, the second one's rim 16 mm into that of the first
    start = WINNOWING.index("second_guard:")  # a guard of its own is for the other end
    bare = WINNOWING[:start] + WINNOWING[WINNOWING.index("\n", start) :]
    text = bare.replace("span: [-166, -130]}", "span: [150, 186]}").replace("from_end: 94", "from_end: 0")
    names = ("drive.driven", "second.driver")
    finding = next(one for one in check(laid(text)).findings if one.rule == "clash" and one.features == names)
    ideas = [one for one in (finding.advice, *finding.others) if one.remedies]
    assert ideas
    edited = text
    for remedy in ideas[0].remedies:
        edited = with_value(edited, remedy.field, remedy.value)
    assert not [one for one in check(laid(edited)).findings if one.rule == "clash" and one.features == names]
    # end to end they may be one piece
    touching = text.replace("span: [150, 186]}", "span: [166, 202]}")
    assert not [one for one in check(laid(touching)).findings if one.rule == "clash" and one.features == names]

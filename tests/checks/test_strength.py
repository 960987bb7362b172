"""The rules on whether a plate holds, each on a plate that has its finding and on one that has not."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest
from msgspec.structs import replace

import platekit
from platekit.checks import Finding, strength, unknown
from platekit.jobs.strength import strength as strength_job
from platekit.placed import Layout
from platekit.spec import with_value
from platekit.strength.question import mechanism, question_of
from tests.checks import carried, drives
from tests.checks.carried import CASES, SOUND


def laid(text: str) -> Layout:
    return platekit.lay_out(platekit.loads(text, "plate.yaml"))


def found(text: str, *left_out: str) -> dict[str, Finding]:
    """The worst finding of each rule of the family."""
    layout = laid(text)
    findings = [f for rule in strength.RULES if rule.name not in left_out for f in rule.find(layout)]
    return {f.rule: f for f in sorted(findings, key=lambda f: f.level == "stop")}


def gaps(text: str) -> list[str]:
    return [f.message for f in unknown.not_checked(laid(text)) if "plate holds" in f.message or "shakes" in f.message]


def test_a_sound_plate_has_no_finding_but_the_speeds_to_skip() -> None:
    assert set(found(SOUND)) == {"resonance"}
    told = found(SOUND)["resonance"]
    assert told.level == "warn"
    assert "skip" in told.advice.text
    assert not gaps(SOUND)


@pytest.mark.parametrize("case", CASES)
def test_a_plate_that_does_not_hold(case: str) -> None:
    text, wanted = CASES[case]
    findings = found(text, "resonance")
    assert {rule: findings[rule].level for rule in wanted if rule in findings} == wanted
    for finding in findings.values():
        assert finding.found is not None
        assert finding.needed is not None
        assert finding.found > finding.needed
        assert finding.advice


def test_the_thickness_that_is_advised_clears_all() -> None:
    text, _ = CASES["far too thin"]
    advices = {f.advice.text: f.advice for rule, f in found(text, "resonance").items() if rule in ("strength", "sag")}
    (advice,) = advices.values()  # the same for both
    (remedy,) = advice.remedies
    text = with_value(text, remedy.field, remedy.value)
    assert not {"strength", "fatigue", "sag"} & set(found(text, "resonance"))


@pytest.mark.parametrize("words", ["make it", "weld a flat bar", "put one more"])
def test_a_cure_that_is_followed_to_the_letter_ends_the_finding(words: str) -> None:
    text, _ = CASES["thin"]
    finding = found(text, "resonance")["sag"]
    (advice,) = [one for one in (finding.advice, *finding.others) if one.text.startswith(words)]
    for remedy in advice.remedies:
        text = with_value(text, remedy.field, remedy.value)
    assert not {"sag", "strength"} & set(found(text, "resonance"))


def test_a_motor_whose_place_is_typed_may_come_nearer() -> None:
    from platekit.checks.stiffer import nearer

    at = laid(SOUND).mounts["motor"].pose
    text = SOUND.replace(carried.AT, f"at: [{at.x:.1f}, {at.y:.1f}]")
    first, second = nearer(laid(text))
    ((field, value),) = [(one.field, one.value) for one in second.remedies]
    assert field == "mounts.motor.at"
    assert isinstance(value, list)
    assert float(str(value[1])) == pytest.approx(at.y / 2, abs=0.1)
    assert first.text.startswith("bring motor nearer")


RIB = "thickness: 8\n  ribs: {spine: {side: far, from: [0, 80], to: [0, 330], height: 40, width: 8}}"


def test_a_rib_stands_in_the_way_as_any_body() -> None:
    layout = laid(SOUND.replace("thickness: 8", RIB.replace("far", "near")))
    (rib,) = [body for body in layout.bodies if body.name == "spine"]
    assert rib.z == (0.0, 40.0)
    # the bar, and round it the foot of a weld of 6 mm (0.7 of 8 mm, rounded up), round at its corners
    assert rib.solids[0].silhouette.area == pytest.approx(250 * 8)
    assert rib.shape.area == pytest.approx(262 * 20 - (4 - math.pi) * 36)
    assert any("spine" in f.features for f in platekit.check(layout).findings if f.rule == "clash")


def test_the_end_of_a_weld_is_held_to_its_class() -> None:
    """EN 1993-1-9 table 8.4 (from memory): 56 for a bar of more than 100 mm, of which 0.737 / 1.35 is borne."""
    from platekit.checks.stiffer import weld_range

    assert weld_range(250.0) == pytest.approx(0.737 * 56 / 1.35)
    assert weld_range(60.0) == pytest.approx(0.737 * 71 / 1.35)
    text = carried.carrying("25 kg", 150, 3, ("0.25 kW", "3 kW")).replace("thickness: 3", RIB.replace("8\n", "3\n"))
    layout = laid(text)
    answer = strength.worked_out(layout)
    assert answer is not None
    assert [weld.rib for weld in answer.welds] == ["spine", "spine"]
    over = [weld.swing for weld in answer.welds if weld.swing > weld_range(250.0)]
    told = [f.found for f in strength.fatigue(layout) if "spine" in f.features]
    assert told == over


def test_a_rib_beside_the_plate_is_said() -> None:
    text = SOUND.replace("thickness: 8", RIB.replace("[0, 330]", "[0, 930]"))
    assert not found(text)
    assert any("no steel lies under" in message for message in gaps(text))


def test_one_more_screw_where_it_is_said_is_enough() -> None:
    text, _ = CASES["thin"]
    (idea,) = [idea for idea in found(text, "resonance")["sag"].others if "one more" in idea.text]
    told = re.search(r"one more M8 into machine near \((-?\d+) mm, (-?\d+) mm\).*is enough", idea.text)
    assert told is not None
    stay = (
        "mounts:\n  stay:\n    side: far\n    looking_at: face\n    pattern: {points: [[0, 0]], hole: 9}\n"
        f"    at: [{told[1]}, {told[2]}]\n    {carried.MACHINE_BOLTS}\n    original: true\n"
    )
    stays = f"{carried.MACHINE_BOLTS}\n    original: true"
    text = text.replace(carried.MACHINE_BOLTS, stays).replace("mounts:\n", stay)
    assert "sag" not in found(text, "resonance")


@pytest.mark.parametrize(
    ("swap", "said"),
    [
        (("  mounting: upright\n", ""), "nothing says which way is down"),
        (("    mass: {total: 6 kg, centre: [0, 0, 110], size: [150, 150, 220]}\n", ""), "nothing says what motor"),
        (("material: mild steel", "material: acetal"), "acetal gives way with time"),
    ],
)
def test_what_is_not_said_is_not_assumed(swap: tuple[str, str], said: str) -> None:
    text = drives.changed(swap, text=SOUND)
    assert not found(text)
    assert any(said in message for message in gaps(text))


def test_a_part_on_one_screw_can_turn() -> None:
    one = (
        "  cover:\n    side: near\n    looking_at: face\n    pattern: {points: [[0, 0]], hole: 7}\n"
        "    at: [-150, -100]\n    bolts: {size: M6, into: nut, flange: 5}\n"
        "    mass: {total: 1 kg, centre: [0, 0, 20]}\n"
    )
    stays = f"{carried.MACHINE_BOLTS}\n    original: true"
    text = SOUND.replace(carried.MACHINE_BOLTS, stays).replace("mounts:\n", f"mounts:\n{one}")
    assert not found(text)
    (told,) = (message for message in gaps(text) if "only one screw holds cover (cover" in message)
    assert told.endswith("it is free to turn in its plane about (-150.0, -100.0) mm")


@pytest.mark.parametrize(
    ("points", "said"),
    [
        ("[[0, 0]]", "only one screw holds the plate (machine.1): it is free to turn in its plane about (0.0, 0.0) mm"),
        ("[[0, 0], [20, 0]]", ""),  # a row of two: their washers hold it against tipping about their line
    ],
)
def test_a_plate_that_can_move_is_said_with_the_motion(points: str, said: str, tmp_path: Path) -> None:
    text = SOUND.replace("circle: {count: 4, diameter: 120, start: 45 deg}", f"points: {points}, hole: 9")
    told = mechanism(question_of(laid(text)))
    assert ("" if told is None else told.why) == said
    if not said:
        return
    assert not found(text)
    assert any(said in message for message in gaps(text))
    path = tmp_path / "plate.yaml"
    path.write_text(text, encoding="utf-8")
    line = next(number for number, one in enumerate(text.splitlines(), 1) if one == "  machine:")
    with pytest.raises(platekit.SpecError, match=re.escape(said)) as caught:
        strength_job(path)
    assert f"plate.yaml:{line}:" in str(caught.value)
    assert "\n" not in str(caught.value).strip()


def test_screws_at_one_place_hold_no_better_than_one() -> None:
    asked = question_of(laid(SOUND))
    (machine,) = asked.held
    (stand,) = machine.positions
    one, *_ = stand.seats
    twice = replace(stand, seats=(one, replace(one, hole="machine.9")))
    for seats, said in ((twice.seats, "lies at one place: it is free to turn"), ((), "it is free to slide, to turn")):
        held = replace(machine, positions=(replace(stand, seats=seats),))
        told = mechanism(replace(asked, parts=(held, *asked.carried)))
        assert told is not None
        assert said in told.why
        assert told.field == "mounts.machine"
    told = mechanism(replace(asked, parts=asked.carried))
    assert told is not None
    assert "nothing holds the plate: it can move any way" in told.why


def test_what_a_standard_motor_weighs_is_told_with_the_advice() -> None:
    text = SOUND.replace("    mass: {total: 6 kg, centre: [0, 0, 110], size: [150, 150, 220]}\n", "")
    told = [f.advice.text for f in unknown.not_checked(laid(text)) if "plate holds" in f.message]
    standard = laid(text).mounts["motor"].standard
    assert ("kg, those of cast iron more" in told[0]) == (standard is not None and standard.family.startswith("IEC"))


def test_a_mass_needs_a_centre() -> None:
    with pytest.raises(platekit.SpecError, match="centre"):
        laid(SOUND.replace(", centre: [0, 0, 110]", ""))


def test_a_motor_of_unknown_size_is_not_looked_at_for_shaking() -> None:
    shaft = "  motor shaft:\n    carried_by: motor\n    shape: {circle: {diameter: 16}}\n    span: [-55, 0]\n"
    text = SOUND.replace(", size: [150, 150, 220]", "").replace(f"bodies:\n{shaft}    relief: auto\n", "")
    assert "resonance" not in found(text)
    assert any("how large motor is" in message for message in gaps(text))


def test_a_stiffer_seat_is_a_stiffer_plate() -> None:
    from platekit.strength.answer import answer_to

    sags = []
    for support in ("soft", "steel"):
        text = SOUND.replace(carried.MACHINE_BOLTS, f"{carried.MACHINE_BOLTS}\n    support: {support}")
        states = answer_to(question_of(laid(text))).states
        sags.append(max(state.sag for state in states))
        assert len({state.ground for state in states}) == 2
    assert sags == sorted(sags, reverse=True)


def test_a_comparison_tells_how_each_state_holds() -> None:
    from platekit.analysis.compare import compare
    from platekit.export.text.difference import difference_figures, difference_text

    thick = laid(with_value(SOUND, "plate.thickness", "12 mm"))
    compared = compare(laid(SOUND), thick)
    (line,) = [line for line in difference_text(compared, [], []).splitlines() if line.startswith("strength:")]
    figures = difference_figures(compared, [], [])
    was, now = figures["strength_was"], figures["strength_is"]
    assert isinstance(was, dict)
    assert isinstance(now, dict)
    assert now["sag_mm"] < was["sag_mm"]
    assert now["first_frequency_hz"] > was["first_frequency_hz"]
    assert f"it rings from {now['first_frequency_hz']:.1f} Hz on" in line

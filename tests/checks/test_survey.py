"""What is said of measured patterns, from the spec: blunders, loose holes, flips, and the odds that it all bolts up.

The gear case of `specs/pug-mill.yaml` was measured on holes whose true places stand here: the readings of the spec are
these places with caliper noise of 0.08 mm (normal, one standard deviation), rounded to a caliper's 0.02 mm.
"""

from __future__ import annotations

import math
import random
from pathlib import Path

import numpy as np
import pytest

import platekit
from platekit.analysis.fitting import MountFit, fits, hole_text, mount_of, way_out
from platekit.checks import Finding
from platekit.checks.survey import percent
from platekit.geometry.sweep import Straight
from platekit.spec import with_value
from platekit.survey.frame import rigid_motions

PUG_MILL = (Path(__file__).parents[2] / "specs" / "pug-mill.yaml").read_text("utf-8")
TRUTH = {"A": (-61.5, 44.2), "B": (58.8, 47.6), "C": (63.1, -49.9), "D": (-55.7, -52.3), "bore": (0.0, 0.0)}
SIZES = {"A": 11.1, "B": 11.1, "C": 11.1, "D": 11.1, "bore": 72.0}

PLAIN = """\
platekit: 1
title: A cover on four studs
units: mm
plate: {material: mild steel, thickness: 6, outline: {wrap: {margin: auto}}}
mounts:
  case:
    side: far
    looking_at: face
    pattern:
      measured:
        holes: {A: 12.0, B: 12.0, C: 12.0, D: 12.0}
        readings:
          - [A, B, centres, 90.0]
          - [B, C, centres, 70.0]
          - [C, D, centres, 84.0]
          - [D, A, centres, 66.0]
          - [A, C, centres, 110.0]
          - [B, D, centres, 112.0]
        clockwise: [A, B, C]
    bolts: {size: M8, into: part, depth: 16, washer: true}
cutting: {process: laser}
"""


def changed(text: str, *swaps: tuple[str, str]) -> str:
    for old, new in swaps:
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times"
        text = text.replace(old, new)
    return text


def said(text: str, rule: str) -> list[Finding]:
    verdict = platekit.check(platekit.lay_out(platekit.loads(text, "plate.yaml")))
    return [finding for finding in verdict.findings if finding.rule == rule]


def odds(text: str) -> dict[str, MountFit]:
    return {fit.mount: fit for fit in fits(platekit.lay_out(platekit.loads(text, "plate.yaml")))}


def exact() -> str:
    """The plain spec with readings that agree to the last digit: an uneven pattern of known places."""
    places = {"A": (0.0, 0.0), "B": (90.0, 0.0), "C": (84.0, -70.0), "D": (3.0, -66.0)}
    lines = "\n".join(
        f"          - [{a}, {b}, centres, {math.dist(places[a], places[b]):.6f}]"
        for a, b in (("A", "B"), ("B", "C"), ("C", "D"), ("D", "A"), ("A", "C"), ("B", "D"))
    )
    start, rest = PLAIN.split("        readings:\n")
    return f"{start}        readings:\n{lines}\n        clockwise{rest.split('        clockwise')[1]}"


# The example ---------------------------------------------------------------------------------------------------------


def test_the_example_finds_the_true_places_within_its_own_uncertainty() -> None:
    survey = platekit.lay_out(platekit.loads(PUG_MILL, "pug-mill")).mounts["gear case"].survey
    assert survey is not None
    true = np.array([TRUTH[name] for name in survey.names])
    misfit = survey.points - true
    misfit -= misfit.mean(axis=0)
    motions = rigid_motions(true)
    off = misfit.ravel() - motions @ (motions.T @ misfit.ravel())
    # the frame of the spec is turned against that of the truth by the lean of D-C; the small turn is a rigid motion,
    # so what is left is only what measuring did: 10 coordinates less 3, chi-square below its 99.9 % point (24.3)
    turned = math.atan2(TRUTH["C"][1] - TRUTH["D"][1], TRUTH["C"][0] - TRUTH["D"][0])
    cos, sin = math.cos(-turned), math.sin(-turned)
    own = true @ np.array([[cos, sin], [-sin, cos]])
    away = np.hypot(*(survey.points - own).T)
    assert away.max() < 3.0 * max(hole.sigma for hole in survey.holes.values())
    assert float(off @ np.linalg.pinv(survey.free_covariance, rcond=1e-9) @ off) < 24.3
    assert survey.dof == 6
    assert not said(PUG_MILL, "survey")
    assert not said(PUG_MILL, "fit-odds")


def test_the_readings_of_the_example_are_the_truth_with_noise() -> None:
    measured = platekit.loads(PUG_MILL, "pug-mill").model.mounts["gear case"].pattern.measured
    assert measured is not None
    for reading in measured.readings:
        a, b = reading.features
        radii = (SIZES[a] + SIZES[b]) / 2.0
        true = math.dist(TRUTH[a], TRUTH[b]) + (radii if reading.kind == "over" else -radii)
        assert abs(reading.value - true) < 4.0 * 0.08


@pytest.mark.parametrize(
    ("reading", "right", "wrong"),
    [
        ("C, D, inside", "107.80", "108.70"),  # two digits swapped
        ("A, B, over", "131.54", "135.14"),
        ("B, D, over", "162.92", "126.92"),
    ],
)
def test_a_blunder_is_named_with_its_likely_value_and_the_edit_ends_it(reading: str, right: str, wrong: str) -> None:
    text = changed(PUG_MILL, (f"[{reading}, {right}]", f"[{reading}, {wrong}]"))
    (finding,) = [one for one in said(text, "survey") if one.level == "stop"]
    a, b, kind = reading.split(", ")
    assert f"the reading {a}-{b} {kind}" in finding.message
    assert "two digits swapped" in finding.message
    assert finding.features == (f"gear case.{a}", f"gear case.{b}")
    assert finding.found == pytest.approx(float(wrong))
    assert finding.needed == pytest.approx(float(right), abs=0.5)
    (remedy,) = finding.remedies
    assert not said(with_value(text, remedy.field, remedy.value), "survey")


def test_a_blunder_that_breaks_a_triangle_stands_at_its_own_line() -> None:
    text = changed(PUG_MILL, ("[A, C, inside, 145.10]", "[A, C, inside, 154.10]"))
    with pytest.raises(
        platekit.SpecError, match=r"A-C inside 154\.1 mm is wrong: .*: 154\.1 mm would be 145\.1 mm"
    ) as caught:
        platekit.lay_out(platekit.loads(text, "mill.yaml"))
    (problem,) = caught.value.problems
    assert problem.line == text[: text.index("154.10")].count("\n") + 1


# The other findings ---------------------------------------------------------------------------------------------------


def test_readings_that_disagree_all_over_want_a_wider_sigma() -> None:
    chance = random.Random(3)
    text = PUG_MILL
    for line in PUG_MILL.splitlines():
        if line.lstrip().startswith("- ["):
            value = line.split(",")[-1].split("]")[0].strip()
            text = text.replace(value, f"{float(value) + chance.uniform(-0.9, 0.9):.2f}", 1)
    found = [one for one in said(text, "survey") if one.remedies]
    assert [one.level for one in found] == ["stop"]  # the odds go by a sigma that the readings give the lie
    assert found[0].found is not None
    assert found[0].found > 1.5
    wider = with_value(text, found[0].remedies[0].field, found[0].remedies[0].value)
    assert not [one for one in said(wider, "survey") if "disagree" in one.message]


def test_readings_that_agree_too_well_are_noted() -> None:
    lines = []
    for line in exact().splitlines():
        lines.append(line)
        if "centres" in line:
            start, value = line.rsplit(",", 1)
            lines.append(f"{start},{float(value.strip(' ]')) - 12.0:.6f}]".replace("centres", "inside"))
    (note,) = [one for one in said("\n".join(lines) + "\n", "survey") if "agree" in one.message]
    assert note.level == "note"
    assert not [one for one in said(PUG_MILL, "survey") if "agree" in one.message]


def test_no_reading_that_checks_another_is_told_with_what_to_measure() -> None:
    lines = [line for line in exact().splitlines() if "[B, D, centres" not in line]
    (finding,) = [one for one in said("\n".join(lines) + "\n", "survey") if "checks another" in one.message]
    assert (finding.level, finding.found, finding.needed) == ("warn", 0.0, 5.0)
    assert "measure" in finding.advice.text


def test_a_hole_that_could_lie_on_either_side_is_a_stop() -> None:
    lines = [line for line in exact().splitlines() if "[B, D, centres" not in line]
    stops = [one for one in said("\n".join(lines) + "\n", "survey") if one.level == "stop"]
    assert [one.found for one in stops] == [2.0]
    assert "B-D" in stops[0].advice.text
    assert not [one for one in said(exact(), "survey") if one.level == "stop"]


def test_a_hole_known_less_well_than_its_slack_is_told_and_a_wider_hole_ends_it() -> None:
    text = changed(exact(), ("        clockwise", "        sigma: 0.4\n        clockwise"))
    (finding,) = [one for one in said(text, "survey") if "known only to within" in one.message]
    assert finding.found is not None
    assert finding.needed == pytest.approx(0.5 - 0.5 * 12.0 * math.tan(math.radians(0.4)), abs=0.05)
    assert finding.found is not None
    assert finding.needed is not None
    assert finding.found > finding.needed
    assert finding.advice.text.startswith("measure ")
    wider = changed(text, ("        sigma: 0.4", "        hole: 12\n        sigma: 0.4"))
    assert not [one for one in said(wider, "survey") if "known only to within" in one.message]


def test_inside_jaws_in_small_holes_are_cautioned() -> None:
    text = changed(exact(), ("A: 12.0, B", "A: 8.4, B"))
    (note,) = [one for one in said(text, "survey") if "jaws" in one.message]
    assert note.level == "note"
    assert note.features == ("case.A",)


# Fit odds -----------------------------------------------------------------------------------------------------------


def test_the_hole_that_is_advised_ends_the_finding() -> None:
    tight = changed(exact(), ("        clockwise", "        hole: 8.3\n        clockwise"))
    (finding,) = said(tight, "fit-odds")
    assert finding.level == "stop"
    assert finding.features == ("case.A", "case.B", "case.C", "case.D")
    assert finding.advice.text.startswith("open the 4 case holes from 8.3 mm to ")
    (remedy,) = finding.remedies
    assert remedy.field == "mounts.case.pattern.measured.hole"
    assert not said(with_value(tight, remedy.field, remedy.value), "fit-odds")


@pytest.mark.parametrize(
    ("cutting", "advised"),
    [
        ("process: laser, position: 3 mm", "give a smaller cutting: position, if your table is better than the 3 mm"),
        ("process: drill, drilling: 3 mm", "give a smaller cutting: drilling, if you drill nearer to a mark"),
    ],
)
def test_what_is_given_already_is_not_asked_for(cutting: str, advised: str) -> None:
    (finding,) = said(changed(exact(), ("process: laser", cutting)), "fit-odds")
    assert finding.advice.text.startswith(advised)


def test_advice_in_inches_is_a_drill_of_32nds() -> None:
    text = (Path(__file__).parents[2] / "specs" / "press-pump.yaml").read_text("utf-8")
    tight = changed(text, ("diameter: 7.25, start: 45 deg}", "diameter: 7.25, start: 45 deg, hole: 0.503}"))
    (finding,) = said(tight, "fit-odds")
    (remedy,) = finding.remedies
    assert remedy.field == "mounts.bracket.pattern.circle.hole"
    assert "/32 in" in str(remedy.value) or "/16 in" in str(remedy.value)
    assert not said(with_value(tight, remedy.field, remedy.value), "fit-odds")


@pytest.mark.parametrize(
    ("limits", "level"),
    [("{fit_warn: 0.1, fit_stop: 0.05}", None), ("{fit_stop: 0.1}", "warn"), ("{}", "stop")],
)
def test_the_limits_are_settings(limits: str, level: str | None) -> None:
    tight = changed(exact(), ("        clockwise", "        hole: 8.3\n        clockwise"))
    found = said(f"{tight}limits: {limits}\n", "fit-odds")
    probability = odds(tight)["case"].probability
    assert 0.12 < probability < 0.78
    assert [finding.level for finding in found] == ([] if level is None else [level])


@pytest.mark.parametrize("given", ["fit_warn: 1.5", "fit_stop: 0", "fit_warn: yes", "fit_stop: 80"])
def test_a_limit_that_is_no_share_is_refused(given: str) -> None:
    with pytest.raises(platekit.SpecError, match="a share above 0 and at most 1"):
        platekit.loads(f"{exact()}limits: {{{given}}}\n", "plate.yaml")


def test_a_poorer_survey_lowers_the_odds_and_takes_a_larger_share() -> None:
    def at(sigma: float) -> MountFit:
        return odds(changed(exact(), ("        clockwise", f"        sigma: {sigma}\n        clockwise")))["case"]

    good, poor = at(0.05), at(0.5)
    assert poor.probability < good.probability
    assert dict(poor.shares)["measuring"] > dict(good.shares)["measuring"]
    for fit in (good, poor):
        assert sum(share for _, share in fit.shares) == pytest.approx(1.0)


def test_holes_marked_through_paper_scatter_by_the_paper_too() -> None:
    drilled = odds(changed(exact(), ("process: laser", "process: drill")))["case"]
    cut = odds(exact())["case"]
    assert dict(cut.shares)["printing"] == 0.0
    # 0.2 mm of printing, from memory, beside 0.33 mm of drilling at a centre punch: AND10387 allows a circle of 2 mm
    shares = dict(drilled.shares)
    assert shares["printing"] > 0.2
    assert shares["cutting position"] / shares["printing"] == pytest.approx((1.0 / 3 / 0.2) ** 2, rel=0.03)


def test_a_shop_that_drills_nearer_to_its_marks_says_so() -> None:
    by_hand = odds(changed(exact(), ("process: laser", "process: drill")))["case"]
    jig = odds(changed(exact(), ("process: laser", "process: drill, drilling: 0.15")))["case"]
    shares = dict(jig.shares)
    assert shares["cutting position"] / shares["printing"] == pytest.approx((0.15 / 3 / 0.2) ** 2, rel=0.03)
    assert jig.probability > by_hand.probability


def test_a_drilled_hole_is_larger_than_its_drill_which_helps_the_screw_through() -> None:
    """A hole of 9 mm for M8, and 0.1 mm, the least that a guide to CNC drilling prints (0.1 to 0.3 mm)."""
    drilled = odds(changed(exact(), ("process: laser", "process: drill")))["case"]
    assert drilled.hole == 9.0
    assert drilled.slack == pytest.approx((9.0 + 0.1 - 8.0) / 2)


def test_a_pilot_is_a_joint_as_well_and_a_looser_one_helps() -> None:
    text = (Path(__file__).parents[2] / "specs" / "press-pump.yaml").read_text("utf-8")
    layout = platekit.lay_out(platekit.loads(text, "press-pump"))
    openings = {opening.name: opening for opening in layout.openings}
    fixed = mount_of(layout, layout.mounts["bracket"], openings)
    assert fixed is not None
    assert len(fixed.joints) == 5
    pilot = fixed.joints[-1]
    assert (pilot.hole, pilot.screw) == pytest.approx((8.504 * 25.4, 8.5 * 25.4))


def test_nuts_give_both_holes_as_slack_and_a_thread_in_the_part_one() -> None:
    nut = changed(exact(), ("into: part, depth: 16", "into: nut, flange: 10"))
    assert odds(nut)["case"].slack == pytest.approx(odds(exact())["case"].slack + 2.0, abs=1e-6)


def test_slots_let_go_what_lies_along_them() -> None:
    text = (Path(__file__).parents[2] / "specs" / "dough-mixer.yaml").read_text("utf-8")
    layout = platekit.lay_out(platekit.loads(text, "dough-mixer"))
    openings = {opening.name: opening for opening in layout.openings}
    fixed = mount_of(layout, layout.mounts["motor"], openings)
    assert fixed is not None
    travel = layout.mounts["motor"].travel
    assert isinstance(travel, Straight)
    for joint in fixed.joints[:4]:
        assert joint.along is not None
        along = math.atan2(travel.direction[1], travel.direction[0])
        assert math.sin(joint.along - along) == pytest.approx(0.0, abs=1e-9)


def test_the_covariance_is_turned_and_mirrored_with_the_mount() -> None:
    def block(swap: tuple[str, str]) -> np.ndarray:
        layout = platekit.lay_out(platekit.loads(changed(exact(), swap), "plate"))
        fixed = mount_of(layout, layout.mounts["case"], {one.name: one for one in layout.openings})
        assert fixed is not None
        return fixed.covariance

    as_is = block(("side: far\n", "side: far\n"))
    turned = block(("side: far\n", "side: far\n    turn: 90 deg\n"))
    mirrored = block(("side: far\n", "side: near\n"))
    assert turned[0::2, 0::2] == pytest.approx(as_is[1::2, 1::2])
    assert mirrored[0::2, 0::2] == pytest.approx(as_is[0::2, 0::2])
    assert mirrored[0::2, 1::2] == pytest.approx(-as_is[0::2, 1::2])


def test_the_same_spec_gives_the_same_odds() -> None:
    tight = changed(exact(), ("        clockwise", "        hole: 8.3\n        clockwise"))
    assert odds(tight) == odds(tight)


def test_way_out_is_none_where_no_hole_helps() -> None:
    text = changed(exact(), ("        clockwise", "        sigma: 1.5\n        clockwise"))
    layout = platekit.lay_out(platekit.loads(text, "plate"))
    assert way_out(layout, layout.mounts["case"]) is None
    (finding,) = said(text, "fit-odds")
    assert not finding.remedies
    assert finding.advice.text


@pytest.mark.parametrize(
    ("probability", "words"),
    [(0.71, "71 %"), (0.9942, "99.4 %"), (0.99, "99 %"), (1.0, "more than 99.9 %"), (0.0, "less than 0.1 %")],
)
def test_a_probability_is_never_called_certain(probability: float, words: str) -> None:
    assert percent(probability) == words


@pytest.mark.parametrize(
    ("size", "unit", "words"),
    [(9.5, "mm", "9.5 mm"), (25.4 * 13 / 32, "in", "13/32 in"), (25.4, "in", "1 in"), (28.575, "in", "1-1/8 in")],
)
def test_a_hole_is_written_as_a_shop_would(size: float, unit: str, words: str) -> None:
    assert hole_text(size, unit) == words


def bracket(times: int, sigma: float = 0.6) -> str:
    """Four holes whose six distances stand in the spec so many times over, each time with the same figures."""
    pairs = (
        "A,B,centres,100",
        "B,C,centres,80",
        "C,D,centres,100",
        "A,D,centres,80",
        "A,C,centres,128.06",
        "B,D,centres,128.06",
    )
    readings = ", ".join(f"[{pair}]" for pair in pairs * times)
    return f"""\
platekit: 1
title: Fan bracket
units: mm
plate: {{material: mild steel, thickness: 10}}
mounts:
  bracket:
    side: far
    looking_at: face
    pattern:
      measured:
        holes: {{A: 9, B: 9, C: 9, D: 9}}
        readings: [{readings}]
        sigma: {sigma}
        clockwise: [A, C, B]
        origin: A
        x_axis: [A, B]
    bolts: {{size: M8, into: part, depth: 20}}
"""


def test_copies_of_readings_do_not_make_a_plate_fit() -> None:
    once = [(one.level, one.found) for one in said(bracket(1), "fit-odds")]
    assert [level for level, _ in once] == ["stop"]
    for times in (2, 33):
        assert [(one.level, one.found) for one in said(bracket(times), "fit-odds")] == once


def test_the_same_figure_again_and_again_is_noted() -> None:
    assert not [one for one in said(bracket(2), "survey") if "very same figure" in one.message]
    (note,) = [one for one in said(bracket(3), "survey") if "very same figure" in one.message]
    assert note.level == "note"
    assert "stands here 3 times" in note.message
    assert "and 5 other figures so too" in note.message


def test_a_better_table_is_asked_for_and_makes_better_odds() -> None:
    # accuracy of plasma tables: entry-level within 0.76 mm, heavy ones within 0.25 to 0.5, three standard deviations
    def fit(said: str) -> float:
        return odds(changed(exact(), ("process: laser", said)))["case"].probability

    entry, light, heavy = (
        fit("process: plasma"),
        fit("process: plasma, position: 0.5"),
        fit("process: plasma, position: 0.25"),
    )
    assert entry < light < heavy
    assert fit("process: plasma, position: 0.75") == pytest.approx(entry, abs=0.005)


def test_holes_assumed_even_without_a_reading_are_told_what_to_measure() -> None:
    """No hole is held by any reading: there is no ellipse, and all the same a sentence that says what to measure."""
    text = """\
platekit: 1
title: Nothing measured yet
units: mm
plate: {material: mild steel, thickness: 8}
mounts:
  machine:
    side: far
    looking_at: face
    pattern:
      measured:
        holes: {A: 9.0, B: 9.0, C: 9.0}
        readings: []
        clockwise: [A, B, C]
        origin: A
        x_axis: [A, B]
        on_circle: true
        evenly: true
    screws: {size: M8, into: nut, flange: 10}
cutting: {process: laser}
"""
    with pytest.raises(platekit.PlatekitError, match="too few readings to place A, B and C"):
        platekit.lay_out(platekit.loads(text, "plate.yaml"))

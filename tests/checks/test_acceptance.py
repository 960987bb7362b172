"""An acceptance covers what was judged: that feature, that figure, and nothing worse."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import platekit
from platekit.checks import RULES, Finding, Verdict
from tests.checks import plates

PLATE = """\
platekit: 1
title: Hoist drum
units: UNITS
plate: {material: mild steel, thickness: 10 mm, cutouts: {c: {circle: {diameter: 40 mm}, at: [AT mm, 0]}}}
mounts:
  m: {side: far, looking_at: face, pattern: {circle: {count: 4, diameter: 200 mm}},
      bolts: {size: M8, into: part, depth: 20 mm}}
cutting: {process: laser}
limits: {web: 10 mm}
"""
# holes of 9 mm, 100 mm from the middle: the steel between that at (100, 0) and the cutout is 95.5 - (AT + 20)


def judged(at: float, accept: str = "", units: str = "mm") -> Verdict:
    text = PLATE.replace("UNITS", units).replace("AT", str(at))
    return platekit.check(
        platekit.lay_out(platekit.loads(text + (f"accept: [{accept}]\n" if accept else ""), "h.yaml"))
    )


def web(verdict: Verdict) -> Finding:
    (found,) = (finding for finding in verdict.findings if finding.rule == "web")
    return found


def accepting(found: object, feature: str = "c", rule: str = "web") -> str:
    given_figure = "" if found is None else f"found: {found}, "
    return f"{{rule: {rule}, feature: {feature}, {given_figure}because: nothing hangs on it}}"


def test_an_acceptance_holds_for_what_was_judged_and_what_is_better() -> None:
    assert not judged(71).clear
    for at in (71, 70.5, 70.001):
        assert judged(at, accepting(4.5)).clear


@pytest.mark.parametrize(
    ("at", "now", "worse"), [(71.1, "4.4 mm", "0.1 mm"), (73, "2.5 mm", "2 mm"), (75.4999, "0 mm", "4.5 mm")]
)
def test_anything_worse_opens_the_finding_again_and_says_by_how_much(at: float, now: str, worse: str) -> None:
    verdict = judged(at, accepting(4.5))
    assert not verdict.clear
    assert f"accepted at 4.5 mm, now {now}, {worse} worse" in web(verdict).message
    assert f"`found: {now}`" in web(verdict).advice.text


def test_a_stop_is_not_accepted_without_the_figure_that_was_judged_and_says_what_to_write() -> None:
    """As an earlier spec has it: it is still read, and one edit accepts what it meant."""
    verdict = judged(71, accepting(None))
    assert not verdict.clear
    assert "write `found: 4.5 mm`" in web(verdict).advice.text
    assert judged(71, accepting("4.5 mm")).clear


def test_the_figure_is_read_in_the_unit_of_the_spec() -> None:
    assert judged(71, accepting("0.177"), units="in").clear
    assert judged(71, accepting("4.5 mm"), units="in").clear
    assert not judged(71.1, accepting("0.177"), units="in").clear
    assert not judged(71, accepting("4.5 kg")).clear


def test_what_is_said_to_write_accepts_it_whatever_the_figure() -> None:
    for at in (70.1234, 71.005, 72.3333, 75.4999):
        for units in ("mm", "in"):
            advice = web(judged(at, accepting(None), units)).advice.text
            figure = advice.split("`found: ")[1].split("`")[0]
            assert judged(at, accepting(figure), units).clear, (at, figure)


@settings(max_examples=25)
@given(st.floats(70.01, 75.49), st.floats(70.01, 75.49))
def test_never_clear_with_less_steel_than_was_judged(then: float, now: float) -> None:
    clear = judged(now, accepting(f"{95.5 - 20 - then:.6f}")).clear
    assert clear == (now <= then + 0.005) or abs(now - then - 0.005) < 1e-5


def test_openings_that_overlap_are_accepted_by_both_names_and_the_figure() -> None:
    at = 77  # 1.5 mm into the hole
    assert not judged(at, accepting("-1.5", rule="overlap")).clear
    both = accepting("-1.5", "[m.1, c]", "overlap")
    assert not any(finding.stops and finding.rule == "overlap" for finding in judged(at, both).findings)
    one = judged(at, accepting("-1.5", rule="overlap"))
    assert "name both" in next(finding.advice.text for finding in one.findings if finding.rule == "overlap")


def test_a_name_that_the_finding_has_not_keeps_an_acceptance_from_meeting_it() -> None:
    verdict = judged(71, accepting(4.5, "[c, m.3]"))
    assert not verdict.clear
    assert any(finding.rule == "accept" for finding in verdict.findings)


def test_what_lies_inside_something_is_never_told_with_a_minus_sign() -> None:
    verdict = judged(78, accepting("-1.5", "[m.1, c]", "overlap"))  # 2.5 mm into the hole by now
    (found,) = (finding for finding in verdict.findings if finding.rule == "overlap")
    assert found.stops
    assert "that is 1 mm worse than what was accepted" in found.message
    assert "-" not in found.message


def test_a_body_that_stands_in_the_plate_is_never_accepted() -> None:
    text = PLATE.replace("UNITS", "mm").replace("AT", "0") + (
        "bodies: {lug: {carried_by: m, shape: {circle: {diameter: 10}, at: [60, 0]}, span: [-5, 0]}}\n"
        f"accept: [{accepting(-5, 'lug', 'blocked')}]\n"
    )
    verdict = platekit.check(platekit.lay_out(platekit.loads(text, "h.yaml")))
    assert not verdict.clear
    assert any("cannot be accepted" in finding.advice.text for finding in verdict.findings if finding.rule == "blocked")


def test_what_cannot_be_made_says_so_in_its_rule() -> None:
    how = {rule.name: rule.acceptable for rule in RULES}
    assert {how[rule] for rule in ("blocked", "remnant", "stock-size")} == {"never"}
    assert {how[rule] for rule in ("overlap", "clash", "pilot-over-bolts")} == {"both"}


@pytest.mark.parametrize(
    ("found", "because", "levels"),
    [
        ("3", "the edge is welded to the frame", []),
        ("2", "the edge is welded to the frame", []),  # 1 of the 3 mm that it lacks
        ("0", "the edge is welded to the frame", ["warn"]),
        ("3", "ok", ["note"]),
        ("0.2", "x", ["note", "warn"]),
    ],
)
def test_an_acceptance_of_more_than_was_judged_or_without_a_reason_is_told(
    found: str, because: str, levels: list[str]
) -> None:
    # the window's edge is 260 / 2 - 112 - 15 = 3 mm from the outline; 6 mm is needed
    text = plates.changed(("at: [90, -70]", "at: [90, -112]"))
    text += f"accept:\n  - {{rule: edge, feature: window, found: {found}, because: {because}}}\n"
    verdict = platekit.check(platekit.lay_out(platekit.loads(text, "plate.yaml")))
    assert verdict.clear
    assert sorted(one.level for one in verdict.findings if one.rule == "accept") == levels

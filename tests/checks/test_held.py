"""What screws hold in, and how many there are: steel under each, a thread no deeper than the part, none left out."""

from __future__ import annotations

import pytest

import platekit
from platekit.checks import Finding
from platekit.spec import with_value
from tests.checks.rollers import SOUND, changed

FLANGE = "  flange: {carried_by: housing, shape: {rectangle: {width: 190, height: 150, corner: 4}}, span: [0, 28]}\n"


def found(text: str, rule: str) -> list[Finding]:
    layout = platekit.lay_out(platekit.loads(text, "roller.yaml"))
    return [one for one in platekit.check(layout).findings if one.rule == rule]


def flanged(flange: str = FLANGE) -> str:
    return changed(("bodies:\n", f"bodies:\n{flange}"))


# --------------------------------------------------------------------------------------------- steel


def test_screws_within_the_flange_have_steel_under_them() -> None:
    assert not found(flanged(), "steel-under")
    assert not found(SOUND, "steel-under")


@pytest.mark.parametrize(
    ("width", "left", "level"),
    [
        # the outermost hole is 78 mm from the middle, its M10 thread 5 mm more; a quarter of 10 mm is wanted beside it
        (171.1, None, ""),
        (170.9, 2.45, "warn"),
        (168.1, 1.05, "warn"),
        (167.9, 0.95, "stop"),
        (166, 0.0, "stop"),
    ],
)
def test_a_thread_at_the_edge_of_its_flange_is_said(width: float, left: float | None, level: str) -> None:
    findings = found(flanged(FLANGE.replace("width: 190", f"width: {width}")), "steel-under")
    if left is None:
        assert findings == []
        return
    (finding,) = findings
    assert finding.level == level
    assert finding.message.startswith("housing.2: ")
    assert finding.found == pytest.approx(left, abs=1e-6)
    assert finding.needed == 2.5


def test_screws_beside_the_flange_are_named_together() -> None:
    (finding,) = found(flanged(FLANGE.replace("}}, span", "}, at: [60, 0]}, span")), "steel-under")
    assert "there is no steel under it" in finding.message
    assert set(finding.features) == {"housing.1", "housing.4", "flange"}


def test_a_thread_deeper_than_the_flange_warns_and_stops_where_the_rest_does_not_hold() -> None:
    text = flanged(FLANGE.replace("[0, 28]", "[0, 18]"))
    (finding,) = found(text, "steel-under")
    assert (finding.level, finding.found, finding.needed) == ("warn", 24, 18)
    (remedy,) = finding.remedies
    assert not found(with_value(text, remedy.field, remedy.value), "steel-under")
    # 15 mm of thread are wanted in cast iron: 1.5 diameters
    (thin,) = found(flanged(FLANGE.replace("[0, 28]", "[0, 12]")), "steel-under")
    assert (thin.level, thin.needed) == ("stop", 12)
    hub = "  hub: {carried_by: housing, shape: {rectangle: {width: 188, height: 148}}, span: [0, 40]}\n"
    assert not found(flanged(FLANGE.replace("[0, 28]", "[0, 18]") + hub), "steel-under")


def test_where_nothing_lies_under_the_screws_that_is_said() -> None:
    def gaps(text: str) -> list[Finding]:
        return [one for one in found(text, "not-checked") if "steel under its screws" in one.message]

    assert len(gaps(SOUND)) == 1  # only a cap is described
    assert gaps(flanged()) == []


# --------------------------------------------------------------------------------------------- how many

FACE = """\
platekit: 1
title: Platen press, flange motor on the bracket
units: mm
plate: {material: S235, thickness: 9, outline: {wrap: {margin: auto}}}
mounts:
  bracket:
    side: far
    looking_at: face
    pattern: {rectangle: {width: 120, height: 90}}
    bolts: {size: M12, into: part, depth: 26, washer: true}
  motor:
    side: near
    looking_at: face
    pattern: PATTERN
    at: [190, 30]
    pilot: {diameter: 110, depth: 3.5, opening: none}
    standoff: 4
    bolts: {size: M8, into: nut, flange: 9, washer: true}
cutting: {process: laser, kerf: 0.3}
"""


def face(pattern: str, pilot: str = "110") -> str:
    text = FACE.replace("PATTERN", pattern).replace("diameter: 110", f"diameter: {pilot}")
    return text if pilot != "none" else text.replace("    pilot: {diameter: none, depth: 3.5, opening: none}\n", "")


@pytest.mark.parametrize(
    ("pattern", "pilot", "full"),
    [
        # IEC 60072-1: FF130 has a bolt circle of 130, a pilot of 110 and four holes
        ("{circle: {diameter: 130, angles: [45 deg, 225 deg]}}", "110", 4),
        ("{circle: {diameter: 130, angles: [45 deg, 135 deg]}}", "110", 4),
        ("{circle: {diameter: 130, angles: [45 deg, 135 deg, 225 deg]}}", "110", 4),
        ("{circle: {diameter: 130, angles: [45 deg, 225 deg]}}", "none", 4),
        ("{points: [[45.96, 45.96], [-45.96, -45.96]]}", "110", 4),
        ("{circle: {diameter: 143, angles: [0 deg, 90 deg, 180 deg]}}", "97", 4),  # no standard's: three of four
        ("{circle: {diameter: 143, angles: [0 deg, 180 deg]}}", "97", 3),
        ("{circle: {count: 4, diameter: 130, start: 45 deg}}", "110", None),
        ("{circle: {count: 3, diameter: 143}}", "97", None),
        ("{rectangle: {width: 173.2, height: 100}}", "97", None),  # four of six even ones, yet a rectangle
        ("{circle: {count: 2, diameter: 106.38}}", "82.55", None),  # SAE J744: two-bolt flange A
    ],
)
def test_screws_that_are_left_out_are_said(pattern: str, pilot: str, full: int | None) -> None:
    text = face(pattern, pilot)
    findings = [one for one in found(text, "few-screws") if "motor" in one.features]
    assert [one.needed for one in findings] == ([] if full is None else [full])
    for finding in findings:
        assert finding.level == "warn"
        for remedy in finding.remedies:
            text = with_value(text, remedy.field, remedy.value)
        assert not finding.remedies or not found(text, "few-screws")


# --------------------------------------------------------------------------------------------- the old part


def of_old(points: str) -> list[Finding]:
    return found(changed(("[[-76, -50], [78, -51], [72, 57], [-69, 60]]", points)), "new-holes")


def test_a_hole_at_the_end_of_the_list_of_an_old_part_is_asked_for() -> None:
    (finding,) = of_old("[[-76, -50], [78, -51], [72, 57], [-69, 60], [3, 84]]")
    assert (finding.level, finding.features, finding.found, finding.needed) == ("warn", ("housing.5",), 5, 4)
    assert "not reversible" in finding.message
    two = of_old("[[-76, -50], [78, -51], [72, 57], [-69, 60], [3, 84], [3, -80]]")
    assert [one.features for one in two] == [("housing.5", "housing.6")]


@pytest.mark.parametrize(
    "points",
    [
        "[[-76, -50], [78, -51], [72, 57], [-69, 60]]",
        "[[-69, 60], [72, 57], [78, -51], [-76, -50]]",
        "[[-76, -50], [78, -51], [72, 57], [3, 84], [-69, 60]]",
        "[[-76, -50], [72, 57], [78, -51], [-69, 60]]",
    ],
)
def test_holes_in_their_round_or_in_none_are_taken_to_be_of_old_and_that_is_said(points: str) -> None:
    assert [one.level for one in of_old(points)] == ["note"]

"""Belts that do not stay where they run: over a long way, or on teeth without flanges."""

from __future__ import annotations

import pytest

import platekit
from platekit.checks import Finding
from tests.checks.drives import TOOTHED, changed

BELT = "belt: {section: A, pitch_length: 1000}"
OUTLINE = "outline: {rectangle: {width: 420, height: 700, corner: 10}, at: [0, 200]}"
WIDE = "outline: {rectangle: {width: 420, height: 1700, corner: 10}, at: [0, 700]}"


def told(text: str, rule: str) -> list[Finding]:
    layout = platekit.lay_out(platekit.loads(text, "drive.yaml"))
    return [one for one in platekit.check(layout).findings if one.rule == rule]


@pytest.mark.parametrize(("length", "whips"), [(1000, False), (2430, False), (2450, True)])
def test_a_v_belt_whips_over_three_times_its_pulleys(length: int, whips: bool) -> None:
    # 71 and 250 mm: three times both are 963 mm, on which lies a belt of 2 x 963 + pi/2 x 321 + 179^2 / (4 x 963),
    # 2438.5 mm
    found = told(changed((BELT, f"belt: {{section: A, pitch_length: {length}}}"), (OUTLINE, WIDE)), "long-belt")
    assert bool(found) is whips
    for one in found:
        assert one.needed == pytest.approx(963)
        assert one.found == pytest.approx(963 + (length - 2438.5) / 2, abs=1.0)


@pytest.mark.parametrize(
    ("flanges", "lacking"),
    [
        ({}, "drive.driver and drive.driven"),
        ({"driver": 76}, None),
        ({"driven": 225}, None),
        ({"driver": 76, "driven": 225}, None),
    ],
)
def test_one_toothed_pulley_has_flanges(flanges: dict[str, int], lacking: str | None) -> None:
    ends = {"driver": "teeth: 22,", "driven": "teeth: 72,"}
    swaps = [(ends[end], f"{ends[end]} flange_diameter: {size},") for end, size in flanges.items()]
    found = told(changed(*swaps, text=TOOTHED), "belt-flange")
    assert [f"told of {lacking};" in one.message for one in found] == [True] * bool(lacking)


def test_over_a_long_way_both_have_them() -> None:
    # 22 teeth of 3/8 in are 66.7 mm; eight times that are 533 mm, on which lies a belt of 1542 mm, 60.7 in
    for length, many in (("60 in", 0), ("61.5 in", 1)):
        swaps = (("37.5 in", length), ("teeth: 22,", "teeth: 22, flange_diameter: 76,"), (OUTLINE, WIDE))
        assert len(told(changed(*swaps, text=TOOTHED), "belt-flange")) == many


def test_a_v_belt_has_none() -> None:
    assert not told(changed(), "belt-flange")

"""What goes through a belt's loop keeps an endless belt from being put on."""

from __future__ import annotations

import pytest

import platekit
from platekit.checks import Finding
from tests.checks import lying
from tests.checks.rollers import SOUND, changed

BAR = "  tie bar: {carried_by: housing, shape: {rectangle: {width: 40, height: 30}, at: [150, 55]}, span: SPAN, "


def found(text: str) -> list[Finding]:
    layout = platekit.lay_out(platekit.loads(text, "roller.yaml"))
    return [one for one in platekit.check(layout).findings if one.rule == "belt-loop"]


def with_bar(span: str, more: str = "relief: auto", at: str = "[150, 55]") -> str:
    return changed(("bodies:\n", f"bodies:\n{BAR.replace('SPAN', span).replace('[150, 55]', at)}{more}}}\n"))


@pytest.mark.parametrize(
    ("span", "level", "past"),
    [
        # the roller's shaft ends 64 mm in front of the housing's face
        ("[-150, 0]", "stop", 86),
        ("[-95, 0]", "stop", 31),
        ("[-94, 0]", "warn", 30),
        ("[-65, 0]", "warn", 1),
        ("[-64, 0]", None, 0),
        ("[-20, 0]", None, 0),  # does not reach the belt at all
        ("[-150, -60]", None, 0),  # stands before the belt's plane, as a guard does
    ],
)
def test_a_bar_past_the_ends_of_the_shafts_is_in_the_way_of_the_belt(span: str, level: str | None, past: float) -> None:
    findings = found(with_bar(span))
    assert [one.level for one in findings] == ([] if level is None else [level])
    for finding in findings:
        assert finding.features[0] == "tie bar"
        assert finding.found == pytest.approx(past)
        assert "removable: true" in finding.advice.text


def test_a_bar_that_comes_off_or_stands_outside_the_loop_is_not() -> None:
    assert found(with_bar("[-150, 0]", "relief: auto, removable: true")) == []
    assert found(with_bar("[-150, 0]", at="[150, 190]")) == []
    assert found(SOUND) == []


# --------------------------------------------------------------------------------- shafts along the plate


def lying_loop(*swaps: tuple[str, str], body: str = "") -> list[Finding]:
    bodies = f"bodies:\n  thing: {body}\ndrive:\n" if body else "drive:\n"
    text = lying.changed(("drive:\n", bodies), *swaps)
    layout = platekit.lay_out(platekit.loads(text, "drive.yaml"))
    return [found for found in platekit.check(layout).findings if found.rule == "belt-loop"]


ROD = "{carried_by: plate, side: near, at: [0, 110], lying: {diameter: 20, length: LONG, height: 110, axis: 90 deg}}"
"""A bar along the shafts, between the two runs of the belt, its middle in the belt's plane."""


def test_a_belt_over_shafts_along_the_plate_comes_on_over_their_free_ends() -> None:
    assert not lying_loop()


@pytest.mark.parametrize(
    ("long", "level"),
    [
        ("18", None),  # no longer than the rims are wide
        ("60", "warn"),  # 20 mm past them on both sides
        ("100", "stop"),  # 40 mm, where 30 mm can be lifted over
    ],
)
def test_a_bar_between_the_runs_is_in_the_way_by_what_stands_out_of_the_nearer_side(
    long: str, level: str | None
) -> None:
    found = lying_loop(body=ROD.replace("LONG", long))
    assert [one.level for one in found] == ([] if level is None else [level])
    assert all("thing" in one.features for one in found)


def test_a_bar_that_comes_off_or_has_a_free_end_there_is_not_in_the_way() -> None:
    assert not lying_loop(body=ROD.replace("LONG", "100").replace("{carried", "{removable: true, carried", 1))
    assert not lying_loop(body=ROD.replace("LONG", "200").replace("[0, 110]", "[0, 10]"))  # ends in the belt's plane


def test_a_shaft_held_on_both_sides_of_its_pulley_is_told() -> None:
    block = "{carried_by: bed, shape: {rectangle: {width: 60, height: 30}, at: [0, AT]}, span: [-190, -110]}"
    # bed is on the far side, seen from its face: the pulley is 100 to 120 mm along its shaft, the shaft 200 mm
    text = lying.changed(
        (
            "drive:\n",
            f"bodies:\n  near block: {block.replace('AT', '60')}\n  end block: {block.replace('AT', '170')}\ndrive:\n",
        )
    )
    layout = platekit.lay_out(platekit.loads(text, "drive.yaml"))
    found = [one for one in platekit.check(layout).findings if one.rule == "belt-loop"]
    assert [one.level for one in found] == ["warn"]
    assert {"near block", "end block"} <= set(found[0].features)
    loose = platekit.spec.with_value(text, "bodies.end block.removable", True)
    layout = platekit.lay_out(platekit.loads(loose, "drive.yaml"))
    assert not [one for one in platekit.check(layout).findings if one.rule == "belt-loop"]


def test_a_belt_that_goes_round_steel_cannot_be_put_on() -> None:
    # the line shaft below the plate: the belt comes up through it on both sides of the steel between
    below = (("height: -150", "height: 60"), ("angle: 0 deg}}", "angle: 0 deg}}"))
    found = lying_loop(*below)
    assert [one.level for one in found] == ["stop"]
    assert "steel stands between" in found[0].message
    opening = (
        "outline: {rectangle",
        "cutouts: {gap: {rectangle: {width: 480, height: 40}, at: [0, 110]}}\n  outline: {rectangle",
    )
    assert not lying_loop(*below, opening)

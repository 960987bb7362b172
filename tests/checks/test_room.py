"""Room that parts want: air behind a fan, a grease gun on its nipple, a lid that opens, a cable that bends."""

from __future__ import annotations

import pytest

import platekit
from platekit.checks import Finding
from tests.checks.rollers import SOUND, changed


def found(text: str, rule: str) -> list[Finding]:
    layout = platekit.lay_out(platekit.loads(text, "roller.yaml"))
    return [one for one in platekit.check(layout).findings if one.rule == rule]


def and_body(body: str, *swaps: tuple[str, str]) -> str:
    return changed(("bodies:\n", f"bodies:\n  {body}\n"), *swaps)


def wall(start: float) -> str:
    shape = "{rectangle: {width: 700, height: 500}, at: [200, 0]}"
    return and_body(f"wall: {{carried_by: housing, shape: {shape}, span: [{start}, 400]}}")


@pytest.mark.parametrize(
    ("start", "left"),
    [
        # the motor stands 4 mm off and is 270 mm long; a fifth of its 178 mm is 35.6 mm
        (282, 8.0),
        (309.5, 35.5),
        (309.7, None),
    ],
)
def test_a_fan_wants_air_behind_its_cover(start: float, left: float | None) -> None:
    findings = found(wall(start), "air")
    assert [one.found for one in findings] == ([] if left is None else [pytest.approx(left)])
    for finding in findings:
        assert finding.level == "warn"
        assert finding.needed == pytest.approx(35.6)


def test_a_motor_that_is_said_to_need_none_and_a_wall_beside_it_are_left_alone() -> None:
    body = "motor body: {carried_by: motor, shape: {circle: {diameter: 178}}, span: [10, 270]"
    assert not found(wall(282).replace(body, f"{body}, needs: none"), "air")
    assert not found(wall(282).replace("at: [200, 0]", "at: [-300, 0]"), "air")
    assert not found(SOUND, "air")


def test_a_motor_known_by_its_standard_alone_has_a_fan_too() -> None:
    bare = wall(310).replace(
        "  motor body: {carried_by: motor, shape: {circle: {diameter: 178}}, span: [10, 270]}\n", ""
    )
    # the nominal frame of an IEC 90 is 300 mm long and 182 mm across: 4 + 300 to 310
    assert [one.found for one in found(bare, "air")] == [pytest.approx(6)]


# --------------------------------------------------------------------------------------------- access


def test_a_nipple_under_the_plate_is_not_got_at_and_one_beside_it_or_with_height_is() -> None:
    def nipple(at: str, span: str, name: str = "grease nipple", more: str = "") -> list[Finding]:
        body = f"{name}: {{carried_by: housing, shape: {{circle: {{diameter: 10}}, at: {at}}}, span: {span}{more}}}"
        return found(and_body(body), "access")

    (under,) = nipple("[30, 60]", "[0, 12]")
    assert (under.level, under.found, under.needed) == ("warn", 0, 60)
    assert "the plate is over it" in under.message
    assert nipple("[30, 60]", "[0, 12]", more=", needs: none") == []
    assert nipple("[30, 60]", "[0, 12]", name="dowel") == []
    assert len(nipple("[30, 60]", "[0, 12]", name="dowel", more=", needs: grease")) == 1
    assert nipple("[-140, 60]", "[0, 12]") == []  # the plate ends before
    assert nipple("[30, 60]", "[20, 32]") == []  # 20 mm of height: a coupler of 16 mm comes from the side


BOX = "terminal box: {carried_by: motor, shape: {rectangle: {width: 90, height: 40}, at: [0, 105]}, span: [60, 99]}"


def test_a_lid_wants_room_before_it() -> None:
    assert found(and_body(BOX), "access") == []
    # the box ends 125 mm from the motor's middle
    shelf = "\n  shelf: {carried_by: motor, shape: {rectangle: {width: 300, height: 20}, at: [0, 160]}, span: [0, 200]}"
    (finding,) = found(and_body(BOX + shelf), "access")
    assert "shelf is within 50 mm in front of it" in finding.message
    farther = shelf.replace("160]}", "190]}")
    assert found(and_body(BOX + farther), "access") == []


def test_where_the_terminal_box_is_not_described_that_is_said() -> None:
    said = [one for one in found(SOUND, "not-checked") if "terminal box" in one.message]
    assert [one.level for one in said] == ["note"]
    assert not [one for one in found(and_body(BOX), "not-checked") if "terminal box" in one.message]


@pytest.mark.parametrize(("mounting", "points"), [("upright", None), ("near up", "up"), ("far up", "down")])
def test_a_shaft_that_stands_upright_is_told(mounting: str, points: str | None) -> None:
    # the motor is on the far side: with the near side up it hangs below, its shaft up through the plate
    told = found(changed(("thickness: 10", f"thickness: 10\n  mounting: {mounting}")), "upended")
    assert [f"points {points};" in one.message for one in told] == [True] * bool(points)

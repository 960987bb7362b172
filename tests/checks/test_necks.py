"""Narrow windows, necks and tongues of the outline, notches: found at their width and place, whatever their shape."""

from __future__ import annotations

import pytest

import platekit
from platekit.checks import Finding
from tests.checks.plates import changed

WINDOW = "window: {circle: {diameter: 30}, at: [90, -70]}"
OUTLINE = "rectangle: {width: 420, height: 260, corner: 10}, at: [60, 0]"
LASER = "process: laser, kerf: 0.3"


def found(rule: str, *swaps: tuple[str, str]) -> list[Finding]:
    layout = platekit.lay_out(platekit.loads(changed(*swaps), "plate.yaml"))
    return [f for f in platekit.check(layout).findings if f.rule == rule and f.level != "note"]


@pytest.mark.parametrize(
    ("shape", "width"),
    [
        ("rectangle: {width: 60, height: 6, corner: 1}", 6.0),
        ("rectangle: {width: 6, height: 60}", 6.0),
        ("polygon: {points: [[-30, -10], [30, -10], [30, 10], [5, 10], [5, 30], [-2, 30], [-2, 10], [-30, 10]]}", 7.0),
    ],
)
def test_a_window_narrower_than_the_process_holds_is_told_as_a_slot_is(shape: str, width: float) -> None:
    plasma = (LASER, "process: plasma, kerf: 1.5")
    (finding,) = found("small-hole", (WINDOW, f"window: {{{shape}, at: [90, -70]}}"), plasma)
    assert finding.level == "warn"
    assert finding.found == pytest.approx(width, abs=0.01)
    assert finding.needed == pytest.approx(9.0)  # one and a half thicknesses of 6 mm


def test_a_window_as_wide_as_the_process_holds_is_not() -> None:
    plasma = (LASER, "process: plasma, kerf: 1.5")
    assert not found("small-hole", (WINDOW, "window: {rectangle: {width: 60, height: 9}, at: [90, -70]}"), plasma)


@pytest.mark.parametrize(("half", "level"), [(0.05, "stop"), (1.4, "stop"), (2.0, "warn"), (3.1, None)])
def test_a_neck_of_the_outline_is_found(half: float, level: str | None) -> None:
    """A plate with an ear beyond a neck; by laser 6 mm of web belong between two cuts in 6 mm, 3 beside drilled."""
    corners = [
        [-150, -130],
        [270, -130],
        [270, -half],
        [300, -half],
        [300, -30],
        [340, -30],
        [340, 30],
        [300, 30],
        [300, half],
        [270, half],
        [270, 130],
        [-150, 130],
    ]
    necks = found("neck", (OUTLINE, f"polygon: {{points: {corners}}}"))
    assert [finding.level for finding in necks] == ([] if level is None else [level])
    for finding in necks:
        assert finding.found == pytest.approx(2 * half, abs=0.01)
        assert finding.at is not None
        assert 270 <= finding.at[0] <= 300
        assert "outline" in finding.features


def test_a_notch_narrower_than_the_kerf_cannot_be_cut_nor_accepted() -> None:
    corners = [[-150, -130], [270, -130], [270, -0.1], [240, -0.1], [240, 0.1], [270, 0.1], [270, 130], [-150, 130]]
    notch = (OUTLINE, f"polygon: {{points: {corners}}}")
    (finding,) = found("kerf", notch)
    assert (finding.level, finding.acceptable) == ("stop", False)
    assert finding.found == pytest.approx(0.2, abs=0.01)
    assert not found("kerf", notch, (LASER, "process: laser, kerf: 0.15"))


def test_an_arm_of_a_window_narrower_than_the_kerf_is_found_though_the_path_stays_in_one_piece() -> None:
    keyhole = "polygon: {points: [[-15, -9], [15, -9], [15, 9], [0.6, 9], [0.6, 20], [-0.6, 20], [-0.6, 9], [-15, 9]]}"
    plasma = (LASER, "process: plasma, kerf: 1.5")
    (finding,) = found("kerf", (WINDOW, f"window: {{{keyhole}, at: [90, -70]}}"), plasma)
    assert finding.found == pytest.approx(1.2, abs=0.01)


def test_a_sharp_tip_of_the_outline_is_told_and_a_blunt_one_is_not() -> None:
    def plate(rise: float) -> tuple[str, str]:
        corners = [[-150, -130], [270, -130], [400, -130 + rise], [270, 130], [-150, 130]]
        return (OUTLINE, f"polygon: {{points: {corners}}}")

    assert not found("tip", plate(120))
    sharp = [[-150, -130], [270, -130], [520, 0], [270, 60], [270, 130], [-150, 130]]
    assert not found("tip", (OUTLINE, f"polygon: {{points: {sharp}}}"))
    sharper = [[-150, -130], [270, -130], [520, 0], [270, -30], [270, 130], [-150, 130]]
    (finding,) = found("tip", (OUTLINE, f"polygon: {{points: {sharper}}}"))
    assert finding.level == "warn"


def test_a_sheet_as_large_as_the_plate_has_no_room_for_the_kerf_and_the_way_in() -> None:
    """420 x 260 by a laser of 0.3 mm: half a kerf on either side, and a lead of two kerfs and 1.5 mm on one."""
    (finding,) = found("stock-size", (LASER, f"{LASER}, sheet: [420, 260]"))
    assert finding.level == "stop"
    (finding,) = found("stock-size", (LASER, f"{LASER}, sheet: [260.5, 420.5]"))
    assert found("stock-size", (LASER, f"{LASER}, sheet: [430, 270]")) == []
    assert found("stock-size", (LASER, "process: drill, sheet: [420, 260]")) == []


def test_copies_too_near_to_each_other_and_the_edge_for_a_pierce_are_found() -> None:
    """Two of 420 x 260 in a row fill the sheet but for a kerf: no side is left to pierce beside. Then there is."""

    def copies(sheet: str, margin: float) -> list[Finding]:
        cutting = f"process: plasma, kerf: 1.5, sheet: {sheet}, copies: 2, margin: {margin}"
        return found("remnant", (LASER, cutting), ("height: 260, corner: 10", "height: 260"))

    (finding,) = copies("[847, 263.5]", 0)
    assert "to pierce for its outside" in finding.message
    wider = finding.needed or 0
    assert not copies(f"[{840 + 3 * wider + 12}, {260 + 2 * wider + 12}]", wider)


@pytest.mark.parametrize(("margin", "told"), [("0", 1), ("2.9", 1), ("3.1", 0), ("6", 0)])
def test_copies_leave_a_strip_between_them_that_stands_the_cut(margin: str, told: int) -> None:
    # 6 mm plate: 6 mm is usual between copies, half of that the least
    text = changed(("kerf: 0.3", f"kerf: 0.3, sheet: [900, 300], copies: 2, margin: {margin}"))
    found = platekit.check(platekit.lay_out(platekit.loads(text, "p.yaml"))).findings
    assert len([finding for finding in found if finding.rule == "strip"]) == told

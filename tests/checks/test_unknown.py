"""What could not be checked is said: never silence where a figure was missing."""

from __future__ import annotations

from pathlib import Path

import pytest

import platekit
from platekit.checks import Finding
from tests.checks import plates
from tests.checks.plates import changed

MACHINE_BOLTS = "bolts: {size: M8, into: part, depth: 16, washer: true}"
MACHINE_PATTERN = "pattern: {circle: {count: 4, diameter: 120, start: 45 deg}}"
MOTOR_BOLTS = "bolts: {size: M6, into: part, depth: 12, thread_in: steel, washer: true}"
PUMP = "pattern: {standard: ISO 3019-2 80 A2}"


HOLDS = "whether the plate holds"
"""Said of every plate that carries something without a mass; tests/checks/test_strength.py has its cases."""


def gaps(text: str) -> list[Finding]:
    layout = platekit.lay_out(platekit.loads(text, "plate.yaml"))
    found = [finding for finding in platekit.check(layout).findings if finding.rule == "not-checked"]
    return [finding for finding in found if HOLDS not in finding.message]


def test_where_everything_is_known_nothing_is_said() -> None:
    assert gaps(plates.SOUND) == []


@pytest.mark.parametrize(
    ("swaps", "feature", "what", "why"),
    [
        (
            ((MACHINE_BOLTS, "\n"), (MACHINE_PATTERN, MACHINE_PATTERN.replace("45 deg", "45 deg, hole: 9"))),
            "machine.1",
            "whether its screws hold",
            "no screws are described",
        ),
        ((("pilot: {diameter: 80, depth: 3}", "pilot: {diameter: 80}"),), "machine.1", "how far its pilot", "depth"),
        (
            (
                (MACHINE_BOLTS, "bolts: {size: M42, into: part, depth: 90, length: 90}"),
                ("diameter: 80", "diameter: 40"),
            ),
            "machine.1",
            "how tight its M42 screws may be",
            "8.8 is not listed for M42",
        ),
    ],
)
def test_a_missing_figure_is_said_with_what_was_left_out(
    swaps: tuple[tuple[str, str], ...], feature: str, what: str, why: str
) -> None:
    (gap,) = gaps(changed(*swaps))
    assert gap.level == "note"
    assert feature in gap.features
    assert f"not checked: {what}" in gap.message.replace("what goes through its holes, ", "")
    assert why in gap.message
    assert gap.advice.text


def test_screws_that_the_plate_holds_pass_holes_that_nobody_gave() -> None:
    text = changed((MOTOR_BOLTS, "bolts: {size: M6, into: plate, flange: 10, washer: true}"))
    (gap,) = gaps(text)
    # ISO 273: the normal clearance hole of M6 is 6.6 mm
    assert "whether the screws pass the part's own holes" in gap.message
    assert "6.6 mm is taken for the odds" in gap.message


def test_a_cut_whose_scatter_no_standard_gives_is_a_warning() -> None:
    # ISO 9013 has no figure for sizes up to 3 mm in plate over 6.3 mm: a 2.4 mm slot for an M2 screw is one
    slot = "bolts: {size: M2, into: part, depth: 6}\n    take_up: {slots: {along: 0 deg, install: 4, tension: 4}}"
    (gap,) = gaps(changed(("thickness: 6", "thickness: 8"), (MOTOR_BOLTS, slot)))
    assert gap.level == "warn"
    assert set(gap.features) == {"motor.1", "motor.2", "motor.3", "motor.4"}
    assert "ISO 9013 gives no figure" in gap.message
    # the same slot in 6 mm plate has one
    assert gaps(changed((MOTOR_BOLTS, slot))) == []


def test_a_pattern_of_more_screws_than_odds_are_worked_out_for_says_so() -> None:
    holes = "pattern: {circle: {count: 201, diameter: 1200}}"
    bolts = MOTOR_BOLTS.replace("M6", "M4")
    wide = ("width: 420, height: 260", "width: 1800, height: 1800")
    found = gaps(changed(("pattern: {rectangle: {width: 90, height: 60}}", holes), (MOTOR_BOLTS, bolts), wide))
    assert ["201 screws" in gap.message for gap in found if "odds" in gap.message] == [True]


def test_a_standard_part_whose_register_has_no_listed_depth_says_so() -> None:
    text = changed(
        ("pattern: {rectangle: {width: 90, height: 60}}", PUMP),
        (MOTOR_BOLTS, "bolts: {size: M8, into: nut, flange: 12, washer: true}"),
    )
    assert ["ISO 3019-2 80 A2 lists no depth" in gap.message for gap in gaps(text)] == [True]


def test_the_small_end_is_told_as_a_sum_that_can_be_added_up() -> None:
    text = (Path(__file__).parents[2] / "specs" / "dough-mixer.yaml").read_text("utf-8")
    layout = platekit.lay_out(platekit.loads(text, "dough-mixer.yaml"))
    finding = next(f for f in platekit.check(layout).findings if f.rule == "tolerance")
    # by hand: 13/32 in = 10.32; 2 x 10 x tan(2 degrees) = 0.698; ISO 9013 class 2, 10 to 35 mm in over 6.3 to 10: 1.1
    assert "10.32 mm may turn out 8.52 mm at its small end: 10.32 mm less 0.7 mm of taper" in finding.message
    assert "less 1.1 mm of scatter" in finding.message
    assert finding.found == pytest.approx(13 / 32 * 25.4 - 0.698 - 1.1, abs=0.002)
    # plasma holds 15 mm here, so that a slot of 11.4 mm would only be another one under it
    assert finding.advice.text.startswith("drill its ends and mill between them")
    assert "make it at least 11.4 mm wide" in finding.advice.text


ADAPTER = """\
platekit: 1
title: Pump on a gearbox
units: mm
plate: {material: mild steel, thickness: 10}
mounts:
  gearbox:
    side: far
    looking_at: face
    pattern: {circle: {count: 4, diameter: 165, start: 45 deg}}
    bolts: {size: M10, into: part, depth: 24, washer: true}
  pump:
    side: near
    looking_at: face
    pattern: {circle: {count: 2, diameter: 146}}
    bolts: {size: M12, into: nut, flange: 12, washer: true}
cutting: {process: laser, kerf: 0.3}
"""


def test_screws_that_stand_out_under_a_part_that_nothing_describes_are_told() -> None:
    # the heads of the pump's screws would be squeezed between the plate and the gearbox
    (gap,) = gaps(ADAPTER)
    assert gap.level == "warn"
    assert {"pump.1", "pump.2", "gearbox"} <= set(gap.features)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("cutting:", "bodies: {box: {carried_by: gearbox, shape: {circle: {diameter: 120}}, span: [0, 90]}}\ncutting:"),
        ("M12, into: nut, flange: 12", "M10, into: plate, flange: 12, length: 24"),
        ("diameter: 146", "diameter: 300"),
        ("start: 45 deg}}", "start: 45 deg}}\n    standoff: 60"),
    ],
    ids=["described", "threads in the plate", "beside it", "on spacers"],
)
def test_a_part_that_is_described_or_clear_of_them_is_not_told(old: str, new: str) -> None:
    assert ADAPTER.count(old) == 1
    assert not [gap for gap in gaps(ADAPTER.replace(old, new)) if "leaves room" in gap.message]


def test_once_the_part_is_described_the_clash_shows() -> None:
    box = "bodies: {box: {carried_by: gearbox, shape: {circle: {diameter: 190}}, span: [0, 90]}}\ncutting:"
    layout = platekit.lay_out(platekit.loads(ADAPTER.replace("cutting:", box), "plate.yaml"))
    assert any(f.rule == "clash" and "pump.1" in str(f.features) for f in platekit.check(layout).findings)

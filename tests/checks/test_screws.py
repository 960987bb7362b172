"""A screw in a blind thread ends a pitch before its bottom: what is clamped may come out thinner than drawn."""

from __future__ import annotations

import pytest

import platekit
from platekit.checks import Finding
from platekit.spec import with_value
from tests.checks import plates

MACHINE_BOLTS = "bolts: {size: M8, into: part, depth: 16, washer: true}"


def bottoming(text: str) -> list[Finding]:
    layout = platekit.lay_out(platekit.loads(text, "plate.yaml"))
    return [finding for finding in platekit.check(layout).findings if finding.rule == "grip"]


def with_depth(depth: float, more: str = "") -> str:
    return plates.changed((MACHINE_BOLTS, MACHINE_BOLTS.replace("16", f"{depth:g}").replace("true", f"true{more}")))


def test_a_screw_that_ends_a_pitch_before_the_bottom_is_well() -> None:
    # M8 x 20 under a 1.6 mm washer (ISO 7089) and a 6 mm plate: 12.4 mm past the plate; the pitch is 1.25 mm
    assert bottoming(with_depth(12.4 + 1.25)) == []


def test_one_that_all_but_bottoms_is_a_warning_with_both_figures() -> None:
    (found,) = bottoming(with_depth(12.5))
    assert found.level == "warn"
    assert found.found == pytest.approx(0.1)
    assert found.needed == pytest.approx(1.25)
    # 1.5 diameters must hold, 12 mm: ground off for a pitch of room, 11.25 mm would be left
    assert found.advice.text.startswith("measure how deep the thread really is")


def test_where_enough_thread_is_left_the_screw_is_ground_off() -> None:
    text = with_depth(12.5, ", thread_in: steel, length: 20")
    (found,) = bottoming(text)
    # 7.6 clamped + 12.5 deep - 1.25 = 18.85
    assert found.advice.text.startswith("grind it off to 18.8 mm")
    (remedy,) = found.remedies
    assert bottoming(with_value(text, remedy.field, remedy.value)) == []


MEASURED = """pattern:
      measured:
        holes: {A: HOLE, B: HOLE, C: HOLE, D: HOLE}
        readings: [[A, B, centres, 84.85], [B, C, centres, 84.86], [C, D, centres, 84.85], [D, A, centres, 84.84],
          [A, C, centres, 120.0], [B, D, centres, 120.01]]
        clockwise: [A, B, C]"""


@pytest.mark.parametrize(
    ("hole", "level"),
    # M8: tap drill 6.8 mm; less 6 % of 8 and 0.3 for the jaws is 6.02. A chamfered thread may measure 8.48.
    [(5.9, "stop"), (6.1, None), (6.8, None), (8.4, None), (8.6, "warn")],
)
def test_a_measured_hole_is_the_thread_that_its_screw_needs(hole: float, level: str | None) -> None:
    old = "pattern: {circle: {count: 4, diameter: 120, start: 45 deg}}"
    text = plates.changed((old, MEASURED.replace("HOLE", f"{hole}")))
    found = platekit.check(platekit.lay_out(platekit.loads(text, "plate.yaml"))).findings
    assert [finding.level for finding in found if finding.rule == "tapped"] == ([] if level is None else [level])
    nut = text.replace("into: part, depth: 16", "into: nut, flange: 12")
    found = platekit.check(platekit.lay_out(platekit.loads(nut, "plate.yaml"))).findings
    assert not [finding for finding in found if finding.rule == "tapped"]

"""Dowel pins between the plate and a part: in holes that the part has, of a size that fits them, and two of them."""

from __future__ import annotations

import math

import pytest

import platekit
from platekit.analysis.parts_list import pieces_of
from platekit.checks import Finding
from platekit.cutting import operations_of
from platekit.errors import SpecError
from platekit.export.reports.rows import order_of, step_rows
from platekit.spec import with_value
from tests.checks.plates import changed

PATTERN = "pattern: {circle: {count: 4, diameter: 120, start: 45 deg}}"
SCREWS = "bolts: {size: M8, into: part, depth: 16, washer: true}"
THICK = ("thickness: 6", "thickness: 10")
MEASURED = """pattern:
      measured:
        holes: {A: 6.8, B: 6.8, C: 6.8, P: {diameter: HOLE, kind: dowel}, Q: {diameter: HOLE, kind: dowel}}
        readings:
          - [A, B, centres, 84.85]
          - [B, C, centres, 84.86]
          - [A, C, centres, 120.0]
          - [A, P, centres, 42.42]
          - [B, P, centres, 42.43]
          - [C, P, centres, 94.87]
          - [B, Q, centres, 42.43]
          - [C, Q, centres, 42.43]
          - [A, Q, centres, 94.87]
          - [P, Q, centres, 60.0]
        clockwise: [A, B, C]
        origin: A"""
"""Three corners of a square of 84.85 mm; P and Q are in the middles of two of its sides."""


def text_of(dowels: str, *more: tuple[str, str]) -> str:
    return changed((SCREWS, f"{SCREWS}\n    dowels: {dowels}"), *more)


def measured(hole: float, dowels: str = "{depth: 15}") -> str:
    words = MEASURED.replace("HOLE", str(hole))
    return text_of(dowels, (PATTERN, words), THICK, ("    pilot: {diameter: 80, depth: 3}\n", ""))


def told(text: str) -> list[Finding]:
    found = platekit.check(platekit.lay_out(platekit.loads(text, "plate.yaml"))).findings
    return [one for one in found if one.rule == "dowel"]


GOOD = "{size: 6, depth: 12, at: [[0, 60], [0, -60]]}"


def test_pins_in_holes_that_are_there_make_holes_that_are_reamed_with_the_part_as_jig() -> None:
    text = text_of(GOOD)
    assert not told(text)
    layout = platekit.lay_out(platekit.loads(text, "plate.yaml"))
    holes = [one for one in layout.openings if one.role == "dowel"]
    # the machine is on the far side, seen from its face as from the near side: not mirrored
    assert [(one.name, one.center, one.size) for one in holes] == [
        ("machine.dowel 1", (0.0, 60.0), 6.0),
        ("machine.dowel 2", (0.0, -60.0), 6.0),
    ]
    made = {one.opening: one for one in operations_of(layout)}["machine.dowel 1"]
    assert [step.work for step in made.steps] == ["mark", "drill", "ream"]
    assert made.cut is None
    assert "taken from the part's own hole" in made.reason
    # 6 mm of plate and 12 of hole: the longest of DIN 6325 that is no longer than 18
    (piece,) = (one for one in pieces_of(layout) if one.kind == "dowel")
    assert (piece.part, piece.count, piece.width, piece.length) == ("machine", 2, 6.0, 18.0)
    assert any("dowel centres" in row.mind for row in step_rows(layout, order_of(layout)))
    pins = [body for body in layout.bodies if body.name.endswith(".pin")]
    # flush with the near face, 12 mm into the part behind the far one
    assert [body.z for body in pins] == [(-18.0, 0.0)] * 2


@pytest.mark.parametrize(
    ("dowels", "more", "level", "said"),
    [
        ("{size: 7, depth: 12, at: [[0, 60], [0, -60]]}", (), "stop", "no parallel pin is 7 mm thick"),
        ("{size: 7, pin: spring, depth: 12, at: [[0, 60], [0, -60]]}", (), "stop", "no spring pin is 7 mm thick"),
        ("{size: 6, depth: 12, at: [[0, 60]]}", (), "warn", "one dowel pin"),
        # the screws are 120 mm apart at most
        ("{size: 6, depth: 12, at: [[-29.9, 60], [29.9, 60]]}", (), "warn", "59.8 mm apart"),
        ("{size: 6, depth: 12, at: [[-30, 60], [30, 60]]}", (), None, ""),
        ("{size: 8, depth: 12, at: [[0, 60], [0, -60]]}", (), "warn", "hold 6 mm in the plate"),
        ("{size: 8, depth: 12, at: [[0, 60], [0, -60]]}", (("thickness: 6", "thickness: 8"),), None, ""),
        ("{size: 6, depth: 5, at: [[0, 60], [0, -60]]}", (), "warn", "hold 5 mm in the part"),
        ("{size: 6, at: [[0, 60], [0, -60]]}", (), "note", "not known how deep"),
        ("{size: 6, depth: 12, length: 20, at: [[0, 60], [0, -60]]}", (), "stop", "20 mm long stand out"),
        ("{size: 6, depth: 12, together: true, at: [[0, 60], [0, -60]]}", (), "stop", "not reversible"),
        # what was said of the motor's own holes is nobody's loss: the machine is what stays as it was
        (
            "{size: 6, depth: 12, together: true, at: [[0, 60], [0, -60]]}",
            (("side: near\n    looking_at: face", "side: near\n    original: true\n    looking_at: face"),),
            None,
            "",
        ),
    ],
)
def test_what_does_not_fit_or_hold_is_told(
    dowels: str, more: tuple[tuple[str, str], ...], level: str | None, said: str
) -> None:
    text = text_of(dowels, *more)
    found = told(text)
    if level is None:
        assert not found
        return
    assert any(one.level == level and said in one.message for one in found), found
    for one in found:
        if one.remedies:
            mended = text
            for remedy in one.remedies:
                mended = with_value(mended, remedy.field, remedy.value)
            assert one.message not in {other.message for other in told(mended)}


@pytest.mark.parametrize(
    ("hole", "dowels", "level", "said"),
    [
        (8.0, "{depth: 15}", None, ""),
        (8.1, "{depth: 15}", None, ""),
        (8.3, "{depth: 15}", "warn", "a pin of 8 mm is loose"),
        (8.3, "{depth: 15, pin: spring}", None, ""),  # ISO 8752: one of 8 mm opens to 8.5 at least
        (8.7, "{depth: 15, pin: spring}", "warn", "is loose"),
        (8.0, "{depth: 15, size: 10}", "stop", "does not go in"),
        (8.0, "{depth: 15, size: 6}", "warn", "is loose"),
    ],
)
def test_pins_are_held_against_holes_as_they_were_measured(
    hole: float, dowels: str, level: str | None, said: str
) -> None:
    text = measured(hole, dowels)
    found = told(text)
    assert [one.level for one in found] == ([] if level is None else [level, level])
    for one in found:
        assert said in one.message
        for advice in (one.advice, *one.others):
            mended = text
            for remedy in advice.remedies:
                mended = with_value(mended, remedy.field, remedy.value)
            assert not advice.remedies or not told(mended)


def test_measured_dowel_holes_take_no_screw_and_get_pins_by_themselves() -> None:
    words = MEASURED.replace("HOLE", "8")
    text = changed((PATTERN, words), THICK, ("    pilot: {diameter: 80, depth: 3}\n", ""))
    layout = platekit.lay_out(platekit.loads(text, "plate.yaml"))
    assert layout.mounts["machine"].labels == ("A", "B", "C")
    assert [one.name for one in layout.openings if one.role == "dowel"] == ["machine.P", "machine.Q"]
    a, p = layout.opening("machine.A").center, layout.opening("machine.P").center
    assert math.dist(a, p) == pytest.approx(42.42, abs=0.05)
    (note,) = told(text)
    assert note.level == "note"
    # an opening over one is an overlap as over any hole
    x, y = p
    over = text.replace("circle: {diameter: 30}, at: [90, -70]", f"circle: {{diameter: 30}}, at: [{x:.1f}, {y:.1f}]")
    found = platekit.check(platekit.lay_out(platekit.loads(over, "plate.yaml"))).findings
    assert any(one.rule == "overlap" and "machine.P" in one.features for one in found)


def test_a_pin_meets_what_stands_in_its_way() -> None:
    post = (
        "bodies:\n  post: {carried_by: plate, side: far, shape: {circle: {diameter: 10}, at: [0, 60]}, span: [SPAN]}\n"
    )
    for span, level in (("10, 40", True), ("14.1, 40", False)):
        text = text_of(GOOD, ("bodies:\n", post.replace("SPAN", span)))
        found = platekit.check(platekit.lay_out(platekit.loads(text, "plate.yaml"))).findings
        hit = [one for one in found if one.rule == "clash" and "machine.dowel 1.pin" in one.features]
        assert bool(hit) is level, span


@pytest.mark.parametrize(
    ("dowels", "more", "said"),
    [
        ("{depth: 12}", (), "`dowels` without a hole"),
        ("{at: [[0, 60]]}", (), "`dowels: at` without a size"),
        (f"{GOOD}\n    take_up: {{slots: {{along: 0 deg, install: 4, tension: 4}}}}", (), "`dowels` and `take_up`"),
        (f"{GOOD}\n    standoff: 4", (), "`dowels` and `standoff`"),
    ],
)
def test_pins_hold_only_what_lies_on_the_plate_and_stays(
    dowels: str, more: tuple[tuple[str, str], ...], said: str
) -> None:
    with pytest.raises(SpecError, match=said):
        platekit.loads(text_of(dowels, *more), "plate.yaml")

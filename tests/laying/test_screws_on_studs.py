"""What stays on the old part: studs that nuts go on, and a shaft that is measured from; figures worked out by hand."""

from __future__ import annotations

import pytest

from platekit.analysis.assembly import assembly
from platekit.analysis.parts_list import pieces_of
from platekit.checks import Finding, check
from platekit.errors import SpecError
from platekit.export.bench.words import screw_rows
from platekit.laying.tools import SOCKET_ROOM, screw_ends
from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import loads, with_value

STUDS = """\
platekit: 1
title: Cider pump, studs and a shaft that stay
units: mm
plate: {material: mild steel, thickness: 10}
mounts:
  pump:
    side: far
    looking_at: face
    pattern:
      measured:
        holes:
          A: {diameter: 10, kind: stud}
          B: {diameter: 10, kind: stud}
          C: {diameter: 10, kind: stud}
          D: {diameter: 10, kind: stud}
          S: {diameter: 25, kind: shaft, stands: 60}
        readings:
          - [A, B, over, 130]
          - [B, C, over, 110]
          - [C, D, over, 130]
          - [D, A, over, 110]
          - [A, C, over, 166.2]
          - [B, D, over, 166.2]
          - [S, A, centres, 78.1]
          - [S, B, centres, 78.1]
          - [S, C, over, 95.6]
        clockwise: [A, B, C]
        origin: S
        x_axis: [D, C]
    screws: {size: M10, into: stud, stands: 35, washer: true}
cutting: {process: laser}
"""


def pump(*changes: tuple[str, str]) -> Layout:
    text = STUDS
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return lay_out(loads(text, "pump"))


def grips(text: str) -> list[Finding]:
    return [one for one in check(lay_out(loads(text, "pump"))).findings if one.rule == "grip"]


def test_no_screw_is_bought_for_studs_that_stay() -> None:
    bought = [(one.kind, one.count, one.size) for one in pieces_of(pump()) if one.get == "buy"]
    assert bought == [("nut", 4, "M10"), ("washer", 4, "M10")]
    assert "M10 nut" in screw_rows(pump())[0][1]


def test_a_stud_stands_past_plate_washer_nut_and_two_threads() -> None:
    # 10 plate, 2 washer (ISO 7089), 8.4 nut (ISO 4032), two threads of 1.5: 23.4
    assert not grips(STUDS.replace("stands: 35", "stands: 23.4"))
    (finding,) = grips(STUDS.replace("stands: 35", "stands: 23.3"))
    assert (finding.level, finding.found) == ("stop", 23.3)
    assert finding.needed == pytest.approx(23.4)


@pytest.mark.parametrize("stands", [22.0, 20.0])
def test_the_advice_for_short_studs_does(stands: float) -> None:
    text = STUDS.replace("stands: 35", f"stands: {stands}")
    (finding,) = grips(text)
    ideas = [one for one in (finding.advice, *finding.others) if one.remedies]
    assert ideas
    for idea in ideas:
        mended = text
        for remedy in idea.remedies:
            mended = with_value(mended, remedy.field, remedy.value)
        assert not grips(mended), idea.text


def test_the_nut_is_on_the_free_side_with_room_for_a_socket_over_the_stud() -> None:
    layout = pump()
    spans = {body.name: (body.side, body.z) for body in layout.bodies if body.screw == "pump.A"}
    assert spans["pump.A.nut"] == ("near", (2.0, 10.4))
    assert spans["pump.A.stud end"][1] == pytest.approx((10.4, 25.0))  # 35 less the plate's 10 is what stands over it
    ends = [end for end in screw_ends(layout) if end.screw == "pump.A"]
    assert [(end.what, end.side) for end in ends] == [("nut", "near")]
    assert ends[0].room == pytest.approx(SOCKET_ROOM + 14.6)
    assert [step.size for step in assembly(layout).steps if step.item == "pump"] == ["M10"]


def test_studs_without_a_length_and_words_of_screws_are_refused_in_one_line() -> None:
    with pytest.raises(SpecError, match="measure how far the shortest stud stands"):
        pump((", stands: 35", ""))
    with pytest.raises(SpecError, match="a nut goes on the stud that is there"):
        pump(("stands: 35", "stands: 35, length: 40"))
    # told stud by stud the shortest counts
    each = [
        (f"{name}: {{diameter: 10, kind: stud", f"{name}: {{diameter: 10, kind: stud, stands: {mm}")
        for name, mm in zip("ABCD", (36, 33, 35, 34), strict=True)
    ]
    stack = pump((", stands: 35", ""), *each).mounts["pump"].stack
    assert stack is not None
    assert stack.length == 33


def test_a_shaft_is_measured_from_takes_no_screw_and_gets_an_opening() -> None:
    layout = pump()
    assert layout.mounts["pump"].labels == ("A", "B", "C", "D")
    body = next(one for one in layout.bodies if one.name == "pump.S")
    assert body.z == (-10.0, 50.0)
    assert body.shape.box.width == pytest.approx(25, abs=0.1)
    opening = next(one for one in layout.openings if one.for_body == "pump.S")
    assert opening.center == pytest.approx((0, 0), abs=1e-6)
    assert opening.size == pytest.approx(25 + 2 * layout.limits.gap.value, abs=0.1)


def test_a_shaft_that_does_not_say_how_far_it_stands_is_told_as_not_checked() -> None:
    text = STUDS.replace(", stands: 60", "")
    found = [one for one in check(lay_out(loads(text, "pump"))).findings if one.rule == "not-checked"]
    assert any("pump.S" in one.message for one in found)
    assert not any("pump.S" in one.message for one in check(pump()).findings)


def test_a_thick_pin_is_asked_whether_it_is_a_shaft() -> None:
    with pytest.raises(SpecError, match="kind: shaft"):
        pump(("kind: shaft, stands: 60", "kind: pin"))
    # a pin that goes into a hole for M10 is one
    pins = pump(("kind: stud", "kind: pin"), ("into: stud, stands: 35", "into: part, depth: 20, thread_in: steel"))
    assert [one.count for one in pieces_of(pins) if one.kind == "screw"] == [4]


def test_only_what_stands_out_says_how_far() -> None:
    with pytest.raises(SpecError, match="stands"):
        pump(("A: {diameter: 10, kind: stud}", "A: {diameter: 10, stands: 30}"))


def test_a_shaft_that_ends_behind_the_face_is_in_nobodys_way() -> None:
    layout = pump(("stands: 60", "stands: 0"))
    assert all(one.for_body != "pump.S" for one in layout.openings)
    assert not [one for one in check(layout).findings if "pump.S" in one.message]
    with pytest.raises(SpecError, match="stands: 0"):
        pump(("A: {diameter: 10, kind: stud}", "A: {diameter: 10, kind: stud, stands: 0}"))


@pytest.mark.parametrize("stands", ["stands: 60", "stands: 0"])
def test_a_pulley_behind_the_face_sits_on_the_shaft_that_was_measured_there(stands: str) -> None:
    motor = (
        "  motor:\n    side: near\n    pattern: {standard: IEC 90 B14}\n"
        "    at: {belt: {from: pump, angle: 90 deg}}\n    screws: {into: part}\n"
        "drive:\n  belt: {section: SPZ, choose: true, near: 300}\n"
        "  driver: {on: motor, pitch_diameter: 80, span: [-48, -28]}\n"
        "  driven: {on: pump, pitch_diameter: 250, span: [12, 32]}\n"
    )
    layout = pump(("stands: 60", stands), ("cutting: {process: laser}\n", motor))
    assert not [one for one in check(layout).findings if one.rule == "shaft-end"]
    # one in front of the end of it still sits on nothing
    short = pump(("stands: 60", "stands: 15"), ("cutting: {process: laser}\n", motor), ("[12, 32]", "[-60, -40]"))
    assert [one for one in check(short).findings if one.rule == "shaft-end" and "pump.S" in one.message]

"""A belt that is meant to be twisted: nothing of it is worked out, what is not checked is said."""

from __future__ import annotations

import json
import math
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

import platekit
from platekit.checks import Finding
from platekit.cli import Exit, main
from platekit.errors import SpecError
from platekit.laying.twisted_pulleys import Entry, entry_of
from platekit.spec import with_value
from tests.checks.lying import changed

PLACE = "at: {belt: {from: bed, angle: 0 deg}}"
SLOTS = "along: belt, install: auto, tension: auto"
SHAFT = "    shaft: {height: -150, along: 90 deg, stretch: [-100, 200], diameter: 30}\n"
CROSSED = ("drive:\n", "drive:\n  shafts: crossed\n")
BY_HAND = (SLOTS, "along: 0 deg, install: 20, tension: 30")


def twisted(*changes: tuple[str, str], turn: str = "90 deg") -> str:
    """The sound drive with its motor turned and its belt said to be meant twisted."""
    # The bed's shaft lies 870 mm above the plate's near face, and each pulley's plane touches the other's pitch circle:
    # that of the bed's at y = 40, where the motor's (80 mm) has its side, the motor's at x = -200 + 100 (200 mm).
    text = changed(CROSSED, (PLACE, f"at: [46, 0]\n    turn: {turn}"), *changes)
    return text.replace("height: -150", "height: -900").replace("span: [100, 120]", "span: [30, 50]")


def laid(text: str) -> platekit.Layout:
    return platekit.lay_out(platekit.loads(text, "line-shaft.yaml"))


def of(text: str, *rules: str) -> list[Finding]:
    return [one for one in platekit.check(laid(text)).findings if one.rule in rules]


def about_the_twist(text: str) -> Finding:
    (finding,) = [one for one in of(text, "not-checked") if "meant to be twisted" in one.message]
    return finding


def refused(text: str) -> str:
    with pytest.raises(SpecError) as error:
        laid(text)
    return str(error.value)


# --------------------------------------------------------------------------------------- said, not worked out


def test_a_quarter_turn_belt_is_a_note_in_place_of_the_stop_and_says_all_that_is_not_checked() -> None:
    plain = changed((PLACE, "at: [200, 0]\n    turn: 90 deg"), BY_HAND)
    assert [one.level for one in of(plain, "shaft-along")] == ["stop"]
    assert "drive.shafts: crossed" in of(plain, "shaft-along")[0].advice.text
    text = twisted(BY_HAND)
    finding = about_the_twist(text)
    assert finding.level == "note"
    assert "90.00 degrees" in finding.message
    for gap in ("length", "wrap", "take-up", "rating", "pull", "run into"):
        assert gap in finding.message
    assert not of(text, "shaft-along")
    assert platekit.check(laid(text)).clear


def test_nothing_of_a_twisted_belt_is_laid_out_and_a_guard_is_still_asked_for() -> None:
    layout = laid(twisted(BY_HAND))
    assert layout.belts == ()
    assert not [body.name for body in layout.bodies if body.belt or body.kind == "belt"]
    guards = of(twisted(BY_HAND), "guard")
    assert [one.level for one in guards] == ["warn"]
    assert "no guard is described" in guards[0].message
    assert not of(changed(BY_HAND), "guard")[0].message.startswith("drive: a twisted")


@settings(max_examples=20)
@given(degrees=st.floats(1, 179))
def test_the_angle_is_that_of_two_lines(degrees: float) -> None:
    # both shafts along the plate, the bed's along y and the motor's along y of its feet, turned: the smaller of the two
    # angles between two lines
    angle = min(degrees, 180 - degrees)
    layout = laid(twisted(BY_HAND, turn=f"{degrees} deg"))
    assert layout.twisted is not None
    assert math.degrees(layout.twisted.angle) == pytest.approx(angle, abs=1e-6)


def test_a_shaft_square_to_the_plate_is_at_a_right_angle_to_all_that_lie_along_it() -> None:
    square = (SHAFT, "    shaft: {height: 0, along: square, stretch: [0, 60], diameter: 30}\n")
    layout = laid(twisted(BY_HAND, square, ("span: [100, 120]", "span: [-60, -40]"), turn="17 deg"))
    assert layout.twisted is not None
    assert layout.twisted.angle == pytest.approx(math.pi / 2)


def test_the_strength_is_not_worked_out_without_the_pull() -> None:
    weighed = ("    bolts: {size: M8,", "    mass: {total: 14 kg, centre: [0, 0, 90]}\n    bolts: {size: M8,")
    upright = ("  thickness: 15\n", "  thickness: 15\n  mounting: upright\n")
    text = twisted(BY_HAND, weighed, upright)
    assert any("pull of the twisted belt" in one.message for one in of(text, "not-checked"))
    assert not of(text, "strength", "bends", "resonance")


# --------------------------------------------------------------------------------------- how it comes to its pulleys


def entry(text: str) -> Entry:
    twisted = laid(text).twisted
    assert twisted is not None
    found = entry_of(twisted)
    assert found is not None
    return found


def test_a_quarter_turn_by_hand() -> None:
    # middles: the motor's at (46 - 50 - 56 - 50 + 10, 0, 90), the bed's at (-200, 40, 900 - 15)
    one = entry(twisted(BY_HAND))
    assert one.distance == pytest.approx(math.dist((-100, 0, 90), (-200, 40, 885)))
    assert one.driver == pytest.approx(0, abs=1e-9)
    assert one.driven == pytest.approx(0, abs=1e-9)
    assert not of(twisted(BY_HAND), "twist")
    # the motor 7 mm nearer: its plane passes 7 mm inside of the bed's pitch circle; the other plane is as it was
    one = entry(twisted(BY_HAND).replace("[46, 0]", "[39, 0]"))
    assert one.driven == pytest.approx(-7)
    assert one.driver == pytest.approx(0, abs=1e-9)


@settings(max_examples=20)
@given(degrees=st.floats(20, 160), first=st.floats(-30, 30), second=st.floats(-30, 30))
def test_the_moves_along_both_shafts_make_the_line_touch_both_pulleys(
    degrees: float, first: float, second: float
) -> None:
    text = twisted(BY_HAND, turn=f"{degrees} deg").replace("[46, 0]", f"[{46 + first}, 0]")
    text = text.replace("[30, 50]", f"[{30 + second}, {50 + second}]")
    layout = laid(text)
    assert layout.twisted is not None
    assert layout.twisted.pulleys is not None
    moves = entry(text).moves
    moved = [
        replace(one, middle=tuple(p + move * d for p, d in zip(one.middle, one.way, strict=True)))
        for one, move in zip(layout.twisted.pulleys, moves, strict=True)
    ]
    again = entry_of(replace(layout.twisted, pulleys=(moved[0], moved[1])))
    assert again is not None
    assert again.driver == pytest.approx(0, abs=1e-6)
    assert again.driven == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize(("span", "level"), [("[50, 70]", "warn"), ("[110, 130]", "stop")])
def test_runs_beside_their_pulleys_are_told_and_the_advice_ends_it(span: str, level: str) -> None:
    text = twisted(BY_HAND).replace("span: [30, 50]", f"span: {span}")
    (finding,) = of(text, "twist")
    assert finding.level == level
    for remedy in finding.remedies:
        text = with_value(text, remedy.field, remedy.value)
    assert not of(text, "twist")


def test_pulleys_too_near_for_a_twist_are_stopped() -> None:
    # 2 (80 + 200) = 560 mm are wanted; the shafts are 450 mm apart in height
    near = twisted(BY_HAND).replace("height: -900", "height: -555")
    (finding,) = of(near, "twist")
    assert finding.level == "stop"
    assert finding.needed == pytest.approx(560)
    assert finding.found == pytest.approx(math.dist((100, 40, 450), (0, 0, 0)))


# --------------------------------------------------------------------------------------- refused


BAD: dict[str, tuple[str, str]] = {
    "a slot along the belt": (twisted((SLOTS, "along: belt, install: 20, tension: 30")), "`belt`, of a twisted belt"),
    "tension": (twisted((SLOTS, "along: 0 deg, install: 20, tension: auto")), "mounts.motor.take_up.slots.tension"),
    "install": (twisted((SLOTS, "along: 0 deg, install: auto, tension: 20")), "mounts.motor.take_up.slots.install"),
    "a swing": (
        twisted(("slots: {" + SLOTS, "swing: {about: [200, 90], tightens: clockwise, tension: auto")),
        "mounts.motor.take_up.swing.tension",
    ),
    "a hinge": (twisted(("slots: {" + SLOTS, "hinge: {at: [80, 0], tension: 3 deg")), "a hinge for a twisted belt"),
    "a place by the belt": (
        changed(CROSSED, BY_HAND, (PLACE, f"{PLACE}\n    turn: 90 deg")),
        "a place by a twisted belt",
    ),
    "packing by the belt": (
        twisted(BY_HAND, ("  motor:\n    side: near\n", "  motor:\n    side: near\n    packing: belt\n")),
        "packing by a twisted belt",
    ),
    "a belt to choose": (twisted(BY_HAND, ("pitch_length: 1250", "choose: true, near: 400")), "name the belt"),
    "a section that there is none of": (twisted(BY_HAND, ("section: A", "section: Q")), "Q"),
    "an idler": (
        twisted(
            BY_HAND,
            (
                "cutting:",
                "  idlers: [{on: plate, at: [0, 0], height: 20, diameter: 60, inside: true, span: [0, 20]}]\ncutting:",
            ),
        ),
        "drive.idlers",
    ),
    "a guard": (twisted(BY_HAND, ("cutting:", "guard: {gap: 20}\ncutting:")), "a guard over a twisted belt"),
    "parallel shafts": (twisted(BY_HAND, turn="0 deg"), "0.00 degrees out of parallel"),
    # common practice, 1/10 in a foot for V-belts: 0.4775 degrees is what a belt in one plane bears
    "shafts as parallel as a belt needs them": (twisted(BY_HAND, turn="0.4 deg"), "0.40 degrees out of parallel"),
    "a shaft that is not told": (twisted(BY_HAND, (SHAFT, "")), "nothing tells how the shaft of bed lies"),
    "another word": (twisted(BY_HAND).replace("shafts: crossed", "shafts: bent"), "crossed"),
}


@pytest.mark.parametrize("case", BAD)
def test_what_would_follow_from_a_twisted_belt_is_refused_at_its_place(case: str) -> None:
    text, said = BAD[case]
    told = refused(text)
    assert said in told
    assert "line-shaft.yaml:" in told


def test_two_belts_are_not_taken_where_one_is_twisted() -> None:
    second = (
        "  second:\n    shafts: crossed\n    belt: {section: A, pitch_length: 1250}\n"
        "    driver: {on: bed, pitch_diameter: 80, span: [0, 20]}\n"
        "    driven: {on: motor, pitch_diameter: 200, span: [0, 20]}\ncutting:"
    )
    assert "drive of two belts" in refused(changed(("cutting:", second)))


# --------------------------------------------------------------------------------------- the commands


def ran(monkeypatch: pytest.MonkeyPatch, *words: str) -> int:
    monkeypatch.setattr(sys, "argv", ["platekit", *words])
    with pytest.raises(SystemExit) as ended:
        main()
    return int(ended.value.code or 0)


def test_check_tells_and_drive_refuses(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    spec = tmp_path / "line-shaft.yaml"
    spec.write_text(twisted(BY_HAND), encoding="utf-8")
    assert ran(monkeypatch, "check", str(spec), "--json") == Exit.CLEAR
    findings = json.loads(capsys.readouterr().out)["findings"]
    assert [one["field"] for one in findings if "meant to be twisted" in one["message"]] == ["drive.shafts"]
    assert ran(monkeypatch, "drive", str(spec)) not in (Exit.CLEAR, 3)
    err = capsys.readouterr().err
    assert "drive.shafts" in err
    assert "Traceback" not in err

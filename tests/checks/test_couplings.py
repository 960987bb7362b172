"""Shafts in line that a coupling joins: one line, the right gap, what it carries, and what is not checked."""

from __future__ import annotations

import json
import math
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import platekit
from platekit.checks import Finding
from platekit.cli import Exit, main
from platekit.drawing.from_side import side_views
from platekit.errors import SpecError
from platekit.placed import PlacedCoupling
from platekit.spec import with_value
from tests.checks.coupled import SOUND, changed

AT, TURN = "at: [125, 0]", "turn: 90 deg"
PUMP = "shaft: {at: [-70, 0], height: 90, along: 180 deg, stretch: [0, 45], diameter: 24}"
MOTOR_SCREWS = "    screws: {size: M8, into: nut, flange: 10, washer: true}\n"

CASES: dict[str, tuple[tuple[str, str], ...]] = {
    "in-line": ((AT, "at: [125, 0.7]"),),
    "in-line too low": (("height: 90", "height: 92.5"),),
    "in-line too high": (("height: 90", "height: 88.75"),),
    "in-line askew": ((TURN, "turn: 91 deg"),),
    "in-line all of it": ((AT, "at: [124, -1.2]"), (TURN, "turn: 88.6 deg"), ("height: 90", "height: 91")),
    "in-line the same way": ((AT, "at: [-200, 0]"), (TURN, "turn: -90 deg")),
    "in-line slots": ((MOTOR_SCREWS, f"{MOTOR_SCREWS}    take_up: {{slots: {{along: 90 deg, tension: 12}}}}\n"),),
    "in-line swing": (
        (
            MOTOR_SCREWS,
            f"{MOTOR_SCREWS}    take_up: {{swing: {{about: [175, 70], tightens: clockwise, tension: 3 deg}}}}\n",
        ),
    ),
    "shaft-gap": ((AT, "at: [127.8, 0]"),),
    "shaft-gap overlapping": ((AT, "at: [115, 0]"),),
}
"""What is changed in the sound pair; the first word is the rule."""

NO_EDIT: dict[str, tuple[tuple[str, str], ...]] = {
    "shaft-gap too long": (("length: 86", "length: 96"),),
    # 1.1 kW at 1420 rpm are 7.4 Nm, times 1.5 are 11.1
    "coupling-load": (("torque: 45 Nm", "torque: 11 Nm"),),
    "coupling-load fast": (("max_speed: 5000 rpm", "max_speed: 1400 rpm"),),
    "coupling-load motor": (("max_speed: 3000 rpm}", "max_speed: 3000 rpm}\n    inverter: {from: 20 Hz, to: 120 Hz}"),),
}
"""What only other parts mend."""


def laid(text: str) -> platekit.Layout:
    return platekit.lay_out(platekit.loads(text, "pump.yaml"))


def of(text: str, rule: str) -> list[Finding]:
    return [one for one in platekit.check(laid(text)).findings if one.rule == rule]


def coupling(text: str) -> PlacedCoupling:
    (one,) = laid(text).couplings
    return one


def test_the_sound_pair_is_clear_and_says_what_is_not_checked() -> None:
    verdict = platekit.check(laid(SOUND))
    assert verdict.clear
    for case in (*CASES, *NO_EDIT):
        assert not of(SOUND, case.split()[0])
    (gap,) = [one for one in of(SOUND, "not-checked") if one.features[0] == "coupling.pump coupling"]
    for what in ("keys", "balance", "thrust", "shim", "indicator"):
        assert what in gap.message + gap.advice.text
    (guard,) = of(SOUND, "guard")
    assert guard.level == "warn"


@pytest.mark.parametrize("case", CASES)
def test_each_case_has_its_finding_and_its_advice_ends_it_at_once(case: str) -> None:
    text, rule = changed(*CASES[case]), case.split()[0]
    (finding,) = of(text, rule)
    assert finding.level == "stop"
    assert finding.remedies, finding.message
    for remedy in finding.remedies:
        text = with_value(text, remedy.field, remedy.value)
    assert not of(text, rule)
    assert not of(text, "shaft-gap")


@pytest.mark.parametrize("case", NO_EDIT)
def test_what_only_other_parts_mend_is_stopped_with_both_numbers(case: str) -> None:
    (finding,) = {one.message: one for one in of(changed(*NO_EDIT[case]), case.split()[0])}.values()
    assert finding.level == "stop"
    assert finding.found is not None
    assert finding.needed is not None
    assert finding.advice.text


def test_how_two_shafts_lie_by_hand() -> None:
    one = coupling(SOUND)
    assert one.apart == pytest.approx(4.0)
    assert math.hypot(*one.beside) == pytest.approx(0.0, abs=1e-9)
    # the motor 0.3 mm up and the pump's shaft 0.4 mm higher: 0.5 mm from line to line
    one = coupling(changed((AT, "at: [125, 0.3]"), ("height: 90", "height: 90.4")))
    assert math.hypot(*one.beside) == pytest.approx(0.5)
    assert one.askew == 0.0
    # turned by 2 degrees about the middle of its feet, 156 mm behind its end: at the middle of the gap of 4 mm and
    # a bit the motor's line is (156 + gap / 2) sin 2 degrees off, measured along the plate
    one = coupling(changed((TURN, "turn: 92 deg")))
    assert math.degrees(one.askew) == pytest.approx(2.0, abs=1e-6)
    assert math.hypot(*one.beside) == pytest.approx(158 * math.sin(math.radians(2)), rel=0.01)
    # 1.1 kW over 2 pi 1420 / 60 rad/s
    assert one.torque_nm == pytest.approx(1100 / (2 * math.pi * 1420 / 60))
    assert one.speed_rpm == 1420


@settings(max_examples=15)
@given(turn=st.floats(-180, 180), aside=st.floats(-3, 3), apart=st.floats(-2, 12))
def test_a_turned_machine_says_the_same(turn: float, aside: float, apart: float) -> None:
    # motor and pump turned together about the plate's zero: neither gap nor offset changes
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))

    def at(x: float, y: float) -> str:
        return f"at: [{c * x - s * y:.9f}, {s * x + c * y:.9f}]"

    text = changed(
        (AT, at(121 + apart, aside)),
        (TURN, f"turn: {90 + turn:.9f} deg"),
        ("at: [-150, 0]", f"{at(-150, 0)}\n    turn: {turn:.9f} deg"),
    )
    one = coupling(text)
    assert one.apart == pytest.approx(apart, abs=1e-6)
    assert math.hypot(*one.beside) == pytest.approx(abs(aside), abs=1e-6)
    assert one.askew == pytest.approx(0.0, abs=1e-5)


def test_the_back_end_of_a_shaft_that_goes_through_looks_the_other_way() -> None:
    through = (PUMP, "shaft: {at: [70, 0], height: 90, along: 0 deg, stretch: [-185, 60], diameter: 24}")
    ends = ("to: {on: pump}", "to: {on: pump, end: back}")
    # from x = -150 - 70 towards -x the shaft is told, so that its back end is at -220 + 185 = -35, as before
    one = coupling(changed(through, ends))
    assert one.apart == pytest.approx(4.0)
    assert one.askew == 0.0
    assert "look the same way" in of(changed(through), "in-line")[0].message


FACES = """\
platekit: 1
title: Oil pump behind the plate, motor before it
units: mm
plate: {material: mild steel, thickness: 12, outline: {rectangle: {width: 300, height: 300, corner: 10}}}
mounts:
  bracket:
    side: far
    looking_at: face
    pattern: {rectangle: {width: 260, height: 260}}
    screws: {size: M10, into: nut, flange: 10, washer: true}
    original: true
  motor:
    side: near
    pattern: {standard: IEC 80 B14}
    screws: {size: M6, into: part, depth: 12, thread_in: steel, washer: true}
  pump:
    side: far
    looking_at: face
    pattern: {circle: {count: 4, diameter: 140, start: 45 deg}}
    standoff: 60
    at: [0, 0]
    screws: {size: M8, into: part, depth: 20, thread_in: steel, washer: true}
    shaft: {along: square, stretch: [0, 28], diameter: 16}
couplings:
  joint: {from: {on: motor}, to: {on: pump}, diameter: 50, length: 55, gap: [2, 5]}
cutting: {process: laser}
"""


def test_two_faces_on_one_axis_through_the_plate() -> None:
    # E = 40 mm (IEC 60072-1, frame 80) from the near face; the pump's ends 28 mm before its face, at z = -72 + 28
    one = coupling(FACES)
    assert one.apart == pytest.approx(44 - 40)
    assert math.hypot(*one.beside) == pytest.approx(0.0, abs=1e-9)
    assert not one.lies
    (body,) = [body for body in laid(FACES).bodies if body.name == one.body]
    assert body.z == pytest.approx((-42 - 27.5, -42 + 27.5))
    aside = FACES.replace("    at: [0, 0]\n", "    at: [0.6, -0.8]\n")
    (finding,) = of(aside, "in-line")
    assert "1 mm beside" in finding.message
    assert [one for one in of(aside, "not-checked") if "its offset and angle are not given" in one.message]
    for remedy in finding.remedies:
        aside = with_value(aside, remedy.field, remedy.value)
    assert not of(aside, "in-line")


def test_a_shaft_end_behind_its_face_is_free_as_far_as_it_reaches_back() -> None:
    """A gearbox's shaft that ends 8 mm within its bell housing: its length back to its bearing counts, not the face."""
    behind = FACES.replace(
        "shaft: {along: square, stretch: [0, 28], diameter: 16}",
        "shaft: {along: square, stretch: [-48, -8], diameter: 16}",
    )
    assert behind != FACES
    one = coupling(behind)
    ends = {shaft.said: shaft.free for shaft in one.shafts}
    assert 40.0 in [round(free, 6) for free in ends.values()]


def test_what_turns_is_a_solid_that_everything_else_must_keep_clear_of() -> None:
    low = changed(("diameter: 70", "diameter: 178"))
    assert any("coupling.pump coupling" in one.features for one in of(low, "over-plate"))
    shape = "shape: {circle: {diameter: 40}, at: [-33, 40]}"
    box = f"bodies:\n  box: {{carried_by: plate, side: near, {shape}, span: [0, 120]}}\n"
    text = changed(("cutting:", f"{box}cutting:"))
    (clash,) = of(text, "clash")
    assert set(clash.features) == {"box", "coupling.pump coupling"}


STOCK = changed(
    (
        "    diameter: 70\n    length: 86\n    gap: [2, 6]\n    offset: 0.2\n    angle: 0.5 deg\n    torque: 45 Nm\n"
        "    max_speed: 5000 rpm\n",
        "    stock: pin 116\n",
    )
)
"""The sound pair with a size of the tables in place of the coupling's own figures."""


def test_a_size_of_the_tables_brings_its_figures_and_the_spec_goes_before_them() -> None:
    # the list of such couplings: RB-116-4, 116 mm over all, 94 mm long, 2 to 6 mm between, 143 Nm, 6100 rpm, 0.3 mm
    one = coupling(STOCK)
    assert (one.diameter, one.length, one.gap) == (116, 94, (2, 6))
    assert (one.rated_nm, one.max_rpm, one.offset, one.largest_bore) == (143, 6100, 0.3, 39)
    assert one.angle == pytest.approx(math.radians(1))
    own = coupling(with_value(STOCK, "couplings.pump coupling.torque", "90 Nm"))
    assert (own.rated_nm, own.max_rpm) == (90, 6100)
    from platekit.export.text.coupling import coupling_rows

    said = dict(coupling_rows(laid(STOCK), one))
    assert said["size"].startswith("pin 116: pin and bush couplings")
    from platekit.analysis.parts_list import pieces_of
    from platekit.export.text.parts_list import piece_words

    (bought,) = [piece for piece in pieces_of(laid(STOCK)) if piece.kind == "coupling"]
    assert piece_words(bought, "mm").startswith("coupling pin 116, 116 mm across, 94 mm long")


def test_a_shaft_too_thick_for_the_hubs_is_a_stop() -> None:
    thick = STOCK.replace("diameter: 24}", "diameter: 40}")
    (told,) = [one for one in of(thick, "shaft-gap") if "bored" in one.message]
    assert (told.level, told.found, told.needed) == ("stop", 40, 39)
    assert not [one for one in of(STOCK, "shaft-gap") if "bored" in one.message]


HOOD = "hood of 2 mm sheet on four M6"


def test_a_bare_coupling_is_told_until_the_spec_says_what_covers_it() -> None:
    from platekit.export.bench.commissioning import before_power

    (bare,) = of(SOUND, "guard")
    assert bare.level == "warn"
    assert "bare" in bare.message
    assert "guarded" in bare.advice.text
    assert any("pump coupling is made by local rules" in said for said in before_power(laid(SOUND)))
    covered = with_value(SOUND, "couplings.pump coupling.guarded", HOOD)
    assert not of(covered, "guard")
    (told,) = [one for one in of(covered, "not-checked") if HOOD in one.message]
    assert "reaches 20 mm" in told.advice.text  # ISO 13857 table 4: a slot over 6 to 8 mm wide
    said = list(before_power(laid(covered)))
    assert any(f"({HOOD})" in one for one in said)
    assert not [one for one in said if "is described" in one]


BAD = {
    "no such mount": (changed(("to: {on: pump}", "to: {on: pomp}")), "couplings.pump coupling.to.on", "no mount"),
    "one mount": (changed(("to: {on: pump}", "to: {on: motor}")), "couplings.pump coupling", "same mount"),
    "a shaft that nothing tells": (changed((f"    {PUMP}\n", "")), "couplings.pump coupling.to.on", "nothing tells"),
    "no back end": (
        changed(("from: {on: motor}", "from: {on: motor, end: back}")),
        "couplings.pump coupling.from.end",
        "has no end there",
    ),
    "no such shaft": (
        changed(("to: {on: pump}", "to: {on: pump, shaft: in}")),
        "couplings.pump coupling.to.shaft",
        "no shaft of pump",
    ),
    "a gap that falls": (changed(("gap: [2, 6]", "gap: [6, 2]")), "couplings.pump coupling", "falls"),
    "a gap as long": (changed(("gap: [2, 6]", "gap: [2, 90]")), "couplings.pump coupling", "as long as"),
    "under drive": (
        changed(
            (
                "cutting:",
                "drive:\n  shafts: coupled\n  belt: {section: A, pitch_length: 1250}\n"
                "  driver: {on: motor, pitch_diameter: 80, span: [0, 20]}\n"
                "  driven: {on: pump, pitch_diameter: 80, span: [0, 20]}\ncutting:",
            )
        ),
        "drive.shafts",
        "couplings",
    ),
    "no size": (changed(("    diameter: 70\n", "")), "couplings.pump coupling", "without diameter"),
    "an unknown size": (
        STOCK.replace("pin 116", "pin 117"),
        "couplings.pump coupling.stock",
        "pin 116",
    ),
    "a gap as long as the tables' coupling": (
        STOCK.replace("stock: pin 116", "stock: pin 116\n    gap: [2, 95]"),
        "couplings.pump coupling",
        "as long as",
    ),
    "slots that tighten nothing": (
        changed((MOTOR_SCREWS, f"{MOTOR_SCREWS}    take_up: {{slots: {{along: belt, tension: auto}}}}\n")),
        "mounts.motor.take_up.slots.along",
        "a coupling has nothing to tighten",
    ),
    "a motor that does not add up": (
        changed(("speed: 1420 rpm", "speed: 3200 rpm")),
        "couplings.pump coupling",
        "rpm",
    ),
}


@pytest.mark.parametrize("case", BAD)
def test_bad_words_are_one_line_with_their_place(case: str) -> None:
    text, field, said = BAD[case]
    with pytest.raises(SpecError) as error:
        laid(text)
    told = str(error.value)
    assert field in told
    assert said in told
    assert "pump.yaml:" in told


def test_a_spec_without_couplings_keeps_its_revision_mark() -> None:
    plain = SOUND[: SOUND.index("couplings:")] + "cutting: {process: laser}\n"
    # what a printed sheet carries, noted before the language had the word
    assert (
        platekit.loads(plain, "pump.yaml").revision == platekit.loads(plain + "couplings: {}\n", "pump.yaml").revision
    )


def test_the_view_from_the_side_is_along_and_square_to_the_coupled_shafts() -> None:
    along, square = side_views(laid(SOUND))
    assert "along the shafts of coupling.pump coupling" in along.title
    assert any("4 mm between the shaft ends" in words for *_, words in square.along)
    assert any(part.name == "coupling.pump coupling" and part.kind == "turning" for part in square.parts)


def test_the_drive_tells_a_coupling_and_the_sheet_has_it(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    spec = tmp_path / "pump.yaml"
    spec.write_text(SOUND, encoding="utf-8")
    for words in (["drive", str(spec)], ["drive", str(spec), "--json"]):
        monkeypatch.setattr(sys, "argv", ["platekit", *words])
        with pytest.raises(SystemExit) as ended:
            main()
        assert ended.value.code == Exit.CLEAR
        told = capsys.readouterr().out
    (figures,) = json.loads(told)["couplings"]
    assert figures["ratio"] == 1
    assert figures["gap_mm"] == pytest.approx(4)
    from platekit.export.bench.words import drive_rows

    ((title, rows),) = drive_rows(laid(SOUND))
    assert title == "Coupling: pump coupling"
    assert any("1420 rpm on both sides" in said for _, said in rows)


@pytest.mark.parametrize(("said", "bare"), [("none", True), ("Later", True), ("hood of 2 mm sheet on four M6", False)])
def test_no_cover_is_no_cover_in_words(said: str, bare: bool) -> None:
    text = changed(("    service_factor: 1.5\n", f"    service_factor: 1.5\n    guarded: {said}\n"))
    found = platekit.check(platekit.lay_out(platekit.loads(text, "plate.yaml"))).findings
    assert [one.level for one in found if one.rule == "guard"] == ["warn"] * bare


BEET = """\
platekit: 1
title: Beet washer, new pump on its gearbox
units: mm
plate: {material: mild steel, thickness: 20}
mounts:
  machine:
    side: far
    looking_at: face
    pattern: {circle: {count: 6, diameter: 150, start: 30 deg, hole: 13}}
    at: [0, 0]
    screws: {size: M10, into: part, depth: 22, washer: true}
    shaft: {along: square, stretch: [0, 52], diameter: 28}
    standoff: 91
  part:
    side: near
    pattern: {standard: SAE B 2-bolt}
    at: [0, 0]
    pilot: {diameter: 101.6, depth: 9.652, opening: through}
    screws: {size: M12, into: plate, flange: 12, washer: true}
    shaft: {along: square, stretch: [0, 41], diameter: 22}
couplings: {shaft coupling: {from: {on: machine}, to: {on: part}, diameter: 65, length: 66, gap: [2, 14]}}
cutting: {process: plasma, drilling: 0.1 mm}
"""


def test_spacers_that_are_there_become_as_high_as_the_shaft_ends_want() -> None:
    # 91 + 20 - 52 - 41 = 18 mm between the ends of the shafts, 4 more than the coupling takes
    (told,) = of(BEET, "shaft-gap")
    assert told.found == pytest.approx(18)
    (edit,) = told.advice.remedies
    assert (edit.field, edit.value) == ("mounts.machine.standoff", 87)
    assert not of(BEET.replace("standoff: 91", "standoff: 87"), "shaft-gap")
    # too near by 5: the same spacers, higher
    (near,) = of(BEET.replace("standoff: 91", "standoff: 70"), "shaft-gap")
    (edit,) = near.advice.remedies
    assert edit.value == 75


def test_a_thread_too_short_in_the_plate_asks_for_a_thicker_one() -> None:
    # 10 mm of steel for M12, which wants 12 mm of thread
    (told,) = [one for one in of(BEET.replace("thickness: 20", "thickness: 10"), "grip") if "thread is" in one.message]
    assert told.advice.remedies[0].value == 12
    assert not [one for one in of(BEET.replace("thickness: 20", "thickness: 12"), "grip") if "thread is" in one.message]

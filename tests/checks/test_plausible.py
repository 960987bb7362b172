"""Figures in the wrong unit, figures that nothing in a shop is like; and none of it said of sound plates."""

from __future__ import annotations

import random

import pytest

import platekit
from platekit.checks import Finding
from platekit.errors import SpecError
from platekit.spec import with_value
from tests.checks import drives, plates

INCHES = """\
platekit: 1
title: Corn sheller, face motor on the old gear bracket
units: in
plate:
  material: A36
  thickness: 0.375
  outline: {rectangle: {width: 21, height: 11.5, corner: 0.5}, at: [5.6, 0]}
  cutouts:
    cable: {circle: {diameter: 1}, at: [5, 4]}
mounts:
  bracket:
    side: far
    looking_at: face
    pattern: {points: [[-3.1, -2.2], [3.0, -2.4], [2.8, 2.5], [-2.7, 2.3]], hole: 0.5}
    bolts: {size: 7/16-14, into: part, depth: 1, thread_in: cast iron, washer: true}
    original: true
  motor:
    side: near
    pattern: {standard: NEMA 56C}
    at: [11.2, 0]
    pilot: {diameter: 4.5, depth: 0.16}
    bolts: {into: part, washer: true}
bodies:
  motor body: {carried_by: motor, shape: {circle: {diameter: 6.6}}, span: [0, 11]}
cutting: {process: waterjet, kerf: 0.04, sheet: [48, 24]}
"""
METRIC = """\
platekit: 1
title: Felting mill, new motor beside the old bearing housing
units: mm
plate:
  material: S275
  thickness: 10
  outline: {wrap: {margin: auto}}
mounts:
  housing:
    side: far
    looking_at: face
    pattern: {points: [[-74, -52], [79, -49], [71, 58], [-70, 61]]}
    bolts: {size: M10, into: part, depth: 24, washer: true}
    original: true
  motor:
    side: far
    pattern: {standard: IEC 90 B14}
    at: {belt: {from: housing, angle: 20 deg}}
    turn: 20 deg
    pilot: {diameter: 95, depth: 3, opening: none}
    standoff: 4
    bolts: {into: part, depth: 22, thread_in: aluminium, washer: true}
    take_up: {slots: {along: belt, install: auto, tension: auto}}
bodies:
  cap: {carried_by: housing, shape: {circle: {diameter: 88}}, span: [0, 90]}
  roller shaft: {carried_by: housing, shape: {circle: {diameter: 32}}, span: [-64, 0], relief: auto}
  motor body: {carried_by: motor, shape: {circle: {diameter: 178}}, span: [10, 270]}
drive:
  motor: {power: 1.1 kW, speed: 1420 rpm, frequency: 50 Hz, max_speed: 3000 rpm}
  inverter: {from: 20 Hz, to: 70 Hz}
  belt: {section: SPZ, choose: true, near: 290, count: 2}
  driver: {on: motor, pitch_diameter: 90, span: [-58, -30]}
  driven: {on: housing, pitch_diameter: 200, span: [-54, -26]}
guard: {gap: 25, back: none}
cutting: {process: laser, kerf: 0.35, sheet: [800, 500]}
"""
RULES = ("mixed-units", "unusual")


def changed(text: str, *swaps: tuple[str, str]) -> str:
    for old, new in swaps:
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times"
        text = text.replace(old, new)
    return text


def judged(text: str) -> tuple[Finding, ...]:
    return platekit.check(platekit.lay_out(platekit.loads(text, "plate.yaml"))).findings


def found(text: str) -> list[Finding]:
    return [finding for finding in judged(text) if finding.rule in RULES]


@pytest.mark.parametrize("text", [INCHES, METRIC, plates.SOUND, drives.SOUND, drives.TOOTHED])
def test_sound_figures_are_usual(text: str) -> None:
    assert not found(text)


def test_a_whole_spec_in_the_wrong_unit_is_told_once_and_first() -> None:
    findings = judged(changed(INCHES, ("units: in", "units: mm")))
    slips = [finding for finding in findings if finding.rule == "mixed-units"]
    assert len(slips) == 1
    assert findings[0] == slips[0]
    assert slips[0].level == "stop"
    assert "look like inches" in slips[0].message
    assert [(remedy.field, remedy.value) for remedy in slips[0].remedies] == [("units", "in")]


ONE_SLIP = {
    "body": (METRIC, "diameter: 178", "diameter: 7.0"),
    "body length": (METRIC, "[10, 270]", "[0.4, 10.6]"),
    "thickness": (METRIC, "thickness: 10", "thickness: 0.5"),
    "thread depth": (METRIC, "depth: 24", "depth: 1"),
    "pilot": (METRIC, "diameter: 95", "diameter: 3.74"),
    "pilot height": (METRIC, "95, depth: 3", "95, depth: 0.12"),
    "pulley": (METRIC, "pitch_diameter: 200", "pitch_diameter: 7.87"),
    "rims": (METRIC, "[-54, -26]", "[-2.1, -1.0]"),
    "holes": (METRIC, "[[-74, -52], [79, -49], [71, 58], [-70, 61]]", "[[-2.9, -2], [3.1, -2], [3, 2], [-3, 2.4]]"),
    "guard": (METRIC, "guard: {gap: 25,", "guard: {gap: 25, thickness: 0.08,"),
    "guard's openings": (METRIC, "back: none}", "back: none, openings: {shape: slot, width: 0.32, length: 60}}"),
    "guard's holes": (METRIC, "back: none}", "back: none, fixings: {hole: 0.26, ear: 22}}"),
    "guard's ears": (METRIC, "back: none}", "back: none, fixings: {ear: 0.87}}"),
    "sheet": (METRIC, "[800, 500]", "[31.5, 20]"),
    "thickness in mm": (INCHES, "thickness: 0.375", "thickness: 10"),
    "depth in mm": (INCHES, "depth: 1,", "depth: 25,"),
    "body in mm": (INCHES, "diameter: 6.6", "diameter: 168"),
    "span in mm": (INCHES, "span: [0, 11]", "span: [0, 280]"),
    "pilot in mm": (INCHES, "diameter: 4.5", "diameter: 114.3"),
    "hole in mm": (INCHES, "hole: 0.5", "hole: 12"),
}  # fmt: skip


@pytest.mark.parametrize("case", ONE_SLIP)
def test_one_figure_in_the_other_unit_stops_the_plate_and_the_advice_ends_that(case: str) -> None:
    text, old, new = ONE_SLIP[case]
    other = "inches" if text is METRIC else "millimetres"
    text = changed(text, (old, new))
    slips = found(text)
    assert [(finding.rule, finding.level) for finding in slips] == [("mixed-units", "stop")]
    assert f"looks like {other}" in slips[0].message
    for remedy in slips[0].remedies:
        text = with_value(text, remedy.field, remedy.value)
    assert not found(text)


def test_a_band_in_the_other_unit_is_told_before_it_is_too_narrow() -> None:
    with pytest.raises(SpecError, match=r"guard\.band: found what looks like inches"):
        judged(changed(METRIC, ("back: none}", "back: none, band: 2.4}")))


@pytest.mark.parametrize(
    ("turn", "degrees"),
    [("0.785", 45), ("0.7854", 45), ("1.571", 90), ("-0.524", -30), ("2.36", 135), ("3.1416", 180), ("1.047", 60)],
)
def test_an_angle_in_radians_is_told_with_its_degrees(turn: str, degrees: float) -> None:
    text = changed(METRIC, ("turn: 20 deg", f"turn: {turn}"))
    slips = [finding for finding in found(text) if finding.unit == "deg"]
    assert [finding.level for finding in slips] == ["stop"]
    assert f"{degrees} deg" in slips[0].message
    for remedy in slips[0].remedies:
        text = with_value(text, remedy.field, remedy.value)
    assert not found(text)


@pytest.mark.parametrize("turn", ["0.785 deg", "0.5 deg", "1.2", "-1.2 deg", "82.5", "0.6", "0", "12.57", "0.44"])
def test_a_small_angle_is_not_taken_for_radians(turn: str) -> None:
    assert not found(changed(METRIC, ("turn: 20 deg", f"turn: {turn}")))


ABSURD = {
    "a hole of a nanometre": (METRIC, "[-70, 61]]", "[-70, 61]], hole: 1e-6"),
    "foil": (METRIC, "thickness: 10", "thickness: 0.000001"),
    "a block": (METRIC, "thickness: 10", "thickness: 300"),
    "a hundred metres wide": (INCHES, "width: 21,", "width: 100 m,"),
    "a screw of a hundred metres": (METRIC, "depth: 24", "length: 100 m, depth: 24"),
    "a kerf of 100 mm": (METRIC, "kerf: 0.35", "kerf: 100"),
    "threads of half a metre": (METRIC, "depth: 24", "depth: 500 mm"),
    "a cutout of a hair": (INCHES, "{diameter: 1}", "{diameter: 0.1 mm}"),
    "odds of nothing": (METRIC, "cutting:", "limits: {fit_stop: 0.000001}\ncutting:"),
    "spacers of two metres": (METRIC, "standoff: 4", "standoff: 2000"),
    "held by one screw": (METRIC, "[[-74, -52], [79, -49], [71, 58], [-70, 61]]", "[[-74, -52]]"),
}


@pytest.mark.parametrize("case", ABSURD)
def test_what_nothing_is_like_stops_the_plate(case: str) -> None:
    text, old, new = ABSURD[case]
    try:
        findings = found(changed(text, (old, new)))
    except SpecError as refused:  # what follows from it cannot even be laid out, and that is said at its line
        said = str(refused)
    else:
        said = ""
    if said:
        assert "begins past the pulleys" in said
        return
    assert "stop" in {finding.level for finding in findings}
    for finding in findings:
        assert finding.found is not None
        assert finding.needed is not None
        assert finding.advice


@pytest.mark.parametrize("key", ["smallest_hole", "web", "edge", "inside_radius"])
def test_a_limit_that_limits_nothing_stops_the_plate(key: str) -> None:
    stops = [f for f in found(changed(METRIC, ("cutting:", f"limits: {{{key}: 1e-6}}\ncutting:"))) if f.level == "stop"]
    assert [finding.features for finding in stops] == [(f"limits.{key}",)]


def test_a_post_on_one_stud_is_no_plate_on_one_screw() -> None:
    post = (
        "  post:\n    side: near\n    pattern: {points: [[0, 0]]}\n    at: [-120, 0]\n"
        "    bolts: {size: M12, into: plate, flange: 8}\n"
    )
    assert not found(changed(METRIC, ("bodies:\n", f"{post}bodies:\n")))


FRAMES = {
    "63": ((0.12, 1330), (0.18, 1340), 12, 6, (60, 2.5), (122, 190)),
    "71": ((0.25, 1370), (0.37, 1380), 14, 8, (70, 2.5), (138, 220)),
    "80": ((0.55, 1390), (0.75, 1400), 14, 8, (80, 3), (158, 240)),
    "90": ((1.1, 1415), (1.5, 1420), 18, 10, (95, 3), (176, 285)),
    "100": ((2.2, 1430), (3.0, 1430), 18, 10, (110, 3.5), (196, 315)),
    "112": ((4.0, 1440), (3.0, 1435), 18, 12, (110, 3.5), (220, 340)),
}
"""Motors of four poles at 50 Hz as they are sold (common practice): two powers in kW with their speeds in rpm, depth of
thread, plate, pilot of the small face (IEC 60072-1: FT75 to FT130), frame over all; mm."""
OLD_HOLES = (
    "{circle: {count: 4, diameter: 140 mm, start: 45 deg}}",
    "{rectangle: {width: 132 mm, height: 88 mm}}",
    "{points: [[-66 mm, -41 mm], [63 mm, -44 mm], [60 mm, 47 mm], [-62 mm, 43 mm]]}",
)


def sound_variant(seed: int, *, driven: bool) -> str:
    """A plate as shops make them: a face motor beside an old block, its figures usual for its frame."""
    chance = random.Random(seed)
    *powers, depth, plate, (pilot, height), (body, length) = FRAMES[chance.choice(sorted(FRAMES))]
    frame = next(name for name, row in FRAMES.items() if row[-1] == (body, length))
    power, speed = chance.choice(powers)
    read = chance.choice((0, -0.04, 0.03))
    lines = (
        "platekit: 1",
        f"title: Sound variant {seed}",
        f"units: {chance.choice(('mm', 'in'))}",
        f"plate: {{material: {chance.choice(('S235', 'S355', 'mild steel'))}, thickness: {plate} mm,",
        "  outline: {rectangle: {width: 900 mm, height: 460 mm, corner: 12 mm}, at: [250 mm, 0]}}",
        "mounts:",
        "  block:",
        "    side: far",
        "    looking_at: face",
        f"    pattern: {chance.choice(OLD_HOLES)}",
        "    bolts: {size: M10, into: part, depth: 24 mm, washer: true}",
        "    original: true",
        "  motor:",
        "    side: near",
        f"    pattern: {{standard: IEC {frame} B14}}",
        "    at: [450 mm, 0]",
        f"    turn: {chance.choice(('0', '30 deg', '45 deg', '12.5', '7.5 deg'))}",
        f"    pilot: {{diameter: {pilot + read} mm, depth: {height} mm, opening: none}}",
        "    standoff: 4 mm",
        f"    bolts: {{into: part, depth: {depth} mm, thread_in: cast iron, washer: true, fit: loose}}",
        "bodies:",
        f"  motor body: {{carried_by: motor, shape: {{circle: {{diameter: {body * chance.uniform(0.85, 1):.0f} mm}}}},",
        f"    span: [10 mm, {length} mm]}}",
        f"cutting: {{process: {chance.choice(('waterjet', 'laser'))}, drilling: 0.45 mm, sheet: [1500 mm, 1000 mm]}}",
    )
    drive = (
        "drive:",
        f"  motor: {{power: {power} kW, speed: {speed} rpm, frequency: 50 Hz, max_speed: 3000 rpm}}",
        "  belt: {section: SPZ, choose: true, near: 450 mm}",
        f"  driver: {{on: motor, pitch_diameter: {chance.choice((71, 80, 90))} mm, span: [-40 mm, -22 mm]}}",
        f"  driven: {{on: block, pitch_diameter: {chance.choice((140, 160, 200))} mm, span: [-40 mm, -22 mm]}}",
    )
    return "\n".join((*lines, *(drive if driven else ())))


@pytest.mark.parametrize("seed", range(30))
def test_what_shops_make_is_neither_unusual_nor_another_part(seed: int) -> None:
    assert [f.message for f in judged(sound_variant(seed, driven=False)) if f.level == "stop"] == []
    about = {"standard", "mixed-units", "unusual", "motor-speed", "motor-power", "thin-plate", "rim-width"}
    assert [f.message for f in judged(sound_variant(seed, driven=True)) if f.rule in about] == []


def test_where_no_plate_can_be_laid_out_the_figures_in_the_other_unit_are_told_first() -> None:
    text = changed(METRIC, ("near: 290", "near: 11.4"), ("pitch_diameter: 200", "pitch_diameter: 7.87"))
    with pytest.raises(platekit.SpecError) as refused:
        platekit.lay_out(platekit.loads(text, "plate.yaml"))
    fields = [problem.field for problem in refused.value.problems]
    assert fields[:2] == ["drive.belt.near", "drive.driven.pitch_diameter"]
    assert "looks like inches" in str(refused.value.problems[0])
    assert all(problem.line for problem in refused.value.problems)


@pytest.mark.parametrize(
    ("figures", "level"),
    [
        ("density: 7850 kg/m3, modulus: 210000 MPa, yield_strength: 235 MPa, family: steel", None),
        ("density: 7850 kg/m3, modulus: 210000 MPa, yield_strength: 960 MPa, family: steel", None),
        ("density: 1900 kg/m3, modulus: 20000 MPa, yield_strength: 200 MPa", None),
        ("density: 7.85 kg/m3, modulus: 210000 MPa, yield_strength: 235 MPa, family: steel", "stop"),
        ("density: 7.85 kg/m3, modulus: 210000 MPa, yield_strength: 235 MPa", "stop"),
        ("density: 7850 kg/m3, modulus: 210 MPa, yield_strength: 235 MPa, family: steel", "stop"),
        ("density: 7850 kg/m3, modulus: 210000 MPa, yield_strength: 235000 MPa, family: steel", "stop"),
        ("density: 2700 kg/m3, modulus: 210000 MPa, yield_strength: 235 MPa, family: steel", "warn"),
    ],
)
def test_a_material_has_the_figures_of_its_family(figures: str, level: str | None) -> None:
    text = plates.changed(("material: mild steel", f"material: {{{figures}}}"))
    found = platekit.check(platekit.lay_out(platekit.loads(text, "plate.yaml"))).findings
    assert [one.level for one in found if one.rule == "unusual"] == ([] if level is None else [level])


@pytest.mark.parametrize(("gap", "odd"), [("0", True), ("0.4", True), ("0.5", False)])
def test_no_gap_at_all_is_no_clearance_for_what_runs(gap: str, odd: bool) -> None:
    text = f"{drives.SOUND}limits: {{gap: {gap}}}\n"
    found = platekit.check(platekit.lay_out(platekit.loads(text, "plate.yaml"))).findings
    assert [one.level for one in found if one.features == ("limits.gap",)] == ["warn"] * odd

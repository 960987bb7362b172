"""Every figure of every output is in the unit of the spec, and no other.

The spec is one and the same, every length with a unit of its own; only the line `units` differs.
"""

from __future__ import annotations

import re
from pathlib import Path

import pypdfium2 as pdfium
import pytest

from tests.terminal import Terminal

SPEC = """\
platekit: 1
title: Bran duster, motor beside the old one
units: UNIT
plate:
  material: mild steel
  thickness: 3/8 in
  mounting: upright
  outline: {wrap: {margin: auto}}
  cutouts:
    cable: {circle: {diameter: 7/8 in}, at: [2.4 in, -3.75 in]}
mounts:
  machine:
    side: far
    looking_at: face
    original: true
    pattern:
      measured:
        holes: {A: 0.394 in, B: 0.394 in, C: 0.394 in, D: 0.394 in}
        readings:
          - [A, B, centres, 3.62 in]
          - [B, C, centres, 3.618 in]
          - [C, D, centres, 3.619 in]
          - [A, D, centres, 3.621 in]
          - [A, C, centres, 5.12 in]
          - [B, D, centres, 5.118 in]
        sigma: 0.003 in
        clockwise: [A, D, C]
        origin: A
        x_axis: [A, B]
    at: [-1.81 in, -1.81 in]
    screws: {size: 5/16-18, into: part, depth: 3/4 in, head: hex, washer: true, fit: loose}
  motor:
    side: near
    pattern: {standard: NEMA 56C}
    mass: {total: 31 lb, centre: [0 in, 0 in, 5 in]}
    at: {belt: {from: machine, angle: 75 deg}}
    turn: 75 deg
    pilot: {diameter: 4.5 in, depth: 0.16 in, opening: none}
    standoff: 5/16 in
    screws: {into: part, washer: true}
    take_up: {slots: {along: belt, install: auto, tension: auto}}
bodies:
  motor body:
    carried_by: motor
    shape: {circle: {diameter: 6.5 in}}
    span: [0 in, 10.6 in]
drive:
  motor: {power: 1 HP, speed: 1740 rpm, frequency: 60 Hz, max_speed: 3600 rpm}
  inverter: {from: 15 Hz, to: 90 Hz}
  belt: {section: SPZ, pitch_length: 1000 mm}
  driver: {on: motor, pitch_diameter: 2.8 in, span: [-2.05 in, -1.26 in]}
  driven: {on: machine, at: [1.81 in, 10 in], pitch_diameter: 9.84 in, span: [0.55 in, 1.34 in]}
  wanted: {at: driven, from: 120 rpm, to: 700 rpm, torque: 4 lbf ft}
cutting: {process: plasma, kerf: 0.06 in, sheet: [40 in, 20 in]}
paper: {size: a3}
"""
COMMANDS = (
    ("check", "--explain"),
    ("make", "--no-solid"),
    ("template",),
    ("survey",),
    ("survey", "--plan"),
    ("drive",),
    ("drive", "--choose", "--section", "A", "--count", "4"),
    ("strength",),
)
PLACE = "{find: {box: [[2 in, 8 in], [6 in, 12 in]]}}"
NUMBER = r"(?<![\w.])[-+]?\d+(?:\.\d+)?"
METRIC = re.compile(rf"{NUMBER} ?(?:mm2?|cm2?|N|Nm|kN|kW|m/s|N/mm2|N/mm²|MPa|kg(?:/m3|/m³)?)(?![\w/])")
INCHES = re.compile(rf"{NUMBER} ?(?:in2?|lbf(?: ft| in)?|hp|ft/min|ksi|psi|lb)(?![\w/])")
ALLOWED = re.compile(
    rf"{NUMBER} kg \({NUMBER} lb\)"  # a mass in both
    r"|nearest round sizes: [^;]*(?:; [^;]*\))*"  # round in either system: that is what they are for
    r"|\b\d+(?:/\d+)?-\d+ ?[x×] ?[\d/-]+ in"  # a screw of the inch series, by its name
    r"|stock lengths next to it: [^;\n]*? in\b(?:, longer [\d/-]+ in\b)?"  # of such a screw, as it is sold
    r"|\d+ in \d+"  # nineteen in twenty
    r"|\(plasma \(Boehler.*?published\)"  # a source, in its own words
)


def told(path: Path) -> str:
    if path.suffix == ".pdf":
        return "\n".join(page.get_textpage().get_text_range() for page in pdfium.PdfDocument(path.read_bytes()))
    text = path.read_text(encoding="utf-8")
    if path.suffix == ".html":
        # sources say things in their own units; what is in use here stands in the column before
        text = re.sub(r"(?s)<(style|script).*?</\1>", " ", text)
        text = re.sub(r"</td><td>[^<]*</td><td>(?=<span class=.kind|</td>)", " ", text)
    return re.sub(r"<[^>]*>", "\n", text)


def lines_of(text: str) -> list[str]:
    """The text without what may be in other units, in its lines; folded lines are one."""
    return ALLOWED.sub("", re.sub(r"\n {2,}(?=\S)", " ", text)).splitlines()


@pytest.mark.parametrize(("unit", "foreign"), [("in", METRIC), ("mm", INCHES)])
def test_every_output_is_in_the_unit_of_the_spec(terminal: Terminal, unit: str, foreign: re.Pattern[str]) -> None:
    spec = Path("duster.yaml")
    spec.write_text(SPEC.replace("UNIT", unit))
    said = {}
    for command, *more in COMMANDS:
        ran = terminal(command, spec, *more)
        assert ran.code in (0, 1), (command, more, ran.err)
        said[" ".join((command, *more))] = ran.out
    files = [path for path in Path("output/duster").iterdir() if path.suffix in (".svg", ".pdf", ".html")]
    said |= {path.name: told(path) for path in files}
    wrong = {
        name: found
        for name, text in said.items()
        if (found := sorted({line.strip() for line in lines_of(text) if foreign.search(line)}))
    }
    assert len(files) >= 6
    assert not wrong, "\n".join(f"{name}: {line}" for name, lines in wrong.items() for line in lines)


@pytest.mark.parametrize(("unit", "foreign"), [("in", " mm"), ("mm", " in")])
def test_a_place_is_written_in_the_unit_of_the_spec(terminal: Terminal, unit: str, foreign: str) -> None:
    spec = Path("duster.yaml")
    text = (
        SPEC.replace("UNIT", unit).replace("{belt: {from: machine, angle: 75 deg}}", PLACE).replace("plasma", "laser")
    )
    text = re.sub(r"(?ms)^drive:.*(?=^cutting)|^    (?:mass|take_up): [^\n]*\n", "", text)
    spec.write_text(text)
    ran = terminal("place", spec, "--count", "1", "--write", "1")
    assert ran.code == 0, ran.err
    assert not re.search(rf"\d{foreign}\b", ran.out)
    line = next(one for one in spec.read_text().splitlines() if one not in text.splitlines() and "at:" in one)
    assert foreign not in line


@pytest.mark.parametrize(("unit", "foreign"), [("in", METRIC), ("mm", INCHES)])
def test_a_new_spec_offers_what_such_a_shop_has(terminal: Terminal, unit: str, foreign: re.Pattern[str]) -> None:
    assert terminal("new", "begun.yaml", "--units", unit, "--motor", "NEMA 56C").code == 0
    text = Path("begun.yaml").read_text()
    assert not [line for line in text.splitlines() if foreign.search(line)]
    assert ("HP" in text, "60 Hz" in text) == (unit == "in", unit == "in")

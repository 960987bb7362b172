"""Plates that have a finding, for the page on rules: those that the tests judge, and a few more.

A plate is told as what is changed in one that is sound (`plates.SOUND`, `drives.SOUND`, `drives.TOOTHED`).
"""

from __future__ import annotations

from collections.abc import Iterator
from difflib import SequenceMatcher
from textwrap import dedent

from msgspec import Struct

from tests.checks import carried, coupled, lying, rollers, test_couplings, test_drive, test_rules
from tests.checks import drives as driven
from tests.checks import plates as plain

MACHINE_BOLTS = "bolts: {size: M8, into: part, depth: 16, washer: true}"
MACHINE_PATTERN = "pattern: {circle: {count: 4, diameter: 120, start: 45 deg}}"
MOTOR_BOLTS = "bolts: {size: M6, into: part, depth: 12, thread_in: steel, washer: true}"
DRIVE_PATTERN = "pattern: {rectangle: {width: 120, height: 120}}"
IEC_FACE = "pattern: {standard: IEC 80 B14}"
MOTOR_AT = "at: [170, 0]"
WINDOW = "window: {circle: {diameter: 30}, at: [90, -70]}"
TONGUE = [[-9, -9], [9, -9], [9, 0], [0, 0], [0, 4], [9, 4], [9, 9], [-9, 9]]
"""A window that leaves a tongue of steel 4 mm wide: more than beside drilled holes, less than beside cut ones."""
CUTTING = "cutting: {process: laser, kerf: 0.3}"
BOX = (
    "  box: {carried_by: plate, side: far, shape: {rectangle: {width: 110, height: 80}, at: [170, 0]}, span: [9, 60]}\n"
)
FRAME = "  frame: {carried_by: machine, shape: {rectangle: {width: 400, height: 100}, at: [60, 0]}, span: [9, 90]}\n"
QUENCHED = "{family: steel, density: 7850 kg/m3, modulus: 210 GPa, yield_strength: 1000 MPa}"
WHEEL = "  wheel: {carried_by: machine, shape: {circle: {diameter: 100}}, span: [-40, -20]}\n"
FLANGE = (
    "  flange: {carried_by: housing, shape: {rectangle: {width: WIDTH, height: 150, corner: 4}}, span: [0, DEEP]}\n"
)
BAR = "  tie bar: {carried_by: housing, shape: {circle: {diameter: 30}, at: [150, 55]}, span: [END, 0], relief: auto}\n"
WALL = "  wall: {carried_by: housing, shape: {rectangle: {width: 700, height: 500}, at: [200, 0]}, span: [282, 400]}\n"
NIPPLE = "  grease nipple: {carried_by: housing, shape: {circle: {diameter: 10}, at: [30, 60]}, span: [0, 12]}\n"
PLATFORM = (
    "  platform: {carried_by: motor, shape: {rectangle: {width: 400, height: 120}, at: [100, 0]}, span: [9, 80]}\n"
)

PIN = (
    "  stop pin: {carried_by: plate, side: far, shape: {circle: {diameter: 10}, at: [80, 180]}, span: [0, 60],"
    " touches: [drive.belt 1, drive.belt 2]}\n"
)
DRIVER_ROW = "  driver:"
DRIVER = "  idlers:\n    - {on: plate, IDLER, span: [-50, -30]}\n  driver:"

RIB = "spine: {side: far, from: [110, 80], to: [240, 80], height: 20, width: 6}"
SLENDER = "spine: {side: far, from: [110, 80], to: [240, 80], height: 60, width: 2}"
BELOW = "spine: {side: far, from: [-30, 20], to: [30, 20], height: 20, width: 6}"
MEASURED = """pattern:
      measured:
        holes: {A: HOLE, B: HOLE, C: HOLE, D: HOLE}
        readings:
          - [A, B, centres, 84.85]
          - [B, C, centres, 84.86]
          - [C, D, centres, 84.85]
          - [D, A, centres, 84.84]
          - [A, C, centres, 120.0]
          - [B, D, centres, 120.01]
        clockwise: [A, B, C]"""
"""The machine's four holes, measured."""

DRAWINGS = {"eye.svg": b'<svg viewBox="-20 -20 40 40"><circle r="15"/></svg>'}
"""What is in the files that examples name."""

CHANGED_PLATES: dict[str, tuple[tuple[str, str], ...]] = {
    "mirror": (),
    "drawing": ((test_rules.WINDOW, "window: {drawn: {file: eye.svg, units: mm}, at: [90, -70]}"),),
    "clocking": (),
    "small-hole slot": (
        (MOTOR_BOLTS, f"{MOTOR_BOLTS}\n    take_up: {{slots: {{along: 0 deg, install: 4, tension: 4}}}}"),
        ("process: laser", "process: plasma"),
    ),
    "grip unknown": ((MACHINE_BOLTS, "bolts: {size: M8, into: part, washer: true}"),),
    "fit-odds near": (("start: 45 deg", "start: 45 deg, hole: 8.3"),),
    "no-table": ((CUTTING, "cutting: {process: drill}"),),
    "tab note": ((WINDOW, f"{WINDOW}\n  tabs: {{lifting eye: {{at: [60, 170], width: 60, hole: 20}}}}"),),
    "neck near": ((WINDOW, f"window: {{polygon: {{points: {TONGUE}}}, at: [90, -70]}}"),),
    "dowel": ((MACHINE_BOLTS, f"{MACHINE_BOLTS}\n    dowels: {{size: 6, depth: 12, at: [[0, 60]]}}"),),
    "dowel stop": (
        (
            MACHINE_BOLTS,
            f"{MACHINE_BOLTS}\n    dowels: {{size: 6, depth: 12, together: true, at: [[0, 60], [0, -60]]}}",
        ),
    ),
    "dowel note": ((MACHINE_BOLTS, f"{MACHINE_BOLTS}\n    dowels: {{size: 6, at: [[0, 60], [0, -60]]}}"),),
    "water-table": (("mild steel", "6082-T6"), ("process: laser, kerf: 0.3", "process: plasma")),
    "rib slender": ((test_rules.WINDOW, f"{test_rules.WINDOW}\n  ribs: {{{SLENDER}}}"),),
    "weld": ((test_rules.WINDOW, f"{test_rules.WINDOW}\n  ribs: {{{RIB}}}"), ("mild steel", "galvanised steel")),
    "weld stop": ((test_rules.WINDOW, f"{test_rules.WINDOW}\n  ribs: {{{RIB}}}"), ("mild steel", "polycarbonate")),
    "rib under": (
        (test_rules.WINDOW, f"{test_rules.WINDOW}\n  ribs: {{{BELOW}}}"),
        ("    pilot: {diameter: 80, depth: 3}\n", ""),
    ),
    "taper swirl": (("process: laser, kerf: 0.3", "process: plasma, direction: counter-clockwise"),),
    "soft-plate": (("mild steel", "MDF"), ("process: laser, kerf: 0.3", "process: router")),
    "heavy": (("thickness: 6", "thickness: 40"),),
    "tapped": ((MACHINE_PATTERN, MEASURED.replace("HOLE", "8.9")),),
    "tapped stop": ((MACHINE_PATTERN, MEASURED.replace("HOLE", "5")),),
    "strip": (("kerf: 0.3", "kerf: 0.3, sheet: [1400, 300], copies: 2, margin: 1"),),
    "mass": ((MACHINE_PATTERN, f"{IEC_FACE}\n    mass: {{total: 2 kg, centre: [0, 0, 90]}}"),),
    "process thick": (("thickness: 6", "thickness: 25"),),
    "remnant without sheet": ((CUTTING, "cutting: {process: laser, kerf: 0.3, copies: 5}"),),
    "washer stop": (
        (MACHINE_BOLTS, "bolts: {size: M8, into: part, depth: 16}"),
        ("start: 45 deg", "start: 45 deg, hole: 20"),
    ),
    "reach": (("bodies:\n", f"bodies:\n{BOX}"),),
    "order none": (("bodies:\n", f"bodies:\n{FRAME}{PLATFORM}"),),
    "order covered": (("bodies:\n", f"bodies:\n{FRAME}"),),
    "order past": (("bodies:\n", f"bodies:\n{WHEEL}"),),
    "new-holes": ((MACHINE_BOLTS, f"{MACHINE_BOLTS}\n    new_holes: [3]"),),
    "new-holes stop": ((MACHINE_BOLTS, f"{MACHINE_BOLTS}\n    new_holes: [9]"),),
    "pad": ((MACHINE_BOLTS, f"{MACHINE_BOLTS}\n    pad: {{circle: {{diameter: 14}}}}"),),
    "pad stop": ((MACHINE_BOLTS, f"{MACHINE_BOLTS}\n    pad: {{circle: {{diameter: 8.5}}}}"),),
    "depth": (
        (MOTOR_AT, "at: [40, 0]\n    pilot: {diameter: 30, depth: 8}"),
        ("    pilot: {diameter: 80, depth: 3}\n", ""),
    ),
    "survey of three": (
        (
            "pattern: {circle: {count: 4, diameter: 120, start: 45 deg}}",
            "pattern:\n      measured:\n        holes: {A: 9, B: 9, C: 9}\n        clockwise: [A, B, C]\n"
            "        readings: [[A, B, centres, 84.8], [B, C, centres, 84.9], [A, C, centres, 120.1]]",
        ),
    ),
    "not-checked": (("pilot: {diameter: 80, depth: 3}", "pilot: {diameter: 80}"),),
    "not-checked slot": (
        ("thickness: 6", "thickness: 8"),
        (
            MOTOR_BOLTS,
            "bolts: {size: M2, into: part, depth: 6}\n    take_up: {slots: {along: 0 deg, install: 4, tension: 4}}",
        ),
    ),
    "head-seat": (
        ("thickness: 6", "thickness: 9"),
        (MACHINE_BOLTS, "bolts: {size: M8, into: part, depth: 16, head: countersunk}"),
        ("pilot: {diameter: 80, depth: 3}", "pilot: {diameter: 110, depth: 3, opening: recess}"),
    ),
    "head-seat slot": (
        (
            MOTOR_BOLTS,
            "bolts: {size: M6, into: part, depth: 12, thread_in: steel, head: countersunk}\n"
            "    take_up: {slots: {along: 0 deg, install: 4, tension: 4}}",
        ),
    ),
    "head-seat let in": (
        ("thickness: 6", "thickness: 12"),
        (
            MOTOR_BOLTS,
            "bolts: {size: M6, into: part, depth: 12, thread_in: steel, head: socket, counterbore: true}\n"
            "    take_up: {slots: {along: 0 deg, install: 4, tension: 4}}",
        ),
    ),
    "layer near": (
        (
            MOTOR_BOLTS,
            f"{MOTOR_BOLTS}\n    on: shim\n    pilot: {{diameter: 60, depth: 7.8, opening: layer}}\n"
            f"{test_rules.SHIM.replace('width: 130', 'width: 140')}",
        ),
    ),
    "spacer stop": ((MOTOR_AT, f"{MOTOR_AT}\n    standoff: 25\n    spacers: {{from: tube, outside: 13, bore: 6.1}}"),),
    "mixed-units one": (("thickness: 6", "thickness: 1"),),
    "unusual much": (("thickness: 6", "thickness: 65"),),
    "thin-plate": ((MACHINE_PATTERN, "pattern: {standard: IEC 112 B14}"),),
    "thin-plate stop": ((MACHINE_PATTERN, "pattern: {standard: IEC 112 B14}"), ("thickness: 6", "thickness: 4")),
    "standard play": (
        (MACHINE_PATTERN, "pattern: {standard: IEC 80 B5}"),
        ("pilot: {diameter: 80, depth: 3}", "pilot: {diameter: 130, depth: 3.5}"),
        (MACHINE_BOLTS, "bolts: {size: M6, into: nut, flange: 10, washer: true}"),
    ),
    "standard hair": (
        (MACHINE_PATTERN, "pattern: {circle: {count: 4, diameter: 129.5, start: 45 deg}}"),
        ("    pilot: {diameter: 80, depth: 3}\n", ""),
    ),
    "hard-plate": (("mild steel", QUENCHED), (MACHINE_BOLTS, MACHINE_BOLTS.replace("true", "true, made: drill"))),
    "galling": (
        ("mild steel", '"304"'),
        (MOTOR_BOLTS, "bolts: {size: M6, into: plate, flange: 8, washer: true}"),
    ),
    "fume": (("mild steel", "galvanised steel"),),
    "bow": (
        ("width: 420, height: 260, corner: 10}, at: [60, 0]", "width: 900, height: 260, corner: 10}, at: [300, 0]"),
        (WINDOW, "window: {rectangle: {width: 500, height: 40, corner: 5}, at: [400, -90]}"),
    ),
    "galvanic": (("mild steel", "6082-T6"),),
    "soft-plate bare": (("mild steel", '"5083"'), (MACHINE_BOLTS, MACHINE_BOLTS.replace(", washer: true", ""))),
    "scribe": ((CUTTING, "cutting: {process: laser, kerf: 0.3, scribe: [face, title], scribe_height: 50}"),),
}
CHANGED_DRIVES: dict[str, tuple[tuple[str, str], ...]] = {
    "guard none": (),
    "motor-speed": (("1740 rpm", "1420 rpm"),),
    "overrated": (("max_speed: 3600 rpm", "max_speed: 36000 rpm"),),
    "lifting": (("  inverter:", "  machine: crane\n  inverter:"),),
    "torque-short over speed": (
        ("  inverter:", "  machine: large fan\n  inverter:"),
        ("torque: 3 Nm", "torque: 3.2 Nm"),
    ),
    "bore": (("diameter: 16}", "diameter: 40}"),),
    "bore stop": (("diameter: 16}", "diameter: 54}"),),
    "clash touches": (("bodies:\n", f"bodies:\n{PIN}"),),
    "motor-speed field": (("1740 rpm", "1795 rpm"),),
    "belt-rating of unknown make": (("0.25 kW", "0.4 kW"),),
    "motor-power": ((DRIVE_PATTERN, IEC_FACE), ("0.25 kW", "5.5 kW")),
    "motor-power much": ((DRIVE_PATTERN, IEC_FACE), ("0.25 kW", "1.5 kW")),
    "rim-width": (("span: [-50, -30]", "span: [-50, -45]"),),
    "pulley-order": (),
    "idler-screw": (
        (
            "  driver:",
            "  idlers:\n    - {on: plate, at: [-95, 230], diameter: 60, inside: false, span: [-50, -30]}\n  driver:",
        ),
    ),
    "idler-size": ((DRIVER_ROW, DRIVER.replace("IDLER", "at: [-95, 230], diameter: 60, inside: false, screw: M10")),),
    "idler-pin": (
        (DRIVER_ROW, DRIVER.replace("IDLER", "at: [-150, 320], diameter: 106.5, inside: true, screw: M10")),
        ("pitch_length: 1000", "pitch_length: 1600"),
        ("0.25 kW", "3 kW"),
    ),
    "idler-pin stop": (
        (DRIVER_ROW, DRIVER.replace("IDLER", "at: [-150, 320], diameter: 106.5, inside: true, screw: M6")),
        ("pitch_length: 1000", "pitch_length: 1600"),
        ("0.25 kW", "3 kW"),
    ),
    "pulley-order shaft": (("    span: [-55, 0]\n    relief: auto\n", "    span: [-55, 0]\n"),),
    "long-belt": (
        ("pitch_length: 1000", "pitch_length: 2500"),
        ("width: 420, height: 700, corner: 10}, at: [0, 200]", "width: 420, height: 1700, corner: 10}, at: [0, 700]"),
    ),
    "rub": (("span: [22, 42]", "span: [1, 21]"),),
    "guard": (("cutting:", "guard: {gap: 25, openings: {shape: slot, width: 12}}\ncutting:"),),
    "guard band": (("cutting:", "guard: {gap: 25, back: none, back_from_plate: 10}\ncutting:"),),
    "guard back": (
        ("width: 420, height: 700", "width: 420, height: 450"),
        ("cutting:", "guard: {gap: 25, back: none}\ncutting:"),
    ),
    "take-up": (("along: belt,", "along: 60 deg,"),),
}
CHANGED_ROLLERS: dict[str, tuple[tuple[str, str], ...]] = {
    "shaft-along": (
        ("pattern: {standard: IEC 90 B14}", "pattern: {standard: IEC 90S}"),
        ("    pilot: {diameter: 95, depth: 3, opening: none}\n", ""),
        ("bolts: {into: part, depth: 22, thread_in: aluminium,", "bolts: {size: M8, into: nut, flange: 11,"),
    ),
    "shaft-place": (("[[-76, -50], [78, -51], [72, 57], [-69, 60]]", "[[0, 0], [154, -1], [148, 107], [7, 110]]"),),
    "shaft-end": ((rollers.DRIVER, "pitch_diameter: 90, span: [-72, -56]"),),
    "shaft-end in part": ((rollers.DRIVER, "pitch_diameter: 90, span: [-54, -38]"),),
    "steel-under": (("bodies:\n", f"bodies:\n{FLANGE.replace('WIDTH', '166').replace('DEEP', '28')}"),),
    "steel-under deep": (("bodies:\n", f"bodies:\n{FLANGE.replace('WIDTH', '190').replace('DEEP', '18')}"),),
    "few-screws": (("[[-76, -50], [78, -51], [72, 57], [-69, 60]]", "[[-78, 0], [78, 0]]"),),
    "new-holes late": (("[-69, 60]]", "[-69, 60], [3, 84]]"),),
    "new-holes taken": (),
    "belt-loop": (("bodies:\n", f"bodies:\n{BAR.replace('END', '-150')}"),),
    "belt-loop lifted": (("bodies:\n", f"bodies:\n{BAR.replace('END', '-80')}"),),
    "air": (("bodies:\n", f"bodies:\n{WALL}"),),
    "access": (("bodies:\n", f"bodies:\n{NIPPLE}"),),
    "upended": (("thickness: 10", "thickness: 10\n  mounting: near up"),),
}

CHANGED_LYING: dict[str, tuple[tuple[str, str], ...]] = {
    "twist": (
        ("drive:\n", "drive:\n  shafts: crossed\n"),
        ("at: {belt: {from: bed, angle: 0 deg}}", "at: [46, 0]\n    turn: 90 deg"),
        ("height: -150", "height: -900"),
        ("along: belt, install: auto, tension: auto", "along: 0 deg, install: 20, tension: 30"),
        ("span: [100, 120]", "span: [110, 130]"),
    ),
    "twist near": (
        ("drive:\n", "drive:\n  shafts: crossed\n"),
        ("at: {belt: {from: bed, angle: 0 deg}}", "at: [46, 0]\n    turn: 90 deg"),
        ("height: -150", "height: -900"),
        ("along: belt, install: auto, tension: auto", "along: 0 deg, install: 20, tension: 30"),
        ("span: [100, 120]", "span: [50, 70]"),
    ),
    "jack": (
        ("tension: auto", "tension: auto, jack: {size: M10, at: [98, -44], height: 10, block: 10}"),
        ("width: 900, height: 500, corner: 10}, at: [150, 0]", "width: 240, height: 500, corner: 10}, at: [300, 0]"),
    ),
    "slots-slip": (("install: auto, tension: auto", "install: 24, tension: 48"),),
    "slot-angle": (("along: belt", "along: 1.5 deg"),),
    "slot-angle far": (("along: belt", "along: 12 deg"),),
    "over-plate": (("height: -150", "height: -119"),),
}


class Plate(Struct, frozen=True):
    """A plate that has a finding, and the sound one that it was made from."""

    text: str
    sound: str

    @property
    def lines(self) -> list[str]:
        """The lines in which it differs from the sound one, without their common indent; what is missing as comment."""
        known, own = self.sound.splitlines(), self.text.splitlines()
        changes: list[str] = []
        for what, a, b, c, d in SequenceMatcher(None, known, own, autojunk=False).get_opcodes():
            new = [line for line in own[c:d] if line.strip()]
            if what != "equal":
                changes += new or [_missing(line) for line in known[a:b]]
        return dedent("\n".join(changes)).splitlines()


def _missing(line: str) -> str:
    words = line.lstrip()
    return f"{line[: len(line) - len(words)]}# without {words}"


def plates() -> Iterator[tuple[str, Plate]]:
    """Every plate, each with the rule that it is for."""
    for case, swaps in {**test_rules.CASES, **CHANGED_PLATES}.items():
        yield case.split()[0], Plate(plain.changed(*swaps), plain.SOUND)
    drives = {**test_drive.CASES, **{case: driven.changed(*swaps) for case, swaps in CHANGED_DRIVES.items()}}
    for case, text in drives.items():
        yield case.split()[0], Plate(text, driven.TOOTHED if "section: L" in text else driven.SOUND)
    for case, swaps in CHANGED_ROLLERS.items():
        yield case.split()[0], Plate(rollers.changed(*swaps), rollers.SOUND)
    for case, swaps in CHANGED_LYING.items():
        yield case.split()[0], Plate(lying.changed(*swaps), lying.SOUND)
    for case, swaps in {**test_couplings.CASES, **test_couplings.NO_EDIT}.items():
        if " " not in case:
            yield case, Plate(coupled.changed(*swaps), coupled.SOUND)
    yield "belt-flange", Plate(driven.TOOTHED, driven.SOUND)
    yield "resonance", Plate(carried.SOUND, driven.SOUND)
    yield "lighten", Plate(carried.LIGHTENED, carried.SOUND)
    for text, rules in carried.CASES.values():
        for rule in rules:
            yield rule, Plate(text, driven.SOUND)


def sound() -> dict[str, str]:
    """The sound plates that the others are made from."""
    return {
        "The sound plate": plain.SOUND,
        "The sound drive": driven.SOUND,
        "The toothed drive": driven.TOOTHED,
        "The sound roller": rollers.SOUND,
        "The sound line shaft": lying.SOUND,
        "The sound coupled pair": coupled.SOUND,
    }

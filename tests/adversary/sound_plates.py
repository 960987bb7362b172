"""Sound plates of several kinds, whose slips the advice is held against."""

from __future__ import annotations

from pathlib import Path

import platekit
from tests.checks import drives, plates

ROLLER = """\
platekit: 1
title: Bark roller, new motor beside its old bearing
units: mm
plate:
  material: S275
  thickness: 10
  outline: {wrap: {margin: auto}}
mounts:
  bearing:
    side: far
    looking_at: face
    pattern: {points: [[-72, -50], [80, -47], [70, 60], [-71, 59]]}
    bolts: {size: M10, into: part, depth: 24, washer: true}
    original: true
  motor:
    side: far
    pattern: {standard: IEC 90 B14}
    at: {belt: {from: bearing, angle: 24 deg}}
    turn: 24 deg
    pilot: {diameter: 95, depth: 3, opening: none}
    standoff: 4
    bolts: {into: part, depth: 22, thread_in: aluminium, washer: true}
    take_up: {slots: {along: belt, install: auto, tension: auto}}
bodies:
  hood: {carried_by: bearing, shape: {circle: {diameter: 90}}, span: [0, 80]}
  roller shaft: {carried_by: bearing, shape: {circle: {diameter: 30}}, span: [-64, 0], relief: auto}
  motor body: {carried_by: motor, shape: {circle: {diameter: 178}}, span: [10, 270]}
drive:
  motor: {power: 1.1 kW, speed: 1420 rpm, frequency: 50 Hz, max_speed: 3000 rpm}
  inverter: {from: 20 Hz, to: 70 Hz}
  belt: {section: SPZ, choose: true, near: 300}
  driver: {on: motor, pitch_diameter: 90, span: [-50, -34]}
  driven: {on: bearing, pitch_diameter: 200, span: [-46, -30]}
  wanted: {at: driven, from: 270 rpm, to: 850 rpm}
guard: {gap: 25, back: none}
cutting: {process: laser, kerf: 0.35, sheet: [900, 600]}
"""

HULLER = """\
platekit: 1
title: Seed huller, C-face motor over its jackshaft
units: in
plate:
  material: A36
  thickness: 5/16 in
  outline: {wrap: {margin: auto}}
mounts:
  bearing box:
    side: far
    looking_at: face
    pattern: {points: [[-2.5, -1.8], [2.5, -1.9], [2.35, 2.1], [-2.4, 2.15]]}
    bolts: {size: 3/8-16, into: part, depth: 0.85, thread_in: cast iron, washer: true}
    original: true
  motor:
    side: far
    pattern: {standard: NEMA 56C}
    at: {belt: {from: bearing box, angle: 150 deg}}
    turn: 150 deg
    pilot: {diameter: 4.5, depth: 0.16, opening: none}
    standoff: 0.2
    bolts: {into: part, washer: true}
    take_up: {slots: {along: belt, install: auto, tension: auto}}
bodies:
  box: {carried_by: bearing box, shape: {circle: {diameter: 3.4}}, span: [0, 4]}
  jackshaft: {carried_by: bearing box, shape: {circle: {diameter: 1.1875}}, span: [-2.2, 0], relief: auto}
  motor body: {carried_by: motor, shape: {circle: {diameter: 6.7}}, span: [0.4, 10.5]}
drive:
  motor: {power: 0.5 HP, speed: 1725 rpm, frequency: 60 Hz, max_speed: 3450 rpm}
  inverter: {from: 20 Hz, to: 80 Hz}
  belt: {section: A, choose: true, near: 13}
  driver: {on: motor, pitch_diameter: 3.2, span: [-1.97, -1.17]}
  driven: {on: bearing box, pitch_diameter: 7.4, span: [-1.77, -0.97]}
  wanted: {from: 270 rpm, to: 950 rpm, torque: 2 lbf ft}
guard: {gap: 1.8, back: none, fixings: {count: 3}}
cutting: {process: laser, kerf: 0.012}
"""

FLANGE = """\
platekit: 1
title: Book press, flange motor on its measured bracket
units: mm
plate:
  material: S235
  thickness: 9
  outline: {wrap: {margin: auto}}
  cutouts:
    cable: {circle: {diameter: 24}, at: [96, -46]}
mounts:
  bracket:
    side: far
    looking_at: face
    pattern:
      measured:
        holes: {P: 13.1, Q: 13.0, R: 13.15, S: 13.05}
        readings:
          - [P, Q, over, 143.68]
          - [Q, R, over, 110.41]
          - [R, S, over, 137.27]
          - [S, P, over, 121.20]
          - [P, R, over, 171.63]
          - [Q, S, over, 181.34]
          - [P, Q, inside, 117.69]
          - [Q, S, inside, 155.32]
          - [P, R, inside, 145.39]
          - [R, S, inside, 111.17]
        sigma: 0.08
        clockwise: [P, S, R]
        origin: centre
        x_axis: [P, Q]
    bolts: {size: M12, into: nut, flange: 26, washer: true}
    original: true
  motor:
    side: near
    pattern: {standard: IEC 71 B5}
    at: [214, 30]
    turn: 10 deg
    pilot: {diameter: 110, depth: 3.5, opening: none}
    standoff: 4
    bolts: {size: M8, into: nut, flange: 9, washer: true}
bodies:
  rib: {carried_by: bracket, shape: {rectangle: {width: 14, height: 170}, at: [142, 30]}, span: [4, 40]}
cutting: {process: laser, kerf: 0.3}
"""


def sound_plates() -> dict[str, str]:
    """The texts by name: driven and not, in mm and inches, drawn by hand and taken from the examples."""
    folder = Path(platekit.__file__).parent.parent / "specs"
    examples = ("dough-mixer", "press-pump", "pug-mill", "seed-grader")
    found = {name: (folder / f"{name}.yaml").read_text("utf-8") for name in examples}
    return found | {
        "plain": plates.SOUND,
        "driven": drives.SOUND,
        "toothed": drives.TOOTHED,
        "brushed": drives.BRUSHED,
        "roller": ROLLER,
        "huller": HULLER,
        "flange": FLANGE,
    }

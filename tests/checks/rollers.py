"""A driven plate to judge, as text: a motor with a standard face beside a bearing housing, belt before the plate."""

from __future__ import annotations

import textwrap

SOUND = textwrap.dedent(
    """\
    platekit: 1
    title: Oat roller, new motor beside the bearing housing
    units: mm
    plate:
      material: S275
      thickness: 10
      outline: {wrap: {margin: auto}}
    mounts:
      housing:
        side: far
        looking_at: face
        pattern: {points: [[-76, -50], [78, -51], [72, 57], [-69, 60]]}
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
      belt: {section: SPZ, choose: true, near: 290}
      driver: {on: motor, pitch_diameter: 90, span: [-48, -32]}
      driven: {on: housing, pitch_diameter: 200, span: [-44, -28]}
      wanted: {at: driven, from: 270 rpm, to: 850 rpm, torque: 9 Nm}
    guard: {gap: 25, back: none}
    cutting: {process: laser, kerf: 0.35}
    """
)
SHAFT = "  roller shaft: {carried_by: housing, shape: {circle: {diameter: 32}}, span: [-64, 0], relief: auto}\n"
DRIVER, DRIVEN = "pitch_diameter: 90, span: [-48, -32]", "pitch_diameter: 200, span: [-44, -28]"


def changed(*swaps: tuple[str, str], text: str = SOUND) -> str:
    """The plate's text with each first string replaced by the second; each must occur exactly once."""
    for old, new in swaps:
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times"
        text = text.replace(old, new)
    return text

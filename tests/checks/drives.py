"""Driven plates to judge, as text: a sound V-belt drive and a sound toothed one."""

from __future__ import annotations

import textwrap

SOUND = textwrap.dedent(
    """\
    platekit: 1
    title: A sound drive
    units: mm
    plate:
      material: mild steel
      thickness: 8
      outline: {rectangle: {width: 420, height: 700, corner: 10}, at: [0, 200]}
    mounts:
      machine:
        side: far
        looking_at: face
        pattern: {circle: {count: 4, diameter: 120, start: 45 deg}}
        bolts: {size: M8, into: part, depth: 16, washer: true}
      motor:
        side: near
        looking_at: face
        pattern: {rectangle: {width: 120, height: 120}}
        at: {belt: {from: machine, angle: 90 deg}}
        bolts: {size: M8, into: part, depth: 16, thread_in: steel, washer: true}
        take_up: {slots: {along: belt, install: auto, tension: auto}}
    bodies:
      motor shaft:
        carried_by: motor
        shape: {circle: {diameter: 16}}
        span: [-55, 0]
        relief: auto
    drive:
      motor: {power: 0.25 kW, speed: 1740 rpm, frequency: 60 Hz, max_speed: 3600 rpm}
      inverter: {from: 15 Hz, to: 90 Hz}
      belt: {section: A, pitch_length: 1000}
      driver: {on: motor, pitch_diameter: 71, span: [-50, -30]}
      driven: {on: machine, at: [0, 60], pitch_diameter: 250, span: [22, 42]}
      wanted: {at: driven, from: 120 rpm, to: 700 rpm, torque: 3 Nm}
    cutting: {process: laser, kerf: 0.3}
    """
)

_BELT = "belt: {section: A, pitch_length: 1000}"
_DRIVER, _DRIVEN = "pitch_diameter: 71, span: [-50, -30]", "pitch_diameter: 250, span: [22, 42]"


def changed(*swaps: tuple[str, str], text: str = SOUND) -> str:
    """The drive's text with each first string replaced by the second; each must occur exactly once."""
    for old, new in swaps:
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times"
        text = text.replace(old, new)
    return text


TOOTHED = changed(
    (_BELT, "belt: {section: L, pitch_length: 37.5 in, width: 25.4}"),
    (_DRIVER, "teeth: 22, span: [-52, -24]"),
    (_DRIVEN, "teeth: 72, span: [16, 44]"),
    ("from: 120 rpm, to: 700 rpm, torque: 3 Nm", "from: 130 rpm, to: 780 rpm, torque: 2.5 Nm"),
)
"""The same with a toothed belt of 100 teeth."""

BRUSHED = changed(
    (
        "motor: {power: 0.25 kW, speed: 1740 rpm, frequency: 60 Hz, max_speed: 3600 rpm}",
        "motor: {kind: dc, loaded: {speed: 3000 rpm, torque: 0.8 Nm}, light: {speed: 3600 rpm, torque: 0.08 Nm}}",
    ),
    ("inverter: {from: 15 Hz, to: 90 Hz}", "voltage: {from: 0.3, to: 1}"),
    ("from: 120 rpm, to: 700 rpm, torque: 3 Nm", "from: 150 rpm, to: 800 rpm, torque: 2 Nm"),
)
"""The same with a DC motor on a voltage control."""

"""A sound pair of shafts in line: a motor on feet before a pump on the same bed, joined by a coupling."""

from __future__ import annotations

SOUND = """\
platekit: 1
title: Well pump on its old bed, motor on feet in line with it
units: mm
plate:
  material: mild steel
  thickness: 15
  outline: {rectangle: {width: 700, height: 340, corner: 10}, at: [60, 0]}
mounts:
  bed:
    side: far
    looking_at: face
    pattern: {rectangle: {width: 560, height: 280}}
    at: [60, 0]
    screws: {size: M12, into: part, depth: 28, thread_in: cast iron, washer: true}
    original: true
  pump:
    side: near
    looking_at: face
    pattern: {rectangle: {width: 120, height: 100}}
    at: [-150, 0]
    screws: {size: M10, into: nut, flange: 12, washer: true}
    shaft: {at: [-70, 0], height: 90, along: 180 deg, stretch: [0, 45], diameter: 24}
  motor:
    side: near
    pattern: {standard: IEC 90S}
    at: [125, 0]
    turn: 90 deg
    screws: {size: M8, into: nut, flange: 10, washer: true}
couplings:
  pump coupling:
    from: {on: motor}
    to: {on: pump}
    diameter: 70
    length: 86
    gap: [2, 6]
    offset: 0.2
    angle: 0.5 deg
    torque: 45 Nm
    max_speed: 5000 rpm
    service_factor: 1.5
    motor: {power: 1.1 kW, speed: 1420 rpm, frequency: 50 Hz, max_speed: 3000 rpm}
cutting: {process: laser}
"""
# IEC 60072-1, as tables have it: frame 90S has A = 140, B = 100, C = 56, H = 90, E = 50 mm; so its shaft ends 156 mm
# before the middle of its feet, at x = 125 - 50 - 56 - 50 = -31, and the pump's at x = -150 + 70 + 45 = -35.


def changed(*changes: tuple[str, str]) -> str:
    """The sound pair with some of its text replaced, each found once."""
    text = SOUND
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text

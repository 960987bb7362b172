"""A sound drive whose shafts lie along the plate: a motor on feet beside a line shaft that was measured."""

from __future__ import annotations

SOUND = """\
platekit: 1
title: Line shaft of a grain cleaner, motor on feet beside it
units: mm
plate:
  material: mild steel
  thickness: 15
  outline: {rectangle: {width: 900, height: 500, corner: 10}, at: [150, 0]}
mounts:
  bed:
    side: far
    looking_at: face
    pattern: {rectangle: {width: 120, height: 400}}
    at: [-200, 0]
    bolts: {size: M12, into: part, depth: 28, thread_in: cast iron, washer: true}
    original: true
    shaft: {height: -150, along: 90 deg, stretch: [-100, 200], diameter: 30}
  motor:
    side: near
    pattern: {standard: IEC 90S}
    at: {belt: {from: bed, angle: 0 deg}}
    bolts: {size: M8, into: nut, flange: 10, washer: true}
    take_up: {slots: {along: belt, install: auto, tension: auto}}
drive:
  motor: {power: 1.1 kW, speed: 1420 rpm, frequency: 50 Hz, max_speed: 3000 rpm}
  belt: {section: A, pitch_length: 1250}
  driver: {on: motor, pitch_diameter: 80, span: {width: 20, from_end: 0}}
  driven: {on: bed, pitch_diameter: 200, span: [100, 120]}
cutting: {process: laser}
"""


def changed(*changes: tuple[str, str]) -> str:
    """The sound drive with some of its text replaced, each found once."""
    text = SOUND
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text

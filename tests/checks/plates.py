"""Plates to judge, as text: a sound one, and what to change in it to bring out each finding."""

from __future__ import annotations

import textwrap

SOUND = textwrap.dedent(
    """\
    platekit: 1
    title: A sound plate
    units: mm
    plate:
      material: mild steel
      thickness: 6
      outline: {rectangle: {width: 420, height: 260, corner: 10}, at: [60, 0]}
      cutouts:
        window: {circle: {diameter: 30}, at: [90, -70]}
    mounts:
      machine:
        side: far
        looking_at: face
        pattern: {circle: {count: 4, diameter: 120, start: 45 deg}}
        pilot: {diameter: 80, depth: 3}
        bolts: {size: M8, into: part, depth: 16, washer: true}
      motor:
        side: near
        looking_at: face
        pattern: {rectangle: {width: 90, height: 60}}
        at: [170, 0]
        bolts: {size: M6, into: part, depth: 12, thread_in: steel, washer: true}
    bodies:
      motor body:
        carried_by: motor
        shape: {rectangle: {width: 100, height: 80, corner: 4}}
        span: [0, 150]
    cutting: {process: laser, kerf: 0.3}
    """
)


def changed(*swaps: tuple[str, str], plate: str = SOUND) -> str:
    """The plate's text with each first string replaced by the second; each must occur exactly once."""
    for old, new in swaps:
        assert plate.count(old) == 1, f"{old!r} stands {plate.count(old)} times"
        plate = plate.replace(old, new)
    return plate

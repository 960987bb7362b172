"""Keys that the language gains leave the marks of older specs alone: sheets in a shop stay those of their plate."""

from __future__ import annotations

import platekit
from tests.checks import drives, lying

MEASURED = """\
platekit: 1
title: Old sheaf binder, measured
units: mm
plate: {material: mild steel, thickness: 10, outline: {wrap: {margin: auto}}}
mounts:
  machine:
    side: far
    looking_at: face
    pattern:
      measured:
        holes: {A: 10.2, B: 10.1, C: 10.2, bore: 110.0}
        readings: [[A, B, inside, 81.7], [A, C, over, 140.3], [B, C, inside, 88.2]]
        sigma: 0.1
        clockwise: [A, C, B]
        origin: A
        x_axis: [A, B]
    screws: {size: M8, into: part, depth: 18}
bodies:
  oil cup: {carried_by: machine, shape: {circle: {diameter: 26}, at: [-20, 88]}, span: [-14, 0], gap: 2}
cutting: {process: plasma, kerf: 1.5}
"""

MARKS = {
    "measured": (MEASURED, "16a4e09f"),
    "a drive": (drives.SOUND, "a4a249ee"),
    "shafts along the plate": (lying.SOUND, "8e278120"),
}
"""Specs and their marks as they were printed before the keys of `renamed.GAINED` were words of the language."""


def test_a_key_that_the_language_gains_leaves_the_marks_of_older_specs_alone() -> None:
    found = {name: platekit.loads(text, "plate.yaml").revision for name, (text, _) in MARKS.items()}
    # where this is red a new key has changed every mark: it is a line of `renamed.GAINED`
    assert found == {name: mark for name, (_, mark) in MARKS.items()}

"""A hole as wide as its fellows is not the first to be blamed; figures of an invented kiln fan's face."""

from __future__ import annotations

from platekit.spec import loads
from platekit.studies.surveyed import surveyed

FACE = """\
platekit: 1
title: Kiln fan
units: mm
plate: {material: mild steel, thickness: 12}
mounts:
  fan:
    side: far
    looking_at: face
    pattern:
      measured:
        holes: {A: 8.6, B: 8.5, C: 8.6, D: 8.6, E: 8.5, bore: 78, shaft: {kind: shaft, diameter: 32}}
        sigma: 0.1
        hole: 13 mm
        origin: bore
        x_axis: [A, B]
        readings:
          - [A, across, 198.85, 0.1 mm]
          - [A, up, 276.15, 0.1 mm]
          - [B, across, 213.02, 0.1 mm]
          - [B, up, 135.58, 0.1 mm]
          - [C, across, 89.65, 0.1 mm]
          - [C, up, 112.32, 0.1 mm]
          - [D, across, 26.42, 0.1 mm]
          - [D, up, 187.8, 0.1 mm]
          - [E, across, 82.99, 0.1 mm]
          - [E, up, 274.37, 0.1 mm]
          - [bore, across, 125.02, 0.1 mm]
          - [bore, up, 196.8, 0.1 mm]
          - [A, B, inside, 132.5]
          - [B, shaft, inside, 249.9]
          - [C, shaft, inside, 276]
          - [A, shaft, inside, 390.8]
          - [bore, shaft, over, 408.4]
          - [D, shaft, inside, 373.2]
    screws: {size: M10, into: part, depth: 20}
"""


def test_a_scale_misread_by_a_whole_mm_is_told_before_a_hole_unlike_its_fellows() -> None:
    # C to shaft was read 276 where it is 275: the drawn-up face has 275.0
    (one,) = surveyed(loads(FACE, "fan"))
    assert one.suspect is not None
    blamed = one.suspect.reading
    assert (blamed.features, blamed.kind) == (("C", "shaft"), "inside")
    assert one.suspect.likely == 275.0

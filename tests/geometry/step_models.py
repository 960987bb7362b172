"""Makers' models for tests: invented parts, made by the kernel and written as STEP."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import cadquery as cq

Hole = tuple[float, float]


def step_of(shape: cq.Workplane | cq.Shape, path: Path) -> bytes:
    """The shape as the bytes of a STEP file."""
    cq.exporters.export(shape if isinstance(shape, cq.Workplane) else cq.Workplane(shape), str(path))
    return path.read_bytes()


def motor(holes: Sequence[Hole], box: bool = True, scale: float = 1.0) -> cq.Workplane:
    """An invented motor: flange with holes at z = 0, looking to +z; pilot 110 x 3.5, shaft 28 x 40, frame behind."""
    flange = cq.Workplane("XY").circle(82.5).extrude(-10).faces(">Z").workplane().pushPoints(list(holes)).hole(9)
    made = flange.union(cq.Workplane("XY").circle(55).extrude(3.5)).union(cq.Workplane("XY").circle(14).extrude(40))
    made = made.union(cq.Workplane("XY").workplane(offset=-10).circle(70).extrude(-200))
    if box:
        made = made.union(cq.Workplane("XY").box(60, 50, 80).translate((85, 0, -90)))
    whole = made.val()
    assert isinstance(whole, cq.Shape)
    return cq.Workplane(whole.scale(scale)) if scale != 1.0 else made

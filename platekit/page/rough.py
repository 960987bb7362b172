"""The plate as it would be with the holes where a sketch has them: to look at while readings still come in.

It is drawn and nothing else: no verdict comes of it, no file, and no place in the spec.
"""

from __future__ import annotations

from typing import Final

from platekit.checks.finding import Remedy
from platekit.errors import PlatekitError
from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import Spec
from platekit.spec.measured_words import MeasuredPattern
from platekit.studies.advised import after_edit
from platekit.units import mm_per

FEWEST: Final = 2
"""Sketched screw holes from which there is a plate to look at (ours)."""


def roughly_laid(spec: Spec) -> Layout | None:
    """The layout with every sketched pattern at its rough places; None where there is no sketch, or no plate of it."""
    edits = []
    for name, mount in spec.model.mounts.items():
        pattern = mount.pattern.measured
        if pattern is None or not pattern.sketch:
            continue
        points = _rough(pattern)
        if len(points) < FEWEST:
            return None
        per = mm_per(spec.unit)
        edits.append(Remedy(f"mounts.{name}.pattern", {"points": [[x / per, y / per] for x, y in points]}))
    if not edits:
        return None
    try:
        return lay_out(after_edit(spec, edits))
    except PlatekitError:
        return None


def _rough(pattern: MeasuredPattern) -> list[tuple[float, float]]:
    """Where the sketch has the holes for screws, mm from its zero, in the scale of the sketch."""
    zero = pattern.sketch.get(pattern.origin or "", (0.0, 0.0))
    return [
        (pattern.sketch[name][0] - zero[0], pattern.sketch[name][1] - zero[1])
        for name in pattern.screw_holes
        if name in pattern.sketch
    ]

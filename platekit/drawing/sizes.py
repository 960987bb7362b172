"""Sizes in words, as a sheet writes them: an opening's, a pattern's; in the unit of the spec."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Final

from msgspec import Struct

from platekit.geometry import CurvedSlot, Disc, Point, Slot, between
from platekit.placed import Layout, Opening, PlacedMount
from platekit.units import POUND, Unit, show_length

CLEAR: Final = 5.0
"""So far beyond its own size an opening may be read into words on it, mm of the plate (ours)."""


class PatternSize(Struct, frozen=True):
    """What gives a pattern its size: `words` for people, `circle` its diameter if it is a bolt circle (mm).

    `at` is where on the plate it is told: on its centre line, midway between two holes, as far down as that is.
    """

    words: str
    at: Point
    circle: float | None = None


def figure(mm: float, unit: Unit) -> str:
    """A length as a bare figure in `unit`, without the unit's name.

    >>> figure(9.2, "mm"), figure(38.1, "in")
    ('9.2', '1.5')
    """
    return show_length(mm, unit).removesuffix(f" {unit}")


def mass_figure(kg: float, unit: Unit) -> str:
    """A mass in kilograms, in pounds too where lengths are in inches.

    >>> mass_figure(1.51, "mm"), mass_figure(1.51, "in")
    ('1.51 kg', '1.51 kg (3.33 lb)')
    """
    said = f"{kg:.2f} kg"
    return said if unit == "mm" else f"{said} ({kg / POUND:.2f} lb)"


def opening_size(layout: Layout, opening: Opening) -> str:
    """An opening's size in words: `Ø10.5`, `slot 10.5 × 32 over all`, `M8, drill Ø6.8`, `Ø110.5, 4 deep`, `Ø8 H7`."""
    unit = layout.spec.unit
    shape = opening.shape
    if isinstance(shape, Disc):
        # a dowel's hole is asked for by the reamer that makes it
        fit = f" {opening.fit or 'H7'}" if opening.role == "dowel" else ""
        size = f"Ø{figure(2 * shape.radius, unit)}{fit}"
    elif isinstance(shape, Slot):
        over_all = math.dist(shape.a, shape.b) + 2 * shape.radius
        size = f"slot {figure(2 * shape.radius, unit)} × {figure(over_all, unit)} over all"
    elif isinstance(shape, CurvedSlot):
        turn = abs(math.degrees(shape.sweep))
        size = f"slot {figure(2 * shape.radius, unit)} wide, {figure(turn, 'mm')}° on R{figure(shape.mid_radius, unit)}"
    else:
        box = shape.box
        size = f"{figure(box.width, unit)} × {figure(box.height, unit)}"
    if opening.thread is not None:
        return f"{opening.thread}, drill {size}"
    if opening.depth is not None:
        return f"{size}, {figure(opening.depth, unit)} deep"
    return size


def pattern_size(layout: Layout, mount: PlacedMount) -> PatternSize | None:
    """What gives a mount's pattern its size; None for points that form neither circle, rectangle nor pair."""
    unit = layout.spec.unit
    if mount.bolt_circle is not None:
        x, y = mount.pose.point((0.0, 0.0))
        turns = sorted(math.atan2(py - y, px - x) for px, py in mount.points)
        middles = [(a + b) / 2 for a, b in zip(turns, [*turns[1:], turns[0] + math.tau], strict=True)]
        lowest = min(middles, key=lambda turn: (round(math.sin(turn), 6), turn))
        radius = mount.bolt_circle / 2
        at = (x + radius * math.cos(lowest), y + radius * math.sin(lowest))
        return PatternSize(f"bolt circle Ø{figure(mount.bolt_circle, unit)}", at, mount.bolt_circle)
    if mount.rectangle is None and len(mount.points) != 2:
        return None
    # at the first side on whose middle nothing else is open: there it would be read as the name of that
    sides = pairwise((*mount.points, mount.points[0]))
    halfway = [((ax + bx) / 2, (ay + by) / 2) for (ax, ay), (bx, by) in sides]
    off = [
        min((round(between(at, one.center) - one.size, 6) for one in layout.openings), default=math.inf)
        for at in halfway
    ]
    best = next((k for k, clear in enumerate(off) if clear > CLEAR), off.index(max(off)))
    if mount.rectangle is None:
        words = f"holes {figure(math.dist(*mount.points), unit)} apart"
    else:
        words = f"holes {figure(mount.rectangle[0], unit)} × {figure(mount.rectangle[1], unit)}"
    return PatternSize(words, halfway[best])

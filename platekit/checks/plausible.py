"""Rules on what the whole looks like: sizes that hint at mixed units."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from platekit.checks.advice import say
from platekit.checks.finding import Finding
from platekit.checks.rule import Rule
from platekit.placed import Layout
from platekit.units import Unit

SMALLEST_PLATE = 20.0
"""A plate whose longer side is less than this was hardly meant, mm (ours)."""
LARGEST_PLATE = 3000.0
"""A plate whose longer side is more than this was hardly meant, mm: sheets are 1.5 x 3 m (common practice)."""
UNIT_WORDS: Final[dict[Unit, str]] = {"mm": "millimetres", "in": "inches"}
"""The units in words: `in` alone reads as something else."""


def mixed_units(layout: Layout) -> Iterator[Finding]:
    """An overall size that hints at inches read as millimetres, or the other way."""
    box = layout.outline.box
    longer = max(box.width, box.height)
    if SMALLEST_PLATE <= longer <= LARGEST_PLATE:
        return
    needed = SMALLEST_PLATE if longer < SMALLEST_PLATE else LARGEST_PLATE
    yield Finding(
        "mixed-units",
        "warn",
        f"the plate comes out {say(layout, box.width)} x {say(layout, box.height)}; "
        f"{'less' if longer < SMALLEST_PLATE else 'more'} than {say(layout, needed)} is unusual",
        ("outline",),
        box.center,
        longer,
        needed,
        advice=f"check that every bare number is meant in {UNIT_WORDS[layout.spec.unit]}",
    )


RULES = (
    Rule(
        "mixed-units",
        "inches read as millimetres, or the other way",
        f"{SMALLEST_PLATE:g} mm to {LARGEST_PLATE:g} mm over all",
        "common practice: sheets are 1.5 x 3 m",
        mixed_units,
        levels=("warn",),
    ),
)

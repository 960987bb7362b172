"""All parts cut beside the plate, each as a flat plate of its own: those of its guard, its welded bars, its layers."""

from __future__ import annotations

from platekit.laying import guard_parts as of_guard
from platekit.laying.layers import LAYER_PART, layer_parts
from platekit.laying.welded import BAR_PART, bar_parts
from platekit.placed import Layout

PART = rf"(?:{of_guard.PART}|{BAR_PART}|{LAYER_PART})"
"""What such a part is called, as a regular expression."""


def flat_parts(layout: Layout) -> dict[str, Layout]:
    """The parts by name, each once; the note of each says what it is for."""
    return {**of_guard.guard_parts(layout), **bar_parts(layout), **layer_parts(layout)}

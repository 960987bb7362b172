"""All parts cut beside the plate, each as a flat plate of its own: its guard's, welded bars, lugs, layers."""

from __future__ import annotations

from platekit.laying import guard_parts as of_guard
from platekit.laying.layers import LAYER_PART, layer_parts
from platekit.laying.lugs import lug_parts
from platekit.laying.welded import BAR_PART, bar_parts
from platekit.placed import Layout

PART = rf"(?:{of_guard.PART}|{BAR_PART}|{LAYER_PART})"
"""What such a part is called, as a regular expression."""


def flat_parts(layout: Layout) -> dict[str, Layout]:
    """The parts by name, each once; the note of each says what it is for."""
    bars = bar_parts(layout)
    lugs = lug_parts(layout, 1 + sum(part.startswith("lug-") for part in bars))
    return {**of_guard.guard_parts(layout), **bars, **lugs, **layer_parts(layout)}

"""The foot of a picture: the cautions of the job, under a line."""

from __future__ import annotations

from typing import Final
from xml.etree.ElementTree import Element

from platekit.drawing.cautions import CAUTIONS
from platekit.drawing.svg.letters import letters
from platekit.drawing.svg.parts import PAD, WIDTH, node, stroke, text
from platekit.drawing.text import wrapped

SIZE: Final = 12.0
"""Size of the letters, sheet units (ours)."""


def caution_foot(root: Element, y: float, wide: float = WIDTH) -> float:
    """Writes the cautions below `y` on a picture that is so wide, sheet units, and gives where they end."""
    group = node(root, "g", class_="pk-cautions")
    node(group, "line", x1=PAD, y1=y, x2=wide - PAD, y2=y, **stroke("soft", 0.8))
    y += 4
    for line in wrapped(" ".join(CAUTIONS), wide - 2 * PAD, letters(SIZE)):
        y += 16
        text(group, PAD, y, line, SIZE, tone="soft")
    return y + 14

"""Words that were given a place in a picture: lines of text on a patch of paper, and the leader to what they name."""

from __future__ import annotations

from typing import Final
from xml.etree.ElementTree import Element

from msgspec import Struct

from platekit.drawing.svg.letters import text_width
from platekit.drawing.svg.parts import Tone, ground, node, number, stroke, text
from platekit.geometry import Box

STEP: Final = 1.2
"""Distance of two lines of words, in sizes of their letters (common practice)."""
AIR: Final = (3.0, 1.5)
"""White beside the words, and above and below them, sheet units (ours)."""
TAILS: Final = 0.22
"""How far above the foot of its line a base line is, in sizes of its letters (ours: room for tails)."""
LEADER: Final = 0.9
"""Width of a leader, sheet units (ours: finer than any line of the plate)."""
SEEN_THROUGH: Final = 0.86
"""How opaque the patch under words is (ours: a line below is still felt, and no longer strikes the words out)."""


class Words(Struct, frozen=True):
    """Lines of words, each with its size (sheet units) and whether it is bold."""

    lines: tuple[tuple[str, float, bool], ...]
    tone: Tone = "ink"

    @property
    def width(self) -> float:
        """Width on the sheet, sheet units."""
        return max(text_width(say, size, bold) for say, size, bold in self.lines) + 2 * AIR[0]

    @property
    def height(self) -> float:
        """Height on the sheet, sheet units."""
        return sum(size * STEP for _, size, _ in self.lines) + 2 * AIR[1]


def write_words(layer: Element, words: Words, box: Box, opacity: float = SEEN_THROUGH) -> Element:
    """Draws words in the box that they were given, and gives the patch under them; all in sheet units."""
    patch = ground(layer, box, opacity)
    y = box.y0 + 1.0
    for say, size, bold in words.lines:
        y += size * STEP
        text(layer, (box.x0 + box.x1) / 2, y - size * TAILS, say, size, bold=bold, anchor="middle", tone=words.tone)
    return patch


def write_leader(layer: Element, leader: tuple[float, float, float, float], tone: Tone = "soft") -> Element:
    """Draws a leader from x1, y1 to x2, y2, sheet units."""
    x1, y1, x2, y2 = (number(value) for value in leader)
    line = node(layer, "path", d=f"M{x1} {y1}L{x2} {y2}", **stroke(tone, LEADER))
    line.set("class", f"pk-leader pk-line-{tone}")
    return line

"""Dimensions in a picture, drawn as on paper and as large as its words."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from typing import Final
from xml.etree.ElementTree import Element

from platekit.drawing.dimensions import CAPITAL, DimensionFigure, Head, Mark, Style, ThinLine
from platekit.drawing.svg.letters import letters
from platekit.drawing.svg.parts import fill, node, number, stroke, text

FIGURE: Final = 14.0
"""Size of figures, sheet units (ours: the largest words of the drawing but the names of mounts)."""
ON_PAPER: Final = 2.8
"""Size of the same figures on a drawing on paper, mm: what a mm of paper is in a picture follows from both."""
THIN: Final = 0.8
"""Width of a thin line, sheet units (ours)."""
BASE: Final = 0.36
"""How far below the middle of words their base line is, in sizes of their letters (ours: half a capital)."""


@lru_cache(maxsize=16)
def picture_style(size: float = FIGURE) -> Style:
    """Dimensions in a picture, their figures of a size in sheet units; arrows and gaps go with it."""
    return Style(size / ON_PAPER, size, CAPITAL * size, letters(size, True), down=True)


def draw_marks(layer: Element, marks: Iterable[Mark]) -> None:
    """Draws what dimensions consist of."""
    for mark in marks:
        if isinstance(mark, ThinLine):
            run = "L".join(f"{number(x)} {number(y)}" for x, y in mark.points)
            node(layer, "path", d=f"M{run}", **stroke("soft", THIN))
        elif isinstance(mark, Head):
            corners = " ".join(f"{number(x)},{number(y)}" for x, y in mark.corners)
            node(layer, "polygon", points=corners, **fill("soft"))
        elif isinstance(mark, DimensionFigure):
            (x, y), size = mark.middle, mark.style.size
            words = text(layer, x, y + BASE * size, mark.words, size, bold=True, anchor="middle")
            if mark.upright:
                words.set("transform", f"rotate(-90 {number(x)} {number(y)})")
        else:
            (x, y) = mark.center
            node(layer, "circle", cx=x, cy=y, r=mark.radius, **stroke("soft", THIN))

"""What is drawn on a drawing on paper: line widths and dashes, dimensions, centre lines, signs. mm of the sheet."""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import lru_cache
from typing import Final

from platekit.drawing.dimensions import CAPITAL, DimensionFigure, Head, Mark, Style, ThinLine
from platekit.drawing.pdf.letters import POINT, SMALLEST_TEXT, letters, text_width
from platekit.drawing.pdf.pen import Pen, Way
from platekit.geometry import Box, Line, Point

WIDE: Final = 0.5
"""Width of a visible outline, mm. Published: ISO 128-2, line group 0.5."""
THIN: Final = 0.25
"""Width of centre, hidden and dimension lines, mm. Published: ISO 128-2, line group 0.5."""
FINE: Final = 0.13
"""Width of hatching, mm: half the thin line, the next of the series (ISO 128-2), so that three can be told apart."""
FIGURE: Final = 8.0
"""Size of figures, points: 2.8 mm line height, read at arm's length and after copying (ours)."""
MIDDLE: Final = 0.35
"""How far below the middle of words their base line is, in sizes of their letters (ours)."""
CHAIN: Final = (6.0, 1.0, 0.8, 1.0)
"""Centre lines: long dashes and dots. Published: ISO 128-2, type 04.1."""
HIDDEN: Final = (2.2, 0.8)
"""Hidden edges. Published: ISO 128-2, type 02.1."""
BEND: Final = (4.0, 1.5)
"""Bend lines (ours: a full line, as ISO 128 has it, would be taken for a cut)."""
PHANTOM: Final = (5.0, 0.8, 0.6, 0.8, 0.6, 0.8)
"""Parts beside the plate: long dashes and two dots. Published: ISO 128-2, type 05.1."""


@lru_cache(maxsize=16)
def paper_style(size: float = FIGURE) -> Style:
    """Dimensions on paper, their figures of a size in points."""
    return Style(1.0, size, CAPITAL * size / POINT, letters(size))


def draw_marks(pen: Pen, marks: Iterable[Mark]) -> None:
    """Draws what dimensions consist of."""
    for mark in marks:
        if isinstance(mark, ThinLine):
            pen.chain(mark.points, THIN)
        elif isinstance(mark, Head):
            pen.solid(mark.corners)
        elif isinstance(mark, DimensionFigure):
            (x, y), size = mark.middle, mark.style.size
            drop = MIDDLE * size / POINT
            if mark.upright:
                pen.upright_text((x + drop, y), mark.words, size)
            else:
                pen.text((x, y - drop), mark.words, size, align="middle")
        else:
            pen.circle(mark.center, mark.radius, width=THIN)


def center_mark(pen: Pen, center: Point, reach: float) -> None:
    """The centre lines of a round feature: chain lines that cross in a dash and end `reach` mm from its middle."""
    x, y = center
    dash = CHAIN if reach > CHAIN[0] else ()
    for ux, uy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
        pen.line(center, (x + reach * ux, y + reach * uy), THIN, dash, phase=CHAIN[0] / 2)


def zero_mark(pen: Pen, at: Point) -> None:
    """The mark of the point that X and Y count from, mm of the sheet: a ring with two filled quarters."""
    radius = 1.8
    pen.circle(at, radius, width=THIN)
    for quarter in (0, 2):
        start = quarter * math.pi / 2
        turns = [start + math.pi / 2 * step / 8 for step in range(9)]
        pen.solid([at, *((at[0] + radius * math.cos(t), at[1] + radius * math.sin(t)) for t in turns)])


def third_angle(pen: Pen, left: float, middle: float, high: float) -> None:
    """The sign of third-angle projection: the frustum of a cone in two views. Published: ISO 5456-2."""
    big, small = high / 2, high / 4
    eye = (left + big, middle)
    pen.circle(eye, big, width=THIN)
    pen.circle(eye, small, width=THIN)
    x0, x1 = left + 2 * big + 2.0, left + 2 * big + 2.0 + high * 0.9
    corners = [(x0, middle - small), (x0, middle + small), (x1, middle + big), (x1, middle - big), (x0, middle - small)]
    pen.chain(corners, THIN)
    pen.line((left - 1.0, middle), (x1 + 1.0, middle), THIN * 0.7, (2.0, 0.5, 0.5, 0.5))
    pen.line((eye[0], middle - big - 1), (eye[0], middle + big + 1), THIN * 0.7, (2.0, 0.5, 0.5, 0.5))


def draw_bend(pen: Pen, line: Line, way: Way, words: str) -> None:
    """A bend line in thin dashes, its words in it on white: along it, as far as that reads; sheet mm."""
    a, b = way(line.a), way(line.b)
    pen.line(a, b, THIN, BEND)
    (x, y), half = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2), text_width(words, SMALLEST_TEXT) / 2 + 1.0
    if abs(b[1] - a[1]) > abs(b[0] - a[0]):
        pen.box(Box(x - 1.6, y - half, x + 1.6, y + half), width=0, fill=1.0)
        pen.upright_text((x + 0.9, y), words)
    else:
        pen.box(Box(x - half, y - 1.6, x + half, y + 1.6), width=0, fill=1.0)
        pen.text((x, y - 0.9), words, align="middle")

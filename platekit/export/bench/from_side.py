"""The bench sheet's page of views from the side: to a stated scale, heights and distances dimensioned, parts named."""

from __future__ import annotations

import math
from typing import Final

from platekit.drawing.dimensions import CAPITAL, DimensionFigure
from platekit.drawing.from_side import SideView, side_dimensions, side_names
from platekit.drawing.pdf.drafting import draw_marks, paper_style
from platekit.drawing.pdf.letters import POINT, SMALLEST_TEXT, letters
from platekit.drawing.pdf.pen import HAIRLINE, Pen
from platekit.drawing.text import shortened
from platekit.export.bench.drawing import scale_words
from platekit.geometry import Box, Point

STEP: Final = 4.0
"""Between two lines of words and two height lines, mm (ours)."""
NAMES: Final = 36.0
"""Room at the right for the names, mm (ours)."""
ROUND_SCALES: Final = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 7.5, 10.0)
"""Scales are 1 to one of these times a power of ten, or one of these to 1 (ISO 5455 has 1, 2, 5; those between fill
the sheet)."""


def draw_side(pen: Pen, view: SideView, room: Box) -> None:
    """One view in its room, mm of the sheet, at the largest usual scale that it takes."""
    box = view.box
    ladder = STEP * len(view.heights)
    words = STEP * (len(view.heights) + 2 * len(view.along)) + 5
    wide, tall = room.width - ladder - NAMES - 6, room.height - words - 12
    # The largest usual scale up to `most`
    most = min(wide / max(box.width, 1.0), tall / max(box.height, 1.0))
    power = math.floor(math.log10(1 / most))
    figures = [part * 10.0**exponent for exponent in (power - 1, power, power + 1) for part in ROUND_SCALES]
    scales = [*(1 / figure for figure in figures if figure >= 1), *ROUND_SCALES]
    scale = max((scale for scale in scales if scale <= most * (1 + 1e-9)), default=most)
    left, top = room.x0 + ladder + 3, room.y1 - 9

    def at(p: Point) -> Point:
        return (left + (p[0] - box.x0) * scale, top - (box.y1 - p[1]) * scale)

    title = f"{view.title}, scale {scale_words(scale)}"
    pen.text((room.x0, room.y1 - 4), shortened(title, room.width, letters(10, "bold")), 10, "bold")
    corner, far = at((view.plate.x0, view.plate.y0)), at((view.plate.x1, view.plate.y1))
    pen.box(Box(*corner, *far), 0.5, fill=0.88)
    for part in view.parts:
        for outlines, dash in ((part.moved, (1.2, 0.9)), (part.outlines, ())):
            for outline in outlines:
                fine = bool(dash) or part.kind == "screw"
                pen.chain([at(p) for p in (*outline, outline[0])], HAIRLINE if fine else 0.3, dash)
    names = min(at((box.x1, 0))[0] + 14, room.x1 - NAMES)
    foot = min(at((0, box.y0))[1], room.y1 - 8 - STEP * len(view.named))
    high = CAPITAL * SMALLEST_TEXT / POINT
    named = side_names(view, at, STEP * 0.85, (foot, room.y1 - 8), names, letters(SMALLEST_TEXT), high)
    for (x, y), name in named.within:
        pen.text((x, y - high / 2), name, SMALLEST_TEXT, align="middle")
    for spot, last, name in named.beside:
        pen.line(spot, (names, last), 0.08)
        pen.circle(spot, 0.3, width=HAIRLINE)
        said = shortened(name, NAMES - 1, letters(SMALLEST_TEXT))
        pen.text((names + 1, last - 0.9), said, SMALLEST_TEXT)
    lowest = min((last for _, last, _ in named.beside), default=None)
    marks, bottom = side_dimensions(paper_style(SMALLEST_TEXT), view, at, left, STEP, room.x1, lowest)
    # words last and on white: where many distances are told, lines of others run through them
    draw_marks(pen, [mark for mark in marks if not isinstance(mark, DimensionFigure)])
    for mark in marks:
        if isinstance(mark, DimensionFigure):
            if not mark.upright:
                pen.box(mark.box, width=0, fill=1.0)
            draw_marks(pen, [mark])
    for index, measure in enumerate(view.heights):
        pen.text((room.x0, bottom - STEP * 0.85 * index - 1), f"{index + 1}: {measure.words}", SMALLEST_TEXT)

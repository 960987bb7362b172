"""The bench sheet's page of views from the side: to a stated scale, heights and distances dimensioned, parts named."""

from __future__ import annotations

import math
from typing import Final

from platekit.drawing.from_side import SideView, spread
from platekit.drawing.pdf.letters import SMALLEST_TEXT, letters
from platekit.drawing.pdf.pen import HAIRLINE, Pen
from platekit.drawing.text import shortened
from platekit.export.bench.drawing import scale_words
from platekit.geometry import Box, Point

STEP: Final = 4.0
"""Between two lines of words and two height lines, mm (ours)."""
NAMES: Final = 36.0
"""Room at the right for the names, mm (ours)."""
ROUND_SCALES: Final = (1.0, 2.0, 2.5, 5.0, 10.0)
"""Scales are 1 to one of these times a power of ten (ISO 5455 has 1, 2, 5; 2.5 fills the sheet)."""


def draw_side(pen: Pen, view: SideView, room: Box) -> None:
    """One view in its room."""
    box = view.box
    ladder = STEP * len(view.heights)
    words = STEP * (len(view.heights) + 2 * len(view.along)) + 5
    wide, tall = room.width - ladder - NAMES - 6, room.height - words - 12
    # The largest usual scale up to `most`
    most = min(wide / max(box.width, 1.0), tall / max(box.height, 1.0))
    power = math.floor(math.log10(1 / most))
    scales = [1 / (part * 10.0**exponent) for exponent in (power - 1, power, power + 1) for part in ROUND_SCALES]
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
    heights = spread([at(spot)[1] for spot, _ in view.named], STEP * 0.85, room.y1 - 8)
    for (spot, name), last in zip(view.named, heights, strict=True):
        x, y = at(spot)
        pen.line((x, y), (names, last), 0.08)
        said = shortened(name, NAMES - 1, letters(SMALLEST_TEXT))
        pen.text((names + 1, last - 0.9), said, SMALLEST_TEXT)
    for index, measure in enumerate(view.heights):
        x = room.x0 + 1 + STEP * index
        low, high = at((0, measure.low))[1], at((0, measure.high))[1]
        pen.line((x, low), (x, high))
        for y in (low, high):
            pen.line((x - 0.8, y), (x + 0.8, y))
            pen.line((x + 0.8, y), (left - 1, y), 0.08, (0.3, 0.9))
        pen.text((x, high + 0.8), str(index + 1), SMALLEST_TEXT, align="middle")
    bottom = at((0, box.y0))[1] - 3
    for start, stop, said in view.along:
        x0, x1 = at((start, 0))[0], at((stop, 0))[0]
        pen.line((x0, bottom), (x1, bottom))
        for x in (x0, x1):
            pen.line((x, bottom - 0.8), (x, bottom + 0.8))
        pen.text(((x0 + x1) / 2, bottom - 3), said, SMALLEST_TEXT, align="middle")
        bottom -= 2 * STEP - 1
    for index, measure in enumerate(view.heights):
        pen.text((room.x0, bottom - STEP * 0.85 * index - 1), f"{index + 1}: {measure.words}", SMALLEST_TEXT)

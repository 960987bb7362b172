"""The frame to lay round a part before its picture is taken: coded discs, crossings, bars, a window to cut out."""

from __future__ import annotations

import math
from itertools import groupby
from typing import Final

from platekit.drawing.pdf.letters import LINE, POINT, SMALLEST_TEXT, letters
from platekit.drawing.pdf.paper import SIZES, PaperSheet
from platekit.drawing.pdf.pen import Pen, Way
from platekit.drawing.pdf.printer import Printer, amount_words
from platekit.drawing.text import wrapped
from platekit.geometry import Box, Edge, Line, Point, polar
from platekit.scan.codes import BAND, DOT, RIM, SECTORS, Shows
from platekit.scan.sheet import CROSSING, FrameSheet

TICK: Final = 2.0
"""Half the length of the ticks that end a bar, mm (ours)."""
CHORD: Final = math.radians(2.0)
"""Step of the chords of a disc, rad: they stay within 0.002 mm of it (ours)."""
CUT_DASH: Final = (3.0, 1.5)
"""Dashes of the line to cut the window out by, mm (ours)."""

SHOWN_WORDS: Final[dict[Shows, str]] = {
    "face": "the picture shows the part's mounting face (looking_at: face)",
    "back": "the picture shows the part from its back, seen through (looking_at: back)",
    "unsaid": "it does not say which face the picture shows",
}
DO: Final = (
    "Print at 100 %, not fitted to the page, on stiff paper. Check the four bars with a steel rule, side and diagonal; "
    "what they measure goes to `platekit read PICTURE --spec SPEC --measured BARS`, or into a printer that `platekit "
    "template` stored.",
    "Cut the window out along the dashes, and nothing else. Leave the rim of the paper on: it keeps the frame flat.",
    "On a flatbed: the frame with its print on the glass, the part face down in the window, on the glass as well. Scan "
    "at 300 dots an inch or more, in grey or colour, without sharpening.",
    "By photo: the frame flat round the part, its print in the plane of the holes' edges (shim the paper up or sink "
    "the part: 1 mm of height costs about 0.16 mm at 90 mm from the middle). From straight above, as far off as fills "
    "the picture, no zoom by software, soft light, all four corners in the picture.",
    "At least two long distances between holes by caliper as well: they set the scale, and show a slip.",
)
"""What to do with it, as it stands in its window."""


def frame_pdf(sheet: FrameSheet, printer: Printer | None = None) -> bytes:
    """The frame as PDF at true size, corrected for the `printer` if one is known; the same frame, the same bytes."""
    paper = PaperSheet(sheet.size, *SIZES[sheet.size])
    said = SHOWN_WORDS[sheet.shows]
    pen = Pen(f"platekit frame, {sheet.size}", f"frame for a picture, {sheet.size}; {said}")
    bend = None if printer is None else printer.distortion(paper.width, paper.height).inverse
    pen.page(paper.width, paper.height, bend)
    bars = sheet.bars
    dx, dy = (paper.width - bars.width) / 2, (paper.height - bars.height) / 2

    def way(at: Point) -> Point:
        return (at[0] + dx, at[1] + dy)

    _draw_bars(pen, bars, way)
    for code, at in sheet.codes:
        _draw_disc(pen, code.word, way(at))
    for x, y in sheet.crossings.tolist():
        for start in (0.0, math.pi):
            pen.solid(_wedge(way((x, y)), 0.0, CROSSING, start, start + math.pi / 2))
    window = sheet.window
    corners = [(window.x0, window.y0), (window.x1, window.y0), (window.x1, window.y1), (window.x0, window.y1)]
    sides: list[Edge] = [Line(corners[k], corners[(k + 1) % 4]) for k in range(4)]
    pen.edges(sides, way, dash=CUT_DASH)
    # what is to be known of the frame stays on it when the window is cut out; what is to be done goes with the cut-out
    low, up = window.y0 - 3.6, window.y1 + 1.8
    pen.text(way((window.x0, up)), f"platekit frame {sheet.size}: {said}", SMALLEST_TEXT)
    corrected = "not corrected for a printer"
    if printer is not None:
        corrected = f"corrected for {printer.called}: {amount_words(printer)}"
    pen.text(way((window.x0, low)), corrected, SMALLEST_TEXT)
    _draw_words(pen, Box(*way((window.x0, window.y0)), *way((window.x1, window.y1))).grown(-8.0), sheet)
    pen.end_page()
    return pen.finished()


def _draw_bars(pen: Pen, bars: Box, way: Way) -> None:
    """Four lines that end in each other, with ticks, and what each is to measure."""
    corners = [(bars.x0, bars.y0), (bars.x1, bars.y0), (bars.x1, bars.y1), (bars.x0, bars.y1)]
    for k in range(4):
        pen.line(way(corners[k]), way(corners[(k + 1) % 4]))
        x, y = way(corners[k])
        pen.line((x - TICK, y), (x + TICK, y))
        pen.line((x, y - TICK), (x, y + TICK))
    across, along = f"{bars.width:g} mm", f"{bars.height:g} mm"
    x, y = way(bars.center)
    pen.text((x, way((0.0, bars.y0))[1] - 3.4), f"bottom {across}", SMALLEST_TEXT, align="middle")
    pen.text((x, way((0.0, bars.y1))[1] + 1.2), f"top {across}", SMALLEST_TEXT, align="middle")
    pen.upright_text((way((bars.x0, 0.0))[0] - 1.2, y), f"left {along}")
    pen.upright_text((way((bars.x1, 0.0))[0] + 3.4, y), f"right {along}")


def _draw_disc(pen: Pen, word: int, at: Point) -> None:
    """A coded disc: all that is black, as one area each."""
    pen.area([_ring(at, RIM), _ring(at, BAND[1])], 0.0)
    pen.area([_ring(at, BAND[0]), _ring(at, DOT)], 0.0)
    # black neighbours as one area, so that no white line shows where they meet; begun behind a white sector
    step = 2 * math.pi / SECTORS
    white = [bool(word >> sector & 1) for sector in range(SECTORS)]
    begin = white.index(True) + 1
    order = [(begin + k) % SECTORS for k in range(SECTORS)]
    for is_white, run in groupby(order, key=lambda sector: white[sector]):
        sectors = list(run)
        if not is_white:
            start = sectors[0] * step
            pen.solid(_wedge(at, BAND[0] - 0.02, BAND[1] + 0.02, start, start + len(sectors) * step))


def _ring(at: Point, radius: float) -> list[Point]:
    count = round(2 * math.pi / CHORD)
    return [polar(at, radius, 2 * math.pi * k / count) for k in range(count)]


def _wedge(at: Point, inner: float, outer: float, start: float, end: float) -> list[Point]:
    """A part of a ring, as a polygon; a quarter of a disc where `inner` is 0."""
    count = max(round((end - start) / CHORD), 2)
    angles = [start + (end - start) * k / count for k in range(count + 1)]
    rim = [polar(at, outer, angle) for angle in angles]
    return [*rim, at] if inner == 0.0 else [*rim, *(polar(at, inner, angle) for angle in reversed(angles))]


def _draw_words(pen: Pen, room: Box, sheet: FrameSheet) -> None:
    """What to do, in the part that is cut out, and room for what the bars measure."""
    size = 10.0
    y = room.y1 - 6.0
    pen.text((room.x0, y), "A frame for a picture of a hole pattern", 14.0, "bold")
    y -= 10.0
    for number, sentence in enumerate(DO, 1):
        lines = wrapped(sentence, room.width - 7.0, letters(size))
        pen.text((room.x0, y), f"{number}.", size)
        for line in lines:
            pen.text((room.x0 + 7.0, y), line, size)
            y -= size * LINE / POINT
        y -= 2.5
    y -= 2.0
    pen.text((room.x0, y), "measured:", size, "bold")
    pen.text((room.x0 + 20.0, y), "rising is the diagonal from lower left to upper right", size)
    bars = sheet.bars
    diagonal = f"{math.hypot(bars.width, bars.height):.1f} mm"
    across, along = f"{bars.width:g} mm", f"{bars.height:g} mm"
    meant = {"bottom": across, "top": across, "left": along, "right": along, "rising": diagonal, "falling": diagonal}
    for name, length in meant.items():
        y -= 8.0
        pen.text((room.x0 + 7.0, y), f"{name}, meant to be {length}", size)
        pen.line((room.x0 + 72.0, y - 0.8), (room.x0 + 100.0, y - 0.8))

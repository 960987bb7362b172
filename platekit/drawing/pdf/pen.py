"""A pen that draws on PDF pages in millimetres: hairlines, exact shapes, and text in any European script.

PDF knows no arcs, so an arc is drawn as cubic curves, in pieces so small that they stay within 0.0005 mm of it.

Text is set in the open typeface of `letters.py`, which is embedded in the file.
"""

from __future__ import annotations

import io
import math
import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from functools import lru_cache
from typing import Any, Final, Literal

from platekit.drawing.dimensions import arrowhead
from platekit.drawing.pdf.letters import (
    LINE,
    POINT,
    SMALLEST_TEXT,
    Face,
    font_name,
    letters,
    pictures_later,
    printable,
    text_width,
)
from platekit.drawing.text import shortened, wrapped
from platekit.geometry import Arc, Box, Edge, Point, Shape

Align = Literal["left", "middle", "right"]
Dash = tuple[float, ...]
Way = Callable[[Point], Point]
"""A step from the drawing's frame to the sheet."""
Matrix = tuple[tuple[float, float], tuple[float, float]]
"""A linear map of the page, by rows: new x from x and y, new y from x and y."""

HAIRLINE: Final = 0.15
"""Width of a fine line, mm: thin enough to split with a punch, thick enough to copy (common practice)."""
STAMP_LINE: Final = 0.6
"""Width of a stamp's letters, mm (ours: no line of a drawing is so broad)."""
CURVE_ERROR: Final = 0.0005
"""Farthest that a drawn arc may leave the true one, mm: a tenth of what a good printer resolves (ours)."""
QUARTER_ERROR: Final = 2.8e-4
"""How far the usual cubic curve leaves a quarter circle, in radii; it falls with the angle to the sixth (textbook)."""

ORIGIN: Final = "BT 1 0 0 1 0 0 Tm"
"""How a text begins that stands at the lower left of the page, as PDF says it."""
DAY_FROM_OUTSIDE: Final = "SOURCE_DATE_EPOCH"
"""The variable from which the PDF library would take the day of a file."""


class Pen:
    """Draws on the pages of one PDF. All lengths and places are mm from the lower left of the page, text sizes points.

    The bytes depend on nothing but what is drawn: no date, no random number.
    """

    def __init__(self, title: str, subject: str) -> None:
        self._file = io.BytesIO()
        self._set: dict[tuple[str, Face, float], str] = {}  # what follows the place of a line of text that was set
        self._canvas = _undated(self._file)
        self._canvas.setTitle(_whole_signs(title))
        self._canvas.setSubject(_whole_signs(subject))
        self._canvas.setAuthor("platekit")
        self._canvas.setCreator("platekit")
        self._canvas.setViewerPreference("PrintScaling", "None")
        self._canvas.setViewerPreference("Duplex", "Simplex")

    def page(self, width: float, height: float, bend: Matrix | None = None) -> None:
        """Sets the size of the page that is being drawn; to be called first on every page.

        `bend` is put on all that is drawn, about the middle of the page: what a printer's error is mended with.
        """
        self._canvas.setPageSize((width * POINT, height * POINT))
        if bend is not None:
            (a, c), (b, d) = bend
            x, y = width / 2 * POINT, height / 2 * POINT
            self._canvas.transform(a, b, c, d, x - a * x - c * y, y - b * x - d * y)
        self._canvas.setLineCap(0)
        self._canvas.setLineJoin(0)

    def end_page(self) -> None:
        """Finishes the page."""
        self._canvas.showPage()

    def finished(self) -> bytes:
        """The whole file."""
        with _binary_streams():
            self._canvas.save()
        return self._file.getvalue()

    # ------------------------------------------------------------------------------------------ lines

    # Lines are put down as PDF says them: as reportlab would say them, figure by figure, in half its time

    def line(self, a: Point, b: Point, width: float = HAIRLINE, dash: Dash = (), phase: float = 0.0) -> None:
        """A straight line; its dashes begin `phase` mm into their pattern."""
        self._put(_stroke(width, dash, phase))
        self._put(f"n {_said(a)} m {_said(b)} l S")

    def chain(self, points: Sequence[Point], width: float = HAIRLINE, dash: Dash = ()) -> None:
        """Straight lines from point to point, mm."""
        self._put(_stroke(width, dash))
        self._put(f"{_run(points)}\nS")

    def box(self, box: Box, width: float = HAIRLINE, dash: Dash = (), fill: float | None = None) -> None:
        """An upright rectangle; `fill` is its grey from 0 (black) to 1 (white), `width` (mm) 0 leaves out the line."""
        self._put(_stroke(width, dash))
        if fill is not None:
            self._put(f"{figure(fill)} g")
        work = {(False, False): "n", (True, False): "S", (False, True): "f*", (True, True): "B*"}[
            width > 0, fill is not None
        ]
        self._put(f"n {_said((box.x0, box.y0))} {_said((box.width, box.height))} re {work}")

    def solid(self, points: Sequence[Point]) -> None:
        """A black polygon, its corners in mm."""
        self._put(f"{figure(0)} g\n{_run(points)} h\nf*")

    def area(self, lines: Iterable[Sequence[Point]], grey: float) -> None:
        """What lies within closed lines, those round holes among them, in a grey from 0 (black) to 1 (white)."""
        runs = " ".join(f"{_run(points, begin=not index)} h" for index, points in enumerate(lines))
        self._put(f"{figure(grey)} g\n{runs}\nf*\n{figure(0)} g")

    def shape(self, shape: Shape, way: Way, width: float = HAIRLINE, dash: Dash = ()) -> None:
        """The outline of a shape, brought to the sheet by `way` (which may move, turn and mirror)."""
        self.edges(shape.loop().edges, way, width, dash)

    def edges(
        self, edges: Iterable[Edge], way: Way, width: float = HAIRLINE, dash: Dash = (), closed: bool = True
    ) -> None:
        """A run of edges, closed or open."""
        code: list[str] = []
        for start, *rest in _pieces(edges):
            if not code:
                code.append(f"n {_said(way(start))} m")
            ends = " ".join([_said(way(point)) for point in rest])
            code.append(f"{ends} l" if len(rest) == 1 else f"{ends} c")
        if closed:
            code.append("h")
        self._put(_stroke(width, dash))
        self._put(f"{' '.join(code)}\nS")

    def circle(
        self, center: Point, radius: float, way: Way = lambda point: point, width: float = HAIRLINE, dash: Dash = ()
    ) -> None:
        """A circle of a radius in mm, drawn as finely as any other arc."""
        east = (center[0] + radius, center[1])
        self.edges([Arc(center, radius, 0.0, math.tau, east, east)], way, width, dash)

    def arc(self, center: Point, radius: float, start: float, sweep: float, width: float = HAIRLINE) -> None:
        """A part of a circle, from the angle `start` counter-clockwise through `sweep` (rad)."""
        a = (center[0] + radius * math.cos(start), center[1] + radius * math.sin(start))
        b = (center[0] + radius * math.cos(start + sweep), center[1] + radius * math.sin(start + sweep))
        self.edges([Arc(center, radius, start, sweep, a, b)], lambda point: point, width, closed=False)

    def arrow(self, tail: Point, tip: Point, width: float = 0.5, head: float = 3.0) -> None:
        """An arrow with a solid head, `head` mm long."""
        corners = arrowhead(tip, (tip[0] - tail[0], tip[1] - tail[1]), head, head * 0.36).corners
        self.line(tail, ((corners[1][0] + corners[2][0]) / 2, (corners[1][1] + corners[2][1]) / 2), width)
        self.solid(corners)

    def crosshair(self, center: Point, gap: float, reach: float, width: float = HAIRLINE) -> None:
        """A cross that is open in the middle, so that a punch sees paper: arms from `gap` to `reach`, mm."""
        x, y = center
        for ux, uy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
            self.line((x + gap * ux, y + gap * uy), (x + reach * ux, y + reach * uy), width)

    @contextmanager
    def within(self, box: Box) -> Iterator[None]:
        """Nothing drawn inside the block shows outside the box."""
        self._canvas.saveState()
        path = self._canvas.beginPath()
        path.rect(box.x0 * POINT, box.y0 * POINT, box.width * POINT, box.height * POINT)
        self._canvas.clipPath(path, stroke=0, fill=0)
        try:
            yield
        finally:
            self._canvas.restoreState()

    # ------------------------------------------------------------------------------------------- text

    def text(
        self,
        at: Point,
        text: str,
        size: float = SMALLEST_TEXT,
        face: Face = "regular",
        align: Align = "left",
        grey: float = 0.0,
    ) -> None:
        """One line of text on its base line: `at` in mm, `size` in points."""
        shown = printable(text)
        offset = {"left": 0.0, "middle": 0.5, "right": 1.0}[align] * text_width(shown, size, face)
        code = self._set.get((shown, face, size))
        if code is None:
            self._canvas.setFont(font_name(face), size)
            # what `drawString` does, without the width that it works out of every text to throw it away
            line = self._canvas.beginText(0, 0)
            line.textLine(shown)
            code = self._set[shown, face, size] = str(line.getCode()).removeprefix(ORIGIN)
        self._put(f"{figure(grey)} g\nBT 1 0 0 1 {_said((at[0] - offset, at[1]))} Tm{code}")

    def title(self, at: Point, text: str, width: float, size: float, least: float) -> None:
        """A title in bold, at most `width` mm wide, about the base line through `at`; sizes in points.

        It is cut only where it is no title any more: first its letters are made smaller, down to `least`, then it goes
        on two lines.
        """
        wide = text_width(text, size, "bold")
        shrunk = size if wide <= width else math.floor(size * width / wide * 10) / 10
        if shrunk >= least:
            self.text(at, text, shrunk, "bold")
            return
        step = least * LINE / POINT
        first, *rest = wrapped(text, width, letters(least, "bold")) or ("",)
        self.text((at[0], at[1] + 0.55 * step), first, least, "bold")
        self.text((at[0], at[1] - 0.45 * step), shortened(" ".join(rest), width, letters(least, "bold")), least, "bold")

    def upright_text(
        self, at: Point, text: str, size: float = SMALLEST_TEXT, face: Face = "regular", align: Align = "middle"
    ) -> None:
        """One line of text that reads from below upward, its base line through `at`."""
        self._canvas.saveState()
        self._canvas.translate(at[0] * POINT, at[1] * POINT)
        self._canvas.rotate(90)
        self.text((0.0, 0.0), text, size, face, align)
        self._canvas.restoreState()

    def stamp(self, center: Point, text: str, size: float, turn_deg: float, grey: float) -> None:
        """Large hollow letters, `turn_deg` degrees up, in a grey from 0 (black) to 1: seen at once, hiding nothing."""
        shown = printable(text)
        self._canvas.saveState()
        self._canvas.translate(center[0] * POINT, center[1] * POINT)
        self._canvas.rotate(turn_deg)
        # broad and grey: a hairline in black is what is cut along
        self._put(_stroke(STAMP_LINE, ()))
        self._put(f"{figure(grey)} G")
        # mode 1 strokes the letters and leaves them open: what lies below stays readable, and a copier does not turn
        # them black
        hollow = self._canvas.beginText(-text_width(shown, size, "bold") / 2 * POINT, -0.35 * size)
        hollow.setFont(font_name("bold"), size)
        hollow.setTextRenderMode(1)
        hollow.textOut(shown)
        hollow.setTextRenderMode(0)
        self._canvas.drawText(hollow)
        self._canvas.restoreState()

    def _put(self, code: str) -> None:
        self._canvas.addLiteral(code)


def figure(value: float) -> str:
    """A figure as reportlab says it in a PDF file: seven digits in all, six behind the point at most."""
    size = abs(value)
    if size <= 1e-7:
        return "0"
    if size < 10.0:
        text = f"{value:.6f}"
    elif size < 100.0:
        text = f"{value:.5f}"
    elif size < 1000.0:
        text = f"{value:.4f}"
    else:
        text = f"{value:.{max(7 - len(str(int(size))), 0)}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return text[1:] if text[0] == "0" and len(text) > 1 else text


def _said(point: Point) -> str:
    """A point of the sheet, or two lengths, in points."""
    return f"{figure(point[0] * POINT)} {figure(point[1] * POINT)}"


def _run(points: Sequence[Point], begin: bool = True) -> str:
    """Straight lines from point to point, at the beginning of a path or on in it."""
    first, *rest = map(_said, points)
    return " ".join([f"n {first} m" if begin else f"{first} m", *[f"{one} l" for one in rest]])


@lru_cache(maxsize=256)
def _stroke(width: float, dash: Dash, phase: float = 0.0) -> str:
    """What makes lines black, so wide and so dashed; all in mm."""
    dashes = " ".join(figure(part * POINT) for part in dash)
    return f"{figure(0)} G\n{figure(width * POINT)} w\n[{dashes}] {phase * POINT} d"


@contextmanager
def _binary_streams() -> Iterator[None]:
    """Keeps reportlab from writing its streams as text, which makes files a quarter larger and takes a while."""
    from reportlab import rl_config

    before = rl_config.useA85
    rl_config.useA85 = 0
    try:
        yield
    finally:
        rl_config.useA85 = before


# ----------------------------------------------------------------------------------------------- shapes


def _pieces(edges: Iterable[Edge]) -> Iterator[tuple[Point, ...]]:
    """Each edge as straight pieces (two points) and cubic curves (four points)."""
    for edge in edges:
        if isinstance(edge, Arc):
            # PDF has no arcs. A cubic whose handles are 4/3 tan(angle / 4) radii long (published: the usual fit,
            # textbook) misses the circle by an amount that grows with the sixth power of the angle: half the angle, a
            # sixty-fourth of the error
            largest = math.pi / 2 * min(1.0, (CURVE_ERROR / (QUARTER_ERROR * edge.radius)) ** (1 / 6))
            count = max(math.ceil(abs(edge.sweep) / largest - 1e-9), 1)
            step = edge.sweep / count
            handle = 4 / 3 * math.tan(step / 4) * edge.radius
            (cx, cy), r = edge.center, edge.radius
            for index in range(count):
                one, two = edge.start + index * step, edge.start + (index + 1) * step
                c1, s1, c2, s2 = math.cos(one), math.sin(one), math.cos(two), math.sin(two)
                yield (
                    (cx + r * c1, cy + r * s1),
                    (cx + r * c1 - handle * s1, cy + r * s1 + handle * c1),
                    (cx + r * c2 + handle * s2, cy + r * s2 - handle * c2),
                    (cx + r * c2, cy + r * s2),
                )
        else:
            yield (edge.a, edge.b)


# ------------------------------------------------------------------------------------------------- text


def _whole_signs(text: str) -> str:
    """The text without halves of signs, which a file name that is no UTF-8 brings along."""
    return text.encode("utf-8", "replace").decode()


def _undated(file: io.BytesIO) -> Any:
    """A canvas whose bytes tell no day, not even one that the environment sets for programs being built."""
    pictures_later()
    from reportlab.pdfgen.canvas import Canvas

    # reportlab takes the day of the file from here if it is set, as where programs are built: then the same plate would
    # have other bytes there
    day = os.environ.pop(DAY_FROM_OUTSIDE, None)
    try:
        return Canvas(file, invariant=1, pageCompression=1, pdfVersion=(1, 7))
    finally:
        if day is not None:
            os.environ[DAY_FROM_OUTSIDE] = day

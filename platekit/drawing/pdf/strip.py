"""The strip of words at the foot of every paper sheet: what it is, which way up, how to print, prove and join it."""

from __future__ import annotations

import math
from typing import Final

from msgspec import Struct

from platekit.checks.finding import Verdict
from platekit.drawing.cautions import NOT_FOR_CUTTING, SHORT
from platekit.drawing.like_findings import count_words
from platekit.drawing.pdf.letters import LINE, POINT, Face, letters, text_width
from platekit.drawing.pdf.paper import SIZES, PaperSheet, Tile, Tiling
from platekit.drawing.pdf.pen import Matrix, Pen
from platekit.drawing.pdf.printer import Printer, amount_words
from platekit.drawing.text import shortened, wrapped
from platekit.geometry import Box, Shape
from platekit.placed import Layout, Side
from platekit.units import Unit, show_length

AIR: Final = 2.0
"""Paper between the drawing's window and the strip, mm (ours)."""
TOP: Final = 24.5
"""Height of the strip's upper part, mm (ours)."""
GOOD_WIDTH: Final = 180.0
"""Width at which the strip reads best, mm (ours: that of A4)."""
SMALL: Final = 7.0
"""Size of the small print, points; still readable when photocopied (common practice)."""
LINE_HEIGHT: Final = SMALL * LINE / POINT
"""Height of a line of small print, mm."""
ARROW: Final = 19.0
"""Width kept for the arrow, mm (ours)."""
LEGEND: Final = 34.5
"""Width of one column of the legend, mm (ours)."""
LEGEND_ROWS: Final = 3
"""Lines in a column of the legend (ours)."""
MAP: Final = 38.0
"""Width of the map of sheets, mm (ours)."""
NUMBERS_APART: Final = 3.0
"""Numbers on the map nearer than this to that of the present sheet are left out, mm (ours: the height of two)."""
NUMBER_HIGH: Final = 0.36
"""Height of a figure for its width of type, mm per point with some air (ours: a capital has 0.25)."""
LEGEND_FROM: Final = 130.0
"""A strip narrower than this goes without the legend, mm (ours); names of bodies say their side anyway."""
LONGEST_JOIN: Final = 4 * "A1 to ZZ999 99999.99 mm, "
"""The most that there can be to say about the distances of seam crosses; room is kept for it."""
MOST_ACCEPTED: Final = 3
"""Accepted findings told in full; more are counted (ours)."""

NEAR_DASH: Final = (5.0, 1.6)
"""Dashes of a body on the near side, mm; far from FAR_DASH, so that a photocopy still tells them apart (ours)."""
FAR_DASH: Final = (1.2, 1.2)
"""Dashes of a body on the far side, mm (ours)."""

PRINT: Final = (
    "Print at 100 % (actual size), not fitted to the page. The four bars along the edges and both diagonals from "
    "corner to corner must measure what they say, or this sheet is no template: then give all six to `platekit "
    "template SPEC --measured BARS` (rising is the diagonal from lower left to upper right) and print again."
)
CORRECTED: Final = (
    "Print at 100 % (actual size), and only on {printer}, whose error it is corrected for: {amount}. The four bars "
    "along the edges and both diagonals from corner to corner must measure what they say, or this sheet is no "
    "template. Never type in readings of a corrected sheet."
)
LONGEST_NAME: Final = 24
"""Most characters of a printer's name on a sheet (ours)."""
LONGEST_CORRECTED: Final = CORRECTED.format(
    printer=f"the printer {'m' * LONGEST_NAME}",
    amount="0.00 % too short across and 0.00 % too short along an upright sheet, 0.00 degrees askew",
)
"""Room is kept for it whether or not a printer is known, so that correcting moves nothing on the paper."""
BEHIND: Final = "You look at the plate from behind: left and right are exchanged against the near side. "
OVER: Final = "You look at the part turned over: left and right are exchanged. "
JOIN: Final = (
    "Trim each sheet along its frame where it says so, lay it over its neighbour cross on cross, and measure the "
    "glued sheets:"
)


class Saying(Struct, frozen=True):
    """What there is to say about a plate seen from one side."""

    layout: Layout
    verdict: Verdict
    side: Side
    about: str
    """The spec, its revision and the plate in one line."""
    printer: Printer | None = None
    """The printer that the sheets are corrected for."""

    @property
    def unit(self) -> Unit:
        """The unit of the spec."""
        return self.layout.spec.unit

    @property
    def clear(self) -> bool:
        """Whether the plate may be cut."""
        return self.verdict.clear

    def bend(self, sheet: PaperSheet) -> Matrix | None:
        """What mends the printer's error on a sheet; None if nothing is to be mended."""
        return None if self.printer is None else self.printer.distortion(sheet.width, sheet.height).inverse

    @property
    def up(self) -> float:
        """Direction of up on the machine in the view of that side, rad."""
        up = self.layout.up
        return up if self.side == "near" else math.pi - up

    @property
    def face(self) -> str:
        """Which face the reader looks at."""
        flat = self.layout.flat
        return f"{self.side.upper()} SIDE facing you" if flat is None else flat.faces[self.side == "far"]


def saying(layout: Layout, verdict: Verdict, side: Side, printer: Printer | None = None) -> Saying:
    """What there is to say about that side of the plate."""
    unit, box = layout.spec.unit, layout.outline.box
    plate = f"{layout.material.name}, {show_length(layout.thickness, unit)} thick"
    size = by(box.width, box.height, unit)
    about = f"{layout.spec.name}  ·  revision {layout.spec.revision}  ·  {plate}  ·  {size} over all"
    return Saying(layout, verdict, side, about, printer)


def by(width: float, height: float, unit: Unit) -> str:
    """Two lengths as one size.

    >>> by(9, 32, "mm")
    '9 × 32 mm'
    """
    return f"{show_length(width, unit).rsplit(' ', 1)[0]} × {show_length(height, unit)}"


def height(width: float, say: Saying, many: bool) -> float:
    """Height of the strip at a width, mm; `many` when there are several sheets to join."""
    # Room is kept for the longest that could be said of printing and joining: the window above must be the same whether
    # or not a printer is known, or a corrected print would show other parts of the plate on other sheets
    printing = max(
        len(wrapped(words, width, letters(SMALL)))
        for words in (_printing(say), _turned(say) + max(PRINT, LONGEST_CORRECTED, key=len))
    )
    lines = printing + sum(map(len, _small_print(width, say)[1:])) + len(_joining(width, LONGEST_JOIN if many else ""))
    return TOP + lines * LINE_HEIGHT


def draw(
    pen: Pen, box: Box, say: Saying, tiling: Tiling, tile: Tile, number: int, outline: Shape, distances: str
) -> None:
    """The whole strip of one sheet, in `box` (mm); `distances` are those of the seam crosses."""
    pen.line((box.x0, box.y1), (box.x1, box.y1), 0.3)
    top = box.y1 - 1.0
    many = len(tiling.tiles) > 1
    if say.layout.flat is None or say.layout.flat.up:
        x, y = box.x0 + 8.2, top - 8.3
        dx, dy = 7.8 * math.cos(say.up), 7.8 * math.sin(say.up)
        pen.arrow((x - dx, y - dy), (x + dx, y + dy), 0.9, 5.0)
        pen.text((x, top - 19.2), "UP", 10, "bold", "middle")
        pen.text((x, top - 21.9), "on the machine", SMALL, align="middle")
    right = box.x1
    if many:
        room = MAP if box.width >= LEGEND_FROM else 0.7 * MAP
        _map(pen, Box(right - room + 2, top - TOP + 2, right, top), tiling, tile, outline)
        right -= room
    left = box.x0 + ARROW
    pen.title((left, top - 4.3), say.layout.title, right - left, 13, 8)
    pen.text((left, top - 8.1), shortened(say.about, right - left, letters(8)), 8)
    if box.width >= LEGEND_FROM:
        right -= 2 * LEGEND
        _legend(pen, right, top - 13.0, say, many and not tile.extra)
    width = right - left - 2
    size = 14 * min(1.0, width / text_width(say.face, 14, "bold"))
    pen.text((left, top - 13.9), say.face, size, "bold")
    sheet = f"true size 1 : 1  ·  sheet {number} of {len(tiling.tiles)}"
    if tile.extra:
        sheet = f"{sheet}, a whole pattern"
    elif tile.sheet.name in SIZES:
        sheet = f"{sheet}  ·  {tile.sheet.name.capitalize()} {tile.sheet.lies}"
    pen.text((left, top - 17.7), shortened(sheet, width, letters(8)), 8)
    if not say.clear:
        stops = count_words(say.verdict.open("stop"), "stop")
        words = f"{NOT_FOR_CUTTING}: {stops}"
        size = 9 if text_width(words, 9, "bold") <= width - 3 else SMALL
        words = shortened(words, width - 3, letters(size, "bold"))
        pen.box(Box(left, top - 23.3, left + text_width(words, size, "bold") + 3, top - 19.0), width=0, fill=0.0)
        pen.text((left + 1.5, top - 22.2), words, size, "bold", grey=1.0)
    # How to print comes first of the small print: whoever misses that has no template, whatever else is read
    first, *rest = _small_print(box.width, say)
    lines = [
        *first,
        *_joining(box.width, distances if many and not tile.extra else ""),
        *(line for part in rest for line in part),
    ]
    for index, line in enumerate(lines):
        pen.text((box.x0, top - TOP + 1.0 - (index + 1) * LINE_HEIGHT + 0.8), line, SMALL)


def _small_print(width: float, say: Saying) -> list[tuple[str, ...]]:
    """The small print in lines: how to print, where a guard's part belongs, the cautions, what was accepted."""
    accepted = say.verdict.accepted
    said = [
        line
        for finding in accepted[:MOST_ACCEPTED]
        for line in wrapped(f"Accepted, {finding.message}, because: {finding.accepted}", width, letters(SMALL))
    ]
    if len(accepted) > MOST_ACCEPTED:
        said.append(f"{len(accepted) - MOST_ACCEPTED} more findings are accepted; the bench sheet lists them.")
    part = () if say.layout.flat is None else wrapped(say.layout.flat.note, width, letters(SMALL))
    return [wrapped(_printing(say), width, letters(SMALL)), part, wrapped(SHORT, width, letters(SMALL)), tuple(said)]


def _printing(say: Saying) -> str:
    """From where the plate is seen, how to print, and how to see that it came out true."""
    if say.printer is None:
        return _turned(say) + PRINT
    name = say.printer.called[: len("the printer ") + LONGEST_NAME]
    return _turned(say) + CORRECTED.format(printer=name, amount=amount_words(say.printer))


def _turned(say: Saying) -> str:
    if say.side == "near":
        return ""
    return BEHIND if say.layout.flat is None or say.layout.flat.up else OVER


def _joining(width: float, distances: str) -> tuple[str, ...]:
    return wrapped(f"{JOIN} {distances}", width, letters(SMALL)) if distances else ()


def _legend(pen: Pen, left: float, top: float, say: Saying, many: bool) -> None:
    rows: list[tuple[str, str]] = [
        ("line", "finished size"),
        ("ring", f"{show_length(1.0, say.layout.spec.unit)} outside the hole"),
    ]
    sides = {body.side for body in say.layout.bodies if not body.hardware}
    rows += [(side, f"part on the {side} side") for side in ("near", "far") if side in sides]
    if any(opening.thread is not None for opening in say.layout.openings):
        rows.append(("thread", "thread"))
    if any(mount.travel is not None for mount in say.layout.mounts.values()):
        rows.append(("tight", "tightens the belt"))
    if say.layout.flat is not None and say.layout.flat.folds:
        rows.append(("line", "short: a bend, see last page"))
    if many:
        rows.append(("cross", "joins sheets"))
    for index, (kind, words) in enumerate(rows):
        column, row = divmod(index, LEGEND_ROWS)
        x, y = left + column * LEGEND, top - row * 4.4
        _sample(pen, kind, x, y + 0.8)
        pen.text((x + 9.5, y), words, SMALL)


def _sample(pen: Pen, kind: str, x: float, y: float) -> None:
    middle = (x + 4.2, y)
    if kind == "ring":
        pen.circle(middle, 1.0)
        pen.circle(middle, 1.7)
    elif kind == "thread":
        pen.circle(middle, 1.0)
        pen.arc(middle, 1.4, math.radians(100), math.radians(260))
    elif kind == "tight":
        pen.solid([(x + 3.0, y - 1.0), (x + 3.0, y + 1.0), (x + 5.4, y)])
    elif kind == "cross":
        pen.circle(middle, 1.2)
        pen.crosshair(middle, 0.0, 1.9)
    else:
        dash = {"near": NEAR_DASH, "far": FAR_DASH}.get(kind, ())
        pen.line((x, y), (x + 8.4, y), 0.2, dash)


def _map(pen: Pen, box: Box, tiling: Tiling, tile: Tile, outline: Shape) -> None:
    """A small map of the sheets, the present one framed thick and numbered."""
    whole = tiling.box
    scale = min(box.width / whole.width, box.height / whole.height)
    dx = box.x1 - whole.width * scale - whole.x0 * scale
    dy = box.y1 - whole.height * scale - whole.y0 * scale

    def way(point: tuple[float, float]) -> tuple[float, float]:
        return (point[0] * scale + dx, point[1] * scale + dy)

    pen.shape(outline, way, 0.1)
    # numbers only where the tiles are larger than the letters; that of this sheet always
    numbered = min(tile.box.width, tile.box.height) * scale > 4.0
    here = way(tile.box.center)
    for other in tiling.tiles:
        (x0, y0), (x1, y1) = way((other.box.x0, other.box.y0)), way((other.box.x1, other.box.y1))
        pen.box(Box(x0, y0, x1, y1), 0.7 if other == tile else 0.1, (0.7, 0.7) if other.extra else ())
    for number, other in enumerate(tiling.tiles, start=1):
        at = way(other.box.center)
        hidden = other.extra or not numbered or math.dist(at, here) < NUMBERS_APART
        if other == tile or not hidden:
            # A number on the map on a white ground, so that no line runs through it
            present = other == tile
            size, words = 9.0 if present else SMALL, str(number)
            face: Face = "bold" if present else "regular"
            wide, high = text_width(words, size, face) / 2 + 0.3, size * NUMBER_HIGH / 2
            pen.box(Box(at[0] - wide, at[1] - high, at[0] + wide, at[1] + high), width=0, fill=1.0)
            pen.text((at[0], at[1] - size * 0.125), words, size, face, "middle")

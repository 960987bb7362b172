"""Dimensions of a drawing, worked out as plain values that a picture and a paper draw alike.

Drawn after ISO 129-1: thin continuous extension lines that begin a little off the part and end a little past the
dimension line, closed arrowheads, figures above the line, readable from below or from the right; a small circle where
running dimensions begin. Figures are words made by the caller.

Vocabulary
    style    how dimensions look on a sheet; its sizes here are mm of paper, which a picture enlarges by `unit`
    mark     one thing to draw: a line, an arrowhead, a ring, a figure
    ladder   running dimensions from a zero, each on its rung: a line that ends at its figure

All places and lengths are in units of the sheet.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Final, Literal

from msgspec import Struct

from platekit.drawing.text import Measure
from platekit.geometry import Box, Point, Shape

HEAD: Final = 2.4
"""Length of an arrowhead, mm (common practice: about the height of the figures)."""
HEAD_HALF: Final = 0.4
"""Half the width of an arrowhead, mm (common practice: a third of its length over all)."""
OFF_PART: Final = 1.0
"""Gap between the part and an extension line, mm. Common practice (ISO 129-1 leaves it open, ASME Y14.5 has it)."""
PAST_LINE: Final = 1.5
"""How far an extension line runs past its dimension line, mm (common practice)."""
ABOVE_LINE: Final = 0.9
"""Between a dimension line and the figure above it, mm (ours)."""
BESIDE: Final = 1.0
"""Between arrows and a figure that stands beside them, mm (ours)."""
AIR: Final = (0.6, 0.5)
"""White that words keep along and across their line, mm (ours)."""
RUNG: Final = 3.4
"""Least distance of two figures of a ladder, mm (ours: their height and some air)."""
JOG: Final = (2.5, 6.0)
"""Where a ladder's lines leave straight for their figure, and where they are straight again, mm off the part (ours)."""
TAIL: Final = 1.5
"""Straight end of a ladder's line before its figure, mm (ours)."""
ZERO_RING: Final = 0.9
"""Radius of the circle where running dimensions begin, mm (ours)."""
STRAIGHT: Final = 0.05
"""A rung whose figure is moved by less than this needs no jog, mm (ours)."""
CAPITAL: Final = 0.72
"""Height of a figure, in sizes of its letters (ours, of the faces that are used)."""

Along = Literal["level", "upright"]


class Style(Struct, frozen=True):
    """How dimensions look on one kind of sheet.

    `unit` is how long a mm of this file is drawn, in units of the sheet; `size` is that of the figures as the sheet
    counts letters, `high` the height of a figure and `measure` its width in units of the sheet. `down` says that y
    counts down.
    """

    unit: float
    size: float
    high: float
    measure: Measure
    down: bool = False


class ThinLine(Struct, frozen=True):
    """Thin straight lines from point to point."""

    points: tuple[Point, ...]


class Head(Struct, frozen=True):
    """A filled arrowhead: its tip, then its two other corners."""

    corners: tuple[Point, Point, Point]


class ThinRing(Struct, frozen=True):
    """A thin circle."""

    center: Point
    radius: float


class DimensionFigure(Struct, frozen=True):
    """Words by their middle; upright ones read from the right."""

    middle: Point
    words: str
    style: Style
    upright: bool = False

    @property
    def box(self) -> Box:
        """What the words take up, with some air; sheet units (on paper mm)."""
        style = self.style
        along = style.measure(self.words) / 2 + AIR[0] * style.unit
        across = style.high / 2 + AIR[1] * style.unit
        dx, dy = (across, along) if self.upright else (along, across)
        x, y = self.middle
        return Box(x - dx, y - dy, x + dx, y + dy)


Mark = ThinLine | Head | ThinRing | DimensionFigure


class Dimension(Struct, frozen=True):
    """What is drawn, in this order, and the room that its lines take beside the part."""

    marks: tuple[Mark, ...]
    lines: Box

    @property
    def words(self) -> tuple[Box, ...]:
        """The room of each figure."""
        return tuple(mark.box for mark in self.marks if isinstance(mark, DimensionFigure))


class Rung(Struct, frozen=True):
    """One running dimension: its coordinate on the sheet, where its line begins, and its figure."""

    at: float
    start: float
    words: str
    zero: bool = False


def arrowhead(tip: Point, way: Point, length: float, half: float) -> Head:
    """A closed arrowhead that points along `way`, a vector of any length but 0; `half` is half its width."""
    far = math.hypot(*way)
    ux, uy = way[0] / far, way[1] / far
    x, y = tip[0] - length * ux, tip[1] - length * uy
    return Head((tip, (x - half * uy, y + half * ux), (x + half * uy, y - half * ux)))


def pointed(style: Style, start: Point, tip: Point) -> tuple[Mark, ...]:
    """A line with an arrowhead at its end, where it is long enough for one: a leader, or half a dimension."""
    way = (tip[0] - start[0], tip[1] - start[1])
    if math.hypot(*way) <= HEAD * style.unit:
        return (ThinLine((start, tip)),)
    return ThinLine((start, tip)), arrowhead(tip, way, HEAD * style.unit, HEAD_HALF * style.unit)


def linear(
    style: Style,
    low: float,
    high: float,
    line: float,
    words: str,
    along: Along,
    ends: tuple[float, float],
    limit: float = math.inf,
) -> Dimension:
    """A linear dimension between two coordinates, `low` before `high`, all in sheet units (on paper mm).

    `line` is where the dimension line lies, across it; `ends` are where the part is at both coordinates, from where the
    extension lines run. Where there is no room between the arrows, they stand outside and the figure beside them: after
    them, or before them where it would reach beyond `limit`.
    """
    unit, wide = style.unit, style.measure(words)
    level = along == "level"

    def at(a: float, b: float) -> Point:
        return (a, b) if level else (b, a)

    def head(place: float, way: float) -> Head:
        return arrowhead(at(place, line), at(way, 0.0), HEAD * unit, HEAD_HALF * unit)

    marks: list[Mark] = []
    for place, end in zip((low, high), ends, strict=True):
        way = math.copysign(unit, line - end)
        if abs(line - end) > OFF_PART * unit:
            marks.append(ThinLine((at(place, end + way * OFF_PART), at(place, line + way * PAST_LINE))))
    # two heads and a little line between them, else the arrows point inwards from outside
    roomy = high - low >= (2 * HEAD + 0.5) * unit
    aside = 0.0 if roomy else 2 * HEAD * unit
    if roomy:
        marks += [ThinLine((at(low, line), at(high, line))), head(high, 1.0), head(low, -1.0)]
    else:
        marks += [ThinLine((at(low - aside, line), at(low, line))), ThinLine((at(high, line), at(high + aside, line)))]
        marks += [ThinLine((at(low, line), at(high, line))), head(low, 1.0), head(high, -1.0)]
    # Above a level line is where y grows on paper and shrinks in a picture; above an upright one, read from the right,
    # is left of it on both.
    over = (style.high / 2 + ABOVE_LINE * unit) * (1.0 if level and not style.down else -1.0)
    if high - low >= wide + BESIDE * unit:
        middle = at((low + high) / 2, line + over)
    else:
        beyond = high + aside + wide / 2 + BESIDE * unit
        if beyond + wide / 2 > limit:
            beyond = low - aside - wide / 2 - BESIDE * unit
        middle = at(beyond, line + over if roomy else line)
    marks.append(DimensionFigure(middle, words, style, not level))
    return Dimension(tuple(marks), Box(*at(low - aside, line - unit), *at(high + aside, line + unit)))


def over_all_ends(outline: Shape, axis: int, choose: Callable[[list[float]], float]) -> tuple[float, float]:
    """Where along the other axis an outline reaches its least and its greatest coordinate, mm in the plate's frame.

    An outline may lie along its extreme; `choose` (`min` or `max`) then takes the place nearer to the dimension line.
    """
    box = outline.box
    # quarters of each edge: an arc reaches its extreme at an end or, of the corners that plates have, near enough to
    # one of these; this only places the foot of an extension line
    points = [edge.at(share) for edge in outline.loop().edges for share in (0.0, 0.25, 0.5, 0.75, 1.0)]
    # an edge along the extreme may end by rounding a hair short of it, so places are compared by a share of the size
    near = max(1e-3 * max(box.width, box.height), 1e-6)

    def at(place: float) -> float:
        found = [point[1 - axis] for point in points if abs(point[axis] - place) < near]
        return choose(found) if found else box.center[1 - axis]

    return at(box[axis]), at(box[axis + 2])


# ---------------------------------------------------------------------------------------- the ladder


def spread_out(wanted: Sequence[float], gap: float, low: float, high: float) -> tuple[float, ...] | None:
    """Places for sorted wishes, `gap` apart at least and within `low` to `high`, moved as little as can be.

    All in one unit, mm or sheet units. Least squares of the moves, by pooling neighbours that push each other. None if
    they do not fit.

    >>> spread_out([10, 10, 30], 4, 0, 40)
    (8.0, 12.0, 30)
    """
    if not wanted:
        return ()
    if (len(wanted) - 1) * gap > high - low + 1e-9:
        return None
    # With `gap x index` taken off each wish, places that are `gap` apart at least are places that do not fall. The
    # nearest such row has neighbours that fall pooled at their mean, until no pool lies below the one before it.
    pools: list[tuple[float, int]] = []  # mean of (wish - gap x index), and how many
    for index, wish in enumerate(wanted):
        mean, count = wish - gap * index, 1
        while pools and pools[-1][0] > mean:
            before, many = pools.pop()
            mean, count = (before * many + mean * count) / (many + count), many + count
        pools.append((mean, count))
    last = high - gap * (len(wanted) - 1)
    means = [min(max(mean, low), last) for mean, count in pools for _ in range(count)]
    return tuple(mean + gap * index for index, mean in enumerate(means))


def ladder_depth(style: Style, longest: float) -> float:
    """How far a ladder reaches off the part when its longest figure is so wide; sheet units (on paper mm)."""
    return (JOG[1] + TAIL + 1.6) * style.unit + longest


def ladder(
    style: Style, rungs: Sequence[Rung], edge: float, room: tuple[float, float], along: Along, away: float = -1.0
) -> Dimension | None:
    """Running dimensions along an edge of a part, at `edge`; None if they have no room.

    `along` says which way the coordinates run: level ones stand beyond the part where y is less (`away` -1) or more
    (1), upright ones where x is. Each line runs from its feature straight out of the part; where figures would stand
    closer than `RUNG` they are spread, and the line jogs aside between the two distances of `JOG`, so that the lines of
    neighbours never cross. `room` is where figures may stand.
    """
    unit, level = style.unit, along == "level"
    # sorted as the coordinates run; lines that never change places cannot cross
    ordered = sorted(rungs, key=lambda rung: round(rung.at, 6))
    places = spread_out([rung.at for rung in ordered], RUNG * unit, *room)
    if places is None or not ordered:
        return None

    def at(a: float, b: float) -> Point:
        return (a, b) if level else (b, a)

    way = away * unit
    leaves, arrives = edge + way * JOG[0], edge + way * JOG[1]
    out = arrives + way * TAIL
    marks: list[Mark] = []
    for rung, place in zip(ordered, places, strict=True):
        # a jog of a twentieth of a millimetre would look like a slip of the pen
        bent = abs(place - rung.at) > STRAIGHT * unit
        jog = [at(rung.at, leaves), at(place, arrives)] if bent else []
        marks.append(ThinLine((at(rung.at, rung.start), *jog, at(place, out))))
        if rung.zero:
            marks.append(ThinRing(at(rung.at, leaves), ZERO_RING * unit))
        middle = at(place, out + away * (0.8 * unit + style.measure(rung.words) / 2))
        marks.append(DimensionFigure(middle, rung.words, style, level))
    half = RUNG * unit / 2
    low, high = min(places[0], ordered[0].at) - half, max(places[-1], ordered[-1].at) + half
    near, far = sorted((edge + way * 0.5, out))
    return Dimension(tuple(marks), Box(*at(low, near), *at(high, far)))

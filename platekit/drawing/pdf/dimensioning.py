"""Dimensions on a drawing: extension lines, arrowheads, figures, and the ladder of running dimensions from a zero.

Drawn after ISO 129-1: thin continuous extension lines that begin a little off the part and end a little past the
dimension line, closed arrowheads, figures above the line, readable from below or from the right; a small circle where
running dimensions begin. All in mm of the sheet; figures are words made by the caller.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, Literal

from msgspec import Struct

from platekit.drawing.pdf.letters import POINT, text_width
from platekit.drawing.pdf.pen import Pen
from platekit.geometry import Box, Point

THIN: Final = 0.18
"""Width of a thin line, mm. Published: ISO 128-2, line group 0.35."""
WIDE: Final = 0.35
"""Width of a visible outline, mm. Published: ISO 128-2, line group 0.35."""
HEAD: Final = 2.4
"""Length of an arrowhead, mm (common practice: about the height of the figures)."""
HEAD_HALF: Final = 0.4
"""Half the width of an arrowhead, mm (common practice: a third of its length over all)."""
OFF_PART: Final = 1.0
"""Gap between the part and an extension line, mm. Common practice (ISO 129-1 leaves it open, ASME Y14.5 has it)."""
PAST_LINE: Final = 1.5
"""How far an extension line runs past its dimension line, mm (common practice)."""
FIGURE: Final = 8.0
"""Size of figures, points: 2.8 mm line height, read at arm's length and after copying (ours)."""
FIGURE_HIGH: Final = FIGURE * 0.72 / POINT
"""Height of a figure, mm."""
RUNG: Final = 3.4
"""Least distance of two figures of a ladder, mm (ours: their height and some air)."""
JOG: Final = (2.5, 6.0)
"""Where a ladder's lines leave straight for their figure, and where they are straight again, mm off the part (ours)."""
TAIL: Final = 1.5
"""Straight end of a ladder's line before its figure, mm (ours)."""

CHAIN: Final = (6.0, 1.0, 0.8, 1.0)
"""Centre lines: long dashes and dots. Published: ISO 128-2, type 04.1."""
HIDDEN: Final = (2.2, 0.8)
"""Hidden edges. Published: ISO 128-2, type 02.1."""
PHANTOM: Final = (5.0, 0.8, 0.6, 0.8, 0.6, 0.8)
"""Parts beside the plate: long dashes and two dots. Published: ISO 128-2, type 05.1."""

Along = Literal["level", "upright"]


class Taken(Struct, frozen=True):
    """The room that dimensions take: that of each figure, and that of their lines."""

    words: tuple[Box, ...]
    lines: Box


def arrowhead(pen: Pen, tip: Point, angle: float) -> None:
    """A closed arrowhead whose tip is at a point and which points along `angle` (rad)."""
    ux, uy = math.cos(angle), math.sin(angle)
    back = (tip[0] - HEAD * ux, tip[1] - HEAD * uy)
    pen.solid(
        [
            tip,
            (back[0] - HEAD_HALF * uy, back[1] + HEAD_HALF * ux),
            (back[0] + HEAD_HALF * uy, back[1] - HEAD_HALF * ux),
        ]
    )


def words_box(at: Point, words: str, upright: bool = False, size: float = FIGURE) -> Box:
    """What words take up whose middle is at a point."""
    half, high = text_width(words, size) / 2 + 0.6, 0.72 * size / POINT / 2 + 0.5
    dx, dy = (high, half) if upright else (half, high)
    return Box(at[0] - dx, at[1] - dy, at[0] + dx, at[1] + dy)


def write_middle(pen: Pen, at: Point, words: str, upright: bool = False, size: float = FIGURE) -> None:
    """Words whose middle is at a point; upright ones read from the right."""
    drop = 0.35 * size / POINT
    if upright:
        pen.upright_text((at[0] + drop, at[1]), words, size)
    else:
        pen.text((at[0], at[1] - drop), words, size, align="middle")


def linear(
    pen: Pen,
    low: float,
    high: float,
    line: float,
    words: str,
    along: Along,
    ends: tuple[float, float],
    limit: float = math.inf,
) -> Taken:
    """A linear dimension between two coordinates; gives back the room it takes.

    `line` is where the dimension line lies, across it; `ends` are where the part is at both coordinates, from where the
    extension lines run. Where there is no room between the arrows, they stand outside and the figure beside them: after
    them, or before them where it would reach beyond `limit`.
    """

    def at(a: float, b: float) -> Point:
        return (a, b) if along == "level" else (b, a)

    for place, end in zip((low, high), ends, strict=True):
        way = math.copysign(1.0, line - end)
        if abs(line - end) > OFF_PART:
            pen.line(at(place, end + way * OFF_PART), at(place, line + way * PAST_LINE), THIN)
    turn = 0.0 if along == "level" else math.pi / 2
    wide = text_width(words, FIGURE)
    roomy = high - low >= 2 * HEAD + 0.5
    if roomy:
        pen.line(at(low, line), at(high, line), THIN)
        arrowhead(pen, at(high, line), turn)
        arrowhead(pen, at(low, line), turn + math.pi)
    else:
        pen.line(at(low - 2 * HEAD, line), at(low, line), THIN)
        pen.line(at(high, line), at(high + 2 * HEAD, line), THIN)
        pen.line(at(low, line), at(high, line), THIN)
        arrowhead(pen, at(low, line), turn)
        arrowhead(pen, at(high, line), turn + math.pi)
    over = FIGURE_HIGH / 2 + 0.9
    over = over if along == "level" else -over
    if high - low >= wide + 1.0:
        middle = at((low + high) / 2, line + over)
    else:
        aside = 0.0 if roomy else 2 * HEAD
        beyond = high + aside + wide / 2 + 1.0
        if beyond + wide / 2 > limit:
            beyond = low - aside - wide / 2 - 1.0
        middle = at(beyond, line + over if roomy else line)
    write_middle(pen, middle, words, along == "upright")
    aside = 0.0 if roomy else 2 * HEAD
    lines = Box(*at(low - aside, line - 1.0), *at(high + aside, line + 1.0))
    return Taken((words_box(middle, words, along == "upright"),), lines)


class Rung(Struct, frozen=True):
    """One running dimension: its coordinate on the sheet, where its line begins, and its figure."""

    at: float
    start: float
    words: str
    zero: bool = False


def spread_out(wanted: Sequence[float], gap: float, low: float, high: float) -> tuple[float, ...] | None:
    """Places for sorted wishes, `gap` apart at least and within `low` to `high`, moved as little as can be.

    Least squares of the moves, by pooling neighbours that push each other. None if they do not fit.

    >>> spread_out([10, 10, 30], 4, 0, 40)
    (8.0, 12.0, 30)
    """
    if not wanted:
        return ()
    if (len(wanted) - 1) * gap > high - low + 1e-9:
        return None
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


def ladder_depth(longest: float) -> float:
    """How far a ladder reaches off the part, mm, when its longest figure is so wide."""
    return JOG[1] + TAIL + 1.6 + longest


def ladder(
    pen: Pen, rungs: Sequence[Rung], edge: float, room: tuple[float, float], along: Along, away: float = -1.0
) -> Taken | None:
    """Running dimensions along an edge of a part, at `edge`; None if they have no room.

    `along` says which way the coordinates run: level ones stand below the part (`away` -1) or above it (1), upright
    ones at its left or right. Each line runs from its feature out of the part, aside where its figure has to make way,
    and ends at the figure. `room` is where figures may stand. Gives back the room that they take outside the part.
    """
    ordered = sorted(rungs, key=lambda rung: round(rung.at, 6))
    places = spread_out([rung.at for rung in ordered], RUNG, *room)
    if places is None or not ordered:
        return None

    def at(a: float, b: float) -> Point:
        return (a, b) if along == "level" else (b, a)

    leaves, arrives = edge + away * JOG[0], edge + away * JOG[1]
    out = arrives + away * TAIL
    figures = []
    for rung, place in zip(ordered, places, strict=True):
        bent = abs(place - rung.at) > 0.05
        middle = [at(rung.at, leaves), at(place, arrives)] if bent else []
        pen.chain([at(rung.at, rung.start), *middle, at(place, out)], THIN)
        if rung.zero:
            pen.circle(at(rung.at, leaves), 0.9, width=THIN)
        figure_at = at(place, out + away * (0.8 + text_width(rung.words, FIGURE) / 2))
        write_middle(pen, figure_at, rung.words, upright=along == "level")
        figures.append(words_box(figure_at, rung.words, along == "level"))
    low, high = min(places[0], ordered[0].at) - RUNG / 2, max(places[-1], ordered[-1].at) + RUNG / 2
    near, far = sorted((edge + away * 0.5, out))
    return Taken(tuple(figures), Box(*at(low, near), *at(high, far)))


def leader(pen: Pen, start: Point, tip: Point) -> None:
    """A leader line with an arrowhead at what it points to."""
    pen.line(start, tip, THIN)
    if math.dist(start, tip) > HEAD:
        arrowhead(pen, tip, math.atan2(tip[1] - start[1], tip[0] - start[0]))


def center_mark(pen: Pen, center: Point, reach: float) -> None:
    """The two centre lines of a round feature: chain lines that cross in a dash and end `reach` from its middle."""
    x, y = center
    dash = CHAIN if reach > CHAIN[0] else ()
    for ux, uy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
        pen.line(center, (x + reach * ux, y + reach * uy), THIN, dash, phase=CHAIN[0] / 2)


def zero_mark(pen: Pen, at: Point) -> None:
    """The mark of the point that X and Y count from: a ring with two filled quarters."""
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

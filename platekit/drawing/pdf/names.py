"""Names on paper: words beside what they name, placed by `labels`, written by the pen. Sheet frame: mm, y up."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from platekit.drawing.labels import PAPER, Points, Wish, place
from platekit.drawing.pdf.letters import LINE, POINT, Face, letters, text_width
from platekit.drawing.pdf.pen import Pen
from platekit.drawing.text import shortened
from platekit.geometry import Box, Point

EDGE: Final = 0.4
"""White kept round the words, mm (ours)."""
SIZE: Final = 8.0
"""Size of the words, points (ours: read at arm's length)."""
GROUND: Final = (0.09, 0.28)
"""How far the white under words goes below and above their base line, mm per point (ours: tails and capitals)."""
WIDEST: Final = 60.0
"""Longest line, mm (ours); a longer one is cut with an ellipsis."""
POINTED_FROM: Final = 1.4
"""Words that are told where their leader ends get one when they stand this much beyond their room, mm (ours)."""
LEADER: Final = 0.1
"""Width of a leader, mm: finer than anything it could be taken for (ours)."""
OFF_AXIS: Final = math.radians(14)
"""A leader nearer to level or upright than this is slanted, so that it is no arm of a crosshair (ours)."""
SLANT: Final = math.radians(24)
"""By how much its end is moved round the point then (ours)."""


class NameWish(Struct, frozen=True):
    """Words that want a place near `point`, outside the radius `room` round it: each line with its face.

    A leader ends at the radius `edge` round the point, or where `tip` says when it is told where the leader begins.
    """

    lines: tuple[tuple[str, Face], ...]
    point: Point
    room: float
    edge: float
    tip: Callable[[Point], Point] | None = None
    key: str = ""
    """Goes over to the name, to tell which it is."""
    pointed: bool = False
    """Always with a leader to its `tip`, however near it stands: it tells of more than what is beside it."""


class Name(Struct, frozen=True):
    """Words with their place, and a leader to what they name if they stand away from it."""

    lines: tuple[tuple[str, Face], ...]
    box: Box
    leader: tuple[Point, Point] | None
    key: str = ""


def step(size: float) -> float:
    """Distance of two lines of words of a size in points, mm."""
    return size * LINE / POINT


def placed_names(
    wanted: Sequence[NameWish],
    window: Box,
    keep_clear: Iterable[Box],
    drawn: Points,
    size: float = SIZE,
    edges: Points = (),
    hollows: Iterable[Box] = (),
) -> list[Name]:
    """The names that have room in the window, in the order of `wanted`, none over another or over `keep_clear`.

    `size` is that of the words, points. `drawn` are points of lines that had better stay visible, `edges` points of
    lines that must; `hollows` the openings that names could be taken to belong to. A name that finds no room is left
    out. No wants give no names.
    """
    short = [
        replace(want, lines=tuple((shortened(line, WIDEST, letters(size, face)), face) for line, face in want.lines))
        for want in wanted
    ]
    wishes = []
    for index, want in enumerate(short):
        width = max(text_width(line, size, face) for line, face in want.lines) + 2 * EDGE
        height = len(want.lines) * step(size) + EDGE
        wishes.append(Wish(str(index), *want.point, want.room, width, height))
    # an order of importance: the first come best off, and the last may find no room
    spots = place(wishes, window, list(keep_clear), drawn, PAPER, edges, list(hollows))
    names: list[Name] = []
    slanted: dict[int, list[tuple[Point, Point]]] = {}
    for want, spot in zip(short, spots, strict=True):
        box = spot.frame
        # `place` drops no label, it goes on below the field; on paper what is there would lie on the words of the sheet
        if not (window.x0 <= box.x0 and window.y0 <= box.y0 and box.x1 <= window.x1 and box.y1 <= window.y1):
            continue
        start = (min(max(want.point[0], box.x0), box.x1), min(max(want.point[1], box.y0), box.y1))
        leader = None
        if want.tip is not None:
            if want.pointed or math.dist(start, want.point) > want.room + POINTED_FROM:
                if box.x0 < want.point[0] < box.x1:
                    # straight up or down it would be one more line of a dimension: it leaves from an end of the words
                    ends = sorted((box.x0, box.x1), key=lambda x: abs(round(x - want.point[0], 6)))
                    start = (ends[0], start[1])
                leader = (start, want.tip(start))
        elif spot.leader is not None:
            angle = math.atan2(start[1] - want.point[1], start[0] - want.point[0])
            # A leader level or upright would be taken for one more arm of the crosshair in its hole, so it is slanted:
            # `off` is the angle to the nearest axis, between -45 and 45 degrees
            off = (angle + math.pi / 4) % (math.pi / 2) - math.pi / 4
            angles = [angle]
            if abs(off) < OFF_AXIS and want.edge > 0.0:
                angles = [angle + math.copysign(SLANT, off) - off, angle - math.copysign(SLANT, off) - off, angle]
            (x, y), edge = want.point, want.edge
            ways = [(start, (x + edge * math.cos(one), y + edge * math.sin(one))) for one in angles]
            leader, slanted[len(names)] = ways[0], ways
        names.append(Name(want.lines, box, leader, want.key))
    # slanted it must not run through another name that it passed by straight
    for index, ways in slanted.items():
        others = [name.box.grown(-EDGE / 2) for name in names if name is not names[index]]
        clear = [way for way in ways if not any(_meets(way, box) for box in others)]
        names[index] = replace(names[index], leader=(clear or ways)[0])
    return names


def _meets(line: tuple[Point, Point], box: Box) -> bool:
    """Whether a straight line comes into a box."""
    (ax, ay), (bx, by) = line
    if max(ax, bx) <= box.x0 or min(ax, bx) >= box.x1 or max(ay, by) <= box.y0 or min(ay, by) >= box.y1:
        return False
    sides = [(bx - ax) * (y - ay) - (by - ay) * (x - ax) for x in (box.x0, box.x1) for y in (box.y0, box.y1)]
    return min(sides) < 0 < max(sides)


def write_name(pen: Pen, name: Name, size: float = SIZE) -> None:
    """Draws the leader and the words."""
    if name.leader is not None:
        pen.line(*name.leader, width=LEADER)
    write_words(pen, name, size)


def ground(pen: Pen, name: Name, size: float = SIZE) -> None:
    """White under the words alone, each line for itself, so that what runs through a name does not strike it out."""
    for index, (line, face) in enumerate(name.lines):
        x, y = name.box.x0 + EDGE, name.box.y1 - (index + 0.82) * step(size)
        low, high = y - GROUND[0] * size, y + GROUND[1] * size
        pen.box(Box(x - EDGE / 2, low, x + text_width(line, size, face) + EDGE / 2, high), width=0, fill=1.0)


def write_words(pen: Pen, name: Name, size: float = SIZE) -> None:
    """Draws the words alone."""
    for index, (line, face) in enumerate(name.lines):
        pen.text((name.box.x0 + EDGE, name.box.y1 - (index + 0.82) * step(size)), line, size, face)

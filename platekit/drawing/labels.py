"""Where labels go, in pictures and on paper, so that none covers another and each is seen to belong to its point.

Vocabulary
    grain    units of the sheet against those of the figures in this file, and which way its y counts
    frame    an upright rectangle on the sheet
    wish     a label that wants a place: its size, its point or line, and how much room that point keeps
    spot     the place that a label got, with a leader if it stands away from its point

Labels are placed in the order given, each at the cheapest free frame round its point; one that wants to stand on a line
tries that first. What finds no room goes to a side of the field, and on below it if need be: no label is dropped, none
overlaps another.

Placing all of them at once, as well as possible, would take far longer and would move every label when one is added. In
order, the first come best off, so that the caller gives the most important first; and the same wishes always get the
same spots. Candidates are all worked out at once as columns of an array: that is what makes thousands of them cheap.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import cache, lru_cache
from itertools import pairwise

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from platekit.drawing.view import View
from platekit.geometry import Box, Point, Shape

Floats = NDArray[np.float64]
Frames = NDArray[np.float64]
"""Frames as columns: rows are left, lower, right and upper edge as the figures count."""
Points = Sequence[Point] | NDArray[np.float64]
"""Points one by one, or as rows."""

ON_LINE = 17
"""Places tried along a line, from its middle outwards (ours)."""
LINE_SHARE = 0.8
"""Share of a line, round its middle, on which its label may stand (ours: its ends must stay seen)."""
DIRECTIONS = 36
"""Directions tried round a point (ours)."""
DISTANCES = (3.0, 9.0, 18.0, 30.0, 45.0, 64.0, 88.0, 118.0, 155.0, 200.0, 260.0)
"""Distances tried from the point's own room to the label's frame, sheet units (ours)."""
FIRST = 8
"""So many of the cheapest are looked at first (ours)."""
NEARLY = 1e-5
"""Costs that are nearer than this may be the same (rounding)."""
AT_ONCE = (0, 2, 5, len(DISTANCES))
"""So many distances are tried at a time (ours): most labels stand near their points."""
LEADER_FROM = 8.0
"""A label farther from its point's room than this gets a leader, sheet units (ours)."""
GAP = 2.0
"""Air between two labels, sheet units (ours)."""
COVERED = 4.0
"""Cost of covering one point of drawn work, in units of distance (ours)."""
CELL = 3.0
"""Size of the squares in which drawn points are counted, sheet units (ours)."""
CROSSED = 60.0
"""Cost of a leader that crosses another, in units of distance (ours)."""
UNDER = 150.0
"""Cost of a leader that runs under another label, in units of distance (ours: most of the longest leader; what strikes
through words is worse than a long way)."""
STRUCK = 1000.0
"""Cost of words on another's leader, in units of distance (ours: they are struck through, so only where there is no
other place)."""
OVER_EDGE = 12.0
"""Cost of each stretch of a leader that lies on an edge which must stay seen, in units of distance (ours): a leader
that runs into an opening on its way seems to end there."""
THROUGH = 90.0
"""Cost of a leader that runs through an opening on its way to another, in units of distance (ours): it would be taken
for a leader to that one, and of a slot it looks like an arm of the cross."""
TAKEN_FOR = 50.0
CLEARLY = 6.0
CLOSE_BY = 14.0
"""Cost of not standing clearly nearer to the label's own opening than to another, by how much, and how near the other
must be to matter, in units of distance (ours): names are read as those of what is next to them."""
STRETCHES = 24
"""Stretches of a leader that are looked at (ours)."""
ASTRAY = 40.0
"""Cost of standing in an opening that is not the label's own, in units of distance (ours): it would be taken for its
name."""


MOST_POINTS = 4000
"""Most points that one edge is given (ours: an edge of 2 m on paper)."""


class Grain(Struct, frozen=True):
    """How fine a sheet is: `per_unit` of the units in this file make one of the sheet. `down`: its y counts down."""

    per_unit: float = 1.0
    down: bool = True


PICTURE = Grain()
"""The figures in this file are the units of a picture."""
PAPER = Grain(3.0, down=False)
"""On paper, in mm, the nearest place is then 1 mm off and the farthest 87 mm (ours)."""


class Wish(Struct, frozen=True):
    """A label that wants a place, in units of the sheet.

    `x`, `y` is its point, `room` the radius round it to leave free; `width` and `height` are the label's own. With
    `along`, the ends of a line, it stands with its middle on that line if it can, as near to the line's middle as it
    can; `x`, `y` is where its leader goes if it cannot.
    """

    key: str
    x: float
    y: float
    room: float
    width: float
    height: float
    along: tuple[Point, Point] | None = None


class LabelSpot(Struct, frozen=True):
    """The place a label got; `leader` runs from its edge to its point's room, None when it stands close."""

    key: str
    frame: Box
    leader: tuple[float, float, float, float] | None


def place(
    wishes: Iterable[Wish],
    field: Box,
    taken: Sequence[Box] = (),
    drawn: Points = (),
    grain: Grain = PICTURE,
    edges: Points = (),
    hollows: Sequence[Box] = (),
) -> tuple[LabelSpot, ...]:
    """A spot for every wish, in the same order, in units of the sheet.

    `field` is where labels may stand, `taken` are frames that no label may overlap, `drawn` are points of lines that
    are better left visible, `edges` points of lines that no label may hide at all (but one that asks to stand on a line
    of its own); points closer than `CELL` leave no gap for a label. `hollows` are openings in which only
    labels whose points lie in them had better stand. A label without room near its point goes to a side
    of the field, as high as there is room, or below the field's end. No wishes give no spots.

    >>> [spot.leader is None for spot in place([Wish("a", 50, 50, 5, 30, 10)], Box(0, 0, 100, 100))]
    [True]
    """
    per, rise = grain.per_unit, grain.per_unit if grain.down else -grain.per_unit

    def point(at: Point) -> Point:
        return (at[0] * per, at[1] * rise)

    def frame(box: Box) -> Box:
        ys = (box.y0 * rise, box.y1 * rise)
        return Box(box.x0 * per, min(ys), box.x1 * per, max(ys))

    def wished(wish: Wish) -> Wish:
        x, y = point((wish.x, wish.y))
        along = None if wish.along is None else (point(wish.along[0]), point(wish.along[1]))
        return Wish(wish.key, x, y, wish.room * per, wish.width * per, wish.height * per, along)

    def on_sheet(spot: LabelSpot) -> LabelSpot:
        box = spot.frame
        ys = (box.y0 / rise, box.y1 / rise)
        leader = None
        if spot.leader is not None:
            x0, y0, x1, y1 = spot.leader
            leader = (x0 / per, y0 / rise, x1 / per, y1 / rise)
        return LabelSpot(spot.key, Box(box.x0 / per, min(ys), box.x1 / per, max(ys)), leader)

    field = frame(field)
    ink, kept = (_ink(field, (np.array(points).reshape(-1, 2) * (per, rise)).tobytes()) for points in (drawn, edges))
    board = _Board(field, _array([frame(box) for box in taken]), ink, kept, _array([frame(box) for box in hollows]))
    return tuple(on_sheet(board.spot(wished(wish))) for wish in wishes)


def points_along(shape: Shape, at: Callable[[Point], Point], step: float) -> Iterator[Point]:
    """Points of the sheet along the edge of a shape, `step` mm of the plate apart or a little less.

    `at` brings a point of the plate to the sheet. They tell `place` where lines are drawn.
    """
    return map(at, _on_plate(shape, step))


def points_seen(shape: Shape, view: View, step: float) -> NDArray[np.float64]:
    """The same points as rows, as `view` brings them to the sheet: all at once, which is far quicker."""
    x, y = rows_along(shape, step).T
    return np.column_stack((view.x + view.scale * x, view.y + view.rise * y))


@lru_cache(maxsize=512)
def rows_along(shape: Shape, step: float) -> NDArray[np.float64]:
    """Points of the plate along the edge of a shape, `step` mm apart or a little less, as rows; not to be changed."""
    return np.array(_on_plate(shape, step), dtype=np.float64).reshape(-1, 2)


# Kept: every picture of a set asks for the same shapes, each twice.
@lru_cache(maxsize=512)
def _on_plate(shape: Shape, step: float) -> tuple[Point, ...]:
    points: list[Point] = []
    for edge in shape.loop().edges:
        count = min(max(math.ceil(edge.length / step), 1), MOST_POINTS)
        points += [edge.at(index / count) for index in range(count)]
    return tuple(points)


# ------------------------------------------------------------------------------------- the placing itself


class _Board:
    """What is on the sheet so far. Lives only while `place` runs."""

    def __init__(self, field: Box, taken: Frames, ink: _Ink, edges: _Ink, hollows: Frames) -> None:
        self._field = field
        self._taken = taken
        self._ink = ink
        self._edges = edges
        self._hollows = hollows
        self._leaders: Frames = np.empty((4, 0))

    def spot(self, wish: Wish) -> LabelSpot:
        """The cheapest free spot for one wish; from then on it is taken."""
        frame, leader = None if wish.along is None else self._on_line(wish, wish.along), None
        if frame is None:
            frame = self._near(wish) or self._at_the_side(wish)
            x = min(max(wish.x, frame.x0), frame.x1)
            y = min(max(wish.y, frame.y0), frame.y1)
            away = math.hypot(x - wish.x, y - wish.y)
            if away <= wish.room + LEADER_FROM or away == 0:
                leader = None
            else:
                share = wish.room / away
                leader = (x, y, wish.x + (x - wish.x) * share, wish.y + (y - wish.y) * share)
        self._taken = np.concatenate((self._taken, _array([frame.grown(GAP)])), axis=1)
        if leader is not None:
            self._leaders = np.concatenate((self._leaders, np.array([leader]).T), axis=1)
        return LabelSpot(wish.key, frame, leader)

    def _on_line(self, wish: Wish, along: tuple[Point, Point]) -> Box | None:
        """The free frame on the line that is nearest to its middle, towards the second end first."""
        (ax, ay), (bx, by) = along
        frames = []
        for step in range(ON_LINE):
            share = 0.5 + (step + 1) // 2 * (1 if step % 2 else -1) * LINE_SHARE / (ON_LINE - 1)
            x, y = ax + (bx - ax) * share, ay + (by - ay) * share
            frames.append(Box(x - wish.width / 2, y - wish.height / 2, x + wish.width / 2, y + wish.height / 2))
        return next((one for one, hit in zip(frames, _hits(_array(frames), self._taken), strict=True) if not hit), None)

    def _near(self, wish: Wish) -> Box | None:
        """The cheapest free frame round the point; none if all are taken or leave the field."""
        left, low, right, high = self._hollows
        mine = (left <= wish.x) & (wish.x <= right) & (low <= wish.y) & (wish.y <= high)
        hollows = (self._hollows[:, mine], self._hollows[:, ~mine])
        best: tuple[float, Box] | None = None
        for first, after in pairwise(AT_ONCE):
            # What is farther away costs more than its distance: as soon as that is too much, no more need be asked.
            if best is not None and best[0] <= DISTANCES[first]:
                break
            frames, costs = self._frames(wish, first, after)
            # Only what lies between the point and the farthest frames can be in the way of any.
            left, low, right, high = self._taken
            far_x, far_y = (wish.room + DISTANCES[after - 1] + size + NEARLY for size in (wish.width, wish.height))
            there = (left <= wish.x + far_x) & (right >= wish.x - far_x)
            there &= (low <= wish.y + far_y) & (high >= wish.y - far_y)
            most = math.inf if best is None else best[0]
            best = self._cheapest(wish, frames, costs, self._taken[:, there], hollows, most) or best
        return None if best is None else best[1]

    def _frames(self, wish: Wish, first: int, after: int) -> tuple[Frames, Floats]:
        """The frames within the field at some of the distances, and what each costs by its distance alone."""
        cos, sin, aside, above, away, costs = _round_about(first, after)
        reach = wish.room + away
        # The frame's middle is moved out along the direction until the frame clears the circle of radius `reach`
        center_x = wish.x + cos * reach + aside * wish.width / 2
        center_y = wish.y + sin * reach + above * wish.height / 2
        half_x, half_y = wish.width / 2, wish.height / 2
        frames = np.array((center_x - half_x, center_y - half_y, center_x + half_x, center_y + half_y))
        x0, y0, x1, y1 = frames
        field = self._field
        inside = (x0 >= field.x0) & (y0 >= field.y0) & (x1 <= field.x1) & (y1 <= field.y1)
        return (frames, costs) if inside.all() else (frames[:, inside], costs[inside])

    def _cheapest(
        self, wish: Wish, frames: Frames, costs: Floats, taken: Frames, hollows: tuple[Frames, Frames], most: float
    ) -> tuple[float, Box] | None:
        """The cheapest of some frames that are free, by its cost, if any costs less than `most`.

        `costs` are those of their distance alone; `hollows` are the openings that the wish's point lies in, and all
        others.
        """
        own, others = hollows
        free = (costs < most) & ~_hits(frames, taken)
        frames, costs = frames[:, free], costs[free]
        corners = self._ink.corners(frames)
        costs = costs + COVERED * self._ink.within(corners)
        # Whatever else there is makes a place dearer still
        free = (self._edges.within(corners) == 0) & (costs < most)
        if not free.any():
            return None
        frames, costs = frames[:, free], costs[free]
        ends = np.minimum(np.maximum(((wish.x,), (wish.y,)), frames[:2]), frames[2:])
        under, through = _runs_under(wish, ends, taken, others)
        if self._leaders.size:
            costs += CROSSED * _crossings(wish, ends, self._leaders) + UNDER * under
            costs += STRUCK * _on_leaders(frames, self._leaders)
        else:
            costs += UNDER * under
        # a leader is none where the words stand beside their point
        far = np.hypot(ends[0] - wish.x, ends[1] - wish.y)
        led = far > wish.room + LEADER_FROM
        if others.size:
            costs += ASTRAY * _hits(frames, others)
            costs += THROUGH * led * through
            if own.size:
                away_from_own = _apart(frames, own)
                costs += TAKEN_FOR * (_apart(frames, others) < np.minimum(away_from_own + CLEARLY, CLOSE_BY))
        # rounded, so that of places that cost the same on paper the first is taken on every processor
        # What takes longest to tell is told of the cheapest, then of those that may still be cheaper than they are.
        some = np.zeros(len(costs), dtype=bool)
        some[np.argsort(costs, kind="stable")[:FIRST]] = True
        costs[some] += OVER_EDGE * self._over_edges(wish, ends[:, some], far[some], led[some])
        some = ~some & (costs <= costs[some].min() + NEARLY)
        if some.any():
            costs[some] += OVER_EDGE * self._over_edges(wish, ends[:, some], far[some], led[some])
        costs = costs.round(6)
        best = int(costs.argmin())
        cost = float(costs[best])
        return (cost, Box(*frames[:, best].tolist())) if cost < most else None

    def _over_edges(self, wish: Wish, ends: Floats, far: Floats, led: NDArray[np.bool_]) -> Floats:
        """On how many of its stretches the leader from each of the `ends` lies on an edge that must stay seen.

        `far` is how long each is, `led` which are leaders at all: nearer ones get none.
        """
        crossed = np.zeros(len(far))
        if self._edges.empty or not led.any():
            return crossed
        ends, far = ends[:, led], far[led]
        # from where the leader leaves its own point's room, a square farther so that its own edge is not counted
        begin = np.minimum(wish.room + 2 * CELL, far)
        shares = (begin + (far - begin) * _stretches() / STRETCHES) / np.where(far > 0.0, far, 1.0)
        x, y = ((start + shares * (end - start)).ravel() for start, end in zip((wish.x, wish.y), ends, strict=True))
        specks = np.array((x - 0.1, y - 0.1, x + 0.1, y + 0.1))
        crossed[led] = (self._edges.under(specks) > 0).reshape(STRETCHES, len(far)).sum(axis=0)
        return crossed

    def _at_the_side(self, wish: Wish) -> Box:
        """The highest free frame at the left or right side of the field; there always is one, below it if need be."""
        frames = []
        for left in (self._field.x0, self._field.x1 - wish.width):
            top = self._field.y0
            while True:
                frame = Box(left, top, left + wish.width, top + wish.height)
                row = _array([frame])
                in_the_way = self._taken[:, _hits(self._taken, row)]
                # each step goes below all that is in the way; below the field nothing is any more, so it ends
                if in_the_way.size:
                    top = float(in_the_way[3].max()) + GAP
                elif self._edges.under(row)[0] > 0:
                    top += CELL
                else:
                    break
            frames.append(frame)
        return min(frames, key=lambda frame: (round(frame.y0, 6), round(abs(frame.x0 - wish.x), 6)))


class _Ink:
    """How many drawn points lie under a frame, from a table of sums over small squares.

    With the sums of all that lies above and left of each corner, any rectangle costs four look-ups, however much is
    drawn (summed-area table, textbook): each wish asks for hundreds of frames.
    """

    def __init__(self, field: Box, points: NDArray[np.float64]) -> None:
        wide = max(math.ceil(field.width / CELL), 1)
        high = max(math.ceil(field.height / CELL), 1)
        self._origin = np.array((field.x0, field.y0, field.x0, field.y0))[:, None]
        self._most = np.array((wide, high, wide, high), dtype=np.float64)[:, None]
        self._strides = np.array((high + 1, 1, high + 1, 1))[:, None]
        self.empty = not len(points)
        if self.empty:
            return
        # rounded first: a point on the edge of a square, as those of straight outlines are, belongs to the same
        # one on every processor
        cells = np.floor(np.round((points - (field.x0, field.y0)) / CELL, 6)).astype(np.int64)
        column, row = cells[:, 0], cells[:, 1]
        inside = (column >= 0) & (row >= 0) & (column < wide) & (row < high)
        places = ((column + 1) * (high + 1) + row + 1)[inside]
        counted = np.bincount(places, minlength=(wide + 1) * (high + 1)).reshape(wide + 1, high + 1)
        np.add.accumulate(counted, axis=0, out=counted)
        np.add.accumulate(counted, axis=1, out=counted)
        self._sums = counted.reshape(-1)

    def corners(self, frames: Frames) -> NDArray[np.int64]:
        """Where in the table the corners of each frame are, of all the squares that it touches; alike in one field."""
        # with few calls, each of which takes longer to begin than to end
        cells = ((frames - self._origin) / CELL).round(6)
        np.floor(cells[:2], out=cells[:2])
        np.ceil(cells[2:], out=cells[2:])
        np.maximum(cells, 0.0, out=cells)
        x0, y0, x1, y1 = np.minimum(cells, self._most, out=cells).astype(np.int64) * self._strides
        return np.array((x1 + y1, x0 + y0, x0 + y1, x1 + y0))

    def within(self, corners: NDArray[np.int64]) -> NDArray[np.int64]:
        """Points in the squares between these corners."""
        if self.empty:
            return np.zeros(corners.shape[1], dtype=np.int64)
        high, low, left, right = self._sums[corners]
        return np.asarray(high + low - left - right)

    def under(self, frames: Frames) -> NDArray[np.int64]:
        """Points in all the squares that each frame touches."""
        return self.within(self.corners(frames))


# Kept: the names of a sheet are placed one after the other, over the same lines.
@lru_cache(maxsize=2)
def _ink(field: Box, points: bytes) -> _Ink:
    return _Ink(field, np.frombuffer(points, dtype=np.float64).reshape(-1, 2))


@cache
def _round_about(first: int, after: int) -> tuple[Floats, ...]:
    """Places at some of the distances, nearest first, as figures of each: its direction and what hangs on that alone.

    Cosine, sine, how far a frame lies aside of the point and above it (-1 to 1), distance and cost.
    """
    turn = np.tile(np.arange(DIRECTIONS) * (2 * math.pi / DIRECTIONS), after - first)
    cos, sin = np.cos(turn), np.sin(turn)
    away = np.repeat(DISTANCES[first:after], DIRECTIONS)
    # A place costs its distance; right and left of the point are a little cheaper, as words run level
    return cos, sin, np.clip(2 * cos, -1, 1), np.clip(2 * sin, -1, 1), away, away + 2.0 * np.abs(sin)


@cache
def _stretches() -> Floats:
    """The middles of a leader's stretches, as a column."""
    return np.arange(0.5, STRETCHES, dtype=np.float64)[:, None]


def _array(frames: Sequence[Box]) -> Frames:
    rows = [(frame.x0, frame.y0, frame.x1, frame.y1) for frame in frames]
    return np.array(rows, dtype=np.float64).reshape(-1, 4).T.copy()


# What follows asks each frame or end of a leader (a column) about each of some others (a row).


def _hits(frames: Frames, others: Frames) -> NDArray[np.bool_]:
    """Which frames overlap any of the others."""
    x0, y0, x1, y1 = others[:, :, None]
    shared = (frames[0] < x1) & (x0 < frames[2]) & (frames[1] < y1) & (y0 < frames[3])
    return np.asarray(np.logical_or.reduce(shared, axis=0))


def _apart(frames: Frames, others: Frames) -> Floats:
    """How far each frame is from the nearest of the others, 0 where they overlap."""
    x0, y0, x1, y1 = others[:, :, None]
    x = np.maximum(np.maximum(x0 - frames[2], frames[0] - x1), 0.0)
    y = np.maximum(np.maximum(y0 - frames[3], frames[1] - y1), 0.0)
    # rounded: of openings as far away on both sides neither is the nearer one on any processor
    return np.asarray(np.minimum.reduce(np.hypot(x, y), axis=0).round(6), dtype=np.float64)


def _crossings(wish: Wish, ends: Floats, leaders: Frames) -> Floats:
    """How many leaders that are drawn already the leader from each of the `ends` would cross."""
    # Two segments cross when the ends of each lie on different sides of the other: signs of areas, no division
    x0, y0, x1, y1 = leaders[:, :, None]
    x, y = ends
    along_x, along_y = x - wish.x, y - wish.y
    one = along_x * (y0 - wish.y) - along_y * (x0 - wish.x)
    two = along_x * (y1 - wish.y) - along_y * (x1 - wish.x)
    step_x, step_y = x1 - x0, y1 - y0
    start = step_x * (wish.y - y0) - step_y * (wish.x - x0)
    end = step_x * (y - y0) - step_y * (x - x0)
    crossed = (one * two < 0) & (start * end < 0)
    return np.asarray(np.add.reduce(crossed, axis=0, dtype=np.float64))


def _runs_under(wish: Wish, ends: Floats, taken: Frames, hollows: Frames) -> tuple[Floats, Floats]:
    """Under how many of the `taken` frames, and through how many `hollows`, the leader from each end would run."""
    count, (x0, y0, x1, y1) = taken.shape[1], np.concatenate((taken, hollows), axis=1)
    # A point that itself lies in a frame has no free leader at all, so that frame is left out.
    holds_start = (x0 < wish.x) & (wish.x < x1) & (y0 < wish.y) & (wish.y < y1)
    step_x, step_y = _not_zero(ends[0] - wish.x), _not_zero(ends[1] - wish.y)
    x0, x1, y0, y1 = (x0 - wish.x)[:, None], (x1 - wish.x)[:, None], (y0 - wish.y)[:, None], (y1 - wish.y)[:, None]
    run = _run(x0 / step_x, x1 / step_x, y0 / step_y, y1 / step_y) & ~holds_start[:, None]
    under, through = (np.add.reduce(part, axis=0, dtype=np.float64) for part in (run[:count], run[count:]))
    return np.asarray(under), np.asarray(through)


def _on_leaders(frames: Frames, leaders: Frames) -> Floats:
    """How many of the leaders that are drawn already run through each frame."""
    x0, y0, x1, y1 = leaders[:, :, None]
    step_x, step_y = _not_zero(x1 - x0), _not_zero(y1 - y0)
    left, low, right, high = frames
    run = _run((left - x0) / step_x, (right - x0) / step_x, (low - y0) / step_y, (high - y0) / step_y)
    return np.asarray(np.add.reduce(run, axis=0, dtype=np.float64))


def _run(x0: Floats, x1: Floats, y0: Floats, y1: Floats) -> NDArray[np.bool_]:
    """Which segments run through frames; each figure is the share of its length at which one passes an edge."""
    # A segment runs through a frame if the stretch in which it is between the frame's left and right edge and
    # that in which it is between its lower and upper one overlap (the slab method, as for rays and boxes)
    enter = np.maximum(np.minimum(x0, x1), np.minimum(y0, y1))
    leave = np.minimum(np.maximum(x0, x1), np.maximum(y0, y1))
    return np.asarray((enter < leave) & (leave > 0) & (enter < 1))


def _not_zero(step: Floats) -> Floats:
    return np.where(np.abs(step) < 1e-12, 1e-12, step)

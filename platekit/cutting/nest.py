"""Copies of the plate laid out on a sheet or on an irregular rest of one, with kerf and margin between.

Each copy goes where it comes to lie lowest, then farthest left: it is tried at many places, in several turns, and from
each place that is free it is let down and to the left until it meets something. Polygons that hold the exact shapes
stand for them, so a place that is found has its gaps and a few hundredths more.

A packing library was looked for: those that are kept up pack upright rectangles only, and a remnant is none.

Not every way of laying is tried, so a copy that finds no place here may still have one; a place that is found is good.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

from msgspec import Struct

from platekit.cutting.estimate import margin_of
from platekit.errors import GeometryError
from platekit.geometry import EPS, Box, Disc, Loop, Point, Pose, Shape, polygon_loop, rectangle
from platekit.placed import Layout

QUARTERS = tuple(k * math.pi / 2 for k in range(4))
"""Turns that are tried first, radians."""
FINE_TURNS = tuple(math.radians(5.0 * k) for k in range(72))
"""Turns that are tried when the first copy finds no place in a quarter turn (ours)."""
PLACES_ACROSS = 4
"""Places tried along the shorter side of a copy (ours)."""
MOST_PLACES = 60
"""Most places tried along one side of the sheet (ours)."""
FINEST = 0.05
"""Copies are moved together to within this, mm (ours)."""
LET_DOWN = 6
"""So many of the lowest free places are let down, in each turn, to find the best (ours)."""
CHORD = 0.05
"""How far the polygons that stand for the copies may reach beyond them, mm (ours)."""
CLEARANCE = 0.1
"""Left over at the sheet's edge for chords that stand for arcs, mm (ours)."""


class Nest(Struct, frozen=True):
    """Where the copies lie. `poses` lead from the plate frame to the sheet's, whose lower left is 0,0 for a rectangle.

    `wanted` is how many were asked for; lengths in mm. `gap` is kept between finished edges, `edge_gap` to the sheet's
    edge.
    """

    sheet: Loop
    remnant: bool
    wanted: int
    poses: tuple[Pose, ...]
    gap: float
    edge_gap: float
    used: float
    """Share of the sheet that becomes plates (outlines, openings counted in)."""

    @property
    def fits(self) -> bool:
        """Whether every copy found a place."""
        return len(self.poses) >= self.wanted


def nest(layout: Layout) -> Nest | None:
    """The copies (mm) that the spec asks for on its remnant, else on its sheet; None where it names neither.

    Raises `GeometryError` for a remnant whose corners cross.
    """
    cutting = layout.cutting
    if cutting.remnant is not None:
        sheet = polygon_loop(cutting.remnant)
    elif cutting.sheet is not None:
        width, height = cutting.sheet
        sheet = rectangle(width, height, center=(width / 2, height / 2))
    else:
        return None
    kerf, margin = layout.limits.kerf.value, margin_of(layout)
    # between finished edges lie two kerfs and the margin, at the sheet's edge one
    gap, edge_gap = margin + 2 * kerf, margin + kerf
    poses = lay_out_copies(layout.outline, sheet, cutting.copies, gap, edge_gap)
    used = len(poses) * layout.outline.area / sheet.area
    return Nest(sheet, cutting.remnant is not None, cutting.copies, poses, gap, edge_gap, used)


@lru_cache(maxsize=16)
def lay_out_copies(outline: Shape, sheet: Loop, count: int, gap: float, edge_gap: float) -> tuple[Pose, ...]:
    """Poses of up to `count` copies of an outline in a sheet, none nearer than `gap` (mm), nor `edge_gap` to its edge.

    Fewer come back when no more find a place.
    """
    # a disc looks the same however it is turned
    quarters = QUARTERS[:1] if isinstance(outline, Disc) else QUARTERS
    found = _Laying(outline, sheet, gap, edge_gap, quarters).lay(count)
    return found or _Laying(outline, sheet, gap, edge_gap, FINE_TURNS).lay(count)


class _Laying:
    """The sheet while copies are laid on it."""

    def __init__(self, outline: Shape, sheet: Loop, gap: float, edge_gap: float, turns: Sequence[float]) -> None:
        from platekit.geometry.polygons import FreeRoom

        self._sheet, self._gap, self._edge_gap = sheet, gap, edge_gap
        self._room = FreeRoom(sheet.polygon(outside=False), gap, edge_gap)
        turned = [outline.moved(Pose(turn=turn)) for turn in turns]
        self._turns = tuple(turns)
        self._boxes = [shape.box for shape in turned]
        self._polygons = [shape.polygon(CHORD) for shape in turned]
        self._steps = [min(box.width, box.height) / PLACES_ACROSS for box in self._boxes]
        self._down: list[dict[Point, tuple[Point, Box]]] = [{} for _ in turns]
        # Shifts that spread each turned copy over the sheet, its lowest and leftmost included; coarser on a large one,
        # since every place that is free is let down from anyway.
        room, edge = sheet.box, edge_gap + CLEARANCE
        self._places: list[list[Point]] = []
        for box, polygon, fine in zip(self._boxes, self._polygons, self._steps, strict=True):
            step = max(fine, room.width / MOST_PLACES, room.height / MOST_PLACES)
            xs = _spread(room.x0 + edge - box.x0, room.x1 - edge - box.x1, step)
            ys = _spread(room.y0 + edge - box.y0, room.y1 - edge - box.y1, step)
            self._places.append([(x, y) for y in ys for x in xs if self._room.fits(polygon, x, y)])

    def lay(self, count: int) -> tuple[Pose, ...]:
        """Poses (mm, rad) of up to `count` copies."""
        poses: list[Pose] = []
        while len(poses) < count:
            # the lowest, then leftmost place that a copy can be let down to, by its upper right corner: so that of two
            # turns the flatter one counts as lower; rounded, so that equals are equal everywhere
            best: tuple[float, float, int] | None = None
            x = y = 0.0
            for k, box in enumerate(self._boxes):
                for place in sorted(self._places[k], key=lambda p: (p[1], p[0]))[:LET_DOWN]:
                    u, v = self._let_down(k, place)
                    key = (round(v + box.y1, 1), round(u + box.x1, 1), k)
                    if best is None or key < best:
                        best, x, y = key, u, v
            if best is None:
                break
            k = best[2]
            poses.append(Pose(x, y, self._turns[k]))
            # it lies there: the places that it takes go, those beside it come
            before, box = self._room.laid, self._boxes[k]
            self._room.take(self._polygons[k], x, y)
            beside_it = Box(box.x0 + x, box.y0 + y, box.x1 + x, box.y1 + y).grown(self._gap + CLEARANCE)
            for known in self._down:
                for place in [place for place, (_, swept) in known.items() if swept.overlaps(beside_it)]:
                    del known[place]
            right, above = box.x1 + x + self._gap, box.y1 + y + self._gap
            for n, (polygon, own) in enumerate(zip(self._polygons, self._boxes, strict=True)):
                kept = self._room.still_fit(polygon, self._places[n], before)
                beside = [
                    (right - own.x0, box.y0 + y - own.y0),
                    (box.x0 + x - own.x0, above - own.y0),
                    (right - own.x0, above - own.y0),
                ]
                self._places[n] = kept + [place for place in beside if self._room.fits(polygon, *place)]
        return tuple(poses)

    def _let_down(self, k: int, place: Point) -> Point:
        """The place moved down and left by turns until neither goes any further.

        Kept until a copy is laid beside the way: what was not free before is not free later, so that only a copy on
        the way itself can change where it ends.
        """
        # what was let down from here before ends at the same place, unless a copy now lies on the way
        known = self._down[k].get(place)
        if known is not None:
            return known[0]
        (x, y), polygon = place, self._polygons[k]
        moved = True
        while moved:
            moved = False
            for dx, dy in ((0.0, -1.0), (-1.0, 0.0)):
                # long steps first, halved where one does not go: it ends within `FINEST` of what is in its way
                step = self._steps[k]
                while step > FINEST:
                    if self._room.fits(polygon, x + step * dx, y + step * dy):
                        x, y, moved = x + step * dx, y + step * dy, True
                    else:
                        step /= 2
        end, own = (x, y), self._boxes[k]
        swept = Box(own.x0 + end[0], own.y0 + end[1], own.x1 + place[0], own.y1 + place[1])
        self._down[k][place] = (end, swept)
        return end


def _spread(low: float, high: float, step: float) -> list[float]:
    """Figures from low to high, both included, about a step apart; none when there is no room."""
    if high < low - EPS:
        return []
    count = max(math.ceil((high - low) / step), 1)
    return [low + (high - low) * k / count for k in range(count + 1)] if high > low else [low]


def remnant_fault(layout: Layout) -> str | None:
    """What is wrong with the corners of the remnant; None when they make a shape."""
    if layout.cutting.remnant is None:
        return None
    try:
        polygon_loop(layout.cutting.remnant)
    except GeometryError as error:
        return str(error)
    return None

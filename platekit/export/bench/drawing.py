"""The plate drawn to a standard scale with its dimensions: the near side, and the edge seen from the right.

Vocabulary
    view     how the plate frame lies on the sheet: a scale and where the plate's zero comes, mm
    ladder   running dimensions from the chosen zero, X along the lower edge, Y along the left one
    callout  what holes of one kind have in common, told at one of them; the others carry their names only
    edge view  the plate from its right side, beside the view (third-angle projection): thickness, recesses, standoffs

Drafting follows ISO 128, 129-1, 5455, 5456-2 and 6410-1 in lines, dimensions, scales, projection and threads.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations, pairwise
from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from platekit.cutting.heads import seats
from platekit.cutting.operations import Operations
from platekit.drawing.bending import bend_words
from platekit.drawing.cautions import NOT_FOR_CUTTING
from platekit.drawing.dimensions import (
    OFF_PART,
    Along,
    Dimension,
    DimensionFigure,
    Rung,
    ThinLine,
    ladder,
    ladder_depth,
    linear,
    over_all_ends,
    pointed,
)
from platekit.drawing.labels import points_seen
from platekit.drawing.pdf.drafting import (
    CHAIN,
    FINE,
    HIDDEN,
    PHANTOM,
    THIN,
    WIDE,
    center_mark,
    draw_bend,
    draw_marks,
    paper_style,
    zero_mark,
)
from platekit.drawing.pdf.letters import SMALLEST_TEXT, Face, text_width
from platekit.drawing.pdf.names import Name, NameWish, placed_names, write_words
from platekit.drawing.pdf.pages import STAMP_GREY
from platekit.drawing.pdf.pen import Pen
from platekit.drawing.seen import thread_of
from platekit.drawing.sizes import figure, opening_size, pattern_size
from platekit.drawing.view import View
from platekit.export.bench.words import first_to_last, outside_edges
from platekit.export.data.hole_list import slot_ends
from platekit.geometry import EPS, Arc, Box, Disc, Line, Point, Slot, between, box_round, edge_intersections
from platekit.placed import SAME_LENGTH, Layout, Opening, PlacedMount, Side

METRIC: Final = (10, 5, 2, 1, 1 / 2, 1 / 2.5, 1 / 4, 1 / 5, 1 / 10, 1 / 20, 1 / 25, 1 / 50, 1 / 100, 1 / 200, 1 / 500)
"""Scales of a drawing in mm. Published: ISO 5455; 1 : 2.5, 1 : 4 and 1 : 25 are common practice (scale rulers)."""
INCH_SCALES: Final = (8, 4, 2, 1, 1 / 2, 1 / 4, 1 / 8, 1 / 16, 1 / 32, 1 / 64, 1 / 128, 1 / 256, 1 / 512)
"""Scales of a drawing in inches: halves of halves, as inch rulers are divided (common practice)."""
ABOVE: Final = 14.5
"""Room above plate and edge view for the over-all width, the thickness and the sides' names, mm (ours)."""
AIR: Final = 2.0
"""Between a ladder's figures and what is next to them, mm (ours)."""
CLEAR_BY: Final = 0.6
"""Air between the centre lines of a hole and a dimension's line that passes it, mm (ours)."""
EDGE_GAP: Final = 0.7
"""Half the gap of a dimension's line where it crosses an edge of the plate, mm (ours)."""
LEAST_PIECE: Final = 1.2
"""Shorter pieces of a broken line look like specks and are left out, mm (ours)."""
HATCH: Final = 1.8
"""Distance of the hatching's lines in the edge view, mm (ours; ISO 128-3 asks for an even one that suits the size)."""
LONG: Final = 1.25
"""A plate this much longer one way than the other gets ladders at both its ends, if that costs no scale (ours)."""
BETWEEN: Final = 13.0
"""From the plate to the edge view, mm: the over-all height stands there (ours)."""
BESIDE: Final = 9.0
"""Room at the right of the edge view, mm (ours)."""
MOST_RUNGS: Final = 40
"""A ladder of more running dimensions than this is left to the hole table (ours)."""
SAME: Final = 0.005
"""Two coordinates closer than this are one, mm (ours)."""
ALL_NAMED: Final = 60
"""Up to so many openings each carries its name (ours); of more, one of each kind does."""
MOST_CALLOUTS: Final = 24
"""Most kinds of holes that are told about on the drawing (ours); the table tells all."""
POINTED_AT: Final = 2.5
"""Least length on the sheet of an arc whose radius is told there, mm (ours: an arrowhead's)."""
MOST_RADII: Final = 6
"""Most different corner radii of the outside that are told on the drawing (ours)."""
PAST_EDGE: Final = 1.5
"""How far centre lines run past the edge of a hole, mm (common practice)."""
STUB: Final = 5.0
NEXT_STUB: Final = 3.4
"""How much is shown of a part beside the plate in the edge view, and how much more of each further one, mm (ours)."""
MOST_STUBS: Final = 4
"""Most parts on one side that the edge view shows (ours)."""
SAMPLE: Final = 0.5
"""Step along drawn edges at which names are kept off them, mm of the sheet (ours)."""
LOOK: Final = 0.5
"""Step along a leader at which words under it are looked for, mm (ours)."""
APART: Final = 9.0
"""Like holes nearer to each other than this on the sheet share one name, mm (ours): there is no room for more."""
LARGE: Final = 12.0
"""A hole of this radius on the sheet is named at its edge, mm (ours)."""
LEADER_ROOM: Final = 3.0
"""How far off a hole its callout stands at least, mm: room for a leader with its head (ours)."""
SIZE: Final = 7.5
"""Size of names on the drawing, points (ours)."""


Lines = tuple[tuple[str, Face], ...]
"""Words in lines, each with its face."""


class PlacedView(Struct, frozen=True):
    """A view and the room on the sheet that it stands in.

    `edge_x` is where the near face is in the edge view; `deep` is how far ladders reach off the plate, `above` and
    `right` the room for second ones.
    """

    view: View
    field: Box
    edge_x: float
    deep: float
    above: float
    right: float


class Callout(Struct, frozen=True):
    """Openings of one kind: what they have in common, and which they are."""

    words: str
    openings: tuple[Opening, ...]

    @property
    def line(self) -> str:
        """The callout itself, with how many there are."""
        count = len(self.openings)
        return self.words if count == 1 else f"{count} × {self.words}"


def planned(layout: Layout, zero: Point, fields: Sequence[Box]) -> tuple[int, PlacedView]:
    """Which of the fields (mm of paper) takes the largest standard scale, and how the drawing stands in it."""
    plans = [_plan_in(layout, zero, field) for field in fields]
    # of two papers that take the same scale the first, which is upright: it goes into a folder as it is
    best = max(range(len(plans)), key=lambda index: (plans[index].view.scale, -index))
    return best, plans[best]


def scale_words(scale: float) -> str:
    """A scale as a title block has it.

    >>> scale_words(0.4), scale_words(2)
    ('1 : 2.5', '2 : 1')
    """
    return f"{scale:g} : 1" if scale > 1 else f"1 : {1 / scale:g}"


def _plan_in(layout: Layout, zero: Point, field: Box) -> PlacedView:
    """The drawing in a field, with second ladders where the plate is long and they cost no scale."""
    plate = layout.outline.box
    # Width of the longest figure of the ladders, mm
    box, unit = layout.outline.box, layout.spec.unit
    ends = (box.x0 - zero[0], box.x1 - zero[0], box.y0 - zero[1], box.y1 - zero[1])
    centers = [point[axis] - zero[axis] for point, _ in _dimensioned(layout) for axis in (0, 1)]
    # 0 is as wide as any figure and 1 is not: so the room does not hang on which figures come
    longest = max((figure(value, unit) for value in (*ends, *centers[:400])), key=len)
    deep = ladder_depth(paper_style(), paper_style().measure(longest.replace("1", "0"))) + AIR
    above = deep if plate.height > LONG * plate.width else 0.0
    right = deep if plate.width > LONG * plate.height else 0.0
    plain = _fitted(layout, field, deep, 0.0, 0.0)
    # second ladders spare long lines across a long plate, but a smaller drawing would cost more than they give
    both = _fitted(layout, field, deep, above, right)
    return both if both.view.scale >= plain.view.scale else plain


def _fitted(layout: Layout, field: Box, ladders: float, above: float, right: float) -> PlacedView:
    plate = layout.outline.box
    near, far = _stands_off(layout, "near"), _stands_off(layout, "far")
    # the largest standard scale that fits; if none does the smallest stays, and the drawing runs over its field
    for scale in METRIC if layout.spec.unit == "mm" else INCH_SCALES:
        deep = scale * (near + layout.thickness + far) + _stubs(layout, "near") + _stubs(layout, "far")
        wide = ladders + scale * plate.width + right + BETWEEN + deep + BESIDE
        high = ladders + scale * plate.height + above + ABOVE
        if wide <= field.width and high <= field.height:
            break
    x0 = field.x0 + ladders + (field.width - wide) / 2
    y0 = field.y0 + ladders + (field.height - high) / 2
    view = View(scale, x0 - scale * plate.x0, y0 - scale * plate.y0)
    edge_x = x0 + scale * plate.width + right + BETWEEN + _stubs(layout, "near") + scale * near
    return PlacedView(view, field, edge_x, ladders, above, right)


def _stubs(layout: Layout, side: Side) -> float:
    """Room for the pieces of the parts on a side in the edge view, mm: each has its own strip."""
    count = min(sum(1 for mount in layout.mounts.values() if mount.side == side), MOST_STUBS)
    return STUB + NEXT_STUB * (count - 1) if count else 0.0


def _stands_off(layout: Layout, side: Side) -> float:
    return max((mount.standoff for mount in layout.mounts.values() if mount.side == side), default=0.0)


# ------------------------------------------------------------------------------------------ the whole


def draw_plate(
    pen: Pen, layout: Layout, makings: Sequence[Operations], plan: PlacedView, zero: Point, clear: bool
) -> None:
    """The dimensioned drawing in its field; `zero` is the point of the plate that X and Y count from, mm."""
    view, plate = plan.view, plan.view.box(layout.outline.box)
    # The stamp comes first, so that every line and figure lies on top of it: it is to be seen, and to hide nothing
    if not clear:
        per_point = text_width(NOT_FOR_CUTTING, 1.0, "bold")
        size = min(60.0, 0.85 * math.hypot(plate.width, plate.height) / per_point, 0.8 * plan.field.width / per_point)
        lean = min(max(math.degrees(math.atan2(plate.height, plate.width)), 15.0), 45.0)
        pen.stamp(plate.center, NOT_FOR_CUTTING, size, lean, STAMP_GREY)
    if layout.flange is not None:
        draw_bend(pen, layout.flange.bend_line, view.at, bend_words(layout.flange))
    for mount in layout.mounts.values():
        pattern = pattern_size(layout, mount)
        if pattern is not None and pattern.circle is not None:
            center = view.at(mount.pose.point((0.0, 0.0)))
            pen.circle(center, pattern.circle / 2 * view.scale, width=THIN, dash=CHAIN)
    if len(layout.openings) <= 10 * ALL_NAMED:  # beyond that the crosses would blacken the sheet
        for opening in layout.openings:
            ends = slot_ends(opening)
            if ends is None:
                center_mark(pen, view.at(opening.center), _half(opening) * view.scale + PAST_EDGE)
                continue
            # a slot is marked and cut by its ends; a cross where its screw stands at nominal would be taken for a
            # hole's
            for end in ends:
                center_mark(pen, view.at(end), opening.size / 2 * view.scale + PAST_EDGE)
            if isinstance(opening.shape, Slot):
                pen.line(view.at(ends[0]), view.at(ends[1]), THIN, CHAIN)
    x, y = view.at(zero)
    zero_mark(pen, (x, y))
    dimensions = [*ladders(layout, plan, zero), *_over_all(layout, plan)]
    for dimension in dimensions:
        for mark in dimension.marks:
            draw_marks(pen, interrupted(layout, view, mark) if isinstance(mark, ThinLine) else [mark])
    words = [
        *(box for dimension in dimensions for box in dimension.words),
        _edge_view(pen, layout, plan),
        _up(pen, plan, layout.up),
    ]
    lines = [*(dimension.lines for dimension in dimensions), Box(x - 2.0, y - 2.0, x + 2.0, y + 2.0)]
    names = _names(layout, makings, plan, words, lines)
    # All grounds before all leaders and words: a ground drawn later would cut a leader that passes close by
    for name in names:
        pen.box(name.box, width=0, fill=1.0)
    _draw_steel(pen, layout, view)
    for name in names:
        if name.leader is not None:
            draw_marks(pen, pointed(paper_style(), *name.leader))
        write_words(pen, name, SIZE)


def _draw_steel(pen: Pen, layout: Layout, view: View) -> None:
    """What is cut: seen from the near side in wide lines, what is behind in thin dashes.

    Drawn after the white under all names: beside a name that touches it an edge keeps its whole width.
    """
    pen.shape(layout.outline, view.at, WIDE)
    for opening in layout.openings:
        hidden = opening.depth is not None and opening.side == "far"
        pen.shape(opening.shape, view.at, THIN if hidden else WIDE, HIDDEN if hidden else ())
        center, thread = view.at(opening.center), thread_of(opening)
        if thread is not None:  # three quarters of a circle outside the drilled hole (ISO 6410-1)
            pen.arc(center, thread / 2 * view.scale, math.radians(100), math.radians(260), THIN)
    for seat in seats(layout).values():
        behind = seat.side == "far"
        pen.shape(seat.mouth, view.at, THIN if behind else WIDE, HIDDEN if behind else ())


def _up(pen: Pen, plan: PlacedView, up: float) -> Box:
    """Which way is up on the machine, in the upper left of the field."""
    x, y = plan.field.x0 + 5.5, plan.field.y1 - 5.2
    dx, dy = 4.8 * math.cos(up), 4.8 * math.sin(up)
    pen.arrow((x - dx, y - dy), (x + dx, y + dy), 0.7, 4.0)
    pen.text((x + 6.0, y + 0.2), "UP", 9, "bold")
    pen.text((x + 6.0, y - 3.4), "on the machine", SMALLEST_TEXT)
    return Box(plan.field.x0, y - 5.8, x + 7.0 + text_width("on the machine", SMALLEST_TEXT), plan.field.y1)


def _half(opening: Opening) -> float:
    """Radius of a hole, or half the width of a slot, as far as centre lines are concerned."""
    if opening.size and not isinstance(opening.shape, Disc):
        return opening.size / 2
    return min(opening.shape.box.width, opening.shape.box.height) / 2


# ---------------------------------------------------------------------------------------- dimensions


def interrupted(layout: Layout, view: View, line: ThinLine) -> Iterator[ThinLine]:
    """A ladder's line without what would run through openings, and with a gap at each edge of the plate it crosses.

    So no line of a dimension is taken for an edge or a centre line of a hole that it only passes (ISO 129-1: extension
    lines keep clear of other lines where they can).
    """
    start, end = line.points[0], line.points[1]
    way = Line(view.back(start), view.back(end))
    if way.length * view.scale < LEAST_PIECE:
        yield line
        return
    clear, half = (PAST_EDGE + CLEAR_BY) / view.scale, EDGE_GAP / view.scale / way.length
    gaps: list[tuple[float, float]] = []
    for opening in layout.openings:
        if not opening.shape.box.grown(clear).overlaps(way.box.grown(EPS)):
            continue
        round_it = opening.shape.grown(clear)
        meets = [way.place(p) for edge in round_it.loop().edges for p in edge_intersections(way, edge)]
        stops = sorted({0.0, 1.0, *(min(max(place, 0.0), 1.0) for place in meets)})
        gaps += [ends for ends in pairwise(stops) if round_it.contains(way.at((ends[0] + ends[1]) / 2))]
    for edge in layout.outline.loop().edges:
        gaps += [(place - half, place + half) for p in edge_intersections(way, edge) for place in [way.place(p)]]
    reached = 0.0
    left: list[tuple[float, float]] = []
    for low, high in [*sorted(gaps), (1.0, 1.0)]:
        if (low - reached) * way.length * view.scale >= LEAST_PIECE or (low >= 1.0 > reached):
            left.append((reached, min(low, 1.0)))
        reached = max(reached, high)
    for low, high in left:
        rest = line.points[2:] if high == 1.0 else ()
        yield ThinLine((view.at(way.at(low)), view.at(way.at(high)), *rest))
    if not (left and left[-1][1] == 1.0) and len(line.points) > 2:  # cut off where it bends: the bend stays
        yield ThinLine(line.points[1:])


def ladders(layout: Layout, plan: PlacedView, zero: Point) -> Iterator[Dimension]:
    """X along the lower edge and Y along the left one; of a long plate also along the opposite edge."""
    plate, field = plan.view.box(layout.outline.box), plan.field
    across = (plate.x0 - plan.deep + 4, plate.x1 + BETWEEN - 4)
    up = (plate.y0 - 6, min(plate.y1 + 6, field.y1 - 14))
    sides: tuple[tuple[int, Along, float, float, float, tuple[float, float]], ...] = (
        (0, "level", plate.y0, plate.y1, plan.above, across),
        (1, "upright", plate.x0, plate.x1, plan.right, up),
    )
    for axis, along, low, high, second, room in sides:
        for which, (edge, away) in enumerate(((low, -1.0), (high, 1.0))):
            # The ends of slots have their own table: where they leave no room, the others are dimensioned all the same
            for slots in (True, False):
                rungs = _rungs(layout, plan.view, zero, axis, second > 0, slots)[which]
                found = ladder(paper_style(), rungs, edge, room, along, away) if len(rungs) <= MOST_RUNGS else None
                if found is not None:
                    yield found
                    break


def _rungs(
    layout: Layout, view: View, zero: Point, axis: int, both: bool, slots: bool
) -> tuple[list[Rung], list[Rung]]:
    """A running dimension for every coordinate that a feature has, from its outermost feature; lower side, upper side.

    The upper side is left empty unless `both`. Coordinates of several features that agree within `SAME` share a rung:
    its line begins at the outermost of them, so that it runs through none.
    """
    unit, plate, other = layout.spec.unit, layout.outline.box, 1 - axis
    low, high = plate[other], plate[other + 2]
    spots = [(point[axis], point[other], reach) for point, reach in _dimensioned(layout, slots)]
    spots.append((zero[axis], min(max(zero[other], low), high), 0.0))
    below: dict[int, tuple[float, float]] = {}
    above: dict[int, tuple[float, float]] = {}
    for place, middle, half in spots:
        key = round(place / SAME / 2)
        if key not in below or middle - half < below[key][1]:
            below[key] = (place, middle - half)
        if key not in above or middle + half > above[key][1]:
            above[key] = (place, middle + half)
    ends = zip((plate[axis], plate[axis + 2]), over_all_ends(layout.outline, axis, min), strict=True)
    for place, end in ends:  # the ends of the plate always on the lower side
        key = round(place / SAME / 2)
        below[key] = (place, min(below.get(key, (0.0, high))[1], end))
        above[key] = (place, low)
    sides: tuple[list[Rung], list[Rung]] = ([], [])
    for key, (place, start) in below.items():
        end = above[key][1]
        # to the nearer edge, so that fewer lines cross the plate
        up = both and high - end < start - low
        at, off = (end, OFF_PART) if up else (start, -OFF_PART)
        x, y = view.at((place, at) if axis == 0 else (at, place))
        # the zero itself has a ring on its line, and 0, never -0, as its figure
        from_zero = abs(place - zero[axis]) < SAME
        words = "0" if from_zero else figure(place - zero[axis], unit)
        sides[up].append(Rung((x, y)[axis], (x, y)[other] + off, words, from_zero))
    return sides


def _dimensioned(layout: Layout, slots: bool = True) -> Iterator[tuple[Point, float]]:
    """The points that say where openings are, and how far the opening reaches round each: of a slot both its ends.

    Where its screw stands at nominal is no point that anyone could mark or drill.
    """
    for opening in layout.openings:
        if isinstance(opening.shape, Disc):
            yield opening.center, _half(opening)
        elif slots:
            yield from ((end, opening.size / 2) for end in slot_ends(opening) or ())


def _over_all(layout: Layout, plan: PlacedView) -> Iterator[Dimension]:
    """Over-all width above the plate, over-all height at its right."""
    outline, view, unit = layout.outline, plan.view, layout.spec.unit
    box = outline.box
    plate = view.box(box)
    left, right = (view.at((0.0, y))[1] for y in over_all_ends(outline, 0, max))
    line = plate.y1 + plan.above + 6.0
    yield linear(paper_style(), plate.x0, plate.x1, line, figure(box.width, unit), "level", (left, right))
    low, high = (view.at((x, 0.0))[0] for x in over_all_ends(outline, 1, max))
    line = plate.x1 + plan.right + 7.0
    yield linear(paper_style(), plate.y0, plate.y1, line, figure(box.height, unit), "upright", (low, high))


# ----------------------------------------------------------------------------------------- edge view


def _edge_view(pen: Pen, layout: Layout, plan: PlacedView) -> Box:
    """The plate from its right side: near face at the left, as third-angle projection has it."""
    view, unit, x = plan.view, layout.spec.unit, plan.edge_x
    plate = view.box(layout.outline.box)
    deep = layout.thickness * view.scale
    rim = Box(x, plate.y0, x + deep, plate.y1)
    # lines at 45 degrees, each from where it enters the rim to where it leaves it
    for count in range(1, math.ceil((rim.width + rim.height) / HATCH)):
        off = count * HATCH
        enters = (rim.x0 + max(off - rim.height, 0.0), rim.y1 - min(off, rim.height))
        leaves = (rim.x0 + min(off, rim.width), rim.y1 - max(off - rim.width, 0.0))
        pen.line(enters, leaves, FINE)
    pen.box(rim, WIDE)
    for opening in layout.openings:
        if opening.depth is not None:  # a recess: hidden lines down to its floor
            hollow = view.box(opening.shape.box)
            face, inward = (x, 1.0) if opening.side == "near" else (x + deep, -1.0)
            floor = face + inward * opening.depth * view.scale
            pen.chain([(face, hollow.y0), (floor, hollow.y0), (floor, hollow.y1), (face, hollow.y1)], THIN, HIDDEN)
    for name in list(_beside(pen, layout, plan)):
        pen.box(name.box, width=0, fill=1.0)
        draw_marks(pen, [name])
    style, thickness = paper_style(), figure(layout.thickness, unit)
    drawn = [linear(style, x, x + deep, plate.y1 + 6.0, thickness, "level", (plate.y1, plate.y1))]
    line = plate.y0 - 6.0
    for low, high, words in _depths(layout, plan):
        drawn.append(linear(style, low, high, line, words, "level", (plate.y0, plate.y0), plan.field.x1))
        line -= 7.0
    small = paper_style(SMALLEST_TEXT)
    sides = [
        DimensionFigure((face + way * small.measure(side) / 2, plate.y1 + 11.5), side, small)
        for face, way, side in ((x - 0.5, -1.0, "near"), (x + deep + 0.5, 1.0, "far"))
    ]
    draw_marks(pen, [*(mark for dimension in drawn for mark in dimension.marks), *sides])
    box = box_round([box for dimension in drawn for box in (*dimension.words, dimension.lines)])
    box = box_round([box, *(side.box for side in sides)])
    scale = plan.view.scale
    left = x - scale * _stands_off(layout, "near") - _stubs(layout, "near")
    right = x + deep + scale * _stands_off(layout, "far") + _stubs(layout, "far")
    return box.union(Box(left - 1.0, line + 4.0, right + 1.0, plate.y1 + 13.0))


def _depths(layout: Layout, plan: PlacedView) -> Iterator[tuple[float, float, str]]:
    """Depths of recesses and heights of standoffs, each once: from where to where on the sheet, and the figure."""
    unit, scale, x = layout.spec.unit, plan.view.scale, plan.edge_x
    far = x + layout.thickness * scale
    told: set[tuple[str | None, float]] = set()
    for opening in layout.openings:
        if opening.depth is not None and (opening.side, opening.depth) not in told and len(told) < 3:
            told.add((opening.side, opening.depth))
            deep = opening.depth * scale
            low, high = (x, x + deep) if opening.side == "near" else (far - deep, far)
            yield low, high, f"{figure(opening.depth, unit)} deep"
    for mount in layout.mounts.values():
        # layers, and spacers on the plate or on a layer, from where they begin
        thick = mount.spacing if mount.layer is None else mount.layer.thickness
        if thick > SAME_LENGTH and (mount.side, -thick) not in told and len(told) < 4:
            told.add((mount.side, -thick))
            foot, off = mount.lift * scale, (mount.lift + thick) * scale
            low, high = (x - off, x - foot) if mount.side == "near" else (far + foot, far + off)
            yield low, high, f"{figure(thick, unit)} {'spacer' if mount.layer is None else mount.name}"


def _beside(pen: Pen, layout: Layout, plan: PlacedView) -> Iterator[DimensionFigure]:
    """The parts beside the plate: mating faces and a piece of each, in phantom lines, with their spacers.

    Gives their names, each in a strip of its own.
    """
    view, shown = plan.view, dict.fromkeys(("near", "far"), 0)
    for mount in layout.mounts.values():
        if mount.layer is not None:  # it is cut too: drawn in full, as the plate is
            low, high = _layer_span(layout, mount, view)
            face = plan.edge_x if mount.side == "near" else plan.edge_x + layout.thickness * view.scale
            off = face + (-1.0 if mount.side == "near" else 1.0) * mount.layer.thickness * view.scale
            pen.box(Box(min(face, off), low, max(face, off), high), WIDE)
            continue
        if shown[mount.side] == MOST_STUBS:
            continue
        ys = [view.at(point)[1] for point in mount.points]
        half = max(mount.hole * view.scale, 1.5)
        low, high = min(ys) - half, max(ys) + half
        face, way = (plan.edge_x, -1.0) if mount.side == "near" else (plan.edge_x + layout.thickness * view.scale, 1.0)
        seat = face + way * mount.standoff * view.scale
        out = seat + way * (shown[mount.side] * NEXT_STUB + STUB - 0.5)
        shown[mount.side] += 1
        pen.chain([(out, low), (seat, low), (seat, high), (out, high)], THIN, PHANTOM)
        if mount.spacing > SAME_LENGTH:
            foot = face + way * mount.lift * view.scale
            wide = half / 2
            if mount.stack is not None and mount.stack.spacer is not None:
                wide = mount.stack.spacer.outside / 2 * view.scale
            for y in sorted(set(ys))[:20]:
                pen.box(Box(min(foot, seat), y - wide, max(foot, seat), y + wide), THIN)
        small = paper_style(SMALLEST_TEXT)
        if small.measure(mount.name) <= high - low - 1.0:
            yield DimensionFigure((out - way * (STUB / 2 - 0.9), (low + high) / 2), mount.name, small, upright=True)


def _layer_span(layout: Layout, mount: PlacedMount, view: View) -> tuple[float, float]:
    """From where to where on the sheet a layer reaches, up and down."""
    body = next((one for one in layout.bodies if one.name == f"{mount.name}.layer"), None)
    if body is None:  # in pieces, which a stop says
        ys = [view.at(point)[1] for point in mount.points]
        return min(ys), max(ys)
    box = body.shape.box
    ends = (view.at((box.x0, box.y0))[1], view.at((box.x1, box.y1))[1])
    return min(ends), max(ends)


# ---------------------------------------------------------------------------------------------- names


def callouts(layout: Layout, makings: Sequence[Operations]) -> tuple[Callout, ...]:
    """The openings by kind: of one mount, of one size, made in one way.

    Size and work in a few words: `Ø9, drill`, `M8, drill Ø6.8`, `Ø80, 4 deep from the far side`.
    """
    kinds: dict[tuple[str, str], list[Opening]] = {}
    for opening, operations in zip(layout.openings, makings, strict=True):
        said = opening_size(layout, opening)
        if opening.thread is None and opening.depth is not None:
            said += f" from the {opening.side} side"
        elif opening.thread is None:
            said += f", {operations.how.removeprefix('mark and ').removeprefix('mark, ')}"
        kinds.setdefault((opening.mount or opening.name, said), []).append(opening)
    return tuple(Callout(words, tuple(openings)) for (_, words), openings in kinds.items())


def _names(
    layout: Layout, makings: Sequence[Operations], plan: PlacedView, words: Sequence[Box], lines: Sequence[Box]
) -> list[Name]:
    """Names and callouts, placed so that none covers another, a dimension, or a hole's middle.

    Where a leader runs through words, the less important of the two goes and gets a second chance on what is left of
    the sheet. What finds no place then is left out: the hole table has it.
    """
    view = plan.view
    holes = list(_hole_names(layout, makings, view))
    others = list(_radii(layout, view))
    unled: set[tuple[tuple[str, Face], ...]] = set()
    for mount in list(layout.mounts.values())[:12]:
        size = pattern_size(layout, mount)
        if size is not None:
            said: Lines = ((f"{mount.name}: {size.words}", "italic"),)
            others.append(NameWish(said, view.at(size.at), 0.5, 0.0))
            # only a bolt circle is drawn: a leader between the holes of another pattern would point at nothing
            unled |= set() if size.circle is not None else {said}
    weighed = [*holes, *((want, 0) for want in others)]
    asked = [replace(want, key=str(index)) for index, (want, _) in enumerate(weighed)]
    weights = {str(index): weight for index, (_, weight) in enumerate(weighed)}
    # What is to be cut must be seen all along: no name stands on an edge, it goes outside or gets a leader
    shapes = [layout.outline, *(opening.shape for opening in layout.openings[: 10 * ALL_NAMED])]
    shapes += [seat.mouth for seat in seats(layout).values()]
    edges = np.concatenate([points_seen(shape, view, SAMPLE / view.scale) for shape in shapes])
    hollows = [view.box(opening.shape.box) for opening in layout.openings[: 10 * ALL_NAMED]]
    blocked = [*words, *lines]
    for opening in layout.openings[: 10 * ALL_NAMED]:  # no name on the middle of a hole, nor on its centre lines
        x, y = view.at(opening.center)
        reach = min(_half(opening) * view.scale + PAST_EDGE, 6.0)
        half = min(_half(opening) * view.scale * 0.75, 4.0)
        blocked += [
            Box(x - reach, y - 0.4, x + reach, y + 0.4),
            Box(x - 0.4, y - reach, x + 0.4, y + reach),
            Box(x - half, y - half, x + half, y + half),
        ]
    kept: list[Name] = []
    # twice: what was taken away left room for others, and a third round hardly ever finds anything
    for _ in range(2):
        found = placed_names(asked, plan.field, [*blocked, *(name.box for name in kept)], (), SIZE, edges, hollows)
        found = [replace(name, leader=None) if name.lines in unled else name for name in found]
        kept = _readable([*kept, *found], words, weights)
        there = {name.key for name in kept}
        asked = [want for want in asked if want.key not in there]
    return kept


def _hole_names(layout: Layout, makings: Sequence[Operations], view: View) -> Iterator[tuple[NameWish, int]]:
    """The callouts and the names of the other holes, each with its weight."""
    for callout in callouts(layout, makings)[:MOST_CALLOUTS]:
        first, *others = callout.openings
        centers = [view.at(opening.center) for opening in callout.openings[: 2 * ALL_NAMED]]
        nearest = min((between(a, b) for a, b in combinations(centers, 2)), default=math.inf)
        each = len(layout.openings) <= ALL_NAMED and nearest >= APART
        head = first.name if each else first_to_last([opening.name for opening in callout.openings])
        yield _wanted(first, ((head, "bold"), (callout.line, "regular")), view, pointed=True), 2
        if each:
            yield from ((_wanted(opening, ((opening.name, "bold"),), view), 1) for opening in others)


def _readable(names: Sequence[Name], words: Sequence[Box], weights: Mapping[str, int]) -> list[Name]:
    """The names without those whose leaders run through words, or through which a weightier one's leader runs."""
    kept = [name for name in names if not any(_runs_through(name, box) for box in words)]
    # weightier ones first: a callout tells of many holes, a name of one, a radius can be read off the table
    for name in sorted(kept, key=lambda one: -weights[one.key]):
        if name in kept:
            struck = [other for other in kept if other is not name and _runs_through(name, other.box)]
            if any(weights[other.key] >= weights[name.key] for other in struck):
                kept.remove(name)
            else:
                kept = [other for other in kept if other not in struck]
    return kept


def _apart(openings: Sequence[Opening], view: View) -> float:
    """Least distance of the middles of openings on the sheet, mm; endless for one."""
    centers = [view.at(opening.center) for opening in openings[: 2 * ALL_NAMED]]
    return min((between(a, b) for a, b in combinations(centers, 2)), default=math.inf)


def _runs_through(name: Name, box: Box) -> bool:
    """Whether a name's leader runs through a box."""
    if name.leader is None:
        return False
    (ax, ay), (bx, by) = name.leader
    # most are far apart; LOOK is far more than rounding
    if min(ax, bx) > box.x1 + LOOK or max(ax, bx) < box.x0 - LOOK:
        return False
    if min(ay, by) > box.y1 + LOOK or max(ay, by) < box.y0 - LOOK:
        return False
    steps = max(math.ceil(math.dist(*name.leader) / LOOK), 1)
    spots = ((ax + (bx - ax) * i / steps, ay + (by - ay) * i / steps) for i in range(steps + 1))
    return any(box.x0 < x < box.x1 and box.y0 < y < box.y1 for x, y in spots)


def _wanted(opening: Opening, lines: Lines, view: View, pointed: bool = False) -> NameWish:
    """The name of an opening: round its middle, or at its edge if it is large; a callout is `pointed` at it."""
    radius = _half(opening) * view.scale
    if radius > LARGE and isinstance(opening.shape, Disc) and not pointed:
        angle = math.radians(215)  # lower left, where a large opening seldom has a neighbour's callout
        x, y = opening.center
        at = (x + opening.size / 2 * math.cos(angle), y + opening.size / 2 * math.sin(angle))
        return NameWish(lines, view.at(at), 0.6, 0.0)

    def tip(start: Point) -> Point:
        """Where a leader from `start` towards the middle meets the edge, found by halving: it holds for any shape."""
        x, y = view.at(opening.center)
        inside, outside = 0.0, 1.0
        for _ in range(30):
            share = (inside + outside) / 2
            spot = (x + (start[0] - x) * share, y + (start[1] - y) * share)
            inside, outside = (share, outside) if opening.shape.contains(view.back(spot)) else (inside, share)
        return (x + (start[0] - x) * inside, y + (start[1] - y) * inside)

    room = radius + PAST_EDGE
    if pointed:  # round a short slot, too, there is room for the leader at its ends
        box = opening.shape.box
        longest = max(box.width, box.height) / 2 * view.scale
        room = (longest if longest < 2 * radius else radius) + PAST_EDGE + LEADER_ROOM
    return NameWish(lines, view.at(opening.center), room, radius, tip, pointed=pointed)


def _radii(layout: Layout, view: View) -> Iterator[NameWish]:
    """The corner radii of the outside, each told once, with how many corners have it, at the longest of them."""
    outline, unit = layout.outline, layout.spec.unit
    if isinstance(outline, Disc):
        (x, y), radius = outline.center, outline.radius
        at = (x + radius * math.cos(2.2), y + radius * math.sin(2.2))
        yield NameWish(((f"Ø{figure(2 * radius, unit)}", "regular"),), view.at(at), 0.5, 0.0)
        return
    arcs: dict[float, list[Arc]] = {}
    for edge in outside_edges(outline):
        if isinstance(edge, Arc):
            arcs.setdefault(round(edge.radius, 2), []).append(edge)
    # An arrow at an arc that is hardly a dot on the sheet would point at nothing: those are left to the table
    seen = [
        (radius, same) for radius, same in arcs.items() if max(arc.length for arc in same) * view.scale >= POINTED_AT
    ]
    for radius, same in seen[:MOST_RADII]:
        count = f"{len(same)} × " if len(same) > 1 else ""
        words = f"{count}R{figure(radius, unit)}"
        longest = max(same, key=lambda arc: round(arc.length, 3))
        yield NameWish(((words, "regular"),), view.at(longest.at(0.5)), 0.5, 0.0)

"""The paper template: the plate at true size on sheets that can be laid on both parts.

Every sheet says which face it shows, which way is up, how it proves its own scale, and where it goes among the
others. A plate that may not be cut gets its template all the same, stamped NOT FOR CUTTING.
"""

from __future__ import annotations

import math
import os
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from typing import Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from platekit.checks.finding import Verdict
from platekit.cutting.operations import Operations, operations_of
from platekit.cutting.scribe import Word, scribing_of, weld_marks
from platekit.drawing.bending import bend_words
from platekit.drawing.cautions import NOT_FOR_CUTTING
from platekit.drawing.labels import rows_along
from platekit.drawing.pdf import strip
from platekit.drawing.pdf.drafting import draw_bend
from platekit.drawing.pdf.letters import POINT, SMALLEST_TEXT, Face, text_width
from platekit.drawing.pdf.names import LEADER, SIZE, Name, NameWish, ground, placed_names, write_words
from platekit.drawing.pdf.names import step as line_step
from platekit.drawing.pdf.pages import STAMP_GREY
from platekit.drawing.pdf.paper import (
    BAR_INSET,
    LARGEST_SIDE,
    MARGIN,
    OVERLAP,
    PaperSheet,
    Tile,
    Tiling,
    check_frame,
    sheet_of,
    tiling_over,
)
from platekit.drawing.pdf.pen import Pen, Way
from platekit.drawing.pdf.printer import NominalBars, Printer, printer_of_spec
from platekit.drawing.seen import Seen, SeenBody, SeenOpening, seen_from_side
from platekit.drawing.text import in_letters
from platekit.errors import SheetError, SpecError
from platekit.export.files import write_whole
from platekit.export.paper.checking_page import draw_checking_pages
from platekit.geometry import Box, CurvedSlot, Disc, Line, Point, Shape, Slot, between
from platekit.placed import Layout, Opening, Side
from platekit.units import Unit, show_length

TEMPLATE_SUFFIX: Final = ".template.pdf"
TICK: Final = 2.0
"""Half the length of the ticks on the edge of a large opening, mm (ours)."""
AIR: Final = 3.0
"""Least paper kept round the plate, mm, so that nothing ends at the frame (ours)."""
ROOM_FOR_NAMES: Final = 22.0
"""Paper kept round the plate on a single large sheet, mm, for names beside the outline (ours)."""
GUTTER: Final = 5.0
"""Between the margin and the window, mm: the check bars run there (ours)."""
SMALLEST_WINDOW: Final = 40.0
"""A window smaller than this is of no use, mm (ours)."""
OUTLINE: Final = 0.2
"""Width of the plate's outline, mm (ours)."""
HIDDEN_DASH: Final = (2.4, 0.9)
"""Dashes of a recess that is bored from the other side, mm (ours)."""
NOMINAL_DASH: Final = (0.6, 0.6)
"""Dashes of the place that a slot's screw has at nominal, mm (ours)."""
WAY_DASH: Final = (1.0, 0.5)
"""Dashes of a size that a hole has on the way to its finished one: drill before reaming, cut before boring (ours)."""
SAME_SIZE: Final = 0.02
"""Two diameters closer than this are drawn once, mm (ours: a hairline is wider)."""
THREAD_START: Final = math.radians(100)
THREAD_SWEEP: Final = math.radians(260)
"""A thread in end view is a thin line over about three quarters of a circle. Published: ISO 6410-1."""
STAMP_ROOM: Final = 45.0
"""Paper over or under the plate that is enough for the stamp and for names, mm (ours)."""
STOP_ROOM: Final = 2.5
"""Room kept free of names round the end of a slot's travel, mm (ours)."""
SEAM_DASH: Final = (0.3, 2.0)
"""Dashes of the line where the neighbouring sheet will end, mm (ours)."""
SCRIBED_LINE: Final = 0.1
"""Width of the strokes of scribed words, mm: thinner than any edge (ours)."""
SEAM_CROSS: Final = 4.0
"""Reach of a seam cross, mm (ours: within the overlap)."""
TAG: Final = (1.8, 1.6)
"""From the middle of a seam cross to its name, across and up, mm (ours)."""
SEAM_INSET: Final = 9.0
"""Distance of the outermost seam crosses from the end of the sheets, mm (ours)."""
MOST_NAMES: Final = 150
"""Most bodies and openings other than screw holes that are named on one sheet (ours)."""
FULL_SHEET: Final = 300
"""From so many openings on a sheet screw holes go without their names, which could not be read (ours)."""
MOST_ALIKE: Final = 12
"""Up to so many holes of a kind on a sheet each tell their size; more than that share one note (ours)."""
LONG: Final = 2.0
"""A slot whose ends are so many of its widths apart is named at one of them (ours)."""
NEXT_TO: Final = 2.5
"""A body's name nearer to its edge than this needs no leader, mm (ours)."""
SAMPLE: Final = 0.5
"""Step along a drawn line at which names are kept off it, mm (ours)."""


def template_bytes(
    layout: Layout,
    verdict: Verdict,
    seen_from: Side | None = None,
    *,
    both_sides: bool = False,
    printer: Printer | None = None,
    corrected: bool = True,
) -> bytes:
    """The template as PDF: true size, tiled over the paper that the spec names, and a page to check the holes by.

    `seen_from` is the side of the plate that faces the reader, as the spec says if left out; from the far side the
    drawing is mirrored, its words are not. `both_sides` adds the sheets of the other side. The sheets are corrected
    for `printer`, for that of the spec if it is left out, and for none unless `corrected`. The same layout gives the
    same bytes. Raises `SpecError`, at its place in the spec, when the paper is too small to draw on, the plate takes
    too many sheets, or the printer that the spec names or measures cannot be used.
    """
    side = seen_from or layout.paper.seen_from
    sides = (side, other_side(side)) if both_sides else (side,)
    # a printer that was just measured goes before the one that the spec names
    used = (printer or printer_of_spec(layout)) if corrected else None
    about = f"{layout.spec.name}, revision {layout.spec.revision}, seen from the {' and '.join(sides)} side"
    pen = Pen(layout.title, about)
    made = {operations.opening: operations for operations in operations_of(layout)}
    words = scribing_of(layout)
    for facing in sides:
        seen = seen_from_side(layout, facing)
        say = strip.saying(layout, verdict, facing, used)
        tiling = tiling_of(seen, say)
        # the places of bars stand on the paper of either face: the table scribes the near one only
        on_this_face = [word for word in words.words if words.side == facing and word.what != "weld"]
        on_this_face += weld_marks(layout, facing)
        job = Job(seen, say, tiling, made, seam_crosses(tiling, seen), tuple(on_this_face))
        for number, tile in enumerate(tiling.tiles, start=1):
            draw_sheet(pen, job, tile, number)
    draw_checking_pages(pen, layout, verdict, side)
    return pen.finished()


def paper_fits(layout: Layout, verdict: Verdict, seen_from: Side | None = None) -> None:
    """Nothing if the paper of the spec can show the plate; else `SpecError` at its size, before anything is drawn."""
    side = seen_from or layout.paper.seen_from
    tiling_of(seen_from_side(layout, side), strip.saying(layout, verdict, side))


def template(
    layout: Layout,
    verdict: Verdict,
    path: str | os.PathLike[str],
    seen_from: Side | None = None,
    *,
    both_sides: bool = False,
    printer: Printer | None = None,
    corrected: bool = True,
) -> None:
    """Writes the template to `path`, whole or not at all; see `template_bytes`."""
    data = template_bytes(layout, verdict, seen_from, both_sides=both_sides, printer=printer, corrected=corrected)
    write_whole(path, data)


def other_side(side: Side) -> Side:
    """The side that a side is not."""
    return "far" if side == "near" else "near"


def refuse_paper(layout: Layout, verdict: Verdict) -> None:
    """Raises the `SpecError` that printing the template would, before anything is drawn: sheets, or their printer."""
    printer = printer_of_spec(layout)
    for side in (layout.paper.seen_from, other_side(layout.paper.seen_from)):
        tiling_of(seen_from_side(layout, side), strip.saying(layout, verdict, side, printer))


def nominal_bars(layout: Layout, verdict: Verdict, seen_from: Side | None = None) -> NominalBars:
    """What the bars across and along say on the first sheet of the template."""
    side = seen_from or layout.paper.seen_from
    tiling = tiling_of(seen_from_side(layout, side), strip.saying(layout, verdict, side))
    frame = check_frame(tiling.tiles[0].sheet, layout.spec.unit)
    return NominalBars(frame.width, frame.height)


class Cross(Struct, frozen=True):
    """A seam cross: printed on every sheet that shows its place, so that sheets can be laid cross on cross."""

    name: str
    at: Point
    left: bool = False
    below: bool = False
    """Where its name stands beside it, on the sheet."""

    @property
    def tag(self) -> Box:
        """The room of its name, mm of the sheet."""
        wide, high = text_width(self.name, SMALLEST_TEXT, "bold"), 0.72 * SMALLEST_TEXT / POINT
        x = self.at[0] - TAG[0] - wide if self.left else self.at[0] + TAG[0]
        y = self.at[1] - TAG[1] - high if self.below else self.at[1] + TAG[1]
        return Box(x, y, x + wide, y + high)


class Job(Struct, frozen=True):
    """What all sheets of one template share; everything in the view. `words` are scribed on the face that is seen."""

    seen: Seen
    say: strip.Saying
    tiling: Tiling
    operations: dict[str, Operations]
    crosses: tuple[Cross, ...]
    words: tuple[Word, ...]


# ------------------------------------------------------------------------------------ paper and tiles


def tiling_of(seen: Seen, say: strip.Saying) -> Tiling:
    """How the plate is spread over its sheets; `SpecError`, at the paper's size, if they cannot show it."""
    try:
        sheet = sheet_of(say.layout.paper)
        if sheet is None:
            # `single`: one sheet as large as the plate needs, in whole millimetres, for a plotter or a copy shop
            content = seen.box.grown(ROOM_FOR_NAMES)
            inner, around = max(content.width, strip.GOOD_WIDTH), 2 * (GUTTER + MARGIN)
            height = content.height + strip.height(inner, say, many=False) + strip.AIR
            single = PaperSheet("single", float(math.ceil(inner + around)), float(math.ceil(height + around)))
            longest = max(single.width, single.height)
            if longest > LARGEST_SIDE:
                raise SheetError(
                    f"one sheet for this plate, {longest / 1000:.1f} m long; a PDF page ends at "
                    f"{LARGEST_SIDE / 1000:.2f} m",
                    "use a3 or tabloid",
                )
            return tiling_over([(single, window_of(single, say, many=False))], content, (), ())
        content, parts = seen.box.grown(AIR), [hole.box for hole in seen.holes]
        # The strip of words is lower on a sheet that joins no other, so its window is larger: first as if there were
        # one
        alone = tiling_over(_ways(sheet, say, many=False), content, seen.patterns, parts)
        if len(alone.tiles) == 1:
            return alone
        return tiling_over(_ways(sheet, say, many=True), content, seen.patterns, parts)
    except SheetError as error:
        raise SpecError((say.layout.spec.problem("paper.size", error.found, error.wanted),)) from error


def _ways(sheet: PaperSheet, say: strip.Saying, many: bool) -> list[tuple[PaperSheet, Box]]:
    """The ways the sheet may lie, each with its window; `SheetError` if none leaves room to draw."""
    # both ways: which takes fewer sheets hangs on the plate, and on the words below the window
    lying = [sheet] if sheet.width == sheet.height else [sheet, sheet.turned]
    ways = [(way, window_of(way, say, many)) for way in lying if way.width > 2 * (MARGIN + GUTTER)]
    good = [(way, window) for way, window in ways if min(window.width, window.height) >= SMALLEST_WINDOW]
    if not good:
        size = strip.by(sheet.width, sheet.height, say.unit)
        raise SheetError(f"a sheet of {size}, which leaves no room to draw beside its words", "use a larger one")
    return good


def window_of(sheet: PaperSheet, say: strip.Saying, many: bool) -> Box:
    """The part of the sheet that shows the drawing, mm; `many` when there will be several sheets."""
    inner = sheet.printable.grown(-GUTTER)
    height = strip.height(inner.width, say, many)
    return Box(inner.x0, inner.y0 + height + strip.AIR, inner.x1, inner.y1)


# ---------------------------------------------------------------------------------------- seam crosses


def seam_crosses(tiling: Tiling, seen: Seen) -> tuple[Cross, ...]:
    """The seam crosses, in the view: a grid on the seams, and near both ends of every row and column of sheets."""
    if len(tiling.tiles) == 1:
        return ()
    box = tiling.box
    centers = [hole.center for hole in seen.holes]
    # on the seams for laying sheet on sheet, and near both ends for measuring the glued whole
    columns = [box.x0 + SEAM_INSET, *tiling.seams_x, box.x1 - SEAM_INSET]
    rows = [box.y1 - SEAM_INSET, *reversed(tiling.seams_y), box.y0 + SEAM_INSET]
    xs = [_clear_of(x, [center[0] for center in centers]) for x in columns]
    ys = [_clear_of(y, [center[1] for center in centers]) for y in rows]
    return tuple(
        Cross(f"{in_letters(column)}{row}", (x, y)) for row, y in enumerate(ys, start=1) for column, x in enumerate(xs)
    )


def _clear_of(at: float, centers: Sequence[float]) -> float:
    """The place, moved within the seam to where it stays farthest from holes' centres, if any are near."""
    # moved at most so far that the cross stays within the overlap of both sheets
    play = OVERLAP / 2 - SEAM_CROSS
    near = [center for center in centers if abs(center - at) < play + 2 * SEAM_CROSS]
    if not near or len(near) > MOST_NAMES:
        return at
    tried = [at + play * step / 4 for step in (0, 1, -1, 2, -2, 3, -3, 4, -4)]
    return max(tried, key=lambda spot: round(min(*(abs(spot - center) for center in near), 2 * SEAM_CROSS), 6))


def distances(job: Job) -> str:
    """What to measure on the glued sheets: the crosses in the corners of the whole, from centre to centre."""
    if not job.crosses:
        return ""
    corner = {cross.name: cross.at for cross in job.crosses}
    last = job.crosses[-1].name
    column, row = last.rstrip("0123456789"), last.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ")
    pairs = [("A1", f"{column}1"), ("A1", f"A{row}"), ("A1", last), (f"A{row}", f"{column}1")]
    spans = [f"{a} to {b} {_length(between(corner[a], corner[b]), job.say.unit)}" for a, b in pairs]
    return ", ".join(spans) + "."


# ------------------------------------------------------------------------------------------ one sheet


def draw_sheet(pen: Pen, job: Job, tile: Tile, number: int) -> None:
    """One sheet: the drawing in its window, then frame, bars and the strip of words."""
    sheet, window, way = tile.sheet, tile.window, tile.view.at
    holes = [hole for hole in job.seen.holes if hole.box.overlaps(tile.box)]
    spaces = [space for space in job.seen.spaces if space.shape.box.overlaps(tile.box)]
    words = [word for word in job.words if word.box.overlaps(tile.box)]
    if tile.extra:  # lies over no other sheet: what is cut off here goes on nowhere
        words = [word for word in words if _holds(tile.box, word.box)]
    # a cross counts as on this sheet only if all of it is: half a cross cannot be laid on another
    whole = tile.box.grown(1e-6 - SEAM_CROSS)
    shown = [Cross(c.name, way(c.at)) for c in job.crosses if not tile.extra and _inside(c.at, whole)]
    crosses = _tagged(
        job.tiling, shown, tile, [job.seen.outline, *(h.shape for h in holes), *(space.shape for space in spaces)]
    )
    pen.page(sheet.width, sheet.height, job.say.bend(sheet))
    with pen.within(window):
        if not job.say.clear:
            # The stamp beside the plate where the sheet has room, else slanted across it: paper with a stamp over its
            # holes is still good to lay on the machine
            plate = _moved(job.seen.box, way)
            per_point = text_width(NOT_FOR_CUTTING, 1.0, "bold")
            size = min(64.0, 0.8 * window.width / per_point)
            over, under = window.y1 - plate.y1, plate.y0 - window.y0
            if max(over, under) > STAMP_ROOM:
                middle = window.y1 - over / 2 if over >= under else window.y0 + under / 2
                pen.stamp((window.center[0], middle), NOT_FOR_CUTTING, size, 0.0, STAMP_GREY)
            else:
                pen.stamp(window.center, NOT_FOR_CUTTING, size, 24.0, STAMP_GREY)
        _draw_seams(pen, job.tiling, tile)
        for space in spaces:
            pen.shape(space.shape, way, OUTLINE, strip.NEAR_DASH if space.body.side == "near" else strip.FAR_DASH)
        names = _names(job, tile, holes, spaces, crosses, words)
        for name in names:
            pen.box(name.box, width=0, fill=1.0)
        for cross in crosses:
            pen.circle(cross.at, SEAM_CROSS / 2)
            pen.crosshair(cross.at, 0.0, SEAM_CROSS)
            pen.text((cross.tag.x0, cross.tag.y0), cross.name, SMALLEST_TEXT, "bold")
        pen.shape(job.seen.outline, way, OUTLINE)
        if job.seen.bend is not None and job.say.layout.flange is not None:
            _draw_bend(pen, job.seen.bend, way, window, bend_words(job.say.layout.flange, job.seen.side))
        for word in words:
            for stroke in word.strokes:
                pen.edges(stroke, way, SCRIBED_LINE, closed=False)
        for hole in holes:
            draw_hole(pen, hole, job.operations[hole.name], way, job.seen.side)
        # The names' boxes were whitened under the drawing; the ground of the words alone comes over it, so that no line
        # strikes a name out, not even another's leader, and none is cut farther than the name needs
        for name in names:
            if name.leader is not None:
                pen.line(*name.leader, width=LEADER)
        for name in names:
            ground(pen, name)
        for name in names:
            write_words(pen, name)
    _draw_frame(pen, job, tile, number)
    inner = sheet.printable.grown(-GUTTER)
    strip.draw(
        pen,
        Box(inner.x0, inner.y0, inner.x1, window.y0 - strip.AIR),
        job.say,
        job.tiling,
        tile,
        number,
        job.seen.outline,
        distances(job),
    )
    pen.end_page()


def draw_hole(pen: Pen, hole: SeenOpening, operations: Operations, way: Way, facing: Side) -> None:
    """An opening at finished size, the sizes on the way to it, its second ring, its open crosshair, its travel.

    What is let in from the side that does not face the reader is dashed.
    """
    pen.shape(hole.shape, way, dash=HIDDEN_DASH if hole.opening.side not in {None, facing} else ())
    if hole.mouth is not None:
        pen.shape(hole.mouth, way, dash=HIDDEN_DASH if hole.mouth_side != facing else ())
    center = way(hole.center)
    for diameter in sizes_on_the_way(hole, operations):
        pen.circle(center, diameter / 2, dash=WAY_DASH)
    if hole.thread is not None:
        pen.arc(center, hole.thread / 2, THREAD_START, THREAD_SWEEP)
    if hole.ringed:
        pen.circle(center, hole.ring)
    pen.crosshair(center, hole.gap, hole.reach)
    if hole.large and isinstance(hole.shape, Disc):
        x, y = center
        for ux, uy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
            near, far = hole.shape.radius - TICK, hole.shape.radius + TICK
            pen.line((x + near * ux, y + near * uy), (x + far * ux, y + far * uy))
    if hole.stops:
        pen.circle(center, hole.opening.size / 2, dash=NOMINAL_DASH)
    # A small cross where the screw stands at each end of its travel; a wedge points the way that tightens the belt
    for stop in hole.stops:
        (sx, sy), scale = way(stop.at), min(hole.opening.size / 10, 1.0)
        cos, sin, arm = math.cos(stop.heading), math.sin(stop.heading), 1.5 * scale
        pen.line((sx - arm * cos, sy - arm * sin), (sx + arm * cos, sy + arm * sin))
        pen.line((sx + arm * sin, sy - arm * cos), (sx - arm * sin, sy + arm * cos))
        if stop.tightens:
            wedge = ((0.6 * scale, 1.0 * scale), (0.6 * scale, -1.0 * scale), (3.0 * scale, 0.0))
            pen.solid([(sx + along * cos - off * sin, sy + along * sin + off * cos) for along, off in wedge])


def sizes_on_the_way(hole: SeenOpening, operations: Operations) -> tuple[float, ...]:
    """Diameters that a round hole has on the way to its finished size, mm."""
    if not isinstance(hole.shape, Disc):
        return ()
    steps = (step for step in operations.steps if step.work not in ("countersink", "counterbore"))
    sizes = {step.diameter for step in steps if step.diameter is not None}
    return tuple(sorted(size for size in sizes if abs(size - hole.opening.size) > SAME_SIZE))


# ------------------------------------------------------------------------------------ frame and bars


def _draw_frame(pen: Pen, job: Job, tile: Tile, number: int) -> None:
    window, tiling, bars = tile.window, job.tiling, check_frame(tile.sheet, job.say.unit)
    pen.box(window)
    # Four bars that share their ends, so that six distances prove a sheet: four sides, two diagonals
    x0, y0, x1, y1 = bars
    for a, b in (((x0, y0), (x1, y0)), ((x0, y1), (x1, y1)), ((x0, y0), (x0, y1)), ((x1, y0), (x1, y1))):
        pen.line(a, b)
    for corner in ((x0, y0), (x1, y0), (x0, y1), (x1, y1)):
        pen.crosshair(corner, 0.0, BAR_INSET)
    across, along = _length(bars.width, job.say.unit), _length(bars.height, job.say.unit)
    diagonal = _length(math.hypot(bars.width, bars.height), job.say.unit)
    _note(pen, bars.center[0], y1, f"top {across}   (both diagonals {diagonal})")
    _note(pen, bars.center[0], y0, f"bottom {across}")
    _upright_note(pen, x0, bars.center[1], f"left {along}")
    _upright_note(pen, x1, bars.center[1], f"right {along}")
    # What is trimmed lies over its neighbour: the frame is cut on the sheet to the right or below
    if tile.extra:
        return
    if tile.column > 0:
        pen.line((window.x0, window.y0), (window.x0, window.y1), 0.35)
        words = f"trim here, lay over sheet {number - 1}"
        _upright_note(pen, bars.x0, (window.y0 + 3 * window.y1) / 4, words)
    if tile.row > 0:
        pen.line((window.x0, window.y1), (window.x1, window.y1), 0.35)
        words = f"trim here, lay over sheet {number - tiling.columns}"
        _note(pen, (window.x0 + 5 * window.x1) / 6, bars.y1, words)


def _draw_seams(pen: Pen, tiling: Tiling, tile: Tile) -> None:
    """Dotted, where the neighbouring sheets will end; drawn before all names, so that it strikes through none."""
    for start, end in _seams(tiling, tile):
        pen.line(start, end, dash=SEAM_DASH)


def _seams(tiling: Tiling, tile: Tile) -> Iterator[tuple[Point, Point]]:
    window = tile.window
    if not tile.extra and tile.column < tiling.columns - 1:
        x = window.x1 - OVERLAP
        yield (x, window.y0), (x, window.y1)
    if not tile.extra and tile.row < tiling.rows - 1:
        y = window.y0 + OVERLAP
        yield (window.x0, y), (window.x1, y)


def _note(pen: Pen, x: float, y: float, words: str) -> None:
    half = text_width(words, SMALLEST_TEXT) / 2 + 1.0
    pen.box(Box(x - half, y - 1.2, x + half, y + 1.2), width=0, fill=1.0)
    pen.text((x, y - 0.85), words, SMALLEST_TEXT, align="middle")


def _upright_note(pen: Pen, x: float, y: float, words: str) -> None:
    half = text_width(words, SMALLEST_TEXT) / 2 + 1.0
    pen.box(Box(x - 1.2, y - half, x + 1.2, y + half), width=0, fill=1.0)
    pen.upright_text((x + 0.85, y), words, SMALLEST_TEXT)


def _length(mm: float, unit: Unit) -> str:
    return show_length(mm, unit, 3 if unit == "in" else 2)


# ---------------------------------------------------------------------------------------------- names


def opening_words(hole: SeenOpening, operations: Operations, side: Side, unit: Unit) -> tuple[str, ...]:
    """An opening's name, and below it its size and how it is made."""
    opening, shape = hole.opening, hole.shape
    if opening.depth is not None:
        face = "this face" if opening.side == side else "the other face"
        depth = show_length(opening.depth, unit)
        return (opening.name, f"Ø{show_length(opening.size, unit)}, bore {depth} deep", f"from {face}")
    work = work_words(opening, operations, unit)
    if opening.thread is not None:
        return (opening.name, f"{opening.thread}: {work}")
    if isinstance(shape, Slot):
        return (opening.name, f"slot {strip.by(shape.width, shape.length + shape.width, unit)} over all, {work}")
    if isinstance(shape, CurvedSlot):
        return (opening.name, f"curved slot, {show_length(shape.width, unit)} wide, {work}")
    if isinstance(shape, Disc):
        fit = f" {opening.fit or 'H7'}" if opening.role == "dowel" else ""
        return (opening.name, f"Ø{show_length(shape.diameter, unit)}{fit}, {work}")
    # any other shape by its box, so that no opening stands without its size
    return (opening.name, f"{strip.by(shape.box.width, shape.box.height, unit)}, {work}")


def work_words(opening: Opening, operations: Operations, unit: Unit) -> str:
    """The work on an opening in a few words: `cut`, `mark, drill`, `cut Ø58 mm, bore`; finished sizes left out."""
    said = []
    for step in operations.steps:
        if step.work == "mark" and len(operations.steps) != 2:
            continue  # with more work to come a mark goes without saying
        on_the_way = step.diameter is not None and abs(step.diameter - opening.size) > SAME_SIZE
        if step.diameter is not None and (on_the_way or (opening.thread is not None and step.work == "drill")):
            said.append(f"{step.work} Ø{show_length(step.diameter, unit)}")
        else:
            said.append(step.work)
    return ", ".join(said)


def _names(
    job: Job,
    tile: Tile,
    holes: Sequence[SeenOpening],
    spaces: Sequence[SeenBody],
    crosses: Sequence[Cross],
    words: Sequence[Word],
) -> list[Name]:
    """The names of all that this sheet shows, placed so that none covers another name or a crosshair."""
    window, way = tile.window, tile.view.at
    centered = [hole for hole in holes if _inside(way(hole.center), window)]
    others = [hole for hole in centered if hole.opening.role != "screw"][:MOST_NAMES]
    named = others if len(centered) > FULL_SHEET else centered
    # Many like holes are told about once, in the lower left of the window; each then carries its number alone
    corner = (window.x0 + 2.0, window.y0 + 2.0)
    rest = "numbered here as in the spec" if len(named) == len(centered) else "their numbers are in the hole list"
    notes = []
    for (mount, said), count in _many(job, centered).items():
        lines: list[tuple[str, Face]] = [(f"{mount}: {count} holes on this sheet", "bold")]
        lines += [(line, "regular") for line in (*said, rest)]
        notes.append(NameWish(tuple(lines), corner, 0.0, 0.0))
    clear = [box for hole in named for box in _keep_clear(hole, way)] + [_cross_box(cross) for cross in crosses]
    clear += [_moved(word.box, way) for word in words]
    # The edges of the plate are what the paper is laid on by: no name may stand on one. The dashes of a body only
    # explain.
    steel = [job.seen.outline, *(hole.shape for hole in holes[:FULL_SHEET] if not hole.ringed)]
    edges = _rows(_along(shape, tile) for shape in steel)
    if job.seen.bend is not None:  # a name in it would be read as its own
        edges = _rows([edges, np.array(_dotted(way(job.seen.bend.a), way(job.seen.bend.b)))])
    drawn = _rows(_along(space.shape, tile) for space in spaces)
    field = window.grown(-1.0)
    wanted = [_at_its_end(want, hole, way, field, edges) for want, hole in _hole_names(job, named, way)]
    names = placed_names(notes + wanted, field, clear, drawn, edges=edges)
    centers = [way(hole.center) for hole in named]
    for space in spaces[:MOST_NAMES]:
        # A body is named at its edge, well inside the window, where no hole is near and nothing covers the edge: a
        # leader would end under it. Sixty spots are enough to choose from
        room = window.grown(-6.0)
        along = [point for point in _points(_along(space.shape, tile)) if _inside(point, room)]
        inside = along[:: max(len(along) // 60, 1)]
        covered = [*clear, *(name.box.grown(1.0) for name in names)]
        inside = _outside(inside, covered) or inside
        if inside:
            anchor = max(
                inside,
                key=lambda point: round(min((between(point, other) for other in centers), default=0.0), 6),
            )
            wish = NameWish(((f"{space.body.name}, {space.body.side} side", "italic"),), anchor, 0.4, 0.0)
            led = [point for name in names if name.leader is not None for point in _dotted(*name.leader)]
            boxes = [name.box for name in names]
            kept = _rows([edges, np.array(led).reshape(-1, 2)])
            placed = placed_names([wish], field, [*clear, *boxes], drawn, edges=kept)
            names += [_to_the_nearest(name, _outside(along, covered), boxes) for name in placed]
    return names


def _to_the_nearest(name: Name, along: Sequence[Point], boxes: Sequence[Box]) -> Name:
    """A body's name, its leader to the spot of its edge that is nearest: to one behind it, it would cross the edge."""
    if name.leader is None or not along:
        return name
    box = name.box

    def start(spot: Point) -> Point:
        return (min(max(spot[0], box.x0), box.x1), min(max(spot[1], box.y0), box.y1))

    spot = min(along, key=lambda point: round(between(start(point), point), 6))
    leader = (start(spot), spot)
    if any(_inside(point, other) for point in _dotted(*leader) for other in boxes):
        return name
    return replace(name, leader=None if between(*leader) < NEXT_TO else leader)


def _at_its_end(want: NameWish, hole: SeenOpening, way: Way, field: Box, edges: NDArray[np.float64]) -> NameWish:
    """A long slot that no screw slides in is named at one of its ends, where more paper is free.

    Its middle may have a row of others on either side: a leader to it would run through them.
    """
    shape = hole.shape
    if not isinstance(shape, Slot) or hole.stops or hole.mouth is not None or shape.length < LONG * shape.width:
        return want
    ends = [(way(shape.a), way(shape.b)), (way(shape.b), way(shape.a))]
    wide, high = max(text_width(line, SIZE, face) for line, face in want.lines), len(want.lines) * line_step(SIZE)
    spots = []
    for end, other in ends:
        if not _inside(end, field):
            continue
        # the words as they would stand straight on from the slot: within the sheet, and on as few edges as may be
        far = between(end, other)
        ux, uy = (end[0] - other[0]) / far, (end[1] - other[1]) / far
        off = shape.radius + 1.0 + abs(ux) * wide / 2 + abs(uy) * high / 2
        x, y = end[0] + ux * off, end[1] + uy * off
        words = Box(x - wide / 2, y - high / 2, x + wide / 2, y + high / 2)
        beside, above = field.x0 > words.x0 or words.x1 > field.x1, field.y0 > words.y0 or words.y1 > field.y1
        struck = ((words.x0 < edges[:, 0]) & (edges[:, 0] < words.x1)) & (
            (words.y0 < edges[:, 1]) & (edges[:, 1] < words.y1)
        )
        spots.append(((beside, above, int(struck.sum())), end))
    if not spots:
        return want
    return replace(want, point=min(spots, key=lambda spot: spot[0])[1], room=shape.radius + 0.3, edge=shape.radius)


def _dotted(start: Point, end: Point) -> list[Point]:
    """Points of a leader, which no name may hide and no other leader should cross."""
    count = max(math.ceil(between(start, end) / SAMPLE), 1)
    shares = [index / count for index in range(count + 1)]
    return [(start[0] + (end[0] - start[0]) * t, start[1] + (end[1] - start[1]) * t) for t in shares]


Kind = tuple[str, tuple[str, ...]]
"""Mount and words: what holes have in common that are told about together."""


def _kind(job: Job, hole: SeenOpening) -> Kind:
    words = opening_words(hole, job.operations[hole.name], job.seen.side, job.say.unit)
    return (hole.opening.mount or "", words[1:])


def _many(job: Job, holes: Sequence[SeenOpening]) -> dict[Kind, int]:
    """The kinds of which so many holes are on the sheet that one note tells about them all."""
    counted = Counter(_kind(job, hole) for hole in holes if hole.opening.role == "screw")
    return {kind: count for kind, count in counted.items() if count > MOST_ALIKE}


def _hole_names(job: Job, holes: Sequence[SeenOpening], way: Way) -> list[tuple[NameWish, SeenOpening]]:
    """What to write at the holes; where many are alike, each gets its number only."""
    many = _many(job, holes)
    alone = len({mount for mount, _ in many}) == 1
    wanted = []
    for hole in sorted(holes, key=lambda hole: (hole.reach, hole.name)):
        name, *rest = opening_words(hole, job.operations[hole.name], job.seen.side, job.say.unit)
        lines: list[tuple[str, Face]] = [(name, "bold"), *((line, "regular") for line in rest)]
        if _kind(job, hole) in many:
            lines = [(name.rsplit(".", 1)[-1] if alone else name, "bold")]
        # `room` keeps the name outside what is drawn of the hole; its leader goes on to the ring, or the edge
        room = max(_ring(hole), hole.gap + 1.0) if hole.large or hole.ringed else hole.reach
        want = NameWish(
            tuple(lines),
            way(hole.center),
            max(room, hole.mouth.radius) if isinstance(hole.mouth, Disc) else room,
            _ring(hole) if hole.ringed or hole.stops else hole.reach,
        )
        wanted.append((want, hole))
    return wanted


def _ring(hole: SeenOpening) -> float:
    """Radius of what is drawn about the hole's centre and is no arm."""
    if hole.ringed:
        return hole.ring
    return hole.opening.size / 2 if hole.stops else hole.gap


def _keep_clear(hole: SeenOpening, way: Way) -> list[Box]:
    """What no name may cover: the rings, the crosshair's arms, the ends of travel."""
    (x, y), arm, half = way(hole.center), hole.reach + 0.3, 0.4
    boxes = [_round((x, y), _ring(hole) + 0.3)]
    boxes += [Box(x - arm, y - half, x + arm, y + half), Box(x - half, y - arm, x + half, y + arm)]
    if hole.mouth is not None:
        boxes.append(_moved(hole.mouth.box, way).grown(0.3))
    if hole.large and isinstance(hole.shape, Disc):
        far = hole.shape.radius
        ticks = ((x + far, y), (x - far, y), (x, y + far), (x, y - far))
        boxes += [_round(tick, TICK + 0.2) for tick in ticks]
    return boxes + [_round(way(stop.at), STOP_ROOM) for stop in hole.stops]


def _round(point: Point, reach: float) -> Box:
    return Box(point[0] - reach, point[1] - reach, point[0] + reach, point[1] + reach)


def _cross_box(cross: Cross) -> Box:
    x, y = cross.at
    tag = cross.tag.grown(0.4)
    return Box(
        min(x - SEAM_CROSS, tag.x0),
        min(y - SEAM_CROSS, tag.y0),
        max(x + SEAM_CROSS, tag.x1),
        max(y + SEAM_CROSS, tag.y1),
    )


def _tagged(tiling: Tiling, crosses: Sequence[Cross], tile: Tile, shapes: Sequence[Shape]) -> list[Cross]:
    """The crosses of a sheet, the name of each in that corner of it in which fewest lines run, and in the window."""
    if not crosses:
        return []
    dots = [point for start, end in _seams(tiling, tile) for point in _dotted(start, end)]
    x, y = _rows([*(_along(shape, tile) for shape in shapes), np.array(dots).reshape(-1, 2)]).T
    field = tile.window.grown(-0.5)
    found = []
    for cross in crosses:
        near = (np.abs(x - cross.at[0]) < 2 * SEAM_CROSS) & (np.abs(y - cross.at[1]) < 2 * SEAM_CROSS)
        points = list(zip(x[near].tolist(), y[near].tolist(), strict=True))
        ways = [replace(cross, left=left, below=below) for below in (False, True) for left in (False, True)]
        within = [one for one in ways if field.x0 <= one.tag.x0 and one.tag.x1 <= field.x1] or ways
        room = {one: one.tag.grown(0.3) for one in within}
        found.append(min(within, key=lambda one: sum(_inside(p, room[one]) for p in points)))
    return found


def _draw_bend(pen: Pen, line: Line, way: Way, window: Box, words: str) -> None:
    """A bend line, as far as a sheet shows it, with its words in the middle of that."""
    a, b = way(line.a), way(line.b)
    # clipped to the window (the slab method): the words would else stand on one sheet alone
    first, last = 0.0, 1.0
    for start, step, low, high in (
        (a[0], b[0] - a[0], window.x0, window.x1),
        (a[1], b[1] - a[1], window.y0, window.y1),
    ):
        if abs(step) < 1e-9:
            if not low <= start <= high:
                return
            continue
        ends = sorted(((low - start) / step, (high - start) / step))
        first, last = max(first, ends[0]), min(last, ends[1])
    if first < last:
        draw_bend(pen, Line(_between(a, b, first), _between(a, b, last)), lambda point: point, words)


def _between(a: Point, b: Point, share: float) -> Point:
    return (a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share)


def _along(shape: Shape, tile: Tile) -> NDArray[np.float64]:
    """Points of the sheet along the edge of a shape, as rows, as far as the tile shows it."""
    points, box, view = rows_along(shape, SAMPLE), tile.box, tile.view
    x, y = points[:, 0], points[:, 1]
    shown = points[(box.x0 <= x) & (x <= box.x1) & (box.y0 <= y) & (y <= box.y1)]
    xs, ys = view.x + view.scale * shown[:, 0], view.y + view.rise * shown[:, 1]  # as `View.at`, all at once
    return np.column_stack((xs, ys))


def _rows(parts: Iterable[NDArray[np.float64]]) -> NDArray[np.float64]:
    return np.concatenate([np.empty((0, 2)), *parts])


def _points(rows: NDArray[np.float64]) -> list[Point]:
    return [(x, y) for x, y in rows.tolist()]


def _moved(box: Box, way: Way) -> Box:
    return Box(*way((box.x0, box.y0)), *way((box.x1, box.y1)))


def _outside(points: list[Point], boxes: Sequence[Box]) -> list[Point]:
    """The points that lie in none of the boxes."""
    if not points or not boxes:
        return points
    x, y = np.array(points).T[:, :, None]
    x0, y0, x1, y1 = np.array([(box.x0, box.y0, box.x1, box.y1) for box in boxes]).T[:, None, :]
    free = ~((x0 <= x) & (x <= x1) & (y0 <= y) & (y <= y1)).any(axis=1)
    return [point for point, it_is in zip(points, free.tolist(), strict=True) if it_is]


def _holds(box: Box, other: Box) -> bool:
    return _inside((other.x0, other.y0), box) and _inside((other.x1, other.y1), box)


def _inside(point: Point, box: Box) -> bool:
    return box.x0 <= point[0] <= box.x1 and box.y0 <= point[1] <= box.y1

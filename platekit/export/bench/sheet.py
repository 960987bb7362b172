"""The bench sheet: the plate drawn to scale with its dimensions, and below it all that the bench has to know.

First comes the drawing, then the hole table, the screws to buy, how things are made and put together, the drive, what
was found and accepted, and the cautions. Every page says which spec and revision it is of, and whether it may be cut.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from functools import partial
from typing import Final

from platekit.checks.finding import Verdict
from platekit.checks.strength import shown_of
from platekit.cutting.capability import capability_of
from platekit.cutting.operations import Operations, operations_of
from platekit.drawing import bending
from platekit.drawing.bending import NOTE, flange_rows
from platekit.drawing.cautions import NOT_FOR_CUTTING, SHORT
from platekit.drawing.from_side import side_views
from platekit.drawing.pdf.drafting import third_angle
from platekit.drawing.pdf.flow import Block, Column, items, pages_of_blocks, table
from platekit.drawing.pdf.letters import SMALLEST_TEXT, letters, text_width
from platekit.drawing.pdf.pages import SMALL_LINE, closing, draw_list_page, draw_status, list_field
from platekit.drawing.pdf.paper import SIZES, PaperSheet
from platekit.drawing.pdf.pen import Pen
from platekit.drawing.pdf.strip import by
from platekit.drawing.text import shortened, wrapped
from platekit.drawing.welding import STEPS
from platekit.export.bench import words
from platekit.export.bench.card import draw_card
from platekit.export.bench.drawing import PlacedView, draw_plate, planned, scale_words
from platekit.export.bench.from_side import draw_side
from platekit.export.bench.parts_list import list_blocks
from platekit.export.bench.strength import draw_strength
from platekit.export.data.hole_list import slot_ends
from platekit.export.files import write_whole
from platekit.export.reports.guard import guard_rows
from platekit.export.reports.layers import LAYERS_NOTE, layer_rows
from platekit.export.reports.lugs import LUGS_NOTE, lug_rows
from platekit.export.reports.rows import back_words, circle_words, cutting_rows, order_of, step_rows
from platekit.geometry import Box
from platekit.laying.layers import layer_parts
from platekit.placed import Layout
from platekit.units import show_length

WIDE_BLOCK: Final = 7.0
"""A title block so many times as wide as high has room beside its words (ours)."""
BLANK: Final = "\u2007" * 12
"""Room to write by hand, in figures' widths (ours)."""
TITLE_ROW: Final = 9.0
CELL_ROW: Final = 8.5
"""Height of the title's row and of each row of cells, mm (ours)."""
LINES: Final = 4
"""Lines of words under the cells (ours)."""
SIGN: Final = 22.0
SIGNED: Final = 102.0
"""Room for the sign of projection, and on a lying sheet for what is signed by hand beside the words, mm (ours)."""
PAPERS: Final = {"a4": "a4", "a3": "a4", "letter": "letter", "tabloid": "letter"}
"""The bench sheet's paper by the template's: what goes into a folder (ours)."""


def sheet_bytes(layout: Layout, verdict: Verdict) -> bytes:
    """The bench sheet as PDF, A4 or Letter by the paper of the spec; the same layout gives the same bytes.

    Raises `SpecError` when the spec names a zero that is not there.
    """
    zero = words.zero_of(layout)
    made = operations_of(layout)
    paper = paper_of(layout)
    which, plan = planned(layout, zero.point, drawing_fields(layout))
    pages = pages_of_blocks(list(_blocks(layout, verdict, made, zero, paper)), list_field(paper))
    pen = Pen(layout.title, f"{layout.spec.name}, revision {layout.spec.revision}, bench sheet")
    views = side_views(layout)
    held = shown_of(layout)
    extra = len(views) + (held is not None)
    count = 2 + extra + len(pages)
    # in the order in which they are needed: the card for the hand, the drawing, then what is looked up
    draw_card(pen, layout, verdict, made, paper, f"sheet 1 of {count}")
    first = (paper, paper.turned)[which]
    pen.page(first.width, first.height)
    pen.box(first.printable, 0.35)
    draw_plate(pen, layout, made, plan, zero.point, verdict.clear)
    inner = first.printable
    _title_block(pen, layout, verdict, plan, zero, Box(inner.x0, inner.y0, inner.x1, inner.y0 + _foot(first)), count)
    pen.end_page()
    for number, view in enumerate(views, start=3):
        drawn = partial(draw_side, pen, view, list_field(paper.turned))
        draw_list_page(pen, layout, verdict, paper.turned, (), f"sheet {number} of {count}", drawn)
    if held is not None:
        drawn = partial(draw_strength, pen, layout, held, list_field(paper.turned))
        draw_list_page(pen, layout, verdict, paper.turned, (), f"sheet {2 + extra} of {count}", drawn)
    for number, pieces in enumerate(pages, start=3 + extra):
        draw_list_page(pen, layout, verdict, paper, pieces, f"sheet {number} of {count}")
    return pen.finished()


def sheet(layout: Layout, verdict: Verdict, path: str | os.PathLike[str]) -> None:
    """Writes the bench sheet to `path`, whole or not at all; see `sheet_bytes`."""
    write_whole(path, sheet_bytes(layout, verdict))


def paper_of(layout: Layout) -> PaperSheet:
    """The paper of the bench sheet, upright: A4 or Letter, whichever goes with the spec's paper."""
    size = layout.paper.size
    usual = "letter" if layout.spec.unit == "in" else "a4"
    name = PAPERS.get(size, usual) if isinstance(size, str) else usual
    return PaperSheet(name, *SIZES[name])


def drawing_fields(layout: Layout) -> tuple[Box, Box]:
    """The room for the drawing on the bench sheet's paper, upright and lying, mm."""
    paper = paper_of(layout)
    return _drawing_field(paper), _drawing_field(paper.turned)


def _drawing_field(paper: PaperSheet) -> Box:
    inner = paper.printable
    return Box(inner.x0 + 2, inner.y0 + _foot(paper) + 2, inner.x1 - 2, inner.y1 - 2)


def _foot(paper: PaperSheet) -> float:
    """Height of the title block, mm."""
    rows = 1 if paper.width > paper.height else 2  # what is signed by hand: beside the words if there is room for it
    return TITLE_ROW + rows * CELL_ROW + LINES * SMALL_LINE + 0.8


# ---------------------------------------------------------------------------------------------- blocks


def _blocks(
    layout: Layout, verdict: Verdict, made: Sequence[Operations], zero: words.Zero, paper: PaperSheet
) -> Iterator[Block]:
    """What stands on the pages after the drawing, in the order of the job: what stops it, drilling, cutting, assembly.

    Whoever stands at the bench turns pages forward only.
    """
    width = paper.printable.width
    stops = [finding for finding in words.open_findings(verdict) if finding.level == "stop"]
    if stops:
        yield items(f"{NOT_FOR_CUTTING}: what stops it", words.finding_lines(stops), width, "□")
    unit, count = layout.spec.unit, len(layout.openings)
    note = f"X to the right and Y up from {zero.words}, seen from the near side; {unit}."
    if any(slot_ends(opening) for opening in layout.openings):
        note += " Of a slot X and Y of the centres of both round ends."
    if count > words.MOST_HOLES:
        note += f" The first {words.MOST_HOLES} of {count}; the hole list has them all."
    columns = _columns(["name", "what", "X", "Y", "size", "how it is made", "screw"], {2, 3})
    yield table("Holes and openings", columns, words.hole_rows(layout, made, zero), width, note)
    slots = words.slot_rows(layout, zero)
    if slots:
        heads = ["slot", "X of one end", "Y", "X of the other", "Y", "width"]
        yield table("Slots: centres of their round ends", _columns(heads, {1, 2, 3, 4, 5}), slots, width)
    why = words.reasons(layout, made)
    if why:
        yield items("Finished by hand, and why", why, width)
    edges = words.outline_rows(layout, zero)
    if edges:
        heads = ["going round", "from X", "Y", "centre X", "Y", "radius"]
        yield table("The outside, counter-clockwise", _columns(heads, {1, 2, 3, 4, 5}), edges, width, fold=True)
    else:
        many = len(words.outside_edges(layout.outline))
        told = (
            f"The outside has {many} edges, more than {words.MOST_EDGES}: it is in the cut file, and on the paper 1:1."
        )
        yield items("The outside", [told], width)
    cutting = [list(row) for row in cutting_rows(layout)]
    if cutting:
        yield table("Cutting", _columns(["figure", "value"], set()), cutting, width)
    bars = words.bar_rows(layout, zero)
    if bars:
        heads = ["bar", "part", "flat bar", "side", "from X, Y", "to X, Y", "weld"]
        yield table("Flat bars to weld on", _columns(heads, set()), bars, width, words.BAR_NOTE)
        yield items("How to weld them on", STEPS, width, "□")
    bent = [list(row) for row in flange_rows(layout)]
    if bent:
        yield table("Flange to bend", _columns(["what", "how"], set()), bent, width, NOTE)
        yield items("How to bend it", bending.STEPS, width, "□")
    for guard in layout.guards:
        rows = [list(row) for row in guard_rows(guard, layout)]
        head = f"{guard.name.capitalize()}, cut as parts of its own"
        yield table(head, _columns(["part", "what it is"], set()), rows, width)
    lugs = [list(row) for row in lug_rows(layout)]
    if lugs:
        yield table("Lugs to screw on", _columns(["lug", "what it is"], set()), lugs, width, LUGS_NOTE)
    layers = [list(row) for row in layer_rows(layout)]
    if layers:
        yield table(
            "Layers, cut as parts of their own", _columns(["layer", "what it is"], set()), layers, width, LAYERS_NOTE
        )
        for flat in layer_parts(layout).values():
            rows = words.hole_rows(flat, operations_of(flat), zero)
            yield table(
                f"{flat.title.partition(': ')[0]}: holes and openings", columns[:-1], [r[:-1] for r in rows], width
            )
    yield from _together(layout, width)
    for name, rows in words.drive_rows(layout):
        sources = words.sources_note(layout)
        yield table(name, _columns(["figure", "value"], set()), rows, width, sources)
    if verdict.accepted:
        yield items("Found, and accepted in the spec", words.finding_lines(verdict.accepted), width)
    rest = [finding for finding in words.open_findings(verdict) if finding.level != "stop"]
    if rest:
        yield items("Found, and to be judged", words.finding_lines(rest), width, "□")
    yield closing(width)


def _together(layout: Layout, width: float) -> Iterator[Block]:
    """What to buy and to cut, the screws, the order of assembly, and the way back to the machine as it was."""
    yield from list_blocks(layout, width)
    screws = words.screw_rows(layout)
    if screws:
        heads = ["for", "screws", "with them", "grip: head to thread", "in the thread", "tighten to"]
        yield table("Screws: grip, thread and torque", _columns(heads, set()), screws, width, words.TORQUE_NOTE)
    spacers = words.spacer_rows(layout)
    if spacers:
        heads = ["spacers for", "count", "cut from", "length", "alike within", "square within", "off the bar"]
        yield table("Spacers to cut", _columns(heads, {1, 3, 4, 5}), spacers, width, words.SPACER_NOTE)
    order = order_of(layout)
    steps = [
        [str(number), row.item, row.side, row.screws, row.tool, row.mind]
        for number, row in enumerate(step_rows(layout, order), start=1)
    ]
    if steps:
        heads = ["", "put on", "from", "screws", "tool", "note"]
        yield table("Order of assembly", _columns(heads, {0}), steps, width)
    circle = tuple(circle_words(order))
    if circle:
        yield items("No order of assembly works", circle, width, "□")
    yield items("Way back to the old machine", tuple(back_words(layout)), width, "□")


def _columns(heads: Sequence[str], right: set[int]) -> list[Column]:
    return [Column(head, index in right, "bold" if index == 0 else "regular") for index, head in enumerate(heads)]


# ----------------------------------------------------------------------------------------------- pages


def _title_block(
    pen: Pen, layout: Layout, verdict: Verdict, plan: PlacedView, zero: words.Zero, box: Box, count: int
) -> None:
    """What the drawing is of, in cells: title and verdict on top, then the plate, then how to read the drawing."""
    unit, outline = layout.spec.unit, layout.outline.box
    top = box.y1 - TITLE_ROW
    beside = box.width > box.height * WIDE_BLOCK
    rows = [box.y1, top, top - CELL_ROW, top - (1 if beside else 2) * CELL_ROW]
    for y in rows:
        pen.line((box.x0, y), (box.x1, y), 0.35 if y == box.y1 else 0.18)
    status = draw_status(pen, verdict, box.x1 - 1.5, rows[0] - 6.2)
    room = status - box.x0 - 3
    pen.title((box.x0 + 1.5, rows[0] - 6.1), layout.title, room, 13, 9)
    cells = [
        ("spec and revision", f"{layout.spec.name}, {layout.spec.revision}"),
        ("material", f"{layout.material.name}, {show_length(layout.thickness, unit)}"),
        ("mass", words.mass_words(layout)),
        ("over all, flat" if layout.flange else "over all", by(outline.width, outline.height, unit)),
        ("cut by", str(layout.cutting.process)),
        ("seen from", "near side"),
        ("scale", scale_words(plan.view.scale)),
        ("lengths in", unit),
        ("sheet", f"2 of {count}"),
    ]
    _cells(pen, cells, Box(box.x0, rows[2], box.x1, rows[1]))
    # who answers for the plate signs by hand: a date that the program writes would make each print another drawing
    signed = [
        ("general tolerances", general_tolerances(layout)),
        ("date", BLANK),
        ("made by", BLANK),
        ("checked by", BLANK),
    ]
    right = box.x1 - SIGN
    if beside:
        pen.line((right - SIGNED, box.y0), (right - SIGNED, rows[3]), 0.18)
        pen.line((right, box.y0), (right, rows[3]), 0.18)
        _cells(pen, signed, Box(right - SIGNED, box.y0, right, rows[3]))
        right -= SIGNED + 2
    else:
        _cells(pen, signed, Box(box.x0, rows[3], box.x1, rows[2]))
    third_angle(pen, box.x1 - 15.5, rows[3] - 5.0, 5.0)
    # How to read the drawing, and the one dimension to check a cut plate by
    said = (
        f"X and Y count from {zero.words}, the half-filled ring; a small ring marks where they begin. Finished sizes, "
    )
    said += "no kerf allowed for."
    pair = words.check_pair(layout)
    if pair is not None:
        said += f" CHECK: {pair[0]} to {pair[1]}, centre to centre {show_length(pair[2], unit)}."
    lines = wrapped(said, right - box.x0, letters(SMALLEST_TEXT))
    lines += wrapped(SHORT, right - box.x0, letters(SMALLEST_TEXT))
    for index, line in enumerate(lines[:LINES]):
        pen.text((box.x0 + 1.5, rows[3] - (index + 0.95) * SMALL_LINE), line, SMALLEST_TEXT)


def general_tolerances(layout: Layout) -> str:
    """What holds for sizes without a tolerance of their own: by the process where the table cuts, else as machined.

    ISO 9013 for thermally cut edges, in the class that the process is judged by; ISO 2768-1 medium for all else. That
    these are taken where nothing is agreed is common practice.
    """
    made = capability_of(layout).traits.iso_class
    return "ISO 2768-m" if made is None else f"cut: ISO 9013 class {made}; else ISO 2768-m"


def _cells(pen: Pen, cells: Sequence[tuple[str, str]], box: Box) -> None:
    """Small heading and words in each cell, as wide as they need."""
    # cells as wide as their words, and what is over shared alike; where it is too little all are cut alike
    needs = [max(text_width(head, SMALLEST_TEXT), text_width(said, 8, "bold")) + 3 for head, said in cells]
    spare = max(box.width - sum(needs), 0.0) / len(needs)
    shrink = min(box.width / sum(needs), 1.0)
    x = box.x0
    for (head, said), need in zip(cells, needs, strict=True):
        wide = need * shrink + spare
        if x > box.x0:
            pen.line((x, box.y0), (x, box.y1), 0.18)
        pen.text((x + 1.5, box.y1 - 3.1), shortened(head, wide - 2, letters(SMALLEST_TEXT)), SMALLEST_TEXT)
        pen.text((x + 1.5, box.y0 + 1.6), shortened(said, wide - 2, letters(8, "bold")), 8, "bold")
        x += wide

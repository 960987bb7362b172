"""The hole list: one row an opening, as CSV (RFC 4180, UTF-8) for a spreadsheet or a digital readout.

Lengths are in the spec's own unit, which stands in the heading of each column. `x` and `y` are in the plate frame,
looking at the near side; `from_left` and `from_bottom` count from the plate's lower left, as the cut file does.
"""

from __future__ import annotations

import csv
import io
import math
import os
from typing import Final

from platekit.checks import check
from platekit.checks.finding import Verdict
from platekit.cutting.heads import seats
from platekit.cutting.operations import operations_of, words_of
from platekit.drawing.cautions import NOT_FOR_CUTTING, ONE_LINE
from platekit.export.files import write_whole
from platekit.geometry import CurvedSlot, Disc, Point, Slot
from platekit.placed import Layout, Opening
from platekit.units import Unit, mm_per

DECIMALS: Final[dict[Unit, int]] = {"mm": 4, "in": 5}
"""Places given of a length: a tenth of a micrometre, a hundred-thousandth of an inch (ours)."""

FORMULA_STARTS: Final = frozenset("=+-@\t\r\n＝＋－＠")
"""Signs with which a spreadsheet begins a formula; a text cell that starts so gets an apostrophe (common practice)."""

COLUMNS: Final = (
    "name",
    "what",
    "mount",
    "x",
    "y",
    "x_y_of",
    "from_left",
    "from_bottom",
    "shape",
    "size",
    "width",
    "height",
    "slot_from_x",
    "slot_from_y",
    "slot_to_x",
    "slot_to_y",
    "depth",
    "opens_to",
    "made",
    "work",
    "drill",
    "thread",
    "seat_diameter",
    "seat_depth",
    "seat_side",
    "screw",
)
"""The columns that tell about an opening, in order."""

LENGTHS: Final = frozenset(
    {
        "x",
        "y",
        "from_left",
        "from_bottom",
        "size",
        "width",
        "height",
        "slot_from_x",
        "slot_from_y",
        "slot_to_x",
        "slot_to_y",
        "depth",
        "drill",
        "seat_diameter",
        "seat_depth",
    }
)
"""Those of them that are lengths."""

SAME_PLACE: Final = 1e-6
"""Two points closer than this are one, mm (ours: rounding)."""

Cell = str | float | None


def holes(layout: Layout, path: str | os.PathLike[str], verdict: Verdict | None = None) -> None:
    """Writes the hole list, whole or not at all; see `holes_bytes`."""
    write_whole(path, holes_bytes(layout, verdict))


def holes_bytes(layout: Layout, verdict: Verdict | None = None) -> bytes:
    """The hole list; the same layout gives the same bytes.

    `verdict` is that of `check(layout)`, worked out here when it is None. Every row ends with cautions, title, name,
    revision and verdict, so that a row copied elsewhere still tells where it is from.
    """
    verdict = check(layout) if verdict is None else verdict
    told: dict[str, Cell] = {
        "cautions": ONE_LINE,
        "title": layout.title,
        "spec": layout.spec.name,
        "revision": layout.spec.revision,
        "verdict": "clear to cut" if verdict.clear else NOT_FOR_CUTTING,
    }
    unit, box, sunk = layout.spec.unit, layout.outline.box, seats(layout)
    rows = []
    for opening, operations in zip(layout.openings, operations_of(layout), strict=True):
        seat = sunk.get(opening.name)
        x, y = opening.center
        start, end = slot_ends(opening) or ((None, None), (None, None))
        row: dict[str, Cell] = {
            "name": opening.name,
            "what": what_it_is(opening),
            "mount": opening.mount,
            "x": x,
            "y": y,
            "x_y_of": point_told(opening),
            "from_left": x - box.x0,
            "from_bottom": y - box.y0,
            "shape": shape_word(opening),
            "size": opening.size or None,
            "width": opening.shape.box.width,
            "height": opening.shape.box.height,
            "slot_from_x": start[0],
            "slot_from_y": start[1],
            "slot_to_x": end[0],
            "slot_to_y": end[1],
            "depth": opening.depth,
            "opens_to": None if opening.depth is None else f"{opening.side} side",
            "made": operations.how,
            "work": words_of(operations, unit),
            "drill": operations.drill,
            "thread": opening.thread,
            "seat_diameter": None if seat is None else seat.diameter,
            "seat_depth": None if seat is None else seat.depth,
            "seat_side": None if seat is None else f"{seat.side} side",
            "screw": screw_words(layout, opening),
        }
        rows.append({f"{key}_{unit}" if key in LENGTHS else key: value for key, value in row.items()} | told)
    headings = [*(f"{column}_{unit}" if column in LENGTHS else column for column in COLUMNS), *told]
    # RFC 4180 wants CRLF on every system, which the csv module writes by itself if the stream leaves it alone
    stream = io.StringIO(newline="")
    writer = csv.writer(stream)
    writer.writerow(headings)
    writer.writerows([csv_cell(row[heading], layout.spec.unit) for heading in headings] for row in rows)
    return stream.getvalue().encode("utf-8")


def csv_cell(value: Cell, unit: Unit) -> str:
    """A cell of a list: nothing, text that no spreadsheet takes for a formula, or a length (mm) in the unit."""
    if value is None:
        return ""
    # a cell that begins like a formula would be worked out by a spreadsheet, whoever wrote the spec
    if isinstance(value, str):
        return f"'{value}" if value and value[0] in FORMULA_STARTS else value
    size = mm_per(unit)
    text = f"{value / size:.{DECIMALS[unit]}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


# ----------------------------------------------------------------------------------------- in words


def what_it_is(opening: Opening) -> str:
    """What an opening is for, in the trade's words."""
    if opening.role == "screw":
        return "tapped hole" if opening.thread is not None else "screw hole"
    if opening.role == "relief":
        return f"relief for {opening.for_body}" if opening.for_body else "relief"
    if opening.field == "plate.lighten":
        return "lightening"
    if opening.field.startswith("plate.tabs."):
        return "hole in a tab"
    if opening.field == "plate.feet":
        return "hole in a foot"
    words = {"pilot": "pilot", "cutout": "cutout", "pivot": "pivot hole", "fixing": "guard's hole"}
    words["dowel"] = "dowel hole"
    return words[opening.role] if opening.depth is None else f"{words[opening.role]}, recess"


def shape_word(opening: Opening) -> str:
    """The kind of its shape: round, slot, curved slot, or outline."""
    shape = opening.shape
    if isinstance(shape, Disc):
        return "round"
    if isinstance(shape, Slot):
        return "slot"
    return "curved slot" if isinstance(shape, CurvedSlot) else "outline"


def point_told(opening: Opening) -> str:
    """What the place given of an opening is: its centre, or in a slot the place of the screw before any travel."""
    ends = slot_ends(opening)
    if ends is None:
        return "centre"
    (ax, ay), (bx, by) = ends
    middle = ((ax + bx) / 2, (ay + by) / 2)
    return "centre" if math.dist(middle, opening.center) < SAME_PLACE else "screw at nominal"


def slot_ends(opening: Opening) -> tuple[Point, Point] | None:
    """The centres of a slot's two round ends, mm in the plate frame; None for other shapes."""
    shape = opening.shape
    if isinstance(shape, Slot):
        return shape.a, shape.b
    return shape.ends if isinstance(shape, CurvedSlot) else None


def screw_words(layout: Layout, opening: Opening) -> str | None:
    """The screw that goes through a hole, such as `M8 x 30 hex`, its length in the spec's unit; None if none does."""
    stack = layout.mounts[opening.mount].stack if opening.mount in layout.mounts else None
    if opening.role != "screw" or stack is None:
        return None
    if stack.into == "stud":
        return f"nut {stack.size} on the stud"
    if stack.length is None:
        return f"{stack.size} {stack.head}"
    return f"{stack.size} x {csv_cell(stack.length, layout.spec.unit)} {stack.head}"

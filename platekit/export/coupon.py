"""The files of a test piece: a drawing for the table, a form for the bench, and the readings to be typed."""

from __future__ import annotations

import math
from typing import Final

from platekit.cutting.capability import CUT_DRY, HYDROGEN
from platekit.cutting.coupon import Coupon, CouponResult
from platekit.drawing.cautions import AT_THE_TABLE
from platekit.drawing.pdf.letters import letters
from platekit.drawing.pdf.pen import Pen
from platekit.drawing.text import wrapped
from platekit.export.dxf_files.document import bytes_of, fixed_metadata, new_document, tidy, tidy_vertices
from platekit.export.dxf_files.pieces import CUT_COLORS
from platekit.geometry import Box, Point
from platekit.spec.coupon import HOLES
from platekit.spec.editing import Value
from platekit.units import show_length

LAYERS: Final = {"CUT-INSIDE": CUT_COLORS["inside"], "CUT-OUTSIDE": CUT_COLORS["outside"]}
"""As in the cut file of a plate: the coupon is cut as it is drawn."""
PAPER: Final = (190.0, 259.0)
"""Size of the form, mm: comes out of a printer on A4 and on Letter alike (common practice)."""
MARGIN: Final = 12.0
FILLED_IN: Final = ("machine", "date", "cut and measured by")
BLANK: Final = 10.0
"""Height of the boxes for these, mm (ours)."""
SKETCH: Final = 84.0
"""Side of the sketch on the form, mm (ours)."""
ROW: Final = 9.0
COLUMNS: Final = (78.0, 22.0, 33.0, 33.0)
"""Height and widths of the boxes to write in, mm (ours): room for a figure by hand."""
TO_WRITE: Final = ("drawn, mm", "at the face cut from, mm", "at the other face, mm")
LENGTH_DIGITS: Final = 3
ANGLE_DIGITS: Final = 2


# ------------------------------------------------------------------------------------------ the drawing


def coupon_dxf(coupon: Coupon) -> bytes:
    """The drawing as DXF: net shapes in mm, openings before the outside; the same coupon gives the same bytes."""
    told = {"TITLE": f"test piece, {coupon.process}, {coupon.thickness:g} mm"}
    inside = {"layer": "CUT-INSIDE"}
    with fixed_metadata():
        document = new_document("R2000", "mm", LAYERS, told)
        space = document.modelspace()
        for hole in coupon.holes:
            space.add_circle(_tidied(hole.center), tidy(hole.radius), dxfattribs=inside)
        for loop, layer in ((coupon.slot.loop(), "CUT-INSIDE"), (coupon.square, "CUT-OUTSIDE")):
            # in the order of cutting: the outside last, as of a plate
            points = tidy_vertices(loop.vertices, _tidied)
            space.add_lwpolyline(points, format="xyb", close=True, dxfattribs={"layer": layer})
        return bytes_of(document, coupon.side, coupon.side)


def _tidied(point: Point) -> Point:
    return (tidy(point[0]), tidy(point[1]))


# --------------------------------------------------------------------------------------------- the form


def coupon_form(coupon: Coupon) -> bytes:
    """The form as PDF: a sketch, and boxes to write the readings in."""
    pen = Pen(f"Test piece, {coupon.process}, {coupon.thickness:g} mm", "to be measured and typed in")
    width, height = PAPER
    pen.page(width, height)
    y = height - MARGIN - 5.0
    pen.text((MARGIN, y), f"Test piece: {coupon.process}, {show_length(coupon.thickness, 'mm')}", 15, "bold")
    for line in wrapped(
        "Cut it from the sheet that the plate will come from, with the settings of every day. Write down which kerf "
        "the controller allows for, 0 if it runs along the line. Grind off the dross, let it cool, and measure "
        "everything at the face that was cut from, and once more at the other face. Then type it into the file of "
        "readings.",
        width - 2 * MARGIN,
        letters(8.5),
    ):
        y -= 4.2
        pen.text((MARGIN, y), line, 8.5)
    y -= 1.0
    caution = AT_THE_TABLE
    if coupon.process == "plasma":  # the form does not know of what sheet it is cut
        caution = f"{AT_THE_TABLE} {HYDROGEN}: {CUT_DRY}."
    for line in wrapped(caution, width - 2 * MARGIN, letters(8.5, "bold")):
        y -= 4.2
        pen.text((MARGIN, y), line, 8.5, "bold")
    y -= 4.0
    # Boxes for whatever tells one coupon from the next: which machine, when, by whom
    each = (width - 2 * MARGIN) / len(FILLED_IN)
    for index, what in enumerate(FILLED_IN):
        x = MARGIN + index * each
        pen.box(Box(x, y - BLANK, x + each, y), 0.25)
        pen.text((x + 1.0, y - 3.0), what, 7)
    y -= BLANK
    _sketch(pen, coupon, Box(MARGIN, y - 5.0 - SKETCH, MARGIN + SKETCH, y - 5.0))
    _table(pen, coupon, y - 12.0 - SKETCH)
    pen.end_page()
    return pen.finished()


def _sketch(pen: Pen, coupon: Coupon, box: Box) -> None:
    scale = box.width / coupon.side

    def way(point: Point) -> Point:
        return (box.x0 + point[0] * scale, box.y0 + point[1] * scale)

    pen.shape(coupon.square, way, 0.4)
    pen.shape(coupon.slot, way, 0.4)
    for name, hole in zip(HOLES, coupon.holes, strict=True):
        pen.shape(hole, way, 0.4)
        x, y = way(hole.center)
        pen.text((x, y - 1.6), name, 12, "bold", "middle")
    x, y = way(coupon.slot.centroid)
    pen.text((x, y - 1.6), "slot", 10, "bold", "middle")
    pen.arrow((box.x1 + 8.0, box.y0), (box.x1 + 8.0, box.y0 + 22.0), 0.4, 3.0)
    pen.text((box.x1 + 11.0, box.y0 + 19.0), "y", 11, "bold")
    pen.arrow((box.x1 + 8.0, box.y0), (box.x1 + 30.0, box.y0), 0.4, 3.0)
    pen.text((box.x1 + 28.0, box.y0 + 3.0), "x", 11, "bold")
    pen.text((box.x1 + 8.0, box.y1 - 3.0), f"not to scale; square of {coupon.side:g} mm", 8)


def _table(pen: Pen, coupon: Coupon, top: float) -> None:
    edges = [MARGIN]
    for column in COLUMNS:
        edges.append(edges[-1] + column)
    drawn, top_face, other_face = TO_WRITE
    pen.text((edges[2] - 2.0, top + 1.5), drawn, 7, align="right")
    pen.text((edges[2] + 1.0, top + 1.5), top_face, 7)
    pen.text((edges[3] + 1.0, top + 1.5), other_face, 7)
    y = top
    sizes = [("square along x", coupon.side), ("square along y", coupon.side)]
    sizes += [(f"hole {name}", hole.diameter) for name, hole in zip(HOLES, coupon.holes, strict=True)]
    sizes += [("slot, width", coupon.slot.width), ("slot, length over all", coupon.slot.length + coupon.slot.width)]
    for what, size in sizes:
        pen.text((edges[0] + 1.0, y - 6.0), what, 10)
        pen.text((edges[2] - 2.0, y - 6.0), f"{size:g}", 10, "bold", "right")
        for x0, x1 in ((edges[2], edges[3]), (edges[3], edges[4])):
            pen.box(Box(x0, y - ROW, x1, y), 0.25)
        y -= ROW
    y -= 4.0
    for what in ("kerf that the controller allowed for, mm", "speed, mm/min", "time to pierce, s"):
        pen.text((edges[0] + 1.0, y - 6.0), what, 10)
        pen.box(Box(edges[2], y - ROW, edges[3], y), 0.25)
        y -= ROW


# ----------------------------------------------------------------------------------------- the readings


def readings_text(coupon: Coupon) -> str:
    """The file of readings, to be filled in: every `_` wants a figure."""
    # what was drawn stands in the file of readings itself: it is compared with that, not with what this version would
    # draw
    a, b, c = (hole.diameter for hole in coupon.holes)
    slot = f"[{coupon.slot.length + coupon.slot.width:g}, {coupon.slot.width:g}]"
    return "\n".join(
        [
            "# Readings of a test piece. Put a figure for every _: [at the face that was cut from, at the other face].",
            "platekit_coupon: 1",
            f"process: {coupon.process}",
            "units: mm",
            f"thickness: {coupon.thickness:g}",
            "kerf_set: _                  # the kerf that the controller allowed for; 0 if it ran along the drawn line",
            f"drawn: {{square: {coupon.side:g}, holes: [{a:g}, {b:g}, {c:g}], slot: {slot}}}",
            "square: {x: [_, _], y: [_, _]}",
            "holes: {a: [_, _], b: [_, _], c: [_, _]}",
            "slot: {length: [_, _], width: [_, _]}",
            "# speed: 2200 mm/min",
            "# pierce: 0.5 s",
            "",
        ]
    )


def row_of(found: CouponResult, speed_mm_min: float | None = None, pierce_s: float | None = None) -> dict[str, Value]:
    """The row of a machine file that holds what was found, every figure with its unit."""

    def mm(value: float) -> str:
        return f"{round(value, LENGTH_DIGITS) + 0.0:g} mm"

    row: dict[str, Value] = {
        "thickness": mm(found.thickness),
        "kerf": mm(found.kerf),
        "taper": f"{round(math.degrees(found.taper), ANGLE_DIGITS):g} deg",
        "hole_error": mm(found.hole_error),
        "scatter": mm(found.scatter),
    }
    if speed_mm_min is not None:
        row["speed"] = f"{speed_mm_min:g} mm/min"
    if pierce_s is not None:
        row["pierce"] = f"{pierce_s:g} s"
    return row

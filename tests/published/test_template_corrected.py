"""A corrected template comes out true on the printer that it was corrected for.

Source: ISO 32000-1:2008, 8.3.2.3 (PDF's unit is 1/72 in); a linear map of the plane keeps lines straight and has three
    figures apart from a turn (any textbook of linear algebra). The printer is played by pdfium, which shares no code
    with the writer.
Compared: bars and diagonals on the corrected sheet; what the six readings say of the printer.
Within: 0.1 mm on paper; 0.04 % at stretch, 0.03 degrees at the lean.

pdfium draws the page through a matrix, 1.3 % too long across, 0.7 % too short along, uprights leaning 0.3 degrees. Its
six bars are read off that picture to 0.1 mm, as with a good rule, typed in, and the sheets are printed again through
the same matrix. Where to look for a line is known to 1 mm; where it is, the ink tells. At 400 dpi (0.064 mm a pixel)
the middle of a hairline is known to some 0.02 mm.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Any

import numpy as np
import pypdfium2 as pdfium
import pypdfium2.raw as raw
import pytest

from platekit.checks import Verdict
from platekit.drawing.pdf.paper import check_frame
from platekit.drawing.pdf.printer import BARS, NominalBars, Printer, printer_of
from platekit.drawing.pdf.strip import saying
from platekit.drawing.seen import seen_from_side
from platekit.export.paper.template import template_bytes, tiling_of
from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import loads

MM = 72 / 25.4
DPI = 400
STEP = 25.4 / DPI
ALLOWED = 0.1
CLEAR = Verdict(())

SPEC = """\
platekit: 1
title: Holes a known way apart
units: {unit}
plate:
  material: mild steel
  thickness: 10 mm
  outline: {{rectangle: {{width: {width} mm, height: {height} mm}}}}
mounts:
  part:
    side: near
    looking_at: back
    pattern: {{points: [{points}], hole: 6 mm}}
    bolts: {{size: M5, into: part}}
cutting: {{process: laser}}
paper: {{size: {size}{more}}}
"""


def plate(points: list[tuple[float, float]], size: str = "a4", unit: str = "mm", more: str = "") -> Layout:
    width, height = (2 * max(abs(point[axis]) for point in points) + 22 for axis in (0, 1))
    listed = ", ".join(f"[{x} mm, {y} mm]" for x, y in points)
    text = SPEC.format(unit=unit, width=width, height=height, points=listed, size=size, more=more)
    return lay_out(loads(text, "holes"))


@dataclass(frozen=True)
class Press:
    """A printer: what it does to a sheet, as (xx, xy, yx, yy) in a frame with y up."""

    matrix: tuple[float, float, float, float]

    @property
    def turned(self) -> Press:
        """What it does to a sheet that goes in the same way while the reader holds it turned a quarter."""
        xx, xy, yx, yy = self.matrix
        return Press((yy, -yx, -xy, xx))

    def moved(self, point: tuple[float, float], middle: tuple[float, float]) -> tuple[float, float]:
        """About where a point of the sheet goes."""
        xx, xy, yx, yy = self.matrix
        x, y = point[0] - middle[0], point[1] - middle[1]
        return middle[0] + xx * x + xy * y, middle[1] + yx * x + yy * y

    def print(self, page: pdfium.PdfPage) -> Picture:
        """The page on paper, as a picture of the same size."""
        width, height = page.get_size()
        scale = DPI / 72
        wide, high = math.ceil(width * scale), math.ceil(height * scale)
        xx, xy, yx, yy = self.matrix
        a, b, c, d = xx * scale, -yx * scale, -xy * scale, yy * scale  # y down in the picture
        x, y = width / 2, height / 2
        e, f = x * scale - a * x - c * y, y * scale - b * x - d * y
        bitmap = pdfium.PdfBitmap.new_native(wide, high, pdfium.raw.FPDFBitmap_Gray)
        bitmap.fill_rect((255, 255, 255, 255), 0, 0, wide, high)
        raw.FPDF_RenderPageBitmapWithMatrix(
            bitmap.raw, page.raw, raw.FS_MATRIX(a, b, c, d, e, f), raw.FS_RECTF(0, 0, wide, high), 0
        )
        return Picture(1.0 - bitmap.to_numpy().squeeze().astype(np.float32) / 255.0)


@dataclass(frozen=True)
class Picture:
    """A printed sheet: how black each pixel is, first row on top."""

    ink: Any

    @property
    def middle(self) -> tuple[float, float]:
        rows, columns = self.ink.shape
        return columns * STEP / 2, rows * STEP / 2

    def cross(self, near: tuple[float, float], clear: float, reach: float) -> tuple[float, float]:
        """The middle of a cross near a place (mm, y up): from its arms between `clear` and `reach` on both sides."""
        x, y = near
        for _ in range(3):
            bands = [(x - reach, x - clear), (x + clear, x + reach)]
            level = self.line(bands, y, upright=False)
            bands = [(y - reach, y - clear), (y + clear, y + reach)]
            x, y = self.line(bands, x, upright=True), level
        return x, y

    def corner(self, near: tuple[float, float], inward: tuple[int, int]) -> tuple[float, float]:
        """Where two bars meet: from both bars 3 to 7 mm off their ends."""
        x, y = near
        bands = [tuple(sorted((x + inward[0] * 3, x + inward[0] * 7)))]
        level = self.line(bands, y, upright=False)
        bands = [tuple(sorted((y + inward[1] * 3, y + inward[1] * 7)))]
        return self.line(bands, x, upright=True), level

    def line(self, bands: Any, around: float, upright: bool, play: float = 1.2) -> float:
        """Where a line across the bands lies: x of an upright one, y of a level one."""
        ink, rows = self.ink, self.ink.shape[0]
        if upright:
            cut = sum(ink[round(rows - hi / STEP) : round(rows - lo / STEP), :].sum(axis=0) for lo, hi in bands)
            places = (np.arange(ink.shape[1]) + 0.5) * STEP
        else:
            cut = sum(ink[:, round(lo / STEP) : round(hi / STEP)].sum(axis=1) for lo, hi in bands)
            places = (rows - 0.5 - np.arange(rows)) * STEP
        peak = int(np.argmax(np.where(abs(places - around) < play, cut, 0.0)))
        near = slice(max(peak - 5, 0), peak + 6)
        assert cut[near].sum() > 10, "no line found"
        return float((cut[near] * places[near]).sum() / cut[near].sum())


TRUE = Press((1.0, 0.0, 0.0, 1.0))
PRINTER = Press((1.013, 0.993 * math.sin(math.radians(0.3)), 0.0, 0.993 * math.cos(math.radians(0.3))))


def frame_of(layout: Layout) -> NominalBars:
    tile = tiling_of(seen_from_side(layout, "near"), saying(layout, CLEAR, "near")).tiles[0]
    bars = check_frame(tile.sheet, layout.spec.unit)
    return NominalBars(bars.width, bars.height)


def read_bars(picture: Picture, nominal: NominalBars, press: Press = TRUE, digits: int = 1) -> dict[Any, float]:
    """The six lengths on a printed sheet, as read with a rule."""
    x, y = picture.middle
    corner = {
        (i, j): picture.corner(press.moved((x + i * nominal.across / 2, y + j * nominal.along / 2), (x, y)), (-i, -j))
        for i in (-1, 1)
        for j in (-1, 1)
    }
    ends = {
        "bottom": ((-1, -1), (1, -1)),
        "top": ((-1, 1), (1, 1)),
        "left": ((-1, -1), (-1, 1)),
        "right": ((1, -1), (1, 1)),
        "rising": ((-1, -1), (1, 1)),
        "falling": ((-1, 1), (1, -1)),
    }
    return {bar: round(math.dist(corner[a], corner[b]), digits) for bar, (a, b) in ends.items()}


def measured(layout: Layout, press: Press) -> Printer:
    """The printer as the user finds it: an uncorrected sheet, printed and read."""
    page = pdfium.PdfDocument(template_bytes(layout, CLEAR))[0]
    return printer_of(read_bars(press.print(page), frame_of(layout), press), frame_of(layout), layout.spec.unit)


def holes_on(picture: Picture, layout: Layout, press: Press = TRUE) -> list[tuple[float, float]]:
    """Where the crosshairs of all holes are on the first sheet."""
    tile = tiling_of(seen_from_side(layout, "near"), saying(layout, CLEAR, "near")).tiles[0]
    return [
        picture.cross(press.moved(tile.view.at(opening.center), picture.middle), clear=4.3, reach=5.7)
        for opening in layout.openings
    ]


SQUARE = [(-72.0, -80.0), (72.0, -80.0), (72.0, 80.0), (-72.0, 80.0), (10.0, 5.0)]
WIDE = [(-110.0, -44.0), (110.0, -44.0), (110.0, 44.0), (-100.0, 30.0)]
HIGH = [(-50.0, -95.0), (50.0, -95.0), (-50.0, 95.0), (30.0, 80.0)]


def worst(layout: Layout, places: list[tuple[float, float]]) -> float:
    """By how much the worst of all distances between holes is off."""
    true = [opening.center for opening in layout.openings]
    pairs = [(i, j) for i in range(len(true)) for j in range(i)]
    return max(abs(math.dist(places[i], places[j]) - math.dist(true[i], true[j])) for i, j in pairs)


@pytest.mark.parametrize(("size", "unit"), [("a4", "mm"), ("letter", "in")])
def test_the_corrected_sheet_comes_out_true(size: str, unit: str) -> None:
    layout = plate(SQUARE, size, unit)
    raw_sheet = PRINTER.print(pdfium.PdfDocument(template_bytes(layout, CLEAR))[0])
    assert worst(layout, holes_on(raw_sheet, layout, PRINTER)) > 1.5
    printer = measured(layout, PRINTER)
    corrected = pdfium.PdfDocument(template_bytes(layout, CLEAR, printer=printer))
    picture = PRINTER.print(corrected[0])
    assert worst(layout, holes_on(picture, layout)) < ALLOWED
    nominal = frame_of(layout)
    for bar, length in read_bars(picture, nominal, digits=3).items():
        assert length == pytest.approx(nominal.of(bar), abs=ALLOWED)


def test_the_found_figures_are_those_of_the_printer() -> None:
    layout = plate(SQUARE)
    printer = measured(layout, PRINTER)
    nominal = frame_of(layout)
    found = printer.distortion(nominal.across, nominal.along)
    assert found.across == pytest.approx(1.013, abs=4e-4)
    assert found.along == pytest.approx(0.993, abs=4e-4)
    assert math.degrees(found.lean) == pytest.approx(0.3, abs=0.03)
    assert abs(printer.misfit) < 0.1


def test_a_printer_measured_in_landscape_mends_portrait_sheets_too() -> None:
    """The reader holds the sheet the other way; what goes through the printer is the same paper."""
    wide, high = plate(WIDE), plate(HIGH)
    assert frame_of(wide).across > frame_of(wide).along
    assert frame_of(high).across < frame_of(high).along
    printer = measured(wide, PRINTER)
    sheet = pdfium.PdfDocument(template_bytes(high, CLEAR, printer=printer))[0]
    assert worst(high, holes_on(PRINTER.turned.print(sheet), high)) < ALLOWED
    uncorrected = pdfium.PdfDocument(template_bytes(high, CLEAR))[0]
    assert worst(high, holes_on(PRINTER.turned.print(uncorrected), high, PRINTER.turned)) > 1.0


def test_readings_in_the_spec_do_the_same_as_a_printer_given() -> None:
    layout = plate(SQUARE)
    page = pdfium.PdfDocument(template_bytes(layout, CLEAR))[0]
    readings = read_bars(PRINTER.print(page), frame_of(layout), PRINTER)
    typed = ", ".join(f"{bar}: {readings[bar]}" for bar in BARS)
    again = plate(SQUARE, more=f", measured: {{{typed}}}")
    picture = PRINTER.print(pdfium.PdfDocument(template_bytes(again, CLEAR))[0])
    assert worst(again, holes_on(picture, again)) < ALLOWED
    words = pdfium.PdfDocument(template_bytes(again, CLEAR))[0].get_textpage().get_text_range()
    assert "whose error it is corrected for: " in " ".join(words.split())
    assert re.search(r"1\.[23]\d? % too long (across|along)", words)
    assert again.spec.revision == layout.spec.revision

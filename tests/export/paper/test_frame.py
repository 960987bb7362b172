"""The page with the frame, looked at as a printer would put it on paper."""

from __future__ import annotations

import math

import numpy as np
import pypdfium2
import pytest
from numpy.typing import NDArray

from platekit.drawing.pdf.paper import SIZES
from platekit.drawing.pdf.printer import Distortion, Printer
from platekit.export.paper.frame import frame_pdf
from platekit.scan.codes import BAND, SECTORS, Size
from platekit.scan.sheet import CROSSING, FrameSheet

DOTS = 10.0  # a mm


def rendered(data: bytes) -> NDArray[np.uint8]:
    page = pypdfium2.PdfDocument(data)[0]
    return np.asarray(page.render(scale=DOTS * 25.4 / 72, grayscale=True).to_numpy())


def grey(picture: NDArray[np.uint8], sheet: FrameSheet, x: float, y: float) -> int:
    wide, high = SIZES[sheet.size]
    left, low = (wide - sheet.bars.width) / 2, (high - sheet.bars.height) / 2
    return int(picture[int((high - low - y) * DOTS), int((left + x) * DOTS)])


@pytest.mark.parametrize("size", ["a4", "letter", "a3"])
def test_marks_are_black_and_white_where_the_frame_has_them(size: Size) -> None:
    sheet = FrameSheet(size, "back")
    picture = rendered(frame_pdf(sheet))
    d = CROSSING / 2
    for x, y in sheet.crossings:
        assert [grey(picture, sheet, x + a * d, y + b * d) for a, b in ((1, 1), (-1, -1))] == [0, 0]
        assert [grey(picture, sheet, x + a * d, y + b * d) for a, b in ((1, -1), (-1, 1))] == [255, 255]
    middle = sum(BAND) / 2
    for code, (x, y) in sheet.codes:
        assert grey(picture, sheet, x, y) == 255
        for k in range(SECTORS):
            angle = 2 * math.pi * (k + 0.5) / SECTORS
            seen = grey(picture, sheet, x + middle * math.cos(angle), y + middle * math.sin(angle))
            assert seen == (255 if code.word >> k & 1 else 0)


def test_a_known_printer_is_drawn_against() -> None:
    sheet = FrameSheet("a4")
    printer = Printer("bench", Distortion(1.01, 0.99, 0.0), 0.0, 0.0, 0.0)
    picture = rendered(frame_pdf(sheet, printer))
    # the page is bent about its middle, which is the middle of the bars; a printer that stretches undoes it
    x, y = sheet.crossings[0]
    cx, cy = sheet.bars.center
    at = (cx + (x - cx) / 1.01, cy + (y - cy) / 0.99)
    assert grey(picture, sheet, at[0] + 1, at[1] + 1) == 0
    assert grey(picture, sheet, at[0] + 0.15, at[1] - 0.15) == 255
    assert grey(picture, sheet, at[0] - 0.15, at[1] - 0.15) == 0


def test_the_same_frame_gives_the_same_bytes() -> None:
    assert frame_pdf(FrameSheet("letter", "face")) == frame_pdf(FrameSheet("letter", "face"))

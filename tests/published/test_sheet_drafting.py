"""The bench drawing keeps to scale and to the drafting standards, measured on pictures of it.

Source: ISO 5455:1979 (scales; the steps between them are common practice, as on scale rulers); ISO 128, line group
    0.5; ISO 5456-2 (third angle); ISO 32000-1:2008, 8.3.2.3 (PDF's unit is 1/72 in); letters of 7 points that survive
    copying are common practice. The pictures are pdfium's.
Compared: width and height of the plate as drawn, the edge view's thickness and place, the scales on offer, line widths,
    letters.
Within: 0.08 mm on paper, which 400 dpi shows.

Recommended scales are 10:1, 5:1, 2:1, 1:1, 1:2, 1:5, 1:10, 1:20, 1:50, 1:100, 1:200, 1:500. Lines of a drawing have two
widths, the wide one twice the narrow: 0.5 and 0.25 mm; hatching has one from farther down the series. Third-angle
projection puts the view from the right on the right.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pypdfium2 as pdfium
import pypdfium2.raw as raw
import pytest

from platekit.checks import Verdict
from platekit.drawing.pdf.drafting import FINE, THIN, WIDE
from platekit.export.bench.drawing import INCH_SCALES, METRIC, planned, scale_words
from platekit.export.bench.sheet import drawing_fields, sheet_bytes
from platekit.export.bench.words import zero_of
from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import loads

MM = 72 / 25.4
DPI = 400
STEP = 25.4 / DPI
ISO_5455 = {10, 5, 2, 1, 1 / 2, 1 / 5, 1 / 10, 1 / 20, 1 / 50, 1 / 100, 1 / 200, 1 / 500}


def plate(width: float, height: float, units: str = "mm", thickness: float = 12.0) -> Layout:
    text = f"""\
platekit: 1
title: Bare plate
units: {units}
plate:
  material: mild steel
  thickness: {thickness} mm
  outline: {{rectangle: {{width: {width} mm, height: {height} mm}}}}
mounts:
  part:
    side: near
    looking_at: back
    pattern: {{points: [[{-width * 0.3} mm, {-height * 0.3} mm], [{width * 0.3} mm, {-height * 0.2} mm]], hole: 6 mm}}
"""
    return lay_out(loads(text, "bare"))


def ink_of(page: pdfium.PdfPage) -> Any:
    picture = page.render(scale=DPI / 72, grayscale=True).to_numpy().squeeze()
    return 1.0 - picture.astype(float) / 255.0


def wide_lines(ink: Any, upright: bool, box: tuple[float, float, float, float]) -> list[float]:
    """Where wide lines run the whole way across a box (mm, y up from below), as x or y in order."""
    rows = ink.shape[0]
    x0, y0, x1, y1 = box
    part = ink[round(rows - y1 / STEP) : round(rows - y0 / STEP), round(x0 / STEP) : round(x1 / STEP)]
    share = part.mean(axis=0 if upright else 1)
    found, places = [], np.flatnonzero(share > 0.5)
    for group in np.split(places, np.flatnonzero(np.diff(places) > 1) + 1):
        weight = share[group]
        if len(group) and weight.sum() * STEP > 0.35:
            middle = float((weight * (group + 0.5)).sum() / weight.sum()) * STEP
            found.append(x0 + middle if upright else y1 - middle)
    return sorted(found)


@pytest.mark.parametrize(
    ("width", "height"), [(60.0, 40.0), (170.0, 90.0), (300.0, 200.0), (900.0, 500.0), (18.0, 14.0)]
)
def test_the_plate_is_drawn_to_its_scale(width: float, height: float) -> None:
    layout = plate(width, height)
    zero = zero_of(layout)
    _, plan = planned(layout, zero.point, drawing_fields(layout))
    scale = plan.view.scale
    assert scale in METRIC
    page = pdfium.PdfDocument(sheet_bytes(layout, Verdict(())))[1]
    ink = ink_of(page)
    box = plan.view.box(layout.outline.box)
    band = (box.x0 - 2, box.y0 + 0.42 * box.height, box.x1 + 2, box.y0 + 0.46 * box.height)
    left, right = wide_lines(ink, True, band)
    assert right - left == pytest.approx(width * scale, abs=0.08)
    band = (box.x0 + 0.52 * box.width, box.y0 - 2, box.x0 + 0.56 * box.width, box.y1 + 2)
    low, high = wide_lines(ink, False, band)
    assert high - low == pytest.approx(height * scale, abs=0.08)
    assert f"{scale_words(scale)} " in " ".join(page.get_textpage().get_text_range().split()) + " "


def test_the_edge_view_stands_at_the_right_with_the_near_face_at_its_left() -> None:
    layout = plate(170.0, 90.0, thickness=12.0)
    _, plan = planned(layout, zero_of(layout).point, drawing_fields(layout))
    page = pdfium.PdfDocument(sheet_bytes(layout, Verdict(())))[1]
    box = plan.view.box(layout.outline.box)
    deep = 12.0 * plan.view.scale
    band = (plan.edge_x - 2, box.y0 + 0.9 * box.height, plan.edge_x + deep + 2, box.y0 + 0.95 * box.height)
    near, far = wide_lines(ink_of(page), True, band)
    assert near > box.x1
    assert far - near == pytest.approx(deep, abs=0.08)
    words = page.get_textpage()
    start = words.search("near").get_next()[0]
    assert words.get_charbox(start)[0] / MM < near


def test_scales_are_those_of_the_standard_and_of_rulers() -> None:
    assert set(METRIC) >= ISO_5455
    assert {round(1 / scale, 6) for scale in set(METRIC) - ISO_5455} <= {2.5, 4.0, 25.0}
    assert all(math.log2(scale) == round(math.log2(scale)) for scale in INCH_SCALES)
    assert scale_words(1) == "1 : 1"


def test_lines_have_three_widths_of_the_standard_series() -> None:
    """ISO 128-2: 0.13, 0.18, 0.25, 0.35, 0.5 and so on, wide to narrow 2 : 1 in a line group."""
    assert (WIDE, THIN, FINE) == (0.5, 0.25, 0.13)


def test_letters_are_large_enough() -> None:
    pdf = pdfium.PdfDocument(sheet_bytes(plate(300.0, 200.0), Verdict(())))
    for page in pdf:
        text = page.get_textpage()
        sizes = [
            raw.FPDFText_GetFontSize(text.raw, index)
            for index in range(text.count_chars())
            if raw.FPDFText_GetUnicode(text.raw, index) > 32
        ]
        assert min(sizes) >= 6.999

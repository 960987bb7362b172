"""The pen: true curves, text that any printer shows, files that depend on nothing but the drawing."""

from __future__ import annotations

import ctypes
import math

import pypdfium2 as pdfium
import pypdfium2.raw as raw
import pytest
from hypothesis import given
from hypothesis import strategies as st
from reportlab.lib.rl_accel import fp_str

from platekit.drawing.pdf.letters import letters, printable, text_width
from platekit.drawing.pdf.pen import Pen, figure
from platekit.drawing.text import shortened, wrapped
from platekit.geometry import Box, Disc, Pose, Slot, curved_slot, rectangle

MM = 72 / 25.4


@given(
    st.floats(-15000, 15000)
    | st.floats(-1e-6, 1e-6)
    | st.builds(lambda digits, off: 10.0**digits + off, st.integers(-7, 7), st.floats(-1e-5, 1e-5))
    | st.integers(-(10**7), 10**7)
)
def test_figures_are_written_as_the_library_writes_them(value: float) -> None:
    assert figure(value) == fp_str(value)


def drawn_points(pen_bytes: bytes, samples: int = 40) -> list[tuple[float, float]]:
    """Points along all curves of a page as pdfium reads them, mm."""
    page = pdfium.PdfDocument(pen_bytes)[0]
    points: list[tuple[float, float]] = []
    for item in page.get_objects(filter=[raw.FPDF_PAGEOBJ_PATH]):
        count = raw.FPDFPath_CountSegments(item.raw)
        places, kinds = [], []
        for index in range(count):
            segment = raw.FPDFPath_GetPathSegment(item.raw, index)
            x, y = ctypes.c_float(), ctypes.c_float()
            raw.FPDFPathSegment_GetPoint(segment, x, y)
            places.append((x.value / MM, y.value / MM))
            kinds.append(raw.FPDFPathSegment_GetType(segment))
        points += _along(places, kinds, samples)
    return points


def _along(places: list[tuple[float, float]], kinds: list[int], samples: int) -> list[tuple[float, float]]:
    points: list[tuple[float, float]] = []
    index = 0
    while index < len(places):
        if kinds[index] == raw.FPDF_SEGMENT_BEZIERTO:
            p0, p1, p2, p3 = (complex(*place) for place in places[index - 1 : index + 3])
            for step in range(samples + 1):
                t = step / samples
                z = p0 * (1 - t) ** 3 + 3 * p1 * t * (1 - t) ** 2 + 3 * p2 * t * t * (1 - t) + p3 * t**3
                points.append((z.real, z.imag))
            index += 3
        else:
            points.append(places[index])
            index += 1
    return points


@pytest.mark.parametrize(("radius", "page", "allowed"), [(1.5, 300, 0.001), (12, 300, 0.001), (250, 600, 0.001)])
def test_a_drawn_circle_stays_within_a_thousandth_of_the_true_one(radius: float, page: float, allowed: float) -> None:
    assert _worst_of_circle(radius, page) < allowed


def test_on_a_page_of_metres_the_figures_of_the_file_limit_it_to_three_thousandths() -> None:
    """Past 10,000 points reportlab writes two decimals, 0.0018 mm a step, and pdfium keeps single floats."""
    assert _worst_of_circle(2000.0, 5000.0) < 0.003


def _worst_of_circle(radius: float, page: float) -> float:
    pen = Pen("t", "s")
    pen.page(page, page)
    pen.circle((page / 2, page / 2), radius)
    pen.end_page()
    off = [abs(math.hypot(x - page / 2, y - page / 2) - radius) for x, y in drawn_points(pen.finished())]
    assert len(off) > 100
    return max(off)


@pytest.mark.parametrize(
    "shape",
    [Disc((60, 70), 20), Slot((40, 50), (90, 80), 9), curved_slot((50, 50), 60, 0.3, 1.1, 8), rectangle(80, 40, 12)],
)
def test_every_shape_is_drawn_on_its_edge(shape: Disc | Slot) -> None:
    pose = Pose(90, 80, 0.4, mirrored=True)
    pen = Pen("t", "s")
    pen.page(300, 300)
    pen.shape(shape, pose.point)
    pen.end_page()
    points = drawn_points(pen.finished())
    edge = shape.moved(pose).loop()
    assert max(edge.nearest(point).distance for point in points) < 0.001
    assert max(y for _, y in points) == pytest.approx(edge.box.y1, abs=0.05)
    assert min(x for x, _ in points) == pytest.approx(edge.box.x0, abs=0.05)


def test_the_same_drawing_gives_the_same_bytes_and_no_date() -> None:
    def drawn() -> bytes:
        pen = Pen("Płyta", "two sheets")
        for _ in range(2):
            pen.page(210, 297)
            pen.text((20, 20), "Ø 12 — Łódź, Δοκιμή, Проба", face="italic")
            pen.box(Box(20, 30, 60, 50), fill=0.5)
            pen.end_page()
        return pen.finished()

    first = drawn()
    assert first == drawn()
    assert b"20000101000000" in first  # the fixed stamp that stands for "no date"


def test_the_viewer_is_told_not_to_scale() -> None:
    pen = Pen("t", "s")
    pen.page(210, 297)
    pen.end_page()
    data = pen.finished()
    assert b"/PrintScaling /None" in data
    assert data.startswith(b"%PDF-1.7")


# ------------------------------------------------------------------------------------------------ text


def text_of(words: str) -> str:
    pen = Pen("t", "s")
    pen.page(400, 100)
    pen.text((10, 10), words)
    pen.end_page()
    return str(pdfium.PdfDocument(pen.finished())[0].get_textpage().get_text_range())


@pytest.mark.parametrize(
    "words", ["Prasa do jabłek, wał Ø 12", "Νέος κινητήρας", "Новый двигатель", "Größe ½ × ±0,1 °C — „x“"]
)
def test_european_titles_are_printed_as_written(words: str) -> None:
    assert text_of(words) == words


def test_what_the_typeface_lacks_is_seen_to_be_missing() -> None:
    assert printable("混ぜる12") == "???12"
    assert printable("a\nb\tc\u202ed") == "a b c d"
    assert printable("𝐀②") == "A2"


@given(st.text(max_size=60))
def test_any_text_can_be_measured_cut_and_printed(words: str) -> None:
    shown = printable(words)
    assert shown.isprintable()
    assert printable(shown) == shown
    short = shortened(words, 20.0, letters(8))
    assert text_width(short, 8) <= max(20.0, text_width("…", 8)) + 1e-9
    assert all(text_width(line, 8) <= 20.0 + 1e-9 for line in wrapped(words, 20.0, letters(8)))


def test_a_long_title_ends_in_an_ellipsis_and_a_short_one_stays() -> None:
    assert shortened("Winder", 40, letters(8)) == "Winder"
    cut = shortened("Winder with a very long name indeed", 20, letters(8))
    assert cut.endswith("…")
    assert cut[:-1] == "Winder with a very long name indeed"[: len(cut) - 1]


def test_wrapping_loses_no_word() -> None:
    words = "Guards go on before power and screws are checked again after the first day"
    lines = wrapped(words, 30, letters(8))
    assert len(lines) > 2
    assert " ".join(lines) == words


def test_a_line_that_is_set_again_stands_at_its_own_place() -> None:
    pen = Pen("Twice", "twice")
    for y in (80.0, 40.0):
        pen.page(100, 100)
        pen.text((10, y), "Ø12 mm", 9, "bold")
        pen.text((10, y - 20), "Ø12 mm", 9, "bold", "middle")
        pen.end_page()
    for page, y in zip(pdfium.PdfDocument(pen.finished()), (80.0, 40.0), strict=True):
        text = page.get_textpage()
        assert text.get_text_bounded().split() == ["Ø12", "mm", "Ø12", "mm"]
        bottoms = [min(text.get_charbox(k)[1] for k in range(*run)) / MM for run in ((1, 3), (9, 11))]
        assert bottoms == pytest.approx([y, y - 20], abs=0.2)

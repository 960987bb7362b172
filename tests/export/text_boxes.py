"""Where words stand on what is written: boxes of every text of an SVG picture and of every page of a PDF."""

from __future__ import annotations

import ctypes
import math
import re
from collections.abc import Iterator
from itertools import combinations
from typing import Any
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

from msgspec import Struct

from platekit.drawing.svg.letters import text_width
from platekit.geometry import Box

SVG = "{http://www.w3.org/2000/svg}"
CAPITAL, TAIL = 0.72, 0.2
"""How far letters reach above and below their base line, in their size: Helvetica's metrics."""
TOUCH = 0.6
"""Words whose boxes share less than this much along either way do not touch to the eye, sheet units or points."""

STAMP, STAMP_FROM = "NOT FOR CUTTING", 16.0
"""The stamp lies across a stopped plate on purpose, in pale grey under all else; its letters are so high, points."""

STRUCK = 0.8
"""Shorter pieces of a line within the box of words only touch them, points."""

Line = tuple[tuple[float, float], tuple[float, float]]
Matrix = tuple[float, float, float, float, float, float]
HERE: Matrix = (1, 0, 0, 1, 0, 0)


class Said(Struct, frozen=True):
    """A text and the box that it takes."""

    words: str
    box: Box


def texts_of_svg(svg: str) -> list[Said]:
    """Every text of a picture but the stamp across it, in sheet units."""
    return list(_walk(ElementTree.fromstring(svg), HERE))


def _walk(element: Element, way: Matrix) -> Iterator[Said]:
    for kind, figures in re.findall(r"(\w+)\(([^)]*)\)", element.get("transform") or ""):
        values = [float(value) for value in figures.replace(",", " ").split()]
        if kind == "translate":
            way = _then(way, (1, 0, 0, 1, values[0], values[1] if len(values) > 1 else 0))
        elif kind == "matrix":
            way = _then(way, tuple(values))  # type: ignore[arg-type]
        elif kind == "rotate":
            if values[0] != -90:
                return  # the stamp leans
            _, x, y = values
            way = _then(way, (0, -1, 1, 0, x - y, y + x))
    if element.tag == f"{SVG}text" and (element.text or "").strip():
        size, bold = float(element.get("font-size") or 0), element.get("font-weight") == "bold"
        wide = text_width(element.text or "", size, bold)
        left = float(element.get("x") or 0) - wide * {"middle": 0.5, "end": 1.0}.get(
            element.get("text-anchor") or "", 0
        )
        base = float(element.get("y") or 0)
        corners = [_at(way, x, y) for x in (left, left + wide) for y in (base - CAPITAL * size, base + TAIL * size)]
        xs, ys = [x for x, _ in corners], [y for _, y in corners]
        yield Said(element.text or "", Box(min(xs), min(ys), max(xs), max(ys)))
    for child in element:
        yield from _walk(child, way)


def _then(first: Matrix, second: Matrix) -> Matrix:
    a, b, c, d, e, f = first
    g, h, i, j, k, m = second
    return (a * g + c * h, b * g + d * h, a * i + c * j, b * i + d * j, a * k + c * m + e, b * k + d * m + f)


def _at(way: Matrix, x: float, y: float) -> tuple[float, float]:
    a, b, c, d, e, f = way
    return (a * x + c * y + e, b * x + d * y + f)


def texts_of_pdf(data: bytes) -> list[list[Said]]:
    """Every line of words of each page, points, as an independent reader finds it (pypdfium2)."""
    import pypdfium2
    import pypdfium2.raw as raw

    pages = []
    for page in pypdfium2.PdfDocument(data):
        words = page.get_textpage()
        said = []
        for thing in page.get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT], textpage=words):
            left, bottom, right, top = thing.get_bounds()
            if not (thing.extract().strip() == STAMP and top - bottom > STAMP_FROM):
                said.append(Said(thing.extract(), Box(left, bottom, right, top)))
        pages.append(said)
    return pages


def struck_in_pdf(data: bytes) -> list[tuple[int, str]]:
    """Page and words of every text that a stroked line runs through, as an independent reader finds them (pypdfium2).

    What is hidden by a filled shape drawn between the line and the words, or lies outside its clip, strikes nothing.
    """
    import pypdfium2
    import pypdfium2.raw as raw

    found = []
    for number, page in enumerate(pypdfium2.PdfDocument(data), start=1):
        words = page.get_textpage()
        lines: list[tuple[int, Line]] = []
        grounds: list[tuple[int, Box]] = []
        for order, thing in enumerate(page.get_objects(textpage=words)):
            if thing.type == raw.FPDF_PAGEOBJ_PATH:
                filled, stroked = ctypes.c_int(), ctypes.c_int()
                raw.FPDFPath_GetDrawMode(thing.raw, filled, stroked)
                if stroked.value:
                    lines += [(order, line) for line in _lines_of(thing)]
                if filled.value:
                    grounds.append((order, Box(*thing.get_bounds())))
            elif thing.type == raw.FPDF_PAGEOBJ_TEXT and thing.extract().strip():
                x0, y0, x1, y1 = thing.get_bounds()
                if thing.extract().strip() == STAMP and y1 - y0 > STAMP_FROM:
                    continue
                box = Box(x0 + 0.3, y0 + 0.5, max(x1, x0 + 0.6) - 0.3, max(y1, y0 + 1.0) - 0.5)
                for line_order, line in lines:
                    piece = _within(line, box)
                    if piece is None or math.dist(*piece) < STRUCK:
                        continue
                    middle = ((piece[0][0] + piece[1][0]) / 2, (piece[0][1] + piece[1][1]) / 2)
                    spot = Box(*middle, *middle)
                    if not any(line_order < at < order and ground.overlaps(spot) for at, ground in grounds):
                        found.append((number, thing.extract()))
                        break
    return found


def _lines_of(thing: Any) -> Iterator[Line]:
    """The straight pieces of a path on its page, points; curves by chords, cut to the upright clip it is drawn in."""
    import pypdfium2.raw as raw

    a, b, c, d, e, f = thing.get_matrix().get()
    clip = _clip_of(thing)
    here = start = (0.0, 0.0)
    curve: list[tuple[float, float]] = []
    for index in range(raw.FPDFPath_CountSegments(thing.raw)):
        segment = raw.FPDFPath_GetPathSegment(thing.raw, index)
        x, y = ctypes.c_float(), ctypes.c_float()
        raw.FPDFPathSegment_GetPoint(segment, x, y)
        point = (a * x.value + c * y.value + e, b * x.value + d * y.value + f)
        kind = raw.FPDFPathSegment_GetType(segment)
        ends: list[tuple[float, float]] = []
        if kind == raw.FPDF_SEGMENT_MOVETO:
            here = start = point
        elif kind == raw.FPDF_SEGMENT_LINETO:
            ends = [point]
        else:
            curve.append(point)
            if len(curve) == 3:
                p, q, r, s = here, *curve
                curve = []
                for t in (k / 8 for k in range(1, 9)):
                    u = 1 - t
                    shares = (u**3, 3 * u * u * t, 3 * u * t * t, t**3)
                    xs, ys = (sum(w * one[i] for w, one in zip(shares, (p, q, r, s), strict=True)) for i in (0, 1))
                    ends.append((xs, ys))
        if raw.FPDFPathSegment_GetClose(segment):
            ends.append(start)
        for end in ends:
            line = (here, end) if clip is None else _within((here, end), clip)
            if line is not None:
                yield line
            here = end


def _clip_of(thing: Any) -> Box | None:
    import pypdfium2.raw as raw

    path = raw.FPDFPageObj_GetClipPath(thing.raw)
    clip: Box | None = None
    for index in range(max(raw.FPDFClipPath_CountPaths(path), 0)):
        corners = []
        for at in range(raw.FPDFClipPath_CountPathSegments(path, index)):
            x, y = ctypes.c_float(), ctypes.c_float()
            raw.FPDFPathSegment_GetPoint(raw.FPDFClipPath_GetPathSegment(path, index, at), x, y)
            corners.append((x.value, y.value))
        if corners:
            xs, ys = [x for x, _ in corners], [y for _, y in corners]
            box = Box(min(xs), min(ys), max(xs), max(ys))
            if clip is not None:
                box = Box(max(box.x0, clip.x0), max(box.y0, clip.y0), min(box.x1, clip.x1), min(box.y1, clip.y1))
            clip = box
    return clip


def _within(line: Line, box: Box) -> Line | None:
    """The piece of a line inside a box."""
    (x0, y0), (x1, y1) = line
    first, last = 0.0, 1.0
    for start, step, low, high in ((x0, x1 - x0, box.x0, box.x1), (y0, y1 - y0, box.y0, box.y1)):
        if abs(step) < 1e-9:
            if not low <= start <= high:
                return None
            continue
        near, far = sorted(((low - start) / step, (high - start) / step))
        first, last = max(first, near), min(last, far)
    if first >= last:
        return None
    return (x0 + first * (x1 - x0), y0 + first * (y1 - y0)), (x0 + last * (x1 - x0), y0 + last * (y1 - y0))


def overlaps(texts: list[Said]) -> list[tuple[str, str]]:
    """The pairs of texts whose boxes overlap to the eye."""
    found = []
    for one, other in combinations(texts, 2):
        a, b = one.box, other.box
        along, across = min(a.x1, b.x1) - max(a.x0, b.x0), min(a.y1, b.y1) - max(a.y0, b.y0)
        if along > TOUCH and across > TOUCH:
            found.append((one.words, other.words))
    return found

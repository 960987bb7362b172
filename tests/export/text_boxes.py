"""Where words stand on what is written: boxes of every text of an SVG picture and of every page of a PDF."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import combinations
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


def overlaps(texts: list[Said]) -> list[tuple[str, str]]:
    """The pairs of texts whose boxes overlap to the eye."""
    found = []
    for one, other in combinations(texts, 2):
        a, b = one.box, other.box
        along, across = min(a.x1, b.x1) - max(a.x0, b.x0), min(a.y1, b.y1) - max(a.y0, b.y0)
        if along > TOUCH and across > TOUCH:
            found.append((one.words, other.words))
    return found

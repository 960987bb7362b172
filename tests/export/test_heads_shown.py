"""Heads let into the plate, in everything that shows or tells about it."""

from __future__ import annotations

import csv
import io
import json
import re
from xml.etree import ElementTree

import pypdfium2
import pypdfium2.raw as raw
import pytest

from platekit.checks import check
from platekit.export.bench.sheet import sheet_bytes
from platekit.export.data.hole_list import holes_bytes
from platekit.export.data.plate import figures_bytes
from platekit.export.paper.template import template_bytes
from platekit.export.picture.whole import svg_text
from platekit.layout import lay_out
from platekit.placed import Layout, Side
from platekit.spec import loads

SPEC = """\
platekit: 1
title: Wool press, lid
units: mm
plate: {material: mild steel, thickness: 16, outline: {rectangle: {width: 160, height: 120, corner: 10}}}
mounts:
  hinge:
    side: far
    looking_at: face
    pattern: {points: [[40, 30]], hole: 9}
    bolts: {size: M8, into: part, depth: 30, head: countersunk}
  clamp:
    side: near
    looking_at: back
    pattern: {points: [[-40, 30]], hole: 11}
    bolts: {size: M10, into: part, depth: 30, head: socket, counterbore: true, washer: true}
  slide:
    side: near
    looking_at: back
    pattern: {points: [[-20, -30]], hole: 6.6}
    bolts: {size: M6, into: part, depth: 30, head: countersunk}
    take_up: {slots: {along: 0 deg, install: 6, tension: 10}}
cutting: {process: waterjet}
paper: {size: a4}
"""
MOUTHS = {"hinge.1": (17.92, 17.92), "clamp.1": (21.0, 21.0), "slide.1": (13.44 + 16, 13.44)}
"""ISO 10642: M8 17.92 mm, M6 13.44 mm; ISO 7089: washer of an M10 20 mm, and 1 mm round it; the slot travels 16 mm."""
SVG = "{http://www.w3.org/2000/svg}"
POINT = 72 / 25.4


@pytest.fixture(scope="module")
def layout() -> Layout:
    return lay_out(loads(SPEC, "lid"))


def boxes_in(pdf: bytes) -> list[tuple[float, float]]:
    """Width and height (mm on paper) of every path of every page, control points of curves included."""
    found = []
    for page in pypdfium2.PdfDocument(pdf):
        for thing in page.get_objects(filter=[raw.FPDF_PAGEOBJ_PATH]):
            left, low, right, high = thing.get_bounds()
            found.append(((right - left) / POINT, (high - low) / POINT))
    return found


def mouths_in(pdf: bytes, scale: float = 1.0) -> set[str]:
    """The mouths that some path is the size of: a line wider, and where it has arcs up to a tenth more."""
    drawn = boxes_in(pdf)

    def is_it(found: float, wanted: float) -> bool:
        return wanted * scale < found < 1.1 * wanted * scale + 0.5

    return {name for name, (wide, high) in MOUTHS.items() if any(is_it(w, wide) and is_it(h, high) for w, h in drawn)}


@pytest.fixture(scope="module")
def plain() -> Layout:
    return lay_out(loads(SPEC.replace("head: countersunk", "head: hex").replace("counterbore: true, ", ""), "lid"))


@pytest.mark.parametrize("side", ["near", "far"])
def test_the_paper_shows_each_mouth_in_its_true_size(layout: Layout, plain: Layout, side: str) -> None:
    seen_from: Side = "near" if side == "near" else "far"
    assert mouths_in(template_bytes(layout, check(layout), seen_from)) == set(MOUTHS)
    assert not mouths_in(template_bytes(plain, check(plain), seen_from))


def test_the_bench_drawing_shows_each_mouth_to_scale(layout: Layout, plain: Layout) -> None:
    data = sheet_bytes(layout, check(layout))
    page = pypdfium2.PdfDocument(data)[1]
    words = page.get_textpage().get_text_bounded()
    scale = re.search(r"(\d+) : (\d+)", words)
    assert scale is not None
    times = int(scale[1]) / int(scale[2])
    assert mouths_in(data, times) == set(MOUTHS)
    assert mouths_in(sheet_bytes(plain, check(plain)), times) == set()


def test_the_picture_has_a_ring_for_each_dashed_where_it_is_behind(layout: Layout) -> None:
    root = ElementTree.fromstring(svg_text(layout, check(layout)))
    rings = {
        ring.get("data-feature"): ring
        for ring in root.iter(f"{SVG}path")
        if "pk-mouth" in (ring.get("class") or "").split()
    }
    assert set(rings) == set(MOUTHS)
    assert {name for name, ring in rings.items() if ring.get("stroke-dasharray")} == {"clamp.1", "slide.1"}
    titles = [ring.find(f"{SVG}title") for ring in rings.values()]
    assert any(title is not None and "17.92 across, 4.46 mm deep" in (title.text or "") for title in titles)
    assert "recessed head, near and far side" in [text.text for text in root.iter(f"{SVG}text")]


def test_the_picture_of_a_plate_without_let_in_heads_does_not_explain_them(plain: Layout) -> None:
    assert "recessed head" not in svg_text(plain, check(plain))


def test_list_and_figures_tell_width_and_depth(layout: Layout) -> None:
    rows = {row["name"]: row for row in csv.DictReader(io.StringIO(holes_bytes(layout).decode()))}
    told = {name: (row["seat_diameter_mm"], row["seat_depth_mm"], row["seat_side"]) for name, row in rows.items()}
    assert told == {
        "hinge.1": ("17.92", "4.46", "near side"),
        "clamp.1": ("21", "12", "far side"),  # head of 10 mm and washer of 2 mm (ISO 4762, ISO 7089)
        "slide.1": ("13.44", "3.42", "far side"),
    }
    openings = {one["name"]: one for one in json.loads(figures_bytes(layout))["openings"]}
    seat = openings["hinge.1"]["head_seat"]
    assert (seat["kind"], seat["angle_deg"], seat["depth_mm"], seat["side"]) == ("cone", 90, 4.46, "near")
    assert seat["mouth"] == {"kind": "disc", "center_mm": [40, 30], "diameter_mm": 17.92}
    assert openings["slide.1"]["head_seat"]["mouth"]["kind"] == "slot"
    assert openings["clamp.1"]["head_seat"]["kind"] == "bore"


def test_the_chain_of_a_screw_says_how_deep_its_head_is_let_in(layout: Layout) -> None:
    """16 mm of plate less 12 mm let in, and a washer of 2 mm: 6 mm is clamped."""
    pages = pypdfium2.PdfDocument(sheet_bytes(layout, check(layout)))
    words = " ".join(page.get_textpage().get_text_bounded() for page in pages)
    assert "plate 16 + washer 2 - recessed head 12 = 6 mm" in " ".join(words.split())

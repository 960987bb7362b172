"""Scribed words, read by an independent reader.

Source: GDAL's DXF driver, through pyogrio; lengths and places are worked out by hand from the drawing of the letters.
Compared: length, width, height and reading direction of the strokes of a short title, in every form and both units.
Within: chords of half a degree fall short of an arc by 3 parts in a million.

GDAL knows nothing of this project or of the library that wrote the file.
"""

from __future__ import annotations

import math
from pathlib import Path

import pyogrio
import pytest
import shapely

from platekit.export.dxf_files.cut import FORMS, Form, Unit, dxf, dxf_suffix
from platekit.export.dxf_files.kerf import kerf_dxf
from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import loads

SPEC = """\
platekit: 1
title: Loop
units: mm
plate: {material: mild steel, thickness: 5, outline: {disc: {diameter: 120}}}
mounts: {arm: {side: far, looking_at: face, pattern: {points: [[-45, 0]], hole: 8}}}
cutting: {process: laser, kerf: 0.3, scribe: [title], scribe_height: 9}
accept: [{rule: unusual, feature: arm, found: 1, because: a dowel beside the screw keeps it from turning}]
"""
HEIGHT = 9.0
UNIT = HEIGHT / 10
"""Letters are drawn 10 high."""
L = 10 + 5
O = 2 * math.pi * 3 + 2 * 4  # noqa: E741 - it is the letter
P = 10 + 3.5 + math.pi * 2.5 + 3.5
LENGTH = (L + 2 * O + P) * UNIT
WIDTH = (5 + 2 + 6 + 2 + 6 + 2 + 6) * UNIT
STROKES = 2 + 4 + 4 + 4
"""Lines and arcs: two of L, two lines and two arcs of each O, three lines and an arc of P."""


@pytest.fixture(scope="module")
def layout() -> Layout:
    return lay_out(loads(SPEC, "loop"))


def marked(path: Path, layer: str) -> list[shapely.LineString]:
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": 0.5})
    meta, _, shapes, values = pyogrio.raw.read(path)
    layers = values[list(meta["fields"]).index("Layer")]
    return [line for name, line in zip(layers, shapely.from_wkb(shapes), strict=True) if name == layer]


def assert_the_word(lines: list[shapely.LineString], size: float) -> None:
    assert len(lines) == STROKES
    assert math.fsum(line.length for line in lines) / size == pytest.approx(LENGTH, rel=5e-6)
    x0, y0, x1, y1 = shapely.total_bounds(shapely.MultiLineString(lines))
    assert (x1 - x0) / size == pytest.approx(WIDTH, abs=1e-4)
    assert (y1 - y0) / size == pytest.approx(HEIGHT, abs=1e-4)
    # the foot of the L points to the right of its stem, at the left end of the word
    stem = min(lines, key=lambda line: (round(line.bounds[2], 6), line.bounds[0]))
    foot = next(line for line in lines if line.length == pytest.approx(5 * UNIT * size) and line.bounds[0] < x0 + size)
    assert stem.length / size == pytest.approx(10 * UNIT)
    assert foot.bounds[0] == pytest.approx(stem.bounds[0])
    assert foot.bounds[1] == foot.bounds[3] == pytest.approx(y0)
    # the bowl of the P is above its middle, at the right end
    bowl = max(lines, key=lambda line: line.bounds[2])
    assert bowl.bounds[1] == pytest.approx((y0 + y1) / 2, abs=1e-6)


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("unit", ["mm", "in"])
def test_the_cut_file_has_the_letters(layout: Layout, tmp_path: Path, form: Form, unit: Unit) -> None:
    path = tmp_path / f"loop{dxf_suffix(form, unit)}"
    dxf(layout, path, form, unit)
    assert_the_word(marked(path, "MARK"), 1.0 if unit == "mm" else 1 / 25.4)


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_the_kerf_file_has_the_letters(layout: Layout, tmp_path: Path, unit: Unit) -> None:
    path = tmp_path / "loop.dxf"
    kerf_dxf(layout, path, unit)
    assert_the_word(marked(path, "KERF-PATH-MARK"), 1.0 if unit == "mm" else 1 / 25.4)

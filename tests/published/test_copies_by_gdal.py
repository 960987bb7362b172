"""The cut file of several copies on a remnant, read by an independent reader.

Source: GDAL's DXF driver, through pyogrio, and shapely; what each copy should be is worked out by hand from the spec.
Compared: loops a layer, areas, how far the copies are apart and from the remnant's edge, marks, strokes of words, in
    every form (r2000, r12, plain) in millimetres and inches; the compensated paths against the finished edges.
Within: one millionth of the outlines' area, which have no arcs; of a hole's what GDAL's chords of half a degree miss;
    0.000001 mm of the gaps between straight edges; 0.001 mm of half a kerf round a hole's chords.

GDAL knows nothing of this project or of the library that wrote the file.
"""

from __future__ import annotations

import math
from collections import defaultdict
from pathlib import Path

import pyogrio
import pytest
import shapely
from shapely.geometry import LineString, Polygon

from platekit.cutting.nest import Nest
from platekit.export.dxf_files.copies import copies_dxf_bytes, copies_dxf_suffix, copies_kerf_bytes, copies_kerf_suffix
from platekit.export.dxf_files.cut import FORMS, Form, Unit
from platekit.export.picture.copies import wanted_copies
from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import loads

SPEC = """\
platekit: 1
title: Bracket of a hay rake
units: mm
plate:
  material: mild steel
  thickness: 8
  outline: {polygon: {points: [[-20, -10], [140, -10], [140, 40], [40, 40], [40, 130], [-20, 130]]}}
  cutouts: {eye: {circle: {diameter: 24}, at: [105, 15]}}
mounts:
  foot:
    side: far
    looking_at: face
    pattern: {points: [[8, 14], [10, 98]], hole: 14}
    bolts: {size: M12, into: part, depth: 30}
  cap:
    side: near
    looking_at: back
    pattern: {points: [[-10, 55], [-10, 70]]}
    bolts: {size: M6, into: plate, flange: 6}
cutting: {process: plasma, kerf: 1.5, margin: 8, scribe: [face], copies: 6,
  remnant: [[-50, 0], [550, 40], [510, 420], [-20, 380]]}
"""
COUNT = 6
L_SHAPE = 160 * 50 + 60 * 90
HOLES = [14.0, 14.0, 24.0]
GAP, EDGE_GAP = 8 + 2 * 1.5, 8 + 1.5
"""Margin and two kerfs between finished edges, margin and one kerf to the edge of the remnant."""
REMNANT = Polygon([(0, 0), (600, 40), (560, 420), (30, 380)])
"""The remnant with its lower left at 0,0."""
STEP_DEG = 0.5


@pytest.fixture(scope="module")
def layout() -> Layout:
    return lay_out(loads(SPEC, "rake"))


@pytest.fixture(scope="module")
def nest(layout: Layout) -> Nest:
    found = wanted_copies(layout)
    assert found is not None
    assert len(found.poses) == COUNT
    return found


def read(path: Path, data: bytes, unit: Unit) -> dict[str, list[LineString]]:
    """The lines of each layer as GDAL has them, in mm."""
    path.write_bytes(data)
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": STEP_DEG})
    meta, _, shapes, values = pyogrio.raw.read(path)
    layers = values[list(meta["fields"]).index("Layer")]
    size = 1.0 if unit == "mm" else 25.4
    found: dict[str, list[LineString]] = defaultdict(list)
    for layer, line in zip(layers, shapely.from_wkb(shapes), strict=True):
        found[layer].append(shapely.transform(line, lambda points: points * size))
    return found


def rings(lines: list[LineString]) -> list[Polygon]:
    """Closed lines as they are; open ones joined where their ends are the same point."""
    closed = [Polygon(line) for line in lines if line.is_closed]
    pieces = [shapely.set_precision(line, 1e-7, mode="pointwise") for line in lines if not line.is_closed]
    if pieces:
        merged = shapely.line_merge(shapely.MultiLineString(pieces))
        closed += [Polygon(line) for line in getattr(merged, "geoms", [merged])]
    return closed


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("unit", ["mm", "in"])
def test_every_copy_is_there_whole_and_apart(
    layout: Layout, nest: Nest, tmp_path: Path, form: Form, unit: Unit
) -> None:
    data = copies_dxf_bytes(layout, nest, form, unit)
    found = read(tmp_path / f"rake{copies_dxf_suffix(form, unit)}", data, unit)
    assert set(found) == {"CUT-INSIDE", "CUT-OUTSIDE", "MARK"}
    outside, inside = rings(found["CUT-OUTSIDE"]), rings(found["CUT-INSIDE"])
    assert (len(outside), len(inside)) == (COUNT, COUNT * len(HOLES))
    assert math.fsum(ring.area for ring in outside) == pytest.approx(COUNT * L_SHAPE, rel=1e-6)
    wanted = COUNT * math.fsum(math.pi / 4 * hole**2 for hole in HOLES)
    step = math.radians(2 * STEP_DEG)
    assert -1e-6 <= 1 - math.fsum(ring.area for ring in inside) / wanted <= 1 - math.sin(step) / step
    for k, one in enumerate(outside):
        assert sum(one.contains(hole) for hole in inside) == len(HOLES)
        assert REMNANT.buffer(1e-6).contains(one)
        assert one.distance(REMNANT.exterior) >= EDGE_GAP - 1e-6
        assert all(one.distance(other) >= GAP - 1e-6 for other in outside[k + 1 :])


@pytest.mark.parametrize("form", FORMS)
def test_marks_and_words_come_along_on_their_copy(layout: Layout, nest: Nest, tmp_path: Path, form: Form) -> None:
    found = read(tmp_path / "rake.dxf", copies_dxf_bytes(layout, nest, form), "mm")
    outside = rings(found["CUT-OUTSIDE"])
    single = len(found["MARK"]) / COUNT
    assert single == int(single)
    for one in outside:
        assert sum(one.contains(stroke) for stroke in found["MARK"]) == single
    # two tapped holes a copy: two strokes of 4 mm each that meet in their middles
    crosses = [stroke for stroke in found["MARK"] if abs(stroke.length - 4) < 1e-9 and len(stroke.coords) == 2]
    middles = [stroke.centroid for stroke in crosses]
    pairs = sum(a.distance(b) < 1e-6 for n, a in enumerate(middles) for b in middles[n + 1 :])
    assert pairs >= 2 * COUNT


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_compensated_paths_keep_off_every_copy_and_on_the_sheet(
    layout: Layout, nest: Nest, tmp_path: Path, unit: Unit
) -> None:
    cut = read(tmp_path / "rake.dxf", copies_dxf_bytes(layout, nest), "mm")
    edges = shapely.union_all([ring.exterior for layer in ("CUT-INSIDE", "CUT-OUTSIDE") for ring in rings(cut[layer])])
    found = read(tmp_path / f"rake{copies_kerf_suffix(unit)}", copies_kerf_bytes(layout, nest, unit), unit)
    paths = [*found["KERF-PATH-INSIDE"], *found["KERF-PATH-OUTSIDE"]]
    assert len(found["KERF-PATH-OUTSIDE"]) == COUNT
    assert len(paths) == COUNT * (1 + len(HOLES))
    for path in paths:
        assert not path.is_closed
        assert path.distance(edges) == pytest.approx(0.75, abs=0.001)
        assert REMNANT.contains(path)
        assert path.distance(REMNANT.exterior) > 0.75
    assert len(found["KERF-PATH-MARK"]) == len(cut["MARK"])

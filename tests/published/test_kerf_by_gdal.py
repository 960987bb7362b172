"""The compensated file, read by an independent reader.

Source: GDAL's DXF driver, through pyogrio; the two rings are worked out by hand.
Compared: order, length and radius of the paths, in millimetres and inches; that none of them is closed.
Within: 0.002 % of a length, which GDAL's chords of half a degree can miss; one millionth of a radius.

GDAL knows nothing of this project or of the library that wrote the file. The plate is small: a disc of 100 mm with a
hole of 40 mm, 5 mm thick, kerf 1 mm, so the two rings are circles of 101 and 39 mm.
"""

from __future__ import annotations

import math
from pathlib import Path

import pyogrio
import pytest
import shapely
from shapely.geometry import LineString

from platekit.checks import check
from platekit.export.dxf_files.kerf import kerf_dxf, kerf_suffix
from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import loads
from platekit.units import Unit

SPEC = """\
platekit: 1
title: Blank flange for a pond filter
units: mm
plate:
  material: mild steel
  thickness: 5
  outline: {disc: {diameter: 100}}
  cutouts:
    bore: {circle: {diameter: 40}}
mounts:
  filter: {side: far, looking_at: face, pattern: {points: [[-35, 0]], hole: 4}}
cutting: {process: plasma, kerf: 1}
accept: [{rule: unusual, feature: filter, found: 1, because: a dowel beside the screw keeps it from turning}]
"""

STEP_DEG = 0.5


@pytest.fixture(scope="module")
def layout() -> Layout:
    return lay_out(loads(SPEC, "flange"))


def read(layout: Layout, folder: Path, unit: Unit, monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, LineString]]:
    monkeypatch.setenv("OGR_ARC_STEPSIZE", str(STEP_DEG))
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": str(STEP_DEG)})
    path = folder / f"flange{kerf_suffix(unit)}"
    kerf_dxf(layout, path, unit, check(layout))
    meta, _, geometry, fields = pyogrio.raw.read(path)
    layers = dict(zip(meta["fields"], fields, strict=True))["Layer"]
    return list(zip(layers, shapely.from_wkb(geometry), strict=True))


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_gdal_reads_the_cuts_in_their_order(
    layout: Layout, tmp_path: Path, unit: Unit, monkeypatch: pytest.MonkeyPatch
) -> None:
    size = 1.0 if unit == "mm" else 1 / 25.4
    found = read(layout, tmp_path, unit, monkeypatch)
    assert [layer for layer, _ in found] == ["KERF-PATH-MARK"] * 2 + ["KERF-PATH-INSIDE", "KERF-PATH-OUTSIDE"]
    (_, inside), (_, outside) = found[2:]
    for line, diameter in ((inside, 39.0), (outside, 101.0)):
        # the longest stretch that stays on the ring is once round and the overrun of 4 mm
        ring = _on_ring(line, diameter / 2 * size, size)
        assert ring == pytest.approx((math.pi * diameter + 4.0) * size, rel=2e-5)
    assert min(x for x, _ in outside.coords) >= -1e-9
    assert min(y for _, y in outside.coords) >= -1e-9


def _on_ring(line: LineString, radius: float, size: float) -> float:
    """Length of what lies on the circle of that radius about the middle of the line's own ring."""
    xs, ys = zip(*line.coords, strict=True)
    center = _center(list(line.coords), radius)
    assert min(xs) <= center[0] <= max(xs)
    assert min(ys) <= center[1] <= max(ys)
    total = 0.0
    for (ax, ay), (bx, by) in zip(line.coords, line.coords[1:], strict=False):
        near = [abs(math.dist(p, center) - radius) for p in ((ax, ay), (bx, by))]
        if max(near) < 1e-6 * size:
            total += math.dist((ax, ay), (bx, by))
    return total


def _center(points: list[tuple[float, ...]], radius: float) -> tuple[float, float]:
    """Centre of the circle through three points in the middle of the line."""
    third = len(points) // 4
    (ax, ay), (bx, by), (cx, cy) = (points[third * k][:2] for k in (1, 2, 3))
    d = 2 * (ax * (by - cy) + bx * (cy - ay) + cx * (ay - by))
    a2, b2, c2 = ax * ax + ay * ay, bx * bx + by * by, cx * cx + cy * cy
    x = (a2 * (by - cy) + b2 * (cy - ay) + c2 * (ay - by)) / d
    y = (a2 * (cx - bx) + b2 * (ax - cx) + c2 * (bx - ax)) / d
    assert math.dist((x, y), (ax, ay)) == pytest.approx(radius, rel=1e-6)
    return (x, y)


def test_no_line_is_closed_so_none_can_be_offset_again(
    layout: Layout, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for layer, line in read(layout, tmp_path, "mm", monkeypatch):
        assert line.geom_type == "LineString"
        assert not line.is_closed, layer

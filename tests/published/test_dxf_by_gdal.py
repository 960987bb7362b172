"""The cut file, read by an independent reader.

Source: GDAL's DXF driver, through pyogrio; what the plate should be is worked out by hand from the spec.
Compared: loops, layers, areas and bounds of every form (r2000, r12, plain) in millimetres and inches; the forms with
    each other; the area as chords get finer.
Within: one millionth of an area above the true one, and below it what GDAL's chords of half a degree can miss at most;
    0.000001 at the bounds; 0.002 mm between the forms.

GDAL knows nothing of this project or of the library that wrote the file. It turns every arc into chords of half a
degree (`OGR_ARC_STEPSIZE`), which lie inside the true arc, so its areas and lengths fall short by what such chords can
miss at most.
"""

from __future__ import annotations

import math
from collections import defaultdict
from pathlib import Path

import pyogrio
import pytest
import shapely
from shapely.geometry import LineString, Polygon

from platekit.export.dxf_files.cut import FORMS, Form, Unit, dxf, dxf_suffix
from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import loads

STEP_DEG = 0.5
"""Chord step asked of GDAL; it says of itself that one step may be a little longer."""

SPEC = """\
platekit: 1
title: Kiln fan, motor moved to a new plate
units: mm
plate:
  material: mild steel
  thickness: 6
  outline: {rectangle: {width: 300, height: 200, corner: 25}, at: [40, 10]}
  cutouts:
    cable: {circle: {diameter: 24}, at: [150, 70]}
    window: {rectangle: {width: 50, height: 20, corner: 5}, at: [130, -50]}
mounts:
  fan:
    side: far
    looking_at: face
    pattern: {points: [[-60, -45], [50, -40], [45, 50], [-55, 55]], hole: 9}
    pilot: {diameter: 60, clearance: 1.5}
    bolts: {size: M8, into: part, depth: 40}
  tensioner:
    side: near
    looking_at: back
    pattern: {points: [[-15, 0], [20, 6]], hole: 7}
    at: [130, 10]
    bolts: {size: M6, into: nut, flange: 6}
    take_up: {slots: {along: 0 deg, install: 4, tension: 6}}
  plug:
    side: near
    looking_at: back
    pattern: {points: [[0, 0], [14, 3]]}
    at: [-80, -20]
    bolts: {size: M5, into: plate, flange: 4}
cutting: {process: laser, drilling: 0.3 mm}
"""

PILOT = 61.5
"""Spigot of 60 mm and its clearance."""

LEFT, LOWER = 40 - 150, 10 - 100
"""Lower left of the outline in the plate frame."""


def rounded(width: float, height: float, radius: float) -> float:
    """Area of a rectangle with rounded corners."""
    return width * height - (4 - math.pi) * radius**2


WANTED = {
    # middle in the file -> area
    **{(x - LEFT, y - LOWER): math.pi * 4.5**2 for x, y in [(-60, -45), (50, -40), (45, 50), (-55, 55)]},
    (0 - LEFT, 0 - LOWER): math.pi * (PILOT / 2) ** 2,
    (150 - LEFT, 70 - LOWER): math.pi * 12**2,
    (130 - LEFT, -50 - LOWER): rounded(50, 20, 5),
    # the slots reach 4 mm back and 6 mm on: their middle is 1 mm on
    **{(130 + x + 1 - LEFT, 10 + y - LOWER): math.pi * 3.5**2 + 7 * 10 for x, y in [(-15, 0), (20, 6)]},
}
MARKS = {(-80 - LEFT, -20 - LOWER), (-80 + 14 - LEFT, -20 + 3 - LOWER)}
OUTSIDE = rounded(300, 200, 25)


@pytest.fixture(scope="module")
def layout() -> Layout:
    return lay_out(loads(SPEC, "kiln"))


def read(layout: Layout, folder: Path, form: Form, unit: Unit) -> dict[str, list[LineString]]:
    """The lines of each layer as GDAL has them, in the file's own unit."""
    path = folder / f"kiln{dxf_suffix(form, unit)}"
    dxf(layout, path, form, unit)
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": STEP_DEG})
    meta, _, shapes, values = pyogrio.raw.read(path)
    layers = values[list(meta["fields"]).index("Layer")]
    found: dict[str, list[LineString]] = defaultdict(list)
    for layer, line in zip(layers, shapely.from_wkb(shapes), strict=True):
        found[layer].append(line)
    return found


def rings(lines: list[LineString]) -> list[Polygon]:
    """Closed lines as they are; open ones joined where their ends are the same point."""
    closed = [Polygon(line) for line in lines if line.is_closed]
    pieces = [line for line in lines if not line.is_closed]
    if pieces:
        snapped = [shapely.set_precision(piece, 1e-9, mode="pointwise") for piece in pieces]
        merged = shapely.line_merge(shapely.MultiLineString(snapped))
        joined = list(merged.geoms) if merged.geom_type == "MultiLineString" else [merged]
        assert all(line.is_closed for line in joined), "a loop stays open"
        closed += [Polygon(line) for line in joined]
    return closed


def short_by(area: float) -> float:
    """The most that chords of `STEP_DEG` can take from an area, as a share of a full circle's area.

    A chord over the angle s leaves out 1 - sin(s)/s of its sector; twice the step for the odd one at an arc's end.
    """
    step = math.radians(2 * STEP_DEG)
    return area * (1 - math.sin(step) / step)


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("unit", ["mm", "in"])
def test_same_openings_layers_and_areas(layout: Layout, tmp_path: Path, form: Form, unit: Unit) -> None:
    size = 1.0 if unit == "mm" else 1 / 25.4
    found = read(layout, tmp_path, form, unit)
    assert set(found) == {"CUT-INSIDE", "CUT-OUTSIDE", "MARK"}

    inside = rings(found["CUT-INSIDE"])
    assert len(inside) == len(WANTED)
    for (x, y), area in WANTED.items():
        (ring,) = [
            ring for ring in inside if math.dist((ring.centroid.x, ring.centroid.y), (x * size, y * size)) < 1e-4 * size
        ]
        missing = area - ring.area / size**2
        assert -1e-6 * area <= missing <= short_by(area)

    (outside,) = rings(found["CUT-OUTSIDE"])
    assert -1e-6 * OUTSIDE <= OUTSIDE - outside.area / size**2 <= short_by(math.pi * 25**2)
    assert outside.bounds == pytest.approx((0, 0, 300 * size, 200 * size), abs=1e-6)

    assert len(found["MARK"]) == 2 * len(MARKS)
    middles = {(round(line.centroid.x / size, 6), round(line.centroid.y / size, 6)) for line in found["MARK"]}
    assert middles == MARKS
    assert all(line.length == pytest.approx(4 * size) for line in found["MARK"])


def test_all_forms_are_the_same_shape(layout: Layout, tmp_path: Path) -> None:
    """What GDAL draws of one form and of another differs by nothing that could be seen."""
    drawn = []
    for form in FORMS:
        found = read(layout, tmp_path, form, "mm")
        plate = rings(found["CUT-OUTSIDE"])[0]
        drawn.append(plate.difference(shapely.union_all(rings(found["CUT-INSIDE"]))))
    for other in drawn[1:]:
        assert drawn[0].hausdorff_distance(other) < 0.002
        assert drawn[0].symmetric_difference(other).area < 1e-4 * drawn[0].area


def test_finer_chords_come_nearer(layout: Layout, tmp_path: Path) -> None:
    """Arcs are true arcs: with half the step, GDAL's areas fall short by a quarter, as the chord formula says."""
    path = tmp_path / "kiln.dxf"
    dxf(layout, path)
    wanted = math.fsum(WANTED.values())
    missing = []
    for step in (4.0, 2.0, 1.0):
        pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": step})
        meta, _, shapes, values = pyogrio.raw.read(path)
        layers = values[list(meta["fields"]).index("Layer")]
        inside = shapely.from_wkb(shapes)[layers == "CUT-INSIDE"]
        missing.append(wanted - math.fsum(Polygon(line).area for line in inside))
    assert missing[0] / missing[1] == pytest.approx(4, rel=0.02)
    assert missing[1] / missing[2] == pytest.approx(4, rel=0.02)

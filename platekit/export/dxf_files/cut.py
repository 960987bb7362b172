"""The cut file: a DXF with the net shape, one closed loop an opening, that passed its own proof.

Vocabulary
    form     which words of DXF the file uses: `r2000` (light polyline), `r12` (old polyline), `plain` (R12
             with nothing but LINE, ARC and CIRCLE); the shape is the same in all three
    layer    `CUT-INSIDE` openings, `CUT-OUTSIDE` the outside, `MARK` centres to be drilled and scribed words,
             `REFERENCE` for eyes only
    mark     the centre of a hole that is drilled, tapped or bored: a cross of two short lines,
             a point, or a small circle

The lower left of the outline is at 0,0. Openings that overlap, or reach over the outside, where the spec accepts
that, are cut as the one shape that they make. Openings come before the outside. There is no text, no spline, no
ellipse, and no allowance for the kerf: cutting software offsets by itself.
"""

from __future__ import annotations

import math
import os
from collections.abc import Iterator
from typing import TYPE_CHECKING, Literal

from msgspec import Struct

from platekit.checks.finding import Verdict
from platekit.choices import Form, MarkKind
from platekit.cutting.operations import operations_of
from platekit.cutting.scribe import scribing_of
from platekit.export.dxf_files.document import (
    add_edge,
    add_mark,
    bytes_of,
    fixed_metadata,
    new_document,
    tidy,
    tidy_vertices,
)
from platekit.export.dxf_files.pieces import CUT_COLORS
from platekit.export.dxf_files.proof import prove
from platekit.export.exact import edges_of, one_piece, simplest
from platekit.export.files import write_whole
from platekit.export.release import require_clear
from platekit.geometry import Arc, Disc, Edge, Point, Pose, Shape, Vertex
from platekit.placed import Layout
from platekit.units import Unit, mm_per

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.layouts.layout import Modelspace

__all__ = ["FORMS", "LAYERS", "Form", "Unit", "drawing_bytes", "dxf", "dxf_bytes", "dxf_suffix"]

FORMS: tuple[Form, ...] = ("r2000", "r12", "plain")

Layer = Literal["REFERENCE", "MARK", "CUT-INSIDE", "CUT-OUTSIDE"]

LAYERS: dict[Layer, int] = {
    "REFERENCE": CUT_COLORS["reference"],
    "MARK": CUT_COLORS["mark"],
    "CUT-INSIDE": CUT_COLORS["inside"],
    "CUT-OUTSIDE": CUT_COLORS["outside"],
}
"""Layers with their colour numbers, in the order of the file: the outside is its last entity."""


class _Circle(Struct, frozen=True):
    layer: Layer
    center: Point
    radius: float


class _Outline(Struct, frozen=True):
    layer: Layer
    vertices: tuple[Vertex, ...]


class _Mark(Struct, frozen=True):
    layer: Layer
    at: Point
    kind: MarkKind


class _Scribed(Struct, frozen=True):
    layer: Layer
    edge: Edge


Item = _Circle | _Outline | _Mark | _Scribed
"""One thing that is drawn, plate frame, mm; `layer` says what it is."""


def dxf_suffix(form: Form = "r2000", unit: Unit = "mm") -> str:
    """The ending of the file's name; it tells the unit wherever the file could be taken for the other.

    >>> dxf_suffix(), dxf_suffix("r2000", "in"), dxf_suffix("r12", "mm")
    ('.cut.dxf', '.cut.in.dxf', '.cut.r12.mm.dxf')
    """
    if form == "r2000":
        return ".cut.dxf" if unit == "mm" else ".cut.in.dxf"
    return f".cut.{form}.{unit}.dxf"


def dxf(
    layout: Layout,
    path: str | os.PathLike[str],
    form: Form = "r2000",
    unit: Unit = "mm",
    reference: bool = False,
    verdict: Verdict | None = None,
) -> None:
    """Writes the cut file, whole or not at all.

    `verdict` is that of `check(layout)`, if it is at hand. Raises `OutputError` when a stop is open, when the
    drawing does not pass its proof, or when the file cannot be written; then nothing is written.
    """
    require_clear(layout, verdict, "the cut file")
    write_whole(path, dxf_bytes(layout, form, unit, reference))


def dxf_bytes(layout: Layout, form: Form = "r2000", unit: Unit = "mm", reference: bool = False) -> bytes:
    """The bytes of the cut file, proved against the layout; the same layout gives the same bytes.

    `reference` adds, on a layer of their own, the outlines of bodies and the finished shapes of holes that are only
    marked or are cut small.
    Raises `OutputError` when the drawing does not pass its proof. Whether the plate may be cut is not asked
    here, see `dxf`.
    """
    data = drawing_bytes(layout, form, unit, reference)
    prove(data, layout, form, unit, reference)
    return data


def drawing_bytes(layout: Layout, form: Form, unit: Unit, reference: bool) -> bytes:
    """The bytes of the drawing before the proof."""
    box = layout.outline.box
    to_corner = Pose(-box.x0, -box.y0)
    scale = 1.0 / mm_per(unit)
    with fixed_metadata():
        document = empty(layout, form, unit)
        space = document.modelspace()
        for item in items(layout, reference):
            add_item(space, form, item, to_corner, scale)
        return bytes_of(document, box.width * scale, box.height * scale)


def empty(layout: Layout, form: Form, unit: Unit) -> Drawing:
    """A drawing with the layers of a cut file, the plate's title, name and revision, and no shapes."""
    told = {"TITLE": layout.title, "SPEC": layout.spec.name, "REVISION": layout.spec.revision}
    return new_document(
        "R2000" if form == "r2000" else "R12", unit, {str(name): color for name, color in LAYERS.items()}, told
    )


# --------------------------------------------------------------------------------------- what is drawn


def items(layout: Layout, reference: bool) -> Iterator[Item]:
    """All that the file shows, in its order, plate frame, mm."""
    made = operations_of(layout)
    # The order of the file is that of the work, for tables that cut in the order of the drawing: marks while nothing is
    # loose yet, then openings, and the outside last, which lets the plate go.
    if reference:
        for opening, operations in zip(layout.openings, made, strict=True):
            if operations.cut is None or operations.small:
                yield shape_item("REFERENCE", opening.shape)
        for body in layout.bodies:
            if not body.hardware:
                yield shape_item("REFERENCE", body.shape)
    for point in dict.fromkeys(point for operations in made for point in operations.marks):
        yield _Mark("MARK", point, layout.cutting.mark)
    for stroke in scribing_of(layout).strokes:
        yield from (_Scribed("MARK", edge) for edge in stroke)
    # openings that overlap are cut as one: two loops through each other would cut steel that is gone
    cuts = [operations.cut for operations in made if operations.cut is not None]
    outside, inside = one_piece(layout.outline, cuts, "the cut file")
    for one in inside:
        yield shape_item("CUT-INSIDE", one.shape)
    yield shape_item("CUT-OUTSIDE", outside)


def shape_item(layer: Layer, shape: Shape) -> Item:
    """A shape as what is drawn of it: a circle where it is one, else an outline without specks."""
    known = simplest(shape)
    if isinstance(known, Disc):
        return _Circle(layer, known.center, known.radius)
    return _Outline(layer, known.vertices)


# --------------------------------------------------------------------------------------- how it is said


def add_item(space: Modelspace, form: Form, item: Item, to_file: Pose, scale: float) -> None:
    """One thing in its form; `to_file` leads from the plate frame to the file's, in mm, `scale` to its unit."""

    def sized(point: Point) -> Point:
        return (tidy(point[0] * scale), tidy(point[1] * scale))

    def placed(point: Point) -> Point:
        return sized(to_file.point(point))

    named = {"layer": item.layer}
    if isinstance(item, _Circle):
        space.add_circle(placed(item.center), tidy(item.radius * scale), dxfattribs=named)
    elif isinstance(item, _Mark):
        add_mark(space, item.kind, item.at, item.layer, placed, scale)
    elif isinstance(item, _Scribed):
        add_edge(space, item.edge.moved(to_file), item.layer, sized, scale)
    elif form == "plain":
        _add_pieces(space, item, to_file, scale)
    else:
        points = tidy_vertices(item.vertices, placed)
        add = space.add_lwpolyline if form == "r2000" else space.add_polyline2d
        add(points, format="xyb", close=True, dxfattribs=named)


def _add_pieces(space: Modelspace, outline: _Outline, to_file: Pose, scale: float) -> None:
    """The outline as single lines and arcs; each line ends on the point where a reader puts the arc's end."""
    vertices = []
    for x, y, bulge in outline.vertices:
        u, v = to_file.point((x, y))
        vertices.append((u * scale, v * scale, bulge))
    edges = edges_of(vertices)
    named = {"layer": outline.layer}
    for index, edge in enumerate(edges):
        if isinstance(edge, Arc):
            start, end = _degrees(edge)
            space.add_arc(_tidied(edge.center), tidy(edge.radius), start, end, dxfattribs=named)
            continue
        # An arc stands in the file as centre, radius and rounded angles: its ends, worked out by the reader, are off by
        # the rounding. Lines that end there make the loop close as it is read, not as it was meant.
        before, after = edges[index - 1], edges[(index + 1) % len(edges)]
        a = _as_read(before, first=False) if isinstance(before, Arc) else _tidied(edge.a)
        b = _as_read(after, first=True) if isinstance(after, Arc) else _tidied(edge.b)
        space.add_line(a, b, dxfattribs=named)


def _degrees(edge: Arc) -> tuple[float, float]:
    """Start and end angle of an arc as DXF has them: degrees, always counter-clockwise."""
    low, high = sorted((edge.start, edge.start + edge.sweep))
    return tidy(math.degrees(low) % 360.0), tidy(math.degrees(high) % 360.0)


def _as_read(edge: Arc, first: bool) -> Point:
    """The arc's first or last point, worked out from the numbers that stand in the file."""
    low, high = _degrees(edge)
    angle = math.radians(low if first == (edge.sweep > 0) else high)
    (x, y), radius = _tidied(edge.center), tidy(edge.radius)
    return (x + radius * math.cos(angle), y + radius * math.sin(angle))


def _tidied(point: Point) -> Point:
    return (tidy(point[0]), tidy(point[1]))

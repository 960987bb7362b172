"""The compensated file: the middle of the kerf as the head runs it, one open line a cut, proved before it is written.

It is not the cut file: this one is already half a kerf off the finished edge, and a controller that offsets once more
cuts scrap. So its name ends in `.kerf.dxf`, its layers begin with `KERF-PATH`, and nothing in it is closed.

Vocabulary
    cut      one open polyline: pierce, lead-in, once round, a little further, away
    mark     a cross for the punch, as in the cut file
    word     lines and arcs that are scribed, as in the cut file, on the layer of the marks
    order    that of the file is that of cutting: marks, words, openings, the outside last

Everything, half a kerf round it included, lies right of and above 0,0.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from typing import TYPE_CHECKING

from platekit.checks.finding import Verdict
from platekit.choices import MarkKind
from platekit.cutting.capability import capability_of
from platekit.cutting.operations import CROSS
from platekit.cutting.paths import CutPath, Paths, paths_of
from platekit.errors import OutputError
from platekit.export.dxf_files.document import (
    add_edge,
    add_mark,
    bytes_of,
    fixed_metadata,
    new_document,
    tidy,
    tidy_vertices,
)
from platekit.export.dxf_files.kerf_proof import INSIDE, LAYERS, MARK, OUTSIDE, prove_kerf
from platekit.export.files import write_whole
from platekit.export.release import require_clear
from platekit.geometry import Arc, Box, Edge, Point, Vertex, box_of, box_round
from platekit.placed import Layout
from platekit.units import Unit, mm_per

if TYPE_CHECKING:
    from ezdxf.layouts.layout import Modelspace


def kerf_suffix(unit: Unit = "mm") -> str:
    """The ending of the compensated file's name.

    >>> kerf_suffix(), kerf_suffix("in")
    ('.kerf.dxf', '.kerf.in.dxf')
    """
    return ".kerf.dxf" if unit == "mm" else ".kerf.in.dxf"


def kerf_dxf(layout: Layout, path: str | os.PathLike[str], unit: Unit = "mm", verdict: Verdict | None = None) -> None:
    """Writes the compensated file, whole or not at all.

    `verdict` is that of `check(layout)`, if it is at hand. Raises `OutputError` when a stop is open, when a cut has no
    room for its pierce, when the drawing does not pass its proof, or when the file cannot be written.
    """
    require_clear(layout, verdict, "the compensated file")
    write_whole(path, kerf_bytes(layout, unit))


def kerf_bytes(layout: Layout, unit: Unit = "mm") -> bytes:
    """The bytes of the compensated file, proved against the layout; the same layout gives the same bytes.

    Raises `OutputError` when a shape is narrower than the kerf, when a cut has no room for its pierce, or when the
    drawing does not pass its proof. Whether the plate may be cut is not asked here, see `kerf_dxf`.
    """
    paths = cuttable_paths(layout)
    data = drawing_bytes(layout, paths, unit)
    prove_kerf(data, layout, unit, shift_of(paths))
    return data


def cuttable_paths(layout: Layout) -> Paths:
    """The paths of a plate, each with its pierce clear of the part; else `OutputError`."""
    if not capability_of(layout).traits.table:
        raise OutputError(
            f"the compensated file was not written: {layout.cutting.process} cuts nothing; name another process"
        )
    paths = paths_of(layout)
    if paths.kerf <= 0:
        raise OutputError("the compensated file was not written: without a kerf it would be the cut file")
    pieces = sum(path.kind == "outside" for path in paths.cuts)
    if pieces != 1:
        left = f"cut the plate into {pieces} pieces" if pieces else "leave nothing of the plate"
        raise OutputError(
            f"the compensated file was not written: the openings {left}; move them, or make the plate larger"
        )
    if paths.impossible:
        raise OutputError(
            f"the compensated file was not written: {paths.impossible[0]} is narrower than the kerf; widen it"
        )
    tight = [path.name for path in paths.cuts if not path.pierced_clear]
    if tight:
        raise OutputError(
            f"the compensated file was not written: {tight[0]} has no room for a pierce; drill it, or make it wider"
        )
    return paths


def shift_of(paths: Paths) -> Point:
    """What is added to a place on the plate to get its place in the file, mm."""
    arm = CROSS / 2
    # everything that the torch touches has to lie right of and above zero, half a kerf and leads included: many tables
    # take the drawing's zero for the sheet's corner
    boxes = [path.box.grown(paths.kerf / 2) for path in paths.cuts]
    boxes += [box_of([point]).grown(arm) for point in paths.marks]
    whole = box_round(boxes)
    return (-whole.x0, -whole.y0)


def drawing_bytes(layout: Layout, paths: Paths, unit: Unit) -> bytes:
    """The bytes of the drawing before the proof."""
    scale = 1.0 / mm_per(unit)
    shift = shift_of(paths)
    told = {
        # whoever opens the file in a program for nesting sees first that the kerf is in it already
        "TITLE": f"COMPENSATED, DO NOT OFFSET AGAIN: {layout.title}",
        "SPEC": layout.spec.name,
        "REVISION": layout.spec.revision,
        "KERF_MM": f"{paths.kerf:g}",
        "PLATE_AT_MM": f"{layout.outline.box.x0 + shift[0]:.4f} {layout.outline.box.y0 + shift[1]:.4f}",
    }
    with fixed_metadata():
        document = new_document("R2000", unit, LAYERS, told)
        space = document.modelspace()
        add_paths(space, paths.marks, layout.cutting.mark, paths.words, paths.cuts, shift, scale)
        box = extent(paths)
        return bytes_of(document, box.width * scale, box.height * scale)


def extent(paths: Paths) -> Box:
    """The smallest box round all cuts and marks, half a kerf included, plate frame, mm."""
    return box_round([path.box.grown(paths.kerf / 2) for path in paths.cuts] + [box_of([p]) for p in paths.marks])


def add_paths(
    space: Modelspace,
    marks: Sequence[Point],
    kind: MarkKind,
    words: Sequence[Sequence[Edge]],
    cuts: Sequence[CutPath],
    shift: Point,
    scale: float,
) -> None:
    """Marks, words and cuts, in that order; `shift` (mm) is added to every place, then `scale` leads to the unit."""
    # The same order as in the cut file: marks while nothing is loose, openings, the outside last
    for mark in marks:
        add_mark(space, kind, mark, MARK, lambda point: _placed(point, shift, scale), scale)
    for stroke in words:
        for edge in stroke:
            add_edge(space, edge, MARK, lambda point: _placed(point, shift, scale), scale)
    for path in cuts:
        layer = INSIDE if path.kind == "inside" else OUTSIDE
        points = tidy_vertices(vertices_of(path.edges), lambda point: _placed(point, shift, scale))
        space.add_lwpolyline(points, format="xyb", close=False, dxfattribs={"layer": layer})


def vertices_of(edges: Sequence[Edge]) -> list[Vertex]:
    """The vertices of an open run of edges, the last point included; arcs of more than half a turn in two pieces."""
    # A bulge is the tangent of a quarter of the sweep: beyond half a turn it grows without bounds, and some controllers
    # refuse one above 1
    vertices: list[Vertex] = []
    for edge in edges:
        if isinstance(edge, Arc) and abs(edge.bulge) > 1.0 + 1e-9:
            half = edge.at(0.5)
            vertices += [(*edge.a, edge.part(0.0, 0.5, edge.a, half).bulge)]
            vertices += [(*half, edge.part(0.5, 1.0, half, edge.b).bulge)]
        else:
            vertices.append((*edge.a, edge.bulge))
    return [*vertices, (*edges[-1].b, 0.0)]


def _placed(point: Point, shift: Point, scale: float) -> Point:
    return (tidy((point[0] + shift[0]) * scale), tidy((point[1] + shift[1]) * scale))

"""The proof of the files with all copies on their sheet: read back, taken apart into copies, each held to the plate.

From the bytes alone every line, arc and circle is given to the copy on whose place it lies, and taken back from there
to the place that it has in the file of a single plate; that must then pass the proof of that file, marks and words
included. What is left is asked of the sheet as a whole:

    count    no copy more or less, none without all of its loops
    apart    copies as read keep the gap between them, and the margin to the sheet's edge
    area     all loops of a layer together have the area of so many plates
    order    marks and words of all copies first, then openings before the outside of each
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from itertools import groupby

from platekit.choices import Form
from platekit.cutting.capability import capability_of
from platekit.cutting.contours import contours
from platekit.cutting.nest import Nest
from platekit.errors import OutputError
from platekit.export.dxf_files.kerf_proof import MARK as KERF_MARK
from platekit.export.dxf_files.kerf_proof import (
    Cut,
    clear_of_all,
    cuts_of,
    each_shape,
    marks_faults,
    opened,
    ring_of,
    strokes_of,
)
from platekit.export.dxf_files.pieces import (
    INSIDE,
    MARK,
    OUTSIDE,
    Circle,
    Piece,
    ReadDrawing,
    Ring,
    rings_of,
    shown,
)
from platekit.export.dxf_files.proof import AREA, PLACE, ExpectedOpening, found_in, plate_faults, slack
from platekit.geometry import Disc, Edge, Index, Loop, Point, Pose, Shape, box_of, distance, edge_distance, loop_of
from platekit.placed import Layout
from platekit.units import Unit, mm_per

NEAR = 1.0
"""How far from every copy a stroke may lie and still be taken for one of a copy's, beyond half a kerf, mm (ours)."""


def prove_copies(data: bytes, layout: Layout, nest: Nest, form: Form, unit: Unit, reference: bool = False) -> None:
    """Nothing if the bytes are the copies of the plate and nothing else; else `OutputError` with a fault."""
    _refuse("the cut file of the copies", copies_faults(data, layout, nest, form, unit, reference))


def prove_copies_kerf(data: bytes, layout: Layout, nest: Nest, unit: Unit) -> None:
    """Nothing if the bytes are the compensated cuts of the copies and nothing else; else `OutputError`."""
    _refuse("the compensated file of the copies", copies_kerf_faults(data, layout, nest, unit))


def _refuse(what: str, wrong: Sequence[str]) -> None:
    if wrong:
        more = f" (and {len(wrong) - 1} more)" if len(wrong) > 1 else ""
        raise OutputError(f"{what} did not pass its proof and was not written: {wrong[0]}{more}; please report this")


class _Places:
    """Where the copies lie in the file, and which of them a point belongs to."""

    def __init__(self, layout: Layout, nest: Nest) -> None:
        box = nest.sheet.box
        self.sheet = nest.sheet.moved(Pose(-box.x0, -box.y0))
        self.poses = [pose.then(Pose(-box.x0, -box.y0)) for pose in nest.poses]
        self.loops = [layout.outline.moved(pose).loop() for pose in self.poses]
        self._index = Index([loop.box for loop in self.loops])
        self._reach = NEAR + capability_of(layout).kerf.value / 2

    def copy_at(self, point: Point) -> int | None:
        """The number of the copy on which a point lies, or to which it is nearest; None if it is near none."""
        near = self._index.near(box_of([point]), self._reach)
        return max(near, key=lambda k: self.loops[k].depth(point).distance, default=None)


# ------------------------------------------------------------------------------------- the cut file


def copies_faults(
    data: bytes, layout: Layout, nest: Nest, form: Form, unit: Unit, reference: bool = False
) -> list[str]:
    """Every fault that the proof finds in the bytes of a cut file, none if they are good."""
    found, wrong = found_in(data, form, unit, reference)
    if wrong:
        return wrong
    places = _Places(layout, nest)
    copies, astray = _taken_apart(found, places)
    if astray:
        return astray
    box = layout.outline.box
    for k, pose in enumerate(places.poses):
        back = pose.inverse().then(Pose(-box.x0, -box.y0))
        wrong += [f"copy {k + 1}: {fault}" for fault in plate_faults(_moved(copies[k], back), layout)]
    if wrong:
        return wrong
    rings = rings_of(found)[0]
    return [*_marks_first(found), *_areas(rings, layout, len(places.poses)), *_apart(rings, places, nest)]


def _taken_apart(found: ReadDrawing, places: _Places) -> tuple[list[ReadDrawing], list[str]]:
    copies = [ReadDrawing() for _ in places.poses]
    for piece in found.pieces:
        k = places.copy_at(piece.middle)
        if k is None:
            return [], [f"a piece at {shown(piece.middle)} lies beside every copy"]
        copies[k].pieces.append(piece)
    for circle in found.circles:
        x, y = circle.center
        k = places.copy_at((x + circle.radius, y))
        if k is None:
            return [], [f"a circle at {shown(circle.center)} lies beside every copy"]
        copies[k].circles.append(circle)
    return copies, []


def _moved(found: ReadDrawing, pose: Pose) -> ReadDrawing:
    pieces = [Piece(p.layer, p.order, pose.point(p.a), pose.point(p.b), p.bulge) for p in found.pieces]
    circles = [Circle(c.layer, c.order, pose.point(c.center), c.radius) for c in found.circles]
    return ReadDrawing(pieces, circles)


def _marks_first(found: ReadDrawing) -> Iterator[str]:
    marks = [piece.order for piece in found.pieces if piece.layer == MARK]
    cuts = [piece.order for piece in found.pieces if piece.layer != MARK] + [c.order for c in found.circles]
    if marks and cuts and max(marks) > min(cuts):
        yield "a mark comes after a cut"


def _areas(rings: Sequence[Ring], layout: Layout, count: int) -> Iterator[str]:
    wanted: dict[str, float] = defaultdict(float)
    within: dict[str, float] = defaultdict(float)
    loops: dict[str, int] = defaultdict(int)
    for contour in contours(layout):
        layer = INSIDE if contour.kind == "inside" else OUTSIDE
        wanted[layer] += count * contour.shape.area
        within[layer] += count * slack([ExpectedOpening(contour.name, contour.shape, (0.0, 0.0))])
        loops[layer] += count
    for layer in (INSIDE, OUTSIDE):
        there = [ring for ring in rings if ring.layer == layer]
        if len(there) != loops[layer]:
            yield f"it has {len(there)} loops on layer {layer}, not {loops[layer]}"
        area = math.fsum(ring.area for ring in there)
        if abs(area - wanted[layer]) > AREA * wanted[layer] + within[layer]:
            yield f"its loops on layer {layer} have {area:.6g} mm2, not {wanted[layer]:.6g}"


def _apart(rings: Sequence[Ring], places: _Places, nest: Nest) -> Iterator[str]:
    """The outsides as read: apart from each other, and within the sheet less its margin."""
    shapes = [_shape(ring) for ring in rings if ring.layer == OUTSIDE]
    for shape in shapes:
        left = edge_distance(shape, places.sheet).distance
        if left < nest.edge_gap - PLACE:
            yield f"a copy at {shown(shape.box.center)} is {left:.4f} mm from the sheet's edge, not {nest.edge_gap:.4f}"
    for i, j in Index([shape.box for shape in shapes]).pairs_within(nest.gap):
        gap = distance(shapes[i], shapes[j]).distance
        if gap < nest.gap - PLACE:
            yield f"copies at {shown(shapes[i].box.center)} and {shown(shapes[j].box.center)} are {gap:.4f} mm apart"


def _shape(ring: Ring) -> Shape:
    if ring.circle is not None:
        return Disc(ring.circle.center, ring.circle.radius)
    return loop_of([(*piece.a, piece.bulge) for piece in ring.pieces])


# ------------------------------------------------------------------------------------- the compensated file


def copies_kerf_faults(data: bytes, layout: Layout, nest: Nest, unit: Unit) -> list[str]:
    """Every fault that the proof finds in the bytes of a compensated file, none if they are good."""
    document, wrong = opened(data, unit)
    if document is None:
        return wrong
    scale = mm_per(unit)
    places = _Places(layout, nest)
    cuts = cuts_of(document, scale)
    layers = [entity.dxf.layer == KERF_MARK for entity in document.modelspace()]
    if layers != sorted(layers, reverse=True):
        wrong.append("a mark comes after a cut")
    numbers = [_copy_of(cut, places) for cut in cuts]
    wrong += _copy_by_copy(cuts, numbers)
    strokes = strokes_of(document, scale)
    owners = [places.copy_at(stroke.middle) for stroke in strokes]
    if None in numbers or None in owners:
        return [*wrong, "something lies beside every copy"]
    for k, pose in enumerate(places.poses):
        back = pose.inverse()
        own = [_taken_back(cut, back) for cut, number in zip(cuts, numbers, strict=True) if number == k]
        marks = [
            Piece(s.layer, s.order, back.point(s.a), back.point(s.b), s.bulge)
            for s, number in zip(strokes, owners, strict=True)
            if number == k
        ]
        faults = [*each_shape(own, layout), *marks_faults(marks, layout, (0.0, 0.0))]
        wrong += [f"copy {k + 1}: {fault}" for fault in faults]
    edges: list[tuple[str, Loop]] = [
        (f"{contour.name} of copy {k + 1}", contour.shape.moved(pose).loop())
        for k, pose in enumerate(places.poses)
        for contour in contours(layout)
    ]
    return [*wrong, *clear_of_all(cuts, edges, layout), *_on_the_sheet(cuts, places, layout)]


def _copy_of(cut: Cut, places: _Places) -> int | None:
    ring = ring_of(cut.edges) or cut.edges
    return places.copy_at(ring[0].at(0.5))


def _copy_by_copy(cuts: Sequence[Cut], numbers: Sequence[int | None]) -> Iterator[str]:
    """Each copy is begun once, and its outside is cut last."""
    runs = [
        (number, [cut.layer for cut, _ in run]) for number, run in groupby(zip(cuts, numbers, strict=True), _second)
    ]
    if len({number for number, _ in runs}) != len(runs):
        yield "a copy is left and come back to"
    for number, layers in runs:
        if layers != sorted(layers):  # KERF-PATH-INSIDE comes before KERF-PATH-OUTSIDE
            yield f"an opening of copy {(number or 0) + 1} is cut after its outside"


def _second(pair: tuple[Cut, int | None]) -> int | None:
    return pair[1]


def _taken_back(cut: Cut, back: Pose) -> Cut:
    edges: tuple[Edge, ...] = tuple(edge.moved(back) for edge in cut.edges)
    return Cut(cut.layer, edges)


def _on_the_sheet(cuts: Sequence[Cut], places: _Places, layout: Layout) -> Iterator[str]:
    """No kerf reaches over the sheet's edge, leads included."""
    half = capability_of(layout).kerf.value / 2
    for cut in cuts:
        inside = places.sheet.depth(cut.pierce).distance >= half - PLACE
        if not inside or any(places.sheet.nearest_to_edge(edge).distance < half - PLACE for edge in cut.edges):
            yield f"the cut that is pierced at {shown(cut.pierce)} leaves the sheet"
            return

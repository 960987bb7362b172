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
from operator import itemgetter

from platekit.choices import Form
from platekit.cutting.capability import capability_of
from platekit.cutting.contours import contours
from platekit.cutting.nest import Nest
from platekit.export.dxf_files.kerf_proof import MARK as KERF_MARK
from platekit.export.dxf_files.kerf_proof import (
    Cut,
    clear_of_all,
    cuts_of,
    each_shape,
    marks_faults,
    open_drawing,
    ring_of,
    strokes_of,
)
from platekit.export.dxf_files.pieces import (
    INSIDE,
    MARK,
    OUTSIDE,
    Circle,
    CutRing,
    Piece,
    ReadDrawing,
    rings_of,
    shown,
)
from platekit.export.dxf_files.proof import AREA, PLACE, ExpectedOpening, found_in, plate_faults, refuse, slack
from platekit.geometry import Disc, Index, Loop, Point, Pose, Shape, box_of, distance, edge_distance, loop_of
from platekit.placed import Layout
from platekit.units import Unit, mm_per

NEAR = 1.0
"""How far from every copy a stroke may lie and still be taken for one of a copy's, beyond half a kerf, mm (ours)."""


def prove_copies(data: bytes, layout: Layout, nest: Nest, form: Form, unit: Unit, reference: bool = False) -> None:
    """Nothing if the bytes are the copies of the plate and nothing else; else `OutputError` with a fault."""
    refuse("the cut file of the copies", copies_faults(data, layout, nest, form, unit, reference))


def prove_copies_kerf(data: bytes, layout: Layout, nest: Nest, unit: Unit) -> None:
    """Nothing if the bytes are the compensated cuts of the copies and nothing else; else `OutputError`."""
    refuse("the compensated file of the copies", copies_kerf_faults(data, layout, nest, unit))


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
        # by depth: a point inside one copy may lie nearer to the edge of another
        near = self._index.near(box_of([point]), self._reach)
        return max(near, key=lambda k: self.loops[k].depth(point).distance, default=None)


# ------------------------------------------------------------------------------------- the cut file


def copies_faults(
    data: bytes, layout: Layout, nest: Nest, form: Form, unit: Unit, reference: bool = False
) -> list[str]:
    """Every fault that the proof finds in the bytes of a cut file, none if they are good."""
    found, wrong = found_in(data, form, unit, reference, layout.cutting.mark)
    if wrong:
        return wrong
    places = _Places(layout, nest)
    # The sheet is taken apart: each piece goes to the copy it lies on, and each copy, moved back to where the plate is
    # drawn, is held to the proof of a single plate. So nothing here has to know what is right for a plate.
    copies = [ReadDrawing() for _ in places.poses]
    for piece in found.pieces:
        k = places.copy_at(piece.middle)
        if k is None:
            return [f"a piece at {shown(piece.middle)} lies beside every copy"]
        copies[k].pieces.append(piece)
    for circle in found.circles:
        x, y = circle.center
        k = places.copy_at((x + circle.radius, y))
        if k is None:
            return [f"a circle at {shown(circle.center)} lies beside every copy"]
        copies[k].circles.append(circle)
    for spot in found.spots:
        k = places.copy_at(spot.center)
        if k is None:
            return [f"a mark at {shown(spot.center)} lies beside every copy"]
        copies[k].spots.append(spot)
    box = layout.outline.box
    for k, pose in enumerate(places.poses):
        back = pose.inverse().then(Pose(-box.x0, -box.y0))
        pieces = [Piece(p.layer, p.order, back.point(p.a), back.point(p.b), p.bulge) for p in copies[k].pieces]
        circles = [Circle(c.layer, c.order, back.point(c.center), c.radius) for c in copies[k].circles]
        spots = [Circle(c.layer, c.order, back.point(c.center), c.radius) for c in copies[k].spots]
        wrong += [f"copy {k + 1}: {fault}" for fault in plate_faults(ReadDrawing(pieces, circles, spots), layout)]
    if wrong:
        return wrong
    # Marks come before any cut: a copy that is cut free may lift, and the punch would hit it
    marks = [piece.order for piece in found.pieces if piece.layer == MARK] + [spot.order for spot in found.spots]
    cuts = [piece.order for piece in found.pieces if piece.layer != MARK] + [c.order for c in found.circles]
    if marks and cuts and max(marks) > min(cuts):
        wrong.append("a mark comes after a cut")
    rings = rings_of(found)[0]
    return [*wrong, *_areas(rings, layout, len(places.poses)), *_apart(rings, places, nest)]


def _areas(rings: Sequence[CutRing], layout: Layout, count: int) -> Iterator[str]:
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


def _apart(rings: Sequence[CutRing], places: _Places, nest: Nest) -> Iterator[str]:
    """The outsides as read: apart from each other, and within the sheet less its margin."""
    shapes: list[Shape] = []
    for ring in rings:
        if ring.layer == OUTSIDE and ring.circle is not None:
            shapes.append(Disc(ring.circle.center, ring.circle.radius))
        elif ring.layer == OUTSIDE:
            shapes.append(loop_of([(*piece.a, piece.bulge) for piece in ring.pieces]))
    for shape in shapes:
        # both gaps from what was read, not from what was nested: the file is what gets cut
        left = edge_distance(shape, places.sheet).distance
        if left < nest.edge_gap - PLACE:
            yield f"a copy at {shown(shape.box.center)} is {left:.4f} mm from the sheet's edge, not {nest.edge_gap:.4f}"
    for i, j in Index([shape.box for shape in shapes]).pairs_within(nest.gap):
        gap = distance(shapes[i], shapes[j]).distance
        if gap < nest.gap - PLACE:
            yield f"copies at {shown(shapes[i].box.center)} and {shown(shapes[j].box.center)} are {gap:.4f} mm apart"


# ------------------------------------------------------------------------------------- the compensated file


def copies_kerf_faults(data: bytes, layout: Layout, nest: Nest, unit: Unit) -> list[str]:
    """Every fault that the proof finds in the bytes of a compensated file, none if they are good."""
    document, wrong = open_drawing(data, unit, layout.cutting.mark)
    if document is None:
        return wrong
    scale = mm_per(unit)
    places = _Places(layout, nest)
    cuts = cuts_of(document, scale)
    layers = [entity.dxf.layer == KERF_MARK for entity in document.modelspace()]
    if layers != sorted(layers, reverse=True):
        wrong.append("a mark comes after a cut")
    # a cut belongs to the copy that its ring goes round; its lead may begin nearer to another
    numbers = [places.copy_at((ring_of(cut.edges) or cut.edges)[0].at(0.5)) for cut in cuts]
    wrong += _copy_by_copy(cuts, numbers)
    strokes, spots = strokes_of(document, scale)
    owners = [places.copy_at(stroke.middle) for stroke in strokes]
    spotted = [places.copy_at(spot.center) for spot in spots]
    if None in numbers or None in owners or None in spotted:
        return [*wrong, "something lies beside every copy"]
    for k, pose in enumerate(places.poses):
        back = pose.inverse()
        own = [
            Cut(cut.layer, tuple(edge.moved(back) for edge in cut.edges))
            for cut, number in zip(cuts, numbers, strict=True)
            if number == k
        ]
        marks = [
            Piece(s.layer, s.order, back.point(s.a), back.point(s.b), s.bulge)
            for s, number in zip(strokes, owners, strict=True)
            if number == k
        ]
        dots = [
            Circle(s.layer, s.order, back.point(s.center), s.radius)
            for s, number in zip(spots, spotted, strict=True)
            if number == k
        ]
        faults = [*each_shape(own, layout), *marks_faults(marks, dots, layout, (0.0, 0.0))]
        wrong += [f"copy {k + 1}: {fault}" for fault in faults]
    edges: list[tuple[str, Loop]] = [
        (f"{contour.name} of copy {k + 1}", contour.shape.moved(pose).loop())
        for k, pose in enumerate(places.poses)
        for contour in contours(layout)
    ]
    wrong += clear_of_all(cuts, edges, layout)
    # No kerf reaches over the sheet's edge, leads included: the arc would go out there, and restart anywhere
    half = capability_of(layout).kerf.value / 2
    for cut in cuts:
        inside = places.sheet.depth(cut.pierce).distance >= half - PLACE
        if not inside or any(places.sheet.nearest_to_edge(edge).distance < half - PLACE for edge in cut.edges):
            return [*wrong, f"the cut that is pierced at {shown(cut.pierce)} leaves the sheet"]
    return wrong


def _copy_by_copy(cuts: Sequence[Cut], numbers: Sequence[int | None]) -> Iterator[str]:
    """Each copy is begun once, and its outside is cut last."""
    runs = [
        (number, [cut.layer for cut, _ in run])
        for number, run in groupby(zip(cuts, numbers, strict=True), key=itemgetter(1))
    ]
    if len({number for number, _ in runs}) != len(runs):
        yield "a copy is left and come back to"
    for number, layers in runs:
        if layers != sorted(layers):  # KERF-PATH-INSIDE comes before KERF-PATH-OUTSIDE
            yield f"an opening of copy {(number or 0) + 1} is cut after its outside"

"""The proof of a compensated file: its bytes are read back and held against the finished edges of the plate.

Nothing is taken over from the code that laid the paths. From the lines in the file alone it is found where each cut
closes, and then asked of the exact lines and arcs:

    once round   the part of a cut between the two times it comes by its entry is a closed ring, run the right way round
    half a kerf  every point of the ring is half a kerf away from the finished edge, on the scrap side
    clear        no part of any cut comes nearer than half a kerf to any finished edge of the plate
    pierced      each cut begins far enough from every finished edge
    all of it    each shape has just one ring round it (or inside it), which goes all the way along its edge
    order        marks, openings, the outside; all right of and above 0,0
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from msgspec import Struct

from platekit.choices import MarkKind
from platekit.cutting.capability import capability_of
from platekit.cutting.contours import Contour, contours
from platekit.cutting.operations import CROSS, operations_of
from platekit.cutting.paths import direction_of
from platekit.cutting.scribe import scribing_of
from platekit.export.dxf_files.pieces import CUT_COLORS, Circle, Piece, pieces_of, shown
from platekit.export.dxf_files.proof import INSUNITS, MARKED, refuse, spots_faults
from platekit.export.dxf_files.words import without_words
from platekit.geometry import Edge, Index, Loop, Point, Pose, between, box_of, box_round, edge_of, loop_of
from platekit.placed import Layout
from platekit.units import Unit, mm_per

if TYPE_CHECKING:
    from ezdxf.document import Drawing

MARK, INSIDE, OUTSIDE = "KERF-PATH-MARK", "KERF-PATH-INSIDE", "KERF-PATH-OUTSIDE"
LAYERS: Final[dict[str, int]] = {
    MARK: CUT_COLORS["mark"],
    INSIDE: CUT_COLORS["inside"],
    OUTSIDE: CUT_COLORS["outside"],
}
"""Layers with their colour numbers, in the order of the file."""
PLACE: Final = 1e-6
"""How far in mm a point of the file may be from where it should be (ours)."""
MEET: Final = 1e-6
"""Distance in mm within which a cut has come back to its entry (ours)."""
SHARES: Final = (0.0, 0.13, 0.29, 0.5, 0.71, 0.87)
"""Where along each edge the half kerf is measured (ours); lines and arcs at one distance there are so all along."""


class Cut(Struct, frozen=True):
    """One cut as read from the file, mm, in the plate frame."""

    layer: str
    edges: tuple[Edge, ...]

    @property
    def pierce(self) -> Point:
        """Where it begins, mm in the plate frame."""
        return self.edges[0].a


def prove_kerf(data: bytes, layout: Layout, unit: Unit, shift: Point) -> None:
    """Nothing if the bytes are the compensated cuts of the layout and nothing else; else `OutputError` with a fault.

    `shift` (mm) is what was added to a place on the plate to get its place in the file.
    """
    refuse("the compensated file", kerf_faults(data, layout, unit, shift))


def kerf_faults(data: bytes, layout: Layout, unit: Unit, shift: Point) -> list[str]:
    """Every fault that the proof finds in the bytes, none if they are good."""
    document, wrong = open_drawing(data, unit, layout.cutting.mark)
    if document is None:
        return wrong
    scale = mm_per(unit)
    cuts = cuts_of(document, scale, shift)
    return [
        *_order(document, scale),
        *each_shape(cuts, layout),
        *clear_of_all(cuts, [(contour.name, contour.shape.loop()) for contour in contours(layout)], layout),
        *marks_faults(*strokes_of(document, scale), layout, shift),
    ]


def open_drawing(data: bytes, unit: Unit, mark: MarkKind) -> tuple[Drawing | None, list[str]]:
    """The drawing; or None and every fault of its head, layers and kinds of entity."""
    from ezdxf.filemanagement import read
    from ezdxf.lldxf.const import DXFError

    try:
        document = read(io.StringIO(data.decode("ascii"), newline=None))
    except (DXFError, UnicodeDecodeError, ValueError) as error:
        return None, [f"it cannot be read as DXF ({error})"]
    wrong = []
    if document.header.get("$INSUNITS", None) != INSUNITS[unit]:
        wrong.append(f"its unit code is not {INSUNITS[unit]} for {unit}")
    wrong += [f"layer {name} is missing" for name in LAYERS if name not in document.layers]
    for entity in document.modelspace():
        kind, layer = entity.dxftype(), entity.dxf.layer
        if layer not in LAYERS or kind not in (MARKED[mark] if layer == MARK else {"LWPOLYLINE"}):
            wrong.append(f"a {kind} lies on layer {layer}")
        elif kind == "LWPOLYLINE" and entity.dxf.flags & 1:
            # a closed line ends where it began: there would be no way out of the cut
            wrong.append(f"a line on layer {layer} is closed")
    return (None if wrong else document), wrong


def cuts_of(document: Drawing, scale: float, shift: Point = (0.0, 0.0)) -> list[Cut]:
    """All cuts of a drawing in its order, mm, less the shift."""
    cuts = []
    for entity in document.modelspace():
        if entity.dxf.layer != MARK:
            read = entity.get_points("xyb")  # type: ignore[attr-defined]  # only of a polyline, which it is
            points = [(x * scale - shift[0], y * scale - shift[1], bulge) for x, y, bulge in read]
            edges = [edge_of((x, y), (u, v), bulge) for (x, y, bulge), (u, v, _) in pairwise(points)]
            cuts.append(Cut(entity.dxf.layer, tuple(edges)))
    return cuts


def _order(document: Drawing, scale: float) -> Iterator[str]:
    layers = [entity.dxf.layer for entity in document.modelspace()]
    if layers != sorted(layers, key=list(LAYERS).index):
        yield "it is not in order: marks, openings, outside"
    for entity in document.modelspace():
        if entity.dxftype() == "LWPOLYLINE" and any(
            min(x, y) * scale < -PLACE
            for x, y in entity.get_points("xy")  # type: ignore[attr-defined]  # of a polyline, as above
        ):
            yield "something lies left of or below zero"
            return


# ------------------------------------------------------------------------------------- against the plate


def each_shape(cuts: Sequence[Cut], layout: Layout) -> Iterator[str]:
    """Each shape against the one cut whose ring goes along its edge."""
    wanted = contours(layout)
    if len(cuts) != len(wanted):
        yield f"it has {len(cuts)} cuts, not {len(wanted)}"
        return
    pierces = Index([box_of([cut.pierce]) for cut in cuts])
    # no lead is longer: of many cuts only those that begin near a shape can be its own
    reach = 3 * capability_of(layout).lead.value + capability_of(layout).kerf.value
    taken: set[int] = set()
    for contour in wanted:
        layer = INSIDE if contour.kind == "inside" else OUTSIDE
        why = f"{contour.name} has no cut"
        for number in pierces.near(contour.shape.box, reach):
            cut = cuts[number]
            if number in taken or cut.layer != layer:
                continue
            # It could be that of this shape only if its pierce is in the scrap, and not far: inside an opening, outside
            # an outline. `depth` is positive inside.
            depth = contour.shape.loop().depth(cut.pierce).distance
            if not (depth > 0 if contour.kind == "inside" else -reach < depth < 0):
                continue
            why = next(_unlike(cut, contour, layout), "")
            if not why:
                taken.add(number)
                break
        if why:
            yield why


def _unlike(cut: Cut, contour: Contour, layout: Layout) -> Iterator[str]:
    capability = capability_of(layout)
    half = capability.kerf.value / 2
    ring = ring_of(cut.edges)
    if ring is None:
        yield f"the cut of {contour.name} does not close"
        return
    edge = contour.shape.loop()
    sign = 1.0 if contour.kind == "inside" else -1.0
    for piece in ring:
        for share in SHARES:
            depth = sign * edge.depth(piece.at(share)).distance
            if abs(depth - half) > PLACE:
                yield f"the cut of {contour.name} is {depth:.6f} mm off the finished edge at {shown(piece.at(share))}"
                return
    from platekit.geometry.edges import moments

    area = moments(ring)[0]
    clockwise = (direction_of(layout) == "clockwise") == (contour.kind == "outside")
    if (area < 0) != clockwise:
        yield f"the cut of {contour.name} runs the wrong way round"
    # Half a kerf away everywhere does not mean all the way round: a ring could turn back in the middle of an edge. It
    # holds as much as the shape grown by half a kerf only if it leaves nothing out.
    around = loop_of([(*edge.a, edge.bulge) for edge in ring])
    wanted = contour.shape.grown(half if contour.kind == "outside" else -half)
    if abs(around.area - wanted.area) > PLACE * max(wanted.perimeter, 1.0):
        yield f"the cut of {contour.name} goes round {around.area:.6f} mm2, not {wanted.area:.6f}"
    depth = sign * edge.depth(cut.pierce).distance
    if depth < capability.pierce_room.value - 10 * PLACE:
        yield f"the pierce of {contour.name} is {depth:.4f} mm from its edge, not {capability.pierce_room.value:.4f}"


def ring_of(edges: Sequence[Edge]) -> tuple[Edge, ...] | None:
    """The closed part of a cut: from the first vertex that it comes back to, until it does; None if it never does.

    What lies before is the way in, what lies after the way out; where both end does not matter here.
    """
    vertices = [edge.a for edge in edges] + [edges[-1].b]
    for first, start in enumerate(vertices):
        for last in range(len(vertices) - 1, first, -1):
            if between(start, vertices[last]) <= MEET and last > first + 1:
                return tuple(edges[first:last])
    return None


def clear_of_all(cuts: Sequence[Cut], loops: Sequence[tuple[str, Loop]], layout: Layout) -> Iterator[str]:
    """No cut comes nearer than half a kerf to any finished edge, its own or another's; `loops` are those, named."""
    half = capability_of(layout).kerf.value / 2
    near = Index([loop.box for _, loop in loops])
    for cut in cuts:
        for number in near.near(box_round([edge.box for edge in cut.edges]), half):
            name, loop = loops[number]
            box = loop.box.grown(half)
            for edge in cut.edges:
                if not box.overlaps(edge.box):
                    continue
                gap = loop.nearest_to_edge(edge)
                if gap.distance < half - PLACE:
                    yield f"a cut comes within {gap.distance:.4f} mm of the edge of {name} at {shown(gap.a)}"
                    return


def strokes_of(document: Drawing, scale: float) -> tuple[list[Piece], list[Circle]]:
    """All lines and arcs on the layer of the marks, and the marks that are points or circles, mm."""
    found = pieces_of(document, scale)
    return [piece for piece in found.pieces if piece.layer == MARK], found.spots


def marks_faults(strokes: Sequence[Piece], spots: Sequence[Circle], layout: Layout, shift: Point) -> Iterator[str]:
    """Each word stroke by stroke; each mark at the hole's centre, as two strokes that cross, a point or a circle."""
    if layout.cutting.mark != "cross" or spots:
        yield from spots_faults(strokes, spots, layout, shift)
        return
    to_file = Pose(*shift)
    wanted = [
        to_file.point(point)
        for point in dict.fromkeys(point for operations in operations_of(layout) for point in operations.marks)
    ]
    words = scribing_of(layout)
    needed = 2 * len(wanted) + sum(map(len, words.strokes))
    if len(strokes) != needed:
        yield f"it has {len(strokes)} strokes of marks, not {needed}"
        return
    rest, wrong = without_words(strokes, words, shift, PLACE)
    yield from wrong
    for stroke in rest:
        if stroke.bulge or abs(stroke.length - CROSS) > PLACE:
            yield f"a mark at {shown(stroke.middle)} is not {CROSS:g} mm long"
    near = Index([box_of([stroke.middle]) for stroke in rest])
    for point in wanted:
        crossing = near.near(box_of([point]), PLACE)
        if sum(between(point, rest[number].middle) <= PLACE for number in crossing) != 2:
            yield f"the mark at {shown(point)} is missing"

"""The proof of a cut file: its bytes are read back and held against the layout before anyone may cut from it.

A cutting table does what the file says, so nothing is taken over from the code that wrote it: the drawing is read from
the bytes by a DXF reader, its loops are found again by their ends, and each is held against the opening it should be.

Vocabulary
    key      a point that pins a shape down: an end or the middle of a piece
    fault    one sentence about what is wrong with the file

Everything is compared in millimetres, whatever unit the file has.
"""

from __future__ import annotations

import io
import itertools
import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from msgspec import Struct

from platekit.choices import Form, MarkKind
from platekit.cutting.operations import CROSS, MARK_CIRCLE, operations_of
from platekit.cutting.scribe import scribing_of
from platekit.errors import OutputError
from platekit.export.dxf_files.doubles import doubled_faults
from platekit.export.dxf_files.pieces import (
    INSIDE,
    MARK,
    OUTSIDE,
    REFERENCE,
    Circle,
    CutRing,
    NumberedPoints,
    Piece,
    ReadDrawing,
    pieces_of,
    rings_of,
    shown,
)
from platekit.export.dxf_files.words import without_words
from platekit.export.exact import SHORTEST, one_piece
from platekit.geometry import Disc, Point, Shape
from platekit.placed import Layout
from platekit.units import Unit, mm_per

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.entities.dxfentity import DXFEntity

PLACE = 1e-6
"""How far in mm a point of the file may be from where the layout has it (ours)."""

AREA = 1e-6
"""How far an area may be from the layout's, as a share of it (ours)."""

KINDS: dict[Form, frozenset[str]] = {
    "r2000": frozenset({"LWPOLYLINE", "CIRCLE"}),
    "r12": frozenset({"POLYLINE", "CIRCLE"}),
    "plain": frozenset({"LINE", "ARC", "CIRCLE"}),
}
"""Kinds of entity allowed on the cut layers."""

MARKED: dict[MarkKind, frozenset[str]] = {
    "cross": frozenset({"LINE", "ARC"}),
    "point": frozenset({"LINE", "ARC", "POINT"}),
    "circle": frozenset({"LINE", "ARC", "CIRCLE"}),
}
"""Kinds of entity allowed on the layer of the marks: marks of a kind, and the lines and arcs of scribed words."""

VERSIONS: dict[Form, str] = {"r2000": "AC1015", "r12": "AC1009", "plain": "AC1009"}
"""The `$ACADVER` of each form (published: DXF reference)."""

INSUNITS: dict[Unit, int] = {"in": 1, "mm": 4}
"""The `$INSUNITS` of each unit (published: DXF reference)."""

CLOSED_FLAG, LINETYPE_FLAG = 1, 128
"""Flags of a polyline: closed, and line type drawn through (published: DXF reference); no other may be set."""


class ExpectedOpening(Struct, frozen=True):
    """What the layout wants to see: an opening, or the outside (named so)."""

    name: str
    shape: Shape
    shift: Point

    @property
    def area(self) -> float:
        """Area, mm2."""
        return self.shape.area

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, lower, right, upper in the file, mm."""
        (x, y), box = self.shift, self.shape.box
        return (box.x0 + x, box.y0 + y, box.x1 + x, box.y1 + y)

    def at(self, point: Point) -> Point:
        """A point of the plate, where it is in the file, mm."""
        return (point[0] + self.shift[0], point[1] + self.shift[1])

    def key_points(self) -> list[Point]:
        """Ends and middles of its edges in the file, mm; an edge too short to be shape has none of its own."""
        edges = self.shape.loop().edges
        return [self.at(point) for edge in edges if edge.length >= SHORTEST for point in (edge.a, edge.at(0.5), edge.b)]

    def specks(self) -> float:
        """Length of all its edges that are too short to be shape, mm."""
        if isinstance(self.shape, Disc):
            return 0.0
        return math.fsum(edge.length for edge in self.shape.loop().edges if edge.length < SHORTEST)


def prove(data: bytes, layout: Layout, form: Form, unit: Unit, reference: bool = False) -> None:
    """Nothing if the bytes are the plate of the layout and nothing else; else `OutputError` with a fault."""
    refuse("the cut file", faults(data, layout, form, unit, reference))


def refuse(what: str, wrong: Sequence[str]) -> None:
    """Raises `OutputError` with the first of the faults, if there are any; `what` names the file."""
    if wrong:
        more = f" (and {len(wrong) - 1} more)" if len(wrong) > 1 else ""
        raise OutputError(f"{what} did not pass its proof and was not written: {wrong[0]}{more}; please report this")


def faults(data: bytes, layout: Layout, form: Form, unit: Unit, reference: bool = False) -> list[str]:
    """Every fault that the proof finds in the bytes, none if they are good.

    A proof that rests on another one is not tried when that one failed: a loop that is open has no area.
    """
    found, wrong = found_in(data, form, unit, reference, layout.cutting.mark)
    return wrong or plate_faults(found, layout)


def found_in(data: bytes, form: Form, unit: Unit, reference: bool, mark: MarkKind) -> tuple[ReadDrawing, list[str]]:
    """What the bytes hold on the layers that are cut or marked, mm, and every fault that needs no plate to be seen."""
    from ezdxf.filemanagement import read
    from ezdxf.lldxf.const import DXFError

    try:
        text = data.decode("ascii")
        document = read(io.StringIO(text, newline=None))
    except (DXFError, UnicodeDecodeError, ValueError) as error:
        return ReadDrawing(), [f"it cannot be read as DXF ({error})"]
    wrong = [*_in_the_head(document, form, unit), *_entities(document, text, form, reference, mark)]
    if wrong:
        return ReadDrawing(), wrong
    found = pieces_of(document, mm_per(unit))
    for piece in found.pieces:
        if piece.length < SHORTEST:
            wrong.append(f"a piece at {shown(piece.a)} is only {piece.length:.6f} mm long")
    for circle in found.circles:
        if circle.radius < SHORTEST:
            wrong.append(f"a circle at {shown(circle.center)} has a radius of only {circle.radius:.6f} mm")
    return found, [*wrong, *doubled_faults(found)]


def plate_faults(found: ReadDrawing, layout: Layout) -> list[str]:
    """Every fault of what was found as that plate, its lower left at 0,0."""
    rings, open_ends = rings_of(found)
    if open_ends:
        return open_ends
    cuts = [(operations.opening, operations.cut) for operations in operations_of(layout) if operations.cut is not None]
    outside, inside = one_piece(layout.outline, [shape for _, shape in cuts], "the cut file")
    shift = _shift(layout)
    # openings that overlap are cut as one, and have all their names
    wanted = [
        ExpectedOpening(" with ".join(cuts[member][0] for member in one.members), one.shape, shift) for one in inside
    ]
    # Once the outside is cut the plate may tip or drop: what comes later lands beside its place
    last = [order for ring in rings if ring.layer == OUTSIDE for order in ring.orders]
    before = [order for ring in rings if ring.layer == INSIDE for order in ring.orders]
    before += [piece.order for piece in found.pieces if piece.layer == MARK] + [spot.order for spot in found.spots]
    wrong = []
    if last and before and min(last) < max(before):
        wrong.append("the outside comes before an opening or a mark")
    wrong += _outside(rings, ExpectedOpening("the outside", outside, shift))
    return [*wrong, *_inside(rings, wanted), *_marks(found, layout)]


# ------------------------------------------------------------------------------- head, layers, kinds


def _in_the_head(document: Drawing, form: Form, unit: Unit) -> Iterator[str]:
    # a reader of another version may take the same text otherwise; the unit code is all that tells mm from inches
    if document.dxfversion != VERSIONS[form]:
        yield f"its version is {document.dxfversion}, not {VERSIONS[form]}"
    told = document.header.get("$INSUNITS", None)
    if form == "r2000" and told != INSUNITS[unit]:
        yield f"its unit code is {told}, not {INSUNITS[unit]} for {unit}"
    for name in (INSIDE, OUTSIDE, MARK):
        if name not in document.layers:
            yield f"layer {name} is missing"
    for layer in document.layers:
        if layer.is_off() or layer.is_frozen():
            yield f"layer {layer.dxf.name} is switched off"


def _entities(document: Drawing, text: str, form: Form, reference: bool, mark: MarkKind) -> Iterator[str]:
    space = list(document.modelspace())
    # The reader may have passed something over that a table's controller would cut: so the kinds of entity are counted
    # once more in the bare text, where a group code and its value take a line each.
    lines = text.split("\n")
    pairs = [(code.strip(), value.strip()) for code, value in zip(lines[0::2], lines[1::2], strict=False)]
    try:
        start = pairs.index(("2", "ENTITIES"))
        end = pairs.index(("0", "ENDSEC"), start)
    except ValueError:
        yield "it has no entities"
    else:
        parts = {"VERTEX", "SEQEND", "VIEWPORT"}
        written = Counter(value for code, value in pairs[start:end] if code == "0" and value not in parts)
        if written != Counter(entity.dxftype() for entity in space):
            yield "its entities cannot all be read back"
    for block in document.blocks:
        if not block.is_any_layout and len(block):
            yield f"block {block.name} holds shapes"
    for name in document.layout_names():
        if name != "Model" and any(entity.dxftype() != "VIEWPORT" for entity in document.layout(name)):
            yield f"shapes lie on the paper sheet {name}"
    for entity in space:
        yield from _one_entity(entity, form, reference, mark)


def _one_entity(entity: DXFEntity, form: Form, reference: bool, mark: MarkKind) -> Iterator[str]:
    kind, layer = entity.dxftype(), entity.dxf.layer
    allowed = {INSIDE, OUTSIDE, MARK} | ({REFERENCE} if reference else set())
    if layer not in allowed:
        yield f"a {kind} lies on layer {layer}"
        return
    kinds = MARKED[mark] if layer == MARK else KINDS[form]
    if kind not in kinds:
        yield f"a {kind} lies on layer {layer}, where only {', '.join(sorted(kinds))} may be"
        return
    dxf = entity.dxf
    # a tilted or lifted shape looks right from above and is cut as its shadow, or not at all
    heights = [float(dxf.get(name).z) for name in ("center", "start", "end", "location") if dxf.hasattr(name)]
    upright = tuple(dxf.get("extrusion", (0.0, 0.0, 1.0))) == (0.0, 0.0, 1.0)
    if not (upright and not any(heights) and not dxf.get("thickness", 0.0)):
        yield f"a {kind} on layer {layer} is lifted, tilted or thick"
    if kind in {"LWPOLYLINE", "POLYLINE"} and not _is_simple(entity):
        yield f"a {kind} on layer {layer} is open, wide or smoothed"


def _is_simple(entity: DXFEntity) -> bool:
    """Whether a polyline is closed, flat, of no width, and its vertices its own, not those of a curve fit."""
    from ezdxf.entities.lwpolyline import LWPolyline
    from ezdxf.entities.polyline import Polyline

    if isinstance(entity, LWPolyline):
        # a flag that is set beyond these two may smooth the line or make a net of it
        closed = entity.dxf.flags & ~LINETYPE_FLAG == CLOSED_FLAG
        widths = [entity.dxf.get("const_width", 0.0), *itertools.chain(*entity.get_points("se"))]
        return closed and not any(widths) and not entity.dxf.elevation
    if isinstance(entity, Polyline):
        names = ("start_width", "end_width")
        widths = [vertex.dxf.get(name, 0.0) for vertex in entity.vertices for name in names]
        widths += [entity.dxf.get(f"default_{name}", 0.0) for name in names]
        heights = [entity.dxf.elevation.z, *(vertex.dxf.location.z for vertex in entity.vertices)]
        return bool(entity.dxf.flags & ~LINETYPE_FLAG == CLOSED_FLAG) and not any(widths) and not any(heights)
    return False


# ----------------------------------------------------------------------------- against the layout


def _shift(layout: Layout) -> Point:
    box = layout.outline.box
    return (-box.x0, -box.y0)


def _outside(rings: list[CutRing], wanted: ExpectedOpening) -> Iterator[str]:
    outside = [ring for ring in rings if ring.layer == OUTSIDE]
    if len(outside) != 1:
        yield f"it has {len(outside)} outsides, not one"
        return
    (x0, y0, x1, y1), (u0, v0, u1, v1) = outside[0].box, wanted.box
    far = PLACE + 2 * SHORTEST * bool(wanted.specks())
    if math.dist((x0, y0), (u0, v0)) > far:
        yield f"its lower left is at {shown((x0, y0))}, not at {shown((u0, v0))}"
    if math.dist((x1 - x0, y1 - y0), (u1 - u0, v1 - v0)) > far:
        yield f"it is {x1 - x0:.4f} by {y1 - y0:.4f} mm, not {u1 - u0:.4f} by {v1 - v0:.4f}"
    yield from _unlike(outside[0], wanted)
    lows = [min(ring.box[:2]) for ring in rings]
    # many tables take the drawing's zero for the corner of the sheet
    if min(lows) < -SHORTEST:
        yield f"something reaches {-min(lows):.4f} mm below zero"


def _inside(rings: list[CutRing], wanted: list[ExpectedOpening]) -> Iterator[str]:
    """Each opening that is cut against the one ring that lies where it should."""
    # Rings are looked up by the square millimetre in which the sum of their corners lies, so that a plate of
    # thousands of holes takes no longer for each; the squares around it too, as a place may lie on either side of a
    # boundary.
    left = [ring for ring in rings if ring.layer == INSIDE]
    if len(left) != len(wanted):
        yield f"it has {len(left)} openings, not {len(wanted)}"
    by_place: dict[tuple[int, int], list[CutRing]] = defaultdict(list)
    for ring in left:
        by_place[_place_of(ring.box)].append(ring)
    for opening in wanted:
        i, j = _place_of(opening.box)
        unlike: str | None = f"opening {opening.name} is missing"
        for cell in itertools.product((i, i - 1, i + 1), (j, j - 1, j + 1)):
            for ring in by_place.get(cell, ()):
                unlike = next(_unlike(ring, opening), None)
                if unlike is None:
                    by_place[cell].remove(ring)  # it answers for one opening only
                    break
            if unlike is None:
                break
        if unlike is not None:
            yield unlike
    # each opening was found in its ring; the sum shows that none was found twice
    total, needed = math.fsum(ring.area for ring in left), math.fsum(one.area for one in wanted)
    if abs(total - needed) > AREA * needed + slack(wanted):
        yield f"its openings have {total:.6g} mm2 together, not {needed:.6g}"


def slack(wanted: Iterable[ExpectedOpening]) -> float:
    """How much area the specks of some shapes can make up at most, mm2."""
    return math.fsum(one.specks() * math.hypot(one.shape.box.width, one.shape.box.height) for one in wanted)


def _place_of(box: tuple[float, float, float, float]) -> tuple[int, int]:
    x0, y0, x1, y1 = box
    return (math.floor(x0 + x1), math.floor(y0 + y1))


def _unlike(ring: CutRing, wanted: ExpectedOpening) -> Iterator[str]:
    """In what a ring is not what was wanted."""
    area = wanted.area
    if abs(ring.area - area) > AREA * area + slack([wanted]):
        yield f"{wanted.name} has {ring.area:.6f} mm2, not {area:.6f}"
    far = PLACE + (2 * SHORTEST if wanted.specks() else 0.0)
    if ring.circle is not None:
        if isinstance(wanted.shape, Disc):
            away = math.dist(ring.circle.center, wanted.at(wanted.shape.center))
            away = max(away, abs(ring.circle.radius - wanted.shape.radius))
        else:
            away = max(abs(math.dist(ring.circle.center, key) - ring.circle.radius) for key in wanted.key_points())
        if away > far:
            yield f"{wanted.name} is a circle {away:.6f} mm away from where it should be"
        return
    if isinstance(wanted.shape, Disc):
        yield f"{wanted.name} is not one circle"
        return
    # Every end and middle of the plate's edges must be one of the file's, and the other way round: an arc is fixed by
    # its ends and its middle, so that nothing can differ in between. Where the writer left specks out, points may be
    # off by as much as a speck.
    drawn = [key for piece in ring.pieces for key in (piece.a, piece.middle)]
    for keys, others in ((wanted.key_points(), drawn), (drawn, wanted.key_points())):
        known = NumberedPoints(far)
        for key in others:
            known.number(key)
        astray = [key for key in keys if known.near(key) is None]
        if astray:
            yield f"{wanted.name} differs from the plate at {shown(astray[0])}"
            return


def _marks(found: ReadDrawing, layout: Layout) -> Iterator[str]:
    """Each word stroke by stroke; each mark at its hole's centre: point, circle, or two strokes that cross square."""
    if layout.cutting.mark != "cross" or found.spots:
        yield from spots_faults(
            [piece for piece in found.pieces if piece.layer == MARK], found.spots, layout, _shift(layout)
        )
        return
    shift = x, y = _shift(layout)
    marked = dict.fromkeys(point for operations in operations_of(layout) for point in operations.marks)
    words = scribing_of(layout)
    strokes = [piece for piece in found.pieces if piece.layer == MARK]
    needed = 2 * len(marked) + sum(map(len, words.strokes))
    if len(strokes) != needed:
        yield f"it has {len(strokes)} strokes of marks, not {needed}"
        return
    rest, wrong = without_words(strokes, words, shift, PLACE)
    yield from wrong
    places = NumberedPoints(PLACE)
    crossing: dict[int, list[Piece]] = defaultdict(list)
    for stroke in rest:
        crossing[places.number(stroke.middle)].append(stroke)
    for px, py in marked:
        at = (px + x, py + y)
        place = places.near(at)
        pair = [] if place is None else crossing[place]
        good = len(pair) == 2 and not any(stroke.bulge or abs(stroke.length - CROSS) > PLACE for stroke in pair)
        if good:
            (ax, ay), (bx, by) = ((s.b[0] - s.a[0], s.b[1] - s.a[1]) for s in pair)
            good = abs(ax * bx + ay * by) <= PLACE
        if not good:
            yield f"the mark at {shown(at)} is missing or no cross"


def spots_faults(strokes: Sequence[Piece], spots: Sequence[Circle], layout: Layout, shift: Point) -> Iterator[str]:
    """Marks that are points or small circles: one at each centre and no other; the strokes are those of words alone."""
    kind = layout.cutting.mark
    wanted = dict.fromkeys(point for operations in operations_of(layout) for point in operations.marks)
    words = scribing_of(layout)
    rest, wrong = without_words(strokes, words, shift, PLACE)
    yield from wrong
    if kind == "cross" or len(spots) != len(wanted) or rest:
        yield f"it has {len(spots)} marks that are points or circles and {len(rest)} strokes beside its words"
        return
    radius = MARK_CIRCLE if kind == "circle" else 0.0
    places = NumberedPoints(PLACE)
    there = {places.number(spot.center): spot for spot in spots}
    for x, y in wanted:
        at = (x + shift[0], y + shift[1])
        place = places.near(at)
        spot = None if place is None else there.get(place)
        if spot is None or abs(spot.radius - radius) > PLACE:
            yield f"the mark at {shown(at)} is missing or no {kind}"

"""The proof of a cut file: its bytes are read back and held against the layout before anyone may cut from it.

A cutting table does what the file says, so nothing is taken over from the code that wrote it: the drawing is
read from the bytes by a DXF reader, its loops are found again by their ends, and each is held against the
opening it should be.

Vocabulary
    piece    a stretch of line or arc from `a` to `b`, with the bulge tan(sweep / 4) of an arc
    ring     a closed chain of pieces, or a full circle
    key      a point that pins a shape down: an end or the middle of a piece
    fault    one sentence about what is wrong with the file

Everything is compared in millimetres, whatever unit the file has.
"""

from __future__ import annotations

import io
import itertools
import math
from collections import Counter, defaultdict
from collections.abc import Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from platekit.cutting.making import makings
from platekit.errors import OutputError
from platekit.export.exact import SHORTEST
from platekit.geometry import Disc, Point, Shape
from platekit.placed import Layout
from platekit.units import INCH

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.entities.dxfentity import DXFEntity
    from ezdxf.math import Vec3

Form = Literal["r2000", "r12", "plain"]
Unit = Literal["mm", "in"]

CROSS = 4.0
"""Length of the strokes of a mark, mm: easy to find with a punch, gone once the hole is drilled (ours)."""

MEET = 1e-7
"""Distance in mm within which two ends are one point: a hundred times what rounding leaves in a file (ours).

An arc's radius is then equal at both ends well within the 1e-6 mm that controls ask for (common practice)."""

PLACE = 1e-6
"""How far in mm a point of the file may be from where the layout has it (ours)."""

AREA = 1e-6
"""How far an area may be from the layout's, as a share of it (ours)."""

DOUBLE = 0.01
"""Within this distance in mm two pieces that run along each other are cut twice: a gap no eye sees (ours)."""

DOUBLE_ANGLE = 1e-4
"""Within this angle in radians two lines count as running along each other (ours)."""

KINDS: dict[Form, frozenset[str]] = {
    "r2000": frozenset({"LWPOLYLINE", "CIRCLE"}),
    "r12": frozenset({"POLYLINE", "CIRCLE"}),
    "plain": frozenset({"LINE", "ARC", "CIRCLE"}),
}
"""Kinds of entity allowed on the cut layers."""

VERSIONS: dict[Form, str] = {"r2000": "AC1015", "r12": "AC1009", "plain": "AC1009"}
"""The `$ACADVER` of each form (published: DXF reference)."""

INSUNITS: dict[Unit, int] = {"in": 1, "mm": 4}
"""The `$INSUNITS` of each unit (published: DXF reference)."""

INSIDE, OUTSIDE, MARK, REFERENCE = "CUT-INSIDE", "CUT-OUTSIDE", "MARK", "REFERENCE"


@dataclass(frozen=True, slots=True)
class Piece:
    """A stretch of line or arc, mm; `order` counts the entities of the file."""

    layer: str
    order: int
    a: Point
    b: Point
    bulge: float = 0.0

    @property
    def length(self) -> float:
        """Length along the piece."""
        chord = math.dist(self.a, self.b)
        return chord if self.bulge == 0 else self.arc[1] * 4 * abs(math.atan(self.bulge))

    @property
    def middle(self) -> Point:
        """The point half-way along the piece."""
        (ax, ay), (bx, by) = self.a, self.b
        half = self.bulge / 2
        return ((ax + bx) / 2 + half * (by - ay), (ay + by) / 2 - half * (bx - ax))

    @property
    def arc(self) -> tuple[Point, float]:
        """Centre and radius of an arc, from chord and bulge."""
        (ax, ay), (bx, by) = self.a, self.b
        off = (1 - self.bulge**2) / (4 * self.bulge)
        center = ((ax + bx) / 2 - off * (by - ay), (ay + by) / 2 + off * (bx - ax))
        return center, math.dist(self.a, self.b) * (1 + self.bulge**2) / (4 * abs(self.bulge))

    @property
    def corners(self) -> Iterator[Point]:
        """Points between which the whole piece lies, along x and along y."""
        yield self.a
        yield self.b
        if self.bulge:
            (x, y), r = self.arc
            (ax, ay), (bx, by) = self.a, self.b
            for px, py in ((x + r, y), (x - r, y), (x, y + r), (x, y - r)):
                if ((bx - ax) * (py - ay) - (by - ay) * (px - ax)) * self.bulge <= 0:
                    yield (px, py)

    @property
    def swept(self) -> float:
        """Twice the signed area between the piece and 0,0."""
        (ax, ay), (bx, by) = self.a, self.b
        sector = ax * by - bx * ay
        if self.bulge:
            sweep = 4 * math.atan(self.bulge)
            sector += self.arc[1] ** 2 * (sweep - math.sin(sweep))
        return sector

    def turned_round(self) -> Piece:
        """The same piece run the other way."""
        return Piece(self.layer, self.order, self.b, self.a, -self.bulge)


@dataclass(frozen=True, slots=True)
class Circle:
    """A full circle, mm."""

    layer: str
    order: int
    center: Point
    radius: float


@dataclass(frozen=True, slots=True)
class Ring:
    """A closed chain of pieces, or one circle."""

    layer: str
    orders: tuple[int, ...]
    pieces: tuple[Piece, ...] = ()
    circle: Circle | None = None

    @property
    def area(self) -> float:
        """Area inside, mm2."""
        if self.circle is not None:
            return math.pi * self.circle.radius**2
        return abs(math.fsum(piece.swept for piece in self.pieces)) / 2

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, lower, right, upper, mm."""
        if self.circle is not None:
            (x, y), r = self.circle.center, self.circle.radius
            return (x - r, y - r, x + r, y + r)
        xs, ys = zip(*(corner for piece in self.pieces for corner in piece.corners), strict=True)
        return (min(xs), min(ys), max(xs), max(ys))


@dataclass(frozen=True, slots=True)
class Wanted:
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
        """A point of the plate, where it is in the file."""
        return (point[0] + self.shift[0], point[1] + self.shift[1])

    def key_points(self) -> list[Point]:
        """Ends and middles of its edges in the file; an edge too short to be shape has none of its own."""
        edges = self.shape.loop().edges
        return [self.at(point) for edge in edges if edge.length >= SHORTEST for point in (edge.a, edge.at(0.5), edge.b)]

    def specks(self) -> float:
        """Length of all its edges that are too short to be shape, mm."""
        if isinstance(self.shape, Disc):
            return 0.0
        return math.fsum(edge.length for edge in self.shape.loop().edges if edge.length < SHORTEST)


@dataclass
class Found:
    """What was read from the file."""

    pieces: list[Piece] = field(default_factory=list)
    circles: list[Circle] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)


def prove(data: bytes, layout: Layout, form: Form, unit: Unit, reference: bool = False) -> None:
    """Nothing if the bytes are the plate of the layout and nothing else; else `OutputError` with a fault."""
    wrong = faults(data, layout, form, unit, reference)
    if wrong:
        more = f" (and {len(wrong) - 1} more)" if len(wrong) > 1 else ""
        raise OutputError(
            f"the cut file did not pass its proof and was not written: {wrong[0]}{more}; please report this"
        )


def faults(data: bytes, layout: Layout, form: Form, unit: Unit, reference: bool = False) -> list[str]:
    """Every fault that the proof finds in the bytes, none if they are good.

    A proof that rests on another one is not tried when that one failed: a loop that is open has no area.
    """
    from ezdxf.filemanagement import read
    from ezdxf.lldxf.const import DXFError

    try:
        text = data.decode("ascii")
        document = read(io.StringIO(text, newline=None))
    except (DXFError, UnicodeDecodeError, ValueError) as error:
        return [f"it cannot be read as DXF ({error})"]
    wrong = [*_in_the_head(document, form, unit), *_entities(document, text, form, reference)]
    if wrong:
        return wrong
    found = _found(document, INCH if unit == "in" else 1.0)
    wrong = [*found.faults, *_too_short(found), *_doubled(found)]
    rings, open_ends = _rings(found)
    wrong += open_ends
    if wrong:
        return wrong
    return [*_order(rings, found), *_outside(rings, layout), *_inside(rings, layout), *_marks(found, layout)]


# ------------------------------------------------------------------------------- head, layers, kinds


def _in_the_head(document: Drawing, form: Form, unit: Unit) -> Iterator[str]:
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


def _entities(document: Drawing, text: str, form: Form, reference: bool) -> Iterator[str]:
    space = list(document.modelspace())
    yield from _all_read(space, text)
    for block in document.blocks:
        if not block.is_any_layout and len(block):
            yield f"block {block.name} holds shapes"
    for name in document.layout_names():
        if name != "Model" and any(entity.dxftype() != "VIEWPORT" for entity in document.layout(name)):
            yield f"shapes lie on the paper sheet {name}"
    for entity in space:
        yield from _one_entity(entity, form, reference)


def _all_read(space: Sequence[DXFEntity], text: str) -> Iterator[str]:
    """The reader may have passed something over: count the kinds once more in the bare text."""
    lines = text.split("\n")
    codes, values = lines[0::2], lines[1::2]
    pairs = [(code.strip(), value.strip()) for code, value in zip(codes, values, strict=False)]
    try:
        start = pairs.index(("2", "ENTITIES"))
        end = pairs.index(("0", "ENDSEC"), start)
    except ValueError:
        yield "it has no entities"
        return
    parts = {"VERTEX", "SEQEND", "VIEWPORT"}
    written = Counter(value for code, value in pairs[start:end] if code == "0" and value not in parts)
    if written != Counter(entity.dxftype() for entity in space):
        yield "its entities cannot all be read back"


def _one_entity(entity: DXFEntity, form: Form, reference: bool) -> Iterator[str]:
    kind, layer = entity.dxftype(), entity.dxf.layer
    allowed = {INSIDE, OUTSIDE, MARK} | ({REFERENCE} if reference else set())
    if layer not in allowed:
        yield f"a {kind} lies on layer {layer}"
        return
    kinds = frozenset({"LINE"}) if layer == MARK else KINDS[form]
    if kind not in kinds:
        yield f"a {kind} lies on layer {layer}, where only {', '.join(sorted(kinds))} may be"
        return
    if not _is_flat(entity):
        yield f"a {kind} on layer {layer} is lifted, tilted or thick"
    if kind in {"LWPOLYLINE", "POLYLINE"} and not _is_simple(entity):
        yield f"a {kind} on layer {layer} is open, wide or smoothed"


def _is_flat(entity: DXFEntity) -> bool:
    dxf = entity.dxf
    heights = [float(dxf.get(name).z) for name in ("center", "start", "end") if dxf.hasattr(name)]
    if entity.dxftype() == "LWPOLYLINE":
        heights.append(dxf.elevation)
    if entity.dxftype() == "POLYLINE":
        heights.append(dxf.elevation.z)
    upright = tuple(dxf.get("extrusion", (0.0, 0.0, 1.0))) == (0.0, 0.0, 1.0)
    return upright and not any(heights) and not dxf.get("thickness", 0.0)


def _is_simple(entity: DXFEntity) -> bool:
    """Closed, of no width, with vertices that are its own and not a curve fit's."""
    if entity.dxftype() == "LWPOLYLINE":
        points = entity.get_points("se")  # type: ignore[attr-defined]
        plain = entity.dxf.flags & ~128 == 1 and not entity.dxf.get("const_width", 0.0)
        return plain and not any(itertools.chain(*points))
    widths = [
        vertex.dxf.get(name, 0.0)
        for vertex in entity.vertices  # type: ignore[attr-defined]
        for name in ("start_width", "end_width")
    ]
    lifted = any(vertex.dxf.location.z for vertex in entity.vertices)  # type: ignore[attr-defined]
    return entity.dxf.flags == 1 and not any(widths) and not lifted


# ------------------------------------------------------------------------------------ pieces and rings


def _found(document: Drawing, scale: float) -> Found:
    """The pieces and circles of the drawing in mm; what is for reference only is left out."""
    found = Found()
    for order, entity in enumerate(document.modelspace()):
        kind, layer = entity.dxftype(), entity.dxf.layer
        if layer == REFERENCE:
            continue
        if kind == "CIRCLE":
            center = _scaled(entity.dxf.center, scale)
            found.circles.append(Circle(layer, order, center, entity.dxf.radius * scale))
        elif kind == "LINE":
            ends = _scaled(entity.dxf.start, scale), _scaled(entity.dxf.end, scale)
            found.pieces.append(Piece(layer, order, *ends))
        elif kind == "ARC":
            ends = _scaled(entity.start_point, scale), _scaled(entity.end_point, scale)  # type: ignore[attr-defined]
            sweep = (entity.dxf.end_angle - entity.dxf.start_angle) % 360.0
            found.pieces.append(Piece(layer, order, *ends, math.tan(math.radians(sweep) / 4)))
        else:
            found.pieces += _polyline_pieces(entity, order, scale)
    return found


def _polyline_pieces(entity: DXFEntity, order: int, scale: float) -> list[Piece]:
    if entity.dxftype() == "LWPOLYLINE":
        points = list(entity.get_points("xyb"))  # type: ignore[attr-defined]
    else:
        vertices = entity.vertices  # type: ignore[attr-defined]
        points = [(v.dxf.location.x, v.dxf.location.y, v.dxf.get("bulge", 0.0)) for v in vertices]
    return [
        Piece(entity.dxf.layer, order, (x * scale, y * scale), (u * scale, v * scale), bulge)
        for (x, y, bulge), (u, v, _) in zip(points, points[1:] + points[:1], strict=True)
    ]


def _scaled(point: Vec3, scale: float) -> Point:
    return (point.x * scale, point.y * scale)


def _rings(found: Found) -> tuple[list[Ring], list[str]]:
    """The closed rings of the cut layers, and a fault for every end that meets no other, or more than one."""
    rings = [Ring(circle.layer, (circle.order,), circle=circle) for circle in found.circles]
    wrong: list[str] = []
    for layer in (INSIDE, OUTSIDE):
        pieces = [piece for piece in found.pieces if piece.layer == layer]
        ends = Places(MEET)
        joints: dict[int, list[int]] = defaultdict(list)
        for number, piece in enumerate(pieces):
            joints[ends.number(piece.a)].append(number)
            joints[ends.number(piece.b)].append(number)
        loose = [place for place, meeting in joints.items() if len(meeting) != 2]
        if loose:
            wrong += [_loose_end(layer, ends.points[place], len(joints[place])) for place in loose]
        else:
            rings += _walked(layer, pieces, ends, joints)
    return rings, wrong


def _loose_end(layer: str, at: Point, count: int) -> str:
    what = "ends in the open" if count == 1 else f"meets {count - 1} others"
    return f"a piece on layer {layer} {what} at {_shown(at)}"


def _walked(layer: str, pieces: list[Piece], ends: Places, joints: dict[int, list[int]]) -> Iterator[Ring]:
    """Rings found by walking from piece to piece over their joints."""
    left = dict.fromkeys(range(len(pieces)))
    while left:
        number = next(iter(left))
        chain: list[Piece] = []
        place = ends.number(pieces[number].a)
        while number in left:
            del left[number]
            piece = pieces[number]
            piece = piece if ends.number(piece.a) == place else piece.turned_round()
            chain.append(piece)
            place = ends.number(piece.b)
            first, second = joints[place]
            number = second if first == number else first
        yield Ring(layer, tuple(piece.order for piece in chain), tuple(chain))


class Places:
    """Points numbered so that those within a small distance of each other share a number."""

    def __init__(self, within: float) -> None:
        self.points: list[Point] = []
        self._within = within
        self._cells: dict[tuple[int, int], list[int]] = defaultdict(list)

    def number(self, point: Point) -> int:
        """The number of a point, a new one if none is near."""
        known = self.near(point)
        if known is not None:
            return known
        self.points.append(point)
        self._cells[self._cell(point)].append(len(self.points) - 1)
        return len(self.points) - 1

    def near(self, point: Point) -> int | None:
        """The number of a known point near this one, None if there is none."""
        i, j = self._cell(point)
        for cell in itertools.product((i, i - 1, i + 1), (j, j - 1, j + 1)):
            for known in self._cells.get(cell, ()):
                if math.dist(self.points[known], point) <= self._within:
                    return known
        return None

    def _cell(self, point: Point) -> tuple[int, int]:
        size = 2 * self._within
        return (math.floor(point[0] / size), math.floor(point[1] / size))


# -------------------------------------------------------------------------------- small and doubled


def _too_short(found: Found) -> Iterator[str]:
    for piece in found.pieces:
        if piece.length < SHORTEST:
            yield f"a piece at {_shown(piece.a)} is only {piece.length:.6f} mm long"
    for circle in found.circles:
        if circle.radius < SHORTEST:
            yield f"a circle at {_shown(circle.center)} has a radius of only {circle.radius:.6f} mm"


Key = tuple[float, ...]
Stretch = tuple[float, float, Point]


def _doubled(found: Found) -> Iterator[str]:
    """Pieces that run along each other, and so would be cut twice."""
    lines: list[tuple[Key, Key, Stretch]] = []
    arcs: list[tuple[Key, Key, Stretch]] = []
    for piece in found.pieces:
        if piece.bulge:
            center, radius = piece.arc
            arcs += _arc_stretches(center, radius, *_angles(piece, center))
        else:
            lines += _line_stretches(piece)
    for circle in found.circles:
        arcs += _arc_stretches(circle.center, circle.radius, 0.0, math.tau)
    seen: set[str] = set()
    for stretches in (lines, arcs):
        for at in _overlaps(stretches):
            sentence = f"something is cut twice at {_shown(at)}"
            if sentence not in seen:
                seen.add(sentence)
                yield sentence


def _line_stretches(piece: Piece) -> Iterator[tuple[Key, Key, Stretch]]:
    """A line by its direction and its distance from 0,0, with how far it reaches along itself."""
    (ax, ay), (bx, by) = piece.a, piece.b
    angle = math.atan2(by - ay, bx - ax) % math.pi
    for shown in (angle, angle - math.pi) if angle > math.pi - DOUBLE_ANGLE else (angle,):
        ux, uy = math.cos(shown), math.sin(shown)
        low, high = sorted((ax * ux + ay * uy, bx * ux + by * uy))
        key = (shown, ax * uy - ay * ux)
        yield key, (DOUBLE_ANGLE, DOUBLE), (low, high, piece.middle)


def _arc_stretches(center: Point, radius: float, start: float, sweep: float) -> Iterator[tuple[Key, Key, Stretch]]:
    """An arc by its circle, with how far it reaches along it; one that runs over 0 degrees in two parts."""
    key, size = (*center, radius), (DOUBLE, DOUBLE, DOUBLE)
    start %= math.tau
    for low, high in ((start, min(start + sweep, math.tau)), (0.0, start + sweep - math.tau)):
        if high > low:
            at = (low + high) / 2
            middle = (center[0] + radius * math.cos(at), center[1] + radius * math.sin(at))
            yield key, size, (low * radius, high * radius, middle)


def _angles(piece: Piece, center: Point) -> tuple[float, float]:
    first = piece.a if piece.bulge > 0 else piece.b
    return math.atan2(first[1] - center[1], first[0] - center[0]), 4 * math.atan(abs(piece.bulge))


def _overlaps(stretches: list[tuple[Key, Key, Stretch]]) -> Iterator[Point]:
    """Where two stretches with all but the same key overlap by more than `DOUBLE`.

    Keys are put into cells, once for each way of shifting the cells by half, so that two near keys share a
    cell in one of the ways, however they lie.
    """
    if not stretches:
        return
    for shift in itertools.product((0.0, 0.5), repeat=len(stretches[0][0])):
        cells: dict[Hashable, list[Stretch]] = defaultdict(list)
        for key, size, stretch in stretches:
            cell = tuple(
                math.floor(value / (2 * width) + by) for value, width, by in zip(key, size, shift, strict=True)
            )
            cells[cell].append(stretch)
        for together in cells.values():
            if len(together) > 1:
                yield from _overlaps_along(sorted(together))


def _overlaps_along(stretches: list[Stretch]) -> Iterator[Point]:
    reach = -math.inf
    for low, high, middle in stretches:
        if min(reach, high) - low > DOUBLE:
            yield middle
        reach = max(reach, high)


# ----------------------------------------------------------------------------- against the layout


def _order(rings: list[Ring], found: Found) -> Iterator[str]:
    outside = [order for ring in rings if ring.layer == OUTSIDE for order in ring.orders]
    before = [order for ring in rings if ring.layer == INSIDE for order in ring.orders]
    before += [piece.order for piece in found.pieces if piece.layer == MARK]
    if outside and before and min(outside) < max(before):
        yield "the outside comes before an opening or a mark"


def _shift(layout: Layout) -> Point:
    box = layout.outline.box
    return (-box.x0, -box.y0)


def _outside(rings: list[Ring], layout: Layout) -> Iterator[str]:
    outside = [ring for ring in rings if ring.layer == OUTSIDE]
    if len(outside) != 1:
        yield f"it has {len(outside)} outsides, not one"
        return
    (x0, y0, x1, y1), box = outside[0].box, layout.outline.box
    if math.hypot(x0, y0) > PLACE + SHORTEST * bool(_wanted_outside(layout).specks()):
        yield f"its lower left is at {_shown((x0, y0))}, not at 0, 0"
    yield from _unlike(outside[0], _wanted_outside(layout))
    if abs((x1 - x0) - box.width) > 2 * SHORTEST or abs((y1 - y0) - box.height) > 2 * SHORTEST:
        yield f"it is {x1 - x0:.4f} by {y1 - y0:.4f} mm, not {box.width:.4f} by {box.height:.4f}"
    lows = [min(ring.box[:2]) for ring in rings]
    if min(lows) < -SHORTEST:
        yield f"something reaches {-min(lows):.4f} mm below zero"


def _wanted_outside(layout: Layout) -> Wanted:
    return Wanted("the outside", layout.outline, _shift(layout))


def _inside(rings: list[Ring], layout: Layout) -> Iterator[str]:
    """Each opening that is cut against the one ring that lies where it should."""
    shift = _shift(layout)
    wanted = [Wanted(m.opening, m.cut, shift) for m in makings(layout) if m.cut is not None]
    left = [ring for ring in rings if ring.layer == INSIDE]
    if len(left) != len(wanted):
        yield f"it has {len(left)} openings, not {len(wanted)}"
    by_place: dict[tuple[int, int], list[Ring]] = defaultdict(list)
    for ring in left:
        by_place[_place_of(ring.box)].append(ring)
    for opening in wanted:
        yield from _matched(opening, by_place)
    total, needed = math.fsum(ring.area for ring in left), math.fsum(one.area for one in wanted)
    if abs(total - needed) > AREA * needed + _slack(wanted):
        yield f"its openings have {total:.6g} mm2 together, not {needed:.6g}"


def _slack(wanted: Iterable[Wanted]) -> float:
    """How much area the specks of some shapes can make up at most, mm2."""
    return math.fsum(one.specks() * math.hypot(one.shape.box.width, one.shape.box.height) for one in wanted)


def _place_of(box: tuple[float, float, float, float]) -> tuple[int, int]:
    x0, y0, x1, y1 = box
    return (math.floor(x0 + x1), math.floor(y0 + y1))


def _matched(opening: Wanted, by_place: dict[tuple[int, int], list[Ring]]) -> Iterator[str]:
    i, j = _place_of(opening.box)
    worst = f"opening {opening.name} is missing"
    for cell in itertools.product((i, i - 1, i + 1), (j, j - 1, j + 1)):
        for ring in by_place.get(cell, ()):
            unlike = next(_unlike(ring, opening), None)
            if unlike is None:
                by_place[cell].remove(ring)
                return
            worst = unlike
    yield worst


def _unlike(ring: Ring, wanted: Wanted) -> Iterator[str]:
    """In what a ring is not what was wanted."""
    area = wanted.area
    if abs(ring.area - area) > AREA * area + _slack([wanted]):
        yield f"{wanted.name} has {ring.area:.6f} mm2, not {area:.6f}"
    far = PLACE + (2 * SHORTEST if wanted.specks() else 0.0)
    if ring.circle is not None:
        yield from _unlike_circle(ring.circle, wanted, far)
    else:
        yield from _unlike_ring(ring, wanted, far)


def _unlike_circle(circle: Circle, wanted: Wanted, far: float) -> Iterator[str]:
    if isinstance(wanted.shape, Disc):
        away = math.dist(circle.center, wanted.at(wanted.shape.center))
        away = max(away, abs(circle.radius - wanted.shape.radius))
    else:
        away = max(abs(math.dist(circle.center, key) - circle.radius) for key in wanted.key_points())
    if away > far:
        yield f"{wanted.name} is a circle {away:.6f} mm away from where it should be"


def _unlike_ring(ring: Ring, wanted: Wanted, far: float) -> Iterator[str]:
    if isinstance(wanted.shape, Disc):
        yield f"{wanted.name} is not one circle"
        return
    drawn = [key for piece in ring.pieces for key in (piece.a, piece.middle)]
    for keys, others in ((wanted.key_points(), drawn), (drawn, wanted.key_points())):
        known = Places(far)
        for key in others:
            known.number(key)
        astray = [key for key in keys if known.near(key) is None]
        if astray:
            yield f"{wanted.name} differs from the plate at {_shown(astray[0])}"
            return


def _marks(found: Found, layout: Layout) -> Iterator[str]:
    """Each mark is two strokes of one length that cross square in their middles, at the hole's centre."""
    x, y = _shift(layout)
    marked = dict.fromkeys(making.mark for making in makings(layout) if making.mark is not None)
    strokes = [piece for piece in found.pieces if piece.layer == MARK]
    if len(strokes) != 2 * len(marked):
        yield f"it has {len(strokes)} strokes of marks, not {2 * len(marked)}"
        return
    places = Places(PLACE)
    crossing: dict[int, list[Piece]] = defaultdict(list)
    for stroke in strokes:
        crossing[places.number(stroke.middle)].append(stroke)
    for px, py in marked:
        at = (px + x, py + y)
        place = places.near(at)
        if place is None or not _is_cross(crossing[place]):
            yield f"the mark at {_shown(at)} is missing or no cross"


def _is_cross(strokes: list[Piece]) -> bool:
    if len(strokes) != 2 or any(abs(stroke.length - CROSS) > PLACE for stroke in strokes):
        return False
    (ax, ay), (bx, by) = ((s.b[0] - s.a[0], s.b[1] - s.a[1]) for s in strokes)
    return abs(ax * bx + ay * by) <= PLACE


def _shown(point: Point) -> str:
    return f"{point[0] + 0.0:.4f}, {point[1] + 0.0:.4f}"

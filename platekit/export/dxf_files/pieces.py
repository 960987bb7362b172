"""What a DXF holds, as pieces, circles and the rings that they close; read by a DXF reader, in millimetres.

Vocabulary
    piece    a stretch of line or arc from `a` to `b`, with the bulge tan(sweep / 4) of an arc
    ring     a closed chain of pieces, or a full circle
    place    a point with a number; points nearer to each other than any two that differ share one

Rings are found by the ends of their pieces alone, whether the file holds polylines or single lines and arcs.
"""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from msgspec import Struct, field

from platekit.geometry import Point

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.entities.dxfentity import DXFEntity
    from ezdxf.math import Vec3

INSIDE, OUTSIDE, MARK, REFERENCE = "CUT-INSIDE", "CUT-OUTSIDE", "MARK", "REFERENCE"

CUT_COLORS: Final = {"inside": 32, "outside": 112, "mark": 212, "reference": 8}
"""Colour numbers of openings, outline, marks and what is for the eyes (ours), the same in every file: what
is brown in one is brown in the other. All show on a dark and on a light ground."""

MEET = 1e-7
"""Distance in mm within which two ends are one point: a hundred times what rounding leaves in a file (ours).

An arc's radius is then equal at both ends well within the 1e-6 mm that controls ask for (common practice)."""


class Piece(Struct, frozen=True):
    """A stretch of line or arc, mm; `order` counts the entities of the file."""

    layer: str
    order: int
    a: Point
    b: Point
    bulge: float = 0.0

    @property
    def length(self) -> float:
        """Length along the piece, mm."""
        chord = math.dist(self.a, self.b)
        return chord if self.bulge == 0 else self.arc[1] * 4 * abs(math.atan(self.bulge))

    @property
    def middle(self) -> Point:
        """The point half-way along the piece, mm."""
        (ax, ay), (bx, by) = self.a, self.b
        half = self.bulge / 2
        return ((ax + bx) / 2 + half * (by - ay), (ay + by) / 2 - half * (bx - ax))

    @property
    def arc(self) -> tuple[Point, float]:
        """Centre and radius of an arc, mm, from chord and bulge."""
        (ax, ay), (bx, by) = self.a, self.b
        # how far the centre is off the middle of the chord, in chords: from bulge = tan(sweep / 4)
        off = (1 - self.bulge**2) / (4 * self.bulge)
        center = ((ax + bx) / 2 - off * (by - ay), (ay + by) / 2 + off * (bx - ax))
        return center, math.dist(self.a, self.b) * (1 + self.bulge**2) / (4 * abs(self.bulge))

    @property
    def corners(self) -> Iterator[Point]:
        """Points (mm) between which the whole piece lies, along x and along y."""
        yield self.a
        yield self.b
        if self.bulge:
            (x, y), r = self.arc
            (ax, ay), (bx, by) = self.a, self.b
            for px, py in ((x + r, y), (x - r, y), (x, y + r), (x, y - r)):
                # an extreme of the circle belongs to the arc if it lies on the arc's side of the chord
                if ((bx - ax) * (py - ay) - (by - ay) * (px - ax)) * self.bulge <= 0:
                    yield (px, py)

    @property
    def swept(self) -> float:
        """Twice the signed area between the piece and 0,0, mm2: the sum round a ring is twice its area."""
        (ax, ay), (bx, by) = self.a, self.b
        sector = ax * by - bx * ay
        if self.bulge:
            sweep = 4 * math.atan(self.bulge)
            # the segment between chord and arc: r squared (sweep - sin sweep), twice its area, signed as the sweep
            sector += self.arc[1] ** 2 * (sweep - math.sin(sweep))
        return sector

    def turned_round(self) -> Piece:
        """The same piece run the other way."""
        return Piece(self.layer, self.order, self.b, self.a, -self.bulge)


class Circle(Struct, frozen=True):
    """A full circle, mm."""

    layer: str
    order: int
    center: Point
    radius: float


class CutRing(Struct, frozen=True):
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


class ReadDrawing(Struct):
    """What was read from the file; `spots` are marks that are points (of no radius) or small circles."""

    pieces: list[Piece] = field(default_factory=list)
    circles: list[Circle] = field(default_factory=list)
    spots: list[Circle] = field(default_factory=list)


# --------------------------------------------------------------------------------------- reading


def pieces_of(document: Drawing, scale: float) -> ReadDrawing:
    """The pieces and circles of a drawing, `scale` mm a unit; what is for reference only is left out."""
    found = ReadDrawing()
    for order, entity in enumerate(document.modelspace()):
        if entity.dxf.layer == REFERENCE:
            continue
        if entity.dxftype() == "POINT":
            found.spots.append(Circle(entity.dxf.layer, order, _scaled(entity.dxf.location, scale), 0.0))
        elif entity.dxftype() == "CIRCLE":
            center, radius = entity.dxf.center, entity.dxf.radius
            kept = found.spots if entity.dxf.layer.endswith(MARK) else found.circles
            kept.append(Circle(entity.dxf.layer, order, _scaled(center, scale), radius * scale))
        else:
            found.pieces += _pieces_of_one(entity, order, scale)
    return found


def _pieces_of_one(entity: DXFEntity, order: int, scale: float) -> Iterator[Piece]:
    from ezdxf.entities.arc import Arc
    from ezdxf.entities.line import Line

    layer = entity.dxf.layer
    if isinstance(entity, Line):
        yield Piece(layer, order, _scaled(entity.dxf.start, scale), _scaled(entity.dxf.end, scale))
    elif isinstance(entity, Arc):
        sweep = math.radians((entity.dxf.end_angle - entity.dxf.start_angle) % 360.0)
        start, end = _scaled(entity.start_point, scale), _scaled(entity.end_point, scale)
        yield Piece(layer, order, start, end, math.tan(sweep / 4))
    else:
        # A closed polyline, old or light; any other entity has no corners here and is a fault of the proof elsewhere
        from ezdxf.entities.lwpolyline import LWPolyline
        from ezdxf.entities.polyline import Polyline

        if isinstance(entity, LWPolyline):
            corners = [(x, y, bulge) for x, y, bulge in entity.get_points("xyb")]
        elif isinstance(entity, Polyline):
            spots = [(vertex.dxf.location, vertex.dxf.get("bulge", 0.0)) for vertex in entity.vertices]
            corners = [(spot.x, spot.y, bulge) for spot, bulge in spots]
        else:
            corners = []
        for (x, y, bulge), (u, v, _) in zip(corners, corners[1:] + corners[:1], strict=True):
            yield Piece(layer, order, (x * scale, y * scale), (u * scale, v * scale), bulge)


def _scaled(point: Vec3, scale: float) -> Point:
    return (point.x * scale, point.y * scale)


def rings_of(found: ReadDrawing) -> tuple[list[CutRing], list[str]]:
    """The closed rings of the cut layers, and a fault for every end that meets no other, or more than one."""
    rings = [CutRing(circle.layer, (circle.order,), circle=circle) for circle in found.circles]
    wrong: list[str] = []
    for layer in (INSIDE, OUTSIDE):
        pieces = [piece for piece in found.pieces if piece.layer == layer]
        ends = NumberedPoints(MEET)
        joints: dict[int, list[int]] = defaultdict(list)
        for number, piece in enumerate(pieces):
            joints[ends.number(piece.a)].append(number)
            joints[ends.number(piece.b)].append(number)
        loose = [place for place, meeting in joints.items() if len(meeting) != 2]
        if loose:
            for place in loose:
                count = len(joints[place])
                what = "ends in the open" if count == 1 else f"meets {count - 1} others"
                wrong.append(f"a piece on layer {layer} {what} at {shown(ends.points[place])}")
        else:
            rings += _rings_by_walking(layer, pieces, ends, joints)
    return rings, wrong


def _rings_by_walking(
    layer: str, pieces: list[Piece], ends: NumberedPoints, joints: dict[int, list[int]]
) -> Iterator[CutRing]:
    """Rings found by walking from piece to piece over their joints, each of which has just two pieces."""
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
        yield CutRing(layer, tuple(piece.order for piece in chain), tuple(chain))


class NumberedPoints:
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

    # Cells of twice the distance: whatever is near a point lies in its cell or in one of the eight round it
    def _cell(self, point: Point) -> tuple[int, int]:
        size = 2 * self._within
        return (math.floor(point[0] / size), math.floor(point[1] / size))


def shown(point: Point) -> str:
    """A point for a sentence, mm."""
    return f"{point[0] + 0.0:.4f}, {point[1] + 0.0:.4f}"

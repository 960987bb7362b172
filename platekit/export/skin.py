"""The skin of the finished plate: flat faces, walls and countersinks, joined edge to edge, and proved to close.

The plate is a stack of slices (see `exact.slices`), each a flat region bounded by rings. So its skin has two kinds of
face: *walls*, which stand on the rings of the slices, and *flats*, which lie at the heights where slices meet. That is
a boundary representation (Mantyla, An Introduction to Solid Modeling, 1988) worked out from flat geometry alone; no
kernel for solids is asked.

Vocabulary
    ring    a closed chain of lines and arcs at one height, with the steel on its left
    wall    what stands on a ring from one height up to another: planes and cylinders, or cones where it tapers
    flat    a face at one height, with the steel above or below it
    side    an edge as one face goes along it, forward or backward: in a skin that closes, once each way
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct

from platekit.cutting.contours import cut_out
from platekit.errors import OutputError
from platekit.export.exact import Slice, simplest
from platekit.geometry import EPS, Arc, Disc, Edge, Index, Line, Loop, Point, Shape, distance, edge_distance
from platekit.geometry.arrange import JOIN, beside, closed_chains, pieces_of
from platekit.geometry.edges import moments
from platekit.geometry.loop import edges_loop
from platekit.geometry.point import TAU, Box, between

Spot = tuple[float, float, float]
"""A corner of the skin: x, y, z in mm, plate frame."""


class Rim(Struct, frozen=True):
    """A flat edge of the skin: a line or arc at a height, mm; `number` tells it from all others."""

    number: int
    z: float
    edge: Edge
    start: int
    end: int


class Upstroke(Struct, frozen=True):
    """An edge of a wall from the lower to the upper end of it, between two corners."""

    number: int
    start: int
    end: int


class Side(Struct, frozen=True):
    """An edge as a face goes along it."""

    of: Rim | Upstroke
    forward: bool

    @property
    def turned(self) -> Side:
        """The same edge gone along the other way."""
        return Side(self.of, not self.forward)


class Face(Struct, frozen=True):
    """A face: its bounds, seen from outside counter-clockwise round it and clockwise round what is open in it.

    `low` and `high` are the edges of the wall that it is, at its lower and upper end, with the steel on their left;
    a flat has none, and `up` says whether it looks up.
    """

    bounds: tuple[tuple[Side, ...], ...]
    z: float
    up: bool = True
    low: Edge | None = None
    high: Edge | None = None
    top: float = 0.0

    @property
    def volume(self) -> float:
        """What the face adds to the volume, mm3: the integral over it of height times the upward share of its normal.

        Gauss's theorem for the field (0, 0, z), whose divergence is 1.
        """
        if self.low is None or self.high is None:
            area = math.fsum(_swept(side) for bound in self.bounds for side in bound)
            # seen from above, the bounds of a flat that looks down run the other way: the sign comes by itself
            return self.z * area
        if self.low == self.high:
            return 0.0
        # The steel's area under the edge is a square function of height, so Simpson's rule is exact. As it grows
        # smaller upwards the wall looks up.
        area_low, area_high = _fan(self.low), _fan(self.high)
        area_mid = _fan(_between(self.low, self.high))
        mean = (area_low + 4 * area_mid + area_high) / 6 * (self.top - self.z)
        return mean - (self.top * area_high - self.z * area_low)


def _swept(side: Side) -> float:
    """Signed area between an edge and the origin, mm2."""
    if not isinstance(side.of, Rim):
        return 0.0
    area = _fan(side.of.edge)
    return area if side.forward else -area


def _fan(edge: Edge) -> float:
    return moments([edge])[0]


def _between(low: Edge, high: Edge) -> Edge:
    """The edge half way up between two that belong to one tapering wall."""
    mid = [((p[0] + q[0]) / 2, (p[1] + q[1]) / 2) for p, q in ((low.a, high.a), (low.b, high.b))]
    if isinstance(low, Arc) and isinstance(high, Arc):
        return Arc(low.center, (low.radius + high.radius) / 2, low.start, low.sweep, mid[0], mid[1])
    return Line(mid[0], mid[1])


class Skin(Struct, frozen=True):
    """The closed skin of one solid."""

    corners: tuple[Spot, ...]
    faces: tuple[Face, ...]

    @property
    def volume(self) -> float:
        """Volume within, mm3, from the faces alone."""
        return math.fsum(face.volume for face in self.faces)

    @property
    def closes(self) -> bool:
        """Whether each edge is gone along by two faces, once each way: then the skin has an inside and no hole."""
        ways: dict[int, list[bool]] = {}
        for face in self.faces:
            for bound in face.bounds:
                for side in bound:
                    ways.setdefault(side.of.number, []).append(side.forward)
        return all(sorted(way) == [False, True] for way in ways.values())

    @property
    def pieces(self) -> int:
        """How many solids hang together only in themselves: faces with a common edge belong to one."""
        leaders = list(range(len(self.faces)))  # union-find, as in `merged`

        def leader(number: int) -> int:
            while leaders[number] != number:
                leaders[number] = leaders[leaders[number]]
                number = leaders[number]
            return number

        first: dict[int, int] = {}
        for number, face in enumerate(self.faces):
            for bound in face.bounds:
                for side in bound:
                    leaders[leader(number)] = leader(first.setdefault(side.of.number, number))
        return len({leader(number) for number in range(len(self.faces))})


# ----------------------------------------------------------------------------------------------- rings


class _RingOutline(Struct, frozen=True):
    """A closed shape at one height, that has the steel within it (`outer`) or around it."""

    shape: Disc | Loop
    outer: bool

    @property
    def edges(self) -> tuple[Edge, ...]:
        """Its edges with the steel on their left: counter-clockwise round a piece, clockwise round an opening."""
        if isinstance(self.shape, Disc):
            # one edge that ends where it starts: both ends are given the very same point
            (x, y), radius = self.shape.center, self.shape.radius
            return (Arc((x, y), radius, 0.0, TAU if self.outer else -TAU, (x + radius, y), (x + radius, y)),)
        return self.shape.edges if self.outer else tuple(edge.reversed() for edge in reversed(self.shape.edges))


class _Ring(Struct, frozen=True):
    """A ring of one slice: its outlines at the slice's lower and upper end, which differ where it tapers."""

    low: _RingOutline
    high: _RingOutline

    @property
    def upright(self) -> bool:
        """Whether its wall stands upright."""
        return self.low == self.high


def _rings(one: Slice) -> list[_Ring]:
    """The rings of a slice, its pieces first.

    Raises OutputError where a countersink runs into something else: the edge between the two is then neither line nor
    arc, but a branch of a hyperbola or worse.
    """
    pieces, inside = cut_out(one.outline, one.straight)
    if not pieces:
        raise OutputError(
            "the solid was not written: the openings leave nothing of the plate; move them, or make the plate larger"
        )
    # Where an opening only just touches another or the outside, the steel would hang together by an edge alone, and an
    # edge with four faces is no part of a solid. The union of such openings comes as several loops of one origin.
    pinches = [p for piece in pieces if isinstance(piece, Loop) for p in _twice(piece)]
    for i, j in Index([opening.shape.box for opening in inside]).pairs_within(JOIN):
        if inside[i].members == inside[j].members:
            pinches.append(distance(inside[i].shape, inside[j].shape).a)
    pinches += [p for opening in inside if isinstance(opening.shape, Loop) for p in _twice(opening.shape)]
    for p in pinches:
        raise _pinched(p)
    outlines = [_RingOutline(simplest(shape), True) for shape in pieces]
    outlines += [_RingOutline(simplest(opening.shape), False) for opening in inside]
    rings = [_Ring(outline, outline) for outline in outlines]
    mouths = [cone.silhouette for cone in one.tapering]
    others: list[Shape] = [*mouths, *one.straight]
    near = Index([shape.box for shape in others])
    for number, (cone, mouth) in enumerate(zip(one.tapering, mouths, strict=True)):
        meets = (k for k in near.near(mouth.box, EPS) if k != number and distance(mouth, others[k]).distance <= EPS)
        if next(meets, None) is not None or edge_distance(mouth, one.outline).distance <= EPS:
            x, y = mouth.centroid
            raise OutputError(
                f"the solid was not written: the countersink at {x:.6g}, {y:.6g} runs into another opening or over "
                "the edge; move it, or leave the solid out"
            )
        ends = [cone.shape.grown(more) if (more := cone.flare(z)) else cone.shape for z in (one.low, one.high)]
        low, high = (_RingOutline(simplest(shape), False) for shape in ends)
        if len(low.edges) != len(high.edges):
            # in a bend tighter than the head is wide the inner side of the groove dies out on the way up
            x, y = mouth.centroid
            raise OutputError(
                f"the solid was not written: the countersunk slot at {x:.6g}, {y:.6g} bends too tightly for its head; "
                "leave the solid out"
            )
        rings.append(_Ring(low, high))
    return rings


def _pinched(p: Point) -> OutputError:
    return OutputError(
        f"the solid was not written: an opening only just touches another or the edge at {p[0]:.6g}, {p[1]:.6g}; "
        "move it"
    )


def _twice(loop: Loop) -> list[Point]:
    """The vertices that a loop comes to more than once, mm; neighbours in x are looked at, so it costs a sorting."""
    places = sorted((x, y) for x, y, _ in loop.vertices)
    return [p for k, p in enumerate(places) for q in places[k + 1 : k + 3] if between(p, q) <= JOIN]


class _Steel:
    """Where there is steel at one height: asked only near those rings that the other side of the height lacks."""

    def __init__(self, outlines: Sequence[_RingOutline], apart: set[_RingOutline]) -> None:
        self.pieces = [outline.shape for outline in outlines if outline.outer]
        # what both sides have in common is never near a border, so only the openings that differ count
        self.openings = [outline.shape for outline in outlines if not outline.outer and outline in apart]
        self.near = Index([shape.box for shape in self.openings])

    def at(self, p: Point) -> bool:
        """Whether there is steel at a point, mm, that lies on no ring."""
        if not any(shape.contains(p) for shape in self.pieces):
            return False
        return not any(self.openings[k].contains(p) for k in self.near.near(Box(*p, *p)))


# ------------------------------------------------------------------------------------------------ skin


def skin(slices: Sequence[Slice]) -> Skin:
    """The skin of the plate that the slices make up, from the near face down; heights and corners in mm.

    Raises OutputError where nothing is left of the plate, where openings touch without overlapping, and where a
    countersink runs into something else.
    """
    rings = [_rings(one) for one in slices]
    heights = [slices[0].high, *(one.low for one in slices)]
    seam = _Seams()
    faces: list[Face] = []
    # The edges of rings, cut where a ring of the neighbour slice meets them: what a flat and a wall share is one piece.
    cut: dict[tuple[float, Edge], list[Edge]] = {}
    for z, above, below in zip(heights, [[], *rings], [*rings, []], strict=True):
        faces += _flats(z, [ring.low for ring in above], [ring.high for ring in below], seam, cut)
    for first, own in enumerate(rings):
        for ring in own:
            if ring.upright and first > 0 and ring in rings[first - 1]:
                continue  # the wall of the slice above comes down to here
            last = first
            while ring.upright and last + 1 < len(rings) and ring in rings[last + 1]:
                last += 1
            top, foot = heights[first], heights[last + 1]
            for low, high in zip(ring.low.edges, ring.high.edges, strict=True):
                along = [seam.side(piece, foot) for piece in cut.get((foot, low), [low])]
                back = [seam.side(piece, top).turned for piece in reversed(cut.get((top, high), [high]))]
                up = seam.upstroke(seam.corner(low.b, foot), seam.corner(high.b, top))
                down = seam.upstroke(seam.corner(low.a, foot), seam.corner(high.a, top))
                # seen from outside: along the foot, up, back along the top, down
                bound = (*along, Side(up, True), *back, Side(down, False))
                faces.append(Face((bound,), foot, low=low, high=high, top=top))
    return Skin(tuple(seam.corners), tuple(faces))


def _flats(
    z: float,
    above: list[_RingOutline],
    below: list[_RingOutline],
    seam: _Seams,
    cut: dict[tuple[float, Edge], list[Edge]],
) -> list[Face]:
    """The flats at a height: where there is steel below and none above, and the other way round.

    A ring that runs on through has its steel on the same side above and below, so it bounds no flat.
    """
    apart = set(above) ^ set(below)
    edges = [edge for outline in (*above, *below) if outline in apart for edge in outline.edges]
    # on the plate's own faces there is nothing to cut: rings of one slice do not meet
    pieces = pieces_of(edges) if above and below else edges
    left = iter(pieces)
    for edge in edges:  # pieces come in the order of the edges, each edge's last piece with the edge's own end
        own = [next(left)]
        while own[-1].b != edge.b:
            own.append(next(left))
        cut[z, edge] = own
    upper, lower = _Steel(above, apart), _Steel(below, apart)
    looks_up: list[Edge] = []
    looks_down: list[Edge] = []
    seen: set[int] = set()
    for piece in pieces:
        number = seam.side(piece, z).of.number
        if number in seen:  # a ring above runs along one below here, and the piece comes twice
            continue
        seen.add(number)
        (up_left, low_left), (up_right, low_right) = ((upper.at(p), lower.at(p)) for p in beside(piece))
        for flat, here, there in (
            (looks_up, low_left and not up_left, low_right and not up_right),
            (looks_down, up_left and not low_left, up_right and not low_right),
        ):
            if here != there:
                flat.append(piece if here else piece.reversed())
        if looks_up and looks_down and looks_up[-1] in (looks_down[-1], looks_down[-1].reversed()):
            raise _pinched(piece.at(0.5))  # steel below on the one side of the edge, above on the other
    faces = []
    for bounds in _grouped(closed_chains(looks_up)):
        faces.append(Face(tuple(tuple(seam.side(edge, z) for edge in bound) for bound in bounds), z))
    for bounds in _grouped(closed_chains(looks_down)):  # seen from below, left is right
        turned = (tuple(seam.side(edge, z).turned for edge in reversed(bound)) for bound in bounds)
        faces.append(Face(tuple(turned), z, up=False))
    return faces


def _grouped(chains: Sequence[list[Edge]]) -> list[list[list[Edge]]]:
    """Closed chains with the inside on their left, as faces: an outer one, then those of what is open in it."""
    areas = [moments(chain)[0] for chain in chains]
    outer = sorted((k for k, area in enumerate(areas) if area > 0.0), key=lambda k: areas[k])
    faces = {k: [chains[k]] for k in outer}
    shapes = {} if len(outer) == 1 else {k: _shape(chains[k]) for k in outer}
    for k, area in enumerate(areas):
        if area < 0.0:
            # of outlines within each other the smallest round it
            home = outer[0] if not shapes else next(n for n in outer if shapes[n].contains(chains[k][0].at(0.5)))
            faces[home].append(chains[k])
    return list(faces.values())


def _shape(chain: list[Edge]) -> Disc | Loop:
    first = chain[0]
    return Disc(first.center, first.radius) if len(chain) == 1 and isinstance(first, Arc) else edges_loop(chain)


class _Seams:
    """Corners and edges as faces ask for them, each kept once, so that neighbours share them."""

    def __init__(self) -> None:
        self.corners: list[Spot] = []
        self._at: dict[tuple[float, int, int], int] = {}
        self._middles: dict[tuple[int, int], list[Rim]] = {}
        self._upstrokes: dict[tuple[int, int], Upstroke] = {}
        self._count = 0

    def corner(self, p: Point, z: float) -> int:
        """The number of the corner at a point; points within `JOIN` mm of each other are one corner."""
        i, j = math.floor(p[0] / JOIN), math.floor(p[1] / JOIN)
        # cells of a grid: what lies within a cell's width is in the same cell or in one beside it
        for cell in ((z, i + di, j + dj) for di in (0, -1, 1) for dj in (0, -1, 1)):
            if cell in self._at:
                return self._at[cell]
        self._at[z, i, j] = len(self.corners)
        self.corners.append((*p, z))
        return len(self.corners) - 1

    def side(self, edge: Edge, z: float) -> Side:
        """An edge of a face as the skin has it, and whether the face goes along it as it was first met."""
        start, end = self.corner(edge.a, z), self.corner(edge.b, z)
        known = self._middles.setdefault((min(start, end), max(start, end)), [])
        middle = edge.at(0.5)
        for rim in known:
            # two edges may share both corners, as an arc and its chord do: their middles tell them apart
            if between(rim.edge.at(0.5), middle) <= JOIN:
                return Side(rim, _same_way(rim.edge, edge))
        self._count += 1
        known.append(Rim(self._count, z, edge, start, end))
        return Side(known[-1], True)

    def upstroke(self, low: int, high: int) -> Upstroke:
        """The edge from a lower corner to an upper one, straight."""
        if (low, high) not in self._upstrokes:
            self._count += 1
            self._upstrokes[low, high] = Upstroke(self._count, low, high)
        return self._upstrokes[low, high]


def _same_way(one: Edge, other: Edge) -> bool:
    """Whether two edges that lie on each other run the same way: asked of their middles, as a circle has no ends."""
    (ux, uy), (vx, vy) = one.direction(0.5), other.direction(0.5)
    return ux * vx + uy * vy > 0.0

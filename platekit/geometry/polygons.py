"""Polygons that stand for exact shapes, always on the safe side; the only module that knows shapely.

Which side is safe: a polygon that holds the shape has its points on tangents where the outline bulges out and on chords
where it is hollow; one that lies within it the other way round. Half of the angle of one chord, h, decides both: the
chord lies r (1 - cos h) within the arc, the corner of two tangents r (1 / cos h - 1) outside of it, the larger of the
two; so cos h = r / (r + chord) keeps both within `chord`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import cached_property

import numpy
import shapely
from msgspec import Struct
from numpy.typing import NDArray
from shapely import Polygon as Polygon

from platekit.geometry.edges import Arc, Edge
from platekit.geometry.point import CHORD_ERROR, Box, Point, polar

__all__ = ["BoxTree", "ChordRing", "FreeRoom", "Polygon", "Within", "polygon_of"]

RING_CHORD = 1e-4
"""Farthest that the chords of a ring lie from its arcs, mm (ours): far below what is asked of it, or asked exactly."""
SOME = 250
"""Up to so many boxes each is held against all others at once, sooner than a tree is built (by timing, any works)."""
AT_ONCE = 64
"""Boxes that a tree is asked for at a time (ours): some millions of pairs at the most."""
ROLLED = 2e-3
"""Share of its radius by which a disc of 128 chords, rolled along a side, may leave something over (geometry)."""
FAN = 7
"""Rays in a fan (ours): some 15 degrees between them at a square corner."""
CLOSE = 0.01
"""Starts nearer to each other along the outline than this share of the width asked for are one (ours)."""
FEW = 400
"""So many rays are all followed (ours: some milliseconds); a shape and its mirror image are then as narrow."""
NEAR_RAY = 1e-6
"""Room round an edge within which a ray may meet it, mm (rounding)."""
RAYS_AT_ONCE = 5000
"""Rays that are asked for at a time (ours): of edges packed closely each meets the boxes of hundreds."""
FIRST_LOT = 1000
"""Boxes in the first of the trees that are asked one after the other (ours); any value works."""


def polygon_of(edges: Sequence[Edge], chord: float = CHORD_ERROR, outside: bool = True) -> Polygon:
    """A polygon that holds a closed outline (`outside`) or lies within it, nowhere more than `chord` mm away."""
    polygon = Polygon([p for edge in edges for p in _edge_points(edge, chord, outside)])
    if polygon.is_valid:
        return polygon
    # Outlines so narrow that tangents of neighbouring edges cross: finer chords (none of them a tangent, whichever way
    # an arc bends), mended, then moved to the safe side by more than the chords are off; 0.4 + 0.5 is within the whole.
    points = [p for edge in edges for p in _edge_points(edge, 0.4 * chord, edge.bulge < 0.0)]
    rough = shapely.make_valid(Polygon(points))
    return _largest(rough.buffer(0.5 * chord if outside else -0.5 * chord, join_style="mitre", mitre_limit=2.0))


def _edge_points(edge: Edge, chord: float, outside: bool) -> list[Point]:
    """The points that stand for an edge, its end left out."""
    if not isinstance(edge, Arc):
        return [edge.a]
    # no chord spans more than a third of a turn (cosine 0.5): a small arc stays recognisable, whatever the chord error
    half = math.acos(max(edge.radius / (edge.radius + chord), 0.5))
    steps = max(math.ceil(abs(edge.sweep) / (2.0 * half)), 1)
    step = edge.sweep / steps
    if (edge.sweep > 0.0) != outside:
        return [edge.a, *(polar(edge.center, edge.radius, edge.start + k * step) for k in range(1, steps))]
    radius = edge.radius / math.cos(0.5 * step)
    return [edge.a, *(polar(edge.center, radius, edge.start + (k + 0.5) * step) for k in range(steps))]


def _largest(geometry: Polygon) -> Polygon:
    """The largest polygon of what an operation left; of equals (to 1e-6 mm2) the first; an empty one of none."""
    parts = [part for part in getattr(geometry, "geoms", [geometry]) if part.geom_type == "Polygon"]
    return max(parts, key=lambda part: round(float(part.area), 6), default=Polygon())


class ChordRing:
    """An outline in chords, which is quick to ask how far thousands of points lie from it."""

    def __init__(self, edges: Sequence[Edge]) -> None:
        points = [p for edge in edges for p in _edge_points(edge, RING_CHORD, edge.bulge < 0.0)]
        ends = numpy.array(points)
        self._chords = shapely.STRtree(shapely.linestrings(numpy.stack([ends, numpy.roll(ends, -1, axis=0)], axis=1)))
        self.error = 1e-9 + (RING_CHORD if any(isinstance(edge, Arc) for edge in edges) else 0.0)
        """What a distance may be off, mm."""

    def distances(self, points: NDArray[numpy.float64]) -> NDArray[numpy.float64]:
        """Distance of each point from the outline, mm."""
        _, found = self._chords.query_nearest(shapely.points(points), return_distance=True, all_matches=False)
        return numpy.asarray(found, dtype=numpy.float64)


class Within:
    """The region between a ring of points (mm) and rings inside it, which is quick to ask about thousands of points."""

    def __init__(self, outer: NDArray[numpy.float64], inner: Sequence[NDArray[numpy.float64]]) -> None:
        self._region = Polygon(outer, inner)
        shapely.prepare(self._region)

    @property
    def is_plain(self) -> bool:
        """Whether no two rings cross, and none crosses itself."""
        return bool(self._region.is_valid)

    def holds(self, points: NDArray[numpy.float64]) -> NDArray[numpy.bool_]:
        """Whether each point (mm) lies in the region."""
        return numpy.asarray(shapely.contains_xy(self._region, points[:, 0], points[:, 1]), dtype=numpy.bool_)


class BoxTree:
    """A tree of boxes (mm) that answers which of them overlap."""

    def __init__(self, boxes: Sequence[Box]) -> None:
        self._boxes = boxes

    @cached_property
    def _tree(self) -> shapely.STRtree:
        return shapely.STRtree(shapely.box(*zip(*self._boxes, strict=True)))

    def pairs_within(self, gap: float) -> Iterator[tuple[int, int]]:
        """Pairs `(i, j)`, i < j, of boxes that come within `gap` along both axes, in rising order.

        Asked for a few boxes at a time: boxes that all lie on each other make more pairs than memory holds.
        """
        if len(self._boxes) <= SOME:
            left, below, right, above = (numpy.array(column) for column in zip(*self._boxes, strict=True))
            near = left <= (right + gap)[:, None]
            near &= (left - gap)[:, None] <= right
            near &= below <= (above + gap)[:, None]
            near &= (below - gap)[:, None] <= above
            first, second = near.nonzero()
            keep = first < second
            yield from zip(first[keep].tolist(), second[keep].tolist(), strict=True)
            return
        x0, y0, x1, y1 = (list(column) for column in zip(*self._boxes, strict=True))
        wide = shapely.box([x - gap for x in x0], [y - gap for y in y0], [x + gap for x in x1], [y + gap for y in y1])
        for start in range(0, len(wide), AT_ONCE):
            first, second = self._tree.query(wide[start : start + AT_ONCE])
            first = first + start
            keep = first < second
            yield from sorted(zip(first[keep].tolist(), second[keep].tolist(), strict=True))

    def near(self, box: Box) -> list[int]:
        """The items whose boxes overlap `box` (mm), in rising order."""
        return sorted(self._tree.query(shapely.box(*box)).tolist())

    def first_near(self, box: Box, most: int) -> list[int]:
        """The first `most` of the items whose boxes overlap `box` (mm), in rising order."""
        asked = shapely.box(*box)
        found: list[int] = []
        for start, tree in self._lots:
            hits = numpy.sort(tree.query(asked))[: most - len(found)]
            found.extend((hits + start).tolist())
            if len(found) >= most:
                break
        return found

    @cached_property
    def _lots(self) -> list[tuple[int, shapely.STRtree]]:
        """The boxes in a row of trees, each twice as large as the one before: a crowd is met in the first of them."""
        lots = []
        start, size = 0, FIRST_LOT
        while start < len(self._boxes):
            lot = self._boxes[start : start + size]
            lots.append((start, shapely.STRtree(shapely.box(*zip(*lot, strict=True)))))
            start, size = start + size, 2 * size
        return lots


ROUNDING = 0.005
"""Added to every gap because the chords of a round corner lie inside it, mm (ours)."""
CORNER_CHORDS = 64
"""Chords for a quarter of a round corner (ours): within `ROUNDING` up to a gap of 66 mm."""


class FreeRoom:
    """A sheet on which shapes are laid one by one; answers where one more has its gaps, always on the safe side."""

    def __init__(self, sheet: Polygon, gap: float, edge_gap: float) -> None:
        self._room = sheet.buffer(-edge_gap - ROUNDING, quad_segs=CORNER_CHORDS, join_style="mitre")
        self._around = self._room.bounds if not self._room.is_empty else (0.0, 0.0, -1.0, -1.0)
        self._square = bool(self._room.equals(shapely.box(*self._around))) if not self._room.is_empty else False
        self._bounds: dict[int, tuple[float, float, float, float]] = {}
        self._known: list[Polygon] = []
        self._gap = gap
        self._taken: list[Polygon] = []
        self._boxes: NDArray[numpy.float64] = numpy.empty((0, 4))  # of what is taken: most of it is far off
        shapely.prepare(self._room)

    def take(self, polygon: Polygon, x: float, y: float) -> None:
        """Lay a shape down, moved by (x, y) mm."""
        # what is laid is grown by the whole gap once, so that asking for the next is a plain question of overlap
        grown = _moved(polygon, x, y).buffer(self._gap + ROUNDING, quad_segs=CORNER_CHORDS)
        shapely.prepare(grown)
        self._taken.append(grown)
        self._boxes = numpy.vstack([self._boxes, grown.bounds])

    def fits(self, polygon: Polygon, x: float, y: float) -> bool:
        """Whether a shape moved by (x, y) mm lies in the sheet, clear of all that was laid."""
        bounds = self._bounds.get(id(polygon))
        if bounds is None:
            bounds = self._bounds.setdefault(id(polygon), polygon.bounds)
            self._known.append(polygon)  # so that no other one gets its id
        x0, y0, x1, y1 = bounds[0] + x, bounds[1] + y, bounds[2] + x, bounds[3] + y
        u0, v0, u1, v1 = self._around
        if x0 < u0 or y0 < v0 or x1 > u1 or y1 > v1:
            return False
        near = self._near(x0, y0, x1, y1, 0)
        if self._square and not near:
            return True
        moved = _moved(polygon, x, y)
        return (self._square or bool(self._room.covers(moved))) and not any(
            self._taken[k].intersects(moved) for k in near
        )

    def still_fit(self, polygon: Polygon, places: Sequence[Point], since: int) -> list[Point]:
        """Those places (mm) of a shape, each free when `since` shapes were laid, that the later ones left free."""
        if not places:
            return []
        x0, y0, x1, y1 = polygon.bounds
        at, later = numpy.array(places)[:, None, :], self._boxes[since:]
        low, high = numpy.add(at, (x0, y0)), numpy.add(at, (x1, y1))
        near = ((low <= later[:, 2:]) & (high >= later[:, :2])).all(axis=2).any(axis=1)
        left: list[Point] = []
        for place, doubtful in zip(places, near.tolist(), strict=True):
            if doubtful:  # boxes overlap: only then are the shapes themselves asked
                moved = _moved(polygon, *place)
                u0, v0, u1, v1 = moved.bounds
                if any(self._taken[since + k].intersects(moved) for k in self._near(u0, v0, u1, v1, since)):
                    continue
            left.append(place)
        return left

    def _near(self, x0: float, y0: float, x1: float, y1: float, since: int) -> list[int]:
        """Which of the shapes laid later than `since` have boxes that overlap a box."""
        boxes = self._boxes[since:]
        near = (boxes[:, 0] <= x1) & (boxes[:, 2] >= x0) & (boxes[:, 1] <= y1) & (boxes[:, 3] >= y0)
        found: list[int] = near.nonzero()[0].tolist()
        return found

    @property
    def laid(self) -> int:
        """How many shapes were laid."""
        return len(self._taken)


def _moved(polygon: Polygon, x: float, y: float) -> Polygon:
    return shapely.polygons(numpy.add(shapely.get_coordinates(polygon), (x, y)))


class RaysAcross(Struct, frozen=True, eq=False):
    """Rays from all along an outline, square into its material: what the search for narrow places starts from."""

    polygon: Polygon
    """What the outline encloses, arcs as chords."""
    ring: NDArray[numpy.float64]
    """The outline as a closed run of points (n, 2; mm), arcs as chords."""
    starts: NDArray[numpy.float64]
    """Where the rays start (m, 2; mm)."""
    across: NDArray[numpy.float64]
    """Which way they run, as unit vectors (m, 2)."""
    places: NDArray[numpy.float64]
    """How far along the outline each starts, mm."""
    fan: NDArray[numpy.float64]
    """Which ray of its corner's fan each is, from 1; 0 for those square to an edge."""


def rays_across(edges: Sequence[Edge], outside: bool, chord: float, along: Sequence[float]) -> RaysAcross | None:
    """The rays of an outline (mm); arcs as polygons within `chord`; `along` are shares of an edge. None without area.

    Both sides of the outline are looked at from within the material: inside the loop, or outside of it.
    """
    polygon = _largest(shapely.make_valid(Polygon([p for edge in edges for p in _edge_points(edge, chord, True)])))
    if polygon.is_empty:
        return None
    ring = numpy.asarray(polygon.exterior.coords)
    shares = numpy.asarray(along)
    a, d = ring[:-1], numpy.diff(ring, axis=0)
    length = numpy.hypot(d[:, 0], d[:, 1])
    kept = length > 0
    a, d, length = a[kept], d[kept], length[kept]
    left = numpy.column_stack((-d[:, 1], d[:, 0])) / length[:, None]
    # into the material: to the left of an outline that runs counter-clockwise, to its right when that is outside of it
    square = left if polygon.exterior.is_ccw != outside else -left
    starts = (a[:, None, :] + shares[None, :, None] * d[:, None, :]).reshape(-1, 2)
    across = numpy.repeat(square, len(shares), axis=0)
    before = numpy.cumsum(length) - length  # how far along the outline each edge begins
    # at each corner that stands into the material, where the outline turns away from it: rays between the squares of
    # its two edges, a fan of `FAN`
    neighbour = numpy.roll(square, 1, axis=0)
    standing = ((d / length[:, None]) * neighbour).sum(axis=1) < -1e-6
    fraction = numpy.linspace(0.0, 1.0, FAN)[None, :, None]
    fans = (neighbour[standing][:, None, :] * (1 - fraction) + square[standing][:, None, :] * fraction).reshape(-1, 2)
    size = numpy.hypot(fans[:, 0], fans[:, 1])
    at = numpy.repeat(before[standing], FAN)
    return RaysAcross(
        polygon=polygon,
        ring=ring,
        starts=numpy.vstack((starts, numpy.repeat(a[standing], FAN, axis=0))),
        across=numpy.vstack((across, fans / numpy.maximum(size, 1e-9)[:, None])),
        places=numpy.concatenate(((before[:, None] + shares[None, :] * length[:, None]).ravel(), at)),
        fan=numpy.concatenate((numpy.zeros(length.size * shares.size), numpy.arange(len(at)) % FAN + 1)),
    )


def not_rolled_over(rays: RaysAcross, below: float, outside: bool, every: bool = False) -> NDArray[numpy.intp]:
    """Which rays start where no disc of `below` mm across rolls along the side.

    Few where more than `FEW` start close together, unless `every` is wanted: which depends on where the outline begins.

    What a disc cannot reach is what a morphological opening takes away (Serra, Image Analysis and Mathematical
    Morphology, 1982): the shape taken in by the radius, then grown by it, against the shape itself; for the outside the
    two in the other order, a closing.
    """
    polygon, half = rays.polygon, below / 2
    side = half if outside else -half
    rolled = _moved_by_steps(_moved_by_steps(polygon, side), -side)
    rest = rolled.difference(polygon) if outside else polygon.difference(rolled)
    # what arcs of the rolling disc leave at the sides is no narrow place: thinner than their chords are off
    rest = rest.buffer(-half * ROLLED)
    if rest.is_empty:
        return numpy.empty(0, dtype=numpy.intp)
    rest = rest.buffer(half * ROLLED * 2)
    shapely.prepare(rest)
    near = numpy.flatnonzero(shapely.intersects_xy(rest, rays.starts[:, 0], rays.starts[:, 1]))
    if every or len(near) <= FEW:
        return near
    # of starts closer together than matters one is enough, of each corner's fan each ray
    spots = numpy.floor(rays.places[near] / (below * CLOSE)) * (FAN + 1) + rays.fan[near]
    _, first = numpy.unique(spots, return_index=True)
    return near[numpy.sort(first)]


FEW_PAIRS = 1_000_000
"""Pairs of rays and edges up to which trying each is quicker than a tree; found by timing, any value works."""


def near_rays(
    starts: NDArray[numpy.float64], ends: NDArray[numpy.float64], a: NDArray[numpy.float64], b: NDArray[numpy.float64]
) -> Iterator[tuple[NDArray[numpy.intp], NDArray[numpy.intp]]]:
    """Pairs of rays and edges (all mm), by position, whose boxes meet: those that meet are among them; lot by lot."""
    low, high = numpy.minimum(a, b) - NEAR_RAY, numpy.maximum(a, b) + NEAR_RAY
    if len(starts) * len(a) <= FEW_PAIRS:
        before, after = numpy.minimum(starts, ends), numpy.maximum(starts, ends)
        meet = (before[:, None, 0] <= high[None, :, 0]) & (low[None, :, 0] <= after[:, None, 0])
        meet &= (before[:, None, 1] <= high[None, :, 1]) & (low[None, :, 1] <= after[:, None, 1])
        yield numpy.nonzero(meet)  # type: ignore[misc]  # of two dimensions
        return
    tree = shapely.STRtree(shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1]))
    for first in range(0, len(starts), RAYS_AT_ONCE):
        lot = slice(first, first + RAYS_AT_ONCE)
        rays, edges = tree.query(shapely.linestrings(numpy.stack([starts[lot], ends[lot]], axis=1)))
        yield rays + first, edges


STEPPED = 500
"""Corners above which a polygon is moved step by step; found by trying, any value works."""


def _moved_by_steps(polygon: Polygon, by: float) -> Polygon:
    """The polygon grown, or shrunk, by a disc: by a small one first where there are many corners.

    Growing by two discs is growing by one as large as both; the small one closes what is finer than it at the cost of
    a few crossings each, where the large one would cross hundreds of neighbours.
    """
    if shapely.get_num_coordinates(polygon) <= STEPPED:
        return polygon.buffer(by, 32)
    for share in (64, 64, 32, 16, 8, 4, 2):
        moved = polygon.buffer(by / share, 32)
        # points are taken out without a look at all others, which takes by the square; checked after, which does not
        plain = moved.simplify(abs(by) * 1e-5, preserve_topology=False)
        polygon = plain if plain.is_valid and not plain.is_empty else moved
    return polygon


def triangles_within(outline: NDArray[numpy.float64], corners: NDArray[numpy.float64]) -> list[list[Point]]:
    """Triangles between some points that lie within an outline (n, 2; mm), largest first.

    A Delaunay triangulation of the points knows nothing of the outline: triangles that reach across it are left out.
    """
    whole = Polygon(outline)
    found = shapely.get_parts(shapely.delaunay_triangles(shapely.MultiPoint(corners)))
    kept = [part for part in found if whole.is_valid and whole.covers(part)]
    kept.sort(key=lambda part: (-round(part.area, 6), part.bounds))
    return [[(x, y) for x, y in part.exterior.coords[:-1]] for part in kept]


RIBBON = 1e-4
"""Half width of the ribbon that stands for the line of a cut, mm (ours): it closes what rounding left open."""


def filled_outlines(
    cuts: Sequence[NDArray[numpy.float64]], areas: Sequence[NDArray[numpy.float64]], more: float
) -> list[list[Point]]:
    """The outsides of all that is within closed lines, or covered by `areas` (rings of points, mm).

    `cuts` are runs of points (n, 2) that close together. Hollows are filled, the safe side; `more` (mm) is added all
    round. Counter-clockwise, the largest first; of equals the one farther left, then lower.
    """
    pieces = [shapely.polygons(area) for area in areas]
    if cuts:
        # A ribbon round all lines: its outside is the outline, however the ends of runs were rounded.
        ribbon = shapely.union_all([shapely.linestrings(run) for run in cuts])
        ribbon = ribbon.buffer(RIBBON, join_style="mitre", cap_style="square")
        filled = [Polygon(part.exterior) for part in getattr(ribbon, "geoms", [ribbon])]
        pieces.append(shapely.union_all(filled).buffer(-RIBBON, join_style="mitre"))
    if not pieces:
        return []
    whole = shapely.union_all([piece for piece in pieces if not piece.is_empty], grid_size=1e-6)
    if more:
        whole = whole.buffer(more, join_style="mitre", mitre_limit=2.0)
    parts = [part for part in getattr(whole, "geoms", [whole]) if part.geom_type == "Polygon" and not part.is_empty]
    rings = []
    for part in parts:
        ring = shapely.get_coordinates(shapely.polygons(part.exterior).simplify(RIBBON / 10).exterior)[:-1]
        x, y = ring[:, 0], ring[:, 1]
        area = 0.5 * float((x * numpy.roll(y, -1) - numpy.roll(x, -1) * y).sum())
        if abs(area) > RIBBON:
            rings.append((abs(area), ring if area > 0.0 else ring[::-1]))
    rings.sort(key=lambda one: (-round(one[0], 4), *(round(float(c), 4) for c in one[1].min(axis=0))))
    return [[(float(x), float(y)) for x, y in ring] for _, ring in rings]

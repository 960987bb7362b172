"""The plate as triangles of six nodes, their sides on the true lines and arcs of its edges.

Points are set round each edge by arc length, as near to each other as the wanted size there says (real outlines have
edges of 0.03 mm, which need no nodes of their own). Inside, points are added at the centres of the circles round
triangles that are too large or too thin (Delaunay refinement: J. Ruppert, Journal of Algorithms 18, 1995), but never
within the circle over a piece of an edge: so every piece is a side of a triangle. Then the points are smoothed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from platekit.errors import StrengthError
from platekit.geometry import Arc, Edge, Loop, Point
from platekit.geometry.polygons import Within

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

PER_TURN: Final = 16
"""Pieces round a whole circle where only the plate's stiffness counts (ours; the tests on holes hold 24 to 1.5 %)."""
GROWTH: Final = 0.35
"""How fast triangles may grow away from what is small, mm a mm (ours), where the peak at an edge is the answer."""
GRID: Final = 7
"""Decimals of a mm to which nodes are rounded: far below what matters, far above what one processor computes otherwise
than another, so that all find the same triangles where four nodes lie on one circle."""
ACROSS: Final = 2.0
"""Triangles at least across a web (ours)."""
SMALLEST: Final = 0.4
"""No side is wanted shorter than this, mm (ours): below what any process cuts."""
SHARP: Final = math.radians(12)
"""A turn of the edge by more than this has a node of its own (ours)."""
CORNER: Final = math.radians(30)
"""A turn by more than this has one however near the last one is (ours)."""
MOST_TURN: Final = math.radians(36)
"""A piece of an edge turns by no more than this (ours): what a quadratic side follows to 0.1 % of its length."""
MOST_TRIANGLES: Final = 150_000
"""More than this is refused (ours): it would take minutes, and several GB of memory."""
COARSE_TURN: Final = 10
"""Pieces round a coarse opening (ours): the fewest that `MOST_TURN` allows."""
COARSE_ACROSS: Final = 1.2
"""Triangles at least across a web between coarse openings (ours)."""
LEAF: Final = 24
"""Nodes that are not divided any further (ours)."""
MOST_GRID: Final = 40_000
"""Points of the grid on which the wanted size is known (ours): as fine as the smallest hole wants, and yet quick."""
GRID_A_LOOP: Final = 60
"""And so many for each of very many openings (ours)."""
MOST_BULGE: Final = 0.1
"""A side's middle is put on the edge when this lies no farther off, in lengths of the side (ours): an arc of
`MOST_TURN` bulges by 0.08; what bulges more hides a corner too small to be followed."""
LEAST_ROOM: Final = 0.1
"""Share of its area that a triangle must have left at each node when a side of it is curved (ours)."""
NODES: Final = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0], [0.5, 0.0], [0.5, 0.5], [0.0, 0.5]])
"""The six nodes of a triangle by its own two coordinates: corners, then the middles of sides 01, 12, 20."""
ROW: Final = 3**0.5 / 2
"""Height of a regular triangle of side 1 (geometry)."""
ROUNDS: Final = 40
"""Rounds in which points are added, at most (ours; usual are 6 to 12)."""
FINER: Final = (1.0, 0.7, 0.45)
"""Where that does not help, finer triangles, by this share (ours): they leave room where two edges lie close."""
SMOOTHINGS: Final = (6, 2, 0)
"""Rounds of smoothing; where a piece of an edge is lost, again with fewer (ours)."""


def quadratic(places: Floats) -> tuple[Floats, Floats]:
    """The six functions of a triangle at places (shares of its sides, no unit): values (n, 6), derivatives (n, 6, 2).

    Each is one at its own node and nil at the five others (Zienkiewicz and Taylor, The Finite Element Method).
    """
    x, y = places[:, 0], places[:, 1]
    rest, none = 1 - x - y, np.zeros_like(x)
    values = np.stack(
        [rest * (2 * rest - 1), x * (2 * x - 1), y * (2 * y - 1), 4 * rest * x, 4 * x * y, 4 * y * rest], 1
    )
    by_x = np.stack([1 - 4 * rest, 4 * x - 1, none, 4 * (rest - x), 4 * y, -4 * y], 1)
    by_y = np.stack([1 - 4 * rest, none, 4 * y - 1, -4 * x, 4 * x, 4 * (rest - y)], 1)
    return values, np.stack([by_x, by_y], 2)


class Spot(Struct, frozen=True):
    """A disc within which triangles are no larger than `size` (mm): under a washer."""

    center: Point
    radius: float
    size: float


class Mesh(Struct, frozen=True, eq=False):
    """Triangles of six nodes: three corners counter-clockwise, then the middles of their sides 01, 12, 20.

    `nodes` are (n, 2) in mm. `edges` has an array (k, 3) for each loop, the outside first: corner, middle, corner of
    each side that lies on it, in the order of the loop.
    """

    nodes: Floats
    triangles: Whole
    edges: tuple[Whole, ...]


def mesh(
    outer: Loop,
    holes: Sequence[Loop],
    largest: float,
    per_turn: int = PER_TURN,
    *,
    spots: Sequence[Spot] = (),
    fixed: Sequence[Point] = (),
    growth: float = GROWTH,
    coarse: frozenset[int] = frozenset(),
) -> Mesh:
    """The region within `outer` and without the `holes` as triangles with sides of at most about `largest` mm.

    `per_turn` are the pieces round a whole circle, `spots` places that want finer triangles, `fixed` points that become
    nodes; `growth` is how fast triangles may grow away from what is small, mm a mm. `coarse` are the numbers of holes
    whose edges are wanted for the plate's stiffness only. Raises StrengthError where no mesh can be made.
    """
    turns = [COARSE_TURN if number - 1 in coarse else per_turn for number in range(len(holes) + 1)]
    # first what is tried last is least: smoothing may lose a piece of an edge, finer triangles cost time
    for finer in FINER:
        size = _Size((outer, *holes), largest * finer, turns, spots, growth * finer)
        for smoothings in SMOOTHINGS:
            made = _Mesher(size, (outer, *holes), fixed).made(smoothings)
            if made is not None:
                return _dissected(made)
    raise StrengthError("no mesh of the plate could be made: its edges lie too near to each other somewhere")


# ------------------------------------------------------------------------------------------ how large


class _Size:
    """The wanted length of sides anywhere: small at what is small, growing with the distance from it."""

    def __init__(
        self, loops: Sequence[Loop], largest: float, turns: Sequence[int], spots: Sequence[Spot], growth: float
    ) -> None:
        from scipy.spatial import cKDTree

        self.largest, self.turns, self._growth = largest, turns, growth
        points, owners, sizes = [], [], []
        for number, loop in enumerate(loops):
            for edge in loop.edges:
                size = largest
                if isinstance(edge, Arc) and not _is_scrap(edge):
                    size = max(min(largest, 2 * math.pi * edge.radius / turns[number]), SMALLEST)
                count = max(math.ceil(edge.length / (0.5 * size)), 2)
                # places half of the wanted size apart, and never on a vertex, stand for the edge from here on
                points.append(_along(edge, (np.arange(count) + 0.5) / count))
                owners.append(np.full(count, number))
                sizes.append(np.full(count, size))
        self._places = np.vstack(points)
        # a web between two edges wants `ACROSS` triangles. Of the nearest places those of the same loop are left aside:
        # where there are no others among them, the next edge is too far to matter
        owner = np.concatenate(owners)
        far, which = cKDTree(self._places).query(self._places, k=min(16, len(self._places)))
        width = np.where(owner[which] != owner[:, None], far, np.inf).min(1)
        across = np.where(np.array(turns)[owner] == COARSE_TURN, COARSE_ACROSS, ACROSS)
        webs = np.maximum(np.where(np.isfinite(width), width, np.inf) / across, SMALLEST)
        self._sizes = np.minimum(np.concatenate(sizes), webs)
        self._spots = spots
        low, high = self._places.min(0) - 2.0, self._places.max(0) + 2.0
        self.low, self.high = low, high
        # a grid as fine as the smallest size wants, or as coarse as the most points allow
        most = max(MOST_GRID, GRID_A_LOOP * len(loops))
        least = min([float(self._sizes.min()), *(spot.size for spot in spots)])
        self._step = max(min(largest / 8, least), math.sqrt(float(np.prod(high - low)) / most))
        self._shape = np.ceil((high - low) / self._step).astype(int) + 2
        across, up = (low[axis] + self._step * np.arange(self._shape[axis]) for axis in (0, 1))
        self._grid = self._exact(np.stack(np.meshgrid(across, up), -1).reshape(-1, 2))
        self.smallest = float(self._grid.min())

    def _exact(self, where: Floats) -> Floats:
        """The wanted size at places: from each source on, by levels of like sizes, the nearest of each counting."""
        from scipy.spatial import cKDTree

        # The wanted size is the least of size + growth x distance over all sources. Sources of like size (12 % apart)
        # share one tree, and beyond the distance where that exceeds the largest size none is asked.
        wanted = np.full(len(where), self.largest)
        level = np.floor(np.log(self._sizes / SMALLEST) / math.log(1.12) + 1e-9).astype(int)
        for one in np.unique(level):
            sources = level == one
            size = float(self._sizes[sources].min())
            if size < self.largest:
                far, _ = cKDTree(self._places[sources]).query(
                    where, distance_upper_bound=(self.largest - size) / self._growth + 1e-9
                )
                wanted = np.minimum(wanted, size + self._growth * far)
        for spot in self._spots:
            far = np.hypot(where[:, 0] - spot.center[0], where[:, 1] - spot.center[1]) - spot.radius
            wanted = np.minimum(wanted, spot.size + self._growth * np.maximum(far, 0.0))
        return wanted

    def __call__(self, where: Floats) -> Floats:
        """The wanted size at places, by straight lines between the points of a grid."""
        # bilinear: exact growth from the sources is asked once, at the grid; here thousands of places are asked again
        across, up = self._shape
        place = (where - self.low) / self._step
        i = np.clip(place[:, 0], 0, across - 2).astype(int)
        j = np.clip(place[:, 1], 0, up - 2).astype(int)
        u, v = np.clip(place[:, 0] - i, 0, 1), np.clip(place[:, 1] - j, 0, 1)
        k, grid = j * across + i, self._grid
        low = grid[k] * (1 - u) + grid[k + 1] * u
        high = grid[k + across] * (1 - u) + grid[k + across + 1] * u
        wanted: Floats = low * (1 - v) + high * v
        return wanted


# ------------------------------------------------------------------------------------------ along the edges


def _along(edge: Edge, places: Floats) -> Floats:
    """The points of an edge at places from 0 to 1."""
    if isinstance(edge, Arc):
        angle = edge.start + places * edge.sweep
        return np.stack(
            [edge.center[0] + edge.radius * np.cos(angle), edge.center[1] + edge.radius * np.sin(angle)], -1
        )
    a, b = np.array(edge.a), np.array(edge.b)
    straight: Floats = a + places[:, None] * (b - a)
    return straight


class _ByArcLength:
    """A loop as one curve by its arc length, mm: pieces may then run across vertices that need no node of their own."""

    def __init__(self, loop: Loop, per_turn: int) -> None:
        self.edges = loop.edges
        self.starts = np.concatenate([[0.0], np.cumsum([edge.length for edge in loop.edges])])
        self.length = float(self.starts[-1])
        needed = [0.0]  # how many pieces each edge needs because it turns; a scrap is joined as if it were a corner
        for edge in loop.edges:
            pieces = 0.0
            if isinstance(edge, Arc) and not _is_scrap(edge):
                pieces = abs(edge.sweep) / min(max(2 * math.pi / per_turn, SMALLEST / edge.radius), MOST_TURN)
            needed.append(pieces)
        self._needed = np.cumsum(needed)

    def __call__(self, way: Floats) -> Floats:
        """The points (mm) at these lengths along it."""
        way = way % self.length
        which = np.clip(np.searchsorted(self.starts, way, "right") - 1, 0, len(self.edges) - 1)
        points = np.empty((len(way), 2))
        for number in np.unique(which):
            here = which == number
            share = (way[here] - self.starts[number]) / (self.starts[number + 1] - self.starts[number])
            points[here] = _along(self.edges[number], share)
        return points

    def least(self, start: float, end: float) -> int:
        """How many pieces its arcs need between two lengths, mm."""
        whole = float(self._needed[-1])

        def until(way: float) -> float:
            rounds, rest = divmod(way, self.length)
            return rounds * whole + float(np.interp(rest, self.starts, self._needed))

        return math.ceil(until(end) - until(start) - 1e-6)

    def corners(self, size: _Size) -> list[float]:
        """The lengths (mm) at which a node is set whatever comes between.

        At sharp turns, and where both edges beside a vertex are long enough; the middle of a scrap of an arc stands for
        the corner that it rounds.
        """
        lengths = np.diff(self.starts)
        wanted = size(self(self.starts[:-1]))
        found: list[float] = []
        for number, edge in enumerate(self.edges):
            before = self.edges[number - 1]
            (ux, uy), (vx, vy) = before.direction(1.0), edge.direction(0.0)
            turn = abs(math.atan2(ux * vy - uy * vx, ux * vx + uy * vy))
            scrap = isinstance(edge, Arc) and _is_scrap(edge) and abs(edge.sweep) > CORNER
            if not scrap and turn <= SHARP and min(lengths[number], lengths[number - 1]) <= 0.6 * wanted[number]:
                continue
            here = float(self.starts[number])
            if scrap:
                found.append(here + edge.length / 2)
            elif turn > CORNER or not found or here - found[-1] > 0.3 * wanted[number]:
                found.append(here)
        return found or [0.0]

    def pieces(self, size: _Size) -> Floats:
        """The lengths (mm) along the loop at which its pieces start.

        Between two corners the integral of ds / size says how many pieces the wanted sizes ask for; equal shares of it
        give each the size that is wanted where it lies.
        """
        corners = self.corners(size)
        starts = []
        for number, start in enumerate(corners):
            end = corners[number + 1] if number + 1 < len(corners) else corners[0] + self.length
            # four steps a smallest size and sixty at least (ours), so that the sum stands for the integral
            steps = max(60, int((end - start) / size.smallest * 4))
            middles = start + (end - start) * (np.arange(steps) + 0.5) / steps
            passed = np.concatenate([[0.0], np.cumsum((end - start) / steps / size(self(middles)))])
            # a loop of one or two corners needs three pieces a stretch, or its ring would have no area
            count = max(round(float(passed[-1])), self.least(start, end), 1 if len(corners) > 2 else 3)
            at = np.linspace(0, passed[-1], count + 1)[:-1]
            starts.append(np.interp(at, passed, start + (end - start) * np.arange(steps + 1) / steps))
        return np.concatenate(starts)


def _is_scrap(arc: Arc) -> bool:
    """Whether an arc is too small or turns too little to be followed: its ends are joined as if it were a corner."""
    return arc.radius < SMALLEST or (arc.length < SMALLEST and abs(arc.sweep) < SHARP)


# ------------------------------------------------------------------------------------------ triangles


class _Mesher:
    """Makes one mesh: the pieces of the edges first, then what lies between."""

    def __init__(self, size: _Size, loops: Sequence[Loop], fixed: Sequence[Point]) -> None:
        from scipy.spatial import cKDTree

        self.size = size
        rings, middles, sides, first = [], [], [], 0
        self.counts = []
        inward = []
        for number, loop in enumerate(loops):
            way = _ByArcLength(loop, size.turns[number])
            starts = way.pieces(size)
            ends = np.append(starts[1:], starts[0] + way.length)
            rings.append(np.round(way(starts), GRID))
            middles.append(np.round(way((starts + ends) / 2), GRID))
            count = len(starts)
            sides.append(np.stack([np.arange(count), (np.arange(count) + 1) % count], 1) + first)
            self.counts.append(count)
            inward.append(np.full(count, -1.0 if number else 1.0))  # loops run counter-clockwise, holes too
            first += count
        self._inward = np.concatenate(inward)
        self.sides, self.middles = np.vstack(sides), np.vstack(middles)
        self.within = Within(rings[0], rings[1:])
        on_edges = np.vstack(rings)
        self.points = np.vstack([on_edges, np.asarray(fixed, dtype=np.float64).reshape(-1, 2)])
        self.held = len(self.points)
        ends = on_edges[self.sides]
        self._radii = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1) / 2
        self._circles = cKDTree(ends.mean(1))
        self._widest = float(self._radii.max())

    def made(self, smoothings: int) -> Mesh | None:
        """The mesh; None where a piece of an edge is no side of a triangle, or a node is in none."""
        if not self.within.is_plain:  # pieces of two edges cross: finer ones may not
            return None
        self.seed()
        self.refine()
        self.smooth(smoothings)
        triangles = self._triangles()
        corners = self.points[triangles]
        # slivers between nodes in one line, then all counter-clockwise: the order that the library gives is its own
        triangles = triangles[np.abs(_twice_area(corners)) > 1e-9]
        turned = _twice_area(self.points[triangles]) < 0
        triangles[turned] = triangles[turned][:, [0, 2, 1]]
        if np.unique(triangles).size != len(self.points):
            return None
        return self.with_middles(triangles)

    def _usable(self, where: Floats) -> NDArray[np.bool_]:
        """Whether each place lies in the plate and clear of its edges; the dear question only of those within."""
        usable = self.within.holds(where)
        inside = where[usable]
        if not len(inside):
            return usable
        # Ruppert's rule: as long as no node lies in the circle that has a piece as its diameter, the piece is a side of
        # a Delaunay triangle. A tenth more room keeps these triangles from being thin. Beyond the eight nearest circles
        # none is asked: neighbours of like size cannot crowd closer.
        count = min(8, len(self._radii))
        far, which = self._circles.query(inside, k=count, distance_upper_bound=2.5 * self._widest)
        near = np.isfinite(far).reshape(len(inside), count)
        radii = self._radii[np.where(near, which.reshape(len(inside), count), 0)]
        usable[usable] = ~((far.reshape(len(inside), count) < 1.12 * radii) & near).any(1)
        return usable

    def _triangles(self) -> Whole:
        """The Delaunay triangles of all points, those whose middle lies in the plate."""
        from scipy.spatial import Delaunay

        found = Delaunay(self.points).simplices.astype(np.int64)
        kept: Whole = found[self.within.holds(self.points[found].mean(1))]
        return kept

    def seed(self) -> None:
        """A row of points (mm) along every edge, then hexagonal lattices, one a level of size, a root of two apart.

        The row makes the triangles at an edge regular, so that the stress along it is smooth.
        """
        from scipy.spatial import cKDTree

        ends = self.points[self.sides]
        along = ends[:, 1] - ends[:, 0]
        inward = np.stack([-along[:, 1], along[:, 0]], 1) * self._inward[:, None] * ROW
        places = np.round(ends.mean(1) + inward, GRID)
        right = self._usable(places)
        # of two rows that meet (in a corner, or across a web) the points that crowd each other go
        places, room = places[right], 0.75 * np.linalg.norm(along[right], axis=1)
        near, _ = cKDTree(places).query(places, k=2) if len(places) > 1 else (np.full((len(places), 2), np.inf), None)
        self.points = np.vstack([self.points, places[near[:, 1] > room]])
        step = max(self.size.smallest, 0.3)
        while step < 1.01 * self.size.largest:
            rows = np.arange(self.size.low[1], self.size.high[1], step * 3**0.5 / 2)
            columns = np.arange(self.size.low[0], self.size.high[0], step)
            lattice = np.stack(np.meshgrid(columns, rows), -1)
            lattice[1::2, :, 0] += step / 2
            places = np.round(lattice.reshape(-1, 2), GRID)
            # each lattice only where its step is the wanted size to a quarter of an octave: the levels fit edge to edge
            wanted = self.size(places)
            places = places[(wanted >= step * 2**-0.25) & (wanted < step * 2**0.25)]
            places = places[self._usable(places)] if len(places) else places
            if len(places):
                far, _ = cKDTree(self.points).query(places)
                self.points = np.vstack([self.points, places[far > 0.7 * step]])
            step *= 2**0.5

    def refine(self) -> None:
        """Points (mm) added at the centres of the circles round triangles too large or too thin, till none is.

        Many at once, the worst first, none so near to another that both would not be wanted. Thin ones wait two rounds:
        by then most have gone with the large ones. sqrt(3) times the radius is the side of a regular triangle.
        """
        from scipy.spatial import cKDTree

        for number in range(ROUNDS):
            triangles = self._triangles()
            if len(triangles) > MOST_TRIANGLES:
                raise StrengthError(f"the plate would need more than {MOST_TRIANGLES} triangles, which takes too long")
            centers, radii = _circles_round(self.points[triangles])
            wanted = self.size(centers)
            ratio = radii * math.sqrt(3) / wanted
            bad = ratio > 1.30
            if number > 1:
                # by the law of sines the shortest side is the diameter times the sine of the least angle
                corners = self.points[triangles]
                a, b, c = (((corners[:, (k + 2) % 3] - corners[:, (k + 1) % 3]) ** 2).sum(1) for k in range(3))
                angles = [
                    np.arccos(np.clip((q + r - p) / (2 * np.sqrt(q * r)), -1, 1))
                    for p, q, r in ((a, b, c), (b, c, a), (c, a, b))
                ]
                least = np.minimum(np.minimum(*angles[:2]), angles[2])
                bad |= (least < math.radians(26)) & (ratio > 0.55)
            order = np.flatnonzero(bad)
            order = order[np.argsort(-ratio[order], kind="stable")]
            order = order[self._usable(centers[order])] if len(order) else order
            if not len(order):
                return
            places, sizes = np.round(centers[order], GRID), wanted[order]
            # of two new points that crowd each other the earlier, the worse, stays
            pairs = cKDTree(places).query_pairs(0.75 * float(sizes.max()), output_type="ndarray")
            if len(pairs):
                first, second = pairs.min(1), pairs.max(1)
                far = np.linalg.norm(places[first] - places[second], axis=1)
                close = far < 0.75 * np.minimum(sizes[first], sizes[second])
                kept = np.ones(len(places), dtype=bool)
                kept[second[close]] = False
                places, sizes = places[kept], sizes[kept]
            far, _ = cKDTree(self.points).query(places)
            places = places[far > 0.5 * sizes]
            if not len(places):
                return
            self.points = np.vstack([self.points, places])

    def smooth(self, rounds: int) -> None:
        """Each point (mm) to the mean of its triangles' middles, weighed so that the sizes stay as wanted."""
        for _ in range(rounds):
            triangles = self._triangles()
            corners = self.points[triangles]
            middles = corners.mean(1)
            wanted = self.size(middles)
            centers, radii = _circles_round(corners)
            # half-way between the circle's centre, which makes triangles regular, and the middle, which keeps points in
            # (optimal Delaunay and centroid smoothing; common practice); where a triangle is far too large the centre
            # lies far off, and only the middle counts
            weight = np.abs(_twice_area(corners)) / wanted**2
            target = np.where((radii > 2.5 * wanted)[:, None], middles, (centers + middles) / 2)
            flat = triangles.T.ravel()
            total = np.bincount(flat, np.tile(weight, 3), len(self.points))
            sums = [np.bincount(flat, np.tile(target[:, axis] * weight, 3), len(self.points)) for axis in (0, 1)]
            moved = self.points.copy()
            free = (np.arange(len(moved)) >= self.held) & (total > 0)
            moved[free] = np.round(np.stack(sums, 1)[free] / total[free, None], GRID)
            # a point that smoothing would push over an edge stays where it is for this round
            good = np.flatnonzero(free)
            good = good[self._usable(moved[good])] if len(good) else good
            self.points[good] = moved[good]

    def with_middles(self, triangles: Whole) -> Mesh | None:
        """The mesh with the middle nodes, on the true edge where there is one; None where a piece is no side."""
        # each side once, by its two nodes as one number: it gets one middle node, whichever triangles it belongs to
        count = len(self.points)
        sides = np.sort(np.vstack([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]]), 1)
        keys, first, which = np.unique(sides[:, 0] * count + sides[:, 1], return_index=True, return_inverse=True)
        middles = self.points[sides[first]].mean(1)
        # every piece of an edge has to be a side: else the mesh would cut a corner or bridge a slot
        pieces = np.sort(self.sides, 1)
        wanted = pieces[:, 0] * count + pieces[:, 1]
        where = np.minimum(np.searchsorted(keys, wanted), len(keys) - 1)
        if (keys[where] != wanted).any():
            return None
        along = np.linalg.norm(self.points[self.sides[:, 1]] - self.points[self.sides[:, 0]], axis=1)
        true = np.linalg.norm(self.middles - middles[where], axis=1) < MOST_BULGE * along
        straight = middles.copy()
        middles[where[true]] = self.middles[true]
        number = len(triangles)
        which = which.reshape(-1) + count
        six = np.concatenate([triangles, np.stack([which[k * number : (k + 1) * number] for k in range(3)], 1)], 1)
        # a middle moved on to a curved edge may fold a thin triangle over: that side stays straight
        nodes = np.vstack([self.points, middles])[six]
        change = np.einsum("qka,mkc->mqca", quadratic(NODES)[1], nodes)
        area = change[..., 0, 0] * change[..., 1, 1] - change[..., 0, 1] * change[..., 1, 0]
        folded = area.min(1) < LEAST_ROOM * _twice_area(nodes[:, :3])
        flat = np.unique(six[folded, 3:]) - count
        middles[flat] = straight[flat]
        rows = np.stack([self.sides[:, 0], where + count, self.sides[:, 1]], 1)
        edges = tuple(np.split(rows, np.cumsum(self.counts)[:-1]))
        return Mesh(np.vstack([self.points, middles]), six, edges)


def _dissected(made: Mesh) -> Mesh:
    """The same mesh with its nodes numbered so that a factor of its stiffness stays small.

    Triangles are halved again and again; of the nodes those of one half come first, then those of the other, then those
    that both have (nested dissection: A. George, SIAM Journal on Numerical Analysis 10, 1973). The factor of n nodes
    has n log n figures then. An order of least degree, which libraries offer, makes it a third smaller, but looking for
    it takes ten times as long as the factor itself on a plate with hundreds of openings.
    """
    triangles = made.triangles
    middles = made.nodes[triangles[:, :3]].mean(1)
    touched, waiting = (np.zeros(len(made.nodes), dtype=bool) for _ in range(2))
    found: list[Whole] = []

    def divide(some: Whole, nodes: Whole) -> None:
        """Puts `nodes` in order, all of them nodes of these triangles."""
        if len(nodes) <= LEAF or len(some) < 2:
            found.append(nodes)
            return
        here = middles[some]
        axis = int(np.ptp(here[:, 1]) > np.ptp(here[:, 0]))
        order = np.argsort(here[:, axis], kind="stable")
        one, other = some[order[: len(some) // 2]], some[order[len(some) // 2 :]]
        waiting[nodes] = True
        touched[triangles[one]] = True
        across = np.unique(triangles[other])
        across = across[waiting[across]]
        both = across[touched[across]]
        touched[triangles[one]] = False
        alone = np.unique(triangles[one])
        alone = alone[waiting[alone]]
        waiting[nodes] = False
        divide(one, np.setdiff1d(alone, both, assume_unique=True))
        divide(other, np.setdiff1d(across, both, assume_unique=True))
        found.append(both)

    divide(np.arange(len(triangles)), np.arange(len(made.nodes)))
    order = np.concatenate(found)
    number = np.empty_like(order)
    number[order] = np.arange(len(order))
    return Mesh(made.nodes[order], number[triangles], tuple(number[edge] for edge in made.edges))


def _twice_area(corners: Floats) -> Floats:
    """Twice the area of each triangle, above zero when it runs counter-clockwise."""
    one, two = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    area: Floats = one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]
    return area


def _circles_round(corners: Floats) -> tuple[Floats, Floats]:
    """Centre and radius of the circle through the corners of each triangle."""
    one, two = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    # three corners in one line have no circle: a tiny area puts the centre far off, where nothing takes it for a place
    area = 2 * _twice_area(corners)
    area = np.where(np.abs(area) < 1e-14, 1e-14, area)
    first, second = (one**2).sum(1), (two**2).sum(1)
    off = np.stack([two[:, 1] * first - one[:, 1] * second, one[:, 0] * second - two[:, 0] * first], 1) / area[:, None]
    return corners[:, 0] + off, np.hypot(off[:, 0], off[:, 1])

"""How near shapes come to each other in many poses at once; plain arrays, no objects, no shapely.

Vocabulary
    pose       where a shape's own frame lies in the plate frame: mirror first, then turn, then move
    poses      many of them, with the two ends of a straight travel of each
    core       the stretches that a shape is measured from: a point, a line, a chain of lines, a closed outline
    reach      how far the shape reaches beyond its core, mm
    filled     the inside of a closed outline belongs to the shape

A disc is a point with a reach, a slot a line with one: their distances are exact. Arcs become chains of lines that lie
outside the shape, at most `chord` mm away from it, so that a distance is never too large.

The distance of two stretches over a travel is that of the origin from the parallelogram or hexagon which the first
stretch, the travel and the second one taken backwards span. (The set of all differences of their points: a Minkowski
difference; of stretches it is a zonotope, whose sides are copies of the stretches themselves.)
"""

from __future__ import annotations

import math
from itertools import product

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from platekit.geometry.edges import Arc
from platekit.geometry.point import CHORD_ERROR, Point
from platekit.geometry.shapes import CurvedSlot, Disc, Shape, Slot

Numbers = NDArray[np.float64]
Flags = NDArray[np.bool_]

PIECE = 200_000
"""Most pairs of pose and stretch worked out at once (ours): their numbers stay in the processor's own memory."""
ROUGH = 0.5
"""Chord error of the outlines that are tried first, mm (ours: a tenth of the stretches)."""
FEW = 8
"""Outlines of so many stretches are not made rough (ours)."""
CORNERS = 12
"""Most corners of a convex outline by which its depth is told (ours: some percent of a circle)."""
PARTS = 6
"""Most triangles of an outline by which its depth is told (ours)."""
FLAT = 1e-12
"""Three stretches that span less area than this (mm2) have no inside (ours: rounding)."""


class Core(Struct, frozen=True):
    """What a shape is measured from: stretches from `a` to `b` (one row each, mm), `reach`, and whether it is filled.

    `middle` and `radius` are of a circle that holds the whole shape.
    """

    a: Numbers
    b: Numbers
    reach: float
    filled: bool
    middle: Point
    radius: float
    rough: Core | None = None
    """The same with fewer stretches, at most `ROUGH` farther out; None where there are few anyway."""

    @property
    def is_point(self) -> bool:
        """Whether it is one point."""
        return len(self.a) == 1 and bool((self.a == self.b).all())


class Poses(Struct, frozen=True):
    """Many poses of one part, one row each: `zero` (mm), cosine and sine of the turn, both ends of its travel (mm).

    `low` and `high` are told from nominal. All are mirrored or none is. Made with `poses`.
    """

    zero: Numbers
    cos: Numbers
    sin: Numbers
    mirrored: bool
    low: Numbers
    high: Numbers

    def __len__(self) -> int:
        return len(self.cos)

    def only(self, rows: Flags | NDArray[np.intp]) -> Poses:
        """Some of them, by number or by flag (no unit)."""
        zero, low, high = self.zero[rows], self.low[rows], self.high[rows]
        return Poses(zero, self.cos[rows], self.sin[rows], self.mirrored, low, high)

    def to_plate(self, points: Numbers) -> Numbers:
        """Points of the own frame (m, 2), mm, in the plate frame of every pose (n, m, 2), at nominal."""
        # Mirror first, then turn, then move, as everywhere.
        own = points * (-1.0, 1.0) if self.mirrored else points
        c, s = self.cos[:, None], self.sin[:, None]
        x = c * own[:, 0] - s * own[:, 1] + self.zero[:, 0, None]
        y = s * own[:, 0] + c * own[:, 1] + self.zero[:, 1, None]
        return np.stack([x, y], axis=-1)


def poses(
    zero: Numbers, turn: Numbers, mirrored: bool, low: Numbers | None = None, high: Numbers | None = None
) -> Poses:
    """Poses of `zero` (n, 2) mm and `turn` (n) rad, without travel or with the ends of it given (n, 2)."""
    none = np.zeros((len(turn), 2))
    ends = (none if low is None else low, none if high is None else high)
    return Poses(zero, np.cos(turn), np.sin(turn), mirrored, *ends)


# ---------------------------------------------------------------------------------------------- cores


def core_of(shape: Shape, chord: float = CHORD_ERROR, outside: bool = True) -> Core:
    """The core of a shape (mm) in its own frame.

    Arcs are put into lines at most `chord` mm beside them: outside the shape, or inside it with `outside=False`.
    """
    core = _core(shape, chord, outside)
    if not outside or len(core.a) <= FEW or chord >= ROUGH:
        return core
    rough = _core(shape, ROUGH, outside)
    return replace(core, rough=rough) if 2 * len(rough.a) <= len(core.a) else core


def _core(shape: Shape, chord: float, outside: bool) -> Core:
    box = shape.box
    radius = math.hypot(box.width, box.height) / 2
    if isinstance(shape, Disc):
        at = np.array([shape.center], dtype=np.float64)
        return Core(at, at, shape.radius, False, shape.center, shape.radius)
    if isinstance(shape, Slot):
        a, b = (np.array([end], dtype=np.float64) for end in (shape.a, shape.b))
        return Core(a, b, shape.radius, False, shape.centroid, shape.length / 2 + shape.radius)
    if isinstance(shape, CurvedSlot) and not shape.has_island and outside:
        # chords within its own arc; what they fall short by is added to the reach, so that all of the slot is held
        count = _pieces(shape.spine, chord)
        points = np.array([shape.spine.at(k / count) for k in range(count + 1)], dtype=np.float64)
        return Core(points[:-1], points[1:], shape.radius + chord, False, box.center, radius + chord)
    chain: list[Point] = []
    for edge in shape.loop().edges:
        chain.append(edge.a)
        if not isinstance(edge, Arc):
            continue
        # loops run counter-clockwise: an arc that turns left bulges out, and tangents hold it where its chords do not;
        # their corners lie farther off than chords of as many pieces, hence the half
        count = _pieces(edge, chord / 2)
        if (edge.sweep > 0) != outside:
            chain += [edge.at(k / count) for k in range(1, count)]
            continue
        step = edge.sweep / count
        out = edge.radius / math.cos(step / 2)
        for k in range(count):
            angle = edge.start + (k + 0.5) * step
            chain.append((edge.center[0] + out * math.cos(angle), edge.center[1] + out * math.sin(angle)))
    corners = np.array(chain, dtype=np.float64)
    return Core(corners, np.roll(corners, -1, axis=0), 0.0, True, box.center, radius + chord)


def _pieces(arc: Arc, chord: float) -> int:
    """Pieces of an arc so short that the lines between their ends leave it by at most `chord`: r (1 - cos half)."""
    largest = 2 * math.acos(max(1 - chord / arc.radius, 0.0))
    return max(math.ceil(abs(arc.sweep) / max(largest, 1e-6) - 1e-9), 1)


# ------------------------------------------------------------------------------------------ distances


def gaps(moving: Core, at: Poses, fixed: Core, far: float = math.inf, near: float = -math.inf) -> Numbers:
    """The distance of a moving shape over its travel from a fixed one, for every pose, mm.

    Exact for discs, slots and straight-sided outlines; at most a chord error too small for others; not above 0
    where they share space. Where it is more than `far` it may be any figure between `far` and the true one, where it is
    less than `near` any below that.

    >>> disc = core_of(Disc((0, 0), 5))
    >>> gaps(disc, poses(np.array([[30.0, 40.0]]), np.zeros(1), False), core_of(Disc((0, 0), 10))).tolist()
    [35.0]
    """
    if moving.is_point and fixed.is_point:
        start = at.to_plate(moving.a)[:, 0] - fixed.a[0]
        return _to_origin(start + at.low, at.high - at.low) - moving.reach - fixed.reach
    # from cheap to dear: the circles that hold the shapes, whose distance is certainly not too large, for all poses;
    # rough outlines for those that may matter; the full ones for what is still in question
    middle = at.to_plate(np.array([moving.middle], dtype=np.float64))[:, 0] - np.asarray(fixed.middle)
    result: Numbers = _to_origin(middle + at.low, at.high - at.low) - moving.radius - fixed.radius
    left = np.flatnonzero(result <= far)
    if moving.rough is not None or fixed.rough is not None:
        result[left] = _all_gaps(moving.rough or moving, at.only(left), fixed.rough or fixed)
        left = left[(result[left] <= far) & (result[left] >= near - 2 * ROUGH)]
    result[left] = _all_gaps(moving, at.only(left), fixed)
    return result


def _all_gaps(moving: Core, at: Poses, fixed: Core) -> Numbers:
    """The distances in every pose, some poses at a time."""
    result = np.empty(len(at))
    rows = max(PIECE // (len(moving.a) * len(fixed.a)), 1)
    for start in range(0, len(at), rows):
        part = np.arange(start, min(start + rows, len(at)))
        result[part] = _core_gaps(moving, at.only(part), fixed)
    return result


def _to_origin(start: Numbers, run: Numbers) -> Numbers:
    """Distance of the origin from stretches `start` to `start + run`, last axis x and y."""
    x, y, dx, dy = start[..., 0], start[..., 1], run[..., 0], run[..., 1]
    square = dx * dx + dy * dy
    place = np.clip(-(x * dx + y * dy) / np.where(square > 0, square, 1.0), 0.0, 1.0)
    return np.hypot(x + place * dx, y + place * dy)


def _core_gaps(moving: Core, at: Poses, fixed: Core) -> Numbers:
    """The distances in every pose, all at once: of each stretch from each other one, the least of them, less the reach.

    Outlines that do not cross lie apart or one in the other, so one point of each tells whether the sign turns.
    """
    a, b = at.to_plate(moving.a), at.to_plate(moving.b)
    start = (a + at.low[:, None, :])[:, :, None, :] - fixed.a
    spans = []
    if not (moving.a == moving.b).all():
        spans.append(np.broadcast_to((b - a)[:, :, None, :], start.shape))
    if not (fixed.a == fixed.b).all():
        spans.append(np.broadcast_to(fixed.a - fixed.b, start.shape))
    travel = at.high - at.low
    if travel.any():
        spans.append(np.broadcast_to(travel[:, None, None, :], start.shape))
    nearest: Numbers = _spanned(start, spans).min(axis=(1, 2))
    # Where no boundary is crossed, one point of each tells whether one lies in the other.
    inside = np.zeros(len(at), dtype=bool)
    if fixed.filled:
        inside |= _odd(fixed.a[None, :, :], fixed.b[None, :, :], a[:, 0] + at.low)
    if moving.filled:
        inside |= _odd(a, b, fixed.a[0] - at.low)
    signed: Numbers = np.where(inside, -nearest, nearest)
    return signed - moving.reach - fixed.reach


def _spanned(start: Numbers, spans: list[Numbers]) -> Numbers:
    """Distance of the origin from the figures that up to three stretches span from `start`; 0 inside."""
    if not spans:
        return np.hypot(start[..., 0], start[..., 1])
    # every side of the figure is a copy of one stretch, from a sum of some of the others; the copies that run through
    # the middle of it do no harm: an origin nearer to them is inside
    nearest = np.full(start.shape[:-1], np.inf)
    for index, along in enumerate(spans):
        others = spans[:index] + spans[index + 1 :]
        for taken in product((0.0, 1.0), repeat=len(others)):
            corner = start + sum((k * other for k, other in zip(taken, others, strict=True)), np.zeros(2))
            nearest = np.minimum(nearest, _to_origin(corner, along))
    if len(spans) > 1:
        # the origin is inside when along the normal of every side it is not beyond the farthest corner; a figure
        # without area, of stretches that all run one way, has no inside
        center = start + 0.5 * sum(spans[1:], spans[0])
        inside = np.ones(start.shape[:-1], dtype=bool)
        area = np.zeros(start.shape[:-1])
        for along in spans:
            widths = sum((np.abs(_cross(along, other)) for other in spans), np.zeros(1))
            inside &= np.abs(_cross(along, center)) <= 0.5 * widths
            area = area + widths
        nearest = np.where(inside & (area > FLAT), 0.0, nearest)
    return nearest


def _cross(a: Numbers, b: Numbers) -> Numbers:
    return np.asarray(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0])


def _odd(a: Numbers, b: Numbers, points: Numbers) -> Flags:
    """Whether a ray to the right from each point (n, 2) crosses its outline (n, m, 2) an odd number of times.

    Then the outline holds it. One outline for all points is (1, m, 2).
    """
    x, y = points[:, 0, None], points[:, 1, None]
    above_a, above_b = a[..., 1] > y, b[..., 1] > y
    passes = above_a != above_b
    share = (y - a[..., 1]) / np.where(passes, b[..., 1] - a[..., 1], 1.0)  # within 0 to 1 where it counts
    crossing = a[..., 0] + share * (b[..., 0] - a[..., 0])
    return np.asarray((passes & (x < crossing)).sum(axis=1) % 2 == 1)


def insets(moving: Core, at: Poses, outline: Core) -> Numbers:
    """How far inside an outline the moving shape stays over its travel, for every pose, mm; negative if it leaves.

    `outline` is made with `core_of(shape, outside=False)`, so that the figure is never too large. A disc's outline is
    measured from its middle, which is exact for a disc that moves in it.
    """
    ends = [at.to_plate(points) + by[:, None, :] for points in (moving.a, moving.b) for by in (at.low, at.high)]
    if not outline.filled:
        away = np.concatenate([end - outline.a[0] for end in ends], axis=1)
        farthest: Numbers = np.hypot(away[..., 0], away[..., 1]).max(axis=1)
        return outline.reach - farthest - moving.reach
    # how near the core comes to the edges of the outline, from inside or outside: both as bare lines
    line, bare = replace(outline, filled=False), replace(moving, filled=False)
    nearest = _all_gaps(bare, at, line) + moving.reach + outline.reach
    inside = np.ones(len(at), dtype=bool)
    for end in ends:
        for k in range(end.shape[1]):
            inside &= _odd(outline.a[None, :, :], outline.b[None, :, :], end[:, k])
    return np.where(inside, nearest, -nearest) - moving.reach


# ------------------------------------------------------------------------------------------------- depths


def convex_pieces(core: Core) -> tuple[Core, ...]:
    """Convex cores (mm) that lie within a shape: itself where it is convex, else the largest triangles of its outline.

    Of a core with many stretches only some corners are taken. None for a chain of lines.
    """
    if not core.filled:
        return (core,) if len(core.a) == 1 else ()
    every = max(math.ceil(len(core.a) / CORNERS), 1)
    corners = core.a[::every]
    along = np.roll(core.a, -1, axis=0) - core.a
    turns = _cross(along, np.roll(along, -1, axis=0))
    if (turns >= -FLAT).all() and turns.any():  # it never turns right
        return (replace(core, a=corners, b=np.roll(corners, -1, axis=0), rough=None),)
    from platekit.geometry.polygons import triangles_within

    parts = [np.array(part, dtype=np.float64) for part in triangles_within(core.a, corners)[:PARTS]]
    return tuple(replace(core, a=part, b=np.roll(part, -1, axis=0), rough=None) for part in parts)


def depths(moving: tuple[Core, ...], at: Poses, fixed: tuple[Core, ...]) -> Numbers:
    """How deep convex pieces of a moving shape lie in those of a fixed one, for every pose, mm; 0 where they do not.

    Whoever moves every point of the shape by less than this leaves the two sharing space. The depth of two convex
    outlines is the least overlap along the normals of their sides and of the travel (separating axes; Gottschalk, Lin,
    Manocha 1996).
    """
    deepest = np.zeros(len(at))
    rows = max(PIECE // max((len(a.a) + len(b.a) + 1) * (len(a.a) + len(b.a)) for a in moving for b in fixed), 1)
    for start in range(0, len(at), rows):
        part = np.arange(start, min(start + rows, len(at)))
        here = at.only(part)
        for a in moving:
            for b in fixed:
                deepest[part] = np.maximum(deepest[part], _overlap(a, here, b))
    return deepest


def _overlap(moving: Core, at: Poses, fixed: Core) -> Numbers:
    """The least overlap of two convex cores along all normals, in every pose, mm; 0 where one of them parts the two."""
    a, b = at.to_plate(moving.a), at.to_plate(moving.b)
    sides = [] if moving.is_point else [b - a]
    if not fixed.is_point:
        sides.append(np.broadcast_to(fixed.b - fixed.a, (len(at), *fixed.a.shape)))
    travel = at.high - at.low
    if travel.any():
        sides.append(travel[:, None, :])
    if not sides:
        return np.zeros(len(at))
    along = np.concatenate(sides, axis=1)
    length = np.hypot(along[..., 0], along[..., 1])
    normals = np.stack([-along[..., 1], along[..., 0]], axis=-1) / np.where(length > 0, length, 1.0)[..., None]
    ends = moving.b if len(moving.a) == 1 else moving.a[:0]
    own = np.concatenate([a, at.to_plate(ends)], axis=1) if len(ends) else a
    other = np.concatenate([fixed.a, fixed.b]) if len(fixed.a) == 1 else fixed.a
    reach = np.einsum("nkd,npd->nkp", normals, own)
    low, high = np.einsum("nkd,nd->nk", normals, at.low), np.einsum("nkd,nd->nk", normals, at.high)
    first, last = reach.min(axis=2) + np.minimum(low, high), reach.max(axis=2) + np.maximum(low, high)
    stays = normals @ other.T
    shared = np.minimum(last - stays.min(axis=2), stays.max(axis=2) - first)
    least: Numbers = np.where(length > 0, shared, np.inf).min(axis=1)
    # beside each other, or touching with their reach only: the distance tells that, not the normals
    return np.where(np.isfinite(least) & (least > 0), least + moving.reach + fixed.reach, 0.0)

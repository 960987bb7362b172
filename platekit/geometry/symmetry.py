"""Whether a pattern of points is its own mirror image, and how many ways round it fits.

Everything is about the own origin of the pattern, whose own frame has the mirror line x = 0. Points may carry
*tags* (a hole size, say); only points of one tag can take each other's place. A *ring* is all points of one
tag at one radius.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterable, Sequence

from platekit.geometry.point import TAU, Point

_Tagged = tuple[Point, Hashable]


def mirrored_matches(points: Sequence[_Tagged], tol: float) -> bool:
    """True when mirroring x to -x in the own frame maps the tagged points to themselves within `tol` mm.

    >>> mirrored_matches([((5, 0), "M8"), ((-5, 0), "M8")], 0.1)
    True
    """
    return _maps_to_itself(points, lambda p: (-p[0], p[1]), tol)


def mirror_fits(points: Sequence[Point], tol: float, tags: Sequence[Hashable] | None = None) -> bool:
    """True when the mirrored pattern, turned somehow about the own origin, equals the pattern.

    >>> mirror_fits([(10, 0), (0, 10)], 0.1), mirror_fits([(10, 0), (0, 5)], 0.1)
    (True, False)
    """
    tagged = _tagged(points, tags)
    ring = _smallest_ring(tagged, tol)
    if not ring:
        return True
    first = math.atan2(ring[0][1], ring[0][0])
    return any(_maps_to_itself(tagged, _reflection(first + math.atan2(y, x)), tol) for x, y in ring)


def turn_order(points: Sequence[Point], tol: float, tags: Sequence[Hashable] | None = None) -> int:
    """How many turns about the own origin map the points to themselves within `tol` mm; 1 for none.

    0 stands for any turn: no point lies away from the origin.

    >>> turn_order([(1, 0), (0, 1), (-1, 0), (0, -1)], 0.01)
    4
    """
    tagged = _tagged(points, tags)
    rings = _rings(tagged, tol)
    if not rings:
        return 0
    # a turn that fits carries every ring round in cycles of one length, which so divides its number of points
    most = math.gcd(*(len(ring) for ring in rings))
    fitting = (k for k in range(most, 1, -1) if most % k == 0 and _maps_to_itself(tagged, _turn(TAU / k), tol))
    return next(fitting, 1)


def _tagged(points: Sequence[Point], tags: Sequence[Hashable] | None) -> list[_Tagged]:
    return [(p, None) for p in points] if tags is None else list(zip(points, tags, strict=True))


def _rings(tagged: Sequence[_Tagged], tol: float) -> list[list[Point]]:
    """Points away from the origin by tag and radius; radii less than `tol` apart share a ring."""
    by_tag: dict[Hashable, list[tuple[float, Point]]] = {}
    for p, tag in tagged:
        radius = math.hypot(*p)
        if radius > tol:
            by_tag.setdefault(tag, []).append((radius, p))
    rings: list[list[Point]] = []
    for members in by_tag.values():
        members.sort()
        last = -math.inf
        for radius, p in members:
            if radius - last > tol:
                rings.append([])
            rings[-1].append(p)
            last = radius
    return rings


def _smallest_ring(tagged: Sequence[_Tagged], tol: float) -> list[Point]:
    """The ring with the fewest points, of several the widest: it leaves the fewest, sharpest candidates."""
    rings = _rings(tagged, tol)
    return min(rings, key=lambda ring: (len(ring), -math.hypot(*ring[0])), default=[])


def _turn(angle: float) -> Callable[[Point], Point]:
    c, s = math.cos(angle), math.sin(angle)
    return lambda p: (c * p[0] - s * p[1], s * p[0] + c * p[1])


def _reflection(double: float) -> Callable[[Point], Point]:
    """Mirroring in the line through the origin at half the angle `double`."""
    c, s = math.cos(double), math.sin(double)
    return lambda p: (c * p[0] + s * p[1], s * p[0] - c * p[1])


def _maps_to_itself(tagged: Iterable[_Tagged], move: Callable[[Point], Point], tol: float) -> bool:
    """True when every moved point falls within `tol` of a point with its tag, each point used once."""
    points = list(tagged)
    size = max(tol, 1e-12)
    cells: dict[tuple[int, int], list[int]] = {}
    for k, ((x, y), _) in enumerate(points):
        cells.setdefault((math.floor(x / size), math.floor(y / size)), []).append(k)
    free = [True] * len(points)
    return all(_claim(points, cells, free, move(p), tag, size) for p, tag in points)


def _claim(
    points: Sequence[_Tagged],
    cells: dict[tuple[int, int], list[int]],
    free: list[bool],
    target: Point,
    tag: Hashable,
    tol: float,
) -> bool:
    """Use up the free point nearest to `target`; False when there is none within `tol`."""
    cx, cy = math.floor(target[0] / tol), math.floor(target[1] / tol)
    near = [k for i in (-1, 0, 1) for j in (-1, 0, 1) for k in cells.get((cx + i, cy + j), ())]
    fitting = [
        (away, k) for k in near if free[k] and points[k][1] == tag and (away := math.dist(points[k][0], target)) <= tol
    ]
    if not fitting:
        return False
    free[min(fitting)[1]] = False
    return True

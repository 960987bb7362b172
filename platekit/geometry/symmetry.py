"""Whether a pattern of points is its own mirror image, and how many ways round it fits.

Everything is about the own origin of the pattern, whose own frame has the mirror line x = 0. Points may carry
*tags* (a hole size, say); only points of one tag can take each other's place. A *ring* is all points of one
tag at one radius.

Every turn or mirror that maps the pattern to itself maps each ring to itself. So the moves worth trying are those that
take one point of the smallest ring to another of it; a textbook would sort the angles and look for a period in them
(Atallah, On symmetry detection, 1985), which is quicker but has no room for a tolerance at every point.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Sequence

from platekit.geometry.point import TAU, Point

_Tagged = tuple[Point, Hashable]


def mirrored_matches(points: Sequence[_Tagged], tol: float) -> bool:
    """True when mirroring x to -x in the own frame maps the tagged points to themselves within `tol` mm.

    >>> mirrored_matches([((5, 0), "M8"), ((-5, 0), "M8")], 0.1)
    True
    """
    return _maps_to_itself(points, (-1.0, 0.0, 0.0, 1.0), tol)


def mirror_fits(points: Sequence[Point], tol: float, tags: Sequence[Hashable] | None = None) -> bool:
    """True when the mirrored pattern, turned somehow about the own origin, equals the pattern within `tol` mm.

    >>> mirror_fits([(10, 0), (0, 10)], 0.1), mirror_fits([(10, 0), (0, 5)], 0.1)
    (True, False)
    """
    tagged = _tagged(points, tags)
    # the ring with the fewest points, of several the widest: it leaves the fewest, sharpest candidates
    ring = min(_rings(tagged, tol), key=lambda ring: (len(ring), -math.hypot(*ring[0])), default=[])
    if not ring:
        return True
    first = math.atan2(ring[0][1], ring[0][0])
    for x, y in ring:
        # mirrored in the line through the origin at half the sum of their angles, the first point falls on this one
        double = first + math.atan2(y, x)
        c, s = math.cos(double), math.sin(double)
        if _maps_to_itself(tagged, (c, s, s, -c), tol):
            return True
    return False


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
    for k in range(most, 1, -1):
        c, s = math.cos(TAU / k), math.sin(TAU / k)
        if most % k == 0 and _maps_to_itself(tagged, (c, -s, s, c), tol):
            return k
    return 1


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


def _maps_to_itself(tagged: Sequence[_Tagged], matrix: tuple[float, float, float, float], tol: float) -> bool:
    """True when every moved point falls within `tol` (mm) of a point with its tag, each point used once.

    `matrix` is the move as `(xx, xy, yx, yy)`, about the origin. Points lie in the cells of a grid as wide as the
    tolerance, so that a moved one is held against its neighbours only.
    """
    xx, xy, yx, yy = matrix
    size = max(tol, 1e-12)  # a grid needs a width
    cells: dict[tuple[int, int], list[int]] = {}
    for k, ((x, y), _) in enumerate(tagged):
        cells.setdefault((math.floor(x / size), math.floor(y / size)), []).append(k)
    free = [True] * len(tagged)
    for (x, y), tag in tagged:
        target = (xx * x + xy * y, yx * x + yy * y)
        cx, cy = math.floor(target[0] / size), math.floor(target[1] / size)
        near = [k for i in (-1, 0, 1) for j in (-1, 0, 1) for k in cells.get((cx + i, cy + j), ())]
        fitting = [
            (away, k)
            for k in near
            if free[k] and tagged[k][1] == tag and (away := math.dist(tagged[k][0], target)) <= size
        ]
        if not fitting:
            return False
        free[min(fitting)[1]] = False  # the nearest free one is used up
    return True

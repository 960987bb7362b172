"""The distance of two convex solids from what they reach in each direction.

A convex solid is told by its *support*: the farthest of its points in a direction. The difference of two convex solids
is convex too, and its point nearest to zero is the shortest way from one to the other. The search (P: Gilbert, Johnson,
Keerthi, IEEE Journal of Robotics and Automation 4, 1988) keeps at most four supports and looks for a better one in the
direction that the nearest point of their hull asks for; in each step the support also gives a lower bound.

The lower bound: all of the difference lies beyond the plane through its support square to the direction looked in, so
nothing of it is nearer to zero than that plane. The upper bound is the nearest point found. The search ends where the
two meet, and hands back the lower one, the safe side.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import combinations
from typing import NamedTuple

Spot = tuple[float, float, float]
"""A point in the plate frame with its height, mm."""
Support = Callable[[Spot], Spot]
"""The farthest point of a solid in a direction."""

CLOSE = 1e-7
"""Difference of the two bounds, in mm, at which the search ends (ours)."""
MOST_LOOKS = 400
"""Supports asked for before the search settles for the bound it has (ours)."""
FLAT = 1e-24
"""Below this a triangle is a line, in terms of its area squared over that of its sides (ours)."""


class ShortestWay(NamedTuple):
    """The shortest way between two solids: a lower bound of its length in mm, and its two ends."""

    length: float
    a: Spot
    b: Spot


class _Corner(NamedTuple):
    """A point of the difference, and the points of both solids that it came from."""

    w: Spot
    a: Spot
    b: Spot


def shortest_way(a: Support, b: Support, enough: float = math.inf) -> ShortestWay | None:
    """The shortest way between two convex solids, mm; None when they share space or come within `CLOSE`.

    Where it is longer than `enough` (mm), any lower bound above that may come back, with ends that lie about there.
    """
    enough = max(enough, CLOSE)  # a bound of nothing does not say that they are apart
    corner = _corner(a, b, (1.0, 0.0, 0.0))  # any first direction will do
    simplex, weights, v = [corner], [1.0], corner.w
    bound = 0.0
    for _ in range(MOST_LOOKS):
        size = math.sqrt(_dot(v, v))
        if size <= CLOSE:
            return None
        # towards zero: the corner of the difference that lies farthest against the nearest point so far
        corner = _corner(a, b, (-v[0], -v[1], -v[2]))
        bound = max(bound, _dot(v, corner.w) / size)
        # a corner that comes a second time would be kept for ever by rounding: nothing nearer is to be had
        if size - bound <= CLOSE or bound > enough or any(corner.w == own.w for own in simplex):
            break
        simplex.append(corner)
        simplex, weights, v = _nearest(simplex)
        if len(simplex) == 4:
            return None
    # the weights that make the nearest point of the difference make the two ends of the way of the solids' own points
    return ShortestWay(bound, _mean(weights, [c.a for c in simplex]), _mean(weights, [c.b for c in simplex]))


def convex_meet(a: Support, b: Support) -> bool:
    """Whether two convex solids share space or come within `CLOSE` (mm): no farther than to the first plane between."""
    simplex = [_corner(a, b, (1.0, 0.0, 0.0))]
    v = simplex[0].w
    # Of two that just touch, rounding can hand the same few corners round for ever. Where a look comes to a simplex
    # that an earlier one had, nothing new follows; one is kept to look back to, a later one after every doubling.
    kept: list[Spot] = []
    for looks in range(MOST_LOOKS):
        size = math.sqrt(_dot(v, v))
        if size <= CLOSE:
            return True
        spots = [v, *(own.w for own in simplex)]
        if spots == kept:
            return False
        if looks & (looks - 1) == 0:
            kept = spots
        corner = _corner(a, b, (-v[0], -v[1], -v[2]))
        # all of the difference lies beyond the plane through this corner
        if _dot(v, corner.w) > CLOSE * size or any(corner.w == own.w for own in simplex):
            return False
        simplex.append(corner)
        simplex, _, v = _nearest(simplex)
        if len(simplex) == 4:
            return True
    return False


def _corner(a: Support, b: Support, direction: Spot) -> _Corner:
    # the farthest point of a difference is the farthest of the one less the farthest, the other way, of the other
    x, y, z = direction
    p, q = a(direction), b((-x, -y, -z))
    return _Corner(_less(p, q), p, q)


def _dot(p: Spot, q: Spot) -> float:
    return p[0] * q[0] + p[1] * q[1] + p[2] * q[2]


def _less(p: Spot, q: Spot) -> Spot:
    return (p[0] - q[0], p[1] - q[1], p[2] - q[2])


def _mean(weights: list[float], spots: list[Spot]) -> Spot:
    # of one or two the sum is rounded once in any case, so that `fsum`, which costs more, is for three and more
    if len(spots) == 1:
        ((u,), ((px, py, pz),)) = weights, spots
        return (u * px, u * py, u * pz)
    if len(spots) == 2:
        (u, w), ((px, py, pz), (qx, qy, qz)) = weights, spots
        return (u * px + w * qx, u * py + w * qy, u * pz + w * qz)
    x, y, z = (math.fsum(w * spot[k] for w, spot in zip(weights, spots, strict=True)) for k in range(3))
    return (x, y, z)


def _nearest(simplex: list[_Corner]) -> tuple[list[_Corner], list[float], Spot]:
    """The part of a simplex on which its point nearest to zero lies, that point, and its weights.

    Four corners come back only when zero lies among them. Every point, line and triangle of the simplex is tried, the
    nearest wins: of at most four corners that is fourteen tries, and it does not lose its way where the corners lie
    almost in one plane, as walking from one part to its neighbour can.
    """
    if len(simplex) == 4:
        spots = [c.w for c in simplex]
        for k in range(4):
            # zero lies inside a tetrahedron when it is on the inner side of each face: the side of the fourth corner
            p, q, r = (spots[m] for m in range(4) if m != k)
            (ex, ey, ez), (fx, fy, fz) = _less(q, p), _less(r, p)
            normal = (ey * fz - ez * fy, ez * fx - ex * fz, ex * fy - ey * fx)
            inner, zero = _dot(normal, _less(spots[k], p)), -_dot(normal, p)
            if inner == 0.0 or inner * zero <= 0.0:
                break
        else:
            return simplex, [0.25] * 4, (0.0, 0.0, 0.0)
    if len(simplex) == 2:
        # the most usual, by the same sums without their lists
        first, second = simplex
        p, q = first.w, second.w
        e = _less(q, p)
        ee = _dot(e, e)
        t = -_dot(e, p) / ee if ee > 0.0 else -1.0
        if 0.0 < t < 1.0:
            u = 1.0 - t
            return simplex, [u, t], (u * p[0] + t * q[0], u * p[1] + t * q[1], u * p[2] + t * q[2])
        return ([second], [1.0], q) if _dot(q, q) < _dot(p, p) else ([first], [1.0], p)
    spots = [corner.w for corner in simplex]
    many = len(spots)
    # Points, then lines, then planes; of equally near ones the first stays. One whose nearest point is not between its
    # corners is left out: that point lies on one of its sides, which is tried, too.
    squares = [_dot(spot, spot) for spot in spots]
    lone = squares.index(min(squares))
    part: tuple[int, ...] = (lone,)
    best, weights, v = squares[lone], [1.0], spots[lone]
    sides: dict[tuple[int, int], tuple[Spot, float, float]] = {}
    for i, j in combinations(range(many), 2):
        p, q = spots[i], spots[j]
        e = _less(q, p)
        ee, ep = _dot(e, e), _dot(e, p)
        sides[i, j] = (e, ee, ep)
        t = -ep / ee if ee > 0.0 else -1.0
        if 0.0 < t < 1.0:
            u = 1.0 - t
            on = (u * p[0] + t * q[0], u * p[1] + t * q[1], u * p[2] + t * q[2])
            square = _dot(on, on)
            if square < best:
                best, part, weights, v = square, (i, j), [u, t], on
    # On a plane through p, along e and f, the nearest point p + s e + t f is square to both: two equations for s and t.
    for i, j, k in combinations(range(many), 3):
        (e, ee, ep), (f, ff, fp) = sides[i, j], sides[i, k]
        ef = _dot(e, f)
        det = ee * ff - ef * ef
        if det <= FLAT * ee * ff:
            continue
        s, t = (ef * fp - ff * ep) / det, (ef * ep - ee * fp) / det
        if s > 0.0 and t > 0.0 and s + t < 1.0:
            shares = [1.0 - s - t, s, t]
            on = _mean(shares, [spots[i], spots[j], spots[k]])
            square = _dot(on, on)
            if square < best:
                best, part, weights, v = square, (i, j, k), shares, on
    return [simplex[m] for m in part], weights, v

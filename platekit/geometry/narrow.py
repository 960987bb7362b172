"""The narrowest place of an outline: across a window, a neck, a tongue, or across a notch outside of it.

A place counts where two stretches of the outline face each other, within `FACING` of straight opposite; so neither the
corner of a rectangle nor the blunt tip of a wedge is a narrow place. From points of each edge a ray runs square through
the material until it meets the outline again; the shortest such way is the width.
From each corner that stands into the material a fan of rays starts.

Both ends of the shortest way across a place lie square to the outline or on such a corner, so rays from enough points
find it up to the spacing of the points. Whether the two sides face each other is asked of the disc that has the way as
its diameter. Between parallel sides nothing reaches into it. A side that leans by an angle cuts into it: square to the
leaning side, only the cosine of that angle is left of the half way, which is where `FACING` comes from.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from msgspec import Struct

from platekit.geometry.point import Point
from platekit.geometry.shapes import Disc, Shape

if TYPE_CHECKING:
    import numpy
    from numpy.typing import NDArray

    Array = NDArray[numpy.float64]

FACING = 0.88
"""A width counts where the disc across it fits in by this share: sides within some 28 degrees of parallel (ours)."""
CHORD = 0.002
"""How far the polygons that stand for arcs may be off, mm (ours)."""
ALONG = (0.02, 0.2, 0.5, 0.8, 0.98)
"""Where along each edge rays start, as shares of it (ours)."""
LEAST = 1e-6
"""A way shorter than this starts where it ends, mm (rounding)."""
FAR = 1e9
"""Farther than any plate, mm."""
AT_ONCE = 2_000_000
"""Pairs of rays and edges that are worked out at a time (ours): some 100 MB."""
REMEMBERED = 64
"""Answers that are kept (ours): of two edits that are tried most leave the parts of a guard as they were."""


class Narrow(Struct, frozen=True):
    """A narrow place: how wide it is (mm), and the middle of the way across."""

    width: float
    at: Point


@lru_cache(maxsize=REMEMBERED)
def narrowest(shape: Shape, below: float, outside: bool = False, every: bool = False) -> Narrow | None:
    """The narrowest place of a shape (mm) that is less than `below` mm wide, None where there is none.

    With `outside` the way runs across what the shape leaves free: a notch, the gap of a slit that bends round.
    Good to 0.01 mm where sides run parallel; elsewhere the true width may be a little less than is found. With `every`
    each ray is followed, so that a shape and its mirror image are as narrow as each other: for what is decided by it.

    >>> from platekit.geometry.loop import Loop
    >>> found = narrowest(Loop(((0, 0, 0), (60, 0, 0), (60, 6, 0), (0, 6, 0))), 18)
    >>> round(found.width, 6)
    6.0
    """
    if below <= 0:
        return None
    if isinstance(shape, Disc):
        width = 2 * shape.radius
        return Narrow(width, shape.center) if width < below and not outside else None
    import numpy  # only here, as below: numpy takes as long to import as most plates to be judged

    from platekit.geometry.polygons import not_rolled_over, rays_across

    rays = rays_across(shape.loop().edges, outside, CHORD, ALONG)
    if rays is None:
        return None
    a, b = rays.ring[:-1], rays.ring[1:]
    # Most outlines have no way that short, whatever discs roll along them: rays tell it ten times sooner than discs.
    if float(_ways_within(rays.starts, rays.across, a, b, below).min(initial=FAR)) >= below:
        return None
    chosen = not_rolled_over(rays, below, outside, every)
    if len(chosen) == 0:
        return None
    starts, inward = rays.starts[chosen], rays.across[chosen]
    many = len(a) * len(starts) > AT_ONCE
    lot = len(starts) if many else max(AT_ONCE // len(a), 1)
    best: Narrow | None = None
    for first in range(0, len(starts), lot):
        p, u = starts[first : first + lot], inward[first : first + lot]
        ways = _ways_within(p, u, a, b, below) if many else _ways(p, u, a, b)
        middles = p + u * (ways / 2)[:, None]
        # shortest first, so that the first whose disc has room is the narrowest of this lot; of equals the one that
        # starts first along the outline, whatever the sort of another machine would do
        for k in numpy.argsort(ways, kind="stable"):
            width = float(ways[k])
            if width >= (below if best is None else best.width):
                break
            d = b - a
            square = numpy.maximum((d * d).sum(axis=1), 1e-300)  # an edge of no length is a point, not a division by 0
            share = numpy.clip(((middles[k] - a) * d).sum(axis=1) / square, 0.0, 1.0)
            gap = middles[k] - (a + d * share[:, None])
            room = float(numpy.sqrt((gap * gap).sum(axis=1)).min())
            if room >= FACING * width / 2:
                best = Narrow(width, (float(middles[k][0]), float(middles[k][1])))
                break
    return best


def _ways(p: Array, u: Array, a: Array, b: Array) -> Array:
    """How far from each start its ray runs until it meets an edge; `FAR` where it meets none."""
    import numpy

    d = b - a
    # p + s u = a + t d: crossed with d it gives s, crossed with u it gives t; parallel ones divide by 0, do not count
    cross = u[:, None, 0] * d[None, :, 1] - u[:, None, 1] * d[None, :, 0]
    wx, wy = a[None, :, 0] - p[:, None, 0], a[None, :, 1] - p[:, None, 1]
    with numpy.errstate(divide="ignore", invalid="ignore"):
        along_ray = (wx * d[None, :, 1] - wy * d[None, :, 0]) / cross
        along_edge = (wx * u[:, None, 1] - wy * u[:, None, 0]) / cross
    meets = (numpy.abs(cross) > 0) & (along_ray > LEAST) & (along_edge >= -1e-9) & (along_edge <= 1 + 1e-9)
    shortest: Array = numpy.where(meets, along_ray, FAR).min(axis=1)
    return shortest


def _ways_within(p: Array, u: Array, a: Array, b: Array, most: float) -> Array:
    """As `_ways`, for ways of at most so many mm: only edges near a ray are asked."""
    import numpy

    from platekit.geometry.polygons import near_rays

    shortest: Array = numpy.full(len(p), FAR)
    for ray, edge in near_rays(p, p + u * most, a, b):
        d, w = (b - a)[edge], a[edge] - p[ray]
        cross = u[ray, 0] * d[:, 1] - u[ray, 1] * d[:, 0]
        with numpy.errstate(divide="ignore", invalid="ignore"):
            along_ray = (w[:, 0] * d[:, 1] - w[:, 1] * d[:, 0]) / cross
            along_edge = (w[:, 0] * u[ray, 1] - w[:, 1] * u[ray, 0]) / cross
        meets = (numpy.abs(cross) > 0) & (along_ray > LEAST) & (along_edge >= -1e-9) & (along_edge <= 1 + 1e-9)
        numpy.minimum.at(shortest, ray[meets], along_ray[meets])
    return shortest

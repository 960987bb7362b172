"""The frame of a survey, and which holes hang together in it.

The words used here:

    datum       the features that define the frame: the origin, and the pair that the x axis follows
    free        covariance with the frame fitted to all holes alike: shift and turn of the whole taken out; what
                matters for whether a plate that can be shifted and turned will fit
    body        holes that keep their distances whatever the loose motions do; holes outside the largest body float

Readings between holes do not say where the whole lies: a covariance of places means something only together with the
frame that they are told in. To change it is an S-transformation (Baarda 1973): the derivative of the framed places by
the unknowns carries it out. A hole that defines the frame has no variance, and the others carry its errors.
"""

from __future__ import annotations

import math
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from platekit.survey.net import CENTRE, CORNER, UNSCREWED, BadReading, Net

if TYPE_CHECKING:
    from platekit.survey.model import Array, NetModel

FLOAT_SHARE = 0.05
"""A hole whose sigma is above this share of the net's extent floats as well: straight-line accuracy has no meaning
there. Ours; holes in one row, measured only along it, are the usual case."""

_LOOSE_EXTENTS = 1e3
"""A motion that nothing holds counts as this many extents of the net long: far beyond any bound (ours)."""
GRID = 8
"""Decimals of a mm that surveyed places have. Ours: a millionth of what a torch can follow; a finer figure is the
processor's, not the survey's, and would give other bytes in the cut file on another machine."""


class Framed(Struct, frozen=True, eq=False):
    """Places in the survey's frame (n, 2), their derivative by the unknowns (2n, unknowns), the frame in words."""

    points: Array
    slope: Array
    words: str


def in_frame(net: Net, model: NetModel, unknowns: Array) -> Framed:
    """The places (mm) in the frame that the net asks for; `BadReading` when the x axis has no direction."""
    points = model.points(unknowns)
    slope = _point_slope(model, unknowns)
    origin, origin_slope, origin_words = _origin(net, model, unknowns, points, slope)
    angle, angle_slope, axis_words = _axis(net, model, points, slope)
    # local = turn (points - origin); its derivative has a part for each of the three, the turn's being the place turned
    # by a quarter: d local = turn (d points - d origin) + (y, -x) d angle
    cos, sin = math.cos(angle), math.sin(angle)
    turn = np.array([[cos, sin], [-sin, cos]])
    x, y = (points - origin).T
    local = np.column_stack([cos * x + sin * y, cos * y - sin * x])
    local = np.round(local, GRID) + 0.0
    moved = turn @ (slope.reshape(len(points), 2, -1) - origin_slope)
    spin = np.column_stack([local[:, 1], -local[:, 0]])
    moved += spin[:, :, None] * angle_slope
    return Framed(local, moved.reshape(2 * len(points), -1), f"{origin_words}, {axis_words}")


def _point_slope(model: NetModel, unknowns: Array) -> Array:
    """The derivative of all places by the unknowns, (2n, unknowns)."""
    slope = model.slope(unknowns)
    return np.eye(2 * model.holes, len(unknowns)) if slope is None else slope[: 2 * model.holes]


def _origin(net: Net, model: NetModel, unknowns: Array, points: Array, slope: Array) -> tuple[Array, Array, str]:
    """Where (0, 0) is, its derivative by the unknowns, and in words: corner, hole, a shape's centre, or the mean."""
    origin = net.origin or (CORNER if model.has_corner else CENTRE)
    if origin == CORNER:
        return np.zeros(2), np.zeros((2, len(unknowns))), "origin at the corner"
    if origin != CENTRE or CENTRE in model.names:
        hole = model.names.index(origin)
        return points[hole], slope[2 * hole : 2 * hole + 2], f"origin at {origin}"
    at = 2 * len(model.free)
    if model.shapes:
        there = np.zeros((2, len(unknowns)))
        there[0, at] = there[1, at + 1] = 1.0
        shape = "rectangle" if model.shapes[0].kind == "rectangle" else "bolt circle"
        return unknowns[at : at + 2], there, f"origin at the centre of the {shape}"
    chosen = [k for k, feature in enumerate(net.placed) if feature.kind not in UNSCREWED] or list(range(model.holes))
    mean = slope.reshape(model.holes, 2, -1)[chosen].mean(axis=0)
    return points[chosen].mean(axis=0), mean, "origin at the mean of the holes"


def _axis(net: Net, model: NetModel, points: Array, slope: Array) -> tuple[float, Array, str]:
    """Which way x points (rad), its derivative by the unknowns, and in words: along the corner, or hole to hole."""
    pair = net.x_axis
    if pair is None and model.has_corner and net.origin in (None, CORNER):
        return 0.0, np.zeros(slope.shape[1]), "x along the corner's edge"
    if pair is None:
        # the first two named; bores last, as several of them often lie at one centre
        ordered = sorted(net.placed, key=lambda feature: feature.kind in UNSCREWED)
        if len(ordered) < 2:
            return 0.0, np.zeros(slope.shape[1]), "x as it comes"
        pair = (ordered[0].name, ordered[1].name)
    a, b = (model.names.index(name) for name in pair)
    delta = points[b] - points[a]
    length = math.hypot(*delta)
    if length < 1e-9:
        raise BadReading(
            f"{pair[0]} and {pair[1]} come out at the same place; name two holes apart", (), pair, word="x_axis"
        )
    across = np.array([-delta[1], delta[0]]) / length**2
    turning = across @ (slope[2 * b : 2 * b + 2] - slope[2 * a : 2 * a + 2])
    return math.atan2(delta[1], delta[0]), turning, f"x from {pair[0]} to {pair[1]}"


def rigid_motions(points: Array) -> Array:
    """Shift in x, shift in y, and turn about the mean, as motions of all places (mm): (2n, 3), of length one each.

    About the mean the three are square to each other, so that each can be taken out by itself.
    """
    local = points - points.mean(axis=0)
    motions = np.zeros((2 * len(points), 3))
    motions[0::2, 0] = motions[1::2, 1] = 1.0
    motions[0::2, 2], motions[1::2, 2] = -local[:, 1], local[:, 0]
    lengths = np.sqrt((motions**2).sum(axis=0))
    return motions / np.where(lengths > 0.0, lengths, 1.0)


def without_frame(motions: Array, points: Array) -> Array:
    """Motions of the places (2n, k; mm) with shift and turn of the whole taken out."""
    rigid = rigid_motions(points)
    return np.asarray(motions - rigid @ (rigid.T @ motions), dtype=float)


def free_of_frame(covariance: Array, points: Array) -> Array:
    """The covariance (mm2) of the places (mm) with shift and turn of the whole taken out."""
    return without_frame(without_frame(covariance, points).T, points)


def turned_covariance(covariance: Array, *, turn: float, mirrored: bool = False) -> Array:
    """A covariance of places (mm2) once the pattern is mirrored (x to -x), then turned left by `turn` rad."""
    cos, sin = math.cos(turn), math.sin(turn)
    own = np.array([[cos, -sin], [sin, cos]]) @ np.diag([-1.0 if mirrored else 1.0, 1.0])
    whole = np.kron(np.eye(len(covariance) // 2), own)
    return np.asarray(whole @ covariance @ whole.T, dtype=float)


def floating_holes(model: NetModel, unknowns: Array, root: Array, loose: Array, *, corner: bool) -> tuple[str, ...]:
    """Names of the holes outside the largest body.

    `root` (unknowns, r) spans what the readings know about errors, mm at one sigma; `loose` what they do not know.
    A body is seen from two of its holes, and all that belongs to it keeps its distance from both: pairs that have too
    few such holes to make a larger body are passed over.
    """
    points = model.points(unknowns)
    slope = _point_slope(model, unknowns)
    extent = float(np.ptp(points, axis=0).max(initial=0.0))
    if loose.shape[1] == 3 and not (corner or model.edges or model.has_picture):
        # Nothing is loose but the whole, and seen from one of its holes that looks at the farthest, a hole goes four
        # times as far at most as the one that goes farthest when all are seen alike: near is plainly near.
        known = (slope @ root).reshape(model.holes, 2, -1)
        if 4.0 * float(_size(known).max()) <= FLOAT_SHARE * extent:
            return ()
    base = np.empty((len(slope), 0))
    if loose.shape[1]:
        # an orthonormal base of the loose motions that move any hole at all: a datum edge or a diameter can be loose
        # too
        vectors, sizes, _ = np.linalg.svd(slope @ (loose / np.sqrt((loose**2).sum(axis=0))), full_matrices=False)
        base = vectors[:, sizes > 1e-6]
    far = _LOOSE_EXTENTS * extent * base
    motions = np.hstack([slope @ root, far]).reshape(model.holes, 2, -1)
    limit = FLOAT_SHARE * extent
    if model.holes == 1 or limit == 0.0:
        return ()
    steady = np.zeros(model.holes, dtype=bool)
    if corner:
        steady = _size(motions) <= limit
    near: dict[int, NDArray[np.bool_]] = {}
    for a, b in combinations(range(model.holes), 2):
        for hole in (a, b):
            if hole not in near:
                # by how much the motions change the distance of each hole from this one, nothing where both are at one
                # place; a hair more than the limit, so that rounding cannot part a pair from what `held` says of it
                delta = points - points[hole]
                unit = delta / np.maximum(np.hypot(delta[:, 0], delta[:, 1]), 1e-300)[:, None]
                along = np.einsum("na,nap->np", unit, motions - motions[hole])
                near[hole] = np.sqrt((along**2).sum(axis=1)) <= (1.0 + 1e-9) * limit
        if not near[a][b] or (near[a] & near[b]).sum() <= steady.sum():
            continue
        # the motions as seen by someone who stands at a and looks at b: less the shift of a and the turn of b about it
        relative = motions - motions[a]
        local = points - points[a]
        squared = float(local[b] @ local[b])
        if squared > 0.0:
            turning = (local[b, 0] * relative[b, 1] - local[b, 1] * relative[b, 0]) / squared
            turned = np.stack([-local[:, 1, None] * turning, local[:, 0, None] * turning], axis=1)
            relative = relative - turned
        held = _size(relative) <= limit
        if held[b] and held.sum() > steady.sum():
            steady = held
        if steady.all():
            break
    return tuple(name for name, still in zip(model.names, steady, strict=True) if not still)


def _size(motions: Array) -> Array:
    """The longest axis of the ellipse that the motions of each hole span."""
    x, y = motions[:, 0], motions[:, 1]
    # the larger eigenvalue of the products, by Mohr's circle
    xx, yy, xy = (x * x).sum(axis=1), (y * y).sum(axis=1), (x * y).sum(axis=1)
    return np.asarray(np.sqrt((xx + yy) / 2.0 + np.hypot((xx - yy) / 2.0, xy)), dtype=float)

"""The edge of a hole along rays, and the circle through it: to a part of a pixel, chips and rust left out.

ray         from the middle outwards; the edge on it is where the grey value changes most steeply, first of those
that are nearly as steep: behind a chamfer that catches the light comes another edge
agreeing    rays whose edge lies on the fitted circle; the others are chips, burrs, rust, shadows
softness    sigma of the edge's blur, pixels, by the width of its rise at half height
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from platekit.geometry import Point
from platekit.scan.located import Frame
from platekit.scan.opencv import opencv
from platekit.scan.pictures import Picture

Array = NDArray[np.float64]

RAYS: Final = 180
REACHES: Final = (1.2, 0.8, 0.6)
"""How far from the circle so far an edge is looked for, mm, round after round (ours)."""
STEP: Final = 0.25
"""Of samples along a ray, pixels (ours)."""
SMOOTHED: Final = 0.75
"""Sigma by which a ray is smoothed before its steepest place is sought, pixels (ours)."""
AS_STEEP: Final = 0.6
"""Share of the steepest rise on a ray from which the first one counts (ours: behind it lies the chamfer)."""
ON_CIRCLE: Final = 0.12
"""How far from the circle an edge may lie to agree with it, mm, or one pixel where that is more (ours)."""
LEAST_RISE: Final = 2.0
"""Rise a pixel below which there is no edge on a ray, grey values (ours: three times the usual noise once smoothed)."""
TUKEY: Final = 4.685
"""Sigmas beyond which a ray counts for nothing: Tukey's biweight at 95 % efficiency (Robust Statistics, 1981)."""
LEAST_RADIUS: Final = 1.0
"""mm; smaller circles are not fitted (ours)."""


class Circle(Struct, frozen=True, eq=False):
    """A circle through an edge, mm of the frame. `sigma` is how far agreeing edges scatter, mm; `light` its inside.

    `edges` are all places where an edge was seen (n, 2), `agreeing` the share of rays on the circle, `contrast` the
    usual rise from inside to outside, grey values.
    """

    x: float
    y: float
    diameter: float
    sigma: float
    agreeing: float
    softness: float
    contrast: float
    light: bool
    edges: Array

    @property
    def at(self) -> Point:
        """Its centre, mm."""
        return (self.x, self.y)

    @property
    def radius(self) -> float:
        """Half of the diameter, mm."""
        return self.diameter / 2.0


def fitted_circle(picture: Picture, frame: Frame, at: Point, diameter: float, light: bool = False) -> Circle | None:
    """The circle through the edge near one that is about there (mm of the frame); None where rays show none.

    `light` says that the inside is brighter than the part: a hole with light behind it.
    """
    cv2 = opencv()
    centre, radius = np.array(at, dtype=float), diameter / 2
    angles = 2 * math.pi * np.arange(RAYS) / RAYS
    out = np.column_stack([np.cos(angles), np.sin(angles)])
    step = STEP * frame.pixel
    for nth, usual in enumerate(REACHES):
        # a large hole is off by more to begin with
        reach = max(usual, 0.03 * diameter) if nth == 0 else usual
        # never across the middle: a small hole has two edges on a line
        along = np.arange(-min(max(reach, 4 * frame.pixel), 0.8 * radius), max(reach, 4 * frame.pixel) + step, step)
        if len(along) < 8:
            return None
        places = centre + out[:, None, :] * (radius + along)[None, :, None]
        x, y = frame.pixels(places.reshape(-1, 2)).astype(np.float32).T
        shape = (RAYS, len(along))
        values = cv2.remap(picture.grey, x.reshape(shape), y.reshape(shape), cv2.INTER_CUBIC).astype(np.float32)
        smooth = cv2.GaussianBlur(values, (0, 0), sigmaX=SMOOTHED / STEP, sigmaY=0.01)
        rise = np.gradient(smooth.astype(float), STEP, axis=1) * (-1.0 if light else 1.0)
        steepest = rise.max(axis=1)
        peak = (rise >= AS_STEEP * steepest[:, None]) & (rise >= np.roll(rise, 1, 1)) & (rise > np.roll(rise, -1, 1))
        peak[:, :2] = peak[:, -2:] = False
        seen = peak.any(axis=1) & (steepest > LEAST_RISE)
        if seen.sum() < RAYS // 4:
            return None
        k = np.clip(peak.argmax(axis=1), 2, len(along) - 3)
        rows = np.arange(RAYS)
        before, here, after = (rise[rows, k + d] for d in (-1, 0, 1))
        bend = before - 2 * here + after
        # the top of a parabola through three samples
        part = np.where(bend < 0, (before - after) / np.where(bend < 0, 2 * bend, 1.0), 0.0)
        radii = radius + along[k] + np.clip(part, -1, 1) * step
        edges = (centre + out * radii[:, None])[seen]
        fitted = _robust_circle(edges, np.array([*centre, radius]))
        if fitted is None or fitted[2] < LEAST_RADIUS or math.dist(fitted[:2], at) > max(diameter, 4.0):
            return None
        centre, radius = fitted[:2], float(fitted[2])
    off = np.hypot(*(edges - centre).T) - radius
    on = np.abs(off) <= max(ON_CIRCLE, frame.pixel)
    if on.sum() < 8:
        return None
    rays = np.flatnonzero(seen)[on]
    sigma = float(1.4826 * np.median(np.abs(off[on] - np.median(off[on]))))
    inner, outer = (smooth[rays, np.clip(k[rays] + d, 0, len(along) - 1)] for d in (-8, 8))
    return Circle(
        x=float(centre[0]),
        y=float(centre[1]),
        diameter=2 * radius,
        sigma=sigma,
        agreeing=float(on.sum() / RAYS),
        softness=softness_of(rise[rays], k[rays]),
        contrast=float(np.median(np.abs(outer.astype(float) - inner))),
        light=light,
        edges=edges,
    )


def _robust_circle(points: Array, start: Array) -> Array | None:
    """Centre and radius by Gauss-Newton with Tukey's weights on the radial misfits; None where it runs away."""
    z = start.astype(float)
    # first by the median, which half of the rays may be wrong about: the weights need a start among the right ones
    away = np.hypot(*(points - z[:2]).T)
    z[2] = float(np.median(away))
    for _ in range(40):
        delta = points - z[:2]
        length = np.maximum(np.hypot(*delta.T), 1e-9)
        off = length - z[2]
        sigma = 1.4826 * float(np.median(np.abs(off))) + 1e-3
        share = off / (TUKEY * sigma)
        root = np.where(np.abs(share) < 1, 1 - share**2, 0.0)
        slope = np.column_stack([-delta / length[:, None], -np.ones(len(delta))])
        change = np.linalg.lstsq(slope * root[:, None], -off * root, rcond=None)[0]
        z = z + change
        if not np.isfinite(z).all() or z[2] <= 0:
            return None
        if float(np.abs(change).max()) < 1e-7:
            break
    return z


def softness_of(rise: Array, k: NDArray[np.intp]) -> float:
    """Sigma of the blur, pixels, in the middle of all rays: their rise's width at half height, less the smoothing.

    The slope of a blurred edge is a bell of the blur's own sigma; at half height it is 2.355 sigmas wide.
    """
    half = rise[np.arange(len(k)), k] / 2
    low = rise < half[:, None]
    columns = np.arange(rise.shape[1])
    right = np.where(low & (columns > k[:, None]), columns, rise.shape[1]).min(axis=1)
    left = np.where(low & (columns < k[:, None]), columns, -1).max(axis=1)
    wide = float(np.median(right - left - 1)) * STEP / 2.355
    return math.sqrt(max(wide**2 - SMOOTHED**2, 0.0))

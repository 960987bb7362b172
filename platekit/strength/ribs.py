"""A flat bar welded on edge to the plate, as a beam beside it that the plate takes along.

The bar is cut into short beams between stations. At each station it moves with the plate: by the mean of what the plate
does within a small ring there, as under a washer (`rings.py`). Its own axis lies half its height over the face, and so
it is stretched where the plate turns: that is most of what a rib does. Of its stiffness (axial, bending on edge, with
shear; S. P. Timoshenko) only what strains it counts: its movements as a whole cost nothing and are left out, so that
what remains are springs like those of a ring, and the loose plate needs no other factor. Sideways bending and torsion
of the bar are left out, which is on the safe side.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
from msgspec import Struct

from platekit.geometry import Point
from platekit.strength.element import SHEAR_SHARE
from platekit.strength.mesh import Floats
from platekit.strength.question import Rib
from platekit.strength.rings import BENT, FIGURES, Grip

LONG: Final = 25.0
"""Length of bar that one station stands for, mm (ours)."""
FEWEST, MOST = 5, 11
"""Stations of a bar (ours): more move sag by less than 1 %."""
NOTHING: Final = 1e-9
"""Share of its stiffest movement below which the bar is not strained at all (rounding)."""
PLACES: Final = 3
"""What a station has: its shift along the bar at the bar's axis, mm; its lift, mm; its slope along the bar, rad."""


class Welded(Struct, frozen=True, eq=False):
    """A bar on its stations: how much each strain of it feels of the stations' figures, and how stiff it is, N/mm.

    `mix` is (strains, 9 a station), `springs` (strains,). `places` (3 a station, 9 a station) are the movements of the
    stations; `edge` (beams, 3 a station) gives the stress at its free edge half-way between two
    stations, N/mm2, by them. `z` is the height of
    its axis over the middle plane, mm.
    """

    mix: Floats
    springs: Floats
    places: Floats
    edge: Floats
    z: float


def stations(rib: Rib) -> tuple[tuple[Point, float, float], ...]:
    """The rings (mm) through which a bar feels the plate, one after the other along it."""
    length = math.dist(rib.start, rib.end)
    count = min(max(round(length / LONG), FEWEST), MOST)
    return tuple(
        (
            (
                rib.start[0] + (rib.end[0] - rib.start[0]) * (number + 0.5) / count,
                rib.start[1] + (rib.end[1] - rib.start[1]) * (number + 0.5) / count,
            ),
            0.0,
            length / count / 2,
        )
        for number in range(count)
    )


def welded(rib: Rib, thickness: float, modulus: float, poisson: float, grips: Sequence[Grip]) -> Welded:
    """A bar (mm, N/mm2) on the grips of its stations."""
    z = rib.sign * (thickness + rib.height) / 2
    along = np.array(rib.end) - np.array(rib.start)
    length = float(np.linalg.norm(along))
    along /= length
    count = len(grips)
    step = length / count
    area, bent = rib.width * rib.height, rib.width * rib.height**3 / 12
    softer = 12 * modulus * bent / (SHEAR_SHARE * modulus / 2 / (1 + poisson) * area * step**2)
    across = modulus * bent / step**3 / (1 + softer)
    beam = np.zeros((2 * PLACES, 2 * PLACES))
    beam[np.ix_([0, 3], [0, 3])] = modulus * area / step * np.array([[1, -1], [-1, 1]])
    beam[np.ix_([1, 2, 4, 5], [1, 2, 4, 5])] = across * np.array(
        [
            [12, 6 * step, -12, 6 * step],
            [6 * step, (4 + softer) * step**2, -6 * step, (2 - softer) * step**2],
            [-12, -6 * step, 12, -6 * step],
            [6 * step, (2 - softer) * step**2, -6 * step, (4 + softer) * step**2],
        ]
    )
    stiffness = np.zeros((PLACES * count, PLACES * count))
    edge = np.zeros((count - 1, PLACES * count))
    far = rib.sign * rib.height / 2
    for number in range(count - 1):
        rows = np.s_[PLACES * number : PLACES * (number + 2)]
        stiffness[rows, rows] += beam
        # at the free edge the stretch of the axis, less the height times the curvature by the moment half-way: at the
        # ends of a short beam the moments jump, their mean is near the truth
        axial = np.array([-1, 0, 0, 1, 0, 0]) / step
        edge[number, rows] = modulus * axial - far * (beam[5] - beam[2]) / 2 / bent
    places = np.zeros((PLACES * count, FIGURES * count))
    for number, (grip, (center, _, _)) in enumerate(zip(grips, stations(rib), strict=True)):
        places[PLACES * number : PLACES * (number + 1), FIGURES * number : FIGURES * (number + 1)] = np.vstack(
            [along @ shift(grip, center), *lift_and_slope(grip, center, along)]
        )
    values, shapes = np.linalg.eigh(stiffness)
    strained = values > NOTHING * values[-1]
    return Welded(shapes[:, strained].T @ places, values[strained], places, edge, z)


def shift(grip: Grip, at: Point) -> Floats:
    """The mean shift of a ring along x and y at a place (mm), by its nine figures: (2, 9)."""
    # the three figures that tell of shifts hold the rigid movements of the ring exactly: solved for these
    moments = grip.moments_shifted
    rigid = np.stack([moments[:, 0, 0], moments[:, 1, 0], moments[:, 1, 1] - moments[:, 0, 2]], 1)
    back = np.linalg.inv(rigid)
    found = np.zeros((2, FIGURES))
    found[:, BENT:] = [back[0] - at[1] * back[2], back[1] + at[0] * back[2]]
    return found


def lift_and_slope(grip: Grip, at: Point, along: Floats) -> tuple[Floats, Floats]:
    """The plane that comes nearest to a ring's lift: its height at a place (mm) and its slope one way, (9,) each."""
    back = np.linalg.inv(grip.moments_bent[:3])
    lift, slope = np.zeros(FIGURES), np.zeros(FIGURES)
    lift[:3] = back[0] + at[0] * back[1] + at[1] * back[2]
    slope[:3] = along[0] * back[1] + along[1] * back[2]
    return lift, slope

"""What the readings say at a glance: rough distances between centres, before anything is adjusted.

The words used here:

    sketch      rough centre distances of the pairs that were measured, from all their readings together
    implied     a distance that an assumed even bolt circle or rectangle leaves no choice about

Readings of one pair are put together here as if they were independent, each by one over its variance: for a start that
is good enough. A triangle whose sides cannot be is refused before anything is adjusted, as the adjustment would bend
three holes into a row and blame whoever is near.
"""

from __future__ import annotations

import math
from functools import cached_property
from itertools import combinations

import numpy as np
from msgspec import Struct

from platekit.survey.model import Array, Indices, NetModel
from platekit.survey.net import PAIR_KINDS, BadReading, Net, Reading
from platekit.survey.order import ranking

TRIANGLE_LIMIT = 20.0
"""Sigmas by which one side of a triangle may exceed the two others together. Ours: a smaller excess is left to the
residuals, which can say which of the readings is wrong; a larger one is no triangle at all."""

LEAST_SIGMA = 1e-9
"""Share of the extent that the sigma of a distance is taken to be at least (ours)."""

_RADII = {"inside": -0.5, "over": 0.5, "centres": 0.0}


class Sketch(Struct, frozen=True, eq=False, dict=True):
    """Rough knowledge of a net: `distances` and `sigmas` (n, n), `corner` and `seen` (n, 2), NaN where nothing counts.

    `seen` is where features are in a picture, in its own mm.
    """

    distances: Array
    sigmas: Array
    sizes: Array
    corner: Array
    seen: Array

    @cached_property
    def triangles(self) -> tuple[Indices, Array]:
        """All triangles of which every side is known: their corners (t, 3), and the sides ab, bc, ac (t, 3), mm."""
        each = np.arange(len(self.distances))
        known = np.isfinite(self.distances) & (each[:, None] < each)
        first, second = np.nonzero(known)
        side, c = np.nonzero(known[first] & known[second])  # as known goes one way only, c comes after both
        a, b = first[side], second[side]
        sides = self.distances[a, b], self.distances[b, c], self.distances[a, c]
        return np.column_stack([a, b, c]), np.column_stack(sides)

    @cached_property
    def near(self) -> list[list[tuple[int, float, float]]]:
        """By hole, those to which a distance is known, in order: which, the distance and its sigma, mm.

        A sigma of nothing would make a reading outweigh all others, and divide by zero.
        """
        first, second = np.nonzero(np.isfinite(self.distances))
        sigmas = np.maximum(self.sigmas[first, second], LEAST_SIGMA * self.extent)
        found: list[list[tuple[int, float, float]]] = [[] for _ in range(len(self.distances))]
        for hole, *other in zip(
            first.tolist(), second.tolist(), self.distances[first, second].tolist(), sigmas.tolist(), strict=True
        ):
            found[hole].append((other[0], other[1], other[2]))
        return found

    @property
    def extent(self) -> float:
        """Size of the whole, mm: the longest that was read."""
        known = [self.distances[np.isfinite(self.distances)], np.abs(self.corner[np.isfinite(self.corner)])]
        if np.isfinite(self.seen).any():
            known.append(np.nanmax(self.seen, axis=0) - np.nanmin(self.seen, axis=0))
        longest = max((float(part.max()) for part in known if part.size), default=0.0)
        return longest or 1.0


def sketch_of(net: Net, model: NetModel) -> Sketch:
    """The sketch of a net, mm; `BadReading` when a reading leaves no distance of two holes, or a triangle is none."""
    sizes = _rough_sizes(net, model)
    n = model.holes
    counted = np.isfinite(model.sigma)
    live = counted[model.pair_rows]
    rows, ends = model.pair_rows[live], model.pair_ends[live]
    radii = np.append(sizes, 0.0)[model.pair_sizes[live]].sum(axis=1) / 2.0  # the last is a size that is not there
    distances = model.observed[rows] - 2.0 * model.pair_radii[live] * radii
    if (distances <= 0.0).any():
        at = int((distances <= 0.0).argmax())
        reading = net.readings[rows[at]]
        raise BadReading(
            f"reading {net.told(reading)}: not more than the two radii together ({net.say(float(radii[at]))}), "
            "so there is no distance; check its kind and the diameters",
            (int(rows[at]),),
            reading.features,
            () if reading.line is None else (reading.line,),
        )
    # a pair that was read more than once comes more than once: all of its readings are added up
    shares = 1.0 / model.sigma[rows] ** 2
    places = ends @ (n, 1)
    total, weight = (np.bincount(places, each, n * n).reshape(n, n) for each in (shares * distances, shares))
    total, weight = total + total.T, weight + weight.T
    live = counted[model.axis_rows]
    columns = model.axis_columns[live]
    axis_total = np.bincount(columns, model.observed[model.axis_rows[live]], 2 * n)
    axis_count = np.bincount(columns, minlength=2 * n)
    seen = np.full((n, 2), np.nan)
    live = counted[model.seen_rows]
    seen[model.seen_holes[live], model.seen_up[live]] = model.observed[model.seen_rows[live]]
    with np.errstate(invalid="ignore", divide="ignore"):
        sketch = Sketch(
            total / weight,
            np.where(weight > 0.0, weight**-0.5, np.nan),
            sizes,
            (axis_total / axis_count).reshape(n, 2),
            seen,
        )
    # the longest side less the two others, in sigmas of the three together
    corners, sides = sketch.triangles
    a, b, c = corners.T
    sigma = np.sqrt(sketch.sigmas[a, b] ** 2 + sketch.sigmas[b, c] ** 2 + sketch.sigmas[a, c] ** 2)
    excess = (2.0 * sides.max(axis=1) - sides.sum(axis=1)) / sigma
    if len(excess) and excess.max() > TRIANGLE_LIMIT:
        first, second, third = corners[ranking((-excess).tolist())[0]].tolist()
        raise _no_triangle(net, model, sketch, (first, second, third))
    return sketch


def _rough_sizes(net: Net, model: NetModel) -> Array:
    """Diameters, by least squares from those read and, where one is missing, from pairs read both inside and over."""
    column = {name: k for k, name in enumerate(model.sized)}
    counted = np.isfinite(model.sigma)
    own = model.size_rows[counted[model.size_rows]]
    diameters = model.size_columns[counted[model.size_rows]] - 2 * model.holes - model.picture
    read = {model.sized[k] for k in diameters.tolist()}
    # the same pair read inside and over differs by both diameters: half of the sum of the two is what that says
    by_pair: dict[frozenset[str], list[Reading]] = {}
    for index in model.pair_rows[counted[model.pair_rows]].tolist() if len(read) < model.holes else ():
        reading = net.readings[index]
        if not read.issuperset(reading.features):
            by_pair.setdefault(frozenset(reading.features), []).append(reading)
    both = [
        (first.features, (first.value - second.value) / step)
        for same in by_pair.values()
        for first, second in combinations(same, 2)
        if (step := _RADII[first.kind] - _RADII[second.kind])
    ]
    if not both:  # nothing hangs together: each is the mean of its own readings
        counts = np.bincount(diameters, minlength=len(column))
        sums = np.bincount(diameters, model.observed[own], len(column))
        return np.asarray(np.round(sums / np.maximum(counts, 1.0), 9), dtype=float)
    rows = np.zeros((len(own) + len(both), len(column)))
    rows[np.arange(len(own)), diameters] = 1.0
    for k, (names, _) in enumerate(both, start=len(own)):
        rows[k, [column[name] for name in names]] = 1.0
    values = np.append(model.observed[own], [value for _, value in both])
    sizes = np.linalg.lstsq(rows, values, rcond=None)[0]
    return np.asarray(np.round(sizes, 9), dtype=float)  # what rounding leaves differs from processor to processor


def _no_triangle(net: Net, model: NetModel, sketch: Sketch, corners: tuple[int, int, int]) -> BadReading:
    """What is said of three distances that make no triangle, with all readings that they come from."""
    a, b, c = corners
    sides = sorted(((a, b), (b, c), (a, c)), key=lambda side: -sketch.distances[side])

    def told(side: tuple[int, int]) -> str:
        return f"{model.names[side[0]]}-{model.names[side[1]]}"

    lengths = [float(sketch.distances[side]) for side in sides]
    meant = [{model.names[i], model.names[j]} for i, j in sides]
    indices = tuple(
        index
        for pair in meant
        for index, reading in enumerate(net.readings)
        if reading.kind in PAIR_KINDS and set(reading.features) == pair
    )
    lines = tuple(line for index in indices if (line := net.readings[index].line) is not None)
    return BadReading(
        f"{told(sides[0])} comes out at {net.say(lengths[0])} between centres, longer than {told(sides[1])} and "
        f"{told(sides[2])} together ({net.say(lengths[1])} + {net.say(lengths[2])}), which no triangle can be; "
        "check these readings and their kinds",
        indices,
        tuple(model.names[k] for k in corners),
        lines,
    )


# Distances that follow from an assumed shape ------------------------------------------------------------------------


def with_shapes(model: NetModel, sketch: Sketch) -> Sketch:
    """The sketch (mm), with the distances added that an even bolt circle or a rectangle leaves no choice about."""
    if not model.shapes:
        return sketch
    distances, sigmas = sketch.distances.copy(), sketch.sigmas.copy()
    usual = float(np.nanmedian(sigmas)) if np.isfinite(sigmas).any() else 1.0
    for shape in model.shapes:
        if shape.kind == "circle":
            continue  # uneven: every distance has a choice
        block = np.ix_(shape.members, shape.members)
        known = distances[block]
        if shape.kind == "rectangle":
            implied = _rectangle_sides(known)
        else:
            # all chords of an even circle are its diameter times the sine of half the angle between: any one read tells
            # the diameter, of several the median, which one blunder does not move far
            steps = np.abs(np.subtract.outer(np.arange(len(known)), np.arange(len(known))))
            chords = np.sin(math.pi * steps / len(known))
            with np.errstate(divide="ignore", invalid="ignore"):
                diameters = (known / chords)[np.isfinite(known) & (chords > 0.0)]
            implied = chords * float(np.median(diameters)) if diameters.size else np.full_like(known, np.nan)
        fill = np.isnan(distances[block]) & np.isfinite(implied)
        distances[block] = np.where(fill, implied, distances[block])
        sigmas[block] = np.where(fill, 3.0 * usual, sigmas[block])
    np.fill_diagonal(distances, np.nan)
    return Sketch(distances, sigmas, sketch.sizes, sketch.corner, sketch.seen)


def _rectangle_sides(known: Array) -> Array:
    """All distances of a rectangle from those read: of two sides and a diagonal, two give the third (Pythagoras)."""

    def mean(*sides: tuple[int, int]) -> float:
        values = [known[side] for side in sides if math.isfinite(known[side])]
        return float(np.mean(values)) if values else math.nan

    width, height, diagonal = mean((0, 1), (2, 3)), mean((1, 2), (0, 3)), mean((0, 2), (1, 3))
    if math.isnan(diagonal):
        diagonal = math.hypot(width, height)
    elif math.isnan(width) and diagonal > height:
        width = math.sqrt(diagonal**2 - height**2)
    elif math.isnan(height) and diagonal > width:
        height = math.sqrt(diagonal**2 - width**2)
    return np.array(
        [
            [math.nan, width, diagonal, height],
            [width, math.nan, height, diagonal],
            [diagonal, height, math.nan, width],
            [height, diagonal, width, math.nan],
        ]
    )

"""All arrangements of the holes that suit the readings, and which way round each is to be seen.

The words used here:

    arrangement   one settled solution: a model with its shapes the right way round, and its unknowns
    as well       an arrangement suits as well as the best when its chi-square is hardly larger
"""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
from msgspec import Struct

from platekit.survey.adjust import settle, without
from platekit.survey.model import Array, NetModel, model_of
from platekit.survey.net import BadReading, Net
from platekit.survey.order import ranked
from platekit.survey.result import Mirror
from platekit.survey.sketch import sketch_of
from platekit.survey.start import starts

AS_WELL = 9.0
"""Another arrangement suits the readings as well when its chi-square is at most so much larger: three sigmas of one
reading. Scaled up when the best arrangement itself suits badly. Ours."""

OFF_ROW = 3.0
"""Sigmas by which a hole must be off the line of two others before the three say which way round they go. Ours."""


SAME_SHARE = 1e-4
"""Share of the net's extent by which a distance differs between two arrangements that are not the same. Ours."""


class Arrangement(Struct, frozen=True, eq=False):
    """Settled unknowns of a model, with their sum of squares."""

    model: NetModel
    unknowns: Array
    chi_square: float

    @property
    def as_well(self) -> float:
        """The sum of squares up to which another arrangement suits as well as this one."""
        spare = max(self.model.counted - self.model.unknowns + 3, 1)
        return self.chi_square + AS_WELL * max(1.0, self.chi_square / spare) + 1e-9

    @property
    def points(self) -> Array:
        """Places of all holes, (n, 2)."""
        return self.model.points(self.unknowns)


def arrangements(net: Net, skip: tuple[int, ...] = ()) -> list[Arrangement]:
    """Every different arrangement that suits the readings as well as the best one, the best first.

    `skip` are places in `net.all_readings` of readings to leave out. Mirror images count as the same. Of arrangements
    that suit equally the widest goes first (holes of a part lie round it, and are seldom folded over each other), of
    equally wide ones that whose start was found first. This settles where a hole that floats is put as well.
    """
    model = without(model_of(net), skip)
    sketch = sketch_of(net, model)
    settled = [Arrangement(start.model, *settle(start.model, start.unknowns)) for start in starts(net, model, sketch)]
    possible = [found for found in settled if _possible(net, found)] or settled
    possible = [possible[k] for k in ranked([-_width(found) for found in possible])]
    possible = [possible[k] for k in ranked([found.chi_square for found in possible])]
    return different([found for found in possible if found.chi_square <= possible[0].as_well])


def different(found: list[Arrangement]) -> list[Arrangement]:
    """Arrangements of which no two have the same distances: of those alike the first is kept."""
    kept: list[Arrangement] = []
    for one in found:
        if not any(_same(one, other) for other in kept):
            kept.append(one)
    return kept


def _possible(net: Net, found: Arrangement) -> bool:
    """Whether no two holes overlap, and the bolt circle is gone round in the order named."""
    points = found.points
    sizes = dict(zip(found.model.sized, found.model.sizes(found.unknowns), strict=True))
    bores = {feature.name for feature in net.features if feature.kind == "bore"}  # holes may lie within a wide one
    radii = np.array([0.0 if name in bores else sizes.get(name, 0.0) / 2.0 for name in found.model.names])
    first, second = np.triu_indices(len(points), 1)
    gap = np.hypot(*(points[first] - points[second]).T) - 0.9 * (radii[first] + radii[second])
    if (gap < 0.0).any() or bool((np.array(list(sizes.values())) < 0.0).any()):
        return False
    for shape in found.model.shapes:
        if shape.kind == "circle" and net.going_round:
            angles = found.unknowns[2 * len(found.model.free) + 3 :][: len(shape.members)]
            steps = np.mod(np.diff(np.append(angles, angles[0])), 2.0 * math.pi)
            if round(float(steps.sum()) / (2.0 * math.pi)) not in (1, len(steps) - 1):
                return False
    return True


def _width(found: Arrangement) -> float:
    """All distances between holes together, mm."""
    first, second = np.triu_indices(len(found.points), 1)
    return float(np.hypot(*(found.points[first] - found.points[second]).T).sum())


def _same(one: Arrangement, other: Arrangement) -> bool:
    """Whether two arrangements have the same distances."""
    a, b = one.points, other.points
    first, second = np.triu_indices(len(a), 1)
    gap = np.hypot(*(a[first] - a[second]).T) - np.hypot(*(b[first] - b[second]).T)
    return bool(np.abs(gap).max(initial=0.0) <= SAME_SHARE * float(np.ptp(a, axis=0).max(initial=0.0)))


def _turns_same_way(a: Array, b: Array) -> bool:
    """Whether b is a turned and shifted, not mirrored."""
    a, b = a - a.mean(axis=0), b - b.mean(axis=0)
    return float(np.linalg.det(a.T @ b)) >= 0.0


def one_row(points: Array) -> bool:
    """Whether all points lie on one straight line."""
    spread = np.linalg.svd(points - points.mean(axis=0), compute_uv=False)
    return len(points) < 3 or bool(spread[1] < 1e-6 * max(float(spread[0]), 1e-12))


# The mirror image ---------------------------------------------------------------------------------------------------


def ways_round(net: Net, found: list[Arrangement]) -> tuple[list[Arrangement], Mirror]:
    """The arrangements, each the way round that `clockwise` or the corner says, and what settled it.

    Raises `BadReading` when the three holes of `clockwise` lie in one row, or go the other way at the corner.
    """
    best = found[0]
    if net.clockwise is None:
        return [_as_it_comes(net, one) for one in found], _settled_by(net, best)
    _check_triangle(net, best, net.clockwise)
    turned = [one for one in (_clockwise(net, one, net.clockwise) for one in found) if one is not None]
    if not turned or turned[0].chi_square > best.as_well:
        raise BadReading(
            f"the x and y readings put {', '.join(net.clockwise)} counter-clockwise; "
            "turn the three names round, or check which way x and y were measured",
            (),
            net.clockwise,
            word="clockwise",
        )
    return turned, "clockwise"


def _settled_by(net: Net, best: Arrangement) -> Mirror:
    if one_row(best.points):
        return "same"
    if not net.has_corner:
        return "open"
    other = _mirrored(net, best)
    return "corner" if other is None or other.chi_square > best.as_well else "open"


def _clockwise(net: Net, found: Arrangement, names: tuple[str, str, str]) -> Arrangement | None:
    return found if _area(found.points[_places(found, names)]) < 0.0 else _mirrored(net, found)


def _as_it_comes(net: Net, found: Arrangement) -> Arrangement:
    """The arrangement; when nothing tells it from its mirror image, the one whose first triangle goes left."""
    points = found.points
    if net.has_corner or one_row(points):
        return found
    areas = (_area(points[list(corners)]) for corners in combinations(range(len(points)), 3))
    first = next((area for area in areas if abs(area) > 1e-6), 1.0)
    return found if first > 0.0 else _mirrored(net, found) or found


def _area(corners: Array) -> float:
    (ax, ay), (bx, by), (cx, cy) = corners
    return float((bx - ax) * (cy - ay) - (cx - ax) * (by - ay)) / 2.0


def _places(found: Arrangement, names: tuple[str, str, str]) -> list[int]:
    return [found.model.names.index(name) for name in names]


def _check_triangle(net: Net, found: Arrangement, names: tuple[str, str, str]) -> None:
    corners = found.points[_places(found, names)]
    longest = max(math.dist(corners[i], corners[j]) for i, j in ((0, 1), (1, 2), (0, 2)))
    height = 2.0 * abs(_area(corners)) / longest if longest else 0.0
    if height < max(OFF_ROW * float(np.median(found.model.sigma[np.isfinite(found.model.sigma)])), 1e-6 * longest):
        raise BadReading(
            f"{', '.join(names)} lie in one row (the middle one is {net.say(height)} off it), "
            "so they do not say which way round; name three holes that make a triangle",
            (),
            names,
            word="clockwise",
        )


def _mirrored(net: Net, found: Arrangement) -> Arrangement | None:
    """The mirror image, adjusted anew when a corner tells left from right; None when there is none."""
    flip = np.array([1.0, -1.0])
    model, u = found.model, found.unknowns
    edges = u[len(u) - 2 * len(model.edges) :].reshape(-1, 2)
    turned = edges * np.array([-1.0, 1.0])
    if not net.has_corner:
        model, start = model.unknowns_at(found.points * flip, model.sizes(u), turned)
        return Arrangement(model, *settle(model, start))
    best: Arrangement | None = None
    middle = found.points.mean(axis=0)
    for k in range(8):
        angle = math.pi * k / 8.0
        cos, sin = math.cos(2.0 * angle), math.sin(2.0 * angle)
        points = middle + (found.points - middle) @ np.array([[cos, sin], [sin, -cos]])
        other, start = model.unknowns_at(points, model.sizes(u), turned)
        trial = Arrangement(other, *settle(other, start))
        apart = not _turns_same_way(found.points, trial.points)
        if apart and (best is None or ranked([best.chi_square, trial.chi_square])[0] == 1):
            best = trial
    return best

"""All arrangements of the holes that suit the readings, and which way round each is to be seen.

The words used here:

    arrangement   one settled solution: a model with its shapes the right way round, and its unknowns
    as well       an arrangement suits as well as the best when its chi-square is hardly larger

Distances alone leave two things open. One is the mirror image of the whole: every distance is the same in it. The other
is a part that hinges on two holes and can be folded over their line; in a net with enough readings the fold misses some
of them, in a poor one it suits as well. The sum of squares has a hollow for each, so each needs a start of its own, and
all that suit are kept: to choose one would be to guess.
"""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
from msgspec import Struct

from platekit.survey.adjust import settle, without
from platekit.survey.model import Array, NetModel, model_of, pair_indices
from platekit.survey.net import BadReading, Net
from platekit.survey.order import ranking
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
        """The sum of squares up to which another arrangement suits as well as this one.

        What it may be larger by grows with the mean square that the best one itself leaves (a ratio above 1 where
        sigmas were given too small), so that doubtful readings keep both arrangements open.
        """
        spare = max(self.model.counted - self.model.unknowns + 3, 1)
        return self.chi_square + AS_WELL * max(1.0, self.chi_square / spare) + 1e-9

    @property
    def points(self) -> Array:
        """Places of all holes, (n, 2), mm."""
        return self.model.points(self.unknowns)


def arrangements(net: Net, skip: tuple[int, ...] = ()) -> list[Arrangement]:
    """Every different arrangement (mm, rad) that suits the readings as well as the best one, the best first.

    `skip` are places in `net.all_readings` of readings to leave out. Mirror images count as the same. Of arrangements
    that suit equally the widest goes first (holes of a part lie round it, and are seldom folded over each other), of
    equally wide ones that whose start was found first. This settles where a hole that floats is put as well.
    Raises `BadReading` where readings leave no distance, or make a triangle that is none.
    """
    model = without(model_of(net), skip)
    sketch = sketch_of(net, model)
    settled = [Arrangement(start.model, *settle(start.model, start.unknowns)) for start in starts(net, model, sketch)]
    possible = [arrangement for arrangement in settled if _possible(net, arrangement)] or settled
    if len(possible) == 1:
        return possible
    # by width first, then by chi-square: `ranked` keeps the order of equals, so width decides among those that suit
    # alike
    widths = [float(_distances(arrangement.points).sum()) for arrangement in possible]
    possible = [possible[k] for k in ranking([-width for width in widths])]
    possible = [possible[k] for k in ranking([arrangement.chi_square for arrangement in possible])]
    return different([one for one in possible if one.chi_square <= possible[0].as_well])


def different(found: list[Arrangement]) -> list[Arrangement]:
    """Arrangements of which no two have the same distances (to a share of `SAME_SHARE`): the first of those alike."""
    kept: list[Arrangement] = found[:1]
    for one in found[1:]:
        apart = _distances(one.points)
        limit = SAME_SHARE * float(np.ptp(one.points, axis=0).max(initial=0.0))
        if all(np.abs(apart - _distances(other.points)).max(initial=0.0) > limit for other in kept):
            kept.append(one)
    return kept


def _distances(points: Array) -> Array:
    """The distance of every pair of points, mm."""
    first, second = pair_indices(len(points))
    return np.asarray(np.hypot(*(points[first] - points[second]).T), dtype=float)


def _possible(net: Net, found: Arrangement) -> bool:
    """Whether no two holes overlap, and the bolt circle is gone round in the order named."""
    points = found.points
    sizes = dict(zip(found.model.sized, found.model.sizes(found.unknowns), strict=True))
    bores = {feature.name for feature in net.features if feature.kind == "bore"}  # holes may lie within a wide one
    radii = np.array([0.0 if name in bores else sizes.get(name, 0.0) / 2.0 for name in found.model.names])
    first, second = pair_indices(len(points))
    # a tenth of overlap is forgiven, as diameters are readings with errors, too (ours)
    gap = _distances(points) - 0.9 * (radii[first] + radii[second])
    if (gap < 0.0).any() or bool((np.array(list(sizes.values())) < 0.0).any()):
        return False
    for shape in found.model.shapes:
        if shape.kind == "circle" and net.going_round:
            angles = found.unknowns[2 * len(found.model.free) + 3 :][: len(shape.members)]
            # all steps from hole to hole, each taken counter-clockwise, make one whole turn if the holes go round that
            # way, and all but one where they go round the other way; any other number is a jump over a neighbour
            steps = np.mod(np.diff(np.append(angles, angles[0])), 2.0 * math.pi)
            if round(float(steps.sum()) / (2.0 * math.pi)) not in (1, len(steps) - 1):
                return False
    return True


def one_row(points: Array) -> bool:
    """Whether all points (mm) lie on one straight line: across it, less than a millionth of their spread along it."""
    if len(points) < 3:
        return True
    # squares of the spread along and across, as Mohr's circle has them; what rounding leaves of those across is a
    # ten-thousandth of the limit
    x, y = (points - points.mean(axis=0)).T
    xx, yy, xy = float(x @ x), float(y @ y), float(x @ y)
    mean, half = (xx + yy) / 2.0, math.hypot((xx - yy) / 2.0, xy)
    return mean - half < 1e-12 * max(mean + half, 1e-24)


# The mirror image ---------------------------------------------------------------------------------------------------


def ways_round(net: Net, found: list[Arrangement]) -> tuple[list[Arrangement], Mirror]:
    """The arrangements (mm, rad), each the way round that `clockwise` or the corner says, and what settled it.

    Raises `BadReading` when the three holes of `clockwise` lie in one row, or go the other way at the corner.
    """
    best = found[0]
    if net.clockwise is None:
        mirror: Mirror = "open"
        # a picture shows left and right wherever it shows three holes that are in no row
        by: Mirror = "corner" if best.model.has_corner else "picture"
        if one_row(best.points):
            mirror = "same"
        elif best.model.has_corner or best.model.has_picture:
            other = _mirrored(net, best)
            mirror = by if other is None or other.chi_square > best.as_well else "open"
        return [_as_it_comes(net, one) for one in found], mirror
    names = net.clockwise
    corners = best.points[_places(best, names)]
    longest = max(math.dist(corners[i], corners[j]) for i, j in ((0, 1), (1, 2), (0, 2)))
    height = 2.0 * abs(_area(corners)) / longest if longest else 0.0
    # three holes that are almost in one row may be seen to turn either way, within the errors of the readings
    sigmas = best.model.sigma[np.isfinite(best.model.sigma)]  # none before the first reading
    usual = float(np.median(sigmas)) if sigmas.size else 0.0
    if height < max(OFF_ROW * usual, 1e-6 * longest):
        raise BadReading(
            f"{', '.join(names)} lie in one row (the middle one is {net.say(height)} off it), "
            "so they do not say which way round; name three holes that make a triangle",
            (),
            names,
            word="clockwise",
        )
    # clockwise as looked at, with y up: an area below zero
    both = (one if _area(one.points[_places(one, names)]) < 0.0 else _mirrored(net, one) for one in found)
    turned = [one for one in both if one is not None]
    if not turned or turned[0].chi_square > best.as_well:
        if net.has_picture and not net.has_corner:
            raise BadReading(
                f"the picture shows {', '.join(net.clockwise)} counter-clockwise: it is one of the other "
                "face, or the three names stand the wrong way round",
                (),
                net.clockwise,
                word="clockwise",
            )
        raise BadReading(
            f"the x and y readings put {', '.join(net.clockwise)} counter-clockwise; "
            "turn the three names round, or check which way x and y were measured",
            (),
            net.clockwise,
            word="clockwise",
        )
    return turned, "clockwise"


def _as_it_comes(net: Net, found: Arrangement) -> Arrangement:
    """The arrangement; when nothing tells it from its mirror image, the one whose first triangle goes left."""
    points = found.points
    if found.model.has_corner or found.model.has_picture or one_row(points):
        return found
    areas = (_area(points[list(corners)]) for corners in combinations(range(len(points)), 3))
    first = next((area for area in areas if abs(area) > 1e-6), 1.0)
    return found if first > 0.0 else _mirrored(net, found) or found


def _area(corners: Array) -> float:
    """The area of a triangle, counter-clockwise positive."""
    (ax, ay), (bx, by), (cx, cy) = corners
    return float((bx - ax) * (cy - ay) - (cx - ax) * (by - ay)) / 2.0


def _places(found: Arrangement, names: tuple[str, str, str]) -> list[int]:
    return [found.model.names.index(name) for name in names]


def _mirrored(net: Net, found: Arrangement) -> Arrangement | None:
    """The mirror image, adjusted anew when a corner tells left from right; None when there is none."""
    flip = np.array([1.0, -1.0])
    model, u = found.model, found.unknowns
    edges = u[len(u) - 2 * len(model.edges) :].reshape(-1, 2)
    turned = edges * np.array([-1.0, 1.0])
    if not (model.has_corner or model.has_picture):
        # distances do not notice: mirrored in the x axis, it is settled at once but for rounding
        model, start = model.unknowns_at(found.points * flip, model.sizes(u), turned)
        return Arrangement(model, *settle(model, start))
    # the corner does notice, so where the mirror line should run is part of the question: eight of them are tried
    best: Arrangement | None = None
    middle = found.points.mean(axis=0)
    for k in range(8):
        angle = math.pi * k / 8.0
        cos, sin = math.cos(2.0 * angle), math.sin(2.0 * angle)
        points = middle + (found.points - middle) @ np.array([[cos, sin], [sin, -cos]])
        other, start = model.unknowns_at(points, model.sizes(u), turned)
        trial = Arrangement(other, *settle(other, start))
        # settling may have fallen back to the image it came from: turned, not mirrored, their product has a determinant
        # of at least zero
        own, image = (points - points.mean(axis=0) for points in (found.points, trial.points))
        apart = float(np.linalg.det(own.T @ image)) < 0.0
        if apart and (best is None or ranking([best.chi_square, trial.chi_square])[0] == 1):
            best = trial
    return best

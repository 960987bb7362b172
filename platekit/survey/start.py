"""Where the holes may be, roughly: every arrangement from which the adjustment is worth starting.

    locus       the curve on which a reading puts a hole: a circle about a placed hole, a line x = ... or y = ...
    growing     from a triangle of known sides, or the holes known from the corner, hole after hole is put where two
                loci meet; two loci meet twice, so every hole can go to either side, and all arrangements that stay
                in keeping with the readings are followed side by side
    scattering  where growing gets stuck, the rest is thrown down at random (fixed seed) and left to the adjustment

Nothing here is precise, and nothing here decides: mirror images and flips all come out as starts of their own.

Growing is trilateration hole by hole with a beam search over the sides (of the many ways to place a graph by its
distances the one that readings of a shop suit: nearly all triangles, few holes). A least squares start must lie in the
right hollow of the sum of squares; to lie near its bottom is not needed.
"""

from __future__ import annotations

import math
from itertools import product
from statistics import median

import numpy as np
from msgspec import Struct

from platekit.survey.model import Array, Indices, NetModel, circle_through, pair_indices
from platekit.survey.net import Net
from platekit.survey.order import foremost, ranking
from platekit.survey.sketch import LEAST_SIGMA, Sketch, with_shapes

BEAM = 32
"""Arrangements followed side by side; five hinges that can each flip make as many. Ours: more are never practical."""

LARGE, BEAM_LARGE = 60, 8
"""In a net of more holes fewer arrangements are followed, as each takes a survey of its own (ours)."""

SCATTERS = 60
"""Random starts where growing gets stuck. Ours: finds all arrangements of the small nets that the tests know."""

FULLY_SCATTERED, LEAST_SCATTERS = 16, 3
"""Holes up to which all random starts are made, and the fewest that are: a large net that stays open is told so, with
the reading that helps, and each start takes the longer the more holes there are (ours)."""

IN_KEEPING_SIGMAS, IN_KEEPING_SHARE = 20.0, 0.02
"""An arrangement is followed while its rms misfit is below so many sigmas plus so much of the net's extent. Ours:
wide enough for a blunder, narrow enough to drop holes on the wrong side."""

PLAIN_SPREAD, PLAIN_SIGMAS = 1.0, 8.0
"""A hole goes to the one place that its distances have in common, without a search, where the holes that they go to lie
well off their best straight line, and every distance suits to so many sigmas. A place on the other side of that line
misses the distances by twice the mean square of how far off it they lie, over the mean distance: that has to be twice
what an arrangement in keeping may miss them by (ours)."""

ROBUST_CAP = 10.0
"""Misfit of one reading, in sigmas, beyond which it counts no more: one blunder must not move a hole. Ours."""

SEED = 20
"""Where the random starts begin: always the same, so that the same readings give the same holes (ours)."""
_NOWHERE = np.array([math.nan, math.nan])
_TURNS = 72
"""Directions that are tried all the way round: every 5 degrees (ours)."""
_REFINED = 12
"""How many of the best are refined (ours)."""


class StartingPoint(Struct, frozen=True, eq=False):
    """A model with its shapes the right way round, and unknowns (mm, rad) to begin with."""

    model: NetModel
    unknowns: Array


def starts(net: Net, model: NetModel, sketch: Sketch) -> list[StartingPoint]:
    """Every arrangement from which the adjustment should begin (mm, rad), the most promising first."""
    implied = with_shapes(model, sketch)
    places: list[Array] = []  # rough ones of all holes, (n, 2), as many arrangements as the readings allow
    if model.has_corner:
        known = np.isfinite(implied.corner).all(axis=1, keepdims=True)
        grown = _grow(model, implied, np.where(known, implied.corner, np.nan), absolute=True)
        places += [points for points in grown if np.isfinite(points).all()]
    if model.has_picture:
        # What is seen has its shape and its way round; distances that were read say how large it is.
        known = np.isfinite(implied.seen).all(axis=1, keepdims=True)
        seen = _grow(model, implied, np.where(known, implied.seen / _seen_scale(implied), np.nan), absolute=False)
        whole = [points for points in seen if np.isfinite(points).all()]
        if model.has_corner:
            whole = [turned for points in whole for turned in _turned_to_corner(points, implied)]
        places += whole
    grown = _grow(model, implied, _triangle_seed(implied), absolute=False)
    complete = [points for points in grown if np.isfinite(points).all()]
    if model.has_corner:
        places += [turned for points in complete for turned in _turned_to_corner(points, implied)]
    else:
        places += complete
        # without a picture a mirror image is told from the other by nobody, and one start is enough
        places += [points * np.array([1.0, -1.0]) for points in complete] if model.has_picture else []
    if not places:
        # Growing got stuck: random arrangements that keep what it has placed, the first of them laid evenly round. The
        # fewer the larger the net, as each takes longer.
        random = np.random.default_rng(SEED)
        count = max(LEAST_SCATTERS, round(SCATTERS * min(1.0, (FULLY_SCATTERED / model.holes) ** 2)))
        for k in range(count):
            places.append(_scatter(net, model, implied, grown[k % len(grown)], random if k else None))
    found: list[StartingPoint] = []
    for points in places:
        # every datum edge laid where its readings want it, up to two ways each, four in all
        ways = [_edge_ways(model, points, sketch.sizes, name) for name in model.edges]
        combined = [np.array(way).reshape(-1, 2) for way in product(*ways)][:4]
        found += [StartingPoint(*model.unknowns_at(points, sketch.sizes, edges)) for edges in combined]
    return found


def _seen_scale(sketch: Sketch) -> float:
    """How many mm of the picture a mm of the part takes: the middle one of what the distances read say, else 1."""
    apart = np.hypot(*(sketch.seen[:, None] - sketch.seen[None]).transpose(2, 0, 1))
    ratios = (apart / sketch.distances)[np.triu(np.isfinite(apart) & (sketch.distances > 0.0), 1)]
    scale = float(np.median(ratios)) if ratios.size else 1.0
    return scale if scale > 0.0 else 1.0


# Growing ------------------------------------------------------------------------------------------------------------


def _triangle_seed(sketch: Sketch) -> Array:
    """The triangle of known sides that is least flat, laid down; else one pair; else one hole."""
    d = sketch.distances
    points = np.full((len(d), 2), np.nan)
    corners, sides = sketch.triangles
    # Heron's formula; the height over the longest side says how flat a triangle is: a flat one has an uncertain third
    # corner, on which everything else would be built
    half = sides.sum(axis=1) / 2.0
    area = np.sqrt(np.maximum(half * np.prod(half[:, None] - sides, axis=1), 0.0))
    height = 2.0 * area / sides.max(axis=1, initial=1e-300)
    if len(height) and height.max() > 0.0:
        a, b, c = corners[foremost((-height).tolist())]
        x = (d[a, b] ** 2 + d[a, c] ** 2 - d[b, c] ** 2) / (2.0 * d[a, b])
        points[a], points[b] = (0.0, 0.0), (d[a, b], 0.0)
        points[c] = x, math.sqrt(max(d[a, c] ** 2 - x**2, 0.0))
        return points
    known = np.argwhere(np.isfinite(d))
    points[0 if not len(known) else known[0][0]] = (0.0, 0.0)
    if len(known):
        points[known[0][1]] = (d[known[0][0], known[0][1]], 0.0)
    return points


class Loci(Struct, frozen=True, eq=False):
    """Where a hole lies by its distances: circles about placed ones, mm, and lines x = and y = (`fixed`; NaN: none).

    `extent` is how far the net reaches, mm.
    """

    centres: Array
    radii: Array
    sigmas: Array
    fixed: Array
    extent: float

    @property
    def scale(self) -> Array:
        """Sigma of each distance, mm; one of nothing would make a reading outweigh all others, and divide by zero."""
        return np.asarray(np.maximum(self.sigmas, LEAST_SIGMA * self.extent), dtype=float)

    def misfits(self, candidates: Array) -> Array:
        """How far each candidate is off each circle, (candidates, circles), mm."""
        centres, radii = self.centres, self.radii
        return np.hypot(candidates[:, None, 0] - centres[:, 0], candidates[:, None, 1] - centres[:, 1]) - radii

    def cost(self, candidates: Array) -> Array:
        """The cost of each candidate (mm): squares in sigmas, none counted beyond the cap.

        A truncated loss: one blunder costs every place the same, so it decides nothing.
        """
        return np.asarray(
            np.minimum((self.misfits(candidates) / self.scale) ** 2, ROBUST_CAP**2).sum(axis=1), dtype=float
        )

    def refined(self, candidates: Array) -> Array:
        """The candidates (mm) moved to where they suit all circles best; blunders count little, `fixed` is kept.

        Gauss-Newton with the weights of Cauchy's law, one over one plus the square of the misfit over the cap:
        iteratively reweighted least squares (Huber, Robust Statistics, 1981, treats the kind). Three steps bring a
        start near enough.
        """
        centres, radii, scale, fixed = self.centres, self.radii, self.scale, np.isfinite(self.fixed)
        if len(radii) < 3:
            return candidates
        x, y = candidates.T
        for _ in range(3):
            dx, dy = x[:, None] - centres[:, 0], y[:, None] - centres[:, 1]
            length = np.maximum(np.sqrt(dx * dx + dy * dy), 1e-9)
            miss = length - radii
            weight = 1.0 / (scale**2 + (miss / ROBUST_CAP) ** 2)
            ux, uy = dx / length, dy / length
            all_three = np.array([ux, uy, miss])
            # two equations for x and y, by Cramer's rule; a hair on the diagonal where all circles lie one way
            (xx, xy, px), (_, yy, py) = np.einsum("ack,bck->abc", weight * all_three[:2], all_three)
            hair = 1e-6 * weight.sum(axis=1)
            xx, yy = xx + hair, yy + hair
            size = xx * yy - xy * xy
            x = x if fixed[0] else x - (yy * px - xy * py) / size
            y = y if fixed[1] else y - (xx * py - xy * px) / size
        return np.column_stack([x, y])

    def meetings(self) -> Array:
        """Where the circles meet each other and the lines of `fixed`, mm; nearest points where they do not."""
        centres, radii, fixed = self.centres, self.radii, self.fixed
        found: list[Array] = []
        if np.isfinite(fixed).all():
            found.append(fixed[None, :])
        for axis in np.flatnonzero(np.isfinite(fixed)):
            away = fixed[axis] - centres[:, axis]
            reach = np.sqrt(np.maximum(radii**2 - away**2, 0.0))
            for side in (1.0, -1.0):
                points = centres.copy()
                points[:, axis], points[:, 1 - axis] = fixed[axis], centres[:, 1 - axis] + side * reach
                found.append(points)
        if len(radii) > 1:
            # two circles meet on their radical line, at equal heights to both sides of the line of centres; where they
            # miss each other, at the foot. Of many pairs the dozen that meet over the largest triangles: those that
            # cross squarely and far apart, whose crossing errors shift the least.
            first, second = pair_indices(len(radii))
            delta = centres[second] - centres[first]
            length = np.maximum(np.hypot(delta[:, 0], delta[:, 1]), 1e-9)
            along = (length**2 + radii[first] ** 2 - radii[second] ** 2) / (2.0 * length)
            height = np.sqrt(np.maximum(radii[first] ** 2 - along**2, 0.0))
            widest = ranking((-height * length).tolist())[:12]
            unit = (delta / length[:, None])[widest]
            foot = centres[first][widest] + along[widest, None] * unit
            across = height[widest, None] * np.column_stack([-unit[:, 1], unit[:, 0]])
            found.append(np.vstack([foot + across, foot - across]))
        return np.vstack(found) if found else np.empty((0, 2))


def only_place(
    circles: list[tuple[float, float, float, float]], extent: float
) -> tuple[tuple[float, float], float, float] | None:
    """The one place (mm) that suits all distances, its squares in sigmas, its rms misfit (mm); None: search for it.

    Of circles of x, y, radius and sigma, mm. Squared distances, less their mean, are linear in the place: what is
    asked for solves two equations. One step on the distances themselves mends what squaring does to the weights.
    """
    # Plain figures: of a dozen numbers each, numpy takes longer to begin with a sum than to work it out.
    count = len(circles)
    middle_x = sum([x for x, _, _, _ in circles]) / count
    middle_y = sum([y for _, y, _, _ in circles]) / count
    xx = yy = xy = px = py = squares = 0.0
    for x, y, radius, _ in circles:
        dx, dy = x - middle_x, y - middle_y
        xx += dx * dx
        yy += dy * dy
        xy += dx * dy
        squares += radius * radius
        off = (dx * dx + dy * dy - radius * radius) / 2.0
        px += dx * off
        py += dy * off
    across = (xx + yy) / 2.0 - math.hypot((xx - yy) / 2.0, xy)  # squares of how far they lie off their best line
    miss = IN_KEEPING_SIGMAS * max([sigma for *_, sigma in circles]) + IN_KEEPING_SHARE * extent
    if across < PLAIN_SPREAD * count * math.sqrt(squares / count) * miss:
        return None
    size = xx * yy - xy * xy
    if not size > 0.0:
        return None
    there_x, there_y = middle_x + (yy * px - xy * py) / size, middle_y + (xx * py - xy * px) / size
    a = b = c = gx = gy = 0.0
    for x, y, radius, sigma in circles:
        dx, dy = there_x - x, there_y - y
        length = math.sqrt(dx * dx + dy * dy)
        if length < IN_KEEPING_SHARE * extent:
            return None
        weight, ux, uy = 1.0 / (sigma * sigma), dx / length, dy / length
        a += weight * ux * ux
        b += weight * uy * uy
        c += weight * ux * uy
        gx += weight * (length - radius) * ux
        gy += weight * (length - radius) * uy
    size = a * b - c * c
    if not size > 0.0:
        return None
    there_x -= (b * gx - c * gy) / size
    there_y -= (a * gy - c * gx) / size
    cost = squares = 0.0
    for x, y, radius, sigma in circles:
        dx, dy = there_x - x, there_y - y
        misfit = math.sqrt(dx * dx + dy * dy) - radius
        if abs(misfit) > PLAIN_SIGMAS * sigma:
            return None
        cost += (misfit / sigma) ** 2
        squares += misfit * misfit
    return (there_x, there_y), cost, math.sqrt(squares / count)


class _Branch(Struct, frozen=True, eq=False):
    """An arrangement as far as it was grown; what it costs in robust squares, its worst rms misfit at a hole, mm."""

    points: Array
    cost: float
    misfit: float

    def put(
        self, hole: int, sketch: Sketch, placed: Array, circles: list[Indices], absolute: bool, extent: float
    ) -> list[_Branch]:
        """The branch with one hole more, once for every place that its loci leave open (mm)."""
        # Every distance to a placed hole is a circle on which this one lies.
        if not (circles or absolute):
            here: list[tuple[float, float]] = self.points.tolist()
            there: list[bool] = placed.tolist()
            plain = [(*here[other], away, sigma) for other, away, sigma in sketch.near[hole] if there[other]]
            if len(plain) > 2 and (only := only_place(plain, extent)):
                place, more, spread = only
                points = self.points.copy()
                points[hole] = place
                return [_Branch(points, self.cost + more, max(self.misfit, spread))]
        near = np.flatnonzero(placed & np.isfinite(sketch.distances[hole]))
        centres, radii, sigmas = self.points[near], sketch.distances[hole][near], sketch.sigmas[hole][near]
        # three placed holes of a bolt circle tell where it runs: one locus more, with three times the sigma of a
        # reading
        for members in circles:
            on = members[placed[members]]
            if len(on) >= 3:
                centre, radius = circle_through(self.points[on])
                centres, radii = np.vstack([centres, centre]), np.append(radii, radius)
                sigmas = np.append(sigmas, 3.0 * (np.nanmedian(sketch.sigmas)))
        # In the corner's frame x and y readings are lines on which it lies; elsewhere nothing is known of them.
        fixed = sketch.corner[hole] if absolute else _NOWHERE
        loci = Loci(centres, radii, sigmas, fixed, extent)
        candidates = loci.meetings()
        if not len(candidates):
            return [self]
        best = ranking(loci.cost(candidates).tolist())[:_REFINED]
        candidates = loci.refined(candidates[best])
        misfits = loci.misfits(candidates)
        cost = loci.cost(candidates)
        spreads = np.sqrt((misfits**2).mean(axis=1)) if len(radii) else np.zeros(len(candidates))
        # the best place, and every other that keeps to the readings and lies clear of those taken: mostly the two sides
        order = np.array(ranking(cost.tolist()), dtype=np.intp)
        order = order[(spreads[order] <= _in_keeping(sketch, hole)) | (order == order[0])]
        chosen: list[_Branch] = []
        while len(order):
            k = order[0]
            points = self.points.copy()
            points[hole] = candidates[k]
            chosen.append(_Branch(points, self.cost + float(cost[k]), max(self.misfit, float(spreads[k]))))
            away = np.hypot(*(candidates[order] - candidates[k]).T)
            order = order[away > IN_KEEPING_SHARE * extent]
        return chosen


def _grow(model: NetModel, sketch: Sketch, seed: Array, *, absolute: bool) -> list[Array]:
    """Arrangements grown from a seed, hole after hole, the best held one first; what could not be reached is NaN.

    `absolute` says that the seed stands in the corner's frame, so that x and y readings are loci as well.
    """
    # A breadth-first search with a beam: a hinge flips at every hole, so all ways at once would double with each.
    branches = [_Branch(seed, 0.0, 0.0)]
    placed = np.isfinite(seed[:, 0])
    circles = [shape.members for shape in model.shapes if shape.kind == "circle"]
    known, extent = np.isfinite(sketch.distances), sketch.extent
    loci = known[:, placed].sum(axis=1)
    if absolute:
        loci += np.isfinite(sketch.corner).sum(axis=1)
    for _ in range(int((~placed).sum())):
        count = loci.copy()
        for members in circles:
            count[members] += int(placed[members].sum() >= 3)
        count[placed] = -1
        hole = int(count.argmax())  # the one with the most loci: the surest goes first, so that little is built on sand
        if count[hole] < 2:
            break
        round_ = [members for members in circles if hole in members]
        branches = [new for one in branches for new in one.put(hole, sketch, placed, round_, absolute, extent)]
        if len(branches) > 1:
            # those in keeping with the readings go on, or the best one; no more of them than the beam is wide
            ordered = [branches[k] for k in ranking([branch.cost for branch in branches])]
            limit = _in_keeping(sketch, hole)
            beam = BEAM if len(sketch.distances) <= LARGE else BEAM_LARGE
            branches = [branch for k, branch in enumerate(ordered) if k == 0 or branch.misfit <= limit][:beam]
        placed[hole] = True
        loci += known[:, hole]
    return [branch.points for branch in branches]


def _in_keeping(sketch: Sketch, hole: int) -> float:
    """The rms misfit (mm) at a hole up to which an arrangement is followed."""
    own = sketch.sigmas[hole][np.isfinite(sketch.sigmas[hole])]
    return IN_KEEPING_SIGMAS * (median(own.tolist()) if len(own) else 0.0) + IN_KEEPING_SHARE * sketch.extent


# Corner, edges, scattering ------------------------------------------------------------------------------------------


def _turned_to_corner(points: Array, sketch: Sketch) -> list[Array]:
    """The arrangement and its mirror image, each turned and shifted to suit the x and y readings: the best turns."""
    found: list[Array] = []
    # Distances alone do not tell an arrangement from its mirror image; x and y from a corner do.
    for mirror in (1.0, -1.0):
        local = points * np.array([1.0, mirror])
        turns = []
        known = np.isfinite(sketch.corner)
        for k in range(_TURNS):
            cos, sin = math.cos(2.0 * math.pi * k / _TURNS), math.sin(2.0 * math.pi * k / _TURNS)
            turned = np.asarray(local @ np.array([[cos, sin], [-sin, cos]]), dtype=float)
            # shifted by the mean of what the readings miss it by, along x and y each
            gap = np.where(known, sketch.corner - turned, 0.0).sum(axis=0) / np.maximum(known.sum(axis=0), 1)
            turns.append(np.asarray(turned + gap, dtype=float))
        cost = np.array([float(np.nansum((turn - sketch.corner) ** 2)) for turn in turns])
        found += [turns[k] for k in _lowest(cost)]
    return found


def _edge_ways(model: NetModel, points: Array, sizes: Array, name: str) -> list[tuple[float, float]]:
    """Angle and offset of a datum edge, of all directions the two in which its readings agree best.

    In the right direction each reading gives the same offset: the variance of the offsets tells.
    """
    rows = model.edge_ends[model.edge_ends[:, 1] == model.edges.index(name)]
    # The readings to this edge and no other, as each edge is laid by itself.
    values = model.observed[model.edge_rows[model.edge_ends[:, 1] == model.edges.index(name)]]
    if not len(rows):
        return [(0.0, 0.0)]  # nothing was measured to it: any place will do to begin with
    angles = 2.0 * math.pi * np.arange(_TURNS) / _TURNS
    away = points[rows[:, 0]] @ np.vstack([np.cos(angles), np.sin(angles)])
    offsets = away - (sizes[rows[:, 2]] / 2.0 + values)[:, None]
    spread = offsets.var(axis=0)
    return [(float(angles[k]), float(offsets[:, k].mean())) for k in _lowest(spread) or [0]]


def _lowest(cost: Array) -> list[int]:
    """The two lowest dips of what a turn costs; of a dip with a flat bottom its last place."""
    cost = np.round(cost, 6)
    dips = np.flatnonzero((cost <= np.roll(cost, 1)) & (cost < np.roll(cost, -1)))
    return [int(dips[k]) for k in ranking(cost[dips].tolist())][:2]


def _scatter(net: Net, model: NetModel, sketch: Sketch, grown: Array, random: np.random.Generator | None) -> Array:
    """One arrangement that keeps what was grown, every second time nothing; the rest random, or evenly round.

    On a bolt circle: random places on a random circle. The random figures are drawn in a fixed order.
    """
    n, extent = model.holes, sketch.extent
    even = np.linspace(0.0, 2.0 * math.pi, n, endpoint=False)
    loose = 0.5 * extent * np.column_stack([np.cos(even), np.sin(even)])
    if random is not None:
        loose = random.uniform(-extent, extent, (n, 2))
    points = np.where(np.isfinite(grown), grown, loose)
    if random is not None and random.uniform() < 0.5:
        points = loose
    known = np.isfinite(sketch.corner)
    points = np.where(known, sketch.corner, points)
    for shape in model.shapes:
        if shape.kind != "circle":
            continue
        count = len(shape.members)
        if random is None:
            angles = np.linspace(0.0, 2.0 * math.pi, count, endpoint=False)
            radius = 0.5 * extent / math.sin(math.pi / count)  # neighbours half of the extent apart
        else:
            angles, radius = random.uniform(0.0, 2.0 * math.pi, count), extent * random.uniform(0.5, 2.0)
            angles = np.sort(angles) * random.choice((-1.0, 1.0)) if net.going_round else angles
        points[shape.members] = radius * np.column_stack([np.cos(angles), np.sin(angles)])
    return points

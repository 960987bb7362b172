"""From unknowns to readings: what each reading would be if the holes were here, and how it changes as they move.

    unknowns u       what the survey solves for: free places, bolt circle, rectangle, picture, diameters, datum edges
    full vector f    x and y of every feature, then the picture, the diameters, then angle and offset of each datum edge
    sense            +1 when a circle or rectangle is named counter-clockwise, -1 when clockwise

Assumed shapes are exact: the holes of a bolt circle have an angle each and share one centre and radius, so they cannot
leave it. Without assumptions u and f are the same.

Lines of a datum edge: n . p = c with n = (cos a, sin a); n points to the side on which the holes lie.

A picture has four figures, a, b, c, d: a feature at (x, y) is seen at (a x - b y + c, b x + a y + d). The root of
a2 + b2 is its scale: shift, turn and scale are free, a mirror image is not.

Parametrising a shape (angles on a circle) in place of adding constraints keeps the adjustment plain least squares: no
multipliers, fewer unknowns, and the holes lie on the shape to the last bit. The derivative of the readings is then a
product: readings by full vector, which knows no shapes, times full vector by unknowns, which knows no readings.
"""

from __future__ import annotations

import math
from functools import cache, cached_property

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from platekit.survey.net import CORNER_KINDS, SEEN_KINDS, Net, Reading
from platekit.tables.shop import shop_figure

Array = NDArray[np.float64]
Indices = NDArray[np.intp]

_RADII = {"inside": -0.5, "over": 0.5, "centres": 0.0}
_SIZED = frozenset({"inside", "over", "edge", "diameter"})


SHARED = shop_figure("reading, share of variance that repeats")
"""Share of a reading's variance that repeating it does not take away: a hole out of round, a burr, jaws that read small
are the same each time. `shop_figures.csv`; with it, any number of repeats brings sigma to 0.7 of one reading's."""


class AssumedShape(Struct, frozen=True):
    """A bolt circle or rectangle taken for granted: which features lie on it, and what is known of their order."""

    kind: str  # "circle", "even" or "rectangle"
    members: Indices
    sense: float = 1.0

    @property
    def unknowns(self) -> int:
        """How many numbers (mm, rad) describe it."""
        return {"circle": 3 + len(self.members), "even": 4, "rectangle": 5}[self.kind]

    def points(self, u: Array) -> tuple[Array, Array]:
        """Places of the members (mm), and their derivative: (k, 2) and (k, 2, unknowns).

        A rectangle's unknowns are its centre, turn (rad), width and height; its members go round from the lower left
        corner. A circle's are centre, radius, and an angle for each member, or one for the first where they are even.
        """
        if self.kind == "rectangle":
            turn_cos, turn_sin = math.cos(u[2]), math.sin(u[2])
            right, up = np.array([-0.5, 0.5, 0.5, -0.5]), self.sense * np.array([-0.5, -0.5, 0.5, 0.5])
            a, b = u[3] * right, u[4] * up
            offset = np.column_stack([a * turn_cos - b * turn_sin, a * turn_sin + b * turn_cos])
            slope = np.zeros((4, 2, 5))
            slope[:, 0, 0] = slope[:, 1, 1] = 1.0
            slope[:, 0, 2], slope[:, 1, 2] = -offset[:, 1], offset[:, 0]
            slope[:, 0, 3], slope[:, 1, 3] = right * turn_cos, right * turn_sin
            slope[:, 0, 4], slope[:, 1, 4] = -up * turn_sin, up * turn_cos
            return u[:2] + offset, slope
        count = len(self.members)
        centre, radius = u[:2], u[2]
        steps = self.sense * 2.0 * math.pi / count * np.arange(count)
        angles = u[3] + steps if self.kind == "even" else u[3:]
        cos, sin = np.cos(angles), np.sin(angles)
        slope = np.zeros((count, 2, len(u)))
        slope[:, 0, 0] = slope[:, 1, 1] = 1.0
        slope[:, 0, 2], slope[:, 1, 2] = cos, sin
        own = np.full(count, 3) if self.kind == "even" else np.arange(3, 3 + count)  # whose angle it is
        each = np.arange(count)
        slope[each, 0, own], slope[each, 1, own] = -radius * sin, radius * cos
        return centre + radius * np.column_stack([cos, sin]), slope

    def unknowns_at(self, points: Array) -> tuple[AssumedShape, Array]:
        """The shape of this kind that comes close to given points (mm), as its sense and its unknowns (mm, rad)."""
        # The signed area says which way round the holes are named: left is positive.
        following = np.roll(points, -1, axis=0)
        area = float((points[:, 0] * following[:, 1] - points[:, 1] * following[:, 0]).sum() / 2.0)
        sense = 1.0 if area >= 0.0 else -1.0
        centre = points.mean(axis=0)
        if self.kind == "rectangle":
            # Both sides of the rectangle together, so that one bad corner turns the start by half as much.
            along = (points[1] - points[0]) + (points[2] - points[3])
            across = (points[3] - points[0]) + (points[2] - points[1])
            turn = math.atan2(along[1], along[0])
            size = math.hypot(*along) / 2.0, math.hypot(*across) / 2.0
            return replace(self, sense=sense), np.array([*centre, turn, *size])
        centre, radius = circle_through(points)
        angles = np.arctan2(points[:, 1] - centre[1], points[:, 0] - centre[0])
        if self.kind == "even":
            steps = sense * 2.0 * math.pi / len(points) * np.arange(len(points))
            # the mean of angles by their unit vectors: a plain mean would be wrong where they wrap round
            start = math.atan2(np.sin(angles - steps).sum(), np.cos(angles - steps).sum())
            return replace(self, sense=sense), np.array([*centre, radius, start])
        return replace(self, sense=sense), np.array([*centre, radius, *angles])


def circle_through(points: Array) -> tuple[Array, float]:
    """Centre and radius of the circle whose equation suits the points best, mm (a start, not an adjustment).

    x2 + y2 = 2 cx x + 2 cy y + k is linear in the centre and k = r2 - c2: Kasa's fit (1976). About the mean of the
    points, where it keeps its digits.
    """
    middle = points.mean(axis=0)
    local = points - middle
    system = np.column_stack([2.0 * local, np.ones(len(local))])
    solution = np.linalg.lstsq(system, (local**2).sum(axis=1), rcond=None)[0]
    radius = math.sqrt(max(float(solution[2] + solution[0] ** 2 + solution[1] ** 2), 1e-12))
    return middle + solution[:2], radius


class NetModel(Struct, frozen=True, eq=False, dict=True):
    """The readings of a net as functions of its unknowns.

    `sigma` is endless for readings that do not count: left out, or the very figure that was typed for the same before.
    `repeats` are rows of one pair (or hole), kind and tool: half of their variance they share (`SHARED`).
    """

    names: tuple[str, ...]
    sized: tuple[str, ...]
    edges: tuple[str, ...]
    shapes: tuple[AssumedShape, ...]
    free: Indices
    observed: Array
    sigma: Array
    pair_rows: Indices
    pair_ends: Indices
    pair_radii: Array
    pair_sizes: Indices
    axis_rows: Indices
    axis_columns: Indices
    size_rows: Indices
    size_columns: Indices
    edge_rows: Indices
    edge_ends: Indices
    seen_rows: Indices
    seen_holes: Indices
    seen_up: Indices
    picture: int = 0
    repeats: tuple[Indices, ...] = ()

    @property
    def counted(self) -> int:
        """How many readings count."""
        return int(np.isfinite(self.sigma).sum())

    def whitened(self, rows: Array) -> Array:
        """A row for each reading (mm), over its sigma; where readings share an error, so combined that they do not.

        With V the covariance of the readings, this is W times the rows, with W' W the inverse of V. What two rows share
        makes V a diagonal and a product of one vector with itself, of which the root is known in closed form: of
        1 + a a', with s = a . a, the inverse root is 1 - (1 - 1 / root(1 + s)) a a' / s.
        """
        # First each row over the error that is its own, then what a group shares taken out along its one direction.
        white = (rows.T / self._own).T
        for at, along, size in self._shares:
            white[at] -= np.multiply.outer(along, (1.0 - (1.0 + size) ** -0.5) / size * (along @ white[at]))
        return np.asarray(white, dtype=float)

    def weighted(self, white: Array) -> Array:
        """W' times rows that were whitened."""
        rows = white.copy()
        for at, along, size in self._shares:
            rows[at] -= np.multiply.outer(along, (1.0 - (1.0 + size) ** -0.5) / size * (along @ white[at]))
        return np.asarray((rows.T / self._own).T, dtype=float)

    @property
    def weights(self) -> Array:
        """The diagonal of the inverse of V, 1 over squares of mm (Sherman and Morrison, for what readings share)."""
        weights = self._own**-2.0
        for at, along, size in self._shares:
            weights[at] *= 1.0 - along**2 / (1.0 + size)
        return np.asarray(weights, dtype=float)

    @cached_property
    def _own(self) -> Array:
        """Sigma of the part of each reading's error that is its own."""
        own = self.sigma.copy()
        for rows in self.repeats:
            own[rows] = np.sqrt(self.sigma[rows] ** 2 - self._shared(rows) ** 2)
        return own

    @cached_property
    def _shares(self) -> list[tuple[Indices, Array, float]]:
        """Of each group of repeats: its rows, the shared error in their own sigmas, the square of its length."""
        found = []
        for rows in self.repeats:
            own = np.sqrt(self.sigma[rows] ** 2 - self._shared(rows) ** 2)
            along = self._shared(rows) / own
            size = float(along @ along)
            if size > 0.0:
                found.append((rows, along, size))
        return found

    def _shared(self, rows: Indices) -> float:
        """Sigma of what they share; nothing where only one of them counts."""
        # A single reading has nobody to share with, and copies of a figure do not count as readings.
        live = self.sigma[rows][np.isfinite(self.sigma[rows])]
        return math.sqrt(SHARED) * float(live.min()) if len(live) > 1 else 0.0

    @property
    def has_corner(self) -> bool:
        """Whether any reading starts from the square corner."""
        return len(self.axis_rows) > 0

    @property
    def has_picture(self) -> bool:
        """Whether any reading comes off a picture."""
        return len(self.seen_rows) > 0

    @property
    def holes(self) -> int:
        """How many features have a place."""
        return len(self.names)

    @property
    def unknowns(self) -> int:
        """Length of u."""
        placed = 2 * len(self.free) + sum(shape.unknowns for shape in self.shapes)
        return placed + self.picture + len(self.sized) + 2 * len(self.edges)

    @cached_property
    def angular(self) -> Array:
        """Which unknowns are angles, rad; all others are lengths, mm."""
        angular = np.zeros(self.unknowns, dtype=bool)
        at = 2 * len(self.free)
        for shape in self.shapes:
            # A circle has its centre and radius before its angles, a rectangle its centre before its turn.
            first, last = {"circle": (3, shape.unknowns), "even": (3, 4), "rectangle": (2, 3)}[shape.kind]
            angular[at + first : at + last] = True
            at += shape.unknowns
        angular[at + self.picture + len(self.sized) :: 2] = True  # of an edge, angle and offset
        return angular

    def moved_as_a_whole(self, u: Array) -> Array:
        """How the unknowns go as all is shifted in x, shifted in y (mm), and turned about (0, 0) (rad): (unknowns, 3).

        A place (x, y) turns by (-y, x); angles turn along, lengths do not change; the offset of a datum edge changes by
        the shift along its normal.
        """
        motions = np.zeros((self.unknowns, 3))
        motions[self.angular, 2] = 1.0
        at = 2 * len(self.free)
        centres = [at + sum(shape.unknowns for shape in self.shapes[:k]) for k in range(len(self.shapes))]
        x = np.concatenate([np.arange(0, at, 2), np.array(centres, dtype=np.intp)])
        motions[x, 0] = motions[x + 1, 1] = 1.0
        motions[x, 2], motions[x + 1, 2] = -u[x + 1], u[x]
        if self.picture:
            # as the places move, the picture moves against them: what is seen stays
            first = at + sum(shape.unknowns for shape in self.shapes)
            a, b = u[first], u[first + 1]
            motions[first + 2, :2], motions[first + 3, :2] = (-a, b), (-b, -a)
            motions[first, 2], motions[first + 1, 2] = b, -a
        edges = len(u) - 2 * len(self.edges) + 2 * np.arange(len(self.edges))
        motions[edges + 1, 0], motions[edges + 1, 1] = np.cos(u[edges]), np.sin(u[edges])
        return motions

    def expand(self, u: Array) -> Array:
        """The full vector f (mm, rad) at the unknowns u, or a row of it for each row of u."""
        if not self.shapes:
            return u
        if u.ndim > 1:
            return np.array([self.expand(row) for row in u])
        points = np.empty((self.holes, 2))
        points[self.free] = u[: 2 * len(self.free)].reshape(-1, 2)
        at = 2 * len(self.free)
        for shape in self.shapes:
            points[shape.members] = shape.points(u[at : at + shape.unknowns])[0]
            at += shape.unknowns
        return np.concatenate([points.ravel(), u[at:]])

    def slope(self, u: Array) -> Array | None:
        """Derivative of the full vector (mm, rad) by the unknowns; None when they are the same."""
        if not self.shapes:
            return None
        slope = np.zeros((2 * self.holes + self.picture + len(self.sized) + 2 * len(self.edges), len(u)))
        for k, hole in enumerate(self.free):
            slope[2 * hole, 2 * k] = slope[2 * hole + 1, 2 * k + 1] = 1.0
        at = 2 * len(self.free)
        for shape in self.shapes:
            own = shape.points(u[at : at + shape.unknowns])[1]
            for hole, block in zip(shape.members, own, strict=True):
                slope[2 * hole : 2 * hole + 2, at : at + shape.unknowns] = block
            at += shape.unknowns
        rest = len(u) - at
        slope[2 * self.holes :, at:] = np.eye(rest)
        return slope

    def unknowns_at(self, points: Array, sizes: Array, edges: Array) -> tuple[NetModel, Array]:
        """The unknowns that come close to given places (mm), diameters (mm) and datum edges (angle rad, offset mm)."""
        parts, shapes = [points[self.free].ravel()], []
        for shape in self.shapes:
            own, unknowns = shape.unknowns_at(points[shape.members])
            shapes.append(own)
            parts.append(unknowns)
        picture = self._picture_at(points) if self.picture else np.empty(0)
        turned = replace(self, shapes=tuple(shapes)) if shapes else self
        return turned, np.concatenate([*parts, picture, sizes, edges.ravel()])

    def _picture_at(self, points: Array) -> Array:
        """The four figures of the picture that suit what is seen of places (mm) best, by least squares."""
        counted = np.isfinite(self.sigma[self.seen_rows])
        rows, up = self.seen_rows[counted], self.seen_up[counted] == 1
        x, y = points[self.seen_holes[counted]].T
        system = np.column_stack([np.where(up, y, x), np.where(up, x, -y), ~up, up])
        found = np.linalg.lstsq(system, self.observed[rows], rcond=None)[0]
        # of a single hole, or of none, no turn or scale follows: that of the part itself
        return np.asarray(found if math.hypot(found[0], found[1]) > 1e-6 else [1.0, 0.0, 0.0, 0.0], dtype=float)

    def points(self, u: Array) -> Array:
        """Places of all features (n, 2), mm, in the frame of the solution."""
        return self.expand(u)[: 2 * self.holes].reshape(-1, 2)

    def sizes(self, u: Array) -> Array:
        """Diameters of the features in `sized`, mm."""
        at = len(u) - 2 * len(self.edges)
        return u[at - len(self.sized) : at]

    def predict(self, u: Array) -> Array:
        """What every reading would be, mm; a row for each row of u."""
        f = self.expand(u)
        values = np.empty((*f.shape[:-1], len(self.observed)))
        padded = np.concatenate([f, np.zeros((*f.shape[:-1], 1))], axis=-1)  # the last is a size that is not there
        # Rows of one kind are worked out together: numpy's loops are a hundred times as fast as ours.
        start, end = 2 * self.pair_ends.T
        first, second = self._size_at(self.pair_sizes, f.shape[-1]).T
        radii = self.pair_radii * (padded[..., first] + padded[..., second])
        x, y = f[..., end] - f[..., start], f[..., end + 1] - f[..., start + 1]
        # of many rows the root is a tenth of the work of `hypot`, which minds lengths that no plate has
        values[..., self.pair_rows] = (np.hypot(x, y) if f.ndim == 1 else np.sqrt(x * x + y * y)) + radii
        values[..., self.axis_rows] = f[..., self.axis_columns]
        values[..., self.size_rows] = f[..., self.size_columns]
        if len(self.edge_rows):
            hole, edge, size = self.edge_ends.T
            angle, offset = f[..., self._edge_at(edge)], f[..., self._edge_at(edge) + 1]
            away = f[..., 2 * hole] * np.cos(angle) + f[..., 2 * hole + 1] * np.sin(angle)
            values[..., self.edge_rows] = away - offset - padded[..., self._size_at(size, f.shape[-1])] / 2.0
        if len(self.seen_rows):
            a, b, shift = self._seen_by(f)
            x, y = f[..., 2 * self.seen_holes], f[..., 2 * self.seen_holes + 1]
            values[..., self.seen_rows] = np.where(self.seen_up == 1, b * x + a * y, a * x - b * y) + shift
        return values

    def _seen_by(self, f: Array) -> tuple[Array, Array, Array]:
        """The picture's a and b, for each reading off it the same, and its shift along that reading's way, mm."""
        at = 2 * self.holes
        return f[..., at : at + 1], f[..., at + 1 : at + 2], f[..., at + 2 + self.seen_up]

    def jacobian(self, u: Array) -> Array:
        """Derivative of the readings (mm) by the unknowns (mm, rad), (readings, unknowns)."""
        f = self.expand(u)
        points = f[: 2 * self.holes].reshape(-1, 2)
        unchanging, along = self._unchanging
        by_f = unchanging.copy()
        start, end = self.pair_ends.T
        # a distance changes by the unit vector along it; two holes in one place have none, and nothing pulls them apart
        delta = (points[end] - points[start]).T
        unit = delta / np.maximum(np.hypot(*delta), 1e-12)
        by_f.put(along, np.concatenate([unit, -unit]))
        if len(self.edge_rows):
            hole, edge, _ = self.edge_ends.T
            at = self._edge_at(edge)
            cos, sin = np.cos(f[at]), np.sin(f[at])
            by_f[self.edge_rows, 2 * hole], by_f[self.edge_rows, 2 * hole + 1] = cos, sin
            # Turning the edge moves the foot of each hole along it: the derivative is the place along the edge.
            by_f[self.edge_rows, at] = points[hole, 1] * cos - points[hole, 0] * sin
        if len(self.seen_rows):
            rows, hole, up, own = self.seen_rows, self.seen_holes, self.seen_up == 1, 2 * self.holes
            a, b, _ = self._seen_by(f)
            x, y = points[hole].T
            by_f[rows, 2 * hole], by_f[rows, 2 * hole + 1] = np.where(up, b, a), np.where(up, a, -b)
            by_f[rows, own], by_f[rows, own + 1] = np.where(up, y, x), np.where(up, x, -y)
            by_f[rows, own + 2 + self.seen_up] = 1.0
        slope = self.slope(u)
        by_f = by_f[:, :-1]
        return by_f if slope is None else by_f @ slope

    @cached_property
    def _unchanging(self) -> tuple[Array, Indices]:
        """What of the derivative by the full vector no place changes; where in it, laid out flat, pairs have theirs."""
        length = 2 * self.holes + self.picture + len(self.sized) + 2 * len(self.edges)
        by_f = np.zeros((len(self.observed), length + 1))  # the last column swallows the sizes that are not there
        for side in (0, 1):
            by_f[self.pair_rows, self._size_at(self.pair_sizes[:, side], length)] = self.pair_radii
        by_f[self.axis_rows, self.axis_columns] = 1.0
        by_f[self.size_rows, self.size_columns] = 1.0
        _, edge, size = self.edge_ends.T
        by_f[self.edge_rows, self._edge_at(edge) + 1] = -1.0
        by_f[self.edge_rows, self._size_at(size, length)] = -0.5
        start, end = 2 * self.pair_ends.T
        return by_f, self.pair_rows * (length + 1) + np.array([end, end + 1, start, start + 1])

    def _edge_at(self, edge: Indices) -> Indices:
        return 2 * self.holes + self.picture + len(self.sized) + 2 * edge

    def _size_at(self, size: Indices, missing: int) -> Indices:
        return np.where(size < len(self.sized), 2 * self.holes + self.picture + size, missing)


def model_of(net: Net, readings: tuple[Reading, ...] | None = None) -> NetModel:
    """The model of a checked net (mm), with every reading of `net.all_readings` in that order.

    Other `readings` of the same features give a model with the same unknowns.
    """
    given = net.all_readings
    readings = given if readings is None else readings
    names = tuple(feature.name for feature in net.placed)
    place = {name: k for k, name in enumerate(names)}
    by_size = {name for reading in given if reading.kind in _SIZED for name in reading.features}
    sized = tuple(name for name in names if name in by_size)
    size = {name: k for k, name in enumerate(sized)}
    edge = {name: k for k, name in enumerate(net.edges)}
    rows_of: dict[str, list[int]] = {}
    for k, reading in enumerate(readings):
        rows_of.setdefault(reading.kind, []).append(k)
    pair, axis, own, edged, seen = (
        sorted(k for kind in kinds for k in rows_of.get(kind, ()))
        for kinds in (_RADII, CORNER_KINDS, ("diameter",), ("edge",), SEEN_KINDS)
    )
    picture = 4 if net.has_picture else 0
    shapes: list[AssumedShape] = []
    if net.on_circle:
        on_circle = _indices([place[name] for name in net.on_circle])
        shapes.append(AssumedShape("even" if net.evenly else "circle", on_circle))
    if net.rectangle:
        shapes.append(AssumedShape("rectangle", _indices([place[name] for name in net.rectangle])))
    # Holes of an assumed shape have no place of their own: the shape's unknowns give it.
    taken = {int(member) for shape in shapes for member in shape.members}

    def edge_ends(k: int) -> tuple[int, int, int]:
        hole = next(name for name in readings[k].features if name in place)
        named = next((name for name in readings[k].features if name in edge), net.edges[0])
        return place[hole], edge[named], size[hole]

    of_pairs = [readings[k] for k in pair]
    pair_ends = _indices([[place[name] for name in reading.features] for reading in of_pairs]).reshape(-1, 2)
    size_of = _indices([size.get(name, len(sized)) for name in names])
    usual = net.sigma_of(Reading((), "centres", 0.0))
    sigma = np.array(
        [usual if reading.sigma is None and reading.tool is None else net.sigma_of(reading) for reading in readings],
        dtype=float,
    )
    repeats = _repeats(readings)
    for rows in repeats:
        # of readings of the same, those whose very figure was typed before say nothing new: they do not count
        first: dict[float, int] = {}
        sigma[[k for k in rows if first.setdefault(readings[k].value, k) != k]] = np.inf

    return NetModel(
        names=names,
        sized=sized,
        edges=net.edges,
        shapes=tuple(shapes),
        free=_indices([k for k in range(len(names)) if k not in taken]),
        observed=np.array([reading.value for reading in readings], dtype=float),
        sigma=sigma,
        pair_rows=_indices(pair),
        pair_ends=pair_ends,
        pair_radii=np.array([_RADII[reading.kind] for reading in of_pairs], dtype=float),
        pair_sizes=size_of[pair_ends],
        axis_rows=_indices(axis),
        axis_columns=_indices([2 * place[readings[k].features[0]] + (readings[k].kind == "y") for k in axis]),
        size_rows=_indices(own),
        size_columns=_indices([2 * len(names) + picture + size[readings[k].features[0]] for k in own]),
        edge_rows=_indices(edged),
        edge_ends=_indices([edge_ends(k) for k in edged]).reshape(-1, 3),
        seen_rows=_indices(seen),
        seen_holes=_indices([place[readings[k].features[0]] for k in seen]),
        seen_up=_indices([int(readings[k].kind == "up") for k in seen]),
        picture=picture,
        repeats=tuple(_indices(rows) for rows in repeats),
    )


def _repeats(readings: tuple[Reading, ...]) -> list[list[int]]:
    """The places of readings of the same, taken more than once with one tool."""
    keys = [(frozenset(reading.features), reading.kind, reading.tool) for reading in readings]
    if len(set(keys)) == len(keys):
        return []
    same: dict[tuple[frozenset[str], str, str | None], list[int]] = {}
    for k, key in enumerate(keys):
        same.setdefault(key, []).append(k)
    return [rows for rows in same.values() if len(rows) > 1]


def copies(readings: tuple[Reading, ...]) -> dict[int, tuple[int, ...]]:
    """By the place of a reading, those of later ones of the same with the very same figure (mm): they do not count.

    A figure that stands twice to the last digit was copied more often than it was measured again.
    """
    found: dict[int, tuple[int, ...]] = {}
    for rows in _repeats(readings):
        for k in rows:
            again = tuple(other for other in rows if other > k and readings[other].value == readings[k].value)
            if again and not any(k in others for others in found.values()):
                found[k] = again
    return found


@cache
def pair_indices(count: int) -> tuple[Indices, Indices]:
    """The first and the second of every two of so many, the second the later one; not to be written to."""
    first, second = np.triu_indices(count, 1)
    first.flags.writeable = second.flags.writeable = False
    return first, second


def _indices(values: object) -> Indices:
    return np.array(values, dtype=np.intp)

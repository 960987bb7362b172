"""Least squares: from a start to the places that suit all readings best, and how well they are known.

    adjustment   the unknowns that make the sum of squared residuals, each over its sigma, smallest
    residual     reading minus what the adjusted holes would give
    redundancy number   share of a reading's own error that shows in its residual: 0 nobody checks it, 1 all others do
    normalised residual   residual over its own standard deviation: sigma times the root of the redundancy number
    loose motion   a change of the unknowns that no reading notices: the frame, and holes that float

Gauss-Newton steps with Levenberg's damping. No step has a part along a loose motion: where a hole that floats comes to
rest follows from the start alone. Rounding would lead it otherwise, as damping this light magnifies it, to another
place on every processor. For the same reason the unknowns end on a grid. (Levenberg 1944, Marquardt 1963. Adjustment
with a free net and redundancy numbers are those of geodesy: Baarda 1968; Koch, Parameter estimation and hypothesis
testing in linear models.)

Of most nets the loose motions are known beforehand: the whole can be shifted and turned, and nothing else is loose. To
the normal matrix of such a net their squares are added, which makes it one that a plain factorisation undoes; the trace
of its inverse says whether that was right. Only where it was not are the eigenvectors worked out, which say what
floats and take ten times as long.
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from platekit.survey.model import Array, NetModel

STEPS = 200
"""Most steps of one adjustment. Ours: good starts need 4 to 10; near-flat nets some 50."""

MANY_UNKNOWNS, STEPS_LARGE = 120, 60
"""Unknowns up to which all these steps may be made, and how many with more; where something floats, fewer by the
square: each takes longer by the third power, and a large net that stays open is told so, with the reading that helps
(ours)."""

FINISHED = 1e-11
"""Relative step at which the adjustment is finished. Ours: a nanometre on a plate of 100 mm."""

NOTHING_LEFT = 1e-15
"""Promised drop of the sum of squares, as a share of it, that rounding would hide. Ours."""

LOOSE = 1e-12
"""Eigenvalues of the scaled normal matrix below this share of the largest count as none: such a motion would be a
million times looser than the best known one. Ours; rounding alone leaves some 1e-15."""

WELL_HELD = 1e8
"""Sum of the eigenvalues times sum of their inverses up to which a net is well held: what a plain factorisation leaves
of rounding then stays far below the grid (ours)."""

PIVOT = 1e-6
"""Square of a pivot, next to squares of one, below which a factorisation is not trusted to know what is held (ours)."""

GRID_MM, GRID_RAD = 1e-8, 1e-10
"""Settled unknowns lie on this grid. Ours: rounding leaves some 1e-13 mm to the processor (1e-10 where holes are barely
held), which the grid takes away; it is a million times finer than any torch or caliper."""

CHECKED_SHARE = 1e-6
"""A reading whose redundancy number is below this is checked by no other (ours: above rounding)."""

NEAR = 2e-6
"""Relative step from which on the matrix that was undone last serves for all further ones: the steps that are left do
not change it by more than they are long (ours)."""

HALVED = 15
"""Rows of half a triangular matrix from which on it is undone by halves (ours: below, calls take longer than sums)."""

_AT_REST = 1e-13
"""Relative step after which only rounding is left (ours: the next is a tenth of it at most)."""

_POLISHING = 3
"""Steps without damping at the end, which bring the unknowns to where rounding alone is left (ours)."""

_ROUNDING = 1e-9
"""Unknowns whose scale is below this share of the largest are left unscaled: they hang on no reading (ours)."""


class Adjusted(Struct, frozen=True, eq=False):
    """A settled model: unknowns, sum of squares, and the accuracy that follows from the readings.

    `cofactor` is the covariance of the unknowns with all loose motions held, and `root` times its own transpose is the
    same; `loose` (unknowns, k) spans those motions.
    """

    model: NetModel
    unknowns: Array
    chi_square: float
    root: Array
    cofactor: Array
    loose: Array
    residuals: Array
    redundancy: Array
    normalised: Array

    @property
    def rank(self) -> int:
        """How many unknowns (mm, rad) the readings determine."""
        return len(self.unknowns) - int(self.loose.shape[1])


def settle(model: NetModel, unknowns: Array) -> tuple[Array, float]:
    """The unknowns (mm, rad) at the nearest smallest sum of squares, and that sum; unknowns on the grid.

    What no reading determines keeps to the start: every step is square to all loose motions of the place it starts from
    (in unknowns scaled to equal weight), so nothing but the start and the readings decides where it ends.
    """
    u = unknowns.astype(float)
    misfit, cost = _misfit(model, u)
    damping = 1e-4
    large, eigen = len(u) > MANY_UNKNOWNS, 0
    for _ in range(STEPS_LARGE if large else STEPS):
        way = _descent(model, u, misfit)
        eigen += way.normal is not None
        # steps by eigenvectors are dear, the more so the larger the net: a budget of their own
        if eigen > STEPS * min(1.0, (MANY_UNKNOWNS / len(u)) ** 2):
            break
        # More damping makes the step shorter and turns it towards steepest descent, until the sum of squares falls. Ten
        # times more or less at each try is Marquardt's own rule.
        while True:
            step, promised = way.step(damping)
            trial = u + step
            misfit_there, cost_there = _misfit(model, trial)
            if cost_there <= cost or promised <= NOTHING_LEFT * (1.0 + cost) or damping > 1e12:
                break
            damping *= 10.0
        if cost_there > cost:
            break
        u, misfit, cost, damping = trial, misfit_there, cost_there, max(damping * 0.1, 1e-9)
        size = float(np.abs(step).max(initial=0.0))
        reach = 1.0 + float(np.abs(u).max(initial=0.0))
        if size <= NEAR * reach and (rest := _at_rest(model, u, misfit, way, size)) is not None:
            return _on_grid(model, rest)
        if size <= FINISHED * reach or promised <= NOTHING_LEFT * (1.0 + cost):
            break
    slope = model.whitened(model.jacobian(u))
    normal = _normal(model, u, slope)
    for k in range(_POLISHING):
        # plain Gauss-Newton: how the sum of squares falls along each unknown (halved), through the inverse
        slope = model.whitened(model.jacobian(u)) if k else slope
        pull = slope.T @ misfit
        trial = u + normal.roots @ (normal.roots.T @ (pull / normal.scale)) / normal.scale
        misfit, cost_there = _misfit(model, trial)
        if cost_there > cost + NOTHING_LEFT**0.5 * (1.0 + cost):
            break
        u = trial
    return _on_grid(model, u)


def _at_rest(model: NetModel, u: Array, misfit: Array, way: _Descent, size: float) -> Array | None:
    """Where plain Gauss-Newton steps by the matrix undone last come to rest; None where they do not, or hardly do.

    `size` is that of the step before: each has to be less than a tenth of the last one.
    """
    if way.factor is None:
        return None
    inverse = _inverse(way.factor).T
    if float(np.trace(way.square)) * float(np.vdot(inverse, inverse)) > WELL_HELD:
        return None
    roots = (inverse - way.loose @ (way.loose.T @ inverse)) / way.scale[:, None]
    while True:
        step = roots @ (roots.T @ (model.jacobian(u).T @ model.weighted(misfit)))
        last, size = size, float(np.abs(step).max(initial=0.0))
        u = u + step
        if size <= _AT_REST * (1.0 + float(np.abs(u).max(initial=0.0))):
            return u
        if not size < 0.1 * last:
            return None
        misfit, _ = _misfit(model, u)


def _on_grid(model: NetModel, u: Array) -> tuple[Array, float]:
    """The unknowns on the grid, and their sum of squares there."""
    lines = np.where(model.angular, round(1.0 / GRID_RAD), round(1.0 / GRID_MM))
    u = np.asarray(np.round(u * lines) / lines, dtype=float)
    return u, _misfit(model, u)[1]


class _Normal(Struct, frozen=True, eq=False):
    """The normal matrix in unknowns scaled to equal weight, undone: `slope` and `scale`, and what is loose.

    `roots` times its own transpose is the inverse along all that is held; the columns of `loose` span the rest, square
    to each other and of length one. `values` are the eigenvalues that belong to `roots`, where these are eigenvectors.
    """

    slope: Array
    scale: Array
    roots: Array
    loose: Array
    values: Array | None = None


def _normal(model: NetModel, u: Array, slope: Array) -> _Normal:
    """The normal matrix undone: by Cholesky where the frame alone is loose, else by eigenvectors.

    With the square of the loose motions added, the matrix is regular; its inverse, with these motions taken out again,
    is the pseudo-inverse (inner constraints, as geodesy calls this way of fixing a free net).
    """
    slope, scale = _scaled(slope)
    filled, loose = _filled(model, u, slope, scale)
    factor = _factor(filled)
    if factor is not None:
        inverse = _inverse(factor).T
        if float(np.trace(filled)) * float(np.vdot(inverse, inverse)) <= WELL_HELD:
            return _Normal(slope, scale, inverse - loose @ (loose.T @ inverse), loose)
    return _by_eigenvectors(slope, scale)


def _scaled(slope: Array) -> tuple[Array, Array]:
    """The slope with every unknown scaled to equal weight, as mm and rad cannot be compared; and the scales."""
    scale = np.sqrt(np.einsum("ij,ij->j", slope, slope))
    scale = np.where(scale > _ROUNDING * scale.max(initial=0.0), scale, 1.0)
    return slope / scale, scale


def _filled(model: NetModel, u: Array, slope: Array, scale: Array) -> tuple[Array, Array]:
    """The normal matrix with the squares of those motions of the whole added that are loose, and these motions."""
    # of shift and turn of the whole, readings from a corner notice some or all: those they do not are the loose ones
    base = np.linalg.qr(model.moved_as_a_whole(u) * scale[:, None])[0]
    seen = slope @ base
    squares = seen.T @ seen
    if float(np.trace(squares)) <= LOOSE:  # none of them, as in most nets
        loose = base
    else:
        values, turn = np.linalg.eigh(squares)
        loose = base @ turn[:, values <= LOOSE]
    return slope.T @ slope + loose @ loose.T, loose


def _factor(filled: Array) -> Array | None:
    """The matrix of which it is the square; None where a pivot says that more is loose than the whole."""
    try:
        factor = np.asarray(np.linalg.cholesky(filled), dtype=float)
    except np.linalg.LinAlgError:
        return None
    return factor if float(np.diag(factor).min(initial=1.0)) ** 2 > PIVOT else None


def _inverse(factor: Array) -> Array:
    """The inverse of a lower triangular matrix: that of its two halves, and what joins them.

    numpy has none that knows of the half that is empty, and takes twice as long.
    """
    half = len(factor) // 2
    if half < HALVED:
        return np.asarray(np.linalg.inv(factor), dtype=float)
    inverse = np.zeros_like(factor)
    first = inverse[:half, :half] = _inverse(factor[:half, :half])
    second = inverse[half:, half:] = _inverse(factor[half:, half:])
    inverse[half:, :half] = -second @ (factor[half:, :half] @ first)
    return inverse


def _by_eigenvectors(slope: Array, scale: Array) -> _Normal:
    """The normal matrix undone along what is held, by its eigenvalues: whatever is loose, and why, comes out."""
    values, vectors = np.linalg.eigh(slope.T @ slope)
    held = values > LOOSE * max(float(values.max(initial=0.0)), 1e-300)
    roots = vectors[:, held] / np.sqrt(values[held])
    return _Normal(slope, scale, roots, vectors[:, ~held], values[held])


class _Descent(Struct, frozen=True, eq=False):
    """Where the sum of squares falls, in scaled unknowns: by the filled normal matrix, the readings, or eigenvectors.

    `square` is the filled normal matrix, the square of `factor`; or, with `by_readings`, that of the readings: their
    slope times its own transpose. `normal` has the eigenvectors where neither can be undone plainly.
    """

    slope: Array
    misfit: Array
    scale: Array
    loose: Array
    square: Array
    factor: Array | None = None
    by_readings: bool = False
    normal: _Normal | None = None

    def step(self, damping: float) -> tuple[Array, float]:
        """The step (mm, rad) with that damping, and the drop of the sum of squares that it promises.

        By eigenvectors each component is shortened by its own share, value / (value + damping); the plain ways solve
        the damped equations as they stand.
        """
        pull = self.slope.T @ self.misfit
        if self.normal is not None:
            values, roots = self.normal.values, self.normal.roots
            assert values is not None
            step = roots @ (values / (values + damping) * (roots.T @ pull))
        else:
            right = self.misfit if self.by_readings else pull
            damped = self.square.copy()
            damped.flat[:: len(right) + 1] += damping
            solved = np.linalg.solve(damped, right)
            step = self.slope.T @ solved if self.by_readings else solved - self.loose @ (self.loose.T @ solved)
        return step / self.scale, float(step @ pull)


def _descent(model: NetModel, u: Array, misfit: Array) -> _Descent:
    """The way down from here, where the whitened misfit is known, by the cheapest of three matrices that can be undone.

    Readings no two of which check each other, fewer than the unknowns, leave much loose; then a step is a sum of their
    slopes, and what is loose has no part in it: the matrix of the readings is undone plainly.
    """
    slope, scale = _scaled(model.whitened(model.jacobian(u)))
    if model.counted < len(u) - 3:
        live = np.isfinite(model.sigma)
        square = slope[live] @ slope[live].T
        if _factor(square) is not None:
            return _Descent(slope[live], misfit[live], scale, np.empty((len(u), 0)), square, by_readings=True)
    filled, loose = _filled(model, u, slope, scale)
    factor = _factor(filled)
    normal = _by_eigenvectors(slope, scale) if factor is None else None
    return _Descent(slope, misfit, scale, loose, filled, factor, normal=normal)


def _misfit(model: NetModel, u: Array) -> tuple[Array, float]:
    """What the readings are off, whitened, and the sum of its squares."""
    misfit = model.whitened(model.observed - model.predict(u))
    return misfit, float(misfit @ misfit)


def assess(model: NetModel, unknowns: Array, one_more: Array | None = None) -> Adjusted:
    """Accuracy of settled unknowns (mm, rad): cofactors, loose motions, residuals, redundancy numbers.

    `one_more` is the derivative, over its sigma, of a reading that might be taken; it counts for the accuracy only.

    With A the whitened derivatives and Q the cofactors, the residuals have the covariance V - A Q A' (each in its own
    sigma 1 - a Q a'); the redundancy number is that share of the variance that is left, and the normalised residual is
    the residual over the root of what is left (Baarda, A testing procedure for use in geodetic networks, 1968).
    """
    slope = model.whitened(model.jacobian(unknowns))
    given = len(slope)
    if one_more is not None:
        slope = np.vstack([slope, one_more])
    normal = _normal(model, unknowns, slope)
    seen = model.weighted(normal.slope[:given] @ normal.roots)
    checked = model.weights - np.einsum("ij,ij->i", seen, seen)
    root = normal.roots / normal.scale[:, None]
    residuals = model.observed - model.predict(unknowns)
    misfit = model.whitened(residuals)
    counted = np.isfinite(model.sigma)
    redundancy = np.clip(np.where(counted, model.sigma, 0.0) ** 2 * checked, 0.0, 1.0)
    noise = np.sqrt(np.maximum(checked, 1e-300))  # of a reading that nobody checks there is none; it is masked below
    return Adjusted(
        model=model,
        unknowns=unknowns,
        chi_square=float(misfit @ misfit),
        root=root,
        cofactor=root @ root.T,
        loose=normal.loose / normal.scale[:, None],
        residuals=residuals,
        redundancy=redundancy,
        normalised=np.where(redundancy > CHECKED_SHARE, model.weighted(misfit) / noise, 0.0),
    )


def without(model: NetModel, rows: tuple[int, ...]) -> NetModel:
    """The model with some readings left out (they stay in the list, with a sigma beyond all bounds)."""
    if not rows:
        return model
    sigma = model.sigma.copy()
    sigma[list(rows)] = np.inf
    return replace(model, sigma=sigma)

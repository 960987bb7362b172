"""Least squares: from a start to the places that suit all readings best, and how well they are known.

    adjustment   the unknowns that make the sum of squared residuals, each over its sigma, smallest
    residual     reading minus what the adjusted holes would give
    redundancy number   share of a reading's own error that shows in its residual: 0 nobody checks it, 1 all others do
    normalised residual   residual over its own standard deviation: sigma times the root of the redundancy number
    loose motion   a change of the unknowns that no reading notices: the frame, and holes that float

Gauss-Newton steps with Levenberg's damping, in the eigenvectors of the normal matrix. No step has a part along a loose
motion: where a hole that floats comes to rest follows from the start alone. Rounding would lead it otherwise, as
damping this light magnifies it, to another place on every processor. For the same reason the unknowns end on a grid.
"""

from __future__ import annotations

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from platekit.survey.model import Array, NetModel

STEPS = 200
"""Most steps of one adjustment. Ours: good starts need 4 to 10; near-flat nets some 50."""

FINISHED = 1e-11
"""Relative step at which the adjustment is finished. Ours: a nanometre on a plate of 100 mm."""

NOTHING_LEFT = 1e-15
"""Promised drop of the sum of squares, as a share of it, that rounding would hide. Ours."""

LOOSE = 1e-12
"""Eigenvalues of the scaled normal matrix below this share of the largest count as none: such a motion would be a
million times looser than the best known one. Ours; rounding alone leaves some 1e-15."""

GRID_MM, GRID_RAD = 1e-8, 1e-10
"""Settled unknowns lie on this grid. Ours: rounding leaves some 1e-13 mm to the processor (1e-10 where holes are barely
held), which the grid takes away; it is a million times finer than any torch or caliper."""

CHECKED_SHARE = 1e-6
"""A reading whose redundancy number is below this is checked by no other (ours: above rounding)."""

_POLISHING = 3
"""Steps without damping at the end, which bring the unknowns to where rounding alone is left (ours)."""

_ROUNDING = 1e-9
"""Unknowns whose scale is below this share of the largest are left unscaled: they hang on no reading (ours)."""


class Adjusted(Struct, frozen=True, eq=False):
    """A settled model: unknowns, sum of squares, and the accuracy that follows from the readings.

    `cofactor` is the covariance of the unknowns with all loose motions held; `loose` (unknowns, k) spans those motions.
    """

    model: NetModel
    unknowns: Array
    chi_square: float
    cofactor: Array
    loose: Array
    residuals: Array
    redundancy: Array
    normalised: Array

    @property
    def rank(self) -> int:
        """How many unknowns the readings determine."""
        return len(self.unknowns) - int(self.loose.shape[1])


def settle(model: NetModel, unknowns: Array) -> tuple[Array, float]:
    """The unknowns at the nearest smallest sum of squares, and that sum; unknowns on the grid.

    What no reading determines keeps to the start: every step is square to all loose motions of the place it starts from
    (in unknowns scaled to equal weight), so nothing but the start and the readings decides where it ends.
    """
    u = unknowns.astype(float)
    cost, damping = _cost(model, u), 1e-4
    for _ in range(STEPS):
        way = _way(model, u)
        while True:
            step, promised = way.step(damping)
            trial = u + step
            cost_there = _cost(model, trial)
            if cost_there <= cost or promised <= NOTHING_LEFT * (1.0 + cost) or damping > 1e12:
                break
            damping *= 10.0
        if cost_there > cost:
            break
        finished = float(np.abs(step).max(initial=0.0)) <= FINISHED * (1.0 + float(np.abs(u).max(initial=0.0)))
        u, cost, damping = trial, cost_there, max(damping * 0.1, 1e-9)
        if finished or promised <= NOTHING_LEFT * (1.0 + cost):
            break
    for _ in range(_POLISHING):
        trial = u + _way(model, u).step(0.0)[0]
        if _cost(model, trial) > cost + NOTHING_LEFT**0.5 * (1.0 + cost):
            break
        u = trial
    u = _on_grid(model, u)
    return u, _cost(model, u)


class _Way(Struct, frozen=True, eq=False):
    """Where the sum of squares falls: the normal matrix in its eigenvectors, loose motions left out."""

    held: Array
    values: Array
    pull: Array
    scale: Array

    def step(self, damping: float) -> tuple[Array, float]:
        """The step with that damping, and the drop of the sum of squares that it promises."""
        along = self.pull / (self.values + damping)
        return (self.held @ along) / self.scale, float(along @ self.pull)


def _way(model: NetModel, u: Array) -> _Way:
    slope = model.whitened(model.jacobian(u))
    misfit = model.whitened(model.observed - model.predict(u))
    scale = np.sqrt((slope**2).sum(axis=0))
    scale = np.where(scale > _ROUNDING * scale.max(initial=0.0), scale, 1.0)
    scaled = slope / scale
    values, vectors = np.linalg.eigh(scaled.T @ scaled)
    held = values > LOOSE * max(float(values.max(initial=0.0)), 1e-300)
    return _Way(vectors[:, held], values[held], vectors[:, held].T @ (scaled.T @ misfit), scale)


def _cost(model: NetModel, u: Array) -> float:
    misfit = model.whitened(model.observed - model.predict(u))
    return float(misfit @ misfit)


def _on_grid(model: NetModel, u: Array) -> Array:
    lines = np.where(model.angular, round(1.0 / GRID_RAD), round(1.0 / GRID_MM))
    return np.asarray(np.round(u * lines) / lines, dtype=float)


def assess(model: NetModel, unknowns: Array, one_more: Array | None = None) -> Adjusted:
    """Accuracy of settled unknowns: cofactors, loose motions, residuals, redundancy numbers.

    `one_more` is the derivative, over its sigma, of a reading that might be taken; it counts for the accuracy only.
    """
    slope = model.whitened(model.jacobian(unknowns))
    given = len(slope)
    if one_more is not None:
        slope = np.vstack([slope, one_more])
    scale = np.sqrt((slope**2).sum(axis=0))
    scale = np.where(scale > _ROUNDING * scale.max(initial=0.0), scale, 1.0)
    scaled = slope / scale
    values, vectors = np.linalg.eigh(scaled.T @ scaled)
    held = values > LOOSE * max(float(values.max(initial=0.0)), 1e-300)
    roots = vectors[:, held] / np.sqrt(values[held])
    checked = model.weights - (model.weighted(scaled[:given] @ roots) ** 2).sum(axis=1)
    root = roots / scale[:, None]
    residuals = model.observed - model.predict(unknowns)
    misfit = model.whitened(residuals)
    counted = np.isfinite(model.sigma)
    redundancy = np.clip(np.where(counted, model.sigma, 0.0) ** 2 * checked, 0.0, 1.0)
    noise = np.sqrt(np.maximum(checked, 1e-300))
    return Adjusted(
        model=model,
        unknowns=unknowns,
        chi_square=float(misfit @ misfit),
        cofactor=root @ root.T,
        loose=vectors[:, ~held] / scale[:, None],
        residuals=residuals,
        redundancy=redundancy,
        normalised=np.where(redundancy > CHECKED_SHARE, model.weighted(misfit) / noise, 0.0),
    )


def without(model: NetModel, rows: tuple[int, ...]) -> NetModel:
    """The model with some readings left out (they stay in the list, with a sigma beyond all bounds)."""
    sigma = model.sigma.copy()
    sigma[list(rows)] = np.inf
    return replace(model, sigma=sigma)

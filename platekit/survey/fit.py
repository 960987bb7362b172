"""Whether measured holes lie on a bolt circle or make a rectangle, and of which size, with all their correlations.

The words used here:

    fit         the circle or rectangle that suits the surveyed places best, each weighed by its covariance
    consistent  the misfit is no larger than the measuring errors explain

A fit only looks: it changes no hole. Shift and turn of the whole are part of every fit, so the frame does not matter.

Places of a survey are no readings of their own: they hang together, often strongly (three holes may be known well to
each other and badly as a whole). So the misfit of all is weighed at once by the inverse of their covariance, which is
least squares of correlated observations (Aitken 1935); the misfit is a chi-square then, and says whether they fit.
"""

from __future__ import annotations

import math

import numpy as np
from msgspec import Struct

from platekit.survey.chance import chi_square_tail
from platekit.survey.frame import GRID, free_of_frame, rigid_motions
from platekit.survey.model import Array, AssumedShape, Indices
from platekit.survey.net import BadReading
from platekit.survey.result import Survey

CONSISTENT = 0.01
"""Probability of a larger misfit by chance below which holes are off the shape. Ours, the usual one in a hundred."""

MICRON = 1e-3
"""mm; added to every place, so that places held exactly (an assumed shape, the origin) can be weighed. Ours."""


class CircleFit(Struct, frozen=True, eq=False):
    """A bolt circle: centre and diameter in the survey's frame, mm.

    `covariance` (3, 3) is that of centre x, y and diameter. `off` tells how far each hole is outside the circle.
    `even_probability` is that of a misfit as large if the holes were also evenly spaced.
    """

    names: tuple[str, ...]
    centre: tuple[float, float]
    diameter: float
    covariance: Array
    off: tuple[float, ...]
    chi_square: float
    dof: int
    probability: float
    even_dof: int
    even_probability: float

    @property
    def sigma(self) -> float:
        """Standard deviation of the diameter, mm."""
        return math.sqrt(max(float(self.covariance[2, 2]), 0.0))

    @property
    def consistent(self) -> bool:
        """Whether the holes lie on the circle as well as measuring errors allow."""
        return self.probability >= CONSISTENT

    @property
    def even(self) -> bool:
        """Whether they are evenly spaced as well."""
        return self.even_probability >= CONSISTENT


class RectangleFit(Struct, frozen=True, eq=False):
    """A rectangle: names going round counter-clockwise, sides in mm, and the turn of the first side."""

    names: tuple[str, ...]
    centre: tuple[float, float]
    width: float
    height: float
    turn: float
    chi_square: float
    dof: int
    probability: float

    @property
    def consistent(self) -> bool:
        """Whether the holes make a rectangle as well as measuring errors allow."""
        return self.probability >= CONSISTENT


class _FittedShape(Struct, frozen=True, eq=False):
    shape: AssumedShape
    unknowns: Array
    covariance: Array
    chi_square: float
    points: Array


def circle_fit(survey: Survey, names: tuple[str, ...]) -> CircleFit:
    """The circle (mm) through three or more holes; `BadReading` for fewer, or for holes in one row.

    Degrees of freedom: n - 3, as each hole may lie anywhere along the circle; evenly spaced ones 2n - 4.
    """
    if len(names) < 3:
        raise BadReading(f"a circle needs three holes, found {len(names)}", (), names)
    order = _going_round(survey, names)
    fitted = _fit(survey, order, "circle")
    even = _fit(survey, order, "even")
    centre, radius = fitted.unknowns[:2], float(fitted.unknowns[2])
    # from centre and radius to centre and diameter
    double = np.diag([1.0, 1.0, 2.0])
    places = _places(survey, names)
    off = np.hypot(*(places - centre).T) - radius
    dof, even_dof = len(names) - 3, 2 * len(names) - 4
    return CircleFit(
        names=names,
        centre=(float(centre[0]), float(centre[1])),
        diameter=2.0 * radius,
        covariance=double @ fitted.covariance[:3, :3] @ double,
        off=tuple(off.tolist()),
        chi_square=fitted.chi_square if dof else 0.0,
        dof=dof,
        probability=chi_square_tail(fitted.chi_square, dof),
        even_dof=even_dof,
        even_probability=chi_square_tail(even.chi_square, even_dof),
    )


def rectangle_fit(survey: Survey, names: tuple[str, ...]) -> RectangleFit:
    """The rectangle (mm, rad) through four holes, named in any order; `BadReading` for another number.

    Eight figures less five (centre, turn, two sides) leave three degrees of freedom.
    """
    if len(names) != 4:
        raise BadReading(f"a rectangle needs four holes, found {len(names)}", (), names)
    order = _going_round(survey, names)
    fitted = _fit(survey, order, "rectangle")
    x, y, turn, width, height = fitted.unknowns.tolist()
    return RectangleFit(
        names=order,
        centre=(x, y),
        width=width,
        height=height,
        turn=turn,
        chi_square=fitted.chi_square,
        dof=3,
        probability=chi_square_tail(fitted.chi_square, 3),
    )


def _places(survey: Survey, names: tuple[str, ...]) -> Array:
    return np.array([(survey.holes[name].x, survey.holes[name].y) for name in names])


def _going_round(survey: Survey, names: tuple[str, ...]) -> tuple[str, ...]:
    """The names in counter-clockwise order, beginning with the first."""
    local = _places(survey, names) - _places(survey, names).mean(axis=0)
    angles = np.arctan2(local[:, 1], local[:, 0])
    order = np.argsort(np.mod(angles - angles[0] + 1e-9, 2.0 * math.pi), kind="stable")
    return tuple(names[k] for k in order)


def _fit(survey: Survey, names: tuple[str, ...], kind: str) -> _FittedShape:
    """Gauss-Newton on the whitened differences between surveyed places and those of the shape."""
    places, covariance = _places(survey, names), survey.block(names)
    members: Indices = np.arange(len(names), dtype=np.intp)
    shape, u = AssumedShape(kind, members).unknowns_at(places)
    # W with W' W the inverse of the covariance: whitened misfits are independent and of one sigma each
    whiten: Array = np.linalg.inv(np.linalg.cholesky(weighable(covariance, places)))
    step = np.zeros_like(u)
    gain = np.zeros((len(u), 2 * len(names)))
    for _ in range(50):
        points, slope = shape.points(u)
        flat = whiten @ slope.reshape(2 * len(names), -1)
        gain = np.linalg.pinv(flat) @ whiten
        step = gain @ (places - points).ravel()
        u = u + step
        if np.abs(step).max() < 1e-10 * (1.0 + np.abs(u).max()):
            break
    u = np.round(u, GRID + 1) + 0.0
    points = shape.points(u)[0]
    misfit = whiten @ (places - points).ravel()
    return _FittedShape(shape, u, gain @ covariance @ gain.T, float(misfit @ misfit), points)


def weighable(covariance: Array, places: Array) -> Array:
    """The covariance (mm2) of places (mm) without regard to the frame, made fit for weighing.

    Fits that include shift and turn come out the same whatever the variance of shift and turn; it is set to that of an
    ordinary motion, so that the matrix can be inverted and no step runs away along the motions.
    """
    motions = rigid_motions(places)
    free = free_of_frame(covariance, places) + MICRON**2 * np.eye(len(covariance))
    usual = float(np.trace(free)) / len(free)
    return np.asarray(free + usual * motions @ motions.T, dtype=float)

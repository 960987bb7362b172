"""Which known pattern the measured holes could be, and with what odds; and whether they are their own mirror image.

The words used here:

    candidate   a pattern from a table: its hole places, and how far a real part may be off them
    placing     shift and turn (and, if need be, mirror) that lay a candidate on the measured holes
    shape space   what is left of all motions of the holes without shift and turn of the whole: 2n - 3 of them
    share       probability of a candidate among all of them and "something else", before anything else is known

Nothing is snapped: the measured places stay what they are.

The shares are Bayes' rule with equal chances beforehand. A candidate's density at the measured places is that of a
normal law in shape space; "something else" has a flat density over `SOMETHING_ELSE` mm in each of the 2n - 3 sizes.
That is what keeps the best of several bad candidates from looking sure.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np
from msgspec import Struct

from platekit.survey.chance import chi_square_tail
from platekit.survey.fit import MICRON
from platekit.survey.frame import rigid_motions
from platekit.survey.model import Array, Indices
from platekit.survey.net import UNSCREWED
from platekit.survey.result import Survey
from platekit.tables.shop import shop_figure

MAKING = shop_figure("hole of a bought part, sigma of its place")
"""mm; one standard deviation, each way, of a hole on a real part from its standard place, where the table says nothing.
See `shop_figures.csv`."""

SOMETHING_ELSE = 20.0
"""mm; range over which each of the 2n - 3 sizes of a pattern that is in no table could lie. Ours: what one can tell a
pattern's size by eye. A wider range would make every candidate look surer."""

FITS = 0.01
"""Probability of a larger misfit by chance below which a candidate does not fit. Ours, the usual one in a hundred."""

_CLOSE = 0.05
"""Two holes of a pattern are tried where their distance is as measured within this share (ours)."""


class KnownPattern(Struct, frozen=True):
    """A known pattern: name, hole places in its own frame, mm, and sigma of a real hole from its place, each way."""

    name: str
    points: tuple[tuple[float, float], ...]
    sigma: float = MAKING


class Match(Struct, frozen=True):
    """How well a candidate suits. `names` are the measured holes in the order of the candidate's points.

    `off` is the distance of each hole from its place, mm. `turn` (counter-clockwise) and `shift` lay the candidate on
    the survey's frame, after mirroring it (x to -x) if `mirrored`.
    """

    name: str
    chi_square: float
    dof: int
    probability: float
    share: float
    mirrored: bool
    names: tuple[str, ...]
    off: tuple[float, ...]
    shift: tuple[float, float]
    turn: float

    @property
    def fits(self) -> bool:
        """Whether the misfit is no larger than measuring and making explain."""
        return self.probability >= FITS


class _Placing(Struct, frozen=True, eq=False):
    """A candidate laid on the holes: `order` says which of its points each hole has, `points` where these then lie."""

    order: Indices
    points: Array
    shift: Array
    turn: float
    mirrored: bool


def fits_standard(
    survey: Survey, candidates: Iterable[KnownPattern], names: tuple[str, ...] | None = None
) -> tuple[Match, ...]:
    """The candidates with as many holes as were measured, the most probable first.

    `names` are the holes to compare, by default all that are not bores. Chi-square of the best placing, in both mirror
    senses, with the covariance of the survey (mm2) and the making scatter of the candidate; 2n - 3 degrees of freedom.
    """
    bolted = tuple(name for name, hole in survey.holes.items() if hole.kind not in UNSCREWED)
    chosen = names or bolted or survey.names
    places = np.array([(survey.holes[name].x, survey.holes[name].y) for name in chosen])
    covariance = survey.block(chosen, free=True)
    weighed: list[tuple[KnownPattern, _Placing, float, float]] = []
    for candidate in candidates:
        # A hole that was not measured could be anywhere: patterns of another count are not compared.
        if len(candidate.points) != len(chosen):
            continue
        best: tuple[tuple[float, bool, float], _Placing, float, float] | None = None
        for placing in _placings(places, np.array(candidate.points, dtype=float), (False, True)):
            chi_square, log = _weigh(places, covariance, placing.points, candidate.sigma)
            # of placings that suit alike (a pattern with symmetries has many) the plain one, then the least turned
            worth = round(chi_square, 6), placing.mirrored, round(abs(placing.turn), 6)
            if best is None or worth < best[0]:
                best = worth, placing, chi_square, log
        if best is not None:
            weighed.append((candidate, *best[1:]))
    if not weighed:
        return ()
    # Shift and turn are free, so three of the 2n figures say nothing about the shape.
    dof = max(2 * len(chosen) - 3, 0)
    # probabilities from log densities, taken off the largest so that none underflows
    logs, other = np.array([log for *_, log in weighed]), -dof * math.log(SOMETHING_ELSE)
    top = max(float(logs.max()), other)
    weights = np.exp(logs - top)
    shares = weights / (weights.sum() + math.exp(other - top))
    matches = []
    for (candidate, placing, chi_square, _), share in zip(weighed, shares.tolist(), strict=True):
        back = np.argsort(placing.order)  # from the candidate's points to the holes that have them
        off = np.hypot(*(places - placing.points).T)[back]
        matches.append(
            Match(
                name=candidate.name,
                chi_square=chi_square,
                dof=dof,
                probability=chi_square_tail(chi_square, dof),
                share=share,
                mirrored=placing.mirrored,
                names=tuple(chosen[int(k)] for k in back),
                off=tuple(off.tolist()),
                shift=(float(placing.shift[0]), float(placing.shift[1])),
                turn=placing.turn,
            )
        )
    return tuple(sorted(matches, key=lambda match: (-round(match.share, 9), round(match.chi_square, 6), match.name)))


def own_mirror_image(survey: Survey, names: tuple[str, ...] | None = None) -> bool:
    """Whether the holes (mm) look the same in a mirror, as far as the readings tell: places and sizes alike.

    Two holes always do. Only then may it stay open which way round the pattern was measured.
    """
    chosen = names or survey.names
    places = np.array([(survey.holes[name].x, survey.holes[name].y) for name in chosen])
    if len(chosen) < 3:
        return True
    covariance = survey.block(chosen, free=True)
    image = places * np.array([-1.0, 1.0])
    for placing in _placings(places, image, (False,)):
        # the image has the errors of the places themselves: their difference has twice the variance
        chi_square, _ = _weigh(places, 2.0 * covariance, placing.points, 0.0)
        alike = True
        for k, j in enumerate(placing.order):
            a, b = survey.holes[chosen[k]], survey.holes[chosen[int(j)]]
            alike = alike and a.kind == b.kind
            if a.diameter is not None and b.diameter is not None:
                spread = math.hypot(a.diameter_sigma or 0.0, b.diameter_sigma or 0.0)
                alike = alike and abs(a.diameter - b.diameter) <= 3.0 * spread
        if alike and chi_square_tail(chi_square, 2 * len(chosen) - 3) >= FITS:
            return True
    return False


def _placings(places: Array, pattern: Array, senses: tuple[bool, ...]) -> Iterable[_Placing]:
    """Placings in which every hole has a point of its own: the two holes farthest apart on every pair as far apart.

    The longest distance turns the least by an error, so a pair laid by it brings every point near its hole; then all
    are fitted at once.
    """
    if len(places) == 1:
        yield _Placing(np.zeros(1, dtype=np.intp), places.copy(), places[0] - pattern[0], 0.0, False)
        return
    apart = np.hypot(*(places[:, None] - places[None, :]).T)
    i, j = np.unravel_index(int(apart.argmax()), apart.shape)
    for mirrored in senses:
        own = pattern * np.array([-1.0, 1.0]) if mirrored else pattern
        length = np.hypot(*(own[:, None] - own[None, :]).T)
        # Only pairs about as far apart can be the two farthest holes; the rest of the placing follows from them.
        near = np.argwhere(np.abs(length - apart[i, j]) <= _CLOSE * apart[i, j])
        for a, b in near:
            if a == b:
                continue
            wanted, had = places[j] - places[i], own[b] - own[a]
            rough = _turned(own, math.atan2(wanted[1], wanted[0]) - math.atan2(had[1], had[0]))
            rough += places[[i, j]].mean(axis=0) - rough[[a, b]].mean(axis=0)
            order = np.hypot(*(places[:, None] - rough[None, :]).T).T.argmin(axis=1)
            if len(set(order.tolist())) < len(places):
                continue  # holes that share a point
            # least squares of shift and turn in closed form: means on each other, and the turn whose tangent is the sum
            # of cross products over that of dot products (Procrustes; in the plane no singular values are needed)
            chosen = own[order]
            p, q = places - places.mean(axis=0), chosen - chosen.mean(axis=0)
            turn = math.atan2(float((q[:, 0] * p[:, 1] - q[:, 1] * p[:, 0]).sum()), float((p * q).sum()))
            turned = _turned(chosen, turn)
            shift = places.mean(axis=0) - turned.mean(axis=0)
            yield _Placing(order, turned + shift, shift, turn, mirrored)


def _turned(points: Array, angle: float) -> Array:
    cos, sin = math.cos(angle), math.sin(angle)
    return np.asarray(points @ np.array([[cos, sin], [-sin, cos]]), dtype=float)


def _weigh(places: Array, covariance: Array, points: Array, sigma: float) -> tuple[float, float]:
    """Chi-square in shape space, and the log of the probability density of these places under the candidate."""
    if len(places) < 2:
        return 0.0, 0.0
    # what is left of all motions without shift and turn: the last columns of the orthogonal matrix that begins with
    # them
    base = np.asarray(np.linalg.svd(rigid_motions(points), full_matrices=True)[0][:, 3:], dtype=float)
    # A micron more keeps the matrix regular where a survey of typed figures has no scatter at all.
    variance = sigma**2 + MICRON**2
    spread = base.T @ (covariance + variance * np.eye(len(covariance))) @ base
    misfit = base.T @ (places - points).ravel()
    chi_square = float(misfit @ np.linalg.solve(spread, misfit))
    volume = float(np.linalg.slogdet(2.0 * math.pi * spread)[1])
    return chi_square, -(chi_square + volume) / 2.0

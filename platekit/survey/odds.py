"""Fit odds: how likely it is that every screw of a mount goes in, with the plate free to shift and turn.

The words used here:

    joint       one screw: where it sits, the hole in the plate, the screw, and the hole in the part if that is a
                clearance hole too; a pilot in its opening is a joint as well, with its own diameters
    deviation   true place of the part's hole from nominal, less that of the plate's hole
    slack       how far plate and part may be off each other at one joint: half of plate hole less screw, and, with a
                clearance hole in the part, half of that hole less screw on top
    settling    shift and turn of the plate; screws go in when some settling leaves every deviation within its slack
    draw        one imagined plate on one imagined part: all errors taken at random from their distributions
    share       part of the error budget: variance that a source brings to the joints, after shift and turn

Whether a draw fits is decided exactly, not sampled. The smallest worst ratio of deviation to slack over all
settlings is a Chebyshev problem. Weighted least squares with any weights bounds it from below (the mean of the ratios
under weight times ratio, by duality) and from above (the largest ratio); reweighting by the ratio (Lawson) closes in
from both sides. Most draws are decided in the first steps; what is left is brought to the end by Newton steps on a
smoothed largest ratio, which only propose the weights: the same two bounds decide. The turn is small (a degree moves a
hole at 100 mm by 0.015 mm beyond the straight line), so it is taken as linear.

Several mounts may share a plate; screws are tightened mount by mount, so the odds are counted by mount.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from itertools import accumulate
from typing import Literal

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from platekit.survey.frame import free_of_frame, rigid_motions
from platekit.survey.model import Array
from platekit.survey.net import BadReading

Source = Literal["measuring", "cutting position", "cutting size", "printing"]

SOURCES: tuple[Source, ...] = ("measuring", "cutting position", "cutting size", "printing")

DRAWS = 100_000
"""Imagined plates per mount. Ours: the standard error at 99 % is then 0.03 %."""

FIRST_BATCHES, BATCH = (1_000, 3_000), 16_000
"""Imagined plates drawn at a time. Ours: the first are enough for most verdicts, the rest fit a processor's cache."""

CLEAR = 4.0
"""Standard errors by which a probability must be off a limit to be clear of it. Ours: wrong once in 15,000."""

SEED = 4
"""Where the drawing of plates starts: always the same, so that the same spec gives the same odds (ours)."""

_LAWSON_STEPS, _NEWTON_STEPS = 10, 60
"""Most steps of settling a plate, and of what is still open then; the last one takes the plate as it lies (ours)."""
_NONE = 1e-13
"""Variance below this share of the largest is none: rounding (ours)."""
_TIE = 1e-9
"""A screw that is over its slack by no more than this share just goes in: rounding (ours)."""

Bools = NDArray[np.bool_]


class Joint(Struct, frozen=True):
    """One screw, mm: nominal place, plate hole, screw; `part_hole` only where the part has a clearance hole too.

    `along` is the direction of a slot (counter-clockwise from x), which lets go whatever error lies that way; `hole` is
    then its width. `cut_size` is the scatter of this hole's own diameter, where it is made otherwise than the others.
    """

    x: float
    y: float
    hole: float
    screw: float
    part_hole: float | None = None
    along: float | None = None
    cut_size: float | None = None


class JointGroup(Struct, frozen=True, eq=False):
    """What a fit depends on; mm, one standard deviation each.

    `covariance` (2n, 2n) is that of the true places of the part's holes about nominal, x and y of each joint in order:
    a survey's block, or a standard's tolerance. `cut_position` is the scatter of a cut hole's place, each way;
    `cut_size` that of its diameter; `printed` that of a place marked through a paper print, each way. A plate that is
    `held` (dowelled, or tight on another mount) can neither shift nor turn.
    """

    joints: tuple[Joint, ...]
    covariance: Array
    cut_position: float = 0.0
    cut_size: float = 0.0
    printed: float = 0.0
    held: bool = False

    @property
    def places(self) -> Array:
        """Nominal places of the joints, (n, 2), mm."""
        return np.array([(joint.x, joint.y) for joint in self.joints])


class FitOdds(Struct, frozen=True, eq=False):
    """The odds of one mount: probability that every screw goes in, its standard error, and the error budget.

    `shares` is the budget by source and adds up to one. The methods draw the same plates again with something changed.
    """

    mount: JointGroup
    probability: float
    standard_error: float
    shares: Mapping[Source, float]
    draws: int
    seed: int

    def what_if(self, *, hole: float) -> float:
        """The probability (0 to 1) with all screw holes of the plate opened (or closed) to this diameter, mm.

        The same errors are drawn, so that the difference is that of the holes and not of chance.
        """
        mount = replace(self.mount, joints=tuple(replace(joint, hole=hole) for joint in self.mount.joints))
        goes = [_fits(mount, *batch) for batch in _batches(mount, self.draws, self.seed)]
        return float(np.concatenate(goes).mean())


def fit_odds(mount: JointGroup, *, draws: int = DRAWS, seed: int = SEED, clear_of: tuple[float, ...] = ()) -> FitOdds:
    """The odds of one mount (mm); the same mount, draws and seed give the same figures to the last bit.

    With `clear_of`, drawing stops as soon as the probability is clear of all these limits, by `CLEAR` standard errors:
    enough for a verdict, in a few milliseconds for most mounts. Fewer draws are always the first of more draws.

    Raises `BadReading` for a scatter below zero, a covariance of another size, or a mount without joints.

    >>> joints = (Joint(-50, 0, 9, 8), Joint(50, 0, 9, 8))
    >>> odds = fit_odds(JointGroup(joints, 0.3**2 * np.eye(4)), draws=10_000)
    >>> round(odds.probability, 2), odds.what_if(hole=10) > odds.probability
    (0.98, True)
    """
    n = len(mount.joints)
    if not n:
        raise BadReading("fit odds: the mount has no screws; name at least one")
    if mount.covariance.shape != (2 * n, 2 * n) or not np.isfinite(mount.covariance).all():
        raise BadReading(f"fit odds: the places of {n} holes are not all known; survey them first")
    for what, value in (
        ("position scatter", mount.cut_position),
        ("size scatter", mount.cut_size),
        *(("size scatter", joint.cut_size) for joint in mount.joints if joint.cut_size is not None),
        ("print scatter", mount.printed),
    ):
        if not (math.isfinite(value) and value >= 0.0):
            raise BadReading(f"fit odds: the {what} is {value:g}; it must be zero or more")
    # In batches that grow: most mounts are clear of every limit after the first few thousand plates.
    goes = np.zeros(0, dtype=bool)
    probability = error = 0.0
    for batch in _batches(mount, draws, seed):
        goes = np.concatenate([goes, _fits(mount, *batch)])
        # one more of either kind is counted in the error (Laplace's rule), so that none and all are not called certain
        probability, share = float(goes.mean()), (float(goes.sum()) + 1.0) / (len(goes) + 2.0)
        error = math.sqrt(share * (1.0 - share) / len(goes))
        if clear_of and all(abs(probability - limit) > CLEAR * error for limit in clear_of):
            break
    return FitOdds(mount, probability, error, error_budget(mount), len(goes), seed)


def error_budget(mount: JointGroup) -> dict[Source, float]:
    """The share (0 to 1) of each source in the mean square deviation left after shift and turn; zero without errors.

    Exact, without draws: the trace of each covariance with the rigid motions taken out. A change of hole size counts
    by its effect on the slack, a quarter of its variance, once a joint.
    """
    n = len(mount.joints)
    keep = None if all(joint.along is None for joint in mount.joints) else across_slots(mount)

    def left(covariance: Array) -> float:
        across = covariance if keep is None else np.asarray(keep @ covariance @ keep, dtype=float)
        return float(np.trace(across if mount.held else free_of_frame(across, mount.places)))

    amounts: dict[Source, float] = {
        "measuring": left(mount.covariance),
        "cutting position": left(mount.cut_position**2 * np.eye(2 * n)),
        "cutting size": float((size_scatters(mount) ** 2).sum()) / 4.0,
        "printing": left(mount.printed**2 * np.eye(2 * n)),
    }
    total = sum(amounts.values())
    return {source: amount / total if total > 0.0 else 0.0 for source, amount in amounts.items()}


def bolts_up(deviations: Array, slacks: Array, places: Array, *, held: bool = False) -> Bools:
    """Whether each draw goes together.

    `deviations` (draws, n, 2) and `slacks` (draws, n), mm; `places` (n, 2). A joint with slack below zero never does.
    """
    possible = (slacks >= 0.0).all(axis=1)
    if held:
        return np.asarray(possible & (np.hypot(deviations[..., 0], deviations[..., 1]) <= slacks).all(axis=1))
    goes = np.zeros(len(deviations), dtype=bool)
    rows = np.flatnonzero(possible)
    motions = rigid_motions(places).reshape(len(places), 2, 3)
    draws = SettlingDraws(deviations[rows], np.maximum(slacks, 1e-12)[rows], motions)
    weights = np.ones_like(draws.slacks)
    for _ in range(_LAWSON_STEPS):
        ratios = draws.ratios(draws.settled(weights / draws.slacks**2))
        fits, fails = _bounds(weights, ratios)
        goes[rows[fits]] = True
        open_ = ~(fits | fails)
        rows, draws = rows[open_], draws.only(open_)
        if not len(rows):
            return goes
        # Lawson's rule: who is badly off weighs more in the next step; weights of joints that never count die out
        weights = weights[open_] * ratios[open_]
        weights /= weights.sum(axis=1, keepdims=True)
    goes[rows] = draws.decide_closely()
    return goes


# Draws --------------------------------------------------------------------------------------------------------------


def _fits(mount: JointGroup, deviations: Array, sizes: Array) -> Bools:
    """Whether each draw goes together, its holes changed in diameter by `sizes` (draws, n), mm.

    The slack is below zero where the screw does not even pass one of its holes.
    """
    screws = np.array([joint.screw for joint in mount.joints])
    # How far the screw can go off the middle of its hole, to any side: half of the play.
    plate = (np.array([joint.hole for joint in mount.joints]) + sizes - screws) / 2.0
    part = np.array(
        [0.0 if joint.part_hole is None else (joint.part_hole - joint.screw) / 2.0 for joint in mount.joints]
    )
    slacks = np.where((plate >= 0.0) & (part >= 0.0), plate + part, -1.0)
    return bolts_up(deviations, slacks, mount.places, held=mount.held)


def _batches(mount: JointGroup, draws: int, seed: int) -> Iterator[tuple[Array, Array]]:
    """Deviations (batch, n, 2) and changes of hole diameter (batch, n), from a stream of its own for every batch.

    So a batch is the same whatever was drawn before it, and fewer draws are the first of more: of the last batch all
    are drawn, and those beyond what was asked for are dropped.
    """
    n = len(mount.joints)
    # the symmetric root of the covariance: unlike others it depends on no choice that a library may make differently
    # elsewhere; what is rounding among the eigenvalues the root would magnify
    values, vectors = np.linalg.eigh(mount.covariance)
    known = values > _NONE * max(float(values.max(initial=0.0)), 0.0)
    root = np.asarray((vectors * np.sqrt(np.where(known, values, 0.0))) @ vectors.T, dtype=float)
    along = None if all(joint.along is None for joint in mount.joints) else slot_directions(mount)
    first = (0, *accumulate(FIRST_BATCHES))
    starts = (0, *(start for start in (*first[1:-1], *range(first[-1], draws, BATCH)) if start < draws))
    for number, start in enumerate(starts):
        size = FIRST_BATCHES[number] if number < len(FIRST_BATCHES) else BATCH
        random = np.random.default_rng((seed, number))
        measured = random.standard_normal((size, 2 * n)) @ root
        placed = random.standard_normal((size, 2 * n)) * math.hypot(mount.cut_position, mount.printed)
        sizes = random.standard_normal((size, n)) * size_scatters(mount)
        wanted = slice(0, min(size, draws - start))
        deviations = (measured - placed).reshape(size, n, 2)[wanted]
        if along is not None:  # a slot lets go whatever lies along it
            deviations = deviations - (deviations * along).sum(axis=2, keepdims=True) * along
        yield np.asarray(deviations, dtype=float), sizes[wanted]


def slot_directions(mount: JointGroup) -> Array:
    """Unit vectors along the slots, (n, 2), without unit; zero for round holes."""
    return np.array([(0.0, 0.0) if j.along is None else (math.cos(j.along), math.sin(j.along)) for j in mount.joints])


def size_scatters(mount: JointGroup) -> Array:
    """One standard deviation of each hole's diameter, mm."""
    return np.array([mount.cut_size if joint.cut_size is None else joint.cut_size for joint in mount.joints])


def across_slots(mount: JointGroup) -> Array:
    """The matrix (2n, 2n; a pure ratio) that takes out of all places what lies along a slot: 1 - u u' at each."""
    keep = np.eye(2 * len(mount.joints))
    for k, along in enumerate(slot_directions(mount)):
        keep[2 * k : 2 * k + 2, 2 * k : 2 * k + 2] -= np.outer(along, along)
    return keep


# Deciding -----------------------------------------------------------------------------------------------------------


def _bounds(weights: Array, ratios: Array) -> tuple[Bools, Bools]:
    """Which draws surely go together, and which surely do not.

    The weights are those of the least squares that gave the ratios. At any settling at all, the mean of the ratios
    weighted by weight times ratio is at least what it is here; where that is above one, no settling will do.
    """
    fits = ratios.max(axis=1) <= 1.0
    fails = (weights * ratios * (ratios - 1.0)).sum(axis=1) > 0.0
    return np.asarray(fits), np.asarray(fails & ~fits)


class SettlingDraws(Struct, frozen=True, eq=False):
    """Draws of a plate that may still shift and turn: `deviations` (draws, n, 2) and `slacks` (draws, n), mm.

    `motions` (n, 2, 3) says how the places go with a shift in x, one in y (mm) and a turn (rad).
    """

    deviations: Array
    slacks: Array
    motions: Array

    def only(self, rows: Bools) -> SettlingDraws:
        """Some of the draws (mm), by flag."""
        return SettlingDraws(self.deviations[rows], self.slacks[rows], self.motions)

    def settled(self, weights: Array) -> Array:
        """The settling (draws, 3; mm, rad) with the least weighted sum of squared deviations."""
        deviations, motions = self.deviations, self.motions
        n = len(motions)
        products = np.einsum("nak,nal->nkl", motions, motions).reshape(n, 9)
        normal = (weights @ products).reshape(-1, 3, 3)
        # one hole alone does not hold the turn: a hair on the diagonal keeps the matrix regular and leaves the turn at
        # zero
        normal += 1e-13 * np.einsum("dkk->d", normal)[:, None, None] * np.eye(3)
        pull = (weights[..., None] * deviations).reshape(len(deviations), 2 * n) @ motions.reshape(2 * n, 3)
        # symmetric 3 x 3 systems by cofactors (Cramer's rule): many at once, far quicker than one by one
        a, b, c = normal[:, 0, 0], normal[:, 0, 1], normal[:, 0, 2]
        d, e, f = normal[:, 1, 1], normal[:, 1, 2], normal[:, 2, 2]
        A, B, C = d * f - e * e, c * e - b * f, b * e - c * d
        D, E, F = a * f - c * c, b * c - a * e, a * d - b * b
        x, y, z = pull.T
        adjugate = np.column_stack([A * x + B * y + C * z, B * x + D * y + E * z, C * x + E * y + F * z])
        return np.asarray(adjugate / (a * A + b * B + c * C)[:, None], dtype=float)

    def left(self, settling: Array) -> Array:
        """What is left of each deviation after a settling, (draws, n, 2), mm."""
        moved = settling @ self.motions.reshape(-1, 3).T
        return np.asarray(self.deviations - moved.reshape(self.deviations.shape), dtype=float)

    def ratios(self, settling: Array) -> Array:
        """What is left of each deviation after a settling, over the slack (a ratio): a screw goes in up to one."""
        left = self.left(settling)
        return np.asarray(np.hypot(left[..., 0], left[..., 1]) / self.slacks, dtype=float)

    def smooth(self, settling: Array, sharpness: float) -> tuple[Array, Array]:
        """The joints' weights, which add up to one, and the smoothed largest squared ratio, after a settling."""
        # the largest is taken out before the exponentials, which would overflow
        squares = (self.left(settling) ** 2).sum(axis=2) / self.slacks**2
        top = squares.max(axis=1, keepdims=True)
        powers = np.exp(sharpness * (squares - top))
        total = powers.sum(axis=1, keepdims=True)
        return powers / total, top[:, 0] + np.log(total[:, 0]) / sharpness

    def newton(self, settling: Array, sharpness: float) -> tuple[Array, Array]:
        """One damped step (mm, rad) on log(sum(exp(sharpness * ratio^2))) / sharpness, and the weights there."""
        left, slacks, motions = self.left(settling), self.slacks, self.motions
        weights, value = self.smooth(settling, sharpness)
        # the gradient is the weighted mean of those of the squares; the second derivative that of theirs, plus the
        # sharpness times the spread of the gradients: what bends the smoothed largest where two joints are as badly off
        pulls = -2.0 * np.einsum("dna,nak->dnk", left, motions) / slacks[..., None] ** 2
        pull = np.einsum("dn,dnk->dk", weights, pulls)
        curve = 2.0 * np.einsum("dn,nak,nal->dkl", weights / slacks**2, motions, motions)
        spread = np.einsum("dn,dnk,dnl->dkl", weights, pulls, pulls) - pull[:, :, None] * pull[:, None, :]
        normal = curve + sharpness * spread
        normal += 1e-12 * np.einsum("dkk->d", normal)[:, None, None] * np.eye(3)
        step = -np.linalg.solve(normal, pull[..., None])[..., 0]
        size = np.ones(len(step))
        for _ in range(30):
            there = settling + size[:, None] * step
            worse = self.smooth(there, sharpness)[1] > value + 1e-15
            if not worse.any():
                break
            # Damped by halving: the whole step overshoots where the sharpness is high, and a worse place is never
            # taken.
            size = np.where(worse, size / 2.0, size)
        settling = settling + size[:, None] * step
        return settling, self.smooth(settling, sharpness)[0]

    def decide_closely(self) -> Bools:
        """Which go together, of draws near the limit (mm): what Newton on the smoothed largest square proposes.

        It is made ever less smooth, so that it settles in the end where the worst joint is best off.
        """
        draws, goes = self, np.zeros(len(self.deviations), dtype=bool)
        rows = np.arange(len(self.deviations))
        settling = draws.settled(1.0 / draws.slacks**2)
        sharpness = 4.0
        for step in range(_NEWTON_STEPS):
            settling, weights = draws.newton(settling, sharpness)
            fits, fails = _bounds(weights, draws.ratios(draws.settled(weights / draws.slacks**2)))
            fits |= (draws.ratios(settling) <= 1.0).all(axis=1)
            if step == _NEWTON_STEPS - 1:
                fits |= draws.ratios(settling).max(axis=1) <= 1.0 + _TIE
            goes[rows[fits]] = True
            open_ = ~(fits | fails)
            rows, draws, settling = rows[open_], draws.only(open_), settling[open_]
            if not len(rows):
                break
            sharpness *= 1.5
        return goes

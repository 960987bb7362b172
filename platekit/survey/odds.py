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
under weight times ratio, by duality) and from above (the largest ratio). One settling with the same weights for all
draws, a fixed matrix, decides most of them; reweighting by the ratio (Lawson) once more; of what is left the weights
are sought by Newton steps inwards of the simplex that they make (primal-dual, as in linear programming; Nocedal and
Wright, Numerical Optimization, treat the kind). They only propose the weights: the same two bounds decide. The turn is
small (a degree moves a hole at 100 mm by 0.015 mm beyond the straight line), so it is taken as linear.

Several mounts may share a plate; screws are tightened mount by mount, so the odds are counted by mount.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from itertools import accumulate
from typing import TYPE_CHECKING, Literal

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from platekit.survey.frame import free_of_frame, rigid_motions
from platekit.survey.joint import Joint as Joint
from platekit.survey.net import BadReading

if TYPE_CHECKING:
    from platekit.survey.model import Array, Indices

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

_IN_CACHE = 4_000
"""Draws that are looked at together: few enough that their figures stay near the processor (ours)."""
_STEPS = 40
"""Most steps of settling a plate; the last one takes it as it lies. Ours: 8 are usual, near ties take a dozen."""
_CLOSER, _WITHIN = 0.1, 0.95
"""Share of what is missing that a Newton step leaves, and share of the way to the edge that it goes (usual)."""
_LEAST_WEIGHT, _ABOVE = 1e-3, 1.1
"""A joint's weight before the first of them, as none could not grow again; how far all begin below the top (ours)."""
_HAIR = 1e-13
"""Share of its own size added to what holds the turn: one hole alone does not, and leaves it at zero (ours)."""
_LEAST_SLACK, _LEAST_SHARE = 1e-6, 1e-3
"""Slack that a joint counts for at least, so that none at all can be divided by: a nanometre, in mm. At first sight it
counts for that share of the largest at least, as any weights will do (ours)."""
_NONE = 1e-13
"""Variance below this share of the largest is none: rounding (ours)."""
_TIE = 1e-9
"""A screw that is over its slack by no more than this share just goes in: rounding (ours)."""

Bools = NDArray[np.bool_]


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
        return float(_fits(mount, _batches(mount, self.draws, self.seed)).mean())


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
    # In batches that grow: most mounts are clear of every limit after the first few thousand plates. Where nobody asks
    # on the way, what is open in all of them is settled together.
    goes = np.zeros(0, dtype=bool)
    probability = error = 0.0
    batches = _batches(mount, draws, seed)
    for some in ([batch] for batch in batches) if clear_of else [batches]:
        goes = np.concatenate([goes, _fits(mount, some)])
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
    each = np.asarray(deviations.reshape(len(deviations), -1).T, dtype=float)
    return _decided([(each, np.broadcast_to(slacks.T, (len(places), len(deviations))))], places, held=held)


# Draws --------------------------------------------------------------------------------------------------------------


def _fits(mount: JointGroup, batches: Iterable[tuple[Array, Array]]) -> Bools:
    """Whether each draw goes together, of batches of deviations and of changes of the holes' diameters.

    The slack is below zero where the screw does not even pass one of its holes.
    """
    holes, screws = (np.array([[getattr(joint, of)] for joint in mount.joints]) for of in ("hole", "screw"))
    # How far the screw can go off the middle of its hole, to any side: half of the play.
    part = np.array([[0.0 if j.part_hole is None else (j.part_hole - j.screw) / 2.0] for j in mount.joints])

    def with_slacks() -> Iterator[tuple[Array, Array]]:
        for deviations, sizes in batches:
            plate = (holes + sizes - screws) / 2.0
            yield deviations, np.where((plate >= 0.0) & (part >= 0.0), plate + part, -1.0)

    return _decided(with_slacks(), mount.places, held=mount.held)


def _batches(mount: JointGroup, draws: int, seed: int) -> Iterator[tuple[Array, Array]]:
    """Deviations (2n, batch), x and y of each joint, and changes of hole diameter (n, batch), mm.

    From a stream of its own for every batch, so that a batch is the same whatever was drawn before it, and fewer draws
    are the first of more: of the last batch all are drawn, and those beyond what was asked for are dropped.
    """
    n = len(mount.joints)
    # the symmetric root of the covariance: unlike others it depends on no choice that a library may make differently
    # elsewhere; what is rounding among the eigenvalues the root would magnify
    values, vectors = np.linalg.eigh(mount.covariance)
    known = values > _NONE * max(float(values.max(initial=0.0)), 0.0)
    root = np.asarray((vectors * np.sqrt(np.where(known, values, 0.0))) @ vectors.T, dtype=float)
    placing, sizing = math.hypot(mount.cut_position, mount.printed), size_scatters(mount)[:, None]
    along = None if all(joint.along is None for joint in mount.joints) else slot_directions(mount)[:, :, None]
    first = (0, *accumulate(FIRST_BATCHES))
    starts = (0, *(start for start in (*first[1:-1], *range(first[-1], draws, BATCH)) if start < draws))
    for number, start in enumerate(starts):
        size = FIRST_BATCHES[number] if number < len(FIRST_BATCHES) else BATCH
        random = np.random.default_rng((seed, number))
        measured, placed, sized = (random.standard_normal((size, many))[: draws - start] for many in (2 * n, 2 * n, n))
        deviations = root @ measured.T
        placed *= placing
        deviations -= placed.T
        if along is not None:  # a slot lets go whatever lies along it
            each = deviations.reshape(n, 2, -1)
            each -= (each * along).sum(axis=1, keepdims=True) * along
        yield deviations, sized.T * sizing


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


def _decided(batches: Iterable[tuple[Array, Array]], places: Array, *, held: bool) -> Bools:
    """Whether each draw goes together, of batches of deviations (2n, draws) and slacks (n, draws), mm."""
    goes: list[Bools] = [np.zeros(0, dtype=bool)]
    open_: list[OpenDraws] = []
    before = 0
    for deviations, slacks in batches:
        if held:
            goes.append(np.asarray((np.hypot(deviations[0::2], deviations[1::2]) <= slacks).all(axis=0)))
            continue
        look = FirstLook.at(places, slacks)
        for start in range(0, slacks.shape[1], _IN_CACHE):
            some = slice(start, start + _IN_CACHE)
            fits, left = look.decided(deviations[:, some], slacks[:, some])
            goes.append(fits)
            open_.append(replace(left, rows=left.rows + before))
            before += len(fits)
        if sum(len(left.rows) for left in open_) > BATCH:  # of many screws with little slack not all are kept at once
            goes, open_ = [_with_open(goes, open_)], []
    return _with_open(goes, open_)


def _with_open(goes: list[Bools], open_: list[OpenDraws]) -> Bools:
    """What was sure, put together, with what was still open decided."""
    whole = np.concatenate(goes)
    if open_:
        left = OpenDraws(np.concatenate([one.rows for one in open_]), np.concatenate([one.figures for one in open_], 2))
        whole[left.rows[left.decided()]] = True
    return whole


def _bounds(weights: Array, ratios: Array) -> tuple[Bools, Bools]:
    """Which draws surely go together, and which surely do not; of weights and ratios (n, draws).

    The weights are those of the least squares that gave the ratios. At any settling at all, the mean of the ratios
    weighted by weight times ratio is at least what it is here; where that is above one, no settling will do.
    """
    fits = ratios.max(axis=0) <= 1.0
    fails = (weights * ratios * (ratios - 1.0)).sum(axis=0) > 0.0
    return np.asarray(fits), np.asarray(fails & ~fits)


class FirstLook(Struct, frozen=True, eq=False):
    """A settling with the same `weights` (n) for all draws: what it leaves of deviations, mm, is one matrix (2n, 2n).

    `turn` (2n, 1) is how the places go as the plate turns about their mean, about as far as in a shift of one.
    """

    weights: Array
    left: Array
    turn: Array

    @classmethod
    def at(cls, places: Array, slacks: Array) -> FirstLook:
        """Weighted by the usual ones of slacks (n, draws), mm."""
        usual = np.maximum(slacks.mean(axis=1), _LEAST_SLACK)
        weights = np.maximum(usual, _LEAST_SHARE * usual.max()) ** -2.0
        motions, twice = rigid_motions(places), np.repeat(weights, 2)
        normal = motions.T @ (twice[:, None] * motions)
        normal += _HAIR * np.trace(normal) * np.eye(3)
        taken = motions @ np.linalg.solve(normal, motions.T * twice)
        return cls(weights, np.eye(len(motions)) - taken, motions[:, 2:] * math.sqrt(len(places)))

    def decided(self, deviations: Array, slacks: Array) -> tuple[Bools, OpenDraws]:
        """Which draws surely go together, and which may or may not; these settled by weights of their own as well."""
        left = self.left @ deviations
        left *= left
        squares = left[0::2] + left[1::2]
        lengths = np.sqrt(squares)
        fits = np.asarray((lengths <= slacks).all(axis=0))
        # as `_bounds` has it, whose weights are these times the slack squared
        fails = self.weights @ (squares - slacks * lengths) > 0.0
        rows = np.flatnonzero(~(fits | fails))
        slacks = slacks.take(rows, axis=1)
        possible = (slacks >= 0.0).all(axis=0)
        if not possible.all():
            rows, slacks = rows[possible], slacks[:, possible]
        slacks = np.maximum(slacks, _LEAST_SLACK)
        pulls = self.weights[:, None] * slacks * lengths.take(rows, axis=1)
        shift, off = 1.0 / slacks, deviations.take(rows, axis=1)
        moved = shift, self.turn[0::2] * shift, self.turn[1::2] * shift
        draws = OpenDraws(rows, np.stack([*moved, off[0::2] * shift, off[1::2] * shift, pulls / pulls.sum(axis=0)]))
        ratios = draws.settled().ratios
        sure, fails = _bounds(draws.weights, ratios)
        fits[rows[sure]] = True
        return fits, draws.only(np.flatnonzero(~(sure | fails)), draws.weights * ratios)


class Settled(Struct, frozen=True, eq=False):
    """Draws settled by least squares: what is left of each deviation in x and in y, in slacks, (n, draws) each.

    `held` (4, draws) are the figures of the normal matrix of shift and turn: of a shift either way, of one in x with
    the turn, of one in y with it, and of the turn.
    """

    x: Array
    y: Array
    held: Array

    @property
    def ratios(self) -> Array:
        """What is left of each deviation over the slack (a ratio): a screw goes in up to one."""
        return np.asarray(np.sqrt(self.x * self.x + self.y * self.y), dtype=float)


class OpenDraws(Struct, frozen=True, eq=False):
    """Draws of a plate that may still shift and turn: their `rows` among all, and `figures` (6, n, draws).

    The figures of a joint, in its slacks: how far a shift of 1 mm moves it; how far a turn moves it, less x and y; its
    deviation in x and y. The last is the joint's weight, a share of one.
    """

    rows: Indices
    figures: Array

    @property
    def weights(self) -> Array:
        """How much each joint counts, (n, draws), shares of one."""
        return np.asarray(self.figures[5], dtype=float)

    def only(self, some: Indices, weights: Array) -> OpenDraws:
        """Some of the draws, by place, with other weights (n, all draws), shares of one or not."""
        figures = self.figures.take(some, axis=2)
        figures[5] = weights.take(some, axis=1)
        figures[5] /= figures[5].sum(axis=0)
        return OpenDraws(self.rows[some], figures)

    def settled(self) -> Settled:
        """The draws at the settling with the least weighted sum of squares."""
        shift, turn_x, turn_y, x, y, weights = self.figures
        hold, cross_x, cross_y, pull_x, pull_y = np.einsum("nd,knd->kd", weights * shift, self.figures[:5])
        turns = (weights * (turn_x * turn_x + turn_y * turn_y)).sum(axis=0)
        pull = (weights * (turn_x * x + turn_y * y)).sum(axis=0)
        # the shift put in from its two equations, one is left for the turn
        alone = turns - (cross_x * cross_x + cross_y * cross_y) / hold + _HAIR * (hold + turns)
        turn = (pull - (cross_x * pull_x + cross_y * pull_y) / hold) / alone
        to_x, to_y = (pull_x - cross_x * turn) / hold, (pull_y - cross_y * turn) / hold
        left_x, left_y = x - shift * to_x - turn_x * turn, y - shift * to_y - turn_y * turn
        return Settled(left_x, left_y, np.stack([hold, cross_x, cross_y, turns]))

    def decided(self) -> Bools:
        """Which go together, brought to the end by Newton steps on the weights."""
        goes = np.zeros(len(self.rows), dtype=bool)
        at, draws, room, top = np.arange(len(self.rows)), self, np.zeros_like(self.weights), np.zeros(len(self.rows))
        for step in range(_STEPS):
            settled = draws.settled()
            ratios = settled.ratios
            fits, fails = _bounds(draws.weights, ratios)
            if step == _STEPS - 1:
                fits |= ratios.max(axis=0) <= 1.0 + _TIE
            goes[at[fits]] = True
            open_ = np.flatnonzero(~(fits | fails))
            if not len(open_):
                break
            at, room, top, ratios = at[open_], room[:, open_], top[open_], ratios[:, open_]
            weights = draws.weights
            if not step:
                weights = np.maximum(weights, _LEAST_WEIGHT)
                top = 0.5 * _ABOVE * ratios.max(axis=0) ** 2
                room = top - 0.5 * ratios**2
            draws = draws.only(open_, weights)
            settled = Settled(settled.x[:, open_], settled.y[:, open_], settled.held[:, open_])
            weights, room, top = draws.newton(settled, room, top)
            draws = OpenDraws(draws.rows, np.concatenate([draws.figures[:5], weights[None]]))
        return goes

    def newton(self, settled: Settled, room: Array, top: Array) -> tuple[Array, Array, Array]:
        """Weights (n, draws) nearer to those under which the least sum of squares is largest, with `room` and `top`.

        There the joints that count are equally badly off: by `top` (draws), half the square of a ratio. What any other
        joint is better off by is its `room` (n, draws). The product of weight and room, which is none in the end, is
        made smaller step by step, and alike for all joints: so no weight comes to nothing before its time.
        """
        weights, (shift, turn_x, turn_y, *_) = self.weights, self.figures
        wanted = _CLOSER * (weights * room).mean(axis=0)
        ease = weights / room
        # how half the squares go with shift and turn; what these cost, and the change of the weights by them on top
        slopes = np.stack([shift * settled.x, shift * settled.y, turn_x * settled.x + turn_y * settled.y])
        eased = ease * slopes
        hold, cross_x, cross_y, turns = settled.held
        none = np.zeros_like(hold)
        normal = np.array(
            [[hold, none, cross_x], [none, hold, cross_y], [cross_x, cross_y, turns + _HAIR * (hold + turns)]]
        )
        normal += np.einsum("and,bnd->abd", eased, slopes)
        ask = (settled.x**2 + settled.y**2) / 2.0 - top + wanted / weights
        # every weight changes by its ease times what it is asked for, less what the settling takes of it, less the
        # change of `top`, by which the weights keep to a sum of one
        right = np.stack([np.einsum("and,nd->ad", eased, ask), eased.sum(axis=1)])
        way = np.linalg.solve(normal.transpose(2, 0, 1), right.transpose(2, 1, 0))
        own, common = np.einsum("and,dak->knd", slopes, way)
        own, common = ask - own, 1.0 - common
        higher = (ease * own).sum(axis=0) / (ease * common).sum(axis=0)
        change = ease * (own - higher * common)
        wider = (wanted - room * change) / weights - room
        far, far_room = (
            np.minimum(1.0, _WITHIN / np.maximum((-by / of).max(axis=0), _WITHIN))
            for by, of in ((change, weights), (wider, room))
        )
        weights = weights + far * change
        return weights / weights.sum(axis=0), room + far_room * wider, top + far_room * higher

"""A joint of a fit, and a lower bound of the odds in plain numbers, for joints whose errors are alike.

The words are those of `odds.py`. Most mounts bolt up with much to spare, and the bound tells it of them without numpy,
which takes as long to import as all else of a check: a command that only asks whether there is a finding needs no more.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct

from platekit.survey.chance import normal_below

_SPLITS = (2.5, 3.0, 3.5, 4.0, 5.0)
"""Sigmas of the diameters that are taken off the slack before the places are asked; the best bound counts (ours)."""
LEAST_SLACK = 1e-3
"""Slack that a joint counts for at least, mm, so that a tight one can be divided by (ours)."""


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


def slack_of(joint: Joint) -> float:
    """How far plate and part may be off each other at a joint, mm."""
    part = 0.0 if joint.part_hole is None else (joint.part_hole - joint.screw) / 2.0
    return (joint.hole - joint.screw) / 2.0 + part


def failing(joint: Joint, spread: float, scatter: float) -> float:
    """A probability (0 to 1, or above) that a joint fails no more often than.

    `spread` is the largest standard deviation of its place in any direction, `scatter` that of its hole's diameter, mm.
    """
    slack, gap = slack_of(joint), joint.hole - joint.screw
    if gap < 0.0 or slack < 0.0 or (joint.part_hole is not None and joint.part_hole < joint.screw):
        return 1.0  # the screw does not even pass
    if scatter <= 0.0:
        return _outside(slack, spread)
    # the hole comes out smaller by more than k of its own sigmas, or the place lies outside what is left; and in any
    # case the screw has to pass
    split = min(_outside(slack - k * scatter / 2.0, spread) + normal_below(-k) for k in _SPLITS)
    return split + normal_below(-gap / scatter)


def at_least_alike(joints: Sequence[Joint], error: float, cut_size: float) -> float:
    """What `bound.at_least` says (0 to 1), to rounding, where every place errs by itself by the same `error`, each way.

    In mm, one standard deviation; `cut_size` is that of the diameters of joints that have none of their own.

    >>> at_least_alike((Joint(-50, 0, 9, 8), Joint(50, 0, 9, 8)), 0.1, 0.0) > 0.99
    True
    """
    weights = [max(slack_of(joint), LEAST_SLACK) ** -2.0 for joint in joints]
    whole = sum(weights)
    # About the weighted mean, shifts and turn are square to each other under the weights (textbook), so that the
    # settling takes each out by itself: what it takes of an error is a mean, and a moment over `turning`.
    mean_x = sum(w * joint.x for w, joint in zip(weights, joints, strict=True)) / whole
    mean_y = sum(w * joint.y for w, joint in zip(weights, joints, strict=True)) / whole
    places = [(joint.x - mean_x, joint.y - mean_y) for joint in joints]
    turning = sum(w * (x * x + y * y) for w, (x, y) in zip(weights, places, strict=True))
    per_turn = 1.0 / turning if turning > 0.0 else 0.0
    kept = [_across(joint) for joint in joints]
    # the covariance of the three, from errors of unit variance across the slots
    sxx = sxy = syy = sxt = syt = stt = 0.0
    for w, (x, y), (xx, xy, yy) in zip(weights, places, kept, strict=True):
        tx, ty = (x * xy - y * xx) / whole * per_turn, (x * yy - y * xy) / whole * per_turn
        tt = (y * y * xx - 2.0 * x * y * xy + x * x * yy) * per_turn * per_turn
        sxx, sxy, syy = sxx + w * w * xx / whole**2, sxy + w * w * xy / whole**2, syy + w * w * yy / whole**2
        sxt, syt, stt = sxt + w * w * tx, syt + w * w * ty, stt + w * w * tt
    missed = 0.0
    for joint, w, (x, y), (xx, xy, yy) in zip(joints, weights, places, kept, strict=True):
        # own error, less twice what it shares with its own settling, plus the settling's
        pxx, pxy, pyy = w / whole + w * per_turn * y * y, -w * per_turn * x * y, w / whole + w * per_turn * x * x
        cxx = xx - 2.0 * (pxx * xx + pxy * xy) + sxx - 2.0 * y * sxt + y * y * stt
        cyy = yy - 2.0 * (pxy * xy + pyy * yy) + syy + 2.0 * x * syt + x * x * stt
        cxy = xy - (pxx * xy + pxy * yy) - (pxy * xx + pyy * xy) + sxy + x * sxt - y * syt - x * y * stt
        largest = (cxx + cyy) / 2.0 + math.hypot((cxx - cyy) / 2.0, cxy)
        spread = error * math.sqrt(max(largest, 0.0))
        missed += failing(joint, spread, cut_size if joint.cut_size is None else joint.cut_size)
    return 1.0 - min(missed, 1.0)


def _across(joint: Joint) -> tuple[float, float, float]:
    """What of a place's error counts, as xx, xy and yy of a matrix: all of it, or what lies across a slot."""
    if joint.along is None:
        return 1.0, 0.0, 1.0
    ux, uy = math.cos(joint.along), math.sin(joint.along)
    return 1.0 - ux * ux, -ux * uy, 1.0 - uy * uy


def _outside(radius: float, spread: float) -> float:
    """The probability that two normal errors of at most this spread (mm) lie outside a circle: Rayleigh's law."""
    if radius <= 0.0:
        return 0.0 if spread == 0.0 and radius == 0.0 else 1.0
    return math.exp(-((radius / spread) ** 2) / 2.0) if spread > 0.0 else 0.0

"""A lower bound of the fit odds by formula, for mounts whose slack is many times their errors: nothing is drawn.

Any one settling that is linear in the errors gives a bound: what is left at each joint is then normal, and the
probabilities that a joint is off by more than its slack add up to no less than that of any failing (Boole). The
settling is that of least squares weighted by one over the slack squared. Where the slack itself scatters, it is split:
the hole comes out smaller by less than k standard deviations, or it does not.
"""

from __future__ import annotations

import math

import numpy as np

from platekit.survey.chance import normal_below
from platekit.survey.frame import rigid_motions
from platekit.survey.odds import Joint, JointGroup, across_slots, size_scatters

_SPLITS = (2.5, 3.0, 3.5, 4.0, 5.0)
"""Sigmas of the diameters that are taken off the slack before the places are asked; the best bound counts (ours)."""
_LEAST_SLACK = 1e-3
"""Slack that a joint counts for at least, mm, so that a tight one can be divided by (ours)."""


def at_least(mount: JointGroup) -> float:
    """A probability (a share, 0 to 1) that the fit odds of the mount (mm) are not below.

    >>> at_least(JointGroup((Joint(-50, 0, 9, 8), Joint(50, 0, 9, 8)), 0.1**2 * np.eye(4))) > 0.99
    True
    """
    failing = 0.0
    # The largest standard deviation of each joint in any direction, mm, after the settling.
    # A settling by least squares takes M (M' W M)^-1 M' W of the errors away, M the motions and W the weights: what
    # is left is linear in them, so its covariance is known. Of each joint's 2 x 2 block the larger eigenvalue counts.
    n = len(mount.joints)
    keep = across_slots(mount)
    errors = keep @ (mount.covariance + (mount.cut_position**2 + mount.printed**2) * np.eye(2 * n)) @ keep
    if not mount.held:
        slacks = np.array([max(slack_of(joint), _LEAST_SLACK) for joint in mount.joints])
        weights = np.repeat(slacks**-2.0, 2)
        motions = rigid_motions(mount.places)
        settled = motions @ np.linalg.pinv(motions.T @ (weights[:, None] * motions)) @ (motions.T * weights)
        rest = np.eye(2 * n) - settled
        errors = rest @ errors @ rest.T
    xx, yy, xy = errors.diagonal()[0::2], errors.diagonal()[1::2], errors.diagonal(1)[0::2]
    largest: list[float] = np.sqrt((xx + yy) / 2.0 + np.hypot((xx - yy) / 2.0, xy)).tolist()
    for joint, spread, scatter in zip(mount.joints, largest, size_scatters(mount).tolist(), strict=True):
        slack, gap = slack_of(joint), joint.hole - joint.screw
        if gap < 0.0 or slack < 0.0 or (joint.part_hole is not None and joint.part_hole < joint.screw):
            return 0.0  # the screw does not even pass
        if scatter <= 0.0:
            failing += _outside(slack, spread)
            continue
        # the hole comes out smaller by more than k of its own sigmas, or the place lies outside what is left; and in
        # any case the screw has to pass
        split = min(_outside(slack - k * scatter / 2.0, spread) + normal_below(-k) for k in _SPLITS)
        failing += split + normal_below(-gap / scatter)
    return 1.0 - min(failing, 1.0)


def slack_of(joint: Joint) -> float:
    """How far plate and part may be off each other at a joint, mm."""
    part = 0.0 if joint.part_hole is None else (joint.part_hole - joint.screw) / 2.0
    return (joint.hole - joint.screw) / 2.0 + part


def _outside(radius: float, spread: float) -> float:
    """The probability that two normal errors of at most this spread (mm) lie outside a circle: Rayleigh's law."""
    if radius <= 0.0:
        return 0.0 if spread == 0.0 and radius == 0.0 else 1.0
    return math.exp(-((radius / spread) ** 2) / 2.0) if spread > 0.0 else 0.0

"""A lower bound of the fit odds by formula, for mounts whose slack is many times their errors: nothing is drawn.

Any one settling that is linear in the errors gives a bound: what is left at each joint is then normal, and the
probabilities that a joint is off by more than its slack add up to no less than that of any failing (Boole). The
settling is that of least squares weighted by one over the slack squared. Where the slack itself scatters, it is split:
the hole comes out smaller by less than k standard deviations, or it does not.
"""

from __future__ import annotations

import numpy as np

from platekit.survey.frame import rigid_motions
from platekit.survey.joint import LEAST_SLACK, failing
from platekit.survey.joint import Joint as Joint
from platekit.survey.joint import slack_of as slack_of
from platekit.survey.odds import JointGroup, across_slots, size_scatters


def at_least(mount: JointGroup) -> float:
    """A probability (a share, 0 to 1) that the fit odds of the mount (mm) are not below.

    >>> at_least(JointGroup((Joint(-50, 0, 9, 8), Joint(50, 0, 9, 8)), 0.1**2 * np.eye(4))) > 0.99
    True
    """
    missed = 0.0
    # The largest standard deviation of each joint in any direction, mm, after the settling.
    # A settling by least squares takes M (M' W M)^-1 M' W of the errors away, M the motions and W the weights: what
    # is left is linear in them, so its covariance is known. Of each joint's 2 x 2 block the larger eigenvalue counts.
    n = len(mount.joints)
    keep = across_slots(mount)
    errors = keep @ (mount.covariance + (mount.cut_position**2 + mount.printed**2) * np.eye(2 * n)) @ keep
    if not mount.held:
        slacks = np.array([max(slack_of(joint), LEAST_SLACK) for joint in mount.joints])
        weights = np.repeat(slacks**-2.0, 2)
        motions = rigid_motions(mount.places)
        settled = motions @ np.linalg.pinv(motions.T @ (weights[:, None] * motions)) @ (motions.T * weights)
        rest = np.eye(2 * n) - settled
        errors = rest @ errors @ rest.T
    xx, yy, xy = errors.diagonal()[0::2], errors.diagonal()[1::2], errors.diagonal(1)[0::2]
    largest: list[float] = np.sqrt((xx + yy) / 2.0 + np.hypot((xx - yy) / 2.0, xy)).tolist()
    for joint, spread, scatter in zip(mount.joints, largest, size_scatters(mount).tolist(), strict=True):
        missed += failing(joint, spread, scatter)
    return 1.0 - min(missed, 1.0)

"""Positional tolerancing: the hole with which every pair of parts goes together.

Source: ASME Y14.5, Dimensioning and Tolerancing, Appendix B, "Formulas for Positional Tolerancing"; quoted from memory,
    the appendix is their usual place.
Compared: the smallest clearance hole for fixed and floating fasteners, with errors in the worst directions; the odds at
    that hole.
Within: 0.001 mm: with so much less slack none of the worst cases goes together, with the full slack all do.

H is the smallest clearance hole, F the largest fastener, T the diameter of the positional tolerance zone of each part:

    floating fastener (clearance holes in both parts)   H = F + T
    fixed fastener (one part tapped)                     H = F + 2T, or H = F + T1 + T2

Both are worst cases: within them every pair of parts goes together without any shift, whatever the directions of the
errors; beyond them some pair does not.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from platekit.survey.odds import Joint, JointGroup, bolts_up, fit_odds

PLACES = np.array([(0.0, 0.0), (90.0, 0.0), (90.0, 60.0), (0.0, 60.0)])
FASTENER = 8.0


def worst_directions(zone: float, count: int = 400) -> np.ndarray:
    """Errors on the rim of the tolerance zone, in random directions: (count, 4, 2)."""
    angles = np.random.default_rng(6).uniform(0.0, 2.0 * math.pi, (count, 4))
    return zone / 2.0 * np.stack([np.cos(angles), np.sin(angles)], axis=2)


def slack(hole: float, part_hole: float | None = None) -> float:
    """What the program makes of the diameters: taken from a mount with one screw and no error."""
    joint = Joint(0.0, 0.0, hole, FASTENER, part_hole)
    for tenth in range(1, 40_000):
        far = np.array([[[tenth * 1e-4, 0.0]]])
        own = (joint.hole - joint.screw) / 2 + (0.0 if part_hole is None else (part_hole - joint.screw) / 2)
        if not bolts_up(far, np.array([[own]]), PLACES[:1], held=True)[0]:
            return (tenth - 1) * 1e-4
    raise AssertionError


@pytest.mark.parametrize(("plate_zone", "part_zone"), [(0.4, 0.4), (0.6, 0.2), (1.0, 0.5)])
def test_fixed_fastener_two_zones(plate_zone: float, part_zone: float) -> None:
    """H = F + T1 + T2."""
    hole = FASTENER + plate_zone + part_zone
    deviations = worst_directions(part_zone) * (1.0 + plate_zone / part_zone)  # both errors in line, the worst case
    slacks = np.full((len(deviations), 4), (hole - FASTENER) / 2.0)
    assert bolts_up(deviations * (1.0 - 1e-12), slacks, PLACES, held=True).all()
    assert not bolts_up(deviations, slacks - 0.001, PLACES, held=True).any()


def test_fixed_fastener_equal_zones() -> None:
    """H = F + 2T; a plate free to shift and turn only gains: four holes all outward are the worst it can meet."""
    zone = 0.5
    hole = FASTENER + 2.0 * zone
    outward = (PLACES - PLACES.mean(axis=0)) / np.hypot(*(PLACES - PLACES.mean(axis=0)).T)[:, None] * zone
    slacks = np.full((1, 4), (hole - FASTENER) / 2.0)
    assert bolts_up(outward[None] * (1.0 - 1e-12), slacks, PLACES)[0]
    assert not bolts_up(outward[None], slacks - 0.001, PLACES)[0]
    free = bolts_up(2.0 * worst_directions(zone), slacks - 0.1, PLACES)
    held = bolts_up(2.0 * worst_directions(zone), slacks - 0.1, PLACES, held=True)
    assert (free | ~held).all()
    assert free.sum() > held.sum()


def test_floating_fastener() -> None:
    """H = F + T in both parts: the slack is then T, and both errors in line add up to T."""
    zone = 0.5
    hole = FASTENER + zone
    assert slack(hole, hole) == pytest.approx(zone, abs=2e-4)
    deviations = 2.0 * worst_directions(zone)
    slacks = np.full((len(deviations), 4), zone)
    assert bolts_up(deviations * (1.0 - 1e-12), slacks, PLACES, held=True).all()
    assert not bolts_up(deviations, slacks - 0.001, PLACES, held=True).any()


def test_the_odds_come_close_to_certainty_at_the_worst_case_hole() -> None:
    """With the zone taken as six sigmas across, H = F + 2T fits all but a few in a thousand of free plates."""
    zone = 0.6
    sigma = zone / 6.0
    joints = tuple(Joint(float(x), float(y), FASTENER + 2.0 * zone, FASTENER) for x, y in PLACES)
    odds = fit_odds(JointGroup(joints, sigma**2 * np.eye(8), cut_position=sigma), draws=20_000)
    assert odds.probability > 0.997
    assert odds.what_if(hole=FASTENER + zone / 2.0) < 0.9

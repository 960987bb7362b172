"""Natural frequencies of square plates against the published ones.

Source: A. W. Leissa, Vibration of Plates, NASA SP-160 (1969); M. V. Barton, Journal of Applied Mechanics 18 (1951), as
    printed in the code-validation case SDLS01/89.
Compared: frequencies of thin square plates simply supported, clamped, held along one edge, and free.
Within: 0.2 % (simply supported and clamped); from 1.2 % below Barton's figures up to them, since his Ritz values lie up
    to 1 % high.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest

from platekit.strength.solving import Factored
from tests.strength.squares import Sample, sides, square

SIDE, THICKNESS = 300.0, 1.0


@cache
def plate() -> Sample:
    return square(SIDE, THICKNESS, 20.0)


def lowest(held: np.ndarray, count: int) -> np.ndarray:
    """The lowest frequencies as omega a^2 sqrt(rho t / D)."""
    one = plate()
    found, _ = Factored(one.stiffness, np.concatenate([one.unknowns(None, 0, 1), held])).modes(one.mass, count)
    scale = 2 * math.pi * SIDE**2 * math.sqrt(one.steel.density * THICKNESS / one.bending)
    return found * scale


def test_simply_supported() -> None:
    across_x, across_y = sides(plate(), SIDE / 2)
    edges = plate().unknowns(np.union1d(across_x, across_y), 2)
    held = np.concatenate([edges, plate().unknowns(across_x, 4), plate().unknowns(across_y, 3)])
    assert lowest(held, 2) == pytest.approx([2 * math.pi**2, 5 * math.pi**2], rel=0.002)


def test_clamped() -> None:
    across_x, across_y = sides(plate(), SIDE / 2)
    assert lowest(plate().unknowns(np.union1d(across_x, across_y), 2, 3, 4), 2) == pytest.approx(
        [35.99, 73.41], rel=0.002
    )


@pytest.mark.parametrize(("mode", "barton"), [(0, 3.492), (1, 8.525)])
def test_held_along_one_edge(mode: int, barton: float) -> None:
    held = plate().unknowns(np.flatnonzero(plate().x < -SIDE / 2 + 1e-6), 2, 3, 4)
    assert 0.988 * barton < lowest(held, 2)[mode] < barton


def test_free() -> None:
    """A free plate has three movements without stiffness; a spring far softer than the plate stands in for none."""
    one = plate()
    soft = 1e-6 * one.bending / SIDE**4 / (one.steel.density * THICKNESS)
    stiffness = (one.stiffness + soft * one.mass).tocsr()
    found, _ = Factored(stiffness, one.unknowns(None, 0, 1)).modes(one.mass, 6)
    scale = 2 * math.pi * SIDE**2 * math.sqrt(one.steel.density * THICKNESS / one.bending)
    for value, barton in zip(found[3:] * scale, (13.49, 19.79, 24.43), strict=True):
        assert 0.988 * barton < value < barton

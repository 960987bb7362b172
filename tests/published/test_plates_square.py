"""Square plates under load: deflections and moments against the tables of thin-plate theory.

Source: S. Timoshenko and S. Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed., tables 8, 23, 35, 37.
Compared: deflections and moments of thin square plates, simply supported and clamped, under an even load and a force in
    the middle; a plate bent by moments along its edges (article 11, by its closed form), and one simply supported with
    moments along two opposite edges (article 41, by its series); a strip under an edge load as a beam.
Within: 0.2 % (deflections and moments within the plate; half of the last digit where fewer are printed), 0.5 % (moments
    at a clamped edge).
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from platekit.geometry import rectangle
from platekit.strength.element import Steel
from platekit.strength.stresses import at_nodes
from tests.strength.squares import Floats, Sample, sides, square

SIDE, THICKNESS = 300.0, 1.0


@cache
def plate() -> Sample:
    return square(SIDE, THICKNESS, 12.0)


def held(clamped: bool) -> np.ndarray:
    """Hard support: the turn along the edge is held too, as in thin-plate theory."""
    one = plate()
    across_x, across_y = sides(one, SIDE / 2)
    edges = np.union1d(across_x, across_y)
    flat = [one.unknowns(None, 0, 1), one.unknowns(edges, 2)]
    turns = [one.unknowns(edges, 3, 4)] if clamped else [one.unknowns(across_x, 4), one.unknowns(across_y, 3)]
    return np.concatenate([*flat, *turns])


def moment(moved: Floats, x: float, y: float) -> float:
    """Moment on a unit of length about the y axis, N, from the stress at the face."""
    bending = float(at_nodes(plate(), moved[:, None]).bending[plate().at(x, y), 0, 0])
    return abs(float(bending)) * THICKNESS**2 / 6


def deflection(moved: Floats) -> float:
    return float(moved[5 * plate().at(0, 0) + 2]) * plate().bending


def test_simply_supported_under_an_even_load() -> None:
    moved = plate().solved(plate().spread(np.array([0, 0, 1.0, 0, 0])), held(clamped=False))
    assert deflection(moved) / SIDE**4 == pytest.approx(0.00406, rel=0.002)
    assert moment(moved, 0, 0) / SIDE**2 == pytest.approx(0.0479, rel=0.002)


def test_simply_supported_under_a_force_in_the_middle() -> None:
    moved = plate().solved(plate().push(plate().at(0, 0), 2), held(clamped=False))
    assert deflection(moved) / SIDE**2 == pytest.approx(0.01160, rel=0.002)


def test_clamped_under_an_even_load() -> None:
    moved = plate().solved(plate().spread(np.array([0, 0, 1.0, 0, 0])), held(clamped=True))
    assert deflection(moved) / SIDE**4 == pytest.approx(0.00126, rel=0.005)  # printed to three figures
    assert deflection(moved) / SIDE**4 == pytest.approx(0.0012653, rel=0.002)
    assert moment(moved, 0, 0) / SIDE**2 == pytest.approx(0.0231, rel=0.01)  # three figures, of an older series
    assert moment(moved, SIDE / 2, 0) / SIDE**2 == pytest.approx(0.0513, rel=0.005)


def test_clamped_under_a_force_in_the_middle() -> None:
    moved = plate().solved(plate().push(plate().at(0, 0), 2), held(clamped=True))
    assert deflection(moved) / SIDE**2 == pytest.approx(0.00560, rel=0.003)  # printed to three figures
    assert moment(moved, SIDE / 2, 0) == pytest.approx(0.1257, rel=0.005)


def test_moments_along_all_edges_bend_to_a_sphere() -> None:
    """M on a unit of length all round bends a plate to a radius of D (1 + nu) / M, whatever its outline."""
    one = plate()
    across_x, across_y = (
        [np.flatnonzero(np.abs(at - sign * SIDE / 2) < 1e-6) for sign in (1, -1)] for at in (one.x, one.y)
    )
    load = sum(
        (
            one.side(nodes, which, sign)
            for which, pair in ((3, across_x), (4, across_y))
            for nodes, sign in zip(pair, (1, -1), strict=True)
        ),
        np.zeros(one.size),
    )
    corners = [one.at(SIDE / 2 * x, SIDE / 2 * y) for x, y in ((1, 1), (-1, 1), (-1, -1))]
    moved = one.solved(load, np.concatenate([one.unknowns(None, 0, 1), one.unknowns(corners, 2)]))
    # from the corners to the middle: half the square of the half diagonal over the radius
    wanted = SIDE**2 / 4 / (one.bending * (1 + one.steel.poisson))
    assert abs(moved[5 * one.at(0, 0) + 2]) == pytest.approx(wanted, rel=0.002)


def test_moments_along_two_opposite_edges() -> None:
    """Simply supported all round, M along y = +-a/2: w = 2 M a^2 / pi^3 D sum of series (T&W-K, article 41, b = a)."""
    one = plate()
    _, across_y = sides(one, SIDE / 2)
    ends = [np.flatnonzero(np.abs(one.y - sign * SIDE / 2) < 1e-6) for sign in (1, -1)]
    load = np.zeros(one.size)
    for nodes, sign in zip(ends, (1, -1), strict=True):
        order = nodes[np.argsort(one.x[nodes])]
        for i in range(0, len(order) - 2, 2):
            length = one.x[order[i + 2]] - one.x[order[i]]
            for node, share in zip(order[i : i + 3], (1 / 6, 4 / 6, 1 / 6), strict=True):
                load[5 * node + 4] += sign * length * share
    assert len(across_y)
    moved = one.solved(load, held(clamped=False))
    total = 0.0
    for m in range(1, 40, 2):
        alpha = m * np.pi / 2
        total += (-1) ** ((m - 1) // 2) / m**3 * alpha * np.tanh(alpha) / np.cosh(alpha)
    wanted = 2 * SIDE**2 / np.pi**3 / one.bending * total
    assert abs(moved[5 * one.at(0, 0) + 2]) == pytest.approx(wanted, rel=0.002)
    assert wanted * one.bending / SIDE**2 == pytest.approx(0.0368, abs=1e-4)  # table 25, b / a = 1 (from memory)


def test_a_bent_strip_is_a_beam() -> None:
    """A plate held along one edge, without Poisson's effect, under an edge load is a beam: F L^3 / 3 E I."""
    strip = Sample(rectangle(200.0, 40.0), thickness=5.0, largest=20.0, steel=Steel(210e3, 0.0, 7.85e-9))
    root, tip = np.flatnonzero(strip.x < -100 + 1e-6), np.flatnonzero(strip.x > 100 - 1e-6)
    moved = strip.solved(strip.side(tip, 2, 1.0), strip.unknowns(root, 0, 1, 2, 3, 4))
    inertia, shear = 40.0 * 5.0**3 / 12, 5 / 6 * 105e3 * 40.0 * 5.0
    wanted = 40.0 * (200.0**3 / 3 / 210e3 / inertia + 200.0 / shear)
    assert moved[5 * strip.at(100, 0) + 2] == pytest.approx(wanted, rel=0.002)

"""The highest stress at a hole in a plate that is pulled, and in one that is bent.

Source: W. D. Pilkey, Peterson's Stress Concentration Factors, chart 4.1 (R. C. J. Howland, Phil. Trans. A 229, 1930);
    E. Reissner, Journal of Applied Mechanics 12 (1945), bending of a wide plate with a hole; W. C. Young, Roark's
    Formulas for Stress and Strain, annular plates, corrected for shear.
Compared: highest stress at a hole in a strip pulled at its ends, for holes of 10 to 50 % of the width; highest moment
    at a hole of 0.6 to 8 thicknesses, and the rows of the table of it; what the mean stress under a washer tells of the
    hole's edge there; an annular plate clamped inside and loaded round its rim, from thin to 1/6 of its width.
Within: 1.5 % (stresses and moments at holes; 5 % by the mean under the washer of a bent plate, 0.05 % the table), 1 %
    (annular plate).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.special import kv, kvp

from platekit.geometry import Disc, disc_loop, rectangle
from platekit.strength.rings import Ring, gripped
from platekit.strength.stresses import at_hole, at_nodes, highest
from platekit.tables.strengths import PULLED, bent
from tests.strength.squares import Sample

STRESS = 1.0


@pytest.mark.parametrize("share", [0.1, 0.2, 0.3, 0.5])
def test_a_strip_with_a_hole_is_pulled(share: float) -> None:
    """Peterson's fit to Howland: Kt on the gross section is 0.284 + 2 / (1 - s) - 0.6 (1 - s) + 1.32 (1 - s)^2."""
    width, length, thickness = 100.0, 320.0, 10.0
    strip = Sample(rectangle(length, width), [Disc((0.0, 0.0), share * width / 2)], thickness)
    ends = [np.flatnonzero(np.abs(strip.x - sign * length / 2) < 1e-6) for sign in (1, -1)]
    load = strip.side(ends[0], 0, STRESS * thickness) + strip.side(ends[1], 0, -STRESS * thickness)
    left, right = strip.at(-length / 2, 0), strip.at(length / 2, 0)
    held = np.concatenate([strip.unknowns(None, 2, 3, 4), strip.unknowns(left, 0, 1), strip.unknowns(right, 1)])
    rest = 1 - share
    wanted = 0.284 + 2 / rest - 0.6 * rest + 1.32 * rest**2
    assert highest(strip.along_edge(1, strip.solved(load, held))[0]) == pytest.approx(wanted, rel=0.015)


def reissner(diameter: float, thickness: float, nu: float = 0.3) -> float:
    """Kt of a hole in a wide plate bent one way, by Reissner's equations: harmonics 0 and 2 round the hole.

    w is biharmonic, the turns are -grad(w + D / S lap w) + curl psi, psi decays as the Bessel function K2(mu r).
    Unit far moment: 1/2 all round, and 1/2 cos 2t, which the hole's edge must not feel (M_r, M_rt and Q_r nil).
    """
    a = diameter / 2
    bending, shear = thickness**3 / 12 / (1 - nu**2), 5 / 6 * thickness / 2 / (1 + nu)
    mu, c = math.sqrt(10.0) / thickness, bending / shear

    def edge(h: tuple[float, float, float], dw: float, psi: tuple[float, float, float]) -> list[float]:
        """M_r, M_rt, Q_r and M_t at the hole of h = w + c lap w and psi, each with its derivatives."""
        b_r, db_r = -h[1] + 2 * psi[0] / a, -h[2] + 2 * psi[1] / a - 2 * psi[0] / a**2
        b_t, db_t = 2 * h[0] / a - psi[1], 2 * h[1] / a - 2 * h[0] / a**2 - psi[2]
        round_ = b_r / a + 2 * b_t / a
        twist = db_t - 2 * b_r / a - b_t / a
        return [
            bending * (db_r + nu * round_),
            bending * (1 - nu) / 2 * twist,
            shear * (b_r + dw),
            bending * (round_ + nu * db_r),
        ]

    nil = (0.0, 0.0, 0.0)
    first = edge((a**-2, -2 * a**-3, 6 * a**-4), -2 * a**-3, nil)
    second = edge((1 - 4 * c * a**-2, 8 * c * a**-3, -24 * c * a**-4), 0.0, nil)
    bessel = (float(kv(2, mu * a)), mu * float(kvp(2, mu * a, 1)), mu**2 * float(kvp(2, mu * a, 2)))
    third = edge(nil, 0.0, bessel)
    rows = np.array([first, second, third]).T
    shares = np.linalg.solve(rows[:3], [-0.5, 0.5, 0.0])
    return 1.0 - (-0.5 + float(rows[3] @ shares))


@pytest.mark.parametrize("ratio", [0.6, 0.9, 1.5, 3.0, 8.0])
def test_a_wide_plate_with_a_hole_is_bent(ratio: float) -> None:
    thickness = 10.0
    diameter = ratio * thickness
    width = max(30 * diameter, 200.0)
    plate = Sample(rectangle(width, width), [Disc((0.0, 0.0), diameter / 2)], thickness, width / 12)
    ends = [np.flatnonzero(np.abs(plate.x - sign * width / 2) < 1e-6) for sign in (1, -1)]
    load = plate.side(ends[0], 3, 1.0) + plate.side(ends[1], 3, -1.0)
    corners = [plate.at(width / 2 * x, width / 2 * y) for x, y in ((1, 1), (-1, 1), (-1, -1))]
    moved = plate.solved(load, np.concatenate([plate.unknowns(None, 0, 1), plate.unknowns(corners, 2)]))
    moment = highest(np.abs(plate.along_edge(1, moved)[1])) * thickness**2 / 6
    assert moment == pytest.approx(reissner(diameter, thickness), rel=0.015)


def test_the_series_gives_the_limits_that_are_known() -> None:
    """Kirchhoff's (5 + 3 nu) / (3 + nu) for wide holes; 3, as if pulled, for ever smaller ones (Reissner 1945)."""
    assert reissner(60.0, 1.0) == pytest.approx(5.9 / 3.3, rel=0.01)
    assert reissner(0.05, 1.0) == pytest.approx(3.0, rel=0.01)
    assert reissner(9.0, 10.0) == pytest.approx(2.30, abs=0.005)


@pytest.mark.parametrize("ratio", [0.1, 0.2, 0.3, 0.5, 0.75, 1, 1.5, 2, 3, 5, 8, 15, 30, 60])
def test_the_table_of_bent_holes(ratio: float) -> None:
    assert bent(ratio) == pytest.approx(reissner(10 * ratio, 10.0), abs=5e-4)


@pytest.mark.parametrize(
    ("stress", "times"),
    [((1.0, 0.0, 0.0), 3.0), ((0.0, -1.0, 0.0), 3.0), ((1.0, 1.0, 0.0), 2.0), ((0.0, 0.0, 1.0), 4.0)],
)
def test_a_hole_in_a_wide_plate_by_kirsch(stress: tuple[float, ...], times: float) -> None:
    """Pulled one way 3, both ways 2, sheared 4; bent both ways 2 as well, whatever the thickness."""
    field, none = np.array(stress)[:, None], np.zeros((3, 1))
    assert at_hole(field, none, PULLED, 2.0) == pytest.approx([times])
    if times == 2.0:
        assert at_hole(none, field, PULLED, 2.3) == pytest.approx([2.0])


@pytest.mark.parametrize(("hole", "washer", "thickness"), [(4.5, 8.0, 8.0), (4.5, 9.0, 3.0), (9.0, 15.0, 20.0)])
@pytest.mark.parametrize(("which", "within"), [(0, 0.015), (3, 0.05)])
def test_the_mean_under_a_washer_tells_the_stress_at_its_hole(
    which: int, within: float, hole: float, washer: float, thickness: float
) -> None:
    """M8 and M16 under their washers in a plate that is pulled (0) or bent (3) and bears nothing there."""
    half = 25 * hole
    plate = Sample(rectangle(2 * half, 2 * half), [Disc((0.0, 0.0), hole)], thickness)
    ring = gripped(plate, Ring((0.0, 0.0), hole, washer, 0.0, 1.0, 1.0))
    ends = [np.flatnonzero(np.abs(plate.x - sign * half) < 1e-6) for sign in (1, -1)]
    load = plate.side(ends[0], which, 1.0) + plate.side(ends[1], which, -1.0)
    if which:
        corners = [plate.at(half * x, half * y) for x, y in ((1, 1), (-1, 1), (-1, -1))]
        held = np.concatenate([plate.unknowns(None, 0, 1), plate.unknowns(corners, 2)])
    else:
        pins = [plate.unknowns([plate.at(-half, 0)], 0, 1), plate.unknowns([plate.at(half, 0)], 1)]
        held = np.concatenate([plate.unknowns(None, 2, 3, 4), *pins])
    stress = at_nodes(plate, plate.solved(load, held)[:, None])
    means = [(ring.mean @ field.reshape(len(plate.x), -1)).reshape(3, 1) for field in (stress.middle, stress.bending)]
    nominal = 6 / thickness**2 if which else 1 / thickness
    wanted = reissner(2 * hole, thickness) if which else 3.0
    assert at_hole(means[0], means[1], PULLED, bent(2 * hole / thickness))[0] / nominal == pytest.approx(
        wanted, rel=within
    )


@pytest.mark.parametrize("thickness", [1.0, 10.0, 20.0])
def test_an_annular_plate_clamped_inside(thickness: float) -> None:
    """At the rim: w = c1 r^2 + c2 ln r + c3 r^2 ln r in bending, and (F a / kappa G t) ln(a / b) in shear."""
    a, b, nu = 150.0, 30.0, 0.3
    plate = Sample(disc_loop(Disc((0.0, 0.0), a)), [Disc((0.0, 0.0), b)], thickness, 20.0, 20)
    rim, inner = plate.mesh.edges
    load = np.zeros(plate.size)
    for row in rim:
        length = 2 * math.pi * a / len(rim)
        for node, share in zip(row, (1 / 6, 4 / 6, 1 / 6), strict=True):
            load[5 * node + 2] += length * share
    moved = plate.solved(load, np.concatenate([plate.unknowns(None, 0, 1), plate.unknowns(np.unique(inner), 2, 3, 4)]))
    c3 = -a / (4 * plate.bending)
    slope_b, bend_a = c3 * (2 * b * math.log(b) + b), c3 * ((2 + 2 * nu) * math.log(a) + 3 + nu)
    c1, c2 = np.linalg.solve([[2 * b, 1 / b], [2 + 2 * nu, -(1 - nu) / a**2]], [-slope_b, -bend_a])
    bent = [c1 * r**2 + c2 * math.log(r) + c3 * r**2 * math.log(r) for r in (a, b)]
    sheared = a / (5 / 6 * plate.steel.shear_modulus * thickness) * math.log(a / b)
    wanted = abs(bent[0] - bent[1]) + sheared
    assert moved[5 * np.unique(rim) + 2].mean() == pytest.approx(wanted, rel=0.01)

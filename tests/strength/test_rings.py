"""A rigid part on a plate, against a beam with a rigid body at its end."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.linalg import eigh
from scipy.sparse import block_diag, bmat, csr_matrix

from platekit.geometry import Disc, rectangle
from platekit.strength.element import Steel
from platekit.strength.rings import Ring, bearing, rigid_mass, wrench
from platekit.strength.solving import Factored
from tests.strength.squares import Floats, Sample

LENGTH, WIDTH, THICKNESS, MODULUS = 270.0, 30.0, 10.0, 210e3
MASS, INERTIA = 8e-3, np.diag([8e-3 * 60.0**2] * 3)


def beam(offset: tuple[float, float, float]) -> Floats:
    """Frequencies in Hz of a beam without mass, held at one end, with a body at the other; six movements of its end."""
    area, shear = WIDTH * THICKNESS, MODULUS / 2
    thin, tall = WIDTH * THICKNESS**3 / 12, THICKNESS * WIDTH**3 / 12
    twist = WIDTH * THICKNESS**3 * (1 / 3 - 0.21 * THICKNESS / WIDTH * (1 - (THICKNESS / WIDTH) ** 4 / 12))

    def bent(inertia: float, sign: float) -> Floats:
        across = LENGTH**3 / 3 / MODULUS / inertia + LENGTH / (5 / 6 * shear * area)
        turned = sign * LENGTH**2 / 2 / MODULUS / inertia
        return np.linalg.inv(np.array([[across, turned], [turned, LENGTH / MODULUS / inertia]]))

    stiffness = np.zeros((6, 6))
    stiffness[0, 0], stiffness[3, 3] = MODULUS * area / LENGTH, shear * twist / LENGTH
    stiffness[np.ix_([2, 4], [2, 4])], stiffness[np.ix_([1, 5], [1, 5])] = bent(thin, -1.0), bent(tall, 1.0)
    squares = eigh(stiffness, rigid_mass(MASS, INERTIA, offset, (0.0, 0.0, 0.0)), eigvals_only=True)
    found: Floats = np.sqrt(squares) / 2 / math.pi
    return found


def test_a_heavy_part_at_the_end_of_a_strip() -> None:
    """The last 30 mm of a strip of 300 mm are held by the part, as a disc so wide that its edge is straight there."""
    strip = Sample(
        rectangle(300.0, WIDTH),
        thickness=THICKNESS,
        largest=8.0,
        steel=Steel(MODULUS, 0.0, 1e-14),
        fixed=[(120.0, y) for y in (-10.0, -5.0, 0.0, 5.0, 10.0)],
    )
    about = (120.0, 0.0, 0.0)
    one = bearing(strip, Ring((1120.0, 0.0), 0.0, 1000.0, 0.0, 300.0, 300.0), about)
    stiffness = bmat([[strip.stiffness + one.plate, one.between], [one.between.T, csr_matrix(one.part)]], "csr")
    mass = block_diag([strip.mass, csr_matrix(rigid_mass(MASS, INERTIA, (135.0, 0.0, 120.0), about))], "csr")
    root = strip.unknowns(np.flatnonzero(strip.x < -150 + 1e-6), 0, 1, 2, 3, 4)
    found, _ = Factored(stiffness, root).modes(mass, 3)
    wanted = beam((15.0, 0.0, 120.0))[:3]
    assert found[:2] == pytest.approx(wanted[:2], rel=0.01)
    assert found[2] == pytest.approx(wanted[2], rel=0.04)  # torsion, whose warping the root holds


def test_a_force_on_a_part_reaches_the_ground() -> None:
    """Two rings hold a plate, a part on a third is pushed: the rings give back just that force and its moments."""
    plate = Sample(rectangle(200.0, 80.0), [Disc((-80.0, 0.0), 5.0), Disc((80.0, 20.0), 5.0)], largest=20.0)
    rings = [Ring(center, 5.0, 10.0, -5.0, 500.0, 300.0) for center in ((-80.0, 0.0), (80.0, 20.0))]
    ground = [bearing(plate, ring, (0.0, 0.0, 0.0)) for ring in rings]
    about = (10.0, 5.0, 60.0)
    part = bearing(plate, Ring((10.0, 0.0), 0.0, 15.0, 5.0, 900.0, 500.0), about)
    stiffness = plate.stiffness + part.plate + ground[0].plate + ground[1].plate
    whole = bmat([[stiffness, part.between], [part.between.T, csr_matrix(part.part)]], "csr")
    push = wrench((70.0, -30.0, 20.0), (40.0, 0.0, 90.0), about)
    moved = Factored(whole).solve(np.concatenate([np.zeros(plate.size), push]))
    given = sum(one.between.T @ moved[: plate.size] for one in ground)
    assert given == pytest.approx(-wrench((70.0, -30.0, 20.0), (40.0, 0.0, 90.0), (0.0, 0.0, 0.0)), rel=1e-6, abs=1e-3)

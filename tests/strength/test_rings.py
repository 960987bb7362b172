"""A rigid part on a plate, against a beam with a rigid body at its end."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.linalg import eigh
from scipy.sparse import csr_matrix

from platekit.geometry import Disc, rectangle
from platekit.strength import joined as joined_plate
from platekit.strength.element import Steel
from platekit.strength.joined import Gripped, Joined, Loose, OnRing
from platekit.strength.rings import Ring, gripped, rigid_mass, wrench
from platekit.strength.solving import Factored
from tests.strength.squares import Floats, Sample

LENGTH, WIDTH, THICKNESS, MODULUS = 500.0, 30.0, 3.0, 210e3
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
    """6 mm at either end of a strip are held, by the ground and the part: by discs so wide that they end straight."""
    on_edges = [(sign * LENGTH / 2, y) for sign in (-1, 1) for y in np.linspace(-12.0, 12.0, 9)]
    strip = Sample(
        rectangle(LENGTH + 12, WIDTH),
        thickness=THICKNESS,
        largest=4.0,
        steel=Steel(MODULUS, 0.0, 1e-14),
        fixed=on_edges,
    )
    about = (LENGTH / 2, 0.0, 0.0)
    rings = [Ring((sign * (1000.0 + LENGTH / 2), 0.0), 0.0, 1000.0, 0.0, 1e5, 1e5) for sign in (-1, 1)]
    held = Gripped(Loose(strip), [gripped(strip, ring) for ring in rings])
    joined = Joined(held, [OnRing(0, rings[0], None), OnRing(1, rings[1], 0)], [about])
    found, shapes = joined.modes([rigid_mass(MASS, INERTIA, (LENGTH / 2 + 15, 0.0, 120.0), about)], 3)
    wanted = beam((15.0, 0.0, 120.0))[:3]
    assert found[:2] == pytest.approx(wanted[:2], rel=0.01)
    assert found[2] == pytest.approx(wanted[2], rel=0.04)  # torsion, whose warping the root holds
    # the flexibilities of all modes add up to that of the beam's end, L^3 / 3 E I and its shear; nearly all of it is
    # the first's, which tells how far an imbalance swings it; 1 % of a frequency is 2 % of what gives way
    thin = WIDTH * THICKNESS**3 / 12
    whole = LENGTH**3 / 3 / MODULUS / thin + LENGTH / (5 / 6 * MODULUS / 2 * WIDTH * THICKNESS)
    across = shapes.parts[2] ** 2
    assert 0.95 * whole < across.sum() < 1.02 * whole


@pytest.mark.parametrize("kept", [joined_plate.MOST_KEPT, 0])
def test_a_force_on_a_part_reaches_the_ground(kept: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two rings hold a plate, a part on a third is pushed: the rings give back just that force and its moments."""
    monkeypatch.setattr(joined_plate, "MOST_KEPT", kept)
    plate = Sample(rectangle(200.0, 80.0), [Disc((-80.0, 0.0), 5.0), Disc((80.0, 20.0), 5.0)], largest=20.0)
    rings = [Ring(center, 5.0, 10.0, -5.0, 500.0, 300.0) for center in ((-80.0, 0.0), (80.0, 20.0))]
    rings.append(Ring((10.0, 0.0), 0.0, 15.0, 5.0, 900.0, 500.0))
    about = (10.0, 5.0, 60.0)
    held = Gripped(Loose(plate), [gripped(plate, ring) for ring in rings])
    joined = Joined(
        held, [OnRing(number, ring, 0 if number == 2 else None) for number, ring in enumerate(rings)], [about]
    )
    push = wrench((70.0, -30.0, 20.0), (40.0, 0.0, 90.0), about)
    count = len(plate.mesh.nodes)
    moved, forces = joined.moved(np.zeros((2 * count, 1)), np.zeros((3 * count, 1)), push[:, None])
    nowhere = (0.0, 0.0, 0.0)
    given = sum(joined.on_ring(number, forces, nowhere)[:, 0] for number in (0, 1))
    assert given == pytest.approx(-wrench((70.0, -30.0, 20.0), (40.0, 0.0, 90.0), nowhere), rel=1e-6, abs=1e-3)
    # the part lies on its ring as far as the springs give way, and pushes it with all that was pushed
    assert joined.on_ring(2, forces, about)[:, 0] == pytest.approx(push, rel=1e-6, abs=1e-3)
    assert np.abs(moved.nodes).max() > 0


@pytest.mark.parametrize("sway", [0.0, 50.0])
def test_a_plate_on_springs_answers_like_the_whole_system(sway: float) -> None:
    """The loose plate with its rings, against one large system in which every spring stands for itself.

    A ring wide enough to be felt as a whole: what the nine figures leave out is below a hundredth.
    """
    plate = Sample(rectangle(240.0, 100.0), [Disc((x, 0.0), 5.0) for x in (-90.0, 90.0)], largest=12.0)
    rings = [Ring((x, 0.0), 5.0, 11.0, -5.0, 900.0, 700.0) for x in (-90.0, 90.0)]
    load = plate.spread(np.array([sway / 2e4, 0.0, -1e-2, 0.0, 0.0]))
    springs = csr_matrix((plate.size, plate.size))
    places = plate.places
    for ring in rings:
        far = np.hypot(places.where[..., 0] - ring.center[0], places.where[..., 1] - ring.center[1])
        weights = plate.weights * ((far >= 0.98 * ring.inner) & (far <= ring.outer))
        weights *= math.pi * (ring.outer**2 - ring.inner**2) / weights.sum()
        for triangle, place in zip(*np.nonzero(weights), strict=True):
            nodes, values = plate.mesh.triangles[triangle], places.values[place]
            for which, stiff in (((0, 3), ring.across), ((1, 4), ring.across), ((2,), ring.along)):
                row = np.zeros(plate.size)
                for unknown, lever in zip(which, (1.0, ring.z), strict=False):
                    row[5 * nodes + unknown] = lever * values
                spot = csr_matrix(row)
                springs = springs + stiff * weights[triangle, place] * (spot.T @ spot)
    wanted = Factored(plate.stiffness + springs).solve(load)
    held = Gripped(Loose(plate), [gripped(plate, ring) for ring in rings])
    joined = Joined(held, [OnRing(number, ring, None) for number, ring in enumerate(rings)], [])
    halves = load.reshape(-1, 5)
    moved, _ = joined.moved(halves[:, :2].reshape(-1, 1), halves[:, 2:].reshape(-1, 1), np.zeros((0, 1)))
    sags = [np.abs(each[2::5]).max() for each in (moved.nodes[:, 0], wanted)]
    assert sags[0] == pytest.approx(sags[1], rel=0.01)
    assert sags[0] >= sags[1] * 0.999  # fewer figures hold a plate less

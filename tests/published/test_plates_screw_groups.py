"""What a stiff plate gives each of its screws, against the method of the textbooks for a rigid one.

Source: Shigley, Mechanical Engineering Design, example 8-7 (four M16 screws at 75 and 60 mm, 16 kN at 425 mm).
Compared: shear of each screw, 21.0 kN and 14.8 kN; each bears on a spot, as the method has it.
Within: half of the last printed digit.
"""

from __future__ import annotations

import numpy as np
import pytest

from platekit.geometry import Disc, rectangle
from platekit.strength.element import Steel
from platekit.strength.joined import Gripped, Joined, Loose, OnRing
from platekit.strength.mesh import Spot
from platekit.strength.rings import Ring, gripped, wrench
from tests.strength.squares import Sample


def test_example_8_7() -> None:
    screws = [(75.0, 60.0), (-75.0, 60.0), (-75.0, -60.0), (75.0, -60.0)]
    plate = Sample(
        rectangle(200.0, 160.0),
        [Disc(screw, 1.0) for screw in screws],
        thickness=100.0,
        largest=30.0,
        per_turn=12,
        steel=Steel(210e6, 0.3, 7.85e-9),
        spots=[Spot(screw, 2.0, 0.7) for screw in screws],
    )
    rings = [Ring(screw, 1.0, 2.0, 0.0, 100.0, 60.0) for screw in screws]
    held = Gripped(Loose(plate), [gripped(plate, ring) for ring in rings])
    joined = Joined(held, [OnRing(number, ring, None) for number, ring in enumerate(rings)], [])
    six = wrench((0.0, -16e3, 0.0), (425.0, 0.0, 0.0), (0.0, 0.0, 0.0))
    load = plate.spread(np.array([0.0, six[1] / plate.area, 0.0, 0.0, 0.0]))
    where = plate.places.where
    inertia = float((plate.weights * (where**2).sum(-1)).sum())
    turning = np.zeros((*plate.weights.shape, 5))
    turning[..., 0], turning[..., 1] = (
        -six[5] / inertia * where[..., 1],
        six[5] / inertia * where[..., 0],
    )
    halves = (load + plate.spread(turning)).reshape(-1, 5)
    _, forces = joined.moved(halves[:, :2].reshape(-1, 1), halves[:, 2:].reshape(-1, 1), np.zeros((0, 1)))
    given = [joined.on_ring(number, forces, (0.0, 0.0, 0.0))[:2, 0] for number in range(4)]
    shear = sorted(float(np.hypot(*one)) for one in given)
    assert shear == pytest.approx([14.8e3, 14.8e3, 21.0e3, 21.0e3], abs=50)

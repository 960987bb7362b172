"""What a hinged part covers, against a solid modeller that knows nothing of ours: random solids, fixed seeds.

The modeller (cadquery, on the OCCT kernel) turns the solid itself about the axis; nothing of it may stand out of what
we say that it covers, at the ends of the swing and between.
"""

from __future__ import annotations

import math
import random

import cadquery as cq
import pytest

from platekit.geometry import Swing, lying
from platekit.laying.hinges import swing_cover
from platekit.laying.mounts import Hinged
from tests.geometry.test_solids_by_kernel import a_solid, modelled

SCENES = 12
LEFT_OVER = 1e-3
"""A volume below this is rounding of the modeller's faces, mm3."""


@pytest.mark.parametrize("batch", range(3))
def test_nothing_stands_out_of_what_a_swing_is_said_to_cover(batch: int) -> None:
    for scene in range(SCENES):
        rng = random.Random(5000 + 100 * batch + scene)
        solid = a_solid(rng)
        plane = lying(rng.choice([0.0, math.pi / 2, math.radians(30), rng.uniform(0, math.tau)]))
        about = (rng.uniform(-80, 80), rng.uniform(-60, 60))
        swing = Swing(about, rng.uniform(0, 0.4), rng.uniform(0.05, 0.5), rng.choice([1, -1]))
        cover = modelled(swing_cover(solid, Hinged(plane, swing)))
        # counter-clockwise from u to v is a turn about u x v, the direction along the shafts
        start = cq.Vector(about[0] * plane.u[0], about[0] * plane.u[1], about[1])
        axis = start + cq.Vector(*plane.u).cross(cq.Vector(*plane.v))
        for s in (-swing.install, 0.0, rng.uniform(-swing.install, swing.tension), swing.tension):
            turned = modelled(solid).rotate(start, axis, math.degrees(swing.sense * s))
            out = sum(one.Volume() for one in turned.cut(cover).Solids())
            assert out < LEFT_OVER, (batch, scene, s)

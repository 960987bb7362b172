"""A bar welded on edge to a strip makes a tee of it: against the beam of that section."""

from __future__ import annotations

import numpy as np
import pytest

from platekit.geometry import rectangle
from platekit.strength.element import Steel
from platekit.strength.joined import Gripped, Joined, Loose, OnRib, OnRing
from platekit.strength.mesh import Spot
from platekit.strength.question import Rib
from platekit.strength.ribs import stations, welded
from platekit.strength.rings import Ring, gripped, wrench
from tests.strength.squares import Sample

LENGTH, WIDTH, THICKNESS, MODULUS = 400.0, 40.0, 6.0, 210e3


@pytest.mark.parametrize(("height", "width", "side"), [(30.0, 6.0, 1), (20.0, 10.0, -1)])
def test_a_rib_makes_a_tee_of_a_strip(height: float, width: float, side: int) -> None:
    strip = Sample(
        rectangle(LENGTH + 12, WIDTH),
        thickness=THICKNESS,
        largest=6.0,
        steel=Steel(MODULUS, 0.0, 1e-14),
        fixed=[(sign * LENGTH / 2, y) for sign in (-1, 1) for y in np.linspace(-16.0, 16.0, 9)],
    )
    rings = [Ring((sign * (1000.0 + LENGTH / 2), 0.0), 0.0, 1000.0, 0.0, 1e5, 1e5) for sign in (-1, 1)]
    rib = Rib("rib", (-LENGTH / 2, 0.0), (LENGTH / 2, 0.0), height, width, side)
    grips = [gripped(strip, ring) for ring in rings]
    grips += [gripped(strip, Ring(*one, z=0.0, along=1.0, across=1.0)) for one in stations(rib)]
    bar = welded(rib, THICKNESS, MODULUS, 0.0, grips[2:])
    about = (LENGTH / 2, 0.0, 0.0)
    held = Gripped(Loose(strip), grips)
    on_rings = [OnRing(0, rings[0], None), OnRing(1, rings[1], 0)]
    joined = Joined(held, on_rings, [about], [OnRib(tuple(range(2, len(grips))), bar, 0.0)])
    push, count = wrench((0.0, 0.0, 100.0), about, about), len(strip.x)
    moved, _ = joined.moved(np.zeros((2 * count, 1)), np.zeros((3 * count, 1)), push[:, None])
    plate, more = WIDTH * THICKNESS, width * height
    axis = more * (THICKNESS + height) / 2 / (plate + more)
    inertia = WIDTH * THICKNESS**3 / 12 + plate * axis**2
    inertia += width * height**3 / 12 + more * ((THICKNESS + height) / 2 - axis) ** 2
    # the bar ends half a station before the strip is held: that much of the strip at either end is bare
    bare = LENGTH / len(stations(rib)) / 2
    thin = WIDTH * THICKNESS**3 / 12
    low, high = bare, LENGTH - bare
    tee = 100 / MODULUS * ((high**3 - low**3) / 3 / inertia + (low**3 + LENGTH**3 - high**3) / 3 / thin)
    solid = 100 * LENGTH**3 / 3 / MODULUS / inertia
    found = float(moved.parts[2, 0])
    assert solid < found < 1.03 * tee
    # the free edge is pressed by M c / I half-way between two stations, with the moment of the push there; the first
    # two beams take the bar's end up, and the last bear next to nothing
    stress = (bar.edge @ joined.stations(joined.ribs[0], moved)).ravel()
    arms = LENGTH - LENGTH / len(stations(rib)) * np.arange(1, len(stations(rib)))
    wanted = -side * 100 * arms * (THICKNESS / 2 + height - axis) / inertia
    assert stress[2:-3] == pytest.approx(wanted[2:-3], rel=0.05)
    assert np.abs(stress).max() < np.abs(wanted).max()


def test_a_rib_weighs_what_it_weighs() -> None:
    strip = Sample(rectangle(200.0, 60.0), thickness=5.0, largest=12.0, spots=[Spot((0.0, 0.0), 4.0, 3.0)])
    rib = Rib("rib", (-60.0, -10.0), (70.0, 15.0), 20.0, 5.0, 1)
    grips = [gripped(strip, Ring(*one, z=0.0, along=1.0, across=1.0)) for one in stations(rib)]
    ring = Ring((0.0, 0.0), 0.0, 12.0, 0.0, 1e3, 1e3)
    grips.append(gripped(strip, ring))
    bar = welded(rib, 5.0, MODULUS, 0.3, grips[:-1])
    joined = Joined(
        Gripped(Loose(strip), grips),
        [OnRing(len(grips) - 1, ring, None)],
        [],
        [OnRib(tuple(range(len(grips) - 1)), bar, 0.25)],
    )
    # a plate that shifts and tilts as a whole takes each lump along, wherever it is
    x, y = strip.x, strip.y
    tilted = np.stack([0.5 + 0.01 * x - 0.02 * y, np.full_like(x, -0.01), np.full_like(x, 0.02)], 1).reshape(-1, 1)
    shifted = np.stack([0.3 - 0.001 * y, 0.001 * x], 1).reshape(-1, 1)
    for (_, flat, lift), (center, _, _) in zip(joined.lumps(), stations(rib), strict=True):
        assert float((lift @ tilted)[0, 0]) == pytest.approx(0.5 + 0.01 * center[0] - 0.02 * center[1], rel=1e-6)
        assert (flat @ shifted).ravel() == pytest.approx([0.3 - 0.001 * center[1], 0.001 * center[0]], rel=1e-6)
    # and strains no bar
    felt = [grip.bends @ tilted for grip in grips[:-1]]
    for one in felt:
        one[6:] *= bar.z
    assert np.abs(bar.mix @ np.vstack(felt)).max() < 1e-6

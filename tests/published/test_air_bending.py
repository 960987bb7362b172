"""Dies, radii, shortest legs and press forces of air bends, beside a chart that goes with press brake tools.

Source: air bending force chart of a maker of press brake tools for mild steel of about 450 N/mm2, as it publishes it:
die opening, shortest flange, inside radius, force in kN a metre; the advice on die openings of a second one (6, 8, 10
and 12 thicknesses).
Compared: die openings by thickness, inside radius and shortest flange by die opening, force by both.
Within: dies equal; radius and flange 5 %; force 8 %.
"""

from __future__ import annotations

import pytest
from msgspec.structs import replace

import platekit
from platekit.laying.flange import LEG_IN_DIES, RADIUS_IN_DIES, die_opening, press_force
from tests.checks import plates

BY_DIE = [(12, 8.5, 2.0), (16, 11, 2.6), (20, 14, 3.3), (25, 17.5, 4.0), (50, 35, 8.0), (80, 55, 13), (100, 71, 16)]
"""Die opening, shortest flange over all, inside radius; mm."""
FORCES = [(6, 50, 480), (6, 63, 380), (8, 63, 680), (9, 80, 670), (10, 80, 850), (10, 100, 670)]
"""Thickness, die opening (mm), force (kN/m)."""


@pytest.mark.parametrize(("die", "shortest", "radius"), BY_DIE)
def test_radius_and_shortest_flange(die: float, shortest: float, radius: float) -> None:
    assert RADIUS_IN_DIES * die == pytest.approx(radius, rel=0.05)
    assert LEG_IN_DIES * die == pytest.approx(shortest, rel=0.05)


@pytest.mark.parametrize(("thickness", "die", "force"), FORCES)
def test_press_force(thickness: float, die: float, force: float) -> None:
    text = plates.changed(
        ("thickness: 6", f"thickness: {thickness}\n  flange: {{edge: top, height: 90, towards: near}}")
    )
    bent = platekit.lay_out(platekit.loads(text, "plate.yaml")).flange
    assert bent is not None
    got = press_force(replace(bent, die=float(die)), "steel")
    assert got is not None
    assert got / bent.length == pytest.approx(force, rel=0.08)


@pytest.mark.parametrize(("thickness", "die"), [(2, 12), (3, 25), (5, 40), (6, 50), (8, 63), (10, 100), (12, 160)])
def test_die_openings(thickness: float, die: float) -> None:
    # 6 t, 8 t, 10 t, 12 t: the nearest in stock
    assert die_opening(thickness) == die

"""Chords between neighbours on a bolt circle, taken as readings.

Source: Machinery's Handbook, "Lengths of Chords for Spacing Off the Circumferences of Circles with Diameters Equal to
    1"; quoted from memory, to five places; they agree with the formula sin(180 deg / n).
Compared: the bolt circle that the survey makes of one chord, for 3 to 10 and 12 spaces on 1000 mm.
Within: 0.02 mm of 1000 mm at the diameters, 0.000001 mm at the chord.
"""

from __future__ import annotations

import math

import pytest

from platekit.survey.net import Feature, Net, Reading
from platekit.survey.solve import solve

CHORDS = {3: 0.86603, 4: 0.70711, 5: 0.58779, 6: 0.50000, 7: 0.43388, 8: 0.38268, 9: 0.34202, 10: 0.30902, 12: 0.25882}


@pytest.mark.parametrize(("spaces", "chord"), CHORDS.items())
def test_chord_between_neighbours_on_a_circle_of_diameter_one(spaces: int, chord: float) -> None:
    names = tuple(f"h{k}" for k in range(spaces))
    features = tuple(Feature(name) for name in names)
    neighbours = (Reading(names[:2], "centres", 1000.0 * chord, 0.1),)
    survey = solve(Net(features, neighbours, on_circle=names, evenly=True))
    diameters = [2.0 * math.hypot(hole.x, hole.y) for hole in survey.holes.values()]
    assert diameters == pytest.approx([1000.0] * spaces, abs=0.02)
    assert survey.distance(names[0], names[-1])[0] == pytest.approx(1000.0 * chord, abs=1e-6)

"""What plates, screws and threads are held to, as standards quoted in public print it.

Source: EN 1993-1-8 table 3.6 as printed in a book on steel bridges (what-when-how.com, table 3.24); Steel Buildings in
Europe, part 5, 5.3 (infosteel.be); VDI 2230 as quoted by a maker of screws; EN 1090-2 table 11 (scribd.com, document
754155168); AISC 360 table A-3.1 (scribd.com, document 740885047); EN 1561 (modelleriazuin.it); ISO 9013:2017 clause 1
(ecommerce.sist.si).
Compared: k_s, slip factor, tightening factor, clearances, ranges borne without end, strength of cast iron, thicknesses.
Within: equal.
"""

from __future__ import annotations

import pytest

from platekit.tables import mount
from platekit.tables.motor_frames import motor_mass
from platekit.tables.processes import cutting_of
from platekit.tables.strengths import limit, normal_clearance


@pytest.mark.parametrize(
    ("name", "figure"),
    [
        ("oversized hole", 0.85),
        ("long slot", 0.63),
        ("slip factor", 0.2),
        ("tightening factor", 2.0),
        ("holed or notched edge", 110),
        ("plain cut edge", 165),
        ("cast iron thread", 155),
    ],
)
def test_limits(name: str, figure: float) -> None:
    found = limit(name)
    assert found.figure == figure
    assert found.source.kind == "published"


@pytest.mark.parametrize(("diameter", "clearance"), [(12, 1), (14, 1), (16, 2), (22, 2), (24, 2), (27, 3), (36, 3)])
def test_clearance(diameter: float, clearance: float) -> None:
    assert normal_clearance(diameter) == clearance


@pytest.mark.parametrize(("process", "most"), [("laser", 32), ("oxy-fuel", 300)])
def test_thicknesses_of_thermal_cutting(process: str, most: float) -> None:
    found = cutting_of(process, "steel")
    assert found is not None
    assert found.most == most


@pytest.mark.parametrize(
    ("frame", "least", "most"),
    [("IEC 71 B5", 5.4, 7.2), ("IEC 112M", 33, 37), ("IEC 132M", 59.7, 70), ("IEC 90S", 11.9, 14)],
)
def test_masses_of_motors(frame: str, least: float, most: float) -> None:
    """As two of a maker's catalogues print them for two-pole motors."""
    found = motor_mass(mount(frame))
    assert found is not None
    assert (found.least, found.most) == (least, most)

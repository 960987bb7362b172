"""Hydraulic pump flanges: inches as printed, and the millimetres printed beside them.

Source: SAE J744 / ISO 3019-1.
Compared: pilot, bolt circle, holes of a two-bolt and a four-bolt flange, and the codes that name the pilot.
Within: 0.006 mm, as the standard rounds its millimetres to two decimals.
"""

from __future__ import annotations

import pytest

from platekit.tables import mount

INCH = 25.4
PRINTED_MM = 0.006  # the standard rounds its millimetres to two decimals


def test_two_bolt_flange_a() -> None:
    # SAE J744: 82-2, pilot 3.25 in (82.55 mm), bolts 4.188 in (106.38 mm) apart, holes 0.438 in (11.13 mm)
    found = mount("SAE A 2-bolt")
    assert found.pilot == pytest.approx(3.25 * INCH, abs=1e-9)
    assert found.bolt_circle == pytest.approx(106.38, abs=PRINTED_MM)
    assert found.hole == pytest.approx(11.13, abs=PRINTED_MM)
    (right, level), (left, also_level) = found.points
    assert (right, left) == pytest.approx((106.38 / 2, -106.38 / 2), abs=PRINTED_MM)
    assert (level, also_level) == (0.0, 0.0)
    assert mount("82-2") is found


def test_four_bolt_flange_b() -> None:
    # SAE J744: 101-4, pilot 4.0 in (101.6 mm), bolt circle 5.000 in (127.00 mm) = square 3.536 in (89.80 mm),
    # holes 0.562 in (14.27 mm)
    found = mount("ISO 3019-1 101-4")
    assert found.pilot == pytest.approx(101.6, abs=1e-9)
    assert found.bolt_circle == pytest.approx(127.0, abs=1e-9)
    assert (found.width, found.height) == pytest.approx((89.80, 89.80), abs=PRINTED_MM)
    assert found.hole == pytest.approx(14.27, abs=PRINTED_MM)
    assert found.turn_order == 4


@pytest.mark.parametrize("letter", ["A", "B", "C", "D", "E", "F"])
def test_code_is_the_pilot_in_whole_millimetres(letter: str) -> None:
    # ISO 3019-1 names its flanges by pilot diameter and number of bolts
    found = mount(f"SAE {letter} 2-bolt")
    code = found.aliases[0]
    assert found.pilot is not None
    assert int(code.split("-")[0]) == int(found.pilot)

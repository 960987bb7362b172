"""What one classical V-belt of section A carries, beside the table of a standard.

Source: GOST 1284.3-96 (ISO 5292:1980 in the calculation of rated power), table 6, section A, length 1700 mm, ratio 1.
Compared: rated power on pulleys of 140 and 160 mm at eleven speeds, by the older formula of standard-quality belts and
    by the maker's table of today's.
Within: the older formula 57 to 71 % of the standard, never above; today's table 147 to 151 % of it at every speed, so
    that the two go together as curves.
"""

from __future__ import annotations

import pytest

from platekit.drive import rating

SPEEDS = (200, 400, 700, 800, 950, 1200, 1450, 1600, 1800, 2000, 2400)
PRINTED = {
    140: (0.43, 0.78, 1.26, 1.41, 1.62, 1.96, 2.28, 2.45, 2.67, 2.87, 3.22),
    160: (0.51, 0.94, 1.51, 1.69, 1.95, 2.36, 2.73, 2.94, 3.19, 3.42, 3.80),
}
"""kW by small pulley in mm and speed in rpm, as printed."""


@pytest.mark.parametrize(("small", "powers"), PRINTED.items())
def test_section_a_beside_the_standard(small: float, powers: tuple[float, ...]) -> None:
    for rpm, printed in zip(SPEEDS, powers, strict=True):
        older, today = rating.v_belt_power_w("A", small, rpm), rating.basic_power_w("A", small, rpm)
        assert older is not None
        assert today is not None
        assert 0.57 <= older / 1000 / printed <= 0.71
        assert 1.47 <= today / 1000 / printed <= 1.51

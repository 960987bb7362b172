"""A V-belt drive for a bucket elevator: two 5V pulleys of 12.4 and 21.1 in, motor 1160 rpm.

Source: Mott, Machine Elements in Mechanical Design, 4th edition, example 7-1; inputs and answers as printed, inches.
Compared: belt length, centre distance, wrap on both pulleys, speed of the driven shaft.
Within: half of the last printed digit; 0.02 in at the centre distance, where Mott writes 6.28 for 2 pi.
"""

from __future__ import annotations

from math import degrees

import pytest

from platekit.drive import Belt, DriveRequest, Pulley, work_out
from platekit.drive.open_belt import (
    belt_length,
    centre_distance,
    usual_belt_length,
    usual_centre_distance,
    wrap_angle,
)

INCH = 25.4
SMALL, LARGE = 12.4 * INCH, 21.1 * INCH


def test_belt_length_at_24_in() -> None:
    """Printed: L = 101.4 in for C = 24.0 in."""
    assert usual_belt_length(24.0 * INCH, SMALL, LARGE) / INCH == pytest.approx(101.4, abs=0.05)
    assert belt_length(24.0 * INCH, SMALL, LARGE) / INCH == pytest.approx(101.4, abs=0.05)


def test_centre_distance_of_the_100_in_belt() -> None:
    """Printed: B = 189.6 in, C = 23.30 in. Mott writes 6.28 for 2 pi, which is worth 0.013 in here."""
    assert usual_centre_distance(100 * INCH, SMALL, LARGE) / INCH == pytest.approx(23.30, abs=0.02)
    assert centre_distance(100 * INCH, SMALL, LARGE) / INCH == pytest.approx(23.30, abs=0.02)


def test_wrap_on_the_small_pulley() -> None:
    """Printed: 158 degrees on the small, and so 202 degrees on the large pulley."""
    assert degrees(wrap_angle(23.30 * INCH, SMALL, LARGE)) == pytest.approx(158, abs=0.5)
    assert degrees(wrap_angle(23.30 * INCH, LARGE, SMALL)) == pytest.approx(202, abs=0.5)


def test_speed_of_the_driven_shaft() -> None:
    """Printed: 1160 rpm (12.4 / 21.1) = 682 rpm."""
    drive = work_out(
        DriveRequest(
            motor=None,
            driver=Pulley(pitch_diameter=SMALL),
            driven=Pulley(pitch_diameter=LARGE),
            belt=Belt("5V", 100 * INCH, "pitch"),
        )
    )
    assert 1160 / drive.ratio == pytest.approx(682, abs=0.5)
    assert degrees(drive.wrap_driver) == pytest.approx(158, abs=0.5)

"""Fits: limit deviations as printed.

Source: ISO 286-2, its tables in micrometres.
Compared: lower and upper deviation by zone and size, and where a step of sizes ends.
Within: equal.
"""

from __future__ import annotations

import pytest

from platekit.tables import iso286

# zone, size in mm, lower, upper in micrometres
ROWS = [
    ("h6", 30, -13, 0),
    ("h7", 50, -25, 0),
    ("h9", 25, -52, 0),
    ("h11", 80, -190, 0),
    ("g6", 20, -20, -7),
    ("f7", 40, -50, -25),
    ("js6", 100, -11, 11),
    ("j6", 24, -4, 9),
    ("j6", 110, -9, 13),
    ("j6", 180, -11, 14),
    ("k6", 38, 2, 18),
    ("k6", 48, 2, 18),
    ("m6", 55, 11, 30),
    ("n6", 40, 17, 33),
    ("p6", 50, 26, 42),
    ("H6", 80, 0, 19),
    ("H7", 25, 0, 21),
    ("H7", 110, 0, 35),
    ("H8", 130, 0, 63),
    ("H11", 10, 0, 90),
    ("G7", 30, 7, 28),
    ("F8", 50, 25, 64),
    ("K7", 25, -15, 6),
    ("M7", 40, -25, 0),
    ("M6", 300, -41, -9),
    ("N7", 20, -28, -7),
    ("P7", 20, -35, -14),
    ("J7", 40, -11, 14),
    ("JS7", 30, -10.5, 10.5),
]


@pytest.mark.parametrize(("zone", "size", "lower", "upper"), ROWS)
def test_limit_deviations(zone: str, size: float, lower: float, upper: float) -> None:
    assert iso286(zone, size) == pytest.approx((lower / 1000, upper / 1000), abs=1e-9)


# ISO 286-1: the steps end at, and with, their upper size
@pytest.mark.parametrize(("size", "width"), [(3, 6), (3.001, 8), (18, 11), (18.001, 13), (50, 16), (50.001, 19)])
def test_a_step_ends_with_its_upper_size(size: float, width: float) -> None:
    lower, upper = iso286("h6", size)
    assert upper - lower == pytest.approx(width / 1000, abs=1e-9)

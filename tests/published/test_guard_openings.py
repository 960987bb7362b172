"""Safety distances of guards, as the tables print them.

Source: ISO 13857, table 4 (persons of 14 years and above); OSHA 1910.217, table O-10.
Compared: the distance for openings as slot, square and round; the largest opening at each distance.
Within: equal.
"""

from __future__ import annotations

import pytest

from platekit.errors import LookupFailed
from platekit.tables.guards import OpeningShape, press_distance, safety_distance


@pytest.mark.parametrize(
    ("shape", "width", "distance"),
    [
        # ISO 13857, table 4, reaching through regular openings, persons of 14 years and above
        ("slot", 4, 2),
        ("slot", 6, 10),
        ("slot", 8, 20),
        ("slot", 10, 80),
        ("slot", 12, 100),
        ("slot", 20, 120),
        ("slot", 30, 850),
        ("square", 6, 5),
        ("square", 8, 15),
        ("square", 10, 25),
        ("square", 12, 80),
        ("square", 30, 120),
        ("square", 40, 200),
        ("round", 8, 5),
        ("round", 10, 20),
        ("round", 12, 80),
        ("round", 40, 120),
        ("round", 120, 850),
    ],
)
def test_iso_13857_table_4(shape: OpeningShape, width: float, distance: float) -> None:
    assert safety_distance(shape, width).distance == distance


@pytest.mark.parametrize(
    ("width_in", "distance_in"),
    [
        # OSHA 1910.217, table O-10: distance of opening from point of operation, largest width of opening
        (1 / 4, 1 / 2),
        (3 / 8, 1 + 1 / 2),
        (1 / 2, 2 + 1 / 2),
        (5 / 8, 3 + 1 / 2),
        (3 / 4, 5 + 1 / 2),
        (7 / 8, 6 + 1 / 2),
        (1 + 1 / 4, 7 + 1 / 2),
        (1 + 1 / 2, 12 + 1 / 2),
        (1 + 7 / 8, 15 + 1 / 2),
        (2 + 1 / 8, 17 + 1 / 2),
    ],
)
def test_osha_table_o_10(width_in: float, distance_in: float) -> None:
    assert press_distance(width_in * 25.4).distance == pytest.approx(distance_in * 25.4)


def test_what_the_tables_do_not_allow_is_refused() -> None:
    with pytest.raises(LookupFailed):
        safety_distance("slot", 121)
    with pytest.raises(LookupFailed):
        press_distance(60)

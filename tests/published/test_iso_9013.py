"""Thermal cutting: limit deviations by tolerance class, and the perpendicularity ranges.

Source: ISO 9013:2017, a second printing of the standard's own rows.
Compared: class 1 up to 25 mm and class 2 up to 20 mm, a few rows each; ranges 3 and 4.
Within: equal.

Class 2 over 20 mm is marked as from memory, which is tested too.
"""

from __future__ import annotations

import pytest

from platekit.tables.iso_9013 import limit_deviation, squareness

# ISO 9013:2017, class 1, thickness over 6.3 to 10: nominal sizes 0-3, 3-10, 10-35, 35-125, 125-315, 315-1000
CLASS_1 = [(2, None), (7, 0.25), (20, 0.30), (80, 0.30), (200, 0.35), (600, 0.45)]
# ISO 9013:2017, class 2, thickness over 3.15 to 6.3, the same sizes
CLASS_2 = [(2, 0.7), (7, 0.8), (20, 0.9), (80, 0.9), (200, 1.1), (600, 1.2)]


@pytest.mark.parametrize(("size", "deviation"), CLASS_1)
@pytest.mark.parametrize("thickness", [6.4, 8.0, 10.0])
def test_class_1_over_6_3_to_10_mm(size: float, deviation: float | None, thickness: float) -> None:
    found = limit_deviation(1, thickness, size)
    assert (None if found is None else found.value) == deviation
    assert found is None or found.source.kind == "published"


@pytest.mark.parametrize(("size", "deviation"), CLASS_2)
@pytest.mark.parametrize("thickness", [3.2, 5.0, 6.3])
def test_class_2_over_3_15_to_6_3_mm(size: float, deviation: float, thickness: float) -> None:
    found = limit_deviation(2, thickness, size)
    assert found is not None
    assert found.value == deviation
    assert found.source.kind == "published"


# ISO 9013:2017: class, thickness, size, limit deviation
OTHERS = [
    *((1, 1.0, 2, 0.075), (1, 1.0, 500, 0.3), (1, 2.0, 5, 0.15), (1, 2.0, 200, 0.25), (1, 5.0, 20, 0.25)),
    *((1, 12.0, 5, 0.3), (1, 12.0, 500, 0.55), (1, 18.0, 50, 0.45), (1, 22.0, 200, 0.7)),
    *((2, 1.0, 2, 0.5), (2, 1.0, 10, 0.6), (2, 3.0, 20, 0.7), (2, 3.0, 5, 0.6), (2, 8.0, 50, 1.3), (2, 18.0, 200, 1.9)),
]


@pytest.mark.parametrize(("tolerance_class", "thickness", "size", "deviation"), OTHERS)
def test_rows_of_2017(tolerance_class: int, thickness: float, size: float, deviation: float) -> None:
    found = limit_deviation(tolerance_class, thickness, size)
    assert found is not None
    assert (found.value, found.source.kind) == (deviation, "published")


# the standard's columns read "3 <= size < 10": a size on a limit belongs to the larger range
@pytest.mark.parametrize(
    ("size", "deviation"), [(2.999, 0.7), (3, 0.8), (9.999, 0.8), (10, 0.9), (124, 0.9), (125, 1.1)]
)
def test_a_size_on_a_limit_belongs_to_the_larger_range(size: float, deviation: float) -> None:
    found = limit_deviation(2, 5.0, size)
    assert found is not None
    assert found.value == deviation


@pytest.mark.parametrize("thickness", [3.0, 6.0, 10.0, 25.0])
def test_perpendicularity_of_ranges_3_and_4(thickness: float) -> None:
    # range 3: u = 0.4 + 0.01 a; range 4: u = 0.8 + 0.02 a
    assert squareness(3, thickness).value == pytest.approx(0.4 + 0.01 * thickness)
    assert squareness(4, thickness).value == pytest.approx(0.8 + 0.02 * thickness)
    assert squareness(3, thickness).source.kind == squareness(4, thickness).source.kind == "published"


def test_rows_that_nobody_could_look_up_say_so() -> None:
    for tolerance_class, thickness in ((2, 20.1), (2, 30.0), (2, 80.0), (2, 120.0)):
        found = limit_deviation(tolerance_class, thickness, 50)
        assert found is not None
        assert found.source.kind == "from memory"

from __future__ import annotations

from math import pi, radians

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platekit.drive import rating
from platekit.tables import belts

RATED = [name for name in belts.section_names() if belts.v_rating(name)]
TOOTHED = [name for name in belts.section_names() if belts.toothed_rating(name)]


def test_only_published_formulas_rate() -> None:
    assert RATED == ["A", "B"]
    assert TOOTHED == ["XL", "L", "H"]
    assert rating.v_belt_rating("SPZ", 80, 1440, pi, 1000).text == "rating: look up"
    assert rating.toothed_rating("5M", 24, 1440, pi, 15).power_w is None


@pytest.mark.parametrize("name", RATED)
@given(small=st.floats(60, 300), more=st.floats(1, 50), rpm=st.floats(100, 2000))
def test_a_larger_pulley_carries_more_at_one_speed(name: str, small: float, more: float, rpm: float) -> None:
    one, other = rating.v_belt_power_w(name, small, rpm), rating.v_belt_power_w(name, small + more, rpm)
    assert one is not None
    assert other is not None
    assert other >= one or rpm * small > 200_000  # beyond some 10 m/s the belt's own mass turns the curve down


@given(st.floats(90, 180), st.floats(0, 30))
def test_less_wrap_carries_less(angle: float, less: float) -> None:
    assert rating.wrap_factor(radians(angle - less)) <= rating.wrap_factor(radians(angle))


def test_belts_side_by_side_add_up() -> None:
    one = rating.v_belt_rating("A", 90, 1440, 2.6, 1500)
    three = rating.v_belt_rating("A", 90, 1440, 2.6, 1500, count=3)
    assert one.power_w is not None
    assert three.power_w == pytest.approx(3 * one.power_w)
    assert one.source is not None
    assert one.source.kind == "published"


@pytest.mark.parametrize("name", TOOTHED)
def test_each_tooth_under_six_in_mesh_costs_a_fifth(name: str) -> None:
    law = belts.toothed_rating(name)
    assert law is not None
    slow = 10.0  # rpm, so that the belt's own mass is nothing
    powers = [
        rating.toothed_power_w(name, 18, slow, 2 * pi * held / 18, law.width) or 0.0 for held in (6.5, 5.5, 4.5, 3.5)
    ]
    assert [power / powers[0] for power in powers] == pytest.approx([1, 0.8, 0.6, 0.4], rel=1e-3)


def test_twice_the_width_carries_a_little_more_than_twice() -> None:
    one = rating.toothed_power_w("L", 24, 10, pi, 12.7) or 0.0
    two = rating.toothed_power_w("L", 24, 10, pi, 25.4) or 0.0
    assert two / one == pytest.approx(2**1.14, rel=1e-3)


def test_without_a_width_a_toothed_belt_must_be_looked_up() -> None:
    assert rating.toothed_rating("XL", 20, 1440, pi, 0).text == "rating: look up"


def test_a_rating_is_never_less_than_nothing() -> None:
    assert rating.v_belt_power_w("A", 40, 20_000) == 0
    assert rating.toothed_power_w("XL", 40, 100_000, pi, 9.5) == 0

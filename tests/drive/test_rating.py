from __future__ import annotations

from itertools import pairwise
from math import pi, radians

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platekit.drive import rating
from platekit.tables import belts

RATED = [name for name in belts.section_names() if belts.v_rating(name)]
TABLED = [name for name in belts.section_names() if belts.power_table(name)]
TOOTHED = [name for name in belts.section_names() if belts.toothed_rating(name)]
OF_RUBBER = [name for name in TOOTHED if belts.tooth_force(name) is None]
OF_POLYURETHANE = ["T5", "T10", "AT5", "AT10"]
BY_TEETH = ["5M", *OF_POLYURETHANE]


def test_every_belt_on_offer_is_rated() -> None:
    assert RATED == ["A", "B", "3L", "4L", "5L"]
    v_belts = ["A", "AX", "B", "BX", "SPZ", "SPA", "SPB", "SPC", "XPZ", "XPA", "XPB", "3V", "5V"]
    assert [*v_belts, "PJ", "PK", "J", "K"] == TABLED
    assert {name for name in TOOTHED if name not in OF_RUBBER} == set(BY_TEETH)
    assert OF_RUBBER == ["XL", "L", "H", "3M", "8M", "14M"]
    assert set(belts.section_names()) == {*RATED, *TABLED, *TOOTHED}


def test_a_rib_of_pk_pulls_as_much_at_any_pulley_from_that_of_its_test_on() -> None:
    per_m_s = 10_300 / 12 / (124.6 * 4900)
    for small in (64.0, 80.0, 124.6, 200.0):
        assert rating.basic_power_w("PK", small, 1000) == pytest.approx(per_m_s * small * 1000, rel=0.003)
    assert rating.basic_power_w("PK", 60, 1000) is None
    found, same = (rating.v_belt_rating(name, 80, 1440, pi, 1000) for name in ("PK", "K"))
    assert found.power_w == same.power_w
    assert found.source is not None
    assert found.source.kind == "common practice"


def test_a_rib_of_pj_pulls_less_by_its_section() -> None:
    pj, pk = rating.basic_power_w("PJ", 100, 1440), rating.basic_power_w("PK", 100, 1440)
    assert pj is not None
    assert pj == pytest.approx((pk or 0) * (2.34 / 3.56) ** 2, rel=0.005)


@pytest.mark.parametrize(("light", "full"), [("4L", "A"), ("5L", "B")])
def test_a_light_duty_belt_is_rated_half_of_the_older_full_one(light: str, full: str) -> None:
    for small, rpm in ((75, 1440), (120, 1740), (150, 700)):
        assert rating.v_belt_power_w(light, small, rpm) == pytest.approx(
            (rating.v_belt_power_w(full, small, rpm) or 0) / 2, rel=0.001
        )
    # 3L: a 4L of seven tenths of the size
    k = 5.556 / 7.938
    large = rating.v_belt_power_w("4L", 100, 1440 * k) or 0
    assert rating.v_belt_power_w("3L", 100 * k, 1440) == pytest.approx(k * k * large, rel=0.005)


def test_a_cogged_narrow_belt_is_rated_as_the_plain_one_which_carries_less() -> None:
    for cogged, plain in (("XPZ", "SPZ"), ("XPA", "SPA"), ("XPB", "SPB")):
        one, other = (rating.v_belt_rating(name, 180, 1440, 2.9, 2000) for name in (cogged, plain))
        assert one.power_w == other.power_w


def test_14m_is_rated_as_8m_and_so_carries_no_more_for_its_width() -> None:
    """On pulleys of one size: 16 teeth of 14 mm and 28 of 8 mm, 224 mm of belt a turn, slow enough to weigh nothing."""
    large, small = (rating.toothed_power_w(name, teeth, 60, pi, 50) for name, teeth in (("14M", 16), ("8M", 28)))
    assert large is not None
    assert large == pytest.approx(small, rel=0.001)


def test_what_gives_first_is_told_with_its_own_source() -> None:
    law, tooth = belts.toothed_rating("5M"), belts.tooth_force("5M")
    assert law is not None
    assert tooth is not None
    many, few = (rating.toothed_rating("5M", 20, 1440, wrap, 15) for wrap in (pi, 1.4))
    assert few.text == "15 mm wide, 4 teeth in mesh, by its teeth"
    assert few.source == tooth.source
    assert many.text == "15 mm wide, 10 teeth in mesh"
    assert many.source == law.source


@pytest.mark.parametrize("name", TABLED)
def test_between_printed_figures_lies_what_is_between_them(name: str) -> None:
    table = belts.power_table(name)
    assert table is not None
    for (one, low), (other, high) in pairwise(zip(table.smalls, table.curves, strict=True)):
        speed = min((low[0][2] + low[0][3]) / 2, high[0][-1])  # a large pulley's figures may end at a lower speed
        found = [table.power_w(small, speed) for small in (one, (one + other) / 2, other)]
        assert None not in found
        assert found[0] < found[1] < found[2]  # type: ignore[operator]
        assert table.power_w(one, low[0][2]) == pytest.approx(low[1][2])


@pytest.mark.parametrize("name", TABLED)
def test_nothing_is_said_beyond_what_is_printed(name: str) -> None:
    table = belts.power_table(name)
    assert table is not None
    assert table.power_w(0.9 * table.smalls[0], 1000) is None
    assert table.power_w(table.smalls[0], 20_000) is None
    assert table.power_w(table.smalls[-1], table.curves[-1][0][-1] + 1) is None
    assert table.power_w(2 * table.smalls[-1], 1000) == table.power_w(table.smalls[-1], 1000)
    assert table.power_w(table.smalls[0], 0) == 0


@pytest.mark.parametrize("name", [name for name in RATED if name in TABLED])
def test_a_belt_of_unknown_make_is_rated_lower_and_both_are_said(name: str) -> None:
    found = rating.v_belt_rating(name, 140, 1440, pi, 1500)
    assert found.source is not None
    assert found.cautious is not None
    assert found.power_w is not None
    assert found.cautious.power_w is not None
    assert found.cautious.power_w < found.power_w
    assert found.cautious.source is not None
    assert found.source.name != found.cautious.source.name


def test_a_section_that_is_rated_as_another_says_so() -> None:
    assert " as 3V " in rating.v_belt_rating("SPZ", 80, 1440, pi, 1000).text
    assert " as " not in rating.v_belt_rating("SPB", 180, 1440, pi, 2000).text


@pytest.mark.parametrize("name", OF_POLYURETHANE)
def test_more_teeth_than_count_carry_no_more(name: str) -> None:
    law, tooth = belts.toothed_rating(name), belts.tooth_force(name)
    assert law is not None
    assert tooth is not None
    speed = 20 * belts.section(name).pitch * 600 / 60_000
    force = tooth.force_n_mm(600)
    assert force is not None
    eight = rating.toothed_power_w(name, 20, 600, pi * 0.81, 25)  # eight teeth in mesh
    assert eight == pytest.approx(min(8 * 25 * force, 25.4 / 25.4 * law.tension) * speed, rel=0.03)
    many = rating.toothed_power_w(name, 60, 200, pi, 25)
    most = rating.toothed_power_w(name, 60, 200, pi * 12.1 / 30, 25)
    assert many == pytest.approx(most or 0)
    assert rating.toothed_power_w(name, 20, 20_000, pi, 25) is None


@given(st.sampled_from(["3V", "5V", "SPZ", "SPA", "SPB", "A", "B"]), st.floats(300, 4000), st.floats(1, 500))
def test_a_longer_belt_carries_no_less(name: str, length: float, more: float) -> None:
    assert belts.v_length_factor(name, length) <= belts.v_length_factor(name, length + more)


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


@pytest.mark.parametrize("name", OF_RUBBER)
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


def test_spc_counts_no_more_beyond_what_was_read_and_nothing_beyond_30_m_s() -> None:
    at_600, faster = (rating.basic_power_w("SPC", 250, rpm) for rpm in (600, 1450))
    assert at_600 == faster == pytest.approx(13_510)
    assert rating.basic_power_w("SPC", 250, 2300) is None

"""Keys and keyways of standard shafts, held against printed tables."""

from __future__ import annotations

import pytest

from platekit import tables
from platekit.units import INCH

# "Standard Metric Keys & Keyways for Metric Bores with One Key", per ISO/R 773 (Engineers Edge): depth in the
# hub by the shaft; "DIN 6885 parallel keys" (Engineering Hardware), t1 of the shaft.
METRIC = {
    "IEC 71": (14, 5, 5, 3.0, 2.3),
    "IEC 80": (19, 6, 6, 3.5, 2.8),
    "IEC 90S": (24, 8, 7, 4.0, 3.3),
    "IEC 112M": (28, 8, 7, 4.0, 3.3),
    "IEC 132S": (38, 10, 8, 5.0, 3.3),
    "IEC 160M": (42, 12, 8, 5.0, 3.3),
    "IEC 180M": (48, 14, 9, 5.5, 3.8),
    "IEC 200L": (55, 16, 10, 6.0, 4.3),
}

# "Parallel key and keyseats (ANSI B17.1-1967, R1973)", depth control values S and T of a maker's page of shafts,
# keys and flanges: inch, by the shaft. T is over hub and bore, S over shaft and keyway.
INCH_KEYS = {
    "NEMA 143T": (0.875, 0.1875, 0.771, 0.964, 1.375),
    "NEMA 182T": (1.125, 0.25, 0.986, 1.241, 1.75),
    "NEMA 213T": (1.375, 0.3125, 1.201, 1.518, 2.375),
}


@pytest.mark.parametrize("name", METRIC)
def test_metric_keys_are_those_of_iso_773(name: str) -> None:
    seat = tables.key_seat(tables.mount(name))
    assert seat is not None
    found = (seat.shaft, seat.width, seat.height, seat.shaft_depth, seat.hub_depth)
    assert found == pytest.approx(METRIC[name])
    assert seat.length is None
    assert seat.proud == pytest.approx(METRIC[name][2] - METRIC[name][3])


@pytest.mark.parametrize("name", INCH_KEYS)
def test_inch_keys_have_the_depths_of_b17_1(name: str) -> None:
    shaft, side, s, t, length = INCH_KEYS[name]
    seat = tables.key_seat(tables.mount(name))
    assert seat is not None
    assert seat.width == seat.height == pytest.approx(side * INCH)
    assert shaft * INCH - seat.shaft_depth == pytest.approx(s * INCH, abs=0.0006 * INCH)
    assert shaft * INCH + seat.hub_depth == pytest.approx(t * INCH, abs=0.0006 * INCH)
    assert seat.length == pytest.approx(length * INCH)


def test_a_flatted_shaft_has_no_key() -> None:
    assert tables.key_seat(tables.mount("NEMA 48")) is None


def test_every_standard_shaft_with_a_key_finds_its_keyway() -> None:
    keyed = [
        one for one in map(tables.mount, tables.names()) if one.shaft is not None and one.key not in (None, "flat")
    ]
    assert len(keyed) > 50
    for one in keyed:
        seat = tables.key_seat(one)
        assert seat is not None, one.designation
        assert 0 < seat.proud < seat.height < seat.shaft


@pytest.mark.parametrize("name", INCH_KEYS)
def test_the_usual_inch_key_is_that_of_printed_motor_shafts(name: str) -> None:
    shaft, side, s, t, _ = INCH_KEYS[name]
    found = tables.usual_inch_key(shaft * INCH)
    assert found is not None
    assert found.width == found.height == pytest.approx(side * INCH)
    assert found.shaft_depth == pytest.approx((shaft - s) * INCH, abs=0.0011 * INCH)
    assert found.hub_depth == pytest.approx((t - shaft) * INCH, abs=0.0011 * INCH)


def test_a_bound_belongs_to_the_thinner_key_and_beyond_the_list_none_is_usual() -> None:
    sides = [tables.usual_inch_key(shaft * INCH) for shaft in (1.25, 1.26, 0.3, 5.0)]
    assert [None if one is None else round(one.width / INCH, 4) for one in sides] == [0.25, 0.3125, None, None]

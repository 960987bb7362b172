from __future__ import annotations

from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platekit.errors import LookupFailed
from platekit.tables import belts

NAMES = belts.section_names()
INCH = 25.4


def test_every_section_of_the_trade_is_there() -> None:
    wanted = "A AX B BX 3L 4L 5L SPZ SPA SPB SPC XPZ XPA XPB 3V 5V PJ PK J K XL L H T5 T10 3M 5M 8M 14M AT5 AT10"
    assert set(NAMES) == set(wanted.split())


@pytest.mark.parametrize("name", NAMES)
def test_a_section_is_whole(name: str) -> None:
    kind = belts.section(name)
    assert kind.height > 0
    assert (kind.pitch > 0) == (kind.family in ("ribbed", "toothed"))
    assert (kind.top_width > 0) == kind.family.endswith("V")
    assert kind.pitch_width < kind.top_width or kind.pitch_width == 0
    assert belts.mass(name).kg_m > 0
    assert 20 <= belts.belt_speed_limit(name).speed_m_s <= 80
    assert belts.grip(name).ratio > 1


@pytest.mark.parametrize("name", NAMES)
def test_stock_rises_and_is_plausible(name: str) -> None:
    lengths = [size.pitch_length for size in belts.stock(name)]
    assert lengths == sorted(lengths)
    assert len(lengths) >= {"PK": 12, "K": 2}.get(name, 15)  # few of them in two lists
    assert lengths[0] >= 100
    assert lengths[-1] <= (12_500 if name == "SPC" else 9100)


@pytest.mark.parametrize("name", NAMES)
def test_pulleys_rise_and_some_are_large_enough(name: str) -> None:
    diameters = [pulley.pitch_diameter for pulley in belts.stock_pulleys(name)]
    assert diameters == sorted(diameters)
    assert len(diameters) >= 15
    smallest = belts.smallest_pulley(name).pitch_diameter
    assert sum(diameter >= smallest - 0.01 for diameter in diameters) >= 12


@pytest.mark.parametrize("name", NAMES)
def test_toothed_things_are_whole_teeth(name: str) -> None:
    kind = belts.section(name)
    for size in belts.stock(name):
        assert (size.teeth > 0) == kind.toothed
        assert size.pitch_length == pytest.approx(size.teeth * kind.pitch) or not kind.toothed
    for pulley in belts.stock_pulleys(name):
        assert (pulley.teeth > 0) == kind.toothed
        assert pulley.pitch_diameter == pytest.approx(pulley.teeth * kind.pitch / pi) or not kind.toothed
        assert (pulley.sold is None) == kind.toothed
        if pulley.sold is not None:
            assert pulley.pitch_diameter == pytest.approx(belts.pitch_diameter(name, pulley.sold.mm, pulley.sold.of))
            assert pulley.label.startswith(pulley.sold.typed)


@pytest.mark.parametrize("name", NAMES)
def test_every_stock_label_reads_back_as_the_same_belt(name: str) -> None:
    for size in belts.stock(name):
        if " " not in size.label:  # those stated in mm carry words instead of a trade size
            again = belts.trade_size(size.label)
            assert again.section == size.section
            assert again.pitch_length == pytest.approx(size.pitch_length, abs=1e-6)


@pytest.mark.parametrize("name", NAMES)
@given(length=st.floats(200, 5000))
def test_a_length_said_another_way_is_the_same_length(name: str, length: float) -> None:
    for of in ("pitch", belts.section(name).sold_by):
        stated = belts.stated_length(name, length, of)
        assert belts.pitch_length(name, stated, of) == pytest.approx(length, rel=1e-12)


@pytest.mark.parametrize("name", [name for name in NAMES if belts.section(name).family.endswith("V")])
def test_inside_is_shorter_than_pitch_and_pitch_than_outside(name: str) -> None:
    kind = belts.section(name)
    inside = belts.stated_length(name, 1000, "inside")
    outside = belts.stated_length(name, 1000, "outside")
    assert inside < 1000 < outside
    # out and in differ by 2 pi times the height; catalogues round, and inch sizes are rounded more
    assert outside - inside == pytest.approx(2 * pi * kind.height, abs=3.0)


@pytest.mark.parametrize("name", NAMES)
def test_diameters_said_another_way(name: str) -> None:
    outside = belts.stated_diameter(name, 200, "outside")
    assert belts.pitch_diameter(name, outside, "outside") == pytest.approx(200)
    assert (outside < 200) == (belts.section(name).family in ("ribbed", "toothed"))


@pytest.mark.parametrize("name", NAMES)
def test_a_belt_is_nearly_as_long_as_printed(name: str) -> None:
    for size in belts.stock(name):
        true = belts.length_tolerance(name, size.pitch_length)
        assert 0 < true.plus <= 0.06 * size.pitch_length
        assert 0 < true.minus <= 0.06 * size.pitch_length


@pytest.mark.parametrize("name", NAMES)
def test_allowances_grow_with_the_belt(name: str) -> None:
    short, long = belts.allowance(name, 500), belts.allowance(name, 2500)
    assert 0 < short.install <= long.install
    assert 0 < short.tension < long.tension


@pytest.mark.parametrize("name", [name for name in NAMES if belts.section(name).family != "toothed"])
def test_larger_pulleys_have_wider_grooves(name: str) -> None:
    smallest = belts.groove(name, belts.smallest_pulley(name).pitch_diameter)
    largest = belts.groove(name, 900)
    assert 30 < smallest.angle_deg <= largest.angle_deg <= 42
    assert smallest.spacing >= smallest.width


def test_toothed_pulleys_have_no_groove() -> None:
    with pytest.raises(LookupFailed, match="no groove"):
        belts.groove("5M", 50)


@pytest.mark.parametrize(
    ("text", "section", "of", "length", "teeth", "width", "ribs"),
    [
        ("A38", "A", "inside", 38 * INCH, 0, 0, 0),
        ("ax 42", "AX", "inside", 42 * INCH, 0, 0, 0),
        ("b-85.5", "B", "inside", 85.5 * INCH, 0, 0, 0),
        ("3L380", "3L", "outside", 38 * INCH, 0, 0, 0),
        ("4L400", "4L", "outside", 40 * INCH, 0, 0, 0),
        ("SPZ1000", "SPZ", "pitch", 1000, 0, 0, 0),
        ("spa 1250", "SPA", "pitch", 1250, 0, 0, 0),
        ("3V475", "3V", "effective", 47.5 * INCH, 0, 0, 0),
        ("6PJ1016", "PJ", "effective", 1016, 0, 0, 6),
        ("380J6", "J", "effective", 38 * INCH, 0, 0, 6),
        ("200XL037", "XL", "pitch", 20 * INCH, 100, 9.398, 0),
        ("187L050", "L", "pitch", 18.7 * INCH, 50, 12.7, 0),
        ("367L", "L", "pitch", 36.7 * INCH, 98, 0, 0),
        ("5M-500", "5M", "pitch", 500, 100, 0, 0),
        ("500-5M-15", "5M", "pitch", 500, 100, 15, 0),
        ("5M-500-15", "5M", "pitch", 500, 100, 15, 0),
        ("16 T5 500", "T5", "pitch", 500, 100, 16, 0),
        ("T10/500", "T10", "pitch", 500, 50, 0, 0),
        ("AT5-500", "AT5", "pitch", 500, 100, 0, 0),
        ("115-14M-1400", "14M", "pitch", 1400, 100, 115, 0),
    ],
)
def test_trade_sizes(text: str, section: str, of: str, length: float, teeth: int, width: float, ribs: int) -> None:
    size = belts.trade_size(text)
    assert (size.section.name, size.of, size.teeth, size.ribs) == (section, of, teeth, ribs)
    assert size.length == pytest.approx(length)
    assert size.width == pytest.approx(width)


def test_a_light_duty_belt_is_the_classical_one_two_inches_less() -> None:
    # common practice: 4L400 replaces A38
    assert belts.trade_size("4L400").pitch_length == pytest.approx(belts.trade_size("A38").pitch_length, abs=2)


def test_a_size_that_does_not_say_which_length_is_refused() -> None:
    with pytest.raises(LookupFailed, match="does not say which length"):
        belts.trade_size("A1000")


@pytest.mark.parametrize("text", ["", "A", "38", "ZZ40", "5M-501", "4L-40000", "A38X"])
def test_sizes_that_cannot_be_read(text: str) -> None:
    with pytest.raises(LookupFailed):
        belts.trade_size(text)


def test_a_fraction_of_a_tooth_is_refused_with_both_neighbours() -> None:
    with pytest.raises(LookupFailed, match=r"500 mm \(100 teeth\) or 505 mm \(101 teeth\)"):
        belts.belt_size("5M", 501, "pitch")


def test_an_unknown_section_names_near_ones() -> None:
    with pytest.raises(LookupFailed, match="no belt section") as failed:
        belts.section("SPX")
    assert "SPZ" in failed.value.nearest


def test_a_length_without_a_conversion_says_which_would_do() -> None:
    with pytest.raises(LookupFailed, match="give the pitch or effective length"):
        belts.pitch_length("PJ", 1000, "inside")


def test_the_nearest_stock_is_nearest() -> None:
    found = belts.nearest_stock("A", 1000, 3)
    assert found[0].label == "A38"
    gaps = [abs(size.pitch_length - 1000) for size in found]
    assert gaps == sorted(gaps)


def test_an_unknown_pulley_material() -> None:
    with pytest.raises(LookupFailed, match="cast iron"):
        belts.rim_limit("marble")
    assert belts.rim_limit("Cast Iron").speed_m_s == 33

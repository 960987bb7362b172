"""Quantities as a shop writes them. Expected figures are worked out by hand from the exact inch and pound."""

from __future__ import annotations

import doctest
import math
from collections.abc import Callable
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platekit import units
from platekit.errors import UnitError

LENGTHS = st.floats(-90_000, 90_000, allow_nan=False)


def test_the_examples_of_the_docstrings_run() -> None:
    assert doctest.testmod(units).failed == 0


@pytest.mark.parametrize(
    ("written", "mm"),
    [
        (10, 10.0),
        (10.25, 10.25),
        (-3, -3.0),
        (0, 0.0),
        ("10 mm", 10.0),
        ("10mm", 10.0),
        (" 10  mm ", 10.0),
        ("+10 mm", 10.0),
        ("-2.5 mm", -2.5),
        ("−2.5 mm", -2.5),
        (".5 mm", 0.5),
        ("1 cm", 10.0),
        ("1.5 m", 1500.0),
        ("250 um", 0.25),
        ("20 thou", 0.508),
        ("1 in", 25.4),
        ("4.5in", 114.3),
        ('4.5"', 114.3),
        ("4.5''", 114.3),
        ("4.5”", 114.3),
        ("4.5″", 114.3),
        ("3/8 in", 9.525),
        ('3/8"', 9.525),
        ("5-7/8 in", 149.225),
        ("5 7/8 in", 149.225),
        ('1 1/16"', 26.9875),
        ('1½"', 38.1),
        ("½ in", 12.7),
        ("-5-7/8 in", -149.225),
        ("2 ft", 609.6),
        ("1' 2-1/2\"", 368.3),
        ("1 ft 2.5 in", 368.3),
        ("1′ 2½″", 368.3),
        ("-1' 6\"", -457.2),
        ("10 MM", 10.0),
        ("2 inches", 50.8),
    ],
)
def test_a_length_is_read_as_written(written: object, mm: float) -> None:
    assert units.length(written, "mm") == pytest.approx(mm, abs=1e-12)


def test_a_bare_number_is_in_the_unit_of_the_spec() -> None:
    assert units.length(1.5, "in") == 38.1
    assert units.length(1.5, "mm") == 1.5
    assert units.length("1.5 mm", "in") == 1.5


@pytest.mark.parametrize(
    ("written", "sentence"),
    [
        ("10,5", 'found "10,5"; write 10.5, with a point for the decimals and nothing for thousands'),
        ("10,5 mm", 'found "10,5 mm"; write 10.5 mm, with a point for the decimals and nothing for thousands'),
        ("10", 'found "10", a number as text; write 10 without quotes, or with its unit: 10 mm'),
        ("3/8", 'found "3/8", a fraction without a unit; write 3/8 in'),
        ("1/2 mm", 'found "1/2 mm"; fractions go with inches; write mm as a decimal'),
        ("5-9/8 in", 'found "5-9/8 in"; a mixed number has a fraction below one, as 5-7/8 in'),
        ("1/0 in", 'found "1/0 in"; a fraction cannot have zero below the line'),
        ("10 mil", 'found "10 mil" with an unknown unit; use mm, cm, m, in, ft or thou'),
        ("ten", 'found "ten"; give a length, such as 10, 10 mm or 3/8 in'),
        ("", 'found ""; give a length, such as 10, 10 mm or 3/8 in'),
        (True, "found true; give a length, such as 10, 10 mm or 3/8 in"),
        (None, "found nothing; give a length, such as 10, 10 mm or 3/8 in"),
        ([10], "found a list; give a length, such as 10, 10 mm or 3/8 in"),
        (math.nan, "found not-a-number; give a length, such as 10, 10 mm or 3/8 in"),
        (math.inf, "found an infinite number; a length is at most 100 m here; check the figure and its unit"),
        (200_000, "found 200000; a length is at most 100 m here; check the figure and its unit"),
        ("1e99 mm", 'found "1e99 mm"; a length is at most 100 m here; check the figure and its unit'),
    ],
)
def test_what_is_no_length_is_refused_in_a_sentence(written: object, sentence: str) -> None:
    with pytest.raises(UnitError) as caught:
        units.length(written, "mm")
    assert str(caught.value) == sentence


@pytest.mark.parametrize("written", ["1e999999999 mm", "9" * 5000 + " mm", "9" * 14 + " in", 10**400, "1" + "0" * 50])
def test_absurd_numbers_are_refused_at_once(written: object) -> None:
    with pytest.raises(UnitError):
        units.length(written, "mm")


@given(LENGTHS)
def test_a_length_in_mm_comes_back_as_it_was(mm: float) -> None:
    assert units.length(f"{mm:.12f} mm", "in") == pytest.approx(mm, abs=1e-11)


@given(LENGTHS)
def test_mm_and_inch_mean_the_same(mm: float) -> None:
    assert units.length(mm / 25.4, "in") == pytest.approx(mm, rel=1e-14, abs=1e-12)


@given(st.integers(-7_800, 7_800), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_every_fraction_of_an_inch_is_read_exactly(parts: int, whole: int) -> None:
    inches = Fraction(parts, whole)
    assert units.length(units.show_fraction(inches), "mm") == float(inches * Fraction(254, 10))


@given(st.integers(0, 6400))
def test_the_nearest_fraction_is_at_most_half_a_step_away(sixty_fourths: int) -> None:
    mm = sixty_fourths / 64 * 25.4
    assert units.nearest_fraction(mm + 0.19) == Fraction(sixty_fourths, 64)
    assert units.nearest_fraction(mm - 0.19) == Fraction(sixty_fourths, 64)


@given(LENGTHS, st.sampled_from(["mm", "in"]))
def test_a_shown_length_reads_back_within_its_digits(mm: float, unit: units.Unit) -> None:
    assert units.length(units.show_length(mm, unit), unit) == pytest.approx(mm, abs=0.013)


def test_lengths_are_shown_without_idle_zeros_or_a_negative_zero() -> None:
    assert units.show_length(10, "mm") == "10 mm"
    assert units.show_length(100, "mm") == "100 mm"
    assert units.show_length(-0.001, "mm") == "0 mm"
    assert units.show_length(9.2, "mm", 3) == "9.200 mm"
    assert units.show_length(-9.2, "in") == "-0.362 in"


@pytest.mark.parametrize(
    ("written", "degrees"),
    [(45, 45), ("45 deg", 45), ("45°", 45), ("-30 deg", -30), ("0.25 turn", 90), ("7° 30'", 7.5), ("-1°0'36\"", -1.01)],
)
def test_an_angle_is_read_as_written(written: object, degrees: float) -> None:
    assert units.angle(written) == pytest.approx(math.radians(degrees), abs=1e-14)


def test_radians_are_taken_as_they_are() -> None:
    assert units.angle("0.5 rad") == 0.5


@pytest.mark.parametrize("written", ["45", "45 grad", "0,5 rad", True, None, math.nan, 1e9, "1/2 deg"])
def test_what_is_no_angle_is_refused(written: object) -> None:
    with pytest.raises(UnitError, match="found"):
        units.angle(written)


def test_other_quantities_want_their_unit() -> None:
    assert units.speed_rpm("1740 rpm") == 1740
    assert units.speed_rpm("1740 1/min") == 1740
    assert units.speed_rpm("29 rev/s") == 1740
    assert units.frequency_hz("60 Hz") == 60
    assert units.power_w("0.75 kW") == 750
    # one horsepower is 550 foot-pounds a second: 550 x 0.3048 m x 4.4482216152605 N
    assert units.power_w("1 HP") == pytest.approx(550 * 0.3048 * 4.4482216152605, rel=1e-14)
    # one psi is a pound-force on a square inch
    assert units.stress("1000 psi") == pytest.approx(1000 * 4.4482216152605 / 25.4**2, rel=1e-14)
    assert units.stress("36 ksi") == pytest.approx(units.stress("36000 psi"), rel=1e-14)
    assert units.density("0.284 lb/in3") == pytest.approx(0.284 * 0.45359237 / 0.0254**3, rel=1e-14)


@pytest.mark.parametrize(
    ("read", "written", "sentence"),
    [
        (units.power_w, 0.75, "found 0.75; give it with its unit (W, kW or HP), as 0.75 kW"),
        (units.power_w, "0.75", 'found "0.75"; give its unit too (W, kW or HP), as 0.75 kW'),
        (units.power_w, "1 PS", 'found "1 PS" with an unknown unit; use W, kW or HP, as 0.75 kW'),
        (units.density, "heavy", 'found "heavy"; give it with its unit, as 7850 kg/m3'),
        (units.speed_rpm, True, "found true; give it with its unit (rpm, rev/s or rad/s), as 1740 rpm"),
        (units.angle, "45", 'found "45"; give its unit too (deg or rad), as 45 deg'),
    ],
)
def test_a_quantity_without_its_unit_is_refused_in_a_sentence(read: object, written: object, sentence: str) -> None:
    assert callable(read)
    with pytest.raises(UnitError) as caught:
        read(written)
    assert str(caught.value) == sentence


def _read_or_refused(read: Callable[[str], float], text: str) -> float:
    """What the text reads as, 0 when it is refused in a sentence."""
    try:
        return read(text)
    except UnitError:
        return 0.0


@given(st.text(max_size=80))
def test_no_text_does_anything_but_read_or_raise_the_unit_error(text: str) -> None:
    for read in (lambda t: units.length(t, "mm"), units.angle, units.speed_rpm, units.stress, units.density):
        assert math.isfinite(_read_or_refused(read, text))


@given(st.from_regex(r"[-+]?[0-9]{1,6}([.,/-][0-9]{1,4}){0,3} ?(mm|in|\"|'|ft|cm|x)?", fullmatch=True))
def test_text_that_looks_like_a_length_reads_within_bounds_or_is_refused(text: str) -> None:
    assert abs(_read_or_refused(lambda t: units.length(t, "mm"), text)) <= units.MAX_LENGTH

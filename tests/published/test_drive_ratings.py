"""What a belt carries by its maker's table: read between printed figures, and beside other printings.

Source: Gates, Super HC and Hi-Power belt tables, as C. Alves (Fatec Itaquera) prints them; Megadyne, Oleostatic Gold,
    pages 37 and 39; Elatech polyurethane belts (Goodyear Rubber Products, 2012), pages 8, 14, 18 and 36; a calculation
    example of a maker of AT10 belts (https://belt-pilot.com/index.php?L=2&id=65); SDP/SI, Handbook of timing
    belts and pulleys, page T-15; Mott, Machine Elements in Mechanical Design, 4th edition, example 7-1, page 279; ISO
    11749:2014, the example of 6.1, as GOST R ISO 11749-2017 prints it.
Compared: 50 printed ratings and tooth forces that are no rows of ours, so that they lie between rows; the pull of XL, L
    and H belts by the handbook beside ISO 5295; rated power, wrap and length factors and number of belts of the book's
    5V drive; what a rib of PK may pull beside its fatigue test.
Within: 1.5 % below and 0.5 % above at figures between rows; the handbook is 20 % below the standard at XL, 11 % at L,
    1 % at H, and never above; the 5V drive at most 6 % below the book's, which adds for the speed ratio, and as many
    belts; AT10 at most 10 % below its example, never above; a rib of PK at half of its test.

Speeds in rpm, powers in hp or kW, as printed.
"""

from __future__ import annotations

from math import ceil, pi, radians

import pytest

from platekit.drive import rating
from platekit.tables import belts

HORSEPOWER = 745.699872
POUND = 4.4482216152605
INCH = 25.4

BETWEEN_ROWS = [
    *[("3V", 170, 1425, 6.96), ("3V", 190, 2850, 13.3), ("3V", 210, 1750, 10.6), ("3V", 180, 900, 5.02)],
    *[("3V", 120, 3600, 8.87), ("3V", 90, 725, 1.5), ("3V", 100, 4500, 7.63), ("3V", 230, 1300, 9.19)],
    *[("5V", 250, 1425, 22.9), ("5V", 295, 1000, 21.7), ("5V", 340, 1160, 29.0), ("5V", 210, 870, 11.9)],
    *[("5V", 230, 1900, 24.8), ("5V", 385, 700, 22.4), ("A", 105, 1425, 2.75), ("A", 115, 2850, 5.15)],
    *[("A", 120, 1750, 4.07), ("A", 180, 950, 4.56), ("A", 80, 3600, 2.33), ("A", 150, 1600, 5.37)],
    *[("B", 155, 1425, 6.38), ("B", 145, 1750, 6.39), ("B", 175, 1160, 6.82), ("B", 135, 870, 3.38)],
]
"""Section, small pulley in mm, its speed, hp: printed, and no row of the table."""

LEFT_OUT = [
    *[("SPA", 106, 1500, 3.88), ("SPA", 132, 3500, 11.08), ("SPA", 90, 3000, 3.88), ("SPA", 170, 1500, 9.32)],
    *[("SPB", 140, 1500, 7.23), ("SPB", 200, 1500, 15.02), ("SPB", 180, 3000, 18.78), ("SPB", 160, 3500, 15.43)],
]
"""The same in kW."""


@pytest.mark.parametrize(("section", "small", "rpm", "horsepower"), BETWEEN_ROWS)
def test_between_rows_lies_what_the_maker_prints(section: str, small: float, rpm: float, horsepower: float) -> None:
    """A straight line lies a little below a printed curve; printed in two or three digits."""
    found = rating.basic_power_w(section, small, rpm)
    assert found is not None
    assert horsepower * 0.985 - 0.005 <= found / HORSEPOWER <= horsepower * 1.005 + 0.005


@pytest.mark.parametrize(("section", "small", "rpm", "kilowatt"), LEFT_OUT)
def test_a_speed_that_was_left_out_is_found_again(section: str, small: float, rpm: float, kilowatt: float) -> None:
    """Speeds of the printed table that are no columns of ours."""
    found = rating.basic_power_w(section, small, rpm)
    assert found is not None
    assert kilowatt * 0.985 <= found / 1000 <= kilowatt * 1.005


@pytest.mark.parametrize(
    ("rpm", "force"),
    [
        (1100, 16.01),
        (1300, 15.47),
        (1440, 15.13),
        (1700, 14.58),
        (2200, 13.71),
        (3000, 12.65),
        (5500, 10.55),
        (7500, 9.46),
    ],
)
def test_teeth_of_t5(rpm: float, force: float) -> None:
    """F = force x teeth in mesh x width in cm, and power is force times belt speed: ten teeth of a 10 mm belt."""
    speed = 20 * 0.005 * rpm / 60
    found = rating.toothed_power_w("T5", 20, rpm, pi, 10)
    assert found == pytest.approx(force * 10 * 1.0 * speed, rel=0.005)


@pytest.mark.parametrize(
    ("section", "rpm", "force"),
    [
        *[("AT5", 1100, 25.96), ("AT5", 1440, 24.41), ("AT5", 1700, 23.41), ("AT5", 3000, 19.85), ("AT5", 5500, 15.83)],
        *[("5M", 1100, 25.52), ("5M", 1440, 23.96), ("5M", 1700, 22.94), ("5M", 3000, 19.23), ("5M", 7500, 12.68)],
    ],
)
def test_teeth_between_the_rows_of_at5_and_5m(section: str, rpm: float, force: float) -> None:
    """Printed at speeds that are no columns of ours."""
    tooth = belts.tooth_force(section)
    assert tooth is not None
    assert tooth.force_n_mm(rpm) == pytest.approx(force / 10, rel=0.005)


@pytest.mark.parametrize(
    ("rpm", "twice_at5", "half_at20"),
    [(0, 72.80, 75.70), (200, 65.84, 64.715), (1000, 52.98, 45.365), (2000, 44.84, 34.11), (4000, 35.92, 21.98)],
)
def test_teeth_of_at10_lie_below_what_its_neighbours_give(rpm: float, twice_at5: float, half_at20: float) -> None:
    """No page of AT10 was at hand: AT5 and AT20 of the same maker, tooth for tooth as long as the pitch."""
    tooth = belts.tooth_force("AT10")
    assert tooth is not None
    found = tooth.force_n_mm(rpm)
    assert found is not None
    assert 0.998 * min(twice_at5, half_at20) <= 10 * found <= min(twice_at5, half_at20)


def test_calculation_example_of_at10() -> None:
    """10 kW at 800 rpm on 25 teeth, 300 N m to start it: 47.9 mm by the running teeth, 85.4 mm at rest, 100 mm taken.

    Specific power 6.96 W/cm, torque 11.70 N cm/cm, twelve teeth counted.
    """
    running = rating.toothed_power_w("AT10", 25, 800, pi, 47.9)
    assert running is not None
    assert 0.90 * 10_000 <= running <= 10_000  # on the safe side of the maker's own AT10
    tooth = belts.tooth_force("AT10")
    assert tooth is not None
    at_rest = tooth.force_n_mm(0)
    assert at_rest is not None
    start = 2 * 300_000 / 79.58
    assert 0.97 <= at_rest * 12 * 85.4 / start <= 1.0
    law = belts.toothed_rating("AT10")
    assert law is not None
    assert law.tension * (100 / law.width) ** rating.WIDTH_EXPONENT > start  # the printed drive holds here too


@pytest.mark.parametrize(("section", "pounds", "below"), [("XL", 28, 0.20), ("L", 49, 0.11), ("H", 135, 0.01)])
def test_the_handbooks_pull_an_inch_is_not_above_the_standards(section: str, pounds: float, below: float) -> None:
    """What the handbook allows on 1 in of XL, L and H, beside ISO 5295: so HTD and T may be read in it too."""
    law = belts.toothed_rating(section)
    assert law is not None
    on_an_inch = law.tension * (INCH / law.width) ** rating.WIDTH_EXPONENT
    assert (1 - below) * on_an_inch <= pounds * POUND <= 1.005 * on_an_inch


def test_the_handbooks_pull_of_t5_is_the_other_makers() -> None:
    """209 lbf on an inch; the other maker prints 900 N on 25 mm."""
    law = belts.toothed_rating("T5")
    assert law is not None
    assert law.tension == pytest.approx(209 * POUND, rel=0.001)
    assert law.tension == pytest.approx(900 * INCH / 25, rel=0.02)


def test_example_7_1_of_mott() -> None:
    """5V, 12.4 in sheave, 1160 rpm, 100 in long: (0.94)(0.96)(27.55 hp) = 24.86 hp, 65.0 / 24.86 = 2.61, 3 belts.

    The 27.55 hp hold an addition for the speed ratio, which is left out here.
    """
    length = belts.pitch_length("5V", 100 * INCH, "effective")
    assert rating.wrap_factor(radians(158)) == pytest.approx(0.94, abs=0.01)
    assert belts.v_length_factor("5V", length) == 0.96
    found = rating.v_belt_rating("5V", 12.4 * INCH, 1160, radians(158), length).power_w
    assert found is not None
    assert 0.94 * 24.86 <= found / HORSEPOWER <= 24.86
    assert ceil(65.0 * HORSEPOWER / found) == 3


def test_a_rib_of_pk_carries_half_of_what_the_fatigue_test_asks_of_it() -> None:
    """10.3 kW on a belt of six ribs at 4900 rpm, pulley of 120.6 mm, whose effective line lies 2 mm outside it."""
    found = rating.v_belt_rating("PK", 120.6 + 2 * 2, 4900, pi, 1000, count=6)
    assert found.power_w == pytest.approx(10_300 / 2, rel=0.001)

"""Sheet gauges and drills against the formulas and printings behind them.

Source: ASTM B258 (American wire gauge: 0.005 in x 92^((36 - n) / 39)); Manufacturers' Standard Gage (41.82 lb per
    square foot for each inch of steel sheet); Galvanized Sheet Gage; US Standard Gage of 1893; Machinery's Handbook
    (number and letter drills, tap drills for 75 percent of thread).
Compared: thickness by gauge number for four metals, drill diameters, tap drills.
Within: half of the fourth decimal of an inch; 0.0003 in for galvanised sheet; equal for drills and tap drills.
"""

from __future__ import annotations

import pytest

from platekit.tables import drill, drills, gauge, nearest_drill, tap_drill

INCH = 25.4


@pytest.mark.parametrize("number", range(1, 31))
def test_aluminium_follows_the_formula_of_astm_b258(number: int) -> None:
    # printed to four decimals of an inch
    assert gauge(number, "aluminium") == pytest.approx(0.005 * 92 ** ((36 - number) / 39) * INCH, abs=0.00006 * INCH)


@pytest.mark.parametrize(
    ("number", "pounds"),
    [(3, 10.0), (7, 7.5), (8, 6.875), (11, 5.0), (14, 3.125), (16, 2.5), (18, 2.0), (20, 1.5), (28, 0.625)],
)
def test_steel_follows_the_weight_that_defines_the_gauge(number: int, pounds: float) -> None:
    # Manufacturers' Standard Gage: thickness = pounds per square foot / 41.82
    assert gauge(number, "steel") == pytest.approx(pounds / 41.82 * INCH, abs=0.00006 * INCH)


@pytest.mark.parametrize(
    ("number", "ounces"), [(8, 112.5), (10, 92.5), (14, 52.5), (16, 42.5), (20, 26.5), (24, 18.5), (28, 12.5)]
)
def test_galvanised_is_the_steel_plus_its_zinc(number: int, ounces: float) -> None:
    # Galvanized Sheet Gage: weight in ounces per square foot, the steel gauge's weight plus 2.5 oz of zinc
    assert gauge(number, "galvanised") == pytest.approx(ounces / 16 / 41.82 * INCH, abs=0.0003 * INCH)


@pytest.mark.parametrize(("number", "parts"), [(7, 12), (8, 11), (10, 9), (11, 8), (12, 7), (14, 5), (16, 4)])
def test_stainless_follows_the_us_standard_gage_of_1893(number: int, parts: int) -> None:
    # U.S. Standard Gage: 7 is 3/16 in, 11 is 1/8 in, 16 is 1/16 in, in sixty-fourths between
    assert gauge(number, "stainless") == pytest.approx(parts / 64 * INCH, abs=0.00006 * INCH)


def test_the_same_number_differs_from_metal_to_metal() -> None:
    sizes = {gauge(16, metal) for metal in ("steel", "galvanised", "stainless", "aluminium")}
    assert len(sizes) == 4


# Machinery's Handbook, twist drills
@pytest.mark.parametrize(
    ("name", "inches"),
    [
        ("#1", 0.228),
        ("#7", 0.201),
        ("#21", 0.159),
        ("#36", 0.1065),
        ("#60", 0.040),
        ("#80", 0.0135),
        ("A", 0.234),
        ("F", 0.257),
        ("Z", 0.413),
    ],
)
def test_drill_diameters(name: str, inches: float) -> None:
    assert drill(name).diameter == pytest.approx(inches * INCH)


# Machinery's Handbook, tap drill charts
@pytest.mark.parametrize(
    ("thread", "name"),
    [
        ("1/4-20", "#7"),
        ("1/4-28", "#3"),
        ("5/16-18", "F"),
        ("3/8-16", "5/16"),
        ("1/2-13", "27/64"),
        ("5/8-11", "17/32"),
        ("3/4-10", "21/32"),
        ("#10-24", "#25"),
        ("#10-32", "#21"),
        ("M6", "5 mm"),
        ("M12", "10.2 mm"),
        ("M16", "14 mm"),
        ("M12x1.5", "10.5 mm"),
    ],
)
def test_tap_drills(thread: str, name: str) -> None:
    assert tap_drill(thread).drill.name == name


def test_nearest_drill_above_10_2_mm() -> None:
    # 13/32 in is 10.319 mm, letter Y 10.262 mm, Z 10.490 mm
    assert nearest_drill(10.25, systems=("fraction",)).name == "13/32"
    assert nearest_drill(10.25, systems=("letter",)).name == "Y"
    assert nearest_drill(10.25, at_or_above=False, systems=("fraction",)).name == "25/64"
    assert len(drills("number")) == 80
    assert len(drills("letter")) == 26

"""Belts and pulleys as makers' catalogues have them.

Source: catalogues of Rubena, Bando, ContiTech, Optibelt, Synchroflex and Brecoflex, and SATI; DIN 2215 as the Optibelt
    V-belt manual prints it; NEMA MG 1-14.42 as PennBarry ED 16007 reprints it.
Compared: lengths that are made and lengths that no catalogue has, smallest pulleys, masses, length tolerances, pulleys
    on a motor's shaft.
Within: equal; masses as far as they are printed.
"""

from __future__ import annotations

import pytest

from platekit.tables import belts

INCH = 25.4

MADE = {"A": 998.2, "T10": 1000, "AT10": 600, "3M": 267, "5M": 600, "8M": 960, "8M ": 1760, "14M": 3500, "SPZ": 1000}
"""Pitch lengths, mm, that several catalogues have; A38 is 38 in inside."""
NOT_MADE = [("T10", 730), ("AT5", 480), ("AT10", 580), ("3M", 264), ("8M", 1920)]
"""Pitch lengths, mm, in none of the lists."""


@pytest.mark.parametrize(("section", "length"), MADE.items())
def test_a_length_that_is_made_is_stock(section: str, length: float) -> None:
    assert any(abs(size.pitch_length - length) < 0.1 for size in belts.stock(section.strip()))


@pytest.mark.parametrize(("section", "length"), NOT_MADE)
def test_a_length_that_nobody_makes_is_not(section: str, length: float) -> None:
    assert not any(abs(size.pitch_length - length) < 0.1 for size in belts.stock(section))


# cogged narrow belts: ContiTech FO Advance (2011) and Optibelt Super X-Power (2013), pitch lengths that both list
BOTH = {"XPZ": (612, 1000, 1262, 1600, 3550), "XPA": (757, 1000, 1482, 2240, 3550), "XPB": (1250, 1750, 2280, 3550)}


@pytest.mark.parametrize(("section", "lengths"), BOTH.items())
def test_cogged_narrow_belts_that_two_makers_list(section: str, lengths: tuple[int, ...]) -> None:
    stock = {round(size.pitch_length): size for size in belts.stock(section)}
    for length in lengths:
        assert "at least two makers" in stock[length].source.name
    # 8000 mm stands in no list of cogged belts, 1450 mm (XPZ) in ContiTech's alone
    assert 8000 not in stock
    assert section != "XPZ" or "one maker" in stock[1450].source.name


def test_ribbed_belts_are_those_of_the_lists() -> None:
    labels = {size.label for name in ("PK", "K") for size in belts.stock(name)}
    assert labels >= {"PK730", "PK875", "PK1321", "PK2362", "320K", "490K"}
    assert not labels & {"PK711", "PK841", "PK1320", "PK2500", "240K", "400K", "800K"}


@pytest.mark.parametrize("teeth", [52, 60, 68])
def test_pulleys_that_nobody_offers(teeth: int) -> None:
    offered = {pulley.teeth for pulley in belts.stock_pulleys("14M")}
    assert teeth not in offered
    assert offered >= {28, 34, 56, 64, 72, 112, 216}


# Rubena: A 71, AX 63, B 112, BX 100 mm of pitch diameter; Synchroflex: T5 10, T10 12, AT5 15 teeth
SMALLEST = {"A": 71, "AX": 63, "B": 112, "BX": 100}
SMALLEST_TEETH = {"T5": 10, "T10": 12, "AT5": 15, "8M": 22, "14M": 28}


@pytest.mark.parametrize(("section", "diameter"), SMALLEST.items())
def test_smallest_pulley(section: str, diameter: float) -> None:
    found = belts.smallest_pulley(section)
    assert (found.pitch_diameter, found.source.kind) == (diameter, "published")


@pytest.mark.parametrize(("section", "teeth"), SMALLEST_TEETH.items())
def test_smallest_toothed_pulley(section: str, teeth: int) -> None:
    assert belts.smallest_pulley(section).teeth == teeth


# kg/m: Rubena 3L 0.07, 4L 0.11, 5L 0.19; ContiTech PK 0.021 a rib; Synchroflex T5 0.060 at 25 mm, AT10 0.101 at 16 mm
# ContiTech FO Advance: XPZ 0.072, XPA 0.112, XPB 0.192
MASSES = {
    "XPZ": 0.072,
    "XPA": 0.112,
    "XPB": 0.192,
    "3L": 0.07,
    "4L": 0.11,
    "5L": 0.19,
    "PK": 0.021,
    "T5": 0.060 / 25,
    "T10": 0.114 / 25,
    "AT10": 0.101 / 16,
}


@pytest.mark.parametrize(("section", "kg_m"), MASSES.items())
def test_mass(section: str, kg_m: float) -> None:
    assert belts.mass(section).kg_m == pytest.approx(kg_m, rel=0.02)


# DIN 2215, length over mm: +, -
DIN_2215 = [(1000, 19, 10), (1400, 23, 11), (1800, 27, 13), (2200, 31, 16), (3000, 37, 18), (3500, 44, 22)]


@pytest.mark.parametrize(("length", "plus", "minus"), DIN_2215)
def test_length_tolerance_of_classical_belts(length: float, plus: float, minus: float) -> None:
    found = belts.length_tolerance("A", length)
    assert (found.plus, found.minus, found.source.kind) == (plus, minus, "published")


# NEMA MG 1-14.42: hp at 1750 rpm, smallest pitch diameter in inches, conventional belts
MOTOR_PULLEYS = [(1, 2.2), (3, 2.4), (5, 3.0), (10, 3.8), (20, 4.6), (40, 6.0)]


@pytest.mark.parametrize(("power_hp", "smallest"), MOTOR_PULLEYS)
def test_smallest_pulley_on_a_motor(power_hp: float, smallest: float) -> None:
    found = belts.smallest_motor_pulley(power_hp * 745.7, 1750)
    assert found is not None
    assert found.pitch_diameter / INCH == pytest.approx(smallest)
    assert found.source.kind == "published"

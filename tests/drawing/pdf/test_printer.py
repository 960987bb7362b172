"""What a printer does to a sheet is found from six lengths, and what cannot be mended is refused in words."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from platekit.drawing.pdf.printer import (
    BARS,
    MOST_LEAN,
    MOST_MISFIT,
    MOST_SCALE,
    MOST_TRAPEZOID,
    Distortion,
    NominalBars,
    amount_words,
    fitted_distortion,
    printer_of,
    printer_words,
)
from platekit.errors import PaperError

NOMINAL = NominalBars(270.0, 185.0)


def corners(
    nominal: NominalBars, matrix: tuple[tuple[float, float], tuple[float, float]], turn: float = 0.0
) -> list[tuple[float, float]]:
    """Where the corners of the bars go: lower left, lower right, upper right, upper left."""
    (a, b), (c, d) = matrix
    w, h = nominal.across / 2, nominal.along / 2
    moved = [(a * x + b * y, c * x + d * y) for x, y in ((-w, -h), (w, -h), (w, h), (-w, h))]
    cos, sin = math.cos(turn), math.sin(turn)
    return [(cos * x - sin * y, sin * x + cos * y) for x, y in moved]


def lengths(points: list[tuple[float, float]]) -> dict[Any, float]:
    """The six lengths between four corners."""
    ll, lr, ur, ul = points
    ends = {"bottom": (ll, lr), "top": (ul, ur), "left": (ll, ul), "right": (lr, ur)}
    ends |= {"rising": (ll, ur), "falling": (ul, lr)}
    return {bar: math.dist(*pair) for bar, pair in ends.items()}


def bent(across: float, along: float, lean_deg: float, nominal: NominalBars = NOMINAL) -> dict[Any, float]:
    """The readings of a printer with two scales and uprights that lean to the right."""
    lean = math.radians(lean_deg)
    matrix = ((across, along * math.sin(lean)), (0.0, along * math.cos(lean)))
    return lengths(corners(nominal, matrix))


sizes = st.floats(60.0, 1000.0)
scales = st.floats(0.95, 1.05)
leans = st.floats(-3.0, 3.0)


@given(sizes, sizes, scales, scales, leans, st.floats(-math.pi, math.pi))
def test_any_straight_distortion_is_found_exactly(
    wide: float, high: float, across: float, along: float, lean_deg: float, turn: float
) -> None:
    nominal, lean = NominalBars(wide, high), math.radians(lean_deg)
    matrix = ((across, along * math.sin(lean)), (0.0, along * math.cos(lean)))
    found = fitted_distortion(lengths(corners(nominal, matrix, turn)), nominal)
    assert found.across == pytest.approx(across, abs=1e-9)
    assert found.along == pytest.approx(along, abs=1e-9)
    assert found.lean == pytest.approx(lean, abs=1e-7)


@given(scales, scales, leans)
def test_the_inverse_takes_the_distortion_back(across: float, along: float, lean_deg: float) -> None:
    printer = Distortion(across, along, math.radians(lean_deg))
    (a, b), (c, d) = printer.matrix
    (e, f), (g, h) = printer.inverse
    product = (a * e + b * g, a * f + b * h, c * e + d * g, c * f + d * h)
    assert product == pytest.approx((1.0, 0.0, 0.0, 1.0), abs=1e-12)


@given(st.lists(st.floats(-0.4, 0.4), min_size=6, max_size=6), scales, scales, leans)
def test_no_other_distortion_leaves_less_over(
    errors: list[float], across: float, along: float, lean_deg: float
) -> None:
    """Least squares: a small step any way from what was found makes the sum of squares no smaller."""
    true = bent(across, along, lean_deg)
    readings = {bar: true[bar] + off for bar, off in zip(BARS, errors, strict=True)}
    found = fitted_distortion(readings, NOMINAL)

    def left(printer: Distortion) -> float:
        return sum((readings[bar] - printer.length(bar, NOMINAL)) ** 2 for bar in BARS)

    for step in (1e-4, -1e-4):
        for moved in (
            Distortion(found.across + step, found.along, found.lean),
            Distortion(found.across, found.along + step, found.lean),
            Distortion(found.across, found.along, found.lean + step),
        ):
            assert left(found) <= left(moved)


@given(scales, scales, leans)
def test_lying_the_other_way_is_the_same_printer(across: float, along: float, lean_deg: float) -> None:
    """Turning the sheet a quarter before it is read gives the readings of the turned distortion."""
    lean = math.radians(lean_deg)
    matrix = ((across, along * math.sin(lean)), (0.0, along * math.cos(lean)))
    ll, lr, ur, ul = corners(NOMINAL, matrix)
    turned = lengths([lr, ur, ul, ll])  # the right side is at the bottom now
    found = fitted_distortion(turned, NOMINAL.turned)
    expected = Distortion(across, along, lean).turned
    assert (found.across, found.along) == pytest.approx((expected.across, expected.along), abs=1e-9)
    assert found.lean == pytest.approx(expected.lean, abs=1e-7)


@given(st.floats(-0.0195, 0.0195), st.floats(-0.0195, 0.0195), st.floats(-0.95, 0.95), st.booleans())
def test_what_may_be_mended_is_taken_whichever_way_the_sheet_lay(
    across: float, along: float, lean_deg: float, swapped: bool
) -> None:
    assume(not ((across + along) / 2 < -0.0145 and abs(across - along) < 0.0065))  # looks like fit to page
    readings = bent(1 + across, 1 + along, lean_deg)
    printer = printer_of(readings, NOMINAL.turned if swapped else NOMINAL, "mm")
    found = printer.distortion(NOMINAL.across, NOMINAL.along)
    assert (found.across, found.along) == pytest.approx((1 + across, 1 + along), abs=1e-9)
    assert math.degrees(found.lean) == pytest.approx(lean_deg, abs=1e-6)
    assert printer.misfit == pytest.approx(0.0, abs=1e-6)


def test_half_a_millimetre_of_reading_is_taken_and_said() -> None:
    readings = bent(1.004, 0.998, 0.1)
    readings["top"] += 0.4
    printer = printer_of(readings, NOMINAL, "mm", "bench")
    assert printer.wider_on_top == pytest.approx(0.4)
    assert 0.25 < printer.left < 0.35
    words = " ".join(printer_words(printer, NOMINAL, "mm"))
    assert "Trapezoid: opposite bars differ by 0.4 mm" in words
    assert printer.called == "the printer bench"


def test_the_printer_is_told_in_plain_words() -> None:
    printer = printer_of(bent(1.013, 0.993, 0.3), NOMINAL, "mm")
    across, along, askew, trapezoid, left = printer_words(printer, NOMINAL, "mm")
    assert along == "Along an upright sheet it prints 1.3 % too long: 270.00 mm comes out as 273.51 mm."
    assert across.startswith("Across an upright sheet it prints 0.7 % too short: 185.00 mm comes out as 183.7")
    assert askew == "It prints askew: upright lines lean 0.30 degrees to the left, 1.41 mm over the sheet."
    assert "0 mm" in trapezoid
    assert left.startswith("Corrected sheets from it are true within about 0.2 mm")
    assert (
        amount_words(printer) == "0.7 % too short across and 1.3 % too long along an upright sheet, 0.30 degrees askew"
    )
    good = printer_words(printer_of(bent(1.0, 1.0, 0.0), NOMINAL, "mm"), NOMINAL, "mm")
    assert good[0] == "Across an upright sheet it prints true: 185.00 mm comes out as 185.00 mm."
    assert good[2] == "It prints square: upright lines stand upright."
    left_leaning = printer_words(printer_of(bent(1.0, 1.0, -0.3), NOMINAL, "mm"), NOMINAL, "mm")
    assert "0.30 degrees to the right" in left_leaning[2]


# ------------------------------------------------------------------------------------- what is refused


def refusal(readings: dict[Any, float], nominal: NominalBars = NOMINAL, unit: Any = "mm") -> PaperError:
    with pytest.raises(PaperError) as caught:
        printer_of(readings, nominal, unit)
    return caught.value


@pytest.mark.parametrize("bar", ["bottom", "top", "left", "right"])
@pytest.mark.parametrize("off", [-9.0, 7.0, 25.0, -60.0])
def test_one_bar_that_contradicts_the_others_is_named_with_what_they_make_it(bar: str, off: float) -> None:
    readings = bent(1.004, 0.996, 0.1)
    true = readings[bar]
    readings[bar] += off
    error = refusal(readings)
    assert error.bar == bar
    assert f"found {true + off:.2f}".rstrip("0").rstrip(".") in str(error)
    assert f"the other five make it {true:.2f}".rstrip("0").rstrip(".") in str(error)
    assert f"measure the {bar} bar again" in str(error)


@pytest.mark.parametrize("bar", ["rising", "falling"])
def test_a_wrong_diagonal_cannot_be_told_from_the_other(bar: str) -> None:
    readings = bent(1.0, 1.0, 0.0)
    readings[bar] += 5.0
    error = refusal(readings)
    assert "diagonals together 5" in str(error)
    assert "measure both diagonals again, one of them is wrong" in str(error)


def test_readings_that_contradict_each_other_altogether_are_refused() -> None:
    readings = bent(1.0, 1.0, 0.0)
    readings |= {"top": 273.0, "left": 183.0, "rising": 330.0, "falling": 331.0}
    error = refusal(readings)
    assert "contradict each other by" in str(error)
    assert "measure all six again" in str(error)


@given(st.sampled_from(BARS), st.floats(2.5, 15.0), st.booleans())
@settings(max_examples=60)
def test_a_single_blunder_never_passes(bar: Any, off: float, short: bool) -> None:
    readings = bent(1.003, 0.996, 0.2)
    readings[bar] += -off if short else off
    refusal(readings)


@pytest.mark.parametrize(
    ("wider", "said"),
    [
        ("top", "the top bar is 1.6 mm longer than the bottom one"),
        ("bottom", "the bottom bar is 1.6 mm longer than the top one"),
    ],
)
def test_a_trapezoid_is_refused_with_how_much(wider: str, said: str) -> None:
    """Four true corners of a sheet that is wider at one end: nothing contradicts, but no straight map mends it."""
    w, h = 135.0, 92.5
    more = 0.8 if wider == "top" else -0.8
    points = [(-w, -h), (w, -h), (w + more, h), (-w - more, h)]
    error = refusal(lengths(points))
    assert "a trapezoid: " + said in str(error)
    assert "put the paper square into its guides" in str(error)


@given(st.floats(0.91, 0.98), st.floats(-0.003, 0.003))
def test_fit_to_page_is_named_with_the_setting_to_change(scale: float, apart: float) -> None:
    error = refusal(bent(scale + apart / 2, scale - apart / 2, 0.0))
    assert "`fit to page`" in str(error)
    assert "set scaling to 100 %" in str(error)
    assert error.bar == ""


def test_other_scales_and_slants_beyond_the_limits_are_refused() -> None:
    assert "a print at 103 % of its size both ways" in str(refusal(bent(1.03, 1.03, 0.0)))
    assert "left and right at 103 % of 185.00 mm; up to 2 % is mended" in str(refusal(bent(1.0, 1.03, 0.0)))
    assert "bottom and top at 97.5 % of 270.00 mm" in str(refusal(bent(0.975, 1.0, 0.0)))
    assert "lean 1.50 degrees; up to 1 degree is mended" in str(refusal(bent(1.0, 1.0, 1.5)))
    assert (MOST_SCALE, math.degrees(MOST_LEAN)) == pytest.approx((0.02, 1.0))
    assert pytest.approx(0.6) == MOST_TRAPEZOID
    assert pytest.approx(0.6) == MOST_MISFIT


@pytest.mark.parametrize(
    ("factor", "unit", "said"),
    [
        (1 / 25.4, "mm", "as if inches were taken for mm"),
        (25.4, "in", "as if mm were taken for inches"),
        (0.1, "mm", "as if centimetres were taken for mm"),
        (0.7, "mm", "readings 0.7 times as long as bars of 270.00 mm and 185.00 mm"),
    ],
)
def test_a_wrong_unit_or_another_sheet_is_named(factor: float, unit: str, said: str) -> None:
    readings = {bar: length * factor for bar, length in bent(1.0, 1.0, 0.0).items()}
    assert said in str(refusal(readings, unit=unit))


def test_figures_under_the_wrong_names_are_seen() -> None:
    readings = bent(1.0, 1.0, 0.0)
    readings["top"], readings["left"] = readings["left"], readings["top"]
    assert "readings that fit no sheet whose bars say" in str(refusal(readings))
    assert "each bar under its own name" in str(refusal(readings))


@pytest.mark.parametrize("value", [0.0, -270.0, math.inf, math.nan])
def test_values_that_are_no_lengths_are_refused(value: float) -> None:
    readings = bent(1.0, 1.0, 0.0) | {"right": value}
    error = refusal(readings)
    assert error.bar == "right"
    assert "above zero" in str(error)

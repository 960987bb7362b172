"""Screws, rows as printed.

Source: ISO 273, ISO 4014, ISO 7089, ISO 898-1; ASME B18.2.8, B18.2.1, B18.21.1, B1.1.
Compared: pitch, clearance holes, tap drill, hexagon head, washer and stress area of two metric and two inch screws; the
    formula of the stress area.
Within: equal; 0.25 mm where ASME prints rounded millimetres beside its drills; half of the last digit at the formula.
"""

from __future__ import annotations

import math

import pytest

from platekit.tables import drill, screw, stress_area

INCH = 25.4

# pitch; ISO 273 fine, medium, coarse; tap drill; ISO 4014 s and k; ISO 7089 d2; ISO 898-1 stress area
METRIC = {
    "M8": (1.25, 8.4, 9.0, 10.0, 6.8, 13, 5.3, 16, 36.6),
    "M10": (1.5, 10.5, 11.0, 12.0, 8.5, 16, 6.4, 20, 58.0),
}


@pytest.mark.parametrize("size", METRIC)
def test_metric_screw(size: str) -> None:
    pitch, close, normal, loose, tap, flats, height, washer, area = METRIC[size]
    found = screw(size)
    assert found.pitch == pitch
    assert dict(found.clearance) == {"close": close, "normal": normal, "loose": loose}
    assert found.tap_drill == tap
    assert (found.hex_across_flats, found.hex_head_height, found.washer_outer) == (flats, height, washer)
    assert found.stress_area == area


# threads per inch; ASME B18.2.8 close, normal, loose; tap drill; B18.2.1 across flats and height; B18.21.1; B1.1
INCHES = {
    "3/8-16": (16, "25/64", "13/32", "27/64", "5/16", 0.562, 0.243, 0.812, 0.0775),
    "1/2-13": (13, "17/32", "9/16", "39/64", "27/64", 0.750, 0.323, 1.062, 0.1419),
}
# the millimetres that ASME B18.2.8 prints beside the drills, rounded to 0.1 or 0.25 mm there
PRINTED_MM = {"3/8-16": (9.9, 10.2, 10.5), "1/2-13": (13.5, 14.25, 15.5)}


@pytest.mark.parametrize("size", INCHES)
def test_inch_screw(size: str) -> None:
    tpi, close, normal, loose, tap, flats, height, washer, area = INCHES[size]
    found = screw(size)
    assert found.pitch == pytest.approx(INCH / tpi)
    assert [found.clearance[fit] for fit in ("close", "normal", "loose")] == [
        drill(name).diameter for name in (close, normal, loose)
    ]
    assert found.tap_drill_name == tap
    assert found.hex_across_flats == pytest.approx(flats * INCH)
    assert found.hex_head_height == pytest.approx(height * INCH)
    assert found.washer_outer == pytest.approx(washer * INCH)
    assert found.stress_area == pytest.approx(area * INCH**2)


@pytest.mark.parametrize("size", PRINTED_MM)
def test_millimetres_printed_beside_the_inch_holes(size: str) -> None:
    found = screw(size)
    assert [found.clearance[fit] for fit in ("close", "normal", "loose")] == pytest.approx(PRINTED_MM[size], abs=0.25)


def test_stress_area_formula_of_iso_898_1() -> None:
    # As = pi/4 (d - 0.9382 P)^2
    assert stress_area(8.0, 1.25) == pytest.approx(math.pi / 4 * (8 - 0.9382 * 1.25) ** 2)
    assert stress_area(8.0, 1.25) == pytest.approx(36.6, abs=0.05)
    assert stress_area(16.0, 2.0) == pytest.approx(157, abs=0.5)

"""Yield strength of structural steel in thick plate.

Source: EN 10025-2 table 7, as readle.co.uk (steel grades to Eurocodes) prints it.
Compared: S235, S275 and S355 at both ends of each range of thickness up to 100 mm.
Within: equal.
"""

from __future__ import annotations

import pytest

from platekit.layout import lay_out
from platekit.spec import loads
from platekit.tables import as_thick, material
from tests.checks.plates import changed

TABLE_7 = {
    "S235": (235, 225, 215, 215, 215),
    "S275": (275, 265, 255, 245, 235),
    "S355": (355, 345, 335, 325, 315),
}
"""N/mm2 up to and with 16, 40, 63, 80 and 100 mm."""
THICKNESSES = ((3, 16), (16.1, 40), (40.1, 63), (63.1, 80), (80.1, 100))


@pytest.mark.parametrize("name", [*TABLE_7, "mild steel"])
def test_thick_plate_yields_as_table_7_prints_it(name: str) -> None:
    printed = TABLE_7["S235" if name == "mild steel" else name]
    for ends, figure in zip(THICKNESSES, printed, strict=True):
        for thickness in ends:
            assert as_thick(material(name), thickness).yield_strength == figure


def test_a_plate_has_the_yield_of_its_own_thickness() -> None:
    thin, thick = (
        lay_out(loads(changed(("thickness: 6", f"thickness: {thickness}")), "sound")).material for thickness in (16, 20)
    )
    assert (thin.yield_strength, thick.yield_strength) == (235, 225)
    assert "table 7" in thick.source.name
    # what its standard does not print by thickness stays as it is
    assert as_thick(material("6061-T6"), 50) == material("6061-T6")

"""Pillow blocks of the 200 series as two more printings have them.

Source: a maker's sheet of pillow blocks with narrow inner rings, high shaft height (SBP 204 to 206: H, A, E, S1, bolt);
    a dealer's list of UCP units (H, J, B of the ring) beside the maker's sheet that the table was copied from.
Compared: shaft height, bolts, foot, bolt size in inches; the rings.
Within: equal; the dealer's list rounds the height of 205 to 37 and is left out there.
"""

from __future__ import annotations

import pytest

from platekit.errors import LookupFailed
from platekit.tables.bearing_blocks import bearing_block, bearing_blocks, bore_of
from platekit.tables.screws import screw

# size: shaft height, distance of the bolts, bolt
SBP = {"P 204": (33.3, 95, "3/8-16"), "P 205": (36.5, 105, "3/8-16"), "P 206": (42.9, 121, "1/2-13")}
# size: distance of the bolts, width of the inner ring, from the middle to its nearer end
DEALER = {
    "P 204": (95, 31, 12.7),
    "P 205": (105, 34.1, 14.3),
    "P 206": (121, 38.1, 15.9),
    "P 207": (127, 42.9, 17.5),
    "P 208": (137, 49.2, 19),
    "P 212": (184, 65.1, 25.4),
}


@pytest.mark.parametrize(("name", "figures"), SBP.items())
def test_heights_and_bolts(name: str, figures: tuple[float, float, str]) -> None:
    block = bearing_block(name)
    assert block.source.kind == "published"
    assert (block.shaft_height, block.bolts_apart, block.inch_screw) == figures


@pytest.mark.parametrize(("name", "figures"), DEALER.items())
def test_bolts_and_rings(name: str, figures: tuple[float, float, float]) -> None:
    apart, ring, side = figures
    block = bearing_block(name)
    assert block.bolts_apart == apart
    assert block.reach == pytest.approx(max(ring - side, block.width / 2))


def test_each_block_takes_its_bolt_and_its_inch_shafts() -> None:
    for block in bearing_blocks():
        assert screw(block.screw).diameter < block.hole < block.slot
        assert screw(block.inch_screw).diameter <= screw(block.screw).diameter
        if block.inch_bores:
            # the figure behind the size counts sixteenths of an inch: these lie round the metric one
            assert bore_of(block, "in") == pytest.approx(block.bore, abs=3)
    assert bearing_block("UCP205-16") == bearing_block("P 205")
    with pytest.raises(LookupFailed, match="no table has a bearing block"):
        bearing_block("P 999")

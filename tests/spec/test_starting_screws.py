"""Which screw goes into a part's own through holes, where its standard names none."""

from __future__ import annotations

import pytest

from platekit import tables
from platekit.spec.starting import StarterChoices, starter


@pytest.mark.parametrize(
    ("part", "size"),
    [
        # IEC motors: 10 mm for M8, 12 for M10, 14.5 for M12, 18.5 for M16 (common practice)
        ("IEC 80", "M8"),
        ("IEC 160M", "M12"),
        ("IEC 100 B5", "M12"),
        ("IEC 160 B5", "M16"),
        # pumps of SAE J744: 1/2 in or M12 for the B flange, not the M14 that just passes its 14.27 mm
        ("SAE B 2-bolt", "M12"),
        ("SAE C 2-bolt", "M16"),
    ],
)
def test_a_through_hole_takes_the_screw_that_it_was_made_for(part: str, size: str) -> None:
    text = starter(StarterChoices(title="New part", motor=part))
    assert f"size: {size}, into: nut" in text.replace('"', "")
    assert (tables.mount(part).hole or 0) > tables.screw(size).diameter

"""Sizes in words, and where on the plate they are told."""

from __future__ import annotations

from pathlib import Path

import pytest

from platekit.drawing.sizes import pattern_size
from platekit.geometry import between
from platekit.layout import lay_out
from platekit.spec import load

SPECS = Path(__file__).parents[2] / "specs"


@pytest.mark.parametrize("name", ["bean-drum", "seed-grader", "winnowing-fan", "wool-carder", "bead-sorter"])
def test_no_pattern_s_size_is_told_on_another_s_hole(name: str) -> None:
    layout = lay_out(load(SPECS / f"{name}.yaml"))
    found = [size for mount in layout.mounts.values() if (size := pattern_size(layout, mount)) and size.circle is None]
    assert found
    for size in found:
        assert all(between(size.at, one.center) > one.size for one in layout.openings), size.words

"""The narrowest place of an outline of many edges: found as in one of few, step by step and ray by ray."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from platekit.geometry import narrow, polygons
from tests.geometry.test_many_edges import teeth


@given(st.integers(8, 30), st.floats(1, 9), st.floats(0.2, 0.8), st.floats(1, 12), st.booleans())
@settings(max_examples=4, deadline=None)
def test_the_quick_way_finds_the_same_place(count: int, depth: float, wide: float, below: float, outside: bool) -> None:
    loop = teeth(count, depth, wide)
    with pytest.MonkeyPatch.context() as changed:
        plain = narrow.narrowest(loop, below, outside)
        changed.setattr(narrow, "AT_ONCE", 0)
        rays = narrow.narrowest(loop, below, outside)
        changed.setattr(polygons, "STEPPED", 4)
        quick = narrow.narrowest(loop, below, outside)
    for found in (rays, quick):
        assert (found is None) == (plain is None)
        if found is not None and plain is not None:
            assert found.width == pytest.approx(plain.width, abs=1e-6 if found is rays else 0.02)


@given(st.integers(8, 30), st.floats(1, 9), st.floats(0.2, 0.8), st.booleans())
@settings(max_examples=6)
def test_a_place_is_found_just_above_its_width_and_not_just_below(
    count: int, depth: float, wide: float, outside: bool
) -> None:
    """Below it no ray is that short, so that the disc is never rolled; above it is."""
    loop = teeth(count, depth, wide)
    found = narrow.narrowest(loop, 12, outside)
    if found is None:
        return
    assert narrow.narrowest(loop, found.width - 1e-6, outside) is None
    again = narrow.narrowest(loop, found.width * 1.02, outside)
    assert again is not None
    assert again.width == pytest.approx(found.width, abs=0.01)

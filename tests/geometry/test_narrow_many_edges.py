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

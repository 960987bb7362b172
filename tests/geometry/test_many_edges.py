"""Outlines of thousands of edges moved: the same as when every candidate is cut at every other."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from platekit.geometry import Loop, loop_of, offset


def teeth(count: int, depth: float, wide: float) -> Loop:
    """A plate 120 mm long with so many teeth along one side."""
    corners = [(-60.0, -10.0, 0.0)]
    for k in range(count):
        x = -60.0 + 120.0 * k / count
        corners += [(x, 5.0, 0.0), (x + 120.0 * wide / count, 5.0 - depth, 0.0)]
    return loop_of([*corners, (60.0, 5.0, 0.0), (60.0, -10.0, 0.0)])


def scalloped(count: int, bulge: float) -> Loop:
    """A round plate with arcs instead of chords."""
    spots = ((50 * math.cos(math.tau * k / count), 50 * math.sin(math.tau * k / count)) for k in range(count))
    return loop_of([(x, y, bulge) for x, y in spots])


@st.composite
def shapes(draw: st.DrawFn) -> Loop:
    count = draw(st.integers(90, 160))
    if draw(st.booleans()):
        return teeth(count, draw(st.floats(0.5, 9)), draw(st.floats(0.1, 0.9)))
    return scalloped(count, draw(st.sampled_from((-0.6, -0.1, 0.3, 0.9))))


@given(shapes(), st.floats(0.2, 6), st.booleans())
@settings(max_examples=15, deadline=None)
def test_the_walk_leaves_the_same_outline(loop: Loop, by: float, outwards: bool) -> None:
    d = by if outwards else -by
    with pytest.MonkeyPatch.context() as changed:
        changed.setattr(offset, "MANY", 10**9)
        plain = loop.grown_all(d)
        changed.setattr(offset, "MANY", 10)
        quick = loop.grown_all(d)
    assert len(plain) == len(quick)
    for one, other in zip(plain, quick, strict=True):
        assert other.area == pytest.approx(one.area, abs=1e-6)
        assert other.perimeter == pytest.approx(one.perimeter, abs=1e-6)
        assert len(other.edges) == len(one.edges)


def test_thousands_of_teeth_are_moved() -> None:
    loop = teeth(1500, 3.0, 0.5)
    (grown,) = loop.grown_all(2.0)
    assert grown.box.height == pytest.approx(loop.box.height + 4.0)
    # over the teeth lie arcs of 2 mm about their tips, so near each other that they hardly leave the straight line
    assert grown.area == pytest.approx(120 * 15 + 2 * 135 * 2 + math.pi * 4, abs=0.2)

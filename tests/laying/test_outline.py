"""A plate drawn in between its pads: hollow arcs, in one piece, nowhere too narrow, lighter than a wrap."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import platekit
from platekit.errors import SpecError
from platekit.geometry import Arc, Disc, Loop, covers, distance
from platekit.geometry.narrow import narrowest
from platekit.laying.outline import drawn_in

PLATE = """\
platekit: 1
title: Four feet
units: mm
plate: {{material: mild steel, thickness: 10, outline: {outline}}}
mounts:
  machine:
    side: far
    looking_at: face
    pattern: {{points: [[0, 0], [300, 0], [300, 200], [0, 200]], hole: 11}}
cutting: {{process: laser}}
"""


def laid_out(outline: str) -> platekit.Layout:
    return platekit.lay_out(platekit.loads(PLATE.format(outline=outline), "feet.yaml"))


def test_two_discs_and_a_wheel_by_hand() -> None:
    # discs of 20, 100 apart; a wheel of 50 rolled over both has its middle 70 from either middle: at (50, +-48.990)
    made = drawn_in((Disc((0, 0), 20), Disc((100, 0), 20)), 50.0, 0.0)
    assert made is None  # 2 (48.990 - 50) is less than nothing: the wheels from both sides meet
    made = drawn_in((Disc((0, 0), 20), Disc((100, 0), 20)), 100.0, 0.0)
    assert isinstance(made, Loop)
    height = math.sqrt(120**2 - 50**2)
    hollow = [edge for edge in made.edges if isinstance(edge, Arc) and edge.sweep < 0]
    assert len(hollow) == 2
    for edge in hollow:
        assert edge.radius == pytest.approx(100, abs=1e-9)
        assert math.dist(edge.center, (50, math.copysign(height, edge.center[1]))) < 1e-9
    # the neck halfway
    found = narrowest(made, 60)
    assert found is not None
    assert found.width == pytest.approx(2 * (height - 100), abs=0.02)


def test_a_waist_is_lighter_than_a_wrap_and_holds_every_pad() -> None:
    wrap, waist = laid_out("{wrap: {margin: 14}}"), laid_out("{waist: {margin: 14}}")
    assert waist.mass < 0.9 * wrap.mass
    assert isinstance(waist.outline, Loop)
    assert not waist.outline.is_convex
    assert all(covers(waist.outline, opening.shape, 14 - 1e-6) for opening in waist.openings)
    # half of the wrap: (200 + 11 + 28) / 2
    assert narrowest(waist.outline, 119.5 - 0.05) is None
    assert not platekit.check(waist).open("stop")


def test_a_given_radius_is_taken_and_one_that_parts_the_plate_is_told_with_one_that_does_not() -> None:
    outline = laid_out("{waist: {margin: 14, radius: 500, narrowest: 60}}").outline
    assert isinstance(outline, Loop)
    assert {round(e.radius, 6) for e in outline.edges if isinstance(e, Arc) and e.sweep < 0} == {500.0}
    with pytest.raises(SpecError) as caught:
        laid_out("{waist: {margin: 14, radius: 20}}")
    (problem,) = caught.value.problems
    assert problem.field == "plate.outline.waist.radius"
    advised = problem.wanted.removeprefix("try ").removesuffix(" mm")
    laid_out(f"{{waist: {{margin: 14, radius: {advised}}}}}")


def test_wider_is_heavier() -> None:
    masses = [laid_out(f"{{waist: {{margin: 14, narrowest: {width}}}}}").mass for width in (39, 80, 120, 160)]
    assert masses == sorted(masses)
    assert masses[0] < masses[-1]


DISCS = st.tuples(st.integers(0, 60), st.integers(0, 40), st.integers(4, 12))


@settings(max_examples=40)
@given(
    st.lists(DISCS, min_size=1, max_size=7, unique=True),
    st.sampled_from([16.0, 40.0, 100.0, 400.0]),
)
def test_drawn_pads_lie_within_and_no_wheel_fits_closer(spots: list[tuple[int, int, int]], radius: float) -> None:
    pads = tuple(Disc((5.0 * x, 5.0 * y), float(r)) for x, y, r in spots)
    made = drawn_in(pads, radius, 0.0)
    if made is None:
        return
    for pad in pads:
        assert covers(made, Disc(pad.center, pad.radius - 1e-6))
    loop = made.loop()
    for edge in loop.edges:
        if isinstance(edge, Arc) and edge.sweep < 0:
            # the wheel that made it touches pads and enters none
            assert edge.radius == pytest.approx(radius, abs=1e-6)
            wheel = Disc(edge.center, radius)
            assert min(distance(wheel, pad).distance for pad in pads) == pytest.approx(0, abs=1e-5)


@settings(max_examples=60)
@given(
    st.lists(st.tuples(st.integers(-150, 150), st.integers(-100, 100), st.integers(12, 45)), min_size=2, max_size=5),
    st.sampled_from((40.0, 63.0, 100.0)),
    st.integers(30, 120),
)
def test_a_waist_seen_in_a_mirror_is_as_wide(pads: list[tuple[int, int, int]], radius: float, width: int) -> None:
    """Whether it is drawn in hangs on its narrowest place, which must not hang on where the outline begins."""
    here = tuple(Disc((float(x), float(y)), float(r)) for x, y, r in pads)
    there = tuple(Disc((-disc.center[0], disc.center[1]), disc.radius) for disc in here)
    one, other = drawn_in(here, radius, float(width)), drawn_in(there, radius, float(width))
    assert (one is None) == (other is None)
    if one is not None and other is not None:
        assert one.area == pytest.approx(other.area, rel=1e-9)
        a, b = (narrowest(shape, 2.0 * width, every=True) for shape in (one, other))
        assert (a is None) == (b is None)
        if a is not None and b is not None:
            assert a.width == pytest.approx(b.width, abs=1e-6)

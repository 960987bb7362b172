"""What travels and is then grown, as a relief is: against a polygon buffered elsewhere; no corner too tight."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import Polygon
from shapely.affinity import rotate, translate
from shapely.ops import unary_union

from platekit.errors import GeometryError
from platekit.geometry import (
    Loop,
    Pose,
    Straight,
    Swing,
    distance,
    hull,
    polar,
    polygon_loop,
    rectangle,
    sweep,
    within_reach,
)

FINE = 0.002
"""Chord error of the polygons that stand for arcs here, mm."""


def tenths(low: float, high: float) -> st.SearchStrategy[float]:
    """Figures as a shop writes them: sides and directions that line up by chance are likely."""
    return st.integers(round(low * 10), round(high * 10)).map(lambda n: n / 10)


@st.composite
def rectangles(draw: st.DrawFn) -> tuple[Loop, float]:
    width, height = draw(tenths(8, 120)), draw(tenths(8, 120))
    corner = draw(tenths(0.3, round(min(width, height) / 2.2, 1)))
    pose = Pose(draw(tenths(-300, 300)), draw(tenths(-300, 300)), math.radians(draw(tenths(-180, 180))))
    return rectangle(width, height, corner).moved(pose), corner


@st.composite
def polygons(draw: st.DrawFn) -> tuple[Loop, float]:
    count = draw(st.integers(4, 8))
    angles = [math.tau * (k + draw(st.floats(-0.3, 0.3))) / count for k in range(count)]
    points = [polar((0, 0), draw(tenths(25, 80)), angle) for angle in angles]
    corner = draw(tenths(0.5, 4))
    try:
        return polygon_loop(points, corner).moved(Pose(draw(tenths(-200, 200)), 0.0, draw(st.floats(0, 6)))), corner
    except GeometryError:  # a rounding that does not fit
        assume(False)
        raise


@st.composite
def straights(draw: st.DrawFn) -> Straight:
    angle = math.radians(draw(tenths(-180, 180)))
    return Straight((math.cos(angle), math.sin(angle)), draw(tenths(0, 12)), draw(tenths(1, 25)))


@st.composite
def swings(draw: st.DrawFn) -> Swing:
    about = (draw(tenths(-300, 300)), draw(tenths(-300, 300)))
    return Swing(
        about, math.radians(draw(tenths(0, 4))), math.radians(draw(tenths(0.5, 6))), draw(st.sampled_from([1, -1]))
    )


def at_positions(shape: Loop, travel: Straight | Swing) -> list[Polygon]:
    """The shape at so many positions that none between stands out by more than some hundredths of a mm."""
    whole = shape.polygon(FINE)
    run = travel.install + travel.tension
    shares = [k / 60 for k in range(61)]
    positions = [-travel.install + share * run for share in shares]
    if isinstance(travel, Straight):
        (x, y) = travel.direction
        return [translate(whole, s * x, s * y) for s in positions]
    return [rotate(whole, travel.sense * s, origin=travel.about, use_radians=True) for s in positions]


@settings(max_examples=60)
@given(made=st.one_of(rectangles(), polygons()), travel=st.one_of(straights(), swings()), room=tenths(0.3, 6))
def test_grown_as_another_library_grows_it(made: tuple[Loop, float], travel: Straight | Swing, room: float) -> None:
    shape, corner = made
    swept = sweep(shape, travel)
    grown = swept.grown(room)
    assert isinstance(grown, Loop)
    covered = Polygon(unary_union([place.buffer(room, quad_segs=64) for place in at_positions(shape, travel)]).exterior)
    ours = grown.polygon(FINE)
    # positions are a step apart, and a pocket that growing closes is filled
    assert covered.difference(ours.buffer(0.02)).area == pytest.approx(0, abs=1e-6)
    assert ours.difference(covered.buffer(0.5)).area == pytest.approx(0, abs=1e-6)
    # a corner of the shape is the tightest place of what it covers: growing must not meet a sharper one
    tightest = min((radius for _, radius in grown.outside_corners()), default=math.inf)
    if isinstance(swept, Loop) and swept.is_convex:
        assert tightest >= corner + room - 1e-6


@settings(max_examples=60)
@given(made=rectangles(), travel=straights())
def test_the_hull_of_two_places_has_no_corner_of_its_own(made: tuple[Loop, float], travel: Straight) -> None:
    shape, corner = made
    (x, y) = travel.direction
    far = shape.moved(Pose(x * travel.tension, y * travel.tension))
    outline = hull([shape, far])
    assert isinstance(outline, Loop)
    assert outline.is_convex
    assert all(radius == pytest.approx(corner, abs=1e-6) for _, radius in outline.outside_corners())


def test_a_swing_that_nearly_slides_along_a_rounding() -> None:
    """Edges of some thousandths of a mm meet others almost along them; the moved ones still close."""
    made = rectangle(20.24, 30.78, 4.45).moved(Pose(475.931, 4.222, math.radians(-95.425)))
    shape = made.moved(Pose(205.98, -124.777, math.radians(336.808), mirrored=True))
    travel = Swing((205.9792161936786, -79.15064049822024), math.radians(2.548), math.radians(2.916), 1)
    swept = sweep(shape, travel)
    grown = swept.grown(1.79)
    assert grown.area > swept.loop().area


@settings(max_examples=80)
@given(
    one=st.one_of(rectangles(), polygons()),
    other=st.one_of(rectangles(), polygons()),
    off=st.tuples(tenths(-90, 90), tenths(-90, 90)),
    reach=tenths(-30, 30),
)
def test_within_reach_is_what_the_distance_says(
    one: tuple[Loop, float], other: tuple[Loop, float], off: tuple[float, float], reach: float
) -> None:
    a, b = one[0], other[0]
    (x, y), (u, v) = a.box.center, b.box.center
    b = b.moved(Pose(x - u + off[0], y - v + off[1]))  # beside each other, across, one in the other
    assert within_reach(a, b, reach) == (distance(a, b).distance < reach)

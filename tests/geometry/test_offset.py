"""Outlines moved out and in: by formula, and against discs and strips put together by shapely."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from platekit.errors import GeometryError
from platekit.geometry import Arc, CurvedSlot, Disc, Loop, Pose, Shape, Slot, loop_of, polygon_loop, rectangle

L_SHAPE = polygon_loop([(0, 0), (30, 0), (30, 8), (9, 8), (9, 25), (0, 25)])
DUMBBELL = polygon_loop(
    [(0, 0), (10, 0), (10, 4), (20, 4), (20, 0), (30, 0), (30, 10), (20, 10), (20, 6), (10, 6), (10, 10), (0, 10)]
)


def strip_reference(loop: Loop, d: float, chord: float) -> shapely.Geometry:
    """Growing and shrinking by covering the outline with strips `|d|` to either side, one for each of its chords."""
    body = loop.polygon(chord)
    around = list(body.exterior.coords)
    steps = math.ceil(math.pi / 4 / math.sqrt(2 * chord / abs(d)))
    strips = [shapely.LineString(pair).buffer(abs(d), quad_segs=steps) for pair in pairwise(around)]
    joined = shapely.union_all(strips, grid_size=1e-9)
    if d < 0:
        return body.difference(joined)
    return shapely.Polygon(shapely.union_all([body, joined], grid_size=1e-9).exterior)


@pytest.mark.parametrize("d", [0.5, 3.0, 40.0])
def test_growing_a_convex_shape_follows_steiner(d: float) -> None:
    for loop in (
        rectangle(40, 20),
        rectangle(40, 20, 3, turn=0.4),
        Disc((1, 1), 6).loop(),
        Slot((0, 0), (9, 5), 2).loop(),
    ):
        grown = loop.grown(d)
        # area + perimeter d + pi d2, perimeter + 2 pi d (Steiner)
        assert grown.area == pytest.approx(loop.area + loop.perimeter * d + math.pi * d * d, rel=1e-9)
        assert grown.perimeter == pytest.approx(loop.perimeter + 2 * math.pi * d, rel=1e-9)
        assert grown.is_convex


def test_outside_corners_get_arcs_about_the_old_corner() -> None:
    grown = rectangle(40, 20).grown(3)
    arcs = [edge for edge in grown.edges if isinstance(edge, Arc)]
    assert sorted(edge.center for edge in arcs) == [(-20, -10), (-20, 10), (20, -10), (20, 10)]
    assert all(edge.radius == pytest.approx(3) for edge in arcs)
    assert len(grown.edges) == 8


def test_inside_corners_stay_sharp_when_growing_and_round_off_when_shrinking() -> None:
    assert L_SHAPE.grown(2).inside_corners() == [((pytest.approx(11), pytest.approx(10)), 0.0)]
    assert L_SHAPE.grown(-2).inside_corners() == [
        (pytest.approx((9 - math.sqrt(2), 8 - math.sqrt(2))), pytest.approx(2))
    ]
    # a strip along the outline, less a square at each outside corner, plus a quarter circle at the inside one
    lost = L_SHAPE.perimeter * 2 - 5 * 4 + math.pi
    assert L_SHAPE.grown(-2).area == pytest.approx(L_SHAPE.area - lost)


def test_rounding_vanishes_when_taken_in_past_its_radius() -> None:
    rounded = rectangle(40, 20, 4)
    assert rounded.grown(-1).area == pytest.approx(38 * 18 - (4 - math.pi) * 9)
    square = rounded.grown(-4)
    assert [v[:2] for v in square.vertices] == [pytest.approx(v[:2]) for v in rectangle(32, 12).vertices]
    assert rounded.grown(-5).area == pytest.approx(30 * 10)


def test_hollow_arc_vanishes_when_grown_past_its_radius() -> None:
    hollow = loop_of([(-20, -20, 0), (20, -20, 0), (20, 20, 0), (6, 20, -1.0), (-6, 20, 0), (-20, 20, 0)])
    assert min(radius for _, radius in hollow.grown(5).inside_corners()) == pytest.approx(1.0)
    assert min(radius for _, radius in hollow.grown(7).inside_corners()) == pytest.approx(0.0)
    assert hollow.grown(5).area == pytest.approx(strip_reference(hollow, 5, 1e-3).area, abs=0.2)


def test_falling_apart_is_said_and_every_part_can_be_had() -> None:
    parts = DUMBBELL.grown_all(-1.5)
    assert len(parts) == 2
    # squares of 7 mm, each with a bump towards the neck: between arcs of 1.5 mm about the two corners of the neck
    bump = 2 * (1.5 - (0.5 * math.sqrt(1.25) + 1.125 * math.asin(1 / 1.5)))
    assert all(part.area == pytest.approx(49 + bump) for part in parts)
    assert {round(part.box.x0, 9) for part in parts} == {1.5, round(20 + math.sqrt(1.25), 9)}
    with pytest.raises(GeometryError, match=r"taken in by 1.5 mm: it falls into 2 pieces; take it in by less"):
        DUMBBELL.grown(-1.5)


@pytest.mark.parametrize(
    ("body", "d"),
    [
        (rectangle(40, 20), -10),
        (rectangle(40, 20), -11),
        (rectangle(40, 20, 10), -10),
        (DUMBBELL, -5),
        (Disc((0, 0), 3), -3),
        (Slot((0, 0), (9, 9), 3), -3.5),
        (CurvedSlot((0, 0), 20, 0, 1, 3), -3),
        (CurvedSlot((0, 0), 4, 0, 1, 6), -9),
    ],
)
def test_nothing_left(body: Shape, d: float) -> None:
    with pytest.raises(GeometryError, match="nothing is left; take it in by less"):
        body.grown(d)


def test_growing_by_nothing_gives_the_shape_back(shape: Shape) -> None:
    assert shape.grown(0.0) == shape


def test_a_pocket_that_closes_is_filled() -> None:
    pocket = polygon_loop(
        [(0, 0), (20, 0), (20, 20), (11, 20), (11, 14), (15, 14), (15, 5), (5, 5), (5, 14), (9, 14), (9, 20), (0, 20)]
    )
    grown = pocket.grown(1.2)
    assert grown.contains((10, 10))
    assert grown.area == pytest.approx(400 + 80 * 1.2 + math.pi * 1.44, abs=1)


def test_zoo_grows_as_strips_do(shape: Shape) -> None:
    for d in (0.3, 11.0):
        grown = shape.grown(d).loop()
        expected = strip_reference(shape.loop(), d, 3e-3)
        assert grown.area == pytest.approx(expected.area, abs=6e-3 * expected.length)
        assert grown.box == pytest.approx(shape.box.grown(d), abs=1e-9)


def test_zoo_shrinks_as_strips_do(shape: Shape) -> None:
    for d in (0.4, 3.2):
        left = shape.loop().grown_all(-d)
        expected = strip_reference(shape.loop(), -d, 3e-3)
        assert sum(part.area for part in left) == pytest.approx(expected.area, abs=6e-3 * shape.perimeter)


@given(st.data(), st.floats(-6, 15))
def test_every_point_of_the_new_edge_is_just_that_far_from_the_old(
    any_loop: st.SearchStrategy[Loop], data: st.DataObject, d: float
) -> None:
    loop = data.draw(any_loop)
    if abs(d) < 1e-3:
        return
    for part in loop.grown_all(d):
        for edge in part.edges:
            for place in (0.0, 0.3, 0.5, 0.8):
                near = loop.depth(edge.at(place))
                assert near.distance == pytest.approx(-d, abs=2e-6)


@given(st.data(), st.floats(0.05, 6))
def test_nothing_is_lost_by_shrinking(any_loop: st.SearchStrategy[Loop], data: st.DataObject, d: float) -> None:
    loop = data.draw(any_loop)
    left = loop.grown_all(-d)
    box = loop.box
    for i in range(12):
        for j in range(12):
            p = (box.x0 + (i + 0.5) * box.width / 12, box.y0 + (j + 0.5) * box.height / 12)
            depth = loop.depth(p).distance
            if abs(depth - d) > 1e-6:
                assert any(part.contains(p) for part in left) == (depth > d)


@given(st.data())
def test_offsets_do_not_depend_on_where_the_shape_lies(
    any_loop: st.SearchStrategy[Loop], any_pose: st.SearchStrategy[Pose], data: st.DataObject
) -> None:
    loop, pose = data.draw(any_loop), data.draw(any_pose)
    assert loop.moved(pose).grown(2).area == pytest.approx(loop.grown(2).area, rel=1e-7)


@given(st.data(), st.floats(0.1, 3), st.floats(0.1, 3))
def test_growing_twice_is_growing_once(
    any_shape: st.SearchStrategy[Shape], data: st.DataObject, d: float, e: float
) -> None:
    shape = data.draw(any_shape)
    assert shape.grown(d).grown(e).area == pytest.approx(shape.grown(d + e).area, rel=1e-7)

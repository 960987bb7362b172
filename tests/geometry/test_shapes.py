"""What all shapes measure, hold and keep when moved: closed forms, and shapely at shrinking chords."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from platekit.errors import GeometryError
from platekit.geometry import (
    CurvedSlot,
    Disc,
    Loop,
    Pose,
    Shape,
    Slot,
    curved_slot,
    disc_loop,
    loop_of,
    rectangle,
    slot,
)

EdgePoints = Callable[[Shape, int], list[tuple[float, float]]]


def test_disc_by_formula() -> None:
    disc = Disc((3, 4), 5)
    assert disc.area == pytest.approx(25 * math.pi, rel=1e-15)
    assert disc.perimeter == pytest.approx(10 * math.pi, rel=1e-15)
    assert (disc.centroid, disc.box, disc.diameter) == ((3, 4), (-2, -1, 8, 9), 10)


def test_slot_by_formula() -> None:
    obround = Slot((0, 0), (30, 40), 6)
    assert obround.area == pytest.approx(36 * math.pi + 12 * 50, rel=1e-15)
    assert obround.perimeter == pytest.approx(12 * math.pi + 100, rel=1e-15)
    assert (obround.centroid, obround.box) == ((15, 20), (-6, -6, 36, 46))


def test_curved_slot_by_formula() -> None:
    bent = CurvedSlot((1, 2), 50, 0.3, 1.2, 4)
    # Pappus: width times length of the middle line, and two half discs
    assert bent.area == pytest.approx(8 * 50 * 1.2 + 16 * math.pi, rel=1e-12)
    assert bent.perimeter == pytest.approx(2 * 50 * 1.2 + 8 * math.pi, rel=1e-12)


def test_quarter_disc_by_formula() -> None:
    quarter = loop_of([(0, 0, 0), (9, 0, math.tan(math.pi / 8)), (0, 9, 0)])
    assert quarter.area == pytest.approx(81 * math.pi / 4, rel=1e-12)
    # 4 r / 3 pi from either side (handbooks of plane figures)
    assert quarter.centroid == pytest.approx((4 * 9 / (3 * math.pi),) * 2, rel=1e-12)
    assert quarter.perimeter == pytest.approx(18 + 9 * math.pi / 2, rel=1e-12)


def test_half_disc_box_is_exact() -> None:
    half = loop_of([(0, -7, 1.0), (0, 7, 0.0)])
    assert half.box == pytest.approx((0, -7, 7, 7), abs=1e-12)
    assert half.centroid == pytest.approx((4 * 7 / (3 * math.pi), 0), abs=1e-12)


def test_flat_arc_keeps_its_digits() -> None:
    # a rise of 2 microns over 100 mm: the segment's area is 2/3 of chord times sagitta
    flat = loop_of([(0, 0, 4e-5), (100, 0, 0), (100, 10, 0), (0, 10, 0)])
    assert flat.area - 1000 == pytest.approx(2 / 3 * 100 * 2e-3, rel=1e-6)


def test_area_perimeter_and_centroid_meet_shapely_at_the_rate_of_the_chords(shape: Shape) -> None:
    errors = []
    for chord in (0.004, 0.001, 0.00025):
        polygon = shape.polygon(chord)
        errors.append(polygon.area - shape.area)
        assert polygon.length == pytest.approx(shape.perimeter, abs=20 * chord * len(shape.loop().edges) + 1e-9)
        reach = chord * shape.perimeter * max(shape.box.width, shape.box.height) / shape.area
        assert math.dist((polygon.centroid.x, polygon.centroid.y), shape.centroid) <= reach + 1e-7
    assert all(error >= -1e-7 for error in errors)
    curved = any(edge.bulge for edge in shape.loop().edges)
    if curved and shape.box.width > 1:
        # the gap between arc and chord covers an area in proportion to the chord error
        assert errors[0] / errors[1] == pytest.approx(4, rel=0.5)
        assert errors[1] / errors[2] == pytest.approx(4, rel=0.5)
    elif not curved:
        assert errors == pytest.approx([0, 0, 0], abs=1e-9)


def test_polygons_are_on_the_safe_side(shape: Shape, edge_points: EdgePoints) -> None:
    outer, inner = shape.polygon(0.01, outside=True), shape.polygon(0.01, outside=False)
    assert outer.is_valid
    assert inner.is_valid
    tiny = 1e-9 * (1 + max(map(abs, shape.box)))
    for p in edge_points(shape, 37):
        point = shapely.Point(p)
        assert outer.distance(point) <= tiny
        assert outer.exterior.distance(point) <= 0.0101
        assert not inner.buffer(-tiny).contains(point)


def test_box_is_exact(shape: Shape, edge_points: EdgePoints) -> None:
    xs, ys = zip(*edge_points(shape, 3000), strict=True)
    sampled = (min(xs), min(ys), max(xs), max(ys))
    assert shape.box == pytest.approx(sampled, abs=1e-4)
    assert shape.box.x0 <= sampled[0] + 1e-9
    assert shape.box.y1 >= sampled[3] - 1e-9


def test_outline_is_in_the_shape_and_a_step_outside_is_not(shape: Shape) -> None:
    step = min(1e-3, shape.area / shape.perimeter)
    for edge in shape.loop().edges:
        for place in (0.0, 0.13, 0.5, 0.91):
            p = edge.at(place)
            assert shape.contains(p)
        (x, y), (ux, uy) = edge.at(0.41), edge.direction(0.41)
        assert shape.contains((x - step * uy, y + step * ux))
        assert not shape.contains((x + step * uy, y - step * ux))


@given(st.data())
def test_contains_as_shapely_does(
    any_shape: st.SearchStrategy[Shape], any_point: st.SearchStrategy[tuple[float, float]], data: st.DataObject
) -> None:
    shape, p = data.draw(any_shape), data.draw(any_point)
    polygon = shape.polygon(0.001)
    if polygon.exterior.distance(shapely.Point(p)) > 0.002:
        assert shape.contains(p) == polygon.contains(shapely.Point(p))
        assert (shape.loop().depth(p).distance > 0) == shape.contains(p)
    assert shape.loop().nearest(p).distance == pytest.approx(polygon.exterior.distance(shapely.Point(p)), abs=0.0021)


def test_points_level_with_vertices_and_chords() -> None:
    # the even-odd ray runs through vertices and along chords; symmetric placing makes every tie happen
    lens = disc_loop(Disc((0, 0), 5))
    grid = [(x / 2, y / 2) for x in range(-12, 13) for y in range(-12, 13)]
    for turn in range(8):
        moved = lens.moved(Pose(0, 0, turn * math.pi / 4))
        assert all(moved.contains(p) == (math.hypot(*p) <= 5 + 1e-9) for p in grid)
    diamond = loop_of([(5, 0, 0), (0, 5, 0), (-5, 0, 0), (0, -5, 0)])
    assert all(diamond.contains((x, y)) == (abs(x) + abs(y) <= 5) for x, y in grid)


def test_moving_changes_no_size_and_moves_every_point(shape: Shape) -> None:
    for pose in (Pose(30, -7, 1.9), Pose(-4, 12, -0.4, mirrored=True)):
        moved = shape.moved(pose)
        assert type(moved) is type(shape)
        assert moved.area == pytest.approx(shape.area, rel=1e-9)
        assert moved.perimeter == pytest.approx(shape.perimeter, rel=1e-9)
        assert moved.centroid == pytest.approx(pose.point(shape.centroid), abs=1e-6)
        for edge in shape.loop().edges:
            assert moved.loop().nearest(pose.point(edge.at(0.3))).distance < 1e-9
            assert moved.contains(pose.point(edge.at(0.3)))


def test_mirroring_twice_gives_the_shape_back(shape: Shape) -> None:
    twice = shape.moved(Pose(mirrored=True)).moved(Pose(mirrored=True))
    for edge in shape.loop().edges:
        assert twice.loop().nearest(edge.at(0.3)).distance < 1e-9
    assert twice.area == pytest.approx(shape.area, rel=1e-12)


def test_every_outline_runs_counter_clockwise_and_closes(shape: Shape) -> None:
    loop = shape.loop()
    assert loop.area > 0
    edges = loop.edges
    for before, after in zip(edges, (*edges[1:], edges[0]), strict=True):
        assert before.b == after.a
        assert before.length > 1e-9


def test_an_island_that_drops_out_belongs_to_the_slot() -> None:
    shut = CurvedSlot((0, 0), 20, 0.3, 6.1, 4)
    assert shut.contains((0, 0))
    outside = Disc((0, 0), 24).area - shut.area
    assert 0 < outside < 30
    assert not CurvedSlot((0, 0), 20, 0.3, 5.0, 4).contains((0, 0))


def test_slots_without_length_are_discs() -> None:
    assert slot((1, 2), (1, 2), 3) == Disc((1, 2), 3)
    assert curved_slot((0, 0), 10, 0.0, 0.0, 3) == Disc((10, 0), 3)
    assert curved_slot((0, 0), 10, 1.0, 7.0, 3) == Disc((0, 0), 13)
    assert curved_slot((0, 0), 10, 1.0, -0.5, 3) == CurvedSlot((0, 0), 10, 0.5, 0.5, 3)


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: Disc((0, 0), 0), "radius of a circle must be above zero; found 0"),
        (lambda: Disc((0, 0), math.nan), "radius of a circle must be above zero"),
        (lambda: Slot((0, 0), (1, 0), -2), "half width of a slot must be above zero; found -2"),
        (lambda: CurvedSlot((0, 0), 10, 0, 7, 1), "more than 0 and less than 360 degrees; found 401"),
        (lambda: CurvedSlot((0, 0), 0, 0, 1, 1), "middle of a curved slot must be above zero"),
        (lambda: rectangle(0, 5), "sides above zero; found 0 by 5"),
    ],
)
def test_shapes_that_do_not_exist(make: Callable[[], Shape], message: str) -> None:
    with pytest.raises(GeometryError, match=message):
        make()


def test_curved_slot_keeps_its_shape_when_mirrored() -> None:
    bent = CurvedSlot((10, 0), 50, 0.3, 1.2, 4)
    mirrored = bent.moved(Pose(mirrored=True))
    assert isinstance(mirrored, CurvedSlot)
    assert mirrored.center == pytest.approx((-10, 0))
    assert sorted(mirrored.ends) == [pytest.approx((-x, y)) for x, y in sorted(bent.ends, reverse=True)]
    assert mirrored.contains((-10 - 50 * math.cos(0.9), 50 * math.sin(0.9)))


def test_loops_equal_the_shapes_that_they_outline(shape: Shape) -> None:
    loop = shape.loop()
    assert isinstance(loop, Loop)
    assert loop.area == pytest.approx(shape.area, rel=1e-9)
    assert loop.perimeter == pytest.approx(shape.perimeter, rel=1e-9)
    assert loop.centroid == pytest.approx(shape.centroid, abs=1e-6)
    assert loop.box == pytest.approx(shape.box, abs=1e-9)

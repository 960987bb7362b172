"""Distances between shapes, from openings to an outline, and covering: by hand, over the zoo, against shapely."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from platekit.geometry import (
    CurvedSlot,
    Disc,
    Loop,
    Pose,
    Shape,
    Slot,
    begin_between,
    covers,
    crosses,
    disc_loop,
    distance,
    edge_distance,
    intersection,
    loop_of,
    polygon_loop,
    rectangle,
)

CHORD = 0.002
Points = st.SearchStrategy[tuple[float, float]]
Shapes = st.SearchStrategy[Shape]

SQUARE = rectangle(20, 20)
HOLLOW = loop_of([(-20, -20, 0), (20, -20, 0), (20, 20, 0), (6, 20, -1.0), (-6, 20, 0), (-20, 20, 0)])


@pytest.mark.parametrize(
    ("a", "b", "expected", "on_a", "on_b"),
    [
        (Disc((0, 0), 3), Disc((10, 0), 2), 5, (3, 0), (8, 0)),
        (Disc((0, 0), 3), Slot((-5, 9), (5, 9), 2), 4, (0, 3), (0, 7)),
        (Disc((9, 9), 1), Slot((0, 0), (6, 5), 2), 2, (9 - 0.6, 9 - 0.8), (6 + 1.2, 5 + 1.6)),
        (Slot((0, 0), (10, 0), 1), Slot((4, 9), (4, 5), 2), 2, (4, 1), (4, 3)),
        (Slot((0, 0), (10, 0), 1), CurvedSlot((5, 20), 10, math.pi, math.pi, 2), 7, (5, 1), (5, 8)),
        (Disc((0, 0), 2), CurvedSlot((0, 0), 50, 0.0, 1.0, 4), 44, None, None),
        (Disc((60, 80), 2), CurvedSlot((0, 0), 50, 0.0, 1.5, 4), 44, (58.8, 78.4), (32.4, 43.2)),
        (CurvedSlot((0, 0), 10, 0, 1.5, 1), CurvedSlot((0, 0), 20, 1.0, 1.5, 2), 7, None, None),
        (Disc((15, 3), 2), SQUARE, 3, (13, 3), (10, 3)),
        (Disc((13, 14), 2), SQUARE, 3, (13 - 1.2, 14 - 1.6), (10, 10)),
        (Slot((20, 4), (16, 4), 1), SQUARE, 5, (15, 4), (10, 4)),
        (rectangle(4, 4, center=(17, 0), turn=math.pi / 4), SQUARE, 7 - 2 * math.sqrt(2), None, (10, 0)),
        (disc_loop(Disc((0, 30), 5)), SQUARE, 15, (0, 25), (0, 10)),
        (Disc((0, 23), 2), HOLLOW, math.hypot(6, 3) - 2, None, None),
    ],
)
def test_distances_worked_out_by_hand(
    a: Shape, b: Shape, expected: float, on_a: tuple[float, float] | None, on_b: tuple[float, float] | None
) -> None:
    gap, back = distance(a, b), distance(b, a)
    assert gap.distance == pytest.approx(expected, abs=1e-9)
    assert back.distance == pytest.approx(expected, abs=1e-9)
    if on_a is not None:
        assert (gap.a, back.b) == (pytest.approx(on_a, abs=1e-9), pytest.approx(on_a, abs=1e-9))
    if on_b is not None:
        assert (gap.b, back.a) == (pytest.approx(on_b, abs=1e-9), pytest.approx(on_b, abs=1e-9))


@pytest.mark.parametrize(
    ("a", "b"),
    [
        (Disc((0, 0), 3), Disc((3, 4), 2)),
        (Disc((0, 0), 3), Slot((-9, 5), (9, 5), 2)),
        (Slot((0, 0), (10, 0), 1), Slot((4, 9), (4, 3), 2)),
        (Slot((0, 0), (10, 0), 1), CurvedSlot((5, 13), 10, math.pi, math.pi, 2)),
        (CurvedSlot((0, 0), 10, 0, 1.5, 1), CurvedSlot((0, 0), 13, 1.0, 1.5, 2)),
        (Disc((12, 3), 2), SQUARE),
        (Disc((10 + 1.2, 10 + 1.6), 2), SQUARE),
        (Slot((20, 4), (11, 4), 1), SQUARE),
        (rectangle(20, 6, center=(20, 0)), SQUARE),
        (disc_loop(Disc((0, 15), 5)), SQUARE),
        (disc_loop(Disc((0, 0), 5)), disc_loop(Disc((6, 8), 5))),
    ],
)
def test_touching_is_neither_apart_nor_overlapping(a: Shape, b: Shape) -> None:
    assert distance(a, b).distance == pytest.approx(0, abs=1e-9)
    assert not crosses(a, b)
    (ax, ay), (bx, by) = a.centroid, b.centroid
    nearer = b.moved(Pose(1e-6 * (ax - bx), 1e-6 * (ay - by)))
    assert crosses(a, nearer)


@pytest.mark.parametrize(
    ("a", "b", "at_least"),
    [
        (Disc((0, 0), 5), Disc((6, 0), 2), 1),
        (Disc((0, 0), 5), Disc((0, 0), 2), 7),
        (Disc((9, 0), 2), SQUARE, 3),
        (Disc((0, 0), 2), SQUARE, 12),
        (Slot((-30, 0), (30, 0), 1), SQUARE, 1),
        (rectangle(100, 1), SQUARE, 0.4),
        (rectangle(4, 4), SQUARE, 1),
        (SQUARE, SQUARE, 9),
        (SQUARE, rectangle(20, 20, center=(20 - 1e-3, 0)), 0.4e-3),
    ],
)
def test_overlap_is_negative(a: Shape, b: Shape, at_least: float) -> None:
    assert distance(a, b).distance <= -at_least + 1e-9
    assert distance(b, a).distance <= -at_least + 1e-9
    assert crosses(a, b)


def test_zoo_against_shapely(one: Shape, other: Shape) -> None:
    for pose in (Pose(33, 21, 0.9), Pose(-12, 3, 2.0, mirrored=True)):
        check_distance(one, other.moved(pose))
        check_edge_distance(one, other.moved(pose))


@settings(max_examples=60)
@given(st.data())
def test_any_two_shapes_against_shapely(any_shape: Shapes, data: st.DataObject) -> None:
    a, b = data.draw(any_shape), data.draw(any_shape)
    check_distance(a, b)
    check_edge_distance(a, b)


def check_distance(a: Shape, b: Shape) -> None:
    gap = distance(a, b)
    outer_a, outer_b = a.polygon(CHORD), b.polygon(CHORD)
    assert max(gap.distance, 0) == pytest.approx(outer_a.distance(outer_b), abs=4.5 * CHORD)
    assert distance(b, a).distance == pytest.approx(gap.distance, abs=1e-7)
    if gap.distance > 0:
        assert math.dist(gap.a, gap.b) == pytest.approx(gap.distance, abs=1e-9)
        assert a.loop().nearest(gap.a).distance < 1e-8
        assert b.loop().nearest(gap.b).distance < 1e-8
    inner_a, inner_b = a.polygon(CHORD, outside=False), b.polygon(CHORD, outside=False)
    if inner_a.buffer(-1e-6).intersects(inner_b.buffer(-1e-6)):
        assert crosses(a, b)
    elif not outer_a.intersects(outer_b):
        assert not crosses(a, b)


def check_edge_distance(inner: Shape, outline: Shape) -> None:
    gap = edge_distance(inner, outline)
    apart = inner.polygon(CHORD).exterior.distance(outline.polygon(CHORD).exterior)
    if gap.distance > 1e-6:
        assert outline.polygon(CHORD).covers(inner.polygon(CHORD, outside=False))
        assert gap.distance == pytest.approx(apart, abs=4.5 * CHORD)
    elif gap.distance < -4 * CHORD:
        assert not outline.polygon(CHORD, outside=False).buffer(-2 * CHORD).covers(inner.polygon(CHORD))
    assert outline.loop().nearest(gap.b).distance < 1e-8
    if abs(gap.distance) > 1e-6 and isinstance(inner, (Disc, Slot)) and outline.loop().is_convex:
        assert outline.loop().depth(gap.a).distance == pytest.approx(gap.distance, abs=1e-6)
        assert inner.loop().nearest(gap.a).distance < 1e-8


@given(st.data())
def test_moving_both_changes_no_distance(
    any_shape: Shapes, any_pose: st.SearchStrategy[Pose], data: st.DataObject
) -> None:
    a, b, pose = data.draw(any_shape), data.draw(any_shape), data.draw(any_pose)
    before, after = distance(a, b), distance(a.moved(pose), b.moved(pose))
    if abs(before.distance) > 1e-6:
        assert (before.distance > 0) == (after.distance > 0)
    if before.distance > 0:
        assert after.distance == pytest.approx(before.distance, abs=1e-7)


@given(st.data())
def test_growing_both_takes_the_growth_off_the_distance(
    any_shape: Shapes, any_disc: Shapes, data: st.DataObject
) -> None:
    shape, disc = data.draw(any_shape), data.draw(any_disc)
    apart = distance(shape, disc).distance
    assume(apart > 0.2)
    assert distance(shape.grown(0.05), disc.grown(0.1)).distance == pytest.approx(apart - 0.15, abs=1e-7)


@pytest.mark.parametrize(
    ("inner", "outline", "expected", "on_inner", "on_outline"),
    [
        (Disc((3, 0), 1), Disc((0, 0), 10), 6, (4, 0), (10, 0)),
        (Disc((6, 1), 1), SQUARE, 3, (7, 1), (10, 1)),
        (Disc((10, 1), 2), SQUARE, -2, (12, 1), (10, 1)),
        (Disc((14, 1), 2), SQUARE, -6, (16, 1), (10, 1)),
        (Slot((-5, 2), (5, 2), 2), SQUARE, 3, None, None),
        (Slot((-5, 2), (9, 2), 2), SQUARE, -1, (11, 2), (10, 2)),
        (CurvedSlot((0, 0), 6, 0, math.pi, 1), SQUARE, 3, None, None),
        (rectangle(4, 2, center=(5, 0)), SQUARE, 3, None, None),
        (rectangle(4, 2, center=(10, 0)), SQUARE, -2, None, None),
        (rectangle(40, 40, center=(1, 1)), SQUARE, -11 * math.sqrt(2), (21, 21), (10, 10)),
        (SQUARE, SQUARE, 0, None, None),
        (Disc((0, 12), 1), HOLLOW, 1, (0, 13), (0, 14)),
        (Slot((-10, 12), (10, 12), 1), HOLLOW, 1, (0, 13), (0, 14)),
    ],
)
def test_edge_distances_worked_out_by_hand(
    inner: Shape,
    outline: Shape,
    expected: float,
    on_inner: tuple[float, float] | None,
    on_outline: tuple[float, float] | None,
) -> None:
    gap = edge_distance(inner, outline)
    assert gap.distance == pytest.approx(expected, abs=1e-9)
    if on_inner is not None:
        assert gap.a == pytest.approx(on_inner, abs=1e-9)
    if on_outline is not None:
        assert gap.b == pytest.approx(on_outline, abs=1e-9)


def test_a_slot_that_leaves_by_one_side_and_comes_back_pokes_out() -> None:
    bent = CurvedSlot((0, 0), 11, -0.8, 1.6, 0.5)
    assert SQUARE.contains(bent.ends[0]) == SQUARE.contains(bent.ends[1])
    assert edge_distance(bent, SQUARE).distance == pytest.approx(-1.5)


@pytest.mark.parametrize(
    ("outer", "inner", "margin", "answer"),
    [
        (Disc((0, 0), 10), Disc((5, 0), 3), 2, True),
        (Disc((0, 0), 10), Disc((5, 0), 3), 2.001, False),
        (SQUARE, Slot((-5, 0), (5, 0), 2), 3, True),
        (SQUARE, Slot((-5, 0), (5, 0), 2), 3.001, False),
        (SQUARE, SQUARE, 0, True),
        (SQUARE, rectangle(20, 10, center=(0, 5)), 0, True),
        (rectangle(20, 10, center=(0, 5)), SQUARE, 0, False),
        (CurvedSlot((0, 0), 30, 0, 2, 6), CurvedSlot((0, 0), 30, 0.5, 1, 4), 2, True),
        (CurvedSlot((0, 0), 30, 0, 2, 6), Disc((0, 0), 4), 0, False),
        (polygon_loop([(0, 0), (9, 0), (9, 9), (6, 9), (6, 3), (0, 3)]), rectangle(2, 2, center=(3, 6)), 0, False),
    ],
)
def test_covers(outer: Shape, inner: Shape, margin: float, answer: bool) -> None:
    assert covers(outer, inner, margin) is answer


def test_every_shape_covers_itself(shape: Shape) -> None:
    for pose in (Pose(), Pose(3, 4, 1.0, mirrored=True)):
        assert covers(shape.moved(pose), shape.moved(pose))
        assert not covers(shape.moved(pose), shape.moved(pose), margin=1e-3)
        assert crosses(shape, shape)


@given(st.data())
def test_a_grown_shape_covers_with_just_that_margin(any_loop: st.SearchStrategy[Loop], data: st.DataObject) -> None:
    loop = data.draw(any_loop)
    assert covers(loop.grown(1.5), loop, 1.5)
    assert not covers(loop.grown(1.5), loop, 1.5001)


@given(st.data())
def test_covering_is_having_no_edge_distance_below_the_margin(
    any_loop: st.SearchStrategy[Loop], any_pose: st.SearchStrategy[Pose], data: st.DataObject
) -> None:
    outer, inner = data.draw(any_loop), data.draw(any_loop).moved(data.draw(any_pose))
    for one, other, margin in ((outer, inner, 0.0), (outer.grown(3), inner, -1e-6), (outer, outer.moved(Pose(1)), -1)):
        stands_in = edge_distance(other, one).distance
        assume(abs(stands_in - margin) > 1e-6)
        assert covers(one, other, margin) is (stands_in > margin)


@settings(max_examples=60)
@given(st.integers(0, 5), st.floats(-0.5, 1.5), st.floats(0.05, 1.5), st.floats(0, math.tau))
def test_where_a_shape_begins_between_two_heights_is_where_its_cut_with_a_strip_does(
    which: int, start: float, high: float, turn: float
) -> None:
    shapes: list[Shape] = [
        SQUARE,
        HOLLOW,
        Disc((3, 4), 9),
        Slot((-9, 0), (12, 5), 4),
        disc_loop(Disc((0, 0), 7)),
        HOLLOW,
    ]
    loop = shapes[which].loop().moved(Pose(5.0, -3.0, turn, which == 5))
    low = loop.box.y0 + start * loop.box.height
    top = low + high * loop.box.height
    found = begin_between(loop, low, top)
    strip = rectangle(1e3, top - low, center=(0.0, 0.5 * (low + top)))
    shared = min(top, loop.box.y1) - max(low, loop.box.y0)
    assume(abs(shared) > 0.01)  # of specks a cut is none
    cut = intersection(loop, strip)
    assert (found is None) == (shared < 0) == (not cut)
    if cut:
        assert found == pytest.approx(min(one.box.x0 for one in cut), abs=1e-6)

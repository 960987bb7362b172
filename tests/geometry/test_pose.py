from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platekit.geometry import Box, Pose, box_of, box_round

# no two distances alike, no symmetry: a mistake in order or sense shows in every coordinate
PATTERN = [(10.0, 0.0), (3.0, 17.0), (-8.0, 5.0)]


def near(points: list[tuple[float, float]]) -> list[object]:
    return [pytest.approx(p, abs=1e-9) for p in points]


def test_nothing_given_changes_nothing() -> None:
    assert [Pose().point(p) for p in PATTERN] == PATTERN


def test_turn_is_counter_clockwise_as_seen_with_y_up() -> None:
    pose = Pose(100, 50, math.radians(90))
    assert [pose.point(p) for p in PATTERN] == near([(100, 60), (83, 53), (95, 42)])


def test_mirror_comes_first_then_turn_then_move() -> None:
    pose = Pose(100, 50, math.radians(90), mirrored=True)
    assert [pose.point(p) for p in PATTERN] == near([(100, 40), (83, 47), (95, 58)])


def test_mirror_swaps_left_and_right_only() -> None:
    assert [Pose(mirrored=True).point(p) for p in PATTERN] == near([(-10, 0), (-3, 17), (8, 5)])


def test_a_mirrored_pattern_is_not_a_turned_one() -> None:
    def clockwise(points: list[tuple[float, float]]) -> bool:
        (ax, ay), (bx, by), (cx, cy) = points
        return (bx - ax) * (cy - ay) - (by - ay) * (cx - ax) < 0

    seen = clockwise(PATTERN)
    for degrees in range(0, 360, 30):
        turn = math.radians(degrees)
        assert clockwise([Pose(5, 6, turn).point(p) for p in PATTERN]) == seen
        assert clockwise([Pose(5, 6, turn, mirrored=True).point(p) for p in PATTERN]) != seen


@given(st.data())
def test_then_applies_the_inner_pose_first(any_pose: st.SearchStrategy[Pose], data: st.DataObject) -> None:
    inner, outer = data.draw(any_pose), data.draw(any_pose)
    for p in PATTERN:
        assert inner.then(outer).point(p) == pytest.approx(outer.point(inner.point(p)), abs=1e-9)


@given(st.data())
def test_inverse_takes_everything_back(any_pose: st.SearchStrategy[Pose], data: st.DataObject) -> None:
    pose = data.draw(any_pose)
    for p in PATTERN:
        assert pose.inverse().point(pose.point(p)) == pytest.approx(p, abs=1e-9)
        assert pose.then(pose.inverse()).point(p) == pytest.approx(p, abs=1e-9)


@given(st.data(), st.floats(-7, 7))
def test_angle_follows_vector(any_pose: st.SearchStrategy[Pose], data: st.DataObject, angle: float) -> None:
    pose = data.draw(any_pose)
    moved = pose.vector((math.cos(angle), math.sin(angle)))
    assert (math.cos(pose.angle(angle)), math.sin(pose.angle(angle))) == pytest.approx(moved, abs=1e-9)


@given(st.data())
def test_mirroring_twice_gives_it_back(any_point: st.SearchStrategy[tuple[float, float]], data: st.DataObject) -> None:
    p = data.draw(any_point)
    assert Pose(mirrored=True).then(Pose(mirrored=True)).point(p) == p


def test_boxes() -> None:
    box = box_of([(1, 5), (4, -2)])
    assert box == Box(1, -2, 4, 5)
    assert (box.width, box.height, box.center) == (3, 7, (2.5, 1.5))
    assert box_round([box, Box(9, 9, 10, 10)]) == Box(1, -2, 10, 10) == box.union(Box(9, 9, 10, 10))
    assert box.overlaps(Box(4, 5, 6, 6))
    assert not box.overlaps(Box(4.1, 5, 6, 6))
    assert box.gap(Box(7, 9, 8, 10)) == 5.0
    assert box.gap(Box(2, 2, 3, 3)) == 0.0

"""Distances over many poses at once, held against formulas and against the exact distance, pose by pose."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from platekit.geometry import (
    CHORD_ERROR,
    Disc,
    Pose,
    Shape,
    Straight,
    curved_slot,
    distance,
    edge_distance,
    polygon_loop,
    rectangle,
    slot,
    sweep,
)
from platekit.geometry.poses import Poses, core_of, gaps, insets, poses

lengths = st.floats(-60, 60, allow_nan=False).map(lambda x: round(x, 3))
sizes = st.floats(1, 20, allow_nan=False).map(lambda x: round(x, 3))
turns = st.floats(-3.2, 3.2, allow_nan=False)
points = st.tuples(lengths, lengths)
discs = st.builds(Disc, points, sizes)
slots = st.builds(slot, points, points, sizes)
bent = st.builds(
    lambda c, r, a, s, w: curved_slot(c, r, a, s, w), points, st.floats(25, 60), turns, st.floats(0.2, 2.5), sizes
)
boxes = st.builds(lambda w, h, c, t: rectangle(w + 5, h + 5, 2.0, c, t), sizes, sizes, points, turns)
ELL = [(0, 0), (50, 0), (50, 18), (18, 18), (18, 40), (0, 40)]
ells = st.builds(
    lambda c, t, r: polygon_loop(ELL, r).moved(Pose(c[0], c[1], t)),
    points,
    turns,
    st.sampled_from([0.0, 4.0]),
)
round_ones = discs | slots
shapes = round_ones | bent | boxes | ells


def one_pose(pose: Pose, travel: Straight | None) -> Poses:
    low = high = None
    if travel is not None:
        run = np.array([travel.direction])
        low, high = -travel.install * run, travel.tension * run
    return poses(np.array([[pose.x, pose.y]]), np.array([pose.turn]), pose.mirrored, low, high)


travels = st.none() | st.builds(
    lambda angle, install, tension: Straight((math.cos(angle), math.sin(angle)), install, tension),
    turns,
    st.floats(0, 30),
    st.floats(0.5, 30),
)
places = st.builds(Pose, lengths, lengths, turns, st.booleans())


@settings(max_examples=300)
@given(round_ones, places, travels, round_ones)
def test_round_shapes_agree_with_the_exact_distance(
    own: Shape, pose: Pose, travel: Straight | None, fixed: Shape
) -> None:
    found = float(gaps(core_of(own), one_pose(pose, travel), core_of(fixed))[0])
    true = distance(sweep(own.moved(pose), travel), fixed).distance
    if true > 0 or found > 0:
        assert found == pytest.approx(true, abs=1e-7)
    else:
        assert found <= 1e-9


@settings(max_examples=300)
@given(shapes, places, travels, shapes)
def test_any_shape_is_never_too_far_and_nearly_exact(
    own: Shape, pose: Pose, travel: Straight | None, fixed: Shape
) -> None:
    found = float(gaps(core_of(own), one_pose(pose, travel), core_of(fixed))[0])
    true = distance(sweep(own.moved(pose), travel), fixed).distance
    if true > 1e-6:
        assert true - 4 * CHORD_ERROR <= found <= true + 1e-7
    else:
        assert found <= 1e-6


@settings(max_examples=100)
@given(shapes, places, shapes, st.floats(0, 40))
def test_far_ones_are_only_said_to_be_far(own: Shape, pose: Pose, fixed: Shape, far: float) -> None:
    exact = float(gaps(core_of(own), one_pose(pose, None), core_of(fixed))[0])
    quick = float(gaps(core_of(own), one_pose(pose, None), core_of(fixed), far)[0])
    assert quick == exact or far < quick <= exact + 1e-9


@settings(max_examples=150)
@given(shapes, places, travels, shapes, st.floats(-5, 20))
def test_near_ones_are_only_said_to_be_near(
    own: Shape, pose: Pose, travel: Straight | None, fixed: Shape, near: float
) -> None:
    exact = float(gaps(core_of(own), one_pose(pose, travel), core_of(fixed))[0])
    quick = float(gaps(core_of(own), one_pose(pose, travel), core_of(fixed), near=near)[0])
    assert quick == exact or (exact < near and quick < near)


@settings(max_examples=200)
@given(round_ones, places, travels, boxes | ells | discs)
def test_room_inside_an_outline_is_never_too_large(
    own: Shape, pose: Pose, travel: Straight | None, outline: Shape
) -> None:
    wide = outline.grown(40)
    found = float(insets(core_of(own), one_pose(pose, travel), core_of(wide, outside=False))[0])
    true = edge_distance(sweep(own.moved(pose), travel), wide).distance
    if true > 1e-6:
        assert true - 3 * CHORD_ERROR <= found <= true + 1e-7
    else:
        assert found <= 1e-6


def test_tangent_discs_and_slots_to_the_last_digit() -> None:
    at = poses(np.array([[13.0, 0.0], [0.0, 12.0], [-3.0, -4.0]]), np.zeros(3), False)
    assert gaps(core_of(Disc((0, 0), 3)), at, core_of(Disc((0, 0), 10))) == pytest.approx([0.0, -1.0, -8.0], abs=1e-12)
    along = poses(np.array([[0.0, 9.0]]), np.array([math.pi / 2]), False)
    # upright from (0, 9) to (0, 29), half width 2, over a level slot of half width 4: 9 - 2 - 4
    assert gaps(core_of(slot((0, 0), (20, 0), 2)), along, core_of(slot((-30, 0), (30, 0), 4))) == pytest.approx([3.0])


def test_a_mirrored_part_turns_the_other_way() -> None:
    own = Disc((10, 0), 1)
    at = poses(np.array([[0.0, 0.0]]), np.array([math.radians(30)]), True)
    where = Pose(0, 0, math.radians(30), True).point((10, 0))
    assert gaps(core_of(own), at, core_of(Disc(where, 2))) == pytest.approx([-3.0])


def test_a_shape_wholly_inside_another_overlaps_it() -> None:
    frame = rectangle(100, 80)
    at = poses(np.array([[0.0, 0.0], [200.0, 0.0]]), np.zeros(2), False)
    assert (gaps(core_of(Disc((5, 5), 2)), at, core_of(frame)) > 0).tolist() == [False, True]
    assert (gaps(core_of(frame), at, core_of(Disc((5, 5), 2))) > 0).tolist() == [False, True]

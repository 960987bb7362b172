"""Distances of solids where the answer has a closed form, and what stays the same whatever the scene."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from platekit.geometry import Disc, Pose, Slot, Straight, Swing, ends, pose_at, rectangle, slot
from platekit.geometry.solids import Lying, StandingPrism, Upright, clearance, height_gap, nearest_position

TOLERANCE = 1e-9
FOUND = 1e-6
"""mm: what the search among directions leaves open."""


def prism(shape: object, low: float = 0.0, high: float = 10.0) -> Upright:
    return Upright(shape, low, high)  # type: ignore[arg-type]  # any shape of the geometry


# --------------------------------------------------------------------------------------------- prisms


@pytest.mark.parametrize(
    ("a", "b", "expected"),
    [
        (Disc((0, 0), 3), Disc((13, 0), 4), 6.0),
        (Disc((0, 0), 3), Disc((3, 4), 2), 0.0),
        (Slot((0, 0), (30, 0), 5), Slot((0, 17), (30, 17), 4), 8.0),
        (Slot((0, 0), (30, 0), 5), Slot((33, 4), (60, 40), 4), 5.0 - 9.0),
        (Slot((0, 0), (30, 0), 5), Slot((36, 8), (60, 40), 4), 10.0 - 9.0),
        (rectangle(20, 10), Disc((13, 9), 5), 0.0),
        (rectangle(20, 10), Disc((16, 13), 5), 5.0),
    ],
)
def test_side_by_side_the_distance_is_the_plan_distance(a: object, b: object, expected: float) -> None:
    assert clearance(prism(a), prism(b)).distance == pytest.approx(expected, abs=TOLERANCE)


def test_one_above_the_other_and_over_the_corner() -> None:
    low, high = prism(Disc((0, 0), 10)), prism(Disc((2, 0), 3), 14, 20)
    assert clearance(low, high).distance == pytest.approx(4.0, abs=TOLERANCE)
    corner = prism(Disc((16, 0), 3), 14, 20)
    assert clearance(low, corner).distance == pytest.approx(5.0, abs=TOLERANCE)
    assert clearance(low, prism(Disc((2, 0), 3), 10, 20)).distance == 0.0


def test_a_rectangle_that_travels_past_a_disc_square_and_along() -> None:
    # 40 x 20 about 0,0, 30 to the right: its right edge ends at x = 50; the disc's nearest point is at 62 - 5
    swept = prism(rectangle(40, 20)).swept(Straight((1, 0), 0, 30))
    assert clearance(swept, prism(Disc((62, 3), 5))).distance == pytest.approx(7.0, abs=TOLERANCE)
    # along (0.6, 0.8) its corner (20, 10) comes to (38, 34); a disc about (46, 40) is 10 - 4 away
    swept = prism(rectangle(40, 20)).swept(Straight((0.6, 0.8), 0, 30))
    assert clearance(swept, prism(Disc((46, 40), 4))).distance == pytest.approx(6.0, abs=TOLERANCE)


def test_a_rectangle_that_swings_past_a_disc() -> None:
    # its far corner (20, 10) stays sqrt(500) from the pivot; after 60 degrees it points along y past the disc
    swept = prism(rectangle(40, 20)).swept(Swing((0, 0), 0, math.pi / 2))
    far = math.sqrt(500)
    direction = math.radians(75)
    disc = Disc(((far + 9) * math.cos(direction), (far + 9) * math.sin(direction)), 4)
    assert clearance(swept, prism(disc)).distance == pytest.approx(5.0, abs=TOLERANCE)


# --------------------------------------------------------------------------------------------- cones


def test_a_cone_beside_a_wall_is_nearest_at_its_widest() -> None:
    cone = Upright(Disc((0, 0), 5), 0, 20, flare_high=10)
    assert clearance(cone, prism(rectangle(10, 100, center=(25, 0)), 0, 30)).distance == pytest.approx(5.0)
    # a wall only 5 high: the cone is 5 + 2.5 there; square to its side (run 20, out 10) it is nearer than level
    low = clearance(cone, prism(rectangle(10, 100, center=(25, 0)), 0, 5)).distance
    assert low == pytest.approx(12.5 * 20 / math.hypot(20, 10), abs=TOLERANCE)


def test_two_cones_whose_sides_run_alike_are_equally_far_everywhere() -> None:
    up = Upright(Disc((0, 0), 5), 0, 20, flare_high=10)
    down = Upright(Disc((30, 0), 5), 0, 20, flare_low=10)
    # at every height the reaches add up to 20; square to the sides that is 10 cos(atan(1/2))
    assert clearance(up, down).distance == pytest.approx(10 * 2 / math.sqrt(5), abs=TOLERANCE)


def test_a_cone_that_narrows_upwards_passes_a_ledge_square_to_its_side() -> None:
    post = Upright(Disc((0, 0), 4), -10, 10, flare_low=6)
    ledge = prism(rectangle(10, 10, center=(13, 0)), 5, 10)
    # level with the ledge's foot it reaches 5.5 of 8; its side runs 20 along and 6 out
    assert clearance(post, ledge).distance == pytest.approx(2.5 * 20 / math.hypot(20, 6), abs=TOLERANCE)


# --------------------------------------------------------------------------------------------- lying


def test_a_lying_cylinder_above_a_plate() -> None:
    motor = Lying((-60, 0), (60, 0), 50, 71)
    assert clearance(motor, prism(rectangle(400, 300), -10, 0)).distance == pytest.approx(21.0, abs=FOUND)
    assert clearance(motor, prism(rectangle(400, 300), -10, 21)).distance == pytest.approx(0.0, abs=FOUND)
    assert clearance(motor, prism(rectangle(400, 300), -10, 25)).distance == pytest.approx(-4.0, abs=FOUND)


@pytest.mark.parametrize("inset", [0.0, 12.0])
def test_a_lying_cylinder_beside_a_post_as_high_as_half_of_it(inset: float) -> None:
    motor = Lying((-60, 0), (60, 0), 50, 71)
    # the post's top is 41 below the axis: 30 to the side of it sqrt(41^2 + 70^2) from the axis
    post = prism(Disc((inset, 80), 10), 0, 30)
    assert clearance(motor, post).distance == pytest.approx(math.hypot(41, 70) - 50, abs=FOUND)


def test_a_lying_cylinder_before_its_flat_end() -> None:
    motor = Lying((-60, 0), (60, 0), 50, 71)
    assert clearance(motor, prism(Disc((90, 10), 10), 0, 80)).distance == pytest.approx(20.0, abs=FOUND)
    # over the rim: 20 beyond the end, 8 above the crown
    assert clearance(motor, prism(rectangle(10, 40, center=(85, 0)), 129, 140)).distance == pytest.approx(
        math.hypot(20, 8), abs=FOUND
    )


def test_a_lying_cylinder_in_a_hollow_is_measured_to_the_sides_of_the_hollow() -> None:
    from platekit.geometry import polygon_loop

    cradle = polygon_loop([(-80, -60), (80, -60), (80, 60), (40, 60), (40, -20), (-40, -20), (-40, 60), (-80, 60)])
    pipe = Lying((0, 0), (0, 100), 25, 15)
    assert clearance(pipe, prism(cradle, 0, 30)).distance == pytest.approx(15.0, abs=1e-3)
    assert clearance(pipe.swept(Straight((1, 0), 5, 0)), prism(cradle, 0, 30)).distance == pytest.approx(10.0, abs=1e-3)


def test_two_lying_cylinders_across_and_side_by_side() -> None:
    a = Lying((-50, 0), (50, 0), 20, 30)
    assert clearance(a, Lying((-50, 70), (50, 70), 30, 30)).distance == pytest.approx(20.0, abs=FOUND)
    assert clearance(a, Lying((0, -50), (0, 50), 15, 80)).distance == pytest.approx(15.0, abs=FOUND)


def test_a_lying_cylinder_that_swings_is_never_nearer_than_told() -> None:
    swing = Swing((0, 0), 0.2, 0.5)
    motor = Lying((30, -20), (90, 10), 12, 0)
    post = prism(Disc((60, 60), 8), -3, 40)
    found = clearance(motor.swept(swing), post).distance
    low, high = ends(swing)
    at = [clearance(motor.moved(pose_at(swing, low + (high - low) * k / 200)), post).distance for k in range(201)]
    assert found <= min(at) + FOUND
    assert found == pytest.approx(min(at), abs=0.01)


# --------------------------------------------------------------------------------------------- position


def test_the_position_of_travel_at_which_two_come_nearest() -> None:
    assert nearest_position(Disc((0, 0), 5), Straight((1, 0), 10, 20), (12, 30)) == pytest.approx(12)
    assert nearest_position(Disc((0, 0), 5), Straight((1, 0), 10, 20), (99, 30)) == pytest.approx(20)
    assert nearest_position(Disc((0, 0), 5), Straight((1, 0), 10, 20), (-99, 30)) == pytest.approx(-10)
    swing = Swing((0, 0), 0.5, 1.0, -1)
    assert nearest_position(Disc((40, 0), 5), swing, (60 * math.cos(0.4), -60 * math.sin(0.4))) == pytest.approx(0.4)
    assert nearest_position(Disc((40, 0), 5), None, (1, 1)) == 0.0


# --------------------------------------------------------------------------------------------- properties

AnySolid = Upright | Lying | StandingPrism
lengths = st.floats(2, 40).map(lambda x: round(x, 3))
places = st.floats(-80, 80).map(lambda x: round(x, 3))
angles = st.floats(0, 6).map(lambda x: round(x, 3))


@st.composite
def solids(draw: st.DrawFn) -> AnySolid:
    x, y, z, size = draw(places), draw(places), draw(places), draw(lengths)
    kind = draw(st.integers(0, 4))
    if kind == 0:
        angle, half = draw(angles), draw(lengths)
        dx, dy = half * math.cos(angle), half * math.sin(angle)
        return Lying((x - dx, y - dy), (x + dx, y + dy), size, z)
    if kind == 4:
        angle, shape = draw(angles), slot((x, z), (x + draw(lengths), z + draw(lengths)), size).loop()
        return StandingPrism(shape, (math.cos(angle), math.sin(angle)), y, y + draw(lengths))
    if kind == 1:
        return Upright(Disc((x, y), size), z, z + draw(lengths), *draw(st.sampled_from([(0.0, 7.0), (4.0, 0.0)])))
    if kind == 2:
        return Upright(slot((x, y), (x + draw(lengths), y), size), z, z + draw(lengths))
    return Upright(rectangle(size, draw(lengths), 0.0, (x, y), draw(angles)), z, z + draw(lengths))


@settings(max_examples=60)
@given(solids(), solids(), places, places, angles)
def test_moving_and_turning_both_changes_nothing_and_neither_does_the_order(
    a: AnySolid, b: AnySolid, x: float, y: float, turn: float
) -> None:
    pose = Pose(x, y, turn)
    first = clearance(a, b).distance
    assert clearance(b, a).distance == pytest.approx(first, abs=1e-3)
    if first > 0:
        assert clearance(a.moved(pose), b.moved(pose)).distance == pytest.approx(first, abs=1e-3)
        assert first >= height_gap(a, b) - FOUND
        assert clearance(a.moved(Pose(mirrored=True)), b.moved(Pose(mirrored=True))).distance == pytest.approx(
            first, abs=1e-3
        )


@settings(max_examples=60)
@given(solids(), solids())
def test_the_two_points_told_are_as_far_apart_as_the_distance(a: AnySolid, b: AnySolid) -> None:
    found = clearance(a, b)
    if found.distance > 0:
        assert math.dist((*found.a, found.z_a), (*found.b, found.z_b)) == pytest.approx(found.distance, abs=1e-3)


def test_a_belt_run_standing_on_the_plate_worked_out_by_hand() -> None:
    run = StandingPrism(rectangle(100.0, 6.0, 0.0, (50.0, 20.0)), (0.0, 1.0), 10.0, 30.0)
    assert run.n == (1.0, 0.0)  # u points up the plate, so that it is held along x
    assert (run.low, run.high) == (17.0, 23.0)
    assert run.silhouette.box == (10.0, 0.0, 30.0, 100.0)
    post = Upright(Disc((40.0, 50.0), 4.0), 0.0, 40.0)
    assert clearance(run, post).distance == pytest.approx(6.0, abs=FOUND)
    bed = Upright(rectangle(200.0, 200.0), -10.0, 0.0)
    assert clearance(bed, run).distance == pytest.approx(17.0, abs=FOUND)
    shaft = Lying((-50.0, 50.0), (60.0, 50.0), 5.0, 31.0)  # along x, its lowest line 3 mm above the run
    assert clearance(shaft, run).distance == pytest.approx(3.0, abs=FOUND)


def test_a_slanted_run_shows_at_each_height_only_what_is_there() -> None:
    run = StandingPrism(slot((0.0, 0.0), (100.0, 100.0), 1.0).loop(), (1.0, 0.0), 0.0, 10.0)
    shape, z = run.widest(50.0, 50.0)
    assert z == 50.0
    assert shape.box == pytest.approx((50.0 - math.sqrt(2.0), -10.0, 50.0 + math.sqrt(2.0), 0.0), abs=1e-9)
    both, _ = run.widest(40.0, 60.0)
    assert both.box.width == pytest.approx(20.0 + 2 * math.sqrt(2.0), abs=1e-9)

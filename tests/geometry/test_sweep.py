"""The space covered by travel: what holds every position, and nothing that no position reaches."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from platekit.geometry import (
    CurvedSlot,
    Disc,
    Loop,
    Pose,
    Shape,
    Slot,
    Straight,
    Swing,
    Travel,
    edge_distance,
    ends,
    loop_of,
    polygon_loop,
    pose_at,
    rectangle,
    sweep,
)

L_SHAPE = polygon_loop([(0, 0), (30, 0), (30, 8), (9, 8), (9, 25), (0, 25)])


def test_positions() -> None:
    assert ends(None) == (0, 0)
    assert ends(Straight((1, 0), 5, 12)) == (-5, 12)
    assert pose_at(None, 0.0) == Pose()
    assert pose_at(Straight((0.6, 0.8), 5, 12), 10).point((1, 1)) == pytest.approx((7, 9))
    counter = pose_at(Swing((10, 0), 0.1, 0.2, 1), math.pi / 2)
    clockwise = pose_at(Swing((10, 0), 0.1, 0.2, -1), math.pi / 2)
    assert counter.point((13, 0)) == pytest.approx((10, 3))
    assert clockwise.point((13, 0)) == pytest.approx((10, -3))
    assert counter.point((10, 0)) == pytest.approx((10, 0))


def test_no_travel_leaves_the_shape_alone(shape: Shape) -> None:
    assert sweep(shape, None) == shape
    assert sweep(shape, Straight((1, 0), 0, 0)) == shape


def test_disc_along_a_line_is_a_slot() -> None:
    assert sweep(Disc((0, 0), 4), Straight((1, 0), 2, 8)) == Slot((-2, 0), (8, 0), 4)


def test_disc_on_a_swing_is_a_curved_slot() -> None:
    tight = sweep(Disc((50, 0), 4), Swing((0, 0), 0.1, 0.3, 1))
    assert figures(tight) == pytest.approx((0, 0, 50, -0.1, 0.4, 4))
    other = sweep(Disc((50, 0), 4), Swing((0, 0), 0.1, 0.3, -1))
    assert figures(other) == pytest.approx((0, 0, 50, -0.3, 0.4, 4))


def figures(shape: Shape) -> tuple[float, ...]:
    assert isinstance(shape, CurvedSlot)
    return (*shape.center, shape.mid_radius, shape.start, shape.sweep, shape.radius)


def test_disc_on_its_own_pivot_stays() -> None:
    assert sweep(Disc((3, 4), 4), Swing((3, 4), 0.1, 0.3, 1)) == Disc((3, 4), 4)


def test_slot_along_itself_grows_longer() -> None:
    longer = sweep(Slot((0, 0), (10, 0), 3), Straight((-1, 0), 5, 7))
    assert isinstance(longer, Slot)
    assert ({longer.a, longer.b}, longer.radius) == ({(-7, 0), (15, 0)}, 3)


def test_slot_across_itself_by_formula() -> None:
    # Steiner again: the parallelogram of the stretch and the travel, grown by the radius
    wide = sweep(Slot((0, 0), (10, 0), 3), Straight((0, 1), 0, 7))
    assert wide.area == pytest.approx(70 + 2 * 17 * 3 + 9 * math.pi)


def test_curved_slot_about_its_own_centre_grows_longer() -> None:
    longer = sweep(CurvedSlot((1, 2), 40, 0.5, 0.3, 3), Swing((1, 2), 0.1, 0.2, -1))
    assert figures(longer) == pytest.approx((1, 2, 40, 0.3, 0.6, 3))


def test_convex_outline_by_formula() -> None:
    # area grows by travel times the width across it
    box = rectangle(20, 10, 2, turn=0.5)
    direction = (math.cos(1.1), math.sin(1.1))
    across = [-direction[1] * x + direction[0] * y for edge in box.edges for x, y in (edge.a, edge.b, edge.at(0.5))]
    swept = sweep(box, Straight(direction, 4, 9))
    assert swept.area >= box.area + 13 * (max(across) - min(across)) - 1e-9
    assert swept.area == pytest.approx(box.area + 13 * shapely_width(box, direction), rel=1e-6)


def shapely_width(loop: Loop, direction: tuple[float, float]) -> float:
    xs = [-direction[1] * x + direction[0] * y for x, y in loop.polygon(1e-7).exterior.coords]
    return float(max(xs) - min(xs))


def test_hollow_outline_keeps_what_no_position_covers() -> None:
    moved = sweep(L_SHAPE, Straight((0, 1), 0, 5))
    assert moved.area == pytest.approx(L_SHAPE.area + 5 * 30)
    assert isinstance(moved, Loop)
    assert min(radius for _, radius in moved.inside_corners()) == 0.0


def test_strip_on_a_swing_by_formula() -> None:
    # pivot in the middle of a short side: a sector between the far corners, and a triangle along either long side
    strip = polygon_loop([(0, -2), (30, -2), (30, 2), (0, 2)])
    swept = sweep(strip, Swing((0, 0), 0.0, 0.5, 1))
    reach, lean = math.hypot(30, 2), math.atan2(2, 30)
    assert swept.area == pytest.approx(0.5 * reach**2 * (0.5 + 2 * lean) + 2 * 30, rel=1e-12)
    assert swept.box.x1 == pytest.approx(reach)


def test_a_full_turn_is_a_disc() -> None:
    round_about = sweep(rectangle(6, 8, center=(10, 0)), Swing((0, 0), 3.2, 3.2, 1))
    assert isinstance(round_about, Disc)
    assert (round_about.center, round_about.radius) == ((0, 0), pytest.approx(math.hypot(13, 4)))


def test_a_pivot_inside_the_shape() -> None:
    swept = sweep(rectangle(20, 20), Swing((0, 0), 0, math.pi / 4, 1))
    # half of the circle round the square, and half of the star of two squares, whose overlap is an octagon
    star = 2 * 400 - 2 * 400 * math.tan(math.pi / 8)
    assert swept.area == pytest.approx(200 * math.pi / 2 + star / 2, rel=1e-12)
    whole = sweep(rectangle(20, 20), Swing((0, 0), 0, math.pi / 2, 1))
    assert whole.area == pytest.approx(200 * math.pi, rel=1e-9)


def test_zoo_is_covered_at_every_position(shape: Shape) -> None:
    for travel in (
        Straight((0.6, -0.8), 3, 11),
        Straight((0, 1), 0, 6),
        Swing((12, -30), 0.1, 0.5, -1),
        Swing((0, 0), 0.2, 0.7, 1),
    ):
        check_sweep(shape, travel)


@settings(max_examples=60)
@given(st.data())
def test_any_sweep_holds_every_position_and_no_more(
    any_shape: st.SearchStrategy[Shape], any_travel: st.SearchStrategy[Travel], data: st.DataObject
) -> None:
    check_sweep(data.draw(any_shape), data.draw(any_travel))


def check_sweep(shape: Shape, travel: Travel) -> None:
    swept = sweep(shape, travel)
    low, high = ends(travel)
    places = [shape.moved(pose_at(travel, low + (high - low) * k / 40)) for k in range(41)]
    assert min(edge_distance(place, swept).distance for place in places) >= -1e-6
    check_reached(swept.loop(), shape, travel)


def check_reached(swept: Loop, shape: Shape, travel: Travel) -> None:
    """Every stretch of the swept outline is touched by some position, so that nothing too much is covered."""
    low, high = ends(travel)
    outline = shape.loop()

    def away(s: float, p: tuple[float, float]) -> float:
        return max(-outline.depth(pose_at(travel, s).inverse().point(p)).distance, 0.0)

    for edge in swept.edges:
        p = edge.at(0.37)
        s = min((low + (high - low) * k / 60 for k in range(61)), key=lambda s: away(s, p))
        step = (high - low) / 60
        while step > 1e-9 * (high - low):
            s = min((max(s - step, low), s, min(s + step, high)), key=lambda s: away(s, p))
            step *= 0.6
        assert away(s, p) < 1e-4


def test_a_swept_cusp() -> None:
    crescent = loop_of([(0, 10, 1.0), (0, -10, -0.5)])
    check_sweep(crescent, Straight((1, 0), 0, 20))
    check_sweep(crescent, Swing((0, 10), 0, 1.0, 1))

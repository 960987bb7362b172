"""Making loops, rounding their corners, finding inside corners."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platekit.errors import GeometryError
from platekit.geometry import Arc, Disc, Loop, disc_loop, loop_of, polygon_loop, rectangle

L_SHAPE = [(0.0, 0.0), (30.0, 0.0), (30.0, 8.0), (9.0, 8.0), (9.0, 25.0), (0.0, 25.0)]


def test_clockwise_input_is_turned_round() -> None:
    loop = loop_of([(0, 0, 0), (0, 10, 0), (10, 10, 1.0), (10, 0, 0)])
    assert loop.area == pytest.approx(100 - math.pi * 25 / 2)
    assert loop.contains((4.9, 5))
    assert not loop.contains((5.1, 5))
    assert min(radius for _, radius in loop.inside_corners()) == pytest.approx(5)


def test_edges_of_no_length_are_dropped() -> None:
    loop = loop_of([(0, 0, 0), (0, 0, 0), (10, 0, 0), (10, 5, 0), (10, 5, 0.4), (0, 5, 0)])
    assert len(loop.edges) == 4


@pytest.mark.parametrize(
    ("points", "message"),
    [
        ([(0, 0), (1, 0)], "at least three corners; found 2"),
        ([(0, 0), (1, 0), (2, 0)], "needs an area"),
        ([(0, 0), (10, 0), (0, 10), (10, 10)], "crosses or touches itself near 5, 5"),
        ([(0, 0), (10, 0), (2, 10), (10, 10)], "crosses or touches itself near"),
        ([(0, 0), (10, 0), (10, 10), (5, 0), (0, 10)], "crosses or touches itself near 5, 0"),
        ([(0, 0), (10, 0), (10, 5), (10, -3), (10, 10), (0, 10)], "crosses or touches itself"),
        ([(0, 0), (math.nan, 0), (10, 10)], "finite numbers"),
        ([(0, 0), (9, 0), (9, math.inf)], "finite numbers"),
    ],
)
def test_outlines_that_do_not_exist(points: list[tuple[float, float]], message: str) -> None:
    with pytest.raises(GeometryError, match=message):
        polygon_loop(points)


def test_an_arc_too_flat_to_be_told_from_a_line_is_refused() -> None:
    with pytest.raises(GeometryError, match=r"edge at 0, 0 is an arc of more than 1 km radius; make it straight"):
        loop_of([(0, 0, 1e-6), (100, 0, 0), (50, 60, 0)])
    assert loop_of([(0, 0, 1e-12), (100, 0, 0), (50, 60, 0)]).area == 3000


def test_crossing_of_an_outline_with_many_corners_is_found() -> None:
    ring = [(100 * math.cos(k * math.tau / 300), 100 * math.sin(k * math.tau / 300)) for k in range(300)]
    assert len(polygon_loop(ring).edges) == 300
    ring[40], ring[41] = ring[41], ring[40]
    with pytest.raises(GeometryError, match="crosses"):
        polygon_loop(ring)


@given(st.floats(1, 100), st.floats(1, 100), st.just(0.0) | st.floats(1e-3, 0.5), st.floats(-7, 7))
def test_rounded_rectangle_by_formula(width: float, height: float, share: float, turn: float) -> None:
    r = share * min(width, height)
    loop = rectangle(width, height, r, center=(7, -3), turn=turn)
    assert loop.area == pytest.approx(width * height - (4 - math.pi) * r * r, rel=1e-9)
    assert loop.perimeter == pytest.approx(2 * (width + height) - (8 - 2 * math.pi) * r, rel=1e-9)
    assert loop.centroid == pytest.approx((7, -3), abs=1e-9)
    assert loop.is_convex


def test_rounding_cuts_off_what_the_formula_says() -> None:
    # a corner that turns by t loses r2 (tan(t/2) - t/2); an inside corner gains as much
    plain, rounded = polygon_loop(L_SHAPE), polygon_loop(L_SHAPE, [0, 1, 2, 3, 0, 2])
    square = 1 - math.pi / 4
    assert plain.area == 30 * 8 + 9 * 17
    assert rounded.area - plain.area == pytest.approx(square * (-1 - 4 + 9 - 4))


def test_rounding_is_smooth() -> None:
    loop = polygon_loop([(0, 0), (30, 2), (25, 30), (12, 9), (-4, 17)], 1.5)
    edges = loop.edges
    for before, after in zip(edges, (*edges[1:], edges[0]), strict=True):
        assert before.direction(1.0) == pytest.approx(after.direction(0.0), abs=1e-9)
    assert {round(edge.radius, 9) for edge in edges if isinstance(edge, Arc)} == {1.5}


def test_radii_stay_with_their_corners_when_the_outline_is_turned_round() -> None:
    radii = [0.0, 1.0, 2.0, 3.0, 0.5, 0.0]
    one, other = polygon_loop(L_SHAPE, radii), polygon_loop(L_SHAPE[::-1], radii[::-1])
    assert other.area == pytest.approx(one.area)
    assert other.inside_corners() == [(pytest.approx(p, abs=1e-9), pytest.approx(r)) for p, r in one.inside_corners()]


@pytest.mark.parametrize(
    ("radii", "message"),
    [
        ([0, 0, 0, 0, 0, 9.5], r"corner 6 at 0, 25: a radius of 9.5 mm does not fit; at most 9 mm does"),
        ([5, 0, 0, 0, 0, 0, 0], "found 7 corner radii for 6 corners"),
        ([0, 5, 5, 0, 0, 0], r"corner 2 at 30, 0: a radius of 5 mm does not fit; at most 4 mm does"),
        ([0, 7, 2, 0, 0, 0], r"corner 2 at 30, 0: a radius of 7 mm does not fit; at most 6 mm does"),
        ([0, -1, 0, 0, 0, 0], "corner 2: a radius of -1 mm is not possible"),
    ],
)
def test_radii_that_do_not_fit_name_their_corner(radii: list[float], message: str) -> None:
    with pytest.raises(GeometryError, match=message):
        polygon_loop(L_SHAPE, radii)


def test_the_radius_that_is_said_to_fit_does() -> None:
    assert polygon_loop(L_SHAPE, [0, 0, 0, 0, 0, 9]).area > 0
    assert polygon_loop(L_SHAPE, [0, 4, 4, 0, 0, 0]).area > 0
    assert polygon_loop(L_SHAPE, [0, 6, 2, 0, 0, 0]).area > 0


def test_inside_corners_and_their_radii() -> None:
    assert not rectangle(10, 10, 2).inside_corners()
    assert polygon_loop(L_SHAPE).inside_corners() == [((9.0, 8.0), 0.0)]
    rounded = polygon_loop(L_SHAPE, [0, 0, 0, 3, 0, 0])
    [(place, radius)] = rounded.inside_corners()
    assert radius == pytest.approx(3)
    # the middle of the rounding: sqrt(2) - 1 radii from the corner, towards the hollow
    away = 3 * (math.sqrt(2) - 1) / math.sqrt(2)
    assert place == pytest.approx((9 + away, 8 + away))


def test_a_cusp_between_two_discs_is_an_inside_corner() -> None:
    # two half discs side by side, touching in a cusp that points into the shape
    heart = loop_of([(-10, 0, -1.0), (0, 0, -1.0), (10, 0, -1.0)][::-1])
    assert not disc_loop(Disc((0, 0), 10)).inside_corners()
    assert heart.inside_corners()
    twin = loop_of([(-10, 0, 0.0), (-10, -5, 0.0), (10, -5, 0.0), (10, 0, 1.0), (0, 0, 1.0)])
    assert ((0.0, 0.0), 0.0) in twin.inside_corners()
    horn = loop_of([(-10, 0, 0.0), (-10, -5, 0.0), (10, -5, 0.0), (10, 0, -0.9), (0, 0, -0.9)])
    assert all(r > 0 for _, r in horn.inside_corners())


def test_inside_and_outside_corners_share_out_the_turn() -> None:
    # one turn to the left for each corner of the L but one
    loop = polygon_loop(L_SHAPE)
    assert len(loop.outside_corners()) == 5
    assert [p for p, _ in loop.outside_corners()] == [p for p in L_SHAPE if p != (9.0, 8.0)]
    assert disc_loop(Disc((0, 0), 10)).outside_corners() == [
        (pytest.approx((0, -10)), pytest.approx(10)),
        (pytest.approx((0, 10)), pytest.approx(10)),
    ]
    crescent = loop_of([(0, 10, 1.0), (0, -10, -1.0 + 1e-3)])
    assert len(crescent.outside_corners()) == 3


def test_outward_is_square_to_the_outline() -> None:
    assert rectangle(20, 10).outward((9.9, 0)) == (1.0, 0.0)
    assert disc_loop(Disc((0, 0), 5)).outward((3, 4)) == pytest.approx((0.6, 0.8))


def test_equal_loops_are_equal_values() -> None:
    assert rectangle(20, 10, 2) == rectangle(20, 10, 2)
    assert len({rectangle(20, 10, 2), rectangle(20, 10, 2), Loop(rectangle(20, 10).vertices)}) == 2


@given(st.lists(st.tuples(st.integers(-4, 4), st.integers(-4, 4)), min_size=3, max_size=4, unique=True))
def test_a_small_polygon_is_taken_only_if_no_two_of_its_sides_meet(corners: list[tuple[int, int]]) -> None:
    n = len(corners)

    def side_of(a: tuple[int, int], b: tuple[int, int], p: tuple[int, int]) -> int:
        turn = (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])
        return (turn > 0) - (turn < 0)

    def meet(k: int, j: int) -> bool:
        (a, b), (c, d) = (corners[k], corners[(k + 1) % n]), (corners[j], corners[(j + 1) % n])
        across = side_of(a, b, c) * side_of(a, b, d), side_of(c, d, a) * side_of(c, d, b)
        boxes = all(max(min(a[i], b[i]), min(c[i], d[i])) <= min(max(a[i], b[i]), max(c[i], d[i])) for i in (0, 1))
        return max(across) <= 0 and boxes

    def runs_back(k: int) -> bool:
        a, b, c = corners[k - 1], corners[k], corners[(k + 1) % n]
        ahead = (b[0] - a[0]) * (c[0] - b[0]) + (b[1] - a[1]) * (c[1] - b[1])
        return side_of(a, b, c) == 0 and ahead < 0

    spoilt = any(meet(k, (k + 2) % n) for k in range(n) if n == 4) or any(runs_back(k) for k in range(n))
    try:
        loop_of([(x, y, 0.0) for x, y in corners])
    except GeometryError:
        assert spoilt
    else:
        assert not spoilt


@given(st.lists(st.tuples(st.integers(-6, 6), st.integers(-6, 6)), min_size=3, max_size=7, unique=True))
def test_a_polygon_is_convex_where_none_of_its_corners_turns_right(corners: list[tuple[int, int]]) -> None:
    try:
        loop = loop_of([(x, y, 0.0) for x, y in corners])
    except GeometryError:
        return
    assert loop.is_convex is not bool(loop.inside_corners())

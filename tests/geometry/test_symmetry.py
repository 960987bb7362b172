"""Patterns that are, and are not, their own mirror image or the same again when turned."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platekit.geometry import Pose, mirror_fits, mirrored_matches, turn_order

Points = list[tuple[float, float]]


def circle(count: int, radius: float = 50, start: float = 0.0) -> Points:
    return [
        (radius * math.cos(start + k * math.tau / count), radius * math.sin(start + k * math.tau / count))
        for k in range(count)
    ]


CHIRAL = [(40.0, 0.0), (10.0, 31.0), (-22.0, 5.0), (3.0, -18.0)]


@pytest.mark.parametrize(
    ("points", "order", "fits"),
    [
        (circle(4), 4, True),
        (circle(4, start=0.3), 4, True),
        (circle(5), 5, True),
        (circle(7, start=0.1), 7, True),
        (circle(6)[:-1], 1, True),
        (circle(6)[:2] + circle(6)[3:5], 2, True),
        ([(30, 20), (-30, 20), (-30, -20), (30, -20)], 2, True),
        ([(30, 10), (-30, 10), (-30, -20), (30, -20)], 1, True),
        (CHIRAL, 1, False),
        (CHIRAL + [(-x, -y) for x, y in CHIRAL], 2, False),
        (circle(3) + circle(3, 20, 0.2), 3, False),
        (circle(3) + circle(3, 20, math.pi / 3), 3, True),
        (circle(4) + circle(6, 20), 2, True),
        ([(0, 0)], 0, True),
        ([], 0, True),
        ([*circle(4), (0, 0)], 4, True),
        ([(12, 5)], 1, True),
    ],
)
def test_orders_and_mirror_images(points: Points, order: int, fits: bool) -> None:
    assert turn_order(points, 0.01) == order
    assert mirror_fits(points, 0.01) is fits


def test_hole_sizes_tell_turns_apart() -> None:
    assert turn_order(circle(4), 0.01, tags=[10, 10, 10, 10]) == 4
    assert turn_order(circle(4), 0.01, tags=[10, 12, 10, 12]) == 2
    assert turn_order(circle(4), 0.01, tags=[10, 10, 10, 12]) == 1
    assert mirror_fits(circle(4), 0.01, tags=[10, 10, 10, 12])
    assert mirror_fits(circle(6), 0.01, tags="abccba")
    assert not mirror_fits(circle(6), 0.01, tags="aabbcc")
    assert not mirror_fits(circle(6), 0.01, tags="aababb")


def test_own_mirror_line_is_upright() -> None:
    assert mirrored_matches([((5, 0), "a"), ((-5, 0), "a"), ((0, 9), "b")], 0.01)
    assert not mirrored_matches([((5, 0), "a"), ((-5, 0), "b")], 0.01)
    assert not mirrored_matches([((0, 5), 1), ((0, -5), 1), ((3, 0), 1)], 0.01)
    # the mirror image would fit after a turn, but as it stands it does not
    assert mirror_fits([(0, 5), (0, -5), (3, 0)], 0.01)


def test_tolerance_decides() -> None:
    nearly = [(50.0, 0.4), *circle(4)[1:]]
    assert turn_order(nearly, 1.0) == 4
    assert turn_order(nearly, 0.1) == 1


def test_each_point_can_be_used_once() -> None:
    assert not mirrored_matches([((5, 0), 1), ((5, 0.001), 1), ((-5, 0), 1), ((0, 0), 1)], 0.01)


@given(st.data(), st.integers(1, 9), st.floats(0, 7))
def test_turning_or_mirroring_the_pattern_changes_no_answer(
    any_point: st.SearchStrategy[tuple[float, float]], data: st.DataObject, count: int, turn: float
) -> None:
    seeds = data.draw(st.lists(any_point, min_size=1, max_size=4, unique=True))
    spun = [Pose(turn=k * math.tau / count).point(p) for p in seeds for k in range(count)]
    points = [p for i, p in enumerate(spun) if all(math.dist(p, q) > 1.0 for q in spun[:i])]
    for pose in (Pose(turn=turn), Pose(turn=turn, mirrored=True)):
        moved = [pose.point(p) for p in points]
        assert turn_order(moved, 1e-3) == turn_order(points, 1e-3)
        assert mirror_fits(moved, 2e-3) == mirror_fits(points, 2e-3)


@given(st.integers(2, 12), st.lists(st.floats(5, 60), min_size=1, max_size=3), st.floats(0, 7))
def test_spun_patterns_have_the_order_they_were_spun_with(count: int, radii: list[float], start: float) -> None:
    points = [p for k, r in enumerate(radii) for p in circle(count, r, start * k)]
    order = turn_order(points, 1e-3)
    assert order % count == 0


def test_a_long_row_of_holes_takes_no_time() -> None:
    assert turn_order(circle(2000), 1e-3) == 2000
    assert mirror_fits(circle(2000), 1e-3)
    grid = [(float(x), float(y)) for x in range(-30, 31) for y in range(-20, 21)]
    assert turn_order(grid, 1e-3) == 2
    assert mirror_fits(grid, 1e-3)

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platekit.geometry import Arc, Edge, Line, Pose, arc, edge_gap, edge_intersections, edge_of

QUARTER = math.tan(math.pi / 8)

EDGES: dict[str, Edge] = {
    "line": Line((0, 0), (10, 0)),
    "slanted": Line((-3, 7), (8, -2)),
    "upright": Line((4, 1), (4, 9)),
    "quarter": arc((0, 0), 5, 0, math.pi / 2),
    "quarter, clockwise": arc((3, 3), 6, 0, -math.pi / 2),
    "nearly round": arc((2, -4), 3, 1.0, 6.0),
    "half": arc((20, 5), 4, math.pi, math.pi),
    "inside": arc((0.5, 0), 2, -1, 2),
}
COUPLES = list(itertools.permutations(EDGES, 2))


def reached(edge: Edge) -> list[tuple[float, float]]:
    return [edge.at(k / 400) for k in range(401)]


def test_bulge_is_the_tangent_of_a_quarter_of_the_sweep() -> None:
    edge = edge_of((5, 0), (0, 5), QUARTER)
    assert isinstance(edge, Arc)
    assert edge.center == pytest.approx((0, 0), abs=1e-12)
    assert edge.radius == pytest.approx(5)
    assert edge.sweep == pytest.approx(math.pi / 2)
    assert edge.start == pytest.approx(0, abs=1e-12)


def test_negative_bulge_runs_clockwise() -> None:
    edge = edge_of((0, 0), (2, 0), -1.0)
    assert edge.at(0.5) == pytest.approx((1, 1))


def test_no_bulge_is_a_line() -> None:
    assert edge_of((0, 0), (2, 0), 0.0) == Line((0, 0), (2, 0))
    assert edge_of((0, 0), (2, 0), 1e-10) == Line((0, 0), (2, 0))


@given(st.floats(0.01, 6.2), st.floats(-7, 7), st.floats(0.1, 500), st.booleans())
def test_bulge_round_trip(sweep: float, start: float, radius: float, clockwise: bool) -> None:
    edge = arc((3, 4), radius, start, -sweep if clockwise else sweep)
    again = edge_of(edge.a, edge.b, edge.bulge)
    assert isinstance(again, Arc)
    assert again.radius == pytest.approx(radius, rel=1e-9)
    assert again.center == pytest.approx(edge.center, abs=1e-7)
    assert again.sweep == pytest.approx(edge.sweep, rel=1e-9)


@pytest.mark.parametrize("edge", EDGES.values(), ids=EDGES.keys())
def test_box_is_exact(edge: Edge) -> None:
    fine = [edge.at(k / 20000) for k in range(20001)]
    xs, ys = zip(*fine, strict=True)
    assert edge.box == pytest.approx((min(xs), min(ys), max(xs), max(ys)), abs=1e-5)
    assert edge.box.x0 <= min(xs) + 1e-12
    assert edge.box.y1 >= max(ys) - 1e-12


@pytest.mark.parametrize("edge", EDGES.values(), ids=EDGES.keys())
def test_places_run_from_start_to_end(edge: Edge) -> None:
    assert (edge.at(0.0), edge.at(1.0)) == (pytest.approx(edge.a), pytest.approx(edge.b))
    for k in range(1, 10):
        assert edge.place(edge.at(k / 10)) == pytest.approx(k / 10)
        assert edge.reversed().at(k / 10) == pytest.approx(edge.at(1 - k / 10))


@pytest.mark.parametrize("edge", EDGES.values(), ids=EDGES.keys())
def test_direction_is_the_slope(edge: Edge) -> None:
    for place in (0.1, 0.5, 0.9):
        (x, y), (u, v) = edge.at(place - 1e-6), edge.at(place + 1e-6)
        step = math.hypot(u - x, v - y)
        assert edge.direction(place) == pytest.approx(((u - x) / step, (v - y) / step), abs=1e-6)


@pytest.mark.parametrize("edge", EDGES.values(), ids=EDGES.keys())
def test_moving_an_edge_moves_its_points(edge: Edge) -> None:
    pose = Pose(3, -8, 2.2, mirrored=True)
    for k in range(11):
        assert edge.moved(pose).at(k / 10) == pytest.approx(pose.point(edge.at(k / 10)))


@given(st.floats(-20, 20), st.floats(-20, 20), st.sampled_from(list(EDGES)))
def test_nearest_point(x: float, y: float, name: str) -> None:
    edge = EDGES[name]
    found = math.dist(edge.nearest((x, y)), (x, y))
    sampled = min(math.dist(q, (x, y)) for q in reached(edge))
    assert sampled - edge.length / 800 - 1e-9 <= found <= sampled + 1e-9


@pytest.mark.parametrize(("first", "second"), COUPLES)
def test_gap_of_all_kinds_of_edges(first: str, second: str) -> None:
    a, b = EDGES[first], EDGES[second]
    gap = edge_gap(a, b)
    assert math.dist(gap.a, gap.b) == pytest.approx(gap.distance, abs=1e-9)
    assert math.dist(a.nearest(gap.a), gap.a) < 1e-9
    assert math.dist(b.nearest(gap.b), gap.b) < 1e-9
    sampled = min(math.dist(b.nearest(p), p) for p in reached(a))
    assert sampled - a.length / 800 <= gap.distance <= sampled + 1e-9
    assert edge_gap(b, a).distance == pytest.approx(gap.distance, abs=1e-9)


@pytest.mark.parametrize(("first", "second"), COUPLES)
def test_crossings_lie_on_both_edges_and_none_is_missed(first: str, second: str) -> None:
    a, b = EDGES[first], EDGES[second]
    met = edge_intersections(a, b)
    for p in met:
        assert math.dist(a.nearest(p), p) < 1e-9
        assert math.dist(b.nearest(p), p) < 1e-9
    for place in lowest_places(a, b):
        if math.dist(b.nearest(a.at(place)), a.at(place)) < 1e-7:
            assert any(math.dist(p, a.at(place)) < 1e-4 for p in met)


def lowest_places(a: Edge, b: Edge) -> list[float]:
    """Places on `a` where its distance to `b` is lowest round about, by halving the steps of a fine search."""

    def away(place: float) -> float:
        return math.dist(b.nearest(a.at(place)), a.at(place))

    found = []
    for k in range(401):
        place, step = k / 400, 1 / 400
        if away(place) <= min(away(max(place - step, 0)), away(min(place + step, 1))):
            while step > 1e-10:
                step /= 2
                place = min((max(place - step, 0.0), place, min(place + step, 1.0)), key=away)
            found.append(place)
    return found


@pytest.mark.parametrize(
    ("first", "second", "expected"),
    [
        (Line((0, 0), (4, 0)), Line((1, -1), (1, 1)), [(1, 0)]),
        (Line((0, 0), (4, 0)), Line((4, 0), (9, 3)), [(4, 0)]),
        (Line((0, 0), (4, 0)), Line((0, 1), (4, 1)), []),
        (Line((0, 0), (4, 0)), Line((2, 0), (9, 0)), [(4, 0), (2, 0)]),
        (Line((-9, 3), (9, 3)), arc((0, 0), 5, 0, math.pi), [(-4, 3), (4, 3)]),
        (Line((-9, -3), (9, -3)), arc((0, 0), 5, 0, math.pi), []),
        (Line((-9, 5), (9, 5)), arc((0, 0), 5, 0, math.pi), [(0, 5)]),
        (arc((0, 0), 5, -1, 2), arc((10, 0), 5, 2, 2.5), [(5, 0)]),
        (arc((0, 0), 5, -1, 2), arc((2, 0), 3, -1, 2), [(5, 0)]),
        (arc((0, 0), 2, -1, 2), arc((-3, 0), 5, -1, 2), [(2, 0)]),
        (arc((0, 0), 5, 0, 3), arc((6, 0), 5, 1, 3), [(3, 4)]),
        (arc((0, 0), 5, 0, 3), arc((0, 0), 4, 0, 3), []),
        (
            arc((0, 0), 5, 0, 2),
            arc((0, 0), 5, 1, 2),
            [(5 * math.cos(2), 5 * math.sin(2)), (5 * math.cos(1), 5 * math.sin(1))],
        ),
    ],
)
def test_crossings_worked_out_by_hand(first: Edge, second: Edge, expected: list[tuple[float, float]]) -> None:
    assert edge_intersections(first, second) == [pytest.approx(p, abs=1e-9) for p in expected]


def test_shifted_to_the_right() -> None:
    assert Line((0, 0), (10, 0)).shifted(2) == Line((0, -2), (10, -2))
    grown = arc((0, 0), 5, 0, 1).shifted(2)
    shrunk = arc((0, 0), 5, 1, -1).shifted(2)
    assert grown is not None
    assert shrunk is not None
    assert (grown.radius, shrunk.radius) == (7, 3)
    assert arc((0, 0), 5, 0, 1).shifted(-5) is None

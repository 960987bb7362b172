"""Compensated paths of whole plates: which way round, in which order, what is said of what cannot be cut."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platekit.cutting.capability import capability_of
from platekit.cutting.paths import CutPath, Paths, heat_reach, paths_of
from platekit.cutting.route import HEAT_WEIGHT, in_order, way_cost
from platekit.geometry import Point, Pose
from platekit.geometry.edges import moments
from platekit.layout import lay_out
from platekit.placed import Layout
from platekit.spec import load, loads

PLATES = ["dough-mixer", "bead-sorter", "press-pump"]

PLATE = """\
platekit: 1
title: Kelp rack
units: mm
plate:
  material: mild steel
  thickness: 6
  outline: {rectangle: {width: 300, height: 200, corner: 10}}
  cutouts:
    eye: {circle: {diameter: 50}, at: [-60, 0]}
    slit: {slot: {length: 60, width: 14}, at: [60, 20]}
mounts:
  rack: {side: far, looking_at: face, pattern: {points: [[0, -60], [0, 60], [30, 60]], hole: 6}}
cutting: {process: plasma, kerf: 2%s}
"""


@pytest.fixture(params=PLATES)
def plate(request: pytest.FixtureRequest) -> Layout:
    return lay_out(load(f"specs/{request.param}.yaml"))


def runs_clockwise(path: CutPath) -> bool:
    return moments(path.contour)[0] < 0


def test_outside_clockwise_openings_the_other_way(plate: Layout) -> None:
    for path in paths_of(plate).cuts:
        assert runs_clockwise(path) == (path.kind == "outside")


def test_the_direction_can_be_turned_round() -> None:
    paths = paths_of(lay_out(loads(PLATE % ", direction: counter-clockwise")))
    assert paths.direction == "counter-clockwise"
    for path in paths.cuts:
        assert runs_clockwise(path) == (path.kind == "inside")
        assert path.pierced_clear


def test_openings_before_the_outside(plate: Layout) -> None:
    kinds = [path.kind for path in paths_of(plate).cuts]
    assert kinds == sorted(kinds)
    assert kinds[-1] == "outside"


def test_every_pierce_is_clear_and_no_cut_has_a_jump(plate: Layout) -> None:
    for path in paths_of(plate).cuts:
        assert path.pierced_clear
        for before, after in pairwise(path.edges):
            assert math.dist(before.b, after.a) < 1e-9


def test_lengths_of_a_plate_worked_out_by_hand() -> None:
    paths = {path.name: path for path in paths_of(lay_out(loads(PLATE % ""))).cuts}
    # half a kerf is 1 mm: a circle of 48, a slot 12 wide between centres 46 apart, corners of radius 11
    assert paths["eye"].contour_length == pytest.approx(math.pi * 48)
    assert paths["slit"].contour_length == pytest.approx(math.pi * 12 + 2 * 46)
    assert paths["outside"].contour_length == pytest.approx(2 * (280 + 180) + math.tau * 11)


def test_marks_come_with_the_paths() -> None:
    marks = paths_of(lay_out(loads(PLATE % ""))).marks
    assert sorted(marks) == [(0, -60), (0, 60), (30, 60)]


def test_the_same_plate_gives_the_same_paths(plate: Layout) -> None:
    assert paths_of(plate) == paths_of(plate)


def test_a_turned_plate_gives_turned_paths() -> None:
    plain = paths_of(lay_out(loads(PLATE % "")))
    pose = Pose(40, -7, 0.7)
    for path in plain.cuts:
        moved = path.moved(pose)
        assert moved.length == pytest.approx(path.length)
        assert math.dist(moved.pierce, pose.point(path.pierce)) < 1e-9
        assert runs_clockwise(moved) == runs_clockwise(path)


def test_an_opening_narrower_than_the_kerf_is_named() -> None:
    text = (PLATE % "").replace("width: 14", "width: 1.9")
    paths: Paths = paths_of(lay_out(loads(text)))
    assert paths.impossible == ("slit",)
    assert "slit" not in {path.name for path in paths.cuts}


def test_a_cold_process_has_no_heat_to_mind() -> None:
    assert heat_reach(capability_of(lay_out(loads(PLATE % "")))) == 18.0
    cold = (PLATE % "").replace("plasma", "waterjet")
    assert heat_reach(capability_of(lay_out(loads(cold)))) == 0.0


# --------------------------------------------------------------------------------------------- the order

places = st.lists(st.tuples(st.integers(0, 300), st.integers(0, 300)), max_size=14, unique=True)


def route_cost(order: Sequence[int], places: Sequence[Point], start: Point, reach: float, end: Point | None) -> float:
    """What a whole order costs, mm; the first step does not count as hot."""
    if not order:
        return 0.0
    stops = [places[k] for k in order]
    total = math.dist(start, stops[0]) + sum(way_cost(a, b, reach) for a, b in pairwise(stops))
    return total + (way_cost(stops[-1], end, reach) if end is not None else 0.0)


@given(spots=places, reach=st.sampled_from([0.0, 30.0]), end=st.sampled_from([None, (310, 310)]))
def test_every_place_is_visited_once_and_no_turned_piece_is_cheaper(
    spots: list[Point], reach: float, end: Point | None
) -> None:
    order = in_order(spots, (0, 0), reach, end)
    assert sorted(order) == list(range(len(spots)))
    cost = route_cost(order, spots, (0, 0), reach, end)
    for i in range(len(order)):
        for j in range(i + 1, len(order)):
            other = order[:i] + order[i : j + 1][::-1] + order[j + 1 :]
            assert route_cost(other, spots, (0, 0), reach, end) >= cost - 1e-6


def test_a_row_is_cut_from_one_end_to_the_other_when_it_is_cold() -> None:
    row = [(x, 0.0) for x in (50, 10, 40, 20, 30)]
    assert [row[k][0] for k in in_order(row, (0, 0), 0.0, None)] == [10, 20, 30, 40, 50]


def test_a_hot_row_is_not_cut_hole_by_hole() -> None:
    row = [(10.0 * k, 0.0) for k in range(8)]
    order = in_order(row, (0, 0), 25.0, None)
    steps = [abs(a - b) for a, b in pairwise(order)]
    assert sum(step == 1 for step in steps) <= 1
    cost, plain = route_cost(order, row, (0, 0), 25.0, None), route_cost(range(8), row, (0, 0), 25.0, None)
    assert cost < plain


def test_what_a_step_costs() -> None:
    assert way_cost((0, 0), (30, 40), 20.0) == 50.0
    assert way_cost((0, 0), (6, 8), 20.0) == 10 + HEAT_WEIGHT * 10


def test_many_places_are_visited_row_by_row() -> None:
    grid = [(float(x), float(y)) for x in range(0, 500, 10) for y in range(0, 400, 10)]
    order = in_order(grid, (0, 0), 18.0, None)
    assert sorted(order) == list(range(len(grid)))
    by_rows = route_cost(order, grid, (0, 0), 0.0, None)
    assert by_rows < 1.5 * route_cost(range(len(grid)), grid, (0, 0), 0.0, None)

"""The convex outline round shapes: by formula, minimal against shapely, and with thousands of discs."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from platekit.errors import GeometryError
from platekit.geometry import (
    Arc,
    CurvedSlot,
    Disc,
    Loop,
    Pose,
    Shape,
    Slot,
    covers,
    distance,
    edge_distance,
    hull,
    loop_of,
    rectangle,
)


def arcs(outline: Loop | Disc) -> list[tuple[tuple[float, float], float]]:
    assert isinstance(outline, Loop)
    return sorted({(edge.center, edge.radius) for edge in outline.edges if isinstance(edge, Arc)})


def test_four_pads_of_one_size() -> None:
    outline = hull([Disc(p, 12) for p in ((0, 0), (80, 0), (80, 50), (0, 50))])
    assert outline.area == pytest.approx(80 * 50 + 2 * (80 + 50) * 12 + math.pi * 144)
    assert outline.perimeter == pytest.approx(2 * 130 + 24 * math.pi)
    assert isinstance(outline, Loop)
    assert len(outline.edges) == 8


def test_two_discs_as_an_open_belt() -> None:
    # open belt length over two pulleys, exact form with the wrap angles (handbooks of machine design)
    large, small, apart = 30.0, 10.0, 75.0
    lean = math.asin((large - small) / apart)
    length = 2 * apart * math.cos(lean) + large * (math.pi + 2 * lean) + small * (math.pi - 2 * lean)
    outline = hull([Disc((0, 0), large), Disc((apart, 0), small)])
    assert outline.perimeter == pytest.approx(length, rel=1e-12)
    # no edge of more than half a turn: the big arc comes in two pieces
    assert isinstance(outline, Loop)
    assert all(abs(edge.sweep) <= math.pi + 1e-9 for edge in outline.edges if isinstance(edge, Arc))


def test_tangents_join_smoothly() -> None:
    outline = hull([Disc((0, 0), 30), Disc((75, 10), 10), Disc((20, 90), 4), Disc((30, 20), 5)])
    assert isinstance(outline, Loop)
    edges = outline.edges
    for before, after in zip(edges, (*edges[1:], edges[0]), strict=True):
        assert before.direction(1.0) == pytest.approx(after.direction(0.0), abs=1e-9)
    assert len(arcs(outline)) == 3


def test_one_disc_within_another_leaves_the_other() -> None:
    assert hull([Disc((0, 0), 30), Disc((10, 0), 20), Disc((3, 4), 1)]) == Disc((0, 0), 30)
    assert hull([Disc((0, 0), 30), Disc((0, 0), 30)]) == Disc((0, 0), 30)


def test_a_row_of_equal_discs_is_a_slot() -> None:
    for turn in (0.0, 0.3, 1.1, math.pi / 2):
        pose = Pose(7, 5, turn)
        row = hull([Disc((k * 7.3, 0), 4).moved(pose) for k in range(9)])
        assert isinstance(row, Loop)
        assert len(row.edges) == 4
        assert row.area == pytest.approx(Slot((0, 0), (8 * 7.3, 0), 4).area)


def test_discs_that_touch_one_line_leave_no_specks() -> None:
    outline = hull([Disc((x, r), r) for x, r in ((0, 5), (30, 8), (55, 3), (80, 9), (110, 4))])
    assert isinstance(outline, Loop)
    assert all(edge.length > 1e-3 for edge in outline.edges)
    assert len(outline.edges) == 2 * len(arcs(outline))


def test_hull_of_one_shape() -> None:
    assert hull([Slot((0, 0), (10, 0), 3)]).area == pytest.approx(Slot((0, 0), (10, 0), 3).area)
    assert hull([rectangle(20, 10, 2)]).area == pytest.approx(rectangle(20, 10, 2).area)
    # Steiner: the segment between the middle arc and its chord, grown by the radius
    chord = 2 * 50 * math.sin(0.5)
    segment = 0.5 * 50**2 * (1.0 - math.sin(1.0))
    bent = hull([CurvedSlot((0, 0), 50, 0.0, 1.0, 5)])
    assert bent.area == pytest.approx(segment + 5 * (chord + 50 * 1.0) + 25 * math.pi, rel=1e-12)
    star = [(math.cos(k * math.pi / 5) * r, math.sin(k * math.pi / 5) * r, 0.0) for k, r in enumerate([20, 8] * 5)]
    pentagon = hull([loop_of(star)])
    assert pentagon.area == pytest.approx(2.5 * 400 * math.sin(math.radians(72)))


def shapely_area(shapes: Sequence[Shape], outside: bool = True) -> float:
    return float(shapely.union_all([shape.polygon(2e-4, outside) for shape in shapes]).convex_hull.area)


def test_nothing_to_go_round() -> None:
    with pytest.raises(GeometryError, match="nothing to draw an outline round; add an opening"):
        hull([])


def test_zoo_pairs(one: Shape, other: Shape) -> None:
    check_hull([one, other.moved(Pose(45, 20, 0.7, mirrored=True))])


@given(st.data())
def test_hull_holds_every_shape_and_is_minimal(any_shape: st.SearchStrategy[Shape], data: st.DataObject) -> None:
    check_hull(data.draw(st.lists(any_shape, min_size=1, max_size=9)))


def check_hull(shapes: list[Shape]) -> None:
    outline = hull(shapes)
    assert all(covers(outline, shape) for shape in shapes)
    assert shapely_area(shapes, outside=False) - 1e-6 <= outline.area <= shapely_area(shapes) + 1e-6
    if isinstance(outline, Loop):
        assert all(radius > 0 or near_straight(outline, place) for place, radius in outline.inside_corners())
        # every arc and every vertex of the outline is an edge of one of the shapes
        for edge in outline.edges:
            if isinstance(edge, Arc):
                assert min(shape.loop().nearest(edge.at(0.5)).distance for shape in shapes) < 1e-7


def near_straight(outline: Loop, place: tuple[float, float]) -> bool:
    """True for a turn the wrong way that is rounding: less than a thousandth of a micron deep."""
    chords = [edge for edge in outline.edges if math.dist(edge.a, place) < 1e-9 or math.dist(edge.b, place) < 1e-9]
    return min(edge.length for edge in chords) < 1e-5


@given(st.data())
def test_hull_moves_with_its_shapes(
    any_shape: st.SearchStrategy[Shape], any_pose: st.SearchStrategy[Pose], data: st.DataObject
) -> None:
    shapes = data.draw(st.lists(any_shape, min_size=1, max_size=5))
    pose = data.draw(any_pose)
    moved = hull([shape.moved(pose) for shape in shapes])
    assert moved.area == pytest.approx(hull(shapes).area, rel=1e-9)


def test_twenty_thousand_discs() -> None:
    chance = random.Random(7)
    spread = [Disc((chance.uniform(0, 900), chance.uniform(0, 600)), chance.uniform(2, 9)) for _ in range(20000)]
    outline = hull(spread)
    assert isinstance(outline, Loop)
    assert outline.is_convex
    assert min(edge_distance(disc, outline).distance for disc in spread) == pytest.approx(0, abs=1e-9)
    outermost = [disc for disc in spread if outline.depth(disc.center).distance < 12]
    assert shapely_area(outermost) == pytest.approx(outline.area, abs=1.0)


def test_thousands_of_discs_on_a_circle_all_count() -> None:
    ring = [
        Disc((500 * math.cos(k * math.tau / 6000), 500 * math.sin(k * math.tau / 6000)), 5 + 1e-7 * k)
        for k in range(6000)
    ]
    outline = hull(ring)
    assert isinstance(outline, Loop)
    assert len(arcs(outline)) > 4500
    assert all(covers(outline, disc) for disc in ring[::97])


def test_hull_distance_is_the_least_of_all() -> None:
    shapes: list[Shape] = [Disc((0, 0), 5), Disc((40, 0), 8), Disc((20, 30), 3)]
    assert distance(hull(shapes), Disc((20, 60), 1)).distance == pytest.approx(60 - 30 - 3 - 1)

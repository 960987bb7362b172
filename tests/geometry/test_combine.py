"""Adding shapes up, cutting notches, covering by several shapes: by formula, and against shapely."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import given, settings
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
    covered_by_union,
    covers,
    crosses,
    difference,
    intersection,
    notch,
    polygon_loop,
    rectangle,
    union_loops,
)

PLATE = rectangle(40, 20)
FINE = 0.001


def lens(radius: float, apart: float) -> float:
    """Area common to two equal circles (handbooks of plane figures)."""
    half = apart / 2
    return 2 * radius**2 * math.acos(half / radius) - 2 * half * math.sqrt(radius**2 - half**2)


def test_union_of_two_discs_by_formula() -> None:
    [joined] = union_loops([Disc((0, 0), 5), Disc((6, 0), 5)])
    assert joined.area == pytest.approx(2 * 25 * math.pi - lens(5, 6), rel=1e-12)
    assert sorted(p for p, _ in joined.inside_corners()) == [pytest.approx((3, -4)), pytest.approx((3, 4))]
    assert all(edge.radius == pytest.approx(5) for edge in joined.edges if isinstance(edge, Arc))


def test_shapes_apart_or_touching_stay_apart() -> None:
    assert len(union_loops([Disc((0, 0), 5), Disc((20, 0), 5)])) == 2
    assert len(union_loops([Disc((0, 0), 5), Disc((10, 0), 5)])) == 2
    assert union_loops([]) == []


def test_neighbours_with_a_common_side_become_one() -> None:
    [joined] = union_loops([rectangle(10, 10), rectangle(10, 10, center=(10, 0)), rectangle(20, 10, center=(5, 10))])
    assert joined.area == pytest.approx(400)
    assert joined.box == (-5, -5, 15, 15)


def test_one_shape_within_another_disappears() -> None:
    [joined] = union_loops([PLATE, Disc((0, 0), 3), PLATE, rectangle(40, 10, center=(0, 5))])
    assert joined.area == pytest.approx(800)
    assert len(joined.edges) <= 8


def test_a_hole_between_is_filled_even_where_it_touches_the_outside() -> None:
    ring = [rectangle(30, 6, center=(0, y)) for y in (-12, 12)] + [rectangle(6, 30, center=(x, 0)) for x in (-12, 12)]
    [joined] = union_loops(ring)
    assert joined.area == pytest.approx(900)
    # a U whose right arm ends in a tip that touches the lid in one point
    cup = polygon_loop([(0, 0), (10, 0), (10, 8), (9, 10), (8, 8), (8, 2), (2, 2), (2, 10), (0, 10)])
    [closed] = union_loops([cup, rectangle(12, 2, center=(5, 11))])
    assert closed.contains((5, 5))
    assert closed.area == pytest.approx(10 * 8 + 2 * 9 + 1 + 24)


def test_notch_by_formula() -> None:
    assert notch(PLATE, Disc((20, 0), 5)).area == pytest.approx(800 - 12.5 * math.pi)
    assert notch(PLATE, Disc((20, 10), 4)).area == pytest.approx(800 - 4 * math.pi)
    assert notch(PLATE, Slot((20, 0), (10, 0), 3)).area == pytest.approx(800 - 60 - 4.5 * math.pi)
    corner = notch(PLATE, rectangle(10, 10, center=(20, 10)))
    assert corner.area == pytest.approx(775)
    assert corner.inside_corners() == [((pytest.approx(15), pytest.approx(5)), 0.0)]
    flush = notch(PLATE, rectangle(10, 4, center=(0, 8)))
    assert flush.area == pytest.approx(760)


def test_notch_that_misses_leaves_the_outline() -> None:
    assert notch(PLATE, Disc((40, 0), 5)) is PLATE
    assert notch(PLATE, Disc((25, 0), 5)) is PLATE


@pytest.mark.parametrize(
    ("cutter", "message"),
    [
        (Disc((3, 4), 5), r"cutout at 3, 4 lies wholly inside the outline; make it an opening"),
        (rectangle(4, 30), r"cutout at 0, 0 cuts the plate into 2 pieces; make it smaller or move it outwards"),
        (rectangle(60, 60), r"cutout at 0, 0 takes the whole plate away"),
        (PLATE, r"takes the whole plate away"),
        (Disc((15, 0), 5), r"touches itself near 20, "),
    ],
)
def test_notches_that_do_not_work(cutter: Shape, message: str) -> None:
    with pytest.raises(GeometryError, match=message):
        notch(PLATE, cutter)


def test_difference_in_pieces() -> None:
    pieces = difference(PLATE, [rectangle(4, 30, center=(5, 0)), Disc((-20, 10), 3)])
    assert [piece.area for piece in pieces] == [pytest.approx(23 * 20 - 9 * math.pi / 4), pytest.approx(13 * 20)]


def test_an_opening_that_touches_the_outline_is_not_lost() -> None:
    [pinched] = difference(PLATE, [Disc((15, 0), 5)])
    assert pinched.area == pytest.approx(800 - 25 * math.pi)
    assert not pinched.contains((15, 0))


def test_intersection_by_formula() -> None:
    [common] = intersection(Disc((0, 0), 5), Disc((6, 0), 5))
    assert common.area == pytest.approx(lens(5, 6), rel=1e-12)
    assert intersection(Disc((0, 0), 5), Disc((10, 0), 5)) == []
    assert sum(part.area for part in intersection(PLATE, CurvedSlot((0, 0), 20, 0.2, 2.7, 2))) > 0


def test_zoo_adds_up(one: Shape, other: Shape) -> None:
    """Both areas are those of the union and of what they have in common; each less the other, too."""
    for pose in (Pose(6, 2, 0.5), Pose(0, 0, 0, mirrored=True), Pose(300, 0)):
        moved = other.moved(pose)
        joined = union_loops([one, moved])
        common = sum(part.area for part in intersection(one, moved))
        if has_hole(one, moved):
            assert sum(part.area for part in joined) >= one.area + moved.area - common - 1e-6
        else:
            assert sum(part.area for part in joined) == pytest.approx(one.area + moved.area - common, abs=1e-5)
        if common > 1e-5:
            assert crosses(one, moved)
        left = difference(one, [moved])
        if not covers(one, moved) and not has_hole(one, moved):
            assert sum(part.area for part in left) == pytest.approx(one.area - common, abs=1e-5)


def has_hole(one: Shape, other: Shape) -> bool:
    union = shapely.union_all([one.polygon(FINE), other.polygon(FINE)], grid_size=1e-7)
    parts = getattr(union, "geoms", [union])
    gone = one.polygon(FINE).difference(other.polygon(FINE), grid_size=1e-7)
    rest = [part for part in getattr(gone, "geoms", [gone]) if part.geom_type == "Polygon"]
    return any(part.interiors for part in [*parts, *rest])


@settings(max_examples=60)
@given(st.data())
def test_unions_against_shapely(any_shape: st.SearchStrategy[Shape], data: st.DataObject) -> None:
    shapes = data.draw(st.lists(any_shape, min_size=2, max_size=5))
    joined = union_loops(shapes)
    reference = shapely.union_all([shape.polygon(FINE) for shape in shapes], grid_size=1e-7)
    filled = [shapely.Polygon(part.exterior) for part in getattr(reference, "geoms", [reference])]
    assert sum(loop.area for loop in joined) == pytest.approx(
        sum(part.area for part in filled), abs=2.5 * FINE * sum(part.length for part in filled)
    )
    for shape in shapes:
        for edge in shape.loop().edges:
            assert any(loop.depth(edge.at(0.4)).distance > -1e-6 for loop in joined)


@settings(max_examples=60)
@given(st.data())
def test_differences_against_shapely(
    any_loop: st.SearchStrategy[Loop], any_shape: st.SearchStrategy[Shape], data: st.DataObject
) -> None:
    body, cutter = data.draw(any_loop), data.draw(any_shape)
    reference = body.polygon(FINE).difference(cutter.polygon(FINE), grid_size=1e-7)
    parts = [part for part in getattr(reference, "geoms", [reference]) if part.geom_type == "Polygon"]
    if not any(part.interiors for part in parts):
        assert sum(piece.area for piece in difference(body, [cutter])) == pytest.approx(
            sum(part.area for part in parts), abs=2.5 * FINE * (body.perimeter + cutter.perimeter)
        )


HALVES = [rectangle(20, 20, center=(-10, 0)), rectangle(20, 20, center=(10, 0))]


@pytest.mark.parametrize(
    ("inner", "outers", "margin", "answer"),
    [
        (Disc((0, 0), 8), HALVES, 0.0, True),
        (Disc((0, 0), 8), HALVES, 2.0, True),
        (Disc((0, 0), 8), HALVES, 2.01, False),
        (Disc((0, 0), 8), HALVES[:1], 0.0, False),
        (Disc((0, 0), 8), [], 0.0, False),
        (rectangle(40, 20), HALVES, 0.0, True),
        (Slot((-15, 0), (15, 0), 5), [HALVES[0], HALVES[1].moved(Pose(1e-3, 0))], 0.0, False),
        (Disc((0, 0), 6), [*[Disc((5 * math.cos(a), 5 * math.sin(a)), 4.9) for a in (0, 1, 2, 3, 4, 5)]], 0.0, False),
        (Disc((0, 0), 6), [*[Disc((5 * math.cos(a), 5 * math.sin(a)), 5.2) for a in (0, 1, 2, 3, 4, 5)]], 0.0, True),
    ],
)
def test_covered_together(inner: Shape, outers: list[Shape], margin: float, answer: bool) -> None:
    assert covered_by_union(inner, outers, margin) is answer


@settings(max_examples=60)
@given(st.data())
def test_covered_together_against_shapely(
    any_disc: st.SearchStrategy[Disc], any_shape: st.SearchStrategy[Shape], data: st.DataObject
) -> None:
    inner = data.draw(any_disc)
    outers = [
        shape.moved(Pose(inner.center[0] - shape.centroid[0] + dx, inner.center[1] - shape.centroid[1] + dy))
        for shape in data.draw(st.lists(any_shape, min_size=2, max_size=4))
        for dx, dy in [(data.draw(st.floats(-9, 9)), data.draw(st.floats(-9, 9)))]
    ]
    bare = inner.polygon(FINE, outside=False).difference(
        shapely.union_all([outer.polygon(FINE) for outer in outers], grid_size=1e-7), grid_size=1e-7
    )
    surely_bare = inner.polygon(FINE).difference(
        shapely.union_all([outer.polygon(FINE, outside=False) for outer in outers], grid_size=1e-7), grid_size=1e-7
    )
    if bare.area > 1e-5:
        assert not covered_by_union(inner, outers)
    elif surely_bare.area < 1e-12:
        assert covered_by_union(inner, outers)

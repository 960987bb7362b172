"""The way in and out of a cut: always clear of the part, met without a corner where there is room."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from platekit.cutting.leads import Entered, Site, lead_into, starting_at
from platekit.cutting.paths import in_direction
from platekit.geometry import Arc, Disc, Edge, Line, Loop, Shape, between, curved_slot, polygon_loop, rectangle, slot

HALF = 0.75
ROOM = 2.0


def way_into(
    shape: Shape, kind: str = "inside", lead: float = 5.0, room: float = ROOM, keep_out: tuple[Shape, ...] = ()
) -> tuple[Site, Entered]:
    path = shape.grown(-HALF if kind == "inside" else HALF).loop()
    site = Site(path, shape, kind, True, 2 * HALF, lead, room, 4.0, keep_out)
    return site, lead_into(site, in_direction(path, clockwise=kind == "outside"))


SHAPES: dict[str, Shape] = {
    "large hole": Disc((3, 4), 40),
    "small hole": Disc((3, 4), 7.5),
    "slot": slot((0, 0), (30, 10), 5.2),
    "curved slot": curved_slot((0, 0), 70, 0.2, 0.9, 5.0),
    "window": rectangle(60, 30, corner=4),
    "sharp window": rectangle(60, 30),
    "narrow with a room": polygon_loop([(0, 0), (60, 0), (60, 4), (40, 4), (40, 20), (20, 20), (20, 4), (0, 4)]),
}


def length(edges: tuple[Edge, ...]) -> float:
    return math.fsum(edge.length for edge in edges)


def depth(site: Site, edge: Edge, share: float) -> float:
    """How far into the scrap a point of a lead is from the finished edge."""
    inside = site.shape.loop().depth(edge.at(share)).distance
    return inside if site.kind == "inside" else -inside


@pytest.mark.parametrize("kind", ["inside", "outside"])
@pytest.mark.parametrize("name", SHAPES)
def test_the_way_in_is_in_one_piece_and_clear_of_the_part(name: str, kind: str) -> None:
    site, way = way_into(SHAPES[name], kind)
    assert way.lead_in
    run = (*way.lead_in, *way.contour, *way.overrun, *way.lead_out)
    for before, after in pairwise(run):
        assert between(before.b, after.a) < 1e-9
    assert depth(site, way.lead_in[0], 0.0) >= ROOM - 1e-6
    for edge in (*way.lead_in, *way.lead_out):
        for share in (0.0, 0.2, 0.4, 0.6, 0.8, 1.0):
            assert depth(site, edge, share) >= HALF - 1e-6
    assert length(way.contour) == pytest.approx(site.path.perimeter)
    assert length(way.overrun) == pytest.approx(4.0)


@pytest.mark.parametrize("kind", ["inside", "outside"])
@pytest.mark.parametrize("name", SHAPES)
def test_an_arc_meets_the_path_without_a_corner(name: str, kind: str) -> None:
    _, way = way_into(SHAPES[name], kind)
    (lead,) = way.lead_in
    assert isinstance(lead, Arc)
    (ux, uy), (vx, vy) = lead.direction(1.0), way.contour[0].direction(0.0)
    assert ux * vx + uy * vy == pytest.approx(1.0)
    for out in way.lead_out:
        (ux, uy), (vx, vy) = way.overrun[-1].direction(1.0), out.direction(0.0)
        assert ux * vx + uy * vy == pytest.approx(1.0)


def test_a_small_hole_is_entered_from_its_middle() -> None:
    _, way = way_into(Disc((3, 4), 7.5))
    assert way.lead_in[0].a == (3, 4)
    assert way.lead_in[0].length == pytest.approx(math.pi * (7.5 - HALF) / 2)


def test_the_smallest_hole_is_entered_straight() -> None:
    # the path has a radius of 1.25 mm: a half circle of 0.625 mm would be less than half the kerf
    _, way = way_into(Disc((0, 0), 2.0))
    assert isinstance(way.lead_in[0], Line)
    assert way.lead_in[0].length == pytest.approx(1.25)


def test_a_large_hole_is_entered_by_a_quarter_circle_of_the_wanted_lead() -> None:
    _, way = way_into(Disc((0, 0), 40), lead=6.0)
    (lead,) = way.lead_in
    assert isinstance(lead, Arc)
    assert (lead.radius, abs(lead.sweep)) == (pytest.approx(6.0), pytest.approx(math.pi / 2))


def test_without_room_there_is_no_lead() -> None:
    _, way = way_into(slot((0, 0), (30, 0), 1.9))
    assert way.lead_in == ()
    assert way.contour


def test_a_roomy_corner_of_a_narrow_opening_is_found() -> None:
    # a slit 3 mm wide with a pocket at its end: only the pocket has 2 mm to every edge
    shape = polygon_loop([(0, 0), (80, 0), (80, 9), (72, 9), (72, 3), (0, 3)])
    site, way = way_into(shape)
    assert way.lead_in
    assert way.lead_in[0].a[0] > 72
    assert depth(site, way.lead_in[0], 0.0) >= ROOM - 1e-6


def test_leads_stay_away_from_the_neighbours() -> None:
    shape = rectangle(100, 60)
    free_site, free = way_into(shape, "outside")
    neighbour = Disc(free.lead_in[0].a, 3.0)
    _, moved = way_into(shape, "outside", keep_out=(neighbour,))
    assert moved.lead_in
    assert neighbour.loop().depth(moved.lead_in[0].a).distance <= -ROOM
    assert free_site.keep_out == ()


@given(
    points=st.lists(st.tuples(st.integers(0, 80), st.integers(0, 80)), min_size=3, max_size=6, unique=True),
    kind=st.sampled_from(["inside", "outside"]),
    corner=st.sampled_from([0.0, 1.0]),
)
def test_a_lead_into_any_polygon_is_clear_or_there_is_none(
    points: list[tuple[int, int]], kind: str, corner: float
) -> None:
    center = (sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points))
    star = sorted(set(points), key=lambda p: (math.atan2(p[1] - center[1], p[0] - center[0]), between(p, center)))
    shape = _loop(star, corner)
    assume(shape is not None)
    assert shape is not None
    grown = shape.grown_all(-HALF if kind == "inside" else HALF)
    assume(len(grown) == 1)
    site = Site(grown[0], shape, kind, True, 2 * HALF, 5.0, ROOM, 4.0)
    way = lead_into(site, in_direction(grown[0], clockwise=kind == "outside"))
    for edge in way.lead_in:
        for share in (0.0, 0.1, 0.35, 0.6, 0.85, 1.0):
            assert depth(site, edge, share) >= HALF - 1e-5
    if kind == "inside":
        assert bool(way.lead_in) == bool(shape.grown_all(-ROOM))
    else:
        assert way.lead_in


def _loop(points: list[tuple[int, int]], corner: float) -> Loop | None:
    from platekit.errors import GeometryError

    try:
        return polygon_loop(points, corner)
    except GeometryError:
        return None


@given(place=st.floats(0, 1), edge=st.integers(0, 3))
def test_a_path_may_start_anywhere(place: float, edge: int) -> None:
    loop = rectangle(40, 20)
    turned = starting_at(loop.edges, edge, place)
    assert between(turned[-1].b, turned[0].a) < 1e-9
    assert between(turned[0].a, loop.edges[edge].at(place)) < 2e-6
    assert length(turned) == pytest.approx(120)

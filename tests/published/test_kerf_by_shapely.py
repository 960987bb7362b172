"""The compensated paths, held against an independent offset.

Source: shapely's buffer (GEOS), with arcs as fine chords.
Compared: the middle of the kerf, read from the file, with the finished edge moved by half a kerf; also round hulls
    drawn at random.
Within: 0.005 mm.

Shapely knows no arcs: a circle is a polygon inside it. With 0.0005 mm between chord and arc the two offsets may differ
by that and rounding.
"""

from __future__ import annotations

import io
import math

import ezdxf
import pytest
import shapely
from ezdxf.entities import Arc, LWPolyline
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Polygon

from platekit.cutting.capability import capability_of
from platekit.cutting.contours import Contour, contours
from platekit.cutting.leads import Site, lead_into
from platekit.cutting.paths import cut_path, in_direction, paths_of
from platekit.export.dxf_files.kerf import kerf_bytes, shift_of
from platekit.export.dxf_files.kerf_proof import ring_of
from platekit.geometry import Disc, Edge, Line, Shape, curved_slot, polygon_loop, rectangle, slot
from platekit.layout import lay_out
from platekit.spec import load
from tests.export.entities import polylines

BOUND = 0.005
"""mm, the issue's own."""
CHORD = 0.0005
"""How far a chord may lie inside its arc here, mm."""


def fine(shape: Shape) -> Polygon:
    """The finished shape as a polygon within `CHORD`."""
    return shape.polygon(CHORD, outside=False)


def ring(edges: tuple[Edge, ...]) -> Polygon:
    points = []
    for edge in edges:
        steps = (
            1
            if isinstance(edge, Line)
            else math.ceil(abs(edge.sweep) / (2 * math.acos(max(1 - CHORD / edge.radius, 0))))
        )
        points += [edge.at(k / steps) for k in range(steps)]
    return Polygon(points)


def apart(a: Polygon, b: Polygon) -> float:
    """The farthest that the two outlines are from each other, mm."""
    one, other = a.exterior, b.exterior
    shapely.prepare([one, other])
    there = shapely.distance(shapely.points(one.coords), other).max()
    back = shapely.distance(shapely.points(other.coords), one).max()
    return float(max(there, back))


SHAPES: dict[str, Shape] = {
    "disc": Disc((12, -7), 11.3),
    "slot": slot((0, 0), (40, 13), 6.2),
    "curved slot": curved_slot((0, 0), 60, 0.3, 1.1, 5.5),
    "rectangle": rectangle(60, 34),
    "rounded": rectangle(60, 34, corner=7, turn=0.4),
    "hollow": polygon_loop([(0, 0), (80, 0), (80, 60), (50, 60), (50, 30), (30, 30), (30, 60), (0, 60)], 3),
    "pointed": polygon_loop([(0, 0), (90, 10), (20, 40)]),
}


@pytest.mark.parametrize("kind", ["inside", "outside"])
@pytest.mark.parametrize("kerf", [0.2, 1.5, 3.0])
@pytest.mark.parametrize("name", SHAPES)
def test_the_path_is_half_a_kerf_off_by_shapely_too(name: str, kerf: float, kind: str) -> None:
    shape = SHAPES[name]
    grown = shape.grown(kerf / 2 if kind == "outside" else -kerf / 2).loop()
    by_shapely = fine(shape).buffer(kerf / 2 if kind == "outside" else -kerf / 2, quad_segs=60)
    assert apart(ring(grown.edges), by_shapely) < BOUND
    # the way in and out changes nothing of the ring itself
    site = Site(grown, shape, kind, scrap_left=True, kerf=kerf, lead=4.0, room=kerf, overrun=4.0)
    way = lead_into(site, in_direction(grown, clockwise=kind == "outside"))
    assert apart(ring(way.contour), by_shapely) < BOUND


@settings(max_examples=60)
@given(
    points=st.lists(st.tuples(st.integers(-60, 60), st.integers(-60, 60)), min_size=3, max_size=7, unique=True),
    corner=st.sampled_from([0.0, 0.5, 2.0]),
    kerf=st.floats(0.1, 3.0),
)
def test_the_path_round_any_hull_is_half_a_kerf_off_by_shapely_too(
    points: list[tuple[int, int]], corner: float, kerf: float
) -> None:
    hull = shapely.convex_hull(shapely.multipoints(points))
    if hull.geom_type != "Polygon" or hull.minimum_clearance < 12 or hull.area < 400:
        return
    corners = list(hull.exterior.coords)[:-1]
    if min(_angle(corners, k) for k in range(len(corners))) < math.radians(40):
        return
    shape = polygon_loop(corners, corner)
    for sign in (1, -1):
        by_shapely = fine(shape).buffer(sign * kerf / 2, quad_segs=60)
        assert apart(ring(shape.grown(sign * kerf / 2).edges), by_shapely) < BOUND


def _angle(corners: list[tuple[float, float]], k: int) -> float:
    (ax, ay), (bx, by), (cx, cy) = corners[k - 1], corners[k], corners[(k + 1) % len(corners)]
    u, v = (ax - bx, ay - by), (cx - bx, cy - by)
    return math.acos((u[0] * v[0] + u[1] * v[1]) / (math.hypot(*u) * math.hypot(*v)))


@pytest.mark.parametrize("name", ["dough-mixer", "bead-sorter", "press-pump"])
def test_the_written_file_agrees_with_shapely(name: str) -> None:
    layout = lay_out(load(f"specs/{name}.yaml"))
    kerf = capability_of(layout).kerf.value
    paths = paths_of(layout)
    document = ezdxf.read(io.StringIO(kerf_bytes(layout).decode("ascii"), newline=None))
    cuts = polylines(document.modelspace())
    plate = {contour.name: contour for contour in contours(layout)}
    part = fine(plate["outside"].shape)
    for contour in plate.values():
        if contour.kind == "inside":
            part = part.difference(fine(contour.shape))
    swept = []
    for cut in cuts:
        swept += [line.buffer(kerf / 2, quad_segs=60) for line in _chords(cut)]
    burnt = shapely.unary_union(_moved_back(swept, shift_of(paths)))
    # what the kerf takes away touches the part everywhere and eats nothing of it
    assert part.intersection(burnt).area < part.length * BOUND
    for contour in plate.values():
        edge = fine(contour.shape).exterior
        assert burnt.buffer(BOUND).contains(edge)
    assert len(cuts) == len(plate)


def _chords(cut: LWPolyline) -> list[LineString]:
    """The lines and arcs of a cut, each as chords."""
    return [
        LineString(
            [
                (v.x, v.y)
                for v in (piece.flattening(CHORD) if isinstance(piece, Arc) else (piece.dxf.start, piece.dxf.end))
            ]
        )
        for piece in cut.virtual_entities()
    ]


def _moved_back(shapes: list[Polygon], shift: tuple[float, float]) -> list[Polygon]:
    return [shapely.transform(shape, lambda xy: xy - list(shift)) for shape in shapes]


def test_a_ring_is_found_in_a_cut() -> None:
    layout = lay_out(load("specs/bead-sorter.yaml"))
    for contour in contours(layout):
        path = cut_path(Contour(contour.name, contour.kind, contour.shape), capability_of(layout), "clockwise")
        assert path is not None
        found = ring_of(path.edges)
        assert found is not None
        assert math.isclose(math.fsum(edge.length for edge in found), path.contour_length)

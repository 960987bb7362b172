"""The mesh: it is the plate, whatever the plate is like."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import platekit
from platekit.cutting.contours import cut_out
from platekit.errors import StrengthError
from platekit.geometry import Disc, Loop, Slot, distance, edge_distance, polygon_loop, rectangle
from platekit.strength.element import POINTS, WEIGHTS, at_places
from platekit.strength.mesh import Mesh, mesh

SPECS = sorted(Path("specs").glob("*.yaml"))
LEAST_ANGLE = math.radians(13)


def least_angle(made: Mesh) -> float:
    corners = made.nodes[made.triangles[:, :3]]
    angles = []
    for k in range(3):
        one, two = corners[:, (k + 1) % 3] - corners[:, k], corners[:, (k + 2) % 3] - corners[:, k]
        cosine = (one * two).sum(1) / np.linalg.norm(one, axis=1) / np.linalg.norm(two, axis=1)
        angles.append(np.arccos(np.clip(cosine, -1, 1)))
    return float(np.min(angles))


def area(made: Mesh) -> float:
    return float((at_places(made, POINTS).determinant * WEIGHTS).sum())


@pytest.mark.parametrize("path", SPECS, ids=lambda path: path.stem)
def test_every_example_meshes(path: Path) -> None:
    layout = platekit.lay_out(platekit.load(path))
    pieces, inside = cut_out(layout.outline, [opening.shape for opening in layout.openings if opening.through])
    piece = max(pieces, key=lambda one: one.area)
    holes = [one.shape.loop() for one in inside if edge_distance(one.shape, piece).distance > 0]
    made = mesh(piece.loop(), holes, 14.0)
    assert least_angle(made) > LEAST_ANGLE
    assert area(made) == pytest.approx(piece.area - sum(hole.area for hole in holes), rel=2e-3)
    assert len(made.edges) == 1 + len(holes)


@st.composite
def drawn_plates(draw: st.DrawFn) -> tuple[Loop, list[Loop]]:
    """A plate of any of the usual outlines with holes and slots that keep a little steel between them."""
    wide, high = draw(st.floats(60, 500)), draw(st.floats(60, 400))
    corner = draw(st.sampled_from([0.0, 0.05, 3.0, 15.0]))
    notch = [(-wide / 2, -high / 2), (wide / 2, -high / 2), (wide / 2, high / 2), (0, high / 2), (0, 0), (-wide / 2, 0)]
    outer = draw(st.sampled_from([rectangle(wide, high, corner), polygon_loop(notch, corner)]))
    holes: list[Disc | Slot] = []
    for _ in range(draw(st.integers(0, 14))):
        x, y = draw(st.floats(-wide / 2, wide / 2)), draw(st.floats(-high / 2, high / 2))
        radius = draw(st.floats(1.5, 40.0))
        turn, length = draw(st.floats(0, math.pi)), draw(st.floats(1.0, 60.0))
        slot = Slot((x, y), (x + length * math.cos(turn), y + length * math.sin(turn)), radius)
        hole: Disc | Slot = Disc((x, y), radius) if draw(st.booleans()) else slot
        web = draw(st.sampled_from([0.8, 3.0]))
        inside = outer.contains((x, y)) and edge_distance(hole, outer).distance > web
        if inside and all(distance(hole, other).distance > web for other in holes):
            holes.append(hole)
    return outer, [hole.loop() for hole in holes]


@settings(max_examples=40)
@given(drawn_plates(), st.sampled_from([0.35, 0.5]))
def test_a_drawn_plate_meshes(plate: tuple[Loop, list[Loop]], growth: float) -> None:
    outer, holes = plate
    made = mesh(outer, holes, 25.0, growth=growth)
    assert least_angle(made) > math.radians(5)
    assert area(made) == pytest.approx(outer.area - sum(hole.area for hole in holes), rel=5e-3)
    assert np.unique(made.triangles).size == len(made.nodes)


def test_the_same_plate_has_the_same_mesh() -> None:
    one, two = (mesh(rectangle(200, 100, 5), [Disc((10, 5), 12).loop()], 20.0) for _ in range(2))
    assert np.array_equal(one.nodes, two.nodes)
    assert np.array_equal(one.triangles, two.triangles)


def test_edges_that_cross_have_no_mesh() -> None:
    with pytest.raises(StrengthError, match="too near to each other"):
        mesh(rectangle(100, 100), [Disc((0, 0), 20).loop(), Disc((30, 0), 20).loop()], 10.0)

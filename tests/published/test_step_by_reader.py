"""The solid, read by an independent reader of STEP files.

Source: steputils, which knows ISO 10303-21 and no geometry kernel; figures worked out by hand from the spec.
Compared: kinds of surface, that every edge is shared by two faces, holes on both faces, area of the near face, volume.
Within: one thousand millionth of area and volume.

The kernel that wrote the file takes no part. What the entities of ISO 10303-42 mean (a face lies on a surface and is
bounded by loops of oriented edges, an edge runs along a line or a circle) is worked out here.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from steputils import p21

from platekit.export.solid_step import step
from platekit.layout import lay_out
from platekit.spec import loads

SPEC = """\
platekit: 1
title: Kiln fan, motor moved to a new plate
units: mm
plate:
  material: mild steel
  thickness: 6
  outline: {rectangle: {width: 300, height: 200, corner: 25}, at: [40, 10]}
  cutouts:
    cable: {circle: {diameter: 24}, at: [150, 70]}
    window: {rectangle: {width: 50, height: 20, corner: 5}, at: [130, -50]}
mounts:
  fan:
    side: far
    looking_at: face
    pattern: {points: [[-60, -45], [50, -40], [45, 50], [-55, 55]], hole: 9}
    pilot: {diameter: 60, depth: 2, opening: recess, clearance: 0.5}
    bolts: {size: M8, into: part, depth: 40}
  tensioner:
    side: near
    looking_at: back
    pattern: {points: [[-15, 0], [20, 6]], hole: 7}
    at: [130, 10]
    bolts: {size: M6, into: nut, flange: 6}
    take_up: {slots: {along: 0 deg, install: 4, tension: 6}}
  plug:
    side: near
    looking_at: back
    pattern: {points: [[0, 0], [14, 3]]}
    at: [-80, -20]
    bolts: {size: M5, into: plate, flange: 4}
cutting: {process: laser}
"""
THICKNESS = 6.0
TAP_DRILL_M5 = 4.2
"""ISO 2306: tap drill for M5 of coarse pitch."""
RECESS = 60.5

HOLES = {
    # centre, radius: round holes that go through
    **{(x, y, 4.5): None for x, y in [(-60, -45), (50, -40), (45, 50), (-55, 55)]},
    **{(x, y, TAP_DRILL_M5 / 2): None for x, y in [(-80, -20), (-66, -17)]},
    (150, 70, 12.0): None,
}
SLOT_ENDS = [(130 + x + by, 10 + y, 3.5) for x, y in [(-15, 0), (20, 6)] for by in (-4, 6)]


def rounded(width: float, height: float, radius: float) -> float:
    """Area of a rectangle with rounded corners."""
    return width * height - (4 - math.pi) * radius**2


THROUGH = (
    rounded(300, 200, 25)
    - math.fsum(math.pi * radius**2 for _, _, radius in HOLES)
    - 2 * (math.pi * 3.5**2 + 7 * 10)
    - rounded(50, 20, 5)
)


class Solid:
    """The entities of one STEP file, and what they mean."""

    def __init__(self, path: Path) -> None:
        file = p21.readfile(str(path))
        self._all = dict(file.data[0].instances.items())

    def named(self, name: str) -> Iterator[Any]:
        """Every entity of that name."""
        for instance in self._all.values():
            for entity in getattr(instance, "entities", [getattr(instance, "entity", None)]):
                if entity is not None and entity.name == name:
                    yield entity

    def at(self, reference: str) -> Any:
        """The entity that a reference means."""
        return self._all[reference].entity

    def vector(self, reference: str) -> tuple[float, float, float]:
        """A point or direction."""
        x, y, z = self.at(reference).params[1]
        return (x, y, z)

    def frame(self, reference: str) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
        """Place and axis of an AXIS2_PLACEMENT_3D."""
        _, place, axis, _ = self.at(reference).params
        return self.vector(place), self.vector(axis)

    def faces(self) -> Iterator[tuple[Any, Any, bool]]:
        """Each face of the one closed shell: its bounds, its surface, whether it looks along the surface's normal."""
        (solid,) = self.named("MANIFOLD_SOLID_BREP")
        shell = self.at(solid.params[1])
        assert shell.name == "CLOSED_SHELL"
        for reference in shell.params[1]:
            _, bounds, surface, same = self.at(reference).params
            yield bounds, self.at(surface), same == ".T."

    def edges(self, bound: str) -> Iterator[tuple[Any, tuple[float, ...], tuple[float, ...], bool]]:
        """The edges of one bound, from start to end as the loop runs; True when that is along the curve."""
        _, loop, bound_forward = self.at(bound).params
        oriented = list(self.at(loop).params[1])
        for reference in oriented if bound_forward == ".T." else reversed(oriented):
            _, _, _, edge, forward = self.at(reference).params
            _, start, end, curve, same = self.at(edge).params
            a, b = (self.vector(self.at(vertex).params[1]) for vertex in (start, end))
            runs = (forward == ".T.") == (bound_forward == ".T.")
            first, last = (a, b) if runs else (b, a)
            yield self.at(curve), first, last, runs == (same == ".T.")

    def flat_area(self, bound: str) -> float:
        """Signed area inside a bound in a plane of constant z, seen from +z, by Green's theorem."""
        twice = 0.0
        for curve, (ax, ay, _), (bx, by, _), along in self.edges(bound):
            twice += ax * by - bx * ay
            if curve.name == "CIRCLE":
                (cx, cy, _), (_, _, axis) = self.frame(curve.params[1])
                radius = curve.params[2]
                start, end = math.atan2(ay - cy, ax - cx), math.atan2(by - cy, bx - cx)
                counter_clockwise = (axis > 0) == along
                sweep = (end - start) % math.tau if counter_clockwise else -((start - end) % math.tau)
                if math.dist((ax, ay), (bx, by)) < 1e-9:
                    sweep = math.tau if counter_clockwise else -math.tau
                twice += radius**2 * (sweep - math.sin(sweep))
            else:
                assert curve.name == "LINE"
        return twice / 2


@pytest.fixture(scope="module")
def solid(tmp_path_factory: pytest.TempPathFactory) -> Solid:
    path = tmp_path_factory.mktemp("solid") / "kiln.step"
    step(lay_out(loads(SPEC, "kiln")), path)
    return Solid(path)


def test_one_solid_in_millimetres_of_planes_and_cylinders(solid: Solid) -> None:
    """ISO 10303-41: SI_UNIT(.MILLI.,.METRE.) is the length unit."""
    assert [".MILLI.", ".METRE."] in [list(unit.params) for unit in solid.named("SI_UNIT")]
    assert {surface.name for _, surface, _ in solid.faces()} == {"PLANE", "CYLINDRICAL_SURFACE"}
    curves = {curve.name for bounds, _, _ in solid.faces() for bound in bounds for curve, *_ in solid.edges(bound)}
    assert curves == {"LINE", "CIRCLE"}


def test_every_edge_is_shared_by_two_faces_and_loops_close(solid: Solid) -> None:
    """What makes a shell closed: each edge is used once each way."""
    used: Counter[str] = Counter()
    for bounds, _, _ in solid.faces():
        for bound in bounds:
            ends = [(a, b) for _, a, b, _ in solid.edges(bound)]
            for (_, b), (a, _) in zip(ends, ends[1:] + ends[:1], strict=True):
                assert math.dist(a, b) < 1e-9
            for oriented in solid.at(solid.at(bound).params[1]).params[1]:
                used[str(solid.at(oriented).params[3])] += 1
    assert set(used.values()) == {2}


def near_circles(solid: Solid, z: float) -> list[tuple[float, float, float]]:
    """Centre and radius of every circle at that height, each once."""
    found = set()
    for circle in solid.named("CIRCLE"):
        (x, y, height), _ = solid.frame(circle.params[1])
        if abs(height - z) < 1e-9:
            found.add((round(x, 7), round(y, 7), round(circle.params[2], 7)))
    return sorted(found)


def test_holes_stand_on_both_faces_with_their_radius(solid: Solid) -> None:
    corners = [(40 + sx * 125, 10 + sy * 75, 25.0) for sx in (-1, 1) for sy in (-1, 1)]
    window = [(130 + sx * 20, -50 + sy * 5, 5.0) for sx in (-1, 1) for sy in (-1, 1)]
    both = sorted([*HOLES, *SLOT_ENDS, *corners, *window])
    assert near_circles(solid, 0.0) == both
    # the fan is on the far side, so its recess opens there and ends 2 mm (and what the layout leaves free) deep
    assert near_circles(solid, -THICKNESS) == sorted([*both, (0, 0, RECESS / 2)])
    (floor,) = {z for z in heights(solid) if -THICKNESS + 1e-6 < z < -1e-6}
    assert near_circles(solid, floor) == [(0, 0, RECESS / 2)]


def heights(solid: Solid) -> set[float]:
    return {
        round(solid.frame(surface.params[1])[0][2], 9)
        for _, surface, _ in solid.faces()
        if surface.name == "PLANE" and abs(solid.frame(surface.params[1])[1][2]) > 0.5
    }


def test_area_of_the_near_face(solid: Solid) -> None:
    total = math.fsum(
        abs(solid.flat_area(bounds[0])) - math.fsum(abs(solid.flat_area(b)) for b in bounds[1:])
        for bounds, surface, _ in solid.faces()
        if surface.name == "PLANE"
        and abs(solid.frame(surface.params[1])[0][2]) < 1e-9
        and abs(solid.frame(surface.params[1])[1][2]) > 0.5
    )
    assert total == pytest.approx(THROUGH, rel=1e-9)


def test_volume_by_the_divergence_theorem(solid: Solid) -> None:
    """The volume is the sum of z times signed area over all faces square to z; the others add nothing."""
    volume = 0.0
    for bounds, surface, same in solid.faces():
        if surface.name != "PLANE":
            continue
        (_, _, z), (_, _, axis) = solid.frame(surface.params[1])
        if abs(axis) < 0.5:
            continue
        upward = 1.0 if (axis > 0) == same else -1.0
        areas = sorted((abs(solid.flat_area(bound)) for bound in bounds), reverse=True)
        volume += z * upward * (areas[0] - math.fsum(areas[1:]))
    (floor,) = {z for z in heights(solid) if -THICKNESS + 1e-6 < z < -1e-6}
    recess = math.pi * (RECESS / 2) ** 2 * (THICKNESS + floor)
    assert 2.0 <= THICKNESS + floor < THICKNESS
    assert volume == pytest.approx(THROUGH * THICKNESS - recess, rel=1e-9)

"""The solid, read by an independent reader of STEP files.

Source: steputils, which knows ISO 10303-21 and no geometry kernel; figures worked out by hand from the spec.
Compared: kinds of surface, that every edge is shared by two faces, holes on both faces, area of the near face, volume;
    countersinks and counterbores by surface, angle, circles at each height, volume.
Within: one thousand millionth of area and volume.

No kernel for solids takes part. What the entities of ISO 10303-42 mean (a face lies on a surface and is
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
cutting: {process: laser, drilling: 0.3 mm}
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


# ---------------------------------------------------------------------------------- heads let in

SUNK = """\
platekit: 1
title: Wool press, lid
units: mm
plate: {material: mild steel, thickness: 16, outline: {rectangle: {width: 300, height: 200}}}
mounts:
  hinge:
    side: far
    looking_at: face
    pattern: {points: [[60, 40], [110, 45]], hole: 9}
    bolts: {size: M8, into: part, depth: 30, head: countersunk}
  clamp:
    side: near
    looking_at: back
    pattern: {points: [[-60, 40], [-100, 45]], hole: 11}
    bolts: {size: M10, into: part, depth: 30, head: socket, counterbore: true}
  slide:
    side: near
    looking_at: back
    pattern: {points: [[-20, -60]], hole: 6.6}
    bolts: {size: M6, into: part, depth: 30, head: countersunk}
    take_up: {slots: {along: 0 deg, install: 6, tension: 10}}
cutting: {process: waterjet}
"""
CONE_M8 = (17.92, 9.0)
CONE_M6 = (13.44, 6.6)
"""ISO 10642: head over the sharp corner, 90 degrees; and the hole. So a cone is half their difference deep."""
BORE_M10 = (17.0, 10.0)
"""ISO 4762: an M10 socket head is 16 mm wide and 10 mm high; the counterbore is 1 mm wider."""


@pytest.fixture(scope="module")
def sunk(tmp_path_factory: pytest.TempPathFactory) -> Solid:
    path = tmp_path_factory.mktemp("solid") / "lid.step"
    step(lay_out(loads(SUNK, "lid")), path)
    return Solid(path)


def circles_at(solid: Solid, z: float) -> set[tuple[float, float, float]]:
    """As `near_circles`, to a micrometre: an edge where two faces meet is written to 1e-9 mm."""
    return {
        (round(x, 3) + 0.0, round(y, 3) + 0.0, round(circle.params[2], 3))
        for circle in solid.named("CIRCLE")
        for (x, y, height) in [solid.frame(circle.params[1])[0]]
        if abs(height - z) < 1e-6
    }


def test_each_countersink_is_a_true_cone_of_its_angle(sunk: Solid) -> None:
    """ISO 10303-42: CONICAL_SURFACE has place, radius there, and half the angle in the file's unit, here radians."""
    cones = [surface for _, surface, _ in sunk.faces() if surface.name == "CONICAL_SURFACE"]
    assert len(cones) == 4  # two whole ones, and both ends of the slot's groove
    for cone in cones:
        assert abs(cone.params[3]) == pytest.approx(math.pi / 4, rel=1e-12)
        (x, y, _), (_, _, axis) = sunk.frame(cone.params[1])
        assert abs(axis) == pytest.approx(1, rel=1e-12)
        assert any(math.dist((x, y), at) < 1e-9 for at in [(60, 40), (110, 45), (-26, -60), (-10, -60)])


def test_mouths_lie_on_the_face_of_the_heads_and_cones_end_at_the_wall(sunk: Solid) -> None:
    mouth, hole = CONE_M8[0] / 2, CONE_M8[1] / 2
    hinge = [(60, 40), (110, 45)]
    clamp = [(-60, 40), (-100, 45)]
    ends = [(-26, -60), (-10, -60)]
    assert circles_at(sunk, 0.0) == {
        *((x, y, mouth) for x, y in hinge),
        *((x, y, 5.5) for x, y in clamp),
        *((x, y, 3.3) for x, y in ends),
    }
    assert circles_at(sunk, hole - mouth) == {(x, y, hole) for x, y in hinge}
    assert circles_at(sunk, -16.0) == {
        *((x, y, hole) for x, y in hinge),
        *((x, y, BORE_M10[0] / 2) for x, y in clamp),
        *((x, y, CONE_M6[0] / 2) for x, y in ends),
    }
    assert circles_at(sunk, BORE_M10[1] - 16.0) == {(x, y, r) for x, y in clamp for r in (5.5, BORE_M10[0] / 2)}
    assert circles_at(sunk, (CONE_M6[0] - CONE_M6[1]) / 2 - 16.0) == {(x, y, CONE_M6[1] / 2) for x, y in ends}


def test_volume_with_heads_let_in_by_the_divergence_theorem(sunk: Solid) -> None:
    """Planes square to z as above; a slanting face adds the integral of z over its shadow, worked out by hand."""
    volume = 0.0
    for bounds, surface, same in sunk.faces():
        if surface.name != "PLANE":
            continue
        (_, _, z), (_, _, axis) = sunk.frame(surface.params[1])
        if abs(axis) < 0.9:
            continue  # sides of the slot's groove are counted with its cone
        upward = 1.0 if (axis > 0) == same else -1.0
        areas = sorted((abs(sunk.flat_area(bound)) for bound in bounds), reverse=True)
        volume += z * upward * (areas[0] - math.fsum(areas[1:]))

    def shadow(mouth: float, hole: float, straight: float, face: float, down: float) -> float:
        """Integral of z over the ring and the two strips under a 90 degree cone and the groove between its halves."""
        big, small = mouth / 2, hole / 2
        deep = big - small
        ring = math.pi * (big**2 - small**2)
        # depth below the mouth is big - r: integral of (big - r) 2 pi r dr
        ring_depth = math.pi * (big * (big**2 - small**2) - 2 / 3 * (big**3 - small**3))
        strips, strips_depth = 2 * straight * deep, straight * deep**2
        return face * (ring + strips) + down * (ring_depth + strips_depth)

    volume += 2 * shadow(*CONE_M8, 0.0, 0.0, -1.0)  # open to the near face: their normals look up
    volume -= shadow(*CONE_M6, 16.0, -16.0, 1.0)  # open to the far face: they look down
    cone = 2 * math.pi * ((8.96**3 - 4.5**3) / 3 - 4.5**2 * 4.46)
    groove = math.pi * ((6.72**3 - 3.3**3) / 3 - 3.3**2 * 3.42) + 16 * 3.42**2
    bores = 2 * math.pi * (8.5**2 - 5.5**2) * BORE_M10[1]
    through = 2 * math.pi * 4.5**2 + 2 * math.pi * 5.5**2 + math.pi * 3.3**2 + 16 * 6.6
    assert volume == pytest.approx((60000 - through) * 16 - cone - groove - bores, rel=1e-9)

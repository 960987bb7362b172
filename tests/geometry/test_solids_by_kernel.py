"""Distances of solids against a solid modeller that knows nothing of ours: 300 random scenes, fixed seeds.

The modeller (cadquery, on the OCCT kernel) cuts the two solids with each other. A scene may not disagree by more than
`AGREES`: solids that share space have a common volume, and of solids that are clear of each other it measures the same
distance between the faces. Between a cone and an edge it misses the nearest point in one scene of three hundred; where
it measures more than we do, the solids, moved straight together by our distance and `AGREES`, must cut each other.
"""

from __future__ import annotations

import math
import random

import cadquery as cq
import pytest

from platekit.geometry import Disc, Loop, Pose, Shape, Straight, Swing, hull, polygon_loop, pose_at, rectangle, slot
from platekit.geometry.solids import Clearance, Lying, Solid, StandingPrism, Upright, clearance, nearest_position

AGREES = 0.01
"""mm: a tenth of what a caliper shows."""
BATCHES = 10
SCENES = 30


def a_shape(rng: random.Random) -> Shape:
    place = (rng.uniform(-60, 60), rng.uniform(-60, 60))
    turn = rng.uniform(0, math.tau)
    kind = rng.randrange(4)
    if kind == 0:
        return Disc(place, rng.uniform(3, 40))
    if kind == 1:
        return rectangle(rng.uniform(8, 70), rng.uniform(8, 70), rng.choice([0.0, 3.0]), place, turn)
    if kind == 2:
        half = rng.uniform(2, 30)
        return slot((-half, 0), (half, 0), rng.uniform(2, 15)).moved(Pose(*place, turn))
    notched = [(0, 0), (50, 0), (50, 40), (30, 40), (30, 14), (16, 14), (16, 40), (0, 40)]
    return polygon_loop(notched, rng.choice([0.0, 2.0])).moved(Pose(*place, turn, rng.random() < 0.5))


def a_solid(rng: random.Random) -> Solid:
    low = rng.uniform(-40, 40)
    kind = rng.randrange(4)
    if kind == 0:
        angle, length = rng.uniform(0, math.tau), rng.uniform(10, 90)
        a = (rng.uniform(-60, 60), rng.uniform(-60, 60))
        b = (a[0] + length * math.cos(angle), a[1] + length * math.sin(angle))
        return Lying(a, b, rng.uniform(4, 30), low)
    high = low + rng.uniform(3, 50)
    if kind == 1:
        disc = Disc((rng.uniform(-60, 60), rng.uniform(-60, 60)), rng.uniform(2, 20))
        flares = (0.0, rng.uniform(1, 25))
        return Upright(disc, low, high, *(flares if rng.random() < 0.5 else flares[::-1]))
    return Upright(a_shape(rng), low, high)


def a_run(rng: random.Random) -> StandingPrism:
    """A belt's run over shafts that lie along the plate, at one position or over a travel, at any lean."""
    angle, lean, long = rng.uniform(0, math.tau), rng.uniform(0, math.tau), rng.uniform(10, 90)
    x, z = rng.uniform(-60, 60), rng.uniform(-40, 40)
    end = (x + long * math.cos(lean), z + long * math.sin(lean))
    shape = slot((x, z), end, rng.uniform(2, 12)).loop()
    if rng.random() < 0.5:
        other = slot((x, z), (end[0] + rng.uniform(-20, 20), end[1]), rng.uniform(2, 12))
        swept = hull([shape, other])
        shape = swept if isinstance(swept, Loop) else shape
    start = rng.uniform(-60, 40)
    return StandingPrism(shape, (math.cos(angle), math.sin(angle)), start, start + rng.uniform(5, 50))


def modelled(solid: Solid) -> cq.Shape:
    if isinstance(solid, StandingPrism):
        return _standing(solid)
    if isinstance(solid, Lying):
        (ax, ay), (bx, by) = solid.a, solid.b
        along = cq.Vector(bx - ax, by - ay, 0)
        return cq.Solid.makeCylinder(solid.radius, along.Length, cq.Vector(ax, ay, solid.height), along)
    height = solid.high - solid.low
    assert isinstance(solid, Upright)
    if not solid.straight:
        assert isinstance(solid.shape, Disc)
        (x, y), r = solid.shape.center, solid.shape.radius
        return cq.Solid.makeCone(r + solid.flare_low, r + solid.flare_high, height, cq.Vector(x, y, solid.low))
    edges = []
    for edge in solid.shape.loop().edges:
        (ax, ay), (mx, my), (bx, by) = edge.at(0.0), edge.at(0.5), edge.at(1.0)
        ends = cq.Vector(ax, ay, solid.low), cq.Vector(bx, by, solid.low)
        if edge.bulge:
            edges.append(cq.Edge.makeThreePointArc(ends[0], cq.Vector(mx, my, solid.low), ends[1]))
        else:
            edges.append(cq.Edge.makeLine(*ends))
    return cq.Solid.extrudeLinear(cq.Wire.assembleEdges(edges), [], cq.Vector(0, 0, height))


def _standing(solid: StandingPrism) -> cq.Shape:
    """Drawn flat, then set up on the plate: x along u, y up, and held along n."""
    (ux, uy), (nx, ny) = solid.u, solid.n

    def at(p: tuple[float, float]) -> cq.Vector:
        return cq.Vector(p[0] * ux + solid.start * nx, p[0] * uy + solid.start * ny, p[1])

    edges = [
        cq.Edge.makeThreePointArc(at(edge.at(0.0)), at(edge.at(0.5)), at(edge.at(1.0)))
        if edge.bulge
        else cq.Edge.makeLine(at(edge.at(0.0)), at(edge.at(1.0)))
        for edge in solid.shape.edges
    ]
    along = solid.stop - solid.start
    return cq.Solid.extrudeLinear(cq.Wire.assembleEdges(edges), [], cq.Vector(nx * along, ny * along, 0))


def common_volume(a: cq.Shape, b: cq.Shape) -> float:
    return sum(solid.Volume() for solid in a.intersect(b).Solids())


@pytest.mark.parametrize("batch", range(BATCHES))
def test_clearance_agrees_with_the_solid_modeller(batch: int) -> None:
    clear = shared = 0
    for scene in range(SCENES):
        rng = random.Random(1000 * batch + scene)
        a, b = a_solid(rng), a_solid(rng)
        found = clearance(a, b)
        theirs = modelled(a), modelled(b)
        if found.distance > AGREES:
            clear += 1
            apart = theirs[0].distance(theirs[1])
            assert apart >= found.distance - AGREES, (batch, scene)
            if apart > found.distance + AGREES:
                assert common_volume(theirs[0], brought_nearer(theirs[1], found, AGREES)) > 0.0, (batch, scene)
        elif found.distance < -AGREES:
            shared += 1
            assert common_volume(*theirs) > 0.0, (batch, scene)
    assert clear
    assert shared


@pytest.mark.parametrize("batch", range(4))
def test_a_run_of_belt_that_stands_on_the_plate_agrees_with_the_solid_modeller(batch: int) -> None:
    clear = shared = 0
    for scene in range(25):
        rng = random.Random(55000 + 1000 * batch + scene)
        run = a_run(rng)
        other = a_run(rng) if rng.random() < 0.2 else a_solid(rng)
        found = clearance(run, other) if rng.random() < 0.5 else clearance(other, run)
        theirs = modelled(run), modelled(other)
        volume = common_volume(*theirs)
        if found.distance > AGREES:
            clear += 1
            assert volume == 0.0, (batch, scene)
            assert theirs[0].distance(theirs[1]) == pytest.approx(found.distance, abs=AGREES), (batch, scene)
        elif found.distance < -AGREES:
            shared += 1
            assert volume > 0.0, (batch, scene)
    assert clear
    assert shared


def brought_nearer(b: cq.Shape, found: Clearance, more: float) -> cq.Shape:
    """The second solid moved by the clearance found, and `more`, straight from its near point to the first one's."""
    ends = cq.Vector(*found.a, found.z_a), cq.Vector(*found.b, found.z_b)
    way = ends[0] - ends[1]
    return b.translate(way * ((found.distance + more) / way.Length))


@pytest.mark.parametrize("batch", range(2))
def test_clearance_over_the_travel_is_met_at_the_position_told_and_undercut_nowhere(batch: int) -> None:
    for scene in range(10):
        rng = random.Random(77000 + 100 * batch + scene)
        still, moving = a_solid(rng), a_solid(rng)
        if rng.random() < 0.6:
            angle = rng.uniform(0, math.tau)
            travel: Straight | Swing = Straight((math.cos(angle), math.sin(angle)), rng.uniform(0, 20), 25.0)
            low, high = -travel.install, travel.tension
        else:
            travel = Swing((rng.uniform(-90, 90), rng.uniform(-90, 90)), rng.uniform(0, 0.3), 0.4, rng.choice([1, -1]))
            low, high = -travel.install, travel.tension
        found = clearance(moving.swept(travel), still)
        base, own = modelled(still), modelled(moving)
        if found.distance <= 0:
            continue

        def apart(s: float, base: cq.Shape = base, own: cq.Shape = own, travel: Straight | Swing = travel) -> float:
            pose = pose_at(travel, s)
            turned = own.rotate(cq.Vector(0, 0, 0), cq.Vector(0, 0, 1), math.degrees(pose.turn))
            return float(base.distance(turned.translate(cq.Vector(pose.x, pose.y, 0))))

        for k in range(7):
            assert apart(low + (high - low) * k / 6) >= found.distance - AGREES, (batch, scene)
        if isinstance(moving, Upright):
            position = nearest_position(moving.silhouette, travel, found.b)
            assert apart(position) == pytest.approx(found.distance, abs=AGREES), (batch, scene)

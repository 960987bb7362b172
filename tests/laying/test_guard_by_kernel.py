"""Guards at random against a solid kernel: what it sees to overlap, the rule on clashes stops.

Half of the scenes stand still; in the others the motor travels, and the kernel looks at nominal and at both ends.
Guards over shafts along the plate are held as they are cut, with their true openings and bends, not in the pieces that
the rule takes them for.
`python -m tests.laying.test_guard_by_kernel 600` draws others for so many seconds.
"""

from __future__ import annotations

import math
import random
import sys
import time

import cadquery

import platekit
from platekit.checks.bodies import clash, may_touch
from platekit.errors import SpecError
from platekit.geometry import ACROSS, Arc, Loop, Plane, Pose, Shape, Solid, StandingPrism, Upright, ends, pose_at
from platekit.laying.guard import ends_of, sheet_with_lugs, walls
from tests.adversary.sound_plates import ROLLER
from tests.laying.lying_guards import guarded
from tests.laying.test_guard import SPEC
from tests.laying.two_belts import BESIDE, FAN, changed, lying

SLIVER = 1.0
"""Overlap that the kernel may see where two solids only touch, mm3: its faces are off by 1e-7 mm."""


SCENES = 20
"""Guards that stand still and are drawn, the same ones in every run."""
SEEN = 16
"""Overlaps that the kernel must see in them, or they would say nothing."""
TRAVELLING = 6
"""Guards over a motor that travels."""


LYING = 5
"""Guards over shafts that lie along the plate."""
SEEN_LYING = 12
"""Overlaps that the kernel must see in them."""


TWO_BELTS = 6
"""Guards over two belts, one or one each, square to the plate or along it."""
SEEN_TWO = 4
"""Overlaps that the kernel must see in them."""


def solid(shape: Shape, z: tuple[float, float], plane: Plane = ACROSS) -> cadquery.Workplane:
    """A prism in the kernel, its arcs true arcs: on the plate, or in a belt's plane that stands on it."""
    edges = shape.loop().edges
    origin = (z[0] * plane.n[0], z[0] * plane.n[1], z[0] * plane.n[2])
    path = cadquery.Workplane(cadquery.Plane(origin, plane.u, plane.n)).moveTo(*edges[0].a)
    for edge in edges:
        path = path.threePointArc(edge.at(0.5), edge.b) if isinstance(edge, Arc) else path.lineTo(*edge.b)
    return path.close().extrude(z[1] - z[0])


def test_no_clash_that_the_kernel_sees_is_missed() -> None:
    rng = random.Random(20)
    seen = sum(overlaps(rng) for _ in range(SCENES))
    assert seen >= SEEN


def test_no_clash_that_the_kernel_sees_at_an_end_of_the_travel_is_missed() -> None:
    rng = random.Random(7)
    assert sum(travelling(rng) for _ in range(TRAVELLING)) >= TRAVELLING


def test_no_clash_of_a_guard_over_lying_shafts_that_the_kernel_sees_is_missed() -> None:
    rng = random.Random(3)
    assert sum(over_lying_shafts(rng) for _ in range(LYING)) >= SEEN_LYING


def test_no_clash_of_one_guard_over_two_belts_that_the_kernel_sees_is_missed() -> None:
    rng = random.Random(11)
    assert sum(over_two_belts(rng) for _ in range(TWO_BELTS)) >= SEEN_TWO


def overlaps(rng: random.Random) -> int:
    """How many overlaps of the guard with something else the kernel sees in one scene; each must be told."""
    gap, off = rng.randint(6, 40), rng.choice([0, 4, 12])
    back, made = rng.choice(["sheet", "none"]), rng.choice(["bent", "rolled", "segments"])
    driver, angle = rng.randint(60, 140), rng.choice([0, 0, rng.randrange(360)])
    span = rng.choice(["[-40, -20]", "[-28, -12]", "[14, 34]"])
    idler = rng.choice(["", "inside: true, at: [150, 20]", "inside: false, at: [150, 80]"])
    post = (rng.randint(-140, 440), rng.randint(-140, 140))
    turn = math.radians(angle)
    place = f"at: [{300 * math.cos(turn):.4f}, {300 * math.sin(turn):.4f}]"
    text = SPEC.replace("at: [300, 0]", place).replace("span: [-40, -20]", f"span: {span}")
    text = text.replace("gap: 25", f"gap: {gap}, back: {back}, back_from_plate: {off}, band_made: {made}")
    text = text.replace("{on: motor, pitch_diameter: 100", f"{{on: motor, pitch_diameter: {driver}")
    text = text.replace(
        "drive:\n",
        f"  post: {{carried_by: plate, side: {'far' if span == '[14, 34]' else 'near'}, shape: "
        f"{{circle: {{diameter: 30}}, at: [{post[0]}, {post[1]}]}}, span: [0, 50]}}\ndrive:\n",
    )
    if idler and angle == 0:
        text = text.replace("  driven:", f"  idlers: [{{on: plate, diameter: 40, span: {span}, {idler}}}]\n  driven:")
    return told_of_all(text)


TURNS = ("IEC 80 B14", "IEC 90 B14", "IEC 80 B5")
"""Faces of motors that travel."""


def travelling(rng: random.Random) -> int:
    """The same of a motor that travels on slots, on either side of the plate, with an idler and a lug."""
    angle = rng.choice([0, 24, 90, 150, 285])
    gap, off, back = rng.randint(4, 45), rng.choice([0, 5, 12]), rng.choice(["sheet", "none"])
    text = ROLLER.replace("24 deg", f"{angle} deg").replace("IEC 90 B14", rng.choice(TURNS))
    text = text.replace("pilot: {diameter: 95, depth: 3, opening: none}\n    standoff: 4", "standoff: 8")
    text = text.replace(
        "bolts: {into: part, depth: 22, thread_in: aluminium, washer: true}", "screws: {into: nut, flange: 12}"
    )
    text = text.replace("{gap: 25, back: none}", f"{{gap: {gap}, back: {back}, back_from_plate: {off}}}")
    text = text.replace("pitch_diameter: 90", f"pitch_diameter: {rng.choice([71, 90, 112])}")
    text = text.replace("span: [-50, -34]", f"span: [-{38 + rng.randrange(30)}, -{rng.choice([22, 30, 34])}]")
    x, y = (
        round(300 * c + rng.randint(-110, 110)) for c in (math.cos(math.radians(angle)), math.sin(math.radians(angle)))
    )
    lug = f"at: [{rng.randint(-110, 110)}, {rng.randint(-110, 110)}]"
    text = text.replace(
        "drive:\n",
        f"  lug: {{carried_by: motor, shape: {{circle: {{diameter: 16}}, {lug}}}, span: [-60, 0]}}\n"
        f"  post: {{carried_by: plate, side: {rng.choice(['near', 'far'])}, "
        f"shape: {{rectangle: {{width: 30, height: 12}}, at: [{x}, {y}]}}, span: [0, 60]}}\ndrive:\n",
    )
    if rng.random() < 0.4 and angle == 0:
        idler = f"on: plate, diameter: 40, inside: {rng.choice(['true', 'false'])}, at: [150, {rng.randint(10, 110)}]"
        text = text.replace("  driven:", f"  idlers: [{{{idler}, span: [20, 36]}}]\n  driven:")
    if rng.random() < 0.5:
        text = text.replace("side: far", "side: near")
    return told_of_all(text)


def over_lying_shafts(rng: random.Random) -> int:
    """The same of a guard over lying shafts, whichever way these point, with posts, pipes and a lug on the motor."""
    gap, count = rng.randint(8, 40), rng.choice([2, 3, 4, 5])
    made, on = rng.choice(["bent", "rolled", "segments"]), rng.choice(["plate", "plate", "machine"])
    band = rng.choice(["", ", band: 70", ", openings: {shape: slot, width: 4}"])
    guard = f"guard: {{gap: {gap}, on: {on}, band_made: {made}, fixings: {{count: {count}}}{band}}}\n"
    text = guarded(guard)
    if rng.random() < 0.3:
        text = text.replace("height: -150", f"height: -{rng.choice([95, 120, 230])}")
    if rng.random() < 0.4:  # square to that, and the shafts pointing the other way
        turn = rng.choice(["90 deg", "180 deg", "270 deg", "33 deg"])
        text = text.replace("at: [-200, 0]", f"at: [-200, 0]\n    turn: {turn}")
        text = text.replace(
            "at: {belt: {from: bed, angle: 0 deg}}", f"at: {{belt: {{from: bed, angle: {turn}}}}}\n    turn: {turn}"
        )
    spot, axis = [rng.randint(-380, 380), rng.randint(40, 180)], rng.choice([0, 90, 40])
    post = rng.choice(
        [
            f"shape: {{circle: {{diameter: 30}}, at: {spot}}}, span: [0, {rng.choice([10, 90, 300])}]",
            f"shape: {{rectangle: {{width: 60, height: 14}}, at: {spot}}}, span: [{rng.randint(0, 120)}, 260]",
            f"lying: {{diameter: 24, length: 160, height: {rng.randint(20, 240)}, axis: {axis} deg}}, at: {spot}",
        ]
    )
    lug = f"shape: {{circle: {{diameter: 16}}, at: [{rng.randint(-110, 110)}, {rng.randint(100, 150)}]}}, span: [0, 60]"
    text = text.replace(
        "drive:\n",
        f"  post: {{carried_by: plate, side: near, {post}}}\n  lug: {{carried_by: motor, {lug}}}\ndrive:\n",
        1,
    )
    return told_of_all(text)


def over_two_belts(rng: random.Random) -> int:
    """The same of one guard over both belts of a countershaft, with a post somewhere among them."""
    gap, made = rng.randint(6, 40), rng.choice(["bent", "rolled", "segments"])
    x, y = rng.randint(-400, 380), rng.randint(-90, 90)
    kind = rng.choice(["square", "square", "lying", "two guards"])
    if kind == "square":
        post = f"side: near, shape: {{circle: {{diameter: 30}}, at: [{x}, {y}]}}, span: [{rng.randint(0, 60)}, 130]"
        turn = math.radians(rng.randrange(60, 300))
        text = changed(
            BESIDE,
            ("at: [-300, 0]", f"at: [{300 * math.cos(turn):.4f}, {300 * math.sin(turn):.4f}]"),
            ("gap: 25", f"gap: {gap}, band_made: {made}, back: {rng.choice(['sheet', 'none'])}"),
        )
        if rng.random() < 0.3:  # a guard for each, which run into each other
            text = text.replace("guard: {belt: both", f"second_guard: {{gap: {gap}}}\nguard: {{belt: drive")
    else:
        axis, y = rng.choice([0, 40, 90]), rng.randint(160, 230)
        rod = f"lying: {{diameter: 24, length: 160, axis: {axis} deg, height: {rng.randint(20, 140)}}}"
        post = f"side: near, at: [{x}, {-y if kind == 'two guards' else y}], {rod}"
        text = lying(("guard: {belt: both, gap: 12", f"guard: {{belt: both, gap: {gap}, band_made: {made}"))
        if kind == "two guards":  # one at either end of the countershaft
            text = changed(FAN, ("{belt: second, gap: 12", f"{{belt: second, gap: {gap}, band_made: {made}"))
    return told_of_all(changed(text, ("drive:\n", f"  post: {{carried_by: plate, {post}}}\ndrive:\n")))


def true_solids(layout: platekit.Layout, body: platekit.placed.Body) -> list[cadquery.Workplane]:
    """A part of a guard over lying shafts in the kernel as it is cut and bent."""
    guard = next(one for one in layout.guards if body.name.startswith(f"{one.name}."))
    sheets = {guard.cover_name: guard.cover_holes, f"{guard.name}.back 1": guard.ears}
    back, front = ends_of(guard)
    if body.name in sheets:
        at = front if body.name == guard.cover_name else back - guard.outward * guard.thickness
        z = (min(at, at + guard.outward * guard.thickness), max(at, at + guard.outward * guard.thickness))
        sheet = solid(sheet_with_lugs(guard, sheets[body.name]), z, guard.drawn)
        for shape in guard.shafts if body.name != guard.cover_name else ():
            sheet = sheet.cut(solid(shape, z, guard.drawn))
        return [sheet]
    if body.name.startswith(f"{guard.name}.band "):
        edge = walls(guard.outline, guard.floor)[int(body.name.split()[-1]) - 1]
        outer = edge.shifted(guard.thickness)
        assert outer is not None
        bend = edge.bulge if isinstance(edge, Arc) else 0.0
        wall = Loop(((*edge.a, 0.0), (*outer.a, bend), (*outer.b, 0.0), (*edge.b, -bend)))
        return [solid(wall, guard.z, guard.drawn)]
    return [in_kernel(one) for one in body.solids]


def in_kernel(part: Solid) -> cadquery.Workplane:
    """Any solid of ours in the kernel."""
    if isinstance(part, Upright):
        assert part.straight
        return solid(part.shape, (part.low, part.high))
    if isinstance(part, StandingPrism):
        (ux, uy), (nx, ny) = part.u, part.n
        return solid(part.shape, (part.start, part.stop), Plane((ux, uy, 0.0), (0.0, 0.0, 1.0), (nx, ny, 0.0)))
    (ax, ay), (bx, by) = part.a, part.b
    way = (bx - ax, by - ay, 0.0)
    long = math.hypot(*way)
    return cadquery.Workplane(
        obj=cadquery.Solid.makeCylinder(part.radius, long, cadquery.Vector(ax, ay, part.height), cadquery.Vector(*way))
    )


def told_of_all(text: str) -> int:
    """How many overlaps of a guard with something else the kernel sees, at any position; each must be told."""
    try:
        layout = platekit.lay_out(platekit.loads(text, "fan.yaml"))
    except SpecError:
        return 0
    told = {frozenset((a, b)) for finding in clash(layout) for a in finding.features for b in finding.features}
    guard = [body for body in layout.bodies if body.kind == "guard"]
    seen = 0
    lies = layout.guard is not None and layout.guard.drawn.lies
    for own in guard:
        sheets = true_solids(layout, own) if lies else []
        for other in layout.bodies:
            if may_touch(own, other) or (other.kind == "guard" and other.field == own.field):
                continue
            if lies:
                met = meet_in_space(own, sheets, other)
            else:
                met = any(overlap(own, part, pose) > SLIVER for part in other.solids for pose in positions(other))
            if met:
                seen += 1
                assert frozenset((own.name, other.name)) in told, (own.name, other.name, text)
    return seen


def meet_in_space(own: platekit.placed.Body, sheets: list[cadquery.Workplane], other: platekit.placed.Body) -> bool:
    """Whether the kernel sees a part of a standing guard, `sheets`, to share space with a body at any position."""
    if own.swept.box.gap(other.swept.box) > 0 or max(own.z[0], other.z[0]) >= min(own.z[1], other.z[1]):
        return False
    parts = [in_kernel(part.moved(pose)) for pose in positions(other) for part in other.solids]
    for sheet in sheets:
        for part in parts:
            common = sheet.intersect(part)
            if sum(one.Volume() for one in common.vals() if isinstance(one, cadquery.Shape)) > SLIVER:
                return True
    return False


def positions(body: platekit.placed.Body) -> list[Pose]:
    """Nominal, and both ends of its travel."""
    if body.travel is None:
        return [Pose()]
    return [pose_at(body.travel, s) for s in (0.0, *ends(body.travel))]


def overlap(own: platekit.placed.Body, part: Solid, pose: Pose) -> float:
    """The volume that the kernel sees two solids to share, mm3."""
    if not isinstance(part, Upright) or not part.straight or max(part.low, own.z[0]) >= min(part.high, own.z[1]):
        return 0.0
    shape = part.shape.moved(pose)
    if shape.box.gap(own.shape.box) > 0:
        return 0.0
    common = solid(own.shape, own.z).intersect(solid(shape, (part.low, part.high)))
    return float(sum(one.Volume() for one in common.vals() if isinstance(one, cadquery.Shape)))


if __name__ == "__main__":
    stop, tries = time.monotonic() + float(sys.argv[1]), 0
    while time.monotonic() < stop:
        drawn = random.Random(f"longer {tries}")
        tries += 1
        (overlaps, travelling, over_lying_shafts, over_two_belts)[tries % 4](drawn)
    print(f"{tries} guards, every overlap told")

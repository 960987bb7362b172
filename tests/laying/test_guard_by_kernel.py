"""Guards at random against a solid kernel: what it sees to overlap, the rule on clashes stops.

Half of the scenes stand still; in the others the motor travels, and the kernel looks at nominal and at both ends.
`python -m tests.laying.test_guard_by_kernel 600` draws others for so many seconds.
"""

from __future__ import annotations

import math
import random
import sys
import time

import cadquery

import platekit
from platekit.checks.bodies import may_touch
from platekit.errors import SpecError
from platekit.geometry import Arc, Pose, Shape, Solid, Upright, ends, pose_at
from tests.adversary.sound_plates import ROLLER
from tests.laying.test_guard import SPEC

SLIVER = 1.0
"""Overlap that the kernel may see where two solids only touch, mm3: its faces are off by 1e-7 mm."""


SCENES = 20
"""Guards that stand still and are drawn, the same ones in every run."""
SEEN = 16
"""Overlaps that the kernel must see in them, or they would say nothing."""
TRAVELLING = 6
"""Guards over a motor that travels."""


def solid(shape: Shape, z: tuple[float, float]) -> cadquery.Workplane:
    """A prism in the kernel, its arcs true arcs."""
    edges = shape.loop().edges
    path = cadquery.Workplane("XY", origin=(0, 0, z[0])).moveTo(*edges[0].a)
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


def told_of_all(text: str) -> int:
    """How many overlaps of a guard with something else the kernel sees, at any position; each must be told."""
    try:
        layout = platekit.lay_out(platekit.loads(text, "fan.yaml"))
    except SpecError:
        return 0
    told = {
        frozenset((a, b))
        for finding in platekit.check(layout).findings
        if finding.rule == "clash"
        for a in finding.features
        for b in finding.features
    }
    guard = [body for body in layout.bodies if body.kind == "guard"]
    others = [body for body in layout.bodies if body.kind != "guard"]
    seen = 0
    for own in guard:
        for other in others:
            if may_touch(own, other):
                continue
            if any(overlap(own, part, pose) > SLIVER for part in other.solids for pose in positions(other)):
                seen += 1
                assert frozenset((own.name, other.name)) in told, (own.name, other.name, text)
    return seen


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
        (overlaps if tries % 2 else travelling)(drawn)
    print(f"{tries} guards, every overlap told")

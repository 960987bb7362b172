"""Guards at random against a solid kernel: what it sees to overlap, the rule on clashes stops."""

from __future__ import annotations

import math
import random

import cadquery

import platekit
from platekit.checks.bodies import may_touch
from platekit.errors import SpecError
from platekit.geometry import Arc, Shape, Upright
from tests.laying.test_guard import SPEC

SLIVER = 1.0
"""Overlap that the kernel may see where two solids only touch, mm3: its faces are off by 1e-7 mm."""


SCENES = 24
"""Guards that are drawn, the same ones in every run."""


def solid(shape: Shape, z: tuple[float, float]) -> cadquery.Workplane:
    """A prism in the kernel, its arcs true arcs."""
    edges = shape.loop().edges
    path = cadquery.Workplane("XY", origin=(0, 0, z[0])).moveTo(*edges[0].a)
    for edge in edges:
        path = path.threePointArc(edge.at(0.5), edge.b) if isinstance(edge, Arc) else path.lineTo(*edge.b)
    return path.close().extrude(z[1] - z[0])


def boxes_meet(a: platekit.placed.Body, b: platekit.placed.Body) -> bool:
    return a.z[0] < b.z[1] and b.z[0] < a.z[1] and a.shape.box.gap(b.shape.box) <= 0


def test_no_clash_that_the_kernel_sees_is_missed() -> None:
    rng = random.Random(20)
    seen = sum(overlaps(rng) for _ in range(SCENES))
    assert seen >= SCENES  # the scenes are crowded enough to say something


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
            if not boxes_meet(own, other) or may_touch(own, other):
                continue
            for part in other.solids:
                if isinstance(part, Upright) and part.straight and max(part.low, own.z[0]) < min(part.high, own.z[1]):
                    common = solid(own.shape, own.z).intersect(solid(part.shape, (part.low, part.high)))
                    shared = sum(one.Volume() for one in common.vals() if isinstance(one, cadquery.Shape))
                    if shared > SLIVER:
                        seen += 1
                        assert frozenset((own.name, other.name)) in told, (own.name, other.name, text)
    return seen

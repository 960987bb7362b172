"""Rules on how parts sit: washers on the casting's pads, pilots against what faces them, pulleys off the plate."""

from __future__ import annotations

import math
from collections.abc import Iterator

from platekit.checks.advice import packing, rounded_up, say, step_mm, words_at
from platekit.checks.drive_edits import span_moved
from platekit.checks.finding import Advice, Finding, Remedy
from platekit.checks.rule import Rule
from platekit.geometry import Disc, Index, covered_by_union, distance, edge_distance, hull
from platekit.placed import SAME_LENGTH, Body, Layout

# --------------------------------------------------------------------------------------------- pads


def pad(layout: Layout) -> Iterator[Finding]:
    """Washers and heads (mm) that do not sit wholly within the pad measured round each hole of a part."""
    for mount in layout.mounts.values():
        shape, stack = mount.pad, mount.stack
        if shape is None or stack is None:
            continue
        heads = (body for body in layout.bodies if body.kind == "head" and body.carrier == mount.name)
        bearing = max(stack.washer_outer, max((body.shape.box.width for body in heads), default=0.0), mount.hole)
        room = edge_distance(Disc((0.0, 0.0), bearing / 2), shape).distance
        if room >= -SAME_LENGTH:
            continue
        lost = edge_distance(Disc((0.0, 0.0), mount.hole / 2), shape).distance < -SAME_LENGTH
        yield Finding(
            rule="pad",
            level="stop" if lost else "warn",
            message=f"{mount.name}: a {'washer' if stack.washer_outer >= bearing else 'head'} "
            f"{say(layout, bearing)} across stands {say(layout, -room)} over the edge of the pad round each hole"
            + ("; the hole itself leaves the pad" if lost else ""),
            features=mount.hole_names,
            at=mount.points[0],
            found=room,
            needed=0.0,
            advice=Advice("use a smaller washer or head, or check where the pad was measured"),
        )


# --------------------------------------------------------------------------------------------- depth


def depth(layout: Layout) -> Iterator[Finding]:
    """Pilots that stand out of the other face of the plate (mm), against the part that is bolted there."""
    low, high = layout.plate_z
    located = {one.mount for one in layout.openings if one.role == "pilot"}
    for body in layout.bodies:
        if body.kind != "spigot":
            continue
        short = body.z[0] - high if body.side == "near" else low - body.z[1]
        if short > -SAME_LENGTH and body.carrier in located:
            field = layout.mounts[body.carrier].field
            where = "at" if short < SAME_LENGTH else f"{say(layout, short)} before"
            yield Finding(
                rule="depth",
                level="warn",
                message=f"{body.name} ends {where} the plate's face, so the opening for it locates nothing",
                features=(body.name, f"{body.carrier}.pilot"),
                at=body.shape.centroid,
                found=-max(short, 0.0),
                needed=0.0,
                advice=Advice(
                    "leave its opening out (pilot: opening: none) and locate the part by dowels or the belt's pull, or "
                    "take the spacers out",
                    (Remedy(f"{field}.pilot.opening", "none"),),
                ),
            )
            continue
        out = low - body.z[0] if body.side == "near" else body.z[1] - high
        # A pilot that stands out of the other face matters only where a part is bolted there.
        facing = None
        for other in layout.mounts.values() if out > SAME_LENGTH else ():
            if other.side == body.side or len(other.points) < 2 or other.standoff >= out - SAME_LENGTH:
                continue
            # The part is at least where its screws are; more of it is not known.
            around = hull(Disc(point, other.hole / 2) for point in other.points)
            if distance(around, body.shape).distance < 0:
                facing = other.name
                break
        if facing is None:
            continue
        mount = layout.mounts[body.carrier]
        standoff = rounded_up(layout, mount.spacing + out)
        yield Finding(
            rule="depth",
            level="warn",
            message=f"{body.name} is {say(layout, out)} deeper than the plate is thick and reaches the mating face "
            f"of {facing}",
            features=(body.name, facing),
            at=body.shape.centroid,
            found=out,
            needed=0.0,
            advice=Advice(
                f"set {body.carrier} on {packing(layout, standoff)} (standoff: {standoff:g}), take a thicker plate, "
                f"or see that {facing} is hollow there",
                (Remedy(f"{mount.field}.standoff", standoff),),
            ),
        )


# --------------------------------------------------------------------------------------------- rubbing


def rub(layout: Layout) -> Iterator[Finding]:
    """Pulleys and belts that run nearer to the plate's face than their gap (mm)."""
    low, high = layout.plate_z
    through = [opening.shape for opening in layout.openings if opening.through]
    index = Index([shape.box for shape in through])
    for belt in layout.belts:
        if belt.drawn.lies or belt.impossible:  # `over-plate` says it, with another mend
            continue
        running = [body for body in layout.bodies if body.belt == belt.name]
        near: list[tuple[float, Body]] = []
        for body in running:
            # Below zero it is in the plate, which is `blocked`'s to say.
            off = max(body.z[0] - high, low - body.z[1])
            if -SAME_LENGTH <= off < body.gap - SAME_LENGTH and distance(body.swept, layout.plane).distance < body.gap:
                around = [through[k] for k in index.near(body.swept.box, body.gap)]
                if not covered_by_union(body.swept, around, body.gap):
                    near.append((off, body))
        if near:
            off, body = min(near, key=lambda one: round(one[0], 9))
            missing = body.gap - off
            above = body.z[0] >= layout.plate_z[1] - SAME_LENGTH
            # All its pulleys go as far, rims and hubs alike, so that the belt stays in its plane; one step more than is
            # missing, since the edit is rounded to the step.
            remedies: list[Remedy] = []
            for pulley in belt.pulleys:
                by = (missing if above else -missing) * pulley.sense
                outward = by + math.copysign(step_mm(layout), by)
                remedies.append(span_moved(layout, f"{pulley.field}.span", pulley.span, outward))
                hub = getattr(words_at(layout, pulley.field), "hub", None)
                if hub is not None:
                    remedies.append(span_moved(layout, f"{pulley.field}.hub.span", hub.span, outward))
            yield Finding(
                rule="rub",
                level="stop",
                message=f"{body.name} runs {say(layout, max(off, 0.0))} from the face of the plate; "
                f"{say(layout, body.gap)} is needed",
                features=(body.name,),
                at=body.shape.centroid,
                found=max(off, 0.0),
                needed=body.gap,
                advice=Advice(
                    f"move both pulleys of {belt.name} {say(layout, missing)} farther from the plate along their "
                    "shafts",
                    tuple(remedies),
                ),
            )


RULES = (
    Rule(
        "pad",
        "a washer or head that hangs over the edge of the casting's pad",
        "wholly within the pad",
        "common practice",
        pad,
        levels=("stop", "warn"),
        keys=("mounts.NAME.pad",),
    ),
    Rule(
        "depth",
        "a pilot deeper than the plate is thick, against the part behind",
        "the plate's thickness",
        "geometry",
        depth,
        levels=("warn",),
        keys=("plate.thickness",),
    ),
    Rule(
        "rub",
        "a pulley or belt that runs against the plate",
        "the body's gap, 2 mm",
        "common practice",
        rub,
        levels=("stop",),
        keys=("limits.gap",),
    ),
)

"""Rules on heads let into the plate: what is left under them, what they sit on, how a seat along a slot is made."""

from __future__ import annotations

import math
from collections.abc import Iterator

from platekit import tables
from platekit.checks.advice import say
from platekit.checks.finding import Advice, Finding, Remedy
from platekit.checks.openings import head_on_the_plate
from platekit.checks.rule import Rule
from platekit.checks.screws import BEARING_OVERLAP
from platekit.cutting.heads import HeadSeat, seats
from platekit.cutting.operations import head_operation
from platekit.errors import LookupFailed
from platekit.geometry import Index, Upright, clearance, height_gap
from platekit.laying.limits import seat_web
from platekit.placed import SAME_LENGTH, Layout, ScrewStack
from platekit.tables.shop import shop_figure
from platekit.tables.torques import USUAL_CLASS

LEFT_UNDER_A_HEAD = shop_figure("steel under a sunk head, least")
"""Least steel under a head that is let into the plate, mm (`shop_figures.csv`)."""
SHEAR_OF_YIELD = 1 / math.sqrt(3)
"""Yield strength in shear, as a share of that in tension (von Mises, as in Shigley)."""


# ---------------------------------------------------------------------------------- under a head


def counterbore(layout: Layout) -> Iterator[Finding]:
    """Heads let so deep into the plate that too little (mm) is left under them to carry the screw's pull."""
    for stack in layout.stacks:
        if not stack.let_in:
            continue
        left = layout.thickness - stack.let_in
        needed, why = left_needed(layout, stack)
        if left >= needed - SAME_LENGTH:
            continue
        yield Finding(
            rule="counterbore",
            level="stop",
            message=f"{stack.mount}: a head recessed by {say(layout, stack.let_in)} leaves "
            f"{say(layout, max(left, 0.0))} of the plate under it; {say(layout, needed)} is needed{why}",
            features=layout.mounts[stack.mount].hole_names,
            at=layout.mounts[stack.mount].points[0],
            found=left,
            needed=needed,
            advice=Advice(
                "let it stand on the plate (counterbore: false), or take a smaller screw",
                (Remedy(f"{stack.field}.counterbore", False),),
            ),
        )


def left_needed(layout: Layout, stack: ScrewStack) -> tuple[float, str]:
    """Steel that must be left under a head in a counterbore, mm, and why in words where it is not the usual least.

    The preload of a screw of usual strength would push a plug as wide as the head (or its washer) out of the plate: its
    rim, sheared, must not yield. Where no strength is listed the usual least stands alone.
    """
    screw = tables.screw(stack.size)
    across = max(screw.socket_head_diameter or 0.0, stack.washer_outer)
    try:
        pull = tables.torque(stack.size, USUAL_CLASS[screw.system]).preload
    except LookupFailed:
        return LEFT_UNDER_A_HEAD, ""
    # a plug's rim is its girth times what is left: pull over that is the shear in it
    carried = pull / (math.pi * across * SHEAR_OF_YIELD * layout.material.yield_strength)
    if carried <= LEFT_UNDER_A_HEAD:
        return LEFT_UNDER_A_HEAD, ""
    return carried, f" to carry the {pull / 1000:.0f} kN that {stack.size} pulls with when tight"


# ---------------------------------------------------------------------------------- the seat itself


def head_seat(layout: Layout) -> Iterator[Finding]:
    """Seats (mm) that a recess or another seat cuts away, that the hole leaves nothing of, or along a slot."""
    sunk = seats(layout)
    yield from _cut_away(layout, sunk)
    # Countersunk heads over a hole so wide that they bear on too little of a cone, or fall through.
    for stack in layout.stacks:
        step = head_operation(stack)
        if step is None or step.diameter is None or step.angle_deg is None:
            continue
        mount = layout.mounts[stack.mount]
        needed = mount.hole + 2 * BEARING_OVERLAP
        if step.diameter >= needed - SAME_LENGTH:
            continue
        lost = mount.hole_names[0] not in sunk
        does = "falls through" if lost else "sits on too narrow a cone in"
        yield Finding(
            rule="head-seat",
            level="stop" if lost else "warn",
            message=f"{stack.mount}: a countersunk head {say(layout, step.diameter)} across {does} a hole "
            f"{say(layout, mount.hole)} wide; {say(layout, needed)} across is needed to bear",
            features=mount.hole_names,
            at=mount.points[0],
            found=step.diameter,
            needed=needed,
            advice=Advice("make the hole smaller, or use a head and washer that stand on the plate (head: hex)"),
        )
    # Seats that a drill press cannot make, since they run along a slot.
    for mount in layout.mounts.values():
        seat = next((sunk[name] for name in mount.hole_names if name in sunk), None)
        if seat is None:
            continue
        hole = layout.opening(seat.opening)
        # what a slot's area has beyond its round ends, over its width, is how long it is
        long = (hole.shape.area - math.pi / 4 * hole.size**2) / hole.size
        if long <= SAME_LENGTH:
            continue
        advice = head_on_the_plate(layout, seat)
        what = "countersink" if seat.tapers else "counterbore"
        bears = "; a cone in a groove bears along two lines only, and lets go under the belt's pull"
        yield Finding(
            rule="head-seat",
            level="warn" if seat.tapers else "note",
            message=f"{mount.name}: the {what} runs {say(layout, long)} along a slot, so it must be milled, not drilled"
            + (bears if seat.tapers else ""),
            features=mount.hole_names,
            at=mount.points[0],
            found=long,
            needed=0.0,
            advice=advice,
        )


def _cut_away(layout: Layout, sunk: dict[str, HeadSeat]) -> Iterator[Finding]:
    """A seat against recesses of either side, and against seats that come from the other side."""
    if not sunk:
        return
    recesses = [opening for opening in layout.openings if not opening.through]
    things: list[tuple[str, Upright, HeadSeat | None]] = [(s.opening, s.solid, s) for s in sunk.values()]
    low, high = layout.plate_z
    for recess in recesses:
        deep = min(recess.depth or 0.0, layout.thickness)
        span = (low, low + deep) if recess.side == "far" else (high - deep, high)
        things.append((recess.name, Upright(recess.shape, *span), None))
    web = max(LEFT_UNDER_A_HEAD, seat_web(layout.limits, layout.thickness))
    for i, j in Index([solid.silhouette.box for _, solid, _ in things]).pairs_within(web):
        (a, solid, seat), (b, other, opposite) = sorted((things[i], things[j]), key=lambda one: one[2] is None)
        if seat is None or (opposite is not None and opposite.side == seat.side):
            continue
        # side by side they need a web of steel, one above the other what is left under a head
        near = clearance(solid, other)
        needed = seat_web(layout.limits, layout.thickness) if height_gap(solid, other) < 0 else LEFT_UNDER_A_HEAD
        if near.distance >= needed - SAME_LENGTH:
            continue
        what = f"the recess {b}" if opposite is None else f"the seat of {b}'s head on the other side"
        found = f"leaves {say(layout, near.distance)} of steel to" if near.distance > SAME_LENGTH else "runs into"
        advice = head_on_the_plate(layout, seat)
        yield Finding(
            rule="head-seat",
            level="stop",
            message=f"{a}: the seat of its head {found} {what}; {say(layout, needed)} is needed between them",
            features=(a, b),
            at=near.between,
            found=near.distance,
            needed=needed,
            advice=Advice(f"{advice.text}, or move the two apart", advice.remedies),
        )


RULES = (
    Rule(
        "counterbore",
        "a head recessed so deep that it pulls through",
        f"{LEFT_UNDER_A_HEAD:g} mm left under it, or what the screw's preload needs in shear, if that is more",
        "from memory; shear by von Mises (Shigley)",
        counterbore,
        levels=("stop",),
    ),
    Rule(
        "head-seat",
        "a recessed head whose seat is cut away, too narrow for it, or not to be drilled",
        f"{LEFT_UNDER_A_HEAD:g} mm to recesses and seats of the other side; {BEARING_OVERLAP:g} mm of cone all round",
        "from memory",
        head_seat,
        levels=("stop", "warn", "note"),
        keys=("limits.web",),
    ),
)

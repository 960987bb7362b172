"""Rules on which way round a part goes on: mirror images and turns that bolt up just as well."""

from __future__ import annotations

from collections.abc import Iterator

from platekit.checks.finding import Advice, Finding
from platekit.checks.rule import Rule
from platekit.geometry import mirror_fits, turn_order
from platekit.placed import Layout

SAME_HOLE = 0.25
"""Hole centres closer than this bolt up alike, mm (half the slack of an M10 screw in an 11 mm hole; ours)."""


def mirror(layout: Layout) -> Iterator[Finding]:
    """Mounts whose mirrored pattern would fit as well (to 0.25 mm): the holes cannot tell a reversed plate."""
    for mount in layout.mounts.values():
        if mount.lug_of is not None or len(mount.own_points) < 2 or not mirror_fits(mount.own_points, SAME_HOLE):
            continue
        # a body that is off the mirror line shows what the holes do not, if someone looks for it
        carries = [b.name for b in layout.bodies if b.carrier == mount.name and b.kind == "given"]
        lands = f" and check that {carries[0]} lands in place" if carries else " the right way round"
        yield Finding(
            rule="mirror",
            level="note",
            message=f"{mount.name}: its holes and their mirror image are alike, so that a mirrored plate would bolt on "
            f"unnoticed: lay the paper on{lands}",
            features=(mount.name,),
            at=(mount.pose.x, mount.pose.y),
            advice=Advice("mark the near side on the plate"),
        )


def clocking(layout: Layout) -> Iterator[Finding]:
    """Mounts that fit (to 0.25 mm) more than one way round; what hangs on the part goes round with it."""
    for mount in layout.mounts.values():
        if mount.lug_of is not None:  # either way round it is the same
            continue
        order = turn_order(mount.own_points, SAME_HOLE) if len(mount.own_points) > 1 else 0
        if order < 2:
            continue
        yield Finding(
            rule="clocking",
            level="note",
            message=f"{mount.name}: its holes fit {order} ways round (its clocking, which way round it sits, is free); "
            "a terminal box, drain or vent goes round with the part",
            features=(mount.name,),
            at=(mount.pose.x, mount.pose.y),
            found=float(order),
            needed=1.0,
            unit="ways",
            advice=Advice("mark which way is up on the plate and on the part"),
        )


RULES = (
    Rule("mirror", "a pattern that hides a reversed plate", f"{SAME_HOLE:g} mm", "ours", mirror, levels=("note",)),
    Rule(
        "clocking",
        "a part that bolts up more than one way round",
        f"{SAME_HOLE:g} mm",
        "ours",
        clocking,
        levels=("note",),
    ),
)

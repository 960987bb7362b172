"""The rule on what goes through a belt's loop: an endless belt comes on over the free ends of its shafts."""

from __future__ import annotations

from collections.abc import Iterator

from platekit.checks.advice import say
from platekit.checks.drive_edits import whole
from platekit.checks.finding import Advice, Finding
from platekit.checks.rule import Rule
from platekit.drive.route import Wheel, route
from platekit.errors import DriveError, GeometryError
from platekit.geometry import Shape, distance, polygon_loop
from platekit.laying.shafts import on_the_axis
from platekit.placed import SAME_LENGTH, Body, Layout, PlacedBelt

LIFTED_OVER = 30.0
"""A free end may stand out so far past the shafts' ends for a slack belt to be lifted over it, mm (ours: about two
widths of a belt)."""


def belt_loop(layout: Layout) -> Iterator[Finding]:
    """Bodies that go through a belt's loop, so that the belt does not come on while they are there."""
    for belt in layout.belts:
        if belt.drawn.lies:  # said by `not-checked`
            continue
        inside = _inside(belt)
        runs = [body for body in layout.bodies if body.kind == "belt" and body.belt == belt.name]
        if inside is None or not runs:
            continue
        # The z direction from which the belt is put on: away from the plate.
        middle = (runs[0].z[0] + runs[0].z[1]) / 2
        out = 1.0 if middle > sum(layout.plate_z) / 2 else -1.0
        free = max(out * end for body in _ends(layout, belt) for end in body.z)
        for body in layout.bodies:
            past = max(out * end for end in body.z) - free
            if past > SAME_LENGTH and _goes_through(layout, belt, body, runs, inside):
                lifted = past <= LIFTED_OVER
                yield Finding(
                    rule="belt-loop",
                    level="warn" if lifted else "stop",
                    message=f"{belt.name}: {body.name} goes through the belt's loop and {say(layout, past)} past its "
                    "shafts' ends; "
                    + (
                        "the belt must be lifted over it to be put on"
                        if lifted
                        else f"an endless belt cannot be put on while it is there ({say(layout, LIFTED_OVER)} can be "
                        "lifted over)"
                    ),
                    features=(body.name, *whole(belt)),
                    at=body.shape.centroid,
                    found=past,
                    needed=LIFTED_OVER if not lifted else 0.0,
                    advice=Advice(
                        f"move {body.name} out of the loop, or, where it comes off or its end is free, say so "
                        "(removable: true)"
                    ),
                )


def _inside(belt: PlacedBelt) -> Shape | None:
    """What a belt's runs enclose, seen along its shafts, without the pulleys."""
    wheels = [Wheel(*pulley.center, pulley.pitch_diameter, pulley.inside) for pulley in belt.pulleys]
    try:
        return polygon_loop([point for span in route(wheels).spans for point in (span.start, span.end)])
    except (DriveError, GeometryError):
        return None


def _ends(layout: Layout, belt: PlacedBelt) -> Iterator[Body]:
    """The pulleys of a belt and what they turn on."""
    for body in layout.bodies:
        own = (pulley for pulley in belt.pulleys if body.name in (pulley.name, f"{pulley.name}.hub"))
        if next(own, None) is not None or any(on_the_axis(body, pulley) for pulley in belt.pulleys):
            yield body


def _goes_through(layout: Layout, belt: PlacedBelt, body: Body, runs: list[Body], inside: Shape) -> bool:
    """Whether a body crosses the belt's plane within its loop, clear of belt and pulleys."""
    if body.kind not in ("given", "standard") or any(on_the_axis(body, pulley) for pulley in belt.pulleys):
        return False
    if body.removable:
        return False
    crossed = body.covered(min(run.z[0] for run in runs), max(run.z[1] for run in runs))
    rims = [one.shape for one in layout.bodies if one.name in {pulley.name for pulley in belt.pulleys}]
    return any(
        distance(shape, inside).distance < -SAME_LENGTH
        and all(distance(shape, other).distance > 0 for other in [*rims, *(run.shape for run in runs)])
        for shape in crossed
    )


RULES = (
    Rule(
        "belt-loop",
        "a belt that cannot be put on, because something goes through its loop",
        f"not past the ends of the shafts; {LIFTED_OVER:g} mm can be lifted over",
        "ours",
        belt_loop,
        levels=("stop", "warn"),
        keys=("bodies.NAME.removable",),
    ),
)

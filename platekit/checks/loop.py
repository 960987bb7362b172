"""The rule on what goes through a belt's loop: an endless belt comes on over the free ends of its shafts."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import lru_cache

from platekit.checks.advice import say
from platekit.checks.drive_edits import whole
from platekit.checks.finding import Advice, Finding
from platekit.checks.rule import Rule
from platekit.drive.route import Wheel, route
from platekit.errors import DriveError, GeometryError
from platekit.geometry import Disc, Loop, Plane, Shape, Solid, covered_by_union, distance, polygon_loop, slot
from platekit.laying.hinges import seen_along
from platekit.laying.shafts import SHAFT_POINT, on_their_axes
from platekit.placed import SAME_LENGTH, Body, Layout, PlacedBelt

LIFTED_OVER = 30.0
"""A free end may stand out so far past the shafts' ends for a slack belt to be lifted over it, mm (ours: about two
widths of a belt)."""


def belt_loop(layout: Layout) -> Iterator[Finding]:
    """Bodies that go through a belt's loop (mm), so that the belt does not come on while they are there."""
    for belt in layout.belts:
        if belt.drawn.lies:
            yield from _along_the_plate(layout, belt)
            continue
        inside = _inside(belt)
        runs = [body for body in layout.bodies if body.kind == "belt" and body.belt == belt.name]
        if inside is None or not runs:
            continue
        # The z direction from which the belt is put on: away from the plate.
        middle = (runs[0].z[0] + runs[0].z[1]) / 2
        out = 1.0 if middle > sum(layout.plate_z) / 2 else -1.0
        # The free ends are those of the pulleys and of what they turn on.
        own = {name for pulley in belt.pulleys for name in (pulley.name, f"{pulley.name}.hub")}
        axial = on_their_axes(layout.bodies, belt.pulleys)
        turning = [body for body, on in zip(layout.bodies, axial, strict=True) if on or body.name in own]
        free = max(out * end for body in turning for end in body.z)
        low, high = min(run.z[0] for run in runs), max(run.z[1] for run in runs)
        rims = [one.shape for one in layout.bodies if one.name in {pulley.name for pulley in belt.pulleys}]
        around = [*rims, *(run.shape for run in runs)]
        for body, on in zip(layout.bodies, axial, strict=True):
            past = max(out * end for end in body.z) - free
            if past <= SAME_LENGTH or body.kind not in ("given", "standard") or body.removable or on:
                continue
            # What crosses the belt's plane within its loop, clear of belt and pulleys, goes through it; what touches
            # them is a clash.
            if any(
                shape.box.overlaps(inside.box)
                and distance(shape, inside).distance < -SAME_LENGTH
                and all(distance(shape, other).distance > 0 for other in around)
                for shape in body.covered(low, high)
            ):
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
    # pulleys as wide as the belt runs on them, at nominal: travel hardly changes what lies within
    wheels = [Wheel(*pulley.center, pulley.pitch_diameter, pulley.inside) for pulley in belt.pulleys]
    try:
        return polygon_loop([point for span in route(wheels).spans for point in (span.start, span.end)])
    except (DriveError, GeometryError):
        return None


# --------------------------------------------------------------------------------------- along the plate


def _along_the_plate(layout: Layout, belt: PlacedBelt) -> Iterator[Finding]:
    """The same for shafts along the plate: either end of them may be the free one, and steel is in the way too."""
    inside = _inside(belt)
    if inside is None or belt.impossible:
        return
    yield from _round_the_plate(layout, belt, inside)
    # Each body, and from where to where it reaches along the belt's shafts (mm).
    nx, ny, _ = belt.drawn.n
    seen: list[tuple[Body, tuple[float, float]]] = []
    for body in layout.bodies:
        if body.kind in ("given", "standard") and not body.removable:
            spans = [_along(solid, nx, ny) for solid in body.solids]
            seen.append((body, (min(low for low, _ in spans), max(high for _, high in spans))))
    shown: dict[str, list[Loop]] = {}

    def outlines(body: Body) -> list[Loop]:
        # as seen along the shafts; only of the few that may be in the way, since it takes most of the rule's time
        if body.name not in shown:
            shown[body.name] = [_seen_along(solid, belt.drawn) for solid in body.solids]
        return shown[body.name]

    rims = [one.z for one in belt.pulleys]
    low, high = min(z[0] for z in rims), max(z[1] for z in rims)
    axial = on_their_axes(layout.bodies, belt.pulleys)
    turning = {body.name for body, on in zip(layout.bodies, axial, strict=True) if on}
    own = [Disc(pulley.center, pulley.largest_diameter / 2) for pulley in belt.pulleys]
    for body, reach in seen:
        past = min(reach[1] - high, low - reach[0])
        if past <= SAME_LENGTH or body.name in turning:
            continue
        if any(
            one.box.overlaps(inside.box)
            and distance(one, inside).distance < -SAME_LENGTH
            and all(distance(one, rim).distance > 0 for rim in own)
            for one in outlines(body)
        ):
            lifted = past <= LIFTED_OVER
            how = "it must be lifted over that" if lifted else "an endless belt cannot be put on while it is there"
            yield Finding(
                rule="belt-loop",
                level="warn" if lifted else "stop",
                message=f"{belt.name}: {body.name} goes through the belt's loop and {say(layout, past)} past its "
                f"pulleys on both sides; {how} ({say(layout, LIFTED_OVER)} can be lifted over)",
                features=(body.name, *whole(belt)),
                at=body.shape.centroid,
                found=past,
                needed=0.0 if lifted else LIFTED_OVER,
                advice=Advice(
                    f"move {body.name} out of the loop, or, where it comes off or its end is free, say so "
                    "(removable: true)"
                ),
            )
    # A shaft that is held on both sides of its pulley has no free end for the belt to come on over.
    for pulley in (belt.driver, belt.driven):
        spot = Disc(pulley.center, SHAFT_POINT)
        held: dict[bool, str] = {}
        for body, reach in seen:
            # what the machine stands on holds no shaft: a shaft that runs into it is told as such
            if body.name in turning or body.is_ground:
                continue
            above, below = reach[1] > pulley.z[1] + SAME_LENGTH, reach[0] < pulley.z[0] - SAME_LENGTH
            ends = [end for end, past in ((True, above), (False, below)) if past and end not in held]
            there = (one for one in outlines(body) if one.box.overlaps(spot.box))
            if ends and any(distance(one, spot).distance < 0 for one in there):
                held |= dict.fromkeys(ends, body.name)
        if len(held) == 2:
            first, last = held[False], held[True]
            both = first if first == last else f"{first} and {last}"
            off = "it" if first == last else "one of them"
            yield Finding(
                rule="belt-loop",
                level="warn",
                message=f"{belt.name}: the shaft of {pulley.name} is held on both sides of it, by {both}: "
                f"the belt comes on only with {off} off",
                features=tuple(dict.fromkeys((pulley.name, first, last, belt.name))),
                at=pulley.at,
                found=2.0,
                needed=1.0,
                unit="sides",
                advice=Advice(f"put the pulley outside of {both}, or, where {off} comes off, say so (removable: true)"),
            )


@lru_cache(maxsize=512)
def _along(solid: Solid, nx: float, ny: float) -> tuple[float, float]:
    ends = [solid.support((sign * nx, sign * ny, 0.0)) for sign in (-1.0, 1.0)]
    low, high = (x * nx + y * ny for x, y, _ in ends)
    return (low, high)


@lru_cache(maxsize=256)  # most of what is round a belt stays where it is at an edit
def _seen_along(solid: Solid, plane: Plane) -> Loop:
    return polygon_loop(seen_along(solid, plane))


def _round_the_plate(layout: Layout, belt: PlacedBelt, inside: Shape) -> Iterator[Finding]:
    """Steel between the two runs of a belt that goes through the plate: an endless belt does not come round it."""
    low, high = layout.plate_z
    plane = (belt.driver.plane + belt.driven.plane) / 2
    level = (low + high) / 2
    box = inside.box
    if not box.y0 < level < box.y1:
        return
    # in the belt's own plane the plate is a line at half its height; where the loop crosses it, the runs go through
    corners = [(x, y) for x, y, _ in inside.loop().vertices]
    spots = []
    for (ax, ay), (bx, by) in zip(corners, corners[1:] + corners[:1], strict=True):
        if (ay - level) * (by - level) < 0:
            spots.append(ax + (bx - ax) * (level - ay) / (by - ay))
    if len(spots) < 2:
        return
    start, stop = (belt.drawn.spot((x, level), plane)[:2] for x in (min(spots), max(spots)))
    strip = slot(start, stop, THIN)
    through = [opening.shape for opening in layout.openings if opening.through]
    if distance(strip, layout.plane).distance >= 0 or covered_by_union(strip, through):
        return
    yield Finding(
        rule="belt-loop",
        level="stop",
        message=f"{belt.name}: the belt goes through the plate, and steel stands between its two runs: an endless belt "
        "cannot be put round it",
        features=whole(belt),
        at=((start[0] + stop[0]) / 2, (start[1] + stop[1]) / 2),
        found=0.0,
        needed=math.dist(start, stop),
        advice=Advice(
            "cut one opening for both runs, open to the plate's edge or large enough to push the belt through doubled, "
            "or take the plate away there"
        ),
    )


THIN = 0.01
"""Half the width of the line between two runs along which steel is looked for, mm (ours)."""


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

"""The rule on plates of plastic, wood and soft aluminium: what a tightened screw does to them, and bad threads."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from platekit import tables
from platekit.checks.finding import Advice, Finding, Remedy
from platekit.checks.room import motors, on_feet
from platekit.checks.rule import Rule
from platekit.errors import LookupFailed
from platekit.laying.spacers import bearing_area
from platekit.placed import Layout, ScrewStack
from platekit.tables.torques import USUAL_CLASS
from platekit.units import show_stress

SOFT: Final = frozenset({"acetal", "HDPE", "polycarbonate", "acrylic", "wood board"})
"""Families that creep: what is clamped through them works loose (common practice)."""
BEARS: Final = 1.4
"""What an aluminium plate bears under a screw's head, in its yield strength (VDI 2230, limiting surface pressure of a
wrought alloy, from memory: about 360 N/mm2 at a yield of 260)."""
FACE: Final = 0.9
"""Diameter of the face that a hexagon head bears with, in its width across flats (ISO 4014: 11.63 of 13 mm at M8)."""
HOT: Final = 80.0
"""How hot a motor's flange gets at its rated load, degrees Celsius (common practice: 70 to 100)."""
LASTING: Final = {"acetal": 90.0, "HDPE": 70.0, "polycarbonate": 115.0, "acrylic": 70.0, "wood board": 70.0}
"""What each family bears for long, degrees Celsius (from memory); wood dries, shrinks and in the end chars."""


def soft_plate(layout: Layout) -> Iterator[Finding]:
    """Screws in a plate of plastic or wood: the pressure (N/mm2) under their heads, and threads cut in it."""
    for stack in layout.stacks:
        if stack.spacer is not None and stack.spacer.material.family in SOFT:
            yield _finding(
                layout,
                stack,
                f"its spacers of {stack.spacer.material.name} creep under the screws' pull: these come loose, and the "
                "part with them",
                None,
                "have them of metal (spacers: material: mild steel)",
                (Remedy(f"{layout.mounts[stack.mount].field}.spacers.material", "mild steel"),),
            )
    family = layout.material.family
    if family == "aluminium":
        yield from _dented(layout)
    if family not in SOFT:
        return
    hot = [mount for mount in motors(layout) if not mount.spacing and not on_feet(mount)]
    for mount in hot if LASTING.get(family, math.inf) < HOT else ():
        yield Finding(
            rule="soft-plate",
            level="warn",
            message=f"{mount.name}: its flange gets some {HOT:g} degrees Celsius hot at its rated load; "
            f"{layout.material.name} bears {LASTING[family]:g} for long" + (" and burns" if family != "acetal" else ""),
            features=(mount.name,),
            at=(mount.pose.x, mount.pose.y),
            found=HOT,
            needed=LASTING[family],
            unit="degC",
            advice=Advice("take a plate of metal, or set the motor off it on spacers of metal with air between"),
            field=mount.field,
        )
    for stack in layout.stacks:
        mount = layout.mounts[stack.mount]
        if stack.into == "plate":
            yield _finding(
                layout,
                stack,
                f"{stack.size} threads cut in {layout.material.name} hold little, and less each time they are used",
                None,
                "go through with a nut and a washer, or put threaded inserts in",
            )
        elif stack.spacer is None and stack.let_in == 0.0:
            pressed = _pressure(layout, stack, mount.hole, mount.hole_travel is not None)
            most = layout.material.yield_strength
            if pressed is not None and pressed > most:
                unit = layout.spec.unit
                yield _finding(
                    layout,
                    stack,
                    f"tightened as in steel, {stack.size} presses with {show_stress(pressed, unit)} under its head; "
                    f"{layout.material.name} bears {show_stress(most, unit)} for a short time and creeps under less, "
                    "so that the screw works loose",
                    (pressed, most),
                    "put a bar of steel or large washers under the heads, steel sleeves round the screws, tighten by "
                    "hand with a locking nut; or use a plate of metal",
                )


def _dented(layout: Layout) -> Iterator[Finding]:
    """Heads that press (N/mm2) into a plate of soft aluminium."""
    most, unit = BEARS * layout.material.yield_strength, layout.spec.unit
    for stack in layout.stacks:
        mount = layout.mounts[stack.mount]
        if stack.into == "plate" or stack.spacer is not None or stack.let_in:
            continue
        pressed = _pressure(layout, stack, mount.hole, mount.hole_travel is not None)
        if pressed is None or pressed <= most:
            continue
        slotted = mount.hole_travel is not None
        then = None if stack.washer_outer else _pressure(layout, stack, mount.hole, slotted, washer=True)
        enough = then is not None and then <= most
        yield _finding(
            layout,
            stack,
            f"tightened as in steel, {stack.size} presses with {show_stress(pressed, unit)} under its head; "
            f"{layout.material.name} bears {show_stress(most, unit)} there and gives, so that the screw works loose",
            (pressed, most),
            "put a washer under each head"
            if enough
            else "put thick, wide washers or a bar of steel under the heads, or use a harder alloy, or steel",
            (Remedy(f"{mount.field}.screws.washer", True),) if enough else (),
        )


def _pressure(layout: Layout, stack: ScrewStack, hole: float, slotted: bool, *, washer: bool = False) -> float | None:
    """What a tightened screw presses with under its washer, or its bare head, N/mm2; with a `washer` if it had one."""
    screw = tables.screw(stack.size)
    bare = screw.socket_head_diameter if stack.head == "socket" else FACE * (screw.hex_across_flats or 0.0)
    outside = screw.washer_outer if washer else stack.washer_outer or bare
    if outside is None:
        return None
    try:
        preload = tables.torque(stack.size, USUAL_CLASS[screw.system]).preload
    except LookupFailed:  # no strength is listed: how hard it presses is not known
        return None
    area = bearing_area(outside, hole, hole, slotted)
    return preload / area if area > 0 else None


def _finding(
    layout: Layout,
    stack: ScrewStack,
    said: str,
    figures: tuple[float, float] | None,
    advice: str,
    edit: tuple[Remedy, ...] = (),
) -> Finding:
    mount = layout.mounts[stack.mount]
    found, needed = (None, None) if figures is None else figures
    return Finding(
        rule="soft-plate",
        level="warn",
        message=f"{stack.mount}: {said}",
        features=mount.hole_names,
        at=mount.points[0],
        found=found,
        needed=needed,
        unit="N/mm2",
        advice=Advice(advice, edit),
        field=stack.field,
    )


RULES = (
    Rule(
        "soft-plate",
        "a plate or spacer of plastic, wood or soft aluminium that is crushed by its screws, holds no thread, or gets "
        "too hot",
        "the stress that it bears for a short time, with the usual class of screw tightened as in steel; of aluminium "
        f"{BEARS:g} times its yield strength; "
        f"{HOT:g} degrees Celsius at a motor's flange",
        "material.csv, each row with its kind; the torques of the tables; geometry; from memory",
        soft_plate,
        levels=("warn",),
        keys=("plate.material",),
    ),
)

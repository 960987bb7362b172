"""Rules on the screws: long enough to hold, short enough not to bottom, carried by their washers."""

from __future__ import annotations

import math
from collections.abc import Iterator

from platekit import tables
from platekit.checks.advice import say
from platekit.checks.finding import Finding, Remedy
from platekit.checks.rule import Rule
from platekit.placed import SAME_LENGTH, Layout, ScrewStack

BOTTOM_IN_PITCHES = 1.0
"""A screw ends at least this many pitches before the bottom of a blind thread (common practice): a washer or plate at
the thin end of its tolerance must not let it bottom before it clamps."""
BEARING_OVERLAP = 1.0
"""Least width on each side of a hole or slot on which a head or washer must sit, mm (from memory)."""


def grip(layout: Layout) -> Iterator[Finding]:
    """Screws that do not reach deep enough, or that bottom in a blind thread before they clamp."""
    for stack in layout.stacks:
        names = _names(layout, stack)
        at = layout.mounts[stack.mount].points[0]
        yield from _reach(layout, stack, names, at)
        if stack.head == "countersunk" and stack.head_height > layout.thickness:
            yield Finding(
                "grip",
                "stop",
                f"{stack.mount}: a countersunk {stack.size} head is {say(layout, stack.head_height)} high; "
                f"the plate is {say(layout, layout.thickness)} thick",
                names,
                at,
                layout.thickness,
                stack.head_height,
                advice="use a hex or socket head (head: hex)",
                remedies=(Remedy(f"{stack.field}.head", "hex"),),
            )


def _reach(layout: Layout, stack: ScrewStack, names: tuple[str, ...], at: tuple[float, float]) -> Iterator[Finding]:
    def finding(level: str, message: str, found: float, needed: float, advice: str, *edits: Remedy) -> Finding:
        return Finding(
            "grip",
            "stop" if level == "stop" else "warn",
            f"{stack.mount}: {message}",
            names,
            at,
            found,
            needed,
            advice=advice,
            remedies=edits,
        )

    if stack.into == "part" and stack.available is None:
        yield finding(
            "warn",
            f"how deep the part's thread goes is not given, so a {stack.size} screw may bottom in it",
            0.0,
            stack.needed,
            "measure it and give bolts: depth",
        )
    if stack.available is not None and stack.available < stack.needed - SAME_LENGTH:
        yield finding(
            "stop",
            f"the thread is {say(layout, stack.available)} deep; {stack.size} needs "
            f"{say(layout, stack.needed)} ({stack.needed_source})",
            stack.available,
            stack.needed,
            "use into: nut with a longer screw, a deeper thread, or a smaller screw",
        )
        return
    if stack.length is None:
        yield finding(
            "stop",
            f"no stock length of {stack.size} fits: {say(layout, stack.grip)} is clamped and "
            f"{_window(layout, stack)} must be in the thread",
            0.0,
            stack.needed,
            "change what is clamped (washer, plate, standoff), or give the length of a screw cut to size",
        )
        return
    past = stack.length - stack.grip
    if past < stack.needed - SAME_LENGTH:
        best = _stock(stack)
        yield finding(
            "stop",
            f"the {stack.size} screw, {say(layout, stack.length)} long, reaches {say(layout, max(past, 0.0))} into the "
            f"thread; {say(layout, stack.needed)} is needed ({stack.needed_source})",
            past,
            stack.needed,
            *_take(layout, stack, best),
        )
    elif stack.into == "part" and stack.available is not None and past > stack.available + SAME_LENGTH:
        best = _stock(stack)
        yield finding(
            "stop",
            f"the {stack.size} screw, {say(layout, stack.length)} long, reaches {say(layout, past)} past the plate and "
            f"bottoms: the thread is {say(layout, stack.available)} deep",
            past,
            stack.available,
            *_take(layout, stack, best),
        )
    elif stack.into == "part" and stack.available is not None:
        left, room = stack.available - past, BOTTOM_IN_PITCHES * tables.screw(stack.size).pitch
        if left < room - SAME_LENGTH:
            yield finding(
                "warn",
                f"the {stack.size} screw, {say(layout, stack.length)} long, ends {say(layout, max(left, 0.0))} before "
                f"the bottom of the {say(layout, stack.available)} thread; {say(layout, room)} (one pitch) is wanted, "
                "so that it does not bottom under a thin washer or plate",
                left,
                room,
                *_shorter(layout, stack, room),
            )


def _shorter(layout: Layout, stack: ScrewStack, room: float) -> tuple[str, *tuple[Remedy, ...]]:
    """Advice that leaves room at the bottom of the thread."""
    assert stack.available is not None
    shorter = math.floor((stack.grip + stack.available - room) * 10 + 1e-6) / 10
    if shorter - stack.grip < stack.needed - SAME_LENGTH:
        return ("measure how deep the thread really is (bolts: depth), or put one more washer under the head",)
    return (
        f"grind it off to {say(layout, shorter)}, or put one more washer under its head",
        Remedy(f"{stack.field}.length", f"{shorter:.6g} mm"),
    )


def _stock(stack: ScrewStack) -> float | None:
    deepest = float("inf") if stack.available is None or stack.into == "plate" else stack.available
    reaches = ((length, length - stack.grip) for length in stack.stock_lengths)
    return next(
        (length for length, reach in reaches if stack.needed - SAME_LENGTH <= reach <= deepest + SAME_LENGTH),
        None,
    )


def _take(layout: Layout, stack: ScrewStack, best: float | None) -> tuple[str, *tuple[Remedy, ...]]:
    if best is None:
        return ("no stock length fits; change what is clamped or have a screw cut to size",)
    return (
        f"take a screw {say(layout, best)} long",
        Remedy(f"{stack.field}.length", f"{best:.6g} mm"),
    )


def _window(layout: Layout, stack: ScrewStack) -> str:
    if stack.available is None or stack.into != "part":
        return f"at least {say(layout, stack.needed)}"
    return f"{say(layout, stack.needed)} to {say(layout, stack.available)}"


def washer(layout: Layout) -> Iterator[Finding]:
    """A washer or head that does not bridge its hole or slot."""
    for stack in layout.stacks:
        mount = layout.mounts[stack.mount]
        if stack.into == "plate" or stack.head == "countersunk":
            continue
        bearing = stack.washer_outer or _head_diameter(layout, stack)
        needed = mount.hole + 2 * BEARING_OVERLAP
        if bearing >= needed:
            continue
        what = "washer" if stack.washer_outer else "head without a washer"
        remedy = () if stack.washer_outer else (Remedy(f"{stack.field}.washer", True),)
        yield Finding(
            "washer",
            "stop" if bearing < mount.hole else "warn",
            f"{stack.mount}: the {what} is {say(layout, bearing)} across on a hole {say(layout, mount.hole)} "
            f"wide; {say(layout, needed)} is needed to bear",
            _names(layout, stack),
            mount.points[0],
            bearing,
            needed,
            advice="use a thick bridging washer or a smaller hole" if stack.washer_outer else "add washers",
            remedies=remedy,
        )


def _head_diameter(layout: Layout, stack: ScrewStack) -> float:
    boxes = (b.shape.box for b in layout.bodies if b.kind == "head" and b.carrier == stack.mount)
    return next((box.width for box in boxes), tables.screw(stack.size).socket_head_diameter or 0.0)


def _names(layout: Layout, stack: ScrewStack) -> tuple[str, ...]:
    return layout.mounts[stack.mount].hole_names


RULES = (
    Rule(
        "grip",
        "a screw too short to hold, or one that bottoms",
        "1 diameter in steel, 1.5 in cast iron, 2 in aluminium; the nut and one thread; one pitch to the bottom",
        "common practice",
        grip,
        levels=("stop", "warn"),
        keys=("mounts.NAME.bolts.thread_in",),
    ),
    Rule(
        "washer",
        "a washer or head that falls into its hole or slot",
        f"{BEARING_OVERLAP:g} mm of bearing on each side",
        "from memory",
        washer,
        levels=("stop", "warn"),
    ),
)

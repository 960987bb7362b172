"""Rules on the screws: long enough to hold, short enough not to bottom, carried by their washers."""

from __future__ import annotations

import math
from collections.abc import Iterator

from msgspec.structs import replace

from platekit import tables
from platekit.checks.advice import say, smaller_holes
from platekit.checks.finding import Advice, Finding, Level, Remedy
from platekit.checks.rule import Rule
from platekit.placed import SAME_LENGTH, Layout, ScrewStack
from platekit.tables.shop import shop_figure

BOTTOM_IN_PITCHES = 1.0
"""A screw ends at least this many pitches before the bottom of a blind thread (common practice): a washer or plate at
the thin end of its tolerance must not let it bottom before it clamps."""
BEARING_OVERLAP = shop_figure("bearing under a head, least width")
"""Least width on each side of a hole or slot on which a head or washer must sit, mm (`shop_figures.csv`)."""


def grip(layout: Layout) -> Iterator[Finding]:
    """Screws that do not reach deep enough, or that bottom in a blind thread before they clamp."""
    for stack in layout.stacks:
        for question in (_unknown_depth, _reach, _head_through):
            finding = question(layout, stack)
            if finding is not None:
                yield finding


def _finding(
    layout: Layout, stack: ScrewStack, level: Level, message: str, figures: tuple[float, float], *ideas: Advice
) -> Finding:
    """A finding of `grip`; `figures` are what was found and what is needed, mm."""
    found, needed = figures
    return Finding(
        rule="grip",
        level=level,
        message=f"{stack.mount}: {message}",
        features=_names(layout, stack),
        at=layout.mounts[stack.mount].points[0],
        found=found,
        needed=needed,
        advice=ideas[0],
        others=ideas[1:],
    )


def _unknown_depth(layout: Layout, stack: ScrewStack) -> Finding | None:
    if stack.into != "part" or stack.available is not None:
        return None
    message = f"how deep the part's thread goes is not given, so its {stack.size} screw may bottom in it"
    return _finding(layout, stack, "warn", message, (0.0, stack.needed), Advice("measure it and give screws: depth"))


def _head_through(layout: Layout, stack: ScrewStack) -> Finding | None:
    if stack.head != "countersunk" or stack.head_height <= layout.thickness:
        return None
    message = (
        f"a countersunk {stack.size} head is {say(layout, stack.head_height)} high; "
        f"the plate is {say(layout, layout.thickness)} thick"
    )
    advice = Advice("use a hex or socket head (head: hex)", (Remedy(f"{stack.field}.head", "hex"),))
    return _finding(layout, stack, "stop", message, (layout.thickness, stack.head_height), advice)


def _reach(layout: Layout, stack: ScrewStack) -> Finding | None:
    """The first thing that is wrong with how far the screw goes into its thread."""
    if stack.available is not None and stack.available < stack.needed - SAME_LENGTH:
        message = (
            f"the thread is {say(layout, stack.available)} deep; {stack.size} needs "
            f"{say(layout, stack.needed)} ({stack.needed_source})"
        )
        # How much thread is needed hangs on what it is cut in: where that is only assumed, looking is cheaper than
        # drilling.
        others = _other_thread(layout, stack)
        if stack.thread_in is None and layout.mounts[stack.mount].standard is not None:
            known = "see what the thread is cut in, and say so: thread_in: cast iron if a magnet sticks to it"
            others = (Advice(known, (Remedy(f"{stack.field}.thread_in", "cast iron"),)), *others)
        return _finding(layout, stack, "stop", message, (stack.available, stack.needed), *others)
    if stack.length is None:
        if stack.available is None or stack.into != "part":
            window = f"at least {say(layout, stack.needed)}"
        else:
            window = f"{say(layout, stack.needed)} to {say(layout, stack.available)}"
        message = (
            f"no stock length of {stack.size} fits: {say(layout, stack.grip)} is clamped and {window} must be "
            "in the thread"
        )
        return _finding(layout, stack, "stop", message, (0.0, stack.needed), *_cut_to_size(layout, stack))
    past = stack.length - stack.grip
    screw = f"the {stack.size} screw, {say(layout, stack.length)} long,"
    if past < stack.needed - SAME_LENGTH:
        message = (
            f"{screw} reaches {say(layout, max(past, 0.0))} into the thread; {say(layout, stack.needed)} is needed "
            f"({stack.needed_source})"
        )
        return _finding(layout, stack, "stop", message, (past, stack.needed), *_take(layout, stack, _stock(stack)))
    if stack.into != "part" or stack.available is None:
        return None
    if past > stack.available + SAME_LENGTH:
        message = (
            f"{screw} reaches {say(layout, past)} past the plate and bottoms: the thread is "
            f"{say(layout, stack.available)} deep"
        )
        return _finding(layout, stack, "stop", message, (past, stack.available), *_take(layout, stack, _stock(stack)))
    # Screws, plates and washers vary by tenths; with less than a pitch left the screw may bottom before it clamps.
    left, room = stack.available - past, BOTTOM_IN_PITCHES * tables.screw(stack.size).pitch
    if left >= room - SAME_LENGTH:
        return None
    message = (
        f"{screw} ends {say(layout, max(left, 0.0))} before the bottom of the {say(layout, stack.available)} thread; "
        f"{say(layout, room)} (one pitch) is wanted, so that it does not bottom under a thin washer or plate"
    )
    return _finding(layout, stack, "warn", message, (left, room), _shorter(layout, stack, room))


def _shorter(layout: Layout, stack: ScrewStack, room: float) -> Advice:
    """Advice that leaves room at the bottom of the thread."""
    assert stack.available is not None
    shorter = math.floor((stack.grip + stack.available - room) * 10 + 1e-6) / 10
    if shorter - stack.grip < stack.needed - SAME_LENGTH:
        return Advice("measure how deep the thread really is (screws: depth), or put one more washer under the head")
    return Advice(
        f"grind it off to {say(layout, shorter)}, or put one more washer under its head",
        (Remedy(f"{stack.field}.length", f"{shorter:.6g} mm"),),
    )


def _stock(stack: ScrewStack) -> float | None:
    # The thread in the plate is open at the other side: a screw may stand out there.
    deepest = float("inf") if stack.available is None or stack.into == "plate" else stack.available
    reaches = ((length, length - stack.grip) for length in stack.stock_lengths)
    return next(
        (length for length, reach in reaches if stack.needed - SAME_LENGTH <= reach <= deepest + SAME_LENGTH),
        None,
    )


def _take(layout: Layout, stack: ScrewStack, best: float | None) -> tuple[Advice, ...]:
    stock = [] if best is None else [_length(stack, f"take a screw {say(layout, best)} long", best)]
    return (*stock, *_cut_to_size(layout, stack))


def _length(stack: ScrewStack, words: str, length: float) -> Advice:
    return Advice(words, (Remedy(f"{stack.field}.length", f"{length:.6g} mm"),))


def _cut_to_size(layout: Layout, stack: ScrewStack) -> tuple[Advice, ...]:
    """A screw of no stock length: with room at the bottom of a blind thread, where there is that much; by hand else."""
    room = BOTTOM_IN_PITCHES * tables.screw(stack.size).pitch
    deepest = math.inf if stack.available is None or stack.into == "plate" else stack.available
    # A millimetre more than needed if the thread has it, never into the last pitch of a blind hole unless there is no
    # other way.
    reach = min(stack.needed + 1.0, max(stack.needed, deepest - room))
    long = math.floor((stack.grip + reach) * 10 + 1e-6) / 10
    if long - stack.grip < stack.needed - SAME_LENGTH:
        long = math.ceil((stack.grip + stack.needed) * 10 - 1e-6) / 10
    by_hand = Advice("change what is clamped: another washer, plate or standoff")
    if long - stack.grip > deepest + SAME_LENGTH:
        return (by_hand,)
    return (_length(stack, f"have a screw cut to {say(layout, long)}, or change what is clamped", long), by_hand)


def _other_thread(layout: Layout, stack: ScrewStack) -> tuple[Advice, ...]:
    """Another screw for a thread that is not deep enough: no edit can know how deep that one's thread would be."""
    through = "use a nut on a screw that goes through (into: nut), a deeper thread, or a smaller screw"
    return (Advice("use a nut behind it, or a smaller screw" if stack.into == "plate" else through),)


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
        ideas = list(smaller_holes(layout, mount, bearing - 2 * BEARING_OVERLAP))
        wide = tables.screw(stack.size).washer_outer
        if not stack.washer_outer and wide is not None:
            washers = Remedy(f"{stack.field}.washer", True)
            both = (
                replace(one, remedies=(*one.remedies, washers))
                for one in smaller_holes(layout, mount, wide - 2 * BEARING_OVERLAP)
            )
            ideas = [
                Advice("add washers (washer: true)", (washers,)),
                *ideas,
                *(replace(one, text=f"{one.text}, and add washers (washer: true)") for one in both),
            ]
        ideas.append(Advice("use a thick bridging washer or a smaller hole"))
        yield Finding(
            rule="washer",
            level="stop" if bearing < mount.hole else "warn",
            message=f"{stack.mount}: the {what} is {say(layout, bearing)} across on a hole {say(layout, mount.hole)} "
            f"wide; {say(layout, needed)} is needed to bear",
            features=_names(layout, stack),
            at=mount.points[0],
            found=bearing,
            needed=needed,
            advice=ideas[0],
            others=tuple(ideas[1:]),
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
        keys=("mounts.NAME.screws.thread_in",),
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

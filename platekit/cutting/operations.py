"""How each opening is made: cut to size, cut small and finished, or only marked by the table.

The cut file holds what the table must do; everything else is told on the bench papers. The questions are asked in this
order, and the first that settles it gives the reason:

    does it go through?               a recess is bored
    is it tapped?                     a cut edge eats taps
    does it turn on a pin?            a pivot is reamed
    does it take a dowel pin?         reamed through both parts together
    is there a cutting table at all?  a drill press follows no drawing
    what does the spec ask for?       `made: drill`, `made: cut`
    can it be cut so small?           smallest hole of the process, room to pierce
    will it pass what goes through?   taper and scatter against screw or spigot; no pilot is left as a hot cut
    is the head let in?               a hard edge eats countersinks and counterbores
"""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from platekit import tables
from platekit.cutting.capability import Capability, capability_of
from platekit.cutting.needs import can_pierce, must_pass
from platekit.geometry import CurvedSlot, Disc, Point, Shape, Slot
from platekit.laying.screws import mouth_of
from platekit.placed import SAME_LENGTH, Layout, Opening, ScrewStack, Side, held
from platekit.tables.shop import shop_figure
from platekit.units import INCH, nearest_fraction, show_fraction, show_length

Work = Literal["cut", "mark", "drill", "ream", "bore", "tap", "file", "countersink", "counterbore"]

CROSS = 4.0
"""Length of the strokes of a mark, mm: easy to find with a punch, gone once the hole is drilled (ours)."""
MARK_CIRCLE = 1.0
"""Radius of a mark that is a small circle, mm: it guides the tip of a drill, and goes with the hole (ours)."""
BORE_ALLOWANCE = 2.0
"""A hole that is bored after cutting is cut this much smaller in diameter, mm (common practice)."""
DRILL_ALLOWANCE = 3.0
"""A hole that is drilled after cutting is cut this much smaller in diameter, mm (common practice: 2 to 3).

Beyond the hard edge, which is up to 1.5 mm deep."""
REAM_ALLOWANCE = 0.3
"""A hole that is reamed is drilled this much smaller, mm (common practice)."""
SMALLEST_REAMER = shop_figure("reamer, smallest")
"""Smallest reamer of a small shop, mm (`shop_figures.csv`); a smaller hole is drilled to size."""
LARGEST_DRILL = shop_figure("twist drill of a small press, largest")
"""Largest twist drill of a small shop's press, mm (`shop_figures.csv`); larger holes are bored or filed out."""
STAMPED = 0.005
"""A drill within this of a fraction of an inch is named by it, mm (ours: tables give them to a ten-thousandth)."""
LOCATES_WITHIN = 1.0
"""A pilot with at most this much clearance on its diameter locates the part, mm (ours); with more it only passes."""


class Operation(Struct, frozen=True):
    """One piece of work on an opening, in the order of doing.

    `diameter` (mm) is what the tool leaves; for a countersink over its widest. `depth` (mm) is given where it does not
    go through, `side` where it matters from which side.
    """

    work: Work
    diameter: float | None = None
    depth: float | None = None
    side: Side | None = None
    thread: str | None = None
    angle_deg: float | None = None
    fit: str = "H7"
    """Of a reamed hole: the zone that it is reamed to."""


class Operations(Struct, frozen=True):
    """How one opening is made, and why.

    `cut` is the shape that the table cuts (None: it only marks), smaller than the opening where it is finished by hand;
    `marks` are the points that it marks.
    """

    opening: str
    steps: tuple[Operation, ...]
    reason: str
    cut: Shape | None = None
    marks: tuple[Point, ...] = ()
    small: bool = False

    @property
    def how(self) -> str:
        """All of the work in a few words, such as `mark, drill and tap`.

        >>> Operations("a", (Operation("cut"), Operation("bore", 80.0)), "", small=True).how
        'cut small and bore'
        """
        words = ["cut small" if step.work == "cut" and self.small else step.work for step in self.steps]
        return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"

    @property
    def as_cut(self) -> bool:
        """Whether nothing is left to do once the table has cut it."""
        return len(self.steps) == 1 and self.cut is not None

    @property
    def mark(self) -> Point | None:
        """The first point (mm) that the table marks."""
        return self.marks[0] if self.marks else None

    @property
    def drill(self) -> float | None:
        """Diameter to drill, mm; None where nothing is drilled."""
        return next((step.diameter for step in self.steps if step.work == "drill"), None)


@held
def operations_of(layout: Layout) -> tuple[Operations, ...]:
    """How each opening of the layout is made (mm), in the order of `layout.openings`."""
    capability = capability_of(layout)
    return tuple(_decided(layout, capability, opening) for opening in layout.openings)


def how_made(layout: Layout, opening: Opening) -> Operations:
    """How one opening is made (mm)."""
    return _decided(layout, capability_of(layout), opening)


def _decided(layout: Layout, capability: Capability, opening: Opening) -> Operations:
    unit = layout.spec.unit
    # in the order of the questions above: the first that settles it gives the reason
    if opening.depth is not None:
        reason = f"goes {show_length(opening.depth, unit)} deep only, from the {opening.side} side"
        return _marked(opening, reason, Operation("bore", opening.size, opening.depth, opening.side))
    if opening.thread is not None:
        why = (
            "a cut edge eats taps" if capability.traits.hard_edge else "a drill leaves it round and upright for the tap"
        )
        reason = f"tapped {opening.thread}: {why}"
        return _marked(opening, reason, Operation("drill", opening.size), Operation("tap", thread=opening.thread))
    # The countersink or counterbore for a screw whose head sits in the plate.
    stack = layout.mounts[opening.mount].stack if opening.role == "screw" and opening.mount is not None else None
    head = None if stack is None else head_operation(stack)
    sunk = () if head is None else (head,)
    if not isinstance(opening.shape, Disc):
        if not capability.traits.table:
            # where a slot is drilled first; the middle of any other outline
            ends: tuple[Point, ...] = (opening.center,)
            if isinstance(opening.shape, Slot):
                ends = (opening.shape.a, opening.shape.b)
            elif isinstance(opening.shape, CurvedSlot):
                ends = opening.shape.ends
            work = (Operation("mark"), Operation("drill", opening.size or None), Operation("file"), *sunk)
            reason = "no cutting table: its ends are drilled, the rest is filed out"
            return Operations(opening.name, work, reason, marks=ends)
        reason = f"{capability.process} cuts any outline" if opening.size == 0 else f"{capability.process} cuts a slot"
        return Operations(opening.name, (Operation("cut"), *sunk), reason, cut=opening.shape)
    if opening.role == "dowel" and opening.fit is not None:
        pins = None if opening.mount is None else layout.mounts[opening.mount].dowels
        assert pins is not None
        if pins.together:
            spotted = "drilled through plate and part at once, the plate in its place on its screws"
        else:
            # no drawing holds a dowel's place: the hole in the part is the drill jig, the mark shows only where
            spotted = "its place taken from the part's own hole (a dowel centre, or a transfer punch through it)"
        if pins.pin == "spring":
            reason = f"{spotted}, then drilled to the spring pin's size (H12)"
            return _marked(opening, reason, Operation("drill", opening.size))
        reason = f"{spotted}, then drilled and reamed F7, which slides on the pin (m6) that is driven into the part"
        return _marked(
            opening,
            reason,
            Operation("drill", opening.size - REAM_ALLOWANCE),
            Operation("ream", opening.size, fit=opening.fit),
        )
    if opening.role == "dowel":
        reason = "reamed H7 for a dowel pin (m6), through plate and layer together once they are clamped in place"
        return _marked(
            opening, reason, Operation("drill", opening.size - REAM_ALLOWANCE), Operation("ream", opening.size)
        )
    if opening.role == "pivot":
        reason = "the mount turns on a pin in it: drilled and reamed to the pin"
        if opening.size > LARGEST_DRILL:
            return _marked(
                opening, "the mount turns on a pin in it, too large to ream", Operation("bore", opening.size)
            )
        if opening.size < SMALLEST_REAMER:
            return _marked(
                opening, "the mount turns on a pin in it, too small to ream", Operation("drill", opening.size)
            )
        return _marked(
            opening, reason, Operation("drill", opening.size - REAM_ALLOWANCE), Operation("ream", opening.size)
        )
    return _round_hole(layout, capability, opening, sunk)


def _marked(opening: Opening, reason: str, *steps: Operation) -> Operations:
    return Operations(opening.name, (Operation("mark"), *steps), reason, marks=(opening.center,))


def _round_hole(layout: Layout, capability: Capability, opening: Opening, sunk: tuple[Operation, ...]) -> Operations:
    finish = Operation("drill" if opening.size <= LARGEST_DRILL else "bore", opening.size)
    if not capability.traits.table:
        return _marked(opening, "no cutting table: drilled" if finish.work == "drill" else "no table", finish, *sunk)
    mount = layout.mounts.get(opening.mount or "")
    wanted = mount.stack.made if opening.role == "screw" and mount is not None and mount.stack is not None else "auto"
    if wanted == "drill":
        return _marked(opening, "asked for in the spec", finish, *sunk)
    if wanted == "cut":
        return Operations(opening.name, (Operation("cut"), *sunk), "asked for in the spec", cut=opening.shape)
    # what the table cannot do comes before what it should not leave as it is
    smallest, unit = capability.smallest_hole.value, layout.spec.unit
    if opening.size < smallest - SAME_LENGTH:
        holds = f"{capability.process} holds in this plate"
        reason = f"{show_length(opening.size, unit)} is under the {show_length(smallest, unit)} that {holds}"
        return _marked(opening, reason, finish, *sunk)
    if not can_pierce(opening.shape, capability.pierce_room.value):
        room = show_length(capability.pierce_room.value, unit)
        reason = f"too small to pierce inside: {capability.process} wants {room} to every edge"
        return _marked(opening, reason, finish, *sunk)
    # Some holes cannot be left as the table cuts them; the first reason that holds is the one that is told.
    passing = must_pass(layout, opening)
    process = capability.process
    locates = passing is None or opening.size - passing <= LOCATES_WITHIN
    if opening.role == "pilot" and capability.traits.hard_edge and locates:
        reason = f"a pilot opening is never left as {process} leaves it"
        if passing is not None:
            reason += f"; bored until the {show_length(passing, unit)} spigot goes in"
    elif passing is not None and capability.small_end(opening.size) < passing:
        end = capability.small_end(opening.size)
        end_words, passing_words = (show_length(size, layout.spec.unit) for size in (end, passing))
        reason = f"as {process} cuts it the small end may be {end_words}, and {passing_words} must pass"
    elif sunk and capability.traits.hard_edge:
        reason = f"the edge that {process} leaves is too hard to let the head in"
    else:
        reason = ""
    if reason:
        # Cut smaller and finished, if the process still holds the smaller hole; else its middle is only marked, since a
        # hole that is cut badly leads the drill astray.
        less = DRILL_ALLOWANCE if finish.work == "drill" else BORE_ALLOWANCE
        smaller = opening.size - less
        if smaller < capability.smallest_hole.value - SAME_LENGTH or smaller / 2 < capability.pierce_room.value:
            return _marked(opening, reason, finish, *sunk)
        steps = (Operation("cut", smaller), finish, *sunk)
        return Operations(opening.name, steps, reason, cut=Disc(opening.center, smaller / 2), small=True)
    return Operations(
        opening.name, (Operation("cut"), *sunk), f"{capability.process} holds this size", cut=opening.shape
    )


def head_operation(stack: ScrewStack) -> Operation | None:
    """The countersink or counterbore (mm) that each screw of a stack wants in the plate; None if heads stand on it."""
    if stack.into == "plate":
        return None
    if stack.let_in:
        return Operation("counterbore", mouth_of(stack), stack.let_in, stack.head_side)
    if stack.head != "countersunk":
        return None
    screw = tables.screw(stack.size)
    return Operation(
        "countersink",
        mouth_of(stack),
        screw.countersunk_head_height,
        stack.head_side,
        angle_deg=screw.countersunk_angle_deg,
    )


def words_of(operations: Operations, unit: Literal["mm", "in"] = "mm") -> str:
    """The work on an opening as a sentence for the bench, sizes included.

    >>> words_of(Operations("a", (Operation("mark"), Operation("drill", 6.8), Operation("tap", thread="M8")), ""))
    'mark; drill 6.8 mm; tap M8'
    """
    words = []
    for step in operations.steps:
        said: str = "cut small" if step.work == "cut" and operations.small else step.work
        if step.thread is not None:
            said += f" {step.thread}"
        elif step.angle_deg is not None and step.diameter is not None:
            said += f" {step.angle_deg:g} degrees to {show_length(step.diameter, unit)}"
        elif step.diameter is not None:
            # a drill as it is stamped: in inches by its fraction, if it is one in 64ths
            size, fraction = show_length(step.diameter, unit), nearest_fraction(step.diameter)
            if step.work == "drill" and unit == "in" and abs(float(fraction) * INCH - step.diameter) <= STAMPED:
                size = show_fraction(fraction)
            said += f" {'to ' if step.work == 'cut' else ''}{size}{' ' + step.fit if step.work == 'ream' else ''}"
        if step.depth is not None and step.work in ("bore", "counterbore"):
            said += f", {show_length(step.depth, unit)} deep"
        if step.side is not None:
            said += f" from the {step.side} side"
        words.append(said)
    return "; ".join(words)

"""Rules on the user's own machine, its bed, and the sheet that the copies are cut from."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from platekit.checks.advice import rounded_up, say
from platekit.checks.finding import Advice, Finding, Remedy
from platekit.checks.rule import Rule
from platekit.cutting import capability_of
from platekit.geometry import Box
from platekit.placed import SAME_LENGTH, Layout

if TYPE_CHECKING:
    from platekit.spec.machine import CutQuantity

TELLING: tuple[CutQuantity, ...] = (
    "kerf",
    "taper",
    "hole_error",
    "scatter",
    "smallest_hole",
    "web",
    "speed",
    "pierce",
)
"""Figures whose lack is told; room, lead and overrun are usually left to the process."""


BY_COUPON: tuple[CutQuantity, ...] = ("kerf", "taper", "hole_error", "scatter", "speed", "pierce")
"""Figures that the readings of a test piece give; none tells the others."""


def machine_gaps(layout: Layout) -> Iterator[Finding]:
    """What the machine's file does not say, and where the plate's thickness (mm) lies beyond its rows."""
    machine = layout.spec.machine
    if machine is None:
        return
    from platekit.spec.machine import WORDS

    gaps = [quantity for quantity in machine.gaps if quantity in TELLING]
    missing = [WORDS.get(quantity, quantity) for quantity in gaps]
    if missing:
        by_coupon = [WORDS.get(quantity, quantity) for quantity in gaps if quantity in BY_COUPON]
        by_hand = [quantity for quantity in gaps if quantity not in BY_COUPON]
        ways = []
        if by_coupon:
            ways.append(f"cut a test piece, measure it, and let platekit coupon fill in {', '.join(by_coupon)}")
        if by_hand:
            ways.append(f"write {', '.join(by_hand)} into its rows by hand, from what came out usable so far")
        yield Finding(
            rule="machine",
            level="note",
            message=f"{machine.file} gives no {', '.join(missing)}; the usual values of {machine.process} stand in",
            features=("outline",),
            advice=Advice("; ".join(ways)),
        )
    for quantity in TELLING:
        # beyond its first and last row a file says nothing: the nearest is held, which is a guess worth a warning
        reading = machine.at(quantity, layout.thickness)
        if reading is None or reading.origin != "held":
            continue
        word = WORDS.get(quantity, quantity)
        yield Finding(
            rule="machine",
            level="warn",
            message=f"the nearest row of {machine.file} that gives {word} is for {say(layout, reading.nearest)}; "
            f"{layout.subject} is {say(layout, layout.thickness)} thick",
            features=("outline",),
            at=None,
            found=reading.nearest,
            needed=layout.thickness,
            advice=Advice(
                f"cut a test piece of {say(layout, layout.thickness)} on that table too (platekit coupon), measure it "
                "and add its row; till then its kerf is a guess"
            ),
        )


def bed(layout: Layout) -> Iterator[Finding]:
    """A plate (mm) that the head of the machine cannot reach all of."""
    machine = layout.spec.machine
    if machine is None or machine.bed is None:
        return
    from platekit.cutting.paths import outside_path

    path = outside_path(layout)
    # The head runs half a kerf outside and starts with a way in: that is what must be reached.
    # a process without a path is none that a bed bounds: the plate's own box stands in
    box = layout.outline.box if path is None else path.box
    plate, reach = sorted((box.width, box.height)), sorted(machine.bed)
    # Longer side against longer side: a plate may be laid on the table either way.
    over = [plate[k] - reach[k] for k in (0, 1)]
    if max(over) <= SAME_LENGTH:
        return
    k = over.index(max(over))
    yield Finding(
        rule="bed",
        level="stop",
        message=f"the head must run over {say(layout, box.width)} x {say(layout, box.height)} to cut the plate, its "
        f"way in counted; {machine.name} reaches "
        f"{say(layout, machine.bed[0])} x {say(layout, machine.bed[1])}",
        features=("outline",),
        at=box.center,
        found=plate[k],
        needed=reach[k],
        advice=Advice("name a larger machine (cutting: machine), or make the plate smaller"),
    )


NARROW_MARGIN = 0.5
"""Share of the usual margin between copies below which so narrow a strip does not stand the cut (ours)."""


def copies_fit(layout: Layout) -> Iterator[Finding]:
    """Copies that find no place (mm) on the sheet or the remnant."""
    cutting = layout.cutting
    if cutting.remnant is None and cutting.copies == 1:
        return
    from platekit.cutting.nest import nest, remnant_fault

    # a remnant's corners come from a tape measure: they may cross
    fault = remnant_fault(layout)
    if fault is not None:
        yield Finding(
            rule="remnant",
            level="stop",
            message=f"the remnant is no shape: {fault}",
            features=("outline",),
            advice=Advice("give its corners in order, once round (cutting: remnant)"),
            acceptable=False,
        )
        return
    found = nest(layout)
    if found is None:
        yield Finding(
            rule="remnant",
            level="note",
            message=f"{cutting.copies} copies are wanted, but no sheet is named to nest them on",
            features=("outline",),
            advice=Advice("give the sheet: cutting: {sheet: [1000, 500]}, or a remnant"),
        )
    elif not found.poses:
        # not even one: the part itself is too large, so that fewer copies help nothing
        more = Box(0.0, 0.0, layout.outline.box.width, layout.outline.box.height).grown(found.edge_gap)
        room, what = found.sheet.box, "remnant" if found.remnant else "sheet"
        yield Finding(
            rule="remnant",
            level="stop",
            message=f"the {what}, {say(layout, room.width)} x {say(layout, room.height)} over all, is smaller than the "
            f"part: no place was found for {say(layout, more.width)} x {say(layout, more.height)}, the margin counted "
            "in",
            features=("outline",),
            at=layout.outline.box.center,
            found=found.sheet.area,
            needed=layout.outline.area,
            unit="mm2",
            advice=Advice(
                f"take a sheet of at least {rounded_up(layout, more.width):g} x {rounded_up(layout, more.height):g} "
                f"{layout.spec.unit}, or less margin (cutting: margin)"
            ),
            acceptable=False,
        )
    elif not found.fits:
        count, what = len(found.poses), "remnant" if found.remnant else "sheet"
        yield Finding(
            rule="remnant",
            level="stop",
            message=f"{count} of {found.wanted} copies could be nested on the {what}, {say(layout, found.gap)} apart",
            features=("outline",),
            at=layout.outline.box.center,
            found=float(count),
            needed=float(found.wanted),
            unit="copies",
            advice=Advice(f"cut {count} from it and the rest from another", (Remedy("cutting.copies", count),)),
        )
    else:
        # Copies that lie so near to each other or to the sheet's edge that the outside cannot be pierced and led
        # into.
        from platekit.cutting.paths import outside_path
        from platekit.cutting.sheet_paths import tight_copies

        path = outside_path(layout)
        if path is None or layout.limits.kerf.value <= 0:
            return
        tight = tight_copies(layout, found)
        if not tight:
            return
        capability = capability_of(layout)
        wider = capability.pierce_room.value + capability.lead.value
        yield Finding(
            rule="remnant",
            level="stop",
            message=f"copy {tight[0]}{f' and {len(tight) - 1} more' if len(tight) > 1 else ''}: no room is left beside "
            f"it to pierce for its outside, {say(layout, found.gap)} from the next and "
            f"{say(layout, found.edge_gap)} from the edge",
            features=("outline",),
            at=layout.outline.box.center,
            found=found.gap,
            needed=wider,
            advice=Advice(
                f"leave more between them and to the edge (cutting: margin: {rounded_up(layout, wider):g}), on a "
                "larger sheet if need be"
            ),
        )


def strip(layout: Layout) -> Iterator[Finding]:
    """Copies that are nested with hardly anything left between them, mm."""
    from platekit.cutting.estimate import margin_of

    cutting = layout.cutting
    margin, usual = margin_of(layout), margin_of(layout, given=False)
    if cutting.copies == 1 or (cutting.sheet is None and cutting.remnant is None) or margin >= NARROW_MARGIN * usual:
        return
    yield Finding(
        rule="strip",
        level="warn",
        message=f"{say(layout, margin)} is left between the copies, the kerfs not counted; so narrow a strip of "
        f"{say(layout, layout.thickness)} plate burns through or tips, and takes the next cut's heat",
        features=("outline",),
        at=layout.outline.box.center,
        found=margin,
        needed=usual,
        advice=Advice(f"leave {say(layout, usual)} between them (cutting: margin)"),
    )


RULES = (
    Rule(
        "machine",
        "a machine file that does not say what is needed",
        "every figure given",
        "no number of its own: the machine file says it",
        machine_gaps,
        levels=("warn", "note"),
        keys=("cutting.machine",),
    ),
    Rule(
        "bed",
        "a plate larger than the machine reaches",
        "the bed",
        "no number of its own: the machine file says it",
        bed,
        levels=("stop",),
        keys=("cutting.machine",),
    ),
    Rule(
        "remnant",
        "copies that cannot be nested on the sheet or remnant",
        "the thickness, at least 5 mm, and the kerf between copies",
        "from memory",
        copies_fit,
        levels=("stop", "note"),
        keys=("cutting.margin",),
        acceptable="never",
    ),
    Rule(
        "strip",
        "copies so near to each other that the strip between them does not stand the cut",
        f"{NARROW_MARGIN:g} of the usual margin, which is the thickness and at least 5 mm; kerfs not counted",
        "from memory; ours",
        strip,
        levels=("warn",),
        keys=("cutting.margin",),
    ),
)

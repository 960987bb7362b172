"""Rules on the screws: long enough to hold, short enough not to bottom, carried by their washers."""

from __future__ import annotations

import math
from collections.abc import Iterator

from msgspec.structs import replace

from platekit import tables
from platekit.checks.advice import rounded_up, say, smaller_holes
from platekit.checks.finding import BLANK, Advice, Finding, Level, Remedy
from platekit.checks.rule import Rule
from platekit.placed import SAME_LENGTH, Layout, PlacedMount, ScrewStack
from platekit.tables.shop import shop_figure
from platekit.units import mm_per

BOTTOM_IN_PITCHES = 1.0
"""A screw ends at least this many pitches before the bottom of a blind thread (common practice): a washer or plate at
the thin end of its tolerance must not let it bottom before it clamps."""
BEARING_OVERLAP = shop_figure("bearing under a head, least width")
"""Least width on each side of a hole or slot on which a head or washer must sit, mm (`shop_figures.csv`)."""


def grip(layout: Layout) -> Iterator[Finding]:
    """Screws (mm) that do not reach deep enough, or that bottom in a blind thread before they clamp."""
    for stack in layout.stacks:
        if stack.into == "stud":
            yield from _on_studs(layout, stack)
            continue
        if stack.into == "part" and stack.available is None:
            message = f"how deep the part's thread goes is not given, so its {stack.size} screw may bottom in it"
            by_hand = Advice("measure it and give screws: depth")
            asks = (Remedy(f"{stack.field}.depth", BLANK),)
            yield replace(_finding(layout, stack, "warn", message, (0.0, stack.needed), by_hand), asks=asks)
        yield from _reach(layout, stack)
        if stack.head == "countersunk" and stack.head_height > layout.thickness:
            message = (
                f"a countersunk {stack.size} head is {say(layout, stack.head_height)} high; "
                f"the plate is {say(layout, layout.thickness)} thick"
            )
            advice = Advice("use a hex or socket head (head: hex)", (Remedy(f"{stack.field}.head", "hex"),))
            yield _finding(layout, stack, "stop", message, (layout.thickness, stack.head_height), advice)


def _finding(
    layout: Layout, stack: ScrewStack, level: Level, message: str, figures: tuple[float, float], *ideas: Advice
) -> Finding:
    """A finding of `grip`; `figures` are what was found and what is needed, mm."""
    found, needed = figures
    return Finding(
        rule="grip",
        level=level,
        message=f"{stack.mount}: {message}",
        features=layout.mounts[stack.mount].hole_names,
        at=layout.mounts[stack.mount].points[0],
        found=found,
        needed=needed,
        advice=ideas[0],
        others=ideas[1:],
        field=stack.field,
    )


def _on_studs(layout: Layout, stack: ScrewStack) -> Iterator[Finding]:
    """Studs that stay (mm) and are too short for what is put over them with a nut and two threads."""
    stands = stack.length or 0.0
    wanted = stack.grip + stack.needed
    short = wanted - stands
    if short <= SAME_LENGTH:
        return
    message = (
        f"the {stack.size} studs stand {say(layout, stands)} out of the part; {_clamped(layout, stack)} is clamped and "
        f"{say(layout, stack.needed)} (nut and two threads) must stand past it, {say(layout, wanted)} in all"
    )
    ideas = []
    washer = tables.screw(stack.size).washer_thickness or 0.0
    if stack.washers and washer >= short - SAME_LENGTH and stack.washers * washer <= stack.grip:
        ideas.append(Advice("leave the washer out (washer: false)", (Remedy(f"{stack.field}.washer", False),)))
    standoff = layout.mounts[stack.mount].spacing
    if standoff >= short - SAME_LENGTH:
        lower = math.floor((standoff - short) * 10 + 1e-6) / 10
        said = f"take spacers of {say(layout, lower)}" if lower else "leave the spacers out"
        ideas.append(Advice(said, (Remedy(f"mounts.{stack.mount}.standoff", f"{lower:.6g} mm"),)))
    thinner = math.floor((layout.thickness - short) * 10 + 1e-6) / 10
    if thinner > 0:
        said = f"a plate {say(layout, thinner)} thick leaves room for them"
        ideas.append(Advice(said, (Remedy("plate.thickness", f"{thinner:.6g} mm"),)))
    ideas.append(Advice("turn the studs out and put screws in their place (into: part), or have longer studs set"))
    yield _finding(layout, stack, "stop", message, (stands, wanted), *ideas)


def _clamped(layout: Layout, stack: ScrewStack) -> str:
    """How much is clamped in words, with what of it are washers (mm)."""
    thick = stack.washers * (tables.screw(stack.size).washer_thickness or 0.0)
    if not thick:
        return say(layout, stack.grip)
    which = "a washer" if stack.washers == 1 else f"{stack.washers} washers"
    return f"{say(layout, stack.grip)}, {say(layout, thick)} of it {which},"


def _with_washers(layout: Layout, stack: ScrewStack) -> Advice:
    """Advice to add washers; where a length that is given is too short then, a stock length comes along (mm).

    Without a stock length that would do, the screw stays as it is: whether it still reaches is for whoever tries it.
    """
    put = Remedy(f"{stack.field}.washer", True)
    thick = tables.screw(stack.size).washer_thickness or 0.0
    grip = stack.grip + thick * (2 if stack.into == "nut" and stack.head != "countersunk" else 1)
    if not stack.given or stack.length is None or stack.into == "stud":
        return Advice("add washers (washer: true)", (put,))
    deepest = math.inf if stack.available is None or stack.open_thread else stack.available
    if stack.length - grip >= stack.needed - SAME_LENGTH:
        return Advice("add washers (washer: true)", (put,))
    fitting = (one for one in stack.stock_lengths if stack.needed - SAME_LENGTH <= one - grip <= deepest + SAME_LENGTH)
    length = next(fitting, None)
    if length is None:
        return Advice("add washers (washer: true)", (put,))
    said = f"add washers (washer: true) and take a screw {say(layout, length)} long, as they are clamped too"
    return Advice(said, (put, Remedy(f"{stack.field}.length", f"{length:.6g} mm")))


def _reach(layout: Layout, stack: ScrewStack) -> Iterator[Finding]:
    """The first thing that is wrong with how far the screw goes into its thread."""
    available, needed = stack.available, stack.needed
    # The thread in the plate is open at the other side: a screw may stand out there.
    deepest = math.inf if available is None or stack.open_thread else available
    pitch = BOTTOM_IN_PITCHES * tables.screw(stack.size).pitch

    def of_length(words: str, length: float) -> Advice:
        return Advice(words, (Remedy(f"{stack.field}.length", f"{length:.6g} mm"),))

    # What would do for a length that does not: a stock one that fits, or a screw cut to size, a millimetre more than
    # needed if the thread has it, never into the last pitch of a blind hole unless there is no other way.
    fitting = (one for one in stack.stock_lengths if needed - SAME_LENGTH <= one - stack.grip <= deepest + SAME_LENGTH)
    stock = [of_length(f"take a screw {say(layout, length)} long", length) for length in list(fitting)[:1]]
    cut: list[Advice] = []
    long = math.floor((stack.grip + min(needed + 1.0, max(needed, deepest - pitch))) * 10 + 1e-6) / 10
    if long - stack.grip < needed - SAME_LENGTH:
        long = math.ceil((stack.grip + needed) * 10 - 1e-6) / 10
    if long - stack.grip <= deepest + SAME_LENGTH:
        cut.append(of_length(f"have a screw cut to {say(layout, long)}, or change what is clamped", long))
    cut.append(Advice("change what is clamped: another washer, plate or standoff"))

    # How much must be in the thread hangs on what that is cut in: where it is only assumed, looking costs nothing.
    known: list[Advice] = []
    if stack.thread_in is None and stack.into == "part" and layout.mounts[stack.mount].standard is not None:
        said = "see what the thread is cut in, and say so: thread_in: cast iron if a magnet sticks to it"
        known.append(Advice(said, (Remedy(f"{stack.field}.thread_in", "cast iron"),)))

    if available is not None and available < needed - SAME_LENGTH:
        message = (
            f"the thread is {say(layout, available)} deep; {stack.size} needs "
            f"{say(layout, needed)} ({stack.needed_source})"
        )
        # No edit can know how deep the thread of another screw would be.
        through = "use a nut on a screw that goes through (into: nut), a deeper thread, or a smaller screw"
        ideas = [Advice("use a nut behind it, or a smaller screw" if stack.open_thread else through)]
        if stack.open_thread and stack.into == "plate":
            thick = rounded_up(layout, layout.thickness + needed - available)
            said = f"take a plate {say(layout, thick * mm_per(layout.spec.unit))} thick"
            ideas.insert(0, Advice(f"{said}, a nut behind it, or a smaller screw", (Remedy("plate.thickness", thick),)))
        if layout.mounts[stack.mount].layer is not None:  # a layer is ours: its screws may hold elsewhere
            nuts = Advice("use nuts behind it (into: nut)", (Remedy(f"{stack.field}.into", "nut"),))
            tapped = Advice("tap the plate, not the layer (into: plate)", (Remedy(f"{stack.field}.into", "plate"),))
            ideas = [nuts, tapped, *ideas]
        ideas = [*known, *ideas]
        yield _finding(layout, stack, "stop", message, (available, needed), *ideas)
        return
    if stack.length is None:
        window = f"at least {say(layout, needed)}"
        if available is not None and stack.into == "part" and not stack.open_thread:
            window = f"{say(layout, needed)} to {say(layout, available)}"
        message = (
            f"no stock length of {stack.size} fits: {_clamped(layout, stack)} is clamped and {window} must be "
            "in the thread"
        )
        yield _finding(layout, stack, "stop", message, (0.0, needed), *cut, *known)
        return
    past = stack.length - stack.grip
    screw = f"the {stack.size} screw, {say(layout, stack.length)} long,"
    if past < needed - SAME_LENGTH:
        message = (
            f"{screw} reaches {say(layout, max(past, 0.0))} into the thread; {say(layout, needed)} is needed "
            f"({stack.needed_source})"
        )
        yield _finding(layout, stack, "stop", message, (past, needed), *stock, *cut)
        return
    if stack.into != "part" or available is None or stack.open_thread:
        return
    if past > available + SAME_LENGTH:
        message = (
            f"{screw} reaches {say(layout, past)} past the plate and bottoms: the thread is "
            f"{say(layout, available)} deep"
        )
        yield _finding(layout, stack, "stop", message, (past, available), *stock, *cut)
        return
    # Screws, plates and washers vary by tenths; with less than a pitch left the screw may bottom before it clamps.
    left = available - past
    if left >= pitch - SAME_LENGTH:
        return
    shorter = math.floor((stack.grip + available - pitch) * 10 + 1e-6) / 10
    if shorter - stack.grip < needed - SAME_LENGTH:
        advice = Advice("measure how deep the thread really is (screws: depth), or put one more washer under the head")
    else:
        advice = of_length(f"grind it off to {say(layout, shorter)}, or put one more washer under its head", shorter)
    message = (
        f"{screw} ends {say(layout, max(left, 0.0))} before the bottom of the {say(layout, available)} thread; "
        f"{say(layout, pitch)} (one pitch) is wanted, so that it does not bottom under a thin washer or plate"
    )
    yield _finding(layout, stack, "warn", message, (left, pitch), advice)


def washer(layout: Layout) -> Iterator[Finding]:
    """A washer or head (mm) that does not bridge its hole or slot."""
    for stack in layout.stacks:
        mount = layout.mounts[stack.mount]
        if stack.into == "plate" or stack.head == "countersunk":
            continue
        # without a washer the head itself bears: as it was laid out, else as its table has it
        seated = "nut" if stack.into == "stud" else "head"
        heads = (b.shape.box.width for b in layout.bodies if b.kind == seated and b.carrier == stack.mount)
        bearing = stack.washer_outer or next(heads, tables.screw(stack.size).socket_head_diameter or 0.0)
        # on both sides of the hole or slot, across which a head stands like a bridge
        needed = mount.hole + 2 * BEARING_OVERLAP
        if bearing >= needed:
            continue
        what = "washer" if stack.washer_outer else f"{seated} without a washer"
        ideas = list(smaller_holes(layout, mount, bearing - 2 * BEARING_OVERLAP))
        wide = tables.screw(stack.size).washer_outer
        if not stack.washer_outer and wide is not None:
            washers = _with_washers(layout, stack)
            both = (
                Advice(f"{one.text}, and {washers.text}", (*one.remedies, *washers.remedies))
                for one in smaller_holes(layout, mount, wide - 2 * BEARING_OVERLAP)
            )
            ideas = [washers, *ideas, *both]
        ideas.append(Advice("use a thick bridging washer or a smaller hole"))
        yield Finding(
            rule="washer",
            level="stop" if bearing < mount.hole else "warn",
            message=f"{stack.mount}: the {what} is {say(layout, bearing)} across on a hole {say(layout, mount.hole)} "
            f"wide; {say(layout, needed)} is needed to bear",
            features=mount.hole_names,
            at=mount.points[0],
            found=bearing,
            needed=needed,
            advice=ideas[0],
            others=tuple(ideas[1:]),
        )


WIDE_THREAD = 1.06
"""A measured hole this many times as wide as a screw is no thread for it (ours: its chamfer may measure so)."""
NARROW_THREAD = 0.06
"""And one narrower than its tap drill by this share of the screw is a smaller thread (ours)."""
JAWS = 0.3
"""Inside jaws read small in small holes by up to this, mm (common practice)."""


def tapped(layout: Layout) -> Iterator[Finding]:
    """Holes measured in a part (mm) that cannot be the threads its screws are to go into."""
    for mount in layout.mounts.values():
        stack, survey = mount.stack, mount.survey
        if survey is None or stack is None or stack.into != "part":
            continue
        screw = tables.screw(stack.size)
        measured = {f"{mount.name}.{one.name}": one.diameter for one in survey.net.features}
        across = {name: found for name in mount.hole_names if (found := measured.get(name)) is not None}
        least = screw.tap_drill - NARROW_THREAD * screw.diameter - JAWS
        tight = {name: found for name, found in across.items() if found < least}
        wide = {name: found for name, found in across.items() if found > WIDE_THREAD * screw.diameter}
        if tight:
            said, advice = (
                "does not go into a thread whose core is",
                "try that screw by hand, and name the one that goes in",
            )
            yield _no_thread(layout, mount, "stop", tight, (min(tight.values()), screw.tap_drill), said, advice)
        if wide:
            advice = "look whether there is a thread at all: through a plain hole goes a screw with a nut (into: nut)"
            said = "finds no thread in a hole that measures"
            yield _no_thread(layout, mount, "warn", wide, (max(wide.values()), screw.diameter), said, advice)


def _no_thread(
    layout: Layout,
    mount: PlacedMount,
    level: Level,
    holes: dict[str, float],
    figures: tuple[float, float],
    said: str,
    advice: str,
) -> Finding:
    found, needed = figures
    size = "" if mount.stack is None else mount.stack.size
    return Finding(
        rule="tapped",
        level=level,
        message=f"{', '.join(holes)}: {size} {said} {say(layout, found)}; that of {size} is drilled "
        f"{say(layout, tables.screw(size).tap_drill)}",
        features=tuple(holes),
        at=mount.points[mount.hole_names.index(next(iter(holes)))],
        found=found,
        needed=needed,
        advice=Advice(advice),
    )


RULES = (
    Rule(
        "tapped",
        "a screw for which the hole that was measured is no thread",
        f"its tap drill less {NARROW_THREAD:g} of its diameter and {JAWS:g} mm; {WIDE_THREAD:g} diameters",
        "thread tables, each row with its kind; ours",
        tapped,
        levels=("stop", "warn"),
        keys=("mounts.NAME.screws.size",),
    ),
    Rule(
        "grip",
        "a screw too short to hold, or one that bottoms",
        "1 diameter in steel, 1.5 in cast iron, 2 in aluminium; the nut and one thread, on a stud two; one pitch to "
        "the bottom",
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

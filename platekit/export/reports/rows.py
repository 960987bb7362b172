"""Rows of the report on cutting, putting together, going back, the tightest places, and all sources."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator
from contextlib import suppress
from typing import Final

from msgspec import Struct

from platekit import tables
from platekit.analysis.assembly import Assembly, AssemblyStep, assembly, way_back
from platekit.analysis.nearness import said_positions
from platekit.checks.openings import EDGE_IN_DIAMETERS
from platekit.cutting.capability import capability_of
from platekit.cutting.estimate import SCRIBE_SPEED, CutPlan, plan
from platekit.cutting.scribe import scribing_of
from platekit.drawing.jacking import jack_words
from platekit.drawing.sizes import figure, mass_figure
from platekit.drawing.welding import ORDER, weld_words
from platekit.errors import LookupFailed
from platekit.export.bench.words import names_in_a_row
from platekit.export.reports.screw_figures import group_figures
from platekit.laying.welded import welded_bars
from platekit.placed import Layout, PartDowels, ScrewStack, Value
from platekit.studies.tightest import tightest
from platekit.tables.guards import safety_distance
from platekit.tables.torques import STRIP_SAFETY, USUAL_CLASS, thread_bears
from platekit.tables.values import Source
from platekit.units import Unit, nearest_fraction, show_force, show_fraction, show_length

KINDS: Final = ("published", "common practice", "from memory")
"""The three kinds of source, as they are marked wherever a figure is shown."""

MOST_LEFT_OUT: Final = 20
"""Most words to be written by hand that one row lists (ours)."""

Row = tuple[str, str]


class SourceRow(Struct, frozen=True):
    """A figure in use, with where it comes from and of which kind that is."""

    what: str
    value: str
    source: str
    kind: str


class StepRow(Struct, frozen=True):
    """One step of putting together: what, from where, with which screws and tool, and what to mind."""

    item: str
    side: str
    screws: str
    tool: str
    mind: str


class TightRow(Struct, frozen=True):
    """Two parts that come near each other: how near, how near they may, and where the travel stands then."""

    a: str
    b: str
    found: str
    needed: str
    spare: str
    when: str
    short: bool


# -------------------------------------------------------------------------------------------- cutting


def cutting_rows(layout: Layout) -> Iterator[Row]:
    """Length, pierces, time, mass and cost of cutting; nothing for a process that cuts nothing."""
    return plan_rows(layout, plan(layout))


def plan_rows(layout: Layout, made: CutPlan | None) -> Iterator[Row]:
    """The same of a cut plan that is at hand."""
    if made is None:
        return
    unit = layout.spec.unit
    yield "by", made.machine
    yield "cut length", f"{show_length(made.cut_length, unit)}, with leads and overruns"
    yield "pierces", f"{made.pierces}{f', and {made.marks} centre-punch marks' if made.marks else ''}"
    if layout.cutting.scribe:
        # What is scribed, and what is left to write by hand
        found = scribing_of(layout)
        count = sum(one.what != "weld" for one in found.words)
        said = f"{count} words, {show_length(found.height, unit)} high, on the {found.side} face"
        missing = ", ".join(one.text for one in found.left_out[:MOST_LEFT_OUT])
        more = len(found.left_out) - MOST_LEFT_OUT
        rest = f"; not scribed: {missing}{f' and {more} more' if more > 0 else ''}" if missing else ""
        yield "scribed", f"{said}, {show_length(found.length, unit, 0)} of strokes{rest}"
    parts = [(made.cutting_s, "cutting"), (made.piercing_s, "piercing"), (made.travelling_s, "between")]
    if made.scribed_words:
        parts.insert(0, (made.scribing_s, "scribing"))
    said = ", ".join(f"{minutes(seconds)} {what}" for seconds, what in parts)
    yield "time", f"about {minutes(made.total_s)} ({said}); loading, punching and waiting come on top"
    if made.slow_holes:
        yield "small holes", f"{made.slow_holes} cut slower"
    yield "mass", f"plate {mass_figure(made.mass, unit)}, blank {mass_figure(made.sheet_mass, unit)}"
    if made.wear is not None:
        yield "wears out", f"{made.wear:.3g} sets of {made.consumables or 'consumables'}"
    if made.cost is not None:
        without = f", without {', '.join(made.cost.without)}" if made.cost.without else ""
        yield "cost", f"{made.cost.sum:.2f} {made.cost.currency}{without}"


def minutes(seconds: float) -> str:
    """A time as the shop says it.

    >>> minutes(42.4), minutes(130)
    ('42 s', '2 min 10 s')
    """
    whole = round(seconds)
    return f"{whole} s" if whole < 60 else f"{whole // 60} min {whole % 60} s"


def cutting_sources(layout: Layout, made: CutPlan | None) -> Iterator[SourceRow]:
    """What the time estimate and the fit of the holes rest on."""
    if made is None:
        return
    capability = capability_of(layout)
    for what, value in (
        ("cutting speed", made.speed_mm_min),
        ("speed between cuts", made.positioning_mm_min),
    ):
        yield SourceRow(what, f"{value.value:.0f} mm/min", *kind_of(value))
    yield SourceRow("time of one pierce", f"{made.pierce_s.value:g} s", *kind_of(made.pierce_s))
    if made.scribed_words:
        yield SourceRow("scribing speed", f"{SCRIBE_SPEED:.0f} mm/min", "usual of marking heads", "from memory")
    pierce = capability.pierce_room
    yield SourceRow("room round a pierce", show_length(pierce.value, layout.spec.unit), *kind_of(pierce))


# ------------------------------------------------------------------------------- putting together


def step_rows(layout: Layout, order: Assembly) -> Iterator[StepRow]:
    """The order of assembly, step by step; nothing when there is none."""
    if order.welded:
        bars = welded_bars(layout)
        sides = " and ".join(f"{side} side" for side in ("near", "far") if any(bar.side == side for bar in bars))
        yield StepRow(weld_words(order.welded), sides, "", "", ORDER)
    if layout.flange is not None:
        side = f"{layout.flange.side} side"
        yield StepRow(f"bend the {layout.flange.edge} edge", side, "", "", "when all holes are drilled and dressed")
    for step in order.steps:
        mind = f"only hand-tight: tightened once {step.until}" if step.slides else ""
        if step.covered:
            # a screw that something covers later can be tightened only now; where the part still slides, it cannot be
            # tightened now either, and that must be known before the machine is together
            over = ", ".join(step.covered_by) or "what comes later"
            mind += f"; {over} can cover {names_in_a_row(step.covered)} then" if step.slides else ""
            mind = mind or f"tighten now: {over} will cover {names_in_a_row(step.covered)}"
        mount = layout.mounts.get(step.item)
        if mount is not None and mount.stack is not None and mount.stack.spacer is not None:
            put = f"its {mount.stack.count} spacers between plate and part, one round each screw, all of one length"
            mind = "; ".join(one for one in (put, mind) if one)
        if mount is not None and mount.layer is not None and mount.layer.dowels is not None:
            pins = "clamped in its place, drilled and reamed with the plate; its dowel pins in, then its screws"
            mind = "; ".join(one for one in (pins, mind) if one)
        if mount is not None and mount.dowels is not None:
            mind = "; ".join(one for one in (dowel_words(mount.dowels), mind) if one)
        if step.jack is not None:
            mind = "; ".join(one for one in (mind, jack_words(step.jack.size, step.jack.made)) if one)
        # what lies beside the plate comes along its own shaft, whichever side that is
        side = {"pulley": "along its shaft", "belt": "over its pulleys", "coupling": "between its shafts"}.get(
            step.kind, "any side"
        )
        if step.side is not None:
            side = f"{step.side} side"
        screws = f"{len(step.screws)} × {step.size or 'screw'}" if step.screws else ""
        if step.screws and step.head_side is not None:
            stack = layout.mounts[step.item].stack if step.item in layout.mounts else None
            on_studs = stack is not None and stack.into == "stud"
            screws += f", {'nuts' if on_studs else 'heads'} on the {step.head_side} side"
        whole = step.item in {guard.name for guard in layout.guards}
        item = f"{step.item} without its cover" if whole else step.item
        if step.kind == "guard" and ".half " in step.item:
            item = "half of the " + step.item.replace(".half", "'s back plate,")
            side = "along the plate, square to its seam"
        yield StepRow(item, side, screws, _tool_words(layout, step), mind)


def dowel_words(pins: PartDowels) -> str:
    """How the pins between the plate and a part come to their places."""
    count, what = len(pins.names), "spring pins" if pins.pin == "spring" else "dowel pins"
    if pins.together:
        way = "screws tight, then drilled through plate and part at once"
    else:
        way = "set in its place, their places taken from the part's own holes (dowel centres, or a punch through them)"
    made = "drilled to size" if pins.pin == "spring" else "drilled and reamed"
    made = made if pins.together else f"plate off, {made}"
    return f"its {count} {what} the first time: {way}, {made}; pins into the part, and the plate goes over them"


def _tool_words(layout: Layout, step: AssemblyStep) -> str:
    """The tools for a step's screws, with the width across flats that they take where the table has it."""
    said = " or ".join(step.tools)
    stack = layout.mounts[step.item].stack if step.item in layout.mounts else None
    if not said or step.size is None:
        return said
    screw = tables.screw(step.size)
    flats = screw.hex_across_flats if stack is None or stack.head == "hex" else None
    if stack is not None and stack.into == "stud":
        flats = screw.nut_across_flats
    if flats is None:
        return said
    # as it is stamped on the tool: an inch head takes a fraction, in whatever unit the spec is
    stamped = show_fraction(nearest_fraction(flats)).removesuffix(" in") if screw.system == "inch" else f"{flats:g}"
    return f"{said} {stamped}"


def circle_words(order: Assembly) -> Iterator[str]:
    """What keeps each item of a circle from going on after the other."""
    for one in order.circle:
        what = f" ({names_in_a_row(one.bodies)})" if one.bodies else ""
        yield f"{one.item} cannot go on after {one.by}{what}"


def back_words(layout: Layout) -> Iterator[str]:
    """How the machine becomes what it was: what comes off in which order, and what stays different for good."""
    back = way_back(layout)
    if back.off:
        yield f"Take off, in this order: {', '.join(step.item for step in back.off)}; then the plate."
    yield f"Keep and label the old screws and parts of {' and '.join(back.mounts)}: they go back into their own holes."
    if back.whole:
        yield "No hole of the old machine is changed: the change can be undone whole."
    else:
        yield f"These new holes stay in the old machine for good: {names_in_a_row(back.lasting)}."


def order_of(layout: Layout) -> Assembly:
    """The worked-out order of assembly."""
    return assembly(layout)


# --------------------------------------------------------------------------------- tight places


def tight_rows(layout: Layout) -> Iterator[TightRow]:
    """The places with the least to spare."""
    unit = layout.spec.unit
    for pair in tightest(layout):
        when = said_positions(layout, pair.positions).removeprefix(" with ")
        # a minus sign says little to a reader: below zero the words say what it means
        short, within = pair.spare < -1e-6, pair.found < -1e-6
        found, needed, spare = (figure(abs(value), unit) for value in (pair.found, pair.needed, pair.spare))
        yield TightRow(
            pair.a,
            pair.b,
            f"{found} into each other" if within else found,
            needed,
            f"{spare} too near" if short else spare,
            when,
            short,
        )


# ------------------------------------------------------------------------------------------- sources


def limit_rows(layout: Layout) -> Iterator[SourceRow]:
    """The limits that the checks judge by."""
    limits, unit = layout.limits, layout.spec.unit
    for what, value in (
        ("smallest hole that the process holds", limits.smallest_hole),
        ("steel between two openings", limits.web),
        ("inside corner radius", limits.inside_radius),
        ("gap between parts", limits.gap),
        ("kerf", limits.kerf),
        ("added to a pilot's diameter", limits.pilot_clearance),
    ):
        yield SourceRow(what, show_length(value.value, unit), *kind_of(value))
    what = "screw hole's centre to the outside"
    if limits.edge is None:
        yield SourceRow(what, f"{EDGE_IN_DIAMETERS:g} hole diameters", "usual", "common practice")
    else:
        yield SourceRow(what, show_length(limits.edge.value, unit), *kind_of(limits.edge))


def kind_of(value: Value) -> tuple[str, str]:
    """The source of a limit and its kind; what the spec gives is of no kind."""
    # the kind stands at the end of a source in words; what the spec gave is the user's own and of no kind
    for kind in KINDS:
        if value.source.endswith(kind):
            said = value.source.removesuffix(kind).rstrip(", ")
            return said or "usual", kind
    return ("given in the spec" if value.source == "spec" else value.source), ""


def source_rows(layout: Layout) -> Iterator[SourceRow]:
    """Where material, standard parts, screws and guard distances come from."""
    material = layout.material
    strength = f"{material.density:g} kg/m³, yields at {material.yield_strength:g} N/mm²"
    yield source_row(material.name, strength, material.source)
    for mount in layout.mounts.values():
        if mount.standard is not None:
            yield source_row(mount.name, mount.standard.designation, mount.standard.source)
    for stack in layout.stacks:
        value = show_length(stack.needed, layout.spec.unit)
        needed = kind_of(Value(stack.needed, stack.needed_source))
        yield SourceRow(f"{stack.mount}: thread that a screw needs", value, *needed)
    for stack in {stack.size: stack for stack in layout.stacks}.values():
        yield from _screw_sources(stack, layout.spec.unit)
    for guard in layout.guards:
        if guard.opening is None:
            continue
        with suppress(LookupFailed):  # a rule stops such a guard; here there is just no figure to source
            needed_gap = safety_distance(*guard.opening)
            distance = show_length(needed_gap.distance, layout.spec.unit)
            yield source_row(f"{guard.name}'s openings: distance needed", distance, needed_gap.source)


def source_row(what: str, value: str, source: Source) -> SourceRow:
    """A figure with its source, and what in it is from memory only."""
    doubts = ", ".join(re.sub(r"_(mm|in)$", "", column).replace("_", " ") for column in source.doubted)
    return SourceRow(what, value, source.name + (f"; from memory: {doubts}" if doubts else ""), source.kind)


def _screw_sources(stack: ScrewStack, unit: Unit) -> Iterator[SourceRow]:
    screw = tables.screw(stack.size)
    # only figures that this screw uses are told with their source: a row of the table holds those of all heads
    unused = {f"{head} head" for head in ("hex", "socket", "countersunk") if head != stack.head}
    unused |= set() if stack.into in ("nut", "stud") else {"nut"}
    unused |= {f"{stack.head} head"} if stack.into == "stud" else set()
    large = stack.washer_outer == screw.large_washer_outer
    unused |= {"washer" if large else "large washer"} if stack.washers else {"washer", "large washer"}
    groups: dict[Source, list[str]] = {}
    for group, source in screw.sources:
        if group.replace("_", " ") in unused:
            continue
        groups.setdefault(source, []).append(group_figures(screw, group.replace("_", " "), unit))
    for source, what in groups.items():
        yield source_row(f"screw {stack.size}", "; ".join(what), source)
    try:
        torque = tables.torque(stack.size, USUAL_CLASS[screw.system])
    except LookupFailed as error:
        yield SourceRow(f"torque of {stack.size}", "not known", str(error), "")
        return
    if stack.held_in == "aluminium" and stack.engagement > 0:
        bears = thread_bears(stack.size, "aluminium", stack.engagement)
        yield SourceRow(
            f"aluminium round a thread of {stack.size}",
            f"strips at {show_force(bears, unit)}; no standard prints a torque for it, and it is to bear "
            f"{STRIP_SAFETY:g} times the preload",
            "root of the thread in shear (Machinery's Handbook, FED-STD-H28/2B) in a weaker casting "
            "alloy; the casting's data sheet settles it",
            "from memory",
        )
    yield source_row(f"torque of {stack.size}", f"{torque.torque:.3g} Nm, {torque.property_class}", torque.source)


def by_kind(rows: Iterable[SourceRow]) -> tuple[tuple[str, int], ...]:
    """How many figures there are of each kind, in the order of trust."""
    counts = Counter(row.kind for row in rows)
    return tuple((kind or "given in the spec", counts[kind]) for kind in (*KINDS, "") if counts[kind])

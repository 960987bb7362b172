"""The bench card: one page in large letters, for arm's length and greasy hands. The other sheets say the rest.

Only what is done at the bench with a tool in the hand: what the table left to be drilled or tapped, screws with their
torques, the belt's tension, each with a box to tick. What finds no room is on the sheets behind, and the card says so.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from platekit.analysis.assembly import in_order_of_tension
from platekit.checks.finding import Verdict
from platekit.cutting.needs import must_pass
from platekit.cutting.operations import Operations, words_of
from platekit.drawing.bending import bend_words
from platekit.drawing.cautions import CLEAR_TO_CUT, NOT_FOR_CUTTING, TWO_LINES
from platekit.drawing.from_side import planes_past_edges
from platekit.drawing.jacking import jack_words
from platekit.drawing.like_findings import count_words, grouped, own
from platekit.drawing.pdf.letters import LINE, POINT, Face, letters
from platekit.drawing.pdf.pages import STAMP_GREY
from platekit.drawing.pdf.paper import PaperSheet
from platekit.drawing.pdf.pen import Pen
from platekit.drawing.text import shortened, wrapped
from platekit.export.bench.drawing import callouts
from platekit.export.bench.words import check_pair, first_to_last, pieces_with, screw_name, torque_words
from platekit.export.reports.rows import order_of
from platekit.geometry import Box
from platekit.laying.welded import welded_bars
from platekit.placed import Layout
from platekit.studies.advised import NONE_FOUND, NOT_TRIED
from platekit.tables.naming import listed
from platekit.units import INCH, POUND_FORCE, show_length

SIZE: Final = 14.0
"""Size of the letters, points (ours: read at arm's length with the paper on the bench)."""
HEAD_SIZE: Final = 20.0
"""Size of title and verdict, points (ours)."""
STEP: Final = SIZE * LINE / POINT
"""Distance of two lines, mm."""
BOX: Final = 4.2
"""Side of a box to tick, mm (ours: a grease pencil's cross goes in)."""
INDENT: Final = 8.0
"""Room for the box before a line, mm (ours)."""
SMALLER: Final = 11.0
"""Size of the cautions, points (ours: they stand in full on the sheets behind)."""
SECTION_AIR: Final = 2.5
"""White above the heading of a section, mm (ours)."""

AT_THE_TABLE: Final = ("water-table", "process", "machine", "small-hole", "tolerance", "neck", "tip")
"""The rules whose warnings are about what the table leaves, so that whoever cuts has to hear them."""
MOST_WARNED: Final = 3
"""Most such warnings that the card tells in full (ours: a page is one page)."""
NOTHING_FOUND: Final = Verdict(())

Section = tuple[str, tuple[tuple[str, bool], ...]]
"""A heading and its lines, each with whether it has a box to tick."""


def sections(layout: Layout, made: Sequence[Operations], verdict: Verdict = NOTHING_FOUND) -> Iterator[Section]:
    """What is done at the bench, in the order of the job; lengths in the unit of the spec, forces in N or lbf.

    What the verdict warns of stands beside the holes: a hole that is "as the table cuts it" may be warned of.
    """
    unit = layout.spec.unit
    warned = list(grouped([one for one in verdict.open("warn") if one.rule in AT_THE_TABLE]))
    if warned:
        told = [
            (
                f"{first_to_last([name for one in alike for name in own(one, alike[0])])} ({alike[0].rule}): "
                f"{_done(alike[0].advice.text) if alike[0].advice else alike[0].message}",
                True,
            )
            for alike in warned[:MOST_WARNED]
        ]
        more = len(warned) - MOST_WARNED
        if more > 0:
            told.append((f"{more} more warnings of cutting on the sheets behind", False))
        yield "Before it is cut", tuple(told)
    by_hand = {operations.opening for operations in made if not operations.as_cut}
    drilled, as_cut = [], 0
    ears: dict[str, list[str]] = {}
    for callout in callouts(layout, made):
        names = [opening.name for opening in callout.openings]
        if len(names) == 1 and callout.openings[0].role == "fixing" and not by_hand.isdisjoint(names):
            ears.setdefault(callout.line, []).extend(names)  # all alike, and told in one line below
            continue
        if by_hand.isdisjoint(names):
            as_cut += len(names)
        else:
            # the size of a located spigot is no matter for a general tolerance: what has to go in is said
            enters = [must_pass(layout, one) for one in callout.openings if one.role == "pilot"]
            goes = "".join(f"; the {show_length(one, unit)} spigot must go in" for one in enters[:1] if one is not None)
            # a drill in inches is taken out of its box by its fraction
            drill = _drill_words(made, names) if unit == "in" else ""
            drilled.append((f"{first_to_last(names)}: {callout.line}{drill}{goes}", True))
    for line, names in ears.items():
        several = f"{len(names)} × " if len(names) > 1 else ""
        drilled.append((f"{first_to_last(names)}: {several}{line}", True))
    if as_cut:
        drilled.append((f"The other {as_cut} are as the table cuts them." if drilled else "All as cut.", False))
    pair = check_pair(layout)
    if pair is not None:
        drilled.append((f"Check: {pair[0]} to {pair[1]}, {show_length(pair[2], unit)} centre to centre.", True))
    yield "Holes", tuple(drilled)
    if layout.flange is not None:
        flange = layout.flange
        gauge = show_length(flange.leg + flange.allowance / 2, unit)
        bent = f"{flange.edge} edge, {bend_words(flange)}: back stop {gauge}, R{show_length(flange.radius, unit)}"
        yield "Bend, when it is drilled", ((bent, True),)
    bars = [
        (f"{bar.name}: leg {show_length(bar.leg, unit)}, {show_length(bar.weld_length, unit)} in all", True)
        for bar in welded_bars(layout)
    ]
    if bars:
        yield "Weld on first, and straighten when cold", tuple(bars)
    screws = []
    for mount in layout.mounts.values():
        if mount.stack is not None:
            pieces = pieces_with(layout, mount, mount.stack)
            said = f"{mount.name}: {mount.stack.count} × {screw_name(mount.stack)}, {torque_words(mount.stack, unit)}"
            screws.append((said + (f"; with {pieces}" if pieces else ""), True))
    for guard in (one for one in layout.guards if one.fixed_at):
        cover = f", its cover {len(guard.cover_holes)} × {guard.cover_screw}" if guard.cover_holes else ""
        screws.append((f"{guard.name}: {len(guard.fixed_at)} × {guard.screw}{cover}, snug: they hold sheet", True))
    if screws:
        yield "Screws", tuple(screws)
    steps = []
    for step in order_of(layout).steps:
        item = f"pulley {step.item}" if step.kind == "pulley" else step.item
        if step.item in layout.originals:
            item = f"plate on {step.item}"
        steps.append(f"{item} (hand-tight until {step.until.removeprefix('the ')})" if step.slides else item)
    if steps:
        yield "Put on in this order", ((", ".join(steps) + ".", False),)
    placed = list(_set_on_shafts(layout))
    if placed:
        yield "Set on the shafts", tuple((say, True) for say in placed)
    for belt, before in in_order_of_tension(layout.belts):
        forces = belt.result.forces
        if forces is None:
            continue
        press, new = (
            f"{force:.1f} N" if unit == "mm" else f"{force / POUND_FORCE:.1f} lbf"
            for force in (forces.sag_force, forces.sag_force_new)
        )
        sag = f"{forces.sag:.1f} mm" if unit == "mm" else f"{forces.sag / INCH:.2f} in"
        lines = [(f"press the middle of the span in by {sag}: {press}, a new belt {new}", True)]
        if forces.span_frequency_hz is not None:
            swings = f"{forces.span_frequency_hz:.0f} Hz, a new belt {forces.span_frequency_new_hz:.0f} Hz"
            lines.append((f"or pluck it: {swings}", False))
        jack = None if belt.adjusted is None else layout.mounts[belt.adjusted].jack
        if jack is not None:
            lines.append((jack_words(jack.size, jack.made), False))
        lines += [("again after the first hour", True), ("again after the first day, and all screws", True)]
        after = f", after that of {listed(before, 'and')}" if before else ""
        yield f"Tension of {belt.name}{after}", tuple(lines)


def _done(advice: str) -> str:
    """An advice for the bench: whether it was tried on the page is of no use there."""
    for lead in (NOT_TRIED, NONE_FOUND):
        advice = advice.removeprefix(lead)
    return advice


def _drill_words(made: Sequence[Operations], names: Sequence[str]) -> str:
    """The drill of the first of some openings made alike, as it is stamped, in brackets; empty without one."""
    own = next((operations for operations in made if operations.opening in names), None)
    works = [] if own is None else words_of(own, "in").split("; ")
    return next((f" ({work})" for work in works if work.startswith("drill ")), "")


def _set_on_shafts(layout: Layout) -> Iterator[str]:
    """Where pulleys sit on their shafts, and what a coupling leaves between its shaft ends; lengths in the unit."""
    unit, (low, high) = layout.spec.unit, layout.plate_z
    for belt in layout.belts:
        if belt.drawn.lies:
            continue
        for pulley in belt.pulleys:
            near = pulley.plane >= (low + high) / 2
            off = show_length(abs(pulley.plane - (high if near else low)), unit)
            yield f"{pulley.name}: its middle {off} off the plate's {'near' if near else 'far'} face"
    yield from planes_past_edges(layout)
    for one in layout.couplings:
        if one.possible:
            least, most = (show_length(value, unit) for value in one.gap)
            yield f"{one.body}: {least} to {most} between the shaft ends; as drawn {show_length(one.apart, unit)}"


def draw_card(
    pen: Pen, layout: Layout, verdict: Verdict, made: Sequence[Operations], paper: PaperSheet, which: str
) -> None:
    """The card as a page of its own; `which` says which sheet it is."""
    inner = paper.printable
    pen.page(paper.width, paper.height)
    if not verdict.clear:
        pen.stamp(inner.center, NOT_FOR_CUTTING, min(56.0, inner.width / 3.5), 50, STAMP_GREY)
    foot = inner.y0 + len(TWO_LINES) * STEP + 3.0
    left, width = inner.x0 + 4.0, inner.width - 8.0
    y = inner.y1 - 10.0
    pen.title((left, y), layout.title, width, HEAD_SIZE, SIZE)
    y -= 9.5
    word = CLEAR_TO_CUT if verdict.clear else f"{NOT_FOR_CUTTING}: {count_words(verdict.open('stop'), 'stop')}"
    pen.text((left, y), f"{word}  ·  revision {layout.spec.revision}  ·  {which}", SIZE, "bold")
    y -= 3.5
    pen.line((inner.x0, y), (inner.x1, y), 0.5)
    rows = [row for section in sections(layout, made, verdict) for row in _rows(section, width)]
    room = y - foot
    # the last line of a card that is full says that there is more
    fits, used = 0, 0.0
    for height, *_ in rows:
        if used + height > room - (STEP if fits + 1 < len(rows) else 0.0):
            break
        used += height
        fits += 1
    shown = rows[:fits]
    if fits < len(rows):
        shown.append((STEP, "More on the sheets behind.", "italic", False, 0.0))
    for height, words, face, boxed, indent in shown:
        y -= height
        if boxed:
            pen.box(Box(left, y - 0.3, left + BOX, y - 0.3 + BOX), 0.35)
        pen.text((left + indent, y), words, SIZE, face)
    pen.line((inner.x0, foot), (inner.x1, foot), 0.25)
    for index, say in enumerate(TWO_LINES):
        pen.text((left, foot - (index + 0.95) * STEP), shortened(say, width, letters(SMALLER)), SMALLER)
    pen.end_page()


Row = tuple[float, str, Face, bool, float]
"""A line: its height from the one before, its words and face, whether it has a box, how far in it stands; mm."""


def _rows(section: Section, width: float) -> Iterator[Row]:
    """A section as lines, wrapped; what goes on stands under its own words."""
    heading, lines = section
    yield STEP + SECTION_AIR, heading, "bold", False, 0.0
    for say, boxed in lines:
        for index, line in enumerate(wrapped(say, width - INDENT, letters(SIZE))):
            yield STEP, line, "regular", boxed and index == 0, INDENT

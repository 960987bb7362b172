"""What the bench sheet says beside its drawing: hole table, screws to buy, order of work, findings; words only."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import Final

from msgspec import Struct

from platekit import tables
from platekit.analysis.parts_list import FACING, pieces_of
from platekit.checks.finding import Finding, Verdict
from platekit.checks.stiffer import weld_category
from platekit.cutting.operations import Operations, words_of
from platekit.drawing.like_findings import grouped, led, own
from platekit.drawing.pdf.strip import by
from platekit.drawing.sizes import figure, mass_figure, opening_size
from platekit.drawing.svg.parts import LEVEL_WORDS
from platekit.errors import LookupFailed, SpecError
from platekit.export.data.hole_list import slot_ends, what_it_is
from platekit.export.text.belt import belt_rows
from platekit.export.text.coupling import coupling_rows
from platekit.export.text.parts_list import EQUAL, SQUARE
from platekit.geometry import Arc, Disc, Edge, Point, Shape, between, edge_of
from platekit.laying.welded import alike_bars, welded_bars
from platekit.placed import Layer, Layout, Opening, PlacedMount, ScrewStack, Spacer
from platekit.tables.spacers import general_deviation
from platekit.tables.torques import USUAL_CLASS, torque_in_aluminium
from platekit.units import (
    Unit,
    nearest_fraction,
    show_fraction,
    show_length,
    show_power,
    show_torque,
)

LOWER_LEFT: Final = "lower left"
"""The word for the plate's lower left corner as zero; the cut file counts from there."""
MOST_HOLES: Final = 400
"""Most openings that the hole table lists (ours: eight pages); the hole list has them all."""
MOST_EDGES: Final = 60
"""An outline of more edges than this is left to the cut file (ours)."""
SLIVER: Final = 0.1
"""An edge of the outside shorter than this is not told, mm (ours: less than any process that cuts plate holds)."""
MOST_POINTS: Final = 4
"""Most working points of a drive that the sheet gives (ours); the report has the whole curve."""

Table = list[list[str]]


class Zero(Struct, frozen=True):
    """Where X and Y count from: the point on the plate, and what is there, in words."""

    point: Point
    words: str


def zero_of(layout: Layout) -> Zero:
    """The zero that the spec names: a mount, a cutout, the lower left or a point; the first mount if it names none.

    Raises `SpecError` for a name that is neither.
    """
    given = layout.paper.zero
    if isinstance(given, tuple):
        x, y = (show_length(value, layout.spec.unit) for value in given)
        return Zero(given, f"the point {x}, {y} of the spec")
    # the first mount is the machine in nearly every spec: what is drilled is measured from what is there
    if given is None:
        given = next(iter(layout.mounts))
    if given in layout.mounts:
        return Zero(layout.mounts[given].pose.point((0.0, 0.0)), f"the zero of {given}")
    if given.lower() == LOWER_LEFT:
        return Zero((layout.outline.box.x0, layout.outline.box.y0), "the plate's lower left, as in the cut file")
    cutouts = {opening.name: opening for opening in layout.openings if opening.role == "cutout"}
    if given in cutouts:
        return Zero(cutouts[given].center, f"the middle of {given}")
    wanted = f"name a mount or cutout, `{LOWER_LEFT}`, or give [x, y]"
    raise SpecError((layout.spec.problem("paper.zero", f'"{given}", which is neither mount nor cutout', wanted),))


# ----------------------------------------------------------------------------------------------- holes


def hole_rows(layout: Layout, makings: Sequence[Operations], zero: Zero) -> Table:
    """Name, use, X, Y, size, work and screw of every opening, as far as the table goes."""
    unit = layout.spec.unit
    by_mount = {stack.mount: stack for stack in layout.stacks}
    stacks = [by_mount.get(one.mount or "") if one.role == "screw" else None for one in layout.openings]
    return [
        [
            opening.name,
            what_it_is(opening),
            *(place_words(opening, axis, zero.point, unit) for axis in (0, 1)),
            opening_size(layout, opening),
            words_of(operations, unit).replace("; ", ", "),
            "" if stack is None else screw_name(stack),
        ]
        for opening, operations, stack in list(zip(layout.openings, makings, stacks, strict=True))[:MOST_HOLES]
    ]


def place_words(opening: Opening, axis: int, zero: Point, unit: Unit) -> str:
    """X (axis 0) or Y of an opening from a zero (mm), in the unit; of a slot those of the centres of both its ends."""
    ends = slot_ends(opening)
    if ends is None:
        return _from(opening.center[axis], zero[axis], unit)
    first, last = (_from(end[axis], zero[axis], unit) for end in ends)
    return first if first == last else f"{first} to {last}"


def screw_name(stack: ScrewStack) -> str:
    """A screw as it is asked for over the counter: `M8 × 30 hex`, `3/8-16 × 1-1/4 in hex`; on studs `M8 nut`."""
    if stack.into == "stud":
        return f"{stack.size} nut"
    if stack.length is None:
        return f"{stack.size} {stack.head}"
    # inch screws are sold by fractions whatever unit the spec has, metric ones by mm
    if tables.screw(stack.size).system == "inch":
        return f"{stack.size} × {show_fraction(nearest_fraction(stack.length))} {stack.head}"
    return f"{stack.size} × {figure(stack.length, 'mm')} {stack.head}"


def slot_rows(layout: Layout, zero: Zero) -> Table:
    """The centres of both round ends of every slot."""
    unit, rows = layout.spec.unit, []
    for opening in layout.openings[:MOST_HOLES]:
        ends = slot_ends(opening)
        if ends is not None:
            places = [_from(end[axis], zero.point[axis], unit) for end in ends for axis in (0, 1)]
            rows.append([opening.name, *places, figure(opening.size, unit)])
    return rows


def outline_rows(layout: Layout, zero: Zero) -> Table:
    """The outside, piece by piece going round: where each begins, and for an arc its centre and radius."""
    unit, outline = layout.spec.unit, layout.outline
    if isinstance(outline, Disc):
        center = [_from(outline.center[axis], zero.point[axis], unit) for axis in (0, 1)]
        return [["circle", "", "", *center, f"R{figure(outline.radius, unit)}"]]
    edges = outside_edges(outline)
    if len(edges) > MOST_EDGES:
        return []
    rows = []
    for edge in edges:
        start = [_from(edge.a[axis], zero.point[axis], unit) for axis in (0, 1)]
        if isinstance(edge, Arc):
            center = [_from(edge.center[axis], zero.point[axis], unit) for axis in (0, 1)]
            turn = "arc" if edge.sweep > 0 else "arc, hollow"
            rows.append([turn, *start, *center, f"R{figure(edge.radius, unit)}"])
        else:
            rows.append(["line", *start, "", "", ""])
    return rows


def outside_edges(outline: Shape) -> tuple[Edge, ...]:
    """The edges of the outside as they are told: no slivers, and pieces of one arc or line in a row as one.

    Wherever radii are counted they are counted of these, so that drawing and table agree.
    """
    told: list[Edge] = []
    for edge in outline.loop().edges:
        if edge.length < SLIVER:
            continue
        before = told[-1] if told else None
        if before is not None and _goes_on(before, edge):
            told[-1] = _joined(before, edge)
        else:
            told.append(edge)
    if len(told) > 2 and _goes_on(told[-1], told[0]):  # the loop may begin in the middle of an edge
        told[0] = _joined(told.pop(), told[0])
    return tuple(told)


def _goes_on(one: Edge, other: Edge) -> bool:
    """Whether an edge goes on where another ends, on the same circle or line."""
    if isinstance(one, Arc) and isinstance(other, Arc):
        same = between(one.center, other.center) < SLIVER and abs(one.radius - other.radius) < SLIVER / 10
        return same and one.sweep * other.sweep > 0
    if isinstance(one, Arc) or isinstance(other, Arc):
        return False
    (ux, uy), (vx, vy) = ((edge.b[0] - edge.a[0], edge.b[1] - edge.a[1]) for edge in (one, other))
    return ux * vx + uy * vy > 0 and abs(ux * vy - uy * vx) < SLIVER * max(one.length, other.length) / 10


def _joined(one: Edge, other: Edge) -> Edge:
    """Both as one edge."""
    if isinstance(one, Arc) and isinstance(other, Arc):
        return Arc(one.center, one.radius, one.start, one.sweep + other.sweep, one.a, other.b)
    return edge_of(one.a, other.b, 0.0)


def reasons(layout: Layout, makings: Sequence[Operations]) -> tuple[str, ...]:
    """Why openings are made as they are, openings of one reason together; those simply cut are left out."""
    grouped: dict[tuple[str, str], list[str]] = {}
    for operations in makings:
        if not operations.as_cut:
            grouped.setdefault((operations.how, operations.reason), []).append(operations.opening)
    return tuple(f"{names_in_a_row(names)}: {how}; {reason}." for (how, reason), names in grouped.items())


def names_in_a_row(names: Sequence[str]) -> str:
    """Names in a row; many of them by the first, the last and how many.

    >>> names_in_a_row(["motor.1", "motor.2"]), names_in_a_row([f"rack.{n}" for n in range(1, 30)])
    ('motor.1, motor.2', 'rack.1 to rack.29 (29)')
    """
    return ", ".join(names) if len(names) <= 6 else f"{names[0]} to {names[-1]} ({len(names)})"


def first_to_last(names: Sequence[str]) -> str:
    """The first of many names and the last.

    >>> first_to_last(["motor.1"]), first_to_last(["motor.1", "motor.2", "motor.3"])
    ('motor.1', 'motor.1 to motor.3')
    """
    return ", ".join(names) if len(names) <= 2 else f"{names[0]} to {names[-1]}"


def _from(value: float, zero: float, unit: Unit) -> str:
    return figure(value - zero, unit)


def check_pair(layout: Layout) -> tuple[str, str, float] | None:
    """Two round holes far apart and their distance (mm), to see that a cut plate has its size; no reliefs.

    None for a plate with fewer than two of them.
    """
    wanted = ("screw", "cutout", "pivot", "fixing", "dowel")
    found = [opening for opening in layout.openings if isinstance(opening.shape, Disc) and opening.role in wanted]
    # Of thousands of holes only the outermost along eight directions are paired off: the farthest pair, or nearly so
    outer: dict[str, Opening] = {}
    for ux, uy in ((1.0, 0.0), (0.0, 1.0), (1.0, 1.0), (1.0, -1.0)):

        def along(opening: Opening, ux: float = ux, uy: float = uy) -> float:
            return round(opening.center[0] * ux + opening.center[1] * uy, 6)

        ordered = sorted(found, key=along)
        outer |= {opening.name: opening for opening in (*ordered[:1], *ordered[-1:])}
    # one long distance shows a wrong scale, unit or mirrored plate at once, with a tape and in a second
    pairs = [(a.name, b.name, between(a.center, b.center)) for a, b in combinations(outer.values(), 2)]
    return max(pairs, key=lambda pair: round(pair[2], 6), default=None)


# --------------------------------------------------------------------------------------------- screws


def screw_rows(layout: Layout) -> Table:
    """What to buy and how to tighten it: for, quantity and screw, other pieces, grip chain, thread, torque."""
    return [
        [
            mount.name,
            f"{mount.stack.count} × {screw_name(mount.stack)}",
            pieces_with(layout, mount, mount.stack),
            _chain(layout, mount, mount.stack),
            _thread(mount.stack, layout.spec.unit),
            torque_words(mount.stack, layout.spec.unit),
        ]
        for mount in layout.mounts.values()
        if mount.stack is not None
    ]


def pieces_with(layout: Layout, mount: PlacedMount, stack: ScrewStack) -> str:
    """What goes on with the screws of a mount, counted for all of them; lengths in the unit."""
    said = []
    if stack.washers:
        said.append(f"{stack.count * stack.washers} washers")
    if stack.into == "nut":
        said.append(f"{stack.count} nuts")
    if stack.into == "stud":
        past = (stack.length or 0.0) - stack.grip - stack.head_height
        said.append("no screws: the studs stay")
        if past > tables.screw(stack.size).diameter:
            said.append(f"a deep socket, over {show_length(past, layout.spec.unit)} of stud past the nut")
    if stack.spacer is not None:
        said.append(f"{stack.count} spacers {spacer_words(stack.spacer, layout.spec.unit)}")
    elif mount.spacing > 1e-6:
        unit = layout.spec.unit
        pieces = tables.packing(mount.spacing, unit).pieces
        made = "" if len(pieces) < 2 else f" (each {' + '.join(show_length(one, unit) for one in pieces)})"
        said.append(f"{stack.count} spacers {show_length(mount.spacing, unit)}{made}")
    return ", ".join(said)


def spacer_words(spacer: Spacer, unit: Unit) -> str:
    """How long spacers are and what they are cut from; lengths in the unit.

    A tube is asked for by its outside and wall, a bar by its diameter.
    """
    made = figure(spacer.outside, unit)
    if spacer.made == "tube":
        made += f" × {figure((spacer.outside - spacer.bore) / 2, unit)}"
    return f"{show_length(spacer.length, unit)} off {spacer.made} {made}"


SPACER_NOTE: Final = (
    "Length after ISO 2768-1 medium; more matters that all of one set are alike: face them at one stop, and sort them "
    "by the caliper. A set that differs bends the plate and leans the part. Deburr both ends, and keep them bare of "
    "paint."
)


def spacer_rows(layout: Layout) -> Table:
    """Each set of spacers: for, how many, what of, length with its tolerance, alike and square within, mm of stock."""
    unit, rows = layout.spec.unit, []
    for piece in pieces_of(layout):
        if piece.kind != "spacer" or not piece.what:
            continue
        made, _, material = piece.what.partition(", ")
        bore = piece.bore or 0.0
        sizes = f"{made} {figure(piece.width or 0.0, unit)}, hole {figure(bore, unit)}"
        if made == "tube":
            wall = ((piece.width or 0.0) - bore) / 2
            sizes = f"tube {figure(piece.width or 0.0, unit)} × {figure(wall, unit)}, bore {figure(bore, unit)}"
        long = piece.length or 0.0
        rows.append(
            [
                piece.part,
                str(piece.count),
                f"{sizes}, {material}",
                f"{figure(long, unit)} ± {figure(general_deviation(long), unit)}",
                f"{figure(EQUAL, unit)}",
                f"{figure(SQUARE, unit)}",
                f"saw {figure(long + FACING, unit)}; {show_length(piece.height or 0.0, unit)} in all",
            ]
        )
    return rows


def layers_clamped(layout: Layout, mount: PlacedMount) -> Iterator[tuple[str, Layer]]:
    """The layers that the screws of a mount go through, by name: under its part, and under its heads."""
    for name in (mount.on, mount.heads_on):
        layer = None if name is None else layout.mounts[name].layer
        if name is not None and layer is not None:
            yield name, layer


def _chain(layout: Layout, mount: PlacedMount, stack: ScrewStack) -> str:
    """What lies between head and thread: plate, spacer, flange, washers, and what they come to."""
    unit = layout.spec.unit
    washer = tables.screw(stack.size).washer_thickness or 0.0
    parts = [("plate", 0.0 if stack.into == "plate" else layout.thickness), ("spacer", mount.spacing)]
    parts += [(f"layer {name}", one.thickness) for name, one in layers_clamped(layout, mount)]
    parts.append(("flange", stack.flange))
    several = f"{stack.washers} washers of {figure(washer, unit)}:"
    parts.append((several if stack.washers > 1 else "washer", stack.washers * washer))
    parts.append(("recessed head", -stack.let_in))
    # a spigot that carries the screws stands that deep in its recess, so that less of the plate is clamped
    parts.append(("spigot in its recess", stack.grip - sum(length for _, length in parts)))
    said = ""
    for word, length in parts:
        if abs(length) > 1e-6:
            sign = " - " if length < 0 else " + " if said else ""
            said += f"{sign}{word} {figure(abs(length), unit)}"
    return f"{said} = {show_length(stack.grip, unit)}"


def _thread(stack: ScrewStack, unit: Unit) -> str:
    where = {"part": "in the part", "plate": "in the plate", "nut": "in the nut", "stud": "past it for the nut"}[
        stack.into
    ]
    if stack.length is None:
        return f"no stock length fits; {show_length(stack.needed, unit)} wanted {where}"
    return f"{show_length(stack.engagement, unit)} {where}"


def mass_words(layout: Layout) -> str:
    """The plate's mass, in pounds too where lengths are in inches."""
    return mass_figure(layout.mass, layout.spec.unit)


def torque_words(stack: ScrewStack, unit: Unit) -> str:
    """The tightening torque with strength and friction; why there is none, where there is none."""
    # a torque on a thread that is too short strips it: no figure is better than one that will be used
    if stack.length is None or stack.engagement < stack.needed - 1e-6:
        return "not before the thread holds deep enough"
    try:
        screw = tables.screw(stack.size)
        kind = USUAL_CLASS[screw.system]
        found, times = tables.torque(stack.size, kind), None
        if stack.held_in == "aluminium":
            full = found
            found, times = torque_in_aluminium(stack.size, kind, stack.engagement)
    except LookupFailed as error:
        return f"none listed: {error}"
    said = f"{show_torque(found.torque, unit, '.3g')}, {found.property_class}, friction {found.friction:g}"
    if times is not None:
        sure = stack.thread_in is not None or stack.into == "plate"
        if found.torque < full.torque * (1 - 1e-9):
            # what a standard part is cast in its standard does not say
            inside = "aluminium" if sure else "a part that may be aluminium"
            before = show_torque(full.torque, unit, ".3g")
            said += f"; lowered from {before}, as {inside} strips at {times:.2g} times that"
        elif sure:
            said += f"; the aluminium strips at {times:.2g} times that"
    # what an old stud is made of nobody knows: the figure is a bound, and whoever tightens it has to hear that
    return f"at most {said}; old studs may be softer" if stack.into == "stud" else said


def sources_note(layout: Layout) -> str:
    """Where to look up what a figure rests on."""
    return f"What each figure rests on, and its source: {layout.spec.name}.report.html, under limits and sources."


TORQUE_NOTE: Final = (
    "Torques are for screws of the class named, dry or lightly oiled, the same friction in thread and under the head, "
    "75 % of the proof load. No standard gives one for a thread in aluminium: there it is worked out, lowered to two "
    "thirds of what strips the thread's root in a weaker casting alloy (its strength from memory). Less in a casting "
    "that is not sound, or with grease; the maker's figure goes first."
)


# -------------------------------------------------------------------------------------------- findings


def finding_lines(findings: Sequence[Finding]) -> tuple[str, ...]:
    """Findings in sentences, like ones together: level, rule, what it says, and what would do."""
    lines = []
    for finding, *others in grouped(findings):
        said = f"{LEVEL_WORDS[finding.level]}, {led(finding)}"
        if others:
            said += f" (the same at {'; '.join(', '.join(own(other, finding)) for other in others)})"
        if finding.accepted is not None:
            said += f". Accepted by whoever wrote the spec, because: {finding.accepted}"
        elif finding.advice:
            said += f". What to do: {finding.advice.text}"
        lines.append(said)
    return tuple(lines)


def open_findings(verdict: Verdict) -> tuple[Finding, ...]:
    """The findings that nobody has accepted, worst first."""
    return tuple(finding for finding in verdict.findings if finding.accepted is None)


# ----------------------------------------------------------------------------------------------- drive


def drive_rows(layout: Layout) -> Iterator[tuple[str, Table]]:
    """The figures of each belt and coupling: what it is called, and rows of what and how much."""
    unit = layout.spec.unit
    for belt in layout.belts:
        rows = [list(row) for row in belt_rows(layout, belt)]
        reach, points = belt.result.reach, belt.result.points
        if reach is not None:
            rows.append(["speed at the shaft", f"{reach.lowest_rpm:.0f} to {reach.highest_rpm:.0f} rpm"])
        if len(points) > MOST_POINTS:  # the first, the last and some between: at the bench nobody reads a curve
            points = tuple(points[round(k * (len(points) - 1) / (MOST_POINTS - 1))] for k in range(MOST_POINTS))
        for point in points:
            at = f"at {point.frequency_hz:.3g} Hz" if point.frequency_hz is not None else "at the setting"
            said = f"{point.speed_rpm:.0f} rpm, {show_torque(point.torque_nm, unit, '.3g')}, "
            said += show_power(point.power_w, unit, ".3g")
            rows.append([at, said])
        yield f"Belt drive: {belt.name}", rows
    for one in layout.couplings:
        yield f"Coupling: {one.name}", [list(row) for row in coupling_rows(layout, one)]


BAR_NOTE: Final = (
    "Flat bars welded on edge, each cut as a part of its own, or sawn to length; X and Y of the middles of their ends. "
    "Fillet welds along both sides over the whole length and round the ends, their leg by common practice (0.7 of the "
    "thinner, 3 mm at least); class of a rib's end: EN 1993-1-9, table 8.4, from memory."
)


def bar_rows(layout: Layout, zero: Zero) -> Table:
    """Each welded bar: its part, stock, ends from the zero, and weld (leg, length; class of a rib's end in N/mm2)."""
    unit = layout.spec.unit
    parts = {bar.name: part for part, bars in alike_bars(layout).items() for bar in bars}
    rows: Table = []
    for bar in welded_bars(layout):
        ends = [
            ", ".join(_from(one, off, unit) for one, off in zip(end, zero.point, strict=True))
            for end in (bar.start, bar.end)
        ]
        weld = f"leg {show_length(bar.leg, unit)}, {show_length(bar.weld_length, unit)} in all"
        # a rib is cut from bar of its height, a lug stands up along its bar
        stock = (bar.height, bar.length) if bar.kind == "rib" else (bar.length, bar.height)
        if bar.kind == "rib":
            weld += f", class {weld_category(bar.length):.0f}"
        rows.append(
            [
                bar.name,
                parts[bar.name],
                f"{by(stock[0], bar.width, unit)}, {show_length(stock[1], unit)} long",
                bar.side,
                *ends,
                weld,
            ]
        )
    return rows

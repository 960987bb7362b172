"""The checking page: how far apart the holes must be, with boxes for what was measured.

Rows stand as the spec language has them, so that a filled page can be typed in: `[A, B, inside, 81.7]`.

Vocabulary
    feature   a round opening that a caliper can reach into
    inside    between the nearest edges of two features; over: across their farthest edges; centres: between the middles
    group     the features of one mount, under the names that the spec has for them or would have
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from itertools import combinations
from typing import Final

from msgspec import Struct

from platekit.checks.finding import Verdict
from platekit.drawing.pdf.flow import Block, Draw, FlowRow, pages_of_blocks, title_row, titled
from platekit.drawing.pdf.letters import letters, text_width
from platekit.drawing.pdf.pages import draw_list_page, list_field
from platekit.drawing.pdf.paper import SIZES, PaperSheet, sheet_of
from platekit.drawing.pdf.pen import Pen
from platekit.drawing.sizes import figure
from platekit.drawing.text import in_letters, shortened
from platekit.export.data.hole_list import slot_ends
from platekit.geometry import Box, Disc, Point, Slot, between
from platekit.placed import FlatPart, Layout, Opening, Side
from platekit.units import Unit, show_length

ALL_PAIRS: Final = 6
"""Up to so many features every pair is listed (ours); of more, neighbours and those far apart."""
MOST_PAIRS: Final = 40
"""Most pairs of one group (ours): more than anyone measures."""
MOST_BETWEEN: Final = 16
"""Most pairs between groups (ours)."""
FEW_VENTS: Final = 2
"""Openings for air in a guard's cover that are listed (ours)."""
MOST_SLOTS: Final = 24
"""Most slots (ours)."""
SAME_PLACE: Final = 0.01
"""An opening whose middle is nearer to that of a measured bore is its opening, mm (ours)."""
TOUCHING: Final = 2.0
"""An inside gap narrower than this takes no caliper, mm (ours)."""
HIGH: Final = 7.0
"""Height of a row, mm: room for handwriting (ours)."""
BOX: Final = (19.0, 5.2)
"""Size of a box to write in, mm (ours)."""
SIZE: Final = 8.5
"""Size of the words, points (ours)."""
LONGEST: Final = (26.0, 16.0, 9.0)
"""Longest name in a row, mm, the first that fits the paper (ours); a longer one is cut short."""
SIZES_IN_ROW: Final = 4
"""Diameters in a row (ours)."""
MOST_GAP: Final = 14.0
"""Most room between two columns, mm (ours)."""
SMALLEST: Final = (150.0, 130.0)
"""Least printable paper for the page, mm (ours); on less the page is left out."""

HOW: Final = (
    "Measure on the cut plate, or on the glued paper, and write into the boxes: inside is the gap between the nearest "
    "edges, over is across the farthest, for holes as large as finished. Beside each box stands what it has to be. "
    "Inside jaws read small in small holes. For the survey to judge them, type the rows into the spec as "
    "they stand."
)


class CheckedFeature(Struct, frozen=True):
    """A round opening under the name that a spec has for it, or would have."""

    name: str
    opening: Opening
    in_plate: bool = True
    """False for a measured bore that the plate has no opening for; `opening` then is what it would be."""

    @property
    def center(self) -> Point:
        """Its middle, mm in the plate frame."""
        return self.opening.center


class CheckedPair(Struct, frozen=True):
    """Two features and what a caliper has to read between them, mm; `inside` is None where no jaw fits."""

    one: str
    other: str
    centres: float
    inside: float | None
    over: float


class Group(Struct, frozen=True):
    """The features of a mount, what the spec has to say before its readings, and the pairs to measure."""

    mount: str
    looking_at: str
    features: tuple[CheckedFeature, ...]
    clockwise: tuple[str, str, str] | None
    pairs: tuple[CheckedPair, ...]
    frame: tuple[str, ...] = ()
    """The spec's own origin and x axis, as they stand there."""


def groups_of(layout: Layout, side: Side) -> tuple[Group, ...]:
    """The groups of a layout, as someone measures who looks at that side of the plate."""
    groups = []
    for mount in layout.mounts.values():
        # What of a mount can be measured, under the names that a spec has for it: round openings only, as between the
        # jaws of a caliper nothing else has a centre. Numbered holes get letters, as the `measured` of a spec names
        # holes; a measured pattern keeps its own names.
        found, letter = [], 0
        for opening in layout.openings:
            if opening.mount != mount.name or opening.role not in ("screw", "pilot"):
                continue
            short = opening.name.removeprefix(f"{mount.name}.")
            if opening.role == "pilot":
                name = "bore"
            elif short.isdigit():
                name, letter = in_letters(letter), letter + 1
            else:
                name = short
            if isinstance(opening.shape, Disc):
                found.append(CheckedFeature(name, opening))
        # A bore that was measured is in the machine, perhaps not in the plate; where the plate has its opening, the
        # rows carry the measured name, so that they can be copied into the spec as they stand.
        holes = {} if mount.survey is None else mount.survey.holes
        for feature in () if mount.survey is None else mount.survey.net.placed:
            hole = holes[feature.name]
            if feature.kind != "bore" or hole.diameter is None or hole.floating:
                continue
            center = mount.pose.point((hole.x, hole.y))
            at = next((i for i, one in enumerate(found) if between(one.center, center) <= SAME_PLACE), None)
            if at is not None:
                found[at] = CheckedFeature(feature.name, found[at].opening)
                continue
            shape, name = Disc(center, hole.diameter / 2), f"{mount.name}.{feature.name}"
            bore = Opening(name, "pilot", shape, center, hole.diameter, mount.field, mount.name)
            found = [*(one for one in found if one.name != feature.name), CheckedFeature(feature.name, bore, False)]
        features = tuple(found)
        pairs = tuple(pair_of(one, other) for one, other in _chosen(features))
        frame = []
        if mount.survey is not None:  # the spec's own origin and axis, only where the rows of the page can bear them
            net, names = mount.survey.net, {feature.name for feature in features}
            if net.origin is not None and net.origin in names | {"centre"}:
                frame.append(f"origin: {net.origin}")
            if net.x_axis is not None and names.issuperset(net.x_axis):
                frame.append(f"x_axis: [{', '.join(net.x_axis)}]")
        if pairs:
            looking_at = "back" if mount.side == side else "face"
            groups.append(Group(mount.name, looking_at, features, _clockwise(features, side), pairs, tuple(frame)))
    return tuple(groups)


def _round_from_left(x: float, y: float) -> float:
    """Where a spot stands going round counter-clockwise, rad; what lies due left begins, whatever rounding says."""
    angle = round(math.atan2(y, x), 9)
    return -angle if angle >= round(math.pi, 9) else angle


def _chosen(features: Sequence[CheckedFeature]) -> list[tuple[CheckedFeature, CheckedFeature]]:
    """The pairs to measure: all of few; of many the neighbours going round, those across, and two to the bore."""
    if len(features) <= ALL_PAIRS:
        return list(combinations(features, 2))
    x = sum(feature.center[0] for feature in features) / len(features)
    y = sum(feature.center[1] for feature in features) / len(features)
    # Neighbours tell the pitch, those across the circle, those a third round that it is no ellipse; all pairs of many
    # holes would be hundreds of readings, of which nobody takes the last ones with care
    ring = sorted(features, key=lambda one: _round_from_left(one.center[0] - x, one.center[1] - y))
    count = len(ring)
    steps = dict.fromkeys((1, count // 2, max(count // 3, 2)))
    pairs = [(ring[i], ring[(i + step) % count]) for step in steps for i in range(count)]
    order = {feature.name: index for index, feature in enumerate(features)}
    tidy = {tuple(sorted((one, other), key=lambda f: order[f.name])): None for one, other in pairs if one != other}
    return [(one, other) for one, other in tidy][:MOST_PAIRS]


def pair_of(one: CheckedFeature, other: CheckedFeature) -> CheckedPair:
    """What a caliper reads between two features.

    `inside` is None where the gap is too narrow for jaws, or one lies in the other.
    """
    apart = between(one.center, other.center)
    radii = (one.opening.size + other.opening.size) / 2
    # jaws need some air between two edges; a bore around a hole has no gap at all
    gap = apart - radii
    return CheckedPair(one.name, other.name, apart, gap if gap >= TOUCHING else None, apart + radii)


def _clockwise(features: Sequence[CheckedFeature], side: Side) -> tuple[str, str, str] | None:
    """Three holes that follow each other clockwise as looked at; None if there are none that do so clearly."""
    # Three holes nearly in a line would be told wrongly by a slip of measuring: the triangle has to be a tenth as
    # high as long. From the far side everything is seen mirrored.
    holes = [feature for feature in features if feature.opening.role == "screw"]
    sign = -1.0 if side == "far" else 1.0
    for a, b, c in combinations(holes[:8], 3):
        (ax, ay), (bx, by), (cx, cy) = a.center, b.center, c.center
        turn = sign * ((bx - ax) * (cy - ay) - (by - ay) * (cx - ax))
        size = max(between(a.center, b.center), between(b.center, c.center), between(a.center, c.center))
        if abs(turn) > 0.1 * size * size:
            return (a.name, b.name, c.name) if turn < 0 else (a.name, c.name, b.name)
    return None


def between_groups(layout: Layout) -> tuple[CheckedPair, ...]:
    """Distances from what belongs to no one mount, or to another, to the two outermost features of the first."""
    round_ones = [opening for opening in layout.openings if isinstance(opening.shape, Disc) and opening.through]
    named = [CheckedFeature(opening.name, opening) for opening in round_ones]
    owners = list(dict.fromkeys(feature.opening.mount for feature in named if feature.opening.role == "screw"))
    if not owners:
        return ()
    base = [feature for feature in named if feature.opening.mount == owners[0] and feature.opening.role == "screw"]
    others = [feature for feature in named if feature.opening.mount != owners[0] or feature.opening.role == "relief"]
    pairs = []
    for feature in others[: MOST_BETWEEN // 2]:
        nearest = sorted(base, key=lambda one: (round(between(one.center, feature.center), 6), one.name))
        ends = dict.fromkeys((nearest[0].name, nearest[-1].name))
        pairs += [pair_of(one, feature) for one in base if one.name in ends]
    return tuple(pairs)


# ----------------------------------------------------------------------------------------------- pages


def draw_checking_pages(pen: Pen, layout: Layout, verdict: Verdict, side: Side) -> None:
    """The page, or several if there is so much to measure; none on paper that is too small for it."""
    # On the template's own paper, upright, so that it comes out of the same tray; a single large sheet is printed
    # elsewhere, and this page still goes into a folder
    sheet = sheet_of(layout.paper)
    if sheet is not None:
        paper = sheet
    else:
        name = "letter" if layout.spec.unit == "in" else "a4"
        paper = PaperSheet(name, *SIZES[name])
    field = list_field(paper)
    if field.width < SMALLEST[0] or field.height < SMALLEST[1]:
        return
    pages = pages_of_blocks(list(_blocks(layout, side, field.width)), field)
    for number, pieces in enumerate(pages, start=1):
        which = "checking page" if len(pages) == 1 else f"checking page {number} of {len(pages)}"
        draw_list_page(pen, layout, verdict, paper, pieces, which)


def _blocks(layout: Layout, side: Side, width: float) -> Iterator[Block]:
    unit = layout.spec.unit
    if layout.flat is not None:
        yield from _part_blocks(layout, layout.flat, side, width)
        return
    title = f"Distances to check, seen from the {side} side ({unit})"
    yield Block(title_row(title, width, HOW), None, ())
    for group in groups_of(layout, side):
        names = ", ".join(
            f"{feature.name} is {feature.opening.name}"
            for feature in group.features
            if feature.opening.name != f"{group.mount}.{feature.name}"
        )
        outside = ", ".join(feature.name for feature in group.features if not feature.in_plate)
        said = [f"looking_at: {group.looking_at}", *group.frame]
        if group.clockwise is not None:
            said.append(f"clockwise: [{', '.join(group.clockwise)}]")
        note = f"{'; '.join(said)}.{f' {names}.' if names else ''}"
        if outside:
            note += (
                f" {outside}: measured on the machine, not in this plate; take rows with it there, or leave them out."
            )
        # The diameters in braces, as the spec has them before the readings, so that the row can be typed as it stands
        cells = []
        last = len(group.features) - 1
        for index, feature in enumerate(group.features):
            plain = feature.opening.role != "pilot" or feature.name.lower() == "bore"
            head, tail = (f"{feature.name}:", "") if plain else (f"{feature.name}: {{diameter:", ", kind: bore}")
            first, end = "holes: {" if index == 0 else "", "}" if index == last else ","
            cells.append(Cell(first + head, figure(feature.opening.size, unit), tail + end))
        in_rows = [cells[begin : begin + SIZES_IN_ROW] for begin in range(0, len(cells), SIZES_IN_ROW)]
        sizes = _rows(in_rows, width)
        yield titled(group.mount, width, sizes + _fitting(group.pairs, _line, unit, width), note)
    across = between_groups(layout)
    if across:
        yield titled("Across the plate", width, _fitting(across, _across_line, unit, width))
    slots = [opening for opening in layout.openings if isinstance(opening.shape, Slot)][:MOST_SLOTS]
    if slots:
        lines = []
        for opening in slots:
            ends = slot_ends(opening)
            long = 0.0 if ends is None else between(*ends) + opening.size
            name = shortened(opening.name, LONGEST[0], letters(SIZE))
            wide = Cell(f"{name}, width", figure(opening.size, unit))
            lines.append([wide, Cell("length over all", figure(long, unit))])
        yield titled("Slots", width, _rows(lines, width))


def _part_blocks(layout: Layout, flat: FlatPart, side: Side, width: float) -> Iterator[Block]:
    """What there is to measure on a flat part of a guard: its size, its holes, how far these are apart."""
    unit, box = layout.spec.unit, layout.outline.box
    title = f"Distances to check, {flat.faces[side == 'far']} ({unit})"
    over = [Cell("over all, across", figure(box.width, unit)), Cell("up", figure(box.height, unit))]
    yield Block(title_row(title, width, f"Measure on the cut part, or on the glued paper. {flat.note}"), None, ())
    yield titled("Size", width, _rows([over], width))
    if flat.bends:
        # the press is set by this page: what is bent next, where its line is, and how far round
        note = "Down, outside face up, in this order; each line is pricked through the marks at both edges."
        lines = [
            [
                Cell(f"{number}: at {show_length(at, unit)} from {_zero_words(layout)}"),
                Cell("bent by" if rolled is None else "rolled by", f"{math.degrees(angle):.1f}°"),
                Cell("" if rolled is None else f"to {show_length(rolled, unit)} inside radius"),
            ]
            for number, at, angle, rolled in flat.bends
        ]
        yield titled("Its bends", width, _rows(lines, width), note)
    openings = [opening for opening in layout.openings if isinstance(opening.shape, Disc | Slot)]
    # openings for air are all alike, and nothing has to come to lie over them: a few tell
    vents = [opening for opening in openings if opening.of_guard == "vent"][:FEW_VENTS]
    holes = [opening for opening in openings if opening.of_guard != "vent"]
    features = [CheckedFeature(opening.name, opening) for opening in holes if isinstance(opening.shape, Disc)]
    pairs = [pair_of(one, other) for one, other in _chosen(features)]
    if pairs:
        yield titled("Its holes", width, _fitting(pairs, _across_line, unit, width))
    rest = [*(opening for opening in holes if isinstance(opening.shape, Slot)), *vents]
    if rest:
        lines = []
        for opening in rest:
            ends = slot_ends(opening)
            long = 0.0 if ends is None else between(*ends) + opening.size
            lines.append([Cell(f"{opening.name}, width", figure(opening.size, unit))])
            if ends is not None:
                lines[-1].append(Cell("length over all", figure(long, unit)))
        yield titled("Its openings", width, _rows(lines, width))


def _zero_words(layout: Layout) -> str:
    """Where the places of a band's bends count from, as the bench sheet says it."""
    return (
        "the first lap hole" if any(one.of_guard == "lap" for one in layout.openings) else "the left edge of its wall"
    )


def _fitting(
    pairs: Sequence[CheckedPair], line: Callable[[CheckedPair, Unit, float], list[Cell]], unit: Unit, width: float
) -> tuple[FlowRow, ...]:
    """A row for each pair, with names as long as there is room for."""
    for longest in LONGEST:
        lines = [line(pair, unit, longest) for pair in pairs]
        if sum(_columns(lines)) <= width:
            break
    return _rows(lines, width)


class Cell(Struct, frozen=True):
    """Words, a box to write in if there is something to measure, words behind it, and what is expected."""

    head: str
    expected: str = ""
    tail: str = ""


def _line(pair: CheckedPair, unit: Unit, longest: float) -> list[Cell]:
    """One pair of a group: inside and over as rows of the spec, and how far the middles are apart."""
    names = ", ".join(shortened(name, longest, letters(SIZE)) for name in (pair.one, pair.other))
    gap = Cell("") if pair.inside is None else Cell(f"- [{names}, inside,", figure(pair.inside, unit), "]")
    over = Cell(f"- [{names}, over,", figure(pair.over, unit), "]")
    return [gap, over, Cell(f"centres {figure(pair.centres, unit)}")]


def _across_line(pair: CheckedPair, unit: Unit, longest: float) -> list[Cell]:
    """One pair across the plate, which belongs to no pattern of its own."""
    names = " to ".join(shortened(name, longest, letters(SIZE)) for name in (pair.one, pair.other))
    gap = Cell(f"{names},") if pair.inside is None else Cell(f"{names}, inside", figure(pair.inside, unit))
    return [gap, Cell("over", figure(pair.over, unit)), Cell(f"centres {figure(pair.centres, unit)}")]


def _rows(lines: Sequence[Sequence[Cell]], width: float) -> tuple[FlowRow, ...]:
    """The lines with their boxes one below the other, in columns as wide as their longest words."""
    columns = _columns(lines)
    gap = min(max(width - sum(columns), 0.0) / max(len(columns), 1), MOST_GAP)
    starts = [sum(columns[:index]) + index * gap for index in range(len(columns))]
    places = tuple((start, start + _head(lines, index)) for index, start in enumerate(starts))

    def drawing(cells: Sequence[Cell]) -> Draw:
        def draw(pen: Pen, left: float, top: float) -> None:
            y = top - 0.66 * HIGH
            for cell, (start, box) in zip(cells, places, strict=False):
                pen.text((left + start, y), cell.head, SIZE)
                if cell.expected:
                    x = left + box
                    pen.box(Box(x, y - 1.6, x + BOX[0], y - 1.6 + BOX[1]))
                    pen.text((x + BOX[0] + 0.8, y), cell.tail, SIZE)
                    pen.text((x + BOX[0] + 2.2 + text_width(cell.tail, SIZE), y), cell.expected, SIZE, "italic")

        return draw

    return tuple(FlowRow(HIGH, drawing(line)) for line in lines)


def _columns(lines: Sequence[Sequence[Cell]]) -> list[float]:
    """Width of each column, mm."""

    def behind(cell: Cell) -> float:
        """How much a cell needs from its box on."""
        if not cell.expected:
            return 0.0
        return BOX[0] + text_width(cell.tail, SIZE) + text_width(cell.expected, SIZE, "italic") + 4.0

    count = max(map(len, lines), default=0)
    most = [max(behind(line[index]) for line in lines if index < len(line)) for index in range(count)]
    return [_head(lines, index) + most[index] for index in range(count)]


def _head(lines: Sequence[Sequence[Cell]], index: int) -> float:
    """Width of the longest words before the boxes of a column, mm."""
    return max(text_width(line[index].head, SIZE) for line in lines if index < len(line)) + 1.2

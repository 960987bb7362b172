"""Whatever keeps a cut file from being written, said beforehand: nothing of it can be accepted.

The files are proved against the plate when they are written (`export/dxf_files`); each reason that such a proof can
have, but for mistakes of the program, is found here in the layout, with its place.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from platekit.checks.advice import say
from platekit.checks.finding import Advice, Finding, Remedy
from platekit.checks.rule import Rule
from platekit.cutting import can_pierce, capability_of, operations_of
from platekit.cutting.contours import Contour, contours, cut_out
from platekit.cutting.doubles import DOUBLE, Line, Round, doubles
from platekit.cutting.operations import CROSS
from platekit.cutting.scribe import scribing_of
from platekit.errors import GeometryError
from platekit.geometry import Arc, Box, Disc, Edge, Index, Loop, Point, distance, edge_distance
from platekit.placed import Layout
from platekit.tables.shop import shop_figure

TINY = shop_figure("opening, narrowest")
"""An opening narrower than this no shop makes, mm (`shop_figures.csv`)."""
MOST_TWICE = 20
"""Most places told at which something is cut twice (ours)."""

MOVE_THEM = Advice("move the openings, or make the plate larger")
"""What may be done where no edit is known to do."""


def cut_file(layout: Layout) -> Iterator[Finding]:
    """A plate that falls apart, openings (mm) beside it or too small, what is cut twice, cuts without a path."""
    for opening in layout.openings:
        box = opening.shape.box
        width = min(box.width, box.height)
        if width < TINY:
            yield _stop(
                f"{opening.name} is {width:.3g} mm wide; nothing under {say(layout, TINY)} can be cut or drilled",
                (opening.name,),
                opening.center,
                width,
                TINY,
                advice=Advice("give its size in the right unit, or leave it out"),
            )
    made = operations_of(layout)
    try:
        # Without one piece of steel there is no outside to cut last, so no path can be asked for.
        apart: list[Finding] = []
        cut = [operations.cut for operations in made if operations.cut is not None]
        finished = [opening.shape for opening in layout.openings if opening.through]
        # as it is cut, and as it is finished: what is drilled or tapped later may part it, too
        for shapes in (cut, finished) if cut != finished else (cut,):
            pieces, _ = cut_out(layout.outline, shapes)
            if len(pieces) != 1:
                across = [
                    one.name
                    for one in layout.openings
                    if one.through and edge_distance(one.shape, layout.outline).distance <= 0.0
                ]
                what = f"cut the plate into {len(pieces)} pieces" if pieces else "leave nothing of the plate"
                at = min(pieces, key=lambda piece: piece.area).centroid if pieces else layout.outline.box.center
                names = (*across, "outline")
                advice = _wrapped(layout, "or move the openings, or make the plate larger") if across else MOVE_THEM
                apart.append(_stop(f"the openings {what}", names, at, float(len(pieces)), 1.0, "pieces", advice))
                break
        found = () if apart else contours(layout)
    except GeometryError as error:
        yield _stop(f"the openings and the outside make no clean shape together: {error}", ("outline",), None)
        return
    yield from apart
    # Openings that lie wholly outside of the plate.
    for opening in layout.openings:
        if edge_distance(opening.shape, layout.outline).distance > 0.0:
            continue  # wholly inside, as the rule on edges has found already
        gap = distance(opening.shape, layout.outline).distance
        if gap > 0.0:
            yield _stop(
                f"{opening.name} lies {say(layout, gap)} outside of the plate; nothing of it is in the steel",
                (opening.name, "outline"),
                opening.center,
                -gap,
                0.0,
                advice=_wrapped(layout, "or move it, or make the plate larger"),
            )
    if not apart:
        # Edges, punch marks and scribed lines that run along each other.
        owners = {point: operations.opening for operations in made for point in operations.marks}
        marks = list(owners)
        # Only lines of shapes near each other can run along each other: a plate with a thousand holes has few such.
        near = [contour for contour in _near_each_other(layout, found, marks) if contour is not None]
        lines: list[Line] = []
        arcs: list[Round] = []
        for contour in near:
            if isinstance(contour.shape, Disc):
                arcs.append((contour.shape.center, contour.shape.radius, 0.0, math.tau))
                continue
            for edge in contour.shape.loop().edges:
                _add_edge(edge, lines, arcs)
        # points and small circles run along nothing
        crosses = marks if layout.cutting.mark == "cross" else []
        for x, y in _crossing(crosses, [contour.shape.box for contour in near]):
            arm = CROSS / 2
            lines += [((x - arm, y), (x + arm, y)), ((x, y - arm), (x, y + arm))]
        for stroke in scribing_of(layout).strokes if layout.cutting.scribe or layout.ribs else ():
            for edge in stroke:
                _add_edge(edge, lines, arcs)
        for at in list(dict.fromkeys(doubles(lines, arcs)))[:MOST_TWICE]:
            names = _nearest(at, found, owners)
            yield _stop(
                f"{' and '.join(names)}: lines that are cut or marked run along each other within {DOUBLE:g} mm, "
                "so that it would be cut twice there",
                names,
                at,
                0.0,
                DOUBLE,
                advice=Advice("move one of them, or let one opening serve for both"),
            )
        # Contours round which no compensated path runs, or that have no place for their pierce and lead.
        from platekit.cutting.paths import CutPath, cut_path, direction_of

        capability, direction = capability_of(layout), direction_of(layout)
        if not capability.traits.table or capability.kerf.value <= 0:
            return
        single = {opening.name for opening in layout.openings}
        alike: dict[tuple[float, ...], CutPath | None] = {}
        for contour in found:
            if isinstance(contour.shape, Disc) and contour.name in single:
                continue
            # inside contours of one form have one path: a row of a hundred slots is worked out once
            box, shape = contour.shape.box, contour.shape
            key = tuple(round(value, 6) for value in (box.width, box.height, shape.area, shape.perimeter))
            if contour.kind == "outside" or key not in alike:
                alike[key] = cut_path(contour, capability, direction)
            path = alike[key]
            names = ("outline",) if contour.kind == "outside" else contour.openings
            if path is None and contour.name not in single:
                kerf = capability.kerf.value
                yield _stop(
                    f"{' and '.join(names)}: no path runs round it with a kerf of {say(layout, kerf)}",
                    names,
                    shape.centroid,
                    0.0,
                    kerf,
                    advice=Advice("move the openings apart, or make what is cut wider than the kerf everywhere"),
                )
            elif path is not None and not path.pierced_clear:
                room = capability.pierce_room.value
                if contour.name in single and not can_pierce(shape, room):
                    continue  # told by the rule on pierces
                yield _stop(
                    f"{' and '.join(names)}: no place for a pierce {say(layout, room)} from every edge, with a way in "
                    "from there",
                    names,
                    shape.centroid,
                    0.0,
                    room,
                    advice=Advice("make it wider somewhere, or have it drilled and sawn by hand"),
                )


def _wrapped(layout: Layout, instead: str) -> Advice:
    """Advice to let the outline follow the openings, where it has a shape of its own; else what may be done instead."""
    if layout.wrapped:
        return Advice(instead.removeprefix("or "))
    said = f"let the outline wrap the openings (outline: {{wrap: {{margin: auto}}}}), {instead}"
    return Advice(said, (Remedy("plate.outline", {"wrap": {"margin": "auto"}}),))


def _stop(
    message: str,
    features: tuple[str, ...],
    at: Point | None,
    found: float | None = None,
    needed: float | None = None,
    unit: str = "mm",
    advice: Advice = MOVE_THEM,
) -> Finding:
    return Finding(
        rule="cut-file",
        level="stop",
        message=message,
        features=features,
        at=at,
        found=found,
        needed=needed,
        unit=unit,
        advice=advice,
        acceptable=False,
    )


# --------------------------------------------------------------------------------------------- twice


def _near_each_other(layout: Layout, found: Sequence[Contour], marks: Sequence[Point]) -> Iterator[Contour]:
    """The contours that something could run along: bent round themselves, or near another, a mark or the outside."""
    inside = [contour for contour in found if contour.kind == "inside"]
    boxes = [contour.shape.box for contour in inside] + [_cross_box(mark) for mark in marks]
    near = {k for pair in Index(boxes).pairs_within(DOUBLE) for k in pair}
    reach = [
        k for k, contour in enumerate(inside) if edge_distance(contour.shape, layout.outline).distance <= 2 * DOUBLE
    ]
    for k, contour in enumerate(inside):
        if k in near or k in reach or (isinstance(contour.shape, Loop) and not contour.shape.is_convex):
            yield contour
    for contour in found:
        bent = isinstance(contour.shape, Loop) and not contour.shape.is_convex
        if contour.kind == "outside" and (reach or marks or bent):
            yield contour


def _cross_box(mark: Point) -> Box:
    return Box(mark[0], mark[1], mark[0], mark[1]).grown(CROSS / 2)


def _crossing(marks: Sequence[Point], others: Sequence[Box]) -> Iterator[Point]:
    """The marks whose strokes come near those of others, or near a contour that is looked at."""
    boxes = [*map(_cross_box, marks), *others]
    near = {k for pair in Index(boxes).pairs_within(DOUBLE) for k in pair}
    return (mark for k, mark in enumerate(marks) if k in near)


def _add_edge(edge: Edge, lines: list[Line], arcs: list[Round]) -> None:
    if isinstance(edge, Arc):
        start = edge.start if edge.sweep > 0 else edge.start + edge.sweep
        arcs.append((edge.center, edge.radius, start, abs(edge.sweep)))
    else:
        lines.append((edge.a, edge.b))


def _nearest(at: Point, found: Sequence[Contour], owners: dict[Point, str]) -> tuple[str, ...]:
    """The names of the two things that are nearest to a place, the one where there is one only."""
    away = [(math.dist(at, mark), name) for mark, name in owners.items()]
    around = Box(at[0], at[1], at[0], at[1]).grown(CROSS)
    for contour in found:
        if contour.shape.box.overlaps(around):
            name = "outline" if contour.kind == "outside" else contour.name
            away.append((abs(contour.shape.loop().nearest(at).distance), name))
    near = [name for gap, name in sorted(away) if gap <= CROSS]
    return tuple(dict.fromkeys(near))[:2] or ("outline",)


RULES = (
    Rule(
        "cut-file",
        "a plate of which no cut file can be written: in pieces, cut twice, without a path",
        f"one piece; nothing under {TINY:g} mm; nothing cut twice within {DOUBLE:g} mm; a path and a pierce for each "
        "cut",
        "geometry; smallest opening: from memory",
        cut_file,
        levels=("stop",),
        keys=("cutting.kerf", "cutting.process"),
        acceptable="never",
    ),
)

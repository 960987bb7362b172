"""The strokes of a DXF file: what is drawn in model space and would be plotted, blocks put in their places."""

from __future__ import annotations

import io
import logging
import math
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import pairwise
from typing import Any, Final

from platekit.spec.drawings import MAX_DEPTH, MAX_PARTS, MAX_VERTICES, DrawingError, Said, Sheet, Stroke

MAX_LINES: Final = 1_000_000
"""Most lines of text in a DXF file (a stated limit, ours): outlines of 20,000 edges need half of them."""
MAX_DEGREE: Final = 15
"""Highest degree of a spline (ours): drawing programs write 3 or 5."""
FLAT: Final = 1e-6
"""What a figure may be off a plane, in units of the drawing (ours): rounding."""
PROBES: Final = (0.25, 0.5, 0.75)
"""Where on a piece of a curve its distance from the chord is asked."""

INCHES: Final = Said(25.4, "inches ($INSUNITS 1)", "in")
UNITS: Final[dict[int, Said]] = {
    1: INCHES,
    2: Said(304.8, "feet ($INSUNITS 2)"),
    3: Said(1609344.0, "miles ($INSUNITS 3)"),
    4: Said(1.0, "mm ($INSUNITS 4)", "mm"),
    5: Said(10.0, "cm ($INSUNITS 5)", "cm"),
    6: Said(1000.0, "metres ($INSUNITS 6)"),
    7: Said(1e6, "kilometres ($INSUNITS 7)"),
    8: Said(25.4e-6, "millionths of an inch ($INSUNITS 8)"),
    9: Said(0.0254, "thousandths of an inch ($INSUNITS 9)"),
    10: Said(914.4, "yards ($INSUNITS 10)"),
    13: Said(1e-3, "micrometres ($INSUNITS 13)"),
    14: Said(100.0, "decimetres ($INSUNITS 14)"),
}
"""What the header's $INSUNITS stands for (P: DXF Reference, header variables); others are of no use to a shop."""


def read_dxf(sheet: Sheet, data: bytes) -> None:
    """Put the strokes of a DXF file on the sheet."""
    if b"Binary DXF" in data[:22]:
        raise DrawingError(f"{sheet.name}, which is a binary DXF file", "save it as a text (ASCII) DXF")
    if max(data.count(b"\n"), data.count(b"\r")) > MAX_LINES:
        raise DrawingError(f"more than {MAX_LINES} lines of text in {sheet.name}", "save the outline alone")
    # The library mends a damaged file as well as it can. Its mending is taken but for figures: where it had to guess
    # one, what comes out may be another part.
    from ezdxf import recover
    from ezdxf.audit import AuditError

    with _readable(sheet), _no_prints():
        document, auditor = recover.read(io.BytesIO(data))
        document.modelspace()
    if any(entry.code == AuditError.INVALID_FLOATING_POINT_VALUE for entry in auditor.errors):
        raise DrawingError(f"figures in {sheet.name} that are no numbers", "save it as DXF again")
    _read_unit(sheet, document)
    wanted = None if sheet.layer is None else sheet.layer.casefold()
    for entity, layer, hidden in _flat(sheet, document):
        if wanted is not None and layer.casefold() != wanted:
            continue
        if hidden:
            sheet.left_out[f"{_word(entity)} {hidden}"] += 1
        else:
            kind = entity.dxftype()
            if kind == "LINE":
                with _readable(sheet):
                    (x, y, z), (u, v, w) = entity.dxf.start, entity.dxf.end
                _check_flat(sheet, entity, z, w)
                sheet.add(Stroke(((x, y, 0.0), (u, v, 0.0)), closed=False))
            elif kind in ("ARC", "CIRCLE"):
                sheet.add(_seen_straight(sheet, entity, _round(sheet, entity)))
            elif kind == "LWPOLYLINE":
                with _readable(sheet):
                    points = tuple((float(x), float(y), float(b)) for x, y, b in entity.get_points("xyb"))
                sheet.add(_seen_straight(sheet, entity, Stroke(points, bool(entity.closed))))
            elif kind == "POLYLINE" and (entity.is_2d_polyline or entity.is_3d_polyline):
                with _readable(sheet):
                    vertices = [
                        one.dxf for one in entity.vertices if not one.dxf.flags & one.SPLINE_FRAME_CONTROL_POINT
                    ]
                    points = tuple((one.location.x, one.location.y, one.get("bulge", 0.0)) for one in vertices)
                    heights = [one.location.z for one in vertices]
                stroke = Stroke(points, bool(entity.is_closed))
                if entity.is_3d_polyline:
                    _check_flat(sheet, entity, *heights)
                    sheet.add(stroke)
                else:
                    sheet.add(_seen_straight(sheet, entity, stroke))
            elif kind == "ELLIPSE":
                _ellipse(sheet, entity)
            elif kind == "SPLINE":
                _spline(sheet, entity)
            else:
                sheet.left_out[kind] += 1
    # Say what is drawn in paper space, where things stand at any scale.
    with _readable(sheet):
        for layout in document.layouts:
            if not layout.is_modelspace:
                for entity in layout:
                    if entity.dxftype() not in ("VIEWPORT", "TEXT", "MTEXT"):
                        sheet.left_out[f"{_word(entity)} in paper space"] += 1


@contextmanager
def _readable(sheet: Sheet) -> Iterator[None]:
    """What goes on in the DXF library; a damaged file makes it fail in any way, which is told as what it is."""
    from ezdxf.lldxf.const import DXFError

    try:
        yield
    except MemoryError as error:
        raise DrawingError(f"{sheet.name}, for which the memory is too small", "save the outline alone") from error
    except (
        *(OSError, ValueError, LookupError, ArithmeticError, TypeError, AttributeError, AssertionError),
        *(RecursionError, DXFError),
    ) as error:
        raise DrawingError(f"{sheet.name}, which is no DXF file that can be read", "save it as DXF again") from error


@contextmanager
def _no_prints() -> Iterator[None]:
    """While it lasts, what the library logs goes to those who asked for logs, and to no terminal otherwise.

    Python prints warnings of which no handler takes notice; this one takes notice and does nothing.
    """
    logger, handler = logging.getLogger("ezdxf"), logging.NullHandler()
    logger.addHandler(handler)
    try:
        yield
    finally:
        logger.removeHandler(handler)


def _read_unit(sheet: Sheet, document: Any) -> None:
    """What the header says of the unit. The word for all of a drawing, metric or not, counts where no unit is named."""
    with _readable(sheet):
        number = int(document.header.get("$INSUNITS", 0))
        measurement = document.header.get("$MEASUREMENT", None)
        system = None if measurement is None else int(measurement)
    # The header names a unit, or at least a system of them. A spec that contradicts the system is refused; one that
    # contradicts the unit is held against it later, by a figure that can be shown.
    sheet.said = UNITS.get(number)
    if sheet.said is not None or system is None or sheet.unit == "own":
        return
    said = {0: "inches and feet ($MEASUREMENT 0)", 1: "metric units ($MEASUREMENT 1)"}.get(system)
    if said and (sheet.unit in ("mm", "cm")) != (system == 1):
        other = "in" if system == 0 else "mm"
        raise DrawingError(
            f"units: {sheet.unit} for {sheet.name}, which says that it was drawn in {said}",
            f"measure the part; then write `units: {other}`, or set the drawing's own unit ($INSUNITS) and save again",
            "units",
        )


# ------------------------------------------------------------------------------- what is there


def _flat(sheet: Sheet, document: Any) -> Iterator[tuple[Any, str, str]]:
    """The entities, blocks taken apart: each with its layer and why it is not to be seen, if it is not."""
    # By a stack of open blocks and not by recursion, so that deep nesting ends at our own limit. Each part is counted
    # as it comes: ten blocks that hold ten of the next each are a thousand million parts after nine levels.
    open_blocks: list[tuple[Iterator[Any], str | None, str]] = [(iter(document.modelspace()), None, "")]
    parts = 0
    while open_blocks:
        entities, inherited, unseen = open_blocks[-1]
        with _readable(sheet), _no_prints():
            entity = next(entities, None)
        if entity is None:
            open_blocks.pop()
            continue
        parts += len(open_blocks) > 1
        if parts > MAX_PARTS:
            found = f"blocks in {sheet.name} that hold more than {MAX_PARTS} parts"
            raise DrawingError(found, "save the outline alone")
        with _readable(sheet):
            # In a block, layer 0 stands for the layer that the block is put on (DXF Reference, blocks).
            layer = str(entity.dxf.layer)
            layer = inherited if inherited is not None and layer == "0" else layer
            hidden = unseen or _hidden(document, entity, layer)
        if entity.dxftype() != "INSERT":
            yield entity, layer, hidden
        elif len(open_blocks) > MAX_DEPTH:
            raise DrawingError(f"blocks within blocks, more than {MAX_DEPTH} deep, in {sheet.name}", "explode them")
        else:
            with _readable(sheet), _no_prints():
                inside = _inside(sheet, entity)
                # what is in a block on a layer that is off may be on another that is not
                all_unseen = hidden if hidden.startswith(("that", "on a frozen")) else ""
            open_blocks.append((inside, layer, all_unseen))


def _hidden(document: Any, entity: Any, layer: str) -> str:
    """Why an entity is not to be seen on paper; empty when it is."""
    if entity.dxf.get("invisible", 0):
        return "that is set invisible"
    if layer.casefold() == "defpoints":
        return "on the layer Defpoints, which is never plotted"
    if not document.layers.has_entry(layer):
        return ""
    state = document.layers.get(layer)
    if state.is_frozen():
        return f"on a frozen layer ({layer})"
    if state.is_off():
        return f"on a layer that is off ({layer})"
    return "" if state.dxf.get("plot", 1) else f"on a layer that is not plotted ({layer})"


def _inside(sheet: Sheet, insert: Any) -> Iterator[Any]:
    """What is in a block, in its place."""
    block = insert.block()
    if block is None or block.block.dxf.flags & 12:
        sheet.left_out["block that is kept in another file, or nowhere"] += 1
        return iter(())
    # A clipped block shows less than it holds; what is cut off is kept where no reader of blocks looks.
    if insert.has_extension_dict and "ACAD_FILTER" in insert.get_extension_dict().dictionary:
        raise DrawingError(f"a block {insert.dxf.name} in {sheet.name} that is clipped", "explode it, and cut it there")
    if (
        insert.mcount > 1
    ):  # rows and columns of the same block: first taken apart into single ones, which come back here
        return iter(insert.multi_insert())

    def skipped(entity: Any, reason: str) -> None:
        sheet.left_out[f"{_word(entity)} in a block that is scaled unevenly"] += 1

    return iter(insert.virtual_entities(skipped_entity_callback=skipped))


def _word(entity: Any) -> str:
    return str(entity.dxftype())


# ------------------------------------------------------------------------------- what it looks like


def _check_flat(sheet: Sheet, entity: Any, *heights: float) -> None:
    sheet.check(*heights)
    if heights and max(heights) - min(heights) > FLAT * max(1.0, *map(abs, heights)):
        raise _not_flat(sheet, entity)


def _not_flat(sheet: Sheet, entity: Any) -> DrawingError:
    return DrawingError(f"a {_word(entity)} in {sheet.name} that does not lie flat", "draw it in the plane z = 0")


def _round(sheet: Sheet, entity: Any) -> Stroke:
    with _readable(sheet):
        (x, y, _), r = entity.dxf.center, entity.dxf.radius
    if entity.dxftype() == "CIRCLE":
        return Stroke(((x - r, y, 1.0), (x + r, y, 1.0)), closed=True)
    with _readable(sheet):
        start, end = math.radians(entity.dxf.start_angle), math.radians(entity.dxf.end_angle)
    # Always counter-clockwise in DXF, and a whole turn where both ends are the same. More than half a turn is cut in
    # two: a bulge, tan of a quarter of the angle, runs away as a full turn is neared.
    sheet.check(x, y, r, start, end)
    sweep = (end - start) % math.tau or math.tau
    steps = 2 if sweep > math.pi else 1
    bulge = math.tan(sweep / steps / 4)
    angles = [start + sweep * k / steps for k in range(steps + 1)]
    points = [(x + r * math.cos(a), y + r * math.sin(a)) for a in angles]
    return Stroke((*((px, py, bulge) for px, py in points[:-1]), (*points[-1], 0.0)), closed=False)


def _seen_straight(sheet: Sheet, entity: Any, stroke: Stroke) -> Stroke:
    """The stroke as seen from above: mirrored when it was drawn facing down (P: the arbitrary axis of DXF)."""
    if _facing(sheet, entity) > 0:
        return stroke
    return Stroke(tuple((-px, py, -bulge) for px, py, bulge in stroke.vertices), stroke.closed)


def _facing(sheet: Sheet, entity: Any) -> float:
    """1 for an entity drawn facing up, -1 for one facing down; refuses one that leans."""
    with _readable(sheet):
        x, y, z = entity.dxf.extrusion
    sheet.check(x, y, z)
    if math.hypot(x, y) > FLAT * abs(z):
        raise _not_flat(sheet, entity)
    return math.copysign(1.0, z)


def _ellipse(sheet: Sheet, entity: Any) -> None:
    """An ellipse in even steps of its own angle, which keeps every chord within reach of the curve."""
    with _readable(sheet):
        dxf = entity.dxf
        (x, y, _), (mx, my, mz), ratio = dxf.center, dxf.major_axis, float(dxf.ratio)
        start, end = float(dxf.start_param), float(dxf.end_param)
    sheet.check(x, y, mx, my, mz, ratio, start, end)
    facing = _facing(sheet, entity)
    _check_flat(sheet, entity, 0.0, mz)
    reach = math.hypot(mx, my) * max(1.0, abs(ratio))
    sheet.check_reach(max(abs(x), abs(y), reach))
    sweep = (end - start) % math.tau
    sweep = sweep if sweep > 1e-9 else math.tau
    # A chord over the angle `each` of a circle with the longer half axis is off by the chord error; on the ellipse,
    # squeezed in one direction from that circle, by less.
    each = 2.0 * math.acos(max(1.0 - sheet.chord / reach, 0.0)) if reach > 0.0 else math.pi
    steps = sheet.steps(max(sweep / each, 8.0))
    # The shorter half axis is square to the longer one in the ellipse's own plane, which may face down.
    px, py = -my * ratio * facing, mx * ratio * facing
    closed = sweep >= math.tau - 1e-9
    angles = [start + sweep * k / steps for k in range(steps + (not closed))]
    turns = [(math.cos(angle), math.sin(angle)) for angle in angles]
    sheet.add(Stroke(tuple((x + mx * c + px * s, y + my * c + py * s, 0.0) for c, s in turns), closed))


def _spline(sheet: Sheet, entity: Any) -> None:
    """A spline over the part of its knots in which it is defined (P: de Boor): of a closed one that is not all."""
    with _readable(sheet):
        points = [tuple(map(float, point)) for point in (*entity.control_points, *entity.fit_points)]
        degree, fitted = int(entity.dxf.degree), not len(entity.control_points)
    if not points:
        return
    sheet.check(*(value for point in points for value in point))
    sheet.check_reach(max(max(abs(point[0]), abs(point[1])) for point in points))
    _check_flat(sheet, entity, *(point[2] for point in points))
    if not 1 <= degree <= MAX_DEGREE:
        raise DrawingError(f"a spline of degree {degree} in {sheet.name}", f"redraw it; {MAX_DEGREE} at most will do")
    if fitted:
        sheet.remarks.append("a spline is given by points on it alone; how it runs between them is this reader's guess")
    with _readable(sheet):
        curve = entity.construction_tool()
        knots = [float(knot) for knot in curve.knots()]
        low, high = knots[curve.degree], knots[curve.count]
        stops = sorted({low, high, *(knot for knot in knots if low < knot < high)})
        chords = _sampled(sheet, curve, stops)
    # Its own flag for "closed" says how knots repeat, not whether the ends meet; the ends themselves do.
    shut = math.dist(chords[0], chords[-1]) <= sheet.chord
    sheet.add(Stroke(tuple((x, y, 0.0) for x, y in (chords[:-1] if shut else chords)), closed=shut))


def _sampled(sheet: Sheet, curve: Any, stops: list[float]) -> list[tuple[float, float]]:
    """Points on a curve between its knots, so near each other that no chord is off by more than it may."""

    def at(places: list[float]) -> list[tuple[float, float]]:
        return [(float(p.x), float(p.y)) for p in curve.points(places)]

    # Halving where the curve is too far from its chord at any of three places. A piece between knots is one polynomial
    # of the curve's degree, so degree + 1 first pieces cannot hide a wave from three probes each; a rational one may
    # bend more sharply and gets more. The probes are not the worst places, hence 0.8 of what is allowed.
    pieces = curve.degree + 1 + 4 * bool(curve.is_rational)
    places = [u + (v - u) * k / pieces for u, v in pairwise(stops) for k in range(pieces)] + [stops[-1]]
    while True:
        if len(places) > MAX_VERTICES:
            raise sheet.too_many()
        points = at(places)
        probes = at([u + (v - u) * share for u, v in pairwise(places) for share in PROBES])
        far = [
            max(_off(p, q, probe) for probe in probes[len(PROBES) * k : len(PROBES) * (k + 1)]) > sheet.chord * 0.8
            for k, (p, q) in enumerate(pairwise(points))
        ]
        if not any(far):
            return points
        places = [
            place
            for u, v, halve in zip(places, places[1:], far, strict=False)
            for place in ((u, (u + v) / 2) if halve and u < (u + v) / 2 < v else (u,))
        ] + [places[-1]]
        if len(places) == len(points):  # nothing could be halved any more: float64 ends here
            return points


def _off(p: tuple[float, float], q: tuple[float, float], probe: tuple[float, float]) -> float:
    """Distance of a point from the chord."""
    dx, dy = q[0] - p[0], q[1] - p[1]
    square = dx * dx + dy * dy
    x, y = probe[0] - p[0], probe[1] - p[1]
    share = min(max((x * dx + y * dy) / square, 0.0), 1.0) if square > 0.0 else 0.0
    return math.hypot(x - share * dx, y - share * dy)

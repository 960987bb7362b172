"""Two states of one plate, one over the other: a picture, and a 1:1 page to lay on the old print or the old plate.

The old plate is dashed and hollow, the new one solid; what is gone is crossed out, what is new has a second ring. An
arrow leads from an old middle to the new one. Where a move is too small to be seen its arrow is drawn longer, by a
factor that stands beside it. It reads in black and white.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Final
from xml.etree.ElementTree import Element

from platekit.analysis.compare import Comparison, OpeningPair
from platekit.drawing.bending import flange_words
from platekit.drawing.cautions import SHORT
from platekit.drawing.dimensions import arrowhead
from platekit.drawing.labels import Wish, place, points_along
from platekit.drawing.pdf.letters import SMALLEST_TEXT, Face
from platekit.drawing.pdf.letters import letters as paper_letters
from platekit.drawing.pdf.names import NameWish, placed_names, write_name
from platekit.drawing.pdf.paper import (
    LARGEST_SIDE,
    MARGIN,
    PaperSheet,
    Tile,
    Tiling,
    check_frame,
    sheet_of,
    tiling_over,
)
from platekit.drawing.pdf.pen import Pen
from platekit.drawing.svg.foot import caution_foot
from platekit.drawing.svg.labels import Words, write_leader, write_words
from platekit.drawing.svg.letters import letters, text_width
from platekit.drawing.svg.parts import (
    COLOURS,
    FONT,
    PAD,
    PAPER,
    STEEL,
    WIDTH,
    fill,
    node,
    number,
    path_of,
    stroke,
    text,
    way_of,
    written,
)
from platekit.drawing.text import shortened, wrapped
from platekit.drawing.view import View
from platekit.errors import SheetError, SpecError
from platekit.export.text.difference import mount_words, outline_words, pair_words, part_words, verdict_words
from platekit.geometry import Box, Disc, Point, Shape, box_round
from platekit.laying.jacks import lug_foot
from platekit.laying.layers import layer_parts
from platekit.placed import Layout
from platekit.units import show_length

PICTURE: Final = ".compare.svg"
PAGE: Final = ".compare.pdf"
"""Endings of the two files."""
MOST_WIDE: Final = 760.0
MOST_HIGH: Final = 820.0
"""Room for the two plates on the picture, sheet units (ours)."""
FIELD: Final = 90.0
"""Room for names round the plates, sheet units (ours)."""
LONGEST: Final = 60.0
"""Up to this all arrows are drawn longer, sheet units (ours: small ones get seen, large ones stay on the sheet)."""
LONGEST_ON_PAPER: Final = 15.0
"""The same on the 1:1 page, mm (ours)."""
FACTORS: Final[tuple[int, ...]] = tuple(int(step * 10**power) for power in range(7) for step in (1, 2, 5))
"""By how much arrows are made longer (ours: figures that divide easily)."""
OLD_DASH: Final = "7 4"
OLD_DASH_MM: Final = (2.0, 1.2)
"""Dashes of the old plate: sheet units, mm (ours)."""
RING: Final = 1.6
"""How far outside a new opening its second ring lies, mm (ours)."""
MOST_LABELS: Final = 60
"""Most openings named in the picture; all changes are listed by `compare` itself (ours)."""
MOST_LISTED: Final = 40
"""Most changes put into words under the picture (ours)."""
STRIP: Final = 24.0
"""Paper under the window for the words of a sheet and the cautions, mm (ours)."""
GUTTER: Final = 5.0
"""Between the margin and the window, mm: the check bars run there (ours)."""


def magnification(lengths: Iterable[float], longest: float) -> int:
    """By how much all arrows are drawn longer: as far as the longest of them allows; both in the same unit.

    One for all of them, so that of two arrows the longer one is the larger move.

    >>> magnification([0.38, 0.21], 60), magnification([30, 0.2], 60), magnification([], 60)
    (100, 2, 1)
    """
    most = max(lengths, default=0.0)
    return max((factor for factor in FACTORS if most * factor <= longest), default=1) if most > 0 else 1


# ------------------------------------------------------------------------------------------- picture


def overlay_svg(comparison: Comparison) -> str:
    """The picture of both plates as SVG text; the same two layouts give the same text."""
    content = _content(comparison)
    # room for both plates together: they are drawn one over the other, by their own frames
    scale = min(MOST_WIDE / content.width, MOST_HIGH / content.height)
    top = 92.0 + FIELD
    left = (WIDTH - content.width * scale) / 2
    view = View(scale, left - content.x0 * scale, top + content.y1 * scale, down=True)
    field = Box(PAD, 92.0, WIDTH - PAD, top + content.height * scale + FIELD)
    old, new = comparison.old.spec, comparison.new.spec
    root = node(
        None,
        "svg",
        xmlns="http://www.w3.org/2000/svg",
        data_old_revision=old.revision,
        data_revision=new.revision,
        font_family=FONT,
        role="img",
    )
    node(root, "title").text = f"{new.title}: revision {old.revision} and {new.revision}"
    paper = node(root, "rect", width=WIDTH, fill=PAPER)
    text(root, PAD, 34, new.title, 21, bold=True)
    text(root, PAD, 58, f"dashed: {old.name}, revision {old.revision}", 14)
    text(root, PAD, 78, f"solid: {new.name}, revision {new.revision}", 14, bold=True)
    text(root, WIDTH - PAD, 58, "seen from the near side", 13, anchor="end", tone="soft")
    node(root, "path", d=f"M{number(PAD)} 88H{number(WIDTH - PAD)}", **stroke("ink", 1.5))
    steel = node(root, "g", transform=way_of(view), stroke_linejoin="round")
    # Both plates in the plate's own frame; `unit` is a sheet unit in mm. The new plate's steel first, its openings
    # cut into it, then its outline, and the old plate's dashes over all: what is gone must be seen even where it lies
    # in new steel or in a new opening
    unit = 1 / scale
    dash = " ".join(number(float(part) * unit, 6) for part in OLD_DASH.split())
    node(steel, "path", d=path_of(comparison.new.outline), fill=STEEL, stroke="none")
    for pair in comparison.pairs:
        if pair.new is not None:
            node(steel, "path", d=path_of(pair.new.shape), fill=PAPER, **_line(2.0 * unit))
    node(steel, "path", d=path_of(comparison.new.outline), fill="none", **_line(2.2 * unit))
    for pair in comparison.pairs:
        if pair.new is not None and pair.kind == "added":
            node(steel, "path", d=path_of(pair.new.shape.grown(4 * unit)), fill="none", **_line(1.0 * unit))
        if pair.old is not None and pair.kind in ("changed", "removed"):
            node(steel, "path", d=path_of(pair.old.shape), fill="none", stroke_dasharray=dash, **_line(1.3 * unit))
        if pair.old is not None and pair.kind == "removed":
            x0, y0, x1, y1 = (number(value, 4) for value in pair.old.shape.box)
            node(steel, "path", d=f"M{x0} {y0}L{x1} {y1}M{x0} {y1}L{x1} {y0}", fill="none", **_line(1.3 * unit))
    # what lies on it: layers as far as they show, lugs and bars, in thin lines; dashed where they were
    was, now = (_beside(layout) for layout in (comparison.old, comparison.new))
    for shapes in now.values():
        for shape in shapes:
            node(steel, "path", d=path_of(shape), fill="none", **_line(0.9 * unit))
    for name, shapes in was.items():
        if [path_of(one) for one in shapes] != [path_of(one) for one in now.get(name, [])]:
            for shape in shapes:
                node(steel, "path", d=path_of(shape), fill="none", stroke_dasharray=dash, **_line(0.9 * unit))
    if comparison.outline is not None:
        outline = path_of(comparison.old.outline)
        node(steel, "path", d=outline, fill="none", stroke_dasharray=dash, **_line(1.3 * unit))
    factor = magnification((pair.distance * scale for pair in comparison.pairs if pair.moved), LONGEST)
    bottom = max(_labels(root, comparison, view, field, factor), field.y1)
    # The legend, as it can be drawn only once the labels have taken what room they need below the plates
    x, y = PAD, bottom + 8
    for dash, width, words in ((OLD_DASH, 1.3, "as it was"), ("", 2.2, "as it is now")):
        line = node(root, "path", d=f"M{number(x)} {number(y)}h34", **stroke("ink", width))
        if dash:
            line.set("stroke-dasharray", dash)
        text(root, x + 40, y + 4, words, 12.5)
        x += 52 + text_width(words, 12.5)
    _arrow(root, (x, y), (x + 34, y))
    words = "from the old middle to the new"
    if factor > 1:
        words += f", all ×{factor}: {factor} times as long as the move"
    text(root, x + 42, y + 4, words, 12.5)
    x += 54 + text_width(words, 12.5)
    text(root, x, y + 4, "double ring: new; crossed out: gone; thin: what lies on it", 12.5)
    bottom = caution_foot(root, _listed(root, comparison, y + 34) + 6)
    root.set("viewBox", f"0 0 {number(WIDTH)} {number(bottom)}")
    paper.set("height", number(bottom))
    return written(root)


def _beside(layout: Layout) -> dict[str, list[Shape]]:
    """What is cut beside the plate and lies on it, by name: layers with openings, bars, lugs (plate frame, mm)."""
    found: dict[str, list[Shape]] = {}
    parts = layer_parts(layout)
    for mount in layout.mounts.values():
        if mount.layer is not None:
            flat = parts[mount.layer.part]
            found[mount.name] = [flat.outline, *(one.shape for one in flat.openings if one.through)]
        if mount.jack is not None:
            found[f"{mount.name}.jack lug"] = [lug_foot(mount.jack)]
    for rib in layout.ribs:
        found[rib.name] = [rib.shape]
    return found


def _content(comparison: Comparison) -> Box:
    shapes = [comparison.old.outline, comparison.new.outline]
    shapes += [shape for one in (comparison.old, comparison.new) for many in _beside(one).values() for shape in many]
    shapes += [opening.shape for pair in comparison.pairs for opening in (pair.old, pair.new) if opening is not None]
    return box_round([shape.box for shape in shapes])


def _line(width: float) -> dict[str, str]:
    """A line of the ink of pictures; `width` in mm of the plate, far finer than `stroke` writes it."""
    return {"stroke": COLOURS["ink"], "stroke_width": number(width, 6), "class_": "pk-line-ink"}


def _labels(root: Element, comparison: Comparison, view: View, field: Box, factor: int) -> float:
    """Arrows, and the names of what changed; gives where the lowest ends."""
    unit = comparison.new.spec.unit
    changes = comparison.changes[:MOST_LABELS]
    labels = []
    for pair in changes:
        said = {"added": "new", "removed": "gone"}.get(pair.kind, "changed")
        if pair.kind == "changed" and pair.moved:
            said = show_length(pair.distance, unit)
        labels.append(Words(((pair.name, 12.5, True), (said, 12.5, False))))
    wishes = []
    drawn: list[Point] = []
    for pair, label in zip(changes, labels, strict=True):
        tail = tip = view.at(pair.old.center) if pair.old is not None else view.at(_center(pair))
        if pair.moved:
            run = view.scale * factor
            tip = (tail[0] + pair.move[0] * run, tail[1] - pair.move[1] * run)
        reach = _room(pair) * view.scale
        _arrow(root, tail, tip)
        drawn += [(tail[0] + (tip[0] - tail[0]) * k / 8, tail[1] + (tip[1] - tail[1]) * k / 8) for k in range(9)]
        wishes.append(Wish(pair.name, *view.at(_center(pair)), reach + 4, label.width, label.height))
    bottom = field.y1
    shapes = [comparison.new.outline, comparison.old.outline]
    shapes += [pair.new.shape for pair in comparison.pairs[:400] if pair.new is not None]
    edges = [point for shape in shapes for point in points_along(shape, view.at, 2.0 / view.scale)]
    for spot, label in zip(place(wishes, field, (), drawn, edges=edges), labels, strict=True):
        if spot.leader is not None:
            write_leader(root, spot.leader)
        write_words(root, label, spot.frame)
        bottom = max(bottom, spot.frame.y1)
    return bottom


def _center(pair: OpeningPair) -> Point:
    opening = pair.new or pair.old
    assert opening is not None
    return opening.center


def _room(pair: OpeningPair) -> float:
    opening = pair.new or pair.old
    assert opening is not None
    return opening.shape.radius if isinstance(opening.shape, Disc) else max(opening.size / 2, 1.0)


def _arrow(root: Element, tail: Point, tip: Point) -> None:
    if tail == tip:
        return
    # a head longer than its arrow would point back past the tail
    head = min(9.0, 0.6 * math.dist(tail, tip))
    corners = arrowhead(tip, (tip[0] - tail[0], tip[1] - tail[1]), head, head * 4 / 9).corners
    neck = ((corners[1][0] + corners[2][0]) / 2, (corners[1][1] + corners[2][1]) / 2)
    line = f"M{number(tail[0])} {number(tail[1])}L{number(neck[0])} {number(neck[1])}"
    # a white edge lifts the arrow off the outlines that it crosses
    node(root, "path", d=line, stroke=PAPER, stroke_width=5, fill="none")
    node(root, "path", d=line, **stroke("ink", 2.2))
    node(root, "circle", cx=tail[0], cy=tail[1], r=2.6, **fill("ink"))
    node(root, "polygon", points=" ".join(f"{number(x)},{number(y)}" for x, y in corners), **fill("ink"))


def _listed(root: Element, comparison: Comparison, y: float) -> float:
    """The changes in words, and what is void."""
    unit = comparison.new.spec.unit
    rows = []
    if comparison.thickness:
        rows.append(("plate", "now {1} thick, was {0}".format(*(show_length(t, unit) for t in comparison.thickness))))
    if comparison.material:
        rows.append(("plate", f"now {comparison.material[1]}, was {comparison.material[0]}"))
    if comparison.flange:
        was, now = (flange_words(one, unit) for one in comparison.flange)
        rows.append(("flange", f"now {now}; was {was}"))
    if comparison.outline:
        rows.append(("outline", outline_words(comparison)))
    rows += [(f"mount {move.name}", mount_words(move, unit)) for move in comparison.mounts]
    rows += [(one.part, part_words(one, unit)) for one in comparison.parts]
    changes = comparison.changes
    rows += [(pair.name, pair_words(comparison, pair)) for pair in changes[:MOST_LISTED]]
    if len(changes) > MOST_LISTED:
        rows.append(("", f"and {len(changes) - MOST_LISTED} more; platekit compare lists them all"))
    column = min(max((text_width(name, 13, True) for name, _ in rows), default=0.0) + 16, 260.0)
    for name, words in rows:
        text(root, PAD, y, name, 13, bold=True)
        for line in wrapped(words, WIDTH - 2 * PAD - column, letters(13)):
            text(root, PAD + column, y, line, 13)
            y += 18
    node(root, "path", d=f"M{number(PAD)} {number(y - 4)}H{number(WIDTH - PAD)}", **stroke("ink", 1.5))
    for line in wrapped(verdict_words(comparison), WIDTH - 2 * PAD, letters(14.5, True)):
        y += 20
        text(root, PAD, y, line, 14.5, bold=True)
    return y + 16


# ------------------------------------------------------------------------------------------- 1:1 page


def overlay_pdf(comparison: Comparison) -> bytes:
    """Both plates at true size on the paper of the new spec, near side; the same two layouts give the same bytes.

    Raises `SpecError`, at the paper's size in the new spec, when the sheets cannot show them.
    """
    old, new = comparison.old.spec, comparison.new.spec
    about = f"{new.name}, revision {new.revision}, over {old.name}, revision {old.revision}"
    pen = Pen(new.title, about)
    try:
        content = _content(comparison).grown(3.0)
        sheet = sheet_of(comparison.new.paper)
        parts = [
            opening.shape.box for pair in comparison.pairs for opening in (pair.old, pair.new) if opening is not None
        ]
        if sheet is not None:
            ways = [(way, _window(way)) for way in (sheet, sheet.turned)]
            good = [way for way in ways if min(way[1].width, way[1].height) >= 40.0]
            if not good:
                raise SheetError("a sheet that leaves no room to draw", "use a larger one")
            tiling = tiling_over(good, content, (), parts)
        else:
            around = 2 * (GUTTER + MARGIN)
            wide, high = math.ceil(max(content.width, 150.0) + around), math.ceil(content.height + around + STRIP)
            if max(wide, high) > LARGEST_SIDE:
                raise SheetError("one sheet for both plates, longer than a PDF page may be", "use a3")
            single = PaperSheet("single", float(wide), float(high))
            tiling = tiling_over([(single, _window(single))], content, (), ())
    except SheetError as error:
        raise SpecError((new.problem("paper.size", error.found, error.wanted),)) from error
    factor = magnification((pair.distance for pair in comparison.pairs if pair.moved), LONGEST_ON_PAPER)
    for count, tile in enumerate(tiling.tiles, start=1):
        pen.page(tile.sheet.width, tile.sheet.height)
        with pen.within(tile.window):
            way = tile.view.at
            pen.shape(comparison.new.outline, way, 0.5)
            if comparison.outline is not None:
                pen.shape(comparison.old.outline, way, 0.2, OLD_DASH_MM)
            for pair in comparison.pairs:
                if pair.new is not None:
                    pen.shape(pair.new.shape, way, 0.35)
                    pen.crosshair(way(pair.new.center), 1.0, 4.0)
                    if pair.kind == "added":
                        pen.shape(pair.new.shape.grown(RING), way, 0.15)
                if pair.old is not None and pair.kind in ("changed", "removed"):
                    pen.shape(pair.old.shape, way, 0.2, OLD_DASH_MM)
                    if pair.kind == "removed":
                        box = pair.old.shape.box
                        pen.line(way((box.x0, box.y0)), way((box.x1, box.y1)))
                        pen.line(way((box.x0, box.y1)), way((box.x1, box.y0)))
            _draw_arrows(pen, comparison, tile, factor)
        pen.box(tile.window)
        _draw_words(pen, comparison, tiling, tile, count, factor)
        pen.end_page()
    return pen.finished()


def _window(sheet: PaperSheet) -> Box:
    inner = sheet.printable.grown(-GUTTER)
    return Box(inner.x0, inner.y0 + STRIP, inner.x1, inner.y1)


def _draw_arrows(pen: Pen, comparison: Comparison, tile: Tile, factor: int) -> None:
    shown = tile.box
    changes = [
        pair
        for pair, (x, y) in ((pair, _center(pair)) for pair in comparison.changes)
        if shown.x0 <= x <= shown.x1 and shown.y0 <= y <= shown.y1
    ]
    wanted = []
    arrows: list[Point] = []
    for pair in changes:
        center = tile.view.at(_center(pair))
        if pair.moved:
            assert pair.old is not None
            tail = tile.view.at(pair.old.center)
            run = (pair.move[0] * factor, pair.move[1] * factor)
            pen.arrow(tail, (tail[0] + run[0], tail[1] + run[1]), 0.4, 2.4)
            arrows += [(tail[0] + run[0] * k / 12, tail[1] + run[1] * k / 12) for k in range(13)] * 3
        room = _room(pair)
        if pair.kind != "changed":
            words = "new" if pair.kind == "added" else "gone"
        elif pair.moved:
            words = f"moved {show_length(pair.distance, comparison.new.spec.unit)}"
        else:
            words = pair_words(comparison, pair)
        wanted.append(NameWish(((pair.name, "bold"), (words, "regular")), center, room + 1.5, room))
    shapes = [comparison.new.outline, comparison.old.outline]
    openings = [opening for pair in comparison.pairs for opening in (pair.old, pair.new) if opening is not None]
    shapes += [opening.shape for opening in openings if opening.shape.box.overlaps(tile.box)]
    edges = [point for shape in shapes for point in points_along(shape, tile.view.at, 0.5)]
    for name in placed_names(wanted[:MOST_LABELS], tile.window, (), arrows, edges=edges):
        write_name(pen, name)


def _draw_words(pen: Pen, comparison: Comparison, tiling: Tiling, tile: Tile, count: int, factor: int) -> None:
    unit, window = comparison.new.spec.unit, tile.window
    bars = check_frame(tile.sheet, unit)
    pen.box(bars)
    old, new = comparison.old.spec, comparison.new.spec
    arrows = f"; arrows are {factor} times as long as the moves" if factor > 1 else ""
    which = "the only sheet"
    if len(tiling.tiles) > 1:
        place = f"column {tile.column + 1} from the left, row {tile.row + 1} from the top"
        which = f"sheet {count} of {len(tiling.tiles)}, {place}"
    lines: list[tuple[str, bool]] = [
        (f"{new.title}: what moved. True size, near side, up is up", True),
        (f"dashed: {old.name}, revision {old.revision}; solid: {new.name}, revision {new.revision}{arrows}", False),
        (
            f"the frame round this sheet is {show_length(bars.width, unit)} x {show_length(bars.height, unit)}: "
            f"measure it before you trust the print; {which}",
            False,
        ),
    ]
    for index, (line, bold) in enumerate(lines):
        face: Face = "bold" if bold else "regular"
        shown = shortened(line, window.width, paper_letters(SMALLEST_TEXT + 1, face))
        pen.text((window.x0, window.y0 - 4.2 - 3.9 * index), shown, SMALLEST_TEXT + 1, face)
    cautions = wrapped(SHORT, window.width, paper_letters(SMALLEST_TEXT))
    for index, line in enumerate(cautions):
        pen.text((window.x0, window.y0 - 15.9 - 2.9 * index), line, SMALLEST_TEXT)

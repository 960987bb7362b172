"""The places that a search found: small pictures side by side, and the words on each.

Each picture shows the plate as it would be there, all at one scale: steel grey, openings white, parts on the near side
by a solid line, on the far side by a dashed one; what is placed has the thick lines. It reads in black and white.
"""

from __future__ import annotations

import math
from typing import Final
from xml.etree.ElementTree import Element

from platekit.drawing.svg.foot import caution_foot
from platekit.drawing.svg.letters import letters
from platekit.drawing.svg.parts import (
    COLOURS,
    FONT,
    PAD,
    PAPER,
    STEEL,
    WIDTH,
    node,
    number,
    path_of,
    stroke,
    text,
    way_of,
    written,
)
from platekit.drawing.text import wrapped
from platekit.drawing.view import View
from platekit.geometry import Box, box_round
from platekit.placed import Body, Layout
from platekit.studies.place_one import FoundPlace, Search
from platekit.studies.place_space import TENTHS, SearchPose, SearchSpace, slides, tenths
from platekit.units import INCH, show_length

PICTURE: Final = ".places.svg"
"""Ending of the picture's name."""
COLUMNS: Final = 3
"""Pictures in a row (ours)."""
AIR: Final = 14.0
"""Room round each plate, sheet units (ours)."""
TALLEST: Final = 420.0
"""Most height of one picture, sheet units (ours)."""
CAPTION: Final = 100.0
"""Room under each picture for its words, sheet units (ours)."""
NUMBER_WIDE: Final = 26.0
"""Room left of those words for the number of the place, sheet units (ours)."""
BEYOND: Final = 0.25
"""How far round a plate bodies are shown, in plate sizes (ours: a long guard does not shrink the plates)."""


def where_words(search: Search, place: FoundPlace) -> str:
    """Where the mount is: `at [123.4, -50] mm, turn 30 deg, near side`; of two, each with its name."""
    spots = search.spots(place)
    said = [_where(space, spot) for space, spot in spots]
    return (
        said[0] if len(said) == 1 else "; ".join(f"{s.name} {words}" for (s, _), words in zip(spots, said, strict=True))
    )


def _where(space: SearchSpace, spot: SearchPose) -> str:
    first, second, turn = spot.numbers
    unit = space.spec.unit
    if space.find.belt is not None:
        said = f"belt from {space.find.belt.from_} at {tenths(first)} deg"
        if slides(space):
            assert space.beside is not None
            assert space.beside.slides is not None
            field = space.beside.slides[0].removeprefix("drive.").replace("second.", "second ")
            said += f", {field} pulley {show_length(second / TENTHS, unit)} back from its shaft's end"
    else:
        x, y = (show_length(value / TENTHS, unit).removesuffix(f" {unit}") for value in (first, second))
        said = f"at [{x}, {y}] {unit}"
    turned = "" if space.keeps_turn else f", turn {tenths(turn)} deg"
    return f"{said}{turned}, {spot.side} side"


def merit_words(search: Search, place: FoundPlace) -> tuple[str, ...]:
    """The merits of a place, one line each."""
    unit, merits = search.space.spec.unit, place.merits
    area = merits.area / (INCH**2 if unit == "in" else 100.0)
    box = place.layout.outline.box
    digits = 1 if unit == "mm" else 2
    size = f"{show_length(box.width, unit, digits)} x {show_length(box.height, unit, digits)}"
    spare = show_length(merits.clearance, unit)
    lines = [
        f"plate {area:.0f} {'in2' if unit == 'in' else 'cm2'}, {size}",
        f"clearance {spare}{' or more' if merits.clearance >= 10 - 1e-9 else ''} to spare, "
        f"{show_length(merits.reach, unit)} from the nearest mount that stays",
    ]
    if merits.belt is not None:
        lines.append(f"shafts {show_length(merits.belt, unit)} off the distance of the belt in stock")
    elif any(space.by_belt for space, _ in search.spots(place)):
        lines.append("shafts at the distance of the belt in stock")
    return tuple(lines)


def choices_svg(search: Search) -> str:
    """The small pictures as SVG text; the same search gives the same text."""
    spec = search.space.spec
    windows = [_window(place.layout) for place in search.places]
    columns = max(min(COLUMNS, len(windows)), 1)
    cell = (WIDTH - 2 * PAD) / columns
    widest = max((window.width for window in windows), default=1.0)
    highest = max((window.height for window in windows), default=1.0)
    # one scale for all pictures: that a plate is smaller is what they are looked at for
    scale = min((cell - 2 * AIR) / widest, TALLEST / highest)
    height = highest * scale + 2 * AIR + CAPTION
    rows = math.ceil(len(windows) / columns)
    bottom = 74 + rows * height + PAD
    root = node(
        None,
        "svg",
        xmlns="http://www.w3.org/2000/svg",
        data_revision=spec.revision,
        font_family=FONT,
        role="img",
    )
    node(root, "title").text = f"{spec.title}: places for {search.told}"
    paper = node(root, "rect", width=WIDTH, fill=PAPER)
    text(root, PAD, 32, f"{spec.title}: places for {search.told}", 20, bold=True)
    about = "best first, all at one scale, seen from the near side; near parts solid, far parts dashed"
    text(root, PAD, 54, about, 13, tone="soft")
    text(root, WIDTH - PAD, 32, f"{spec.name}, revision {spec.revision}", 13, anchor="end", tone="soft")
    for index, (place, window) in enumerate(zip(search.places, windows, strict=True)):
        left, top = PAD + (index % columns) * cell, 74 + (index // columns) * height
        _cell(root, search, place, index + 1, Box(left, top, left + cell, top + height), window, scale)
    bottom = caution_foot(root, bottom)
    root.set("viewBox", f"0 0 {number(WIDTH)} {number(bottom)}")
    paper.set("height", number(bottom))
    return written(root)


def _window(layout: Layout) -> Box:
    """What one picture shows: the plate, and bodies as far as they are near it."""
    plate = layout.outline.box
    # a driven wheel of a metre must not shrink the plate that is looked for
    reach = plate.grown(BEYOND * max(plate.width, plate.height))
    boxes = [body.shape.box for body in _parts(layout)]
    kept = [
        Box(max(box.x0, reach.x0), max(box.y0, reach.y0), min(box.x1, reach.x1), min(box.y1, reach.y1))
        for box in boxes
        if box.overlaps(reach)
    ]
    return box_round([plate, *kept])


def _parts(layout: Layout) -> list[Body]:
    return [body for body in layout.bodies if not body.hardware and body.kind != "spigot"]


def _cell(root: Element, search: Search, place: FoundPlace, count: int, cell: Box, window: Box, scale: float) -> None:
    """One picture: its frame, plate, bodies, number and words. `cell` is in sheet units, y down."""
    clip = f"pk-place-{count}"
    low = cell.y1 - CAPTION
    defs = node(root, "defs")
    frame = {"x": cell.x0 + 3, "y": cell.y0, "width": cell.width - 6, "height": low - cell.y0}
    node(node(defs, "clipPath", id=clip), "rect", **frame)
    node(root, "rect", **frame, **stroke("soft", 0.8))
    (cx, cy) = window.center
    view = View(scale, (cell.x0 + cell.x1) / 2 - cx * scale, (cell.y0 + low) / 2 + cy * scale, down=True)
    outer = node(root, "g", clip_path=f"url(#{clip})")
    steel = node(outer, "g", transform=way_of(view), stroke_linejoin="round")
    # The mount that was placed in heavier lines; a sheet unit is `unit` mm of the plate, in whose frame all is drawn
    layout, unit = place.layout, 1 / scale
    names = [space.name for space, _ in search.spots(place)]
    ink = {"stroke": COLOURS["ink"], "class_": "pk-line-ink"}
    node(steel, "path", d=path_of(layout.outline), fill=STEEL, stroke_width=1.6 * unit, **ink)
    for opening in layout.openings:
        thick = 1.8 if opening.mount in names else 0.9
        node(steel, "path", d=path_of(opening.shape), fill=PAPER, stroke_width=thick * unit, **ink)
    for body in _parts(layout):
        thick = 1.8 if body.carrier in names else 0.8
        outline = node(steel, "path", d=path_of(body.shape), fill="none", stroke_width=thick * unit, **ink)
        if body.side == "far":
            outline.set("stroke-dasharray", f"{number(6 * unit, 6)} {number(4 * unit, 6)}")
    # below the picture, as within it the plate may reach into any corner
    text(root, cell.x0 + 6, low + 20, str(count), 20, bold=True)
    wide = cell.width - 12 - NUMBER_WIDE
    lines = [(line, True) for line in wrapped(where_words(search, place), wide, letters(11.5, True))]
    lines += [(line, False) for words in merit_words(search, place) for line in wrapped(words, wide, letters(11.5))]
    for index, (line, bold) in enumerate(lines):
        text(root, cell.x0 + 6 + NUMBER_WIDE, low + 17 + 16 * index, line, 11.5, bold=bold)

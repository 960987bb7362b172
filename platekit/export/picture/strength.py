"""Stress, movement, first mode and screws of a plate as one SVG figure: four small plates, each with its own scale.

The shades run from light to dark evenly, so that they can be told apart in grey and by any eye; the lines between them
say the same once more. A light shade is little, a dark one much.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final
from xml.etree.ElementTree import Element

from platekit.checks.strength import shown_of
from platekit.drawing.labels import Wish, place, points_along
from platekit.drawing.svg.letters import letters
from platekit.drawing.svg.parts import COLOURS, FONT, PAPER, fill, node, number, path_of, text, written
from platekit.drawing.view import View
from platekit.geometry import Box, Point
from platekit.placed import Layout
from platekit.units import Unit, measured_in, show_force

if TYPE_CHECKING:
    from platekit.strength.shown import Field, Shown

WIDTH: Final = 1000.0
"""Width of the figure, sheet units (ours: a column of a page)."""
GAP: Final = 40.0
"""Between two plates, sheet units (ours)."""
TALLEST: Final = 420.0
"""Greatest height of one plate, sheet units (ours)."""
HEAD: Final = 40.0
"""Room for the words over a plate, sheet units (ours)."""
FOOT: Final = 46.0
"""Room for the scale below it, sheet units (ours)."""
SHADES: Final = ((250, 243, 222), (133, 176, 158), (74, 120, 140), (24, 33, 66))
"""Stops of the scale, red, green, blue (ours): each darker than the last by about as much."""
LARGEST_DISC: Final = 16.0
"""Radius of the disc on the screw that is pulled most, sheet units (ours)."""
FORCE: Final = 12.0
"""Size of the figures beside the screws, sheet units (ours)."""
OFF_LEVEL: Final = 0.0125
"""A figure below a scale is rounded by at most this share of the largest (ours: a twentieth of a quarter)."""
STEP: Final = 2.0
"""Between the points of edges that those figures keep off, sheet units (ours: under a cell of `labels`)."""


def shade(level: int, levels: int) -> str:
    """The colour of a level, lightest first."""
    place = level / max(levels - 1, 1) * (len(SHADES) - 1)
    low = min(int(place), len(SHADES) - 2)
    part = place - low
    mixed = [round(a + (b - a) * part) for a, b in zip(SHADES[low], SHADES[low + 1], strict=True)]
    return "#" + "".join(f"{one:02x}" for one in mixed)


def strength_picture(layout: Layout) -> str:
    """The figure as SVG text, the same for the same spec; empty where strength was not worked out."""
    shown = shown_of(layout)
    if shown is None:
        return ""
    box = layout.plane.box
    wide = (WIDTH - 3 * GAP) / 2
    scale = min(wide / box.width, TALLEST / box.height)
    high = box.height * scale
    root = node(None, "svg", xmlns="http://www.w3.org/2000/svg", class_="pk-strength", font_family=FONT)
    root.set("role", "img")
    node(root, "title").text = "Stress in the plate, how it moves, how it swings, and what its screws take"
    below = HEAD + high + FOOT
    fields = panels(layout, shown)
    rows = (len(fields) + 2) // 2
    height = rows * below + 10
    ground = node(root, "rect", x=0.0, y=0.0, width=WIDTH, height=height, fill=PAPER, class_="pk-ground")
    for index, (title, note, field) in enumerate(fields):
        left, top = _corner(index, wide, below)
        view = View(scale, left - box.x0 * scale, top + HEAD + box.y1 * scale, down=True)
        _words(root, left, top, title, note)
        group = node(root, "g")
        for level, region in enumerate(field.regions):
            if not region:
                continue
            path = "".join(
                (f"M{'L'.join(f'{number(x, 1)} {number(y, 1)}' for x, y in ([view.at(point) for point in line]))}Z")
                for line in region
            )
            shaded = node(group, "path", d=path, fill=shade(level, len(field.regions)), fill_rule="evenodd")
            if level:
                shaded.set("stroke", COLOURS["soft"])
                shaded.set("stroke-width", "0.4")
        _edges(root, layout, view)
        x, y = view.at(field.at)
        for colour, width in ((PAPER, 4.0), (COLOURS["ink"], 1.6)):
            cross = f"M{number(x - 7)} {number(y)}H{number(x + 7)}M{number(x)} {number(y - 7)}V{number(y + 7)}"
            node(root, "path", d=cross, fill="none", stroke=colour, stroke_width=width)
        _scale(root, left, top + HEAD + high + 12, wide, field, layout.spec.unit)
    left, top = _corner(len(fields), wide, below)
    view = View(scale, left - box.x0 * scale, top + HEAD + box.y1 * scale, down=True)
    pulled_in = "pounds-force" if layout.spec.unit == "in" else "newtons"
    _words(root, left, top, "What each screw takes", f"{pulled_in} off the plate / sideways, the most of all cases")
    # A disc on each screw, its area by the pull; beside it the two figures, over no edge and no disc
    _edges(root, layout, view)
    most = max((abs(one.pull) for one in shown.screws), default=0.0) or 1.0
    measure = letters(FORCE, bold=True)
    holes = {opening.name: opening.shape for opening in layout.openings}
    discs, wishes = [], []
    for one in shown.screws:
        x, y = view.at(one.at)
        pulled = max(one.pull, 0.0)
        radius = max(LARGEST_DISC * (pulled / most) ** 0.5, 2.5)
        node(root, "circle", cx=x, cy=y, r=radius, fill_opacity=0.55, **fill("near"))
        said = " / ".join(show_force(load, layout.spec.unit).partition(" ")[0] for load in (pulled, one.shear))
        discs.append(Box(x - radius, y - radius, x + radius, y + radius))
        # of a slot its width: the figures stand beside the screw, not beyond the slot's end
        hole = holes[one.hole].box
        around = max(radius, min(hole.width, hole.height) / 2 * scale)
        wishes.append(Wish(said, x, y, around, measure(said), FORCE))
    shapes = (*holes.values(), *(rib.shape for rib in layout.ribs))
    edges = [point for shape in (layout.plane, *shapes) for point in points_along(shape, view.at, STEP / scale)]
    ends = [(view.at((s.box.x0, s.box.y1)), view.at((s.box.x1, s.box.y0))) for s in shapes]
    hollows = [Box(*low, *high) for low, high in ends]
    room = Box(left, top + HEAD, left + wide, top + below - 4)
    for spot in place(wishes, room, discs, edges=edges, hollows=hollows):
        if spot.leader is not None:
            x0, y0, x1, y1 = (number(value) for value in spot.leader)
            node(root, "path", d=f"M{x0} {y0}L{x1} {y1}", fill="none", stroke=COLOURS["ink"], stroke_width=0.6)
        text(root, spot.frame.x0, spot.frame.y1 - 0.2 * FORCE, spot.key, FORCE, bold=True)
        height = max(height, spot.frame.y1 + 4)
    ground.set("height", number(height))
    root.set("viewBox", f"0 0 {number(WIDTH)} {number(height)}")
    root.set("width", number(WIDTH))
    root.set("height", number(height))
    return written(root) + "\n"


def _corner(index: int, wide: float, below: float) -> Point:
    return GAP + (index % 2) * (wide + GAP), 10 + (index // 2) * below


def panels(layout: Layout, shown: Shown) -> list[tuple[str, str, Field]]:
    """Title, a line below it, and what is shaded, of each small plate."""
    worst, furthest = shown.worst, shown.furthest
    # as the scale below says it: rounded otherwise it would be another figure
    most = scale_figures(shown.stress, layout.spec.unit)[-1][1]
    farthest = scale_figures(shown.movement, layout.spec.unit)[-1][1]
    panels = [
        ("Stress", f"most {most} at the cross: {worst.said}", shown.stress),
        (
            "How far it moves out of its plane",
            f"most {farthest}: {furthest.said}",
            shown.movement,
        ),
    ]
    if shown.mode is not None and shown.rings is not None:
        low, high = shown.rings
        panels.append(("How it swings first", f"at {low:.0f} to {high:.0f} Hz; the most is 1", shown.mode))
    return panels


def scale_figures(field: Field, unit: Unit) -> list[tuple[int, str]]:
    """The figures below a scale, each with its level: all with as many decimals, the last with its unit."""
    most, measure = measured_in(field.most, field.unit, unit)
    count = len(field.regions)
    levels = range(0, count + 1, 2)
    # two figures of the largest, or one more where that would move another visibly: a quarter of 1 is 0.25
    digits = max(1 - math.floor(math.log10(most)), 0) if most > 0 else 0
    if any(abs(round(most * level / count, digits) - most * level / count) > OFF_LEVEL * most for level in levels):
        digits += 1
    said = [(level, f"{most * level / count:.{digits if level else 0}f}") for level in levels]
    return [(level, f"{one} {measure}".replace("mm2", "mm²") if level == count else one) for level, one in said]


def _words(root: Element, x: float, top: float, title: str, note: str) -> None:
    text(root, x, top + 14, title, 16, bold=True)
    text(root, x, top + 31, note, 12)


def _edges(root: Element, layout: Layout, view: View) -> None:
    """The true edges of the plate, its openings and its ribs over the shades."""
    scale, rise = number(view.scale, 6), number(view.rise, 6)
    group = node(root, "g", transform=f"matrix({scale} 0 0 {rise} {number(view.x, 4)} {number(view.y, 4)})")
    ribs = [rib.shape for rib in layout.ribs]
    for shape in (layout.plane, *(opening.shape for opening in layout.openings), *ribs):
        node(
            group,
            "path",
            d=path_of(shape),
            fill="none",
            stroke=COLOURS["ink"],
            stroke_width=number(1.1 / view.scale, 5),
        )


def _scale(root: Element, left: float, top: float, wide: float, field: Field, unit: Unit) -> None:
    """The shades side by side, with the figures between them."""
    figures = scale_figures(field, unit)
    count = len(field.regions)
    each = wide / count
    for level in range(count):
        node(
            root,
            "rect",
            x=left + each * level,
            y=top,
            width=each,
            height=10.0,
            fill=shade(level, count),
            stroke=COLOURS["soft"],
            stroke_width=0.4,
        )
    for level, said in figures:
        anchor = "start" if level == 0 else "end" if level == count else "middle"
        text(root, left + each * level, top + 23, said, 11, anchor=anchor)

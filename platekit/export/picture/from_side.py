"""The views from the side as one SVG figure: to scale, every part with its name, heights and distances dimensioned."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final
from xml.etree.ElementTree import Element

from platekit.drawing.dimensions import CAPITAL, DimensionFigure
from platekit.drawing.from_side import Kind, SideView, side_dimensions, side_names, side_views
from platekit.drawing.svg.drafting import draw_marks, picture_style
from platekit.drawing.svg.letters import letters
from platekit.drawing.svg.parts import COLOURS, FONT, PAPER, STEEL, Tone, fill, node, number, stroke, text, written
from platekit.drawing.view import View
from platekit.placed import Layout

WIDTH: Final = 1000.0
"""Width of the figure, sheet units (ours: a column of a page)."""
LEFT: Final = 24.0
NAMES: Final = 210.0
"""Room at the right for the names, sheet units (ours)."""
NAME: Final = 12.0
"""Size of the names, sheet units (ours)."""
BESIDE: Final = 60.0
"""From what is drawn to the names beside it, sheet units (ours: room for leaders that are slanted)."""
FIGURE: Final = 11.0
"""Size of the figures of dimensions, sheet units (ours: smaller than in the plan, they carry words)."""
STEP: Final = 18.0
"""Between two lines of words, sheet units (ours)."""
TALLEST: Final = 560.0
"""Greatest height of one view, sheet units (ours)."""
DOT: Final = 1.6
"""Radius of the dot with which a leader ends on its part, sheet units (ISO 128-22: a dot within the outline)."""
TONES: Final[dict[Kind, Tone]] = {"near": "near", "far": "far", "turning": "move", "belt": "ink", "screw": "soft"}


def side_text(layout: Layout) -> str:
    """The views as SVG text, the same for the same spec; empty where there is nothing to show."""
    views = side_views(layout)
    if not views:
        return ""
    root = node(None, "svg", xmlns="http://www.w3.org/2000/svg", class_="pk-side", font_family=FONT)
    root.set("role", "img")
    node(root, "title").text = "The plate from the side"
    ground = node(root, "rect", x=0.0, y=0.0, width=WIDTH, fill=PAPER, class_="pk-ground")
    bottom = draw_views(root, views, 10.0)
    ground.set("height", number(bottom))
    root.set("viewBox", f"0 0 {number(WIDTH)} {number(bottom)}")
    root.set("width", number(WIDTH))
    root.set("height", number(bottom))
    return written(root) + "\n"


def draw_views(root: Element, views: Sequence[SideView], top: float) -> float:
    """All the views below `top`, one below the other; gives back the y below them, sheet units."""
    for view in views:
        top = _draw(root, view, top + 24)
    return top


def _draw(root: Element, view: SideView, top: float) -> float:
    """One view below `top`; gives back the y below it."""
    box = view.box
    ladder = STEP * len(view.heights)
    left = LEFT + ladder
    scale = min((WIDTH - left - NAMES - 30) / max(box.width, 1.0), TALLEST / max(box.height, 1.0))
    head = top + 14
    at = View(scale, left + 10 - box.x0 * scale, head + 12 + box.y1 * scale, down=True).at
    text(root, LEFT, top, view.title, 17, bold=True)
    corner, far = at((view.plate.x0, view.plate.y1)), at((view.plate.x1, view.plate.y0))
    node(
        root,
        "rect",
        x=corner[0],
        y=corner[1],
        width=far[0] - corner[0],
        height=far[1] - corner[1],
        fill=STEEL,
        stroke_width=1.6,
        stroke=COLOURS["ink"],
        class_="pk-line-ink",
    )
    for part in view.parts:
        for outlines, dashed in ((part.moved, True), (part.outlines, False)):
            for outline in outlines:
                points = [at(p) for p in outline]
                first, *rest = (f"{number(x, 2)} {number(y, 2)}" for x, y in points)
                line = node(root, "path", d=f"M{first}L{' '.join(rest)}Z", **stroke(TONES[part.kind]))
                line.set("stroke-width", "0.7" if dashed or part.kind == "screw" else "1.3")
                if dashed:
                    line.set("stroke-dasharray", "4 3")
    x = min(WIDTH - NAMES, at((box.x1, 0))[0] + BESIDE)
    room = (head + 6, max(at((0, box.y0))[1], head + 6 + STEP * len(view.named)))
    high = CAPITAL * NAME
    named = side_names(view, at, STEP * 0.85, room, x - 4, letters(NAME), high)
    for spot, name in named.within:
        text(root, spot[0], spot[1] + high / 2, name, NAME, anchor="middle")
    for spot, y, name in named.beside:
        node(root, "line", x1=spot[0], y1=spot[1], x2=x - 4, y2=y, **stroke("soft", 0.5))
        node(root, "circle", cx=spot[0], cy=spot[1], r=DOT, **fill("soft"))
        text(root, x, y + 4, name, NAME)
    lowest = max((y for _, y, _ in named.beside), default=None)
    marks, bottom = side_dimensions(picture_style(FIGURE), view, at, left, STEP, WIDTH - LEFT, lowest)
    # words last and on the ground: where many distances are told, lines of others run through them
    draw_marks(root, [mark for mark in marks if not isinstance(mark, DimensionFigure)])
    for mark in marks:
        if isinstance(mark, DimensionFigure):
            if not mark.upright:
                words = mark.box
                patch = node(root, "rect", x=words.x0, y=words.y0, width=words.width, height=words.height, fill=PAPER)
                patch.set("class", "pk-ground")
            draw_marks(root, [mark])
    for index, measure in enumerate(view.heights):
        text(root, LEFT, bottom + 12 + index * 15, f"{index + 1}: {measure.words}", 12)
    return bottom + 12 + 15 * len(view.heights)

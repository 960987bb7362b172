"""The views from the side as one SVG figure: to scale, every part with its name, heights and distances dimensioned."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final
from xml.etree.ElementTree import Element

from platekit.drawing.from_side import Kind, SideView, side_views, spread
from platekit.drawing.svg.parts import COLOURS, FONT, PAPER, STEEL, Tone, node, number, stroke, text, written
from platekit.drawing.view import View
from platekit.geometry import Point
from platekit.placed import Layout

WIDTH: Final = 1000.0
"""Width of the figure, sheet units (ours: a column of a page)."""
LEFT: Final = 24.0
NAMES: Final = 210.0
"""Room at the right for the names, sheet units (ours)."""
STEP: Final = 18.0
"""Between two lines of words, sheet units (ours)."""
TALLEST: Final = 560.0
"""Greatest height of one view, sheet units (ours)."""
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
    bottom = 10.0
    for view in views:
        bottom = _draw(root, view, bottom + 24)
    ground.set("height", number(bottom))
    root.set("viewBox", f"0 0 {number(WIDTH)} {number(bottom)}")
    root.set("width", number(WIDTH))
    root.set("height", number(bottom))
    return written(root) + "\n"


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
    _names(root, view, at, head)
    for index, measure in enumerate(view.heights):
        x = LEFT + 12 + STEP * index
        (_, y0), (_, y1) = at((0, measure.high)), at((0, measure.low))
        _ladder(root, x, y0, y1, str(index + 1), left)
    bottom = at((0, box.y0))[1] + 16
    for start, stop, words in view.along:
        (x0, _), (x1, _) = at((start, 0)), at((stop, 0))
        node(root, "line", x1=x0, y1=bottom, x2=x1, y2=bottom, **stroke("soft", 0.8))
        for x in (x0, x1):
            node(root, "line", x1=x, y1=bottom - 5, x2=x, y2=bottom + 5, **stroke("soft", 0.8))
        text(root, (x0 + x1) / 2, bottom + 14, words, 12, anchor="middle")
        bottom += 26
    for index, measure in enumerate(view.heights):
        text(root, LEFT, bottom + 12 + index * 15, f"{index + 1}: {measure.words}", 12)
    return bottom + 12 + 15 * len(view.heights)


def _ladder(root: Element, x: float, y0: float, y1: float, count: str, right: float) -> None:
    """A height at the left of the view, with a thin line to it; its words stand below the view by its number."""
    node(root, "line", x1=x, y1=y0, x2=x, y2=y1, **stroke("soft", 0.8))
    for y in (y0, y1):
        node(root, "line", x1=x - 4, y1=y, x2=x + 4, y2=y, **stroke("soft", 0.8))
        thin = node(root, "line", x1=x + 4, y1=y, x2=right + 8, y2=y, **stroke("soft", 0.3))
        thin.set("stroke-dasharray", "1 4")
    text(root, x, min(y0, y1) - 4, count, 11, anchor="middle")


def _names(root: Element, view: SideView, at: Callable[[Point], Point], head: float) -> None:
    spots = [(at(spot), name) for spot, name in view.named]
    heights = spread([-spot[1] for spot, _ in spots], STEP * 0.85, -head - 6)
    for (spot, name), y in zip(spots, (-height for height in heights), strict=True):
        x = WIDTH - NAMES
        node(root, "line", x1=spot[0], y1=spot[1], x2=x - 4, y2=y, **stroke("soft", 0.5))
        text(root, x, y + 4, name, 12)

"""The parts that a picture is put together from: elements, layers, exact paths, text of known width, finding marks.

    sheet     the picture in sheet units: x right, y down, `WIDTH` wide
    layer     a group that the report can switch on and off

Elements are built as a tree and written by the standard library, so that whatever the user typed is escaped. A colour
stands on each element as a plain attribute, for any reader; the class beside it lets the report restyle it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from functools import cache
from typing import Final, Literal
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

from platekit.checks.finding import Level
from platekit.drawing.svg.letters import in_one_face, text_width
from platekit.drawing.view import View
from platekit.geometry import Arc, Box, Edge, Shape

WIDTH: Final = 1000.0
"""Width of the sheet, sheet units (ours: a column of a page)."""
PAD: Final = 16.0
"""Rim of the sheet that words keep free, sheet units (ours)."""
FONT: Final = "Helvetica, Arial, 'Liberation Sans', 'Nimbus Sans', sans-serif"
PAPER: Final = "#ffffff"
STEEL: Final = "#dde1e6"
Tone = Literal["ink", "soft", "near", "far", "move", "stop", "warn", "note", "clear"]
COLOURS: Final[dict[Tone, str]] = {
    "ink": "#15181d",
    "soft": "#4d5661",
    "near": "#0b4a8f",
    "far": "#8a4510",
    "move": "#5b2a86",
    "stop": "#9d1322",
    "warn": "#8a5a00",
    "note": "#2f5d80",
    "clear": "#176b37",
}
"""A tone's colour on white paper; elements also carry `pk-line-TONE` or `pk-fill-TONE` for other grounds."""
LEVEL_WORDS: Final[dict[Level, str]] = {"stop": "stop", "warn": "warning", "note": "note"}
MARK: Final = 12.0
"""Half the size of a finding's mark, sheet units (ours: readable at arm's length)."""


def node(parent: Element | None, tag: str, **attributes: str | float) -> Element:
    """A new element under `parent`. `class_` stands for class, `stroke_width` for stroke-width."""
    named = {
        name.rstrip("_").replace("_", "-"): value if isinstance(value, str) else number(value)
        for name, value in attributes.items()
    }
    clean = {name: clean_text(value) for name, value in named.items()}
    # the one name in SVG with a capital; keywords of ours are written in lower case
    if "viewbox" in clean:
        clean["viewBox"] = clean.pop("viewbox")
    if parent is None:
        return Element(tag, clean)
    return ElementTree.SubElement(parent, tag, clean)


def stroke(tone: Tone, width: float | None = None) -> dict[str, str]:
    """The attributes of a line in that tone; without `width` it keeps its layer's."""
    given = {"fill": "none", "stroke": COLOURS[tone], "class_": f"pk-line-{tone}"}
    return given if width is None else given | {"stroke_width": number(width)}


def fill(tone: Tone) -> dict[str, str]:
    """The attributes of an area in that tone."""
    return {"fill": COLOURS[tone], "class_": f"pk-fill-{tone}"}


def written(root: Element) -> str:
    """The element tree as text."""
    return ElementTree.tostring(root, encoding="unicode")


def clean_text(text: str) -> str:
    """The text without characters that XML cannot hold."""
    # nearly every text; the pattern takes a while to compile
    return text if text.isprintable() else _not_xml().sub("\ufffd", text)


@cache
def _not_xml() -> re.Pattern[str]:
    return re.compile("[^\t\n\r -\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def number(value: float, digits: int = 2) -> str:
    """A figure as short as it can be written.

    >>> number(2.50), number(-0.001)
    ('2.5', '0')
    """
    # every figure is rounded here, so that bytes do not hang on the last bits of a processor
    text = f"{value:.{digits}f}".rstrip("0").rstrip(".") if digits else f"{value:.0f}"
    return "0" if text in {"-0", ""} else text


def identifier(kind: str, name: str) -> str:
    """An id for a feature: letters, digits, dots and dashes stay, anything else becomes its code.

    >>> identifier("body", "oil cup")
    'pk-body-oil_20_cup'
    """
    safe = re.sub(r"[^A-Za-z0-9.-]", lambda sign: f"_{ord(sign[0]):x}_", name)
    return f"pk-{kind}-{safe}"


def way_of(view: View) -> str:
    """The transform of a group whose frame is the plate's own (mm, y up)."""
    scale, rise = number(view.scale, 6), number(view.rise, 6)
    return f"matrix({scale} 0 0 {rise} {number(view.x, 4)} {number(view.y, 4)})"


def new_layer(parent: Element, name: str, view: View | None = None, width: float = 1.0, switch: str = "") -> Element:
    """A layer; with a view, one in the plate's own frame whose lines are `width` sheet units wide."""
    layer = node(parent, "g", id=f"pk-layer-{name}", class_="pk-layer", data_layer=switch or name)
    if view is not None:
        layer.set("stroke-width", number(width / view.scale, 6))
        layer.set("fill", "none")
    return layer


def dashes(view: View, *lengths: float) -> str:
    """Dashes and gaps in sheet units, for a line in the plate's own frame."""
    return " ".join(number(length / view.scale, 5) for length in lengths)


def tooltip(element: Element, say: str) -> None:
    """What a browser says when the pointer rests on the element."""
    node(element, "title").text = say


def ground(layer: Element, box: Box, opacity: float) -> Element:
    """A patch of paper that lets words stand out from the lines below; `box` in sheet units."""
    return node(
        layer,
        "rect",
        x=box.x0,
        y=box.y0,
        width=box.width,
        height=box.height,
        rx=2,
        fill=PAPER,
        fill_opacity=opacity,
        class_="pk-ground",
    )


def path_of(shape: Shape) -> str:
    """The exact outline as path data in the shape's own frame (mm): lines and true arcs, nothing else."""
    edges = shape.loop().edges
    start = edges[0].a
    return f"M{_point(start)}{''.join(map(_step, edges))}Z"


def run_of(edges: Sequence[Edge]) -> str:
    """An open run of edges as path data, exact like `path_of`."""
    return f"M{_point(edges[0].a)}{''.join(map(_step, edges))}"


def arc_to(edge: Arc) -> str:
    """Path data of one arc; one of more than half a turn is given in two pieces."""
    # an arc flag tells the short way from the long one, and at half a turn both are as long: rounding would choose
    if abs(edge.sweep) <= math.pi * (1 + 1e-9):
        return _arc_piece(edge, edge.b)
    return _arc_piece(edge, edge.at(0.5)) + _arc_piece(edge, edge.b)


def _arc_piece(edge: Arc, end: tuple[float, float]) -> str:
    radius = number(edge.radius, 6)
    # The picture's y axis points up inside the steel's own group, so counter-clockwise is "positive" there.
    return f"A{radius} {radius} 0 0 {1 if edge.sweep > 0 else 0} {_point(end)}"


def _step(edge: Edge) -> str:
    return arc_to(edge) if isinstance(edge, Arc) else f"L{_point(edge.b)}"


def _point(point: tuple[float, float]) -> str:
    return f"{number(point[0], 6)} {number(point[1], 6)}"


def text(
    parent: Element,
    x: float,
    y: float,
    say: str,
    size: float,
    *,
    bold: bool = False,
    anchor: str = "start",
    tone: Tone | Literal["paper"] = "ink",
) -> Element:
    """One line of text, its baseline at `y` (sheet units); as wide as `text_width` says in any face."""
    say = clean_text(say)
    look = {"fill": PAPER, "class_": "pk-on-stop"} if tone == "paper" else fill(tone)
    element = node(parent, "text", x=x, y=y, font_size=size, **look)
    if anchor != "start":
        element.set("text-anchor", anchor)
    if bold:
        element.set("font-weight", "bold")
    # labels are placed by the widths of one typeface; where the reader has another, the line is stretched to the room
    # that was kept for it. Not for other scripts, whose signs would be torn apart
    if len(say) > 1 and in_one_face(say):
        element.set("textLength", number(text_width(say, size, bold), 1))
        element.set("lengthAdjust", "spacingAndGlyphs")
    element.text = say
    return element


def finding_mark(parent: Element, level: Level, shown: str, x: float, y: float, accepted: bool = False) -> Element:
    """A finding's mark with its number: eight corners stop, three warn, a circle notes; dashed when accepted."""
    colour = COLOURS[level]
    group = node(parent, "g", class_=f"pk-mark pk-{level}{' pk-accepted' if accepted else ''}")
    solid = level == "stop" and not accepted
    common: dict[str, str | float] = {
        "fill": colour if solid else PAPER,
        "stroke": colour,
        "stroke_width": 2.2 if level != "note" else 1.6,
        "class_": "pk-mark-shape",
    }
    if accepted:
        common["stroke_dasharray"] = "3 2"
    if level == "note":
        node(group, "circle", cx=x, cy=y, r=MARK - 1, **common)
    else:
        if level == "stop":
            angles = [math.pi / 8 + k * math.pi / 4 for k in range(8)]
            points = [(x + MARK * math.cos(a), y + MARK * math.sin(a)) for a in angles]
        else:
            points = [(x, y - MARK), (x + MARK * 1.1, y + MARK * 0.85), (x - MARK * 1.1, y + MARK * 0.85)]
        node(
            group,
            "polygon",
            points=" ".join(f"{number(px)},{number(py)}" for px, py in points),
            stroke_linejoin="round",
            **common,
        )
    # a triangle has least room towards its top: the figure stands a little lower, and is smaller
    size = 14.0 if len(shown) == 1 else 12.0 if len(shown) == 2 else 9.5
    if level == "warn":
        size -= 2.0
    drop = size * 0.36 + (2.5 if level == "warn" else 0.0)
    text(group, x, y + drop, shown, size, bold=True, anchor="middle", tone="paper" if solid else "ink")
    return group

"""What the signs of the drawing mean, and a bar that tells how large it is; only signs that the drawing has."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final
from xml.etree.ElementTree import Element

from platekit.checks.finding import Level
from platekit.drawing.sizes import figure
from platekit.drawing.svg.letters import text_width
from platekit.drawing.svg.parts import COLOURS, PAD, PAPER, STEEL, WIDTH, fill, finding_mark, node, stroke, text
from platekit.export.picture.dimensions import zero_sign
from platekit.export.picture.drawing import DrawnPicture
from platekit.placed import Layout, Side
from platekit.units import INCH, Unit

SCALE_BARS: Final[dict[Unit, tuple[float, ...]]] = {
    "mm": (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000, 20_000),
    "in": tuple(INCH * inches for inches in (0.125, 0.25, 0.5, 1, 2, 4, 6, 12, 24, 48, 120, 240, 480)),
}
"""Lengths that a scale bar may stand for, mm: even figures in the unit of the spec."""
LONGEST_BAR: Final = 190.0
ROW: Final = 28.0
WIDE: Final = 36.0
HIGH: Final = 18.0
"""Longest scale bar, height of a row, size of a sign, sheet units (ours)."""


def legend(sheet: Element, drawing: DrawnPicture, shown: frozenset[str], layout: Layout, y: float) -> float:
    """Draws the legend of the signs in `shown` from `y` on; gives back how far down it reaches, sheet units."""
    group = node(sheet, "g", id="pk-legend")
    node(group, "line", x1=PAD, y1=y, x2=WIDTH - PAD, y2=y, **stroke("soft", 0.8))
    bar_left, bar_bottom = _scale_bar(group, drawing, layout, y)
    x, y = PAD, y + 26
    for key, (words, draw) in _SIGNS.items():
        if key not in shown:
            continue
        wide = 46 + text_width(words, 13) + 22
        if x + wide > bar_left - 10:
            x, y = PAD, y + ROW
        draw(group, x, y)
        text(group, x + 44, y + 4.5, words, 13)
        x += wide
    return max(y + 22, bar_bottom)


def _scale_bar(group: Element, drawing: DrawnPicture, layout: Layout, y: float) -> tuple[float, float]:
    """The bar, at the right; gives back where it begins and how far down it reaches."""
    unit = layout.spec.unit
    bars = SCALE_BARS[unit]
    long = max((bar for bar in bars if bar * drawing.scale <= LONGEST_BAR), default=bars[0])
    wide = long * drawing.scale
    left, top = WIDTH - PAD - max(wide, 150), y + 16
    for quarter in range(4):
        dark = quarter % 2 == 0
        look = {"fill": COLOURS["ink"] if dark else PAPER, "class_": "pk-bar-dark" if dark else "pk-bar-light"}
        piece = node(group, "rect", x=left + quarter * wide / 4, y=top, width=wide / 4, height=7, **look)
        piece.set("stroke", COLOURS["ink"])
    text(group, left, top + 24, f"{figure(long, unit)} {unit} in the plate", 13)
    text(group, left, top + 40, "do not measure from it", 11, tone="soft")
    return left, top + 50


def _plate(group: Element, x: float, y: float) -> None:
    look = {"fill": STEEL, "stroke": COLOURS["ink"], "class_": "pk-plate"}
    node(group, "rect", x=x, y=y - HIGH / 2, width=WIDE, height=HIGH, **look)
    _hole(group, x, y, 5.5)


def _hole(group: Element, x: float, y: float, radius: float) -> None:
    look = {"fill": PAPER, "stroke": COLOURS["ink"], "class_": "pk-opening"}
    node(group, "circle", cx=x + WIDE / 2, cy=y, r=radius, **look)


def _punch(group: Element, x: float, y: float) -> None:
    _hole(group, x, y, 6.5)
    node(group, "path", d=f"M{x + 7:g} {y:g}h22M{x + 18:g} {y - 10:g}v20", **stroke("ink", 1))


def _mouth(group: Element, x: float, y: float) -> None:
    sides: tuple[Side, ...] = ("near", "far")
    for step, side in enumerate(sides):
        middle = x + 9 + 19 * step
        ring = node(group, "circle", cx=middle, cy=y, r=8, **stroke("ink", 0.9))
        if side == "far":
            ring.set("stroke-dasharray", "4 2.5")
        look = {"fill": PAPER, "stroke": COLOURS["ink"], "class_": "pk-opening"}
        node(group, "circle", cx=middle, cy=y, r=4.2, **look)


def _scribed(group: Element, x: float, y: float) -> None:
    node(
        group,
        "path",
        d=f"M{x + 5:g} {y + 7:g}l5 -14l5 14m-8.5 -5h7M{x + 21:g} {y + 7:g}v-14h9m-9 7h6",
        **stroke("ink", 0.9),
    )


def _near(group: Element, x: float, y: float) -> None:
    strokes = "".join(f"M{x + 5 + 5 * step:g} {y + 7:g}l6 -7" for step in range(5))
    node(group, "path", d=strokes, **stroke("near", 1.9))
    node(group, "rect", x=x, y=y - HIGH / 2, width=WIDE, height=HIGH, **stroke("near", 1.7))


def _far(group: Element, x: float, y: float) -> None:
    for step in range(6):
        node(group, "circle", cx=x + 5 + 5 * step, cy=y + 4, r=1.2, **fill("far"))
    box = node(group, "rect", x=x, y=y - HIGH / 2, width=WIDE, height=HIGH, **stroke("far", 1.7))
    box.set("stroke-dasharray", "9 4")


def _screws(group: Element, x: float, y: float) -> None:
    sides: tuple[Side, ...] = ("near", "far")
    for step, side in enumerate(sides):
        ring = node(group, "circle", cx=x + 9 + 18 * step, cy=y, r=7, **stroke(side, 1))
        if side == "far":
            ring.set("stroke-dasharray", "4 2.5")


def _travel(group: Element, x: float, y: float) -> None:
    for dy, dashes in ((-5, "10 3 2 3"), (5, "3 3")):
        line = node(group, "path", d=f"M{x:g} {y + dy:g}h{WIDE:g}", **stroke("move", 1.4))
        line.set("stroke-dasharray", dashes)


def _mark(level: Level, accepted: bool = False) -> Callable[[Element, float, float], None]:
    def draw(group: Element, x: float, y: float) -> None:
        finding_mark(group, level, "1", x + WIDE / 2, y, accepted)

    return draw


def _zero(group: Element, x: float, y: float) -> None:
    zero_sign(group, x + WIDE / 2, y)


_SIGNS: Final[dict[str, tuple[str, Callable[[Element, float, float], None]]]] = {
    "plate": ("steel, and what is cut out", _plate),
    "zero": ("zero of a part's own figures", _zero),
    "punch": ("marked only, drilled later", _punch),
    "mouth": ("head let in, near and far side", _mouth),
    "scribed": ("words scribed by the table", _scribed),
    "near": ("part on the near side", _near),
    "far": ("part on the far side, hidden", _far),
    "screws": ("room for screw, washer, nut", _screws),
    "travel": ("where it moves: belt on, tight", _travel),
    "stop": ("stop", _mark("stop")),
    "warn": ("warning", _mark("warn")),
    "note": ("note", _mark("note")),
    "accepted": ("accepted in the spec", _mark("warn", accepted=True)),
}
"""What may need explaining, with its words and how its sign is drawn; `x` is the left of the sign, `y` its middle."""

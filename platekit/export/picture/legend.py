"""What the signs of the drawing mean, and a bar that tells how large it is; only signs that the drawing has."""

from __future__ import annotations

from typing import Final
from xml.etree.ElementTree import Element

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
    # The bar at the right: it tells how large the picture is, not how large it will be printed.
    unit = layout.spec.unit
    bars = SCALE_BARS[unit]
    long = max((bar for bar in bars if bar * drawing.scale <= LONGEST_BAR), default=bars[0])
    bar = long * drawing.scale
    left, top = WIDTH - PAD - max(bar, 150), y + 16
    for quarter in range(4):
        dark = quarter % 2 == 0
        look = {"fill": COLOURS["ink"] if dark else PAPER, "class_": "pk-bar-dark" if dark else "pk-bar-light"}
        piece = node(group, "rect", x=left + quarter * bar / 4, y=top, width=bar / 4, height=7, **look)
        piece.set("stroke", COLOURS["ink"])
    text(group, left, top + 24, f"{figure(long, unit)} {unit} on the plate", 13)
    text(group, left, top + 40, "do not measure from it", 11, tone="soft")
    # The signs in rows, broken where the next would run into the bar.
    x, y = PAD, y + 26
    for key, words in SIGNS.items():
        if key not in shown:
            continue
        wide = 46 + text_width(words, 13) + 22
        if x + wide > left - 10:
            x, y = PAD, y + ROW
        draw_sign(group, key, x, y)
        text(group, x + 44, y + 4.5, words, 13)
        x += wide
    return max(y + 22, top + 50)


def draw_sign(group: Element, key: str, x: float, y: float) -> None:
    """Draws one sign of the legend; `x` is the left of it, `y` its middle, sheet units.

    Each is a small piece of the drawing itself, with the drawing's own strokes, so that the two cannot part ways.
    """
    middle = x + WIDE / 2
    sides: tuple[Side, ...] = ("near", "far")
    opening = {"fill": PAPER, "stroke": COLOURS["ink"], "class_": "pk-opening"}
    around = {"x": x, "y": y - HIGH / 2, "width": WIDE, "height": HIGH}
    match key:
        case "plate":
            node(group, "rect", **around, fill=STEEL, stroke=COLOURS["ink"], class_="pk-plate")
            node(group, "circle", cx=middle, cy=y, r=5.5, **opening)
        case "zero":
            zero_sign(group, middle, y)
        case "punch":
            node(group, "circle", cx=middle, cy=y, r=6.5, **opening)
            node(group, "path", d=f"M{x + 7:g} {y:g}h22M{x + 18:g} {y - 10:g}v20", **stroke("ink", 1))
        case "mouth":
            for step, side in enumerate(sides):
                ring = node(group, "circle", cx=x + 9 + 19 * step, cy=y, r=8, **stroke("ink", 0.9))
                if side == "far":  # dashed, as all that is hidden
                    ring.set("stroke-dasharray", "4 2.5")
                node(group, "circle", cx=x + 9 + 19 * step, cy=y, r=4.2, **opening)
        case "scribed":
            letters = f"M{x + 5:g} {y + 7:g}l5 -14l5 14m-8.5 -5h7M{x + 21:g} {y + 7:g}v-14h9m-9 7h6"
            node(group, "path", d=letters, **stroke("ink", 0.9))
        case "near":
            # hatched, and the far side dotted: which side is which must not hang on a colour
            strokes = "".join(f"M{x + 5 + 5 * step:g} {y + 7:g}l6 -7" for step in range(5))
            node(group, "path", d=strokes, **stroke("near", 1.9))
            node(group, "rect", **around, **stroke("near", 1.7))
        case "far":
            for step in range(6):
                node(group, "circle", cx=x + 5 + 5 * step, cy=y + 4, r=1.2, **fill("far"))
            node(group, "rect", **around, **stroke("far", 1.7)).set("stroke-dasharray", "9 4")
        case "screws":
            for step, side in enumerate(sides):
                ring = node(group, "circle", cx=x + 9 + 18 * step, cy=y, r=7, **stroke(side, 1))
                if side == "far":
                    ring.set("stroke-dasharray", "4 2.5")
        case "travel":
            for dy, dashes in ((-5, "10 3 2 3"), (5, "3 3")):
                line = node(group, "path", d=f"M{x:g} {y + dy:g}h{WIDE:g}", **stroke("move", 1.4))
                line.set("stroke-dasharray", dashes)
        case "stop" | "warn" | "note":
            finding_mark(group, key, "1", middle, y, False)
        case "accepted":
            finding_mark(group, "warn", "1", middle, y, True)


SIGNS: Final = {
    "plate": "steel, and what is cut out",
    "zero": "zero (datum) of a part's figures",
    "punch": "marked only, drilled later",
    "mouth": "recessed head, near and far side",
    "scribed": "scribed by the table",
    "near": "part on the near side",
    "far": "part on the far side, hidden",
    "screws": "room for screw, washer, nut",
    "travel": "where it moves: belt on, tight",
    "stop": "stop",
    "warn": "warning",
    "note": "note",
    "accepted": "accepted in the spec",
}
"""What may need explaining, in the order of the legend, with its words."""

"""A family of plates in one picture: each variant a mark at its mass and at what it costs.

What may be cut is a disc, a ring where it has warnings; what is stopped is a cross: the kinds differ in shape, so the
picture reads in black and white. Across is the mass; upward the cost, or the time of cutting where no prices are known,
or else the plate's area. Below stand the best, by number, in words.
"""

from __future__ import annotations

from typing import Final
from xml.etree.ElementTree import Element

from platekit.drawing.svg.foot import caution_foot
from platekit.drawing.svg.letters import letters
from platekit.drawing.svg.parts import COLOURS, FONT, PAD, PAPER, WIDTH, node, number, stroke, text, tooltip, written
from platekit.drawing.text import wrapped
from platekit.export.picture.drive_chart import round_above, ticks
from platekit.export.text.sweep import MINUTE, figures_said, said
from platekit.studies.sweep import Swept, Variant

PICTURE: Final = ".sweep.svg"
"""Ending of the picture's name."""
TOP: Final = 96.0
HIGH: Final = 380.0
"""Height of the field, sheet units (ours)."""
LEFT: Final = 92.0
DOT: Final = 6.0
"""Radius of a mark, sheet units (ours: as large as its number's letters)."""
LISTED: Final = 12
"""Variants that are numbered in the field and told in words below it (ours)."""
NUMBER_HIGH = 14.0
"""From one number to the next above it, in sheet units (ours)."""


def sweep_svg(swept: Swept) -> str:
    """The picture as SVG text; the same sweep gives the same text."""
    spec = swept.spec
    root = node(None, "svg", xmlns="http://www.w3.org/2000/svg", font_family=FONT, role="img")
    node(root, "title").text = f"{spec.title}: a family of plates"
    paper = node(root, "rect", width=WIDTH, fill=PAPER)
    text(root, PAD, 32, f"{spec.title}: {len(swept.variants)} of {swept.wanted} variants", 20, bold=True)
    text(root, WIDTH - PAD, 32, spec.name, 13, anchor="end", tone="soft")
    about = (
        f"over {', '.join(one.field for one in swept.over)}; disc: clear to cut, ring: with warnings, cross: stopped"
    )
    y = 38.0
    for line in wrapped(about, WIDTH - 2 * PAD, letters(13)):
        y += 17
        text(root, PAD, y, line, 13, tone="soft")
    top = max(TOP, y + 34)
    name, heights = _heights(swept)
    shown = [
        (v, v.mass, up) for v, up in zip(swept.variants, heights, strict=True) if v.mass is not None and up is not None
    ]
    bottom = top + HIGH
    right = round_above(max((mass for _, mass, _ in shown), default=1.0))
    high = round_above(max((up for _, _, up in shown), default=1.0))

    def at(mass: float, up: float) -> tuple[float, float]:
        return LEFT + (WIDTH - LEFT - 2 * PAD) * mass / right, bottom - HIGH * up / high

    text(root, PAD, top - 12, name, 13, bold=True)
    for value in ticks(high):
        _, level = at(0, value)
        node(
            root,
            "line",
            x1=LEFT,
            y1=level,
            x2=WIDTH - 2 * PAD,
            y2=level,
            **stroke("ink" if value == 0 else "soft", 0.7),
        )
        text(root, LEFT - 8, level + 4, number(value, 3), 12, anchor="end")
    for value in ticks(right):
        across, _ = at(value, 0)
        node(root, "line", x1=across, y1=bottom, x2=across, y2=bottom + 5, **stroke("ink", 1.0))
        text(root, across, bottom + 19, number(value, 3), 12, anchor="middle")
    text(root, WIDTH - 2 * PAD, bottom + 38, "mass of the plate, kg", 13, bold=True, anchor="end")

    best = swept.best[:LISTED]
    # crosses first, so that no plate that may be cut lies hidden under one that may not
    order = {"stop": 0, "clear": 1}
    taken: list[tuple[float, float]] = []
    for variant, mass, up in sorted(shown, key=lambda one: (order.get(one[0].state, 0), one[0].number)):
        _draw_mark(root, swept, variant, *at(mass, up))
    for variant, mass, up in shown:
        if variant not in best:
            continue
        x, level = at(mass, up)
        # plates of one mass and one cost share a mark; their numbers go up one above the other
        while any(abs(x - one) < 24 and abs(level - two) < NUMBER_HIGH - 0.5 for one, two in taken):
            level -= NUMBER_HIGH
        taken.append((x, level))
        if level > top - 6:
            text(root, x + DOT + 3, level + 4, str(variant.number), 12, bold=True)
    y = bottom + 62
    for variant in best:
        told = f"{variant.number}  {said(swept, variant)}: {figures_said(variant, spec.unit)}"
        for row, line in enumerate(wrapped(told, WIDTH - 2 * PAD, letters(13))):
            text(root, PAD if row == 0 else PAD + 22, y, line, 13, bold=False)
            y += 18
    if not best:
        text(root, PAD, y, "none of them may be cut", 13, bold=True)
        y += 18
    end = caution_foot(root, y + 4)
    root.set("viewBox", f"0 0 {number(WIDTH)} {number(end)}")
    paper.set("height", number(end))
    return written(root)


def _draw_mark(root: Element, swept: Swept, variant: Variant, x: float, y: float) -> None:
    group = node(root, "g")
    tooltip(group, f"{variant.number}: {said(swept, variant)}")
    if variant.state == "clear":
        filled = COLOURS["clear"] if not variant.warnings else PAPER
        node(group, "circle", cx=x, cy=y, r=DOT, **{**stroke("clear", 2.0), "fill": filled})
        return
    for lean in (1, -1):
        ends = {"x1": x - 5, "y1": y - 5 * lean, "x2": x + 5, "y2": y + 5 * lean}
        node(group, "line", **ends, **stroke("stop", 1.6))


def _heights(swept: Swept) -> tuple[str, list[float | None]]:
    """What stands upward, with its unit, and its figure for each variant."""
    costs = [variant.cost for variant in swept.variants]
    if any(cost is not None for cost in costs):
        currency = next(variant.currency for variant in swept.variants if variant.cost is not None)
        return f"cost, {currency or 'as in the machine file'}", costs
    times = [None if v.cutting_s is None else v.cutting_s / MINUTE for v in swept.variants]
    if any(time is not None for time in times):
        return "cutting, min", times
    return "steel, cm2", [None if v.area is None else v.area / 100 for v in swept.variants]

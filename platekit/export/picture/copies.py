"""The picture of the copies on their sheet or remnant: where each lies, how it is turned, what is left over."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, Final

from platekit.cutting.nest import Nest, nested
from platekit.drawing.svg.parts import COLOURS, PAPER, STEEL, node, number, path_of, stroke, text, written
from platekit.geometry import Box, Pose
from platekit.placed import Layout
from platekit.units import show_length

COPIES_SUFFIX: Final = ".copies.svg"
WIDTH: Final = 1000.0
MARGIN: Final = 24.0
HEAD: Final = 56.0
"""Size of the picture, sheet units (ours)."""


def wanted_copies(layout: Layout) -> Nest | None:
    """The copies as laid out, if the spec asks for more than one or names a remnant, and any found a place."""
    cutting = layout.model.cutting
    if cutting.copies == 1 and cutting.remnant is None:
        return None
    found = nested(layout)
    return found if found is not None and found.poses else None


def copies_svg(layout: Layout, found: Nest) -> str:
    """The picture as SVG; the same layout gives the same text."""
    unit = layout.spec.unit
    box = found.sheet.box
    scale = (WIDTH - 2 * MARGIN) / box.width
    height = HEAD + box.height * scale + MARGIN
    root = node(
        None,
        "svg",
        xmlns="http://www.w3.org/2000/svg",
        viewbox=f"0 0 {number(WIDTH)} {number(height)}",
        font_family="Helvetica, Arial, sans-serif",
    )
    node(root, "rect", width=WIDTH, height=height, fill=PAPER)
    what = "remnant" if found.remnant else "sheet"
    size = f"{show_length(box.width, unit)} x {show_length(box.height, unit)}"
    said = f"{layout.model.title}: {len(found.poses)} of {found.wanted} on a {what} of {size}"
    text(root, MARGIN, 24, said, 17, bold=True)
    apart = f"{show_length(found.gap, unit)} between finished edges, {show_length(found.edge_gap, unit)} to its edge"
    text(root, MARGIN, 44, f"{apart}; {100 * found.used:.0f} % of it becomes plates", 13)
    place = f"translate({number(MARGIN, 4)} {number(HEAD, 4)}) scale({number(scale, 6)} {number(-scale, 6)})"
    place += f" translate({number(-box.x0, 4)} {number(-box.y1, 4)})"
    steel = node(root, "g", transform=place)
    thin = 1.4 / scale
    node(steel, "path", d=path_of(found.sheet), **stroke("soft", thin))
    line = {"stroke": COLOURS["ink"], "stroke_width": number(thin, 6)}
    for pose in found.poses:
        node(steel, "path", d=path_of(layout.outline.moved(pose)), fill=STEEL, **line)
        for opening in layout.openings:
            if opening.through:
                node(steel, "path", d=path_of(opening.shape.moved(pose)), fill=PAPER, **line)
    for count, pose in enumerate(found.poses, start=1):
        x, y = _middle(layout, pose, box, scale)
        text(root, x, y, str(count), 20, bold=True, anchor="middle")
    return written(root)


def _middle(layout: Layout, pose: Pose, sheet: Box, scale: float) -> tuple[float, float]:
    x, y = layout.outline.moved(pose).box.center
    return (MARGIN + (x - sheet.x0) * scale, HEAD + (sheet.y1 - y) * scale + 7)


def copies_figures(layout: Layout) -> Mapping[str, Any] | None:
    """Where the copies lie, as figures; None where the spec asks for none."""
    found = wanted_copies(layout)
    if found is None:
        return None
    box = layout.outline.box
    return {
        "wanted": found.wanted,
        "fits": found.fits,
        "on": "remnant" if found.remnant else "sheet",
        "gap_mm": found.gap,
        "edge_gap_mm": found.edge_gap,
        "used_share": found.used,
        "places": [
            {
                "lower_left_of_the_plate_mm": pose.point((box.x0, box.y0)),
                "turn_deg": math.degrees(pose.turn),
                "box_mm": tuple(layout.outline.moved(pose).box),
            }
            for pose in found.poses
        ],
    }

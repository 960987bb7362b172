"""The picture of the copies on their sheet or remnant: where each lies, how it is turned, what is left over."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, Final

from platekit.drawing.svg.foot import caution_foot
from platekit.drawing.svg.parts import (
    COLOURS,
    FONT,
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
from platekit.drawing.view import View
from platekit.placed import Layout
from platekit.units import show_length

if TYPE_CHECKING:
    from platekit.cutting.nest import Nest

COPIES_SUFFIX: Final = ".copies.svg"
MARGIN: Final = 24.0
HEAD: Final = 56.0
"""Size of the picture, sheet units (ours)."""


def wanted_copies(layout: Layout) -> Nest | None:
    """The copies as laid out, if the spec asks for more than one or names a remnant, and any found a place."""
    cutting = layout.cutting
    if cutting.copies == 1 and cutting.remnant is None:
        return None
    from platekit.cutting.nest import nest  # only here: few plates are cut more than once

    found = nest(layout)
    return found if found is not None and found.poses else None


def copies_svg(layout: Layout, found: Nest) -> str:
    """The picture as SVG; the same layout gives the same text."""
    unit = layout.spec.unit
    box = found.sheet.box
    scale = (WIDTH - 2 * MARGIN) / box.width
    drawn = HEAD + box.height * scale + MARGIN
    root = node(
        None,
        "svg",
        xmlns="http://www.w3.org/2000/svg",
        data_revision=layout.spec.revision,
        font_family=FONT,
    )
    paper = node(root, "rect", width=WIDTH, fill=PAPER)
    what = "remnant" if found.remnant else "sheet"
    size = f"{show_length(box.width, unit)} x {show_length(box.height, unit)}"
    said = f"{layout.title}: {len(found.poses)} of {found.wanted} nested on a {what} of {size}"
    text(root, MARGIN, 24, said, 17, bold=True)
    apart = f"{show_length(found.gap, unit)} between finished edges, {show_length(found.edge_gap, unit)} to its edge"
    text(root, MARGIN, 44, f"{apart}; material used: {100 * found.used:.0f} %", 13)
    text(root, WIDTH - MARGIN, 44, f"{layout.spec.name}, revision {layout.spec.revision}", 13, anchor="end")
    view = View(scale, MARGIN - box.x0 * scale, HEAD + box.y1 * scale, down=True)
    steel = node(root, "g", transform=way_of(view))
    thin = 1.4 / scale
    node(steel, "path", d=path_of(found.sheet), **stroke("soft", thin))
    line = {"stroke": COLOURS["ink"], "stroke_width": number(thin, 6)}
    for pose in found.poses:
        node(steel, "path", d=path_of(layout.outline.moved(pose)), fill=STEEL, **line)
        for opening in layout.openings:
            if opening.through:
                node(steel, "path", d=path_of(opening.shape.moved(pose)), fill=PAPER, **line)
    for count, pose in enumerate(found.poses, start=1):
        x, y = view.at(layout.outline.moved(pose).box.center)
        text(root, x, y + 7, str(count), 20, bold=True, anchor="middle")
    bottom = caution_foot(root, drawn)
    root.set("viewBox", f"0 0 {number(WIDTH)} {number(bottom)}")
    paper.set("height", number(bottom))
    return written(root)


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

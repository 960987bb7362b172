"""What is drawn on the sheet round the steel: dimensions, zeros, the way of the travel, which way is up."""

from __future__ import annotations

import math
from typing import Final
from xml.etree.ElementTree import Element

from platekit.drawing.cautions import NOT_FOR_CUTTING
from platekit.drawing.dimensions import linear, over_all_ends, pointed
from platekit.drawing.sizes import figure
from platekit.drawing.svg.drafting import draw_marks, picture_style
from platekit.drawing.svg.letters import text_width
from platekit.drawing.svg.parts import (
    COLOURS,
    PAPER,
    fill,
    new_layer,
    node,
    number,
    stroke,
    text,
)
from platekit.drawing.svg.shown import amount, end_pose, mounts_of, zero_of
from platekit.drawing.view import View
from platekit.geometry import Box, Point, Swing, Travel
from platekit.placed import Layout, PlacedMount

MARGIN: Final = 10.0
"""Rim of the sheet that stays free, sheet units (ours)."""
BELOW: Final = 38.0
BESIDE: Final = 40.0
"""How far from what is drawn the over-all sizes stand, below and at the left, sheet units (ours: a row of names
between)."""
LEFTMOST: Final = 26.0
"""Where the over-all height stands at the least, sheet units (ours: room for its figure)."""
MOST_DISTANCES: Final = 12
"""Most distances between mounts that are shown (ours: more would not be readable)."""
ZERO_RING: Final = 6.0
"""Radius of the sign of a zero, sheet units (ours)."""
SAME_PLACE: Final = 1e-6
"""Two zeros closer than this are one, mm (ours)."""


def draw_over_all(group: Element, layout: Layout, view: View, edge: Box) -> list[Box]:
    """Over-all width below, over-all height at the left; gives back the room they take, in sheet units.

    `edge` is the room of plate and bodies on the sheet; the dimensions stand outside it.
    """
    layer = new_layer(group, "dimensions-over-all", switch="dimensions")
    outline, unit, style = layout.outline, layout.spec.unit, picture_style()
    plate, size = view.box(outline.box), outline.box
    left, right = (view.at((0.0, y))[1] for y in over_all_ends(outline, 0, min))
    low, high = (view.at((x, 0.0))[0] for x in over_all_ends(outline, 1, min))
    below, beside = edge.y1 + BELOW, max(edge.x0 - BESIDE, LEFTMOST)
    wide = linear(style, plate.x0, plate.x1, below, figure(size.width, unit), "level", (left, right))
    tall = linear(style, plate.y0, plate.y1, beside, figure(size.height, unit), "upright", (high, low))
    for dimension in (wide, tall):
        draw_marks(layer, dimension.marks)
    return [box for dimension in (wide, tall) for box in (*dimension.words, dimension.lines)]


def draw_distances(group: Element, layout: Layout, view: View) -> None:
    """A line between the zeros of each two mounts whose distance matters."""
    layer = new_layer(group, "dimensions-zeros", switch="dimensions")
    for one, other in distances(layout):
        a, b = view.at(zero_of(one)), view.at(zero_of(other))
        middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
        draw_marks(layer, [*pointed(picture_style(), middle, a), *pointed(picture_style(), middle, b)])


def distances(layout: Layout) -> tuple[tuple[PlacedMount, PlacedMount], ...]:
    """The pairs of mounts whose distance is shown: each with the one that it is measured from, if they are apart."""
    pairs = ((measured_from(layout, mount), mount) for mount in mounts_of(layout)[1 : MOST_DISTANCES + 1])
    return tuple(pair for pair in pairs if math.dist(zero_of(pair[0]), zero_of(pair[1])) > SAME_PLACE)


def measured_from(layout: Layout, mount: PlacedMount) -> PlacedMount:
    """The mount that this one's distance is shown from: the one its place is given from, else the first."""
    # a mount that hangs on a belt is placed by its length: its distance from the other shaft is told with the belt
    origin = mount.place_from if mount.belt_angle is None else None
    return layout.mounts[origin] if origin is not None else mounts_of(layout)[0]


def draw_travel(group: Element, layout: Layout, view: View) -> None:
    """An arrow along the way that each moving mount goes, and the pivot of a swing."""
    layer = new_layer(group, "travel-arrows", switch="travel")
    for mount in mounts_of(layout):
        travel = mount.travel
        if travel is None:
            continue
        start, nominal, end = travel_points(mount, travel, view)
        path = f"M{number(start[0])} {number(start[1])}"
        if isinstance(travel, Swing):
            radius = number(math.hypot(*(a - b for a, b in zip(nominal, view.at(travel.about), strict=True))))
            # y counts down in a picture, which turns every arc round
            sweep = 0 if travel.sense > 0 else 1
            for stop in (nominal, end):
                path += f"A{radius} {radius} 0 0 {sweep} {number(stop[0])} {number(stop[1])}"
            x, y = view.at(travel.about)
            node(layer, "circle", cx=x, cy=y, r=5, **stroke("move", 1.4))
            node(layer, "circle", cx=x, cy=y, r=1.6, **fill("move"))
        else:
            path += f"L{number(end[0])} {number(end[1])}"
        line = node(layer, "path", d=path, **stroke("move", 2.0))
        line.set("marker-end", "url(#pk-arrow-move)")
        if amount(travel, "install") > 0:
            line.set("marker-start", "url(#pk-arrow-move)")


def travel_points(mount: PlacedMount, travel: Travel, view: View) -> tuple[Point, Point, Point]:
    """Where a mount is at `install`, nominal and `tension`, in sheet units."""
    # The point whose travel is drawn: the mount's zero, or a hole where the zero is the pivot itself
    points = (zero_of(mount), *mount.points)
    if not isinstance(travel, Swing):
        point = points[0]
    else:
        x, y = travel.about
        point = next((p for p in points if math.hypot(p[0] - x, p[1] - y) > 1.0), points[0])
    start = end_pose(travel, "install").point(point)
    end = end_pose(travel, "tension").point(point)
    return view.at(start), view.at(point), view.at(end)


def zero_sign(group: Element, x: float, y: float) -> None:
    """The sign of a zero, as on paper: a ring with two filled quarters, and long cross strokes; sheet units."""
    node(group, "path", d=f"M{x - 11:g} {y:g}H{x + 11:g}M{x:g} {y - 11:g}V{y + 11:g}", **stroke("ink", 1.1))
    ring = node(group, "circle", cx=x, cy=y, r=ZERO_RING, **stroke("ink", 1.4))
    ring.set("fill", PAPER)
    ring.set("class", "pk-zero-sign")
    quarters = f"M{x:g} {y:g}h{ZERO_RING:g}a{ZERO_RING:g} {ZERO_RING:g} 0 0 0 {-ZERO_RING:g} {-ZERO_RING:g}z"
    quarters += f"M{x:g} {y:g}h{-ZERO_RING:g}a{ZERO_RING:g} {ZERO_RING:g} 0 0 0 {ZERO_RING:g} {ZERO_RING:g}z"
    node(group, "path", d=quarters, **fill("ink"))


def draw_zeros(group: Element, layout: Layout, view: View) -> None:
    """The zero point of each mount."""
    layer = new_layer(group, "zeros", switch="names")
    for mount in mounts_of(layout):
        x, y = (number(value) for value in view.at(zero_of(mount)))
        sign = node(layer, "g", data_feature=mount.name, class_="pk-zero", transform=f"translate({x} {y})")
        sign.set("data-zero-of", mount.name)
        zero_sign(sign, 0, 0)


def draw_orientation(group: Element, layout: Layout) -> list[Box]:
    """Which side is seen and which way is up; gives back the room it takes, sheet units."""
    layer = new_layer(group, "orientation", switch="plate")
    frame = Box(MARGIN, MARGIN, MARGIN + 196, MARGIN + 50)
    x = frame.x0 + 18
    arrow = f"M{x} {frame.y0 + 2}l14 20h-8V{frame.y1 - 2}h-12V{frame.y0 + 22}h-8Z"
    sign = node(layer, "path", d=arrow, **fill("ink"))
    turn = 90 - math.degrees(layout.up)
    if abs(turn) > 1e-6:
        sign.set("transform", f"rotate({number(turn)} {number(x)} {number((frame.y0 + frame.y1) / 2)})")
    text(layer, x + 24, frame.y0 + 20, "UP", 18, bold=True)
    text(layer, x + 24, frame.y0 + 42, "near side facing you", 15, bold=True)
    return [frame]


def draw_stamp(group: Element, edge: Box) -> None:
    """The stamp across a plate that must not be cut."""
    layer = new_layer(group, "stamp", switch="plate")
    x, y = (edge.x0 + edge.x1) / 2, (edge.y0 + edge.y1) / 2
    lean = math.degrees(math.atan2(edge.height, edge.width))
    lean = min(max(lean, 12.0), 40.0)
    size = min(0.92 * math.hypot(edge.width, edge.height) / text_width(NOT_FOR_CUTTING, 1, True), 84.0)
    words = text(layer, x, y + size * 0.36, NOT_FOR_CUTTING, size, bold=True, anchor="middle", tone="stop")
    words.set("class", "pk-stamp")
    words.set("fill", "none")
    words.set("stroke", COLOURS["stop"])
    words.set("stroke-width", "1.6")
    words.set("stroke-opacity", "0.4")
    words.set("transform", f"rotate({number(-lean)} {number(x)} {number(y)})")

"""What is drawn in the plate's own frame: steel, openings, bodies by side, screws, both ends of the travel.

All of it stands under one transform (mm, y up), so that every path is exact.

What is near and what is far is told three times: by the line (solid, dashed), by the hatch along the rim (strokes,
dots), by the tone. It reads in black and white.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final
from xml.etree.ElementTree import Element

from platekit.cutting import Operations
from platekit.cutting.heads import seats
from platekit.cutting.scribe import Scribed
from platekit.drawing.bending import bend_words
from platekit.drawing.sizes import figure, opening_size, pattern_size
from platekit.drawing.svg.parts import (
    COLOURS,
    PAPER,
    STEEL,
    dashes,
    fill,
    identifier,
    new_layer,
    node,
    number,
    path_of,
    run_of,
    stroke,
    tooltip,
    way_of,
)
from platekit.drawing.svg.shown import ENDS, amount, end_pose, mounts_of, parts, side_of, zero_of
from platekit.drawing.view import View
from platekit.geometry import Box, Disc, Shape, covers
from platekit.placed import Body, Layout, Side

RIM: Final = 10.0
"""Width of the hatched rim of a body, sheet units (ours)."""
RECESS_OPACITY: Final = "0.55"
"""How much a recess lightens the steel (ours): not through, so not white."""
MOUTH_LINE: Final = 0.9
"""Line round the mouth of a countersink or counterbore, sheet units (ours: thinner than a hole's)."""
MOST_SIFTED: Final = 60
"""Most moving bodies of a mount among which those inside others are looked for (ours: more would take long)."""
WORD_GAP: Final = 3.0
"""Air between scribed words and the centre lines that are broken for them, sheet units (ours)."""
CROSS_PAST: Final = 5.0
LONGEST_CROSS: Final = 22.0
"""How far a punch mark reaches past its hole, and from its middle at most, sheet units (ours)."""


def definitions(group: Element, view: View, edge: Box) -> None:
    """The hatches of both sides, the arrows, and the window beyond which nothing is drawn."""
    defs = node(group, "defs")
    unit = 1 / view.scale
    sides: tuple[Side, ...] = ("near", "far")
    for side in sides:
        pitch = (5.0 if side == "near" else 6.0) * unit
        pattern = node(
            defs,
            "pattern",
            id=f"pk-hatch-{side}",
            patternUnits="userSpaceOnUse",
            width=number(pitch, 6),
            height=number(pitch, 6),
            patternTransform="rotate(-50)" if side == "near" else "rotate(30)",
        )
        if side == "near":
            node(
                pattern,
                "path",
                d=f"M0 0V{number(pitch, 6)}",
                **stroke("near"),
                stroke_width=number(1.9 * unit, 6),
            )
        else:
            node(
                pattern,
                "circle",
                cx=number(pitch / 2, 6),
                cy=number(pitch / 2, 6),
                r=number(1.15 * unit, 6),
                **fill("far"),
            )
    window = edge.grown(3)
    clip = node(defs, "clipPath", id="pk-window")
    node(clip, "rect", x=window.x0, y=window.y0, width=window.width, height=window.height)
    arrow = node(
        defs,
        "marker",
        id="pk-arrow-move",
        viewbox="0 0 10 8",
        refX="10",
        refY="4",
        markerWidth="9",
        markerHeight="7.2",
        markerUnits="userSpaceOnUse",
        orient="auto-start-reverse",
    )
    node(arrow, "path", d="M0 0L10 4L0 8L2.4 4Z", **fill("move"))


def steel_group(group: Element, view: View) -> Element:
    """The group whose frame is the plate's own."""
    window = node(group, "g", clip_path="url(#pk-window)")
    return node(window, "g", id="pk-steel", transform=way_of(view))


def draw_plate(steel: Element, layout: Layout, view: View) -> None:
    """The steel, its holes not yet cut."""
    layer = new_layer(steel, "plate", view, 2.4)
    node(
        layer,
        "path",
        id="pk-outline",
        data_feature="outline",
        d=path_of(layout.outline),
        fill=STEEL,
        stroke=COLOURS["ink"],
        class_="pk-plate",
    )
    if layout.flange is not None:
        line = layout.flange.bend_line
        (ax, ay), (bx, by) = line.a, line.b
        path = node(layer, "path", d=f"M{number(ax)} {number(ay)}L{number(bx)} {number(by)}", fill="none")
        path.set("stroke", COLOURS["ink"])
        path.set("stroke-width", number(1.2 / view.scale, 6))
        path.set("stroke-dasharray", dashes(view, 14, 4))
        tooltip(path, f"bend line: {bend_words(layout.flange)}, towards the {layout.flange.side} side")


def draw_openings(steel: Element, layout: Layout, made: Sequence[Operations], view: View) -> None:
    """What is taken out, and the marks of what the table does not cut; recesses first, so that they hide no hole."""
    layer = new_layer(steel, "openings", view, 1.5)
    for seat in seats(layout).values():
        # How wide a head that is let in makes its hole at the face that it is at: a thin ring, dashed where
        # hidden
        ring = node(
            layer, "path", d=path_of(seat.mouth), fill=PAPER, stroke=COLOURS["ink"], class_="pk-opening pk-mouth"
        )
        ring.set("data-feature", seat.opening)
        ring.set("fill-opacity", RECESS_OPACITY if seat.side == "near" else "0")
        ring.set("stroke-width", number(MOUTH_LINE / view.scale, 6))
        if seat.side == "far":
            ring.set("stroke-dasharray", dashes(view, 4, 2.5))
        unit = layout.spec.unit
        wide, deep = (figure(length, unit) for length in (seat.diameter, seat.depth))
        tooltip(ring, f"{seat.opening}: {seat.step.work} {wide} across, {deep} {unit} deep, {seat.side} side")
    for opening, operations in sorted(zip(layout.openings, made, strict=True), key=lambda pair: pair[0].through):
        path = node(
            layer,
            "path",
            id=identifier("opening", opening.name),
            data_feature=opening.name,
            d=path_of(opening.shape),
            fill=PAPER,
            stroke=COLOURS["ink"],
            class_=f"pk-opening pk-{opening.role}",
        )
        if not opening.through:
            path.set("fill-opacity", RECESS_OPACITY)
            if opening.side == "far":
                path.set("stroke-dasharray", dashes(view, 6, 3))
        tooltip(path, f"{opening.name}: {opening_size(layout, opening)}, {operations.how}")
        if operations.mark is not None:
            # Cross strokes through a hole that the table only marks, and the thread's ring where it is tapped
            x, y = operations.mark
            reach = min(opening.size / 2 + CROSS_PAST / view.scale, LONGEST_CROSS / view.scale)
            cross = f"M{number(x - reach, 6)} {number(y, 6)}h{number(2 * reach, 6)}"
            cross += f"M{number(x, 6)} {number(y - reach, 6)}v{number(2 * reach, 6)}"
            node(layer, "path", d=cross, stroke_width=number(0.9 / view.scale, 6), **stroke("ink"))
            if opening.thread is not None:
                node(
                    layer,
                    "circle",
                    cx=number(x, 6),
                    cy=number(y, 6),
                    r=number(opening.size / 2 * 1.18, 6),
                    stroke_width=number(0.9 / view.scale, 6),
                    stroke_dasharray=dashes(view, 5, 2),
                    **stroke("ink"),
                )


def draw_scribed(steel: Element, words: Scribed, view: View) -> None:
    """The words that are scribed, stroke by stroke as the table goes."""
    layer = new_layer(steel, "scribed", view, 0.9)
    layer.set("stroke", COLOURS["ink"])
    layer.set("stroke-linecap", "round")
    for word in words.words:
        data = "".join(run_of(stroke) for stroke in word.strokes)
        path = node(layer, "path", d=data, class_="pk-scribed pk-line-ink")
        tooltip(path, f"scribed: {word.text}")


def draw_bodies(steel: Element, layout: Layout, view: View, side: Side) -> None:
    """The parts of one side."""
    layer = new_layer(steel, side, view, 1.7)
    layer.set("stroke", COLOURS[side])
    for body in parts(layout):
        if side_of(layout, body) == side:
            _body(layer, body, side, view, layout)
            covers = (one for one in layout.guards if body.name == one.cover_name and not one.drawn.lies)
            for guard in covers:
                for shape in guard.vents:
                    line = node(layer, "path", d=path_of(shape), class_=f"pk-line pk-line-{side}")
                    line.set("stroke-width", number(0.9 / view.scale, 6))


def _body(layer: Element, body: Body, side: Side, view: View, layout: Layout) -> None:
    name = identifier("body", body.name)
    shared = (
        {"data_of": body.name.split(".")[0] if body.kind == "guard" else body.carrier}
        if body.kind in {"belt", "guard"}
        else {}
    )
    group = node(
        layer,
        "g",
        id=name,
        data_feature=body.name,
        data_carrier=body.carrier,
        class_=f"pk-body pk-{side}",
        **shared,
    )
    unit = layout.spec.unit
    low, high = (figure(value, unit) for value in body.z)
    tooltip(group, f"{body.name}: on the {side} side, carried by {body.carrier}, z {low} to {high} {unit}")
    outline = path_of(body.shape)
    # A rim of hatching inside the outline, not a filled body: what lies below has to stay readable. The line is twice
    # as wide and clipped at the outline, so that its outer half is not seen
    clip = node(group, "clipPath", id=f"{name}-rim")
    node(clip, "path", d=outline)
    node(
        group,
        "path",
        d=outline,
        stroke=f"url(#pk-hatch-{side})",
        stroke_width=number(2 * RIM / view.scale, 6),
        clip_path=f"url(#{name}-rim)",
        class_="pk-rim",
    )
    line = node(group, "path", d=outline, class_=f"pk-line pk-line-{side}")
    if side == "far":
        line.set("stroke-dasharray", dashes(view, 9, 4))


def draw_screws(steel: Element, layout: Layout, view: View) -> None:
    """The room that heads, washers and nuts take."""
    layer = new_layer(steel, "screws", view, 0.9)
    for body in layout.bodies:
        # tips and shanks lie within the holes and say nothing that the hole does not
        if not body.hardware or body.kind in {"tip", "shank", "spacer"}:
            continue
        path = node(
            layer,
            "path",
            id=identifier("body", body.name),
            data_feature=body.name,
            data_carrier=body.carrier,
            d=path_of(body.shape),
            stroke=COLOURS[body.side],
            class_=f"pk-hardware pk-line-{body.side}",
        )
        if body.side == "far":
            path.set("stroke-dasharray", dashes(view, 4, 2.5))
        tooltip(path, f"{body.name}, {body.side} side")


def draw_ghosts(steel: Element, layout: Layout, view: View) -> None:
    """Bodies and holes of moving mounts, at both ends of their travel."""
    layer = new_layer(steel, "travel", view, 1.1)
    layer.set("stroke", COLOURS["move"])
    for mount in mounts_of(layout):
        if mount.travel is None:
            continue
        for end, _ in ENDS:
            if amount(mount.travel, end) <= 0:
                continue
            pose = end_pose(mount.travel, end)
            line = dashes(view, 10, 3, 2, 3) if end == "install" else dashes(view, 3, 3)
            group = node(layer, "g", class_=f"pk-ghost pk-ghost-{end}", stroke_dasharray=line)
            group.set("data-ghost-of", mount.name)
            shapes = _outermost([body.shape for body in parts(layout) if body.carrier == mount.name])
            for shape in (*shapes, *(Disc(point, mount.hole / 2) for point in mount.points)):
                node(group, "path", d=path_of(shape.moved(pose)), class_="pk-line-move")


def _outermost(shapes: list[Shape]) -> list[Shape]:
    """Those of some shapes that stick out of all others: what moves within another's outline need not be seen twice."""
    if len(shapes) > MOST_SIFTED:
        return shapes
    kept: list[int] = []
    for index in sorted(range(len(shapes)), key=lambda k: -round(shapes[k].area, 6)):
        # largest first: a shape can only be covered by a larger one
        if not any(covers(shapes[other], shapes[index]) for other in kept):
            kept.append(index)
    return [shapes[index] for index in sorted(kept)]


def draw_centre_lines(steel: Element, layout: Layout, view: View, words: Scribed) -> None:
    """Bolt circles, and the rectangle or line that joins the holes of other patterns; broken where words stand."""
    layer = new_layer(steel, "dimensions", view, 0.9)
    if words.words:
        # a window of everything but the words: a line through letters makes other letters of them
        window = layout.outline.box.grown(layout.outline.box.width + layout.outline.box.height)
        gaps = [window, *(word.box.grown(WORD_GAP / view.scale) for word in words.words)]
        around = "".join(
            f"M{number(box.x0, 6)} {number(box.y0, 6)}H{number(box.x1, 6)}V{number(box.y1, 6)}H{number(box.x0, 6)}Z"
            for box in gaps
        )
        clip = node(layer, "clipPath", id="pk-off-words")
        node(clip, "path", d=around, clip_rule="evenodd")
        layer.set("clip-path", "url(#pk-off-words)")
    layer.set("stroke", COLOURS["soft"])
    layer.set("stroke-dasharray", dashes(view, 12, 3, 2, 3))
    for mount in mounts_of(layout):
        size = pattern_size(layout, mount)
        if size is None:
            continue
        if size.circle is not None:
            x, y = zero_of(mount)
            shape = path_of(Disc((x, y), size.circle / 2))
        else:
            points = "L".join(f"{number(x, 6)} {number(y, 6)}" for x, y in mount.points)
            shape = f"M{points}Z"
        node(layer, "path", d=shape, class_="pk-line-soft", data_feature=mount.name)

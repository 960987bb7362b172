"""The belts of the drawing: each one's pitch line, and what a page needs to draw it anew when a mount travels."""

from __future__ import annotations

import json
import math
from typing import Final
from xml.etree.ElementTree import Element

from platekit.drawing.svg.parts import COLOURS, dashes, identifier, new_layer, node, number
from platekit.drawing.view import View
from platekit.drive.route import Route, Wheel, route
from platekit.placed import Layout, PlacedBelt, PlacedPulley, Side

LINE: Final = 2.4
"""Width of a belt's line, sheet units (ours)."""


def draw_belts(steel: Element, layout: Layout, view: View) -> None:
    """The pitch line of every belt: true arcs round the pulleys and the straight runs between them, at nominal."""
    layers: dict[Side, Element] = {}
    for belt in layout.belts:
        if belt.drawn.lies:  # seen edge on: its runs and pulleys are drawn as the bodies that they are
            continue
        side: Side = "near" if belt.driver.plane > 0 else "far"
        if side not in layers:
            layers[side] = new_layer(steel, f"belts-{side}", view, LINE, switch=side)
        pulleys, way = _counter_clockwise(belt)
        # What the page's slider needs to lay the belt anew: a radius below zero presses on the belt's back
        wheels = [
            {
                "x": round(pulley.center[0], 6),
                "y": round(pulley.center[1], 6),
                "r": round(pulley.pitch_diameter / 2 * (1 if pulley.inside else -1), 6),
                "mount": pulley.mount,
            }
            for pulley in pulleys
        ]
        path = f"M{_point(way.spans[-1].end)}"
        for pulley, wrap, run in zip(pulleys, way.wraps, way.spans, strict=True):
            radius = number(pulley.pitch_diameter / 2, 6)
            path += f"A{radius} {radius} 0 {int(wrap > math.pi)} {int(pulley.inside)} {_point(run.start)}"
            path += f"L{_point(run.end)}"
        line = node(
            layers[side],
            "path",
            id=identifier("belt", belt.name),
            data_feature=f"{belt.name}.belt",
            data_wheels=json.dumps(wheels, ensure_ascii=False),
            d=f"{path}Z",
            class_=f"pk-belt-line pk-line pk-line-{side}",
            stroke=COLOURS[side],
        )
        line.set("stroke-dasharray", dashes(view, 14, 3) if side == "near" else dashes(view, 14, 3, 3, 3))


def _counter_clockwise(belt: PlacedBelt) -> tuple[list[PlacedPulley], Route]:
    """The pulleys in the order in which the belt visits them with its inside on the left, and its way."""
    pulleys = list(belt.pulleys)
    way = route([_wheel(pulley) for pulley in pulleys])
    # The belt runs counter-clockwise round its first pulley if it leaves with the middle on its left (cross product)
    run, (x, y) = way.spans[0], pulleys[0].center
    out_x, out_y = run.start[0] - x, run.start[1] - y
    if out_x * (run.end[1] - run.start[1]) - out_y * (run.end[0] - run.start[0]) > 0:
        return pulleys, way
    turned = [pulleys[0], *reversed(pulleys[1:])]
    return turned, route([_wheel(pulley) for pulley in turned])


def _wheel(pulley: PlacedPulley) -> Wheel:
    return Wheel(*pulley.center, pulley.pitch_diameter, pulley.inside)


def _point(point: tuple[float, float]) -> str:
    return f"{number(point[0], 6)} {number(point[1], 6)}"

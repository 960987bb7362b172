"""How a flange is bent, in the same words on every paper: what is set on the brake, which way, in which order."""

from __future__ import annotations

from typing import Final

from platekit.drawing.sizes import figure
from platekit.laying.bends import K_SOURCE
from platekit.laying.flange import press_force, press_words, shortest_height
from platekit.placed import Layout, PlacedFlange, Side
from platekit.units import Unit, show_length

Row = tuple[str, str]
STEPS: Final = (
    "Cut flat, drill, tap and countersink first; dress the edges, those of the bend above all: a nick there tears.",
    "Bend a strip of the same plate first, measure both legs, and correct the stop by half of what is off.",
    "The marks at both ends are on the near face and show the middle of the bend: the punch comes down on them. "
    "What is bent towards the far side is turned over, and the marks carried round the edge.",
    "Hands clear of punch and die; a long piece whips up as it is bent. Bending by somebody who knows the press.",
    "Check the right angle along all of its length, and the face round the screws with a straightedge.",
)
"""The order of bending (common practice)."""
NOTE: Final = (
    "Allowance by DIN 6935; die, radius and force by air bending charts of tool makers. Another die gives another "
    "radius: write that one into the spec (flange: radius) before cutting."
)


def bend_words(flange: PlacedFlange, seen_from: Side = "near") -> str:
    """What stands beside a bend line: which way, seen from a side, and by how much.

    Up is towards whoever looks at the face.
    """
    return f"BEND 90° {'UP' if flange.side == seen_from else 'DOWN'}"


def flange_words(flange: PlacedFlange | None, unit: Unit) -> str:
    """How an edge is bent, in a few words; or that none is."""
    if flange is None:
        return "none"
    height, radius = show_length(flange.height, unit), show_length(flange.radius, unit)
    return f"{flange.edge} edge, towards the {flange.side} side, {height} off the face, inside radius {radius}"


def flange_rows(layout: Layout) -> tuple[Row, ...]:
    """What there is to know of the flange, to be set on the brake and measured; nothing without one (mm, N)."""
    flange = layout.flange
    if flange is None:
        return ()
    unit, box = layout.spec.unit, layout.outline.box
    force = press_force(flange, layout.material.family or "")
    gauge = flange.leg + flange.allowance / 2
    rows = [
        ("which edge", f"{flange.edge}, {show_length(flange.length, unit)} long, towards the {flange.side} side"),
        ("blank, flat", f"{show_length(box.width, unit)} × {show_length(box.height, unit)}"),
        ("back stop", f"{show_length(gauge, unit)} from the edge of the blank to the bend line"),
        ("bend", f"90°, inside radius {show_length(flange.radius, unit)}, die opening {show_length(flange.die, unit)}"),
        (
            "stands off the face",
            f"{show_length(flange.height, unit)}; {show_length(flange.height + flange.thickness, unit)} over all, "
            f"{show_length(shortest_height(flange), unit)} at least in that die",
        ),
        (
            "bend begins",
            f"at the plate's edge; it takes up {show_length(flange.allowance, unit)} of the flat blank, the straight "
            f"leg {show_length(flange.leg, unit)}, K-factor {figure(flange.k, 'mm')}: {K_SOURCE}",
        ),
    ]
    if force is not None:
        rows.append(("press", f"about {press_words(force, unit)}"))
    return tuple(rows)

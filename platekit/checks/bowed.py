"""The rule on long slender strips of steel beside a hot cut, which bow as they are cut free."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from msgspec import Struct

from platekit.checks.advice import rounded_up, say
from platekit.checks.cutting import HOT_CUTS
from platekit.checks.finding import Advice, Finding
from platekit.checks.rule import Rule
from platekit.geometry import Loop, Point, Shape
from platekit.geometry.edges import Line
from platekit.placed import Layout

SLENDER: Final = 15.0
"""A strip this many times as long as wide bows when it is cut hot on both sides (from memory)."""
PARALLEL: Final = math.radians(5)
"""Two sides of a strip within this of each other are parallel, radians (ours)."""
MOST_SIDES: Final = 1000
"""Of more long straight sides than that the longest are looked at (ours)."""


class _Side(Struct, frozen=True):
    """A straight side of an opening or of the outline: its ends, its length (mm), and whose it is."""

    name: str
    a: Point
    b: Point
    length: float


def bowed(layout: Layout) -> Iterator[Finding]:
    """Strips between two openings, or one and the outside, so long for their width (mm) that heat bows them."""
    if layout.cutting.process not in HOT_CUTS or layout.flat is not None:
        return
    shapes: list[tuple[str, Shape]] = [(one.name, one.shape) for one in layout.openings if one.through]
    least = SLENDER * layout.limits.web.value / 2
    sides = [side for name, shape in (*shapes, ("outline", layout.outline)) for side in _sides(name, shape, least)]
    sides = sorted(sides, key=lambda side: (-round(side.length, 6), side.name, side.a))[:MOST_SIDES]
    found: dict[tuple[str, str], tuple[float, float, Point]] = {}
    for k, one in enumerate(sides):
        for other in sides[k + 1 :]:
            if one.name == other.name:
                continue
            strip = _between(one, other)
            if strip is None or not _steel(layout, shapes, strip[2]):
                continue
            pair = (min(one.name, other.name), max(one.name, other.name))
            if pair not in found or strip[0] / strip[1] > found[pair][0] / found[pair][1]:
                found[pair] = strip
    for (first, second), (length, width, at) in sorted(found.items()):
        whose = [name for name in (first, second) if name != "outline"]
        between = f"{first} and {second}" if len(whose) == 2 else f"{whose[0]} and the outside"
        wide = rounded_up(layout, length / SLENDER)
        yield Finding(
            rule="bow",
            level="warn",
            message=f"the strip between {between} is {say(layout, length)} long and {say(layout, width)} wide; "
            f"under {say(layout, length / SLENDER)} of width it bows in the heat of the cut, and stays so",
            features=(first, second),
            at=at,
            found=width,
            needed=length / SLENDER,
            advice=Advice(
                f"leave {wide:g} {layout.spec.unit} of steel there, put a bridge across the opening, cut by waterjet, "
                "or leave bridges in the cut that are sawn through once it is cold"
            ),
        )


def _sides(name: str, shape: Shape, least: float) -> Iterator[_Side]:
    for edge in shape.edges if isinstance(shape, Loop) else ():
        if isinstance(edge, Line) and (length := math.dist(edge.a, edge.b)) >= least:
            yield _Side(name, edge.a, edge.b, length)


def _between(one: _Side, other: _Side) -> tuple[float, float, Point] | None:
    """Length, width and middle (mm) of the strip between two sides; None where they make none that is slender."""
    ux, uy = (one.b[0] - one.a[0]) / one.length, (one.b[1] - one.a[1]) / one.length
    vx, vy = (other.b[0] - other.a[0]) / other.length, (other.b[1] - other.a[1]) / other.length
    if abs(ux * vy - uy * vx) > math.sin(PARALLEL):
        return None
    along = sorted((p[0] - one.a[0]) * ux + (p[1] - one.a[1]) * uy for p in (other.a, other.b))
    low, high = max(along[0], 0.0), min(along[1], one.length)
    offs = [(p[1] - one.a[1]) * ux - (p[0] - one.a[0]) * uy for p in (other.a, other.b)]
    off = sum(offs) / 2
    if high - low < SLENDER * abs(off) or abs(off) < 1e-6:
        return None
    middle = (low + high) / 2
    return high - low, abs(off), (one.a[0] + ux * middle - uy * off / 2, one.a[1] + uy * middle + ux * off / 2)


def _steel(layout: Layout, shapes: list[tuple[str, Shape]], at: Point) -> bool:
    return layout.outline.contains(at) and not any(shape.contains(at) for _, shape in shapes)


RULES = (
    Rule(
        "bow",
        "a long slender strip of steel that bows in the heat of the cut",
        f"a width of 1/{SLENDER:g} of its length, between two cuts of plasma, laser or oxy-fuel",
        "from memory",
        bowed,
        levels=("warn",),
        keys=("cutting.process",),
    ),
)

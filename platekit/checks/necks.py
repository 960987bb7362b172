"""Rules on what the outline and each opening leave between themselves: necks, tongues and tips of steel."""

from __future__ import annotations

import math
from collections.abc import Iterator

from platekit.checks.advice import say
from platekit.checks.finding import Advice, Finding
from platekit.checks.rule import Rule
from platekit.geometry import Loop, Point, Shape
from platekit.geometry.narrow import Narrow, narrowest
from platekit.laying.limits import drilled_web
from platekit.placed import SAME_LENGTH, Layout
from platekit.tables.shop import shop_figure

SHARPEST = math.radians(shop_figure("tip of steel, sharpest, degrees"))
"""A tip of steel sharper than this bends, burns away under heat, and cuts hands, radians (`shop_figures.csv`)."""


def necks(layout: Layout) -> Iterator[Finding]:
    """A neck or tongue of steel narrower (mm) than the web that belongs between two openings."""
    wide = layout.limits.web.value
    # what is convex has no neck: two of its edges never face each other across steel
    if isinstance(layout.outline, Loop) and not layout.outline.is_convex:
        yield from _thin(layout, "outline", "the outline", narrowest(layout.outline, wide))
    for opening in layout.openings:
        if opening.through and isinstance(opening.shape, Loop) and not opening.shape.is_convex:
            yield from _thin(layout, opening.name, opening.name, narrowest(opening.shape, wide, outside=True))


def _thin(layout: Layout, feature: str, words: str, found: Narrow | None) -> Iterator[Finding]:
    web = layout.limits.web
    if found is None or found.width >= web.value - SAME_LENGTH:
        return
    stops = web.source == "spec" or found.width < drilled_web(layout.limits, layout.thickness) - SAME_LENGTH
    yield Finding(
        rule="neck",
        level="stop" if stops else "warn",
        message=f"{words} leaves a neck or tongue of steel only {say(layout, found.width)} wide; "
        f"{say(layout, web.value)} "
        f"belongs between two cuts ({web.source})",
        features=(feature,),
        at=found.at,
        found=found.width,
        needed=web.value,
        advice=Advice(f"make it {say(layout, web.value)} wide there, or leave it out of the drawing"),
    )


def tips(layout: Layout) -> Iterator[Finding]:
    """Outside corners of the steel so sharp (degrees) that they bend or burn away."""
    shapes: list[tuple[str, Shape, float]] = [("outline", layout.outline, 1.0)]
    shapes += [(opening.name, opening.shape, -1.0) for opening in layout.openings if opening.through]
    for name, shape, side in shapes:
        if not isinstance(shape, Loop):
            continue
        # the angle of the steel at each corner (inside the outline, outside of an opening) is half a turn less what the
        # edge turns there
        corners: list[tuple[Point, float]] = []
        before = shape.edges[-1]
        for edge in shape.edges:
            (ux, uy), (vx, vy) = before.direction(1.0), edge.direction(0.0)
            turn = side * math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)
            if math.pi - turn < SHARPEST:
                corners.append((edge.a, math.pi - turn))
            before = edge
        sharp = sorted(corners, key=lambda tip: round(tip[1], 9))
        if not sharp:
            continue
        at, angle = sharp[0]
        found, needed = math.degrees(angle), math.degrees(SHARPEST)
        yield Finding(
            rule="tip",
            level="warn",
            message=f"{name}: {'a corner' if len(sharp) == 1 else f'{len(sharp)} corners'} of the steel as sharp as "
            f"{found:.0f} degrees; under {needed:.0f} a tip bends, burns away, and cuts hands",
            features=(name,),
            at=at,
            found=found,
            needed=needed,
            unit="degrees",
            advice=Advice("round it or cut it off (corner: a radius, or one more corner)"),
        )


RULES = (
    Rule(
        "neck",
        "a neck or tongue of steel that one outline leaves between itself",
        "a warning under the process's web, a stop under the web that a drilled opening needs",
        "process table, each row with its kind; drilled: from memory",
        necks,
        levels=("stop", "warn"),
        keys=("limits.web", "cutting.process", "cutting.machine"),
    ),
    Rule(
        "tip",
        "an outside corner too sharp to last",
        f"{math.degrees(SHARPEST):.0f} degrees",
        "from memory",
        tips,
        levels=("warn",),
    ),
)

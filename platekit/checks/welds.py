"""The rule on welds: ribs and lugs on a plate that cannot be welded, or that suffers by it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from platekit.checks.finding import Advice, Finding, Level
from platekit.checks.rule import Rule
from platekit.geometry import Point
from platekit.placed import Layout

CANNOT: Final = "screw the bar on from the other side, or use a material that is welded"
FAMILIES: Final[dict[str, tuple[Level, str, str]]] = {
    "cast iron": (
        "warn",
        "cast iron cracks beside a weld that is laid as on steel",
        "preheat it and weld with nickel rod, short runs peened and cooled slowly, by someone who does that; else "
        "screw the bar on",
    ),
    "brass": ("warn", "the zinc boils out of brass at a weld and leaves pores, and its fume is toxic", CANNOT),
    "acetal": ("stop", "it melts and burns long before steel welds", CANNOT),
    "HDPE": ("stop", "it melts long before steel welds, and a bar of HDPE stiffens nothing", CANNOT),
    "polycarbonate": ("stop", "it melts and burns long before steel welds", CANNOT),
    "acrylic": ("stop", "it melts and burns long before steel welds", CANNOT),
    "wood board": ("stop", "it burns long before steel welds", CANNOT),
}
"""By family: how bad, why, what would do (common practice)."""
BY_NAME: Final[tuple[tuple[str, Level, str, str], ...]] = (
    ("7075", "stop", "7075 cracks as its weld cools, and is not welded by arc", CANNOT),
    (
        "-T6",
        "warn",
        "beside a weld a hardened aluminium keeps about half of its yield strength, and how far it holds is worked out "
        "without that",
        "keep welds where the plate is little stressed, count on half there, or screw the bar on",
    ),
    (
        "galvanised",
        "warn",
        "zinc burns off beside a weld: its fume is toxic, and the weld gets pores",
        "grind the zinc off on both faces, 25 mm beside the weld at least, draw the fume off, paint it after",
    ),
    (
        "C45",
        "warn",
        "C45 hardens and cracks beside a weld laid cold",
        "preheat it to some 200 degrees C, use dry basic rods",
    ),
)
"""By a part of the material's name, before its family: how bad, why, what would do (7075, T6: EN 1999-1-1, from
memory; the others common practice)."""


def weld(layout: Layout) -> Iterator[Finding]:
    """Ribs and lugs (plate frame, mm) that are to be welded to what does not bear it."""
    bars: list[tuple[str, Point]] = [
        (bar.name, ((bar.start[0] + bar.end[0]) / 2, (bar.start[1] + bar.end[1]) / 2)) for bar in layout.ribs
    ]
    jacks = {name: mount.jack for name, mount in layout.mounts.items()}
    bars += [(f"{name}.jack lug", one.tip) for name, one in jacks.items() if one is not None and one.angle is None]
    if not bars:
        return
    material = layout.material
    told = next((one[1:] for one in BY_NAME if one[0] in material.name), None) or FAMILIES.get(material.family or "")
    if told is None:
        return
    level, why, advice = told
    names = tuple(name for name, _ in bars)
    said = names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
    yield Finding(
        rule="weld",
        level=level,
        message=f"{said}: to be welded to {material.name}: {why}",
        features=names,
        at=bars[0][1],
        advice=Advice(advice),
    )


RULES = (
    Rule(
        "weld",
        "a bar or lug welded to what cannot be welded, or suffers by it",
        "the material, by its name and family",
        "common practice; EN 1999-1-1 for aluminium, from memory",
        weld,
        levels=("stop", "warn"),
        keys=("plate.material", "plate.ribs"),
    ),
)

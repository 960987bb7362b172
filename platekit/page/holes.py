"""The screw holes of each mount: how wide, how many, and the odds that the mount bolts up.

A layer has no odds: its holes are spotted through the plate's, and meet them as they were made. The page says so.
"""

from __future__ import annotations

import math
from typing import Any, Final

from platekit.analysis.fitting import MOST_JOINTS, MountFit, fits
from platekit.page.numbers import typed
from platekit.placed import Layout, PlacedMount
from platekit.spec.models import MAX_ON_CIRCLE
from platekit.spec.source import Node, node_at, path_of
from platekit.units import INCH

MOST_PULLED: Final = 16
"""Most screws of a bolt circle that the slider gives (ours); more are typed."""
FEWEST_PULLED: Final = 2
"""Fewest screws that it gives (ours): one alone holds nothing in its direction."""
SUREST: Final = 0.9999
"""No odds are told as higher than this (ours): what is not in the reckoning, a burr or a wrong drill, is likelier."""
SPOTTED: Final = "no odds: these holes are spotted through the plate's, so that they meet as they were made"
"""Why a layer has no odds, in words."""


def holes(layout: Layout, top: Node, text: str) -> list[dict[str, Any]]:
    """By mount with screws: boxes with a slider for size and number of its holes, and the odds in words.

    A box is {label, field, typed, at, slide}; `at` is the value, and `slide` [from, to, step], in the spec's unit (in,
    mm or a count). What is not said yet, such as the hole of a standard, shows what holds. A mount without
    odds says why.
    """
    inch = layout.spec.unit == "in"
    said = odds(layout)
    rows = []
    for name, mount in layout.mounts.items():
        if mount.stack is None or not mount.points:
            continue
        # drills come by the 64th of an inch and by the tenth of a mm
        size = mount.hole / INCH if inch else mount.hole
        slide = [0.125, 1.0, 0.015625] if inch else [3.0, 25.0, 0.1]
        boxes = [_box("hole", mount.hole_field, round(size, 6), slide, top, text)]
        count = count_field(mount)
        if (node := node_at(top, path_of(count, top))) is not None and isinstance(node.data, int):
            most = max(min(MAX_ON_CIRCLE, MOST_PULLED), node.data)
            boxes.append(_box("how many", count, node.data, [FEWEST_PULLED, most, 1], top, text))
        rows.append({"mount": name, "boxes": boxes, "odds": said.get(name, _no_odds(mount))})
    return rows


def count_field(mount: PlacedMount) -> str:
    """Where the spec says how many holes the bolt circle of a mount has, if it is one."""
    return f"{mount.hole_field.rpartition('.pattern.')[0]}.pattern.circle.count"


def odds(layout: Layout) -> dict[str, dict[str, str]]:
    """By mount, the odds that every screw goes in: {level, said}, the level being that of the finding it makes."""
    return {fit.mount: {"level": _level(fit), "said": odds_words(fit)} for fit in fits(layout)}


def odds_words(fit: MountFit) -> str:
    """The odds of one mount in words, a share of plates so made (no unit); never rounded up to certainty."""
    share = math.floor(min(fit.probability, SUREST) * 1000) / 10
    words = f"all {fit.holes} screws go in on {'about' if fit.drawn else 'at least'} {share:g} % of plates so made"
    limit = {"stop": fit.stop, "warn": fit.warn}.get(_level(fit))
    return words if limit is None else f"{words}; below {limit * 100:g} %"


def _no_odds(mount: PlacedMount) -> dict[str, str]:
    """Why a mount has no odds."""
    if mount.layer is not None or mount.lug_of is not None:
        return {"level": "", "said": SPOTTED}
    return {"level": "", "said": f"no odds: they are worked out for {MOST_JOINTS} screws at most"}


def _level(fit: MountFit) -> str:
    return "stop" if fit.probability < fit.stop else "warn" if fit.probability < fit.warn else ""


def _box(label: str, field: str, at: float, slide: list[float], top: Node, text: str) -> dict[str, Any]:
    node = node_at(top, path_of(field, top))
    shown = f"{at:g}" if node is None else typed(node, text)
    # a hole outside the slider's range (a large bolt) widens it: pulling must start where the hole is
    ends = [min(slide[0], at), max(slide[1], at), slide[2]]
    return {"label": label, "field": field, "typed": shown, "at": at, "slide": ends}

"""What `check --explain` adds: the tightest pairs with what governs them, the order of assembly, the way back."""

from __future__ import annotations

from collections.abc import Iterator

from platekit.analysis.assembly import Assembly, Hindrance, assembly, way_back
from platekit.analysis.nearness import said_positions
from platekit.drawing.jacking import jack_words
from platekit.drawing.welding import ORDER, weld_words
from platekit.export.data.rounded import Figures, tidied
from platekit.export.reports.rows import back_words
from platekit.export.text.terminal import folded
from platekit.placed import Layout
from platekit.studies.governing import Explained, Governing, explained
from platekit.studies.loaded import Used, used
from platekit.units import INCH, Unit, show_length


def explained_text(layout: Layout) -> str:
    """The tightest pairs, the order of assembly, and the way back to the old machine, for a terminal."""
    parts = [
        ["Tightest pairs", *_numbered(pair_words(layout, one) for one in explained(layout))],
        ["Order of assembly", *_numbered(order_words(assembly(layout)))],
        ["Way back to the old machine", *_numbered(back_words(layout))],
    ]
    loaded = used(layout)
    if loaded:
        parts.append(["What it holds, and what governs that", *_numbered(_loaded(one) for one in loaded)])
    return "\n\n".join("\n".join(lines) for lines in parts)


LOADED = {"strength": "stress", "fatigue": "stress that swings at an edge", "sag": "shafts out of line"}
"""What a rule on strength looks at, in words."""


def _loaded(one: Used) -> str:
    """How much of a limit is used, and which number of the spec would change that most."""
    return (
        f"{LOADED[one.rule]}: {100 * one.share:.0f} % of what is allowed. It depends most on {one.field}: with that a "
        f"tenth larger it would be {100 * one.then:.0f} %."
    )


def _numbered(sentences: Iterator[str]) -> Iterator[str]:
    for number, sentence in enumerate(sentences, start=1):
        yield from folded(sentence, f"{number:>3}  ", " " * 5)


def pair_words(layout: Layout, one: Explained) -> str:
    """How near two things come, and which number of the spec would change that most; lengths in the spec's unit."""
    pair, governs = one.pair, one.governs
    now, found = (_apart(value, layout.spec.unit) for value in (one.now, pair.found))
    # under half a hundredth, `now` and the least would be printed as the same figure twice
    least = f", at the least {found}{said_positions(layout, pair.positions)}" if one.now - pair.found >= 0.005 else ""
    needed = show_length(pair.needed, layout.spec.unit)
    said = f"{pair.a} and {pair.b}: {now} now{least}; {needed} between them is needed."
    if governs is None:
        return f"{said} No single number of the spec governs it."
    # what governs is told by its key, so that it can be found in the spec; how far it may go is in the unit typed there
    said += f" It depends on {governs.field} ({governs.value:.6g} {governs.unit}), which"
    if governs.may_grow is None:
        return f"{said} has room to spare."
    if governs.may_grow < 0:
        return f"{said} must shrink by {-governs.may_grow:.4g} {governs.unit}."
    return f"{said} may grow by {governs.may_grow:.4g} {governs.unit}."


def _apart(gap: float, unit: Unit) -> str:
    """A gap (mm) in words: below zero it is how far one thing stands in the other."""
    shown = show_length(abs(gap), unit)
    return f"{shown} into each other" if gap < 0 and shown != show_length(0.0, unit) else f"{shown} apart"


def order_words(order: Assembly) -> Iterator[str]:
    """Each step of the assembly, or first why there is none: what would have to go on before what, in a circle."""
    # the circle first: without an order there are no steps, and what hinders each is what has to be changed
    if order.circle:
        yield "There is none: " + "; ".join(f"{one.item} must go on before {one.by}" for one in order.circle) + "."
    if order.welded:
        yield f"{weld_words(order.welded)} {ORDER}."
    for step in order.steps:
        text = step.item if step.side is None else f"{step.item} from the {step.side} side"
        if step.screws:
            tools = " or ".join(step.tools) or "no tool"
            text += f": {len(step.screws)} x {step.size}, heads on the {step.head_side} side, {tools}"
        if step.slides:
            text += f"; only hand-tight, it is tightened once {step.until}"
        if step.jack is not None:
            text += f"; {jack_words(step.jack.size, step.jack.made)}"
        if step.covered:
            over, under = " and ".join(step.covered_by), ", ".join(step.covered)
            # what slides cannot be tightened yet, so all that can be said of its screws is that they vanish
            text += (
                f"; {over} can cover {under} then" if step.slides else f"; tighten {under} now, {over} will cover them"
            )
        yield f"{text}."


# --------------------------------------------------------------------------------------------- figures


def explained_figures(layout: Layout) -> Figures:
    """The same for a program: lengths in mm, angles in degrees, whatever unit the spec has."""
    order, back = assembly(layout), way_back(layout)
    return tidied(
        {
            "loaded": [
                {"rule": one.rule, "share": one.share, "governs": one.field, "share_with_a_tenth_more": one.then}
                for one in used(layout)
            ],
            "tightest": [
                {
                    "features": [one.pair.a, one.pair.b],
                    "now_mm": one.now,
                    "least_mm": one.pair.found,
                    "needed_mm": one.pair.needed,
                    "positions": [{"mount": place.mount, f"at_{place.unit}": place.at} for place in one.pair.positions],
                    "governs": None if one.governs is None else governing_figures(one.governs),
                }
                for one in explained(layout)
            ],
            "assembly": {
                "possible": order.possible,
                "steps": [
                    {
                        "item": step.item,
                        "kind": step.kind,
                        "side": step.side,
                        "screws": list(step.screws),
                        "size": step.size,
                        "head_side": step.head_side,
                        "tools": list(step.tools),
                        "covered": list(step.covered),
                        "covered_by": list(step.covered_by),
                    }
                    for step in order.steps
                ],
                "welded": list(order.welded),
                "circle": [_hindrance(one) for one in order.circle],
                "always": [_hindrance(one) for one in order.always],
            },
            "way_back": {
                "mounts": list(back.mounts),
                "off": [step.item for step in back.off],
                "lasting": list(back.lasting),
                "whole": back.whole,
            },
        }
    )


def governing_figures(one: Governing) -> Figures:
    """The number that governs and how far it may grow, in mm or degrees, whatever unit it is typed in."""
    # the key says the unit, so that nobody takes degrees for mm
    factor = INCH if one.unit == "in" else 1.0
    unit = "deg" if one.unit == "deg" else "mm"
    grow = None if one.may_grow is None else one.may_grow * factor
    return {"field": one.field, f"value_{unit}": one.value * factor, f"may_grow_{unit}": grow}


def _hindrance(one: Hindrance) -> Figures:
    return {"item": one.item, "by": one.by, "bodies": list(one.bodies), "screws": list(one.screws)}

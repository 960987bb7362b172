"""What `check --explain` adds: the tightest pairs with what governs them, the order of assembly, the way back."""

from __future__ import annotations

from collections.abc import Iterator

from platekit.analysis.assembly import Assembly, AssemblyStep, Hindrance, assembly, way_back
from platekit.analysis.nearness import said_positions
from platekit.export.data.rounded import Figures, tidied
from platekit.export.reports.rows import back_words
from platekit.export.text.terminal import folded
from platekit.placed import Layout
from platekit.studies.governing import Explained, Governing, explained
from platekit.units import INCH, show_length


def explained_text(layout: Layout) -> str:
    """The tightest pairs, the order of assembly, and the way back to the old machine, for a terminal."""
    parts = [
        ["Tightest pairs", *_wrapped(_pair(layout, one) for one in explained(layout))],
        ["Order of assembly", *_wrapped(_order(assembly(layout)))],
        ["Way back to the old machine", *_wrapped(back_words(layout))],
    ]
    return "\n\n".join("\n".join(lines) for lines in parts)


def _wrapped(sentences: Iterator[str]) -> Iterator[str]:
    for number, sentence in enumerate(sentences, start=1):
        yield from folded(sentence, f"{number:>3}  ", " " * 5)


def _pair(layout: Layout, one: Explained) -> str:
    def say(value: float) -> str:
        return show_length(value, layout.spec.unit)

    pair = one.pair
    less = one.now - pair.found >= 0.005
    least = f", least {say(pair.found)}{said_positions(layout, pair.positions)}" if less else ""
    return f"{pair.a} and {pair.b}: {say(one.now)} now{least}; {say(pair.needed)} needed. {_governed(one.governs)}"


def _governed(one: Governing | None) -> str:
    if one is None:
        return "No single number of the spec governs it."
    value = f"{one.field} ({one.value:.6g} {one.unit})"
    if one.may_grow is None:
        return f"It hangs on {value}, which has room to spare."
    if one.may_grow < 0:
        return f"It hangs on {value}, which must shrink by {-one.may_grow:.4g} {one.unit}."
    return f"It hangs on {value}, which may grow by {one.may_grow:.4g} {one.unit}."


def _order(order: Assembly) -> Iterator[str]:
    if order.circle:
        yield "There is none: " + "; ".join(_circle(one) for one in order.circle) + "."
    yield from (_step(step) for step in order.steps)


def _circle(one: Hindrance) -> str:
    return f"{one.item} must go on before {one.by}"


def _step(step: AssemblyStep) -> str:
    side = "" if step.side is None else f" from the {step.side} side"
    text = f"{step.item}{side}"
    if step.screws:
        tools = " or ".join(step.tools) or "no tool"
        text += f": {len(step.screws)} x {step.size}, heads on the {step.head_side} side, {tools}"
    if step.slides:
        text += "; only hand-tight, it is tightened once the belt is tensioned"
    if step.covered:
        over = " and ".join(step.covered_by)
        now = f"{over} can cover {', '.join(step.covered)} then"
        text += f"; {now}" if step.slides else f"; tighten {', '.join(step.covered)} now, {over} will cover them"
    return f"{text}."


# --------------------------------------------------------------------------------------------- figures


def explained_figures(layout: Layout) -> Figures:
    """The same for a program."""
    order, back = assembly(layout), way_back(layout)
    return tidied(
        {
            "tightest": [_pair_figures(one) for one in explained(layout)],
            "assembly": {
                "possible": order.possible,
                "steps": [_step_figures(step) for step in order.steps],
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


def _pair_figures(one: Explained) -> Figures:
    pair, governs = one.pair, one.governs
    return {
        "features": [pair.a, pair.b],
        "now_mm": one.now,
        "least_mm": pair.found,
        "needed_mm": pair.needed,
        "positions": [{"mount": place.mount, f"at_{place.unit}": place.at} for place in pair.positions],
        "governs": None if governs is None else _governing_figures(governs),
    }


def _governing_figures(one: Governing) -> Figures:
    factor = INCH if one.unit == "in" else 1.0
    unit = "deg" if one.unit == "deg" else "mm"
    grow = None if one.may_grow is None else one.may_grow * factor
    return {"field": one.field, f"value_{unit}": one.value * factor, f"may_grow_{unit}": grow}


def _step_figures(step: AssemblyStep) -> Figures:
    return {
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


def _hindrance(one: Hindrance) -> Figures:
    return {"item": one.item, "by": one.by, "bodies": list(one.bodies), "screws": list(one.screws)}

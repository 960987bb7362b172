"""Rules on the guard: that there is one, and that its openings keep hands from what it guards."""

from __future__ import annotations

import math
from collections.abc import Iterator

from platekit.checks.advice import rounded_up, say
from platekit.checks.finding import Advice, FieldValue, Finding, Remedy
from platekit.checks.rule import Rule
from platekit.errors import LookupFailed
from platekit.geometry import intersection
from platekit.placed import Guard, Layout, PlacedBelt
from platekit.tables.guards import largest_opening, safety_distance

GAPS = (20.0, 12.0, 8.0)
"""Gaps from guard to belt and pulleys that are tried, mm (ours)."""
ALL_CLOSED = 99.95
"""A back closed to so many parts of 100 is closed (ours: what is left is rounding)."""


def guard(layout: Layout) -> Iterator[Finding]:
    """A belt without a described guard, or a guard whose openings let hands too near."""
    for belt in layout.belts:
        if layout.guard is None or layout.guard.belt != belt.name:
            yield _missing(layout, belt)
    if layout.guard is not None:
        yield from _openings(layout, layout.guard)
        yield from _back(layout, layout.guard)


def _missing(layout: Layout, belt: PlacedBelt) -> Finding:
    described = "" if layout.guard is None else f", only one for the belt `{layout.guard.belt}`"
    by_hand = "make and check one by local rules before power goes on"
    if described:
        advice, *others = [Advice(f"{by_hand}: a spec describes one guard")]
    else:
        advice, *others = [*_guards(layout, belt), Advice(f"{by_hand}: as it is, none fits in between")]
    return Finding(
        rule="guard",
        level="warn",
        message=f"no guard is described for the belt from {belt.driver.mount} to {belt.driven.mount}{described}; a "
        "new motor usually makes the old one useless",
        features=tuple(pulley.name for pulley in belt.pulleys),
        at=belt.driver.at,
        advice=advice,
        others=tuple(others),
    )


def _guards(layout: Layout, belt: PlacedBelt) -> Iterator[Advice]:
    """Guards that may find room: with the usual gap on the plate, off it over the screws' heads, and closer."""
    if belt.drawn.lies:
        yield Advice(
            "make one by local rules before power goes on: over shafts along the plate none is worked out here"
        )
        return
    low, high = layout.plate_z
    heads = [body for body in layout.bodies if body.hardware]
    far = belt.driver.plane < low
    tall = max([0.0, *(low - one.z[0] if far else one.z[1] - high for one in heads)])
    for gap in GAPS:
        for back in (0.0, tall + layout.limits.gap.value):
            value: dict[str, FieldValue] = {"belt": belt.name, "gap": rounded_up(layout, gap)}
            value |= {"back_from_plate": rounded_up(layout, back)} if back else {}
            said = ", ".join(f"{key}: {size:g}" for key, size in value.items() if isinstance(size, float))
            yield Advice(
                f"describe one (guard: {{{said}}}), or make and check it by local rules before power goes on",
                (Remedy("guard", value),),
            )


def _back(layout: Layout, guard: Guard) -> Iterator[Finding]:
    """Without a back plate: what the plate leaves open there, and a gap under the band that a hand reaches through."""
    if guard.back:
        return
    if guard.off_plate:
        try:
            reach = safety_distance("slot", guard.off_plate, None).distance
        except LookupFailed:  # wider than any opening that the table lets be
            reach = math.inf
        if guard.gap < reach:
            lower = Advice(
                "set the band nearer to the plate (back_from_plate: 0)", (Remedy("guard.back_from_plate", 0.0),)
            )
            wanted = "no distance makes good" if math.isinf(reach) else f"{say(layout, reach)} is needed"
            ideas = [lower]
            if math.isfinite(reach):
                gap = rounded_up(layout, reach)
                said = f"make the gap {gap:g} {layout.spec.unit} (gap: {gap:g})"
                ideas.append(Advice(said, (Remedy("guard.gap", gap),)))
            yield Finding(
                rule="guard",
                level="stop",
                message=f"guard: without a back plate its band stands {say(layout, guard.off_plate)} off the plate, "
                f"{say(layout, guard.gap)} from belt and pulleys; for a slot so wide {wanted} (ISO 13857; local rules "
                "decide)",
                features=("guard",),
                found=guard.gap,
                needed=None if math.isinf(reach) else reach,
                advice=ideas[0],
                others=tuple(ideas[1:]),
            )
    steel = sum(loop.area for loop in intersection(guard.outline, layout.outline))
    closed = 100.0 * steel / guard.outline.area
    if closed < ALL_CLOSED:
        yield Finding(
            rule="guard",
            level="stop",
            message=f"guard: it has no back plate, and the plate closes {math.floor(closed)} of 100 parts of its back; "
            "all of it is needed",
            features=("guard", "outline"),
            found=closed,
            needed=100.0,
            unit="%",
            advice=_over_the_back(layout, guard),
            others=(Advice("give the guard its back plate (guard: back: sheet)", (Remedy("guard.back", "sheet"),)),),
        )


def _over_the_back(layout: Layout, guard: Guard) -> Advice:
    """A rectangle that holds the plate as it is and all of the guard's outline."""
    boxes = (layout.outline.box, guard.outline.box)
    x0, y0 = (min(box[k] for box in boxes) for k in (0, 1))
    x1, y1 = (max(box[k] for box in boxes) for k in (2, 3))
    size: dict[str, FieldValue] = {"width": rounded_up(layout, x1 - x0 + 1), "height": rounded_up(layout, y1 - y0 + 1)}
    middle: list[FieldValue] = [f"{(x0 + x1) / 2:.6g} mm", f"{(y0 + y1) / 2:.6g} mm"]
    said = (
        f"make the plate larger there: a rectangle of {say(layout, x1 - x0 + 1)} x {say(layout, y1 - y0 + 1)} would do"
    )
    return Advice(said, (Remedy("plate.outline", {"rectangle": size, "at": middle}),))


def _openings(layout: Layout, guard: Guard) -> Iterator[Finding]:
    if guard.opening is None:
        return
    shape, width, length = guard.opening
    try:
        needed = safety_distance(shape, width, length)
    except LookupFailed as error:
        yield Finding(
            rule="guard",
            level="stop",
            message=f"guard: {error}",
            features=("guard",),
            found=width,
            needed=largest_opening(),
            advice=Advice("use a closer mesh, or plain sheet (leave openings out)"),
        )
        return
    if guard.gap >= needed.distance:
        return
    gap = rounded_up(layout, needed.distance)
    yield Finding(
        rule="guard",
        level="stop",
        message=f"guard: {shape} openings {say(layout, width)} wide are {say(layout, guard.gap)} from belt and "
        f"pulleys; {say(layout, needed.distance)} is needed ({needed.source.name}; local rules decide)",
        features=("guard",),
        found=guard.gap,
        needed=needed.distance,
        advice=Advice(f"make the gap {gap:g} {layout.spec.unit}, or the openings smaller", (Remedy("guard.gap", gap),)),
    )


RULES = (
    Rule(
        "guard",
        "a belt without a guard, or a guard that a hand reaches through or round",
        "the safety distance of its openings",
        "ISO 13857 table 4, published; local rules decide",
        guard,
        levels=("stop", "warn"),
    ),
)

"""The rule on dowel pins between the plate and a part from elsewhere: whether they fit, hold, and change nothing."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from typing import Final, Literal

from platekit.checks.advice import say
from platekit.checks.finding import Advice, FieldValue, Finding, Remedy
from platekit.checks.rule import Rule
from platekit.laying.dowels import sold_as
from platekit.placed import SAME_LENGTH, Layout, PartDowels, PlacedMount
from platekit.tables.shop import shop_figure

HOLD: Final = shop_figure("dowel, least hold in either part, in its diameters")
"""Least of a dowel pin in either part, in its diameters (`shop_figures.csv`)."""
APART: Final = 0.5
"""Pins nearer to each other than this share of the distance of the part's farthest screws let it turn (ours)."""
READ: Final = 0.15
"""A hole measured with a caliper may come off so much, mm (ours: one standard deviation is 0.1 mm or less)."""


def dowels(layout: Layout) -> Iterator[Finding]:
    """Pins (mm) whose holes would have to be drilled into an old part, that do not fit, hold, or keep it in place."""
    for mount in layout.mounts.values():
        if mount.dowels is not None:
            yield from _of(layout, mount, mount.dowels)


def _of(layout: Layout, mount: PlacedMount, pins: PartDowels) -> Iterator[Finding]:
    holes = [one for one in layout.openings if one.name in pins.names]
    size, thick = say(layout, pins.size), layout.thickness
    given = pins.field.endswith(".dowels")
    own = f"{mount.field}.dowels"

    def told(
        level: Literal["stop", "warn", "note"],
        said: str,
        found: float | None,
        needed: float | None,
        *advice: Advice,
        names: tuple[str, ...] = pins.names,
    ) -> Finding:
        first, *others = advice
        at = next((one.center for one in holes if one.name in names), None)
        return Finding(
            rule="dowel",
            level=level,
            message=f"{mount.name}: {said}",
            features=(mount.name, *names),
            at=at,
            found=found,
            needed=needed,
            field=pins.field,
            advice=first,
            others=tuple(others),
        )

    def with_words(key: str, value: FieldValue) -> Remedy:
        return Remedy(f"{own}.{key}", value) if given else Remedy(own, {key: value})

    if pins.together and mount.name in layout.originals:
        yield told(
            "stop",
            f"its holes for {len(pins.names)} dowel pins would be drilled into it with the plate, and it stays as it "
            "was: that is not reversible",
            None,
            None,
            Advice("use dowel holes that it already has (together: false), or leave the pins out"),
        )
    sold = sold_as("metric" if layout.spec.unit == "mm" else "inch", pins.pin)
    if not pins.lengths:
        near = min(sold, key=lambda one: (abs(one.diameter - pins.size), one.diameter)).diameter
        nearest = with_words("size", f"{near:.6g} mm")
        yield told(
            "stop",
            f"no {pins.pin} pin is {size} thick; the nearest is {say(layout, near)}",
            pins.size,
            near,
            Advice(f"take pins of {say(layout, near)}, where they fit the part's holes", (nearest,)),
        )
        return
    yield from _in_the_part(layout, pins, told, with_words)
    least = HOLD * pins.size
    for hold, where in ((thick, "the plate"), (pins.depth, "the part")):
        if hold is not None and hold < least - SAME_LENGTH:
            yield told(
                "warn",
                f"dowel pins of {size} hold {say(layout, hold)} in {where}; {say(layout, least)}, a diameter, is the "
                "least that does not lean",
                hold,
                least,
                Advice("take a thicker plate, or leave the pins out" if where == "the plate" else "leave the pins out"),
            )
    if pins.length is None and pins.depth is None:
        yield told(
            "note",
            "not known how deep its dowel holes are, so that no length of pin can be ordered",
            None,
            None,
            Advice("measure it and give it (dowels: depth)"),
        )
    elif pins.length is None or (pins.depth is not None and pins.length > thick + pins.depth + SAME_LENGTH):
        room = thick + (pins.depth or 0.0)
        long = min(pins.lengths) if pins.length is None else pins.length
        fits = [one for one in pins.lengths if one <= room + SAME_LENGTH]
        shorter = Advice("take the longest that does not stand out (leave `length` out)")
        if fits and pins.length is not None:
            shorter = Advice(f"take pins {say(layout, max(fits))} long", (with_words("length", f"{max(fits):.6g} mm"),))
        yield told(
            "stop",
            f"dowel pins {say(layout, long)} long stand out of plate and part, {say(layout, room)} together",
            room,
            long,
            shorter if fits else Advice("take a thicker plate, or leave the pins out"),
        )
    if len(pins.names) < 2:
        yield told(
            "warn",
            "one dowel pin lets the plate turn about it; two, far apart, bring it back to its place",
            1.0,
            2.0,
            Advice("use a second dowel hole of the part, if it has one; else trust the screws and mark the edges"),
        )
        return
    apart = max(math.dist(a.center, b.center) for a in holes for b in holes)
    across = max((math.dist(a, b) for a in mount.points for b in mount.points), default=0.0)
    if apart < APART * across - SAME_LENGTH:
        yield told(
            "warn",
            f"its dowel pins are {say(layout, apart)} apart at most, its screws {say(layout, across)}: what little "
            f"play they have lets the plate turn; {say(layout, APART * across)} is wanted",
            apart,
            APART * across,
            Advice("use dowel holes of the part that are farther apart, if it has them; else accept it"),
        )


def _in_the_part(
    layout: Layout, pins: PartDowels, told: Callable[..., Finding], with_words: Callable[[str, FieldValue], Remedy]
) -> Iterator[Finding]:
    """Pins that do not go into the part's holes as they were measured, or are loose in them (mm)."""
    size = say(layout, pins.size)
    widest = (pins.springs_to or pins.size) if pins.pin == "spring" else pins.size
    for name, measured in pins.measured:
        thicker = [
            one.diameter
            for one in sold_as("metric" if layout.spec.unit == "mm" else "inch", pins.pin)
            if abs(one.diameter - measured) <= READ
        ]
        other = (
            Advice(
                f"take pins of {say(layout, thicker[0])}",
                (with_words("size", f"{thicker[0]:.6g} mm"),),
            )
            if thicker
            else Advice("measure the hole again with a gauge pin or a drill's shank, and give the size of its own pin")
        )
        if measured < pins.size - READ:
            yield told(
                "stop",
                f"{name} is {say(layout, measured)} in the part, and a pin of {size} does not go in without reaming it "
                "up, which changes the part",
                measured,
                pins.size,
                other,
                names=(name,),
            )
        elif measured > widest + READ:
            springy = Advice(
                "take spring pins (pin: spring), which open in a worn hole", (with_words("pin", "spring"),)
            )
            yield told(
                "warn",
                f"{name} is {say(layout, measured)} in the part, where a pin of {size} is loose",
                measured,
                widest,
                other,
                *([springy] if pins.pin == "parallel" and not thicker else []),
                names=(name,),
            )


RULES = (
    Rule(
        "dowel",
        "dowel pins that would need new holes in an old part, do not fit those that are there, or do not hold",
        f"{HOLD:g} diameter in either part; two pins, {APART:g} of the screws' distance apart; {READ:g} mm for reading "
        "a hole",
        "ISO 8752 (spring pins, published); common practice; ours",
        dowels,
        levels=("stop", "warn", "note"),
        keys=("mounts.NAME.dowels",),
    ),
)

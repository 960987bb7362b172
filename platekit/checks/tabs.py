"""Rules on what stands out of the outline: slender tabs, and what is lower than the feet that a plate stands on."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from platekit.checks.advice import rounded_down, rounded_up, say
from platekit.checks.finding import Advice, Finding, Remedy
from platekit.checks.rule import Rule
from platekit.laying.flange import NAME as FLANGE
from platekit.laying.tongues import FEET, TABS, standing
from platekit.placed import SAME_LENGTH, Layout

SLENDER: Final = 4.0
"""A tab that stands out by more than so many of its widths is bent by hand (ours)."""


LIFTS: Final = frozenset({"lifting", "lift", "eye", "lug", "hoist", "sling", "hook", "chain", "crane"})
"""Words in the name of a tab that say that something is lifted or held by it (ours)."""


def tab(layout: Layout) -> Iterator[Finding]:
    """Tabs (mm) that stand out so far for their width that they catch on things and bend; those by which one lifts."""
    for one in layout.tabs:
        if not LIFTS.isdisjoint(one.name.lower().replace("-", " ").split()):
            yield Finding(
                rule="tab",
                level="note",
                message=f"{one.name}: what the tab may lift is not worked out",
                features=(one.name,),
                at=one.at,
                found=0.0,
                needed=1.0,
                unit="answers",
                field=f"{TABS}.{one.name}",
                advice=Advice(
                    "lift the plate alone by it, and nothing that hangs on the plate, unless a licensed person says "
                    "what it bears; nobody stands under what hangs"
                ),
            )
        most = SLENDER * one.width
        if one.reach <= most + SAME_LENGTH:
            continue
        field = f"{TABS}.{one.name}"
        # its round end stands out as well, and grows with it
        wide = rounded_up(layout, (one.reach - one.width / 2) / (SLENDER - 0.5))
        yield Finding(
            rule="tab",
            level="warn",
            message=f"{one.name}: the tab stands {say(layout, one.reach)} out of the plate and is "
            f"{say(layout, one.width)} wide; more than {say(layout, most)} bends when something catches on it",
            features=(one.name,),
            at=one.at,
            found=one.reach,
            needed=most,
            field=field,
            advice=Advice(
                f"make it {wide:g} {layout.spec.unit} wide, or bring it nearer to the plate",
                (Remedy(f"{field}.width", wide),),
            ),
        )


def feet(layout: Layout) -> Iterator[Finding]:
    """What is lower than the bed (mm) that the plate is to stand on, and a plate with feet that does not stand."""
    stands = layout.feet
    if stands is None:
        return
    if layout.mounting not in (None, "upright"):
        yield Finding(
            rule="feet",
            level="warn",
            message=f"the plate has feet and lies with its {layout.mounting.partition(' ')[0]} side up: it stands on "
            "none of them",
            features=("feet",),
            at=layout.outline.box.center,
            found=0.0,
            needed=1.0,
            unit="feet on the bed",
            field=FEET,
            advice=Advice("say that it stands (plate: mounting: upright)", (Remedy("plate.mounting", "upright"),)),
        )
    frame = standing(layout.up).inverse()
    # the bed may end under the plate, so what hangs lower beside it is told and not forbidden
    for body in layout.bodies:
        if body.is_ground or body.name == FLANGE:
            continue
        box = body.swept.moved(frame).box
        deep = stands.level - box.y0
        if deep <= SAME_LENGTH:
            continue
        lower = rounded_down(layout, box.y0 - body.gap)
        yield Finding(
            rule="feet",
            level="warn",
            message=f"{body.name} reaches {say(layout, deep)} lower than the bed that the plate stands on "
            f"({say(layout, stands.level)} from its zero)",
            features=(body.name, "feet"),
            at=body.shape.centroid,
            found=-deep,
            needed=0.0,
            field=f"{FEET}.level",
            advice=Advice(
                f"stand the plate higher (feet: level: {lower:g}), or let the bed end before it",
                (Remedy(f"{FEET}.level", lower),),
            ),
        )


RULES = (
    Rule(
        "tab",
        "a tab that stands out so far for its width that it bends, or that something is lifted by",
        f"{SLENDER:g} of its widths",
        "ours",
        tab,
        levels=("warn", "note"),
        keys=("plate.tabs.NAME.width",),
    ),
    Rule(
        "feet",
        "what reaches lower than the bed that the feet stand on, and feet of a plate that lies",
        "nothing lower than the bed",
        "geometry",
        feet,
        levels=("warn",),
        keys=("plate.feet.level", "plate.mounting"),
    ),
)

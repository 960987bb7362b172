"""Rules on what stands out of the outline: slender tabs, and what is lower than the feet that a plate stands on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from platekit.checks.advice import rounded_down, rounded_up, say
from platekit.checks.finding import Advice, Finding, Remedy
from platekit.checks.rule import Rule
from platekit.geometry import Disc, distance
from platekit.laying.flange import NAME as FLANGE
from platekit.laying.tongues import FEET, TABS, standing
from platekit.placed import SAME_LENGTH, Body, Layout, Opening

SLENDER: Final = 4.0
"""A tab that stands out by more than so many of its widths is bent by hand (ours)."""


ROOM: Final = 2.0
"""So many diameters of its hole the screw of a tab or foot wants free over the plate (ours)."""
LIFTS: Final = frozenset({"lifting", "lift", "eye", "lug", "hoist", "sling", "hook", "chain", "crane"})
"""Words in the name of a tab that say that something is lifted or held by it (ours)."""


def tab(layout: Layout) -> Iterator[Finding]:
    """Tabs (mm) that stand out so far for their width that they catch on things and bend; those by which one lifts."""
    yield from _covered(layout, "tab", [one for one in layout.openings if one.field.startswith(f"{TABS}.")])
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


def _covered(layout: Layout, rule: str, holes: Sequence[Opening]) -> Iterator[Finding]:
    """Holes of tabs and feet that something lies over, so near (mm) that no screw gets in."""
    low, high = layout.plate_z
    for hole in holes:
        room, head = ROOM * hole.size, Disc(hole.center, hole.size)
        over: dict[str, list[Body]] = {"near": [], "far": []}
        for body in layout.bodies:
            if body.is_ground or body.name == FLANGE:
                continue
            off = {"near": body.z[0] - high, "far": low - body.z[1]}
            for side, gap in off.items():
                if -SAME_LENGTH <= gap < room - SAME_LENGTH and distance(body.swept, head).distance < -SAME_LENGTH:
                    over[side].append(body)
        # What belongs to the old machine may be what the hole is screwed to: that takes one of its sides.
        new = [one for bodies in over.values() for one in bodies if one.carrier not in layout.originals]
        if not new and not all(over.values()):
            continue
        body = (new or over["near"])[0]
        off_by = body.z[0] - high if body.z[0] > low else low - body.z[1]
        yield Finding(
            rule=rule,
            level="warn",
            message=f"{hole.name}: {body.name} lies {say(layout, max(off_by, 0.0))} over the hole: no screw or nut "
            f"goes in there; {say(layout, room)} is wanted",
            features=(hole.name, body.name),
            at=hole.center,
            found=max(off_by, 0.0),
            needed=room,
            advice=Advice(f"move the hole or {body.name}; where the screw goes in before that comes, accept it so"),
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
    yield from _covered(layout, "feet", [one for one in layout.openings if one.field.startswith(FEET)])
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
        "a tab so slender that it bends, whose hole is covered, or that something is lifted by",
        f"{SLENDER:g} of its widths; {ROOM:g} diameters of its hole free over the plate",
        "ours",
        tab,
        levels=("warn", "note"),
        keys=("plate.tabs.NAME.width",),
    ),
    Rule(
        "feet",
        "what reaches lower than the bed that the feet stand on or covers their holes, and feet of a plate that lies",
        f"nothing lower than the bed; {ROOM:g} diameters of a hole free over the plate",
        "geometry; ours",
        feet,
        levels=("warn",),
        keys=("plate.feet.level", "plate.mounting"),
    ),
)

"""The rule on lightening openings: nothing is taken out of a plate of which nobody knows what it bears."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from platekit.checks.advice import rounded_up, say
from platekit.checks.finding import Advice, Finding, Remedy
from platekit.checks.rule import Rule
from platekit.checks.strength import gap_in
from platekit.laying.lighten import FIELD, webs_wanted
from platekit.placed import Layout
from platekit.units import mm_per

NARROWER: Final = (0.75, 0.5)
"""Shares of a web's width that are tried where it leaves no opening (ours)."""


def lighten(layout: Layout) -> Iterator[Finding]:
    """Lightening openings without a strength that was worked out, or none at all; else what they save (kg)."""
    web = webs_wanted(layout)
    if web is None:
        return
    found, unit = layout.lightening, layout.spec.unit
    if not found:
        ideas = []
        for part in NARROWER:
            width = rounded_up(layout, part * web)
            if width * mm_per(unit) >= layout.limits.web.value:
                said = f"make the webs {width:g} {unit} wide (lighten: web: {width:g})"
                ideas.append(Advice(said, (Remedy(f"{FIELD}.web", width),)))
        ideas.append(Advice("take it out: there is no steel to spare between the openings"))
        yield Finding(
            rule="lighten",
            level="note",
            message=f"lightening openings are asked for, and webs of {say(layout, web)} leave room for none",
            features=("plate",),
            found=0.0,
            needed=1.0,
            unit="openings",
            field=FIELD,
            advice=ideas[0],
            others=tuple(ideas[1:]),
        )
        return
    area = math.fsum(one.shape.area for one in found)
    saved = area * layout.thickness * layout.material.density * 1e-9
    whole = layout.mass + saved
    share = f"{saved:.3g} kg of {whole:.3g} kg"
    names = tuple(one.name for one in found)
    gap = gap_in(layout)
    if gap is not None:
        yield Finding(
            rule="lighten",
            level="stop",
            message=f"{len(found)} lightening openings take {share} off, and whether the plate still holds is not "
            f"worked out: {gap.why}",
            features=names,
            at=found[0].center,
            found=0.0,
            needed=1.0,
            unit="answers",
            field=FIELD,
            advice=Advice(gap.advice or "say what it carries (mounts: NAME: mass)"),
            others=(Advice("leave the openings out (plate: lighten)"),),
        )
        return
    yield Finding(
        rule="lighten",
        level="note",
        message=f"{len(found)} lightening openings between webs of {say(layout, web)} take {share} off; strength was "
        "worked out with them",
        features=names,
        at=found[0].center,
        found=saved,
        needed=0.0,
        unit="kg",
        field=FIELD,
        advice=Advice("deburr them: chips and hands get there; where dirt must not fall through, leave them out"),
    )


RULES = (
    Rule(
        "lighten",
        "lightening openings in a plate of which nothing says what it bears, and what they save",
        "an answer from strength",
        "ours",
        lighten,
        levels=("stop", "note"),
        keys=("plate.lighten.web",),
    ),
)

"""Rules on masses: one that no motor of the frame has, one whose middle is not in its part, one too heavy to lift."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from platekit.checks.advice import say
from platekit.checks.finding import Advice, Finding
from platekit.checks.rule import Rule
from platekit.laying.shafts import span_on
from platekit.placed import Layout, PlacedMount
from platekit.tables.motor_frames import motor_mass
from platekit.units import show_mass

LIGHT: Final = 0.6
"""A motor lighter than this share of the lightest of its frame is another one, or the unit slipped (ours)."""
HEAVY: Final = 3.0
"""And heavier than this many times the heaviest: frames of cast iron, a brake, a gear and a pulley are below (ours)."""
ONE_LIFTS: Final = 25.0
"""The most that one person lifts, close to the body and seldom, kg (ISO 11228-1:2003, reference mass, published)."""
OUTSIDE: Final = 5.0
"""How far beyond all bodies of its part a middle may be told, mm (ours: bodies are rounded, pulleys not counted)."""


def mass(layout: Layout) -> Iterator[Finding]:
    """Masses (kg) and their middles (mm) that the part they are told of can hardly have."""
    for mount in layout.mounts.values():
        told = mount.mass
        if told is None:
            continue
        yield from _of_frame(layout, mount)
        # What a part consists of: its own bodies, without its shaft and what runs on that.
        reaches = [
            span_on(layout, mount, body.z)
            for body in layout.bodies
            if body.carrier == mount.name and body.kind == "given" and not body.turns
        ]
        reaches = [span for span in reaches if span[1] > 0]
        height = told.centre[2]
        # where no body says how far the part reaches, it is on its own side of the plate at least
        if not reaches and height >= -layout.thickness - OUTSIDE:
            continue
        low = min((0.0, *(span[0] for span in reaches)))
        high = max((span[1] for span in reaches), default=math.inf)
        if low - OUTSIDE <= height <= high + OUTSIDE:
            continue
        bound = high if height > high else low
        other = " on the other side of the plate" if height < -layout.thickness else ""
        reach = "its part is on its own side"
        if reaches:
            reach = f"its bodies reach from {say(layout, low)} to {say(layout, high)}"
        yield Finding(
            rule="mass",
            level="warn",
            message=f"{mount.name}: the middle of its mass is told {say(layout, height)} out of its mating "
            f"face{other}; {reach}",
            features=(mount.name, *mount.hole_names),
            at=(mount.pose.x, mount.pose.y),
            found=height,
            needed=bound,
            advice=Advice(
                "the height counts from the mating face into the part's own side: look at its sign, and weigh the "
                "part on a bar"
            ),
        )


def _of_frame(layout: Layout, mount: PlacedMount) -> Iterator[Finding]:
    told = mount.mass
    usual = None if mount.standard is None else motor_mass(mount.standard)
    if told is None or usual is None or told.by_frame or mount.standard is None:
        return
    light = told.most < LIGHT * usual.least
    if not light and told.least <= HEAVY * usual.most:
        return
    found, needed = (told.most, usual.least) if light else (told.least, usual.most)
    yield Finding(
        rule="mass",
        level="warn",
        message=f"{mount.name}: it is said to weigh {found:.3g} kg; motors of {mount.standard.designation} weigh "
        f"{usual.least:g} to {usual.most:g} kg ({usual.source}), with all that moves with them rather more",
        features=(mount.name, *mount.hole_names),
        at=(mount.pose.x, mount.pose.y),
        found=found,
        needed=needed,
        unit="kg",
        advice=Advice(
            "look at the motor's rating plate and at the unit, or write total: frame for what the table says"
        ),
    )


def heavy(layout: Layout) -> Iterator[Finding]:
    """Plates and parts (kg) that are more than one person lifts."""
    found = [(layout.subject, ("outline",), layout.mass, layout.outline.box.center, "plate")]
    for mount in layout.mounts.values():
        if mount.name in layout.originals:
            continue
        usual = None if mount.standard is None else motor_mass(mount.standard)
        weighs = mount.mass.least if mount.mass is not None else 0.0 if usual is None else usual.least
        found.append((mount.name, (mount.name,), weighs, (mount.pose.x, mount.pose.y), mount.field))
    unit = layout.spec.unit
    for name, features, weighs, at, field in found:
        if weighs <= ONE_LIFTS:
            continue
        yield Finding(
            rule="heavy",
            level="note",
            message=f"{name} weighs {'' if field == 'plate' else 'at least '}{show_mass(weighs, unit, '.0f')}; one "
            f"person lifts {show_mass(ONE_LIFTS, unit, '.0f')} at most, and less at arm's length",
            features=features,
            at=at,
            found=weighs,
            needed=ONE_LIFTS,
            unit="kg",
            field=field,
            advice=Advice("have a second person or a hoist there, and hold it up until its screws are in"),
        )


RULES = (
    Rule(
        "heavy",
        "a plate or part that one person cannot lift",
        f"{ONE_LIFTS:g} kg",
        "ISO 11228-1:2003, reference mass (published)",
        heavy,
        levels=("note",),
    ),
    Rule(
        "mass",
        "a mass that its part cannot have, or whose middle is outside of it",
        f"{LIGHT:g} times the lightest, {HEAVY:g} times the heaviest of the frame (motor_mass.csv); {OUTSIDE:g} mm "
        "beyond its bodies",
        "motor_mass.csv, each row with its kind; ours",
        mass,
        levels=("warn",),
        keys=("mounts.NAME.mass",),
    ),
)

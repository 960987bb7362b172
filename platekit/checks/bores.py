"""The rule on what is left of a pulley round its shaft: the steel between keyway and groove."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from platekit import tables
from platekit.checks.advice import say
from platekit.checks.drive_edits import resize
from platekit.checks.finding import Advice, Finding
from platekit.checks.rule import Rule
from platekit.geometry import Disc
from platekit.laying.shafts import key_on, on_the_axis
from platekit.placed import Layout, PlacedBelt, PlacedPulley
from platekit.tables import belts

LEFT: Final = 0.1
"""Steel over the keyway, as a share of the bore, below which a hub splits (ours: catalogues leave twice that)."""
LEAST_LEFT: Final = 1.0
"""And never less than this, mm (ours)."""


def bore(layout: Layout) -> Iterator[Finding]:
    """Pulleys (mm) of which their own shaft leaves nothing, or too little over its keyway."""
    for belt in layout.belts:
        if belt.impossible:
            continue
        for pulley in (belt.driver, belt.driven):
            across = _shaft(layout, pulley)
            root = None if across is None else root_diameter(belt, pulley)
            if across is None or root is None:
                continue
            key = key_on(layout, pulley.mount) or tables.usual_key(across)
            deep = 0.0 if key is None else key.hub_depth
            left, needed = (root - across) / 2 - deep, max(LEAST_LEFT, LEFT * across)
            if left >= needed:
                continue
            none = root <= across
            keyed = "" if key is None else f" and its keyway {say(layout, deep)} deep"
            change = resize(
                layout,
                belt,
                "driver" if pulley is belt.driver else "driven",
                pulley.pitch_diameter + 2 * (needed - left),
                up=True,
            )
            yield Finding(
                rule="bore",
                level="stop" if none else "warn",
                message=f"{belt.name}: {pulley.name} is {say(layout, root)} at the bottom of its grooves; its shaft of "
                f"{say(layout, across)}{keyed} leave{'' if keyed else 's'} "
                + ("nothing of it" if left <= 0 else f"{say(layout, left)}; {say(layout, needed)} is needed"),
                features=(pulley.name, pulley.mount),
                at=pulley.at,
                found=left,
                needed=needed,
                advice=Advice(f"use {change.said}, or have the shaft turned down"),
            )


def _shaft(layout: Layout, pulley: PlacedPulley) -> float | None:
    """Diameter of the shaft under a pulley's rim, mm; None where nothing tells of it."""
    if pulley.drawn.lies:
        return None
    under = [
        2 * body.shape.radius
        for body in layout.bodies
        if isinstance(body.shape, Disc)
        and body.kind in ("given", "standard")
        and body.pulley is None
        and ("shaft" in body.name.lower() or body.measured)
        and min(body.z[1], pulley.z[1]) > max(body.z[0], pulley.z[0])
        and body.carrier == pulley.mount
        and on_the_axis(body, pulley)
    ]
    return max(under, default=None)


def root_diameter(belt: PlacedBelt, pulley: PlacedPulley) -> float | None:
    """Diameter at the bottom of a pulley's grooves, mm; of a toothed one over its teeth. None without a section."""
    section = None if belt.request.belt is None else belt.request.belt.section
    if section is None:
        return None
    if belts.section(section).toothed:
        return belts.stated_diameter(section, pulley.pitch_diameter, "outside")
    return pulley.pitch_diameter - 2 * belts.groove(section, pulley.pitch_diameter).below


RULES = (
    Rule(
        "bore",
        "a pulley too small for the shaft that it sits on",
        f"{LEFT:g} of the bore over the keyway, {LEAST_LEFT:g} mm at least; nothing at all stops",
        "grooves.csv, iso_773_key.csv, each row with its kind; ours",
        bore,
        levels=("stop", "warn"),
        keys=("drive.driver.pitch_diameter", "drive.driven.pitch_diameter"),
    ),
)

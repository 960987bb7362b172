"""Rules on idlers: how tightly they bend the belt, and whether the screw that one turns on bears the belt's pull."""

from __future__ import annotations

import math
from collections.abc import Iterator

from platekit import tables
from platekit.checks.advice import rounded_up, say, words_at
from platekit.checks.finding import Advice, Finding, Remedy
from platekit.checks.rule import Rule
from platekit.errors import DriveError, LookupFailed
from platekit.placed import Layout, PlacedBelt, PlacedPulley
from platekit.tables.shop import shop_figure
from platekit.tables.torques import USUAL_CLASS

BACK_BEND = 1.5
"""An idler on a belt's back is so many times as large as the smaller pulley at least. Source: maintenance manual of a
belt maker (ContiTech, belt drives, chapter idlers), published; one inside is as large as that pulley."""
SAME_SIZE = 0.01
"""An idler that falls short by so small a share is of the size that is wanted (ours)."""
PIN_SHARE = shop_figure("idler pin, share of yield")
"""Share of a screw's yield strength that the belt's pull may make in the pin of an idler: it bends with every change of
load (`shop_figures.csv`)."""
PINS = ("M8", "M10", "M12", "M16", "M20", "M24")
"""Screws that an idler may turn on, the smallest first (ours)."""


def idler_size(layout: Layout) -> Iterator[Finding]:
    """Idlers (diameter, mm) that bend the belt more tightly than it should be bent."""
    for belt in layout.belts:
        small = min(belt.driver, belt.driven, key=lambda one: round(one.pitch_diameter, 6))
        for idler in belt.idlers:
            factor = 1.0 if idler.inside else BACK_BEND
            least = factor * small.pitch_diameter
            if idler.pitch_diameter >= least * (1 - SAME_SIZE):
                continue
            wanted = rounded_up(layout, least)
            how = "bends the belt backwards" if not idler.inside else "runs inside the belt"
            yield Finding(
                rule="idler-size",
                level="warn",
                message=f"{belt.name}: {idler.name} {how} and has {say(layout, idler.pitch_diameter)} diameter; "
                f"{say(layout, least)} is wanted, {factor:g} times that of {small.name} (a belt maker's manual, "
                "published)",
                features=(idler.name, belt.name),
                at=idler.at,
                found=idler.pitch_diameter,
                needed=least,
                advice=Advice(
                    f"use one of {say(layout, least)} or more ({idler.field}.diameter: {wanted:g})",
                    (Remedy(f"{idler.field}.diameter", wanted),),
                ),
                others=(Advice("use a larger one and move it as much farther from the belt, or another belt"),),
            )


def idler_load(belt: PlacedBelt, idler: PlacedPulley) -> float | None:
    """The force of the belt on an idler (N): both runs with the tension of the tight side, or of a new belt at rest.

    Which run is the tight one depends on which way the motor turns, which nothing says: the larger is taken. None where
    no motor is given, or the belt does not touch.
    """
    from platekit.drive.limits import NEW_BELT_EXTRA
    from platekit.drive.route import Wheel, route

    forces = belt.result.forces
    if forces is None:
        return None
    wheels = [Wheel(*one.center, one.pitch_diameter, one.inside) for one in belt.pulleys]
    try:
        wrap = route(wheels).wraps[belt.pulleys.index(idler)]
    except DriveError:
        return None
    # two equal pulls meet at the idler at the angle of its wrap: their sum is twice one times the sine of half of it
    tension = max(forces.running.tight, forces.static_tension * NEW_BELT_EXTRA)
    return 2 * tension * math.sin(min(wrap, math.pi) / 2)


def idler_pin(layout: Layout) -> Iterator[Finding]:
    """Screws that idlers on the plate turn on and that the belt's pull (N) bends, out of the plate's face."""
    for belt in layout.belts:
        for idler in belt.idlers:
            if idler.mount in layout.mounts:
                continue
            size, load = words_at(layout, idler.field).screw, idler_load(belt, idler)
            if size is None or load is None:
                continue
            low, high = layout.plate_z
            arm = max(idler.plane - high, low - idler.plane, 0.0)
            bends = _bending(size, load, arm)
            if bends is None or bends[0] <= bends[1]:
                continue
            stress, allowed = bends
            better = None
            for one in PINS:
                then = _bending(one, load, arm)
                if then is not None and then[0] <= then[1]:
                    better = one
                    break
            remedies = () if better is None else (Remedy(f"{idler.field}.screw", better),)
            said = "bring it nearer to the plate, or carry its other end as well (a bracket)"
            yield Finding(
                rule="idler-pin",
                level="stop" if stress > allowed / PIN_SHARE else "warn",
                message=f"{belt.name}: the belt pulls {idler.name} with {load:.0f} N, {say(layout, arm)} from the face "
                f"of the plate; that makes {stress:.0f} N/mm2 of bending in its {size} screw, {allowed:.0f} N/mm2 is "
                f"half of what class {USUAL_CLASS['metric']} yields at",
                features=(idler.name, belt.name),
                at=idler.at,
                found=stress,
                needed=allowed,
                unit="N/mm2",
                advice=Advice(said if better is None else f"let it turn on {better}, or {said}", remedies),
            )


def _bending(size: str, load: float, arm: float) -> tuple[float, float] | None:
    """Bending stress in the thread of a screw that is held in the plate, and what is allowed, N/mm2.

    As a round bar of its stress area: M / W with W = pi d^3 / 32. None for a screw that no table has.
    """
    try:
        screw = tables.screw(size)
        allowed = PIN_SHARE * tables.property_class(USUAL_CLASS[screw.system], size).yield_strength
    except LookupFailed:
        return None
    diameter = math.sqrt(4 * screw.stress_area / math.pi)
    return 32 * load * arm / (math.pi * diameter**3), allowed


RULES = (
    Rule(
        "idler-size",
        "an idler that bends the belt too tightly",
        "the smaller pulley's diameter; 1.5 times that on the belt's back",
        "a belt maker's manual, published",
        idler_size,
        levels=("warn",),
        keys=("drive.idlers.N.diameter",),
    ),
    Rule(
        "idler-pin",
        "an idler's screw that the belt's pull bends",
        "half the screw's yield strength",
        "strength of screws (each row with its kind), the share from memory",
        idler_pin,
        levels=("stop", "warn"),
        keys=("drive.idlers.N.screw",),
    ),
)

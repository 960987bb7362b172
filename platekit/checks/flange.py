"""The rule on a bent flange: whether a press brake can make it, and holes that the bend would draw out of shape."""

from __future__ import annotations

from collections.abc import Iterator

from platekit.checks.advice import in_units, moved_remedy, mover, rounded_up, say
from platekit.checks.finding import Advice, Finding, Remedy
from platekit.checks.rule import Rule
from platekit.geometry import Point
from platekit.laying.flange import (
    FIELD,
    HOLE_IN_THICKNESSES,
    LEG_IN_DIES,
    die_opening,
    press_force,
    press_words,
    shortest_height,
    tightest,
    usual_radius,
)
from platekit.placed import SAME_LENGTH, Layout, Opening, PlacedFlange
from platekit.units import mm_per, show_length

LEAVE_OUT = Advice("leave the flange out and weld a flat bar on edge instead (plate: ribs)")


def flange(layout: Layout) -> Iterator[Finding]:
    """A material that is not bent cold, a bend too tight, a leg too short for its die, holes beside the bend (mm)."""
    bent = layout.flange
    if bent is None:
        return
    unit, middle = layout.spec.unit, bent.bend_line.at(0.5)
    least = tightest(layout.material, layout.thickness)
    if least is None:
        yield Finding(
            rule="flange",
            level="stop",
            message=f"{layout.material.name} is not bent cold on a brake: it breaks or springs back",
            features=("plate.flange",),
            at=middle,
            found=bent.radius,
            needed=bent.radius + layout.thickness,
            field=FIELD,
            advice=LEAVE_OUT,
        )
        return
    if bent.radius < least - SAME_LENGTH:
        wider = rounded_up(layout, usual_radius(layout.material, layout.thickness))
        edits = [Remedy(f"{FIELD}.radius", wider)]
        die = die_opening(layout.thickness, wider * mm_per(unit))
        higher = rounded_up(layout, LEG_IN_DIES * die - layout.thickness)
        if higher > in_units(layout, bent.height):
            edits.append(Remedy(f"{FIELD}.height", higher))
        yield Finding(
            rule="flange",
            level="stop",
            message=f"an inside radius of {say(layout, bent.radius)} cracks {show_length(layout.thickness, unit)} "
            f"{layout.material.name} on its outside; {say(layout, least)} is needed",
            features=("plate.flange",),
            at=middle,
            found=bent.radius,
            needed=least,
            field=f"{FIELD}.radius",
            advice=Advice(f"bend it round {wider:g} {unit} (flange: radius: {wider:g})", tuple(edits)),
        )
    short = shortest_height(bent)
    if bent.height < short - SAME_LENGTH:
        higher = rounded_up(layout, short)
        yield Finding(
            rule="flange",
            level="stop",
            message=f"the flange stands {say(layout, bent.height)} off the face; less than {say(layout, short)} slips "
            f"into its die, which opens {say(layout, bent.die)}, before it is bent",
            features=("plate.flange",),
            at=middle,
            found=bent.height,
            needed=short,
            field=f"{FIELD}.height",
            advice=Advice(
                f"let it stand {higher:g} {unit} off the face (flange: height: {higher:g}), or cut it so and trim it "
                "when bent",
                (Remedy(f"{FIELD}.height", higher),),
            ),
        )
    yield from _beside(layout, bent)
    force = press_force(bent, layout.material.family or "")
    long = show_length(bent.length, unit)
    needs = "" if force is None else f", a press of about {press_words(force, unit)} ({long} long)"
    yield Finding(
        rule="flange",
        level="note",
        message=f"the {bent.edge} edge is bent towards the {bent.side} side: die opening {say(layout, bent.die)}{needs}"
        "; strength counts its weight and leaves its stiffness out, so the plate bends less and swings quicker than "
        "told",
        features=("plate.flange",),
        at=middle,
        found=bent.height,
        needed=short,
        field=FIELD,
        advice=Advice("bend a strip of the same plate first and measure it; correct the blank by what is off"),
    )


def _beside(layout: Layout, bent: PlacedFlange) -> Iterator[Finding]:
    """Openings nearer to where the bend begins than a hole keeps its shape, or past it (mm)."""
    (ox, oy), (sx, sy) = bent.out, bent.start
    ux, uy = -oy, ox
    needed = HOLE_IN_THICKNESSES * layout.thickness
    for opening in layout.openings:
        spots = [edge.at(share) for edge in opening.shape.loop().edges for share in (0.0, 0.25, 0.5, 0.75)]
        along = [(x - sx) * ux + (y - sy) * uy for x, y in spots]
        if max(along) < -needed or min(along) > bent.length + needed:
            continue
        room = _room(opening, (ox, oy), (sx, sy))
        if room >= needed - SAME_LENGTH:
            continue
        missing = needed - room
        movable = mover(layout, opening)
        if movable is not None:
            step = missing + 0.1
            said, remedy = moved_remedy(layout, movable, (-step * ox, -step * oy))
            advice = Advice(said, (remedy,))
        else:
            advice = Advice(
                f"make the plate {say(layout, missing)} larger towards the bend, drill the hole when it is bent, or "
                "bend another edge"
            )
        lies = f"is {say(layout, room)} from where the bend begins" if room > 0 else "lies in the bend or beyond it"
        yield Finding(
            rule="flange",
            level="stop",
            message=f"{opening.name} {lies}; nearer than {say(layout, needed)} it is drawn out of shape",
            features=(opening.name, "plate.flange"),
            at=opening.center,
            found=room,
            needed=needed,
            field=FIELD,
            advice=advice,
            others=(LEAVE_OUT,) if movable is not None else (),
        )


def _room(opening: Opening, out: Point, start: Point) -> float:
    """How far an opening keeps off the line on which a bend begins, mm; under 0 beyond it."""
    reach = max(
        (x - start[0]) * out[0] + (y - start[1]) * out[1]
        for edge in opening.shape.loop().edges
        for x, y in (edge.a, edge.at(0.125), edge.at(0.25), edge.at(0.375), edge.at(0.5), edge.at(0.625), edge.at(0.75))
    )
    return -reach


RULES = (
    Rule(
        "flange",
        "a flange that a press brake cannot make, and holes that its bend draws out of shape",
        "radius by material, leg by die opening, holes two thicknesses off the bend",
        "air bending charts; the rest from memory",
        flange,
        levels=("stop", "note"),
        keys=("plate.flange.height", "plate.flange.radius"),
    ),
)

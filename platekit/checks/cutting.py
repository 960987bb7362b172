"""Rules on the process: what a cut leaves at the far face, how far it comes off, whether the head can pierce."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from typing import Final

from platekit.checks.advice import rounded_up, say
from platekit.checks.finding import Advice, Finding, Remedy
from platekit.checks.rule import Rule
from platekit.cutting import Capability, Operations, can_pierce, capability_of, must_pass, operations_of, suitability
from platekit.cutting.capability import CUT_DRY, HYDROGEN, HYDROGEN_SOURCE
from platekit.geometry import Disc, Loop, Point, Shape
from platekit.geometry.narrow import narrowest
from platekit.placed import Layout, Opening
from platekit.tables.processes import cutting_of, process_names, process_traits
from platekit.units import mm_per

SLACK = 1e-6
"""Lengths this near are equal, mm (ours)."""
FINE = 0.005
"""How closely a width is searched for when it is told, mm (ours)."""
TRIES = 8
"""How often a wider hole is looked for: its scatter steps up with its size (ours; two are enough)."""


def _left_as_cut(layout: Layout) -> Iterator[tuple[Opening, Operations]]:
    for opening, operations in zip(layout.openings, operations_of(layout), strict=True):
        if operations.cut is not None and not operations.small:
            yield opening, operations


# --------------------------------------------------------------------------------------------- what it cuts


POISONOUS: Final = {
    "pvc": "hydrogen chloride",
    "vinyl": "hydrogen chloride",
    "ptfe": "hydrogen fluoride",
    "teflon": "hydrogen fluoride",
}
"""Words in a material's name, and what its smoke is (common practice: no shop burns them)."""
HOT_CUTS: Final = frozenset({"laser", "plasma", "oxy-fuel"})
"""Processes that burn what they cut (common practice)."""
ROUTED: Final = (Remedy("cutting.process", "router"),)


def process(layout: Layout) -> Iterator[Finding]:
    """A process that does not cut the plate's material, or not in its thickness (mm)."""
    found = suitability(layout)
    row, name = found.row, layout.cutting.process
    poison = next((gas for word, gas in POISONOUS.items() if word in layout.material.name.lower()), None)
    if poison is not None and name in HOT_CUTS:
        yield Finding(
            rule="process",
            level="stop",
            message=f"{name} must not cut {layout.material.name}: its smoke is {poison}, which poisons whoever stands "
            "there and eats the machine (common practice)",
            features=("outline",),
            at=layout.outline.box.center,
            advice=Advice("have it routed, or cut by waterjet (cutting: process: router)", ROUTED),
            acceptable=False,
        )
        return
    if row is None or found.fitness == "good":
        return
    what = f"{say(layout, layout.thickness)} of {layout.material.name}"
    source = f"{row.source.name}, {row.source.kind}"
    # Only what cuts this metal every day in this thickness is advised, not what just can.
    family, fits = layout.material.family, []
    for one in process_names():
        cuts = None if family is None else cutting_of(one, family)
        if cuts is not None and cuts.cuts == "yes" and process_traits(one).table:
            thin, thick = cuts.thinnest or 0.0, math.inf if cuts.usual is None else cuts.usual
            if thin - SLACK <= layout.thickness <= thick + SLACK:
                fits.append(one)
    edit = (Remedy("cutting.process", fits[0]),) if fits else ()
    most, usual, thinnest = ("" if one is None else say(layout, one) for one in (row.most, row.usual, row.thinnest))
    other = f"name a process that does (cutting: process: {' or '.join(fits)})" if fits else "take another material"
    limits: dict[str, tuple[float | None, str, str]] = {
        "beyond": (row.most, f"{name} cuts it up to {most}, and that only on special plants", other),
        "unusual": (
            row.usual,
            f"shops cut it by {name} up to {usual} every day; more is for few",
            "ask whoever cuts it before you order, or name your own machine's file with a row for this thickness",
        ),
        "thin": (
            row.thinnest,
            f"{name} cuts it from {thinnest} upward; thinner, it warps and burns away at the edges",
            other,
        ),
    }
    if found.fitness in limits:
        limit, told, advice = limits[found.fitness]
        yield Finding(
            rule="process",
            level="stop" if found.fitness == "beyond" else "warn",
            message=f"{layout.subject} is {what}; {told} ({source})",
            features=("outline",),
            at=layout.outline.box.center,
            found=layout.thickness,
            needed=limit,
            advice=Advice(advice, edit if advice == other else ()),
        )
        return
    verbs = {"no": "does not cut", "hardly": "does not cut, but in few special shops,", "poorly": "cuts badly"}
    yield Finding(
        rule="process",
        level="warn" if found.fitness == "poorly" else "stop",
        message=f"{name} {verbs[found.fitness]} {layout.material.name}: {row.why} ({source})",
        features=("outline",),
        at=layout.outline.box.center,
        advice=Advice(other if found.fitness != "poorly" else f"ask whoever cuts it first, or {other}", edit),
        acceptable=found.fitness != "no",
    )


def water_table(layout: Layout) -> Iterator[Finding]:
    """Aluminium under a plasma torch: over a water table hydrogen gathers, which explodes."""
    if layout.cutting.process != "plasma" or layout.material.family != "aluminium":
        return
    fits = [
        one
        for one in ("laser", "waterjet", "router")
        if (row := cutting_of(one, "aluminium")) is not None
        and row.cuts == "yes"
        and (row.thinnest or 0.0) - SLACK <= layout.thickness <= (row.usual or math.inf) + SLACK
    ]
    other = Advice(f"or have it cut by {fits[0]} (cutting: process: {fits[0]})", (Remedy("cutting.process", fits[0]),))
    yield Finding(
        rule="water-table",
        level="warn",
        message=f"{layout.subject} is {layout.material.name} and cut by plasma. {HYDROGEN} ({HYDROGEN_SOURCE})",
        features=("outline",),
        at=layout.outline.box.center,
        advice=Advice(
            f"{CUT_DRY}; then accept this with how it is cut "
            "(accept: {rule: water-table, feature: outline, because: ...})"
        ),
        others=(other,) if fits else (),
    )


# --------------------------------------------------------------------------------------------- what passes


def taper(layout: Layout) -> Iterator[Finding]:
    """A hole (mm) that lets its screw or spigot in at the top and not out at the bottom."""
    capability = capability_of(layout)
    for opening, passing in cut_to_pass(layout):
        # holes come out off by as much each time, and the cut leans: both count in full; scatter is left to chance
        narrow = opening.size + capability.hole_error.value - capability.taper_loss
        if narrow >= passing - SLACK:
            continue
        advice = _wider(layout, capability, opening, passing)
        yield Finding(
            rule="taper",
            level="stop",
            message=f"{opening.name}: {say(layout, opening.size)} at the face that is cut from is "
            f"{say(layout, narrow)} at the "
            f"other: {_tapered(layout, capability, opening)}; {say(layout, passing)} must pass",
            features=(opening.name,),
            at=opening.center,
            found=narrow,
            needed=passing,
            advice=advice,
        )
    # Only where the spec itself says so: a machine's file says what its torch does.
    if layout.cutting.process == "plasma" and layout.cutting.direction == "counter-clockwise":
        yield Finding(
            rule="taper",
            level="note",
            message="the outside is to run counter-clockwise: with the usual swirl the square side of a plasma cut is "
            "on the right of its way, so that the leaning one comes to lie on the plate and in its holes",
            features=("outline",),
            at=layout.outline.box.center,
            advice=Advice(
                "take `direction` out, unless your torch has the other swirl ring",
                (Remedy("cutting.direction", "clockwise"),),
            ),
        )


def tolerance(layout: Layout) -> Iterator[Finding]:
    """A hole (mm) that passes as drawn, but not when it comes out at the small end of what the process holds."""
    capability = capability_of(layout)
    for opening, passing in cut_to_pass(layout):
        narrow = opening.size + capability.hole_error.value - capability.taper_loss
        small = capability.small_end(opening.size)
        if small >= passing - SLACK or narrow < passing - SLACK:
            continue
        scatter = capability.scatter(opening.size)
        advice = _wider(layout, capability, opening, passing)
        yield Finding(
            rule="tolerance",
            level="warn",
            message=f"{opening.name}: {say(layout, opening.size)} may turn out {say(layout, small)} at its small end: "
            f"{_tapered(layout, capability, opening)}, less {say(layout, scatter.value)} of scatter "
            f"({scatter.source}); {say(layout, passing)} must pass",
            features=(opening.name,),
            at=opening.center,
            found=small,
            needed=passing,
            advice=advice,
        )


def _tapered(layout: Layout, capability: Capability, opening: Opening) -> str:
    """How the narrow face of a cut opening follows from its size, term by term, so that it can be added up again."""
    error, lean = capability.hole_error.value, math.degrees(capability.taper.value)
    said = say(layout, opening.size)
    if error:
        word = "less" if error < 0 else "and"
        said += f" {word} {say(layout, abs(error))} that this machine's holes come off ({capability.hole_error.source})"
    return (
        f"{said} less {say(layout, capability.taper_loss)} of taper ({lean:g} degrees on both sides of "
        f"{say(layout, layout.thickness)}; {capability.taper.source})"
    )


def cut_to_pass(layout: Layout) -> Iterator[tuple[Opening, float]]:
    """The openings that stay as cut, with the diameter of what goes through them, mm."""
    for opening, _ in _left_as_cut(layout):
        passing = must_pass(layout, opening)
        if passing is not None and opening.size > 0:
            yield opening, passing


def _wider(layout: Layout, capability: Capability, opening: Opening, passing: float) -> Advice:
    """Advice to drill a round hole, or to make a slot as wide as the process needs it."""
    if isinstance(opening.shape, Disc) and opening.role == "screw":
        return Advice(
            "leave how it is made to the process, which drills it (made: auto)",
            (Remedy(f"mounts.{opening.mount}.screws.made", "auto"),),
        )
    wide = opening.size
    # a wider hole scatters more in the standard's tables: so it is asked again until its small end passes
    for _ in range(TRIES):
        wide = rounded_up(layout, passing + wide - capability.small_end(wide)) * mm_per(layout.spec.unit)
        if capability.small_end(wide) >= passing:
            break
    shown = rounded_up(layout, wide)
    if opening.role == "pilot":
        clearance = rounded_up(layout, wide - passing)
        return Advice(
            f"give the pilot a clearance of {clearance:g} {layout.spec.unit}",
            (
                (Remedy(f"{opening.field}.clearance", clearance),)
                if layout.mounts[opening.mount or ""].standard is None
                else ()
            ),
        )
    # where the spec says how wide the holes of a mount are
    own = layout.mounts[opening.mount] if opening.role == "screw" and opening.mount is not None else None
    field = None if own is None else own.hole_field
    key = f" (hole: {shown:g})" if field else ""
    sentence = f"make it {shown:g} {layout.spec.unit} wide{key}, or cut it small and mill it"
    if wide < layout.limits.smallest_hole.value - SLACK:
        sentence = (
            f"drill its ends and mill between them, as its width is under what {capability.process} holds anyway; if "
            f"it is cut all the same, make it at least {shown:g} {layout.spec.unit} wide{key} and gauge one on "
            "scrap first"
        )
    return Advice(sentence, (Remedy(field, shown),) if field else ())


# --------------------------------------------------------------------------------------------- piercing, kerf


def pierce_room(layout: Layout) -> Iterator[Finding]:
    """Openings in which the head cannot pierce (room in mm) without spoiling the finished edge."""
    capability = capability_of(layout)
    room = capability.pierce_room.value
    for opening, operations in zip(layout.openings, operations_of(layout), strict=True):
        if operations.cut is None or can_pierce(operations.cut, room):
            continue
        drill = isinstance(opening.shape, Disc) and opening.role == "screw"
        # a circle of the crater's radius has to fit inside: so it must be twice as wide somewhere
        width = rounded_up(layout, 2 * room)
        wide = f"{width:g} {layout.spec.unit}"
        mount = layout.mounts[opening.mount] if opening.role == "screw" and opening.mount is not None else None
        field = None if drill or mount is None else mount.hole_field
        yield Finding(
            rule="pierce-room",
            level="stop",
            message=f"{opening.name}: nowhere inside is {say(layout, room)} from every edge, which "
            f"{capability.process} needs to pierce clear of the finished edge",
            features=(opening.name,),
            at=opening.center,
            found=widest_room(operations.cut, room),
            needed=room,
            advice=Advice(
                "have it marked and drilled (screws: made: drill)"
                if drill
                else f"make it at least {wide} wide somewhere, or drill a start hole and say so to whoever cuts",
                (Remedy(f"mounts.{opening.mount}.screws.made", "drill"),)
                if drill
                else (Remedy(field, width),)
                if field
                else (),
            ),
        )


def kerf_fits(layout: Layout) -> Iterator[Finding]:
    """Openings with a neck narrower than the kerf (mm): the path round them falls apart there."""
    kerf = layout.limits.kerf.value
    # what is too narrow: its name, what it has there, how wide that is, where
    tight: list[tuple[str, str, float, Point]] = []
    for opening, operations in _left_as_cut(layout):
        shape = operations.cut
        if isinstance(shape, Loop):
            found = narrowest(shape, kerf)
            if found is not None and found.width < kerf - SLACK:
                tight.append((opening.name, "a place", found.width, found.at))
            # no two edges face each other so near, and yet the path falls apart: at a corner, say
            elif len(shape.grown_all(-kerf / 2)) != 1:
                tight.append((opening.name, "a place", narrowest_neck(shape, kerf), opening.center))
        elif shape is not None and 2 * shape.radius < kerf - SLACK:
            tight.append((opening.name, "a width", 2 * shape.radius, opening.center))
    if capability_of(layout).traits.table and isinstance(layout.outline, Loop) and not layout.outline.is_convex:
        found = narrowest(layout.outline, kerf, outside=True)
        if found is not None and found.width < kerf - SLACK:
            tight.append(("outline", "a notch", found.width, found.at))
    for name, what, width, at in tight:
        yield Finding(
            rule="kerf",
            level="stop",
            message=f"{name}: it has {what} {say(layout, width)} wide, narrower than the kerf of {say(layout, kerf)}, "
            "so no path runs round it",
            features=(name,),
            at=at,
            found=width,
            needed=kerf,
            advice=Advice(
                f"make it wider than {say(layout, kerf)} everywhere, or give the kerf that your machine leaves "
                "(cutting: kerf)"
            ),
            acceptable=False,
        )


def widest_room(shape: Shape, most: float) -> float:
    """How far from every edge the roomiest point inside a shape is, mm, to `FINE`; at most `most`."""
    if not isinstance(shape, Loop):
        return min(shape.radius, most)
    return bisected(lambda room: bool(shape.grown_all(-room)), most)


def narrowest_neck(shape: Loop, most: float) -> float:
    """The widest path (mm, to `FINE`) that still runs round inside a shape in one piece; at most `most`."""
    return bisected(lambda width: len(shape.grown_all(-width / 2)) == 1, most)


def bisected(holds: Callable[[float], bool], most: float) -> float:
    """The largest length (mm, to `FINE`) for which something holds that holds for all smaller ones; at most `most`."""
    low, high = 0.0, most
    while high - low > FINE:
        middle = (low + high) / 2
        low, high = (middle, high) if holds(middle) else (low, middle)
    return low


def no_table(layout: Layout) -> Iterator[Finding]:
    """A drill press follows no drawing: what is not round, and the outside, is cut out by hand."""
    capability = capability_of(layout)
    if capability.traits.table:
        return
    # what is round is drilled, and needs no table
    others = [opening.name for opening in layout.openings if opening.through and not isinstance(opening.shape, Disc)]
    also = f", and {len(others)} openings that are not round," if len(others) > 1 else ""
    also = f" and {others[0]}" if len(others) == 1 else also
    yield Finding(
        rule="no-table",
        level="note",
        message=f"a {capability.process} press follows no drawing: the outside{also} must be cut out by hand and filed "
        "to the paper",
        features=("outline", *others),
        advice=Advice("or name the process of a table that cuts it (cutting: process)"),
    )


RULES = (
    Rule(
        "process",
        "a process that does not cut this material, or not so thick or so thin",
        "whether it cuts the material at all, and the thicknesses between which shops do",
        "process_materials.csv, each row with its kind",
        process,
        levels=("stop", "warn"),
        keys=("cutting.process", "cutting.machine", "plate.material.family"),
    ),
    Rule(
        "water-table",
        "aluminium cut by plasma over water: the hydrogen that it gives off explodes",
        "the process and the material",
        f"{HYDROGEN_SOURCE} (published)",
        water_table,
        levels=("warn",),
        keys=("cutting.process", "plate.material"),
    ),
    Rule(
        "taper",
        "a hole that lets its screw in at the top and not out at the bottom",
        "size less both sides of the taper against screw or spigot",
        "process table, each row with its kind",
        taper,
        levels=("stop", "note"),
        keys=("cutting.process", "cutting.machine", "cutting.direction"),
    ),
    Rule(
        "tolerance",
        "a hole that does not pass at the small end of what the process holds",
        "size less taper and scatter against screw or spigot",
        "ISO 9013 class 1 (laser) or 2 (plasma, oxy-fuel); process table, each row with its kind",
        tolerance,
        levels=("warn",),
        keys=("cutting.process", "cutting.machine"),
    ),
    Rule(
        "pierce-room",
        "a pierce on the finished edge",
        "the process's room round a pierce",
        "process table, each row with its kind",
        pierce_room,
        levels=("stop",),
        keys=("cutting.process", "cutting.machine"),
    ),
    Rule(
        "kerf",
        "an opening narrower than the cut",
        "the kerf",
        "geometry",
        kerf_fits,
        levels=("stop",),
        keys=("cutting.kerf", "cutting.machine"),
    ),
    Rule(
        "no-table",
        "an outline drawn for a process that follows no drawing",
        "no table",
        "geometry",
        no_table,
        levels=("note",),
        keys=("cutting.process",),
    ),
)

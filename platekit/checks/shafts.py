"""Rules on the shafts that pulleys sit on: which way they point, where they are, and where they end.

Where nothing tells of a pulley's shaft (`laying/shafts.py`), `not-checked` says so (`checks/unknown.py`).
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from platekit.checks.advice import rounded_up, say, step_mm
from platekit.checks.drive_edits import length, pulley_moved, whole
from platekit.checks.drive_fit import has_room
from platekit.checks.finding import Advice, FieldValue, Finding, Level, Remedy
from platekit.checks.rule import Rule
from platekit.geometry import Disc
from platekit.laying.shafts import Shaft, Span, mating_z, misplaced, on_the_axis, outward, shaft_of, span_on
from platekit.placed import SAME_LENGTH, Layout, PlacedBelt, PlacedPulley
from platekit.units import mm_per

# --------------------------------------------------------------------------------------- along the plate


def shaft_along(layout: Layout) -> Iterator[Finding]:
    """Belts over a shaft that lies along the plate, told as if it stood square to it."""
    for belt in layout.belts:
        for pulley in (belt.driver, belt.driven):
            shaft = shaft_of(layout, pulley)
            if shaft is None or shaft.square:
                continue
            height = abs(shaft.point[2] - mating_z(layout, layout.mounts[pulley.mount]))
            yield Finding(
                rule="shaft-along",
                level="stop",
                message=f"{belt.name}: the belt cannot run so; the shaft of {pulley.mount} lies along the plate "
                f"({shaft.said}, "
                f"{say(layout, height)} above it), and {pulley.name} is told as if it stood square to it",
                features=(pulley.name, pulley.mount, *whole(belt)),
                at=pulley.center,
                found=0.0,
                needed=90.0,
                unit="degrees",
                advice=Advice(
                    f"take a part with a face or flange instead of feet for {pulley.mount}, or leave the drive out: "
                    "the belt of such a shaft runs in a plane of its own, which is not checked here"
                ),
            )


# --------------------------------------------------------------------------------------- where it ends


SITS = 2 / 3
"""A rim of which this share is on the shaft may sit there with all its bore, which is often the narrower (from memory:
a bush is about as long as the shaft is thick); with less it does not."""


def shaft_end(layout: Layout) -> Iterator[Finding]:
    """Pulleys that do not sit on their shaft with all their width, nor with a hub."""
    for belt in layout.belts:
        for pulley in (belt.driver, belt.driven):
            shaft = shaft_of(layout, pulley)
            if shaft is not None and shaft.square:
                held = _held(layout, pulley)
                if all(_past(span, shaft.stretch) > SAME_LENGTH for span in held):
                    yield _off_its_shaft(layout, belt, pulley, shaft, held)


def _held(layout: Layout, pulley: PlacedPulley, by: float = 0.0) -> list[Span]:
    """What may hold a pulley, as spans: its rim's width, and its hub's if it has one; moved by so many mm along z."""
    mount = layout.mounts[pulley.mount]
    own = [body.z for body in layout.bodies if body.name == f"{pulley.name}.hub"]
    return [span_on(layout, mount, (low + by, high + by)) for low, high in [pulley.z, *own]]


def _past(span: Span, stretch: Span) -> float:
    """How far a span reaches past the ends of a stretch, mm; 0 or less where it lies within."""
    return max(stretch[0] - span[0], span[1] - stretch[1])


def _off_its_shaft(layout: Layout, belt: PlacedBelt, pulley: PlacedPulley, shaft: Shaft, held: list[Span]) -> Finding:
    span = min(held, key=lambda one: _past(one, shaft.stretch))
    past = _past(span, shaft.stretch)
    beyond = shaft.stretch[0] - span[0] >= span[1] - shaft.stretch[1]
    reach, end = (-span[0], -shaft.stretch[0]) if beyond else (span[1], shaft.stretch[1])
    wide = span[1] - span[0]
    level: Level = "warn" if len(held) == 1 and past <= (1 - SITS) * wide + SAME_LENGTH else "stop"
    what = "its hub" if span is not held[0] else "it"
    much = "all" if past >= wide - SAME_LENGTH else say(layout, past)
    where = "in front of" if beyond else "behind"
    advice = _back_on(layout, belt, pulley, past if beyond else -past)
    if level == "warn":
        other = advice.text if advice.remedies else "set it where the shaft is, or describe the shaft, if it is longer"
        words = (
            f"tell its hub, if its bore is narrower than the rim ({pulley.field}.hub: {{diameter, span}}), or {other}"
        )
        advice = Advice(words, advice.remedies)
    return Finding(
        rule="shaft-end",
        level=level,
        message=f"{belt.name}: {pulley.name} {'sits only in part' if level == 'warn' else 'does not sit'} on its "
        f"shaft: {what} "
        f"reaches to {say(layout, reach)} {where} the face of {pulley.mount}, {shaft.said} "
        f"{'ends' if beyond or end > SAME_LENGTH else 'begins'} at {say(layout, end)}; {much} of its "
        f"{say(layout, wide)} is held by nothing",
        features=(pulley.name, pulley.mount, belt.name),
        at=pulley.center,
        found=reach,
        needed=end,
        advice=advice,
    )


def _back_on(layout: Layout, belt: PlacedBelt, pulley: PlacedPulley, past: float) -> Advice:
    """Advice that brings a pulley back onto its shaft, both pulleys together, so that the belt stays in its plane."""
    mount = layout.mounts[pulley.mount]
    by = math.copysign(rounded_up(layout, abs(past)) * mm_per(layout.spec.unit), past) * outward(mount)
    for rise in (by, by + math.copysign(step_mm(layout), by)):
        edits = tuple(edit for one in belt.pulleys for edit in pulley_moved(layout, one, rise))
        if all(_sits(layout, one, rise) and has_room(layout, belt, one, rise) for one in belt.pulleys):
            new = next(edit.value for edit in edits if edit.field == f"{pulley.field}.span")
            span = ", ".join(f"{end:g}" for end in new) if isinstance(new, list) else ""
            return Advice(
                f"move both pulleys of {belt.name} {say(layout, abs(rise))} along their shafts, {pulley.name} to span: "
                f"[{span}]",
                edits,
            )
    return Advice(
        f"use one whose hub reaches back onto the shaft ({pulley.field}.hub: {{diameter, span}}), set it where "
        f"the shaft is, or describe the shaft as a body carried by {pulley.mount}, if it was measured and is longer"
    )


def _sits(layout: Layout, pulley: PlacedPulley, by: float) -> bool:
    """Whether a pulley moved along z would sit on its shaft, as far as that is known."""
    if pulley.mount not in layout.mounts:
        return True
    shaft = shaft_of(layout, pulley)
    return shaft is None or any(_past(span, shaft.stretch) <= SAME_LENGTH for span in _held(layout, pulley, by))


# --------------------------------------------------------------------------------------- where it is


ON_AXIS = 0.1
"""A pulley this far beside the middle of its shaft is told to be elsewhere, mm (ours: a step of rounding)."""


def shaft_place(layout: Layout) -> Iterator[Finding]:
    """Shafts that run through a screw of their own part, and pulleys beside the middle of their shaft."""
    for belt in layout.belts:
        for pulley in (belt.driver, belt.driven):
            yield from _beside_its_shaft(layout, belt, pulley)
    for one in misplaced(layout):
        shaft = one.shafts[0]
        mount = layout.mounts[one.mount]
        own = mount.own_points[mount.hole_names.index(one.hole)]
        also = f" (and {', '.join(one.shafts[1:])})" if len(one.shafts) > 1 else ""
        what = f"the shaft of {shaft}" if any(shaft == p.name for b in layout.belts for p in b.pulleys) else shaft
        yield Finding(
            rule="shaft-place",
            level="stop",
            message=f"{one.mount}: {what}{also} runs into the screw {one.hole}, at [{say(layout, own[0])}, "
            f"{say(layout, own[1])}] of {one.mount}'s own frame: the place of the shaft is wrong, or that of the holes",
            features=(one.hole, *one.shafts, one.mount),
            at=one.at,
            found=0.0,
            needed=mount.hole / 2,
            advice=Advice(
                f"give the shaft its own place in the frame that the holes of {one.mount} are counted in (`at` of "
                "its pulley and of every body on it), or count the holes from the shaft"
            ),
        )


def _beside_its_shaft(layout: Layout, belt: PlacedBelt, pulley: PlacedPulley) -> Iterator[Finding]:
    for body in layout.bodies:
        if body.kind != "given" or not isinstance(body.shape, Disc) or not on_the_axis(body, pulley):
            continue
        off = math.dist(body.shape.center, pulley.center)
        if off <= ON_AXIS or min(body.z[1], pulley.z[1]) - max(body.z[0], pulley.z[0]) <= SAME_LENGTH:
            continue
        shape = layout.model.bodies[body.field.removeprefix("bodies.")].shape
        place: list[FieldValue] = [] if shape is None else [length(layout, value) for value in shape.at]
        yield Finding(
            rule="shaft-place",
            level="stop",
            message=f"{belt.name}: the middle of {pulley.name} is {say(layout, off)} beside that of {body.name}, the "
            f"shaft in it; {say(layout, ON_AXIS)} is what rounding makes",
            features=(pulley.name, body.name),
            at=pulley.center,
            found=off,
            needed=ON_AXIS,
            advice=Advice(
                f"give both the same place (`at` of {pulley.name} and of {body.name})",
                (Remedy(f"{pulley.field}.at", place),) if place else (),
            ),
        )


RULES = (
    Rule(
        "shaft-along",
        "a belt over a shaft that lies along the plate",
        "square to the plate",
        "geometry",
        shaft_along,
        levels=("stop",),
    ),
    Rule(
        "shaft-place",
        "a shaft in the place of a screw of its own part",
        f"no screw on the shaft's axis, and the pulley within {ON_AXIS:g} mm of it",
        "geometry",
        shaft_place,
        levels=("stop",),
    ),
    Rule(
        "shaft-end",
        "a pulley that is past the end of its shaft",
        "all of its rim's or its hub's width between the ends",
        "the body that is the shaft, else the length that the part's standard lists (each row with its kind)",
        shaft_end,
        levels=("stop", "warn"),
        keys=("drive.driver.span", "drive.driver.hub", "bodies.NAME.span"),
    ),
)

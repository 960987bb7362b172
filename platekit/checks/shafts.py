"""Rules on the shafts that pulleys sit on: which way they point, where they are, and where they end.

Where nothing tells of a pulley's shaft (`laying/shafts.py`), `not-checked` says so (`checks/unknown.py`).
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from platekit.checks.advice import in_units, packing, rounded_down, rounded_up, say, step_mm, words_at
from platekit.checks.drive_edits import length, middle, pulley_moved, whole
from platekit.checks.drive_fit import has_room
from platekit.checks.finding import Advice, FieldValue, Finding, Level, Remedy
from platekit.checks.rule import Rule
from platekit.geometry import Disc, Lying, Straight, covered_by_union, distance
from platekit.laying.shafts import (
    Span,
    inside_the_plate,
    mating_z,
    misplaced_shafts,
    on_the_axis,
    outward,
    shaft_of,
    span_on,
)
from platekit.laying.twisted_pulleys import entry_of
from platekit.placed import SAME_LENGTH, Layout, PlacedBelt, PlacedPulley
from platekit.tables import belts
from platekit.tables.shop import shop_figure
from platekit.units import mm_per

# --------------------------------------------------------------------------------------- along the plate


MEANT = math.radians(45)
"""Shafts at a larger angle than this were not meant to be parallel (ours)."""


def shaft_along(layout: Layout) -> Iterator[Finding]:
    """Shafts of one belt that are not parallel (degrees), or one along the plate and the other not told."""
    for belt in layout.belts:
        ends = [(pulley, shaft_of(layout, pulley)) for pulley in (belt.driver, belt.driven)]
        lying = [(pulley, shaft) for pulley, shaft in ends if shaft is not None and not shaft.square]
        if not lying:
            continue
        untold = next((pulley for pulley, _ in ends if pulley.axis is None), None)
        # What says that a shaft stands square to the plate: a body round it, or the standard of a face.
        square = False
        if untold is not None:
            known, row = shaft_of(layout, untold), layout.mounts[untold.mount].standard
            square = (known is not None and known.square) or (row is not None and row.shaft_height is None)
        if untold is not None and not square:
            pulley, shaft = next((one for one in lying if one[0] is not untold), lying[0])
            height = abs(shaft.point[2] - mating_z(layout, layout.mounts[pulley.mount]))
            if pulley is untold:
                what = f"{shaft.said} lies along the plate, and {pulley.name} is told as if it stood square to it"
            else:
                what = (
                    f"{shaft.said} lies along the plate, {say(layout, height)} above it, and nothing says how the "
                    f"shaft of {untold.mount} lies"
                )
            yield Finding(
                rule="shaft-along",
                level="stop",
                message=f"{belt.name}: {what}; its belt was laid out as if both stood square to the plate",
                features=(untold.name, untold.mount, *whole(belt)),
                at=untold.at,
                found=0.0,
                needed=90.0,
                unit="degrees",
                advice=Advice(
                    f"tell the shaft of {untold.mount} as it lies in its own frame: mounts.{untold.mount}.shaft: {{at: "
                    "[x, y], height: ..., along: ANGLE, stretch: [from, to], diameter: ...}, and the span of its "
                    "pulley along it"
                ),
            )
            continue
        (driver, one), (driven, other) = ends
        # a face brings no body for its shaft: nothing told is square to it
        a = (0.0, 0.0, 1.0) if one is None else one.direction
        b = (0.0, 0.0, 1.0) if other is None else other.direction
        off = math.acos(min(abs(sum(p * q for p, q in zip(a, b, strict=True))), 1.0))
        allowed = math.atan(_misalignment(belt))
        if off <= allowed + SAME_ANGLE:
            continue
        # Both along the plate and nearly parallel: the driver's mount is turned by what is between them, either way
        # round, since a shaft has no front.
        turn = (
            "turn one of them, or take a part whose shaft points the other way; or say that the belt is meant to be "
            f"twisted ({belt.field}.shafts: crossed), of which nothing is worked out"
        )
        remedies: tuple[Remedy, ...] = ()
        if off <= MEANT and driver.axis is not None and driven.axis is not None:
            (ax, ay, _), (bx, by, _) = driver.axis.direction, driven.axis.direction
            by_this = math.degrees(math.atan2(ax * by - ay * bx, ax * bx + ay * by))
            by_this = (by_this + 90) % 180 - 90
            way = "counter-clockwise" if by_this > 0 else "clockwise"
            turn = f"turn {driver.mount} {abs(by_this):.2f} degrees {way}"
            new = math.degrees(words_at(layout, f"mounts.{driver.mount}.turn")) + by_this
            remedies = (Remedy(f"mounts.{driver.mount}.turn", f"{new:.6g} deg"),)
        yield Finding(
            rule="shaft-along",
            level="stop",
            message=f"{belt.name}: the shafts of {driver.mount} and {driven.mount} are {math.degrees(off):.2f} degrees "
            f"out of parallel; the belt bears {math.degrees(allowed):.2f}",
            features=(driver.mount, driven.mount, *whole(belt)),
            at=driver.at,
            found=math.degrees(off),
            needed=math.degrees(allowed),
            unit="degrees",
            advice=Advice(turn, remedies),
            field=f"mounts.{driver.mount}.turn",
        )


def _misalignment(belt: PlacedBelt) -> float:
    """How far pulleys of a belt may be out of line, per centre distance; a narrow V-belt's where none is named."""
    made = belt.request.belt
    return belts.family_figures("narrow V" if made is None else belts.section(made.section).family).misalignment


SAME_ANGLE = 1e-6
"""Two directions at less than this are one, rad (ours)."""


LEAST_APART = shop_figure("twisted belt, least distance of shafts in both diameters")
"""Shafts of a twisted belt are at least so many times the sum of both diameters apart (`shop_figures.csv`)."""
MOST_ASLANT = math.radians(shop_figure("twisted belt, greatest angle of entry, degrees"))
"""A belt that runs up to a pulley at a larger angle than this, rad, comes off it (`shop_figures.csv`)."""


def twist(layout: Layout) -> Iterator[Finding]:
    """A twisted belt that does not come to its pulleys in their planes, or has too little length to twist in, mm."""
    twisted = layout.twisted
    entry = None if twisted is None else entry_of(twisted)
    if twisted is None or twisted.pulleys is None or entry is None:
        return
    names = (twisted.name, twisted.driver, twisted.driven)
    driver, driven = twisted.pulleys
    least = LEAST_APART * 2 * (driver.radius + driven.radius)
    if entry.distance < least - SAME_LENGTH:
        yield Finding(
            rule="twist",
            level="stop",
            message=f"{twisted.name}: the pulleys of {twisted.driver} and {twisted.driven} are "
            f"{say(layout, entry.distance)} apart; a belt that twists between them wants {say(layout, least)}, "
            f"{LEAST_APART:g} times the sum of their diameters",
            features=names,
            at=driver.middle[:2],
            found=entry.distance,
            needed=least,
            advice=Advice(
                f"set them {say(layout, least - entry.distance)} farther apart, with a longer belt, or take smaller "
                "pulleys"
            ),
        )
    # The line in which both planes cross touches each pulley where the belt leaves it; what it misses it by is how far
    # aside the run arrives on the other one.
    miss = max(abs(entry.driver), abs(entry.driven))
    aslant = math.atan2(miss, entry.distance)
    family = belts.family_figures(belts.section(twisted.section).family)
    allowed = math.atan(family.misalignment)
    if aslant <= allowed + SAME_ANGLE:
        return
    new = []
    for one, move in ((driver, entry.moves[0]), (driven, entry.moves[1])):
        if abs(move) > SAME_LENGTH:
            span = [length(layout, end + one.sense * move) for end in one.span]
            new.append((one, span))
    said = " and ".join(f"that of {one.mount} to span {span[0]} to {span[1]}" for one, span in new)
    yield Finding(
        rule="twist",
        level="stop" if aslant > MOST_ASLANT else "warn",
        message=f"{twisted.name}: its runs come up to {say(layout, miss)} beside the pulley that they run to, at "
        f"{math.degrees(aslant):.2f} degrees; the belt bears {math.degrees(allowed):.2f}",
        features=names,
        at=driver.middle[:2],
        found=math.degrees(aslant),
        needed=math.degrees(allowed),
        unit="degrees",
        advice=Advice(
            "set each pulley along its shaft so that its plane touches the other's pitch circle where the belt leaves "
            f"that: {said}",
            tuple(Remedy(one.seat, list(span)) for one, span in new),
        ),
        field=f"{twisted.field}.shafts",
    )


ACROSS_BY = math.radians(1)
"""Slots more than this off square to shafts that lie along the plate are told, rad (ours)."""


NEVER_TIGHTENS = math.radians(80)
"""Slots nearer to the shaft than 10 degrees bring it hardly nearer to the other, rad (ours)."""


def slot_angle(layout: Layout) -> Iterator[Finding]:
    """Slots that take a pulley out of line (mm) along its shaft while they tighten its belt."""
    told: set[str] = set()
    ends = [(belt, pulley.mount) for belt in layout.belts for pulley in (belt.driver, belt.driven)]
    # Each mount once, with the belt that it tightens where there is one: slots along the shaft tighten none at all.
    for belt, name in sorted(ends, key=lambda one: one[0].adjusted != one[1]):
        travel = layout.mounts[name].travel
        if not belt.drawn.lies or name in told or not isinstance(travel, Straight):
            continue
        told.add(name)
        (x, y), (ux, uy, _) = travel.direction, belt.drawn.u
        off = math.acos(min(abs(x * ux + y * uy), 1.0))
        if off <= ACROSS_BY:
            continue
        kind = layout.mounts[name].take_up
        # at the end of the slots the shaft has gone along itself by the sine of what they are off
        aside = max(travel.install, travel.tension) * math.sin(off)
        allowed = _misalignment(belt) * math.dist(belt.driver.center, belt.driven.center)
        yield Finding(
            rule="slot-angle",
            level="stop" if aside > allowed or off > NEVER_TIGHTENS else "warn",
            message=f"{belt.name}: the slots of {name} are {math.degrees(off):.1f} degrees off square to its shaft; at "
            f"their end its pulley is {say(layout, aside)} out of line, {say(layout, allowed)} is what the belt bears",
            features=(name, *whole(belt)),
            at=middle(belt),
            found=math.degrees(off),
            needed=math.degrees(ACROSS_BY),
            unit="degrees",
            advice=Advice(
                f"let them run square to the shafts (mounts.{name}.take_up.{kind}.along: belt)",
                (Remedy(f"mounts.{name}.take_up.{kind}.along", "belt"),),
            ),
        )


def over_plate(layout: Layout) -> Iterator[Finding]:
    """Pulleys and belts of shafts along the plate that run nearer to its face than their gap (mm), outside of it."""
    low, high = layout.plate_z
    through = [opening.shape for opening in layout.openings if opening.through]
    turning = [
        (tuple(body for body in layout.bodies if body.belt == belt.name), {p.name: p.mount for p in belt.pulleys})
        for belt in layout.belts
        if belt.drawn.lies
    ]
    for one in layout.couplings:
        if one.lies:
            turning.append((tuple(body for body in layout.bodies if body.name == one.body), {}))
    for bodies, mounts in turning:
        near = []
        for body in bodies:
            # past the plate's edge, or over openings with its gap round it, it may come as low as it likes
            if distance(body.swept, layout.plane).distance >= body.gap - SAME_LENGTH:
                continue
            if covered_by_union(body.swept, through, body.gap):
                continue
            off = max(body.z[0] - high, low - body.z[1])
            if -SAME_LENGTH <= off < body.gap - SAME_LENGTH:
                near.append((off, body))
        if not near:
            continue
        off, body = min(near, key=lambda one: round(one[0], 9))
        # Two ways to give it its gap: packing under its part, where that lifts it off this face, or an opening below.
        ideas: list[Advice] = []
        # A run of the belt is lifted with its driver; a coupling with both of its parts, which no one edit does.
        last = next(reversed(mounts), "")
        carried = next((mounts[name] for name in mounts if body.name in (name, f"{name}.hub")), mounts.get(last))
        mount = None if carried is None else layout.mounts.get(carried)
        if mount is not None and (mount.side == "near") == (body.z[0] >= high - SAME_LENGTH):
            raised = rounded_up(layout, mount.spacing + body.gap - off)
            said = (
                f"raise {mount.name} {say(layout, body.gap - off)} on {packing(layout, raised)} (standoff: {raised:g})"
            )
            ideas.append(Advice(said, (Remedy(f"{mount.field}.standoff", raised),)))
        box = body.swept.grown(body.gap).box
        wide, tall = rounded_up(layout, box.width), rounded_up(layout, box.height)
        at: list[FieldValue] = [length(layout, x) for x in box.center]
        name = f"{body.name} opening".replace(".", " ")
        cutout: dict[str, FieldValue] = {"rectangle": {"width": wide, "height": tall}, "at": at}
        said = f"cut the plate away below it (an opening of {say(layout, box.width)} x {say(layout, box.height)})"
        ideas.append(Advice(said, (Remedy(f"plate.cutouts.{name}", cutout),)))
        yield Finding(
            rule="over-plate",
            level="stop",
            message=f"{body.name} runs {say(layout, max(off, 0.0))} over the face of the plate; "
            f"{say(layout, body.gap)} is needed",
            features=(body.name,),
            at=body.shape.centroid,
            found=max(off, 0.0),
            needed=body.gap,
            advice=ideas[0],
            others=tuple(ideas[1:]),
        )


# --------------------------------------------------------------------------------------- where it ends


SITS = shop_figure("bush of a rim, share of its width")
"""A rim of which this share is on the shaft may sit there with all its bore, which is often the narrower; with less it
does not (`shop_figures.csv`)."""


def shaft_end(layout: Layout) -> Iterator[Finding]:
    """Pulleys that do not sit on their shaft with all their width (mm), nor with a hub."""
    for belt in layout.belts:
        for pulley in (belt.driver, belt.driven):
            shaft = shaft_of(layout, pulley)
            if shaft is not None and not shaft.square and pulley.drawn.lies:
                # A pulley that reaches past an end of its shaft along the plate; spans count along it from where it
                # comes out.
                hub = getattr(words_at(layout, pulley.field), "hub", None)
                held = [pulley.span, *([] if hub is None else [hub.span])]
                span = min(held, key=lambda one: _past(one, shaft.stretch))
                past = _past(span, shaft.stretch)
                if past <= SAME_LENGTH:
                    continue
                # the end that it reaches past, of the two the one that it reaches past farther
                low, high = shaft.stretch
                wide = pulley.span[1] - pulley.span[0]
                level: Level = "warn" if hub is None and past <= (1 - SITS) * wide + SAME_LENGTH else "stop"
                beyond = span[1] - high >= low - span[0]
                reach, end = (span[1], high) if beyond else (span[0], low)
                advice = Advice("tell its hub, if that is narrower than the rim, or set it where the shaft is")
                if wide <= high - low:
                    # a start that was rounded must not push its rim past the end again
                    start = in_units(layout, min(max(pulley.span[0], low), high - wide))
                    width = in_units(layout, wide)
                    if (start + width) * mm_per(layout.spec.unit) > high + SAME_LENGTH:
                        start = rounded_down(layout, high - width * mm_per(layout.spec.unit))
                    new: list[FieldValue] = [start, round(start + width, 9)]
                    words = (
                        f"set it on the shaft (span: [{new[0]:g}, {new[1]:g}]), and the other pulley in line with it"
                    )
                    advice = Advice(words, (Remedy(f"{pulley.field}.span", new),))
                # A shaft with pulleys of two belts is a countershaft, which is cut to length for this job.
                ideas = [*_longer(layout, pulley, reach if beyond else None), advice]
                yield Finding(
                    rule="shaft-end",
                    level=level,
                    message=f"{belt.name}: {pulley.name} {'sits only in part' if level == 'warn' else 'does not sit'} "
                    f"on its shaft: {'its hub' if span is not held[0] else 'it'} reaches to "
                    f"{say(layout, reach)} from where {shaft.said} leaves its part, the shaft "
                    f"{'ends' if beyond else 'begins'} at {say(layout, end)}",
                    features=(pulley.name, pulley.mount, belt.name),
                    at=pulley.at,
                    found=reach,
                    needed=end,
                    advice=ideas[0],
                    others=tuple(ideas[1:]),
                )
            elif shaft is not None and shaft.square:
                # Spans along a shaft square to the plate count from the part's face, negative in front of it.
                held = _held(layout, pulley)
                span = min(held, key=lambda one: _past(one, shaft.stretch))
                past = _past(span, shaft.stretch)
                if past <= SAME_LENGTH:
                    continue
                beyond = shaft.stretch[0] - span[0] >= span[1] - shaft.stretch[1]
                reach, end = (-span[0], -shaft.stretch[0]) if beyond else (span[1], shaft.stretch[1])
                wide = span[1] - span[0]
                level = "warn" if len(held) == 1 and past <= (1 - SITS) * wide + SAME_LENGTH else "stop"
                what = "its hub" if span is not held[0] else "it"
                much = "all" if past >= wide - SAME_LENGTH else say(layout, past)
                where = "in front of" if beyond else "behind"
                advice = _back_on(layout, belt, pulley, past if beyond else -past)
                if level == "warn":
                    other = "set it where the shaft is, or describe the shaft, if it is longer"
                    words = (
                        f"tell its hub, if its bore is narrower than the rim ({pulley.field}.hub: {{diameter, span}}), "
                        f"or {advice.text if advice.remedies else other}"
                    )
                    advice = Advice(words, advice.remedies)
                yield Finding(
                    rule="shaft-end",
                    level=level,
                    message=f"{belt.name}: {pulley.name} {'sits only in part' if level == 'warn' else 'does not sit'} "
                    f"on its shaft: {what} reaches to {say(layout, reach)} {where} the face of {pulley.mount}, "
                    f"{shaft.said} {'ends' if beyond or end > SAME_LENGTH else 'begins'} at {say(layout, end)}; {much} "
                    f"of its {say(layout, wide)} is held by nothing",
                    features=(pulley.name, pulley.mount, belt.name),
                    at=pulley.at,
                    found=reach,
                    needed=end,
                    advice=advice,
                )


def _longer(layout: Layout, pulley: PlacedPulley, reach: float | None) -> Iterator[Advice]:
    """Advice to leave a countershaft long enough, up to `reach` mm; none for a shaft that a part brings."""
    field = f"mounts.{pulley.mount}.shaft"
    belts_on = sum(pulley.mount in (one.driver.mount, one.driven.mount) for one in layout.belts)
    words = words_at(layout, field) if pulley.mount in layout.mounts else None
    if reach is None or belts_on < 2 or words is None:
        return
    new = [round(words.stretch[0] / mm_per(layout.spec.unit), 4), rounded_up(layout, reach)]
    said = f"leave the shaft of {pulley.mount} longer, to {new[1]:g} from its part (shaft: stretch)"
    yield Advice(said, (Remedy(f"{field}.stretch", new),))


def _from_face(layout: Layout, above: float) -> str:
    """How far above a face something is (mm), for a sentence without a minus sign."""
    if abs(above) <= SAME_LENGTH:
        return "level with"
    return f"{say(layout, abs(above))} {'above' if above > 0 else 'below'}"


def _held(layout: Layout, pulley: PlacedPulley, by: float = 0.0) -> list[Span]:
    """What may hold a pulley, as spans: its rim's width, and its hub's if it has one; moved by so many mm along z."""
    mount = layout.mounts[pulley.mount]
    own = [body.z for body in layout.bodies if body.name == f"{pulley.name}.hub"]
    return [span_on(layout, mount, (low + by, high + by)) for low, high in [pulley.z, *own]]


def _past(span: Span, stretch: Span) -> float:
    """How far a span reaches past the ends of a stretch, mm; 0 or less where it lies within."""
    return max(stretch[0] - span[0], span[1] - stretch[1])


def _back_on(layout: Layout, belt: PlacedBelt, pulley: PlacedPulley, past: float) -> Advice:
    """Advice that brings a pulley back onto its shaft, both pulleys together, so that the belt stays in its plane."""
    mount = layout.mounts[pulley.mount]

    def sits(one: PlacedPulley, rise: float) -> bool:
        """Whether a pulley moved along z would sit on its shaft, as far as that is known."""
        shaft = shaft_of(layout, one) if one.mount in layout.mounts else None
        return shaft is None or any(_past(span, shaft.stretch) <= SAME_LENGTH for span in _held(layout, one, rise))

    # rounded up to a figure of the spec; where that rounds against it, one step more
    by = math.copysign(rounded_up(layout, abs(past)) * mm_per(layout.spec.unit), past) * outward(mount)
    for rise in (by, by + math.copysign(step_mm(layout), by)):
        edits = tuple(edit for one in belt.pulleys for edit in pulley_moved(layout, one, rise))
        if all(sits(one, rise) and has_room(layout, belt, one, rise) for one in belt.pulleys):
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


# --------------------------------------------------------------------------------------- where it is


ON_AXIS = 0.1
"""A pulley this far beside the middle of its shaft is told to be elsewhere, mm (ours: a step of rounding)."""


def shaft_place(layout: Layout) -> Iterator[Finding]:
    """Shafts that run through a screw of their own part, and pulleys beside (mm) the middle of their shaft."""
    for belt in layout.belts:
        for pulley in (belt.driver, belt.driven):
            for body in layout.bodies:
                if body.kind != "given" or not isinstance(body.shape, Disc) or not on_the_axis(body, pulley):
                    continue
                off = math.dist(body.shape.center, pulley.center)
                if off <= ON_AXIS or min(body.z[1], pulley.z[1]) - max(body.z[0], pulley.z[0]) <= SAME_LENGTH:
                    continue
                # the edit puts the pulley where the shaft was measured: a shaft is easier to find than a middle
                shape = words_at(layout, f"{body.field}.shape")
                place: list[FieldValue] = [] if shape is None else [length(layout, value) for value in shape.at]
                yield Finding(
                    rule="shaft-place",
                    level="stop",
                    message=f"{belt.name}: the middle of {pulley.name} is {say(layout, off)} beside that of "
                    f"{body.name}, the shaft in it; {say(layout, ON_AXIS)} is what rounding makes",
                    features=(pulley.name, body.name),
                    at=pulley.at,
                    found=off,
                    needed=ON_AXIS,
                    advice=Advice(
                        f"give both the same place (`at` of {pulley.name} and of {body.name})",
                        (Remedy(f"{pulley.field}.at", place),) if place else (),
                    ),
                )
    faces = layout.plate_z
    for body in inside_the_plate(layout):
        mount = layout.mounts[body.carrier]
        axis = next(one.height for one in body.pieces if isinstance(one, Lying))
        above = outward(mount) * (axis - mating_z(layout, mount))
        taken = sorted(outward(mount) * (face - mating_z(layout, mount)) for face in faces)
        radius = (body.z[1] - body.z[0]) / 2
        yield Finding(
            rule="shaft-place",
            level="stop",
            message=f"{body.name} lies inside the plate: its axis is {_from_face(layout, above)} the face of "
            f"{mount.name}, where the plate reaches from {_from_face(layout, taken[0])} it to "
            f"{_from_face(layout, taken[1])} it",
            features=(body.name, mount.name),
            at=body.shape.centroid,
            found=above,
            needed=taken[0] - radius,
            advice=Advice(
                f"measure its height again, from the face of {mount.name} that the plate comes on (below 0 where it is "
                f"on the plate's other side), or cut the plate away all round it"
            ),
            field=f"{body.field}.height",
            acceptable=False,
        )
    for one in misplaced_shafts(layout):
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


def idler_screw(layout: Layout) -> Iterator[Finding]:
    """Idlers on the plate itself for which no screw is told, so that the plate gets no hole for them."""
    for belt in layout.belts:
        for idler in belt.idlers:
            words = None if idler.mount in layout.mounts else words_at(layout, idler.field)
            if words is None or words.screw is not None:
                continue
            # an idler on an arm turns on the arm's own pin, not on the plate
            swing = None if words.take_up is None else words.take_up.swing
            if swing is not None and swing.pivot_hole is not None:  # it turns on its arm, the arm on the pivot
                continue
            if any(
                one.through and distance(Disc(idler.center, SPOT), one.shape).distance < 0 for one in layout.openings
            ):
                continue
            yield Finding(
                rule="idler-screw",
                level="stop",
                message=f"{belt.name}: {idler.name} sits on the plate, and the plate has no hole for what it turns on",
                features=(idler.name, belt.name),
                at=idler.at,
                advice=Advice(
                    f"name its screw, such as {USUAL_SCREW} ({idler.field}.screw: {USUAL_SCREW}), or cut the hole "
                    "yourself (plate.cutouts)",
                    (Remedy(f"{idler.field}.screw", USUAL_SCREW),),
                ),
            )


SPOT = 0.5
"""Radius of the spot in an idler's middle in which an opening counts as its hole, mm (ours)."""
USUAL_SCREW = "M10"
"""What small idlers of V-belts are taken to turn on where nothing tells (ours: bores of 10 to 17 mm are met)."""

RULES = (
    Rule(
        "twist",
        "a twisted belt that comes to a pulley aside of its plane, or has too little length to twist in",
        f"both diameters times {LEAST_APART:g} between the shafts; what the belt bears, at most "
        f"{math.degrees(MOST_ASLANT):g} degrees",
        "published (the rule; the distance), from memory (the greatest angle)",
        twist,
        levels=("stop", "warn"),
        keys=("drive.driver.span", "drive.driven.span", "mounts.NAME.at"),
    ),
    Rule(
        "idler-screw",
        "an idler on the plate without a hole for its screw",
        "an opening in its middle",
        "geometry",
        idler_screw,
        levels=("stop",),
        keys=("drive.idlers.N.screw",),
    ),
    Rule(
        "shaft-along",
        "a belt over shafts that are not parallel, or one along the plate whose partner is not told",
        "1/10 in a foot for V-belts, 1/16 for ribbed and toothed ones",
        "common practice",
        shaft_along,
        levels=("stop",),
        keys=("mounts.NAME.shaft", "mounts.NAME.turn", "drive.shafts"),
        acceptable="never",  # what else is wrong with such a drive is not looked at
    ),
    Rule(
        "slot-angle",
        "slots that take a pulley out of line while they tighten its belt",
        "square to shafts along the plate within a degree; a stop where the belt does not bear it",
        "ours",
        slot_angle,
        levels=("stop", "warn"),
        keys=("mounts.NAME.take_up.slots.along",),
    ),
    Rule(
        "over-plate",
        "a pulley or belt of a shaft along the plate that runs against the plate's face",
        "the body's gap, 2 mm",
        "common practice",
        over_plate,
        levels=("stop",),
        keys=("limits.gap", "mounts.NAME.standoff"),
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

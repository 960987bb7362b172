"""Rules on bodies: what enters the plate without an opening, and what runs into what, over the whole travel."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator

from platekit.analysis.nearness import Meeting, hardest_positions, meeting, said_positions, surely_apart
from platekit.checks.advice import (
    SPIGOT_ROOM,
    move_apart,
    packing,
    pilot_remedy,
    rounded_down,
    rounded_up,
    say,
    words_at,
)
from platekit.checks.drive_edits import along_the_shafts, longer_belts
from platekit.checks.finding import Advice, FieldValue, Finding, Remedy
from platekit.checks.rule import MOST_STOPS, Rule
from platekit.geometry import (
    Disc,
    Index,
    Lying,
    Shape,
    Upright,
    covered_by_union,
    disc_loop,
    distance,
    extent,
    hull,
)
from platekit.laying.flange import NAME as FLANGE
from platekit.laying.guard import dangers, ends_of
from platekit.laying.guard_plane import in_plane
from platekit.laying.shafts import ASKEW, SHAFT_POINT, inside_the_plate, misplaced_shafts, on_the_axis
from platekit.placed import SAME_LENGTH, Body, Guard, Layout, held

GUARD_GAPS = (0.75, 0.5, 1.3, 1.7)
"""A guard's gap is tried at these shares of what it is (ours)."""
INSIDE_FLATS = 0.85
"""A gap that ends before something is taken so much of what is there (ours: flats stand off by up to 8 of 100)."""
EAR_COUNTS = (3, 4, 5, 6)
"""So many ears are tried for a guard whose screws meet something (ours)."""

SHAFTLIKE = re.compile(
    r"\b(shaft|spindle|arbor|rotor|impeller|fan|coupling|pulley|sheave|flywheel|sprocket|gear)s?( (end|wheel|hub))?"
    r"[ .]?\d*$",
    re.IGNORECASE,
)
"""Names of bodies that turn: the last word of the name counts, since a fan cover or a shaft guard does not (ours)."""
CARRIES = re.compile(r"\b(bearing|bush|bushing|seal|gland|pillow block|flange block|brake)s?\b", re.IGNORECASE)
"""Names of what stands still and is made to have a shaft run in it, or to rub (ours)."""

# --------------------------------------------------------------------------------------------- plate


def blocked(layout: Layout) -> Iterator[Finding]:
    """Bodies that enter the plate (mm) where it has no opening, or too small a one."""
    openings = [opening for opening in layout.openings if opening.through or opening.depth]
    index = Index([opening.shape.box for opening in openings])
    low, high = layout.plate_z
    unreal = _unreal(layout)
    for body in layout.bodies:
        if body.name in unreal or body.name == FLANGE:
            continue
        # Beside the plate it is in nobody's way; what merely touches a face does not enter it.
        if body.z[0] >= high - SAME_LENGTH or body.z[1] <= low + SAME_LENGTH:
            continue
        for shape in body.covered(low, high):
            if distance(shape, layout.plane).distance >= body.gap - SAME_LENGTH:
                continue
            room = []
            for opening in (openings[i] for i in index.near(shape.box, body.gap)):
                # A recess is room too, for what does not reach below its floor.
                depth = opening.depth or 0.0
                if opening.side == "near":
                    above = body.z[0] >= high - depth - SAME_LENGTH
                else:
                    above = body.z[1] <= low + depth + SAME_LENGTH
                if opening.through or above:
                    room.append(opening.shape)
            # Several openings may let one body through together, so it is held against their union, not each of them.
            if room and covered_by_union(shape, room, body.gap):
                continue
            inside = min(body.z[1], high) - max(body.z[0], low)
            travel = " over its travel" if body.travel is not None else ""
            advice, *others = _room_in_the_plate(layout, body, shape)
            yield Finding(
                rule="blocked",
                level="stop",
                message=f"{body.name} reaches {say(layout, inside)} into the plate{travel} and has no opening "
                f"with {say(layout, body.gap)} round it",
                features=(body.name,),
                at=body.shape.centroid,
                found=-inside,
                needed=0.0,
                advice=advice,
                others=tuple(others),
            )
            break


@held
def _unreal(layout: Layout) -> frozenset[str]:
    """Shafts inside the plate, and pulleys and runs of belts that cannot be: `shaft-place` and `shaft-along` say it."""
    sunk = inside_the_plate(layout)
    refused = {belt.name for belt in layout.belts if belt.impossible}
    for belt in layout.belts:
        for pulley in belt.pulleys:
            if any(body.carrier == pulley.mount and on_the_axis(body, pulley) for body in sunk):
                refused.add(belt.name)
    return frozenset(body.name for body in layout.bodies if body.belt in refused or body in sunk)


def _room_in_the_plate(layout: Layout, body: Body, shape: Shape) -> tuple[Advice, ...]:
    """What would do for a body that enters the plate, in the order of what a shop would try."""
    # The part set off the plate, with room in front of what enters it now, or just clear of it; what a mount carries on
    # the plate's other face would only go in deeper.
    lifted: list[Advice] = []
    carrier = layout.mounts.get(body.carrier)
    if carrier is not None and carrier.side == body.side:
        low, high = layout.plate_z
        deep = high - body.z[0] if body.side == "near" else body.z[1] - low
        for room in (max(SPIGOT_ROOM, body.gap), 0.0):  # what runs needs its gap over the plate too
            standoff = rounded_up(layout, carrier.spacing + deep + room)
            lifted.append(
                Advice(
                    f"set {carrier.name} on {packing(layout, standoff)} (standoff: {standoff:g})",
                    (Remedy(f"{carrier.field}.standoff", standoff),),
                )
            )
    if body.kind == "guard":
        lifted.append(
            Advice("let it stand on the plate, open towards it (on: plate)", (Remedy(f"{body.field}.on", "plate"),))
        )
    box = shape.grown(body.gap).box if body.gap else shape.box
    size = f"{say(layout, box.width)} x {say(layout, box.height)}"
    if body.kind == "given":
        relief = Advice(
            f"cut it out of the plate with relief: auto (an opening of {size})",
            (Remedy(f"{body.field}.relief", "auto"),),
        )
        return (relief, *lifted)
    if body.kind == "spigot":
        # A pilot that was told to stay out of the plate is lifted; another gets its opening first.
        mount = layout.mounts[body.carrier]
        through = Advice("give the pilot its opening (pilot: opening: through)", (pilot_remedy(mount, "through"),))
        bored = Advice("have a recess bored for the pilot (pilot: opening: recess)", (pilot_remedy(mount, "recess"),))
        if mount.pilot_opening == "none":
            return (*lifted, through, bored)
        return (through, bored, *lifted)
    name = f"{body.name} opening".replace(".", " ")
    exact = isinstance(shape, Disc)
    kind = "circle" if exact else "rectangle"
    # Only a disc is asked for as it is; a box round anything else is more than enough, and easy to draw.
    sizes: dict[str, FieldValue] = {"width": rounded_up(layout, box.width), "height": rounded_up(layout, box.height)}
    sizes = {"diameter": rounded_up(layout, box.width)} if exact else sizes
    at: list[FieldValue] = [f"{x:.6g} mm" for x in box.center]
    cutout = Advice(f"give it an opening of {size}", (Remedy(f"plate.cutouts.{name}", {kind: sizes, "at": at}),))
    return (*lifted, cutout) if body.kind == "guard" else (cutout, *lifted)


# --------------------------------------------------------------------------------------------- clashes


def clash(layout: Layout, live: bool = False) -> Iterator[Finding]:
    """Bodies of different carriers, and screws with their neighbours, nearer than their gap (mm) over the whole travel.

    One finding a pair of bodies; what belongs to one screw is told once for each part that it meets, at its worst.
    A `live` look, of a drag that goes on, leaves out what costs most: edits that would end each, at which positions of
    the travel it is worst, and where in a body of many pieces it is deepest.
    """
    groups: dict[tuple[str, str], list[Meeting]] = {}
    told = {(one.hole, name) for one in misplaced_shafts(layout) for name in one.shafts}  # `shaft-place` says these
    unreal = _unreal(layout)
    bodies = tuple(body for body in layout.bodies if body.name not in unreal)
    widest = max((body.gap for body in bodies), default=0.0)
    spans = [(*body.z, body.gap) for body in bodies]
    for i, j in Index([body.swept.box for body in bodies]).pairs_within(widest):
        (low, high, gap), (bottom, top, other_gap) = spans[i], spans[j]
        needed = gap if gap >= other_gap else other_gap
        # Along the normal first, which costs nothing: most bodies pass each other there. What merely lies on another
        # needs no gap and is no meeting. Comparing is quicker than to call for the larger of two, hundreds of times.
        z_gap = (low if low >= bottom else bottom) - (high if high <= top else top)
        if z_gap > needed - SAME_LENGTH and z_gap > -SAME_LENGTH:
            continue
        a, b = bodies[i], bodies[j]
        if may_touch(a, b):
            continue
        if (a.pieces or b.pieces) and surely_apart(a, b, needed - SAME_LENGTH):
            continue
        one = meeting(a, b, needed, deepest=not live)
        if one.found >= -SAME_LENGTH and one.found >= needed - SAME_LENGTH:
            continue
        if (a.screw, b.name) in told or (b.screw, a.name) in told:
            continue
        if _goes_round(layout, a, b) or _goes_round(layout, b, a):
            continue
        # What a shop would name: the screw instead of its head and washer, the part that it meets.
        subject = (_whole(a), _whole(b))
        if a.hardware or b.hardware:
            first, second = sorted(
                body.screw or (body.name if body.carrier == "plate" else body.carrier) for body in (a, b)
            )
            subject = (first, second)
        groups.setdefault(subject, []).append(one)
        # A plate with more clashes than are told has another mistake, and each is costly to measure.
        if len(groups) > MOST_STOPS:
            break
    for meetings in groups.values():
        # Head, washer and shank of one screw meet a part in several places: the worst stands for all, and the advice
        # must clear all of them.
        worst = min(meetings, key=lambda one: round(one.found - one.needed, 9))
        a, b = worst.a, worst.b
        positions = () if live else hardest_positions(worst)
        where = said_positions(layout, positions) or (
            " over its travel" if a.travel is not None or b.travel is not None else ""
        )
        what = (
            f"{_whole(a)} and {_whole(b)} run into each other{where}"
            if worst.found < 0
            else f"{_whole(a)} and {_whole(b)} come within {say(layout, worst.found)} of each other{where}"
        )
        needed = max(one.needed for one in meetings)
        # What to do where no edit is known: both go wherever their carriers go, or what they hang on fixes their place.
        screw, other = (a, b) if a.hardware else (b, a)
        if a.carrier != b.carrier:
            by_hand = f"give {a.name} or {b.name} another place"
        elif "pulley" in (a.kind, b.kind):
            pulley = a if a.kind == "pulley" else b
            by_hand = f"both are on {a.carrier}: move {pulley.name} along its shaft, clear of it (its `span`)"
            if pulley.pulley is None:  # a coupling sits between its two shaft ends, wherever these are
                by_hand = f"take a shorter {pulley.name}, or set the two shafts that it joins farther apart"
        elif other.kind == "spigot" and screw.kind == "spacer":
            by_hand = f"let {a.carrier} bear on its spigot, without a standoff, or cut the spacers narrower"
        elif screw.hardware and not other.hardware:
            by_hand = (
                f"{other.name} and {screw.screw or screw.name} are both on {a.carrier}, where each has its room: one "
                f"of them is not where the spec has it; measure {other.name} (its `at`) from the zero that its holes "
                "are counted from"
            )
        else:
            by_hand = f"both are on {a.carrier} and go wherever it goes: change one of them"
        # In the order of what a shop would try: off each other along the axis, aside, then what guard and belt leave
        # open.
        ideas = [Advice(by_hand)]
        if not live:
            ideas = [
                *_spigot_on_spacers(layout, worst),
                *_off_each_other(layout, worst),
                move_apart(layout, [(one.a, one.b) for one in meetings], needed),
                *_other_guard(layout, worst),
                *_other_belt(layout, worst),
                *ideas,
            ]
        advice, *others = (idea for idea in ideas if idea)
        features = dict.fromkeys(body.name for one in meetings for body in (one.a, one.b))
        yield Finding(
            rule="clash",
            level="stop",
            message=f"{what}; {say(layout, worst.needed)} is needed" if worst.needed else what,
            features=tuple(sorted(features, key=lambda name: name not in (a.name, b.name))),
            at=worst.between,
            found=worst.found,
            needed=worst.needed,
            advice=advice,
            others=tuple(others),
            positions=positions,
        )
    yield from _rubbing(layout, bodies)


def _goes_round(layout: Layout, run: Body, shaft: Body) -> bool:
    """Whether a body is a run of a belt and another a shaft that it goes round: it lies on it wherever that travels."""
    belts = [belt for belt in layout.belts if run.kind == "belt" and belt.name == run.belt]
    return any(on_the_axis(shaft, pulley) for belt in belts for pulley in belt.pulleys)


def _rubbing(layout: Layout, bodies: tuple[Body, ...]) -> Iterator[Finding]:
    """What turns and what stands still that touch (mm), because the one or the other is said to be meant to."""
    named = {body.name: body for body in bodies}
    given = frozenset(body.name for body in bodies if body.kind == "given")
    told: set[tuple[str, str]] = set()
    for body in bodies:
        # Pieces of a guard touch each other by the hundred: only pairs with a body that the spec gives are looked at.
        met = body.touches if body.kind == "given" else given.intersection(body.touches)
        for other in (named[name] for name in sorted(met) if name in named):
            if _turns(body) == _turns(other):
                continue
            still, turning = (other, body) if _turns(body) else (body, other)
            # A shaft runs in its bearing, and in the part that carries both; a shaft in its pulley is a body too.
            if still.kind != "given" or CARRIES.search(still.name) or still.carrier == turning.carrier:
                continue
            if (still.name, turning.name) in told or meeting(still, turning).found > SAME_LENGTH:
                continue
            told.add((still.name, turning.name))
            sure = turning.kind in ("pulley", "belt") or turning.turns
            by_name = "" if sure else " by its name"
            stands = "" if sure else f"say turns: false on {turning.name} if it stands still; "
            yield Finding(
                rule="clash",
                level="warn",
                message=f"{still.name} is said to touch {turning.name}, which turns{by_name}: it rubs as soon as that "
                "runs"
                if turning.name in still.touches
                else f"{turning.name}, which turns{by_name}, is said to touch {still.name}, which stands still: it "
                "rubs as soon as it runs",
                features=(still.name, turning.name),
                at=still.shape.centroid,
                advice=Advice(
                    f"take {other.name} out of the `touches` of {body.name}, so that the gap between them is checked; "
                    f"{stands}say turns: true on {still.name} where it turns along; where it is a brake, or carries "
                    "what turns, accept this"
                ),
            )


def _turns(body: Body) -> bool:
    """Whether a body turns while the machine runs: a pulley, coupling or belt, or by the spec's word or its name."""
    if body.kind in ("pulley", "belt"):
        return True
    if body.turns is not None or body.hardware:
        return bool(body.turns)
    return body.kind in ("given", "standard") and SHAFTLIKE.search(body.name) is not None


def _whole(body: Body) -> str:
    """The name of a body; for a piece of the guard's back plate the plate's, for a key its shaft's."""
    if body.kind == "standard" and body.name == f"{body.carrier}.key":
        return f"{body.carrier}.shaft"
    return f"{body.name.split('.')[0]}.back" if body.of_guard == "back" else body.name


def may_touch(a: Body, b: Body) -> bool:
    """Whether two bodies may meet: on purpose, as one part, as one screw, or as a standard part and its own screws."""
    if b.name in a.touches or a.name in b.touches:
        return True
    # Below only bodies of one carrier: they keep their distance whatever travels.
    if a.carrier != b.carrier:
        return False
    if a.hardware and b.hardware:
        return a.screw == b.screw
    if (a.solid_model is not None or b.solid_model is not None) and {a.kind, b.kind} & {"shank", "tip"}:
        return True  # it goes into the model's own hole, of which a maker draws the core or the outside of the thread
    if a.kind == b.kind == "pulley" and a.belt != b.belt:
        return _end_to_end(a, b)
    if "pulley" in (a.kind, b.kind) and a.kind != b.kind and not (a.hardware or b.hardware):
        return _on_its_shaft(a, b) if a.kind == "pulley" else _on_its_shaft(b, a)
    if not (a.hardware or b.hardware) or "standard" in (a.kind, b.kind):
        return True
    # Whether a screw's part sits on a body of its own mount, as a head does on its flange, instead of in it.
    return a.z[0] >= b.z[1] - SAME_LENGTH or b.z[0] >= a.z[1] - SAME_LENGTH


def _end_to_end(one: Body, other: Body) -> bool:
    """Whether two pulleys of one part, of two belts, have each its own stretch of shaft: they may touch, as one piece.

    Upright ones on two shafts of one part pass each other beside, too: how near they come is for the clash to say.
    """
    if not one.pieces:
        return one.z[0] >= other.z[1] - SAME_LENGTH or other.z[0] >= one.z[1] - SAME_LENGTH
    (ax, ay), (bx, by) = (end for solid in one.solids[:1] for end in (solid.a, solid.b))  # type: ignore[union-attr]  # lying
    long = math.hypot(bx - ax, by - ay)
    way = ((bx - ax) / long, (by - ay) / long)
    stretches = [[extent(solid, way) for solid in body.solids] for body in (one, other)]
    (low, high), (start, end) = ((min(a for a, _ in part), max(b for _, b in part)) for part in stretches)
    return low >= end - SAME_LENGTH or start >= high - SAME_LENGTH


def _on_its_shaft(pulley: Body, body: Body) -> bool:
    """Whether a body of the pulley's own mount lets it be: its shaft, narrower and through its middle, or beside it."""
    if not pulley.pieces:
        # Upright: whatever lies at the pulley's own height has to be narrower and to cover its middle.
        spot = Disc(pulley.shape.box.center, SHAFT_POINT)
        for one in body.solids:
            if min(one.high, pulley.z[1]) - max(one.low, pulley.z[0]) <= SAME_LENGTH:
                continue
            box = one.silhouette.box
            narrower = max(box.width, box.height) < pulley.shape.box.width
            if not (isinstance(one, Upright) and narrower and distance(spot, one.silhouette).distance <= 0):
                return False
        return True
    for own in pulley.solids:
        assert isinstance(own, Lying)
        # Lying: heights say nothing here, places along its own shaft do.
        (ax, ay), (bx, by) = own.a, own.b
        long = math.hypot(bx - ax, by - ay)
        way = ((bx - ax) / long, (by - ay) / long)
        start = ax * way[0] + ay * way[1]
        for one in body.solids:
            low, high = extent(one, way)
            beside = min(high, start + long) - max(low, start) <= SAME_LENGTH
            if not beside and not (isinstance(one, Lying) and one.radius < own.radius and _on_axis(one, own)):
                return False
    return True


def _on_axis(shaft: Lying, pulley: Lying) -> bool:
    """Whether a lying shaft runs through a lying pulley's middle, askew to it by no more than any belt bears."""
    x, y = ((p + q) / 2 for p, q in zip(pulley.a, pulley.b, strict=True))
    (ax, ay), (bx, by) = pulley.a, pulley.b
    long = math.hypot(bx - ax, by - ay)
    ux, uy = (bx - ax) / long, (by - ay) / long
    far = max(math.dist(end, (x, y)) for end in (shaft.a, shaft.b))
    off = max(abs((ex - x) * uy - (ey - y) * ux) for ex, ey in (shaft.a, shaft.b))
    return math.hypot(off, shaft.height - pulley.height) <= SAME_LENGTH + far * math.tan(ASKEW)


def _off_each_other(layout: Layout, one: Meeting) -> Iterator[Advice]:
    """Advice for bodies of two parts on one axis, one on each side: they go apart along it, not across."""
    a, b = one.a, one.b
    if a.carrier == b.carrier or math.dist(a.shape.box.center, b.shape.box.center) > SAME_LENGTH or a.side == b.side:
        return
    if not {a.carrier, b.carrier} <= set(layout.mounts):
        return
    # to the end of the shorter of them and the gap beyond it
    deep = min(a.z[1], b.z[1]) - max(a.z[0], b.z[0]) + one.needed
    for name in sorted({a.carrier, b.carrier}, key=list(layout.mounts).index, reverse=True):
        mount = layout.mounts[name]
        standoff = rounded_up(layout, mount.spacing + deep)
        yield Advice(
            f"they are on one axis and overlap along it: shorten one by {say(layout, deep)}, or set {name} on "
            f"{packing(layout, standoff)} (standoff: {standoff:g})",
            (Remedy(f"{mount.field}.standoff", standoff),),
        )


def _spigot_on_spacers(layout: Layout, one: Meeting) -> Iterator[Advice]:
    """A part's own spigot that its own spacers stand in the way of: narrower ones, a shorter standoff, or none."""
    kinds = {one.a.kind: one.a, one.b.kind: one.b}
    if one.a.carrier != one.b.carrier or "spigot" not in kinds or "spacer" not in kinds:
        return
    mount = layout.mounts[one.a.carrier]
    free = Remedy(f"{mount.field}.spacers", {})
    said = words_at(layout, f"{mount.field}.spacers") is not None
    if said:
        yield Advice("leave it to the list of stock what the spacers are cut from (spacers: {})", (free,))
    flat = Remedy(f"{mount.field}.standoff", 0.0)
    yield Advice(
        f"let {mount.name} bear where its spigot stands, without spacers: its screws are inside the spigot, and a "
        "spacer has no face to bear on there (standoff: 0)",
        (flat, free) if said else (flat,),
    )


def _other_guard(layout: Layout, one: Meeting) -> Iterator[Advice]:
    """Where the guard meets something: its band past the end of that, its back over it, or another gap."""
    for own, other in ((one.a, one.b), (one.b, one.a)):
        for guard in layout.guards:
            if own.kind == "guard" and own.name.startswith(f"{guard.name}."):
                yield from _otherwise(layout, one, guard, (own, other))


def _otherwise(layout: Layout, one: Meeting, guard: Guard, met: tuple[Body, Body]) -> Iterator[Advice]:
    own, other = met
    lies = guard.drawn.lies
    if own.of_guard == "back" and not lies:
        said = f"leave the {guard.name}'s back plate out ({guard.field}: back: none): the plate itself then closes the"
        yield Advice(f"{said} back", (Remedy(f"{guard.field}.back", "none"),))
    if own.of_guard == "screw" and not guard.ears_given:
        what = "ears" if guard.floor is None else "feet"
        for count in (one for one in (*EAR_COUNTS, 2) if one != len(guard.fixed_at) and (one > 2 or lies)):
            said = f"give the {guard.name} {count} {what} (fixings: count: {count}), which puts them at other places"
            yield Advice(said, (Remedy(f"{guard.field}.fixings.count", count),))
    if own.of_guard == "cover screw":
        for count in (one for one in EAR_COUNTS if one != len(guard.cover_holes)):
            said = (
                f"give the {guard.name}'s cover {count} screws (cover: count: {count}), which puts them at other places"
            )
            yield Advice(said, (Remedy(f"{guard.field}.cover.count", count),))
    # `beyond`: how far the other part reaches past the cover; `under`: how far up it comes from the plate's face
    low, high = layout.plate_z
    covered, (start, stop) = in_plane(guard.drawn, other)
    beyond = stop - guard.z[1] if guard.outward > 0 else guard.z[0] - start
    under = other.z[1] - high if guard.side == "near" else low - other.z[0]
    band = rounded_up(layout, guard.band_width + beyond + guard.thickness + one.needed)
    back = rounded_up(layout, under + one.needed + (guard.thickness if guard.floor is None else 0.0))
    if -guard.thickness - one.needed < beyond < guard.band_width:
        yield Advice(f"make the {guard.name}'s band wider (band: {band:g})", (Remedy(f"{guard.field}.band", band),))
    if lies and beyond > -guard.thickness - one.needed:
        # so narrow that the cover ends before it
        near_end = start if guard.outward > 0 else stop
        room = guard.outward * (near_end - ends_of(guard)[0]) - guard.thickness - one.needed
        if room > 0:
            narrow = rounded_down(layout, room)
            yield Advice(
                f"make the {guard.name}'s band narrower (band: {narrow:g})", (Remedy(f"{guard.field}.band", narrow),)
            )
    tall = guard.outline.box.height if lies else guard.band_width
    if 0 < under < tall and (guard.floor is not None or not lies):
        said = f"set the {guard.name}'s back farther off the plate (back_from_plate: {back:g})"
        yield Advice(said, (Remedy(f"{guard.field}.back_from_plate", back),))
    # A band that goes round all of the other part, at any position, or ends before it. Its flats stand off the hull of
    # what turns by more than the gap at their bends, so the smaller one leaves them room.
    turning = hull([in_plane(guard.drawn, body)[0] for body in dangers(layout, guard)])
    around = disc_loop(turning) if isinstance(turning, Disc) else turning
    spots = (edge.at(share) for edge in covered.loop().edges for share in (0.0, 0.25, 0.5, 0.75))
    past = max(-around.depth(spot).distance for spot in spots) + one.needed + 1.0
    short = INSIDE_FLATS * (distance(covered, turning).distance - one.needed - guard.thickness)
    gaps = [rounded_up(layout, gap) for gap in (past, short) if gap > 1.0]
    gaps += [rounded_up(layout, share * guard.gap) for share in GUARD_GAPS]
    unit = layout.spec.unit
    for gap in gaps:
        yield Advice(f"make the {guard.name}'s gap {gap:g} {unit} (gap: {gap:g})", (Remedy(f"{guard.field}.gap", gap),))
    if not guard.ears_given:  # another gap moves the ears too, perhaps to where something else is
        gap = rounded_up(layout, past)
        for count in (one for one in EAR_COUNTS if one != len(guard.fixed_at)):
            said = (
                f"make the {guard.name}'s gap {gap:g} {unit} with {count} ears (gap: {gap:g}, fixings: count: {count})"
            )
            yield Advice(said, (Remedy(f"{guard.field}.gap", gap), Remedy(f"{guard.field}.fixings.count", count)))


def _other_belt(layout: Layout, one: Meeting) -> Iterator[Advice]:
    """Where a belt or its pulleys meet something: the belt in another plane, or a longer one."""
    for belt in layout.belts:
        own = [body.belt == belt.name for body in (one.a, one.b)]
        carriers = {one.a.carrier, one.b.carrier}
        if all(own) or (any(own) and len(carriers) == 2 and carriers <= {p.mount for p in belt.pulleys}):
            yield from longer_belts(layout, belt)
        if any(own) and not all(own):
            runs, other = (one.a, one.b) if own[0] else (one.b, one.a)
            # two ways out along the shafts, past either end of what is met: the nearer first
            reaches = []
            for body in (runs, other):
                along = [extent(solid, belt.drawn.n[:2]) for solid in body.solids] if belt.drawn.lies else [body.z]
                reaches.append((min(low for low, _ in along), max(high for _, high in along)))
            (low, high), (start, end) = reaches
            ways = (end + one.needed - low, start - one.needed - high)
            yield from (along_the_shafts(layout, belt, way) for way in sorted(ways, key=abs))


RULES = (
    Rule(
        "blocked",
        "a body that enters the plate where there is no opening for it",
        "the body's gap, 2 mm if it gives none",
        "common practice",
        blocked,
        levels=("stop",),
        keys=("bodies.NAME.gap", "limits.gap"),
        acceptable="never",
    ),
    Rule(
        "clash",
        "two bodies, or a screw and a body, that meet at some position of the travel",
        "the larger of the two gaps, 2 mm if none is given",
        "common practice",
        clash,
        levels=("stop", "warn"),
        keys=("bodies.NAME.gap", "limits.gap"),
        acceptable="both",
    ),
)

"""Rules on how the drive goes together: take-up travel against the belt's needs, pulley planes, order of assembly."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from itertools import product
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from platekit.analysis.nearness import meeting
from platekit.checks.advice import say, words_at
from platekit.checks.bodies import may_touch
from platekit.checks.drive_edits import (
    by_the_belt,
    middle,
    other_length,
    placed_by_belt,
    shaft_asked,
    span_moved,
    whole,
)
from platekit.checks.finding import Advice, FieldValue, Finding, Level, Remedy
from platekit.checks.rule import Rule
from platekit.geometry import Disc, Point, Pose, Straight, covered_by_union, distance, ends, pose_at
from platekit.laying.shafts import SHAFT_POINT, misplaced_shafts
from platekit.placed import SAME_LENGTH, Body, Layout, PlacedBelt, PlacedPulley
from platekit.spec.take_up_words import TakeUp

if TYPE_CHECKING:
    from platekit.drive.take_up import Travel as Needed

REACH_TOLERANCE = 0.05
"""Shafts that miss a needed centre distance by less than this reach it, mm: half the step of rounded advice."""

POSITIONS = 9
"""Positions of each travel that are looked at besides its ends, where more than one part travels (ours)."""

OFF_LINE = math.radians(2)
"""A slot less than this off the line of centres is in line: it costs a thousandth of its travel (ours)."""

SMALL_TURN = 1e-3
"""A swing by this much shows which way it goes, rad (ours)."""


# -------------------------------------------------------------------------------------------- take-up


class Reached(Struct, frozen=True):
    """The least and the greatest of a measure of the belt (mm) over all that travels."""

    least: float
    greatest: float


def take_up(layout: Layout) -> Iterator[Finding]:
    """Shafts that do not come close enough (mm) to put the belt on, or far enough apart to take up its stretch."""
    for belt in layout.belts:
        needed = belt.result.travel
        if needed is None:
            continue
        if not any(pulley.travel is not None for pulley in belt.pulleys):
            yield from _fixed(layout, belt, needed)
            continue
        reach = reach_of(belt)
        least, most, shafts = needed.shortest, needed.longest, "the shafts come"
        closer, farther = "closer", "farther apart"
        # With idlers no one distance tells whether the belt fits: the way round all wheels does, against the lengths
        # that such a belt may have.
        if belt.idlers:
            from platekit.drive.take_up import length_range

            belt_made = belt.request.belt
            assert belt_made is not None
            lengths = length_range(belt_made.section, belt.result.belt_length)
            least, most, shafts = lengths.shortest, lengths.longest, "the way round its pulleys gets"
            closer, farther = "shorter", "longer"
        # Closer, to lift the belt over the rims; farther apart, for what it stretches and for belts made long.
        ways = (
            ("install", closer, "to put the shortest such belt on", reach.least, least, 1),
            ("tension", farther, "to take up the stretch of the longest", reach.greatest, most, -1),
        )
        for key, way, why, found, wanted, sign in ways:
            if (found - wanted) * sign <= REACH_TOLERANCE:
                continue
            advice, *others = _longer_travel(layout, belt, key, abs(found - wanted))
            yield Finding(
                rule="take-up",
                level="stop",
                message=f"{belt.name}: {shafts} no {way} than {say(layout, found)}; {say(layout, wanted)} is needed "
                f"{why}",
                features=whole(belt),
                at=middle(belt),
                found=found,
                needed=wanted,
                advice=advice,
                others=tuple(others),
            )
        name = belt.adjusted
        if name is not None and layout.mounts[name].take_up == "rails":
            # a part that has to slide farther than its rails are long
            low, high = ends(layout.mounts[name].travel)
            room, slides = words_at(layout, f"mounts.{name}.take_up.rails").travel, high - low
            if room is not None and slides > room + REACH_TOLERANCE:
                yield Finding(
                    rule="take-up",
                    level="stop",
                    message=f"{belt.name}: {name} slides {say(layout, slides)} in all, and its rails let it slide "
                    f"{say(layout, room)}",
                    features=(name, *whole(belt)),
                    at=middle(belt),
                    found=room,
                    needed=slides,
                    advice=Advice(
                        f"take rails that let it slide {say(layout, slides)} (mounts.{name}.take_up.rails.travel), or "
                        "a belt that needs less"
                    ),
                )
        # What a slot off the line of centres costs: said, so that nobody is surprised.
        slot = belt.result.slot
        if belt.drawn.lies:  # slots lie in the plate, whatever the heights of the shafts: `slot-angle` holds their way
            continue
        if slot is None or name is None or abs(slot.off) <= OFF_LINE or math.cos(slot.off) <= 0:
            continue
        if layout.mounts[name].take_up != "slots":
            continue
        aside = max(abs(shift) for shift in slot.sideways)
        turned = math.degrees(max(abs(turn) for turn in slot.turn))
        yield Finding(
            rule="take-up",
            level="note",
            message=f"{belt.name}: the slots of {name} are {math.degrees(abs(slot.off)):.0f} degrees off the line of "
            f"centres: {100 * slot.share:.0f} % of a small travel counts, the shaft goes up to {say(layout, aside)} "
            f"sideways and the line of centres turns by up to {turned:.1f} degrees",
            features=whole(belt),
            at=middle(belt),
            found=slot.share,
            needed=1.0,
            unit="share",
            advice=Advice("slots along the line of centres (along: belt) are the shortest"),
        )


def reach_of(belt: PlacedBelt) -> Reached:
    """The centre distances (mm) that the shafts can have; with idlers, how long the way round the wheels can be.

    Exact at the ends of the travel and where a straight travel comes closest; where several parts travel, the
    positions between are sampled, which can only make the reach look shorter.
    """
    if belt.idlers:
        # The belt is as long as the taut way round all wheels; it runs straight past an idler that lets go of it.
        from platekit.drive.route import Wheel, run_length

        return _over_travel(
            belt,
            belt.pulleys,
            lambda at: run_length([Wheel(*at[one.name], one.pitch_diameter, one.inside) for one in belt.pulleys]),
        )
    shafts = (belt.driver, belt.driven)
    return _over_travel(belt, shafts, lambda at: math.dist(at[belt.driver.name], at[belt.driven.name]))


def _over_travel(
    belt: PlacedBelt, pulleys: tuple[PlacedPulley, ...], measure: Callable[[dict[str, Point]], float]
) -> Reached:
    travels = {pulley.mount: pulley for pulley in pulleys if pulley.travel is not None}
    steps = [_positions(pulley, belt, alone=len(travels) == 1) for pulley in travels.values()]
    # where each pulley is at each position of its mount, once: they are put together in as many ways as there are
    spots: dict[str, list[dict[str, Point]]] = {}
    for (mount, pulley), positions in zip(travels.items(), steps, strict=True):
        poses = [pose_at(pulley.travel, s) for s in positions]
        spots[mount] = [{p.name: pose.point(p.center) for p in pulleys if p.mount == mount} for pose in poses]
    at = {p.name: Pose().point(p.center) for p in pulleys if p.mount not in spots}
    found = []
    for chosen in product(*spots.values()):
        for there in chosen:
            at.update(there)
        found.append(measure(at))
    return Reached(min(found), max(found))


def _positions(pulley: PlacedPulley, belt: PlacedBelt, alone: bool) -> list[float]:
    # both ends always: there the shafts are closest and farthest but for a way that passes them
    low, high = ends(pulley.travel)
    between = [low + (high - low) * step / (POSITIONS + 1) for step in range(1, POSITIONS + 1)]
    if alone and isinstance(pulley.travel, Straight) and not belt.idlers:
        other = belt.driven if pulley is belt.driver else belt.driver
        ux, uy = pulley.travel.direction
        # One part on a straight way: the shafts are nearest where the way passes square, so three positions say it all.
        nearest = (other.center[0] - pulley.center[0]) * ux + (other.center[1] - pulley.center[1]) * uy
        between = [nearest] if low < nearest < high else []
    return [low, *between, high]


def _fixed(layout: Layout, belt: PlacedBelt, needed: Needed) -> Iterator[Finding]:
    """Nothing travels: the shafts must at least be where the belt fits, and it cannot be tensioned."""
    placed = math.dist(belt.driver.center, belt.driven.center)
    # where the belt fits by its length's tolerance alone it can be put on, though never tightened
    from_length = (needed.nominal - needed.from_length[0], needed.nominal + needed.from_length[1])
    fits = from_length[0] - REACH_TOLERANCE <= placed <= from_length[1] + REACH_TOLERANCE
    level: Level = "warn" if fits else "stop"
    slots: FieldValue = {"slots": {"along": "belt", "install": "auto", "tension": "auto"}}
    remedies = [Remedy(f"mounts.{belt.driver.mount}.take_up", slots)]
    advice = f"give {belt.driver.mount} slots: take_up: {{slots: {{along: belt, install: auto, tension: auto}}}}"
    where = ""
    if not fits:
        where = f" and are {say(layout, placed)} apart, where the belt wants {say(layout, needed.nominal)}"
        if not placed_by_belt(layout, belt) and not belt.idlers:
            # The place is mended first; slots then take their travel from there.
            remedies.insert(0, by_the_belt(layout, belt))
            advice = f"let the belt place {belt.driver.mount} (at: {{belt: ...}}), and {advice}"
    yield Finding(
        rule="take-up",
        level=level,
        message=f"{belt.name}: the shafts do not travel{where}; to put the belt on and tighten it takes "
        f"{say(layout, needed.shortest)} to {say(layout, needed.longest)}",
        features=whole(belt),
        at=middle(belt),
        found=placed,
        needed=needed.longest if placed < needed.nominal else needed.shortest,
        advice=Advice(advice, tuple(remedies)),
    )


def _longer_travel(layout: Layout, belt: PlacedBelt, key: str, short: float) -> tuple[Advice, ...]:
    """What would give the travel that is wanting, in the order of what a shop would try."""
    name = belt.adjusted
    take_up_words: TakeUp | None = None if name is None else words_at(layout, f"mounts.{name}.take_up")
    if name is None or take_up_words is None:
        # Idlers tighten the belt: each with its own words, or with those of the mount that it is on.
        ideas: list[Advice] = []
        for idler in belt.idlers:
            on_mount = idler.mount in layout.mounts
            its = f"mounts.{idler.mount}" if on_mount else idler.field
            given = words_at(layout, f"{its}.take_up") if on_mount else words_at(layout, its).take_up
            if given is None:
                continue
            its_kind = "slots" if given.slots is not None else "swing"
            if getattr(getattr(given, its_kind), key) != "auto":
                edit = Remedy(f"{its}.take_up.{its_kind}.{key}", "auto")
                ideas.append(Advice(f"let the belt give the travel of {idler.name} ({key}: auto)", (edit,)))
                if its_kind == "slots":
                    said = f"turn the slot of {idler.name} into the belt (along: belt, {key}: auto)"
                    ideas.append(Advice(said, (Remedy(f"{its}.take_up.slots.along", "belt"), edit)))
        last = Advice(
            f"the belt's way must get {say(layout, short)} {'shorter' if key == 'install' else 'longer'}: let the "
            "idler travel farther, or choose another belt length"
        )
        return (*ideas, last)
    # slots, rails, a swing or a hinge: each has its own keys for how far it goes
    kind: str = take_up_words.choice
    straight = take_up_words.straight is not None
    words = getattr(take_up_words, kind)
    field = f"mounts.{name}.take_up.{kind}"
    placed = math.dist(belt.driver.center, belt.driven.center)
    needed = belt.result.travel
    in_line = Remedy(f"{field}.along", "belt")
    both = (Remedy(f"{field}.install", "auto"), Remedy(f"{field}.tension", "auto"))
    if needed is None or not needed.shortest <= placed <= needed.longest:
        return _belt_for(layout, belt, placed, (in_line, *both) if straight else both)
    # How much of a small travel of a mount's slots takes its shaft from the other one; None where it has none.
    pulley, other = (belt.driver, belt.driven) if belt.driver.mount == name else (belt.driven, belt.driver)
    if not isinstance(pulley.travel, Straight):
        share = None
    else:
        ux, uy = pulley.travel.direction
        x, y = pulley.center[0] - other.center[0], pulley.center[1] - other.center[1]
        share = (ux * x + uy * y) / math.hypot(x, y)
    from platekit.drive.take_up import LEAST_SHARE

    if share is not None and share <= LEAST_SHARE:
        off = "tighten it the wrong way, towards the other shaft" if share < -LEAST_SHARE else "lie across this belt"
        said = f"the slots of {name} {off}: turn them into its line (along: belt, install: auto, tension: auto)"
        return (Advice(said, (in_line, *both)),)
    if getattr(words, key) != "auto":
        said = f"let the belt give it: {key}: auto in the {kind} of {name}"
        found = [Advice(said, (Remedy(f"{field}.{key}", "auto"),))]
        if straight:
            found.append(
                Advice(f"{said}, along its line (along: belt, install: auto, tension: auto)", (in_line, *both))
            )
        return tuple(found)
    if straight and getattr(words, "along", "") == "belt":
        # The mount at the belt's other end.
        return (
            Advice(
                f"{name} travels along another belt: give "
                f"{(belt.driven.mount if belt.driver.mount == name else belt.driver.mount)} a take-up of its own"
            ),
        )
    if straight:
        return (Advice(f"turn the slots of {name} into the line of centres (along: belt)", (in_line,)),)
    swing = layout.mounts[name].travel
    pulley, other = (belt.driver, belt.driven) if belt.driver.mount == name else (belt.driven, belt.driver)
    ahead = pose_at(swing, SMALL_TURN).point(pulley.center)
    if take_up_words.swing is not None and math.dist(ahead, other.center) < math.dist(pulley.center, other.center):
        way = "clockwise" if take_up_words.swing.tightens == "counter-clockwise" else "counter-clockwise"
        said = f"{name} tightens the belt the other way: tightens: {way}"
        return (Advice(said, (Remedy(f"{field}.tightens", way),)),)
    return (
        Advice(f"move the pivot of {name} so that its swing lengthens the centre distance, or choose another belt"),
    )


def _belt_for(layout: Layout, belt: PlacedBelt, placed: float, free: tuple[Remedy, ...]) -> tuple[Advice, ...]:
    """Shafts placed where this belt does not fit: a stock belt that does, or the belt's own distance.

    `free` are the edits that let the belt give the travel.
    """
    from platekit.drive import belt_length
    from platekit.tables import belts

    made = belt.request.belt
    if made is None or belt.idlers:
        return (Advice(f"the shafts are placed {say(layout, placed)} apart: choose a belt for that, or move a mount"),)
    length = belt_length(placed, belt.result.driver_pitch, belt.result.driven_pitch)
    apart = f"the shafts are {say(layout, placed)} apart, the belt wants {say(layout, belt.result.centre_distance)}"
    travel = ", and let it give the travel (along: belt, install: auto, tension: auto)"
    found = []
    for size in belts.nearest_stock(made.section, length, 2):
        swap = other_length(layout, belt, size)
        found += [Advice(f"{apart}: use {size.label}", (swap,))]
        found += [Advice(f"{apart}: use {size.label}{travel}", (swap, *free))]
    if not placed_by_belt(layout, belt):
        moved = by_the_belt(layout, belt)
        name = belt.driver.mount
        found += [Advice(f"{apart}: let the belt place {name} (at: {{belt: ...}}){travel}", (moved, *free))]
    return tuple(found)


# ------------------------------------------------------------------------------------------ alignment


def align(layout: Layout) -> Iterator[Finding]:
    """Pulleys whose planes miss each other (mm), stacked up along the shafts from mating faces and plate thickness."""
    from platekit.tables import belts

    for belt in layout.belts:
        if belt.request.belt is None or belt.impossible:
            continue
        family = belts.section(belt.request.belt.section).family
        # One pulley is to move along its shaft, the other stays as it is. A new motor brings its pulley with it, so the
        # driver is moved if there is room for it; else the driven one, if there is for that. On a
        # second belt that starts on a countershaft both can be moved; the driver is as good.
        by = belt.driven.plane - belt.driver.plane
        bears = belts.family_figures(family).misalignment * math.dist(belt.driver.center, belt.driven.center)
        # Whether there is room takes far longer to tell than all else here: it is asked where something must move.
        apart = abs(by) > bears or bool(belt.idlers)
        if apart and not has_room(layout, belt, belt.driver, by) and has_room(layout, belt, belt.driven, -by):
            moved, fixed = belt.driven, belt.driver
        else:
            moved, fixed = belt.driver, belt.driven
        others = [(moved, fixed), *((idler, fixed) for idler in belt.idlers)]
        for pulley, other in others:
            allowed = belts.family_figures(family).misalignment * math.dist(pulley.center, other.center)
            by = other.plane - pulley.plane
            if abs(by) > allowed:
                outward = by * pulley.sense
                words = words_at(layout, pulley.field)
                hub = words.hub.span if getattr(words, "hub", None) is not None else None
                remedies = [span_moved(layout, f"{pulley.field}.span", pulley.span, outward)]
                if hub is not None:
                    remedies.append(span_moved(layout, f"{pulley.field}.hub.span", hub, outward))
                new = remedies[0].value
                written = ", ".join(f"{end:g}" for end in new) if isinstance(new, list) else ""
                advice = f"move {pulley.name} {say(layout, abs(by))} along its shaft (span: [{written}])"
                if pulley is belt.driven:
                    advice += f", as there is no room for {other.name} to move"
                if pulley.drawn.lies:
                    advice += f", or move {pulley.mount} as far along the shafts"
                elif outward > 0 and pulley.mount in layout.mounts:
                    advice += f", or put {say(layout, outward)} of shims under {pulley.mount}"
                elif other.mount in layout.mounts and (-by if other.side == "near" else by) > 0:
                    advice += f", or put {say(layout, abs(by))} of shims under {other.mount}"
                yield Finding(
                    rule="align",
                    level="stop",
                    message=f"{belt.name}: the middles of {pulley.name} and {other.name} are {say(layout, abs(by))} "
                    f"out of line along the shafts; {say(layout, allowed)} is what the belt bears",
                    features=(pulley.name, other.name, belt.name),
                    at=pulley.at,
                    found=abs(by),
                    needed=allowed,
                    advice=Advice(advice, tuple(remedies)),
                )


def has_room(layout: Layout, belt: PlacedBelt, pulley: PlacedPulley, by: float) -> bool:
    """Whether a pulley may go `by` mm along its shaft: nothing is in its way, and a described shaft still holds it."""
    if pulley.drawn.lies:
        # The same along a shaft that lies along the plate.
        ends = None if pulley.axis is None else pulley.axis.stretch
        low, high = (end + pulley.sense * by for end in pulley.span)
        if ends is not None and not (ends[0] - SAME_LENGTH <= low and high <= ends[1] + SAME_LENGTH):
            return False
        pose = Pose(by * pulley.drawn.n[0], by * pulley.drawn.n[1])
        others = [body for body in layout.bodies if body.belt != belt.name]
        for one in layout.bodies:
            if one.pulley == pulley.name:
                pieces = tuple(piece.moved(pose) for piece in one.pieces)
                body = replace(one, shape=one.shape.moved(pose), swept=one.swept.moved(pose), pieces=pieces)
                if any(_in_the_way(body, other) for other in others):
                    return False
        return True
    # rim and hub go together; whatever else runs with the belt goes along, too
    own = [body for body in layout.bodies if body.pulley == pulley.name]
    others = [body for body in layout.bodies if body.belt != belt.name]
    rims = [rim for rim in own if rim.name == pulley.name]
    shafts = [body for body in others if any(body.carrier == rim.carrier and _through(body, rim) for rim in rims)]
    low, high = layout.plate_z
    openings = [opening.shape for opening in layout.openings if opening.through]
    for body in (replace(one, z=(one.z[0] + by, one.z[1] + by)) for one in own):
        in_the_plate = body.z[0] < high and body.z[1] > low and distance(body.swept, layout.plane).distance <= 0
        if in_the_plate and not covered_by_union(body.swept, openings, body.gap):
            return False
        if body.name == pulley.name and shafts and not any(_through(shaft, body) for shaft in shafts):
            return False
        if any(_in_the_way(body, other) for other in others):
            return False
    return True


def _through(shaft: Body, rim: Body) -> bool:
    """Whether a body goes through the middle of a pulley, over all its width, and is narrower."""
    narrower = max(shaft.shape.box.width, shaft.shape.box.height) < rim.shape.box.width
    long = shaft.z[0] <= rim.z[0] + SAME_LENGTH and shaft.z[1] >= rim.z[1] - SAME_LENGTH
    return narrower and long and distance(Disc(rim.shape.box.center, SHAFT_POINT), shaft.shape).distance <= 0


def _in_the_way(body: Body, other: Body) -> bool:
    apart, needed = max(body.z[0], other.z[0]) - min(body.z[1], other.z[1]), max(body.gap, other.gap)
    if apart >= needed - SAME_LENGTH or may_touch(body, other):
        return False
    near = meeting(body, other, needed)
    return near.found < near.needed - SAME_LENGTH


# -------------------------------------------------------------------------------------------- assembly


def pulley_order(layout: Layout) -> Iterator[Finding]:
    """Pulleys beyond the plate from their own part: each must pass an opening (mm), or be put on after the part."""
    low, high = layout.plate_z
    wrong = {name for one in misplaced_shafts(layout) for name in one.shafts}
    for belt in layout.belts:
        for pulley in (belt.driver, belt.driven):
            if pulley.drawn.lies or belt.impossible:  # it is beside the plate or above it, not behind
                continue
            beyond = pulley.z[1] <= low if pulley.side == "near" else pulley.z[0] >= high
            # a shaft needs a way through the plate at its middle; how wide is for other rules
            spot = Disc(pulley.center, SHAFT_POINT)
            if pulley.name in wrong:  # `shaft-place` says it
                continue
            if beyond and distance(spot, layout.plane).distance <= 0:
                openings = [
                    opening
                    for opening in layout.openings
                    if opening.through and opening.role not in ("screw", "pivot", "fixing", "dowel")
                ]
                way = next((opening for opening in openings if covered_by_union(spot, [opening.shape])), None)
                if way is None:
                    through_plate = Finding(
                        rule="pulley-order",
                        level="stop",
                        message=f"{belt.name}: {pulley.name} is on the other side of the plate from {pulley.mount}, "
                        "and there is no opening for its shaft",
                        features=(pulley.name,),
                        at=pulley.at,
                        found=0.0,
                        needed=pulley.pitch_diameter,
                        advice=Advice(
                            f"describe the shaft as a body carried by {pulley.mount} with relief: auto, or turn the "
                            "sign of its span so that the pulley is on the part's own side"
                        ),
                        asks=(shaft_asked(layout, pulley, opened=True),),
                    )
                else:
                    rim = pulley.largest_diameter
                    passes = covered_by_union(Disc(pulley.center, rim / 2), [way.shape])
                    size = f" of {say(layout, way.size)}" if way.size else ""
                    said = (
                        f"it passes the opening {way.name}{size}, so it may stay on its shaft"
                        if passes
                        else f"it does not pass the opening {way.name}{size}: {pulley.mount} is bolted on first, then "
                        "the pulley is put on its shaft, then the belt"
                    )
                    through_plate = Finding(
                        rule="pulley-order",
                        level="note",
                        message=f"{belt.name}: {pulley.name} ({say(layout, rim)} over all) sits on the other side of "
                        f"the plate from {pulley.mount}; {said}",
                        features=(pulley.name,),
                        at=pulley.at,
                        found=way.size or None,
                        needed=rim,
                        advice=Advice(
                            ""
                            if passes
                            else f"to part {pulley.mount} from the plate later, take belt and pulley off first; leave "
                            "room for the puller"
                        ),
                    )
                yield through_plate


RULES = (
    Rule(
        "take-up",
        "a belt that cannot be put on or tightened",
        "allowance to put on and take up, and the belt's length tolerance",
        "belt tables, each row with its kind",
        take_up,
        levels=("stop", "warn", "note"),
    ),
    Rule(
        "align",
        "a belt that runs off or wears out on pulleys out of line",
        "1/10 in a foot for V-belts, 1/16 for ribbed and toothed ones",
        "common practice",
        align,
        levels=("stop",),
    ),
    Rule(
        "pulley-order",
        "a pulley that cannot be put on",
        "the opening it passes",
        "geometry",
        pulley_order,
        levels=("stop", "note"),
    ),
)

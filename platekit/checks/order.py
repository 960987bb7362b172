"""Rules on bolting up: tools reach every screw, there is an order for everything, nothing is changed for good."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from platekit import tables
from platekit.analysis.assembly import PLATE, TOOL_ROOM, AssemblyStep, Hindrance, assembly
from platekit.checks.advice import move_apart, rounded_up, say
from platekit.checks.finding import NO_ADVICE, Advice, Finding, Remedy
from platekit.checks.rule import Rule
from platekit.geometry import Point, covered_by_union, distance
from platekit.laying.guard_bodies import guard_screw_ends
from platekit.laying.shafts import misplaced_shafts
from platekit.laying.tools import screw_ends
from platekit.placed import SAME_LENGTH, Layout, PlacedMount

LEAST_ROUND = 4
"""Three points always go round; from so many on it says something (P: geometry)."""
NAMED = 4
"""Most screws or bodies that one sentence names (ours)."""


TAB_COUNTS = (3, 5, 6, 2)
"""So many tabs are tried for a guard whose screws no tool gets at (ours)."""


# --------------------------------------------------------------------------------------------- reach


def reach(layout: Layout) -> Iterator[Finding]:
    """Screws that neither a socket nor a spanner gets at (room in mm), whatever the order of assembly."""
    # A screw under the shaft of its own part is in the wrong place, not out of reach: `shaft-place` says it.
    wrong = {(one.hole, name) for one in misplaced_shafts(layout) for name in one.shafts}
    for one in assembly(layout).always:
        if one.screws and not all((screw, body) in wrong for screw in one.screws for body in one.bodies):
            mount = layout.mounts.get(one.item)
            own = frozenset(one.screws)
            ends = [end for end in (*screw_ends(layout), *guard_screw_ends(layout)) if end.screw in own]
            what = " or ".join(dict.fromkeys(end.what for end in ends))
            if mount is not None and mount.stack is not None:
                what = f"{mount.stack.size} {what}"
            ideas = [] if mount is not None else [*_tabs_elsewhere(layout, one)]
            if mount is not None:
                # Room for a socket: what is over it moves, which helps only where that does not go along.
                over = [body for body in layout.bodies if body.name in one.bodies]
                moved = NO_ADVICE
                if one.by != one.item:
                    sockets = [end.socket() for end in screw_ends(layout) if end.screw in own]
                    moved = move_apart(layout, [(socket, body) for socket in sockets for body in over], TOOL_ROOM)
                # A key needs no room beside the head, but it does need the way straight down to it.
                stack = mount.stack
                own_heads = any(body.hardware and body.carrier == one.item for body in over)
                if moved:
                    ideas = [moved]
                elif stack is not None and stack.head == "hex" and stack.into not in ("nut", "stud") and not own_heads:
                    said = (
                        "use socket heads, which a key turns from above (head: socket), or give the part more room "
                        "there"
                    )
                    ideas = [Advice(said, (Remedy(f"{stack.field}.head", "socket"),))]
                else:
                    said = (
                        "use a smaller screw, or studs that are set before the part goes on, or leave more room there"
                    )
                    ideas = [Advice(said)]
            yield Finding(
                rule="reach",
                level="stop",
                message=f"{_listed(one.screws)}: neither a socket nor a spanner gets at the {what} and turns "
                f"it; {_listed(one.bodies)} {_is(one.bodies)} in the way",
                features=(*one.screws, *one.bodies),
                at=_where(mount, one.screws) if mount is not None else ends[0].center,
                found=0.0,
                needed=TOOL_ROOM,
                advice=ideas[0],
                others=tuple(ideas[1:]),
            )


def _tabs_elsewhere(layout: Layout, one: Hindrance) -> Iterator[Advice]:
    """Other places for the tabs of a guard whose screws no tool gets at."""
    guard = next(guard for guard in layout.guards if guard.name == one.item.split(".")[0])
    key, now = ("cover", len(guard.cover_holes)) if one.item == guard.cover_name else ("fixings", len(guard.fixed_at))
    if key == "cover" or not guard.ears_given:
        for count in (number for number in TAB_COUNTS if number != now):
            more = f"({key}: count: {count}), which puts them at other places"
            said = f"give the {guard.name} {count} of these screws {more}"
            yield Advice(said, (Remedy(f"{guard.field}.{key}.count", count),))
    yield Advice(f"give them other places, clear of {_listed(one.bodies)}")


# --------------------------------------------------------------------------------------------- order


def order(layout: Layout) -> Iterator[Finding]:
    """What cannot be brought in straight (mm), an order that does not exist, and screws covered afterwards."""
    found = assembly(layout)
    for one in found.always:
        if not one.screws:
            mount = layout.mounts.get(one.item)
            own = {body.name: body for body in layout.bodies if body.name in one.bodies}
            # only what the item brings and what is on the plate: the rest comes off or goes on in another order
            pairs = [(a, b) for a in own.values() for b in own.values() if a.carrier == one.item and b.carrier == PLATE]
            advice = move_apart(layout, pairs, 0.0) if pairs else NO_ADVICE
            yield Finding(
                rule="order",
                level="stop",
                message=f"{one.item} cannot be brought straight in: {_listed(one.bodies)} would pass through each "
                "other",
                features=(one.item, *one.bodies),
                at=None if mount is None else (mount.pose.x, mount.pose.y),
                advice=advice or Advice("fit what is in the way after it, or move it"),
            )
    if found.circle:
        yield _round_in_a_circle(layout, found.circle)
    covers = {guard.cover_name for guard in layout.guards}
    for step in found.steps:
        # While they are tightened the guard's cover is off.
        if step.covered and not (step.slides and covers.issuperset(step.covered_by)):
            # Screws that must be tightened last are the worse case, a warning; the others can be tightened before they
            # are covered, which is a note.
            late = list(_tightened_with_the_belt_on(layout, step))
            told = {screw for one in late for screw in one.features}
            rest = tuple(screw for screw in step.covered if screw not in told)
            mount = layout.mounts.get(step.item)
            # what slides is tightened with the guard's cover off
            by = tuple(name for name in step.covered_by if not (step.slides and name in covers))
            many = len(rest) > 1
            them, over = "them" if many else "it", f"{_listed(by)} {_is(by)}"
            if step.slides:
                message = (
                    f"{_listed(rest)} can be covered at some position of the travel once {over} on, and "
                    f"{'are' if many else 'is'} tightened only after the belt"
                )
                advice = Advice(
                    f"before the belt goes on, slide {step.item} from end to end and see where a tool gets at {them}"
                )
            else:
                message = f"{_listed(rest)} {'are' if many else 'is'} covered once {over} on: tighten {them} before"
                advice = Advice(f"to get at {them} again, take {_listed(step.covered_by)} off first")
            if rest:
                yield Finding(
                    rule="order",
                    level="note",
                    message=message,
                    features=(*rest, *by),
                    at=None if mount is None else _where(mount, rest),
                    advice=advice,
                )
            yield from late
    for mount in layout.mounts.values():
        # What lies past the plate and does not fit through it must go on afterwards, if it comes off at all.
        low, high = layout.plate_z
        through = [opening.shape for opening in layout.openings if opening.through]
        for body in layout.bodies:
            if body.carrier != mount.name or body.kind != "given":
                continue
            # A part comes with what is carried by it: the plate would have to be slipped between the two.
            whole = body.z[1] <= low + SAME_LENGTH if mount.side == "near" else body.z[0] >= high - SAME_LENGTH
            # One that goes through the plate may widen past it, as a shaft with a collar does.
            shapes = [body.shape] if whole else []
            for piece in () if whole else body.pieces:
                if piece.high <= low + SAME_LENGTH if mount.side == "near" else piece.low >= high - SAME_LENGTH:
                    shapes.append(piece.widest(piece.low, piece.high)[0])
            caught = [
                shape
                for shape in shapes
                if distance(shape, layout.plane).distance < -SAME_LENGTH and not covered_by_union(shape, through)
            ]
            if caught:
                widest = max(caught, key=lambda shape: shape.area)
                yield Finding(
                    rule="order",
                    level="warn",
                    message=f"{body.name} lies past the plate from {mount.name} and does not fit through it: it can "
                    "only go on after the plate",
                    features=(body.name, mount.name),
                    at=widest.centroid,
                    advice=Advice(
                        f"take {body.name} off {mount.name} first, or give it an opening of "
                        f"{say(layout, widest.box.width)} x {say(layout, widest.box.height)} as a cutout"
                    ),
                )


def _round_in_a_circle(layout: Layout, circle: tuple[Hindrance, ...]) -> Finding:
    """One finding for the whole circle; advice that opens its first link that can be opened."""
    mount = next((layout.mounts[one.item] for one in circle if one.item in layout.mounts), None)
    links, advice = [], NO_ADVICE
    for one in circle:
        bodies = [body for body in layout.bodies if body.name in one.bodies]
        if one.screws:
            links.append(f"{one.item} must go on before {one.by}, which covers {_listed(one.screws)}")
            sockets = [end.socket() for end in screw_ends(layout) if end.screw in one.screws]
            pairs, room = [(socket, body) for socket in sockets for body in bodies], TOOL_ROOM
        else:
            past = f"must go on before {one.by}, past which it cannot be brought in"
            links.append(f"{one.item} {past if one.bodies else f'goes on before {one.by}'}")
            pairs = [(a, b) for a in bodies for b in bodies if a.carrier == one.item and b.carrier != one.item]
            room = 0.0
        # Any link that opens breaks the circle: the first one will do.
        if not advice and one.screws and not sockets:  # the guard's own: it has no place to be moved from
            advice = next(_tabs_elsewhere(layout, one))
        elif not advice and pairs:
            advice = move_apart(layout, pairs, room)
    screws = tuple(screw for one in circle for screw in one.screws)
    return Finding(
        rule="order",
        level="stop",
        message=f"there is no order in which everything goes on: {'; '.join(links)}",
        features=(*dict.fromkeys(one.item for one in circle), *screws),
        at=None if mount is None else _where(mount, screws),
        advice=advice or Advice("let the screws of one of them come from the other side, or move it"),
    )


def _tightened_with_the_belt_on(layout: Layout, step: AssemblyStep) -> Iterator[Finding]:
    """Screws of a mount that tightens the belt, which the belt or its pulleys cover even at nominal."""
    mount = layout.mounts.get(step.item)
    on_before = {name for name in step.covered_by if name not in {guard.cover_name for guard in layout.guards}}
    if mount is None or mount.hole_travel is None or not on_before:
        return
    # Once it is tensioned the mount stands somewhere between its ends, nobody knows where; nominal stands for that.
    there = [one for one in assembly(layout, at_nominal=True).steps if one.item == step.item]
    covered = [screw for one in there for screw in one.covered if on_before & set(one.covered_by)]
    if covered:
        by = sorted(on_before)
        # What bares screws that the belt, its pulleys or the guard without its cover are over.
        over_them = (one for one in layout.guards if one.back and not one.drawn.lies and one.name in step.covered_by)
        guard = next(over_them, None)
        if guard is not None:
            said = (
                f"leave the {guard.name}'s back plate out ({guard.field}: back: none): only its band then goes round "
            )
            advice = Advice(f"{said}them", (Remedy(f"{guard.field}.back", "none"),))
        else:
            ends = [end for end in screw_ends(layout) if end.screw in covered]
            over = [body for body in layout.bodies if body.kind in ("belt", "pulley")]
            # From a screw's seat: how high the flatter of its tools reaches, with its room, and where the body over it
            # begins.
            missing = [
                ((end.room if end.flats is None else end.spanner_height) + TOOL_ROOM)
                - (body.z[0] - end.seat if end.side == "near" else end.seat - body.z[1])
                for end in ends
                for body in over
                if (body.z[1] > end.seat if end.side == "near" else body.z[0] < end.seat)
            ]
            lift = rounded_up(layout, max([0.0, *missing]))
            if not lift:
                lifted_words = ""
            else:
                unit = layout.spec.unit
                lifted_words = (
                    f"move belt and pulleys {lift:g} {unit} farther off along their shafts (span), for a "
                    "spanner to pass, or "
                )
            advice = Advice(lifted_words + f"try another turn or place of {step.item}")
        yield Finding(
            rule="order",
            level="warn",
            message=f"{step.item} is tightened once {step.until}; {_listed(covered)} {_is(covered)} then "
            f"under {_listed(by)}",
            features=(*covered, *by),
            at=_where(mount, covered),
            advice=advice,
        )


def _where(mount: PlacedMount, screws: Sequence[str]) -> Point:
    places = dict(zip(mount.hole_names, mount.points, strict=True))
    return next((places[name] for name in screws if name in places), (mount.pose.x, mount.pose.y))


def _listed(names: Sequence[str]) -> str:
    if len(names) > NAMED:
        return f"{', '.join(names[: NAMED - 1])} and {len(names) - NAMED + 1} more"
    return f"{', '.join(names[:-1])} and {names[-1]}" if len(names) > 1 else "".join(names)


def _is(names: Sequence[str]) -> str:
    return "are" if len(names) > 1 else "is"


# --------------------------------------------------------------------------------------------- undone


def new_holes(layout: Layout) -> Iterator[Finding]:
    """Holes (mm) that would have to be drilled into a part that should stay as it was, or opened up in it."""
    for name in layout.originals:
        mount = layout.mounts[name]
        # a name that is no hole's would hide a hole that has to be drilled
        unknown = tuple(hole for hole in mount.new_holes if hole not in mount.hole_names)
        drilled = tuple(hole for hole in mount.new_holes if hole in mount.hole_names)
        if unknown:
            yield Finding(
                rule="new-holes",
                level="stop",
                message=f"{name} has no hole called {_listed(unknown)}",
                features=unknown,
                at=_where(mount, ()),
                advice=Advice(f"its holes are {_listed(mount.hole_names)}"),
            )
        if drilled:
            yield Finding(
                rule="new-holes",
                level="warn",
                message=f"{_listed(drilled)} would have to be drilled into {name}: that is not reversible",
                features=drilled,
                at=_where(mount, drilled),
                advice=Advice("use the holes that are there, or accept it with the reason"),
            )
        yield from _added(layout, mount)
        # A screw that goes through an old part needs a hole there; opening one up changes the part for good.
        survey, stack = mount.survey, mount.stack
        if survey is None or stack is None or stack.into != "nut":
            continue
        screw = tables.screw(stack.size).diameter
        measured = {f"{mount.name}.{feature.name}": feature.diameter for feature in survey.net.features}
        # Only holes that were measured count; the screw is held against its bare diameter, as any less cannot pass at
        # all.
        across = {name: diameter for name in mount.hole_names if (diameter := measured[name]) is not None}
        tight = tuple(name for name, diameter in across.items() if diameter < screw)
        if tight:
            found = min(across.values())
            yield Finding(
                rule="new-holes",
                level="warn",
                message=f"{_listed(tight)}: {stack.size} does not pass a hole of {say(layout, found)} in {mount.name}; "
                "drilling it up is not reversible",
                features=tight,
                at=_where(mount, tight),
                found=found,
                needed=screw,
                advice=Advice("use a smaller screw, or accept it with the reason"),
            )


def _added(layout: Layout, mount: PlacedMount) -> Iterator[Finding]:
    """Holes typed for an original part: said to be in it already; one that stands after the round of the others, asked.

    A part's holes are listed in their order round it; one that was put at the end of the list is hardly of old.
    """
    if not mount.original or mount.pattern != "points" or mount.new_holes:
        return
    # how many at the end of the list break the round that those before them make; none where there is no round
    points, late = mount.own_points, 0
    if not _goes_round(points):
        most = len(points) - LEAST_ROUND
        late = next((k for k in range(1, most + 1) if _goes_round(points[: len(points) - k])), 0)
    names = mount.hole_names[len(mount.hole_names) - late :] if late else ()
    if names:
        numbers = ", ".join(mount.labels[len(mount.labels) - late :])
        yield Finding(
            rule="new-holes",
            level="warn",
            message=f"{_listed(names)} {_is(names)} listed after the round of the other "
            f"{len(mount.points) - late} holes of {mount.name}, which stays as it was: a hole that is not in it yet "
            "would have to be drilled into it, and that is not reversible",
            features=names,
            at=_where(mount, names),
            found=float(len(mount.points)),
            needed=float(len(mount.points) - late),
            unit="holes",
            advice=Advice(
                f"leave it out, or say that it is new (new_holes: [{numbers}]); if it is of old, list the holes in "
                "their order round the part"
            ),
        )
        return
    yield Finding(
        rule="new-holes",
        level="note",
        message=f"{mount.name}: its {len(mount.points)} holes are taken to be in it already, since it stays as it was",
        features=mount.hole_names,
        at=_where(mount, ()),
        advice=Advice("name those that are not under `new_holes`"),
    )


def _goes_round(points: Sequence[Point]) -> bool:
    """Whether points follow each other once round their middle, either way."""
    middle = (sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points))
    angles = [math.atan2(y - middle[1], x - middle[0]) for x, y in points]
    turns = [(b - a) % math.tau for a, b in zip(angles, [*angles[1:], angles[0]], strict=True)]
    return any(abs(sum(way) - math.tau) < 1e-6 for way in (turns, [-turn % math.tau for turn in turns]))


RULES = (
    Rule(
        "reach",
        "a screw that no tool gets at",
        f"{TOOL_ROOM:g} mm round socket or spanner",
        "ours; sizes of tools from memory",
        reach,
        levels=("stop",),
    ),
    Rule(
        "order",
        "parts and screws that cannot be put on in any order, or are covered afterwards",
        "no contact on the way in",
        "geometry",
        order,
        levels=("stop", "warn", "note"),
    ),
    Rule(
        "new-holes",
        "a change of the old machine that cannot be undone",
        "no hole that the part has not yet",
        "common practice",
        new_holes,
        levels=("stop", "warn", "note"),
    ),
)

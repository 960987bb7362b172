"""Where else a part could go: places near its own where nothing that a quick look asks about is too near.

A mount on a belt goes round the other shaft, so that the belt still fits; another mount goes any way. What the quick
look leaves out (reliefs, belts, guards, tools) is for a trial of the whole plate to judge.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from itertools import combinations
from typing import Final, TypeVar

from platekit.checks.advice import moved_remedy, mover, reluctance, stays, words_at
from platekit.checks.bodies import may_touch
from platekit.checks.finding import Advice, FieldValue, Finding, Remedy
from platekit.geometry import Point, Pose, Shape, distance, edge_distance
from platekit.placed import Body, Layout, Movable, Opening, PlacedMount
from platekit.spec.models import Find, FindByBelt, MountWords
from platekit.units import Unit, mm_per

RADII: Final = tuple(round(1.12**k, 1) for k in range(54))
"""How far a part is moved, mm: from 1 to some 400, each a little more than the last (ours)."""
WAYS: Final = 32
"""Directions in which it is moved (ours)."""
FARTHEST_TURN: Final = 120
"""A belt is turned no farther than this, degrees (ours: beyond, it is another machine)."""
TURNS: Final = tuple(half / 2 for half in range(1, 2 * FARTHEST_TURN + 1))
"""By how much a belt is turned, degrees (ours)."""
OFFERED: Final = 4
"""Most places of one part that are offered (ours)."""
PLATES: Final[dict[Unit, tuple[float, ...]]] = {"mm": (20, 15, 12, 10, 8, 6, 5), "in": (0.75, 0.5, 0.375, 0.3125, 0.25)}
"""Thicknesses that plate is stocked in, thickest first (common practice)."""
FARTHER: Final = 1.25
"""The next place offered is at least so many times as far away as the last one (ours)."""

_Place = TypeVar("_Place", float, Point)


def moves_of(layout: Layout, finding: Finding) -> Iterator[Advice]:
    """Advice that moves (mm, degrees) one of the things a finding is about while the other stays, nearest first.

    Two things that move together, and a part that should stay as it was, have no such advice.
    """
    movable = {one: None for thing in _things(layout, finding) if (one := mover(layout, thing)) is not None}
    # Where all that a finding names goes with one mover, moving it changes nothing between them.
    if len(movable) < 2 and len(finding.features) > 1 and "outline" not in finding.features:
        things = _things(layout, finding)
        if all(mover(layout, thing) in movable for thing in things):
            # turned where it sits, though, its slots lie otherwise beside each other, as they keep their direction
            for one in movable:
                if one.kind == "mount" and layout.mounts[one.name].take_up == "slots":
                    yield from _turned_about_itself(layout, layout.mounts[one.name], finding.needed or 0.0)
            return
    for one in sorted(movable, key=lambda one: (reluctance(layout, one), one.field)):
        if one.kind in ("body", "cutout"):
            yield from _nearest_free(layout, one)
        elif one.kind == "mount":  # where an idler may be is for the belt to say
            mount = layout.mounts[one.name]
            others = [thing for thing in _things(layout, finding) if mover(layout, thing) != one]
            if mount.original or not all(stays(layout, thing, mount.name) for thing in others):
                continue
            if mount.belt_angle is not None:
                yield from _round_the_shaft(layout, mount.name)
            else:
                yield from _off_its_place(layout, mount.name)


def _things(layout: Layout, finding: Finding) -> list[Opening | Body]:
    named: list[Opening | Body] = [one for one in layout.bodies if one.name in finding.features]
    return [*named, *(one for one in layout.openings if one.name in finding.features)]


def _turned_about_itself(layout: Layout, mount: PlacedMount, needed: float) -> Iterator[Advice]:
    """Turns of a part with slots after which these lie far enough (mm) from each other, the least first.

    Where no turn gives all of it, the best one is offered with the plates of stock that are thinner, as the web follows
    the thickness.
    """
    if mount.original or any(b.drawn.lies and mount.name in (b.driver.mount, b.driven.mount) for b in layout.belts):
        return
    spots = dict(zip(mount.hole_names, mount.points, strict=True))
    own = [o for o in layout.openings if o.through and (o.mount == mount.name or o.name.startswith(f"{mount.name}."))]

    def room(degrees: float) -> float:
        c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
        shapes = []
        for opening in own:
            spot = spots.get(opening.name, (mount.pose.x, mount.pose.y))
            x, y = spot[0] - mount.pose.x, spot[1] - mount.pose.y
            shapes.append(opening.shape.moved(Pose(c * x - s * y - x, s * x + c * y - y)))
        return min((distance(a, b).distance for a, b in combinations(shapes, 2)), default=math.inf)

    rooms = {sign * turn: room(sign * turn) for turn in range(1, 90) for sign in (1, -1)}
    good = sorted((turn for turn, gap in rooms.items() if gap >= needed), key=lambda turn: (abs(turn), -turn))
    for turn in list(_apart([float(turn) for turn in good], abs)):
        yield _turned(layout, mount, turn)
    # to a nanometre, so that of two turns that mirror each other the first is taken on every processor
    best = max(rooms, key=lambda turn: (round(rooms[turn], 6), -abs(turn), turn))
    if good or rooms[best] <= 0.0 or layout.limits.web.source == "spec":
        return
    unit = layout.spec.unit
    for thick in (size for size in PLATES[unit] if 0.5 * layout.thickness < size * mm_per(unit) < layout.thickness):
        one = _turned(layout, mount, float(best))
        edits = (*one.remedies, Remedy("plate.thickness", thick))
        stiff = (
            ""
            if mount.mass is not None
            else "; whether that is stiff enough is only worked out where its mass is given"
        )
        yield Advice(f"{one.text}, and take a plate {thick:g} {unit} thick{stiff}", edits)


def _turned(layout: Layout, mount: PlacedMount, degrees: float) -> Advice:
    """Advice to turn a part about its own zero, counter-clockwise, by so many degrees."""
    words: MountWords = words_at(layout, mount.field)
    new = round((math.degrees(words.turn) + degrees + 180) % 360 - 180, 3)
    way = "counter-clockwise" if degrees > 0 else "clockwise"
    said = f"turn {mount.name} by {abs(degrees):g} degrees {way} (turn: {new:g} deg)"
    return Advice(said, (Remedy(f"{mount.field}.turn", f"{new:g} deg"),))


def _round_the_shaft(layout: Layout, name: str) -> Iterator[Advice]:
    """The directions of a mount's belt that pass the quick look, the least turn first."""
    mount = layout.mounts[name]
    assert mount.belt_angle is not None
    assert mount.place_from is not None
    old = math.degrees(mount.belt_angle)
    lies = any(belt.drawn.lies and name in (belt.driver.mount, belt.driven.mount) for belt in layout.belts)
    # beside a shaft that lies along the plate there is only the other side of it
    angles = [old + 180] if lies else [old + sign * turn for turn in TURNS for sign in (1, -1)]
    find = Find(belt=FindByBelt.model_validate({"from": mount.place_from}))
    passed = _passed(layout, name, find, [(angle, 0.0) for angle in angles])
    for angle in _apart([angle for angle, good in zip(angles, passed, strict=True) if good], lambda a: abs(a - old)):
        new = (angle + 180) % 360 - 180
        value: dict[str, FieldValue] = {"belt": {"from": mount.place_from, "angle": f"{round(new, 1):g} deg"}}
        way = "counter-clockwise" if angle > old else "clockwise"
        yield Advice(
            f"turn the direction in which {name} lies from {mount.place_from} by {abs(angle - old):.3g} degrees "
            f"{way} (at: belt: angle: {round(new, 1):g} deg)",
            (Remedy(f"mounts.{name}.at", value),),
        )


def _off_its_place(layout: Layout, name: str) -> Iterator[Advice]:
    """The places round a mount's own that pass the quick look: with a belt those round the other shaft first."""
    pose = layout.mounts[name].pose
    ends = [(belt.driver, belt.driven) for belt in layout.belts if not belt.drawn.lies]
    # Round the other shaft the belt still fits: such places come first, any other needs another belt.
    pivots = [b.center for a, b in ends if a.mount == name] + [a.center for a, b in ends if b.mount == name]
    shafts = [p.center for pair in ends for p in pair if p.mount == name]
    spots: list[Point] = []
    for degrees in (sign * turn for turn in TURNS for sign in (1, -1)) if pivots else ():
        # the zero follows its shaft round the other one, and keeps its turn
        c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
        x, y = shafts[0][0] - pivots[0][0], shafts[0][1] - pivots[0][1]
        spots.append((pose.x + c * x - s * y - x, pose.y + s * x + c * y - y))
    ways = [(math.cos(way * math.tau / WAYS), math.sin(way * math.tau / WAYS)) for way in range(WAYS)]
    # square to a shaft that lies along the plate its pulley stays in line with the other
    square = next((b.drawn.u for b in layout.belts if b.drawn.lies and name in (b.driver.mount, b.driven.mount)), None)
    if square is not None:
        ways = [(sign * square[0], sign * square[1]) for sign in (1.0, -1.0)]
    ring = [(pose.x + radius * x, pose.y + radius * y) for radius in RADII for x, y in ways]
    box = [[f"{v:.6g} mm" for v in (pose.x + s * 500, pose.y + s * 500)] for s in (-1, 1)]
    find = Find.model_validate({"box": box, "turn": "fixed"})
    for some in (spots, ring):
        passed = _passed(layout, name, find, some)
        free = [spot for spot, good in zip(some, passed, strict=True) if good]
        for x, y in _apart(free, lambda spot: math.hypot(spot[0] - pose.x, spot[1] - pose.y)):
            sentence, remedy = moved_remedy(layout, layout.mounts[name].placed, (x - pose.x, y - pose.y))
            yield Advice(sentence, (remedy,))


def _passed(layout: Layout, name: str, find: Find, spots: list[Point]) -> list[bool]:
    """Which places (mm, or degrees of the belt) of a mount the quick look lets pass."""
    import numpy as np

    from platekit.studies.place_filter import filter_of
    from platekit.studies.place_space import TENTHS, poses_of, space_of

    if not spots:
        return []
    space = space_of(layout.spec, name, find)
    rows = np.array([(round(a * TENTHS), round(b * TENTHS), 0) for a, b in spots], dtype=np.int64)
    at, can = poses_of(space, layout.mounts[name].side, rows, anywhere=True)
    return [bool(one) for one in can & filter_of(space, layout).passed(at)]


def _apart(found: list[_Place], far: Callable[[_Place], float]) -> Iterator[_Place]:
    """The nearest few, each a good deal farther off than the last."""
    least, count = 0.0, 0
    for one in found:
        if far(one) < least or count == OFFERED:
            continue
        yield one
        least, count = FARTHER * far(one), count + 1


def _nearest_free(layout: Layout, movable: Movable) -> Iterator[Advice]:
    """The nearest place round a body's or a cutout's own that is free, in steps as a spec would have them."""
    bodies = [body for body in layout.bodies if body.placed == movable]
    openings = [opening for opening in layout.openings if opening.placed == movable]
    near: list[tuple[Shape, float]]
    if movable.kind == "body" and bodies:
        # a body keeps its gap to all the others beside it, over their travels; those above and below do not count
        own, inside = bodies[0], False
        shape = own.swept
        near = [
            (body.swept, max(body.gap, own.gap))
            for body in layout.bodies
            if body is not own and not may_touch(own, body) and body.z[0] < own.z[1] and own.z[0] < body.z[1]
        ]
    elif movable.kind == "cutout" and openings:
        # a cutout keeps the web to all other openings and, but where the outline follows it, to the outside
        web, shape, inside = layout.limits.web.value, openings[0].shape, not layout.wrapped
        near = [(other.shape, web) for other in layout.openings if other is not openings[0] and other.through]
    else:
        return
    step = mm_per(layout.spec.unit) / 100
    ways = [(math.cos(way * math.tau / WAYS), math.sin(way * math.tau / WAYS)) for way in range(WAYS)]
    for radius in RADII:
        for x, y in ways:
            move = (round(radius * x / step) * step, round(radius * y / step) * step)
            there = shape.moved(Pose(*move))
            if inside and edge_distance(there, layout.outline).distance < layout.limits.web.value:
                continue
            if all(distance(there, other).distance >= gap for other, gap in near):
                sentence, remedy = moved_remedy(layout, movable, move)
                yield Advice(sentence, (remedy,))
                return

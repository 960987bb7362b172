"""The order of assembly: what goes on when, which screws are covered afterwards, and the way back to the old machine.

The vocabulary

    item       what is put on in one go: a mount's part with its screws, a pulley, the belt, the guard, its cover
    end        the head or nut of one screw, which a socket or a spanner must get at
    way        where an item comes from: straight along the plate's normal, from its own side; half of a split back
               plate along the plate, square to its seam
    hindrance  what keeps an item from going on: something in its way, or over its screws

An item that can go on last, with everything else in place, may do so whatever the order of the others: more on the
plate never gives more room. So the order is found from its end, without trying; where no item can be the last, some
hinder each other in a circle.
"""

from __future__ import annotations

import math
from collections.abc import Container, Iterable, Iterator, Sequence
from functools import cached_property, lru_cache
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from platekit.geometry import (
    Box,
    Index,
    Lying,
    Point,
    Pose,
    Shape,
    Solid,
    StandingPrism,
    Straight,
    Swing,
    Travel,
    Upright,
    across_the_corner,
    nearer_than,
    run_together,
    sweep,
    within_reach,
)
from platekit.laying.guard_bodies import guard_screw_ends
from platekit.laying.tools import HANDLE_IN_FLATS, SWING, ScrewEnd, handle_shape, screw_ends, spanner_shape
from platekit.laying.welded import welded_bars
from platekit.placed import Body, Guard, JackingScrew, Layout, PlacedBelt, PlacedMount, Side, held

TOOL_ROOM = 0.5
"""Least room between a tool and what it must pass, mm (ours)."""
PASSES = 1e-6
"""Two things that overlap by less slide past each other, mm (ours)."""
FAR_OFF = 1e5
"""Where an item comes from, mm from the plate (ours)."""
CROWD = 100
"""Most bodies that are looked at over one screw (ours); more are screws piled on each other, which other rules stop."""
CROWD_ROUND = 500
"""Most bodies within a spanner's length of a screw among which it is tried (ours): M10 screws 30 mm apart make 430."""
SPANNER_STEPS = 24
"""Directions in which a spanner is tried (ours)."""
PLATE = "plate"
"""The item that everything else goes on."""

Kind = Literal["mount", "pulley", "belt", "coupling", "guard"]
Tool = Literal["socket", "spanner"]


class AssemblyStep(Struct, frozen=True):
    """One step of the assembly: an item, the side it comes from (None: as it may), its screws, the tools for them.

    `covered` are those of the screws that no tool gets at once everything is on, `covered_by` the items over them.
    `slides` says that the item moves in its holes: its screws are tightened once it is set, not when it goes on.
    """

    item: str
    kind: Kind
    side: Side | None = None
    screws: tuple[str, ...] = ()
    size: str | None = None
    head_side: Side | None = None
    tools: tuple[Tool, ...] = ()
    covered: tuple[str, ...] = ()
    covered_by: tuple[str, ...] = ()
    slides: bool = False
    jack: JackingScrew | None = None
    """The screw that pushes it to tighten the belt."""
    tensions: bool = False
    """Whether it slides to tighten a belt; else what it is set by (the play of teeth, say) the spec does not tell."""

    @property
    def until(self) -> str:
        """What comes before the screws of what slides are tightened, as a clause after `once`."""
        return "the belt is tensioned" if self.tensions else "it is set"


class Hindrance(Struct, frozen=True):
    """Why an item cannot go on while another one is there: the bodies that meet, the screws (if any) covered by it."""

    item: str
    by: str
    bodies: tuple[str, ...]
    screws: tuple[str, ...] = ()


class Assembly(Struct, frozen=True):
    """The worked-out order of all items; `circle` holds those that hinder each other, `steps` is then empty.

    `always` are hindrances that no order lifts: by the plate, by what is fixed to it, or by the item itself.
    """

    steps: tuple[AssemblyStep, ...]
    circle: tuple[Hindrance, ...] = ()
    always: tuple[Hindrance, ...] = ()
    welded: tuple[str, ...] = ()
    """The bars that are welded to the plate before anything goes on."""

    @property
    def possible(self) -> bool:
        """Whether there is an order."""
        return not self.circle


def assembly(layout: Layout, at_nominal: bool = False) -> Assembly:
    """The order in which everything goes on, found from its end; or the circle that makes it impossible.

    `at_nominal`: the order that there would be if nothing travelled, all of it standing where it is at nominal.
    """
    return _still(layout) if at_nominal else _travelling(layout)


@held
def _travelling(layout: Layout) -> Assembly:
    return _with_bars(layout, _in_order(_bench_of(layout)))


@held
def _still(layout: Layout) -> Assembly:
    return _with_bars(layout, _at_nominal(_bench_of(layout)))


def _with_bars(layout: Layout, found: Assembly) -> Assembly:
    # the bars are no part of the bench that an order is kept by: most plates have none, and share one order
    welded = tuple(bar.name for bar in welded_bars(layout))
    return replace(found, welded=welded) if welded else found


def in_order_of_tension(belts: Sequence[PlacedBelt]) -> tuple[tuple[PlacedBelt, tuple[str, ...]], ...]:
    """The belts in the order in which they are tightened, each with the names of those that must be tight before it.

    Whoever tightens a belt moves a mount, and with it every other belt that runs over that mount: so these come later.
    Belts that are free of each other keep their order, and so do those that wait for each other in a circle.
    """

    def moved_by(belt: PlacedBelt) -> tuple[str, ...]:
        on = {pulley.mount for pulley in belt.pulleys} - {belt.adjusted}
        return tuple(other.name for other in belts if other is not belt and other.adjusted in on)

    left, found = [(belt, moved_by(belt)) for belt in belts], list[tuple[PlacedBelt, tuple[str, ...]]]()
    while left:
        waiting = {belt.name for belt, _ in left}
        free = next((k for k, (_, before) in enumerate(left) if not waiting & set(before)), 0)
        found.append(left.pop(free))
    return tuple(found)


class _Bench(Struct, frozen=True):
    """All that the order of assembly depends on (mm)."""

    bodies: tuple[Body, ...]
    mounts: tuple[PlacedMount, ...]
    belts: tuple[PlacedBelt, ...]
    guards: tuple[Guard, ...]
    ends: tuple[ScrewEnd, ...]
    plate_z: tuple[float, float]
    coupled: tuple[tuple[str, tuple[str, ...]], ...] = ()
    """The bodies of couplings, each with the two mounts whose shafts it joins."""

    def __hash__(self) -> int:
        """Of the heights alone, which differ between plates; equal are only those of which all is."""
        return hash((self.plate_z, tuple([body.z for body in self.bodies])))


@held
def _bench_of(layout: Layout) -> _Bench:
    ends = (*screw_ends(layout), *guard_screw_ends(layout))
    mounts = tuple(layout.mounts.values())
    coupled = tuple((one.body, tuple(shaft.mount for shaft in one.shafts)) for one in layout.couplings if one.possible)
    return _Bench(layout.bodies, mounts, layout.belts, layout.guards, ends, layout.plate_z, coupled)


@lru_cache(maxsize=8)  # asked for its order, and for that at nominal
def _taken_apart(there_is: _Bench) -> _Disassembly:
    return _Disassembly(there_is)


@lru_cache(maxsize=8)  # two rules and several papers of a plate ask for its order
def _in_order(there_is: _Bench) -> Assembly:
    """The order in which all this goes on."""
    return _order_of(there_is, _taken_apart(there_is))


@lru_cache(maxsize=8)
def _at_nominal(there_is: _Bench) -> Assembly:
    """The order if nothing travelled. What goes on goes on at nominal in any case, so all ways in stay as they are."""
    bodies = tuple(replace(body, swept=body.shape, travel=None) for body in there_is.bodies)
    mounts = tuple(replace(mount, travel=None) for mount in there_is.mounts)
    ends = tuple(replace(end, travel=None) for end in there_is.ends)
    still = replace(there_is, bodies=bodies, mounts=mounts, ends=ends)
    return _order_of(still, _Disassembly(still, _taken_apart(there_is).ways))


def _order_of(there_is: _Bench, bench: _Disassembly) -> Assembly:
    mounts = bench.mounts
    # Taking off is putting on, run backwards. Of those that could come off first the one named last in the spec does,
    # so that the order told follows the spec wherever it is free to.
    left = dict(bench.items)
    there = {PLATE, *left}
    order: list[_Item] = []
    while left:
        last = next((item for item in reversed(left.values()) if bench.may_be_last(item, there)), None)
        if last is None:
            # Nothing of what is left can come off: each item waits for another. Whoever is followed from one to the
            # next must come round, as there are only so many; that circle, without the way into it, is what is told.
            walk: list[Hindrance] = []
            places: dict[str, int] = {}
            name = next(name for name, item in left.items() if next(bench.lifted(item, there), None) is not None)
            while name not in places:
                places[name] = len(walk)
                walk.append(bench.link(left[name], there))
                name = walk[-1].by
            return Assembly((), tuple(walk[places[name] :]), bench.always())
        order.append(left.pop(last.name))
        there.remove(last.name)
    order.reverse()
    steps = []
    on, everything = {PLATE}, {PLATE, *bench.items}
    for item in order:
        on.add(item.name)
        # A screw is told as covered only where a tool gets at it now and will not later: what no tool ever reaches is
        # the rule `reach`'s to stop.
        tools = {name: tool for name in item.screws if (tool := bench.tool_for(item.screws[name], on)) is not None}
        covered = [name for name in tools if bench.tool_for(item.screws[name], everything) is None]
        by = {owner for name in covered for end in item.screws[name] for owner in bench.over(end) if owner not in on}
        stack = mounts[item.name].stack if item.kind == "mount" else None
        guard = next(
            (one for one in there_is.guards if item.kind == "guard" and item.name.split(".")[0] == one.name), None
        )
        size = None if stack is None else stack.size
        if guard is not None and item.screws:
            size = guard.cover_screw if item.name == guard.cover_name else guard.screw
        steps.append(
            AssemblyStep(
                item=item.name,
                kind=item.kind,
                side=item.side,
                screws=tuple(item.screws),
                size=size,
                head_side=stack.head_side if stack is not None else None if guard is None else item.side,
                tools=tuple(sorted(set(tools.values()))),
                covered=tuple(covered),
                covered_by=tuple(other.name for other in order if other.name in by),
                slides=item.kind == "mount" and mounts[item.name].hole_travel is not None,
                tensions=any(belt.adjusted == item.name for belt in there_is.belts),
                jack=mounts[item.name].jack if item.kind == "mount" else None,
            )
        )
    return Assembly(tuple(steps), (), bench.always())


# --------------------------------------------------------------------------------------------- bench


class _Item(Struct, frozen=True):
    """What goes on in one go; `screws` holds the ends of each, `after` the items that must be there before it."""

    name: str
    kind: Kind
    bodies: tuple[Body, ...]
    side: Side | None
    screws: dict[str, tuple[ScrewEnd, ...]]
    after: frozenset[str] = frozenset()
    along: Point | None = None
    """Where it comes from if not from its side: this way along the plate."""
    past: float | None = None
    """Of what goes on over shafts along the plate, how far it comes along them (mm): up to there from its own side."""


class _Disassembly:
    """What is on the plate taken apart into items, and what hinders what, each found out once."""

    def __init__(self, there_is: _Bench, ways: dict[str, dict[str, tuple[str, ...]]] | None = None) -> None:
        if ways is not None:
            self.ways = ways
        self.bodies = there_is.bodies
        self.mounts = {mount.name: mount for mount in there_is.mounts}
        self._owners = [owner_of(body) for body in there_is.bodies]
        owned: dict[str, list[Body]] = {}
        for owner, body in zip(self._owners, there_is.bodies, strict=True):
            owned.setdefault(owner, []).append(body)
        self.items = {item.name: item for item in _items(there_is, owned)}
        self._over: dict[tuple[str, str], dict[str, tuple[str, ...]]] = {}
        self._swings: dict[tuple[str, str, frozenset[int], bool], bool] = {}
        self._seen: dict[tuple[str, int], tuple[Solid, ...]] = {}
        self._round: dict[tuple[str, str], tuple[int, ...]] = {}
        self._index = Index([body.swept.box for body in there_is.bodies])
        # By item: the items that go on after it.
        self._needed: dict[str, list[str]] = {}
        for item in self.items.values():
            for before in item.after:
                self._needed.setdefault(before, []).append(item.name)

    @cached_property
    def ways(self) -> dict[str, dict[str, tuple[str, ...]]]:
        """By item: whose bodies are in its way, and which bodies meet."""
        ways: dict[str, dict[str, tuple[str, ...]]] = {}
        for item in self.items.values():
            ways[item.name] = {}
            if item.side is None and item.along is None:  # a belt is laid round its pulleys, wherever there is room
                continue
            found: dict[str, dict[str, None]] = {}
            in_place: set[str] = set()
            stood = item.name in self.mounts and self.mounts[item.name].original
            for body in item.bodies:
                path, box = _way_in(body, item)
                for k in self._index.near(box):
                    owner, other = self._owners[k], self.bodies[k]
                    if owner == item.name or owner in in_place or other.carrier == body.carrier:
                        continue
                    if stood and other.is_ground:  # both were there before the plate
                        continue
                    names = found.get(owner, {})
                    known = body.name in names and other.name in names  # then only what meets in place says more
                    if known or _meet(path, other.solids):
                        found.setdefault(owner, {}).update({body.name: None, other.name: None})
                        if _meet(body.solids, other.solids):
                            in_place.add(owner)
            # two that run into each other where they belong are the clash rule's matter, in whatever order they go on
            ways[item.name] = {owner: tuple(names) for owner, names in found.items() if owner not in in_place}
        return ways

    def over(self, end: ScrewEnd) -> dict[str, tuple[str, ...]]:
        """By item: its bodies that come nearer than `TOOL_ROOM` (mm) to a socket on the end of a screw."""
        key = (end.screw, end.what)
        if key not in self._over:
            socket = end.socket()
            found: dict[str, list[str]] = {}
            for k in self._index.near(socket.swept.box, TOOL_ROOM, CROWD):
                other = self.bodies[k]
                if not _counts(other, end) or not _level(socket.z, other):
                    continue
                # At some position of the travels; what moves with the screw is met at nominal.
                together = socket.carrier == other.carrier
                own, around = (socket.shape, other.shape) if together else (socket.swept, other.swept)
                if own.box.gap(around.box) >= TOOL_ROOM:
                    continue
                space = socket.pieces[0] if socket.pieces else Upright(own, *socket.z)
                parts = other.solids if together else other.swept_solids
                if any(nearer_than(space, part, TOOL_ROOM - PASSES) for part in parts):
                    found.setdefault(self._owners[k], []).append(other.name)
            self._over[key] = {owner: tuple(names) for owner, names in found.items()}
        return self._over[key]

    def tool_for(self, ends: tuple[ScrewEnd, ...], there: Container[str]) -> Tool | None:
        """The tool that tightens a screw while these items are there, its other end held; None if none gets at it."""

        def socket_fits(end: ScrewEnd) -> bool:
            return not any(owner in there for owner in self.over(end))

        for turned in ends:
            # a socket needs no room to swing; whoever only holds an end needs none either
            tool: Tool | None = "socket" if socket_fits(turned) else None
            if tool is None and self._spanner_fits(turned, there, swings=True):
                tool = "spanner"
            if tool is not None and all(
                socket_fits(end) or self._spanner_fits(end, there, swings=False) for end in ends if end is not turned
            ):
                return tool
        return None

    def _spanner_fits(self, end: ScrewEnd, there: Container[str], swings: bool) -> bool:
        if end.flats is None or end.lies is not None:
            return False
        swing = SWING if swings else 0.0
        x, y = end.center
        reach = (HANDLE_IN_FLATS + 1) * end.flats
        around = Box(x - reach, y - reach, x + reach, y + reach)
        place = (end.screw, end.what)
        if place not in self._round:
            self._round[place] = tuple(self._index.near(around, most=CROWD_ROUND + 1))
        crowd = self._round[place]
        if len(crowd) > CROWD_ROUND:  # on the safe side: nothing was looked at, so nothing is promised
            return False
        # The answer hangs only on which bodies are near, and most of those come and go together: so it is kept by them.
        level = end.z(end.spanner_height)
        near = frozenset(
            k
            for k in crowd
            if self._owners[k] in there and _counts(self.bodies[k], end) and _level(level, self.bodies[k])
        )
        key = (end.screw, end.what, near, swings)
        if key not in self._swings:
            # Of what stands straight beside the tool only its outline tells, and how much of the room is left over an
            # edge of it: so an answer holds for whatever has the same outlines at the tool, however high all of it is.
            beside: dict[tuple[Shape, float] | Solid, None] = {}
            for one in (part for k in sorted(near) for part in self._seen_by(end, k)):
                above = max(level[0], one.low) - min(level[1], one.high)
                if above >= TOOL_ROOM - PASSES:
                    continue
                if isinstance(one, Upright) and one.straight:
                    beside[one.shape, across_the_corner(TOOL_ROOM - PASSES, above)] = None
                else:
                    beside[one] = None
            standing = any(not isinstance(one, tuple) for one in beside)
            self._swings[key] = _can_swing(end.flats, end.center, tuple(beside), level if standing else None, swing)
        return self._swings[key]

    def _seen_by(self, end: ScrewEnd, k: int) -> tuple[Solid, ...]:
        """The body with this number as a screw's mount sees it; the same for all screws of the mount."""
        key = (end.mount, k)
        if key not in self._seen:
            # Seen from the mount that carries the screw: with that at rest, everything else travels the other way, so
            # one place of the tool stands for all positions of the travel.
            body = self.bodies[k]
            if body.carrier == end.mount:
                self._seen[key] = body.solids
            elif end.travel is None:
                self._seen[key] = body.swept_solids
            else:
                # what stands still travels the other way, as what travels sees it: the two ends change places
                back: Travel
                if isinstance(end.travel, Straight):
                    back = Straight(end.travel.direction, end.travel.tension, end.travel.install)
                else:
                    back = Swing(end.travel.about, end.travel.tension, end.travel.install, end.travel.sense)
                self._seen[key] = (Upright(sweep(body.swept, back), *body.z),)
        return self._seen[key]

    def hindrances(self, item: _Item, there: Container[str]) -> Iterator[Hindrance]:
        """What keeps an item from going on while others are there; `there` holds the item itself too."""
        for owner, bodies in self.ways[item.name].items():
            if owner in there:
                yield Hindrance(item.name, owner, bodies)
        # One hindrance for each item that covers screws, however many: it is one thing to do something about.
        covers: dict[str, tuple[dict[str, None], dict[str, None]]] = {}
        for name, ends in item.screws.items():
            if self.tool_for(ends, there) is None:
                for end in ends:
                    for owner, names in self.over(end).items():
                        if owner in there:
                            over, screws = covers.setdefault(owner, ({}, {}))
                            over.update(dict.fromkeys(names))
                            screws[name] = None
        for owner, (over, screws) in covers.items():
            yield Hindrance(item.name, owner, tuple(over), tuple(screws))

    def lifted(self, item: _Item, there: Container[str]) -> Iterator[Hindrance]:
        """The hindrances that another order would lift."""
        return (one for one in self.hindrances(item, there) if one.by not in (PLATE, item.name))

    def link(self, item: _Item, there: Container[str]) -> Hindrance:
        """Why an item is not the last: what hinders it then, or what goes on after it."""
        found = next(self.lifted(item, there), None)
        if found is not None:
            return found
        return Hindrance(item.name, next(other for other in self._needed[item.name] if other in there), ())

    def may_be_last(self, item: _Item, there: Container[str]) -> bool:
        """Whether an item can go on after all others that are there."""
        if any(other in there for other in self._needed.get(item.name, ())):
            return False
        return next(self.lifted(item, there), None) is None

    def always(self) -> tuple[Hindrance, ...]:
        """What hinders an item when nothing but the plate and what is fixed to it is there."""
        return tuple(one for item in self.items.values() for one in self.hindrances(item, {PLATE, item.name}))


@lru_cache(maxsize=256)  # screws whose surroundings an edit leaves alone
def _can_swing(
    flats: float,
    center: Point,
    beside: tuple[tuple[Shape, float] | Solid, ...],
    level: tuple[float, float] | None,
    swing: float,
) -> bool:
    """Whether a spanner on a screw can swing so far (rad) from some direction for the next bite, clear of what is near.

    `beside` are outlines with the room that each needs, and solids that do not stand straight, for which `level` is how
    high the spanner is (mm).
    """
    # The handle alone is tried first: it hits something most often, and each place of it serves several swings.
    free: dict[int, bool] = {}
    things = [(one, (one[0].box if isinstance(one, tuple) else one.silhouette.box).grown(TOOL_ROOM)) for one in beside]

    def fits(shape: Shape) -> bool:
        box = shape.box
        for place, (one, room) in enumerate(things):
            if not room.overlaps(box):
                continue
            if isinstance(one, tuple):
                other, apart = one
                hit = other.box.gap(box) < TOOL_ROOM - PASSES and within_reach(shape, other, apart)
            else:
                assert level is not None
                hit = nearer_than(Upright(shape, *level), one, TOOL_ROOM - PASSES)
            if hit:
                # what stops the handle here stops it a step further too: it is asked first from now on
                things.insert(0, things.pop(place))
                return False
        return True

    def handle_fits(k: int) -> bool:
        k %= SPANNER_STEPS
        if k not in free:
            free[k] = fits(handle_shape(flats, center, math.tau * k / SPANNER_STEPS))
        return free[k]

    steps = round(swing * SPANNER_STEPS / math.tau)
    return any(
        fits(spanner_shape(flats, center, math.tau * k / SPANNER_STEPS, swing))
        for k in range(SPANNER_STEPS)
        if all(handle_fits(k + more) for more in range(steps + 1))
    )


def _counts(body: Body, end: ScrewEnd) -> bool:
    """Whether a body can be in a tool's way: not the screw itself, nor the nominal frame of a standard part on it.

    A table gives the largest frame that the standard allows; the makers leave room for the part's own screws.
    """
    if body.screw == end.screw or (body.kind == "standard" and body.carrier == end.mount):
        return False
    return not (body.kind == "guard" and body.name == end.mount)  # the cover, which the head itself sits on


def owner_of(body: Body) -> str:
    """The item a body goes on with: its mount, its pulley, the belt, the guard; `plate` for what is fixed to it."""
    return (body.pulley or body.name) if body.kind == "pulley" else body.carrier


def _items(there_is: _Bench, owned: dict[str, list[Body]]) -> Iterator[_Item]:
    """Mounts, pulleys after their mounts, belts after their pulleys and the guard over them, its cover last."""
    screws: dict[str, dict[str, tuple[ScrewEnd, ...]]] = {}
    for end in there_is.ends:
        own = screws.setdefault(end.mount, {})
        own[end.screw] = (*own.get(end.screw, ()), end)
    for mount in there_is.mounts:
        bodies = tuple(body for body in owned.get(mount.name, []) if not body.hardware)
        # what stands on a layer, or has its heads on one, goes on after it
        after = frozenset(one for one in (mount.on, mount.heads_on) if one is not None)
        yield _Item(mount.name, "mount", bodies, mount.side, screws.get(mount.name, {}), after)
    names = {mount.name for mount in there_is.mounts}
    low, high = there_is.plate_z
    for belt in there_is.belts:
        for pulley in belt.pulleys:
            # A pulley on a shaft through the plate goes on from behind it; any other comes as its shaft lets it.
            beyond = not pulley.drawn.lies and (pulley.z[1] <= low if pulley.side == "near" else pulley.z[0] >= high)
            side: Side | None = ("far" if pulley.side == "near" else "near") if beyond else None
            after = frozenset({pulley.mount} & names)
            yield _Item(pulley.name, "pulley", tuple(owned.get(pulley.name, [])), side, {}, after)
        name = f"{belt.name}.belt"
        before = {p.name for p in belt.pulleys}
        before |= {guard.name for guard in there_is.guards if belt.name in guard.belts}
        yield _Item(name, "belt", tuple(owned.get(name, [])), None, {}, frozenset(before))
    for name, joined in there_is.coupled:
        # its hubs are on the two shafts before; what goes on here is what joins them
        yield _Item(name, "coupling", tuple(owned.get(name, [])), None, {}, frozenset(joined))
    for guard in there_is.guards:
        yield from _guard_items(guard, owned, screws)


def _guard_items(
    guard: Guard, owned: dict[str, list[Body]], screws: dict[str, dict[str, tuple[ScrewEnd, ...]]]
) -> Iterator[_Item]:
    # The halves of a split back plate, past the pulleys that stay on; the box; the cover once the belt is on. The belt
    # goes on after the box, so that it is put on, tensioned and checked through the open front.
    halves: set[str] = set()
    if guard.seam is not None:
        ux, uy = guard.seam[1]
        for name, way in zip(guard.half_names, ((-uy, ux), (uy, -ux)), strict=True):
            yield _Item(name, "guard", tuple(owned.get(name, [])), None, {}, frozenset(guard.stays), way)
            halves.add(name)
    way_in: Point | None = None
    past: float | None = None
    if guard.drawn.lies:
        # Over the ends of the shafts, past which the box, as deep as its band, is lifted in.
        nx, ny, _ = guard.drawn.n
        way_in, past = (guard.outward * nx, guard.outward * ny), guard.band_width + 2 * guard.thickness
    box = tuple(owned.get(guard.name, []))
    yield _Item(guard.name, "guard", box, guard.side, screws.get(guard.name, {}), frozenset(halves), way_in, past)
    cover = tuple(owned.get(guard.cover_name, []))
    on_first = frozenset({guard.name, *(f"{belt}.belt" for belt in guard.belts)})
    named = guard.cover_name
    yield _Item(named, "guard", cover, guard.side, screws.get(named, {}), on_first, way_in, past)


def _way_in(body: Body, item: _Item) -> tuple[tuple[Solid, ...], Box]:
    """All that a body of an item passes through on its way in, at nominal, and a box round that in the plan."""
    if item.along is not None and item.past is not None:
        start = (body.z[0], FAR_OFF) if item.side == "near" else (body.z[1], -FAR_OFF)
        return _over_shafts(body.solids, body.shape, start, item.along, item.past)
    if item.along is not None:
        way = Straight(item.along, install=0.0, tension=FAR_OFF)
        passed = [Upright(sweep(solid.silhouette, way), solid.low, solid.high) for solid in body.solids]
        boxes = [one.silhouette.box for one in passed]
        x0, y0 = min(box.x0 for box in boxes), min(box.y0 for box in boxes)
        x1, y1 = max(box.x1 for box in boxes), max(box.y1 for box in boxes)
        return tuple(passed), Box(x0, y0, x1, y1)
    assert item.side is not None
    # A part is brought straight in from its own side: what it passes through is each of its solids drawn out, the
    # silhouette outwards from where it is widest. What lies inwards of that hits nothing that the solid in its place
    # does not hit.
    path: list[Solid] = []
    near = item.side == "near"
    end = FAR_OFF if near else -FAR_OFF
    for solid in body.solids:
        inner, outer = (solid.low, solid.high) if near else (solid.high, solid.low)
        if isinstance(solid, StandingPrism):
            path.append(Upright(solid.silhouette, min(inner, end), max(inner, end)))  # all that it passes, and itself
            continue
        widest = inner
        if isinstance(solid, Lying):
            widest = solid.height
        elif not solid.straight and (solid.flare_high > solid.flare_low) == near:
            widest = outer
        column = Upright(solid.silhouette, min(widest, end), max(widest, end))
        path += [column] if widest == inner else [solid, column]
    return tuple(path), body.shape.box


@lru_cache(maxsize=256)
def _over_shafts(
    solids: tuple[Solid, ...], silhouette: Shape, ends: tuple[float, float], along: Point, past: float
) -> tuple[tuple[Solid, ...], Box]:
    """All that a body of a guard over lying shafts passes through: let down beside their ends, then along them."""
    way = Straight(along, install=0.0, tension=past)
    passed: list[Solid] = [solid.swept(way) for solid in solids]
    down = silhouette.moved(Pose(past * along[0], past * along[1]))
    passed.append(Upright(down, min(ends), max(ends)))
    boxes = [one.silhouette.box for one in passed]
    x0, y0 = min(box.x0 for box in boxes), min(box.y0 for box in boxes)
    x1, y1 = max(box.x1 for box in boxes), max(box.y1 for box in boxes)
    return tuple(passed), Box(x0, y0, x1, y1)


def _meet(some: Iterable[Solid], others: Iterable[Solid]) -> bool:
    """Whether two groups of solids share space; what only touches slides past."""
    # boxes first, each found once: a guard's sheet has some dozens of pieces
    boxes = [(other, other.low, other.high, *other.silhouette.box) for other in others]
    for one in some:
        x0, y0, x1, y1 = one.silhouette.box.grown(PASSES)
        low, high = one.low, one.high
        for other, bottom, top, u0, v0, u1, v1 in boxes:
            if u0 > x1 or x0 > u1 or v0 > y1 or y0 > v1 or bottom >= high or low >= top:
                continue
            if run_together(one, other, PASSES):
                return True
    return False


def _level(z: tuple[float, float], other: Body) -> bool:
    """Whether a body reaches to the height of a tool."""
    return max(z[0], other.z[0]) - min(z[1], other.z[1]) < TOOL_ROOM


# --------------------------------------------------------------------------------------------- way back


class WayBack(Struct, frozen=True):
    """The way back to how the machine was: what is taken off in which order, what to keep, what stays different."""

    mounts: tuple[str, ...]
    off: tuple[AssemblyStep, ...]
    lasting: tuple[str, ...]

    @property
    def whole(self) -> bool:
        """Whether nothing of the old machine stays changed."""
        return not self.lasting


def way_back(layout: Layout) -> WayBack:
    """How to return to the original: everything off in the reverse order, and the new holes that stay in the old part.

    The original mounts are those that the spec marks, else the first one. With the plate off, each of their own holes
    is free again; what stays is only what was drilled into them.
    """
    mounts = layout.originals
    order = assembly(layout)
    lasting = tuple(hole for name in mounts for hole in layout.mounts[name].new_holes)
    return WayBack(mounts, order.steps[::-1], lasting)

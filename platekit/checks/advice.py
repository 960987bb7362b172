"""Advice that works when followed: which way to move something, how far, and the edit of the spec that does it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from typing import Any

from platekit import tables
from platekit.checks.finding import NO_ADVICE, Advice, FieldValue, Remedy
from platekit.geometry import Point, Pose, Shape, Swing, distance
from platekit.placed import SAME_LENGTH, Body, Layout, Movable, Opening, PlacedMount
from platekit.spec.source import path_of
from platekit.units import mm_per, show_length

STEP = {"mm": 0.1, "in": 0.005}
"""Advice is rounded to this step of the spec's unit (ours)."""
THINNEST_SPACER = 1.0
"""What is thinner is a shim, mm (common practice)."""
SPIGOT_ROOM = 1.0
"""Room left in front of a spigot that does not enter the plate, mm (ours)."""
DIRECTIONS = 16
"""Ways of moving that are tried when the shortest way out is looked for (ours)."""
PRECISE = 0.01
"""The move that is advised is worked out this closely, mm (ours)."""
ROUGH = 0.03
"""Ways of moving are compared this closely, as a share of their length (ours)."""
FARTHEST = 4096.0
"""A move longer than this is not advice, mm (ours)."""


def say(layout: Layout, value: float) -> str:
    """A length (mm) in the unit of the spec, such as `9.2 mm`."""
    return show_length(value, layout.spec.unit)


def in_units(layout: Layout, value: float) -> float:
    """A length (mm) as a bare number of the spec, rounded to the step of advice."""
    step = STEP[layout.spec.unit]
    return round(round(value / mm_per(layout.spec.unit) / step) * step, 6)


def rounded_up(layout: Layout, value: float) -> float:
    """Like `in_units`: a bare number of the spec for a length (mm), never less than it."""
    step = STEP[layout.spec.unit]
    return round(math.ceil(value / mm_per(layout.spec.unit) / step - 1e-6) * step, 6)


def rounded_down(layout: Layout, value: float) -> float:
    """Like `in_units`: a bare number of the spec for a length (mm), never more than it."""
    step = STEP[layout.spec.unit]
    return round(math.floor(value / mm_per(layout.spec.unit) / step + 1e-6) * step, 6)


def packing(layout: Layout, value: float) -> str:
    """What goes under a part to lift it by a bare number of the spec (mm or in): shims where spacers are too thick."""
    return "shims" if value * mm_per(layout.spec.unit) < THINNEST_SPACER else "spacers"


def pilot_remedy(mount: PlacedMount, opening: str) -> Remedy:
    """The edit that has the plate take a mount's pilot (mm) in another way: `through`, `recess` or `none`."""
    value: dict[str, FieldValue] = {
        "diameter": f"{mount.pilot or 0:.6g} mm",
        "depth": f"{mount.pilot_depth:.6g} mm",
        "opening": opening,
    }
    return Remedy(f"{mount.field}.pilot", value)


def step_mm(layout: Layout) -> float:
    """The step of advice, mm."""
    return STEP[layout.spec.unit] * mm_per(layout.spec.unit)


def smaller_holes(layout: Layout, mount: PlacedMount, most: float) -> Iterator[Advice]:
    """Ideas that make a mount's screw holes at most `most` mm: the usual hole of a fit, the widest first."""
    stack = mount.stack
    if stack is None or stack.into == "plate":
        return
    for fit, hole in sorted(tables.screw(stack.size).clearance.items(), key=lambda one: -one[1]):
        if hole > min(most, mount.hole - SAME_LENGTH):
            continue
        size = rounded_up(layout, hole)
        if mount.hole_given and size * mm_per(layout.spec.unit) <= most:
            said = f"make the holes of {mount.name} {size:g} {layout.spec.unit} (hole: {size:g}), which is a {fit} fit"
            yield Advice(said, (Remedy(mount.hole_field, size),))
        elif not mount.hole_given:
            said = f"make the holes of {mount.name} {say(layout, hole)} (fit: {fit})"
            yield Advice(said, (Remedy(f"{mount.field}.screws.fit", fit),))


def words_at(layout: Layout, field: str) -> Any:
    """What the spec says at a field, for an edit of just that; None where it says nothing.

    The one way from a finding back into the words of the spec. What a rule judges is in the layout, as a value.
    """
    words: Any = layout.spec.model
    for step in path_of(field, layout.spec.top):
        if words is None:
            return None
        if isinstance(words, dict):
            words = words.get(step)
        else:
            words = words[int(step)] if isinstance(words, list | tuple) else getattr(words, str(step))
    return words


# --------------------------------------------------------------------------------------------- moving


def shortest_move(clearance: Callable[[Point], float], needed: float) -> Point | None:
    """The shortest of several straight moves after which `clearance(move)` is at least `needed`; None if none helps.

    Moves are (x, y) in mm. Each way is tried roughly and only as far as the best so far; the best is then worked out.
    """
    best: Callable[[float], bool] | None = None
    way, length = (0.0, 0.0), math.inf
    for index in range(DIRECTIONS):
        angle = index * math.tau / DIRECTIONS
        direction = (math.cos(angle), math.sin(angle))

        def clear(length: float, along: Point = direction) -> bool:
            return clearance((length * along[0], length * along[1])) >= needed

        far = _far_enough(clear, length)
        if far is not None and far < length - 1e-9:
            best, way, length = clear, direction, far
    if best is None:
        return None
    # only the winner is worked out closely: a clearance may cost milliseconds
    length = _nearest_clear(best, length, PRECISE)
    return (length * way[0], length * way[1])


def _far_enough(clear: Callable[[float], bool], limit: float) -> float | None:
    """Roughly how far is far enough, less than `limit`; None if that far is not enough."""
    high = limit
    # doubling finds a clear length from nothing known; later ways need only beat the best
    if math.isinf(limit):
        high = 1.0
        while not clear(high):
            high *= 2
            if high > FARTHEST:
                return None
    elif not clear(limit):
        return None
    return _nearest_clear(clear, high, max(ROUGH * high, PRECISE))


def _nearest_clear(clear: Callable[[float], bool], high: float, within: float) -> float:
    """A length that is clear, and not more than `within` (mm) beyond one that is not; `high` is clear."""
    low = 0.0
    while high - low > within:
        middle = (low + high) / 2
        low, high = (low, middle) if clear(middle) else (middle, high)
    return high


def apart(moving: Shape, fixed: Shape) -> Callable[[Point], float]:
    """Distance of the two shapes, mm, as a function of the move (x, y; mm) of the first."""

    def clearance(move: Point) -> float:
        return distance(moving.moved(Pose(move[0], move[1])), fixed).distance

    return clearance


def mover(layout: Layout, thing: Opening | Body) -> Movable | None:
    """What must be moved so that this thing moves; None when nothing simple does.

    A hole in a swing's arc is no such thing: where it goes when its mount is moved depends on the pivot as well.
    """
    if isinstance(thing, Opening):
        # A relief that grew together with others belongs to several bodies at once: moving one leaves the rest.
        if thing.placed is not None:
            return None if len(thing.merged) > 1 else thing.placed
        if thing.role in ("pivot", "fixing", "cutout", "dowel") or len(thing.merged) > 1:
            return None
        carrier = thing.mount
    else:
        if thing.carrier == "plate":
            return None if thing.is_ground else thing.placed
        carrier = thing.carrier
    if carrier not in layout.mounts or isinstance(layout.mounts[carrier].travel, Swing):
        return None
    return layout.mounts[carrier].placed


def stays(layout: Layout, thing: Opening | Body, mount: str) -> bool:
    """Whether a thing stays where it is when a mount moves: no carrier of it is that mount, or placed from it."""
    # A relief that was joined with others moves with the carrier of each of them.
    if isinstance(thing, Body):
        carriers = {thing.carrier}
    else:
        made_for = {f"{body.name}.relief": body.carrier for body in layout.bodies} if thing.role == "relief" else {}
        found = {made_for[name] for name in (thing.name, *thing.merged) if name in made_for}
        carriers = found | ({thing.mount} if thing.mount is not None else set())
    for carrier in carriers:
        # up the chain of what each is placed from: to the plate, or to a place of its own, unless the mount comes first
        here: str | None = carrier
        while here is not None and here != "plate":
            if here == mount or here not in layout.mounts:
                return False
            here = layout.mounts[here].place_from
    return True


def which_moves(layout: Layout, a: Opening | Body, b: Opening | Body) -> Movable | None:
    """What to move so that one of two things moves and the other stays; None when neither can.

    Cutouts move before bodies on the plate, those before mounts, a later mount before an earlier one: the machine
    usually comes first and stays.
    """
    options = []
    for moving, fixed in ((a, b), (b, a)):
        movable, other = mover(layout, moving), mover(layout, fixed)
        if movable is None or movable == other:
            continue
        # moving the one must not carry the other along
        if movable.kind == "mount" and not stays(layout, fixed, movable.name):
            continue
        if movable.kind == "mount" and layout.mounts[movable.name].original:
            continue  # it stays as it was
        options.append(movable)
    return min(options, key=lambda movable: (reluctance(layout, movable), movable.field), default=None)


def reluctance(layout: Layout, movable: Movable) -> int:
    """How unwillingly a shop would move something; 0 the least."""
    if movable.kind != "mount":
        return 1 if movable.kind == "idler" else 0  # the belt goes round an idler; nothing hangs on the others
    names = list(layout.mounts)
    return 1 + len(names) - names.index(movable.name)


def moved_remedy(layout: Layout, movable: Movable, move: Point) -> tuple[str, Remedy]:
    """The sentence and the edit that move something by `move` (mm)."""
    x, y = movable.at
    new = (in_units(layout, x + move[0]), in_units(layout, y + move[1]))
    unit = mm_per(layout.spec.unit)
    # The sentence tells the move from where it is to the rounded place, not the move that was worked out.
    move = (new[0] * unit - x, new[1] * unit - y)
    words = []
    for size, plus, minus in ((move[0], "to the right", "to the left"), (move[1], "up", "down")):
        if abs(size) >= step_mm(layout) / 2:
            words.append(f"{say(layout, abs(size))} {plus if size > 0 else minus}")
    way = " and ".join(words)
    return f"move {movable.name} {way}", Remedy(movable.field, [*new])


def move_apart(
    layout: Layout, pairs: Sequence[tuple[Opening, Opening]] | Sequence[tuple[Body, Body]], needed: float
) -> Advice:
    """Advice that brings the two of every pair at least `needed` (mm) apart; empty when moving is no way out.

    The pairs are of the same two carriers, so that one move serves them all.
    """
    movable = which_moves(layout, *pairs[0])
    if movable is None:
        return NO_ADVICE
    if movable.kind == "mount" and layout.mounts[movable.name].belt_angle is not None:
        return NO_ADVICE  # the belt fixes how far off it is; see `moves`, which turns it about the other shaft
    clearances = []
    for a, b in pairs:
        # what moves counts with all that it covers over its travel, an opening as it is cut
        one, other = (thing.shape if isinstance(thing, Opening) else thing.swept for thing in (a, b))
        clearances.append(apart(one, other) if mover(layout, a) == movable else apart(other, one))
    enough = needed + step_mm(layout)

    def least(by: Point) -> float:
        # the first pair that is too near settles it
        worst = math.inf
        for clearance in clearances:
            worst = min(worst, clearance(by))
            if worst < enough:
                break
        return worst

    move = shortest_move(least, enough)
    if move is None:
        return NO_ADVICE
    sentence, remedy = moved_remedy(layout, movable, move)
    return Advice(sentence, (remedy,))

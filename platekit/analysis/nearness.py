"""How near two bodies come over the whole travel of their carriers, and where on the travel that is.

Each body is taken as all that it covers over its own carrier's travel, so two mounts that travel do so independently.
Bodies of one carrier move together: they keep the distance that they have.
"""

from __future__ import annotations

import math
from functools import lru_cache
from itertools import product

from msgspec import Struct
from msgspec.structs import replace

from platekit.geometry import (
    Clearance,
    Lying,
    Point,
    Solid,
    StandingPrism,
    Straight,
    Swing,
    Travel,
    clearance,
    common_point,
    distance,
    ends,
    extent,
    height_gap,
    level_box,
    nearest_position,
    pose_at,
    prism_distance,
)
from platekit.placed import Body, Layout, Position
from platekit.units import show_length

SHARES = 1e-3
"""A model that shares space is said to reach in so deep where the pieces that hold it only touch, mm (ours)."""
SURE = 1e-3
"""A pair of solids is left out only when it is farther apart than another pair by more than this, which is more than
all rounding and searching, mm (ours)."""
TRIED = 9
"""Positions of each travel among which the deepest overlap is looked for (ours)."""


class Meeting(Struct, frozen=True):
    """Two bodies that come near each other: found and needed distance (mm), and a point of each in plan."""

    a: Body
    b: Body
    found: float
    needed: float
    at_a: Point
    at_b: Point

    @property
    def between(self) -> Point:
        """The point half-way."""
        return ((self.at_a[0] + self.at_b[0]) / 2, (self.at_a[1] + self.at_b[1]) / 2)


def meeting(a: Body, b: Body, enough: float = math.inf, deepest: bool = True) -> Meeting:
    """How near two bodies come over their travels; exact, or on the safe side where a lying cylinder swings.

    Where they are farther apart than both `enough` and what they need (mm), any figure beyond these may come. Where
    they share space, it is told how far and where at the most; unless `deepest`, at any place.
    """
    needed = max(a.gap, b.gap)
    together = a.carrier == b.carrier and a.travel == b.travel
    if a.pieces or b.pieces:
        # Moving together they stay as they are at nominal; else each may be anywhere while the other is anywhere.
        groups = (a.solids, b.solids) if together else (a.swept_solids, b.swept_solids)
        near = nearest_of(*groups, max(enough, needed), deepest)
        if near.distance < needed and (a.solid_model is not None or b.solid_model is not None):
            near = _by_the_model(a, b, near, needed, together)
        return Meeting(a, b, near.distance, needed, near.a, near.b)
    shape_a, shape_b = (a.shape, b.shape) if together else (a.swept, b.swept)
    plan, z_gap = distance(shape_a, shape_b), max(a.z[0], b.z[0]) - min(a.z[1], b.z[1])
    found = prism_distance(plan.distance, z_gap)
    # Where the outlines overlap, their nearest points lie on the edges, maybe far from the place that is meant.
    if plan.distance <= 0.0 and found < needed:
        spot = common_point(shape_a, shape_b, plan)
        return Meeting(a, b, found, needed, spot, spot)
    return Meeting(a, b, found, needed, plan.a, plan.b)


def _by_the_model(a: Body, b: Body, near: Clearance, needed: float, together: bool) -> Clearance:
    """How near a maker's model comes to another body: exact, where the pieces that hold it only came too near (mm).

    A part that travels meets one that stands as it would meet, standing, all that the other covers while it travels the
    opposite way: so one question to the kernel tells of the whole travel. What cannot be turned round like that, two
    models of which one travels, or one on a hinge, keeps what was found by the pieces, the safe side.
    """
    from platekit.geometry.kernel import how_near

    one, other = (a, b) if a.solid_model is not None else (b, a)
    assert one.solid_model is not None
    still = together or (one.travel is None and other.travel is None)
    if one.covers or (other.covers and other.solid_model is not None):
        return near
    if other.solid_model is not None:
        if not still:
            return near
        found = how_near(one.solid_model, (), other.solid_model)
    else:
        solids = other.solids if together else other.swept_solids
        if not together and one.travel is not None:
            if any(isinstance(solid, Lying) and solid.travel is not None for solid in solids):
                return near
            solids = tuple(solid.swept(_opposite(one.travel)) for solid in solids)
        found = how_near(one.solid_model, solids)
    if found.shares:
        return near if near.distance < 0.0 else replace(near, distance=-SHARES)
    if one.carrier == other.carrier and other.hardware:
        # a head, washer or nut sits on its own part: there is nothing to keep clear of
        return replace(near, distance=max(needed, found.distance))
    here, there = (found.here[:2], found.there[:2]) if still else (near.a, near.b)
    if still and one is b:
        here, there = there, here
    return replace(near, distance=found.distance, a=here, b=there)


def _opposite(travel: Straight | Swing) -> Straight | Swing:
    """The travel that the rest makes, seen from what travels."""
    if isinstance(travel, Straight):
        return Straight(travel.direction, travel.tension, travel.install)
    return replace(travel, sense=-travel.sense)


@lru_cache(maxsize=512)  # of two bodies that an edit leaves alone it is known how near they come
def nearest_of(
    some: tuple[Solid, ...], others: tuple[Solid, ...], enough: float = math.inf, deepest: bool = True
) -> Clearance:
    """The smallest of the distances between two groups of solids; beyond `enough` (mm), any figure beyond it may come.

    Unless the `deepest` is wanted, that of the first pair found to share space will do.

    Pairs whose boxes are nearest come first, and those whose boxes are farther apart than what was found are never
    measured. What may come out equal is measured in any case, so that the order of pairs decides nothing.
    """
    boxes, other_boxes = [level_box(one) for one in some], [level_box(one) for one in others]
    pairs = []
    for i, j in product(range(len(some)), range(len(others))):
        above = height_gap(some[i], others[j])
        gap = math.hypot(boxes[i].gap(other_boxes[j]), max(above, 0.0))
        # where boxes meet, what they hold is no deeper in each other than the height that both share
        pairs.append((gap, 0.0 if gap else above, i, j))
    best: tuple[float, int, int, Clearance] | None = None
    limit = max(enough, 0.0) + SURE
    for gap, above, i, j in sorted(pairs):
        if best is not None and gap > limit:
            break
        if best is not None and not gap and above > best[3].distance + SURE:
            continue
        near = clearance(some[i], others[j], limit)
        # Rounded, so that of distances that are equal on paper the same pair is told on every processor.
        found = (round(near.distance, 9), i, j, near)
        if best is None or found[:3] < best[:3]:
            best, limit = found, min(limit, max(near.distance, 0.0) + SURE)
        if near.distance < 0.0 and not deepest:
            break
    assert best is not None
    return best[3]


def surely_apart(a: Body, b: Body, by: float) -> bool:
    """Whether two bodies stay apart by so much (mm) over their travels, as far as boxes round their solids tell.

    Only of what stands on the plate, along whose own axes the boxes are taken: it spares measuring each piece of a
    guard's sheet against what lies beside the sheet.
    """
    together = a.carrier == b.carrier and a.travel == b.travel
    some, others = (a.solids, b.solids) if together else (a.swept_solids, b.swept_solids)
    for u in dict.fromkeys(one.u for one in (*some[:1], *others[:1]) if isinstance(one, StandingPrism)):
        reaches = [_reach(group, u) for group in (some, others)]
        gaps = [max(low - top, bottom - high, 0.0) for (low, high), (bottom, top) in zip(*reaches, strict=True)]
        # boxes that meet say nothing of what they hold
        if any(gaps) and math.hypot(*gaps) >= by:
            return True
    return False


@lru_cache(maxsize=512)  # a guard's back plate is of many pieces, and is held against all that is near it
def _reach(solids: tuple[Solid, ...], u: Point) -> list[tuple[float, float]]:
    """From where to where solids reach along a level direction, square to it, and up (mm)."""
    own = [one for one in solids if isinstance(one, StandingPrism) and one.u == u]
    boxes = [one.shape.box for one in own]
    level = [[(box.x0, box.x1) for box in boxes], [(one.start, one.stop) for one in own]]
    up = [(box.y0, box.y1) for box in boxes]
    for one in solids if len(own) < len(solids) else ():
        if not (isinstance(one, StandingPrism) and one.u == u):
            for spans, way in zip(level, (u, (u[1], -u[0])), strict=True):
                spans.append(extent(one, way))
            up.append((one.low, one.high))
    return [(min(low for low, _ in spans), max(high for _, high in spans)) for spans in (*level, up)]


def now(a: Body, b: Body) -> float:
    """How near two bodies are with both mounts at nominal, mm."""
    return nearest_of(a.solids, b.solids).distance


def hardest_positions(near: Meeting) -> tuple[Position, ...]:
    """Where the carriers stand when two bodies come nearest, or reach deepest into each other."""
    a, b = near.a, near.b
    if a.carrier == b.carrier or (a.travel is None and b.travel is None):
        return ()
    if near.found < 0:
        # They overlap at many positions: told is where they reach deepest into each other, of equals the one nearest
        # to nominal. Rounding first makes equals equal on every processor.
        def depth(places: tuple[float, float]) -> tuple[float, float]:
            at_a, at_b = places
            shapes = a.shape.moved(pose_at(a.travel, at_a)), b.shape.moved(pose_at(b.travel, at_b))
            return (round(distance(*shapes).distance, 6), abs(at_a) + abs(at_b))

        at_a, at_b = min(product(_tried(a.travel), _tried(b.travel)), key=depth)
    else:
        at_a, at_b = nearest_position(a.shape, a.travel, near.at_b), nearest_position(b.shape, b.travel, near.at_a)
    told = ((a.carrier, a.travel, at_a), (b.carrier, b.travel, at_b))
    return tuple(position(name, travel, at) for name, travel, at in told if travel is not None)


def position(mount: str, travel: Travel, at: float) -> Position:
    """A position of travel (`at` in mm, or rad of a swing) in the unit it is told in: mm, or degrees of a swing."""
    return Position(mount, math.degrees(at), "deg") if isinstance(travel, Swing) else Position(mount, at)


def _tried(travel: Travel) -> list[float]:
    if travel is None:
        return [0.0]
    low, high = ends(travel)
    return [0.0, *(low + (high - low) * k / (TRIED - 1) for k in range(TRIED))]


def said_positions(layout: Layout, positions: tuple[Position, ...]) -> str:
    """The positions as the end of a sentence; empty when there are none."""
    if not positions:
        return ""
    return " with " + " and ".join(f"{one.mount} {_said(layout, one)}" for one in positions)


def _said(layout: Layout, one: Position) -> str:
    size = f"{abs(one.at):.1f} deg" if one.unit == "deg" else show_length(abs(one.at), layout.spec.unit)
    if abs(one.at) < 0.05:
        return "at nominal"
    return f"{size} {'towards tension' if one.at > 0 else 'towards installing'}"

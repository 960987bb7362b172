"""The way in and out of a cut: from the pierce, clear of the part, on to the path; past closure, and away.

Vocabulary
    path        the middle of the kerf, half a kerf away from the finished edge
    scrap side  the side of the path that is not the part: inside of an opening, outside of the outline
    entry       the point of the path where the lead-in meets it, and where the cut closes
    lead-in     from the pierce to the entry: a quarter circle that meets the path without a corner where there is
                room, a half circle from the middle of a small hole, else a straight line
    overrun     the piece of the path that is run a second time, so that the cut closes for certain
    lead-out    a quarter circle from the end of the overrun into the scrap, where there is room

No lead may come nearer to the part than half a kerf: it must not meet the path but at the entry. That is asked of the
exact lines and arcs.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

from msgspec import Struct

from platekit.geometry import Arc, Disc, Edge, Line, Loop, Point, Shape, between, polar

ARC_SHARES = (1.0, 0.75, 0.5, 0.35)
"""Shares of the wanted lead that are tried for the arc, longest first (ours)."""
SMALL_HOLE_IN_LEADS = 2.5
"""A hole whose path has a radius of at most this many leads is entered from its middle (ours)."""
SMALLEST_ARC_IN_KERFS = 0.5
"""A lead-in arc with a radius below this many kerfs does not come out as one (ours); then the lead is straight."""
OUT_SHARE = 0.5
"""The lead-out's radius, as a share of the lead (ours): it only has to leave the path."""
ENTRY_NEAR = 1e-3
"""Where an arc meets a path it only touches, crossings come out this near to the entry, mm (rounding)."""
MOST_ENTRIES = 60
"""Most places of a path that are tried for the entry, those on long edges first (ours)."""
CLEAR = 1e-6
"""A pierce may be this much nearer than the room it wants, mm (rounding)."""


class Site(Struct, frozen=True):
    """What a lead has to mind: the path as a loop, the finished shape, which side the scrap is on.

    `kind` is that of the contour; `room` is kept between pierce and finished edge, `keep_out` are shapes of other parts
    from which pierce and leads stay `room` away.
    """

    path: Loop
    shape: Shape
    kind: str
    scrap_left: bool
    kerf: float
    lead: float
    room: float
    overrun: float
    keep_out: tuple[Shape, ...] = ()

    @property
    def hole_radius(self) -> float | None:
        """Radius (mm) of the path in a round hole that is small enough to be entered from its middle; else None."""
        if self.kind != "inside" or not isinstance(self.shape, Disc):
            return None
        radius = self.shape.radius - self.kerf / 2
        return radius if radius <= SMALL_HOLE_IN_LEADS * self.lead else None

    def scrap_side(self, along: Point) -> Point:
        """The way (no unit) square to a direction of cutting, into the scrap."""
        return (-along[1], along[0]) if self.scrap_left else (along[1], -along[0])

    def in_scrap(self, p: Point) -> bool:
        """Whether a point (mm) lies on the scrap side of the path."""
        depth = self.path.depth(p).distance
        return depth > 0.0 if self.kind == "inside" else depth < 0.0

    def keeps_out(self, end: Point, lead: Iterable[Edge]) -> bool:
        """Whether a lead (mm) and its far end stay off the parts beside this one, its end by more."""
        for shape in self.keep_out:
            around = shape.loop()
            if around.depth(end).distance > -self.room:
                return False
            if any(around.nearest_to_edge(edge).distance < self.kerf / 2 for edge in lead):
                return False
        return True


class Entered(Struct, frozen=True):
    """A path with its way in and out, in the order of cutting; without room for a pierce `lead_in` is empty."""

    lead_in: tuple[Edge, ...]
    contour: tuple[Edge, ...]
    overrun: tuple[Edge, ...]
    lead_out: tuple[Edge, ...]


def lead_into(site: Site, directed: Sequence[Edge]) -> Entered:
    """The best way into a path (mm) whose edges run in the direction of cutting."""
    if site.hole_radius is not None and not site.keep_out:
        # A small round hole is entered from its middle: in a circle nothing else is near, so nothing needs asking.
        directed = tuple(directed)
        overrun = tuple(_first(directed, site.overrun))
        if site.hole_radius + site.kerf / 2 < site.room - CLEAR:
            return Entered((), directed, overrun, ())
        last = (overrun or directed)[-1]
        outs = (share * OUT_SHARE * site.lead for share in ARC_SHARES)
        out = next((r for r in outs if SMALLEST_ARC_IN_KERFS * site.kerf <= r < site.hole_radius), None)
        lead_out = () if out is None else (_leaving(last, out, site),)
        # A half circle from the middle; straight if that would be too small to come out as one.
        center, entry = site.shape.centroid, directed[0].a
        radius = between(center, entry) / 2
        lead: Edge = Line(center, entry)
        if radius >= SMALLEST_ARC_IN_KERFS * site.kerf:
            middle = ((center[0] + entry[0]) / 2, (center[1] + entry[1]) / 2)
            start = math.atan2(center[1] - middle[1], center[0] - middle[0])
            lead = Arc(middle, radius, start, math.pi if site.scrap_left else -math.pi, center, entry)
        return Entered((lead,), directed, overrun, lead_out)
    for lead_in, around in _ways_in(site, directed):
        if _is_clear(site, lead_in, around[0].a):
            overrun = tuple(_first(around, site.overrun))
            return Entered(lead_in, around, overrun, _way_out(site, (overrun or around)[-1]))
    around = tuple(directed)
    return Entered((), around, tuple(_first(around, site.overrun)), ())


# --------------------------------------------------------------------------------------------- ways in


def _ways_in(site: Site, directed: Sequence[Edge]) -> Iterator[tuple[tuple[Edge, ...], tuple[Edge, ...]]]:
    """Lead-ins with the path turned to start where each meets it, the best first."""
    # Places on the path, as (edge, place), the middles of long edges first, then their quarters. Rounded, so that edges
    # equally long on paper keep their order on every processor.
    longest = sorted(range(len(directed)), key=lambda k: (-round(directed[k].length, 6), k))[:MOST_ENTRIES]
    entries = [(k, place) for place in (0.5, 0.25, 0.75) for k in longest]
    turned: dict[tuple[int, float], tuple[Edge, ...]] = {}

    def around(entry: tuple[int, float]) -> tuple[Edge, ...]:
        return turned.setdefault(entry, starting_at(directed, *entry))

    # Arcs before lines, and a long way in before a short one: an arc comes onto the path already running along it, so
    # it leaves no notch, and a long one gives the torch time to settle. Only then is another place of the path tried
    # with less.
    for share in ARC_SHARES:
        for entry in entries:
            # a quarter circle through the scrap that meets the path there, running along it
            at, across = around(entry)[0].a, site.scrap_side(around(entry)[0].direction(0.0))
            radius = share * site.lead
            center = (at[0] + radius * across[0], at[1] + radius * across[1])
            end = math.atan2(-across[1], -across[0])
            sweep = math.pi / 2 if site.scrap_left else -math.pi / 2
            yield (Arc(center, radius, end - sweep, sweep, polar(center, radius, end - sweep), at),), around(entry)
    for share in ARC_SHARES:
        for entry in entries:
            # Square to the path: any slant would burn away more of the edge where they meet.
            first = around(entry)[0]
            length = share * site.lead
            (x, y), across = first.a, site.scrap_side(first.direction(0.0))
            yield (Line((x + length * across[0], y + length * across[1]), (x, y)),), around(entry)
    if site.kind != "inside" or site.room <= site.kerf / 2:
        return
    # Last, straight from the roomiest places. The path taken in until all of it is `room` from the finished edge: where
    # anything is left, its line is the set of places just far enough from every edge, and one is nearest to the path.
    for loop in site.path.grown_all(site.kerf / 2 - site.room):
        for edge in sorted(loop.edges, key=lambda e: -round(e.length, 6))[:MOST_ENTRIES]:
            pierce = edge.at(0.5)
            nearest = site.path.nearest(pierce).b
            k = min(range(len(directed)), key=lambda n: round(between(nearest, directed[n].nearest(nearest)), 9))
            path = starting_at(directed, k, min(max(directed[k].place(nearest), 0.0), 1.0))
            if between(pierce, path[0].a) > CLEAR:
                yield (Line(pierce, path[0].a),), path


# --------------------------------------------------------------------------------------------- clear or not


def _is_clear(site: Site, lead: tuple[Edge, ...], entry: Point) -> bool:
    """Whether the pierce has its room, and the lead stays in the scrap all the way to the entry."""
    pierce = lead[0].a
    # The pierce blows a hole wider than the kerf: it must lie in the scrap, and that far from the finished edge.
    depth = site.shape.loop().depth(pierce).distance
    if (depth if site.kind == "inside" else -depth) < site.room - CLEAR:
        return False
    if not site.in_scrap(pierce):
        return False
    for edge in lead:
        # The middle of the kerf may touch the path where it joins it, and nowhere else.
        if any(between(p, entry) > ENTRY_NEAR for p in site.path.crossings(edge)):
            return False
    return site.keeps_out(pierce, lead)


# --------------------------------------------------------------------------------------------- ways out


def _way_out(site: Site, last: Edge) -> tuple[Edge, ...]:
    """A quarter circle away from the path, at most a share of the lead large; none where there is no room."""
    for share in ARC_SHARES:
        radius = share * OUT_SHARE * site.lead
        if radius < SMALLEST_ARC_IN_KERFS * site.kerf:
            break
        out = _leaving(last, radius, site)
        only_leaves = all(between(p, last.b) <= ENTRY_NEAR for p in site.path.crossings(out))
        if only_leaves and site.in_scrap(out.b) and site.keeps_out(out.b, (out,)):
            return (out,)
    return ()


def _leaving(last: Edge, radius: float, site: Site) -> Arc:
    """A quarter circle that goes on from the end of an edge into the scrap."""
    (x, y), across = last.b, site.scrap_side(last.direction(1.0))
    center = (x + radius * across[0], y + radius * across[1])
    start = math.atan2(-across[1], -across[0])
    sweep = math.pi / 2 if site.scrap_left else -math.pi / 2
    return Arc(center, radius, start, sweep, (x, y), polar(center, radius, start + sweep))


# --------------------------------------------------------------------------------------------- along the path


def starting_at(directed: Sequence[Edge], k: int, place: float) -> tuple[Edge, ...]:
    """The closed path run from a place (0 to 1) on its edge number `k`, cut in two there."""
    edge = directed[k]
    others = (*directed[k + 1 :], *directed[:k])
    point = edge.at(place)
    if between(point, edge.a) <= CLEAR:
        return (edge, *others)
    if between(point, edge.b) <= CLEAR:
        return (*others, edge)
    return (edge.part(place, 1.0, point, edge.b), *others, edge.part(0.0, place, edge.a, point))


def _first(around: Sequence[Edge], length: float) -> Iterator[Edge]:
    """The first `length` mm of a path, at most once round."""
    for edge in around:
        if length <= CLEAR:
            return
        if edge.length > length:
            place = length / edge.length
            yield edge.part(0.0, place, edge.a, edge.at(place))
            return
        yield edge
        length -= edge.length

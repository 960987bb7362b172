"""The plate seen edge on, to scale: what stands on either side of it, pulleys and belts, with the heights that matter.

A view has its own frame: x along a level direction of the plate, y the height over the near face, mm. Nothing in it is
hidden: every part is an outline. Convex solids show the exact outline of what they reach in each direction; a hollow
one shows the box round it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache
from itertools import islice
from typing import Final, Literal

from msgspec import Struct
from msgspec.structs import replace

from platekit.drawing.dimensions import BESIDE, HEAD, Mark, Style, linear, spread_out
from platekit.drawing.text import Measure
from platekit.geometry import Arc, Box, Lying, Point, Shape, Solid, StandingPrism, Upright, box_round, extent
from platekit.geometry import lying as lying_plane
from platekit.laying.guard import dangers, outside_of, sheet_with_lugs
from platekit.once import once
from platekit.placed import SAME_LENGTH, Body, Guard, Layout, PlacedBelt
from platekit.units import show_length

Kind = Literal["near", "far", "turning", "belt", "screw"]

LOOKS: Final = 96
"""Directions in which a convex solid is asked how far it reaches: its round parts are drawn to 0.06 % (ours)."""
MOST_NAMED: Final = 14
"""Most parts that are named in a view; the largest are (ours)."""
SQUARE: Final = 1e-12
"""Directions that differ by less are one, rad: rounding (ours)."""
SAME_WAY: Final = math.radians(1)
"""Two belts whose lines differ by less are seen in one view, rad (ours)."""


ARC_LOOKS = 8
"""Points along each arc of a sheet that is seen flat (ours)."""


class SidePart(Struct, frozen=True, dict=True):
    """A body from the side: its outlines at nominal, and those of all that it covers over its travel if it has one."""

    name: str
    kind: Kind
    outlines: tuple[tuple[Point, ...], ...]
    moved: tuple[tuple[Point, ...], ...]

    @once
    def box(self) -> Box:
        """The box round it at nominal, mm: x along the view, y over the near face."""
        return _box([p for outline in self.outlines for p in outline])

    @once
    def reach(self) -> Box | None:
        """The box round all that it covers over its travel, mm; None of one that does not travel."""
        spots = [p for outline in self.moved for p in outline]
        return _box(spots) if spots else None


class SideMeasure(Struct, frozen=True):
    """A height dimension: from one height to another, and the words beside it."""

    low: float
    high: float
    words: str


class SideView(Struct, frozen=True):
    """One view: its words, the plate's own outline, the parts, the heights and the distances along the plate."""

    title: str
    plate: Box
    parts: tuple[SidePart, ...]
    heights: tuple[SideMeasure, ...]
    along: tuple[tuple[float, float, str], ...]
    named: tuple[tuple[Point, str], ...]

    @property
    def box(self) -> Box:
        """The box round all that is drawn, mm of the view."""
        reaches = [part.reach for part in self.parts]
        return box_round([self.plate, *(part.box for part in self.parts), *(one for one in reaches if one is not None)])


def side_views(
    layout: Layout, looks: int = LOOKS, measured: bool = True, most: int | None = None
) -> tuple[SideView, ...]:
    """The views from the side: one or two; none of a plate without a drive and without bodies. Heights in mm.

    Fewer `looks` make round parts coarser, and the views sooner there; so does leaving out all that is `measured`, for
    a picture that shows no figures, and all but so many views.
    """
    if not layout.belts and not any(body.kind in ("given", "standard") for body in layout.bodies):
        return ()
    low, high = layout.plate_z
    heights = tuple(_heights(layout)) if measured else ()  # the same, however one looks along the plate
    views = []
    for way, title in islice(view_ways(layout), most):
        left, right = extent(Upright(layout.plane, low, high), way)
        parts = []
        for body in layout.bodies:
            if body.kind in ("guard", "spigot"):
                continue  # a guard is told as its sheets, not in their pieces; a spigot is inside the plate
            parts.append(_part_of(body, way, looks))
        for guard in layout.guards:
            parts += _guard_parts(layout, guard, way)
        along = tuple(_distances(layout, way, (left, right))) if measured else ()
        plate = Box(left, low, right, high)
        views.append(SideView(title, plate, tuple(parts), heights, along, tuple(_named(parts))))
    return tuple(views)


@lru_cache(maxsize=2048)  # most of a plate that is dragged about stands still, and keeps its boxes
def _part_of(body: Body, way: Point, looks: int) -> SidePart:
    """A body from the side."""
    kind: Kind = "near" if body.side == "near" else "far"
    if body.hardware:
        kind = "screw"
    elif body.kind in ("pulley", "belt"):
        kind = "turning" if body.kind == "pulley" else "belt"
    moves = (body.travel is not None or bool(body.covers)) and not body.hardware
    moved = tuple(_seen(solid, way, looks) for solid in body.swept_solids) if moves else ()
    # a layer has pieces only because it has holes: from the side it is one
    layer = body.name == f"{body.carrier}.layer"
    solids = (Upright(body.shape, *body.z),) if layer else body.solids
    return SidePart(body.name, kind, tuple(_seen(solid, way, looks) for solid in solids), moved)


def _distances(layout: Layout, way: Point, edges: tuple[float, float]) -> Iterator[tuple[float, float, str]]:
    """Every distance along the plate that a view tells: from where to where along it, mm, and the words."""
    left, right = edges
    for guard in layout.guards:
        yield from _room_in_guard(layout, guard, way)
    for belt in layout.belts:
        first, last = sorted(p.at[0] * way[0] + p.at[1] * way[1] for p in (belt.driver, belt.driven))
        if last - first > SAME_LENGTH:  # seen along the line of centres both shafts are at one place
            # what a slanted line of centres looks like is not how far the shafts are apart
            apart = math.dist(belt.driver.center, belt.driven.center)
            what = f"between the shafts of {belt.name}"
            yield first, last, _seen_as(layout, last - first, what, (apart,))
    yield from _planes(layout, way, edges)
    yield from _coupled(layout, way)
    box = layout.plane.box
    yield left, right, _seen_as(layout, right - left, "plate", (box.width, box.height))
    yield from _past_the_edges(layout, way, edges)


def _seen_as(layout: Layout, length: float, what: str, true: Sequence[float]) -> str:
    """A length (mm) in words, that tell when it is none of the true ones, which other pages give."""
    unit = layout.spec.unit
    said = show_length(length, unit)
    turned = "" if said in [show_length(one, unit) for one in true] else ", in this view"
    return f"{said} {what}{turned}"


def _planes(layout: Layout, way: Point, edges: tuple[float, float]) -> Iterator[tuple[float, float, str]]:
    """How far from the plate's nearer edge each belt runs, where its pulleys are seen edge on beside the plate."""
    for belt in layout.belts:
        n = belt.drawn.n
        sense = n[0] * way[0] + n[1] * way[1]
        if belt.drawn.lies and abs(sense) > math.cos(SAME_WAY):
            plane = (belt.driver.plane + belt.driven.plane) / 2 * math.copysign(1.0, sense)
            edge = min(edges, key=lambda one: (round(abs(one - plane), 6), one))
            if abs(edge - plane) > SAME_LENGTH:
                where = "inside" if edges[0] < plane < edges[1] else "past"
                words = f"{show_length(abs(edge - plane), layout.spec.unit)} {where} the edge, plane of {belt.name}"
                yield min(edge, plane), max(edge, plane), words


def planes_past_edges(layout: Layout) -> Iterator[str]:
    """How far from the plate's nearer edge each belt over shafts along the plate runs, in words; once for each."""
    low, high = layout.plate_z
    said: dict[str, None] = {}
    for way, _ in view_ways(layout):
        for _, _, words in _planes(layout, way, extent(Upright(layout.plane, low, high), way)):
            said[words] = None
    yield from said


def _coupled(layout: Layout, way: Point) -> Iterator[tuple[float, float, str]]:
    """The room between the shaft ends in each coupling, where they are seen square to their line."""
    for one in layout.couplings:
        first, last = sorted(end.end[0] * way[0] + end.end[1] * way[1] for end in one.shafts)
        if one.lies and last - first > SAME_LENGTH and abs(one.beside[0] * way[0] + one.beside[1] * way[1]) < 1:
            yield first, last, f"{show_length(last - first, layout.spec.unit)} between the shaft ends of {one.body}"


def _past_the_edges(layout: Layout, way: Point, edges: tuple[float, float]) -> Iterator[tuple[float, float, str]]:
    """What stands farthest past either end of the plate, over all travel, of all that the plate brings.

    A shaft is told by its own figures, and what was there before the plate by none.
    """
    original = {name for name, mount in layout.mounts.items() if mount.original}
    reach: list[tuple[float, float, str]] = []
    for body in layout.bodies:
        was_there = body.is_ground or (body.carrier in original and body.kind not in ("pulley", "belt"))
        if body.hardware or was_there or body.name.endswith((".shaft", ".key")):
            continue
        ends = [extent(solid, way) for solid in body.swept_solids]
        name = body.name.split(".")[0] if body.kind == "guard" else body.name
        reach.append((min(first for first, _ in ends), max(last for _, last in ends), name))
    if not reach:
        return
    first = min(reach, key=lambda one: (round(one[0], 6), one[2]))
    last = max(reach, key=lambda one: (round(one[1], 6), one[2]))
    for start, stop, name in ((first[0], edges[0], first[2]), (edges[1], last[1], last[2])):
        if stop - start > SAME_LENGTH:
            yield start, stop, f"{show_length(stop - start, layout.spec.unit)} past the edge: {name}"


def _guard_parts(layout: Layout, guard: Guard, way: Point) -> Iterator[SidePart]:
    """The guard from the side: its sheets as if they were of glass, and fine what holds them."""
    if guard.drawn.lies:
        yield from _standing_guard(layout, guard, way)
        return

    def edge_on(name: str, fine: bool, *shapes: tuple[Shape, tuple[float, float]]) -> SidePart:
        outlines = tuple(_seen(Upright(shape, *z), way) for shape, z in shapes)
        return SidePart(name, "screw" if fine else guard.side, outlines, ())

    inner, outer = guard.outline, outside_of(guard)
    yield edge_on(f"{guard.name}.band", False, (outer, guard.z), (inner, guard.z))
    own = [body for body in layout.bodies if body.kind == "guard" and body.name.startswith(f"{guard.name}.")]
    backs = [body for body in own if body.of_guard == "back"]
    if backs:
        yield edge_on(f"{guard.name}.back", False, (sheet_with_lugs(guard, guard.ears), backs[0].z))
    for body in own:
        if body.name == guard.cover_name:
            yield edge_on(body.name, False, (body.shape, body.z))
        elif body.of_guard != "back" and not body.name.startswith(f"{guard.name}.band "):
            yield edge_on(body.name, True, (body.shape, body.z))


def _standing_guard(layout: Layout, guard: Guard, way: Point) -> Iterator[SidePart]:
    """A guard over lying shafts: along these as it is cut, cover and back plate in the band; else edge on."""
    turn = way[0] * guard.drawn.u[0] + way[1] * guard.drawn.u[1]
    flat = abs(turn) > 1 - SAME_LENGTH

    bands: list[tuple[Point, ...]] = []
    for body in layout.bodies:
        if body.kind != "guard" or not body.name.startswith(f"{guard.name}."):
            continue
        sheet: Sequence[Shape] = ()
        if body.name == guard.cover_name:
            sheet = [sheet_with_lugs(guard, guard.cover_holes), *guard.vents]
        elif body.of_guard == "back":
            sheet = [sheet_with_lugs(guard, guard.ears), *guard.shafts]
        seen = (
            [_flat(one, turn > 0) for one in sheet] if flat and sheet else [_seen(solid, way) for solid in body.solids]
        )
        if sheet and not flat:  # all its pieces lie between the same two lines
            seen = [_edge_of(seen)]
        if body.name.startswith(f"{guard.name}.band "):
            bands += seen
        else:
            kind: Kind = guard.side if sheet else "screw"
            yield SidePart(body.name.removesuffix(" 1") if sheet else body.name, kind, tuple(seen), ())
    yield SidePart(f"{guard.name}.band", guard.side, tuple(bands), ())


@lru_cache(maxsize=256)
def _flat(shape: Shape, to_right: bool) -> tuple[Point, ...]:
    """A sheet's outline as one looks along the shafts, or against them."""
    spots: list[Point] = []
    for edge in shape.loop().edges:
        looks = ARC_LOOKS if isinstance(edge, Arc) else 1
        spots += [edge.at(k / looks) for k in range(looks)]
    return tuple((x if to_right else -x, y) for x, y in spots)


def _edge_of(outlines: Sequence[Sequence[Point]]) -> tuple[Point, ...]:
    box = _box([p for one in outlines for p in one])
    return ((box.x0, box.y0), (box.x1, box.y0), (box.x1, box.y1), (box.x0, box.y1))


def _room_in_guard(layout: Layout, guard: Guard, way: Point) -> Iterator[tuple[float, float, str]]:
    """What is left along a view from the band's hollow side to what turns, at both ends of that, over all travel."""
    if guard.drawn.lies and abs(way[0] * guard.drawn.u[0] + way[1] * guard.drawn.u[1]) < 1 - SAME_LENGTH:
        return  # along the shafts it is told as what is left to back plate and cover
    turning = [extent(Upright(body.swept, *body.z), way) for body in dangers(layout, guard)]
    if guard.drawn.lies:
        box, sign = guard.outline.box, way[0] * guard.drawn.u[0] + way[1] * guard.drawn.u[1]
        left, right = sorted((sign * box.x0, sign * box.x1))
        first, last = min(start for start, _ in turning), max(stop for _, stop in turning)
        for start, stop in ((left, first), (last, right)):
            yield start, stop, f"{show_length(stop - start, layout.spec.unit)} in the {guard.name}"
        return
    left, right = extent(Upright(guard.outline, *guard.z), way)
    first, last = min(start for start, _ in turning), max(stop for _, stop in turning)
    for start, stop in ((left, first), (last, right)):
        yield start, stop, f"{show_length(stop - start, layout.spec.unit)} in the {guard.name}"


def view_ways(layout: Layout) -> Iterator[tuple[Point, str]]:
    """The level directions that run to the right in a view, and what each view is called.

    A belt is understood where its pulleys are seen edge on and both shafts side by side: square to its line of centres.
    Where the shafts lie along the plate, the loop itself is seen from the side, along them.
    """
    lying = next(((belt.drawn, belt.name) for belt in layout.belts if belt.drawn.lies), None)
    if lying is None:
        coupled = next((one for one in layout.couplings if one.lies), None)
        if coupled is not None:
            dx, dy, _ = coupled.driving.direction
            lying = (lying_plane(math.atan2(dy, dx)), coupled.body)
    if lying is not None:
        plane, name = lying
        (ux, uy, _), (nx, ny, _) = plane.u, plane.n
        yield (ux, uy), f"From the side, along the shafts of {name}"
        # of two opposite directions always the one that runs to the right, or up where it runs neither way
        to_right = (nx, ny) if (nx, ny) > (0.0, 0.0) else (0.0 - nx, 0.0 - ny)
        yield to_right, f"From the side, square to the shafts of {name}"
        return
    seen: list[float] = []
    for belt in layout.belts:
        turn = belt.line % math.pi
        if all(min(abs(turn - other), math.pi - abs(turn - other)) > SAME_WAY for other in seen):
            seen.append(turn)
            x, y = math.cos(turn), math.sin(turn)
            x, y = (-x, -y) if x < -SAME_LENGTH else (x, y)
            yield (x, y), f"From the side, square to the line of centres of {belt.name}"
    if not layout.belts:
        yield (1.0, 0.0), "From below"
        yield (0.0, 1.0), "From the right"
        return
    if layout.flange is not None:
        x, y = layout.flange.out
        turn = math.atan2(y, x) % math.pi
        if all(min(abs(turn - other), math.pi - abs(turn - other)) > SAME_WAY for other in seen):
            yield ((x, y) if (x, y) > (0.0, 0.0) else (0.0 - x, 0.0 - y)), "From the side, along the bend of its flange"


@lru_cache(maxsize=4096)  # most of a plate that is dragged about stands still
def _seen(solid: Solid, way: Point, looks: int = LOOKS) -> tuple[Point, ...]:
    """A solid's outline from the side."""
    if isinstance(solid, Upright):
        left, right = extent(Upright(solid.shape, solid.low, solid.high), way)
        a, b = solid.flare_low, solid.flare_high
        return ((left - a, solid.low), (right + a, solid.low), (right + b, solid.high), (left - b, solid.high))
    if not solid.convex:
        left, right = extent(solid, way)
        return ((left, solid.low), (right, solid.low), (right, solid.high), (left, solid.high))
    # The outline of a convex solid from the side is made of the points that are farthest in each direction of the view.
    # One whose axis runs along the view, or straight at the eye where it is flat, is a rectangle: four do for it.
    axis = (solid.b[0] - solid.a[0], solid.b[1] - solid.a[1]) if isinstance(solid, Lying) else solid.n
    across = axis[0] * way[1] - axis[1] * way[0]
    flat = abs(across) <= SQUARE * math.hypot(*axis) and not (isinstance(solid, Lying) and solid.travel is not None)
    found: list[Point] = []
    if isinstance(solid, StandingPrism) and not solid.shape.arcs and abs(across) >= 1.0 - SQUARE:
        # straight-sided and seen along its own axis: what shows are its corners, counter-clockwise from the right
        turn = math.copysign(1.0, solid.u[0] * way[0] + solid.u[1] * way[1])
        corners = [(turn * x, z) for x, z, _ in solid.shape.vertices][:: int(turn)]
        (x, z) = _ways(looks)[0]
        first = max(range(len(corners)), key=lambda k: corners[k][0] * x + corners[k][1] * z)
        return tuple(corners[first:] + corners[:first])
    for x, z in _ways(4 if flat else looks):
        p = solid.support((x * way[0], x * way[1], z))
        spot = (p[0] * way[0] + p[1] * way[1], p[2])
        if not found or math.dist(found[-1], spot) > SAME_LENGTH:
            found.append(spot)
    return tuple(found)


@lru_cache(maxsize=8)
def _ways(looks: int) -> tuple[Point, ...]:
    """So many directions all round, none quite square to a face, where a whole edge is farthest."""
    angles = [(k + 0.5) * math.tau / looks for k in range(looks)]
    return tuple((math.cos(angle), math.sin(angle)) for angle in angles)


def _named(parts: Sequence[SidePart]) -> Iterator[tuple[Point, str]]:
    """What is named, and where: at the right end of the part.

    The strands of a belt have one name together, and screws none: there are too many, and the hole table has them.
    """
    worth = [
        (part.box, part) for part in parts if part.kind != "screw" and not part.name.endswith((".belt 2", ".belt 3"))
    ]
    # the largest are what one looks for; of equals the name decides, so that the same are named everywhere
    worth.sort(key=lambda one: (-round(one[0].width * one[0].height, 6), one[1].name))
    for box, part in sorted(worth[:MOST_NAMED], key=lambda one: (-round(one[0].center[1], 6), one[1].name)):
        name = part.name.removesuffix(" 1") if part.kind == "belt" else part.name
        yield (box.x1, box.center[1]), name


def name_heights(view: SideView, at: Callable[[Point], Point], step: float, room: tuple[float, float]) -> list[float]:
    """Where on the sheet the names beside a view stand, in their order: level with what they name, `step` apart.

    `room` is from where to where they may stand, the lower figure first. Where they are too many they stand as close as
    the room asks for.
    """
    spots = [at(spot)[1] for spot, _ in view.named]
    order = sorted(range(len(spots)), key=lambda index: (spots[index], index))
    wanted, (low, high) = [spots[index] for index in order], room
    gap = min(step, (high - low) / max(len(wanted) - 1, 1))
    found = dict(zip(order, spread_out(wanted, gap, low, high) or wanted, strict=True))
    return [found[index] for index in range(len(spots))]


def leaders(
    view: SideView, at: Callable[[Point], Point], step: float, room: tuple[float, float], beside: float
) -> list[tuple[Point, float]]:
    """For each name beside a view: where on the sheet its leader begins, and how high it ends, at `beside`.

    `step` and `room` are those of `name_heights`. No two leaders cross: where they would, the two names change places,
    which makes both shorter together, so that this comes to an end. Then each begins as level with its name as its part
    allows.
    """
    begins = [at(spot) for spot, _ in view.named]
    heights = name_heights(view, at, step, room)

    def cross(i: int, j: int, starts: Sequence[Point]) -> bool:
        return _cross(starts[i], (beside, heights[i]), starts[j], (beside, heights[j]))

    pairs = [(i, j) for i in range(len(begins)) for j in range(i)]
    found = True
    while found:
        found = False
        for i, j in pairs:
            if cross(i, j, begins):
                heights[i], heights[j] = heights[j], heights[i]
                found = True
    parts = {part.name: part for part in view.parts}
    for index, (_, name) in enumerate(view.named):
        part = parts.get(name) or parts.get(f"{name} 1")
        if part is None:
            continue
        edges = [
            (at(p), at(q)) for line in part.outlines for p, q in zip(line, (*line[1:], line[0]), strict=True) if p != q
        ]
        ends = min(p[1] for p, _ in edges), max(p[1] for p, _ in edges)
        inset = (ends[1] - ends[0]) * FROM_CORNER
        level = min(max(heights[index], ends[0] + inset), ends[1] - inset)
        # on the part's own edge at that height, the one nearest to the names
        reach = [
            p[0] + (q[0] - p[0]) * (level - p[1]) / (q[1] - p[1])
            for p, q in edges
            if p[1] != q[1] and min(p[1], q[1]) <= level <= max(p[1], q[1])
        ]
        moved = [*begins[:index], (max(reach, default=begins[index][0]), level), *begins[index + 1 :]]
        if not any(cross(index, other, moved) for other in range(len(begins)) if other != index):
            begins = moved
    return list(zip(begins, heights, strict=True))


class SideNames(Struct, frozen=True):
    """Where the names of a view are written: within their part, by their middle, or beside the view with a leader."""

    within: tuple[tuple[Point, str], ...]
    beside: tuple[tuple[Point, float, str], ...]


def side_names(
    view: SideView,
    at: Callable[[Point], Point],
    step: float,
    room: tuple[float, float],
    beside: float,
    measure: Measure,
    high: float,
) -> SideNames:
    """Names within their part where it has room for words that no line touches, and all others beside the view.

    A name in the part needs no leader through the others. `measure` gives the width of a name and `high` is its height,
    on the sheet; `step`, `room` and `beside` are those of `leaders`.
    """
    outside: set[int] = set()
    while True:
        # whoever finds no room within gets a leader, which may take another one's room: so again, until none is left
        rest = tuple(one for index, one in enumerate(view.named) if index in outside)
        lines = leaders(replace(view, named=rest), at, step, room, beside)
        led = [(spot, (beside, last)) for spot, last in lines]
        within: list[tuple[Point, str]] = []
        taken: list[Box] = []
        without = set(outside)
        for index, (_, name) in enumerate(view.named):
            if index in outside:
                continue
            size = (measure(name) + 2 * NAME_AIR * high, (1 + 2 * NAME_AIR) * high)
            spot = _spot_within(view, name, at, size, led, taken)
            if spot is None:
                without.add(index)
                continue
            within.append((spot, name))
            taken.append(_about(spot, size))
        if without == outside:
            beside_it = tuple((spot, last, name) for (spot, last), (_, name) in zip(lines, rest, strict=True))
            return SideNames(tuple(within), beside_it)
        outside = without


def _spot_within(
    view: SideView,
    name: str,
    at: Callable[[Point], Point],
    size: tuple[float, float],
    led: Sequence[tuple[Point, Point]],
    taken: Sequence[Box],
) -> Point | None:
    """The middle of words of a size, on the sheet, where they stand in their part alone and on no line; else None."""
    parts = {part.name: part for part in view.parts}
    part = parts.get(name) or parts.get(f"{name} 1")
    if part is None or len(part.outlines) != 1 or part.kind == "belt":
        return None
    shape = [at(p) for p in part.outlines[0]]
    box = _box(shape)
    if box.width < size[0] or box.height < size[1]:
        return None
    lines = [*led]
    for other in view.parts:
        for outline in (*other.outlines, *other.moved):
            corners = [at(p) for p in outline]
            lines += zip(corners, (*corners[1:], corners[0]), strict=True)
    plate = _box([at((view.plate.x0, view.plate.y0)), at((view.plate.x1, view.plate.y1))])
    around = [_box([at(p) for p in outline]) for other in view.parts for outline in other.outlines if other is not part]
    x, y = box.center
    free = (box.width - size[0]) / 2, (box.height - size[1]) / 2
    # from the middle outwards, first along the part
    for up in PLACES_WITHIN:
        for along in PLACES_WITHIN:
            spot = (x + along * free[0], y + up * free[1])
            words = _about(spot, size)
            corners = [(words.x0, words.y0), (words.x1, words.y0), (words.x1, words.y1), (words.x0, words.y1)]
            if not all(_inside(corner, shape) for corner in corners) or plate.overlaps(words):
                continue
            # words within a smaller part would name that one
            if any(one.width * one.height < box.width * box.height and one.overlaps(words) for one in around):
                continue
            if any(words.overlaps(other) for other in taken) or any(_meets(words, a, b) for a, b in lines):
                continue
            return spot
    return None


NAME_AIR: Final = 0.4
"""White round a name within its part, in heights of its letters (ours)."""
PLACES_WITHIN: Final = (0.0, 0.3, -0.3, 0.6, -0.6, 0.9, -0.9)
"""Where in its part a name is tried, from the middle (0) to its ends (1 and -1), in this order (ours)."""


def _about(spot: Point, size: tuple[float, float]) -> Box:
    return Box(spot[0] - size[0] / 2, spot[1] - size[1] / 2, spot[0] + size[0] / 2, spot[1] + size[1] / 2)


def _inside(p: Point, corners: Sequence[Point]) -> bool:
    """Whether a point lies within a closed outline: a level ray from it leaves that an odd number of times."""
    crossed = [
        a[0] + (b[0] - a[0]) * (p[1] - a[1]) / (b[1] - a[1]) > p[0]
        for a, b in zip(corners, (*corners[1:], corners[0]), strict=True)
        if (a[1] > p[1]) != (b[1] > p[1])
    ]
    return sum(crossed) % 2 == 1


def _meets(box: Box, a: Point, b: Point) -> bool:
    """Whether a straight line from a to b comes into a box."""
    if max(a[0], b[0]) <= box.x0 or min(a[0], b[0]) >= box.x1 or max(a[1], b[1]) <= box.y0 or min(a[1], b[1]) >= box.y1:
        return False
    sides = [
        (b[0] - a[0]) * (y - a[1]) - (b[1] - a[1]) * (x - a[0]) for x in (box.x0, box.x1) for y in (box.y0, box.y1)
    ]
    return min(sides) < 0 < max(sides)


FROM_CORNER: Final = 0.15
"""A leader begins at least this share of its part's height from a corner of it (ours): a corner may be another's."""


def _cross(a: Point, b: Point, c: Point, d: Point) -> bool:
    """Whether two straight lines from a to b and from c to d cross between their ends."""

    def turn(p: Point, q: Point, r: Point) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    one, other = turn(a, b, c) * turn(a, b, d), turn(c, d, a) * turn(c, d, b)
    return one < -TOUCH and other < -TOUCH


TOUCH: Final = 1e-6
"""Leaders that only touch do not cross (ours): those of two parts may begin in one point."""


# --------------------------------------------------------------------------------------- dimensions


def _heights(layout: Layout) -> Iterator[SideMeasure]:
    """The thickness; packing; of each pulley where its plane or its axis is; the room below what runs over the face."""
    unit, (low, high) = layout.spec.unit, layout.plate_z

    def measured(start: float, stop: float, what: str) -> SideMeasure:
        size = show_length(abs(stop - start), unit)
        return SideMeasure(min(start, stop), max(start, stop), f"{size} {what}")

    yield measured(low, high, "plate")
    for mount in layout.mounts.values():
        face, way = (high, 1) if mount.side == "near" else (low, -1)
        if mount.layer is not None:
            yield measured(face, face + way * mount.layer.thickness, f"layer {mount.name}")
        if mount.spacing > SAME_LENGTH:
            foot = face + way * mount.lift
            made = "spacers" if mount.stack is not None and mount.stack.spacer is not None else "packing"
            yield measured(foot, face + way * mount.standoff, f"{made} of {mount.name}")
    for belt in layout.belts:
        for pulley in belt.pulleys:
            height = pulley.center[1] if pulley.drawn.lies else pulley.plane
            face = high if height >= (low + high) / 2 else low
            yield measured(face, height, f"to the {'axis' if pulley.drawn.lies else 'middle'} of {pulley.name}")
        # The room below the lowest of what runs over the face, on either side: what a hand, or a grease gun, has there
        running = [
            body for body in layout.bodies if body.name.startswith(f"{belt.name}.") and body.kind in ("pulley", "belt")
        ]
        over = [body for body in running if body.swept.box.gap(layout.plane.box) <= 0]
        near = [body for body in over if body.z[0] >= high]
        far = [body for body in over if body.z[1] <= low]
        if near:
            body = min(near, key=lambda one: (round(one.z[0], 6), one.name))
            yield measured(high, body.z[0], f"room below {body.name}")
        if far:
            body = max(far, key=lambda one: (round(one.z[1], 6), one.name))
            yield measured(low, body.z[1], f"room below {body.name}")
        if belt.drawn.lies:
            hangs = min(running, key=lambda one: (round(one.z[0], 6), one.name))
            if hangs.z[0] < low - SAME_LENGTH:
                yield measured(low, hangs.z[0], f"below the plate: {hangs.name}")
            below = list(_below(layout, belt, running))
            if below:
                gap, top, body, other = min(below, key=lambda one: (round(one[0], 6), one[2].name, one[3].name))
                yield measured(top, top + gap, f"room from {other.name} up to {body.name}")
    for one in layout.couplings:
        for shaft in one.shafts if one.lies else ():
            face = high if shaft.end[2] >= (low + high) / 2 else low
            yield measured(face, shaft.end[2], f"to the axis of {shaft.said}")
    yield from _proud(layout, measured)
    for guard in layout.guards:
        for start, stop, what in () if guard.drawn.lies else _in_guard(guard, dangers(layout, guard)):
            yield measured(start, stop, what)


def _below(layout: Layout, belt: PlacedBelt, running: Sequence[Body]) -> Iterator[tuple[float, float, Body, Body]]:
    """What lies below a belt and its pulleys, seen along the normal: how far, its top, the running part, and itself."""
    mounts = {pulley.mount for pulley in belt.pulleys}
    for body in running:
        for other in layout.bodies:
            if other.z[1] > body.z[0] or other.swept.box.gap(body.swept.box) > 0:
                continue
            own = other.belt == belt.name or other.hardware or (other.carrier in mounts and other.kind == "standard")
            if not own:
                yield body.z[0] - other.z[1], other.z[1], body, other


def _proud(layout: Layout, measured: Callable[[float, float, str], SideMeasure]) -> Iterator[SideMeasure]:
    """What stands highest over the near face."""
    _, high = layout.plate_z
    standing = [body for body in layout.bodies if not body.hardware and body.z[1] > high + SAME_LENGTH]
    if standing:
        top = max(standing, key=lambda one: (round(one.z[1], 6), one.name))
        yield measured(high, top.z[1], f"to the top of {top.name}")


def _in_guard(guard: Guard, running: Sequence[Body]) -> Iterator[tuple[float, float, str]]:
    """What is left along the shafts from what turns to the cover, and to the back plate where there is one."""
    low, high = min(body.z[0] for body in running), max(body.z[1] for body in running)
    near = guard.side == "near"
    yield (
        (high, guard.z[1], f"from what turns to {guard.cover_name}")
        if near
        else (guard.z[0], low, f"from what turns to {guard.cover_name}")
    )
    if guard.back:
        yield (
            (guard.z[0], low, f"from {guard.name}.back to what turns")
            if near
            else (high, guard.z[1], f"from {guard.name}.back to what turns")
        )


def _box(points: list[Point]) -> Box:
    xs, ys = zip(*points, strict=True)
    return Box(min(xs), min(ys), max(xs), max(ys))


def side_dimensions(
    style: Style,
    view: SideView,
    at: Callable[[Point], Point],
    left: float,
    lane: float,
    right: float = math.inf,
    below: float | None = None,
) -> tuple[tuple[Mark, ...], float]:
    """The heights at the left of a view and the distances below it, drawn after ISO 129-1; and how far down they reach.

    `left` is where the drawing begins on the sheet, `lane` the distance of two dimension lines, and no figure reaches
    beyond `right` where there is room at its other end; the distances begin past `below`, where the names end.

    A height carries only its number: its words stand below the view, as upright ones would need more room than most
    heights have.
    """
    marks: list[Mark] = []
    count = len(view.heights)
    # The extension lines of what is told farther out run past what is told nearer. Where such a line would strike
    # through a number, the lanes are shared out from the innermost on as the rows below the view are.
    tall = []
    first = min(at((0.0, y))[1] for y in (view.box.y0, view.box.y1))
    for index, measure in enumerate(view.heights):
        low, high = sorted((at((0.0, measure.low))[1], at((0.0, measure.high))[1]))
        tall.append((low, high, str(index + 1)))
    if any(_number_struck(style, row, tall[:k], first)[0] for k, row in enumerate(tall)):
        inward, rest = [], list(tall)
        while rest:
            inward.append(min(rest, key=lambda one: (_number_struck(style, one, rest, first)[0], -int(one[2]))))
            rest.remove(inward[-1])
        tall = inward[::-1]
    for index, (low, high, words) in enumerate(tall):
        _, limit = _number_struck(style, tall[index], tall[:index], first)
        place = left - lane * (count - index)
        marks += linear(style, low, high, place, words, "upright", (left, left), limit).marks
    down = lane if style.down else -lane
    foot = at((0.0, view.box.y0))[1]
    line = (foot if below is None else max(foot, below) if style.down else min(foot, below)) + down
    # Extension lines of a row run through all rows above it. So of those that are left the next is always the one
    # whose words fewest of the others' lines strike through, of equals the shortest: it lies within the others.
    left_over = [(at((a, 0.0))[0], at((b, 0.0))[0], words) for a, b, words in view.along]
    while left_over:
        ladder = (left - lane * count, right)
        tried = [(*_struck(style, row, left_over, ladder), row) for row in left_over]
        _, limit, row = min(tried, key=lambda one: (one[0], round(one[2][1] - one[2][0], 6), one[2]))
        left_over.remove(row)
        marks += linear(style, row[0], row[1], line, row[2], "level", (foot, foot), limit).marks
        line += 1.5 * down
    return tuple(marks), line


def _number_struck(
    style: Style, row: tuple[float, float, str], rows: Sequence[tuple[float, float, str]], first: float
) -> tuple[int, float]:
    """How many lines of `rows` strike through the number of an upright one, and the limit that puts it where fewest do.

    The number stands between the arrows, or past them where there is no room, as `linear` sets it; before them only
    from `first` on, where the view begins, as the view's title or the rows of its lengths stand next to that.
    """
    low, high, words = row
    wide, beside = style.measure(words), BESIDE * style.unit
    lines = [x for other in rows if other is not row for x in other[:2]]
    if high - low >= wide + beside:
        middle = (low + high) / 2
        return sum(abs(x - middle) < (wide + beside) / 2 for x in lines), math.inf
    aside = beside + (0.0 if high - low >= (2 * HEAD + 0.5) * style.unit else 2 * HEAD * style.unit)
    after = sum(high + aside - beside / 2 < x < high + aside + wide + beside / 2 for x in lines)
    before = sum(low - aside - wide - beside / 2 < x < low - aside + beside / 2 for x in lines)
    return (after, math.inf) if after <= before or low - aside - wide < first else (before, high)


def _struck(
    style: Style,
    row: tuple[float, float, str],
    rows: Sequence[tuple[float, float, str]],
    room: tuple[float, float],
) -> tuple[int, float]:
    """How many lines of other rows strike through the words of one, and the limit that puts these where fewest do."""
    low, high, words = row
    lines = [x for other in rows if other is not row for x in other[:2]]
    wide = style.measure(words) + 4.0 * style.unit
    if high - low >= wide:
        middle = (low + high) / 2
        return sum(middle - wide / 2 < x < middle + wide / 2 for x in lines), room[1]
    reach = wide + (0.0 if high - low >= 8.0 * style.unit else 8.0 * style.unit)
    after, before = sum(high < x < high + reach for x in lines), sum(low - reach < x < low for x in lines)
    if high + reach > room[1]:  # there it would not fit: `linear` puts it before
        return before, room[1]
    if low - reach < room[0] or after <= before:
        return after, room[1]
    return before, high

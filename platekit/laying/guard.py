"""The guard in the layout: an outline at its gap round all that belt and pulleys sweep, a band, a back and a cover.

Vocabulary
    flat     a straight stretch of the band, between two bends
    tab      an ear of the band, folded outward square: those at the back take the screws that hold the guard (they
             are its ears), those in front take the cover's
    box      all of the guard but its cover: it is on when the belt is put on, tensioned and checked
    cover    comes off by itself, with its own screws
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import lru_cache

from msgspec import Struct
from msgspec.structs import replace

from platekit import tables
from platekit.errors import SpecError
from platekit.geometry import (
    Arc,
    Disc,
    Edge,
    Line,
    Loop,
    Point,
    Shape,
    Slot,
    difference,
    disc_loop,
    distance,
    edge_distance,
    edge_gap,
    hull,
    polygon_loop,
    rectangle,
    sweep,
    union_loops,
)
from platekit.laying.bends import K_SOURCE, bend_length, k_factor
from platekit.laying.guard_plane import Interval, cut_off_at, down_to, feet_of, floor_edge, in_plane
from platekit.laying.limits import limits_of
from platekit.laying.shafts import on_the_axis, on_their_axes
from platekit.laying.tools import socket_outer
from platekit.placed import SAME_LENGTH, Body, Foot, Guard, Layout, Opening, PlacedBelt, PlacedMount, PlacedPulley, Side
from platekit.spec import Spec
from platekit.spec.guard_words import GuardWords
from platekit.tables.guards import safety_distance
from platekit.tables.shop import shop_figure

SHAFT_ROOM = shop_figure("room round a shaft in a guard")
"""Room round a shaft in the guard's back plate, all round, mm (`shop_figures.csv`)."""
SOCKET_ROOM = 1.0
"""Room round a socket in an opening of the back plate, all round, mm (ours: twice what a tool must have)."""
TABS = 4
"""Tabs of a guard at the back, and at the cover, whose spec does not say how many (ours)."""
METRIC_SCREWS = ("M16", "M12", "M10", "M8", "M6", "M5", "M4", "M3")
INCH_SCREWS = ("5/8-11", "1/2-13", "3/8-16", "5/16-18", "1/4-20", "10-24", "8-32")
"""Screws that a tab's hole may be for, the largest first (ours)."""
MOST_BEND = math.pi / 4
"""Most that one bend of the band turns it, rad (ours: eight go round, and their corners stand out by little)."""
LEAST_BEND = math.radians(10)
"""Two flats whose directions differ by less are one, rad (ours: a bend of less comes out by chance)."""
LONG_FLAT = 30.0
"""A straight stretch of the outline this long is a flat of the band, mm (ours: a tab and a little)."""
LAP = 25.0
"""How far the band's ends overlap where they are joined, mm (common practice: two rivets with two diameters round)."""
BETWEEN_TABS = 1.3
"""Least distance between the holes of two tabs, in tabs' widths (ours: a socket passes the tab over its neighbour)."""
STEP = 2.0
"""Steps along the flats in which places for tabs are looked for, mm (ours)."""
LUG_ROOT = 3.0
"""Least radius of the inside corners where a lug leaves its sheet, mm (ours: few cuts of sheet need more)."""
SHEET_MARGIN = 10.0
"""What is left along the edge of a sheet of stock, mm (common practice)."""
THREADS_OUT = 2.0
"""Pitches of a screw that show past its nut (common practice)."""
VENTS = 12
"""Openings of a cover whose spec does not say how many, if so many find room (ours)."""
SLOT_IN_WIDTHS = 10.0
"""Length of a slot in the cover whose spec does not say it, in widths (ours)."""
VENT_WEB = 4.0
"""Steel between two openings of the cover, and from these to the band, at least, in thicknesses (ours: twice what
cutting asks of sheet, so that what is left does not rattle)."""
NAMES = ("guard", "second guard")
"""What the guards of one plate are called; the keys of the spec have an underscore for the space."""


def guards_of(
    spec: Spec, belts: tuple[PlacedBelt, ...], bodies: tuple[Body, ...], mounts: Mapping[str, PlacedMount]
) -> tuple[Guard, ...]:
    """The guards that the spec describes, each over a belt of its own; all lengths in mm.

    Raises `SpecError` for a guard without a belt, a belt under two guards, or a band too narrow to reach past the
    pulleys.
    """
    one, other = spec.model.guard, spec.model.second_guard
    if one is not None and other is not None and one.belt in ("both", other.belt):
        wanted = "give it the other belt" if one.belt != "both" else "leave one of them out"
        said = f"a second guard over the belt {other.belt!r}, which `guard` covers"
        raise SpecError((spec.problem("second_guard", said, wanted),))
    described = [(name, words) for name, words in zip(NAMES, (one, other), strict=True) if words is not None]
    found = [_guard_of(spec, each, belts, bodies, mounts, None) for each in described]
    back_to_back = len({guard.side for guard in found if guard.on == "plate" and not guard.drawn.lies}) == 2
    if back_to_back:  # the screws of each come out where the other one may stand
        first, second = found
        offs = [_behind(spec, second, first), _behind(spec, first, second)]
        found = [_guard_of(spec, each, belts, bodies, mounts, off) for each, off in zip(described, offs, strict=True)]
    return tuple(found)


def _behind(spec: Spec, there: Guard, own: Guard) -> Loop:
    """Where no hole of a guard's `own` ears goes: in the other one, its ears and the room for a nut beside them, mm."""
    grown = outside_of(there).grown(there.ear + own.ear_hole + limits_of(spec).gap.value)
    assert isinstance(grown, Loop)
    return grown


def _guard_of(
    spec: Spec,
    described: tuple[str, GuardWords],
    belts: tuple[PlacedBelt, ...],
    bodies: tuple[Body, ...],
    mounts: Mapping[str, PlacedMount],
    ears_off: Loop | None,
) -> Guard:
    name, words = described
    key = name.replace(" ", "_")
    covered = _belts_under(spec, words, belts, key)
    belt, names = covered[0], tuple(belt.name for belt in covered)
    pulleys = [pulley for belt in covered for pulley in belt.pulleys]
    if words.split and words.back == "none":
        wanted = "leave `split` out: without a back plate nothing is parted"
        raise SpecError((spec.problem(f"{key}.split", "a split back plate with back: none", wanted),))
    plane = belt.drawn
    inside = [(body, *in_plane(plane, body)) for body in bodies if body.belt in names]
    radius = words.thickness if words.bend_radius == "auto" else words.bend_radius
    open_up = words.openings if words.openings is not None and words.openings.count != 0 else None
    # behind a plain cover a shaft only must not touch it; behind openings its end is as dangerous as the rest
    keep = limits_of(spec).gap.value
    past = keep if open_up is None else words.gap
    axial = on_their_axes(bodies, pulleys)
    ends = [in_plane(plane, body)[1] for body, on in zip(bodies, axial, strict=True) if on]
    thickness, floor = spec.model.plate.thickness, None
    grown = [shape.grown(words.gap) for _, shape, _ in inside]
    side: Side
    if plane.lies:
        _lying_ones_only(spec, words, covered, key)
        side, outward = belt.driver.turns_on, out_along(belt.driver)
        up, face = (1.0, 0.0) if side == "near" else (-1.0, -thickness)
        if words.on == "plate":
            floor = face + up * words.back_from_plate
            if min(up * (y - floor) for _, shape, _ in inside for y in (shape.box.y0, shape.box.y1)) <= 0.0:
                wanted = "fix it to the machine (on: machine), where its band goes all round the belt"
                found = "a guard on the plate over a belt that runs past or through the plate"
                raise SpecError((spec.problem(key, found, wanted),))
            grown = [down_to(grown, floor, up)]
        # Behind the pulleys and the belt, but in front of their hubs, which pass through it with the shafts; so far off
        # that no finger gets at a rim through the room round a shaft.
        rims = [span for body, _, span in inside if not body.name.endswith(".hub")]
        off = max(keep, safety_distance("slot", SHAFT_ROOM).distance)
        back = outward * (min(outward * z for span in rims for z in span) - off)
    else:
        side = "near" if belt.driver.plane > 0 else "far"
        outward = up = 1.0 if side == "near" else -1.0
        face = 0.0 if side == "near" else -thickness
        back = face + up * (words.back_from_plate + (words.thickness if words.back == "sheet" else 0.0))
    outline = _outline(tuple(grown), words.gap, words.band_made, radius)
    if floor is not None:
        outline = cut_off_at(outline, floor, up)
    front = back + outward * _width(spec, (key, words), [span for _, _, span in inside], (ends, past), (back, outward))
    sheet = (back - words.thickness, back) if outward > 0 else (back, back + words.thickness)
    sheet_words = spec.model.plate.model_copy(update={"thickness": words.thickness, "material": words.material})
    held = limits_of(replace(spec, model=spec.model.model_copy(update={"plate": sheet_words})))
    # Beside each tab the edge is notched, so that the sheet tears nowhere where it is folded; no narrower than the
    # process can cut an inside radius on both flanks.
    notch = max(words.thickness, 2 * held.inside_radius.value, 2 * held.kerf.value)
    shafts, sockets = (
        _open_in_back(covered, bodies, mounts, outline, side, sheet) if words.back == "sheet" else ([], [])
    )
    around = walls(outline, floor)
    seam: tuple[Point, Point] | None = None
    if words.split:
        # Along the line of centres: halves that part there come in square to it, past both shafts over all of their
        # travel.
        (ax, ay), (bx, by) = belt.driven.center, belt.driver.center
        far = math.hypot(bx - ax, by - ay)
        seam = ((ax, ay), ((bx - ax) / far, (by - ay) / far))
    joints: tuple[Point, ...] = ()
    if words.band_made != "segments":
        ends_there = (words.fixings.ear / 2 + 2 * words.thickness + LAP / 2, LAP + 2 * radius)
        given, sheet_there = tuple(words.fixings.at or ()), spec.model.cutting.sheet
        longest = math.inf if sheet_there is None else max(sheet_there) - 2 * SHEET_MARGIN
        joints = _joints(around, words.band_pieces, longest, ends_there, given, floor)
    # Joints come before tabs, since the stock decides where they are; the back's tabs come before the cover's, which
    # can go anywhere that these have left.
    tabs = (len(words.fixings.at or ()) or words.fixings.count or TABS, words.cover.count or TABS)
    beside = max(2 * words.thickness, notch)
    ears: Sequence[Point] = ()
    feet: list[Foot] = []
    if floor is None:
        places = _Tabs(outline, around, words.fixings.ear, beside, words.thickness, joints, seam, ears_off)
        ears = words.fixings.at or _spread(places, tabs[0], 0.5, ())
    else:
        feet = feet_of(
            plane,
            outline,
            floor,
            (back, front, outward),
            (
                words.fixings.ear,
                tab_reach(words.fixings.ear, words.thickness),
                beside,
                least_between(words.fixings.ear, beside),
            ),
            tabs[0],
        )
    covers = _spread(
        _Tabs(outline, around, words.fixings.ear, beside, words.thickness, joints, None), tabs[1], 0.0, tuple(ears)
    )
    ear_screw, cover_screw = ThroughBolt.of(spec, words.fixings.hole), ThroughBolt.of(spec, words.cover.hole)
    # A tab is folded onto the back plate: its screw clamps both sheets, without a back plate the tab alone.
    sheets = words.thickness * (2 if words.back == "sheet" and floor is None else 1)
    grip = thickness + words.back_from_plate + sheets
    factor = words.k_factor or k_factor(radius, words.thickness)
    # The band flat, once round without its lap: its flats, and each curve along its neutral fibre. A rolled curve is
    # so much wider than its sheet is thick that the factor of the bends would be wrong for it, unless it was given.
    flat_length = math.fsum(edge.length for edge in around if isinstance(edge, Line))
    for edge in around:
        if isinstance(edge, Arc):
            own = words.band_made == "bent" or words.k_factor
            curve = factor if own else k_factor(edge.radius, words.thickness)
            flat_length += bend_length(abs(edge.sweep), edge.radius, words.thickness, curve)
    vents: tuple[Shape, ...] = ()
    if open_up is not None:
        room = (max(VENT_WEB * words.thickness, open_up.width, held.web.value), held.inside_radius.value)
        vents = _vents(open_up.shape, open_up.width, open_up.length, open_up.count or VENTS, outline, room)
    return Guard(
        belts=names,
        side=side,
        on=words.on,
        back=words.back == "sheet",
        off_plate=words.back_from_plate,
        outline=outline,
        made=words.band_made,
        bend_radius=radius,
        k_factor=factor,
        k_source="the spec (k_factor)" if words.k_factor else K_SOURCE,
        gap=words.gap,
        thickness=words.thickness,
        material=tables.material(words.material),
        band_length=flat_length,
        band_width=abs(front - back),
        z=(min(back, front), max(back, front)),
        shafts=tuple(shafts),
        sockets=tuple(sockets),
        seam=seam,
        stays=tuple(pulley.name for pulley in belt.pulleys if pulley.end in words.split),
        joints=joints,
        ears=tuple(ears),
        tabs_wanted=tabs,
        ears_given=words.fixings.at is not None,
        ear=words.fixings.ear,
        notch=notch,
        root=max(LUG_ROOT, held.inside_radius.value),
        ear_hole=ear_screw.hole,
        screw=ear_screw.size,
        length=None if words.on == "machine" else ear_screw.length(grip),
        cover_holes=tuple(covers),
        cover_hole=cover_screw.hole,
        cover_screw=cover_screw.size,
        cover_length=cover_screw.length(2 * words.thickness),
        captive=words.cover.screws == "captive",
        opening=None if open_up is None else (open_up.shape, open_up.width, open_up.length),
        vents=vents,
        vents_wanted=0 if open_up is None else open_up.count or max(len(vents), 1),
        outward=outward,
        drawn=plane,
        floor=floor,
        feet=tuple(feet),
        name=name,
        ears_off=ears_off,
    )


def _belts_under(spec: Spec, words: GuardWords, belts: tuple[PlacedBelt, ...], key: str) -> tuple[PlacedBelt, ...]:
    """The belts that a guard is over. Raises `SpecError` where one is not there, or no one guard goes over both."""
    if words.belt != "both":
        found = tuple(belt for belt in belts if belt.name == words.belt)
        if not found:
            wanted = "describe the belt under `drive`, or take the guard out"
            said = f"a guard for the belt {words.belt!r}, which is not there"
            raise SpecError((spec.problem(key, said, wanted),))
        return found
    if len(belts) < 2:
        wanted = "leave `belt` out, or describe the second belt (drive: second)"
        raise SpecError((spec.problem(f"{key}.belt", "a guard over both belts of a drive that has one", wanted),))
    if words.split:
        wanted = "leave `split` out, and pull the pulleys off for the guard to go on"
        raise SpecError((spec.problem(f"{key}.split", "a split back plate under two belts", wanted),))
    why = apart_because(*belts)
    if why is not None:
        wanted = "give each its own: guard: {belt: drive}, second_guard: {belt: second}"
        raise SpecError((spec.problem(f"{key}.belt", f"one guard over both belts, {why}", wanted),))
    return belts


def apart_because(one: PlacedBelt, other: PlacedBelt) -> str | None:
    """Why no one guard goes over both belts; None where they run beside each other on the same side."""
    if math.dist(one.drawn.n, other.drawn.n) > SAME_LENGTH:
        return "whose shafts are not parallel"
    if not one.drawn.lies:
        same = (one.driver.plane > 0) == (other.driver.plane > 0)
        return None if same else "which run on both sides of the plate"
    same = len({out_along(pulley) for belt in (one, other) for pulley in belt.pulleys}) == 1
    return None if same else "whose pulleys sit on opposite ends of their shafts"


def out_along(pulley: PlacedPulley) -> float:
    """Which way along the shafts of a lying belt leads from a pulley's part past its shaft's end: 1 or -1.

    A shaft that stands out of its part at both ends has a pulley on either.
    """
    return pulley.sense if sum(pulley.span) >= 0 else -pulley.sense


def _lying_ones_only(spec: Spec, words: GuardWords, belts: tuple[PlacedBelt, ...], key: str) -> None:
    """Raises `SpecError` for words of a guard that say nothing, or nothing that is built, over lying shafts."""
    if len({out_along(pulley) for belt in belts for pulley in (belt.driver, belt.driven)}) > 1:
        wanted = "make it by the parts: its cover would have a shaft through it"
        raise SpecError((spec.problem(key, "a guard over shafts that come from both of its sides", wanted),))
    if words.back == "none":
        wanted = "leave it out: the plate stands square to its back and closes nothing of it"
        raise SpecError((spec.problem(f"{key}.back", "no back plate, over shafts that lie along the plate", wanted),))
    if words.split:
        wanted = "leave it out, and pull the pulleys off for the guard to go on"
        raise SpecError((spec.problem(f"{key}.split", "a split back plate over shafts along the plate", wanted),))
    if words.fixings.at is not None:
        wanted = "give `count`: feet stand in a row along its back plate and one at each end of its band"
        if words.on == "machine":
            wanted = "give `count`: its ears stand round the belt, square to the plate"
        found = "places of ears on the plate, over shafts along it"
        raise SpecError((spec.problem(f"{key}.fixings.at", found, wanted),))
    if words.on == "machine" and words.back_from_plate:
        wanted = "leave it out: it goes all round the belt, wherever that is over the plate"
        found = "a distance from the plate, over shafts along it"
        raise SpecError((spec.problem(f"{key}.back_from_plate", found, wanted),))


def _width(
    spec: Spec,
    described: tuple[str, GuardWords],
    inside: Sequence[Interval],
    ends: tuple[Sequence[Interval], float],
    back: tuple[float, float],
) -> float:
    """From the back plate's inner face (without one, from where the band begins) to the cover's, mm.

    `inside` are the stretches of belt and pulleys along the shafts, `ends` those of the shafts and how far these must
    end before the cover; `back` is where that face is and the way from there to the cover.
    """
    # Places count from the back towards the cover, so that both sides are worked out alike.
    (start, outward), (key, words) = back, described
    reach = max(outward * (z - start) for span in inside for z in span)
    if reach <= 0:
        wanted = f"give less than {words.back_from_plate + reach:g} mm: there they end"
        raise SpecError((spec.problem(f"{key}.back_from_plate", "a guard that begins past the pulleys", wanted),))
    spans, past = ends
    needed = max([reach + words.gap, *(outward * (z - start) + past for span in spans for z in span)])
    width = needed if words.band == "auto" else words.band
    if width < reach:
        wanted = f"give at least {reach:g} mm, or auto"
        raise SpecError((spec.problem(f"{key}.band", f"a band of {width:g} mm that ends before the pulleys", wanted),))
    return width


# ------------------------------------------------------------------------------------------- the outline


@lru_cache(maxsize=64)
def _outline(grown: tuple[Shape, ...], gap: float, made: str, radius: float) -> Loop:
    """The hollow side of the band: the hull of what is `grown` by its gap, or flats that touch that with bends between.

    Flats that touch the hull keep the gap everywhere, whatever their number. Its own long straights are taken, and
    what turns between these is shared evenly; a bend no wider than the curve it stands for stays outside that.
    """
    around = hull(grown)
    curved = disc_loop(around) if isinstance(around, Disc) else around
    # A rolled band follows the hull itself: it needs no flats, and its gap is kept everywhere at once.
    if made == "rolled":
        return curved
    # The long straights, the longest first so that of two that nearly agree the longer one stays. Each is known by the
    # direction square out of it, from 0 to a whole turn; rounding makes ties the same on every processor.
    straights: list[tuple[float, float, float]] = []
    for edge in curved.edges:
        if isinstance(edge, Line) and edge.length >= LONG_FLAT:
            ux, uy = edge.direction(0.0)
            outward = math.atan2(-ux, uy) % math.tau
            straights.append((-round(edge.length, 6), round(outward, 9), outward))
    chosen: list[float] = []
    for _, _, normal in sorted(straights):
        if all(abs(math.remainder(normal - other, math.tau)) >= LEAST_BEND for other in chosen):
            chosen.append(normal)
    # What turns between two of them is shared among as few equal bends as keep each below the most.
    normals: list[float] = []
    # Once round by direction, the first one a whole turn on at the end, so that the last gap is shared like any other.
    chosen.sort()
    for start, end in zip(chosen, [*chosen[1:], chosen[0] + math.tau] if chosen else [], strict=True):
        bends = max(1, math.ceil((end - start) / MOST_BEND - 1e-9))
        normals += [start + (end - start) * k / bends for k in range(bends)]
    normals = normals or [math.tau * k / 8 for k in range(8)]
    # A corner is where the lines of two flats cross, each of which touches the hull in its own direction.
    corners = []
    for a, b in zip(normals, [*normals[1:], normals[0] + math.tau], strict=True):
        far, off, det = _reach(curved, a), _reach(curved, b), math.sin(b - a)
        corners.append(
            ((far * math.sin(b) - off * math.sin(a)) / det, (off * math.cos(a) - far * math.cos(b)) / det),
        )
    # A bend cuts its corner by less than the gap only while its radius is no larger than the gap.
    rounding = min(radius, gap) if made == "bent" else 0.0
    return polygon_loop(corners, rounding)


def _reach(loop: Loop, direction: float) -> float:
    """How far a loop reaches in a direction (rad), from 0,0."""
    ux, uy = math.cos(direction), math.sin(direction)
    # The vertices, and each arc that bulges to that side beyond its ends: the support function of a convex loop.
    best = max(x * ux + y * uy for x, y, _ in loop.vertices)
    for edge in loop.edges:
        if isinstance(edge, Arc) and edge.sweep > 0 and (direction - edge.start) % math.tau <= edge.sweep:
            best = max(best, edge.center[0] * ux + edge.center[1] * uy + edge.radius)
    return best


def walls(outline: Loop, floor: float | None) -> tuple[Edge, ...]:
    """The edges of an outline that the band follows, in its order: all, or from end to end at the `floor` (mm)."""
    edges = outline.edges
    open_at = floor_edge(outline, floor)
    if open_at is None:
        return edges
    k = edges.index(open_at)
    return (*edges[k + 1 :], *edges[:k])


@lru_cache(maxsize=64)
def _joints(
    edges: tuple[Edge, ...],
    pieces: int | None,
    longest: float,
    clear: tuple[float, float],
    ears: tuple[Point, ...],
    floor: float | None,
) -> tuple[Point, ...]:
    """Where the band's strips meet, in the order of the outline: in the middle of the longest flat, then evenly on.

    There are as many as are wanted (`pieces`) or as the `longest` strip of stock needs, each in a flat that holds its
    whole lap, `clear` of the `ears` that were given and of the flat's bends. A band that ends at the plate has one
    less, evenly between its ends. All in mm.
    """
    away, ends = clear
    straight = [edge for edge in edges if isinstance(edge, Line)]
    best = max(straight, key=lambda one: (round(one.length, 6), *(round(c, 6) for c in one.at(0.5))))
    # Without its laps: each strip then gives up one lap, which is why the stock counts less one.
    around = math.fsum(edge.length for edge in edges)
    count = pieces or max(1, math.ceil(around / max(longest - LAP, LAP)))
    # Places in steps about the middle of each flat, clear of its bends, each known by how far along the outline it is.
    places = _steps(edges, ends)
    before, start = 0.0, 0.0
    for edge in edges:
        if edge == best and floor is None:
            start = before + edge.length / 2
        before += edge.length
    # A lap under a tab could not be riveted: places clear of the tabs that were given come first, any other after.
    tabs = [min((edge.nearest(ear) for edge in edges), key=lambda p: math.dist(p, ear)) for ear in ears]
    found: list[Point] = []
    for index in range(count) if floor is None else range(1, count):
        wanted = start + index * around / count
        apart: list[Point] = []
        for edge, along in _outward(places, around, wanted):
            place = edge.at(along / edge.length)
            if all(math.dist(place, other) > 2 * LAP for other in found):
                apart.append(place)
                if all(math.dist(place, tab) >= away for tab in tabs):
                    found.append(place)
                    break
        else:
            found += apart[:1]
    return tuple(found) if found or floor is not None else (best.at(0.5),)


# ------------------------------------------------------------------------------------------- tabs


def tab_reach(ear: float, thickness: float) -> float:
    """How far the hole of a tab lies from the hollow side of the band, mm: half an ear past the sheet."""
    return ear / 2 + thickness


class _Tabs(Struct, frozen=True):
    """What tabs must keep off: the ends of the flats, the joints of the band, the seam of the back plate, `off`.

    `around` is what of the outline the band follows, `beside` what they need beside them, for the notch at the root and
    for the die.
    """

    outline: Loop
    around: tuple[Edge, ...]
    ear: float
    beside: float
    thickness: float
    joints: tuple[Point, ...]
    seam: tuple[Point, Point] | None
    off: Loop | None = None

    def place(self, edge: Line, along: float) -> Point | None:
        """Where the hole of a tab so far along a flat would be, mm; None where joint or seam is too near."""
        half = self.ear / 2 + self.beside
        reach = tab_reach(self.ear, self.thickness)
        (ux, uy), (x, y) = edge.direction(0.0), edge.at(along / edge.length)
        if any(math.dist((x, y), joint) < half + LAP / 2 for joint in self.joints):
            return None
        place = (x + uy * reach, y - ux * reach)
        if self.off is not None and self.off.contains(place):
            return None
        return place if self.seam is None or abs(_off(self.seam, place)) >= half else None


_Steps = list[tuple[float, Line, float]]


@lru_cache(maxsize=16)  # asked for the tabs at the back and for those at the cover
def _steps(edges: tuple[Edge, ...], ends: float) -> _Steps:
    """Places in steps along each flat, evenly about its middle, where a single one goes; `ends` mm of it are left out.

    Each with how far along the outline it is, its flat, and how far along that, mm.
    """
    found: _Steps = []
    before = 0.0
    for edge in edges:
        long = edge.length
        if isinstance(edge, Line):
            steps = math.floor((long - ends) / STEP)
            for k in range(steps + 1):
                along = long / 2 + (k - steps / 2) * STEP
                found.append((before + along, edge, along))
        before += long
    return found


def _outward(steps: _Steps, around: float, wanted: float) -> Iterator[tuple[Line, float]]:
    """Places of an outline `around` mm long, the nearest along it to where one is `wanted` first; of equals the first.

    From there to both sides by turns: the first that will do is mostly among the first, and the rest need not be asked.
    """

    def off(k: int) -> tuple[float, float]:
        along = steps[k % len(steps)][0]
        return (round(abs(math.remainder(along - wanted, around)), 6), along)

    right = bisect_left(steps, wanted % around, key=lambda one: one[0])
    left = right - 1
    for _ in steps:
        if off(right) < off(left):
            k, right = right, right + 1
        else:
            k, left = left, left - 1
        yield steps[k % len(steps)][1:]


def _off(seam: tuple[Point, Point], point: Point) -> float:
    """How far to the left of a line a point lies, mm."""
    (x, y), (ux, uy) = seam
    return ux * (point[1] - y) - uy * (point[0] - x)


def least_between(ear: float, beside: float) -> float:
    """Least distance between the holes of two tabs so wide, with so much room beside each, mm."""
    return max(BETWEEN_TABS * ear, ear + 3 * beside)


@lru_cache(maxsize=64)
def _spread(tabs: _Tabs, count: int, share: float, others: tuple[Point, ...]) -> tuple[Point, ...]:
    """Hole centres of tabs: each where a flat takes it, as near as may be to an even spread that begins at `share`."""
    steps = _steps(tabs.around, tabs.ear + 2 * tabs.beside)
    around, least = math.fsum(edge.length for edge in tabs.around), least_between(tabs.ear, tabs.beside)
    found: list[Point] = []
    for index in range(count):
        wanted = (index + share) * around / count
        for edge, along in _outward(steps, around, wanted):
            place = tabs.place(edge, along)
            if place is not None and all(math.dist(place, other) >= least for other in (*found, *others)):
                found.append(place)
                break
    return tuple(found)


def most_tabs(guard: Guard, key: str, wanted: int) -> int:
    """How many tabs at the back (`fixings`) or at the cover find room when fewer than `wanted` are spread anew."""
    if guard.floor is not None and key == "fixings":
        return len(guard.feet)
    seam = guard.seam if key == "fixings" else None
    beside = max(2 * guard.thickness, guard.notch)
    around = walls(guard.outline, guard.floor)
    off = guard.ears_off if key == "fixings" else None
    tabs = _Tabs(guard.outline, around, guard.ear, beside, guard.thickness, guard.joints, seam, off)
    others = () if key == "fixings" else guard.ears
    share = 0.5 if key == "fixings" else 0.0
    # fewer leave more room between them, so a few more may go in than did when too many were wanted
    most = min(wanted - 1, len(guard.ears if key == "fixings" else guard.cover_holes) + 3)
    return next((n for n in range(most, 1, -1) if len(_spread(tabs, n, share, others)) == n), 0)


class ThroughBolt(Struct, frozen=True):
    """A screw through the hole of a tab with a nut behind: the hole's diameter (mm), and the size if one fits it."""

    hole: float
    size: str | None

    @classmethod
    def of(cls, spec: Spec, hole: float | None) -> ThroughBolt:
        """For a hole (mm), the largest screw of the spec's own system that passes it with a close fit.

        Where the spec does not say a hole it is the one for 1/4-20 with a normal fit in inches, else for M6.
        """
        if hole is None:
            hole = tables.screw("1/4-20" if spec.unit == "in" else "M6").clearance["normal"]
        sizes = INCH_SCREWS if spec.unit == "in" else METRIC_SCREWS
        fits = (size for size in sizes if tables.screw(size).clearance["close"] <= hole + SAME_LENGTH)
        return cls(hole, next(fits, None))

    def length(self, grip: float) -> float | None:
        """The shortest stock length through what it clamps (mm) and its nut, mm; None where no stock one does."""
        if self.size is None:
            return None
        screw = tables.screw(self.size)
        needed = grip + (screw.nut_height or screw.diameter) + THREADS_OUT * screw.pitch
        return next((length for length in screw.stock_lengths if length >= needed - SAME_LENGTH), None)


def longest_grip(size: str) -> float:
    """What the longest stock screw of a size clamps with a nut, mm."""
    screw = tables.screw(size)
    longest = max(screw.stock_lengths, default=0.0)
    return longest - (screw.nut_height or screw.diameter) - THREADS_OUT * screw.pitch


# ------------------------------------------------------------------------------------------- openings


Sockets = list[tuple[tuple[str, ...], Shape]]
"""Openings for sockets: the screws that each is for, and its shape in the plate frame, mm."""


@lru_cache(maxsize=64)
def _with_room(shape: Shape) -> Shape:
    return shape.grown(SHAFT_ROOM)


def _open_in_back(
    belts: tuple[PlacedBelt, ...],
    bodies: tuple[Body, ...],
    mounts: Mapping[str, PlacedMount],
    outline: Loop,
    side: Side,
    sheet: tuple[float, float],
) -> tuple[list[Shape], Sockets]:
    """What the back plate (a sheet at heights `sheet`, mm) leaves open: for shafts, and for sockets on screws.

    Openings that meet, or leave a thread of steel between them, are one; one with a shaft counts as the shaft's.
    """
    left: list[tuple[tuple[str, ...], bool, Shape]] = []
    # Round each shaft, and round a hub that reaches so far, over the whole travel.
    plane = belts[0].drawn
    for pulley in (pulley for belt in belts for pulley in belt.pulleys):
        turning = [body for body in bodies if body.name == f"{pulley.name}.hub" or on_the_axis(body, pulley)]
        passing = [
            _with_room(shape)
            for body in turning
            for shape, along in (in_plane(plane, body),)
            if body.name != pulley.name and along[0] < sheet[1] and along[1] > sheet[0]
        ]
        if passing:
            one: tuple[tuple[str, ...], bool, Shape] = ((), True, passing[0] if len(passing) == 1 else hull(passing))
            left += [one] if one not in left else []  # two pulleys on one shaft have it open once
        else:  # nothing tells of its shaft: half the pulley is thicker than any
            guess = Disc(pulley.center, pulley.pitch_diameter / 4 + SHAFT_ROOM)
            left.append(((), True, sweep(guess, pulley.travel)))
    # For a socket on each screw of a mount that tensions a belt, since these are tightened last, over the whole
    # travel. One that would cut into the edge gets none. A lying belt's stand along its plane.
    back = sheet[1] if side == "near" else sheet[0]
    adjusted = {belt.adjusted for belt in belts} if not plane.lies else set()
    for body in bodies:
        mount = mounts.get(body.carrier) if body.carrier in adjusted else None
        if mount is None or mount.stack is None or body.side != side:
            continue
        if body.kind not in ("head", "nut") or body.screw is None:
            continue
        seat = body.z[0] if side == "near" else body.z[1]
        behind = seat < back if side == "near" else seat > back
        outer = socket_outer(mount.stack, body)
        shape = sweep(Disc(body.shape.centroid, outer / 2 + SOCKET_ROOM), mount.hole_travel)
        if behind and edge_distance(shape, outline).distance >= SOCKET_ROOM and outline.contains(shape.centroid):
            left.append(((body.screw,), False, shape))
    # A joined opening goes back in front, since it may now be near to another one that neither part was near to.
    done: list[tuple[tuple[str, ...], bool, Shape]] = []
    while left:
        names, is_shaft, shape = left.pop(0)
        near = next((other for other in left if distance(shape, other[2]).distance < 2 * SOCKET_ROOM), None)
        if near is None:
            done.append((names, is_shaft, shape))
        else:
            left.remove(near)
            left.insert(0, ((*names, *near[0]), is_shaft or near[1], hull([shape, near[2]])))
    shafts = [one for _, is_shaft, one in done if is_shaft]
    return shafts, [(names, one) for names, is_shaft, one in done if not is_shaft]


@lru_cache(maxsize=64)
def _vents(
    shape: str, width: float, given: float | None, count: int, outline: Loop, room: tuple[float, float]
) -> tuple[Shape, ...]:
    """The openings of the cover that find room, so many at most: rows along its longest flat, the middle first, mm.

    Each keeps off the others, and off the band, by as much as it is wide. `room` is the least steel beside it, and the
    radius of its corners.
    """
    long = width if shape != "slot" else given or SLOT_IN_WIDTHS * width
    web, corner = room
    edge = max(outline.edges, key=lambda one: (round(one.length, 6), *(round(c, 6) for c in one.at(0.5))))
    ux, uy = edge.direction(0.0)
    x, y = outline.centroid
    turn = math.atan2(uy, ux)
    # From the middle outward, ring by ring: as many as are wanted are mostly found before the rest need be laid out.
    box = outline.box
    reach = math.hypot(box.width, box.height)
    found: list[Shape] = []
    near, far = 0.0, 2 * (long + web)
    while near <= reach and len(found) < count:
        columns, rows = math.ceil(far / (long + web)), math.ceil(far / (width + web))
        ring: list[tuple[float, int, int, Point]] = []
        for row in range(-rows, rows + 1):
            across = row * (width + web)
            for column in range(-columns, columns + 1):
                along = column * (long + web)
                off = round(math.hypot(along, across), 6)
                if near <= off < far:
                    at = (x + along * ux - across * uy, y + along * uy + across * ux)
                    # most of the grid is outside the box round the outline, which is sooner told
                    if box.x0 < at[0] < box.x1 and box.y0 < at[1] < box.y1:
                        ring.append((off, row, column, at))
        for _, _, _, at in sorted(ring):
            if len(found) == count:
                break
            if outline.depth(at).distance >= web + width / 2:
                one = _vent(shape, width, long, at, turn, corner)
                if edge_distance(one, outline).distance >= web:
                    found.append(one)
        near, far = far, 2 * far
    return tuple(found)


def _vent(shape: str, width: float, long: float, at: Point, turn: float, corner: float) -> Shape:
    """One opening about a place: round, with round ends, or a square whose corners the process can cut."""
    half = width / 2
    if shape == "square":
        return rectangle(width, width, min(corner, half), at, turn)
    if long - width <= SAME_LENGTH:
        return Disc(at, half)
    dx, dy = (long / 2 - half) * math.cos(turn), (long / 2 - half) * math.sin(turn)
    return Slot((at[0] - dx, at[1] - dy), (at[0] + dx, at[1] + dy), half)


# ------------------------------------------------------------------------------------------- shapes


def guard_openings(guards: Iterable[Guard]) -> Iterator[Opening]:
    """The holes that the plate gets for the ears or feet of guards that it carries (plate frame, mm)."""
    for guard in guards:
        what = "ear" if guard.floor is None else "foot"
        for number, point in enumerate(guard.fixed_at if guard.on == "plate" else (), start=1):
            hole, name = Disc(point, guard.ear_hole / 2), f"{guard.name}.{what} {number}"
            yield Opening(name, "fixing", hole, point, guard.ear_hole, f"{guard.field}.fixings")


def closed_by_plate(guards: Iterable[Guard]) -> tuple[Shape, ...]:
    """What the plate must cover (plate frame, mm): where a guard that it carries has no sheet of its own.

    That is its back, or what it stands over.
    """
    found: list[Shape] = []
    for guard in guards:
        if guard.floor is not None:
            found.append(footprint(guard))
        elif not guard.back and guard.on == "plate":
            found.append(outside_of(guard))
    return tuple(found)


def dangers(layout: Layout, guard: Guard) -> list[Body]:
    """What a hand must not get at: the belts that are guarded and their pulleys."""
    return [body for body in layout.bodies if body.belt in guard.belts]


def pulleys_in(layout: Layout, guard: Guard) -> list[PlacedPulley]:
    """The pulleys of the belts that a guard is over, mm."""
    return [pulley for belt in layout.belts if belt.name in guard.belts for pulley in belt.pulleys]


def footprint(guard: Guard) -> Loop:
    """What a guard that stands on the plate covers there, out to its sheets' outer faces (plate frame, mm)."""
    box, plane = outside_of(guard).box, guard.drawn
    low, high = guard.z[0] - guard.thickness, guard.z[1] + guard.thickness
    corners = [plane.spot((x, 0.0), z)[:2] for x, z in ((box.x0, low), (box.x1, low), (box.x1, high), (box.x0, high))]
    return polygon_loop(corners)


def cover_off(layout: Layout, guard: Guard) -> float:
    """From the cover along the shafts to the nearest of belt, pulleys, and of their shafts where it is open, mm."""
    found = dangers(layout, guard)
    if guard.opening is not None:
        pulleys = pulleys_in(layout, guard)
        axial = on_their_axes(layout.bodies, pulleys)
        found += [body for body, on in zip(layout.bodies, axial, strict=True) if on]
    _, front = ends_of(guard)
    spans = [in_plane(guard.drawn, body)[1] for body in found]
    return min(guard.outward * (front - z) for span in spans for z in span)


def ends_of(guard: Guard) -> tuple[float, float]:
    """Where along the shafts its back plate's and its cover's hollow faces are, mm."""
    low, high = guard.z
    return (low, high) if guard.outward > 0 else (high, low)


def outside_of(guard: Guard) -> Loop:
    """The outer face of the band, as far as back plate and cover reach (in the belt's plane, mm)."""
    grown = guard.outline.grown(guard.thickness)
    assert isinstance(grown, Loop)
    return grown if guard.floor is None else cut_off_at(grown, guard.floor, upward(guard))


def upward(guard: Guard) -> float:
    """Which way along a lying belt's plane leads away from the plate: 1 on the near side, -1 on the far (mm per mm)."""
    return 1.0 if guard.side == "near" else -1.0


def tab_shape(guard: Guard, hole: Point) -> Loop:
    """A tab as it lies once folded, from the hollow side of the band to half its width past its hole (mm)."""
    return _lug(guard.outline.nearest(hole).b, hole, guard.ear / 2)


def foot_shape(guard: Guard, foot: Foot) -> Loop:
    """A foot as it lies on the plate, from the hollow side of its sheet to half its width past its hole (mm)."""
    return _lug(foot.root, foot.hole, guard.ear / 2)


def _lug(root: Point, hole: Point, half: float) -> Loop:
    reach = math.dist(root, hole)
    ux, uy = (hole[0] - root[0]) / reach, (hole[1] - root[1]) / reach

    def at(across: float, out: float) -> tuple[float, float]:
        return (root[0] + out * ux - across * uy, root[1] + out * uy + across * ux)

    return Loop(
        (
            (*at(half, 0.0), 0.0),
            (*at(-half, 0.0), 0.0),
            (*at(-half, reach), 1.0),
            (*at(half, reach), 0.0),
        )
    )


@lru_cache(maxsize=32)  # asked as a body, as a part, and by several rules and pictures
def sheet_with_lugs(guard: Guard, holes: tuple[Point, ...]) -> Loop:
    """A flat sheet over the band's outer face, with a lug round each hole, its roots rounded out (plate frame, mm)."""
    found = _lugs_on_flats(guard, holes)
    if found is not None:
        return found
    # Grown and shrunk again by the same: that rounds inside corners out, and leaves outside ones as they are.
    sharp = union_loops([outside_of(guard), *(tab_shape(guard, hole) for hole in holes)])[0]
    grown = sharp.grown(guard.root)
    assert isinstance(grown, Loop)
    found = grown.grown(-guard.root)
    assert isinstance(found, Loop)
    return found if guard.floor is None else cut_off_at(found, guard.floor, upward(guard))


def lug_roots(guard: Guard, hole: Point) -> Iterator[Loop]:
    """What the rounded inside corners beside a lug lie in: a corner each, to its tangents' ends (mm)."""
    root = guard.outline.nearest(hole).b
    reach = math.dist(root, hole)
    ux, uy = (hole[0] - root[0]) / reach, (hole[1] - root[1]) / reach
    for sign in (1.0, -1.0):
        ways = ((guard.ear / 2, 0.0), (guard.ear / 2 + guard.root, 0.0), (guard.ear / 2, guard.root))
        yield polygon_loop(
            [
                (
                    root[0] + (guard.thickness + out) * ux - sign * across * uy,
                    root[1] + (guard.thickness + out) * uy + sign * across * ux,
                )
                for across, out in ways
            ]
        )


def _lugs_on_flats(guard: Guard, holes: tuple[Point, ...]) -> Loop | None:
    """The same in closed form where each lug stands on a flat with room for its roots; None where one does not.

    The outline then is that of the sheet with a detour round each lug: two roots, two flanks, half a circle.
    """
    if not guard.outline.is_convex:
        return None
    half, root = guard.ear / 2, guard.root
    wide, quarter = half + root, math.tan(math.pi / 8)
    stems: list[Line] = []
    vertices: list[tuple[float, float, float]] = []
    for edge in outside_of(guard).edges:
        vertices.append((*edge.a, edge.bulge))
        if not isinstance(edge, Line):
            continue
        (x, y), (ux, uy) = edge.a, edge.direction(0.0)

        def at(along: float, out: float) -> Point:
            return (x + along * ux + out * uy, y + along * uy - out * ux)  # noqa: B023 - called in this turn only

        for hole in sorted(holes, key=lambda p: (p[0] - x) * ux + (p[1] - y) * uy):
            along, out = (hole[0] - x) * ux + (hole[1] - y) * uy, (hole[0] - x) * uy - (hole[1] - y) * ux
            if not (wide < along < edge.length - wide and out > root):
                continue
            stems.append(Line(at(along, 0.0), hole))
            vertices += [
                (*at(along - wide, 0.0), -quarter),
                (*at(along - half, root), 0.0),
                (*at(along - half, out), 1.0),
                (*at(along + half, out), 0.0),
                (*at(along + half, root), -quarter),
                (*at(along + wide, 0.0), 0.0),
            ]
    # lugs so near to each other that a root would touch both grow together; and no hole may be left out
    apart = all(edge_gap(a, b).distance > 2 * wide for k, a in enumerate(stems) for b in stems[:k])
    return Loop(tuple(vertices)) if apart and len(stems) == len(holes) else None


def open_in_back(guard: Guard) -> tuple[Shape, ...]:
    """All that is open in the back plate but the holes of its ears (plate frame, mm)."""
    return (*guard.shafts, *(shape for _, shape in guard.sockets))


def halves(guard: Guard) -> list[Loop]:
    """The back plate as it is cut, its openings not yet in it: whole, or the half left and the half right of the seam.

    In mm. Openings that the seam runs through are notches of both halves.
    """
    whole = sheet_with_lugs(guard, guard.ears)
    if guard.seam is None:
        return [whole]
    across = [shape for shape in open_in_back(guard) if _crosses(guard.seam, shape)]
    far = whole.box.width + whole.box.height + 1.0
    found = []
    for sign in (1.0, -1.0):
        ((x, y), (ux, uy)) = guard.seam
        # the other side of the seam, as large as need be, is taken away
        other = [
            (x - far * ux, y - far * uy),
            (x + far * ux, y + far * uy),
            (x + far * ux + sign * far * uy, y + far * uy - sign * far * ux),
            (x - far * ux + sign * far * uy, y - far * uy - sign * far * ux),
        ]
        found.append(difference(whole, [*across, polygon_loop(other)])[0])
    return found


def _crosses(seam: tuple[Point, Point], shape: Shape) -> bool:
    """Whether a line runs through a shape."""
    offs = [_off(seam, point) for edge in shape.loop().edges for point in (edge.a, edge.at(0.5))]
    return min(offs) < -SAME_LENGTH and max(offs) > SAME_LENGTH


def in_half(guard: Guard, shape: Shape, number: int) -> bool:
    """Whether an opening lies whole in the first (0) or second (1) part of the back plate."""
    if guard.seam is None:
        return True
    # What the seam runs through belongs to neither half as an opening: it is a notch of both.
    return not _crosses(guard.seam, shape) and (_off(guard.seam, shape.centroid) > 0) == (number == 0)


JOINT_WIDTH = 40.0
"""Width of a strip over the seam of a split back plate, mm (ours: rivets a diameter and a half off both edges)."""
JOINT_END = 4.0
"""How far such a strip ends before an opening or the edge, mm (ours)."""
RIVET = shop_figure("blind rivet of 4.8 mm, hole")
"""Hole for a 4.8 mm blind rivet, mm (`shop_figures.csv`)."""
RIVET_HEAD = shop_figure("blind rivet of 4.8 mm, height of its head")
"""Height of such a rivet's head, mm (`shop_figures.csv`)."""


class JoiningStrip(Struct, frozen=True):
    """A strip over the seam of a split back plate: its shape, and the holes for its rivets, plate frame, mm."""

    shape: Loop
    holes: tuple[Point, ...]


def joining_strips(guard: Guard) -> list[JoiningStrip]:
    """Strips over each stretch of the seam between the openings, where it is long enough for two rivets a half."""
    if guard.seam is None:
        return []
    (x, y), (ux, uy) = guard.seam
    far = guard.outline.box.width + guard.outline.box.height + math.hypot(x, y)
    line = Line((x - far * ux, y - far * uy), (x + far * ux, y + far * uy))

    def along(points: Iterable[Point]) -> list[float]:
        """Places along the seam, rising; one that two edges share, where it runs through a vertex, once."""
        return sorted({round((p[0] - x) * ux + (p[1] - y) * uy, 6) for p in points})

    # The seam enters and leaves by turns: the outline, then each opening on it, so that every other stretch is steel.
    cuts = along(guard.outline.crossings(line))
    ends = [cuts[0], *along([p for one in open_in_back(guard) for p in one.loop().crossings(line)]), cuts[-1]]
    found = []
    for start, stop in zip(ends[::2], ends[1::2], strict=True):
        # A little short at both ends, so that a strip never stands into an opening by rounding.
        a, b = start + JOINT_END, stop - JOINT_END
        if b - a < 4 * RIVET + 1:
            continue
        corners = [(along_, off) for along_, off in ((a, -1), (b, -1), (b, 1), (a, 1))]
        shape = polygon_loop(
            [(x + s * ux - o * uy * JOINT_WIDTH / 2, y + s * uy + o * ux * JOINT_WIDTH / 2) for s, o in corners]
        )
        holes = tuple(
            (x + s * ux - o * uy * JOINT_WIDTH / 4, y + s * uy + o * ux * JOINT_WIDTH / 4)
            for s in (a + 2 * RIVET, b - 2 * RIVET)
            for o in (-1.0, 1.0)
        )
        found.append(JoiningStrip(shape, holes))
    return found


@lru_cache(maxsize=8)  # each tab and each foot is looked for along the same band
def edges_in_order(guard: Guard) -> Sequence[tuple[float, Edge]]:
    """The edges of the outline from the band's first joint on, and how far along the flat band each begins, mm.

    Flats count as long as they are, curves along their neutral fibre. A band that ends at the plate begins there.
    """
    if guard.floor is not None:
        return _one_after_another(guard, walls(guard.outline, guard.floor))
    edges = list(guard.outline.edges)
    start = guard.joints[0]
    # The outline is cut open at the first joint, whose flat becomes the first edge and, its other part, the last.
    first = min(range(len(edges)), key=lambda k: round(math.dist(edges[k].nearest(start), start), 9))
    cut = edges[first]
    assert isinstance(cut, Line)
    return _one_after_another(guard, [Line(start, cut.b), *edges[first + 1 :], *edges[:first], Line(cut.a, start)])


def _one_after_another(guard: Guard, order: Iterable[Edge]) -> list[tuple[float, Edge]]:
    placed: list[tuple[float, Edge]] = []
    at = 0.0
    for edge in order:
        placed.append((at, edge))
        at += edge.length if isinstance(edge, Line) else curve_length(guard, edge)
    return placed


@lru_cache(maxsize=256)
def along_flat(guard: Guard, point: Point) -> float:
    """How far along the flat band, from its first joint or from its end, the place nearest to a point is, mm."""
    root = guard.outline.nearest(point).b
    best: tuple[float, float] | None = None
    for start, edge in edges_in_order(guard):
        place = min(max(edge.place(root), 0.0), 1.0)
        long = edge.length if isinstance(edge, Line) else curve_length(guard, edge)
        found = (round(math.dist(edge.at(place), root), 6), start + place * long)
        best = found if best is None or found < best else best
    assert best is not None
    return best[1]


def curve_length(guard: Guard, edge: Arc) -> float:
    """Flat sheet that a curve of the band takes, mm."""
    # A rolled curve is so wide that the factor for a tight bend is wrong for it, unless it was given.
    own = guard.made == "bent" or guard.k_source != K_SOURCE
    k = guard.k_factor if own else k_factor(edge.radius, guard.thickness)
    return bend_length(abs(edge.sweep), edge.radius, guard.thickness, k)

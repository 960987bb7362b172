"""The parts of the guard, each as a flat plate of its own: what is cut, where it is bent, how many of it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import lru_cache

from msgspec import Struct
from msgspec.structs import replace

from platekit.geometry import Arc, Disc, Line, Loop, Point, Shape, Vertex, rectangle
from platekit.laying.bends import bend_length
from platekit.laying.guard import (
    LAP,
    RIVET,
    along_flat,
    curve_length,
    edges_in_order,
    halves,
    in_half,
    joining_strips,
    open_in_back,
    sheet_with_lugs,
    tab_reach,
    walls,
)
from platekit.laying.guard_plane import floor_edge
from platekit.laying.limits import limits_of
from platekit.laying.relief import size_of
from platekit.placed import SAME_LENGTH, FlatPart, Foot, Guard, GuardHole, Layout, Opening, Side, held
from platekit.spec import Spec
from platekit.spec.models import SpecModel
from platekit.spec.source import Node
from platekit.tables import Material
from platekit.units import show_length

PART = r"(?:second-)?guard-(?:back|cover|band|joint|ear)(?:-\d+)?"
"""What a part of a guard is called, as a regular expression."""
GUARD_PARTS = tuple(f"{guard}-{part}" for guard in ("guard", "second-guard") for part in ("back", "cover", "band"))
"""The parts of guards whose back is whole and whose band is one strip."""
TICK = 8.0
"""Length of the marks at the ends of a bend line, mm (ours)."""
TICK_INSET = 2.0
"""How far such a mark begins from the edge, mm (ours: past what dressing the edge takes away)."""
FLANGE_IN_THICKNESSES = 4.0
"""Shortest leg that a usual die holds, in thicknesses, the bend's inside radius to be added (common practice)."""
LOCAL_CODES = "Local codes and licensed people decide on guards"
"""What stands on each part's paper."""
SEGMENT = FlatPart("band", ("EITHER FACE up", "EITHER FACE up"), False, f"Flat, both faces alike. {LOCAL_CODES}.")
EAR = replace(SEGMENT, kind="ear")
"""How a segment of the band, or an ear, is told that is welded on."""


class Bend(Struct, frozen=True):
    """One bend of the band: its number in the order of bending, its line from the left end of the flat strip (mm).

    `angle` is what the sheet is turned by (rad), `radius` the inside radius (mm); `rolled` is a curve that is rolled
    from `at` less half of `length` to half of it past `at`.
    """

    number: int
    at: float
    angle: float
    radius: float
    length: float
    rolled: bool


@held
def guard_parts(layout: Layout) -> dict[str, Layout]:
    """The parts of the guards by name, each once, as `guard-cover`; how many of it is its `cutting.copies`."""
    return {name: part for guard in layout.guards for name, part in parts_of(layout, guard).items()}


def parts_of(layout: Layout, guard: Guard) -> dict[str, Layout]:
    """The same of one of the guards."""
    stem = guard.name.replace(" ", "-")
    plain = _in_place(guard)
    opened = [
        _hole(f"cover screw {k}", at, guard.cover_hole, "cover screw")
        for k, at in enumerate(guard.cover_holes, start=1)
    ]
    for number, shape in enumerate(guard.vents, start=1):
        vent = Opening(f"vent {number}", "cutout", shape, shape.centroid, size_of(shape), f"{guard.field}.openings")
        opened.append(replace(vent, of_guard="vent"))
    cover = _part(layout, guard, "cover", sheet_with_lugs(guard, guard.cover_holes), opened, _in_place(guard, True))
    parts = {f"{stem}-cover": cover}
    if guard.back:
        found = halves(guard)
        for index, half in enumerate(found):
            name = "back" if len(found) == 1 else f"back-{index + 1}"
            opened_there = list(_in_back(guard, index))
            told = plain
            if guard.floor is not None and guard.made != "segments":
                half, in_feet, folds = back_with_feet(guard, half)
                opened_there, told = [*opened_there, *in_feet], replace(plain, folds=folds)
            parts[f"{stem}-{name}"] = _part(layout, guard, name, half, opened_there, told)
    for index, strip in enumerate(joining_strips(guard), start=1):
        holes = [_hole(f"rivet {k}", at, RIVET, "rivet") for k, at in enumerate(strip.holes, start=1)]
        parts[f"{stem}-joint-{index}"] = _part(
            layout, guard, f"joint-{index}", strip.shape, holes, replace(plain, kind="joint")
        )
    if guard.made == "segments":
        # Flat strips, one a flat of the outline, and ears that are welded to their edges; equal ones are one part.
        alike: dict[tuple[float, float], int] = {}
        for edge in walls(guard.outline, guard.floor):
            size = (round(edge.length, 3), round(guard.band_width, 3))
            alike[size] = alike.get(size, 0) + 1
        for number, ((long, wide), count) in enumerate(alike.items(), start=1):
            name = f"band-{number}"
            parts[f"{stem}-{name}"] = _part(layout, guard, name, rectangle(long, wide), [], SEGMENT, count)
        ears: dict[tuple[float, float], int] = {}
        for welded, diameter in ((guard.ears, guard.ear_hole), (guard.cover_holes, guard.cover_hole)):
            for hole in welded:
                kind = (round(math.dist(guard.outline.nearest(hole).b, hole) - guard.thickness, 3), round(diameter, 3))
                ears[kind] = ears.get(kind, 0) + 1
        for foot in guard.feet:
            kind = (round(math.dist(foot.root, foot.hole) - guard.thickness, 3), round(guard.ear_hole, 3))
            ears[kind] = ears.get(kind, 0) + 1
        for number, ((reach, diameter), count) in enumerate(ears.items(), start=1):
            half_ear, name = guard.ear / 2, f"ear-{number}"
            shape = Loop(((-half_ear, 0.0, 0.0), (half_ear, 0.0, 0.0), (half_ear, reach, 1.0), (-half_ear, reach, 0.0)))
            parts[f"{stem}-{name}"] = _part(
                layout, guard, name, shape, [_hole("ear", (0.0, reach), diameter, "ear")], EAR, count
            )
    else:
        for index in range(guard.strips):
            outline, openings, folds = flat_band(guard, index)
            name = "band" if guard.strips == 1 else f"band-{index + 1}"
            across = [
                (one.number, one.at, one.angle, one.radius if one.rolled else None) for one in bends(guard, index)
            ]
            told = replace(_strip_told(layout, guard, index), folds=folds, bends=tuple(sorted(across)))
            parts[f"{stem}-{name}"] = _part(layout, guard, name, outline, openings, told)
    return dict(sorted(parts.items()))


def _in_place(guard: Guard, cover: bool = False) -> FlatPart:
    """How a part is told that lies in place as the plate does: by its sides, and which of them is the hollow one."""
    if guard.drawn.lies:
        return _in_lying_place(guard, cover)
    inner: Side = "far" if (guard.side == "near") == cover else "near"
    near, far = (f"{side.upper()} SIDE facing you: {'in' if side == inner else 'out'}side" for side in ("near", "far"))
    where = "the cover lies on the band" if cover else "it lies towards the plate, under the band"
    note = f"Guard on the {guard.side} side of the plate; {where}. {LOCAL_CODES}."
    return FlatPart("cover" if cover else "back", (near, far), True, note)


def _in_lying_place(guard: Guard, cover: bool) -> FlatPart:
    """How a part is told that stands square to the plate: it is drawn as seen along the shafts."""
    # Seen against the plane's normal one sees the face that this points out of: the cover's outside, the back's inside
    # where it leads from the back to the cover.
    out_first = cover == (guard.outward > 0)
    faces = tuple(f"{'OUT' if out else 'IN'}SIDE FACE facing you" for out in (out_first, not out_first))
    where = "the cover lies on the band" if cover else "the shafts pass through it, and the band stands on its inside"
    stands = "" if guard.floor is None else f", on the {guard.side} side of the plate, its straight edge on that"
    note = f"Guard square to the plate{stands}; {where}. {LOCAL_CODES}."
    return FlatPart("cover" if cover else "back", (faces[0], faces[1]), False, note)


def _strip_told(layout: Layout, guard: Guard, piece: int) -> FlatPart:
    """How a strip of the band is told: it has no near side and no up, but an outside, an edge at the back, and ends.

    Outside up and its edge at the back below, it goes counter-clockwise round as seen from the cover, whichever side
    of the plate the guard is on.
    """
    first = piece if guard.outward > 0 else (piece + 1) % max(len(guard.joints), 1)
    unit = layout.spec.unit
    if guard.drawn.lies:
        return FlatPart("band", ("OUTSIDE FACE up", "INSIDE FACE up"), False, _lying_strip(guard, piece))
    x, y = (show_length(value, unit).rsplit(" ", 1)[0] for value in guard.joints[first])
    note = (
        f"Lower edge at the plate, upper edge at the cover. It begins at the left at joint {first + 1}, {x}, {y} "
        f"({unit}) of the plate's drawing, and runs to the right counter-clockwise round as seen from the cover; its "
        f"right end laps over the next left end outside. {LOCAL_CODES}."
    )
    return FlatPart("band", ("OUTSIDE FACE up", "INSIDE FACE up"), False, note)


def _lying_strip(guard: Guard, piece: int) -> str:
    """Where a strip of a band goes that stands square to the plate."""
    strips = Strips.of(guard)
    # from left to right, outside up, it goes counter-clockwise round as seen from the cover
    left_foot, right_foot = strips.foot(piece, right=False), strips.foot(piece, right=True)
    said = f"Strip {piece + 1} of {guard.strips}" if guard.strips > 1 else "The band"
    said += ": lower edge at the back plate, upper edge at the cover; it runs to the right counter-clockwise round as "
    said += "seen from the cover"
    if left_foot or right_foot:
        which = "both ends" if left_foot and right_foot else "its left end" if left_foot else "its right end"
        said += f", with a foot on the plate at {which}, folded outward"
    if not right_foot:
        said += "; its right end laps over the next left end outside"
    return f"{said}. {LOCAL_CODES}."


def _hole(name: str, at: Point, diameter: float, what: GuardHole) -> Opening:
    return Opening(name, "cutout", Disc(at, diameter / 2), at, diameter, "guard", of_guard=what)


def _in_back(guard: Guard, half: int) -> Iterator[Opening]:
    """The openings of the back plate, or of one half of it; what the seam runs through is notched there already."""
    for number, point in enumerate(guard.ears, start=1):
        hole = _hole(f"ear {number}", point, guard.ear_hole, "ear")
        if in_half(guard, hole.shape, half):
            yield hole
    for number, shape in enumerate(open_in_back(guard), start=1):
        name = f"shaft {number}" if number <= len(guard.shafts) else f"socket {number - len(guard.shafts)}"
        if in_half(guard, shape, half):
            yield Opening(name, "cutout", shape, shape.centroid, size_of(shape), "guard")
    rivets = [at for strip in joining_strips(guard) for at in strip.holes]
    for number, at in enumerate(rivets, start=1):
        hole = _hole(f"rivet {number}", at, RIVET, "rivet")
        if in_half(guard, hole.shape, half):
            yield hole


# --------------------------------------------------------------------------------------------- band


@lru_cache(maxsize=32)
def flat_band(guard: Guard, piece: int = 0) -> tuple[Loop, tuple[Opening, ...], tuple[Line, ...]]:
    """A flat strip of the band, its outside face up: outline with tabs, their holes and the laps', and bend lines (mm).

    It runs from 0 to the next joint along x, half a lap more at either end, and from its back edge up along y.
    """
    width, strips = guard.band_width, Strips.of(guard)
    length = strips.length(piece)
    fold = bend_length(math.pi / 2, guard.bend_radius, guard.thickness, guard.k_factor)
    seat = guard.thickness + guard.bend_radius  # where the wall ends and the fold of a tab begins, from the edge
    # The tabs of this strip, each by where the middle of its root is drawn on it.
    lower, upper = (
        [
            (x, k, hole)
            for k, hole in enumerate(holes, start=1)
            for at, x in (strips.place(along_flat(guard, hole)),)
            if at == piece
        ]
        for holes in (guard.ears, guard.cover_holes)
    )
    # An end of the band on the plate has its foot, if the band is wide enough for one; any other end half a lap.
    ends = {right: strips.foot(piece, right) for right in (False, True)}
    feet = {
        right: next(
            (one for one in guard.feet if one.wall == ("last end" if right != strips.turned else "first end")), None
        )
        for right, there in ends.items()
        if there
    }
    x0, x1 = (0.0 if ends[False] else -LAP / 2), length + (0.0 if ends[True] else LAP / 2)

    def row(tabs: Sequence[tuple[float, int, Point]]) -> list[Vertex]:
        """One long edge from left to right, as if it were the lower one."""
        found: list[Vertex] = [(x0, 0.0, 0.0)]
        for x, _, hole in sorted(tabs):
            found += [(x + across, y, bulge) for across, y, bulge in tab_vertices(guard, _tab_tip(guard, hole))]
        return [*found, (x1, 0.0, 0.0)]

    # The upper edge is a lower one mirrored and run backwards: each bulge then belongs to the vertex before.
    bottom, top = row(lower), row(upper)
    back = [(x, width - y, top[k - 1][2] if k else 0.0) for k, (x, y, _) in enumerate(top)][::-1]
    right_end: list[Vertex] = []
    left_end: list[Vertex] = []
    foot = feet.get(True)
    if foot is not None:  # a tab on its side: along becomes up, and below becomes to the right
        tab = tab_vertices(guard, _foot_tip(guard, foot))
        right_end = [(length - y, foot.along + across, bulge) for across, y, bulge in tab]
    foot = feet.get(False)
    if foot is not None:
        tab = tab_vertices(guard, _foot_tip(guard, foot))
        left_end = [(y, foot.along - across, bulge) for across, y, bulge in tab]
    outline = Loop((*bottom[:-1], (*bottom[-1][:2], 0.0), *right_end, *back, *left_end))
    rows: tuple[tuple[GuardHole, list[tuple[float, int, Point]], bool, float], ...] = (
        ("ear", lower, True, guard.ear_hole),
        ("cover screw", upper, False, guard.cover_hole),
    )
    holes = [
        _hole(f"{what} {k}", (x, y if low else width - y), diameter, what)
        for what, tabs, low, diameter in rows
        for x, k, hole in tabs
        for y in (_tab_tip(guard, hole),)
    ]
    laps = [x for right, x in ((False, 0.0), (True, length)) if not ends[right]]
    holes += [
        _hole(f"lap {k}", (x, y), RIVET, "lap")
        for k, (x, y) in enumerate(((x, share * width) for x in laps for share in (0.25, 0.75)), start=1)
    ]
    # A bend is marked at both edges only, so that no line shows on the guard; a rolled curve where it begins and ends.
    folds: list[Line] = []
    tick = min(TICK, width / 2 - 2 * TICK_INSET)
    for bend in bends(guard, piece):
        for x in (bend.at - bend.length / 2, bend.at + bend.length / 2) if bend.rolled else (bend.at,):
            folds.append(Line((x, TICK_INSET), (x, TICK_INSET + tick)))
            folds.append(Line((x, width - TICK_INSET - tick), (x, width - TICK_INSET)))
    reach = guard.ear / 2 - TICK_INSET
    for tabs, y in ((lower, seat - fold / 2), (upper, width - seat + fold / 2)):
        folds += [Line((x - reach, y), (x + reach, y)) for x, _, _ in tabs]
    for right, one in feet.items():
        if one is not None:
            x = length - seat + fold / 2 if right else seat - fold / 2
            folds.append(Line((x, one.along - reach), (x, one.along + reach)))
            at = length - _foot_tip(guard, one) if right else _foot_tip(guard, one)
            holes.append(_hole(f"foot {guard.feet.index(one) + 1}", (at, one.along), guard.ear_hole, "ear"))
    return outline, tuple(holes), tuple(folds)


def tab_vertices(guard: Guard, tip: float) -> list[Vertex]:
    """A tab on a straight edge with the sheet above it, notched beside its fold: from left to right about 0, mm.

    `tip` is how far below the edge its hole is (so under 0).
    """
    half, notch, seat = guard.ear / 2, guard.notch, guard.thickness + guard.bend_radius
    return [
        (-half - notch, 0.0, 0.0),
        (-half - notch, seat, -1.0),
        (-half, seat, 0.0),
        (-half, tip, 1.0),
        (half, tip, 0.0),
        (half, seat, -1.0),
        (half + notch, seat, 0.0),
        (half + notch, 0.0, 0.0),
    ]


def _tab_tip(guard: Guard, hole: Point) -> float:
    """Where the hole of a tab lies on the flat band, mm below its edge (so under 0): past the fold and what is left."""
    return _folded(guard, math.dist(guard.outline.nearest(hole).b, hole))


def _foot_tip(guard: Guard, foot: Foot) -> float:
    """The same of a foot's hole, mm below the edge of its sheet."""
    return _folded(guard, math.dist(foot.root, foot.hole))


def _folded(guard: Guard, reach: float) -> float:
    # As far as the hole stands off the hollow side once folded; the fold takes its own share of the flat length.
    seat = guard.thickness + guard.bend_radius
    fold = bend_length(math.pi / 2, guard.bend_radius, guard.thickness, guard.k_factor)
    return seat - fold - (reach - seat)


def back_with_feet(guard: Guard, sheet: Loop) -> tuple[Loop, list[Opening], tuple[Line, ...]]:
    """A back plate that stands on the plate, flat, with its feet before they are folded; their holes; their bend lines.

    In the belt's plane, mm.
    """
    edge = floor_edge(sheet, guard.floor)
    assert edge is not None
    (ux, uy), (ax, ay) = edge.direction(0.0), edge.a

    def at(along: float, up: float) -> Point:
        """A place so far along the sheet's edge at the plate, and so far into the sheet."""
        return (ax + along * ux - up * uy, ay + along * uy + up * ux)

    seat = guard.thickness + guard.bend_radius
    fold = bend_length(math.pi / 2, guard.bend_radius, guard.thickness, guard.k_factor)
    placed = sorted((ux * (foot.along - ax), k, foot) for k, foot in enumerate(guard.feet, 1) if foot.wall == "back")
    row: list[Vertex] = []
    holes, folds = [], []
    half = guard.ear / 2 - TICK_INSET
    for along, number, foot in placed:
        tip = _foot_tip(guard, foot)
        row += [(*at(along + across, y), bulge) for across, y, bulge in tab_vertices(guard, tip)]
        holes.append(_hole(f"foot {number}", at(along, tip), guard.ear_hole, "ear"))
        folds.append(Line(at(along - half, seat - fold / 2), at(along + half, seat - fold / 2)))
    vertices: list[Vertex] = []
    for x, y, bulge in sheet.vertices:
        vertices.append((x, y, bulge))
        if math.dist((x, y), edge.a) <= SAME_LENGTH:
            vertices += row
    return Loop(tuple(vertices)), holes, tuple(folds)


class Strips(Struct, frozen=True):
    """How far along the flat band each strip begins, and where the last one ends, mm.

    `turned` says that seen from outside, back plate below, they run the other way; `ended` that the band has two ends.
    """

    starts: tuple[float, ...]
    turned: bool
    ended: bool

    @classmethod
    def of(cls, guard: Guard) -> Strips:
        """The strips of a guard's band, from joint to joint or to an end of the band, mm."""
        starts = [along_flat(guard, joint) for joint in guard.joints]
        begin = [0.0, *starts] if guard.floor is not None else [0.0, *starts[1:]]
        return cls((*begin, guard.band_length), guard.outward < 0, guard.floor is not None)

    def length(self, piece: int) -> float:
        """Length of a strip from joint to joint, without its laps, mm."""
        return self.starts[piece + 1] - self.starts[piece]

    def place(self, along: float) -> tuple[int, float]:
        """The strip that a place along the flat band falls on, and where on it that is drawn, outside face up, mm."""
        piece = max(k for k in range(len(self.starts) - 1) if self.starts[k] <= along + SAME_LENGTH)
        x = along - self.starts[piece]
        return piece, self.length(piece) - x if self.turned else x

    def foot(self, piece: int, right: bool) -> bool:
        """Whether a strip, as it is drawn, has an end of the band at its left or `right` end."""
        last = right != self.turned
        return self.ended and (piece == len(self.starts) - 2 if last else piece == 0)


def bends(guard: Guard, piece: int = 0) -> tuple[Bend, ...]:
    """The bends of a strip of the band from left to right, numbered in their order: from both ends to the middle.

    So a ring closes with its last bend, and no leg strikes the press before (common practice).
    """
    if guard.made == "segments":
        return ()
    found = []
    strips = Strips.of(guard)
    for start, edge in edges_in_order(guard):
        if isinstance(edge, Arc):
            long = curve_length(guard, edge)
            at, x = strips.place(start + long / 2)
            if at == piece:
                found.append((x, abs(edge.sweep), edge.radius, long))
    found.sort()
    rolled = guard.made == "rolled"
    # From both ends inward: what is bent already stands up clear of the press, and the strip lies flat in the middle.
    order = sorted(range(len(found)), key=lambda k: (min(k, len(found) - 1 - k), k))
    numbers = {k: number for number, k in enumerate(order, start=1)}
    return tuple(Bend(numbers[k], *one, rolled) for k, one in enumerate(found))


def short_flats(guard: Guard) -> Iterator[tuple[float, float]]:
    """Flats of a bent band that a usual die does not hold: how long each is, and what it should be, mm."""
    if guard.made != "bent":
        return
    # A die opens some eight thicknesses wide (common practice): a shorter leg slips into it before it is bent.
    needed = FLANGE_IN_THICKNESSES * guard.thickness + guard.bend_radius
    for edge in walls(guard.outline, guard.floor):
        if isinstance(edge, Line) and edge.length < needed - SAME_LENGTH:
            yield edge.length, needed


def off_the_flats(guard: Guard) -> Iterator[tuple[int, Point]]:
    """Ears, by number from 1, whose tab has no flat of the band over all its width; where one would do, mm."""
    if guard.made == "segments" or guard.floor is not None:
        return
    half = guard.ear / 2 + guard.thickness
    for number, hole in enumerate(guard.ears, start=1):
        root = guard.outline.nearest(hole).b
        held = False
        for edge in guard.outline.edges:
            if isinstance(edge, Line) and math.dist(edge.nearest(root), root) < SAME_LENGTH:
                along = edge.place(hole) * edge.length
                held = half - SAME_LENGTH <= along <= edge.length - half + SAME_LENGTH
        at_joint = any(math.dist(root, joint) < half + LAP / 2 for joint in guard.joints)
        if held and not at_joint:
            continue
        places = []
        for edge in guard.outline.edges:
            if isinstance(edge, Line) and edge.length >= 2 * half:
                share = min(max(edge.place(hole) * edge.length, half), edge.length - half) / edge.length
                (x, y), (ux, uy) = edge.at(share), edge.direction(0.0)
                reach = max(math.dist(root, hole), tab_reach(guard.ear, guard.thickness))
                if all(math.dist((x, y), joint) >= half + LAP / 2 for joint in guard.joints):
                    places.append((x + reach * uy, y - reach * ux))
        yield number, min(places, key=lambda p: round(math.dist(p, hole), 6), default=hole)


# --------------------------------------------------------------------------------------------- a part


def _part(
    layout: Layout,
    guard: Guard,
    name: str,
    outline: Shape,
    openings: Sequence[Opening],
    flat: FlatPart,
    count: int = 1,
) -> Layout:
    many = f", {count} of it" if count > 1 else ""
    title = f"{guard.name.capitalize()}, {name}{many}: {layout.spec.model.title}"
    return flat_layout(layout, title, (guard.thickness, guard.material), outline, openings, flat, count)


class CutAlone:
    """A flat part with nothing of the job round it: equal to another that is cut of the same sheet in the same way.

    Whatever is found of its `layout` follows from what it is compared by, so it can be looked up by that.
    """

    def __init__(self, part: Layout) -> None:
        spec, words = part.spec, part.spec.model
        self._part = part
        self._cut = (part.outline, part.openings, part.flat)
        self._said = (words.units, words.plate, words.cutting, words.limits, spec.machine, part.material, part.limits)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, CutAlone) and self._cut == other._cut and self._said == other._said

    def __hash__(self) -> int:
        return hash(self._cut)  # some of the words hold lists, which cannot be looked up by

    @property
    def layout(self) -> Layout:
        """The part as a plate whose spec says no more than how it is cut."""
        old = self._part.spec
        kept = {key: getattr(old.model, key) for key in ("platekit", "units", "plate", "cutting", "limits")}
        model = SpecModel.model_construct(title="", mounts={}, **kept)
        top = Node(None, 0, 0, 0, 0, 0)
        spec = Spec(model, "", None, "", old.source, top, machine=old.machine, own=old.own)
        return replace(self._part, spec=spec, twisted=None, couplings=())


def flat_layout(
    layout: Layout,
    title: str,
    sheet: tuple[float, Material],
    outline: Shape,
    openings: Sequence[Opening],
    flat: FlatPart,
    count: int | None,
) -> Layout:
    """A part cut beside the plate as a plate of its own, of a sheet (thickness in mm, material).

    `count` of it go with each plate onto the spec's sheet; None: it comes from other stock, and is cut one by one.
    """
    thickness, material = sheet
    old = layout.spec.model.cutting
    stock = {"copies": 1, "sheet": None, "remnant": None} if count is None else {"copies": old.copies * count}
    told = {
        # bars, tabs, feet and a flange are on the plate alone
        "plate": layout.spec.model.plate.model_copy(
            update={
                "thickness": thickness,
                "material": material.name,
                "ribs": {},
                "tabs": {},
                "feet": None,
                "flange": None,
                "lighten": None,
            }
        ),
        "cutting": old.model_copy(update={"scribe": [], **stock}),
        "title": title,
    }
    spec = replace(layout.spec, model=layout.spec.model.model_copy(update=told))
    return replace(
        layout,
        spec=spec,
        material=material,
        limits=limits_of(spec),
        mounts={},
        openings=tuple(openings),
        bodies=(),
        outline=outline,
        belts=(),
        guards=(),
        flat=flat,
        tabs=(),
        feet=None,
        flange=None,
    )

"""The parts of the guard, each as a flat plate of its own: what is cut, where it is bent, how many of it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

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
)
from platekit.laying.limits import limits_of
from platekit.laying.relief import size_of
from platekit.placed import SAME_LENGTH, FlatPart, Guard, GuardHole, Layout, Opening, Side
from platekit.tables import Material
from platekit.units import show_length

PART = r"guard-(?:back|cover|band|joint|ear)(?:-\d+)?"
"""What a part of a guard is called, as a regular expression."""
GUARD_PARTS = ("guard-back", "guard-cover", "guard-band")
"""The parts of a guard whose back is whole and whose band is one strip."""
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


def guard_parts(layout: Layout) -> dict[str, Layout]:
    """The parts of the guard by name, each once, as `guard-cover`; how many of it is its `cutting.copies`."""
    guard = layout.guard
    if guard is None:
        return {}
    plain = _in_place(guard)
    opened = [
        _hole(f"cover screw {k}", at, guard.cover_hole, "cover screw")
        for k, at in enumerate(guard.cover_holes, start=1)
    ]
    for number, shape in enumerate(guard.vents, start=1):
        vent = Opening(f"vent {number}", "cutout", shape, shape.centroid, size_of(shape), "guard.openings")
        opened.append(replace(vent, of_guard="vent"))
    cover = _part(layout, guard, "cover", sheet_with_lugs(guard, guard.cover_holes), opened, _in_place(guard, True))
    parts = {"guard-cover": cover}
    if guard.back:
        found = halves(guard)
        for index, half in enumerate(found):
            name = "back" if len(found) == 1 else f"back-{index + 1}"
            parts[f"guard-{name}"] = _part(layout, guard, name, half, tuple(_in_back(guard, index)), plain)
    for index, strip in enumerate(joining_strips(guard), start=1):
        holes = [_hole(f"rivet {k}", at, RIVET, "rivet") for k, at in enumerate(strip.holes, start=1)]
        parts[f"guard-joint-{index}"] = _part(
            layout, guard, f"joint-{index}", strip.shape, holes, replace(plain, kind="joint")
        )
    if guard.made == "segments":
        # Flat strips, one a flat of the outline, and ears that are welded to their edges; equal ones are one part.
        alike: dict[tuple[float, float], int] = {}
        for edge in guard.outline.edges:
            size = (round(edge.length, 3), round(guard.band_width, 3))
            alike[size] = alike.get(size, 0) + 1
        for number, ((long, wide), count) in enumerate(alike.items(), start=1):
            name = f"band-{number}"
            parts[f"guard-{name}"] = _part(layout, guard, name, rectangle(long, wide), [], SEGMENT, count)
        ears: dict[tuple[float, float], int] = {}
        for welded, diameter in ((guard.ears, guard.ear_hole), (guard.cover_holes, guard.cover_hole)):
            for hole in welded:
                kind = (round(math.dist(guard.outline.nearest(hole).b, hole) - guard.thickness, 3), round(diameter, 3))
                ears[kind] = ears.get(kind, 0) + 1
        for number, ((reach, diameter), count) in enumerate(ears.items(), start=1):
            half_ear, name = guard.ear / 2, f"ear-{number}"
            shape = Loop(((-half_ear, 0.0, 0.0), (half_ear, 0.0, 0.0), (half_ear, reach, 1.0), (-half_ear, reach, 0.0)))
            parts[f"guard-{name}"] = _part(
                layout, guard, name, shape, [_hole("ear", (0.0, reach), diameter, "ear")], EAR, count
            )
    else:
        for index in range(len(guard.joints)):
            outline, openings, folds = flat_band(guard, index)
            name = "band" if len(guard.joints) == 1 else f"band-{index + 1}"
            told = replace(_strip_told(layout, guard, index), folds=folds)
            parts[f"guard-{name}"] = _part(layout, guard, name, outline, openings, told)
    return dict(sorted(parts.items()))


def _in_place(guard: Guard, cover: bool = False) -> FlatPart:
    """How a part is told that lies in place as the plate does: by its sides, and which of them is the hollow one."""
    inner: Side = "far" if (guard.side == "near") == cover else "near"
    near, far = (f"{side.upper()} SIDE facing you: {'in' if side == inner else 'out'}side" for side in ("near", "far"))
    where = "the cover lies on the band" if cover else "it lies towards the plate, under the band"
    note = f"Guard on the {guard.side} side of the plate; {where}. {LOCAL_CODES}."
    return FlatPart("cover" if cover else "back", (near, far), True, note)


def _strip_told(layout: Layout, guard: Guard, piece: int) -> FlatPart:
    """How a strip of the band is told: it has no near side and no up, but an outside, an edge at the plate, and ends.

    Outside up and its edge at the plate below, it goes counter-clockwise round as seen from the cover, whichever side
    of the plate the guard is on.
    """
    first = piece if guard.side == "near" else (piece + 1) % len(guard.joints)
    unit = layout.spec.unit
    x, y = (show_length(value, unit).rsplit(" ", 1)[0] for value in guard.joints[first])
    note = (
        f"Lower edge at the plate, upper edge at the cover. It begins at the left at joint {first + 1}, {x}, {y} "
        f"({unit}) of the plate's drawing, and runs to the right counter-clockwise round as seen from the cover; its "
        f"right end laps over the next left end outside. {LOCAL_CODES}."
    )
    return FlatPart("band", ("OUTSIDE FACE up", "INSIDE FACE up"), False, note)


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


def flat_band(guard: Guard, piece: int = 0) -> tuple[Loop, list[Opening], tuple[Line, ...]]:
    """A flat strip of the band, its outside face up: outline with tabs, their holes and the laps', and bend lines (mm).

    It runs from 0 to the next joint along x, half a lap more at either end, and from its back edge up along y.
    """
    width, at_ends, notch = guard.band_width, LAP / 2, guard.notch
    strips = Strips.of(guard)
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

    def row(tabs: Sequence[tuple[float, int, Point]]) -> list[Vertex]:
        """One long edge from left to right, as if it were the lower one."""
        found: list[Vertex] = [(-at_ends, 0.0, 0.0)]
        for x, _, hole in sorted(tabs):
            half, tip = guard.ear / 2, _tab_tip(guard, hole, seat, fold)
            found += [
                (x - half - notch, 0.0, 0.0),
                (x - half - notch, seat, -1.0),
                (x - half, seat, 0.0),
                (x - half, tip, 1.0),
                (x + half, tip, 0.0),
                (x + half, seat, -1.0),
                (x + half + notch, seat, 0.0),
                (x + half + notch, 0.0, 0.0),
            ]
        return [*found, (length + at_ends, 0.0, 0.0)]

    # The upper edge is a lower one mirrored and run backwards: each bulge then belongs to the vertex before.
    bottom, top = row(lower), row(upper)
    back = [(x, width - y, top[k - 1][2] if k else 0.0) for k, (x, y, _) in enumerate(top)][::-1]
    outline = Loop((*bottom[:-1], (*bottom[-1][:2], 0.0), *back))
    rows: tuple[tuple[GuardHole, list[tuple[float, int, Point]], bool, float], ...] = (
        ("ear", lower, True, guard.ear_hole),
        ("cover screw", upper, False, guard.cover_hole),
    )
    holes = [
        _hole(f"{what} {k}", (x, y if low else width - y), diameter, what)
        for what, tabs, low, diameter in rows
        for x, k, hole in tabs
        for y in (_tab_tip(guard, hole, seat, fold),)
    ]
    holes += [
        _hole(f"lap {k}", (x, y), RIVET, "lap")
        for k, (x, y) in enumerate(((x, share * width) for x in (0.0, length) for share in (0.25, 0.75)), start=1)
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
    return outline, holes, tuple(folds)


def _tab_tip(guard: Guard, hole: Point, seat: float, fold: float) -> float:
    """Where the hole of a tab lies on the flat band, mm below its edge (so under 0): past the fold and what is left.

    `seat` is where the wall ends, `fold` what the fold takes.
    """
    # As far as the hole stands off the band once folded; the fold takes its own share of the flat length.
    reach = math.dist(guard.outline.nearest(hole).b, hole)
    return seat - fold - (reach - seat)


class Strips(Struct, frozen=True):
    """How far along the flat band each strip begins, and where the last one ends, mm; `far` for a far side's guard."""

    starts: tuple[float, ...]
    far: bool

    @classmethod
    def of(cls, guard: Guard) -> Strips:
        """The strips of a guard's band, from joint to joint, mm."""
        starts = (along_flat(guard, joint) if k else 0.0 for k, joint in enumerate(guard.joints))
        return cls((*starts, guard.band_length), guard.side == "far")

    def length(self, piece: int) -> float:
        """Length of a strip from joint to joint, without its laps, mm."""
        return self.starts[piece + 1] - self.starts[piece]

    def place(self, along: float) -> tuple[int, float]:
        """The strip that a place along the flat band falls on, and where on it that is drawn, outside face up, mm."""
        piece = max(k for k in range(len(self.starts) - 1) if self.starts[k] <= along + SAME_LENGTH)
        x = along - self.starts[piece]
        # on the far side the outline runs the other way, seen from outside
        return piece, self.length(piece) - x if self.far else x


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
    for edge in guard.outline.edges:
        if isinstance(edge, Line) and edge.length < needed - SAME_LENGTH:
            yield edge.length, needed


def off_the_flats(guard: Guard) -> Iterator[tuple[int, Point]]:
    """Ears, by number from 1, whose tab has no flat of the band over all its width; where one would do, mm."""
    if guard.made == "segments":
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
    title = f"Guard, {name}{many}: {layout.spec.model.title}"
    return flat_layout(layout, title, (guard.thickness, guard.material), outline, openings, flat, count)


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
        # bars are on the plate alone
        "plate": layout.spec.model.plate.model_copy(
            update={"thickness": thickness, "material": material.name, "ribs": {}}
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
        guard=None,
        flat=flat,
    )

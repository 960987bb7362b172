"""The guard in the layout: an outline at its gap round all that belt and pulleys sweep, a band, a back and a cover."""

from __future__ import annotations

import math
from collections.abc import Iterator

from msgspec.structs import replace

from platekit import tables
from platekit.errors import SpecError
from platekit.geometry import (
    Arc,
    CurvedSlot,
    Disc,
    Edge,
    Loop,
    Point,
    Shape,
    difference,
    disc_loop,
    hull,
    rectangle,
    slot,
    sweep,
    union_loops,
)
from platekit.laying.limits import limits_of
from platekit.laying.relief import size_of
from platekit.laying.shafts import on_the_axis
from platekit.placed import SAME_LENGTH, Body, Guard, Layout, Opening, PlacedBelt, PlateLimits, Side
from platekit.spec import Spec
from platekit.spec.guard_words import GuardWords

GUARD_PARTS = ("guard-back", "guard-cover", "guard-band")
"""The flat parts that a guard is made of."""
SHAFT_ROOM = 5.0
"""Room round a shaft in the guard's back plate, all round, mm (from memory)."""
EARS = 4
"""Ears of a guard whose spec does not say how many (ours)."""
EAR_SCREWS = ("M16", "M12", "M10", "M8", "M6", "M5", "M4", "M3")
"""Screws that an ear's hole may be for, the largest first (ours)."""
ASKEW = 0.35
"""How far from the belt's line the back plate is taken apart, rad (ours: no line then runs along an edge of it)."""
BACK = "guard.back"
"""The item of the back plate with its ears and their screws: it goes on before the pulleys that stand over it."""


def guard_of(spec: Spec, belts: tuple[PlacedBelt, ...], bodies: tuple[Body, ...]) -> Guard | None:
    """The guard that the spec describes; None if it describes none.

    Raises `SpecError` for a guard without a belt, or a band too narrow to reach past the pulleys.
    """
    words = spec.model.guard
    if words is None:
        return None
    belt = next((belt for belt in belts if belt.name == words.belt), None)
    if belt is None:
        wanted = "describe the belt under `drive`, or take the guard out"
        raise SpecError((spec.problem("guard", f"a guard for the belt {words.belt!r}, which is not there", wanted),))
    if belt.drawn.lies:
        wanted = "leave it out and make the guard by the parts: its band would stand square to the plate"
        raise SpecError((spec.problem("guard", "a guard over a belt whose shafts lie along the plate", wanted),))
    inside = [body for body in bodies if body.belt == belt.name]
    outline = hull([body.swept.grown(words.gap) for body in inside])
    outline = disc_loop(outline) if isinstance(outline, Disc) else outline
    side: Side = "near" if belt.driver.plane > 0 else "far"
    back, front = _z(spec, words, inside, side)
    sheet = (back - words.thickness, back) if side == "near" else (back, back + words.thickness)
    at = words.fixings.at
    return Guard(
        belt=belt.name,
        side=side,
        on=words.on,
        back=words.back == "sheet",
        off_plate=words.back_from_plate,
        outline=outline,
        gap=words.gap,
        thickness=words.thickness,
        material=tables.material(words.material),
        band_length=outline.perimeter,
        band_width=abs(front - back),
        z=(min(back, front), max(back, front)),
        shafts=tuple(_shafts(belt, bodies, sheet)) if words.back == "sheet" else (),
        ears=tuple(_ears(outline, words) if at is None else at),
        ears_given=at is not None,
        ear=words.fixings.ear,
        ear_hole=words.fixings.hole,
        screw=_screw_through(words.fixings.hole),
        opening=None if words.openings is None else (words.openings.shape, words.openings.width, words.openings.length),
    )


def _z(spec: Spec, words: GuardWords, inside: list[Body], side: Side) -> tuple[float, float]:
    """Z of the back plate's inner face (without one, where the band begins) and of the cover's, mm."""
    sign = 1.0 if side == "near" else -1.0
    face = 0.0 if side == "near" else -spec.model.plate.thickness
    back = face + sign * (words.back_from_plate + (words.thickness if words.back == "sheet" else 0.0))
    reach = max(sign * z for body in inside for z in body.z) * sign
    needed = sign * (reach - back) + words.gap
    width = needed if words.band == "auto" else words.band
    if width < sign * (reach - back):
        wanted = f"give at least {sign * (reach - back):g} mm, or auto"
        raise SpecError((spec.problem("guard.band", f"a band of {width:g} mm that ends before the pulleys", wanted),))
    return back, back + sign * width


def _shafts(belt: PlacedBelt, bodies: tuple[Body, ...], sheet: tuple[float, float]) -> Iterator[Shape]:
    """What the back plate leaves open: round each shaft, and a hub that reaches so far, over the whole travel."""
    for pulley in belt.pulleys:
        turning = [body for body in bodies if body.name == f"{pulley.name}.hub" or on_the_axis(body, pulley)]
        passing = [
            body.swept.grown(SHAFT_ROOM)
            for body in turning
            if body.name != pulley.name and body.z[0] < sheet[1] and body.z[1] > sheet[0]
        ]
        if passing:
            yield passing[0] if len(passing) == 1 else hull(passing)
        else:  # nothing tells of its shaft: half the pulley is thicker than any
            yield sweep(Disc(pulley.center, pulley.pitch_diameter / 4 + SHAFT_ROOM), pulley.travel)


def _ears(outline: Loop, words: GuardWords) -> Iterator[Point]:
    """Hole centres of the ears: evenly spread along the outline, half an ear outside it; none at the band's joint."""
    path = outline.grown(words.fixings.ear / 2)
    assert isinstance(path, Loop)
    count = words.fixings.count or EARS
    step = path.perimeter / count
    for index in range(count):
        yield _along(path, (index + 0.5) * step)


def _screw_through(hole: float) -> str | None:
    """The largest metric screw that passes a hole (mm) with a close fit; None if none does."""
    return next((size for size in EAR_SCREWS if tables.screw(size).clearance["close"] <= hole + SAME_LENGTH), None)


def _along(loop: Loop, distance: float) -> Point:
    """The point at a distance along the outline from its first corner, mm."""
    for edge in loop.edges:
        if distance <= edge.length:
            return edge.at(distance / edge.length)
        distance -= edge.length
    return loop.edges[-1].b


def guard_openings(guard: Guard | None) -> Iterator[Opening]:
    """The holes that the plate gets for the ears of a guard that it carries."""
    if guard is None or guard.on != "plate":
        return
    for number, point in enumerate(guard.ears, start=1):
        hole = Disc(point, guard.ear_hole / 2)
        yield Opening(f"guard.ear {number}", "fixing", hole, point, guard.ear_hole, "guard.fixings")


def guard_bodies(guard: Guard | None, limits: PlateLimits, thickness: float) -> Iterator[Body]:
    """All that a guard consists of, as bodies that stand still on a plate so thick (mm).

    The band edge by edge, the cover, the back plate with its ears in pieces without holes, and what holds the ears:
    screw heads, and nuts and spacers where the plate carries the guard.
    """
    if guard is None:
        return
    band = [
        _body(f"guard.band {index}", _strip(edge, guard.thickness), guard.z, guard, limits)
        for index, edge in enumerate(guard.outline.edges, start=1)
    ]
    yield from band
    low, high = guard.z
    cover = (high, high + guard.thickness) if guard.side == "near" else (low - guard.thickness, low)
    yield _body("guard.cover", guard.outline, cover, guard, limits)
    flat, carrier = _back_z(guard), BACK if guard.back else "guard"
    beside = frozenset({"guard.cover", *(strip.name for strip in band)})
    names = [f"guard.ear {number}" for number in range(1, len(guard.ears) + 1)]
    sheets = _back_pieces(guard) if guard.back else [_ear(guard, point) for point in guard.ears]
    if guard.back:
        names = [f"{BACK} {number}" for number in range(1, len(sheets) + 1)]
    sheet = [
        replace(_body(name, shape, flat, guard, limits), carrier=carrier, touches=beside)
        for name, shape in zip(names, sheets, strict=True)
    ]
    yield from sheet
    yield from _what_holds_it(guard, limits, thickness, flat, carrier, frozenset(names))


def _back_z(guard: Guard) -> tuple[float, float]:
    """Low and high of the back plate with its ears; without one, of the ears."""
    low, high = guard.z
    if guard.back:
        return (low - guard.thickness, low) if guard.side == "near" else (high, high + guard.thickness)
    return (low, low + guard.thickness) if guard.side == "near" else (high - guard.thickness, high)


def _back_pieces(guard: Guard, askew: float = ASKEW) -> list[Loop]:
    """The back plate with its ears, parted by lines through the middle of each shaft's opening: so none is a hole."""
    eared = _eared(guard)
    far = eared.box.width + eared.box.height + 1.0
    first, last = (guard.shafts[0].centroid, guard.shafts[-1].centroid)
    turn = math.atan2(last[1] - first[1], last[0] - first[0]) + askew
    way = (math.cos(turn), math.sin(turn))
    spots = sorted(guard.shafts, key=lambda shape: shape.centroid[0] * way[0] + shape.centroid[1] * way[1])
    pieces: list[Loop] = []
    for before, after in zip([None, *spots], [*spots, None], strict=True):
        outside = []
        for shape, sign in ((before, -1.0), (after, 1.0)):
            if shape is not None:
                x, y = shape.centroid
                middle = (x + sign * far * way[0], y + sign * far * way[1])
                outside.append(rectangle(2 * far, 4 * far, center=middle, turn=turn))
        pieces += difference(eared, [*guard.shafts, *outside])
    return pieces


def _what_holds_it(
    guard: Guard,
    limits: PlateLimits,
    thickness: float,
    flat: tuple[float, float],
    carrier: str,
    sheets: frozenset[str],
) -> Iterator[Body]:
    """Each ear's screw head; where the plate carries the guard, the nut on its other face and the spacer between."""
    if guard.screw is None:
        return
    screw, near = tables.screw(guard.screw), guard.side == "near"
    head, nut = screw.hex_head_height or screw.diameter, screw.nut_height or screw.diameter
    wide = (screw.hex_across_corners or 2 * screw.diameter) / 2
    for number, point in enumerate(guard.ears, start=1):
        name, disc = f"guard.screw {number}", Disc(point, wide)
        own = sheets | {f"{name} {what}" for what in ("head", "nut", "spacer")}
        head_z = (flat[1], flat[1] + head) if near else (flat[0] - head, flat[0])
        yield replace(_body(f"{name} head", disc, head_z, guard, limits), carrier=carrier, touches=own)
        if guard.on != "plate":
            continue
        nut_z = (-thickness - nut, -thickness) if near else (0.0, nut)
        other: Side = "far" if near else "near"
        yield replace(_body(f"{name} nut", disc, nut_z, guard, limits), carrier="plate", side=other, touches=own)
        if guard.off_plate:
            gap = (0.0, guard.off_plate) if near else (-thickness - guard.off_plate, -thickness)
            yield replace(_body(f"{name} spacer", disc, gap, guard, limits), carrier="plate", touches=own)


def _strip(edge: Edge, thickness: float) -> Shape:
    if isinstance(edge, Arc):
        start = edge.start if edge.sweep > 0 else edge.start + edge.sweep
        return CurvedSlot(edge.center, edge.radius, start, abs(edge.sweep), thickness / 2)
    return slot(edge.a, edge.b, thickness / 2)


def _body(name: str, shape: Shape, z: tuple[float, float], guard: Guard, limits: PlateLimits) -> Body:
    return Body(
        name=name,
        kind="guard",
        carrier="guard",
        side=guard.side,
        shape=shape,
        swept=shape,
        z=z,
        gap=limits.gap.value,
        relief=False,
        field="guard",
    )


# --------------------------------------------------------------------------------------------- parts


def guard_parts(layout: Layout) -> dict[str, Layout]:
    """The parts of the guard, each as a flat plate of its own: `guard-back` if it has one, `guard-cover`, `guard-band`.

    The band is drawn flat, as long as the outline; a bend takes up about half the sheet's thickness a corner.
    """
    guard = layout.guard
    if guard is None:
        return {}
    holes = [
        Opening(f"ear {number}", "cutout", Disc(point, guard.ear_hole / 2), point, guard.ear_hole, "guard.fixings")
        for number, point in enumerate(guard.ears, start=1)
    ]
    shafts = [
        Opening(f"shaft {number}", "cutout", shape, shape.centroid, size_of(shape), "guard")
        for number, shape in enumerate(guard.shafts, start=1)
    ]
    parts = {"guard-cover": _part(layout, guard, "cover", guard.outline, ())}
    if guard.back:
        parts["guard-back"] = _part(layout, guard, "back", _eared(guard), (*holes, *shafts))
        parts["guard-band"] = _part(layout, guard, "band", rectangle(guard.band_length, guard.band_width), ())
    else:
        parts["guard-band"] = _part(layout, guard, "band", *_tabbed_band(guard))
    return {name: parts[name] for name in GUARD_PARTS if name in parts}


def _tabbed_band(guard: Guard) -> tuple[Loop, tuple[Opening, ...]]:
    """The flat band with the ears as tabs on the edge at the plate, and their holes; each is folded along that edge."""
    tabs, holes = [], []
    edge = -guard.band_width / 2
    for number, point in enumerate(guard.ears, start=1):
        root = guard.outline.nearest(point).b
        reach = math.dist(root, point)
        along = _run(guard.outline, root) - guard.band_length / 2
        along = min(max(along, (guard.ear - guard.band_length) / 2), (guard.band_length - guard.ear) / 2)
        hole = (along, edge - reach)
        tabs.append(slot((along, edge + guard.ear / 2), hole, guard.ear / 2))
        disc = Disc(hole, guard.ear_hole / 2)
        holes.append(Opening(f"ear {number}", "cutout", disc, hole, guard.ear_hole, "guard.fixings"))
    return union_loops([rectangle(guard.band_length, guard.band_width), *tabs])[0], tuple(holes)


def _run(loop: Loop, point: Point) -> float:
    """How far along the outline from its first corner a point of it is, mm."""
    before, best = 0.0, (math.inf, 0.0)
    for edge in loop.edges:
        if isinstance(edge, Arc):
            turned = math.atan2(point[1] - edge.center[1], point[0] - edge.center[0]) - edge.start
            share = (turned if edge.sweep > 0 else -turned) % math.tau / abs(edge.sweep)
        else:
            (ax, ay), (bx, by) = edge.a, edge.b
            share = ((point[0] - ax) * (bx - ax) + (point[1] - ay) * (by - ay)) / edge.length**2
        share = min(max(share, 0.0), 1.0)
        best = min(best, (math.dist(edge.at(share), point), before + share * edge.length))
        before += edge.length
    return best[1]


def _eared(guard: Guard) -> Loop:
    """The back plate's outside: the outline with its ears."""
    return union_loops([guard.outline, *(_ear(guard, point) for point in guard.ears)])[0]


def _ear(guard: Guard, point: Point) -> Shape:
    """An ear from inside the outline to half its width past its hole."""
    return slot(guard.outline.nearest(point).b, point, guard.ear / 2)


def _part(layout: Layout, guard: Guard, name: str, outline: Shape, openings: tuple[Opening, ...]) -> Layout:
    plate = layout.spec.model.plate.model_copy(update={"thickness": guard.thickness, "material": guard.material.name})
    cutting = layout.spec.model.cutting.model_copy(update={"scribe": []})
    told = {"plate": plate, "cutting": cutting, "title": f"{layout.spec.model.title}: guard, {name}"}
    model = layout.spec.model.model_copy(update=told)
    spec = replace(layout.spec, model=model)
    return replace(
        layout,
        spec=spec,
        material=guard.material,
        limits=limits_of(spec),
        mounts={},
        openings=openings,
        bodies=(),
        outline=outline,
        belts=(),
        guard=None,
    )

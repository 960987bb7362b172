"""The guard in the layout: an outline at its gap round all that belt and pulleys sweep, a band, a back and a cover."""

from __future__ import annotations

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
    disc_loop,
    hull,
    rectangle,
    slot,
    union_loops,
)
from platekit.laying.limits import limits_of
from platekit.placed import Body, Guard, Layout, Opening, PlacedBelt, PlateLimits, Side
from platekit.spec import Spec
from platekit.spec.guard_words import GuardWords

GUARD_PARTS = ("guard-back", "guard-cover", "guard-band")
"""The flat parts that a guard is made of."""
SHAFT_ROOM = 5.0
"""Room round a shaft in the guard's back plate, all round, mm (from memory)."""


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
    inside = [body for body in bodies if body.name.startswith(f"{belt.name}.")]
    outline = hull([body.swept.grown(words.gap) for body in inside])
    outline = disc_loop(outline) if isinstance(outline, Disc) else outline
    side: Side = "near" if belt.driver.plane > 0 else "far"
    back, front = _z(spec, words, inside, side)
    return Guard(
        belt=belt.name,
        side=side,
        outline=outline,
        gap=words.gap,
        thickness=words.thickness,
        material=tables.material(words.material),
        band_length=outline.perimeter,
        band_width=abs(front - back),
        z=(min(back, front), max(back, front)),
        shafts=tuple(Disc(center, radius + SHAFT_ROOM) for center, radius in _shafts(belt, bodies)),
        ears=tuple(_ears(outline, words)),
        ear=words.fixings.ear,
        ear_hole=words.fixings.hole,
        opening=None if words.openings is None else (words.openings.shape, words.openings.width, words.openings.length),
    )


def _z(spec: Spec, words: GuardWords, inside: list[Body], side: Side) -> tuple[float, float]:
    """Z of the back plate's inner face and of the cover's, mm."""
    sign = 1.0 if side == "near" else -1.0
    face = 0.0 if side == "near" else -spec.model.plate.thickness
    back = face + sign * (words.back_from_plate + words.thickness)
    reach = max(sign * z for body in inside for z in body.z) * sign
    needed = sign * (reach - back) + words.gap
    width = needed if words.band == "auto" else words.band
    if width < sign * (reach - back):
        wanted = f"give at least {sign * (reach - back):g} mm, or auto"
        raise SpecError((spec.problem("guard.band", f"a band of {width:g} mm that ends before the pulleys", wanted),))
    return back, back + sign * width


def _shafts(belt: PlacedBelt, bodies: tuple[Body, ...]) -> Iterator[tuple[Point, float]]:
    """Middle and half the width of what the back plate leaves open: each shaft over its travel, as a disc round it."""
    for pulley in belt.pulleys:
        own = [body for body in bodies if body.name == f"{pulley.mount}.shaft"]
        if own:
            yield own[0].swept.centroid, max(own[0].swept.box.width, own[0].swept.box.height) / 2
        else:
            yield pulley.center, pulley.pitch_diameter / 4


def _ears(outline: Loop, words: GuardWords) -> Iterator[Point]:
    """Hole centres of the ears: evenly spread along the outline, half an ear outside it."""
    path = outline.grown(words.fixings.ear / 2)
    assert isinstance(path, Loop)
    step = path.perimeter / words.fixings.count
    at = 0.0
    for index in range(words.fixings.count):
        yield _along(path, at + index * step)


def _along(loop: Loop, distance: float) -> Point:
    """The point at a distance along the outline from its first corner, mm."""
    for edge in loop.edges:
        if distance <= edge.length:
            return edge.at(distance / edge.length)
        distance -= edge.length
    return loop.edges[-1].b


def guard_bodies(guard: Guard | None, limits: PlateLimits) -> Iterator[Body]:
    """The band edge by edge, and the cover, as bodies fixed to the plate. The back plate is open round the shafts."""
    if guard is None:
        return
    for index, edge in enumerate(guard.outline.edges, start=1):
        yield _body(f"guard.band {index}", _strip(edge, guard.thickness), guard.z, guard, limits)
    low, high = guard.z
    cover = (high, high + guard.thickness) if guard.side == "near" else (low - guard.thickness, low)
    yield _body("guard.cover", guard.outline, cover, guard, limits)


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
    """The parts of the guard, each as a flat plate of its own: `guard-back`, `guard-cover`, `guard-band`.

    The band is drawn flat, as long as the outline; a bend takes up about half the sheet's thickness a corner.
    """
    guard = layout.guard
    if guard is None:
        return {}
    ears = [_ear(guard, point) for point in guard.ears]
    eared = union_loops([guard.outline, *ears])[0]
    holes = [
        Opening(f"ear {number}", "cutout", Disc(point, guard.ear_hole / 2), point, guard.ear_hole, "guard.fixings")
        for number, point in enumerate(guard.ears, start=1)
    ]
    shafts = [
        Opening(f"shaft {number}", "cutout", shape, shape.center, 2 * shape.radius, "guard")
        for number, shape in enumerate(guard.shafts, start=1)
    ]
    parts = (
        _part(layout, guard, "back", eared, (*holes, *shafts)),
        _part(layout, guard, "cover", guard.outline, ()),
        _part(layout, guard, "band", rectangle(guard.band_length, guard.band_width), ()),
    )
    return dict(zip(GUARD_PARTS, parts, strict=True))


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

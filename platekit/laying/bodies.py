"""The bodies of the parts: given in the spec, brought by a standard, and the spigots that stand into the plate."""

from __future__ import annotations

import math
from collections.abc import Iterator

from msgspec.structs import replace

from platekit import tables
from platekit.geometry import Disc, Lying, Pose, Shape, Travel, Upright, sweep
from platekit.laying.mounts import MountFrame
from platekit.laying.pilots import pilot_of, sunk
from platekit.laying.shapes import errors_at
from platekit.laying.space import on_plate, plate_matrix, spaces_of, standard_space
from platekit.laying.spans import z_range
from platekit.laying.welded import weld_leg, weld_solid
from platekit.placed import Body, Movable, PlacedRib, PlateLimits
from platekit.spec import Spec


def given_bodies(spec: Spec, frames: dict[str, MountFrame], limits: PlateLimits) -> tuple[Body, ...]:
    """The bodies of the spec, brought into the plate frame with their carriers; a standard part brings several (mm)."""
    bodies: list[Body] = []
    thickness = spec.model.plate.thickness
    for name, body in spec.model.bodies.items():
        field, frame = f"bodies.{name}", frames.get(body.carried_by)
        pose, travel, standoff, side, placed = Pose(), None, 0.0, body.side, None
        if frame is not None:
            pose, travel, standoff, side = frame.pose, frame.travel, frame.mount.standoff, frame.mount.side
        else:  # on the plate: its own `at` is all that places it
            at, where = (body.at, "at") if body.shape is None else (body.shape.at, "shape.at")
            placed = Movable("body", name, f"{field}.{where}", at)
        assert side is not None
        with errors_at(spec, field):
            for space in spaces_of(spec, body, field):
                shape = space.shape.moved(pose)
                bodies.append(
                    Body(
                        name=f"{name}.{space.part}" if space.part else name,
                        kind="given",
                        carrier=body.carried_by,
                        side=side,
                        shape=shape,
                        swept=sweep(shape, travel),
                        z=z_range(side, space.span, thickness, standoff),
                        gap=limits.gap.value if body.gap is None else body.gap,
                        relief=body.relief == "auto",
                        field=field,
                        travel=travel,
                        touches=frozenset(body.touches),
                        pieces=tuple(on_plate(piece, pose, side, thickness, standoff) for piece in space.pieces),
                        standard=body.standard,
                        needs=body.needs,
                        removable=body.removable,
                        turns=body.turns,
                        placed=placed,
                        solid_model=None
                        if space.model is None
                        else space.model.then(plate_matrix(pose, side, thickness, standoff)),
                    )
                )
    return tuple(bodies)


def rib_bodies(spec: Spec, limits: PlateLimits) -> Iterator[Body]:
    """The bars welded to the plate on edge, with their welds (plate frame, mm): in the way of all that comes near."""
    for name, words in spec.model.plate.ribs.items():
        rib, thickness = PlacedRib.of(name, words), spec.model.plate.thickness
        leg = weld_leg(spec.unit, thickness, rib.width)
        low, high = z_range(rib.side, (0.0, rib.height), thickness, 0.0)
        weld, covered = weld_solid(rib.shape, leg, rib.side, thickness), rib.shape.grown(leg)
        yield Body(
            name=name,
            kind="given",
            carrier="plate",
            side=rib.side,
            shape=covered,
            swept=covered,
            z=(min(low, weld.low), max(high, weld.high)),
            gap=limits.gap.value,
            relief=False,
            field=f"plate.ribs.{name}",
            pieces=(Upright(rib.shape, low, high), weld),
        )


def standard_bodies(spec: Spec, frame: MountFrame, limits: PlateLimits) -> tuple[Body, ...]:
    """What a standard part brings with it: its shaft, its face, a nominal frame (plate frame, mm).

    Its shaft gets an opening by itself where no other opening lets it through. The nominal frame gives way to any body
    on the part's own side that the spec measured; the pilot is `spigot`'s.
    """
    if frame.standard is None or not frame.mount.standard_bodies:
        return ()
    # A body on the part's own side was measured on the part at hand: it is worth more than the frame of the tables,
    # which is that of the largest one that the standard covers. Past the shoulder of a shaft that lies along the plate
    # is none of that: a sheet or a disc that the part carries there says nothing of its frame.
    shoulder = math.inf
    if frame.standard.shaft_end_mm is not None and frame.standard.shaft_length is not None:
        shoulder = frame.standard.shaft_end_mm[1] - frame.standard.shaft_length
    measured = any(
        space.span[1] > 0 and space.shape.box.y0 < shoulder
        for name, body in spec.model.bodies.items()
        if body.carried_by == frame.name
        for space in spaces_of(spec, body, f"bodies.{name}")
    )
    told = frame.mount.shaft is not None or frame.mount.shafts
    left_out = {"pilot", "raised face", *({"frame"} if measured else ()), *({"shaft"} if told else ())}
    # A part whose own mating face is a pilot that carries the screws goes in as far as that, and all of it with it.
    deep = sunk(frame) if frame.standard.screws_inside_pilot else 0.0
    side, thickness, standoff = frame.mount.side, spec.model.plate.thickness, frame.mount.standoff - deep
    bodies: list[Body] = []
    for listed in frame.standard.bodies:
        if listed.name not in left_out:
            space = standard_space(frame.standard, listed)
            span, shape = (space.span[0] - deep, space.span[1] - deep), space.shape.moved(frame.pose)
            body = _part_body(spec, frame, space.part, "standard", shape, span, limits.gap.value, relief=True)
            pieces = tuple(on_plate(piece, frame.pose, side, thickness, standoff) for piece in space.pieces)
            bodies.append(replace(body, pieces=pieces))
    if "shaft" not in left_out:
        bodies += _key(spec, frame, deep, limits)
    return tuple(bodies)


def _key(spec: Spec, frame: MountFrame, deep: float, limits: PlateLimits) -> Iterator[Body]:
    """The room that the key on a standard's shaft turns in: as much wider than the shaft as it stands out (mm).

    Where the standard leaves its length to the maker it may be anywhere along the shaft's end, and is taken to be all
    along it.
    """
    standard = frame.standard
    seat = None if standard is None else tables.key_seat(standard)
    if standard is None or seat is None or standard.shaft_length is None:
        return
    radius, reach = seat.shaft / 2 + seat.proud, standard.shaft_length
    length = reach if seat.length is None else min(seat.length, reach)
    if standard.shaft_height is None or standard.shaft_end_mm is None:
        disc = Disc((0.0, 0.0), radius).moved(frame.pose)
        span = (-reach - deep, -reach - deep + length)
        yield _part_body(spec, frame, "key", "standard", disc, span, limits.gap.value, relief=True)
        return
    x, end = standard.shaft_end_mm
    lying = Lying((x, end - length), (x, end), radius, standard.shaft_height)
    shape = lying.silhouette.moved(frame.pose)
    body = _part_body(spec, frame, "key", "standard", shape, (lying.low, lying.high), limits.gap.value, relief=True)
    place = (frame.mount.side, spec.model.plate.thickness, frame.mount.standoff - deep)
    yield replace(body, pieces=(on_plate(lying, frame.pose, *place),))


def told_shafts(spec: Spec, frame: MountFrame, limits: PlateLimits) -> Iterator[Body]:
    """The shafts that the spec tells of a part; one square to the plate gets its opening, as a standard's does (mm)."""
    mount, thickness = frame.mount, spec.model.plate.thickness
    told = {"shaft": mount.shaft} if mount.shaft is not None else mount.shafts
    for name, shaft in told.items():
        field = f"{frame.field}.shaft" if mount.shaft is not None else f"{frame.field}.shafts.{name}"
        radius, (start, stop) = shaft.diameter / 2, shaft.stretch
        # Square to the plate it comes towards it and may have to go through, so it gets an opening; lying, it never
        # does.
        if shaft.along == "square":
            disc = Disc(shaft.at, radius).moved(frame.pose)
            square = _part_body(spec, frame, name, "standard", disc, (-stop, -start), limits.gap.value, relief=True)
            yield replace(square, field=field)
            continue
        (x, y), dx, dy = shaft.at, math.cos(shaft.along), math.sin(shaft.along)
        # A shaft's stretch is counted from where it leaves its part along the way that it points, in the part's frame.
        lying = Lying((x + start * dx, y + start * dy), (x + stop * dx, y + stop * dy), radius, shaft.height)
        span = (lying.low, lying.high)
        body = _part_body(
            spec, frame, name, "standard", lying.silhouette.moved(frame.pose), span, limits.gap.value, relief=False
        )
        pieces = (on_plate(lying, frame.pose, mount.side, thickness, mount.standoff),)
        yield replace(body, pieces=pieces, field=field)


def measured_shafts(spec: Spec, frame: MountFrame, limits: PlateLimits) -> Iterator[Body]:
    """The shafts that were measured with a part's holes: they stand out of it, and get an opening (plate frame, mm).

    Where nobody says how far one stands, it is taken to go through the plate and to end at its other face.
    """
    measured, survey = frame.mount.pattern.measured, frame.holes.survey
    if measured is None or survey is None:
        return
    for name, hole in measured.holes.items():
        place = survey.holes.get(name)
        if measured.kind_of(name) != "shaft" or place is None or place.diameter is None:
            continue
        # one that ends behind the face is in nobody's way
        if hole.stands == 0.0:
            continue
        out = hole.stands or frame.mount.standoff + spec.model.plate.thickness
        disc = Disc((place.x, place.y), place.diameter / 2).moved(frame.pose)
        body = _part_body(spec, frame, name, "standard", disc, (-out, 0.0), limits.gap.value, relief=True)
        yield replace(body, field=f"{frame.field}.pattern.measured.holes.{name}", measured=True)


def spigot(spec: Spec, frame: MountFrame) -> tuple[Body, ...]:
    """The pilot that stands into the plate, if the part has one (plate frame, mm)."""
    # Only what enters the plate is a body: a pilot that a recess of the part itself hides is in nobody's way.
    pilot = pilot_of(frame)
    if pilot is None or pilot.enters == 0:
        return ()
    shape = Disc((0.0, 0.0), pilot.diameter / 2).moved(frame.pose)
    return (_part_body(spec, frame, "spigot", "spigot", shape, (-pilot.enters, 0.0), 0.0, relief=False),)


def _part_body(
    spec: Spec,
    frame: MountFrame,
    name: str,
    kind: str,
    shape: Shape,
    span: tuple[float, float],
    gap: float,
    relief: bool,
) -> Body:
    travel: Travel | None = frame.travel
    return Body(
        name=f"{frame.name}.{name}",
        kind="spigot" if kind == "spigot" else "standard",
        carrier=frame.name,
        side=frame.mount.side,
        shape=shape,
        swept=sweep(shape, travel),
        z=z_range(frame.mount.side, span, spec.model.plate.thickness, frame.mount.standoff),
        gap=gap,
        relief=relief,
        field=frame.field,
        travel=travel,
    )

"""The bodies of the parts: given in the spec, brought by a standard, and the spigots that stand into the plate."""

from __future__ import annotations

import math
from collections.abc import Iterator

from msgspec.structs import replace

from platekit.geometry import Disc, Lying, Pose, Shape, Travel, sweep
from platekit.laying.mounts import MountFrame
from platekit.laying.pilots import pilot_of, sunk
from platekit.laying.shapes import told_at
from platekit.laying.space import OwnSpace, on_plate, spaces_of, standard_space
from platekit.laying.spans import z_range
from platekit.placed import Body, Movable, PlateLimits
from platekit.spec import Spec
from platekit.spec import models as words


def given_bodies(spec: Spec, frames: dict[str, MountFrame], limits: PlateLimits) -> tuple[Body, ...]:
    """The bodies of the spec, brought into the plate frame with their carriers; a standard part brings several."""
    bodies: list[Body] = []
    for name, given in spec.model.bodies.items():
        with told_at(spec, f"bodies.{name}"):
            bodies += _given(spec, name, given, frames.get(given.carried_by), limits)
    return tuple(bodies)


def _given(
    spec: Spec, name: str, body: words.BodyWords, frame: MountFrame | None, limits: PlateLimits
) -> Iterator[Body]:
    field = f"bodies.{name}"
    pose, travel, standoff = (Pose(), None, 0.0)
    side = body.side
    if frame is not None:
        pose, travel, standoff, side = frame.pose, frame.travel, frame.mount.standoff, frame.mount.side
    assert side is not None
    placed = None
    if frame is None:  # on the plate: its own `at` is all that places it
        at, where = (body.at, "at") if body.shape is None else (body.shape.at, "shape.at")
        placed = Movable("body", name, f"{field}.{where}", at)
    thickness = spec.model.plate.thickness
    for space in spaces_of(spec, body, field):
        shape = space.shape.moved(pose)
        yield Body(
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
            placed=placed,
        )


def standard_bodies(spec: Spec, frame: MountFrame, limits: PlateLimits) -> tuple[Body, ...]:
    """What a standard part brings with it: its shaft, its face, a nominal frame.

    Its shaft gets an opening by itself where no other opening lets it through. The nominal frame gives way to any body
    on the part's own side that the spec measured; the pilot is `spigot`'s.
    """
    if frame.standard is None or not frame.mount.standard_bodies:
        return ()
    # A body on the part's own side was measured on the part at hand: it is worth more than the frame of the tables,
    # which is that of the largest one that the standard covers.
    measured = any(
        space.span[1] > 0
        for name, body in spec.model.bodies.items()
        if body.carried_by == frame.name
        for space in spaces_of(spec, body, f"bodies.{name}")
    )
    told = frame.mount.shaft is not None or frame.mount.shafts
    left_out = {"pilot", "raised face", *({"frame"} if measured else ()), *({"shaft"} if told else ())}
    return tuple(
        _standard(spec, frame, standard_space(frame.standard, body), limits)
        for body in frame.standard.bodies
        if body.name not in left_out
    )


def told_shafts(spec: Spec, frame: MountFrame, limits: PlateLimits) -> Iterator[Body]:
    """The shafts that the spec tells of a part; one square to the plate gets its opening, as a standard's does."""
    mount, thickness = frame.mount, spec.model.plate.thickness
    told = {"shaft": mount.shaft} if mount.shaft is not None else mount.shafts
    for name, shaft in told.items():
        radius, (start, stop) = shaft.diameter / 2, shaft.stretch
        if shaft.along == "square":
            disc = Disc(shaft.at, radius).moved(frame.pose)
            yield _part_body(spec, frame, name, "standard", disc, (-stop, -start), limits.gap.value, relief=True)
            continue
        (x, y), dx, dy = shaft.at, math.cos(shaft.along), math.sin(shaft.along)
        lying = Lying((x + start * dx, y + start * dy), (x + stop * dx, y + stop * dy), radius, shaft.height)
        span = (lying.low, lying.high)
        body = _part_body(
            spec, frame, name, "standard", lying.silhouette.moved(frame.pose), span, limits.gap.value, relief=False
        )
        yield replace(body, pieces=(on_plate(lying, frame.pose, mount.side, thickness, mount.standoff),))


def _standard(spec: Spec, frame: MountFrame, space: OwnSpace, limits: PlateLimits) -> Body:
    span, deep = _sunk(frame, space.span), _sunk(frame, (0.0, 0.0))[0]
    body = _part_body(
        spec, frame, space.part, "standard", space.shape.moved(frame.pose), span, limits.gap.value, relief=True
    )
    side, thickness, standoff = frame.mount.side, spec.model.plate.thickness, frame.mount.standoff + deep
    return replace(body, pieces=tuple(on_plate(piece, frame.pose, side, thickness, standoff) for piece in space.pieces))


def _sunk(frame: MountFrame, span: tuple[float, float]) -> tuple[float, float]:
    """The span of a part whose own mating face is a pilot that carries the screws: it goes in as far as that."""
    if frame.standard is None or not frame.standard.screws_inside_pilot:
        return span
    return (span[0] - sunk(frame), span[1] - sunk(frame))


def spigot(spec: Spec, frame: MountFrame) -> tuple[Body, ...]:
    """The pilot that stands into the plate, if the part has one."""
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

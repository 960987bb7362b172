"""Shafts in line that a coupling joins end to end: how they lie to each other, and the space that it takes.

There is no belt: what is asked of the two mounts is that their shafts are one line. Nothing is moved for that here, as
a belt moves its motor; how far they are off it is what the rules judge (`checks/couplings.py`).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from platekit import drive, tables
from platekit.drive import loads
from platekit.drive.working import induction_motor, voltage_motor
from platekit.errors import SpecError
from platekit.geometry import Disc, Lying, Pose, Shape, Spatial, sweep
from platekit.laying.axes import OwnAxis, of_words, on_feet, placed_axis
from platekit.laying.located import located
from platekit.laying.mounts import MountFrame
from platekit.laying.runs import motor_of
from platekit.placed import SAME_LENGTH, Body, CoupledShaft, PlacedBelt, PlacedCoupling, PlateLimits, Side
from platekit.spec import Spec
from platekit.spec.coupling_words import CoupledEnd, CouplingWords
from platekit.tables.couplings import stock_coupling


def placed_couplings(
    spec: Spec, frames: dict[str, MountFrame], belts: Sequence[PlacedBelt]
) -> tuple[PlacedCoupling, ...]:
    """The couplings of the spec between the shaft ends that they join (mm).

    Raises `SpecError` for an end whose shaft nothing tells, or of whose shafts none is named.
    """
    return tuple(
        _placed(spec, name, words, frames, belts, f"couplings.{name}") for name, words in spec.model.couplings.items()
    )


def _placed(
    spec: Spec,
    name: str,
    words: CouplingWords,
    frames: dict[str, MountFrame],
    belts: Sequence[PlacedBelt],
    field: str,
) -> PlacedCoupling:
    a = _shaft(spec, words.from_, frames[words.from_.on], f"{field}.from")
    b = _shaft(spec, words.to, frames[words.to.on], f"{field}.to")
    # The angle is nil where the two ends look straight at each other, a half turn where both look the same way.
    cosine = -sum(p * q for p, q in zip(a.direction, b.direction, strict=True))
    askew = math.acos(min(max(cosine, -1.0), 1.0))
    askew = 0.0 if askew < SAME_DIRECTION else askew
    middle = tuple((p + q) / 2 for p, q in zip(a.end, b.end, strict=True))
    spot: Spatial = (middle[0], middle[1], middle[2])
    # Off each other is what is left between the two lines where the coupling has its middle: there a maker counts it.
    ax, ay, az = a.past(spot)
    bx, by, bz = b.past(spot)
    # How far apart counts along the line midway between both, so that it does not matter which end is asked.
    along = [p - q for p, q in zip(a.direction, b.direction, strict=True)]
    far = math.hypot(*along) or 1.0
    apart = sum((q - p) * d / far for p, q, d in zip(a.end, b.end, along, strict=True))
    assert words.diameter is not None  # told, or looked up before anything is laid out
    assert words.length is not None
    assert words.gap is not None
    torque, speed, top = located(spec, field, lambda: _load(spec, words, belts))
    return PlacedCoupling(
        name=name,
        driving=a,
        driven=b,
        diameter=words.diameter,
        length=words.length,
        gap=words.gap,
        apart=apart,
        beside=(bx - ax, by - ay, bz - az),
        askew=askew,
        offset=words.offset,
        angle=words.angle,
        torque_nm=torque,
        speed_rpm=speed,
        rated_nm=words.torque,
        max_rpm=words.max_speed,
        service_factor=words.service_factor,
        motor_max_rpm=top,
        motor=motor_of(words),
        inverter=None if words.inverter is None else (words.inverter.from_, words.inverter.to),
        guarded=words.guarded,
        stock=None if words.stock is None else (words.stock, stock_coupling(words.stock).source),
        largest_bore=words.largest_bore,
        field=field,
    )


SAME_DIRECTION = 1e-6
"""Two directions at less than this are one, rad (ours): the arc cosine of nearly 1 is good to no more."""


def _shaft(spec: Spec, end: CoupledEnd, frame: MountFrame, field: str) -> CoupledShaft:
    """One of the two shafts, in the plate frame."""
    own, thick = _own(spec, end, frame, field)
    axis = placed_axis(spec, own, frame.mount, frame.pose)
    start, stop = axis.stretch
    if end.end == "back":
        # The other end of a shaft that goes through: it looks the other way, and counts from there.
        if start > -SAME_LENGTH:
            wanted = "leave it out, or give the shaft a `stretch` that begins below zero, where its back end is"
            raise SpecError((spec.problem(f"{field}.end", f"back, and {own.said} has no end there", wanted),))
        way: Spatial = (0.0 - axis.direction[0], 0.0 - axis.direction[1], 0.0 - axis.direction[2])
        reach, free = start, -start
    else:
        way, reach, free = axis.direction, stop, stop - (max(start, 0.0) if stop > 0 else start)
    x, y, z = (p + reach * d for p, d in zip(axis.point, axis.direction, strict=True))
    return CoupledShaft(end.on, (x, y, z), way, free, own.said, thick)


def _own(spec: Spec, end: CoupledEnd, frame: MountFrame, field: str) -> tuple[OwnAxis, float | None]:
    """The shaft in its part's own frame and its diameter (mm): as the spec tells it, else as its standard does."""
    mount, named = frame.mount, frame.mount.shafts
    if end.shaft is not None and end.shaft not in named:
        has = f"use one of {', '.join(named)}" if named else f"tell it under mounts.{end.on}.shafts, or leave it out"
        raise SpecError((spec.problem(f"{field}.shaft", f"{end.shaft!r}, no shaft of {end.on}", has),))
    if len(named) > 1 and end.shaft is None:
        wanted = f"say which one it joins: {field}.shaft, one of {', '.join(named)}"
        raise SpecError((spec.problem(field, f"an end on {end.on}, which has {len(named)} shafts", wanted),))
    if mount.shaft is not None:
        return of_words(mount.shaft, f"the shaft of {end.on}"), mount.shaft.diameter
    if named:
        name = end.shaft or next(iter(named))
        return of_words(named[name], f"the {name} shaft of {end.on}"), named[name].diameter
    standards = [] if frame.standard is None else [(frame.standard, Pose())]
    for body in spec.model.bodies.values():
        if body.carried_by == end.on and body.standard is not None:
            standards.append((tables.mount(body.standard), Pose(*body.at, body.turn)))
    for standard, pose in standards:
        found = on_feet(standard, pose)
        if found is None and standard.shaft_height is None and standard.shaft_length:
            # a face: its shaft stands square to it in its middle and points at the plate
            middle = pose.point((0.0, 0.0))
            found = OwnAxis(middle, 0.0, None, (0.0, standard.shaft_length), f"the shaft of {standard.designation}")
        if found is not None:
            return found, standard.shaft
    found_words = f"a shaft end of {end.on}, of whose shaft nothing tells"
    wanted = f"tell it: mounts.{end.on}.shaft: {{at: [x, y], height: ..., along: square or an angle, stretch: [0, ...]"
    raise SpecError((spec.problem(f"{field}.on", found_words, f"{wanted}, diameter: ...}}"),))


def _load(
    spec: Spec, words: CouplingWords, belts: Sequence[PlacedBelt]
) -> tuple[float | None, float | None, float | None]:
    """The most torque (N m) and speed (rpm) that the motor brings to it, and the motor's own top speed.

    Raises `DriveError` for a motor whose figures do not belong together.
    """
    motor: drive.Motor | None = None
    hertz: float | None = None
    first = spec.model.drive
    if words.motor is not None:
        motor = motor_of(words)
        hertz = None if words.inverter is None else words.inverter.to
    elif first is not None and first.motor is not None:
        # The motor of the drive: before its first belt the coupling turns as fast, after the last as the belt makes it.
        if first.driver.on in (words.to.on, words.from_.on):
            motor = motor_of(first)
            hertz = None if first.inverter is None else first.inverter.to
        else:
            points = [point for belt in belts if belt.driven.mount == words.from_.on for point in belt.result.points]
            if points:
                return max(point.torque_nm for point in points), max(point.speed_rpm for point in points), None
    if motor is None:
        return None, None, None
    if motor.kind != "induction":
        voltage_motor(motor)  # asked for what it refuses: points between which the speed does not fall
        loaded, free = motor.loaded, motor.no_load
        assert loaded is not None
        assert free is not None
        return loaded[1], free[0], motor.max_speed_rpm
    made = induction_motor(motor)
    fastest = motor.speed_rpm if hertz is None else max(made.at(hertz).speed_rpm, 0.0)
    return loads.torque_nm(motor.power_w, motor.speed_rpm), fastest, motor.max_speed_rpm


def coupling_bodies(
    spec: Spec,
    frames: dict[str, MountFrame],
    couplings: Sequence[PlacedCoupling],
    bodies: Sequence[Body],
    limits: PlateLimits,
) -> list[Body]:
    """Each coupling as the cylinder that it turns in, midway between the two ends (plate frame, mm).

    It goes with the shaft that drives it. Two shafts that are nowhere near one line have none between them.
    """
    found = []
    for one in couplings:
        if not one.possible:
            continue
        frame, (x, y, z), (dx, dy, _) = frames[one.driving.mount], one.middle, one.driving.direction
        half, radius = one.length / 2, one.diameter / 2
        pieces: tuple[Lying, ...] = ()
        if one.lies:
            lying = Lying((x - half * dx, y - half * dy), (x + half * dx, y + half * dy), radius, z)
            shape: Shape = lying.silhouette
            span, pieces = (lying.low, lying.high), (lying,)
        else:
            shape, span = Disc((x, y), radius), (z - half, z + half)
        side: Side = "near" if z > -spec.model.plate.thickness / 2 else "far"
        # It sits on both shafts, also where these are not quite in line: that is another rule's matter.
        on_it = frozenset(
            body.name
            for shaft in one.shafts
            for body in bodies
            if body.carrier == shaft.mount and _inside(body, one, shaft)
        )
        found.append(
            Body(
                name=one.body,
                kind="pulley",
                carrier=frame.name,
                side=side,
                shape=shape,
                swept=sweep(shape, frame.travel),
                z=span,
                gap=limits.gap.value,
                relief=False,
                field=one.field,
                travel=frame.travel,
                touches=on_it,
                pieces=pieces,
            )
        )
    return found


def _inside(body: Body, one: PlacedCoupling, shaft: CoupledShaft) -> bool:
    """Whether a body is a shaft inside the coupling: narrower, and its axis on that shaft's line all along."""
    for solid in body.solids:
        if isinstance(solid, Lying):
            ends = ((*solid.a, solid.height), (*solid.b, solid.height))
            if not one.lies or solid.radius >= one.diameter / 2:
                return False
            if any(math.dist(spot, shaft.past(spot)) > SAME_LENGTH for spot in ends):
                return False
        else:
            box = solid.silhouette.box
            off = math.dist(box.center, shaft.end[:2])
            if one.lies or max(box.width, box.height) >= one.diameter or off > SAME_LENGTH:
                return False
    return True

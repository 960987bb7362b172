"""One drive, worked out step by step from its request: geometry, travel, speeds and torque, forces, limits."""

from __future__ import annotations

from itertools import pairwise
from math import cos, floor, log10, sin, sqrt

from msgspec import Struct

from platekit.drive import loads
from platekit.drive.limits import (
    LARGEST_RATIO,
    NEW_BELT_EXTRA,
    SPEED_TOLERANCE,
)
from platekit.drive.motors import (
    DcMotor,
    InductionMotor,
    Running,
    UniversalMotor,
    VoltageMotor,
    frequency_for_hz,
)
from platekit.drive.open_belt import (
    belt_length,
    centre_distance,
    overlap,
    span_length,
    usual_belt_length,
    usual_centre_distance,
    wrap_angle,
)
from platekit.drive.rating import LOOK_UP, Rating, toothed_rating, v_belt_rating
from platekit.drive.request import Belt, DriveRequest, DriveTarget, Motor, Range
from platekit.drive.result import DriveResult, Forces, Reach, Rims, WorkingPoint
from platekit.drive.route import Wheel, centres_with_idlers, route
from platekit.drive.take_up import SlotTravel, Travel, along_slot, travel
from platekit.drive.toothed import teeth_in_mesh
from platekit.errors import DriveError
from platekit.tables import belts

POINTS = 12
"""About how many steps a chart over the setting has.

The corners of the curve come on top. Enough for a smooth line.
"""

STEPS = (1.0, 2.0, 5.0, 10.0)
"""Steps of a chart are one of these times a power of ten, as people read scales."""

STOCK_SHOWN = 3
"""How many stocked belts nearest to the belt's length are named."""

STOCK_MATCH = 0.5
"""Belts whose pitch lengths differ less than this are the same size, in mm: lengths are printed in whole mm."""

FULL_VOLTAGE = Range(1.0, 1.0)
"""The setting of a motor that is only switched on and off."""


def work_out(request: DriveRequest) -> DriveResult:
    """The whole drive: shaft distance, belt, wraps, travel, speed and torque at the working shaft, forces, limits.

    Raises `DriveError` when such a drive does not exist and `LookupFailed` for a section that the
    tables do not know.
    """
    geometry = _geometry(request)
    needed, slot = _travel(request, geometry)
    points = _points(request, geometry)
    forces = _forces(request, geometry, points)
    return DriveResult(
        centre_distance=geometry.centres,
        usual_centre_distance=_usual(geometry),
        placed_centres=request.centres,
        belt_length=geometry.length,
        belt=geometry.belt,
        stock=_stock(request.belt, geometry),
        driver_pitch=geometry.driver,
        driven_pitch=geometry.driven,
        driver_teeth=geometry.driver_teeth,
        driven_teeth=geometry.driven_teeth,
        ratio=_ratio(request, geometry),
        wrap_driver=geometry.wrap_driver,
        wrap_driven=geometry.wrap_driven,
        teeth_in_mesh=_teeth_in_mesh(geometry),
        span=geometry.span,
        belt_speed_m_s=_usual_belt_speed(request, geometry),
        smallest_pitch=_smallest(request.belt),
        travel=needed,
        slot=slot,
        points=points,
        reach=_reach(request.wanted, points),
        forces=forces,
        rims=_rims(request, geometry, points),
        notes=_notes(request, geometry, forces),
    )


class _Geometry(Struct, frozen=True):
    centres: float
    length: float
    belt: belts.BeltSize | None
    driver: float
    driven: float
    driver_teeth: int
    driven_teeth: int
    wrap_driver: float
    wrap_driven: float
    span: float


def _geometry(request: DriveRequest) -> _Geometry:
    section = request.belt.section if request.belt else None
    size = request.belt.size if request.belt else None
    driver, driven = request.driver.pitch(section), request.driven.pitch(section)
    centres = _centres(request, size, driver, driven)
    if overlap(centres, driver, driven) >= 0:
        raise DriveError(
            f"at a centre distance of {centres:.1f} mm pulleys of {driver:.1f} and {driven:.1f} mm run into each other",
            f"use a belt of at least {belt_length((driver + driven) / 2, driver, driven):.0f} mm",
        )
    wraps, span, length = _runs(request, centres, driver, driven)
    return _Geometry(
        centres=centres,
        length=size.pitch_length if size else length,
        belt=size,
        driver=driver,
        driven=driven,
        driver_teeth=request.driver.teeth_on(section),
        driven_teeth=request.driven.teeth_on(section),
        wrap_driver=wraps[0],
        wrap_driven=wraps[1],
        span=span,
    )


def _centres(request: DriveRequest, size: belts.BeltSize | None, driver: float, driven: float) -> float:
    """The belt's centre distance; that of the placed shafts when the belt's length is open."""
    if size is None:
        if request.centres is None:
            raise DriveError("a drive needs the belt's length or the places of both shafts")
        return request.centres
    if request.idlers:
        return centres_with_idlers(size.pitch_length, driver, driven, request.idlers, request.line)
    return centre_distance(size.pitch_length, driver, driven)


def _runs(
    request: DriveRequest, centres: float, driver: float, driven: float
) -> tuple[tuple[float, float], float, float]:
    """Wraps of driver and driven, the longest free span, and the length of the belt."""
    if not request.idlers:
        wraps = (wrap_angle(centres, driver, driven), wrap_angle(centres, driven, driver))
        return wraps, span_length(centres, driver, driven), belt_length(centres, driver, driven)
    last = Wheel(centres * cos(request.line), centres * sin(request.line), driver)
    way = route([Wheel(0, 0, driven), *request.idlers, last])
    return (way.wraps[-1], way.wraps[0]), max(span.length for span in way.spans), way.length


def _usual(geometry: _Geometry) -> float:
    """The centre distance by the usual approximation, for comparison."""
    if geometry.belt is None:
        return usual_centre_distance(
            usual_belt_length(geometry.centres, geometry.driver, geometry.driven),
            geometry.driver,
            geometry.driven,
        )
    return usual_centre_distance(geometry.length, geometry.driver, geometry.driven)


def _stock(belt: Belt | None, geometry: _Geometry) -> tuple[belts.BeltSize, ...]:
    if belt is None:
        return ()
    return belts.nearest_stock(belt.section, geometry.length, STOCK_SHOWN)


def _stock_note(belt: Belt | None, geometry: _Geometry) -> tuple[str, ...]:
    """A sentence when the belt that was given is not commonly stocked."""
    if belt is None or geometry.belt is None:
        return ()
    nearest = belts.nearest_stock(belt.section, geometry.length, 1)[0]
    if abs(nearest.pitch_length - geometry.length) <= STOCK_MATCH:
        return ()
    return (
        f"{belt.section} with {geometry.length:.1f} mm pitch length is not a usual stock size; "
        f"the nearest is {nearest.label} with {nearest.pitch_length:.1f} mm",
    )


def _ratio(request: DriveRequest, geometry: _Geometry) -> float:
    """Motor speed over working speed; by teeth where there are teeth."""
    if geometry.driver_teeth and geometry.driven_teeth:
        return request.before * geometry.driven_teeth / geometry.driver_teeth
    return request.before * geometry.driven / geometry.driver


def _teeth_in_mesh(geometry: _Geometry) -> int:
    """The fewer of the teeth held on both pulleys, 0 for a belt without teeth."""
    held = [
        teeth_in_mesh(teeth, wrap)
        for teeth, wrap in (
            (geometry.driver_teeth, geometry.wrap_driver),
            (geometry.driven_teeth, geometry.wrap_driven),
        )
        if teeth
    ]
    return min(held, default=0)


def _smallest(belt: Belt | None) -> float | None:
    return belts.smallest_pulley(belt.section).pitch_diameter if belt else None


def _travel(request: DriveRequest, geometry: _Geometry) -> tuple[Travel | None, SlotTravel | None]:
    """The travel along the line of centres and along the slot.

    With idlers, as if they gave way with the belt.
    """
    if request.belt is None:
        return None, None
    plain_length = belt_length(geometry.centres, geometry.driver, geometry.driven)
    needed = travel(
        request.belt.section,
        plain_length,
        geometry.driver,
        geometry.driven,
        belts.length_tolerance(request.belt.section, geometry.length),
        belts.allowance(request.belt.section, geometry.length),
    )
    return needed, along_slot(needed, request.off_line)


def _points(request: DriveRequest, geometry: _Geometry) -> tuple[WorkingPoint, ...]:
    if request.motor is None:
        return ()
    motor = request.motor
    if motor.kind == "induction":
        induction = induction_motor(motor)
        span = request.setting or Range(motor.frequency_hz, motor.frequency_hz)
        corners = (
            motor.frequency_hz,
            motor.frequency_hz * motor.constant_power_to,
            *_wanted_hz(induction, request, geometry),
        )
        return tuple(
            _point(request, geometry, induction.at(setting), frequency_hz=setting)
            for setting in settings(span, corners)
        )
    brushed = voltage_motor(motor)
    loaded = brushed.rated[1]
    return tuple(
        _point(request, geometry, Running(brushed.speed_rpm(loaded, setting), loaded), setting=setting)
        for setting in settings(request.setting or FULL_VOLTAGE, (1.0,))
    )


def _wanted_hz(motor: InductionMotor, request: DriveRequest, geometry: _Geometry) -> tuple[float, ...]:
    """The frequencies that give the wanted speeds, so that the torque there is exact and the user sees them."""
    wanted = request.wanted.speeds
    if wanted is None or request.setting is None:
        return ()
    ratio = _ratio(request, geometry)
    low, high = (motor.at(end).speed_rpm for end in (request.setting.low, request.setting.high))
    inside = [speed * ratio for speed in (wanted.low, wanted.high) if low < speed * ratio < high]
    return tuple(round(frequency_for_hz(motor, speed), 9) for speed in inside)


def _point(
    request: DriveRequest,
    geometry: _Geometry,
    running: Running,
    frequency_hz: float | None = None,
    setting: float | None = None,
) -> WorkingPoint:
    ratio = _ratio(request, geometry)
    torque = running.torque_nm * ratio * efficiency(request)
    speed = running.speed_rpm / ratio
    return WorkingPoint(
        frequency_hz=frequency_hz,
        setting=setting,
        speed_rpm=speed,
        torque_nm=torque,
        power_w=loads.power_w(torque, speed),
        motor_rpm=running.speed_rpm,
        motor_torque_nm=running.torque_nm,
        belt_speed_m_s=loads.belt_speed_m_s(geometry.driver, running.speed_rpm / request.before),
    )


def settings(span: Range, corners: tuple[float, ...] = ()) -> tuple[float, ...]:
    """Settings to show over a range: both ends, round steps between, and the corners of the curve that lie inside.

    >>> settings(Range(15, 90), (60,))
    (15.0, 20.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 90.0)
    """
    step = _round_step((span.high - span.low) / POINTS)
    first = floor(span.low / step) + 1 if step else 0
    count = floor((span.high - span.low) / step) + 1 if step else 0
    steps = (round((first + index) * step, 9) for index in range(count))
    inside = {value for value in (*steps, *corners) if span.low < value < span.high}
    return tuple(sorted({float(span.low), float(span.high)} | inside))


def _round_step(least: float) -> float:
    if least <= 0:
        return 0.0
    size: float = 10 ** floor(log10(least))
    return next(size * step for step in STEPS if size * step >= least * (1 - 1e-9))


def induction_motor(motor: Motor) -> InductionMotor:
    """The induction motor behind a plate; raises `DriveError` for figures that do not belong together."""
    return InductionMotor(motor.power_w, motor.speed_rpm, motor.frequency_hz, motor.constant_power_to)


def voltage_motor(motor: Motor) -> VoltageMotor:
    """The universal or DC motor behind its two points; raises `DriveError` when one is missing."""
    if motor.loaded is None or motor.light is None:
        raise DriveError(
            "a universal or DC motor needs two points of its curve, loaded and light, each speed and torque"
        )
    kind = UniversalMotor if motor.kind == "universal" else DcMotor
    return kind(motor.loaded, motor.light)


def efficiency(request: DriveRequest) -> float:
    """The share of the power that arrives.

    What is usual for the belt when nothing is said, 1 without a section.
    """
    if request.efficiency is not None:
        return request.efficiency
    return belts.family_figures(belts.section(request.belt.section).family).efficiency if request.belt else 1.0


def _usual_point(request: DriveRequest, points: tuple[WorkingPoint, ...]) -> WorkingPoint | None:
    """The point at base frequency or full voltage; the highest one when neither is in the range."""
    base = request.motor.frequency_hz if request.motor and request.motor.kind == "induction" else 1.0
    for point in points:
        if base in (point.frequency_hz, point.setting):
            return point
    return points[-1] if points else None


def _usual_belt_speed(request: DriveRequest, geometry: _Geometry) -> float | None:
    """The belt speed at the motor's rated speed, in m/s."""
    if request.motor is None:
        return None
    brushed = request.motor.loaded if request.motor.kind != "induction" else None
    speed_rpm = brushed[0] if brushed else request.motor.speed_rpm
    return loads.belt_speed_m_s(geometry.driver, speed_rpm / request.before)


def _reach(wanted: DriveTarget, points: tuple[WorkingPoint, ...]) -> Reach | None:
    if wanted.speeds is None or not points:
        return None
    low, high = points[0], points[-1]
    slowest, fastest = wanted.speeds.low, wanted.speeds.high
    needed = _ratio_needed(low.motor_rpm, high.motor_rpm, wanted.speeds)
    return Reach(
        lowest_rpm=low.speed_rpm,
        highest_rpm=high.speed_rpm,
        wanted_low_rpm=slowest,
        wanted_high_rpm=fastest,
        reached=low.speed_rpm <= slowest * (1 + SPEED_TOLERANCE) and high.speed_rpm >= fastest * (1 - SPEED_TOLERANCE),
        ratio_needed=needed,
        one_belt=needed is not None and 1 / LARGEST_RATIO <= needed <= LARGEST_RATIO,
        range_given=high.speed_rpm / low.speed_rpm if low.speed_rpm else float("inf"),
        range_needed=fastest / slowest,
        torque_share=_torque_share(wanted, points),
    )


def _ratio_needed(low_rpm: float, high_rpm: float, wanted: Range) -> float | None:
    """Motor speed over working speed that reaches both ends: the middle of what does, None when nothing does."""
    least, most = low_rpm / wanted.low, high_rpm / wanted.high
    if least > most * (1 + SPEED_TOLERANCE) ** 2:
        return None
    return sqrt(max(least, 0.0) * most) if least else most


def _torque_share(wanted: DriveTarget, points: tuple[WorkingPoint, ...]) -> float | None:
    """The least torque within the wanted speeds over the wanted torque."""
    if not wanted.torque_nm or wanted.speeds is None:
        return None
    low, high = wanted.speeds.low * (1 - SPEED_TOLERANCE), wanted.speeds.high * (1 + SPEED_TOLERANCE)
    inside = [point.torque_nm for point in points if low <= point.speed_rpm <= high]
    ends = [_torque_at(points, speed) for speed in (wanted.speeds.low, wanted.speeds.high)]
    known = [torque for torque in (*inside, *ends) if torque is not None]
    return min(known) / wanted.torque_nm if known else None


def _torque_at(points: tuple[WorkingPoint, ...], speed_rpm: float) -> float | None:
    """The torque at a speed between two points, None outside all of them."""
    for one, other in pairwise(points):
        if one.speed_rpm <= speed_rpm <= other.speed_rpm and other.speed_rpm > one.speed_rpm:
            share = (speed_rpm - one.speed_rpm) / (other.speed_rpm - one.speed_rpm)
            return one.torque_nm + share * (other.torque_nm - one.torque_nm)
    return None


def _mass_kg_m(belt: Belt) -> float | None:
    """The mass of all strands, None when ribs or width are not known."""
    mass = belts.mass(belt.section)
    amount = {"belt": 1.0, "rib": float(belt.ribs), "mm": belt.width}[mass.per] * belt.count
    return mass.kg_m * amount or None


def _forces(request: DriveRequest, geometry: _Geometry, points: tuple[WorkingPoint, ...]) -> Forces | None:
    if request.belt is None or not points:
        return None
    belt = request.belt
    family = belts.section(belt.section).family
    friction = belts.grip(belt.section).friction
    wrap = min(geometry.wrap_driver, geometry.wrap_driven)
    mass = _mass_kg_m(belt)
    pulls = [loads.effective_pull(point.motor_torque_nm * request.before, geometry.driver) for point in points]
    flung = [loads.centrifugal_tension(mass or 0.0, point.belt_speed_m_s) for point in points]
    set_tension = max(
        loads.set_tension_for(pull * request.service_factor, friction, wrap, fling)
        for pull, fling in zip(pulls, flung, strict=True)
    )
    pull, fling = max(zip(pulls, flung, strict=True))
    running = loads.running_tensions(set_tension, pull, fling)
    deflection = loads.sag(geometry.span)
    force = loads.sag_force(set_tension / belt.count, geometry.span, deflection)
    power = max(loads.power_w(point.motor_torque_nm, point.motor_rpm) for point in points)
    return Forces(
        pull=pull,
        set_tension=set_tension,
        running=running,
        slip_margin=min(
            loads.slip_margin(set_tension, pull, friction, wrap, fling)
            for pull, fling in zip(pulls, flung, strict=True)
        ),
        driver_at_rest=loads.shaft_pull_at_rest(set_tension, geometry.wrap_driver),
        driver_running=loads.shaft_pull(running, geometry.wrap_driver),
        driver_new=loads.shaft_pull_at_rest(set_tension * NEW_BELT_EXTRA, geometry.wrap_driver),
        overhung=belts.family_figures(family).overhung * pull,
        overhung_limit=_overhung_limit(request),
        sag=deflection,
        sag_force=force,
        sag_force_new=force * NEW_BELT_EXTRA,
        span_frequency_hz=loads.span_frequency_hz(set_tension, mass, geometry.span) if mass else None,
        mass_kg_m=mass,
        design_power_w=power * request.service_factor,
        rating=_rating(request, geometry, points, wrap),
    )


def _overhung_limit(request: DriveRequest) -> float | None:
    """The overhung load of the smallest V-belt pulley on such a motor, in N; None where no table tells."""
    motor = request.motor
    if motor is None or motor.kind != "induction" or request.before != 1:
        return None
    least = belts.smallest_motor_pulley(motor.power_w, motor.speed_rpm)
    if least is None:
        return None
    factor = belts.family_figures("classical V").overhung
    return loads.overhung_load(motor.power_w, motor.speed_rpm, least.pitch_diameter, factor)


def _rating(request: DriveRequest, geometry: _Geometry, points: tuple[WorkingPoint, ...], wrap: float) -> Rating:
    """The belt's rating at the motor's rated speed."""
    belt, point = request.belt, _usual_point(request, points)
    if belt is None or point is None or point.motor_rpm <= 0:
        return Rating(None, LOOK_UP)
    small = min(geometry.driver, geometry.driven)
    speed_rpm = loads.speed_for_belt_speed_rpm(small, point.belt_speed_m_s)
    if geometry.driver_teeth:
        teeth = min(geometry.driver_teeth, geometry.driven_teeth)
        return toothed_rating(belt.section, teeth, speed_rpm, wrap, belt.width)
    return v_belt_rating(belt.section, small, speed_rpm, wrap, geometry.length, belt.count)


def _rims(request: DriveRequest, geometry: _Geometry, points: tuple[WorkingPoint, ...]) -> Rims | None:
    if not points:
        return None
    top = max(points, key=lambda point: round(point.motor_rpm, 9))
    tool = request.wanted.tool_diameter
    section = request.belt.section if request.belt else None
    proud = belts.section(section).offset if section else 0.0
    return Rims(
        belt_m_s=top.belt_speed_m_s,
        belt_limit_m_s=belts.belt_speed_limit(section).speed_m_s if section else None,
        driver_m_s=top.belt_speed_m_s * (1 - proud / geometry.driver),
        driver_limit_m_s=belts.rim_limit(request.driver.material).speed_m_s,
        driven_m_s=top.belt_speed_m_s * (1 - proud / geometry.driven),
        driven_limit_m_s=belts.rim_limit(request.driven.material).speed_m_s,
        motor_rpm=top.motor_rpm,
        motor_limit_rpm=request.motor.max_speed_rpm if request.motor else None,
        tool_rpm=top.speed_rpm,
        tool_limit_rpm=request.wanted.tool_top_rpm,
        tool_m_s=loads.surface_speed_m_s(tool, top.speed_rpm) if tool else None,
    )


def _notes(request: DriveRequest, geometry: _Geometry, forces: Forces | None) -> tuple[str, ...]:
    """What was taken for granted, each in one sentence."""
    said = []
    if request.belt is None:
        said.append("without a belt section there are no forces, no travel and no limits of the belt")
    elif geometry.belt is None:
        said.append("the belt's length follows from where the shafts are placed; a bought belt will move the motor")
    elif geometry.belt.of != "pitch":
        said.append(
            f"{geometry.belt.length:.1f} mm {geometry.belt.of} length is {geometry.length:.1f} mm along the pitch line"
        )
    said.extend(_stock_note(request.belt, geometry))
    if forces is not None and forces.mass_kg_m is None:
        said.append("the belt's width or ribs are not given, so the pull of its own mass is left out")
    if forces is not None and forces.rating.power_w is None:
        said.append("rating: look up what this belt may carry in its maker's table")
    return tuple(said)

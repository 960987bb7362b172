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
from platekit.drive.request import DriveRequest, DriveTarget, Motor, Range
from platekit.drive.result import DriveResult, Forces, Reach, Rims, WorkingPoint
from platekit.drive.route import Wheel, centres_with_idlers, route, run_length
from platekit.drive.take_up import SlotTravel, Travel, along_slot, length_range, travel, until
from platekit.drive.toothed import teeth_in_mesh
from platekit.errors import DriveError
from platekit.tables import belts
from platekit.tables.rows import kept

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


@kept(256)
def work_out(request: DriveRequest) -> DriveResult:
    """The whole drive: shaft distance, belt, wraps, travel, speed and torque at the working shaft, forces, limits.

    Raises `DriveError` when such a drive does not exist and `LookupFailed` for a section that the
    tables do not know.
    """
    # The order is that of the questions: where the shafts are (the belt alone decides that), how far they must move,
    # what arrives at the working shaft, and only then what pulls; forces need the torque, limits the speed.
    geometry = _geometry(request)
    needed, slot = _travel(request, geometry)
    points = _points(request, geometry)
    forces = _forces(request, geometry, points)
    # The pulley that holds fewer teeth is the one that jumps first; a belt without teeth holds none.
    held = [
        teeth_in_mesh(teeth, wrap)
        for teeth, wrap in (
            (geometry.driver_teeth, geometry.wrap_driver),
            (geometry.driven_teeth, geometry.wrap_driven),
        )
        if teeth
    ]
    # The belt speed at the motor's rated speed, not at the fastest setting: ratings and the 5 m/s below which a V-belt
    # pulls hard are about rated speed; `_rims` looks at the fastest.
    belt_speed = None
    if request.motor is not None:
        brushed = request.motor.loaded if request.motor.kind != "induction" else None
        speed_rpm = brushed[0] if brushed else request.motor.speed_rpm
        belt_speed = loads.belt_speed_m_s(geometry.driver, speed_rpm / request.before)
    # The handbook's approximation is carried along for comparison only; with an open length it undoes itself.
    usual_length = geometry.length
    if geometry.belt is None:
        usual_length = usual_belt_length(geometry.centres, geometry.driver, geometry.driven)
    return DriveResult(
        centre_distance=geometry.centres,
        usual_centre_distance=usual_centre_distance(usual_length, geometry.driver, geometry.driven),
        placed_centres=request.centres,
        belt_length=geometry.length,
        belt=geometry.belt,
        stock=belts.nearest_stock(request.belt.section, geometry.length, STOCK_SHOWN) if request.belt else (),
        driver_pitch=geometry.driver,
        driven_pitch=geometry.driven,
        driver_teeth=geometry.driver_teeth,
        driven_teeth=geometry.driven_teeth,
        ratio=_ratio(request, geometry),
        wrap_driver=geometry.wrap_driver,
        wrap_driven=geometry.wrap_driven,
        teeth_in_mesh=min(held, default=0),
        span=geometry.span,
        belt_speed_m_s=belt_speed,
        smallest_pitch=belts.smallest_pulley(request.belt.section).pitch_diameter if request.belt else None,
        travel=needed,
        slot=slot,
        points=points,
        reach=_reach(request.wanted, points),
        forces=forces,
        rims=_rims(request, geometry, points),
        notes=_notes(request, geometry, forces),
    )


class _Geometry(Struct, frozen=True):
    """Shafts, belt and wraps of one drive; lengths in mm (pitch diameters, pitch length), wraps in radians."""

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
    # A belt of known length decides the centre distance, even where the spec places both shafts: steel is drilled for
    # the belt that will be bought. Only a belt whose length is open takes the distance from the shafts.
    if size is None and request.centres is None:
        raise DriveError("a drive needs the belt's length or the places of both shafts")
    if size is None:
        centres = request.centres or 0.0
    elif request.idlers:
        centres = centres_with_idlers(size.pitch_length, driver, driven, request.idlers, request.line)
    else:
        centres = centre_distance(size.pitch_length, driver, driven)
    if overlap(centres, driver, driven) >= 0:
        raise DriveError(
            f"at a centre distance of {centres:.1f} mm pulleys of {driver:.1f} and {driven:.1f} mm run into each other",
            f"use a belt of at least {belt_length((driver + driven) / 2, driver, driven):.0f} mm",
        )
    if request.idlers:
        # The longest span counts: it sags most, is checked by hand, and hums lowest.
        last = Wheel(centres * cos(request.line), centres * sin(request.line), driver)
        way = route([Wheel(0, 0, driven), *request.idlers, last])
        wraps = (way.wraps[-1], way.wraps[0])
        span, length = max(span.length for span in way.spans), way.length
    else:
        wraps = (wrap_angle(centres, driver, driven), wrap_angle(centres, driven, driver))
        span, length = span_length(centres, driver, driven), belt_length(centres, driver, driven)
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


def _ratio(request: DriveRequest, geometry: _Geometry) -> float:
    """Motor speed over working speed; by teeth where there are teeth."""
    # Teeth are whole numbers: their ratio is exact, where pitch diameters are printed to a tenth of a mm.
    if geometry.driver_teeth and geometry.driven_teeth:
        return request.before * geometry.driven_teeth / geometry.driver_teeth
    return request.before * geometry.driven / geometry.driver


def _travel(request: DriveRequest, geometry: _Geometry) -> tuple[Travel | None, SlotTravel | None]:
    """The travel along the line of centres and along the slot."""
    if request.belt is None:
        return None, None
    if request.idlers and geometry.belt is not None:
        # The centre distances along the line between the shafts, the idlers staying where they are. A belt slack enough
        # to let go of an idler runs straight past it.
        lengths = length_range(request.belt.section, geometry.length)
        nominal, closest = geometry.centres, (geometry.driver + geometry.driven) / 2

        def length(by: float) -> float:
            centres = nominal + by
            last = Wheel(centres * cos(request.line), centres * sin(request.line), geometry.driver)
            return run_length([Wheel(0, 0, geometry.driven), *request.idlers, last])

        def shift(wanted: float, farthest: float) -> float:
            found = until(length, wanted, farthest)
            if found is None:
                raise DriveError(
                    f"with these idlers the shafts cannot make the belt's way {wanted:.1f} mm long", "move the idlers"
                )
            return found

        ins, outs = closest - nominal, geometry.length
        install, tension = -shift(lengths.shortest, ins), shift(lengths.longest, outs)
        short, long = -shift(lengths.short, ins), shift(lengths.long, outs)
        given = Travel(install, tension, nominal, nominal - install, nominal + tension, (short, long))
        return given, along_slot(given, request.off_line)
    needed = travel(
        request.belt.section,
        belt_length(geometry.centres, geometry.driver, geometry.driven),
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
        corners = [motor.frequency_hz, motor.frequency_hz * motor.constant_power_to]
        wanted = request.wanted.speeds
        if wanted is not None and request.setting is not None:
            # The frequencies that give the wanted speeds, so that the torque there is exact and the user sees them.
            ratio = _ratio(request, geometry)
            slowest, fastest = (induction.at(end).speed_rpm for end in (request.setting.low, request.setting.high))
            inside = [speed * ratio for speed in (wanted.low, wanted.high) if slowest < speed * ratio < fastest]
            corners.extend(round(frequency_for_hz(induction, speed), 9) for speed in inside)
        return tuple(
            _point(request, geometry, induction.at(setting), frequency_hz=setting)
            for setting in settings(span, tuple(corners))
        )
    # A brushed motor's speed follows its load: it is shown under the torque of its loaded point, whatever the voltage.
    brushed = voltage_motor(motor)
    loaded = brushed.rated[1]
    return tuple(
        _point(request, geometry, Running(brushed.speed_rpm(loaded, setting), loaded), setting=setting)
        for setting in settings(request.setting or FULL_VOLTAGE, (1.0,))
    )


def _point(
    request: DriveRequest,
    geometry: _Geometry,
    running: Running,
    frequency_hz: float | None = None,
    setting: float | None = None,
) -> WorkingPoint:
    # What is lost heats the belt and is missed as torque: speed comes from the ratio alone.
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

    `span` and `corners` in Hz, or as shares of full voltage; so is what comes back, rising.

    >>> settings(Range(15, 90), (60,))
    (15.0, 20.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 90.0)
    """
    # The smallest round step (1, 2 or 5 times a power of ten) of which no more than POINTS are needed; the 1e-9
    # lets a range that divides evenly keep its step although its last digit is off.
    step, least = 0.0, (span.high - span.low) / POINTS
    if least > 0:
        size: float = 10 ** floor(log10(least))
        step = next(size * step for step in STEPS if size * step >= least * (1 - 1e-9))
    first = floor(span.low / step) + 1 if step else 0
    count = floor((span.high - span.low) / step) + 1 if step else 0
    steps = (round((first + index) * step, 9) for index in range(count))
    inside = {value for value in (*steps, *corners) if span.low < value < span.high}
    return tuple(sorted({float(span.low), float(span.high)} | inside))


def induction_motor(motor: Motor) -> InductionMotor:
    """The induction motor of a rating plate (W, rpm, Hz).

    Raises `DriveError` for figures that do not belong together.
    """
    return InductionMotor(motor.power_w, motor.speed_rpm, motor.frequency_hz, motor.constant_power_to)


def voltage_motor(motor: Motor) -> VoltageMotor:
    """The universal or DC motor through its two points (rpm, N m); raises `DriveError` when one is missing."""
    if motor.loaded is None or motor.no_load is None:
        raise DriveError(
            "a universal or DC motor needs two points of its curve, loaded and without load, each speed and torque"
        )
    kind = UniversalMotor if motor.kind == "universal" else DcMotor
    return kind(motor.loaded, motor.no_load)


def efficiency(request: DriveRequest) -> float:
    """The share of the motor's power that arrives at the working shaft, 0 to 1.

    What is usual for the belt's family (its row names the source) when nothing is said, 1 without a section.
    """
    if request.efficiency is not None:
        return request.efficiency
    return belts.family_figures(belts.section(request.belt.section).family).efficiency if request.belt else 1.0


def _reach(wanted: DriveTarget, points: tuple[WorkingPoint, ...]) -> Reach | None:
    if wanted.speeds is None or not points:
        return None
    low, high = points[0], points[-1]
    slowest, fastest = wanted.speeds.low, wanted.speeds.high
    # Any ratio from `least` (slow enough at the low end) to `most` (fast enough at the high end) reaches both; the
    # geometric middle misses neither end by more than the other, as pulleys never come out exact. Where least lies
    # above most the setting's range is too small for any ratio. A motor that stalls at its lowest setting has least 0.
    least, most = low.motor_rpm / slowest, high.motor_rpm / fastest
    needed = None
    if least <= most * (1 + SPEED_TOLERANCE) ** 2:
        needed = sqrt(max(least, 0.0) * most) if least else most
    # Torque over speed is flat, then falls: its least within the wanted speeds is at a corner or an end. The corners
    # are among the points; the ends of what is wanted lie between two of them and are put in, by straight lines.
    share = None
    if wanted.torque_nm:
        under, over = slowest * (1 - SPEED_TOLERANCE), fastest * (1 + SPEED_TOLERANCE)
        known = [point.torque_nm for point in points if under <= point.speed_rpm <= over]
        for speed in (slowest, fastest):
            for one, other in pairwise(points):
                if one.speed_rpm <= speed <= other.speed_rpm and other.speed_rpm > one.speed_rpm:
                    part = (speed - one.speed_rpm) / (other.speed_rpm - one.speed_rpm)
                    known.append(one.torque_nm + part * (other.torque_nm - one.torque_nm))
                    break
        share = min(known) / wanted.torque_nm if known else None
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
        torque_share=share,
    )


def _forces(request: DriveRequest, geometry: _Geometry, points: tuple[WorkingPoint, ...]) -> Forces | None:
    if request.belt is None or not points:
        return None
    belt = request.belt
    family = belts.section(belt.section).family
    friction = belts.grip(belt.section).friction
    # Friction is the same on both pulleys, so the belt slips first where it is wrapped least.
    wrap = min(geometry.wrap_driver, geometry.wrap_driven)
    # The mass of all strands; ribs or width that are not known make it 0, which is said as None.
    row = belts.mass(belt.section)
    mass = row.kg_m * {"belt": 1.0, "rib": float(belt.ribs), "mm": belt.width}[row.per] * belt.count or None
    # The belt is set once, standing still, and must carry every setting: at high speed its own mass lifts it off the
    # pulley, at low speed the torque is greatest. So the tension is the largest that any of them asks for, while the
    # forces on the shaft are those of the hardest pull.
    pulls = [loads.effective_pull(point.motor_torque_nm * request.before, geometry.driver) for point in points]
    flung = [loads.centrifugal_tension(mass or 0.0, point.belt_speed_m_s) for point in points]
    static_tension = max(
        loads.static_tension_for(pull * request.service_factor, friction, wrap, fling)
        for pull, fling in zip(pulls, flung, strict=True)
    )
    pull, fling = max(zip(pulls, flung, strict=True))
    running = loads.running_tensions(static_tension, pull, fling)
    deflection = loads.sag(geometry.span)
    force = loads.sag_force(static_tension / belt.count, geometry.span, deflection)
    power = max(loads.power_w(point.motor_torque_nm, point.motor_rpm) for point in points)
    # What a motor's bearings stand is seldom on its plate; what its maker's standard allows as the smallest V-belt
    # pulley says it in another way, by the overhung load that such a pulley makes. A countershaft has no such row.
    overhung_limit, motor = None, request.motor
    if motor is not None and motor.kind == "induction" and request.before == 1:
        least = belts.smallest_motor_pulley(motor.power_w, motor.speed_rpm)
        if least is not None:
            factor = belts.family_figures("classical V").overhung
            overhung_limit = loads.overhung_load(motor.power_w, motor.speed_rpm, least.pitch_diameter, factor)
    return Forces(
        pull=pull,
        static_tension=static_tension,
        running=running,
        slip_margin=min(
            loads.slip_margin(static_tension, pull, friction, wrap, fling)
            for pull, fling in zip(pulls, flung, strict=True)
        ),
        driver_at_rest=loads.shaft_pull_at_rest(static_tension, geometry.wrap_driver),
        driver_running=loads.shaft_pull(running, geometry.wrap_driver),
        driver_new=loads.shaft_pull_at_rest(static_tension * NEW_BELT_EXTRA, geometry.wrap_driver),
        overhung=belts.family_figures(family).overhung * pull,
        overhung_limit=overhung_limit,
        sag=deflection,
        sag_force=force,
        sag_force_new=force * NEW_BELT_EXTRA,
        span_frequency_hz=loads.span_frequency_hz(static_tension, mass, geometry.span) if mass else None,
        mass_kg_m=mass,
        design_power_w=power * request.service_factor,
        rating=_rating(request, geometry, points, wrap),
    )


def _rating(request: DriveRequest, geometry: _Geometry, points: tuple[WorkingPoint, ...], wrap: float) -> Rating:
    """The belt's rating at the motor's rated speed."""
    # at base frequency or full voltage; the highest setting when neither is in the range
    base = request.motor.frequency_hz if request.motor and request.motor.kind == "induction" else 1.0
    at_base = (point for point in points if base in (point.frequency_hz, point.setting))
    belt, point = request.belt, next(at_base, points[-1] if points else None)
    if belt is None or point is None or point.motor_rpm <= 0:
        return Rating(None, LOOK_UP)
    # Ratings are printed for the small pulley, wherever it sits: its own speed follows from the belt's.
    small = min(geometry.driver, geometry.driven)
    speed_rpm = loads.speed_for_belt_speed_rpm(small, point.belt_speed_m_s)
    if geometry.driver_teeth:
        teeth = min(geometry.driver_teeth, geometry.driven_teeth)
        return toothed_rating(belt.section, teeth, speed_rpm, wrap, belt.width)
    # of a ribbed belt the table says what one rib carries
    strands = belt.count * (belt.ribs if belts.section(belt.section).family == "ribbed" else 1)
    if not strands:
        return Rating(None, LOOK_UP)
    return v_belt_rating(belt.section, small, speed_rpm, wrap, geometry.length, strands)


def _rims(request: DriveRequest, geometry: _Geometry, points: tuple[WorkingPoint, ...]) -> Rims | None:
    if not points:
        return None
    top = max(points, key=lambda point: round(point.motor_rpm, 9))
    tool = request.wanted.tool_diameter
    section = request.belt.section if request.belt else None
    # Rim over belt speed is outside over pitch diameter: a V-pulley's rim stands out over the cords (offset below
    # zero), a toothed belt's cords run outside its pulley.
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
    if request.belt is not None and geometry.belt is not None:
        nearest = belts.nearest_stock(request.belt.section, geometry.length, 1)[0]
        if abs(nearest.pitch_length - geometry.length) > STOCK_MATCH:
            said.append(
                f"{request.belt.section} with {geometry.length:.1f} mm pitch length is not a usual stock size; "
                f"the nearest is {nearest.label} with {nearest.pitch_length:.1f} mm"
            )
    if forces is not None and forces.mass_kg_m is None:
        said.append("the belt's width or ribs are not given, so the pull of its own mass is not included")
    if forces is not None and forces.rating.power_w is None:
        said.append("rating: look up what this belt may carry in its maker's table")
    return tuple(said)

"""Rules on the motor as the spec tells it: speed and frequency, power and frame, the plate under it, the rims."""

from __future__ import annotations

from collections.abc import Iterator

from platekit import tables
from platekit.checks.advice import in_units, rounded_up, say, words_at
from platekit.checks.drive_edits import RIM_SPARE, WAYS_TO_GROW, belt_width, wider_rims
from platekit.checks.finding import Advice, FieldValue, Finding, Level, Remedy
from platekit.checks.rule import Rule
from platekit.checks.standard import reach
from platekit.placed import SAME_LENGTH, Layout, PlacedMount
from platekit.spec.drive_words import SeatWords
from platekit.tables import StandardMount
from platekit.tables.motor_frames import MotorFrame, frame_by_holes, motor_frame
from platekit.units import show_power

MUCH = 1.3
"""A power this many times the most of a frame is unusual (ours): makers put a size more in."""
TOO_MUCH = 2.0
"""A power this many times the most of a frame is another frame's (ours)."""
LITTLE = 1 / 3
"""A power this share of the least of a frame is unusual (ours)."""
LEAST_SLIP = ((11_000.0, 0.007), (float("inf"), 0.002))
"""Least slip at rated load that is usual up to a power in W (common practice): large motors slip little."""
IMPOSSIBLE_SLIP = 0.2
"""Slip beyond which speed and frequency are not one motor's, in whatever reading (common practice)."""
MUCH_TOO_THIN = 0.6
"""A plate this share of the least usual thickness is no plate for such a motor (ours)."""
STEEL = 210_000.0
"""Modulus of the steel that the usual thicknesses are meant in, N/mm2 (EN 1993-1-1)."""


# ------------------------------------------------------------------------------------------- speed and frequency


def motor_speed(layout: Layout) -> Iterator[Finding]:
    """A speed (rpm) that no motor of the frequency (Hz) beside it has under load."""
    from platekit.drive.motors import MAINS_HZ, MOST_POLES, InductionMotor, mains_reading
    from platekit.tables.motors import usual_slip

    motor = layout.belts[0].request.motor if layout.belts else None
    motor = motor if motor is not None and motor.kind == "induction" else None
    if motor is None:
        return
    read = InductionMotor(motor.power_w, motor.speed_rpm, motor.frequency_hz)
    most = usual_slip(motor.power_w)
    least = next(slip for power, slip in LEAST_SLIP if motor.power_w <= power)
    said = (
        f"the motor's {motor.speed_rpm:g} rpm at {motor.frequency_hz:g} Hz would be {read.poles} poles and "
        f"{100 * read.slip:.2g} % of slip"
    )
    # The same speed may be a good one of the other mains: then the frequency was copied from a habit, not from the
    # plate.
    others = [
        reading
        for frequency in MAINS_HZ
        if abs(frequency - motor.frequency_hz) > 1
        and (reading := mains_reading(motor.power_w, motor.speed_rpm, frequency))
    ]
    if read.slip > most and others:
        other = others[0]
        yield _speed_finding(
            layout,
            "stop",
            f"{said}, where {100 * most:.2g} % is much; at {other.frequency_hz:g} Hz it is {other.poles} poles and "
            f"{100 * other.slip:.2g} %: speed and frequency do not go together",
            (read.slip, most),
            f"look at the motor's rating plate: it gives the speed at its frequency; write {other.frequency_hz:g} Hz, "
            f"or the speed at {motor.frequency_hz:g} Hz (the field turns at {read.synchronous_rpm:.0f} rpm)",
            Remedy("drive.motor.frequency", f"{other.frequency_hz:g} Hz"),
        )
    elif read.poles > MOST_POLES:
        yield _speed_finding(
            layout,
            "stop",
            f"the motor's {motor.speed_rpm:g} rpm at {motor.frequency_hz:g} Hz would take {read.poles} poles; such "
            f"motors are not made beyond {MOST_POLES}",
            (float(read.poles), float(MOST_POLES)),
            "look at the motor's rating plate for speed and frequency, and at the point",
        )
    elif read.slip > most:
        yield _speed_finding(
            layout,
            "stop" if read.slip > IMPOSSIBLE_SLIP else "warn",
            f"{said}; a motor of {show_power(motor.power_w, layout.spec.unit, 'g')} slips {100 * most:.2g} % at most",
            (read.slip, most),
            "look at the motor's rating plate for speed and frequency; a gear motor's own speed is that of its shaft, "
            "not of its field",
        )
    # Turning as fast as its field a motor gives no torque: this is the no-load speed, and only a warning, as little is
    # wrong by it.
    elif read.slip < least:
        yield _speed_finding(
            layout,
            "warn",
            f"{said}; that is the speed of its field, and under load a motor of "
            f"{show_power(motor.power_w, layout.spec.unit, 'g')} runs slower by {100 * least:.2g} % or more",
            (read.slip, least),
            "give the speed that stands on the motor's rating plate",
        )


def _speed_finding(
    layout: Layout, level: Level, message: str, figures: tuple[float, float], advice: str, *remedies: Remedy
) -> Finding:
    driver = layout.belts[0].driver
    found, needed = figures
    return Finding(
        rule="motor-speed",
        level=level,
        message=message,
        features=(driver.name, driver.mount),
        at=driver.at,
        found=found,
        needed=needed,
        unit="",
        advice=Advice(advice, remedies),
    )


def speed_doubted(layout: Layout) -> bool:
    """Whether what the motor's rating plate is said to say cannot be, so that no pulley may be worked out of it."""
    return any(finding.level == "stop" for finding in motor_speed(layout))


# ------------------------------------------------------------------------------------------- power and frame


def motor_power(layout: Layout) -> Iterator[Finding]:
    """A power (kW) that is not made in the frame that the spec names."""
    motor = layout.belts[0].request.motor if layout.belts else None
    if motor is None or not motor.power_w:
        return
    power = motor.power_w
    belt = layout.belts[0]
    mount = layout.mounts[belt.driver.mount]
    frames = [frame for standard in _standards(layout, mount) if (frame := motor_frame(standard)) is not None]
    if not frames and mount.standard is None and len(mount.own_points) > 1:
        # nobody named a standard: the frame whose holes are as far apart is the next best thing to go by
        frames = [frame_by_holes(2 * reach(mount.own_points))]
    for frame in frames:
        if LITTLE * frame.least_w <= power <= MUCH * frame.most_w:
            continue
        needed = frame.most_w if power > frame.most_w else frame.least_w
        made = f"{f'{frame.least_w / 1000:g}' if frame.least_w else 'up'} to {frame.most_w / 1000:g} kW"
        yield Finding(
            rule="motor-power",
            level="stop" if power > TOO_MUCH * frame.most_w else "warn",
            message=f"{mount.name}: a motor of {show_power(power, layout.spec.unit, 'g')} in {frame.name}, in which "
            f"{made} are made ({frame.source})",
            features=(mount.name, belt.driver.name),
            at=belt.driver.at,
            found=power / 1000,
            needed=needed / 1000,
            unit="kW",
            advice=Advice("look at the motor's rating plate for power, unit and frame"),
        )
        return


def _standards(layout: Layout, mount: PlacedMount) -> Iterator[StandardMount]:
    """The standard part that a mount is, and those that it carries as bodies."""
    if mount.standard is not None:
        yield mount.standard
    carried = {body.field: body.standard for body in layout.bodies if body.carrier == mount.name}
    yield from (tables.mount(designation) for designation in carried.values() if designation is not None)


# ------------------------------------------------------------------------------------------- the plate under it


def thin_plate(layout: Layout) -> Iterator[Finding]:
    """A plate much thinner (mm) than is usual under a motor of that frame."""
    found: list[tuple[MotorFrame, PlacedMount, StandardMount]] = []
    for mount in layout.mounts.values():
        for standard in _standards(layout, mount):
            frame = motor_frame(standard)
            if frame is not None:
                found.append((frame, mount, standard))
    if not found:
        return
    frame, mount, standard = max(found, key=lambda one: one[0].plate)
    # a plate bends by one over modulus times thickness cubed: as stiff in another material goes with the cube root
    least = frame.plate * (STEEL / layout.material.modulus) ** (1 / 3)
    if layout.thickness >= least - SAME_LENGTH:
        return
    thickness = rounded_up(layout, least)
    yield Finding(
        rule="thin-plate",
        level="stop" if layout.thickness < MUCH_TOO_THIN * least else "warn",
        message=f"the plate is {say(layout, layout.thickness)} thick; under {standard.designation} ({mount.name}) "
        f"{say(layout, least)} of {layout.material.name} and more is usual ({frame.source.kind}); "
        "how far it bends and shakes under that motor is not checked by this",
        features=(mount.name, "plate"),
        at=(mount.pose.x, mount.pose.y),
        found=layout.thickness,
        needed=least,
        advice=Advice(
            f"make it {thickness:g} {layout.spec.unit} thick, or stiffen it and accept this",
            (Remedy("plate.thickness", thickness),),
        ),
    )


# ------------------------------------------------------------------------------------------- rims


def rim_width(layout: Layout) -> Iterator[Finding]:
    """A rim (width, mm) on which the belt does not fit."""
    for belt in layout.belts:
        made = belt.request.belt
        if made is None:
            continue
        needed = belt_width(made, belt.result.small_pitch)
        for pulley in (belt.driver, belt.driven):
            width = pulley.z[1] - pulley.z[0]
            if needed is None or width >= needed - SAME_LENGTH:
                continue
            # The rim grows about its middle, so that the belt stays in line.
            if isinstance(words_at(layout, pulley.field).span, SeatWords):
                wider = (Remedy(f"{pulley.field}.span.width", rounded_up(layout, needed + RIM_SPARE)),)
            else:
                middle = sum(pulley.span) / 2
                half = rounded_up(layout, (needed + RIM_SPARE) / 2)
                center = in_units(layout, middle)
                span: list[FieldValue] = [round(center - half, 6), round(center + half, 6)]
                wider = (Remedy(f"{pulley.field}.span", span),)
            # Two rims that only do together, and room that is only on one side of them.
            others = [
                Advice(
                    f"make both rims of {belt.name} {say(layout, needed + RIM_SPARE)} wide{where}",
                    wider_rims(layout, belt, needed, way),
                )
                for way, where in WAYS_TO_GROW.items()
            ]
            yield Finding(
                rule="rim-width",
                level="stop",
                message=f"{belt.name}: the rim of {pulley.name} is {say(layout, width)} wide; "
                f"{f'{made.count} belts' if made.count > 1 else 'the belt'} of section {made.section} "
                f"{'are' if made.count > 1 else 'is'} {say(layout, needed)} wide",
                features=(pulley.name,),
                at=pulley.at,
                found=width,
                needed=needed,
                advice=Advice(
                    f"measure the rim along the shaft: span [from, to]; at least {say(layout, needed)}",
                    wider,
                ),
                others=tuple(others),
            )


RULES = (
    Rule(
        "motor-speed",
        "a speed that the motor does not have at the frequency beside it",
        "slip of 7 to 18 % at most, by power; 0.2 to 0.7 % at least",
        "common practice",
        motor_speed,
        levels=("stop", "warn"),
        keys=("drive.motor.speed", "drive.motor.frequency"),
    ),
    Rule(
        "motor-power",
        "a power that is not made in the motor's frame",
        f"the powers of the frame; {MUCH:g} times the most warns, {TOO_MUCH:g} times stops",
        "common practice; ours",
        motor_power,
        levels=("stop", "warn"),
        keys=("drive.motor.power",),
    ),
    Rule(
        "thin-plate",
        "a plate that is a sheet under its motor",
        f"the least usual for the frame (motor_frame.csv), in steel; less than {MUCH_TOO_THIN:g} of it stops",
        "common practice; ours",
        thin_plate,
        levels=("stop", "warn"),
        keys=("plate.thickness",),
    ),
    Rule(
        "rim-width",
        "a rim narrower than what runs on it",
        "the belt's own width, of all belts side by side",
        "belt tables, each row with its kind",
        rim_width,
        levels=("stop",),
        keys=("drive.driver.span", "drive.driven.span"),
    ),
)

"""Rules on how the drive runs: belt and rim speeds, wrap, pulleys, shaft load, rating, cooling, torque, wanted speeds.

All bounds come from `platekit.drive.limits` and the belt tables; the figures are those that were worked out once, when
the shafts got their places.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from msgspec.structs import replace

from platekit.checks.advice import say
from platekit.checks.drive_edits import (
    End,
    belt_value,
    both_resized,
    length,
    middle,
    other_length,
    placed_by_belt,
    refit,
    resize,
    try_out,
    whole,
    with_ribs,
    with_rims,
)
from platekit.checks.finding import Advice, Finding, Remedy
from platekit.checks.motor import speed_doubted
from platekit.checks.rule import Rule
from platekit.errors import DriveError
from platekit.placed import Layout, PlacedBelt
from platekit.tables import belts
from platekit.tables.motors import standard_powers_kw
from platekit.units import show_power

if TYPE_CHECKING:
    from platekit.drive import DriveResult

ROUNDED = 1e-6
"""Share by which a figure may pass its limit through rounding alone."""


LARGER_TRIED = 13
"""Pulleys up to 2.2 times as large are tried, a tenth at a time (ours)."""
MOST_BELTS = 20
"""Most belts side by side that are advised, as many as the spec takes."""

PLATE_FIRST = Advice(
    "settle first what the motor's rating plate says of speed and frequency (motor-speed): a pulley for a wrong speed "
    "is wrong"
)
"""Said instead of a pulley while the motor's own speed is in doubt."""


# -------------------------------------------------------------------------------------------- speeds


def belt_speed(layout: Layout) -> Iterator[Finding]:
    """A belt that runs faster (m/s) than it may, or so slowly that it must pull hard."""
    from platekit.drive.limits import LEAST_BELT_SPEED_M_S

    for belt in layout.belts:
        made, rims, usual = belt.request.belt, belt.result.rims, belt.result.belt_speed_m_s
        if made is None or rims is None or usual is None:
            continue
        section = belts.section(made.section)
        # Limits hold for the fastest that may come: a brushed motor races when nothing loads it, so the belt does too.
        limit, fastest = rims.belt_limit_m_s, rims.belt_m_s * no_load_ratio(belt)
        if limit is not None and fastest > limit * (1 + ROUNDED):
            # Both pulleys smaller by the same share: the ratio, and so every speed at the shafts, stays as it is.
            smaller = refit(layout, belt, *both_resized(layout, belt, limit / fastest))
            lower = _slower_motor(layout, belt, limit / fastest)
            # Smaller pulleys slow the belt and bend it more; advice that only trades one finding for another is none:
            # they have to be large enough for the belt still, and the belt not too slow on them.
            then = smaller.result
            good = (
                then is not None
                and (then.smallest_pitch is None or then.small_pitch >= then.smallest_pitch)
                and (then.belt_speed_m_s or 0.0) >= LEAST_BELT_SPEED_M_S
            )
            options = [f"use {smaller.said}"] if good else []
            options += [lower.text] if lower else []
            yield Finding(
                rule="belt-speed",
                level="stop",
                message=f"{belt.name}: the belt runs {fastest:.1f} m/s at the highest setting; a belt of section "
                f"{made.section} may run {limit:.1f} m/s",
                features=whole(belt),
                at=middle(belt),
                found=fastest,
                needed=limit,
                unit="m/s",
                advice=Advice(
                    ", or ".join(options) or "use another section, or a slower motor",
                    (smaller.remedies if good else ()) or (lower.remedies if lower else ()),
                ),
            )
        elif not section.toothed and usual < LEAST_BELT_SPEED_M_S * (1 - ROUNDED):
            larger = refit(layout, belt, *both_resized(layout, belt, LEAST_BELT_SPEED_M_S / usual))
            yield Finding(
                rule="belt-speed",
                level="warn",
                message=f"{belt.name}: the belt runs only {usual:.1f} m/s at the motor's rated speed; below "
                f"{LEAST_BELT_SPEED_M_S:.1f} m/s it carries its power only with a pull that is hard on shafts",
                features=whole(belt),
                at=middle(belt),
                found=usual,
                needed=LEAST_BELT_SPEED_M_S,
                unit="m/s",
                advice=Advice(f"use {larger.said}", larger.remedies),
            )


def no_load_ratio(belt: PlacedBelt) -> float:
    """The motor's no-load speed over its speed in the figures, a ratio: a brushed motor races, others do not."""
    from platekit.drive.working import voltage_motor

    motor = belt.request.motor
    if motor is None or motor.kind == "induction" or motor.no_load is None:
        return 1.0
    top = belt.result.points[-1]
    if top.motor_rpm <= 0:  # it stalls under load at every setting: there is no speed to compare with
        return 1.0
    return voltage_motor(motor).speed_rpm(motor.no_load[1], top.setting or 1.0) / top.motor_rpm


def _slower_motor(layout: Layout, belt: PlacedBelt, share: float) -> Advice | None:
    """Advice to keep the motor at this share of its top speed; None where nothing sets its speed."""
    from platekit.drive.motors import frequency_for_hz
    from platekit.drive.working import induction_motor, voltage_motor

    motor, inverter = belt.request.motor, belt.request.inverter
    if motor is None or belt.result.rims is None or belt.result.rims.motor_rpm is None:
        return None
    wanted_rpm = belt.result.rims.motor_rpm * no_load_ratio(belt) * share
    if inverter is not None:
        # Rounded down to what an inverter's dial shows: up would be past the limit again.
        hertz = math.floor(frequency_for_hz(induction_motor(motor), wanted_rpm) * 10 + 1e-6) / 10
        if hertz < inverter.low:
            return None
        return Advice(
            f"let the inverter go no higher than {hertz:g} Hz", (Remedy("drive.inverter.to", f"{hertz:g} Hz"),)
        )
    # a motor on a speed setting: its no-load speed goes with the voltage
    if inverter is None and belt.request.setting is not None and motor.no_load is not None:
        setting = math.floor(voltage_motor(motor).setting_for(wanted_rpm, motor.no_load[1]) * 1000) / 1000
        if setting < belt.request.setting.low:
            return None
        return Advice(f"turn the voltage no higher than {setting:g} of full", (Remedy("drive.voltage.to", setting),))
    return None


def speed_limit(layout: Layout) -> Iterator[Finding]:
    """A motor, pulley rim or tool that may not run as fast (rpm, m/s) as the highest setting makes it."""
    from platekit.drive.limits import ASK_THE_MAKER_ABOVE_HZ
    from platekit.drive.motors import synchronous_speed_rpm
    from platekit.drive.working import induction_motor

    for belt in layout.belts[:1]:  # the one on the motor's shaft
        rims = belt.result.rims
        if rims is None or rims.motor_rpm is None:
            continue
        if rims.motor_limit_rpm is not None:
            # beyond its rated frequency a motor without load is as fast as its field, some per cent faster than loaded
            motor, top = belt.request.motor, belt.result.points[-1]
            field = rims.motor_rpm
            raced = motor is not None and motor.kind == "induction" and (top.frequency_hz or 0.0) > motor.frequency_hz
            if raced and motor is not None and top.frequency_hz is not None:
                field = synchronous_speed_rpm(top.frequency_hz, induction_motor(motor).poles)
            limit = rims.motor_limit_rpm
            yield from _too_fast(layout, belt, "the motor", field, limit, "rpm", belt.driver.name, races=raced)
            continue
        inverter = belt.request.inverter
        # Nobody said how fast the motor may run: a warning, since many stand it, but not without their maker's word.
        if inverter is not None and inverter.high > ASK_THE_MAKER_ABOVE_HZ:
            yield Finding(
                rule="speed-limit",
                level="warn",
                message=f"{belt.name}: the inverter goes to {inverter.high:g} Hz and the motor's top speed is not "
                f"given; above {ASK_THE_MAKER_ABOVE_HZ:g} Hz a motor is not run without its maker's word",
                features=(belt.driver.name,),
                at=belt.driver.at,
                found=inverter.high,
                needed=ASK_THE_MAKER_ABOVE_HZ,
                unit="Hz",
                advice=Advice(
                    "give the marked top speed as `max_speed`, or let the inverter go no higher than "
                    f"{ASK_THE_MAKER_ABOVE_HZ:g} Hz",
                    (Remedy("drive.inverter.to", f"{ASK_THE_MAKER_ABOVE_HZ:g} Hz"),),
                ),
            )
    for belt in layout.belts:
        rims = belt.result.rims
        if rims is None:
            continue
        for pulley, found, limit in (
            (belt.driver, rims.driver_m_s, rims.driver_limit_m_s),
            (belt.driven, rims.driven_m_s, rims.driven_limit_m_s),
        ):
            yield from _too_fast(layout, belt, f"the rim of {pulley.name}", found, limit, "m/s", pulley.name)
    for belt in layout.belts[-1:]:  # the one on the working shaft
        rims = belt.result.rims
        if rims is not None and rims.tool_rpm is not None and rims.tool_limit_rpm is not None:
            yield from _too_fast(layout, belt, "the tool", rims.tool_rpm, rims.tool_limit_rpm, "rpm", belt.driven.name)
        elif rims is not None and rims.tool_m_s is not None:
            yield from _unmarked(belt, rims.tool_m_s * no_load_ratio(belt))


def _unmarked(belt: PlacedBelt, speed: float) -> Iterator[Finding]:
    """A tool or drum of which nobody said how fast it may run, faster at its rim (m/s) than cast iron may."""
    limit = belts.rim_limit("cast iron")
    if speed > limit.speed_m_s * (1 + ROUNDED):
        yield Finding(
            rule="speed-limit",
            level="warn",
            message=f"{belt.name}: the tool's rim runs {speed:.1f} m/s at the highest setting, and its top speed is "
            f"not given; above {limit.speed_m_s:g} m/s not even a pulley of cast iron runs ({limit.source})",
            features=(belt.driven.name,),
            at=belt.driven.at,
            found=speed,
            needed=limit.speed_m_s,
            unit="m/s",
            advice=Advice("give the speed that is marked on it (wanted: tool_max_speed), or ask its maker"),
        )


def _too_fast(
    layout: Layout,
    belt: PlacedBelt,
    what: str,
    loaded: float,
    limit: float,
    unit: str,
    feature: str,
    races: bool = False,
) -> Iterator[Finding]:
    unloaded = no_load_ratio(belt)
    found = loaded * unloaded
    if found <= limit * (1 + ROUNDED):
        return
    share = limit / found
    lower = _slower_motor(layout, belt, share)
    options, remedies = ([lower.text], lower.remedies) if lower else ([], ())
    change, other = None, None
    # A tool is slowed by a larger driven pulley; the rim of a pulley by a smaller driver, which leaves the rims slower.
    if what == "the tool":
        change = resize(layout, belt, "driven", belt.result.driven_pitch / share, up=True)
    elif unit == "m/s":
        change = resize(layout, belt, "driver", belt.result.driver_pitch * share, up=False)
    if change is not None:
        other = refit(layout, belt, change)
        options.append(f"use {other.said}")
        remedies = remedies or other.remedies
    if unit == "m/s":
        options.append("give the pulley's `material`, if it is not cast iron")
    empty = " when nothing loads it" if unloaded > 1 or races else ""
    # Where more is wanted of the tool than it may run, the two exclude each other whatever the drive: slowing it alone
    # would only bring the next finding.
    ideas: list[Advice] = []
    reach = belt.result.reach
    if what == "the tool" and reach is not None and reach.wanted_high_rpm > limit * (1 + ROUNDED):
        both = (
            f"the tool may run {limit:.0f} rpm and {reach.wanted_high_rpm:.0f} rpm is wanted, which exclude each other"
        )
        top = math.floor(limit)
        if reach.wanted_low_rpm > limit:
            ideas.append(Advice(f"{both}: use a tool that is marked for the speed, or want less"))
        else:
            less = Remedy("drive.wanted.to", f"{top} rpm")
            ways = [lower] if lower else []
            ways += [Advice(f"use {other.said}", other.remedies)] if other is not None and other.remedies else []
            for way in ways:
                said = f"{both}: want {top} rpm at most (wanted: to: {top} rpm) and {way.text}"
                ideas.append(Advice(said, (less, *way.remedies)))
            ideas.append(Advice(f"{both}: want {top} rpm at most, or use a tool that is marked for the speed"))
    if not ideas:
        ideas = [Advice(", or ".join(options) or "use a motor that is marked for this speed", remedies)]
        ideas += [] if other is None else [Advice(f"use {other.said}", other.remedies)]
    advice, *others = ideas
    yield Finding(
        rule="speed-limit",
        level="stop",
        message=f"{belt.name}: {what} runs {found:.{0 if unit == 'rpm' else 1}f} {unit} at the highest setting{empty}; "
        f"{limit:.{0 if unit == 'rpm' else 1}f} {unit} is its limit",
        features=(feature,),
        at=belt.driven.at if feature == belt.driven.name else belt.driver.at,
        found=found,
        needed=limit,
        unit=unit,
        advice=advice,
        others=tuple(others),
    )


def slow_cooling(layout: Layout) -> Iterator[Finding]:
    """An inverter that goes so low (Hz) that the fan on the motor's shaft does not cool it at full torque."""
    from platekit.drive.limits import SLOW_COOLING_HZ

    for belt in layout.belts[:1]:  # the one on the motor's shaft
        inverter = belt.request.inverter
        if inverter is None or inverter.low >= SLOW_COOLING_HZ:
            continue
        liftable = inverter.high >= SLOW_COOLING_HZ
        yield Finding(
            rule="slow-cooling",
            level="warn",
            message=f"{belt.name}: the inverter goes down to {inverter.low:g} Hz; below {SLOW_COOLING_HZ:g} Hz "
            "the fan on its shaft cools the motor too little for full torque",
            features=(belt.driver.name,),
            at=belt.driver.at,
            found=inverter.low,
            needed=SLOW_COOLING_HZ,
            unit="Hz",
            advice=Advice(
                f"go no lower than {SLOW_COOLING_HZ:g} Hz with a higher ratio, use less than full torque there, or "
                "fit a fan with a motor of its own and accept this",
                (Remedy("drive.inverter.from", f"{SLOW_COOLING_HZ:g} Hz"),) if liftable else (),
            ),
        )


# ----------------------------------------------------------------------------------- belt and pulleys


def wrap(layout: Layout) -> Iterator[Finding]:
    """A small pulley that the belt holds over too small an angle (rad), or with too few teeth."""
    from platekit.drive.limits import LEAST_TEETH_IN_MESH, LEAST_WRAP
    from platekit.drive.open_belt import belt_length, centres_for_wrap

    for belt in layout.belts:
        made, result = belt.request.belt, belt.result
        if made is None:
            continue
        if belts.section(made.section).toothed:
            if result.teeth_in_mesh >= LEAST_TEETH_IN_MESH:
                continue
            advice = Advice("use larger pulleys, or set the shafts farther apart")
            # Larger by twentieths until enough teeth are in mesh: the number of teeth jumps, so no formula tells the
            # least.
            for step in range(1, 60):
                larger = refit(layout, belt, *both_resized(layout, belt, 1 + step / 20))
                if larger.result is not None and larger.result.teeth_in_mesh >= LEAST_TEETH_IN_MESH:
                    advice = Advice(f"use {larger.said}", larger.remedies)
                    break
            yield Finding(
                rule="wrap",
                level="warn",
                message=f"{belt.name}: only {result.teeth_in_mesh} teeth are in mesh; with fewer than "
                f"{LEAST_TEETH_IN_MESH} each missing one costs a fifth of what the belt carries",
                features=whole(belt),
                at=belt.driver.at,
                found=float(result.teeth_in_mesh),
                needed=float(LEAST_TEETH_IN_MESH),
                unit="teeth",
                advice=advice,
            )
        elif result.small_wrap < LEAST_WRAP - ROUNDED:
            said = "move the idler so that the belt lies further round the small pulley"
            remedies: tuple[Remedy, ...] = ()
            if not belt.idlers:
                # An open belt's wrap on the small pulley grows with the distance of the shafts: there is a least one.
                centres = centres_for_wrap(LEAST_WRAP, *sorted((result.driver_pitch, result.driven_pitch)))
                least = belt_length(centres, result.driver_pitch, result.driven_pitch)
                said = (
                    f"set the shafts at least {say(layout, centres)} apart with a belt of {say(layout, least)} pitch "
                    "length"
                )
                longer = next((size for size in belts.stock(made.section) if size.pitch_length > least), None)
                if longer is not None:
                    said += f" or more, such as {longer.label}"
                    # the length is an edit only where it sets the shafts apart; where they stand as measured it is none
                    remedies = (other_length(layout, belt, longer),) if placed_by_belt(layout, belt) else ()
                said += ", or use a smaller ratio"
            yield Finding(
                rule="wrap",
                level="warn",
                message=f"{belt.name}: the belt lies only {math.degrees(result.small_wrap):.0f} degrees round the "
                f"small pulley; below {math.degrees(LEAST_WRAP):.0f} it slips or must be set much tighter",
                features=whole(belt),
                at=(belt.driver if result.driver_pitch < result.driven_pitch else belt.driven).at,
                found=math.degrees(result.small_wrap),
                needed=math.degrees(LEAST_WRAP),
                unit="degrees",
                advice=Advice(said, remedies),
            )


def small_pulley(layout: Layout) -> Iterator[Finding]:
    """A pulley smaller (pitch diameter, mm) than a belt of this section should bend round."""
    from platekit.drive.limits import SMALL_PULLEY_ROOM

    for belt in layout.belts:
        made, least = belt.request.belt, belt.result.smallest_pitch
        if made is None or least is None or belt.result.small_pitch >= least * (1 - SMALL_PULLEY_ROOM):
            continue
        pulley = belt.driver if belt.driver.pitch_diameter <= belt.driven.pitch_diameter else belt.driven
        source = belts.smallest_pulley(made.section).source
        larger = refit(layout, belt, *both_resized(layout, belt, least / belt.result.small_pitch))
        yield Finding(
            rule="small-pulley",
            level="warn",
            message=f"{belt.name}: {pulley.name} has {say(layout, belt.result.small_pitch)} pitch diameter; a belt "
            f"of section {made.section} wants {say(layout, least)} at least ({source.name}, {source.kind})",
            features=(pulley.name,),
            at=pulley.at,
            found=belt.result.small_pitch,
            needed=least,
            advice=Advice(f"use {larger.said}, or a section that bends tighter", larger.remedies),
        )


def overhung_load(layout: Layout) -> Iterator[Finding]:
    """A belt that pulls harder (N) at the motor's shaft than such motors bear, where its maker gives no figure."""
    for belt in layout.belts:
        forces = belt.result.forces
        if belt.request.motor is not None and belt.request.motor.shaft_load_n is not None:
            continue
        if forces is None or forces.overhung_limit is None or forces.overhung <= forces.overhung_limit * (1 + ROUNDED):
            continue
        # the pull of a given power goes down as the pulley's radius goes up
        larger = refit(layout, belt, *both_resized(layout, belt, forces.overhung / forces.overhung_limit))
        yield Finding(
            rule="overhung-load",
            level="warn",
            message=f"{belt.name}: the belt loads the motor's shaft with {forces.overhung:.0f} N; the smallest "
            f"pulley that is usual on such a motor makes {forces.overhung_limit:.0f} N",
            features=(belt.driver.name,),
            at=belt.driver.at,
            found=forces.overhung,
            needed=forces.overhung_limit,
            unit="N",
            advice=Advice(f"use {larger.said}, or ask the motor's maker what its bearings stand", larger.remedies),
        )


def shaft_load(layout: Layout) -> Iterator[Finding]:
    """A belt that pulls harder (N) at the motor's shaft than its maker allows."""
    for belt in layout.belts:
        forces, motor = belt.result.forces, belt.request.motor
        if forces is None or motor is None or motor.shaft_load_n is None or belt.request.before != 1:
            continue
        standing, running = forces.driver_new.size, forces.driver_running.size
        # Standing it pulls with both strands alike; running, one pulls more and the other less. Either may be the
        # greater.
        pulled, when = max((standing, "standing, tightened as new"), (running, "running under full torque"))
        allowed = motor.shaft_load_n
        if pulled <= allowed * (1 + ROUNDED):
            continue
        # the belt's own weight and wrap change with the pulleys too, so that a few steps are tried
        # A force goes down as the radius goes up: that much larger pulleys would just do.
        larger = None
        for step in range(SHAFT_STEPS):
            fit = refit(layout, belt, *both_resized(layout, belt, pulled / allowed * (1 + 0.1 * step)))
            then = None if fit.result is None else fit.result.forces
            if then is not None and max(then.driver_new.size, then.driver_running.size) <= allowed:
                larger = fit
                break
        ask = "a motor with stronger bearings"
        yield Finding(
            rule="shaft-load",
            level="warn",
            message=f"{belt.name}: {when}, the belt pulls the motor's shaft with {pulled:.0f} N; its maker allows "
            f"{allowed:.0f} N at the middle of the shaft's end",
            features=(belt.driver.name,),
            at=belt.driver.at,
            found=pulled,
            needed=allowed,
            unit="N",
            advice=Advice(f"use {ask}") if larger is None else Advice(f"use {larger.said}, or {ask}", larger.remedies),
        )


SHAFT_STEPS = 8
"""Sizes of pulleys that are tried against a load on the shaft, each a tenth larger. Ours."""
LARGER_NAMED = 3
"""Pairs of larger pulleys that are named for a belt that is too weak, at most. Ours."""


def belt_rating(layout: Layout) -> Iterator[Finding]:
    """A belt that the published rating does not let carry the design power (kW)."""
    for belt in layout.belts:
        forces = belt.result.forces
        rated = None if forces is None else forces.rating.power_w
        if forces is None or rated is None:
            continue
        # Makers' tables differ by the age of the belt: what today's carries, an old one from the shelf may not.
        if rated >= forces.design_power_w * (1 - ROUNDED):
            # A belt of today carries the design power; one of standard quality would not.
            cautious = forces.rating.cautious
            if (
                cautious is not None
                and cautious.power_w is not None
                and cautious.power_w < forces.design_power_w * (1 - ROUNDED)
            ):
                needed = forces.design_power_w / 1000
                carried = show_power(forces.design_power_w, layout.spec.unit)
                source = cautious.source
                yield Finding(
                    rule="belt-rating",
                    level="note",
                    message=f"{belt.name}: belts of today carry the {carried} that it is to carry, one of "
                    f"standard quality only {show_power(cautious.power_w, layout.spec.unit)} ({cautious.text}"
                    + (")" if source is None else f"; {source.name}, {source.kind})"),
                    features=whole(belt),
                    at=middle(belt),
                    found=cautious.power_w / 1000,
                    needed=needed,
                    unit="kW",
                    advice=Advice(
                        f"buy a belt whose maker's table lets it carry {carried} on these pulleys; do not put on "
                        "an old one of unknown make"
                    ),
                )
            continue
        source = forces.rating.source
        said = forces.rating.text if source is None else f"{forces.rating.text}; {source.name}, {source.kind}"
        factor, unit = belt.request.service_factor, layout.spec.unit
        advice, *others = _stronger(layout, belt)
        yield Finding(
            rule="belt-rating",
            level="warn",
            message=f"{belt.name}: the belt is to carry {show_power(forces.design_power_w, unit)}, which is the "
            f"motor's {show_power(forces.design_power_w / factor, unit)} times a service factor of {factor:g}; its "
            f"rating is {show_power(rated, unit)} ({said})",
            features=whole(belt),
            at=middle(belt),
            found=rated / 1000,
            needed=forces.design_power_w / 1000,
            unit="kW",
            advice=advice,
            others=tuple(others),
        )


def _stronger(layout: Layout, belt: PlacedBelt) -> tuple[Advice, ...]:
    """More belts side by side, more ribs, a wider belt: the first that carries the design power; or larger pulleys."""
    made = belt.request.belt
    assert made is not None
    # Both pulleys larger, so that the speeds stay, until the same belt carries the power. The next sizes come after the
    # first one, as that may be in the way of something; no pair is named with a pulley that the section must not bend
    # round.
    least = belt.result.smallest_pitch or 0.0
    enlarged: list[Advice] = []
    for step in range(1, LARGER_TRIED):
        larger = refit(layout, belt, *both_resized(layout, belt, 1 + step / 10))
        after = larger.result
        if larger.remedies and after is not None and after.small_pitch >= least and _carries(after):
            said = f"use {larger.said}, unless its own table lets your belt carry more"
            enlarged.append(Advice(said, larger.remedies))
            if len(enlarged) == LARGER_NAMED:
                break
    look = "look the rating up in your belt's own table first, as it may carry more"
    if belts.section(made.section).toothed:
        for width in belts.stock_widths(made.section):
            wider = replace(made, width=width)
            if width > made.width and _carries(try_out(replace(belt.request, belt=wider))):
                remedy = belt_value(layout, belt, width=length(layout, width))
                advice = Advice(f"use a belt {say(layout, width)} wide", (remedy,))
                enlarged[:0] = with_rims(layout, belt, wider, advice)
                break
        return (*enlarged, Advice("use a stronger section or larger pulleys"))
    if belts.section(made.section).family == "ribbed" and made.size is not None:
        # one belt of more ribs, up to the widest usual one, in place of several side by side
        for ribs in range(made.ribs + 1, round(belts.usual_pull(made.section).most) + 1):
            if _carries(try_out(replace(belt.request, belt=replace(made, ribs=ribs)))):
                advice = Advice(
                    f"{look}; by this one it takes {ribs} ribs", (with_ribs(layout, belt, made.size, ribs),)
                )
                enlarged[:0] = with_rims(layout, belt, replace(made, ribs=ribs), advice)
                break
        return (*enlarged, Advice(f"{look}; else use a stronger section"))
    for count in range(made.count + 1, MOST_BELTS + 1):
        if _carries(try_out(replace(belt.request, belt=replace(made, count=count)))):
            said = f"{look}; by this one it takes {count} belts side by side"
            advice = Advice(said, (belt_value(layout, belt, count=count),))
            enlarged[:0] = with_rims(layout, belt, replace(made, count=count), advice)
            break
    return (*enlarged, Advice(f"{look}; else use a stronger section"))


def _carries(after: DriveResult | None) -> bool:
    if after is None or after.forces is None or after.forces.rating.power_w is None:
        return False
    return after.forces.rating.power_w >= after.forces.design_power_w


# ------------------------------------------------------------------------------------- what is wanted


def wanted_speed(layout: Layout) -> Iterator[Finding]:
    """Speeds (rpm) that the working shaft should have and does not reach."""
    from platekit.drive.limits import SPEED_TOLERANCE

    def spread(low: float, high: float) -> str:
        return f"{low:.0f} rpm" if round(low) == round(high) else f"{low:.0f} to {high:.0f} rpm"

    for belt in layout.belts[-1:]:  # the one on the working shaft
        reach = belt.result.reach
        if reach is None or reach.reached:
            continue

        low_missed = reach.lowest_rpm > reach.wanted_low_rpm * (1 + SPEED_TOLERANCE)
        found, needed = (
            (reach.lowest_rpm, reach.wanted_low_rpm) if low_missed else (reach.highest_rpm, reach.wanted_high_rpm)
        )
        advice = PLATE_FIRST if speed_doubted(layout) else _speeds_reached(layout, belt)
        yield Finding(
            rule="wanted-speed",
            level="stop",
            message=f"{belt.name}: the working shaft runs {spread(reach.lowest_rpm, reach.highest_rpm)}; "
            f"wanted is {spread(reach.wanted_low_rpm, reach.wanted_high_rpm)}",
            features=(belt.driven.name,),
            at=belt.driven.at,
            found=found,
            needed=needed,
            unit="rpm",
            advice=advice,
        )


def _speeds_reached(layout: Layout, belt: PlacedBelt) -> Advice:
    from platekit.drive.limits import LARGEST_RATIO

    reach = belt.result.reach
    assert reach is not None
    if reach.highest_rpm <= 0:
        return Advice(
            "the motor stalls under its rated torque at every setting: raise the voltage, or use another motor", ()
        )
    if reach.ratio_needed is None:
        return _wider_range(layout, belt)
    ratio = reach.ratio_needed / belt.request.before
    # the ratio of this belt alone: what belts before it do is given
    if not 1 / LARGEST_RATIO <= ratio <= LARGEST_RATIO:
        return Advice(
            f"that takes {max(ratio, 1 / ratio):.1f} to 1, beyond any single belt ({LARGEST_RATIO:.0f} to 1): "
            "use a countershaft (`second`), a gear motor or a slower motor",
            (),
        )
    said = f"a ratio of {ratio:.2f} to 1 would do"
    # one pulley is kept, the other follows the ratio; pulleys come in sizes, so the next up and the next down are tried
    ends: tuple[tuple[End, float], ...] = (
        ("driven", belt.result.driver_pitch * ratio),
        ("driver", belt.result.driven_pitch / ratio),
    )
    for end, pitch in ends:
        for up in (True, False):
            other = refit(layout, belt, resize(layout, belt, end, pitch, up))
            if other.remedies and other.result and other.result.reach and other.result.reach.reached:
                return Advice(f"{said}: use {other.said}", other.remedies)
    return Advice(f"{said}, with another belt and centre distance (`platekit drive SPEC --choose` ranks them)", ())


def _wider_range(layout: Layout, belt: PlacedBelt) -> Advice:
    """No ratio reaches both ends: a wider range of the inverter does, if the motor can follow."""
    from platekit.drive.motors import frequency_for_hz
    from platekit.drive.working import induction_motor

    reach, motor = belt.result.reach, belt.request.motor
    assert reach is not None
    why = f"no ratio does it: {reach.range_needed:.1f} to 1 is wanted and the motor gives {reach.range_given:.1f} to 1"
    if motor is None or motor.kind != "induction":
        return Advice(f"{why}; widen the voltage's range, or want less", ())
    try:
        ends = [
            frequency_for_hz(induction_motor(motor), speed * belt.result.ratio)
            for speed in (reach.wanted_low_rpm, reach.wanted_high_rpm)
        ]
    except DriveError:
        return Advice(f"{why}; use pulleys that can be changed, or want less", ())
    # outward to a tenth of a Hz, what an inverter's dial shows: inward would miss the ends again
    low, high = math.floor(ends[0] * 10) / 10, math.ceil(ends[1] * 10) / 10
    value = {"from": f"{low:g} Hz", "to": f"{high:g} Hz"}
    return Advice(
        f"{why}; an inverter from {low:g} to {high:g} Hz would do with these pulleys",
        (Remedy("drive.inverter", dict(value)),),
    )


SQUARE: Final = frozenset({"small fan", "large fan", "exhauster", "centrifugal pump"})
"""What takes torque as the square of its speed, and power as the cube (textbook: the affinity laws)."""


def torque_short(layout: Layout) -> Iterator[Finding]:
    """Less torque (Nm) at the working shaft than is wanted, somewhere within the wanted speeds."""
    from platekit.drive.limits import TORQUE_MARGIN

    for belt in layout.belts[-1:]:  # the one on the working shaft
        wanted, points = belt.request.wanted, belt.result.points
        if wanted.torque_nm is None or not points:
            continue
        yield from _over_its_speed(layout, belt)
        share = belt.result.reach.torque_share if belt.result.reach else None
        if share is None:
            share = min(point.torque_nm for point in points) / wanted.torque_nm
        if share >= TORQUE_MARGIN * (1 - ROUNDED):
            continue
        # a stronger motor, or gearing down where the speeds that are wanted leave room for it
        motor, short = belt.request.motor, share / TORQUE_MARGIN
        ratio = belt.result.ratio / short
        said = f"a ratio of {ratio:.2f} to 1, where its speeds are fast enough"
        other = refit(layout, belt, resize(layout, belt, "driven", belt.result.driven_pitch / short, up=True))
        ideas: list[Advice] = []
        if other.remedies:
            ideas.append(Advice(f"a ratio of {ratio:.2f} to 1 would do: use {other.said}", other.remedies))
        if motor is None or motor.kind != "induction":
            ideas.append(Advice(f"use {said}, or a stronger motor"))
        else:
            # the next standard power: below it no motor is made, so a figure in between would be no advice
            least = motor.power_w / short / 1000
            power = next((size for size in standard_powers_kw() if size >= least * (1 - ROUNDED)), math.ceil(least))
            stronger = Remedy("drive.motor.power", f"{power:g} kW")
            ideas.insert(0, Advice(f"use a motor of {power:g} kW at the same speed, or {said}", (stronger,)))
        advice, *others = (PLATE_FIRST,) if speed_doubted(layout) else ideas
        yield Finding(
            rule="torque-short",
            level="stop",
            message=f"{belt.name}: the working shaft has {share * wanted.torque_nm:.2f} Nm where it is weakest within "
            f"the wanted speeds; {wanted.torque_nm:.2f} Nm is wanted",
            features=(belt.driven.name,),
            at=belt.driven.at,
            found=share * wanted.torque_nm,
            needed=wanted.torque_nm * TORQUE_MARGIN,
            unit="Nm",
            advice=advice,
            others=tuple(others),
        )


def _over_its_speed(layout: Layout, belt: PlacedBelt) -> Iterator[Finding]:
    """A fan or pump that the range of the inverter takes past its wanted speed: its torque (Nm) grows as the square."""
    wanted, machine = belt.request.wanted, layout.driven_machine
    if machine not in SQUARE or wanted.speeds is None or wanted.torque_nm is None:
        return
    full, torque = wanted.speeds.high, wanted.torque_nm
    fast = [one for one in belt.result.points if one.frequency_hz is not None and one.speed_rpm > full]
    short = [one for one in fast if one.torque_nm < torque * (one.speed_rpm / full) ** 2 * (1 - ROUNDED)]
    if not short:
        return
    top = max(short, key=lambda one: one.speed_rpm)
    takes = torque * (top.speed_rpm / full) ** 2
    # at the frequency that gives the speed wanted it takes what was told; whole hertz below it hold that too
    limit = math.floor((top.frequency_hz or 0.0) * full / top.speed_rpm)
    yield Finding(
        rule="torque-short",
        level="warn",
        message=f"{belt.name}: at {top.frequency_hz:g} Hz the working shaft would run {top.speed_rpm:.0f} rpm; a "
        f"{machine} that takes {torque:.2f} Nm at {full:.0f} rpm takes {takes:.2f} Nm there, as the square of its "
        f"speed, and the motor brings {top.torque_nm:.2f} Nm: it is overloaded",
        features=(belt.driven.name,),
        at=belt.driven.at,
        found=top.torque_nm,
        needed=takes,
        unit="Nm",
        advice=Advice(
            f"set the inverter's highest frequency to {limit} Hz, in the spec and on it",
            (Remedy("drive.inverter.to", f"{limit} Hz"),),
        ),
        field="drive.inverter",
    )


RULES = (
    Rule(
        "belt-speed",
        "a belt that flies apart, or pulls hard because it is slow",
        "the section's limit; 5 m/s at least for V and ribbed belts",
        "belt tables, each row with its kind; common practice",
        belt_speed,
        levels=("stop", "warn"),
    ),
    Rule(
        "speed-limit",
        "a motor, rim or tool faster than it may run",
        "what is marked; the rim limit of the material; 90 Hz for a motor without a mark",
        "belt tables, each row with its kind; common practice",
        speed_limit,
        levels=("stop", "warn"),
        keys=("drive.motor.max_speed", "drive.driver.material", "drive.wanted.tool_max_speed"),
    ),
    Rule(
        "slow-cooling",
        "a motor that cooks itself at low frequency",
        "15 Hz",
        "common practice (12 to 15)",
        slow_cooling,
        levels=("warn",),
    ),
    Rule(
        "wrap",
        "a belt that slips or jumps on the small pulley",
        "120 degrees; 6 teeth in mesh",
        "common practice; ISO 5295, published",
        wrap,
        levels=("warn",),
    ),
    Rule(
        "small-pulley",
        "a belt bent too sharply",
        "the section's smallest pulley",
        "belt tables, each row with its kind",
        small_pulley,
        levels=("warn",),
    ),
    Rule(
        "overhung-load",
        "a motor shaft that the belt bends or whose bearings it wears out",
        "what the smallest usual pulley on such a motor makes",
        "NEMA MG 1-14.42, published (below 1 hp from memory)",
        overhung_load,
        levels=("warn",),
    ),
    Rule(
        "shaft-load",
        "a motor whose bearings the belt wears out",
        "what the motor's maker allows, against the belt's pull standing as new and running, whichever is more",
        "no number until the spec gives it: the maker of the motor tells it",
        shaft_load,
        levels=("warn",),
        keys=("drive.motor.shaft_load",),
    ),
    Rule(
        "belt-rating",
        "a belt that does not last",
        "what makers' tables let such a belt carry; a note where one of standard quality would not",
        "makers' tables, Shigley table 17-12, ISO 5295: published (teeth of T10 and AT10, 14M as 8M: our rules)",
        belt_rating,
        levels=("warn", "note"),
        keys=("drive.service_factor", "drive.machine", "drive.hours"),
    ),
    Rule(
        "wanted-speed",
        "speeds that are not reached",
        "2 % tolerance",
        "common practice",
        wanted_speed,
        levels=("stop",),
        keys=("drive.wanted.from", "drive.wanted.to"),
    ),
    Rule(
        "torque-short",
        "a shaft that stalls",
        "the wanted torque",
        "no number of its own: the spec says it",
        torque_short,
        levels=("stop", "warn"),
        keys=("drive.wanted.torque",),
    ),
)

"""One belt in words: what was worked out about it, line by line, for the screen and the report."""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import suppress

from platekit.errors import LookupFailed
from platekit.geometry import Straight, Swing
from platekit.laying.shafts import key_on
from platekit.placed import SAME_LENGTH, Layout, PlacedBelt, PlacedPulley
from platekit.tables import belts
from platekit.units import INCH, said_in, show_force, show_length, show_power, show_speed


def belt_line(layout: Layout, belt: PlacedBelt) -> str:
    """One belt in one line: which, from where to where, how far apart, which ratio and which speeds."""
    result, unit = belt.result, layout.spec.unit
    kind = "belt" if belt.request.belt is None else f"{belt.request.belt.section} belt"
    said = (
        f"{belt.name}: {kind} from {belt.driver.mount} to {belt.driven.mount}, shafts "
        f"{show_length(result.centre_distance, unit)} apart, {result.ratio / belt.request.before:.2f} to 1"
    )
    if not result.points:
        return said
    low, high = (f"{point.speed_rpm:.0f}" for point in (result.points[0], result.points[-1]))
    return f"{said}, {low if low == high else f'{low} to {high}'} rpm"


def belt_rows(layout: Layout, belt: PlacedBelt) -> list[tuple[str, str]]:
    """What there is to say about a belt: a name and a figure in words each; lengths in the unit of the spec."""
    result, unit = belt.result, layout.spec.unit
    made, size = belt.request.belt, result.belt
    if made is None or size is None:
        named = f"{show_length(result.belt_length, unit)} pitch length"
    else:
        count = f"{made.count} x " if made.count > 1 else ""
        teeth = f", {size.teeth} teeth" if size.teeth else ""
        # belts are sold by other lengths than they are reckoned by: both are said where they differ
        stated = "" if size.of == "pitch" else f" ({show_length(size.length, unit)} {size.of})"
        stock = ", ".join(stocked.label for stocked in result.stock)
        named = f"{count}{made.section}, {show_length(size.pitch_length, unit)} pitch length{stated}{teeth}"
        named += f"; in stock: {stock}"
    rows = [
        ("belt", named),
        ("driver", _pulley(layout, belt, belt.driver, result.driver_teeth)),
        ("driven", _pulley(layout, belt, belt.driven, result.driven_teeth)),
        ("ratio", f"{result.ratio / belt.request.before:.3f} to 1"),
        ("centre distance", show_length(result.centre_distance, unit)),
        ("free span", show_length(result.span, unit)),
        (
            "arc of contact",
            f"driver {math.degrees(result.wrap_driver):.1f}, driven {math.degrees(result.wrap_driven):.1f} degrees",
        ),
    ]
    if result.teeth_in_mesh:
        rows.append(("teeth in mesh", str(result.teeth_in_mesh)))
    return [*rows, *travel_rows(layout, belt), *force_rows(layout, belt)]


def _pulley(layout: Layout, belt: PlacedBelt, pulley: PlacedPulley, teeth: int) -> str:
    """A pulley's size; how wide its rim is too, where it is that of a stock pulley, and who says so."""
    size, made = show_length(pulley.pitch_diameter, layout.spec.unit), belt.request.belt
    rim = ""
    if made is not None:
        with suppress(LookupFailed):  # no stock pulley is listed for that section and diameter
            width, source = belts.stock_rim(made.section, pulley.pitch_diameter, made.ribs or made.count)
            if abs(pulley.z[1] - pulley.z[0] - width) <= SAME_LENGTH:
                wide = show_length(width, layout.spec.unit)
                rim = f", rim {wide} as of a stock pulley ({source.name}, {source.kind})"
    rim += bore_and_key(layout, pulley.mount)
    return f"{size} pitch diameter{f' ({teeth} teeth)' if teeth else ''} on {pulley.mount}{rim}"


def bore_and_key(layout: Layout, mount: str) -> str:
    """The bore and keyway that a standard shaft wants of what sits on it, and who says so; else nothing."""
    seat, unit = key_on(layout, mount), layout.spec.unit
    if seat is None:
        return ""
    wide, deep = show_length(seat.width, unit), show_length(seat.hub_depth, unit)
    own = show_length(seat.shaft_depth, unit)
    return (
        f", bore {show_length(seat.shaft, unit)} with a keyway {wide} wide and {deep} deep (the shaft's is {own} deep: "
        f"{seat.source.name}, {seat.source.kind})"
    )


def travel_rows(layout: Layout, belt: PlacedBelt) -> Iterator[tuple[str, str]]:
    """What the belt asks of slots and hinges to go on and to be tightened: lengths in the spec's unit, degrees."""
    result, unit = belt.result, layout.spec.unit
    if result.travel is None or result.slot is None:
        return
    # a slot that runs aslant of the line of centres moves them by less than its own length
    share = "" if result.slot.share > 0.9999 else f" along a slot of which {100 * result.slot.share:.1f} % counts"
    yield (
        "travel needed",
        f"{show_length(result.slot.install, unit)} to put it on, {show_length(result.slot.tension, unit)} to tighten"
        f"{share} (centres {show_length(result.travel.shortest, unit)} to {show_length(result.travel.longest, unit)})",
    )
    for pulley in belt.pulleys:
        travel = pulley.travel
        if isinstance(travel, Swing) and pulley.drawn.lies:
            yield (
                "hinge",
                f"{pulley.mount} swings {math.degrees(travel.install):.1f} degrees to put it on, "
                f"{math.degrees(travel.tension):.1f} to tighten, about an axis {show_length(travel.about[1], unit)} "
                "over the near face",
            )
    for idler in belt.idlers:
        if idler.mount == idler.name and isinstance(idler.travel, Straight | Swing):
            turns = isinstance(idler.travel, Swing)
            ways = (idler.travel.install, idler.travel.tension)
            sizes = [f"{math.degrees(one):.1f} degrees" if turns else show_length(one, unit) for one in ways]
            yield idler.end, f"{sizes[0]} to put it on, {sizes[1]} to tighten"


def force_rows(layout: Layout, belt: PlacedBelt) -> Iterator[tuple[str, str]]:
    """Speed in m/s, pulls and loads in N, design power in kW, where motor and speeds are known."""
    result, request, unit = belt.result, belt.request, layout.spec.unit
    forces, rims = result.forces, result.rims
    if rims is not None and result.belt_speed_m_s is not None:
        limit = "" if rims.belt_limit_m_s is None else f"; limit {show_speed(rims.belt_limit_m_s, unit, 'g')}"
        yield (
            "belt speed",
            f"{show_speed(result.belt_speed_m_s, unit)} at the motor's rated speed, "
            f"{show_speed(rims.belt_m_s, unit)} at the highest{limit}",
        )
        if rims.tool_m_s is not None:
            yield "tool's skin", f"{show_speed(rims.tool_m_s, unit)} at the highest setting"
    if forces is None:
        return
    from platekit.drive.working import efficiency

    def force(newtons: float) -> str:
        return show_force(newtons, unit)

    yield (
        "effective pull",
        f"{force(forces.pull)}; tight side {force(forces.running.tight)}, slack side {force(forces.running.slack)}",
    )
    yield "efficiency", f"{100 * efficiency(request):.3g} %, counted in the torque at the working shaft"
    # how a tension is set without a gauge: a finger at mid span, or the note of the plucked span
    sag = f"{forces.sag:.1f} mm" if unit == "mm" else f"{forces.sag / INCH:.3f} in"
    note = (
        "" if forces.span_frequency_hz is None else f"; span frequency {forces.span_frequency_hz:.0f} Hz, when plucked"
    )
    yield (
        "static tension",
        f"{force(forces.static_tension)}; deflection force at mid span for {sag}: "
        f"{show_force(forces.sag_force, unit, '.1f')} a belt, {show_force(forces.sag_force_new, unit, '.1f')} a new "
        f"one{note}",
    )
    yield (
        "load on the shaft",
        f"{force(forces.driver_at_rest.size)} at rest, {force(forces.driver_running.size)} running, "
        f"{force(forces.driver_new.size)} with a new belt; usual estimate {force(forces.overhung)}"
        + (
            "" if forces.overhung_limit is None else f"; the smallest usual pulley makes {force(forces.overhung_limit)}"
        ),
    )
    rated = said_in(forces.rating.text, unit)
    if forces.rating.power_w is not None:
        from_ = forces.rating.source
        source = "" if from_ is None else f" ({from_.name}, {from_.kind})"
        rated = f"rating {show_power(forces.rating.power_w, unit)} = {said_in(forces.rating.text, unit)}{source}"
        cautious = forces.rating.cautious
        if cautious is not None and cautious.power_w is not None:
            rated += f"; {show_power(cautious.power_w, unit)} of unknown make"
    factor = request.service_factor
    yield (
        "design power",
        f"{show_power(forces.design_power_w, unit)}, {show_power(forces.design_power_w / factor, unit)} times a "
        f"service factor of {factor:g}; {rated}",
    )

"""Rules on figures that are taken on trust and make a drive look better than it is, and on what hangs by a belt."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from platekit import tables
from platekit.checks.advice import say
from platekit.checks.finding import Advice, Finding, Remedy
from platekit.checks.rule import Rule
from platekit.placed import Layout, PlacedBelt
from platekit.spec.figures import typed
from platekit.tables import belts
from platekit.units import current_a, show_power

FASTEST_FIELDS: Final = 4.0
"""Top speed over the speed of the field at rated frequency, beyond which no usual cage motor is marked (common
practice: two times for two poles, up to four for eight)."""
CONSTANT_POWER: Final = 3.0
"""Constant power beyond this multiple of the rated frequency passes a cage motor's breakdown torque, which is some two
to three times the rated (common practice)."""
WATTS_PER_AMPERE: Final = (12.0, 1300.0)
"""Rated power over rated current of induction motors, W/A: from one of 60 W on 110 V of one phase, which draws some 2
A, to a large one on three phases of 690 V at a power factor of 0.9 (1075), with room on both sides (ours)."""
EFFICIENCIES: Final = (0.6, 0.99)
"""Between these lies the efficiency of every belt drive: V-belts 0.90 to 0.97, toothed belts up to 0.98, a long worn
one over idlers less (common practice)."""
SHAFT_STEEL: Final = "C45"
"""The steel that motor shafts are turned from (common practice)."""
ALLOWED: Final = 1.5
"""A service factor this many times smaller than the table's is another machine's (ours)."""
LIFTS: Final = {
    "crane": "the load hangs by this belt: it slips when wet or slack and may part, and then the load falls",
    "bucket elevator": "full buckets hang by this belt: where it slips or parts, they run back and fill the boot",
}
"""Driven machines that hold a load up, and what happens where their belt does not (common practice)."""


def overrated(layout: Layout) -> Iterator[Finding]:
    """Top speeds (rpm), ranges, shaft loads (N) and service factors of a spec that no motor or belt stands for."""
    if not layout.belts:
        return
    belt = layout.belts[0]
    yield from _motor(layout, belt)
    request, machine = belt.request, layout.driven_machine
    low, high = EFFICIENCIES
    given = request.efficiency if "efficiency" in request.own else None
    if given is not None and not low <= given <= high:
        yield _finding(
            belt,
            f"{belt.name}: an efficiency of {given:g} is given; belts have {low:g} to {high:g}",
            (given, low if given < low else high),
            Advice("take `efficiency` out: the usual one of its kind of belt is then taken"),
        )
    if "service_factor" not in request.own:
        return
    listed = None if machine is None else belts.service_factor(machine, layout.driven_hours)
    least, wanted = (1.0, 1.0) if listed is None else (listed.factor / ALLOWED, listed.factor)
    if request.service_factor < least * (1 - 1e-9):
        whose = "no belt is chosen for less than its motor gives"
        if listed is not None:
            whose = f"that of a {machine} is {wanted:g} ({listed.source})"
        yield _finding(
            belt,
            f"{belt.name}: a service factor of {request.service_factor:g} is given; {whose}",
            (request.service_factor, wanted),
            Advice(
                f"give {wanted:g}; where the belt is known to run so, accept this",
                (Remedy("drive.service_factor", wanted),),
            ),
        )


def _motor(layout: Layout, belt: PlacedBelt) -> Iterator[Finding]:
    from platekit.drive.motors import InductionMotor

    motor = belt.request.motor
    if motor is None:
        return
    yield from _current(layout, belt)
    if motor.kind == "induction":
        field = InductionMotor(motor.power_w, motor.speed_rpm, motor.frequency_hz).synchronous_rpm
        top, most = motor.max_speed_rpm, FASTEST_FIELDS * field
        if top is not None and top > most * (1 + 1e-9):
            yield _finding(
                belt,
                f"{belt.name}: a top speed of {top:g} rpm is given for a motor whose field turns at {field:.0f} rpm; "
                f"cage motors are marked for {FASTEST_FIELDS:g} times that at most",
                (top, most),
                Advice("look at the motor's rating plate or data sheet; what is not marked on it is left out"),
                "rpm",
            )
        if motor.constant_power_to > CONSTANT_POWER * (1 + 1e-9):
            yield _finding(
                belt,
                f"{belt.name}: constant power up to {motor.constant_power_to:g} times the rated frequency; beyond "
                f"{CONSTANT_POWER:g} times a cage motor is past its breakdown torque and stalls",
                (motor.constant_power_to, CONSTANT_POWER),
                Advice(
                    "take `constant_power_to` out, or give what the motor's own curve shows",
                    (Remedy("drive.motor.constant_power_to", CONSTANT_POWER),),
                ),
            )
    mount = layout.mounts[belt.driver.mount]
    row = mount.standard
    if motor.shaft_load_n is None or row is None or row.shaft is None or row.shaft_length is None:
        return
    # At the middle of the shaft's end, over its root at the shoulder; the shaft round and without its keyway, so that
    # what is told here is too much in any case.
    steel = tables.material(SHAFT_STEEL)
    bent = motor.shaft_load_n * row.shaft_length / 2 / (math.pi * row.shaft**3 / 32)
    if bent > steel.yield_strength:
        most = steel.yield_strength / bent * motor.shaft_load_n
        yield _finding(
            belt,
            f"{belt.name}: its maker is said to allow {motor.shaft_load_n:.0f} N at the middle of the shaft's end; "
            f"that bends a shaft of {say(layout, row.shaft)} with {bent:.0f} N/mm2, and {SHAFT_STEEL} yields at "
            f"{steel.yield_strength:g} N/mm2 ({steel.source})",
            (motor.shaft_load_n, most),
            Advice("look at the data sheet again, and at the unit: the figure is the permissible radial load"),
            "N",
        )


def _current(layout: Layout, belt: PlacedBelt) -> Iterator[Finding]:
    """A rated current (A) that no motor of that power draws: the commissioning sheet sets its protection by it."""
    motor, said = belt.request.motor, typed(layout.spec, "drive.motor.current")
    if motor is None or motor.kind != "induction" or said is None:
        return
    current = current_a(said)
    most, least = (motor.power_w / watts for watts in WATTS_PER_AMPERE)
    if least <= current <= most:
        return
    yield _finding(
        belt,
        f"{belt.name}: a rated current of {current:g} A is given; at {show_power(motor.power_w, layout.spec.unit)} "
        f"induction motors draw {least:.2g} to {most:.2g} A, whatever their voltage: its protection would be set wrong",
        (current, least if current < least else most),
        Advice("look at the motor's rating plate again, and at the point and the unit"),
        "A",
    )


def _finding(belt: PlacedBelt, message: str, figures: tuple[float, float], advice: Advice, unit: str = "") -> Finding:
    return Finding(
        rule="overrated",
        level="warn",
        message=message,
        features=(belt.driver.name, belt.driver.mount),
        at=belt.driver.at,
        found=figures[0],
        needed=figures[1],
        unit=unit,
        advice=advice,
    )


def lifting(layout: Layout) -> Iterator[Finding]:
    """A load that only a belt holds up."""
    machine = layout.driven_machine
    if machine not in LIFTS or not layout.belts:
        return
    belt = layout.belts[-1]
    yield Finding(
        rule="lifting",
        level="warn",
        message=f"{belt.name}: it drives a {machine}: {LIFTS[machine]}; nothing here holds it then, and no belt may be "
        "what holds it",
        features=(belt.driven.name, belt.driven.mount),
        at=belt.driven.at,
        advice=Advice(
            "fit a brake or backstop on the driven shaft, behind the belt, that holds the load without power, and "
            "accept this with what it is; local codes and licensed people decide on lifting gear"
        ),
    )


RULES = (
    Rule(
        "overrated",
        "a figure taken on trust that no such motor, shaft or belt stands for",
        f"{FASTEST_FIELDS:g} times the field's speed; {WATTS_PER_AMPERE[0]:g} to {WATTS_PER_AMPERE[1]:g} W/A; "
        f"efficiency {EFFICIENCIES[0]:g} to {EFFICIENCIES[1]:g}; constant power to {CONSTANT_POWER:g} times the "
        f"frequency; the yield of {SHAFT_STEEL} in the shaft; the table's service factor over {ALLOWED:g}",
        "common practice; material.csv; service factors, each row with its kind; ours",
        overrated,
        levels=("warn",),
        keys=(
            "drive.motor.max_speed",
            "drive.motor.constant_power_to",
            "drive.motor.shaft_load",
            "drive.service_factor",
        ),
    ),
    Rule(
        "lifting",
        "a load that hangs by a belt",
        "a crane or bucket elevator as the driven machine",
        "common practice; local codes decide",
        lifting,
        levels=("warn",),
        keys=("drive.machine",),
    ),
)

"""The commissioning sheet: from the last screw to the first day of running, with boxes for what is set and found.

Every figure is from the layout. What the layout does not know has a box and says so; what has no source but the trade
is marked as common practice.
"""

from __future__ import annotations

import math
import os
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Final

from msgspec import Struct

from platekit.analysis.assembly import in_order_of_tension
from platekit.checks.finding import Verdict
from platekit.checks.guard import left_turning
from platekit.drawing.jacking import looked_at
from platekit.drawing.pdf.flow import TO_FILL, Block, Column, items, table
from platekit.drawing.pdf.pages import closing
from platekit.drive.request import Motor, Range
from platekit.drive.result import Reach, WorkingPoint
from platekit.export.bench.lists import list_paper
from platekit.export.bench.words import screw_name, torque_words
from platekit.export.files import write_whole
from platekit.placed import Layout, PlacedBelt, PlacedCoupling
from platekit.spec.figures import typed
from platekit.tables.naming import listed
from platekit.units import current_a, show_force, show_length, show_power

COMMISSIONING_SUFFIX: Final = ".commissioning.pdf"
WHAT: Final = "commissioning sheet"
RAMP_UP, RAMP_DOWN = 5.0, 10.0
"""Ramps to begin with, s (common practice): slow enough that no usual inverter trips on a small machine."""
HAND_HOT: Final = 60
"""Metal that a hand cannot stay on is hotter than this, degrees C (common practice)."""
BEARING_HOT: Final = 80
"""A bearing hotter than this wants a look at belt tension and grease, degrees C (common practice)."""
LEAST_COOLED: Final = 0.5
"""Below this share of its rated frequency a motor cooled by its own fan gets hot under load (common practice)."""
SAME_RPM: Final = 0.5
"""Speeds that differ by less are the same setting, rpm (ours)."""
SAME_HZ: Final = 0.05
"""Frequencies that an inverter shows alike, Hz (ours)."""

Rows = list[list[str]]


def commissioning_bytes(layout: Layout, verdict: Verdict) -> bytes:
    """The sheet as PDF; the same layout gives the same bytes."""
    return list_paper(layout, verdict, WHAT, lambda width: _blocks(layout, verdict, width))


def commissioning(layout: Layout, verdict: Verdict, path: str | os.PathLike[str]) -> None:
    """Writes the sheet to `path`, whole or not at all; see `commissioning_bytes`."""
    write_whole(path, commissioning_bytes(layout, verdict))


def _blocks(layout: Layout, verdict: Verdict, width: float) -> Iterator[Block]:
    """All of it in the order in which it is done; whoever is at the machine turns pages forward only."""
    yield items("Before power", tuple(before_power(layout)), width, "□")
    screws = screw_rows(layout)
    if screws:
        heads = ["for", "screws", "tighten to", "now", "first hour", "first day"]
        note = "Each box for the torque that was set or found."
        if any(mount.travel is not None for mount in layout.mounts.values()):
            note += f" Screws of what slides come {'after the belt is tight' if layout.belts else 'once it is set'}."
        yield table("Screws", _columns(heads), screws, width, note)
    rows, told = inverter_rows(layout), motor_of(layout)
    if rows:
        note = "By a licensed electrician. The motor's rating plate goes before the spec: fill in what it says."
        what = "Motor" if told.motor is not None and told.inverter is None else "Motor and inverter"
        yield table(what, _columns(["setting", "to", "set to"]), rows, width, note)
    yield items("For the licensed electrician", tuple(electrical(layout)), width, "□")
    yield items("Rotation, with nothing driven: belt off, coupling apart", tuple(rotation(layout)), width, "□")
    for belt, before in in_order_of_tension(layout.belts):
        heads = ["", "to", "now", "first hour", "first day"]
        title = f"Tension of {belt.name}"
        yield table(title, _columns(heads), tension_rows(layout, belt), width, tension_note(layout, belt, before))
    for coupling in layout.couplings:
        heads = ["", "at most", "now", "first hour", "first day"]
        note = "Power locked out. Turn both shafts together, a quarter at a time, and take the largest reading."
        yield table(f"Alignment of {coupling.name}", _columns(heads), alignment_rows(layout, coupling), width, note)
    speeds = speed_rows(layout)
    stepped = len(speeds) != 1  # where no speed is known nobody can say that there is but one
    yield items("First run", FIRST_RUN if stepped else FIRST_RUN_AT_ONE_SPEED, width, "□")
    if speeds:
        heads = ["setting", "motor", "working shaft", "shaft, measured", "current", "sound and shake"]
        note = "Step by step from the lowest, some minutes at each." if stepped else ""
        yield table("Speeds", _columns(heads), speeds, width, note)
    watched = watch_rows(layout, verdict)
    yield table("To watch: noise, heat, shaking", _columns(["what", "look for", "found"]), watched, width)
    after = AFTER_COUPLED if layout.couplings else AFTER_UNTOLD
    after = AFTER if layout.belts or layout.twisted is not None else after
    yield items("After the first hour, and after the first day", after, width, "□")
    signed = [
        ["electrical work", TO_FILL, TO_FILL],
        ["guards and stop", TO_FILL, TO_FILL],
        ["handed over", *[TO_FILL] * 2],
    ]
    yield table("Done and seen by", _columns(["", "name and licence", "date"]), signed, width)
    yield closing(width)


def _columns(heads: Sequence[str]) -> list[Column]:
    return [Column(head, face="bold" if index == 0 else "regular") for index, head in enumerate(heads)]


# ------------------------------------------------------------------------------------------ before power


def before_power(layout: Layout) -> Iterator[str]:
    """What has to be done before anything can turn."""
    yield "Supply locked out and proved dead; whoever works here has the key."
    yield "All screws of the table below at their torque; nothing loose, no tool and no rag on the machine."
    yield "Everything turns by hand without rubbing, one whole turn of each shaft."
    for guard in layout.guards:
        over = listed(guard.belts, "and")
        yield f"The guard over {over} is on, with all its screws, and no finger gets to belt and pulleys."
    bare = [belt.name for belt in layout.belts if all(belt.name not in guard.belts for guard in layout.guards)]
    bare += [] if layout.twisted is None else [layout.twisted.name]
    bare += [one.name for one in layout.couplings if one.guarded is None]
    if bare:
        over = listed(bare, "and")
        yield f"A guard over {over} is made by local rules and on: none is described in the spec."
    elif not layout.guards and not layout.couplings:
        yield "Whatever turns is guarded by local rules: no guard is described in the spec."
    for one in layout.couplings:
        if one.guarded is not None:
            yield f"{one.name} is covered ({one.guarded}), and no finger gets at it or at the shafts beside it."
    for body in left_turning(layout):
        yield f"{body.name}, which stays and turns, is covered, or taken off its shaft."
    yield "The stop button can be reached from where one works, and is wired and tried before first power."


def screw_rows(layout: Layout) -> Rows:
    """The screws to tighten, and again after the first hour and the first day, with their torques."""
    unit = layout.spec.unit
    boxes = [f"{TO_FILL} {'Nm' if unit == 'mm' else 'lbf ft'}"] * 3
    rows = [
        [name, f"{mount.stack.count} × {screw_name(mount.stack)}", torque_words(mount.stack, unit), *boxes]
        for name, mount in layout.mounts.items()
        if mount.stack is not None
    ]
    for guard in layout.guards:
        for what, size, count in (
            (guard.name, guard.screw, len(guard.fixed_at)),
            (f"{guard.name}'s cover", guard.cover_screw, len(guard.cover_holes)),
        ):
            if count:
                rows.append([what, f"{count} × {size or 'screw'}", "snug: it holds sheet", *[TO_FILL] * 3])
    return rows


# ------------------------------------------------------------------------------------- motor, inverter


def electrical(layout: Layout) -> Iterator[str]:
    """What the electrician does or strikes out. Common practice; the makers' papers and local codes go first."""
    told = motor_of(layout)
    # where no motor is described nobody knows whether there is an inverter: then all of it stands there
    inverter = told.motor is None or told.inverter is not None
    yield "A supply switch that can be locked off, protective earth, and fuses for motor and cable."
    if inverter:
        yield (
            "Residual-current device and fuses as the inverter's maker says: the leakage of an inverter trips a common "
            "one, or keeps it from tripping."
        )
        yield (
            "The stop button takes the power off, or acts on an input of the inverter that is made for safe stopping; "
            "letting it out starts nothing."
        )
    else:
        yield "The stop button takes the power off; letting it out, or power that comes back, starts nothing."
    feeds = "inverter puts out" if inverter else "supply has"
    if told.motor is None or told.motor.kind == "induction":
        yield f"Windings bridged in star or delta for the voltage that the {feeds}, by the motor's rating plate."
    if inverter:
        yield (
            "Motor with an external brake: its coil has a supply of its own, never the inverter's output; its "
            "relay lets it go and drops it, and it falls only when the ramp down has ended. No brake: strike this out."
        )
        yield (
            "Supply of one phase: an inverter for one phase puts out three phases of no more than the supply's "
            "voltage, so a motor for two voltages goes to the lower one; it draws more current from its one phase than "
            "the motor takes, so cable and fuse go by the inverter. One for three phases runs on a single one only "
            "as far as its maker says. Supply of three phases: strike this out."
        )
    else:
        yield (
            "Motor with a brake: its coil wired by the motor's rating plate, so that it falls when the power goes. "
            "No brake: strike this out."
        )


def _known(said: str) -> str:
    return f"{said} by the spec"


NOT_SAID: Final = "not in the spec: as the motor's rating plate says"


class MotorTold(Struct, frozen=True):
    """The motor of a drive or a coupling, what its speed is set by, and the range of its inverter in Hz."""

    motor: Motor | None = None
    setting: Range | None = None
    inverter: Range | None = None


def motor_of(layout: Layout) -> MotorTold:
    """What the layout tells of its motor: that of the first belt with one, else that of a coupling."""
    for belt in layout.belts:
        if belt.request.motor is not None:
            return MotorTold(belt.request.motor, belt.request.setting, belt.request.inverter)
    for coupling in layout.couplings:
        if coupling.motor is not None:
            ranged = None if coupling.inverter is None else Range(*coupling.inverter)
            return MotorTold(coupling.motor, ranged, ranged)
    return MotorTold()


def working_points(layout: Layout) -> tuple[WorkingPoint, ...]:
    """The settings of the drive, lowest first, with what the working shaft does: that of the last belt."""
    return next((belt.result.points for belt in reversed(layout.belts) if belt.result.points), ())


def inverter_rows(layout: Layout) -> Rows:
    """What is set on the inverter, and the motor's figures that it is told: kW, V, A, Hz, rpm, s."""
    unit, told = layout.spec.unit, motor_of(layout)
    motor, setting, inverter = told.motor, told.setting, told.inverter
    points = working_points(layout)
    if motor is None and not layout.belts and not layout.couplings and layout.twisted is None:
        return []
    # of a twisted belt nothing is worked out, and so its motor is not at hand here, though the spec may tell it
    unsaid = NOT_SAID if layout.twisted is None else "as the motor's rating plate says"
    if motor is not None and motor.kind != "induction":
        shares = "not in the spec" if setting is None else f"{setting.low:.0%} to {setting.high:.0%} of full voltage"
        return [
            [
                "kind of motor",
                f"{motor.kind}: its speed goes by the voltage; an inverter is none for it",
                f"{TO_FILL} V",
            ],
            ["voltage", shares, f"{TO_FILL} V"],
            ["protection", NOT_SAID, f"{TO_FILL} A"],
        ]
    power = unsaid if motor is None else _known(show_power(motor.power_w, unit, "g"))
    hertz = unsaid if motor is None else _known(f"{motor.frequency_hz:g} Hz")
    speed = unsaid if motor is None else _known(f"{motor.speed_rpm:g} rpm")
    fields = ("drive.motor.current", *(f"{one.field}.motor.current" for one in layout.couplings))
    current = next((found for field in fields if (found := typed(layout.spec, field)) is not None), None)
    amps = (
        f"{unsaid}, at that voltage" if current is None else f"{_known(f'{current_a(current):g} A')}, at that voltage"
    )
    rows = [
        ["rated power", power, f"{TO_FILL} {'kW' if unit == 'mm' else 'hp'}"],
        ["rated voltage", f"{unsaid}, for how its windings are bridged", f"{TO_FILL} V"],
        ["rated current", amps, f"{TO_FILL} A"],
        ["rated frequency", hertz, f"{TO_FILL} Hz"],
        ["rated speed", speed, f"{TO_FILL} rpm"],
        ["power factor", unsaid, TO_FILL],
    ]
    protection = "the plate's current; its thermistor connected, if it has one"
    if motor is None or inverter is not None:
        protection = protection.replace(";", ", not the inverter's;", 1)
    if motor is None or inverter is None:
        if motor is not None:
            rows.append(["supply", f"{motor.frequency_hz:g} Hz: no inverter is described", TO_FILL])
        return [*rows, ["motor protection", protection, f"{TO_FILL} A"]]
    ends = {point.frequency_hz: point for point in points}
    wanted = _wanted_hz(layout, points)
    for what, hz in (("lowest frequency", inverter.low), ("highest frequency", inverter.high)):
        point = ends.get(hz)
        turns = "" if point is None else f": motor {point.motor_rpm:.0f} rpm, working shaft {point.speed_rpm:.0f} rpm"
        # an inverter set so would run the machine past what is wanted of it: the next row but one is what holds it
        past = wanted is not None and not wanted[0] - SAME_HZ <= hz <= wanted[1] + SAME_HZ
        said = f"{hz:g} Hz{turns}" + ("; the limits for what is wanted, below, are narrower" if past else "")
        rows.append([what, said, f"{TO_FILL} Hz"])
    rows += _limits(layout, motor, points, inverter.low)
    rows += [
        ["ramp up", f"begin with {RAMP_UP:g} s (common practice); longer if it trips on current", f"{TO_FILL} s"],
        [
            "ramp down",
            f"begin with {RAMP_DOWN:g} s (common practice); longer if it trips on voltage. To stop faster it takes a "
            "braking resistor or a brake, by their makers' figures",
            f"{TO_FILL} s",
        ],
        ["motor protection", protection, f"{TO_FILL} A"],
        [
            "start by itself",
            "off: after a loss of power, or once a fault is cleared, nothing starts by itself",
            TO_FILL,
        ],
        ["reverse", "locked, unless the machine may run backwards", TO_FILL],
    ]
    return rows


def _limits(layout: Layout, motor: Motor, points: Sequence[WorkingPoint], lowest: float) -> Rows:
    """Between which frequencies what is wanted lies, and where motor and cooling end; `lowest` in Hz."""
    rows: Rows = []
    reach, wanted = _reach(layout), _wanted_hz(layout, points)
    if reach is not None and wanted is not None:
        said = f"{reach.wanted_low_rpm:g} to {reach.wanted_high_rpm:g} rpm"
        rows.append(
            ["limits for what is wanted", f"{wanted[0]:.1f} to {wanted[1]:.1f} Hz: {said} at the shaft", TO_FILL]
        )
    if motor.max_speed_rpm is None:
        said = "not in the spec: without the top speed of the motor's rating plate, not above its rated frequency"
        rows.append(["never above", said, f"{TO_FILL} Hz"])
    else:
        # without load a motor runs as fast as its field, which is faster than under load
        poles = max(2, 2 * math.floor(60 * motor.frequency_hz / motor.speed_rpm + 1e-9))
        top = math.floor(motor.max_speed_rpm * poles / 12) / 10
        said = f"{top:.1f} Hz: {motor.max_speed_rpm:g} rpm without load, the motor's top speed"
        rows.append(["never above", said, f"{TO_FILL} Hz"])
    cool = LEAST_COOLED * motor.frequency_hz
    if lowest < cool:
        said = f"under {cool:g} Hz the fan on its shaft cools it little (common practice): not for long under load"
        rows.append(["cooling", said, TO_FILL])
    return rows


def _reach(layout: Layout) -> Reach | None:
    """What speeds are wanted of the machine's shaft, by the last belt that says so."""
    return next((belt.result.reach for belt in reversed(layout.belts) if belt.result.reach is not None), None)


def _wanted_hz(layout: Layout, points: Sequence[WorkingPoint]) -> tuple[float, float] | None:
    """Between which frequencies (Hz) what is wanted lies; None where nothing is, or it lies beyond the settings."""
    reach = _reach(layout)
    if reach is None:
        return None
    low, high = (frequency_at(points, rpm) for rpm in (reach.wanted_low_rpm, reach.wanted_high_rpm))
    return None if low is None or high is None else (low, high)


def frequency_at(points: Sequence[WorkingPoint], rpm: float) -> float | None:
    """The frequency (Hz) at which the working shaft makes so many rpm, between the settings; None beyond them."""
    for point in points:
        if abs(point.speed_rpm - rpm) <= SAME_RPM:
            return point.frequency_hz
    for one, two in pairwise(points):
        if one.frequency_hz is None or two.frequency_hz is None or not one.speed_rpm < rpm < two.speed_rpm:
            continue
        share = (rpm - one.speed_rpm) / (two.speed_rpm - one.speed_rpm)
        return one.frequency_hz + share * (two.frequency_hz - one.frequency_hz)
    return None


# -------------------------------------------------------------------------------------- rotation, belt


def rotation(layout: Layout) -> Iterator[str]:
    """How the direction is tried without the belt."""
    if layout.belts or layout.twisted is not None or not layout.couplings:
        yield "Belt off." if layout.belts or layout.twisted is not None else "Nothing on the motor's shaft."
    yield "The key taped or taken out where a shaft end is bare: a loose key flies out."
    points = working_points(layout)
    slow = "" if not points or points[0].frequency_hz is None else f" at {points[0].frequency_hz:g} Hz"
    yield f"Everybody clear; a touch of power{slow}, and off again at once."
    for belt in layout.belts:
        # whatever idlers run on its back: a belt that is not crossed turns the two pulleys within it the same way
        yield (
            f"The motor's shaft turns the way that {belt.driven.mount} has to: {belt.name} turns both shafts alike. "
            "Which way that is the spec does not say: clockwise / counter-clockwise, seen from the pulley: ______"
        )
    for coupling in layout.couplings:
        driving, driven = (shaft.mount for shaft in coupling.shafts)
        yield (
            f"{coupling.name} apart: {driving} turns the way that {driven} has to, seen along the shafts; a pump may "
            "be ruined by one turn backwards. Arrow on the old machine: ______"
        )
    if layout.twisted is not None:
        yield f"{layout.twisted.name} runs twisted: see on the machine which way the motor has to turn for it."
    told = motor_of(layout)
    kind = "induction" if told.motor is None else told.motor.kind
    if kind == "induction":
        inverter = told.inverter is not None
        where = ", behind the inverter: before it that changes nothing" if inverter else ""
        yield f"Wrong way round: power locked out, the electrician swaps two of the motor's three phases{where}."
    else:
        yield f"Wrong way round: power locked out, the electrician reverses the {kind} motor by its own papers."


def tension_rows(layout: Layout, belt: PlacedBelt) -> Rows:
    """How the tension of one belt is set and looked at again: lengths and forces in the unit of the spec, Hz."""
    unit, forces = layout.spec.unit, belt.result.forces
    boxes = [TO_FILL] * 3
    last = [["pulleys in line", ALIGNED, *boxes]]
    newton = "N" if unit == "mm" else "lbf"
    mount = layout.mounts.get(belt.adjusted or "")
    if mount is not None and mount.jack is not None:
        last.append(["jacking screw", looked_at(mount.name, mount.jack), *boxes])
    if forces is None:
        asked = "not worked out, as the spec tells no motor: by the belt maker's figures"
        return [
            ["deflection force at mid span", asked, *[f"{TO_FILL} {newton}"] * 3],
            *last,
        ]
    sag = show_length(forces.sag, unit, 1 if unit == "mm" else 2)
    rows = [
        [
            "deflection force at mid span, a belt",
            f"pressed in by {sag}: new {show_force(forces.sag_force_new, unit, '.1f')}, run in "
            f"{show_force(forces.sag_force, unit, '.1f')}",
            *[f"{TO_FILL} {newton}"] * 3,
        ]
    ]
    if forces.span_frequency_hz is not None:
        swings = f"new {forces.span_frequency_new_hz:.0f} Hz, run in {forces.span_frequency_hz:.0f} Hz"
        rows.append(["span frequency, plucked", swings, *[f"{TO_FILL} Hz"] * 3])
    else:
        rows.append(["span frequency, plucked", "not worked out: the belt's mass is not known", *[f"{TO_FILL} Hz"] * 3])
    return [*rows, *last]


def alignment_rows(layout: Layout, coupling: PlacedCoupling) -> Rows:
    """How far two coupled shafts may be out of line by the coupling's maker, with boxes; lengths in the spec's unit."""
    unit = layout.spec.unit
    asked = "not in the spec: by its maker's figures"
    offset = asked if coupling.offset is None else show_length(coupling.offset, unit)
    angle = asked if coupling.angle is None else f"{math.degrees(coupling.angle):g} degrees"
    least, most = (show_length(one, unit) for one in coupling.gap)
    return [
        ["beside each other", offset, *[f"{TO_FILL} {unit}"] * 3],
        ["angle between them", angle, *[f"{TO_FILL} °"] * 3],
        ["gap between their ends", f"{least} to {most}", *[f"{TO_FILL} {unit}"] * 3],
    ]


ALIGNED: Final = "a straightedge lies on both rims"


def tension_note(layout: Layout, belt: PlacedBelt, before: Sequence[str] = ()) -> str:
    """By what the belt is tightened, over which length, and which belts (`before`) must be tight already."""
    by = "by its idler or by hand" if belt.adjusted is None else f"by moving {belt.adjusted}"
    span = show_length(belt.result.span, layout.spec.unit)
    said = f"Power locked out. Tightened {by}, free span {span}; turn it some turns by hand, then measure."
    if not before:
        return said
    return f"{said} Only once {listed(before, 'and')} is tight: tightening that moves a shaft of this belt too."


# --------------------------------------------------------------------------------------------- running

FIRST_RUN: Final = (
    "Guard on, everybody clear, one at the stop button: it stops the machine, tried at the lowest setting. "
    "Time to standstill: ______ s",
    "Up to the highest setting only after the lowest ran quietly for some minutes.",
    "A smell, a knock, smoke, a rising current: stop, lock out, look.",
)
FIRST_RUN_AT_ONE_SPEED: Final = (
    "Guard on, everybody clear, one at the stop button: on for a moment, and the stop button stops the machine. Time "
    "to standstill: ______ s",
    "Then some minutes without load, before it works.",
    FIRST_RUN[-1],
)
AFTER: Final = (
    "Stopped, locked out and proved dead; then the guard off.",
    "Tension again, to the figure for a belt that is run in; screws again at their torque (boxes under Tension and "
    "under Screws).",
    "Pulleys in line, no dust or crumbs of belt under it, no bright rubbed spot anywhere.",
    "Guard on again before power.",
)
AFTER_COUPLED: Final = (
    AFTER[0],
    "Alignment of the coupling again; screws again at their torque (boxes under Alignment and under Screws).",
    "No dust or crumbs of the coupling's insert under it, no bright rubbed spot anywhere.",
    AFTER[-1],
)


AFTER_UNTOLD: Final = (
    AFTER[0],
    "Screws again at their torque (boxes under Screws); a belt, if there is one, again at its maker's tension.",
    "Everything in line, no dust or crumbs of wear under it, no bright rubbed spot anywhere.",
    AFTER[-1],
)


def speed_rows(layout: Layout) -> Rows:
    """The settings to step through: lowest, what is wanted, rated, highest; with boxes for what is measured."""
    points, motor = working_points(layout), motor_of(layout).motor
    if not points:
        return []
    reach = next((one.result.reach for one in reversed(layout.belts) if one.result.reach is not None), None)
    chosen = {0, len(points) - 1}
    if reach is not None:
        for rpm in (reach.wanted_low_rpm, reach.wanted_high_rpm):
            chosen |= {k for k, point in enumerate(points) if abs(point.speed_rpm - rpm) <= SAME_RPM}
    rated = None if motor is None else motor.frequency_hz
    chosen |= {k for k, point in enumerate(points) if rated and point.frequency_hz == rated}
    rows = []
    for k in sorted(chosen):
        point = points[k]
        at = "as supplied"
        if point.frequency_hz is not None:
            at = f"{point.frequency_hz:.1f} Hz"
        elif point.setting is not None:
            at = f"{point.setting:.0%} of full voltage"
        turns = [f"{point.motor_rpm:.0f} rpm", f"{point.speed_rpm:.0f} rpm"]
        rows.append([at, *turns, f"{TO_FILL} rpm", f"{TO_FILL} A", TO_FILL])
    return rows


def watch_rows(layout: Layout, verdict: Verdict) -> Rows:
    """What to look, feel and listen for: the speeds at which the plate shakes, heat, noise, belt."""
    shakes = [finding for finding in verdict.findings if finding.rule == "resonance"]
    rows: Rows = [
        ["speeds that shake the plate", f"{one.message}; {one.advice.text}" if one.advice else one.message, TO_FILL]
        for one in shakes
    ]
    if not shakes:
        known = all(
            mount.mass is not None
            for name, mount in layout.mounts.items()
            if name not in layout.originals and mount.lug_of is None
        )
        said = "none worked out within the speeds of the drive"
        if not known or layout.mounting is None or not layout.belts:
            said = (
                "not worked out, as the spec does not say all of masses, mounting and drive: feel for it at every step"
            )
        rows.append(["speeds that shake the plate", said, TO_FILL])
    for belt in layout.belts:
        forces, points = belt.result.forces, belt.result.points
        note = None if forces is None else forces.span_frequency_hz
        if note is None or not points:
            continue
        low, high = (point.motor_rpm / belt.request.before for point in (points[0], points[-1]))
        rpm = 60 * note
        its = f"{low:.0f} to {high:.0f} rpm" if high - low > SAME_RPM else f"{low:.0f} rpm"
        inside = "within" if low <= rpm <= high else "off"
        said = (
            f"it swings of itself at {note:.0f} Hz: where {belt.driver.mount} turns at {rpm:.0f} rpm, {inside} its "
            f"{its} (common practice)"
        )
        rows.append([f"span of {belt.name}", said, TO_FILL])
    hot = f"a hand that cannot stay on it: over some {HAND_HOT} °C (common practice)"
    told = motor_of(layout)
    inverter = ["inverter", "its own limit; dust and chips kept out of it", f"{TO_FILL} °C"]
    belted = bool(layout.belts) or layout.twisted is not None or not layout.couplings
    return [
        *rows,
        *([["belt that squeals or dusts", "it slips or runs out of line", TO_FILL]] if belted else []),
        ["motor", f"{hot}; by the class of insulation on its rating plate it may be hotter", f"{TO_FILL} °C"],
        [
            "bearings",
            f"over some {BEARING_HOT} °C, or a rumble (common practice): belt too tight, or grease",
            f"{TO_FILL} °C",
        ],
        *([inverter] if told.motor is None or told.inverter is not None else []),
        ["noise where one works", "85 dB(A): ear protection must be worn (2003/10/EC, article 3)", f"{TO_FILL} dB(A)"],
    ]

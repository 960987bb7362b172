"""What the figures of a belt drive rest on: each usual value and table row that went into them, with its source."""

from __future__ import annotations

from collections.abc import Iterator

from platekit.drive import DriveResult
from platekit.drive.limits import (
    CONSTANT_POWER_TO,
    NEW_BELT_EXTRA,
    SERVICE_FACTOR,
)
from platekit.drive.rating import LOOK_UP, WRAP_FACTOR, wrap_factor
from platekit.drive.request import Belt
from platekit.export.reports.rows import SourceRow, source_row
from platekit.placed import Layout, PlacedBelt
from platekit.tables import belts
from platekit.units import show_length

GIVEN = ("given in the spec", "")


def drive_sources(layout: Layout) -> Iterator[SourceRow]:
    """A row for everything that the figures of the drive were worked out from, belt by belt."""
    for belt in layout.belts:
        made = belt.request.belt
        if made is not None:
            name, result, section = belt.name, belt.result, made.section
            yield source_row(f"{name}: belt section", section, belts.section(section).source)
            if result.belt is not None:
                yield source_row(f"{name}: belt", result.belt.label, result.belt.source)
                unit, length = layout.spec.unit, belt.result.belt_length
                true, room = belts.length_tolerance(made.section, length), belts.allowance(made.section, length)
                off = f"{show_length(true.minus, unit)} shorter to {show_length(true.plus, unit)} longer than printed"
                yield source_row(f"{belt.name}: belt's length", off, true.source)
                put_on, take_up = show_length(room.install, unit), show_length(room.tension, unit)
                both = f"{put_on} to put it on, {take_up} to take up its stretch"
                yield source_row(f"{belt.name}: travel beside the length's", both, room.source)
            if not belt.idlers:
                yield SourceRow(
                    f"{name}: centre distance, arcs, free span",
                    f"{show_length(result.centre_distance, layout.spec.unit)}",
                    "exact length of an open belt 2 C cos a + (D + d) pi / 2 + (D - d) a, sin a = (D - d) / 2 C; arcs "
                    "180 degrees less and more 2 a, span C cos a (Shigley, equations 17-1 and 17-2)",
                    "published",
                )
            least = belts.smallest_pulley(section)
            yield source_row(
                f"{name}: smallest pulley", show_length(least.pitch_diameter, layout.spec.unit), least.source
            )
            if result.forces is not None:
                yield from _forces(belt, made, result)
        if belt.request.motor is not None:
            yield from _motor(belt)


def _forces(belt: PlacedBelt, made: Belt, result: DriveResult) -> Iterator[SourceRow]:
    name, forces, request = belt.name, result.forces, belt.request
    assert forces is not None
    family = belts.section(made.section).family
    grip = belts.grip(made.section)
    yield source_row(f"{name}: tight over slack side at half a turn", f"{grip.ratio:g} to 1", grip.source)
    if forces.mass_kg_m is None:
        yield SourceRow(f"{name}: belt's mass", "left out", "width or ribs are not given", "")
    else:
        yield source_row(f"{name}: belt's mass", f"{forces.mass_kg_m:.3g} kg/m", belts.mass(made.section).source)
    speed = belts.belt_speed_limit(made.section)
    yield source_row(f"{name}: fastest belt", f"{speed.speed_m_s:g} m/s", speed.source)
    for pulley, words in (("driver", request.driver), ("driven", request.driven)):
        rim = belts.rim_limit(words.material)
        yield source_row(
            f"{name}: fastest rim of the {pulley}", f"{rim.speed_m_s:g} m/s in {words.material}", rim.source
        )
    # the formulas, so that whoever has the figures above and a pocket calculator comes to those of the drive
    q = "q = ratio above to the power of arc / 180 degrees, of the pulley wrapped least"
    yield SourceRow(
        f"{name}: static tension F0",
        f"{forces.static_tension:.0f} N",
        f"K F (q + 1) / (q - 1) / 2 + m v²; K the service factor, F the pull, {q}; m the belt's mass, v its speed; the "
        "most of all settings (Shigley, section 17-3)",
        "published",
    )
    yield SourceRow(
        f"{name}: tight and slack side",
        f"{forces.running.tight:.0f} N, {forces.running.slack:.0f} N",
        "F0 + F / 2 and F0 - F / 2 (Shigley, section 17-2)",
        "published",
    )
    yield SourceRow(
        f"{name}: load on the shaft",
        f"{forces.driver_at_rest.size:.0f} N, {forces.driver_running.size:.0f} N",
        "at rest 2 F0 sin (arc / 2), running 2 (F0 - m v²) sin (arc / 2), and F cos (arc / 2) square to it",
        "published",
    )
    if forces.span_frequency_hz is not None:
        said = f"{forces.span_frequency_hz:.0f} Hz"
        yield SourceRow(f"{name}: span frequency", said, "root of (F0 / m) over twice the span (Mersenne)", "published")
    yield SourceRow(f"{name}: a new belt is set tighter by", f"{NEW_BELT_EXTRA:g} times", "usual", "common practice")
    yield SourceRow(
        f"{name}: deflection at mid span",
        "1/64 of the span, force 1/16 of the tension",
        "RMA practice",
        "common practice",
    )
    figures = belts.family_figures(family)
    factor = f"{figures.overhung:g} times the pull"
    yield SourceRow(f"{name}: usual estimate of the load on the shaft", factor, "usual", figures.source.kind)
    motor = request.motor
    if forces.overhung_limit is not None and motor is not None:
        least = belts.smallest_motor_pulley(motor.power_w, motor.speed_rpm)
        assert least is not None
        said = f"{forces.overhung_limit:.0f} N, of a pulley of {least.pitch_diameter:.1f} mm"
        yield source_row(f"{name}: usual load at most", said, least.source)
    if family in ("classical V", "narrow V", "light duty V"):
        c0, c1, c2 = WRAP_FACTOR
        yield SourceRow(
            f"{name}: rating's factor for wrap",
            f"{wrap_factor(result.small_wrap):.3f}",
            f"{c0:g} + {c1:g} w - {-c2:.9f}".rstrip("0") + " w², w the smaller arc in degrees (Shigley, table 17-13)",
            "published",
        )
        length = f"{belts.v_length_factor(made.section, result.belt_length):.2f}"
        said = "steps of the rating's own table by the belt's length; between its pulleys and speeds straight lines"
        yield SourceRow(f"{name}: rating's factor for length", length, said, "published")
    elif family == "toothed":
        said = "(z (b / b0)^1.14 Ta - b m v² / b0) v, z one down to six teeth in mesh (ISO 5295), or less by its teeth"
        yield SourceRow(f"{name}: toothed rating", "formula", said, "published")
    rating = forces.rating
    if rating.source is not None and rating.power_w is not None:
        yield source_row(f"{name}: belt's rating", f"{rating.power_w / 1000:.3g} kW = {rating.text}", rating.source)
        old = rating.cautious
        if old is not None and old.source is not None and old.power_w is not None:
            said = f"{old.power_w / 1000:.3g} kW = {old.text}"
            yield source_row(f"{name}: rating of a belt of unknown make", said, old.source)
    else:
        yield SourceRow(f"{name}: belt's rating", LOOK_UP, "no table at hand", "")


def _motor(belt: PlacedBelt) -> Iterator[SourceRow]:
    request, name = belt.request, belt.name
    factor = f"{request.service_factor:g}"
    usual = ("Shigley, table 17-15: uniform load, one shift", "published")
    given = request.service_factor != SERVICE_FACTOR or "service_factor" in request.own
    service = request.service_by
    if service is not None and service.factor == request.service_factor:
        yield source_row(f"{name}: service factor", factor, service.source)
    else:
        yield SourceRow(f"{name}: service factor", factor, *(GIVEN if given else usual))
    # The share of the power that arrives; of both belts together behind a countershaft
    made = request.belt
    if ("efficiency" in request.own) and request.efficiency is not None:
        yield SourceRow(f"{name}: efficiency", f"{100 * request.efficiency:.3g} %", *GIVEN)
    elif made is not None:
        figures = belts.family_figures(belts.section(made.section).family)
        share = figures.efficiency if request.efficiency is None else request.efficiency
        what = "usual" if request.efficiency is None else "usual, of both belts together"
        yield SourceRow(f"{name}: efficiency", f"{100 * share:.3g} %", what, figures.source.kind)
    motor = request.motor
    if motor is not None and motor.kind == "induction":
        until = f"{motor.constant_power_to:g} times {motor.frequency_hz:g} Hz, then torque falls with its square"
        own = motor.constant_power_to != CONSTANT_POWER_TO
        yield SourceRow(f"{name}: constant power up to", until, *(GIVEN if own else ("usual", "common practice")))
        said = "below the rated frequency the slip in rpm of rated load, above it that share of the field's speed"
        yield SourceRow(f"{name}: motor's speed under load", "120 Hz / poles less slip", said, "common practice")
        said = "9550 kW / rpm of the rating plate, times ratio and efficiency"
        yield SourceRow(f"{name}: torque at the working shaft", "up to the rated frequency", said, "published")

"""The limits that hold for this plate: the spec's own, else the process's or the trade's usual values."""

from __future__ import annotations

from platekit import tables
from platekit.placed import PlateLimits, Value
from platekit.spec import Spec
from platekit.spec.models import GivenMaterial
from platekit.tables.processes import Quantity, process_rules
from platekit.tables.shop import shop_figure

DEFAULT_GAP = 2.0
"""Clearance kept between bodies, mm (common practice for parts measured with a caliper)."""
DRILLED_WEB_IN_THICKNESS = shop_figure("web beside a drilled hole, in thicknesses")
"""Least web, in plate thicknesses, where at least one of the two openings is drilled, not cut (`shop_figures.csv`)."""
DRILLED_WEB_LEAST = shop_figure("web beside a drilled hole, least")
"""Least web in mm where at least one of the two openings is drilled (common practice: small faces leave some 4)."""


def drilled_web(limits: PlateLimits, thickness: float) -> float:
    """Steel that a drilled or bored opening needs beside it, mm: no heat, so less than a cut one."""
    return min(max(DRILLED_WEB_IN_THICKNESS * thickness, DRILLED_WEB_LEAST), limits.web.value)


def seat_web(limits: PlateLimits, thickness: float) -> float:
    """Steel that belongs, at the face, between the seat of a head and whatever is next to it, mm: it is drilled."""
    return limits.web.value if limits.web.source == "spec" else drilled_web(limits, thickness)


def material_of(spec: Spec) -> tables.Material:
    """The plate's material in its thickness: from the tables by name, or with the figures that the spec gives."""
    material = spec.model.plate.material
    if isinstance(material, GivenMaterial):
        return tables.Material(
            name=material.name,
            density=material.density,
            modulus=material.modulus,
            yield_strength=material.yield_strength,
            poisson=None,
            aliases=(),
            source=tables.Source("given in the spec", "given"),
            family=material.family,
        )
    return tables.as_thick(tables.material(material), spec.model.plate.thickness)


def limits_of(spec: Spec) -> PlateLimits:
    """Every limit in mm with where it comes from; what the spec says goes before the process's own."""
    own = spec.model.limits
    # The kerf first, since other limits of a process are shares of it.
    kerf = _from_process(spec, "kerf", spec.model.cutting.kerf, kerf=0.0)
    return PlateLimits(
        smallest_hole=_from_process(spec, "smallest_hole", own.smallest_hole, kerf.value),
        web=_from_process(spec, "web", own.web, kerf.value),
        edge=None if own.edge is None else Value(own.edge, "spec"),
        inside_radius=_from_process(spec, "inside_radius", own.inside_radius, kerf.value),
        gap=Value(DEFAULT_GAP, "common practice") if own.gap is None else Value(own.gap, "spec"),
        kerf=kerf,
        pilot_clearance=_from_process(spec, "pilot_clearance", None, kerf.value),
        fit_warn=own.fit_warn,
        fit_stop=own.fit_stop,
    )


def _from_process(spec: Spec, quantity: Quantity, given: float | None, kerf: float) -> Value:
    if given is not None:
        return Value(given, "spec")
    process, thickness = spec.model.cutting.process, spec.model.plate.thickness
    # A shop's own machine goes before the table of its process, and the spec's own word before both.
    if spec.machine is not None and quantity in ("kerf", "smallest_hole", "web"):
        reading = spec.machine.at(quantity, thickness)
        if reading is not None:
            return Value(reading.value, spec.machine.origin(reading))
    rule = process_rules(process)[quantity]
    value = rule.value(thickness, kerf)
    return Value(value, rule.origin)

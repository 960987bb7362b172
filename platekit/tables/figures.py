"""What a table holds as plain figures for a program: keys that carry their unit, absent where the table has none."""

from __future__ import annotations

from platekit.tables.drills import SYSTEMS, drills
from platekit.tables.lookup import FitLimits, Found, SheetGauge, look_up
from platekit.tables.materials import materials
from platekit.tables.mounts import families
from platekit.tables.searching import StandardCandidate
from platekit.tables.threads import threads
from platekit.tables.values import Drill, Material, Screw, Source, StandardMount

Value = str | int | float | dict[str, float] | list[str] | list[float]
_DECIMALS = 4  # of a mm: a tenth of a micrometre, finer than any standard prints


def as_json(name: str) -> dict[str, Value]:
    """The figures of one name, ready to be written as JSON.

    Raises LookupFailed like `look_up`.

    >>> as_json("FF165")["bolt_circle_mm"]
    165.0
    """
    return figures_of(look_up(name))


def figures_of(thing: Found) -> dict[str, Value]:
    """The figures of something already looked up."""
    if isinstance(thing, StandardMount):
        return _mount(thing)
    if isinstance(thing, Screw):
        return _screw(thing)
    if isinstance(thing, Material):
        return _material(thing)
    return _small(thing)


def names_held() -> dict[str, dict[str, list[str]]]:
    """Every name that can be looked up, by kind and family or system.

    >>> names_held()["drills"]["letter"][:3]
    ['A', 'B', 'C']
    """
    return {
        "mounts": {family.name: list(family.entries()) for family in families()},
        "screws": {"metric": list(threads("metric")), "inch": list(threads("inch"))},
        "drills": {system: [drill.name for drill in drills(system)] for system in SYSTEMS},
        "materials": {"all": list(materials())},
    }


def candidate_figures(candidate: StandardCandidate) -> dict[str, object]:
    """One candidate of a search: what it is, what else it may be, and how far each measured size is off (mm)."""
    return {
        "designation": candidate.mount.designation,
        "also": list(candidate.also),
        "family": candidate.mount.family,
        "holes": candidate.mount.holes,
        "differences": [
            {
                "what": pair.what,
                "measured_mm": round(pair.measured, _DECIMALS),
                "listed_mm": round(pair.listed, _DECIMALS),
                "difference_mm": round(pair.difference, _DECIMALS),
            }
            for pair in candidate.differences
        ],
    }


def _mount(found: StandardMount) -> dict[str, Value]:
    return _kept(
        {
            "designation": found.designation,
            "family": found.family,
            "holes": found.holes,
            "bolt_circle_mm": found.bolt_circle,
            "width_mm": found.width,
            "height_mm": found.height,
            "pilot_mm": found.pilot,
            "pilot_depth_mm": found.pilot_depth,
            "face_mm": found.face,
            "screw": found.screw,
            "hole_mm": found.hole,
            "thread_depth_mm": found.thread_depth,
            "shaft_mm": found.shaft,
            "shaft_length_mm": found.shaft_length,
            "shaft_height_mm": found.shaft_height,
            "editions": list(found.editions) or None,
            "notes": list(found.notes) or None,
        },
        found.source,
    )


def _screw(found: Screw) -> dict[str, Value]:
    return _kept(
        {
            "designation": found.size,
            "family": f"{found.system} screw, {found.series} thread",
            "diameter_mm": found.diameter,
            "pitch_mm": found.pitch,
            "stress_area_mm2": found.stress_area,
            "clearance_mm": {fit: round(hole, _DECIMALS) for fit, hole in found.clearance.items()},
            "tap_drill_mm": found.tap_drill,
            "tap_drill": found.tap_drill_name,
            "thread_percent": found.thread_percent,
            "across_flats_mm": found.hex_across_flats,
            "across_corners_mm": found.hex_across_corners,
            "head_height_mm": found.hex_head_height,
            "wrench_outer_mm": found.wrench_outer,
            "socket_head_mm": found.socket_head_diameter,
            "socket_head_height_mm": found.socket_head_height,
            "countersunk_head_mm": found.countersunk_head_diameter,
            "countersunk_head_height_mm": found.countersunk_head_height,
            "nut_across_flats_mm": found.nut_across_flats,
            "nut_height_mm": found.nut_height,
            "washer_mm": found.washer_outer,
            "washer_thickness_mm": found.washer_thickness,
            "large_washer_mm": found.large_washer_outer,
            "stock_lengths_mm": [round(length, _DECIMALS) for length in found.stock_lengths] or None,
        },
        found.sources[0][1],
    )


def _material(found: Material) -> dict[str, Value]:
    return _kept(
        {
            "designation": found.name,
            "family": "material",
            "density_kg_m3": found.density,
            "modulus_n_mm2": found.modulus,
            "yield_n_mm2": found.yield_strength,
            "poisson": found.poisson,
            "aliases": list(found.aliases) or None,
        },
        found.source,
    )


def _small(found: Found) -> dict[str, Value]:
    """A drill, a sheet gauge, a fit."""
    if isinstance(found, Drill):
        return _kept(
            {"designation": found.name, "family": f"{found.system} drill", "diameter_mm": found.diameter}, found.source
        )
    if isinstance(found, SheetGauge):
        return _kept(
            {"designation": found.name, "family": "sheet gauge", "thickness_mm": found.thickness}, found.source
        )
    assert isinstance(found, FitLimits)
    figures: dict[str, Value | None] = {
        "designation": found.name,
        "family": "ISO 286 fit",
        "size_mm": found.size,
        "lower_mm": found.limits.lower,
        "upper_mm": found.limits.upper,
    }
    return _kept(figures, found.source)


def _kept(figures: dict[str, Value | None], source: Source) -> dict[str, Value]:
    """The figures that there are, rounded, with their source."""
    kept: dict[str, Value] = {}
    for name, value in figures.items():
        if value is not None:
            kept[name] = round(value, _DECIMALS) if isinstance(value, float) else value
    kept["source"] = source.name
    kept["source_kind"] = source.kind
    if source.doubted:
        kept["from_memory"] = list(source.doubted)
    return kept

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
    """The figures of something already looked up, under keys that carry their unit."""
    # The keys are what programs of others rely on: they stay, whatever the fields behind them are called.
    if isinstance(thing, StandardMount):
        return _kept(
            {
                "designation": thing.designation,
                "family": thing.family,
                "holes": thing.holes,
                "bolt_circle_mm": thing.bolt_circle,
                "width_mm": thing.width,
                "height_mm": thing.height,
                "pilot_mm": thing.pilot,
                "pilot_depth_mm": thing.pilot_depth,
                "face_mm": thing.face,
                "screw": thing.screw,
                "hole_mm": thing.hole,
                "thread_depth_mm": thing.thread_depth,
                "shaft_mm": thing.shaft,
                "shaft_length_mm": thing.shaft_length,
                "shaft_height_mm": thing.shaft_height,
                "editions": list(thing.editions) or None,
                "notes": list(thing.notes) or None,
            },
            thing.source,
        )
    if isinstance(thing, Screw):
        return _kept(
            {
                "designation": thing.size,
                "family": f"{thing.system} screw, {thing.series} thread",
                "diameter_mm": thing.diameter,
                "pitch_mm": thing.pitch,
                "stress_area_mm2": thing.stress_area,
                "clearance_mm": {fit: round(hole, _DECIMALS) for fit, hole in thing.clearance.items()},
                "tap_drill_mm": thing.tap_drill,
                "tap_drill": thing.tap_drill_name,
                "thread_percent": thing.thread_percent,
                "across_flats_mm": thing.hex_across_flats,
                "across_corners_mm": thing.hex_across_corners,
                "head_height_mm": thing.hex_head_height,
                "wrench_outer_mm": thing.wrench_outer,
                "socket_head_mm": thing.socket_head_diameter,
                "socket_head_height_mm": thing.socket_head_height,
                "countersunk_head_mm": thing.countersunk_head_diameter,
                "countersunk_head_height_mm": thing.countersunk_head_height,
                "nut_across_flats_mm": thing.nut_across_flats,
                "nut_height_mm": thing.nut_height,
                "washer_mm": thing.washer_outer,
                "washer_thickness_mm": thing.washer_thickness,
                "large_washer_mm": thing.large_washer_outer,
                "stock_lengths_mm": [round(length, _DECIMALS) for length in thing.stock_lengths] or None,
            },
            thing.sources[0][1],
        )
    if isinstance(thing, Material):
        return _kept(
            {
                "designation": thing.name,
                "family": "material",
                "density_kg_m3": thing.density,
                "modulus_n_mm2": thing.modulus,
                "yield_n_mm2": thing.yield_strength,
                "poisson": thing.poisson,
                "aliases": list(thing.aliases) or None,
            },
            thing.source,
        )
    if isinstance(thing, Drill):
        return _kept(
            {"designation": thing.name, "family": f"{thing.system} drill", "diameter_mm": thing.diameter}, thing.source
        )
    if isinstance(thing, SheetGauge):
        return _kept(
            {"designation": thing.name, "family": "sheet gauge", "thickness_mm": thing.thickness}, thing.source
        )
    assert isinstance(thing, FitLimits)
    figures: dict[str, Value | None] = {
        "designation": thing.name,
        "family": "ISO 286 fit",
        "size_mm": thing.size,
        "lower_mm": thing.limits.lower,
        "upper_mm": thing.limits.upper,
    }
    return _kept(figures, thing.source)


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


def _kept(figures: dict[str, Value | None], source: Source) -> dict[str, Value]:
    """The figures that there are, rounded, with their source."""
    kept: dict[str, Value] = {}
    for name, value in figures.items():
        if value is not None:
            kept[name] = round(value, _DECIMALS) if isinstance(value, float) else value
    # Every answer carries who says so: a figure that is passed on without it cannot be checked.
    kept["source"] = source.name
    kept["source_kind"] = source.kind
    if source.doubted:
        kept["from_memory"] = list(source.doubted)
    return kept

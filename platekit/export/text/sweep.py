"""A family of plates in words, as figures, and as a list for a spreadsheet."""

from __future__ import annotations

import csv
import io
from collections import Counter
from pathlib import Path
from typing import Final

from platekit.drawing.cautions import CAUTIONS, ONE_LINE
from platekit.export.data.hole_list import csv_cell
from platekit.export.data.rounded import Figures, tidied
from platekit.export.text.terminal import folded
from platekit.spec.editing import Value, written
from platekit.studies.sweep import Swept, Variant
from platekit.units import Unit, mm_per, show_length

SHOWN: Final = 12
"""Variants that a terminal lists (ours: one screen); the list for a spreadsheet has all."""
MOST_RULES: Final = 5
"""Rules that are named as stopping most (ours)."""
MINUTE: Final = 60.0


def sweep_text(swept: Swept, written_files: tuple[Path, ...] = ()) -> str:
    """What a sweep came to, for a terminal: how many may be cut, the best of them, and what stops the others."""
    states = Counter(variant.state for variant in swept.variants)
    counts = [f"{states['clear']} clear to cut", f"{states['stop']} with a stop"]
    if states["unusable"]:
        counts.append(f"{states['unusable']} that cannot be used")
    lines = [f"{swept.spec.name}: {len(swept.variants)} variants, {', '.join(counts)}"]
    if not swept.whole:
        lines[0] = (
            f"{swept.spec.name}: stopped after {len(swept.variants)} of {swept.wanted} variants, {', '.join(counts)}"
        )
    best = swept.best
    if best:
        lines += ["", "fewest warnings first, then the lightest:"]
    for variant in best[:SHOWN]:
        lines += folded(
            f"{said(swept, variant)}: {figures_said(variant, swept.spec.unit)}", f"{variant.number:>5}  ", " " * 7
        )
    if len(best) > SHOWN:
        lines.append(f"       and {len(best) - SHOWN} more, see the list")
    stopping = Counter(rule for variant in swept.variants if variant.state == "stop" for rule in variant.rules)
    if stopping:
        told = sorted(stopping.items(), key=lambda item: (-item[1], item[0]))[:MOST_RULES]
        lines += ["", *folded(f"what stops the others: {', '.join(f'{rule} ({count})' for rule, count in told)}")]
    unusable = next((variant for variant in swept.variants if variant.state == "unusable"), None)
    if unusable is not None:
        lines += folded(f"cannot be used, such as {said(swept, unusable)}: {unusable.why}")
    if best:
        lines += ["", *folded("write the values of the one you choose into the spec and make it: only that is proved")]
    return "\n".join([*lines, *([""] if written_files else []), *(f"wrote {path}" for path in written_files)])


def said(swept: Swept, variant: Variant) -> str:
    """The values of a variant: `plate.thickness 8, mounts.motor.turn 45 deg`."""
    return ", ".join(f"{one.field} {written(value)}" for one, value in zip(swept.over, variant.values, strict=True))


def figures_said(variant: Variant, unit: Unit) -> str:
    """What is known of a variant, in words and in the unit of the spec."""
    from platekit.drawing.sizes import mass_figure

    told = []
    if variant.mass is not None:
        told.append(mass_figure(variant.mass, unit))
    if variant.cost is not None:
        told.append(f"{variant.cost:.2f} {variant.currency}".rstrip())
    if variant.cutting_s is not None:
        told.append(f"{variant.cutting_s / MINUTE:.1f} min of cutting")
    if variant.odds is not None:
        told.append(f"bolts up in {100 * variant.odds:.1f} %")
    if variant.rings is not None:
        told.append(f"first frequency {variant.rings:.0f} Hz")
    if variant.belt is not None:
        if variant.belt.slowest_rpm is not None:
            told.append(f"{variant.belt.slowest_rpm:.0f} to {variant.belt.fastest_rpm:.0f} rpm")
        told.append(f"shafts {show_length(variant.belt.centre_distance, unit)} apart")
    if variant.warnings:
        told.append(
            f"{variant.warnings} {'warning' if variant.warnings == 1 else 'warnings'}: {', '.join(variant.rules)}"
        )
    return ", ".join(told)


def sweep_figures(swept: Swept, written_files: tuple[Path, ...] = ()) -> Figures:
    """The same for a program; keys carry their unit."""
    return tidied(
        {
            "spec": swept.spec.name,
            "over": [{"field": one.field, "values": list(one.values)} for one in swept.over],
            "wanted": swept.wanted,
            "whole": swept.whole,
            "variants": [_variant_figures(variant) for variant in swept.variants],
            "best": [variant.number for variant in swept.best],
            "cautions": list(CAUTIONS),
            "written": [str(path) for path in written_files],
        }
    )


def _variant_figures(variant: Variant) -> Figures:
    return {
        "number": variant.number,
        "values": list(variant.values),
        "verdict": variant.state,
        "stops": variant.stops,
        "warnings": variant.warnings,
        "rules": list(variant.rules),
        "why": variant.why,
        "revision": variant.revision,
        "mass_kg": variant.mass,
        "net_area_mm2": variant.area,
        "cutting_s": variant.cutting_s,
        "cost": variant.cost,
        "currency": variant.currency,
        "odds": variant.odds,
        "first_frequency_hz": variant.rings,
        "belt": None
        if variant.belt is None
        else {
            "slowest_rpm": variant.belt.slowest_rpm,
            "fastest_rpm": variant.belt.fastest_rpm,
            "centre_distance_mm": variant.belt.centre_distance,
        },
    }


def sweep_csv(swept: Swept) -> bytes:
    """One row a variant (RFC 4180, UTF-8), in the order of the combinations; lengths in the unit of the spec."""
    unit = swept.spec.unit
    headings = [
        "number",
        *(one.field for one in swept.over),
        "verdict",
        "stops",
        "warnings",
        "rules",
        "mass_kg",
        f"net_area_{unit}2",
        "cutting_min",
        "cost",
        "currency",
        "odds_percent",
        "first_frequency_hz",
        "slowest_rpm",
        "fastest_rpm",
        f"centre_distance_{unit}",
        "revision",
        "why",
        "cautions",
    ]
    stream = io.StringIO(newline="")
    writer = csv.writer(stream)
    writer.writerow([csv_cell(heading, unit) for heading in headings])
    for variant in swept.variants:
        belt = variant.belt
        writer.writerow(
            [
                str(variant.number),
                *(_value_cell(value, unit) for value in variant.values),
                csv_cell(variant.state, unit),
                str(variant.stops),
                str(variant.warnings),
                csv_cell(" ".join(variant.rules), unit),
                _figure(variant.mass),
                _figure(None if variant.area is None else variant.area / mm_per(unit) ** 2),
                _figure(None if variant.cutting_s is None else variant.cutting_s / MINUTE),
                _figure(variant.cost),
                csv_cell(variant.currency, unit),
                _figure(None if variant.odds is None else 100 * variant.odds),
                _figure(variant.rings),
                _figure(None if belt is None else belt.slowest_rpm),
                _figure(None if belt is None else belt.fastest_rpm),
                csv_cell(None if belt is None else belt.centre_distance, unit),
                variant.revision,
                csv_cell(variant.why, unit),
                ONE_LINE,
            ]
        )
    return stream.getvalue().encode("utf-8")


def _value_cell(value: Value, unit: Unit) -> str:
    # a figure of the spec stays as it was given, also below zero, where text would get an apostrophe
    if isinstance(value, int | float) and not isinstance(value, bool):
        return written(value)
    return csv_cell(written(value), unit)


def _figure(value: float | None) -> str:
    return "" if value is None else f"{value:.4f}".rstrip("0").rstrip(".")

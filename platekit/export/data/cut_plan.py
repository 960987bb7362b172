"""What cutting takes, as figures for a program and as two lines for a terminal."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from platekit.cutting import CutPlan
from platekit.placed import Value
from platekit.units import Unit, show_length

MINUTE = 60.0


def plan_figures(found: CutPlan | None) -> Mapping[str, Any] | None:
    """The plan with keys that carry their unit; None where nothing is cut by a table."""
    if found is None:
        return None
    return {
        "machine": found.machine,
        "kerf_mm": found.paths.kerf,
        "outside_runs": found.paths.direction,
        "order": [{"name": path.name, "pierce_at_mm": path.pierce} for path in found.paths.cuts],
        "without_room_to_pierce": [path.name for path in found.paths.cuts if not path.pierced_clear],
        "narrower_than_the_kerf": list(found.paths.impossible),
        "contour_length_mm": found.contour_length,
        "cut_length_mm": found.cut_length,
        "travel_length_mm": found.travel_length,
        "pierces": found.pierces,
        "marks": found.marks,
        "scribe_length_mm": found.scribe_length,
        "speed": _value(found.speed_mm_min, "mm_min"),
        "pierce": _value(found.pierce_s, "s"),
        "positioning": _value(found.positioning_mm_min, "mm_min"),
        "slow_holes": found.slow_holes,
        "scribing_s": found.scribing_s,
        "cutting_s": found.cutting_s,
        "piercing_s": found.piercing_s,
        "travelling_s": found.travelling_s,
        "total_s": found.total_s,
        "mass_kg": found.mass,
        "sheet_mass_kg": found.sheet_mass,
        "consumables": found.consumables or None,
        "wear_sets": found.wear,
        "cost": None
        if found.cost is None
        else {
            "currency": found.cost.currency,
            "sum": found.cost.sum,
            "items": [
                {"what": item.what, "amount": item.amount, "unit": item.unit, "price": item.price, "sum": item.sum}
                for item in found.cost.items
            ],
            "without_price": list(found.cost.without),
        },
    }


def _value(value: Value, unit: str) -> Mapping[str, Any]:
    return {f"value_{unit}": value.value, "source": value.source}


def plan_text(found: CutPlan | None, unit: Unit) -> str:
    """What cutting takes, in two lines; empty where nothing is cut by a table."""
    if found is None:
        return ""
    lines = [
        f"cutting ({found.machine}): {show_length(found.cut_length, unit, 0)} with "
        f"{found.pierces} pierce{'' if found.pierces == 1 else 's'}, "
        f"about {shown_time(found.total_s)} at {show_length(found.speed_mm_min.value, unit, 0)}/min "
        f"({found.speed_mm_min.source})"
    ]
    # wear and cost only where the machine file says what they are: no figure is made up
    more = [f"{found.wear:.2f} sets of {found.consumables}"] if found.wear is not None else []
    if found.cost is not None:
        missing = f" without {' and '.join(found.cost.without)}" if found.cost.without else ""
        more.append(f"{found.cost.currency} {found.cost.sum:.2f}{missing}")
    if more:
        lines.append(f"  {', '.join(more)}")
    return "\n".join(lines)


def shown_time(seconds: float) -> str:
    """A time in seconds as a shop says it, in s, min or h.

    >>> shown_time(42), shown_time(150), shown_time(7260)
    ('42 s', '2.5 min', '2 h 1 min')
    """
    if seconds < 90:
        return f"{seconds:.0f} s"
    minutes = seconds / MINUTE
    if minutes < 90:
        return f"{minutes:.1f} min"
    return f"{int(minutes // MINUTE)} h {minutes % MINUTE:.0f} min"

"""How long cutting takes, what it wears out and what it costs: from the compensated paths and the machine's figures.

    time      every path at its speed, a pierce for every cut, scribed words, and the ways between at positioning speed
    mass      of the plate, and of the rectangle of sheet that it takes
    wear      sets of consumables: by pierces or by hours of cutting, whichever wears out sooner
    cost      machine, material and consumables; only what has a price is counted, and what has none is named

An estimate: acceleration, the punching of marks, loading and waiting are not in it.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from msgspec import Struct

from platekit.cutting.capability import capability_of, suitability
from platekit.cutting.paths import Paths, is_round, paths_of
from platekit.cutting.scribe import scribing_of
from platekit.geometry import Point
from platekit.placed import Layout, Value
from platekit.tables.processes import usual_pace
from platekit.tables.shop import shop_figure

if TYPE_CHECKING:
    from platekit.spec.machine import Machine

SLOW_UNDER = shop_figure("small holes cut slower, under")
"""Round holes smaller than this are cut slower by a hot process, mm (`shop_figures.csv`)."""
SLOW_SHARE = shop_figure("small holes cut slower, share of speed")
"""The share of the usual speed at which they are cut (`shop_figures.csv`)."""
SCRIBE_SPEED = shop_figure("scribing, mm a minute")
"""How fast words are scribed, mm/min (`shop_figures.csv`)."""
MARGIN_IN_THICKNESSES = 1.0
LEAST_MARGIN = shop_figure("between copies, least")
"""Left between copies and to the sheet's edge unless the spec says: the thickness, at least this, mm.

`shop_figures.csv`.
"""
MINUTE, HOUR = 60.0, 3600.0


class CostItem(Struct, frozen=True):
    """One line of what it costs: so much of something, at a price for each."""

    what: str
    amount: float
    unit: str
    price: float

    @property
    def sum(self) -> float:
        """What the line comes to, in the currency of the machine's file."""
        return self.amount * self.price


class Cost(Struct, frozen=True):
    """What one plate costs, in one currency; `without` names what has no price and is not in the sum."""

    currency: str
    items: tuple[CostItem, ...]
    without: tuple[str, ...]

    @property
    def sum(self) -> float:
        """What all lines come to, in the currency of the machine's file."""
        return math.fsum(item.sum for item in self.items)


class CutPlan(Struct, frozen=True):
    """What cutting one plate takes. Lengths mm, times s, masses kg; speeds say their unit.

    `contour_length` is once round every shape; `cut_length` has leads and overruns with it; `travel_length` is the way
    without cutting, marks and words first, from the lower left of the plate; `scribe_length` is that of the words.
    `wear` is in sets of `consumables` (None: unknown).
    """

    machine: str
    paths: Paths
    contour_length: float
    cut_length: float
    travel_length: float
    pierces: int
    marks: int
    speed_mm_min: Value
    pierce_s: Value
    positioning_mm_min: Value
    scribed_words: int
    scribe_length: float
    slow_holes: int
    scribing_s: float
    cutting_s: float
    piercing_s: float
    travelling_s: float
    mass: float
    sheet_mass: float
    consumables: str
    wear: float | None
    cost: Cost | None

    @property
    def total_s(self) -> float:
        """All of the time, s."""
        return self.scribing_s + self.cutting_s + self.piercing_s + self.travelling_s


def plan(layout: Layout) -> CutPlan | None:
    """What cutting this plate takes (s, mm, kg); None for a process that cuts nothing, or not this material so thick.

    Figures come from the machine that the spec names; gaps are filled by the usual values of its process. Each says
    where it comes from.
    """
    capability = capability_of(layout)
    pace = usual_pace(capability.process, layout.thickness)
    if pace is None or not suitability(layout).cuts:
        return None
    machine = layout.spec.machine
    # a word of warning where usual speeds are those of another material
    measured_in = "" if layout.cutting.process == "router" or layout.material.family == "steel" else "; in mild steel"
    usual = f"{capability.process} ({pace.source.name}{measured_in}), {pace.source.kind}"
    speed = _own(machine, layout.thickness, "speed") or Value(pace.speed_mm_min, usual)
    pierce = _own(machine, layout.thickness, "pierce") or Value(pace.pierce_s, usual)
    if machine is not None and machine.positioning_mm_min is not None:
        positioning = Value(machine.positioning_mm_min, machine.file)
    else:
        positioning = Value(capability.traits.positioning_mm_min, f"{capability.process}, {pace.source.kind}")
    # Small holes are cut slower on plasma and oxy-fuel, where the arc or flame lags behind in a tight turn (common
    # practice).
    if machine is not None and machine.slow_holes is not None:
        under, share = machine.slow_holes
    else:
        under, share = (SLOW_UNDER, SLOW_SHARE) if capability.traits.hard_edge else (0.0, 1.0)
    # by the very paths that are written, leads and overruns included: nothing is added as a share
    paths = paths_of(layout)
    slow = [path for path in paths.cuts if is_round(path) and path.shape.box.width < under]
    seconds = [path.length / (speed.value * (share if path in slow else 1.0)) * MINUTE for path in paths.cuts]
    cutting = math.fsum(seconds)
    piercing = len(paths.cuts) * pierce.value
    travel = travel_length(paths, (layout.outline.box.x0, layout.outline.box.y0))
    travelling = travel / positioning.value * MINUTE
    scribe_length = math.fsum(edge.length for stroke in paths.words for edge in stroke)
    scribing = scribe_length / SCRIBE_SPEED * MINUTE
    # By pierces or by hours, whichever wears a set out sooner: a maker's two figures are both limits.
    wear = None
    if machine is not None and machine.consumables is not None:
        lasting, shares = machine.consumables, []
        if lasting.pierces is not None:
            shares.append(len(paths.cuts) / lasting.pierces)
        if lasting.hours is not None:
            shares.append(cutting / HOUR / lasting.hours)
        wear = max(shares, default=None)
    sheet = sheet_mass(layout)
    cost = None
    if machine is not None and machine.prices is not None:
        prices = machine.prices
        items, without = [], []
        for what, amount, unit, price in (
            ("machine time", (scribing + cutting + piercing + travelling) / HOUR, "h", prices.hour),
            ("sheet", sheet, "kg", prices.material_kg),
            ("consumables", wear, "sets", prices.consumables),
        ):
            if amount is None or price is None:
                without.append(what)
            else:
                items.append(CostItem(what, amount, unit, price))
        cost = Cost(prices.currency, tuple(items), tuple(without))
    return CutPlan(
        machine=machine.name if machine is not None else f"usual values of {capability.process}",
        paths=paths,
        contour_length=math.fsum(path.contour_length for path in paths.cuts),
        cut_length=math.fsum(path.length for path in paths.cuts),
        travel_length=travel,
        pierces=len(paths.cuts),
        marks=len(paths.marks),
        speed_mm_min=speed,
        pierce_s=pierce,
        positioning_mm_min=positioning,
        scribed_words=len(scribing_of(layout).words),
        scribe_length=scribe_length,
        slow_holes=len(slow),
        scribing_s=scribing,
        cutting_s=cutting,
        piercing_s=piercing,
        travelling_s=travelling,
        mass=layout.mass,
        sheet_mass=sheet,
        consumables=machine.consumables.name if machine is not None and machine.consumables is not None else "",
        wear=wear,
        cost=cost,
    )


def travel_length(paths: Paths, start: Point) -> float:
    """The way of the head between its work, mm: to each mark and stroke, then from cut to cut."""
    total, here = 0.0, start
    for mark in paths.marks:
        total += math.dist(here, mark)
        here = mark
    for stroke in paths.words:
        total += math.dist(here, stroke[0].a)
        here = stroke[-1].b
    # a closed cut ends a little past where it began, and the head goes on from there
    for path in paths.cuts:
        total += math.dist(here, path.pierce)
        here = path.end
    return total


def margin_of(layout: Layout, given: bool = True) -> float:
    """What is left round the plate and between copies, mm: what is `given`, else, and without that, what is usual."""
    own = layout.cutting.margin if given else None
    return max(MARGIN_IN_THICKNESSES * layout.thickness, LEAST_MARGIN) if own is None else own


def blank_size(layout: Layout) -> tuple[float, float]:
    """Width and height (mm) of the rectangle of sheet that a plate takes, kerf and half the margin on every side."""
    # the rectangle that nobody else can use: half the margin on each side belongs to the neighbour
    box, more = layout.outline.box, layout.limits.kerf.value * 2 + margin_of(layout)
    return box.width + more, box.height + more


def sheet_mass(layout: Layout) -> float:
    """Mass (kg) of the rectangle of sheet that the plate takes, kerf and half the margin on every side included."""
    wide, high = blank_size(layout)
    return wide * high * layout.thickness * layout.material.density * 1e-9


def _own(machine: Machine | None, thickness: float, quantity: str) -> Value | None:
    if machine is None:
        return None
    reading = machine.at("speed" if quantity == "speed" else "pierce", thickness)
    return None if reading is None else Value(reading.value, machine.origin(reading))

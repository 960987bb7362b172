"""What the process (or the user's own machine) can hold in this plate: kerf, taper, scatter, room to pierce.

Vocabulary
    taper       how far the cut edge leans from upright; a hole is then a cone
    scatter     how far, plus or minus, a size comes off the one wanted
    small end   the narrowest that a hole can turn out: its size, less both sides of the taper, less the scatter
    pierce      where the head burns or drills through before it starts to cut; its crater must not reach the part
    lead        the way from the pierce to the shape
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Literal

from msgspec import Struct

from platekit.placed import SAME_LENGTH, Layout, PlateLimits, Value, held
from platekit.tables.iso_9013 import limit_deviation
from platekit.tables.processes import CuttingRange, Quantity, Traits, cutting_of, process_rules, process_traits
from platekit.tables.rows import kept
from platekit.tables.scatter import hole_scatter

if TYPE_CHECKING:
    from platekit.spec.machine import CutQuantity, Machine

LIMIT_SIGMAS = 3.0
"""Standard deviations in a limit (plus or minus) that is printed or given (ours: it is kept but for 3 in 1,000)."""
LARGEST_LISTED = 999.999
"""Largest size for which ISO 9013 gives a deviation here, mm (below 1000); a larger one is taken to scatter as much."""

HYDROGEN = (
    "Over a water table hot aluminium gives off hydrogen, for hours: caught under the sheet or in the table's tank it "
    "explodes at the next arc"
)
"""What every maker of plasma cutters warns of where aluminium is cut."""
HYDROGEN_SOURCE = "safety notices of makers of plasma cutters"
"""Two makers' notices on aluminium over water tables, and one's manual (published)."""
CUT_DRY = (
    "cut it over a dry table; over water only where the table's maker allows it, with no closed tank, the water moved "
    "or blown through below the sheet, no sheet left lying on it, the sludge taken out, and never an alloy with lithium"
)
"""What the same notices advise."""


class Capability(Struct, frozen=True):
    """What can be held in a plate of `thickness`; lengths in mm, the taper in radians, each with its origin.

    `hole_error` is by how much holes come out larger (smaller: negative) on the average. `own_scatter` is None where
    ISO 9013 says it by size. `position` is one standard deviation, each way, of the place of what the table cuts.
    """

    process: str
    thickness: float
    kerf: Value
    smallest_hole: Value
    taper: Value
    hole_error: Value
    position: Value
    own_scatter: Value | None
    pierce_room: Value
    lead: Value
    overrun: Value
    traits: Traits

    def scatter(self, size: float) -> Value:
        """How far a cut size may come off, plus or minus, mm; 0 where the standard gives nothing."""
        if self.own_scatter is not None:
            return self.own_scatter
        assert self.traits.iso_class is not None
        # the standard's limits are by ranges of thickness and size; outside of them it says nothing
        found = limit_deviation(self.traits.iso_class, self.thickness, min(size, LARGEST_LISTED))
        if found is None:
            return Value(0.0, f"ISO 9013 gives none for {self.thickness:g} mm")
        return Value(found.value, f"{found.source.name}, {found.source.kind}")

    @property
    def taper_loss(self) -> float:
        """How much narrower a hole is at its small end than at its large one, mm."""
        # both sides of an opening lean by the same angle over the whole thickness
        return 2 * self.thickness * math.tan(self.taper.value)

    def small_end(self, size: float) -> float:
        """The narrowest that an opening of a size (mm) can turn out, mm."""
        # Errors that are always the same way are added as they are, chance at its limit: the worst that may come.
        return size + self.hole_error.value - self.taper_loss - self.scatter(size).value


@held
def capability_of(layout: Layout) -> Capability:
    """What the process of this layout, or the machine that its spec names, holds in its plate (mm, rad)."""
    cutting = layout.cutting
    return _capability(cutting.process, layout.thickness, layout.limits, layout.spec.machine, cutting.position)


Fitness = Literal["unknown", "no", "hardly", "beyond", "poorly", "unusual", "thin", "good"]


class Suited(Struct, frozen=True):
    """Whether a process cuts the plate's material in its thickness; `row` is what the table says of the two.

    `unknown` is a material of which nobody said what it is; `beyond` thicker than special plants cut, `unusual` thicker
    than shops cut every day, `thin` thinner than comes out flat.
    """

    fitness: Fitness
    row: CuttingRange | None = None

    @property
    def cuts(self) -> bool:
        """Whether it can be expected to cut the plate at all."""
        return self.fitness not in ("no", "hardly", "beyond")


def suitability(layout: Layout) -> Suited:
    """Whether the layout's process cuts its plate, by material and thickness (mm).

    What the user's own machine is known to cut, by a row of its file for this thickness or by rows on both sides of
    it, goes before what is usual.
    """
    # first what the material says whatever its thickness, then how thick is too thick or too thin
    family, thickness = layout.material.family, layout.thickness
    row = None if family is None else cutting_of(layout.cutting.process, family)
    if row is None:
        return Suited("unknown")
    if row.cuts in ("no", "hardly"):
        return Suited("no" if row.cuts == "no" else "hardly", row)
    # A machine whose file has rows on both sides of this thickness has cut it, whatever is usual.
    has_cut = False
    if layout.spec.machine is not None:
        thin, thick = layout.spec.machine.thicknesses
        has_cut = thin - SAME_LENGTH <= thickness <= thick + SAME_LENGTH
    if not has_cut:
        if row.most is not None and thickness > row.most + SAME_LENGTH:
            return Suited("beyond", row)
        if row.thinnest is not None and thickness < row.thinnest - SAME_LENGTH:
            return Suited("thin", row)
        if row.usual is not None and thickness > row.usual + SAME_LENGTH:
            return Suited("unusual", row)
    return Suited("poorly" if row.cuts == "poorly" else "good", row)


def _position(process: str, given: float | None) -> Value:
    """One standard deviation of a place, mm: a third of what the spec gives as plus or minus, else the table's."""
    # plus or minus is a limit; a limit is three standard deviations here
    if given is not None:
        return Value(given / LIMIT_SIGMAS, "given")
    if not process_traits(process).table:
        return Value(0.0, "no table")
    found = hole_scatter(process)
    return Value(found.position, f"{found.source.name}, {found.source.kind}")


@kept(64)
def _capability(
    process: str, thickness: float, limits: PlateLimits, machine: Machine | None, position: float | None
) -> Capability:
    rules = process_rules(process)

    def own(quantity: CutQuantity) -> Value | None:
        reading = None if machine is None else machine.at(quantity, thickness)
        return None if machine is None or reading is None else Value(reading.value, machine.origin(reading))

    def usual(quantity: Quantity) -> Value:
        rule = rules[quantity]
        return Value(rule.value(thickness, limits.kerf.value), rule.origin)

    # What the user measured on the machine (its file, or a coupon) goes before what is usual of the process.
    lean = usual("taper_deg")
    room, lead = own("pierce_room") or usual("pierce_room"), own("lead") or usual("lead")
    if lead.value < room.value:  # a way in that is shorter would begin where the pierce spoils the edge
        lead = Value(room.value, f"no less than the room to pierce: {room.source}")
    return Capability(
        process=process,
        thickness=thickness,
        kerf=limits.kerf,
        smallest_hole=limits.smallest_hole,
        taper=own("taper") or Value(math.radians(lean.value), lean.source),
        hole_error=own("hole_error") or Value(0.0, "not known"),
        position=_position(process, position),
        own_scatter=own("scatter") or (usual("scatter") if "scatter" in rules else None),
        pierce_room=room,
        lead=lead,
        overrun=own("overrun") or usual("overrun"),
        traits=process_traits(process),
    )

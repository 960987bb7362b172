"""What each cutting process holds and is like: limits, traits and speeds, each from a table of its own."""

from __future__ import annotations

from itertools import pairwise
from typing import Literal, cast, get_args

from msgspec import Struct

from platekit.errors import LookupFailed
from platekit.tables.rows import kept, read
from platekit.tables.values import Source

Quantity = Literal[
    "kerf",
    "smallest_hole",
    "web",
    "inside_radius",
    "pilot_clearance",
    "taper_deg",
    "scatter",
    "pierce_room",
    "lead",
    "overrun",
]
QUANTITIES: tuple[Quantity, ...] = get_args(Quantity)
BY_ISO_9013: tuple[Quantity, ...] = ("scatter",)
"""Quantities that a process may leave to ISO 9013; every other one has a row for every process."""


class ProcessRule(Struct, frozen=True):
    """One row: shares of thickness and kerf and something more, never less than a least. Lengths in mm."""

    process: str
    per_thickness: float
    per_kerf: float
    plus: float
    least: float
    kind: str
    source: str

    @property
    def origin(self) -> str:
        """Where it comes from, as it is told beside the figure: process, reason, kind."""
        return f"{self.process} ({self.source}), {self.kind}"

    def value(self, thickness: float, kerf: float) -> float:
        """The quantity in mm for a plate of `thickness` cut with `kerf` (both mm)."""
        return max(self.per_thickness * thickness + self.per_kerf * kerf + self.plus, self.least)


class Traits(Struct, frozen=True):
    """What a process is like.

    `table` says whether it follows a drawing, `hard_edge` whether its edge eats taps and reamers. `iso_class` is the
    tolerance class of ISO 9013 that its sizes scatter by (None: its own `scatter`). `positioning_mm_min` is how fast
    the head moves without cutting.
    """

    table: bool
    hard_edge: bool
    iso_class: int | None
    positioning_mm_min: float
    source: Source


class Pace(Struct, frozen=True):
    """How fast a process cuts one thickness, and how long it takes to pierce it."""

    speed_mm_min: float
    pierce_s: float
    source: Source


@kept()
def process_rules(process: str) -> dict[Quantity, ProcessRule]:
    """The rows of one process, by quantity.

    Raises `LookupFailed` for a process that the table does not hold.
    """
    rows = [row for row in read("processes.csv") if row.text("process") == process]
    if not rows:
        names = process_names()
        raise LookupFailed(f"no cutting process is called {process!r}", names, wanted=f"known are {', '.join(names)}")
    return {
        cast(Quantity, row.text("quantity")): ProcessRule(
            process=process,
            per_thickness=row.number("per_thickness"),
            per_kerf=row.number("per_kerf"),
            plus=row.number("plus"),
            least=row.number("least"),
            kind=row.source.kind,
            source=row.source.name,
        )
        for row in rows
    }


def process_names() -> tuple[str, ...]:
    """The processes that the table holds, in its order."""
    return tuple(dict.fromkeys(row.text("process") for row in read("processes.csv")))


@kept()
def process_traits(process: str) -> Traits:
    """What one process is like. Raises `LookupFailed` for a process that the table does not hold."""
    # Asked for its refusal alone: a process without rules is unknown, whatever the other tables hold.
    process_rules(process)
    row = next(row for row in read("process_traits.csv") if row.text("process") == process)
    return Traits(
        table=row.text("table") == "yes",
        hard_edge=row.text("hard_edge") == "yes",
        iso_class=row.count("iso_9013_class") if row.text("iso_9013_class") else None,
        positioning_mm_min=row.number("positioning_mm_min"),
        source=row.source,
    )


class CuttingRange(Struct, frozen=True):
    """How well a process cuts a family of materials: thicknesses in mm, None for no limit that matters here.

    `cuts` is yes, poorly, hardly (only special shops do) or no (it cannot be done at all); `why` says why not well.
    """

    cuts: str
    thinnest: float | None
    usual: float | None
    most: float | None
    why: str
    source: Source


@kept()
def material_families() -> tuple[str, ...]:
    """The families of materials that the table knows, in its order."""
    return tuple(dict.fromkeys(row.text("family") for row in read("process_materials.csv")))


@kept()
def cutting_of(process: str, family: str) -> CuttingRange | None:
    """How well a process cuts a family of materials; None where the table does not say.

    Source: the table `process_materials.csv`, each row with its kind.
    """
    for row in read("process_materials.csv"):
        if (row.text("process"), row.text("family")) == (process, family):
            thinnest, usual, most = (
                row.number(column) if row.text(column) else None for column in ("thinnest_mm", "usual_mm", "most_mm")
            )
            return CuttingRange(row.text("cuts"), thinnest, usual, most, row.text("why"), row.source)
    return None


@kept()
def usual_pace(process: str, thickness: float) -> Pace | None:
    """Usual speed and time to pierce at a thickness (mm), straight between two rows of the table.

    Beyond the thinnest and the thickest row that row's own figures hold. None for a process that cuts nothing.
    Source: the table `process_speeds.csv`, from memory: good for an estimate, not for setting a machine.
    """
    rows = [row for row in read("process_speeds.csv") if row.text("process") == process]
    if not rows:
        return None
    # Straight between two rows, and flat beyond the ends: feeds fall with thickness, so a line carried on would end
    # below zero for thick plate and soar for thin.
    for before, after in pairwise(rows):
        thin, thick = before.need("thickness"), after.need("thickness")
        if thin <= thickness <= thick:
            share = (thickness - thin) / (thick - thin)
            speed, pierce = (
                before.number(column) + share * (after.number(column) - before.number(column))
                for column in ("speed_mm_min", "pierce_s")
            )
            return Pace(speed, pierce, before.source)
    row = rows[0] if thickness < rows[0].need("thickness") else rows[-1]
    return Pace(row.number("speed_mm_min"), row.number("pierce_s"), row.source)

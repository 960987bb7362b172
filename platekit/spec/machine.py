"""The user's own cutting machine, kept as a file: what it leaves at each thickness, how fast, and what that costs.

Vocabulary
    cut         one row of the file: what the machine does at one thickness
    gap         a figure that no row gives; the process's usual value stands in for it
    between     a thickness between two rows that give the figure: straight between them
    held        a thickness thinner or thicker than every row that gives the figure: the nearest row's own figure

Inside, lengths are mm, angles radians, speeds mm a minute and times seconds; the file has units of its own.
"""

from __future__ import annotations

import math
import os
from itertools import pairwise
from pathlib import Path as FilePath
from typing import Annotated, Any, Final, Literal, get_args

from msgspec import Struct
from pydantic import Field

from platekit import units
from platekit.choices import Process, Unit
from platekit.errors import SpecError, UnitError
from platekit.spec.base import WordsModel
from platekit.spec.fields import (
    AngleFromZero,
    Count,
    Length,
    LengthFromZero,
    PositiveLength,
    Read,
    Size,
    Text,
    wrong,
)
from platekit.spec.side_files import Kind, model_of, text_of
from platekit.spec.source import Complaint, Path, located
from platekit.units import shown

MAX_CUTS: Final = 200
"""Most rows in one machine file (ours)."""
MAX_MONEY: Final = 1e6
"""Largest price (ours); beyond it a figure is a slip."""
STEEPEST: Final = math.radians(45)
"""Largest taper that is believed, radians (ours)."""

PLAUSIBLE_KERF: Final[dict[str, tuple[float, float]]] = {
    "plasma": (0.5, 12.0),
    "laser": (0.05, 2.0),
    "waterjet": (0.1, 3.0),
    "oxy-fuel": (0.5, 15.0),
    "router": (0.5, 60.0),
    "drill": (0.0, 60.0),
}
"""Narrowest and widest cut that a process is believed to leave, mm (ours, wide of the kerfs in `processes.csv`; a
router's is its cutter)."""
PLAUSIBLE: Final[dict[str, tuple[float, float, str]]] = {
    "thickness": (0.1, 500.0, "plates are 0.1 to 500 mm thick"),
    "hole_error": (-5.0, 5.0, "holes come off by tenths of a millimetre, 5 mm at the most"),
    "scatter": (0.0, 5.0, "sizes come off by tenths of a millimetre, 5 mm at the most"),
    "smallest_hole": (0.1, 300.0, "the smallest usable hole is 0.1 to 300 mm"),
    "web": (0.1, 300.0, "the least steel between two openings is 0.1 to 300 mm"),
    "pierce_room": (0.0, 150.0, "a pierce spoils 150 mm round it at the most"),
    "lead": (0.05, 200.0, "a lead-in is 0.05 to 200 mm long"),
    "overrun": (0.0, 100.0, "a cut runs on by 100 mm at the most"),
    "speed": (1.0, 120_000.0, "a cut runs at 1 to 120,000 mm/min"),
    "pierce": (0.0, 900.0, "a pierce takes 15 minutes at the most"),
}
"""What is believed of a figure in mm, mm/min and s, from and to, whatever the process (ours): wide, to catch slips of
the unit and of the decimal point, not to judge a machine."""
BED: Final = (50.0, 60_000.0)
"""Shortest and longest side of a bed that is believed, mm (ours)."""
FASTEST: Final = 500_000.0
"""Fastest positioning that is believed, mm/min (ours)."""

CutQuantity = Literal[
    "kerf",
    "taper",
    "hole_error",
    "scatter",
    "smallest_hole",
    "web",
    "pierce_room",
    "lead",
    "overrun",
    "speed",
    "pierce",
]
QUANTITIES: Final[tuple[CutQuantity, ...]] = get_args(CutQuantity)
WORDS: Final[dict[CutQuantity, str]] = {
    "hole_error": "hole error",
    "smallest_hole": "smallest hole",
    "pierce_room": "room to pierce",
    "lead": "lead-in",
    "pierce": "time to pierce",
}
"""What to call a quantity in a sentence, where its key is no word."""


def _quantity(value: object, convert: Any) -> float:
    try:
        result: float = convert(value)
    except UnitError as error:
        raise wrong(error.found, error.wanted) from None
    return result


def read_feed(value: object) -> float:
    """A feed, mm/min as the table shows it."""
    result = _quantity(value, units.feed_mm_min)
    if result <= 0:
        raise wrong(shown(value), "it has to be above zero")
    return result


def read_seconds(value: object) -> float:
    """A time to pierce, s."""
    result = _quantity(value, units.time_s)
    if result < 0:
        raise wrong(shown(value), "give zero or a time above it")
    return result


def read_number(value: object) -> float:
    """A plain number, zero or above, in the unit that its key names."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise wrong(shown(value), "give a bare number")
    if not 0 <= value <= MAX_MONEY:
        raise wrong(shown(value), f"give a number from 0 to {MAX_MONEY:g}")
    return float(value)


def read_share(value: object) -> float:
    """A share from 0 to 1."""
    result = read_number(value)
    if not 0 < result <= 1:
        raise wrong(shown(value), "give a share above 0 and up to 1, such as 0.6")
    return result


Feed = Annotated[float, Read(read_feed)]
Seconds = Annotated[float, Read(read_seconds)]
Money = Annotated[float, Read(read_number)]
Share = Annotated[float, Read(read_share)]


class CutModel(WordsModel):
    """What the machine does at one thickness; every figure but the thickness may be left out."""

    thickness: PositiveLength = Field(description="Thickness that the row is for.")
    kerf: PositiveLength | None = Field(default=None, description="Width of the cut.")
    taper: AngleFromZero | None = Field(default=None, description="Lean of the edge from upright, as `2 deg`.")
    hole_error: Length | None = Field(default=None, description="By how much holes come out larger; smaller: negative.")
    scatter: LengthFromZero | None = Field(default=None, description="How far sizes come off, plus or minus.")
    smallest_hole: PositiveLength | None = Field(default=None, description="Smallest hole that is usable.")
    web: PositiveLength | None = Field(default=None, description="Least steel between two openings.")
    pierce_room: LengthFromZero | None = Field(default=None, description="From a pierce to the nearest finished edge.")
    lead: PositiveLength | None = Field(default=None, description="From a pierce to the path round the shape.")
    overrun: LengthFromZero | None = Field(default=None, description="How far the cut runs on past closure.")
    speed: Feed | None = Field(default=None, description="Cutting speed, as `2200 mm/min`.")
    pierce: Seconds | None = Field(default=None, description="Time to pierce, as `0.5 s`.")


class SlowHolesModel(WordsModel):
    """Small holes are cut slower."""

    under: PositiveLength = Field(description="Holes smaller than this are cut slower.")
    share: Share = Field(description="Their share of the usual speed, as 0.6.")


class ConsumablesModel(WordsModel):
    """What wears out: nozzle and electrode, abrasive, a cutter."""

    name: Text = Field(default="a set of consumables", description="What wears out.")
    pierces: Count | None = Field(default=None, ge=1, description="How many pierces one set lasts.")
    hours: Money | None = Field(default=None, gt=0, description="How many hours of cutting one set lasts.")


class PricesModel(WordsModel):
    """What it costs; all in one currency."""

    currency: Text = Field(description="What the prices are in.")
    hour: Money | None = Field(default=None, description="One hour of the machine, with whoever stands beside it.")
    material_kg: Money | None = Field(default=None, description="One kilogram of sheet.")
    consumables: Money | None = Field(default=None, description="One set of consumables.")


class MachineModel(WordsModel):
    """A machine file, version 1."""

    platekit_machine: Literal[1] = Field(description="Version of the machine file.")
    name: Text = Field(description="What the machine is called on the sheets.")
    process: Process = Field(description="What it cuts with.")
    units: Unit = Field(description="Unit of every bare length: mm or in.")
    bed: Size | None = Field(default=None, description="[width, height] that the head can reach.")
    cuts: list[CutModel] = Field(min_length=1, max_length=MAX_CUTS, description="One row a thickness.")
    slow_holes: SlowHolesModel | None = Field(default=None, description="Small holes are cut slower.")
    positioning: Feed | None = Field(default=None, description="Speed of the head when it does not cut.")
    direction: Literal["clockwise", "counter-clockwise"] | None = Field(
        default=None, description="Which way the outside is cut; openings go the other way round."
    )
    consumables: ConsumablesModel | None = Field(default=None, description="What wears out.")
    prices: PricesModel | None = Field(default=None, description="What it costs.")


FILE: Final = Kind(
    "a machine file",
    "platekit_machine",
    "check the name of the machine file",
    (MachineModel, CutModel, SlowHolesModel, ConsumablesModel, PricesModel),
)


class MachineFigure(Struct, frozen=True):
    """A figure of a machine at a thickness, and where it stands: given for it, between two rows, or held."""

    value: float
    origin: Literal["given", "between", "held"]
    nearest: float
    """Thickness of the nearest row that gives it, mm."""


class Machine(Struct, frozen=True):
    """A machine as its file describes it; `cuts` holds, by quantity, its rows as (thickness, value), thin to thick."""

    name: str
    file: str
    process: Process
    bed: tuple[float, float] | None
    cuts: tuple[tuple[CutQuantity, tuple[tuple[float, float], ...]], ...]
    slow_holes: tuple[float, float] | None
    positioning_mm_min: float | None
    direction: Literal["clockwise", "counter-clockwise"] | None
    consumables: ConsumablesModel | None
    prices: PricesModel | None

    def at(self, quantity: CutQuantity, thickness: float) -> MachineFigure | None:
        """What the machine does at a thickness (mm); None where its file has a gap."""
        rows = dict(self.cuts).get(quantity)
        if not rows:
            return None
        # On a tie the thinner row, so that the answer does not hang on the order of the file.
        nearest = min(rows, key=lambda row: (abs(row[0] - thickness), row[0]))
        if abs(nearest[0] - thickness) < 1e-9:
            return MachineFigure(nearest[1], "given", nearest[0])
        for (thin, first), (thick, second) in pairwise(rows):
            if thin < thickness < thick:
                # Straight between two rows; beyond them the end row is held, since no machine's curve is known there.
                share = (thickness - thin) / (thick - thin)
                return MachineFigure(first + share * (second - first), "between", nearest[0])
        return MachineFigure(nearest[1], "held", nearest[0])

    def origin(self, reading: MachineFigure) -> str:
        """Where a reading comes from, in words for a sheet."""
        if reading.origin == "given":
            return f"{self.file}"
        if reading.origin == "between":
            return f"{self.file}, between two rows"
        return f"{self.file}, its row for {reading.nearest:g} mm"

    def figures(self) -> dict[str, Any]:
        """All that the machine says, as plain data."""
        return {
            "name": self.name,
            "process": self.process,
            "bed": self.bed,
            "cuts": {quantity: list(rows) for quantity, rows in self.cuts},
            "slow_holes": self.slow_holes,
            "positioning": self.positioning_mm_min,
            "direction": self.direction,
            "consumables": None if self.consumables is None else self.consumables.model_dump(),
            "prices": None if self.prices is None else self.prices.model_dump(),
        }

    @property
    def thicknesses(self) -> tuple[float, float]:
        """The thinnest and the thickest plate (mm) of which a row says something; infinite the wrong way for none."""
        given = [thickness for _, rows in self.cuts for thickness, _ in rows]
        return min(given, default=math.inf), max(given, default=-math.inf)

    @property
    def gaps(self) -> tuple[CutQuantity, ...]:
        """The figures that no row of the file gives."""
        given = dict(self.cuts)
        return tuple(quantity for quantity in QUANTITIES if not given.get(quantity))


def load_machine(path: str | os.PathLike[str]) -> Machine:
    """The machine in a file.

    Raises SpecError with every problem and its place when the file is no usable machine, PlatekitError when it cannot
    be read at all.
    """
    file = FilePath(path)
    return machine_of(text_of(file, FILE), str(file))


def machine_of(text: str, name: str = "machine") -> Machine:
    """The machine in a text; `name` is what the problems call it.

    >>> bench = machine_of('''
    ... platekit_machine: 1
    ... name: Bench plasma
    ... process: plasma
    ... units: mm
    ... cuts: [{thickness: 6, kerf: 1.4}, {thickness: 10, kerf: 1.6}]
    ... ''')
    >>> round(bench.at("kerf", 8).value, 6), bench.at("web", 8)
    (1.5, None)
    """
    model, source, top = model_of(MachineModel, text, name, FILE)
    # What no machine has is wrong in the file, not a warning about each plate cut on it: there it would come too late.
    wrong_rows = tuple(located(source, top, one) for one in _rows_wanting(model))
    if wrong_rows:
        raise SpecError(wrong_rows)
    # By quantity and not by row: a row may leave out what was not measured at its thickness, and a figure between two
    # thicknesses is taken between those two that have it.
    rows = sorted(model.cuts, key=lambda row: row.thickness)
    cuts = []
    for quantity in QUANTITIES:
        given = tuple((row.thickness, value) for row in rows if (value := getattr(row, quantity)) is not None)
        if given:
            cuts.append((quantity, given))
    slow = model.slow_holes
    return Machine(
        name=model.name,
        file=FilePath(name).name,
        process=model.process,
        bed=model.bed,
        cuts=tuple(cuts),
        slow_holes=None if slow is None else (slow.under, slow.share),
        positioning_mm_min=model.positioning,
        direction=model.direction,
        consumables=model.consumables,
        prices=model.prices,
    )


def _rows_wanting(model: MachineModel) -> list[Complaint]:
    found = []
    if model.bed is not None and not BED[0] <= min(model.bed) <= max(model.bed) <= BED[1]:
        sides = f"{model.bed[0]:g} x {model.bed[1]:g} mm"
        found.append(Complaint(("bed",), sides, "a bed is 50 mm to 60 m long; check the unit"))
    if model.positioning is not None and model.positioning > FASTEST:
        found.append(Complaint(("positioning",), f"{model.positioning:g} mm/min", f"at most {FASTEST:g} is believed"))
    seen: dict[float, int] = {}
    for number, row in enumerate(model.cuts):
        where: Path = ("cuts", number, "thickness")
        if row.thickness in seen:
            twice = f"{row.thickness:g} mm a second time"
            found.append(Complaint(where, twice, "give each thickness one row with all its figures"))
        seen[row.thickness] = number
        # Figures that no machine leaves: a slip of the unit or of the decimal point.
        low, high = PLAUSIBLE_KERF[model.process]
        if row.kerf is not None and not low <= row.kerf <= high:
            wanted = f"{model.process} leaves a kerf of {low:g} to {high:g} mm; check the unit and the decimal point"
            found.append(Complaint(("cuts", number, "kerf"), f"{row.kerf:g} mm", wanted))
        for name, (least, most, words) in PLAUSIBLE.items():
            value = getattr(row, name)
            if value is not None and not least <= value <= most:
                unit = {"speed": "mm/min", "pierce": "s"}.get(name, "mm")
                wanted = f"{words}; check the unit and the decimal point"
                found.append(Complaint(("cuts", number, name), f"{value:.6g} {unit}", wanted))
        if row.taper is not None and row.taper > STEEPEST:
            lean = f"{math.degrees(row.taper):g} degrees"
            found.append(Complaint(("cuts", number, "taper"), lean, "a cut edge leans a few degrees from upright"))
    return found

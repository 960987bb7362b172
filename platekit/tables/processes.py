"""What each cutting process holds: smallest hole, web, inside corner, kerf; from `processes.csv`."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Literal, cast

from platekit.errors import LookupFailed

Quantity = Literal["kerf", "smallest_hole", "web", "inside_radius", "pilot_clearance"]
QUANTITIES: tuple[Quantity, ...] = ("kerf", "smallest_hole", "web", "inside_radius", "pilot_clearance")


@dataclass(frozen=True, slots=True)
class ProcessRule:
    """One row: the largest of three terms, with where it comes from. Lengths in mm."""

    per_thickness: float
    per_kerf: float
    plus: float
    least: float
    kind: str
    source: str

    def value(self, thickness: float, kerf: float) -> float:
        """The quantity in mm for a plate of `thickness` cut with `kerf` (both mm)."""
        return max(self.per_thickness * thickness, self.per_kerf * kerf + self.plus, self.least)


@cache
def process_rules(process: str) -> dict[Quantity, ProcessRule]:
    """The rows of one process, by quantity.

    Raises `LookupFailed` for a process that the table does not hold.
    """
    rows = [row for row in _rows() if row["process"] == process]
    if not rows:
        names = tuple(dict.fromkeys(row["process"] for row in _rows()))
        raise LookupFailed(f"no cutting process is called {process!r}; known are {', '.join(names)}", names)
    return {
        cast(Quantity, row["quantity"]): ProcessRule(
            per_thickness=float(row["per_thickness"]),
            per_kerf=float(row["per_kerf"]),
            plus=float(row["plus"]),
            least=float(row["least"]),
            kind=row["kind"],
            source=row["source"],
        )
        for row in rows
    }


@cache
def _rows() -> list[dict[str, str]]:
    text = resources.files("platekit.tables").joinpath("processes.csv").read_text("utf-8")
    return list(csv.DictReader(line for line in text.splitlines() if not line.startswith("#")))

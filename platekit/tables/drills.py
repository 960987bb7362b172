"""Stock drills: metric, fraction, number and letter, and the one nearest to a diameter."""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Iterable
from fractions import Fraction
from functools import cache
from typing import Literal

from platekit.errors import LookupFailed
from platekit.tables.naming import listed, nearest
from platekit.tables.rows import Row, in_mm, plain_number, read
from platekit.tables.values import Drill
from platekit.units import INCH

System = Literal["metric", "fraction", "number", "letter"]
SYSTEMS: tuple[System, ...] = ("metric", "fraction", "number", "letter")
_NEAR = 1e-6  # mm: two diameters closer than this are the same drill


@cache
def drills(system: System) -> tuple[Drill, ...]:
    """Every stock drill of a system, rising by its diameter in mm; raises LookupFailed for another system.

    Source: each drill's own row, or the row of its series.
    """
    if system not in SYSTEMS:
        raise LookupFailed(f"found {system!r} for a system of drills", SYSTEMS, wanted=f"use {listed(SYSTEMS)}")
    rows = read(f"drill_{system}.csv")
    # Series overlap where the steps change (10 mm ends one and begins the next): by diameter, each drill is there once.
    if system == "metric":
        sizes = [(row, size) for row in rows for size in _steps(row, "mm")]
        found = {float(mm): Drill(f"{float(mm):g} mm", float(mm), system, row.source) for row, mm in sizes}
    elif system == "fraction":
        sizes = [(row, size) for row in rows for size in _steps(row, "in")]
        marked = [Drill(fraction_name(inch), in_mm(float(inch), "in"), system, row.source) for row, inch in sizes]
        found = {drill.diameter: drill for drill in marked}
    else:
        found = {
            row.need("diameter"): Drill(row.text("name"), row.need("diameter"), system, row.source) for row in rows
        }
    return tuple(found[size] for size in sorted(found))


def _steps(row: Row, unit: str) -> Iterable[Fraction]:
    """The exact diameters of a row, in the unit printed."""
    # Fractions add up exactly; a hundred steps of 0.1 as floats would end beside 10 mm and lose the last drill.
    exact = []
    for column in ("first", "last", "step"):
        whole, dash, part = row.text(f"{column}_{unit}").rpartition("-")
        exact.append((Fraction(whole) if dash else Fraction(0)) + Fraction(part))
    first, last, step = exact
    return (first + n * step for n in range(int((last - first) / step) + 1))


def fraction_name(size: Fraction) -> str:
    """An inch size as a drill is marked: `13/32`, `1-3/32`, `1`.

    >>> fraction_name(Fraction(35, 32))
    '1-3/32'
    """
    whole, rest = divmod(size, 1)
    if not rest:
        return str(whole)
    return f"{whole}-{rest}" if whole else str(rest)


def drill(name: str) -> Drill:
    """The stock drill of a name: `13/32`, `#7`, `F`, `6.8`, `6.8 mm`; its diameter is in mm whatever the system.

    Raises LookupFailed when no stock drill is called so; its `nearest` are the drills next to that size.
    """
    # What is written tells the system: #7 is a number, F a letter, 13/32 or anything in inches a fraction; a bare
    # figure is metric, whatever the shop, since inch drills are never called by decimals.
    text = re.sub(r"^NO\.? ?", "#", name.strip().upper())
    system: System = "metric"
    if text.startswith("#"):
        system = "number"
    elif len(text) == 1 and text.isalpha():
        system = "letter"
    elif "/" in text or text.endswith(('"', "IN")):
        system, text = "fraction", text.rstrip('"').removesuffix("IN").strip().replace(" ", "-")
    else:
        text = f"{text.removesuffix('MM').strip()} mm"
    for candidate in drills(system):
        if candidate.name == text:
            return candidate
    # Not by its name, then by its size: `7.0` is 7 mm. What is neither has its neighbours named, by likeness of the
    # name or by size.
    known = drills(system)
    try:
        value = plain_number(text.removesuffix(" mm")) * (INCH if system == "fraction" else 1.0)
    except (ValueError, ZeroDivisionError):
        close = nearest(text, (candidate.name for candidate in known))
        raise LookupFailed(
            f"no drill is called {name!r}", close, wanted=f"the nearest are {listed(close, 'and')}"
        ) from None
    same = [candidate for candidate in known if abs(candidate.diameter - value) < _NEAR]
    if same:
        return same[0]
    close = tuple(d.name for d in sorted(known, key=lambda candidate: abs(candidate.diameter - value))[:3])
    raise LookupFailed(f"{name} is no stock drill", close, wanted=f"the nearest are {listed(close, 'and')}")


def nearest_drill(diameter: float, at_or_above: bool = True, systems: Iterable[System] = SYSTEMS) -> Drill:
    """The stock drill nearest to a diameter in mm: at or above it, or else at or below it.

    Raises LookupFailed where no stock drill is that large (or that small).

    >>> nearest_drill(10.2, systems=("fraction",)).name
    '13/32'
    """
    # A drill within _NEAR of the size asked for is that size: the shift keeps it in, on either side.
    pool = sorted((d for system in systems for d in drills(system)), key=lambda candidate: candidate.diameter)
    sizes = [candidate.diameter for candidate in pool]
    place = bisect_left(sizes, diameter - _NEAR) if at_or_above else bisect_left(sizes, diameter + _NEAR) - 1
    if not 0 <= place < len(pool):
        raise LookupFailed(f"no stock drill {'at or above' if at_or_above else 'at or below'} {diameter:g} mm")
    return pool[place]

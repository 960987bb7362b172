"""Threads and their tap drills: metric (M8, M8x1) and unified (3/8-16, 1/4-28, #10-24), coarse and fine."""

from __future__ import annotations

import math
import re
from functools import cache
from typing import Literal

from msgspec import Struct

from platekit.errors import LookupFailed
from platekit.tables.drills import SYSTEMS, drill, drills
from platekit.tables.naming import listed, nearest
from platekit.tables.rows import Row, read
from platekit.tables.values import Drill, Source, TapDrill
from platekit.units import INCH

METRIC_FILE = "iso_261_thread.csv"
INCH_FILE = "asme_b1_1_thread.csv"
FULL_THREAD = 1.299
"""Depth of full thread on both sides, in pitches (Machinery's Handbook, tap drill formula)."""
LEAST_PERCENT, MOST_PERCENT = 50.0, 85.0  # share of thread that taps well (common practice)
WITHIN_PERCENT = 10.0  # how far from the wanted share a stock drill may leave it (ours)
_AREA = Source("ISO 898-1, formula for the stress area", "published")


class Thread(Struct, frozen=True):
    """One thread: diameter and pitch in mm, stress area in mm2; heads and holes are listed by `size`."""

    name: str
    size: str
    system: Literal["metric", "inch"]
    series: str
    diameter: float
    pitch: float
    stress_area: float
    area_source: Source
    drill: Drill
    source: Source

    @property
    def pitch_diameter(self) -> float:
        """Basic pitch diameter in mm (ISO 724, ASME B1.1: d - 0.6495 P)."""
        return self.diameter - FULL_THREAD / 2 * self.pitch

    def percent(self, hole: float) -> float:
        """Share of full thread height in percent that a hole of this diameter in mm leaves."""
        return 100.0 * (self.diameter - hole) / (FULL_THREAD * self.pitch)


def stress_area(diameter: float, pitch: float) -> float:
    """Stress area in mm2 of a thread from diameter and pitch in mm (ISO 898-1: pi/4 (d - 0.9382 P)^2)."""
    return math.pi / 4 * (diameter - 0.9382 * pitch) ** 2


def thread(name: str) -> Thread:
    """The thread of a name: `M8`, `M8x1.25`, `M8x1`, `3/8-16`, `3/8`, `#10-24`, `1/4-28 UNF`; mm and mm2.

    A size without pitch is the coarse thread. Raises LookupFailed for a size that no table lists, and for a
    pitch that the size is not made with.
    """
    # Metric threads all begin with M, no unified one does.
    text = re.sub(r"\s+", " ", name.strip().upper().replace("×", "X").replace("*", "X"))
    return _metric(name, text) if text.startswith("M") else _inch(name, text)


def threads(system: Literal["metric", "inch"]) -> tuple[str, ...]:
    """The names of all threads of a system, in the order of its table: coarse, then fine."""
    file, column = (METRIC_FILE, "thread") if system == "metric" else (INCH_FILE, "thread")
    return tuple(row.text(column) for row in read(file))


def tap_drill(name: str, percent: float | None = None) -> TapDrill:
    """The drill for a thread: the charted one, or the one nearest to a wanted share of thread in percent.

    Raises LookupFailed where no stock drill leaves a share within 10 points of the wanted one, and between 50
    and 85 percent, outside of which taps break or threads strip.

    >>> tap_drill("3/8-16").drill.name
    '5/16'
    """
    found = thread(name)
    if percent is None:
        return TapDrill(found.name, found.drill, found.percent(found.drill.diameter), found.source)
    if not LEAST_PERCENT <= percent <= MOST_PERCENT:
        raise LookupFailed(
            f"found {percent:g} percent of thread", wanted=f"{LEAST_PERCENT:g} to {MOST_PERCENT:g} percent tap well"
        )
    # The share of thread that any drill leaves follows from its size, so all systems are tried: a letter drill often
    # serves a metric thread better than the next metric one.
    wanted = found.diameter - percent / 100 * FULL_THREAD * found.pitch
    best = min((d for system in SYSTEMS for d in drills(system)), key=lambda d: abs(d.diameter - wanted))
    left = found.percent(best.diameter)
    if not LEAST_PERCENT <= left <= MOST_PERCENT or abs(left - percent) > WITHIN_PERCENT:
        raise LookupFailed(
            f"no stock drill serves {found.name}: {best.name} would leave {left:.0f} percent of thread",
            (best.name,),
        )
    return TapDrill(
        found.name, best, left, Source("stock drill nearest to the wanted share of thread", "common practice")
    )


def _metric(name: str, text: str) -> Thread:
    found = re.fullmatch(r"M ?(\d+(?:[.,]\d+)?)(?: ?[X-] ?(\d*[.,]?\d+))?", text)
    if not found:
        raise _unknown(name)
    size = f"M{float(found[1].replace(',', '.')):g}"
    rows = [row for row in read(METRIC_FILE) if row.text("thread").split("x")[0] == size]
    if not rows:
        raise _unknown(name)
    # The table has the coarse thread first, which is what a size without pitch means everywhere.
    if found[2] is None:
        return _thread_of_metric(rows[0])
    pitch = float(found[2].replace(",", "."))
    # By the printed figure itself, not by nearness: M8x1 and M8x0.75 are different taps.
    for row in rows:
        if row.need("pitch") == pitch:
            return _thread_of_metric(row)
    pitches = listed(f"{row.need('pitch'):g}" for row in rows)
    raise LookupFailed(
        f"{size} is not listed with pitch {pitch:g}", tuple(row.text("thread") for row in rows), wanted=f"use {pitches}"
    )


def _inch(name: str, text: str) -> Thread:
    # Taken off are the ways in which people write the same: NO. 10-24, 1/4-28 UNF, 1-1/4 -7, 3/8" or 3/8 INCH. Numbered
    # sizes are known without their sign only where a pitch stands beside them (10-24): a bare 10 could be anything.
    words = re.sub(r"\b(NO\.?|NUMBER) ?", "#", text)
    words = re.sub(r" ?(UNC|UNF|UN|\"|INCH|IN)(?= |-|$)", "", words).strip()
    words = re.sub(r"(?<=\d) (?=\d+/)", "-", words).replace(" ", "")
    index = _inch_index()
    for candidate in (words, f"#{words}") if "-" in words else (words,):
        if candidate in index:
            row = index[candidate]
            diameter, pitch = row.need("diameter"), INCH / row.number("threads_per_inch")
            area, area_source = _area(row, diameter, pitch)
            bit = drill(row.text("tap_drill"))
            return Thread(
                row.text("thread"),
                row.text("size"),
                "inch",
                row.text("series"),
                diameter,
                pitch,
                area,
                area_source,
                bit,
                row.source,
            )
    # Known by its size but not with that pitch: those it is made with are offered.
    size = words.rpartition("-")[0] or words
    offered = tuple(row.text("thread") for row in read(INCH_FILE) if row.text("size") in (size, f"#{size}"))
    if offered:
        raise LookupFailed(f"{name} is not listed", offered, wanted=f"use {listed(offered)}")
    raise _unknown(name)


@cache
def _inch_index() -> dict[str, Row]:
    """Threads by name, and by size alone for the coarse one."""
    rows = read(INCH_FILE)
    coarse = {row.text("size"): row for row in reversed(rows)}
    return {**coarse, **{row.text("thread"): row for row in rows}}


def _unknown(name: str) -> LookupFailed:
    close = nearest(name, (*threads("metric"), *threads("inch")))
    return LookupFailed(f"no thread is called {name!r}", close, wanted=f"the nearest are {listed(close, 'and')}")


def _area(row: Row, diameter: float, pitch: float) -> tuple[float, Source]:
    # What a standard prints goes before the formula: its rounding is what strengths of screws are listed with.
    printed = row.area("stress_area")
    return (stress_area(diameter, pitch), _AREA) if printed is None else (printed, row.source)


def _thread_of_metric(row: Row) -> Thread:
    diameter, pitch = row.need("diameter"), row.need("pitch")
    size_of_drill = row.need("tap_drill")
    bit = Drill(f"{size_of_drill:g} mm", size_of_drill, "metric", row.source)
    area, area_source = _area(row, diameter, pitch)
    size = row.text("thread").split("x")[0]
    return Thread(
        row.text("thread"),
        size,
        "metric",
        row.text("series"),
        diameter,
        pitch,
        area,
        area_source,
        bit,
        row.source,
    )

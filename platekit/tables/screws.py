"""Screws by their trade size: heads, nuts, washers, holes, drills and stock lengths, metric and inch."""

from __future__ import annotations

import math
from functools import cache
from typing import Literal

from msgspec import Struct

from platekit.errors import LookupFailed
from platekit.tables.drills import drill
from platekit.tables.rows import Row, plain_number, read
from platekit.tables.threads import thread, threads
from platekit.tables.values import Screw
from platekit.units import INCH

FITS = ("close", "normal", "loose")
_CORNERS = 2 / math.sqrt(3)  # across corners of a true hexagon, in across flats: no real one is larger


class _Files(Struct, frozen=True):
    """The tables of one system of screws, and the series of its two washers."""

    clearance: str
    hex_head: str
    lengths: str
    socket_head: str
    countersunk: str
    nut: str
    washer: str
    washer_series: str
    large_washer: str
    large_series: str


_FILES: dict[Literal["metric", "inch"], _Files] = {
    "metric": _Files(
        "iso_273_clearance.csv",
        "iso_4014_hex_head.csv",
        "iso_4014_hex_head.csv",
        "iso_4762_socket_head.csv",
        "iso_10642_countersunk.csv",
        "iso_4032_nut.csv",
        "iso_7089_washer.csv",
        "",
        "iso_7093_washer.csv",
        "",
    ),
    "inch": _Files(
        "asme_b18_2_8_clearance.csv",
        "asme_b18_2_1_hex_head.csv",
        "inch_screw_lengths.csv",
        "asme_b18_3_socket_head.csv",
        "asme_b18_3_countersunk.csv",
        "asme_b18_2_2_nut.csv",
        "asme_b18_21_1_washer.csv",
        "narrow",
        "asme_b18_21_1_washer.csv",
        "wide",
    ),
}


@cache
def screw(size: str) -> Screw:
    """Everything listed for a screw size: `M8`, `M8x1`, `3/8-16`, `3/8`, `#10-24`.

    Lengths in mm, the stress area in mm2. Raises LookupFailed for an unknown size with the nearest ones.

    >>> screw("M8").clearance["normal"]
    9.0
    """
    found = thread(size)
    files = _FILES[found.system]
    holes = _row(files.clearance, found.size)
    if holes is None:
        raise LookupFailed(f"no clearance holes are listed for {found.name}")
    # Heads, nuts and washers go by the size alone, whatever the pitch; what a table does not list stays None, and a
    # rule that needs it says `not-checked` instead of taking a neighbour's figure.
    head, socket = _row(files.hex_head, found.size), _row(files.socket_head, found.size)
    flat, nut = _row(files.countersunk, found.size), _row(files.nut, found.size)
    washer = _row(files.washer, found.size, files.washer_series)
    large = _row(files.large_washer, found.size, files.large_series)
    turned = _socket(_of(head, "across_flats"))
    # The stock lengths between the shortest and longest of the size, if these are listed.
    span = _row(files.lengths, found.size)
    shortest, longest = _of(span, "shortest"), _of(span, "longest")
    sold: Row | None = None
    lengths: tuple[float, ...] = ()
    if shortest is not None and longest is not None:
        sold = next(row for row in read("stock_lengths.csv") if row.text("system") == found.system)
        unit = INCH if sold.text("unit") == "in" else 1.0
        every = (plain_number(word) * unit for word in sold.words("lengths"))
        lengths = tuple(length for length in every if shortest <= length <= longest)
    # Other threads of the same size go by the name without its pitch: M8x1 and M8, 3/8-24 and 3/8-16.
    same_size = [
        name
        for name in threads(found.system)
        if (name.split("x")[0] if found.system == "metric" else name.rpartition("-")[0]) == found.size
    ]
    # Clearance holes are printed as lengths in the metric table, as drills in the inch one.
    clearance = {fit: drill(holes.text(fit)).diameter if fit in holes.cells else holes.need(fit) for fit in FITS}
    rows = (
        ("clearance", holes),
        ("hex head", head),
        ("socket head", socket),
        ("countersunk head", flat),
        ("nut", nut),
        ("washer", washer),
        ("large washer", large),
        ("wrench", turned),
        ("lengths", sold),
    )
    of_thread = (("thread", found.source), ("stress area", found.area_source), ("tap drill", found.source))
    return Screw(
        size=found.name,
        system=found.system,
        series=found.series,
        diameter=found.diameter,
        pitch=found.pitch,
        stress_area=found.stress_area,
        tap_drill=found.drill.diameter,
        tap_drill_name=found.drill.name,
        thread_percent=found.percent(found.drill.diameter),
        clearance=clearance,
        fine_pitches=tuple(name for name in same_size if name != found.name),
        hex_across_flats=_of(head, "across_flats"),
        hex_across_corners=_corners(_of(head, "across_flats")),
        hex_head_height=_of(head, "height"),
        wrench_outer=_of(turned, "outer"),
        socket_head_diameter=_of(socket, "head_diameter"),
        socket_head_height=_of(socket, "head_height"),
        countersunk_head_diameter=_of(flat, "head_diameter"),
        countersunk_head_height=_of(flat, "head_height"),
        countersunk_angle_deg=flat.number("angle_deg") if flat else None,
        nut_across_flats=_of(nut, "across_flats"),
        nut_across_corners=_corners(_of(nut, "across_flats")),
        nut_height=_of(nut, "height"),
        nut_wrench_outer=_of(_socket(_of(nut, "across_flats")), "outer"),
        washer_hole=_of(washer, "hole"),
        washer_outer=_of(washer, "outer"),
        washer_thickness=_of(washer, "thickness"),
        large_washer_hole=_of(large, "hole"),
        large_washer_outer=_of(large, "outer"),
        large_washer_thickness=_of(large, "thickness"),
        stock_lengths=lengths,
        sources=(*of_thread, *((name, row.source) for name, row in rows if row is not None)),
    )


def screw_sizes() -> tuple[str, ...]:
    """Every screw size: metric coarse and fine, unified coarse and fine."""
    return (*threads("metric"), *threads("inch"))


def _row(file: str, size: str, series: str = "") -> Row | None:
    # Some files hold several series of one size (washers narrow and wide): the asked one, else the first.
    for row in read(file):
        if row.text("size") == size and (not series or row.text("series") == series):
            return row
    return None


def _of(row: Row | None, stem: str) -> float | None:
    return row.length(stem) if row else None


def _corners(flats: float | None) -> float | None:
    return None if flats is None else flats * _CORNERS


def _socket(flats: float | None) -> Row | None:
    """The listed socket that goes over a hexagon, else the next larger one."""
    if flats is None:
        return None
    # Rising by size: the first that is as large goes over it.
    return next((row for row in read("socket_outside.csv") if row.need("across_flats") >= flats), None)

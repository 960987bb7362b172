"""The list of what to buy and to cut, as CSV (RFC 4180, UTF-8) for a spreadsheet, and as figures for a program.

Lengths of the CSV are in the spec's own unit, which stands in the heading of each column. One row a piece and part of
the job, then a row of totals for each part.
"""

from __future__ import annotations

import csv
import io
import os
from typing import Final

from platekit.analysis.parts_list import Piece, StockFit, lines_of, pieces_of, totals_of
from platekit.checks.finding import Verdict
from platekit.drawing.cautions import NOT_FOR_CUTTING, ONE_LINE
from platekit.export.data.hole_list import Cell, csv_cell
from platekit.export.data.rounded import Figures
from platekit.export.files import write_whole
from platekit.export.text.parts_list import piece_words, stock_words, to_settle
from platekit.placed import Layout

PARTS_SUFFIX: Final = ".parts.csv"
LENGTHS: Final = ("length", "width", "height", "thickness", "bore")
"""The columns that are lengths."""
COLUMNS: Final = (
    "row",
    "part",
    "get",
    "kind",
    "count",
    "words",
    "size",
    "what",
    *LENGTHS,
    "grooves",
    "teeth",
    "mass_kg",
    "to_settle",
    "stock",
)
"""The columns that tell about a piece, in order; `row` says whether it is one, or a total."""


def parts_bytes(layout: Layout, verdict: Verdict) -> bytes:
    """The list as CSV; the same layout gives the same bytes.

    Every row ends with cautions, title, name, revision and verdict, so that a row copied elsewhere still tells where
    it is from.
    """
    unit = layout.spec.unit
    told: dict[str, Cell] = {
        "cautions": ONE_LINE,
        "title": layout.title,
        "spec": layout.spec.name,
        "revision": layout.spec.revision,
        "verdict": "clear to cut" if verdict.clear else NOT_FOR_CUTTING,
    }
    rows: list[dict[str, Cell]] = []
    for piece in pieces_of(layout):
        sizes = (piece.length, piece.width, piece.height, piece.thickness, piece.bore)
        rows.append(
            {
                "row": "piece",
                "part": piece.part,
                "get": piece.get,
                "kind": piece.kind,
                "count": str(piece.count),
                "words": piece_words(piece, unit),
                "size": piece.size,
                "what": piece.what,
                **dict(zip(LENGTHS, sizes, strict=True)),
                "grooves": str(piece.grooves or ""),
                "teeth": str(piece.teeth or ""),
                "mass_kg": "" if piece.mass is None else f"{piece.mass:.3f}",
                "to_settle": to_settle(piece, unit),
                "stock": stock_words(piece, unit),
            }
        )
    for one in totals_of(layout):
        for get, count, mass in (("buy", one.bought, 0.0), ("cut", one.cut, one.mass)):
            if count:
                kilograms = f"{mass:.3f}" if mass else ""
                rows.append({"row": "total", "part": one.part, "get": get, "count": str(count), "mass_kg": kilograms})
    # RFC 4180 wants CRLF on every system, which the csv module writes by itself if the stream leaves it alone
    stream = io.StringIO(newline="")
    writer = csv.writer(stream)
    writer.writerow([*(f"{column}_{unit}" if column in LENGTHS else column for column in COLUMNS), *told])
    for row in rows:
        whole = row | told
        writer.writerow([csv_cell(whole.get(column), unit) for column in (*COLUMNS, *told)])
    return stream.getvalue().encode("utf-8")


def parts(layout: Layout, verdict: Verdict, path: str | os.PathLike[str]) -> None:
    """Writes the list to `path`, whole or not at all; see `parts_bytes`."""
    write_whole(path, parts_bytes(layout, verdict))


def parts_figures(layout: Layout) -> Figures:
    """The list for a program: pieces alike on one line, and totals by part of the job; mm and kg."""
    return {
        "lines": [
            {
                **_piece(line.piece),
                "count": line.count,
                "for": [{"part": part, "count": count} for part, count in line.by_part],
                "mass_kg": line.mass,
            }
            for line in lines_of(layout)
        ],
        "totals": [
            {"part": one.part, "to_buy": one.bought, "to_cut": one.cut, "cut_mass_kg": one.mass, "open": one.open}
            for one in totals_of(layout)
        ],
    }


def _piece(piece: Piece) -> Figures:
    return {
        "get": piece.get,
        "kind": piece.kind,
        "size": piece.size or None,
        "what": piece.what or None,
        "words": piece_words(piece, "mm"),
        "length_mm": piece.length,
        "width_mm": piece.width,
        "height_mm": piece.height,
        "thickness_mm": piece.thickness,
        "bore_mm": piece.bore,
        "keyway_mm": piece.keyway,
        "grooves": piece.grooves or None,
        "teeth": piece.teeth or None,
        "packed_of_mm": list(piece.pieces) or None,
        "to_settle": list(piece.open),
        "stock": None if piece.stock is None else _stock(piece.stock),
    }


def _stock(fit: StockFit) -> Figures:
    return {
        "shorter_mm": fit.shorter,
        "longer_mm": fit.longer,
        "fits_with_deeper_thread_mm": fit.deeper,
        "thread_depth_for_it_mm": fit.depth,
    }

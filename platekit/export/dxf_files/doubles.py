"""Pieces of a drawing that run along each other, and so would be cut twice: whole doubles and partial ones."""

from __future__ import annotations

import math
from collections.abc import Iterator

from platekit.cutting.doubles import doubles
from platekit.export.dxf_files.pieces import ReadDrawing, shown


def doubled_faults(found: ReadDrawing) -> Iterator[str]:
    """Pieces that run along each other, and so would be cut twice: a fault for each such place, mm."""
    lines = [(piece.a, piece.b) for piece in found.pieces if not piece.bulge]
    arcs = [(circle.center, circle.radius, 0.0, math.tau) for circle in found.circles]
    for piece in found.pieces:
        if piece.bulge:
            # as an angle to start at and a sweep counter-clockwise, whichever way the arc is run: a head that goes back
            # over an arc cuts it twice as well
            center, radius = piece.arc
            first = piece.a if piece.bulge > 0 else piece.b
            start = math.atan2(first[1] - center[1], first[0] - center[0])
            arcs.append((center, radius, start, 4 * math.atan(abs(piece.bulge))))
    yield from dict.fromkeys(f"something is cut twice at {shown(at)}" for at in doubles(lines, arcs))

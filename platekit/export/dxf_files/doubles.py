"""Pieces of a drawing that run along each other, and so would be cut twice: whole doubles and partial ones."""

from __future__ import annotations

import math
from collections.abc import Iterator

from platekit.cutting.doubles import doubles
from platekit.export.dxf_files.pieces import Piece, ReadDrawing, shown
from platekit.geometry import Point


def doubled(found: ReadDrawing) -> Iterator[str]:
    """Pieces that run along each other, and so would be cut twice."""
    lines = [(piece.a, piece.b) for piece in found.pieces if not piece.bulge]
    arcs = [(*piece.arc, *_angles(piece, piece.arc[0])) for piece in found.pieces if piece.bulge]
    arcs += [(circle.center, circle.radius, 0.0, math.tau) for circle in found.circles]
    yield from dict.fromkeys(f"something is cut twice at {shown(at)}" for at in doubles(lines, arcs))


def _angles(piece: Piece, center: Point) -> tuple[float, float]:
    first = piece.a if piece.bulge > 0 else piece.b
    return math.atan2(first[1] - center[1], first[0] - center[0]), 4 * math.atan(abs(piece.bulge))

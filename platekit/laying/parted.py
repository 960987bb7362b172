"""A sheet with openings as pieces that have none, for what asks a body for one closed outline."""

from __future__ import annotations

import math
from collections.abc import Sequence

from platekit.geometry import Loop, Shape, difference, rectangle

ASKEW = 0.35
"""How far from the outline's longest edge a sheet is taken apart, rad (ours: no line then runs along an edge)."""


def parted(outline: Loop, whole: Loop, inside: Sequence[Shape]) -> list[Loop]:
    """`whole` without its openings, cut by lines through the middle of each of these: so none is a hole; mm.

    The lines stand askew to the longest edge of `outline`. Raises `GeometryError` for openings that no sheet has.
    """
    # The cuts are not square to any edge: a line along an edge would give slivers that a distance cannot be taken from.
    far = 2 * (whole.box.width + whole.box.height + 1.0)
    edge = max(outline.edges, key=lambda one: (round(one.length, 6), *(round(c, 6) for c in one.at(0.5))))
    ux, uy = edge.direction(0.0)
    turn = math.atan2(uy, ux) + ASKEW
    way = (math.cos(turn), math.sin(turn))
    spots = sorted(inside, key=lambda shape: shape.centroid[0] * way[0] + shape.centroid[1] * way[1])
    found: list[Loop] = []
    for before, after in zip([None, *spots], [*spots, None], strict=True):
        outside = []
        for shape, sign in ((before, -1.0), (after, 1.0)):
            if shape is not None:
                x, y = shape.centroid
                middle = (x + sign * far / 2 * way[0], y + sign * far / 2 * way[1])
                outside.append(rectangle(far, 2 * far, center=middle, turn=turn))
        found += difference(whole, [*inside, *outside])
    return found

"""Spans along the plate's normal, turned into z of the plate frame."""

from __future__ import annotations

from platekit.placed import Side


def z_range(side: Side, span: tuple[float, float], thickness: float, standoff: float = 0.0) -> tuple[float, float]:
    """The (low, high) z of a span (mm) measured from the mating face of a carrier on `side` of the plate.

    Positive goes into the part's own side, negative towards and through the plate; a standoff moves it all outward.

    >>> z_range("near", (-48, 0), thickness=10)
    (-48.0, 0.0)
    >>> z_range("far", (-14, 0), thickness=10)
    (-10.0, 4.0)
    """
    a, b = span
    if side == "near":
        return (float(standoff + a), float(standoff + b))
    face = -thickness - standoff
    return (float(face - b), float(face - a))

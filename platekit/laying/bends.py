"""How long sheet is before it is bent: the length of a bend along the fibre that neither stretches nor shrinks.

Vocabulary
    bend angle      what the sheet is turned by, rad: 0 for flat sheet, a quarter turn for an upright flange
    inside radius   of the bend on its hollow side, mm
    k               DIN 6935's factor: the neutral fibre lies k half thicknesses off the hollow side
    K-factor        the same as a share of the whole thickness: k / 2, as press brakes are set

A bend of angle a takes a (r + K s) of flat sheet. That is what DIN 6935 adds up for angles up to a right one; what it
takes off is only written differently, from outside edge to outside edge.
"""

from __future__ import annotations

import math

from platekit.tables.shop import shop_figure

LEAST_K = 0.25
"""Least K-factor used: sharper bends than 0.4 thicknesses, where DIN 6935 gives less, tear or thin (ours)."""
WIDE = shop_figure("bend, radius in thicknesses from which the middle serves")
"""From so many thicknesses of inside radius the neutral fibre is taken as the middle (`shop_figures.csv`)."""
K_CONSTANT = shop_figure("bend, constant of its neutral fibre")
K_SLOPE = shop_figure("bend, share of the logarithm")
"""The share of the logarithm of radius over thickness in twice the K-factor, after a constant (`shop_figures.csv`)."""
K_SOURCE = "DIN 6935: k = 0.65 + 0.5 log10(r/s), 1 from r/s = 5 on; K = k/2, not under 0.25 (ours)"
"""Where `k_factor` comes from, as it is told."""


def k_factor(radius: float, thickness: float) -> float:
    """The K-factor of a bend with this inside radius in sheet so thick (mm), after DIN 6935; see `K_SOURCE`.

    >>> k_factor(2.0, 2.0), k_factor(100.0, 2.0)
    (0.325, 0.5)
    """
    ratio = radius / thickness
    if ratio >= WIDE:
        return 0.5
    return min(max((K_CONSTANT + K_SLOPE * math.log10(ratio)) / 2, LEAST_K), 0.5)


def bend_length(angle: float, radius: float, thickness: float, k: float) -> float:
    """Flat sheet that a bend takes up, mm: angle in rad, inside radius and thickness in mm, K-factor."""
    return angle * (radius + k * thickness)

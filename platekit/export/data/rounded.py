"""Figures for a program: what they are made of, and rounded so that the same spec gives the same bytes."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Final

Json = Mapping[str, "Json"] | Sequence["Json"] | str | float | bool | None
Figures = dict[str, Json]

DECIMALS: Final = 9
"""Places kept of a number: far below any process, and the same on every machine (ours)."""


def tidied(figures: Figures, decimals: int = DECIMALS) -> Figures:
    """The same figures with rounded numbers, no minus zero, and null for what is no number."""
    return {key: _tidy(value, decimals) for key, value in figures.items()}


def _tidy(value: Json, decimals: int = DECIMALS) -> Json:
    if isinstance(value, bool) or value is None or isinstance(value, str | int):
        return value
    if isinstance(value, float):
        # adding 0 turns minus zero into zero
        return round(value, decimals) + 0.0 if math.isfinite(value) else None
    if isinstance(value, Mapping):
        return {key: _tidy(one, decimals) for key, one in value.items()}
    return [_tidy(one, decimals) for one in value]

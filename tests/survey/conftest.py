"""Nets made from holes whose places are known, so that what the survey finds can be held against the truth."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Mapping
from typing import Any, cast

import numpy as np
import pytest

from platekit.survey.net import Feature, Net, Reading, ReadingKind

Places = Mapping[str, tuple[float, float]]
SIGN = {"inside": -1.0, "over": 1.0, "centres": 0.0}


def reading_of(places: Places, sizes: Mapping[str, float], names: tuple[str, ...], kind: str) -> float:
    """What a perfect reading would be."""
    if kind == "diameter":
        return sizes[names[0]]
    if kind in ("x", "y"):
        return places[names[0]][kind == "y"]
    if kind == "edge":  # the edge lies along y = -20
        return places[names[0]][1] + 20.0 - sizes[names[0]] / 2.0
    radii = (sizes.get(names[0], 0.0) + sizes.get(names[1], 0.0)) / 2.0
    return math.dist(places[names[0]], places[names[1]]) + SIGN[kind] * radii


@pytest.fixture
def made() -> Callable[..., Net]:
    """A net from places, sizes and (names..., kind) tuples; `noise` is one sigma of errors put on every reading."""

    def make(
        places: Places,
        kinds: Iterable[tuple[str, ...]],
        *,
        sizes: Mapping[str, float] | None = None,
        noise: float = 0.0,
        seed: int = 1,
        sigma: float = 0.1,
        **more: Any,
    ) -> Net:
        random = np.random.default_rng(seed)
        true = dict.fromkeys(places, 10.0) if sizes is None else dict(sizes)
        features = tuple(
            Feature(name, true[name] + noise * random.standard_normal() if name in true else None) for name in places
        )
        readings = tuple(
            Reading(names, kind, reading_of(places, true, names, kind) + noise * random.standard_normal())
            for names, kind in ((told[:-1], cast(ReadingKind, told[-1])) for told in kinds)
        )
        return Net(features, readings, sigma, **more)

    return make


@pytest.fixture
def every_pair() -> Callable[..., list[tuple[str, ...]]]:
    """All pairs of some names, each in every one of the kinds."""

    def pairs(names: Iterable[str], *kinds: str) -> list[tuple[str, ...]]:
        return [(*pair, kind) for pair in itertools.combinations(names, 2) for kind in kinds]

    return pairs

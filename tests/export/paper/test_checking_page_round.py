"""Holes due left of the middle begin the round, on whichever side of the line rounding puts them."""

from __future__ import annotations

import math

import pytest

from platekit.export.paper.checking_page import _round_from_left


@pytest.mark.parametrize("rounding", [-1e-15, 0.0, 1e-15])
def test_what_lies_due_left_begins(rounding: float) -> None:
    spots = {"up": (0.0, 40.0), "left": (-40.0, rounding), "right": (40.0, -rounding), "down": (rounding, -40.0)}
    assert sorted(spots, key=lambda name: _round_from_left(*spots[name])) == ["left", "down", "right", "up"]
    assert _round_from_left(-40.0, rounding) == pytest.approx(-math.pi)

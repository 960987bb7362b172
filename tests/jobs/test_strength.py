"""`platekit strength`: the figures add up, and what is missing is asked for at its place."""

from __future__ import annotations

from pathlib import Path

import pytest

from platekit.errors import SpecError
from platekit.jobs.strength import strength

SPEC = Path("specs/wool-carder.yaml")
GRAVITY = 9.80665


def test_the_screws_carry_the_weight() -> None:
    told = strength(SPEC)
    figures = told.figures
    assert told.state == "clear"
    frame = [screw for screw in figures["screws"] if screw["hole"].startswith("frame.")]
    motor = [screw for screw in figures["screws"] if screw["hole"].startswith("motor.")]
    # lying with its near side up, motor and plate press on the frame; each figure is the least pressed of all states
    assert -sum(screw["pull_n"] for screw in motor) <= 17 * GRAVITY
    assert all(screw["pull_n"] < 0 for screw in (*frame, *motor))
    assert figures["yield_n_mm2"] > figures["stress_n_mm2"] > 0
    assert all(soft <= stiff for soft, stiff in figures["frequencies_hz"])
    assert "not a certificate" in " ".join(told.text.split())
    assert "carries motor (17 kg)" in told.text


def test_a_plate_without_masses_is_asked_for_them() -> None:
    with pytest.raises(SpecError, match="nothing says what motor weighs; give mounts: motor: mass"):
        strength(Path("specs/dough-mixer.yaml"))

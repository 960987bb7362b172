"""`platekit strength`: the figures add up, and what is missing is asked for at its place."""

from __future__ import annotations

from pathlib import Path

import pytest

import platekit
from platekit.drawing.svg.parts import path_of
from platekit.errors import SpecError
from platekit.export.picture.strength import strength_picture
from platekit.jobs.strength import strength
from tests.checks import carried

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
    # what it is held to, by hand: 235 / 1.67; M8 of 8.8: 0.75 x 580 x 36.6 N, half of it for sure
    assert "may be 141 N/mm2: yield of 235 N/mm2 over 1.67" in " ".join(told.text.split())
    assert told.text.count(f"{0.75 * 580 * 36.6 / 2:.0f}") == 4


def test_a_plate_without_masses_is_asked_for_them() -> None:
    with pytest.raises(SpecError, match="nothing says what motor weighs; give mounts: motor: mass"):
        strength(Path("specs/dough-mixer.yaml"))


def test_a_rib_is_told_and_drawn(tmp_path: Path) -> None:
    plain, ribbed = tmp_path / "plain.yaml", tmp_path / "ribbed.yaml"
    rib = "  ribs: {spine: {side: far, from: [-60, 80], to: [-60, 330], height: 40, width: 8}}\n"
    plain.write_text(carried.SOUND, encoding="utf-8")
    ribbed.write_text(carried.SOUND.replace("plate:\n", f"plate:\n{rib}", 1), encoding="utf-8")
    told = " ".join(strength(ribbed).text.split())
    assert "spine a flat bar 40 mm x 8 mm, 250 mm long, welded on edge to the far side along both its faces" in told
    one, other = (strength_picture(platekit.lay_out(platekit.load(path))) for path in (plain, ribbed))
    shape = platekit.lay_out(platekit.load(ribbed)).ribs[0].shape
    drawn = f'd="{path_of(shape)}"'
    assert drawn in other
    assert drawn not in one

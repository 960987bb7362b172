"""Strength of screws and tightening.

Source: ISO 898-1 (proof loads); SAE J429 (grades); Shigley, Mechanical Engineering Design (bolted joints: nut factor,
    preload of three quarters of the proof load).
Compared: proof load by size and class, strengths of grades, torque against the nut factor 0.20, preload.
Within: 0.8 % at the proof loads, which the standard rounds to three figures; 0.01 of the nut factor; equal at the
    grades.
"""

from __future__ import annotations

import math

import pytest

from platekit.tables import property_class, torque
from platekit.tables.torques import thread_bears, torque_in_aluminium

KSI = 6.894757


# ISO 898-1 tables of proof loads in newtons, coarse thread, rounded there to three figures
@pytest.mark.parametrize(
    ("size", "name", "load"),
    [
        ("M6", "8.8", 11600),
        ("M8", "8.8", 21200),
        ("M10", "8.8", 33700),
        ("M12", "8.8", 48900),
        ("M20", "8.8", 147000),
        ("M10", "10.9", 48100),
        ("M16", "10.9", 130000),
        ("M12", "12.9", 81800),
        ("M10", "4.6", 13000),
    ],
)
def test_proof_loads_of_iso_898_1(size: str, name: str, load: float) -> None:
    from platekit.tables import screw

    assert property_class(name, size).proof_strength * screw(size).stress_area == pytest.approx(load, rel=0.008)


# SAE J429: proof, yield, tensile in ksi
@pytest.mark.parametrize(
    ("size", "grade", "proof", "limit", "tensile"),
    [
        ("3/8-16", "grade 5", 85, 92, 120),
        ("1-1/8-7", "grade 5", 74, 81, 105),
        ("1/2-13", "grade 8", 120, 130, 150),
        ("1/2-13", "grade 2", 55, 57, 74),
        ("7/8-9", "grade 2", 33, 36, 60),
    ],
)
def test_grades_of_sae_j429(size: str, grade: str, proof: float, limit: float, tensile: float) -> None:
    found = property_class(grade, size)
    assert found.proof_strength == pytest.approx(proof * KSI, rel=1e-6)
    assert found.yield_strength == pytest.approx(limit * KSI, rel=1e-6)
    assert found.tensile_strength == pytest.approx(tensile * KSI, rel=1e-6)


@pytest.mark.parametrize("size", ["M8", "M12", "M20"])
def test_torque_agrees_with_the_nut_factor_of_shigley(size: str) -> None:
    # Shigley, table 8-15 and its neighbours: T = K F d with K about 0.20 for as-received threads at a friction of 0.15
    found = torque(size, "8.8", friction=0.15)
    nut_factor = found.torque * 1000 / (found.preload * float(size[1:]))
    assert nut_factor == pytest.approx(0.20, abs=0.01)


def test_preload_is_three_quarters_of_the_proof_load() -> None:
    # Shigley: 75 percent of proof load for joints that are opened again; M10 8.8: 0.75 x 580 x 58.0
    found = torque("M10", "8.8")
    assert found.preload == pytest.approx(0.75 * 580 * 58.0)


def test_torque_formula_written_out() -> None:
    # T = F (P / 2 pi + mu d2 / (2 cos 30) + mu Dm / 2); M10: P 1.5, d2 9.026, Dm (16 + 11) / 2
    found = torque("M10", "8.8", friction=0.14)
    lever = 1.5 / (2 * math.pi) + 0.14 * 9.026 / (2 * math.cos(math.radians(30))) + 0.14 * 13.5 / 2
    assert found.torque == pytest.approx(found.preload * lever / 1000, rel=1e-4)
    assert "friction 0.14" in found.said


def test_a_thread_in_aluminium_by_hand() -> None:
    """M8 of 8.8 to three quarters of its proof load (0.75 x 580 x 36.6 = 15.9 kN) in 8 mm of cast aluminium.

    The root of the nut's thread: pi x 8 x 8 x 0.875 = 175.9 mm2, at 0.6 x 170 N/mm2 = 102 N/mm2 in shear: 17.9 kN. Held
    to two thirds of that, 12.0 kN, the torque is 0.75 of the screw's own; 16 mm of thread bear 35.9 kN and leave it.
    """
    assert thread_bears("M8", "aluminium", 8) == pytest.approx(17945, rel=0.002)
    full = torque("M8", "8.8")
    held, times = torque_in_aluminium("M8", "8.8", 8)
    assert held.torque / full.torque == pytest.approx(17945 / 1.5 / 15921, rel=0.01)
    assert times == pytest.approx(1.5)
    held, times = torque_in_aluminium("M8", "8.8", 16)
    assert held.torque == full.torque
    assert times == pytest.approx(35890 / 15921, rel=0.01)
    # the area by the handbook, with the limits of 6H and 6g: major diameter of the screw at least 7.760, pitch diameter
    # of the nut at most 7.348 (ISO 965-2): pi x 8/1.25 x 7.760 x (0.625 + 0.57735 x (7.760 - 7.348)) = 134.6 mm2
    by_limits = math.pi * 8 / 1.25 * 7.760 * (1.25 / 2 + 0.57735 * (7.760 - 7.348))
    assert 17945 / 102 / by_limits < 1.5  # the safety covers the loosest thread of its class

"""Single worked examples from several textbooks; each test names its own.

Source: Hamrock, Fundamentals of Machine Elements, problem 19.14; Juvinall and Marshek, Fundamentals of Machine
    Component Design, sample problem on V-belts; Khurmi, examples 11.1, 11.4 and two V-belts in parallel; Chapman, a 10
    hp motor; a motor's data sheet; RMA practice; common practice for overhung load; bs-wiki.de, drive of a drilling
    machine by toothed belt (after Roloff/Matek, Maschinenelemente).
Compared: friction in the groove, belts needed, two stages, power at the slip limit, slip and torque of a motor,
    deflection force, overhung load; pulleys, centre distance, wrap and travel of a T5 drive.
Within: half of the last printed digit; 0.02 lb at Juvinall's centrifugal tension, 0.2 % at Khurmi's tensions, 0.01 % at
    the constants 9550, 5252 and 63025.
"""

from __future__ import annotations

from math import degrees, radians, sin

import pytest

from platekit.drive import DriveRequest, Pulley, loads, work_out
from platekit.drive.motors import InductionMotor, synchronous_speed_rpm
from platekit.drive.open_belt import centre_distance, wrap_angle
from platekit.drive.toothed import pitch_diameter
from platekit.tables import belts

INCH = 25.4
POUND = 4.4482216152605
HORSEPOWER = 745.699872


def test_juvinall_example_19_1_how_many_belts() -> None:
    """Juvinall and Marshek, Fundamentals of Machine Component Design, sample problem on V-belts.

    25 hp at 1750 rpm, 3.7 in pulley, wrap 165 degrees, half angle 18 degrees, friction 0.20, 0.012
    lb/in, at most 150 lb. Printed: centrifugal tension 3.57 lb, 6.35 hp per belt, 3.94 belts.
    """
    speed = loads.belt_speed_m_s(3.7 * INCH, 1750)
    mass = 0.012 * 0.45359237 / 0.0254
    fling = loads.centrifugal_tension(mass, speed)
    assert fling / POUND == pytest.approx(3.57, abs=0.02)
    ratio = loads.tension_ratio(0.20 / sin(radians(36 / 2)), radians(165))
    slack = (150 * POUND - fling) / ratio + fling
    power = (150 * POUND - slack) * speed
    assert power / HORSEPOWER == pytest.approx(6.35, abs=0.01)
    assert 25 * HORSEPOWER / power == pytest.approx(3.94, abs=0.01)


def test_khurmi_example_11_1_two_stages() -> None:
    """Khurmi and Gupta, Theory of Machines, example 11.1, without slip: 1500 rpm.

    An engine at 150 rpm drives a line shaft by 750 on 450 mm, and that a dynamo by 900 on 150 mm.
    """
    second = DriveRequest(
        motor=None,
        driver=Pulley(pitch_diameter=900),
        driven=Pulley(pitch_diameter=150),
        centres=2000,
        before=450 / 750,
    )
    assert 150 / work_out(second).ratio == pytest.approx(1500)


def test_khurmi_example_11_4_power_at_the_slip_limit() -> None:
    """600 mm pulley, 200 rpm, friction 0.25, lap 160 degrees, at most 2500 N: 7.89 kW (T2 = 1244 N)."""
    speed = loads.belt_speed_m_s(600, 200)
    ratio = loads.tension_ratio(0.25, radians(160))
    slack = 2500 / ratio
    assert slack == pytest.approx(1244, abs=1)
    assert (2500 - slack) * speed / 1000 == pytest.approx(7.89, abs=0.005)


def test_khurmi_two_v_belts_in_parallel() -> None:
    """Khurmi and Gupta, Theory of Machines, chapter 11: two V-belts of 750 mm2, groove 30 degrees, friction 0.12.

    Density 1.2 Mg/m3, at most 7 MPa, equal 300 mm pulleys at 1500 rpm. Printed: v = 23.56 m/s, Tc = 500
    N, T2 = 1105 N, 171.75 kW (four-figure logarithms).
    """
    speed = loads.belt_speed_m_s(300, 1500)
    fling = loads.centrifugal_tension(750e-6 * 1200, speed)
    ratio = loads.tension_ratio(0.12 / sin(radians(30 / 2)), radians(180))
    tight = 7 * 750 - fling
    assert speed == pytest.approx(23.56, abs=0.005)
    assert fling == pytest.approx(500, abs=0.5)
    assert tight / ratio == pytest.approx(1105, rel=0.002)
    assert 2 * (tight - tight / ratio) * speed / 1000 == pytest.approx(171.75, rel=0.001)


def test_chapman_example_of_a_10_hp_motor() -> None:
    """Chapman, Electric Machinery Fundamentals: 10 hp, four poles, 60 Hz, 5 % slip.

    Printed: 1800 rpm field, 1710 rpm rotor, 41.7 N m.
    """
    motor = InductionMotor(power_w=10 * 746, speed_rpm=1710, frequency_hz=60)
    assert synchronous_speed_rpm(60, 4) == 1800
    assert (motor.poles, motor.synchronous_rpm) == (4, 1800)
    assert motor.slip == pytest.approx(0.05)
    assert motor.torque_nm == pytest.approx(41.7, abs=0.05)


def test_motor_data_sheet() -> None:
    """22 kW at 1465 rpm: 143.4 N m, as printed on the motor's data sheet."""
    assert loads.torque_nm(22_000, 1465) == pytest.approx(143.4, abs=0.05)


@pytest.mark.parametrize("speed_rpm", [50.0, 1440.0, 3600.0])
def test_the_three_torque_numbers(speed_rpm: float) -> None:
    """Textbook constants: 9550 kW / rpm in N m, 5252 hp / rpm in lbf ft, 63025 hp / rpm in lbf in."""
    assert loads.torque_nm(1000, speed_rpm) * speed_rpm == pytest.approx(9550, rel=1e-4)
    pound_feet = loads.torque_nm(HORSEPOWER, speed_rpm) / (POUND * 0.3048)
    assert pound_feet * speed_rpm == pytest.approx(5252, rel=1e-4)
    assert pound_feet * 12 * speed_rpm == pytest.approx(63025, rel=1e-4)


def test_rma_deflection() -> None:
    """RMA practice: 1/64 in for each inch of span, which is 1.5625 mm for each 100 mm.

    The force is a sixteenth.
    """
    assert loads.sag(100) == pytest.approx(1.5625)
    assert loads.sag_force(800, 100, loads.sag(100)) == pytest.approx(50)


def test_overhung_load_number() -> None:
    """Common practice: 19.1e6 kW K / (rpm x pitch diameter in mm), K = 1.5."""
    found = loads.overhung_load(power=750, speed_rpm=1740, pitch_diameter=71, factor=1.5)
    assert found == pytest.approx(19.1e6 * 0.75 * 1.5 / (1740 * 71), rel=1e-4)


def test_a_t5_belt_drives_a_drilling_machine() -> None:
    """bs-wiki.de after Roloff/Matek: 38 teeth of T5 at 3000 rpm drive 1000 rpm, belt of 990 mm.

    Printed: 60.48 and 181.44 mm, centre distance 299 mm, wrap 156 degrees, 4.95 mm of travel to tension it.
    """
    small, large = pitch_diameter(38, 5), pitch_diameter(3 * 38, 5)
    assert (small, large) == (pytest.approx(60.48, abs=0.005), pytest.approx(181.44, abs=0.005))
    centres = centre_distance(990, small, large)
    assert centres == pytest.approx(299, abs=0.5)
    assert degrees(wrap_angle(centres, small, large)) == pytest.approx(156, abs=1)
    assert belts.allowance("T5", 990).tension == pytest.approx(4.95)

from __future__ import annotations

import json
import subprocess
import sys
from math import cos, degrees, hypot, pi, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from platekit.drive import Belt, DriveRequest, DriveResult, DriveTarget, Motor, Pulley, Range, work_out
from platekit.drive.route import Wheel, route
from platekit.drive.working import settings
from platekit.errors import DriveError, LookupFailed
from platekit.tables import belts

MIXER = DriveRequest(
    motor=Motor(power_w=750, speed_rpm=1740, frequency_hz=60, max_speed_rpm=3600),
    driver=Pulley(pitch_diameter=71),
    driven=Pulley(pitch_diameter=250),
    belt=Belt("A", 1000, "pitch"),
    setting=Range(15, 90),
    wanted=DriveTarget(Range(120, 700)),
)
FEEDER = DriveRequest(
    motor=Motor(power_w=370, speed_rpm=1420, frequency_hz=50),
    driver=Pulley(teeth=24, material="steel"),
    driven=Pulley(teeth=72, material="steel"),
    belt=Belt("5M", 700, width=15),
)


def mixer(**changes: object) -> DriveResult:
    return work_out(replace(MIXER, **changes))


def test_the_mixer_by_hand() -> None:
    found = mixer()
    assert found.centre_distance == pytest.approx(230.3, abs=0.05)
    assert found.usual_centre_distance == pytest.approx(230.5, abs=0.05)
    assert found.ratio == pytest.approx(250 / 71)
    # wrap = 2 acos((250 - 71) / (2 x 230.264)), span = sqrt(230.264^2 - 89.5^2)
    assert degrees(found.wrap_driver) == pytest.approx(134.25, abs=0.01)
    assert degrees(found.wrap_driver + found.wrap_driven) == pytest.approx(360)
    assert found.span == pytest.approx(212.16, abs=0.01)
    # pi x 0.071 m x 29 rev/s
    assert found.belt_speed_m_s == pytest.approx(6.4685, abs=1e-4)


def test_speed_torque_and_power_over_the_range() -> None:
    found = mixer(efficiency=1.0)
    by_frequency = {point.frequency_hz: point for point in found.points if point.frequency_hz is not None}
    assert len(by_frequency) == len(found.points)
    assert list(by_frequency) == sorted(by_frequency)
    base = by_frequency[60.0]
    assert base.speed_rpm == pytest.approx(1740 * 71 / 250)
    assert base.power_w == pytest.approx(750)
    assert by_frequency[15.0].torque_nm == pytest.approx(base.torque_nm)
    assert by_frequency[90.0].torque_nm == pytest.approx(base.torque_nm / 1.5)
    for point in found.points:
        assert point.torque_nm * point.speed_rpm == pytest.approx(9549.3 * point.power_w / 1000, rel=1e-5)


def test_the_wanted_speeds_are_among_the_points() -> None:
    speeds = [point.speed_rpm for point in mixer().points]
    assert any(speed == pytest.approx(120) for speed in speeds)
    assert any(speed == pytest.approx(700) for speed in speeds)


def test_losses_are_what_the_belt_family_loses() -> None:
    assert mixer().points[0].power_w == pytest.approx(0.95 * mixer(efficiency=1.0).points[0].power_w)


def test_the_wanted_speeds_are_reached() -> None:
    reach = mixer().reach
    assert reach is not None
    assert reach.reached
    assert reach.lowest_rpm < 120
    assert reach.highest_rpm > 700


def test_a_ratio_that_would_do_really_does() -> None:
    slow = mixer(wanted=DriveTarget(Range(60, 390))).reach
    assert slow is not None
    assert not slow.reached
    assert slow.ratio_needed is not None
    again = work_out(
        replace(
            MIXER,
            driven=Pulley(pitch_diameter=71 * slow.ratio_needed),
            belt=Belt("A", 1800),
            wanted=DriveTarget(Range(60, 390)),
        )
    )
    assert again.reach is not None
    assert again.reach.reached


def test_a_range_wider_than_the_inverter_has_no_ratio() -> None:
    reach = mixer(wanted=DriveTarget(Range(50, 700))).reach
    assert reach is not None
    assert not reach.reached
    assert reach.ratio_needed is None
    assert reach.range_needed > reach.range_given


def test_torque_left_at_the_wanted_speeds() -> None:
    reach = mixer(wanted=DriveTarget(Range(120, 700), torque_nm=9)).reach
    assert reach is not None
    assert reach.torque_share is not None
    # at 700 rpm the motor still holds its power: 0.95 x 750 W
    assert reach.torque_share == pytest.approx(0.95 * 9549.3 * 0.75 / 700 / 9, rel=1e-5)


def test_travel_is_part_of_it() -> None:
    found = mixer()
    assert found.install is not None
    assert found.tension is not None
    assert found.tension > found.install > 15
    askew = mixer(off_line=0.3)
    assert askew.install is not None
    assert askew.install > found.install


def test_forces_hold_the_design_power() -> None:
    forces = mixer().forces
    assert forces is not None
    assert forces.slip_margin == pytest.approx(1.2)
    # 0.75 kW at 6.4685 m/s
    assert forces.pull == pytest.approx(750 / 6.4685, rel=1e-4)
    assert forces.running.pull == pytest.approx(forces.pull)
    assert forces.overhung == pytest.approx(1.5 * forces.pull)
    assert forces.overhung_limit is not None
    assert forces.driver_at_rest.size > forces.pull
    assert forces.driver_new.size == pytest.approx(1.4 * forces.driver_at_rest.size)
    assert forces.sag == pytest.approx(mixer().span / 64)
    assert forces.sag_force == pytest.approx(forces.static_tension / 16)
    assert forces.design_power_w == pytest.approx(900)


def test_two_belts_share_the_work() -> None:
    one, two = mixer().forces, mixer(belt=Belt("A", 1000, count=2)).forces
    assert one is not None
    assert two is not None
    assert two.sag_force == pytest.approx(one.sag_force / 2, rel=0.05)
    assert two.rating.power_w == pytest.approx(2 * (one.rating.power_w or 0))


@given(st.floats(1.0, 2.0), st.floats(0.05, 0.5))
def test_more_service_factor_more_tension(factor: float, more: float) -> None:
    one, other = mixer(service_factor=factor).forces, mixer(service_factor=factor + more).forces
    assert one is not None
    assert other is not None
    assert other.static_tension > one.static_tension


def test_a_trade_size_is_turned_into_its_pitch_length() -> None:
    found = mixer(belt=Belt.of_trade_size("A38"))
    assert found.belt_length == pytest.approx(39.3 * 25.4)
    inside = mixer(belt=Belt("A", 38 * 25.4, "inside"))
    assert inside.belt_length == pytest.approx(found.belt_length)
    assert any("965.2 mm inside" in note for note in inside.notes)


def test_the_toothed_feeder() -> None:
    found = work_out(FEEDER)
    assert found.ratio == 3
    assert found.driver_pitch == pytest.approx(24 * 5 / pi)
    assert found.belt is not None
    assert found.belt.teeth == 140
    assert found.teeth_in_mesh == int(24 * found.wrap_driver / (2 * pi))
    assert found.forces is not None
    assert found.forces.rating.text == f"15 mm wide, {found.teeth_in_mesh} teeth in mesh"
    assert found.forces.rating.power_w is not None
    assert not any("look up" in note for note in found.notes)


def test_a_toothed_belt_with_a_published_rating() -> None:
    found = work_out(replace(FEEDER, belt=Belt.of_trade_size("540H300"), driver=Pulley(teeth=18)))
    assert found.forces is not None
    # ISO 5295 by hand: v = 18 x 12.7 / 60 x 1420 / 1000 m/s, (2100.85 - 0.448 v^2) v
    v = 18 * 12.7 / 1000 * 1420 / 60
    assert found.forces.rating.power_w == pytest.approx((2100.85 - 0.448 * v**2) * v, rel=1e-6)


def test_a_belt_that_is_not_stocked_is_told_with_the_nearest() -> None:
    found = mixer()
    assert found.stock[0].label == "A38"
    assert any("nearest is A38 with 998.2 mm" in note for note in found.notes)
    assert mixer(belt=Belt.of_trade_size("A38")).notes == ()


def test_rims_stand_proud_of_v_belts_and_behind_teeth() -> None:
    vee, teeth = mixer().rims, work_out(FEEDER).rims
    assert vee is not None
    assert teeth is not None
    assert vee.driver_m_s > vee.driven_m_s > vee.belt_m_s
    assert teeth.driver_m_s < teeth.belt_m_s


def test_placed_shafts_give_the_belt() -> None:
    found = mixer(belt=Belt("A"), centres=230.0)
    assert found.belt is None
    assert found.belt_length == pytest.approx(999.5, abs=0.1)
    assert found.stock[0].label == "A38"
    assert any("bought belt" in note for note in found.notes)


def test_placed_shafts_and_a_belt_are_both_told() -> None:
    found = mixer(centres=228.0)
    assert (found.placed_centres, found.centre_distance) == (228.0, pytest.approx(230.26, abs=0.01))


def test_without_a_section_there_is_geometry_only() -> None:
    found = mixer(belt=None, centres=300.0)
    assert found.forces is None
    assert found.travel is None
    assert found.install is None
    assert found.points[0].torque_nm > 0
    assert found.rims is not None
    assert found.rims.belt_limit_m_s is None


def test_without_a_motor_there_is_no_speed() -> None:
    found = mixer(motor=None)
    assert found.points == ()
    assert found.belt_speed_m_s is None
    assert found.forces is None
    assert found.reach is None
    assert found.centre_distance == pytest.approx(230.3, abs=0.05)


def test_the_second_stage_on_a_jackshaft() -> None:
    found = mixer(before=2.0, efficiency=1.0)
    plain = mixer(efficiency=1.0)
    assert found.ratio == pytest.approx(2 * plain.ratio)
    assert found.points[-1].speed_rpm == pytest.approx(plain.points[-1].speed_rpm / 2)
    assert found.points[-1].torque_nm == pytest.approx(plain.points[-1].torque_nm * 2)
    assert found.belt_speed_m_s == pytest.approx((plain.belt_speed_m_s or 0) / 2)
    assert found.forces is not None
    assert found.forces.overhung_limit is None


def test_top_speeds_against_their_limits() -> None:
    rims = mixer(wanted=DriveTarget(Range(120, 700), tool_diameter=300, tool_top_rpm=900)).rims
    assert rims is not None
    assert rims.motor_rpm == pytest.approx(2610)
    assert rims.motor_limit_rpm == 3600
    assert rims.driver_limit_m_s == 33
    assert rims.belt_limit_m_s == 30
    assert rims.tool_limit_rpm == 900
    assert rims.tool_m_s == pytest.approx(pi * 0.3 * 2610 * 71 / 250 / 60)


BRUSHED = Motor(kind="universal", loaded=(9000, 0.6), no_load=(20000, 0.1), max_speed_rpm=25000)


def test_a_universal_motor_over_its_voltage() -> None:
    found = mixer(motor=BRUSHED, setting=Range(0.3, 1.0), wanted=DriveTarget())
    assert found.points[-1].setting == 1
    assert found.points[-1].motor_rpm == pytest.approx(9000)
    assert all(point.frequency_hz is None for point in found.points)
    speeds = [point.speed_rpm for point in found.points]
    assert speeds == sorted(speeds)
    assert found.belt_speed_m_s == pytest.approx(pi * 0.071 * 150)


def test_a_brushed_motor_without_its_curve() -> None:
    with pytest.raises(DriveError, match="two points"):
        mixer(motor=Motor(kind="dc"))


def test_an_idler_on_the_back_shortens_the_centre_distance() -> None:
    idler = Wheel(115, 100, 40, inside=False)
    found = mixer(idlers=(idler,))
    assert found.centre_distance < mixer().centre_distance
    assert found.wrap_driver > mixer().wrap_driver
    driver = Wheel(found.centre_distance, 0, 71)
    assert route([Wheel(0, 0, 250), idler, driver]).length == pytest.approx(1000)


@given(st.floats(-pi, pi))
def test_an_idler_drive_turned_as_a_whole_is_the_same(line: float) -> None:
    straight = mixer(idlers=(Wheel(115, 100, 40, inside=False),))
    x, y = 115 * cos(line) - 100 * sin(line), 115 * sin(line) + 100 * cos(line)
    turned = mixer(idlers=(Wheel(x, y, 40, inside=False),), line=line)
    assert turned.centre_distance == pytest.approx(straight.centre_distance, abs=1e-6)


def test_an_idler_that_hangs_free_is_refused() -> None:
    with pytest.raises(DriveError, match="does not touch"):
        mixer(idlers=(Wheel(115, 400, 40, inside=False),))


def test_the_keys_for_other_programs() -> None:
    figures = json.loads(json.dumps(mixer().figures()))
    places = "centre_distance_mm belt_length_mm wrap_driver_deg wrap_driven_deg span_mm"
    rest = "belt_speed_m_s install_mm tension_mm"
    assert set(places.split()) | set(rest.split()) <= set(figures)
    assert {"frequency_hz", "speed_rpm", "torque_nm", "power_kw"} <= set(figures["points"][0])
    assert figures["wrap_driver_deg"] == pytest.approx(134.25, abs=0.01)
    assert json.loads(json.dumps(mixer(belt=None, centres=300.0).figures()))["install_mm"] is None


def test_pulleys_that_run_into_each_other() -> None:
    with pytest.raises(DriveError, match=r"run into each other; use a belt of at least 8\d\d mm"):
        mixer(belt=Belt("A", 800))


def test_a_belt_too_short_to_reach_round() -> None:
    with pytest.raises(DriveError, match="does not reach round"):
        mixer(belt=Belt("A", 600))


def test_neither_belt_nor_places() -> None:
    with pytest.raises(DriveError, match="length or the places"):
        mixer(belt=Belt("A"))


@pytest.mark.parametrize(
    ("pulley", "words"),
    [
        (Pulley(), "exactly one"),
        (Pulley(pitch_diameter=71, teeth=20), "exactly one"),
        (Pulley(teeth=20), "no teeth"),
    ],
)
def test_pulleys_that_are_not_told_well(pulley: Pulley, words: str) -> None:
    with pytest.raises(DriveError, match=words):
        mixer(driver=pulley)


def test_a_toothed_pulley_of_part_of_a_tooth() -> None:
    with pytest.raises(DriveError, match="whole number of 5M teeth"):
        work_out(replace(FEEDER, driver=Pulley(pitch_diameter=39)))


def test_an_outside_diameter_is_turned_into_the_pitch_diameter() -> None:
    outside = belts.stated_diameter("A", 71, "outside")
    assert mixer(driver=Pulley(outside_diameter=outside)).centre_distance == pytest.approx(mixer().centre_distance)
    with pytest.raises(DriveError, match="needs the belt's section"):
        mixer(belt=None, centres=300.0, driver=Pulley(outside_diameter=76))


def test_a_section_nobody_knows() -> None:
    with pytest.raises(LookupFailed, match="no belt section"):
        mixer(belt=Belt("Q", 1000))


def test_a_range_the_wrong_way_round() -> None:
    with pytest.raises(DriveError, match="lower figure first"):
        Range(90, 15)


def test_settings_hold_both_ends_the_corners_and_round_steps() -> None:
    assert settings(Range(15, 90), (60, 90, 200)) == (15, 20, 30, 40, 50, 60, 70, 80, 90)
    assert settings(Range(60, 60), (60, 90)) == (60,)
    assert 47.5 in settings(Range(20, 120), (47.5,))


@given(st.floats(1, 200), st.floats(0, 400))
def test_settings_rise_and_are_few(low: float, more: float) -> None:
    found = settings(Range(low, low + more))
    assert list(found) == sorted(set(found))
    assert found[0] == low
    assert found[-1] == low + more
    assert len(found) <= 26


def test_importing_the_drive_loads_no_slow_library() -> None:
    slow = ("scipy", "cadquery", "shapely", "numpy")
    script = f"import sys, platekit.drive; print([n for n in {slow} if n in sys.modules])"
    found = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert found.stdout.strip() == "[]"


def test_hypot_of_the_shaft_pull_is_its_size() -> None:
    forces = mixer().forces
    assert forces is not None
    pull = forces.driver_running
    assert pull.size == pytest.approx(hypot(pull.along, pull.across))

from __future__ import annotations

from math import acos, atan2, cos, hypot, pi, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platekit.drive.open_belt import belt_length
from platekit.drive.take_up import Travel, along_slot, swing, swing_range, travel
from platekit.errors import DriveError
from platekit.tables import belts
from platekit.tables.values import Source

NO_SOURCE = Source("a test", "common practice")


def mixer() -> Travel:
    return travel("A", 1000, 71, 250)


def test_the_mixer_in_figures() -> None:
    # 1.5 % and 3 % of 1000 mm, and about half of 0.6 in either way
    found = mixer()
    assert found.install == pytest.approx(15 + 15.24 / 2, rel=0.1)
    assert found.tension == pytest.approx(30 + 15.24 / 2, rel=0.1)


def test_both_ends_are_the_shortest_and_the_longest_belt() -> None:
    found, true = mixer(), belts.length_tolerance("A", 1000)
    room = belts.allowance("A", 1000)
    assert belt_length(found.shortest + room.install, 71, 250) == pytest.approx(1000 - true.minus)
    assert belt_length(found.longest - room.tension, 71, 250) == pytest.approx(1000 + true.plus)


def test_a_perfect_belt_needs_the_allowance_alone() -> None:
    found = travel("A", 1000, 71, 250, belts.LengthTolerance(0, 0, NO_SOURCE), belts.Allowance(12, 25, NO_SOURCE))
    assert (found.install, found.tension) == pytest.approx((12, 25))
    assert found.from_length == pytest.approx((0, 0))


@pytest.mark.parametrize("name", belts.section_names())
def test_every_section_has_travel_both_ways(name: str) -> None:
    small = belts.smallest_pulley(name).pitch_diameter * 1.2
    found = travel(name, 12 * small, small, 2 * small)
    assert 0 < found.install < found.nominal
    assert found.tension > 0


def test_a_slot_along_the_line_of_centres_needs_no_more() -> None:
    found = along_slot(mixer(), 0)
    assert (found.install, found.tension) == pytest.approx((mixer().install, mixer().tension))
    assert found.sideways == pytest.approx((0, 0))
    assert found.share == 1


@given(st.floats(-0.6, 0.6))
def test_a_slot_off_the_line_reaches_the_same_distances(off: float) -> None:
    needed = mixer()
    found = along_slot(needed, off)
    for shift, wanted, turn in (
        (-found.install, needed.shortest, found.turn[0]),
        (found.tension, needed.longest, found.turn[1]),
    ):
        x, y = needed.nominal + shift * cos(off), shift * sin(off)
        assert hypot(x, y) == pytest.approx(wanted)
        assert atan2(y, x) == pytest.approx(turn, abs=1e-12)
    assert found.sideways[1] == pytest.approx(found.tension * sin(off))


@given(st.floats(0.02, 0.5), st.floats(0.02, 0.3))
def test_the_farther_off_the_longer_the_slot(off: float, more: float) -> None:
    assert along_slot(mixer(), off + more).install > along_slot(mixer(), off).install
    assert along_slot(mixer(), off + more).share < along_slot(mixer(), off).share


@given(st.floats(0, 0.5))
def test_little_travel_counts_by_its_cosine(off: float) -> None:
    little = Travel(0.01, 0.01, 300, 299.99, 300.01, (0, 0))
    assert along_slot(little, off).tension == pytest.approx(0.01 / cos(off), rel=1e-3)


def test_a_slot_across_never_tensions() -> None:
    with pytest.raises(DriveError, match="right angles"):
        along_slot(mixer(), pi / 2)


def test_a_slot_too_far_off_never_lets_the_belt_on() -> None:
    with pytest.raises(DriveError, match="turn the slot towards the line"):
        along_slot(mixer(), 1.3)


@given(st.floats(60, 400), st.floats(60, 400), st.floats(0.2, 2.8))
def test_a_swinging_motor_is_where_the_cosine_law_says(arm: float, base: float, angle: float) -> None:
    centres = hypot(base - arm * cos(angle), arm * sin(angle))
    assert swing(centres, arm, base) == pytest.approx(angle, abs=1e-6)


def test_swinging_to_both_ends() -> None:
    needed = mixer()
    install, tension = swing_range(needed, 180, 240)
    nominal = acos((180**2 + 240**2 - needed.nominal**2) / (2 * 180 * 240))
    assert install > 0
    assert tension > 0
    for angle, wanted in ((nominal - install, needed.shortest), (nominal + tension, needed.longest)):
        assert hypot(240 - 180 * cos(angle), 180 * sin(angle)) == pytest.approx(wanted)


def test_an_arm_that_does_not_reach() -> None:
    with pytest.raises(DriveError, match=r"only 100\.0 to 300\.0 mm"):
        swing(350, 100, 200)


@pytest.mark.parametrize(("arm", "base"), [(0, 300), (200, 0), (0, 0)])
def test_a_pivot_in_the_middle_of_a_pulley_tensions_nothing(arm: float, base: float) -> None:
    with pytest.raises(DriveError, match="middle of a pulley"):
        swing(250, arm, base)

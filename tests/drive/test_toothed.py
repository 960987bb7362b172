from __future__ import annotations

from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platekit.drive.toothed import pitch_diameter, teeth_in_mesh
from platekit.errors import DriveError


@given(st.integers(8, 240), st.sampled_from([2.032, 3, 5, 5.08, 8, 9.525, 10, 12.7, 14]))
def test_the_circumference_at_the_pitch_line_is_the_teeth(teeth: int, pitch: float) -> None:
    assert pitch_diameter(teeth, pitch) * pi == pytest.approx(teeth * pitch, rel=1e-14)


def test_half_a_turn_holds_half_the_teeth_and_no_part_of_one() -> None:
    assert teeth_in_mesh(20, pi) == 10
    assert teeth_in_mesh(21, pi) == 10
    assert teeth_in_mesh(20, 2.5) == 7


@pytest.mark.parametrize(("teeth", "pitch"), [(0, 5), (20, 0)])
def test_a_pulley_without_teeth_does_not_exist(teeth: int, pitch: float) -> None:
    with pytest.raises(DriveError, match="does not exist"):
        pitch_diameter(teeth, pitch)

"""Which way a belt pulls at the shaft of a part, for shafts square to the plate and along it, by hand."""

from __future__ import annotations

import math

import pytest

import platekit
from platekit.strength.question import question_of
from tests.checks.lying import SOUND


def test_a_belt_over_shafts_along_the_plate_pulls_up_or_down_as_well() -> None:
    layout = platekit.lay_out(platekit.loads(SOUND, "line-shaft.yaml"))
    motor = next(part for part in question_of(layout).parts if part.name == "motor")
    tight = motor.positions[-1]
    (pull,) = tight.pulls
    # from the motor's axis, 90 mm over the face, to the line shaft's at x = -200, 135 mm over it; frame 90S: the rim of
    # 20 mm ends with the shaft, in line with the other's middle at y = 110
    placed = layout.belts[0].result.placed_centres
    assert placed is not None
    over = math.sqrt(placed**2 - 45**2) + tight.travel
    apart = math.hypot(over, 45)
    assert pull.towards == pytest.approx((-over / apart, 0, 45 / apart))
    assert pull.at == pytest.approx((-200 + over, 110, 90 + 7.5))
    assert pull.axis == pytest.approx((0, -1, 0))
    # a right-handed frame: aside is towards turned a quarter about the axis
    (ax, ay, az), (tx, ty, tz) = pull.axis, pull.towards
    assert pull.aside == pytest.approx((ay * tz - az * ty, az * tx - ax * tz, ax * ty - ay * tx))

"""How much power a belt may carry, where a published formula is at hand.

Else the answer is that it must be looked up.
"""

from __future__ import annotations

from math import degrees, pi
from typing import Any

from msgspec import Struct

from platekit.drive.limits import LEAST_TEETH_IN_MESH
from platekit.drive.loads import belt_speed_m_s
from platekit.drive.toothed import teeth_in_mesh
from platekit.tables import belts
from platekit.tables.belts.pulleys import HORSEPOWER_W
from platekit.tables.values import Source
from platekit.units import INCH

LOOK_UP = "rating: look up"

FEET_A_MINUTE = 0.3048 / 60
"""One foot a minute in m/s."""

WRAP_FACTOR = (0.143543, 0.007468, -0.000015052)
"""Constant, linear and square term of the wrap correction of V-belts, in degrees from 90 to 180.

Published: Shigley, Mechanical Engineering Design, table 17-13, note.
"""

SPEED_EXPONENT = 0.91
"""Exponent of belt speed in the V-belt rating that Shigley's table 17-12 follows."""

WIDTH_EXPONENT = 1.14
"""Exponent of belt width in the toothed-belt rating. Published: ISO 5295."""

TOOTH_SHARE = 0.2
"""Share of the rating lost for each tooth fewer than six in mesh. Published: ISO 5295."""


class Rating(Struct, frozen=True):
    """What the belt may carry, in W (None when it must be looked up), with how it was found, and the source."""

    power_w: float | None
    text: str
    source: Source | None = None


def v_horsepower(law: belts.VRating, speed: Any, diameter: Any) -> Any:
    """The formula of the V-belt rating, in hp: speed in 1000 ft/min, diameter in inches.

    Numbers or arrays of them.
    """
    return law.x * speed**SPEED_EXPONENT - law.y * speed / diameter - law.z * speed**3


def wrap_correction(angle_deg: Any) -> Any:
    """The printed fit of the wrap correction, 90 to 180 degrees; numbers or arrays of them."""
    constant, linear, square = WRAP_FACTOR
    return constant + linear * angle_deg + square * angle_deg**2


def v_belt_power_w(section: str, small: float, speed_rpm: float) -> float | None:
    """The rating of one classical V-belt at half a turn of wrap, in W; None for a section without constants.

    `small` is the small pulley's pitch diameter in mm. Never below zero. Source: Shigley, table 17-12,
    by the formula that gives it.
    """
    law = belts.v_rating(section)
    if law is None:
        return None
    speed = belt_speed_m_s(small, speed_rpm) / FEET_A_MINUTE / 1000
    diameter = min(small / INCH, law.largest)
    horsepower: float = v_horsepower(law, speed, diameter)
    return max(0.0, horsepower) * HORSEPOWER_W


def wrap_factor(wrap: float) -> float:
    """What less than half a turn of wrap (radians) takes off a V-belt's rating. Source: Shigley, table 17-13.

    The printed fit serves 90 to 180 degrees; outside the end values are kept.
    """
    factor: float = wrap_correction(min(max(degrees(wrap), 90.0), 180.0))
    return min(1.0, factor)


def toothed_power_w(section: str, teeth: int, speed_rpm: float, wrap: float, width: float) -> float | None:
    """The rating of a toothed belt, in W; None for a section without constants.

    `teeth`, `speed_rpm` and `wrap` of the small pulley, `width` of the belt in mm. Source: ISO 5295.
    """
    law = belts.toothed_rating(section)
    if law is None:
        return None
    speed = belt_speed_m_s(teeth * belts.section(section).pitch / pi, speed_rpm)
    missing = max(0, LEAST_TEETH_IN_MESH - teeth_in_mesh(teeth, wrap))
    mesh = max(0.0, 1 - TOOTH_SHARE * missing)
    wide: float = (width / law.width) ** WIDTH_EXPONENT
    pull = mesh * wide * law.tension - width / law.width * law.mass_kg_m * speed**2
    return max(0.0, pull * speed)


def v_belt_rating(
    section: str, small: float, speed_rpm: float, wrap: float, pitch_length: float, count: int = 1
) -> Rating:
    """What `count` V-belts may carry with this wrap and pitch length; lengths in mm, wrap in radians."""
    basic = v_belt_power_w(section, small, speed_rpm)
    law = belts.v_rating(section)
    if basic is None or law is None:
        return Rating(None, LOOK_UP)
    length = belts.v_length_factor(section, belts.stated_length(section, pitch_length, "inside"))
    arc = wrap_factor(wrap)
    text = f"{count} x {basic / 1000:.3f} kW x {arc:.3f} for wrap x {length:.2f} for length"
    return Rating(count * basic * arc * length, text, law.source)


def toothed_rating(section: str, teeth: int, speed_rpm: float, wrap: float, width: float) -> Rating:
    """What a toothed belt of this width in mm may carry; figures of the small pulley."""
    law = belts.toothed_rating(section)
    power = toothed_power_w(section, teeth, speed_rpm, wrap, width) if width > 0 else None
    if power is None or law is None:
        return Rating(None, LOOK_UP)
    held = teeth_in_mesh(teeth, wrap)
    return Rating(power, f"{width:g} mm wide, {held} teeth in mesh", law.source)

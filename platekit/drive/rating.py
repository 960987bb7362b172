"""How much power a belt may carry, by makers' tables and published formulas; else it must be looked up.

Of a classical section there are two ratings. Makers' tables tell what belts of today carry, and the drive is
judged by these; the older formula of belts of standard quality (Shigley) is kept beside as the cautious one,
for a belt that nobody knows the make of.
"""

from __future__ import annotations

from math import degrees, inf, pi
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
    """What the belt may carry, in W (None when it must be looked up), with how it was found, and the source.

    `cautious` is what a belt of unknown make may be counted on for, where that is another figure.
    """

    power_w: float | None
    text: str
    source: Source | None = None
    cautious: Rating | None = None

    @property
    def cautious_kw(self) -> float | None:
        """The cautious rating in kW, where there is one."""
        return None if self.cautious is None or self.cautious.power_w is None else self.cautious.power_w / 1000


def v_horsepower(law: belts.VRating, speed: Any, diameter: Any) -> Any:
    """The formula of the V-belt rating, in hp: speed in 1000 ft/min, diameter in inches.

    Numbers or arrays of them.
    """
    # three terms: what the cords carry at a speed, less what bending and what flinging take
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
    # beyond the largest pulley of the table a larger one carries no more
    diameter = min(small / INCH, law.largest)
    horsepower: float = v_horsepower(law, speed, diameter)
    return max(0.0, horsepower) * HORSEPOWER_W


def basic_power_w(section: str, small: float, speed_rpm: float) -> float | None:
    """What one V-belt of today carries at half a turn of wrap, in W, by its maker's table, else by the formula.

    `small` is the small pulley's pitch diameter in mm. None where neither is at hand for such a pulley and speed.
    """
    table = belts.power_table(section)
    if table is None:
        return v_belt_power_w(section, small, speed_rpm)
    return table.power_w(small, speed_rpm)


def wrap_factor(wrap: float) -> float:
    """What less than half a turn of wrap (radians) takes off a V-belt's rating. Source: Shigley, table 17-13.

    The printed fit serves 90 to 180 degrees; outside the end values are kept.
    """
    factor: float = wrap_correction(min(max(degrees(wrap), 90.0), 180.0))
    return min(1.0, factor)


def toothed_power_w(section: str, teeth: int, speed_rpm: float, wrap: float, width: float) -> float | None:
    """The rating of a toothed belt, in W; None for a section without constants, or beyond the printed speeds.

    `teeth`, `speed_rpm` and `wrap` of the small pulley, `width` of the belt in mm. The cords by the formula of
    ISO 5295; where the teeth are of polyurethane, what they carry may be less, and the lesser one counts.
    """
    pulls = _toothed_pulls(section, teeth, speed_rpm, wrap, width)
    if pulls is None:
        return None
    speed = belt_speed_m_s(teeth * belts.section(section).pitch / pi, speed_rpm)
    return max(0.0, min(pulls) * speed)


def _toothed_pulls(section: str, teeth: int, speed_rpm: float, wrap: float, width: float) -> tuple[float, float] | None:
    """What the cords may pull and what the teeth in mesh may, in N; the teeth pull without limit where none is printed.

    None for a section without constants, or beyond the printed speeds.
    """
    law = belts.toothed_rating(section)
    if law is None:
        return None
    speed = belt_speed_m_s(teeth * belts.section(section).pitch / pi, speed_rpm)
    held = teeth_in_mesh(teeth, wrap)
    # fewer than six teeth in mesh carry less; the belt's own mass takes from what is left
    mesh = max(0.0, 1 - TOOTH_SHARE * max(0, LEAST_TEETH_IN_MESH - held))
    wide: float = (width / law.width) ** WIDTH_EXPONENT
    cords = mesh * wide * law.tension - width / law.width * law.mass_kg_m * speed**2
    tooth = belts.tooth_force(section)
    if tooth is None:
        return cords, inf
    force = tooth.force_n_mm(speed_rpm)
    return None if force is None else (cords, force * min(held, tooth.most) * width)


def v_belt_rating(
    section: str, small: float, speed_rpm: float, wrap: float, pitch_length: float, count: int = 1
) -> Rating:
    """What `count` V-belts may carry with this wrap and pitch length; lengths in mm, wrap in radians."""
    length = belts.v_length_factor(section, pitch_length)
    arc = wrap_factor(wrap)

    def corrected(basic: float, how: str, source: Source, cautious: Rating | None) -> Rating:
        text = f"{count} x {basic / 1000:.3f} kW{how} x {arc:.3f} for wrap x {length:.2f} for length"
        return Rating(count * basic * arc * length, text, source, cautious)

    # today's table is what the drive is judged by; the older formula is kept beside it for a belt of unknown make
    law, old = belts.v_rating(section), v_belt_power_w(section, small, speed_rpm)
    cautious = None if law is None or old is None else corrected(old, "", law.source, None)
    table = belts.power_table(section)
    today = None if table is None else table.power_w(small, speed_rpm)
    if table is None or today is None:
        return cautious or Rating(None, LOOK_UP)
    how = "" if table.read_in == belts.section(section).name else f" as {table.read_in}"
    return corrected(today, how, table.source, cautious)


def toothed_rating(section: str, teeth: int, speed_rpm: float, wrap: float, width: float) -> Rating:
    """What a toothed belt of this width in mm may carry; figures of the small pulley."""
    law, tooth = belts.toothed_rating(section), belts.tooth_force(section)
    pulls = _toothed_pulls(section, teeth, speed_rpm, wrap, width) if width > 0 else None
    if pulls is None or law is None:
        return Rating(None, LOOK_UP)
    cords, tooth_pull = pulls
    held = teeth_in_mesh(teeth, wrap)
    speed = belt_speed_m_s(teeth * belts.section(section).pitch / pi, speed_rpm)
    # What gives first is what is told, with the source of that figure.
    by_teeth = tooth is not None and tooth_pull < cords
    text = f"{width:g} mm wide, {held} teeth in mesh" + (", by its teeth" if by_teeth else "")
    source = tooth.source if tooth is not None and by_teeth else law.source
    return Rating(max(0.0, min(pulls) * speed), text, source)

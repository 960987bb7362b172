"""How far the motor must move to put the belt on, to tension it and to take up what it stretches.

The belt at hand may be shorter or longer than printed. The shafts must come together far enough to put
the shortest one on, and apart far enough to take up the longest one's stretch. A slot *off* the line of
centres counts only in part, and turns that line.
"""

from __future__ import annotations

from collections.abc import Callable
from math import acos, atan2, cos, pi, sin, sqrt

from msgspec import Struct

from platekit.drive.open_belt import centre_distance
from platekit.errors import DriveError
from platekit.tables import belts

LEAST_SHARE = 0.05
"""A slot of which less than this share counts is across the belt and does not tension it.

Common sense: 87 degrees.
"""


class Travel(Struct, frozen=True):
    """Travel along the line of centres, in mm, and the centre distances it leads to.

    `install` brings the shafts together from the nominal centre distance, `tension` apart.
    `from_length` is what the belt's length tolerance alone has in each.
    """

    install: float
    tension: float
    nominal: float
    shortest: float
    longest: float
    from_length: tuple[float, float]


class SlotTravel(Struct, frozen=True):
    """Travel along a slot that is `off` radians from the line of centres, in mm.

    `share` is how much of a small travel counts (the cosine). `sideways` is how far the shaft has gone
    across the nominal line of centres at the install end and at the tension end, `turn` by how much the
    line of centres has turned there.
    """

    install: float
    tension: float
    off: float
    share: float
    sideways: tuple[float, float]
    turn: tuple[float, float]


def travel(
    section: str,
    pitch_length: float,
    small: float,
    large: float,
    tolerance: belts.LengthTolerance | None = None,
    allowance: belts.Allowance | None = None,
) -> Travel:
    """The travel that a belt needs along the line of centres; lengths and pitch diameters in mm.

    `tolerance` and `allowance` default to the section's own. Source of the allowances: their rows; the
    sum: plane geometry.
    """
    # Both ends take the worst belt: the shortest one must still go over the rims (allowance `install` below its own
    # distance), the longest must still come taut after its stretch (allowance `tension` beyond it).
    true = tolerance or belts.length_tolerance(section, pitch_length)
    room = allowance or belts.allowance(section, pitch_length)
    nominal = centre_distance(pitch_length, small, large)
    short = centre_distance(pitch_length - true.minus, small, large)
    long = centre_distance(pitch_length + true.plus, small, large)
    shortest, longest = short - room.install, long + room.tension
    return Travel(nominal - shortest, longest - nominal, nominal, shortest, longest, (nominal - short, long - nominal))


class LengthRange(Struct, frozen=True):
    """How long the way round the pulleys must be able to get, in mm: to put the belt on, and to take up its stretch.

    `short` and `long` are the belt's own limits, without either.
    """

    shortest: float
    short: float
    long: float
    longest: float


PER_CENTRE = 2.0
"""A belt grows by up to so many mm per mm of centre distance: two runs, in line (plane geometry)."""


def length_range(section: str, pitch_length: float) -> LengthRange:
    """The lengths of its way round that a belt with idlers needs; pitch length in mm.

    The allowances are printed for centre distances; each counts twice in the belt's length, as on pulleys of one size.
    """
    true, room = belts.length_tolerance(section, pitch_length), belts.allowance(section, pitch_length)
    # the belt at hand may be off by its tolerance either way: put on at its shortest, stretched from its longest
    short, long = pitch_length - true.minus, pitch_length + true.plus
    return LengthRange(short - PER_CENTRE * room.install, short, long, long + PER_CENTRE * room.tension)


REACHES = 200
"""In so many steps a travel is followed until the belt is as long as wanted (ours)."""
TRAVEL_TOLERANCE = 1e-9
"""Where the search for an end of travel stops, in mm or radians."""


def until(length: Callable[[float], float], wanted: float, farthest: float) -> float | None:
    """How far to travel from 0 towards `farthest` until the way round is `wanted` mm long; None if it never is.

    0 where it is as long (or as short) already: the longer way is sought where `wanted` is more than it is at 0.

    >>> until(lambda s: 1000 + 2 * s, 980, -50)
    -10.0
    """
    grows = farthest > 0
    sign = 1.0 if grows else -1.0
    before = 0.0
    if sign * (length(0.0) - wanted) >= 0:
        return 0.0
    # steps first, since a way round idlers has kinks and may fall before it rises; halving only where it has crossed
    for step in range(1, REACHES + 1):
        at = farthest * step / REACHES
        if sign * (length(at) - wanted) >= 0:
            near, far = before, at
            while abs(far - near) > TRAVEL_TOLERANCE:
                middle = (near + far) / 2
                near, far = (near, middle) if sign * (length(middle) - wanted) >= 0 else (middle, far)
            return round((near + far) / 2, 9)
        before = at
    return None


def along_slot(needed: Travel, off: float) -> SlotTravel:
    """The travel along a slot `off` radians from the direction that lengthens the centre distance.

    Raises `DriveError` when such a slot never reaches the centre distance to put the belt on.

    >>> along_slot(Travel(20, 30, 300, 280, 330, (8, 8)), 0).tension
    30.0
    """
    if cos(off) <= LEAST_SHARE:
        raise DriveError("a slot at right angles to the line of centres does not tension the belt", "turn the slot")
    # Forward is longer; the install end comes out below zero and is told as a length.
    tension = _shift(needed.nominal, needed.longest, off)
    install = _shift(needed.nominal, needed.shortest, off)
    ends = (install, tension)
    return SlotTravel(
        install=-install,
        tension=tension,
        off=off,
        share=cos(off),
        sideways=(install * sin(off), tension * sin(off)),
        # the line of centres turns as seen from the driven shaft, about which the other one goes past
        turn=(
            atan2(ends[0] * sin(off), needed.nominal + ends[0] * cos(off)),
            atan2(ends[1] * sin(off), needed.nominal + ends[1] * cos(off)),
        ),
    )


def swing(centres: float, arm: float, pivot_to_driven: float) -> float:
    """The angle at the pivot between the driven shaft and a motor swung on an arm, at this centre distance.

    `centres`, the motor's distance from the pivot (`arm`) and the driven shaft's, in mm; 0 to pi
    radians. Raises `DriveError` when the arm cannot reach. Law of cosines.
    """
    if arm * pivot_to_driven == 0:
        raise DriveError("the pivot lies in the middle of a pulley, so that swinging tensions no belt", "move it")
    cosine = (arm**2 + pivot_to_driven**2 - centres**2) / (2 * arm * pivot_to_driven)
    if not -1 <= cosine <= 1:
        raise DriveError(
            f"a motor swinging {arm:.1f} mm about a pivot {pivot_to_driven:.1f} mm from the driven shaft never is "
            f"{centres:.1f} mm from it, only {abs(arm - pivot_to_driven):.1f} to {arm + pivot_to_driven:.1f} mm"
        )
    return acos(cosine)


def swing_range(needed: Travel, arm: float, pivot_to_driven: float) -> tuple[float, float]:
    """How far a swinging motor must turn about its pivot to put the belt on and to tension it, in radians."""
    # the angle at the pivot grows with the distance of the shafts, so both differences are above zero
    nominal = swing(needed.nominal, arm, pivot_to_driven)
    install = nominal - swing(needed.shortest, arm, pivot_to_driven)
    return install, swing(needed.longest, arm, pivot_to_driven) - nominal


def _shift(nominal: float, wanted: float, off: float) -> float:
    """How far along the slot the shaft must go for this centre distance, in mm; exact."""
    # The slot is a straight line that passes the driven shaft at `across`; the shaft is at the wanted distance where a
    # circle about the driven shaft cuts it. Of both cuts the far one is meant: the near one is on the other side.
    across = nominal * sin(off)
    if wanted < abs(across):
        raise DriveError(
            f"a slot {off * 180 / pi:.0f} degrees off the line of centres never gets the shafts closer than "
            f"{abs(across):.1f} mm, {wanted:.1f} mm is needed to put the belt on",
            "turn the slot towards the line",
        )
    return sqrt(wanted**2 - across**2) - nominal * cos(off)

"""Two pulleys and an open belt: length, centre distance, wrap and free span.

Words used here: the *small* and the *large* pulley are given by their pitch diameter (where the belt's
cords run), the *centres* are the distance between the two shafts, the *wrap* is the angle over which
the belt lies on a pulley, and the *span* is the straight, free part of the belt between the pulleys.
Everything is exact unless its name says `usual`.
"""

from __future__ import annotations

from math import asin, cos, pi, sqrt

from platekit.errors import DriveError

CENTRE_STEPS = 100
"""Most steps of the search for the centre distance (six are usual); a guard, not a tolerance."""

CENTRE_TOLERANCE = 1e-15
"""The search ends when a step is below this share of the centre distance: the last digit of a float64."""


def belt_length(centres: float, small: float, large: float) -> float:
    """The exact pitch length of an open belt, in mm.

    `centres`, `small` and `large` in mm; the two pitch diameters may be given in either order. Raises
    `DriveError` when one pulley would lie inside the other. Source: plane geometry with the true wrap
    angles (Shigley, Mechanical Engineering Design, equation 17-2).

    >>> round(belt_length(centres=230.264, small=71, large=250), 2)
    1000.0
    """
    # Two straight runs, half a circle on either pulley, and what the lean adds on the large one and takes off the
    # small one: (D - d) / 2 of radius times twice the lean.
    lean = _lean(centres, small, large)
    return 2 * centres * cos(lean) + pi / 2 * (small + large) + abs(large - small) * lean


def centre_distance(length: float, small: float, large: float) -> float:
    """The exact centre distance that an open belt of this pitch length gives, in mm; undoes `belt_length`.

    `length`, `small` and `large` in mm. Raises `DriveError` when the belt does not reach round the
    pulleys. The length grows with the centre distance ever faster, so that Newton's steps from the far
    side come in without overshooting.

    >>> round(centre_distance(length=1000, small=71, large=250), 1)
    230.3
    """
    _positive("belt length", length)
    _positive("pulley diameter", min(small, large))
    shortest = pi * max(small, large)
    if length <= shortest:
        raise DriveError(
            f"a belt of {length:.1f} mm does not reach round a pulley of {max(small, large):.1f} mm and a second one",
            f"use a belt longer than {shortest:.1f} mm or a smaller pulley",
        )
    # The start is the distance with straight runs of this length in place of leaning ones, always too far.
    centres = (length - pi / 2 * (small + large)) / 2
    for _ in range(CENTRE_STEPS):
        # A quarter turn of lean: the small pulley touches the large one from inside, where the slope is zero.
        lean = _lean(centres, small, large)
        if lean >= pi / 2:
            break
        # The length's slope over the centre distance is 2 cos(lean): what the ends of both runs do cancels out.
        step = (belt_length(centres, small, large) - length) / (2 * cos(lean))
        nearer = max(centres - step, abs(large - small) / 2)
        if abs(nearer - centres) <= CENTRE_TOLERANCE * centres:
            return nearer
        centres = nearer
    return centres


def usual_belt_length(centres: float, small: float, large: float) -> float:
    """The pitch length by the usual approximation, in mm: 2 C + pi/2 (D + d) + (D - d)^2 / 4 C.

    Centre distance and pitch diameters in mm; raises `DriveError` for pulleys one inside the other.
    Source: Mott, Machine Elements in Mechanical Design, 4th ed., section 7-4; the same in every handbook.
    """
    _lean(centres, small, large)
    return 2 * centres + pi / 2 * (small + large) + (large - small) ** 2 / (4 * centres)


def usual_centre_distance(length: float, small: float, large: float) -> float:
    """The centre distance by the usual approximation, in mm; undoes `usual_belt_length`.

    Pitch length and pitch diameters in mm. Raises `DriveError` when the belt is too short.
    Source: Mott, Machine Elements in Mechanical Design, 4th ed., section 7-4.

    >>> round(usual_centre_distance(length=1000, small=71, large=250), 1)
    230.5
    """
    straight = length - pi / 2 * (small + large)
    inner = straight**2 - 2 * (large - small) ** 2
    if straight <= 0 or inner < 0:
        raise DriveError(f"a belt of {length:.1f} mm is too short for pulleys of {small:.1f} and {large:.1f} mm")
    return (straight + sqrt(inner)) / 4


def wrap_angle(centres: float, pulley: float, other: float) -> float:
    """The angle over which the belt lies on `pulley`, in radians; the two pulleys' wraps add up to 2 pi.

    All in mm. Raises `DriveError` for pulleys one inside the other. Source: Shigley, Mechanical Engineering Design,
    equation 17-1.
    """
    # Half a turn where both pulleys are equal; the runs lean in towards the small one, which loses at both ends what
    # the large one gains.
    lean = _lean(centres, pulley, other)
    return pi - 2 * lean if pulley <= other else pi + 2 * lean


def span_length(centres: float, small: float, large: float) -> float:
    """The length of one straight run of belt between the pulleys, in mm (plane geometry); all in mm.

    Raises `DriveError` for pulleys one inside the other.
    """
    return centres * cos(_lean(centres, small, large))


def centres_for_wrap(wrap: float, small: float, large: float) -> float:
    """The centre distance at which the small pulley gets this wrap, in mm; `wrap` in radians, below pi.

    Raises `DriveError` for a wrap that no open belt has. Equal pulleys have half a turn at any
    distance, so there the answer is the distance at which they touch.
    """
    touching = (small + large) / 2
    if small == large:
        return touching
    if not 0 < wrap < pi:
        raise DriveError("the small pulley of an open belt has less than half a turn of wrap")
    return abs(large - small) / 2 / cos(wrap / 2)


def overlap(centres: float, small: float, large: float) -> float:
    """How far the two pulleys run into each other at this centre distance, in mm; negative while there is room.

    By their pitch circles, `small` and `large` in mm.
    """
    return (small + large) / 2 - centres


def _lean(centres: float, small: float, large: float) -> float:
    """The angle between a straight run and the line of centres, in radians."""
    _positive("centre distance", centres)
    _positive("pulley diameter", min(small, large))
    sine = abs(large - small) / 2 / centres
    if sine > 1:
        raise DriveError(
            f"at a centre distance of {centres:.1f} mm the pulley of {min(small, large):.1f} mm lies "
            f"inside the one of {max(small, large):.1f} mm",
            "move the shafts apart",
        )
    return asin(sine)


def _positive(what: str, value: float) -> None:
    if not value > 0:
        raise DriveError(f"the {what} is {value:g} mm", "it must be more than zero")

"""Toothed belts: pitch diameter, teeth in mesh, and lengths that are whole teeth.

The *pitch* is the distance from tooth to tooth along the belt's cords, in mm. Source throughout:
geometry of a toothed belt as in ISO 5294 (pulleys) and ISO 5296 (belts).
"""

from __future__ import annotations

from math import floor, pi

from platekit.errors import DriveError

WHOLE_TOOTH = 1e-3
"""How far a length may be from whole teeth, in teeth: tables print lengths to 0.01 mm."""


def pitch_diameter(teeth: int, pitch: float) -> float:
    """The pitch diameter of a toothed pulley, in mm: teeth x pitch / pi.

    >>> round(pitch_diameter(teeth=20, pitch=5), 2)
    31.83
    """
    if teeth < 1 or pitch <= 0:
        raise DriveError(f"a toothed pulley of {teeth} teeth and {pitch:g} mm pitch does not exist")
    return teeth * pitch / pi


def belt_teeth(length: float, pitch: float) -> int:
    """The teeth of a belt of this pitch length in mm; raises `DriveError` when they are not whole.

    >>> belt_teeth(length=500, pitch=5)
    100
    """
    if length <= 0 or pitch <= 0:
        raise DriveError(f"a toothed belt of {length:g} mm and {pitch:g} mm pitch does not exist")
    teeth = round(length / pitch)
    if teeth < 1 or abs(length / pitch - teeth) > WHOLE_TOOTH * max(1.0, teeth / 100):
        below = floor(length / pitch)
        raise DriveError(
            f"a toothed belt of {length:g} mm would have {length / pitch:.2f} teeth of {pitch:g} mm; "
            f"use {below * pitch:g} mm ({below} teeth) or {(below + 1) * pitch:g} mm ({below + 1} teeth)"
        )
    return teeth


def teeth_in_mesh(teeth: int, wrap: float) -> int:
    """The whole number of teeth that the belt holds on a pulley; `wrap` in radians.

    A tooth that is only partly in mesh does not count.
    """
    return floor(teeth * wrap / (2 * pi) + 1e-9)

"""Toothed belts: pitch diameter and teeth in mesh.

The *pitch* is the distance from tooth to tooth along the belt's cords, in mm. Source throughout:
geometry of a toothed belt as in ISO 5294 (pulleys) and ISO 5296 (belts).
"""

from __future__ import annotations

from math import floor, pi

from platekit.errors import DriveError

ROUNDING = 1e-9
"""Half a turn of twenty teeth is ten teeth, whatever float64 makes of pi; in teeth."""


def pitch_diameter(teeth: int, pitch: float) -> float:
    """The pitch diameter of a toothed pulley, in mm: teeth x pitch / pi.

    >>> round(pitch_diameter(teeth=20, pitch=5), 2)
    31.83
    """
    if teeth < 1 or pitch <= 0:
        raise DriveError(f"a toothed pulley of {teeth} teeth and {pitch:g} mm pitch does not exist")
    return teeth * pitch / pi


def teeth_in_mesh(teeth: int, wrap: float) -> int:
    """The whole number of teeth that the belt holds on a pulley; `wrap` in radians.

    A tooth that is only partly in mesh does not count.
    """
    return floor(teeth * wrap / (2 * pi) + ROUNDING)

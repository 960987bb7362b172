"""Published dimensions as data: standard mounts, screws, drills, fits, materials, and how to look them up.

Every figure comes from a data file whose rows name their source (`platekit.tables.data`); lengths are converted to mm on reading, and only
the file asked for is read.
"""

from __future__ import annotations

from platekit.tables.fits import fit_limits, iso286
from platekit.tables.mounts import families, mount, names
from platekit.tables.values import Limits, Source, StandardBody, StandardMount

__all__ = [
    "Limits",
    "Source",
    "StandardBody",
    "StandardMount",
    "families",
    "fit_limits",
    "iso286",
    "mount",
    "names",
]

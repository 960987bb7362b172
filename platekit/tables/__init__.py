"""Published dimensions as data: standard mounts, screws, drills, fits, materials, and how to look them up.

Every figure comes from a data file whose rows name their source (`platekit.tables.data`); lengths are converted
to mm on reading, and only the file asked for is read.
"""

from __future__ import annotations

from platekit.tables.drills import drill, drills, nearest_drill
from platekit.tables.fits import fit_limits, iso286
from platekit.tables.materials import gauge, gauge_source, material, materials
from platekit.tables.mounts import families, mount, names
from platekit.tables.screws import screw, screw_sizes
from platekit.tables.threads import Thread, stress_area, tap_drill, thread, threads
from platekit.tables.torques import engagement, property_class, torque
from platekit.tables.values import (
    Drill,
    Limits,
    Material,
    PropertyClass,
    Screw,
    Source,
    StandardBody,
    StandardMount,
    TapDrill,
    Torque,
)

__all__ = [
    "Drill",
    "Limits",
    "Material",
    "PropertyClass",
    "Screw",
    "Source",
    "StandardBody",
    "StandardMount",
    "TapDrill",
    "Thread",
    "Torque",
    "drill",
    "drills",
    "engagement",
    "families",
    "fit_limits",
    "gauge",
    "gauge_source",
    "iso286",
    "material",
    "materials",
    "mount",
    "names",
    "nearest_drill",
    "property_class",
    "screw",
    "screw_sizes",
    "stress_area",
    "tap_drill",
    "thread",
    "threads",
    "torque",
]

"""Published dimensions as data: standard mounts, screws, drills, fits, materials, and how to look them up.

Every figure comes from a data file whose rows name their source (`platekit.tables.data`); lengths are
converted to mm on reading, and only the file asked for is read.
"""

from __future__ import annotations

from platekit.tables.drills import drill, drills, nearest_drill
from platekit.tables.figures import as_json, figures_of
from platekit.tables.fits import fit_limits, iso286
from platekit.tables.lookup import Fit, Found, Sheet, look_up
from platekit.tables.materials import gauge, gauge_source, material, materials
from platekit.tables.mounts import families, mount, names
from platekit.tables.screws import screw, screw_sizes
from platekit.tables.search import Candidate, Difference, search
from platekit.tables.text import describe, described, found_text, overview, sketch
from platekit.tables.threads import Thread, stress_area, tap_drill, thread, threads
from platekit.tables.torques import engagement, property_class, torque
from platekit.tables.validate import Counts, counts_by_file, counts_by_kind, validate_all
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
    "Candidate",
    "Counts",
    "Difference",
    "Drill",
    "Fit",
    "Found",
    "Limits",
    "Material",
    "PropertyClass",
    "Screw",
    "Sheet",
    "Source",
    "StandardBody",
    "StandardMount",
    "TapDrill",
    "Thread",
    "Torque",
    "as_json",
    "counts_by_file",
    "counts_by_kind",
    "describe",
    "described",
    "drill",
    "drills",
    "engagement",
    "families",
    "figures_of",
    "fit_limits",
    "found_text",
    "gauge",
    "gauge_source",
    "iso286",
    "look_up",
    "material",
    "materials",
    "mount",
    "names",
    "nearest_drill",
    "overview",
    "property_class",
    "screw",
    "screw_sizes",
    "search",
    "sketch",
    "stress_area",
    "tap_drill",
    "thread",
    "threads",
    "torque",
    "validate_all",
]

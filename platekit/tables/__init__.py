"""Published dimensions as data: standard mounts, screws, drills, fits, materials, and how to look them up.

Every figure comes from a data file whose rows name their source (`platekit.tables.data`); lengths are
converted to mm on reading, and only the file asked for is read.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from platekit.tables.drills import drill, drills, nearest_drill
from platekit.tables.fits import fit_limits, iso286
from platekit.tables.keys import KeySeat, key_seat, usual_inch_key, usual_key
from platekit.tables.materials import as_thick, gauge, gauge_source, material, materials
from platekit.tables.mounts import every_mount, families, mount, mounts_on_circle, names
from platekit.tables.packing import Packing, packing
from platekit.tables.screws import screw, screw_sizes
from platekit.tables.threads import Thread, stress_area, tap_drill, thread, threads
from platekit.tables.torques import engagement, property_class, torque
from platekit.tables.values import (
    Drill,
    LimitDeviations,
    Material,
    PropertyClass,
    Screw,
    Source,
    StandardBody,
    StandardMount,
    TapDrill,
    Torque,
)

if TYPE_CHECKING:
    from platekit.tables.figures import as_json, candidate_figures, figures_of, names_held
    from platekit.tables.lookup import FitLimits, Found, SheetGauge, look_up
    from platekit.tables.searching import Difference, StandardCandidate, search
    from platekit.tables.text import describe, described, found_text, overview, sketch
    from platekit.tables.validate import Counts, counts_by_file, counts_by_kind, validate_all

_ON_DEMAND = {
    "as_json": "platekit.tables.figures",
    "candidate_figures": "platekit.tables.figures",
    "figures_of": "platekit.tables.figures",
    "names_held": "platekit.tables.figures",
    "FitLimits": "platekit.tables.lookup",
    "Found": "platekit.tables.lookup",
    "SheetGauge": "platekit.tables.lookup",
    "look_up": "platekit.tables.lookup",
    "StandardCandidate": "platekit.tables.searching",
    "Difference": "platekit.tables.searching",
    "search": "platekit.tables.searching",
    "describe": "platekit.tables.text",
    "described": "platekit.tables.text",
    "found_text": "platekit.tables.text",
    "overview": "platekit.tables.text",
    "sketch": "platekit.tables.text",
    "Counts": "platekit.tables.validate",
    "counts_by_file": "platekit.tables.validate",
    "counts_by_kind": "platekit.tables.validate",
    "validate_all": "platekit.tables.validate",
}
"""Names that a look-up of sizes does not need: their modules are loaded when first asked for, to start fast."""

__all__ = [
    "Counts",
    "Difference",
    "Drill",
    "FitLimits",
    "Found",
    "KeySeat",
    "LimitDeviations",
    "Material",
    "Packing",
    "PropertyClass",
    "Screw",
    "SheetGauge",
    "Source",
    "StandardBody",
    "StandardCandidate",
    "StandardMount",
    "TapDrill",
    "Thread",
    "Torque",
    "as_json",
    "as_thick",
    "candidate_figures",
    "counts_by_file",
    "counts_by_kind",
    "describe",
    "described",
    "drill",
    "drills",
    "engagement",
    "every_mount",
    "families",
    "figures_of",
    "fit_limits",
    "found_text",
    "gauge",
    "gauge_source",
    "iso286",
    "key_seat",
    "look_up",
    "material",
    "materials",
    "mount",
    "mounts_on_circle",
    "names",
    "names_held",
    "nearest_drill",
    "overview",
    "packing",
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
    "usual_inch_key",
    "usual_key",
    "validate_all",
]


def __getattr__(name: str) -> object:
    """A name of a module that is loaded on demand."""
    if name not in _ON_DEMAND:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(_ON_DEMAND[name]), name)

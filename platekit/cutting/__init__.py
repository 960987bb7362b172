"""What the process holds, how each opening is made, the compensated paths, and what cutting takes.

Paths and plan are loaded when they are asked for: a check needs neither.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from platekit.cutting.capability import Capability, Suited, capability_of, suitability
from platekit.cutting.needs import can_pierce, must_pass
from platekit.cutting.operations import Operation, Operations, how_made, operations_of, words_of

if TYPE_CHECKING:
    from platekit.cutting.estimate import Cost, CostItem, CutPlan, plan
    from platekit.cutting.paths import CutPath, Paths, paths_of

__all__ = [
    "Capability",
    "Cost",
    "CostItem",
    "CutPath",
    "CutPlan",
    "Operation",
    "Operations",
    "Paths",
    "Suited",
    "can_pierce",
    "capability_of",
    "how_made",
    "must_pass",
    "operations_of",
    "paths_of",
    "plan",
    "suitability",
    "words_of",
]

_LATER = {
    "CutPath": "paths",
    "Paths": "paths",
    "paths_of": "paths",
    "Cost": "estimate",
    "CostItem": "estimate",
    "CutPlan": "estimate",
    "plan": "estimate",
}


def __getattr__(name: str) -> Any:
    if name not in _LATER:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_LATER[name]}"), name)

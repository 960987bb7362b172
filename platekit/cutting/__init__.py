"""What the process holds, how each opening is made, the compensated paths, and what cutting takes.

Paths and plan are loaded when they are asked for: a check needs neither.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from platekit.cutting.ability import Ability, Suited, ability_of, suited
from platekit.cutting.making import Making, Step, how_made, makings, words_of
from platekit.cutting.needs import can_pierce, must_pass

if TYPE_CHECKING:
    from platekit.cutting.estimate import Cost, CostItem, CutPlan, plan
    from platekit.cutting.paths import CutPath, Paths, paths_of

__all__ = [
    "Ability",
    "Cost",
    "CostItem",
    "CutPath",
    "CutPlan",
    "Making",
    "Paths",
    "Step",
    "Suited",
    "ability_of",
    "can_pierce",
    "how_made",
    "makings",
    "must_pass",
    "paths_of",
    "plan",
    "suited",
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

"""What the process holds, how each opening is made, the compensated paths, and what cutting takes."""

from __future__ import annotations

from platekit.cutting.ability import Ability, ability_of
from platekit.cutting.making import Making, Step, how_made, makings, words_of
from platekit.cutting.needs import can_pierce, must_pass
from platekit.cutting.paths import CutPath, Paths, paths_of
from platekit.cutting.plan import Cost, CostItem, CutPlan, plan

__all__ = [
    "Ability",
    "Cost",
    "CostItem",
    "CutPath",
    "CutPlan",
    "Making",
    "Paths",
    "Step",
    "ability_of",
    "can_pierce",
    "how_made",
    "makings",
    "must_pass",
    "paths_of",
    "plan",
    "words_of",
]

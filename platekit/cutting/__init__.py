"""What the process holds, and how each opening is made."""

from __future__ import annotations

from platekit.cutting.ability import Ability, ability_of
from platekit.cutting.making import Making, Step, how_made, makings, words_of
from platekit.cutting.needs import can_pierce, must_pass

__all__ = ["Ability", "Making", "Step", "ability_of", "can_pierce", "how_made", "makings", "must_pass", "words_of"]

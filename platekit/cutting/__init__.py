"""Process limits, and how each opening is made."""

from __future__ import annotations

from platekit.cutting.making import How, Making, how_made, makings

__all__ = ["How", "Making", "how_made", "makings"]

"""How flat bars are welded to a plate, in the same words on every paper: order, warping, cautions."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

ORDER: Final = (
    "before anything is bolted on: tack both ends and the middle, square to the face, then short runs from the middle "
    "outwards, first one side, then the other, each left to cool; straighten when cold"
)
"""The order of welding in one sentence (common practice)."""
STEPS: Final = (
    "Places: four short lines a bar, at both ends of its faces. The table scribes those of the near face; for others "
    "lay the paper of that side on holes and edge (`platekit template SPEC --both-sides`) and punch the lines through.",
    "Grind scale, oil, paint and zinc off to bright steel a hand's breadth wide; fume of zinc is poison.",
    "Clamp the plate to something flat and stiff, bars up. Tack each bar on both sides at both ends and in the middle, "
    "square to the face.",
    "Weld in runs of about 50 mm (2 in): from the middle outwards, one side, then the other, then another bar; let "
    "each cool. One long hot seam bows the plate hollow towards the bar.",
    "Carry the weld round the ends and fill the crater: an end bears most. Leave the clamps on until it is cold.",
    "Lay a straightedge over the face where parts are bolted; straighten what is bowed. Only then drill, tap and bore.",
    "Earth clamp on the plate itself, never through a machine's bearings or a motor. Screens, and a watch for fire for "
    "half an hour after. Welding by somebody qualified; local codes decide.",
)
"""The order of welding step by step (common practice)."""


def weld_words(names: Sequence[str]) -> str:
    """The first step of putting together: which bars are welded on.

    >>> weld_words(["spine", "rear"])
    'weld on spine and rear'
    """
    *rest, last = names
    return f"weld on {', '.join(rest)} and {last}" if rest else f"weld on {last}"

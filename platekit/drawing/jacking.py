"""How a belt is tightened by a jacking screw, in the same words on every paper."""

from __future__ import annotations

from typing import Final

from platekit.placed import JackingScrew, LugMade

FIXED: Final[dict[LugMade, str]] = {
    "welded": "whose lug is welded on before anything else",
    "bolted": "whose lug is a piece of angle that is screwed on first",
    "bent": "whose bent lug is screwed on first",
}
"""How its lug comes onto the plate."""
LOOKED_AT: Final[dict[LugMade, str]] = {
    "welded": "no crack at the lug's weld",
    "bolted": "the lug's two screws to their torque, no gap under its foot",
    "bent": "the lug's two screws to their torque, no gap under its foot, no crack in its bend",
}
"""What is looked at on its lug once it pushes."""


def jack_words(size: str, made: LugMade) -> str:
    """What is done with a jacking screw of a size, in the order in which it is done.

    >>> jack_words("M10", "bent").partition(",")[0]
    'tighten the belt by its M10 jacking screw'
    """
    return f"tighten the belt by its {size} jacking screw, {FIXED[made]}, then lock its nut against the lug"


def looked_at(part: str, jack: JackingScrew) -> str:
    """What is looked at where a screw tightens the belt of a part."""
    return (
        f"{part} pushed by its {jack.size} screw, its own screws hand-tight; then these to their torque, the lock nut "
        f"tight on the lug, {LOOKED_AT[jack.made]}"
    )

"""How a belt is tightened by a jacking screw, in the same words on every paper."""

from __future__ import annotations


def jack_words(size: str) -> str:
    """What is done with a jacking screw of a size, in the order in which it is done.

    >>> jack_words("M10").partition(",")[0]
    'tighten the belt by its M10 jacking screw'
    """
    return (
        f"tighten the belt by its {size} jacking screw, whose lug is welded on before anything else, then lock its nut "
        "against the lug"
    )

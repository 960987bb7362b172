"""Words fitted to the room they have, whatever they are set in: the one who sets them says how wide they are.

A `Measure` gives the width of a text in the unit of its medium: sheet units of a picture (`svg/letters.py`), mm of
paper (`pdf/letters.py`). All lengths here are in that same unit.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import Final

Measure = Callable[[str], float]
"""How wide a line of text is."""
ELLIPSIS: Final = "…"


@lru_cache(maxsize=2048)
def wrapped(text: str, width: float, measure: Measure) -> tuple[str, ...]:
    """The text in lines of at most `width`, broken between words; no text gives no lines.

    Nothing is lost: a word wider than a line goes on in the next, and a sign wider than a line has one for itself.

    >>> wrapped("guards go on first", 6, len)
    ('guards', 'go on', 'first')
    """
    # greedy filling: the first line is as full as may be. What is even would need another pass, and a terminal shows
    # the same text at any width
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines[-1] else word
        if measure(longer) <= width:
            lines[-1] = longer
            continue
        lines.append("")
        for sign in word if measure(word) > width else (word,):
            if lines[-1] and measure(lines[-1] + sign) > width:
                lines.append("")
            lines[-1] += sign
    return tuple(line for line in lines if line)


def shortened(text: str, width: float, measure: Measure) -> str:
    """The text, cut with an ellipsis where it is wider than `width`; the ellipsis stays however little room there is.

    >>> shortened("bobbin winder", 9, len)
    'bobbin w…'
    """
    if measure(text) <= width:
        return text
    # by halving, as a measure need not add up letter by letter
    low, high = 0, len(text)
    while low < high:
        middle = (low + high + 1) // 2
        fits = measure(text[:middle].rstrip() + ELLIPSIS) <= width
        low, high = (middle, high) if fits else (low, middle - 1)
    return text[:low].rstrip() + ELLIPSIS


def in_letters(index: int) -> str:
    """A count from 0 in letters, as holes are named and columns of a sheet.

    >>> in_letters(0), in_letters(25), in_letters(26)
    ('A', 'Z', 'AA')
    """
    name, index = "", index + 1
    while index:
        index, digit = divmod(index - 1, 26)  # no letter stands for nothing, so each place is counted from 1
        name = chr(ord("A") + digit) + name
    return name

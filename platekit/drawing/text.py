"""Words fitted to the room they have, whatever they are set in: the one who sets them says how wide they are.

A `Measure` gives the width of a text in the unit of its medium: sheet units of a picture (`svg/letters.py`), mm of
paper (`pdf/letters.py`). All lengths here are in that same unit.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from functools import lru_cache
from itertools import pairwise
from typing import Final

Measure = Callable[[str], float]
"""How wide a line of text is."""
ELLIPSIS: Final = "…"
BARE_FIGURE: Final = re.compile(r"[(\[]?[-+±]?Ø?\d+(?:[.,/-]\d+)*")
"""A figure that is nothing without the word behind it: its unit, or what is counted."""
CARRIED: Final = re.compile(r"[^\W\d_]|[%°×]")
"""How a word begins that a figure before it belongs to."""
NUMBERED: Final = re.compile(r"[(\[]?(?:[A-Z]{2,}(?:/[A-Z]+)?|[Tt]able|[Pp]age|[Ss]heet|[Aa]rticle|line)")
"""A word that is nothing without the number behind it: a standard, a table, a page."""


@lru_cache(maxsize=2048)
def wrapped(text: str, width: float, measure: Measure) -> tuple[str, ...]:
    """The text in lines of at most `width`, broken between words; no text gives no lines.

    A figure stays with its unit or what it counts, both sides of a × together, the name of a standard with its number.
    Nothing is lost: a word wider than a line goes on in the next, and a sign wider than a line has one for itself.

    >>> wrapped("guards go on first", 6, len)
    ('guards', 'go on', 'first')
    >>> wrapped("an opening of 34 mm", 14, len)
    ('an opening of', '34 mm')
    """
    # greedy filling: the first line is as full as may be. What is even would need another pass, and a terminal shows
    # the same text at any width
    lines = [""]
    for word in _together(text.split(), width, measure):
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


def _together(words: list[str], width: float, measure: Measure) -> Iterator[str]:
    """The words, those that belong to each other as one as far as a line holds them."""
    held = ""
    for word, after in pairwise([*words, ""]):
        longer = f"{held} {word}" if held else word
        if held and measure(longer) > width:
            yield held
            longer = word
        held = longer
        figure = BARE_FIGURE.fullmatch(word) is not None
        number = word in ("×", "=", "±") or NUMBERED.fullmatch(word) is not None
        if not (figure and CARRIED.match(after)) and not (number and after[:1].isdigit()):
            yield held
            held = ""


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

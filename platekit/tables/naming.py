"""How a designation is compared: spaces, dashes and the standard's full name make no difference."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import lru_cache

_LONG_NAMES = (
    (re.compile(r"\biec[\s-]*60072[\s-]*1?\b"), "iec"),
    (re.compile(r"\b(?:nema[\s-]*)?mg[\s-]*1\b"), "nema"),
    (re.compile(r"\b(?:nema[\s-]*)?ics[\s-]*16\b"), "nema"),
    (re.compile(r"\b(?:sae[\s-]*)?j[\s-]*744\b"), "sae"),
    (re.compile(r"\biso[\s-]*3019[\s-]*[12]\b"), "iso"),
    (re.compile(r"\b(?:sae[\s-]*)?j[\s-]*617\b"), "sae"),
    (re.compile(r"\b(?:frame|flange|motor|face|im|size)\b"), " "),
)
_MAYBE_LONG = re.compile("60072|mg|ics|744|3019|617|frame|flange|motor|face|im|size")
_BETWEEN_DIGITS = re.compile(r"(?<=\d)[\s\-_./]+(?=\d)")
ALIKE = 0.5
"""Share of signs that two names have in common, in order, from which one may be meant by the other (ours)."""
_DROPPED = re.compile(r"[^a-z0-9\-]|(?<!\d)-|-(?!\d)")


LONGEST = 100
"""So many signs of a name are compared with others (ours)."""


def key(name: str) -> str:
    """The designation with everything taken off that people write in different ways.

    >>> key("IEC 90-B5"), key("nema 56 c"), key("ISO 3019-1 82-2")
    ('iec90b5', 'nema56c', 'iso82-2')
    """
    # Looking for any part of a long name first spares the seven substitutions for nearly all of some thousand names.
    text = name.lower().replace("_", " ")
    if _MAYBE_LONG.search(text):
        for long_name, short in _LONG_NAMES:
            text = long_name.sub(short, text)
    return _DROPPED.sub("", _BETWEEN_DIGITS.sub("-", text.strip()))


def nearest(name: str, known: Iterable[str], count: int = 3) -> tuple[str, ...]:
    """The known names closest to what was written, best first."""
    return _nearest(name, tuple(known), count)


@lru_cache(maxsize=64)  # what is written wrong once is looked up at each look at the plate
def _nearest(name: str, known: tuple[str, ...], count: int) -> tuple[str, ...]:
    from difflib import SequenceMatcher

    # Nothing has so long a name: what is longer is no slip, and comparing letter by letter takes its square.
    wanted = key(name[:LONGEST])
    size, letters = _parts(wanted)

    def likeness(candidate: str) -> float:
        """Letters alike, first numbers close, and the whole alike: a slip in one leaves the others."""
        # Weights by what people get wrong: a digit more often than a letter (FF156 for FF165), so letters count twice
        # and the number by how near it is, not by its digits; the whole breaks ties.
        other = key(candidate)
        other_size, other_letters = _parts(other)
        close = 1.0 - abs(size - other_size) / max(size, other_size, 1.0)
        same_letters = SequenceMatcher(None, letters, other_letters).ratio()
        return 2 * same_letters + close + SequenceMatcher(None, wanted, other).ratio() / 2

    return tuple(sorted(dict.fromkeys(known), key=likeness, reverse=True)[:count])


def alike(name: str, other: str) -> bool:
    """Whether one name may be a slip of the other: half of its signs are alike, in order.

    >>> alike("M9", "M8"), alike("mild stel", "mild steel"), alike("motor", "#0-80")
    (True, True, False)
    """
    from difflib import SequenceMatcher

    return SequenceMatcher(None, key(name), key(other)).ratio() >= ALIKE


def _parts(compared: str) -> tuple[float, str]:
    """The first number of a compared name (0 where it has none) and its letters."""
    number = re.search(r"\d+", compared)
    return (float(number[0]) if number else 0.0), re.sub(r"[^a-z]", "", compared)


def listed(names: Iterable[str], last: str = "or") -> str:
    """`A, B or C`."""
    items = list(names)
    return items[0] if len(items) == 1 else f"{', '.join(items[:-1])} {last} {items[-1]}" if items else "nothing"

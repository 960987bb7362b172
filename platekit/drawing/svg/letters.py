"""How wide the letters of a picture are, in sheet units."""

from __future__ import annotations

import re
from functools import lru_cache, partial
from typing import Final
from unicodedata import category, combining, east_asian_width

from platekit.drawing.text import ELLIPSIS, Measure

WIDEST: Final = 1.0
"""Width of a character that the metrics do not know, in ems (ours: wide enough for nearly every script)."""
_LATIN: Final = re.compile("[ -~\u00a1-\u00ff]*")


@lru_cache(maxsize=256)
def letters(size: float, bold: bool = False) -> Measure:
    """The measure of text of a size (sheet units), for `wrapped` and `shortened`."""
    return partial(text_width, size=size, bold=bold)


@lru_cache(maxsize=4096)
def text_width(text: str, size: float, bold: bool = False) -> float:
    """How wide a text is in sheet units, set in Helvetica or a face of the same widths.

    Characters that Helvetica's tables lack count as one em, or none if they take no room.
    Source of the widths: the standard PostScript font metrics that reportlab carries (published).
    """
    from reportlab.pdfbase.pdfmetrics import stringWidth

    font = "Helvetica-Bold" if bold else "Helvetica"
    if _LATIN.fullmatch(text):  # nearly every text
        return float(stringWidth(text, font, size))
    known = "".join(sign for sign in text if _in_latin(sign))
    others = sum(0.0 if _takes_no_room(sign) else WIDEST for sign in text if not _in_latin(sign))
    return float(stringWidth(known, font, size)) + others * size


def in_one_face(text: str) -> bool:
    """Whether the width of all of a text is that of the face: a cut line and its ellipsis, `×` and `Ø` as well.

    >>> in_one_face("4 × Ø9, dri…"), in_one_face("板")
    (True, False)
    """
    return all(_in_latin(sign) or sign == ELLIPSIS for sign in text)


def _in_latin(sign: str) -> bool:
    return " " <= sign <= "~" or "\u00a1" <= sign <= "\u00ff"


def _takes_no_room(sign: str) -> bool:
    # wide signs first: some of them are marks by category and still take a whole em
    if east_asian_width(sign) in "WF":
        return False
    return combining(sign) > 0 or category(sign) in {"Mn", "Me", "Cf", "Cc"}

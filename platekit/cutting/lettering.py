"""Words as strokes of lines and true arcs, for a head that scribes them.

Vocabulary
    sign      one letter, figure or stop of the alphabet (`alphabet.txt`, beside this file)
    stroke    edges that run on from each other, drawn in one go
    plain     a text as the alphabet can have it: capitals, without accents
"""

from __future__ import annotations

import math
import unicodedata
from functools import cache, lru_cache
from importlib.resources import files
from typing import Final

from msgspec import Struct

from platekit.geometry import Box, Edge, Point, Pose, box_round, edge_of

CAPITAL: Final = 10.0
"""Height of a capital in the alphabet's own unit, a tenth of it (ISO 3098, from memory)."""
BETWEEN: Final = 2.0
"""Between two signs, in the alphabet's unit (ISO 3098, from memory: two tenths of the height)."""
SPACE: Final = 4.0
"""What a space adds to the gap after a sign, in its unit: six tenths between words (ISO 3098, from memory)."""

_ARCS: Final = {
    f"{sign}{letter}": way * math.tan(math.radians(degrees) / 4)
    for sign, way in (("", 1.0), ("-", -1.0))
    for letter, degrees in (("O", 45.0), ("Q", 90.0), ("E", 135.0), ("H", 180.0))
}
_SAID_OTHERWISE: Final = str.maketrans(
    {
        "–": "-",
        "—": "-",
        "‐": "-",
        "‑": "-",
        "−": "-",
        "’": "'",
        "‘": "'",
        "′": "'",
        "“": '"',
        "”": '"',
        "„": '"',
        "″": '"',
        "·": ".",
        "…": "...",
        "∅": "Ø",
        "⌀": "Ø",
        "Æ": "AE",
        "Œ": "OE",
        "Ł": "L",
        "Đ": "D",
        "Ð": "D",
        "Þ": "TH",
        "ẞ": "SS",
        "ª": "A",
        "º": "°",
    }
)

Stroke = tuple[Edge, ...]


class Sign(Struct, frozen=True):
    """One sign of the alphabet, in its own unit, its left lower corner at 0,0."""

    width: float
    strokes: tuple[Stroke, ...]


class Lettering(Struct, frozen=True):
    """A text as strokes, mm: it starts at 0 and stands on the base line y = 0; `box` is round all of them."""

    text: str
    strokes: tuple[Stroke, ...]
    box: Box

    def moved(self, pose: Pose) -> tuple[Stroke, ...]:
        """The strokes where `pose` leads."""
        return tuple(tuple(edge.moved(pose) for edge in stroke) for stroke in self.strokes)


@cache
def alphabet() -> dict[str, Sign]:
    """Every sign that can be scribed."""
    rows = files(__package__).joinpath("alphabet.txt").read_text(encoding="utf-8").splitlines()
    signs: dict[str, Sign] = {}
    for row in rows:
        if not row or row.startswith("## "):
            continue
        # sign, width, then strokes parted by semicolons: points `x,y`, and `x,y,arc` where the way on from it bends
        sign, width, rest = row.split(maxsplit=2)
        strokes = []
        for stroke in rest.split(" ; "):
            points = [word.split(",") for word in stroke.split()]
            spots: list[Point] = [(float(point[0]), float(point[1])) for point in points]
            bulges = [_ARCS[point[2]] if len(point) > 2 else 0.0 for point in points]
            strokes.append(tuple(edge_of(a, b, bulge) for a, b, bulge in zip(spots, spots[1:], bulges, strict=False)))
        signs[sign] = Sign(float(width), tuple(strokes))
    return signs


def plain(text: str) -> str:
    """A text in the alphabet's own letters: capitals, accents left off, one space at a time.

    >>> plain("Förderband, 3½ kW – Ærø")
    'FORDERBAND, 31/2 KW - AERØ'
    """
    said = unicodedata.normalize("NFC", text).upper().translate(_SAID_OTHERWISE)
    # what the alphabet has with its accent (Ø, Ä) stays; from any other letter the accent is taken off
    apart = "".join(sign if sign in alphabet() else unicodedata.normalize("NFKD", sign).upper() for sign in said)
    bare = "".join(sign for sign in apart if not unicodedata.combining(sign)).replace("⁄", "/")
    return " ".join(bare.split())


def unknown(text: str) -> str:
    """The signs of a plain text that the alphabet has not, each once; empty if it can be scribed.

    >>> unknown(plain("Größe 2")), unknown(plain("Ω 1"))
    ('', 'Ω')
    """
    return "".join(dict.fromkeys(sign for sign in text if sign != " " and sign not in alphabet()))


@lru_cache(maxsize=256)  # the words of a plate, at every edit of it
def letter(text: str, height: float) -> Lettering:
    """A plain text in capitals `height` mm high. Raises `ValueError` for nothing to draw or a sign that is unknown."""
    if not text or unknown(text):
        raise ValueError(f"cannot be scribed: {text!r}")
    # a capital's height is what the spec asks for; all else goes along
    scale, x = height / CAPITAL, 0.0
    strokes: list[Stroke] = []
    for sign in text:
        if sign == " ":
            x += SPACE
            continue
        known = alphabet()[sign]
        for stroke in known.strokes:
            ends = [((px + x) * scale, py * scale) for edge in stroke for px, py in (edge.a, edge.b)]
            # an arc stays one by its bulge, which has no size
            strokes.append(
                tuple(edge_of(a, b, edge.bulge) for edge, a, b in zip(stroke, ends[::2], ends[1::2], strict=True))
            )
        x += known.width + BETWEEN
    return Lettering(text, tuple(strokes), box_round([edge.box for stroke in strokes for edge in stroke]))

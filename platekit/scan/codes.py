"""The coded discs in the corners of a frame: which size of frame, which corner, which face the picture shows.

A disc is black to its rim. Within lies a white dot, round it a black ring, and round that a band of 18 sectors, black
or white: read counter-clockwise they are a word of 18 bits. The words are so chosen that no turn and no mirror image of
any of them comes nearer than four sectors to another, or to itself: so a disc tells how it lies, a picture that was
mirrored shows it, and a wrong reading of up to three sectors passes for no other disc. An own design of platekit.
"""

from __future__ import annotations

from functools import cache
from typing import Final, Literal

from msgspec import Struct

from platekit.choices import PictureFrame

Size = PictureFrame
Shows = Literal["face", "back", "unsaid"]

SECTORS: Final = 18
"""Sectors of the band."""
RIM: Final = 8.0
"""Radius of the black disc, mm (ours: 40 pixels at 150 dots an inch)."""
BAND: Final = (3.4, 6.4)
"""Inner and outer radius of the band of sectors, mm."""
DOT: Final = 1.6
"""Radius of the white dot in the middle, mm."""

SIZES: Final[tuple[Size, ...]] = ("a4", "letter", "a3")
SHOWN: Final[tuple[Shows, ...]] = ("unsaid", "face", "back")
CORNERS: Final = ("lower left", "lower right", "upper right", "upper left")

# fmt: off
WORDS: Final = (
    0x109F, 0x10ED, 0x10F3, 0x112F, 0x1157, 0x1179, 0x11CB, 0x1237, 0x12C7, 0x134D, 0x1363, 0x13A5,
    0x14D5, 0x1533, 0x166F, 0x1797, 0x17AB, 0x1A5F, 0x1B8F, 0x1DDF, 0x216B, 0x223D, 0x22E5, 0x2327,
    0x2353, 0x238B, 0x23DD, 0x2457, 0x251B, 0x254D, 0x25F3, 0x267B, 0x268D, 0x2775, 0x295F, 0x2A93,
)
# fmt: on
"""One word a disc: four corners, for each face, for each size. Found by trying all words in order; a bit is a white
sector, the lowest bit the sector that begins at x, the next one counter-clockwise from it."""


class Code(Struct, frozen=True):
    """What a disc says: the frame's size, what the picture shows, and the corner, 0 to 3 from the lower left round."""

    size: Size
    shows: Shows
    corner: int

    @property
    def word(self) -> int:
        """Its 18 sectors."""
        return WORDS[(SIZES.index(self.size) * len(SHOWN) + SHOWN.index(self.shows)) * 4 + self.corner]


class Seen(Struct, frozen=True):
    """A word that was read: its code, and by how many sectors it is turned, `mirrored` before that or not."""

    code: Code
    turned: int
    mirrored: bool


def turned(word: int, steps: int) -> int:
    """The word with each sector moved on by so many, counter-clockwise."""
    steps %= SECTORS
    return ((word << steps) | (word >> (SECTORS - steps))) & ((1 << SECTORS) - 1)


def mirrored(word: int) -> int:
    """The word as a mirror shows it, in the x axis: its sectors in the other order."""
    return int(f"{word:0{SECTORS}b}"[::-1], 2)


@cache
def known_words() -> dict[int, Seen]:
    """Every word that a disc may show, however it is turned, with what it says."""
    found: dict[int, Seen] = {}
    for size in SIZES:
        for shows in SHOWN:
            for corner in range(4):
                code = Code(size, shows, corner)
                for steps in range(SECTORS):
                    found[turned(code.word, steps)] = Seen(code, steps, False)
                    found[turned(mirrored(code.word), steps)] = Seen(code, steps, True)
    return found

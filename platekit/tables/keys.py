"""Keys and keyways of standard shafts: their sections, how deep they lie, and how far they stand out of the shaft."""

from __future__ import annotations

import math
import re
from itertools import pairwise
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from platekit.tables.rows import kept, plain_number, read
from platekit.tables.values import Source, StandardMount
from platekit.units import INCH

B17_1: Final = Source("ANSI B17.1, square parallel keys: depths by its formulas for S and T", "published")
HUB_PLAY: Final = 0.005 * INCH
"""What T, over the bore and its keyway, has more than over shaft and key (ANSI B17.1), mm."""
SQUARE: Final = re.compile(r"([0-9/]+) sq x ([0-9/-]+) in")
METRIC: Final = re.compile(r"([0-9.]+)x([0-9.]+)")


class KeySeat(Struct, frozen=True):
    """A parallel key and its keyways on a shaft of `shaft`, mm.

    `shaft_depth` is how deep the keyway is in the shaft and `hub_depth` in the hub, both on the middle of the key,
    counted from the shaft's round. `length` is None where the standard leaves it to the maker. `source` is where the
    depths come from.
    """

    shaft: float
    width: float
    height: float
    shaft_depth: float
    hub_depth: float
    length: float | None
    source: Source

    @property
    def proud(self) -> float:
        """How far the key stands out of the shaft's round, mm: what turns there is as much larger."""
        return self.height - self.shaft_depth


@kept(256)
def key_seat(mount: StandardMount) -> KeySeat | None:
    """The key on the shaft of a standard part; None for a plain or flatted one, or where no table has its depths.

    ISO/R 773 for metric shafts, by the diameter; ANSI B17.1 for inch ones, whose key the frame's table names.

    >>> from platekit import tables
    >>> seat = key_seat(tables.mount("IEC 90S"))
    >>> seat.width, seat.height, seat.shaft_depth, seat.hub_depth
    (8.0, 7.0, 4.0, 3.3)
    """
    if mount.key is None or mount.shaft is None:
        return None
    square = SQUARE.fullmatch(mount.key)
    if square is not None:
        return _inch(mount.shaft, plain_number(square[1]) * INCH, plain_number(square[2]) * INCH)
    metric = METRIC.fullmatch(mount.key)
    if metric is None:
        return None
    width, height = float(metric[1]), float(metric[2])
    for row in read("iso_773_key.csv"):
        sizes = (row.need("width"), row.need("height"))
        # by the key that the frame's table names, which is the same as by its shaft's diameter, but for rarer ones
        if sizes == (width, height):
            depths = (row.need("shaft_depth"), row.need("hub_depth"))
            return KeySeat(mount.shaft, width, height, *depths, None, row.source)
    return None


def usual_key(diameter: float) -> KeySeat | None:
    """The key that ISO/R 773 has for a shaft of a diameter (mm); None for a shaft thinner or thicker than it lists.

    >>> seat = usual_key(30)
    >>> seat.width, seat.height, seat.hub_depth
    (8.0, 7.0, 3.3)
    """
    for row in read("iso_773_key.csv"):
        if row.need("over") < diameter <= row.need("thru"):
            sizes = (row.need("width"), row.need("height"), row.need("shaft_depth"), row.need("hub_depth"))
            return KeySeat(diameter, *sizes, None, row.source)
    return None


INCH_KEYS: Final = (
    (5 / 16, 0.0), (7 / 16, 3 / 32), (9 / 16, 1 / 8), (7 / 8, 3 / 16), (5 / 4, 1 / 4), (11 / 8, 5 / 16), (7 / 4, 3 / 8),
    (9 / 4, 1 / 2), (11 / 4, 5 / 8), (13 / 4, 3 / 4), (15 / 4, 7 / 8), (9 / 2, 1.0),
)  # fmt: skip
"""Up to which diameter of shaft a square key is usual, inches; up to the first there is none."""
INCH_KEYS_SOURCE: Final = Source("ANSI B17.1, square keys by the shaft's diameter", "from memory")


def usual_inch_key(diameter: float) -> KeySeat | None:
    """The square key that is usual on an inch shaft (`diameter` in mm); None for one that is thinner or thicker.

    >>> seat = usual_inch_key(1.1875 * 25.4)
    >>> seat.width / 25.4
    0.25
    """
    for (over, _), (thru, side) in pairwise(INCH_KEYS):
        if over * INCH < diameter <= thru * INCH * (1 + 1e-9):
            found = _inch(diameter, side * INCH, 0.0)
            return replace(found, length=None, source=INCH_KEYS_SOURCE)
    return None


def _inch(shaft: float, side: float, length: float) -> KeySeat:
    """A square key half in the shaft, its depth counted at the key's side, as ANSI B17.1 has it (mm)."""
    # S, from the bottom of the keyway to the other side of the shaft, and T = S + key + play, of the hub: at the key's
    # side half of its height is in the shaft, and the shaft's round is lower there by its sagitta.
    s = (shaft - side + math.sqrt(shaft**2 - side**2)) / 2
    t = s + side + HUB_PLAY
    return KeySeat(shaft, side, side, shaft - s, t - shaft, length, B17_1)

"""The frame as it is meant, in mm: where its bars, discs, crossings and window are; for the printer and the finder."""

from __future__ import annotations

from typing import Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from platekit.geometry import Box, Point
from platekit.scan.codes import Code, Shows, Size

Array = NDArray[np.float64]

BARS: Final[dict[Size, tuple[float, float]]] = {"a4": (185.0, 270.0), "letter": (190.0, 255.0), "a3": (270.0, 395.0)}
"""Length of the bars across and along, mm: those that a template has on the same paper, so that what is known of a
printer holds for both (a test holds them together)."""
INSET: Final = 10.5
"""From the bars to the line on which discs and crossings lie, mm (ours)."""
CROSSING: Final = 4.0
"""Radius of the quarters at a crossing, mm (ours: seen at 3 pixels a mm)."""
SPACING: Final = 15.0
"""About how far apart crossings are, mm: close enough to follow a carriage that wanders over 40 mm (ours)."""
WINDOW: Final = 20.5
"""From the bars to the window, mm: the part lies within, its marks on the paper round it (ours)."""


class FrameSheet(Struct, frozen=True):
    """A frame of some size whose picture shows the part's mounting `face`, its `back` (seen through), or nobody said.

    >>> FrameSheet("a4").window.width, FrameSheet("a4").window.height
    (144.0, 229.0)
    """

    size: Size
    shows: Shows = "unsaid"

    @property
    def bars(self) -> Box:
        """The rectangle of the four bars, mm."""
        return Box(0.0, 0.0, *BARS[self.size])

    @property
    def window(self) -> Box:
        """What is cut out for the part, mm."""
        return self.bars.grown(-WINDOW)

    @property
    def codes(self) -> tuple[tuple[Code, Point], ...]:
        """The discs with their centres, mm, from the lower left round."""
        line = self.bars.grown(-INSET)
        at = ((line.x0, line.y0), (line.x1, line.y0), (line.x1, line.y1), (line.x0, line.y1))
        return tuple((Code(self.size, self.shows, corner), at[corner]) for corner in range(4))

    @property
    def crossings(self) -> Array:
        """Where the crossings are, (n, 2) mm: black above right and below left of each."""
        line = self.bars.grown(-INSET)
        across, along = (np.linspace(0.0, span, round(span / SPACING) + 1)[1:-1] for span in (line.width, line.height))
        level = [(line.x0 + x, y) for y in (line.y0, line.y1) for x in across]
        upright = [(x, line.y0 + y) for x in (line.x0, line.x1) for y in along]
        return np.array(level + upright)

    @property
    def reach(self) -> float:
        """Half of the frame's diagonal, mm."""
        return float(np.hypot(*BARS[self.size])) / 2.0

"""How the plate lies on a sheet: one way for pictures and papers."""

from __future__ import annotations

from msgspec import Struct

from platekit.geometry import Box, Point


class View(Struct, frozen=True):
    """From the plate's frame (mm, y up) to a sheet, and back.

    `scale` is in units of the sheet per mm; `x`, `y` is where the plate's zero comes. A sheet is a page of paper (mm
    from its lower left, y up) or a picture (sheet units from its upper left): there y counts `down`.
    """

    scale: float
    x: float
    y: float
    down: bool = False

    @property
    def rise(self) -> float:
        """Units of the sheet's y per mm of the plate's y: the scale, negative where y counts down."""
        return -self.scale if self.down else self.scale

    def at(self, point: Point) -> Point:
        """A point of the plate (mm) on the sheet."""
        return (self.x + self.scale * point[0], self.y + self.rise * point[1])

    # the inverse, for what is decided on the sheet and asked of the exact shape, as where a leader meets an edge
    def back(self, spot: Point) -> Point:
        """The point of the plate (mm) that a place of the sheet shows."""
        return ((spot[0] - self.x) / self.scale, (spot[1] - self.y) / self.rise)

    def box(self, box: Box) -> Box:
        """A box of the plate (mm) on the sheet. Where y counts down, its `y0` is the edge that is seen uppermost."""
        (x0, ya), (x1, yb) = self.at((box.x0, box.y0)), self.at((box.x1, box.y1))
        return Box(x0, min(ya, yb), x1, max(ya, yb))

"""Compensated paths: the middle of the kerf round every shape, with its way in and out, in the order of cutting.

The path lies half a kerf outside the outline and half a kerf inside each opening, exactly: lines stay lines, arcs stay
arcs.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cached_property, lru_cache
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from platekit.cutting.capability import Capability, capability_of
from platekit.cutting.contours import Contour, contours
from platekit.cutting.leads import Site, lead_into
from platekit.cutting.lettering import Stroke
from platekit.cutting.operations import operations_of
from platekit.cutting.route import in_order
from platekit.cutting.scribe import scribing_of
from platekit.errors import GeometryError
from platekit.geometry import Box, Disc, Edge, Loop, Point, Pose, Shape, box_round
from platekit.placed import Layout
from platekit.tables.shop import shop_figure

Direction = Literal["clockwise", "counter-clockwise"]

USUAL_DIRECTION: Direction = "clockwise"
"""Which way the outside is cut (common practice: the torch's square side is on its right, and so is the part)."""


class CutPath(Struct, frozen=True, dict=True):
    """One cut, in the plate frame: pierce, lead-in, once round, a little further, and away; mm.

    `shape` is the finished edge that it leaves. Without room for a pierce `lead_in` is empty and the cut would start
    on the finished edge.
    """

    name: str
    kind: Literal["inside", "outside"]
    shape: Shape
    lead_in: tuple[Edge, ...]
    contour: tuple[Edge, ...]
    overrun: tuple[Edge, ...]
    lead_out: tuple[Edge, ...]

    @property
    def edges(self) -> tuple[Edge, ...]:
        """All of it (mm) in the order of cutting; each edge starts where the last one ends."""
        return (*self.lead_in, *self.contour, *self.overrun, *self.lead_out)

    @property
    def pierce(self) -> Point:
        """Where the head pierces, mm."""
        return self.edges[0].a

    @property
    def end(self) -> Point:
        """Where the head stops, mm."""
        return self.edges[-1].b

    @property
    def pierced_clear(self) -> bool:
        """Whether the pierce lies clear of the finished edge."""
        return bool(self.lead_in)

    @property
    def contour_length(self) -> float:
        """Once round, mm."""
        return math.fsum(edge.length for edge in self.contour)

    @property
    def length(self) -> float:
        """All that is cut, leads and overrun included, mm."""
        return math.fsum(edge.length for edge in self.edges)

    @cached_property
    def box(self) -> Box:
        """The smallest box round the middle of the kerf, mm."""
        return box_round([edge.box for edge in self.edges])

    def moved(self, pose: Pose) -> CutPath:
        """The cut where `pose` (mm, rad) leads; a turned-over plate is cut the other way round."""
        return replace(
            self,
            shape=self.shape.moved(pose),
            lead_in=tuple(edge.moved(pose) for edge in self.lead_in),
            contour=tuple(edge.moved(pose) for edge in self.contour),
            overrun=tuple(edge.moved(pose) for edge in self.overrun),
            lead_out=tuple(edge.moved(pose) for edge in self.lead_out),
        )


class Paths(Struct, frozen=True):
    """All cuts of a plate in their order, the marks and scribed words before them, and what no path runs round."""

    cuts: tuple[CutPath, ...]
    marks: tuple[Point, ...]
    words: tuple[Stroke, ...]
    impossible: tuple[str, ...]
    kerf: float
    direction: Direction


def direction_of(layout: Layout) -> Direction:
    """Which way the outside is cut: as the spec says, else as the machine's file says, else clockwise."""
    machine = layout.spec.machine
    own = None if machine is None else machine.direction
    return layout.cutting.direction or own or USUAL_DIRECTION


def paths_of(layout: Layout, keep_out: Sequence[Shape] = ()) -> Paths:
    """The compensated paths of a plate (mm), ordered: marks, scribed words, openings, the outside.

    `keep_out` are shapes of other parts on the same sheet (plate frame) that leads must stay clear of.
    """
    capability, direction = capability_of(layout), direction_of(layout)
    found, impossible = [], []
    for contour in contours(layout):
        path = cut_path(contour, capability, direction, tuple(keep_out) if contour.kind == "outside" else ())
        if path is None:
            impossible.append(contour.name)
        else:
            found.append(path)
    # The outside comes last: once it is cut the plate lies loose, and tips or creeps.
    corner = (layout.outline.box.x0, layout.outline.box.y0)
    inside = [path for path in found if path.kind == "inside"]
    outside = [path for path in found if path.kind == "outside"]
    reach = heat_reach(capability)
    order = in_order([path.pierce for path in inside], corner, reach, outside[0].pierce if outside else None)
    # two openings may share a mark, as both ends of touching slots do: it is punched once
    marks = list(dict.fromkeys(point for operations in operations_of(layout) for point in operations.marks))
    marked = in_order(marks, corner, 0.0, None)
    # Words are scribed one after the other on a short way, before anything is cut: the plate is still in one piece.
    words = scribing_of(layout).words
    return Paths(
        cuts=(*(inside[k] for k in order), *outside),
        marks=tuple(marks[k] for k in marked),
        words=tuple(
            stroke for k in in_order([word.at for word in words], corner, 0.0, None) for stroke in words[k].strokes
        ),
        impossible=tuple(impossible),
        kerf=capability.kerf.value,
        direction=direction,
    )


HEAT_IN_THICKNESSES = shop_figure("heat beside a cut, in thicknesses")
"""Within so many thicknesses of a fresh cut the plate is still hot (`shop_figures.csv`): better cut elsewhere next."""


def heat_reach(capability: Capability) -> float:
    """Distance (mm) within which the next cut is better not made; 0 for a cold process."""
    return HEAT_IN_THICKNESSES * capability.thickness if capability.traits.hard_edge else 0.0


@lru_cache(maxsize=256)  # a page asks again after an edit of something else
def cut_path(
    contour: Contour, capability: Capability, direction: Direction, keep_out: tuple[Shape, ...] = ()
) -> CutPath | None:
    """The cut round one contour (mm); None where the kerf does not fit into it."""
    half = capability.kerf.value / 2
    outside = contour.kind == "outside"
    # an opening narrower than the kerf has no path inside it; an outline grows and always has one
    try:
        middle = contour.shape.grown(half if outside else -half) if half else contour.shape
    except GeometryError:
        return None
    # Openings run the other way round than the outside, so that the same side of the torch faces the part in both: on
    # plasma only one side of the kerf comes out square.
    clockwise = (direction == "clockwise") == outside
    loop = middle.loop()
    # all that a lead has to know of this cut, in one value
    site = Site(
        path=loop,
        shape=contour.shape,
        kind=contour.kind,
        scrap_left=clockwise == outside,
        kerf=capability.kerf.value,
        lead=capability.lead.value,
        room=capability.pierce_room.value,
        overrun=capability.overrun.value,
        keep_out=keep_out,
    )
    way = lead_into(site, in_direction(loop, clockwise))
    return CutPath(contour.name, contour.kind, contour.shape, way.lead_in, way.contour, way.overrun, way.lead_out)


def outside_path(layout: Layout) -> CutPath | None:
    """The cut round the outline by itself (mm), leads included; None for a process that follows no drawing."""
    capability = capability_of(layout)
    if not capability.traits.table:
        return None
    # without what lies beside it: the way in goes wherever it is best for the plate alone
    return cut_path(Contour("outside", "outside", layout.outline), capability, direction_of(layout))


def in_direction(loop: Loop, clockwise: bool) -> tuple[Edge, ...]:
    """The edges of a loop run clockwise or counter-clockwise."""
    if not clockwise:
        return loop.edges
    return tuple(edge.reversed() for edge in reversed(loop.edges))


def is_round(path: CutPath) -> bool:
    """Whether the cut goes round a full circle."""
    return isinstance(path.shape, Disc)

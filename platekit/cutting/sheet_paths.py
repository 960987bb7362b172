"""Compensated paths of all copies on their sheet: each copy's cuts where it lies, its leads clear of the others.

Everything is marked and scribed first, while the sheet is whole. Then copy by copy: its openings, then its outside; the
next copy is near, and openings that follow each other are apart where heat matters (see `route`).
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from platekit.cutting.capability import capability_of
from platekit.cutting.contours import Contour
from platekit.cutting.lettering import Stroke
from platekit.cutting.nest import Nest
from platekit.cutting.paths import CutPath, Paths, cut_path, direction_of, heat_reach
from platekit.cutting.route import in_order
from platekit.geometry import Index, Point, Pose, Shape, Slot
from platekit.placed import Layout


class SheetPaths(Struct, frozen=True):
    """All cuts of the copies, in the frame that `poses` lead to, mm.

    `copies` has the cuts of each in the order of cutting, openings first; `tight` are the numbers (from 1, as laid) of
    copies that have no room for the pierce of their outside.
    """

    marks: tuple[Point, ...]
    words: tuple[Stroke, ...]
    copies: tuple[tuple[CutPath, ...], ...]
    tight: tuple[int, ...]
    kerf: float

    @property
    def cuts(self) -> tuple[CutPath, ...]:
        """All cuts in their order."""
        return tuple(cut for copy in self.copies for cut in copy)


def sheet_paths(layout: Layout, one: Paths, nest: Nest, to_file: Pose) -> SheetPaths:
    """The cuts of every copy (mm); `one` are those of the plate alone, `to_file` leads from the sheet to the file."""
    capability, direction = capability_of(layout), direction_of(layout)
    poses = [pose.then(to_file) for pose in nest.poses]
    edges = _edges_of_the_sheet(nest, to_file, capability.kerf.value)
    outlines, around = _around(layout, poses)
    order = in_order([outline.box.center for outline in outlines], (0.0, 0.0), heat_reach(capability), None)
    here: Point = (0.0, 0.0)
    copies: list[tuple[CutPath, ...]] = []
    tight: list[int] = []
    for k in order:
        # In the plate's own frame, where its paths are known: only the outside is led in anew, clear of what lies round
        # this copy; then the openings in the best order from where the head is, ending near the outside's pierce.
        back = poses[k].inverse()
        keep_out = tuple(shape.moved(back) for shape in (*around[k], *edges))
        inside = [cut for cut in one.cuts if cut.kind == "inside"]
        outside = [
            cut_path(Contour(cut.name, cut.kind, cut.shape), capability, direction, keep_out) or cut
            for cut in one.cuts
            if cut.kind == "outside"
        ]
        end = outside[0].pierce if outside else None
        openings = in_order([cut.pierce for cut in inside], back.point(here), heat_reach(capability), end)
        cuts = tuple(cut.moved(poses[k]) for cut in (*(inside[n] for n in openings), *outside))
        if not all(cut.pierced_clear for cut in cuts):
            tight.append(k + 1)
        copies.append(cuts)
        here = cuts[-1].end
    return SheetPaths(
        marks=tuple(poses[k].point(mark) for k in order for mark in one.marks),
        words=tuple(tuple(edge.moved(poses[k]) for edge in stroke) for k in order for stroke in one.words),
        copies=tuple(copies),
        tight=tuple(sorted(tight)),
        kerf=one.kerf,
    )


def tight_copies(layout: Layout, nest: Nest) -> tuple[int, ...]:
    """The numbers (from 1, as laid) of copies that have no room for the pierce and lead of their outside."""
    capability, direction = capability_of(layout), direction_of(layout)
    edges = _edges_of_the_sheet(nest, Pose(), capability.kerf.value)
    _, around = _around(layout, nest.poses)
    outside = Contour("outside", "outside", layout.outline)
    tight = []
    for k, pose in enumerate(nest.poses):
        back = pose.inverse()
        # in the plate's own frame, as one outline serves all copies: only what lies round it differs
        cut = cut_path(outside, capability, direction, tuple(shape.moved(back) for shape in (*around[k], *edges)))
        if cut is None or not cut.pierced_clear:
            tight.append(k + 1)
    return tuple(tight)


def _around(layout: Layout, poses: Sequence[Pose]) -> tuple[list[Shape], list[list[Shape]]]:
    """The outlines of all copies, and of each those of the others that its leads could reach."""
    capability = capability_of(layout)
    outlines: list[Shape] = [layout.outline.moved(pose) for pose in poses]
    # no lead is longer than that, and the neighbour's may be as long: twice it is far enough
    reach = capability.lead.value + capability.kerf.value + capability.pierce_room.value
    near = Index([outline.box for outline in outlines])
    return outlines, [
        [outlines[n] for n in near.near(outline.box, 2 * reach) if n != k] for k, outline in enumerate(outlines)
    ]


def _edges_of_the_sheet(nest: Nest, to_file: Pose, kerf: float) -> list[Shape]:
    """The sheet's edges as bars as wide as the kerf: no lead crosses them, so none leaves the sheet."""
    return [Slot(edge.a, edge.b, kerf / 2) for edge in nest.sheet.moved(to_file).edges]

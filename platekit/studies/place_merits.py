"""How good a place is that has no stop: plate area, belt, clearance, reach; for many poses at once.

The merits of one pose are worked out of few figures and rank thousands of poses before any is laid out; the area is
that of a hull with `DIRECTIONS` straight sides. The area shown in the end is measured on the layout itself.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from msgspec import Struct

from platekit.choices import Merit
from platekit.geometry import Disc
from platekit.geometry.poses import Core, Numbers, Poses, core_of
from platekit.laying.outline import margin_round
from platekit.laying.runs import centre_distance
from platekit.placed import Layout, Side
from platekit.studies.place_filter import ENOUGH, Filter, staying
from platekit.studies.place_space import SearchSpace, shafts_of

DIRECTIONS: Final = 96
"""Sides of the hull by which areas are compared (ours: within a percent)."""
ROWS: Final = 4096
"""Poses whose hulls are worked out at once (ours)."""


class Weights(Struct, frozen=True):
    """What one unit of each merit costs; the cheapest place is the best.

    `area` a square centimetre of plate, `belt` a mm that the shafts are off the distance of the belt in stock,
    `clearance` a mm short of `ENOUGH` spare, `reach` a mm between the mount's zero and the nearest mount that stays.
    """

    area: float = 1.0
    belt: float = 1.0
    clearance: float = 1.0
    reach: float = 0.1


WEIGHTS: Final[dict[Merit, Weights]] = {
    "balance": Weights(),
    "area": Weights(1.0, 0.001, 0.001, 0.0001),
    "belt": Weights(0.001, 1.0, 0.001, 0.0001),
    "clearance": Weights(0.001, 0.001, 1.0, 0.0001),
    "reach": Weights(0.001, 0.001, 0.001, 1.0),
}
"""A square centimetre of plate counts as much as a mm of clearance, a mm of belt or 10 mm of reach (ours); or one merit
alone, and the others only where that is equal."""


class Merits(Struct, frozen=True):
    """The merits of one place. `area` mm2; `belt` mm off the belt's own distance, None without belt; the rest mm."""

    area: float
    belt: float | None
    clearance: float
    reach: float

    def cost(self, weights: Weights) -> float:
        """What it costs, less is better: cm2 of plate, mm off the belt, mm of clearance and reach wanting, weighted."""
        off = weights.belt * (self.belt or 0.0)
        near = weights.clearance * (ENOUGH - min(self.clearance, ENOUGH))
        return weights.area * self.area / 100 + off + near + weights.reach * self.reach


class Yardstick(Struct, frozen=True):
    """What the merits of every pose on one side are measured by."""

    space: SearchSpace
    side: Side
    questions: Filter
    pads: tuple[tuple[Core, float], ...]
    """What moves and is wrapped: core in the mount's own frame, and the pad round it (mm)."""
    still: Numbers
    """How far what stays reaches in each direction, mm."""
    plate: float | None
    """Area of an outline that is given, mm2."""
    distance: float | None
    """The distance of the shafts that the belt asks for, mm."""
    anchors: Numbers
    """The zeros of the mounts that stay."""

    def measured(self, at: Poses) -> list[Merits]:
        """The merits of every pose (mm2, mm)."""
        area = self._areas(at)
        spare = self.questions.clearances(at)
        away = at.zero[:, None, :] - self.anchors
        reach = np.hypot(away[..., 0], away[..., 1]).min(axis=1)
        off = None if self.distance is None else self._belt_off(at)
        return [
            Merits(float(area[k]), None if off is None else float(off[k]), float(spare[k]), float(reach[k]))
            for k in range(len(at))
        ]

    def costs(self, at: Poses, weights: Weights) -> Numbers:
        """What every pose costs: cm2 of plate and mm, weighted."""
        off = np.zeros(len(at)) if self.distance is None else self._belt_off(at)
        short = ENOUGH - self.questions.clearances(at)
        away = at.zero[:, None, :] - self.anchors
        reach = np.hypot(away[..., 0], away[..., 1]).min(axis=1)
        total: Numbers = (
            weights.area * self._areas(at) / 100
            + weights.belt * off
            + weights.clearance * short
            + weights.reach * reach
        )
        return total

    def _belt_off(self, at: Poses) -> Numbers:
        assert self.distance is not None
        if self.space.beside is not None:
            return np.asarray(np.abs(self.space.beside.apart(at, self.side) - self.distance))
        # too near and too far cost alike: the belt in stock fits at one distance
        away = shafts_of(self.space, at) - np.asarray(self.space.other)
        off: Numbers = np.abs(np.hypot(away[:, 0], away[:, 1]) - self.distance)
        return off

    def _areas(self, at: Poses) -> Numbers:
        if self.plate is not None:
            return np.full(len(at), self.plate)
        result = np.empty(len(at))
        for start in range(0, len(at), ROWS):
            rows = np.arange(start, min(start + ROWS, len(at)))
            # How far all pads reach in each direction: what stays, and what moves at both ends of its travel.
            here, ways = at.only(rows), _ways()
            reach = np.broadcast_to(self.still, (len(here), DIRECTIONS)).copy()
            travel = np.maximum(here.low @ ways.T, here.high @ ways.T)
            for core, pad in self.pads:
                ends = np.concatenate([here.to_plate(core.a), here.to_plate(core.b)], axis=1)
                reach = np.maximum(reach, (ends @ ways.T).max(axis=1) + travel + core.reach + pad)
            # The hull as a polygon of tangents at equal angles. Each side is as long as its neighbours' reaches leave
            # it, and the area is the sum of the triangles over them: half of reach times side.
            step = math.tau / DIRECTIONS
            before, after = np.roll(reach, 1, axis=1), np.roll(reach, -1, axis=1)
            sides = (before + after - 2 * math.cos(step) * reach) / math.sin(step)
            areas: Numbers = 0.5 * (reach * sides).sum(axis=1)
            result[rows] = areas
        return result


def _ways() -> Numbers:
    angles = np.arange(DIRECTIONS) * (math.tau / DIRECTIONS)
    return np.stack([np.cos(angles), np.sin(angles)], axis=-1)


def yardstick(space: SearchSpace, layout: Layout, questions: Filter) -> Yardstick:
    """What poses are measured by (mm), from a layout in which the mount stands in any one pose of the side."""
    back = layout.mounts[space.name].pose.inverse()
    stay = staying(space)
    wrap = layout.wrapped
    stacks, margins = {stack.mount: stack for stack in layout.stacks}, [0.0] * len(layout.openings)
    if wrap:
        margins = [
            margin_round(layout.spec, opening, stacks.get(opening.mount or ""), layout.limits)
            for opening in layout.openings
        ]
    ways = _ways()
    pads = []
    still = np.full(DIRECTIONS, -np.inf)
    for opening, margin in zip(layout.openings, margins, strict=True):
        if opening.mount == space.name:
            # before its travel, which a pose brings along: round, or as it is where its size is not known
            shape = opening.shape
            if layout.mounts[space.name].travel is not None and opening.size:
                shape = Disc(opening.center, opening.size / 2)
            pads.append((core_of(shape.moved(back)), margin))
        else:
            core = core_of(opening.shape)
            reach = (np.concatenate([core.a, core.b]) @ ways.T).max(axis=0) + core.reach + margin
            still = np.maximum(still, reach)
    # a plate that spreads far from what stays is long and weak; where nothing stays, all others count
    anchors = [mount.pose for name, mount in layout.mounts.items() if name in stay] or [
        mount.pose for name, mount in layout.mounts.items() if name != space.name
    ]
    # The distance of the shafts at which the belt in stock just fits, mm; with idlers it depends on the direction.
    distance = None
    if space.run is not None and not space.by_belt and not space.run.words.idlers:
        distance = centre_distance(space.spec, space.run)
    return Yardstick(
        space=space,
        side=layout.mounts[space.name].side,
        questions=questions,
        pads=tuple(pads),
        still=still,
        plate=None if wrap else layout.outline.area,
        distance=distance,
        anchors=np.array([(pose.x, pose.y) for pose in anchors] or [(0.0, 0.0)]),
    )

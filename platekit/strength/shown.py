"""What a picture of the answer is made of: stress, movement and the first mode over the plate, as regions by level.

All is plain numbers here, so that what draws needs no numpy. A field is divided into `LEVELS`; region k is where it is
at least k of them. Drawn one over the other, darker each time, the regions are the picture; their edges are its lines.
"""

from __future__ import annotations

from typing import Final, Literal

import numpy as np
from msgspec import Struct

from platekit.geometry import Point
from platekit.strength.answer import AtScrew, State, answer_to, factored_plate, frequencies
from platekit.strength.mesh import Floats, Mesh, Whole
from platekit.strength.question import Question

LEVELS: Final = 8
"""Steps of the scale (ours): more are not told apart in grey."""
QUARTERS: Final = ((0, 3, 5), (3, 1, 4), (5, 4, 2), (3, 4, 5))
"""A triangle of six nodes as four of three."""
DECIMALS: Final = 2
"""Of a mm, for what is drawn (ours)."""

Region = tuple[tuple[Point, ...], ...]
"""Closed lines round a region, those round its holes too, mm in the plate frame."""


class Field(Struct, frozen=True):
    """One figure over the plate: the most of it in its unit, where that is, the regions from the lowest level up."""

    most: float
    unit: Literal["mm", "N/mm2", ""]
    at: Point
    regions: tuple[Region, ...]


class Shown(Struct, frozen=True):
    """What is drawn of an answer: `mode` is how the plate swings first, at `rings` Hz (softest and stiffest seats)."""

    worst: State
    stress: Field
    furthest: State
    movement: Field
    mode: Field | None
    rings: tuple[float, float] | None
    screws: tuple[AtScrew, ...]


def shown(question: Question) -> Shown:
    """The fields (N/mm2, mm) of a question that has an answer; raises StrengthError as that does."""
    answer = answer_to(question)
    plate = factored_plate(question)
    worst, furthest = answer.worst, max(answer.states, key=lambda state: state.sag)
    stress, _ = plate.fields(worst)
    _, moved = plate.fields(furthest)
    mesh = plate.plate.mesh
    mode, rings = None, frequencies(question)
    if rings is not None:
        shape = plate.standing("soft", question.travels - 1).modes(question.weights - 1)[1].bent[::3, 0]
        # a mode has a shape and no size: it is drawn as shares of its own greatest movement
        mode = _field(mesh, np.abs(shape) / np.abs(shape).max(), 1.0, "")
    return Shown(
        worst=worst,
        stress=_field(mesh, stress, worst.stress, "N/mm2", worst.at),
        furthest=furthest,
        movement=_field(mesh, moved, furthest.sag, "mm"),
        mode=mode,
        rings=rings[0] if rings else None,
        screws=tuple(most_at_each(answer.states)),
    )


def most_at_each(states: tuple[State, ...]) -> list[AtScrew]:
    """Each screw with the most that pulls it off and the most that pushes it sideways (N), in any state."""
    found: dict[str, AtScrew] = {}
    for one in (one for state in states for one in state.screws):
        before = found.get(one.hole, one)
        pull, shear = max(before.pull, one.pull), max(before.shear, one.shear)
        found[one.hole] = AtScrew(one.hole, one.mount, before.at, pull, shear)
    return list(found.values())


def _field(mesh: Mesh, values: Floats, most: float, unit: Literal["mm", "N/mm2", ""], at: Point | None = None) -> Field:
    """A figure at the nodes as regions; what is above `most` (under washers) counts as that."""
    triangles = np.vstack([mesh.triangles[:, list(corners)] for corners in QUARTERS])
    share = np.minimum(values / most, 1.0) if most > 0 else np.zeros(len(values))
    if at is None:
        top = int(np.argmax(np.round(values / most, 6))) if most > 0 else 0
        at = (float(mesh.nodes[top, 0]), float(mesh.nodes[top, 1]))
    regions = tuple(_above(mesh, triangles, share * LEVELS, float(step)) for step in range(LEVELS))
    return Field(most, unit, at, regions)


def _above(mesh: Mesh, triangles: Whole, values: Floats, level: float) -> Region:
    """The closed lines round where a figure, known at the nodes and straight between them, is at least a level.

    Each triangle gives the part of it that lies above, as a polygon; a side that two polygons share goes both ways and
    is left out, and what is left runs end to end. Points between two nodes are known by the pair.
    """
    count = len(mesh.nodes)
    high = values[triangles] >= level - 1e-9
    ways: list[tuple[Whole, Whole]] = []

    def turned(above: int, first: Whole) -> tuple[Whole, Whole, Whole]:
        """Corners of the triangles with so many of them above, beginning at `first` of each."""
        chosen = high.sum(1) == above
        order = (first[chosen][:, None] + np.arange(3)) % 3
        a, b, c = np.take_along_axis(triangles[chosen], order, 1).T
        return a, b, c

    def between(one: Whole, other: Whole) -> Whole:
        return count + np.minimum(one, other) * count + np.maximum(one, other)

    a, b, c = turned(3, np.zeros(len(triangles), dtype=np.int64))
    ways += [(a, b), (b, c), (c, a)]
    a, b, c = turned(1, high.argmax(1))
    ways += [(a, between(a, b)), (between(a, b), between(a, c)), (between(a, c), a)]
    a, b, c = turned(2, (high.argmin(1) + 1) % 3)
    ways += [(a, b), (b, between(b, c)), (between(b, c), between(a, c)), (between(a, c), a)]
    # sides by number, and only those that no neighbour runs the other way: they are the region's edge
    start, end = (np.concatenate([way[side] for way in ways]) for side in (0, 1))
    known, both = np.unique(np.concatenate([start, end]), return_inverse=True)
    start, end = both[: len(start)], both[len(start) :]
    onward: dict[int, list[int]] = {}
    alone = ~np.isin(start * len(known) + end, end * len(known) + start)
    for leaves, enters in sorted(zip(start[alone].tolist(), end[alone].tolist(), strict=True)):
        onward.setdefault(leaves, []).append(enters)
    # sides end to end as closed lines, beginning at the lowest number each; where two lines touch at a corner the side
    # that was filed first goes on, so that every machine draws the same lines
    lines = []
    for first in sorted(onward):
        if first not in onward:
            continue
        line, here = [first], first
        while True:
            following = onward[here]
            after = following.pop(0)
            if not following:
                del onward[here]
            if after == first:
                break
            line.append(after)
            here = after
        lines.append(line)
    # a number up to `count` is a node, one beyond it stands for the crossing between two: where straight lines between
    # their figures reach the level
    one, other = np.divmod(np.maximum(known - count, 0), count)
    rise = values[other] - values[one]
    part = np.clip((level - values[one]) / np.where(rise == 0, 1.0, rise), 0.0, 1.0)
    cut = mesh.nodes[one] + part[:, None] * (mesh.nodes[other] - mesh.nodes[one])
    places = np.where((known < count)[:, None], mesh.nodes[np.minimum(known, count - 1)], cut)
    return tuple(tuple((round(x, DECIMALS), round(y, DECIMALS)) for x, y in places[line].tolist()) for line in lines)

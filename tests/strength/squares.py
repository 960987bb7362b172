"""Plates for the tests of the room `strength`, and what holds and loads them there."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from platekit.geometry import Disc, Loop, Point, rectangle
from platekit.strength.element import UNKNOWNS, Plate, Steel, bending_stiffness
from platekit.strength.mesh import Spot, mesh
from platekit.strength.solving import Factored
from platekit.strength.stresses import along_edges

Floats = NDArray[np.float64]
STEEL = Steel(210e3, 0.3, 7.85e-9)


class Sample(Plate):
    """A meshed plate with what a test asks of it."""

    def __init__(
        self,
        outer: Loop,
        holes: Sequence[Disc] = (),
        thickness: float = 10.0,
        largest: float = 12.0,
        per_turn: int = 24,
        steel: Steel = STEEL,
        fixed: Sequence[Point] = (),
        spots: Sequence[Spot] = (),
    ) -> None:
        made = mesh(outer, [hole.loop() for hole in holes], largest, per_turn, fixed=fixed, spots=spots)
        super().__init__(made, thickness, steel)
        self.x, self.y = made.nodes.T
        self.bending = bending_stiffness(steel, thickness)

    def at(self, x: float, y: float) -> int:
        """The node nearest to a place."""
        return int(np.argmin(np.hypot(self.x - x, self.y - y)))

    def unknowns(self, nodes: object, *which: int) -> NDArray[np.int64]:
        """Unknowns of nodes, all nodes for None."""
        chosen = np.arange(len(self.x)) if nodes is None else np.atleast_1d(np.asarray(nodes))
        return np.concatenate([UNKNOWNS * chosen + one for one in which])

    def solved(self, load: Floats, held: NDArray[np.int64]) -> Floats:
        return Factored(self.stiffness, held).solve(load)

    def along_edge(self, number: int, moved: Floats) -> tuple[Floats, Floats]:
        """Stress in the middle plane along one edge, and what bending adds."""
        edges = along_edges(self, moved[:, None])
        return edges.each(edges.middle[:, 0])[number], edges.each(edges.bending[:, 0])[number]

    def push(self, node: int, which: int, size: float = 1.0) -> Floats:
        """A single force."""
        load = np.zeros(self.size)
        load[UNKNOWNS * node + which] = size
        return load

    def side(self, nodes: NDArray[np.int64], which: int, size: float) -> Floats:
        """An even load on a straight side: of each quadratic piece a sixth, four sixths, a sixth."""
        load = np.zeros(self.size)
        order = nodes[np.argsort(self.y[nodes] + 1e-6 * self.x[nodes])]
        for i in range(0, len(order) - 2, 2):
            length = math.dist((self.x[order[i]], self.y[order[i]]), (self.x[order[i + 2]], self.y[order[i + 2]]))
            for node, share in zip(order[i : i + 3], (1 / 6, 4 / 6, 1 / 6), strict=True):
                load[UNKNOWNS * node + which] += size * length * share
        return load


def square(side: float, thickness: float, largest: float) -> Sample:
    """A square plate with a node in its middle."""
    return Sample(rectangle(side, side), thickness=thickness, largest=largest, fixed=[(0.0, 0.0)])


def sides(plate: Sample, half: float) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """The nodes on the two sides across x, and on the two across y."""
    return np.flatnonzero(np.abs(plate.x) > half - 1e-6), np.flatnonzero(np.abs(plate.y) > half - 1e-6)

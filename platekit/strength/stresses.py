"""Stresses in the plate at its nodes, and along its edges, where they are highest."""

from __future__ import annotations

import numpy as np
from msgspec import Struct

from platekit.strength.element import UNKNOWNS, Plate
from platekit.strength.mesh import Floats

_GAUSS = 0.5 / 3**0.5


class AtNodes(Struct, frozen=True, eq=False):
    """By node (n, 3) as xx, yy, xy: stress in the middle plane and what bending adds at the near face, N/mm2."""

    middle: Floats
    bending: Floats

    @property
    def worst(self) -> Floats:
        """Equivalent stress (von Mises) at the worse of the two faces, N/mm2."""
        return np.maximum(mises(self.middle + self.bending), mises(self.middle - self.bending))


class AlongEdge(Struct, frozen=True, eq=False):
    """Stress along one edge, two places to a side: the places, stress in the middle plane, what bending adds."""

    where: Floats
    middle: Floats
    bending: Floats

    @property
    def worst(self) -> Floats:
        """Stress along the edge at the worse of the two faces, whatever its sign, N/mm2."""
        return np.abs(self.middle) + np.abs(self.bending)


def at_nodes(plate: Plate, moved: Floats) -> AtNodes:
    """Stresses at the nodes, as the mean of the triangles round each."""
    mesh, places = plate.mesh, plate.at_nodes
    each = moved[: plate.size].reshape(-1, UNKNOWNS)[mesh.triangles]
    bubbles = -np.einsum("mij,mj->mi", plate.bubbles, moved[plate.in_bending])
    in_plane = np.einsum("mqkc,mkd->mqdc", places.by_xy, each[..., :2])
    turns = np.einsum("mqkc,mkd->mqdc", places.by_xy, each[..., 3:5])
    turns += np.einsum("mqc,md->mqdc", places.bubble_by_xy, bubbles)
    law = plate.steel.law
    both = np.concatenate([_strains(in_plane) @ law, _strains(turns) @ law * plate.thickness / 2], -1)
    sums, count = np.zeros((len(mesh.nodes), 6)), np.bincount(mesh.triangles.ravel(), minlength=len(mesh.nodes))
    np.add.at(sums, mesh.triangles, both)
    sums /= count[:, None]
    return AtNodes(sums[:, :3], sums[:, 3:])


def along_edges(plate: Plate, moved: Floats) -> tuple[AlongEdge, ...]:
    """Stress along each edge from how the edge itself is stretched and bent: nothing pulls across a free edge.

    The stretch of a quadratic side is an order better at the two Gauss places than anywhere else.
    """
    share = np.array([0.5 - _GAUSS, 0.5 + _GAUSS])
    values = np.stack([(1 - share) * (1 - 2 * share), 4 * share * (1 - share), share * (2 * share - 1)], 1)
    derivatives = np.stack([4 * share - 3, 4 - 8 * share, 4 * share - 1], 1)
    each = moved[: plate.size].reshape(-1, UNKNOWNS)
    found = []
    for rows in plate.mesh.edges:
        nodes = plate.mesh.nodes[rows]
        run = np.einsum("gk,ekc->egc", derivatives, nodes)
        length = np.linalg.norm(run, axis=-1)
        along = run / length[..., None]
        change = np.einsum("gk,ekc->egc", derivatives, each[rows]) / length[..., None]
        stretch, bend = (change[..., :2] * along).sum(-1), (change[..., 3:5] * along).sum(-1)
        modulus = plate.steel.modulus
        found.append(
            AlongEdge(
                np.einsum("gk,ekc->egc", values, nodes).reshape(-1, 2),
                (modulus * stretch).ravel(),
                (modulus * plate.thickness / 2 * bend).ravel(),
            )
        )
    return tuple(found)


def highest(values: Floats) -> float:
    """The highest value round an edge, between the places too: a parabola through the highest and its neighbours."""
    top = int(np.argmax(values))
    before, here, after = values[top - 1], values[top], values[(top + 1) % len(values)]
    bend = before - 2 * here + after
    return float(here if bend >= 0 else here - (before - after) ** 2 / (8 * bend))


def mises(stress: Floats) -> Floats:
    """Equivalent stress in plane stress; `stress` as xx, yy, xy."""
    xx, yy, xy = stress[..., 0], stress[..., 1], stress[..., 2]
    found: Floats = np.sqrt(xx**2 - xx * yy + yy**2 + 3 * xy**2)
    return found


def _strains(change: Floats) -> Floats:
    return np.stack([change[..., 0, 0], change[..., 1, 1], change[..., 0, 1] + change[..., 1, 0]], -1)

"""Stresses in the plate at its nodes, and along its edges, where they are highest."""

from __future__ import annotations

import numpy as np
from msgspec import Struct

from platekit.strength.element import UNKNOWNS, Plate
from platekit.strength.mesh import Floats

_GAUSS = 0.5 / 3**0.5  # the two Gauss places of a side lie so far from its middle, as a share of the side


class AtNodes(Struct, frozen=True, eq=False):
    """By node (n, 3, cases) as xx, yy, xy: stress in the middle plane and what bending adds at the near face, N/mm2."""

    middle: Floats
    bending: Floats

    @property
    def worst(self) -> Floats:
        """Equivalent stress (von Mises) at the worse of the two faces, N/mm2: (n, cases)."""
        return np.maximum(mises(self.middle + self.bending), mises(self.middle - self.bending))


class AlongEdges(Struct, frozen=True, eq=False):
    """Stress along the edges, two places to a side, edge after edge.

    The places (n, 2), stress in the middle plane and what bending adds (n, cases), and at which of them each edge ends.
    """

    where: Floats
    middle: Floats
    bending: Floats
    ends: tuple[int, ...]

    @property
    def worst(self) -> Floats:
        """Stress along the edge at the worse of the two faces, whatever its sign, N/mm2: (n, cases)."""
        return np.abs(self.middle) + np.abs(self.bending)

    def each(self, values: Floats) -> tuple[Floats, ...]:
        """Values at all places (N/mm2, or in their own unit), edge by edge."""
        return tuple(np.split(values, self.ends[:-1]))


def at_nodes(plate: Plate, moved: Floats) -> AtNodes:
    """Stresses at the nodes, N/mm2, as the mean of the triangles round each; `moved` is (unknowns, cases), mm and rad.

    Each triangle has stresses of its own that jump at its sides; the mean of those that meet is nearer to the truth
    than any of them (nodal averaging; common practice).
    """
    mesh, places = plate.mesh, plate.at_nodes
    count, cases = len(mesh.nodes), moved.shape[1]
    each = moved.reshape(count, UNKNOWNS, cases)[mesh.triangles]
    # the bubble was taken out of the equations in each triangle; its turns follow from those of the nodes
    bubbles = -np.matmul(plate.bubbles, moved[plate.in_bending])
    by_xy = places.by_xy.transpose(0, 1, 3, 2)  # triangle, place, axis, node

    def change(parts: Floats) -> Floats:
        """Derivatives by x and y at the places of a movement (m, 6, 2, cases): (m, q, axis, part, case)."""
        flat = parts.reshape(len(parts), 1, 6, -1)
        changed: Floats = np.matmul(by_xy, flat).reshape(*by_xy.shape[:3], 2, cases)
        return changed

    in_plane = change(each[:, :, :2])
    turns = change(each[:, :, 3:5])
    turns += places.bubble_by_xy[:, :, :, None, None] * bubbles[:, None, None]
    # the mean over the triangles round a node, as a product with a matrix of ones: fast for many cases
    law = plate.steel.law
    both = np.concatenate([_strains(in_plane), plate.thickness / 2 * _strains(turns)], 2)
    flat = both.reshape(-1, 6 * cases)
    sums = plate.gathered @ flat
    sums = sums.reshape(count, 2, 3, cases) / plate.shared[:, None, None, None]
    stress = np.einsum("ij,nhjc->nhic", law, sums)
    return AtNodes(stress[:, 0], stress[:, 1])


def along_edges(plate: Plate, moved: Floats) -> AlongEdges:
    """Stress along each edge, N/mm2, from how the edge itself is stretched and bent: nothing pulls across a free edge.

    `moved` is (unknowns, cases), mm and rad. So the stress along it is the modulus times the stretch along it, and no
    triangle beside it need be asked.
    The stretch of a quadratic side is an order better at the two Gauss places than anywhere else.
    """
    share = np.array([0.5 - _GAUSS, 0.5 + _GAUSS])
    # the quadratic functions of a side's corner, middle, corner, and their derivatives, at the two Gauss places
    values = np.stack([(1 - share) * (1 - 2 * share), 4 * share * (1 - share), share * (2 * share - 1)], 1)
    derivatives = np.stack([4 * share - 3, 4 - 8 * share, 4 * share - 1], 1)
    cases = moved.shape[1]
    each = moved.reshape(-1, UNKNOWNS, cases)
    rows = np.vstack(plate.mesh.edges)
    nodes = plate.mesh.nodes[rows]
    # the side as a curve: its run by the share is as long as the side is stretched out there, and points along it
    run = np.einsum("gk,ekc->egc", derivatives, nodes)
    length = np.linalg.norm(run, axis=-1)
    along = run / length[..., None]
    change = np.einsum("gk,ekuc->eguc", derivatives, each[rows]) / length[..., None, None]
    stretch, bend = ((change[:, :, part : part + 2] * along[..., None]).sum(2) for part in (0, 3))
    # one-dimensional Hooke: across a free edge there is no stress, so neither Poisson's ratio nor the shear comes in
    modulus = plate.steel.modulus
    return AlongEdges(
        np.einsum("gk,ekc->egc", values, nodes).reshape(-1, 2),
        (modulus * stretch).reshape(-1, cases),
        (modulus * plate.thickness / 2 * bend).reshape(-1, cases),
        tuple(int(end) for end in np.cumsum([len(share) * len(one) for one in plate.mesh.edges])),
    )


OF_BENT_MEAN = 0.85
"""What the mean over the steel under a washer has of the difference of the main stresses of a bent plate without the
hole (ours: 0.81 to 0.92 for washers twice as wide as their hole; of a pulled plate it has all)."""


def at_hole(middle: Floats, bending: Floats, pulled: float, bent: float) -> Floats:
    """The highest stress round a hole in a wide plate by the mean stress under its washer, N/mm2.

    `middle` and `bending` are these means, xx, yy, xy (3, cases), N/mm2; `pulled` and `bent` how many times the stress
    of a plate that is pulled, or bent, one way. Round the hole the stress along its edge is the sum of the two main
    ones less (factor - 1) times their difference, turned by twice the angle (G. Kirsch, 1898): so it is at most the sum
    and that many times the difference, on either face.
    """
    found = np.zeros(middle.shape[1])
    for face in (1.0, -1.0):
        whole = middle[0] + middle[1] + face * (bending[0] + bending[1])
        more = face * (bent - 1) / OF_BENT_MEAN
        apart = (pulled - 1) * (middle[0] - middle[1]) + more * (bending[0] - bending[1])
        twist = (pulled - 1) * middle[2] + more * bending[2]
        found = np.maximum(found, np.abs(whole) + np.hypot(apart, 2 * twist))
    return found


def highest(values: Floats) -> float:
    """The highest value round an edge (in N/mm2 or any unit), between the places, too.

    By the parabola through the highest and its two neighbours.
    """
    top = int(np.argmax(values))  # the first of equals; an edge closes, so both neighbours wrap round
    # a straight or hollow run of three has no top between its places
    before, here, after = values[top - 1], values[top], values[(top + 1) % len(values)]
    bend = before - 2 * here + after
    return float(here if bend >= 0 else here - (before - after) ** 2 / (8 * bend))


def mises(stress: Floats) -> Floats:
    """Equivalent stress in plane stress, N/mm2; `stress` (n, 3, cases) as xx, yy, xy, N/mm2 (R. von Mises, 1913)."""
    xx, yy, xy = stress[:, 0], stress[:, 1], stress[:, 2]
    found: Floats = np.sqrt(xx**2 - xx * yy + yy**2 + 3 * xy**2)
    return found


def _strains(change: Floats) -> Floats:
    """Strains xx, yy, xy of derivatives (m, q, axis, part, cases): (m, q, 3, cases)."""
    return np.stack([change[:, :, 0, 0], change[:, :, 1, 1], change[:, :, 0, 1] + change[:, :, 1, 0]], 2)

"""What bears on the plate round a screw: a ring of springs to the ground, or to a rigid part.

A ring does not feel every ripple of the plate under it. It feels how the plate moves and tilts there and how it is bent
(`w` as a quadratic in x and y, six figures) and how its face shifts and twists (three figures): the springs work on
these nine, which are chosen so that none of them contains another. What is left out is of third order in the size of a
washer: a seat holds as if it were a tenth smaller, which moves sag by 0.2 to 1.5 %. So few figures a ring let one
factor of the loose plate serve every seat, place and stiffness (`joined.py`).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct

from platekit.errors import StrengthError
from platekit.geometry import Point
from platekit.geometry.plane import Spatial
from platekit.strength.element import IN_PLANE, OFF_PLANE, Plate
from platekit.strength.mesh import Floats

if TYPE_CHECKING:
    from scipy.sparse import csr_matrix

BENT: Final = 6
"""How the plate may lie under a ring: 1, x, y, x2, xy, y2."""
SHIFTED: Final = 3
"""How its face may shift: along x, along y, turning about the normal."""
FIGURES: Final = BENT + SHIFTED
"""What a ring feels."""


class Ring(Struct, frozen=True):
    """A ring that bears at height `z` over the middle plane, mm.

    `along` and `across` are the stiffness of a unit of its area along the normal and in the plane, N/mm3.
    """

    center: Point
    inner: float
    outer: float
    z: float
    along: float
    across: float

    @property
    def springs(self) -> Floats:
        """Stiffness by each of the nine figures, N/mm3 each: the square of a figure sums to one over the ring."""
        return np.array([self.along] * BENT + [self.across] * SHIFTED)


class Grip(Struct, frozen=True, eq=False):
    """How a ring feels a plate: nine figures by the plate's unknowns, and by the movement of what is on it.

    `shifts` (3, in-plane unknowns) and `bends` (9, unknowns of bending: six figures of `w`, then three of the turns,
    which shift a face by its height over the middle plane). `mean` (1, nodes) averages over the steel that bears what
    is known at the nodes; `center` is the ring's. `moments_bent` (6, 3) and `moments_shifted` (3, 2, 3) hold
    the same sums for the functions 1, x, y, of which a rigid part's movement is made.
    """

    shifts: csr_matrix
    bends: csr_matrix
    mean: csr_matrix
    center: Point
    moments_bent: Floats
    moments_shifted: Floats

    def of_part(self, z: float, about: Spatial) -> Floats:
        """The nine figures (9, 6) by the six movements (mm, rad) of a rigid part about a place, at height `z` (mm).

        A small turn (a, b, c) moves a point at the arm (x, y, z) by the cross product (b z - c y, c x - a z, a y - b
        x).
        """
        # the columns: shifts along x, y, z, then turns about x, y, z; each row sums the cross product over the ring
        ax, ay, az = about
        felt = np.zeros((FIGURES, 6))
        one, by_x, by_y = self.moments_bent.T
        felt[:BENT, 2], felt[:BENT, 3], felt[:BENT, 4] = one, by_y - ay * one, -(by_x - ax * one)
        (u, _, u_y), (v, v_x, _) = (self.moments_shifted[:, axis].T for axis in (0, 1))
        felt[BENT:, 0], felt[BENT:, 1] = u, v
        felt[BENT:, 3], felt[BENT:, 4] = -(z - az) * v, (z - az) * u
        felt[BENT:, 5] = -(u_y - ay * u) + v_x - ax * v
        return felt


def gripped(plate: Plate, ring: Ring) -> Grip:
    """How a ring (mm) feels a plate: over the steel that lies within it, counted for the whole ring.

    Raises StrengthError where no steel lies under it.
    """
    from scipy.sparse import csr_matrix

    far = np.hypot(
        plate.places.where[..., 0] - ring.center[0],
        plate.places.where[..., 1] - ring.center[1],
    )
    # summing places count wholly or not at all; what that leaves off the ring's area is made good below
    weights = plate.weights * ((far >= 0.98 * ring.inner) & (far <= ring.outer))
    area = float(weights.sum())
    if area <= 0:
        x, y = ring.center
        raise StrengthError(f"no steel lies under the washer or rib at ({x:.1f}, {y:.1f}) mm")
    which = weights.any(1)  # triangles of which some place lies under the ring; the others carry nothing
    weights = weights[which] * (math.pi * (ring.outer**2 - ring.inner**2) / area)
    where, values, nodes = plate.places.where[which], plate.places.values, plate.mesh.triangles[which]
    # from the middle of the steel that bears, in its own size: a ring of which little lies on steel is no worse posed
    whole = weights.sum()
    middle = [float((weights * where[..., axis]).sum() / whole) for axis in (0, 1)]
    size = math.sqrt(float((weights * ((where - middle) ** 2).sum(-1)).sum() / whole))
    over, up = ((where[..., axis] - middle[axis]) / size for axis in (0, 1))
    one, none = np.ones_like(over), np.zeros_like(over)
    bent = _apart(np.stack([one, over, up, over * over, over * up, up * up], -1)[..., None], weights)[..., 0]
    # the face's shift: all of it along x, all along y, and the turn about the normal, (-y, x) by a unit turn
    moving = [np.stack([one, none], -1), np.stack([none, one], -1), np.stack([-up, over], -1)]
    shifted = _apart(np.stack(moving, -2), weights)
    linear = np.stack([one, where[..., 0], where[..., 1]], -1)
    # the figures by each node's unknowns: the functions of the elements summed against those of the ring
    by_w = np.einsum("mq,qk,mqi->imk", weights, values, bent)
    by_turn = np.einsum("mq,qk,mqic->imkc", weights, values, shifted)
    turning: tuple[Floats, ...] = tuple(by_turn[..., axis] for axis in (0, 1))

    def matrix(parts: Sequence[tuple[int, int, Floats]], rows: int, each: int) -> csr_matrix:
        """Rows from `first` on, by the unknown `offset` of each node."""
        data = np.concatenate([sums.ravel() for _, _, sums in parts])
        down = np.concatenate([np.repeat(first + np.arange(len(sums)), nodes.size) for first, _, sums in parts])
        across = np.concatenate([np.tile(each * nodes.ravel() + offset, len(sums)) for _, offset, sums in parts])
        return csr_matrix((data, (down, across)), (rows, each * len(plate.mesh.nodes)))

    shares = np.einsum("mq,qk->mk", weights / whole, values)
    mean = csr_matrix((shares.ravel(), (np.zeros(shares.size), nodes.ravel())), (1, len(plate.mesh.nodes)))
    return Grip(
        matrix([(0, axis, turning[axis]) for axis in (0, 1)], SHIFTED, IN_PLANE),
        matrix([(0, 0, by_w), *((BENT, 1 + axis, turning[axis]) for axis in (0, 1))], FIGURES, OFF_PLANE),
        mean,
        ring.center,
        np.einsum("mq,mqi,mqk->ik", weights, bent, linear),
        np.einsum("mq,mqic,mqk->ick", weights, shifted, linear),
    )


def _apart(functions: Floats, weights: Floats) -> Floats:
    """Functions (m, q, n, parts) mixed so that the product of any two sums to nil, of each with itself to one.

    By Cholesky, one after the other: which comes first is our order, so that rounding decides nothing.
    """
    products = np.einsum("mq,mqic,mqjc->ij", weights, functions, functions)
    # a trifle on the diagonal: a ring of which three summing places lie on steel cannot tell six functions apart, and
    # what it cannot tell then comes out soft instead of as a failure
    lower = np.linalg.cholesky(products + 1e-12 * np.trace(products) * np.eye(len(products)))
    mixed: Floats = np.einsum("mqic,ji->mqjc", functions, np.linalg.inv(lower))
    return mixed


def rigid_mass(mass: float, inertia: Floats, center: Spatial, about: Spatial) -> Floats:
    """The mass of a rigid body (t) by its six movements `about` a place (mm); `inertia` (3, 3), t mm2, at its centre.

    Steiner's theorem, with the arm as the matrix that makes a cross product of it; the parts beside the diagonal tie
    shift to turn where the body's centre lies off the place.
    """
    x, y, z = (one - other for one, other in zip(center, about, strict=True))
    arm = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    whole = np.zeros((6, 6))
    whole[:3, :3] = mass * np.eye(3)
    whole[:3, 3:], whole[3:, :3] = -mass * arm, mass * arm
    whole[3:, 3:] = inertia - mass * arm @ arm
    return whole


def wrench(force: Sequence[float] | Floats, at: Spatial, about: Spatial) -> Floats:
    """A force (N) at a place (mm), as its six parts `about` another: the force and its moments (N mm)."""
    arm = [one - other for one, other in zip(at, about, strict=True)]
    return np.concatenate([np.asarray(force, dtype=np.float64), np.cross(arm, force)])

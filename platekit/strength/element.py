"""Stiffness and mass of a plate: plane stress and Reissner-Mindlin bending together, on six-node triangles.

Unknowns of a node, in this order: `u`, `v` in the plane (mm), `w` along the normal (mm), `bx`, `by` the turns of the
normal (rad), so that at height z over the middle plane u(z) = u + z bx and v(z) = v + z by; the shear strain is
grad w + b, nil in a thin plate. Turns have a seventh function, the bubble, which is taken out in each triangle. The
shear strain is reduced to a smaller space (K.-J. Bathe, F. Brezzi, S. W. Cho, The MITC7 and MITC9 plate bending
elements, Computers & Structures 32, 1989): without that, thin plates come out far too stiff.
"""

from __future__ import annotations

import math
from functools import cached_property
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct

from platekit.errors import StrengthError
from platekit.strength.mesh import NODES, Floats, Mesh, Whole, quadratic

if TYPE_CHECKING:
    from scipy.sparse import csr_matrix

SHEAR_SHARE: Final = 5 / 6
"""Share of the section that carries the shear of a plate (E. Reissner, Journal of Applied Mechanics 12, 1945)."""
UNKNOWNS: Final = 5
"""Unknowns of a node."""
IN_PLANE: Final = 2
"""Those of them that stretch the plate: `u`, `v`; the others bend it."""
OFF_PLANE: Final = UNKNOWNS - IN_PLANE

_FAR, _NEAR = (6 - 15**0.5) / 21, (6 + 15**0.5) / 21
POINTS: Final = np.array(
    [
        [1 / 3, 1 / 3],
        *([_FAR, _FAR], [1 - 2 * _FAR, _FAR], [_FAR, 1 - 2 * _FAR]),
        *([_NEAR, _NEAR], [1 - 2 * _NEAR, _NEAR], [_NEAR, 1 - 2 * _NEAR]),
    ]
)
"""The seven places in a triangle at which is summed, exact to the fifth degree (Hammer, Marlowe, Stroud 1956)."""
WEIGHTS: Final = np.array([9 / 80, *[(155 - 15**0.5) / 2400] * 3, *[(155 + 15**0.5) / 2400] * 3])


class Steel(Struct, frozen=True):
    """What the plate is made of: modulus in N/mm2, Poisson's ratio, density in t/mm3."""

    modulus: float
    poisson: float
    density: float

    @property
    def law(self) -> Floats:
        """Stresses (N/mm2) of strains xx, yy, xy in plane stress: Hooke's law with nothing across the plate."""
        nu = self.poisson
        return self.modulus / (1 - nu * nu) * np.array([[1, nu, 0], [nu, 1, 0], [0, 0, (1 - nu) / 2]])

    @property
    def shear_modulus(self) -> float:
        """Modulus in shear, E / 2 (1 + nu), N/mm2."""
        return self.modulus / 2 / (1 + self.poisson)


def bubble(places: Floats) -> tuple[Floats, Floats]:
    """The function that is nil all round a triangle: values (n,), derivatives (n, 2), at shares of its sides (no unit).

    27 x y (1 - x - y): one in the middle. The turns need it beside the six: without it they cannot follow what the
    reduced shear strain asks of them.
    """
    x, y = places[:, 0], places[:, 1]
    rest = 1 - x - y
    return 27 * rest * x * y, np.stack([27 * y * (rest - x), 27 * x * (rest - y)], 1)


def _shears(places: Floats) -> Floats:
    """The eight functions of the reduced shear strain, along the triangle's own axes: (n, 8, 2).

    All linear ones and two quadratic ones that turn about a corner (a rotated Raviart-Thomas space).
    """
    x, y = places[:, 0], places[:, 1]
    one, none = np.ones_like(x), np.zeros_like(x)
    pairs = ((one, none), (none, one), (x, none), (none, x), (y, none), (none, y), (-y * y, x * y), (-x * y, x * x))
    return np.stack([np.stack(pair, -1) for pair in pairs], 1)


_GAUSS = 0.5 / 3**0.5
_ON_SIDES = np.array(
    [
        *([0.5 - _GAUSS, 0.0], [0.5 + _GAUSS, 0.0]),
        *([0.5 + _GAUSS, 0.5 - _GAUSS], [0.5 - _GAUSS, 0.5 + _GAUSS]),
        *([0.0, 0.5 + _GAUSS], [0.0, 0.5 - _GAUSS]),
    ]
)
"""Two places on each side, at which the reduced shear strain along the side is the true one."""
_SIDES = np.array([[1.0, 0.0], [1.0, 0.0], [-1.0, 1.0], [-1.0, 1.0], [0.0, -1.0], [0.0, -1.0]])
_TIES = np.linalg.inv(
    np.vstack(
        [
            np.einsum("nkc,nc->nk", _shears(_ON_SIDES), _SIDES),
            np.einsum("q,qkc->ck", WEIGHTS, _shears(POINTS)),
        ]
    )
)
"""From the shear strain along the sides and its mean in the triangle to the eight functions."""


class Places(Struct, frozen=True, eq=False):
    """What is known of every triangle at some places in it: (triangles, places, ...)."""

    values: Floats
    by_xy: Floats
    bubble_by_xy: Floats
    jacobian: Floats
    inverse: Floats
    determinant: Floats
    where: Floats


def at_places(mesh: Mesh, places: Floats) -> Places:
    """Functions and their derivatives by x and y (1 over mm) at the same places of every triangle.

    Raises StrengthError where a curved side folds a triangle over.
    """
    corners = mesh.nodes[mesh.triangles]
    values, derivatives = quadratic(places)
    # sides may be curved: x and y go by the same six functions as what is worked out (isoparametric elements)
    # how x and y go with the triangle's own two coordinates; its determinant is twice the area where sides are
    # straight, and must not vanish anywhere
    jacobian = np.einsum("qka,mkc->mqca", derivatives, corners)
    determinant = jacobian[..., 0, 0] * jacobian[..., 1, 1] - jacobian[..., 0, 1] * jacobian[..., 1, 0]
    if determinant.min() <= 0:
        raise StrengthError("no mesh of the plate could be made: a triangle at a curved edge folds over")
    inverse = np.empty_like(jacobian)
    inverse[..., 0, 0], inverse[..., 1, 1] = jacobian[..., 1, 1] / determinant, jacobian[..., 0, 0] / determinant
    inverse[..., 0, 1], inverse[..., 1, 0] = -jacobian[..., 0, 1] / determinant, -jacobian[..., 1, 0] / determinant
    return Places(
        values,
        np.einsum("qka,mqac->mqkc", derivatives, inverse),
        np.einsum("qa,mqac->mqc", bubble(places)[1], inverse),
        jacobian,
        inverse,
        determinant,
        np.einsum("qk,mkc->mqc", values, corners),
    )


class Plate:
    """A meshed plate of one thickness (mm): what it takes to move its nodes, and what it weighs."""

    def __init__(self, mesh: Mesh, thickness: float, steel: Steel) -> None:
        self.mesh, self.thickness, self.steel = mesh, thickness, steel
        self.places = at_places(mesh, POINTS)
        self.weights: Floats = self.places.determinant * WEIGHTS
        """Area that each summing place of each triangle stands for, mm2."""

    @property
    def size(self) -> int:
        """Number of unknowns: five a node (mm and rad)."""
        return UNKNOWNS * len(self.mesh.nodes)

    @cached_property
    def at_nodes(self) -> Places:
        """What is known of every triangle at its six nodes (derivatives 1 over mm)."""
        return at_places(self.mesh, NODES)

    @cached_property
    def shared(self) -> Floats:
        """How many triangles meet at each node."""
        return np.bincount(self.mesh.triangles.ravel(), minlength=len(self.mesh.nodes)).astype(np.float64)

    @cached_property
    def gathered(self) -> csr_matrix:
        """Ones that sum what is known at the nodes of each triangle (triangles x 6 rows) by node."""
        from scipy.sparse import csr_matrix

        flat = self.mesh.triangles.ravel()
        return csr_matrix((np.ones(len(flat)), (flat, np.arange(len(flat)))), (len(self.mesh.nodes), len(flat)))

    @cached_property
    def area(self) -> float:
        """Area of the meshed plate, mm2."""
        return float(self.weights.sum())

    @cached_property
    def bubbles(self) -> Floats:
        """By triangle (2, 18): the bubble's turns (rad) are minus this times `w` (mm) of its nodes, then `bx`, `by`."""
        return self._bending[1]

    @cached_property
    def in_bending(self) -> Whole:
        """By triangle: the unknowns of bending, `w` (mm) of its six nodes first, then `bx`, `by` (rad) of each."""
        nodes = self.mesh.triangles
        unknowns = np.empty((len(nodes), 18), dtype=np.int64)
        unknowns[:, :6] = UNKNOWNS * nodes + 2
        unknowns[:, 6::2], unknowns[:, 7::2] = UNKNOWNS * nodes + 3, UNKNOWNS * nodes + 4
        return unknowns

    @cached_property
    def plane_stiffness(self) -> csr_matrix:
        """Forces at the nodes (N) by their movements in the plane alone: `u`, `v` of each node."""
        nodes, by_xy = self.mesh.triangles, self.places.by_xy
        # xx by u, yy by v, and the shear xy by both, at each of the seven places
        strains = np.zeros((len(nodes), 7, 3, 12))
        strains[:, :, 0, 0::2], strains[:, :, 1, 1::2] = by_xy[..., 0], by_xy[..., 1]
        strains[:, :, 2, 0::2], strains[:, :, 2, 1::2] = by_xy[..., 1], by_xy[..., 0]
        unknowns: Whole = (IN_PLANE * nodes[:, :, None] + np.arange(IN_PLANE)).reshape(-1, 12)
        size = IN_PLANE * len(self.mesh.nodes)
        return assembled(self._summed(strains, self.steel.law * self.thickness), unknowns, unknowns, (size, size))

    @cached_property
    def bent_stiffness(self) -> csr_matrix:
        """Forces and moments (N, N mm) by what bends it alone: `w`, `bx`, `by` of each node.

        A flat plate does not stretch when it bends: only what bears on its faces ties the two together.
        """
        unknowns = self.in_bending // UNKNOWNS * OFF_PLANE + self.in_bending % UNKNOWNS - IN_PLANE
        size = OFF_PLANE * len(self.mesh.nodes)
        return assembled(self._bending[0], unknowns, unknowns, (size, size))

    @cached_property
    def stiffness(self) -> csr_matrix:
        """Forces and moments at the nodes (N, N mm) by their movements, all five of each node."""
        nodes = np.arange(len(self.mesh.nodes))
        plane = (UNKNOWNS * nodes[:, None] + np.arange(IN_PLANE)).ravel()
        off = (UNKNOWNS * nodes[:, None] + np.arange(IN_PLANE, UNKNOWNS)).ravel()
        return spread_out(self.plane_stiffness, plane, self.size) + spread_out(self.bent_stiffness, off, self.size)

    @cached_property
    def _bending(self) -> tuple[Floats, Floats]:
        """Stiffness in bending of each triangle with its bubble taken out, and how the bubble follows the nodes."""
        places, count = self.places, len(self.mesh.triangles)
        by_xy = np.concatenate([places.by_xy, places.bubble_by_xy[:, :, None, :]], 2)
        # the curvatures are the strains of the turns, with the bubble as a seventh node; over the thickness they are
        # stress times height, whence t^3 / 12
        strains = np.zeros((count, 7, 3, 14))
        strains[:, :, 0, 0::2], strains[:, :, 1, 1::2] = by_xy[..., 0], by_xy[..., 1]
        strains[:, :, 2, 0::2], strains[:, :, 2, 1::2] = by_xy[..., 1], by_xy[..., 0]
        # the shear strain is not taken from the functions but from what they give along the sides and in the mean
        ties = _TIES @ self._tied()
        # along the triangle's own axes a strain goes over like a gradient (covariant): by the inverse
        shears = np.einsum("qka,mqac->mqck", _shears(POINTS), places.inverse)
        law = SHEAR_SHARE * self.steel.shear_modulus * self.thickness * np.eye(2)
        whole = np.matmul(ties.transpose(0, 2, 1), np.matmul(self._summed(shears, law), ties))
        whole[:, 6:, 6:] += self._summed(strains, self.steel.law * self.thickness**3 / 12)
        # the bubble belongs to one triangle alone: its equations are solved here (static condensation), which leaves a
        # smaller matrix of the same answer
        across = whole[:, :18, 18:]
        follows = np.matmul(np.linalg.inv(whole[:, 18:, 18:]), across.transpose(0, 2, 1))
        return whole[:, :18, :18] - np.matmul(across, follows), follows

    def _tied(self) -> Floats:
        """The shear strain along the sides and its mean, along each triangle's own axes: (triangles, 8, 20)."""
        corners = self.mesh.nodes[self.mesh.triangles]
        values, derivatives = quadratic(_ON_SIDES)
        turns = np.concatenate([values, bubble(_ON_SIDES)[0][:, None]], 1)
        # the strain is grad w + b: of the twenty unknowns (w of six nodes, two turns of six nodes and of the bubble)
        # the first six come in by their derivatives, the others by their values along each axis
        tied = np.zeros((len(corners), 8, 20))
        tied[:, :6, :6] = np.einsum("qka,qa->qk", derivatives, _SIDES)
        along = np.einsum("qka,mkc,qa->mqc", derivatives, corners, _SIDES, optimize=True)
        values, derivatives = quadratic(POINTS)
        inside = np.concatenate([values, bubble(POINTS)[0][:, None]], 1)
        tied[:, 6:, :6] = np.einsum("q,qka->ak", WEIGHTS, derivatives)
        for axis in (0, 1):
            tied[:, :6, 6 + axis :: 2] = along[:, :, axis][:, :, None] * turns
            tied[:, 6:, 6 + axis :: 2] = np.einsum(
                "q,mqa,qk->mak", WEIGHTS, self.places.jacobian[:, :, axis, :], inside, optimize=True
            )
        return tied

    def _summed(self, strains: Floats, law: Floats) -> Floats:
        """The sum over each triangle of strains' law strains."""
        count, places, rows, columns = strains.shape
        # B' D B over all places as one product of wide matrices: faster than place by place
        stresses = np.matmul(law, strains) * self.weights[:, :, None, None]
        flat = (count, places * rows, columns)
        summed: Floats = np.matmul(strains.reshape(flat).transpose(0, 2, 1), stresses.reshape(flat))
        return summed

    @cached_property
    def overlaps(self) -> csr_matrix:
        """By node and node: the area over which the functions of both count, mm2; mass and rotary inertia by it."""
        nodes, count = self.mesh.triangles, len(self.mesh.nodes)
        values = self.places.values
        overlaps = np.einsum("mq,qk,ql->mkl", self.weights, values, values, optimize=True)
        return assembled(overlaps, nodes, nodes, (count, count))

    @property
    def inertia(self) -> Floats:
        """Mass of a unit of area by each unknown of a node, t/mm2 and t: the turns carry that of the thickness."""
        thickness = self.thickness
        return np.array([1, 1, 1, thickness**2 / 12, thickness**2 / 12]) * self.steel.density * thickness

    @cached_property
    def mass(self) -> csr_matrix:
        """Mass by the unknowns, t and t mm2."""
        from scipy.sparse import diags, kron

        return kron(self.overlaps, diags(self.inertia), "csr")

    def spread(self, load: Floats) -> Floats:
        """Forces at the nodes (N, N mm) of a load on a unit of area (N/mm2): five figures, or five a summing place."""
        each = np.broadcast_to(load, (*self.weights.shape, UNKNOWNS))
        shares = np.einsum("mq,qk,mqc->mkc", self.weights, self.places.values, each, optimize=True)
        found = np.zeros((len(self.mesh.nodes), UNKNOWNS))
        np.add.at(found, self.mesh.triangles, shares)
        return found.ravel()


def assembled(parts: Floats, rows: Whole, columns: Whole, shape: tuple[int, int]) -> csr_matrix:
    """A sparse matrix of the triangles' own ones (N a mm, or what they are in), each part at its rows and columns."""
    from scipy.sparse import csr_matrix

    # entries that meet at one row and column are summed by the sparse matrix itself
    down = np.repeat(rows, columns.shape[1], 1).ravel()
    across = np.tile(columns, (1, rows.shape[1])).ravel()
    return csr_matrix((parts.ravel(), (down, across)), shape)


def spread_out(matrix: csr_matrix, where: Whole, size: int) -> csr_matrix:
    """The same matrix (N a mm) among more unknowns: its row and column i become `where[i]`."""
    from scipy.sparse import csr_matrix

    entries = matrix.tocoo()
    return csr_matrix((entries.data, (where[entries.row], where[entries.col])), (size, size))


def bending_stiffness(steel: Steel, thickness: float) -> float:
    """D = E t^3 / 12 (1 - nu^2), N mm."""
    return steel.modulus * thickness**3 / 12 / (1 - math.pow(steel.poisson, 2))

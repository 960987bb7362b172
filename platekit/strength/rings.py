"""What bears on the plate round a screw: a ring of springs to the ground, or to a rigid part."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from platekit.errors import StrengthError
from platekit.geometry import Point
from platekit.geometry.plane import Spatial
from platekit.strength.element import UNKNOWNS, Plate, assembled
from platekit.strength.mesh import Floats, Whole

if TYPE_CHECKING:
    from scipy.sparse import csr_matrix


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


class Bearing(Struct, frozen=True, eq=False):
    """A ring on its plate: stiffness of the plate's own unknowns, between these and the part's six, and of the six.

    The part's six are its movements along x, y, z and its turns about them at a place of its own.
    """

    plate: csr_matrix
    between: csr_matrix
    part: Floats


def bearing(plate: Plate, ring: Ring, about: Spatial) -> Bearing:
    """A ring of springs between the plate and a part that moves as a rigid body `about` a place.

    The springs stand where the plate lies within the ring, and are as stiff together as the whole ring.
    """
    where = plate.places.where
    far = np.hypot(where[..., 0] - ring.center[0], where[..., 1] - ring.center[1])
    weights = plate.weights * ((far >= 0.98 * ring.inner) & (far <= ring.outer))
    area = float(weights.sum())
    if area <= 0:
        x, y = ring.center
        raise StrengthError(f"no steel lies under the washer at ({x:.1f}, {y:.1f}) mm")
    which = weights.any(1)
    weights = weights[which] * (math.pi * (ring.outer**2 - ring.inner**2) / area)
    where = where[which]
    count = len(where)
    values = np.broadcast_to(plate.places.values, (count, 7, 6))
    of_plate = np.zeros((count, 7, 3, 6 * UNKNOWNS))
    for axis in (0, 1):
        of_plate[:, :, axis, axis::UNKNOWNS] = values
        of_plate[:, :, axis, 3 + axis :: UNKNOWNS] = ring.z * values
    of_plate[:, :, 2, 2::UNKNOWNS] = values
    off_x, off_y, off_z = where[..., 0] - about[0], where[..., 1] - about[1], ring.z - about[2]
    of_part = np.zeros((count, 7, 3, 6))
    of_part[:, :, 0, 0] = of_part[:, :, 1, 1] = of_part[:, :, 2, 2] = 1.0
    of_part[:, :, 0, 4], of_part[:, :, 0, 5] = off_z, -off_y
    of_part[:, :, 1, 3], of_part[:, :, 1, 5] = -off_z, off_x
    of_part[:, :, 2, 3], of_part[:, :, 2, 4] = off_y, -off_x
    springs = np.array([ring.across, ring.across, ring.along])
    pushed = (of_plate * springs[:, None]) * weights[:, :, None, None]
    flat = (count, 21, -1)
    own = np.matmul(of_plate.reshape(flat).transpose(0, 2, 1), pushed.reshape(flat))
    between = -np.matmul(pushed.reshape(flat).transpose(0, 2, 1), of_part.reshape(flat))
    part = np.einsum("mq,mqri,r,mqrj->ij", weights, of_part, springs, of_part, optimize=True)
    unknowns: Whole = (UNKNOWNS * plate.mesh.triangles[which][:, :, None] + np.arange(UNKNOWNS)).reshape(count, 30)
    six = np.tile(np.arange(6), (count, 1))
    return Bearing(
        assembled(own, unknowns, unknowns, (plate.size, plate.size)),
        assembled(between, unknowns, six, (plate.size, 6)),
        part,
    )


def rigid_mass(mass: float, inertia: Floats, center: Spatial, about: Spatial) -> Floats:
    """The mass of a rigid body by its six movements `about` a place; `inertia` (3, 3) about its own centre of mass."""
    x, y, z = (one - other for one, other in zip(center, about, strict=True))
    arm = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    whole = np.zeros((6, 6))
    whole[:3, :3] = mass * np.eye(3)
    whole[:3, 3:], whole[3:, :3] = -mass * arm, mass * arm
    whole[3:, 3:] = inertia - mass * arm @ arm
    return whole


def wrench(force: Sequence[float] | Floats, at: Spatial, about: Spatial) -> Floats:
    """A force (N) at a place, as its six parts `about` another: the force and its moments (N mm)."""
    arm = [one - other for one, other in zip(at, about, strict=True)]
    return np.concatenate([np.asarray(force, dtype=np.float64), np.cross(arm, force)])

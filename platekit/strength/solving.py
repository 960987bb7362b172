"""The answer of a plate to loads, and its natural frequencies."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from platekit.errors import StrengthError
from platekit.strength.mesh import Floats, Whole

if TYPE_CHECKING:
    from scipy.sparse import csr_matrix


def factor(stiffness: csr_matrix) -> Any:
    """A symmetric matrix (N a mm) taken apart once (SuperLU), in the mesh's own order.

    `.solve` takes (unknowns,) or (unknowns, cases). Raises StrengthError for a singular one.
    """
    from scipy.sparse.linalg import splu

    try:
        return splu(stiffness.tocsc(), permc_spec="NATURAL", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
    except RuntimeError as error:  # what SuperLU says of a singular matrix
        raise StrengthError("the plate is held nowhere: it can move as a whole") from error


class Factored:
    """A stiffness taken apart once, for any number of loads; `held` are unknowns that are nil."""

    def __init__(self, stiffness: csr_matrix, held: Whole | None = None) -> None:
        self.size = stiffness.shape[0]
        self.free = np.arange(self.size) if held is None else np.setdiff1d(np.arange(self.size), held)
        self.stiffness = stiffness.tocsr() if held is None else stiffness[self.free][:, self.free]
        self._parts = factor(self.stiffness)

    def solve(self, loads: Floats) -> Floats:
        """The movements (mm, rad) under loads (N, N mm): (unknowns,) or (unknowns, cases)."""
        found = np.zeros_like(loads)
        found[self.free] = self._parts.solve(loads[self.free])
        return found

    def modes(self, mass: csr_matrix, count: int) -> tuple[Floats, Floats]:
        """The lowest natural frequencies in Hz (mass in t, forces in N, lengths in mm), and their shapes."""
        from scipy.sparse.linalg import ArpackError, ArpackNoConvergence, LinearOperator, eigsh

        inner = mass.tocsr()[self.free][:, self.free]
        start = np.sin(1.0 + np.arange(len(self.free)))  # the same in every run, along no mode
        # shift and invert about zero: the lowest frequencies become the largest eigenvalues of what is already factored
        # (Lanczos, as ARPACK does it)
        inverse: Any = LinearOperator(self.stiffness.shape, matvec=self._parts.solve, dtype=np.float64)
        try:
            squares, shapes = eigsh(self.stiffness, k=count, M=inner, sigma=0.0, OPinv=inverse, v0=start)
        except (ArpackError, ArpackNoConvergence) as error:
            raise StrengthError("the natural frequencies of the plate could not be worked out") from error
        order = np.argsort(squares)
        whole = np.zeros((self.size, count))
        whole[self.free] = shapes[:, order]
        return np.sqrt(np.maximum(squares[order], 0.0)) / 2 / np.pi, whole

"""Many small block-tridiagonal systems (2 x 2 blocks) solved at once."""

import numpy as np
from scipy.linalg.lapack import dgbtrf, dgbtrs

from dryingsim.errors import SolverError


class BlockTridiagonal:
    """Matrices of `m` slabs with `n` nodes and two fields each, coupled to the neighbouring nodes only.

    The slabs stand one after another in a single band matrix (three diagonals either side) that LAPACK factors in
    one call: the cheapest way in numpy and scipy for one slab as for some hundreds.

    Blocks are given as arrays [equation field, unknown field, node, slab]: the diagonal (2, 2, n, m), and (2, 2,
    n - 1, m) for `lower`, which couples node i + 1 to node i, and `upper`, which couples node i to node i + 1.
    """

    def __init__(self, n: int, m: int) -> None:
        self._shape = (n, m)
        self._band = np.zeros((m, n, 2, 10))  # [slab, node, field] is the column; the last axis runs down it
        self._lu: tuple[np.ndarray, np.ndarray] | None = None

    def factor(self, shift: float, lower: np.ndarray, diagonal: np.ndarray, upper: np.ndarray) -> None:
        """Factor (shift * I - A) with A given by its blocks."""
        n, m = self._shape
        band = self._band
        for row in range(2):
            for column in range(2):
                d = 6 + row - column
                band[:, :, column, d] = -diagonal[row, column].T
                band[:, :-1, column, d + 2] = -lower[row, column].T
                band[:, 1:, column, d - 2] = -upper[row, column].T
        band[:, :, :, 6] += shift
        lu, pivots, info = dgbtrf(band.reshape(2 * n * m, 10).T, 3, 3)
        if info != 0:
            raise SolverError("the linear system of a step is singular")
        self._lu = (lu, pivots)

    def solve(self, r: np.ndarray) -> np.ndarray:
        """Solve for right-hand sides of shape (2, n, m) or (k, 2, n, m); same shape out."""
        n, m = self._shape
        assert self._lu is not None
        b = r.reshape(-1, 2, n, m).transpose(0, 3, 2, 1).reshape(-1, 2 * n * m)
        x, _ = dgbtrs(self._lu[0], 3, 3, b.T, self._lu[1])
        return x.T.reshape(-1, m, n, 2).transpose(0, 3, 2, 1).reshape(r.shape)

"""Many small block-tridiagonal systems (2 x 2 blocks) solved at once."""

from itertools import pairwise

import numpy as np
from scipy.linalg.lapack import dgbtrf, dgbtrs

from dryingsim.errors import SolverError


class BlockTridiagonal:
    """Matrices of `m` slabs with `n` nodes and two fields each, coupled to the neighbouring nodes only.

    The slabs stand one after another in a single band matrix (three diagonals either side) that LAPACK factors in
    one call: the cheapest way in numpy and scipy for one slab as for some hundreds.

    Blocks are given as arrays [equation field, unknown field, node, slab]: the diagonal (2, 2, n, m), and (2, 2,
    n - 1, m) for `lower`, which couples node i + 1 to node i, and `upper`, which couples node i to node i + 1.

    Parameters
    ----------
    n, m : int
        Nodes and slabs.
    mass : ndarray, shape (3, n), optional
        Bands of the mass matrix M of both fields (`grid.MassMatrix.bands`); the identity where there is none.
    """

    def __init__(self, n: int, m: int, mass: np.ndarray | None = None) -> None:
        self._shape = (n, m)
        self._mass = _identity(n) if mass is None else mass
        self._band = np.zeros((m, n, 2, 10))  # [slab, node, field] is the column; the last axis runs down it
        self._lu: tuple[np.ndarray, np.ndarray] | None = None

    def factor(self, shift: float, lower: np.ndarray, diagonal: np.ndarray, upper: np.ndarray) -> None:
        """Factor (shift * M - A) with A given by its blocks."""
        n, m = self._shape
        band = self._band
        for row in range(2):
            for column in range(2):
                d = 6 + row - column
                band[:, :, column, d] = -diagonal[row, column].T
                band[:, :-1, column, d + 2] = -lower[row, column].T
                band[:, 1:, column, d - 2] = -upper[row, column].T
        before, at, after = self._mass
        band[:, :, :, 6] += shift * at[:, None]
        band[:, :-1, :, 8] += shift * before[1:, None]
        band[:, 1:, :, 4] += shift * after[:-1, None]
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


class BlockElimination:
    """The same matrices as `BlockTridiagonal`, eliminated node by node with all slabs in every operation.

    Faster than the band from some hundred slabs on (`python -m validation.benchmarks.slices` measures it), and
    every number of a slab comes from that slab's numbers alone, by the same operations whatever its neighbours are.
    The elimination starts at both ends and meets in the middle: half as many operations, each twice as long. There is
    no pivoting beyond the 2 x 2 blocks; the matrices of a diffusion problem need none.
    """

    def __init__(self, n: int, m: int, mass: np.ndarray | None = None) -> None:
        self._mass = (_identity(n) if mass is None else mass)[:, :, None]
        self._given, self._dummy = n, n % 2  # an odd number is filled up by a node without neighbours
        n += self._dummy
        self._half = n // 2
        # By node: inverse pivot; what its inner neighbour's equation has of it, times that; that times what its own
        # equation has of the inner neighbour.
        self._inverse, self._forward, self._backward = (np.zeros((2, 2, n, m)) for _ in range(3))
        self._inward, self._outward = np.zeros((2, 2, n, m)), np.zeros((2, 2, n, m))
        self._product, self._work = np.empty((2, 2, 2, 2, m)), np.empty((3, 2, m))
        self._rows, self._full = np.zeros((2, n, m)), np.empty((2, 2, n, m))
        pairs = [slice(i, n - i, n - 1 - 2 * i) for i in range(self._half)]  # node i from either end
        self._factor_views = [
            tuple(a[:, :, pair] for a in (self._inverse, self._forward, self._inward, self._outward))
            for pair in pairs
        ]
        rows = [self._rows[:, pair] for pair in pairs]
        self._down = [(self._forward[:, :, p], rows[i], rows[i + 1]) for i, p in enumerate(pairs[:-1])]
        self._up = [(self._backward[:, :, p], rows[i + 1], rows[i]) for i, p in enumerate(pairs[:-1])][::-1]

    def factor(self, shift: float, lower: np.ndarray, diagonal: np.ndarray, upper: np.ndarray) -> None:
        """Factor (shift * M - A) with A given by its blocks.

        A slab whose matrix is singular gets solutions that are not finite; the others are not touched by it.
        """
        n, half = self._given, self._half
        pivots = self._inverse
        np.negative(diagonal, out=pivots[:, :, :n])
        before, at, after = self._mass
        for field in range(2):
            pivots[field, field, :n] += shift * at
        pivots[:, :, n:] = np.eye(2)[:, :, None, None]
        above = slice(half + 1, n)
        self._inward[:, :, :half], self._inward[:, :, above] = lower[:, :, :half], upper[:, :, half:]
        self._outward[:, :, :half], self._outward[:, :, above] = upper[:, :, :half], lower[:, :, half:]
        for field in range(2):
            self._inward[field, field, :half] -= shift * before[1 : half + 1]
            self._inward[field, field, above] -= shift * after[half:-1]
            self._outward[field, field, :half] -= shift * after[:half]
            self._outward[field, field, above] -= shift * before[half + 1 :]
        work, product = self._work, self._product
        for outer, (pivot, *_) in pairwise(self._factor_views):
            _invert(outer[0], work)
            _times(outer[2], outer[0], product, out=outer[1])
            _less(pivot, outer[1], outer[3], product)
        # in the middle two nodes are left: the lower one is eliminated, then the upper one stands alone
        a, c = half - 1, half
        _invert(pivots[:, :, a], work[:, 0])
        _times(self._inward[:, :, a], pivots[:, :, a], product[..., 0, :], out=self._forward[:, :, a])
        _less(pivots[:, :, c], self._forward[:, :, a], self._outward[:, :, a], product[..., 0, :])
        _invert(pivots[:, :, c], work[:, 0])
        for row in range(2):
            np.multiply(pivots[row, 0], self._outward[0], out=self._backward[row])
            np.multiply(pivots[row, 1], self._outward[1], out=self._full[0])
            self._backward[row] += self._full[0]

    def solve(self, r: np.ndarray) -> np.ndarray:
        """Solve for right-hand sides of shape (2, n, m) or (k, 2, n, m); same shape out."""
        if r.ndim == 4:
            return np.stack([self.solve(one) for one in r])
        rows, full = self._rows, self._full
        product = self._product[0]
        rows[:, : self._given] = r
        rows[:, self._given :] = (
            0.0  # a trial state that is no number must not stay behind where no one has neighbours
        )
        for block, source, goal in self._down:
            np.multiply(block, source, out=product)
            goal += np.add(product[:, 0], product[:, 1], out=product[:, 0])
        a, c = self._half - 1, self._half
        rows[:, c] += _applied(self._forward[:, :, a], rows[:, a])
        np.multiply(self._inverse, rows, out=full)
        np.add(full[:, 0], full[:, 1], out=rows)
        rows[:, a] += _applied(self._backward[:, :, a], rows[:, c])
        for block, source, goal in self._up:
            np.multiply(block, source, out=product)
            goal += np.add(product[:, 0], product[:, 1], out=product[:, 0])
        return rows[:, : self._given].copy()


def _identity(n: int) -> np.ndarray:
    """Bands of a mass matrix that is none."""
    return np.stack([np.zeros(n), np.ones(n), np.zeros(n)])


def _invert(block: np.ndarray, work: np.ndarray) -> None:
    """Replace 2 x 2 blocks (2, 2, ...) by their inverses; `work` (3, ...) is overwritten."""
    np.multiply(block[0, 0], block[1, 1], out=work[0])
    np.multiply(block[0, 1], block[1, 0], out=work[1])
    np.subtract(work[0], work[1], out=work[0])
    np.divide(1.0, work[0], out=work[0])
    np.multiply(block[0, 0], work[0], out=work[2])
    np.multiply(block[1, 1], work[0], out=block[0, 0])
    block[1, 1] = work[2]
    np.negative(work[0], out=work[0])
    block[0, 1] *= work[0]
    block[1, 0] *= work[0]


def _times(left: np.ndarray, right: np.ndarray, product: np.ndarray, out: np.ndarray) -> None:
    """Matrix product of 2 x 2 blocks; `product` (2, 2, 2, ...) is overwritten."""
    np.multiply(left[:, :, None], right[None], out=product)
    np.add(product[:, 0], product[:, 1], out=out)


def _less(block: np.ndarray, left: np.ndarray, right: np.ndarray, product: np.ndarray) -> None:
    """Take the matrix product of two from 2 x 2 blocks; `product` is overwritten."""
    np.multiply(left[:, :, None], right[None], out=product)
    block -= np.add(product[:, 0], product[:, 1], out=product[:, 0])


def _applied(block: np.ndarray, vector: np.ndarray) -> np.ndarray:
    """Matrix times vector for 2 x 2 blocks (2, 2, m) and vectors (2, m)."""
    return block[:, 0] * vector[0] + block[:, 1] * vector[1]

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
        self._half = (n + self._dummy) // 2
        # By step inward, [column, row, end, slab]: all that an operation reads lies together. Inverse pivot; what the inner
        # neighbour's equation has of the node, times that; that times what its own equation has of the inner neighbour.
        shape = (self._half, 2, 2, 2, m)
        self._inverse, self._forward, self._backward = (np.zeros(shape) for _ in range(3))
        self._inward, self._outward = np.zeros(shape), np.zeros(shape)
        self._product, self._work = np.empty((2, 2, 2, 2, m)), np.empty((3, 2, m))
        self._rows, self._full = np.zeros((self._half, 2, 2, m)), np.empty(shape)

    def factor(self, shift: float, lower: np.ndarray, diagonal: np.ndarray, upper: np.ndarray) -> None:
        """Factor (shift * M - A) with A given by its blocks.

        A slab whose matrix is singular gets solutions that are not finite; the others are not touched by it.
        """
        half = self._half
        pivots, inward, outward = self._inverse, self._inward, self._outward
        self._set_blocks(shift, lower, diagonal, upper)
        work, product = self._work, self._product
        for i in range(half - 1):
            _invert(pivots[i], work)
            _times(inward[i], pivots[i], product, out=self._forward[i])
            _less(pivots[i + 1], self._forward[i], outward[i], product)
        # in the middle two nodes are left: the lower one is eliminated, then the upper one stands alone
        middle, first, second = half - 1, slice(0, 1), slice(1, 2)
        lower_pivot, upper_pivot = pivots[middle][:, :, first], pivots[middle][:, :, second]
        forward = self._forward[middle][:, :, first]
        _invert(lower_pivot, work[:, first])
        _times(inward[middle][:, :, first], lower_pivot, product[..., first, :], out=forward)
        _less(upper_pivot, forward, outward[middle][:, :, first], product[..., first, :])
        _invert(upper_pivot, work[:, first])
        for column in range(2):
            np.multiply(pivots[:, 0], outward[:, column, :1], out=self._backward[:, column])
            np.multiply(pivots[:, 1], outward[:, column, 1:], out=self._full[:, 0])
            self._backward[:, column] += self._full[:, 0]

    def _set_blocks(self, shift: float, lower: np.ndarray, diagonal: np.ndarray, upper: np.ndarray) -> None:
        """Sort the blocks of (shift * M - A) by steps inward; those off the diagonal with the other sign."""
        n, half, first = self._given, self._half, self._dummy
        by_step = (2, 1, 0, 3)  # from [row, column, node, slab]
        pivots, inward, outward = self._inverse, self._inward, self._outward
        down = slice(n - 1, half - 1, -1)  # nodes above the middle, from the end inward
        np.negative(diagonal[:, :, :half].transpose(by_step), out=pivots[:, :, :, 0])
        np.negative(diagonal[:, :, down].transpose(by_step), out=pivots[first:, :, :, 1])
        pivots[:first, :, :, 1] = np.eye(2)[:, :, None]
        inward[:, :, :, 0] = lower[:, :, :half].transpose(by_step)
        outward[:, :, :, 0] = upper[:, :, :half].transpose(by_step)
        inner = slice(n - 2, half - 1, -1)  # what couples those above to their inner neighbours
        inward[first:-1, :, :, 1] = upper[:, :, inner].transpose(by_step)
        outward[first:-1, :, :, 1] = lower[:, :, inner].transpose(by_step)
        before, at, after = self._mass
        for field in range(2):
            pivots[:, field, field, 0] += shift * at[:half]
            pivots[first:, field, field, 1] += shift * at[down]
            inward[:, field, field, 0] -= shift * before[1 : half + 1]
            outward[:, field, field, 0] -= shift * after[:half]
            inward[first:-1, field, field, 1] -= shift * after[inner]
            outward[first:-1, field, field, 1] -= shift * before[n - 1 : half : -1]

    def solve(self, r: np.ndarray) -> np.ndarray:
        """Solve for right-hand sides of shape (2, n, m) or (k, 2, n, m); same shape out."""
        if r.ndim == 4:
            return np.stack([self.solve(one) for one in r])
        n, half, rows, full, product = self._given, self._half, self._rows, self._full, self._product[0]
        above, from_above = slice(self._dummy, n - half + self._dummy), slice(n - 1, half - 1, -1)
        rows[:, :, 0] = r[:, :half].swapaxes(0, 1)
        rows[0, :, 1] = (
            0.0  # a trial state that is no number must not stay behind where no one has neighbours
        )
        rows[above, :, 1] = r[:, from_above].swapaxes(0, 1)
        for i in range(half - 1):
            np.multiply(self._forward[i], rows[i][:, None], out=product)
            rows[i + 1] += np.add(product[0], product[1], out=product[0])
        middle = half - 1
        rows[middle, :, 1] += _applied(self._forward[middle][:, :, 0], rows[middle, :, 0])
        np.multiply(self._inverse, rows[:, :, None], out=full)
        np.add(full[:, 0], full[:, 1], out=rows)
        rows[middle, :, 0] += _applied(self._backward[middle][:, :, 0], rows[middle, :, 1])
        for i in range(half - 2, -1, -1):
            np.multiply(self._backward[i], rows[i + 1][:, None], out=product)
            rows[i] += np.add(product[0], product[1], out=product[0])
        out = np.empty_like(r)
        out[:, :half] = rows[:, :, 0].swapaxes(0, 1)
        out[:, from_above] = rows[above, :, 1].swapaxes(0, 1)
        return out


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
    """Matrix product of 2 x 2 blocks [column, row, ...]; `product` (2, 2, 2, ...) is overwritten."""
    np.multiply(left[:, None], right.swapaxes(0, 1)[:, :, None], out=product)
    np.add(product[0], product[1], out=out)


def _less(block: np.ndarray, left: np.ndarray, right: np.ndarray, product: np.ndarray) -> None:
    """Take the matrix product of two from 2 x 2 blocks; `product` is overwritten."""
    np.multiply(left[:, None], right.swapaxes(0, 1)[:, :, None], out=product)
    block -= np.add(product[0], product[1], out=product[0])


def _applied(block: np.ndarray, vector: np.ndarray) -> np.ndarray:
    """Matrix times vector for 2 x 2 blocks [column, row, m] and vectors (2, m)."""
    return block[0] * vector[0] + block[1] * vector[1]

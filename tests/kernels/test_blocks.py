"""The banded solver against dense matrices assembled entry by entry."""

import numpy as np
import pytest

from dryingsim.errors import SolverError
from dryingsim.kernels.blocks import BlockTridiagonal
from dryingsim.kernels.grid import MassMatrix, clustered_nodes


def blocks(n, m, seed=0):
    """Return random blocks of which shift * I - A is well conditioned for shift = 5."""
    rng = np.random.default_rng(seed)
    return rng.random((2, 2, n - 1, m)), rng.random((2, 2, n, m)), rng.random((2, 2, n - 1, m))


def dense(lower, diagonal, upper, slab):
    """Return A of one slab, unknowns ordered (field, node)."""
    n = diagonal.shape[2]
    a = np.zeros((2, n, 2, n))
    for row in range(2):
        for column in range(2):
            for i in range(n):
                a[row, i, column, i] = diagonal[row, column, i, slab]
            for i in range(n - 1):
                a[row, i + 1, column, i] = lower[row, column, i, slab]
                a[row, i, column, i + 1] = upper[row, column, i, slab]
    return a.reshape(2 * n, 2 * n)


@pytest.mark.parametrize(("n", "m"), [(3, 1), (9, 4), (24, 12)])
def test_solution_equals_that_of_the_dense_matrices(n, m):
    parts = blocks(n, m)
    r = np.random.default_rng(1).random((2, n, m))
    matrix = BlockTridiagonal(n, m)
    matrix.factor(5.0, *parts)
    x = matrix.solve(r)
    for slab in range(m):
        expected = np.linalg.solve(5.0 * np.eye(2 * n) - dense(*parts, slab), r[:, :, slab].ravel())
        np.testing.assert_allclose(x[:, :, slab].ravel(), expected, rtol=1e-11)


@pytest.mark.parametrize(("n", "m"), [(3, 1), (9, 4)])
def test_a_mass_matrix_stands_beside_the_shift(n, m):
    parts, mass = blocks(n, m), MassMatrix(clustered_nodes(n))
    r = np.random.default_rng(1).random((2, n, m))
    matrix = BlockTridiagonal(n, m, mass.bands)
    matrix.factor(200.0, *parts)
    x, full = matrix.solve(r), np.kron(np.eye(2), mass.times(np.eye(n)))
    for slab in range(m):
        expected = np.linalg.solve(200.0 * full - dense(*parts, slab), r[:, :, slab].ravel())
        np.testing.assert_allclose(x[:, :, slab].ravel(), expected, rtol=1e-10)


def test_several_right_hand_sides_at_once_equal_them_one_by_one():
    matrix = BlockTridiagonal(6, 3)
    matrix.factor(5.0, *blocks(6, 3))
    r = np.random.default_rng(2).random((4, 2, 6, 3))
    np.testing.assert_array_equal(matrix.solve(r), np.stack([matrix.solve(part) for part in r]))


def test_slabs_do_not_touch_each_other():
    parts = blocks(6, 3)
    r = np.zeros((2, 6, 3))
    r[:, :, 1] = 1.0
    matrix = BlockTridiagonal(6, 3)
    matrix.factor(5.0, *parts)
    x = matrix.solve(r)
    assert np.all(x[:, :, [0, 2]] == 0.0)
    assert np.all(x[:, :, 1] != 0.0)


def test_factoring_anew_forgets_the_old_matrix_and_leaves_the_blocks_alone():
    matrix = BlockTridiagonal(6, 3)
    parts = blocks(6, 3)
    before = [p.copy() for p in parts]
    r = np.random.default_rng(3).random((2, 6, 3))
    matrix.factor(5.0, *parts)
    first = matrix.solve(r)
    matrix.factor(50.0, *blocks(6, 3, seed=4))
    matrix.factor(5.0, *parts)
    np.testing.assert_array_equal(matrix.solve(r), first)
    for part, copy in zip(parts, before, strict=True):
        np.testing.assert_array_equal(part, copy)


def test_a_singular_matrix_is_an_error():
    zero = np.zeros((2, 2, 3, 1)), np.zeros((2, 2, 4, 1)), np.zeros((2, 2, 3, 1))
    with pytest.raises(SolverError, match="singular"):
        BlockTridiagonal(4, 1).factor(0.0, *zero)

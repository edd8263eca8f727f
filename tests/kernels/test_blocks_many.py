"""The elimination for many slabs against the band, and its independence of who else is there."""

import numpy as np
import pytest

from dryingsim.kernels.blocks import BlockElimination, BlockTridiagonal
from dryingsim.kernels.grid import MassMatrix, clustered_nodes


def problem(n, m, seed=0):
    """A diffusion-like problem: each block row dominated by its diagonal."""
    rng = np.random.default_rng(seed)
    lower, upper = rng.random((2, 2, 2, n - 1, m))
    diagonal = -rng.random((2, 2, n, m))
    diagonal[0, 0] -= 4.0
    diagonal[1, 1] -= 4.0
    return lower, diagonal, upper, rng.standard_normal((2, n, m))


@pytest.mark.parametrize("n", [3, 4, 5, 12, 23, 24])
@pytest.mark.parametrize("m", [1, 2, 9])
def test_solves_what_the_band_solves(n, m):
    *blocks, r = problem(n, m)
    found = []
    for kind in (BlockTridiagonal, BlockElimination):
        matrix = kind(n, m)
        matrix.factor(0.3, *blocks)
        found.append(matrix.solve(r))
    np.testing.assert_allclose(
        found[1], found[0], rtol=0.0, atol=1e-13
    )  # rounding of a well-conditioned system


@pytest.mark.parametrize("n", [3, 4, 5, 12, 23])
def test_solves_what_the_band_solves_with_a_mass_matrix(n):
    *blocks, r = problem(n, 4)
    found = []
    for kind in (BlockTridiagonal, BlockElimination):
        matrix = kind(n, 4, MassMatrix(clustered_nodes(n)).bands)
        matrix.factor(20.0, *blocks)
        found.append(matrix.solve(r))
    np.testing.assert_allclose(found[1], found[0], rtol=0.0, atol=1e-12)


def test_several_right_hand_sides_and_factorisations():
    *blocks, r = problem(8, 5)
    matrix = BlockElimination(8, 5)
    for shift in (3.0, 0.1):
        matrix.factor(shift, *blocks)
        both = matrix.solve(np.stack([r, -2.0 * r]))
        np.testing.assert_array_equal(both[0], matrix.solve(r))
        np.testing.assert_allclose(both[1], -2.0 * both[0], rtol=1e-14)


def test_each_slab_has_its_own_shift():
    *blocks, r = problem(8, 3)
    shifts = np.array([0.1, 1.0, 7.0])
    together = BlockElimination(8, 3)
    together.factor(shifts, *blocks)
    for k in range(3):
        alone = BlockTridiagonal(8, 1)
        alone.factor(float(shifts[k]), *(block[..., k : k + 1] for block in blocks))
        np.testing.assert_allclose(
            together.solve(r)[..., k : k + 1], alone.solve(r[..., k : k + 1]), rtol=0.0, atol=1e-13
        )


def test_a_slab_does_not_depend_on_its_neighbours():
    *blocks, r = problem(24, 64)
    matrix = BlockElimination(24, 64)
    matrix.factor(0.3, *blocks)
    all_of_them = matrix.solve(r)
    some = np.random.default_rng(1).permutation(64)[:16]
    few = BlockElimination(24, 16)
    few.factor(0.3, *(np.ascontiguousarray(block[..., some]) for block in blocks))
    np.testing.assert_array_equal(few.solve(np.ascontiguousarray(r[..., some])), all_of_them[..., some])


@pytest.mark.filterwarnings("ignore:divide by zero", "ignore:invalid value")
def test_a_singular_slab_spoils_itself_only():
    *blocks, r = problem(6, 8)
    matrix = BlockElimination(6, 8)
    matrix.factor(0.3, *blocks)
    sound = matrix.solve(r)
    broken = [block.copy() for block in blocks]
    broken[1][:, :, 0, 2] = [[0.3, 0.0], [0.0, 0.3]]  # the first pivot of slab 2 is nil
    matrix.factor(0.3, *broken)
    found = matrix.solve(r)
    assert not np.isfinite(found[..., 2]).all()
    others = np.arange(8) != 2
    np.testing.assert_array_equal(found[..., others], sound[..., others])


def test_what_was_solved_stays_when_the_next_is_solved():
    *blocks, r = problem(6, 2)
    matrix = BlockElimination(6, 2)
    matrix.factor(1.0, *blocks)
    first = matrix.solve(r)
    kept = first.copy()
    matrix.solve(3.0 * r)
    np.testing.assert_array_equal(first, kept)


@pytest.mark.parametrize("n", [8, 9])
def test_a_trial_that_is_no_number_leaves_nothing_behind(n):
    *parts, r = problem(n, 2)
    matrix = BlockElimination(n, 2)
    matrix.factor(np.full(2, 5.0), *parts)
    expected = matrix.solve(r)
    with np.errstate(all="ignore"):
        assert np.isnan(matrix.solve(np.nan * r)).all()
        matrix.factor(np.full(2, np.nan), *parts)
        assert np.isnan(matrix.solve(r)).all()
    matrix.factor(np.full(2, 5.0), *parts)
    np.testing.assert_array_equal(matrix.solve(r), expected)

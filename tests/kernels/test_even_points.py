"""Sobol points are those of scipy, to the last bit."""

import numpy as np
import pytest

from dryingsim.kernels.even_points import MOST_DIMENSIONS, sobol_points


@pytest.mark.parametrize(("dimensions", "power", "seed"), [(1, 3, 1), (4, 6, 2), (MOST_DIMENSIONS, 10, 0)])
def test_they_are_those_of_scipy(dimensions, power, seed):
    from scipy.stats import qmc

    theirs = qmc.Sobol(dimensions, scramble=True, seed=seed).random_base2(power)
    assert np.array_equal(sobol_points(dimensions, 2**power, seed), theirs)


def test_fewer_than_a_power_of_two_are_the_first_of_them():
    assert np.array_equal(sobol_points(3, 5, 1), sobol_points(3, 8, 1)[:5])
    assert sobol_points(2, 1, 1).shape == (1, 2)


@pytest.mark.parametrize("dimensions", [0, MOST_DIMENSIONS + 1])
def test_there_are_only_so_many_dimensions(dimensions):
    with pytest.raises(ValueError, match=f"{dimensions} dimensions: 1 to {MOST_DIMENSIONS}"):
        sobol_points(dimensions, 8, 1)

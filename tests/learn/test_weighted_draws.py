"""Weighted draws against what is exact: a normal posterior, and readings that stand off."""

import numpy as np
import pytest

from dryingsim.learn.weighted_draws import WeightedDraws, weighted_draws


def test_lines_give_the_normal_posterior():
    lines, read, error = np.array([[1.0, 0.5, 0.0], [0.2, -1.0, 0.4]]), np.array([0.8, -0.5]), 0.3
    drawn = weighted_draws(lambda z: (z @ lines.T - read) / error, 3, count=4000, rounds=4, seed=2)
    covariance = np.linalg.inv(np.eye(3) + lines.T @ lines / error**2)
    mean = covariance @ lines.T @ read / error**2
    middle = drawn.weight @ drawn.z
    # 4000 draws and more: five standard errors of a mean
    assert middle == pytest.approx(mean, abs=5.0 / 4000**0.5)
    spread = (drawn.weight[:, None] * (drawn.z - middle)).T @ (drawn.z - middle)
    assert spread == pytest.approx(covariance, abs=0.05)


def test_a_reading_that_stands_off_hardly_draws():
    def residuals(z):
        off = np.concatenate([np.full(10, 0.5), [30.0]])
        return (z - off) / 0.3

    drawn = weighted_draws(residuals, 1, count=2000, rounds=4, seed=3)
    assert float(drawn.weight @ drawn.z[:, 0]) == pytest.approx(0.5, abs=0.1)


def test_a_bent_dependence_is_weighed_not_taken_for_straight():
    drawn = weighted_draws(lambda z: (np.exp(z) - 1.5) / 0.2, 1, count=4000, rounds=4, seed=4)
    grid = np.linspace(-4.0, 4.0, 4001)
    density = np.exp(-0.5 * ((np.exp(grid) - 1.5) / 0.2) ** 2 - 0.5 * grid**2)
    mean = float((grid * density).sum() / density.sum())
    assert float(drawn.weight @ drawn.z[:, 0]) == pytest.approx(mean, abs=0.01)


def test_even_draws_stand_for_their_weights():
    drawn = WeightedDraws(np.arange(4.0)[:, None], np.array([0.5, 0.25, 0.25, 0.0]))
    assert drawn.even(8).tolist() == [0, 0, 0, 0, 1, 1, 2, 2]
    assert drawn.effective == pytest.approx(1.0 / 0.375)

"""The stand-in goes through what it was given, and its best point is the best."""

import numpy as np
import pytest

from dryingsim.plan.surrogate import Surrogate, best_point, evenly


def test_it_goes_through_its_points():
    x = evenly(2, 30, 1)
    truth = {"a": np.sin(x[:, 0]) + x[:, 1] ** 2, "b": 300.0 - 40.0 * x[:, 0]}
    at = Surrogate(x, truth).at(x)
    for name, values in truth.items():
        assert at[name] == pytest.approx(values, abs=1e-8 * np.ptp(values) + 1e-9)
    assert (at["possible"] == 1.0).all()


def test_between_them_a_plane_is_exact_and_a_bowl_nearly():
    corners = np.array([[0.0, 0.0], [0.0, 1.0], [1.0, 0.0], [1.0, 1.0]])
    x, new = np.concatenate([evenly(2, 40, 1), corners]), evenly(2, 50, 2)
    found = Surrogate(x, {"plane": 3.0 + 2.0 * x[:, 0] - x[:, 1], "bowl": ((x - 0.4) ** 2).sum(axis=1)}).at(
        new
    )
    assert found["plane"] == pytest.approx(3.0 + 2.0 * new[:, 0] - new[:, 1], abs=1e-8)
    assert found["bowl"] == pytest.approx(((new - 0.4) ** 2).sum(axis=1), abs=0.01)


def test_points_that_cannot_be_had_are_shunned():
    x = evenly(1, 40, 1)
    values = np.where(x[:, 0] > 0.5, np.nan, -x[:, 0])
    stand_in = Surrogate(x, {"cost": values})
    assert stand_in.count < 40
    assert stand_in.at(np.array([[0.9]]))["possible"][0] < 0.5
    assert stand_in.at(np.array([[0.2]]))["possible"][0] > 0.5


def test_the_best_point_of_a_bowl_with_a_wall():
    def merit(points):
        return np.maximum(0.6 - points[:, 0], 0.0), ((points - 0.3) ** 2).sum(axis=1)

    found = best_point(merit, np.zeros(2), np.ones(2), 1)
    assert found == pytest.approx([0.6, 0.3], abs=3e-3)  # the last box is 1/64 wide, 1024 points in it

"""The main cause of a batch that dries slower or faster than its file says, and how sure that is."""

import math

import numpy as np
import pytest

from dryingsim.learn.causes import main_cause_chances


def normal(x):
    return 0.5 * math.erfc(-x / math.sqrt(2.0))


@pytest.mark.parametrize(
    ("effects", "correlation"), [((0.3, 0.1), 0.0), ((0.2, 0.15), -0.9), ((0.2, 0.15), 0.5)]
)
def test_chance_of_two_is_that_of_their_difference(effects, correlation):
    a, b = 0.1, 0.12
    covariance = np.array([[a * a, correlation * a * b], [correlation * a * b, b * b]])
    chances = main_cause_chances(np.array(effects), covariance)
    exact = normal((effects[0] - effects[1]) / math.sqrt(a * a + b * b - 2.0 * correlation * a * b))
    assert chances[0] == pytest.approx(exact, abs=0.02)  # four standard deviations of 8192 draws
    assert chances.sum() == pytest.approx(1.0)


def test_what_works_the_other_way_is_no_cause():
    """A batch that took longer was not slowed by what makes it faster, however far that is off."""
    chances = main_cause_chances(np.array([0.6, -0.3]), np.diag([1e-4, 1e-4]))
    assert chances.tolist() == [1.0, 0.0]
    faster = main_cause_chances(np.array([0.3, -0.6]), np.diag([1e-4, 1e-4]))
    assert faster.tolist() == [0.0, 1.0]


def test_it_is_the_same_every_time():
    numbers = np.array([0.1, 0.05, 0.02]), 0.01 * np.eye(3)
    assert (main_cause_chances(*numbers) == main_cause_chances(*numbers)).all()

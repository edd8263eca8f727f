"""Members with steps of their own: exact solutions, error control, independence, arrival."""

import numpy as np
import pytest

from dryingsim.errors import SolverError
from dryingsim.kernels.own_steps import OwnSteps, within


class Decay:
    """y' = -k (y - cos t), one row; stiff where k is large."""

    def __init__(self, k, tolerance=1e-4):
        self.k, self.tolerance = np.asarray(k, dtype=float), tolerance

    def rhs(self, t, y):
        return -self.k * (y - np.cos(t))

    def weigh(self, u):
        return u

    def linearize(self, t, y):
        pass

    def factor(self, shift):
        self.pivot = shift + self.k

    def solve(self, r):
        return r / self.pivot

    def error_norms(self, error, y):
        return np.abs(error) / self.tolerance


def exact(k, t, y0):
    """Solution of the decay from y0 at time 0."""
    steady = k * (k * np.cos(t) + np.sin(t)) / (1.0 + k * k)
    return steady + (y0 - k * k / (1.0 + k * k)) * np.exp(-k * t)


def arrived(system, y0, end=5.0):
    steps = OwnSteps(system, 0.0, end, y0, 1e-3)
    sweeps = []
    while steps.active.any():
        sweeps.append(steps.sweep())
    return steps, sweeps


RATES = np.geomspace(0.1, 1e5, 24)


@pytest.mark.parametrize(("tolerance", "most"), [(1e-3, 5e-3), (1e-5, 5e-5)])
def test_every_member_is_as_exact_as_asked(tolerance, most):
    # ten steps of the size of the error allowed in each add up to half a per cent of it at most, as errors decay
    steps, _ = arrived(Decay(RATES, tolerance), np.zeros((1, RATES.size)))
    assert np.all(steps.t == 5.0)
    np.testing.assert_allclose(steps.y[0], exact(RATES, 5.0, 0.0), rtol=0.0, atol=most)


def test_members_do_not_depend_on_their_company():
    steps, _ = arrived(Decay(RATES), np.ones((1, RATES.size)))
    for some in (slice(0, 8), slice(16, 24)):
        alone, _ = arrived(Decay(RATES[some]), np.ones((1, 8)))
        np.testing.assert_array_equal(alone.y, steps.y[:, some])


def test_members_take_steps_of_their_own():
    _, sweeps = arrived(Decay(RATES), np.ones((1, RATES.size)))
    taken = np.sum([sweep.taken for sweep in sweeps], axis=0)
    assert taken.min() < 0.8 * taken.max()


def test_inside_a_step_values_are_interpolated():
    k = np.array([1.0, 2.0])
    _, sweeps = arrived(Decay(k, 1e-6), np.zeros((1, 2)))
    for sweep in sweeps:
        y = within(sweep.along(), 0.5)
        wanted = exact(k, 0.5 * (sweep.t0 + sweep.t1), 0.0)
        np.testing.assert_allclose(y[0][sweep.taken], wanted[sweep.taken], rtol=0.0, atol=2e-4)


def test_one_that_arrived_stays_while_others_go_on():
    steps = OwnSteps(Decay([1e-6, 3.0]), 0.0, 5.0, np.zeros((1, 2)), 1e-3)
    while steps.active[0]:
        steps.sweep()
    assert steps.active[1]
    there = steps.y[0, 0]
    while steps.active.any():
        steps.sweep()
    assert steps.y[0, 0] == there


def test_some_can_go_on_alone():
    whole, _ = arrived(Decay(RATES), np.ones((1, RATES.size)))
    steps = OwnSteps(Decay(RATES), 0.0, 5.0, np.ones((1, RATES.size)), 1e-3)
    for _ in range(5):
        steps.sweep()
    which = np.arange(8, 16)
    steps.keep(which, Decay(RATES[which]))
    while steps.active.any():
        steps.sweep()
    np.testing.assert_array_equal(steps.y, whole.y[:, which])


def test_no_way_needs_no_step():
    assert not OwnSteps(Decay([1.0]), 2.0, 2.0, np.ones((1, 1)), 1e-3).active.any()


def test_a_member_that_cannot_go_on_is_told():
    class Broken(Decay):
        def error_norms(self, error, y):
            return np.full(1, np.nan)

    steps = OwnSteps(Broken([1.0]), 0.0, 1.0, np.ones((1, 1)), 1e-6)
    with pytest.raises(SolverError, match=r"the solver stopped at t = 0\.0 s: a step fell below"):
        [steps.sweep() for _ in range(20)]


def test_a_member_that_gets_no_further_ends_the_work(monkeypatch):
    monkeypatch.setattr("dryingsim.kernels.own_steps._TRIES_SEEN", 20)

    class Swinging(Decay):
        def error_norms(self, error, y):
            return np.where(self.k > 1.0, 1.0 - 1e-9, 0.0)  # the second one: each step right, none longer

    steps = OwnSteps(Swinging([1.0, 2.0]), 0.0, 1e6, np.ones((1, 2)), 1e-2)
    for _ in range(19):
        steps.sweep()
    with pytest.raises(SolverError, match="it gets no further"):
        steps.sweep()
    assert steps.t[1] < 1.0

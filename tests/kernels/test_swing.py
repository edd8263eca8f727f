"""The swing of a system that is pushed on and off: against the exact periodic solution, sums it keeps, products."""

import numpy as np
import pytest
from scipy.linalg import expm

from dryingsim.kernels.swing import PHASES, Cycle, Swing

N = 30
CYCLE = Cycle(on_s=20.0, off_s=50.0)
PUSH = np.concatenate([[2.0], np.zeros(N - 2), [-2.0]])
WEIGHT = np.append(np.ones(N - 1), 0.0)


class Chain:
    """Heat along a chain that is pushed at one end; the last row is a running total of what was put in, less a leak."""

    def __init__(self, quadratic=0.0, missed=0.0):
        self.quadratic, self.missed = quadratic, missed
        self.matrix = np.zeros((N, N))
        for i in range(N - 2):
            self.matrix[np.ix_([i, i + 1], [i, i + 1])] += np.array([[-0.3, 0.3], [0.3, -0.3]])
        self.matrix[N - 2, N - 2] -= 0.2
        self.matrix[N - 1, N - 2] += 0.2

    def rhs(self, t, y):
        out = self.matrix @ y
        product = self.quadratic * y[0] * y[0]
        out[0] += product
        out[N - 1] -= product
        return out

    def weigh(self, u):
        return u

    def linearize(self, t, y):
        self.near = self.matrix * (1.0 - self.missed)

    def factor(self, shift):
        self.inverse = np.linalg.inv(shift * np.eye(N) - self.near)

    def solve(self, r):
        return self.inverse @ r


def swing_of(system, z=None):
    return Swing(system, 0.0, np.zeros(N) if z is None else z, PUSH, WEIGHT, CYCLE)


def exact_swing():
    """State of the chain at switching on, the total aside, by exponentials of its whole matrix."""

    def lasting(duration_s, excess):
        matrix = np.zeros((N, N))  # of the chain and, in place of the total, a one
        matrix[:-1, :-1], matrix[:-1, -1] = Chain().matrix[:-1, :-1], PUSH[:-1] * excess
        after = expm(matrix * duration_s)
        return after[:-1, :-1], after[:-1, -1]

    on, off = lasting(CYCLE.on_s, 1.0 - CYCLE.duty), lasting(CYCLE.off_s, -CYCLE.duty)
    return np.linalg.solve(np.eye(N - 1) - off[0] @ on[0], off[0] @ on[1] + off[1])


@pytest.mark.parametrize("missed", [0.0, 0.1], ids=["its Jacobian", "a matrix that misses a tenth"])
def test_swing_is_the_exact_periodic_solution(missed):
    exact = exact_swing()
    swing = swing_of(Chain(missed=missed))
    at_on = swing.states @ swing.at(True, 0.0)
    size = np.abs(swing.states @ swing.at(True, CYCLE.on_s)).max()
    # what eight combinations of thirty states leave out, and the square of what the matrix misses
    np.testing.assert_allclose(at_on[:-1], exact, atol=(1e-3 + 0.5 * missed**2) * size)


def test_course_leads_from_one_switching_to_the_next():
    swing = swing_of(Chain())
    course = swing.course(swing.at(True, 0.0), True)
    after = 10 * swing.step_s
    np.testing.assert_allclose(course[10], swing.at(True, after), rtol=1e-9, atol=1e-12)
    np.testing.assert_allclose(swing.at(True, CYCLE.on_s), swing.at(False, 0.0), rtol=1e-9, atol=1e-12)
    np.testing.assert_allclose(swing.at(False, CYCLE.off_s), swing.at(True, 0.0), rtol=1e-9, atol=1e-12)


def test_every_combination_keeps_the_sums_that_the_system_keeps():
    swing = swing_of(Chain(quadratic=0.01), z=np.linspace(1.0, 0.5, N))
    # difference quotients of a nudge of 1e-4 lose four of sixteen digits, and each of eight passes that on threefold
    np.testing.assert_allclose(swing.states.sum(axis=0), 0.0, atol=1e-8)


def test_products_are_what_is_not_linear():
    linear = Chain()
    np.testing.assert_allclose(swing_of(linear).products(linear, 0.0, np.zeros(N))[:, 0], 0.0, atol=1e-3)
    bent = Chain(quadratic=0.01)
    swing = swing_of(bent)
    products = swing.products(bent, 0.0, np.zeros(N)) - swing.products(linear, 0.0, np.zeros(N))
    moments = (np.arange(PHASES) + 0.5) / PHASES * CYCLE.whole_s
    numbers = [swing.at(t < CYCLE.on_s, t if t < CYCLE.on_s else t - CYCLE.on_s) for t in moments]
    w = np.array(numbers) @ swing.states.T
    np.testing.assert_allclose(products[:, 0], 0.01 * w[:, 0] ** 2, rtol=1e-6, atol=1e-9)

"""The stepper: coefficients against the order conditions, observed orders, events and invariants."""

import math

import numpy as np
import pytest

from dryingsim.errors import SolverError
from dryingsim.kernels import rosenbrock
from dryingsim.kernels.rosenbrock import (
    ALPHA,
    DENSE,
    EMBEDDED,
    GAMMA_MATRIX,
    WEIGHTS,
    Stepper,
    first_crossing,
)

ONE = np.ones(4)
SUM_A, SUM_G = ALPHA @ ONE, GAMMA_MATRIX @ ONE
ROUNDING = 2e-15  # coefficients of size one, printed with 17 digits, in sums of at most 16 products


class Dense:
    """A small problem with a full matrix; `matrix(t, y)` need not be the Jacobian."""

    def __init__(self, function, matrix, tolerance=math.inf):
        self._function, self._matrix, self._tolerance = function, matrix, tolerance

    def rhs(self, t, y):
        return self._function(t, y)

    def weigh(self, u):
        return u

    def linearize(self, t, y):
        self._a = self._matrix(t, y)

    def factor(self, shift):
        self._shifted = shift * np.eye(len(self._a)) - self._a

    def solve(self, r):
        return np.linalg.solve(self._shifted, r)

    def error_norm(self, error, y):
        return float(np.max(np.abs(error))) / self._tolerance


def fixed_steps(system, y0, t_end, count, visit=None):
    """Return the state after `count` equal steps; the error norm must accept them all."""
    stepper = Stepper(system, 0.0, np.array(y0, dtype=float), first_step=1e9)
    for i in range(count):
        step = stepper.step(t_end * (i + 1) / count)
        if visit:
            visit(step)
    assert stepper.statistics.steps == count
    return stepper.y


# --- coefficients -------------------------------------------------------------------------------------------
# Conditions of a method that uses A in place of the Jacobian f' (Hairer & Wanner, Solving ODEs II, section
# IV.7, W-methods): every tree is counted once for each way to put f' or A on its inner edges; only those with
# f' alone have a value other than zero.
ORDER_2 = [(ONE, 1.0), (SUM_A, 1 / 2), (SUM_G, 0.0)]
ORDER_3 = [
    (SUM_A**2, 1 / 3),
    (ALPHA @ SUM_A, 1 / 6),
    (ALPHA @ SUM_G, 0.0),
    (GAMMA_MATRIX @ SUM_A, 0.0),
    (GAMMA_MATRIX @ SUM_G, 0.0),
]


@pytest.mark.parametrize(("vector", "value"), ORDER_2 + ORDER_3)
def test_weights_are_of_order_three_with_any_matrix(vector, value):
    assert pytest.approx(value, abs=ROUNDING) == WEIGHTS @ vector


@pytest.mark.parametrize(("vector", "value"), ORDER_2)
def test_embedded_weights_are_of_order_two_with_any_matrix(vector, value):
    assert pytest.approx(value, abs=ROUNDING) == EMBEDDED @ vector


def test_embedded_weights_are_not_of_order_three():
    # otherwise the difference would say nothing about the error
    assert max(abs(EMBEDDED @ vector - value) for vector, value in ORDER_3) > 0.01


@pytest.mark.parametrize("s", [0.0, 0.3, 0.5, 0.9, 1.0])
def test_dense_weights_are_of_order_two_everywhere_in_the_step(s):
    at = s * DENSE + s * s * (WEIGHTS - DENSE)
    for (vector, value), power in zip(ORDER_2, (1, 2, 2), strict=True):
        assert at @ vector == pytest.approx(value * s**power, abs=1e-14)


def test_method_is_stiffly_accurate_and_l_stable():
    np.testing.assert_allclose(WEIGHTS, (ALPHA + GAMMA_MATRIX)[-1], atol=ROUNDING)
    assert SUM_A[-1] == 1.0
    # R(infinity) = 1 - b B^-1 1 = 0, and the interpolation of a stiff component decays as (1 - s)^2
    inverse = np.linalg.solve(ALPHA + GAMMA_MATRIX, ONE)
    assert WEIGHTS @ inverse == pytest.approx(1.0, abs=1e-13)
    assert DENSE @ inverse == pytest.approx(2.0, abs=1e-13)


def test_stability_function_does_not_exceed_one_on_the_imaginary_axis():
    # a rational function bounded there and without poles on the left is bounded on the left: A-stable
    b = ALPHA + GAMMA_MATRIX
    for z in 1j * np.geomspace(1e-2, 1e4, 200):
        assert abs(1.0 + z * WEIGHTS @ np.linalg.solve(np.eye(4) - z * b, ONE)) <= 1.0 + 1e-14


# --- observed orders ----------------------------------------------------------------------------------------
# Pendulum-like and smooth: y0' = y1, y1' = -sin(y0) + cos(t)/2. No closed form; the reference takes 16 times
# more steps, whose error is 16^3 times smaller.
def swing(t, y):
    return np.array([y[1], -math.sin(y[0]) + 0.5 * math.cos(t)])


def swing_jacobian(t, y):
    return np.array([[0.0, 1.0], [-math.cos(y[0]), 0.0]])


def wrong_matrix(t, y):
    return np.array([[-1.0, 0.3], [0.2, -2.0]])  # nothing of the Jacobian in it


@pytest.mark.parametrize("matrix", [swing_jacobian, wrong_matrix], ids=["exact", "wrong"])
def test_observed_order_is_three(matrix):
    system = Dense(swing, matrix)
    exact = fixed_steps(Dense(swing, swing_jacobian), [1.0, 0.0], 2.0, 1600)
    errors = [np.max(np.abs(fixed_steps(system, [1.0, 0.0], 2.0, k) - exact)) for k in (50, 100)]
    assert math.log2(errors[0] / errors[1]) >= 2.9


def test_observed_order_of_the_interpolation_is_two():
    # one step, of which the error at any inner point is the local one: order 3 of h
    def miss(h):
        seen = []
        fixed_steps(Dense(swing, wrong_matrix), [1.0, 0.0], h, 1, seen.append)
        exact = fixed_steps(Dense(swing, swing_jacobian), [1.0, 0.0], 0.4 * h, 50)
        return np.max(np.abs(seen[0].at(0.4 * h) - exact))

    assert math.log2(miss(0.02) / miss(0.01)) == pytest.approx(3.0, abs=0.1)


def test_interpolation_meets_both_ends_and_takes_many_times():
    seen = []
    fixed_steps(Dense(swing, swing_jacobian), [1.0, 0.0], 0.5, 2, seen.append)
    step = seen[1]
    np.testing.assert_array_equal(step.at(step.t0), step.y0)
    np.testing.assert_allclose(step.at(step.t1), step.y1, rtol=1e-15)
    times = np.array([0.3, 0.4])
    np.testing.assert_array_equal(step.at(times), np.stack([step.at(t) for t in times]))


def test_adaptive_steps_keep_the_error_near_the_tolerance():
    exact = fixed_steps(Dense(swing, swing_jacobian), [1.0, 0.0], 5.0, 4000)
    errors = []
    for tolerance in (1e-4, 1e-6):
        stepper = Stepper(Dense(swing, swing_jacobian, tolerance), 0.0, np.array([1.0, 0.0]))
        while stepper.t < 5.0:
            stepper.step(5.0)
        assert stepper.t == 5.0  # exactly: stages end on the second
        errors.append(np.max(np.abs(stepper.y - exact)) / tolerance)
    assert max(errors) < 10.0  # some tens of steps, each allowed one tolerance by a second-order estimate


# --- stiffness ----------------------------------------------------------------------------------------------
@pytest.mark.parametrize("stiffness", [1e4, 1e6, 1e8])
def test_prothero_robinson_error_falls_with_stiffness(stiffness):
    """y' = -L (y - sin t) + cos t with steps of 1/10: a stiffly accurate method errs by O(h/L) only."""
    system = Dense(
        lambda t, y: -stiffness * (y - math.sin(t)) + math.cos(t), lambda t, y: np.array([[-stiffness]])
    )
    y = fixed_steps(system, [0.0], 1.0, 10)
    # |phi'| <= 1 and stage coefficients of size one: the constant is of order one; rounding of y is 1e-16 * L
    # h / L
    assert abs(y[0] - math.sin(1.0)) < 3.0 / stiffness


def test_prothero_robinson_steps_do_not_depend_on_stiffness():
    counts = []
    for stiffness in (1e4, 1e8):
        system = Dense(
            lambda t, y, k=stiffness: -k * (y - math.sin(t)) + math.cos(t),
            lambda t, y, k=stiffness: np.array([[-k]]),
            tolerance=1e-4,
        )
        stepper = Stepper(system, 0.0, np.array([0.0]))
        while stepper.t < 10.0:
            stepper.step(10.0)
        assert abs(stepper.y[0] - math.sin(10.0)) < 1e-3
        counts.append(stepper.statistics.steps)
    assert counts[1] <= counts[0]


# --- invariants ---------------------------------------------------------------------------------------------
def test_linear_invariants_are_kept_to_rounding_even_with_a_wrong_matrix():
    """Robertson's reaction: the sum stays one, if the columns of the matrix sum to zero."""

    def reaction(t, y):
        a, b, c = 0.04 * y[0], 3e7 * y[1] * y[1], 1e4 * y[1] * y[2]
        return np.array([-a + c, a - b - c, b])

    def matrix(t, y):  # half the true coupling: wrong, but it moves as much as it takes
        jacobian = np.array(
            [
                [-0.04, 1e4 * y[2], 1e4 * y[1]],
                [0.04, -6e7 * y[1] - 1e4 * y[2], -1e4 * y[1]],
                [0.0, 6e7 * y[1], 0.0],
            ]
        )
        jacobian[:, 2] *= 0.5
        return jacobian

    stepper = Stepper(Dense(reaction, matrix, 1e-5), 0.0, np.array([1.0, 0.0, 0.0]), first_step=1e-5)
    while stepper.t < 100.0:
        stepper.step(100.0)
    assert stepper.statistics.steps > 20
    assert abs(stepper.y.sum() - 1.0) < 1e-13 * stepper.statistics.steps  # condition of some 1e3


# --- events, restarts, failures -----------------------------------------------------------------------------
def test_first_crossing_is_within_the_resolution_and_behind_the_crossing():
    t = first_crossing(lambda t: t * t - 2.0, 0.0, 4.0, 1e-6)
    assert 0.0 <= t - math.sqrt(2.0) <= 1e-6


def test_shortened_step_is_the_step_of_that_length():
    whole = Stepper(Dense(swing, swing_jacobian), 0.0, np.array([1.0, 0.0]), first_step=1e9)
    whole.step(0.2)
    step = whole.step(0.6)
    short = whole.shorten(step, 0.5)
    direct = Stepper(Dense(swing, swing_jacobian), 0.0, np.array([1.0, 0.0]), first_step=1e9)
    direct.step(0.2)
    expected = direct.step(0.5)
    assert (whole.t, short.t0, short.t1) == (0.5, 0.2, 0.5)
    np.testing.assert_array_equal(short.y1, expected.y1)
    np.testing.assert_array_equal(whole.y, expected.y1)
    np.testing.assert_array_equal(whole.step(0.8).y1, direct.step(0.8).y1)  # and so on


def test_an_event_is_found_where_the_exact_solution_has_it():
    # y = exp(-t) passes 1/4 at ln 4
    stepper = Stepper(Dense(lambda t, y: -y, lambda t, y: np.array([[-1.0]]), 1e-6), 0.0, np.array([1.0]))
    while True:
        step = stepper.step(10.0)
        if step.y1[0] < 0.25:
            break
    t = first_crossing(lambda t: 0.25 - step.at(t)[0], step.t0, step.t1, 1e-9)
    assert stepper.shorten(step, t).y1[0] == pytest.approx(0.25, abs=1e-4)  # second-order interpolation
    assert t == pytest.approx(math.log(4.0), abs=4e-4)  # the same over the slope, 1/4


def test_a_problem_without_finite_values_is_given_up_with_its_time():
    def breaks(t, y):
        return -y if t < 1.0 else y * math.nan

    stepper = Stepper(Dense(breaks, lambda t, y: np.array([[-1.0]]), 1e-3), 0.0, np.array([1.0]))
    stepper.step(0.5)

    def advance():
        while stepper.t < 2.0:
            stepper.step(2.0)

    with pytest.raises(SolverError, match=r"stopped at t = 1\.0 s"):
        advance()
    assert 0.5 <= stepper.t <= 1.0


def test_every_piece_of_work_is_counted():
    calls = []

    def counted(t, y):
        calls.append(t)
        return swing(t, y)

    stepper = Stepper(Dense(counted, swing_jacobian, 1e-5), 0.0, np.array([1.0, 0.0]))
    while stepper.t < 3.0:
        stepper.step(3.0)
    done = stepper.statistics
    assert done.rhs_calls == len(calls)
    assert done.factorisations == done.steps + done.rejected
    # the first stage is the slope already known: three more a try, one at the end of a step, one at the start
    assert done.rhs_calls == 1 + 3 * done.factorisations + done.steps


def test_restart_forgets_the_slope_of_the_old_problem():
    stepper = Stepper(
        Dense(lambda t, y: -y, lambda t, y: np.array([[-1.0]])), 0.0, np.array([1.0]), first_step=1e9
    )
    stepper.step(0.1)
    stepper.system = Dense(lambda t, y: 0.0 * y, lambda t, y: np.array([[0.0]]))
    before = stepper.y.copy()
    stepper.restart()
    np.testing.assert_array_equal(stepper.step(0.2).y1, before)


def test_module_knows_no_physics():
    assert not [name for name in vars(rosenbrock) if "moist" in name or "temperature" in name]

"""A stiff one-step solver: the linearly implicit method ROS34PW2 with its embedded error estimate.

Order 3 with *any* matrix in place of the exact Jacobian (a W-method), stiffly accurate, L-stable: Rang & Angermann
(2005), BIT 45, 761-787, table of ROS34PW2. The coefficients are checked against the order conditions in the tests.
Linear invariants of the equations (water, energy) are kept to round-off as long as the matrix keeps them too.

The problem is an object with four methods (see `System`); this module knows nothing of physics.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Annotated, Protocol

import numpy as np

from dryingsim.errors import SolverError
from dryingsim.evidence import Evidence

SAFETY: Annotated[float, Evidence("-", "numerical", "share of the step that the error estimate allows")] = 0.9
SHRINK: Annotated[float, Evidence("-", "numerical", "least factor from a refused step to the next try")] = 0.1
GROW: Annotated[float, Evidence("-", "numerical", "largest factor from an accepted step to the next")] = 5.0
LEAST_CHANGE: Annotated[
    float, Evidence("-", "numerical", "least factor from an accepted step to the next")
] = 0.2
SMALLEST_STEP_S: Annotated[float, Evidence("s", "numerical", "a run whose step falls below is given up")] = (
    1e-9
)

GAMMA: Annotated[float, Evidence("-", "published", "ROS34PW2, Rang & Angermann (2005), BIT 45, 761-787")] = (
    4.3586652150845900e-01
)
ALPHA = np.array(
    [
        [0.0, 0.0, 0.0, 0.0],
        [8.7173304301691801e-01, 0.0, 0.0, 0.0],
        [8.4457060015369423e-01, -1.1299064236484185e-01, 0.0, 0.0],
        [0.0, 0.0, 1.0, 0.0],
    ]
)
GAMMA_MATRIX = np.array(
    [
        [GAMMA, 0.0, 0.0, 0.0],
        [-8.7173304301691801e-01, GAMMA, 0.0, 0.0],
        [-9.0338057013044082e-01, 5.4180672388095326e-02, GAMMA, 0.0],
        [2.4212380706095346e-01, -1.2232505839045147e00, 5.4526025533510214e-01, GAMMA],
    ]
)
WEIGHTS = np.array([2.4212380706095346e-01, -1.2232505839045147e00, 1.5452602553351020e00, GAMMA])
EMBEDDED = np.array([3.7810903145819369e-01, -9.6042292212423178e-02, 5.0e-01, 2.1793326075422950e-01])


def _divided(by: np.ndarray, matrix: np.ndarray) -> np.ndarray:
    """Product with the inverse of a square matrix, matrix^-1 by, in plain numpy.

    The coefficients are the same to the last bit whatever kernels a processor makes BLAS choose, and so are many slices.
    """
    left, right = matrix.copy(), by.copy()
    for i in range(len(left)):
        best = i + int(np.argmax(np.abs(left[i:, i])))
        for rows in (left, right):
            rows[[i, best]] = rows[[best, i]]
        for j in range(len(left)):
            if j != i:
                share = left[j, i] / left[i, i]
                left[j] -= share * left[i]
                right[j] -= share * right[i]
    return (right.T / np.diag(left)).T


# The usual change of variables u = Gamma k, which needs no product with the matrix.
_INVERSE = np.tril(_divided(np.eye(4), GAMMA_MATRIX))
STAGES = np.einsum("ij,jk->ik", ALPHA, _INVERSE)
FEEDBACK = np.diag(np.full(4, 1.0 / GAMMA)) - _INVERSE
RESULT = np.einsum("j,jk->k", WEIGHTS, _INVERSE)
ERROR = np.einsum("j,jk->k", WEIGHTS - EMBEDDED, _INVERSE)
TIMES = ALPHA.sum(axis=1)


def _dense_weights() -> np.ndarray:
    """Weights p of y(t0 + s h) = y0 + s (p k) + s^2 (b - p) k: second order with any matrix.

    Three conditions make it second order; the fourth makes a stiff component decay as (1 - s)^2, that is without
    overshoot. (Cubic Hermite interpolation is useless here: the slopes of stiff components are mostly noise.)
    """
    one = np.ones(4)
    sums = ALPHA.sum(axis=1), GAMMA_MATRIX.sum(axis=1)
    conditions = np.stack([one, *sums, _divided(one, ALPHA + GAMMA_MATRIX)])
    return _divided(np.array([1.0, 0.0, 0.0, 2.0]), conditions)


DENSE = _dense_weights()
SLOPE = np.einsum("j,jk->k", DENSE, _INVERSE)


class System(Protocol):
    """What the stepper asks of a problem M y' = f(t, y) with a constant matrix M."""

    def rhs(self, t: float, y: np.ndarray) -> np.ndarray:
        """Right-hand side f at time t."""

    def weigh(self, u: np.ndarray) -> np.ndarray:
        """M u; u itself where there is no M."""

    def linearize(self, t: float, y: np.ndarray) -> None:
        """Prepare the matrix A (the Jacobian or something near it) at (t, y)."""

    def factor(self, shift: float) -> None:
        """Prepare solves with (shift * M - A)."""

    def solve(self, r: np.ndarray) -> np.ndarray:
        """Solution x of (shift * M - A) x = r for the last `factor`."""

    def error_norm(self, error: np.ndarray, y: np.ndarray) -> float:
        """Size of an error relative to what is allowed: accepted when <= 1."""


@dataclass(slots=True)
class Statistics:
    """Counts of the work done.

    Attributes
    ----------
    steps : int
        Accepted.
    rejected : int
        Steps taken again.
    rhs_calls : int
        Evaluations of the right-hand side.
    factorisations : int
        Of the matrix.
    """

    steps: int = 0
    rejected: int = 0
    rhs_calls: int = 0
    factorisations: int = 0


@dataclass(slots=True)
class Step:
    """An accepted step, with what is needed to interpolate inside it.

    Attributes
    ----------
    t0 : float
        When it begins [s].
    t1 : float
        When it ends [s].
    y0 : ndarray
        State at its beginning.
    y1 : ndarray
        State at its end.
    f0 : ndarray
        Right-hand side at its beginning.
    slope : ndarray
        Of the interpolation there, for the whole step.
    """

    t0: float
    t1: float
    y0: np.ndarray
    y1: np.ndarray
    f0: np.ndarray
    slope: np.ndarray

    def at(self, t: float | np.ndarray) -> np.ndarray:
        """Interpolation (second order) at times within t0..t1: shape (size,) or (k, size) for k times."""
        s = np.asarray((t - self.t0) / (self.t1 - self.t0))[..., None]
        return self.y0 + s * (self.slope + s * (self.y1 - self.y0 - self.slope))


@dataclass
class Stepper:
    """Advances a `System` from t to t_end with adaptive steps; one step at a time.

    Attributes
    ----------
    system : System
    t, y
        Present time and state.
    first_step : float
        Step to try first, at the start and after a restart [s].
    smallest_step : float
        Below it the run is given up.
    statistics : Statistics
        Counts of the work done so far.
    """

    system: System
    t: float
    y: np.ndarray
    first_step: float = 0.1
    smallest_step: float = SMALLEST_STEP_S
    statistics: Statistics = field(default_factory=Statistics)

    def __post_init__(self) -> None:
        self.restart()

    def restart(self, first_step: float | None = None) -> None:
        """Forget the slope: call after changing the state or the problem (a new stage)."""
        self.h = first_step or self.first_step
        self._grow_limit = GROW
        self._f = self._rhs(self.t, self.y)
        self._linearized = False

    def _rhs(self, t: float, y: np.ndarray) -> np.ndarray:
        self.statistics.rhs_calls += 1
        return self.system.rhs(t, y)

    def step(self, t_end: float) -> Step:
        """Take one accepted step, not beyond `t_end`.

        Raises
        ------
        SolverError
            If the step falls below `smallest_step` or values are no longer finite.
        """
        while True:
            h, last = self.h, False
            left = t_end - self.t
            if h >= left * (1.0 - 1e-12):
                h, last = left, True
            elif h > 0.5 * left:
                h = 0.5 * left  # two even steps rather than a long one and a sliver
            y1, slope, error = self._attempt(h)
            factor = SAFETY * max(error, 1e-6) ** (-1.0 / 3.0) if np.isfinite(error) else SHRINK
            if error <= 1.0:  # false for a norm that is not a number
                return self._accept(h, t_end if last else self.t + h, y1, slope, factor, last)
            self.statistics.rejected += 1
            self.h = h * max(SHRINK, min(SAFETY, factor))
            self._grow_limit = 1.0
            if self.h < self.smallest_step:
                raise SolverError(
                    f"the solver stopped at t = {self.t:.1f} s: the step fell below {self.smallest_step:g} s"
                )

    def _accept(
        self, h: float, t1: float, y1: np.ndarray, slope: np.ndarray, factor: float, last: bool
    ) -> Step:
        self.statistics.steps += 1
        done = Step(self.t, t1, self.y, y1, self._f, slope)
        proposal = h * max(LEAST_CHANGE, min(self._grow_limit, factor))
        # A step cut short by the end of a stage says little about the step the problem wants.
        self.h = max(self.h, proposal) if last else proposal
        self._grow_limit = GROW
        self.t, self.y, self._f, self._linearized = t1, y1, self._rhs(t1, y1), False
        return done

    def _attempt(self, h: float) -> tuple[np.ndarray, np.ndarray, float]:
        """Result, slope for interpolation and error norm of a step of size `h` from the present state."""
        if not self._linearized:
            self.system.linearize(self.t, self.y)
            self._linearized = True
        self.system.factor(1.0 / (GAMMA * h))
        self.statistics.factorisations += 1
        u = np.empty((4, self.y.size))
        # A trial state may be so wild that values overflow: the norm is then not finite and the step is refused.
        with np.errstate(all="ignore"):
            for i in range(4):
                f = self._f if i == 0 else self._rhs(self.t + TIMES[i] * h, self.y + STAGES[i, :i] @ u[:i])
                u[i] = self.system.solve(f + self.system.weigh((FEEDBACK[i, :i] / h) @ u[:i]) if i else f)
            y1 = self.y + RESULT @ u
            return y1, SLOPE @ u, self.system.error_norm(ERROR @ u, np.maximum(np.abs(self.y), np.abs(y1)))

    def shorten(self, step: Step, t1: float) -> Step:
        """Take the last accepted step again, only as far as `t1`: it had already passed its error check."""
        self.t, self.y, self._f, self._linearized = step.t0, step.y0, step.f0, False
        h = t1 - self.t
        y1, slope, _ = self._attempt(h)
        return self._accept(h, t1, y1, slope, 1.0, last=True)


def first_crossing(value: Callable[[float], float], t0: float, t1: float, resolution: float) -> float:
    """Time in t0..t1 where `value` becomes positive, by bisection to `resolution`; value(t1) must be positive.

    Parameters
    ----------
    value : callable
        Function of time [s].
    t0, t1 : float
        Where to look [s].
    resolution : float
        How close the answer must be [s].

    Returns
    -------
    float
        Time, no earlier than the crossing [s].

    Examples
    --------
    >>> first_crossing(lambda t: t - 3.0, 0.0, 8.0, 0.5)
    3.5
    """
    while t1 - t0 > resolution:
        middle = 0.5 * (t0 + t1)
        if value(middle) > 0.0:
            t1 = middle
        else:
            t0 = middle
    return t1

"""ROS34PW2 on steps chosen beforehand: for many members that must not depend on each other's company.

A step that adapts is shared by all members of a system, so a member's numbers would depend on who else is in it. Here
the steps are given and every combination is done element by element in a fixed order (no BLAS, whose rounding depends on
where in an array a number stands). Only the system's own operations remain; it must keep the same rule.
"""

from dataclasses import dataclass

import numpy as np

from dryingsim.kernels.rosenbrock import ERROR, FEEDBACK, GAMMA, SLOPE, STAGES, TIMES, System


@dataclass(slots=True)
class FixedStep:
    """A step that was taken.

    Attributes
    ----------
    t0, t1 : float
    y0, y1 : ndarray
        States at its ends.
    error : ndarray
        The embedded estimate of the error of y1.
    """

    t0: float
    t1: float
    y0: np.ndarray
    y1: np.ndarray
    error: np.ndarray
    _u: np.ndarray

    def slope(self) -> np.ndarray:
        """Return p of the interpolation y0 + s p + s^2 (y1 - y0 - p), 0 <= s <= 1, of second order."""
        return combined(self._u, SLOPE)


class FixedSteps:
    """Advances a `System` from a time and a state by given steps."""

    def __init__(self, system: System, t: float, y: np.ndarray) -> None:
        self.system, self.t, self.y = system, t, y
        self._f = system.rhs(t, y)
        self._u = np.empty((4, y.size))
        self._work = np.empty(y.size)

    def step(self, t1: float) -> FixedStep:
        """Take one step to time `t1`. What it returns holds until the next one is taken."""
        t0, y, u, system = self.t, self.y, self._u, self.system
        h = t1 - t0
        system.linearize(t0, y)
        system.factor(1.0 / (GAMMA * h))
        u[0] = system.solve(self._f)
        for i in range(1, 4):
            trial = self._plus(y.copy(), STAGES[i], u[:i])
            f = system.rhs(t0 + TIMES[i] * h, trial)
            u[i] = system.solve(self._plus(f, FEEDBACK[i] / h, u[:i]))
        y1 = np.add(trial, u[3], out=trial)  # stiffly accurate: the last stage is at the result but for its own part
        self.t, self.y, self._f = t1, y1, system.rhs(t1, y1)
        return FixedStep(t0, t1, y, y1, combined(u, ERROR), u)

    def _plus(self, out: np.ndarray, coefficients: np.ndarray, u: np.ndarray) -> np.ndarray:
        """Add the combination of the vectors to `out`."""
        for c, one in zip(coefficients.tolist(), u, strict=False):
            if c:
                out += np.multiply(one, c, out=self._work)
        return out


def combined(vectors: np.ndarray, coefficients: np.ndarray) -> np.ndarray:
    """Sum of the vectors times their coefficients, element by element."""
    first, *rest = coefficients.tolist()
    out = vectors[0] * first
    for c, one in zip(rest, vectors[1:], strict=True):
        out += one * c
    return out


def halved(times: np.ndarray, start: float) -> np.ndarray:
    """Ends of steps half as long as those that end at `times`, from `start` on."""
    before = np.concatenate([[start], times[:-1]])
    return np.stack([0.5 * (before + times), times], axis=1).reshape(-1)
